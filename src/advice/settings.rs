//! What a painter can choose, and which of it can be sprayed at all: coats, overlap, direction, edges, shift. The speed
//! follows from the film that is meant. Does not rehearse.

use super::Steadiness;
use crate::gun::{Gun, Pattern};
use crate::job::Job;
use crate::job::inputs::{System, Unit, input};
use crate::maths::{sort, tan};
use crate::strokes::{Along, Coat, OUTSIDE, Reach, Sequence};
use crate::units::{Fraction, Micrometres, Millimetres, MillimetresPerSecond, Minutes};
use crate::words::shown;
use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// What the person can do and wants.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Wishes {
    /// Overlaps that are tried, least and most.
    pub overlap: (f64, f64),
    /// Speeds of a full coat that can be held, mm/s; a thin coat may go half as fast again.
    pub speed: (f64, f64),
    /// How far across a panel a person reaches, mm.
    pub reach: Millimetres,
    /// Full coats at most.
    pub coats: f64,
    /// Tinted clear to mix at most, its reserve included, mL; none is no limit.
    pub most_ml: Option<f64>,
    /// Time at most, flash-off included, minutes; none is no limit.
    pub most_min: Option<f64>,
    /// Colour difference to the target that counts as right, CIEDE2000.
    pub within: f64,
    /// How far the hand strays.
    pub hand: Steadiness,
}

/// How far an arm reaches at the right distance and angle, mm: common practice, no source.
const REACH_MM: f64 = 900.0;

/// What a wish may be, least and most: a difference, CIEDE2000.
pub const WITHIN: (f64, f64) = (0.1, 10.0);
/// A reach, mm.
pub const REACH: (f64, f64) = (200.0, 3000.0);
/// Paint to mix at most, mL.
pub const MOST_ML: (f64, f64) = (10.0, 20_000.0);
/// Time at most, minutes.
pub const MOST_MIN: (f64, f64) = (1.0, 1000.0);

impl Wishes {
    /// Usual ranges, three coats, a difference of 1, and the hand of the job or an assumed one.
    pub fn of(job: &Job) -> Self {
        let usual = |path: &str| input(path).and_then(|input| input.range()?.usual).expect("a usual range");
        Self {
            overlap: usual("coats[].overlap"),
            speed: usual("coats[].speed_mm_per_s"),
            reach: Millimetres(REACH_MM),
            coats: 3.0,
            most_ml: None,
            most_min: None,
            within: 1.0,
            hand: Steadiness::of(job),
        }
    }
}

/// One way to spray the tinted clear.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Setting {
    /// Coat by coat: 1 is a full one, 0.5 a half one.
    pub amounts: Vec<f64>,
    /// Share of the fan that the next pass covers again.
    pub overlap: f64,
    /// Speed of a full coat.
    pub speed_mm_per_s: f64,
    /// Which way the passes run.
    pub along: Along,
    /// From one side, or each half from its own.
    pub reach: Reach,
    /// Which line follows which.
    #[serde(rename = "order")]
    pub sequence: Sequence,
    /// The next coat's lines lie this share of the spacing beside those of the one before; by half of it they do with one
    /// line more, so that both edges get the same.
    pub shift: f64,
    /// The outermost lines of the first coat lie at least this far outside.
    pub margin_mm: f64,
    /// One pass around the rim first.
    pub edge_pass: bool,
}

/// A thin coat is laid by going faster, up to this many times the fastest that is usual: a judgement.
const THIN: f64 = 1.5;
/// Coats that are tried.
const PROGRAMMES: [&[f64]; 5] = [&[1.0], &[0.5, 1.0], &[1.0, 1.0], &[0.5, 1.0, 1.0], &[1.0, 1.0, 1.0]];
/// From one overlap that is tried to the next.
const OVERLAP_STEP: f64 = 0.05;
/// Where an overlap at which the lines end where a painter's do lies this near, the plain net's is left out.
const AS_GOOD: f64 = 0.02;
/// Farther out than this share of the fan no line is tried: it would lay less than a hundredth of its paint on the panel.
const FARTHEST: f64 = 0.4;
/// What is still on the edge, mm.
const ON_THE_EDGE: f64 = 1.0;
/// Speeds are told in steps of this, mm/s.
pub(super) const SPEED_STEP: f64 = 5.0;

