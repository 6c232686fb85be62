//! What a hand makes of a planned line: timed poses over the real panel. A faultless hand keeps the coat's distance,
//! square to the panel's face (it does not follow a rolled rim); the errors are systematic, as defined in the job file,
//! and what strays at random comes on top. Has never heard of film.

use super::{Astray, Coat, Drift, Line, MOST_TILT, Order, Side};
use crate::gun::{Gun, Pose};
use crate::maths::{cos, integral, sin, sort, tan};
use crate::panel::Panel;
use crate::units::{Degrees, Fraction, Millimetres, Seconds};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// The hand's errors against the plan, as in the job file's `hand`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Hand {
    /// Added to the coat's distance, mm.
    #[serde(rename = "distance_error_mm")]
    pub distance_error: Millimetres,
    /// 0.1 is ten per cent too fast.
    pub speed_error: Fraction,
    /// The wrist's angle at the ends of a pass, degrees.
    #[serde(rename = "arc_deg")]
    pub arc: Degrees,
    /// The pivot of that arc lies this far behind the nozzle, mm.
    #[serde(rename = "arc_pivot_mm")]
    pub arc_pivot: Millimetres,
    /// Turn about the travel line through the nozzle; positive takes the fan's far or upper end further away, degrees.
    #[serde(rename = "heel_deg")]
    pub heel: Degrees,
    /// Turn about the fan's long axis; positive lets the spray trail behind the nozzle, degrees.
    #[serde(rename = "drag_deg")]
    pub drag: Degrees,
    /// The trigger opens and closes this much later along the travel, mm.
    #[serde(rename = "trigger_late_mm")]
    pub trigger_late: Millimetres,
    /// Share of the speed lost at the very end of a pass, falling to nothing 150 mm before it.
    pub slow_at_ends: Fraction,
    /// Random straying of the distance, standard deviation, mm.
    #[serde(rename = "distance_sd_mm")]
    pub distance_sd: Millimetres,
    /// Random straying of the speed, standard deviation as a share of it.
    pub speed_sd: Fraction,
    /// Random straying square to the line, standard deviation, mm.
    #[serde(rename = "line_sd_mm")]
    pub line_sd: Millimetres,
    /// Random straying of heel and of drag, standard deviation, degrees.
    #[serde(rename = "angle_sd_deg")]
    pub angle_sd: Degrees,
    /// Time to go round a lying panel to its other side, s.
    #[serde(rename = "walk_round_s")]
    pub walk_round: Seconds,
    /// The same seed strays the same way.
    pub seed: u32,
}

impl Hand {
    /// Whether nothing strays at random.
    pub fn is_steady(&self) -> bool {
        self.distance_sd.0 == 0.0 && self.speed_sd.0 == 0.0 && self.line_sd.0 == 0.0 && self.angle_sd.0 == 0.0
    }

    /// How fast the speed changes where the hand is slowest, as a share of it for each mm of the way.
    pub fn slowing_per_mm(&self) -> f64 {
        self.slow_at_ends.0 / SLOWING_MM / (1.0 - self.slow_at_ends.0)
    }
}

/// No hand holds a gun nearer, mm.
pub const NEAREST_MM: f64 = 30.0;
/// Slowing at the ends begins this far before them, mm.
const SLOWING_MM: f64 = 150.0;
/// A step of a stroke is at most this share of the fan's depth. It is finer under a gun that is tilted in the direction
/// of travel, whose distance changes while it passes, and over a curved panel, on which the gun turns: the film is then
/// within 1e-3 of the plain law everywhere (`tests/film/law.rs`, `tests/reference`).
const STEP_OF_DEPTH: f64 = 0.4;
const FINER_WITH_TILT: f64 = 7.0;
const FINER_WITH_CURVE: f64 = 30.0;
/// Steps are made for a hand that strays by this many standard deviations.
const USUAL_DEVIATIONS: f64 = 1.5;

/// A pose and when it is taken, counted from the opening of the trigger.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Moment {
    /// Since the trigger opened, s.
    pub time: Seconds,
    /// How the gun stands.
    pub pose: Pose,
}

