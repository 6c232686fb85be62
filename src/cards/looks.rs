//! How cards, car, sticker and bare base look under one light from one angle, as colours and on a screen: all of them
//! with one exposure, so that they can be compared, and without what the gloss mirrors: a picture is as light as its
//! L*. Does not know how a card was sprayed.

use crate::colour::{
    Base, Geometry, Illuminant, Lab, Observer, STICKER, Screen, ScreenSpace, Shown, Solid, Spectrum, TintedClear,
    Viewing, Xyz, delta_e00,
};
use crate::job::Job;
use crate::units::{Degrees, Micrometres};

/// A colour, and how a screen shows it.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Look {
    /// As measured.
    pub lab: Lab,
    /// As shown.
    pub shown: Shown,
}

/// The fields of a hiding sticker through a film, as the painter sees them: black, grey, white.
pub type Sticker = [Look; 3];

/// What the cards are compared with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Compared {
    /// The car's colour, measured at this angle and for this light.
    Car(Lab),
    /// The car was measured, but not so: nothing can be compared.
    CarNotMeasuredSo,
    /// No car was measured: the job's target.
    Target(Lab),
}

impl Compared {
    /// The colour, where there is one.
    pub fn lab(&self) -> Option<Lab> {
        match self {
            Self::Car(lab) | Self::Target(lab) => Some(*lab),
            Self::CarNotMeasuredSo => None,
        }
    }
}

/// Films among which the nearest is sought for the screen: 0 to 120 um.
const FILMS: i32 = 120;
const STEP: f64 = 1.0;

/// The job's paint under one light from one angle.
pub struct Looks<'a> {
    clear: TintedClear,
    base: Base<'a>,
    geometry: Geometry,
    viewing: Viewing,
    screen: Screen,
    exposure: f64,
    /// The spectrum of what the cards are compared with, where it is known.
    reference: Option<Spectrum>,
    /// What the cards are compared with.
    pub compared: Compared,
}

impl<'a> Looks<'a> {
    /// Of a job as its `viewing` says.
    pub fn of(job: &'a Job, space: ScreenSpace) -> Self {
        let looks = Self::at(job, job.viewing.aspecular, job.viewing.viewing().illuminant, space);
        looks.expect("checked when the job was read")
    }

    /// Of a job at some angle under some light; none at an angle at which its base was not measured.
    pub fn at(job: &'a Job, aspecular: Degrees, illuminant: Illuminant, space: ScreenSpace) -> Option<Self> {
        let viewing = Viewing { aspecular, illuminant, ..job.viewing.viewing() };
        let geometry = Geometry::new(aspecular);
        let screen = Screen::new(space, illuminant, &geometry).with_surround(viewing.surround_gloss);
        let base = job.under_tint(aspecular)?;
        let nothing = Compared::CarNotMeasuredSo;
        let clear = job.tinted_clear();
        let mut looks =
            Self { clear, base, geometry, viewing, screen, exposure: 1.0, reference: None, compared: nothing };
        let white = Self::sticker_field(&looks, 2, Micrometres(0.0));
        let brightest = [looks.seen(Micrometres(0.0)), white];
        let most = brightest.iter().flat_map(|seen| looks.screen.light(seen)).fold(1.0, f64::max);
        looks.exposure = 1.0 / most;
        looks.compared = match &job.car {
            Some(car) => car.lab(aspecular, illuminant, viewing.observer).map_or(nothing, Compared::Car),
            None => match job.target {
                crate::eye::Target::Film(film) => Compared::Target(looks.lab(film)),
                crate::eye::Target::Colour([l, a, b]) if looks.as_job_says(job) => Compared::Target(Lab { l, a, b }),
                crate::eye::Target::Colour(_) => nothing,
            },
        };
        looks.reference = match (&job.car, job.target) {
            (Some(car), _) => car.spectrum(aspecular).copied(),
            (None, crate::eye::Target::Film(film)) => Some(looks.seen(film)),
            (None, crate::eye::Target::Colour(_)) => None,
        };
        Some(looks)
    }

    fn as_job_says(&self, job: &Job) -> bool {
        self.viewing == job.viewing.viewing()
    }

    /// Reflectance factor of a film over the base.
    pub fn seen(&self, film: Micrometres) -> Spectrum {
        self.base.through(self.clear, film, &self.geometry)
    }

    /// Colour of a film over the base.
    pub fn lab(&self, film: Micrometres) -> Lab {
        self.lab_of(&self.seen(film))
    }

    /// A film over the base.
    pub fn card(&self, film: Micrometres) -> Look {
        self.look(&self.seen(film))
    }

    /// A hiding sticker under a film, put on after the base: what lies under it is hidden.
    pub fn sticker(&self, film: Micrometres) -> Sticker {
        std::array::from_fn(|field| self.look(&self.sticker_field(field, film)))
    }

    /// The colour that the cards are compared with, on the screen: by its spectrum, as the cards are. CIELAB alone has no
    /// spectrum, and a screen goes by another observer than paint: it is shown like the film of this paint that comes
    /// nearest, each tristimulus value in the ratio in which the two differ.
    pub fn reference(&self) -> Option<Look> {
        let lab = self.compared.lab()?;
        if let Some(seen) = &self.reference {
            return Some(Look { lab, ..self.look(seen) });
        }
        let off = |film: &f64| delta_e00(self.lab(Micrometres(*film)), lab);
        let films = (0..=FILMS).map(|i| STEP * f64::from(i));
        let film = films.min_by(|a, b| off(a).total_cmp(&off(b)))?;
        let near = self.seen(Micrometres(film));
        let Viewing { illuminant, observer, .. } = self.viewing;
        let (is, near_is) = (lab.to_xyz(Xyz::white(illuminant, observer)), Xyz::of(&near, illuminant, observer));
        let near_shown = Xyz::of(&near, illuminant, Observer::Degrees2);
        let shown = Xyz {
            x: near_shown.x * is.x / near_is.x,
            y: near_shown.y * is.y / near_is.y,
            z: near_shown.z * is.z / near_is.z,
        };
        Some(Look { lab, shown: self.screen.show_xyz(shown, self.exposure) })
    }

    /// CIEDE2000 between a film and what it is compared with.
    pub fn difference(&self, film: Micrometres) -> Option<f64> {
        Some(delta_e00(self.lab(film), self.compared.lab()?))
    }

    fn sticker_field(&self, field: usize, film: Micrometres) -> Spectrum {
        let bare = Solid(Spectrum::constant(STICKER[field])).under(&[], &Geometry::STRAIGHT_ON);
        Base::Solid(&bare).through(self.clear, film, &self.geometry)
    }

    fn lab_of(&self, seen: &Spectrum) -> Lab {
        Lab::of(seen, self.viewing.illuminant, self.viewing.observer)
    }

    fn look(&self, seen: &Spectrum) -> Look {
        Look { lab: self.lab_of(seen), shown: self.screen.show(seen, self.exposure) }
    }
}
