//! From what an instrument wrote to the sections of a job: the car's colour, one's own cards, a base. Which sample is
//! what is told by angle and by name. Reading of the formats is in `colour`.

use super::{ANGLES, Angles, Car, MeasuredCard, MeasuredCards};
use crate::measured::{Reading, Said, Sample, Scale, read_measured_as};
use fanlap_colour::{Illuminant, Lab, Observer, Spectrum};
use fanlap_film::error::Problem;
use fanlap_film::maths::ascending;
use fanlap_film::units::Degrees;

/// What a file leaves open, to be asked of the person who opens it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Question {
    /// At which angle was it measured?
    Angle,
    /// Are the reflectances per cent, or is 1 the perfect white?
    Scale,
}

/// What must be asked before a file of measured colours can be used; nothing where no answer would help. The samples
/// of one colour need an angle each, so one answer serves for one of them; cards may share theirs.
pub fn question(file: &str, text: &str, said: Said, cards: bool) -> Option<Question> {
    let per_cent = Said { scale: Scale::Percent, ..said };
    match read_measured_as(file, text, said) {
        Err(_) if said.scale != Scale::Unsaid => None,
        Err(_) => read_measured_as(file, text, per_cent).is_ok().then_some(Question::Scale),
        Ok(samples) => {
            let open = samples.iter().filter(|sample| sample.aspecular.is_none()).count();
            (open == 1 || cards && open > 1).then_some(Question::Angle)
        }
    }
}

/// The angle of a sample; a file that does not say it is refused.
fn angle_of(file: &str, sample: &Sample) -> Result<Degrees, Problem> {
    sample.aspecular.ok_or_else(|| {
        let given = format!("{} without its angle", sample.name);
        let allowed =
            "every sample with its angle from the mirror direction, degrees, such as as15 or 15deg in its name";
        let remedy =
            "Name its angle in the file, or beside it in the job: { \"file\": \"name\", \"aspecular_deg\": 45 }.";
        Problem::new(file, given, allowed, remedy)
    })
}

/// Spectra by aspecular angle; every angle once, no CIELAB among them.
pub fn angles_from(file: &str, samples: &[Sample]) -> Result<Angles, Problem> {
    let mut angles: Vec<(Degrees, Spectrum)> = Vec::new();
    for sample in samples {
        let Reading::Spectrum(seen) = sample.reading else {
            let remedy = "Export reflectance spectra; L*, a*, b* hold for one light only.";
            return Err(Problem::new(file, "L*, a*, b* alone", "reflectance spectra", remedy));
        };
        let angle = angle_of(file, sample)?;
        once(file, &angles, angle, &sample.name)?;
        angles.push((angle, seen));
    }
    ascending(&mut angles, |angle| angle.0.0);
    Ok(Angles(angles))
}

fn once<T>(file: &str, known: &[(Degrees, T)], angle: Degrees, name: &str) -> Result<(), Problem> {
    if !known.iter().any(|(other, _)| *other == angle) {
        return Ok(());
    }
    let given = format!("a second sample at {} degrees, {name}", angle.0);
    let remedy = "Keep the readings of one colour: one for each aspecular angle.";
    Err(Problem::new(file, given, "one sample for each angle", remedy))
}

impl Car {
    /// The car's colour from a measured file: spectra by angle, or CIELAB where it holds no spectra.
    pub fn from_file(file: &str, text: &str, said: Said) -> Result<Self, Problem> {
        let samples = read_measured_as(file, text, said)?;
        let spectra: Vec<Sample> =
            samples.iter().filter(|sample| matches!(sample.reading, Reading::Spectrum(_))).cloned().collect();
        if !spectra.is_empty() {
            return Ok(Self::Reflectance(angles_from(file, &spectra)?));
        }
        let mut lab: Vec<(Degrees, Lab)> = Vec::new();
        let mut under = None;
        for sample in &samples {
            let angle = angle_of(file, sample)?;
            once(file, &lab, angle, &sample.name)?;
            let (colour, light) = lab_of(file, sample)?;
            if under.is_some_and(|under| under != light) {
                let remedy = "Export all angles for one light and one observer.";
                return Err(Problem::new(file, "more than one light or observer", "one", remedy));
            }
            under = Some(light);
            lab.push((angle, colour));
        }
        ascending(&mut lab, |lab| lab.0.0);
        let (illuminant, observer) = under.unwrap_or(DAYLIGHT);
        Ok(Self::Lab { illuminant: illuminant.name().to_string(), observer_deg: observer.degrees(), lab })
    }
}

/// What CIELAB holds for where the file does not say.
const DAYLIGHT: (Illuminant, Observer) = (Illuminant::D65, Observer::Degrees10);

fn lab_of(file: &str, sample: &Sample) -> Result<(Lab, (Illuminant, Observer)), Problem> {
    match sample.reading {
        Reading::Lab { lab, illuminant, observer } => {
            Ok((lab, (illuminant.unwrap_or(DAYLIGHT.0), observer.unwrap_or(DAYLIGHT.1))))
        }
        Reading::Spectrum(_) => {
            let remedy = "Export all samples alike.";
            Err(Problem::new(file, format!("a spectrum among L*, a*, b*: {}", sample.name), "one kind", remedy))
        }
    }
}

impl MeasuredCards {
    /// One's own cards from a measured file: the first number in a sample's name is its coats. Angles at which no paint
    /// can be looked at are passed over.
    pub fn from_file(file: &str, text: &str, said: Said) -> Result<Self, Problem> {
        let mut measured = Self {
            illuminant: DAYLIGHT.0.name().to_string(),
            observer_deg: DAYLIGHT.1.degrees(),
            unequal: false,
            cards: vec![],
        };
        for sample in read_measured_as(file, text, said)? {
            let aspecular = angle_of(file, &sample)?;
            if !ANGLES.contains(&aspecular.0) {
                continue;
            }
            let Some(coats) = coats_in(&sample.name) else {
                let remedy = "Name every sample by its coats, such as \"1.5 coats\"; \"0\" is the bare base.";
                return Err(Problem::new(file, &sample.name, "a name with the number of coats in it", remedy));
            };
            let mut card = MeasuredCard { coats, aspecular, lab: None, reflectance: None, film_um: None };
            match sample.reading {
                Reading::Spectrum(seen) => card.reflectance = Some(seen),
                Reading::Lab { .. } => {
                    let (lab, (light, observer)) = lab_of(file, &sample)?;
                    (measured.illuminant, measured.observer_deg) = (light.name().to_string(), observer.degrees());
                    card.lab = Some([lab.l, lab.a, lab.b]);
                }
            }
            measured.cards.push(card);
        }
        if measured.cards.is_empty() {
            let allowed = "cards measured at -15, 15, 25, 45, 75 or 110 degrees";
            let remedy = "Export the readings at 45 degrees from the mirror direction, and at others if there are.";
            return Err(Problem::new(file, "no sample at these angles", allowed, remedy));
        }
        ascending(&mut measured.cards, |card| card.aspecular.0);
        ascending(&mut measured.cards, |card| card.coats);
        Ok(measured)
    }
}

/// The first number in a name, halves written as 1/2 or as one letter too: "1 1/2 coats", "coat 2".
fn coats_in(name: &str) -> Option<f64> {
    let name = name.replace('\u{bd}', ".5").replace(" 1/2", ".5");
    let start = name.find(|c: char| c.is_ascii_digit() || c == '.')?;
    let end = name[start..].find(|c: char| !c.is_ascii_digit() && c != '.').map_or(name.len(), |end| start + end);
    name[start..end].trim_end_matches('.').parse().ok()
}
