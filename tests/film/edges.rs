//! Edges: the trigger, what the fan carries past the panel, and the passes along the rim. The figures are derived
//! from the integral of one pass; the methods are printed in "Auto Collision Repair and Refinishing" (2022), p. 691
//! (first stroke centred on one edge), and by the California Air Resources Board ("spray the border edges first").

use crate::common::*;
use fanlap::job::Job;
use fanlap::maths::pow;
use fanlap::rehearsal::rehearse;
use fanlap::spray::Spray;
use fanlap::strokes::{Moment, Stroke};
use fanlap::units::Seconds;
use glam::DVec3;

#[test]
fn a_trigger_that_opens_on_the_edge_leaves_half_the_film_there() {
    let job = flat(600.0, 300.0);
    let film = wet_under(&job, &line((0.0, 0.0), (600.0, 0.0)), &[(0.0, 0.0), (600.0, 0.0), (300.0, 0.0)]);
    assert_near("where it opens", film[0] / film[2], 0.5, 1e-6);
    assert_near("where it closes", film[1] / film[2], 0.5, 1e-6);

    // the same rehearsed: the line through the first cells, whose centres lie half a millimetre inside
    let mut job = one_pass(flat(600.0, 300.0));
    job.panel.cell.0 = 1.0;
    job.coats[0].lead.0 = 0.0;
    let rehearsal = rehearse(&job);
    let (patch, film) = (rehearsal.patch(), rehearsal.film(0));
    let row = &film[patch.rows / 2 * patch.columns..][..patch.columns];
    for (edge, next) in [(row[0], row[1]), (row[599], row[598])] {
        assert_near("rehearsed", (edge + (edge - next) / 2.0) / row[300], 0.5, 0.001);
    }
}

#[test]
fn full_film_at_the_edge_needs_a_lead_of_half_the_fans_depth_and_what_the_finger_is_late() {
    let mut job = flat(600.0, 300.0);
    let half_depth = job.gun.fan_depth.0 / 2.0;
    let opened = |job: &Job, lead: f64| {
        let film = wet_under(job, &line((-lead, 0.0), (600.0 + lead, 0.0)), &[(0.0, 0.0), (600.0, 0.0), (300.0, 0.0)]);
        [film[0] / film[2], film[1] / film[2]]
    };
    assert_near("opens in time", opened(&job, half_depth)[0], 1.0, 1e-6);
    assert!(opened(&job, half_depth - 10.0)[0] < 0.99, "too late");
    // late by 40 mm: 10 mm inside, a third of the half depth; the fan reaches back with what lies beyond that third
    job.hand.trigger_late.0 = 40.0;
    assert_near("late", opened(&job, half_depth)[0], beyond(1.0 / 3.0, job.gun.depth_exponent), 1e-5);
    assert_near("late with more lead", opened(&job, half_depth + 40.0)[0], 1.0, 1e-6);
    assert_near("closes late", opened(&job, half_depth)[1], 1.0, 1e-6);
    job.hand.trigger_late.0 = half_depth;
    assert_near("late by the lead, half the film", opened(&job, half_depth)[0], 0.5, 1e-6);
}

/// Share of the paint sent that goes past the two edges along which the passes run.
fn off_share(width: f64, fan: f64, overlap: f64) -> f64 {
    let mut job = flat(1000.0, width);
    pattern(&mut job.gun, fan, 10.0, 2.5, 1.5);
    job.coats[0].overlap.0 = overlap;
    job.coats[0].lead.0 = 0.0;
    let account = account(&job);
    account.off_panel.0 / (account.off_panel.0 + account.on_panel.0)
}

/// Integral of (1 - u^2)^m beyond u, over the whole: by the midpoint rule.
fn beyond(u: f64, m: f64) -> f64 {
    let sum = |from: f64| {
        let step = (1.0 - from) / 20_000.0;
        (0..20_000).map(|i| from + (i as f64 + 0.5) * step).map(|x| pow(1.0 - x * x, m) * step).sum::<f64>()
    };
    sum(u) / sum(-1.0)
}

