//! Single values of a measured colour as text: numbers, reflectance on its scale, angles, CIELAB and its light.
//! The limits are our own. Does not know in which format the text stands.

use super::Reading;
use fanlap_colour::{ANGLES, Illuminant, Lab, Observer};
use fanlap_film::error::Problem;
use fanlap_film::units::Degrees;

/// A finite number; its decimal sign may be a comma.
pub(super) fn number(cell: &str) -> Option<f64> {
    let cell = cell.trim();
    let text = if cell.contains('.') { cell.to_string() } else { cell.replacen(',', ".", 1) };
    text.parse().ok().filter(|value: &f64| value.is_finite())
}

/// What is said of the scale of reflectances.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub enum Scale {
    /// Nothing: 1 is the perfect diffuser, and much more is doubted.
    #[default]
    Unsaid,
    /// 1 is the perfect diffuser.
    Factor,
    /// 100 is the perfect diffuser.
    Percent,
}

impl Scale {
    /// The scale that the first telling comment says; comments come without the signs around them.
    pub(super) fn said_by<'a>(mut comments: impl Iterator<Item = &'a str>) -> Self {
        comments.find_map(Self::said).unwrap_or(Self::Unsaid)
    }

    fn said(comment: &str) -> Option<Self> {
        // a spreadsheet gives a line as many separators as the others have
        let word = comment.trim().trim_end_matches([',', ';', '\t']).trim();
        match word.to_ascii_lowercase().as_str() {
            "percent" | "per cent" | "%" => Some(Self::Percent),
            "factor" => Some(Self::Factor),
            _ => None,
        }
    }

    /// This scale, or `other` where it says nothing.
    pub(super) fn or(self, other: Self) -> Self {
        if self == Self::Unsaid { other } else { self }
    }

    /// A reflectance factor, not below -0.01.
    pub(super) fn reflectance(self, at: &str, cell: &str) -> Result<f64, Problem> {
        let (white, most, allowed) = match self {
            Self::Unsaid => (1.0, 2.0, "reflectance from 0 to 2, where 1 is the perfect white"),
            Self::Factor => (1.0, 20.0, "reflectance from 0 to 20, where 1 is the perfect white"),
            Self::Percent => (100.0, 2000.0, "reflectance from 0 to 2000 %"),
        };
        let remedy = match number(cell) {
            None => "Give one finite number here.",
            Some(value) if value < -0.01 * white => "Measure anew: a reflectance is not negative.",
            Some(value) if value <= most => return Ok(value / white),
            Some(_) if self == Self::Unsaid => UNSAID,
            Some(_) => "Check the number and what the file says of its scale.",
        };
        Err(Problem::new(at, cell, allowed, remedy))
    }
}

const UNSAID: &str = "If the values are per cent, add a line \"# percent\"; if they are true factors above 2, a line \
                      \"# factor\" (in CxF3 the comment <!-- percent --> or <!-- factor -->); or say it beside the file's \
                      name in the job: \"scale\": \"percent\".";

/// The aspecular angle in a name: at its end `as`, not inside a word, and a number; or anywhere one of the usual angles
/// with its degrees, such as `15deg` or `15°`, if there is but one. Two and ten degrees are observers, not angles.
pub(super) fn named_angle(name: &str) -> Option<f64> {
    let name = name.trim().to_lowercase();
    aspecular_end(&name).or_else(|| {
        let mut found = in_degrees(&name);
        let one = found.next()?;
        found.all(|other| other == one).then_some(one)
    })
}

fn aspecular_end(name: &str) -> Option<f64> {
    let (before, digits) = name.rsplit_once("as")?;
    let apart = before.chars().next_back().is_none_or(|c| !c.is_alphanumeric());
    let plain = digits.chars().all(|c| c.is_ascii_digit() || "+-.".contains(c));
    if apart && plain { number(digits) } else { None }
}