/// One pass as the hand sprays it: the trigger is open from the first moment to the last.
#[derive(Debug, Clone, PartialEq)]
pub struct Stroke {
    /// The poses, in steps short against the fan.
    pub moments: Vec<Moment>,
}

impl Stroke {
    /// A hand follows a line over a panel with a gun, as the first pass of a job.
    pub fn new(panel: &Panel, gun: &Gun, coat: &Coat, hand: &Hand, line: &Line) -> Self {
        Self::of_pass(panel, gun, coat, hand, line, Order::default())
    }

    /// The same as one of a job's passes: only what strays at random depends on which.
    pub fn of_pass(panel: &Panel, gun: &Gun, coat: &Coat, hand: &Hand, line: &Line, order: Order) -> Self {
        let (depth, finer, rim) = Self::fineness(panel, gun, coat, hand, line);
        let finer = finer + rim;
        // a gun that neither turns nor is tilted along its way nor changes its speed goes along it in one step
        let steady = finer == 1.0 && hand.slow_at_ends.0 == 0.0;
        let step = if steady { line.length() } else { STEP_OF_DEPTH * depth / finer };
        let steps = (line.length() / step).ceil().max(1.0) as usize;
        Self::follow(&Way::new(panel, coat, hand, line, order), steps)
    }

    /// How many times as many steps a rolled rim makes of a line, for where the trigger opens and closes over it.
    pub fn finer_over_rim(panel: &Panel, gun: &Gun, coat: &Coat, hand: &Hand, line: &Line) -> f64 {
        let (_, finer, rim) = Self::fineness(panel, gun, coat, hand, line);
        (finer + rim) / finer
    }

    /// The fan's depth where the hand is nearest, how many steps it takes against that of one that hardly turns, and how
    /// many more for a rolled rim.
    fn fineness(panel: &Panel, gun: &Gun, coat: &Coat, hand: &Hand, line: &Line) -> (f64, f64, f64) {
        let nearest = (coat.distance.0 - USUAL_DEVIATIONS * hand.distance_sd.0).max(NEAREST_MM);
        let depth = gun.depth_at(Millimetres(nearest)).0;
        let strayed = USUAL_DEVIATIONS * hand.angle_sd.0;
        let tilt = tan(Degrees(hand.drag.0.abs() + hand.arc.0 + strayed).radians().min(1.2));
        let curve = panel.curvature(line.direction()) * depth;
        let drift = finer_with_drift(gun, coat, hand);
        // where a trigger opens and closes over a steep rim, the account closes within 1e-3 with these
        let rim = if panel.has_rim() { tan(panel.rim_angle.radians()) } else { 0.0 };
        (depth, 1.0 + FINER_WITH_TILT * tilt + FINER_WITH_CURVE * curve + drift, rim)
    }

    /// The first pass of a job in a given number of steps, each divided further where the hand slows down.
    pub fn in_steps(panel: &Panel, coat: &Coat, hand: &Hand, line: &Line, steps: usize) -> Self {
        Self::follow(&Way::new(panel, coat, hand, line, Order::default()), steps)
    }

    fn follow(way: &Way, steps: usize) -> Self {
        let places = places(way.hand, way.line, steps);
        let (mut time, mut before) = (0.0, places[0]);
        let moment = |at: &f64| {
            time += integral(before, *at, |s| 1.0 / way.speed(s));
            before = *at;
            Moment { time: Seconds(time), pose: way.pose(*at) }
        };
        Self { moments: places.iter().map(moment).collect() }
    }

    /// How long the trigger is open.
    pub fn duration(&self) -> Seconds {
        self.moments.last().map_or(Seconds(0.0), |m| m.time)
    }

