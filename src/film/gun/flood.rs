//! The flood test: the gun held still and square before a standing panel, its fan lying level, until the paint runs;
//! where the runs hang shows the pattern (four seconds: Auto Collision Repair and Refinishing, 2022, a page seen in
//! part). Run travel grows with the square of the film (derived: Newtonian film that thickens, rho g h^2 T / (2 eta0)).
//! Does not know how paint flows while it still lands: lengths are relative.

use crate::gun::{Gun, Pattern};
use crate::units::{Fraction, Micrometres, Millimetres, Seconds};
use serde::Serialize;

/// How long the trigger is held open.
pub const USUAL_FLOOD: Seconds = Seconds(4.0);

/// The wet film that a gun lays while it stands still and square before a flat panel.
#[derive(Debug, Clone)]
pub struct Spot {
    pattern: Pattern,
    half_width: f64,
    half_depth: f64,
    /// Film where the pattern is 1, um.
    unit: f64,
}

impl Spot {
    /// The spot of a gun from a distance (mm, above 0) and for a time (s).
    pub fn of(gun: &Gun, distance: Millimetres, time: Seconds) -> Self {
        let (half_width, half_depth) = (gun.width_at(distance).0 / 2.0, gun.depth_at(distance).0 / 2.0);
        let landed = gun.fluid.cubic_mm_per_s() * gun.transfer_at(distance).0 * time.0;
        Self { pattern: Pattern::of(gun), half_width, half_depth, unit: 1000.0 * landed / (half_width * half_depth) }
    }

    /// Wet film at a place: along the fan and across it from its middle, mm.
    pub fn wet(&self, along: Millimetres, across: Millimetres) -> Micrometres {
        Micrometres(self.unit * self.pattern.flux(along.0 / self.half_width, across.0 / self.half_depth))
    }

    /// The heaviest wet film over a place along the fan: that on its long axis, where the flux is greatest.
    pub fn heaviest(&self, along: Millimetres) -> Micrometres {
        self.wet(along, Millimetres(0.0))
    }
}

/// One column of the spot, from its upper edge to its lower.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Column {
    /// Position of its middle along the fan from the fan's middle, mm; above 0 is the fan's far end.
    pub at: Millimetres,
    /// Heaviest wet film of the column, um.
    pub wet: Micrometres,
    /// How far its paint runs, the farthest of the spot being 1; 0 where it does not run.
    pub run: Fraction,
}

/// A stretch of the fan under which runs hang side by side.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Runs {
    /// Where they begin, mm from the fan's middle.
    pub from: Millimetres,
    /// Where they end.
    pub to: Millimetres,
    /// The longest of them, relative to the longest of the spot.
    pub longest: Fraction,
}

/// What the film under the runs says of the fan.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum FloodVerdict {
    /// The film stays below the sag limit everywhere.
    NoRuns,
    /// Runs of much the same length over the middle three quarters of the fan.
    Even,
    /// Longest in the middle, shorter towards both ends, as with a fan made for about half overlap.
    Feathered,
    /// Hardly any run but in the middle.
    HeavyMiddle,
    /// Two groups of runs with a gap or much shorter runs between them.
    Split,
    /// Longer on the side of the fan's far end, where `heavy_end` is above 0.
    HeavyFarEnd,
    /// Longer on the side of the fan's near end, where `heavy_end` is below 0.
    HeavyNearEnd,
}

impl FloodVerdict {
    /// The verdict in a plain sentence.
    pub fn words(self) -> &'static str {
        match self {
            Self::NoRuns => "Nothing runs: hold the trigger longer to see the pattern.",
            Self::Even => "The runs hang evenly along the fan.",
            Self::Feathered => {
                "The runs are longest in the middle and grow shorter towards both ends: a feathered fan."
            }
            Self::HeavyMiddle => "Nearly all runs hang in the middle: the fan is heavy in the middle.",
            Self::Split => "The runs hang in two groups: the fan is split.",
            Self::HeavyFarEnd => "The runs are longer towards the far end of the fan: it is heavy at that end.",
            Self::HeavyNearEnd => "The runs are longer towards the near end of the fan: it is heavy at that end.",
        }
    }
}

/// What hangs on the panel after a flood test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Flood {
    /// 201 columns of equal width from the fan's near end to its far end.
    pub profile: Vec<Column>,
    /// Where runs hang, from the near end to the far end; empty if nothing runs.
    pub runs: Vec<Runs>,
    /// What that says.
    pub verdict: FloodVerdict,
}

/// Columns along the fan: an odd number, so that one lies in the middle.
const COLUMNS: usize = 201;

