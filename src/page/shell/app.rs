//! The page's state and what can be done to it. Every change of the job goes through [`App::change`], every look at it
//! through a frame. Knows the core and the short words of `dom`; draws nothing itself.

use crate::booth::Booth;
use crate::figure::axis::Axis;
use crate::figure::layout::{Layout, Room};
use crate::figure::shown::{Scales, Shown};
use crate::figure::sight::{Look, look};
use crate::practice::progress::Learner;
use crate::practice::{self, Practice};
use crate::rehearsal::findings::Findings;
use crate::rehearsal::gun_test::Fitted;
use crate::shell::dom;
use crate::shell::history::Step;
use crate::spray_outs::Sprayed;
use crate::spray_outs::measured::TintFitted;
use fanlap::appraisal::{Appraisal, appraise};
use fanlap::colour::ScreenSpace;
use fanlap::error::Problem;
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::System;
use fanlap::rehearsal::{Doing, Playback, Rehearsal, rehearse, rehearse_film};
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
    /// Place of the divider on the panel, 0..1.
    pub divider: f64,
}

/// The page.
pub struct App {
    /// The job.
    pub job: Job,
    /// The page that is open.
    pub place: Place,
    /// The job has changed since the panel was rehearsed.
    behind: bool,
    /// The cards as they were sprayed last.
    pub sprayed: Option<Sprayed>,
    /// The gun in the hand.
    pub practice: Practice,
    /// Advice and the booth sheet.
    pub booth: Booth,
    /// What belongs to the learner.
    pub learner: Learner,
    /// The tint as one's own cards show it.
    pub tint: Option<TintFitted>,
    /// What is wrong with the finished job.
    pub findings: Findings,
    /// The gun as the test card shows it.
    pub fitted: Option<Fitted>,
    /// What can be undone, the last step at the end.
    pub undo: Vec<Step>,
    /// What was undone.
    pub redo: Vec<Step>,
    /// A slider is being moved: its steps are one change.
    pub moving: bool,
    /// The coat whose settings are shown; none for all.
    pub coat: Option<usize>,
    /// Units shown.
    pub system: System,
    /// View shown.
    pub view: View,
    /// Time in the job.
    pub time: Seconds,
    /// Whether time runs.
    pub playing: bool,
    /// Whether the countdown is shown.
    pub counting: bool,
    /// How long the countdown still waits before time runs, s.
    pub lead_in: f64,
    /// How fast: 1, 4 or 16.
    pub rate: f64,
    /// Place of the section line, mm from the left edge, or from the near edge where it is turned.
    pub section: f64,
    /// The section shows the films around the target alone.
    pub near: bool,
    /// Colour difference to the target that counts as right, CIEDE2000.
    pub within: f64,
    /// The probed place.
    pub probe: Option<Probe>,
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
    pub scales: Scales,
    /// A held result.
    pub held: Option<Held>,
    /// Colours of the screen.
    pub space: ScreenSpace,
    /// Layout of the stage.
    pub layout: Layout,
    /// What must be drawn again.
    pub stale: Stale,
    pub(super) last_frame: f64,
    pub(super) changed_at: f64,
}

/// What must be drawn again at the next frame.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Stale {
    /// The film: time or result changed.
    pub film: bool,
    /// The drawing over it.
    pub drawing: bool,
    /// Controls, readings and words: the job or the result changed.
    pub column: bool,
    /// Where things stand: the window or the panel changed.
    pub places: bool,
}

impl Stale {
    /// Everything.
    pub const ALL: Self = Self { film: true, drawing: true, column: true, places: true };

    /// A result: everything but where things stand.
    fn result(&mut self) {
        (self.film, self.drawing, self.column) = (true, true, true);
    }

