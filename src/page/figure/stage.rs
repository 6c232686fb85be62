//! The stage: the panel's picture, and over it rulers, passes, gun, contours, section line, probe and the section's
//! graphs, all at one scale. Reads the app; changes nothing.

use crate::figure::film::{change_top, changes, present, present_base};
use crate::figure::maps;
use crate::figure::section;
use crate::figure::sprayer;
use crate::parts::dom;
use crate::parts::layout::{Layout, Room};
use crate::parts::pen::{Align, INK, PAPER, Pen};
use crate::parts::shown::Shown;
use crate::parts::sight::Look;
use crate::shell::app::{App, Held, View, section_reach};
use crate::shell::room::{InHand, Layer};
use fanlap::colour::ScreenSpace;
use fanlap::job::inputs::{INPUTS, Input, Kind, System, Unit};
use fanlap::job::{Job, at};
use fanlap::panel::Patch;
use fanlap::picture::{Palette, Picture};
use fanlap::rehearsal::Doing;
use fanlap::words::{digits_of, shown};
use glam::DVec2;
use serde_json::Value;
use wasm_bindgen::prelude::*;
use wasm_bindgen::{Clamped, JsCast};
use web_sys::{CanvasRenderingContext2d, HtmlCanvasElement, HtmlInputElement};

#[wasm_bindgen]
extern "C" {
    /// `ImageData` with a colour space, which the bindings do not offer.
    #[wasm_bindgen(js_name = ImageData)]
    type SpacedImage;
    #[wasm_bindgen(constructor, js_class = "ImageData", catch)]
    fn new(data: Clamped<&[u8]>, columns: u32, rows: u32, settings: &JsValue) -> Result<SpacedImage, JsValue>;
}

/// Most pixels of the panel's picture: beyond it the browser enlarges.
const MOST_PIXELS: f64 = 700_000.0;

/// Puts the picture and the handles where the layout says.
pub fn place(app: &App) {
    let whole = dom::by_id("stage");
    let stage = (f64::from(whole.client_width()), f64::from(whole.client_height()));
    let layout = &app.layout;
    let picture = dom::by_id("paint");
    let px = |value: f64| format!("{value}px");
    let empty = dom::by_id("empty");
    for (name, value) in
        [("left", layout.left), ("top", layout.top), ("width", layout.width), ("height", layout.height)]
    {
        dom::style(&picture, name, &px(value));
        dom::style(&empty, name, &px(value));
    }
    let handle = |id: &str, top: f64| {
        let handle = dom::input(id);
        dom::style(&handle, "left", &px(layout.left - 12.0));
        dom::style(&handle, "width", &px(layout.width + 24.0));
        dom::style(&handle, "top", &px(top));
    };
    let section = dom::input("section-handle");
    if app.turned() {
        // turned a quarter to the left about its corner: its left end lies at the near edge
        dom::style(&section, "left", &px(layout.left - 20.0));
        dom::style(&section, "top", &px(layout.bottom() + 12.0));
        dom::style(&section, "width", &px(layout.height + 24.0));
    } else {
        handle("section-handle", layout.top - 20.0);
    }
    dom::class(&section, "turned", app.turned());
    dom::set(
        &section,
        "aria-label",
        if app.turned() { "Section line, from the near edge" } else { "Section line, from the left edge" },
    );
    handle("divider-handle", layout.top + layout.height / 2.0 - 22.0);
    section.set_max(&section_reach(&app.job).to_string());
    section.set_step(&app.job.panel.cell.0.to_string());
    let root = whole.owner_document().and_then(|page| page.document_element());
    if let Some(root) = root.map(|root| root.unchecked_into::<web_sys::HtmlElement>()) {
        dom::style(&root, "--stage-w", &px(stage.0));
        dom::style(&root, "--stage-h", &px(stage.1));
        dom::style(&root, "--stage-zoom", &(690.0 / stage.0.max(1.0)).to_string());
    }
}

