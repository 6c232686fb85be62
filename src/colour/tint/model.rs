//! What the cards would look like for an assumed tint and base, how far that is from what was measured, and how both
//! change with every unknown: A. Beer 1852 over flakes, Williams & Clapper 1953 over a solid ground (`solid`). A tint
//! and a base are taken to be as smooth along the spectrum as organic pigments and effect bases are; how smooth is an
//! assumption, tried on the invented paints. Does not know how the unknowns are found.

use super::cards::{Ground, Measured, Reading, Set};
use crate::geometry::Geometry;
use crate::interface::clear_internal_diffuse;
use crate::light::weights;
use crate::spectrum::{BANDS, Spectrum};
use crate::tristimulus::{Lab, Xyz};
use fanlap_film::maths::exp;
use fanlap_film::units::{Degrees, Fraction};

/// How sure a CIELAB coordinate is: one standard deviation. An assumption.
pub(super) const LAB_SURE: f64 = 0.2;
/// How sure a reflectance is: this share of it and this much. An assumption.
const SHARE_SURE: f64 = 0.01;
const DARK_SURE: f64 = 0.001;
/// How far a card's coats may be from those given, one standard deviation.
const COATS_SURE: f64 = 0.3;
/// Highest absorption of one coat.
const MOST_DEPTH: f64 = 20.0;
/// How far a deduced base may go on the scale of `Base::Deduced`.
const MOST_LOGIT: f64 = 12.0;
/// Change of depth by which a solid ground's slope is taken.
const SMALL_DEPTH: f64 = 1e-3;

/// The absorption of one coat whose highest band is about `USUAL_DEPTH`; stronger and weaker ones in proportion. Chosen
/// on simulated cards of the invented paints, so that neither bends more than it must nor hides a band
/// (`tests/colour_tint.rs`).
const TINT: Smoothness = Smoothness { bend: 0.1, rise: 0.08, size: Some(0.5) };
/// The z of a base, chosen likewise.
const BASE: Smoothness = Smoothness { bend: 0.1, rise: 0.1, size: None };
/// The highest band of a usual tint.
pub(super) const USUAL_DEPTH: f64 = 0.6;
/// By how much a tint's strength may differ from the usual before its smoothness no longer follows.
const STRENGTHS: (f64, f64) = (0.1, 20.0);

/// How much a spectrum may bend (second difference) and rise (first difference) from band to band, and if it matters
/// how large it may be, each as one standard deviation.
pub(super) struct Smoothness {
    pub bend: f64,
    pub rise: f64,
    pub size: Option<f64>,
}

/// The base at one angle.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Base {
    /// Its reflectance factor.
    Known(Spectrum),
    /// To be found as z with R = ceiling / (1 + exp(-z)), from a start.
    Deduced { ceiling: f64, start: Spectrum },
}

/// One angle at which the cards were measured.
pub(super) struct Angle {
    pub aspecular: Degrees,
    pub geometry: Geometry,
    pub base: Base,
}

/// One reading with its card's and its angle's place.
struct Sighting<'a> {
    card: usize,
    angle: usize,
    reading: &'a Reading,
}

/// A set of cards as a function of the unknowns: absorption of a coat band by band, z of every deduced base band by
/// band, and if they are not taken as given the coats of every tinted card.
pub(super) struct Model<'a> {
    ground: Ground,
    sightings: Vec<Sighting<'a>>,
    angles: Vec<Angle>,
    /// Where the z of an angle begin.
    bases: Vec<Option<usize>>,
    /// The coats as given.
    given: Vec<f64>,
    /// Where the coats of a card are.
    coats: Vec<Option<usize>>,
    unknowns: usize,
    tint: Smoothness,
}

/// A card through its clear, and how it changes with the depth (coats times absorption of one) and the base.
struct Seen {
    reflectance: Spectrum,
    by_depth: Spectrum,
    by_base: Spectrum,
}

