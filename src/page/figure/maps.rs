//! The maps of film and difference: their contour lines with figures, and their labelled scale. Draws; the map itself
//! is the picture.

use crate::figure::film::{change_top, changes, present};
use crate::parts::dom;
use crate::parts::layout::Room;
use crate::parts::pen::{Align, INK, Pen};
use crate::parts::shown::Shown;
use crate::shell::app::{App, View};
use fanlap::colour::maps;
use fanlap::eye::Films;
use fanlap::field::contours;
use fanlap::job::inputs::{System, Unit};
use fanlap::panel::Patch;
use fanlap::units::Micrometres;
use fanlap::words::{digits_of, eye, shown as shown_in_words};
use std::borrow::Cow;

/// Contour lines with their figures, which follow the film that is drawn.
pub fn contours_of(app: &App, pen: &Pen) {
    let layout = &app.layout;
    match &*app.held {
        Some(held) if held.change => {}
        Some(held) => {
            let middle = layout.left + *app.divider * layout.width;
            let part = |from: f64, until: f64, shown: &Shown, film: &[f64]| {
                pen.on.save();
                pen.path([(from, layout.top), (until, layout.top), (until, layout.bottom()), (from, layout.bottom())]);
                pen.on.clip();
                of_film(app, pen, shown, film, (from, until));
                pen.on.restore();
            };
            part(layout.left, middle, &held.shown, &held.shown.finished);
            part(middle, layout.right(), &app.shown, present(app));
        }
        None => of_film(app, pen, &app.shown, present(app), (layout.left, layout.right())),
    }
}

/// The contours of one film between two sides of the panel.
fn of_film(app: &App, pen: &Pen, shown: &Shown, film: &[f64], sides: (f64, f64)) {
    let (patch, values) = match (*app.view, &shown.sight) {
        (View::Seen, None) => return,
        (View::Seen, Some(sight)) => (&sight.patch, Cow::Borrowed(&sight.times[..])),
        (View::Difference, _) => {
            let base = |cell: usize| shown.base.as_ref().map_or(f64::INFINITY, |base| base[cell]);
            let films =
                |(cell, film): (usize, &f64)| Films { tinted: Micrometres(*film), base: Micrometres(base(cell)) };
            let signed = |at| shown.appearance.signed_difference(films(at));
            (shown.rehearsal.patch(), film.iter().enumerate().map(signed).collect())
        }
        _ => (shown.rehearsal.patch(), Cow::Borrowed(film)),
    };
    let highest = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let lowest = values.iter().copied().fold(f64::INFINITY, f64::min);
    let few = if app.ended() || *app.view == View::Seen { 3.0 } else { 6.0 }
        * if app.layout.room == Room::Narrow { 0.4 } else { 1.0 };
    let step = contour_step(app, (highest - lowest) / few);
    let coarse = (8.0 / patch.cell.x).round().max(1.0) as usize;
    let mut taken: Vec<(f64, f64)> = Vec::new();
    if *app.view == View::Seen {
        // where the eye begins to see: before the others, so that its figures find their places
        one_contour(app, pen, (patch, &values), (1.0, coarse), sides, &mut taken);
    }
    let first = (lowest / step).ceil() as i64;
    for level in (first..=(highest / step).floor() as i64).take(40) {
        let level = level as f64 * step;
        // there is no contour of no film, and on the zero of a difference the two sides meet: the map shows it
        let threshold = *app.view == View::Seen && level == 1.0;
        if level.abs() < 1e-9 || threshold {
            continue;
        }
        one_contour(app, pen, (patch, &values), (level, coarse), sides, &mut taken);
    }
}

/// Distance of contours: 1, 2, 4, 5, 10, 20 ... of the unit shown, at least `least`.
fn contour_step(app: &App, least: f64) -> f64 {
    let unit = match (*app.view, *app.system) {
        (View::Film, System::Us) => 25.4 / 10.0,
        _ => 1.0,
    };
    let steps = [1.0, 2.0, 4.0, 5.0, 10.0, 20.0, 40.0, 50.0];
    unit * steps.into_iter().find(|step| least <= step * unit).unwrap_or(100.0)
}

fn one_contour(
    app: &App,
    pen: &Pen,
    (patch, values): (&Patch, &[f64]),
    (level, coarse): (f64, usize),
    (from, until): (f64, f64),
    taken: &mut Vec<(f64, f64)>,
) {
    let layout = &app.layout;
    let segments = contours(patch, values, level, coarse);
    let (low, high) = ends(app);
    let threshold = *app.view == View::Seen && level == 1.0;
    let dark_ground = *app.view != View::Difference && level - low < 0.45 * (high - low);
    let strong = *app.view == View::Difference && level.abs() > 0.45 * app.scales.difference;
    let colour = if dark_ground || strong { "#ffffff" } else { INK };
    pen.colour(colour).width(if threshold { 2.0 } else { 1.0 }).dash(if level < 0.0 { &[3.0, 2.0] } else { &[] });
    pen.on.begin_path();
    for [a, b] in &segments {
        let (a, b) = (layout.on_stage(*a), layout.on_stage(*b));
        pen.on.move_to(a.0, a.1);
        pen.on.line_to(b.0, b.1);
    }
    pen.on.stroke();
    pen.dash(&[]);
    let text = match (*app.view, *app.system) {
        (View::Film, System::Us) => digits_of(level / 25.4, 1),
        _ if threshold => "1 just seen".to_string(),
        _ => digits_of(level.abs(), 1),
    };
    // figures near two places across the panel, not on each other
    for share in [0.3, 0.62] {
        let wanted = (from + (until - from) * share, layout.top + layout.height * (1.1 - share));
        let apart = if *app.view == View::Seen { 70.0 } else { 44.0 };
        let clear = |x: f64, y: f64| taken.iter().all(|(tx, ty)| (tx - x).abs() > apart || (ty - y).abs() > 18.0);
        let free = segments.iter().map(|[a, _]| layout.on_stage(*a)).filter(|(x, y)| {
            let inside = *x > from + 16.0 && *x < until - 16.0;
            inside && *y > layout.top + 10.0 && *y < layout.bottom() - 10.0 && clear(*x, *y)
        });
        let away = |(x, y): (f64, f64)| (x - wanted.0) * (x - wanted.0) + (y - wanted.1) * (y - wanted.1);
        let Some((x, y)) = free.min_by(|a, b| away(*a).total_cmp(&away(*b))) else { continue };
        figure(pen, &text, (x, y), (colour, &ground_colour(app, level)));
        taken.push((x, y));
    }
}

