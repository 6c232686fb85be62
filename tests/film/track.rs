//! A recorded coat: the same movement as a planned one lays the same film, however often it is looked at; where a hand
//! turns back a pass ends; late looks and a held trigger are what they are.

use crate::common::*;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::{Rehearsal, rehearse};
use fanlap::strokes::{Along, Reach, Sample, Track};
use fanlap::units::{Degrees, Millimetres, Seconds};
use glam::{DVec2, DVec3};

/// A crowned panel in one coat of a steady hand.
fn planned(along: Along) -> Job {
    let mut job = flat(700.0, 500.0);
    (job.panel.crown_along.0, job.panel.crown_across.0) = (20.0, 12.0);
    job.panel.cell.0 = 5.0;
    pattern(&mut job.gun, 220.0, 60.0, 2.4, 1.5);
    job.gun.at_distance.0 = 180.0;
    let mut coat = coat(&job);
    (coat.overlap.0, coat.speed.0, coat.distance.0, coat.lead.0, coat.margin.0) = (0.6, 450.0, 180.0, 90.0, 60.0);
    (coat.along, coat.reach) = (along, Reach::OneSide);
    job.coats = vec![coat];
    job
}

/// Looks at the gun of a planned job, so many a second, as a tracker would take them.
fn watched(job: &Job, a_second: f64) -> Job {
    let rehearsal = Rehearsal::plan(job);
    let mut samples = Vec::new();
    for pass in rehearsal.passes() {
        let duration = pass.stroke.duration().0;
        let count = (duration * a_second).ceil().max(1.0);
        for i in 0..=count as usize {
            let time = duration * i as f64 / count;
            let (pose, at) = (pass.stroke.pose_at(Seconds(time)), Seconds(pass.start.0 + time));
            samples.push(Sample::of(&job.panel, job.coats[0].along, &pose, at, (i as f64) < count));
        }
    }
    let mut job = job.clone();
    job.coats[0].track = Some(Track { samples, ..Track::default() });
    job.checked().expect("within the limits")
}

/// The largest difference of two jobs' films over the most film.
fn apart_of(one: &Job, other: &Job) -> f64 {
    let (a, b) = (rehearse(one).film(0), rehearse(other).film(0));
    let most = a.iter().copied().fold(0.0, f64::max);
    a.iter().zip(&b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max) / most
}

#[test]
fn a_recorded_plan_lays_the_film_of_the_plan() {
    for along in [Along::Length, Along::Width] {
        let job = planned(along);
        // where the crown goes on straight past the rim the plan turns the gun within a step, the looks at once: up to
        // 2.8e-3 lies between the two; at 20 a second the gun goes 22 mm from look to look
        for a_second in [200.0, 60.0, 20.0] {
            let watched = watched(&job, a_second);
            let (plan, recorded) = (Rehearsal::plan(&job), Rehearsal::plan(&watched));
            assert_eq!(recorded.passes().len(), plan.passes().len(), "{along:?}, {a_second}");
            assert_near(
                "start of the last pass",
                recorded.passes().last().unwrap().start.0,
                plan.passes().last().unwrap().start.0,
                1e-9,
            );
            assert_near(&format!("{along:?}, {a_second} a second"), apart_of(&job, &watched), 0.0, 3e-3);
        }
    }
}

#[test]
fn the_account_of_a_recorded_coat_closes() {
    let watched = watched(&planned(Along::Length), 60.0);
    let rehearsal = rehearse(&watched);
    let account = rehearsal.accounts()[0];
    let found = account.on_panel.0 + account.off_panel.0 + account.lost_in_air.0;
    assert_near("share found", found / account.sprayed.0, 1.0, 1e-3);
}

