//! How a test card is fitted: the numbers, where they are sought, from which starts, whether a fault is needed, and what
//! the scatter of the readings makes uncertain (linear estimate; whether a fault is needed: the usual F test at 95 %).
//! Does not know what is made of the numbers.

use crate::gun::test_card::{EDGE_FILM, ENOUGH_UNDER, FAN_WIDTH, PASS_EXPONENT};
use crate::gun::{Gun, Pass, TestCard};
use crate::maths::{Fitted, least_squares, spread};

/// Beyond an edge that was reached, from this share of the card's length on, there is taken to be no film, or a wide
/// split fan with its second hump off the card would fit too.
const BARE_FROM: f64 = 0.25;
/// Places on each side where that is asked, an eighth of the card's length apart.
const BARE_PLACES: usize = 12;
/// Readings closer than this to the pass are exact, um.
const ROUNDING: f64 = 1e-6;

/// What is fitted, in this order: centre from the card's middle, mm; half width, mm; exponent; heavy end; split;
/// film summed across the pass, um mm.
type Numbers = [f64];

/// The readings about their middle, and between which bounds the numbers are sought.
pub(super) struct Card {
    pub(super) middle: f64,
    /// Width at the card over width at the gun's `at_distance`.
    pub(super) scale: f64,
    readings: Vec<(f64, f64)>,
    sorted: Vec<(f64, f64)>,
    bare: Vec<(f64, f64)>,
    pub(super) bounds: [(f64, f64); 6],
    /// Whether there are enough readings to look for faults.
    faults: bool,
}

impl Card {
    pub(super) fn of(card: &TestCard, gun: &Gun) -> Self {
        let mut sorted = card.sorted();
        let (low, high) = (sorted[0].0, sorted[sorted.len() - 1].0);
        let (middle, reach) = (0.5 * (low + high), high - low);
        sorted.iter_mut().for_each(|(at, _)| *at -= middle);
        let scale = card.distance.0 / gun.at_distance.0;
        let faults = card.under_the_fan() >= ENOUGH_UNDER;
        let bounds = [
            (-reach, reach),
            (0.5 * FAN_WIDTH.0 * scale, 0.5 * FAN_WIDTH.1 * scale),
            PASS_EXPONENT,
            (-1.0, 1.0),
            (0.0, 1.0),
            (0.0, 20.0 * trapezoid(&sorted, |_| 1.0)),
        ];
        let readings = card.readings.iter().map(|(at, film)| (at.0 - middle, film.0)).collect();
        let bare = bare_beyond(&sorted, EDGE_FILM * card.largest());
        Self { middle, scale, readings, sorted, bare, bounds, faults }
    }

    /// Fitted less measured film, um: first at the readings, then at the bare places beyond them.
    fn residuals(&self, x: &Numbers) -> Vec<f64> {
        let (pass, peak) = (Pass::new(x[2], x[3], x[4]), x[5] / x[1]);
        let all = self.readings.iter().chain(&self.bare);
        all.map(|(at, film)| peak * pass.share((at - x[0]) / x[1]) - film).collect()
    }

    /// Where to start: from the readings' own mean and spread with several shapes, and as if one half were missing.
    fn starts(&self) -> Vec<[f64; 6]> {
        let summed = trapezoid(&self.sorted, |_| 1.0);
        let mean = trapezoid(&self.sorted, |at| at) / summed;
        let variance = trapezoid(&self.sorted, |at| (at - mean) * (at - mean)) / summed;
        let reach = self.sorted[self.sorted.len() - 1].0;
        let mut starts = Vec::new();
        for (m, split) in [(1.0, 0.0), (2.4, 0.0), (5.0, 0.0), (1.0, 0.5), (2.4, 0.5), (5.0, 0.5)] {
            // the variance of a split pass over the square of its half width (derived)
            let relative = (1.0 - split) / (2.0 * m + 3.0) + 3.0 * split / (2.0 * m + 5.0);
            let half = (variance / relative).sqrt();
            starts.extend([-0.5, 0.0, 0.5].map(|heavy| [mean, half, m, heavy, split, summed]));
        }
        starts.extend([-reach, reach].map(|centre| [centre, 2.0 * reach, 2.4, 0.0, 0.0, 2.0 * summed]));
        starts
    }

    /// The simplest fit that the readings allow: a fault is said only where leaving it out would fit clearly worse.
    pub(super) fn fit(&self) -> Found {
        let sound = self.best([false, false]);
        let whole = self.best([true, true]);
        let Some((scatter, spare)) = whole.scatter.filter(|_| self.faults) else { return sound };
        let worst = two_sided_95(spare) * two_sided_95(spare) * (scatter * scatter + ROUNDING * ROUNDING);
        let enough = |found: &Found| found.cost - whole.cost <= worst * (6 - found.numbers().len()) as f64;
        if enough(&sound) {
            return sound;
        }
        let (heavy, split) = (self.best([true, false]), self.best([false, true]));
        let single = if heavy.cost <= split.cost { heavy } else { split };
        if enough(&single) { single } else { whole }
    }

