//! Lessons: a job to spray, what is new in it, what counts as done, what is shown meanwhile, and how an attempt is marked.
//! They are data (`assets/lessons`); adding one changes no Rust. The same mark on the page and on the command line.

use super::correct::planned;
use super::performance::{Performance, SprayedPass, performance, plan};
use super::{NextStep, next_step};
use crate::error::Problem;
use crate::job::inputs::System;
use crate::job::{Files, Job};
use crate::strokes::{Line, Track};
use crate::units::{Degrees, Millimetres, Seconds};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::LazyLock;

/// Version of the lesson's file.
pub const LESSON_VERSION: u64 = 1;

/// One lesson, as in its file.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Lesson {
    /// Its version.
    pub fanlap_lesson: u64,
    /// What it is called.
    pub title: String,
    /// The one thing that is new in it.
    pub new: String,
    /// What is to be reached.
    pub goal: String,
    /// Why the plan is as it is, sentence by sentence: read beside the worked example.
    pub why: Vec<String>,
    /// The job file of the set-up; every value that is missing takes its default.
    pub job: Value,
    /// Distance at which the gun is taken up, mm; none: as the coat says.
    #[serde(default)]
    pub taken_up_at_mm: Option<f64>,
    /// What counts as done.
    pub limits: LessonLimits,
    /// What is shown while it is sprayed.
    pub shown: LessonShown,
    /// A typical error, which must not pass.
    pub slip: Slip,
}

/// What counts as done; what is not given is not looked at.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LessonLimits {
    /// How far the film may lie from the plan's: root mean square over its mean.
    pub film: f64,
    /// Mean speed of a pass, as a share off the one that is meant.
    #[serde(default)]
    pub speed: Option<f64>,
    /// Mean distance of a pass, mm off the one that is meant.
    #[serde(default)]
    pub distance_mm: Option<f64>,
    /// A pass off its line, mm.
    #[serde(default)]
    pub line_mm: Option<f64>,
    /// The trigger opens and closes at least this far outside the edge, mm.
    #[serde(default)]
    pub outside_mm: Option<f64>,
}

/// What is shown while it is sprayed.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LessonShown {
    /// The planned lines.
    pub lines: bool,
    /// The pacer.
    pub pacer: bool,
    /// The film.
    pub film: bool,
    /// What is told: after every pass, or only when all lines are sprayed.
    pub told: Told,
}

/// When something is told.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// After every pass.
    Every,
    /// When all lines are sprayed.
    End,
}

/// An error that is made on purpose.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Slip {
    /// Faster by this share.
    pub faster: f64,
    /// Farther by this, mm.
    pub farther_mm: f64,
    /// Every second line moved by this, mm.
    pub line_mm: f64,
    /// The trigger opens later and closes earlier by this, mm.
    pub late_mm: f64,
    /// This line is left out.
    pub left_out: Option<usize>,
}

/// One thing that was looked at.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Check {
    /// What it is.
    pub name: &'static str,
    /// The worst that was found.
    pub is: f64,
    /// What is allowed.
    pub allowed: f64,
    /// Whether it was kept.
    pub kept: bool,
}

/// What an attempt at a lesson is worth.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mark {
    /// Whether all was kept, on every coat.
    pub passed: bool,
    /// Coat by coat: what was looked at.
    pub checks: Vec<Vec<Check>>,
    /// What to do next, of the first coat that is not done.
    pub next: Option<NextStep>,
}

impl Lesson {
    /// Reads a lesson; its job is checked like any.
    pub fn read(file: &str, text: &str) -> Result<Self, Problem> {
        let lesson: Self = serde_json::from_str(text).map_err(|error| {
            Problem::new(file, error.to_string(), "a lesson as `assets/lessons` has them", "Mend it at this place.")
        })?;
        if lesson.fanlap_lesson != LESSON_VERSION {
            let remedy = "Open it with the version of this program that wrote it.";
            let given = lesson.fanlap_lesson.to_string();
            return Err(Problem::new(format!("{file}, fanlap_lesson"), given, LESSON_VERSION.to_string(), remedy));
        }
        let job = lesson.set_up()?;
        if job.coats.is_empty() {
            let remedy = "Give the lesson's job a coat.";
            return Err(Problem::new(format!("{file}, job.coats"), "no coats", "one coat or more", remedy));
        }
        Ok(lesson)
    }

    /// The job to be sprayed.
    pub fn set_up(&self) -> Result<Job, Problem> {
        Job::read(&self.job.to_string(), &Files::none())
    }

    /// Whether a job is this lesson's, whatever it is called and whatever was recorded of it.
    pub fn is_of(&self, job: &Job) -> bool {
        let mut bare = job.clone();
        bare.coats.iter_mut().for_each(|coat| coat.track = None);
        self.set_up().is_ok_and(|set_up| {
            bare.title.clone_from(&set_up.title);
            bare == set_up
        })
    }