/// Draws the panel's picture at the present moment.
pub fn paint(app: &App) {
    let canvas: HtmlCanvasElement = dom::by_id("paint").unchecked_into();
    let ratio = dom::window().device_pixel_ratio().max(1.0);
    let wanted = app.layout.width * app.layout.height * ratio * ratio;
    let ratio = ratio * (MOST_PIXELS / wanted).sqrt().min(1.0);
    let (columns, rows) = ((app.layout.width * ratio).round() as usize, (app.layout.height * ratio).round() as usize);
    if columns == 0 || rows == 0 {
        return;
    }
    if canvas.width() as usize != columns || canvas.height() as usize != rows {
        canvas.set_width(columns as u32);
        canvas.set_height(rows as u32);
    }
    let film = present(app);
    let mut picture = Picture { columns, rows, rgba: Vec::new() };
    let dithered = *app.view == View::Paint;
    match &*app.held {
        Some(held) if held.change => {
            let changes = changes(app, held);
            let palette = Palette::change(change_top(&changes));
            fanlap::picture::draw(&palette, app.shown.rehearsal.patch(), (&changes, None), false, &mut picture);
        }
        held => {
            let (patch, values) = layer(app, &app.shown, film);
            let films = (values, present_base(app));
            fanlap::picture::draw(&palette(app, None), patch, films, dithered, &mut picture);
            if let Some(held) = held {
                split(app, held, dithered, &mut picture);
            }
        }
    }
    // the maps are defined in sRGB; the paint in the screen's own space
    let space = if *app.view == View::Paint && app.space == ScreenSpace::DisplayP3 { "display-p3" } else { "srgb" };
    put(&context(&canvas, app.space), &picture, space);
}

/// The palette of the view, for the present result or a held one.
fn palette(app: &App, held: Option<&Held>) -> Palette {
    let shown = held.map_or(&app.shown, |held| &held.shown);
    match *app.view {
        View::Paint => shown.paint.clone(),
        View::Film => Palette::film(app.film_ends()),
        View::Difference => Palette::difference(&shown.appearance, app.scales.difference, shown.most),
        View::Seen => Palette::times(app.scales.times),
    }
}

/// What the view draws of a result, cell by cell: its film at that moment, or what is seen when it is finished.
fn layer<'a>(app: &App, shown: &'a Shown, film: &'a [f64]) -> (&'a Patch, &'a [f64]) {
    match &shown.sight {
        Some(sight) if *app.view == View::Seen && !app.veiled() => (&sight.patch, &sight.times),
        _ => (shown.rehearsal.patch(), film),
    }
}

/// The held result left of the divider.
fn split(app: &App, held: &Held, dithered: bool, picture: &mut Picture) {
    let mut left = Picture { columns: picture.columns, rows: picture.rows, rgba: Vec::new() };
    let (patch, values) = layer(app, &held.shown, &held.shown.finished);
    let films = (values, held.shown.base.as_deref());
    fanlap::picture::draw(&palette(app, Some(held)), patch, films, dithered, &mut left);
    let until = (*app.divider * picture.columns as f64).round() as usize * 4;
    let line = picture.columns * 4;
    for (now, then) in picture.rgba.chunks_exact_mut(line).zip(left.rgba.chunks_exact(line)) {
        now[..until].copy_from_slice(&then[..until]);
    }
}

fn context(canvas: &HtmlCanvasElement, space: ScreenSpace) -> CanvasRenderingContext2d {
    let options = js_sys::Object::new();
    let set = |name: &str, value: JsValue| js_sys::Reflect::set(&options, &name.into(), &value);
    let _ = set("alpha", false.into());
    if space == ScreenSpace::DisplayP3 {
        let _ = set("colorSpace", "display-p3".into());
    }
    let context = canvas.get_context_with_context_options("2d", &options).ok().flatten();
    context.expect("every browser draws in two dimensions").unchecked_into()
}

fn put(context: &CanvasRenderingContext2d, picture: &Picture, space: &str) {
    let settings = js_sys::Object::new();
    let _ = js_sys::Reflect::set(&settings, &"colorSpace".into(), &space.into());
    let image = SpacedImage::new(Clamped(&picture.rgba), picture.columns as u32, picture.rows as u32, &settings);
    if let Ok(image) = image {
        let image: &web_sys::ImageData = image.unchecked_ref();
        context.put_image_data(image, 0.0, 0.0).expect("a picture fits its canvas");
    }
}