impl Setting {
    /// All settings that a person can spray, the film on average as it is meant.
    pub fn all(job: &Job, wishes: &Wishes, target: Micrometres) -> Vec<Self> {
        let Some(like) = template(job) else { return Vec::new() };
        let mut all = Vec::new();
        for amounts in PROGRAMMES.into_iter().filter(|amounts| amounts.iter().sum::<f64>() <= wishes.coats + 1e-9) {
            for along in [Along::Length, Along::Width] {
                let Some(reach) = reached(job, wishes, along) else { continue };
                let across = if along == Along::Length { job.panel.width.0 } else { job.panel.length.0 };
                let fan = job.gun.width_at(like.distance).0;
                for overlap in overlaps(&job.gun, fan, across, wishes) {
                    for shift in if amounts.len() > 1 { vec![0.0, 0.5] } else { vec![0.0] } {
                        let inner = Self {
                            amounts: amounts.to_vec(),
                            overlap,
                            speed_mm_per_s: 0.0,
                            along,
                            reach,
                            sequence: Sequence::EdgesInwards,
                            shift,
                            margin_mm: 0.0,
                            edge_pass: false,
                        };
                        // the least that reaches the edges, and half a spacing more
                        let first = &inner.coats(job)[0];
                        let outer = Self { margin_mm: first.margin_between(&job.panel, &job.gun).0, ..inner.clone() };
                        let near = outer.outside(job) <= FARTHEST * fan;
                        for one in [Some(inner), near.then_some(outer)].into_iter().flatten() {
                            let with_rim = Self { edge_pass: true, ..one.clone() };
                            all.extend(
                                [one, with_rim].into_iter().filter_map(|one| one.sprayable(job, wishes, target)),
                            );
                        }
                    }
                }
            }
        }
        all
    }

    /// How far outside the panel the outermost of all its lines lies, mm.
    fn outside(&self, job: &Job) -> f64 {
        let places = self.coats(job).into_iter().flat_map(|coat| coat.outermost(&job.panel, &job.gun));
        places.map(|place| place.0).fold(0.0, f64::max)
    }

    /// Whether a painter would spray it so: the second coat between the lines of the first, no line more than a quarter of
    /// the fan outside the panel (common practice, no source).
    pub fn is_usual(&self, job: &Job) -> bool {
        let fan = template(job).map_or(0.0, |like| job.gun.width_at(like.distance).0);
        (self.amounts.len() == 1 || self.shift != 0.0) && self.outside(job) <= OUTSIDE * fan + ON_THE_EDGE
    }

    /// With the speed that lays the film meant, if a person can go that fast and that slow.
    fn sprayable(self, job: &Job, wishes: &Wishes, target: Micrometres) -> Option<Self> {
        let coats = Self { speed_mm_per_s: 1.0, ..self.clone() }.coats(job);
        let at_one: f64 = coats.iter().map(|coat| job.planned_film(coat).0).sum();
        let speed = at_one / target.0;
        self.can(speed, wishes).then_some(Self { speed_mm_per_s: speed, ..self })
    }

    /// Whether the speed of a full coat is one that a person holds, and that of a thin one too.
    pub(super) fn can(&self, speed: f64, wishes: &Wishes) -> bool {
        let (slow, fast) = wishes.speed;
        let thinnest = self.amounts.iter().copied().fold(1.0, f64::min);
        (slow..=fast).contains(&speed) && speed / thinnest <= THIN * fast
    }

