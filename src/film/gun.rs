//! The gun: its settings, how it stands in space, and the pattern of its fan (elliptic double beta; the
//! circular beta is Balkan & Arikan 1999, the pass integrals are derived and checked in `tests/`).
//! Has never heard of a panel, a plan or a hand.

use crate::maths::{Table, beta, exp, pow};
use crate::units::{Fraction, MillilitresPerMinute, Millimetres};
use glam::DVec3;
use serde::{Deserialize, Serialize};
use std::cell::RefCell;
use std::sync::Arc;

mod card_fit;
mod doubt;
mod flood;
mod pass;
mod test_card;

pub use doubt::{Doubt, Side};
pub use flood::{Column, Flood, FloodVerdict, Runs, Spot, USUAL_FLOOD, flood};
pub use pass::Pass;
pub use test_card::{GunFit, TestCard, Within};

/// Settings of one spray gun, as in the job file's `gun`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gun {
    /// Long axis of the footprint at `at_distance`, mm.
    #[serde(rename = "fan_width_mm")]
    pub fan_width: Millimetres,
    /// Short axis of the footprint at `at_distance`, mm.
    #[serde(rename = "fan_depth_mm")]
    pub fan_depth: Millimetres,
    /// Distance at which width and depth were measured, mm. The angles stay fixed.
    #[serde(rename = "at_distance_mm")]
    pub at_distance: Millimetres,
    /// m: one straight pass lays (1 - u^2)^m across its width.
    pub pass_exponent: f64,
    /// k: along the short axis the flux falls as (1 - v^2/(1 - u^2))^k.
    pub depth_exponent: f64,
    /// Heavier towards the far or upper end of the fan (positive) or the near one, -1..1.
    pub heavy_end: Fraction,
    /// Paint moved from the middle to both ends, 0..1.
    pub split: Fraction,
    /// Fluid delivered with the trigger open, mL/min.
    #[serde(rename = "fluid_ml_per_min")]
    pub fluid: MillilitresPerMinute,
    /// Share of the paint that reaches a surface at `at_distance`.
    pub transfer_efficiency: Fraction,
    /// Distance over which the transfer falls by 1/e, mm; none means that it does not fall (an assumption either way).
    #[serde(rename = "transfer_falls_over_mm")]
    pub transfer_falls_over: Option<Millimetres>,
}

/// The transfer is never taken above this, however near the gun: an assumption.
pub const MOST_TRANSFER: f64 = 0.95;

impl Gun {
    /// Tangent of the half angle of the fan's long axis.
    pub fn tan_half_width(&self) -> f64 {
        self.fan_width.0 / 2.0 / self.at_distance.0
    }

    /// Tangent of the half angle of the fan's short axis.
    pub fn tan_half_depth(&self) -> f64 {
        self.fan_depth.0 / 2.0 / self.at_distance.0
    }

    /// Width of the fan at another distance.
    pub fn width_at(&self, distance: Millimetres) -> Millimetres {
        Millimetres(self.fan_width.0 * distance.0 / self.at_distance.0)
    }

    /// Depth of the fan at another distance.
    pub fn depth_at(&self, distance: Millimetres) -> Millimetres {
        Millimetres(self.fan_depth.0 * distance.0 / self.at_distance.0)
    }

    /// Share of the paint that reaches a surface at this axial distance: TE0 exp(-(z - z0)/L), never above 0.95.
    pub fn transfer_at(&self, distance: Millimetres) -> Fraction {
        let at_z0 = self.transfer_efficiency.0;
        let share = match self.transfer_falls_over {
            Some(over) => at_z0 * exp(-(distance.0 - self.at_distance.0) / over.0),
            None => at_z0,
        };
        Fraction(share.min(MOST_TRANSFER))
    }
}

/// How the gun stands: the nozzle, where it points, and how its fan lies. `aim` and `fan` are square unit vectors.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Pose {
    /// Position of the nozzle, mm.
    pub nozzle: DVec3,
    /// Direction of the spray's axis.
    pub aim: DVec3,
    /// Direction of the fan's long axis; `heavy_end` weighs this end.
    pub fan: DVec3,
}

impl Pose {
    /// Direction of the fan's short axis: aim x fan.
    pub fn across(&self) -> DVec3 {
        self.aim.cross(self.fan)
    }
}

/// The fan's pattern w(u, v) with |u| = 1 at its ends, and its closed form for a gun that travels along the short
/// axis. It integrates to 1 whatever the settings, faults included.
///
/// ```
/// # let gun = fanlap_formats::job::Job::default().gun;
/// let pattern = fanlap_film::gun::Pattern::of(&gun);
/// // sweeping the whole footprint over a point leaves what one straight pass lays there
/// let (u, m) = (0.3, gun.pass_exponent);
/// let pass = pattern.swept(u, -1.0, 1.0) * 2.0;
/// let middle = pattern.swept(0.0, -1.0, 1.0) * 2.0;
/// assert!((pass / middle - (1.0 - u * u as f64).powf(m)).abs() < 1e-6);
/// ```
#[derive(Debug, Clone)]
pub struct Pattern {
    scale: f64,
    pass_exponent: f64,
    depth_exponent: f64,
    heavy_end: f64,
    split: f64,
    split_gain: f64,
    tables: Arc<Tables>,
    /// The flux of one passage, from -1 to 1.
    whole: f64,
}

