//! Spraying by hand: pointer and keys move the gun over the panel, looks at it are recorded, the film builds while the
//! trigger is open, and what was recorded is rehearsed like any coat. What is told of it is the core's.

use super::app::{App, Held, Place};
use super::shown::Shown;
use super::{dom, with};
use crate::film::{Spray, deposit, footprint};
use crate::gun::Pose;
use crate::job::Job;
use crate::panel::Patch;
use crate::practice::{Lesson, Mark, NextStep, Performance, Trials, performance};
use crate::rehearsal::rehearse;
use crate::strokes::{Along, Line, Sample, TRACK_LIMITS, Track};
use crate::units::{Degrees, Millimetres, Seconds};
use glam::DVec2;
use wasm_bindgen::JsCast;
use web_sys::{PointerEvent, WheelEvent};

/// The gun is never held nearer or farther than this, mm.
const DISTANCES: (f64, f64) = (30.0, 500.0);
/// One notch of the wheel or one key, mm.
const NOTCH: f64 = 5.0;
/// A key moves the gun by this, mm; with Shift by the second.
const KEY_STEPS: (f64, f64) = (10.0, 1.0);
/// A pen that presses harder than this share has the trigger open: a judgement.
const PRESSED: f64 = 0.15;
/// A gun that was not moved for this long stands, s.
const STANDS: f64 = 0.06;
/// Time of a frame for the search, ms.
const SEARCHES: f64 = 8.0;
/// Looks that one attempt may have; the job file takes no more.
const MOST_LOOKS: usize = 30_000;

/// Who moves the gun.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Mover {
    /// A pointer, by its number.
    Pointer(i32),
    /// The gun runs along by itself, the trigger is the space bar: since when, ms, and from where to where.
    Keys { since: f64, from: DVec2, to: DVec2 },
}

/// The film while it is sprayed, on the cells of the full grid.
struct Live {
    spray: Spray,
    patch: Patch,
    solids: f64,
    film: Vec<f64>,
}

/// Practice: what was recorded, and the gun in the hand.
#[derive(Default)]
pub struct Practice {
    /// What was recorded, coat by coat.
    pub tracks: Vec<Track>,
    /// What was cleared last.
    pub(super) cleared: Vec<Track>,
    /// The coat that is being sprayed.
    pub coat: usize,
    /// The lesson, and how the attempt is marked once all is sprayed.
    pub lesson: Option<Lesson>,
    pub(super) mark: Option<Mark>,
    /// Heel and lean, by the tilt of a pen.
    tilt: (Degrees, Degrees),
    /// Nozzle to panel, mm; none: as the coat says.
    pub(super) distance: Option<f64>,
    mover: Option<Mover>,
    open: bool,
    /// Where the gun is, while it is over the stage.
    pub(super) gun: Option<Sample>,
    /// When the recording of the coat began, ms.
    began: Option<f64>,
    /// When the trigger opened, ms, and where.
    pub(super) opened: Option<(f64, DVec2)>,
    live: Option<Live>,
    pub(super) told: Option<Performance>,
    /// What did most, once it is found.
    pub(super) next: Option<NextStep>,
    trials: Option<Trials>,
}

impl Practice {
    /// Whether anything was recorded.
    pub fn any(&self) -> bool {
        self.tracks.iter().any(|track| !track.samples.is_empty())
    }

    /// The film at this moment while it builds.
    pub fn film(&self) -> Option<&[f64]> {
        self.live.as_ref().map(|live| live.film.as_slice())
    }

    /// Whether frames are wanted: the gun is being moved, or a search goes on.
    pub fn busy(&self) -> bool {
        self.mover.is_some() || self.trials.is_some()
    }

    fn track(&mut self) -> &mut Track {
        if self.tracks.len() <= self.coat {
            self.tracks.resize_with(self.coat + 1, Track::default);
        }
        &mut self.tracks[self.coat]
    }
}

/// The job as it is sprayed by hand: a coat that was not recorded yet is not sprayed.
pub fn by_hand(app: &App) -> Job {
    let mut job = app.job.clone();
    let recorded = app.practice.tracks.iter().rposition(|track| !track.samples.is_empty()).unwrap_or(0);
    job.coats.truncate(recorded.max(app.practice.coat) + 1);
    for (i, coat) in job.coats.iter_mut().enumerate() {
        coat.track = Some(app.practice.tracks.get(i).cloned().unwrap_or_default());
    }
    job
}

/// Whether the page is the one where the gun is in the hand.
pub fn here(app: &App) -> bool {
    app.place == Place::Practice && !app.job.coats.is_empty()
}