#[test]
fn a_fan_carries_the_derived_share_past_the_panel() {
    // First and last line on the edges. Half of each is off; at 75 % also the tails of the lines next to them:
    // (1 + 2 beyond(1/2)) / lines. 1.2 m: 9.1 % at 50 % and 5.7 % at 75 %; 300 mm: 25 % and 20 %. Lines are spaced
    // exactly, so the panel is the whole number of spacings nearest to the printed width.
    // 0.003: the ends of the passes, 10 mm of fan at a trigger without lead, carry 0.2 % past the other two edges
    for (width, fan, overlap, lines, printed) in [
        (1250.0, 250.0, 0.5, 11.0, 0.091),
        (1250.0, 250.0, 0.75, 21.0, 0.057),
        (1200.0, 240.0, 0.5, 11.0, 0.091),
        (1200.0, 240.0, 0.75, 21.0, 0.057),
        (375.0, 250.0, 0.5, 4.0, 0.25),
        (300.0, 200.0, 0.5, 4.0, 0.25),
        (300.0, 240.0, 0.75, 6.0, 0.20),
    ] {
        let tails = if overlap > 0.6 { 2.0 * beyond(0.5, 2.5) } else { 0.0 };
        let share = off_share(width, fan, overlap);
        assert_near(&format!("{width} mm, fan {fan}, {overlap}"), share, printed, 0.004);
        assert_near("derived", share, (1.0 + tails) / lines, 0.003);
    }
}

#[test]
fn lines_beyond_the_edges_carry_what_their_tails_say() {
    // any width, any margin: the sum of the tails of every line, with its place from the plan itself
    for (width, overlap, margin) in [(700.0, 0.5, 0.0), (620.0, 0.62, 60.0), (900.0, 0.75, 125.0)] {
        let mut job = flat(1000.0, width);
        pattern(&mut job.gun, 250.0, 10.0, 2.5, 1.5);
        (job.coats[0].overlap.0, job.coats[0].margin.0, job.coats[0].lead.0) = (overlap, margin, 0.0);
        let lines = fanlap::strokes::lines(&job.panel, &job.gun, &job.coats[0]);
        let tail = |y: f64| beyond((y / 125.0).clamp(-1.0, 1.0), 2.5);
        let off: f64 = lines.iter().map(|line| tail(line.from.y) + tail(width - line.from.y)).sum();
        let account = account(&job);
        let share = account.off_panel.0 / (account.off_panel.0 + account.on_panel.0);
        assert_near(&format!("{width} mm, {overlap}, margin {margin}"), share, off / lines.len() as f64, 0.003);
    }
}

/// Film on the near edge line in the middle of the length, over the mean of the interior.
fn edge_over_mean(m: f64, overlap: f64, edge_pass: bool) -> f64 {
    let mut job = flat(400.0, 1000.0);
    job.panel.cell.0 = 1.0;
    pattern(&mut job.gun, 200.0, 20.0, m, 1.5);
    job.coats[0].overlap.0 = overlap;
    job.coats[0].edge_pass = edge_pass;
    let section = section(&rehearse(&job));
    let inside = mean(middle(&section, 1.0, job.coats[0].spacing(&job.gun).0));
    // straight on from the two outermost cell centres to the edge line
    (section[0] + (section[0] - section[1]) / 2.0) / inside
}

#[test]
fn a_first_stroke_on_the_edge_leaves_the_derived_film_there() {
    // g(0) p / G at 50 %, (g(0) + g(p)) p / G at 75 %
    for (m, half, three_quarters) in [(1.0, 0.75, 0.66), (1.5, 0.85, 0.70), (2.5, 1.02, 0.76)] {
        let exact = [peak_over_mean(m), peak_over_mean(m) / 2.0 * (1.0 + pow(0.75, m))];
        for (overlap, printed, exact) in [(0.5, half, exact[0]), (0.75, three_quarters, exact[1])] {
            let film = edge_over_mean(m, overlap, false);
            // 0.006: the print has two decimals
            assert_near(&format!("m {m} at {overlap}"), film, printed, 0.006);
            // 0.001: straight lines to the edge
            assert_near("derived", film, exact, 0.001);
        }
    }
}

