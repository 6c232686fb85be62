//! What a colour forgives: the films that would pass for the target, angle by angle, by a colour difference and by an eye;
//! and what that means for a hand, found by rehearsing the plan with one error growing until a tenth of the panel is no
//! longer right.

use super::hands::{share, sprayed};
use crate::appraisal::film_window;
use crate::eye::FilmColour;
use crate::field::share_within;
use crate::findings::defects;
use crate::job::Job;
use crate::job::inputs::{System, Unit};
use crate::maths::in_turn;
use crate::practice::Slip;
use crate::rehearsal::{TRIAL_CELL, on_cells};
use crate::units::{Degrees, Micrometres, Millimetres};
use crate::words::shown;
use serde::{Deserialize, Serialize};

/// What a colour forgives.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Forgives {
    /// What is wrong with the base, which everything else here takes for hiding: names of its findings.
    #[serde(default)]
    pub base: Vec<String>,
    /// Colour difference that counts as right, CIEDE2000.
    pub within_de00: f64,
    /// Angle by angle.
    pub angles: Vec<AtAngle>,
    /// Share of the panel that is in the window when the plan is sprayed as it is meant.
    pub plan_in_window: f64,
    /// Mean of that film over the target, less 1.
    pub plan_off: f64,
    /// From which distance the eye looks, m.
    pub from_m: f64,
    /// Spacing of the stripes that it looks for, mm.
    pub stripes_mm: f64,
    /// Nearer and farther, mm, as long as nine tenths of the panel stay in the window; none where all that was tried does,
    /// or where the plan itself does not.
    pub distance_mm: [Option<f64>; 2],
    /// Slower and faster, shares.
    pub speed: [Option<f64>; 2],
    /// Every second line aside, mm.
    pub line_mm: Option<f64>,
    /// Heel, degrees.
    pub heel_deg: Option<f64>,
    /// The wrist's turn at both ends, degrees.
    pub arc_deg: Option<f64>,
}

/// The window at one angle.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct AtAngle {
    /// Aspecular, degrees.
    pub aspecular_deg: f64,
    /// The least and the most film within the difference, um; none where the target cannot be met there.
    pub window_um: Option<[f64; 2]>,
    /// Stripes of the film above and below the target by this are just seen, um.
    pub seen_um: Option<f64>,
}

/// With this share of the panel in the window the colour is called right: a judgement.
const RIGHT: f64 = 0.9;
/// An error is tried a quarter at a time, because a large one may hide itself, and then halved so often.
const QUARTERS: u32 = 4;
const HALVED: usize = 5;
/// Cells of the trials, mm, about.
const ERROR_CELL: f64 = 20.0;
/// A spacing holds so many cells more than a whole number, so that they do not fall into step with the lines: from line to
/// line they lie at ever other places (the golden section, which comes back to none of them soon).
const OUT_OF_STEP: f64 = 0.381_966;

/// An error by its size.
type SlipOf = fn(f64) -> Slip;

/// Of a job's target, paint and plan.
pub fn forgives(job: &Job, within_de00: f64) -> Forgives {
    let angles = [-15.0, 15.0, 25.0, 45.0, 75.0, 110.0].map(Degrees);
    let angles = angles.into_iter().filter_map(|angle| at_angle(job, angle, within_de00)).collect();
    let trial = Trial::new(job, within_de00);
    let told = trial.as_ref().filter(|trial| trial.faultless >= RIGHT);
    let line = stripes(job).0.min(80.0);
    let errors: [(f64, SlipOf); 7] = [
        (-100.0, |farther_mm| Slip { farther_mm, ..Slip::default() }),
        (200.0, |farther_mm| Slip { farther_mm, ..Slip::default() }),
        (-0.4, |faster| Slip { faster, ..Slip::default() }),
        (0.6, |faster| Slip { faster, ..Slip::default() }),
        (line, |line_mm| Slip { line_mm, ..Slip::default() }),
        (40.0, |heel_deg| Slip { heel_deg, ..Slip::default() }),
        (45.0, |arc_deg| Slip { arc_deg, ..Slip::default() }),
    ];
    let until = |i: usize| told.and_then(|trial| trial.until(errors[i].0, errors[i].1)).map(f64::abs);
    let until = in_turn(errors.len(), until);
    Forgives {
        base: wrong_with_base(job),
        within_de00,
        angles,
        plan_in_window: trial.as_ref().map_or(0.0, |trial| trial.faultless),
        plan_off: trial.as_ref().map_or(0.0, |trial| trial.off),
        from_m: job.viewing.distance.0,
        stripes_mm: stripes(job).0,
        distance_mm: [until[0], until[1]],
        speed: [until[2], until[3]],
        line_mm: until[4],
        heel_deg: until[5],
        arc_deg: until[6],
    }
}

