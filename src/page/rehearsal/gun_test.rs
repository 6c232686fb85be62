//! Two trials within the gun's settings: a flood test of the present gun, and the gun fitted to a test card. Draws
//! both; what they say comes from the gun.

use crate::parts::dom;
use crate::parts::pen::{Align, INK, PAPER, PLOT, Pen};
use crate::parts::typed::number_typed;
use crate::shell::app::App;
use crate::shell::controls;
use crate::shell::room::States;
use crate::shell::run::with;
use fanlap::error::Problem;
use fanlap::gun::{Flood, Gun, GunFit, TestCard, USUAL_FLOOD, flood};
use fanlap::job::inputs::{System, Unit, input};
use fanlap::units::{Micrometres, Millimetres};
use fanlap::words::{digits_of, shown};
use serde_json::{Value, json};
use wasm_bindgen::JsCast;
use web_sys::{HtmlButtonElement, HtmlElement, HtmlTextAreaElement};

/// A fit, and what it belongs to.
type Fitted = Option<(TestCard, Gun, Result<GunFit, Problem>)>;

/// Its state when the page opens.
pub fn state(states: &mut States) {
    states.put::<Fitted>(None);
}

fn fitted(app: &App) -> &Fitted {
    app.states.of()
}

/// Builds the controls and listens.
pub fn listen() {
    let paths = ["distance_mm", "speed_mm_per_s", "solids_by_volume", "fluid_ml_per_min"];
    let paths: Vec<String> = paths.iter().map(|key| format!("test_card.{key}")).collect();
    controls::add(&dom::by_id("test-card-controls"), &paths.iter().map(String::as_str).collect::<Vec<_>>());
    let click = |id: &'static str, f: fn(&mut App)| dom::on(&dom::by_id(id), "click", move |_| with(f));
    click("test-card-begin", begin);
    click("test-card-remove", |app| take(app, Value::Null));
    click("test-card-use", use_gun);
    dom::on(&dom::by_id("test-card-readings"), "change", |_| with(read));
}

/// Brings both trials in step with the job, while they are open.
pub fn sync(app: &mut App) {
    let group: HtmlElement = dom::part(&dom::by_id("more-settings"), "details:has(#flood-graph)");
    if !group.has_attribute("open") || dom::by_id("more-settings").hidden() {
        return;
    }
    let (distance, sag_limit) = app.job.flood_test();
    let flooded = flood(&app.job.gun, distance, USUAL_FLOOD, sag_limit);
    let note = format!(
        "The gun held still for {} s in front of a standing panel, {} away; paint runs above {} of wet film.",
        USUAL_FLOOD.0,
        shown(Unit::Millimetre, distance.0, *app.system),
        shown(Unit::Micrometre, sag_limit.0, *app.system)
    );
    dom::say(&dom::by_id("flood-note"), &note);
    dom::say(&dom::by_id("flood-words"), flooded.verdict.words());
    draw_flood(app, &flooded, sag_limit);
    card(app);
}

fn begin(app: &mut App) {
    let coat = app.job.coats.first();
    let solids = app.job.tinted().map_or(0.42, |paint| app.job.paints[paint].solids_by_volume.0);
    let card = json!({
        "distance_mm": coat.map_or(app.job.gun.at_distance.0, |coat| coat.distance.0),
        "speed_mm_per_s": coat.map_or(500.0, |coat| coat.speed.0),
        "solids_by_volume": solids,
        "readings": [],
    });
    take(app, card);
    let _ = dom::by_id("test-card-readings").focus();
}

fn take(app: &mut App, card: Value) {
    if let Err(problem) = app.set(&["test_card".to_string()], &card) {
        dom::say(&dom::by_id("test-card-trouble"), &problem.to_string());
    }
}

fn use_gun(app: &mut App) {
    let Some((_, _, Ok(fit))) = fitted(app) else { return };
    let gun = serde_json::to_value(&fit.gun).unwrap_or_default();
    match app.set(&["gun".to_string()], &gun) {
        Ok(()) => dom::say(&dom::by_id("said"), "The job now sprays with the fitted gun."),
        Err(problem) => dom::say(&dom::by_id("test-card-trouble"), &problem.to_string()),
    }
}

