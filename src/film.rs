//! Landing: what a gun lays on a surface between two poses, by exact projection (paint is conserved on any panel at
//! any angle; no further cosine), and the paint account. It is handed poses one after the other: it has never heard
//! of a plan, so a plan, a learner's hand and a solver all use the same road.

use crate::gun::{Gun, Pattern, Pose};
use crate::maths::Table;
use crate::panel::{Area, Panel, Patch, Window};
use crate::units::{Fraction, Millilitres, Millimetres, Seconds};
use glam::{DVec2, DVec3};

/// A gun ready to spray: its pattern and its transfer, tabulated.
#[derive(Debug, Clone)]
pub struct Spray {
    pattern: Pattern,
    transfer: Table,
    tan_width: f64,
    tan_depth: f64,
    fluid: f64,
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
        }
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

/// The area of the plan that a fan can reach from a pose, corners of its square of directions included; none if the
/// fan points away from the surface.
pub fn footprint(spray: &Spray, panel: &Panel, pose: &Pose, within: Area) -> Option<Area> {
    let everywhere = panel.height_range(within);
    let first = reach(spray, pose, everywhere, within)?;
    reach(spray, pose, panel.height_range(first), within)
}

/// Whether a ray of the fan, 1 and -1 at its ends, meets the surface within an area.
fn meets(spray: &Spray, panel: &Panel, pose: &Pose, within: Area, (u, v): (f64, f64)) -> bool {
    let (fan, across) = (pose.fan * spray.tan_width, pose.across() * spray.tan_depth);
    let place = panel.landing(pose.nozzle, pose.aim + fan * u + across * v, FARTHEST);
    place.is_some_and(|at| at.cmpge(within.least).all() && at.cmple(within.most).all())
}

/// Whether all that a gun sprays from a pose meets the surface within an area: its outermost rays do.
pub fn lands_within(spray: &Spray, panel: &Panel, pose: &Pose, within: Area) -> bool {
    let outermost = [-1.0, 1.0].into_iter().flat_map(|u| [-1.0, 0.0, 1.0].map(|v| (u, v)));
    outermost.into_iter().all(|ray| meets(spray, panel, pose, within, ray))
}

/// The share of the paint that leaves the gun on a way that does not meet the surface within an area: it flies over
/// the horizon of a crowned panel, or farther than is followed. By the midpoint rule over the fan's directions, more of
/// them past a rolled rim, and only where one of its outermost does so.
pub fn escaping(spray: &Spray, panel: &Panel, pose: &Pose, within: Area) -> Fraction {
    if lands_within(spray, panel, pose, within) {
        return Fraction(0.0);
    }
    let (mut escaped, mut all) = (0.0, 0.0);
    let (wide, deep) = if panel.has_rim() { (1024, 6) } else { (96, 16) };
    let middle = |i: u32, count: u32| (2.0 * f64::from(i) + 1.0) / f64::from(count) - 1.0;
    for ray in (0..wide).flat_map(|i| (0..deep).map(move |j| (middle(i, wide), middle(j, deep)))) {
        let flux = spray.pattern.flux(ray.0, ray.1);
        all += flux;
        if flux > 0.0 && !meets(spray, panel, pose, within, ray) {
            escaped += flux;
        }
    }
    Fraction(escaped / all)
}

/// Where the four corner rays pass between two heights.
fn reach(spray: &Spray, pose: &Pose, heights: (f64, f64), within: Area) -> Option<Area> {
    let (fan, across) = (pose.fan * spray.tan_width, pose.across() * spray.tan_depth);
    let mut area = Area { least: DVec2::INFINITY, most: DVec2::NEG_INFINITY };
    for (s, t) in [(-1.0, -1.0), (-1.0, 1.0), (1.0, -1.0), (1.0, 1.0)] {
        let ray = pose.aim + fan * s + across * t;
        for height in [heights.0, heights.1] {
            // a ray that does not come down meets the surface at the far end of what is followed
            let length = if ray.z < -1e-3 { (height - pose.nozzle.z) / ray.z } else { FARTHEST };
            let hit = (pose.nozzle + ray * length.clamp(0.0, FARTHEST)).truncate();
            area = Area { least: area.least.min(hit), most: area.most.max(hit) };
        }
    }
    let area = Area { least: area.least.max(within.least), most: area.most.min(within.most) };
    (area.least.x < area.most.x && area.least.y < area.most.y).then_some(area)
}

