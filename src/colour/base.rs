//! What lies under a tinted clear and how it looks through it: effect bases by Beer and Lambert (`film`), solid ones by
//! Williams and Clapper (`solid`), a clear that scatters a little by Kubelka's layer (`layer`), and a base coat that
//! does not hide yet. The joining of those laws is our own and marked below. Does not know where the films lie.

use super::film::through_tint;
use super::geometry::Geometry;
use super::interface::{Gloss, Saunderson};
use super::layer::{Layer, Scattering};
use super::light::{Illuminant, Observer};
use super::solid::Solid;
use super::spectrum::Spectrum;
use fanlap_film::units::Micrometres;

/// A tinted clear by what each um of its dry film does to light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct TintedClear {
    /// Napierian absorption, 1/um.
    pub absorption: Spectrum,
    /// Scatter of diffuse light, 1/um, alike in all bands; 0 for a transparent tint.
    pub scatter: f64,
}

impl From<&Spectrum> for TintedClear {
    /// A tint that does not scatter.
    fn from(absorption: &Spectrum) -> Self {
        Self { absorption: *absorption, scatter: 0.0 }
    }
}

/// What lies under the tinted clear, by its reflectance factor under untinted clear.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Base<'a> {
    /// Flakes: measured at the angle it is looked at.
    Effect(&'a Spectrum),
    /// Without flakes: measured at 45:0, gloss excluded; taken as evenly diffuse at every other angle.
    Solid(&'a Spectrum),
}

impl Base<'_> {
    /// The reflectance through a film of a tinted clear.
    ///
    /// A clear that scatters changes it as Kubelka's layer with K = 2a does against the same layer without scatter. Over
    /// an effect base the base's light loses what the layer scatters out of it, twice, and the layer's own diffuse light
    /// comes on top; over a solid one the difference of the two layers on that ground comes on top. Both ways meet the
    /// laws of a transparent tint where the scatter is 0.
    pub fn through(&self, clear: impl Into<TintedClear>, film: Micrometres, geometry: &Geometry) -> Spectrum {
        let clear = clear.into();
        let transparent = self.through_transparent(&clear.absorption, film, geometry);
        if clear.scatter == 0.0 {
            return transparent;
        }
        let surface = Saunderson::clear();
        let ground = match self {
            Base::Effect(_) => Spectrum::constant(0.0),
            Base::Solid(seen) => Solid::measured(seen, &Geometry::STRAIGHT_ON).0,
        };
        Spectrum(std::array::from_fn(|band| {
            let absorbed = 2.0 * clear.absorption.0[band];
            let (hazy, plain) = (Layer::new(absorbed, clear.scatter, film), Layer::new(absorbed, 0.0, film));
            let seen = |layer: &Layer| surface.measured(layer.over(ground.0[band]), Gloss::Excluded);
            match self {
                Base::Effect(_) => {
                    let kept = hazy.transmittance / plain.transmittance.max(f64::MIN_POSITIVE);
                    transparent.0[band] * kept * kept + seen(&hazy)
                }
                Base::Solid(_) => (transparent.0[band] + seen(&hazy) - seen(&plain)).max(0.0),
            }
        }))
    }

    fn through_transparent(&self, absorption: &Spectrum, film: Micrometres, geometry: &Geometry) -> Spectrum {
        match self {
            Base::Effect(seen) => through_tint(seen, absorption, film, geometry.path_factor()),
            Base::Solid(seen) => Solid::measured(seen, &Geometry::STRAIGHT_ON).under(&[(absorption, film)], geometry),
        }
    }

    /// The same ground at an angle, as an effect base would be measured there under untinted clear.
    fn seen_at(&self, geometry: &Geometry) -> Spectrum {
        self.through_transparent(&Spectrum::constant(0.0), Micrometres(0.0), geometry)
    }
}

/// A base coat: what each um of it hides.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct BaseCoat {
    /// What its dry film does to diffuse light.
    pub scattering: Scattering,
    /// Its reflectance inside the film where it hides.
    thick: Spectrum,
}

/// Scatter with which the hiding film is sought, 1/um: it only counts times the film.
const TRIAL_SCATTER: f64 = 0.2;
/// Film up to which it is sought, um.
const TRIAL_FILM: Micrometres = Micrometres(400.0);

impl BaseCoat {
    /// From its reflectance factor at 45:0 under untinted clear, gloss excluded, where it hides, and the dry film from
    /// which on black and white under it differ by less than `HIDDEN` (CIEDE2000, D65, 10 degrees).
    ///
    /// K/S follows from the reflectance (Kubelka & Munk 1931), S is taken alike in all bands and follows from the
    /// hiding film. For an effect base that is a measure of its hiding, not of its flakes.
    pub fn new(reflectance: &Spectrum, hides_at: Micrometres) -> Self {
        let thick = Spectrum(Solid::measured(reflectance, &Geometry::STRAIGHT_ON).0.0.map(|r| r.clamp(0.002, 0.98)));
        let per_scatter = thick.0.map(|r| (1.0 - r) * (1.0 - r) / (2.0 * r));
        let with = |scatter: f64| Scattering {
            absorption: Spectrum(per_scatter.map(|ratio| ratio * scatter)),
            scatter: Spectrum::constant(scatter),
        };
        let trial = with(TRIAL_SCATTER).hiding_film(TRIAL_FILM, Illuminant::D65, Observer::Degrees10);
        Self { scattering: with(TRIAL_SCATTER * trial.unwrap_or(TRIAL_FILM).0 / hides_at.0), thick }
    }

    /// How a film of it looks on a ground under untinted clear, in the form of `Base::Solid`: 45:0, gloss excluded.
    pub fn solid_over(&self, ground: Base, film: Micrometres) -> Spectrum {
        let inside = self.scattering.over(&Self::inside(ground), film);
        Solid(inside).under(&[], &Geometry::STRAIGHT_ON)
    }

    /// The same of an effect base in the form of `Base::Effect`: `thick` is how it is seen at the angle where it hides.
    /// What it has reached of its own diffuse reflectance it has reached of its look at every angle; what the layer lets
    /// through of the ground comes on top. Our own joining: exact for no film and for a film that hides.
    pub fn effect_over(&self, thick: &Spectrum, ground: Base, film: Micrometres, geometry: &Geometry) -> Spectrum {
        let (below, seen) = (Self::inside(ground), ground.seen_at(geometry));
        Spectrum(std::array::from_fn(|band| {
            let layer = Layer::new(self.scattering.absorption.0[band], self.scattering.scatter.0[band], film);
            let reached = layer.reflectance / self.thick.0[band];
            let through = layer.transmittance * layer.transmittance / (1.0 - layer.from_below * below.0[band]);
            reached * thick.0[band] + through * seen.0[band]
        }))
    }

    /// The diffuse reflectance of a ground in contact with a film, at most 1.
    fn inside(ground: Base) -> Spectrum {
        let (Base::Effect(seen) | Base::Solid(seen)) = ground;
        Spectrum(Solid::measured(seen, &Geometry::STRAIGHT_ON).0.0.map(|r| r.min(1.0)))
    }
}
