//! From film to colour: spectra, the light and the eye, colour differences, the way of light through a tinted clear
//! and through films that scatter, and what a screen can show of it. Sources are named in each file. Does not know how
//! the film got there.
//!
//! ```
//! use fanlap_colour::{Illuminant, Observer, ScreenSpace, Track, Viewing, demonstration};
//! use fanlap_film::units::{Degrees, Micrometres};
//!
//! let paint = demonstration::kelp();
//! let viewing = Viewing { illuminant: Illuminant::D65, observer: Observer::Degrees10, aspecular: Degrees(45.0), surround_gloss: 0.0 };
//! let ground = paint.ground_at(viewing.aspecular).unwrap();
//! let track = Track::new(ground, &paint.absorption, &viewing, ScreenSpace::Srgb, Micrometres(80.0));
//!
//! let target = track.lab(Micrometres(35.0));
//! let (low, high) = track.film_window(target, 1.0).unwrap(); // the films that differ by less than 1 in CIEDE2000
//! assert!(low.0 > 33.0 && high.0 < 37.0);
//! ```

mod base;
pub mod demonstration;
mod difference;
pub mod eye;
mod film;
mod flop;
mod gamut;
mod geometry;
mod interface;
mod layer;
mod light;
pub mod maps;
mod screen;
mod solid;
mod spectrum;
mod table;
pub mod tint;
mod track;
mod tristimulus;

pub use base::{Base, BaseCoat, TintedClear};
pub use difference::delta_e00;
pub use film::{through_tint, through_tints};
pub use flop::flop_index;
pub use gamut::{OkLab, into_gamut};
pub use geometry::{ANGLES, Geometry, REFRACTIVE_INDEX, fresnel};
pub use interface::{Gloss, Saunderson, Surface, clear_internal_diffuse};
pub use layer::{CARD, HIDDEN, Hiding, Layer, Scattering, thick_film};
pub use light::{Illuminant, Observer};
pub use screen::{Screen, ScreenSpace, Shown, encode, encode_8_bit};
pub use solid::{STICKER, Solid, sticker, through_tint_over_solid};
pub use spectrum::{BANDS, Spectrum, wavelength};
pub use table::read_spectra;
pub use track::{STEP, Track, Viewing};
pub use tristimulus::{Lab, Xyz};