    /// Moments evenly spaced in time, from the first to the last.
    pub fn evenly(&self, intervals: usize) -> impl DoubleEndedIterator<Item = Moment> + '_ {
        let step = self.duration().0 / intervals as f64;
        (0..=intervals).map(move |i| Seconds(step * i as f64)).map(|time| Moment { time, pose: self.pose_at(time) })
    }

    /// The time at a place in the list of moments, which may lie between two of them.
    pub fn time_at(&self, place: f64) -> Seconds {
        let i = (place as usize).min(self.moments.len() - 1);
        let (before, after) = (self.moments[i].time.0, self.moments[(i + 1).min(self.moments.len() - 1)].time.0);
        Seconds(before + (after - before) * (place - i as f64))
    }

    /// The pose at a time since the trigger opened: straight between the moments, held at the ends.
    pub fn pose_at(&self, time: Seconds) -> Pose {
        let next = self.moments.partition_point(|m| m.time.0 <= time.0);
        if next == 0 {
            return self.moments[0].pose;
        }
        let Some(after) = self.moments.get(next) else { return self.moments[next - 1].pose };
        let before = &self.moments[next - 1];
        let part = (time.0 - before.time.0) / (after.time.0 - before.time.0);
        between(&before.pose, &after.pose, part)
    }
}

/// Places along the line at which the poses are taken, mm into it. The film of a step is laid at its mean speed: while
/// the hand slows down, the speed changes by no more than an eightieth within one.
fn places(hand: &Hand, line: &Line, steps: usize) -> Vec<f64> {
    let late = if line.rim { 0.0 } else { hand.trigger_late.0 };
    let step = line.length() / steps as f64;
    let finer = (80.0 * hand.slowing_per_mm() * step).ceil().max(1.0) as usize;
    let mut places = vec![late];
    for i in 0..steps {
        let (from, to) = (step * i as f64 + late, step * (i + 1) as f64 + late);
        let slowing = from.min(line.length() - to) < SLOWING_MM;
        let parts = if slowing { finer } else { 1 };
        places.extend((1..=parts).map(|part| from + (to - from) * part as f64 / parts as f64));
    }
    if hand.slow_at_ends.0 > 0.0 {
        // the speed has a corner where the slowing begins and ends, and at the ends of the line
        let (first, last) = (late, line.length() + late);
        places.extend(
            [0.0, SLOWING_MM, line.length() / 2.0, line.length() - SLOWING_MM, line.length()]
                .into_iter()
                .filter(|at| *at > first && *at < last),
        );
        sort(&mut places);
        places.dedup();
    }
    places
}

/// A pose part of the way from one to the next; the directions stay unit vectors and square.
fn between(a: &Pose, b: &Pose, part: f64) -> Pose {
    let aim = a.aim.lerp(b.aim, part).normalize();
    let fan = a.fan.lerp(b.fan, part);
    Pose { nozzle: a.nozzle.lerp(b.nozzle, part), aim, fan: (fan - aim * fan.dot(aim)).normalize() }
}

/// Tangent of the wrist's angle `s` mm into the line: its aim point runs evenly in angle from end to end.
fn arc_tangent(hand: &Hand, line: &Line, s: f64) -> f64 {
    (2.0 * s / line.length() - 1.0) * tan(hand.arc.radians())
}

/// How much finer the steps of a straying hand are: it shifts and turns the fan within a step. The weights are those at
/// which each drift alone keeps the film within 1e-3 of the plain law.
fn finer_with_drift(gun: &Gun, coat: &Coat, hand: &Hand) -> f64 {
    let line = 20.0 * hand.line_sd.0 / gun.width_at(coat.distance).0;
    let distance = 4.0 * hand.distance_sd.0 / coat.distance.0;
    let (speed, angle) = (4.0 * hand.speed_sd.0, 12.0 * hand.angle_sd.radians());
    (line * line + distance * distance + speed * speed + angle * angle).sqrt()
}

/// A line and the hand that follows it.
struct Way<'a> {
    panel: &'a Panel,
    coat: &'a Coat,
    hand: &'a Hand,
    line: &'a Line,
    drift: Drift,
}

impl<'a> Way<'a> {
    fn new(panel: &'a Panel, coat: &'a Coat, hand: &'a Hand, line: &'a Line, order: Order) -> Self {
        let drift = Drift::new(hand, order, line.rim, line.length());
        Self { panel, coat, hand, line, drift }
    }

