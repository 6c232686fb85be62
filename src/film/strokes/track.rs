//! A coat as a hand sprayed it: looks at the gun one after the other, and the strokes they make over a panel. Where they
//! come from (pointer, keys, tracker) is not known here, nor what film is.

use super::hand::tilted;
use super::{Along, Line, MOST_TILT, Moment, Side, Stroke};
use crate::gun::Pose;
use crate::maths::{asin, tan};
use crate::panel::Panel;
use crate::units::{Degrees, Millimetres, Seconds};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// One look at the gun. In a job file seven numbers: t in s, x, y and distance in mm, heel and lean in degrees, and 1 with
/// the trigger open, otherwise 0.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(from = "[f64; 7]", into = "[f64; 7]")]
pub struct Sample {
    /// Since the recording began.
    pub time: Seconds,
    /// The place on the plan that lies under the nozzle, square to the face there.
    pub place: DVec2,
    /// From the nozzle to the face.
    pub distance: Millimetres,
    /// Turn about the line of the passes: positive takes the fan's far end away from the panel.
    pub heel: Degrees,
    /// Turn about the fan's long axis: positive points the spray back towards the beginning of the axis along which the
    /// passes run. On a pass that runs up that axis it is its drag.
    pub lean: Degrees,
    /// Whether the trigger is open.
    pub open: bool,
}

impl From<[f64; 7]> for Sample {
    fn from([time, x, y, distance, heel, lean, open]: [f64; 7]) -> Self {
        Self {
            time: Seconds(time),
            place: DVec2::new(x, y),
            distance: Millimetres(distance),
            heel: Degrees(heel),
            lean: Degrees(lean),
            open: open != 0.0,
        }
    }
}

impl From<Sample> for [f64; 7] {
    fn from(sample: Sample) -> Self {
        let Sample { time, place, distance, heel, lean, open } = sample;
        [time.0, place.x, place.y, distance.0, heel.0, lean.0, f64::from(u8::from(open))]
    }
}

/// What moved the gun of a recording.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum MovedBy {
    /// The keys: the gun ran along its line by itself, at the planned speed.
    Keys,
    /// A mouse.
    Pointer,
    /// A pen.
    Pen,
    /// A finger.
    Touch,
}

impl MovedBy {
    /// What is told of it.
    pub fn name(self) -> &'static str {
        match self {
            Self::Keys => "keys",
            Self::Pointer => "pointer",
            Self::Pen => "pen",
            Self::Touch => "touch",
        }
    }
}

/// A recorded coat, as in the job file's `coats[].track`.
#[derive(Debug, Clone, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Track {
    /// In order of time.
    pub samples: Vec<Sample>,
    /// What moved the gun; keys if they did at any time. None where it is not known.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub moved_by: Option<MovedBy>,
}

/// One pass of a recording: with the trigger open, from where it opens or turns back to where it turns back or closes.
#[derive(Debug, Clone, PartialEq)]
pub struct Recorded {
    /// Its looks, by index: the last is where it ends.
    pub looks: std::ops::RangeInclusive<usize>,
    /// Since the first opening of the trigger.
    pub start: Seconds,
    /// From its first place to its last.
    pub line: Line,
    /// The movement.
    pub stroke: Stroke,
}

/// A hand that comes back by more than this along the passes has turned back, mm: less is trembling, a judgement.
const TURNED_BACK_MM: f64 = 30.0;
/// Between two looks the gun is followed in steps of this many mm and degrees at most.
const STEP_MM: f64 = 8.0;
const STEP_DEG: f64 = 2.0;
/// A gun's place over the panel is found by so many steps, to this many mm.
const SETTLES_WITHIN: usize = 20;
const SETTLED_MM: f64 = 1e-3;
/// The first step of a search downhill, how many it takes at most, and how far a gun's aim is followed, mm.
const FIRST_STEP_MM: f64 = 50.0;
const DOWNHILL: usize = 1000;
const FARTHEST_MM: f64 = 2000.0;
/// A line at least this long has a direction, mm.
const SHORTEST_LINE_MM: f64 = 1.0;

impl Sample {
    /// How the gun stands over a panel; its fan lies square to the passes.
    pub fn pose(&self, panel: &Panel, along: Along) -> Pose {
        // the fan's far end points to larger y or larger x
        let (direction, far) = match along {
            Along::Length => (DVec2::X, 1.0),
            Along::Width => (DVec2::Y, -1.0),
        };
        let (place, normal) = (panel.face(self.place), panel.face_normal(self.place));
        let travel = direction.extend(panel.face_gradient(self.place).dot(direction)).normalize();
        let (aim, fan) = tilted(-normal, normal.cross(travel) * far, (normal, travel), (self.heel, self.lean));
        Pose { nozzle: place + normal * self.distance.0, aim, fan }
    }

