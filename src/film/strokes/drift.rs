//! How a hand strays at random: a new bias with every pass and a slow drift along it. Every quantity of every pass draws
//! from a stream of its own, so that steadying one leaves the others as they were, and a walk has places of its own, so
//! that it does not depend on the cells. That the variance is half bias and half drift, and that the drift is correlated
//! over 400 mm, are assumptions: no figures for painters were found.

use super::Hand;
use crate::maths::{cos, exp, log, sin};
use rand_pcg::Pcg32;
use rand_pcg::rand_core::Rng;

/// No deviation is larger than this many standard deviations.
pub const MOST_DEVIATIONS: f64 = 2.5;
/// However much the hand's speed drifts, this share of it is left.
pub const LEAST_SPEED: f64 = 0.2;
/// However much a gun's angles drift, no hand tilts it further, degrees.
pub const MOST_TILT: f64 = 60.0;

/// The integral of the drift's correlation over all distances on one side, mm: an assumption.
const CORRELATED_OVER: f64 = 400.0;
/// Places of the walk, mm apart; the first lies before the earliest opening of a trigger.
const APART: f64 = 50.0;
const FIRST: f64 = -250.0;

/// Which pass of a job it is: its coat and its number in the coat, both from 0, the strokes around the rim counted by
/// themselves.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Order {
    /// Which coat.
    pub coat: usize,
    /// Which pass of it.
    pub pass: usize,
}

/// How far a hand is astray at a place of a pass.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Astray {
    /// Farther from the panel, mm.
    pub distance: f64,
    /// Left of the line as the hand travels, on the plan, mm.
    pub line: f64,
    /// Faster, as a share of the speed.
    pub speed: f64,
    /// Added to the heel, degrees.
    pub heel: f64,
    /// Added to the drag, degrees.
    pub drag: f64,
}

/// How a hand strays in one pass.
#[derive(Debug, Clone)]
pub struct Drift {
    distance: Walk,
    line: Walk,
    speed: Walk,
    heel: Walk,
    drag: Walk,
}

impl Drift {
    /// The straying of a hand in one pass, `length` mm long; `rim` tells a stroke around the rim.
    pub fn new(hand: &Hand, order: Order, rim: bool, length: f64) -> Self {
        let walk = |quantity: u64, deviation: f64| {
            let of = [u64::from(hand.seed), order.coat as u64, u64::from(rim), order.pass as u64, quantity];
            Walk::new(deviation, of, length)
        };
        Self {
            distance: walk(1, hand.distance_sd.0),
            line: walk(2, hand.line_sd.0),
            speed: walk(3, hand.speed_sd.0),
            heel: walk(4, hand.angle_sd.0),
            drag: walk(5, hand.angle_sd.0),
        }
    }

    /// How far the hand is astray `s` mm into the planned line.
    pub fn at(&self, s: f64) -> Astray {
        Astray {
            distance: self.distance.at(s),
            line: self.line.at(s),
            speed: self.speed.at(s).max(LEAST_SPEED - 1.0),
            heel: self.heel.at(s),
            drag: self.drag.at(s),
        }
    }
}

/// The straying of one quantity in one pass.
#[derive(Debug, Clone)]
struct Walk {
    deviation: f64,
    bias: f64,
    /// Value and slope per mm at each place, of variance 1; none where the quantity is steady.
    places: Vec<(f64, f64)>,
}

impl Walk {
    fn new(deviation: f64, of: [u64; 5], length: f64) -> Self {
        if deviation == 0.0 {
            return Self { deviation, bias: 0.0, places: Vec::new() };
        }
        let mut normal = Normal::of(of);
        let bias = normal.draw();
        let count = ((length - 2.0 * FIRST) / APART).ceil() as usize + 2;
        Self { deviation, bias, places: smooth_walk(&mut normal, count) }
    }

    /// Bias and drift, half of the variance each, no farther than [`MOST_DEVIATIONS`].
    fn at(&self, s: f64) -> f64 {
        if self.places.is_empty() {
            return 0.0;
        }
        let sum = (self.bias + self.drift(s)) * std::f64::consts::FRAC_1_SQRT_2;
        self.deviation * sum.clamp(-MOST_DEVIATIONS, MOST_DEVIATIONS)
    }

    /// Between two places by Hermite's cubic, which keeps value and slope of both.
    fn drift(&self, s: f64) -> f64 {
        let t = ((s - FIRST) / APART).clamp(0.0, (self.places.len() - 1) as f64);
        let i = (t as usize).min(self.places.len() - 2);
        let ((a, slope_a), (b, slope_b)) = (self.places[i], self.places[i + 1]);
        let (t, rest) = (t - i as f64, 1.0 - (t - i as f64));
        let values = a * rest * rest * (1.0 + 2.0 * t) + b * t * t * (3.0 - 2.0 * t);
        values + APART * t * rest * (slope_a * rest - slope_b * t)
    }
}

/// A stationary walk of variance 1 that is smooth, as a hand is: an Ornstein-Uhlenbeck walk smoothed by its own filter
/// (a critically damped oscillator driven by noise). With w = 2 / correlated length its correlation over r is
/// (1 + w r) exp(-w r), and the step from place to place is exact (derived, checked in `tests/film/drift.rs`).
fn smooth_walk(normal: &mut Normal, count: usize) -> Vec<(f64, f64)> {
    let w = 2.0 / CORRELATED_OVER;
    let (wh, decay) = (w * APART, exp(-w * APART));
    // value and slope / w, both of variance 1 and independent at any one place
    let step = [[decay * (1.0 + wh), decay * wh], [-decay * wh, decay * (1.0 - wh)]];
    let lost = |i: usize, j: usize| step[i][0] * step[j][0] + step[i][1] * step[j][1];
    let first = (1.0 - lost(0, 0)).sqrt();
    let shared = -lost(1, 0) / first;
    let second = (1.0 - lost(1, 1) - shared * shared).sqrt();
    let (mut value, mut slope) = (normal.draw(), normal.draw());
    let mut places = vec![(value, w * slope)];
    for _ in 1..count {
        let (p, q) = (normal.draw(), normal.draw());
        (value, slope) = (
            step[0][0] * value + step[0][1] * slope + first * p,
            step[1][0] * value + step[1][1] * slope + shared * p + second * q,
        );
        places.push((value, w * slope));
    }
    places
}

/// Normal deviates of variance 1, by Box and Muller (1958).
struct Normal {
    source: Pcg32,
    kept: Option<f64>,
}

impl Normal {
    /// A stream of its own for each list of numbers. Neighbouring seeds and streams of a PCG resemble each other: the
    /// numbers are stirred first.
    fn of(numbers: [u64; 5]) -> Self {
        let stirred = numbers.into_iter().fold(0, |state, number| stir(state ^ number));
        Self { source: Pcg32::new(stirred, stir(stirred)), kept: None }
    }

    /// Evenly between 0 and 1, neither of them.
    fn share(&mut self) -> f64 {
        (f64::from(self.source.next_u32()) + 0.5) / 4_294_967_296.0
    }

    fn draw(&mut self) -> f64 {
        if let Some(kept) = self.kept.take() {
            return kept;
        }
        let radius = (-2.0 * log(self.share())).sqrt();
        let angle = 2.0 * std::f64::consts::PI * self.share();
        self.kept = Some(radius * sin(angle));
        radius * cos(angle)
    }
}

/// One step of SplitMix64 (Steele, Lea and Flood 2014; constants from memory): every bit of the result depends on every
/// bit given.
pub fn stir(state: u64) -> u64 {
    let z = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
    let z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    z ^ (z >> 31)
}
