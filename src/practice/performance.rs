//! Distance, line, speed, angle and trigger of every recorded pass, against the line of the plan nearest to it.

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
    /// Number of the planned line nearest to it, from 1 in the order of the plan; none where nothing was planned.
    pub line: Option<usize>,
    /// How far it lay off that line, mm; positive is towards the far edge, or the right one.
    pub off_line_mm: f64,
    /// Nozzle to face, mm.
    pub distance_mm: Range,
    /// Along the panel, mm/s; least and most are of stretches of 50 mm.
    pub speed_mm_per_s: Range,
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
}

impl Performance {
    /// Numbers of the planned lines from the first that a pass came near to the last.
    pub fn reached(&self) -> std::ops::RangeInclusive<usize> {
        let lines = || self.passes.iter().filter_map(|pass| pass.line);
        lines().min().unwrap_or(1)..=lines().max().unwrap_or(0)
    }
}

/// Shorter ones are dabs, mm: a judgement.
const SHORTEST_MM: f64 = 100.0;
/// Speeds are told of stretches this long, mm: shorter ones tremble with the looks.
const STRETCH_MM: f64 = 50.0;

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
    let recorded = told_of(job, coat, track);
    let mut passes: Vec<SprayedPass> = Vec::new();
    let mut middle_before = None;
    for (i, pass) in recorded.iter().enumerate() {
        let turned = recorded.get(i + 1).is_some_and(|next| next.looks.start() == pass.looks.end());
        let (mut sprayed, middle) = one(job, settings.along, i + 1, pass, &track.samples, &plan);
        let width = job.gun.width_at(crate::units::Millimetres(sprayed.distance_mm.mean)).0;
        sprayed.turned = turned;
        sprayed.overlap = middle_before.map(|before: f64| 1.0 - (middle - before).abs() / width);
        middle_before = Some(middle);
        passes.push(sprayed);
    }
    let told = Performance { passes, left_out: Vec::new(), to_come: 0 };
    let near = |line: usize| told.passes.iter().any(|pass| pass.line == Some(line));
    let left_out = told.reached().filter(|line| !near(*line)).collect();
    let to_come = plan.len() - told.reached().count();
    Some(Performance { left_out, to_come, ..told })
}

/// The passes of a recording that go along the panel: dabs, and what misses it, are paint but no passes.
pub(super) fn told_of(job: &Job, coat: usize, track: &Track) -> Vec<Recorded> {
    let settings = &job.coats[coat];
    let along = settings.along;
    let most = job.panel.area().most;
    let (span, wide) = if along == Along::Length { (most.x, most.y) } else { (most.y, most.x) };
    let half = 0.5 * job.gun.width_at(settings.distance).0;
    let within = |looks: &[Sample], of: &dyn Fn(&Sample) -> f64, low: f64, high: f64| {
        let (least, most) =
            looks.iter().map(of).fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(x), b.max(x)));
        least <= high && most >= low
    };
    let goes = |pass: &Recorded| {
        let looks = &track.samples[pass.looks.clone()];
        let way = looks[looks.len() - 1].place - looks[0].place;
        let (on, off) = if along == Along::Length { (way.x.abs(), way.y.abs()) } else { (way.y.abs(), way.x.abs()) };
        let over = within(looks, &|look| look.along(along), 0.0, span);
        on >= SHORTEST_MM && on >= off && over && within(looks, &|look| look.across(along), -half, wide + half)
    };
    track.passes(&job.panel, along).into_iter().filter(goes).collect()
}

/// One pass, and where its middle lay across the passes.
fn one(
    job: &Job,
    along: Along,
    number: usize,
    pass: &Recorded,
    samples: &[Sample],
    plan: &[Line],
) -> (SprayedPass, f64) {
    let looks = &samples[pass.looks.clone()];
    let span = if along == Along::Length { job.panel.length.0 } else { job.panel.width.0 };
    let (first, last) = (looks[0].aimed_along(along), looks[looks.len() - 1].aimed_along(along));
    let sense = if last >= first { 1.0 } else { -1.0 };
    // where nothing lies over the panel the whole pass is told
    let over = |sample: &Sample| (0.0..=span).contains(&sample.aimed_along(along));
    let any = looks.windows(2).any(|pair| over(&pair[0]) && over(&pair[1]));
    let steps: Vec<&[Sample]> = looks.windows(2).filter(|pair| !any || (over(&pair[0]) && over(&pair[1]))).collect();
    let range = |of: &dyn Fn(&Sample) -> f64| ranged(&steps, of);
    let middle = range(&|sample| sample.across(along)).mean;
    let line = nearest(plan, along, middle);
    let (before, after) = if sense > 0.0 { (-first, last - span) } else { (first - span, -last) };
    let sprayed = SprayedPass {
        number,
        line: line.map(|line| line + 1),
        off_line_mm: line.map_or(0.0, |line| middle - across(&plan[line], along)),
        distance_mm: range(&|sample| sample.distance.0),
        speed_mm_per_s: speed(&steps, along),
        heel_deg: range(&|sample| sample.heel.0),
        drag_deg: range(&|sample| sample.lean.0 * sense),
        opened_before_mm: before,
        closed_after_mm: after,
        turned: false,
        overlap: None,
    };
    (sprayed, middle)
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

fn speed(steps: &[&[Sample]], along: Along) -> Range {
    let (mut way, mut time, mut stretch) = (0.0, 0.0, (0.0, 0.0));
    let (mut least, mut most) = (f64::INFINITY, f64::NEG_INFINITY);
    for pair in steps {
        let aside = pair[1].across(along) - pair[0].across(along);
        let ahead = pair[1].aimed_along(along) - pair[0].aimed_along(along);
        let (length, seconds) = ((ahead * ahead + aside * aside).sqrt(), pair[1].time.0 - pair[0].time.0);
        (way, time) = (way + length, time + seconds);
        stretch = (stretch.0 + length, stretch.1 + seconds);
        if stretch.0 >= STRETCH_MM && stretch.1 > 0.0 {
            (least, most) = (least.min(stretch.0 / stretch.1), most.max(stretch.0 / stretch.1));
            stretch = (0.0, 0.0);
        }
    }
    let mean = if time > 0.0 { way / time } else { 0.0 };
    if least > most { Range { mean, least: mean, most: mean } } else { Range { mean, least, most } }
}
