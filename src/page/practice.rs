//! Spraying by hand: looks at the gun are recorded, the film builds while the trigger is open, and what was recorded is
//! rehearsed like any coat. What moves the gun is in `hand`, what is told of it is the core's.

pub mod clicks;
pub mod hand;
pub mod instructor;
pub mod lesson;
pub mod progress;
pub mod told;

use crate::figure::shown::Shown;
use crate::practice::hand::NOTCH;
use crate::practice::instructor::PutIn;
use crate::practice::lesson::Attempting;
use crate::shell::app::{App, Held, Place};
use crate::shell::dom;
use crate::with;
use fanlap::gun::Pose;
use fanlap::job::Job;
use fanlap::panel::{Panel, Patch, Window};
use fanlap::practice::{NextStep, Performance, Trials, performance};
use fanlap::rehearsal::Rehearsal;
use fanlap::spray::{Spray, deposit, footprint};
use fanlap::strokes::{Along, Line, Recorded, Sample, TRACK_LIMITS, Track};
use fanlap::units::{Degrees, Millimetres, Seconds};
use glam::DVec2;
use std::ops::Range;

/// A gun that no event has moved for this long is shown standing, s.
const STANDS: f64 = 0.06;
/// A page that takes no events for this long stutters, ms: a hand answers what the eye sees in about that time, a
/// judgement.
const STUTTER: f64 = 200.0;
/// Time of a frame for the search, ms.
const SEARCHES: f64 = 8.0;
/// Looks that one attempt may have; the job file takes no more.
const MOST_LOOKS: usize = 30_000;

/// Who moves the gun.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Mover {
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
    /// The film of some cells before it was shown growing under a gun that stands: no event has told of that yet.
    before: Option<(Window, Vec<f64>)>,
}

/// Practice: what was recorded, and the gun in the hand.
#[derive(Default)]
pub struct Practice {
    /// What was recorded, coat by coat.
    pub tracks: Vec<Track>,
    /// The coat that is being sprayed.
    pub coat: usize,
    /// The lesson that is tried.
    pub lesson: Option<Attempting>,
    /// The error that an instructor put in.
    pub put_in: Option<PutIn>,
    /// Settings were changed after it was sprayed.
    pub(super) judged_anew: bool,
    /// Every line of every coat was sprayed.
    pub(super) complete: bool,
    /// Heel and lean, by the tilt of a pen.
    pub(super) tilt: (Degrees, Degrees),
    /// Nozzle to panel, mm; none: as the coat says.
    pub(super) distance: Option<f64>,
    pub(super) mover: Option<Mover>,
    pub(super) open: bool,
    /// Fingers on the panel: which and where on the screen.
    pub(super) fingers: Vec<(i32, DVec2)>,
    /// Where the gun is, while it is over the stage.
    pub(super) gun: Option<Sample>,
    /// When the recording of the coat began, ms.
    began: Option<f64>,
    /// When the trigger opened, ms, and where.
    pub(super) opened: Option<(f64, DVec2)>,
    /// The look at which it opened.
    opened_at: usize,
    /// When the page last could take events, ms.
    awake: f64,
    /// The coats and the times of their recordings at which the computer stuttered.
    pub(super) stutters: Vec<(usize, Seconds)>,
    live: Option<Live>,
    pub(super) told: Option<Performance>,
    /// What did most, once it is found.
    pub(super) next: Option<NextStep>,
    trials: Option<Trials>,
    /// The plan that is to stand beside what was sprayed.
    comparing: Option<Box<Rehearsal>>,
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

    /// What is sprayed is done by somebody else: the gun is not in the hand.
    pub fn out_of_hand(&self) -> bool {
        self.put_in.is_some() || self.lesson.as_ref().is_some_and(|trying| trying.lesson.other_hand().is_some())
    }

    /// Whether frames are wanted: the gun is being moved, or a search goes on.
    pub fn busy(&self) -> bool {
        self.mover.is_some() || self.trials.is_some() || self.comparing.is_some()
    }

