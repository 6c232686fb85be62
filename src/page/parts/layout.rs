//! Where things stand on the stage: the panel at the largest scale that fits, its rulers, the section's graphs.
//! Pixels are CSS pixels; the near edge of the panel is at the bottom. Draws nothing.

use fanlap::panel::Panel;
use glam::DVec2;

/// How much room the window has.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Room {
    /// Below 900 px: a phone; the section has its own place.
    Narrow,
    /// 900 to 1199: a tablet; no lane for the colour difference, lines unnumbered.
    Tablet,
    /// 1200 to 1599.
    Desk,
    /// From 1600: a projector.
    Wide,
}

impl Room {
    /// The room of a window of this width.
    pub fn of(width: f64) -> Self {
        match width {
            w if w < 900.0 => Self::Narrow,
            w if w < 1200.0 => Self::Tablet,
            w if w < 1600.0 => Self::Desk,
            _ => Self::Wide,
        }
    }
}

/// A graph beside the panel: its left edge and width.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Lane {
    /// Left edge, px.
    pub left: f64,
    /// Width, px.
    pub width: f64,
}

/// The stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layout {
    /// px per mm.
    pub scale: f64,
    /// The panel's left edge, px.
    pub left: f64,
    /// Its top edge (the far one), px.
    pub top: f64,
    /// Its width on the screen, px.
    pub width: f64,
    /// Its height on the screen, px.
    pub height: f64,
    /// Film graph of the section.
    pub film: Option<Lane>,
    /// Colour difference graph of the section.
    pub difference: Option<Lane>,
    /// Where passes run along the width: the film graph of a section along the length, top and height below the panel.
    pub below: Option<(f64, f64)>,
    /// Room of the window.
    pub room: Room,
    panel_width_mm: f64,
}

impl Layout {
    /// Fits a panel into a stage.
    /// `turned` lays the section along the length, below the panel.
    pub fn new(panel: &Panel, stage: (f64, f64), room: Room, turned: bool) -> Self {
        let turned = turned && room != Room::Narrow;
        let (left, top, lanes) = match room {
            Room::Desk | Room::Wide | Room::Tablet if turned => (72.0, 24.0, 72.0),
            Room::Narrow => (16.0, 20.0, 54.0),
            Room::Tablet => (40.0, 24.0, 132.0),
            Room::Desk => (72.0, 29.0, 266.0),
            Room::Wide => (72.0, 29.0, 388.0),
        };
        let (length, width) = (panel.length.0, panel.width.0);
        let ruler = if room == Room::Wide { 42.0 } else { 34.0 };
        let below = if turned { ruler + GRAPH_BELOW + 30.0 } else { ruler };
        let fit = ((stage.0 - left - lanes) / length).min((stage.1 - top - below) / width);
        let scale = ((fit / 0.005).floor() * 0.005).max(0.005);
        let (w, h) = ((length * scale).round(), (width * scale).round());
        // what is left over widens the graphs, then goes to both sides
        let spare = (stage.0 - left - lanes - w).max(0.0);
        let wider = if room == Room::Narrow || turned { 0.0 } else { spare.min(320.0) };
        let (left, top) =
            (left + ((spare - wider) / 2.0).floor(), top + ((stage.1 - top - below - h).max(0.0) / 2.0).floor());
        let right = left + w;
        let (film, difference) = match room {
            _ if turned => (None, None),
            Room::Narrow => (None, None),
            Room::Tablet => (Some(Lane { left: right + 58.0, width: 60.0 + wider }), None),
            Room::Desk => lanes_beside(right + 90.0, (96.0, 48.0), wider),
            Room::Wide => lanes_beside(right + 96.0, (160.0, 92.0), wider),
        };
        let below = turned.then_some((top + h + ruler + 6.0, GRAPH_BELOW));
        Self { scale, left, top, width: w, height: h, film, difference, below, room, panel_width_mm: width }
    }

    /// The same with room around the panel for a hand that leads the gun in and out.
    pub fn with_room(panel: &Panel, stage: (f64, f64), room: Room, turned: bool) -> Self {
        let (side, above) = if room == Room::Narrow { (12.0, 24.0) } else { (44.0, 56.0) };
        let mut layout = Self::new(panel, (stage.0 - 2.0 * side, stage.1 - 1.6 * above), room, turned);
        (layout.left, layout.top) = (layout.left + side, layout.top + above);
        layout.below = layout.below.map(|(top, height)| (top + above, height));
        for lane in [&mut layout.film, &mut layout.difference].into_iter().flatten() {
            lane.left += 2.0 * side;
        }
        layout
    }

    /// A place on the plan, on the stage.
    pub fn on_stage(&self, plan: DVec2) -> (f64, f64) {
        (self.left + plan.x * self.scale, self.y(plan.y))
    }

    /// A y on the plan, on the stage.
    pub fn y(&self, mm: f64) -> f64 {
        self.top + (self.panel_width_mm - mm) * self.scale
    }

    /// A place on the stage, on the plan.
    pub fn on_plan(&self, x: f64, y: f64) -> DVec2 {
        DVec2::new((x - self.left) / self.scale, self.panel_width_mm - (y - self.top) / self.scale)
    }

    /// Right edge of the panel, px.
    pub fn right(&self) -> f64 {
        self.left + self.width
    }

    /// Bottom edge of the panel, px.
    pub fn bottom(&self) -> f64 {
        self.top + self.height
    }
}

/// Height of the graph below the panel, px.
const GRAPH_BELOW: f64 = 104.0;

/// Two graphs, 20 px apart, that share what there is to spare.
fn lanes_beside(left: f64, (film, difference): (f64, f64), wider: f64) -> (Option<Lane>, Option<Lane>) {
    let film = Lane { left, width: film + (0.65 * wider).floor() };
    let difference = Lane { left: left + film.width + 22.0, width: difference + (0.35 * wider).floor() };
    (Some(film), Some(difference))
}

/// Even marks between two values: about `about` of them, at 1, 2, 2.5 or 5 times a power of ten.
pub fn even_marks(from: f64, to: f64, about: f64) -> Vec<f64> {
    let raw = (to - from).abs() / about;
    let power = fanlap::maths::pow(10.0, fanlap::maths::log10(raw).floor());
    let step = [1.0, 2.0, 2.5, 5.0, 10.0].into_iter().map(|n| n * power).find(|step| *step >= raw * 0.999);
    let step = step.unwrap_or(10.0 * power);
    let first = (from.min(to) / step - 1e-9).ceil();
    let count = ((from.max(to) / step + 1e-9).floor() - first).max(0.0) as usize;
    (0..=count).map(|i| (first + i as f64) * step).collect()
}
