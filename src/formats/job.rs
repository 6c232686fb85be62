//! The job: everything a rehearsal needs, as it stands in the job file. Reading, checking, changing one value,
//! writing, and the link that carries a whole job. Does not rehearse.

mod cards;
pub mod examples;
pub mod inputs;
pub mod instrument;
mod limits;
mod link;
mod read;
mod spectra;
mod tracks;

pub use cards::{Car, Cards, Fields, LADDER, MOST_CARDS, MOST_COATS, MeasuredCard, MeasuredCards};
pub use limits::{LIMITS, Limits};
pub use link::{pack, unpack};
pub use read::LARGEST_BYTES;
pub use spectra::{Angles, Files};
pub use tracks::read_track;

pub use fanlap_colour::ANGLES;

use fanlap_colour::eye::{Eye, Onlooker, Target};
use fanlap_colour::{Base, Illuminant, Observer, Spectrum, TintedClear, Viewing};
use fanlap_film::error::Problem;
use fanlap_film::gun::{Gun, TestCard};
use fanlap_film::panel::Panel;
use fanlap_film::plan::Plan;
use fanlap_film::strokes::{Coat, Hand, OUTSIDE};
use fanlap_film::units::{Degrees, Fraction, Metres, Micrometres, Millimetres, Minutes, PascalSeconds};
use fanlap_film::wet::{Drying, Flow};
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::sync::LazyLock;

/// Version of the job file that this program writes and reads.
pub const VERSION: u64 = 1;

/// One job. Every value in it has passed the checks of the inputs table.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Job {
    fanlap_job: u64,
    /// What it is called.
    pub title: String,
    /// What is sprayed.
    pub panel: Panel,
    /// What it is sprayed with.
    pub gun: Gun,
    /// The paints, by name.
    pub paints: Vec<Paint>,
    /// What the first paint lies on.
    pub ground: Ground,
    /// What is aimed at.
    pub target: Target,
    /// How it is looked at.
    pub viewing: View,
    /// The coats in order.
    pub coats: Vec<Coat>,
    /// Whose hand.
    pub hand: Hand,
    /// The spray-out cards.
    pub cards: Cards,
    /// The car's colour, if it was measured.
    pub car: Option<Car>,
    /// What was measured on one's own cards.
    pub measured: Option<MeasuredCards>,
    /// Film across one pass of the gun.
    pub test_card: Option<TestCard>,
}

/// What a paint is for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Role {
    /// Carries the colour.
    TintedClear,
    /// Does not change it.
    Clear,
    /// Lies under the tinted clear and hides what lies under itself.
    Base,
}

/// One paint, as in the job file's `paints`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Paint {
    /// Name by which the coats call it.
    pub name: String,
    /// What it is for.
    pub role: Role,
    /// Share of the wet paint that stays as dry film.
    pub solids_by_volume: Fraction,
    /// Napierian absorption, 1/um; none for an untinted clear.
    #[serde(rename = "absorption_per_um", with = "spectra::inline")]
    pub absorption: Spectrum,
    /// Scatter of a tinted clear, 1/um.
    pub scatter_per_um: f64,
    /// Whether a base carries flakes; of no meaning for a clear.
    pub kind: GroundKind,
    /// Look of a base where it hides, as measured under untinted clear; none for a clear.
    pub reflectance: Option<Angles>,
    /// Dry film from which on a base hides black and white.
    #[serde(rename = "hides_at_um")]
    pub hides_at: Micrometres,
    /// Most wet film that holds on a standing panel.
    #[serde(rename = "sag_limit_um_wet")]
    pub sag_limit: Micrometres,
    /// How long the film stays open: paint that comes later does not melt into it.
    #[serde(rename = "open_time_min")]
    pub open_time: Minutes,
    /// Its solvent falls to 1/e over this time.
    #[serde(rename = "solvent_leaves_over_min")]
    pub solvent_leaves_over: Minutes,
    /// On the panel, just after landing.
    #[serde(rename = "viscosity_pa_s")]
    pub viscosity: PascalSeconds,
    /// That rises e-fold over this time.
    #[serde(rename = "thickens_over_min")]
    pub thickens_over: Minutes,
    /// Parts by volume in the mixing ratio: of the paint itself,
    pub parts_paint: f64,
    /// of hardener,
    pub parts_hardener: f64,
    /// and of thinner.
    pub parts_thinner: f64,
    /// Mixed beyond what is sprayed.
    pub reserve: Fraction,
}

