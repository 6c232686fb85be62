//! Places that were missed, and coats sprayed from outside the gun's working distance.

use super::{Defect, DefectKind, FilmUnderTest, Part};
use crate::panel::Area;
use crate::rehearsal::Rehearsal;
use crate::strokes::Along;
use crate::units::Micrometres;
use glam::DVec2;

/// The gun's working distance, mm: 6 to 10 in (TM 1-1500-344-23-2, 2009, p. A-11).
pub const WORKING_DISTANCE: (f64, f64) = (152.4, 254.0);
/// A place with less than this share of the film around counts as missed: our judgement.
const MISSED: f64 = 1.0 / 3.0;
/// Smaller places are not looked for, mm2: our judgement.
const SMALLEST: f64 = 900.0;

/// The places away from the edges that were missed; where there are none, the thinnest place. Places that all lie where
/// two reaches meet belong to the middle.
pub(super) fn holiday(seen: &FilmUnderTest) -> Option<Defect> {
    let missed: Vec<usize> =
        seen.interior.iter().copied().filter(|cell| seen.film[*cell] < MISSED * seen.mean).collect();
    let cell = seen.patch.cell;
    let thinnest = seen.interior.iter().copied().reduce(|a, b| if seen.film[b] < seen.film[a] { b } else { a })?;
    let large = missed.len() as f64 * cell.x * cell.y >= SMALLEST;
    let centres = missed.iter().map(|cell| seen.centre(*cell));
    let area = match (centres.clone().reduce(DVec2::min), centres.reduce(DVec2::max)) {
        (Some(least), Some(most)) if large => Area { least: least - cell / 2.0, most: most + cell / 2.0 },
        _ => Area { least: seen.centre(thinnest) - cell / 2.0, most: seen.centre(thinnest) + cell / 2.0 },
    };
    let film = seen.film[thinnest];
    let within = |meeting: Option<(f64, f64)>, from: f64, to: f64| meeting.is_some_and(|(a, b)| a <= from && to <= b);
    let met = within(seen.middle(Along::Length), area.least.y, area.most.y)
        || within(seen.middle(Along::Width), area.least.x, area.most.x);
    let part = if met { Part::Middle } else { Part::Interior };
    let mut defect = seen.of_fields(DefectKind::Holiday, part, area, (film, seen.mean));
    let share = MISSED * seen.mean / film.max(1e-3 * seen.mean).max(1e-9);
    defect.severity = if large { share.max(1.0) } else { share.min(0.99) };
    if seen.is_base() && defect.delta_e00 < seen.large_field() {
        defect.severity = defect.severity.min(0.99); // what hides at a third of its film hides there too
    }
    defect.worst = seen.centre(thinnest);
    Some(defect)
}

/// Moments of a pass at which the gun's distance is looked at.
const LOOKED_AT: usize = 100;

/// How far the nozzle is from the panel while a coat is sprayed, against the gun's working distance.
pub(super) fn distance(rehearsal: &Rehearsal, coat: usize) -> [Defect; 2] {
    let (job, panel) = (rehearsal.job(), &rehearsal.job().panel);
    let (mut least, mut most) = ((f64::INFINITY, DVec2::ZERO), (0.0_f64, DVec2::ZERO));
    let over = panel.area();
    for pass in rehearsal.passes().iter().filter(|pass| pass.coat == coat) {
        for moment in pass.stroke.evenly(LOOKED_AT) {
            let at = moment.pose.nozzle.truncate();
            if at.cmplt(over.least).any() || at.cmpgt(over.most).any() {
                continue;
            }
            let away = (moment.pose.nozzle.z - panel.height(at).0) * panel.normal(at).z;
            if away < least.0 {
                least = (away, at);
            }
            if away > most.0 {
                most = (away, at);
            }
        }
    }
    let defect = |kind, severity: f64, worst: DVec2| Defect {
        kind,
        part: Part::Coat(coat),
        severity,
        paint: job.paint_of(&job.coats[coat]),
        area: over,
        worst,
        film: Micrometres(0.0),
        delta_e00: 0.0,
        seen_from: None,
    };
    // nothing is off in the middle of the working distance, and just enough at its ends
    let (near, far) = WORKING_DISTANCE;
    let (middle, half) = ((near + far) / 2.0, (far - near) / 2.0);
    let past = |away: f64| if away.is_finite() { ((away - middle) / half).max(0.0) } else { 0.0 };
    [
        defect(DefectKind::DrySpray, past(most.0), most.1),
        defect(DefectKind::WetSpray, past(2.0 * middle - least.0), least.1),
    ]
}
