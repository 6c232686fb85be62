//! What the page asks of a job's panel and passes: where a section lies, what is on the panel, and the preview of it.

use crate::parts::shown::Shown;
use fanlap::colour::ScreenSpace;
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use fanlap::rehearsal::rehearse_film;
use fanlap::report::{Paint, Report};
use glam::DVec2;

/// Cells of the coarse preview, mm, at least; and how many there are at most, coat by coat, so that a frame holds it.
const PREVIEW_CELL: f64 = 16.0;
const MOST_PREVIEWED: f64 = 120_000.0;
/// A section lies across the passes of the first coat.
pub fn turned(job: &Job) -> bool {
    job.coats.first().is_some_and(|coat| coat.along == fanlap::strokes::Along::Width)
}

/// How far the section line can be moved, mm.
pub fn section_reach(job: &Job) -> f64 {
    if turned(job) { job.panel.width.0 } else { job.panel.length.0 }
}

/// When the nozzle of a pass leaves the panel; the end of a pass that never is over it.
pub fn leaves_panel(job: &Job, pass: &fanlap::rehearsal::Pass) -> f64 {
    let over = |moment: &fanlap::strokes::Moment| inside(job, moment.pose.nozzle.truncate());
    let last = pass.stroke.evenly(100).rev().find(|moment| over(moment));
    last.map_or(pass.end.0, |moment| pass.start.0 + moment.time.0)
}

/// The job on the preview's grid, its film alone: what flies past the rim is followed on the full grid, and the figures
/// of paint stay those of the last result until then.
pub fn preview(job: &Job, space: ScreenSpace, last: Option<&Report>) -> Shown {
    let mut coarse = job.clone();
    let laid = job.panel.length.0 * job.panel.width.0 * job.coats.len() as f64;
    coarse.panel.cell.0 = coarse.panel.cell.0.max(PREVIEW_CELL).max((laid / MOST_PREVIEWED).sqrt());
    let mut shown = Shown::new(rehearse_film(&coarse), space);
    for (name, paint) in &mut shown.report.paint {
        let known = last.and_then(|report| report.paint.get(name)).copied();
        *paint = Paint { sprayed_ml: paint.sprayed_ml, ..known.unwrap_or(*paint) };
    }
    shown
}

/// Whether a place lies on the panel.
pub fn inside(job: &Job, place: DVec2) -> bool {
    place.min_element() >= 0.0 && place.x <= job.panel.length.0 && place.y <= job.panel.width.0
}

/// The job the page opens on.
pub fn first_job() -> Job {
    EXAMPLES[0].job()
}
