//! Overlap: the published best overlaps, a published worked example, and the ripple of an endless raster. Every
//! profile and every film comes out of the core.

use crate::common::*;
use fanlap::job::Job;
use fanlap::maths::{cos, pow, tgamma};
use fanlap::rehearsal::rehearse;
use std::f64::consts::PI;

/// One pass as the core lays it, read by straight lines between cells.
struct Pass {
    half: f64,
    cell: f64,
    film: Vec<f64>,
}

impl Pass {
    fn of(job: Job) -> Self {
        let job = one_pass(job);
        Self { half: job.gun.fan_width.0 / 2.0, cell: job.panel.cell.0, film: section(&rehearse(&job)) }
    }

    /// A pass of exponent m, 600 mm wide in 1 mm cells: 300 places from the middle to the edge.
    fn with_exponent(m: f64) -> Self {
        let mut job = flat(100.0, 600.0);
        job.panel.cell.0 = 1.0;
        pattern(&mut job.gun, 600.0, 20.0, m, 1.5);
        job.coats[0].lead.0 = 20.0;
        Self::of(job)
    }

    /// Film at a distance from its centre line: at the fan's edge it is nought.
    fn at(&self, y: f64) -> f64 {
        let t = (y + self.half) / self.cell - 0.5;
        let (last, i) = (self.film.len() as f64 - 1.0, t.floor());
        if t <= -0.5 || t >= last + 0.5 {
            return 0.0;
        }
        if t < 0.0 {
            return self.film[0] * (t + 0.5) * 2.0;
        }
        if t >= last {
            return self.film[self.film.len() - 1] * (last + 0.5 - t) * 2.0;
        }
        let i = i as usize;
        self.film[i] + (self.film[i + 1] - self.film[i]) * (t - t.floor())
    }

    /// Film over one spacing of an endless raster.
    fn raster(&self, spacing: f64) -> Vec<f64> {
        let reach = (2.0 * self.half / spacing).ceil() as i32 + 1;
        let place = |i: usize| (i as f64 + 0.5) / 600.0 * spacing;
        (0..600).map(|i| (-reach..=reach).map(|k| self.at(place(i) - k as f64 * spacing)).sum()).collect()
    }

    fn at_overlap(&self, overlap: f64) -> Vec<f64> {
        self.raster(2.0 * self.half * (1.0 - overlap))
    }

    /// The first harmonic of the raster at an overlap: integral of the pass times cos(2 pi y / spacing), over the pass.
    fn harmonic(&self, overlap: f64) -> f64 {
        let spacing = 2.0 * self.half * (1.0 - overlap);
        let place = |i: usize| (i as f64 + 0.5) * self.cell - self.half;
        let sum = |f: &dyn Fn(f64) -> f64| self.film.iter().enumerate().map(|(i, g)| g * f(place(i))).sum::<f64>();
        sum(&|y| cos(2.0 * PI * y / spacing)) / sum(&|_| 1.0)
    }
}

/// Variance over the mean squared.
fn variance(film: &[f64]) -> f64 {
    let m = mean(film);
    film.iter().map(|f| (f / m - 1.0) * (f / m - 1.0)).sum::<f64>() / film.len() as f64
}

/// Mean distance from the mean, over the mean.
fn mean_absolute(film: &[f64]) -> f64 {
    let m = mean(film);
    film.iter().map(|f| (f / m - 1.0).abs()).sum::<f64>() / film.len() as f64
}

/// The place of the least value of `f` between two places, to 0.0005 of them.
fn least(from: f64, to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let place = |i: i32| from + (to - from) * i as f64 / 400.0;
    (0..=400).map(place).map(|x| (x, f(x))).min_by(|a, b| a.1.total_cmp(&b.1)).map_or(from, |best| best.0)
}

/// Where a falling or rising `f` goes through nought between two places.
fn zero(mut from: f64, mut to: f64, f: impl Fn(f64) -> f64) -> f64 {
    let below = f(from) < 0.0;
    for _ in 0..60 {
        let half = 0.5 * (from + to);
        if (f(half) < 0.0) == below { from = half } else { to = half }
    }
    0.5 * (from + to)
}

/// Bessel function of the first kind by its series (Abramowitz & Stegun 9.1.10); good to 1e-9 for z below 12.
fn bessel(order: f64, z: f64) -> f64 {
    let term = |k: i32| pow(-z * z / 4.0, k as f64) / (tgamma(k as f64 + 1.0) * tgamma(order + k as f64 + 1.0));
    pow(z / 2.0, order) * (0..40).map(term).sum::<f64>()
}