/// Which way the passes of the coat in the hand run.
pub(super) fn along(app: &App) -> Along {
    app.job.coats[app.practice.coat].along
}

/// The planned lines of the coat in the hand.
pub(super) fn plan(app: &App) -> Vec<Line> {
    crate::practice::plan(&app.job, app.practice.coat)
}

/// Nozzle to panel, mm.
pub(super) fn distance(app: &App) -> f64 {
    app.practice.distance.unwrap_or(app.job.coats[app.practice.coat].distance.0)
}

/// Tenths of a millimetre and of a millisecond are kept.
fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// A look at the gun over a place, at a time of the page in ms.
fn look(app: &App, at: f64, place: DVec2, open: bool) -> Sample {
    let since = app.practice.began.map_or(0.0, |began| tenths((at - began).max(0.0)) / 1000.0);
    let before = app.practice.tracks.get(app.practice.coat).and_then(|track| track.samples.last());
    // a look that comes late is not told to have been earlier
    let time = Seconds(before.map_or(since, |before| since.max(before.time.0)));
    // a pointer may be led far out of the window: no job file takes a gun from there
    let [_, (_, least_x, most_x, _), (_, least_y, most_y, _), ..] = TRACK_LIMITS;
    let place = DVec2::new(tenths(place.x.clamp(least_x, most_x)), tenths(place.y.clamp(least_y, most_y)));
    let (heel, lean) = app.practice.tilt;
    Sample { time, place, distance: Millimetres(distance(app)), heel, lean, open }
}

/// Records a look; the film grows from the last one to it.
fn record(app: &mut App, sample: Sample) {
    let before = app.practice.track().samples.last().copied();
    let all: usize = app.practice.tracks.iter().map(|track| track.samples.len()).sum();
    if all >= MOST_LOOKS {
        app.trouble(
            "The recording is full",
            "It holds 30 000 looks at the gun. Clear it, or take back a pass; what was sprayed stays.",
        );
        finish(app);
        return;
    }
    if let Some(before) = before.filter(|before| before.open) {
        grow(app, &before, &sample);
    }
    app.practice.track().samples.push(sample);
    app.practice.gun = Some(sample);
    (app.stale.film, app.stale.drawing) = (true, true);
}

fn grow(app: &mut App, before: &Sample, after: &Sample) {
    let along = along(app);
    let panel = &app.job.panel;
    let Some(live) = &mut app.practice.live else { return };
    let poses = [before, after].map(|sample| sample.pose(panel, along));
    let areas = poses.map(|pose| footprint(&live.spray, panel, &pose, panel.area()));
    let [Some(one), Some(other)] = areas else { return };
    let window = live.patch.window_of(one.around(other));
    // dry film: as if the trigger had been open for the share that stays
    let seconds = Seconds((after.time.0 - before.time.0) * live.solids);
    let path = [(Seconds(0.0), poses[0]), (seconds, poses[1])];
    if seconds.0 > 0.0 && !window.is_empty() {
        let block = live.patch.window();
        deposit(&live.spray, &live.patch, window, (block, &mut live.film), &path);
    }
}

/// Opens the trigger.
fn open(app: &mut App, at: f64, place: DVec2) {
    if app.practice.open {
        return;
    }
    app.practice.began.get_or_insert(
        at - app
            .practice
            .tracks
            .get(app.practice.coat)
            .and_then(|t| t.samples.last())
            .map_or(0.0, |last| 1000.0 * last.time.0 + 600.0),
    );
    let paint = app.job.paint_of(&app.job.coats[app.practice.coat]);
    if app.practice.live.is_none() {
        let patch = app.job.panel.cells();
        let same = app.shown.rehearsal.patch().window() == patch.window();
        let film = if same { app.shown.rehearsal.film(paint) } else { vec![0.0; patch.window().len()] };
        let solids = app.job.paints[paint].solids_by_volume.0;
        app.practice.live = Some(Live { spray: Spray::of(&app.job.gun), patch, solids, film });
    }
    (app.practice.open, app.practice.opened) = (true, Some((at, place)));
    (app.playing, app.held) = (false, None);
    app.seek(app.shown.rehearsal.total());
    app.hold_back();
    let sample = look(app, at, place, true);
    record(app, sample);
}

/// Closes the trigger; what was recorded is rehearsed.
fn close(app: &mut App, at: f64, place: DVec2) {
    if app.practice.open {
        let sample = look(app, at, place, false);
        record(app, sample);
        finish(app);
    }
}

