//! A recording with one thing put right, and all else as it was: what is sprayed again to see what that thing did.

use super::ErrorSource;
use super::course::{Course, Followed, covered, followed};
use super::performance::{Performance, across, nearest, pace, plan, told_of};
use crate::job::Job;
use crate::maths::cos;
use crate::strokes::{Along, Line, Sample, Track};
use crate::units::{Degrees, Seconds};

/// A wrist and forearm turn about a place no farther behind the nozzle, mm: a judgement.
const FARTHEST_PIVOT_MM: f64 = 800.0;
/// Parts of a pass of which the common speed is found.
const BINS: usize = 20;

/// What of the lines or of the speed is put right alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Detail {
    /// Every pass moved on to its line.
    Aside,
    /// Every pass turned to run along it.
    Slant,
    /// Every pass made straight.
    Bow,
    /// What is left of every pass beside that.
    Waves,
    /// The mean speed of the coat.
    Pace,
    /// Every pass at the mean speed of all.
    Passes,
    /// What the speed does along every pass alike.
    Along,
}

impl Detail {
    /// What a channel is made of.
    pub fn of(channel: ErrorSource) -> &'static [Self] {
        match channel {
            ErrorSource::Line => &[Self::Aside, Self::Slant, Self::Bow, Self::Waves],
            ErrorSource::Speed => &[Self::Pace, Self::Passes, Self::Along],
            _ => &[],
        }
    }
}

/// The recording with one thing put right.
pub(super) fn put_right(job: &Job, track: &Track, channel: ErrorSource, performance: &Performance) -> Track {
    let (coat, plan) = (&job.coats[0], plan(job, 0));
    let along = coat.along;
    let mut right = track.clone();
    let all = right.samples.iter_mut();
    match channel {
        // not what the wrist does to it
        ErrorSource::Distance => {
            let off = off_by_turning(&track.samples);
            all.for_each(|sample| sample.distance.0 = coat.distance.0 + off * rise(sample));
        }
        ErrorSource::Angle => {
            let off = off_by_turning(&track.samples);
            for sample in all {
                // the gun over the place that it sprays
                set(sample, along, Some(sample.aimed_along(along)), None);
                sample.distance.0 -= off * rise(sample);
                (sample.heel, sample.lean) = (Degrees(0.0), Degrees(0.0));
            }
        }
        ErrorSource::Overlap | ErrorSource::Line => {
            let respaced = channel == ErrorSource::Overlap;
            let all = followed(job, 0, track, &plan);
            for pass in &all {
                let moved = |look: &Sample| if respaced { look.across(along) + pass.respaced } else { pass.meant };
                let looks = &mut right.samples[pass.pass.looks.clone()];
                looks.iter_mut().for_each(|look| set(look, along, None, Some(moved(look))));
            }
            // passes that were too far apart are too few for the panel
            let places = || all.iter().map(|pass| if respaced { pass.middle + pass.respaced } else { pass.meant });
            let half = 0.5 * performance.planned_spacing_mm;
            let short = |number: &usize| {
                let line = across(&plan[number - 1], along);
                !performance.left_out.contains(number) && places().all(|place| (place - line).abs() > half)
            };
            let now = right.samples.last().map_or(0.0, |sample| sample.time.0);
            let lines: Vec<&Line> = performance.reached().filter(short).map(|number| &plan[number - 1]).collect();
            right.samples.extend(planned(job, &lines, now + 1.0).samples);
        }
        ErrorSource::Speed => {
            let speed = coat.actual_speed().0;
            retime(&mut right, track, |pair| {
                let way = (pair[1].along(along) - pair[0].along(along)).abs();
                if pair[0].open { way / speed } else { pair[1].time.0 - pair[0].time.0 }
            });
        }
        ErrorSource::Trigger => return triggered(job, track),
        ErrorSource::Twice => {
            for (i, pass) in told_of(job, 0, track).into_iter().enumerate() {
                let of = |n: usize| performance.passes[n].line;
                if of(i).is_some() && (0..i).any(|before| of(before) == of(i)) {
                    right.samples[pass.looks].iter_mut().for_each(|look| look.open = false);
                }
            }
        }
        ErrorSource::LeftOut => {
            let now = right.samples.last().map_or(0.0, |sample| sample.time.0);
            let lines: Vec<&Line> = performance.left_out.iter().map(|number| &plan[number - 1]).collect();
            right.samples.extend(planned(job, &lines, now + 1.0).samples);
        }
    }
    right
}

/// The recording with a part of its lines or of its speed put right.
pub(super) fn put_right_in_part(job: &Job, track: &Track, detail: Detail) -> Track {
    match detail {
        Detail::Pace | Detail::Passes | Detail::Along => sped(job, track, detail),
        _ => led(job, track, detail),
    }
}

