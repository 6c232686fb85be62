//! The section: film and colour difference along the section line, on the panel's own ruler, so that a stripe and its
//! crest lie on one horizontal line. Draws; computes nothing but the cut.

use crate::parts::dom;
use crate::parts::layout::{Lane, Layout};
use crate::parts::pen::{Align, BAND, INK, PLOT, Pen};
use crate::parts::shown::Shown;
use crate::shell::app::App;
use crate::shell::rest;
use crate::shell::run::with;
use fanlap::advice::AtAngle;
use fanlap::field::film_at;
use fanlap::job::inputs::Unit;
use fanlap::maths::sort;
use fanlap::panel::Patch;

use fanlap::words::{digits_of, shown};
use glam::DVec2;

/// Film along the section line, one value for each row of cells (for each column, where it is turned): mm and um.
pub fn cut(app: &App, patch: &Patch, film: &[f64]) -> Vec<(f64, f64)> {
    let most = app.job.panel.area().most;
    let places: Vec<DVec2> = if app.turned() {
        (0..patch.columns).map(|column| DVec2::new(patch.centre(column, 0).x.min(most.x), *app.section)).collect()
    } else {
        (0..patch.rows).map(|row| DVec2::new(*app.section, patch.centre(0, row).y.min(most.y))).collect()
    };
    let along = |place: DVec2| if app.turned() { place.x } else { place.y };
    places.into_iter().map(|place| (along(place), film_at(patch, film, place).0)).collect()
}

/// The place on the plan of a place along the section line.
pub fn place_of(app: &App, along: f64) -> DVec2 {
    if app.turned() { DVec2::new(along, *app.section) } else { DVec2::new(*app.section, along) }
}

/// From which edge the section line is measured.
pub fn from_edge(app: &App) -> &'static str {
    if app.turned() { "from the near edge" } else { "from the left edge" }
}

/// What passes for the target; not known before the rest of the code is there.
fn forgiven(app: &App) -> Option<AtAngle> {
    rest::is_here().then(|| app.shown.forgiven(*app.within))?
}

/// The films that pass for the target, um.
fn window(app: &App) -> Option<(f64, f64)> {
    forgiven(app)?.window_um.map(|[low, high]| (low, high))
}

/// Those between which stripes are not seen from the job's distance, um.
fn unseen(app: &App) -> Option<(f64, f64)> {
    let (seen, target) = (forgiven(app)?.seen_um?, app.shown.appearance().target_film().0);
    Some((target - seen, target + seen))
}

/// The films between which the section is drawn, um: from none to the map's most, or around the target, as far as the
/// finished films go for nine tenths of the section.
fn ends(app: &App) -> (f64, f64) {
    let target = app.shown.appearance().target_film().0;
    let Some((low, high)) = window(app).filter(|_| *app.near) else { return (0.0, app.scales.film.0) };
    let beside = WINDOWS_BESIDE * (target - low).max(high - target);
    let mut ends = (target - beside, target + beside);
    for shown in std::iter::once(&app.shown).chain(app.held.as_ref().map(|held| &held.shown)) {
        let mut films: Vec<f64> =
            cut(app, shown.rehearsal().patch(), shown.finished()).into_iter().map(|(_, film)| film).collect();
        sort(&mut films);
        let beyond = films.len() / 20;
        let (least, most) = (films[beyond], films[films.len() - 1 - beyond]);
        let room = 0.05 * (most.max(ends.1) - least.min(ends.0));
        ends = (ends.0.min(least - room), ends.1.max(most + room));
    }
    (ends.0.max(0.0), ends.1)
}

/// So many times its own half is the window's half seen on either side of the target.
const WINDOWS_BESIDE: f64 = 4.0;

/// Listens to the buttons.
pub fn listen() {
    for id in NEAR {
        dom::on(&dom::by_id(id), "click", |_| with(near));
    }
}

/// Brings the target near, or the whole film back.
fn near(app: &mut App) {
    *app.near = !*app.near;
}

/// The button on the stage, and the phone's.
const NEAR: [&str; 2] = ["section-near", "section-near-small"];

