//! A finished rehearsal looked at from every side: its films by zone, its colour against the target, its wet film, and
//! what an eye sees of it. Each is computed when it is first asked for, and only once; the wet film and the sight can
//! also be computed in steps, so that a page stays alive. Findings, causes, pictures and the report all read the same
//! one.

mod colour;
mod sight;
mod wet;

pub use colour::{ColourOfFilm, Difference, appearance, film_window, target_film};
pub use sight::{FARTHEST, NEAREST, Sight, WorstSeen};
pub use wet::{WetFigures, WorstRun};

pub(crate) use sight::looking_at;

use crate::colour::ScreenSpace;
use crate::eye::{Appearance, Films};
use crate::field::{Spread, Zone, cells_in};
use crate::job::Job;
use crate::panel::Patch;
use crate::rehearsal::{Rehearsal, Wetness, rehearse};
use crate::units::Micrometres;
use fanlap_film::rehearsal::Wetting;
use serde::{Deserialize, Serialize};
use sight::{SightSteps, Step};
use std::sync::{Arc, OnceLock};

/// Rehearses a job and appraises the result.
///
/// ```
/// use fanlap::{appraisal::appraise, job::examples::EXAMPLES};
/// let mut job = EXAMPLES[0].job();
/// job.panel.cell.0 = 20.0; // coarse, for a quick look
/// let appraisal = appraise(&job);
/// assert!(appraisal.spreads(0).interior.mean_um > 30.0);
/// assert!(appraisal.sight().is_some_and(|sight| sight.worst.is_some()));
/// ```
pub fn appraise(job: &Job) -> Appraisal {
    Appraisal::of(rehearse(job))
}

/// A finished rehearsal with everything that is computed of it.
#[derive(Clone)]
pub struct Appraisal {
    rehearsal: Rehearsal,
    space: ScreenSpace,
    /// Colours are tabulated up to this film; none for the most film of the rehearsal.
    tabulated: Option<Micrometres>,
    films: Vec<OnceLock<Vec<f64>>>,
    /// The cells of the panel, of its interior and of its edge band.
    zones: [OnceLock<Vec<usize>>; 3],
    appearance: OnceLock<Appearance>,
    colour: OnceLock<ColourOfFilm>,
    wetness: OnceLock<Wetness>,
    sight: OnceLock<Option<Arc<Sight>>>,
    wetting: Pending<Wetting>,
    sighting: Pending<SightSteps>,
}

/// Something that is computed in steps. A copy begins it anew.
struct Pending<T>(Option<Box<T>>);

impl<T> Clone for Pending<T> {
    fn clone(&self) -> Self {
        Self(None)
    }
}

/// Dry film of one paint by zone.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct FilmSpreads {
    /// Every cell.
    pub panel: Spread,
    /// Away from the edges.
    pub interior: Spread,
    /// Along the rim.
    pub edge_band: Spread,
}

impl Appraisal {
    /// Of a finished rehearsal, with colours for an sRGB screen.
    pub fn of(rehearsal: Rehearsal) -> Self {
        Self::new(rehearsal, ScreenSpace::Srgb, None)
    }

    /// Of a finished rehearsal, with colours for a screen, tabulated at least up to a film.
    pub fn for_screen(rehearsal: Rehearsal, space: ScreenSpace, at_least: Micrometres) -> Self {
        let mut new = Self::new(rehearsal, space, None);
        new.tabulated = Some(Micrometres(new.most().0.max(at_least.0)));
        new
    }

    fn new(rehearsal: Rehearsal, space: ScreenSpace, tabulated: Option<Micrometres>) -> Self {
        Self {
            films: vec![OnceLock::new(); rehearsal.job().paints.len()],
            rehearsal,
            space,
            tabulated,
            zones: Default::default(),
            appearance: OnceLock::new(),
            colour: OnceLock::new(),
            wetness: OnceLock::new(),
            sight: OnceLock::new(),
            wetting: Pending(None),
            sighting: Pending(None),
        }
    }

    /// The rehearsal.
    pub fn rehearsal(&self) -> &Rehearsal {
        &self.rehearsal
    }

    /// Its job.
    pub fn job(&self) -> &Job {
        self.rehearsal.job()
    }

    /// Its cells.
    pub fn patch(&self) -> &Patch {
        self.rehearsal.patch()
    }

