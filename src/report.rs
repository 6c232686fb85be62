//! The report of a rehearsal, as the job file's contract names its keys: film, wet film, paint, time and colour. The page, the
//! command line and other people's scripts read the same one.

mod faults;
mod seen;
mod wet;

pub use faults::{Cause, Cure, Finding, Kind, Part, Place};

pub use seen::{FARTHEST, NEAREST, Seen, Worst, looking, looking_at, seen_by};
pub use wet::{Wet, WorstRun, wet};

use crate::colour::{BaseCoat, Lab, ScreenSpace};
use crate::eye::{Appearance, Films, Under};
use crate::field::{Spread, Zone, cells_in};
use crate::job::Job;
use crate::maths::sort;
use crate::rehearsal::{Account, Rehearsal, Wetness};
use crate::units::{Degrees, Micrometres};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// Version of the report.
pub const VERSION: u64 = 1;

/// All that is reported.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Report {
    /// Its version.
    pub fanlap_report: u64,
    /// Dry film by paint.
    pub film: BTreeMap<String, Film>,
    /// Wet film by paint: runs and wet edges.
    pub wet: BTreeMap<String, Wet>,
    /// Where the paint went, by paint.
    pub paint: BTreeMap<String, Paint>,
    /// How long it takes.
    pub time: Time,
    /// Colour against the target.
    pub colour: Colour,
    /// What an eye would see of the film's unevenness; none where no coat carries colour, or on a panel too small
    /// for any band.
    pub seen: Option<Seen>,
    /// What is wrong, worst first; none where it was not looked for.
    pub findings: Option<Vec<Finding>>,
}

/// Dry film of one paint.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Film {
    /// Every cell.
    pub panel: Spread,
    /// Away from the edges.
    pub interior: Spread,
    /// Along the rim.
    pub edge_band: Spread,
}

/// Wet paint, mL.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Paint {
    /// Left the gun.
    pub sprayed_ml: f64,
    /// Lies on the panel.
    pub on_panel_ml: f64,
    /// Was carried past the rim.
    pub off_panel_ml: f64,
    /// Was lost in the air.
    pub lost_in_air_ml: f64,
}

impl From<&Account> for Paint {
    fn from(account: &Account) -> Self {
        Self {
            sprayed_ml: account.sprayed.0,
            on_panel_ml: account.on_panel.0,
            off_panel_ml: account.off_panel.0,
            lost_in_air_ml: account.lost_in_air.0,
        }
    }
}

/// Durations, s.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Time {
    /// Trigger open.
    pub spraying_s: f64,
    /// From the first trigger to the end of the last flash-off.
    pub total_s: f64,
}

/// Colour over the interior against the target.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Colour {
    /// Aimed at.
    pub target: Sample,
    /// Mean of L*, a* and b* over the interior.
    pub mean: Sample,
    /// CIEDE2000 to the target over the interior.
    pub delta_e00: Difference,
}

/// A colour.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Sample {
    /// L*, a*, b*.
    pub lab: [f64; 3],
}

impl From<Lab> for Sample {
    fn from(lab: Lab) -> Self {
        Self { lab: [lab.l, lab.a, lab.b] }
    }
}

/// Colour differences.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
pub struct Difference {
    /// Mean.
    pub mean: f64,
    /// Not passed in 19 places of 20 (linear interpolation between ranks).
    pub p95: f64,
    /// Most.
    pub max: f64,
}

impl Difference {
    fn of(mut values: Vec<f64>) -> Self {
        let Some(last) = values.len().checked_sub(1) else { return Self::default() };
        let mean = values.iter().sum::<f64>() / values.len() as f64;
        sort(&mut values);
        let rank = 0.95 * last as f64;
        let (low, part) = (rank.floor() as usize, rank - rank.floor());
        let p95 = values[low] + (values[(low + 1).min(last)] - values[low]) * part;
        Self { mean, p95, max: values[last] }
    }
}

/// The report of a finished rehearsal.
pub fn report(rehearsal: &Rehearsal) -> Report {
    let appearance = appearance_of(rehearsal);
    Report { seen: seen::seen(rehearsal, &appearance), ..report_unseen(rehearsal, &appearance) }
}

/// The colours of a rehearsal's job, tabulated up to its most film.
pub fn appearance_of(rehearsal: &Rehearsal) -> Appearance {
    let film = rehearsal.job().tinted().map(|paint| rehearsal.film(paint)).unwrap_or_default();
    appearance(rehearsal.job(), ScreenSpace::Srgb, Micrometres(film.into_iter().fold(0.0, f64::max)))
}

/// The report without what an eye would see, which takes as long as the rest and may come later; the colours of the
/// job's films come from outside, where they are needed too.
pub fn report_unseen(rehearsal: &Rehearsal, appearance: &Appearance) -> Report {
    report_unseen_of(rehearsal, appearance, &Wetness::of(rehearsal))
}