/// What a faultless look finds of the base's colour; nothing where no base is sprayed.
fn wrong_with_base(job: &Job) -> Vec<String> {
    let Some(base) = job.base().filter(|base| job.coloured().contains(base)) else { return Vec::new() };
    let found = defects(&sprayed(&on_cells(job, TRIAL_CELL)));
    let mut names: Vec<String> = Vec::new();
    for defect in found.iter().filter(|defect| defect.paint == base && defect.kind.is_of_colour()) {
        let name = defect.kind.name().to_lowercase();
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names
}

impl Forgives {
    /// Whether the plan is right enough that an error can be told from it.
    pub fn plan_is_right(&self) -> bool {
        self.plan_in_window >= RIGHT
    }

    /// What it means for a hand, in a sentence.
    pub fn text(&self, system: System) -> String {
        let base = match &self.base[..] {
            [] => String::new(),
            wrong => format!(
                "The base is not right: {}. Put it right first; what follows counts the film of the tinted clear alone. ",
                wrong.join(", ")
            ),
        };
        base + &self.of_tinted(system)
    }

    /// The same of the tinted clear's film.
    fn of_tinted(&self, system: System) -> String {
        let percent = |share: f64| shown(Unit::Percent, share, system);
        if !self.plan_is_right() {
            let more = if self.plan_off < 0.0 { "thinner" } else { "thicker" };
            return format!(
                "Sprayed without any error, {} of the panel is within tolerance; on average the film is {} {} than the target. \
                 Put the plan right first: only then can this say how far a hand may stray.",
                percent(self.plan_in_window),
                percent(self.plan_off.abs()),
                more,
            );
        }
        let or_more = |value: Option<f64>, unit: Unit| {
            value.map_or("more than was tried".to_string(), |value| shown(unit, value, system))
        };
        let [nearer, farther] = self.distance_mm.map(|value| or_more(value, Unit::Millimetre));
        let [slower, faster] = self.speed.map(|value| or_more(value, Unit::Percent));
        format!(
            "At least 90 % of the panel stays within tolerance if the gun is up to {nearer} closer or {farther} farther away, \
             {slower} slower or {faster} faster, if every second line is {} off, the gun tilted by {}, or the wrist turned by {} at \
             both ends. Each error is tried alone, over the whole panel.",
            or_more(self.line_mm, Unit::Millimetre),
            or_more(self.heel_deg, Unit::Degree),
            or_more(self.arc_deg, Unit::Degree),
        )
    }
}

/// The stripes that an eye looks for: as far apart as the lines.
fn stripes(job: &Job) -> Millimetres {
    job.coats.first().map_or(Millimetres(100.0), |coat| coat.spacing(&job.gun))
}

/// Cells of the trials, no finer than the job's: a share of the panel is not to be counted at the same few places of every
/// stripe.
pub(crate) fn trial_cell(job: &Job) -> Millimetres {
    let spacing = stripes(job).0;
    let whole = (spacing / ERROR_CELL).round().max(1.0);
    Millimetres(job.panel.cell.0.max(spacing / (whole + OUT_OF_STEP)))
}

/// The films that pass for the target at one angle; none of an angle at which the ground was not measured.
pub fn at_angle(job: &Job, angle: Degrees, within_de00: f64) -> Option<AtAngle> {
    let mut job = job.clone();
    let same = (job.viewing.aspecular.0 - angle.0).abs() < 1e-9;
    job.viewing.aspecular = angle;
    job.ground.at(job.viewing.aspecular)?;
    let base = job.under_tint(job.viewing.aspecular)?;
    // a colour is a target at its own angle only; a film is one at all
    if matches!(job.target, crate::eye::Target::Colour(_)) && !same {
        return None;
    }
    let (window, target) = film_window(&job, within_de00);
    let window = window.map(|ends| ends.map(|film| film.0));
    let (viewing, onlooker) = (job.viewing.viewing(), job.viewing.onlooker());
    let colour = FilmColour::over(base, job.tinted_clear(), &viewing, Micrometres(2.0 * target.0 + 10.0));
    let just = colour.stripe_threshold(target, &onlooker, stripes(&job), job.viewing.distance).0;
    Some(AtAngle { aspecular_deg: angle.0, window_um: window, seen_um: just.is_finite().then_some(just) })
}

/// A plan that is tried with one error.
struct Trial {
    job: Job,
    window: (f64, f64),
    faultless: f64,
    /// Mean film over the target, less 1.
    off: f64,
}

impl Trial {
    fn new(job: &Job, within_de00: f64) -> Option<Self> {
        let tinted = job.tinted()?;
        let (window, target) = film_window(job, within_de00);
        let [low, high] = window?;
        let mut job = job.clone();
        job.panel.cell = trial_cell(&job);
        job.coats.retain(|coat| coat.paint == job.paints[tinted].name);
        job.coats.iter_mut().for_each(|coat| coat.edge_pass = false);
        job.hand = job.faultless_hand();
        let sprayed = sprayed(&Slip::default().in_all_coats(&job));
        let film = sprayed.tinted().unwrap_or_default();
        let mean = film.iter().sum::<f64>() / film.len().max(1) as f64;
        let window = (low.0, high.0);
        let off = mean / target.0.max(1e-9) - 1.0;
        Some(Self { faultless: share_within(film, window), off, job, window })
    }

    fn share(&self, slip: &Slip) -> f64 {
        share(&slip.in_all_coats(&self.job), self.window)
    }

    /// The size up to which an error does not show, of what is tried: the first quarter that shows is halved.
    fn until(&self, most: f64, of: SlipOf) -> Option<f64> {
        let shows = |size: f64| self.share(&of(size)) < RIGHT;
        let first = (1..=QUARTERS).find(|quarter| shows(most * f64::from(*quarter) / f64::from(QUARTERS)))?;
        let step = most / f64::from(QUARTERS);
        let (mut fine, mut shown) = (step * f64::from(first - 1), step * f64::from(first));
        for _ in 0..HALVED {
            let middle = 0.5 * (fine + shown);
            if shows(middle) { shown = middle } else { fine = middle }
        }
        Some(fine)
    }
}