/// Puts the button beside the graph it is of.
fn place_button(app: &App, layout: &Layout) {
    let known = window(app).is_some();
    let corner = match (layout.film, layout.below) {
        (Some(lane), _) => Some((lane.left + (lane.width - 22.0).max(50.0), layout.top - 26.0)),
        (_, Some((top, _))) => Some((layout.right() + 6.0, top)),
        _ => None,
    };
    let [beside, below] = NEAR.map(dom::by_id);
    for button in [&beside, &below] {
        dom::set(button, "aria-pressed", if *app.near { "true" } else { "false" });
    }
    beside.set_hidden(!known || corner.is_none());
    below.set_hidden(!known);
    dom::class(&beside, "turned", app.turned());
    if let Some((left, top)) = corner {
        dom::style(&beside, "left", &format!("{left:.0}px"));
        dom::style(&beside, "top", &format!("{top:.0}px"));
    }
}

/// Both bands in words.
fn words(app: &App) -> String {
    let (symbol, factor, digits) = Unit::Micrometre.shown(*app.system);
    let um = |value: f64| digits_of(value * factor, digits);
    let Some((low, high)) = window(app) else { return String::new() };
    let target = app.shown.appearance().target_film().0;
    let from = shown(Unit::Metre, app.job.viewing.distance.0, *app.system);
    let seen = unseen(app)
        .map_or(String::new(), |(_, high)| format!("; stripes seen from {from} beyond \u{b1} {}", um(high - target)));
    let within = digits_of(*app.within, 1);
    format!("target {}, {} to {} {symbol} within {within} \u{394}E{seen}", um(target), um(low), um(high))
}

/// Draws the graphs where the layout has room for them, or in the phone's own section.
pub fn draw(pen: &Pen, app: &App) {
    let layout = &app.layout;
    place_button(app, layout);
    if let Some(lane) = layout.film {
        film(pen, app, layout, lane);
    }
    if let Some(lane) = layout.difference {
        difference(pen, app, layout, lane);
    }
    if let Some((top, height)) = layout.below {
        lying(pen, app, (layout.left, layout.right()), (top, top + height));
    }
    let beside = layout.film.is_some() || layout.below.is_some();
    dom::by_id("section-small").set_hidden(beside);
    if !beside {
        let canvas = dom::canvas("section-graph");
        if canvas.width > 60.0 && canvas.height > 60.0 {
            let pen = Pen { on: &canvas.context, small: 0.6875 * dom::rem() };
            lying(&pen, app, (34.0, canvas.width - 8.0), (10.0, canvas.height - 22.0));
        }
    }
}

fn film(pen: &Pen, app: &App, layout: &Layout, lane: Lane) {
    let patch = app.shown.rehearsal().patch();
    let ends = ends(app);
    let x = |film: f64| lane.left + ((film - ends.0) / (ends.1 - ends.0)).clamp(0.0, 1.02) * lane.width;
    let (symbol, factor, _) = Unit::Micrometre.shown(*app.system);
    ground(pen, layout, lane);
    title(pen, layout, lane, "Film", symbol);
    let mut target_words = None;
    if let Some((low, high)) = window(app) {
        band(pen, layout, (x(low), x(high)));
        if let Some((low, high)) = unseen(app) {
            inner(pen, (x(low), layout.top, x(high) - x(low), layout.height));
        }
        let long = words(app);
        // a short panel has room for the target alone
        let words = if pen.measure(&long) < layout.height - 16.0 { long } else { target_only(&long) };
        // beside the band, and clear of what is dashed
        let (before, after) = (x(low) - 5.0, x(high) + pen.small + 2.0);
        target_words = Some((words, if before > lane.left + 2.5 * pen.small { before } else { after }));
    }
    figures(pen, layout, lane, (ends.0 * factor, ends.1 * factor), 4.0);
    if app.job.coats.is_empty() {
        return;
    }
    let row = |(y, film): (f64, f64)| (x(film), layout.y(y));
    let now = cut(app, patch, crate::figure::film::present(app));
    let finished = cut(app, patch, app.shown.finished());
    let at = layout.bottom() - 8.0;
    if let Some(held) = &*app.held {
        let then = cut(app, held.shown.rehearsal().patch(), held.shown.finished());
        pen.colour(INK).width(1.0).dash(&[3.0, 2.0]).line(then.into_iter().map(row)).dash(&[]);
        upright(pen, "dashed: held; solid: now", lane.left + pen.small + 2.0, at, Align::Left);
    } else if !app.ended() {
        let edge = [(lane.left, layout.y(now.last().map_or(0.0, |p| p.0))), (lane.left, layout.y(now[0].0))];
        pen.on.set_global_alpha(0.25);
        pen.colour(INK).area(now.iter().copied().map(row).chain(edge));
        pen.on.set_global_alpha(1.0);
        pen.colour(INK).width(1.0).dash(&[3.0, 2.0]).line(finished.into_iter().map(row)).dash(&[]);
        upright(pen, "solid: now; dashed: finished", lane.left + pen.small + 2.0, at, Align::Left);
    }
    pen.colour(INK).width(1.8).line(now.into_iter().map(row)).width(1.0);
    if let Some((words, x)) = target_words {
        upright(pen, &words, x, layout.top + layout.height * 0.5, Align::Centre);
    }
}

