//! The way a paint's colour takes as its film grows: one table per angle, light and observer, every quarter micrometre,
//! read by straight lines between (the error in CIEDE2000 is below 0.002 for our paints, `tests/colour_track.rs`, and
//! over a solid ground below 0.003 from 5 um on and below 0.03 under the first trace: `tests/colour_optics.rs`).
//! Answers both ways: the colour of a film and the film of a colour. Does not know where on the panel the film lies.

use super::base::{Base, TintedClear};
use super::difference::delta_e00;
use super::geometry::Geometry;
use super::light::{Illuminant, Observer};
use super::screen::{Screen, ScreenSpace};
use super::spectrum::Spectrum;
use super::tristimulus::Lab;
use fanlap_film::maths::lowest;
use fanlap_film::units::{Degrees, Micrometres};

/// The step of the table.
pub const STEP: Micrometres = Micrometres(0.25);

/// How a panel is looked at: the light, the eye, and the aspecular angle under light at 45 degrees.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Viewing {
    /// The light.
    pub illuminant: Illuminant,
    /// The eye, for CIELAB; a screen always goes by the 2 degree observer.
    pub observer: Observer,
    /// The aspecular angle.
    pub aspecular: Degrees,
    /// How bright a surround the gloss mirrors, against a white card in the same light: 0 leaves the gloss out, 1 is a
    /// white room. Changes what is shown and what is seen, never CIELAB.
    pub surround_gloss: f64,
}

/// Colour against film for one paint and one way of looking at it.
#[derive(Debug, Clone)]
pub struct Track {
    lab: Vec<[f64; 3]>,
    screen: Vec<[f64; 3]>,
    slope: Vec<[f64; 1]>,
    first_mapped: Option<Micrometres>,
    exposure: f64,
}

impl Track {
    /// The track of a tint over an effect base (reflectance factor at this angle, under untinted clear): as `over`.
    pub fn new(
        base: &Spectrum,
        absorption: &Spectrum,
        viewing: &Viewing,
        space: ScreenSpace,
        film_max: Micrometres,
    ) -> Self {
        Self::over(Base::Effect(base), absorption, viewing, space, film_max)
    }

    /// The track of a tinted clear over a base, from no film to at least `film_max`.
    pub fn over(
        base: Base,
        clear: impl Into<TintedClear>,
        viewing: &Viewing,
        space: ScreenSpace,
        film_max: Micrometres,
    ) -> Self {
        Self::exposed(base, clear, viewing, space, film_max, 1.0)
    }

    /// The same with screen colours multiplied by no more than `most`: tracks that are shown side by side share the least
    /// of their exposures.
    pub fn exposed(
        base: Base,
        clear: impl Into<TintedClear>,
        viewing: &Viewing,
        space: ScreenSpace,
        film_max: Micrometres,
        most: f64,
    ) -> Self {
        let geometry = Geometry::new(viewing.aspecular);
        let intervals = (film_max.0 / STEP.0).ceil().max(1.0) as usize;
        let clear = clear.into();
        let seen = |i| base.through(clear, film_at(i as f64), &geometry);
        let reflectances: Vec<Spectrum> = (0..=intervals).map(seen).collect();
        let colours: Vec<Lab> = reflectances.iter().map(|r| Lab::of(r, viewing.illuminant, viewing.observer)).collect();

        let screen = Screen::new(space, viewing.illuminant, &geometry).with_surround(viewing.surround_gloss);
        let brightest = reflectances.iter().flat_map(|r| screen.light(r)).fold(0.0, f64::max);
        let exposure = most.min(1.0 / brightest.max(1.0));
        let shown: Vec<_> = reflectances.iter().map(|r| screen.show(r, exposure)).collect();
        Self {
            lab: colours.iter().map(|colour| [colour.l, colour.a, colour.b]).collect(),
            slope: (0..=intervals).map(|i| [slope_at(&colours, i)]).collect(),
            first_mapped: shown.iter().position(|colour| colour.mapped).map(|i| film_at(i as f64)),
            screen: shown.into_iter().map(|colour| colour.linear).collect(),
            exposure,
        }
    }