    /// The look that stands for a pose over a panel, whose fan lies square to the passes; a fan turned round is taken as
    /// it lies.
    pub fn of(panel: &Panel, along: Along, pose: &Pose, time: Seconds, open: bool) -> Self {
        let (place, distance) = Self::settled(panel, pose.nozzle).unwrap_or_else(|| Self::of_pose(panel, pose));
        let (direction, far) = match along {
            Along::Length => (DVec2::X, DVec2::Y),
            Along::Width => (DVec2::Y, DVec2::X),
        };
        let normal = panel.face_normal(place);
        let travel = direction.extend(panel.face_gradient(place).dot(direction)).normalize();
        let turned = if pose.fan.truncate().dot(far) < 0.0 { -1.0 } else { 1.0 };
        let angle = |sine: f64| Degrees(asin(sine.clamp(-1.0, 1.0)).to_degrees());
        let (heel, lean) = (angle(turned * pose.fan.dot(normal)), angle(-pose.aim.dot(travel)));
        Self { time, place, distance, heel, lean, open }
    }

    /// The place on the plan over which a nozzle in space stands square to the face, mm, and how far away: where the face
    /// is so curved that there are several, or none is found, the nearest of the face.
    pub fn under(panel: &Panel, nozzle: DVec3) -> (DVec2, Millimetres) {
        Self::settled(panel, nozzle).unwrap_or_else(|| Self::nearest(panel, nozzle))
    }

    /// The same where the face bends little over the distance of a gun: a few steps settle it.
    fn settled(panel: &Panel, nozzle: DVec3) -> Option<(DVec2, Millimetres)> {
        let (mut place, mut distance, mut step) = (nozzle.truncate(), 0.0, f64::INFINITY);
        for _ in 0..SETTLES_WITHIN {
            let (before, normal) = (place, panel.face_normal(place));
            distance = (nozzle.z - panel.face(place).z) / normal.z;
            place = (nozzle - normal * distance).truncate();
            step = (place - before).length();
        }
        (step < SETTLED_MM).then_some((place, Millimetres(distance)))
    }

    /// The place over which a gun stands, where it has to be searched for. Over a hollow face there may be several: it is
    /// where the gun aims at, which by plan it stands square to.
    fn of_pose(panel: &Panel, pose: &Pose) -> (DVec2, Millimetres) {
        let hollow = panel.falls().min_element() < 0.0;
        match panel.face_landing(pose.nozzle, pose.aim, FARTHEST_MM).filter(|_| hollow) {
            Some(place) => (place, Millimetres(panel.face(place).distance(pose.nozzle))),
            None => Self::nearest(panel, pose.nozzle),
        }
    }

    /// The nearest place of the face, downhill from the one that lies under it.
    fn nearest(panel: &Panel, nozzle: DVec3) -> (DVec2, Millimetres) {
        let away = |place: DVec2| panel.face(place).distance(nozzle);
        let (mut place, mut step) = (nozzle.truncate(), FIRST_STEP_MM);
        for _ in 0..DOWNHILL {
            let slope = panel.face_gradient(place);
            let ray = panel.face(place) - nozzle;
            // half the square of the distance grows by this for each mm on the plan
            let uphill = (ray.truncate() + slope * ray.z).normalize_or_zero();
            let next = place - uphill * step;
            if away(next) < away(place) {
                place = next;
            } else {
                step *= 0.5;
            }
            if step < SETTLED_MM {
                break;
            }
        }
        let side = (nozzle - panel.face(place)).dot(panel.face_normal(place)).signum();
        (place, Millimetres(side * away(place)))
    }

    /// Part of the way to another.
    fn towards(&self, other: &Self, part: f64) -> Self {
        let (from, to): ([f64; 7], [f64; 7]) = ((*self).into(), (*other).into());
        let mut between = std::array::from_fn(|i| from[i] + (to[i] - from[i]) * part);
        between[6] = from[6];
        between.into()
    }

    /// How far along the passes it is, mm.
    pub fn along(&self, along: Along) -> f64 {
        if along == Along::Length { self.place.x } else { self.place.y }
    }

    /// How far along the passes the place is that it sprays at, mm: a leaning gun sprays beside where it stands.
    pub fn aimed_along(&self, along: Along) -> f64 {
        self.along(along) - tan(self.lean.radians()) * self.distance.0
    }

