//! A film map in octave bands: differences of Gaussians (Marr & Hildreth 1980, Proc. R. Soc. B 207, 187-217, from
//! memory) of sigma and twice sigma, from 3 mm up to the panel's size. Does not know colour, distance or the eye.
//!
//! Past the rim the film is continued by its mirror image. That makes no edge where the panel ends, and one smoothing
//! after another is again a smoothing, which weights normalised at the rim would break: each Gaussian is made of the one
//! before. A wide one needs no fine cells: a band lies on a grid of its own, of cells no finer than a sixth of its sigma
//! where the map's are finer than that. Between its cells it is read by a polynomial; what all this cuts off is below
//! 2e-5 of any wave in the film, and below 1e-6 of the film as a whole (`tests/visibility.rs`).

use super::resample::{Taps, resampled, value_at};
use fanlap_film::maths::exp;
use fanlap_film::panel::Patch;
use fanlap_film::units::Millimetres;
use std::f64::consts::PI;

/// What a band leaves of a stripe of its own period: 4^(-1/3) - 4^(-4/3).
pub const BAND_GAIN: f64 = 0.472_470_393_710_577_4;
/// The period at which a band is the most sensitive, in sigmas: pi sqrt(6 / ln 4).
pub const BAND_PERIOD: f64 = 6.535_785_184_273_005;

/// Sigma of the finest band, mm.
const FINEST: f64 = 3.0;
/// Cells that a band's period must span: what is finer is not in the film map.
const CELLS_A_PERIOD: f64 = 4.0;
/// A Gaussian lies on cells of which its sigma spans at least so many.
const HELD_BY: f64 = 3.0;
/// The next Gaussian is made of one that spans at least so many cells: of a narrower one its cells would be seen.
const MADE_OF: f64 = 1.5;

/// The cells of a map and the place they take.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Raster {
    /// Along x and along y.
    pub(super) cells: [usize; 2],
    /// Size of a cell, mm.
    pub(super) cell: [f64; 2],
    /// The cell that tells which periods the map can hold, mm.
    held: f64,
}

impl Raster {
    /// The cells of a patch.
    pub fn of(patch: &Patch) -> Self {
        let cell = patch.cell;
        Self { cells: [patch.columns, patch.rows], cell: [cell.x, cell.y], held: cell.max_element() }
    }

    /// Those of a map that is the same all along x, or all along y: one cell stands for a row, or a column.
    pub fn along(patch: &Patch, x: bool) -> Self {
        let (mut raster, all) = (Self::of(patch), usize::from(!x));
        raster.cell[all] *= raster.cells[all] as f64;
        raster.cells[all] = 1;
        raster
    }

    /// How many cells there are.
    pub fn count(&self) -> usize {
        self.cells[0] * self.cells[1]
    }

    /// The sides, mm.
    pub(super) fn size(&self) -> [f64; 2] {
        [0, 1].map(|i| self.cell[i] * self.cells[i] as f64)
    }

    /// The same place in as many cells as a Gaussian needs.
    fn holding(&self, sigma: f64) -> Self {
        let size = self.size();
        let cells = [0, 1].map(|i| {
            let mut cells = self.cells[i];
            while cells > 1 && sigma * cells.div_ceil(2) as f64 >= HELD_BY * size[i] {
                cells = cells.div_ceil(2);
            }
            cells
        });
        Self { cells, cell: [0, 1].map(|i| size[i] / cells[i] as f64), held: self.held }
    }
}

/// A film map in octaves.
#[derive(Debug, Clone)]
pub struct Bands {
    raster: Raster,
    sigmas: Vec<f64>,
    bands: Vec<Band>,
}

/// One band on its cells.
#[derive(Debug, Clone)]
struct Band {
    raster: Raster,
    values: Vec<f64>,
    surround: Vec<f64>,
}

impl Bands {
    /// Of the film (um) over the cells of a patch. Bands with periods under 4 cells or beyond twice the longer side
    /// are left out: the map does not hold them.
    pub fn of(patch: &Patch, film: &[f64]) -> Self {
        let mut coming = Smoothing::new(Raster::of(patch), film);
        while coming.step() {}
        coming.finish()
    }

    /// How many bands there are; none on a panel too small for any.
    pub fn count(&self) -> usize {
        self.sigmas.len()
    }

    /// Sigma of a band's narrower Gaussian.
    pub fn sigma(&self, band: usize) -> Millimetres {
        Millimetres(self.sigmas[band])
    }

    /// The period of stripes to which a band answers most.
    pub fn period(&self, band: usize) -> Millimetres {
        Millimetres(self.sigmas[band] * BAND_PERIOD)
    }