impl<'a> Model<'a> {
    /// The model of a set; `unequal` lets the coats go. `highest` is the highest band of the tint, as far as it is
    /// known.
    pub fn new(set: &Set<'a>, angles: Vec<Angle>, unequal: bool, highest: f64) -> Self {
        let mut unknowns = BANDS;
        let mut next = |needed: bool, count: usize| {
            let place = needed.then_some(unknowns);
            unknowns += if needed { count } else { 0 };
            place
        };
        let bases = angles.iter().map(|angle| next(matches!(angle.base, Base::Deduced { .. }), BANDS)).collect();
        let coats = set.cards.iter().map(|card| next(unequal && card.coats > 0.0, 1)).collect();
        let place = |aspecular| angles.iter().position(|angle| angle.aspecular == aspecular).unwrap_or(0);
        let sighting = |(card, reading): (usize, &'a Reading)| {
            let angle = place(reading.viewing.aspecular);
            Sighting { card, angle, reading }
        };
        let sightings = set.readings().map(sighting).collect();
        let given = set.cards.iter().map(|card| card.coats).collect();
        let tint = TINT.times((highest / USUAL_DEPTH).clamp(STRENGTHS.0, STRENGTHS.1));
        Self { ground: set.ground, sightings, angles, bases, given, coats, unknowns, tint }
    }

    /// Where to start with that absorption of a coat.
    pub fn start(&self, tint: &Spectrum) -> Vec<f64> {
        let mut x = tint.0.to_vec();
        for angle in &self.angles {
            if let Base::Deduced { start, .. } = &angle.base {
                x.extend(start.0);
            }
        }
        x.extend((0..self.given.len()).filter(|card| self.coats[*card].is_some()).map(|card| self.given[card]));
        x
    }

    /// The least and the most of every unknown.
    pub fn bounds(&self) -> Vec<(f64, f64)> {
        let mut bounds = vec![(-MOST_LOGIT, MOST_LOGIT); self.unknowns];
        bounds[..BANDS].fill((0.0, MOST_DEPTH));
        for (card, place) in self.coats.iter().enumerate() {
            if let Some(place) = place {
                bounds[*place] = (0.2 * self.given[card], 3.0 * self.given[card]);
            }
        }
        bounds
    }

    /// The absorption of one coat.
    pub fn tint(&self, x: &[f64]) -> Spectrum {
        spectrum_at(x, 0)
    }

    /// The base at an angle.
    pub fn base(&self, x: &[f64], angle: usize) -> Spectrum {
        match (&self.angles[angle].base, self.bases[angle]) {
            (Base::Deduced { ceiling, .. }, Some(place)) => {
                Spectrum(spectrum_at(x, place).0.map(|z| ceiling * logistic(z)))
            }
            (Base::Known(base), _) => *base,
            (Base::Deduced { .. }, None) => unreachable!("a deduced base has its place"),
        }
    }

    /// The coats of a card.
    pub fn coats(&self, x: &[f64], card: usize) -> f64 {
        self.coats[card].map_or(self.given[card], |place| x[place])
    }

    /// What every reading would be: card, reading, fitted reflectance.
    pub fn fitted(&self, x: &[f64]) -> Vec<(usize, &'a Reading, Spectrum)> {
        self.sightings.iter().map(|s| (s.card, s.reading, self.seen(x, s).reflectance)).collect()
    }

    /// A card at an angle and all its slopes.
    fn seen(&self, x: &[f64], sighting: &Sighting) -> Seen {
        let (coats, base) = (self.coats(x, sighting.card), self.base(x, sighting.angle));
        let geometry = &self.angles[sighting.angle].geometry;
        let mut seen = Seen { reflectance: base, by_depth: base, by_base: base };
        for band in 0..BANDS {
            let (reflectance, by_depth, by_base) = match self.ground {
                Ground::Effect => over_flakes(base.0[band], coats * x[band], geometry.path_factor()),
                Ground::Solid => over_solid(base.0[band], coats * x[band], geometry),
            };
            (seen.reflectance.0[band], seen.by_depth.0[band], seen.by_base.0[band]) = (reflectance, by_depth, by_base);
        }
        seen
    }

