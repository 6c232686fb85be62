//! Distance, line, speed, angle and trigger of every recorded pass, against the line of the plan it was meant for.

use super::course::{Course, Followed, covered, followed, spacing};
use crate::job::Job;
use crate::strokes::{Along, Line, Recorded, Sample, Track, lines};
use serde::Serialize;

/// A quantity along a pass, the part over the panel: its mean by time, least and most.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Range {
    /// Mean by time.
    pub mean: f64,
    /// Least.
    pub least: f64,
    /// Most.
    pub most: f64,
}

/// One pass as it was sprayed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SprayedPass {
    /// Its number, from 1.
    pub number: usize,
    /// Number of the planned line it was meant for, from 1 in the order of the plan: counted where the passes lie evenly but
    /// too far apart or too near, otherwise the nearest. None where nothing was planned.
    pub line: Option<usize>,
    /// Number of the planned line nearest to it.
    #[serde(skip)]
    pub(super) nearest: Option<usize>,
    /// How far it lay off its line on average, mm; positive is towards the far edge, or the right one.
    pub off_line_mm: f64,
    /// How it ran beside that line.
    pub course: Course,
    /// Whether it ran towards greater x (or y).
    #[serde(skip)]
    pub(super) runs_up: bool,
    /// Nozzle to face, mm.
    pub distance_mm: Range,
    /// Along the panel, mm/s; least and most are of stretches as long as the fan is deep: what is shorter, the film does not
    /// show.
    pub speed_mm_per_s: Range,
    /// Mean speed over its first fifth on the panel, its middle fifth and its last, mm/s.
    pub speed_along_mm_per_s: [f64; 3],
    /// Heel, degrees.
    pub heel_deg: Range,
    /// Drag, degrees.
    pub drag_deg: Range,
    /// How far before the panel's edge the trigger opened, mm; below 0: inside.
    pub opened_before_mm: f64,
    /// How far after the panel's edge it closed, or the hand turned back, mm; below 0: inside.
    pub closed_after_mm: f64,
    /// The trigger stayed open through the turn after it.
    pub turned: bool,
    /// Share of the fan's width by which it covered the pass before; none for the first.
    pub overlap: Option<f64>,
}

/// A coat as it was sprayed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Performance {
    /// Pass by pass.
    pub passes: Vec<SprayedPass>,
    /// Numbers of the planned lines between those that were sprayed which no pass came near.
    pub left_out: Vec<usize>,
    /// How many lines are still to come.
    pub to_come: usize,
    /// How far apart the passes lie, mm; none of fewer than three that follow each other.
    pub spacing_mm: Option<f64>,
    /// The same as planned, mm.
    pub planned_spacing_mm: f64,
}

impl Performance {
    /// Numbers of the planned lines from the first that a pass came near to the last.
    pub fn reached(&self) -> std::ops::RangeInclusive<usize> {
        let lines = || self.passes.iter().filter_map(|pass| pass.nearest);
        lines().min().unwrap_or(1)..=lines().max().unwrap_or(0)
    }
}

/// Shorter ones are dabs, mm: a judgement.
const SHORTEST_MM: f64 = 100.0;
/// Parts of a pass of which the speed is told: from where to where, as shares of it.
const PARTS: [(f64, f64); 3] = [(0.0, 0.2), (0.4, 0.6), (0.8, 1.0)];

/// The lines of a coat's plan, without the pass around the rim and without those whose fan does not reach the panel.
pub fn plan(job: &Job, coat: usize) -> Vec<Line> {
    let settings = &job.coats[coat];
    let span = if settings.along == Along::Length { job.panel.width.0 } else { job.panel.length.0 };
    let half = 0.5 * job.gun.width_at(settings.distance).0 - 1e-6;
    let reaches = |line: &Line| (-half..=span + half).contains(&across(line, settings.along));
    let lines = lines(&job.panel, &job.gun, settings).into_iter();
    lines.filter(|line| !line.rim && reaches(line)).collect()
}

/// Where a line lies across the passes, mm.
pub(super) fn across(line: &Line, along: Along) -> f64 {
    if along == Along::Length { line.from.y } else { line.from.x }
}

/// The nearest planned line to a place across the passes.
pub(super) fn nearest(plan: &[Line], along: Along, place: f64) -> Option<usize> {
    let off = |i: &usize| (across(&plan[*i], along) - place).abs();
    (0..plan.len()).min_by(|a, b| off(a).total_cmp(&off(b)))
}

