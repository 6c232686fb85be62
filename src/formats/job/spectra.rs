//! The spectral fields of a job: absorption of a tinted clear, reflectance of a base and of the ground, inline, from a
//! file beside the job, or the built-in demonstration paint. Knows the bands, not what they mean.

use crate::job::instrument::angles_from;
use crate::job::{Ground, GroundKind};
use crate::measured::{Said, Scale, read_measured_as};
use fanlap_colour::demonstration;
use fanlap_colour::{BANDS, Spectrum, read_spectra, wavelength};
use fanlap_film::error::Problem;
use fanlap_film::maths::ascending;
use fanlap_film::units::Degrees;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Map, Value, json};

/// Serves the files that a job names, as text.
pub struct Files<'a>(Option<&'a Reader<'a>>);

/// Reads a file by its name, or says why not.
pub type Reader<'a> = dyn Fn(&str) -> Result<String, String> + 'a;

impl<'a> Files<'a> {
    /// Serves nothing: a job from a link or from the page carries its spectra itself.
    pub fn none() -> Self {
        Self(None)
    }

    /// Serves what `read` returns for a name, or its reason why not.
    pub fn from(read: &'a Reader<'a>) -> Self {
        Self(Some(read))
    }

    /// The columns of a CSV file beside the job.
    fn table(&self, at: &str, name: &str) -> Result<Vec<(String, Spectrum)>, Problem> {
        self.read(at, name, |text| read_spectra(name, text.trim_start_matches('\u{feff}')))
    }

    /// The reflectances by angle of a measured file beside the job.
    fn angles(&self, at: &str, named: &Named) -> Result<Angles, Problem> {
        let file = &named.file;
        self.read(at, file, |text| angles_from(file, &read_measured_as(file, text, named.said)?))
    }

    /// What a file beside the job holds; what is wrong with it is said without repeating it.
    pub(super) fn read<T>(
        &self,
        at: &str,
        name: &str,
        read: impl Fn(&str) -> Result<T, Problem>,
    ) -> Result<T, Problem> {
        read(&self.text(at, name)?).map_err(|problem| problem.without_content(name))
    }

    fn text(&self, at: &str, name: &str) -> Result<String, Problem> {
        let refused =
            |why: String| Problem::new(at, format!("{name}: {why}"), "a file beside the job file or below", REMEDY);
        match self.0 {
            Some(read) => read(name).map_err(refused),
            None => Err(refused("no file can be read here".to_string())),
        }
    }
}

const REMEDY: &str = "Give the numbers in the job itself, or put the file where the job file lies.";

/// Serde form of a spectrum: `{ "from_nm": 380, "step_nm": 10, "values": [...] }`.
pub(super) mod inline {
    use super::*;

    pub fn serialize<S: Serializer>(spectrum: &Spectrum, to: S) -> Result<S::Ok, S::Error> {
        super::as_json(spectrum).serialize(to)
    }

    pub fn deserialize<'de, D: Deserializer<'de>>(from: D) -> Result<Spectrum, D::Error> {
        let value = Value::deserialize(from)?;
        bands(&value["values"]).ok_or_else(|| serde::de::Error::custom("36 numbers expected"))
    }
}

/// Reflectance factors by aspecular angle, light at 45 degrees; ascending, each angle once.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Angles(pub Vec<(Degrees, Spectrum)>);

impl Angles {
    /// What was measured at an angle.
    pub fn at(&self, aspecular: Degrees) -> Option<&Spectrum> {
        self.0.iter().find(|(angle, _)| *angle == aspecular).map(|(_, spectrum)| spectrum)
    }
}

impl Serialize for Angles {
    fn serialize<S: Serializer>(&self, to: S) -> Result<S::Ok, S::Error> {
        let mut table = json!({ "from_nm": 380, "step_nm": 10 });
        for (angle, spectrum) in &self.0 {
            table[angle.0.to_string()] = json!(spectrum.0.to_vec());
        }
        table.serialize(to)
    }
}

