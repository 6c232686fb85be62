//! One coat as planned, and the lines it is sprayed along. Has never heard of the hand that will follow them.

use super::Track;
use crate::gun::Gun;
use crate::panel::Panel;
use crate::units::{Fraction, Millimetres, MillimetresPerSecond, Minutes};
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// A painter's first line lies on the edge or outside it by up to this share of the fan: common practice, no source.
pub const OUTSIDE: f64 = 0.25;

/// Which way the passes of a coat run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Along {
    /// Along x.
    Length,
    /// Along y.
    Width,
}

/// From where a coat is sprayed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Reach {
    /// All lines from one side.
    OneSide,
    /// Each half from its own side, from the edge inwards.
    BothSides,
}

/// Which line of a coat follows which.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Sequence {
    /// From an edge inwards: from one side the far edge first, towards the painter; from both sides each half from its own.
    EdgesInwards,
    /// From the near edge straight across to the far one; from both sides the second half begins in the middle.
    StraightAcross,
}

/// One coat, as in the job file's `coats`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Coat {
    /// Name of the paint.
    pub paint: String,
    /// Share of a full coat; a half coat is laid at twice the speed.
    pub amount: Fraction,
    /// Nozzle to surface, mm.
    #[serde(rename = "distance_mm")]
    pub distance: Millimetres,
    /// Share of a fan's width that the next pass covers again.
    pub overlap: Fraction,
    /// Travel speed of a full coat, mm/s.
    #[serde(rename = "speed_mm_per_s")]
    pub speed: MillimetresPerSecond,
    /// Which way the passes run.
    pub along: Along,
    /// From one side, or each half from its own.
    pub reach: Reach,
    /// How far the two reaches overlap, mm; below 0 they leave a gap.
    #[serde(rename = "reach_overlap_mm")]
    pub reach_overlap: Millimetres,
    /// Which line follows which.
    #[serde(rename = "order")]
    pub sequence: Sequence,
    /// The outermost lines lie at or beyond this far outside the panel, mm.
    #[serde(rename = "margin_mm")]
    pub margin: Millimetres,
    /// The trigger opens this far before the panel's edge and closes this far after it, mm.
    #[serde(rename = "lead_mm")]
    pub lead: Millimetres,
    /// Moves all lines by this share of the spacing.
    pub shift: Fraction,
    /// One pass around the rim, on the edge line, before the lines.
    pub edge_pass: bool,
    /// Flash-off after the coat, min.
    #[serde(rename = "flash_min")]
    pub flash: Minutes,
    /// How a hand really sprayed it; then the lines are only what was meant, and the job's errors of the hand do not count.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub track: Option<Track>,
}

impl Coat {
    /// Distance from line to line: the fan's width at the coat's distance, less the overlap.
    pub fn spacing(&self, gun: &Gun) -> Millimetres {
        Millimetres(gun.width_at(self.distance).0 * (1.0 - self.overlap.0))
    }

    /// How far outside the near and the far edge (left and right, where the passes run along the width) its outermost
    /// lines lie; below 0 they lie inside.
    pub fn outermost(&self, panel: &Panel, gun: &Gun) -> [Millimetres; 2] {
        let across = if self.along == Along::Length { panel.width.0 } else { panel.length.0 };
        let places = positions(self, gun, across);
        [-places[0], places[places.len() - 1] - across].map(Millimetres)
    }

    /// The margin with which it has one line more: its lines then lie halfway between those it has now, at both edges alike.
    pub fn margin_between(&self, panel: &Panel, gun: &Gun) -> Millimetres {
        let [near, far] = self.outermost(panel, gun);
        // a whole millimetre, and never so much that two lines are added
        Millimetres(((near.0 + far.0 + self.spacing(gun).0) / 2.0 + 1e-6).floor())
    }

    /// How far its lines lie beside those of another coat, as a share of their spacing, 0 to 1; none where they run the
    /// other way or are spaced otherwise.
    pub fn beside(&self, other: &Coat, panel: &Panel, gun: &Gun) -> Option<f64> {
        let spacing = self.spacing(gun).0;
        if self.along != other.along || (spacing - other.spacing(gun).0).abs() > 1e-6 {
            return None;
        }
        let apart = (other.outermost(panel, gun)[0].0 - self.outermost(panel, gun)[0].0) / spacing;
        let share = apart.rem_euclid(1.0);
        Some(if share > 1.0 - 1e-6 { 0.0 } else { share })
    }

