//! The panel: a height field over a rectangle, its rim, and its division into cells. Beyond the rim the surface
//! is continued straight on, so that a gun which runs past it has something to follow and the paint that misses
//! is accounted for. Has never heard of a gun.
//! A rolled rim is a round edge along each side; where two meet, their falls add up, which no real corner does exactly.

use crate::maths::{cos, fill_pieces, sin, tan};
use crate::units::{Degrees, Millimetres};
use glam::{DVec2, DVec3};
use serde::{Deserialize, Serialize};

/// The panel as in the job file's `panel`. x runs along the length, y across the width away from the painter (up, on
/// a standing panel), z towards the painter; the origin is the near left corner.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Panel {
    /// Along x, mm.
    #[serde(rename = "length_mm")]
    pub length: Millimetres,
    /// Along y, mm.
    #[serde(rename = "width_mm")]
    pub width: Millimetres,
    /// How much the middle stands above the two ends of the length, mm.
    #[serde(rename = "crown_along_mm")]
    pub crown_along: Millimetres,
    /// How much the middle stands above the two edges of the width, mm.
    #[serde(rename = "crown_across_mm")]
    pub crown_across: Millimetres,
    /// Along every edge the surface rolls down with this radius; 0: it does not, mm.
    #[serde(rename = "rim_radius_mm")]
    pub rim_radius: Millimetres,
    /// The rim rolls until it has turned by this angle, degrees.
    #[serde(rename = "rim_deg")]
    pub rim_angle: Degrees,
    /// From horizontal (0) to standing (90), degrees. Film as laid does not depend on it.
    #[serde(rename = "slope_deg")]
    pub slope: Degrees,
    /// Size of a cell, mm.
    #[serde(rename = "cell_mm")]
    pub cell: Millimetres,
    /// Width of the band along the rim that is reported by itself, mm.
    #[serde(rename = "edge_band_mm")]
    pub edge_band: Millimetres,
}

/// A rectangle on the panel's plan, mm.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Area {
    /// Least x and y.
    pub least: DVec2,
    /// Most x and y.
    pub most: DVec2,
}

impl Area {
    /// No area at all.
    pub const NONE: Self = Self { least: DVec2::INFINITY, most: DVec2::NEG_INFINITY };

    /// The smallest that holds two areas.
    pub fn around(self, other: Self) -> Self {
        Self { least: self.least.min(other.least), most: self.most.max(other.most) }
    }

    /// What two areas share.
    pub fn shared(self, other: Self) -> Option<Self> {
        let shared = Self { least: self.least.max(other.least), most: self.most.min(other.most) };
        (shared.least.x < shared.most.x && shared.least.y < shared.most.y).then_some(shared)
    }
}

/// One crown across one span: height over the ends at `at`, and its slope. A parabola, straight on beyond the ends.
fn crown(rise: f64, span: f64, at: f64) -> (f64, f64) {
    let half = span / 2.0;
    let xi = at / half - 1.0;
    let inside = xi.clamp(-1.0, 1.0);
    let slope = -2.0 * rise * inside / half;
    (rise * (1.0 - inside * inside) + slope * (xi - inside) * half, slope)
}

/// Least and most of one crown between two places.
fn crown_range(rise: f64, span: f64, from: f64, to: f64) -> (f64, f64) {
    let (a, b) = (crown(rise, span, from).0, crown(rise, span, to).0);
    let top = crown(rise, span, (span / 2.0).clamp(from, to)).0;
    (a.min(b).min(top), a.max(b).max(top))
}

/// Unit normal of a slope.
fn upright(gradient: DVec2) -> DVec3 {
    DVec3::new(-gradient.x, -gradient.y, 1.0).normalize()
}

/// The round edge of a rolled rim: an arc of a circle, straight on beyond the panel.
struct Rim {
    radius: f64,
    /// On the plan, mm.
    width: f64,
    /// Slope and fall at its end.
    end: (f64, f64),
}