impl<'de> Deserialize<'de> for Angles {
    fn deserialize<D: Deserializer<'de>>(from: D) -> Result<Self, D::Error> {
        let table: Map<String, Value> = Map::deserialize(from)?;
        let mut angles: Vec<(Degrees, Spectrum)> =
            table.iter().filter_map(|(key, list)| Some((Degrees(key.parse().ok()?), bands(list)?))).collect();
        ascending(&mut angles, |angle| angle.0.0);
        Ok(Self(angles))
    }
}

/// Puts every spectral field into its inline form, checked.
pub(super) fn resolve(whole: &mut Map<String, Value>, files: &Files) -> Result<(), Problem> {
    if let Some(Value::Array(paints)) = whole.get_mut("paints") {
        for (i, paint) in paints.iter_mut().enumerate() {
            let at = |key: &str| format!("paints[{i}].{key}");
            let tinted = paint["role"] == "tinted_clear";
            let given = paint.get("absorption_per_um").cloned();
            paint["absorption_per_um"] = absorption(given, !tinted, &at("absorption_per_um"), files)?;
            let (given, base) = (paint.get("reflectance").cloned(), paint["role"] == "base");
            paint["reflectance"] = base_reflectance(given, base, paint["kind"] == "solid", &at("reflectance"), files)?;
        }
    }
    let given = whole.get("ground").cloned();
    whole.insert("ground".to_string(), ground(given, files)?);
    Ok(())
}

fn base_reflectance(given: Option<Value>, base: bool, solid: bool, at: &str, files: &Files) -> Result<Value, Problem> {
    match given.filter(|given| !given.is_null()) {
        None if !base => Ok(Value::Null),
        None if solid => Err(Problem::new(at, "nothing", "36 numbers under \"45\"", ONLY_EFFECT)),
        None => Ok(serde_json::to_value(Angles(demonstration::kelp().ground)).expect("numbers")),
        Some(_) if !base => {
            let remedy = "Make its role \"base\", or leave the reflectance out.";
            Err(Problem::new(at, "a reflectance", "none for a clear", remedy))
        }
        Some(given) => reflectance(given, solid, at, files),
    }
}

const ONLY_EFFECT: &str = "Give what was measured; only an effect base has a built-in demonstration.";

/// One spectrum, inline or the only column of a file, each value from 0 to `most`.
pub(super) fn spectrum(mut given: Value, most: f64, at: &str, files: &Files) -> Result<Spectrum, Problem> {
    if bands(&given).is_some() {
        given = json!({ "values": given });
    }
    if let Some(name) = file_name(&given, at)? {
        let columns = files.table(at, &name)?;
        let [(_, values)] = &columns[..] else {
            let given = format!("{name} with {} columns of values", columns.len());
            return Err(Problem::new(at, given, "one column of values", "Keep one column beside the wavelength."));
        };
        given = as_json(values);
    }
    let map = given.as_object().ok_or_else(|| shape(at, &given, SPECTRUM))?;
    known(map, at, &["from_nm", "step_nm", "values"])?;
    grid(map, at)?;
    values(&map.get("values").cloned().unwrap_or_default(), &format!("{at}.values"), most)
}

fn absorption(given: Option<Value>, clear: bool, at: &str, files: &Files) -> Result<Value, Problem> {
    let Some(given) = given else {
        let spectrum = if clear { Spectrum::constant(0.0) } else { demonstration::kelp().absorption };
        return Ok(as_json(&spectrum));
    };
    let spectrum = spectrum(given, 1.0, at, files)?;
    if clear && spectrum != Spectrum::constant(0.0) {
        let remedy = "Make its role \"tinted_clear\", or leave the absorption out.";
        return Err(Problem::new(at, "an absorption", "none for an untinted clear or a base", remedy));
    }
    Ok(as_json(&spectrum))
}

