//! The film at the present moment, and its change from one that is held. Draws nothing.

use crate::shell::app::{App, Held};
use crate::shell::room::Film;

/// Film of the tinted clear at the present moment.
pub fn present(app: &App) -> &[f64] {
    match (app.film_instead(), app.job.tinted()) {
        (Some(Film::Veiled), _) => &app.shown.blank,
        (Some(Film::Growing(film)), _) => film,
        (None, Some(paint)) => app.playback.film(paint),
        (None, None) => &app.shown.finished,
    }
}

/// Film of the base coat at the present moment; none where the job sprays none.
pub fn present_base(app: &App) -> Option<&[f64]> {
    app.job.base().map(|paint| app.playback.film(paint))
}

/// Film now less film held, cell by cell of the present grid, um.
pub fn changes(app: &App, held: &Held) -> Vec<f64> {
    let patch = app.shown.rehearsal.patch();
    let then = |index: usize| {
        let place = patch.centre(index % patch.columns, index / patch.columns);
        fanlap::field::film_at(held.shown.rehearsal.patch(), &held.shown.finished, place).0
    };
    present(app).iter().enumerate().map(|(i, now)| now - then(i)).collect()
}

/// Ends of the map of changes, um: an even figure at or above the largest change.
pub fn change_top(changes: &[f64]) -> f64 {
    let most = changes.iter().fold(0.0_f64, |most, change| most.max(change.abs()));
    let steps = [1.0, 2.0, 4.0, 8.0, 12.0, 20.0, 40.0, 60.0, 100.0, 200.0];
    steps.into_iter().find(|top| most <= *top).unwrap_or(most)
}