impl Rim {
    fn new(radius: f64, angle: Degrees) -> Self {
        if radius <= 0.0 {
            return Self { radius: 0.0, width: 0.0, end: (0.0, 0.0) };
        }
        let angle = angle.radians();
        Self { radius, width: radius * sin(angle), end: (tan(angle), radius * (1.0 - cos(angle))) }
    }

    /// How far the surface lies below the face at a place of a span, mm, and how fast that grows.
    fn fall(&self, span: f64, at: f64) -> (f64, f64) {
        let (to_edge, outward) = if at < span / 2.0 { (at, -1.0) } else { (span - at, 1.0) };
        let into = self.width - to_edge;
        if self.radius == 0.0 || into <= 0.0 {
            return (0.0, 0.0);
        }
        if to_edge <= 0.0 {
            return (self.end.1 - self.end.0 * to_edge, outward * self.end.0);
        }
        let root = (self.radius * self.radius - into * into).sqrt();
        (self.radius - root, outward * into / root)
    }

    /// Least and most fall between two places.
    fn fall_range(&self, span: f64, from: f64, to: f64) -> (f64, f64) {
        let fall = |at: f64| self.fall(span, at).0;
        (fall((span / 2.0).clamp(from, to)), fall(from).max(fall(to)))
    }
}

/// A face that falls off by more than this is steep: that of a bonnet falls by 0.2.
const STEEP: f64 = 0.5;
/// A panel stands from this slope on, degrees: a judgement.
const STANDS_DEG: f64 = 30.0;

impl Panel {
    /// Whether it stands rather than lies.
    pub fn stands(&self) -> bool {
        self.slope.0 >= STANDS_DEG
    }

    /// What its edges are called at y = 0, across from there, at x = 0 and across from there.
    pub fn edge_names(&self) -> [&'static str; 4] {
        if self.stands() { ["bottom", "top", "left", "right"] } else { ["near", "far", "left", "right"] }
    }

    /// Height of the surface over the plan, mm.
    pub fn height(&self, at: DVec2) -> Millimetres {
        Millimetres(self.shape(&self.rim(), at).0)
    }

    /// Slope of the surface along x and along y.
    pub fn gradient(&self, at: DVec2) -> DVec2 {
        self.shape(&self.rim(), at).1
    }

    /// Height and slope of the surface, with the rim ready.
    fn shape(&self, rim: &Rim, at: DVec2) -> (f64, DVec2) {
        let (along, across) = (rim.fall(self.length.0, at.x), rim.fall(self.width.0, at.y));
        (self.face(at).z - along.0 - across.0, self.face_gradient(at) - DVec2::new(along.1, across.1))
    }

    /// What one span adds to a cell's height at its centre, and the slope of the cell along it: that of the rim is its mean
    /// over the cell, so that coarse cells fall as far as the rim does and catch what it catches.
    fn profile(&self, rise: Millimetres, span: Millimetres, rim: &Rim, at: f64, cell: f64) -> (f64, f64) {
        let (height, slope) = crown(rise.0, span.0, at);
        let fall = |at: f64| rim.fall(span.0, at).0;
        (height - fall(at), slope - (fall(at + cell / 2.0) - fall(at - cell / 2.0)) / cell)
    }

    /// The place on the surface above a place on the plan, mm.
    pub fn surface(&self, at: DVec2) -> DVec3 {
        at.extend(self.height(at).0)
    }

    /// Unit normal, towards the painter.
    pub fn normal(&self, at: DVec2) -> DVec3 {
        upright(self.gradient(at))
    }

    /// The place on the panel's face, the crowned surface as it would go on without a rolled rim: it is what a painter
    /// holds the gun to, mm.
    pub fn face(&self, at: DVec2) -> DVec3 {
        let along = crown(self.crown_along.0, self.length.0, at.x).0;
        at.extend(along + crown(self.crown_across.0, self.width.0, at.y).0)
    }

    /// Slope of the face along x and along y.
    pub fn face_gradient(&self, at: DVec2) -> DVec2 {
        let along = crown(self.crown_along.0, self.length.0, at.x).1;
        DVec2::new(along, crown(self.crown_across.0, self.width.0, at.y).1)
    }

