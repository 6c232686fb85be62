//! The one table of inputs: name, path in the job file, unit, least, most, step, default and words. It builds the
//! controls of the page, the checks, the error messages, the command line's help and the shortening of the link.
//! Usual ranges are trade practice with its source beside them; they mark, they do not limit.

mod table;

pub use table::INPUTS;

use serde_json::{Number, Value, json};

/// A unit in which a number is given, with its US twin where the trade has one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Unit {
    /// Film, um or mil.
    Micrometre,
    /// mm or inch.
    Millimetre,
    /// mm/s or inch/s.
    MillimetrePerSecond,
    /// mL/min or US fluid ounce per minute.
    MillilitrePerMinute,
    /// A share, shown in per cent.
    Percent,
    /// A plain number.
    Plain,
    /// Degrees of angle.
    Degree,
    /// Minutes.
    Minute,
    /// Seconds.
    Second,
    /// m or feet.
    Metre,
    /// Pa s.
    PascalSecond,
}

/// Which units a person reads.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub enum System {
    /// um, mm, mL.
    #[default]
    Metric,
    /// mil, inch, fluid ounce.
    Us,
}

impl Unit {
    /// Symbol, factor from the job file's number to the shown one, and digits after the point.
    pub fn shown(self, system: System) -> (&'static str, f64, usize) {
        match (self, system) {
            (Self::Micrometre, System::Metric) => ("\u{b5}m", 1.0, 1),
            (Self::Micrometre, System::Us) => ("mil", 1.0 / 25.4, 2),
            (Self::Millimetre, System::Metric) => ("mm", 1.0, 0),
            (Self::Millimetre, System::Us) => ("in", 1.0 / 25.4, 1),
            (Self::MillimetrePerSecond, System::Metric) => ("mm/s", 1.0, 0),
            (Self::MillimetrePerSecond, System::Us) => ("in/s", 1.0 / 25.4, 1),
            (Self::MillilitrePerMinute, System::Metric) => ("mL/min", 1.0, 0),
            (Self::MillilitrePerMinute, System::Us) => ("oz/min", 1.0 / 29.573_529_562_5, 1),
            (Self::Percent, _) => ("%", 100.0, 0),
            (Self::Plain, _) => ("", 1.0, 2),
            (Self::Degree, _) => ("\u{b0}", 1.0, 0),
            (Self::Minute, _) => ("min", 1.0, 1),
            (Self::Second, _) => ("s", 1.0, 1),
            (Self::Metre, System::Metric) => ("m", 1.0, 1),
            (Self::Metre, System::Us) => ("ft", 1.0 / 0.3048, 1),
            (Self::PascalSecond, _) => ("Pa s", 1.0, 2),
        }
    }

    /// The unit of the number as it stands in the job file, in words for a message.
    pub fn in_file(self) -> &'static str {
        match self {
            Self::Micrometre => "um",
            Self::Millimetre => "mm",
            Self::MillimetrePerSecond => "mm/s",
            Self::MillilitrePerMinute => "mL/min",
            Self::Percent => "as a share of 1",
            Self::Plain => "",
            Self::Degree => "degrees",
            Self::Minute => "min",
            Self::Second => "s",
            Self::Metre => "m",
            Self::PascalSecond => "Pa s",
        }
    }
}

/// What kind of value an input takes.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Kind {
    /// A number within limits.
    Number(Range),
    /// One of several values (as JSON), each with its words; which of them is the default.
    Choice(&'static [(&'static str, &'static str)], usize),
    /// Yes or no; the default.
    Flag(bool),
    /// A text; the default.
    Text(&'static str),
    /// Numbers in a form of their own, in words: checked in `spectra` or `cards`.
    Form(&'static str),
}

/// Limits and marks of a number.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Range {
    /// Its unit.
    pub unit: Unit,
    /// Least allowed.
    pub least: f64,
    /// Most allowed.
    pub most: f64,
    /// Step of the control.
    pub step: f64,
    /// Taken when the key is missing; not a number stands for null.
    pub default: f64,
    /// Usual in the trade.
    pub usual: Option<(f64, f64)>,
    /// Places marked on the control's track, whose ends they are; empty means least to most.
    pub marks: &'static [f64],
    /// Whether `null` may be given, and what it means.
    pub none: Option<&'static str>,
}

/// One input of a job.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Input {
    /// Path in the job file; `[]` stands for every item of a list.
    pub path: &'static str,
    /// The trade's word for it.
    pub name: &'static str,
    /// What it takes.
    pub kind: Kind,
    /// One plain sentence.
    pub hint: &'static str,
}

