//! What of a hand's spraying did most to the film: the coat is rehearsed again with one thing put right at a time, and
//! compared with the film of the plan, of which only the lines count that were reached so far. The same judgement as that
//! of causes: only what a rehearsal shows is said.

use super::performance::{Performance, across, nearest, performance, plan, told_of};
use crate::job::Job;
use crate::job::inputs::{System, Unit};
use crate::maths::cos;
use crate::rehearsal::Rehearsal;
use crate::strokes::{Along, Line, Sample, Track};
use crate::units::{Degrees, Seconds};
use crate::words::shown;
use serde::{Deserialize, Serialize};

/// Cells of the trials, mm, at least.
const TRIAL_CELL: f64 = 12.0;
/// A mean speed this near to what was meant is right: then it wavered. A judgement.
const STEADY: f64 = 0.05;
/// What takes away less than this share of the error is not worth a word: a judgement.
const LEAST_SHARE: f64 = 0.1;
/// A wrist and forearm turn about a place no farther behind the nozzle, mm: a judgement.
const FARTHEST_PIVOT_MM: f64 = 800.0;
/// A film this near to the plan's, root mean square over its mean, has nothing to be put right: a judgement.
const GOOD_ENOUGH: f64 = 0.03;

/// What can be put right.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Channel {
    /// The distance of the gun.
    Distance,
    /// The line that a pass follows.
    Line,
    /// The speed along it.
    Speed,
    /// Heel and lean of the gun.
    Angle,
    /// Where the trigger opens and closes.
    Trigger,
    /// A planned line that was not sprayed.
    LeftOut,
    /// A planned line that was sprayed more than once.
    Twice,
}

/// The one thing to do next.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextStep {
    /// How far the film lies from the plan's: root mean square over its mean.
    pub error: f64,
    /// What did most; none where the film is good enough, or nothing alone explains it.
    pub channel: Option<Channel>,
    /// Share of the error, its square, that goes when it alone is put right.
    pub share: f64,
    /// In a sentence or two.
    pub text: String,
}

/// What did most to a recorded coat's film, and what to do, in one go; none of a coat that was not recorded.
pub fn next_step(job: &Job, coat: usize, system: System) -> Option<NextStep> {
    let mut trials = Trials::new(job, coat)?;
    while trials.step() {}
    Some(trials.told(system))
}

impl Channel {
    /// All that is tried, in this order, after the plan's film and the film as it is.
    pub const ALL: [Self; 7] =
        [Self::Distance, Self::Line, Self::Speed, Self::Angle, Self::Trigger, Self::LeftOut, Self::Twice];

    /// What a learner calls it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Distance => "the distance",
            Self::Line => "the lines",
            Self::Speed => "the speed",
            Self::Angle => "the wrist",
            Self::Trigger => "the trigger",
            Self::LeftOut => "a line left out",
            Self::Twice => "a line sprayed twice",
        }
    }
}

/// The search for what did most, pass by pass, so that a page stays alive.
pub struct Trials {
    /// The coat alone, on the trial grid.
    job: Job,
    track: Track,
    performance: Performance,
    laying: Option<Rehearsal>,
    /// The plan's film.
    meant: Vec<f64>,
    /// How far the films tried so far lie from it: as it is, then channel by channel.
    errors: Vec<f64>,
}

impl Trials {
    /// Of a recorded coat; none of one that was not recorded.
    pub fn new(job: &Job, coat: usize) -> Option<Self> {
        let performance = performance(job, coat)?;
        let mut job = job.clone();
        job.panel.cell.0 = job.panel.cell.0.max(TRIAL_CELL);
        job.coats = vec![job.coats[coat].clone()];
        let track = job.coats[0].track.clone()?;
        Some(Self { job, track, performance, laying: None, meant: Vec::new(), errors: Vec::new() })
    }

    /// Lays one pass of what is being tried; false when all is done.
    pub fn step(&mut self) -> bool {
        let Some(laying) = &mut self.laying else {
            let Some(track) = self.next() else { return false };
            let mut job = self.job.clone();
            job.coats[0].track = Some(track);
            self.laying = Some(Rehearsal::plan(&job));
            return true;
        };
        if laying.lay_next() {
            return true;
        }
        let film = laying.film_of_coat(0);
        self.laying = None;
        if self.meant.is_empty() {
            self.meant = film;
        } else {
            let mean = self.meant.iter().sum::<f64>() / self.meant.len() as f64;
            self.errors.push(off(&film, &self.meant) / mean.max(1e-9));
        }
        true
    }

