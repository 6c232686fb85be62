//! The lights a panel is judged under and the eye that judges it, as tristimulus weights in `data/weights_*.csv`:
//! CIE illuminants and observers (CIE 15:2018, tables of colour-science 0.4.7) turned into 10 nm weights the way
//! ASTM E308 and E2022 prescribe: Lagrange interpolation over 360 to 780 nm, the ends folded onto 380 and 730 nm.
//! Does not know how bright the light is: a perfect white always has Y = 100.

use super::spectrum::Spectrum;
use super::table::read_spectra;
use std::sync::LazyLock;

/// The light.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Illuminant {
    /// Average daylight, 6504 K.
    D65,
    /// Tungsten, 2856 K.
    A,
    /// A white LED lamp of about 4100 K, as over many workbenches.
    LedB3,
}

/// The eye.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Observer {
    /// CIE 1931, small fields: what screens are defined by.
    Degrees2,
    /// CIE 1964, large fields: what paint is measured by.
    Degrees10,
}

impl Illuminant {
    /// Every illuminant there is.
    pub const ALL: [Illuminant; 3] = [Illuminant::D65, Illuminant::A, Illuminant::LedB3];

    /// The illuminant of that CIE name: `D65`, `A` or `LED-B3`.
    pub fn from_name(name: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|light| light.name() == name)
    }

    /// Its CIE name.
    pub fn name(self) -> &'static str {
        match self {
            Illuminant::D65 => "D65",
            Illuminant::A => "A",
            Illuminant::LedB3 => "LED-B3",
        }
    }
}

impl Observer {
    /// The observer for a field of that many degrees: 2 or 10.
    pub fn from_degrees(degrees: u8) -> Option<Self> {
        match degrees {
            2 => Some(Observer::Degrees2),
            10 => Some(Observer::Degrees10),
            _ => None,
        }
    }

    /// The size of its field, degrees.
    pub fn degrees(self) -> u8 {
        match self {
            Observer::Degrees2 => 2,
            Observer::Degrees10 => 10,
        }
    }
}

/// Weights of the three tristimulus values for every illuminant of one observer.
type Weights = [[Spectrum; 3]; 3];

static WEIGHTS_2_DEGREES: LazyLock<Weights> =
    LazyLock::new(|| weights_from(include_str!("data/weights_E308style_2deg_10nm_380_730.csv")));
static WEIGHTS_10_DEGREES: LazyLock<Weights> =
    LazyLock::new(|| weights_from(include_str!("data/weights_E308style_10deg_10nm_380_730.csv")));

/// The columns come in the order of `Illuminant::ALL`, X Y Z for each.
fn weights_from(text: &str) -> Weights {
    let columns = read_spectra("tristimulus weights", text).expect("the built-in weights are sound");
    std::array::from_fn(|light| std::array::from_fn(|value| columns[3 * light + value].1))
}

/// The weights of X, Y and Z: a tristimulus value is the sum of reflectance times weight.
pub(super) fn weights(illuminant: Illuminant, observer: Observer) -> &'static [Spectrum; 3] {
    let table = match observer {
        Observer::Degrees2 => &*WEIGHTS_2_DEGREES,
        Observer::Degrees10 => &*WEIGHTS_10_DEGREES,
    };
    &table[illuminant as usize]
}
