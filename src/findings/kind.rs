//! The names of defects: what kind, and in which part of the job. A report and a link between page and worker spell them
//! as they stand here, in small letters.

use serde::{Deserialize, Serialize};

/// Kinds of defect.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum DefectKind {
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

impl DefectKind {
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

    /// Whether its colour gives it away; the others endanger the job.
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

/// Which part of a job a defect belongs to: the same defect is found again by kind and part.
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
