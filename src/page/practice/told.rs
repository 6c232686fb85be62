//! What is said and drawn of the gun in the hand: planned lines and pacer over the panel; in the column what is meant,
//! how the film turned out, how the gun was held, and the one thing that did most.

use crate::parts::dom;
use crate::parts::layout::{Layout, Room};
use crate::parts::pen::{Align, INK, PAPER, Pen};
use crate::parts::quiet;
use crate::practice::aids::{self, Help, Veil, shown as shown_help};
use crate::practice::marking::stuttered;
use crate::practice::state::{along, distance, plan, practice};
use crate::practice::{instructor, lesson, progress};
use crate::shell::app::{App, Place};
use fanlap::job::inputs::Unit;
use fanlap::practice::{NextStep, Performance, Range, SprayedPass};
use fanlap::strokes::{Along, Line};
use fanlap::words::{digits_of, shown};
use glam::DVec2;
use wasm_bindgen::JsCast;

/// Size of the pacer's marks, and how far beside the gun they stand, px.
const PACER: f64 = 9.0;
const BESIDE: f64 = 30.0;
/// What is drawn of a line beside the panel, px from each end.
const STUB: f64 = 26.0;
/// Height of the ruler below the panel, px.
const RULER: f64 = 32.0;
/// Half the cross that marks a place, px.
const MARK: f64 = 9.0;

/// Draws the planned lines over the panel and the pacer beside the gun.
pub fn draw(pen: &Pen, app: &App) {
    if !app.in_hand() {
        return;
    }
    let layout = &app.layout;
    if shown_help(app, Help::Lines) {
        for (i, line) in plan(app).iter().enumerate() {
            planned(pen, layout, line, i + 1);
        }
    }
    let paced = shown_help(app, Help::Pacer);
    if let (true, Some((since, from)), Some(gun)) = (paced, practice(app).opened, *practice(app).gun) {
        pacer(pen, app, since, from, gun.place);
    }
    if let Some(trying) = &*practice(app).lesson {
        let said = &trying.state.said;
        for (place, name) in [(said.thick_mm, "thickest?"), (said.thin_mm, "thinnest?")] {
            if let Some(place) = place {
                foretold(pen, layout.on_stage(DVec2::from_array(place)), name);
            }
        }
        let truth = trying.mark.as_ref().and_then(|mark| mark.foreseen).filter(|_| aids::veil(app).is_none());
        if let Some(truth) = truth.filter(|truth| truth.thick.is_some()) {
            for (place, name) in [(truth.thickest_mm, "thickest"), (truth.thinnest_mm, "thinnest")] {
                foretold(pen, layout.on_stage(DVec2::from_array(place)), name);
            }
        }
    }
}

/// Where a learner says that the film is thickest or thinnest.
fn foretold(pen: &Pen, (x, y): (f64, f64), name: &str) {
    for (colour, width) in [(PAPER, 4.0), (INK, 1.5)] {
        pen.colour(colour).width(width).line([(x - MARK, y), (x + MARK, y)]);
        pen.colour(colour).width(width).line([(x, y - MARK), (x, y + MARK)]);
    }
    let (x, y) = (x + MARK + 4.0, y + 0.36 * pen.small);
    pen.colour(PAPER).width(3.0).outline(name, x, y, Align::Left);
    pen.colour(INK).text(name, x, y, Align::Left);
}

fn planned(pen: &Pen, layout: &Layout, line: &Line, number: usize) {
    let clamp = |(x, y): (f64, f64)| {
        let level = along_x(line);
        (
            if level { x.clamp(layout.left, layout.right()) } else { x },
            if level { y } else { y.clamp(layout.top, layout.bottom()) },
        )
    };
    let (a, b) = (clamp(layout.on_stage(line.from)), clamp(layout.on_stage(line.to)));
    let level = along_x(line);
    let over = if level {
        (layout.top..=layout.bottom()).contains(&a.1)
    } else {
        (layout.left..=layout.right()).contains(&a.0)
    };
    // beside the panel its ends are enough: the ruler lies there
    let stub = |from: (f64, f64), to: (f64, f64)| {
        let length = ((to.0 - from.0) * (to.0 - from.0) + (to.1 - from.1) * (to.1 - from.1)).sqrt().max(1.0);
        (from.0 + (to.0 - from.0) * STUB / length, from.1 + (to.1 - from.1) * STUB / length)
    };
    // below it even those would strike through the ruler's figures
    let in_ruler = level && (0.0..RULER).contains(&(a.1 - layout.bottom()));
    let parts = match (over, in_ruler) {
        (true, _) => vec![[a, b]],
        (_, true) => Vec::new(),
        _ => vec![[a, stub(a, b)], [b, stub(b, a)]],
    };
    pen.dash(&[2.0, 6.0]);
    for part in parts {
        pen.colour(PAPER).width(3.0).line(part);
        pen.colour(INK).width(1.2).line(part);
    }
    pen.dash(&[]);
    if layout.room == Room::Narrow {
        return;
    }
    // numbers as they are told of, where the pass ends that runs up the axis
    let (x, y) = if level {
        (layout.right() + if in_ruler { 2.0 * STUB } else { 6.0 }, a.1 + 0.36 * pen.small)
    } else {
        (a.0, layout.top - 6.0)
    };
    pen.colour(INK).text(&number.to_string(), x, y, if level { Align::Left } else { Align::Centre });
}

