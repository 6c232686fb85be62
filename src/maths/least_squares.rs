//! Fits a handful of numbers, each within its bounds, so that the sum of squared residuals is least: K. Levenberg 1944,
//! Quarterly of Applied Mathematics 2, 164; D. W. Marquardt 1963, J. Soc. Indust. Appl. Math. 11, 431. Numbers that rest
//! on a bound and would leave it stand still for a round (active set). For up to some twenty numbers; the derivatives
//! are differences. Does not know what is fitted.

/// What a fit came to.
#[derive(Debug, Clone, PartialEq)]
pub struct Fitted {
    /// The numbers, each within its bounds.
    pub values: Vec<f64>,
    /// What is left, in the order in which the residuals came.
    pub residuals: Vec<f64>,
    /// Rounds that were needed.
    pub rounds: usize,
    /// Whether the last rounds no longer changed anything.
    pub settled: bool,
}

impl Fitted {
    /// Sum of the squared residuals.
    pub fn cost(&self) -> f64 {
        cost(&self.residuals)
    }
}

/// Most rounds of a fit.
const ROUNDS: usize = 200;
/// A round that lowers the cost by less than this share has settled.
const SETTLED: f64 = 1e-12;

/// Fits from `start`, which is held within `bounds` (least, most). `residuals` answers with as many numbers each time,
/// all finite within the bounds.
///
/// ```
/// use fanlap::maths::{exp, least_squares};
/// // a decay sampled at 0, 1, 2, 3: amplitude 5, rate 0.7
/// let seen: Vec<f64> = (0..4).map(|t| 5.0 * exp(-0.7 * f64::from(t))).collect();
/// let off = |x: &[f64]| (0..4).map(|t| x[0] * exp(-x[1] * t as f64) - seen[t]).collect::<Vec<_>>();
/// let fitted = least_squares(&[1.0, 0.1], &[(0.0, 100.0), (0.0, 10.0)], off);
/// assert!((fitted.values[0] - 5.0).abs() < 1e-6 && (fitted.values[1] - 0.7).abs() < 1e-6);
/// ```
pub fn least_squares(start: &[f64], bounds: &[(f64, f64)], residuals: impl Fn(&[f64]) -> Vec<f64>) -> Fitted {
    let held = |x: &[f64]| x.iter().zip(bounds).map(|(x, (low, high))| x.clamp(*low, *high)).collect::<Vec<f64>>();
    let mut values = held(start);
    let mut left = residuals(&values);
    let (mut damping, mut settled, mut rounds) = (1e-3, false, 0);
    while rounds < ROUNDS && !settled {
        rounds += 1;
        let (slopes, gradient) = linearised(&values, bounds, &left, &residuals);
        let free: Vec<usize> = (0..values.len())
            .filter(|i| {
                let (low, high) = bounds[*i];
                !(values[*i] <= low && gradient[*i] > 0.0 || values[*i] >= high && gradient[*i] < 0.0)
            })
            .collect();
        let mut better = false;
        while damping < 1e12 {
            let step = damped_step(&slopes, &gradient, &free, damping);
            let mut moved = values.clone();
            free.iter().zip(&step).for_each(|(i, step)| moved[*i] += step);
            let moved = held(&moved);
            let after = residuals(&moved);
            if cost(&after) < cost(&left) {
                settled = cost(&left) - cost(&after) <= SETTLED * cost(&left);
                (values, left, better) = (moved, after, true);
                damping = (damping * 0.2).max(1e-12);
                break;
            }
            damping *= 5.0;
        }
        settled |= !better;
    }
    Fitted { values, residuals: left, rounds, settled }
}

fn cost(residuals: &[f64]) -> f64 {
    residuals.iter().map(|r| r * r).sum()
}

/// How every residual changes with every number, and half the gradient of the cost.
fn linearised(
    values: &[f64],
    bounds: &[(f64, f64)],
    left: &[f64],
    residuals: &impl Fn(&[f64]) -> Vec<f64>,
) -> (Vec<Vec<f64>>, Vec<f64>) {
    let slope = |i: usize| {
        let (low, high) = bounds[i];
        let step = 1e-6 * (values[i].abs() + 1e-3 * (high - low).min(1e3)).max(1e-9);
        let (up, down) = ((values[i] + step).min(high), (values[i] - step).max(low));
        let at = |x: f64| {
            let mut moved = values.to_vec();
            moved[i] = x;
            residuals(&moved)
        };
        let run = up - down;
        at(up).iter().zip(at(down)).map(|(a, b)| if run > 0.0 { (a - b) / run } else { 0.0 }).collect::<Vec<f64>>()
    };
    let slopes: Vec<Vec<f64>> = (0..values.len()).map(slope).collect();
    let gradient = slopes.iter().map(|slope| dot(slope, left)).collect();
    (slopes, gradient)
}

/// The step of the free numbers: (J'J + damping diag(J'J)) step = -J'r, by Cholesky.
fn damped_step(slopes: &[Vec<f64>], gradient: &[f64], free: &[usize], damping: f64) -> Vec<f64> {
    let n = free.len();
    let mut matrix = vec![vec![0.0; n]; n];
    for (i, p) in free.iter().enumerate() {
        for (j, q) in free.iter().enumerate().take(i + 1) {
            matrix[i][j] = dot(&slopes[*p], &slopes[*q]);
        }
        matrix[i][i] += damping * matrix[i][i] + 1e-30;
    }
    for i in 0..n {
        for j in 0..=i {
            let sum = matrix[i][j] - (0..j).map(|k| matrix[i][k] * matrix[j][k]).sum::<f64>();
            matrix[i][j] = if i == j { sum.max(1e-30).sqrt() } else { sum / matrix[j][j] };
        }
    }
    let mut step: Vec<f64> = free.iter().map(|i| -gradient[*i]).collect();
    for i in 0..n {
        step[i] = (step[i] - (0..i).map(|k| matrix[i][k] * step[k]).sum::<f64>()) / matrix[i][i];
    }
    for i in (0..n).rev() {
        step[i] = (step[i] - (i + 1..n).map(|k| matrix[k][i] * step[k]).sum::<f64>()) / matrix[i][i];
    }
    step
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