    pub(super) fn track(&mut self) -> &mut Track {
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
    fanlap::practice::plan(&app.job, app.practice.coat)
}

/// Nozzle to panel, mm.
pub(super) fn distance(app: &App) -> f64 {
    app.practice.distance.unwrap_or(app.job.coats[app.practice.coat].distance.0)
}

/// Tenths of a millimetre and of a millisecond are kept.
fn tenths(value: f64) -> f64 {
    (value * 10.0).round() / 10.0
}

/// A time of the page, ms, in the recording.
fn time(app: &App, at: f64) -> Seconds {
    Seconds(app.practice.began.map_or(0.0, |began| tenths((at - began).max(0.0)) / 1000.0))
}

/// A look at the gun over a place, at a time of the page in ms.
pub(super) fn look(app: &App, at: f64, place: DVec2, open: bool) -> Sample {
    let since = time(app, at);
    let before = app.practice.tracks.get(app.practice.coat).and_then(|track| track.samples.last());
    // two devices may tell of their events in either order
    let time = Seconds(before.map_or(since.0, |before| since.0.max(before.time.0)));
    // a pointer may be led far out of the window: no job file takes a gun from there
    let [_, (_, least_x, most_x, _), (_, least_y, most_y, _), ..] = TRACK_LIMITS;
    let place = DVec2::new(tenths(place.x.clamp(least_x, most_x)), tenths(place.y.clamp(least_y, most_y)));
    let (heel, lean) = app.practice.tilt;
    Sample { time, place, distance: Millimetres(distance(app)), heel, lean, open }
}

/// Records a look; the film grows from the last one to it.
pub(super) fn record(app: &mut App, sample: Sample) {
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
    let Some(live) = &mut app.practice.live else { return };
    live.withdraw();
    live.lay(&app.job.panel, along, [before, after], false);
}

/// Shows the gun standing where it was last seen. Nothing of it is recorded: the next event tells how long it stood, and
/// when one comes that was on its way, this is withdrawn.
fn stand(app: &mut App, at: f64) {
    let (along, until) = (along(app), time(app, at));
    let (Some(live), Some(gun)) = (&mut app.practice.live, app.practice.gun) else { return };
    live.withdraw();
    if until.0 > gun.time.0 + STANDS {
        live.lay(&app.job.panel, along, [&gun, &Sample { time: until, ..gun }], true);
    }
    (app.stale.film, app.stale.drawing) = (true, true);
}

impl Live {
    /// Lays what is sprayed from one look to the next, so that it can be withdrawn or not.
    fn lay(&mut self, panel: &Panel, along: Along, looks: [&Sample; 2], ahead: bool) {
        let poses = looks.map(|sample| sample.pose(panel, along));
        let areas = poses.map(|pose| footprint(&self.spray, panel, &pose, panel.area()));
        let [Some(one), Some(other)] = areas else { return };
        let window = self.patch.window_of(one.around(other));
        // dry film: as if the trigger had been open for the share that stays
        let seconds = Seconds((looks[1].time.0 - looks[0].time.0) * self.solids);
        let path = [(Seconds(0.0), poses[0]), (seconds, poses[1])];
        if seconds.0 > 0.0 && !window.is_empty() {
            if ahead {
                let film = self.rows(window).flat_map(|row| self.film[row].iter().copied()).collect();
                self.before = Some((window, film));
            }
            let block = self.patch.window();
            deposit(&self.spray, &self.patch, window, (block, &mut self.film), &path);
        }
    }

    /// Takes away what was laid ahead of the events.
    fn withdraw(&mut self) {
        let Some((window, film)) = self.before.take() else { return };
        for (row, before) in self.rows(window).zip(film.chunks(window.columns)) {
            self.film[row].copy_from_slice(before);
        }
    }

