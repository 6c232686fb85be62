//! The page's state and what can be done to it. Every change of the job goes through [`App::change`], every look at it
//! through a frame; what a change makes stale follows from what was written to. Draws nothing, touches no document.

use crate::parts::axis::Axis;
use crate::parts::dom;
use crate::parts::layout::{Layout, Room};
use crate::parts::shown::{Scales, Shown};
use crate::parts::sight::{Look, look};
use crate::parts::watched::{Stamp, Watched};
use crate::shell::recorded::{Recorded, Step, with_tracks};
use crate::shell::room::{Event, Rooms, States};
use crate::shell::stale::{Changed, Stale, last};
use fanlap::colour::ScreenSpace;
use fanlap::error::Problem;
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::System;
use fanlap::rehearsal::{Doing, Playback, Rehearsal, Wetting, rehearse, rehearse_film};
use fanlap::report::{Paint, Report};
use fanlap::units::Seconds;
use glam::DVec2;
use serde_json::Value;

/// Which view of the panel is shown.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum View {
    /// What the eye gets.
    Paint,
    /// A map of the film.
    Film,
    /// A map of the colour difference to the target.
    Difference,
    /// A map of the difference as an eye would see it: times the visible threshold.
    Seen,
}

/// One of the pages of a job, in the order of the work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Place {
    /// The cards are sprayed and compared with the car.
    SprayOuts,
    /// The panel is sprayed.
    Rehearsal,
    /// It is sprayed by hand.
    Practice,
    /// It is planned for the booth, and taken along.
    Sheet,
}

impl Place {
    /// All of them, in the order of the work.
    pub const ALL: [Self; 4] = [Self::SprayOuts, Self::Rehearsal, Self::Practice, Self::Sheet];

    /// Its name in the document.
    pub fn name(self) -> &'static str {
        match self {
            Self::SprayOuts => "cards",
            Self::Rehearsal => "rehearsal",
            Self::Practice => "practice",
            Self::Sheet => "sheet",
        }
    }

    /// Whether the panel is on show there.
    pub fn shows_panel(self) -> bool {
        matches!(self, Self::Rehearsal | Self::Practice)
    }
}

/// A place that is looked at closely.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Probe {
    /// On the plan, mm.
    pub place: DVec2,
    /// Stays when the pointer leaves.
    pub kept: bool,
}

/// A result held for comparison.
pub struct Held {
    /// Its job.
    pub job: Job,
    /// What it shows.
    pub shown: Shown,
    /// Compared by the change of film instead of a divider.
    pub change: bool,
}

/// The page.
pub struct App {
    /// The job.
    pub job: Watched<Job>,
    /// What was recorded by hand beside it.
    pub recorded: Watched<Recorded>,
    /// The page that is open.
    pub place: Watched<Place>,
    /// The places, and the state of each.
    pub rooms: Rooms,
    /// The states of the places.
    pub states: States,
    /// The job has changed since the panel was rehearsed.
    behind: bool,
    /// What can be undone, the last step at the end.
    pub undo: Vec<Step>,
    /// What was undone.
    pub redo: Vec<Step>,
    /// A slider is being moved: its steps are one change.
    pub moving: bool,
    /// The coat whose settings are shown; none for all.
    pub coat: Watched<Option<usize>>,
    /// Units shown.
    pub system: Watched<System>,
    /// View shown.
    pub view: Watched<View>,
    /// Time in the job.
    pub time: Watched<Seconds>,
    /// Whether time runs.
    pub playing: Watched<bool>,
    /// Whether the countdown is shown.
    pub counting: Watched<bool>,
    /// How long the countdown still waits before time runs, s.
    pub lead_in: Watched<f64>,
    /// How fast: 1, 4 or 16.
    pub rate: f64,
    /// Place of the section line, mm from the left edge, or from the near edge where it is turned.
    pub section: Watched<f64>,
    /// The section shows the films around the target alone.
    pub near: Watched<bool>,
    /// Colour difference to the target that counts as right, CIEDE2000.
    pub within: Watched<f64>,
    /// The probed place.
    pub probe: Watched<Option<Probe>>,
    /// What is shown.
    pub shown: Shown,
    /// The full grid on its way.
    pub full: Full,
    /// What is still to be computed of what an eye would see.
    pub look: Look,
    /// Film at `time`.
    pub playback: Playback,
    /// Axis of time.
    pub axis: Axis,
    /// Ends of the maps.
    pub scales: Watched<Scales>,
    /// A held result.
    pub held: Watched<Option<Held>>,
    /// Place of the divider between a held result and the present one on the panel, 0..1.
    pub divider: Watched<f64>,
    /// Colours of the screen.
    pub space: ScreenSpace,
    /// Layout of the stage.
    pub layout: Watched<Layout>,
    /// What went wrong and why, on the figure until it is closed.
    pub notice: Watched<Option<(String, String)>>,
    /// Where the focus goes after a command.
    pub focus: Option<&'static str>,
    /// The stage may have another size.
    pub(super) stage: Stamp,
    /// The film that is shown is another one.
    pub(super) film: Stamp,
    /// Something else is to be said of it.
    pub(super) said: Stamp,
    /// What an eye would see of it is another thing.
    pub(super) seen: Stamp,
    /// Something on the page was pressed, chosen or left.
    touched: Stamp,
    /// The number of the last change that is on show.
    on_show: u64,
    pub(super) settled: Settled,
    pub(super) last_frame: f64,
    pub(super) changed_at: f64,
}

