//! From a fault to its cause and its cure, by rehearsing again: one thing is put right at a time, every fault is measured
//! anew, and what shrinks a fault the most caused it. A cure is a change whose rehearsal, on the job's own grid, shows the
//! fault gone. Nothing is claimed that a rehearsal does not show. Works step by step, so that a page stays alive; does
//! not know what the faults are made of.

mod changed;
mod correct;
mod cure;
mod recorded;
mod report;

pub use crate::report::{Cause, Cure};
pub use correct::{Correction, Nature, corrections};
pub use report::report;

use crate::findings::{Fault, Kind, sizes};
use crate::job::Job;
use crate::maths::ascending;
use crate::rehearsal::{Rehearsal, rehearse, rehearse_film};
use serde_json::Value;
use std::cell::RefCell;
use std::rc::Rc;

/// Cells on which things are put right, mm, at least: coarse enough to try many, fine enough for every fault that is told
/// by them.
const TRIAL_CELL: f64 = 12.0;
/// A correction that takes away less than this share of a fault did not cause it.
const LEAST_SHARE: f64 = 0.2;
/// A cause that explains less than this is not the whole story, nor is one after which the fault is still there: a second
/// one is looked for beside it.
const WHOLE_STORY: f64 = 0.75;
/// Of causes that explain nearly the same, the more fundamental one is named.
const NEARLY: f64 = 0.9;
/// What was just changed, or did most to a recording, is named before what explains no more than this much more, as a share
/// of the fault: a judgement.
const TIE: f64 = 0.05;
/// A fault of a recording is the hand's if it is this many times that of its plan: a judgement.
const BEYOND: f64 = 1.25;

/// What the findings of a job are to be told for.
#[derive(Debug, Clone, Copy, Default)]
pub struct Aim<'a> {
    /// The job before the last change, which is named first where it explains as much.
    pub before: Option<&'a Job>,
    /// What the plan of a recording leaves by itself is none of the hand's faults: only what is beyond it is found.
    pub beyond_plan: bool,
    /// A lesson called the recording done: nothing is found beside it.
    pub done: bool,
}

/// A finding with what caused it and what would cure it.
#[derive(Debug, Clone, PartialEq)]
pub struct Finding {
    /// What is wrong.
    pub fault: Fault,
    /// What caused it: the strongest first, two where two play together; empty if nothing that was tried explains it.
    pub causes: Vec<Cause>,
    /// What would cure it; none if nothing that was tried does.
    pub cure: Option<Cure>,
}

impl Finding {
    /// A finding of which nothing more is known yet.
    pub fn bare(fault: &Fault) -> Self {
        Self { fault: fault.clone(), causes: Vec::new(), cure: None }
    }
}

/// Faults of one rehearsal on the trial grid.
type Measured = Vec<Fault>;

/// How many times over its limit a fault is in a measured rehearsal; nothing where it is not there at all.
fn times_of(measured: &[Fault], of: &Fault) -> f64 {
    let same = |fault: &&Fault| (fault.kind, fault.part, fault.paint) == (of.kind, of.part, of.paint);
    measured.iter().find(same).map_or(0.0, |fault| fault.times)
}

/// The search, one rehearsal a step.
pub struct Search {
    job: Job,
    found: Vec<Fault>,
    /// The job as it is, on the trial grid.
    base: Measured,
    /// The job as a faultless hand and gun would spray it, on the trial grid.
    faultless: Measured,
    corrections: Vec<Correction>,
    /// What the plan of the recordings leaves by itself, where that is no fault of theirs; otherwise nothing.
    excused: Measured,
    tried: Vec<Measured>,
    findings: Vec<Finding>,
    /// What was measured with more than one thing put right, or on the job's own grid: several findings may ask for it.
    asked: RefCell<Vec<(Asked, Rc<Measured>)>>,
}

/// The values that were put right, and whether on the job's own grid.
type Asked = (Vec<(String, Value)>, bool);

impl Search {
    /// Begins with a finished rehearsal of a job.
    pub fn new(rehearsal: &Rehearsal) -> Self {
        Self::with(rehearsal, Aim::default())
    }