#[test]
fn an_elliptical_pass_is_evenest_at_16_to_18_per_cent() {
    // "Path generation for planar spray painting" (thesis), abstract: "between 16-18 percent overlap, depending
    // which measure". Searched below 45 %, where the next optimum begins.
    let pass = Pass::with_exponent(0.5);
    let by_variance = least(0.05, 0.45, |o| variance(&pass.at_overlap(o)));
    let by_distance = least(0.05, 0.45, |o| mean_absolute(&pass.at_overlap(o)));
    // 0.015: the abstract gives whole per cents and does not name its measures
    assert_near("by variance", by_variance, 0.17, 0.015);
    assert_near("by mean distance", by_distance, 0.17, 0.015);
    // derived: 0.160 and 0.175 for a semi-ellipse, 0.003 for the search and 1 mm cells at the steep edge
    assert_near("by variance, exact", by_variance, 0.160, 0.003);
    assert_near("by mean distance, exact", by_distance, 0.175, 0.003);
}

#[test]
fn a_parabolic_pass_is_evenest_at_29_to_31_per_cent_with_a_variance_of_0_0025() {
    // "Coating uniformity with a uniform robotic spray gun velocity", abstract: minimum thickness variance about
    // 0.0025 where the overlap was between 0.29 and 0.31.
    let pass = Pass::with_exponent(1.0);
    let best = least(0.1, 0.45, |o| variance(&pass.at_overlap(o)));
    assert_near("best overlap", best, 0.30, 0.01);
    // 0.0005: the abstract rounds, and its panel ends, while this raster does not
    assert_near("variance there", variance(&pass.at_overlap(best)), 0.0025, 0.0005);
    // derived: 0.00284 for an endless raster
    assert_near("variance there, exact", variance(&pass.at_overlap(best)), 0.00284, 0.00002);
}

#[test]
fn rehearsed_panels_are_evenest_at_the_published_overlaps_too() {
    // The same two abstracts, without adding passes up outside the core: rehearsed sections, fan 400 mm.
    let at = |m: f64, overlap: f64| {
        let mut job = flat(100.0, 1000.0);
        pattern(&mut job.gun, 400.0, 20.0, m, 1.5);
        job.panel.cell.0 = 1.0;
        job.coats[0].lead.0 = 20.0;
        job.coats[0].overlap.0 = overlap;
        variance(middle(&section(&rehearse(&job)), 1.0, 400.0 * (1.0 - overlap)))
    };
    for (m, best, worse) in [(0.5, [0.16, 0.18], [0.12, 0.22]), (1.0, [0.29, 0.31], [0.26, 0.34])] {
        let most = best.map(|o| at(m, o)).into_iter().fold(0.0, f64::max);
        for overlap in worse {
            let there = at(m, overlap);
            println!("m {m}: variance up to {most:.5} at {best:?}, {there:.5} at {overlap}");
            assert!(there > most, "m {m}: {there} at {overlap}, {most} at {best:?}");
        }
    }
}

/// A round spot of R = 50 mm that grows by A (R^2 - r^2) um/s of dry film, A = 1/10 um/s/mm^2.
fn round_spot(length: f64, width: f64) -> Job {
    let mut job = flat(length, width);
    job.panel.cell.0 = 1.0;
    // parabolic flux: u^2 + v^2 = r^2 / R^2 needs m - 1/2 = k = 1
    pattern(&mut job.gun, 100.0, 100.0, 1.5, 1.0);
    // derived: the whole spot is pi A R^4 / 2 = 981 748 um mm^2/s, here in mm^3/s of dry film
    let dry = PI * 0.1 * pow(50.0, 4.0) / 2.0 / 1000.0;
    assert_near("whole spot", dry * 1000.0, 981_747.7, 0.1);
    job.gun.fluid.0 = dry * 60.0 / 1000.0 / (job.gun.transfer_efficiency.0 * job.paints[0].solids_by_volume.0);
    job
}

#[test]
fn the_round_spot_example_has_its_overlap_its_speed_and_its_film() {
    // Widely quoted from work of Sheng, Chen, Xi and others, about 2000-2005 (original not read): R = 50 mm,
    // f = (R^2 - r^2) / 10 um/s, 50 um wanted: overlap 39.2 mm at 323.3 mm/s.
    let mut job = round_spot(100.0, 100.0);
    job.coats[0].speed.0 = 320.0;
    let pass = Pass::of(job);
    // at each spacing the best speed scales the raster T to s T, s = 50 sum T / sum T^2
    let scale = |t: &[f64]| 50.0 * t.iter().sum::<f64>() / t.iter().map(|t| t * t).sum::<f64>();
    let squares = |overlap: f64| {
        let t = pass.raster(100.0 - overlap);
        let s = scale(&t);
        mean(&t.iter().map(|t| (s * t - 50.0) * (s * t - 50.0)).collect::<Vec<_>>())
    };
    let overlap = least(30.0, 50.0, squares);
    let speed = 320.0 / scale(&pass.raster(100.0 - overlap));
    // 0.1 mm: the example prints one decimal; 0.5 mm/s: it does not print its measure, least squares gives 323.14
    assert_near("overlap, mm", overlap, 39.2, 0.1);
    assert_near("speed, mm/s", speed, 323.3, 0.5);

    let mut job = round_spot(100.0, 400.0);
    job.coats[0].overlap.0 = overlap / 100.0;
    job.coats[0].speed.0 = speed;
    let (low, high) = range(middle(&section(&rehearse(&job)), 1.0, 122.0));
    // derived from the same least squares: 47.70 to 51.61 um; 0.05 for 1 mm cells
    assert_near("least film, um", low, 47.70, 0.05);
    assert_near("most film, um", high, 51.61, 0.05);
}

