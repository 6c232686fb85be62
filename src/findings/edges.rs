//! Film along the four edges against the film inside, and the whole film against the target; of a base, against one that
//! hides.

use super::{Defect, DefectKind, FilmUnderTest, Part};
use crate::panel::Area;
use crate::strokes::Along;
use crate::units::Micrometres;
use glam::DVec2;

pub(super) fn defects(seen: &FilmUnderTest) -> Vec<Defect> {
    let mut defects: Vec<Defect> = Part::EDGES.into_iter().filter_map(|part| edge(seen, part)).collect();
    defects.push(whole(seen));
    defects
}

/// The mean film against the target, or that of a base against the film that hides.
fn whole(seen: &FilmUnderTest) -> Defect {
    if seen.is_base() {
        let for_good = seen.appearance.underlay().thickest().map_or(seen.mean, |film| film.0);
        let defect = seen.of_fields(DefectKind::NotHidden, Part::Interior, seen.inside, (seen.mean, for_good));
        return Defect { film: Micrometres(seen.mean - seen.job.paints[seen.paint].hides_at.0), ..defect };
    }
    let target = seen.appearance.target_film().0;
    let kind = if seen.mean < target { DefectKind::ThinFilm } else { DefectKind::OverFilm };
    seen.of_fields(kind, Part::Interior, seen.inside, (seen.mean, target))
}

/// The strip along an edge, without its corners.
fn edge(seen: &FilmUnderTest, part: Part) -> Option<Defect> {
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
    let (least, most) = just_inside(seen, area).unwrap_or((seen.mean, seen.mean));
    // what the lines do everywhere is no defect of the edge
    let around = film.clamp(least, most);
    let kind = if film < around { DefectKind::ThinEdge } else { DefectKind::HeavyEdge };
    Some(seen.of_fields(kind, part, area, (film, around)))
}

/// The least and the most film of strips as wide as the edge's that lie beside it: from one fan's width inside on, over
/// half a fan and at least one spacing of the lines, but not past the middle and not where two reaches meet.
fn just_inside(seen: &FilmUnderTest, edge: Area) -> Option<(f64, f64)> {
    let fan = seen.job.gun.fan_width.0;
    let spacing = seen.coats().map(|coat| coat.spacing(&seen.job.gun).0).fold(0.0, f64::max);
    let span = seen.job.panel.area().most;
    let upright = edge.most.x - edge.least.x < edge.most.y - edge.least.y;
    let (at, wide, span, step) = if upright {
        ((edge.least.x + edge.most.x) / 2.0, edge.most.x - edge.least.x, span.x, seen.patch.cell.x)
    } else {
        ((edge.least.y + edge.most.y) / 2.0, edge.most.y - edge.least.y, span.y, seen.patch.cell.y)
    };
    let inwards = if at < span / 2.0 { 1.0 } else { -1.0 };
    let deepest = (span / 2.0 - wide).max(wide);
    let (from, to) = (fan.min(0.6 * deepest), (fan + spacing.max(0.5 * fan)).min(deepest));
    let count = ((to - from) / step).ceil().max(1.0) as usize;
    let meeting = seen.middle(if upright { Along::Width } else { Along::Length });
    let meets = |at: f64| meeting.is_some_and(|(from, to)| at + wide / 2.0 > from && at - wide / 2.0 < to);
    let strips = (0..=count).filter_map(|i| {
        let middle = at + inwards * (from + (to - from) * i as f64 / count as f64);
        if meets(middle) {
            return None;
        }
        let mut strip = edge;
        if upright {
            (strip.least.x, strip.most.x) = (middle - wide / 2.0, middle + wide / 2.0);
        } else {
            (strip.least.y, strip.most.y) = (middle - wide / 2.0, middle + wide / 2.0);
        }
        let films: Vec<f64> = cells_within(seen, strip).map(|cell| seen.film[cell]).collect();
        (!films.is_empty()).then(|| films.iter().sum::<f64>() / films.len() as f64)
    });
    strips.fold(None, |range: Option<(f64, f64)>, film| {
        Some(range.map_or((film, film), |(least, most)| (least.min(film), most.max(film))))
    })
}

/// Cells whose centres lie in a rectangle.
pub(super) fn cells_within<'a>(seen: &'a FilmUnderTest, area: Area) -> impl Iterator<Item = usize> + 'a {
    let window = seen.patch.window_of(area);
    let columns = seen.patch.columns;
    (window.row..window.row + window.rows)
        .flat_map(move |row| (window.column..window.column + window.columns).map(move |column| row * columns + column))
}
