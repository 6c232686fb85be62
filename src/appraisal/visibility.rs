//! What an eye would see of a film map: octave bands of the film, each against the least film amplitude that is seen at
//! its frequency from where one stands ([`Sensitivity`]), joined by a 4-norm as is common for probability summation
//! (Robson & Graham 1981, Vision Research 21, 409-418; the exponent from memory). Stripes stir their neighbouring bands
//! too, so the bands are weighed such that stripes of any band's period at their threshold give 1 together. In
//! CIEDE2000 the same measure reads: colour step of the band, peak to peak, over the step that is just seen; the slope
//! of colour against film cancels.
//!
//! The film is taken as a small change of its surround, so steps of many um are sized only roughly; they are seen
//! anyway. The panel is looked at squarely, without its gloss, its texture, or what stands behind its rim.

use super::appearance::THICKEST;
use super::bands::{BAND_GAIN, Bands};
use super::sensitivity::Sensitivity;
use crate::colour::{Base, Geometry, Lab, Observer, TintedClear, Viewing, Xyz, delta_e00};
use crate::maths::{Table, atan2, pow, tan};
use crate::panel::Patch;
use crate::units::{Degrees, Metres, Micrometres, Millimetres};
use glam::DVec2;

/// Who looks. The thresholds are those of attentive observers who know what to look for and choose between two
/// pictures; how much more it takes in a workshop is a JUDGEMENT of ours, not a measurement.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Eye {
    /// The observers of the laboratory: once the threshold.
    Laboratory,
    /// A trained eye under a good lamp: twice. A judgement.
    Trained,
    /// Anyone notices: four times. A judgement.
    Anyone,
}

impl Eye {
    /// How many thresholds it takes until this eye sees it.
    pub fn multiplier(self) -> f64 {
        match self {
            Eye::Laboratory => 1.0,
            Eye::Trained => 2.0,
            Eye::Anyone => 4.0,
        }
    }
}

/// Who looks, and in what light.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Onlooker {
    /// The eye.
    pub eye: Eye,
    /// Luminance of a perfect white in the panel's place, cd/m2: illuminance in lux over pi.
    pub white: f64,
}

impl Onlooker {
    /// In a well lit workshop: white at 300 cd/m2, some 1000 lx.
    pub fn well_lit(eye: Eye) -> Self {
        Self { eye, white: 300.0 }
    }
}

/// The field that is attended to at once, square degrees: 20 by 20, as far as the measurements go. An assumption.
pub const ATTENDED: f64 = 400.0;

/// Step of the tables against film, um, up to `INTERVALS` of it.
const STEP: f64 = 0.5;
const INTERVALS: f64 = 600.0;
/// Half the film step over which colour change is taken, um.
const HALF_STEP: f64 = 0.05;

/// Colour and its change against film: all that a paint is for this measure.
#[derive(Debug, Clone)]
pub struct FilmColour {
    xyz: [Table; 3],
    change: [Table; 3],
    slope: Table,
    film_max: f64,
    intervals: usize,
}

impl FilmColour {
    /// From the XYZ of a film (2 degree observer, perfect white Y = 100) and the CIEDE2000 per um there; tabulated up
    /// to `film_max`, which should reach the thickest film, and held beyond.
    pub fn new(film_max: Micrometres, xyz: impl Fn(Micrometres) -> Xyz, slope: impl Fn(Micrometres) -> f64) -> Self {
        let film_max = film_max.0.max(STEP);
        let intervals = (film_max / STEP).ceil().min(INTERVALS) as usize;
        let step = film_max / intervals as f64;
        let films = || (0..=intervals).map(|i| step * i as f64);
        let at = |film: f64| {
            let Xyz { x, y, z } = xyz(Micrometres(film));
            [x, y, z]
        };
        let change = |film: f64| {
            let (thin, thick) = around(film);
            let (less, more) = (at(thin), at(thick));
            std::array::from_fn(|i| (more[i] - less[i]) / (thick - thin))
        };
        let tables = |of: &dyn Fn(f64) -> [f64; 3]| {
            let values: Vec<[f64; 3]> = films().map(of).collect();
            std::array::from_fn(|i| Table::from_values(0.0, step, values.iter().map(|value| value[i]).collect()))
        };
        let slopes = films().map(|film| slope(Micrometres(film))).collect();
        Self {
            xyz: tables(&at),
            change: tables(&change),
            slope: Table::from_values(0.0, step, slopes),
            film_max,
            intervals,
        }
    }

