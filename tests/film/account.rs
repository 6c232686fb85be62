//! The paint account: sprayed = on the panel + past its rim + lost in the air, on every panel and with every fault of
//! the hand; and that the account would notice a wrong projection.

use crate::common::*;
use fanlap::job::Job;
use fanlap::rehearsal::rehearse;
use fanlap::spray::Spray;
use fanlap::strokes::{Along, Reach};
use fanlap::units::Millimetres;
use glam::DVec3;

fn job() -> Job {
    let mut job = flat(900.0, 700.0);
    job.panel.cell.0 = 4.0;
    job.gun.transfer_falls_over = Some(Millimetres(800.0));
    (job.coats[0].margin.0, job.coats[0].lead.0) = (125.0, 150.0);
    job
}

fn crowned(mut job: Job) -> Job {
    (job.panel.crown_along.0, job.panel.crown_across.0) = (40.0, 50.0);
    job
}

/// A hand that strays in everything, at 1 by the most that the table calls usual for a novice.
fn drift(job: &mut Job, times: f64) {
    let hand = &mut job.hand;
    (hand.distance_sd.0, hand.speed_sd.0) = (30.0 * times, 0.2 * times);
    (hand.line_sd.0, hand.angle_sd.0, hand.seed) = (30.0 * times, 10.0 * times, 7);
}

type Change = fn(&mut Job);

/// The faults and settings under which the account must close.
const CHANGES: [(&str, Change); 19] = [
    ("as planned", |_| ()),
    ("heel 30", |job| job.hand.heel.0 = 30.0),
    ("heel -30", |job| job.hand.heel.0 = -30.0),
    ("drag 30", |job| job.hand.drag.0 = 30.0),
    ("drag -30", |job| job.hand.drag.0 = -30.0),
    ("arc 40 about 250 mm", |job| job.hand.arc.0 = 40.0),
    ("arc 40 about the nozzle", |job| (job.hand.arc.0, job.hand.arc_pivot.0) = (40.0, 0.0)),
    ("60 mm too near", |job| job.hand.distance_error.0 = -60.0),
    ("120 mm too far", |job| job.hand.distance_error.0 = 120.0),
    ("slow at the ends, trigger late", |job| (job.hand.slow_at_ends.0, job.hand.trigger_late.0) = (0.5, 60.0)),
    ("trigger early", |job| job.hand.trigger_late.0 = -100.0),
    ("edge pass", |job| job.coats[0].edge_pass = true),
    ("both sides", |job| (job.coats[0].reach, job.coats[0].reach_overlap.0) = (Reach::BothSides, 150.0)),
    ("along the width", |job| job.coats[0].along = Along::Width),
    ("75 %", |job| job.coats[0].overlap.0 = 0.75),
    ("lines on the edges, no lead", |job| (job.coats[0].margin.0, job.coats[0].lead.0) = (0.0, 0.0)),
    ("a novice's drift", |job| drift(job, 1.0)),
    ("the most drift there is", |job| drift(job, 2.0)),
    ("heavy end and split", |job| (job.gun.heavy_end.0, job.gun.split.0) = (0.7, 0.5)),
];

fn closes(name: &str, job: Job) {
    for (title, change) in CHANGES {
        let mut job = job.clone();
        change(&mut job);
        let account = account(&job);
        assert_near(&format!("{name}, {title}"), gap(&account), 0.0, 1e-3);
        let parts = [account.on_panel.0, account.off_panel.0, account.lost_in_air.0];
        assert!(parts.iter().all(|ml| *ml > 0.0), "{name}, {title}: {parts:?}");
    }
}

#[test]
fn the_account_closes_on_a_flat_panel() {
    closes("flat", job());
}

#[test]
fn the_account_closes_on_a_crowned_panel() {
    closes("crowned", crowned(job()));
}

#[test]
fn the_account_closes_on_a_hollow_panel() {
    let mut job = job();
    (job.panel.crown_along.0, job.panel.crown_across.0) = (-40.0, -30.0);
    closes("hollow", job);
}

