//! The plan: lines as the job file defines them, and how long they take. Lays no film but for the time.

use crate::common::*;
use fanlap::job::Job;
use fanlap::rehearsal::{Rehearsal, TURN, Wetness, rehearse};
use fanlap::strokes::{Along, Line, Reach, Sequence, Side, lines};

fn job() -> Job {
    flat(1000.0, 700.0)
}

fn of(job: &Job) -> Vec<Line> {
    lines(&job.panel, &job.gun, &job.coats[0])
}

/// Places of the lines across the panel, in the order they are sprayed.
fn places(job: &Job) -> Vec<f64> {
    of(job).iter().filter(|line| !line.rim).map(|line| line.from.y).collect()
}

fn ascending(job: &Job) -> Vec<f64> {
    let mut places = places(job);
    places.sort_by(f64::total_cmp);
    places
}

#[test]
fn lines_are_spaced_exactly_centred_and_reach_the_margin_with_none_to_spare() {
    for width in [300.0, 700.0, 875.0, 1100.0] {
        for overlap in [0.0, 0.25, 0.5, 0.6, 0.75, 0.9] {
            for margin in [0.0, 60.0, 125.0] {
                for distance in [120.0, 180.0, 260.0] {
                    let mut job = job();
                    job.panel.width.0 = width;
                    let coat = &mut job.coats[0];
                    (coat.overlap.0, coat.margin.0, coat.distance.0) = (overlap, margin, distance);
                    let spacing = 250.0 * distance / 180.0 * (1.0 - overlap);
                    let places = ascending(&job);
                    let last = places.len() - 1;
                    assert!(places.windows(2).all(|pair| (pair[1] - pair[0] - spacing).abs() < 1e-9), "{places:?}");
                    assert!((places[0] + places[last] - width).abs() < 1e-9, "centred: {places:?}");
                    assert!(places[0] <= -margin + 1e-6, "reach: {places:?}");
                    assert!(places[0] > -margin - spacing / 2.0 - 1e-6, "none to spare: {places:?}");
                }
            }
        }
    }
}

#[test]
fn with_no_margin_the_first_line_lies_on_the_edge_where_the_spacing_fits() {
    let mut job = job();
    job.panel.width.0 = 750.0; // six spacings of 125 mm
    assert_eq!(ascending(&job), [0.0, 125.0, 250.0, 375.0, 500.0, 625.0, 750.0]);
}

#[test]
fn a_shift_moves_all_lines_by_its_share_of_the_spacing() {
    let (plain, mut shifted) = (job(), job());
    for shift in [0.5, -0.25, 1.0] {
        shifted.coats[0].shift.0 = shift;
        for (a, b) in ascending(&plain).iter().zip(&ascending(&shifted)) {
            assert_near("shift", b - a, shift * 125.0, 1e-9);
        }
        assert_eq!(ascending(&plain).len(), ascending(&shifted).len());
    }
}

#[test]
fn passes_alternate_and_run_a_lead_past_both_edges() {
    let job = job();
    for (i, line) in of(&job).iter().enumerate() {
        let (from, to) = if i % 2 == 0 { (-100.0, 1100.0) } else { (1100.0, -100.0) };
        assert_eq!((line.from.x, line.to.x), (from, to), "line {i}");
        assert_eq!(line.from.y, line.to.y, "line {i}");
        assert!(!line.rim && line.side == Side::Near, "line {i}");
    }
}

#[test]
fn from_one_side_the_farthest_line_comes_first() {
    assert!(places(&job()).windows(2).all(|pair| pair[0] > pair[1]));
}

#[test]
fn along_the_width_the_axes_are_exchanged() {
    let mut job = job();
    job.coats[0].along = Along::Width;
    let lines = of(&job);
    assert!(lines.iter().all(|line| line.from.x == line.to.x));
    assert!(lines.iter().all(|line| (line.length() - 900.0).abs() < 1e-9), "700 mm and a lead at both ends");
    assert_near("first and last", lines[0].from.x + lines[lines.len() - 1].from.x, 1000.0, 1e-9);
}