fn finish(app: &mut App) {
    if let Some(last) = app.practice.track().samples.last_mut() {
        last.open = false;
    }
    (app.practice.open, app.practice.opened, app.practice.mover) = (false, None, None);
    app.resprayed();
}

/// The gun is put down, whoever had it in the hand.
pub fn put_down(app: &mut App) {
    if app.practice.open {
        finish(app);
    }
    (app.practice.mover, app.practice.gun) = (None, None);
}

/// The film on the full grid is there: it stands for the one that grew.
pub fn settled(app: &mut App) {
    if !app.practice.open {
        app.practice.live = None;
    }
}

/// Says anew what was done, and begins to search for what did most.
pub fn tell(app: &mut App) {
    let job = by_hand(app);
    let coat = app.practice.coat;
    app.practice.told = performance(&job, coat);
    (app.practice.mark, app.practice.next) = (None, None);
    app.practice.trials = Trials::new(&job, coat);
    app.stale.column = true;
}

/// Goes on with the search while the hand rests.
fn search(app: &mut App) {
    if app.practice.mover.is_some() {
        return;
    }
    let Some(trials) = &mut app.practice.trials else { return };
    let until = dom::now() + SEARCHES;
    let mut more = true;
    while more && dom::now() < until {
        more = trials.step();
    }
    if !more {
        app.practice.next = Some(trials.told(app.system));
        app.practice.trials = None;
        app.stale.column = true;
        super::lesson::mark(app);
    }
}

/// Takes back the last pass, unless one is being sprayed.
fn take_back(app: &mut App) {
    if app.practice.open {
        return;
    }
    let along = along(app);
    let panel = app.job.panel.clone();
    let track = app.practice.track();
    let Some(last) = track.passes(&panel, along).pop() else { return };
    track.samples.truncate(*last.looks.start());
    if let Some(sample) = track.samples.last_mut() {
        sample.open = false;
    }
    app.practice.began = None;
    app.resprayed();
}

/// Clears what was recorded, or brings it back.
fn clear(app: &mut App) {
    let back = if app.practice.any() { Vec::new() } else { std::mem::take(&mut app.practice.cleared) };
    app.practice.cleared = std::mem::replace(&mut app.practice.tracks, back);
    (app.practice.began, app.practice.live, app.held) = (None, None, None);
    app.resprayed();
}

/// Shows the plan's result beside what was sprayed, or lets go of it.
fn compare(app: &mut App) {
    if app.held.take().is_none() {
        let job = app.job.clone();
        let shown = Shown::new(rehearse(&job), app.space);
        app.held = Some(Held { job, shown, change: false, divider: 0.5 });
        app.seek(app.shown.rehearsal.total());
    }
    app.rescale();
    app.stale = super::app::Stale::ALL;
}

/// What moves the gun and what is done with what it sprayed.
pub fn listen() {
    let click = |id: &'static str, f: fn(&mut App)| dom::on(&dom::by_id(id), "click", move |_| with(f));
    click("practice-back", take_back);
    click("practice-clear", clear);
    click("practice-compare", compare);
    click("practice-nearer", |app| held_farther(app, -NOTCH));
    click("practice-farther", |app| held_farther(app, NOTCH));
    for id in ["practice-lines", "practice-pacer", "practice-film"] {
        dom::on(&dom::by_id(id), "change", |_| with(|app| (app.stale.drawing, app.stale.film) = (true, true)));
    }
    dom::on(&dom::by_id("practice-coat"), "change", |_| {
        with(|app| {
            let coat: usize = dom::select("practice-coat").value().parse().unwrap_or(0);
            app.practice.coat = coat.min(app.job.coats.len().saturating_sub(1));
            app.practice.began = None;
            tell(app);
            app.stale.drawing = true;
        });
    });
    let stage = dom::by_id("stage");
    dom::on(&stage, "pointerdown", move |event| {
        let on_handle = dom::target(&event).is_some_and(|target| target.tag_name() == "INPUT");
        let event: PointerEvent = event.unchecked_into();
        with(|app| {
            let idle = app.practice.mover.is_none();
            if !here(app) || !idle || on_handle || event.button() != 0 || !pressed(&event) {
                return;
            }
            let _ = dom::by_id("stage").set_pointer_capture(event.pointer_id());
            take_up(app, &event);
        });
    });
    dom::on(&stage, "pointermove", move |event| {
        let event: PointerEvent = event.unchecked_into();
        with(|app| {
            if here(app) {
                moved(app, &event);
            }
        });
    });
    for kind in ["pointerup", "pointercancel", "lostpointercapture"] {
        dom::on(&stage, kind, move |event| {
            let event: PointerEvent = event.unchecked_into();
            with(|app| {
                if matches!(app.practice.mover, Some(Mover::Pointer(id)) if id == event.pointer_id()) {
                    // where the pointer was lost, the gun was last seen
                    let last = app.practice.gun.map_or(DVec2::ZERO, |gun| gun.place);
                    let at = if event.type_() == "pointerup" { under(app, &event) } else { last };
                    close(app, event.time_stamp(), at);
                }
            });
        });
    }
    dom::on(&stage, "pointerleave", |_| {
        with(|app| {
            if here(app) && app.practice.mover.is_none() {
                app.practice.gun = None;
                app.stale.drawing = true;
            }
        });
    });
    dom::on(&stage, "wheel", |event| {
        let nearer = event.unchecked_ref::<WheelEvent>().delta_y() < 0.0;
        with(|app| {
            if here(app) {
                event.prevent_default();
                held_farther(app, if nearer { -NOTCH } else { NOTCH });
            }
        });
    });
}

