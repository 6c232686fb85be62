//! Panels as steep as is allowed: the work a rehearsal does on them is in proportion to what the fan covers, their film is
//! that of the plain steps, their account closes, and a recording of them stays where the gun was.

use crate::common::*;
use fanlap::job::Job;
use fanlap::panel::Panel;
use fanlap::practice::Slip;
use fanlap::rehearsal::{Rehearsal, rehearse};
use fanlap::spray::{Spray, deposit, reached};
use fanlap::strokes::{Along, Sample, Track};
use fanlap::units::{Millimetres, Seconds};
use glam::{DVec2, DVec3};

/// A small panel in one coat, with a crown along and one across.
fn crowned(along: f64, across: f64) -> Job {
    let mut job = flat(400.0, 330.0);
    (job.panel.crown_along.0, job.panel.crown_across.0, job.panel.cell.0) = (along, across, 10.0);
    job.gun.transfer_falls_over = Some(Millimetres(800.0));
    (job.coats[0].margin.0, job.coats[0].lead.0) = (60.0, 100.0);
    job.checked().expect("within the limits")
}

/// At the edges or in the corners 75, 72, 67, 74 degrees; then a saddle and a hollow, in which the gun has room.
const CROWNS: [(f64, f64); 6] =
    [(0.0, 300.0), (300.0, 0.0), (0.0, 200.0), (250.0, 200.0), (-60.0, 200.0), (-60.0, -50.0)];

#[test]
fn what_a_fan_reaches_holds_all_it_covers_and_is_no_multiple_of_the_panel() {
    for (along, across) in CROWNS {
        let job = crowned(along, across);
        let (plan, spray) = (Rehearsal::plan(&job), Spray::of(&job.gun));
        let (patch, area) = (plan.patch(), job.panel.area());
        let (mut looked_at, mut covered) = (0, 0);
        for moment in plan.passes().iter().flat_map(|pass| pass.stroke.evenly(40)) {
            let window = patch.window_of(reached(&spray, &job.panel, &moment.pose, area));
            looked_at += window.len();
            for cell in 0..patch.window().len() {
                let (column, row) = (cell % patch.columns, cell / patch.columns);
                let at = patch.centre(column, row);
                if spray.growth(&moment.pose, job.panel.surface(at), job.panel.normal(at)) > 0.0 {
                    covered += 1;
                    let columns = window.column..window.column + window.columns;
                    let held = columns.contains(&column) && (window.row..window.row + window.rows).contains(&row);
                    assert!(held, "{along}, {across}: {at} is sprayed and not reached");
                }
            }
        }
        println!("crowns {along}, {across}: {looked_at} cells looked at, {covered} sprayed");
        // the footprint lies askew in its rectangle; the heights alone give seventy times as many
        assert!(looked_at < 12 * covered, "crowns {along}, {across}: {looked_at} cells looked at for {covered}");
    }
}

#[test]
fn the_film_on_a_steep_panel_is_that_of_every_step_over_all_of_it() {
    for (along, across) in CROWNS {
        for way in [Along::Length, Along::Width] {
            let mut job = crowned(along, across);
            job.coats[0].along = way;
            let rehearsal = rehearse(&job);
            let (patch, spray) = (rehearsal.patch(), Spray::of(&job.gun));
            let mut film = vec![0.0; patch.window().len()];
            for pass in rehearsal.passes() {
                let path: Vec<(Seconds, _)> = pass.stroke.moments.iter().map(|m| (m.time, m.pose)).collect();
                deposit(&spray, patch, patch.window(), (patch.window(), &mut film), &path);
            }
            let solids = job.paints[0].solids_by_volume.0;
            let most = film.iter().copied().fold(0.0, f64::max) * solids;
            let apart = rehearsal.film(0).iter().zip(&film).map(|(a, b)| (a - b * solids).abs()).fold(0.0, f64::max);
            assert_near(&format!("crowns {along}, {across}, {way:?}"), apart / most, 0.0, 1.5e-3);
        }
    }
}