impl Paint {
    /// The paint as far as its film goes.
    pub fn as_film(&self) -> fanlap_film::plan::Paint {
        fanlap_film::plan::Paint {
            name: self.name.clone(),
            solids_by_volume: self.solids_by_volume,
            sag_limit: self.sag_limit,
            open_time: self.open_time,
            solvent_leaves_over: self.solvent_leaves_over,
            viscosity: self.viscosity,
            thickens_over: self.thickens_over,
        }
    }

    /// How it flows on the panel.
    pub fn flow(&self) -> Flow {
        self.as_film().flow()
    }

    /// How it dries.
    pub fn drying(&self) -> Drying {
        self.as_film().drying()
    }
}

/// What the first paint lies on, as measured under untinted clear.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Ground {
    /// Whether it carries flakes.
    pub kind: GroundKind,
    /// Reflectance factors by aspecular angle, ascending; 45 degrees is always there, and alone for a solid ground.
    pub reflectance: Angles,
}

/// Kinds of ground.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum GroundKind {
    /// With flakes: measured at every angle it is looked at.
    Effect,
    /// Without flakes: measured at 45:0 without gloss, taken as evenly diffuse.
    Solid,
}

impl Ground {
    /// The ground as it is looked at from an aspecular angle; none if an effect ground was not measured there.
    pub fn at(&self, aspecular: Degrees) -> Option<Base<'_>> {
        looked_at(self.kind, &self.reflectance, aspecular)
    }
}

fn looked_at(kind: GroundKind, reflectance: &Angles, aspecular: Degrees) -> Option<Base<'_>> {
    match kind {
        GroundKind::Effect => reflectance.at(aspecular).map(Base::Effect),
        GroundKind::Solid => reflectance.at(Degrees(45.0)).map(Base::Solid),
    }
}

/// How it is looked at, as in the job file's `viewing`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct View {
    /// Name of the light.
    pub illuminant: String,
    /// Field of view of the observer, 2 or 10 degrees.
    pub observer_deg: u8,
    /// Angle from the mirror direction.
    #[serde(rename = "aspecular_deg")]
    pub aspecular: Degrees,
    /// From how far.
    #[serde(rename = "distance_m")]
    pub distance: Metres,
    /// By whom.
    pub eye: String,
    /// How bright a surround the gloss mirrors, against a white card in the same light; 0 leaves the gloss out.
    pub surround_gloss: f64,
}

impl View {
    /// The same as colour knows it.
    pub fn viewing(&self) -> Viewing {
        Viewing {
            illuminant: Illuminant::from_name(&self.illuminant).unwrap_or(Illuminant::D65),
            observer: Observer::from_degrees(self.observer_deg).unwrap_or(Observer::Degrees10),
            aspecular: self.aspecular,
            surround_gloss: self.surround_gloss,
        }
    }

    /// Who looks, in a well lit workshop.
    pub fn onlooker(&self) -> Onlooker {
        Onlooker::well_lit(if self.eye == "anyone" { Eye::Anyone } else { Eye::Trained })
    }
}

static DEFAULT: LazyLock<Job> =
    LazyLock::new(|| Job::read("{\"fanlap_job\":1}", &Files::none()).expect("the defaults are within their limits"));

impl Default for Job {
    /// A job of which nothing is given: one tinted clear of the demonstration paint, no coats.
    fn default() -> Self {
        DEFAULT.clone()
    }
}