/// Every pass led otherwise.
fn led(job: &Job, track: &Track, detail: Detail) -> Track {
    let (along, span) = way(job);
    let mut right = track.clone();
    for Followed { pass, meant, .. } in followed(job, 0, track, &plan(job, 0)) {
        let looks = &mut right.samples[pass.looks];
        let Some((course, (from, to))) = Course::of(looks, along, span, meant).zip(covered(looks, along, span)) else {
            continue;
        };
        for look in looks.iter_mut() {
            let u = 2.0 * (look.aimed_along(along) - from) / (to - from) - 1.0;
            let place = match detail {
                Detail::Aside => look.across(along) - course.aside_mm,
                Detail::Slant => look.across(along) - course.slant_mm * u,
                Detail::Bow => look.across(along) - course.bowed_at(u),
                _ => meant + course.at(u),
            };
            set(look, along, None, Some(place));
        }
    }
    right
}

/// Every pass at another speed.
fn sped(job: &Job, track: &Track, detail: Detail) -> Track {
    let (along, span) = way(job);
    let passes: Vec<SpeedOfPass> =
        told_of(job, 0, track).into_iter().filter_map(|pass| SpeedOfPass::of(pass.looks, track, along, span)).collect();
    let all = passes.iter().fold((0.0, 0.0), |sum, pass| (sum.0 + pass.whole.0, sum.1 + pass.whole.1));
    let mean = all.0 / all.1.max(1e-9);
    let common: Vec<f64> = (0..BINS)
        .map(|bin| {
            let slower = passes.iter().filter_map(|pass| pass.slower(bin));
            let (sum, count) = slower.fold((0.0, 0.0), |(sum, count), slower| (sum + slower, count + 1.0));
            if count > 0.0 { sum / count } else { 1.0 }
        })
        .collect();
    let mut right = track.clone();
    let mut step = 0;
    retime(&mut right, track, |pair| {
        let (i, time) = (step, pair[1].time.0 - pair[0].time.0);
        step += 1;
        let Some(pass) = passes.iter().find(|pass| pass.first <= i && i < pass.last) else { return time };
        match detail {
            Detail::Pace => time * mean / job.coats[0].actual_speed().0,
            Detail::Passes => time * pass.mean() / mean,
            _ => time / common[pass.bin(pair, along)],
        }
    });
    right
}

/// How fast a pass went, part by part.
struct SpeedOfPass {
    /// Its looks, by index.
    first: usize,
    last: usize,
    /// What of it lies over the panel, in its own direction.
    from: f64,
    to: f64,
    /// Way and time of all of that, and of its parts.
    whole: (f64, f64),
    bins: [(f64, f64); BINS],
}

impl SpeedOfPass {
    fn of(looks: std::ops::RangeInclusive<usize>, track: &Track, along: Along, span: f64) -> Option<Self> {
        let (first, last) = (*looks.start(), *looks.end());
        let looks = &track.samples[looks];
        let (low, high) = covered(looks, along, span)?;
        let forwards = looks[looks.len() - 1].aimed_along(along) >= looks[0].aimed_along(along);
        let (from, to) = if forwards { (low, high) } else { (high, low) };
        let mut pass = Self { first, last, from, to, whole: (0.0, 0.0), bins: [(0.0, 0.0); BINS] };
        for pair in looks.windows(2) {
            let share = pass.share(pair, along);
            if (0.0..=1.0).contains(&share) {
                let (way, time) = pace(pair, along);
                for sum in [&mut pass.whole, &mut pass.bins[((share * BINS as f64) as usize).min(BINS - 1)]] {
                    *sum = (sum.0 + way, sum.1 + time);
                }
            }
        }
        (pass.whole.0 > 0.0 && pass.whole.1 > 0.0).then_some(pass)
    }

    fn share(&self, pair: &[Sample], along: Along) -> f64 {
        let middle = 0.5 * (pair[0].aimed_along(along) + pair[1].aimed_along(along));
        (middle - self.from) / (self.to - self.from)
    }

    /// The part in which a step lies; beside the panel the outermost.
    fn bin(&self, pair: &[Sample], along: Along) -> usize {
        ((self.share(pair, along).clamp(0.0, 1.0) * BINS as f64) as usize).min(BINS - 1)
    }

    fn mean(&self) -> f64 {
        self.whole.0 / self.whole.1
    }

    /// Time for a way in one part over that in the whole pass.
    fn slower(&self, bin: usize) -> Option<f64> {
        let (way, time) = self.bins[bin];
        (way > 0.0 && time > 0.0).then(|| time / way * self.mean())
    }
}

/// Times every step anew.
fn retime(right: &mut Track, track: &Track, mut takes: impl FnMut(&[Sample]) -> f64) {
    let mut now = track.samples.first().map_or(0.0, |sample| sample.time.0);
    for (i, pair) in track.samples.windows(2).enumerate() {
        now += takes(pair);
        right.samples[i + 1].time = Seconds(now);
    }
}

/// Which way the passes run, and how long the panel is that way.
fn way(job: &Job) -> (Along, f64) {
    let (along, most) = (job.coats[0].along, job.panel.area().most);
    (along, if along == Along::Length { most.x } else { most.y })
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
    Track { samples, moved_by: None }
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
    Track { samples, moved_by: None }
}