/// Draws everything over and around the picture.
pub fn draw(app: &mut App) {
    let canvas = dom::canvas("drawing");
    let pen = Pen { on: &canvas.context, small: 0.6875 * dom::rem() };
    let layout = *app.layout;
    let bare = app.job.coats.is_empty();
    dom::by_id("empty").set_hidden(!bare);
    if bare {
        empty(&pen, &layout);
    }
    if *app.view != View::Paint {
        maps::contours_of(app, &pen);
    }
    rulers(&pen, &layout, app);
    if app.held.is_none() {
        passes(&pen, app);
    }
    pen.colour(INK).width(1.0).dash(&[]).frame(
        layout.left - 1.0,
        layout.top - 1.0,
        layout.width + 2.0,
        layout.height + 2.0,
    );
    let no_section = bare || app.veiled();
    dom::input("section-handle").set_hidden(no_section);
    dom::by_id("section-near").set_hidden(no_section);
    if !no_section {
        section_line(&pen, app);
        section::draw(&pen, app);
    }
    app.rooms.iter().for_each(|room| room.draw(app, &pen, Layer::Under));
    let by_itself = || {
        let pose = app.shown.rehearsal.pose_at(*app.time)?;
        let sprays = matches!(app.doing(), Doing::Spraying(_));
        Some(InHand { pose, sprays, travel: sprayer::travel(app) })
    };
    let gun = app.gun_in_hand().or_else(by_itself);
    mark(app, gun.as_ref().map(|gun| &gun.pose));
    if let Some(InHand { pose, sprays, travel }) = gun {
        // the gun stays on its side of the section
        let until = layout.film.map_or(canvas.width, |lane| lane.left - 44.0);
        pen.on.save();
        let under = layout.below.map_or(canvas.height, |(top, _)| top - 4.0);
        pen.path([(0.0, 0.0), (until, 0.0), (until, under), (0.0, under)]).on.clip();
        sprayer::draw(&pen, app, &pose, sprays, travel);
        pen.on.restore();
    }
    app.rooms.iter().for_each(|room| room.draw(app, &pen, Layer::Over));
    remark(&pen, app);
    divider(&pen, app);
    probe(&pen, app);
    maps::scale_bar(app);
}

/// Says in the document what the drawing shows, for checks and for scripts: time, gun, and which grid.
fn mark(app: &App, pose: Option<&fanlap::gun::Pose>) {
    let stage = dom::by_id("stage");
    let gun = pose.map(|pose| format!("{:.1} {:.1}", pose.nozzle.x, pose.nozzle.y));
    dom::set(&stage, "data-gun", &gun.unwrap_or_default());
    dom::set(&stage, "data-time", &format!("{:.3}", app.time.0));
    let grid = app.full.name();
    dom::set(&stage, "data-grid", grid);
    dom::set(&stage, "data-seen", if matches!(app.look, Look::Done) { grid } else { "due" });
}

fn empty(pen: &Pen, layout: &Layout) {
    let inset = 24.0_f64.min(layout.height / 6.0);
    pen.colour(INK).width(1.0).dash(&[4.0, 3.0]);
    pen.frame(layout.left + inset, layout.top + inset, layout.width - 2.0 * inset, layout.height - 2.0 * inset);
    pen.dash(&[]);
}

/// Rulers in mm or inches below and at the right of the panel.
fn rulers(pen: &Pen, layout: &Layout, app: &App) {
    let (symbol, per_mm) = match *app.system {
        System::Metric => ("mm", 1.0),
        System::Us => ("in", 1.0 / 25.4),
    };
    // figures at least 56 px apart
    let wide = |step: &&(f64, f64)| step.1 / per_mm * layout.scale >= 3.5 * pen.small + 18.0;
    let steps: &[(f64, f64)] = match *app.system {
        System::Metric => &[(10.0, 50.0), (25.0, 100.0), (50.0, 200.0), (100.0, 500.0), (250.0, 1000.0)],
        System::Us => &[(1.0, 2.0), (1.0, 6.0), (2.0, 12.0), (6.0, 24.0), (12.0, 48.0)],
    };
    let (fine, coarse) = *steps.iter().find(wide).unwrap_or(&steps[steps.len() - 1]);
    pen.colour(INK).width(1.0).dash(&[]);
    let marks = |length: f64| (0..=(length * per_mm / fine + 1e-9) as usize).map(move |i| i as f64 * fine);
    let is_coarse = |value: f64| (value / coarse).fract().abs() < 1e-9;
    let base = layout.bottom() + 6.0;
    pen.across(base, layout.left, layout.right());
    for mark in marks(app.job.panel.length.0) {
        let x = layout.left + mark / per_mm * layout.scale;
        let long = is_coarse(mark);
        pen.down(x, base, base + if long { 6.0 } else { 4.0 });
        let last = mark + coarse > app.job.panel.length.0 * per_mm + 1e-9;
        if long {
            let text = if last { format!("{mark} {symbol}") } else { format!("{mark}") };
            pen.text(&text, x, base + 8.0 + pen.small, Align::Centre);
        }
    }
    let x = layout.film.map_or(layout.right() + 14.0, |lane| lane.left);
    let outward = if layout.film.is_some() { -1.0 } else { 1.0 };
    pen.down(x, layout.top, layout.bottom());
    for mark in marks(app.job.panel.width.0) {
        let y = layout.y(mark / per_mm);
        let long = is_coarse(mark);
        pen.across(y, x, x + outward * if long { 6.0 } else { 4.0 });
        if long {
            let align = if outward < 0.0 { Align::Right } else { Align::Left };
            pen.text(&format!("{mark}"), x + outward * 9.0, y + pen.small * 0.36, align);
        }
    }
}

