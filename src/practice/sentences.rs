//! What did most, in a sentence with its number, and what to do, in another: as an instructor says it. Finds nothing itself.

use super::ErrorSource;
use super::performance::{Performance, SprayedPass};
use super::righted::Detail;
use crate::job::Job;
use crate::job::inputs::{System, Unit};
use crate::strokes::Along;
use crate::words::{between, digits_of, shown};

/// What did something to a film, and how much.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Did {
    /// What.
    pub channel: ErrorSource,
    /// What of it, where that alone did most of it.
    pub detail: Option<Detail>,
    /// Share of the error that goes with it.
    pub share: f64,
}

/// A mean speed this near to what was meant is right: then it wavered. A judgement.
const STEADY: f64 = 0.05;
/// A distance that varies by less is told as one, mm: a judgement.
const HELD: f64 = 5.0;
/// A pass that errs this many times as much as any other errs alone: a judgement.
const ALONE: f64 = 3.0;
/// Ends that differ from the middle by this share of the meant speed are told of by themselves: a judgement.
const ENDS: f64 = 0.08;
/// What a line is off by less than this is not worth a word where the film is good, mm: a judgement.
const NOTICED: f64 = 12.0;

/// What repeats from pass to pass.
enum Pattern {
    /// All alike: their mean.
    All(f64),
    /// Every second one differs by this.
    EverySecond(f64),
    /// One, by its place, by so much.
    One(usize, f64),
    /// The one that errs most, by its place, and by how much.
    Most(usize, f64),
}

/// The words of one coat.
struct Words<'a> {
    job: &'a Job,
    passes: &'a [SprayedPass],
    performance: &'a Performance,
    system: System,
}

/// What was wrong, and what to do.
pub(super) fn told(job: &Job, did: &Did, performance: &Performance, system: System) -> (String, String) {
    let words = Words { job, passes: &performance.passes, performance, system };
    match did.channel {
        ErrorSource::Distance => words.distance(),
        ErrorSource::Overlap => words.overlap(),
        ErrorSource::Line => words.line(did.detail),
        ErrorSource::Speed => words.speed(did.detail),
        ErrorSource::Angle => words.angle(),
        ErrorSource::Trigger => words.trigger(),
        ErrorSource::LeftOut => words.left_out(),
        ErrorSource::Twice => words.twice(),
    }
}

/// What of the lines is worth a word though the film does not show it.
pub(super) fn noticed(job: &Job, performance: &Performance, system: System) -> Option<(String, String)> {
    let words = Words { job, passes: &performance.passes, performance, system };
    let most = |of: &dyn Fn(&SprayedPass) -> f64| words.passes.iter().map(|pass| of(pass).abs()).fold(0.0, f64::max);
    let parts = [
        (Detail::Bow, most(&|pass| pass.course.bow_mm)),
        (Detail::Slant, most(&|pass| pass.course.slant_mm)),
        (Detail::Aside, most(&|pass| pass.course.aside_mm)),
        (Detail::Waves, most(&|pass| pass.course.waves_mm)),
    ];
    let (detail, size) = parts.into_iter().max_by(|a, b| a.1.total_cmp(&b.1))?;
    (size > NOTICED).then(|| words.line(Some(detail)))
}

/// What repeats in what passes do.
fn pattern(values: &[f64]) -> Pattern {
    let worst = (0..values.len()).max_by(|a, b| values[*a].abs().total_cmp(&values[*b].abs())).unwrap_or(0);
    let most = values.get(worst).copied().unwrap_or(0.0);
    let mean = |of: &[f64]| of.iter().sum::<f64>() / of.len().max(1) as f64;
    let strays = |of: &[f64]| of.iter().map(|value| (value - mean(of)).abs()).fold(0.0, f64::max);
    if values.len() == 1 {
        return Pattern::One(worst, most);
    }
    if strays(values) < 0.4 * most.abs() {
        return Pattern::All(mean(values));
    }
    let [odd, even]: [Vec<f64>; 2] = [0, 1].map(|first| values.iter().skip(first).step_by(2).copied().collect());
    let apart = mean(&even) - mean(&odd);
    if even.len() > 1 && strays(&odd).max(strays(&even)) < 0.3 * apart.abs() {
        return Pattern::EverySecond(apart);
    }
    let others = values.iter().enumerate().filter(|(i, _)| *i != worst).map(|(_, value)| value.abs());
    if others.fold(0.0, f64::max) * ALONE < most.abs() { Pattern::One(worst, most) } else { Pattern::Most(worst, most) }
}

