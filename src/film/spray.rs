//! Landing: what a gun lays on a surface between two poses, by exact projection (paint is conserved on any panel at
//! any angle; no further cosine), and the paint account. It is handed poses one after the other: it has never heard
//! of a plan, so a plan, a learner's hand and a solver all use the same road.

use crate::gun::{Gun, Pattern, Pose};
use crate::maths::Table;
use crate::panel::{Area, Panel, Patch, Window};
use crate::units::{Fraction, Millilitres, Millimetres, Seconds};
use glam::{DVec2, DVec3};
use std::sync::{Arc, OnceLock};

/// A gun ready to spray: its pattern and its transfer, tabulated.
#[derive(Debug, Clone)]
pub struct Spray {
    pattern: Pattern,
    transfer: Table,
    tan_width: f64,
    tan_depth: f64,
    fluid: f64,
    /// The fan's directions, as many as kinds of panel ask for; once that was asked.
    rays: Arc<[OnceLock<Rays>; 3]>,
}

/// The directions of a fan, row by row along its width, with what it sprays there.
#[derive(Debug)]
struct Rays {
    wide: usize,
    deep: usize,
    /// Sums of the flux along each row, from its beginning up to each direction; one more than there are.
    sums: Vec<Vec<f64>>,
    all: f64,
}

/// Farther than this from the nozzle nothing is followed, mm.
const FARTHEST: f64 = 2000.0;

impl Spray {
    /// Prepares a gun.
    pub fn of(gun: &Gun) -> Self {
        Self {
            pattern: Pattern::of(gun),
            transfer: Table::new(0.0, FARTHEST, FARTHEST as usize, |z| gun.transfer_at(Millimetres(z)).0),
            tan_width: gun.tan_half_width(),
            tan_depth: gun.tan_half_depth(),
            fluid: gun.fluid.cubic_mm_per_s(),
            rays: Arc::default(),
        }
    }

    /// The directions that are looked at over a panel: more of them past a rolled rim or a steep edge.
    fn rays(&self, panel: &Panel) -> &Rays {
        let (kind, wide, deep) = match panel {
            panel if panel.has_rim() => (0, 1024, 6),
            panel if panel.is_steep() => (1, 384, 6),
            _ => (2, 96, 16),
        };
        self.rays[kind].get_or_init(|| Rays::of(&self.pattern, wide, deep))
    }

    /// Wet film growth at a place seen from a pose that stands still, um/s: the plain law
    /// Q TE(z) w(u, v) |n.(P - p)| / (z^3 tan(alpha) tan(beta)), without the closed form of `deposit`.
    pub fn growth(&self, pose: &Pose, place: DVec3, normal: DVec3) -> f64 {
        let ray = place - pose.nozzle;
        let z = ray.dot(pose.aim);
        let facing = -normal.dot(ray);
        if z <= 0.0 || facing <= 0.0 {
            return 0.0;
        }
        let (u, v) = (ray.dot(pose.fan) / (z * self.tan_width), ray.dot(pose.across()) / (z * self.tan_depth));
        let density = self.pattern.flux(u, v) * facing / (z * z * z * self.tan_width * self.tan_depth);
        1000.0 * self.fluid * self.transfer.at(z) * density
    }
}

/// Volumes that landed on a patch, and what was lost in the air on the way to it.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct Landed {
    /// On the patch, wet.
    pub on: Millilitres,
    /// Lost in the air before the patch.
    pub lost: Millilitres,
}

impl std::ops::AddAssign for Landed {
    fn add_assign(&mut self, other: Self) {
        self.on.0 += other.on.0;
        self.lost.0 += other.lost.0;
    }
}

/// The area of the plan that a fan can reach from a pose on the part of the surface within an area, corners of its
/// square of directions included. It may go beyond that area.
pub fn reached(spray: &Spray, panel: &Panel, pose: &Pose, within: Area) -> Area {
    if panel.is_steep() {
        return closely(spray, panel, pose, within).unwrap_or_else(|| elsewhere(spray, panel, pose));
    }
    let roughly = between_heights(spray, pose, panel.height_range(within));
    roughly.shared(within).map_or(roughly, |part| between_heights(spray, pose, panel.height_range(part)))
}

/// Around an area so much more of the surface is looked at, mm, so that it is told when a fan comes over its edge; and so
/// often is it halved.
const AROUND_MM: f64 = 200.0;
const HALVED: usize = 6;