    /// Of a tint with this napierian absorption (1/um) over a ground, in that light and at that angle. CIEDE2000 goes
    /// by the observer asked for, the eye itself by the one of 2 degrees.
    pub fn over(ground: Base, clear: impl Into<TintedClear>, viewing: &Viewing, film_max: Micrometres) -> Self {
        let clear = clear.into();
        let geometry = Geometry::new(viewing.aspecular);
        let seen = |film| ground.through(clear, film, &geometry);
        let lab = |film| Lab::of(&seen(Micrometres(film)), viewing.illuminant, viewing.observer);
        let slope = |film: Micrometres| {
            let (thin, thick) = around(film.0);
            delta_e00(lab(thin), lab(thick)) / (thick - thin)
        };
        let xyz = |film| Xyz::of(&seen(film), viewing.illuminant, Observer::Degrees2);
        Self::new(Micrometres(film_max.0.min(THICKEST.0)), xyz, slope)
    }

    /// CIEDE2000 per um at a film.
    pub fn slope(&self, film: Micrometres) -> f64 {
        self.slope.at(film.0)
    }

    /// The least film amplitude, um to either side of `film`, of stripes that this onlooker sees, over an attended
    /// area in square degrees. Infinite where film does not change the colour.
    pub fn threshold(&self, film: Micrometres, onlooker: &Onlooker, cycles_per_degree: f64, area: f64) -> f64 {
        let lit = |tables: &[Table; 3]| {
            let [x, y, z] = tables.each_ref().map(|table| table.at(film.0) * onlooker.white / 100.0);
            Xyz { x, y, z }
        };
        let bare = Sensitivity::threshold(lit(&self.xyz), lit(&self.change), cycles_per_degree, area);
        onlooker.eye.multiplier() * bare
    }

    /// The least film amplitude of stripes of a period that this onlooker sees from a distance, on a panel that fills
    /// the attended field.
    pub fn stripe_threshold(
        &self,
        film: Micrometres,
        onlooker: &Onlooker,
        period: Millimetres,
        distance: Metres,
    ) -> Micrometres {
        Micrometres(self.threshold(film, onlooker, cycles_per_degree(period, distance), ATTENDED))
    }
}

/// The films between which change is taken, um.
fn around(film: f64) -> (f64, f64) {
    ((film - HALF_STEP).max(0.0), film + HALF_STEP)
}

/// How many stripes of a period lie in one degree, seen from a distance.
///
/// ```
/// use fanlap::{appraisal::cycles_per_degree, units::{Metres, Millimetres}};
/// assert!((cycles_per_degree(Millimetres(125.0), Metres(1.0)) - 0.139641).abs() < 1e-6);
/// ```
pub fn cycles_per_degree(period: Millimetres, distance: Metres) -> f64 {
    1000.0 * distance.0 * tan(Degrees(1.0).radians()) / period.0
}

/// What is seen at one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sighting {
    /// How many times over it is seen: 1 and more is seen.
    pub times: f64,
    /// Period of the band that shows the most.
    pub period: Millimetres,
    /// Film amplitude of that band, um, above 0 where the cell has more film than its surround.
    pub amplitude: Micrometres,
    /// Its colour step, peak to peak, CIEDE2000.
    pub delta_e00: f64,
}

/// What an onlooker would see of one film map. The bands are computed once; every distance is then cheap.
#[derive(Debug, Clone)]
pub struct Visibility {
    bands: Bands,
    colour: FilmColour,
    onlooker: Onlooker,
    size: DVec2,
    cells: usize,
    /// Fourth power of what each band answers to stripes of each band's period.
    answers: Vec<Vec<f64>>,
}

impl Visibility {
    /// Of the film (um) over the cells of a patch.
    pub fn of(patch: &Patch, film: &[f64], colour: FilmColour, onlooker: Onlooker) -> Self {
        let size = patch.area().most - patch.area().least;
        let bands = Bands::of(patch, film);
        let to_stripes = |k| (0..bands.count()).map(|j| fourth(bands.answer(j, bands.period(k)))).collect();
        let answers = (0..bands.count()).map(to_stripes).collect();
        Self { bands, colour, onlooker, size, cells: film.len(), answers }
    }

    /// The bands it is made of.
    pub fn bands(&self) -> &Bands {
        &self.bands
    }

    /// How many times over each cell is seen from a distance: 1 and more is seen.
    pub fn map(&self, distance: Metres) -> Vec<f64> {
        let mut sum = vec![0.0; self.cells];
        for (band, keenness) in self.tables(distance).iter().enumerate() {
            for (cell, sum) in sum.iter_mut().enumerate() {
                *sum += fourth(self.amplitude(band, cell) * keenness.at(self.bands.surround(band, cell)));
            }
        }
        sum.into_iter().map(fourth_root).collect()
    }

