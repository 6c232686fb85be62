//! What an eye would see of a film map: octave bands of the film, each against the least film amplitude that is seen at
//! its frequency from where one stands ([`Sensitivity`]), joined by a 4-norm as is common for probability summation
//! (Robson & Graham 1981, Vision Research 21, 409-418; the exponent from memory). Stripes stir their neighbouring bands
//! too, so the bands are weighed such that stripes of any band's period at their threshold give 1 together. In
//! CIEDE2000 the same measure reads: colour step of the band, peak to peak, over the step that is just seen; the slope
//! of colour against film cancels.
//!
//! The film is taken as a small change of its surround, so steps of many um are sized only roughly; they are seen
//! anyway. A mark that fills less than the attended field is seen by its own area: a grating, a single stripe and a
//! cloud of one contrast are not alike. The panel is looked at squarely, without its texture or what stands behind its
//! rim; what its gloss mirrors veils it where the viewing says so.

use super::appearance::THICKEST;
use super::bands::{BAND_GAIN, Bands, Raster};
use super::build_up::{BuildUpColour, Swing};
use super::extent::{Extent, root_of_share};
use super::looking::{Looking, Mapping};
use super::sensitivity::{Mechanism, Pitch, Sensitivity};
use crate::{Base, Geometry, Lab, Observer, TintedClear, Viewing, Xyz, delta_e00};
use fanlap_film::maths::{Table, atan2, pow, tan};
use fanlap_film::panel::Patch;
use fanlap_film::units::{Degrees, Metres, Micrometres, Millimetres};
use std::sync::{Arc, OnceLock};

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
    /// What bands weigh, once that was asked; for the looks that ask for the same.
    keenness: Arc<OnceLock<(Asked, Arc<Vec<Keenness>>)>>,
}

/// For what bands are weighed: who looks, from where, over which area, and the bands' periods.
type Asked = (Onlooker, Metres, f64, Vec<Millimetres>);

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
            keenness: Arc::default(),
        }
    }

    /// The film up to which it is tabulated.
    pub fn film_max(&self) -> Micrometres {
        Micrometres(self.film_max)
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
        let veil = gloss(viewing, &geometry);
        let xyz = |film| {
            let bare = Xyz::of(&seen(film), viewing.illuminant, Observer::Degrees2);
            Xyz { x: bare.x + veil.x, y: bare.y + veil.y, z: bare.z + veil.z }
        };
        Self::new(Micrometres(film_max.0.min(THICKEST.0)), xyz, slope)
    }

    /// CIEDE2000 per um at a film.
    pub fn slope(&self, film: Micrometres) -> f64 {
        self.slope.at(film.0)
    }

    /// The least film amplitude, um to either side of `film`, of stripes that this onlooker sees, over an attended
    /// area in square degrees. Infinite where film does not change the colour.
    pub fn threshold(&self, film: Micrometres, onlooker: &Onlooker, cycles_per_degree: f64, area: f64) -> f64 {
        let (ground, change) = self.lit(film, onlooker);
        onlooker.eye.multiplier() * Sensitivity::threshold(ground, change, cycles_per_degree, area)
    }

    /// A film in the onlooker's light, cd/m2, and how it changes with a um more.
    fn lit(&self, film: Micrometres, onlooker: &Onlooker) -> (Xyz, Xyz) {
        let lit = |tables: &[Table; 3]| {
            let [x, y, z] = tables.each_ref().map(|table| table.at(film.0) * onlooker.white / 100.0);
            Xyz { x, y, z }
        };
        (lit(&self.xyz), lit(&self.change))
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
/// use fanlap_colour::eye::cycles_per_degree;
/// use fanlap_film::units::{Metres, Millimetres};
/// assert!((cycles_per_degree(Millimetres(125.0), Metres(1.0)) - 0.139641).abs() < 1e-6);
/// ```
pub fn cycles_per_degree(period: Millimetres, distance: Metres) -> f64 {
    1000.0 * distance.0 * tan(Degrees(1.0).radians()) / period.0
}

/// Which film makes what is seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Carrier {
    /// That of the tinted clear.
    Tinted,
    /// That of the base coat under it.
    Base,
}

/// What is seen at one cell.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Sighting {
    /// How many times over it is seen: 1 and more is seen.
    pub times: f64,
    /// Period of the band that shows the most.
    pub period: Millimetres,
    /// The film that makes the most of that band.
    pub carrier: Carrier,
    /// That film's amplitude in the band, um, above 0 where the cell has more of it than its surround.
    pub amplitude: Micrometres,
    /// The band's colour step, peak to peak, CIEDE2000.
    pub delta_e00: f64,
}