/// The same on a steep surface, where the heights within an area are so far apart that nothing follows of them for all of it
/// at once: it is quartered again and again, and the quarters that the fan may reach are taken together. None if there are
/// none.
fn closely(spray: &Spray, panel: &Panel, pose: &Pose, within: Area) -> Option<Area> {
    let (fan, across) = (pose.fan / spray.tan_width, pose.across() / spray.tan_depth);
    let sides = [pose.aim - fan, pose.aim + fan, pose.aim - across, pose.aim + across];
    let (around, heights) = (DVec2::splat(AROUND_MM), panel.height_ranges());
    let whole = Area { least: within.least - around, most: within.most + around };
    let (mut reached, mut left) = (Area::NONE, vec![(whole, 0)]);
    while let Some((area, halved)) = left.pop() {
        if reached.around(area) == reached || !may_reach(panel, pose, (area, heights(area)), &sides) {
            continue;
        }
        if halved == HALVED {
            reached = reached.around(area);
            continue;
        }
        let middle = 0.5 * (area.least + area.most);
        for (x, y) in [(false, false), (true, false), (false, true), (true, true)] {
            let (least, most) = (area.least, area.most);
            let from = DVec2::new(if x { middle.x } else { least.x }, if y { middle.y } else { least.y });
            let to = DVec2::new(if x { most.x } else { middle.x }, if y { most.y } else { middle.y });
            left.push((Area { least: from, most: to }, halved + 1));
        }
    }
    (reached != Area::NONE).then_some(reached)
}

/// The same about where the gun aims at; the place under the nozzle where that is past the surface.
fn elsewhere(spray: &Spray, panel: &Panel, pose: &Pose) -> Area {
    let middle = panel.landing(pose.nozzle, pose.aim, FARTHEST).unwrap_or(pose.nozzle.truncate());
    let point = Area { least: middle, most: middle };
    closely(spray, panel, pose, point).unwrap_or(point)
}

/// Whether the surface within an area may be inside all sides of a fan and face the gun. What it says no to is surely not;
/// a face between two edges has the slopes between theirs.
fn may_reach(panel: &Panel, pose: &Pose, (area, (low, high)): (Area, (f64, f64)), sides: &[DVec3]) -> bool {
    let (least, most) = (area.least.extend(low) - pose.nozzle, area.most.extend(high) - pose.nozzle);
    let (middle, half) = (0.5 * (least + most), 0.5 * (most - least));
    let inside = sides.iter().all(|side| side.dot(middle) + side.abs().dot(half) > 0.0);
    if !inside || panel.has_rim() {
        return inside;
    }
    let (one, other) = (panel.face_gradient(area.least), panel.face_gradient(area.most));
    let most_of = |slopes: [f64; 2], ways: [f64; 2]| {
        slopes.iter().flat_map(|slope| ways.map(|way| slope * way)).fold(f64::NEG_INFINITY, f64::max)
    };
    most_of([one.x, other.x], [least.x, most.x]) + most_of([one.y, other.y], [least.y, most.y]) > least.z
}

/// The same within that area; none if the fan points away from it.
pub fn footprint(spray: &Spray, panel: &Panel, pose: &Pose, within: Area) -> Option<Area> {
    reached(spray, panel, pose, within).shared(within)
}

/// Whether a ray of the fan, 1 and -1 at its ends, meets the surface within an area.
fn meeting<'a>(spray: &Spray, panel: &'a Panel, pose: &'a Pose, within: Area) -> impl Fn((f64, f64)) -> bool + 'a {
    let (fan, across) = (pose.fan * spray.tan_width, pose.across() * spray.tan_depth);
    let landing = panel.landings(FARTHEST);
    move |(u, v)| {
        let place = landing(pose.nozzle, pose.aim + fan * u + across * v);
        place.is_some_and(|at| at.cmpge(within.least).all() && at.cmple(within.most).all())
    }
}

/// Whether all that a gun sprays from a pose meets the surface within an area: its outermost rays do.
pub fn lands_within(spray: &Spray, panel: &Panel, pose: &Pose, within: Area) -> bool {
    let outermost = [-1.0, 1.0].into_iter().flat_map(|u| [-1.0, 0.0, 1.0].map(|v| (u, v)));
    outermost.into_iter().all(meeting(spray, panel, pose, within))
}

/// The share of the paint that leaves the gun on a way that does not meet the surface within an area: it flies over
/// the horizon of a crowned panel, or farther than is followed. By the midpoint rule over the fan's directions, and only
/// where one of its outermost does so. Where the surface ends between two directions of a row is halved down to.
pub fn escaping(spray: &Spray, panel: &Panel, pose: &Pose, within: Area) -> Fraction {
    if lands_within(spray, panel, pose, within) {
        return Fraction(0.0);
    }
    let (rays, meets) = (spray.rays(panel), meeting(spray, panel, pose, within));
    let escaped: f64 = (0..rays.deep).map(|row| rays.escaping(row, |u, v| !meets((u, v)))).sum();
    Fraction(escaped / rays.all)
}

