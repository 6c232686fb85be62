//! The rolled rim: its shape, and what lands on it. All derived: an arc of a circle, and the exact law of one pass along
//! an edge. The film along a rim that an edge pass and the lines build up together is the heavy edge of the trade
//! (common practice, no source); nothing here says how paint flows on it afterwards.

use crate::common::*;
use fanlap::job::Job;
use fanlap::maths::{cos, pow, sin, tan};
use fanlap::rehearsal::rehearse;
use fanlap::spray::Spray;
use fanlap::strokes::{Along, Stroke};
use glam::DVec2;

fn rolled(radius: f64, angle: f64) -> Job {
    let mut job = flat(600.0, 500.0);
    (job.panel.rim_radius.0, job.panel.rim_angle.0) = (radius, angle);
    job.panel.cell.0 = (radius / 6.0).clamp(1.0, 4.0);
    job
}

#[test]
fn the_rim_is_an_arc_of_a_circle_that_ends_at_the_edge() {
    for (radius, angle) in [(20.0, 60.0), (5.0, 30.0), (50.0, 75.0)] {
        let panel = rolled(radius, angle).panel;
        let turn = f64::to_radians(angle);
        assert_near("width", panel.rim_width().0, radius * sin(turn), 1e-12);
        let at = |y: f64| DVec2::new(300.0, y);
        assert_near("falls by", panel.height(at(0.0)).0, -radius * (1.0 - cos(turn)), 1e-9);
        assert_near("at the far edge too", panel.height(at(500.0)).0, -radius * (1.0 - cos(turn)), 1e-9);
        assert_near("slope at the edge", panel.gradient(at(0.0)).y, tan(turn), 1e-9);
        assert_near("and beyond it", panel.gradient(at(-10.0)).y, tan(turn), 1e-9);
        assert_near("on the face", panel.height(at(panel.rim_width().0 + 0.01)).0, 0.0, 1e-12);
        // every place lies on the circle about (width, -radius)
        for i in 0..=20 {
            let y = panel.rim_width().0 * f64::from(i) / 20.0;
            let (across, up) = (panel.rim_width().0 - y, panel.height(at(y)).0 + radius);
            assert_near("radius", (across * across + up * up).sqrt(), radius, 1e-9);
        }
        // the surface along the arc is radius times the angle (in radians)
        let step = panel.rim_width().0 / 20_000.0;
        let arc: f64 = (0..20_000).map(|i| step / panel.normal(at(step * (f64::from(i) + 0.5))).z).sum();
        assert_ratio("arc", arc, radius * turn, 1e-6);
    }
}

#[test]
fn slope_and_heights_are_those_of_one_surface() {
    let mut panel = rolled(30.0, 65.0).panel;
    (panel.crown_along.0, panel.crown_across.0) = (20.0, -10.0);
    let step = 1e-5;
    for (x, y) in [(-20.0, 100.0), (3.0, 4.0), (15.0, 250.0), (590.0, 490.0), (300.0, 480.0), (300.0, 250.0)] {
        let at = DVec2::new(x, y);
        let slope = |by: DVec2| (panel.height(at + by).0 - panel.height(at - by).0) / (2.0 * step);
        assert_near("along", panel.gradient(at).x, slope(DVec2::new(step, 0.0)), 1e-6);
        assert_near("across", panel.gradient(at).y, slope(DVec2::new(0.0, step)), 1e-6);
        let (least, most) = panel.height_range(fanlap::panel::Area { least: at - 40.0, most: at + 40.0 });
        for (i, j) in (-4..=4).flat_map(|i| (-4..=4).map(move |j| (i, j))) {
            let height = panel.height(at + 10.0 * DVec2::new(f64::from(i), f64::from(j))).0;
            assert!(height >= least - 1e-9 && height <= most + 1e-9, "{height} not within {least} to {most}");
        }
    }
}

#[test]
fn without_a_radius_nothing_is_rolled() {
    let (sharp, mut other) = (rolled(0.0, 60.0), rolled(0.0, 60.0));
    other.panel.rim_angle.0 = 75.0;
    assert_eq!(rehearse(&sharp).film(0), rehearse(&other).film(0));
    assert!(rehearse(&sharp).patch().gradient.iter().all(|slope| *slope == DVec2::ZERO));
}