/// A place of a map: one of its cells, or one of those on which a band lies.
#[derive(Debug, Clone, Copy)]
pub(super) enum Spot {
    Cell(usize),
    Node(usize),
}

/// A map in octave bands, or one that is the same everywhere.
#[derive(Debug, Clone)]
pub(super) enum Map {
    Even(f64),
    Uneven(Bands),
}

impl Map {
    /// What it is around a place, and its amplitude there in a band.
    #[inline]
    fn at(&self, band: usize, place: Spot) -> (f64, f64) {
        match (self, place) {
            (Map::Even(value), _) => (*value, 0.0),
            (Map::Uneven(bands), Spot::Cell(cell)) => (bands.surround(band, cell), bands.value(band, cell) / BAND_GAIN),
            (Map::Uneven(bands), Spot::Node(node)) => {
                let (surround, value) = bands.node(band, node);
                (surround, value / BAND_GAIN)
            }
        }
    }
}

/// What the maps are of.
#[derive(Debug, Clone)]
pub(super) enum Matter {
    /// Film of one paint.
    Film(Arc<FilmColour>),
    /// Films of the tinted clear and of the base under it, the base's as places in its underlay.
    BuildUp { places: Map, colour: Arc<BuildUpColour> },
}

/// What an onlooker would see of one film map. The bands are computed once; every distance is then cheap.
#[derive(Debug, Clone)]
pub struct Visibility {
    pub(super) film: Map,
    pub(super) matter: Matter,
    onlooker: Onlooker,
    pub(super) raster: Raster,
    periods: Vec<Millimetres>,
    /// Fourth power of what each band answers to stripes of each band's period.
    answers: Vec<Vec<f64>>,
    /// How far the marks of each band reach.
    pub(super) extents: Vec<Extent>,
}

impl Visibility {
    /// Of the film (um) over the cells of a patch.
    pub fn of(patch: &Patch, film: &[f64], colour: FilmColour, onlooker: Onlooker) -> Self {
        Looking::at_film(Raster::of(patch), film, Arc::new(colour), onlooker).finish()
    }

    /// Of the films (um) of a tinted clear and of the base coat under it; one number where a film is even.
    pub fn of_build_up(patch: &Patch, films: (&[f64], &[f64]), colour: Arc<BuildUpColour>, onlooker: Onlooker) -> Self {
        Looking::at_build_up(Raster::of(patch), films, colour, onlooker).finish()
    }

    pub(super) fn new(raster: Raster, film: Map, matter: Matter, onlooker: Onlooker) -> Self {
        let places = if let Matter::BuildUp { places, .. } = &matter { Some(places) } else { None };
        let bands = [Some(&film), places].into_iter().flatten().find_map(Map::bands);
        let (periods, answers) = bands.map_or_else(Default::default, |bands| {
            let to_stripes = |k| (0..bands.count()).map(|j| fourth(bands.answer(j, bands.period(k)))).collect();
            let periods: Vec<Millimetres> = (0..bands.count()).map(|k| bands.period(k)).collect();
            (periods, (0..bands.count()).map(to_stripes).collect())
        });
        Self { film, matter, onlooker, raster, periods, answers, extents: Vec::new() }
    }

    /// Takes up how far the marks of one more band reach; false when all are known.
    pub(super) fn extend(&mut self) -> bool {
        let band = self.extents.len();
        let Some(period) = self.periods.get(band) else { return false };
        let extent = Extent::of(self.raster_of(band), period.0, |node| self.square(band, Spot::Node(node)));
        self.extents.push(extent);
        true
    }

    /// The cells on which a band lies.
    pub(super) fn raster_of(&self, band: usize) -> &Raster {
        let places = if let Matter::BuildUp { places, .. } = &self.matter { places.bands() } else { None };
        self.film.bands().or(places).map_or(&self.raster, |bands| bands.raster(band))
    }

    /// The bands' periods, the finest first; none on a panel too small for any.
    pub fn periods(&self) -> &[Millimetres] {
        &self.periods
    }

    /// How many times over each cell is seen from a distance: 1 and more is seen.
    pub fn map(&self, distance: Metres) -> Vec<f64> {
        let mut coming = Mapping::new(self, distance);
        while coming.step(self) {}
        coming.finish()
    }

