//! What is wrong with an input, said so that a person can mend it: where, what was given, what is allowed
//! with its unit, and what to do. Knows nothing of jobs, files or screens.

use std::fmt;

/// One refused input.
#[derive(Debug, Clone, PartialEq)]
pub struct Problem {
    /// Where: a path such as `coats[1].overlap`, or a file's name.
    pub at: String,
    /// What was given, as the person wrote it.
    pub given: String,
    /// What is allowed, with its unit.
    pub allowed: String,
    /// What to do about it, one sentence.
    pub remedy: String,
}

impl Problem {
    /// Builds a problem from its four parts.
    pub fn new(
        at: impl Into<String>,
        given: impl Into<String>,
        allowed: impl Into<String>,
        remedy: impl Into<String>,
    ) -> Self {
        Self {
            at: line(at.into()),
            given: line(given.into()),
            allowed: line(allowed.into()),
            remedy: line(remedy.into()),
        }
    }
}

impl Problem {
    /// For a person who sees the place at fault: what to do first, then what is allowed and what was given.
    ///
    /// ```
    /// let problem = fanlap::error::Problem::new("measured", "one card", "two cards", "Measure another card.");
    /// assert_eq!(problem.plainly(), "Measure another card. Wanted: two cards. Given: one card.");
    /// ```
    pub fn plainly(&self) -> String {
        format!("{} Wanted: {}. Given: {}.", self.remedy, self.allowed, self.given)
    }
}

/// Longest part of a message, in characters.
const LONGEST: usize = 300;

/// A part of a message on one line, not longer than a person reads, and never empty.
fn line(text: String) -> String {
    let plain = |c: char| if c.is_control() { '\u{fffd}' } else { c };
    match text.char_indices().nth(LONGEST) {
        _ if text.trim().is_empty() => "nothing".to_string(),
        Some((end, _)) => text[..end].chars().map(plain).collect::<String>() + "...",
        None => text.chars().map(plain).collect(),
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: given {}; allowed is {}. {}", self.at, self.given, self.allowed, self.remedy)
    }
}

impl std::error::Error for Problem {}
