//! Errors put into a coat on purpose: the plan's lines as a hand would spray them that makes one, recorded like any hand.

use super::ErrorSource;
use super::performance::plan;
use crate::job::Job;
use crate::job::inputs::Unit;
use crate::strokes::{Hand, Line, Order, Sample, Stroke, Track};
use crate::units::{Degrees, Fraction, Millimetres, Seconds};
use serde::{Deserialize, Serialize};

/// What a hand does wrong; nothing where nothing is given.
#[derive(Debug, Clone, Copy, PartialEq, Default, Serialize, Deserialize)]
#[serde(deny_unknown_fields, default)]
pub struct Slip {
    /// Faster by this share.
    pub faster: f64,
    /// Farther by this, mm.
    pub farther_mm: f64,
    /// Lines farther apart by this share of their spacing: overlap that is too small.
    pub wider: f64,
    /// Every second line moved by this, mm.
    pub line_mm: f64,
    /// The trigger opens later and closes earlier by this, mm.
    pub late_mm: f64,
    /// The wrist turns to this angle at both ends of a pass, degrees.
    pub arc_deg: f64,
    /// The fan's far end stands off by this, degrees.
    pub heel_deg: f64,
    /// Strays at random, as a share of what is usual for a novice ([`NOVICE`]).
    pub scatter: f64,
    /// The same seed strays the same way.
    pub seed: u32,
    /// This line is left out, from 1.
    pub left_out: Option<usize>,
    /// This line is sprayed twice, from 1.
    pub twice: Option<usize>,
}

/// How far a novice strays, standard deviations: distance and line in mm, speed as a share, angles in degrees. A judgement;
/// no figures for painters were found.
pub const NOVICE: (f64, f64, f64, f64) = (15.0, 15.0, 0.1, 4.0);

/// A size that an error can have: least, most, step, usual for showing it, and its unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Size {
    /// Least and most.
    pub range: (f64, f64),
    /// From one to the next.
    pub step: f64,
    /// One that is seen.
    pub usual: f64,
    /// Of all of them; none where it is the number of a line.
    pub unit: Option<Unit>,
}

impl Slip {
    /// One error of a size.
    pub fn of(channel: ErrorSource, size: f64) -> Self {
        let line = Some(size.max(1.0) as usize);
        match channel {
            ErrorSource::Distance => Self { farther_mm: size, ..Self::default() },
            ErrorSource::Overlap => Self { wider: size, ..Self::default() },
            ErrorSource::Line => Self { line_mm: size, ..Self::default() },
            ErrorSource::Speed => Self { faster: size, ..Self::default() },
            ErrorSource::Angle => Self { arc_deg: size, ..Self::default() },
            ErrorSource::Trigger => Self { late_mm: size, ..Self::default() },
            ErrorSource::LeftOut => Self { left_out: line, ..Self::default() },
            ErrorSource::Twice => Self { twice: line, ..Self::default() },
        }
    }

    /// The sizes that one error can have in a coat.
    pub fn sizes(job: &Job, coat: usize, channel: ErrorSource) -> Size {
        let size = |least, most, step, usual, unit| Size { range: (least, most), step, usual, unit: Some(unit) };
        let lines = plan(job, coat).len().max(1) as f64;
        let line = Size { range: (1.0, lines), step: 1.0, usual: (lines / 2.0).ceil(), unit: None };
        match channel {
            ErrorSource::Distance => size(-100.0, 200.0, 5.0, 100.0, Unit::Millimetre),
            ErrorSource::Overlap => size(-0.3, 0.6, 0.05, 0.3, Unit::Percent),
            // farther off it would be the next line's
            ErrorSource::Line => {
                let most = (0.09 * job.coats[coat].spacing(&job.gun).0).floor() * 5.0;
                size(-most, most, 5.0, most, Unit::Millimetre)
            }
            ErrorSource::Speed => size(-0.5, 1.0, 0.05, 0.4, Unit::Percent),
            ErrorSource::Angle => size(0.0, 40.0, 1.0, 30.0, Unit::Degree),
            ErrorSource::Trigger => size(0.0, 250.0, 5.0, 200.0, Unit::Millimetre),
            ErrorSource::LeftOut | ErrorSource::Twice => line,
        }
    }

