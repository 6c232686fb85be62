//! What is likely to go wrong on this panel: the film along each edge, and which of the usual errors, of a size that this
//! hand makes, takes the most of the panel out of the window. Found by rehearsing, like everything that is said.

use crate::advice::Steadiness;
use crate::appraisal::share_within;
use crate::colour::ScreenSpace;
use crate::job::Job;
use crate::job::inputs::{System, Unit};
use crate::practice::{Channel, Slip};
use crate::rehearsal::{Rehearsal, rehearse_film};
use crate::report::appearance;
use crate::units::Micrometres;
use crate::words::shown;

/// One edge of the panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// near, far, left or right.
    pub name: &'static str,
    /// Mean film of its band over the mean of the rest, less 1.
    pub off: f64,
    /// How far outside the first line lies, or the trigger opens, mm.
    pub outside_mm: f64,
    /// The passes run along it.
    pub along: bool,
}

/// An edge within this share of the middle is as it should be: a judgement.
const EVEN: f64 = 0.05;
/// A bad pass is off by this many standard deviations.
const BAD: f64 = 2.0;
/// A wrist that is not minded turns by this at the ends, degrees, and a finger is late by this, mm: judgements.
const WRIST_DEG: f64 = 25.0;
const LATE_MM: f64 = 80.0;
/// Cells of the trials, mm, at least.
const TRIAL_CELL: f64 = 20.0;

/// The four edges as a faultless plan leaves them.
pub fn edges(job: &Job, rehearsal: &Rehearsal) -> Vec<Edge> {
    let Some(paint) = job.tinted().or((!job.paints.is_empty()).then_some(0)) else { return Vec::new() };
    let (film, patch, panel) = (rehearsal.film(paint), rehearsal.patch(), &job.panel);
    let band = panel.edge_band.0.max(patch.cell.max_element());
    let mean = |inside: &dyn Fn(f64, f64) -> bool| {
        let cells = (0..film.len()).filter(|i| {
            let at = patch.centre(i % patch.columns, i / patch.columns);
            inside(at.x, at.y)
        });
        let (sum, count) = cells.fold((0.0, 0), |(sum, count), i| (sum + film[i], count + 1));
        sum / f64::from(count.max(1))
    };
    let (length, width) = (panel.length.0, panel.width.0);
    let deep = |x: f64, y: f64| x > band && x < length - band && y > band && y < width - band;
    let middle = mean(&deep).max(1e-9);
    let coat = &job.coats[0];
    let lengthwise = coat.along == crate::strokes::Along::Length;
    let of = |name, along: bool, inside: &dyn Fn(f64, f64) -> bool| {
        let outside_mm = if along { coat.margin.0 } else { coat.lead.0 };
        Edge { name, off: mean(inside) / middle - 1.0, outside_mm, along }
    };
    vec![
        of("near", lengthwise, &|_, y| y <= band),
        of("far", lengthwise, &|_, y| y >= width - band),
        of("left", !lengthwise, &|x, _| x <= band),
        of("right", !lengthwise, &|x, _| x >= length - band),
    ]
}

impl Edge {
    /// What to watch there.
    pub fn text(&self, system: System) -> String {
        let outside = shown(Unit::Millimetre, self.outside_mm, system);
        let keep = if self.along {
            format!("the outermost line lies {outside} or more outside")
        } else {
            format!("the trigger opens and closes {outside} outside")
        };
        let percent = (100.0 * self.off.abs()).round();
        match self.off {
            off if off > EVEN => {
                format!("<b>{}</b>: {percent} % more film than the middle; {keep}, no nearer.", self.name)
            }
            off if off < -EVEN => {
                format!("<b>{}</b>: {percent} % less film than the middle; {keep}: farther out fills it.", self.name)
            }
            _ => format!("<b>{}</b>: like the middle, as long as {keep}.", self.name),
        }
    }
}

/// An error and what it takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LikelyError {
    /// Which.
    pub channel: Channel,
    /// How large, in the unit of its kind.
    pub size: f64,
    /// Share of the panel that leaves the window by it, the window laid around the plan's mean.
    pub takes: f64,
}

/// Usual errors of the size that a bad pass of this hand has, the one that takes the most first.
pub fn likely_errors(job: &Job) -> Vec<LikelyError> {
    let Some(tinted) = job.tinted() else { return Vec::new() };
    let hand = Steadiness::of(job);
    let seen = appearance(job, ScreenSpace::Srgb, Micrometres(100.0));
    let Some((low, high)) = seen.track().film_window(seen.target(), 1.0) else { return Vec::new() };
    let mut plan = super::faultless(job);
    plan.panel.cell.0 = plan.panel.cell.0.max(TRIAL_CELL);
    plan.coats.retain(|coat| coat.paint == job.paints[tinted].name);
    plan.coats.iter_mut().for_each(|coat| coat.edge_pass = false);
    let sprayed = |slip: &Slip| {
        let mut sprayed = plan.clone();
        for coat in 0..plan.coats.len() {
            sprayed.coats[coat].track = Some(slip.sprayed(&plan, coat));
        }
        rehearse_film(&sprayed).film(tinted)
    };
    // a plan whose mean is not the target's is held to itself: the window lies around its own mean
    let film = sprayed(&Slip::default());
    let by = film.iter().sum::<f64>() / film.len().max(1) as f64 / seen.target_film().0.max(1e-9);
    let within = |film: &[f64]| share_within(film, (low.0 * by, high.0 * by));
    let meant = within(&film);
    let sizes = [
        (Channel::Distance, BAD * hand.distance_mm),
        (Channel::Line, BAD * hand.line_mm),
        (Channel::Speed, BAD * hand.speed),
        (Channel::Angle, WRIST_DEG),
        (Channel::Trigger, LATE_MM + job.coats[0].lead.0),
    ];
    let mut errors: Vec<LikelyError> = sizes
        .into_iter()
        .map(|(channel, size)| LikelyError { channel, size, takes: meant - within(&sprayed(&Slip::of(channel, size))) })
        .collect();
    errors.sort_by(|a, b| b.takes.total_cmp(&a.takes));
    errors
}

impl LikelyError {
    /// How it would look.
    pub fn text(&self, job: &Job, system: System) -> String {
        let mm = |value: f64| shown(Unit::Millimetre, value, system);
        let coat = &job.coats[0];
        let look = match self.channel {
            Channel::Distance => format!(
                "Gun {} too far: all of it thinner and lighter in colour, no stripe tells of it.",
                mm(self.size)
            ),
            Channel::Line => format!(
                "Every second line {} aside: a full stripe beside a thin one, {} from one to the next.",
                mm(self.size),
                mm(2.0 * coat.spacing(&job.gun).0)
            ),
            Channel::Speed => format!(
                "{} too fast: all of it thinner, evenly; only the count of seconds and the sticker tell.",
                shown(Unit::Percent, self.size, system)
            ),
            Channel::Angle => {
                format!(
                    "The wrist turns by {:.0}\u{b0} at the ends: both ends thin, the middle full, on every pass alike.",
                    self.size
                )
            }
            _ => format!(
                "The trigger opens {} inside the edge: thin ends where passes begin and end.",
                mm(self.size - coat.lead.0)
            ),
        };
        let takes = (100.0 * self.takes.max(0.0)).round();
        format!("{look} {takes} % of the panel goes farther from the plan\u{2019}s film than the window allows.")
    }
}
