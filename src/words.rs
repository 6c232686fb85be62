//! Numbers as a person reads them, and what a job means in sentences: for `check`, the page's text twin and screen
//! readers.

use crate::eye::Target;
use crate::job::inputs::{System, Unit, errors_of_hand};
use crate::job::{Car, Job};
use crate::panel::Panel;
use crate::strokes::{Along, Coat, Reach, Sequence, lines};

/// A number of the job file as a person reads it: with its unit, and with the digits the unit deserves.
///
/// ```
/// use fanlap::{job::inputs::{System, Unit}, words::shown};
/// assert_eq!(shown(Unit::Millimetre, 180.0, System::Us), "7.1 in");
/// assert_eq!(shown(Unit::Percent, 0.6, System::Metric), "60 %");
/// ```
pub fn shown(unit: Unit, value: f64, system: System) -> String {
    let (symbol, factor, digits) = unit.shown(system);
    let space = if symbol.is_empty() || symbol == "\u{b0}" { "" } else { " " };
    format!("{}{space}{symbol}", digits_of(value * factor, digits))
}

/// A number with a true minus sign and no needless zeros.
pub fn digits_of(value: f64, digits: usize) -> String {
    let text = format!("{value:.digits$}");
    let text = if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_string() } else { text };
    let text = if text == "-0" { "0".to_string() } else { text };
    text.replace('-', "\u{2212}")
}

/// Two values of one unit, which is told once.
pub fn between(unit: Unit, low: f64, high: f64, system: System) -> String {
    let (_, factor, digits) = unit.shown(system);
    format!("{} to {}", digits_of(low * factor, digits), shown(unit, high, system))
}

/// The unit of paint that is poured, what of it is in a millilitre, and digits: mL, or US fluid ounces.
pub fn volume_unit(system: System) -> (&'static str, f64, usize) {
    match system {
        System::Metric => ("mL", 1.0, 0),
        System::Us => ("fl oz", 1.0 / 29.573_529_562_5, 1),
    }
}

/// Paint that is poured.
pub fn volume(ml: f64, system: System) -> String {
    let (unit, factor, digits) = volume_unit(system);
    format!("{} {unit}", digits_of(ml * factor, digits))
}

/// A duration as m:ss.
pub fn clock(seconds: f64) -> String {
    let whole = (seconds + 1e-6).floor().max(0.0) as u64;
    format!("{}:{:02}", whole / 60, whole % 60)
}

/// A text as a cell of CSV, in quotes. One that a spreadsheet would take for a formula gets an apostrophe before it.
///
/// ```
/// use fanlap::words::csv_cell;
/// assert_eq!(csv_cell("=1+1"), "\"'=1+1\"");
/// assert_eq!((csv_cell("-12.5").as_str(), csv_cell("6\" fan").as_str()), ("\"-12.5\"", "\"6\"\" fan\""));
/// ```
pub fn csv_cell(text: &str) -> String {
    let formula =
        text.starts_with(['=', '+', '-', '@', '\t', '\r', '\n', '\u{ff1d}', '\u{ff0b}', '\u{ff0d}', '\u{ff20}']);
    let apostrophe = if formula && text.parse::<f64>().is_err() { "'" } else { "" };
    format!("\"{apostrophe}{}\"", text.replace('"', "\"\""))
}

