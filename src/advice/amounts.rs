//! How much paint is mixed: what the plan sprays and a stated reserve, divided as the data sheet's mixing ratio says. The
//! theoretical spreading rate stands beside it.

use crate::job::Job;
use serde::{Deserialize, Serialize};

/// One paint's amounts, mL ready to spray.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Amount {
    /// Its name.
    pub paint: String,
    /// What each of its coats takes, in the order of the coats.
    pub coats_ml: Vec<f64>,
    /// All of them.
    pub sprayed_ml: f64,
    /// Kept in the cup beyond that, as a share.
    pub reserve: f64,
    /// To be mixed.
    pub mixed_ml: f64,
    /// Of that: paint, hardener, thinner.
    pub parts_ml: [f64; 3],
    /// Area that a litre covers at the mean film if nothing were lost, m2/L: 10 times the solids in per cent over the
    /// dry film in um.
    pub spreading_m2_per_l: Option<f64>,
}

/// Of every paint that a job sprays.
pub fn amounts(job: &Job) -> Vec<Amount> {
    let used = |(i, _): &(usize, &crate::job::Paint)| job.coats.iter().any(|coat| job.paint_of(coat) == *i);
    job.paints.iter().enumerate().filter(used).map(|(i, paint)| of(job, i, paint)).collect()
}

fn of(job: &Job, index: usize, paint: &crate::job::Paint) -> Amount {
    // a coat sprays what flows while the trigger is open, whatever panel it is over
    let coats: Vec<usize> = (0..job.coats.len()).filter(|coat| job.paint_of(&job.coats[*coat]) == index).collect();
    let rehearsal = crate::rehearsal::Rehearsal::plan(job);
    let per_s = job.gun.fluid.0 / 60.0;
    let open = |coat: &usize| -> f64 {
        rehearsal.passes().iter().filter(|pass| pass.coat == *coat).map(|pass| pass.stroke.duration().0).sum()
    };
    let coats_ml: Vec<f64> = coats.iter().map(|coat| per_s * open(coat)).collect();
    let sprayed_ml: f64 = coats_ml.iter().sum();
    let mixed_ml = sprayed_ml * (1.0 + paint.reserve.0);
    let parts = [paint.parts_paint, paint.parts_hardener, paint.parts_thinner];
    let whole: f64 = parts.iter().sum();
    let mean: f64 = coats.iter().map(|coat| job.planned_film(&job.coats[*coat]).0).sum();
    Amount {
        paint: paint.name.clone(),
        coats_ml,
        sprayed_ml,
        reserve: paint.reserve.0,
        mixed_ml,
        parts_ml: parts.map(|part| mixed_ml * part / whole.max(1e-9)),
        spreading_m2_per_l: (mean > 0.0).then(|| spreading(paint.solids_by_volume.0, mean)),
    }
}

/// Theoretical spreading rate, m2/L, of a paint at a dry film, um: a litre of solids by volume s lies s litres thick over
/// its area.
pub fn spreading(solids: f64, film_um: f64) -> f64 {
    1000.0 * solids / film_um
}