const fn number(path: &'static str, name: &'static str, unit: Unit, limits: [f64; 4], hint: &'static str) -> Input {
    let [least, most, step, default] = limits;
    let range = Range { unit, least, most, step, default, usual: None, marks: &[], none: None };
    Input { path, name, kind: Kind::Number(range), hint }
}

impl Input {
    const fn marked(self, usual: (f64, f64), marks: &'static [f64]) -> Self {
        match self.kind {
            Kind::Number(range) => Self { kind: Kind::Number(Range { usual: Some(usual), marks, ..range }), ..self },
            _ => self,
        }
    }

    const fn by_default(self, option: usize) -> Self {
        match self.kind {
            Kind::Choice(options, _) => Self { kind: Kind::Choice(options, option), ..self },
            _ => self,
        }
    }

    const fn or_none(self, meaning: &'static str) -> Self {
        match self.kind {
            Kind::Number(range) => Self { kind: Kind::Number(Range { none: Some(meaning), ..range }), ..self },
            _ => self,
        }
    }

    /// Null where it is not given.
    const fn missing(self) -> Self {
        match self.kind {
            Kind::Number(range) => {
                Self { kind: Kind::Number(Range { none: Some("not given"), default: f64::NAN, ..range }), ..self }
            }
            _ => self,
        }
    }

    /// The limits, if it is a number.
    pub fn range(&self) -> Option<&Range> {
        match &self.kind {
            Kind::Number(range) => Some(range),
            _ => None,
        }
    }

    /// The value taken when the key is missing.
    pub fn default_value(&self) -> Option<Value> {
        match self.kind {
            Kind::Number(range) => Some(plain_number(range.default)),
            Kind::Choice(options, default) => serde_json::from_str(options[default].0).ok(),
            Kind::Flag(default) => Some(json!(default)),
            Kind::Text(default) => Some(json!(default)),
            Kind::Form(_) => None,
        }
    }

    /// The last part of its path.
    pub fn key(&self) -> &'static str {
        self.path.rsplit('.').next().unwrap_or(self.path)
    }
}

/// A JSON number without a needless ".0".
pub fn plain_number(value: f64) -> Value {
    if value.fract() == 0.0 && value.abs() < 1e15 {
        json!(value as i64)
    } else {
        Number::from_f64(value).map_or(Value::Null, Value::Number)
    }
}

const fn choice(
    path: &'static str,
    name: &'static str,
    options: &'static [(&'static str, &'static str)],
    hint: &'static str,
) -> Input {
    Input { path, name, kind: Kind::Choice(options, 0), hint }
}

const fn flag(path: &'static str, name: &'static str, hint: &'static str) -> Input {
    Input { path, name, kind: Kind::Flag(false), hint }
}

const fn text(path: &'static str, name: &'static str, default: &'static str, hint: &'static str) -> Input {
    Input { path, name, kind: Kind::Text(default), hint }
}

/// The input at a path such as `coats[1].overlap`.
pub fn input(path: &str) -> Option<&'static Input> {
    let pattern = pattern_of(path);
    INPUTS.iter().find(|input| input.path == pattern)
}

/// The inputs of a section such as `gun` or `coats[]`.
pub fn section(name: &str) -> impl Iterator<Item = &'static Input> {
    INPUTS.iter().filter(move |input| input.path.rsplit_once('.').is_some_and(|(section, _)| section == name))
}

/// What a hand does against the plan: the inputs of the hand, but for how it swings, walks and is drawn by chance.
pub fn errors_of_hand() -> impl Iterator<Item = &'static Input> {
    section("hand").filter(|input| !matches!(input.key(), "arc_pivot_mm" | "seed" | "walk_round_s"))
}

/// A path with its item numbers left out: `coats[1].overlap` becomes `coats[].overlap`.
fn pattern_of(path: &str) -> String {
    let mut inside = false;
    path.chars()
        .filter(|c| {
            inside = if *c == '[' { true } else { inside && *c != ']' };
            *c == '[' || *c == ']' || !inside
        })
        .collect()
}
