//! A defect with what caused it and what would cure it.

use crate::findings::Defect;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// A defect with what caused it and what would cure it.
#[derive(Debug, Clone, PartialEq)]
pub struct Diagnosis {
    /// What is wrong.
    pub defect: Defect,
    /// What caused it: the strongest first, two where two play together; empty if nothing that was tried explains it.
    pub causes: Vec<Cause>,
    /// What would cure it; none if nothing that was tried does.
    pub cure: Option<Cure>,
}

impl Diagnosis {
    /// Of a defect of which nothing more is known yet.
    pub fn bare(defect: &Defect) -> Self {
        Self { defect: defect.clone(), causes: Vec::new(), cure: None }
    }
}

/// A cause, established by putting it right.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cause {
    /// Path in the job file.
    pub setting: String,
    /// Share of the finding that goes with it.
    pub share: f64,
    /// In the painter's words.
    pub text: String,
    /// It would explain the finding as well by itself, instead of the first.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub instead: bool,
}

/// A cure: a job with these values no longer has the finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cure {
    /// Values by path; none where it is the hand that must do otherwise.
    pub set: Map<String, Value>,
    /// In the painter's words.
    pub text: String,
    /// How many times over its limit the finding is then.
    #[serde(rename = "times")]
    pub severity: f64,
    /// Findings left in the whole job then.
    pub left: usize,
}
