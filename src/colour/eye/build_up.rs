//! What the eye's mechanisms answer to a whole build-up: tinted clear of any film over a base coat of any film, tabulated
//! by the tint's film and the base's place in its [`Underlay`]. Does not know where the films lie.

use super::sensitivity::Sensitivity;
use super::underlay::Underlay;
use super::visibility::{Onlooker, gloss};
use crate::{Geometry, Lab, Observer, TintedClear, Viewing, Xyz, delta_e00};
use fanlap_film::units::Micrometres;

/// Step of the tables against the tint's film, um, up to `INTERVALS` of it.
const STEP: f64 = 0.5;
const INTERVALS: f64 = 400.0;

/// Colour of every build-up of one base coat and one tinted clear.
#[derive(Debug, Clone)]
pub struct BuildUpColour {
    underlay: Underlay,
    step: f64,
    /// Answers of the mechanisms to reflectance, a perfect white of 1 cd/m2, sheet by sheet, then by film of the tint.
    answers: Vec<Vec<[f64; 3]>>,
    labs: Vec<Vec<[f64; 3]>>,
}

/// A change from trough to crest of both films.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Swing {
    /// Film of the tint around: the middle, and what it goes up and down, um.
    pub film: (f64, f64),
    /// Place of the base around, and what it goes up and down.
    pub place: (f64, f64),
}

impl BuildUpColour {
    /// Up to a film of the tint, and held beyond.
    pub fn new(underlay: &Underlay, clear: TintedClear, viewing: &Viewing, film_max: Micrometres) -> Self {
        let geometry = Geometry::new(viewing.aspecular);
        let intervals = (film_max.0.max(STEP) / STEP).ceil().min(INTERVALS) as usize;
        let step = film_max.0.max(STEP) / intervals as f64;
        let veil = gloss(viewing, &geometry);
        let (mut answers, mut labs) = (Vec::new(), Vec::new());
        for base in underlay.bases() {
            let films = (0..=intervals).map(|i| Micrometres(step * i as f64));
            let seen: Vec<_> = films.map(|film| base.through(clear, film, &geometry)).collect();
            let lit = |seen| {
                let bare = Xyz::of(seen, viewing.illuminant, Observer::Degrees2);
                Sensitivity::answers(Xyz { x: bare.x + veil.x, y: bare.y + veil.y, z: bare.z + veil.z })
                    .map(|answer| answer / 100.0)
            };
            answers.push(seen.iter().map(lit).collect());
            let lab = |seen| {
                let Lab { l, a, b } = Lab::of(seen, viewing.illuminant, viewing.observer);
                [l, a, b]
            };
            labs.push(seen.iter().map(lab).collect());
        }
        Self { underlay: underlay.clone(), step, answers, labs }
    }

    /// What lies under the tinted clear.
    pub fn underlay(&self) -> &Underlay {
        &self.underlay
    }

    #[inline]
    fn read(&self, tables: &[Vec<[f64; 3]>], film: f64, place: f64) -> [f64; 3] {
        let (last, end) = (tables.len() - 1, tables[0].len() - 1);
        let at = (film / self.step).clamp(0.0, end as f64);
        let i = (at as usize).min(end - 1);
        let place = place.clamp(0.0, last as f64);
        let sheet = (place as usize).min(last.saturating_sub(1));
        let (part, beside) = (at - i as f64, place - sheet as f64);
        let (thin, thick) = (&tables[sheet], &tables[(sheet + 1).min(last)]);
        std::array::from_fn(|k| {
            let low = thin[i][k] + (thin[i + 1][k] - thin[i][k]) * part;
            let high = thick[i][k] + (thick[i + 1][k] - thick[i][k]) * part;
            low + (high - low) * beside
        })
    }

    /// The background's luminance under that white, cd/m2, and the contrast of the swing's amplitude to it in each
    /// mechanism, below 0 where the crest stirs it less than the trough.
    #[inline]
    pub(super) fn contrast(&self, swing: &Swing, onlooker: &Onlooker) -> (f64, [f64; 3]) {
        let around = self.read(&self.answers, swing.film.0, swing.place.0)[0].max(1e-12);
        let (low, high) = swing.ends(|film, place| self.read(&self.answers, film, place));
        (around * onlooker.white, std::array::from_fn(|i| 0.5 * (high[i] - low[i]) / around))
    }

    /// CIEDE2000 from trough to crest.
    pub(super) fn delta_e00(&self, swing: &Swing) -> f64 {
        let (low, high) = swing.ends(|film, place| self.read(&self.labs, film, place));
        let lab = |[l, a, b]: [f64; 3]| Lab { l, a, b };
        delta_e00(lab(low), lab(high))
    }

    /// What the base's film goes up and down, um.
    pub(super) fn base_amplitude(&self, swing: &Swing) -> Micrometres {
        let film = |place: f64| self.underlay.film_at(place).0;
        let (middle, amplitude) = swing.place;
        Micrometres(0.5 * (film(middle + amplitude) - film(middle - amplitude)))
    }
}

impl Swing {
    fn ends<T>(&self, of: impl Fn(f64, f64) -> T) -> (T, T) {
        let ((film, a), (place, b)) = (self.film, self.place);
        (of(film - a, place - b), of(film + a, place + b))
    }

    /// Only the tint's part of it, or only the base's.
    pub(super) fn only(self, base: bool) -> Self {
        if base { Self { film: (self.film.0, 0.0), ..self } } else { Self { place: (self.place.0, 0.0), ..self } }
    }
}
