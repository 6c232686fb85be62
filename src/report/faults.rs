//! The names of faults and what is said of them in a report: kinds, parts, causes and cures. Finds nothing itself.

use serde::{Deserialize, Serialize};
use serde_json::{Map, Value};

/// Kinds of fault.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Kind {
    /// Stripes at the spacing of the lines.
    Striping,
    /// Broader stripes than the lines make.
    Banding,
    /// A stripe where two reaches meet.
    CentreStripe,
    /// More film along an edge.
    HeavyEdge,
    /// Less film along an edge.
    ThinEdge,
    /// Wet paint that runs.
    Run,
    /// Wet paint over its limit that hardly moves.
    NearRun,
    /// Less film than the target.
    ThinFilm,
    /// More film than the target.
    OverFilm,
    /// A base that lets through what lies under it.
    NotHidden,
    /// A place that was missed.
    Holiday,
    /// The gun too far away.
    DrySpray,
    /// The gun too near.
    WetSpray,
    /// Clouds without direction.
    Mottle,
    /// Neighbouring deposits that no longer melt together.
    WetEdgeLost,
    /// The end of a coat within the panel.
    BlendEdge,
    /// Passes that spray only the masking.
    MaskingSprayed,
}

impl Kind {
    /// In the trade's words.
    pub fn name(self) -> &'static str {
        match self {
            Self::Striping => "Striping",
            Self::Banding => "Banding",
            Self::CentreStripe => "Centre stripe",
            Self::HeavyEdge => "Heavy edge",
            Self::ThinEdge => "Thin edge",
            Self::Run => "Run",
            Self::NearRun => "Near its limit",
            Self::ThinFilm => "Thin film",
            Self::OverFilm => "Over film",
            Self::NotHidden => "Not hidden",
            Self::Holiday => "Holiday",
            Self::DrySpray => "Dry spray",
            Self::WetSpray => "Wet spray",
            Self::Mottle => "Mottle",
            Self::WetEdgeLost => "Wet edge lost",
            Self::BlendEdge => "Blend edge",
            Self::MaskingSprayed => "Masking sprayed",
        }
    }

    /// Whether it is told by its colour; the others endanger the job.
    pub fn is_of_colour(self) -> bool {
        !matches!(
            self,
            Self::Run | Self::NearRun | Self::MaskingSprayed | Self::WetEdgeLost | Self::DrySpray | Self::WetSpray
        )
    }

    /// What is measured, and why the limit lies where it lies.
    pub fn reason(self) -> &'static str {
        match self {
            Self::Striping | Self::Banding | Self::CentreStripe | Self::Mottle => {
                "Reported where the job\u{2019}s eye would see it from the job\u{2019}s distance: the colour of the whole \
                 build-up against a published contrast sensitivity (castleCSF, 2024)."
            }
            Self::HeavyEdge | Self::ThinEdge | Self::ThinFilm | Self::OverFilm | Self::NotHidden => {
                "Reported where half of all observers would see the colour difference (CIEDE2000 0.8; for anyone, where half \
                 no longer accept it, 1.8: Paravina and others, 2015, no equal figure for car panels was found)."
            }
            Self::Run => {
                "Reported where the wet film flows down by 1 mm or more before it has thickened. A sag test has stripes \
                 1.6 mm apart and calls it sag where they meet (ASTM D4400, from extracts)."
            }
            Self::NearRun => {
                "Reported where the wet film passes the paint\u{2019}s sag limit on that slope, but flows down by less \
                 than 1 mm."
            }
            Self::Holiday => {
                "Reported where less than a third of the film around lies on more than 9 cm\u{b2}: our judgement."
            }
            Self::DrySpray | Self::WetSpray => {
                "Reported where the gun leaves its working distance of 6 to 10 in (a military painting manual of 2009)."
            }
            Self::WetEdgeLost => {
                "Reported where neighbouring deposits are further apart in time than the paint stays open."
            }
            Self::BlendEdge => "Reported where a coat that ends within the panel ends in a step that is seen.",
            Self::MaskingSprayed => {
                "Reported where a margin of more than a quarter of the fan adds passes of which less than 1 part in 200 can land \
                 on the panel: our judgement. Nothing is seen of it; it costs paint and time."
            }
        }
    }
}

/// Which part of a job a fault belongs to: the same fault is found again by kind and part.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Part {
    /// The panel away from its edges.
    Interior,
    /// The middle, where two reaches meet.
    Middle,
    /// The near edge (y = 0), the lower one of a standing panel.
    Near,
    /// The far edge.
    Far,
    /// The left edge (x = 0).
    Left,
    /// The right edge.
    Right,
    /// A coat, by its place in the job.
    Coat(usize),
}

impl Part {
    /// The four edges.
    pub const EDGES: [Part; 4] = [Part::Near, Part::Far, Part::Left, Part::Right];

    /// Where it is, in words.
    pub fn words(self) -> String {
        match self {
            Self::Interior => "away from the edges".to_string(),
            Self::Middle => "along the middle".to_string(),
            Self::Near => "at the near edge".to_string(),
            Self::Far => "at the far edge".to_string(),
            Self::Left => "at the left edge".to_string(),
            Self::Right => "at the right edge".to_string(),
            Self::Coat(coat) => format!("in coat {}", coat + 1),
        }
    }
}

/// A place on the plan.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Place {
    /// Along the length.
    pub x_mm: f64,
    /// Across the width.
    pub y_mm: f64,
}

/// What is wrong, what caused it and what would cure it.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Finding {
    /// What it is.
    pub kind: Kind,
    /// The same in the trade's words.
    pub name: String,
    /// Where in the job.
    pub part: Part,
    /// Name of the paint.
    pub paint: String,
    /// Least corner of the rectangle it covers.
    pub x_mm: f64,
    /// Least corner of the rectangle it covers.
    pub y_mm: f64,
    /// Size of that rectangle along the length.
    pub width_mm: f64,
    /// Size of that rectangle across the width.
    pub height_mm: f64,
    /// Where it is worst.
    pub worst: Place,
    /// Film above (or below) what is around it or aimed at.
    pub film_um: f64,
    /// CIEDE2000 against what is around it or aimed at.
    pub delta_e00: f64,
    /// How many times over its limit.
    pub times: f64,
    /// The greatest distance from which it is seen; none if it was not looked for, or is seen only beside the right
    /// colour.
    pub seen_from_m: Option<f64>,
    /// What its limit is and why.
    pub limit: String,
    /// What caused it; none if nothing that was tried explains it.
    pub cause: Option<Cause>,
    /// What played together with that.
    pub also: Vec<Cause>,
    /// What would cure it; none if nothing that was tried does.
    pub cure: Option<Cure>,
}

/// A cause, established by putting it right.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cause {
    /// Path in the job file.
    pub setting: String,
    /// Share of the finding that goes with it.
    pub share: f64,
    /// In the painter's words.
    pub text: String,
    /// It would explain the finding as well by itself, instead of the first.
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub instead: bool,
}

/// A cure: a job with these values no longer has the finding.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Cure {
    /// Values by path; none where it is the hand that must do otherwise.
    pub set: Map<String, Value>,
    /// In the painter's words.
    pub text: String,
    /// How many times over its limit the finding is then.
    pub times: f64,
    /// Findings left in the whole job then.
    pub left: usize,
}
