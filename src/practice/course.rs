//! How a recorded pass ran beside the line it was meant for: aside, aslant, bowed, waving. Which line that was is counted
//! where the passes lie evenly, only too far apart or too near, and is the nearest one otherwise.

use super::performance::{across, along_the_panel, nearest};
use crate::job::Job;
use crate::strokes::{Along, Line, Recorded, Sample, Track};
use serde::Serialize;

/// How a pass ran beside its line, over the panel, mm; positive is towards the far edge, or the right one.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Course {
    /// Aside as a whole: the mean along the pass.
    pub aside_mm: f64,
    /// Aslant: how far off a straight pass is at its end of greater x (or y); at the other end it is as far off to the
    /// other side.
    pub slant_mm: f64,
    /// How far its middle lies beside the chord between its ends.
    pub bow_mm: f64,
    /// How far it waves about that bow to either side: of a plain wave its height, otherwise that of one which strays as much.
    pub waves_mm: f64,
    /// How far off the line it was at its worst place.
    pub worst_mm: f64,
}

/// Places of a pass at which it is held against its line.
const PLACES: usize = 60;
/// Steps from pass to pass belong together from this share of the planned spacing to that one: with more, a line was left
/// out between them; a judgement.
const STEPS: (f64, f64) = (0.25, 1.9);
/// Passes that lie within this share of the planned spacing of even ones are even, root mean square: a judgement.
const EVEN: f64 = 0.12;
/// A spacing this near to the planned one is the planned one: a judgement.
const AS_PLANNED: f64 = 0.05;
/// So many passes have a spacing.
const FEWEST: usize = 3;

/// A pass of a recording with the line it was meant for.
#[derive(Debug, Clone)]
pub(super) struct Followed {
    /// The pass.
    pub pass: Recorded,
    /// Where its middle lay across the passes, mm.
    pub middle: f64,
    /// Where it was meant to lie; where nothing was planned, where it lay.
    pub meant: f64,
    /// The planned line it was meant for, from 0.
    pub line: Option<usize>,
    /// The planned line nearest to it.
    pub nearest: Option<usize>,
    /// The line was counted from the first pass that lies as evenly.
    pub counted: bool,
    /// By how much it has to be moved so that the passes lie as far apart as planned, mm.
    pub respaced: f64,
}

/// Passes that follow each other to one side.
struct Run {
    from: usize,
    to: usize,
    /// Step from pass to pass, mm, with its sign, by least squares.
    step: f64,
    /// How far the passes lie from even ones, root mean square, mm.
    uneven: f64,
}

impl Course {
    /// Of looks at a gun, against a line's place across the passes; none where they do not go along the panel.
    pub(super) fn of(looks: &[Sample], along: Along, span: f64, meant: f64) -> Option<Self> {
        let (from, to) = covered(looks, along, span)?;
        let off: Vec<(f64, f64)> = (0..PLACES)
            .filter_map(|i| {
                let share = (i as f64 + 0.5) / PLACES as f64;
                let off = across_at(looks, along, from + (to - from) * share)? - meant;
                Some((2.0 * share - 1.0, off))
            })
            .collect();
        // by Legendre polynomials, which do not disturb each other
        let of = |polynomial: &dyn Fn(f64) -> f64, norm: f64| {
            norm * off.iter().map(|(u, off)| off * polynomial(*u)).sum::<f64>() / off.len().max(1) as f64
        };
        let mut course = Self {
            aside_mm: of(&|_| 1.0, 1.0),
            slant_mm: of(&|u| u, 3.0),
            bow_mm: -1.5 * of(&second, 5.0),
            ..Self::default()
        };
        let waves = off.iter().map(|(u, off)| (off - course.at(*u)) * (off - course.at(*u))).sum::<f64>();
        course.waves_mm = (2.0 * waves / off.len().max(1) as f64).sqrt();
        let worst = off.iter().map(|(_, off)| *off).max_by(|a, b| a.abs().total_cmp(&b.abs()));
        course.worst_mm = worst.unwrap_or(0.0);
        Some(course)
    }

    /// How far off the line its bow is at a place: -1 and 1 at the ends.
    pub(super) fn at(&self, u: f64) -> f64 {
        self.aside_mm + self.slant_mm * u + self.bowed_at(u)
    }

    /// What the bow alone does to it there.
    pub(super) fn bowed_at(&self, u: f64) -> f64 {
        -self.bow_mm / 1.5 * second(u)
    }
}

/// The second Legendre polynomial.
fn second(u: f64) -> f64 {
    1.5 * u * u - 0.5
}

