//! What moves the gun in the hand: a mouse, a finger, a pen, two fingers that pinch, and the keys. What it sprays is
//! recorded by `practice`.

use crate::parts::dom;
use crate::practice::aids::{foretells, is_over};
use crate::practice::lesson::say_place;
use crate::practice::record::{awake, close, give_up, look, open, record, running, take_back};
use crate::practice::state::{Mover, along, distance, plan, practice, practice_mut};
use crate::shell::app::App;
use crate::shell::run::with;
use fanlap::strokes::{Along, Line, MovedBy};
use fanlap::units::Degrees;
use glam::DVec2;
use wasm_bindgen::JsCast;
use web_sys::{PointerEvent, WheelEvent};

/// The gun is never held nearer or farther than this, mm.
const DISTANCES: (f64, f64) = (30.0, 500.0);
/// One notch of the wheel or one key, mm.
pub const NOTCH: f64 = 5.0;
/// A key moves the gun by this, mm; with Shift by the second.
const KEY_STEPS: (f64, f64) = (10.0, 1.0);
/// A pen that presses harder than this share has the trigger open: a judgement.
const PRESSED: f64 = 0.15;

/// What two fingers spray before they are two is given up if it took no longer than this, s: a judgement.
const DAB: f64 = 0.4;

/// Listens to pointers over the panel.
pub fn listen() {
    let stage = dom::by_id("stage");
    dom::on(&stage, "pointerdown", move |event| {
        let on_handle = dom::target(&event).is_some_and(|target| target.tag_name() == "INPUT");
        let event: PointerEvent = event.unchecked_into();
        with(|app| {
            if !app.in_hand() || on_handle || event.button() != 0 {
                return;
            }
            if event.pointer_type() == "touch" && fingered(app, &event) {
                return;
            }
            if foretells(app) {
                return say_place(app, under(app, &event));
            }
            if practice(app).mover.is_some() || practice(app).out_of_hand() || !pressed(&event) {
                return;
            }
            let _ = dom::by_id("stage").set_pointer_capture(event.pointer_id());
            take_up(app, &event);
        });
    });
    dom::on(&stage, "pointermove", move |event| {
        let event: PointerEvent = event.unchecked_into();
        with(|app| {
            if app.in_hand() && !pinched(app, &event) {
                moved(app, &event);
            }
        });
    });
    for kind in ["pointerup", "pointercancel", "lostpointercapture"] {
        dom::on(&stage, kind, move |event| {
            let event: PointerEvent = event.unchecked_into();
            with(|app| {
                practice_mut(app).fingers.retain(|(id, _)| *id != event.pointer_id());
                if matches!(practice(app).mover, Some(Mover::Pointer(id)) if id == event.pointer_id()) {
                    // where the pointer was lost, the gun was last seen
                    let last = practice(app).gun.map_or(DVec2::ZERO, |gun| gun.place);
                    let at = if event.type_() == "pointerup" { under(app, &event) } else { last };
                    awake(app, event.time_stamp());
                    close(app, event.time_stamp(), at);
                }
            });
        });
    }
    dom::on(&stage, "pointerleave", |_| {
        with(|app| {
            if app.in_hand() && practice(app).mover.is_none() {
                *practice_mut(app).gun = None;
            }
        });
    });
    dom::on(&stage, "wheel", |event| {
        let (nearer, at) = (event.unchecked_ref::<WheelEvent>().delta_y() < 0.0, event.time_stamp());
        with(|app| {
            if app.in_hand() {
                event.prevent_default();
                held_farther(app, at, if nearer { -NOTCH } else { NOTCH });
            }
        });
    });
}

/// The place on the plan under a pointer.
fn under(app: &App, event: &PointerEvent) -> DVec2 {
    let bounds = dom::by_id("stage").get_bounding_client_rect();
    app.layout.on_plan(f64::from(event.client_x()) - bounds.left(), f64::from(event.client_y()) - bounds.top())
}

/// Where a pointer is on the screen, px.
fn on_screen(event: &PointerEvent) -> DVec2 {
    DVec2::new(f64::from(event.client_x()), f64::from(event.client_y()))
}

