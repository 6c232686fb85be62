//! What was reached in the lessons so far: practice and tests apart, and which retests are due. Where it is kept, and how
//! the time is known, is not known here.

use serde::{Deserialize, Serialize};

/// One attempt that came to its end.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Marked {
    /// The title of the lesson.
    pub lesson: String,
    /// When, s since 1970.
    pub when_s: f64,
    /// Whether it was a test, without help.
    pub test: bool,
    /// Whether all was kept.
    pub passed: bool,
    /// How far the film was off the plan's, as a share.
    pub off: f64,
    /// What was foreseen of the film's mean: said over true, less 1.
    #[serde(default)]
    pub foreseen: Option<f64>,
}

/// A retest that is due.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Due {
    /// A day after it was first passed.
    Day,
    /// A week after.
    Week,
}

/// What was reached.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(default)]
pub struct Progress {
    /// In order of time.
    pub attempts: Vec<Marked>,
}

/// A test counts as the next day's from so many hours on, and as the next week's: a judgement.
const DAY_S: f64 = 18.0 * 3600.0;
const WEEK_S: f64 = 6.75 * 24.0 * 3600.0;
/// Attempts that are kept.
const MOST: usize = 2000;

impl Progress {
    /// Adds an attempt; the oldest goes when there are too many.
    pub fn add(&mut self, marked: Marked) {
        self.attempts.push(marked);
        let over = self.attempts.len().saturating_sub(MOST);
        self.attempts.drain(..over);
    }

    /// Attempts at a lesson: tests or practice.
    pub fn of<'a>(&'a self, lesson: &'a str, test: bool) -> impl Iterator<Item = &'a Marked> {
        self.attempts.iter().filter(move |marked| marked.lesson == lesson && marked.test == test)
    }

    /// The number of the next practice attempt at a lesson, from 1.
    pub fn trial(&self, lesson: &str) -> u32 {
        self.of(lesson, false).count() as u32 + 1
    }

    /// Which retest of a lesson is due now: none before it was passed in practice, or when a test was taken since.
    pub fn due(&self, lesson: &str, now_s: f64) -> Option<Due> {
        let first = self.of(lesson, false).find(|marked| marked.passed)?.when_s;
        let tested = |from: f64| self.of(lesson, true).any(|marked| marked.when_s >= first + from);
        if now_s >= first + WEEK_S && !tested(WEEK_S) {
            return Some(Due::Week);
        }
        (now_s >= first + DAY_S && !tested(DAY_S)).then_some(Due::Day)
    }

    /// The lessons that were tried, in the order in which they were first.
    pub fn lessons(&self) -> Vec<&str> {
        let mut titles: Vec<&str> = Vec::new();
        for marked in &self.attempts {
            if !titles.contains(&marked.lesson.as_str()) {
                titles.push(&marked.lesson);
            }
        }
        titles
    }

    /// As a table: one attempt a line.
    pub fn csv(&self) -> String {
        let line = |marked: &Marked| {
            let foreseen = marked.foreseen.map_or(String::new(), |off| format!("{off:.4}"));
            let title = harmless(&marked.lesson).replace('"', "\"\"");
            let kind = if marked.test { "test" } else { "practice" };
            let done = if marked.passed { "done" } else { "not yet" };
            format!("{},\"{title}\",{kind},{done},{:.4},{foreseen}\n", date_and_time(marked.when_s), marked.off)
        };
        let lines: String = self.attempts.iter().map(line).collect();
        format!("date and time (UTC),lesson,kind,mark,film off the plan,mean foreseen off\n{lines}")
    }
}

/// A time, s since 1970, as date and time of day (UTC), the way ISO 8601 and every spreadsheet write it. The calendar goes by
/// eras of 400 years that begin on 1 March.
fn date_and_time(when_s: f64) -> String {
    let when = when_s.max(0.0) as u64;
    let (days, s) = (when / 86_400 + 719_468, when % 86_400);
    let (era, day) = (days / 146_097, days % 146_097);
    let year = (day - day / 1460 + day / 36_524 - day / 146_096) / 365;
    let day = day - (365 * year + year / 4 - year / 100);
    let month = (5 * day + 2) / 153;
    let (day, month) = (day - (153 * month + 2) / 5 + 1, if month < 10 { month + 3 } else { month - 9 });
    let year = 400 * era + year + u64::from(month <= 2);
    format!("{year:04}-{month:02}-{day:02} {:02}:{:02}:{:02}", s / 3600, s / 60 % 60, s % 60)
}

/// A text that a spreadsheet takes as a text: one that begins like a formula gets an apostrophe before it.
fn harmless(text: &str) -> String {
    let formula = text.starts_with(['=', '+', '-', '@', '\t', '\r']);
    if formula { format!("'{text}") } else { text.to_string() }
}