/// The usual angles that a text gives in degrees.
fn in_degrees(text: &str) -> impl Iterator<Item = f64> + use<'_> {
    let ends = text.match_indices(['\u{b0}', 'd']).filter(|(at, mark)| *mark != "d" || degrees_at(text, *at));
    ends.filter_map(|(at, _)| {
        let before = text[..at].trim_end().trim_end_matches('_');
        let digits = before.trim_end_matches(|c: char| c.is_ascii_digit());
        // after a word a hyphen may be a sign or none: that says nothing
        let (sign, rest) = match digits.strip_suffix(['-', '\u{2212}']) {
            Some(rest) => (-1.0, rest.strip_suffix("as").unwrap_or(rest)),
            None => (1.0, digits.strip_suffix("as").unwrap_or(digits)),
        };
        let apart = rest.chars().next_back().is_none_or(|c| !c.is_alphanumeric() && c != '.' && c != ',');
        let angle = sign * before[digits.len()..].parse::<f64>().ok()?;
        (apart && ANGLES.contains(&angle)).then_some(angle)
    })
}

/// Whether the word for degrees begins here and ends as a word.
fn degrees_at(text: &str, at: usize) -> bool {
    let after = |word: &str| text[at..].strip_prefix(word).and_then(|rest| rest.chars().next().or(Some(' ')));
    ["degrees", "degree", "deg"].into_iter().filter_map(after).any(|next| !next.is_alphanumeric())
}

/// The angle that a geometry says: as a name does, or 45:0 and its reverse.
pub(super) fn geometry_angle(text: &str) -> Option<f64> {
    let plain: String = text.chars().filter(|c| !c.is_whitespace() && *c != '\u{b0}').collect();
    match plain.as_str() {
        "45:0" | "45/0" | "0:45" | "0/45" => Some(45.0),
        _ => named_angle(text),
    }
}

/// The angle that a field and a name say together.
pub(super) fn aspecular(at: &str, field: Option<f64>, named: Option<f64>) -> Result<Option<Degrees>, Problem> {
    let angle = field.or(named);
    if let (Some(field), Some(named)) = (field, named)
        && (field - named).abs() > 1e-6
    {
        let given = format!("as{field}, and a name that ends in as{named}");
        return Err(Problem::new(at, given, "one aspecular angle, degrees", "Correct the angle or the name."));
    }
    match angle {
        Some(angle) if !(-90.0..=180.0).contains(&angle) => Err(Problem::new(
            at,
            format!("as{angle}"),
            "an aspecular angle from -90 to 180 degrees",
            "Correct the angle.",
        )),
        angle => Ok(angle.map(Degrees)),
    }
}

/// CIELAB with its light and eye, which may be empty.
pub(super) fn lab(at: &str, cells: [&str; 3], illuminant: &str, observer: &str) -> Result<Reading, Problem> {
    let [l, a, b] = cells.map(number);
    let sound = |value: Option<f64>, least: f64| value.filter(|value| (least..=400.0).contains(value));
    let (Some(l), Some(a), Some(b)) = (sound(l, 0.0), sound(a, -400.0), sound(b, -400.0)) else {
        let allowed = "L from 0 to 400, a and b from -400 to 400";
        return Err(Problem::new(at, cells.join(" "), allowed, "Give these three numbers."));
    };
    let (illuminant, observer) = (light(at, illuminant)?, eye(at, observer)?);
    Ok(Reading::Lab { lab: Lab { l, a, b }, illuminant, observer })
}

/// An illuminant by its name; none of an empty one.
fn light(at: &str, name: &str) -> Result<Option<Illuminant>, Problem> {
    let name = name.trim();
    let known = Illuminant::from_name(&name.to_ascii_uppercase());
    if known.is_none() && !name.is_empty() {
        let given = format!("CIELAB under illuminant {name}");
        return Err(Problem::new(at, given, "D65, A or LED-B3", "Export it under one of these, or as a spectrum."));
    }
    Ok(known)
}

/// An observer by the degrees its name begins with; none of an empty one.
fn eye(at: &str, name: &str) -> Result<Option<Observer>, Problem> {
    let name = name.trim();
    let digits: String = name.chars().take_while(char::is_ascii_digit).collect();
    let known = digits.parse().ok().and_then(Observer::from_degrees);
    if known.is_none() && !name.is_empty() {
        let given = format!("CIELAB for the observer {name}");
        return Err(Problem::new(at, given, "2 or 10 degrees", "Export it for one of these, or as a spectrum."));
    }
    Ok(known)
}
