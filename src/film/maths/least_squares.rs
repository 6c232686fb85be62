//! Fits a handful of numbers, each within its bounds, so that the sum of squared residuals is least: K. Levenberg 1944,
//! Quarterly of Applied Mathematics 2, 164; D. W. Marquardt 1963, J. Soc. Indust. Appl. Math. 11, 431. Numbers that
//! rest on a bound and would leave it stand still for a round, and those that reach one stop there (active set). For up
//! to some twenty numbers by differences, for a hundred or two where the caller knows the slopes. Does not know what is
//! fitted.

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
/// A round that lowers the cost by less than this share has settled, where nothing else is asked for.
const SETTLED: f64 = 1e-12;

/// Fits from `start`, which is held within `bounds` (least, most). `residuals` answers with as many numbers each time,
/// all finite within the bounds.
///
/// ```
/// use fanlap_film::maths::{exp, least_squares};
/// // a decay sampled at 0, 1, 2, 3: amplitude 5, rate 0.7
/// let seen: Vec<f64> = (0..4).map(|t| 5.0 * exp(-0.7 * f64::from(t))).collect();
/// let off = |x: &[f64]| (0..4).map(|t| x[0] * exp(-x[1] * t as f64) - seen[t]).collect::<Vec<_>>();
/// let fitted = least_squares(&[1.0, 0.1], &[(0.0, 100.0), (0.0, 10.0)], off);
/// assert!((fitted.values[0] - 5.0).abs() < 1e-6 && (fitted.values[1] - 0.7).abs() < 1e-6);
/// ```
pub fn least_squares(start: &[f64], bounds: &[(f64, f64)], residuals: impl Fn(&[f64]) -> Vec<f64>) -> Fitted {
    least_squares_sloped(start, bounds, &residuals, |x| differences(x, bounds, &residuals), SETTLED)
}

/// The same where the slopes are known: `slopes` answers, number by number, with how every residual changes with it.
/// That is worth it for a hundred numbers. A round that lowers the cost by less than the share `enough` has settled.
pub fn least_squares_sloped(
    start: &[f64],
    bounds: &[(f64, f64)],
    residuals: impl Fn(&[f64]) -> Vec<f64>,
    slopes: impl Fn(&[f64]) -> Vec<Vec<f64>>,
    enough: f64,
) -> Fitted {
    let mut values: Vec<f64> = start.iter().zip(bounds).map(|(x, (low, high))| x.clamp(*low, *high)).collect();
    let mut left = residuals(&values);
    let (mut damping, mut settled, mut rounds) = (1e-3, false, 0);
    while rounds < ROUNDS && !settled {
        rounds += 1;
        let slopes = slopes(&values);
        let gradient: Vec<f64> = slopes.iter().map(|slope| dot(slope, &left)).collect();
        let free = free(&values, bounds, &gradient);
        let normal = normal_matrix(&slopes);
        let mut better = false;
        while damping < 1e12 {
            let moved = bounded_step(&normal, &gradient, (&values, bounds), free.clone(), damping);
            let after = residuals(&moved);
            if cost(&after) < cost(&left) {
                settled = cost(&left) - cost(&after) <= enough * cost(&left);
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

/// The numbers that may move: all but those on a bound which they would leave.
fn free(values: &[f64], bounds: &[(f64, f64)], gradient: &[f64]) -> Vec<usize> {
    let stuck = |i: usize| {
        let (low, high) = bounds[i];
        values[i] <= low && gradient[i] > 0.0 || values[i] >= high && gradient[i] < 0.0
    };
    (0..values.len()).filter(|i| !stuck(*i)).collect()
}

fn cost(residuals: &[f64]) -> f64 {
    residuals.iter().map(|r| r * r).sum()
}

/// How every residual changes with every number, by differences.
fn differences(values: &[f64], bounds: &[(f64, f64)], residuals: &impl Fn(&[f64]) -> Vec<f64>) -> Vec<Vec<f64>> {
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
    (0..values.len()).map(slope).collect()
}

/// J'J.
fn normal_matrix(slopes: &[Vec<f64>]) -> Vec<Vec<f64>> {
    let mut matrix = vec![vec![0.0; slopes.len()]; slopes.len()];
    for i in 0..slopes.len() {
        for j in 0..=i {
            matrix[i][j] = dot(&slopes[i], &slopes[j]);
            matrix[j][i] = matrix[i][j];
        }
    }
    matrix
}

/// Where the damped step leads. A number that would cross its bound goes as far as that, and the others step once more,
/// knowing it.
fn bounded_step(
    normal: &[Vec<f64>],
    gradient: &[f64],
    (values, bounds): (&[f64], &[(f64, f64)]),
    mut free: Vec<usize>,
    damping: f64,
) -> Vec<f64> {
    let mut moved = values.to_vec();
    loop {
        let pull =
            |i: &usize| -gradient[*i] - (0..values.len()).map(|j| normal[*i][j] * (moved[j] - values[j])).sum::<f64>();
        let step = damped_step(normal, &free, free.iter().map(pull).collect(), damping);
        let crosses = |i: usize, step: f64| values[i] + step < bounds[i].0 || values[i] + step > bounds[i].1;
        let crossing: Vec<usize> = (0..free.len()).filter(|k| crosses(free[*k], step[*k])).collect();
        if crossing.is_empty() {
            free.iter().zip(&step).for_each(|(i, step)| moved[*i] += step);
            return moved;
        }
        crossing
            .iter()
            .for_each(|k| moved[free[*k]] = if step[*k] < 0.0 { bounds[free[*k]].0 } else { bounds[free[*k]].1 });
        free = (0..free.len()).filter(|k| !crossing.contains(k)).map(|k| free[k]).collect();
    }
}

/// The step of the free numbers: (J'J + damping diag(J'J)) step = pull, by Cholesky.
fn damped_step(normal: &[Vec<f64>], free: &[usize], pull: Vec<f64>, damping: f64) -> Vec<f64> {
    let n = free.len();
    let mut matrix = vec![vec![0.0; n]; n];
    for i in 0..n {
        for j in 0..=i {
            let damped =
                if i == j { normal[free[i]][free[i]] * (1.0 + damping) + 1e-30 } else { normal[free[i]][free[j]] };
            let rest = damped - dot(&matrix[i][..j], &matrix[j][..j]);
            matrix[i][j] = if i == j { rest.max(1e-30).sqrt() } else { rest / matrix[j][j] };
        }
    }
    let mut step = pull;
    for i in 0..n {
        step[i] = (step[i] - dot(&matrix[i][..i], &step[..i])) / matrix[i][i];
    }
    for i in (0..n).rev() {
        step[i] = (step[i] - (i + 1..n).map(|k| matrix[k][i] * step[k]).sum::<f64>()) / matrix[i][i];
    }
    step
}

fn dot(a: &[f64], b: &[f64]) -> f64 {
    a.iter().zip(b).map(|(a, b)| a * b).sum()
}
