//! The panel: a height field over a rectangle, its rim, and its division into cells. Beyond the rim the surface
//! is continued straight on, so that a gun which runs past it has something to follow and the paint that misses
//! is accounted for. Has never heard of a gun.

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

impl Panel {
    /// Height of the surface over the plan, mm.
    pub fn height(&self, at: DVec2) -> Millimetres {
        let along = crown(self.crown_along.0, self.length.0, at.x).0;
        Millimetres(along + crown(self.crown_across.0, self.width.0, at.y).0)
    }

    /// Slope of the surface along x and along y.
    pub fn gradient(&self, at: DVec2) -> DVec2 {
        let along = crown(self.crown_along.0, self.length.0, at.x).1;
        DVec2::new(along, crown(self.crown_across.0, self.width.0, at.y).1)
    }

    /// The place on the surface above a place on the plan, mm.
    pub fn surface(&self, at: DVec2) -> DVec3 {
        at.extend(self.height(at).0)
    }

    /// Unit normal, towards the painter.
    pub fn normal(&self, at: DVec2) -> DVec3 {
        let gradient = self.gradient(at);
        DVec3::new(-gradient.x, -gradient.y, 1.0).normalize()
    }

    /// Most curvature along a direction on the plan, 1/mm.
    pub fn curvature(&self, direction: DVec2) -> f64 {
        let of = |rise: f64, span: f64| 8.0 * rise.abs() / (span * span);
        let along = of(self.crown_along.0, self.length.0) * direction.x * direction.x;
        along + of(self.crown_across.0, self.width.0) * direction.y * direction.y
    }

    /// Least and most height within an area, mm.
    pub fn height_range(&self, area: Area) -> (f64, f64) {
        let (a, b) = crown_range(self.crown_along.0, self.length.0, area.least.x, area.most.x);
        let (c, d) = crown_range(self.crown_across.0, self.width.0, area.least.y, area.most.y);
        (a + c, b + d)
    }

    /// Where a ray from above meets the surface, on the plan; none if it passes over it or meets it more than
    /// `farthest` ray lengths away. Newton's steps, which on a crowned panel never pass the first meeting.
    pub fn landing(&self, from: DVec3, ray: DVec3, farthest: f64) -> Option<DVec2> {
        let mut length = 0.0;
        for _ in 0..50 {
            let place = from + ray * length;
            let above = place.z - self.height(place.truncate()).0;
            if above < 1e-6 {
                return Some(place.truncate());
            }
            let closing = ray.z - self.gradient(place.truncate()).dot(ray.truncate());
            if closing >= 0.0 || length > farthest {
                return None;
            }
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

    /// Four strips around the panel, `reach` mm wide, in cells of about `about` mm: what the fan carries past the
    /// rim is caught there.
    pub fn apron(&self, reach: Millimetres, about: Millimetres) -> Vec<Patch> {
        let panel = self.cells();
        let inner = panel.area().most;
        let strip = |least: DVec2, most: DVec2| {
            let size = most - least;
            let (columns, rows) = (cells_over(size.x, about.0), cells_over(size.y, about.0));
            Patch::new(self, least, size / DVec2::new(columns as f64, rows as f64), columns, rows)
        };
        let r = reach.0;
        vec![
            strip(DVec2::new(-r, -r), DVec2::new(inner.x + r, 0.0)),
            strip(DVec2::new(-r, inner.y), DVec2::new(inner.x + r, inner.y + r)),
            strip(DVec2::new(-r, 0.0), DVec2::new(0.0, inner.y)),
            strip(DVec2::new(inner.x, 0.0), DVec2::new(inner.x + r, inner.y)),
        ]
    }
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
}

impl Patch {
    fn new(panel: &Panel, origin: DVec2, cell: DVec2, columns: usize, rows: usize) -> Self {
        let mut patch = Self { origin, cell, columns, rows, height: Vec::new(), gradient: Vec::new() };
        let centres = || (0..rows).flat_map(|row| (0..columns).map(move |column| (column, row)));
        patch.height = centres().map(|(c, r)| panel.height(patch.centre(c, r)).0).collect();
        patch.gradient = centres().map(|(c, r)| panel.gradient(patch.centre(c, r))).collect();
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