    /// Its coats, otherwise like the job's first tinted one.
    pub fn coats(&self, job: &Job) -> Vec<Coat> {
        let Some(like) = template(job) else { return Vec::new() };
        let coat = |(i, amount): (usize, &f64)| {
            let mut coat = Coat {
                amount: Fraction(*amount),
                overlap: Fraction(self.overlap),
                speed: MillimetresPerSecond(self.speed_mm_per_s),
                along: self.along,
                reach: self.reach,
                sequence: self.sequence,
                reach_overlap: Millimetres(0.0),
                margin: Millimetres(self.margin_mm),
                shift: Fraction((self.shift * i as f64).fract()),
                edge_pass: self.edge_pass,
                flash: self.flash(job, i),
                track: None,
                ..like.clone()
            };
            if coat.shift.0 == 0.5 {
                coat.shift = Fraction(0.0);
                coat.margin = coat.margin_between(&job.panel, &job.gun);
            }
            coat
        };
        self.amounts.iter().enumerate().map(coat).collect()
    }

    /// Flash-off after one of its coats: after the last as after the job's last, after a thin one as after the job's thin
    /// one, else the longest of the job.
    fn flash(&self, job: &Job, coat: usize) -> Minutes {
        let tinted = job.tinted();
        let theirs = || job.coats.iter().filter(|coat| Some(job.paint_of(coat)) == tinted);
        let longest = theirs().map(|coat| coat.flash.0).fold(0.0, f64::max);
        let same = if coat + 1 == self.amounts.len() {
            theirs().next_back()
        } else if self.amounts[coat] < 1.0 {
            theirs().find(|coat| coat.amount.0 < 1.0)
        } else {
            None
        };
        Minutes(same.map_or(longest, |coat| coat.flash.0))
    }

    /// In a sentence.
    pub fn text(&self, job: &Job, system: System) -> String {
        let mm = |value: f64| shown(Unit::Millimetre, value, system);
        let count = |amount: &f64| if *amount < 1.0 { "a half" } else { "a full" };
        let coats = match self.amounts.as_slice() {
            [_] => "one full coat".to_string(),
            all if all.iter().all(|amount| *amount == 1.0) => {
                format!("{} full coats", ["", "one", "two", "three"][all.len()])
            }
            all => all.iter().map(count).collect::<Vec<_>>().join(", then ") + " coat",
        };
        let axis = if self.along == Along::Length { "length" } else { "width" };
        let mut text = format!(
            "{}{}: {coats} along the {axis}, {} overlap ({} from line to line) at {}",
            if self.reach == Reach::BothSides { "From both sides" } else { "From one side" },
            if self.sequence == Sequence::StraightAcross { ", the second half from the middle on" } else { "" },
            shown(Unit::Percent, self.overlap, system),
            mm(self.coats(job).first().map_or(0.0, |coat| coat.spacing(&job.gun).0)),
            shown(Unit::MillimetrePerSecond, self.speed_mm_per_s, system),
        );
        if let Some(thin) = self.amounts.iter().copied().find(|amount| *amount < 1.0) {
            let speed = shown(Unit::MillimetrePerSecond, self.speed_mm_per_s / thin, system);
            text += &format!(" (the half coat at {speed})");
        }
        if self.amounts.len() > 1 {
            let beside = if self.shift > 0.0 { "between" } else { "on" };
            text += &format!(", the second coat {beside} the lines of the first");
        }
        let coats = self.coats(job);
        let outside = |coat: &Coat| match coat.outermost(&job.panel, &job.gun)[0].0 {
            at if at.abs() < ON_THE_EDGE => "on the edge".to_string(),
            at => format!("{} outside", mm(at)),
        };
        text += &format!("; first line {}", coats.first().map(outside).unwrap_or_default());
        text += &match coats.get(1).filter(|_| self.shift != 0.0) {
            Some(second) => format!(", in the second coat {}", outside(second)),
            None => String::new(),
        };
        text + if self.edge_pass { ", once around the rim before." } else { "." }
    }