#[test]
fn the_account_closes_with_all_faults_at_once() {
    let mut job = crowned(job());
    job.coats[0].edge_pass = true;
    (job.hand.heel.0, job.hand.drag.0, job.hand.arc.0, job.hand.distance_error.0) = (15.0, -15.0, 25.0, 30.0);
    (job.hand.trigger_late.0, job.hand.slow_at_ends.0) = (20.0, 0.3);
    job.coats.push(job.coats[0].clone());
    (job.coats[1].along, job.coats[1].overlap.0) = (Along::Width, 0.6);
    assert_near("gap", gap(&account(&job)), 0.0, 1e-3);
}

#[test]
fn the_account_closes_for_every_pattern() {
    for (m, k) in [(0.5, 0.0), (0.5, 1.5), (1.0, 1.0), (2.4, 0.0), (4.0, 4.0), (8.0, 8.0)] {
        let mut job = crowned(job());
        (job.gun.pass_exponent, job.gun.depth_exponent) = (m, k);
        assert_near(&format!("m {m}, k {k}"), gap(&account(&job)), 0.0, 1e-3);
    }
}

#[test]
fn the_gun_sprays_its_fluid_while_the_trigger_is_open() {
    let job = crowned(job());
    let rehearsal = rehearse(&job);
    let ml = job.gun.fluid.0 / 60.0 * rehearsal.spraying().0;
    assert_ratio("sprayed", rehearsal.accounts()[0].sprayed.0, ml, 1e-12);
}

#[test]
fn what_is_lost_in_the_air_is_what_the_transfer_leaves() {
    // a flat panel, a straight gun: every drop travels the same axial distance
    for (transfer, error) in [(0.65, 0.0), (0.30, 0.0), (0.65, 100.0)] {
        let mut job = job();
        (job.gun.transfer_efficiency.0, job.hand.distance_error.0) = (transfer, error);
        let account = account(&job);
        let reached = job.gun.transfer_at(Millimetres(180.0 + error)).0;
        assert_near("lost", account.lost_in_air.0 / account.sprayed.0, 1.0 - reached, 1e-3);
    }
}

#[test]
fn each_paint_has_an_account_of_its_own() {
    let mut job = job();
    job.paints.push(job.paints[0].clone());
    job.paints[1].name = "second".to_string();
    job.coats.push(job.coats[0].clone());
    (job.coats[1].paint, job.coats[1].amount.0) = ("second".to_string(), 0.5);
    let rehearsal = rehearse(&job);
    let [first, second] = rehearsal.accounts() else { panic!("two accounts") };
    assert_ratio("on the panel", second.on_panel.0, first.on_panel.0 / 2.0, 1e-12);
    assert_ratio("sprayed", second.sprayed.0, first.sprayed.0 / 2.0, 1e-12);
    let films = (rehearsal.film(0), rehearsal.film(1));
    assert_eq!(films.0, rehearsal.film_of_coat(0));
    assert_eq!(films.1, rehearsal.film_of_coat(1));
}

#[test]
fn the_account_closes_wherever_lines_run_past_the_rim() {
    // a parabolic pass has corners at its edges: the paint past the rim must be caught finely enough for them
    for margin in (0..=150).step_by(10) {
        let mut job = flat(500.0, 600.0);
        job.panel.cell.0 = 4.0;
        pattern(&mut job.gun, 200.0, 100.0, 1.0, 1.0);
        job.coats[0].margin.0 = f64::from(margin);
        assert_near(&format!("margin {margin}"), gap(&account(&job)), 0.0, 1e-3);
    }
}

#[test]
fn a_footprint_that_touches_only_the_rim_between_two_cells_is_no_trouble() {
    // the trigger opens 60 mm early, before the edge of a crowned panel: some steps reach the panel but no cell of it
    let mut job = flat(1400.0, 1100.0);
    job.panel.cell.0 = 10.0;
    job.panel.crown_across.0 = 20.0;
    (job.hand.heel.0, job.hand.trigger_late.0) = (-1.0, -60.0);
    let coat = &mut job.coats[0];
    (coat.distance.0, coat.overlap.0, coat.margin.0, coat.lead.0) = (210.0, 0.75, 125.0, 150.0);
    coat.along = Along::Width;
    assert_near("gap", gap(&account(&job)), 0.0, 1e-3);
}