#[test]
fn a_tilted_gun_is_seen_as_it_is_held() {
    // heel, drag and a turning wrist of a planned hand, watched: the same film from the looks alone
    for along in [Along::Length, Along::Width] {
        for (heel, drag, arc) in [(12.0, 0.0, 0.0), (0.0, 10.0, 0.0), (0.0, 0.0, 30.0), (-8.0, 6.0, 12.0)] {
            let mut job = planned(along);
            (job.hand.heel.0, job.hand.drag.0, job.hand.arc.0) = (heel, drag, arc);
            let by_hand = watched(&job, 100.0);
            assert_near(&format!("{heel} {drag} {arc} {along:?}"), apart_of(&job, &by_hand), 0.0, 3e-3);
        }
    }
    let mut job = planned(Along::Length);
    (job.hand.heel.0, job.hand.drag.0) = (12.0, 10.0);
    let track = watched(&job, 30.0).coats[0].track.clone().unwrap();
    let first = track.samples[1];
    assert_near("heel", first.heel.0, 12.0, 0.1);
    assert_near("lean", first.lean.0.abs(), 10.0, 0.1);
}

#[test]
fn looks_that_are_dropped_cost_little() {
    // a machine that is busy hands on one look in five, or none for a third of a second
    let job = planned(Along::Length);
    let all = watched(&job, 100.0);
    let ends = |track: &Track, i: usize| i == 0 || !track.samples[i - 1].open || !track.samples[i].open;
    for (name, dropped) in [
        ("four of five", (|i| i % 5 != 0) as fn(usize) -> bool),
        ("a third of a second", |i| (40..73).contains(&(i % 200))),
    ] {
        let mut few = all.clone();
        let track = few.coats[0].track.as_mut().unwrap();
        let kept: Vec<Sample> =
            (0..track.samples.len()).filter(|i| ends(track, *i) || !dropped(*i)).map(|i| track.samples[i]).collect();
        assert!(kept.len() < track.samples.len() * 9 / 10, "{name}");
        track.samples = kept;
        assert_near(name, apart_of(&all, &few), 0.0, 5e-3);
    }
}

fn sample(time: f64, x: f64, y: f64, open: bool) -> Sample {
    let (place, distance) = (DVec2::new(x, y), Millimetres(180.0));
    Sample { time: Seconds(time), place, distance, heel: Degrees(0.0), lean: Degrees(0.0), open }
}

fn passes(samples: Vec<Sample>) -> Vec<(f64, f64, f64)> {
    let job = planned(Along::Length);
    let passes = Track { samples, ..Track::default() }.passes(&job.panel, Along::Length);
    passes.iter().map(|pass| (pass.start.0, pass.line.from.x, pass.line.to.x)).collect()
}

#[test]
fn a_pass_ends_where_the_hand_turns_back_or_the_trigger_closes() {
    let there_and_back = |open: bool| {
        let out = (0..=60).map(|i| sample(1.0 + i as f64 * 0.02, i as f64 * 10.0, 100.0, true));
        let back = (1..=60).map(move |i| sample(2.2 + i as f64 * 0.02, 600.0 - i as f64 * 10.0, 100.0, open || i > 5));
        out.chain(back).collect::<Vec<_>>()
    };
    // the trigger held through the turn: two passes that meet there
    let held = passes(there_and_back(true));
    assert_eq!(held.len(), 2, "{held:?}");
    assert_eq!((held[0].1, held[0].2, held[1].1, held[1].2), (0.0, 600.0, 600.0, 0.0));
    assert_near("the second begins", held[1].0, 1.2, 1e-9);
    // closed at the turn, opened again a little later
    let closed = passes(there_and_back(false));
    assert_eq!(closed.len(), 2);
    assert_eq!((closed[0].2, closed[1].1), (590.0, 540.0));
}

#[test]
fn a_trembling_hand_makes_one_pass() {
    let trembling = (0..200).map(|i| sample(i as f64 * 0.01, i as f64 * 3.0 + f64::from(i % 7) * 3.0, 100.0, true));
    assert_eq!(passes(trembling.collect()).len(), 1);
}