fn area() -> HtmlTextAreaElement {
    dom::by_id("test-card-readings").unchecked_into()
}

/// Reads the typed pairs; what cannot be read stays in the field with its reason.
fn read(app: &mut App) {
    let (text, (_, mm, _), (_, um, _)) =
        (area().value(), Unit::Millimetre.shown(*app.system), Unit::Micrometre.shown(*app.system));
    let mut readings = Vec::new();
    for (i, line) in text.lines().enumerate().filter(|(_, line)| !line.trim().is_empty()) {
        let pair: Option<Vec<f64>> = parts(line).iter().map(|part| number_typed(part)).collect();
        let Some([place, film]) = pair.as_deref() else {
            let text = format!(
                "Line {}: \u{201c}{}\u{201d} is no pair of numbers. Write a place and its film, such as \
                 \u{201c}-100 2.5\u{201d}. The \
                 last good readings are still used.",
                i + 1,
                line.trim()
            );
            dom::say(&dom::by_id("test-card-trouble"), &text);
            dom::set(&area(), "data-wrong", "");
            return;
        };
        readings.push(json!([place / mm, film / um]));
    }
    let _ = area().remove_attribute("data-wrong");
    dom::say(&dom::by_id("test-card-trouble"), "");
    let Some(mut card) = app.job.get("test_card").filter(Value::is_object) else { return };
    card["readings"] = readings.into();
    take(app, card);
}

/// The two numbers of a line: parted by a semicolon, a tab or spaces; by a comma only where it is no decimal one.
fn parts(line: &str) -> Vec<&str> {
    let line = line.trim();
    if line.contains([';', '\t']) {
        return line.split([';', '\t']).map(str::trim).filter(|part| !part.is_empty()).collect();
    }
    let spaced: Vec<&str> = line.split_whitespace().map(|part| part.trim_end_matches(',')).collect();
    if spaced.len() == 2 { spaced } else { line.split(',').map(str::trim).collect() }
}

fn card(app: &mut App) {
    let given = app.job.test_card.clone();
    dom::by_id("test-card-begin").set_hidden(given.is_some());
    dom::by_id("test-card-body").set_hidden(given.is_none());
    let Some(given) = given else {
        *app.states.of_mut::<Fitted>() = None;
        return;
    };
    let (mm, um) = (Unit::Millimetre.shown(*app.system), Unit::Micrometre.shown(*app.system));
    dom::say(&dom::by_id("test-card-label"), &format!("Place across the fan, {}, and dry film, {}", mm.0, um.0));
    let active = dom::document().active_element().is_some_and(|active| active == **area());
    if !active && area().get_attribute("data-wrong").is_none() {
        let line = |(at, film): &(Millimetres, Micrometres)| {
            format!("{} {}", digits_of(at.0 * mm.1, 2), digits_of(film.0 * um.1, 3))
        };
        let text = given.readings.iter().map(line).collect::<Vec<_>>().join("\n").replace('\u{2212}', "-");
        area().set_value(&text);
    }
    let fresh = fitted(app).as_ref().is_none_or(|(card, gun, _)| *card != given || *gun != app.job.gun);
    if fresh {
        let fit = given.fit(&app.job.gun);
        *app.states.of_mut::<Fitted>() = Some((given, app.job.gun.clone(), fit));
    }
    let Some((card, gun, fit)) = fitted(app) else { return };
    let use_it: HtmlButtonElement = dom::by_id("test-card-use").unchecked_into();
    let in_use = fit.as_ref().is_ok_and(|fit| same(gun, &fit.gun));
    use_it.set_disabled(fit.is_err() || in_use);
    dom::say(&use_it, if in_use { "In use" } else { "Use this gun" });
    dom::by_id("test-card-graph").set_hidden(card.readings.is_empty());
    rows(*app.system, gun, fit.as_ref().ok());
    let words = match fit {
        Err(_) if card.readings.is_empty() => {
            "Type or paste the readings: at ten places and more, beyond both edges.".to_string()
        }
        Err(problem) => problem.to_string(),
        Ok(fit) => in_words(*app.system, fit),
    };
    dom::say(&dom::by_id("test-card-words"), &words);
    draw_card(app, card, fit.as_ref().ok());
}