    /// How far across the passes it is, mm.
    pub fn across(&self, along: Along) -> f64 {
        if along == Along::Length { self.place.y } else { self.place.x }
    }
}

impl Track {
    /// Says what moves the gun now: what keys did stays theirs.
    pub fn moved_by(&mut self, mover: MovedBy) {
        if self.moved_by != Some(MovedBy::Keys) {
            self.moved_by = Some(mover);
        }
    }

    /// When the trigger first opens.
    pub fn opens(&self) -> Option<Seconds> {
        self.samples.iter().find(|sample| sample.open).map(|sample| sample.time)
    }

    /// The passes in order of time. The trigger closes at the first look at which it is closed.
    pub fn passes(&self, panel: &Panel, along: Along) -> Vec<Recorded> {
        let opened = self.opens().unwrap_or(Seconds(0.0));
        let mut passes = Vec::new();
        let mut at = 0;
        while let Some(first) = self.samples[at..].iter().position(|sample| sample.open) {
            let first = at + first;
            let closed = self.samples[first..].iter().position(|sample| !sample.open);
            at = closed.map_or(self.samples.len(), |closed| first + closed);
            let pull = &self.samples[first..(at + 1).min(self.samples.len())];
            let to_and_fro = there_and_back(pull, along).into_iter().map(|(from, to)| first + from..=first + to);
            passes.extend(to_and_fro.filter_map(|looks| recorded(panel, along, opened, &self.samples, looks)));
        }
        passes
    }
}

/// The parts of a pull that run one way: first and last sample of each.
fn there_and_back(pull: &[Sample], along: Along) -> Vec<(usize, usize)> {
    let way: Vec<f64> = pull.iter().map(|sample| sample.along(along)).collect();
    let (mut parts, mut first, mut farthest, mut sense) = (Vec::new(), 0, 0, 0.0);
    for i in 1..pull.len() {
        let on = way[i] - way[farthest];
        if sense == 0.0 && on.abs() > TURNED_BACK_MM {
            (sense, farthest) = (on.signum(), i);
        } else if sense != 0.0 && on * sense > 0.0 {
            farthest = i;
        } else if sense != 0.0 && -on * sense > TURNED_BACK_MM {
            parts.push((first, farthest));
            (first, farthest, sense) = (farthest, i, -sense);
        }
    }
    parts.push((first, pull.len() - 1));
    parts
}

/// One pass; none of no duration.
fn recorded(
    panel: &Panel,
    along: Along,
    opened: Seconds,
    samples: &[Sample],
    looks: std::ops::RangeInclusive<usize>,
) -> Option<Recorded> {
    let samples = &samples[looks.clone()];
    let (first, last) = (samples.first()?, samples.last()?);
    if last.time.0 <= first.time.0 {
        return None;
    }
    let moment = |sample: &Sample| {
        let time = Seconds(sample.time.0 - first.time.0);
        Moment { time, pose: sample.pose(panel, along) }
    };
    let mut moments = vec![moment(first)];
    for pair in samples.windows(2).filter(|pair| pair[1].time.0 > pair[0].time.0) {
        let turn = (pair[1].heel.0 - pair[0].heel.0).abs().max((pair[1].lean.0 - pair[0].lean.0).abs());
        let way = (pair[1].place - pair[0].place).length().max((pair[1].distance.0 - pair[0].distance.0).abs());
        let steps = (way / STEP_MM).max(turn / STEP_DEG).ceil().max(1.0);
        moments.extend((1..=steps as usize).map(|i| moment(&pair[0].towards(&pair[1], i as f64 / steps))));
    }
    let axis = if along == Along::Length { DVec2::X } else { DVec2::Y };
    let long = (last.place - first.place).length() >= SHORTEST_LINE_MM;
    let to = if long { last.place } else { first.place + axis * SHORTEST_LINE_MM };
    let line = Line { from: first.place, to, side: Side::Near, rim: false };
    Some(Recorded { looks, start: Seconds(first.time.0 - opened.0), line, stroke: Stroke { moments } })
}

/// What is taken of a sample.
pub const TRACK_LIMITS: [(&str, f64, f64, &str); 7] = [
    ("t", 0.0, 86_400.0, "s"),
    ("x", -2000.0, 7000.0, "mm"),
    ("y", -2000.0, 7000.0, "mm"),
    ("distance", 30.0, 1000.0, "mm"),
    ("heel", -MOST_TILT, MOST_TILT, "degrees"),
    ("lean", -MOST_TILT, MOST_TILT, "degrees"),
    ("trigger", 0.0, 1.0, ""),
];
