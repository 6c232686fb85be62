//! The wet film of a paint in figures: how much there was, what runs, whether neighbouring passes melted together. The
//! laws and their sources are in [`crate::wet`]. Figures are of cells: a run narrower than one is not found.

use crate::job::Job;
use crate::rehearsal::{Moving, WetFilm, Wetness};
use crate::units::Micrometres;
use serde::Serialize;

/// Wet film of one paint.
#[derive(Debug, Clone, PartialEq, Default, Serialize)]
pub struct WetFigures {
    /// The most wet film anywhere; of coats of different age the film laid at once that would flow as far.
    pub max_um: f64,
    /// The most times over the film that just holds on the slope there; above 1 it moves.
    pub times_sag_limit: f64,
    /// Places that run: the film moves down by a millimetre or more.
    pub runs: usize,
    /// The longest of their ways down.
    pub longest_run_mm: f64,
    /// The place that runs farthest; none where nothing runs.
    pub worst_run: Option<WorstRun>,
    /// Places over their limit in which nothing runs.
    pub near_limit: usize,
    /// The greatest gap in time between neighbouring passes of one coat.
    pub worst_gap_s: f64,
    /// Share of all the panel's cells, sprayed or not, where that gap is longer than the open time: the wet edge is lost.
    pub edge_lost: f64,
    /// Waves up to this length level while the film thickens, at its mean; longer ones stay.
    pub levels_up_to_mm: f64,
}

/// Where the longest run starts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct WorstRun {
    /// Along the length.
    pub x_mm: f64,
    /// Across the width.
    pub y_mm: f64,
    /// Its wet film.
    pub wet_um: f64,
    /// How many times over the film that just holds on the slope there.
    pub times_sag_limit: f64,
    /// From the beginning of the job.
    pub at_s: f64,
}

impl From<&Moving> for WorstRun {
    fn from(run: &Moving) -> Self {
        let (wet_um, times_sag_limit, at_s) = (run.wet.0, run.times_limit, run.at.0);
        Self { x_mm: run.from.x, y_mm: run.from.y, wet_um, times_sag_limit, at_s }
    }
}

impl WetFigures {
    /// Of a job's paint; all nothing for one that no coat uses.
    pub(super) fn of(job: &Job, wetness: &Wetness, paint: usize) -> Self {
        let (film, of) = (&wetness.films[paint], &job.paints[paint]);
        let most = |values: &[f64]| values.iter().copied().fold(0.0, f64::max);
        Self {
            max_um: most(&film.most),
            times_sag_limit: most(&film.times_limit),
            runs: film.runs.len(),
            longest_run_mm: film.runs.first().map_or(0.0, |run| run.travel.0),
            worst_run: film.runs.first().map(WorstRun::from),
            near_limit: film.near_limit.len(),
            worst_gap_s: most(&film.gap),
            edge_lost: share_over(film, of.open_time.seconds().0),
            levels_up_to_mm: of.flow().levels_up_to(mean(&film.most)).0,
        }
    }
}

fn share_over(film: &WetFilm, open: f64) -> f64 {
    film.gap.iter().filter(|gap| **gap > open).count() as f64 / film.gap.len().max(1) as f64
}

fn mean(values: &[f64]) -> Micrometres {
    Micrometres(values.iter().sum::<f64>() / values.len().max(1) as f64)
}
