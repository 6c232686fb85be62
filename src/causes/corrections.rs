//! What can be put right in a job, one thing at a time: every error of the hand and of the gun that the job has, and the
//! settings of the plan that the defects found may come from. Each with the painter's words for having been wrong and for
//! putting it right. Does not know whether it helps.

use crate::appraisal::target_film;
use crate::error::Problem;
use crate::findings::{Defect, DefectKind, WORKING_DISTANCE, masked};
use crate::job::Job;
use crate::job::inputs::{System, Unit, errors_of_hand, input, plain_number};
use crate::strokes::{Coat, Reach, Sequence};
use crate::words::shown;
use serde_json::{Map, Value, json};

/// What kind of thing is put right.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Nature {
    /// The hand or the gun does not do what was planned.
    Error,
    /// The plan itself.
    Plan,
}

/// One thing put right.
#[derive(Debug, Clone, PartialEq)]
pub struct Correction {
    /// Error or plan.
    pub nature: Nature,
    /// Values by path; the first is what it is named after.
    pub set: Vec<(String, Value)>,
    /// That it was wrong, in the painter's words.
    pub cause: String,
    /// How to put it right, in the painter's words.
    pub cure: String,
    /// Effort of doing it: 0 costs nothing, 1 is a change of habit, 3 leaves what is usual.
    pub effort: f64,
    /// Kinds of defect it may explain; empty for every kind.
    kinds: Vec<DefectKind>,
    /// Only a cure: it works whatever the cause is.
    only_cure: bool,
    /// To be named first where it explains as much as another.
    pub(super) first: bool,
}

impl Correction {
    /// The path it is named after.
    pub fn setting(&self) -> &str {
        &self.set[0].0
    }

    /// Whether it may be named as a cause of a defect.
    pub fn explains(&self, defect: &Defect) -> bool {
        !self.only_cure && self.suits(defect)
    }

    /// Whether it may be tried against a defect.
    pub fn suits(&self, defect: &Defect) -> bool {
        self.kinds.is_empty() || self.kinds.contains(&defect.kind)
    }

    /// Whether both change the same thing.
    pub fn same_setting(&self, other: &Correction) -> bool {
        let key = |path: &str| path.rsplit('.').next().unwrap_or(path).to_string();
        self.nature == other.nature && key(self.setting()) == key(other.setting())
    }

    /// The job with it put right.
    pub fn apply(&self, job: &Job) -> Result<Job, Problem> {
        job.with_all(self.set.iter().map(|(path, value)| (path, value)))
    }

    /// The values as they stand in a report: settings alone.
    pub fn as_map(&self) -> Map<String, Value> {
        self.set.iter().filter(|(path, _)| !super::recorded::is_track(path)).cloned().collect()
    }

    pub(super) fn error(set: Vec<(String, Value)>, cause: String, cure: String) -> Self {
        let (nature, kinds) = (Nature::Error, Vec::new());
        Self { nature, set, cause, cure, effort: 1.0, kinds, only_cure: false, first: false }
    }

    pub(super) fn plan(
        set: Vec<(String, Value)>,
        cause: String,
        cure: String,
        effort: f64,
        kinds: &[DefectKind],
    ) -> Self {
        Self { nature: Nature::Plan, set, cause, cure, effort, kinds: kinds.to_vec(), only_cure: false, first: false }
    }

    /// The same with other values and other words for putting it right.
    pub(super) fn changed(self, set: Vec<(String, Value)>, cure: String) -> Self {
        Self { set, cure, ..self }
    }

    pub(super) fn first(self, first: bool) -> Self {
        Self { first, ..self }
    }

    fn only_cure(self) -> Self {
        Self { only_cure: true, ..self }
    }
}

/// Everything that is worth putting right in a job with these defects: errors first, then the plan, the more fundamental
/// before the rest.
pub fn corrections(job: &Job, found: &[Defect]) -> Vec<Correction> {
    let mut all = errors(job);
    let has = |kinds: &[DefectKind]| found.iter().any(|defect| kinds.contains(&defect.kind));
    if has(&[DefectKind::MaskingSprayed]) {
        all.extend(margins(job));
    }
    if has(&[DefectKind::DrySpray, DefectKind::WetSpray, DefectKind::ThinFilm, DefectKind::OverFilm]) {
        all.extend(distances(job));
    }
    for paint in job.coloured() {
        let coats: Vec<usize> = (0..job.coats.len()).filter(|coat| job.paint_of(&job.coats[*coat]) == paint).collect();
        all.extend(plans(job, paint, &coats, found));
    }
    if has(&[DefectKind::Run, DefectKind::NearRun, DefectKind::WetEdgeLost]) {
        all.extend(wet(job));
    }
    all
}

