//! Lessons: what is to be done and what is new in it, what counts as done, what is shown and told. They are data
//! (`assets/lessons`, `assets/lesson.schema.json`); adding one changes no Rust.

use super::{Aid, ErrorSource, Slip, Told, ranges};
use crate::error::Problem;
use crate::job::{Files, Job, at, pack, unpack};
use crate::json;
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
    /// The job file of the set-up as it is worked out; every value that is missing takes its default.
    pub job: Value,
    /// What is done in it.
    pub task: Task,
    /// Settings that the learner chooses; all others are locked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub open: Vec<Gap>,
    /// Distance at which the gun is taken up, mm; none: as the coat says.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub taken_up_at_mm: Option<f64>,
    /// What counts as done.
    pub limits: LessonLimits,
    /// What is shown while it is sprayed.
    #[serde(default)]
    pub shown: LessonShown,
    /// When something is told of it.
    pub told: Told,
    /// Whether the learner says first where the film is thick and thin.
    #[serde(default)]
    pub predict: bool,
    /// Draws what is drawn by chance.
    #[serde(default)]
    pub seed: u32,
}

/// What is done in a lesson.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case", deny_unknown_fields)]
pub enum Task {
    /// The coats are sprayed by hand.
    Spray {
        /// A typical error, which must not pass.
        slip: Slip,
    },
    /// The open settings are chosen, and a hand that strays sprays them; as they stand at first they must not pass.
    Plan {
        /// What that hand does.
        hand: Slip,
    },
    /// Somebody sprayed it: what went wrong is named.
    Find {
        /// What that hand did.
        hand: Slip,
        /// What it is often taken for.
        mistaken_for: ErrorSource,
    },
}

/// A setting that the learner chooses.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Gap {
    /// Where it is in the job file.
    pub path: String,
    /// What it stands at first.
    pub from: Value,
}

/// What counts as done; what is not given is not looked at.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct LessonLimits {
    /// How far the film may lie from the plan's: root mean square over its mean.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub film: Option<f64>,
    /// Speed of a pass at its worst stretch as long as the fan is deep, as a share off the one that is meant: what is
    /// shorter trembles, and the film does not show it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub speed: Option<f64>,
    /// Distance of a pass at its worst place over the panel, mm off the one that is meant.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub distance_mm: Option<f64>,
    /// A pass off its line at its worst place over the panel, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub line_mm: Option<f64>,
    /// The trigger opens and closes at least this far outside the edge, mm.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub outside_mm: Option<f64>,
    /// Share of the panel whose colour is within 1 dE of the target, at least.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub in_window: Option<f64>,
}

/// What is shown while it is sprayed.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct LessonShown {
    /// The planned lines.
    pub lines: Aid,
    /// The moving mark at the planned speed.
    pub pacer: Aid,
    /// Its clicks, which are heard.
    pub clicks: Aid,
    /// The film.
    pub film: Aid,
}

impl Lesson {
    /// Reads a lesson; its job is checked like any.
    pub fn read(file: &str, text: &str) -> Result<Self, Problem> {
        let text = text.trim_start_matches('\u{feff}');
        json::read("lesson", text).map_err(|problem| problem.within(file))?;
        let lesson: Self = serde_json::from_str(text).map_err(|error| {
            let allowed = "a lesson as `assets/lesson.schema.json` describes it";
            Problem::new(file, error.to_string(), allowed, "Mend it at this place.")
        })?;
        if lesson.fanlap_lesson != LESSON_VERSION {
            let remedy = "Open it with the version of this program that wrote it.";
            let given = lesson.fanlap_lesson.to_string();
            return Err(Problem::new(format!("{file}, fanlap_lesson"), given, LESSON_VERSION.to_string(), remedy));
        }
        lesson.in_range(file)?;
        let job = lesson.begun()?;
        if job.coats.is_empty() {
            let remedy = "Give the lesson's job a coat.";
            return Err(Problem::new(format!("{file}, job.coats"), "no coats", "one coat or more", remedy));
        }
        Ok(lesson)
    }

    /// Refuses numbers, lists and texts of it that are out of range; its job is checked where it is read.
    pub fn in_range(&self, file: &str) -> Result<(), Problem> {
        ranges::check(file, self)
    }

    /// The text of its file.
    pub fn text(&self) -> String {
        serde_json::to_string_pretty(self).expect("a lesson is plain data") + "\n"
    }

    /// The text of a link that carries it.
    pub fn link(&self) -> String {
        pack(&serde_json::to_string(self).expect("a lesson is plain data"))
    }

    /// Reads such a link.
    pub fn from_link(link: &str) -> Result<Self, Problem> {
        Self::read("the link", &unpack(link)?)
    }

    /// The job as it is worked out.
    pub fn set_up(&self) -> Result<Job, Problem> {
        Job::read(&self.job.to_string(), &Files::none())
    }

    /// The job as the learner finds it.
    pub fn begun(&self) -> Result<Job, Problem> {
        self.open.iter().try_fold(self.set_up()?, |job, gap| job.with(&gap.path, &gap.from))
    }

    /// Whether a job is this lesson's, whatever it is called, was set to where that is open, and was recorded of it.
    pub fn is_of(&self, job: &Job) -> bool {
        let Ok(set_up) = self.set_up() else { return false };
        let mut bare = job.clone();
        bare.coats.iter_mut().for_each(|coat| coat.track = None);
        bare.title.clone_from(&set_up.title);
        let value = set_up.value();
        let closed = self
            .open
            .iter()
            .try_fold(bare, |job, gap| job.with(&gap.path, at(&value, &gap.path).unwrap_or(&Value::Null)));
        closed.is_ok_and(|job| job == set_up)
    }

    /// Whether a setting may be changed in it.
    pub fn opens(&self, path: &str) -> bool {
        self.open.iter().any(|gap| gap.path == path)
    }

    /// What sprays in it instead of the learner, if anybody does.
    pub fn other_hand(&self) -> Option<Slip> {
        match self.task {
            Task::Spray { .. } => None,
            Task::Plan { hand } | Task::Find { hand, .. } => Some(hand),
        }
    }

    /// A job of it with every coat sprayed by a hand that errs so.
    pub fn sprayed_by(&self, job: &Job, hand: &Slip) -> Result<Job, Problem> {
        let mut sprayed = job.clone();
        for coat in 0..job.coats.len() {
            sprayed.coats[coat].track = Some(hand.sprayed(job, coat));
        }
        sprayed.checked()
    }
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
