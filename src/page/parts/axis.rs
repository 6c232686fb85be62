//! The axis of time: every coat the same length with a cell for each pass, every flash-off short and of fixed length
//! (at true length it would be ten times a coat); one of no time takes no room. Knows times and fractions of the axis,
//! no pixels.

use fanlap::rehearsal::Rehearsal;
use fanlap::units::Seconds;

/// A stretch of the axis.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Coat it belongs to.
    pub coat: usize,
    /// The pass, or none for the flash-off.
    pub pass: Option<usize>,
    /// Times at its ends, s.
    pub time: (f64, f64),
    /// Places of its ends, 0..1.
    pub place: (f64, f64),
}

/// All stretches in order.
#[derive(Debug, Clone, Default)]
pub struct Axis(pub Vec<Stretch>);

/// Share of a coat's room that its flash-off takes.
const FLASH: f64 = 0.22;
/// Room between a coat and its flash-off and after it, share of a coat's room.
const GAP: f64 = 0.02;

impl Axis {
    /// The axis of a rehearsal.
    pub fn of(rehearsal: &Rehearsal) -> Self {
        let coats = rehearsal.coats();
        let room = 1.0 / coats.len().max(1) as f64;
        let mut stretches = Vec::new();
        for (coat, times) in coats.iter().enumerate() {
            let passes: Vec<usize> =
                (0..rehearsal.passes().len()).filter(|i| rehearsal.passes()[*i].coat == coat).collect();
            let flashes = times.flashed.0 > times.end.0 || passes.is_empty();
            let rest = if flashes { FLASH + 2.0 * GAP } else { GAP };
            let (from, until) = (room * coat as f64, room * (coat as f64 + 1.0 - rest));
            let each = (until - from) / passes.len().max(1) as f64;
            for (i, pass) in passes.iter().enumerate() {
                let next = passes.get(i + 1).map_or(times.end, |next| rehearsal.passes()[*next].start);
                let time = (rehearsal.passes()[*pass].start.0, next.0);
                let place = (from + each * i as f64, from + each * (i + 1) as f64);
                stretches.push(Stretch { coat, pass: Some(*pass), time, place });
            }
            if flashes {
                let place = (until + room * GAP, room * (coat as f64 + 1.0 - GAP));
                stretches.push(Stretch { coat, pass: None, time: (times.end.0, times.flashed.0), place });
            }
        }
        Self(stretches)
    }

    /// Place of a time, 0..1.
    pub fn place(&self, time: Seconds) -> f64 {
        let Some(stretch) = self.0.iter().find(|s| time.0 < s.time.1).or(self.0.last()) else { return 0.0 };
        let length = stretch.time.1 - stretch.time.0;
        let part = if length > 0.0 { ((time.0 - stretch.time.0) / length).clamp(0.0, 1.0) } else { 1.0 };
        stretch.place.0 + (stretch.place.1 - stretch.place.0) * part
    }

    /// Time at a place.
    pub fn time(&self, place: f64) -> Seconds {
        let Some(stretch) = self.0.iter().find(|s| place < s.place.1).or(self.0.last()) else { return Seconds(0.0) };
        let part = ((place - stretch.place.0) / (stretch.place.1 - stretch.place.0)).clamp(0.0, 1.0);
        Seconds(stretch.time.0 + (stretch.time.1 - stretch.time.0) * part)
    }

    /// How much faster than real time the clock runs at a time while it plays: a flash-off passes in two seconds.
    pub fn haste(&self, time: Seconds) -> f64 {
        match self.0.iter().find(|s| time.0 < s.time.1) {
            Some(stretch) if stretch.pass.is_none() => ((stretch.time.1 - stretch.time.0) / 2.0).max(1.0),
            _ => 1.0,
        }
    }
}