    /// What is seen at one cell from a distance; none where the panel is too small for any band.
    pub fn at(&self, cell: usize, distance: Metres) -> Option<Sighting> {
        let times: Vec<f64> = (0..self.periods.len()).map(|band| self.in_band(band, cell, distance)).collect();
        let strongest = (0..times.len()).max_by(|a, b| times[*a].total_cmp(&times[*b]))?;
        let (carrier, amplitude, delta_e00) = self.step(strongest, cell);
        Some(Sighting {
            times: fourth_root(times.into_iter().map(fourth).sum()),
            period: self.periods[strongest],
            carrier,
            amplitude,
            delta_e00,
        })
    }

    /// How many times over one band is seen at a cell.
    fn in_band(&self, band: usize, cell: usize, distance: Metres) -> f64 {
        let mean = self.extents[band].mean(&self.raster, cell, half_field(distance));
        let share = |square: f64| {
            let root = root_of_share(mean, square);
            self.attended(distance) * root * root
        };
        match &self.matter {
            Matter::Film(colour) => {
                let (film, amplitude) = self.film.at(band, Spot::Cell(cell));
                let keenness = self.film_keenness(colour, film, distance, share(amplitude * amplitude));
                amplitude.abs() * keenness[band]
            }
            Matter::BuildUp { .. } => {
                let (luminance, contrast) = self.contrast(band, Spot::Cell(cell));
                let area = share(weighed(&contrast));
                let part = |i: usize| contrast[i] * self.mechanism_keenness(i, luminance, distance, area)[band];
                let parts = [part(0), part(1), part(2)];
                parts.iter().map(|part| part * part).sum::<f64>().sqrt()
            }
        }
    }

    /// Which film makes a band at a cell, its amplitude there, and CIEDE2000 from trough to crest.
    fn step(&self, band: usize, cell: usize) -> (Carrier, Micrometres, f64) {
        let cell = Spot::Cell(cell);
        let (film, amplitude) = self.film.at(band, cell);
        match &self.matter {
            Matter::Film(colour) => {
                (Carrier::Tinted, Micrometres(amplitude), 2.0 * amplitude.abs() * colour.slope(Micrometres(film)))
            }
            Matter::BuildUp { places, colour } => {
                let swing = Swing { film: (film, amplitude), place: places.at(band, cell) };
                let alone = |base| weighed(&colour.contrast(&swing.only(base), &self.onlooker).1);
                let (carrier, amplitude) = if alone(true) > alone(false) {
                    (Carrier::Base, colour.base_amplitude(&swing))
                } else {
                    (Carrier::Tinted, Micrometres(amplitude))
                };
                (carrier, amplitude, colour.delta_e00(&swing))
            }
        }
    }

    /// The film around a place and a band's amplitude there.
    #[inline]
    pub(super) fn amplitude(&self, band: usize, place: Spot) -> (f64, f64) {
        self.film.at(band, place)
    }

    /// Luminance around a place, and a band's contrast in each mechanism there.
    #[inline]
    pub(super) fn contrast(&self, band: usize, cell: Spot) -> (f64, [f64; 3]) {
        match &self.matter {
            Matter::Film(_) => (0.0, [0.0; 3]),
            Matter::BuildUp { places, colour } => {
                let swing = Swing { film: self.film.at(band, cell), place: places.at(band, cell) };
                colour.contrast(&swing, &self.onlooker)
            }
        }
    }