    /// What is seen at one cell from a distance; none where the panel is too small for any band.
    pub fn at(&self, cell: usize, distance: Metres) -> Option<Sighting> {
        let in_band = |band| {
            let keenness = self.keenness(self.bands.surround(band, cell), distance)[band];
            self.amplitude(band, cell).abs() * keenness
        };
        let times: Vec<f64> = (0..self.bands.count()).map(in_band).collect();
        let strongest = (0..times.len()).max_by(|a, b| times[*a].total_cmp(&times[*b]))?;
        let amplitude = self.amplitude(strongest, cell);
        let slope = self.colour.slope(Micrometres(self.bands.surround(strongest, cell)));
        Some(Sighting {
            times: fourth_root(times.into_iter().map(fourth).sum()),
            period: self.bands.period(strongest),
            amplitude: Micrometres(amplitude),
            delta_e00: 2.0 * amplitude.abs() * slope,
        })
    }

    /// The greatest distance within a range from which a cell is seen; none if it is seen from nowhere in it. The
    /// range is searched in steps of a fiftieth of its ratio, so a view that opens and closes within one may be missed.
    pub fn seen_from(&self, cell: usize, nearest: Metres, farthest: Metres) -> Option<Metres> {
        const STEPS: usize = 50;
        let place = |step: f64| Metres(nearest.0 * pow(farthest.0 / nearest.0, step / STEPS as f64));
        let seen = |step: f64| self.at(cell, place(step)).is_some_and(|sighting| sighting.times >= 1.0);
        let last = (0..=STEPS).rev().find(|step| seen(*step as f64))?;
        if last == STEPS {
            return Some(farthest);
        }
        let (mut held, mut lost) = (last as f64, last as f64 + 1.0);
        for _ in 0..25 {
            let middle = 0.5 * (held + lost);
            if seen(middle) { held = middle } else { lost = middle }
        }
        Some(place(held))
    }

    /// The area attended to from a distance, square degrees: no more than the panel fills.
    pub fn attended(&self, distance: Metres) -> f64 {
        let angle = |side: f64| 2.0 * atan2(side / 2.0, 1000.0 * distance.0) * (180.0 / std::f64::consts::PI);
        (angle(self.size.x) * angle(self.size.y)).min(ATTENDED)
    }

    /// Amplitude of the stripes, um, that would give what a band holds at a cell.
    #[inline]
    fn amplitude(&self, band: usize, cell: usize) -> f64 {
        self.bands.value(band, cell) / BAND_GAIN
    }

    /// What each band weighs, 1/um, around a film.
    fn keenness(&self, film: f64, distance: Metres) -> Vec<f64> {
        let area = self.attended(distance);
        let alone = |band| {
            let frequency = cycles_per_degree(self.bands.period(band), distance);
            1.0 / self.colour.threshold(Micrometres(film), &self.onlooker, frequency, area)
        };
        shared(&(0..self.bands.count()).map(alone).collect::<Vec<f64>>(), &self.answers)
    }

    /// The same against film, a table for each band.
    fn tables(&self, distance: Metres) -> Vec<Table> {
        let step = self.colour.film_max / self.colour.intervals as f64;
        let films = (0..=self.colour.intervals).map(|i| step * i as f64);
        let keenness: Vec<Vec<f64>> = films.map(|film| self.keenness(film, distance)).collect();
        let of_band = |band| keenness.iter().map(|bands: &Vec<f64>| bands[band]).collect();
        (0..self.bands.count()).map(|band| Table::from_values(0.0, step, of_band(band))).collect()
    }
}

/// What bands must weigh so that stripes of each band's period, which stir their neighbours too, come to what is given
/// for them: a small system in fourth powers, solved from the finest on (Gauss & Seidel). A band whose stripes the
/// others overdo weighs nothing.
fn shared(alone: &[f64], answers: &[Vec<f64>]) -> Vec<f64> {
    let mut weights: Vec<f64> = alone.iter().map(|weight| fourth(*weight)).collect();
    for _ in 0..8 {
        for (k, answer) in answers.iter().enumerate() {
            let all: f64 = answer.iter().zip(&weights).map(|(answer, weight)| answer * weight).sum();
            weights[k] = (fourth(alone[k]) - (all - answer[k] * weights[k])).max(0.0);
        }
    }
    weights.into_iter().map(fourth_root).collect()
}

fn fourth(value: f64) -> f64 {
    (value * value) * (value * value)
}

fn fourth_root(value: f64) -> f64 {
    value.sqrt().sqrt()
}
