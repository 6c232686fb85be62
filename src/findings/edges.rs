//! Film along the four edges against the film inside, and the whole film against the target.

use super::{Fault, Kind, Part, Seen};
use crate::panel::Area;
use glam::DVec2;

pub(super) fn faults(seen: &Seen) -> Vec<Fault> {
    let mut faults: Vec<Fault> = Part::EDGES.into_iter().filter_map(|part| edge(seen, part)).collect();
    let target = seen.appearance.target_film().0;
    let kind = if seen.mean < target { Kind::ThinFilm } else { Kind::OverFilm };
    let mut whole = seen.of_fields(kind, Part::Interior, seen.inside, (seen.mean, target));
    // a target given as a colour may be reached by no film: what is off then is the colour, not the film
    whole.delta_e00 = seen.off(seen.mean, target);
    faults.push(whole);
    faults
}

/// The strip along an edge, without its corners.
fn edge(seen: &Seen, part: Part) -> Option<Fault> {
    let (panel, band) = (&seen.job.panel, seen.job.panel.edge_band.0);
    let (length, width) = (panel.length.0, panel.width.0);
    let corner = (seen.inside.least.x.max(band)).min(length / 3.0);
    let corner_y = (seen.inside.least.y.max(band)).min(width / 3.0);
    let (least, most) = match part {
        Part::Near => ((corner, 0.0), (length - corner, band)),
        Part::Far => ((corner, width - band), (length - corner, width)),
        Part::Left => ((0.0, corner_y), (band, width - corner_y)),
        Part::Right => ((length - band, corner_y), (length, width - corner_y)),
        _ => return None,
    };
    let area = Area { least: DVec2::from(least), most: DVec2::from(most) };
    let films: Vec<f64> = cells_within(seen, area).map(|cell| seen.film[cell]).collect();
    if films.is_empty() {
        return None;
    }
    let film = films.iter().sum::<f64>() / films.len() as f64;
    let around = just_inside(seen, area).unwrap_or(seen.mean);
    let kind = if film < around { Kind::ThinEdge } else { Kind::HeavyEdge };
    Some(seen.of_fields(kind, part, area, (film, around)))
}

/// Mean film beside an edge, from one fan's width inside it on for half as much again, as far as the middle.
fn just_inside(seen: &Seen, edge: Area) -> Option<f64> {
    let fan = seen.job.gun.fan_width.0;
    let middle = (seen.inside.least + seen.inside.most) / 2.0;
    let inwards = (middle - (edge.least + edge.most) / 2.0).signum();
    let deep = |edge: f64, inwards: f64, span: f64| edge + inwards * span;
    let mut area = edge;
    // the edge is long in one direction and narrow in the other: it moves in the narrow one
    if edge.most.x - edge.least.x > edge.most.y - edge.least.y {
        let (a, b) = (deep(middle.y, -inwards.y, 0.0), edge.least.y);
        let (from, to) = (deep(b, inwards.y, fan), deep(b, inwards.y, 1.5 * fan));
        let held = |y: f64| if inwards.y > 0.0 { y.min(a) } else { y.max(a) };
        (area.least.y, area.most.y) = (held(from).min(held(to)) - 1.0, held(from).max(held(to)) + seen.patch.cell.y);
    } else {
        let (a, b) = (middle.x, edge.least.x);
        let (from, to) = (deep(b, inwards.x, fan), deep(b, inwards.x, 1.5 * fan));
        let held = |x: f64| if inwards.x > 0.0 { x.min(a) } else { x.max(a) };
        (area.least.x, area.most.x) = (held(from).min(held(to)) - 1.0, held(from).max(held(to)) + seen.patch.cell.x);
    }
    let films: Vec<f64> = cells_within(seen, area).map(|cell| seen.film[cell]).collect();
    (!films.is_empty()).then(|| films.iter().sum::<f64>() / films.len() as f64)
}

/// Cells whose centres lie in a rectangle.
pub(super) fn cells_within<'a>(seen: &'a Seen, area: Area) -> impl Iterator<Item = usize> + 'a {
    let window = seen.patch.window_of(area);
    let columns = seen.patch.columns;
    (window.row..window.row + window.rows)
        .flat_map(move |row| (window.column..window.column + window.columns).map(move |column| row * columns + column))
}
