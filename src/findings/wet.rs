//! Faults of the wet film: places that run, places that are near it, and neighbouring passes that no longer melt
//! together. Of every paint.

use super::{Fault, Kind, Part};
use crate::panel::Area;
use crate::rehearsal::{Moving, Rehearsal, WetFilm, Wetness};
use crate::units::Micrometres;
use glam::DVec2;

pub(super) fn faults(rehearsal: &Rehearsal, wetness: &Wetness) -> Vec<Fault> {
    let paints = wetness.films.iter().enumerate().filter(|(_, film)| !film.most.is_empty());
    paints
        .flat_map(|(paint, film)| {
            let of = [run(rehearsal, paint, film), near_run(rehearsal, paint, film), edge(rehearsal, paint, film)];
            of.into_iter().flatten()
        })
        .collect()
}

/// The place that runs farthest; where nothing runs, the one that is nearest to it.
fn run(rehearsal: &Rehearsal, paint: usize, film: &WetFilm) -> Option<Fault> {
    let flow = rehearsal.job().paints[paint].flow();
    let of_run: Vec<f64> = (0..film.most.len()).map(|cell| film.of_run(cell, &flow)).collect();
    let worst = most(&of_run).filter(|worst| of_run[*worst] > 0.0)?;
    let area = film.runs.first().map_or_else(|| around(rehearsal, &[worst]), |run| way_down(rehearsal, run));
    Some(wet_fault(rehearsal, Kind::Run, (paint, film), worst, area, of_run[worst]))
}

/// The place that is most over its sag limit. Measured where something runs too: what puts the one right must not seem to
/// put the other right by making it worse.
fn near_run(rehearsal: &Rehearsal, paint: usize, film: &WetFilm) -> Option<Fault> {
    let worst = most(&film.times_limit).filter(|worst| film.times_limit[*worst] > 0.0)?;
    let area = film.near_limit.first().map_or_else(|| around(rehearsal, &[worst]), |near| way_down(rehearsal, near));
    Some(wet_fault(rehearsal, Kind::NearRun, (paint, film), worst, area, film.times_limit[worst]))
}

/// The place with the way that its film goes; where it drips off the rim the panel ends.
fn way_down(rehearsal: &Rehearsal, place: &Moving) -> Area {
    let panel = rehearsal.job().panel.area();
    let to = place.to.clamp(panel.least, panel.most);
    let (least, most) = (place.area.least.max(panel.least), place.area.most.min(panel.most));
    Area { least: least.min(to), most: most.max(to) }
}

fn wet_fault(
    rehearsal: &Rehearsal,
    kind: Kind,
    (paint, film): (usize, &WetFilm),
    worst: usize,
    area: Area,
    times: f64,
) -> Fault {
    let wet = film.most[worst];
    fault(kind, paint, times, area, centre(rehearsal, worst), wet - wet / film.times_limit[worst])
}

/// The greatest gap in time between neighbouring passes.
fn edge(rehearsal: &Rehearsal, paint: usize, film: &WetFilm) -> Option<Fault> {
    let worst = most(&film.gap)?;
    let open = rehearsal.job().paints[paint].open_time.seconds().0;
    let lost: Vec<usize> = (0..film.gap.len()).filter(|cell| film.gap[*cell] > open).collect();
    let area = around(rehearsal, if lost.is_empty() { std::slice::from_ref(&worst) } else { &lost });
    let times = film.gap[worst] / open;
    (times > 0.0).then(|| fault(Kind::WetEdgeLost, paint, times, area, centre(rehearsal, worst), 0.0))
}

fn most(values: &[f64]) -> Option<usize> {
    (0..values.len()).reduce(|a, b| if values[b] > values[a] { b } else { a })
}

fn centre(rehearsal: &Rehearsal, cell: usize) -> DVec2 {
    let patch = rehearsal.patch();
    patch.centre(cell % patch.columns, cell / patch.columns)
}

fn around(rehearsal: &Rehearsal, cells: &[usize]) -> Area {
    let half = rehearsal.patch().cell / 2.0;
    let centres = cells.iter().map(|cell| centre(rehearsal, *cell));
    let least = centres.clone().reduce(DVec2::min).unwrap_or_default();
    let most = centres.reduce(DVec2::max).unwrap_or_default();
    let panel = rehearsal.job().panel.area();
    Area { least: (least - half).max(panel.least), most: (most + half).min(panel.most) }
}

fn fault(kind: Kind, paint: usize, times: f64, area: Area, worst: DVec2, film: f64) -> Fault {
    let film = Micrometres(film);
    Fault { kind, part: Part::Interior, times, paint, area, worst, film, delta_e00: 0.0, seen_from: None }
}