    /// The job with these coats in the place of its tinted ones; the hand is faultless.
    pub fn of(&self, job: &Job) -> Job {
        let tinted = job.tinted().map(|paint| job.paints[paint].name.clone()).unwrap_or_default();
        let first = job.coats.iter().position(|coat| coat.paint == tinted).unwrap_or(job.coats.len());
        let mut changed = job.clone();
        changed.coats.retain(|coat| coat.paint != tinted);
        changed.coats.splice(first..first, self.coats(job));
        changed
    }

    /// What changes in the job file, by path: coat by coat where their number stays, else the coats as a whole.
    pub fn set(&self, job: &Job) -> Map<String, Value> {
        let coats = |job: &Job| job.get("coats").and_then(|coats| coats.as_array().cloned()).unwrap_or_default();
        let (before, after) = (coats(job), coats(&self.of(job)));
        let mut set = Map::new();
        for (i, (before, after)) in before.iter().zip(&after).enumerate() {
            let (Some(before), Some(after)) = (before.as_object(), after.as_object()) else { continue };
            let changed = after.iter().filter(|(key, value)| before.get(*key) != Some(*value));
            set.extend(changed.map(|(key, value)| (format!("coats[{i}].{key}"), value.clone())));
        }
        let same_keys =
            |(one, other): (&Value, &Value)| one.as_object().map(Map::len) == other.as_object().map(Map::len);
        if before.len() != after.len() || !before.iter().zip(&after).all(same_keys) {
            set = Map::from_iter([("coats".to_string(), Value::Array(after))]);
        }
        set
    }
}

/// The coat that gives what is not sought: distance, lead, flash-off.
fn template(job: &Job) -> Option<&Coat> {
    job.tinted_coat().map(|coat| &job.coats[coat])
}

/// From which sides a panel is reached across the passes; none if not even from both.
pub(super) fn reached(job: &Job, wishes: &Wishes, along: Along) -> Option<Reach> {
    let across = if along == Along::Length { job.panel.width.0 } else { job.panel.length.0 };
    // along a panel that stands one walks, and nobody gets behind its upper edge
    if job.panel.stands() {
        return Some(Reach::OneSide);
    }
    match across / wishes.reach.0 {
        times if times <= 1.0 => Some(Reach::OneSide),
        times if times <= 2.0 => Some(Reach::BothSides),
        _ => None,
    }
}

/// Overlaps at which the lines of one coat end a quarter of the fan outside both edges, and those between them nearer;
/// those at which this gun's passes lie most evenly; and a plain net where neither is near.
fn overlaps(gun: &Gun, fan: f64, across: f64, wishes: &Wishes) -> Vec<f64> {
    let (least, most) = wishes.overlap;
    let sprayed = across + 2.0 * OUTSIDE * fan;
    let lines = |overlap: f64| sprayed / (fan * (1.0 - overlap));
    // a little less than exact, so that no line more is needed
    let ends = |gaps: usize| (1e4 * (1.0 - sprayed / (fan * gaps as f64))).floor() / 1e4;
    let mut all: Vec<f64> = (lines(least).ceil() as usize..=lines(most) as usize).map(ends).collect();
    let rounded = |overlap: f64| (100.0 * overlap).round() / 100.0;
    all.extend(evenest_overlaps(gun, wishes.overlap).into_iter().map(rounded));
    let steps = ((most - least) / OVERLAP_STEP + 1e-9) as usize;
    let net = (0..=steps).map(|i| rounded(least + OVERLAP_STEP * i as f64));
    let net: Vec<f64> = net.filter(|overlap| all.iter().all(|other| (overlap - other).abs() > AS_GOOD)).collect();
    all.extend(net);
    all.retain(|overlap| (least - 1e-9..=most).contains(overlap));
    sort(&mut all);
    all.dedup_by(|a, b| (*a - *b).abs() < 1e-4);
    all
}