    /// Speed of the aim point along the line `s` mm into it, mm/s.
    fn speed(&self, s: f64) -> f64 {
        let (hand, line) = (self.hand, self.line);
        let to_end = s.min(line.length() - s).clamp(0.0, SLOWING_MM);
        let slowed = 1.0 - hand.slow_at_ends.0 * (1.0 - to_end / SLOWING_MM);
        let tangent = arc_tangent(hand, line, s);
        let strayed = 1.0 + self.drift.at(s).speed;
        self.coat.actual_speed().0 * (1.0 + hand.speed_error.0) * slowed * (1.0 + tangent * tangent) * strayed
    }

    /// The gun `s` mm into the line.
    fn pose(&self, s: f64) -> Pose {
        let (hand, direction) = (self.hand, self.line.direction());
        let astray = self.drift.at(s);
        let plan = self.line.from + direction * s + direction.perp() * astray.line;
        let (place, normal) = (self.panel.face(plan), self.panel.face_normal(plan));
        let travel = along_face(self.panel, plan, direction);
        let fan = normal.cross(travel) * far_sign(self.line);
        let distance = (self.coat.distance.0 + hand.distance_error.0 + astray.distance).max(NEAREST_MM);
        let (nozzle, aim) = wrist(hand, distance, (place, normal), travel, arc_tangent(hand, self.line, s));
        let (aim, fan) = tilted(aim, fan, (normal, travel), tilts(hand, &astray));
        Pose { nozzle, aim, fan }
    }
}

/// Aim and fan of a gun turned by heel and drag.
pub(super) fn tilted(
    aim: DVec3,
    fan: DVec3,
    (normal, travel): (DVec3, DVec3),
    (heel, drag): (Degrees, Degrees),
) -> (DVec3, DVec3) {
    // heel: about the travel line, the far end of the fan goes away from the panel
    let heel_axis = fan.cross(normal);
    let (aim, fan) = (turn(aim, heel_axis, heel), turn(fan, heel_axis, heel));
    // drag: about the fan's long axis, the spray trails behind the nozzle
    let drag_axis = fan * travel.cross(aim).dot(fan).signum();
    (turn(aim, drag_axis, drag), fan)
}

/// Heel and drag, of which what strays at random is no more than a hand can turn.
fn tilts(hand: &Hand, astray: &Astray) -> (Degrees, Degrees) {
    let of = |meant: f64, strayed: f64| Degrees((meant + strayed).clamp(-MOST_TILT, MOST_TILT));
    (of(hand.heel.0, astray.heel), of(hand.drag.0, astray.drag))
}

/// A vector turned about a unit axis.
fn turn(vector: DVec3, axis: DVec3, angle: Degrees) -> DVec3 {
    let (s, c) = (sin(angle.radians()), cos(angle.radians()));
    vector * c + axis.cross(vector) * s + axis * (axis.dot(vector) * (1.0 - c))
}

/// Nozzle and aim of a gun that turns about a pivot behind the nozzle which keeps its height over the panel.
fn wrist(hand: &Hand, distance: f64, (place, normal): (DVec3, DVec3), travel: DVec3, tangent: f64) -> (DVec3, DVec3) {
    let height = distance + hand.arc_pivot.0;
    let aim = (travel * tangent - normal).normalize();
    let pivot = place + (normal - travel * tangent) * height;
    (pivot + aim * hand.arc_pivot.0, aim)
}

/// The direction of travel on the panel's face.
fn along_face(panel: &Panel, plan: DVec2, direction: DVec2) -> DVec3 {
    direction.extend(panel.face_gradient(plan).dot(direction)).normalize()
}

/// +1 or -1, so that the fan's long axis points away from the painter: to larger y for passes along the length, to
/// larger x along the width, the other way round when he stands at the far side.
fn far_sign(line: &Line) -> f64 {
    let direction = line.direction();
    // normal x travel points to +y for travel along +x, and to -x for travel along +y
    let to_far = if direction.x.abs() >= direction.y.abs() { direction.x > 0.0 } else { direction.y < 0.0 };
    let side = if line.side == Side::Near { 1.0 } else { -1.0 };
    if to_far { side } else { -side }
}