fn difference(pen: &Pen, app: &App, layout: &Layout, lane: Lane) {
    let top = if app.scales.difference <= 4.0 { 6.0 } else { app.scales.difference };
    let x = |difference: f64| lane.left + (difference / top).min(1.02) * lane.width;
    ground(pen, layout, lane);
    title(pen, layout, lane, "\u{394}E", "");
    band(pen, layout, (lane.left, x(app.within.min(top))));
    figures(pen, layout, lane, (0.0, top), 3.0);
    if app.job.coats.is_empty() {
        return;
    }
    let curve = |shown: &Shown| {
        let cut = cut(app, shown.rehearsal().patch(), shown.finished()).into_iter();
        let at = |y: f64| shown.appearance().difference(shown.films_at(place_of(app, y)));
        cut.map(|(y, _)| (x(at(y)), layout.y(y))).collect::<Vec<_>>()
    };
    let finished = curve(&app.shown);
    pen.colour(INK);
    pen.on.save();
    pen.path([
        (lane.left, layout.top),
        (lane.left + lane.width, layout.top),
        (lane.left + lane.width, layout.bottom()),
        (lane.left, layout.bottom()),
    ]);
    pen.on.clip();
    if app.ended() || app.held.is_some() {
        if let Some(held) = &*app.held {
            pen.width(1.0).dash(&[3.0, 2.0]).line(curve(&held.shown)).dash(&[]);
        }
        pen.width(1.8).line(finished).width(1.0);
    } else {
        pen.width(1.0).dash(&[3.0, 2.0]).line(finished).dash(&[]);
    }
    pen.on.restore();
}

fn ground(pen: &Pen, layout: &Layout, lane: Lane) {
    pen.dash(&[]).colour(PLOT).block(lane.left, layout.top, lane.width, layout.height);
    pen.colour(INK).width(1.0).down(lane.left, layout.top, layout.bottom());
    pen.across(layout.bottom() + 6.0, lane.left, lane.left + lane.width);
}

fn title(pen: &Pen, layout: &Layout, lane: Lane, name: &str, unit: &str) {
    pen.colour(INK).bold(name, lane.left, layout.top - 6.0, Align::Left);
    pen.text(unit, lane.left + pen.measure(name) + 8.0, layout.top - 6.0, Align::Left);
}

fn band(pen: &Pen, layout: &Layout, (from, to): (f64, f64)) {
    pen.colour(BAND).block(from, layout.top, (to - from).max(1.0), layout.height);
    pen.colour(INK).width(1.0).down(from, layout.top, layout.bottom()).down(to, layout.top, layout.bottom());
}

fn target_only(words: &str) -> String {
    words.split_once(" within").map_or(words, |(target, _)| target).to_string()
}

/// The band within the band, left, top, width and height: darker, without edges of its own.
fn inner(pen: &Pen, (left, top, width, height): (f64, f64, f64, f64)) {
    pen.on.set_global_alpha(0.2);
    pen.colour(INK).block(left, top, width, height);
    pen.on.set_global_alpha(1.0);
}

