//! The gun from a test card: fan width, exponent, faults and delivered paint are fitted to the dry film measured across
//! one straight pass of a gun held square (the pass is that of `Pass`, its paint balance derived: film x speed x width
//! over solids). Does not know the fan's depth, nor fluid and transfer apart: a pass only shows their product.

use crate::error::Problem;
use crate::gun::card_fit::{Card, Found};
use crate::gun::{Doubt, Gun, MOST_TRANSFER, Pass, Side};
use crate::maths::{ascending, exp};
use crate::units::{Fraction, Micrometres, MillilitresPerMinute, Millimetres, MillimetresPerSecond};
use serde::{Deserialize, Serialize};

/// What was measured on a flat card after one straight pass. Of several passes over the same line, give the film
/// divided by their number.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct TestCard {
    /// From the nozzle to the card, mm.
    #[serde(rename = "distance_mm")]
    pub distance: Millimetres,
    /// Travel speed, mm/s.
    #[serde(rename = "speed_mm_per_s")]
    pub speed: MillimetresPerSecond,
    /// Share of the wet paint that stays as dry film.
    #[serde(rename = "solids_by_volume")]
    pub solids: Fraction,
    /// Fluid caught and measured, mL/min; none if it was not.
    #[serde(rename = "fluid_ml_per_min", default)]
    pub fluid: Option<MillilitresPerMinute>,
    /// Position across the fan, mm from anywhere, and dry film there, um; in any order.
    pub readings: Vec<(Millimetres, Micrometres)>,
}

/// What a number of the fit may be off by, either way: a 95 % interval from the scatter of the readings about the fitted
/// pass, which holds the truth in about nine of ten cards (counted in `tests/gun_card.rs`: the estimate is linear). A
/// fault that was not needed counts as not there for the other numbers; its own figure says how large a fault might
/// have stayed hidden. A wrong zero of the gauge, speed, distance or solids is not in it.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Within {
    /// Fan width at the gun's `at_distance`.
    pub fan_width: Millimetres,
    /// Pass exponent.
    pub pass_exponent: f64,
    /// Heavy end.
    pub heavy_end: Fraction,
    /// Split.
    pub split: Fraction,
    /// Centre of the pass on the card.
    pub centre: Millimetres,
    /// Delivered paint.
    pub delivered: MillilitresPerMinute,
}

/// A gun as a test card shows it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GunFit {
    /// The gun handed in, with fan width, pass exponent, heavy end, split, and fluid (or transfer) as found. Fan depth
    /// and depth exponent are untouched.
    pub gun: Gun,
    /// The fan's centre, in the card's positions. A positive heavy end lies at larger positions.
    pub centre: Millimetres,
    /// Paint that reached the card: fluid x transfer at the card's distance.
    pub delivered: MillilitresPerMinute,
    /// Fitted less measured film, in the order of the readings.
    pub residuals: Vec<Micrometres>,
    /// Root of their mean square.
    pub rms: Micrometres,
    /// What the numbers may be off by; none where the readings are too few, or do not tell the numbers apart.
    pub within: Option<Within>,
    /// Why not to trust it; empty if there is no reason.
    pub doubts: Vec<Doubt>,
}

/// Fewest readings of a card, and most.
const READINGS: (usize, usize) = (5, 2000);
/// A reading below this share of the largest is taken as the fan's edge: of one pass the gauge hardly sees it.
pub(super) const EDGE_FILM: f64 = 0.1;
/// A fit without faults has four numbers: as many readings must lie under the fan.
const FEWEST_UNDER: usize = 4;
/// With faults it has six; with eight readings there are two left over to show how well it fits.
pub(super) const ENOUGH_UNDER: usize = 8;
/// A gap wider than this share of the fan can hide a whole hump of a split fan.
const WIDE_GAP: f64 = 0.25;
/// A tenth of the fan's width, wrong, is five points of overlap where 50 % is meant.
const LOOSE_WIDTH: f64 = 0.1;
/// From memory: dry film gauges err by 1 um and 1 % of the reading.
const GAUGE: (f64, f64) = (1.0, 0.01);

/// Limits of the inputs table: fan width, mm; pass exponent; fluid, mL/min; transfer.
pub(super) const FAN_WIDTH: (f64, f64) = (50.0, 600.0);
pub(super) const PASS_EXPONENT: (f64, f64) = (0.5, 8.0);
const FLUID: (f64, f64) = (10.0, 1000.0);
const TRANSFER: (f64, f64) = (0.05, MOST_TRANSFER);