    /// Unit normal of the face, towards the painter.
    pub fn face_normal(&self, at: DVec2) -> DVec3 {
        upright(self.face_gradient(at))
    }

    /// Slope of the face where it falls off over the ends of the length and over the edges of the width; below 0 it rises
    /// there.
    pub fn falls(&self) -> DVec2 {
        4.0 * DVec2::new(self.crown_along.0 / self.length.0, self.crown_across.0 / self.width.0)
    }

    /// Slope of the surface where it is steepest: in a corner of the face, or on the rolled rim, away from the corners,
    /// where the falls of two rims add up as those of no real corner do.
    pub fn steepest(&self) -> f64 {
        let (face, rim) = (self.falls(), self.rim().end.0);
        [face, face + DVec2::X * rim, face + DVec2::Y * rim].map(DVec2::length).into_iter().fold(0.0, f64::max)
    }

    /// Whether the face is so steep that heights alone say little of where a fan reaches it.
    pub fn is_steep(&self) -> bool {
        self.falls().abs().max_element() > STEEP
    }

    /// Whether its edges are rolled.
    pub fn has_rim(&self) -> bool {
        self.rim_radius.0 > 0.0
    }

    /// Width of the rolled rim on the plan, mm.
    pub fn rim_width(&self) -> Millimetres {
        Millimetres(self.rim().width)
    }

    fn rim(&self) -> Rim {
        Rim::new(self.rim_radius.0, self.rim_angle)
    }

    /// Most curvature of the face along a direction on the plan, 1/mm.
    pub fn curvature(&self, direction: DVec2) -> f64 {
        let of = |rise: f64, span: f64| 8.0 * rise.abs() / (span * span);
        let along = of(self.crown_along.0, self.length.0) * direction.x * direction.x;
        along + of(self.crown_across.0, self.width.0) * direction.y * direction.y
    }

    /// Least and most height within an area, mm.
    pub fn height_range(&self, area: Area) -> (f64, f64) {
        self.height_ranges()(area)
    }

