//! The wet film over one place, coat by coat. Solids stay, solvent leaves as e^(-t/T1), viscosity rises as e^(t/T): every
//! coat is as thick and as stiff as its own age makes it, and carries all that lies over it. That one time T1 and one T
//! serve for a whole coat, that its yield stress stays, and that its passes melt into one film which is as old as the
//! last of them, are ASSUMPTIONS, no source. Does not know that fresh solvent softens the coat below.

use super::{Flow, surface_speed};
use crate::maths::decay;
use crate::units::{Fraction, Micrometres, Millimetres, Seconds};

/// How a paint dries.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Drying {
    /// How long it stays open: paint that comes later does not melt into it.
    pub open_time: Seconds,
    /// Its solvent falls to 1/e over this time.
    pub leaves_over: Seconds,
}

/// One coat at one place.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Layer {
    /// Solids, um.
    solids: f64,
    /// Solvent left in it when paint last came, um.
    solvent: f64,
    /// When that was, s.
    last: f64,
}

impl Layer {
    /// Paint of the coat comes, not earlier than the last.
    #[inline]
    pub fn lay(&mut self, time: Seconds, dry: Micrometres, solids: Fraction, drying: &Drying) {
        let left =
            if self.solids > 0.0 { self.solvent * decay((time.0 - self.last) / drying.leaves_over.0) } else { 0.0 };
        *self = Self { solids: self.solids + dry.0, solvent: left + dry.0 * (1.0 / solids.0 - 1.0), last: time.0 };
    }

    /// Whether nothing of the coat lies there.
    #[inline]
    pub fn is_bare(&self) -> bool {
        self.solids == 0.0
    }

    /// Since paint of the coat last came.
    #[inline]
    pub fn age(&self, time: Seconds) -> Seconds {
        Seconds(time.0 - self.last)
    }

    /// Just after paint came.
    #[inline]
    pub fn fresh(&self) -> Micrometres {
        Micrometres(self.solids + self.solvent)
    }

    /// At a time after paint last came.
    #[inline]
    pub fn wet(&self, time: Seconds, drying: &Drying) -> Micrometres {
        Micrometres(self.solids + self.solvent * decay(self.age(time).0 / drying.leaves_over.0))
    }
}

/// A film over one place, built up from the outside in; each coat weighs by what is left of its first fluidity,
/// e^(-age/T).
#[derive(Debug, Clone, Copy, Default)]
pub struct Stack {
    /// Thickness of all coats so far, um.
    pub thickness: f64,
    /// Sum of (what lies over a coat's inner face)^2 less the same of its outer face, by weight, um2.
    weighed: f64,
}

impl Stack {
    /// The next coat inwards.
    #[inline]
    pub fn add(&mut self, film: Micrometres, age: Seconds, flow: &Flow) {
        let inner = self.thickness + film.0;
        self.weighed += decay(age.0 / flow.thickens_over.0) * film.0 * (self.thickness + inner);
        self.thickness = inner;
    }

    /// The film laid at once whose surface would flow as far if nothing had a yield stress; never more than what lies
    /// there. It is what is compared with a sag limit.
    #[inline]
    pub fn as_one(&self) -> Micrometres {
        Micrometres(self.weighed.sqrt())
    }
}

/// How far the surface of a stack flows down before it has thickened, coats from the outside in, on a slope of this sine:
/// (rho g sin(theta) / 2) sum over coats of T e^(-age/T) / eta0 [(H - l)^2 of the inner face - the same of the outer one],
/// H what lies over a face, l = tau0 / (rho g sin(theta)) of that coat, and nothing where H is below l. Shear of a
/// Bingham film (Bird, Stewart & Lightfoot, Transport Phenomena, from memory) integrated through coats of their own age
/// and over time here; all is taken as thick as it is when the last paint comes.
pub fn travel(coats: impl IntoIterator<Item = (Micrometres, Seconds, Flow)>, sine: f64) -> Millimetres {
    let (mut over, mut travel) = (0.0, 0.0);
    for (film, age, flow) in coats {
        let limit = flow.sag_limit.0 / sine.max(f64::MIN_POSITIVE);
        let sheared = |over: f64| surface_speed(Micrometres((over - limit).max(0.0)), flow.viscosity, sine);
        let thickening = flow.thickens_over.0 * decay(age.0 / flow.thickens_over.0);
        travel += (sheared(over + film.0) - sheared(over)) * thickening / 1000.0;
        over += film.0;
    }
    Millimetres(travel)
}