/// The passes of the coat under the gun: laid, being laid, to come.
fn passes(pen: &Pen, app: &App) {
    let (layout, rehearsal) = (&app.layout, &app.shown.rehearsal);
    let Some(coat) = app.present_coat() else { return };
    let gap = rehearsal
        .passes()
        .iter()
        .find(|p| p.coat == coat && !p.line.rim)
        .map(|_| app.job.coats[coat].spacing(&app.job.gun).0);
    let every = (1.6 * pen.small / (gap.unwrap_or(100.0) * layout.scale)).ceil().max(1.0) as usize;
    let present = match app.doing() {
        Doing::Spraying(pass) => rehearsal.passes()[pass].number,
        _ => 0,
    };
    let far_from_present = |number: usize| every == 1 || present == 0 || number.abs_diff(present) >= every;
    // lines beyond the panel's near and far edges have no room beside it
    let beside = |line: &fanlap::strokes::Line| {
        let (from, to) = (layout.on_stage(line.from), layout.on_stage(line.to));
        let (x, y) = ((from.0 + to.0) / 2.0, (from.1 + to.1) / 2.0);
        (layout.left - 1.0..=layout.right() + 1.0).contains(&x)
            && (layout.top - 1.0..=layout.bottom() + 1.0).contains(&y)
    };
    let of_coat = || rehearsal.passes().iter().filter(|pass| pass.coat == coat && !pass.line.rim);
    if layout.room != Room::Narrow && layout.room != Room::Tablet {
        outside(pen, layout, of_coat().filter(|pass| !beside(&pass.line)));
    }
    for pass in of_coat().filter(|pass| beside(&pass.line)) {
        let (from, to) = (layout.on_stage(pass.line.from), layout.on_stage(pass.line.to));
        let along_length = (from.1 - to.1).abs() < 1e-6;
        let (laid, present) = (pass.end.0 <= app.time.0, pass.start.0 <= app.time.0 && app.time.0 < pass.end.0);
        pen.colour(INK).width(1.0);
        if along_length && layout.room != Room::Narrow {
            let number = pass.number.to_string();
            let y = from.1 + pen.small * 0.36;
            let x = layout.left - if layout.room == Room::Tablet { 12.0 } else { 38.0 };
            let wide_enough = layout.room != Room::Tablet;
            if wide_enough && present {
                pen.bold(&number, x, y, Align::Right);
            } else if wide_enough && pass.number % every == 0 && far_from_present(pass.number) {
                pen.text(&number, x, y, Align::Right);
            }
        }
        if laid {
            if along_length && layout.room != Room::Narrow {
                let x = layout.left - if layout.room == Room::Tablet { 14.0 } else { 30.0 };
                pen.block(x, (from.1 - 1.5).round(), 8.0, 3.0);
            }
            continue;
        }
        to_come(pen, layout, (from, to), (present, *app.view == View::Paint));
    }
}