    pub(super) fn any(self) -> bool {
        self.film || self.drawing || self.column || self.places
    }
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
    Wet,
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
            Self::Film | Self::Wet => "film",
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
    pub fn new(job: Job) -> Self {
        let space = if dom::media("(color-gamut: p3)") { ScreenSpace::DisplayP3 } else { ScreenSpace::Srgb };
        let shown = preview(&job, space, None);
        let scales = Scales::of(&shown);
        let axis = Axis::of(shown.rehearsal());
        let layout = Layout::new(&job.panel, (800.0, 600.0), Room::Desk, false);
        let section = (section_reach(&job) * 0.44).round();
        Self {
            place: Place::Rehearsal,
            behind: false,
            sprayed: None,
            practice: Practice::default(),
            booth: Booth::default(),
            learner: crate::practice::progress::restore(),
            tint: None,
            findings: Findings::due(),
            fitted: None,
            undo: Vec::new(),
            redo: Vec::new(),
            moving: false,
            coat: None,
            system: System::Metric,
            view: View::Paint,
            time: Seconds(0.0),
            playing: false,
            counting: false,
            lead_in: 0.0,
            near: false,
            rate: 1.0,
            section,
            within: 1.0,
            probe: None,
            full: Full::Due,
            look: Look::Due,
            shown,
            playback: Playback::default(),
            axis,
            scales,
            held: None,
            space,
            layout,
            stale: Stale::ALL,
            last_frame: 0.0,
            changed_at: f64::NEG_INFINITY,
            job,
        }
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
        self.coat = self.coat.filter(|coat| *coat < job.coats.len());
        let reach = section_reach(&job);
        self.section = if turned(&self.job) == turned(&job) { self.section.min(reach) } else { (0.44 * reach).round() };
        self.probe = self.probe.filter(|probe| inside(&job, probe.place));
        self.practice.coat = self.practice.coat.min(job.coats.len().saturating_sub(1));
        if self.job.panel != job.panel {
            // beside another panel it compares nothing
            self.held = None;
        }
        let as_meant = (&self.job.panel, &self.job.gun, &self.job.coats) == (&job.panel, &job.gun, &job.coats);
        self.practice.judged_anew |= !as_meant && self.practice.any();
        self.job = job;
        crate::practice::lesson::changed(self);
        self.stale.result();
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

    /// Rehearses the job as it is now, at the same place of the time axis.
    fn catch_up(&mut self) {
        if self.place == Place::Practice {
            return self.resprayed();
        }
        let place = self.axis.place(self.time);
        let (ended, empty_before) = (self.ended(), self.shown.rehearsal().job().coats.is_empty());
        self.show(preview(&self.job, self.space, Some(&self.shown.report)));
        self.time = if ended && !empty_before { self.shown.rehearsal().total() } else { self.axis.time(place) };
        self.full = Full::Due;
        self.changed_at = dom::now();
        self.behind = false;
        crate::rehearsal::findings::forget(self);
    }

    /// The job as this place has it: by hand in practice, otherwise as planned.
    pub fn rehearsed(&self) -> Job {
        if self.place == Place::Practice { practice::by_hand(self) } else { self.job.clone() }
    }

    /// The job with what was recorded of it, for a file.
    pub fn kept(&self) -> Job {
        let mut job = self.job.clone();
        for (coat, track) in job.coats.iter_mut().zip(&self.practice.tracks) {
            coat.track = (!track.samples.is_empty()).then(|| track.clone());
        }
        job
    }

    /// The whole rehearsal of the job as this place has it: the one that is shown, if it is of that.
    pub fn whole(&self) -> Appraisal {
        let job = self.rehearsed();
        let shown = &self.shown.appraisal;
        if self.full.shown() && *shown.job() == job { shown.clone() } else { appraise(&job) }
    }

    /// What was sprayed by hand has changed: it is rehearsed on the full grid, what is shown stays until then.
    pub fn resprayed(&mut self) {
        (self.full, self.changed_at, self.behind) = (Full::Due, dom::now() - PAUSE, false);
        self.stale.result();
        crate::rehearsal::findings::forget(self);
        self.findings.due &= self.practice.any();
    }

    /// Nothing is laid on the full grid until it is due again.
    pub fn hold_back(&mut self) {
        self.full = Full::Shown;
    }

    /// Shows a result; what was seen of the last one stands until this one has been looked at.
    pub(super) fn show(&mut self, mut shown: Shown) {
        self.axis = Axis::of(shown.rehearsal());
        shown.sight = self.shown.sight.take();
        shown.report.seen = self.shown.report.seen.take();
        self.look = Look::Due;
        self.shown = shown;
        self.playback.reset();
        self.stale.result();
    }

    /// Whether the job is over at this moment.
    pub fn ended(&self) -> bool {
        self.time.0 >= self.shown.rehearsal().total().0 - 1e-6
    }

    /// Whether the section runs along the length, because the passes run along the width.
    pub fn turned(&self) -> bool {
        turned(&self.job)
    }

    /// Fits the ends of the maps to what is shown, and to what is held beside it.
    pub fn rescale(&mut self) {
        self.scales = Scales::of(&self.shown);
        if let Some(held) = &self.held {
            let held = Scales::of(&held.shown);
            self.scales.difference = self.scales.difference.max(held.difference);
            self.scales.times = self.scales.times.max(held.times);
        }
    }

    /// Ends of the film map at this moment, um.
    pub fn film_ends(&self) -> (f64, f64) {
        let over = self.ended() && !self.job.coats.is_empty();
        if over { self.scales.finished } else { (0.0, self.scales.film.0) }
    }

    /// What the gun does now.
    pub fn doing(&self) -> Doing {
        self.shown.rehearsal().doing(self.time)
    }

    /// The coat that is under the gun, flashing off, or was the last.
    pub fn present_coat(&self) -> Option<usize> {
        match self.doing() {
            Doing::Spraying(pass) | Doing::Turning(pass) => {
                self.shown.rehearsal().passes().get(pass).map(|pass| pass.coat)
            }
            Doing::Flashing(coat) => Some(coat),
            Doing::Done => self.shown.rehearsal().coats().len().checked_sub(1),
        }
    }

    /// Goes to a moment.
    pub fn seek(&mut self, time: Seconds) {
        self.time = Seconds(time.0.clamp(0.0, self.shown.rehearsal().total().0));
        self.stale.film = true;
    }

    /// Opens a page of the job.
    pub fn go(&mut self, place: Place) {
        // practice and the rehearsal share the panel, and each has a result of its own
        let other = (self.place == Place::Practice) != (place == Place::Practice);
        practice::put_down(self);
        if self.place != place {
            crate::shell::buttons::close_settings();
        }
        self.probe = self.probe.filter(|_| place != Place::Practice);
        (self.place, self.lead_in) = (place, 0.0);
        self.playing &= place.shows_panel() && !other;
        if (self.behind || other) && place.shows_panel() {
            self.held = None;
            self.catch_up();
        }
        self.behind |= other && !place.shows_panel();
        let body = dom::document().body().expect("a page has a body");
        let name = match place {
            Place::SprayOuts => "cards",
            Place::Rehearsal => "rehearsal",
            Place::Practice => "practice",
            Place::Sheet => "sheet",
        };
        dom::set(&body, "data-place", name);
        let places = [
            ("to-cards", Place::SprayOuts),
            ("to-rehearsal", Place::Rehearsal),
            ("to-practice", Place::Practice),
            ("to-sheet", Place::Sheet),
        ];
        for (id, of) in places {
            let button = dom::by_id(id);
            let _ = if of == place {
                button.set_attribute("aria-current", "page")
            } else {
                button.remove_attribute("aria-current")
            };
        }
        crate::shell::address::shows(place);
        self.measure();
    }

    /// Begins or stops to play; from the end it begins anew.
    pub fn play(&mut self, playing: bool) {
        if playing && self.ended() {
            self.seek(Seconds(0.0));
        }
        self.lead_in = 0.0;
        self.playing = playing && !self.job.coats.is_empty();
        self.stale.film = true;
    }

    /// One pass back or on: to where the gun leaves the panel, so that it is still seen.
    pub fn step_pass(&mut self, back: bool) {
        self.playing = false;
        let rehearsal = self.shown.rehearsal();
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
            let shown = self.at_rest().then(|| self.shown.clone()).filter(|shown| *shown.rehearsal().job() == job);
            let shown = shown.unwrap_or_else(|| {
                let mut shown = Shown::new(rehearse(&job), self.space);
                look(&mut shown, || true);
                shown
            });
            self.held = Some(Held { job, shown, change: false, divider: 0.5 });
            self.playing = false;
            self.seek(self.shown.rehearsal().total());
        }
        self.rescale();
        self.stale = Stale::ALL;
    }