/// Figures below a graph, as many as there is room for.
fn figures(pen: &Pen, layout: &Layout, lane: Lane, (from, to): (f64, f64), about: f64) {
    let about = if lane.width < 90.0 && about > 3.0 { 2.0 } else { about };
    for mark in crate::parts::layout::even_marks(from, to, about) {
        let x = lane.left + (mark - from) / (to - from) * lane.width;
        pen.colour(INK).down(x, layout.bottom() + 6.0, layout.bottom() + 11.0);
        if mark > from && x < lane.left + lane.width - 2.0 {
            pen.on.set_global_alpha(0.16);
            pen.down(x, layout.top, layout.bottom());
            pen.on.set_global_alpha(1.0);
        }
        pen.text(&digits_of(mark, 2), x, layout.bottom() + 14.0 + pen.small, Align::Centre);
    }
}

/// Text turned along the axis, on a halo of the graph's ground so that curves may cross it.
fn upright(pen: &Pen, words: &str, x: f64, y: f64, align: Align) {
    pen.on.save();
    let _ = pen.on.translate(x, y);
    let _ = pen.on.rotate(-std::f64::consts::FRAC_PI_2);
    pen.on.set_line_join("round");
    pen.colour(PLOT).width(4.0);
    pen.outline(words, 0.0, 0.0, align);
    pen.colour(INK).width(1.0).text(words, 0.0, 0.0, align);
    pen.on.restore();
}

/// The section lying: position to the right, film upwards.
fn lying(pen: &Pen, app: &App, (left, right): (f64, f64), (top, bottom): (f64, f64)) {
    let ends = ends(app);
    let length = if app.turned() { app.job.panel.length.0 } else { app.job.panel.width.0 };
    let y = |film: f64| bottom - (bottom - top) * ((film - ends.0) / (ends.1 - ends.0)).clamp(0.0, 1.0);
    let place = |(along, film): (f64, f64)| (left + (right - left) * along / length, y(film));
    let (symbol, factor, _) = Unit::Micrometre.shown(*app.system);
    pen.dash(&[]).colour(PLOT).block(left, top, right - left, bottom - top);
    if let Some((low, high)) = window(app) {
        pen.colour(BAND).block(left, y(high), right - left, y(low) - y(high));
        pen.colour(INK).width(1.0).across(y(low), left, right).across(y(high), left, right);
        if let Some((low, high)) = unseen(app) {
            inner(pen, (left, y(high), right - left, y(low) - y(high)));
        }
    }
    pen.colour(INK).width(1.0).across(bottom, left, right).down(left, top, bottom);
    for mark in crate::parts::layout::even_marks(ends.0 * factor, ends.1 * factor, 3.0) {
        let y = y(mark / factor);
        pen.across(y, left - 4.0, left).text(&digits_of(mark, 2), left - 7.0, y + 4.0, Align::Right);
    }
    let patch = app.shown.rehearsal().patch();
    let (dashed, dashes) = match &*app.held {
        Some(held) => (cut(app, held.shown.rehearsal().patch(), held.shown.finished()), "held"),
        None => (cut(app, patch, app.shown.finished()), "finished"),
    };
    if !app.job.coats.is_empty() {
        pen.width(1.0).dash(&[3.0, 2.0]).line(dashed.into_iter().map(place)).dash(&[]);
        pen.width(1.8).line(cut(app, patch, crate::figure::film::present(app)).into_iter().map(place)).width(1.0);
    }
    let ends = if app.turned() { "left edge to right edge" } else { "near edge to far edge" };
    let dashed = if app.held.is_none() && app.ended() { String::new() } else { format!("; dashed: {dashes}") };
    let plain = format!("film, {symbol}, {ends}{dashed}");
    let told = [format!("{plain}; band: {}", words(app)), format!("{plain}; band: target"), plain];
    let fits = told.iter().find(|words| pen.measure(words) < right - left).unwrap_or(&told[2]);
    pen.text(fits, left, bottom + pen.small + 4.0, Align::Left);
}