/// What a command left behind that was brought in step last.
#[derive(Default)]
pub struct Settled {
    pub(super) place: u64,
    pub(super) notice: u64,
    pub(super) stage: u64,
    /// The place that is shown.
    pub(super) shown: Option<Place>,
}

/// The rehearsal on the job's own grid.
pub enum Full {
    /// Not begun.
    Due,
    /// Some passes are laid.
    Laying(Box<Rehearsal>),
    /// Its film is the one that is shown; the account of its paint and its report are on their way.
    Film,
    /// The account is complete, its wet film is on its way.
    Wet(Box<Wetting>),
    /// It is shown, with all that is said of it.
    Shown,
}

impl Full {
    /// Whether it is the one that is shown, as a whole.
    pub fn shown(&self) -> bool {
        matches!(self, Self::Shown)
    }

    /// Of what is shown, for checks and scripts.
    pub fn name(&self) -> &'static str {
        match self {
            Self::Due | Self::Laying(_) => "preview",
            Self::Film | Self::Wet(_) => "film",
            Self::Shown => "full",
        }
    }
}

/// Cells of the coarse preview, mm, at least; and how many there are at most, coat by coat, so that a frame holds it.
const PREVIEW_CELL: f64 = 16.0;
const MOST_PREVIEWED: f64 = 120_000.0;
/// The full grid waits until a control has rested this long, ms: it would be thrown away at the next step.
pub(super) const PAUSE: f64 = 20.0;

impl App {
    /// Opens a job at a moment.
    pub fn new(job: Job, rooms: Rooms, space: ScreenSpace) -> Self {
        let shown = preview(&job, space, None);
        let mut states = States::default();
        rooms.iter().for_each(|room| room.state(&mut states));
        Self {
            recorded: Watched::default(),
            place: Watched::new(Place::Rehearsal),
            rooms,
            states,
            behind: false,
            undo: Vec::new(),
            redo: Vec::new(),
            moving: false,
            coat: Watched::default(),
            system: Watched::new(System::Metric),
            view: Watched::new(View::Paint),
            time: Watched::new(Seconds(0.0)),
            playing: Watched::default(),
            counting: Watched::default(),
            lead_in: Watched::default(),
            near: Watched::default(),
            rate: 1.0,
            section: Watched::new((section_reach(&job) * 0.44).round()),
            within: Watched::new(1.0),
            probe: Watched::default(),
            full: Full::Due,
            look: Look::Due,
            playback: Playback::default(),
            axis: Axis::of(&shown.rehearsal),
            scales: Watched::new(Scales::of(&shown)),
            shown,
            held: Watched::default(),
            divider: Watched::new(0.5),
            space,
            layout: Watched::new(Layout::new(&job.panel, (800.0, 600.0), Room::Desk, false)),
            notice: Watched::default(),
            focus: None,
            stage: Stamp::default(),
            film: Stamp::default(),
            said: Stamp::default(),
            seen: Stamp::default(),
            touched: Stamp::default(),
            on_show: 0,
            settled: Settled::default(),
            last_frame: 0.0,
            changed_at: f64::NEG_INFINITY,
            job: Watched::new(job),
        }
    }