impl Rays {
    /// So many directions of a row are looked at before those between them.
    const AT_FIRST: usize = 64;

    fn of(pattern: &Pattern, wide: usize, deep: usize) -> Self {
        let row = |row: usize| -> Vec<f64> {
            let flux = (0..wide).map(|i| pattern.flux(middle(i, wide), middle(row, deep)));
            let up_to = flux.scan(0.0, |sum, flux| {
                *sum += flux;
                Some(*sum)
            });
            [0.0].into_iter().chain(up_to).collect()
        };
        let sums: Vec<Vec<f64>> = (0..deep).map(row).collect();
        let all = sums.iter().map(|sums| sums[wide]).sum();
        Self { wide, deep, sums, all }
    }

    /// The flux of those directions of a row that escape.
    fn escaping(&self, row: usize, escapes: impl Fn(f64, f64) -> bool) -> f64 {
        let sums = &self.sums[row];
        let sprayed = sums.partition_point(|sum| *sum == 0.0).saturating_sub(1);
        let last = sums.partition_point(|sum| *sum < sums[self.wide]).saturating_sub(1);
        let escapes = |i: usize| escapes(middle(i, self.wide), middle(row, self.deep));
        let step = (self.wide / Self::AT_FIRST).max(1);
        let (mut at, mut out) = (sprayed, escapes(sprayed));
        let mut escaped = if out { sums[at + 1] - sums[at] } else { 0.0 };
        while at < last {
            let next = (at + step).min(last);
            let then = escapes(next);
            // the last direction that is like the one before
            let (mut same, mut other) = if then == out { (next, next) } else { (at, next) };
            while same + 1 < other {
                let middle = (same + other) / 2;
                if escapes(middle) == out { same = middle } else { other = middle }
            }
            if out {
                escaped += sums[same + 1] - sums[at + 1];
            }
            if then {
                escaped += sums[next + 1] - sums[same + 1];
            }
            (at, out) = (next, then);
        }
        escaped
    }
}

/// The middle of one of so many parts, from -1 to 1.
fn middle(i: usize, count: usize) -> f64 {
    (2.0 * i as f64 + 1.0) / count as f64 - 1.0
}

/// Where the four corner rays pass between two heights.
fn between_heights(spray: &Spray, pose: &Pose, heights: (f64, f64)) -> Area {
    let (fan, across) = (pose.fan * spray.tan_width, pose.across() * spray.tan_depth);
    let mut area = Area::NONE;
    for (s, t) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
        let ray = pose.aim + fan * s + across * t;
        for height in [heights.0, heights.1] {
            // a ray that does not come down meets the surface at the far end of what is followed
            let length = if ray.z < -1e-3 { (height - pose.nozzle.z) / ray.z } else { FARTHEST };
            let hit = (pose.nozzle + ray * length.clamp(0.0, FARTHEST)).truncate();
            area = Area { least: area.least.min(hit), most: area.most.max(hit) };
        }
    }
    area
}

/// One pose as a row of cells sees it: each of axial distance, u and v times it, and facing is linear along the row, in
/// the height and, for facing, in the slope of a cell.
struct Eye {
    nozzle: DVec3,
    directions: [DVec3; 3],
}

/// A component of the ray to the cells of one row.
#[derive(Clone, Copy)]
struct Component {
    start: f64,
    step: f64,
    height: f64,
}

impl Component {
    #[inline]
    fn at(&self, i: f64, height: f64) -> f64 {
        self.start + i * self.step + height * self.height
    }
}

impl Eye {
    fn of(spray: &Spray, pose: &Pose) -> Self {
        let (fan, across) = (pose.fan / spray.tan_width, pose.across() / spray.tan_depth);
        Self { nozzle: pose.nozzle, directions: [pose.aim, fan, across] }
    }

    /// For the cells of a row that begins at a place on the plan.
    fn along(&self, first: DVec2, step: DVec2) -> AlongRow {
        let ray = first - self.nozzle.truncate();
        let directions = self.directions.map(|direction| Component {
            start: ray.dot(direction.truncate()) - self.nozzle.z * direction.z,
            step: step.dot(direction.truncate()),
            height: direction.z,
        });
        AlongRow { directions, ray, step, nozzle: self.nozzle.z }
    }
}

