//! The spray-outs of a job: the ladder of cards, the car's colour, what was measured on one's own cards, and the test
//! card of the gun. Reading and checking; does not spray a card.

use super::read;
use super::spectra::{self, Angles, Files, Named, known_angle};
use fanlap_colour::{ANGLES, Illuminant, Lab, Observer, Spectrum};
use fanlap_film::error::Problem;
use fanlap_film::maths::{ascending, sort};
use fanlap_film::units::{Degrees, Micrometres};
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value, json};

/// The cards that are sprayed, as in the job file's `cards`.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Cards {
    /// Coats of the tinted clear on each card, ascending; a half coat is a thin one.
    pub ladder: Vec<f64>,
    /// Coats of the card that was chosen.
    pub chosen: Option<f64>,
    /// Which fields the hiding sticker has.
    pub sticker: Fields,
}

/// Fields of a hiding sticker.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Fields {
    /// All three.
    BlackGreyWhite,
    /// Black and grey.
    BlackGrey,
    /// Black and white.
    BlackWhite,
}

impl Fields {
    /// The field that tells the film best: the grey one, or the white one of a sticker without grey.
    pub fn gauge(self) -> (&'static str, usize) {
        match self {
            Self::BlackWhite => ("white", 2),
            _ => ("grey", 1),
        }
    }

    /// Names of the fields, with their places in `colour::STICKER`.
    pub fn named(self) -> &'static [(&'static str, usize)] {
        match self {
            Self::BlackGreyWhite => &[("black", 0), ("grey", 1), ("white", 2)],
            Self::BlackGrey => &[("black", 0), ("grey", 1)],
            Self::BlackWhite => &[("black", 0), ("white", 2)],
        }
    }
}

/// The usual ladder: 1, 1 1/2, 2 and 2 1/2 coats. Common practice, no source.
pub const LADDER: [f64; 4] = [1.0, 1.5, 2.0, 2.5];
/// Most cards of a ladder: what a person compares side by side.
pub const MOST_CARDS: usize = 8;
/// Most coats on a card.
pub const MOST_COATS: f64 = 8.0;

/// The car's colour as it was measured beside the damage.
#[derive(Debug, Clone, PartialEq)]
pub enum Car {
    /// CIELAB by aspecular angle, valid for one light and observer.
    Lab {
        /// Name of the light.
        illuminant: String,
        /// Observer, 2 or 10 degrees.
        observer_deg: u8,
        /// By angle, ascending.
        lab: Vec<(Degrees, Lab)>,
    },
    /// Reflectance factors by aspecular angle: valid under every light.
    Reflectance(Angles),
}

impl Car {
    /// The colour at an angle, for a light and an observer; none where it was not measured so.
    pub fn lab(&self, aspecular: Degrees, illuminant: Illuminant, observer: Observer) -> Option<Lab> {
        match self {
            Self::Lab { illuminant: light, observer_deg, lab } => {
                let same = Illuminant::from_name(light) == Some(illuminant)
                    && Observer::from_degrees(*observer_deg) == Some(observer);
                lab.iter().find(|(angle, _)| same && *angle == aspecular).map(|(_, lab)| *lab)
            }
            Self::Reflectance(angles) => angles.at(aspecular).map(|seen| Lab::of(seen, illuminant, observer)),
        }
    }

    /// Its spectrum at an angle; none where it was not measured, or as CIELAB only.
    pub fn spectrum(&self, aspecular: Degrees) -> Option<&Spectrum> {
        match self {
            Self::Lab { .. } => None,
            Self::Reflectance(angles) => angles.at(aspecular),
        }
    }

    /// Angles at which it was measured.
    pub fn angles(&self) -> Vec<Degrees> {
        match self {
            Self::Lab { lab, .. } => lab.iter().map(|(angle, _)| *angle).collect(),
            Self::Reflectance(angles) => angles.0.iter().map(|(angle, _)| *angle).collect(),
        }
    }
}

impl Serialize for Car {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        match self {
            Self::Reflectance(angles) => json!({ "reflectance": angles }).serialize(to),
            Self::Lab { illuminant, observer_deg, lab } => {
                let by_angle: Map<String, Value> =
                    lab.iter().map(|(angle, lab)| (angle.0.to_string(), json!([lab.l, lab.a, lab.b]))).collect();
                json!({ "lab": by_angle, "illuminant": illuminant, "observer_deg": observer_deg }).serialize(to)
            }
        }
    }
}

impl<'de> Deserialize<'de> for Car {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        #[derive(Deserialize)]
        struct Form {
            reflectance: Option<Angles>,
            lab: Option<Map<String, Value>>,
            illuminant: Option<String>,
            observer_deg: Option<u8>,
        }
        let form = Form::deserialize(from)?;
        if let Some(angles) = form.reflectance {
            return Ok(Self::Reflectance(angles));
        }
        let mut lab: Vec<(Degrees, Lab)> = form
            .lab
            .iter()
            .flatten()
            .filter_map(|(key, value)| Some((Degrees(key.parse().ok()?), lab_of(value)?)))
            .collect();
        ascending(&mut lab, |lab| lab.0.0);
        let illuminant = form.illuminant.unwrap_or_else(|| "D65".to_string());
        Ok(Self::Lab { illuminant, observer_deg: form.observer_deg.unwrap_or(10), lab })
    }
}

