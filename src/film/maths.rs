//! The transcendental functions and the small numerics the core needs. All of them come from `libm` or are
//! built of + - x / and sqrt, so that native and WebAssembly runs agree bit for bit. Knows no physics.

mod least_squares;
mod parallel;
mod spread;

pub use least_squares::{Fitted, least_squares, least_squares_sloped};
pub use parallel::{both, fill_pieces, in_turn};
pub use spread::spread;
use std::sync::LazyLock;

pub use libm::{acos, asin, atan2, cbrt, cos, erf, exp, log, log10, pow, sin, tan, tgamma};

/// Euler's beta function B(a, b) for positive a and b below about 80.
///
/// ```
/// // B(1/2, 2) = 4/3: the pass of a parabolic spot
/// assert!((fanlap_film::maths::beta(0.5, 2.0) - 4.0 / 3.0).abs() < 1e-14);
/// ```
pub fn beta(a: f64, b: f64) -> f64 {
    tgamma(a) * tgamma(b) / tgamma(a + b)
}

/// exp(-x) for x of 0 and more, within 1e-12 of itself where it is more than 1e-27: from a table and the first terms of
/// the series, for loops over cells.
///
/// ```
/// for x in [0.0, 1e-9, 0.3, 2.71, 15.0] {
///     let (fast, exact) = (fanlap_film::maths::decay(x), fanlap_film::maths::exp(-x));
///     assert!((fast / exact - 1.0).abs() < 1e-12, "{x}: {fast}, {exact}");
/// }
/// assert_eq!(fanlap_film::maths::decay(1e9), 0.0);
/// ```
#[inline]
pub fn decay(x: f64) -> f64 {
    const PER_ONE: f64 = 16.0;
    const UP_TO: usize = 64 * 16;
    static TABLE: LazyLock<Vec<f64>> = LazyLock::new(|| (0..UP_TO).map(|i| exp(-(i as f64) / PER_ONE)).collect());
    let i = (x * PER_ONE) as usize;
    let Some(whole) = TABLE.get(i) else { return 0.0 };
    let r = i as f64 / PER_ONE - x;
    let series = 1.0 + r * (1.0 + r / 2.0 * (1.0 + r / 3.0 * (1.0 + r / 4.0 * (1.0 + r / 5.0 * (1.0 + r / 6.0)))));
    whole * series
}

/// Where between `low` and `high` a function with one valley is lowest, by the golden section to within `exact`.
///
/// ```
/// assert!((fanlap_film::maths::lowest(0.0, 5.0, 1e-6, |x| (x - 2.0) * (x - 2.0)) - 2.0).abs() < 1e-6);
/// ```
pub fn lowest(mut low: f64, mut high: f64, exact: f64, f: impl Fn(f64) -> f64) -> f64 {
    const GOLDEN: f64 = 0.618_033_988_749_894_9;
    while high - low > exact {
        let (a, b) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
        if f(a) < f(b) { high = b } else { low = a }
    }
    0.5 * (low + high)
}

/// Puts a list into the order of a number of each entry; equal ones stay as they are.
///
/// ```
/// let mut words = vec!["four", "two", "one"];
/// fanlap_film::maths::ascending(&mut words, |word| word.len() as f64);
/// assert_eq!(words, ["two", "one", "four"]);
/// ```
pub fn ascending<T>(list: &mut Vec<T>, number: impl Fn(&T) -> f64) {
    let order = order(list.iter().map(number).enumerate().collect());
    let mut entries: Vec<Option<T>> = list.drain(..).map(Some).collect();
    list.extend(order.into_iter().filter_map(|(i, _)| entries[i].take()));
}

/// One sort for lists of every kind keeps the page's code small.
#[inline(never)]
fn order(mut numbers: Vec<(usize, f64)>) -> Vec<(usize, f64)> {
    numbers.sort_unstable_by(|a, b| a.1.total_cmp(&b.1).then(a.0.cmp(&b.0)));
    numbers
}

/// Sorts numbers, the least first.
///
/// ```
/// let mut numbers = [2.0, -1.0, 0.5];
/// fanlap_film::maths::sort(&mut numbers);
/// assert_eq!(numbers, [-1.0, 0.5, 2.0]);
/// ```
#[inline(never)]
pub fn sort(numbers: &mut [f64]) {
    numbers.sort_unstable_by(f64::total_cmp);
}

/// A function tabulated at equal steps and read by straight lines between them; held at its end values outside.
#[derive(Debug, Clone)]
pub struct Table {
    start: f64,
    per_step: f64,
    last: f64,
    values: Vec<f64>,
}

impl Table {
    /// Tabulates `f` at `intervals + 1` equally spaced places from `start` to `end`.
    pub fn new(start: f64, end: f64, intervals: usize, f: impl Fn(f64) -> f64) -> Self {
        let step = (end - start) / intervals as f64;
        Self::from_values(start, step, (0..=intervals).map(|i| f(start + step * i as f64)).collect())
    }

    /// Takes values already computed at `start`, `start + step`, ...; at least two.
    pub fn from_values(start: f64, step: f64, values: Vec<f64>) -> Self {
        assert!(values.len() >= 2, "a table needs two places");
        Self { start, per_step: 1.0 / step, last: (values.len() - 1) as f64, values }
    }

    /// The last place of the table.
    pub fn end(&self) -> f64 {
        self.start + self.last / self.per_step
    }

    /// The value at `x`.
    #[inline]
    pub fn at(&self, x: f64) -> f64 {
        let t = (x - self.start) * self.per_step;
        let t = if t > 0.0 { t } else { 0.0 };
        let t = if t < self.last { t } else { self.last };
        let i = (t as usize).min(self.values.len() - 2);
        let part = t - i as f64;
        self.values[i] + (self.values[i + 1] - self.values[i]) * part
    }
}

/// Five Gauss-Legendre nodes and weights on (-1, 1) (Abramowitz & Stegun, table 25.4; recomputed to 1e-15).
const GAUSS_5: [(f64, f64); 5] = [
    (-0.906_179_845_938_664, 0.236_926_885_056_189_08),
    (-0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.0, 0.568_888_888_888_888_9),
    (0.538_469_310_105_683_1, 0.478_628_670_499_366_47),
    (0.906_179_845_938_664, 0.236_926_885_056_189_08),
];

/// The integral of a smooth function from `a` to `b`, by five-point Gauss-Legendre on one interval.
pub fn integral(a: f64, b: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (middle, half) = (0.5 * (a + b), 0.5 * (b - a));
    half * GAUSS_5.iter().map(|(x, w)| w * f(middle + half * x)).sum::<f64>()
}