fn along_x(line: &Line) -> bool {
    (line.from.y - line.to.y).abs() < 1e-6
}

/// Where the gun would be at the coat's speed since the trigger opened, in the direction in which it goes.
fn pacer(pen: &Pen, app: &App, since: f64, from: DVec2, gun: DVec2) {
    let axis = if along(app) == Along::Length { DVec2::X } else { DVec2::Y };
    let sense = if (gun - from).dot(axis) < 0.0 { -1.0 } else { 1.0 };
    let way = app.job.coats[app.recorded.coat].actual_speed().0 * (dom::now() - since) / 1000.0;
    let across = axis.perp() * gun.dot(axis.perp());
    let place = across + axis * (from.dot(axis) + sense * way);
    let (span, lead) = (app.job.panel.area().most.dot(axis), app.job.coats[app.recorded.coat].lead.0);
    if !(-lead..=span + lead).contains(&place.dot(axis)) {
        return;
    }
    let (x, y) = app.layout.on_stage(place);
    let turned = along(app) == Along::Width;
    let tip = |along: f64, side: f64| if turned { (x + side, y - along) } else { (x + along, y + side) };
    for side in [-1.0, 1.0] {
        let shape = [
            tip(0.0, side * BESIDE),
            tip(-PACER / 2.0, side * (BESIDE + PACER)),
            tip(PACER / 2.0, side * (BESIDE + PACER)),
        ];
        pen.colour(PAPER).width(3.0).line(shape.into_iter().chain([shape[0]]));
        pen.colour(INK).area(shape);
    }
}

/// Brings the hand's column in step.
pub fn sync(app: &App) {
    if *app.place != Place::Practice {
        return;
    }
    let none = app.job.coats.is_empty();
    dom::by_id("practice-body").set_hidden(none);
    if none {
        return;
    }
    let select = dom::select("practice-coat");
    dom::keep(&select, app.job.coats.len(), || dom::plain("option"));
    for (i, option) in dom::all(&select, "option").iter().enumerate() {
        dom::say(option, &format!("Coat {}", i + 1));
        dom::set(option, "value", &i.to_string());
    }
    select.set_value(&app.recorded.coat.to_string());
    dom::by_id("practice-coat-box").set_hidden(app.job.coats.len() < 2);
    let coat = &app.job.coats[app.recorded.coat];
    let mm = |value: f64| shown(Unit::Millimetre, value, *app.system);
    let span = if coat.along == Along::Length { app.job.panel.length.0 } else { app.job.panel.width.0 };
    let seconds = span / coat.actual_speed().0;
    let held = mm(distance(app));
    dom::say(&dom::by_id("practice-distance"), &held);
    let meant = format!(
        "Meant: {}, lines {} apart, {} s from edge to edge.",
        mm(coat.distance.0),
        mm(coat.spacing(&app.job.gun).0),
        digits_of(seconds, 1)
    );
    dom::say(&dom::by_id("practice-meant"), &meant);
    lesson::sync(app);
    instructor::sync(app);
    progress::sync(app);
    dom::by_id("practice-hand").set_hidden(practice(app).out_of_hand());
    let body = dom::document().body().expect("a page has a body");
    let veil = aids::veil(app);
    dom::class(&body, "veiled", veil.is_some());
    // before it is foreseen the gun alone is played
    let told = practice(app).lesson.is_none() || matches!(veil, None | Some(Veil::Foretelling));
    dom::class(&body, "untold", !told);
    let any = app.recorded.any();
    for (id, off) in [
        ("practice-back", !any || practice(app).out_of_hand() || aids::is_over(app)),
        ("practice-clear", !any || aids::finds(app)),
        ("practice-compare", !any || aids::veil(app).is_some()),
    ] {
        dom::by_id(id).unchecked_into::<web_sys::HtmlButtonElement>().set_disabled(off);
    }
    let label = if app.held.is_some() { "Let the plan go" } else { "Beside the plan" };
    dom::say(&dom::by_id("practice-compare"), label);
    let label = if practice(app).lesson.is_some() { "Again" } else { "Clear" };
    dom::say(&dom::by_id("practice-clear"), label);
    let told = practice(app).told.as_ref().filter(|_| any && aids::tells_of_passes(app));
    dom::by_id("practice-told").set_hidden(told.is_none());
    if let Some(performance) = told {
        rows(app, performance);
        let next = practice(app).next.as_ref();
        let said = next.map_or("Trying what did most \u{2026}".to_string(), |next| next.text.clone());
        let stuttered = stuttered(app).filter(|_| practice(app).lesson.is_none());
        let said = stuttered.unwrap_or(said);
        dom::say(&dom::by_id("practice-next"), &said);
        let outcome = next.map_or(String::new(), |next| result(app, performance, next));
        let news = dom::by_id("practice-result").text_content() != Some(outcome.clone());
        dom::say(&dom::by_id("practice-result"), &outcome);
        if next.is_some() && news {
            quiet::say(format!("{outcome} {said}"));
        }
    }
}