/// The numbers of the passes that run beyond the far and the near edge.
fn outside<'a>(pen: &Pen, layout: &Layout, passes: impl Iterator<Item = &'a fanlap::rehearsal::Pass>) {
    let (mut far, mut near) = (Vec::new(), Vec::new());
    for pass in passes.filter(|pass| pass.line.direction().x.abs() > 0.5) {
        let place = if layout.y(pass.line.from.y) < layout.top { &mut far } else { &mut near };
        place.push(pass.number);
    }
    let words = |numbers: &[usize]| match numbers {
        [] => String::new(),
        [one] => one.to_string(),
        [first, .., last] => format!("{}\u{2013}{}", first.min(last), first.max(last)),
    };
    for (words, y) in [(words(&far), layout.top - 4.0), (words(&near), layout.bottom() + pen.small + 2.0)] {
        let x = (layout.left - 32.0).max(pen.measure(&words) + 4.0);
        pen.colour(INK).text(&words, x, y, Align::Right);
    }
}

/// What the picture itself cannot say.
fn remark(pen: &Pen, app: &App) {
    let layout = &app.layout;
    let middle = (layout.left + layout.width / 2.0, layout.top + layout.height / 2.0);
    if let Some(held) = app.held.as_ref().filter(|held| held.change) {
        if changes(app, held).iter().all(|change| change.abs() < 0.05) {
            on_paper(pen, "No change of film anywhere on the panel.", middle);
        }
        return;
    }
    if *app.view != View::Seen || app.job.coats.is_empty() {
        return;
    }
    if app.held.is_none() && app.shown.sight.as_ref().is_none_or(|sight| !sight.anywhere()) {
        on_paper(pen, &maps::nothing_seen(app), middle);
    }
    if !app.ended() {
        let words = "Of the finished job, whatever the gun has laid by now.";
        let left = layout.left + 16.0 + pen.measure(words) / 2.0;
        on_paper(pen, words, (left, layout.bottom() - pen.small - 4.0));
    }
}

/// Words on paper of their own, over the picture.
fn on_paper(pen: &Pen, words: &str, (x, y): (f64, f64)) {
    let width = pen.measure(words) + 16.0;
    pen.colour(PAPER).block(x - width / 2.0, y - pen.small - 4.0, width, 2.0 * pen.small);
    pen.colour(INK).text(words, x, y, Align::Centre);
}

/// A pass to come: full outside the panel with an arrow where the trigger closes, dotted over it; dashed if it is the
/// one under the gun.
fn to_come(pen: &Pen, layout: &Layout, (from, to): ((f64, f64), (f64, f64)), (present, over_paint): (bool, bool)) {
    let way = DVec2::new(to.0 - from.0, to.1 - from.1).normalize();
    let way = (way.x, way.y);
    let room = (layout.left - 12.0).min(30.0);
    let clamp = |(x, y): (f64, f64)| {
        (x.clamp(layout.left - room, layout.right() + room), y.clamp(layout.top - 10.0, layout.bottom() + 5.0))
    };
    let within = |(x, y): (f64, f64)| (x.clamp(layout.left, layout.right()), y.clamp(layout.top, layout.bottom()));
    let (start, end) = (clamp(from), clamp(to));
    let (enter, leave) = (within(from), within(to));
    let crisp = |(x, y): (f64, f64)| if way.0.abs() > 0.5 { (x, y.round() + 0.5) } else { (x.round() + 0.5, y) };
    pen.colour(INK).width(1.0).dash(&[]).line([crisp(start), crisp(enter)]).line([crisp(leave), crisp(end)]);
    let tip = crisp(end);
    let back = |side: f64| (tip.0 - 5.0 * way.0 - side * way.1 * 3.0, tip.1 - 5.0 * way.1 + side * way.0 * 3.0);
    pen.line([back(1.0), tip, back(-1.0)]);
    let over = if present { [5.0, 4.0] } else { [1.0, 5.0] };
    pen.on.set_global_alpha(if present { 1.0 } else { 0.55 });
    pen.colour(if over_paint { INK } else { PAPER }).dash(&over).line([crisp(enter), crisp(leave)]).dash(&[]);
    pen.on.set_global_alpha(1.0);
}

/// The section line with its halo.
fn section_line(pen: &Pen, app: &App) {
    let layout = &app.layout;
    let line = |from: f64| {
        if app.turned() {
            pen.across(layout.y(*app.section), layout.left - from, layout.right());
        } else {
            pen.down(layout.left + *app.section * layout.scale, layout.top - from, layout.bottom());
        }
    };
    pen.on.set_global_alpha(0.75);
    pen.colour(PAPER).width(3.0).dash(&[]);
    line(0.0);
    pen.on.set_global_alpha(1.0);
    pen.colour(INK).width(1.0);
    line(6.0);
    let handle = dom::input("section-handle");
    handle.set_value(&app.section.to_string());
    let (symbol, factor, digits) = Unit::Millimetre.shown(*app.system);
    dom::set(
        &handle,
        "aria-valuetext",
        &format!("{} {symbol} {}", digits_of(*app.section * factor, digits), section::from_edge(app)),
    );
}

