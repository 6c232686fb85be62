//! What the film tests share: small jobs, one place under a stroke, sections of a film. Judges nothing.

use fanlap::gun::{Gun, Pose};
use fanlap::job::Job;
use fanlap::maths::beta;
use fanlap::panel::{Panel, Patch};
use fanlap::rehearsal::{Account, Rehearsal, rehearse};
use fanlap::spray::{Spray, deposit};
use fanlap::strokes::{Along, Coat, Line, Reach, Side, Stroke};
use fanlap::units::{Fraction, Millimetres, MillimetresPerSecond, Minutes};
use glam::{DVec2, DVec3};

/// Fails, saying what was compared, unless two numbers agree; prints how near they came.
pub fn assert_near(what: &str, given: f64, expected: f64, tolerance: f64) {
    let off = (given - expected).abs();
    println!("{what}: {given:.6}, expected {expected:.6}, off by {off:.1e} of {tolerance:.0e} allowed");
    assert!(off <= tolerance, "{what}: {given}, expected {expected}, off by {off:e}, allowed {tolerance:e}");
}

/// The same, relative to what is expected.
pub fn assert_ratio(what: &str, given: f64, expected: f64, tolerance: f64) {
    assert_near(what, given / expected, 1.0, tolerance);
}

/// Rows of a table under its header, all numbers.
pub fn numbers(table: &str) -> Vec<Vec<f64>> {
    let number = |cell: &str| cell.parse().unwrap_or_else(|_| panic!("{cell} is not a number"));
    table.lines().skip(1).map(|line| line.split(',').map(number).collect()).collect()
}

/// A job on a flat panel, 2 mm cells, transfer that does not fall with distance, and one plain coat at 50 %.
pub fn flat(length: f64, width: f64) -> Job {
    let mut job = Job::default();
    job.panel.length.0 = length;
    job.panel.width.0 = width;
    job.panel.cell.0 = 2.0;
    job.gun.transfer_falls_over = None;
    job.coats = vec![coat(&job)];
    job
}

/// A full coat at the gun's own distance, 50 %, on the edges, trigger open well before the panel.
pub fn coat(job: &Job) -> Coat {
    Coat {
        paint: job.paints[0].name.clone(),
        amount: Fraction(1.0),
        distance: job.gun.at_distance,
        overlap: Fraction(0.5),
        speed: MillimetresPerSecond(500.0),
        along: Along::Length,
        reach: Reach::OneSide,
        reach_overlap: Millimetres(0.0),
        sequence: fanlap::strokes::Sequence::EdgesInwards,
        margin: Millimetres(0.0),
        lead: Millimetres(100.0),
        shift: Fraction(0.0),
        edge_pass: false,
        flash: Minutes(0.0),
        track: None,
    }
}

/// A job whose only pass on the panel runs along its middle: the panel is one fan wide, the second line of the coat
/// lies half a fan outside it.
pub fn one_pass(mut job: Job) -> Job {
    job.panel.width = job.gun.width_at(job.coats[0].distance);
    job.coats[0].overlap.0 = 0.0;
    job.coats[0].shift.0 = -0.5;
    job
}

/// Film of the first paint across the panel in the column that holds the middle of its length, um.
pub fn section(rehearsal: &Rehearsal) -> Vec<f64> {
    let (patch, film) = (rehearsal.patch(), rehearsal.film(0));
    (0..patch.rows).map(|row| film[row * patch.columns + patch.columns / 2]).collect()
}

/// The middle part of a section, `span` mm long.
pub fn middle(section: &[f64], cell: f64, span: f64) -> &[f64] {
    let count = (span / cell).round() as usize;
    let first = (section.len() - count) / 2;
    &section[first..first + count]
}

/// Mean of some films.
pub fn mean(film: &[f64]) -> f64 {
    film.iter().sum::<f64>() / film.len() as f64
}

/// Least and most.
pub fn range(film: &[f64]) -> (f64, f64) {
    film.iter().fold((f64::INFINITY, f64::NEG_INFINITY), |(low, high), f| (low.min(*f), high.max(*f)))
}

