//! The rehearsal by the clock: what the gun does now, how long it still does, and what comes then, in large type beside
//! the figure while time runs. For the rehearsal, not for the booth. Computes no film.

use crate::parts::clicks;
use crate::parts::dom;
use crate::shell::app::{App, Place};
use crate::shell::run::with;
use fanlap::rehearsal::Doing;
use fanlap::strokes::Along;
use fanlap::words::{clock, digits_of};
use std::cell::Cell;

thread_local! {
    /// What clicks now.
    static HEARD: Cell<Heard> = const { Cell::new(Heard::Nothing) };
}

/// What the clicks are of.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Heard {
    Nothing,
    LeadIn,
    Pass(usize),
}

/// Listens to its buttons.
pub fn listen() {
    dom::on(&dom::by_id("countdown-begin"), "click", |_| with(begin));
    dom::on(&dom::by_id("countdown-close"), "click", |_| {
        with(|app| {
            *app.counting = false;
            app.go(Place::Sheet);
            sync(app);
            app.focus = Some("countdown-begin");
        });
    });
}

/// Time to take up the gun, s.
const LEAD_IN: f64 = 3.0;

/// From the start, in real time, after a moment to get ready.
fn begin(app: &mut App) {
    app.go(Place::Rehearsal);
    app.seek(fanlap::units::Seconds(0.0));
    (*app.counting, app.rate) = (true, 1.0);
    dom::select("speed").set_value("1");
    app.playing.put(false);
    *app.lead_in = LEAD_IN;
    clicks::stop();
    HEARD.set(Heard::Nothing);
    app.focus = Some("figure");
}

/// Brings it in step with the time.
pub fn sync(app: &App) {
    let shown = *app.counting && *app.place == Place::Rehearsal && !app.shown.rehearsal.passes().is_empty();
    dom::by_id("countdown").set_hidden(!shown);
    hear(app, shown);
    if !shown {
        return;
    }
    let (now, left, then) = told(app);
    dom::say(&dom::by_id("countdown-now"), &now);
    // tenths only where a second is long
    let left = left.max(0.0);
    let text = if left < 10.0 {
        format!("{} s", digits_of((left * 10.0 - 1e-6).ceil() / 10.0, 1))
    } else {
        clock((left - 1e-6).ceil())
    };
    dom::say(&dom::by_id("countdown-left"), &text);
    dom::say(&dom::by_id("countdown-then"), &then);
}

/// Clicks for the seconds before time runs and for every pass, where they are wanted and time runs as it does in the
/// hand.
fn hear(app: &App, shown: bool) {
    let wanted = shown && dom::input("countdown-clicks").checked();
    let now = match app.doing() {
        _ if !wanted => Heard::Nothing,
        _ if *app.lead_in > 0.0 => Heard::LeadIn,
        // a recorded pass has a pace of its own
        Doing::Spraying(index) if *app.playing && app.rate == 1.0 => {
            let coat = app.shown.rehearsal.passes()[index].coat;
            if app.job.coats[coat].track.is_none() { Heard::Pass(index) } else { Heard::Nothing }
        }
        _ => Heard::Nothing,
    };
    if now == HEARD.replace(now) {
        return;
    }
    clicks::stop();
    match now {
        Heard::Nothing => {}
        Heard::LeadIn => {
            // one for each figure; the first is there already when it is heard
            let left = (1..=3).rev().map(|left| *app.lead_in - f64::from(left)).filter(|time| *time > -0.5);
            let seconds = left.map(|time| (time.max(0.0), false));
            clicks::sound(&seconds.collect::<Vec<_>>());
        }
        Heard::Pass(index) => {
            let pass = &app.shown.rehearsal.passes()[index];
            let way = (pass.line.to - pass.line.from).abs();
            let along = if way.x > way.y { Along::Length } else { Along::Width };
            clicks::pass(&app.job, pass.coat, (pass.line.from, along), app.time.0 - pass.start.0);
        }
    }
}

/// What is done now, for how long still, and what comes then.
fn told(app: &App) -> (String, f64, String) {
    let rehearsal = &app.shown.rehearsal;
    let (passes, coats, time) = (rehearsal.passes(), rehearsal.coats(), app.time.0);
    let of_coat = |pass: usize| {
        let coat = passes[pass].coat;
        let first = passes.iter().position(|other| other.coat == coat).unwrap_or(0);
        (coat, pass - first + 1, passes.iter().filter(|other| other.coat == coat).count())
    };
    let flash = |coat: usize| format!("flash-off, {} min", digits_of(app.job.coats[coat].flash.0, 1));
    if *app.lead_in > 0.0 {
        let (coat, number, count) = of_coat(0);
        return ("Ready".to_string(), app.lead_in.ceil(), format!("then coat {}, pass {number} of {count}", coat + 1));
    }
    match app.doing() {
        Doing::Spraying(pass) => {
            let (coat, number, count) = of_coat(pass);
            let then = if rehearsal.walks_round_after(pass) {
                format!("then go round, pass {}", number + 1)
            } else if number < count {
                format!("then pass {}", number + 1)
            } else {
                format!("then {}", flash(coat))
            };
            let ends = clock(coats[coat].end.0 - time);
            let now = format!("Coat {}, pass {number} of {count}", coat + 1);
            (now, passes[pass].end.0 - time, format!("{then}; the coat ends in {ends}"))
        }
        Doing::Turning(pass) => {
            // after that pass, on the way to the next
            let next = (pass + 1).min(passes.len() - 1);
            let (coat, number, _) = of_coat(next);
            let turn = if rehearsal.walks_round_after(pass) { "go round now" } else { "turn" };
            (format!("Coat {}, {turn}", coat + 1), passes[next].start.0 - time, format!("then pass {number}"))
        }
        Doing::Flashing(coat) => {
            let then = match app.job.coats.get(coat + 1) {
                None => "then done".to_string(),
                Some(next) if next.paint != app.job.coats[coat].paint => {
                    format!("then the gun with {}, coat {}", next.paint, coat + 2)
                }
                Some(_) => format!("then coat {}", coat + 2),
            };
            (format!("Flash-off after coat {}, shortened here", coat + 1), coats[coat].flashed.0 - time, then)
        }
        Doing::Done => ("Done".to_string(), 0.0, String::new()),
    }
}
