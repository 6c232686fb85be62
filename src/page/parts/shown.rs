//! A rehearsal with everything the page shows of it, computed once: finished film, report, colours and palettes.
//! Draws nothing.

use crate::parts::sight::Sight;
use fanlap::advice::{AtAngle, at_angle};
use fanlap::colour::ScreenSpace;
use fanlap::eye::{Appearance, Films};
use fanlap::field::{Spread, Zone, cells_in, film_at};
use fanlap::picture::{Palette, map_top};
use fanlap::rehearsal::{Rehearsal, Wetness};
use fanlap::report::{Report, appearance, report_unseen, report_unseen_of};
use fanlap::units::Micrometres;
use glam::DVec2;
use std::cell::RefCell;

/// A finished rehearsal, ready to be looked at.
#[derive(Clone)]
pub struct Shown {
    /// The rehearsal.
    pub rehearsal: Rehearsal,
    /// No film on any cell.
    pub blank: Vec<f64>,
    /// Finished film of the tinted clear, um.
    pub finished: Vec<f64>,
    /// Finished film of the base coat, um; none where the job sprays none.
    pub base: Option<Vec<f64>>,
    /// Its report; what is seen of it comes later than the rest.
    pub report: Report,
    /// What an eye would see of it, once that is computed.
    pub sight: Option<Sight>,
    /// Colours by film.
    pub appearance: Appearance,
    /// What passes for the target within a difference, once it was asked.
    forgiven: RefCell<Option<(f64, Option<AtAngle>)>>,
    /// The interior film of each coat by itself, once it was asked for.
    coats: RefCell<Vec<Option<Spread>>>,
    /// Most film anywhere, um.
    pub most: Micrometres,
    /// The paint.
    pub paint: Palette,
}

impl Shown {
    /// The finished films at a place on the plan.
    pub fn films_at(&self, place: DVec2) -> Films {
        let at = |film: &[f64]| film_at(self.rehearsal.patch(), film, place);
        let base = self.base.as_deref().map_or(Micrometres(f64::INFINITY), at);
        Films { tinted: at(&self.finished), base }
    }

    /// The interior film of a coat by itself.
    pub fn coat(&self, coat: usize) -> Option<Spread> {
        let mut known = self.coats.borrow_mut();
        let of = || {
            let job = self.rehearsal.job();
            let interior = cells_in(Zone::Interior, &job.panel, job.gun.fan_width, self.rehearsal.patch());
            Spread::over(&self.rehearsal.film_of_coat(coat), &interior)
        };
        known.get_mut(coat).map(|spread| *spread.get_or_insert_with(of))
    }

    /// The films that pass for the target within a colour difference, and the stripes that are just seen.
    pub fn forgiven(&self, within: f64) -> Option<AtAngle> {
        let mut known = self.forgiven.borrow_mut();
        match *known {
            Some((of, forgiven)) if of == within => forgiven,
            _ => {
                let job = self.rehearsal.job();
                let forgiven = job.tinted().and_then(|_| at_angle(job, job.viewing.aspecular, within));
                *known = Some((within, forgiven));
                forgiven
            }
        }
    }

    /// Looks at a finished rehearsal.
    pub fn new(rehearsal: Rehearsal, space: ScreenSpace) -> Self {
        Self::reported(rehearsal, space, report_unseen)
    }

    /// Looks at its film; its report comes later, until then the last one stands.
    pub fn of_film(rehearsal: Rehearsal, space: ScreenSpace, last: Report) -> Self {
        Self::reported(rehearsal, space, |_, _| last)
    }

    /// Reports on the rehearsal, when its account is complete; what is seen of it comes later still.
    pub fn report(&mut self, wetness: &Wetness) {
        let seen = self.report.seen.take();
        self.report = Report { seen, ..report_unseen_of(&self.rehearsal, &self.appearance, wetness) };
    }

    fn reported(
        rehearsal: Rehearsal,
        space: ScreenSpace,
        report: impl FnOnce(&Rehearsal, &Appearance) -> Report,
    ) -> Self {
        let job = rehearsal.job();
        let cells = rehearsal.patch().window().len();
        let finished = job.tinted().map_or_else(|| vec![0.0; cells], |paint| rehearsal.film(paint));
        let most = Micrometres(finished.iter().copied().fold(1.0, f64::max));
        // by hand the film grows past what is shown while the trigger is open
        let by_hand = job.coats.iter().any(|coat| coat.track.is_some());
        let meant: f64 = job.coats.iter().map(|coat| job.planned_film(coat).0).sum();
        let reach = Micrometres(if by_hand { most.0.max(4.0 * meant) } else { most.0 });
        let appearance = appearance(job, space, reach);
        let coats = RefCell::new(vec![None; job.coats.len()]);
        let report = report(&rehearsal, &appearance);
        let paint = Palette::paint(&appearance, reach);
        let base = job.base().map(|paint| rehearsal.film(paint));
        Self {
            blank: vec![0.0; cells],
            finished,
            base,
            report,
            sight: None,
            appearance,
            forgiven: RefCell::new(None),
            coats,
            most,
            paint,
            rehearsal,
        }
    }
}

/// Even ends around a range, at four equal steps.
fn close_ends(least: f64, most: f64) -> (f64, f64) {
    for step in [1.0, 2.0, 4.0, 5.0, 10.0, 20.0, 50.0, 100.0] {
        let low = (((least + most) / 2.0 / step).round() - 2.0).max(0.0) * step;
        if low <= least && low + 4.0 * step >= most {
            return (low, low + 4.0 * step);
        }
    }
    (0.0, map_top(Micrometres(most)).0)
}

/// The ends of the maps; they stay while a control moves.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Scales {
    /// Upper end of the film map while the job is sprayed, um; it begins at 0.
    pub film: Micrometres,
    /// Both ends of the film map of the finished job, um: close around its film and the target.
    pub finished: (f64, f64),
    /// Both ends of the difference map, CIEDE2000.
    pub difference: f64,
    /// Upper end of the map of what is seen, times the threshold; it begins at 0.
    pub times: f64,
}

impl Scales {
    /// Scales wide enough for a rehearsal and its target.
    pub fn of(shown: &Shown) -> Self {
        let film = map_top(Micrometres(shown.most.0.max(1.2 * shown.appearance.target_film().0)));
        let most = shown.report.colour.delta_e00.max;
        let difference = [4.0, 8.0, 16.0, 32.0].into_iter().find(|top| most <= *top).unwrap_or(64.0);
        let least = shown.finished.iter().copied().fold(f64::INFINITY, f64::min);
        let target = shown.appearance.target_film().0;
        let finished = close_ends(least.min(target - 1.0), shown.most.0.max(target + 1.0));
        let most = shown.report.seen.as_ref().map_or(0.0, |seen| seen.times_threshold.max);
        let tops = [2.0, 4.0, 8.0, 12.0, 16.0, 20.0, 24.0, 32.0, 40.0, 60.0, 80.0, 120.0];
        let times = tops.into_iter().find(|top| most <= *top).unwrap_or(400.0);
        Self { film, finished, difference, times }
    }
}