impl Words<'_> {
    fn mm(&self, value: f64) -> String {
        shown(Unit::Millimetre, value.abs(), self.system)
    }

    fn per_s(&self, value: f64) -> String {
        shown(Unit::MillimetrePerSecond, value, self.system)
    }

    /// The speed that was meant, beside one that has its unit.
    fn meant(&self) -> String {
        let (_, factor, digits) = Unit::MillimetrePerSecond.shown(self.system);
        digits_of(self.speed_meant() * factor, digits)
    }

    fn speed_meant(&self) -> f64 {
        self.job.coats[0].actual_speed().0
    }

    fn along(&self) -> Along {
        self.job.coats[0].along
    }

    fn side(&self, off: f64) -> &'static str {
        match (off > 0.0, self.along()) {
            (true, Along::Length) => "far",
            (false, Along::Length) => "near",
            (true, Along::Width) => "right",
            (false, Along::Width) => "left",
        }
    }

    fn values(&self, of: impl Fn(&SprayedPass) -> f64) -> Vec<f64> {
        self.passes.iter().map(of).collect()
    }

    /// From edge to edge.
    fn seconds(&self) -> String {
        let panel = &self.job.panel;
        let span = if self.along() == Along::Length { panel.length.0 } else { panel.width.0 };
        format!("{:.1} s from edge to edge.", span / self.speed_meant())
    }

    /// How to keep to the lines: by the last one, where there is one.
    fn next_line(&self) -> String {
        if super::plan(self.job, 0).len() < 2 {
            return "keep the gun over the line from edge to edge.".to_string();
        }
        format!("{} from line to line.", self.mm(self.performance.planned_spacing_mm))
    }

    fn distance(&self) -> (String, String) {
        let near = self.passes.iter().map(|pass| pass.distance_mm.least).fold(f64::INFINITY, f64::min);
        let far = self.passes.iter().map(|pass| pass.distance_mm.most).fold(f64::NEG_INFINITY, f64::max);
        let meant = self.mm(self.job.coats[0].distance.0);
        let held = if far - near < HELD {
            format!("it was {}", self.mm(0.5 * (near + far)))
        } else {
            format!("it varied from {}", between(Unit::Millimetre, near, far, self.system))
        };
        (format!("Gun distance mattered most: {held} instead of {meant}."), format!("hold {meant}."))
    }

    fn overlap(&self) -> (String, String) {
        let planned = self.performance.planned_spacing_mm;
        let spacing = self.performance.spacing_mm.unwrap_or(planned);
        let meant = self.job.coats[0].overlap.0;
        let overlap = 1.0 - (1.0 - meant) * spacing / planned;
        let percent = |share: f64| shown(Unit::Percent, share, self.system);
        let cause = format!(
            "Your lines lie {} apart: {} overlap instead of {}.",
            self.mm(spacing),
            percent(overlap.max(0.0)),
            percent(meant)
        );
        (cause, format!("{} from line to line.", self.mm(planned)))
    }

    fn line(&self, detail: Option<Detail>) -> (String, String) {
        match detail {
            Some(Detail::Aside) => self.aside(),
            Some(Detail::Slant) => self.slant(),
            Some(Detail::Bow) => self.bow(),
            Some(Detail::Waves) => {
                let waves = self.passes.iter().map(|pass| pass.course.waves_mm).fold(0.0, f64::max);
                let cause = format!("Your passes wave by {} to either side of the line.", self.mm(waves));
                (cause, "look ahead along the line, not at the gun.".to_string())
            }
            _ => {
                let worst = |pass: &&SprayedPass| pass.course.worst_mm.abs();
                let Some(pass) = self.passes.iter().max_by(|a, b| worst(a).total_cmp(&worst(b))) else {
                    return self.aside();
                };
                let off = pass.course.worst_mm;
                let cause = format!(
                    "The lines mattered most: pass {} was {} off its line at its worst, towards the {} edge.",
                    pass.number,
                    self.mm(off),
                    self.side(off)
                );
                (cause, self.next_line())
            }
        }
    }

    fn aside(&self) -> (String, String) {
        let towards = |off: f64| format!("towards the {} edge", self.side(off));
        let cause = match pattern(&self.values(|pass| pass.course.aside_mm)) {
            Pattern::All(off) => format!("All your lines lie {} off, {}.", self.mm(off), towards(off)),
            Pattern::EverySecond(off) => format!("Every second line lies {} off, {}.", self.mm(off), towards(off)),
            Pattern::One(i, off) => {
                format!("Pass {} lay {} off its line, {}.", self.passes[i].number, self.mm(off), towards(off))
            }
            Pattern::Most(i, off) => format!(
                "Your lines stray: pass {} lay {} off its line, {}.",
                self.passes[i].number,
                self.mm(off),
                towards(off)
            ),
        };
        (cause, self.next_line())
    }

    fn slant(&self) -> (String, String) {
        let by = |slant: f64| format!("{} at either end", self.mm(slant));
        let cause = match pattern(&self.values(|pass| pass.course.slant_mm)) {
            Pattern::All(slant) => format!("All your passes slant the same way, by {}.", by(slant)),
            Pattern::EverySecond(_) => {
                let slants = self.values(|pass| pass.course.slant_mm.abs());
                let slant = slants.iter().sum::<f64>() / slants.len() as f64;
                format!("Your passes slant by {}, alternately: a zigzag.", by(slant))
            }
            Pattern::One(i, _) | Pattern::Most(i, _) => {
                let pass = &self.passes[i];
                let ended = pass.course.slant_mm * if pass.runs_up { 1.0 } else { -1.0 };
                format!(
                    "Pass {} slants: it began {} off towards the {} edge and ended as far off towards the {} edge.",
                    pass.number,
                    self.mm(ended),
                    self.side(-ended),
                    self.side(ended)
                )
            }
        };
        (cause, "run each pass level, and move on to the next line once the trigger is closed.".to_string())
    }

    fn bow(&self) -> (String, String) {
        let towards = |bow: f64| format!("the middle towards the {} edge", self.side(bow));
        let cause = match pattern(&self.values(|pass| pass.course.bow_mm)) {
            Pattern::All(bow) => format!("Your passes bow by {}, {}.", self.mm(bow), towards(bow)),
            Pattern::EverySecond(bow) => {
                format!("Every second pass bows against the others by {}, {}.", self.mm(bow), towards(bow))
            }
            Pattern::One(i, bow) | Pattern::Most(i, bow) => {
                format!("Pass {} bows by {}, {}.", self.passes[i].number, self.mm(bow), towards(bow))
            }
        };
        (cause, "walk along with the pass: an arm that swings from the shoulder draws an arc.".to_string())
    }

    fn speed(&self, detail: Option<Detail>) -> (String, String) {
        match detail {
            Some(Detail::Along) => self.speed_along().unwrap_or_else(|| self.wavered()),
            Some(Detail::Passes) => self.speed_of_passes(),
            // a mean that some passes alone have spoilt
            Some(Detail::Pace) if self.some_passes_alone() => self.speed_of_passes(),
            Some(Detail::Pace) if (self.mean_speed() / self.speed_meant() - 1.0).abs() >= STEADY => {
                let mean = self.mean_speed();
                let what = if mean > self.speed_meant() { "fast" } else { "slow" };
                let cause = format!(
                    "Speed mattered most: too {what}, {} on average where {} was meant.",
                    self.per_s(mean),
                    self.meant()
                );
                (cause, self.seconds())
            }
            _ => self.wavered(),
        }
    }

    /// Whether one pass, or every second one, is at another speed than the rest.
    fn some_passes_alone(&self) -> bool {
        let off = self.values(|pass| pass.speed_mm_per_s.mean - self.speed_meant());
        self.passes.len() > 1 && matches!(pattern(&off), Pattern::EverySecond(_) | Pattern::One(..))
    }

    /// Way over time, over all passes of about the same length.
    fn mean_speed(&self) -> f64 {
        let slow = |pass: &SprayedPass| 1.0 / pass.speed_mm_per_s.mean.max(1e-9);
        self.passes.len() as f64 / self.passes.iter().map(slow).sum::<f64>()
    }

    fn wavered(&self) -> (String, String) {
        let slow = self.passes.iter().map(|pass| pass.speed_mm_per_s.least).fold(f64::INFINITY, f64::min);
        let fast = self.passes.iter().map(|pass| pass.speed_mm_per_s.most).fold(f64::NEG_INFINITY, f64::max);
        let range = between(Unit::MillimetrePerSecond, slow, fast, self.system);
        let cause = format!("Speed mattered most: it wavered from {range} where {} was meant.", self.meant());
        (cause, format!("go evenly, {}", self.seconds()))
    }

    /// What the speed does along every pass; none where its ends go like its middle.
    fn speed_along(&self) -> Option<(String, String)> {
        let meant = self.speed_meant();
        let slow = |part: usize| {
            let times = self.passes.iter().map(|pass| 1.0 / pass.speed_along_mm_per_s[part].max(1e-9));
            self.passes.len() as f64 / times.sum::<f64>()
        };
        let [start, middle, end] = [slow(0), slow(1), slow(2)];
        let off = |speed: f64| speed / meant - 1.0;
        let differs = |speed: f64| (speed - middle).abs() / meant >= ENDS;
        let both = differs(start) && differs(end) && (start > middle) == (end > middle);
        let ends = 2.0 / (1.0 / start + 1.0 / end);
        let (speed, place) = match (both, differs(start), differs(end)) {
            (true, ..) if off(ends).abs() >= off(middle).abs() => (ends, "at both ends"),
            (true, ..) => (middle, "in the middle of every pass"),
            (_, true, _) if off(start).abs() >= off(end).abs() => (start, "at the start of every pass"),
            (_, _, true) => (end, "at the end of every pass"),
            (_, true, _) => (start, "at the start of every pass"),
            _ => return None,
        };
        let way = |speed: f64| if speed < meant { "Slow" } else { "Fast" };
        let mut cause = format!("{} {place}: {} where {} was meant", way(speed), self.per_s(speed), self.meant());
        if place == "at both ends" && off(middle).abs() >= ENDS {
            cause += &format!(", and {} in the middle", self.per_s(middle));
        }
        let next = format!("gather speed before the edge and hold it past the other, {}", self.seconds());
        Some((cause + ".", next))
    }

    fn speed_of_passes(&self) -> (String, String) {
        let meant = self.speed_meant();
        let speeds = self.values(|pass| pass.speed_mm_per_s.mean);
        let what = |speed: f64| if speed > meant { "fast" } else { "slow" };
        let of_pass = |i: usize| {
            let (number, speed) = (self.passes[i].number, speeds[i]);
            format!("Pass {number} was too {}: {} where {} was meant.", what(speed), self.per_s(speed), self.meant())
        };
        let cause = match pattern(&speeds.iter().map(|speed| speed - meant).collect::<Vec<_>>()) {
            Pattern::One(i, _) => of_pass(i),
            Pattern::EverySecond(_) => {
                let mean = |first: usize| {
                    let of: Vec<f64> = speeds.iter().skip(first).step_by(2).copied().collect();
                    of.iter().sum::<f64>() / of.len().max(1) as f64
                };
                let (odd, even) = (mean(0), mean(1));
                let speed = if (odd - meant).abs() > (even - meant).abs() { odd } else { even };
                let rest = if speed == odd { even } else { odd };
                format!(
                    "Every second pass was too {}: {} where {} was meant, the others {}.",
                    what(speed),
                    self.per_s(speed),
                    self.meant(),
                    self.per_s(rest)
                )
            }
            _ => {
                let least = speeds.iter().copied().fold(f64::INFINITY, f64::min);
                let most = speeds.iter().copied().fold(f64::NEG_INFINITY, f64::max);
                let range = between(Unit::MillimetrePerSecond, least, most, self.system);
                format!("Speed differed from pass to pass: {range} where {} was meant.", self.meant())
            }
        };
        (cause, format!("all passes alike, {}", self.seconds()))
    }

    fn angle(&self) -> (String, String) {
        let tilt = |pass: &SprayedPass| {
            let of = |range: &super::Range| range.least.abs().max(range.most.abs());
            of(&pass.heel_deg).max(of(&pass.drag_deg))
        };
        let worst = self.passes.iter().max_by(|a, b| tilt(a).total_cmp(&tilt(b)));
        let (angle, number) = worst.map_or((0.0, 1), |pass| (tilt(pass), pass.number));
        (
            format!("The gun\u{2019}s angle mattered most: up to {angle:.0}\u{b0} off square at pass {number}."),
            "move the arm, not the wrist, and keep the gun square to the end.".to_string(),
        )
    }

    fn trigger(&self) -> (String, String) {
        let lead = self.job.coats[0].lead.0;
        let opened = |pass: &SprayedPass| pass.opened_before_mm;
        let closed = |pass: &SprayedPass| pass.closed_after_mm;
        let least = |of: &dyn Fn(&SprayedPass) -> f64| {
            let worst = self.passes.iter().min_by(|a, b| of(a).total_cmp(&of(b)));
            worst.map_or((0.0, 1), |pass| (of(pass), pass.number))
        };
        let ((open, open_at), (close, close_at)) = (least(&opened), least(&closed));
        let place = |at: f64| {
            if at < 0.0 {
                format!("{} inside the edge", self.mm(at))
            } else {
                format!("only {} outside the edge", self.mm(at))
            }
        };
        let inside = |of: &dyn Fn(&SprayedPass) -> f64| self.passes.iter().all(|pass| of(pass) < 0.0);
        let always = self.passes.len() > 1;
        let what = match (always && inside(&opened), always && inside(&closed)) {
            (true, true) if (open - close).abs() < 10.0 => {
                format!("on every pass it opens and closes {}", place(open.min(close)))
            }
            (true, true) => format!("on every pass it opens {} and closes {}", place(open), place(close)),
            (true, false) => format!("on every pass it opens {}", place(open)),
            (false, true) => format!("on every pass it closes {}", place(close)),
            _ if open < close => format!("at pass {open_at} it opened {}", place(open)),
            _ => format!("at pass {close_at} it closed {}", place(close)),
        };
        let next = format!("open it {} before the panel and close it as far after.", self.mm(lead));
        (format!("The trigger mattered most: {what}."), next)
    }

    fn left_out(&self) -> (String, String) {
        let numbers: Vec<String> = self.performance.left_out.iter().map(usize::to_string).collect();
        let (lines, were) = if numbers.len() == 1 { ("Line", "was") } else { ("Lines", "were") };
        let instead = self.sprayed_again();
        let instead = instead.map_or(String::new(), |line| format!(", and line {line} was sprayed more than once"));
        (
            format!("{lines} {} {were} left out{instead}.", numbers.join(", ")),
            "spray what is missing, then one line after the other.".to_string(),
        )
    }

    fn twice(&self) -> (String, String) {
        let number = self.sprayed_again().unwrap_or(0);
        (format!("Line {number} was sprayed more than once."), "one pass to a line.".to_string())
    }

    /// The line of the first pass along one that had been sprayed.
    fn sprayed_again(&self) -> Option<usize> {
        (1..self.passes.len()).find_map(|i| {
            let line = self.passes[i].line?;
            self.passes[..i].iter().any(|other| other.line == Some(line)).then_some(line)
        })
    }
}