fn ground(given: Option<Value>, files: &Files) -> Result<Value, Problem> {
    let Some(given) = given else {
        let ground = Ground { kind: GroundKind::Effect, reflectance: Angles(demonstration::kelp().ground) };
        return Ok(serde_json::to_value(ground).expect("numbers"));
    };
    let at = "ground.reflectance";
    let map = given.as_object().ok_or_else(|| shape("ground", &given, GROUND))?;
    known(map, "ground", &["kind", "reflectance"])?;
    let kind = map.get("kind").cloned().unwrap_or(json!("effect"));
    if kind != "effect" && kind != "solid" {
        let remedy = "Say whether the ground carries flakes (effect) or not (solid).";
        return Err(Problem::new("ground.kind", kind.to_string(), "\"effect\" or \"solid\"", remedy));
    }
    let solid = kind == "solid";
    let table = match map.get("reflectance").cloned() {
        None if solid => return Err(Problem::new(at, "nothing", "36 numbers under \"45\"", ONLY_EFFECT)),
        None => serde_json::to_value(Angles(demonstration::kelp().ground)).expect("numbers"),
        Some(table) => reflectance(table, solid, at, files)?,
    };
    Ok(json!({ "kind": kind, "reflectance": table }))
}

/// A table of reflectances by angle, checked; "45" must be there, and alone for a solid.
fn reflectance(given: Value, solid: bool, at: &str, files: &Files) -> Result<Value, Problem> {
    let checked = angles(given, solid, at, files)?;
    if checked.get("45").is_none() {
        let remedy = "Give the reflectance at 45 degrees at least.";
        return Err(Problem::new(at, "no \"45\"", "aspecular angles with \"45\" among them", remedy));
    }
    Ok(checked)
}

/// A table of reflectances by any of the angles that are understood, inline or from a file, checked.
pub(super) fn angles(mut table: Value, solid: bool, at: &str, files: &Files) -> Result<Value, Problem> {
    if let Some(named) = named_file(&table, at)? {
        table = serde_json::to_value(files.angles(at, &named)?).expect("numbers");
    }
    let table = table.as_object().ok_or_else(|| shape(at, &table, BY_ANGLE))?;
    if table.contains_key("values") {
        let remedy = "Write the angle at which they were measured in the place of \"values\".";
        return Err(Problem::new(format!("{at}.values"), "numbers without an angle", BY_ANGLE, remedy));
    }
    grid(table, at)?;
    let mut checked = json!({ "from_nm": 380, "step_nm": 10 });
    for (key, list) in table.iter().filter(|(key, _)| !matches!(key.as_str(), "from_nm" | "step_nm")) {
        known_angle(key, solid, at)?;
        checked[key] = json!(values(list, &format!("{at}.{key}"), 20.0)?.0.to_vec());
    }
    if checked.as_object().is_none_or(|map| map.len() == 2) {
        let remedy = "Give 36 numbers under at least one aspecular angle, such as \"45\".";
        return Err(Problem::new(at, "no angle", "reflectance by aspecular angle", remedy));
    }
    Ok(checked)
}

/// Refuses a key that is no aspecular angle that is understood.
pub(super) fn known_angle(key: &str, solid: bool, at: &str) -> Result<(), Problem> {
    let angles = if solid { &ANGLES[3..4] } else { &ANGLES[..] };
    if angles.contains(&key) {
        return Ok(());
    }
    let allowed = angles.join(", ") + " (aspecular degrees at 45 degree light)";
    Err(Problem::new(format!("{at}.{key}"), key, allowed, "Remove it or correct the angle."))
}

/// Aspecular angles that are understood.
const ANGLES: [&str; 6] = ["-15", "15", "25", "45", "75", "110"];

pub(super) fn as_json(spectrum: &Spectrum) -> Value {
    json!({ "from_nm": 380, "step_nm": 10, "values": spectrum.0.to_vec() })
}

/// The forms of one spectrum, of spectra by angle, and of the ground.
pub(super) const SPECTRUM: &str = "[36 numbers, 380 to 730 nm by 10 nm], \
                                   { \"from_nm\": 380, \"step_nm\": 10, \"values\": [36 numbers] }, \
                                   or { \"file\": \"name.csv\" }";
pub(super) const BY_ANGLE: &str = "36 numbers, 380 to 730 nm by 10 nm, under each angle: \
                                   { \"from_nm\": 380, \"step_nm\": 10, \"45\": [36 numbers], ... }, \
                                   or { \"file\": \"name.csv\" }";
pub(super) const GROUND: &str = "{ \"kind\": \"effect\" or \"solid\", \
                                 \"reflectance\": { \"45\": [36 numbers], ... } or { \"file\": \"name.csv\" } }";