#[test]
fn from_both_sides_each_half_is_sprayed_from_its_edge_inwards() {
    let mut job = job();
    job.coats[0].reach = Reach::BothSides;
    let lines = of(&job);
    let (near, far): (Vec<&Line>, Vec<&Line>) = lines.iter().partition(|line| line.side == Side::Near);
    assert!(near.windows(2).all(|pair| pair[0].from.y < pair[1].from.y), "near edge inwards");
    assert!(far.windows(2).all(|pair| pair[0].from.y > pair[1].from.y), "far edge inwards");
    assert!(lines[..near.len()].iter().all(|line| line.side == Side::Near), "near side first");
    let mut one_side = job.clone();
    one_side.coats[0].reach = Reach::OneSide;
    assert_eq!(ascending(&job), ascending(&one_side), "no line twice, none missing");
}

#[test]
fn straight_across_the_lines_follow_each_other_from_the_near_edge_to_the_far_one() {
    let mut job = job();
    let all = ascending(&job);
    job.coats[0].sequence = Sequence::StraightAcross;
    assert_eq!(places(&job), all, "from one side");
    job.coats[0].reach = Reach::BothSides;
    assert_eq!(places(&job), all, "from both");
    let lines = of(&job);
    assert!(lines.iter().all(|line| (line.side == Side::Near) == (line.from.y <= 350.0)), "each half from its side");
    assert!(lines.windows(2).all(|pair| pair[0].direction() == -pair[1].direction()));
    // the film is that of the other order, and the middle is met while it is still open: both orders walk round once
    let films = |sequence: Sequence| {
        let mut job = job.clone();
        job.hand.walk_round.0 = 0.0;
        job.coats[0].sequence = sequence;
        let rehearsal = rehearse(&job);
        (rehearsal.film(0), Wetness::of(&rehearsal).films[0].gap.iter().copied().fold(0.0, f64::max))
    };
    let ((across, soon), (inwards, late)) = (films(Sequence::StraightAcross), films(Sequence::EdgesInwards));
    let most = across.iter().copied().fold(0.0, f64::max);
    for (a, b) in across.iter().zip(&inwards) {
        assert_near("film", *a, *b, 1e-9 * most);
    }
    let passes = lines.len() as f64 / 2.0;
    assert!(late > (passes - 1.5) * soon / 2.0 && late > 2.0 * soon, "{late} against {soon}");
    // a middle that both reaches spray is sprayed twice in this order as well
    job.coats[0].reach_overlap.0 = 200.0;
    let twice = all.iter().filter(|at| (**at - 350.0).abs() <= 100.0 + 1e-9).count();
    assert_eq!(places(&job).len(), all.len() + twice);
}

#[test]
fn reaches_that_overlap_spray_the_middle_twice_and_a_gap_leaves_it_out() {
    let mut job = job();
    let all = ascending(&job);
    job.coats[0].reach = Reach::BothSides;
    for overlap in [200.0, 300.0, 50.0] {
        job.coats[0].reach_overlap.0 = overlap;
        let twice = all.iter().filter(|at| (**at - 350.0).abs() <= overlap / 2.0 + 1e-9).count();
        assert_eq!(places(&job).len(), all.len() + twice, "overlap {overlap}");
    }
    for gap in [-50.0, -200.0, -300.0] {
        job.coats[0].reach_overlap.0 = gap;
        let out = all.iter().filter(|at| (**at - 350.0).abs() < -gap / 2.0 - 1e-9).count();
        assert_eq!(places(&job).len(), all.len() - out, "gap {gap}");
    }
}

#[test]
fn a_middle_line_of_both_sides_is_sprayed_once() {
    let mut job = job();
    job.panel.width.0 = 750.0; // a line at 375 mm
    job.coats[0].reach = Reach::BothSides;
    let middle = places(&job).iter().filter(|at| (**at - 375.0).abs() < 1e-9).count();
    assert_eq!(middle, 1);
    assert_eq!(places(&job).len(), 7);
}