    /// Begins with a finished rehearsal of a job, and an aim.
    pub fn with(rehearsal: &Rehearsal, aim: Aim) -> Self {
        let job = rehearsal.job().clone();
        let set = recorded::planned(&job);
        let planned = job.with_all(set.iter().map(|(path, value)| (path, value))).ok().filter(|_| !set.is_empty());
        let excused = planned.filter(|_| aim.beyond_plan).map_or_else(Vec::new, |planned| measure(&planned));
        let over = |fault: &Fault| fault.times >= limit(&excused, fault);
        let found = crate::findings::findings(rehearsal).into_iter().filter(|fault| over(fault) && !aim.done);
        let found: Vec<Fault> = found.collect();
        let corrections = if found.is_empty() { Vec::new() } else { all_corrections(&job, &found, aim.before) };
        let base = if found.is_empty() { Vec::new() } else { measure(&coarse(&job)) };
        let errors = corrections.iter().any(|correction| correction.nature == Nature::Error);
        let without = recorded::faultless(&coarse(&job), &corrections).filter(|_| errors && !found.is_empty());
        let faultless = without.map_or_else(|| base.clone(), |job| measure(&job));
        Self {
            job,
            found,
            base,
            faultless,
            corrections,
            excused,
            tried: Vec::new(),
            findings: Vec::new(),
            asked: RefCell::default(),
        }
    }

    /// Whether a fault is over its limit, or over what is excused.
    fn over(&self, fault: &Fault) -> bool {
        fault.times >= limit(&self.excused, fault)
    }

    /// The findings, without causes yet.
    pub fn found(&self) -> &[Fault] {
        &self.found
    }

    /// Rehearses once more, or explains one finding; false when all is done.
    pub fn step(&mut self) -> bool {
        if let Some(correction) = self.corrections.get(self.tried.len()) {
            let tried = correction.apply(&coarse(&self.job)).map_or_else(|_| self.base.clone(), |job| measure(&job));
            self.tried.push(tried);
        } else if let Some(fault) = self.found.get(self.findings.len()) {
            let finding = self.explain(&fault.clone());
            self.findings.push(finding);
        }
        !self.done()
    }

    /// Whether all is done.
    pub fn done(&self) -> bool {
        self.findings.len() == self.found.len()
    }

    /// How far it has come, 0..1: explaining a finding counts as much as four trials.
    pub fn progress(&self) -> f64 {
        let all = self.corrections.len() + 4 * self.found.len();
        let done = self.tried.len() + 4 * self.findings.len();
        if all == 0 { 1.0 } else { done as f64 / all as f64 }
    }

    /// What is known so far; complete when `done`.
    pub fn findings(&self) -> &[Finding] {
        &self.findings
    }

    /// The faults with some values put right, on the trial grid or on the job's own; none if the job cannot take them.
    fn measured(&self, set: &[(String, Value)], own_grid: bool) -> Option<Rc<Measured>> {
        let asked = (set.to_vec(), own_grid);
        if let Some((_, known)) = self.asked.borrow().iter().find(|(before, _)| *before == asked) {
            return Some(known.clone());
        }
        let job = if own_grid { self.job.clone() } else { coarse(&self.job) };
        let job = job.with_all(set.iter().map(|(path, value)| (path, value))).ok()?;
        let measured = Rc::new(measure(&job));
        self.asked.borrow_mut().push((asked, measured.clone()));
        Some(measured)
    }

    /// Values of two corrections.
    fn both(&self, one: usize, other: usize) -> Vec<(String, Value)> {
        [self.corrections[one].set.as_slice(), &self.corrections[other].set].concat()
    }

    fn explain(&self, fault: &Fault) -> Finding {
        let found = self.causes_of(fault);
        let cure = cure::of(self, fault, &found);
        let causes = found.iter().map(|(i, share)| self.corrections[*i].as_cause(*share));
        let instead = self.instead(fault, &found).map(|(i, share)| self.corrections[i].as_cause(share));
        let instead = instead.map(|cause| Cause { instead: true, ..cause });
        Finding { fault: fault.clone(), causes: causes.chain(instead).collect(), cure }
    }

