//! The one table of inputs: name, path in the job file, unit, least, most, step, default and words. It builds the
//! controls of the page, the checks, the error messages, the command line's help and the shortening of the link.
//! Usual ranges are trade practice with its source beside them; they mark, they do not limit.

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
    /// m or feet.
    Metre,
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
            (Self::Minute, _) => ("min", 1.0, 0),
            (Self::Metre, System::Metric) => ("m", 1.0, 1),
            (Self::Metre, System::Us) => ("ft", 1.0 / 0.3048, 1),
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
            Self::Metre => "m",
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
    /// A spectrum or the ground: checked in `spectra`.
    Spectral,
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
    /// Taken when the key is missing.
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
            Kind::Spectral => None,
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

const fn spectral(path: &'static str, name: &'static str, hint: &'static str) -> Input {
    Input { path, name, kind: Kind::Spectral, hint }
}

use Unit::*;

/// Every input, in the order of the job file.
pub static INPUTS: &[Input] = &[
    text("title", "Job", "Untitled job", "What the job is called, on the screen and in its files."),
    // panel
    number("panel.length_mm", "Length", Millimetre, [100., 4000., 10., 1400.], "Panel, left to right."),
    number("panel.width_mm", "Width", Millimetre, [100., 3000., 10., 1100.], "Panel, near edge to far edge."),
    number(
        "panel.crown_along_mm",
        "Crown along",
        Millimetre,
        [-300., 300., 5., 0.],
        "How much the middle stands above the two ends.",
    ),
    number(
        "panel.crown_across_mm",
        "Crown across",
        Millimetre,
        [-300., 300., 5., 0.],
        "How much the middle stands above the near and far edges.",
    ),
    number(
        "panel.slope_deg",
        "Slope",
        Degree,
        [0., 90., 5., 0.],
        "0 lies flat like a bonnet, 90 stands like a door. Film as laid does not depend on it.",
    ),
    number("panel.cell_mm", "Cell", Millimetre, [1., 20., 1., 4.], "Size of the squares the film is computed in."),
    number(
        "panel.edge_band_mm",
        "Edge band",
        Millimetre,
        [1., 500., 5., 25.],
        "Width of the strip along the rim that is read by itself.",
    ),
    // gun
    number(
        "gun.fan_width_mm",
        "Fan width",
        Millimetre,
        [50., 600., 5., 250.],
        "Long side of the spray's footprint at the distance where the gun was measured.",
    )
    .marked((200., 300.), &[150., 200., 250., 300., 350.]), // common practice, no source
    number(
        "gun.fan_depth_mm",
        "Fan depth",
        Millimetre,
        [10., 200., 5., 60.],
        "Short side of the footprint, in the direction of travel.",
    ),
    number(
        "gun.at_distance_mm",
        "Measured at",
        Millimetre,
        [50., 500., 5., 180.],
        "Gun distance at which fan width and depth were measured; the angles of the fan stay fixed.",
    ),
    number(
        "gun.pass_exponent",
        "Pass exponent",
        Plain,
        [0.5, 8., 0.1, 2.4],
        "Shape across the fan: one pass lays (1 \u{2212} u\u{b2}) to this power. At 2.4 an overlap of 50 % is best.",
    ),
    number(
        "gun.depth_exponent",
        "Depth exponent",
        Plain,
        [0., 8., 0.1, 1.5],
        "Shape in the direction of travel; 0 is even.",
    ),
    number(
        "gun.heavy_end",
        "Heavy end",
        Percent,
        [-1., 1., 0.05, 0.],
        "An air cap fault: the far end of the fan (above 0) or the near end (below 0) carries more paint.",
    ),
    number(
        "gun.split",
        "Split fan",
        Percent,
        [0., 1., 0.05, 0.],
        "An air cap fault: paint missing in the middle of the fan and heaped at both ends.",
    ),
    number(
        "gun.fluid_ml_per_min",
        "Fluid",
        MillilitrePerMinute,
        [10., 1000., 5., 200.],
        "Paint delivered while the trigger is open.",
    )
    // from memory: gravity guns in refinish; the upper mark is a printed pressure-feed figure of 10 oz/min (P. Crumpler)
    .marked((120., 300.), &[]),
    number(
        "gun.transfer_efficiency",
        "Transfer",
        Percent,
        [0.05, 0.95, 0.01, 0.65],
        "Share of the paint that reaches the panel at the measured distance; the rest is lost in the air.",
    )
    // B. L. Gatano, thesis abstract: 0.66 to 0.87 onto flat plate, HVLP; 0.65 is an approval threshold
    .marked((0.65, 0.87), &[]),
    number(
        "gun.transfer_falls_over_mm",
        "Transfer falls over",
        Millimetre,
        [100., 10000., 50., 800.],
        "The transfer falls by 1/e over this extra distance: an assumption.",
    )
    .or_none("the transfer does not fall with distance"),
    // paints
    text("paints[].name", "Paint", "tinted", "Name by which the coats call it."),
    choice(
        "paints[].role",
        "Role",
        &[("\"tinted_clear\"", "tinted clear"), ("\"clear\"", "untinted clear")],
        "A tinted clear carries the colour; an untinted clear does not change it.",
    ),
    number(
        "paints[].solids_by_volume",
        "Solids",
        Percent,
        [0.05, 1., 0.01, 0.42],
        "Share of the wet paint that stays as dry film.",
    ),
    spectral(
        "paints[].absorption_per_um",
        "Absorption",
        "How strongly the film takes each band of light, per \u{b5}m.",
    ),
    number(
        "paints[].scatter_per_um",
        "Scatter",
        Plain,
        [0., 0., 0.001, 0.],
        "A tinted clear is computed without scatter in this version.",
    ),
    number(
        "paints[].sag_limit_um_wet",
        "Sag limit, wet",
        Micrometre,
        [10., 1000., 5., 120.],
        "Wet film that may run on a standing panel. Kept with the job; runs are not computed in this version.",
    ),
    number(
        "paints[].open_time_min",
        "Open time",
        Minute,
        [1., 240., 1., 12.],
        "How long the film stays open. Kept with the job; not computed with in this version.",
    ),
    spectral("ground", "Ground", "What the first paint lies on, as measured under untinted clear."),
    // target
    number(
        "target.film_um",
        "Target film",
        Micrometre,
        [1., 300., 0.5, 35.],
        "Dry film of the tinted clear at which the colour is right.",
    ),
    // viewing
    choice(
        "viewing.illuminant",
        "Light",
        &[("\"D65\"", "Daylight D65"), ("\"A\"", "Lamp A"), ("\"LED-B3\"", "Shop LED B3")],
        "The light under which colour is computed and shown.",
    ),
    choice(
        "viewing.observer_deg",
        "Observer",
        &[("10", "10\u{b0} (CIE 1964)"), ("2", "2\u{b0} (CIE 1931)")],
        "Field of view for which colour differences are computed.",
    ),
    choice(
        "viewing.aspecular_deg",
        "Seen at",
        &[("15", "15\u{b0}"), ("25", "25\u{b0}"), ("45", "45\u{b0}"), ("75", "75\u{b0}"), ("110", "110\u{b0}")],
        "Angle between the eye and the mirror direction of the light: small near the highlight, large in the flop.",
    )
    .by_default(2),
    number(
        "viewing.distance_m",
        "Viewing distance",
        Metre,
        [0.3, 10., 0.1, 1.],
        "How far the eye stands from the panel. From afar wide stripes show best, from near by narrow ones.",
    ),
    choice(
        "viewing.eye",
        "Eye",
        &[("\"trained\"", "trained eye, good lamp"), ("\"anyone\"", "anyone")],
        "A trained eye under a good lamp takes 2 times the threshold of a laboratory until it sees, anyone 4 times. These \
         two are our judgement; the threshold itself is published (castleCSF, 2024).",
    ),
    // coats
    text("coats[].paint", "Paint", "tinted", "Which paint this coat is."),
    number(
        "coats[].amount",
        "Amount",
        Percent,
        [0.1, 3., 0.05, 1.],
        "Share of a full coat. A half coat is a thin coat, laid by going twice as fast.",
    ),
    number(
        "coats[].distance_mm",
        "Gun distance",
        Millimetre,
        [50., 600., 5., 180.],
        "From the nozzle to the panel. Nearer makes the fan narrower and wetter, farther makes it wider and drier.",
    )
    // 6 to 10 in: TM 1-1500-344-23-2 (2009), p. A-11
    .marked((152.4, 254.), &[100., 150., 200., 250., 300.]),
    number(
        "coats[].overlap",
        "Overlap",
        Percent,
        [0., 0.9, 0.01, 0.75],
        "How much of one pass the next covers again. 50 % means the gun aims at the edge of the last pass.",
    )
    // 50 % standard, 50 to 75 % held: Auto Collision Repair and Refinishing (2022), pp. 688, 691
    .marked((0.5, 0.75), &[0., 0.25, 0.5, 0.75, 0.9]),
    number(
        "coats[].speed_mm_per_s",
        "Travel speed",
        MillimetrePerSecond,
        [50., 2000., 10., 500.],
        "How fast the gun goes in a full coat. Half the speed lays twice the film.",
    )
    // printed: about 1 ft/s (305) and 1.5 ft/s (457), Auto Collision Repair and Refinishing (2022), p. 687; the
    // upper end is common practice, no source
    .marked((300., 600.), &[200., 400., 600., 800., 1000.]),
    choice(
        "coats[].along",
        "Passes run",
        &[("\"length\"", "along the length"), ("\"width\"", "along the width")],
        "Direction of the passes.",
    ),
    choice(
        "coats[].reach",
        "Sprayed from",
        &[("\"one_side\"", "one side"), ("\"both_sides\"", "both sides")],
        "A panel too wide to reach across is sprayed from both sides, each half from its own edge inwards.",
    ),
    number(
        "coats[].reach_overlap_mm",
        "Reaches overlap by",
        Millimetre,
        [-300., 600., 5., 0.],
        "How far the two reaches cover the same middle; below 0 they leave a gap.",
    ),
    number(
        "coats[].margin_mm",
        "Margin",
        Millimetre,
        [0., 500., 5., 125.],
        "The outermost lines lie at least this far outside the panel; 0 puts the first on its edge.",
    ),
    number(
        "coats[].lead_mm",
        "Lead",
        Millimetre,
        [0., 500., 5., 150.],
        "How far before the edge the trigger opens, and how far after it closes.",
    ),
    number(
        "coats[].shift",
        "Shift",
        Percent,
        [-1., 1., 0.05, 0.],
        "Moves all lines of the coat by this share of their spacing: 50 % puts them between those of the last coat.",
    ),
    flag("coats[].edge_pass", "Edge pass first", "One pass around the rim, on the edge line, before the lines."),
    number("coats[].flash_min", "Flash-off", Minute, [0., 120., 1., 10.], "Waiting time after the coat."),
    // hand
    number(
        "hand.distance_error_mm",
        "Distance error",
        Millimetre,
        [-100., 300., 5., 0.],
        "The hand holds the gun this much farther than planned; the lines stay where they were.",
    ),
    number(
        "hand.speed_error",
        "Speed error",
        Percent,
        [-0.5, 1., 0.01, 0.],
        "How much faster than planned (below 0: slower).",
    ),
    number(
        "hand.arc_deg",
        "Wrist arc",
        Degree,
        [0., 60., 1., 0.],
        "Angle of the wrist at the ends of a pass: the gun swings instead of travelling square.",
    ),
    number(
        "hand.arc_pivot_mm",
        "Arc about",
        Millimetre,
        [0., 1000., 10., 250.],
        "How far behind the nozzle the swing turns: about 250 mm from the wrist, 550 mm from the elbow.",
    ),
    number(
        "hand.heel_deg",
        "Heel",
        Degree,
        [-45., 45., 1., 0.],
        "The gun is turned about the line of travel: above 0 the far end of the fan is further from the panel.",
    ),
    number(
        "hand.drag_deg",
        "Drag",
        Degree,
        [-45., 45., 1., 0.],
        "The gun is turned in the direction of travel: above 0 the spray trails behind the nozzle.",
    ),
    number(
        "hand.trigger_late_mm",
        "Trigger late by",
        Millimetre,
        [-200., 200., 5., 0.],
        "The trigger opens and closes this much later along the travel (below 0: earlier).",
    ),
    number(
        "hand.slow_at_ends",
        "Slows at the ends",
        Percent,
        [0., 0.9, 0.05, 0.],
        "Speed lost at the very end of a pass, beginning 150 mm before it.",
    ),
    number("hand.distance_sd_mm", "Distance drift", Millimetre, [0., 0., 1., 0.], DRIFT),
    number("hand.speed_sd", "Speed drift", Percent, [0., 0., 0.01, 0.], DRIFT),
    number("hand.line_sd_mm", "Line drift", Millimetre, [0., 0., 1., 0.], DRIFT),
    number("hand.angle_sd_deg", "Angle drift", Degree, [0., 0., 1., 0.], DRIFT),
    number("hand.seed", "Seed", Plain, [0., 4_294_967_295., 1., 1.], "Start of the random drift."),
];

const DRIFT: &str = "Random drift of the hand is not rehearsed in this version.";

/// The input at a path such as `coats[1].overlap`.
pub fn input(path: &str) -> Option<&'static Input> {
    let pattern = pattern_of(path);
    INPUTS.iter().find(|input| input.path == pattern)
}

/// The inputs of a section such as `gun` or `coats[]`.
pub fn section(name: &str) -> impl Iterator<Item = &'static Input> {
    INPUTS.iter().filter(move |input| input.path.rsplit_once('.').is_some_and(|(section, _)| section == name))
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