    /// Speed at which it is really sprayed: a thin coat is laid by going faster.
    pub fn actual_speed(&self) -> MillimetresPerSecond {
        MillimetresPerSecond(self.speed.0 / self.amount.0)
    }
}

/// Where the painter stands for a line: at the near edge (the lower one of a standing panel) or across the panel.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Side {
    /// At y = 0 (passes along the length) or x = 0 (along the width).
    Near,
    /// At the opposite edge.
    Far,
}

/// One planned line, trigger open to trigger closed.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Line {
    /// Where the trigger opens, on the plan, mm.
    pub from: DVec2,
    /// Where it closes, mm.
    pub to: DVec2,
    /// Where the painter stands.
    pub side: Side,
    /// A stroke of the pass around the rim, along which the trigger stays open from corner to corner.
    pub rim: bool,
}

impl Line {
    /// Length, mm.
    pub fn length(&self) -> f64 {
        (self.to - self.from).length()
    }

    /// Direction of travel on the plan.
    pub fn direction(&self) -> DVec2 {
        (self.to - self.from).normalize()
    }
}

/// The lines of a coat in the order they are sprayed: the pass around the rim if there is one, then the lines, which
/// are spaced exactly, centred on the panel, reach at least `margin` beyond it, and alternate in direction.
pub fn lines(panel: &Panel, gun: &Gun, coat: &Coat) -> Vec<Line> {
    let (length, width) = (panel.length.0, panel.width.0);
    let (travel, across) = match coat.along {
        Along::Length => (length, width),
        Along::Width => (width, length),
    };
    let straight = in_order(coat, across, &positions(coat, gun, across)).into_iter().enumerate();
    let straight = straight.map(|(i, (at, side))| {
        let (from, to) = (-coat.lead.0, travel + coat.lead.0);
        let (from, to) = if i % 2 == 0 { (from, to) } else { (to, from) };
        let place = |along: f64| match coat.along {
            Along::Length => DVec2::new(along, at),
            Along::Width => DVec2::new(at, along),
        };
        Line { from: place(from), to: place(to), side, rim: false }
    });
    let rim = if coat.edge_pass { around(length, width) } else { Vec::new() };
    rim.into_iter().chain(straight).collect()
}

/// Places of the lines across the panel, ascending.
fn positions(coat: &Coat, gun: &Gun, across: f64) -> Vec<f64> {
    let spacing = coat.spacing(gun).0;
    let gaps = ((across + 2.0 * coat.margin.0) / spacing - 1e-9).ceil().max(0.0);
    let first = across / 2.0 - gaps * spacing / 2.0 + coat.shift.0 * spacing;
    (0..=gaps as usize).map(|i| first + spacing * i as f64).collect()
}

/// The places in the order they are sprayed, each with the side it is sprayed from.
fn in_order(coat: &Coat, across: f64, places: &[f64]) -> Vec<(f64, Side)> {
    let onwards = coat.sequence == Sequence::StraightAcross;
    let as_ordered = |mut half: Vec<(f64, Side)>| {
        if !onwards {
            half.reverse();
        }
        half
    };
    match coat.reach {
        Reach::OneSide => as_ordered(places.iter().map(|at| (*at, Side::Near)).collect()),
        Reach::BothSides => {
            let half = coat.reach_overlap.0 / 2.0;
            let near = places.iter().copied().filter(|at| *at <= across / 2.0 + half + 1e-9);
            let shared = |at: f64| coat.reach_overlap.0 == 0.0 && at <= across / 2.0 + 1e-9;
            let far = places.iter().copied().filter(|at| *at >= across / 2.0 - half - 1e-9 && !shared(*at));
            let far = as_ordered(far.map(|at| (at, Side::Far)).collect());
            near.map(|at| (at, Side::Near)).chain(far).collect()
        }
    }
}

/// Four strokes from corner to corner along the rim.
fn around(length: f64, width: f64) -> Vec<Line> {
    let corners = [(0.0, 0.0), (length, 0.0), (length, width), (0.0, width), (0.0, 0.0)].map(DVec2::from);
    corners.windows(2).map(|c| Line { from: c[0], to: c[1], side: Side::Near, rim: true }).collect()
}