/// Says to a listener where the gun is that keys have moved.
pub fn say_gun(app: &App) {
    let Some(gun) = *practice(app).gun else { return };
    let mm = |value: f64| shown(Unit::Millimetre, value, *app.system);
    quiet::say(format!(
        "Gun {} from the left edge, {} from the near edge, held at {}.",
        mm(gun.place.x),
        mm(gun.place.y),
        mm(distance(app))
    ));
}

/// The film in a sentence or two; how much of the panel has the target's colour once all is sprayed.
fn result(app: &App, performance: &Performance, next: &NextStep) -> String {
    // where a plan was chosen, the one that is meant is the measure
    if let Some((laid, meant)) = aids::chosen(app) {
        let um = |film: f64| shown(Unit::Micrometre, film, *app.system);
        return format!("What you chose lays {} on average, where {} is meant.", um(laid), um(meant));
    }
    let off = digits_of(100.0 * next.error, 1);
    let rest = match performance.to_come + performance.left_out.len() {
        0 => String::new(),
        1 => " One line is not sprayed yet.".to_string(),
        count => format!(" {count} lines are not sprayed yet."),
    };
    let anew = if practice(app).judged_anew {
        " The settings were changed after these passes, which are judged by the new ones."
    } else {
        ""
    };
    let off = format!("Over the lines so far the film is {off} % off the plan\u{2019}s.{rest}{anew}");
    // a lesson's strip or small panel is not the car's: its colour is none of the lesson's matter, unless it says so
    let colour = practice(app).lesson.as_ref().is_none_or(|trying| trying.lesson.limits.in_window.is_some());
    let over = colour && performance.to_come == 0 && app.recorded.coat + 1 == app.job.coats.len();
    let (track, target) = (app.shown.appearance.track(), app.shown.appearance.target());
    let Some((low, high)) = track.film_window(target, 1.0).filter(|_| over) else { return off };
    let film = &app.shown.finished;
    let share = 100.0 * fanlap::field::share_within(film, (low.0, high.0));
    format!("{off} {} % of the panel is within 1 \u{394}E of the target.", digits_of(share, 0))
}

/// How a pass ran beside its line.
fn led(pass: &SprayedPass, mm: &dyn Fn(f64) -> String) -> String {
    let course = &pass.course;
    let line = pass.line.map_or("no line".to_string(), |line| format!("line {line}"));
    let (aside, slant, bow) = (mm(course.aside_mm), mm(course.slant_mm), mm(course.bow_mm));
    format!("{line}: {aside} on average, slants by {slant}, bows by {bow}, waves by {}", mm(course.waves_mm))
}

fn rows(app: &App, performance: &Performance) {
    let body = dom::by_id("practice-rows");
    dom::keep(&body, performance.passes.len(), || dom::template("practice-row"));
    let (_, factor, digits) = Unit::Millimetre.shown(*app.system);
    let mm = |value: f64| digits_of(value * factor, digits);
    let (_, per_s, speed_digits) = Unit::MillimetrePerSecond.shown(*app.system);
    let range = |range: &Range, factor: f64, digits: usize| {
        format!("{} to {}", digits_of(range.least * factor, digits), digits_of(range.most * factor, digits))
    };
    for (row, pass) in dom::all(&body, "tr").iter().zip(&performance.passes) {
        let cells = [
            ("number", pass.number.to_string(), String::new()),
            ("distance", mm(pass.distance_mm.mean), range(&pass.distance_mm, factor, digits)),
            ("line", mm(pass.course.worst_mm), led(pass, &mm)),
            (
                "speed",
                digits_of(pass.speed_mm_per_s.mean * per_s, speed_digits),
                range(&pass.speed_mm_per_s, per_s, speed_digits),
            ),
            ("opened", mm(pass.opened_before_mm), String::new()),
            ("closed", mm(pass.closed_after_mm), String::new()),
        ];
        for (part, text, title) in cells {
            let cell: web_sys::HtmlElement = dom::part(row, &format!("[data-part={part}]"));
            dom::say(&cell, &text);
            dom::set(&cell, "title", &title);
        }
    }
    let length = Unit::Millimetre.shown(*app.system).0;
    let speed = Unit::MillimetrePerSecond.shown(*app.system).0;
    dom::say(
        &dom::by_id("practice-units"),
        &format!(
            "Means over the panel, off line at its worst place; lengths in {length}, speed in {speed}. Opened \
             and closed: how far \
             outside the edge."
        ),
    );
}