    /// How far everything is from where it should be, in standard deviations: readings, smoothness, coats.
    pub fn residuals(&self, x: &[f64]) -> Vec<f64> {
        let mut rows = Vec::new();
        for sighting in &self.sightings {
            let seen = self.seen(x, sighting).reflectance;
            rows.extend(off(sighting.reading, &seen));
        }
        self.tint.rows(&x[..BANDS], &mut rows);
        self.bases.iter().flatten().for_each(|place| BASE.rows(&x[*place..*place + BANDS], &mut rows));
        let free = self.coats.iter().enumerate().filter_map(|(card, place)| place.map(|place| (card, place)));
        rows.extend(free.map(|(card, place)| (x[place] - self.given[card]) / COATS_SURE));
        rows
    }

    /// How every residual changes with every unknown.
    pub fn slopes(&self, x: &[f64]) -> Vec<Vec<f64>> {
        let mut slopes = vec![Vec::new(); self.unknowns];
        let mut row = 0;
        for sighting in &self.sightings {
            let seen = self.seen(x, sighting);
            for by_band in off_by_band(sighting.reading, &seen.reflectance) {
                row += 1;
                slopes.iter_mut().for_each(|slope| slope.resize(row, 0.0));
                self.reading_slopes(x, (sighting, &seen), &by_band, &mut slopes);
            }
        }
        self.tint.slopes(0, &mut slopes);
        self.bases.iter().flatten().for_each(|place| BASE.slopes(*place, &mut slopes));
        for place in self.coats.iter().flatten() {
            slopes.iter_mut().for_each(|slope| slope.push(0.0));
            *slopes[*place].last_mut().expect("just pushed") = 1.0 / COATS_SURE;
        }
        slopes
    }

    /// Into the last row: one number that changes with the reflectances by `by_band`.
    fn reading_slopes(
        &self,
        x: &[f64],
        (sighting, seen): (&Sighting, &Seen),
        by_band: &Spectrum,
        slopes: &mut [Vec<f64>],
    ) {
        let coats = self.coats(x, sighting.card);
        let mut add = |unknown: usize, slope: f64| *slopes[unknown].last_mut().expect("a row is there") += slope;
        for band in (0..BANDS).filter(|band| by_band.0[*band] != 0.0) {
            let by_depth = by_band.0[band] * seen.by_depth.0[band];
            add(band, by_depth * coats);
            if let Some(place) = self.coats[sighting.card] {
                add(place, by_depth * x[band]);
            }
            let deduced = (self.bases[sighting.angle], &self.angles[sighting.angle].base);
            if let (Some(place), Base::Deduced { ceiling, .. }) = deduced {
                let share = logistic(x[place + band]);
                add(place + band, by_band.0[band] * seen.by_base.0[band] * ceiling * share * (1.0 - share));
            }
        }
    }
}

/// A reading's residuals, in standard deviations.
fn off(reading: &Reading, seen: &Spectrum) -> Vec<f64> {
    match &reading.measured {
        Measured::Spectrum(measured) => {
            (0..BANDS).map(|band| (seen.0[band] - measured.0[band]) / sure(measured.0[band])).collect()
        }
        Measured::Lab(measured) => {
            let lab = Lab::of(seen, reading.viewing.illuminant, reading.viewing.observer);
            [lab.l - measured.l, lab.a - measured.a, lab.b - measured.b].map(|off| off / LAB_SURE).to_vec()
        }
    }
}