    /// Completes the account of the paint as long as there is time; false when it is complete. Only the account changes:
    /// what flies past the rim leaves no film.
    pub fn follow_some(&mut self, more: &mut dyn FnMut() -> bool) -> bool {
        self.rehearsal.follow_some(more)
    }

    /// Finished dry film of a paint, um, cell by cell.
    pub fn film(&self, paint: usize) -> &[f64] {
        self.films[paint].get_or_init(|| self.rehearsal.film(paint))
    }

    /// The film of the tinted clear; none of a job without one.
    pub fn tinted(&self) -> Option<&[f64]> {
        self.job().tinted().map(|paint| self.film(paint))
    }

    /// The film of the base coat; none of a job without one.
    pub fn base(&self) -> Option<&[f64]> {
        self.job().base().map(|paint| self.film(paint))
    }

    /// The films of one cell that carry colour.
    pub fn films_at(&self, cell: usize) -> Films {
        Films {
            tinted: Micrometres(self.tinted().map_or(0.0, |film| film[cell])),
            base: Micrometres(self.base().map_or(f64::INFINITY, |film| film[cell])),
        }
    }

    /// The most film of the tinted clear anywhere.
    pub fn most(&self) -> Micrometres {
        Micrometres(self.tinted().unwrap_or_default().iter().copied().fold(0.0, f64::max))
    }

    /// The cells of a zone, by index.
    pub fn cells(&self, zone: Zone) -> &[usize] {
        let known = &self.zones[zone as usize];
        known.get_or_init(|| cells_in(zone, &self.job().panel, self.job().gun.fan_width, self.patch()))
    }

    /// How the film of a paint is spread, zone by zone.
    pub fn spreads(&self, paint: usize) -> FilmSpreads {
        let film = self.film(paint);
        let over = |zone| Spread::over(film, self.cells(zone));
        FilmSpreads { panel: over(Zone::Panel), interior: over(Zone::Interior), edge_band: over(Zone::EdgeBand) }
    }

    /// The colours of the job's films.
    pub fn appearance(&self) -> &Appearance {
        let tabulated = || self.tabulated.unwrap_or_else(|| self.most());
        self.appearance.get_or_init(|| appearance(self.job(), self.space, tabulated()))
    }

    /// The colour over the interior against the target.
    pub fn colour(&self) -> &ColourOfFilm {
        self.colour.get_or_init(|| ColourOfFilm::of(self))
    }

    /// The wet film of all paints.
    pub fn wetness(&self) -> &Wetness {
        self.wetness.get_or_init(|| Wetness::of(&self.rehearsal))
    }

    /// Goes on with the wet film by a pass at most; false when it is there.
    pub fn step_wetness(&mut self) -> bool {
        if self.wetness.get().is_some() {
            return false;
        }
        let mut wetting = self.wetting.0.take().unwrap_or_else(|| Box::new(Wetting::new(&self.rehearsal)));
        if wetting.step(&self.rehearsal) {
            self.wetting.0 = Some(wetting);
            return true;
        }
        self.wetness = OnceLock::from(wetting.finish(&self.rehearsal));
        false
    }

    /// The wet film of a paint in figures.
    pub fn wet(&self, paint: usize) -> WetFigures {
        WetFigures::of(self.job(), self.wetness(), paint)
    }

    /// What the job's eye sees of the finished film; none where no coat carries colour, or on a panel too small for it.
    pub fn sight(&self) -> Option<&Arc<Sight>> {
        let at_once = || {
            let mut steps = SightSteps::of(self)?;
            loop {
                match steps.step(self) {
                    Step::More(rest) => steps = rest,
                    Step::Done(sight) => return Some(Arc::from(sight)),
                }
            }
        };
        self.sight.get_or_init(at_once).as_ref()
    }

    /// Goes on with the sight by a part; false when it is there, or there is none.
    pub fn step_sight(&mut self) -> bool {
        if self.sight.get().is_some() {
            return false;
        }
        let begun = self.sighting.0.take().or_else(|| SightSteps::of(self).map(Box::new));
        match begun.map(|steps| steps.step(self)) {
            None => self.sight = OnceLock::from(None),
            Some(Step::Done(sight)) => self.sight = OnceLock::from(Some(Arc::from(sight))),
            Some(Step::More(rest)) => self.sighting.0 = Some(Box::new(rest)),
        }
        self.sight.get().is_none()
    }
}