/// What may be put right in the coats of one paint.
fn plans(job: &Job, paint: usize, coats: &[usize], found: &[Defect]) -> Vec<Correction> {
    let mut all = Vec::new();
    let has = |kinds: &[DefectKind]| found.iter().any(|defect| defect.paint == paint && kinds.contains(&defect.kind));
    if has(&[DefectKind::CentreStripe, DefectKind::Striping, DefectKind::Banding, DefectKind::Holiday]) {
        all.extend(reaches(job, coats));
    }
    if has(&STRIPES) {
        all.extend(overlaps(job, coats));
        all.extend(shift(job, coats));
    }
    if has(&[DefectKind::ThinFilm, DefectKind::OverFilm, DefectKind::NotHidden]) {
        all.extend(amounts(job, paint, coats));
    }
    if has(&[DefectKind::HeavyEdge, DefectKind::ThinEdge, DefectKind::Run, DefectKind::NearRun]) {
        all.extend(edges(job, coats));
    }
    all
}

/// What lines that are too far apart make; so far apart that nothing lies between them, they leave places out.
const STRIPES: [DefectKind; 4] = [DefectKind::Striping, DefectKind::Banding, DefectKind::Mottle, DefectKind::Holiday];

/// Every error of the hand and of the gun that is not at zero.
fn errors(job: &Job) -> Vec<Correction> {
    let value = job.value();
    let faulty = |path: &str| value.pointer(&format!("/{}", path.replace('.', "/"))).and_then(Value::as_f64);
    (errors_of_hand().map(|input| input.path))
        .chain(["gun.heavy_end", "gun.split"])
        .filter_map(|path| {
            let now = faulty(path).filter(|now| *now != 0.0)?;
            let unit = input(path)?.range()?.unit;
            let size = shown(unit, now.abs(), System::Metric);
            let (cause, cure) = error_words(path, now, &size);
            let set = vec![(path.to_string(), json!(0))];
            Some(Correction::error(set, cause, cure))
        })
        .collect()
}

/// That an error was there, and how to put it right.
fn error_words(path: &str, now: f64, size: &str) -> (String, String) {
    let more = |above: &str, below: &str| if now > 0.0 { above.to_string() } else { below.to_string() };
    let (cause, cure) = match path {
        "hand.distance_error_mm" => (
            format!("The gun is held {size} {} than planned", more("farther", "nearer")),
            format!("Hold the gun {size} {}", more("nearer", "farther")),
        ),
        "hand.speed_error" => (
            format!("The hand goes {size} {} than planned", more("faster", "slower")),
            format!("Go {}, as planned", more("slower", "faster")),
        ),
        "hand.arc_deg" => (
            format!("The wrist swings by {size} at the ends of a pass"),
            "Walk with the pass and keep the gun square to the panel to its very end".to_string(),
        ),
        "hand.heel_deg" => (
            format!("The gun heels by {size}: one end of the fan is nearer than the other"),
            "Hold the fan square to the panel".to_string(),
        ),
        "hand.drag_deg" => (
            format!("The gun leans {size} in the direction of travel"),
            "Point the gun straight at the panel".to_string(),
        ),
        "hand.trigger_late_mm" => (
            format!("The trigger opens and closes {size} {}", more("late", "early")),
            "Open the trigger before the edge and close it after it".to_string(),
        ),
        "hand.slow_at_ends" => (
            format!("The hand loses {size} of its speed at the ends of a pass"),
            "Keep the speed to the end of the pass and turn outside the panel".to_string(),
        ),
        "hand.distance_sd_mm" => (
            format!("The distance drifts by {size}"),
            "Keep an even distance: a steadier stance, both hands or a shorter reach".to_string(),
        ),
        "hand.speed_sd" => (
            format!("The speed drifts by {size}"),
            "Keep an even speed: count, or move the body instead of the arm".to_string(),
        ),
        "hand.line_sd_mm" => {
            (format!("The lines stray by {size}"), "Keep to the lines: aim at the edge of the last pass".to_string())
        }
        "hand.angle_sd_deg" => {
            (format!("The gun's angle drifts by {size}"), "Keep the wrist stiff and the gun square".to_string())
        }
        "gun.heavy_end" => (
            format!("The fan is heavier at its {} end by {size}", more("far", "near")),
            "Clean or change the air cap: the fan must be even from end to end".to_string(),
        ),
        _ => (
            format!("The fan is split: {size} of its middle is missing"),
            "Balance air and fluid, or clean the air cap: the fan must have a middle".to_string(),
        ),
    };
    (cause + ".", cure + ".")
}