/// A contour's figure on a halo of the map's own colour.
fn figure(pen: &Pen, text: &str, (x, y): (f64, f64), (colour, halo): (&str, &str)) {
    pen.on.set_line_join("round");
    pen.on.set_stroke_style_str(halo);
    pen.width(4.0).on.set_fill_style_str(colour);
    pen.on.set_font(&format!("bold {}px B612, sans-serif", pen.small));
    pen.on.set_text_align("center");
    let base = y + pen.small * 0.36;
    let _ = pen.on.stroke_text(text, x, base);
    let _ = pen.on.fill_text(text, x, base);
}

/// The map's own colour at a level.
fn ground_colour(app: &App, level: f64) -> String {
    let [r, g, b] = match *app.view {
        View::Difference => maps::under_over(level / app.scales.difference),
        _ => {
            let (low, high) = ends(app);
            maps::cividis((level - low) / (high - low))
        }
    };
    format!("rgb({r} {g} {b})")
}

/// Ends of a map of amounts.
fn ends(app: &App) -> (f64, f64) {
    if *app.view == View::Seen { (0.0, app.scales.times) } else { app.film_ends() }
}

/// What is said over a map on which the eye sees nothing.
pub fn nothing_seen(app: &App) -> String {
    let from = shown_in_words(Unit::Metre, app.job.viewing.distance.0, *app.system);
    format!("Nothing {} would see from {from}.", eye(&app.job.viewing.eye))
}

/// The labelled scale of a map.
pub fn scale_bar(app: &App) {
    if *app.view == View::Paint && app.held.as_ref().is_none_or(|held| !held.change) {
        return;
    }
    let canvas = dom::canvas("scale-bar");
    if canvas.width < 40.0 {
        return;
    }
    let pen = Pen { on: &canvas.context, small: 0.6875 * dom::rem() };
    let changing = app.held.as_ref().filter(|held| held.change);
    let (title, top, signed) = if changing.is_some() {
        ("Change of film", changing.map_or(1.0, |held| change_top(&changes(app, held))), true)
    } else if *app.view == View::Film {
        ("Film", app.film_ends().1, false)
    } else if *app.view == View::Seen {
        ("Times the threshold", app.scales.times, false)
    } else {
        ("Difference", app.scales.difference, true)
    };
    let low = if signed { -top } else { ends(app).0 };
    let film = changing.is_some() || *app.view == View::Film;
    let seen = changing.is_none() && *app.view == View::Seen;
    let (unit, factor, digits) = if film {
        Unit::Micrometre.shown(*app.system)
    } else if seen {
        ("\u{d7}", 1.0, 1)
    } else {
        ("\u{394}E", 1.0, 1)
    };
    let title = match canvas.width {
        wide if seen && wide > 220.0 => title.to_string(),
        wide if wide > 250.0 => format!("{title}, {unit}"),
        _ => unit.to_string(),
    };
    pen.colour(INK).text(&title, 0.0, pen.small + 3.0, Align::Left);
    let words = if signed && canvas.width > 200.0 { pen.measure("lighter") + 6.0 } else { 0.0 };
    let left = pen.measure(&title) + 12.0 + words;
    let right = canvas.width - 14.0 - words;
    if signed && words > 0.0 {
        // a difference of colour has one sign, whichever film made it; a change of film has another
        let (low, high) = if film { ("less", "more") } else { ("lighter", "darker") };
        pen.text(low, left - 6.0, pen.small + 3.0, Align::Right).text(high, right + 6.0, pen.small + 3.0, Align::Left);
    }
    let parts = 12;
    let width = (right - left) / f64::from(parts);
    for i in 0..parts {
        let middle = (f64::from(i) + 0.5) / f64::from(parts);
        let [r, g, b] = if signed { maps::under_over(2.0 * middle - 1.0) } else { maps::cividis(middle) };
        pen.on.set_fill_style_str(&format!("rgb({r} {g} {b})"));
        pen.block(left + width * f64::from(i), 3.0, width + 0.5, 11.0);
    }
    pen.colour(INK).width(1.0).frame(left, 3.0, right - left, 11.0);
    if seen {
        // the threshold itself
        pen.width(2.0).down((left + (right - left) / top).round() - 0.5, 0.0, 20.0).width(1.0);
    }
    for i in 0..=4 {
        let part = f64::from(i) / 4.0;
        let x = left + (right - left) * part;
        pen.down(x - 0.5, 14.0, 18.0);
        let value = (low + (top - low) * part) * factor;
        pen.text(&digits_of(if film { value } else { value.abs() }, digits), x, 20.0 + pen.small, Align::Centre);
    }
}