/// (most - least) / mean.
pub fn ripple(film: &[f64]) -> f64 {
    let (low, high) = range(film);
    (high - low) / mean(film)
}

/// Mean film over one spacing in the middle of a rehearsed job's panel.
pub fn middle_mean(job: &Job) -> f64 {
    let spacing = job.coats[0].spacing(&job.gun).0;
    mean(middle(&section(&rehearse(job)), job.panel.cell.0, spacing))
}

/// Q TE VS amount / (v p), um: the mean film far from the edges (derived from the account of one spacing).
pub fn budget(job: &Job, coat: &Coat) -> f64 {
    let (gun, solids) = (&job.gun, job.paints[0].solids_by_volume.0);
    1000.0 * gun.fluid.cubic_mm_per_s() * gun.transfer_efficiency.0 * solids * coat.amount.0
        / (coat.speed.0 * coat.spacing(gun).0)
}

/// What one straight pass lays on its centre line, times the fan's half width, over its integral: 1 / B(1/2, m + 1)
/// (derived: the integral of (1 - u^2)^m over -1..1 is that beta function).
pub fn peak_over_mean(m: f64) -> f64 {
    1.0 / beta(0.5, m + 1.0)
}

/// One place of a panel as a patch of a single cell.
pub fn place(panel: &Panel, at: DVec2) -> Patch {
    let cell = DVec2::ONE;
    let (height, gradient) = (vec![panel.height(at).0], vec![panel.gradient(at)]);
    let level = vec![panel.normal(at).z];
    Patch { origin: at - cell / 2.0, cell, columns: 1, rows: 1, height, gradient, level }
}

/// Wet film, um, that a stroke lays at a place.
pub fn wet_at(panel: &Panel, spray: &Spray, stroke: &Stroke, at: DVec2) -> f64 {
    let (patch, mut film) = (place(panel, at), [0.0]);
    let path: Vec<_> = stroke.moments.iter().map(|moment| (moment.time, moment.pose)).collect();
    deposit(spray, &patch, patch.window(), (patch.window(), &mut film), &path);
    film[0]
}

/// A line on the plan, sprayed from the near side.
pub fn line(from: (f64, f64), to: (f64, f64)) -> Line {
    Line { from: from.into(), to: to.into(), side: Side::Near, rim: false }
}

/// Wet film, um, at some places of a job's panel under one line, as its hand sprays it with its first coat.
pub fn wet_under(job: &Job, line: &Line, places: &[(f64, f64)]) -> Vec<f64> {
    let spray = Spray::of(&job.gun);
    let stroke = Stroke::new(&job.panel, &job.gun, &job.coats[0], &job.hand, line);
    places.iter().map(|at| wet_at(&job.panel, &spray, &stroke, (*at).into())).collect()
}

/// A gun that stands still above (0, 0), `distance` mm from it along its axis, tilted by `tilt` radians towards +x.
pub fn still(distance: f64, tilt: f64) -> Pose {
    let aim = DVec3::new(fanlap::maths::sin(tilt), 0.0, -fanlap::maths::cos(tilt));
    Pose { nozzle: -aim * distance, aim, fan: DVec3::Y }
}

/// The one paint's account of a rehearsed job.
pub fn account(job: &Job) -> Account {
    rehearse(job).accounts()[0]
}

/// How far an account is from closing, as a share of what was sprayed.
pub fn gap(account: &Account) -> f64 {
    let found = account.on_panel.0 + account.off_panel.0 + account.lost_in_air.0;
    (found - account.sprayed.0) / account.sprayed.0
}

/// Gives a gun its fan, mm, and the exponents m and k of its pattern.
pub fn pattern(gun: &mut Gun, width: f64, depth: f64, m: f64, k: f64) {
    gun.fan_width.0 = width;
    gun.fan_depth.0 = depth;
    gun.pass_exponent = m;
    gun.depth_exponent = k;
}