impl TestCard {
    /// Refuses what cannot have been measured, and fewer readings than a fit needs.
    pub fn check(&self) -> Result<(), Problem> {
        within_limits("distance_mm", self.distance.0, (50.0, 600.0), "mm")?;
        within_limits("speed_mm_per_s", self.speed.0, (50.0, 2000.0), "mm/s")?;
        within_limits("solids_by_volume", self.solids.0, (0.05, 1.0), "as a share of 1")?;
        if let Some(fluid) = self.fluid {
            within_limits("fluid_ml_per_min", fluid.0, FLUID, "mL/min")?;
        }
        for (i, (at, film)) in self.readings.iter().enumerate() {
            within_limits(&format!("readings[{i}][0]"), at.0, (-1e4, 1e4), "mm, the position")?;
            within_limits(&format!("readings[{i}][1]"), film.0, (0.0, 1000.0), "um of dry film")?;
        }
        self.check_readings()
    }

    fn check_readings(&self) -> Result<(), Problem> {
        let refused = |given: String, allowed: &str, remedy: &str| {
            Err(Problem::new("test_card.readings", given, allowed, remedy))
        };
        let (count, (fewest, most)) = (self.readings.len(), READINGS);
        if !(fewest..=most).contains(&count) {
            let allowed = format!("{fewest} to {most}");
            return refused(format!("{count} readings"), &allowed, "Measure at ten places across the fan.");
        }
        let sorted = self.sorted();
        if let Some(pair) = sorted.windows(2).find(|pair| pair[0].0 == pair[1].0) {
            let given = format!("{} mm twice", pair[0].0);
            return refused(given, "each position once", "Give the mean of the readings at one place.");
        }
        if self.largest() <= 0.0 {
            return refused("0 um everywhere".into(), "some film", "Measure where the pass was laid.");
        }
        let under = self.under_the_fan();
        if under < FEWEST_UNDER {
            let allowed = format!("{FEWEST_UNDER} or more that carry a tenth of the largest film");
            return refused(format!("{under} readings with film"), &allowed, "Measure at ten places across the fan.");
        }
        Ok(())
    }

    /// Fits the pass to the readings. The gun gives what a pass does not show: depth, the distance its width is given
    /// for, and the transfer, which is kept while the fluid is set; where the card's fluid was measured, that is kept
    /// and the transfer set. The gun's own settings must be within the limits of a job.
    pub fn fit(&self, gun: &Gun) -> Result<GunFit, Problem> {
        self.check()?;
        let card = Card::of(self, gun);
        let found = card.fit();
        Ok(self.said(gun, &card, &found))
    }

    /// Dry film that a gun lays on this card at a position, its centre passing over another.
    pub fn laid_by(&self, gun: &Gun, centre: Millimetres, at: Millimetres) -> Micrometres {
        let half = gun.width_at(self.distance).0 / 2.0;
        let landing = gun.fluid.cubic_mm_per_s() * gun.transfer_at(self.distance).0;
        let summed = 1000.0 * landing * self.solids.0 / self.speed.0;
        Micrometres(summed / half * Pass::of(gun).share((at.0 - centre.0) / half))
    }

    /// Paint that reached the card, from the film summed across the pass (um mm).
    pub(super) fn delivered(&self, summed: f64) -> MillilitresPerMinute {
        MillilitresPerMinute(summed / 1000.0 * self.speed.0 / self.solids.0 * 60.0 / 1000.0)
    }

    pub(super) fn sorted(&self) -> Vec<(f64, f64)> {
        let mut sorted: Vec<(f64, f64)> = self.readings.iter().map(|(at, film)| (at.0, film.0)).collect();
        ascending(&mut sorted, |reading| reading.0);
        sorted
    }

    pub(super) fn largest(&self) -> f64 {
        self.readings.iter().map(|(_, film)| film.0).fold(0.0, f64::max)
    }

    pub(super) fn under_the_fan(&self) -> usize {
        let edge = EDGE_FILM * self.largest();
        self.readings.iter().filter(|(_, film)| film.0 >= edge).count()
    }

    fn said(&self, gun: &Gun, card: &Card, found: &Found) -> GunFit {
        let x = &found.values;
        let delivered = self.delivered(x[5]);
        let mut fitted = Gun {
            fan_width: Millimetres(2.0 * x[1] / card.scale),
            pass_exponent: x[2],
            heavy_end: Fraction(x[3]),
            split: Fraction(x[4]),
            ..gun.clone()
        };
        let mut doubts = self.account(&mut fitted, delivered);
        let squares: f64 = found.residuals.iter().map(|r| r * r).sum();
        let rms = Micrometres((squares / found.residuals.len() as f64).sqrt());
        let within = card.off(found).map(|off| self.within(card, off));
        doubts.extend(self.doubts_of_readings(x));
        doubts.extend(self.doubts_of_fit(card, found, rms, within.as_ref()));
        GunFit {
            gun: fitted,
            centre: Millimetres(x[0] + card.middle),
            delivered,
            residuals: found.residuals.iter().map(|r| Micrometres(*r)).collect(),
            rms,
            within,
            doubts,
        }
    }

