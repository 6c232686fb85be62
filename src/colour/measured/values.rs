//! Single values of a measured colour as text: numbers, reflectance on its scale, angles, CIELAB and its light.
//! The limits are our own. Does not know in which format the text stands.

use super::Reading;
use crate::colour::{Illuminant, Lab, Observer};
use crate::error::Problem;
use crate::units::Degrees;

/// A finite number; its decimal sign may be a comma.
pub(super) fn number(cell: &str) -> Option<f64> {
    let cell = cell.trim();
    let text = if cell.contains('.') { cell.to_string() } else { cell.replacen(',', ".", 1) };
    text.parse().ok().filter(|value: &f64| value.is_finite())
}

/// What a file says of the scale of its reflectances.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Scale {
    /// Nothing: 1 is the perfect diffuser, and much more is doubted.
    Unsaid,
    /// 1 is the perfect diffuser.
    Factor,
    /// 100 is the perfect diffuser.
    Percent,
}

impl Scale {
    /// The scale that the first telling comment says; comments come without the signs around them.
    pub fn said_by<'a>(mut comments: impl Iterator<Item = &'a str>) -> Self {
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
    pub fn or(self, other: Self) -> Self {
        if self == Self::Unsaid { other } else { self }
    }

    /// A reflectance factor, not below -0.01.
    pub fn reflectance(self, at: &str, cell: &str) -> Result<f64, Problem> {
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
                      \"# factor\" (in CxF3 the comment <!-- percent --> or <!-- factor -->).";

/// The aspecular angle at the end of a name: `as`, not inside a word, and a number.
pub(super) fn named_angle(name: &str) -> Option<f64> {
    let name = name.trim().to_ascii_lowercase();
    let (before, digits) = name.rsplit_once("as")?;
    let apart = before.chars().next_back().is_none_or(|c| !c.is_alphanumeric());
    let plain = digits.chars().all(|c| c.is_ascii_digit() || "+-.".contains(c));
    if apart && plain { number(digits) } else { None }
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