    /// The best fit from all starts, with or without a heavy end and a split.
    fn best(&self, faults: [bool; 2]) -> Found {
        let mut bounds = self.bounds;
        for (i, allowed) in [3, 4].into_iter().zip(faults) {
            bounds[i] = if allowed { bounds[i] } else { (0.0, 0.0) };
        }
        let inside = |x: &[f64; 6]| (3..5).all(|i| (bounds[i].0..=bounds[i].1).contains(&x[i]));
        let fit = |start: [f64; 6]| least_squares(&start, &bounds, |x| self.residuals(x));
        let fits = self.starts().into_iter().filter(inside).map(fit);
        let best = fits.reduce(|best, next| if next.cost() < best.cost() { next } else { best });
        // the starts without faults are inside any bounds
        let best = best.unwrap_or_else(|| fit(self.starts()[1]));
        self.found(best, faults)
    }

    fn found(&self, best: Fitted, faults: [bool; 2]) -> Found {
        let (cost, settled) = (best.cost(), best.settled);
        let residuals = best.residuals[..self.readings.len()].to_vec();
        let mut found = Found { values: best.values, residuals, cost, settled, faults, scatter: None };
        let x = &found.values;
        let under = self.readings.iter().zip(&found.residuals).filter(|((at, _), _)| (at - x[0]).abs() < x[1]);
        let (count, squares) = under.fold((0, 0.0), |(count, sum), (_, r)| (count + 1, sum + r * r));
        let fitted = found.numbers().len();
        found.scatter = (count > fitted).then(|| ((squares / (count - fitted) as f64).sqrt(), count - fitted));
        found
    }

    /// What each number may be off by; none where the readings are too few, or do not tell the numbers apart.
    pub(super) fn off(&self, found: &Found) -> Option<[f64; 6]> {
        let (scatter, spare) = found.scatter.filter(|_| self.faults)?;
        let mut off = [0.0; 6];
        for numbers in [vec![0, 1, 2, 3, 4, 5], found.numbers()] {
            let chosen: Vec<f64> = numbers.iter().map(|i| found.values[*i]).collect();
            let steps: Vec<f64> =
                numbers.iter().map(|i| [1e-3, 1e-3, 1e-4, 1e-4, 1e-4, 1e-4 * found.values[5]][*i]).collect();
            let whole = |some: &[f64]| {
                let mut x = found.values.clone();
                numbers.iter().zip(some).for_each(|(i, value)| x[*i] = *value);
                self.residuals(&x)
            };
            let spread = spread(&chosen, &steps, whole)?;
            numbers.iter().zip(spread).for_each(|(i, spread)| off[*i] = scatter * two_sided_95(spare) * spread);
        }
        Some(off)
    }
}

/// A fit and what it was allowed.
pub(super) struct Found {
    /// The numbers.
    pub(super) values: Vec<f64>,
    /// Fitted less measured film at the readings, um.
    pub(super) residuals: Vec<f64>,
    pub(super) settled: bool,
    /// Scatter of the readings under the fitted fan, um, and how many there are more than numbers; none if not one.
    pub(super) scatter: Option<(f64, usize)>,
    cost: f64,
    faults: [bool; 2],
}

impl Found {
    /// Which numbers were free.
    fn numbers(&self) -> Vec<usize> {
        let [heavy, split] = self.faults;
        (0..6).filter(|i| (heavy || *i != 3) && (split || *i != 4)).collect()
    }
}

/// Places without film beyond the sides that were reached.
fn bare_beyond(sorted: &[(f64, f64)], edge: f64) -> Vec<(f64, f64)> {
    let (first, last) = (sorted[0], sorted[sorted.len() - 1]);
    let length = last.0 - first.0;
    let beyond = |i: usize| length * (BARE_FROM + i as f64 / 8.0);
    let low = (0..BARE_PLACES).filter(|_| first.1 <= edge).map(|i| (first.0 - beyond(i), 0.0));
    let high = (0..BARE_PLACES).filter(|_| last.1 <= edge).map(|i| (last.0 + beyond(i), 0.0));
    low.chain(high).collect()
}

/// The film times a weight, summed across the card by straight lines between the readings.
fn trapezoid(sorted: &[(f64, f64)], weight: impl Fn(f64) -> f64) -> f64 {
    let at = |(at, film): (f64, f64)| weight(at) * film;
    sorted.windows(2).map(|pair| 0.5 * (at(pair[0]) + at(pair[1])) * (pair[1].0 - pair[0].0)).sum()
}

/// Student's t, two-sided, 95 % (recomputed by quadrature of its density); beyond ten a curve, within 0.006 of it.
fn two_sided_95(spare: usize) -> f64 {
    const TABLE: [f64; 10] = [12.706, 4.303, 3.182, 2.776, 2.571, 2.447, 2.365, 2.306, 2.262, 2.228];
    TABLE.get(spare.max(1) - 1).copied().unwrap_or(1.96 + 2.6 / spare as f64)
}