/// Cells that are looked at side by side.
const LANES: usize = 4;

/// The rays from a pose to some cells: the axial distance z, u and v times z, and how the surface faces it.
#[derive(Clone, Copy, Default)]
struct Ray {
    z: [f64; LANES],
    u: [f64; LANES],
    v: [f64; LANES],
    facing: [f64; LANES],
}

impl Ray {
    #[inline]
    fn of(eye: &AlongRow, cells: &Cells) -> Self {
        let mut ray = Self::default();
        for lane in 0..LANES {
            let (i, h, slope) = (cells.i[lane], cells.height[lane], cells.slope[lane]);
            ray.z[lane] = eye.directions[0].at(i, h);
            ray.u[lane] = eye.directions[1].at(i, h);
            ray.v[lane] = eye.directions[2].at(i, h);
            let to = eye.ray + eye.step * i;
            ray.facing[lane] = slope.x * to.x + slope.y * to.y - (h - eye.nozzle);
        }
        ray
    }

    #[inline]
    fn lane(&self, lane: usize) -> (f64, f64, f64, f64) {
        (self.z[lane], self.u[lane], self.v[lane], self.facing[lane])
    }
}

/// What the cells of a part of a row see of a pose.
#[derive(Clone, Copy, Default)]
struct Seen {
    /// Axial distance.
    z: [f64; LANES],
    u: [f64; LANES],
    v: [f64; LANES],
    /// Towards the painter's side of the surface, times the length of the normal (-sx, -sy, 1).
    facing: [f64; LANES],
}

impl Seen {
    #[inline]
    fn of(eye: &AlongRow, cells: &Cells) -> Self {
        let Ray { z, mut u, mut v, facing } = Ray::of(eye, cells);
        for lane in 0..LANES {
            let near = 1.0 / z[lane];
            u[lane] *= near;
            v[lane] *= near;
        }
        Self { z, u, v, facing }
    }

    /// From one pose to another: as each cell sees the gun in the middle of the time for which the fan is over it, and
    /// whether there is such a time. v is left out.
    #[inline]
    fn between(&self, other: &Self) -> (Self, [bool; LANES]) {
        let (mut seen, mut under) = (Self::default(), [false; LANES]);
        for lane in 0..LANES {
            let (u, v) = (self.u[lane], self.v[lane]);
            let (turns, per_v) = (other.u[lane] - u, 1.0 / (other.v[lane] - v));
            let abreast = u + turns * clamped(-v * per_v);
            let q = 1.0 - abreast * abreast;
            let half = if q > 0.0 { q.sqrt() } else { 0.0 };
            let (one, two) = (clamped((-half - v) * per_v), clamped((half - v) * per_v));
            let at = 0.5 * (one + two);
            let both = self.z[lane] > 0.0 && other.z[lane] > 0.0;
            seen.z[lane] = self.z[lane] + (other.z[lane] - self.z[lane]) * at;
            seen.u[lane] = u + turns * at;
            under[lane] = both && one != two;
            seen.facing[lane] = self.facing[lane] + (other.facing[lane] - self.facing[lane]) * at;
        }
        (seen, under)
    }
}

/// Some cells of a row.
struct Cells {
    i: [f64; LANES],
    height: [f64; LANES],
    slope: [DVec2; LANES],
}

/// A pose as a row of cells sees it.
struct AlongRow {
    directions: [Component; 3],
    ray: DVec2,
    step: DVec2,
    nozzle: f64,
}

#[inline]
fn clamped(share: f64) -> f64 {
    // the comparisons also make 0 of what is no number
    let share = if share > 0.0 { share } else { 0.0 };
    if share < 1.0 { share } else { 1.0 }
}

/// Lays wet film, um, on the cells of `window` while the gun goes evenly from pose to pose at given times. Exact where
/// the gun travels along the fan's short axis without turning; elsewhere the error falls with the square of the steps.
/// `film` holds the cells of a block that contains the window, row after row.
pub fn deposit(
    spray: &Spray,
    patch: &Patch,
    window: Window,
    onto: (Window, &mut [f64]),
    path: &[(Seconds, Pose)],
) -> Landed {
    let dose = spray.fluid / (spray.tan_width * spray.tan_depth);
    let doses: Vec<f64> = path.windows(2).map(|step| dose * (step[1].0.0 - step[0].0.0)).collect();
    row_by_row(spray, patch, window, onto, path, |eyes, cells| {
        let (mut landing, mut arriving) = ([0.0; LANES], [0.0; LANES]);
        let mut before = Seen::of(&eyes[0], cells);
        for (eye, dose) in eyes[1..].iter().zip(&doses) {
            let after = Seen::of(eye, cells);
            let (between, under) = before.between(&after);
            for lane in 0..LANES {
                let (z, facing) = (between.z[lane], between.facing[lane]);
                if !under[lane] || facing <= 0.0 {
                    continue;
                }
                let swept = spray.pattern.swept(between.u[lane], before.v[lane], after.v[lane]);
                let arrives = dose * swept * facing / (z * z * z);
                arriving[lane] += arrives;
                landing[lane] += arrives * spray.transfer.at(z);
            }
            before = after;
        }
        (landing, arriving)
    })
}