/// The performance of a coat that was recorded; none of one that was not.
pub fn performance(job: &Job, coat: usize) -> Option<Performance> {
    let settings = job.coats.get(coat)?;
    let track = settings.track.as_ref()?;
    let plan = plan(job, coat);
    let all = followed(job, coat, track, &plan);
    let planned_spacing_mm = settings.spacing(&job.gun).0;
    let told: Vec<&Followed> = all.iter().filter(|pass| on_panel(job, coat, track, &pass.pass)).collect();
    let mut passes: Vec<SprayedPass> = Vec::new();
    for (i, pass) in told.iter().enumerate() {
        let turned = told.get(i + 1).is_some_and(|next| next.pass.looks.start() == pass.pass.looks.end());
        let mut sprayed = one(job, settings.along, i + 1, pass, &track.samples);
        let width = job.gun.width_at(crate::units::Millimetres(sprayed.distance_mm.mean)).0;
        sprayed.turned = turned;
        let before = i.checked_sub(1).map(|before| told[before].middle);
        sprayed.overlap = before.map(|before| 1.0 - (pass.middle - before).abs() / width);
        passes.push(sprayed);
    }
    let spacing_mm = spacing(&all, planned_spacing_mm);
    let told = Performance { passes, left_out: Vec::new(), to_come: 0, spacing_mm, planned_spacing_mm };
    // where passes lie evenly too far apart, their spacing is wrong, and none of their lines was left out
    let counted = || all.iter().filter(|pass| pass.counted).filter_map(|pass| Some(pass.nearest? + 1));
    let counted = counted().min().unwrap_or(1)..=counted().max().unwrap_or(0);
    let near = |line: usize| told.passes.iter().any(|pass| [pass.line, pass.nearest].contains(&Some(line)));
    let left_out = told.reached().filter(|line| !near(*line) && !counted.contains(line)).collect();
    let to_come = plan.len() - told.reached().count();
    Some(Performance { left_out, to_come, ..told })
}

/// The passes of a recording that go along the panel, also those beside it: dabs are paint but no passes.
pub(super) fn along_the_panel(job: &Job, coat: usize, track: &Track) -> Vec<Recorded> {
    let along = job.coats[coat].along;
    let most = job.panel.area().most;
    let span = if along == Along::Length { most.x } else { most.y };
    let goes = |pass: &Recorded| {
        let looks = &track.samples[pass.looks.clone()];
        let way = looks[looks.len() - 1].place - looks[0].place;
        let (on, off) = if along == Along::Length { (way.x.abs(), way.y.abs()) } else { (way.y.abs(), way.x.abs()) };
        on >= SHORTEST_MM && on >= off && reaches(looks, &|look| look.along(along), (0.0, span))
    };
    track.passes(&job.panel, along).into_iter().filter(goes).collect()
}

/// The passes of a recording that go along the panel and reach it.
pub(super) fn told_of(job: &Job, coat: usize, track: &Track) -> Vec<Recorded> {
    let all = along_the_panel(job, coat, track).into_iter();
    all.filter(|pass| on_panel(job, coat, track, pass)).collect()
}

/// Whether looks come between two places.
fn reaches(looks: &[Sample], of: &dyn Fn(&Sample) -> f64, (low, high): (f64, f64)) -> bool {
    let ends = looks.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
    ends.0 <= high && ends.1 >= low
}

/// Whether the fan of a pass reaches the panel.
fn on_panel(job: &Job, coat: usize, track: &Track, pass: &Recorded) -> bool {
    let settings = &job.coats[coat];
    let most = job.panel.area().most;
    let wide = if settings.along == Along::Length { most.y } else { most.x };
    let half = 0.5 * job.gun.width_at(settings.distance).0;
    let looks = &track.samples[pass.looks.clone()];
    reaches(looks, &|look| look.across(settings.along), (-half, wide + half))
}

