//! Spraying by hand: looks at the gun are recorded, the film builds while the trigger is open, and what was recorded is
//! rehearsed like any coat. What moves the gun is in `hand`, what is told of it is the core's.

use crate::parts::clicks;
use crate::parts::dom;
use crate::practice::aids::{Help, shown};
use crate::practice::live::Live;
use crate::practice::marking;
use crate::practice::state::{Mover, Practice, along, distance, practice, practice_mut};
use crate::shell::app::App;
use crate::shell::room::InHand;
use fanlap::practice::{Trials, performance};
use fanlap::spray::Spray;
use fanlap::strokes::{Sample, TRACK_LIMITS};
use fanlap::units::{Millimetres, Seconds};
use glam::DVec2;

/// A gun that no event has moved for this long is shown standing, s.
const STANDS: f64 = 0.06;
/// A page that takes no events for this long stutters, ms: a hand answers what the eye sees in about that time, a
/// judgement.
const STUTTER: f64 = 200.0;
/// Time of a frame for the search, ms.
pub const SEARCHES: f64 = 8.0;
/// Looks that one attempt may have; the job file takes no more.
const MOST_LOOKS: usize = 30_000;

/// Tenths of a millimetre and of a millisecond are kept.
fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// A time of the page, ms, in the recording.
fn time(app: &App, at: f64) -> Seconds {
    Seconds(practice(app).began.map_or(0.0, |began| tenths((at - began).max(0.0)) / 1000.0))
}

/// A look at the gun over a place, at a time of the page in ms.
pub fn look(app: &App, at: f64, place: DVec2, open: bool) -> Sample {
    let since = time(app, at);
    let before = app.recorded.tracks.get(app.recorded.coat).and_then(|track| track.samples.last());
    // two devices may tell of their events in either order
    let time = Seconds(before.map_or(since.0, |before| since.0.max(before.time.0)));
    // a pointer may be led far out of the window: no job file takes a gun from there
    let [_, (_, least_x, most_x, _), (_, least_y, most_y, _), ..] = TRACK_LIMITS;
    let place = DVec2::new(tenths(place.x.clamp(least_x, most_x)), tenths(place.y.clamp(least_y, most_y)));
    let (heel, lean) = practice(app).tilt;
    Sample { time, place, distance: Millimetres(distance(app)), heel, lean, open }
}

/// Records a look; the film grows from the last one to it.
pub fn record(app: &mut App, sample: Sample) {
    let before = app.recorded.track().samples.last().copied();
    let all: usize = app.recorded.tracks.iter().map(|track| track.samples.len()).sum();
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
    app.recorded.track().samples.push(sample);
    *practice_mut(app).gun = Some(sample);
}

fn grow(app: &mut App, before: &Sample, after: &Sample) {
    let along = along(app);
    let Some(live) = &mut *app.states.of_mut::<Practice>().live else { return };
    live.withdraw();
    live.lay(&app.job.panel, along, [before, after], false);
}

/// Shows the gun standing where it was last seen. Nothing of it is recorded: the next event tells how long it stood,
/// and when one comes that was on its way, this is withdrawn.
pub fn stand(app: &mut App, at: f64) {
    let (along, until) = (along(app), time(app, at));
    let practice = app.states.of_mut::<Practice>();
    let (Some(live), Some(gun)) = (&mut *practice.live, *practice.gun) else { return };
    live.withdraw();
    if until.0 > gun.time.0 + STANDS {
        live.lay(&app.job.panel, along, [&gun, &Sample { time: until, ..gun }], true);
    }
}

/// The page can take events now, the last one of which happened at a time, ms: whether the computer has kept up.
pub fn awake(app: &mut App, happened: f64) {
    let now = dom::now();
    let late = (now - happened).max(now - practice(app).awake);
    practice_mut(app).awake = now;
    // a gun that runs by itself is where its own clock has it
    if practice(app).open && late > STUTTER && matches!(practice(app).mover, Some(Mover::Pointer(_))) {
        let when = time(app, now);
        let coat = app.recorded.coat;
        practice_mut(app).stutters.push((coat, when));
    }
}

/// Opens the trigger.
pub fn open(app: &mut App, at: f64, place: DVec2) {
    if practice(app).open {
        return;
    }
    let before = app.recorded.tracks.get(app.recorded.coat).and_then(|track| track.samples.last());
    let recorded = before.map_or(0.0, |last| 1000.0 * last.time.0 + 600.0);
    practice_mut(app).began.get_or_insert(at - recorded);
    if practice(app).live.is_none() {
        *practice_mut(app).live = Some(bare(app));
    }
    let opened_at = app.recorded.track().samples.len();
    let practice = practice_mut(app);
    (practice.opened_at, practice.open, practice.opened) = (opened_at, true, Some((at, place)));
    practice.awake = dom::now();
    click(app, place);
    app.playing.put(false);
    app.let_go();
    app.seek(app.shown.rehearsal.total());
    app.hold_back();
    let sample = look(app, at, place, true);
    record(app, sample);
    awake(app, at);
}

