//! Findings as the report names their keys. Computes nothing.

use super::Finding;
use crate::job::Job;
use crate::report::{self, Report};

impl Finding {
    /// The same for the report.
    pub fn reported(&self, job: &Job) -> report::Finding {
        let (fault, size) = (&self.fault, self.fault.area.most - self.fault.area.least);
        report::Finding {
            kind: fault.kind,
            name: fault.kind.name().to_string(),
            part: fault.part,
            paint: job.paints[fault.paint].name.clone(),
            x_mm: fault.area.least.x,
            y_mm: fault.area.least.y,
            width_mm: size.x,
            height_mm: size.y,
            worst: report::Place { x_mm: fault.worst.x, y_mm: fault.worst.y },
            film_um: fault.film.0,
            delta_e00: fault.delta_e00,
            times: fault.times,
            seen_from_m: fault.seen_from.map(|from| from.0),
            limit: fault.kind.reason().to_string(),
            cause: self.causes.first().cloned(),
            also: self.causes.iter().skip(1).cloned().collect(),
            cure: self.cure.clone(),
        }
    }
}

/// The report of an appraised rehearsal with its findings, causes and cures.
pub fn report(appraisal: &crate::appraisal::Appraisal) -> Report {
    let findings = super::diagnose(appraisal).iter().map(|finding| finding.reported(appraisal.job())).collect();
    Report { findings: Some(findings), ..report::report(appraisal) }
}