    /// What lays the same film as what was named: speed and fluid stand for each other.
    fn instead(&self, fault: &Fault, causes: &[(usize, f64)]) -> Option<(usize, f64)> {
        let key = |i: usize| self.corrections[i].setting().rsplit('.').next().unwrap_or_default().to_string();
        let (first, share) = *causes.first()?;
        let other = match key(first).as_str() {
            "speed_mm_per_s" => "fluid_ml_per_min",
            "fluid_ml_per_min" => "speed_mm_per_s",
            _ => return None,
        };
        let named = |i: &usize| causes.iter().any(|(cause, _)| cause == i);
        let fits = |i: &usize| {
            let correction = &self.corrections[*i];
            key(*i) == other && correction.nature == Nature::Plan && correction.explains(fault) && !named(i)
        };
        let all = (0..self.corrections.len()).filter(fits).map(|i| (i, self.share(fault, &self.tried[i])));
        all.filter(|(_, alone)| *alone >= share - TIE).max_by(|a, b| a.1.total_cmp(&b.1))
    }

    /// Share of a fault that a correction takes away. Of what is no fault within its limit, such as wet paint that
    /// holds or a distance that may be kept, it is the share of what is over the limit.
    fn share(&self, fault: &Fault, measured: &[Fault]) -> f64 {
        let over_limit = [Kind::Run, Kind::NearRun, Kind::WetEdgeLost, Kind::Holiday, Kind::DrySpray, Kind::WetSpray];
        let nothing = if over_limit.contains(&fault.kind) { 1.0 } else { 0.0 };
        let nothing = times_of(&self.excused, fault).max(nothing);
        let over = |measured: &[Fault]| (times_of(measured, fault) - nothing).max(0.0);
        let before = over(&self.base);
        if before > 0.0 { ((before - over(measured)) / before).clamp(0.0, 1.0) } else { 0.0 }
    }

    /// The causes, by their place among the corrections, each with the share it explains. What goes wrong against the
    /// plan comes before the plan: a plan that a faultless hand and gun would spray well is not to blame, though another
    /// might forgive more. Where a plan that explains all shares the blame with an error, both are named.
    fn causes_of(&self, fault: &Fault) -> Vec<(usize, f64)> {
        let shares: Vec<f64> = self.tried.iter().map(|measured| self.share(fault, measured)).collect();
        let of = |nature: Nature| {
            let mut of: Vec<(usize, f64)> = (0..shares.len())
                .filter(|i| self.corrections[*i].nature == nature && self.corrections[*i].explains(fault))
                .map(|i| (i, shares[i]))
                .collect();
            ascending(&mut of, |(_, share)| -share);
            // of what explains as much, what is to be named first
            let most = of.first().map_or(0.0, |(_, share)| *share);
            let first = of.iter().position(|(i, share)| self.corrections[*i].first && *share >= most - TIE);
            if let Some(first) = first.filter(|_| most >= LEAST_SHARE) {
                of[..=first].rotate_right(1);
            }
            of
        };
        let (errors, plan) = (of(Nature::Error), of(Nature::Plan));
        let of_errors = self.share(fault, &self.faultless);
        let first = |of: &[(usize, f64)]| of.first().copied().filter(|(_, share)| *share >= LEAST_SHARE);
        let mut causes: Vec<(usize, f64)> = if of_errors >= 0.5 {
            first(&errors).into_iter().collect()
        } else {
            first(&plan).map(|_| self.fundamental(&plan)).or_else(|| first(&errors)).into_iter().collect()
        };
        let others = errors.iter().chain(plan.iter().filter(|_| of_errors < WHOLE_STORY));
        match causes.first().copied() {
            Some((first, share)) if share < WHOLE_STORY || self.stays(fault, first) => {
                causes.extend(self.beside(fault, first, share, others))
            }
            Some(_) if (LEAST_SHARE..0.5).contains(&of_errors) => causes.extend(first(&errors)),
            None if of_errors >= LEAST_SHARE => causes = self.pair(fault, &errors),
            _ => {}
        }
        causes.dedup_by_key(|(i, _)| *i);
        causes
    }

    /// Whether a fault is still over its limit after a correction.
    fn stays(&self, fault: &Fault, correction: usize) -> bool {
        times_of(&self.tried[correction], fault) >= limit(&self.excused, fault)
    }