#[test]
fn an_edge_pass_adds_a_whole_coat_on_the_edge_line() {
    // g(0) p / G more: +102 % of the mean at 50 %, +51 % at 75 %, m = 2.5
    for (overlap, printed) in [(0.5, 1.02), (0.75, 0.51)] {
        let more = edge_over_mean(2.5, overlap, true) - edge_over_mean(2.5, overlap, false);
        assert_near(&format!("at {overlap}"), more, printed, 0.01);
        assert_near("derived", more, 2.0 * (1.0 - overlap) * peak_over_mean(2.5), 0.001);
    }
}

#[test]
fn slowing_at_the_ends_heaps_film_as_the_speed_falls() {
    // film under a gun slow against its fan: 1 / (1 - s (1 - d / 150 mm)) at d mm from the end (derived)
    let mut job = flat(1000.0, 300.0);
    job.gun.fan_depth.0 = 10.0;
    job.hand.slow_at_ends.0 = 0.5;
    let places = [(500.0, 0.0), (50.0, 0.0), (100.0, 0.0), (925.0, 0.0)];
    let film = wet_under(&job, &line((0.0, 0.0), (1000.0, 0.0)), &places);
    let centre = film[0];
    for (film, to_end) in film[1..].iter().zip([50.0, 100.0, 75.0]) {
        let exact = 1.0 / (1.0 - 0.5 * (1.0 - to_end / 150.0));
        // 0.001: the fan is 10 mm deep
        assert_ratio(&format!("{to_end} mm from the end"), film / centre, exact, 0.001);
    }
}

/// A pass along x that runs up to `turn` mm at `speed`, slows down evenly to a stand there, and comes back the same way
/// with the trigger held.
fn held_through_a_reversal(job: &Job, turn: f64, speed: f64, slowing: f64) -> Stroke {
    let (strip, time) = (speed * speed / (2.0 * slowing), speed / slowing);
    let run = (turn - strip) / speed;
    let to_turn =
        |before: f64| if before < time { 0.5 * slowing * before * before } else { strip + speed * (before - time) };
    let pose = |before: f64| still(job.coats[0].distance.0, 0.0).nozzle + DVec3::X * (turn - to_turn(before));
    let straight = still(job.coats[0].distance.0, 0.0);
    let moments = (0..=8000).map(|i| {
        let now = (run + time) * f64::from(i) / 4000.0;
        let pose = fanlap::gun::Pose { nozzle: pose((now - run - time).abs()), ..straight };
        Moment { time: Seconds(now), pose }
    });
    Stroke { moments: moments.collect() }
}

/// Film along x under such a pass, mm by half mm from 0, over what the two ways lay at full speed.
fn film_at_a_reversal(depth: f64, turn: f64, speed: f64, slowing: f64) -> Vec<f64> {
    let mut job = flat(600.0, 300.0);
    // an even footprint in the direction of travel
    pattern(&mut job.gun, 250.0, depth, 2.5, 0.0);
    job.coats[0].speed.0 = speed;
    let spray = Spray::of(&job.gun);
    let stroke = held_through_a_reversal(&job, turn, speed, slowing);
    let full = 2.0 * wet_under(&job, &line((-300.0, 0.0), (300.0, 0.0)), &[(0.0, 0.0)])[0];
    let place = |i: i32| glam::DVec2::new(0.5 * (f64::from(i) + 0.5), 0.0);
    let end = (2.0 * (turn + depth)) as i32;
    (0..end).map(|i| wet_at(&job.panel, &spray, &stroke, place(i)) / full).collect()
}