    /// What is out of date on the page.
    pub fn stale(&self) -> Stale {
        let all = Changed::all(last(&[&self.layout, &self.view, &self.held, &self.system, &self.place]));
        let own = Changed {
            film: last(&[&self.film, &self.job, &self.recorded, &self.time, &self.scales, &self.divider]),
            drawing: last(&[
                &self.said,
                &self.probe,
                &self.section,
                &self.near,
                &self.within,
                &self.playing,
                &self.counting,
                &self.lead_in,
            ]),
            column: last(&[
                &self.said,
                &self.job,
                &self.recorded,
                &self.coat,
                &self.section,
                &self.within,
                &self.playing,
                &self.touched,
            ]),
            places: 0,
        };
        // what an eye would see is a picture of its own, where that is the view
        let seen = if *self.view == View::Seen { last(&[&self.seen]) } else { 0 };
        let own = own.or(Changed { film: seen, ..Changed::default() });
        let rooms = self.rooms.iter().map(|room| room.changed(self)).fold(own, Changed::or);
        Stale::since(all.or(rooms), self.on_show)
    }

    /// What is out of date, the film at this moment ready to be drawn.
    pub fn to_show(&mut self) -> Stale {
        let stale = self.stale();
        if stale.film {
            self.playback.seek(&self.shown.rehearsal, *self.time);
        }
        stale
    }

    /// Everything that has changed so far is on show.
    pub fn is_shown(&mut self) {
        self.on_show = crate::parts::watched::changes();
    }

    /// Something on the page was pressed, chosen or left, or has told something.
    pub fn touch(&mut self) {
        self.touched.now();
    }

    /// Sets one value at every path; each slider gesture is one step of undo.
    pub fn set(&mut self, paths: &[String], value: &Value) -> Result<(), Problem> {
        let mut job = self.job.clone();
        for path in paths {
            job = job.with(path, value)?;
        }
        self.change(job);
        Ok(())
    }

    /// Shows another job at the same place of the time axis: at once on a coarse grid, in full a few frames later.
    pub fn replace(&mut self, job: Job) {
        let resized = self.job.panel != job.panel || turned(&self.job) != turned(&job);
        self.fit_choices(&job);
        if self.job.panel != job.panel {
            // beside another panel it compares nothing
            self.let_go();
        }
        let as_meant = (&self.job.panel, &self.job.gun, &self.job.coats) == (&job.panel, &job.gun, &job.coats);
        *self.job = job;
        self.announce(Event::JobChanged { as_meant });
        if !self.place.shows_panel() {
            // the panel is not on show: it is rehearsed when it is
            (self.behind, self.full) = (true, Full::Shown);
            return;
        }
        self.catch_up();
        if resized {
            self.measure();
        }
    }

    /// Keeps of what was chosen what another job has too.
    fn fit_choices(&mut self, job: &Job) {
        self.coat.put(self.coat.filter(|coat| *coat < job.coats.len()));
        let reach = section_reach(job);
        let as_before = turned(&self.job) == turned(job);
        self.section.put(if as_before { self.section.min(reach) } else { (0.44 * reach).round() });
        self.probe.put(self.probe.filter(|probe| inside(job, probe.place)));
        let last = job.coats.len().saturating_sub(1);
        if self.recorded.coat > last {
            self.recorded.coat = last;
        }
    }

    /// Lets a held result go.
    pub fn let_go(&mut self) {
        if self.held.is_some() {
            *self.held = None;
        }
    }

    /// Rehearses the job as it is now, at the same place of the time axis.
    fn catch_up(&mut self) {
        if *self.place == Place::Practice {
            return self.resprayed();
        }
        let place = self.axis.place(*self.time);
        let (ended, empty_before) = (self.ended(), self.shown.rehearsal.job().coats.is_empty());
        self.show(preview(&self.job, self.space, Some(&self.shown.report)));
        *self.time = if ended && !empty_before { self.shown.rehearsal.total() } else { self.axis.time(place) };
        self.full = Full::Due;
        self.changed_at = dom::now();
        self.behind = false;
        self.announce(Event::Outdated);
    }

    /// The job as this place has it: by hand in practice, otherwise as planned.
    pub fn rehearsed(&self) -> Job {
        if *self.place == Place::Practice { self.by_hand() } else { self.job.clone() }
    }