fn shape(at: &str, given: &Value, forms: &str) -> Problem {
    let given = given.to_string().chars().take(60).collect::<String>();
    Problem::new(at, given, forms, "Write it in one of these forms.")
}

fn known(map: &Map<String, Value>, at: &str, keys: &[&str]) -> Result<(), Problem> {
    match map.keys().find(|key| !keys.contains(&key.as_str())) {
        Some(key) => Err(super::read::unknown(&format!("{at}.{key}"), keys)),
        None => Ok(()),
    }
}

/// A measured file by its name, with what the job says of it: `{ "file": "door.csv", "aspecular_deg": 15, "scale":
/// "percent" }`.
pub(super) struct Named {
    pub file: String,
    pub said: Said,
}

/// How a file is named.
const NAMED: &str = "{ \"file\": \"name.csv\" }, with \"aspecular_deg\" and \"scale\" where the file does not say them, and nothing else";

/// The measured file that a value names; none where it names no file.
pub(super) fn named_file(value: &Value, at: &str) -> Result<Option<Named>, Problem> {
    let Some(map) = value.as_object().filter(|map| map.contains_key("file")) else { return Ok(None) };
    let sound = map.keys().all(|key| ["file", "aspecular_deg", "scale"].contains(&key.as_str()));
    let Some(file) = map["file"].as_str().filter(|_| sound) else { return Err(shape(at, value, NAMED)) };
    let mut said = Said::default();
    if let Some(angle) = map.get("aspecular_deg") {
        known_angle(&angle.to_string(), false, at)?;
        said.aspecular = angle.as_f64().map(Degrees);
    }
    match map.get("scale").map(|scale| scale.as_str().unwrap_or_default()) {
        None => {}
        Some("percent") => said.scale = Scale::Percent,
        Some("factor") => said.scale = Scale::Factor,
        Some(_) => {
            let given = map["scale"].to_string();
            let remedy = "Say whether 100 or 1 is the perfect white.";
            return Err(Problem::new(format!("{at}.scale"), given, "\"percent\" or \"factor\"", remedy));
        }
    }
    Ok(Some(Named { file: file.to_string(), said }))
}

pub(super) fn file_name(value: &Value, at: &str) -> Result<Option<String>, Problem> {
    match value.get("file") {
        None => Ok(None),
        Some(Value::String(name)) if value.as_object().is_some_and(|map| map.len() == 1) => Ok(Some(name.clone())),
        Some(_) => Err(shape(at, value, "{ \"file\": \"name.csv\" } and nothing else")),
    }
}

fn grid(map: &Map<String, Value>, at: &str) -> Result<(), Problem> {
    for (key, expected) in [("from_nm", 380.0), ("step_nm", 10.0)] {
        let given = map.get(key).cloned().unwrap_or(json!(expected));
        if given.as_f64() != Some(expected) {
            let remedy = "Bring the spectrum to 380 to 730 nm in steps of 10 nm (36 numbers).";
            return Err(Problem::new(format!("{at}.{key}"), given.to_string(), format!("{expected} nm"), remedy));
        }
    }
    Ok(())
}

fn bands(list: &Value) -> Option<Spectrum> {
    let numbers: Vec<f64> = list.as_array()?.iter().map(Value::as_f64).collect::<Option<_>>()?;
    numbers.try_into().ok().map(Spectrum)
}

fn values(list: &Value, at: &str, most: f64) -> Result<Spectrum, Problem> {
    let allowed = format!("{BANDS} numbers from 0 to {most}, 380 to 730 nm by 10 nm");
    let Some(spectrum) = bands(list) else {
        let given = list.as_array().map_or("no list".to_string(), |list| format!("{} entries", list.len()));
        return Err(Problem::new(at, given, allowed, "Give one number for each band."));
    };
    match spectrum.0.iter().position(|value| !(0.0..=most).contains(value)) {
        None => Ok(spectrum),
        Some(band) => {
            let given = format!("{} at {} nm", spectrum.0[band], wavelength(band));
            Err(Problem::new(at, given, allowed, "Check the scale: 1 is the perfect white, not 100."))
        }
    }
}
