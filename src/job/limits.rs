//! How large a job may be, so that no file can hang or exhaust the machine, and why.

use super::Job;
use crate::error::Problem;
use crate::panel::cells_over;
use crate::strokes::lines;

/// The caps.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Limits {
    /// Coats or paints in a job.
    pub items: usize,
    /// Cells of the panel: a million and a half take 36 MB for the surface and 12 MB for each film.
    pub cells: usize,
    /// Passes of all coats.
    pub passes: usize,
    /// Cells that all passes cover together; each keeps its film, 8 bytes a cell: 240 MB.
    pub covered: usize,
}

/// The caps in force.
pub const LIMITS: Limits = Limits { items: 20, cells: 1_500_000, passes: 600, covered: 30_000_000 };

/// Refuses a job that is too large, and says what to change.
pub(super) fn check(job: &Job) -> Result<(), Problem> {
    let (panel, cell) = (&job.panel, job.panel.cell.0);
    let (columns, rows) = (cells_over(panel.length.0, cell), cells_over(panel.width.0, cell));
    if columns * rows > LIMITS.cells {
        let allowed = format!("up to {} cells on the panel, for the memory they take", LIMITS.cells);
        let given = format!("{cell} mm, which makes {} cells", columns * rows);
        return Err(Problem::new("panel.cell_mm", given, allowed, "Make the cells larger or the panel smaller."));
    }
    let (mut passes, mut covered) = (0, 0);
    for (i, coat) in job.coats.iter().enumerate() {
        // the footprint of a gun held as far as the hand's error takes it, generously
        let distance = crate::units::Millimetres(coat.distance.0 + job.hand.distance_error.0.max(0.0));
        let strip = cells_over(1.3 * job.gun.width_at(distance).0, cell);
        let spacing = coat.spacing(&job.gun).0;
        let about = (panel.length.0.max(panel.width.0) + 2.0 * coat.margin.0) / spacing;
        let remedy = "Make the fan wider, the overlap smaller or the panel smaller.";
        if passes as f64 + about > LIMITS.passes as f64 {
            let given =
                format!("lines {spacing:.1} mm apart, more than {} passes with the coats before", LIMITS.passes);
            let allowed = format!("up to {} passes in all, for the time they take", LIMITS.passes);
            return Err(Problem::new(format!("coats[{i}].overlap"), given, allowed, remedy));
        }
        let lines = lines(panel, &job.gun, coat).len();
        passes += lines;
        covered += lines * (strip.min(rows) * columns).max(strip.min(columns) * rows);
        if covered > LIMITS.covered {
            let allowed = format!("up to {} cells covered by all passes, for the memory they take", LIMITS.covered);
            let remedy = "Make the cells larger (panel.cell_mm), or the passes fewer.";
            return Err(Problem::new(format!("coats[{i}]"), format!("{covered} cells covered"), allowed, remedy));
        }
    }
    Ok(())
}