    /// The worked example: every coat as planned.
    pub fn example(&self) -> Result<Job, Problem> {
        self.attempt(&Slip::default())
    }

    /// The typical error.
    pub fn slipped(&self) -> Result<Job, Problem> {
        self.attempt(&self.slip)
    }

    fn attempt(&self, slip: &Slip) -> Result<Job, Problem> {
        let mut job = self.set_up()?;
        for coat in 0..job.coats.len() {
            job.coats[coat].track = Some(slipped(&job, coat, slip));
        }
        job.checked()
    }

    /// Marks an attempt: a job of this lesson with its recorded coats.
    pub fn mark(&self, job: &Job) -> Mark {
        let coats = 0..job.coats.len();
        let told: Vec<Option<(Performance, NextStep)>> =
            coats.map(|coat| performance(job, coat).zip(next_step(job, coat, System::Metric))).collect();
        let checks: Vec<Vec<Check>> = (told.iter().enumerate())
            .map(|(coat, told)| told.as_ref().map_or_else(Vec::new, |told| self.checks(job, coat, told)))
            .collect();
        let done = |checks: &Vec<Check>| !checks.is_empty() && checks.iter().all(|check| check.kept);
        let open = checks.iter().position(|checks| !done(checks));
        let next = open.and_then(|coat| told[coat].as_ref()).map(|(_, next)| next.clone());
        Mark { passed: open.is_none(), checks, next }
    }

    fn checks(&self, job: &Job, coat: usize, (performance, next): &(Performance, NextStep)) -> Vec<Check> {
        let (coat, limits) = (&job.coats[coat], &self.limits);
        let worst = |of: &dyn Fn(&SprayedPass) -> f64| performance.passes.iter().map(of).fold(0.0, f64::max);
        let at_most = |name, is: f64, allowed: f64| Check { name, is, allowed, kept: is <= allowed };
        let missing = (performance.left_out.len() + performance.to_come) as f64;
        let mut checks =
            vec![at_most("lines not sprayed", missing, 0.0), at_most("film off the plan's", next.error, limits.film)];
        let meant = (coat.actual_speed().0, coat.distance.0);
        checks.extend(limits.speed.map(|allowed| {
            at_most("speed off, share", worst(&|pass| (pass.speed_mm_per_s.mean / meant.0 - 1.0).abs()), allowed)
        }));
        checks.extend(limits.distance_mm.map(|allowed| {
            at_most("distance off, mm", worst(&|pass| (pass.distance_mm.mean - meant.1).abs()), allowed)
        }));
        checks.extend(
            limits.line_mm.map(|allowed| at_most("off line, mm", worst(&|pass| pass.off_line_mm.abs()), allowed)),
        );
        checks.extend(limits.outside_mm.map(|allowed| {
            let least = performance.passes.iter().map(|pass| pass.opened_before_mm.min(pass.closed_after_mm));
            let is = least.fold(f64::INFINITY, f64::min);
            Check { name: "trigger outside the edge, mm", is, allowed, kept: is >= allowed }
        }));
        checks
    }
}

/// The plan of a coat, sprayed with an error.
fn slipped(job: &Job, coat: usize, slip: &Slip) -> Track {
    let lines = plan(job, coat).into_iter().enumerate().filter(|(i, _)| slip.left_out != Some(i + 1));
    let moved = lines.map(|(i, line)| {
        let (way, across) = (line.direction(), line.direction().perp());
        // to the same side whichever way the pass runs
        let side = if across.x + across.y < 0.0 { -1.0 } else { 1.0 };
        let by = across * side * if i % 2 == 1 { slip.line_mm } else { 0.0 };
        Line { from: line.from + way * slip.late_mm + by, to: line.to - way * slip.late_mm + by, ..line }
    });
    let moved: Vec<Line> = moved.collect();
    let mut alone = job.clone();
    alone.coats = vec![job.coats[coat].clone()];
    let mut track = planned(&alone, &moved.iter().collect::<Vec<_>>(), 0.0);
    for sample in &mut track.samples {
        sample.time = Seconds(sample.time.0 / (1.0 + slip.faster));
        sample.distance = Millimetres(sample.distance.0 + slip.farther_mm);
        (sample.heel, sample.lean) = (Degrees(0.0), Degrees(0.0));
    }
    track
}

/// All lessons, in the order of their files' names: the ladder.
pub fn lessons() -> &'static [Lesson] {
    static FILES: include_dir::Dir = include_dir::include_dir!("$CARGO_MANIFEST_DIR/assets/lessons");
    static LADDER: LazyLock<Vec<Lesson>> = LazyLock::new(|| {
        let mut files: Vec<_> = FILES.files().collect();
        files.sort_by_key(|file| file.path());
        let read = |file: &include_dir::File| {
            let text = file.contents_utf8().unwrap_or_default();
            Lesson::read(&file.path().to_string_lossy(), text).expect("the tests read every lesson")
        };
        files.into_iter().map(read).collect()
    });
    &LADDER
}