    /// What is tried next.
    fn next(&self) -> Option<Track> {
        if self.performance.passes.is_empty() {
            return None;
        }
        if self.meant.is_empty() {
            let plan = plan(&self.job, 0);
            let reached: Vec<&Line> = self.performance.reached().map(|number| &plan[number - 1]).collect();
            return Some(planned(&self.job, &reached, 0.0));
        }
        let Some(tried) = self.errors.len().checked_sub(1) else { return Some(self.track.clone()) };
        Channel::ALL.get(tried).map(|channel| put_right(&self.job, &self.track, *channel, &self.performance))
    }

    /// What did most, as far as it was tried.
    pub fn told(&self, system: System) -> NextStep {
        let Some((now, rest)) = self.errors.split_first() else {
            let axis = if self.job.coats[0].along == Along::Length { "length" } else { "width" };
            let text = format!("Nothing was sprayed along the lines yet: they run along the panel\u{2019}s {axis}.");
            return NextStep { error: 0.0, channel: None, share: 0.0, text };
        };
        let share = |left: &f64| 1.0 - left / now * (left / now);
        let shares = Channel::ALL.into_iter().zip(rest.iter().map(share));
        let best = shares.max_by(|a, b| a.1.total_cmp(&b.1));
        let best = best.filter(|(_, share)| *now > GOOD_ENOUGH && *share >= LEAST_SHARE);
        let did = |(channel, _)| told(&self.job, channel, &self.performance, system);
        let mut text = best.map_or_else(|| untold(*now), did);
        if let Some(pass) = self.performance.passes.iter().find(|pass| pass.turned) {
            text += &format!(" The trigger stayed open through the turn after pass {}: close it there.", pass.number);
        }
        NextStep { error: *now, channel: best.map(|best| best.0), share: best.map_or(0.0, |best| best.1), text }
    }
}

pub(super) fn off(film: &[f64], meant: &[f64]) -> f64 {
    let squares = film.iter().zip(meant).map(|(a, b)| (a - b) * (a - b)).sum::<f64>();
    (squares / film.len().max(1) as f64).sqrt()
}

/// The recording with one thing put right.
fn put_right(job: &Job, track: &Track, channel: Channel, performance: &Performance) -> Track {
    let (coat, plan) = (&job.coats[0], plan(job, 0));
    let along = coat.along;
    let mut right = track.clone();
    let all = right.samples.iter_mut();
    match channel {
        // not what the wrist does to it
        Channel::Distance => {
            let off = off_by_turning(&track.samples);
            all.for_each(|sample| sample.distance.0 = coat.distance.0 + off * rise(sample));
        }
        Channel::Angle => {
            let off = off_by_turning(&track.samples);
            for sample in all {
                // the gun over the place that it sprays
                set(sample, along, Some(sample.aimed_along(along)), None);
                sample.distance.0 -= off * rise(sample);
                (sample.heel, sample.lean) = (Degrees(0.0), Degrees(0.0));
            }
        }
        Channel::Line => {
            for pass in told_of(job, 0, track) {
                let looks = &mut right.samples[pass.looks];
                let middle = looks.iter().map(|look| look.across(along)).sum::<f64>() / looks.len() as f64;
                let Some(line) = nearest(&plan, along, middle) else { continue };
                looks.iter_mut().for_each(|look| set(look, along, None, Some(across(&plan[line], along))));
            }
        }
        Channel::Speed => {
            let speed = coat.actual_speed().0;
            let mut now = right.samples.first().map_or(0.0, |sample| sample.time.0);
            for i in 1..track.samples.len() {
                let (before, after) = (&track.samples[i - 1], &track.samples[i]);
                let way = (after.along(along) - before.along(along)).abs();
                now += if before.open { way / speed } else { after.time.0 - before.time.0 };
                right.samples[i].time = Seconds(now);
            }
        }
        Channel::Trigger => return triggered(job, track),
        Channel::Twice => {
            for (i, pass) in told_of(job, 0, track).into_iter().enumerate() {
                let of = |n: usize| performance.passes[n].line;
                if (0..i).any(|before| of(before) == of(i)) {
                    right.samples[pass.looks].iter_mut().for_each(|look| look.open = false);
                }
            }
        }
        Channel::LeftOut => {
            let now = right.samples.last().map_or(0.0, |sample| sample.time.0);
            let lines: Vec<&Line> = performance.left_out.iter().map(|number| &plan[number - 1]).collect();
            right.samples.extend(planned(job, &lines, now + 1.0).samples);
        }
    }
    right
}

/// How far a nozzle rises that is turned about a pivot one unit behind it.
fn rise(sample: &Sample) -> f64 {
    1.0 - cos(sample.lean.radians())
}

