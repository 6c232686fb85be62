//! A job rehearsed: its films, pass by pass, beside the job that they are of. What is done with a plan is done in
//! [`fanlap_film::rehearsal`]; a rehearsal here is one of those that knows its job.

pub use fanlap_film::rehearsal::{
    Account, CoatTimes, Doing, Meeting, Moving, Pass, Playback, SUBSTANTIAL, TURN, WetFilm, Wetness,
};

use crate::job::Job;
use crate::units::Millimetres;
use fanlap_film::rehearsal as film;
use std::ops::{Deref, DerefMut};

/// A job, its passes, and the film of those that are laid so far.
#[derive(Debug, Clone)]
pub struct Rehearsal {
    job: Job,
    film: film::Rehearsal,
}

impl Rehearsal {
    /// Plans all passes without laying film.
    pub fn plan(job: &Job) -> Self {
        Self { job: job.clone(), film: film::Rehearsal::begin(&job.plan()) }
    }

    /// The job.
    pub fn job(&self) -> &Job {
        &self.job
    }
}

impl Deref for Rehearsal {
    type Target = film::Rehearsal;

    fn deref(&self) -> &film::Rehearsal {
        &self.film
    }
}

impl DerefMut for Rehearsal {
    fn deref_mut(&mut self) -> &mut film::Rehearsal {
        &mut self.film
    }
}

/// Cells on which one thing is put right at a time, at least: coarse enough to try many, fine enough for every defect.
pub const TRIAL_CELL: Millimetres = Millimetres(12.0);

/// The job on cells that are no finer than these, for trials.
pub fn on_cells(job: &Job, least: Millimetres) -> Job {
    let mut coarse = job.clone();
    coarse.panel.cell.0 = coarse.panel.cell.0.max(least.0);
    coarse
}

/// Rehearses a whole job.
///
/// ```
/// use fanlap::{job::examples::EXAMPLES, rehearsal::rehearse};
/// let mut job = EXAMPLES[0].job();
/// job.panel.cell.0 = 20.0; // coarse, for a quick look
/// let rehearsal = rehearse(&job);
/// let film = rehearsal.film(0);
/// let mean = film.iter().sum::<f64>() / film.len() as f64;
/// assert!(mean > 30.0 && mean < 40.0);
/// ```
pub fn rehearse(job: &Job) -> Rehearsal {
    Rehearsal { job: job.clone(), film: film::rehearse(&job.plan()) }
}

/// Rehearses the film alone: what flies past the rim is not followed, and the account does not hold it.
pub fn rehearse_film(job: &Job) -> Rehearsal {
    Rehearsal { job: job.clone(), film: film::rehearse_film(&job.plan()) }
}
