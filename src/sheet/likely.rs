//! What is likely to go wrong on this panel: the film along each edge, and which of the usual errors, of a size that this
//! hand makes, takes the most of the panel out of the window. Found by rehearsing, like everything that is said.

use crate::advice::{Steadiness, trial_cell};
use crate::appraisal::{Appraisal, film_window};
use crate::field::share_within;
use crate::job::Job;
use crate::job::inputs::{System, Unit};
use crate::practice::{ErrorSource, Slip};
use crate::rehearsal::rehearse_film;
use crate::strokes::{Along, Reach, lines};
use crate::words::shown;
use serde::{Deserialize, Serialize};

/// One edge of the panel.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Edge {
    /// near, far, left or right; bottom and top of a panel that stands.
    pub name: &'static str,
    /// Mean film of its band over the mean of the rest, less 1.
    pub off: f64,
    /// How far outside the outermost line lies, or the trigger opens, mm.
    pub outside_mm: f64,
    /// The same of the coat whose lines lie beside those.
    pub beside_mm: Option<f64>,
    /// The passes run along it.
    pub along: bool,
    /// The most of its wet film over what just holds there; above 1 it moves.
    pub of_limit: f64,
    /// It runs.
    pub runs: bool,
    /// It lies below on a panel that stands.
    pub below: bool,
}

/// An edge within this share of the middle is as it should be: a judgement.
const EVEN: f64 = 0.05;
/// Wet film of this share of what holds is told: a judgement.
const NEARLY_RUNS: f64 = 0.8;
/// A bad pass is off by this many standard deviations.
const BAD: f64 = 2.0;
/// A wrist that is not minded turns by this at the ends, degrees, and a finger is late by this, mm: judgements.
const WRIST_DEG: f64 = 25.0;
const LATE_MM: f64 = 80.0;

/// The four edges as a faultless plan leaves them.
pub fn edges(job: &Job, appraisal: &Appraisal) -> Vec<Edge> {
    let Some(paint) = job.tinted().or((!job.paints.is_empty()).then_some(0)) else { return Vec::new() };
    let (film, patch, panel) = (appraisal.film(paint), appraisal.patch(), &job.panel);
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
    let coat = &job.coats[super::drawn(job)];
    let lengthwise = coat.along == Along::Length;
    let outside = coat.outermost(panel, &job.gun).map(|outside| outside.0);
    let beside = super::beside(job).map(|other| job.coats[other].outermost(panel, &job.gun).map(|outside| outside.0));
    let wet = &appraisal.wetness().films[paint];
    let of = |name, along: bool, far: bool, inside: &dyn Fn(f64, f64) -> bool| {
        let outside_mm = if along { outside[usize::from(far)] } else { coat.lead.0 };
        let beside_mm = beside.filter(|_| along).map(|beside| beside[usize::from(far)]);
        let centre = |i: usize| patch.centre(i % patch.columns, i / patch.columns);
        let of_limit = (0..wet.times_limit.len())
            .filter(|i| inside(centre(*i).x, centre(*i).y))
            .fold(0.0_f64, |most, i| most.max(wet.times_limit[i]));
        let runs = wet.runs.iter().flat_map(|run| &run.cells).any(|i| inside(centre(*i).x, centre(*i).y));
        let below = name == "bottom";
        Edge { name, off: mean(inside) / middle - 1.0, outside_mm, beside_mm, along, of_limit, runs, below }
    };
    let [near, far, left, right] = panel.edge_names();
    vec![
        of(near, lengthwise, false, &|_, y| y <= band),
        of(far, lengthwise, true, &|_, y| y >= width - band),
        of(left, !lengthwise, false, &|x, _| x <= band),
        of(right, !lengthwise, true, &|x, _| x >= length - band),
    ]
}

impl Edge {
    /// More film than the middle, less, or like it.
    fn verdict(&self) -> i8 {
        i8::from(self.off > EVEN) - i8::from(self.off < -EVEN)
    }

    /// Holds, nearly runs, runs.
    fn wet(&self) -> u8 {
        u8::from(self.of_limit > NEARLY_RUNS || self.runs) + u8::from(self.runs)
    }

    /// Whether the same is to be said of both.
    fn like(&self, other: &Self) -> bool {
        let lines = |edge: &Self| (edge.along, edge.outside_mm.round(), edge.beside_mm.map(f64::round));
        let key = |edge: &Self| (edge.verdict(), edge.wet(), lines(edge), edge.below);
        key(self) == key(other)
    }