#[test]
fn a_gun_that_stands_still_lays_a_spot_and_no_time_lays_nothing() {
    let mut job = planned(Along::Length);
    let dab = |time: f64| vec![sample(0.5, 350.0, 250.0, true), sample(0.5 + time, 350.0, 250.0, false)];
    job.coats[0].track = Some(Track { samples: dab(0.3), ..Track::default() });
    let rehearsal = rehearse(&job);
    assert_near("sprayed", rehearsal.accounts()[0].sprayed.0, job.gun.fluid.0 / 60.0 * 0.3, 1e-9);
    let landed = rehearsal.accounts()[0].on_panel.0;
    let share = job.gun.transfer_at(Millimetres(180.0)).0;
    assert_near("landed", landed / (job.gun.fluid.0 / 60.0 * 0.3), share, 2e-3);
    job.coats[0].track = Some(Track { samples: dab(0.0), ..Track::default() });
    assert!(Rehearsal::plan(&job).passes().is_empty());
    job.coats[0].track = Some(Track::default());
    assert!(rehearse(&job).film(0).iter().all(|film| *film == 0.0));
}

#[test]
fn a_late_look_is_gone_to_straight() {
    // the looks of a tenth of a second are missing: the gun went evenly
    let job = planned(Along::Length);
    let even: Vec<Sample> = (0..=100).map(|i| sample(i as f64 * 0.01, i as f64 * 5.0, 250.0, i < 100)).collect();
    let gappy: Vec<Sample> =
        even.iter().enumerate().filter(|(i, _)| !(40..50).contains(i)).map(|(_, sample)| *sample).collect();
    let with = |samples: Vec<Sample>| {
        let mut job = job.clone();
        job.coats[0].track = Some(Track { samples, ..Track::default() });
        job
    };
    assert_near("film", apart_of(&with(even), &with(gappy)), 0.0, 1e-4);
}

#[test]
fn a_nozzle_in_space_has_one_place_under_it() {
    let panel = planned(Along::Length).panel;
    for (x, y, distance) in [(0.0, 0.0, 180.0), (350.0, 20.0, 90.0), (-80.0, 480.0, 250.0)] {
        let at = DVec2::new(x, y);
        let nozzle: DVec3 = panel.face(at) + panel.face_normal(at) * distance;
        let (place, found) = Sample::under(&panel, nozzle);
        assert_near("distance", found.0, distance, 1e-9);
        assert!((place - at).length() < 1e-9, "{place} is not {at}");
    }
}

#[test]
fn a_job_keeps_its_track_and_refuses_a_broken_one() {
    let job = watched(&planned(Along::Length), 60.0);
    assert_eq!(Job::read(&job.text(), &Files::none()).unwrap(), job, "every bit of it survives the file");
    assert_eq!(rehearse(&Job::read(&job.text(), &Files::none()).unwrap()).film(0), rehearse(&job).film(0));
    let says = |track: &str| {
        let text = format!(r#"{{ "fanlap_job": 1, "coats": [ {{ "track": {track} }} ] }}"#);
        Job::read(&text, &Files::none()).expect_err("refused").to_string()
    };
    for (track, words) in [
        ("7", "coats[0].track"),
        (r#"{ "samples": 7 }"#, "coats[0].track: given"),
        (r#"{ "samples": [], "more": 1 }"#, "allowed is { \"samples\""),
        (
            r#"{ "samples": [[0, 0, 0, 180, 0, 0]] }"#,
            "coats[0].track.samples[0]: given [0,0,0,180,0,0]; allowed is seven numbers",
        ),
        (r#"{ "samples": [[0, 0, 0, 20, 0, 0, 1]] }"#, "distance from 30 to 1000 mm"),
        (r#"{ "samples": [[0, 0, 0, 180, 0, 0, 0.5]] }"#, "a trigger of 0 or 1"),
        (
            r#"{ "samples": [[1, 0, 0, 180, 0, 0, 1], [0.5, 0, 0, 180, 0, 0, 1]] }"#,
            "samples[1]: given 0.5 s; allowed is t not before",
        ),
    ] {
        let said = says(track);
        assert!(said.contains(words), "{track}: {said}");
    }
    let many = vec!["[0,0,0,180,0,0,0]"; 30_001].join(",");
    assert!(says(&format!(r#"{{ "samples": [{many}] }}"#)).contains("up to 30000 samples"));
}
