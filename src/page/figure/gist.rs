//! The finished film in short: its figures as readings show them, and one line of them.

use crate::parts::shown::Shown;
use crate::shell::app::App;
use fanlap::field::Spread;
use fanlap::job::inputs::{System, Unit};
use fanlap::words::times;

/// Film with the digits a reading deserves: a tenth of a micrometre, a hundredth of a mil, always written out.
pub fn film(value: f64, system: System) -> String {
    let (_, factor, digits) = Unit::Micrometre.shown(system);
    format!("{:.digits$}", value * factor)
}

/// Least to most.
pub fn range(spread: &Spread, system: System) -> String {
    format!("{}\u{2013}{}", film(spread.min_um, system), film(spread.max_um, system))
}

/// The finished film and colour in one line; the held ones before it.
pub fn in_one_line(app: &App) -> String {
    let line = |shown: &Shown| {
        let name = app.job.tinted().map_or("", |i| app.job.paints[i].name.as_str());
        let spread = shown.report.film.get(name).map_or(Spread::default(), |film| film.interior);
        let unit = Unit::Micrometre.shown(*app.system).0;
        let (mean, ends) = (film(spread.mean_um, *app.system), range(&spread, *app.system));
        let seen = shown.report.seen.as_ref().map_or(String::new(), |seen| {
            let at = fanlap::words::shown(Unit::Metre, seen.distance_m, *app.system);
            format!(", {}\u{d7} the threshold at {at}", times(seen.times_threshold.max))
        });
        format!("film {mean} {unit} ({ends}), \u{394}E {:.1}{seen}", shown.report.colour.delta_e00.mean)
    };
    match &*app.held {
        _ if app.job.coats.is_empty() => "No coats yet.".to_string(),
        Some(held) => format!("Held: {}. Now: {}.", line(&held.shown), line(&app.shown)),
        None => format!("Finished: {}.", line(&app.shown)),
    }
}