fn in_words(system: System, fit: &GunFit) -> String {
    let scatter = format!("The readings lie within {} of the fitted pass.", fine(system, fit.rms.0));
    let doubts = fit.doubts.iter().map(|doubt| doubt.words());
    [scatter].into_iter().chain(doubts).collect::<Vec<_>>().join("\n")
}

/// A film with one digit more than usual.
fn fine(system: System, um: f64) -> String {
    let (symbol, factor, digits) = Unit::Micrometre.shown(system);
    format!("{} {symbol}", digits_of(um * factor, digits + 1))
}

/// The numbers that a fit finds.
fn found(gun: &Gun) -> [f64; 6] {
    [gun.fan_width.0, gun.pass_exponent, gun.heavy_end.0, gun.split.0, gun.fluid.0, gun.transfer_efficiency.0]
}

/// Whether two guns lay the same film, as far as a test card tells.
fn same(one: &Gun, other: &Gun) -> bool {
    found(one).iter().zip(found(other)).all(|(a, b)| (a - b).abs() <= 2e-3 * a.abs().max(b.abs()).max(0.1))
}

fn rows(system: System, now: &Gun, fit: Option<&GunFit>) {
    let body = dom::by_id("test-card-rows");
    body.set_inner_html("");
    let Some(fit) = fit else { return };
    let within = fit.within.as_ref();
    let off = within.map(|w| [w.fan_width.0, w.pass_exponent, w.heavy_end.0, w.split.0]);
    let keys = ["fan_width_mm", "pass_exponent", "heavy_end", "split", "fluid_ml_per_min", "transfer_efficiency"];
    for (i, key) in keys.iter().enumerate() {
        let Some(input) = input(&format!("gun.{key}")) else { continue };
        let Some(range) = input.range() else { continue };
        let (symbol, factor, digits) = range.unit.shown(system);
        let row = dom::template("fit-row");
        dom::say(&dom::part::<HtmlElement>(&row, "th"), input.name);
        let off = off
            .and_then(|off| off.get(i).copied())
            .map_or(String::new(), |off| format!(" \u{b1} {}", digits_of(off * factor, digits)));
        let word = |value: f64| digits_of(value * factor, digits);
        dom::say(&dom::part::<HtmlElement>(&row, ".now"), &word(found(now)[i]));
        dom::say(&dom::part::<HtmlElement>(&row, ".fitted"), &format!("{}{off}", word(found(&fit.gun)[i])));
        dom::say(&dom::part::<HtmlElement>(&row, ".unit"), symbol);
        body.append_child(&row).expect("elements can be appended");
    }
}