fn path(coat: usize, key: &str) -> String {
    format!("coats[{coat}].{key}")
}

fn all_of(coats: &[usize], key: &str, value: impl Fn(usize) -> Value) -> Vec<(String, Value)> {
    coats.iter().map(|coat| (path(*coat, key), value(*coat))).collect()
}

/// Rounded to the control's step, so that a person can set it.
fn stepped(key: &str, value: f64) -> f64 {
    let Some(range) = input(&format!("coats[].{key}")).and_then(|input| input.range()) else { return value };
    ((value / range.step).round() * range.step * 1e6).round() / 1e6
}

/// Overlaps that may even the lines out, with the speed that keeps the film.
fn overlaps(job: &Job, tinted: &[usize]) -> Vec<Correction> {
    let now = job.coats[tinted[0]].overlap.0;
    let usual = |speed: f64| (250.0..=900.0).contains(&speed);
    [0.5, 0.55, 0.65, 0.67, 0.7, 0.75, 0.8]
        .into_iter()
        .filter(|overlap| (*overlap - now).abs() > 0.005)
        .filter_map(|overlap| {
            let speed =
                |coat: &Coat| stepped("speed_mm_per_s", coat.speed.0 * (1.0 - coat.overlap.0) / (1.0 - overlap));
            let speeds: Vec<f64> = tinted.iter().map(|i| speed(&job.coats[*i])).collect();
            if speeds.iter().any(|speed| !(60.0..=1900.0).contains(speed)) {
                return None;
            }
            let mut set = all_of(tinted, "overlap", |_| json!(overlap));
            set.extend(tinted.iter().zip(&speeds).map(|(i, v)| (path(*i, "speed_mm_per_s"), plain_number(*v))));
            let percent = |share: f64| format!("{:.0} %", 100.0 * share);
            let cause = format!("At {} overlap the passes of this fan do not add up evenly.", percent(now));
            let cure =
                format!("Overlap by {} and go at {:.0} mm/s, which lays the same film.", percent(overlap), speeds[0]);
            let near = (overlap - now).abs();
            let unusual = if overlap > 0.75 { 1.5 } else { 0.0 };
            let effort = 1.0 + near + unusual + if speeds.iter().all(|speed| usual(*speed)) { 0.0 } else { 2.0 };
            Some(Correction::plan(set, cause, cure, effort, &STRIPES))
        })
        .collect()
}

/// The lines of later coats between those of the first.
fn shift(job: &Job, tinted: &[usize]) -> Vec<Correction> {
    let (Some(first), Some(last)) = (tinted.first(), tinted.last()) else { return Vec::new() };
    if first == last || job.coats[*first].along != job.coats[*last].along {
        return Vec::new();
    }
    let beside = job.coats[*last].beside(&job.coats[*first], &job.panel, &job.gun);
    if beside.is_some_and(|share| (share - 0.5).abs() < 0.1) {
        return Vec::new();
    }
    let shift = job.coats[*first].shift.0 + if job.coats[*first].shift.0 > 0.5 { -0.5 } else { 0.5 };
    if (job.coats[*last].shift.0 - shift).abs() < 0.01 {
        return Vec::new();
    }
    let set = vec![(path(*last, "shift"), plain_number(stepped("shift", shift)))];
    let cause = "The lines of both coats lie on each other.".to_string();
    let cure = format!("Lay the lines of coat {} between those of coat {}.", last + 1, first + 1);
    vec![Correction::plan(set, cause, cure, 0.5, &STRIPES).only_cure()]
}

/// A base hides for good somewhat beyond the film at which it hides black and white.
const HIDES_FOR_GOOD: f64 = 1.5;

