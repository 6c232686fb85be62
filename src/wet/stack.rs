//! The open film over one place: solids stay, solvent leaves as e^(-t/T). That one time T serves for the whole film and
//! that paint later than the open time lies on a film that has set are ASSUMPTIONS, no source: the stress that makes a
//! film run is carried by what can still flow. Does not know where in the film the solvent is.

use crate::maths::decay;
use crate::units::{Fraction, Micrometres, Seconds};

/// How a paint dries.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Drying {
    /// How long it stays open: paint that comes later does not melt into it.
    pub open_time: Seconds,
    /// Its solvent falls to 1/e over this time.
    pub leaves_over: Seconds,
}

/// The film that is open over one place. Where paints melt into each other, the last one laid says how both dry.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Stack {
    /// Solids of the open film, um.
    solids: f64,
    /// Solvent left in it when paint last came, um.
    solvent: f64,
    /// When that was, s.
    last: f64,
    drying: Drying,
}

impl Stack {
    /// Paint comes, not earlier than the last; gives back the open film that stood there before. What has set no longer
    /// counts.
    #[inline]
    pub fn lay(&mut self, time: Seconds, dry: Micrometres, solids: Fraction, drying: Drying) -> Micrometres {
        let (below, solvent) = if self.open(time) { (self.solids, self.solvent_left(time)) } else { (0.0, 0.0) };
        *self = Self { solids: below + dry.0, solvent: solvent + dry.0 * (1.0 / solids.0 - 1.0), last: time.0, drying };
        Micrometres(below + solvent)
    }

    /// Whether paint that comes now melts into what is there.
    #[inline]
    pub fn open(&self, time: Seconds) -> bool {
        self.solids > 0.0 && time.0 - self.last <= self.drying.open_time.0
    }

    /// The wet film just after paint last came: it is never thicker until paint comes again.
    #[inline]
    pub fn fresh(&self) -> Micrometres {
        Micrometres(self.solids + self.solvent)
    }

    /// The open film at a time after paint last came: 0 once it has set.
    pub fn wet(&self, time: Seconds) -> Micrometres {
        Micrometres(if self.open(time) { self.solids + self.solvent_left(time) } else { 0.0 })
    }

    /// Solids of the open film.
    pub fn solids(&self) -> Micrometres {
        Micrometres(self.solids)
    }

    #[inline]
    fn solvent_left(&self, time: Seconds) -> f64 {
        self.solvent * decay((time.0 - self.last) / self.drying.leaves_over.0)
    }
}