/// Places of one spacing at which the film is read.
const READ: usize = 48;
/// From one overlap to the next where the evenest are sought.
const FINE: f64 = 0.001;

/// The film of an endless raster of passes over its mean, at places from line to line.
fn raster(pattern: &Pattern, spacing: f64) -> Vec<f64> {
    let reach = (1.0 / spacing).ceil() as i64 + 1;
    let film = |i: usize| {
        let x = spacing * (i as f64 + 0.5) / READ as f64;
        (-reach..=reach).map(|n| pattern.line(x + spacing * n as f64)).sum::<f64>()
    };
    let film: Vec<f64> = (0..READ).map(film).collect();
    let mean = film.iter().sum::<f64>() / READ as f64;
    film.into_iter().map(|film| film / mean).collect()
}

/// How uneven an endless raster of passes is: standard deviation over mean of its film.
pub fn ripple(gun: &Gun, overlap: f64) -> f64 {
    uneven(&Pattern::of(gun), overlap)
}

fn uneven(pattern: &Pattern, overlap: f64) -> f64 {
    // u runs from -1 to 1 over the fan
    let film = raster(pattern, 2.0 * (1.0 - overlap));
    (film.iter().map(|film| (film - 1.0) * (film - 1.0)).sum::<f64>() / film.len() as f64).sqrt()
}

/// The overlaps within a range at which the raster of a gun's passes is evenest: the minima of its ripple.
pub fn evenest_overlaps(gun: &Gun, (least, most): (f64, f64)) -> Vec<f64> {
    let pattern = Pattern::of(gun);
    let steps = ((most - least) / FINE + 1e-9) as usize;
    let at = |i: usize| least + FINE * i as f64;
    let values: Vec<f64> = (0..=steps).map(|i| uneven(&pattern, at(i))).collect();
    (1..steps).filter(|i| values[*i] <= values[i - 1] && values[*i] < values[i + 1]).map(at).collect()
}

/// How far the film of a raster strays, standard deviation over mean, when every pass strays by itself: speed, line,
/// distance, and the angle as a shift of the line. The variances of passes and of coats add up.
pub(super) fn strays(job: &Job, setting: &Setting, hand: &Steadiness) -> f64 {
    let Some(like) = template(job) else { return 0.0 };
    let pattern = Pattern::of(&job.gun);
    let half = 0.5 * job.gun.width_at(like.distance).0;
    let (distance, spacing) = (like.distance.0, 2.0 * (1.0 - setting.overlap));
    let angle = crate::units::Degrees(hand.angle_deg);
    let line =
        ((hand.line_mm * hand.line_mm) + (distance * tan(angle.radians())) * (distance * tan(angle.radians()))).sqrt();
    let (by_line, step) = (line / half, 0.02);
    let transfer = |z: f64| job.gun.transfer_at(Millimetres(z)).0;
    let reach = (1.0 / spacing).ceil() as i64 + 1;
    let (mut variance, mut mean) = (0.0, 0.0);
    for i in 0..READ {
        let x = spacing * (i as f64 + 0.5) / READ as f64;
        for n in -reach..=reach {
            let u = x + spacing * n as f64;
            let film =
                |u: f64, z: f64| pattern.line(u * distance / z) * distance / z * transfer(z) / transfer(distance);
            let slope = (film(u + step, distance) - film(u - step, distance)) / (2.0 * step);
            let nearer = 0.5 * (film(u, distance + 1.0) - film(u, distance - 1.0));
            let parts = [hand.speed * film(u, distance), by_line * slope, hand.distance_mm * nearer];
            variance += parts.iter().map(|part| part * part).sum::<f64>();
            mean += film(u, distance);
        }
    }
    let of_a_coat = (variance / READ as f64).sqrt() / (mean / READ as f64);
    let whole: f64 = setting.amounts.iter().sum();
    of_a_coat * setting.amounts.iter().map(|amount| amount * amount).sum::<f64>().sqrt() / whole
}