#[test]
fn paint_that_flies_over_the_horizon_of_a_steep_crown_is_accounted_for() {
    // a panel whose rim falls off by 26 degrees, a heeled gun: some rays never meet the surface
    let mut job = flat(600.0, 500.0);
    job.panel.crown_across.0 = 60.0;
    (job.hand.heel.0, job.hand.arc.0) = (30.0, 30.0);
    (job.coats[0].margin.0, job.coats[0].lead.0) = (125.0, 150.0);
    assert_near("gap", gap(&account(&job)), 0.0, 1e-3);
}

/// What a law of growth lays in a second on a plane that a still gun meets at a tilt, over what it sends there, by the
/// midpoint rule in 0.5 mm squares. `more` is an extra factor of the angle between ray and normal.
fn caught(tilt: f64, more: impl Fn(f64) -> f64) -> f64 {
    let job = flat(400.0, 400.0);
    let spray = Spray::of(&job.gun);
    let pose = still(180.0, tilt);
    let sent = job.gun.fluid.cubic_mm_per_s() * job.gun.transfer_efficiency.0 * 1000.0;
    let at = |i: i32| 0.5 * (f64::from(i) + 0.5);
    let sum: f64 = (-400..800)
        .flat_map(|i| (-600..600).map(move |j| DVec3::new(at(i), at(j), 0.0)))
        .map(|place| {
            let ray = place - pose.nozzle;
            spray.growth(&pose, place, DVec3::Z) * more(-ray.z / ray.length()) * 0.25
        })
        .sum();
    sum / sent
}

#[test]
fn the_law_of_growth_conserves_paint_at_any_tilt_by_itself() {
    for tilt in [0.0_f64, 30.0, 45.0] {
        assert_near(&format!("tilt {tilt}"), caught(tilt.to_radians(), |_| 1.0), 1.0, 1e-4);
    }
}

#[test]
fn the_account_would_notice_one_cosine_too_many_or_too_few() {
    for tilt in [0.0_f64, 30.0, 45.0] {
        let (twice, never) = (caught(tilt.to_radians(), |cos| cos), caught(tilt.to_radians(), |cos| 1.0 / cos));
        println!("tilt {tilt}: {twice:.3} with a cosine too many, {never:.3} with one too few");
        // far beyond the 1e-3 to which the account closes
        assert!(twice < 0.98 && never > 1.02, "tilt {tilt}: {twice}, {never}");
    }
}

#[test]
fn the_film_of_a_pass_holds_the_paint_that_the_plain_law_sends() {
    // on the panel, by the account, against the plain law summed over places and times of the same stroke
    let mut job = crowned(flat(400.0, 400.0));
    (job.hand.heel.0, job.hand.drag.0, job.hand.arc.0) = (20.0, 15.0, 25.0);
    job.coats[0].margin.0 = -200.0; // one line, in the middle
    let rehearsal = rehearse(&job);
    let spray = Spray::of(&job.gun);
    let line = &rehearsal.passes()[0].line;
    let stroke = fanlap::strokes::Stroke::in_steps(&job.panel, &job.coats[0], &job.hand, line, 300);
    let patch = rehearsal.patch();
    let mut ml = 0.0;
    for step in stroke.moments.windows(2) {
        let time = 0.5 * (step[0].time.0 + step[1].time.0);
        let (pose, seconds) = (stroke.pose_at(fanlap::units::Seconds(time)), step[1].time.0 - step[0].time.0);
        for row in (0..patch.rows).step_by(2) {
            for column in (0..patch.columns).step_by(2) {
                let at = patch.origin + patch.cell * glam::DVec2::new(column as f64 + 1.0, row as f64 + 1.0);
                let area = 4.0 * patch.cell.x * patch.cell.y / job.panel.normal(at).z;
                ml += 1e-6 * area * seconds * spray.growth(&pose, job.panel.surface(at), job.panel.normal(at));
            }
        }
    }
    // 3e-4: second order in the steps that the hand takes in the rehearsal; 4 mm squares here
    assert_ratio("on the panel", rehearsal.accounts()[0].on_panel.0, ml, 3e-4);
}