#[test]
fn the_account_closes_on_a_panel_as_steep_as_is_allowed() {
    // not on a hollow one, in which no gun has room
    for (along, across) in [(0.0, 300.0), (300.0, 0.0), (250.0, 200.0)] {
        for way in [Along::Length, Along::Width] {
            let mut job = crowned(along, across);
            (job.coats[0].along, job.panel.cell.0) = (way, 3.0);
            let account = rehearse(&job).accounts()[0];
            let sum = account.on_panel.0 + account.off_panel.0 + account.lost_in_air.0;
            assert_ratio(&format!("crowns {along}, {across}, {way:?}"), sum, account.sprayed.0, 1e-3);
        }
    }
}

/// Each coat of a job as its plan is recorded.
fn recorded(along: f64, across: f64, way: Along) -> (Job, Track) {
    let mut job = crowned(along, across);
    job.coats[0].along = way;
    let track = Slip::default().sprayed(&job, 0);
    (job, track)
}

#[test]
fn a_recording_over_a_strongly_curved_panel_stays_where_the_gun_was() {
    for (along, across) in CROWNS {
        for way in [Along::Length, Along::Width] {
            let (mut job, track) = recorded(along, across, way);
            let off = |of: &dyn Fn(&Sample) -> f64| track.samples.iter().map(of).fold(0.0, f64::max);
            let distance = off(&|sample| (sample.distance.0 - job.coats[0].distance.0).abs());
            assert_near(&format!("distance, crowns {along}, {across}, {way:?}"), distance, 0.0, 0.01);
            assert_near("heel and lean", off(&|sample| sample.heel.0.abs().max(sample.lean.0.abs())), 0.0, 0.05);
            let planned = Rehearsal::plan(&job).passes().len();
            job.coats[0].track = Some(track);
            let recorded = Rehearsal::plan(&job.checked().expect("within the limits"));
            assert_eq!(recorded.passes().len(), planned, "crowns {along}, {across}, {way:?}");
        }
    }
}

#[test]
fn a_recording_in_a_hollow_without_room_for_the_gun_is_finite() {
    for (along, across) in [(0.0, -300.0), (-300.0, 0.0), (0.0, -200.0), (-150.0, 200.0), (-200.0, -200.0)] {
        for way in [Along::Length, Along::Width] {
            let (mut job, track) = recorded(along, across, way);
            for sample in &track.samples {
                let numbers: [f64; 7] = (*sample).into();
                assert!(numbers.iter().all(|number| number.abs() < 1e4), "crowns {along}, {across}: {sample:?}");
            }
            job.coats[0].track = Some(track);
            let plan = Rehearsal::plan(&job);
            let most = plan.passes().iter().map(|pass| pass.stroke.moments.len()).max().unwrap_or(0);
            assert!(most < 20_000, "crowns {along}, {across}: {most} steps in a pass");
        }
    }
}

#[test]
fn a_place_in_space_is_taken_to_the_nearest_of_the_face() {
    let nearest = |panel: &Panel, nozzle: DVec3| {
        let places = (-3000..6000).map(|i| 0.1 * f64::from(i));
        places.map(|y| panel.face(DVec2::new(nozzle.x, y)).distance(nozzle)).fold(f64::INFINITY, f64::min)
    };
    for across in [300.0, 200.0, 20.0, -20.0, -200.0, -300.0] {
        let panel = crowned(0.0, across).panel;
        for y in [-50.0, 40.0, 165.0, 200.0, 380.0] {
            let nozzle = DVec3::new(200.0, y, panel.face(DVec2::new(200.0, y)).z.max(0.0) + 170.0);
            let (place, distance) = Sample::under(&panel, nozzle);
            assert!(place.is_finite() && distance.0.is_finite());
            let least = nearest(&panel, nozzle);
            if across > -100.0 {
                assert_near(&format!("{across}, {y}"), distance.0, least, 0.01);
            } else {
                // there a gun may stand square to several places
                assert!(distance.0 > least - 0.01, "{across}, {y}: {} is nearer than {least}", distance.0);
            }
        }
    }
}
