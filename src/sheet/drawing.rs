//! The panel to scale in lines alone: the numbered lines in their order, arrows, and where the painter stands. Knows no film.

use super::safe;
use crate::job::Job;
use crate::job::inputs::{System, Unit};
use crate::strokes::{Along, Line, Reach, Side, lines};
use crate::words::shown;
use glam::DVec2;
use std::fmt::Write;

/// Room around the panel for lines outside and for numbers, mm of the panel.
const ROOM: f64 = 0.13;

/// The drawing; y of the panel runs upwards, away from the painter.
pub(super) fn panel(job: &Job, system: System) -> String {
    let size = DVec2::new(job.panel.length.0, job.panel.width.0);
    let drawn = super::drawn(job);
    let coat = &job.coats[drawn];
    let planned = lines(&job.panel, &job.gun, coat);
    let out =
        planned.iter().flat_map(|line| [line.from, line.to]).fold(DVec2::ZERO, |out, at| out.max(-at).max(at - size));
    let unit = size.max_element() / 100.0;
    let room = out + DVec2::splat(ROOM * 0.5 * size.max_element());
    let at = |place: DVec2| DVec2::new(place.x + room.x, size.y - place.y + room.y);
    let whole = size + 2.0 * room;
    let mut svg = format!(
        "<svg viewBox=\"0 0 {:.0} {:.0}\" role=\"img\" aria-label=\"The panel with its numbered lines\">",
        whole.x, whole.y
    );
    let corner = at(DVec2::new(0.0, size.y));
    let first_reach = first_reach(&planned, coat.along, size);
    let ground = if first_reach.is_some() { "#fff" } else { "#eee" };
    rect(&mut svg, corner, size, &format!("fill=\"{ground}\""));
    if let Some([from, to]) = first_reach.map(|corners| corners.map(at)) {
        rect(&mut svg, from.min(to), (to - from).abs(), "fill=\"#ddd\"");
    }
    rect(&mut svg, corner, size, &format!("fill=\"none\" stroke=\"#000\" stroke-width=\"{:.1}\"", 0.4 * unit));
    if let Some(other) = super::beside(job) {
        for line in lines(&job.panel, &job.gun, &job.coats[other]).iter().filter(|line| !line.rim) {
            stroke(&mut svg, [line.from, line.to].map(at), 0.2 * unit, Some(1.5 * unit));
        }
    }
    let through = planned.iter().filter(|line| !line.rim);
    for (i, line) in through.enumerate() {
        numbered(&mut svg, line, i + 1, unit, &at);
    }
    if planned.iter().any(|line| line.rim) {
        let dashed = format!(
            "fill=\"none\" stroke=\"#000\" stroke-width=\"{:.1}\" stroke-dasharray=\"{:.1}\"",
            0.3 * unit,
            2.0 * unit
        );
        rect(&mut svg, corner + DVec2::splat(unit), size - DVec2::splat(2.0 * unit), &dashed);
    }
    let mm = |value: f64| shown(Unit::Millimetre, value, system);
    let (first, last) = super::sides(job);
    let stand = match coat.reach {
        Reach::BothSides if job.panel.stands() => format!("; grey: {first} half, first"),
        Reach::BothSides => format!("; grey from the {first}, then white from the {last} side"),
        Reach::OneSide if job.panel.stands() => String::new(),
        Reach::OneSide => format!(", {first} side: you stand here"),
    };
    let of = if drawn > 0 { format!("; lines of coat {}", drawn + 1) } else { String::new() };
    format!("{svg}</svg><p class=\"small middle\">{} x {}{stand}{of}</p>", mm(size.x), mm(size.y))
}

/// Two corners of what is reached first, up to the middle between the lines of the two reaches, where they meet.
fn first_reach(planned: &[Line], along: Along, size: DVec2) -> Option<[DVec2; 2]> {
    let across = |line: &Line| if along == Along::Length { line.from.y } else { line.from.x };
    let of = |side: Side| planned.iter().filter(move |line| !line.rim && line.side == side).map(across);
    let (near, far) = (of(Side::Near).reduce(f64::max)?, of(Side::Far).reduce(f64::min)?);
    let join = 0.5 * (near + far);
    let to = if along == Along::Length { DVec2::new(size.x, join) } else { DVec2::new(join, size.y) };
    Some([DVec2::ZERO, to.clamp(DVec2::ZERO, size)])
}

fn rect(svg: &mut String, corner: DVec2, size: DVec2, drawn: &str) {
    let _ = write!(
        svg,
        "<rect x=\"{:.1}\" y=\"{:.1}\" width=\"{:.1}\" height=\"{:.1}\" {drawn}/>",
        corner.x, corner.y, size.x, size.y
    );
}

fn stroke(svg: &mut String, [from, to]: [DVec2; 2], width: f64, dash: Option<f64>) {
    let dash = dash.map_or(String::new(), |dash| format!(" stroke-dasharray=\"{dash:.1}\""));
    let _ = write!(
        svg,
        "<line x1=\"{:.1}\" y1=\"{:.1}\" x2=\"{:.1}\" y2=\"{:.1}\" stroke=\"#000\" stroke-width=\"{width:.1}\"{dash}/>",
        from.x, from.y, to.x, to.y
    );
}

/// A line with its number where it begins and an arrow where it is going.
fn numbered(svg: &mut String, line: &Line, number: usize, unit: f64, at: &dyn Fn(DVec2) -> DVec2) {
    let (from, to) = (at(line.from), at(line.to));
    stroke(svg, [from, to], 0.35 * unit, None);
    let way = (to - from).normalize();
    let tip = from + (to - from) * 0.5 + way * 1.2 * unit;
    let side = way.perp() * 0.9 * unit;
    let back = tip - way * 2.2 * unit;
    let _ = write!(
        svg,
        "<path d=\"M{:.1} {:.1}L{:.1} {:.1}L{:.1} {:.1}Z\"/>",
        tip.x,
        tip.y,
        (back + side).x,
        (back + side).y,
        (back - side).x,
        (back - side).y
    );
    let label = from - way * 2.8 * unit + DVec2::new(0.0, 1.3 * unit);
    text(svg, label, &number.to_string(), 3.6 * unit, "middle");
}

fn text(svg: &mut String, at: DVec2, words: &str, size: f64, anchor: &str) {
    let _ = write!(
        svg,
        "<text x=\"{:.1}\" y=\"{:.1}\" font-size=\"{size:.1}\" text-anchor=\"{anchor}\">{}</text>",
        at.x,
        at.y,
        safe(words)
    );
}