    /// Shares the delivered paint between fluid and transfer.
    fn account(&self, gun: &mut Gun, delivered: MillilitresPerMinute) -> Vec<Doubt> {
        let mut doubts = Vec::new();
        match self.fluid {
            None => gun.fluid = MillilitresPerMinute(delivered.0 / gun.transfer_at(self.distance).0),
            Some(fluid) => {
                let share = delivered.0 / fluid.0;
                let nearer = gun.transfer_falls_over.map_or(0.0, |over| (self.distance.0 - gun.at_distance.0) / over.0);
                let transfer = share * exp(nearer);
                if share > MOST_TRANSFER {
                    doubts.push(Doubt::MorePaintThanFluid);
                } else if !(TRANSFER.0..=TRANSFER.1).contains(&transfer) {
                    doubts.push(Doubt::AtLimit("transfer_efficiency"));
                }
                gun.fluid = fluid;
                gun.transfer_efficiency = Fraction(transfer.clamp(TRANSFER.0, TRANSFER.1));
            }
        }
        if !(FLUID.0..=FLUID.1).contains(&gun.fluid.0) {
            doubts.push(Doubt::AtLimit("fluid_ml_per_min"));
        }
        doubts
    }

    fn within(&self, card: &Card, off: [f64; 6]) -> Within {
        Within {
            fan_width: Millimetres(2.0 * off[1] / card.scale),
            pass_exponent: off[2],
            heavy_end: Fraction(off[3]),
            split: Fraction(off[4]),
            centre: Millimetres(off[0]),
            delivered: self.delivered(off[5]),
        }
    }

    fn doubts_of_readings(&self, x: &[f64]) -> Vec<Doubt> {
        let (sorted, edge) = (self.sorted(), EDGE_FILM * self.largest());
        let mut doubts = Vec::new();
        let under = self.under_the_fan();
        if under < ENOUGH_UNDER {
            doubts.push(Doubt::FewReadings(under));
        }
        let widest = sorted.windows(2).filter(|pair| pair[0].1.max(pair[1].1) >= edge);
        let widest = widest.map(|pair| pair[1].0 - pair[0].0).fold(0.0, f64::max);
        if widest > WIDE_GAP * 2.0 * x[1] {
            doubts.push(Doubt::WideGap(Millimetres(widest)));
        }
        for (side, (_, film)) in [(Side::Low, sorted[0]), (Side::High, sorted[sorted.len() - 1])] {
            if film > edge {
                doubts.push(Doubt::EdgeNotReached(side));
            }
        }
        doubts
    }

    fn doubts_of_fit(&self, card: &Card, found: &Found, rms: Micrometres, within: Option<&Within>) -> Vec<Doubt> {
        let mut doubts = Vec::new();
        let (usual, scatter) =
            (GAUGE.0 + GAUGE.1 * self.largest(), found.scatter.map_or(rms.0, |(scatter, _)| scatter));
        if scatter > usual {
            doubts.push(Doubt::Scatter { found: Micrometres(scatter), usual: Micrometres(usual) });
        }
        // a split of 0 is a sound gun, not a limit
        for (i, key) in [(1, "fan_width_mm"), (2, "pass_exponent"), (3, "heavy_end"), (4, "split")] {
            let ((low, high), x) = (card.bounds[i], found.values[i]);
            if x >= high || x <= low && i != 4 {
                doubts.push(Doubt::AtLimit(key));
            }
        }
        let loose = |within: &Within| within.fan_width.0 * card.scale > LOOSE_WIDTH * 2.0 * found.values[1];
        if within.is_none_or(loose) {
            doubts.push(Doubt::WidthAgainstExponent);
        }
        if !found.settled {
            doubts.push(Doubt::Unsettled);
        }
        doubts
    }
}

fn within_limits(key: &str, given: f64, (least, most): (f64, f64), unit: &str) -> Result<(), Problem> {
    if (least..=most).contains(&given) {
        return Ok(());
    }
    let (at, allowed) = (format!("test_card.{key}"), format!("{least} to {most} {unit}"));
    let given = if given.is_finite() { given.to_string() } else { "no number".to_string() };
    Err(Problem::new(at, given, allowed, "Give a value within the limits."))
}