/// A finger comes down. True if it is the second: then two fingers pinch, and a dab that the first one began is given
/// up.
fn fingered(app: &mut App, event: &PointerEvent) -> bool {
    practice_mut(app).fingers.retain(|(id, _)| *id != event.pointer_id());
    practice_mut(app).fingers.push((event.pointer_id(), on_screen(event)));
    let pinch = practice(app).fingers.len() > 1;
    if pinch {
        give_up(app, DAB);
    }
    pinch
}

/// Two fingers that go apart bring the gun nearer, as if the panel came up. True while two are down.
fn pinched(app: &mut App, event: &PointerEvent) -> bool {
    let apart = |fingers: &[(i32, DVec2)]| (fingers[0].1 - fingers[1].1).length();
    if practice(app).fingers.len() != 2 {
        return false;
    }
    let before = apart(&practice(app).fingers);
    let Some(finger) = practice_mut(app).fingers.iter_mut().find(|(id, _)| *id == event.pointer_id()) else {
        return true;
    };
    finger.1 = on_screen(event);
    let now = apart(&practice(app).fingers);
    if before > 1.0 && now > 1.0 {
        let held = distance(app);
        held_farther(app, event.time_stamp(), held * (before / now - 1.0));
    }
    true
}

/// A pointer takes the gun, its trigger open.
fn take_up(app: &mut App, event: &PointerEvent) {
    practice_mut(app).mover = Some(Mover::Pointer(event.pointer_id()));
    practice_mut(app).tilt = tilt(app, event);
    let place = under(app, event);
    open(app, event.time_stamp(), place);
    let mover = match event.pointer_type().as_str() {
        "pen" => MovedBy::Pen,
        "touch" => MovedBy::Touch,
        _ => MovedBy::Pointer,
    };
    app.recorded.track().moved_by(mover);
}

/// A pointer moves: over the panel, or with the gun in its hand.
fn moved(app: &mut App, event: &PointerEvent) {
    match practice(app).mover {
        Some(Mover::Pointer(id)) if id == event.pointer_id() => {
            // a frame may hold several looks
            let all: Vec<PointerEvent> = event.get_coalesced_events().iter().map(JsCast::unchecked_into).collect();
            let all = if all.is_empty() { vec![event.clone()] } else { all };
            awake(app, all[0].time_stamp());
            for one in all {
                let (at, place) = (one.time_stamp(), under(app, &one));
                practice_mut(app).tilt = tilt(app, &one);
                if !practice(app).open {
                    break;
                }
                if !pressed(&one) {
                    return close(app, at, place);
                }
                let sample = look(app, at, place, true);
                record(app, sample);
            }
        }
        None if event.buttons() & 1 == 1
            && event.pointer_type() == "pen"
            && pressed(event)
            && !practice(app).out_of_hand()
            && !foretells(app) =>
        {
            take_up(app, event)
        }
        None => {
            practice_mut(app).tilt = tilt(app, event);
            let sample = look(app, event.time_stamp(), under(app, event), false);
            *practice_mut(app).gun = Some(sample);
            let pen = event.pointer_type() == "pen";
            if pen {
                dom::by_id("practice-tilt-box").set_hidden(false);
            }
        }
        _ => {}
    }
}

/// Heel and lean by the tilt of a pen, where that is wanted: the pen's body is the gun's.
fn tilt(app: &App, event: &PointerEvent) -> (Degrees, Degrees) {
    if event.pointer_type() != "pen" || !dom::input("practice-tilt").checked() {
        return (Degrees(0.0), Degrees(0.0));
    }
    let (right, down) = (f64::from(event.tilt_x()), f64::from(event.tilt_y()));
    let (heel, lean) = if along(app) == Along::Length { (down, right) } else { (-right, -down) };
    let most = fanlap::strokes::MOST_TILT;
    (Degrees(heel.clamp(-most, most)), Degrees(lean.clamp(-most, most)))
}

/// Whether the trigger is open: a mouse's button, a finger, a pen that presses.
fn pressed(event: &PointerEvent) -> bool {
    event.pointer_type() != "pen" || f64::from(event.pressure()) > PRESSED
}