/// The cells of a patch that a gun can reach while it goes from one pose to the next.
pub fn reached(spray: &Spray, panel: &Panel, patch: &Patch, from: &Pose, to: &Pose) -> Window {
    let within = patch.area();
    let window = |pose| footprint(spray, panel, pose, within).map_or(Window::default(), |area| patch.window_of(area));
    window(from).union(window(to))
}

/// One pose as a cell sees it: factors that do not depend on the cell.
struct Eye {
    nozzle: DVec3,
    aim: DVec3,
    fan: DVec3,
    across: DVec3,
}

impl Eye {
    fn of(spray: &Spray, pose: &Pose) -> Self {
        let (fan, across) = (pose.fan / spray.tan_width, pose.across() / spray.tan_depth);
        Self { nozzle: pose.nozzle, aim: pose.aim, fan, across }
    }

    /// Axial distance z, u and v of a place; z not above 0 means behind the nozzle.
    #[inline]
    fn sees(&self, place: DVec3) -> (f64, f64, f64) {
        let ray = place - self.nozzle;
        let z = ray.dot(self.aim);
        let inverse = 1.0 / z;
        (z, ray.dot(self.fan) * inverse, ray.dot(self.across) * inverse)
    }
}

/// Lays wet film, um, on the cells of `window` while the gun goes evenly from one pose to the next. Exact where the
/// gun travels along the fan's short axis without turning; elsewhere the error falls with the square of the step.
/// `film` holds the cells of `window` only, row after row.
pub fn deposit(
    spray: &Spray,
    patch: &Patch,
    window: Window,
    film: &mut [f64],
    (from, to): (&Pose, &Pose),
    duration: Seconds,
) -> Landed {
    let (first, second) = (Eye::of(spray, from), Eye::of(spray, to));
    let middle = (from.nozzle + to.nozzle) * 0.5;
    let dose = spray.fluid * duration.0 / (spray.tan_width * spray.tan_depth);
    let (mut on, mut sent) = (0.0, 0.0);
    for row in 0..window.rows {
        for column in 0..window.columns {
            let (c, r) = (window.column + column, window.row + row);
            let index = r * patch.columns + c;
            let place = patch.centre(c, r).extend(patch.height[index]);
            let (z1, u1, v1) = first.sees(place);
            let (z2, u2, v2) = second.sees(place);
            let swept = spray.pattern.swept(0.5 * (u1 + u2), v1, v2);
            if swept <= 0.0 || z1 <= 0.0 || z2 <= 0.0 {
                continue;
            }
            let (ray, slope) = (place - middle, patch.gradient[index]);
            // towards the painter's side of the surface, times the length of the normal (-sx, -sy, 1)
            let facing = slope.x * ray.x + slope.y * ray.y - ray.z;
            if facing <= 0.0 {
                continue;
            }
            let z = 0.5 * (z1 + z2);
            let arriving = dose * swept * facing / (z * z * z);
            let landing = arriving * spray.transfer.at(z);
            film[row * window.columns + column] += 1000.0 * landing / (1.0 + slope.length_squared()).sqrt();
            on += landing;
            sent += arriving;
        }
    }
    let cell_ml = patch.cell.x * patch.cell.y / 1000.0;
    Landed { on: Millilitres(on * cell_ml), lost: Millilitres((sent - on) * cell_ml) }
}