    /// The job as it is sprayed by hand.
    pub fn by_hand(&self) -> Job {
        self.recorded.by_hand(&self.job)
    }

    /// Whether the page is the one where the gun is in the hand.
    pub fn in_hand(&self) -> bool {
        *self.place == Place::Practice && !self.job.coats.is_empty()
    }

    /// The job with what was recorded of it, for a file.
    pub fn kept(&self) -> Job {
        with_tracks(&self.job, &self.recorded.tracks)
    }

    /// The whole rehearsal of the job as this place has it: the one that is shown, if it is of that.
    pub fn whole(&self) -> Rehearsal {
        let job = self.rehearsed();
        let shown = &self.shown.rehearsal;
        if self.full.shown() && *shown.job() == job { shown.clone() } else { rehearse(&job) }
    }

    /// What was sprayed by hand has changed: it is rehearsed on the full grid, what is shown stays until then.
    pub fn resprayed(&mut self) {
        (self.full, self.changed_at, self.behind) = (Full::Due, dom::now() - PAUSE, false);
        self.said.now();
        self.announce(Event::Outdated);
    }

    /// Nothing is laid on the full grid until it is due again.
    pub fn hold_back(&mut self) {
        self.full = Full::Shown;
    }

    /// Shows a result; what was seen of the last one stands until this one has been looked at.
    pub(super) fn show(&mut self, mut shown: Shown) {
        self.axis = Axis::of(&shown.rehearsal);
        shown.sight = self.shown.sight.take();
        shown.report.seen = self.shown.report.seen.take();
        self.look = Look::Due;
        self.shown = shown;
        self.playback.reset();
        self.film.now();
    }

    /// Whether the job is over at this moment.
    pub fn ended(&self) -> bool {
        self.time.0 >= self.shown.rehearsal.total().0 - 1e-6
    }

    /// Whether the section runs along the length, because the passes run along the width.
    pub fn turned(&self) -> bool {
        turned(&self.job)
    }

    /// Fits the ends of the maps to what is shown, and to what is held beside it.
    pub fn rescale(&mut self) {
        let mut scales = Scales::of(&self.shown);
        if let Some(held) = &*self.held {
            let held = Scales::of(&held.shown);
            scales.difference = scales.difference.max(held.difference);
            scales.times = scales.times.max(held.times);
        }
        self.scales.put(scales);
    }

    /// Ends of the film map at this moment, um.
    pub fn film_ends(&self) -> (f64, f64) {
        let over = self.ended() && !self.job.coats.is_empty();
        if over { self.scales.finished } else { (0.0, self.scales.film.0) }
    }

    /// What the gun does now.
    pub fn doing(&self) -> Doing {
        self.shown.rehearsal.doing(*self.time)
    }

    /// The coat that is under the gun, flashing off, or was the last.
    pub fn present_coat(&self) -> Option<usize> {
        match self.doing() {
            Doing::Spraying(pass) | Doing::Turning(pass) => {
                self.shown.rehearsal.passes().get(pass).map(|pass| pass.coat)
            }
            Doing::Flashing(coat) => Some(coat),
            Doing::Done => self.shown.rehearsal.coats().len().checked_sub(1),
        }
    }

    /// Goes to a moment.
    pub fn seek(&mut self, time: Seconds) {
        *self.time = Seconds(time.0.clamp(0.0, self.shown.rehearsal.total().0));
    }

    /// Opens a page of the job.
    pub fn go(&mut self, place: Place) {
        // practice and the rehearsal share the panel, and each has a result of its own
        let other = (*self.place == Place::Practice) != (place == Place::Practice);
        self.announce(Event::PutDown);
        self.probe.put(self.probe.filter(|_| place != Place::Practice));
        *self.place = place;
        self.lead_in.put(0.0);
        self.playing.put(*self.playing && place.shows_panel() && !other);
        if (self.behind || other) && place.shows_panel() {
            self.let_go();
            self.catch_up();
        }
        self.behind |= other && !place.shows_panel();
        self.measure();
    }

    /// Begins or stops to play; from the end it begins anew.
    pub fn play(&mut self, playing: bool) {
        if playing && self.ended() {
            self.seek(Seconds(0.0));
        }
        self.lead_in.put(0.0);
        *self.playing = playing && !self.job.coats.is_empty();
    }