    /// What a band holds of stripes of a period, over what it holds of stripes of its own: at most 1.
    pub fn answer(&self, band: usize, period: Millimetres) -> f64 {
        let turns = PI * self.sigmas[band] / period.0;
        (exp(-2.0 * turns * turns) - exp(-8.0 * turns * turns)) / BAND_GAIN
    }

    /// What a band holds at a cell, um: not yet divided by [`BAND_GAIN`].
    pub fn value(&self, band: usize, cell: usize) -> f64 {
        self.read(&self.bands[band], |band| &band.values, cell)
    }

    /// The film around a cell against which a band compares it, um.
    pub fn surround(&self, band: usize, cell: usize) -> f64 {
        self.read(&self.bands[band], |band| &band.surround, cell)
    }

    fn read(&self, band: &Band, of: fn(&Band) -> &[f64], cell: usize) -> f64 {
        let (map, [columns, _]) = (of(band), self.raster.cells);
        if band.raster == self.raster {
            return map[cell];
        }
        value_at(map, band.raster.cells, self.raster.cells, [cell % columns, cell / columns])
    }

    /// The cells on which a band lies.
    pub(super) fn raster(&self, band: usize) -> &Raster {
        &self.bands[band].raster
    }

    /// The film around one of those, and what the band holds there.
    #[inline]
    pub(super) fn node(&self, band: usize, node: usize) -> (f64, f64) {
        let band = &self.bands[band];
        (band.surround[node], band.values[node])
    }
}

/// What lies on the cells of one division, on those of a finer one.
pub(super) fn refined(values: &[f64], from: &Raster, to: &Raster) -> Vec<f64> {
    let [columns, rows] = [0, 1].map(|i| Taps::between(from.cells[i], to.cells[i]));
    resampled(values, [&columns, &rows])
}

/// The bands of a film on their way, one Gaussian after another, narrowest first, so that a page stays alive.
#[derive(Debug, Clone)]
pub struct Smoothing {
    film: Vec<f64>,
    raster: Raster,
    /// Sigmas of the bands, and the one beyond the last, mm.
    sigmas: Vec<f64>,
    /// The last Gaussian.
    last: Option<Gaussian>,
    bands: Vec<Band>,
}

/// The film smoothed by a Gaussian.
#[derive(Debug, Clone)]
struct Gaussian {
    sigma: f64,
    raster: Raster,
    values: Vec<f64>,
}

impl Smoothing {
    /// Of the film (um) over some cells; nothing is done yet.
    pub fn new(raster: Raster, film: &[f64]) -> Self {
        assert_eq!(film.len(), raster.count(), "a film for every cell");
        let (least, most) = (CELLS_A_PERIOD * raster.held, 2.0 * raster.size().into_iter().fold(0.0, f64::max));
        let octaves = (0..40).map(|k| FINEST * (1_u64 << k) as f64);
        let fits = |sigma: &f64| (least..=most).contains(&(BAND_PERIOD * sigma));
        let mut sigmas: Vec<f64> = octaves.filter(fits).collect();
        sigmas.extend(sigmas.last().map(|last| 2.0 * last));
        Self { film: film.to_vec(), raster, sigmas, last: None, bands: Vec::new() }
    }

    /// Goes on by one Gaussian; false when all are there.
    pub fn step(&mut self) -> bool {
        let made = self.bands.len() + usize::from(self.last.is_some());
        let Some(sigma) = self.sigmas.get(made).copied() else { return false };
        let next = self.gaussian(sigma);
        if let Some(Gaussian { raster, values, .. }) = self.last.take() {
            let surround =
                if next.raster == raster { next.values.clone() } else { refined(&next.values, &next.raster, &raster) };
            let values = values.iter().zip(&surround).map(|(narrow, wide)| narrow - wide).collect();
            self.bands.push(Band { raster, values, surround });
        }
        self.last = Some(next);
        true
    }

    /// The film smoothed, made of the Gaussian before where that is wide enough.
    fn gaussian(&self, sigma: f64) -> Gaussian {
        let spans = |g: &Gaussian, i: usize| g.raster.cells[i] == 1 || g.sigma >= MADE_OF * g.raster.cell[i];
        let made_of = self.last.as_ref().filter(|last| spans(last, 0) && spans(last, 1));
        let (before, from, map) = made_of.map_or((0.0, &self.raster, &self.film), |g| (g.sigma, &g.raster, &g.values));
        let more = (sigma * sigma - before * before).sqrt();
        let raster = self.raster.holding(sigma);
        let taps = |i: usize| Taps::gaussian(from.cells[i], raster.cells[i], more / from.cell[i]);
        Gaussian { sigma, raster, values: resampled(map, [&taps(0), &taps(1)]) }
    }

    /// The bands, once all is done.
    pub fn finish(mut self) -> Bands {
        self.sigmas.pop();
        Bands { raster: self.raster, sigmas: self.sigmas, bands: self.bands }
    }
}