/// One pass.
fn one(job: &Job, along: Along, number: usize, pass: &Followed, samples: &[Sample]) -> SprayedPass {
    let looks = &samples[pass.pass.looks.clone()];
    let span = if along == Along::Length { job.panel.length.0 } else { job.panel.width.0 };
    let (first, last) = (looks[0].aimed_along(along), looks[looks.len() - 1].aimed_along(along));
    let sense = if last >= first { 1.0 } else { -1.0 };
    // where nothing lies over the panel the whole pass is told
    let over = |sample: &Sample| (0.0..=span).contains(&sample.aimed_along(along));
    let any = looks.windows(2).any(|pair| over(&pair[0]) && over(&pair[1]));
    let steps: Vec<&[Sample]> = looks.windows(2).filter(|pair| !any || (over(&pair[0]) && over(&pair[1]))).collect();
    let range = |of: &dyn Fn(&Sample) -> f64| ranged(&steps, of);
    let (before, after) = if sense > 0.0 { (-first, last - span) } else { (first - span, -last) };
    let course = Course::of(looks, along, span, pass.meant).unwrap_or_default();
    let distance_mm = range(&|sample| sample.distance.0);
    let stretch = job.gun.depth_at(crate::units::Millimetres(distance_mm.mean)).0;
    SprayedPass {
        number,
        line: pass.line.map(|line| line + 1),
        nearest: pass.nearest.map(|line| line + 1),
        off_line_mm: course.aside_mm,
        course,
        runs_up: sense > 0.0,
        distance_mm,
        speed_mm_per_s: speed(&steps, along, stretch),
        speed_along_mm_per_s: parts(looks, along, span),
        heel_deg: range(&|sample| sample.heel.0),
        drag_deg: range(&|sample| sample.lean.0 * sense),
        opened_before_mm: before,
        closed_after_mm: after,
        turned: false,
        overlap: None,
    }
}

fn ranged(steps: &[&[Sample]], of: &dyn Fn(&Sample) -> f64) -> Range {
    let (mut sum, mut time, mut least, mut most) = (0.0, 0.0, f64::INFINITY, f64::NEG_INFINITY);
    for pair in steps {
        let (a, b, seconds) = (of(&pair[0]), of(&pair[1]), pair[1].time.0 - pair[0].time.0);
        (sum, time) = (sum + 0.5 * (a + b) * seconds, time + seconds);
        (least, most) = (least.min(a).min(b), most.max(a).max(b));
    }
    let mean = if time > 0.0 { sum / time } else { 0.5 * (least + most) };
    Range { mean, least, most }
}

/// Speed over the panel: its mean, and the least and the most of any stretch of a length.
fn speed(steps: &[&[Sample]], along: Along, stretch: f64) -> Range {
    let pace: Vec<(f64, f64)> = steps.iter().map(|pair| pace(pair, along)).collect();
    let (way, time) = pace.iter().fold((0.0, 0.0), |sum, step| (sum.0 + step.0, sum.1 + step.1));
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    let (mut from, mut window) = (0, (0.0, 0.0));
    for step in &pace {
        window = (window.0 + step.0, window.1 + step.1);
        while window.0 - pace[from].0 >= stretch {
            window = (window.0 - pace[from].0, window.1 - pace[from].1);
            from += 1;
        }
        if window.0 >= stretch && window.1 > 0.0 {
            (least, most) = (least.min(window.0 / window.1), most.max(window.0 / window.1));
        }
    }
    let mean = if time > 0.0 { way / time } else { 0.0 };
    if least > most { Range { mean, least: mean, most: mean } } else { Range { mean, least, most } }
}

/// Way, mm, and time, s, of a step.
pub(super) fn pace(pair: &[Sample], along: Along) -> (f64, f64) {
    let aside = pair[1].across(along) - pair[0].across(along);
    let ahead = pair[1].aimed_along(along) - pair[0].aimed_along(along);
    ((ahead * ahead + aside * aside).sqrt(), pair[1].time.0 - pair[0].time.0)
}

/// Mean speeds over the parts of a pass, in its own direction.
fn parts(looks: &[Sample], along: Along, span: f64) -> [f64; 3] {
    let Some((from, to)) = covered(looks, along, span) else { return [0.0; 3] };
    let forwards = looks[looks.len() - 1].aimed_along(along) >= looks[0].aimed_along(along);
    let (mut sums, mut all) = ([(0.0, 0.0); 3], (0.0, 0.0));
    for pair in looks.windows(2) {
        let middle = 0.5 * (pair[0].aimed_along(along) + pair[1].aimed_along(along));
        let share = (middle - from) / (to - from);
        let share = if forwards { share } else { 1.0 - share };
        let (way, time) = pace(pair, along);
        all = (all.0 + way, all.1 + time);
        if let Some(part) = PARTS.iter().position(|(from, to)| (*from..=*to).contains(&share)) {
            sums[part] = (sums[part].0 + way, sums[part].1 + time);
        }
    }
    // a part without a look of its own goes like the whole
    sums.map(|(way, time)| if time > 0.0 { way / time } else { all.0 / all.1.max(1e-9) })
}