/// Readings and the fitted pass.
fn draw_card(app: &App, card: &TestCard, fit: Option<&GunFit>) {
    let canvas = dom::canvas("test-card-graph");
    let places: Vec<f64> = card.readings.iter().map(|(at, _)| at.0).collect();
    let (low, high) = places.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(a, b), x| (a.min(*x), b.max(*x)));
    let most = card.readings.iter().map(|(_, film)| film.0).fold(0.0, f64::max);
    if canvas.width < 60.0 || places.is_empty() || high <= low || most <= 0.0 {
        return;
    }
    let pen = Pen { on: &canvas.context, small: 0.6875 * dom::rem() };
    let (left, right, top, bottom) = (36.0, canvas.width - 10.0, 10.0, canvas.height - pen.small - 10.0);
    let x = |at: f64| left + (at - low) / (high - low) * (right - left);
    let y = |film: f64| bottom - film / (1.1 * most) * (bottom - top);
    pen.on.set_fill_style_str(PLOT);
    pen.block(left, top, right - left, bottom - top);
    pen.colour(INK).width(1.0).down(left - 1.0, top, bottom).across(bottom, left - 1.0, right);
    pen.text(&shown(Unit::Micrometre, most, *app.system), left + 4.0, y(most) - 3.0, Align::Left);
    for (at, align) in [(low, Align::Left), (high, Align::Right)] {
        pen.text(&shown(Unit::Millimetre, at, *app.system), x(at), bottom + pen.small + 4.0, align);
    }
    if let Some(fit) = fit {
        let curve = (0..=120).map(|i| low + (high - low) * f64::from(i) / 120.0);
        let laid = |at: f64| card.laid_by(&fit.gun, fit.centre, Millimetres(at)).0;
        pen.colour(INK).width(1.8).line(curve.map(|at| (x(at), y(laid(at)))));
    }
    for (at, film) in &card.readings {
        pen.on.begin_path();
        pen.on.arc(x(at.0), y(film.0), 3.5, 0.0, std::f64::consts::TAU).expect("a radius not below 0");
        pen.on.set_fill_style_str(PAPER);
        pen.on.fill();
        pen.colour(INK).width(1.2).circle(x(at.0), y(film.0), 3.5);
    }
}

/// Wet film along the fan above, runs hanging below.
fn draw_flood(app: &App, flooded: &Flood, sag_limit: Micrometres) {
    let canvas = dom::canvas("flood-graph");
    let (Some(first), Some(last)) = (flooded.profile.first(), flooded.profile.last()) else { return };
    if canvas.width < 60.0 {
        return;
    }
    let pen = Pen { on: &canvas.context, small: 0.6875 * dom::rem() };
    let (left, right, top) = (44.0, canvas.width - 10.0, pen.small + 16.0);
    let (middle, bottom) = (0.6 * canvas.height, canvas.height - pen.small - 8.0);
    let most = flooded.profile.iter().map(|column| column.wet.0).fold(1.2 * sag_limit.0, f64::max);
    let x = |at: f64| left + (at - first.at.0) / (last.at.0 - first.at.0) * (right - left);
    let y = |wet: f64| middle - wet / most * (middle - top);
    pen.on.set_fill_style_str(PLOT);
    let outline = flooded.profile.iter().map(|column| (x(column.at.0), y(column.wet.0)));
    pen.area(outline.chain([(right, middle), (left, middle)]));
    pen.colour(INK).width(1.8).line(flooded.profile.iter().map(|column| (x(column.at.0), y(column.wet.0))));
    pen.width(1.0).across(middle, left, right);
    pen.dash(&[3.0, 2.0]).across(y(sag_limit.0), left, right).dash(&[]);
    let (um, um_factor, um_digits) = Unit::Micrometre.shown(*app.system);
    pen.text(&format!("wet film, {um}; dashed: runs above"), left, pen.small + 3.0, Align::Left);
    pen.down(left - 1.0, top, middle);
    // 0 is left out where the limit stands too close above it
    let high = [most, sag_limit.0].into_iter().chain((middle - y(sag_limit.0) > 1.3 * pen.small).then_some(0.0));
    for wet in high.filter(|wet| *wet != most || y(sag_limit.0) - top > 1.3 * pen.small) {
        let wet_shown = wet * um_factor;
        let label = digits_of(wet_shown, if wet_shown < 100.0 { um_digits } else { 0 });
        pen.across(y(wet), left - 5.0, left - 1.0).text(&label, left - 8.0, y(wet) + 0.36 * pen.small, Align::Right);
    }
    for (at, align) in [(first.at.0, Align::Left), (last.at.0, Align::Right)] {
        pen.text(&shown(Unit::Millimetre, at, *app.system), x(at), canvas.height - 3.0, align);
    }
    // a run every few columns: paint gathers into drops
    for column in flooded.profile.iter().step_by(8).filter(|column| column.run.0 > 0.0) {
        let (x, end) = (x(column.at.0), middle + column.run.0 * (bottom - middle - 4.0));
        pen.colour(INK).width(3.0).line([(x, middle), (x, end)]);
    }
    pen.width(1.0);
}
