//! The timeline: a cell for each pass, hatching for each flash-off, clocks at the joints, the playhead, and the words
//! that say where it stands. Draws; time itself belongs to the app.

use crate::parts::dom;
use crate::parts::layout::Room;
use crate::parts::pen::{Align, Pen};
use crate::shell::app::App;
use fanlap::rehearsal::Doing;
use fanlap::words::{clock, digits_of};
use wasm_bindgen::JsCast;

/// Draws the timeline and sets its range.
pub fn draw(app: &App) {
    let canvas = dom::canvas("timeline");
    let pen = Pen { on: &canvas.context, small: 0.6875 * dom::rem() };
    let (ink, quiet, accent, hair) =
        (dom::token("--ink-2"), dom::token("--ink-3"), dom::token("--accent"), dom::token("--line"));
    let middle = (canvas.height / 2.0).round();
    let x = |place: f64| place * (canvas.width - 2.0) + 1.0;
    for (coat, times) in app.shown.rehearsal.coats().iter().enumerate() {
        let Some(first) = app.axis.0.iter().find(|stretch| stretch.coat == coat) else { continue };
        let base = canvas.height - 2.0;
        let begins = clock(times.start.0);
        let Some(flash) = app.axis.0.iter().find(|stretch| stretch.coat == coat && stretch.pass.is_none()) else {
            let end =
                app.axis.0.iter().rfind(|stretch| stretch.coat == coat).map_or(first.place.1, |last| last.place.1);
            heading(&pen, app, coat, (x(first.place.0), x(end)), &ink);
            pen.colour(&quiet).text(&begins, x(first.place.0), base, Align::Left);
            continue;
        };
        heading(&pen, app, coat, (x(first.place.0), x(flash.place.0)), &ink);
        let flash_room = x(flash.place.1) - x(flash.place.0);
        let words = flash_words(app, coat, flash_room);
        if x(first.place.0) < x(flash.place.0) && pen.measure(&words) < flash_room - 2.0 {
            pen.colour(&ink).text(&words, x(flash.place.0), pen.small, Align::Left);
        }
        hatch(&pen, (x(flash.place.0), x(flash.place.1), middle), app.time.0 >= times.flashed.0 - 1e-6, &hair);
        pen.colour(&quiet).text(&begins, x(first.place.0), base, Align::Left);
        let last = coat + 1 == app.shown.rehearsal.job().coats.len();
        let room = x(flash.place.1) - x(flash.place.0);
        if room > pen.measure("00:00") * if last { 2.4 } else { 1.2 } {
            pen.text(&clock(times.end.0), x(flash.place.0), base, Align::Left);
        }
    }
    for stretch in app.axis.0.iter().filter(|stretch| stretch.pass.is_some()) {
        cell(&pen, app, (x(stretch.place.0), x(stretch.place.1), middle), stretch.time, (&ink, &accent, &hair));
    }
    if let Some(last) = app.axis.0.last() {
        pen.colour(&quiet).text(&clock(last.time.1), x(last.place.1), canvas.height - 2.0, Align::Right);
    }
    let place = app.axis.place(*app.time);
    if !app.shown.rehearsal.job().coats.is_empty() {
        playhead(&pen, x(place), (middle, canvas.height), &accent);
    }
    let time = dom::input("time");
    time.set_value(&(place * 1000.0).round().to_string());
    dom::set(&time, "aria-valuetext", &words(app));
    dom::say(&dom::by_id("clock"), &short_words(app));
    let play = dom::by_id("play");
    let bare = app.shown.rehearsal.job().coats.is_empty();
    for id in ["to-start", "step-back", "play", "step-on", "to-end"] {
        dom::by_id(id).unchecked_into::<web_sys::HtmlButtonElement>().set_disabled(bare);
    }
    dom::set(&play, "data-state", if *app.playing { "playing" } else { "paused" });
    dom::set(&play, "aria-label", if *app.playing { "Pause" } else { "Play" });
}