/// The pivot behind the nozzle, mm, about which a wrist turns that carries the gun off the panel: by least squares of the
/// distances on the leans. None, 0, where the gun is leaned without it.
fn off_by_turning(samples: &[Sample]) -> f64 {
    let open: Vec<&Sample> = samples.iter().filter(|sample| sample.open).collect();
    let mean = |of: &dyn Fn(&Sample) -> f64| open.iter().map(|s| of(s)).sum::<f64>() / open.len().max(1) as f64;
    let (rises, distances) = (mean(&rise), mean(&|sample| sample.distance.0));
    let both = mean(&|sample| (rise(sample) - rises) * (sample.distance.0 - distances));
    let spread = mean(&|sample| (rise(sample) - rises) * (rise(sample) - rises));
    if spread > 1e-12 { (both / spread).clamp(0.0, FARTHEST_PIVOT_MM) } else { 0.0 }
}

/// Lines sprayed without a fault, a second apart.
pub(super) fn planned(job: &Job, lines: &[&Line], begin: f64) -> Track {
    let coat = &job.coats[0];
    let (mut samples, mut now) = (Vec::new(), begin);
    for line in lines {
        let mut look = |place, time: f64, open| {
            let (heel, lean) = (Degrees(0.0), Degrees(0.0));
            samples.push(Sample { time: Seconds(time), place, distance: coat.distance, heel, lean, open });
        };
        look(line.from, now, true);
        now += line.length() / coat.actual_speed().0;
        look(line.to, now, false);
        now += 1.0;
    }
    Track { samples }
}

fn set(sample: &mut Sample, along: Along, to_along: Option<f64>, to_across: Option<f64>) {
    let (x, y) = match along {
        Along::Length => (to_along, to_across),
        Along::Width => (to_across, to_along),
    };
    sample.place.x = x.unwrap_or(sample.place.x);
    sample.place.y = y.unwrap_or(sample.place.y);
}

/// Every pass cut or led on to the ends of its planned line, each by itself in time.
fn triggered(job: &Job, track: &Track) -> Track {
    let (coat, plan) = (&job.coats[0], plan(job, 0));
    let (along, speed) = (coat.along, coat.actual_speed().0);
    let mut samples = Vec::new();
    let mut now = 0.0;
    for pass in told_of(job, 0, track) {
        let looks = &track.samples[pass.looks];
        let middle = looks.iter().map(|look| look.across(along)).sum::<f64>() / looks.len() as f64;
        let Some(line) = nearest(&plan, along, middle).map(|line| &plan[line]) else { continue };
        let ends = if along == Along::Length { [line.from.x, line.to.x] } else { [line.from.y, line.to.y] };
        let (low, high) = (ends[0].min(ends[1]), ends[0].max(ends[1]));
        let (first, last) = (looks[0], looks[looks.len() - 1]);
        let up = last.along(along) >= first.along(along);
        let (from, to) = if up { (low, high) } else { (high, low) };
        let mut led: Vec<Sample> =
            looks.iter().filter(|look| (low..=high).contains(&look.along(along))).copied().collect();
        let mut ahead = first;
        set(&mut ahead, along, Some(from), None);
        let mut behind = last;
        set(&mut behind, along, Some(to), None);
        let (begin, end) = (led.first().copied().unwrap_or(first), led.last().copied().unwrap_or(last));
        ahead.time.0 = begin.time.0 - (begin.along(along) - from).abs() / speed;
        behind.time.0 = end.time.0 + (end.along(along) - to).abs() / speed;
        led.insert(0, ahead);
        led.push(behind);
        let shift = now - led[0].time.0;
        led.iter_mut().for_each(|look| (look.time.0, look.open) = (look.time.0 + shift, true));
        if let Some(last) = led.last_mut() {
            last.open = false;
            now = last.time.0 + 1.0;
        }
        samples.extend(led);
    }
    Track { samples }
}

fn untold(error: f64) -> String {
    if error <= GOOD_ENOUGH {
        "The film is as even as the plan\u{2019}s. Next: the same again, or something harder.".to_string()
    } else {
        "No single thing explains what is left; several small ones play together. Next: the same again, more evenly."
            .to_string()
    }
}