/// The film that is there when the trigger opens.
fn bare(app: &App) -> Live {
    let paint = app.job.paint_of(&app.job.coats[app.recorded.coat]);
    let patch = app.job.panel.cells();
    let same = app.shown.rehearsal.patch().window() == patch.window();
    let film = if same { app.shown.rehearsal.film(paint) } else { vec![0.0; patch.window().len()] };
    let solids = app.job.paints[paint].solids_by_volume.0;
    Live { spray: Spray::of(&app.job.gun), patch, solids, film, before: None }
}

/// Begins the clicks of a pass of the coat in the hand, where they are wanted.
fn click(app: &App, from: DVec2) {
    clicks::stop();
    if shown(app, Help::Clicks) {
        clicks::pass(&app.job, app.recorded.coat, (from, along(app)), 0.0);
    }
}

/// Closes the trigger; what was recorded is rehearsed. What was recorded of a gun that runs by itself after that
/// moment, because the event was still on its way, is withdrawn.
pub fn close(app: &mut App, at: f64, place: DVec2) {
    if practice(app).open {
        let (closes, first) = (time(app, at), practice(app).opened_at + 1);
        let samples = &mut app.recorded.track().samples;
        let kept = first + samples[first.min(samples.len())..].partition_point(|sample| sample.time.0 <= closes.0);
        samples.truncate(kept);
        let sample = look(app, at, place, false);
        record(app, sample);
        finish(app);
    }
}

fn finish(app: &mut App) {
    if let Some(last) = app.recorded.track().samples.last_mut() {
        last.open = false;
    }
    let practice = practice_mut(app);
    (practice.open, practice.opened, practice.mover) = (false, None, None);
    clicks::stop();
    app.resprayed();
}

/// Gives up what has been sprayed since the trigger opened, if that is not longer than so many seconds; closes it else.
pub fn give_up(app: &mut App, seconds: f64) {
    let from = practice(app).opened_at;
    let samples = &app.recorded.track().samples;
    let brief = samples.get(from).zip(samples.last()).is_some_and(|(a, b)| b.time.0 - a.time.0 < seconds);
    if practice(app).open && brief {
        app.recorded.track().samples.truncate(from);
        *practice_mut(app).live = None;
    }
    put_down(app);
}

/// The gun is put down, whoever had it in the hand.
pub fn put_down(app: &mut App) {
    if practice(app).open {
        finish(app);
    }
    let practice = practice_mut(app);
    practice.mover = None;
    practice.gun.put(None);
}

/// The film on the full grid is there: it stands for the one that grew.
pub fn settled(app: &mut App) {
    if !practice(app).open && practice(app).live.is_some() {
        *practice_mut(app).live = None;
    }
}

/// Says anew what was done, and begins to search for what did most.
pub fn tell(app: &mut App) {
    let (job, coat, coats) = (app.by_hand(), app.recorded.coat, app.job.coats.len());
    let done = |coat: usize| performance(&job, coat).is_some_and(|told| told.to_come == 0 && !told.passes.is_empty());
    let practice = practice_mut(app);
    practice.complete = (0..coats).all(done);
    *practice.told = performance(&job, coat);
    *practice.next = None;
    practice.trials = Trials::new(&job, coat);
    marking::sprayed(app);
}

/// Goes on with the search while the hand rests.
pub fn search(app: &mut App) {
    let system = *app.system;
    let practice = practice_mut(app);
    if practice.mover.is_some() {
        return;
    }
    let Some(trials) = &mut practice.trials else { return };
    let until = dom::now() + SEARCHES;
    let mut more = true;
    while more && dom::now() < until {
        more = trials.step();
    }
    if !more {
        *practice.next = Some(trials.told(system));
        practice.trials = None;
        marking::finish(app);
    }
}

/// Takes back the last pass, unless one is being sprayed.
pub fn take_back(app: &mut App) {
    if practice(app).open {
        return;
    }
    let along = along(app);
    let panel = app.job.panel.clone();
    let track = app.recorded.track();
    let Some(last) = track.passes(&panel, along).pop() else { return };
    let (first, from) = (*last.looks.start(), track.samples[*last.looks.start()].time.0);
    app.remember_hand();
    let track = app.recorded.track();
    track.samples.truncate(first);
    if let Some(sample) = track.samples.last_mut() {
        sample.open = false;
    }
    let coat = app.recorded.coat;
    let practice = practice_mut(app);
    practice.stutters.retain(|(of, when)| *of != coat || when.0 < from);
    practice.began = None;
    app.resprayed();
}

/// Where a gun that runs by itself is at a time of the page, and when it arrives, ms.
pub fn running(app: &App, at: f64) -> Option<(DVec2, f64)> {
    let Some(Mover::Keys { since, from, to }) = practice(app).mover else { return None };
    let takes = 1000.0 * (to - from).length() / app.job.coats[app.recorded.coat].actual_speed().0;
    Some((from.lerp(to, ((at - since) / takes).clamp(0.0, 1.0)), since + takes))
}

/// The gun in the hand, whether it sprays, and the direction in which it goes on the stage.
pub fn gun(app: &App) -> Option<InHand> {
    let sample = practice(app).gun.filter(|_| app.in_hand() && !*app.playing)?;
    let travel = practice(app).opened.map(|(_, from)| sample.place - from).filter(|way| way.length() > 1.0);
    let travel = travel.map(|way| way.normalize()).map(|way| (way.x, -way.y));
    Some(InHand { pose: sample.pose(&app.job.panel, along(app)), sprays: practice(app).open, travel })
}