#[test]
fn a_trigger_held_through_a_reversal_lays_twice_the_film_over_the_slow_strip() {
    // Even deceleration takes twice the time over the strip v^2 / 2a: exactly 2. 457 mm/s (1.5 ft/s) and 3 m/s^2: a
    // strip of 35 mm, and a peak of 2.15 under an even footprint of 30 mm, over what both ways lay at full speed.
    let (speed, slowing, turn) = (457.0, 3000.0, 200.0);
    let strip = speed * speed / (2.0 * slowing);
    assert_near("strip, mm", strip, 35.0, 0.5);
    for depth in [10.0, 30.0, 60.0] {
        let film = film_at_a_reversal(depth, turn, speed, slowing);
        // from well before the strip to the last place that is reached; half the footprint spreads past the turn
        let from = 80;
        let volume: f64 = 0.5 * film[from..].iter().sum::<f64>();
        let before = turn - strip - 0.5 * from as f64;
        assert_near(&format!("mean over the strip, fan {depth} mm deep"), (volume - before) / strip, 2.0, 0.01);
        assert_near("before it", film[from], 1.0, 1e-3);
        if depth == 30.0 {
            assert_near("peak", range(&film).1, 2.15, 0.01);
        }
    }
}

/// Film along x on the line of two sections that meet at 300 mm, each pass with a lead past the join, over a full pass.
fn joined(lead: f64, depth_exponent: f64) -> Vec<f64> {
    let mut job = flat(600.0, 300.0);
    pattern(&mut job.gun, 250.0, 60.0, 2.5, depth_exponent);
    let places: Vec<(f64, f64)> = (0..=200).map(|i| (200.0 + f64::from(i), 0.0)).collect();
    let first = wet_under(&job, &line((0.0, 0.0), (300.0 + lead, 0.0)), &places);
    // the second section is sprayed towards the join
    let second = wet_under(&job, &line((600.0, 0.0), (300.0 - lead, 0.0)), &places);
    let full = wet_under(&job, &line((0.0, 0.0), (600.0, 0.0)), &[(300.0, 0.0)])[0];
    first.iter().zip(&second).map(|(a, b)| (a + b) / full).collect()
}

#[test]
fn sections_that_meet_add_up_along_the_join_by_their_leads() {
    // Each pass leaves F(x / b) of its film past the end of its trigger, F the footprint's integral and b half its depth:
    // with a lead l on both sides the line of the join gets 2 F(l / b). Without a lead F(x) + F(-x) = 1 everywhere, from
    // b on a whole second pass lies over it; even footprints (k = 0) grow straight: 1 + l / b.
    for lead in [0.0, 7.5, 15.0, 22.5, 30.0, 80.0] {
        let film = joined(lead, 0.0);
        // 3e-4: the tabulated footprint
        assert_near(&format!("even footprint, lead {lead}"), film[100], 1.0 + (lead / 30.0).min(1.0), 3e-4);
        // k = 1: F(t) = (2 + 3 t - t^3) / 4
        let t: f64 = (lead / 30.0_f64).min(1.0);
        let film = joined(lead, 1.0);
        assert_near(&format!("k = 1, lead {lead}"), film[100], (2.0 + 3.0 * t - t * t * t) / 2.0, 3e-4);
        assert_near("far from the join", film[0].max(film[200]), if lead > 70.0 { film[0] } else { 1.0 }, 3e-4);
        if lead == 0.0 {
            assert!(film.iter().all(|film| (film - 1.0).abs() < 3e-4), "{film:?}");
        }
    }
}

#[test]
fn staggered_joins_halve_the_build_up() {
    // two coats with their joins in one place carry twice a coat's excess, 1 of 2; apart, each place has one of them
    let (lead, apart) = (15.0, 60);
    let coat = joined(lead, 1.5);
    let excess = |film: &[f64]| range(film).1 / 2.0 - 1.0;
    let same: Vec<f64> = coat.iter().map(|film| 2.0 * film).collect();
    let staggered: Vec<f64> = coat[apart..].iter().zip(&coat).map(|(a, b)| a + b).collect();
    assert!(excess(&same) > 0.5, "{}", excess(&same));
    assert_ratio("staggered over the same place", excess(&staggered), excess(&same) / 2.0, 1e-3);
}