/// How each of a reading's residuals changes with the reflectance of every band.
fn off_by_band(reading: &Reading, seen: &Spectrum) -> Vec<Spectrum> {
    let of_band = |at: usize, slope: f64| Spectrum(std::array::from_fn(|band| if band == at { slope } else { 0.0 }));
    match &reading.measured {
        Measured::Spectrum(measured) => (0..BANDS).map(|band| of_band(band, 1.0 / sure(measured.0[band]))).collect(),
        Measured::Lab(_) => {
            let (light, eye) = (reading.viewing.illuminant, reading.viewing.observer);
            let slopes = Lab::slopes(Xyz::of(seen, light, eye), Xyz::white(light, eye));
            let [x, y, z] = weights(light, eye);
            let row = |s: [f64; 3], band: usize| (s[0] * x.0[band] + s[1] * y.0[band] + s[2] * z.0[band]) / LAB_SURE;
            slopes.map(|s| Spectrum(std::array::from_fn(|band| row(s, band)))).to_vec()
        }
    }
}

/// One standard deviation of a measured reflectance.
fn sure(reflectance: f64) -> f64 {
    SHARE_SURE * reflectance.max(0.0) + DARK_SURE
}

/// The reflectance over flakes, and its slopes by depth and by the base.
fn over_flakes(base: f64, depth: f64, path: f64) -> (f64, f64, f64) {
    let through = exp(-depth * path);
    (base * through, -path * base * through, through)
}

/// The same over a solid ground, as `Solid::under` computes it.
fn over_solid(base: f64, depth: f64, geometry: &Geometry) -> (f64, f64, f64) {
    let (exchanged, path) = (geometry.exchanged().0, geometry.path_factor());
    let below = exchanged + base * clear_internal_diffuse(Fraction(1.0)).0;
    let inside = base / below;
    let at = |depth: f64| {
        let mirrored = clear_internal_diffuse(Fraction(exp(-depth))).0;
        (exchanged * inside * exp(-depth * path) / (1.0 - inside * mirrored), 1.0 / (1.0 - inside * mirrored))
    };
    let (reflectance, rounds) = at(depth);
    let low = (depth - SMALL_DEPTH).max(0.0);
    let by_depth = (at(depth + SMALL_DEPTH).0 - at(low).0) / (depth + SMALL_DEPTH - low);
    let by_inside = exchanged * exp(-depth * path) * rounds * rounds;
    (reflectance, by_depth, by_inside * exchanged / (below * below))
}

pub(super) fn logistic(z: f64) -> f64 {
    1.0 / (1.0 + exp(-z))
}

/// The spectrum that begins at a place among the unknowns.
fn spectrum_at(x: &[f64], place: usize) -> Spectrum {
    Spectrum(std::array::from_fn(|band| x[place + band]))
}

impl Smoothness {
    /// The same of spectra so many times as large.
    fn times(&self, factor: f64) -> Self {
        Self { bend: self.bend * factor, rise: self.rise * factor, size: self.size.map(|size| size * factor) }
    }

    /// Second and first differences and if it matters the size, in standard deviations.
    pub fn rows(&self, spectrum: &[f64], rows: &mut Vec<f64>) {
        rows.extend(spectrum.windows(3).map(|w| (w[0] - 2.0 * w[1] + w[2]) / self.bend));
        rows.extend(spectrum.windows(2).map(|w| (w[1] - w[0]) / self.rise));
        rows.extend(self.size.iter().flat_map(|size| spectrum.iter().map(move |value| value / size)));
    }

    /// The slopes of those rows by the spectrum that begins at `place`; nothing else changes them.
    pub fn slopes(&self, place: usize, slopes: &mut [Vec<f64>]) {
        let (bend, rise) = (1.0 / self.bend, 1.0 / self.rise);
        let mut patterns = vec![vec![bend, -2.0 * bend, bend], vec![-rise, rise]];
        patterns.extend(self.size.map(|size| vec![1.0 / size]));
        for pattern in patterns {
            for first in 0..=BANDS - pattern.len() {
                slopes.iter_mut().for_each(|slope| slope.push(0.0));
                for (step, value) in pattern.iter().enumerate() {
                    *slopes[place + first + step].last_mut().expect("just pushed") = *value;
                }
            }
        }
    }
}