// Where the verdicts part is our own judgement; runs go with the square of the film.
/// A run half as long as another is told apart at a glance.
const HALF_AS_LONG: f64 = 0.5;
/// Runs towards the ends a tenth as long as in the middle: a pass exponent of about 3, for which an overlap of 55 % is
/// best (derived: 1 - pi / j with j the first zero of the Bessel function of order m + 1/2); 50 % then leaves stripes.
const TENTH_AS_LONG: f64 = 0.1;

/// Floods a standing panel: the gun still and square, `distance` mm from it (above 0), the trigger open for `time`
/// (usually `USUAL_FLOOD`), with a paint that runs where its wet film is above `sag_limit`, um. A column runs by its
/// heaviest film, which starts the run; what it gathers farther down is not followed. The verdict is read from the
/// film itself, so that a high limit, which cuts short runs off, does not make an even fan a heavy middle.
pub fn flood(gun: &Gun, distance: Millimetres, time: Seconds, sag_limit: Micrometres) -> Flood {
    let spot = Spot::of(gun, distance, time);
    let place = |i: f64| Millimetres(spot.half_width * ((2.0 * i + 1.0) / COLUMNS as f64 - 1.0));
    let wet: Vec<f64> = (0..COLUMNS).map(|i| spot.heaviest(place(i as f64)).0).collect();
    let most = wet.iter().copied().fold(0.0, f64::max);
    let run = |film: f64| if film > sag_limit.0 && film > 0.0 { film * film / (most * most) } else { 0.0 };
    let column =
        |(i, film): (usize, &f64)| Column { at: place(i as f64), wet: Micrometres(*film), run: Fraction(run(*film)) };
    let profile: Vec<Column> = wet.iter().enumerate().map(column).collect();
    let runs = hanging(&profile, &|at| spot.heaviest(Millimetres(at)).0 > sag_limit.0, spot.half_width);
    let verdict = if runs.is_empty() { FloodVerdict::NoRuns } else { verdict(&wet) };
    Flood { profile, runs, verdict }
}

/// The stretches of neighbouring columns that run, their ends found between the columns by halving.
fn hanging(profile: &[Column], runs: &impl Fn(f64) -> bool, half_width: f64) -> Vec<Runs> {
    let mut found = Vec::new();
    let mut first = 0;
    for group in profile.chunk_by(|a, b| (a.run.0 > 0.0) == (b.run.0 > 0.0)) {
        let next = first + group.len();
        if group[0].run.0 > 0.0 {
            let before = first.checked_sub(1).map_or(-half_width, |i| profile[i].at.0);
            let after = profile.get(next).map_or(half_width, |column| column.at.0);
            let from = Millimetres(boundary(runs, group[0].at.0, before));
            let to = Millimetres(boundary(runs, group[group.len() - 1].at.0, after));
            let longest = Fraction(group.iter().map(|column| column.run.0).fold(0.0, f64::max));
            found.push(Runs { from, to, longest });
        }
        first = next;
    }
    found
}

/// The place between one that runs and one that does not, where it ends.
fn boundary(runs: &impl Fn(f64) -> bool, mut inside: f64, mut outside: f64) -> f64 {
    for _ in 0..40 {
        let middle = 0.5 * (inside + outside);
        if runs(middle) {
            inside = middle;
        } else {
            outside = middle;
        }
    }
    0.5 * (inside + outside)
}

/// The verdict on a film along the fan: from the squares of the film in the middle quarter of the fan and between a
/// half and three quarters of the way to either end, and from the longest run of either side.
fn verdict(wet: &[f64]) -> FloodVerdict {
    let far = |i: usize| (2 * i + 1) as f64 / wet.len() as f64 - 1.0;
    let mean = |from: f64, to: f64| {
        let inside =
            wet.iter().enumerate().filter(|(i, _)| (from..=to).contains(&far(*i))).map(|(_, film)| film * film);
        let (sum, count) = inside.fold((0.0, 0.0), |(sum, count), run| (sum + run, count + 1.0));
        sum / count
    };
    let longest = |films: &[f64]| films.iter().map(|film| film * film).fold(0.0, f64::max);
    let (near_side, far_side) = wet.split_at(wet.len() / 2);
    let middle = mean(-0.25, 0.25);
    let (near, beyond) = (mean(-0.75, -0.25), mean(0.25, 0.75));
    let ends = mean(-0.75, -0.5).min(mean(0.5, 0.75));
    if mean(-0.1, 0.1) < HALF_AS_LONG * longest(near_side).min(longest(far_side)) {
        FloodVerdict::Split
    } else if near < HALF_AS_LONG * beyond {
        FloodVerdict::HeavyFarEnd
    } else if beyond < HALF_AS_LONG * near {
        FloodVerdict::HeavyNearEnd
    } else if ends >= HALF_AS_LONG * middle {
        FloodVerdict::Even
    } else if ends >= TENTH_AS_LONG * middle {
        FloodVerdict::Feathered
    } else {
        FloodVerdict::HeavyMiddle
    }
}