    /// Says what went wrong, on the figure; the last good state stays.
    pub fn trouble(&mut self, what: &str, why: &str) {
        let notice = dom::by_id("notice");
        dom::say(&dom::part(&notice, "[data-part=what]"), what);
        dom::say(&dom::part(&notice, "[data-part=why]"), why);
        notice.set_hidden(false);
    }

    /// Measures the stage anew.
    pub fn measure(&mut self) {
        dom::forget_style();
        let stage = dom::by_id("stage");
        let width = dom::window().inner_width().ok().and_then(|w| w.as_f64()).unwrap_or(1366.0);
        let size = (f64::from(stage.client_width()), f64::from(stage.client_height()));
        let fit = if self.place == Place::Practice { Layout::with_room } else { Layout::new };
        self.layout = fit(&self.job.panel, size, Room::of(width), self.turned());
        self.stale = Stale::ALL;
    }

    /// Paths in the job that a control's pattern stands for: of the chosen coat, or of all.
    pub fn paths(&self, pattern: &str) -> Vec<String> {
        if !pattern.starts_with("coats[]") {
            return vec![pattern.to_string()];
        }
        let coats = match self.coat {
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

/// The job on the preview's grid, its film alone: what flies past the rim is followed on the full grid, and the figures of
/// paint stay those of the last result until then.
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