fn heading(pen: &Pen, app: &App, coat: usize, (left, right): (f64, f64), ink: &str) {
    let settings = &app.shown.rehearsal.job().coats[coat];
    let name = format!("Coat {}", coat + 1);
    pen.colour(ink).bold(&name, left, pen.small, Align::Left);
    let amount = match settings.amount.0 {
        1.0 => "full".to_string(),
        amount => format!("{} %", digits_of(amount * 100.0, 0)),
    };
    let passes = app.shown.rehearsal.passes().iter().filter(|pass| pass.coat == coat).count();
    let more = format!("{amount}, {passes} {}", if passes == 1 { "pass" } else { "passes" });
    let from = left + pen.measure(&name) * 1.12 + 8.0;
    if app.layout.room != Room::Narrow && from + pen.measure(&more) < right - 8.0 {
        pen.text(&more, from, pen.small, Align::Left);
    }
}

fn flash_words(app: &App, coat: usize, room: f64) -> String {
    let minutes = digits_of(app.shown.rehearsal.job().coats[coat].flash.0, 1);
    if room > 92.0 { format!("flash-off {minutes} min") } else { format!("{minutes} min") }
}

fn hatch(pen: &Pen, (left, right, middle): (f64, f64, f64), over: bool, colour: &str) {
    let (top, bottom) = (middle - 8.0, middle + 8.0);
    pen.colour(colour).width(1.0).frame(left, top, right - left, 16.0);
    pen.on.save();
    pen.path([(left, top), (right, top), (right, bottom), (left, bottom)]);
    pen.on.clip();
    pen.on.set_global_alpha(if over { 1.0 } else { 0.6 });
    let mut x = left - 16.0;
    while x < right {
        pen.line([(x, bottom), (x + 16.0, top)]);
        x += if over { 4.0 } else { 8.0 };
    }
    pen.on.restore();
}

/// One pass: laid filled, present part-filled in the accent, to come outlined.
fn cell(
    pen: &Pen,
    app: &App,
    (left, right, middle): (f64, f64, f64),
    time: (f64, f64),
    (ink, accent, line): (&str, &str, &str),
) {
    let gap = if right - left > 6.0 { 2.0 } else { 0.0 };
    let (left, width) = (left.round(), (right - left - gap).max(1.0));
    if app.time.0 >= time.1 - 1e-6 {
        pen.colour(ink).block(left, middle - 8.0, width, 16.0);
        return;
    }
    pen.colour(line).width(1.0).frame(left, middle - 8.0, width, 16.0);
    if app.time.0 > time.0 {
        let part = (app.time.0 - time.0) / (time.1 - time.0);
        pen.colour(accent).block(left, middle - 8.0, width * part, 16.0);
    }
}

fn playhead(pen: &Pen, x: f64, (middle, _): (f64, f64), accent: &str) {
    pen.colour(accent).block(x - 1.0, middle - 10.0, 2.0, 22.0);
    pen.area([(x - 5.5, middle - 15.0), (x + 5.5, middle - 15.0), (x, middle - 7.0)]);
}

/// Where the job stands, for the clock beside the buttons.
pub fn short_words(app: &App) -> String {
    let at = clock(app.time.0);
    match app.doing() {
        Doing::Spraying(pass) | Doing::Turning(pass) => format!("{at}, pass {}", number(app, pass)),
        Doing::Flashing(_) => format!("{at}, flash-off"),
        Doing::Done => at,
    }
}

fn number(app: &App, pass: usize) -> usize {
    app.shown.rehearsal.passes().get(pass).map_or(0, |pass| pass.number)
}

/// The same in full.
pub fn words(app: &App) -> String {
    let at = clock(app.time.0);
    match app.doing() {
        Doing::Spraying(index) | Doing::Turning(index) => {
            let passes = app.shown.rehearsal.passes();
            let Some(pass) = passes.get(index) else { return at };
            let of = passes.iter().filter(|other| other.coat == pass.coat).count();
            let turning = match app.doing() {
                Doing::Turning(_) if app.shown.rehearsal.walks_round_after(index) => ", walking round",
                Doing::Turning(_) => ", turning",
                _ => "",
            };
            format!(
                "{at}, coat {} of {}, pass {} of {of}{turning}",
                pass.coat + 1,
                app.shown.rehearsal.job().coats.len(),
                pass.number
            )
        }
        Doing::Flashing(coat) => format!("{at}, coat {} flashes off", coat + 1),
        Doing::Done if app.shown.rehearsal.job().coats.is_empty() => "no coats yet".to_string(),
        Doing::Done => format!("{at}, finished"),
    }
}
