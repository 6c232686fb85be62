//! A sight and its map on their way, part by part, so that a page stays alive. What is computed stands in `visibility`;
//! does not know how long a part takes.

use super::bands::{Raster, Smoothing, refined};
use super::build_up::BuildUpColour;
use super::extent::{Means, root_of_share};
use super::visibility::{
    FilmColour, Keenness, Map, Matter, Onlooker, Spot, Visibility, fourth_root, half_field, weighed,
};
use fanlap_film::maths::fill_pieces;
use fanlap_film::units::{Metres, Micrometres};
use std::sync::Arc;

/// A sight on its way: band by band, so that a page stays alive.
#[derive(Debug, Clone)]
pub struct Looking {
    raster: Raster,
    film: Coming,
    /// The base's places and the colours of the build-up; none where one film alone carries colour.
    places: Option<(Coming, Arc<BuildUpColour>)>,
    colour: Option<Arc<FilmColour>>,
    onlooker: Onlooker,
    sight: Option<Visibility>,
}

/// A map on its way into bands.
#[derive(Debug, Clone)]
enum Coming {
    Even(f64),
    Uneven(Box<Smoothing>),
}

impl Coming {
    fn of(raster: Raster, values: &[f64]) -> Self {
        match values {
            [even] => Self::Even(*even),
            _ => Self::Uneven(Box::new(Smoothing::new(raster, values))),
        }
    }

    fn step(&mut self) -> bool {
        if let Self::Uneven(smoothing) = self { smoothing.step() } else { false }
    }

    fn finish(self) -> Map {
        match self {
            Self::Even(value) => Map::Even(value),
            Self::Uneven(smoothing) => Map::Uneven(smoothing.finish()),
        }
    }
}

impl Looking {
    /// At the film (um) over some cells.
    pub fn at_film(raster: Raster, film: &[f64], colour: Arc<FilmColour>, onlooker: Onlooker) -> Self {
        let film = Coming::of(raster, film);
        Self { raster, film, places: None, colour: Some(colour), onlooker, sight: None }
    }

    /// At the films (um) of a tinted clear and of the base coat under it; one number where a film is even.
    pub fn at_build_up(
        raster: Raster,
        (film, base): (&[f64], &[f64]),
        colour: Arc<BuildUpColour>,
        onlooker: Onlooker,
    ) -> Self {
        let places: Vec<f64> = base.iter().map(|base| colour.underlay().place_of(Micrometres(*base))).collect();
        let (film, places) = (Coming::of(raster, film), Some((Coming::of(raster, &places), colour)));
        Self { raster, film, places, colour: None, onlooker, sight: None }
    }

    /// Goes on by a part; false when all is done.
    pub fn step(&mut self) -> bool {
        if let Some(sight) = &mut self.sight {
            return sight.extend();
        }
        if self.film.step() || self.places.as_mut().is_some_and(|(places, _)| places.step()) {
            return true;
        }
        let film = std::mem::replace(&mut self.film, Coming::Even(0.0)).finish();
        let matter = match (self.places.take(), self.colour.take()) {
            (Some((places, colour)), _) => Matter::BuildUp { places: places.finish(), colour },
            (None, Some(colour)) => Matter::Film(colour),
            (None, None) => return false,
        };
        self.sight = Some(Visibility::new(self.raster, film, matter, self.onlooker));
        true
    }

    /// What is seen, once all is done.
    pub fn finish(mut self) -> Visibility {
        while self.step() {}
        self.sight.expect("a sight is there when nothing is left to do")
    }
}

/// A map of what is seen from a distance on its way, band by band.
pub struct Mapping {
    sum: Vec<f64>,
    half: f64,
    tables: Tables,
    band: usize,
}

/// What each band weighs from a distance.
enum Tables {
    Film(Arc<Vec<Keenness>>),
    BuildUp(Vec<[Keenness; 3]>),
}

impl Mapping {
    /// Of a sight, from a distance; nothing is done yet.
    pub fn new(sight: &Visibility, distance: Metres) -> Self {
        let tables = match &sight.matter {
            Matter::Film(colour) => Tables::Film(sight.film_tables(colour, distance)),
            Matter::BuildUp { .. } => Tables::BuildUp(sight.mechanism_tables(distance)),
        };
        Self { sum: vec![0.0; sight.raster.count()], half: half_field(distance), tables, band: 0 }
    }

    /// Goes on by one band; false when all are there.
    pub fn step(&mut self, sight: &Visibility) -> bool {
        let Some(extent) = sight.extents.get(self.band) else { return false };
        let (band, raster) = (self.band, sight.raster_of(self.band));
        let means = extent.means(&sight.raster, self.half);
        match &self.tables {
            Tables::Film(tables) => {
                let parts = in_rows(raster, &means, |node, mean| {
                    let (film, amplitude) = sight.amplitude(band, Spot::Node(node));
                    amplitude * tables[band].at(film, root_of_share(mean, amplitude * amplitude))
                });
                self.add(raster, &sight.raster, [parts]);
            }
            Tables::BuildUp(tables) => {
                let parts = [0, 1, 2].map(|i| {
                    in_rows(raster, &means, |node, mean| {
                        let (luminance, contrast) = sight.contrast(band, Spot::Node(node));
                        let share = root_of_share(mean, weighed(&contrast));
                        contrast[i] * tables[band][i].at(fourth_root(luminance), share)
                    })
                });
                self.add(raster, &sight.raster, parts);
            }
        }
        self.band += 1;
        true
    }

    /// Adds the fourth power of what parts that lie square to each other come to, given on the cells of a band.
    fn add<const N: usize>(&mut self, from: &Raster, to: &Raster, parts: [Vec<f64>; N]) {
        let parts = if from == to { parts } else { parts.map(|part| refined(&part, from, to)) };
        let columns = to.cells[0];
        fill_pieces(&mut self.sum, columns, |row, sums| {
            let parts = parts.each_ref().map(|part| &part[row * columns..][..columns]);
            for (column, sum) in sums.iter_mut().enumerate() {
                let square: f64 = parts.iter().map(|part| part[column] * part[column]).sum();
                *sum += square * square;
            }
        });
    }

    /// How many times over each cell is seen, once all is done.
    pub fn finish(mut self) -> Vec<f64> {
        self.sum.iter_mut().for_each(|sum| *sum = fourth_root(*sum));
        self.sum
    }
}

/// What `of` says of every cell of a band and of the mean square around it.
fn in_rows(raster: &Raster, means: &Means, of: impl Fn(usize, f64) -> f64 + Sync + Send) -> Vec<f64> {
    let (mut out, columns) = (vec![0.0; raster.count()], raster.cells[0]);
    fill_pieces(&mut out, columns, |row, out| {
        for (column, (out, mean)) in out.iter_mut().zip(means.of_row(row)).enumerate() {
            *out = of(row * columns + column, mean);
        }
    });
    out
}