/// What a job means, in one paragraph.
pub fn meaning(job: &Job) -> String {
    let mm = |value: f64| shown(Unit::Millimetre, value, System::Metric);
    let panel = &job.panel;
    let crown = match (panel.crown_along.0, panel.crown_across.0) {
        (0.0, 0.0) => "flat".to_string(),
        (along, across) => format!("crowned {} along and {} across", mm(along), mm(across)),
    };
    let rim = if panel.has_rim() {
        format!(", its edges rolled down {}", rolled(panel, System::Metric))
    } else {
        String::new()
    };
    let mut text = format!("{}: a panel {} by {}, {crown}{rim}. ", job.title, mm(panel.length.0), mm(panel.width.0));
    let gun = &job.gun;
    text += &format!(
        "The fan is {} wide and {} deep at {}, the gun delivers {} and {} of it reaches the panel. ",
        mm(gun.fan_width.0),
        mm(gun.fan_depth.0),
        mm(gun.at_distance.0),
        shown(Unit::MillilitrePerMinute, gun.fluid.0, System::Metric),
        shown(Unit::Percent, gun.transfer_efficiency.0, System::Metric),
    );
    if job.coats.is_empty() {
        text += "There are no coats yet. ";
    }
    for (i, coat) in job.coats.iter().enumerate() {
        text += &format!("Coat {}: {} ", i + 1, coat_meaning(job, coat));
    }
    if let Some(errors) = hand_errors(job, System::Metric) {
        text += &format!("The hand errs: {errors}. ");
    }
    text += &match job.target {
        Target::Film(film) => format!("The target is {} of dry film", shown(Unit::Micrometre, film.0, System::Metric)),
        Target::Colour([l, a, b]) => format!("The target is the colour L* {l}, a* {a}, b* {b}"),
    };
    let view = &job.viewing;
    text + &format!(
        ", judged under {} at {}\u{b0} with the {}\u{b0} observer, looked at from {} by {}.",
        view.illuminant,
        view.aspecular.0,
        view.observer_deg,
        shown(Unit::Metre, view.distance.0, System::Metric),
        eye(&view.eye)
    ) + &cards_meaning(job)
}

/// What a job says of cards, the car and measurements, in sentences.
fn cards_meaning(job: &Job) -> String {
    let list = |numbers: Vec<f64>| numbers.iter().map(f64::to_string).collect::<Vec<_>>().join(", ");
    let under = |light: &str, observer: u8| format!("under {light} with the {observer}\u{b0} observer");
    let mut text = format!(" The ladder has cards of {} coats", list(job.cards.ladder.clone()));
    text += &job.cards.chosen.map_or(".".to_string(), |chosen| format!("; the one of {chosen} is chosen."));
    if let Some(car) = &job.car {
        let angles = list(car.angles().iter().map(|angle| angle.0).collect());
        text += &match car {
            Car::Reflectance(_) => format!(" The car is known by its spectra at {angles}\u{b0}."),
            Car::Lab { illuminant, observer_deg, .. } => {
                format!(" The car is known by L*, a*, b* at {angles}\u{b0} {}.", under(illuminant, *observer_deg))
            }
        };
    }
    if let Some(measured) = &job.measured {
        let coats = list(measured.cards.iter().map(|card| card.coats).collect());
        let lab = measured.cards.iter().any(|card| card.lab.is_some());
        let how = if lab { format!(" {}", under(&measured.illuminant, measured.observer_deg)) } else { String::new() };
        let unequal = if measured.unequal { ", the coats perhaps unequal" } else { "" };
        text += &format!(" Cards of {coats} coats were measured{how}{unequal}.");
    }
    if let Some(card) = &job.test_card {
        text += &format!(" A test card of the gun has {} readings.", card.readings.len());
    }
    text
}

fn coat_meaning(job: &Job, coat: &Coat) -> String {
    if let Some(track) = &coat.track {
        let passes = track.passes(&job.panel, coat.along).len();
        let plural = if passes == 1 { "pass" } else { "passes" };
        return format!("{}, sprayed by hand in {passes} {plural}, then {} min flash-off.", coat.paint, coat.flash.0);
    }
    let spacing = coat.spacing(&job.gun).0;
    let count = lines(&job.panel, &job.gun, coat).iter().filter(|line| !line.rim).count();
    let along = if coat.along == Along::Length { "along the length" } else { "along the width" };
    let reach = match coat.reach {
        Reach::OneSide => "from one side".to_string(),
        Reach::BothSides if job.panel.stands() => "from both sides".to_string(),
        Reach::BothSides => {
            format!("from both sides ({} to walk round)", shown(Unit::Second, job.hand.walk_round.0, System::Metric))
        }
    };
    let across = if coat.sequence == Sequence::StraightAcross { " straight across" } else { "" };
    let rim = if coat.edge_pass { " after a pass around the rim" } else { "" };
    format!(
        "{}, {count} lines {} apart {along} {reach}{across}{rim}, gun {} away at {}, {} overlap, lays {} of dry film away from \
         the edges, then {} min flash-off.",
        coat.paint,
        shown_fine(spacing, System::Metric),
        shown(Unit::Millimetre, coat.distance.0, System::Metric),
        shown(Unit::MillimetrePerSecond, coat.actual_speed().0, System::Metric),
        shown(Unit::Percent, coat.overlap.0, System::Metric),
        shown(Unit::Micrometre, job.planned_film(coat).0, System::Metric),
        coat.flash.0,
    )
}