    fn keep(&self, job: &Job, system: System) -> String {
        let place = |at: f64| match at {
            at if at.abs() < 1.0 => "on the edge".to_string(),
            at => {
                let side = if at > 0.0 { "outside" } else { "inside" };
                format!("{} {side}", shown(Unit::Millimetre, at.abs(), system))
            }
        };
        let at = place(self.outside_mm);
        let beside = (self.beside_mm.zip(super::beside(job)))
            .map_or(String::new(), |(at, coat)| format!(", in coat {} {}", coat + 1, place(at)));
        if self.along {
            format!("the outermost line {at}{beside}")
        } else {
            format!("the trigger opens and closes {at}")
        }
    }
}

/// What to watch at the edges, those of which the same is to be said together: their names and the words.
pub(super) fn told(edges: &[Edge], job: &Job, system: System) -> Vec<(String, String)> {
    let mut groups: Vec<Vec<&Edge>> = Vec::new();
    for edge in edges {
        match groups.iter_mut().find(|group| group[0].like(edge)) {
            Some(group) => group.push(edge),
            None => groups.push(vec![edge]),
        }
    }
    let rim = job.coats.iter().any(|coat| coat.edge_pass);
    let words = |group: Vec<&Edge>| {
        let range = |of: &dyn Fn(&Edge) -> f64| {
            let values = group.iter().map(|edge| (100.0 * of(edge)).round());
            let (least, most) = values.fold((f64::MAX, f64::MIN), |(least, most), v| (least.min(v), most.max(v)));
            if least == most { format!("{least} %") } else { format!("{least} to {most} %") }
        };
        let (edge, off) = (group[0], range(&|edge| edge.off.abs()));
        let keep = edge.keep(job, system);
        let mut text = match edge.verdict() {
            1 if rim => format!(
                "{off} more film than the middle: the lines cover the pass around the rim again. Leave it out, or go faster there."
            ),
            1 => format!("{off} more film than the middle; {keep}, no nearer."),
            -1 => format!("{off} less film than the middle; {keep}, farther out fills it."),
            _ => format!("like the middle; {keep}."),
        };
        match edge.wet() {
            0 if edge.below && edge.of_limit > 0.0 => text += " What runs gathers here.",
            0 => {}
            wet => {
                let holds = range(&|edge| edge.of_limit);
                text +=
                    &format!(" Wet, {holds} of what holds: {}.", if wet > 1 { "it runs" } else { "not a drop more" });
            }
        }
        let names: Vec<&str> = group.iter().map(|edge| edge.name).collect();
        (names.join(", "), text)
    };
    groups.into_iter().map(words).collect()
}

/// A usual error.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Usual {
    /// Farther or nearer, mm.
    Distance,
    /// Every second line aside, mm.
    Line,
    /// Faster or slower, a share.
    Speed,
    /// A wrist that turns, degrees at both ends.
    Wrist,
    /// The fan's far end stands off, degrees.
    Heel,
    /// The trigger opens late and closes early, mm.
    Trigger,
    /// A line is left out, its number.
    LeftOut,
    /// A line is sprayed twice, its number.
    Twice,
}

impl Usual {
    fn slip(self, size: f64) -> Slip {
        match self {
            Self::Distance => Slip::of(ErrorSource::Distance, size),
            Self::Line => Slip::of(ErrorSource::Line, size),
            Self::Speed => Slip::of(ErrorSource::Speed, size),
            Self::Wrist => Slip::of(ErrorSource::Angle, size),
            Self::Heel => Slip { heel_deg: size, ..Slip::default() },
            Self::Trigger => Slip::of(ErrorSource::Trigger, size),
            Self::LeftOut => Slip::of(ErrorSource::LeftOut, size),
            Self::Twice => Slip::of(ErrorSource::Twice, size),
        }
    }
}

/// An error and what it takes.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct LikelyError {
    /// Which.
    pub kind: Usual,
    /// How large, in the unit of its kind; the number of a line.
    pub size: f64,
    /// Share of the panel that leaves the window by it, the window laid around the plan's mean.
    pub takes: f64,
    /// It makes a plan run that does not.
    pub runs: bool,
}

