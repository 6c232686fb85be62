//! How large a job may be, so that no file can hang or exhaust the machine, and why.

use super::Job;
use fanlap_film::error::Problem;
use fanlap_film::maths::{acos, atan2, cos, tan};
use fanlap_film::panel::cells_over;
use fanlap_film::strokes::{Coat, MOST_DEVIATIONS, MOST_TILT, Recorded, lines};
use glam::DVec2;

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
    rim(job)?;
    steepness(job)?;
    let (mut passes, mut covered) = (0, 0);
    for (i, coat) in job.coats.iter().enumerate() {
        let strip = strip(job, coat).map_or(usize::MAX, |strip| cells_over(1.4 * strip, cell));
        let spacing = coat.spacing(&job.gun).0;
        let about = (panel.length.0.max(panel.width.0) + 2.0 * coat.margin.0) / spacing;
        let remedy = "Make the fan wider, the overlap smaller or the panel smaller.";
        if passes as f64 + about > LIMITS.passes as f64 {
            let given =
                format!("lines {spacing:.1} mm apart, more than {} passes with the coats before", LIMITS.passes);
            let allowed = format!("up to {} passes in all, for the time they take", LIMITS.passes);
            return Err(Problem::new(format!("coats[{i}].overlap"), given, allowed, remedy));
        }
        let recorded = coat.track.as_ref().map(|track| track.passes(panel, coat.along));
        let lines = recorded.as_ref().map_or_else(|| lines(panel, &job.gun, coat).len(), Vec::len);
        passes += lines;
        if passes > LIMITS.passes {
            let allowed = format!("up to {} passes in all, for the time they take", LIMITS.passes);
            return Err(Problem::new(format!("coats[{i}]"), format!("{passes} passes"), allowed, remedy));
        }
        covered += match &recorded {
            None => lines * (strip.min(rows) * columns).max(strip.min(columns) * rows),
            Some(passes) => passes.iter().map(|pass| reached(job, pass, (columns, rows))).sum(),
        };
        if covered > LIMITS.covered {
            let allowed = format!("up to {} cells covered by all passes, for the memory they take", LIMITS.covered);
            let remedy = "Make the cells larger (panel.cell_mm), or the passes fewer.";
            return Err(Problem::new(format!("coats[{i}]"), format!("{covered} cells covered"), allowed, remedy));
        }
    }
    Ok(())
}

/// Cells that a recorded pass may reach.
fn reached(job: &Job, pass: &Recorded, (columns, rows): (usize, usize)) -> usize {
    let cell = job.panel.cell.0;
    let (mut least, mut most) = (DVec2::INFINITY, DVec2::NEG_INFINITY);
    for moment in &pass.stroke.moments {
        let (nozzle, aim) = (moment.pose.nozzle, moment.pose.aim);
        // how far a fan goes sideways that is tilted as this one
        let tilt = acos((-aim.z).clamp(0.0, 1.0)).to_degrees() + atan2(job.gun.tan_half_width(), 1.0).to_degrees();
        let reach = if tilt > FARTHEST_TILT { f64::INFINITY } else { nozzle.z.abs() * tan(tilt.to_radians()) };
        (least, most) = (least.min(nozzle.truncate() - reach), most.max(nozzle.truncate() + reach));
    }
    let size = ((most - least) / cell).ceil().min(DVec2::new(columns as f64, rows as f64));
    size.x as usize * size.y as usize
}

/// Steeper than this the surface can hardly be seen from above, and its cells no longer hold its shape, degrees.
const STEEPEST: f64 = 75.0;