    /// CIELAB at a film, for the observer asked for and without the surface's reflection; held at the ends.
    pub fn lab(&self, film: Micrometres) -> Lab {
        let [l, a, b] = read(&self.lab, film);
        Lab { l, a, b }
    }

    /// The linear channels a screen shows at a film, 0..1, with the surround that its gloss mirrors; held at the ends.
    pub fn screen(&self, film: Micrometres) -> [f64; 3] {
        read(&self.screen, film)
    }

    /// How fast the colour changes there: CIEDE2000 per um.
    pub fn slope(&self, film: Micrometres) -> f64 {
        read(&self.slope, film)[0]
    }

    /// The thinnest film whose colour the screen cannot show as it is, if there is one.
    pub fn mapped(&self) -> Option<Micrometres> {
        self.first_mapped
    }

    /// What every screen colour was multiplied by: 1, or less where a highlight would exceed the screen.
    pub fn exposure(&self) -> f64 {
        self.exposure
    }

    /// The thickest film of the table.
    pub fn film_max(&self) -> Micrometres {
        film_at((self.lab.len() - 1) as f64)
    }

    /// The film whose colour comes nearest to a target, and how near (CIEDE2000).
    pub fn nearest_film(&self, target: Lab) -> (Micrometres, f64) {
        let off = |place: f64| delta_e00(self.lab(film_at(place)), target);
        let last = self.lab.len() - 1;
        let nearest = (0..=last).min_by(|&i, &j| off(i as f64).total_cmp(&off(j as f64))).unwrap_or(0);
        let below = lowest(nearest.saturating_sub(1) as f64, nearest as f64, 1e-10, off);
        let above = lowest(nearest as f64, (nearest + 1).min(last) as f64, 1e-10, off);
        let place = if off(below) < off(above) { below } else { above };
        (film_at(place), off(place))
    }

    /// The films around the nearest one which differ from the target by less than `limit` (CIEDE2000), thinnest and
    /// thickest; an end of the table stands for "and beyond". None if even the nearest film is too far off.
    pub fn film_window(&self, target: Lab, limit: f64) -> Option<(Micrometres, Micrometres)> {
        let (nearest, off) = self.nearest_film(target);
        if off >= limit {
            return None;
        }
        let place = nearest.0 / STEP.0;
        let within = |place: f64| delta_e00(self.lab(film_at(place)), target) < limit;
        let downwards = (0..=place.floor() as usize).rev().map(|i| i as f64);
        let upwards = (place.ceil() as usize..self.lab.len()).map(|i| i as f64);
        Some((film_at(reach(place, downwards, within)), film_at(reach(place, upwards, within))))
    }
}

fn film_at(place: f64) -> Micrometres {
    Micrometres(STEP.0 * place)
}

/// Reads a table by straight lines; held at its ends.
fn read<const N: usize>(table: &[[f64; N]], film: Micrometres) -> [f64; N] {
    let last = table.len() - 1;
    let place = film.0 / STEP.0;
    let place = if place > 0.0 { place.min(last as f64) } else { 0.0 };
    let i = (place as usize).min(last - 1);
    let part = place - i as f64;
    std::array::from_fn(|k| table[i][k] + (table[i + 1][k] - table[i][k]) * part)
}

/// CIEDE2000 per um at an entry, from its neighbours.
fn slope_at(colours: &[Lab], i: usize) -> f64 {
    let (before, after) = (i.saturating_sub(1), (i + 1).min(colours.len() - 1));
    delta_e00(colours[before], colours[after]) / (STEP.0 * (after - before) as f64)
}

/// Walks from `start` through `places` while they hold, then halves to the exact border.
fn reach(start: f64, places: impl Iterator<Item = f64>, holds: impl Fn(f64) -> bool) -> f64 {
    let mut held = start;
    for place in places {
        if !holds(place) {
            return border(held, place, holds);
        }
        held = place;
    }
    held
}

/// The place between one that holds and one that does not.
fn border(mut held: f64, mut lost: f64, holds: impl Fn(f64) -> bool) -> f64 {
    for _ in 0..40 {
        let middle = 0.5 * (held + lost);
        if holds(middle) { held = middle } else { lost = middle }
    }
    held
}