/// A fluid that is off its default by this share of what the film is off may be to blame: a judgement. Speed and fluid lay
/// the same film.
const BLAMED: f64 = 0.25;

/// The speed, and the fluid, at which the film is the target's, or a base hides: what is more likely to be wrong first.
fn amounts(job: &Job, paint: usize, tinted: &[usize]) -> Vec<Correction> {
    let target =
        if Some(paint) == job.base() { HIDES_FOR_GOOD * job.paints[paint].hides_at.0 } else { target_film(job).0 };
    let film: f64 = tinted.iter().map(|i| job.planned_film(&job.coats[*i]).0).sum();
    if !(film > 0.0 && target > 0.0) {
        return Vec::new();
    }
    let speed = speed(job, tinted, film, target);
    // one gun sprays all paints: its fluid is set for the tinted one
    let fluid = fluid(job, film, target).filter(|_| Some(paint) == job.tinted());
    let usual = |path: &str, now: f64| input(path).and_then(|input| input.range()).map_or(now, |range| range.default);
    let (now, goes) = (job.gun.fluid.0, job.coats[tinted[0]].speed.0);
    // how much more film each lays than by its default, above 0 where that is what the film is off
    let sense = if film > target { 1.0 } else { -1.0 };
    let by_fluid = sense * (now / usual(FLUID, now) - 1.0);
    let by_speed = sense * (usual("coats[].speed_mm_per_s", goes) / goes - 1.0);
    if by_fluid < BLAMED * (film / target - 1.0).abs() {
        speed.into_iter().collect()
    } else if by_fluid > by_speed {
        fluid.into_iter().chain(speed).collect()
    } else {
        speed.into_iter().chain(fluid).collect()
    }
}

/// Where the fluid is in the job file.
const FLUID: &str = "gun.fluid_ml_per_min";

fn fluid(job: &Job, film: f64, target: f64) -> Option<Correction> {
    let range = input(FLUID)?.range()?;
    let better = ((job.gun.fluid.0 * target / film / range.step).round() * range.step * 1e6).round() / 1e6;
    if !(range.least..=range.most).contains(&better) || better == job.gun.fluid.0 {
        return None;
    }
    let size = |value: f64| shown(range.unit, value, System::Metric);
    let (much, turn) = if film > target { ("much", "down") } else { ("little", "up") };
    let is = size(job.gun.fluid.0);
    let cause = format!("The gun delivers too {much} for this film: {is}; the plan lays {film:.1} \u{b5}m.");
    let cure = format!("Turn the fluid {turn} to {}.", size(better));
    let kinds = [DefectKind::ThinFilm, DefectKind::OverFilm];
    Some(Correction::plan(vec![(FLUID.to_string(), plain_number(better))], cause, cure, 1.0, &kinds))
}

fn speed(job: &Job, tinted: &[usize], film: f64, target: f64) -> Option<Correction> {
    let speeds: Vec<f64> =
        tinted.iter().map(|i| stepped("speed_mm_per_s", job.coats[*i].speed.0 * film / target)).collect();
    let changed = tinted.iter().zip(&speeds).any(|(i, speed)| (job.coats[*i].speed.0 - speed).abs() > 4.0);
    if !changed || speeds.iter().any(|speed| !(50.0..=2000.0).contains(speed)) {
        return None;
    }
    let set: Vec<_> = tinted.iter().zip(&speeds).map(|(i, v)| (path(*i, "speed_mm_per_s"), plain_number(*v))).collect();
    let (is, slower) = (job.coats[tinted[0]].speed.0, if film > target { "slow" } else { "fast" });
    let cause = format!("At {is:.0} mm/s the gun is too {slower} for this film: the plan lays {film:.1} \u{b5}m.");
    let cure = format!("Go at {:.0} mm/s.", speeds[0]);
    let usual = speeds.iter().all(|speed| (250.0..=900.0).contains(speed));
    let effort = if usual { 1.0 } else { 3.0 };
    let kinds = [DefectKind::ThinFilm, DefectKind::OverFilm, DefectKind::NotHidden];
    Some(Correction::plan(set, cause, cure, effort, &kinds))
}