    /// How strong a band is at a place, squared, in a measure of its own.
    fn square(&self, band: usize, cell: Spot) -> f64 {
        match &self.matter {
            Matter::Film(_) => {
                let (_, amplitude) = self.film.at(band, cell);
                amplitude * amplitude
            }
            Matter::BuildUp { .. } => weighed(&self.contrast(band, cell).1),
        }
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

    /// The area attended to from a distance, square degrees: no more than the panel fills. A mark that fills less of it
    /// is attended to alone.
    pub fn attended(&self, distance: Metres) -> f64 {
        let angle = |side: f64| 2.0 * atan2(side / 2.0, 1000.0 * distance.0) * (180.0 / std::f64::consts::PI);
        let [along, across] = self.raster.size();
        (angle(along) * angle(across)).min(ATTENDED)
    }

    /// The bands' frequencies from a distance.
    fn pitches(&self, distance: Metres) -> Vec<Pitch> {
        self.periods.iter().map(|period| Pitch::of(cycles_per_degree(*period, distance))).collect()
    }

    /// What an area in square degrees makes of each mechanism, band by band.
    fn areas(pitches: &[Pitch], area: f64) -> Vec<[f64; 3]> {
        let of = |pitch: &Pitch| Mechanism::ALL.map(|mechanism| mechanism.over_area(pitch.cycles, area));
        pitches.iter().map(of).collect()
    }

    /// What each band stirs in each mechanism, 1/um, around a film, not yet limited by an area.
    fn stirred(&self, colour: &FilmColour, film: f64, pitches: &[Pitch]) -> Vec<[f64; 3]> {
        let (ground, change) = colour.lit(Micrometres(film), &self.onlooker);
        let (luminance, contrasts) = Sensitivity::contrasts(ground, change);
        if luminance <= 0.0 {
            return vec![[0.0; 3]; pitches.len()];
        }
        let lit = Mechanism::ALL.map(|mechanism| mechanism.lit(luminance));
        pitches.iter().map(|pitch| std::array::from_fn(|i| contrasts[i] * lit[i].tuned(pitch))).collect()
    }

    /// What each band weighs where it stirs so much.
    fn weights(&self, stirred: &[[f64; 3]], areas: &[[f64; 3]]) -> Vec<f64> {
        let alone = |(stirred, area): (&[f64; 3], &[f64; 3])| {
            let parts: [f64; 3] = std::array::from_fn(|i| stirred[i] * area[i]);
            parts.iter().map(|part| part * part).sum::<f64>().sqrt() / self.onlooker.eye.multiplier()
        };
        shared(&stirred.iter().zip(areas).map(alone).collect::<Vec<f64>>(), &self.answers)
    }

    /// What each band weighs, 1/um, around a film, for marks of an area in square degrees.
    fn film_keenness(&self, colour: &FilmColour, film: f64, distance: Metres, area: f64) -> Vec<f64> {
        let pitches = self.pitches(distance);
        self.weights(&self.stirred(colour, film, &pitches), &Self::areas(&pitches, area))
    }

    /// The same against film and the root of the share of the field that a mark fills, a table for each band.
    pub(super) fn film_tables(&self, colour: &FilmColour, distance: Metres) -> Arc<Vec<Keenness>> {
        let asked = (self.onlooker, distance, self.attended(distance), self.periods.clone());
        let (of, tables) =
            colour.keenness.get_or_init(|| (asked.clone(), Arc::new(self.weigh_films(colour, distance))));
        if *of == asked { tables.clone() } else { Arc::new(self.weigh_films(colour, distance)) }
    }

    fn weigh_films(&self, colour: &FilmColour, distance: Metres) -> Vec<Keenness> {
        let step = colour.film_max / colour.intervals as f64;
        let pitches = self.pitches(distance);
        let stirred = |i: usize| self.stirred(colour, step * i as f64, &pitches);
        let stirred: Vec<Vec<[f64; 3]>> = (0..=colour.intervals).map(stirred).collect();
        let of = |place: usize, area: &[[f64; 3]]| self.weights(&stirred[place], area);
        let areas = self.areas_of_shares(&pitches, distance);
        Keenness::tables(self.periods.len(), (0.0, step), stirred.len(), &areas, of)
    }

    /// What the area of a mark makes of each mechanism, band by band, for each share of the field.
    fn areas_of_shares(&self, pitches: &[Pitch], distance: Metres) -> Vec<Vec<[f64; 3]>> {
        let root = |share: usize| (share as f64 / SHARES as f64).max(1e-3);
        let area = |share: usize| self.attended(distance) * root(share) * root(share);
        (0..=SHARES).map(|share| Self::areas(pitches, area(share))).collect()
    }

    /// What each band weighs for a contrast of one mechanism.
    fn mechanism_keenness(&self, mechanism: usize, luminance: f64, distance: Metres, area: f64) -> Vec<f64> {
        let pitches = self.pitches(distance);
        self.weights(&tuned(mechanism, luminance, &pitches), &Self::areas(&pitches, area))
    }

    /// The same against the fourth root of luminance, for each band and each mechanism.
    pub(super) fn mechanism_tables(&self, distance: Metres) -> Vec<[Keenness; 3]> {
        let pitches = self.pitches(distance);
        let areas = self.areas_of_shares(&pitches, distance);
        let of_mechanism = [0, 1, 2].map(|mechanism| {
            let bright = |i: usize| fourth(BRIGHT * (i as f64 + 0.5));
            let tuned: Vec<_> = (0..=LUMINANCES).map(|i| tuned(mechanism, bright(i), &pitches)).collect();
            let of = |place: usize, area: &[[f64; 3]]| self.weights(&tuned[place], area);
            Keenness::tables(self.periods.len(), (0.5 * BRIGHT, BRIGHT), tuned.len(), &areas, of)
        });
        (0..self.periods.len()).map(|band| of_mechanism.each_ref().map(|bands| bands[band].clone())).collect()
    }
}

/// What each band stirs of a contrast of 1 in one mechanism, not yet limited by an area.
fn tuned(mechanism: usize, luminance: f64, pitches: &[Pitch]) -> Vec<[f64; 3]> {
    let lit = Mechanism::ALL[mechanism].lit(luminance);
    let alone = |pitch: &Pitch| std::array::from_fn(|i| if i == mechanism { lit.tuned(pitch) } else { 0.0 });
    pitches.iter().map(alone).collect()
}

/// Places of the tables against the fourth root of luminance, and their step: up to some 700 cd/m2.
const LUMINANCES: usize = 40;
const BRIGHT: f64 = 0.13;
/// Places of the tables against the root of the share that a mark fills.
const SHARES: usize = 8;

/// What a band weighs, against film or luminance and against the root of the share of the field that a mark fills: for
/// each place one row of shares.
#[derive(Debug, Clone)]
pub(super) struct Keenness {
    from: f64,
    per_step: f64,
    rows: Vec<[f64; SHARES + 1]>,
}

impl Keenness {
    /// A table for each band of what `of` says at so many places, beginning at `from` and a step apart, for areas.
    fn tables(
        bands: usize,
        (from, step): (f64, f64),
        places: usize,
        areas: &[Vec<[f64; 3]>],
        of: impl Fn(usize, &[[f64; 3]]) -> Vec<f64> + Sync + Send,
    ) -> Vec<Self> {
        let weigh = |place: usize| -> Vec<Vec<f64>> { areas.iter().map(|area| of(place, area)).collect() };
        let all: Vec<Vec<Vec<f64>>> = (0..places).map(weigh).collect();
        let row = |band: usize, place: usize| std::array::from_fn(|share| all[place][share][band]);
        let table = |band: usize| Self {
            from,
            per_step: 1.0 / step,
            rows: (0..places).map(|place| row(band, place)).collect(),
        };
        (0..bands).map(table).collect()
    }