    /// Two errors of which neither alone explains anything, because each hides the other: those that explain the most
    /// together, with half of it each.
    fn pair(&self, fault: &Fault, errors: &[(usize, f64)]) -> Vec<(usize, f64)> {
        let mut best: Vec<(usize, f64)> = Vec::new();
        for (n, (one, _)) in errors.iter().enumerate() {
            for (other, _) in &errors[n + 1..] {
                let Some(measured) = self.measured(&self.both(*one, *other), false) else { continue };
                let half = self.share(fault, &measured) / 2.0;
                if half >= best.first().map_or(LEAST_SHARE / 2.0, |(_, half)| *half) {
                    best = vec![(*one, half), (*other, half)];
                }
            }
        }
        best
    }

    /// Of those that explain nearly as much as the best, the first in the order in which they are listed.
    fn fundamental(&self, sorted: &[(usize, f64)]) -> (usize, f64) {
        let best = sorted[0].1;
        if self.corrections[sorted[0].0].first {
            return sorted[0];
        }
        *sorted.iter().filter(|(_, share)| *share >= NEARLY * best).min_by_key(|(i, _)| *i).unwrap_or(&sorted[0])
    }

    /// A second cause that plays together with the first: the one after which, both put right, the least is left.
    fn beside<'a>(
        &self,
        fault: &Fault,
        first: usize,
        share: f64,
        others: impl Iterator<Item = &'a (usize, f64)>,
    ) -> Option<(usize, f64)> {
        let together =
            others.filter(|(i, _)| *i != first && !self.corrections[*i].same_setting(&self.corrections[first]));
        let together = together.filter_map(|(i, alone)| {
            let measured = self.measured(&self.both(first, *i), false)?;
            Some((*i, *alone, self.share(fault, &measured), times_of(&measured, fault) < 1.0))
        });
        let (i, alone, both, gone) = together.max_by(|a, b| a.2.total_cmp(&b.2))?;
        let more = both > share + 0.1 || (gone && self.stays(fault, first));
        more.then_some((i, alone.max(both - share)))
    }
}

impl Correction {
    fn as_cause(&self, share: f64) -> Cause {
        Cause { setting: self.setting().to_string(), share, text: self.cause.clone(), instead: false }
    }
}

/// How many times its limit a fault may be: more where it is excused.
fn limit(excused: &[Fault], fault: &Fault) -> f64 {
    (BEYOND * times_of(excused, fault)).max(1.0)
}

/// Everything that may be put right: what was just changed first, then the recordings, then errors and plan.
fn all_corrections(job: &Job, found: &[Fault], before: Option<&Job>) -> Vec<Correction> {
    let changed = before.map_or_else(Vec::new, |before| changed::paths(job, before));
    let mut all = before.map_or_else(Vec::new, |before| changed::corrections(job, before));
    all.extend(recorded::corrections(job));
    all.extend(corrections(job, found));
    for correction in &mut all {
        correction.first |=
            correction.nature == Nature::Error && changed.iter().any(|path| path == correction.setting());
    }
    all
}

/// The job on the trial grid.
fn coarse(job: &Job) -> Job {
    let mut coarse = job.clone();
    coarse.panel.cell.0 = coarse.panel.cell.0.max(TRIAL_CELL);
    coarse
}

fn measure(job: &Job) -> Measured {
    sizes(&rehearse_film(job))
}

/// All findings of a job with causes and cures, in one go.
///
/// ```
/// use fanlap::{causes::findings, job::examples::EXAMPLES};
/// let mut job = EXAMPLES[0].job();
/// job.panel.cell.0 = 12.0; // coarse, for a quick look
/// let found = findings(&job);
/// let striping = found.iter().find(|finding| finding.fault.kind.name() == "Striping").unwrap();
/// assert_eq!(striping.causes[0].setting, "coats[0].overlap");
/// assert!(striping.cure.as_ref().unwrap().times < 1.0);
/// ```
pub fn findings(job: &Job) -> Vec<Finding> {
    let mut search = Search::new(&rehearse(job));
    while search.step() {}
    search.findings
}