impl Job {
    /// The job's hand without an error: it swings about the same pivot, walks as long and has the same seed.
    pub fn faultless_hand(&self) -> Hand {
        let Hand { arc_pivot, walk_round, seed, .. } = self.hand;
        Hand { arc_pivot, walk_round, seed, ..Self::default().hand }
    }

    /// Reads and checks a job file. `files` serves the spectra that lie beside it.
    ///
    /// ```
    /// use fanlap_formats::job::{Files, Job};
    /// let text = r#"{ "fanlap_job": 1, "coats": [ { "overlap": 1.4 } ] }"#;
    /// let problem = Job::read(text, &Files::none()).unwrap_err();
    /// assert_eq!(problem.to_string(),
    ///     "coats[0].overlap: given 1.4; allowed is 0 to 0.9 as a share of 1. Change Overlap to a value within this range.");
    /// ```
    pub fn read(text: &str, files: &Files) -> Result<Self, Problem> {
        read::job(read::parse(text)?, files)
    }

    /// The job as JSON, complete.
    pub fn value(&self) -> Value {
        serde_json::to_value(self).expect("a job is made of plain values")
    }

    /// The job as the text of a job file.
    pub fn text(&self) -> String {
        serde_json::to_string_pretty(&self.value()).expect("a job is made of plain values") + "\n"
    }

    /// The value at a path such as `coats[1].overlap`.
    pub fn get(&self, path: &str) -> Option<Value> {
        at(&self.value(), path).cloned()
    }

    /// The same job with one value changed, checked as a whole.
    ///
    /// ```
    /// # use fanlap_formats::job::Job;
    /// let job = Job::default().with("gun.fan_width_mm", &300.into()).unwrap();
    /// assert_eq!(job.gun.fan_width.0, 300.0);
    /// ```
    pub fn with(&self, path: &str, value: &Value) -> Result<Self, Problem> {
        let mut whole = self.value();
        match whole.pointer_mut(&pointer(path)) {
            Some(place) => *place = value.clone(),
            None if inputs::input(path).is_some() => {
                let remedy = "Add the item or the section first.";
                return Err(Problem::new(path, "a place that this job does not have", "a place of this job", remedy));
            }
            None => {
                return Err(read::unknown(path, &inputs::INPUTS.iter().map(inputs::Input::key).collect::<Vec<_>>()));
            }
        }
        read::job(whole, &Files::none())
    }