#[test]
fn the_edge_pass_goes_once_around_on_the_edge_line_first() {
    let mut job = job();
    job.coats[0].edge_pass = true;
    let lines = of(&job);
    let rim: Vec<(f64, f64)> = lines[..4].iter().map(|line| (line.from.x, line.from.y)).collect();
    assert_eq!(rim, [(0.0, 0.0), (1000.0, 0.0), (1000.0, 700.0), (0.0, 700.0)]);
    assert!(lines[..4].iter().all(|line| line.rim) && lines[4..].iter().all(|line| !line.rim));
    assert!(lines[..3].iter().zip(&lines[1..4]).all(|(a, b)| a.to == b.from), "from corner to corner");
    assert_eq!(lines[3].to, lines[0].from, "closed");
    job.coats[0].edge_pass = false;
    assert_eq!(of(&job), lines[4..], "the lines stay as they were");
}

#[test]
fn an_amount_is_laid_by_speed() {
    let mut job = job();
    for (amount, speed) in [(1.0, 500.0), (0.5, 1000.0), (2.0, 250.0)] {
        job.coats[0].amount.0 = amount;
        assert_eq!(job.coats[0].actual_speed().0, speed);
        let plan = Rehearsal::plan(&job);
        // 1000 mm and 100 mm of lead at both ends
        assert_near("one pass, s", plan.passes()[0].stroke.duration().0, 1200.0 / speed, 1e-12);
    }
}

#[test]
fn spraying_time_is_length_over_speed_and_the_total_counts_turns_and_flash() {
    let mut job = job();
    job.coats[0].flash.0 = 5.0;
    job.coats.push(job.coats[0].clone());
    job.coats[1].amount.0 = 0.5;
    let plan = Rehearsal::plan(&job);
    let lines = of(&job).len() as f64;
    let spraying = lines * (1200.0 / 500.0 + 1200.0 / 1000.0);
    assert_near("spraying, s", plan.spraying().0, spraying, 1e-9);
    let turns = 2.0 * (lines - 1.0) * TURN.0;
    assert_near("total, s", plan.total().0, spraying + turns + 600.0, 1e-9);
    let report = fanlap::report::report(&fanlap::appraisal::appraise(&job));
    assert_near("reported spraying, s", report.time.spraying_s, spraying, 1e-9);
    assert_near("reported total, s", report.time.total_s, spraying + turns + 600.0, 1e-9);
    assert_near("second coat begins, s", plan.coats()[1].start.0, lines * 2.4 + turns / 2.0 + 300.0, 1e-9);
}

/// From both sides of a lying panel the total counts the way round, within a coat and back to where the next begins; a
/// flash-off that lasts longer covers the way back, and a track carries its own times.
#[test]
fn the_total_counts_walking_round() {
    let of = |flash: f64, change: fn(&mut Job)| {
        let mut job = job();
        (job.coats[0].reach, job.coats[0].flash.0) = (Reach::BothSides, flash);
        job.coats.push(job.coats[0].clone());
        job.hand.walk_round.0 = 20.0;
        change(&mut job);
        let plan = Rehearsal::plan(&job);
        let spraying: f64 = plan.passes().iter().map(|pass| pass.stroke.duration().0).sum();
        let in_coat = (of_coat(&plan, 0) + of_coat(&plan, 1) - 4) as f64 * TURN.0;
        let report = fanlap::report::report(&fanlap::appraisal::appraise(&job));
        assert_near("reported, s", report.time.total_s, plan.total().0, 1e-9);
        (plan.total().0 - spraying - in_coat, plan.coats()[1].start.0 - plan.coats()[0].end.0)
    };
    let (rest, between) = of(5.0, |_| ());
    assert_near("twice round, two flash-offs", rest, 2.0 * 20.0 + 600.0, 1e-9);
    assert_near("the flash-off covers the way back", between, 300.0, 1e-9);
    let (rest, between) = of(0.0, |_| ());
    assert_near("three times round", rest, 3.0 * 20.0, 1e-9);
    assert_near("and back before the next coat", between, 20.0, 1e-9);
    let (rest, _) = of(0.0, |job| job.coats[1].reach = Reach::OneSide);
    assert_near("the last coat from one side: once round, once back", rest, 2.0 * 20.0 + TURN.0, 1e-9);
    let (rest, between) = of(0.0, |job| job.panel.slope.0 = 90.0);
    assert_near("nobody goes behind a door: turns", rest, 2.0 * TURN.0, 1e-9);
    assert_eq!(between, 0.0);
}

