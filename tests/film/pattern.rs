//! The fan's pattern and its faults: whatever the settings it integrates to one, and a fault moves paint to the right
//! end. Derived: a straight pass of w(u, v) lays (1 - u^2)^m.

use crate::common::*;
use fanlap::gun::{Gun, Pattern};
use fanlap::job::Job;
use fanlap::maths::{pow, sin};
use fanlap::rehearsal::rehearse;
use fanlap::strokes::{Along, Reach};
use std::f64::consts::PI;

fn gun(m: f64, k: f64, heavy_end: f64, split: f64) -> Gun {
    let mut gun = Job::default().gun;
    (gun.pass_exponent, gun.depth_exponent) = (m, k);
    (gun.heavy_end.0, gun.split.0) = (heavy_end, split);
    gun
}

const GUNS: [(f64, f64, f64, f64); 8] = [
    (2.4, 1.5, 0.0, 0.0),
    (2.4, 1.5, 1.0, 0.0),
    (2.4, 1.5, -0.5, 0.0),
    (2.4, 1.5, 0.0, 1.0),
    (2.4, 1.5, 0.6, 0.4),
    (0.5, 0.5, 1.0, 1.0),
    (1.0, 3.0, -1.0, 0.7),
    (6.0, 2.0, 0.3, 0.9),
];

/// Integral over -1..1 after u = sin(a): smooth at the fan's edge, where the midpoint rule then converges fast.
fn over(f: impl Fn(f64) -> f64) -> f64 {
    let step = PI / 2000.0;
    (0..2000).map(|i| -PI / 2.0 + (i as f64 + 0.5) * step).map(|a| f(sin(a)) * sin(PI / 2.0 - a) * step).sum()
}

#[test]
fn the_pattern_integrates_to_one_whatever_its_faults() {
    for (m, k, heavy_end, split) in GUNS {
        let pattern = Pattern::of(&gun(m, k, heavy_end, split));
        let row = |u: f64| (1.0 - u * u).sqrt();
        let whole = over(|u| row(u) * over(|t| pattern.flux(u, t * row(u))));
        assert_near(&format!("m {m}, k {k}, heavy {heavy_end}, split {split}"), whole, 1.0, 1e-6);
        let swept = over(|u| 2.0 * pattern.swept(u, -1.0, 1.0));
        // 5e-6: its two tables of 4096 places are read by straight lines
        assert_near("closed form", swept, 1.0, 5e-6);
    }
}

#[test]
fn the_pattern_is_nowhere_negative_and_ends_at_the_fans_edge() {
    for (m, k, heavy_end, split) in GUNS {
        let pattern = Pattern::of(&gun(m, k, heavy_end, split));
        for i in -110..=110 {
            for j in -110..=110 {
                let (u, v) = (f64::from(i) / 100.0, f64::from(j) / 100.0);
                let flux = pattern.flux(u, v);
                assert!(flux.is_finite() && flux >= 0.0, "{u}, {v}: {flux}");
                assert!(flux == 0.0 || u * u + v * v < 1.0 + 1e-12, "{u}, {v}: {flux}");
                assert!(pattern.swept(u, v, 1.0) >= 0.0, "{u}, {v}");
            }
        }
    }
}

#[test]
fn a_straight_pass_has_the_exponent_of_the_gun() {
    for m in [0.5, 1.0, 1.5, 2.4, 4.0] {
        let mut job = one_pass(flat(100.0, 250.0));
        (job.gun.pass_exponent, job.panel.cell.0) = (m, 1.0);
        let film = section(&rehearse(&job));
        // (1 - u^2)^m of the budget of one pass, Q TE VS / (v a B(1/2, m + 1))
        let peak = 2.0 * budget(&job, &job.coats[0]) * peak_over_mean(m);
        let shape = |i: usize| pow(1.0 - pow((i as f64 + 0.5) / 125.0 - 1.0, 2.0), m);
        let worst = film.iter().enumerate().map(|(i, film)| (film / peak - shape(i)).abs()).fold(0.0, f64::max);
        // 2e-6: the pattern's table; for m = 0.5 its steep end, in a table of 4096 places, 5e-4
        assert_near(&format!("m {m}"), worst, 0.0, if m < 1.0 { 5e-4 } else { 2e-6 });
    }
}

/// Paint on the near half of a one-pass panel and on the far half, as shares.
fn halves(change: impl Fn(&mut Job)) -> [f64; 2] {
    let mut job = one_pass(flat(100.0, 250.0));
    job.panel.cell.0 = 1.0; // an even number of cells
    change(&mut job);
    let film = section(&rehearse(&job));
    let half = film.len() / 2;
    let (near, far) = (film[..half].iter().sum::<f64>(), film[half..].iter().sum::<f64>());
    [near / (near + far), far / (near + far)]
}