    /// The same job with several values changed, one after the other.
    pub fn with_all<'a>(&self, set: impl IntoIterator<Item = (&'a String, &'a Value)>) -> Result<Self, Problem> {
        set.into_iter().try_fold(self.clone(), |job, (path, value)| job.with(path, value))
    }

    /// A coat with the defaults of the inputs table.
    pub fn default_coat() -> Coat {
        let with_one = Job::read("{\"fanlap_job\":1,\"coats\":[{}]}", &Files::none());
        with_one.expect("the defaults are within their limits").coats.remove(0)
    }

    /// A coat for this job that nobody has planned yet: the defaults, but the first line where a painter begins, which is
    /// nearer to the edge than the default of older jobs.
    pub fn new_coat(&self) -> Coat {
        let mut coat = Self::default_coat();
        coat.margin.0 = (OUTSIDE * self.gun.width_at(coat.distance).0 / 5.0).floor() * 5.0;
        coat
    }

    /// The same job, checked as a whole: for one that was put together.
    pub fn checked(self) -> Result<Self, Problem> {
        read::job(self.value(), &Files::none())
    }

    /// The whole job as the fragment of a link.
    pub fn link(&self) -> String {
        link::write(self)
    }

    /// The job that a link's fragment carries.
    pub fn from_link(fragment: &str) -> Result<Self, Problem> {
        link::read(fragment)
    }

    /// What is sprayed, as far as the film goes.
    pub fn plan(&self) -> Plan {
        let paints = self.paints.iter().map(Paint::as_film).collect();
        Plan::new(self.panel.clone(), self.gun.clone(), paints, self.coats.clone(), self.hand.clone())
            .expect("checked when the job was read")
    }

    /// The tinted clear that carries the colour: its place among the paints.
    pub fn tinted(&self) -> Option<usize> {
        self.paints.iter().position(|paint| paint.role == Role::TintedClear)
    }

    /// The first coat of it: its place among the coats.
    pub fn tinted_coat(&self) -> Option<usize> {
        let tinted = self.tinted()?;
        self.coats.iter().position(|coat| self.paint_of(coat) == tinted)
    }

    /// The base that is sprayed under it: its place among the paints.
    pub fn base(&self) -> Option<usize> {
        self.paints.iter().position(|paint| paint.role == Role::Base)
    }

    /// The paints that are sprayed and carry colour: the base, then the tinted clear.
    pub fn coloured(&self) -> Vec<usize> {
        let sprayed = |paint: &usize| self.coats.iter().any(|coat| self.paint_of(coat) == *paint);
        [self.base(), self.tinted()].into_iter().flatten().filter(sprayed).collect()
    }

    /// The tinted clear as colour knows it; one without colour where the job has none.
    pub fn tinted_clear(&self) -> TintedClear {
        let none = TintedClear::from(&Spectrum::constant(0.0));
        self.tinted().map_or(none, |i| {
            let paint = &self.paints[i];
            TintedClear { absorption: paint.absorption, scatter: paint.scatter_per_um }
        })
    }

    /// What the tinted clear lies on where the base hides, seen at an angle: the job's base, or its ground if it has
    /// none; none if it was not measured there.
    pub fn under_tint(&self, aspecular: Degrees) -> Option<Base<'_>> {
        match self.base().map(|i| &self.paints[i]) {
            Some(base) => looked_at(base.kind, base.reflectance.as_ref()?, aspecular),
            None => self.ground.at(aspecular),
        }
    }

    /// Angles at which the job can be looked at, ascending: where base and ground were measured.
    pub fn angles(&self) -> Vec<Degrees> {
        let known = |angle: &Degrees| self.under_tint(*angle).is_some() && self.ground.at(*angle).is_some();
        ANGLES.into_iter().map(Degrees).filter(known).collect()
    }

    /// For a flood test: the gun's distance, that of the first coat or where the gun was measured, and the sag limit of
    /// the paint then in it.
    pub fn flood_test(&self) -> (Millimetres, Micrometres) {
        let coat = self.coats.first();
        let paint = coat.map(|coat| self.paint_of(coat)).or(self.tinted()).unwrap_or(0);
        let sag_limit = self.paints.get(paint).map_or(Micrometres(120.0), |paint| paint.sag_limit);
        (coat.map_or(self.gun.at_distance, |coat| coat.distance), sag_limit)
    }

    /// The place among the paints of a coat's paint.
    pub fn paint_of(&self, coat: &Coat) -> usize {
        self.paints.iter().position(|paint| paint.name == coat.paint).expect("checked when the job was read")
    }

    /// Dry film that a coat lays away from the edges by plan: what leaves the gun, less what misses and what dries off,
    /// over the area the gun passes in the same time.
    pub fn planned_film(&self, coat: &Coat) -> Micrometres {
        let solids = self.paints[self.paint_of(coat)].solids_by_volume.0;
        let cubic_mm_per_s = self.gun.fluid.cubic_mm_per_s() * self.gun.transfer_at(coat.distance).0 * solids;
        Micrometres(1000.0 * cubic_mm_per_s / (coat.actual_speed().0 * coat.spacing(&self.gun).0))
    }
}

/// The value at a path such as `coats[1].overlap` of a job's JSON.
pub fn at<'a>(value: &'a Value, path: &str) -> Option<&'a Value> {
    value.pointer(&pointer(path))
}

/// `coats[1].overlap` as a JSON pointer.
fn pointer(path: &str) -> String {
    format!("/{}", path.replace('[', "/").replace(']', "").replace('.', "/"))
}