/// What was measured on one's own cards, light at 45 degrees.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredCards {
    /// Light for which CIELAB was measured.
    pub illuminant: String,
    /// Observer for which it was measured, 2 or 10 degrees.
    pub observer_deg: u8,
    /// Whether the coats may have been unequal: their shares are then fitted too.
    pub unequal: bool,
    /// Reading by reading; those of one card at several angles have its coats.
    pub cards: Vec<MeasuredCard>,
}

/// One reading of one measured card.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(deny_unknown_fields)]
pub struct MeasuredCard {
    /// Coats of the tinted clear on it.
    pub coats: f64,
    /// The angle from the mirror direction at which it was measured, degrees.
    #[serde(rename = "aspecular_deg")]
    pub aspecular: Degrees,
    /// Its CIELAB, if that was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub lab: Option<[f64; 3]>,
    /// Its reflectance factor, if that was measured.
    #[serde(default, skip_serializing_if = "Option::is_none", with = "optional")]
    pub reflectance: Option<Spectrum>,
    /// Its film of tinted clear by a gauge, um.
    pub film_um: Option<Micrometres>,
}

mod optional {
    use super::*;

    pub fn serialize<S: Serializer>(spectrum: &Option<Spectrum>, to: S) -> Result<S::Ok, S::Error> {
        spectrum.as_ref().map(spectra::as_json).serialize(to)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Option<Spectrum>, D::Error> {
        spectra::inline::deserialize(from).map(Some)
    }
}

/// Most readings of measured cards: eight cards at all angles.
const MOST_MEASURED: usize = MOST_CARDS * ANGLES.len();
/// Most places of a test card.
const MOST_READINGS: usize = 200;

/// Checks the sections of the spray-outs and fills in what is missing.
pub(super) fn resolve(whole: &mut Map<String, Value>, files: &Files) -> Result<(), Problem> {
    let cards = whole.entry("cards").or_insert(json!({}));
    let cards = read::object(cards, "cards")?;
    cards.entry("ladder").or_insert(json!(LADDER));
    read::fill(cards, "cards", "cards")?;
    ladder(cards)?;
    for (name, check) in [("car", car as Section), ("measured", measured), ("test_card", test_card)] {
        match whole.get_mut(name) {
            None | Some(Value::Null) => drop(whole.insert(name.to_string(), Value::Null)),
            Some(section) => {
                from_file(section, name, files)?;
                check(read::object(section, name)?, files)?;
            }
        }
    }
    Ok(())
}

/// Replaces the name of a measured file by what was measured.
fn from_file(section: &mut Value, name: &str, files: &Files) -> Result<(), Problem> {
    if name == "test_card" || section.get("file").is_none() {
        return Ok(());
    }
    let Some(Named { file, said }) = spectra::named_file(section, name)? else { return Ok(()) };
    *section = match name {
        "car" => serde_json::to_value(files.read(name, &file, |text| Car::from_file(&file, text, said))?),
        _ => serde_json::to_value(files.read(name, &file, |text| MeasuredCards::from_file(&file, text, said))?),
    }
    .expect("numbers");
    Ok(())
}

type Section = fn(&mut Map<String, Value>, &Files) -> Result<(), Problem>;

fn ladder(cards: &mut Map<String, Value>) -> Result<(), Problem> {
    let allowed = format!("1 to {MOST_CARDS} numbers of coats from 0.5 to {MOST_COATS} by halves, each once");
    let given = &cards["ladder"];
    let list: Option<Vec<f64>> = given.as_array().and_then(|list| list.iter().map(Value::as_f64).collect());
    let sound = |list: &Vec<f64>| {
        let each = list.iter().all(|n| (0.5..=MOST_COATS).contains(n) && (2.0 * n).fract() == 0.0);
        each && (1..=MOST_CARDS).contains(&list.len()) && (1..list.len()).all(|i| !list[..i].contains(&list[i]))
    };
    let Some(mut list) = list.filter(sound) else {
        return Err(Problem::new("cards.ladder", read::short(given), allowed, "Write it as [1, 1.5, 2, 2.5]."));
    };
    sort(&mut list);
    match cards["chosen"].as_f64() {
        Some(chosen) if !list.contains(&chosen) => {
            let cards = list.iter().map(f64::to_string).collect::<Vec<_>>().join(", ");
            let remedy = "Choose one of the cards, or null for none.";
            Err(Problem::new("cards.chosen", chosen.to_string(), format!("one of the ladder: {cards}"), remedy))
        }
        _ => {
            cards["ladder"] = list.iter().map(|n| super::inputs::plain_number(*n)).collect();
            Ok(())
        }
    }
}

fn car(section: &mut Map<String, Value>, files: &Files) -> Result<(), Problem> {
    read::fill(section, "car", "car")?;
    match (section.get("lab").cloned(), section.get("reflectance").cloned()) {
        (None, Some(given)) => {
            section.clear();
            // the car may be measured at any angle, not at 45 degrees alone
            section.insert("reflectance".into(), spectra::angles(given, false, "car.reflectance", files)?);
            Ok(())
        }
        (Some(lab), None) => lab_by_angle(&lab),
        (given, _) => {
            let given = if given.is_some() { "lab and reflectance" } else { "neither lab nor reflectance" };
            let remedy = "Give the car's colour in one of the two forms, or null for none.";
            Err(Problem::new("car", given, "one of them", remedy))
        }
    }
}

fn lab_by_angle(lab: &Value) -> Result<(), Problem> {
    let allowed = "L*, a*, b* by aspecular angle, such as { \"45\": [42, 45, 30] }";
    let map = lab.as_object().filter(|map| !map.is_empty());
    let map = map.ok_or_else(|| Problem::new("car.lab", read::short(lab), allowed, "Write it in this form."))?;
    for (key, value) in map {
        known_angle(key, false, "car.lab")?;
        check_lab(value, &format!("car.lab.{key}"))?;
    }
    Ok(())
}

/// Checks three numbers of CIELAB.
pub(super) fn check_lab(lab: &Value, at: &str) -> Result<(), Problem> {
    match lab_of(lab) {
        Some(lab) if (0.0..=200.0).contains(&lab.l) && lab.a.abs() <= 200.0 && lab.b.abs() <= 200.0 => Ok(()),
        _ => {
            let allowed = "three numbers: L* 0 to 200, a* and b* -200 to 200";
            Err(Problem::new(at, read::short(lab), allowed, "Give [L*, a*, b*] as measured."))
        }
    }
}

fn lab_of(value: &Value) -> Option<Lab> {
    let numbers: Vec<f64> = value.as_array()?.iter().map(Value::as_f64).collect::<Option<_>>()?;
    let [l, a, b] = numbers[..] else { return None };
    Some(Lab { l, a, b })
}

fn measured(section: &mut Map<String, Value>, files: &Files) -> Result<(), Problem> {
    read::fill(section, "measured", "measured")?;
    let at = "measured.cards";
    let Some(Value::Array(cards)) = section.get_mut("cards") else {
        let remedy = "Write [ { \"coats\": 0, \"lab\": [58, 20, 49] }, { \"coats\": 1, ... } ].";
        return Err(Problem::new(at, given(section, "cards"), "a list of measured cards", remedy));
    };
    if cards.len() > MOST_MEASURED {
        let (given, allowed) = (format!("{} readings", cards.len()), format!("up to {MOST_MEASURED}"));
        return Err(Problem::new(at, given, allowed, "Keep the cards that were measured best."));
    }
    for (i, card) in cards.iter_mut().enumerate() {
        let at = format!("{at}[{i}]");
        let card = read::object(card, &at)?;
        read::fill(card, &at, "measured.cards[]")?;
        match (card.get("lab").cloned(), card.get("reflectance").cloned()) {
            (Some(lab), None) => check_lab(&lab, &format!("{at}.lab"))?,
            (None, Some(given)) => {
                let seen = spectra::spectrum(given, 20.0, &format!("{at}.reflectance"), files)?;
                card.insert("reflectance".into(), spectra::as_json(&seen));
            }
            (given, _) => {
                let given = if given.is_some() { "lab and reflectance" } else { "neither lab nor reflectance" };
                return Err(Problem::new(at, given, "one of them", "Give what the instrument measured."));
            }
        }
    }
    Ok(())
}

/// What was given under a key.
fn given(section: &Map<String, Value>, key: &str) -> String {
    section.get(key).map_or("nothing".to_string(), read::short)
}

fn test_card(section: &mut Map<String, Value>, _: &Files) -> Result<(), Problem> {
    read::fill(section, "test_card", "test_card")?;
    let at = "test_card.readings";
    let Some(Value::Array(readings)) = section.get("readings") else {
        let remedy = "Write [[-120, 0.4], [-100, 2.1], ...]: place in mm, dry film in um.";
        return Err(Problem::new(at, given(section, "readings"), "a list of places and films", remedy));
    };
    if readings.len() > MOST_READINGS {
        let allowed = format!("up to {MOST_READINGS}");
        return Err(Problem::new(at, format!("{} readings", readings.len()), allowed, "Thin them out evenly."));
    }
    for (i, reading) in readings.iter().enumerate() {
        let pair: Option<Vec<f64>> = reading.as_array().and_then(|pair| pair.iter().map(Value::as_f64).collect());
        let sound = matches!(pair.as_deref(), Some([x, film]) if x.abs() <= 2000.0 && (0.0..=1000.0).contains(film));
        if !sound {
            let allowed = "a place from -2000 to 2000 mm and a dry film from 0 to 1000 um";
            let remedy = "Write it as [place, film].";
            return Err(Problem::new(format!("{at}[{i}]"), read::short(reading), allowed, remedy));
        }
    }
    Ok(())
}