/// The rolled rim in words.
pub(crate) fn rolled(panel: &Panel, system: System) -> String {
    let radius = shown(Unit::Millimetre, panel.rim_radius.0, system);
    format!("by {} with a radius of {radius}", shown(Unit::Degree, panel.rim_angle.0, system))
}

/// What the hand does against the plan and how it strays at random, in words; none if it is faultless.
pub fn hand_errors(job: &Job, system: System) -> Option<String> {
    let (value, faultless) = (job.value(), Job::default().value());
    let errors: Vec<String> = errors_of_hand()
        .filter_map(|input| {
            let (is, none) = (value["hand"].get(input.key())?, faultless["hand"].get(input.key())?);
            let range = input.range()?;
            let random = if input.key().contains("_sd") { "\u{b1}" } else { "" };
            let words = format!("{} {random}{}", input.name.to_lowercase(), shown(range.unit, is.as_f64()?, system));
            (is != none).then_some(words)
        })
        .collect();
    let which = if job.hand.is_steady() { String::new() } else { format!(" (at random, hand {})", job.hand.seed) };
    (!errors.is_empty()).then(|| errors.join(", ") + &which)
}

/// A length with a tenth of a millimetre or of an inch where it has one.
pub fn shown_fine(mm: f64, system: System) -> String {
    let (symbol, factor, _) = Unit::Millimetre.shown(system);
    format!("{} {symbol}", digits_of(mm * factor, 1))
}

/// The length of a run: below a centimetre in tenths of a millimetre.
pub fn shown_run(mm: f64, system: System) -> String {
    match (mm, system) {
        (mm, System::Metric) if mm < 9.95 => shown_fine(mm, system),
        (mm, System::Us) if mm < 1.27 => "less than 0.1 in".to_string(),
        (mm, _) => shown(Unit::Millimetre, mm, system),
    }
}

/// Whose eye it is, in words.
pub fn eye(name: &str) -> &'static str {
    if name == "anyone" { "anyone" } else { "a trained eye" }
}

/// From how far a place is seen, in words: the greatest distance, or none, of those that were tried.
///
/// ```
/// use fanlap::{job::inputs::System, words::seen_from};
/// let words = |from| seen_from(from, [0.3, 10.0], System::Metric);
/// assert_eq!(words(Some(1.42)), "seen from up to 1.4 m");
/// assert_eq!(words(Some(10.0)), "still seen from 10 m, the farthest that was looked from");
/// assert_eq!(words(None), "not seen at any distance from 0.3 to 10 m");
/// ```
pub fn seen_from(from: Option<f64>, [nearest, farthest]: [f64; 2], system: System) -> String {
    let metres = |value: f64| shown(Unit::Metre, value, system);
    match from {
        None => {
            let (_, factor, digits) = Unit::Metre.shown(system);
            format!("not seen at any distance from {} to {}", digits_of(nearest * factor, digits), metres(farthest))
        }
        Some(from) if from >= farthest => {
            format!("still seen from {}, the farthest that was looked from", metres(farthest))
        }
        Some(from) => format!("seen from up to {}", metres(from)),
    }
}

/// How many times over a threshold something is: with a digit after the point, from 10 on without.
pub fn times(value: f64) -> String {
    if value < 9.95 { format!("{value:.1}") } else { format!("{value:.0}") }
}

/// Why nothing was looked at with an eye.
pub fn not_looked_at(job: &Job) -> &'static str {
    if job.coloured().is_empty() {
        "Stripes and clouds were not looked for: no coat of this job carries colour."
    } else {
        "Stripes and clouds were not looked for: the panel is too small, or its cells are too large."
    }
}
