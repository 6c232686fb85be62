//! Two paints to try everything on. INVENTED: the numbers in `assets/jobs/paints` come from the formulas in `invent.py`
//! there; nothing was measured and no real paint is meant. Does not know what a job sprays.

use super::spectrum::Spectrum;
use super::table::read_spectra;
use fanlap_film::units::Degrees;

/// An invented paint: a tinted clear over an effect base.
#[derive(Debug, Clone, PartialEq)]
pub struct Demonstration {
    /// Its name.
    pub name: &'static str,
    /// Napierian absorption of the tinted clear, 1/um of dry film.
    pub absorption: Spectrum,
    /// Reflectance factor of the base under untinted clear, by aspecular angle with light at 45 degrees.
    pub ground: Vec<(Degrees, Spectrum)>,
}

impl Demonstration {
    /// The base at an aspecular angle, if it was given there.
    pub fn ground_at(&self, aspecular: Degrees) -> Option<&Spectrum> {
        self.ground.iter().find(|(angle, _)| *angle == aspecular).map(|(_, base)| base)
    }
}

/// A transparent yellowish red over an orange-gold effect base. Invented.
pub fn ember() -> Demonstration {
    paint(
        "ember",
        include_str!("../../assets/jobs/paints/ember_absorption.csv"),
        include_str!("../../assets/jobs/paints/ember_ground.csv"),
    )
}

/// A transparent yellowish green over a pale straw-gold effect base. Invented.
pub fn kelp() -> Demonstration {
    paint(
        "kelp",
        include_str!("../../assets/jobs/paints/kelp_absorption.csv"),
        include_str!("../../assets/jobs/paints/kelp_ground.csv"),
    )
}

/// Reads the two tables of a paint.
fn paint(name: &'static str, absorption: &str, ground: &str) -> Demonstration {
    let columns = |text| read_spectra(name, text).expect("the built-in paints are sound");
    let ground = columns(ground).into_iter().map(|(column, base)| (aspecular(&column), base)).collect();
    Demonstration { name, absorption: columns(absorption)[0].1, ground }
}

/// The angle in a column's name, such as `R_as45`.
fn aspecular(column: &str) -> Degrees {
    let angle = column.strip_prefix("R_as").and_then(|digits| digits.parse().ok());
    Degrees(angle.expect("a ground's columns are named R_as and the angle"))
}