/// The divider between held and now.
fn divider(pen: &Pen, app: &App) {
    let handle: HtmlInputElement = dom::input("divider-handle");
    let Some(held) = app.held.as_ref().filter(|held| !held.change) else {
        handle.set_hidden(true);
        return;
    };
    handle.set_hidden(false);
    handle.set_value(&(*app.divider * 1000.0).to_string());
    let share = (*app.divider * 100.0).round();
    dom::set(&handle, "aria-valuetext", &format!("held on the left {share} %, now on the right {} %", 100.0 - share));
    let layout = &app.layout;
    let x = layout.left + *app.divider * layout.width;
    pen.colour(PAPER).width(3.0).dash(&[]).down(x, layout.top, layout.bottom());
    pen.colour(INK).width(1.0).down(x, layout.top - 6.0, layout.bottom());
    let y = layout.top - 8.0;
    let (then, now) = differing(app, &held.job);
    let caption = |name: &str, settings: &str, from: f64, until: f64| {
        if until - from < 44.0 {
            return;
        }
        pen.bold(name, from, y, Align::Left);
        let indent = pen.measure(name) * 1.15 + 8.0;
        if pen.measure(settings) + indent < until - from {
            pen.text(settings, from + indent, y, Align::Left);
        }
    };
    let (held, present) = app.beside();
    caption(held, &then, layout.left, x - 8.0);
    caption(present, &now, x + 8.0, layout.right());
}

/// The settings that differ between a held job and this one, as each has them; of coats, those of the first.
fn differing(app: &App, held: &Job) -> (String, String) {
    let (then, now) = (held.value(), app.job.value());
    let pairs: Vec<(String, String)> = INPUTS
        .iter()
        .filter(|input| !matches!(input.kind, Kind::Text(_)))
        .filter_map(|input| {
            let path = input.path.replace("[]", "[0]");
            let (a, b) = (at(&then, &path)?, at(&now, &path)?);
            let words = |value: &Value| format!("{} {}", input.name.to_lowercase(), setting(app, input, value));
            (a != b).then(|| (words(a), words(b)))
        })
        .collect();
    const NAMED: usize = 3;
    let more = if pairs.len() > NAMED { format!(", and {} more", pairs.len() - NAMED) } else { String::new() };
    let list = |words: fn(&(String, String)) -> &String| {
        pairs.iter().take(NAMED).map(|pair| words(pair).as_str()).collect::<Vec<_>>().join(", ") + &more
    };
    (list(|pair| &pair.0), list(|pair| &pair.1))
}

/// A setting in words.
fn setting(app: &App, input: &Input, value: &Value) -> String {
    match (input.kind, value) {
        (Kind::Number(range), value) => {
            value.as_f64().map_or("none".to_string(), |v| shown(range.unit, v, *app.system))
        }
        (Kind::Choice(options, _), value) => {
            let given = value.to_string();
            let words = options.iter().find(|(json, _)| *json == given).map(|(_, words)| *words);
            words.unwrap_or("other").to_string()
        }
        (_, Value::Bool(on)) => if *on { "yes" } else { "no" }.to_string(),
        _ => String::new(),
    }
}

/// The ring of the probe and the line to its call-out.
fn probe(pen: &Pen, app: &App) {
    let Some(probe) = *app.probe else { return };
    let (x, y) = app.layout.on_stage(probe.place);
    let cross = |pen: &Pen| {
        pen.circle(x, y, 7.0);
        for (dx, dy) in [(1.0, 0.0), (-1.0, 0.0), (0.0, 1.0), (0.0, -1.0)] {
            pen.line([(x + 4.0 * dx, y + 4.0 * dy), (x + 12.0 * dx, y + 12.0 * dy)]);
        }
    };
    pen.dash(&[]).colour(PAPER).width(3.0);
    cross(pen);
    pen.colour(INK).width(1.2);
    cross(pen);
}