/// The same where its wet film is known already.
pub fn report_unseen_of(rehearsal: &Rehearsal, appearance: &Appearance, wetness: &Wetness) -> Report {
    let job = rehearsal.job();
    let films: Vec<Vec<f64>> = (0..job.paints.len()).map(|paint| rehearsal.film(paint)).collect();
    let zone = |zone| cells_in(zone, &job.panel, job.gun.fan_width, rehearsal.patch());
    let (panel, interior, edge_band) = (zone(Zone::Panel), zone(Zone::Interior), zone(Zone::EdgeBand));
    let spread = |film: &[f64]| Film {
        panel: Spread::over(film, &panel),
        interior: Spread::over(film, &interior),
        edge_band: Spread::over(film, &edge_band),
    };
    let film_of = |paint: Option<usize>| paint.map(|i| films[i].as_slice());
    let by_name = |i: usize| job.paints[i].name.clone();
    Report {
        fanlap_report: VERSION,
        film: films.iter().enumerate().map(|(i, film)| (by_name(i), spread(film))).collect(),
        wet: (0..films.len()).map(|i| (by_name(i), wet(job, wetness, i))).collect(),
        paint: rehearsal.accounts().iter().enumerate().map(|(i, account)| (by_name(i), account.into())).collect(),
        time: Time { spraying_s: rehearsal.spraying().0, total_s: rehearsal.total().0 },
        colour: colour(appearance, &Sprayed { tinted: film_of(job.tinted()), base: film_of(job.base()) }, &interior),
        seen: None,
        findings: None,
    }
}

/// The colour of a job's tinted clear over its base and ground, tabulated up to `film_max`; without a tinted clear, of
/// what lies under it alone.
pub fn appearance(job: &Job, space: ScreenSpace, film_max: Micrometres) -> Appearance {
    let aspecular = job.viewing.aspecular;
    let ground = job.ground.at(aspecular).expect("checked when the job was read");
    let thick = job.under_tint(aspecular).expect("checked when the job was read");
    let (clear, viewing) = (job.tinted_clear(), job.viewing.viewing());
    let over = |under| Appearance::over(under, clear, &viewing, space, &job.target, film_max);
    let base = job.base().and_then(|i| Some((&job.paints[i], job.paints[i].reflectance.as_ref()?.at(Degrees(45.0))?)));
    match base {
        None => over(Under::Ground(ground)),
        Some((paint, seen)) => {
            let coat = BaseCoat::new(seen, paint.hides_at);
            over(Under::BaseCoat { coat: &coat, hides_at: paint.hides_at, thick, ground })
        }
    }
}

/// The films of a job's tinted clear and of its base, as far as it has them.
pub struct Sprayed<'a> {
    /// Dry film of the tinted clear, um, cell by cell.
    pub tinted: Option<&'a [f64]>,
    /// Dry film of the base, um, cell by cell.
    pub base: Option<&'a [f64]>,
}

impl Sprayed<'_> {
    /// The films of one cell.
    pub fn at(&self, cell: usize) -> Films {
        Films {
            tinted: Micrometres(self.tinted.map_or(0.0, |film| film[cell])),
            base: Micrometres(self.base.map_or(f64::INFINITY, |film| film[cell])),
        }
    }
}

fn colour(appearance: &Appearance, sprayed: &Sprayed, interior: &[usize]) -> Colour {
    let labs: Vec<Lab> = interior.iter().map(|i| appearance.lab(sprayed.at(*i))).collect();
    let count = labs.len().max(1) as f64;
    let mean = |part: fn(&Lab) -> f64| labs.iter().map(part).sum::<f64>() / count;
    let mean = [mean(|lab| lab.l), mean(|lab| lab.a), mean(|lab| lab.b)];
    let differences = appearance.differences(interior.iter().map(|i| sprayed.at(*i)));
    Colour { target: appearance.target().into(), mean: Sample { lab: mean }, delta_e00: Difference::of(differences) }
}

/// The film of one paint as a grid: first row `y_mm` and the x of each column, then a row per grid line with its y
/// first; dry film in um at cell centres.
pub fn film_csv(rehearsal: &Rehearsal, paint: usize) -> String {
    let (patch, film) = (rehearsal.patch(), rehearsal.film(paint));
    let mut text = String::from("y_mm");
    (0..patch.columns).for_each(|column| text += &format!(",{}", patch.centre(column, 0).x));
    for row in 0..patch.rows {
        text += &format!("\n{}", patch.centre(0, row).y);
        film[row * patch.columns..][..patch.columns].iter().for_each(|value| text += &format!(",{value}"));
    }
    text + "\n"
}
