//! The cards of a job as they were sprayed last, and the film that comes nearest to the car. Shows nothing.

use crate::shell::app::App;
use crate::shell::room::States;
use fanlap::cards::{Card, Looks, Nearest, aimed, angles_in_words, nearest, spray_outs};
use fanlap::job::Job;
use fanlap::units::Degrees;

/// Where they lie.
type State = Option<Sprayed>;

/// Its state when the page opens.
pub fn state(states: &mut States) {
    states.put::<State>(None);
}

/// The cards of a job, as they were sprayed last.
pub struct Sprayed {
    /// The job they belong to.
    job: Job,
    /// The cards.
    pub cards: Vec<Card>,
    /// The film that comes nearest to the car.
    pub nearest: Option<Nearest>,
}

impl Sprayed {
    fn of(job: &Job) -> Self {
        let cards = spray_outs(job);
        let nearest = nearest(job, &cards);
        Self { job: job.clone(), cards, nearest }
    }

    /// The card that the rehearsal would aim at.
    pub fn aimed(&self) -> Option<&Card> {
        aimed(&self.job, &self.cards, self.nearest.as_ref())
    }

    /// The card whose colour comes nearest, where cards can be compared under this light from this angle.
    pub fn closest(&self, looks: &Looks) -> Option<f64> {
        looks.compared.lab()?;
        self.nearest.as_ref()?.card
    }

    /// Several angles count in what is closest: their words.
    pub fn angles(&self) -> Option<String> {
        let angles: Vec<Degrees> =
            self.nearest.iter().flat_map(|near| near.differences.iter().map(|(a, _)| *a)).collect();
        (angles.len() > 1).then(|| angles_in_words(&angles, "and"))
    }
}

/// The cards as they were sprayed last.
pub fn sprayed(app: &App) -> Option<&Sprayed> {
    app.states.of::<State>().as_ref()
}

/// Sprays them for the job as it is now, unless that is done.
pub fn spray(app: &mut App) {
    if sprayed(app).is_none_or(|sprayed| sprayed.job != *app.job) {
        *app.states.of_mut::<State>() = Some(Sprayed::of(&app.job));
    }
}