/// The gun is held farther from a time of the page on, ms.
pub fn held_farther(app: &mut App, at: f64, by: f64) {
    *practice_mut(app).distance = Some((distance(app) + by).clamp(DISTANCES.0, DISTANCES.1));
    if let Some(gun) = *practice(app).gun {
        let sample = look(app, at, gun.place, practice(app).open);
        if practice(app).open { record(app, sample) } else { *practice_mut(app).gun = Some(sample) }
    }
}

/// Keys of the gun while the figure has the focus, pressed at a time of the page, ms. True if the key was one of them.
pub fn key(app: &mut App, name: &str, fine: bool, at: f64) -> bool {
    let step = if fine { KEY_STEPS.1 } else { KEY_STEPS.0 };
    match name {
        "ArrowLeft" => shift(app, at, DVec2::new(-step, 0.0)),
        "ArrowRight" => shift(app, at, DVec2::new(step, 0.0)),
        "ArrowUp" => shift(app, at, DVec2::new(0.0, step)),
        "ArrowDown" => shift(app, at, DVec2::new(0.0, -step)),
        "+" | "=" => held_farther(app, at, NOTCH),
        "-" => held_farther(app, at, -NOTCH),
        "Enter" if foretells(app) => say_place(app, standing(app)),
        "Enter" if practice(app).out_of_hand() => {}
        "Enter" => run(app, at),
        " " => {
            if let Some((place, _)) = running(app, at) {
                open(app, at, place);
                app.recorded.track().moved_by(MovedBy::Keys);
            } else if !practice(app).open {
                dom::say(&dom::by_id("said"), "Enter lets the gun run; then the space bar is its trigger.");
            }
        }
        "Backspace" if is_over(app) || practice(app).out_of_hand() => {}
        "Backspace" => take_back(app),
        _ => return false,
    }
    true
}

/// The space bar is let go at a time of the page, ms.
pub fn key_up(app: &mut App, name: &str, at: f64) {
    if name == " "
        && let Some((place, _)) = running(app, at)
        && practice(app).open
    {
        let mover = practice(app).mover;
        close(app, at, place);
        // the gun runs on with the trigger closed
        practice_mut(app).mover = mover;
    }
}

/// Where the gun stands that is moved by keys: at the beginning of the first line before it was moved at all.
fn standing(app: &App) -> DVec2 {
    let most = app.job.panel.area().most;
    let over = |line: &Line| {
        ((line.from + line.to) / 2.0).cmpge(DVec2::ZERO).all() && ((line.from + line.to) / 2.0).cmple(most).all()
    };
    let first = plan(app).into_iter().find(|line| over(line));
    practice(app).gun.map_or(first.map_or(most / 2.0, |line| line.from), |gun| gun.place)
}

fn shift(app: &mut App, at: f64, by: DVec2) {
    if practice(app).mover.is_none() {
        let place = standing(app) + if practice(app).gun.is_some() { by } else { DVec2::ZERO };
        *practice_mut(app).gun = Some(look(app, at, place, false));
    }
}

/// The gun runs along a line at the coat's speed, from the side on which it stands to the other; or stops.
fn run(app: &mut App, at: f64) {
    if matches!(practice(app).mover, Some(Mover::Keys { .. })) {
        return stop(app, at);
    }
    let coat = &app.job.coats[app.recorded.coat];
    let (lead, panel) = (coat.lead.0, app.job.panel.area().most);
    let from = standing(app);
    let (span, stands) = if along(app) == Along::Length { (panel.x, from.x) } else { (panel.y, from.y) };
    let (begin, end) = if stands > span / 2.0 { (span + lead, -lead) } else { (-lead, span + lead) };
    let place = |to: f64| if along(app) == Along::Length { DVec2::new(to, from.y) } else { DVec2::new(from.x, to) };
    let (from, to) = (place(begin), place(end));
    practice_mut(app).mover = Some(Mover::Keys { since: at, from, to });
    *practice_mut(app).gun = Some(look(app, at, from, false));
}

/// A gun that runs by itself stops at a time of the page, ms.
pub fn stop(app: &mut App, at: f64) {
    let last = practice(app).gun.map_or(DVec2::ZERO, |gun| gun.place);
    let place = running(app, at).map_or(last, |(place, _)| place);
    close(app, at, place);
    practice_mut(app).mover = None;
}