/// Where two reaches meet.
fn reaches(job: &Job, tinted: &[usize]) -> Vec<Correction> {
    let both: Vec<usize> = tinted.iter().copied().filter(|i| job.coats[*i].reach == Reach::BothSides).collect();
    let kinds = [DefectKind::CentreStripe, DefectKind::Striping, DefectKind::Banding, DefectKind::Holiday];
    let mut all = Vec::new();
    let now = both.first().map_or(0.0, |i| job.coats[*i].reach_overlap.0);
    if now != 0.0 {
        let (what, where_) =
            if now > 0.0 { ("cover the same middle twice", "overlap") } else { ("leave a gap", "gap") };
        all.push(Correction::plan(
            all_of(&both, "reach_overlap_mm", |_| json!(0)),
            format!("The two reaches {what}: {:.0} mm of {where_} along the middle.", now.abs()),
            "End each reach at the middle: one line on it, sprayed once.".to_string(),
            0.5,
            &kinds,
        ));
    }
    if !both.is_empty() {
        let set = all_of(&both, "reach", |_| json!("one_side"));
        let cause = "Two reaches meet along the middle.".to_string();
        let cure = "Spray all lines from one side, if the arm reaches across.".to_string();
        all.push(Correction::plan(set, cause, cure, 2.0, &kinds));
    }
    all
}

/// What is laid along the rim, and on a small panel everywhere: it reaches half a fan inwards.
const RIM: [DefectKind; 8] = [
    DefectKind::HeavyEdge,
    DefectKind::ThinEdge,
    DefectKind::Run,
    DefectKind::NearRun,
    DefectKind::ThinFilm,
    DefectKind::OverFilm,
    DefectKind::Striping,
    DefectKind::Banding,
];

/// What is done along the edges.
fn edges(job: &Job, tinted: &[usize]) -> Vec<Correction> {
    let mut all = Vec::new();
    let rim: Vec<usize> = tinted.iter().copied().filter(|i| job.coats[*i].edge_pass).collect();
    if !rim.is_empty() {
        all.push(Correction::plan(
            all_of(&rim, "edge_pass", |_| json!(false)),
            "The pass along the rim is covered again by the lines that follow.".to_string(),
            "Leave out the pass along the rim, or go there much faster.".to_string(),
            0.5,
            &RIM,
        ));
    }
    // where the next line farther out would lay nothing on the panel, and no less than a painter leaves
    let enough = |i: &usize| {
        let fan = job.gun.width_at(job.coats[*i].distance).0;
        (fan / 4.0).max(fan / 2.0 - job.coats[*i].spacing(&job.gun).0)
    };
    let out = (tinted.iter().map(enough).fold(0.0, f64::max) / 5.0).floor() * 5.0;
    let short: Vec<usize> = tinted.iter().copied().filter(|i| job.coats[*i].margin.0 < out - 5.0).collect();
    if !short.is_empty() {
        all.push(Correction::plan(
            all_of(&short, "margin_mm", |_| plain_number(out)),
            "The outermost lines lie too far inside: the edge gets only a part of its passes.".to_string(),
            format!("Lay one more line outside each edge, {out:.0} mm from it."),
            1.0,
            &RIM,
        ));
    }
    let depth = job.gun.depth_at(job.coats[tinted[0]].distance).0;
    let lead = stepped("lead_mm", depth / 2.0 + 50.0);
    let late: Vec<usize> = tinted.iter().copied().filter(|i| job.coats[*i].lead.0 < lead - 2.0).collect();
    if !late.is_empty() {
        all.push(Correction::plan(
            all_of(&late, "lead_mm", |_| plain_number(lead)),
            "The trigger opens too close to the edge.".to_string(),
            format!("Open the trigger {lead:.0} mm before the edge and close it as far behind it."),
            0.5,
            &RIM,
        ));
    }
    let lead = stepped("lead_mm", job.coats[tinted[0]].lead.0.max(150.0) + job.hand.trigger_late.0.abs() + 50.0);
    if job.hand.trigger_late.0 != 0.0 || job.hand.slow_at_ends.0 > 0.0 || job.hand.arc.0 > 0.0 {
        let set = all_of(tinted, "lead_mm", |_| plain_number(lead.min(500.0)));
        let cure = format!("Begin and end the passes {:.0} mm outside the panel.", lead.min(500.0));
        let kinds = [DefectKind::HeavyEdge, DefectKind::ThinEdge];
        all.push(Correction::plan(set, String::new(), cure, 1.5, &kinds).only_cure());
    }
    all
}