#[test]
fn the_round_spot_grows_as_given() {
    // the flux itself, A (R^2 - r^2), at some places and in one second
    let job = round_spot(100.0, 100.0);
    let spray = fanlap::spray::Spray::of(&job.gun);
    let dry = job.paints[0].solids_by_volume.0;
    for (x, y) in [(0.0_f64, 0.0_f64), (30.0, 0.0), (0.0, 30.0), (20.0, -40.0), (-49.0, 0.0), (40.0, 40.0)] {
        let place = glam::DVec3::new(x, y, 0.0);
        let growth = dry * spray.growth(&still(job.gun.at_distance.0, 0.0), place, glam::DVec3::Z);
        assert_near(&format!("at {x}, {y}"), growth, (0.1 * (2500.0 - x * x - y * y)).max(0.0), 1e-9);
    }
}

#[test]
fn rasters_have_the_ripple_of_the_table() {
    // Derived: sums of (1 - u^2)^m, (most - least) / mean; the columns of the table are the overlaps.
    let overlaps: [f64; 7] = [0.0, 0.25, 1.0 / 3.0, 0.5, 0.6, 2.0 / 3.0, 0.75];
    let mut worst = 0.0_f64;
    for row in numbers(include_str!("../data/film/ripple.csv")) {
        for (overlap, expected) in overlaps.iter().zip(&row[1..]) {
            let mut job = flat(100.0, 480.0);
            job.panel.cell.0 = 1.0;
            pattern(&mut job.gun, 240.0, 20.0, row[0], 1.5);
            let spacing: f64 = (240.0 * (1.0 - overlap)).round();
            let coat = &mut job.coats[0];
            (coat.lead.0, coat.overlap.0) = (20.0, *overlap);
            // lines on cell centres, so that the fan's edges, where the film has its corners, are read too
            let gaps = (480.0 / spacing - 1e-9).ceil();
            coat.shift.0 = if (gaps * spacing / 2.0).fract() == 0.0 { 0.5 / spacing } else { 0.0 };
            let rehearsed = ripple(middle(&section(&rehearse(&job)), 1.0, spacing));
            // 0.005: the table prints three figures; 240 cells to the fan
            assert_near(&format!("m {} at {overlap:.3}", row[0]), rehearsed, *expected, 0.005);
            worst = worst.max((rehearsed - expected).abs());
        }
    }
    println!("worst of the ripple table: {worst:.5}");
}

#[test]
fn the_first_harmonic_vanishes_at_the_overlap_of_the_bessel_zero() {
    // Derived: the pass (1 - u^2)^m has the transform J_(m+1/2)(z) / z^(m+1/2), so the best overlap is
    // 1 - pi / j_(m+1/2,1).
    for (m, printed) in [(0.5, 0.180), (1.0, 0.3008), (1.5, 0.388), (2.0, 0.455), (2.5, 0.508)] {
        let j = zero(2.5 + m, 4.5 + m, |z| bessel(m + 0.5, z));
        let pass = Pass::with_exponent(m);
        let core = zero(0.1, 0.54, |o| pass.harmonic(o));
        assert_near(&format!("m {m}, against the zero"), core, 1.0 - PI / j, 1e-3);
        assert_near(&format!("m {m}, against the print"), core, printed, 1e-3);
    }
}

#[test]
fn fifty_per_cent_is_the_optimum_at_exponent_2_42() {
    // Derived: J_(m+1/2)(2 pi) = 0 has its first root at m = 2.421.
    let exact = zero(2.3, 2.5, |m| bessel(m + 0.5, 2.0 * PI));
    let core = zero(2.3, 2.5, |m| Pass::with_exponent(m).harmonic(0.5));
    assert_near("root", exact, 2.421, 1e-3);
    assert_near("core", core, exact, 1e-3);
    // and the ripple there is about 1 %
    let ripple = ripple(&Pass::with_exponent(exact).at_overlap(0.5));
    assert_near("ripple at 50 %", ripple, 0.010, 0.002);
}
