//! What many hands show of a plan: the mean, how well it is known, and what a bad day gives; and whether two plans that
//! were sprayed by the same hands differ at all. Arithmetic only; sprays nothing.

use crate::maths::ascending;

/// Hands that tell of a plan.
pub const TELLING: usize = 60;

/// Two-sided Student's t, 19 of 20, by degrees of freedom (handbook tables); between two of them the larger value.
const STUDENT: [(usize, f64); 9] =
    [(1, 12.71), (2, 4.303), (3, 3.182), (5, 2.571), (7, 2.365), (11, 2.201), (19, 2.093), (29, 2.045), (59, 2.001)];

/// Shares of the panel in the window, hand by hand, counted on coarse cells, and what the job's own cells add to them.
#[derive(Debug, Clone, Default)]
pub(super) struct Told {
    /// Hand by hand.
    pub shares: Vec<f64>,
    /// Of the first few hands: the share on the job's own cells less that on the coarse ones.
    pub finer: Vec<f64>,
}

impl Told {
    /// Mean share on the job's own cells.
    pub fn mean(&self) -> f64 {
        (mean(&self.shares) + mean(&self.finer)).clamp(0.0, 1.0)
    }

    /// The mean lies between these 19 times of 20: Student's interval, the doubt about the coarse cells counted in.
    pub fn interval(&self) -> [f64; 2] {
        let (coarse, finer) = (error_of_mean(&self.shares), error_of_mean(&self.finer));
        let off = student(self.shares.len()) * (coarse * coarse + finer * finer).sqrt();
        [(self.mean() - off).max(0.0), (self.mean() + off).min(1.0)]
    }

    /// What one hand in ten does not reach: of n hands the k-th from below with k / (n + 1) next to a tenth from below, the
    /// share of all hands that stay under it on average (Weibull 1939, from memory): of 60 the sixth.
    pub fn tenth(&self) -> f64 {
        let mut sorted = self.shares.clone();
        ascending(&mut sorted, |share| *share);
        let place = (sorted.len() + 1) / 10;
        let share = sorted.get(place.saturating_sub(1)).copied().unwrap_or(0.0);
        (share + mean(&self.finer)).clamp(0.0, 1.0)
    }
}

/// How many of its own standard errors one plan lies above another by the same hands.
pub(super) fn lead(one: &[f64], other: &[f64]) -> f64 {
    let apart: Vec<f64> = one.iter().zip(other).map(|(one, other)| one - other).collect();
    mean(&apart) / error_of_mean(&apart).max(1e-9)
}

/// Whether one plan lies above another by the same hands further than chance makes it, 19 times of 20.
pub(super) fn surer(one: &[f64], other: &[f64]) -> bool {
    lead(one, other) > student(one.len().min(other.len()))
}

pub(super) fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

fn error_of_mean(values: &[f64]) -> f64 {
    if values.len() < 2 {
        return 0.0;
    }
    let (mean, count) = (mean(values), values.len() as f64);
    let variance = values.iter().map(|value| (value - mean) * (value - mean)).sum::<f64>() / (count - 1.0);
    (variance / count).sqrt()
}

/// Student's t of the mean of so many values.
fn student(values: usize) -> f64 {
    let freedom = values.saturating_sub(1).max(1);
    STUDENT.iter().rev().find(|(of, _)| *of <= freedom).map_or(f64::INFINITY, |(_, t)| *t)
}