/// The place on the plan under a pointer.
fn under(app: &App, event: &PointerEvent) -> DVec2 {
    let bounds = dom::by_id("stage").get_bounding_client_rect();
    app.layout.on_plan(f64::from(event.client_x()) - bounds.left(), f64::from(event.client_y()) - bounds.top())
}

/// A pointer takes the gun, its trigger open.
fn take_up(app: &mut App, event: &PointerEvent) {
    app.practice.mover = Some(Mover::Pointer(event.pointer_id()));
    app.practice.tilt = tilt(app, event);
    let place = under(app, event);
    open(app, event.time_stamp(), place);
}

/// A pointer moves: over the panel, or with the gun in its hand.
fn moved(app: &mut App, event: &PointerEvent) {
    match app.practice.mover {
        Some(Mover::Pointer(id)) if id == event.pointer_id() => {
            // a frame may hold several looks
            let all: Vec<PointerEvent> = event.get_coalesced_events().iter().map(JsCast::unchecked_into).collect();
            for one in if all.is_empty() { vec![event.clone()] } else { all } {
                let (at, place) = (one.time_stamp(), under(app, &one));
                app.practice.tilt = tilt(app, &one);
                if !app.practice.open {
                    break;
                }
                if !pressed(&one) {
                    return close(app, at, place);
                }
                let sample = look(app, at, place, true);
                record(app, sample);
            }
        }
        None if event.buttons() & 1 == 1 && event.pointer_type() == "pen" && pressed(event) => take_up(app, event),
        None => {
            app.practice.tilt = tilt(app, event);
            let sample = look(app, event.time_stamp(), under(app, event), false);
            app.practice.gun = Some(sample);
            app.stale.drawing = true;
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
    let most = crate::strokes::MOST_TILT;
    (Degrees(heel.clamp(-most, most)), Degrees(lean.clamp(-most, most)))
}

/// Whether the trigger is open: a mouse's button, a finger, a pen that presses.
fn pressed(event: &PointerEvent) -> bool {
    event.pointer_type() != "pen" || f64::from(event.pressure()) > PRESSED
}

fn held_farther(app: &mut App, by: f64) {
    app.practice.distance = Some((distance(app) + by).clamp(DISTANCES.0, DISTANCES.1));
    if let Some(gun) = app.practice.gun {
        let sample = look(app, dom::now(), gun.place, app.practice.open);
        if app.practice.open { record(app, sample) } else { app.practice.gun = Some(sample) }
    }
    (app.stale.drawing, app.stale.column) = (true, true);
}

/// Keys of the gun while the figure has the focus. True if the key was one of them.
pub fn key(app: &mut App, name: &str, fine: bool) -> bool {
    let step = if fine { KEY_STEPS.1 } else { KEY_STEPS.0 };
    match name {
        "ArrowLeft" => shift(app, DVec2::new(-step, 0.0)),
        "ArrowRight" => shift(app, DVec2::new(step, 0.0)),
        "ArrowUp" => shift(app, DVec2::new(0.0, step)),
        "ArrowDown" => shift(app, DVec2::new(0.0, -step)),
        "+" | "=" => held_farther(app, NOTCH),
        "-" => held_farther(app, -NOTCH),
        "Enter" => run(app),
        " " => {
            if let (Some(Mover::Keys { .. }), Some(gun)) = (app.practice.mover, app.practice.gun) {
                open(app, dom::now(), gun.place);
            }
        }
        "Backspace" => take_back(app),
        _ => return false,
    }
    true
}

/// The space bar is let go.
pub fn key_up(app: &mut App, name: &str) {
    if name == " "
        && let (Some(Mover::Keys { .. }), true, Some(gun)) = (app.practice.mover, app.practice.open, app.practice.gun)
    {
        let mover = app.practice.mover;
        close(app, dom::now(), gun.place);
        // the gun runs on with the trigger closed
        app.practice.mover = mover;
    }
}

/// Where the gun stands that is moved by keys: at the beginning of the first line before it was moved at all.
fn standing(app: &App) -> DVec2 {
    let most = app.job.panel.area().most;
    let over = |line: &Line| {
        ((line.from + line.to) / 2.0).cmpge(DVec2::ZERO).all() && ((line.from + line.to) / 2.0).cmple(most).all()
    };
    let first = plan(app).into_iter().find(|line| over(line));
    app.practice.gun.map_or(first.map_or(most / 2.0, |line| line.from), |gun| gun.place)
}

fn shift(app: &mut App, by: DVec2) {
    if app.practice.mover.is_none() {
        let place = standing(app) + if app.practice.gun.is_some() { by } else { DVec2::ZERO };
        app.practice.gun = Some(look(app, dom::now(), place, false));
        app.stale.drawing = true;
    }
}

/// The gun runs along a line at the coat's speed, from the side on which it stands to the other; or stops.
fn run(app: &mut App) {
    if matches!(app.practice.mover, Some(Mover::Keys { .. })) {
        return stop(app);
    }
    let coat = &app.job.coats[app.practice.coat];
    let (lead, panel) = (coat.lead.0, app.job.panel.area().most);
    let from = standing(app);
    let (span, at) = if along(app) == Along::Length { (panel.x, from.x) } else { (panel.y, from.y) };
    let (begin, end) = if at > span / 2.0 { (span + lead, -lead) } else { (-lead, span + lead) };
    let place = |to: f64| if along(app) == Along::Length { DVec2::new(to, from.y) } else { DVec2::new(from.x, to) };
    let (from, to) = (place(begin), place(end));
    app.practice.mover = Some(Mover::Keys { since: dom::now(), from, to });
    app.practice.gun = Some(look(app, dom::now(), from, false));
    app.stale.drawing = true;
}

fn stop(app: &mut App) {
    let at = app.practice.gun.map_or(DVec2::ZERO, |gun| gun.place);
    close(app, dom::now(), at);
    app.practice.mover = None;
    app.stale.drawing = true;
}

/// Moves a gun that runs by itself; the pacer moves too.
pub fn tick(app: &mut App) {
    if !here(app) {
        return;
    }
    search(app);
    if let Some(Mover::Keys { since, from, to }) = app.practice.mover {
        let speed = app.job.coats[app.practice.coat].actual_speed().0;
        let now = dom::now();
        let way = speed * (now - since) / 1000.0;
        let part = way / (to - from).length();
        let place = from + (to - from) * part.min(1.0);
        let sample = look(app, now, place, app.practice.open);
        if app.practice.open {
            record(app, sample)
        } else {
            app.practice.gun = Some(sample)
        }
        app.stale.drawing = true;
        if part >= 1.0 {
            stop(app);
        }
    }
    // a gun that stands still sends no events, and sprays
    if let (Some(Mover::Pointer(_)), true, Some(gun)) = (app.practice.mover, app.practice.open, app.practice.gun) {
        let sample = look(app, dom::now(), gun.place, true);
        if sample.time.0 > gun.time.0 + STANDS {
            record(app, sample);
        }
    }
    app.stale.drawing |= app.practice.opened.is_some();
}

/// A gun as it is drawn.
pub struct InHand {
    /// How it stands.
    pub pose: Pose,
    /// Whether it sprays.
    pub sprays: bool,
    /// The direction in which it goes on the stage.
    pub travel: Option<(f64, f64)>,
}

/// The gun in the hand, whether it sprays, and the direction in which it goes on the stage.
pub fn gun(app: &App) -> Option<InHand> {
    let sample = app.practice.gun.filter(|_| here(app) && !app.playing)?;
    let travel = app.practice.opened.map(|(_, from)| sample.place - from).filter(|way| way.length() > 1.0);
    let travel = travel.map(|way| way.normalize()).map(|way| (way.x, -way.y));
    Some(InHand { pose: sample.pose(&app.job.panel, along(app)), sprays: app.practice.open, travel })
}