    #[inline]
    pub(super) fn at(&self, place: f64, root_of_share: f64) -> f64 {
        let at = ((place - self.from) * self.per_step).clamp(0.0, (self.rows.len() - 1) as f64);
        let i = (at as usize).min(self.rows.len() - 2);
        let (part, of_share) = (at - i as f64, root_of_share * SHARES as f64);
        let share = (of_share as usize).min(SHARES - 1);
        let (low, high) = (&self.rows[i], &self.rows[i + 1]);
        let between = |share: usize| low[share] + (high[share] - low[share]) * part;
        let (small, large) = (between(share), between(share + 1));
        small + (large - small) * (of_share - share as f64)
    }
}

impl Map {
    fn bands(&self) -> Option<&Bands> {
        if let Map::Uneven(bands) = self { Some(bands) } else { None }
    }
}

/// Half the side of the field that is attended to, mm.
pub(super) fn half_field(distance: Metres) -> f64 {
    1000.0 * distance.0 * tan(Degrees(ATTENDED.sqrt() / 2.0).radians())
}

/// Contrasts of the three mechanisms in one measure: squares, weighed by what each sees at 1 cycle per degree over the
/// whole field at 100 cd/m2 (the authors' figures, `tests/visibility.rs`).
pub(super) fn weighed(contrast: &[f64; 3]) -> f64 {
    const SEEN: [f64; 3] = [352.0, 580.0, 60.4];
    (0..3).map(|i| contrast[i] * SEEN[i]).map(|part| part * part).sum()
}

/// XYZ (2 degree observer, perfect white Y = 100) of the surround that the gloss mirrors.
pub(super) fn gloss(viewing: &Viewing, geometry: &Geometry) -> Xyz {
    let Xyz { x, y, z } = Xyz::white(viewing.illuminant, Observer::Degrees2);
    let share = viewing.surround_gloss * geometry.surface_reflectance().0;
    Xyz { x: x * share, y: y * share, z: z * share }
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

pub(super) fn fourth(value: f64) -> f64 {
    (value * value) * (value * value)
}

pub(super) fn fourth_root(value: f64) -> f64 {
    value.sqrt().sqrt()
}