/// Refuses a surface that is too steep: by its crowns, or by its rolled rim on top of them.
fn steepness(job: &Job) -> Result<(), Problem> {
    let panel = &job.panel;
    // a slope is told as an angle and back: one at the limit must not fall to a rounding
    let most = tan(STEEPEST.to_radians()) * (1.0 + 1e-9);
    let steepest = panel.steepest();
    if steepest <= most {
        return Ok(());
    }
    let falls = panel.falls().abs();
    let given = |what: String| format!("{what}: {:.1}\u{b0} where it is steepest", atan2(steepest, 1.0).to_degrees());
    let allowed = |at_most: String| {
        format!(
            "a surface up to {STEEPEST:.0}\u{b0} steep{at_most}: cells on a plan do not hold the shape of a steeper one"
        )
    };
    if falls.length() <= most {
        let given = given(format!("{} degrees on top of the crown", panel.rim_angle.0));
        let remedy = "Roll the rim less far or make the crown flatter.";
        return Err(Problem::new("panel.rim_deg", given, allowed(String::new()), remedy));
    }
    let along = falls.x >= falls.y;
    let (key, span, rise, fall, other) = if along {
        ("panel.crown_along_mm", ("panel.length_mm", panel.length.0), panel.crown_along.0, falls.x, falls.y)
    } else {
        ("panel.crown_across_mm", ("panel.width_mm", panel.width.0), panel.crown_across.0, falls.y, falls.x)
    };
    let room = (most * most - other * other).max(0.0).sqrt() / fall * rise.abs();
    let given = given(format!("{rise} mm over {} {}", span.0, span.1));
    let at_most = format!(", here up to {:.0} mm up or down", room.floor());
    Err(Problem::new(key, given, allowed(at_most), "Make the crown flatter or the panel larger."))
}

/// Refuses a rolled rim that the panel has no room for, or that its cells are too coarse for.
fn rim(job: &Job) -> Result<(), Problem> {
    let (panel, radius) = (&job.panel, job.panel.rim_radius.0);
    if !panel.has_rim() {
        return Ok(());
    }
    let shorter = panel.length.0.min(panel.width.0);
    if 2.0 * panel.rim_width().0 > shorter {
        let given = format!("{radius} mm, which rolls down over {:.1} mm along every edge", panel.rim_width().0);
        let allowed = format!("a rim up to half of the panel's shorter side, {} mm", shorter / 2.0);
        return Err(Problem::new(
            "panel.rim_radius_mm",
            given,
            allowed,
            "Make the radius smaller or the panel larger.",
        ));
    }
    if panel.cell.0 > radius / 3.0 {
        let given = format!("{} mm with panel.rim_radius_mm {radius}", panel.cell.0);
        let allowed = format!("up to a third of the rim's radius, {:.2} mm", radius / 3.0);
        let remedy = "Make the cells smaller, or the radius larger (0 for none).";
        return Err(Problem::new("panel.cell_mm", given, allowed, remedy));
    }
    Ok(())
}

/// Tilted further than this (the fan's own half angle included) a gun may cover the whole panel, degrees.
const FARTHEST_TILT: f64 = 75.0;

/// Width of the strip that one pass may reach, mm, of a gun held as far, tilted as much and led as far astray as the
/// hand's errors and its drift take it; none where that may be the whole panel.
fn strip(job: &Job, coat: &Coat) -> Option<f64> {
    let (gun, hand) = (&job.gun, &job.hand);
    // the wrist's swing lifts the nozzle
    let lift = hand.arc_pivot.0 * (1.0 - cos(hand.arc.0.to_radians()));
    let astray = MOST_DEVIATIONS * hand.distance_sd.0;
    let distance = coat.distance.0 + (hand.distance_error.0 + astray).max(0.0) + lift;
    let degrees = |tangent: f64| atan2(tangent, 1.0).to_degrees();
    // a crown falls away from a fan that stands square to its middle
    let panel = &job.panel;
    let crown = (panel.crown_along.0 / panel.length.0).abs().max((panel.crown_across.0 / panel.width.0).abs());
    let strayed = |meant: f64| (meant.abs() + MOST_DEVIATIONS * hand.angle_sd.0).min(MOST_TILT);
    let (half, heel) = (degrees(gun.tan_half_width()), strayed(hand.heel.0) + degrees(4.0 * crown));
    let drag = strayed(hand.drag.0);
    let lean = drag + hand.arc.0 + degrees(gun.tan_half_depth());
    let tilted = heel > 0.0 && heel + half > FARTHEST_TILT;
    let leant = (drag != 0.0 || hand.arc.0 != 0.0) && lean > FARTHEST_TILT;
    let tan = |angle: f64| tan(angle.to_radians());
    let width = if heel > 0.0 { tan(heel + half) - tan(heel - half) } else { 2.0 * gun.tan_half_width() };
    let longer = if lean > 0.0 && !leant { 1.0 / cos(lean.min(FARTHEST_TILT).to_radians()) } else { 1.0 };
    let wander = 2.0 * MOST_DEVIATIONS * hand.line_sd.0;
    (!tilted && !leant).then_some(distance * width * longer + wander)
}
