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
        Self { at: at.into(), given: given.into(), allowed: allowed.into(), remedy: remedy.into() }
    }
}

impl fmt::Display for Problem {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}: given {}; allowed is {}. {}", self.at, self.given, self.allowed, self.remedy)
    }
}

impl std::error::Error for Problem {}