    /// A coat's plan as a hand sprays it that errs so, a second between two lines, but as long as the job says from one
    /// side of a lying panel to the other.
    pub fn sprayed(&self, job: &Job, coat: usize) -> Track {
        let settings = &job.coats[coat];
        let hand = self.hand();
        let (mut samples, mut now) = (Vec::new(), 0.0);
        let lines = self.lines(plan(job, coat));
        for (pass, line) in lines.iter().enumerate() {
            let stroke = Stroke::of_pass(&job.panel, &job.gun, settings, &hand, line, Order { coat, pass });
            let last = stroke.moments.len() - 1;
            samples.extend(stroke.moments.iter().enumerate().map(|(i, moment)| {
                let time = Seconds(now + moment.time.0);
                Sample::of(&job.panel, settings.along, &moment.pose, time, i < last)
            }));
            let across = lines.get(pass + 1).is_some_and(|next| next.side != line.side) && !job.panel.stands();
            now += stroke.duration().0 + if across { job.hand.walk_round.0.max(1.0) } else { 1.0 };
        }
        Track { samples, moved_by: None }
    }

    /// The job as that hand sprays all its coats.
    pub fn in_all_coats(&self, job: &Job) -> Job {
        let mut sprayed = job.clone();
        for (coat, settings) in sprayed.coats.iter_mut().enumerate() {
            settings.track = Some(self.sprayed(job, coat));
        }
        sprayed
    }

    fn hand(&self) -> Hand {
        let (distance, line, speed, angle) = NOVICE;
        Hand {
            distance_error: Millimetres(self.farther_mm),
            speed_error: Fraction(self.faster),
            arc: Degrees(self.arc_deg),
            heel: Degrees(self.heel_deg),
            distance_sd: Millimetres(distance * self.scatter),
            line_sd: Millimetres(line * self.scatter),
            speed_sd: Fraction(speed * self.scatter),
            angle_sd: Degrees(angle * self.scatter),
            seed: self.seed,
            ..Job::default().hand
        }
    }

    /// The lines of the plan, moved, cut, left out and doubled.
    fn lines(&self, plan: Vec<Line>) -> Vec<Line> {
        let mut lines = Vec::new();
        for (i, line) in self.spaced(plan).into_iter().enumerate().filter(|(i, _)| self.left_out != Some(i + 1)) {
            let (way, across) = (line.direction(), line.direction().perp());
            // to the same side whichever way the pass runs
            let side = if across.x + across.y < 0.0 { -1.0 } else { 1.0 };
            let by = across * side * if i % 2 == 1 { self.line_mm } else { 0.0 };
            let late = self.late_mm.min(0.45 * line.length());
            let moved = Line { from: line.from + way * late + by, to: line.to - way * late + by, ..line };
            lines.push(moved);
            if self.twice == Some(i + 1) {
                lines.push(Line { from: moved.to, to: moved.from, ..moved });
            }
        }
        lines
    }

    /// The lines of the plan farther apart, or nearer with more of them: from the first line of every side to its last.
    fn spaced(&self, plan: Vec<Line>) -> Vec<Line> {
        if self.wider == 0.0 || plan.len() < 2 {
            return plan;
        }
        let place = |line: &Line| (line.from + line.to) / 2.0;
        let step = place(&plan[1]) - place(&plan[0]);
        let mut spaced: Vec<Line> = Vec::new();
        let mut rest = plan.as_slice();
        while let Some(first) = rest.first() {
            let on = |pair: &[Line]| place(&pair[1]) - place(&pair[0]);
            let sense = rest.get(..2).map_or(step, on);
            let same = |pair: &&[Line]| (on(pair) - sense).length() < 0.2 * sense.length();
            let more = rest.windows(2).take_while(same).count();
            let wide = 1.0 + self.wider;
            // the last is the first that lies where the plan's last lies, or beyond
            let count = (more as f64 / wide - 1e-9).ceil().max(0.0) as usize;
            spaced.extend((0..=count).map(|i| {
                let by = sense * (i as f64 * wide);
                let (from, to) = if i % 2 == 0 { (first.from, first.to) } else { (first.to, first.from) };
                Line { from: from + by, to: to + by, ..*first }
            }));
            rest = &rest[more + 1..];
        }
        spaced
    }
}