/// The margins without which passes spray only the masking.
fn margins(job: &Job) -> Option<Correction> {
    let masked = masked(job);
    let most = masked.first()?;
    let mm = |value: f64| shown(Unit::Millimetre, value, System::Metric);
    let (passes, ml) = masked.iter().fold((0, 0.0), |(passes, ml), coat| (passes + coat.passes, ml + coat.ml));
    let cause = format!(
        "{passes} passes, {ml:.0} mL, spray only the masking: the outermost lines lie {} outside the panel.",
        mm(most.outside_mm)
    );
    let set = masked.iter().map(|coat| (path(coat.coat, "margin_mm"), plain_number(coat.margin_mm))).collect();
    let cure =
        format!("Begin {} outside the edges: they keep their film, and {ml:.0} mL are saved.", mm(most.margin_mm));
    Some(Correction::plan(set, cause, cure, 0.5, &[DefectKind::MaskingSprayed]))
}

/// The coat's own distance.
fn distances(job: &Job) -> Vec<Correction> {
    let (near, far) = WORKING_DISTANCE;
    let out: Vec<usize> = (0..job.coats.len()).filter(|i| !(near..=far).contains(&job.coats[*i].distance.0)).collect();
    if out.is_empty() {
        return Vec::new();
    }
    let measured_at = job.gun.at_distance.0;
    let inside = measured_at.clamp(near + 15.0, far - 15.0);
    let better = |_: usize| stepped("distance_mm", inside);
    let now = job.coats[out[0]].distance.0;
    // lines and speed go with the fan: the film stays
    let set = all_of(&out, "distance_mm", |i| plain_number(better(i)));
    let cause = format!("The plan holds the gun {now:.0} mm away, outside its working distance.");
    let cure = format!("Hold the gun {:.0} mm away.", better(out[0]));
    vec![Correction::plan(
        set,
        cause,
        cure,
        1.0,
        &[DefectKind::DrySpray, DefectKind::WetSpray, DefectKind::ThinFilm, DefectKind::OverFilm],
    )]
}

/// What keeps the paint from running and the edge wet.
fn wet(job: &Job) -> Vec<Correction> {
    let coats: Vec<usize> = (0..job.coats.len()).collect();
    let mut all = Vec::new();
    for factor in [1.25, 1.6, 2.0] {
        let faster = |i: usize| stepped("speed_mm_per_s", (job.coats[i].speed.0 * factor).min(2000.0));
        let set = all_of(&coats, "speed_mm_per_s", |i| plain_number(faster(i)));
        let cause = "The coats are laid too wet.".to_string();
        let cure = format!("Go at {:.0} mm/s: thinner coats, and more of them.", faster(0));
        all.push(Correction::plan(set, cause, cure, 2.0 * factor, &[DefectKind::Run, DefectKind::NearRun]));
    }
    let short: Vec<usize> = coats.iter().copied().filter(|i| job.coats[*i].flash.0 < 15.0).collect();
    if job.coats.len() > 1 && !short.is_empty() {
        let set = all_of(&short, "flash_min", |_| json!(20));
        let cause = "The next coat comes while the last one is still wet.".to_string();
        let cure = "Let each coat flash off for 20 minutes; the product\u{2019}s data sheet decides.".to_string();
        all.push(Correction::plan(set, cause, cure, 0.5, &[DefectKind::Run, DefectKind::NearRun]));
    }
    let both: Vec<usize> = coats.iter().copied().filter(|i| job.coats[*i].reach == Reach::BothSides).collect();
    if !both.is_empty() {
        let apart: Vec<usize> =
            both.iter().copied().filter(|i| job.coats[*i].sequence == Sequence::EdgesInwards).collect();
        let cause = "One half is finished before the other begins.".to_string();
        if !apart.is_empty() {
            all.push(Correction::plan(
                all_of(&apart, "order", |_| json!("straight_across")),
                "Each half begins at its own edge: the middle has set when the second half comes to it.".to_string(),
                "Begin the second half in the middle, beside the last line of the first.".to_string(),
                0.5,
                &[DefectKind::WetEdgeLost],
            ));
        }
        let set = all_of(&both, "reach", |_| json!("one_side"));
        let cure = "Spray all lines from one side, or with two painters.".to_string();
        all.push(Correction::plan(set, cause, cure, 2.0, &[DefectKind::WetEdgeLost]));
    }
    all
}