#[test]
fn the_gun_follows_the_face_and_not_the_rim() {
    let (sharp, rolled) = (rolled(0.0, 60.0), rolled(40.0, 60.0));
    let along = line((-50.0, 5.0), (650.0, 5.0));
    let of = |job: &Job| Stroke::in_steps(&job.panel, &job.coats[0], &job.hand, &along, 40);
    assert!(of(&sharp) == of(&rolled), "poses and times are the same");
}

#[test]
fn a_pass_along_the_edge_lays_the_exact_film_on_the_rim() {
    // Under a pass along y0 at h over the face, at a place fallen by d whose surface slopes by the tangent s:
    // (1 - u^2)^m h (z + s (y - y0)) / z^2 cos(slope) of the film on the face under the gun, with z = h + d and
    // u = (y - y0) / (z tan alpha). Straight under the gun it is h / z times the cosine.
    let mut job = rolled(25.0, 60.0);
    job.gun.pass_exponent = 2.5;
    let h = job.coats[0].distance.0;
    let tan_alpha = 0.5 * job.gun.fan_width.0 / job.gun.at_distance.0;
    for y0 in [-30.0, 0.0, 5.0, 12.0, 60.0] {
        let places = [0.0, 2.0, 5.0, 12.0, 20.0].map(|y| (300.0, y));
        let film = wet_under(&job, &line((0.0, y0), (600.0, y0)), &places);
        let full = wet_under(&rolled(0.0, 60.0), &line((0.0, y0), (600.0, y0)), &[(300.0, y0)])[0]
            * peak_over_mean(2.5)
            / peak_over_mean(2.4);
        for ((_, y), film) in places.into_iter().zip(film) {
            let at = DVec2::new(300.0, y);
            let (z, slope) = (h - job.panel.height(at).0, job.panel.gradient(at).y);
            let u = (y - y0) / (z * tan_alpha);
            let cosine = job.panel.normal(at).z;
            let exact = pow(1.0 - u * u, 2.5) * h * (z + slope * (y - y0)) / (z * z) * cosine;
            assert_near(&format!("gun at {y0}, place at {y}"), film / full, exact, 1e-4);
            if y == y0 {
                assert_near("straight under the gun", film / full, cosine * h / z, 1e-4);
            }
        }
    }
}

#[test]
fn an_edge_pass_and_lines_on_the_edge_make_a_heavy_edge_thinner_by_the_cosine_on_the_rim() {
    // m = 2.5, 50 %: 2.04 of the mean with the edge pass (edges.rs). On the rim the same paint lies on more surface:
    // near the edge, where rays meet the rim nearly straight down, 2.04 times the cosine of 60 degrees.
    let mut job = flat(400.0, 1000.0);
    job.panel.cell.0 = 1.0;
    pattern(&mut job.gun, 200.0, 20.0, 2.5, 1.5);
    job.coats[0].edge_pass = true;
    let face = section(&rehearse(&job));
    (job.panel.rim_radius.0, job.panel.rim_angle.0) = (6.0, 60.0);
    let rehearsal = rehearse(&job);
    let rim = section(&rehearsal);
    let inside = mean(middle(&face, 1.0, 100.0));
    assert_near("mean inside", mean(middle(&rim, 1.0, 100.0)), inside, 1e-6 * inside);
    assert_near("sharp edge", face[0] / inside, 2.0 * peak_over_mean(2.5), 0.03);
    let (patch, column) = (rehearsal.patch(), rehearsal.patch().columns / 2);
    for row in [0, 2, 4] {
        let at = patch.centre(column, row);
        let cosine = job.panel.normal(at).z;
        // what the lines' rays, oblique and a little farther, change: h (z + s (y - y0)) / z^2 is 1 within 0.06 here
        assert_near(&format!("{:.1} mm from the edge", at.y), rim[row] / face[row] / cosine, 1.0, 0.06);
        assert!(cosine > 0.99 || rim[row] < 0.97 * face[row], "{cosine}: {} and {}", rim[row], face[row]);
        // per area of the plan, as the account counts it, the heavy edge is still there
        assert!(rim[row] / cosine > 1.85 * inside, "{}", rim[row] / cosine);
    }
    assert_near("gap", gap(&account(&job)), 0.0, 1e-3);
}

