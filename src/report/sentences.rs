//! The report in sentences, for the page's text twin and screen readers.

use super::{Report, SightReport};
use crate::appraisal::WetFigures;
use crate::eye::Target;
use crate::job::inputs::{System, Unit};
use crate::job::{Job, Paint};
use crate::words::{clock, digits_of, eye, hand_errors, not_looked_at, rolled, seen_from, shown, shown_run, times};

/// What a finished rehearsal shows, in one paragraph.
pub fn outcome(job: &Job, report: &Report, system: System) -> String {
    let um = |value: f64| shown(Unit::Micrometre, value, system);
    let mut text = format!(
        "{}, {} by {}, finished after {} in {}. ",
        job.title,
        shown(Unit::Millimetre, job.panel.length.0, system),
        shown(Unit::Millimetre, job.panel.width.0, system),
        clock(report.time.total_s),
        match job.coats.len() {
            1 => "one coat".to_string(),
            n => format!("{n} coats"),
        },
    );
    for (name, film) in &report.film {
        text += &format!(
            "Film of the paint \u{201c}{name}\u{201d}: {} on average in the middle of the panel, from {} to {}; {} along the rim. ",
            um(film.interior.mean_um),
            um(film.interior.min_um),
            um(film.interior.max_um),
            um(film.edge_band.mean_um),
        );
    }
    if job.panel.has_rim() {
        text += &format!("Its edges are rolled down {}. ", rolled(&job.panel, system));
    }
    if let Some(errors) = hand_errors(job, system) {
        text += &format!("The hand errs: {errors}. ");
    }
    if let Target::Film(film) = job.target {
        text += &format!("The target is {}. ", um(film.0));
    }
    let difference = &report.colour.delta_e00;
    text += &format!(
        "Colour difference to the target {:.1} on average, up to {:.1} in 19 places of 20.",
        difference.mean, difference.p95
    );
    match &report.seen {
        Some(seen) => {
            text += " ";
            text += &sight(job, seen, system);
        }
        None if !job.coats.is_empty() => {
            text += " ";
            text += not_looked_at(job);
        }
        None => {}
    }
    for (paint, wet) in job.paints.iter().filter_map(|paint| Some((paint, report.wet.get(&paint.name)?))) {
        text += &running(&paint.name, wet, system).unwrap_or_default();
        text += &near_running(&paint.name, wet).unwrap_or_default();
        text += &edge_lost(paint, wet, system).unwrap_or_default();
    }
    text
}

/// What runs, in a sentence; none where nothing does.
fn running(paint: &str, wet: &WetFigures, system: System) -> Option<String> {
    let (worst, mm) = (wet.worst_run?, |value: f64| shown(Unit::Millimetre, value, system));
    let places = if wet.runs == 1 { "one place".to_string() } else { format!("{} places", wet.runs) };
    Some(format!(
        " The paint \u{201c}{paint}\u{201d} runs at {places}: most of all {} from the left and {} from the near edge, at \
         {}, where the wet film is {}, {} times the sag limit at that slope. The longest run is {} long.",
        mm(worst.x_mm),
        mm(worst.y_mm),
        clock(worst.at_s),
        shown(Unit::Micrometre, worst.wet_um, system),
        times_fine(worst.times_sag_limit),
        shown_run(wet.longest_run_mm, system),
    ))
}

/// What is near to running where nothing does, in a sentence; none where all holds.
fn near_running(paint: &str, wet: &WetFigures) -> Option<String> {
    let places = if wet.near_limit == 1 { "one place".to_string() } else { format!("{} places", wet.near_limit) };
    (wet.runs == 0 && wet.near_limit > 0).then(|| {
        format!(
            " The paint \u{201c}{paint}\u{201d} is near its limit at {places}: the wet film is up to {} times the sag limit at \
             that slope, but moves less than a millimetre.",
            times_fine(wet.times_sag_limit)
        )
    })
}

/// A little more than 1 is not said as 1.
fn times_fine(value: f64) -> String {
    if value < 1.095 { format!("{:.2}", value.max(1.01)) } else { times(value) }
}

/// Where the wet edge is lost, in a sentence; none where it is kept.
fn edge_lost(paint: &Paint, wet: &WetFigures, system: System) -> Option<String> {
    let share =
        if wet.edge_lost < 0.01 { "less than 1 %".to_string() } else { shown(Unit::Percent, wet.edge_lost, system) };
    (wet.edge_lost > 0.0).then(|| {
        format!(
            " Over {share} of the panel neighbouring passes of the paint \u{201c}{}\u{201d} lie up to {} min apart, longer \
             than it stays open ({} min): the wet edge is lost there.",
            paint.name,
            clock(wet.worst_gap_s),
            digits_of(paint.open_time.0, 1),
        )
    })
}

/// What an eye would see, in a sentence or two.
fn sight(job: &Job, seen: &SightReport, system: System) -> String {
    let (worst, most) = (&seen.worst, seen.times_threshold.max);
    let at = shown(Unit::Metre, seen.distance_m, system);
    let eye = eye(&seen.eye);
    let place = seen_from(worst.seen_from_m, seen.looked_from_m, system);
    if most < 1.0 {
        let share = times(most);
        let but = if worst.seen_from_m.is_some() { "But it is " } else { "It is " };
        return format!(
            "At {at} {eye} would not see the colour's unevenness: at its worst place it reaches {share} times the visible \
             threshold. {but}{place}."
        );
    }
    let apart = |factor: f64| shown(Unit::Millimetre, two_digits(worst.period_mm * factor), system);
    let half_octave = std::f64::consts::SQRT_2;
    let by = if job.coloured().len() > 1 {
        format!(" The film of \u{201c}{}\u{201d} makes it.", worst.paint)
    } else {
        String::new()
    };
    format!(
        "At {at} {eye} would see the colour's unevenness, at its worst place {} times the visible threshold; that place is \
         {place}.{by} Its crests lie some {} to {} apart, and from crest to trough the colour differs by {:.1}.",
        times(most),
        apart(1.0 / half_octave),
        apart(half_octave),
        worst.delta_e00
    )
}

/// A length rounded to two digits: a band is an octave wide.
fn two_digits(mm: f64) -> f64 {
    let step = [1.0, 10.0, 100.0].into_iter().find(|step| mm < 100.0 * step).unwrap_or(1000.0);
    (mm / step).round() * step
}
