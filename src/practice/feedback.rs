//! What is shown while a lesson is sprayed and told after it, trial by trial, and what a learner foresaw. Feedback at every
//! trial helps while it lasts and less once it is gone (fading: Aoyagi et al., J Phys Ther Sci 2019;31(8):687-691;
//! bandwidth: Cruz et al., Motricidade 2018;14(2-3):107-114), which others did not find again (McKay et al., Meta-Psychology
//! 2022, 10.15626/mp.2021.2803): so it is a setting of the lesson, and promises nothing. Draws nothing.

use crate::field::film_at;
use crate::panel::Patch;
use crate::strokes::stir;
use glam::DVec2;
use serde::{Deserialize, Serialize};

/// When something is told of a trial.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Told {
    /// After every pass.
    Every,
    /// When all lines are sprayed.
    End,
    /// Then, and only where the film is farther off the plan's than this share.
    Bandwidth(f64),
    /// At the end of the first four trials, of one in two of the next eight, drawn by the seed, and then no more.
    Faded,
    /// At the end of every second trial, beginning with the first.
    Alternate,
    /// Never: a test.
    None,
}

/// A place foreseen among the outermost fifth of the panel's film is well foreseen: a judgement.
const WELL: f64 = 0.8;
/// Trials that are all told of, and those of which one in two is.
const FADES_AFTER: u32 = 4;
const FADED_BY: u32 = 12;
/// What fades is shown on all lines of the first trial, on a share less of each that follows.
const FADES_BY: f64 = 0.25;

impl Told {
    /// Whether a trial is told of, from 1, when all lines are sprayed; `off` is how far its film is off the plan's.
    pub fn tells(self, trial: u32, seed: u32, off: f64) -> bool {
        match self {
            Self::Every | Self::End => true,
            Self::Bandwidth(band) => off > band,
            Self::Faded if trial <= FADES_AFTER => true,
            Self::Faded if trial <= FADED_BY => {
                // of every pair one, whichever the seed draws
                let pair = u64::from((trial - 1) / 2);
                let first = stir(stir(u64::from(seed)) ^ pair) & 1 == 0;
                first == (trial - 1).is_multiple_of(2)
            }
            Self::Alternate => !trial.is_multiple_of(2),
            Self::Faded | Self::None => false,
        }
    }
}

/// Whether something is shown while it is sprayed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Aid {
    /// On every line.
    On,
    /// On none.
    #[default]
    Off,
    /// On all lines of the first trial, on a quarter fewer of each that follows.
    Fading,
}

impl Aid {
    /// Whether it is shown on a line, from 0, of so many, in a trial from 1.
    pub fn shows(self, line: usize, lines: usize, trial: u32) -> bool {
        let share = 1.0 - FADES_BY * f64::from(trial.saturating_sub(1));
        match self {
            Self::On => true,
            Self::Off => false,
            Self::Fading => (line as f64) < share * lines as f64,
        }
    }
}

/// What a learner says of the film before it is shown; what is not said was skipped.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Prediction {
    /// Where it is thickest, mm on the plan.
    pub thick_mm: Option<[f64; 2]>,
    /// Where it is thinnest.
    pub thin_mm: Option<[f64; 2]>,
    /// Its mean, um.
    pub mean_um: Option<f64>,
}

/// How near a prediction came.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize)]
pub struct Foreseen {
    /// Share of the panel that is thinner than the place said to be the thickest.
    pub thick: Option<f64>,
    /// Share of the panel that is thicker than the place said to be the thinnest.
    pub thin: Option<f64>,
    /// The mean said, over the true one, less 1.
    pub mean_off: Option<f64>,
    /// Where it is thickest, mm on the plan.
    pub thickest_mm: [f64; 2],
    /// Where it is thinnest.
    pub thinnest_mm: [f64; 2],
}

impl Foreseen {
    /// In a sentence for each thing that was said.
    pub fn text(&self) -> String {
        let percent = |share: f64| format!("{:.0} %", 100.0 * share);
        let mut said = Vec::new();
        let place = |share: f64, most: &str, more: &str| {
            let well = if share >= WELL { "Well foreseen" } else { "Not foreseen" };
            format!("{well}: where you said it is {most} it is {more} than {} of the panel.", percent(share))
        };
        said.extend(self.thick.map(|share| place(share, "thickest", "thicker")));
        said.extend(self.thin.map(|share| place(share, "thinnest", "thinner")));
        said.extend(self.mean_off.map(|off| {
            let way = if off > 0.0 { "too much" } else { "too little" };
            if off.abs() < 0.005 {
                "Your mean is right.".to_string()
            } else {
                format!("Your mean is {} {way}.", percent(off.abs()))
            }
        }));
        said.join(" ")
    }
}

impl Prediction {
    /// Against a film, um, on the cells of a patch.
    pub fn against(&self, patch: &Patch, film: &[f64]) -> Foreseen {
        let count = film.len().max(1) as f64;
        let at = |[x, y]: [f64; 2]| film_at(patch, film, DVec2::new(x, y)).0;
        let share = |of: &dyn Fn(f64) -> bool| film.iter().filter(|film| of(**film)).count() as f64 / count;
        let mean = film.iter().sum::<f64>() / count;
        let place = |better: &dyn Fn(f64, f64) -> bool| {
            let cell = (0..film.len()).reduce(|best, i| if better(film[i], film[best]) { i } else { best });
            let centre = |i: usize| patch.centre(i % patch.columns, i / patch.columns).to_array();
            cell.map_or([0.0; 2], centre)
        };
        Foreseen {
            thick: self.thick_mm.map(at).map(|there| share(&|film| film < there)),
            thin: self.thin_mm.map(at).map(|there| share(&|film| film > there)),
            thickest_mm: place(&|a, b| a > b),
            thinnest_mm: place(&|a, b| a < b),
            mean_off: self.mean_um.filter(|_| mean > 0.0).map(|said| said / mean - 1.0),
        }
    }
}