/// What of a pattern depends on the two exponents alone.
#[derive(Debug)]
struct Tables {
    exponents: (f64, f64),
    /// C q^m over q = 1 - u^2
    across: Table,
    /// integral of (1 - x^2)^k from 0 to t, over -1..1
    along: Table,
}

/// Places in the two tables: the straight lines between them are then within 1e-6 of the peak.
const PLACES: usize = 4096;
/// A sweep shorter than this share of the fan's depth is widened to it: the pattern at rest.
const AT_REST: f64 = 2.0 / PLACES as f64;

impl Pattern {
    /// The pattern of a gun.
    pub fn of(gun: &Gun) -> Self {
        let (m, k) = (gun.pass_exponent, gun.depth_exponent);
        let scale = 1.0 / (beta(0.5, k + 1.0) * beta(0.5, m + 1.0));
        let tables = Tables::of(m, k, scale);
        Self {
            scale,
            pass_exponent: m,
            depth_exponent: k,
            heavy_end: gun.heavy_end.0,
            split: gun.split.0,
            split_gain: 2.0 * m + 3.0,
            whole: 2.0 * tables.along.at(1.0),
            tables,
        }
    }

    /// The air cap's faults: heavy at one end, split. Both keep the pattern's integral.
    #[inline]
    fn fault(&self, u: f64) -> f64 {
        fault(u, self.heavy_end, self.split, self.split_gain)
    }

    /// w(u, v) itself, evaluated without tables.
    pub fn flux(&self, u: f64, v: f64) -> f64 {
        let q = 1.0 - u * u;
        let rest = 1.0 - v * v / q;
        if q <= 0.0 || rest <= 0.0 {
            return 0.0;
        }
        self.scale * self.fault(u) * pow(q, self.pass_exponent - 0.5) * pow(rest, self.depth_exponent)
    }

    /// The integral of w(u, v) over v: what a whole passage leaves at u, which is inside the fan.
    #[inline]
    pub fn line(&self, u: f64) -> f64 {
        self.fault(u) * self.tables.across.at(1.0 - u * u) * self.whole
    }

    /// The mean of w(u, v) while v runs evenly from `from` to `to`: the closed form of a gun that travels.
    #[inline]
    pub fn swept(&self, u: f64, from: f64, to: f64) -> f64 {
        let q = 1.0 - u * u;
        if q <= 0.0 {
            return 0.0;
        }
        if from * from >= q && to * to >= q {
            // the whole of the fan goes over the place, or nothing of it
            return if (from < 0.0) != (to < 0.0) { self.line(u) / (to - from).abs() } else { 0.0 };
        }
        let inverse = 1.0 / q.sqrt();
        let (mut t1, mut t2) = (from * inverse, to * inverse);
        if (t2 - t1).abs() < AT_REST {
            let middle = 0.5 * (t1 + t2);
            (t1, t2) = (middle - 0.5 * AT_REST, middle + 0.5 * AT_REST);
        }
        self.fault(u) * self.tables.across.at(q) * inverse * (self.tables.along.at(t2) - self.tables.along.at(t1))
            / (t2 - t1)
    }
}

impl Tables {
    /// Those of the last pattern are kept: most changes of a job leave the exponents as they are.
    fn of(m: f64, k: f64, scale: f64) -> Arc<Self> {
        thread_local! {
            static LAST: RefCell<Option<Arc<Tables>>> = const { RefCell::new(None) };
        }
        let kept = LAST.with_borrow(|last| last.clone()).filter(|tables| tables.exponents == (m, k));
        let tables = kept.unwrap_or_else(|| {
            let across = Table::new(0.0, 1.0, PLACES, |q| scale * pow(q, m));
            Arc::new(Self { exponents: (m, k), across, along: integral_of_flux(k) })
        });
        LAST.set(Some(tables.clone()));
        tables
    }
}

/// What the faults make of the flux at u; the gain of a split is 2m + 3.
#[inline]
fn fault(u: f64, heavy_end: f64, split: f64, split_gain: f64) -> f64 {
    (1.0 + heavy_end * u) * (1.0 - split + split * split_gain * u * u)
}

/// The integral of (1 - x^2)^k from 0 to t: by five-point Gauss over each interval of a substitution x = sin(a),
/// which keeps it exact to 1e-12 at the fan's edge for every k >= 0.
fn integral_of_flux(k: f64) -> Table {
    let step = 2.0 / PLACES as f64;
    let half: Vec<f64> = (0..PLACES / 2)
        .scan(0.0, |sum, i| {
            let (from, to) = (i as f64 * step, (i + 1) as f64 * step);
            let (a, b) = (crate::maths::asin(from), crate::maths::asin(to.min(1.0)));
            *sum += crate::maths::integral(a, b, |x| pow(crate::maths::cos(x), 2.0 * k + 1.0));
            Some(*sum)
        })
        .collect();
    let values = half.iter().rev().map(|s| -s).chain([0.0]).chain(half.iter().copied()).collect();
    Table::from_values(-1.0, step, values)
}