    /// The rows of a block of cells, as they lie in the film.
    fn rows(&self, block: Window) -> impl Iterator<Item = Range<usize>> + use<> {
        let columns = self.patch.columns;
        (block.row..block.row + block.rows).map(move |row| {
            let first = row * columns + block.column;
            first..first + block.columns
        })
    }
}

/// The page can take events now, the last one of which happened at a time, ms: whether the computer has kept up.
pub(super) fn awake(app: &mut App, happened: f64) {
    let now = dom::now();
    let late = (now - happened).max(now - app.practice.awake);
    app.practice.awake = now;
    // a gun that runs by itself is where its own clock has it
    if app.practice.open && late > STUTTER && matches!(app.practice.mover, Some(Mover::Pointer(_))) {
        let when = time(app, now);
        app.practice.stutters.push((app.practice.coat, when));
    }
}

/// What is said where the computer has stuttered: what was sprayed is then not the hand's alone.
pub fn stuttered(app: &App) -> Option<String> {
    let (coat, when) = app.practice.stutters.first()?;
    let settings = app.job.coats.get(*coat)?;
    let track = app.practice.tracks.get(*coat)?;
    let passes = track.passes(&app.job.panel, settings.along);
    let began = |pass: &Recorded| track.samples[*pass.looks.start()].time.0;
    let number = passes.iter().rposition(|pass| began(pass) <= when.0)? + 1;
    let test = app.practice.lesson.as_ref().is_some_and(|trying| trying.state.test);
    Some(match number {
        _ if test => "Your computer stuttered; this test is not marked: press Again.".to_string(),
        number if number == passes.len() && *coat == app.practice.coat => {
            "Your computer stuttered; this pass is not marked: take it back and spray it again.".to_string()
        }
        number => {
            format!("Your computer stuttered in pass {number}; nothing is marked: take it back and go on from there.")
        }
    })
}

/// Opens the trigger.
pub(super) fn open(app: &mut App, at: f64, place: DVec2) {
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
        let same = app.shown.rehearsal().patch().window() == patch.window();
        let film = if same { app.shown.rehearsal().film(paint) } else { vec![0.0; patch.window().len()] };
        let solids = app.job.paints[paint].solids_by_volume.0;
        app.practice.live = Some(Live { spray: Spray::of(&app.job.gun), patch, solids, film, before: None });
    }
    app.practice.opened_at = app.practice.track().samples.len();
    (app.practice.open, app.practice.opened, app.practice.awake) = (true, Some((at, place)), dom::now());
    clicks::run(app, place);
    (app.playing, app.held) = (false, None);
    app.seek(app.shown.rehearsal().total());
    app.hold_back();
    let sample = look(app, at, place, true);
    record(app, sample);
    awake(app, at);
}

/// Closes the trigger; what was recorded is rehearsed. What was recorded of a gun that runs by itself after that moment,
/// because the event was still on its way, is withdrawn.
pub(super) fn close(app: &mut App, at: f64, place: DVec2) {
    if app.practice.open {
        let (closes, first) = (time(app, at), app.practice.opened_at + 1);
        let samples = &mut app.practice.track().samples;
        let kept = first + samples[first.min(samples.len())..].partition_point(|sample| sample.time.0 <= closes.0);
        samples.truncate(kept);
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
    clicks::stop();
    app.resprayed();
}

/// Gives up what has been sprayed since the trigger opened, if that is not longer than so many seconds; closes it else.
pub(super) fn give_up(app: &mut App, seconds: f64) {
    let from = app.practice.opened_at;
    let samples = &mut app.practice.track().samples;
    let brief = samples.get(from).zip(samples.last()).is_some_and(|(a, b)| b.time.0 - a.time.0 < seconds);
    if app.practice.open && brief {
        app.practice.track().samples.truncate(from);
        app.practice.live = None;
    }
    put_down(app);
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
    let done = |coat: usize| performance(&job, coat).is_some_and(|told| told.to_come == 0 && !told.passes.is_empty());
    app.practice.complete = (0..app.job.coats.len()).all(done);
    app.practice.next = None;
    app.practice.trials = Trials::new(&job, coat);
    (app.stale.film, app.stale.drawing, app.stale.column) = (true, true, true);
    lesson::sprayed(app);
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
        lesson::finish(app);
    }
}

/// Takes back the last pass, unless one is being sprayed.
pub(super) fn take_back(app: &mut App) {
    if app.practice.open {
        return;
    }
    let along = along(app);
    let panel = app.job.panel.clone();
    let track = app.practice.track();
    let Some(last) = track.passes(&panel, along).pop() else { return };
    let (first, from) = (*last.looks.start(), track.samples[*last.looks.start()].time.0);
    app.remember_hand();
    let track = app.practice.track();
    track.samples.truncate(first);
    if let Some(sample) = track.samples.last_mut() {
        sample.open = false;
    }
    let coat = app.practice.coat;
    app.practice.stutters.retain(|(of, when)| *of != coat || when.0 < from);
    app.practice.began = None;
    app.resprayed();
}

