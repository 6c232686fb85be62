//! The cure of a defect: of all corrections after which it is gone, the one that leaves the fewest findings and costs the
//! least effort; of an error of the hand only as much as is needed. Each is rehearsed on the job's own grid before it is
//! offered.

use super::recorded::{is_track, planned};
use super::{Correction, Cure, Nature, Search, limit, severity_of};
use crate::findings::{Defect, over_limit};
use crate::job::inputs::{System, input, plain_number};
use crate::maths::ascending;
use crate::words::shown;

/// On the trial grid a defect counts as gone below this, so that it is gone on the job's own grid too.
const GONE: f64 = 0.93;
/// How often the least change of an error is narrowed down.
const NARROWED: usize = 4;

pub(super) fn of(search: &Search, defect: &Defect, causes: &[(usize, f64)]) -> Option<Cure> {
    let mut offers: Vec<(Correction, f64)> = Vec::new();
    for (i, correction) in search.corrections.iter().enumerate().filter(|(_, c)| c.suits(defect)) {
        let gone = severity_of(&search.tried[i], defect) < gone(search, defect);
        // an error that has nothing to do with it is not worth curing
        let meant = correction.nature == Nature::Plan || causes.iter().any(|(cause, _)| *cause == i);
        if gone && meant {
            let left = left(search, &search.tried[i]);
            let named = causes.iter().any(|(cause, _)| *cause == i);
            let by_hand = causes.first().is_some_and(|(cause, _)| search.corrections[*cause].nature == Nature::Error);
            // what went wrong is put right, not planned around, where that helps too
            let aside = if named {
                0.0
            } else if by_hand {
                1.0
            } else {
                0.1
            };
            offers.push((correction.clone(), left as f64 + 0.5 * correction.effort + aside));
        }
    }
    if let [(first, _), (second, _), ..] = causes {
        offers.extend(both(search, defect, &search.corrections[*first], &search.corrections[*second]));
    }
    ascending(&mut offers, |offer| offer.1);
    let single = offers.into_iter().take(4).find_map(|(correction, _)| {
        let least = least(search, defect, correction.clone());
        rehearsed(search, defect, &least).or_else(|| rehearsed(search, defect, &correction))
    });
    single.or_else(|| everything(search, defect))
}

/// Below this a defect counts as gone on the trial grid.
fn gone(search: &Search, defect: &Defect) -> f64 {
    GONE * limit(&search.excused, defect)
}

/// How many findings are left.
fn left(search: &Search, measured: &[Defect]) -> usize {
    over_limit(measured).filter(|defect| search.over(defect)).count()
}

/// All errors of hand and gun at once, where nothing less helps.
fn everything(search: &Search, defect: &Defect) -> Option<Cure> {
    let errors = || search.corrections.iter().filter(|correction| correction.nature == Nature::Error);
    let first = errors().next()?.clone();
    if severity_of(&search.faultless, defect) >= limit(&search.excused, defect) {
        return None;
    }
    let settings = errors().flat_map(|error| &error.set).filter(|(path, _)| !is_track(path)).cloned();
    let set: Vec<_> = settings.chain(planned(&search.job)).collect();
    rehearsed(search, defect, &first.changed(set, "Put right all that hand and gun do against the plan.".to_string()))
}

/// Two corrections at once.
fn both(search: &Search, defect: &Defect, one: &Correction, other: &Correction) -> Option<(Correction, f64)> {
    let mut joined = one.clone();
    joined.set.extend(other.set.iter().cloned());
    joined.cure = format!("{} {}", one.cure, other.cure);
    let measured = search.measured(&joined.set, false)?;
    let left = left(search, &measured);
    let gone = severity_of(&measured, defect) < gone(search, defect);
    gone.then_some((joined, left as f64 + 0.5 * (one.effort + other.effort) + 0.25))
}

/// As much of an error's correction as is needed, so that a person sees how exact the hand must be.
fn least(search: &Search, defect: &Defect, correction: Correction) -> Correction {
    let (path, _) = &correction.set[0];
    if correction.nature != Nature::Error || correction.set.len() > 1 {
        return correction;
    }
    let Some(now) = search.job.get(path).and_then(|value| value.as_f64()) else { return correction };
    let Some(range) = input(path).and_then(|input| input.range()) else { return correction };
    let gone_below = gone(search, defect);
    let gone = |kept: f64| {
        let measured = search.measured(&[(path.clone(), plain_number(kept))], false);
        measured.is_some_and(|measured| severity_of(&measured, defect) < gone_below)
    };
    let stepped = |value: f64| (value / range.step).trunc() * range.step;
    let (mut held, mut lost) = (0.0, now);
    for _ in 0..NARROWED {
        let middle = 0.5 * (held + lost);
        if gone(middle) { held = middle } else { lost = middle }
    }
    let kept = (stepped(held) * 1e6).round() / 1e6;
    if kept == 0.0 {
        return correction;
    }
    let most = shown(range.unit, kept.abs(), System::Metric);
    let cure = format!("{} Up to {most} would not be seen.", correction.cure);
    let set = vec![(path.clone(), plain_number(kept))];
    correction.changed(set, cure)
}

/// The cure as the job's own grid shows it; none if the defect is still there.
fn rehearsed(search: &Search, defect: &Defect, correction: &Correction) -> Option<Cure> {
    let measured = search.measured(&correction.set, true)?;
    let severity = severity_of(&measured, defect);
    let left = left(search, &measured);
    (severity < limit(&search.excused, defect)).then(|| Cure {
        set: correction.as_map(),
        text: correction.cure.clone(),
        severity,
        left,
    })
}