/// The part of a pass that lies over the panel, or all of it where none does: from where to where along it, mm.
pub(super) fn covered(looks: &[Sample], along: Along, span: f64) -> Option<(f64, f64)> {
    let ways = || looks.iter().map(|look| look.aimed_along(along));
    let (low, high) = (ways().fold(f64::INFINITY, f64::min), ways().fold(f64::NEG_INFINITY, f64::max));
    let (from, to) = (low.max(0.0), high.min(span));
    if to > from { Some((from, to)) } else { (high > low).then_some((low, high)) }
}

/// Where a pass lies across, at a place along it.
fn across_at(looks: &[Sample], along: Along, place: f64) -> Option<f64> {
    looks.windows(2).find_map(|pair| {
        let (a, b) = (pair[0].aimed_along(along), pair[1].aimed_along(along));
        let on = (place - a) / (b - a);
        let within = a != b && (0.0..=1.0).contains(&on);
        within.then(|| pair[0].across(along) + (pair[1].across(along) - pair[0].across(along)) * on)
    })
}

/// All passes along the panel, also those beside it, with the lines they were meant for.
pub(super) fn followed(job: &Job, coat: usize, track: &Track, plan: &[Line]) -> Vec<Followed> {
    let settings = &job.coats[coat];
    let (along, spacing) = (settings.along, settings.spacing(&job.gun).0);
    let most = job.panel.area().most;
    let span = if along == Along::Length { most.x } else { most.y };
    let mut all: Vec<Followed> = along_the_panel(job, coat, track)
        .into_iter()
        .map(|pass| {
            let looks = &track.samples[pass.looks.clone()];
            let middle = Course::of(looks, along, span, 0.0).map_or(looks[0].across(along), |course| course.aside_mm);
            let line = nearest(plan, along, middle);
            let meant = line.map_or(middle, |line| across(&plan[line], along));
            Followed { pass, middle, meant, line, nearest: line, counted: false, respaced: 0.0 }
        })
        .collect();
    let middles: Vec<f64> = all.iter().map(|pass| pass.middle).collect();
    for run in runs(&middles, spacing) {
        let planned = run.step.signum() * spacing;
        let counted = run.uneven < EVEN * spacing && (run.step / planned - 1.0).abs() > AS_PLANNED;
        let first = all[run.from].meant;
        for (i, pass) in all[run.from..=run.to].iter_mut().enumerate() {
            pass.respaced = i as f64 * (planned - run.step);
            if counted {
                pass.counted = true;
                pass.meant = first + i as f64 * planned;
                pass.line = nearest(plan, along, pass.meant)
                    .filter(|line| (across(&plan[*line], along) - pass.meant).abs() < 0.5 * spacing);
            }
        }
    }
    all
}

/// How far apart passes lie on average, mm; none of fewer than three, or where they do not follow each other.
pub(super) fn spacing(all: &[Followed], planned: f64) -> Option<f64> {
    let middles: Vec<f64> = all.iter().map(|pass| pass.middle).collect();
    let runs = runs(&middles, planned);
    let steps = runs.iter().map(|run| run.to - run.from).sum::<usize>() as f64;
    let sum = runs.iter().map(|run| (run.to - run.from) as f64 * run.step.abs()).sum::<f64>();
    (steps > 0.0).then(|| sum / steps)
}

/// The runs of three passes and more.
fn runs(middles: &[f64], planned: f64) -> Vec<Run> {
    let (mut runs, mut from) = (Vec::new(), 0);
    let step = |i: usize| middles[i + 1] - middles[i];
    let usual = |i: usize| (STEPS.0 * planned..STEPS.1 * planned).contains(&step(i).abs());
    for to in 0..middles.len() {
        let goes_on = to + 1 < middles.len() && usual(to) && (to == from || step(to) * step(to - 1) > 0.0);
        if !goes_on {
            if to + 1 - from >= FEWEST {
                runs.push(run(middles, from, to));
            }
            // where the hand turns, the pass at the turn belongs to the run before
            from = to + 1;
        }
    }
    runs
}

fn run(middles: &[f64], from: usize, to: usize) -> Run {
    let places = &middles[from..=to];
    let count = places.len() as f64;
    let (centre, mean) = ((count - 1.0) / 2.0, places.iter().sum::<f64>() / count);
    let about = |i: usize| i as f64 - centre;
    let spread = (0..places.len()).map(|i| about(i) * about(i)).sum::<f64>();
    let step = places.iter().enumerate().map(|(i, place)| about(i) * (place - mean)).sum::<f64>() / spread;
    let off = |(i, place): (usize, &f64)| place - mean - step * about(i);
    let uneven = (places.iter().enumerate().map(|at| off(at) * off(at)).sum::<f64>() / count).sqrt();
    Run { from, to, step, uneven }
}
