//! What is wrong with a job, what caused it and what would cure it, as the report names its keys.

use crate::causes::{Cause, Cure, Diagnosis};
use crate::findings::{DefectKind, Part};
use crate::job::Job;
use serde::{Deserialize, Serialize};

/// A place on the plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Along the length.
    pub x_mm: f64,
    /// Across the width.
    pub y_mm: f64,
}

/// What is wrong, what caused it and what would cure it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct DefectReport {
    /// What it is.
    pub kind: DefectKind,
    /// The same in the trade's words.
    pub name: String,
    /// Where in the job.
    pub part: Part,
    /// Name of the paint.
    pub paint: String,
    /// Least corner of the rectangle it covers.
    pub x_mm: f64,
    /// Least corner of the rectangle it covers.
    pub y_mm: f64,
    /// Size of that rectangle along the length.
    pub width_mm: f64,
    /// Size of that rectangle across the width.
    pub height_mm: f64,
    /// Where it is worst.
    pub worst: Place,
    /// Film above (or below) what is around it or aimed at.
    pub film_um: f64,
    /// CIEDE2000 against what is around it or aimed at.
    pub delta_e00: f64,
    /// How many times over its limit.
    #[serde(rename = "times")]
    pub severity: f64,
    /// The greatest distance from which it is seen; none if it was not looked for, or is seen only beside the right
    /// colour.
    pub seen_from_m: Option<f64>,
    /// What its limit is and why.
    pub limit: String,
    /// What caused it; none if nothing that was tried explains it.
    pub cause: Option<Cause>,
    /// What played together with that.
    pub also: Vec<Cause>,
    /// What would cure it; none if nothing that was tried does.
    pub cure: Option<Cure>,
}

impl DefectReport {
    /// Of a diagnosis in a job.
    pub fn of(diagnosis: &Diagnosis, job: &Job) -> Self {
        let (defect, causes) = (&diagnosis.defect, &diagnosis.causes);
        let size = defect.area.most - defect.area.least;
        Self {
            kind: defect.kind,
            name: defect.kind.name().to_string(),
            part: defect.part,
            paint: job.paints[defect.paint].name.clone(),
            x_mm: defect.area.least.x,
            y_mm: defect.area.least.y,
            width_mm: size.x,
            height_mm: size.y,
            worst: Place { x_mm: defect.worst.x, y_mm: defect.worst.y },
            film_um: defect.film.0,
            delta_e00: defect.delta_e00,
            severity: defect.severity,
            seen_from_m: defect.seen_from.map(|from| from.0),
            limit: defect.kind.reason().to_string(),
            cause: causes.first().cloned(),
            also: causes.iter().skip(1).cloned().collect(),
            cure: diagnosis.cure.clone(),
        }
    }
}