    /// One pass back or on: to where the gun leaves the panel, so that it is still seen.
    pub fn step_pass(&mut self, back: bool) {
        self.playing.put(false);
        let rehearsal = &self.shown.rehearsal;
        let stops = || rehearsal.passes().iter().map(|pass| leaves_panel(&self.job, pass));
        let time = if back {
            stops().filter(|stop| *stop < self.time.0 - 0.02).fold(0.0, f64::max)
        } else {
            stops().find(|stop| *stop > self.time.0 + 0.02).unwrap_or(f64::INFINITY)
        };
        self.seek(Seconds(time));
    }

    /// Holds the present result, or lets go of it.
    pub fn hold(&mut self) {
        if self.held.take().is_none() {
            let job = self.rehearsed();
            let shown = self.at_rest().then(|| self.shown.clone()).filter(|shown| *shown.rehearsal.job() == job);
            let shown = shown.unwrap_or_else(|| {
                let mut shown = Shown::new(rehearse(&job), self.space);
                look(&mut shown, Look::Due, || true);
                shown
            });
            self.hold_beside(Held { job, shown, change: false });
            self.playing.put(false);
        }
        self.rescale();
    }

    /// Puts a result beside the present one, both finished.
    pub fn hold_beside(&mut self, held: Held) {
        *self.held = Some(held);
        *self.divider = 0.5;
        self.seek(self.shown.rehearsal.total());
    }

    /// Says what went wrong, on the figure; the last good state stays.
    pub fn trouble(&mut self, what: &str, why: &str) {
        *self.notice = Some((what.to_string(), why.to_string()));
    }

    /// The stage may have another size: it is measured anew.
    pub fn measure(&mut self) {
        self.stage.now();
    }

    /// Paths in the job that a control's pattern stands for: of the chosen coat, or of all.
    pub fn paths(&self, pattern: &str) -> Vec<String> {
        if !pattern.starts_with("coats[]") {
            return vec![pattern.to_string()];
        }
        let coats = match *self.coat {
            Some(coat) => coat..coat + 1,
            None => 0..self.job.coats.len(),
        };
        coats.map(|coat| pattern.replace("[]", &format!("[{coat}]"))).collect()
    }
}

/// A section lies across the passes of the first coat.
fn turned(job: &Job) -> bool {
    job.coats.first().is_some_and(|coat| coat.along == fanlap::strokes::Along::Width)
}

/// How far the section line can be moved, mm.
pub fn section_reach(job: &Job) -> f64 {
    if turned(job) { job.panel.width.0 } else { job.panel.length.0 }
}

/// When the nozzle of a pass leaves the panel; the end of a pass that never is over it.
fn leaves_panel(job: &Job, pass: &fanlap::rehearsal::Pass) -> f64 {
    let over = |moment: &fanlap::strokes::Moment| inside(job, moment.pose.nozzle.truncate());
    let last = pass.stroke.evenly(100).rev().find(|moment| over(moment));
    last.map_or(pass.end.0, |moment| pass.start.0 + moment.time.0)
}

/// The job on the preview's grid, its film alone: what flies past the rim is followed on the full grid, and the figures
/// of paint stay those of the last result until then.
fn preview(job: &Job, space: ScreenSpace, last: Option<&Report>) -> Shown {
    let mut coarse = job.clone();
    let laid = job.panel.length.0 * job.panel.width.0 * job.coats.len() as f64;
    coarse.panel.cell.0 = coarse.panel.cell.0.max(PREVIEW_CELL).max((laid / MOST_PREVIEWED).sqrt());
    let mut shown = Shown::new(rehearse_film(&coarse), space);
    for (name, paint) in &mut shown.report.paint {
        let known = last.and_then(|report| report.paint.get(name)).copied();
        *paint = Paint { sprayed_ml: paint.sprayed_ml, ..known.unwrap_or(*paint) };
    }
    shown
}

/// Whether a place lies on the panel.
pub fn inside(job: &Job, place: DVec2) -> bool {
    place.min_element() >= 0.0 && place.x <= job.panel.length.0 && place.y <= job.panel.width.0
}

/// The job the page opens on.
pub fn first_job() -> Job {
    EXAMPLES[0].job()
}