/// What was done, what was meant, and what to do.
fn told(job: &Job, channel: Channel, performance: &Performance, system: System) -> String {
    let coat = &job.coats[0];
    let passes = &performance.passes;
    let mean = |of: &dyn Fn(&super::SprayedPass) -> f64| passes.iter().map(of).sum::<f64>() / passes.len() as f64;
    let least = |of: &dyn Fn(&super::SprayedPass) -> f64| passes.iter().map(of).fold(f64::INFINITY, f64::min);
    let most = |of: &dyn Fn(&super::SprayedPass) -> f64| passes.iter().map(of).fold(f64::NEG_INFINITY, f64::max);
    let mm = |value: f64| shown(Unit::Millimetre, value, system);
    let per_s = |value: f64| shown(Unit::MillimetrePerSecond, value, system);
    let worst = |of: &dyn Fn(&super::SprayedPass) -> f64| {
        passes.iter().max_by(|a, b| of(a).abs().total_cmp(&of(b).abs())).expect("there are passes")
    };
    match channel {
        Channel::Distance => {
            let (near, far) = (least(&|pass| pass.distance_mm.least), most(&|pass| pass.distance_mm.most));
            let held = if far - near < 1.0 { mm(near) } else { format!("from {} to {}", mm(near), mm(far)) };
            format!("Distance did most: {held}, where {} was meant. Next: hold the gun at that.", mm(coat.distance.0))
        }
        Channel::Line => {
            let pass = worst(&|pass| pass.off_line_mm);
            let side = match (pass.off_line_mm > 0.0, coat.along) {
                (true, Along::Length) => "far",
                (false, Along::Length) => "near",
                (true, Along::Width) => "right",
                (false, Along::Width) => "left",
            };
            format!(
                "The lines did most: pass {} lay {} off its line, towards the {side} edge. Next: {} from line to line.",
                pass.number,
                mm(pass.off_line_mm.abs()),
                mm(coat.spacing(&job.gun).0),
            )
        }
        Channel::Speed => {
            let span = if coat.along == Along::Length { job.panel.length.0 } else { job.panel.width.0 };
            let (mean, meant) = (mean(&|pass| pass.speed_mm_per_s.mean), coat.actual_speed().0);
            let (slow, fast) = (least(&|pass| pass.speed_mm_per_s.least), most(&|pass| pass.speed_mm_per_s.most));
            let seconds = span / meant;
            if (mean / meant - 1.0).abs() < STEADY {
                return format!(
                    "Speed did most: it wavered from {} to {} around the {} that was meant. Next: more evenly, {seconds:.1} s \
                     from edge to edge.",
                    per_s(slow),
                    per_s(fast),
                    per_s(meant)
                );
            }
            let what = if mean > meant { "fast" } else { "slow" };
            format!(
                "Speed did most: too {what}, {} on average where {} was meant. Next: {seconds:.1} s from edge to edge.",
                per_s(mean),
                per_s(meant)
            )
        }
        Channel::Angle => {
            let tilt = |pass: &super::SprayedPass| {
                let of = |range: &super::Range| range.least.abs().max(range.most.abs());
                of(&pass.heel_deg).max(of(&pass.drag_deg))
            };
            let pass = worst(&tilt);
            format!(
                "The gun\u{2019}s angle did most: up to {:.0}\u{b0} off square at pass {}. Next: move the arm, not the wrist, and keep \
                 the gun square to the end.",
                tilt(pass),
                pass.number,
            )
        }
        Channel::Trigger => {
            let inside = |pass: &super::SprayedPass| -pass.opened_before_mm.min(pass.closed_after_mm);
            let pass = passes.iter().max_by(|a, b| inside(a).total_cmp(&inside(b))).expect("there are passes");
            let what = if pass.opened_before_mm < pass.closed_after_mm { "opened" } else { "closed" };
            let (at, off) = (inside(pass), coat.lead.0);
            let place = if at > 0.0 {
                format!("{} inside the edge", mm(at))
            } else {
                format!("only {} outside the edge", mm(-at))
            };
            format!(
                "The trigger did most: at pass {} it {what} {place}. Next: open it {} before the panel and close it as far after.",
                pass.number,
                mm(off),
            )
        }
        Channel::LeftOut => {
            let numbers: Vec<String> = performance.left_out.iter().map(usize::to_string).collect();
            let (lines, were) = if numbers.len() == 1 { ("Line", "was") } else { ("Lines", "were") };
            format!(
                "{lines} {} {were} left out. Next: spray what is missing, then one line after the other.",
                numbers.join(", ")
            )
        }
        Channel::Twice => {
            let line = |pass: &super::SprayedPass| pass.line;
            let again =
                passes.iter().enumerate().find(|(i, pass)| passes[..*i].iter().any(|other| line(other) == line(pass)));
            let number = again.and_then(|(_, pass)| pass.line).unwrap_or(0);
            format!("Line {number} was sprayed more than once. Next: one pass to a line.")
        }
    }
}