/// Usual errors of the size that a bad pass of this hand has, and of two signs the worse: what runs first, then what takes
/// the most of the panel out of the window for a colour difference, CIEDE2000.
pub fn likely_errors(job: &Job, within: f64) -> Vec<LikelyError> {
    let Some(tinted) = job.tinted() else { return Vec::new() };
    let hand = Steadiness::of(job);
    let (Some([low, high]), target) = film_window(job, within) else { return Vec::new() };
    let mut plan = super::faultless(job);
    plan.panel.cell = trial_cell(job);
    plan.coats.retain(|coat| coat.paint == job.paints[tinted].name);
    plan.coats.iter_mut().for_each(|coat| coat.edge_pass = false);
    let Some(coat) = plan.coats.first() else { return Vec::new() };
    let sprayed = |slip: &Slip| {
        let sprayed = Appraisal::of(rehearse_film(&slip.in_all_coats(&plan)));
        let runs = !sprayed.wetness().films[tinted].runs.is_empty();
        (sprayed.film(tinted).to_vec(), runs)
    };
    // a plan whose mean is not the target's is held to itself: the window lies around its own mean
    let (film, runs_anyway) = sprayed(&Slip::default());
    let by = film.iter().sum::<f64>() / film.len().max(1) as f64 / target.0.max(1e-9);
    let within = |film: &[f64]| share_within(film, (low.0 * by, high.0 * by));
    let meant = within(&film);
    let count = lines(&plan.panel, &plan.gun, coat).iter().filter(|line| !line.rim).count();
    let middle = (count as f64 / 2.0).ceil();
    let sizes = [
        (Usual::Distance, BAD * hand.distance_mm),
        (Usual::Distance, -BAD * hand.distance_mm),
        (Usual::Line, BAD * hand.line_mm),
        (Usual::Speed, BAD * hand.speed),
        (Usual::Speed, -BAD * hand.speed),
        (Usual::Wrist, WRIST_DEG),
        (Usual::Heel, BAD * hand.angle_deg),
        (Usual::Heel, -BAD * hand.angle_deg),
        (Usual::Trigger, LATE_MM + coat.lead.0),
        (Usual::LeftOut, middle),
        (Usual::Twice, middle),
    ];
    let mut errors: Vec<LikelyError> = Vec::new();
    for (kind, size) in sizes {
        let (film, runs) = sprayed(&kind.slip(size));
        let error = LikelyError { kind, size, takes: meant - within(&film), runs: runs && !runs_anyway };
        match errors.iter_mut().find(|known| known.kind == kind) {
            Some(known) if known.rank() < error.rank() => *known = error,
            Some(_) => {}
            None => errors.push(error),
        }
    }
    errors.sort_by(|a, b| b.rank().0.cmp(&a.rank().0).then(b.takes.total_cmp(&a.takes)));
    errors
}

impl LikelyError {
    /// What runs never polishes away.
    fn rank(&self) -> (bool, f64) {
        (self.runs, self.takes)
    }

    /// How it would look.
    pub fn text(&self, job: &Job, system: System) -> String {
        let mm = |value: f64| shown(Unit::Millimetre, value.abs(), system);
        let coat = &job.coats[super::drawn(job)];
        let look = match self.kind {
            Usual::Distance if self.size > 0.0 => format!(
                "Gun {} too far: the whole panel is thinner and lighter, with no stripes to give it away.",
                mm(self.size)
            ),
            Usual::Distance => {
                format!("Gun {} too near: a narrower fan and less overlap, a stripe along every line.", mm(self.size))
            }
            Usual::Line => format!(
                "Every second line {} aside: a full stripe beside a thin one, {} from one to the next.",
                mm(self.size),
                mm(2.0 * coat.spacing(&job.gun).0)
            ),
            Usual::Speed => format!(
                "{} too {}: the whole panel is {}, evenly; only counting seconds and the sticker show it.",
                shown(Unit::Percent, self.size.abs(), system),
                if self.size > 0.0 { "fast" } else { "slow" },
                if self.size > 0.0 { "thinner" } else { "thicker" },
            ),
            Usual::Wrist => {
                format!(
                    "The wrist turns by {:.0}\u{b0} at the ends: both ends thin, the middle full, on every pass alike.",
                    self.size
                )
            }
            Usual::Heel if coat.reach == Reach::BothSides => format!(
                "The gun tilted by {:.0}\u{b0}, each half sprayed from its own side: a stripe where the two meet.",
                self.size.abs()
            ),
            Usual::Heel => format!(
                "The gun tilted by {:.0}\u{b0}: one end of the fan is nearer, so every line is lopsided: faint stripes.",
                self.size.abs()
            ),
            Usual::Trigger => format!(
                "The trigger opens {} inside the edge: thin ends where passes begin and end.",
                mm(self.size - coat.lead.0)
            ),
            Usual::LeftOut => {
                format!("One line missed, for example line {:.0}: a light stripe as wide as the fan.", self.size)
            }
            Usual::Twice if coat.reach == Reach::BothSides => {
                "The middle line sprayed from both sides: a dark stripe along the middle, as wide as the fan."
                    .to_string()
            }
            Usual::Twice => {
                format!("One line sprayed twice, for example line {:.0}: a dark stripe as wide as the fan.", self.size)
            }
        };
        let takes = (100.0 * self.takes.max(0.0)).round();
        let runs = if self.runs { " It runs." } else { "" };
        format!("{look} {takes} % of the panel goes off colour.{runs}")
    }
}