    /// The same of many areas, with the rim ready.
    pub fn height_ranges(&self) -> impl Fn(Area) -> (f64, f64) + '_ {
        let rim = self.rim();
        move |Area { least, most }| {
            let (a, b) = crown_range(self.crown_along.0, self.length.0, least.x, most.x);
            let (c, d) = crown_range(self.crown_across.0, self.width.0, least.y, most.y);
            let (e, f) = rim.fall_range(self.length.0, least.x, most.x);
            let (g, h) = rim.fall_range(self.width.0, least.y, most.y);
            (a + c - f - h, b + d - e - g)
        }
    }

    /// Where a ray from above meets the surface, on the plan; none if it passes over it or meets it more than
    /// `farthest` ray lengths away. Newton's steps, which on a crowned panel never pass the first meeting; over a hollow
    /// one they may, and are halved back.
    pub fn landing(&self, from: DVec3, ray: DVec3, farthest: f64) -> Option<DVec2> {
        self.meeting(&self.rim(), from, ray, farthest)
    }

    /// The same of many rays, with the rim ready.
    pub fn landings(&self, farthest: f64) -> impl Fn(DVec3, DVec3) -> Option<DVec2> + '_ {
        let rim = self.rim();
        move |from, ray| self.meeting(&rim, from, ray, farthest)
    }

    /// The same on its face.
    pub fn face_landing(&self, from: DVec3, ray: DVec3, farthest: f64) -> Option<DVec2> {
        self.meeting(&Rim::new(0.0, self.rim_angle), from, ray, farthest)
    }

    fn meeting(&self, rim: &Rim, from: DVec3, ray: DVec3, farthest: f64) -> Option<DVec2> {
        let over = |length: f64| {
            let place = from + ray * length;
            let (height, slope) = self.shape(rim, place.truncate());
            (place.z - height, slope)
        };
        let (mut before, mut length) = (0.0, 0.0);
        for _ in 0..50 {
            let (above, slope) = over(length);
            if above < 1e-6 {
                let length = if above < -1e-6 { halved(before, length, |at| over(at).0) } else { length };
                return Some((from + ray * length).truncate());
            }
            let closing = ray.z - slope.dot(ray.truncate());
            if closing >= 0.0 || length > farthest {
                return None;
            }
            before = length;
            length -= above / closing;
        }
        None
    }

    /// The panel's own rectangle.
    pub fn area(&self) -> Area {
        Area { least: DVec2::ZERO, most: DVec2::new(self.length.0, self.width.0) }
    }

    /// The panel in cells of `cell` mm. Where the panel is no whole number of cells, the last row or column
    /// reaches over the rim by less than a cell.
    pub fn cells(&self) -> Patch {
        let cell = DVec2::splat(self.cell.0);
        Patch::new(self, DVec2::ZERO, cell, cells_over(self.length.0, cell.x), cells_over(self.width.0, cell.y))
    }

    /// Strips around the panel, `reach` mm wide together, in cells of about `about` mm: what the fan carries past the
    /// rim is caught there. Past a rolled rim the surface falls off steeply, and the nearest strips have finer cells.
    pub fn apron(&self, reach: Millimetres, about: Millimetres) -> Vec<Patch> {
        if !self.has_rim() || reach.0 <= NEAR_RIM_MM {
            return self.ring(0.0, reach.0, if self.has_rim() { FINER_NEAR_RIM * about.0 } else { about.0 });
        }
        let mut rings = self.ring(0.0, NEAR_RIM_MM, FINER_NEAR_RIM * about.0);
        rings.extend(self.ring(NEAR_RIM_MM, reach.0, about.0));
        rings
    }

    /// Four strips around the panel, from one distance to another.
    fn ring(&self, from: f64, to: f64, about: f64) -> Vec<Patch> {
        let inner = self.cells().area().most;
        let strip = |least: (f64, f64), most: (f64, f64)| {
            let (least, size) = (DVec2::from(least), DVec2::from(most) - DVec2::from(least));
            let (columns, rows) = (cells_over(size.x, about), cells_over(size.y, about));
            Patch::new(self, least, size / DVec2::new(columns as f64, rows as f64), columns, rows)
        };
        vec![
            strip((-to, -to), (inner.x + to, -from)),
            strip((-to, inner.y + from), (inner.x + to, inner.y + to)),
            strip((-to, -from), (-from, inner.y + from)),
            strip((inner.x + from, -from), (inner.x + to, inner.y + from)),
        ]
    }
}

/// So far past a rolled rim the cells of the apron are finer, by this share.
const NEAR_RIM_MM: f64 = 80.0;
const FINER_NEAR_RIM: f64 = 0.3;

/// Where a function comes down to 0 between a place where it is above and one where it is below.
fn halved(mut above: f64, mut below: f64, f: impl Fn(f64) -> f64) -> f64 {
    for _ in 0..40 {
        let middle = 0.5 * (above + below);
        if f(middle) > 0.0 {
            above = middle;
        } else {
            below = middle;
        }
    }
    below
}

/// Cells needed to cover a span.
pub fn cells_over(span: f64, cell: f64) -> usize {
    ((span / cell - 1e-9).ceil() as usize).max(1)
}

/// A rectangle of cells on the surface, row after row, with the surface's height and slope at each cell's centre.
#[derive(Debug, Clone)]
pub struct Patch {
    /// Corner of the first cell, mm.
    pub origin: DVec2,
    /// Size of a cell, mm.
    pub cell: DVec2,
    /// Cells along x.
    pub columns: usize,
    /// Cells along y.
    pub rows: usize,
    /// Height at each centre, mm.
    pub height: Vec<f64>,
    /// Slope along x and y at each centre.
    pub gradient: Vec<DVec2>,
    /// Area on the plan over area on the surface, at each centre.
    pub level: Vec<f64>,
}

