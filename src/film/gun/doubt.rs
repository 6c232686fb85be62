//! Why the numbers of a test card may not be trusted, in words a painter can act on. Where a line is drawn is our own
//! judgement, with its reason in `test_card`. Does not know the card, only what was found.

use crate::units::{Micrometres, Millimetres};
use serde::Serialize;

/// A side of the card, by the positions of its readings.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Side {
    /// Towards smaller positions.
    Low,
    /// Towards larger positions, where a positive heavy end is.
    High,
}

impl Side {
    /// The side in words.
    pub fn words(self) -> &'static str {
        match self {
            Self::Low => "on the side of the smallest position",
            Self::High => "on the side of the largest position",
        }
    }
}

/// A reason not to trust a fit, or a part of it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// Too few readings under the fan, of which there are so many; heavy end and split were taken as none.
    FewReadings(usize),
    /// Two neighbouring readings under the fan lie far apart, mm.
    WideGap(Millimetres),
    /// The outermost reading of a side still lies under the fan.
    EdgeNotReached(Side),
    /// The readings scatter about the fitted pass by more than a gauge usually errs, um.
    Scatter {
        /// How far they scatter.
        found: Micrometres,
        /// How far a gauge usually errs at the largest film.
        usual: Micrometres,
    },
    /// A number, named by its key in the job file, rests on its limit or lies past it.
    AtLimit(&'static str),
    /// Fan width and pass exponent can be exchanged for each other.
    WidthAgainstExponent,
    /// More paint lies on the card than the measured fluid can have brought; the transfer was held at its limit.
    MorePaintThanFluid,
    /// The fit came to no rest.
    Unsettled,
}

impl Doubt {
    /// The doubt and what to do about it, in plain sentences.
    pub fn words(&self) -> String {
        match self {
            Self::FewReadings(count) => format!(
                "Only {count} readings lie under the fan: heavy end and split were taken as none. Measure at ten \
                 places across the fan."
            ),
            Self::WideGap(gap) => {
                format!("There is no reading over {:.0} mm of the fan. Measure in between.", gap.0)
            }
            Self::EdgeNotReached(side) => {
                format!("The readings stop inside the fan {}. Go on until there is no film.", side.words())
            }
            Self::Scatter { found, usual } => format!(
                "The readings scatter by {:.1} um about the fitted pass; a gauge usually errs by {:.1} um. Measure \
                 again, or the fan has a fault that these settings cannot describe.",
                found.0, usual.0
            ),
            Self::AtLimit(key) => format!("{key} rests on its limit or lies past it. Check the card and its settings."),
            Self::WidthAgainstExponent => "A wider fan with a higher exponent fits nearly as well, or a narrower one \
                                           with a lower. Measure more places, or lay several passes over one \
                                           line and divide the film by their number."
                .to_string(),
            Self::MorePaintThanFluid => "More paint lies on the card than the gun can have brought. Check fluid, \
                                         travel speed and solids."
                .to_string(),
            Self::Unsettled => "The fit came to no rest: take its numbers as a guess.".to_string(),
        }
    }
}