/// The same for a gun that hardly turns while the whole of its fan passes the window, from one pose to another: each cell
/// is looked at once, from where the gun is abreast of it.
pub fn deposit_passing(
    spray: &Spray,
    patch: &Patch,
    window: Window,
    onto: (Window, &mut [f64]),
    path: &[(Seconds, Pose); 2],
) -> Landed {
    let dose = spray.fluid / (spray.tan_width * spray.tan_depth) * (path[1].0.0 - path[0].0.0);
    row_by_row(spray, patch, window, onto, path, |eyes, cells| {
        let (one, other) = (Ray::of(&eyes[0], cells), Ray::of(&eyes[1], cells));
        let (mut landing, mut arriving) = ([0.0; LANES], [0.0; LANES]);
        for lane in 0..LANES {
            let [(z1, u1, v1, f1), (z2, u2, v2, f2)] = [&one, &other].map(|ray| ray.lane(lane));
            // v times z is linear in the nozzle's place: per second it grows by this much
            let per_v = 1.0 / (v2 - v1);
            let at = -v1 * per_v;
            let (z, facing) = (z1 + (z2 - z1) * at, f1 + (f2 - f1) * at);
            let near = 1.0 / z;
            let u = (u1 + (u2 - u1) * at) * near;
            if u * u < 1.0 && z > 0.0 && facing > 0.0 {
                let arrives = dose * spray.pattern.line(u) * facing * near * near * per_v.abs();
                (landing[lane], arriving[lane]) = (arrives * spray.transfer.at(z), arrives);
            }
        }
        (landing, arriving)
    })
}

/// Goes over a window row by row, along its longer side, some cells at a time: what lands on each cell and what arrives
/// there, in mm, is told by `each` from what a row sees of the poses.
#[inline]
fn row_by_row(
    spray: &Spray,
    patch: &Patch,
    window: Window,
    (block, film): (Window, &mut [f64]),
    path: &[(Seconds, Pose)],
    each: impl Fn(&[AlongRow], &Cells) -> ([f64; LANES], [f64; LANES]),
) -> Landed {
    let upright = window.rows > window.columns;
    let (rows, count) = if upright { (window.columns, window.rows) } else { (window.rows, window.columns) };
    let stride = |columns: usize| if upright { columns } else { 1 };
    let step = patch.cell * if upright { DVec2::Y } else { DVec2::X };
    let eyes: Vec<Eye> = path.iter().map(|(_, pose)| Eye::of(spray, pose)).collect();
    let (mut on, mut sent) = (0.0, 0.0);
    for row in 0..rows {
        let (c, r) = if upright { (window.column + row, window.row) } else { (window.column, window.row + row) };
        let along: Vec<AlongRow> = eyes.iter().map(|eye| eye.along(patch.centre(c, r), step)).collect();
        let (cell, start) = (r * patch.columns + c, (r - block.row) * block.columns + c - block.column);
        for part in (0..count).step_by(LANES) {
            let lanes = LANES.min(count - part);
            // past the end of the row the last cell is looked at again, and not used
            let at = |lane: usize| part + lane.min(lanes - 1);
            let index = |lane: usize| cell + at(lane) * stride(patch.columns);
            let cells = Cells {
                i: std::array::from_fn(|lane| at(lane) as f64),
                height: std::array::from_fn(|lane| patch.height[index(lane)]),
                slope: std::array::from_fn(|lane| patch.gradient[index(lane)]),
            };
            let (landing, arriving) = each(&along, &cells);
            for lane in 0..lanes {
                on += landing[lane];
                sent += arriving[lane];
                film[start + at(lane) * stride(block.columns)] += 1000.0 * landing[lane] * patch.level[index(lane)];
            }
        }
    }
    let cell_ml = patch.cell.x * patch.cell.y / 1000.0;
    Landed { on: Millilitres(on * cell_ml), lost: Millilitres((sent - on) * cell_ml) }
}