impl Patch {
    fn new(panel: &Panel, origin: DVec2, cell: DVec2, columns: usize, rows: usize) -> Self {
        let mut patch = Self { origin, cell, columns, rows, height: vec![], gradient: vec![], level: vec![] };
        let rim = panel.rim();
        let across: Vec<_> = (0..columns)
            .map(|c| panel.profile(panel.crown_along, panel.length, &rim, patch.centre(c, 0).x, cell.x))
            .collect();
        let down: Vec<_> = (0..rows)
            .map(|r| panel.profile(panel.crown_across, panel.width, &rim, patch.centre(0, r).y, cell.y))
            .collect();
        patch.height = down.iter().flat_map(|(h, _)| across.iter().map(move |(height, _)| height + h)).collect();
        patch.gradient = vec![DVec2::ZERO; rows * columns];
        fill_pieces(&mut patch.gradient, columns, |row, gradients| {
            let along = across.iter().map(|(_, along)| DVec2::new(*along, down[row].1));
            gradients.iter_mut().zip(along).for_each(|(gradient, along)| *gradient = along);
        });
        patch.level = vec![0.0; rows * columns];
        fill_pieces(&mut patch.level, columns, |row, levels| {
            let slopes = &patch.gradient[row * columns..];
            let level = |slope: &DVec2| 1.0 / (1.0 + slope.length_squared()).sqrt();
            levels.iter_mut().zip(slopes).for_each(|(value, slope)| *value = level(slope));
        });
        patch
    }

    /// Centre of a cell on the plan, mm.
    pub fn centre(&self, column: usize, row: usize) -> DVec2 {
        self.origin + self.cell * DVec2::new(column as f64 + 0.5, row as f64 + 0.5)
    }

    /// The rectangle it covers.
    pub fn area(&self) -> Area {
        Area { least: self.origin, most: self.origin + self.cell * DVec2::new(self.columns as f64, self.rows as f64) }
    }

    /// All its cells.
    pub fn window(&self) -> Window {
        Window { column: 0, row: 0, columns: self.columns, rows: self.rows }
    }

    /// The cells whose centres lie within an area.
    pub fn window_of(&self, area: Area) -> Window {
        let first = |least: f64, origin: f64, cell: f64, count: usize| {
            (((least - origin) / cell - 0.5).ceil().max(0.0) as usize).min(count)
        };
        let end = |most: f64, origin: f64, cell: f64, count: usize| {
            (((most - origin) / cell - 0.5).floor() + 1.0).clamp(0.0, count as f64) as usize
        };
        let column = first(area.least.x, self.origin.x, self.cell.x, self.columns);
        let row = first(area.least.y, self.origin.y, self.cell.y, self.rows);
        let columns = end(area.most.x, self.origin.x, self.cell.x, self.columns).saturating_sub(column);
        let rows = end(area.most.y, self.origin.y, self.cell.y, self.rows).saturating_sub(row);
        let window = Window { column, row, columns, rows };
        if window.is_empty() { Window::default() } else { window }
    }
}

/// A block of cells of a patch.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Window {
    /// First column.
    pub column: usize,
    /// First row.
    pub row: usize,
    /// Columns.
    pub columns: usize,
    /// Rows.
    pub rows: usize,
}

impl Window {
    /// Number of cells.
    pub fn len(&self) -> usize {
        self.columns * self.rows
    }

    /// Whether it holds no cell.
    pub fn is_empty(&self) -> bool {
        self.len() == 0
    }

    /// Whether cells of a row of the patch are in it.
    pub fn holds_row(&self, row: usize) -> bool {
        (self.row..self.row + self.rows).contains(&row)
    }

    /// The values of its cells in a row of the patch, from those of all its cells.
    pub fn row_of<'a>(&self, values: &'a [f64], row: usize) -> &'a [f64] {
        &values[(row - self.row) * self.columns..][..self.columns]
    }

    /// The smallest block that holds both.
    pub fn union(self, other: Self) -> Self {
        if self.is_empty() {
            return other;
        }
        if other.is_empty() {
            return self;
        }
        let (column, row) = (self.column.min(other.column), self.row.min(other.row));
        let columns = (self.column + self.columns).max(other.column + other.columns) - column;
        let rows = (self.row + self.rows).max(other.row + other.rows) - row;
        Self { column, row, columns, rows }
    }
}