type Change = fn(&mut Job);

const CHANGES: [(&str, Change); 6] = [
    ("as planned", |_| ()),
    ("edge pass", |job| job.coats[0].edge_pass = true),
    ("along the width", |job| job.coats[0].along = Along::Width),
    ("wide margin", |job| (job.coats[0].margin.0, job.coats[0].lead.0) = (125.0, 150.0)),
    ("heel and drag", |job| (job.hand.heel.0, job.hand.drag.0) = (20.0, 15.0)),
    ("drifting", |job| {
        let hand = &mut job.hand;
        (hand.distance_sd.0, hand.speed_sd.0, hand.line_sd.0, hand.angle_sd.0) = (20.0, 0.15, 15.0, 6.0);
    }),
];

fn closes(radius: f64, angle: f64, crown: f64, cell: f64, tolerance: f64) {
    for (name, change) in CHANGES {
        let mut job = rolled(radius, angle);
        job.panel.cell.0 = cell;
        (job.panel.crown_along.0, job.panel.crown_across.0) = (crown, 0.7 * crown);
        change(&mut job);
        let account = account(&job);
        assert_near(&format!("{radius} mm, {angle}, crown {crown}, {name}"), gap(&account), 0.0, tolerance);
        assert!(account.on_panel.0 > 0.0 && account.off_panel.0 > 0.0);
    }
}

#[test]
fn the_account_closes_over_a_rolled_rim() {
    closes(20.0, 60.0, 0.0, 4.0, 1e-3);
    closes(20.0, 60.0, 30.0, 4.0, 1e-3);
    // the steepest rim in the coarsest cells that are allowed, a third of the radius
    closes(12.0, 75.0, 0.0, 4.0, 1e-3);
    closes(12.0, 75.0, 30.0, 4.0, 1e-3);
    closes(60.0, 45.0, 0.0, 4.0, 1e-3);
}

#[test]
fn over_the_lip_of_a_hollow_panel_the_account_closes_less_well() {
    // a ray that grazes the lip can be taken for one that flew past (`Panel::landing`)
    closes(20.0, 60.0, -20.0, 4.0, 3e-3);
}

#[test]
fn the_volume_on_the_panel_settles_as_the_cells_grow_finer() {
    let volume = |cell: f64| {
        // a whole number of cells of every size
        let mut job = rolled(24.0, 60.0);
        (job.panel.cell.0, job.panel.width.0) = (cell, 480.0);
        account(&job).on_panel.0
    };
    let settled = volume(1.0);
    // 8 mm is a third of the radius, the coarsest that is allowed
    for (cell, tolerance) in [(8.0, 1e-3), (4.0, 5e-4), (2.0, 2e-4)] {
        assert_ratio(&format!("{cell} mm"), volume(cell), settled, tolerance);
    }
}

#[test]
fn the_fan_lays_on_the_rim_what_the_plain_law_says() {
    // `deposit` against the law of growth on the rim itself, gun heeled and dragging
    let mut job = rolled(25.0, 60.0);
    (job.hand.heel.0, job.hand.drag.0) = (15.0, 10.0);
    let spray = Spray::of(&job.gun);
    let along = line((0.0, 20.0), (600.0, 20.0));
    let stroke = Stroke::new(&job.panel, &job.gun, &job.coats[0], &job.hand, &along);
    let fine = Stroke::in_steps(&job.panel, &job.coats[0], &job.hand, &along, 4000);
    let part = fine.duration().0 / 4000.0;
    for y in [1.0, 6.0, 15.0, 30.0] {
        let at = DVec2::new(300.0, y);
        let growth = |pose: &fanlap::gun::Pose| spray.growth(pose, job.panel.surface(at), job.panel.normal(at));
        let moment = |i: i32| fine.pose_at(fanlap::units::Seconds((f64::from(i) + 0.5) * part));
        let law: f64 = (0..4000).map(|i| part * growth(&moment(i))).sum();
        assert_ratio(&format!("{y} mm from the edge"), wet_at(&job.panel, &spray, &stroke, at), law, 1e-3);
    }
}