/// Clears what was recorded; undo brings it back.
fn clear(app: &mut App) {
    app.remember_hand();
    app.practice.tracks.clear();
    (app.practice.began, app.practice.live, app.held) = (None, None, None);
    app.practice.stutters.clear();
    (app.practice.put_in, app.practice.judged_anew) = (None, false);
    lesson::again(app);
    app.resprayed();
}

/// Shows the plan's result beside what was sprayed, once it is rehearsed, or lets go of it.
fn compare(app: &mut App) {
    if app.held.take().is_none() {
        // as many coats as were sprayed
        let mut job = app.job.clone();
        job.coats.truncate(by_hand(app).coats.len());
        app.practice.comparing = Some(Box::new(Rehearsal::plan(&job)));
    }
    app.rescale();
    app.stale = crate::shell::app::Stale::ALL;
}

/// What a held result and the present one are called: in Practice a plan beside what was sprayed.
pub fn beside(app: &App) -> (&'static str, &'static str) {
    let plan = app.held.as_ref().is_some_and(|held| held.job.coats.iter().all(|coat| coat.track.is_none()));
    match app.practice.put_in {
        _ if !here(app) || !plan => ("Held", "Now"),
        Some(_) => ("Plan", "With the error"),
        None => ("Plan", "By hand"),
    }
}

/// Goes on with the plan that is to stand beside what was sprayed.
fn rehearse_plan(app: &mut App) {
    let Some(mut coming) = app.practice.comparing.take() else { return };
    let until = dom::now() + SEARCHES;
    let mut more = || dom::now() < until;
    while coming.lay_some(&mut more) && more() {}
    while coming.finished() && more() {
        if !coming.follow_some(&mut more) {
            let job = coming.job().clone();
            let shown = Shown::new(*coming, app.space);
            app.held = Some(Held { job, shown, change: false, divider: 0.5 });
            app.seek(app.shown.rehearsal().total());
            app.rescale();
            app.stale = crate::shell::app::Stale::ALL;
            return;
        }
    }
    app.practice.comparing = Some(coming);
}

/// What is done with what was sprayed.
pub fn listen() {
    let click = |id: &'static str, f: fn(&mut App)| dom::on(&dom::by_id(id), "click", move |_| with(f));
    click("practice-back", take_back);
    click("practice-clear", clear);
    click("practice-compare", compare);
    click("practice-nearer", |app| hand::held_farther(app, dom::now(), -NOTCH));
    click("practice-farther", |app| hand::held_farther(app, dom::now(), NOTCH));
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
}

/// Where a gun that runs by itself is at a time of the page, and when it arrives, ms.
pub(super) fn running(app: &App, at: f64) -> Option<(DVec2, f64)> {
    let Some(Mover::Keys { since, from, to }) = app.practice.mover else { return None };
    let takes = 1000.0 * (to - from).length() / app.job.coats[app.practice.coat].actual_speed().0;
    Some((from.lerp(to, ((at - since) / takes).clamp(0.0, 1.0)), since + takes))
}

/// Moves a gun that runs by itself; the pacer moves too.
pub fn tick(app: &mut App) {
    if !here(app) {
        return;
    }
    search(app);
    rehearse_plan(app);
    let now = dom::now();
    awake(app, now);
    if let Some((place, arrives)) = running(app, now) {
        let at = now.min(arrives);
        let sample = look(app, at, place, app.practice.open);
        if app.practice.open {
            record(app, sample)
        } else {
            app.practice.gun = Some(sample)
        }
        app.stale.drawing = true;
        if now >= arrives {
            hand::stop(app, at);
        }
    }
    // a gun that stands still sends no events, and sprays
    if let (Some(Mover::Pointer(_)), true) = (app.practice.mover, app.practice.open) {
        stand(app, now);
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
