//! A sight and its map on their way, part by part, so that a page stays alive. What is computed stands in `visibility`;
//! does not know how long a part takes.

use super::bands::Smoothing;
use super::build_up::BuildUpColour;
use super::extent::root_of_share;
use super::visibility::{
    FilmColour, Keenness, Map, Matter, Onlooker, Visibility, fourth, fourth_root, half_field, weighed,
};
use fanlap_film::panel::Patch;
use fanlap_film::units::{Metres, Micrometres};
use std::rc::Rc;

/// A sight on its way: band by band, so that a page stays alive.
#[derive(Debug, Clone)]
pub struct Looking {
    patch: Patch,
    film: Coming,
    /// The base's places and the colours of the build-up; none where one film alone carries colour.
    places: Option<(Coming, Rc<BuildUpColour>)>,
    colour: Option<FilmColour>,
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
    fn of(patch: &Patch, values: &[f64]) -> Self {
        match values {
            [even] => Self::Even(*even),
            _ => Self::Uneven(Box::new(Smoothing::new(patch, values))),
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
    /// At the film (um) over the cells of a patch.
    pub fn at_film(patch: &Patch, film: &[f64], colour: FilmColour, onlooker: Onlooker) -> Self {
        let film = Coming::of(patch, film);
        Self { patch: patch.clone(), film, places: None, colour: Some(colour), onlooker, sight: None }
    }

    /// At the films (um) of a tinted clear and of the base coat under it; one number where a film is even.
    pub fn at_build_up(
        patch: &Patch,
        (film, base): (&[f64], &[f64]),
        colour: Rc<BuildUpColour>,
        onlooker: Onlooker,
    ) -> Self {
        let places: Vec<f64> = base.iter().map(|base| colour.underlay().place_of(Micrometres(*base))).collect();
        let (film, places) = (Coming::of(patch, film), Some((Coming::of(patch, &places), colour)));
        Self { patch: patch.clone(), film, places, colour: None, onlooker, sight: None }
    }

    /// Goes on by a part; false when all is done.
    pub fn step(&mut self) -> bool {
        if let Some(sight) = &mut self.sight {
            return sight.extend(&self.patch);
        }
        if self.film.step() || self.places.as_mut().is_some_and(|(places, _)| places.step()) {
            return true;
        }
        let film = std::mem::replace(&mut self.film, Coming::Even(0.0)).finish();
        let matter = match (self.places.take(), self.colour.take()) {
            (Some((places, colour)), _) => Matter::BuildUp { places: places.finish(), colour },
            (None, Some(colour)) => Matter::Film(Box::new(colour)),
            (None, None) => return false,
        };
        self.sight = Some(Visibility::new(&self.patch, film, matter, self.onlooker));
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
    Film(Vec<Keenness>),
    BuildUp(Vec<[Keenness; 3]>),
}

impl Mapping {
    /// Of a sight, from a distance; nothing is done yet.
    pub fn new(sight: &Visibility, distance: Metres) -> Self {
        let tables = match &sight.matter {
            Matter::Film(colour) => Tables::Film(sight.film_tables(colour, distance)),
            Matter::BuildUp { .. } => Tables::BuildUp(sight.mechanism_tables(distance)),
        };
        Self { sum: vec![0.0; sight.cells], half: half_field(distance), tables, band: 0 }
    }

    /// Goes on by one band; false when all are there.
    pub fn step(&mut self, sight: &Visibility) -> bool {
        let Some(extent) = sight.extents.get(self.band) else { return false };
        let band = self.band;
        for ((cell, sum), mean) in self.sum.iter_mut().enumerate().zip(extent.means(self.half)) {
            *sum += match &self.tables {
                Tables::Film(tables) => {
                    let (film, amplitude) = sight.film.at(band, cell);
                    let share = root_of_share(mean, amplitude * amplitude);
                    fourth(amplitude * tables[band].at(film, share))
                }
                Tables::BuildUp(tables) => {
                    let (luminance, contrast) = sight.contrast(band, cell);
                    let share = root_of_share(mean, weighed(&contrast));
                    let bright = fourth_root(luminance);
                    let part = |i: usize| contrast[i] * tables[band][i].at(bright, share);
                    let parts = [part(0), part(1), part(2)];
                    let square: f64 = parts.iter().map(|part| part * part).sum();
                    square * square
                }
            };
        }
        self.band += 1;
        true
    }

    /// How many times over each cell is seen, once all is done.
    pub fn finish(self) -> Vec<f64> {
        self.sum.into_iter().map(fourth_root).collect()
    }
}