#[test]
fn a_heavy_end_lays_more_at_the_far_edge() {
    // share of the far half: 1/2 + heavy x integral of u (1 - u^2)^m over 0..1 / B(1/2, m + 1), m = 2.4 (derived)
    let more = 1.0 / (2.0 * 3.4) * peak_over_mean(2.4);
    for heavy in [0.5, 1.0, -0.5] {
        let [_, far] = halves(|job| job.gun.heavy_end.0 = heavy);
        assert_near(&format!("heavy {heavy}"), far, 0.5 + heavy * more, 1e-3);
    }
}

#[test]
fn a_heavy_end_points_away_from_the_painter_on_every_pass() {
    // passes to and fro, along either way, and from the far side
    let share = |along: Along, far_side: bool, pass: usize| {
        let mut job = flat(1000.0, 1000.0);
        job.panel.cell.0 = 2.0;
        job.gun.heavy_end.0 = 1.0;
        job.coats[0].along = along;
        if far_side {
            (job.coats[0].reach, job.coats[0].reach_overlap.0) = (Reach::BothSides, -10.0);
        }
        let rehearsal = rehearse(&job);
        let line = rehearsal.passes()[pass].line;
        let at = |away: f64| {
            let shift = if along == Along::Length { (0.0, away) } else { (away, 0.0) };
            let place = (line.from + line.to) / 2.0 + glam::DVec2::from(shift);
            let laid = rehearsal.laid_at(place, 0.0);
            laid.iter().find(|(index, _)| *index == pass).map_or(0.0, |(_, film)| *film)
        };
        at(60.0) / (at(60.0) + at(-60.0))
    };
    for along in [Along::Length, Along::Width] {
        for pass in [3, 4] {
            assert!(share(along, false, pass) > 0.7, "{along:?}, pass {pass}: {}", share(along, false, pass));
        }
        // from the far side the far end of the fan is the one with the smaller coordinate
        for pass in [6, 7] {
            assert!(share(along, true, pass) < 0.3, "{along:?}, pass {pass}: {}", share(along, true, pass));
        }
    }
}

#[test]
fn a_split_fan_moves_paint_from_the_middle_to_both_ends() {
    let middle_share = |split: f64| {
        let mut job = one_pass(flat(100.0, 250.0));
        job.gun.split.0 = split;
        let film = section(&rehearse(&job));
        (middle(&film, 2.0, 60.0).iter().sum::<f64>() / film.iter().sum::<f64>(), film)
    };
    let (whole, half, full) = (middle_share(0.0), middle_share(0.5), middle_share(1.0));
    assert!(whole.0 > half.0 && half.0 > full.0, "{}, {}, {}", whole.0, half.0, full.0);
    // a fully split fan lays nothing on its centre line, and as much on one side as on the other
    let film = full.1;
    assert!(film[62] < 0.01 * range(&film).1, "centre line");
    for i in 0..62 {
        assert!((film[i] - film[124 - i]).abs() < 1e-9, "cell {i}");
    }
    assert_ratio("paint", film.iter().sum::<f64>(), whole.1.iter().sum::<f64>(), 1e-4);
}

#[test]
fn a_positive_heel_takes_the_far_end_away_so_there_is_less_film_there() {
    // the fan's far end points along +y and, heeled, away from the panel
    for along in [Along::Length, Along::Width] {
        let mut job = flat(600.0, 600.0);
        job.hand.heel.0 = 20.0;
        job.coats[0].along = along;
        for pass in &rehearse(&job).passes()[..2] {
            for moment in &pass.stroke.moments {
                let fan = moment.pose.fan;
                let far = if along == Along::Length { fan.y } else { fan.x };
                assert!(far > 0.9 && fan.z > 0.3, "{along:?}: {fan}");
                assert_near("square", fan.dot(moment.pose.aim), 0.0, 1e-12);
            }
        }
    }
    // film under the fan's two ends, at equal angles to the gun's axis
    let mut job = flat(600.0, 600.0);
    job.hand.heel.0 = 20.0;
    let at = |degrees: f64| (0.0, 180.0 * fanlap::maths::tan(degrees.to_radians()));
    let film = wet_under(&job, &line((-300.0, 0.0), (300.0, 0.0)), &[at(0.0), at(40.0)]);
    assert!(film[1] < 0.8 * film[0], "{film:?}");
}