fn of_coat(plan: &Rehearsal, coat: usize) -> usize {
    plan.passes().iter().filter(|pass| pass.coat == coat).count()
}

#[test]
fn a_track_after_a_coat_from_both_sides_has_its_own_times() {
    let mut job = job();
    (job.coats[0].reach, job.coats[0].flash.0) = (Reach::BothSides, 0.0);
    job.coats.push(job.coats[0].clone());
    job.coats[1].track = Some(fanlap::practice::Slip::default().sprayed(&job, 1));
    let plan = Rehearsal::plan(&job);
    assert_eq!(plan.coats()[1].start, plan.coats()[0].end);
    let own = job.coats[1].track.as_ref().unwrap().samples.last().unwrap().time.0;
    assert_near("as long as the track", plan.coats()[1].end.0 - plan.coats()[1].start.0, own, 1e-6);
}

#[test]
fn around_the_rim_the_trigger_stays_open() {
    let mut job = job();
    job.coats[0].edge_pass = true;
    let plan = Rehearsal::plan(&job);
    let passes = plan.passes();
    for corner in 0..3 {
        assert_eq!(passes[corner].end, passes[corner + 1].start, "corner {corner}");
    }
    assert_near("then a turn", passes[4].start.0 - passes[3].end.0, TURN.0, 1e-9);
    let rim: f64 = passes[..4].iter().map(|pass| pass.stroke.duration().0).sum();
    assert_near("once around, s", rim, 2.0 * (1000.0 + 700.0) / 500.0, 1e-9);
}

#[test]
fn slowing_and_haste_and_arcs_change_the_time_as_derived() {
    let seconds = |change: fn(&mut Job)| {
        let mut job = job();
        job.coats[0].lead.0 = 0.0;
        change(&mut job);
        Rehearsal::plan(&job).passes()[0].stroke.duration().0
    };
    assert_near("plain", seconds(|_| ()), 2.0, 1e-12);
    assert_near("10 % fast", seconds(|job| job.hand.speed_error.0 = 0.1), 2.0 / 1.1, 1e-12);
    // two ends of 150 mm at v (1 - s (1 - d / 150)): 150 / (v s) ln(1 / (1 - s)) each
    let end = 150.0 / (500.0 * 0.5) * fanlap::maths::log(2.0);
    // 1e-6: five places to a step, one of which bends
    assert_near("slow at the ends", seconds(|job| job.hand.slow_at_ends.0 = 0.5), 1.4 + 2.0 * end, 1e-4);
    // aim point at v (1 + t^2), t even from -T to T: (L / v) atan(T) / T
    let t = fanlap::maths::tan(40.0_f64.to_radians());
    assert_near("arc 40", seconds(|job| job.hand.arc.0 = 40.0), 2.0 * 40.0_f64.to_radians() / t, 1e-9);
}

#[test]
fn a_faultless_hand_keeps_its_distance_square_to_a_crowned_surface() {
    let mut job = job();
    (job.panel.crown_along.0, job.panel.crown_across.0) = (60.0, 40.0);
    job.hand.distance_error.0 = 15.0;
    for pass in Rehearsal::plan(&job).passes() {
        for (i, moment) in pass.stroke.moments.iter().enumerate() {
            let part = i as f64 / (pass.stroke.moments.len() - 1) as f64;
            let plan = pass.line.from.lerp(pass.line.to, part);
            let (pose, normal) = (&moment.pose, job.panel.normal(plan));
            let foot = pose.nozzle + pose.aim * 195.0;
            assert!((foot - job.panel.surface(plan)).length() < 1e-9, "pass {}: {foot}", pass.number);
            assert!((pose.aim + normal).length() < 1e-9 && pose.fan.dot(normal).abs() < 1e-9);
        }
    }
}
