//! What an eye makes of films: their colour against the target, the colour of a whole build-up, and whether their
//! stripes are seen, and from how far. Has never heard of jobs or passes.

mod appearance;
mod bands;
mod build_up;
mod extent;
mod looking;
mod resample;
mod sensitivity;
mod underlay;
mod visibility;

pub use appearance::{Appearance, Films, Target};
pub use bands::{BAND_GAIN, BAND_PERIOD, Bands, Raster};
pub use build_up::BuildUpColour;
pub use looking::{Looking, Mapping};
pub use sensitivity::{Mechanism, Sensitivity};
pub use underlay::{Under, Underlay};
pub use visibility::{ATTENDED, Carrier, Eye, FilmColour, Onlooker, Sighting, Visibility, cycles_per_degree};
