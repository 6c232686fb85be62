//! The wet film: published laws and their figures, stacks of coats, what runs on a standing panel, wet edges, and what
//! the report says of them. Does not know painted panels: nothing here was measured on one.

use fanlap::appraisal::{Appraisal, WetFigures, appraise};
use fanlap::field::places_of;
use fanlap::findings::{DefectKind, defects, measure};
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::System;
use fanlap::job::{Files, Job};
use fanlap::maths::{acos, atan2, exp, pow};
use fanlap::rehearsal::{Rehearsal, TURN, Wetness, rehearse};
use fanlap::report::{outcome, report};
use fanlap::strokes::{Along, Reach, Side};
use fanlap::units::*;
use fanlap::wet::{
    self, Drying, Flow, Layer, Lie, RUN_TRAVEL, SURFACE_TENSION, Stack, levelled_within, levelling_time, sag_limit_at,
};
use glam::DVec2;
use std::time::Instant;

#[track_caller]
fn near(what: &str, given: f64, expected: f64, tolerance: f64) {
    assert!((given - expected).abs() <= tolerance, "{what}: {given}, expected {expected} within {tolerance}");
}

const STANDING: Degrees = Degrees(90.0);

// Laws

/// h = tau0 / (rho g sin theta): T. Mezger, The Rheology Handbook, 3.3.4.2.12d; figures recomputed by hand with rho =
/// 1000 kg/m3.
#[test]
fn the_film_that_holds_goes_by_yield_stress_and_sine_of_the_slope() {
    near("0.5 Pa", wet::sag_limit_of(0.5).0, 51.0, 0.25);
    near("1 Pa", wet::sag_limit_of(1.0).0, 102.0, 0.25);
    let on = |slope| sag_limit_at(Micrometres(102.0), Degrees(slope)).unwrap().0 / 102.0;
    near("standing", on(90.0), 1.0, 1e-12);
    near("30 degrees", on(30.0), 2.0, 1e-9);
    near("10 degrees", on(10.0), 5.76, 0.005);
    assert_eq!(sag_limit_at(Micrometres(102.0), Degrees(0.0)), None);
}

fn newtonian(viscosity: f64, thickens_over: f64) -> Flow {
    Flow { sag_limit: Micrometres(0.0), viscosity: PascalSeconds(viscosity), thickens_over: Seconds(thickens_over) }
}

/// Newtonian drainage rho g h^2 / (2 eta) (textbook, from memory), and the travel derived from it with viscosity that
/// rises as e^(t/T); figures computed apart from the program with g = 9.81.
#[test]
fn speed_and_travel_of_a_film_without_yield_stress() {
    let speed = |viscosity| wet::surface_speed(Micrometres(60.0), PascalSeconds(viscosity), 1.0);
    near("0.1 Pa s", speed(0.1), 176.6, 0.1);
    near("1 Pa s", speed(1.0), 17.66, 0.01);
    near("travel", travel_of_one(newtonian(1.0, 60.0), 60.0, 1.0), 1.06, 0.005);
    assert_eq!(travel_of_one(newtonian(0.1, 600.0), 900.0, 0.0), 0.0);
}

/// A film laid at once.
fn travel_of_one(flow: Flow, film: f64, sine: f64) -> f64 {
    wet::travel([(Micrometres(film), Seconds(0.0), flow)], sine).0
}

/// The travel of a film with a yield stress, against the shear rate (tau - tau0) / eta(t) summed over depth and time.
#[test]
fn travel_above_the_limit_is_the_sum_of_its_shear() {
    let flow = Flow { sag_limit: Micrometres(90.0), viscosity: PascalSeconds(0.4), thickens_over: Seconds(50.0) };
    for (slope, film) in [(90.0, 150.0), (90.0, 91.0), (40.0, 200.0)] {
        let lie = Lie::flat(Degrees(slope));
        let weight = 1000.0 * 9.80665 * lie.sine; // Pa per m of depth
        let yield_stress = 1000.0 * 9.80665 * 90e-6;
        let (depths, moments) = (4000, 4000);
        let depth = film * 1e-6 / depths as f64;
        let shear = |i: usize| (weight * depth * (i as f64 + 0.5) - yield_stress).max(0.0) * depth;
        let through: f64 = (0..depths).map(shear).sum();
        let step = 1000.0 / moments as f64;
        let fluidity: f64 = (0..moments).map(|i| exp(-(i as f64 + 0.5) * step / 50.0) / 0.4 * step).sum();
        let travel = travel_of_one(flow, film, lie.sine);
        near("travel, mm", travel, 1000.0 * through * fluidity, 1e-3 * travel + 1e-7);
        assert!(travel > 0.0);
    }
    assert_eq!(travel_of_one(flow, 89.9, 1.0), 0.0);
    assert_eq!(travel_of_one(flow, 139.0, Lie::flat(Degrees(40.0)).sine), 0.0);
}

/// A run is a travel of 1 mm: less than the 1.6 mm (1/16 in) between the stripes of a sag test (ASTM D4400-99, extracts).
/// With the defaults (120 um, 1 Pa s, 1 min) the film for it, by hand: 120 + sqrt(2 * 1e-3 / (1000 * 9.80665 * 60)) m.
#[test]
fn a_run_takes_a_film_half_above_its_limit() {
    assert_eq!(RUN_TRAVEL.0, 1.0);
    let flow = Job::default().paints[0].flow();
    near("standing", flow.runs_from(1.0).unwrap().0, 120.0 + 58.30, 0.01);
    for sine in [1.0, 0.5, 0.1] {
        near("moves by it", travel_of_one(flow, flow.runs_from(sine).unwrap().0, sine), 1.0, 1e-9);
    }
    assert_eq!(flow.runs_from(0.0), None);
}

/// Speeds of stacks of coats without yield stress on a standing panel, um/s, computed apart from the program by
/// quadrature of the shear: thicknesses, um, and viscosities, Pa s, from the panel outwards (g = 9.81).
#[test]
fn every_coat_of_a_stack_shears_under_all_that_lies_over_it() {
    let stacks: [(&[(f64, f64)], f64); 7] = [
        (&[(60.0, 1.0)], 17.658),
        (&[(30.0, 1.0), (30.0, 1.0)], 17.658),
        (&[(30.0, 10.0), (30.0, 1.0)], 5.739),
        (&[(30.0, 1.0), (30.0, 10.0)], 13.685),
        (&[(50.0, 10.0), (30.0, 1.0)], 7.112),
        (&[(50.0, 100.0), (30.0, 1.0)], 4.684),
        (&[(20.0, 20.0), (30.0, 5.0), (30.0, 1.0)], 7.750),
    ];
    for (coats, speed) in stacks {
        // over a second of e-fold thickening each flows as much as it does at first in a second
        let fresh = |(film, viscosity): &(f64, f64)| (Micrometres(*film), Seconds(0.0), newtonian(*viscosity, 1.0));
        let travel = wet::travel(coats.iter().rev().map(fresh), 1.0).0;
        near(&format!("{coats:?}"), 1000.0 * travel, speed * 9.80665 / 9.81, 2e-3);
    }
}

/// Two coats of 40 um, 1 Pa s that rises e-fold in 60 s, the lower one of some age when the upper one lands: travel of the
/// surface in mm and the one film that flows as far, um, computed apart from the program and equal to its integration over
/// time (g = 9.81).
const AGED: [(f64, f64, f64); 8] = [
    (0.0, 1.8835, 80.0),
    (15.0, 1.5710, 73.1),
    (30.0, 1.3277, 67.2),
    (60.0, 0.9906, 58.0),
    (120.0, 0.6621, 47.4),
    (180.0, 0.5412, 42.9),
    (300.0, 0.4804, 40.4),
    (600.0, 0.4709, 40.0),
];

#[test]
fn a_coat_below_weighs_by_its_age() {
    let flow = newtonian(1.0, 60.0);
    let two = |age: f64| [(Micrometres(40.0), Seconds(0.0), flow), (Micrometres(40.0), Seconds(age), flow)];
    for (age, travel, as_one) in AGED {
        near(&format!("travel over {age} s"), wet::travel(two(age), 1.0).0, travel * 9.80665 / 9.81, 1e-4);
        let mut stack = Stack::default();
        two(age).iter().for_each(|(film, age, flow)| stack.add(*film, *age, flow));
        near(&format!("as one over {age} s"), stack.as_one().0, as_one, 0.05);
        near("and that flows as far", travel_of_one(flow, stack.as_one().0, 1.0), wet::travel(two(age), 1.0).0, 1e-9);
    }
    // a yield stress of the upper coat alone holds it over a set one, of both it holds all
    let held = Flow { sag_limit: Micrometres(50.0), ..flow };
    let with = |age: f64, lower: Flow| {
        wet::travel([(Micrometres(40.0), Seconds(0.0), held), (Micrometres(40.0), Seconds(age), lower)], 1.0).0
    };
    near("one film of 80 um", with(0.0, held), travel_of_one(held, 80.0, 1.0), 1e-12);
    near("and by age", with(60.0, held), exp(-1.0) * travel_of_one(held, 80.0, 1.0), 1e-12);
    assert!(with(1e4, held) < 1e-12 && with(0.0, flow) > 2.0 * with(0.0, held));
}

/// Orchard's time as printed by S. Abbott (Practical Coatings, Levelling), 60 um, 0.5 Pa s, 28 mN/m; figures computed
/// apart from the program.
#[test]
fn millimetres_level_and_overlap_stripes_do_not() {
    let (film, viscosity) = (Micrometres(60.0), PascalSeconds(0.5));
    let time = |mm| levelling_time(Millimetres(mm), film, viscosity, SURFACE_TENSION);
    near("1 mm", time(1.0).0, 0.16, 0.005);
    near("3 mm", time(3.0).0, 12.9, 0.1);
    near("5 mm", time(5.0).0, 99.0, 1.0);
    near("10 mm, min", time(10.0).0 / 60.0, 27.0, 0.7);
    near("125 mm", time(125.0).0 / 3.9e7, 1.0, 0.01);
    for mm in [0.5, 7.0, 125.0] {
        near("and back", levelled_within(time(mm), film, viscosity, SURFACE_TENSION).0 / mm, 1.0, 1e-12);
    }
    // viscosity that rises e-fold over T lets a wave fall to exp(-integral dt / t_1/e(eta)): 1/e where t_1/e(eta0) = T
    let flow = newtonian(0.5, 99.0);
    near("within 99 s of thickening", flow.levels_up_to(film).0, 5.0, 0.02);
}

// Lie

#[test]
fn a_place_lies_as_its_normal_stands_to_the_vertical() {
    let mut panel = Job::default().panel;
    (panel.crown_along.0, panel.crown_across.0) = (120.0, -80.0);
    for slope in [0.0, 10.0, 45.0, 80.0, 90.0] {
        panel.slope.0 = slope;
        for at in [(0.0, 0.0), (300.0, 900.0), (700.0, 550.0), (1400.0, 200.0)].map(DVec2::from) {
            let lie = Lie::new(panel.slope, panel.gradient(at));
            let normal = panel.normal(at);
            let turned = slope.to_radians();
            let upright = normal.y * libm::sin(turned) + normal.z * libm::cos(turned);
            near("sine", lie.sine, libm::sin(acos(upright.min(1.0))), 1e-7);
            // going down the surface loses height as fast as the sine says
            let below = lie.below(at, Millimetres(0.01));
            let height = |at: DVec2| {
                let place = panel.surface(at);
                place.y * libm::sin(turned) + place.z * libm::cos(turned)
            };
            near("fall", (height(at) - height(below)) / 0.01, lie.sine, 1e-4);
        }
    }
    near("the slope of a crown", Lie::new(Degrees(0.0), DVec2::new(0.2, 0.0)).sine, libm::sin(atan2(0.2, 1.0)), 1e-12);
    let door = Lie::flat(STANDING);
    near("a door runs towards its lower edge", door.downhill.y, -1.0, 1e-12);
    assert_eq!(Lie::flat(Degrees(0.0)), Lie { sine: 0.0, downhill: DVec2::ZERO });
}

// Stack

fn drying(open: f64, leaves: f64) -> Drying {
    Drying { open_time: Seconds(open), leaves_over: Seconds(leaves) }
}

#[test]
fn wet_film_is_its_solids_and_what_is_left_of_each_pass_s_solvent() {
    let dries = drying(1e9, 240.0);
    let passes = [(0.0, 20.0), (12.0, 3.0), (600.0, 25.0), (601.0, 7.0)];
    let mut layer = Layer::default();
    assert!(layer.is_bare());
    for (time, dry) in passes {
        layer.lay(Seconds(time), Micrometres(dry), Fraction(0.4), &dries);
    }
    let dry: f64 = passes.iter().map(|(_, dry)| dry).sum();
    for time in [601.0, 700.0, 2000.0, 1e6] {
        let left: f64 = passes.iter().map(|(at, dry)| dry * 1.5 * exp(-(time - at) / 240.0)).sum();
        near("wet", layer.wet(Seconds(time), &dries).0, dry + left, 1e-9);
    }
    near("fresh", layer.fresh().0, layer.wet(Seconds(601.0), &dries).0, 1e-12);
    near("in the end it is dry", layer.wet(Seconds(1e6), &dries).0, dry, 1e-9);
    assert_eq!((layer.age(Seconds(700.0)).0, layer.is_bare()), (99.0, false));
}

// Rehearsals

/// A flat panel on 10 mm cells with coats of whole passes; transfer does not fall with distance.
fn panel(slope: f64, coats: &str) -> Job {
    let text = format!(
        r#"{{ "fanlap_job": 1, "panel": {{ "length_mm": 800, "width_mm": 600, "cell_mm": 10, "slope_deg": {slope} }},
              "gun": {{ "transfer_falls_over_mm": null }}, "coats": [{coats}] }}"#
    );
    Job::read(&text, &Files::none()).unwrap()
}

fn most(values: &[f64]) -> f64 {
    values.iter().copied().fold(0.0, f64::max)
}

/// Wet film of a coat away from the edges, um: the film budget.
fn budget(job: &Job) -> f64 {
    let coat = &job.coats[0];
    1000.0 * job.gun.fluid.cubic_mm_per_s() * job.gun.transfer_efficiency.0
        / (coat.actual_speed().0 * coat.spacing(&job.gun).0)
}

fn cell_at(rehearsal: &Rehearsal, x: f64, y: f64) -> usize {
    let patch = rehearsal.patch();
    let cell = (DVec2::new(x, y) / patch.cell).floor();
    cell.y as usize * patch.columns + cell.x as usize
}

#[test]
fn a_coat_whose_solvent_stays_is_its_dry_film_over_the_solids_everywhere() {
    let mut job = panel(0.0, "{}");
    job.paints[0].solvent_leaves_over.0 = 1e9;
    let rehearsal = rehearse(&job);
    let wetness = Wetness::of(&rehearsal);
    for (wet, dry) in wetness.films[0].most.iter().zip(rehearsal.film(0)) {
        near("wet", *wet, dry / 0.42, 1e-6 * dry);
    }
    let middle = cell_at(&rehearsal, 400.0, 300.0);
    near("the budget", wetness.films[0].most[middle], budget(&job), 0.02 * budget(&job));
}

/// Two coats on a standing panel with this flash-off; what lies in its middle.
struct Two {
    wet: f64,
    when: f64,
    onto_open: f64,
    /// When the first coat's last paint came there, and the second's, s.
    came: (f64, f64),
    rehearsal: Rehearsal,
}

fn two(flash: f64, change: impl Fn(&mut Job)) -> Two {
    let mut job = panel(90.0, "{}, {}");
    job.coats[0].flash.0 = flash;
    job.paints[0].solvent_leaves_over.0 = 4.0;
    change(&mut job);
    let rehearsal = rehearse(&job);
    let middle = cell_at(&rehearsal, 405.0, 305.0);
    let wetness = Wetness::of(&rehearsal);
    let laid = rehearsal.laid_at(DVec2::new(405.0, 305.0), 1e-9);
    let last = |coat: usize| {
        let pass =
            &rehearsal.passes()[laid.iter().rfind(|(pass, _)| rehearsal.passes()[*pass].coat == coat).unwrap().0];
        pass.start.0 + (405.0 - pass.line.from.x).abs() / 500.0
    };
    let film = &wetness.films[0];
    let came = (last(0), last(1));
    Two { wet: film.most[middle], when: film.when[middle], onto_open: wetness.meetings[1].onto_open.0, came, rehearsal }
}

/// h^2 = sum over coats of [(inner face)^2 - (outer face)^2] e^(-age/T), with what the flash-off leaves of the lower coat.
#[test]
fn coats_stack_by_age_and_by_what_the_flash_leaves() {
    let alone = {
        let rehearsal = rehearse(&panel(90.0, "{}"));
        Wetness::of(&rehearsal).films[0].most[cell_at(&rehearsal, 405.0, 305.0)]
    };
    for (flash, thickens) in [(0.0, 1.0), (1.0, 1.0), (3.0, 1.0), (3.0, 20.0), (100.0, 60.0)] {
        let of = two(flash, |job| job.paints[0].thickens_over.0 = thickens);
        let dry = of.rehearsal.film_of_coat(0)[cell_at(&of.rehearsal, 405.0, 305.0)];
        let age = (of.came.1 - of.came.0) / 60.0;
        let below = dry + (alone - dry) * exp(-age / 4.0);
        let expected =
            (alone * alone + ((alone + below) * (alone + below) - alone * alone) * exp(-age / thickens)).sqrt();
        // the passes before the last have lost a little solvent by then
        near(&format!("{flash} min, {thickens} min"), of.wet, expected, 2e-3 * alone);
        assert!(of.when > of.rehearsal.coats()[1].start.0 && of.when <= of.came.1 + 1e-6, "{}", of.when);
    }
    let long = two(100.0, |_| ());
    near("long flash: only itself", long.wet, alone, 1e-9);
}

/// Waiting longer never changes much at once: not at the end of the open time (12 min by default) and not anywhere else.
#[test]
fn no_flash_off_is_a_cliff() {
    let heavy = |job: &mut Job| {
        job.coats.iter_mut().for_each(|coat| coat.speed.0 = 305.0);
        job.paints[0].thickens_over.0 = 2.0;
    };
    let of = |flash: f64| two(flash, heavy);
    for thickens in [1.0, 5.0, 30.0] {
        let of = |flash: f64| two(flash, |job| (heavy(job), job.paints[0].thickens_over.0 = thickens).0).wet;
        let waited: Vec<f64> = [10.5, 11.0, 11.4, 11.6, 12.1, 13.0].into_iter().map(of).collect();
        for pair in waited.windows(2) {
            assert!(pair[1] <= pair[0] && pair[1] > 0.97 * pair[0], "{thickens} min: {waited:?}");
        }
    }
    // what melts together is another question: there the open time decides
    assert_eq!((of(10.0).onto_open, of(13.0).onto_open), (1.0, 0.0));
    let kinds = |flash: f64| -> Vec<DefectKind> {
        let found = defects(&Appraisal::of(of(flash).rehearsal));
        found
            .iter()
            .map(|defect| defect.kind)
            .filter(|kind| matches!(kind, DefectKind::Run | DefectKind::NearRun))
            .collect()
    };
    assert_eq!((kinds(10.5), kinds(11.6)), (vec![], vec![]), "each coat holds by itself, and so do both");
    assert_eq!(kinds(0.0), vec![DefectKind::Run], "wet on wet they run");
}

/// Of three coats the middle one lies in the middle: it carries the uppermost and is carried by the lowest.
#[test]
fn three_coats_lie_in_the_order_in_which_they_came() {
    let coats = r#"{ "flash_min": 1 }, { "amount": 0.4, "flash_min": 4 }, {}"#;
    let mut job = panel(90.0, coats);
    // nothing leaves: a coat is its dry film over the solids
    (job.paints[0].solvent_leaves_over.0, job.paints[0].thickens_over.0) = (240.0, 3.0);
    let rehearsal = rehearse(&job);
    let (film, cell) = (&Wetness::of(&rehearsal).films[0], cell_at(&rehearsal, 405.0, 305.0));
    let laid = rehearsal.laid_at(DVec2::new(405.0, 305.0), 1e-9);
    let coat = |coat: usize| {
        let of_coat = |(pass, _): &&(usize, f64)| rehearsal.passes()[*pass].coat == coat;
        let pass = &rehearsal.passes()[laid.iter().rfind(of_coat).unwrap().0];
        let last = pass.start.0 + (405.0 - pass.line.from.x).abs() / job.coats[coat].actual_speed().0;
        (Micrometres(rehearsal.film_of_coat(coat)[cell] / 0.42), Seconds(film.when[cell] - last), job.paints[0].flow())
    };
    let as_one = |order: [usize; 3]| {
        let mut stack = Stack::default();
        order.into_iter().map(coat).for_each(|(film, age, flow)| stack.add(film, age, &flow));
        stack.as_one().0
    };
    let expected = as_one([2, 1, 0]);
    near("as one", film.most[cell], expected, 0.005 * expected);
    assert!((as_one([2, 0, 1]) / expected - 1.0).abs() > 0.015, "{} and {expected}", as_one([2, 0, 1]));
}

#[test]
fn a_clear_over_a_base_that_has_set_stands_alone() {
    let text = |flash: f64| {
        format!(
            r#"{{ "fanlap_job": 1, "panel": {{ "length_mm": 400, "width_mm": 300, "cell_mm": 20, "slope_deg": 90 }},
                "paints": [ {{ "name": "base", "role": "base", "open_time_min": 5 }}, {{ "name": "tinted" }} ],
                "coats": [ {{ "paint": "base", "flash_min": {flash} }}, {{ "paint": "tinted" }} ] }}"#
        )
    };
    let of = |flash| Wetness::of(&rehearse(&Job::read(&text(flash), &Files::none()).unwrap()));
    let (set, open) = (of(10.0), of(0.2));
    assert!(most(&open.films[1].most) > 1.2 * most(&set.films[1].most));
    near("the base is the same", most(&open.films[0].most), most(&set.films[0].most), 1e-12);
    assert_eq!((set.meetings[1].onto_open.0, open.meetings[1].onto_open.0), (0.0, 1.0));
}

#[test]
fn nothing_runs_on_a_level_panel() {
    let job = panel(0.0, r#"{ "speed_mm_per_s": 50, "amount": 3, "edge_pass": true }"#);
    let wetness = Wetness::of(&rehearse(&job));
    assert!(most(&wetness.films[0].most) > 2000.0);
    assert!(wetness.films[0].times_limit.iter().all(|times| *times == 0.0));
    assert!(wetness.films[0].runs.is_empty());
}

#[test]
fn a_door_runs_where_the_pass_around_the_rim_and_the_lines_come_together() {
    let mut job = panel(90.0, r#"{ "speed_mm_per_s": 300, "overlap": 0.5, "edge_pass": true, "margin_mm": 125 }"#);
    (job.paints[0].sag_limit.0, job.paints[0].viscosity.0) = (1.25 * budget(&job), 0.5);
    let rehearsal = rehearse(&job);
    let film = &Wetness::of(&rehearsal).films[0];
    assert!(!film.runs.is_empty());
    let to_rim = |at: DVec2| at.min(DVec2::new(800.0, 600.0) - at).min_element();
    let half_fan = job.gun.fan_width.0 / 2.0;
    for run in &film.runs {
        for cell in &run.cells {
            let at = rehearsal.patch().centre(cell % rehearsal.patch().columns, cell / rehearsal.patch().columns);
            assert!(to_rim(at) < half_fan, "runs at {at}");
        }
        near("worst", run.wet.0 / job.paints[0].sag_limit.0, run.times_limit, 1e-12);
        near("straight down", (run.to - run.from - DVec2::new(0.0, -run.travel.0)).length(), 0.0, 1e-9);
        assert!(run.travel.0 >= 1.0 && run.from.cmpge(run.area.least).all() && run.from.cmple(run.area.most).all());
    }
    assert!(film.runs.windows(2).all(|pair| pair[0].travel.0 >= pair[1].travel.0));
    near("the longest of all is the first", film.runs[0].travel.0, most(&film.travel), 0.0);
    let running = film.travel.iter().filter(|travel| **travel >= 1.0).count();
    assert_eq!(running, film.runs.iter().map(|run| run.cells.len()).sum::<usize>());
    // around what runs the film is over its limit too: that is no place near its limit
    assert!(running < film.times_limit.iter().filter(|times| **times > 1.0).count());
    assert!(film.near_limit.iter().flat_map(|place| &place.cells).all(|cell| film.travel[*cell] < 1.0));

    job.coats[0].edge_pass = false;
    let film = &Wetness::of(&rehearse(&job)).films[0];
    assert!(film.runs.is_empty() && film.near_limit.is_empty(), "without the rim's pass nothing runs");
}

/// One coat on a standing panel at this speed, and the kinds of finding of its wet film.
fn one_coat(speed: f64) -> (WetFigures, Vec<DefectKind>) {
    let mut job = panel(90.0, r#"{ "overlap": 0.5, "margin_mm": 125 }"#);
    job.coats[0].speed.0 = speed;
    let appraisal = appraise(&job);
    let kinds = defects(&appraisal).into_iter().map(|defect| defect.kind);
    let kinds = kinds.filter(|kind| matches!(kind, DefectKind::Run | DefectKind::NearRun)).collect();
    (appraisal.wet(0), kinds)
}

/// The way of one coat's film by rho g (h - 120 um)^2 T / (2 eta), with the defaults in SI units: 1 Pa s, T = 60 s. What is
/// a hundredth or a tenth over its limit hardly moves and is no run.
#[test]
fn a_run_is_told_by_how_far_it_moves() {
    let travel = |h: f64| 1000.0 * 9.80665 * pow(1e-6 * (h - 120.0), 2.0) * 60.0 / 2.0 * 1000.0;
    let figures = |speed: f64| {
        let (wet, kinds) = one_coat(speed);
        near("times", wet.times_sag_limit, wet.max_um / 120.0, 1e-9);
        (wet.max_um, wet.runs, wet.near_limit, wet.longest_run_mm, kinds)
    };
    let (most, runs, near_limit, longest, kinds) = figures(147.0);
    assert!(most < 120.0 && (runs, near_limit, longest) == (0, 0, 0.0) && kinds.is_empty(), "{most}");
    let (most, runs, near_limit, longest, kinds) = figures(140.0);
    assert!((122.0..130.0).contains(&most) && travel(most) < 0.05, "{most}");
    assert!((runs, longest) == (0, 0.0) && near_limit >= 1 && kinds == [DefectKind::NearRun], "{most}: {kinds:?}");
    let (most, runs, near_limit, longest, kinds) = figures(80.0);
    assert!(travel(most) > 1.0 && runs >= 1 && near_limit == 0 && kinds == [DefectKind::Run], "{most}: {kinds:?}");
    near("longest", longest, travel(most), 1e-9 * travel(most));
}

/// A run has a number below its limit too, or no cause could be found by making it less.
#[test]
fn what_is_measured_of_a_run_grows_with_the_film_without_a_step() {
    let of = |speed: f64| {
        let mut job = panel(90.0, r#"{ "overlap": 0.5, "margin_mm": 125 }"#);
        job.coats[0].speed.0 = speed;
        let appraisal = appraise(&job);
        let of = |kind| measure(&appraisal).into_iter().find(|defect| defect.kind == kind).unwrap().severity;
        let film = &appraisal.wetness().films[0];
        (most(&film.most), most(&film.travel), of(DefectKind::Run), of(DefectKind::NearRun))
    };
    let runs_from = Job::default().paints[0].flow().runs_from(1.0).unwrap().0;
    let mut before = 0.0;
    for film in [40.0, 80.0, 118.0, 122.0, 150.0, 175.0, 182.0, 230.0] {
        let (film, travel, run, near_run) = of(34667.0 / 2.0 / film);
        near("below a run its film, then its way", run, if travel < 1.0 { film / runs_from } else { travel }, 1e-9);
        near("near it", near_run, film / 120.0, 1e-9);
        assert!(run > before);
        before = run;
    }
    let job = panel(0.0, "{}");
    let kinds: Vec<DefectKind> = measure(&appraise(&job)).iter().map(|defect| defect.kind).collect();
    assert!(
        !kinds.contains(&DefectKind::Run) && !kinds.contains(&DefectKind::NearRun),
        "nothing runs on a level panel"
    );
}

/// Every coat of a stack flows by its own paint, and the uppermost is added first.
#[test]
fn paints_in_one_stack_flow_each_by_its_own() {
    let text = r#"{ "fanlap_job": 1, "panel": { "length_mm": 800, "width_mm": 600, "cell_mm": 10, "slope_deg": 60 },
        "gun": { "transfer_falls_over_mm": null },
        "paints": [ { "name": "base", "role": "base", "solids_by_volume": 0.3, "sag_limit_um_wet": 50,
                      "viscosity_pa_s": 0.3, "thickens_over_min": 3, "solvent_leaves_over_min": 2 },
                    { "name": "tinted", "sag_limit_um_wet": 90, "viscosity_pa_s": 2 } ],
        "coats": [ { "paint": "base", "flash_min": 1 }, { "paint": "tinted", "speed_mm_per_s": 300 } ] }"#;
    let job = Job::read(text, &Files::none()).unwrap();
    let rehearsal = rehearse(&job);
    let wetness = Wetness::of(&rehearsal);
    let cell = cell_at(&rehearsal, 405.0, 305.0);
    let film = &wetness.films[1];
    // when the last of what counts came, the base was so old
    let dry = rehearsal.film_of_coat(0)[cell];
    let fresh = wetness.films[0].most[cell];
    let age = film.when[cell] - wetness.films[0].when[cell];
    assert!(age > 60.0 && age < 200.0, "{age}");
    let below = dry + (fresh - dry) * exp(-age / 120.0);
    let top = rehearsal.film_of_coat(1)[cell] / 0.42;
    let flow = |paint: usize| job.paints[paint].flow();
    let stack = [(top, 0.0, flow(1)), (below, age, flow(0))];
    let stack = stack.map(|(film, age, flow)| (Micrometres(film), Seconds(age), flow));
    let travel = wet::travel(stack, Lie::flat(Degrees(60.0)).sine).0;
    // the first passes of each coat have lost a little solvent by the last
    near("travel", film.travel[cell] / travel, 1.0, 0.1);
    let swapped = wet::travel([stack[1], stack[0]], Lie::flat(Degrees(60.0)).sine).0;
    assert!((swapped / travel - 1.0).abs() > 0.5 && travel > 0.1, "{travel}, {swapped}");
}

#[test]
fn limits_scale_with_one_over_the_sine() {
    let times = |slope| Wetness::of(&rehearse(&panel(slope, "{}"))).films.remove(0).times_limit;
    let (standing, sloping, steep) = (times(90.0), times(30.0), times(10.0));
    for cell in 0..standing.len() {
        near("30 degrees", sloping[cell] * 2.0, standing[cell], 1e-9);
        near("10 degrees", steep[cell] * 5.7588, standing[cell], 1e-4);
    }
    // on a crowned panel each place has its own
    let mut job = panel(40.0, "{}");
    job.panel.crown_across.0 = 60.0;
    let rehearsal = rehearse(&job);
    let film = &Wetness::of(&rehearsal).films[0];
    for y in [5.0, 300.0, 595.0] {
        let cell = cell_at(&rehearsal, 400.0, y);
        let gradient = job.panel.gradient(rehearsal.patch().centre(40, (y / 10.0) as usize));
        let slope = 40.0 + atan2(gradient.y, 1.0).to_degrees();
        let limit = sag_limit_at(job.paints[0].sag_limit, Degrees(slope)).unwrap().0;
        near("the place's own limit", film.times_limit[cell], film.most[cell] / limit, 1e-9);
    }
}

// Wet edge

/// Duration of a pass along the length, which opens 150 mm before the panel and closes 150 mm after it, s.
const LONG_PASS: f64 = (800.0 + 300.0) / 500.0;

#[test]
fn from_one_side_the_gap_is_the_way_to_the_turn_and_back() {
    let coat = r#"{ "overlap": 0.5, "speed_mm_per_s": 500 }"#;
    let rehearsal = rehearse(&panel(0.0, coat));
    let film = &Wetness::of(&rehearsal).films[0];
    for x in [5.0, 205.0, 395.0, 605.0, 795.0] {
        let farther = 150.0 + f64::max(x, 800.0 - x);
        let cell = cell_at(&rehearsal, x, 305.0);
        let [to_right, to_left] = [150.0 + 800.0 - x, 150.0 + x].map(|way| 2.0 * way / 500.0 + TURN.0);
        let gap = film.gap[cell];
        assert!((gap - to_right).abs() < 1e-6 || (gap - to_left).abs() < 1e-6, "{x}: {gap}");
        // between lines that both lay there one of the two turns is met; over the panel the longer one is too
        let column = (0..60).map(|row| film.gap[row * 80 + (x / 10.0) as usize]);
        near("the longer way", column.fold(0.0, f64::max), 2.0 * farther / 500.0 + TURN.0, 1e-6);
    }
    let middle = cell_at(&rehearsal, 405.0, 305.0);
    near("a pass and a turn in the middle", film.gap[middle], LONG_PASS + TURN.0, 0.03);
}

#[test]
fn along_the_width_too() {
    let mut job = panel(0.0, r#"{ "overlap": 0.5, "speed_mm_per_s": 500 }"#);
    job.coats[0].along = Along::Width;
    let rehearsal = rehearse(&job);
    let film = &Wetness::of(&rehearsal).films[0];
    near("a pass and a turn", film.gap[cell_at(&rehearsal, 405.0, 305.0)], 900.0 / 500.0 + TURN.0, 0.03);
}

#[test]
fn where_two_reaches_meet_the_gap_is_the_time_between_their_lines() {
    let mut job = panel(0.0, r#"{ "overlap": 0.5, "speed_mm_per_s": 100 }"#);
    job.coats[0].reach = Reach::BothSides;
    let rehearsal = rehearse(&job);
    let last_of = |side| rehearsal.passes().iter().rfind(|pass| pass.line.side == side).unwrap();
    let (near_line, far_line) = (last_of(Side::Near), last_of(Side::Far));
    let between = 0.5 * (near_line.line.from.y + far_line.line.from.y);
    near("neighbours", (far_line.line.from.y - near_line.line.from.y).abs(), 125.0, 1e-9);
    let passes_at = |pass: &fanlap::rehearsal::Pass, x: f64| pass.start.0 + (x - pass.line.from.x).abs() / 100.0;
    let film = &Wetness::of(&rehearsal).films[0];
    for x in [105.0, 405.0, 705.0] {
        let expected = passes_at(far_line, x) - passes_at(near_line, x);
        assert!(expected > 30.0);
        near("gap", film.gap[cell_at(&rehearsal, x, between)], expected, 1e-6);
    }
    // a paint that is open for less loses its edge there, in the report and in words, and one that is open for longer keeps it
    let of = |open: f64| {
        let mut job = job.clone();
        job.paints[0].open_time.0 = open / 60.0;
        let report = report(&appraise(&job));
        (report.wet["tinted"].clone(), outcome(&job, &report, System::Metric))
    };
    let worst = most(&film.gap);
    let (lost, said) = of(worst - 1.0);
    near("worst gap", lost.worst_gap_s, worst, 0.0);
    assert!(lost.edge_lost > 0.0 && lost.edge_lost < 0.3 && said.contains("wet edge"), "{said}");
    let (kept, said) = of(worst + 1.0);
    assert!(kept.edge_lost == 0.0 && !said.contains("wet edge"), "{said}");
}

/// The share is of the whole panel: what was never sprayed counts as kept.
#[test]
fn the_share_that_lost_its_edge_is_of_the_whole_panel() {
    let share = |samples: &str| {
        let coat = format!(r#"{{ "overlap": 0.5, "track": {{ "samples": [{samples}] }} }}"#);
        let mut job = panel(0.0, &coat);
        job.paints[0].open_time.0 = 0.5;
        let appraisal = appraise(&job);
        let film = appraisal.film(0);
        (appraisal.wet(0).edge_lost, film.iter().filter(|film| **film > 0.0).count() as f64 / film.len() as f64)
    };
    // the same line twice, a minute apart, over the lower part of the panel
    let twice = "[0, -150, 100, 180, 0, 0, 1], [2, 950, 100, 180, 0, 0, 0], \
                 [60, -150, 100, 180, 0, 0, 1], [62, 950, 100, 180, 0, 0, 0]";
    let (lost, sprayed) = share(twice);
    assert!(sprayed > 0.3 && sprayed < 0.5, "{sprayed}");
    // all that it sprayed but the fan's thin end, of the whole panel
    assert!(lost <= sprayed && lost > 0.75 * sprayed, "{lost} of {sprayed}");
}

/// Walking round lies in the gap of the middle and in all times after it, and nowhere in the film.
#[test]
fn walking_round_widens_the_gap_in_the_middle_by_itself() {
    let of = |walk: f64, slope: f64| {
        let mut job = panel(slope, r#"{ "overlap": 0.5, "reach": "both_sides" }"#);
        job.hand.walk_round.0 = walk;
        let rehearsal = rehearse(&job);
        let lines = rehearsal.passes().iter().filter(|pass| pass.line.side == Side::Near).count();
        let (last, first) = (&rehearsal.passes()[lines - 1], &rehearsal.passes()[lines]);
        let middle = 0.5 * (last.line.from.y + rehearsal.passes().last().unwrap().line.from.y);
        let gap = Wetness::of(&rehearsal).films[0].gap[cell_at(&rehearsal, 405.0, middle)];
        let walks: Vec<bool> = (0..rehearsal.passes().len()).map(|pass| rehearsal.walks_round_after(pass)).collect();
        let walks: Vec<usize> = (0..walks.len()).filter(|pass| walks[*pass]).collect();
        (gap, first.start.0 - last.end.0, rehearsal.total().0, rehearsal.film(0), (walks, lines - 1))
    };
    let (gap, turn, total, film, _) = of(0.0, 0.0);
    near("a turn at least", turn, TURN.0, 1e-9);
    let usual = Job::default().hand.walk_round.0;
    assert_eq!(usual, 8.0);
    for walk in [usual, 25.0] {
        let (wider, turn, longer, same, (walks, last)) = of(walk, 0.0);
        near("walks round", turn, walk, 1e-9);
        near("gap", wider - gap, walk - TURN.0, 1e-6);
        near("total", longer - total, walk - TURN.0, 1e-9);
        assert!(same == film && walks == [last], "{walks:?}");
    }
    let (_, turn, _, _, (walks, _)) = of(usual, 90.0);
    near("nobody goes behind a door", turn, TURN.0, 1e-9);
    assert!(walks.is_empty());
}

#[test]
fn a_pass_that_lays_less_than_a_tenth_of_the_film_is_no_neighbour() {
    let rehearsal = rehearse(&panel(0.0, r#"{ "overlap": 0.7, "speed_mm_per_s": 200 }"#));
    let (film, gap) = (rehearsal.film_of_coat(0), &Wetness::of(&rehearsal).films[0].gap);
    let x = 205.0;
    let gap_with = |share: f64, y: f64| {
        let of = |(index, _): &(usize, f64)| {
            let pass = &rehearsal.passes()[*index];
            pass.start.0 + (x - pass.line.from.x).abs() / 200.0
        };
        let whole = film[cell_at(&rehearsal, x, y)];
        let times: Vec<f64> = rehearsal.laid_at(DVec2::new(x, y), share * whole).iter().map(of).collect();
        times.windows(2).map(|pair| pair[1] - pair[0]).fold(0.0, f64::max)
    };
    let rows: Vec<f64> = (0..60).map(|row| 10.0 * f64::from(row) + 5.0).collect();
    for y in &rows {
        near("gap", gap[cell_at(&rehearsal, x, *y)], gap_with(0.1, *y), 1e-6);
    }
    // the share matters here
    assert!([0.07, 0.14].iter().all(|share| rows.iter().any(|y| gap_with(*share, *y) != gap_with(0.1, *y))));
}

#[test]
fn a_slowing_hand_passes_later() {
    let mut job = panel(0.0, r#"{ "overlap": 0.5, "speed_mm_per_s": 500 }"#);
    let gap_at = |job: &Job, x: f64| {
        let rehearsal = rehearse(job);
        Wetness::of(&rehearsal).films[0].gap[cell_at(&rehearsal, x, 305.0)]
    };
    let even = gap_at(&job, 405.0);
    job.hand.slow_at_ends.0 = 0.5;
    let slowed = rehearse(&job).passes()[0].stroke.duration().0 - LONG_PASS;
    assert!(slowed > 0.1);
    near("half of each end's delay twice", gap_at(&job, 405.0) - even, slowed, 0.03);
}

// Whole jobs

#[test]
fn finer_cells_change_little() {
    let of = |cell: f64| {
        let mut job = EXAMPLES[1].job();
        job.panel.cell.0 = cell;
        (job.paints[0].sag_limit.0, job.paints[0].viscosity.0) = (45.0, 0.1);
        report(&appraise(&job)).wet["ember"].clone()
    };
    let (coarse, fine) = (of(10.0), of(5.0));
    assert!(fine.runs > 0);
    near("most", coarse.max_um / fine.max_um, 1.0, 0.01);
    near("times the limit", coarse.times_sag_limit / fine.times_sag_limit, 1.0, 0.01);
    near("longest run", coarse.longest_run_mm / fine.longest_run_mm, 1.0, 0.06);
    // the gap is greatest at the very end of a pass, which is half a cell nearer on coarse ones
    near("gap", coarse.worst_gap_s, fine.worst_gap_s, 2.0 * 5.0 / 340.0);
}

#[test]
fn a_job_without_coats_has_no_wet_film() {
    let job = panel(90.0, "");
    let report = report(&appraise(&job));
    assert_eq!(report.wet["tinted"], Default::default());
    let said = outcome(&job, &report, System::Metric);
    assert!(!said.contains("runs at") && !said.contains("wet edge"));
}

#[test]
fn the_report_and_the_words_say_what_runs() {
    for example in EXAMPLES {
        let mut job = example.job();
        let said = |job: &Job| {
            let report = report(&appraise(job));
            (outcome(job, &report, System::Metric), report.wet[&job.paints[0].name].clone())
        };
        let (words, wet) = said(&job);
        assert!(wet.runs == 0 && wet.worst_run.is_none() && wet.longest_run_mm == 0.0 && wet.near_limit == 0);
        assert!(!words.contains("runs at") && !words.contains("near its limit"), "{words}");
        job.panel.slope.0 = 90.0;
        let most = wet.max_um;
        (job.paints[0].sag_limit.0, job.paints[0].viscosity.0) = (most / 1.2, 5.0);
        let (words, wet) = said(&job);
        assert!(wet.runs == 0 && wet.near_limit > 0 && !words.contains("runs at"), "{words}");
        let times = format!("{:.1} times the sag limit at that slope, but moves less than", wet.times_sag_limit);
        assert!(words.contains("near its limit at ") && words.contains(&times), "{words}");
        (job.paints[0].sag_limit.0, job.paints[0].viscosity.0) = (most / 2.0, 0.1);
        let (words, wet) = said(&job);
        near("times", wet.times_sag_limit, 2.0, 0.1);
        let (worst, wetness) = (wet.worst_run.unwrap(), Wetness::of(&rehearse(&job)));
        let run = &wetness.films[0].runs[0];
        assert_eq!((worst.wet_um, worst.times_sag_limit), (run.wet.0, run.times_limit));
        let told =
            format!("the wet film is {:.1} \u{b5}m, {:.1} times the sag limit", worst.wet_um, worst.times_sag_limit);
        assert!(words.contains("runs at ") && words.contains(&told) && !words.contains("near its limit"), "{words}");
    }
}

/// The times of a paint are minutes in its file and seconds in the laws.
#[test]
fn minutes_of_a_paint_become_seconds() {
    let paint = &Job::default().paints[0];
    assert_eq!(paint.flow().thickens_over, Seconds(60.0));
    assert_eq!((paint.drying().open_time, paint.drying().leaves_over), (Seconds(720.0), Seconds(240.0)));
    let appraisal = appraise(&panel(0.0, "{}"));
    let mean = appraisal.wetness().films[0].most.iter().sum::<f64>() / 4800.0;
    // eta lambda^4 with 28 mN/m and h^3, by hand: lambda = 2 pi (T sigma h^3 / (3 eta))^(1/4)
    let by_hand = std::f64::consts::TAU * pow(60.0 * 28e-3 * pow(1e-6 * mean, 3.0) / 3.0, 0.25) * 1000.0;
    near("levels", appraisal.wet(0).levels_up_to_mm, by_hand, 1e-9);
}

/// A job file of before these inputs were there reads as ever, and takes the defaults, which are assumptions.
#[test]
fn an_older_paint_takes_the_defaults() {
    let text = r#"{ "fanlap_job": 1, "paints": [ { "name": "tinted", "sag_limit_um_wet": 90, "open_time_min": 7 } ] }"#;
    let paint = &Job::read(text, &Files::none()).unwrap().paints[0];
    assert_eq!((paint.sag_limit.0, paint.open_time.0), (90.0, 7.0));
    assert_eq!((paint.solvent_leaves_over.0, paint.viscosity.0, paint.thickens_over.0), (4.0, 1.0, 1.0));
}

// Connected places

#[test]
fn places_hang_together_by_their_sides() {
    let mut panel = Job::default().panel;
    (panel.length.0, panel.width.0, panel.cell.0) = (200.0, 120.0, 20.0);
    let patch = panel.cells();
    assert_eq!((patch.columns, patch.rows), (10, 6));
    let drawn = |rows: [&str; 6]| places_of(&patch, |cell| rows[cell / 10].as_bytes()[cell % 10] == b'#');
    let places = drawn([
        "..........", //
        ".###...#..",
        ".#.#....#.",
        ".#.##.....",
        ".#......##",
        "..........",
    ]);
    let sizes: Vec<usize> = places.iter().map(|place| place.cells.len()).collect();
    assert_eq!(sizes, [8 + 1, 1, 1, 2]);
    let first = &places[0];
    assert_eq!((first.window.column, first.window.row, first.window.columns, first.window.rows), (1, 1, 4, 4));
    assert_eq!((first.area.least, first.area.most), (DVec2::new(20.0, 20.0), DVec2::new(100.0, 100.0)));
    assert_eq!(first.most(|cell| cell as f64), 41);
    // the end of a row does not touch the beginning of the next
    assert_eq!(drawn(["..........", ".........#", "#.........", "..........", "..........", ".........."]).len(), 2);
    assert_eq!(places_of(&patch, |cell| (cell / 10 + cell % 10) % 2 == 0).len(), 30);
    assert_eq!(places_of(&patch, |_| true).len(), 1);
    assert!(places_of(&patch, |_| false).is_empty());
}

/// How long it takes on the bonnet: `cargo test --release --test wet -- --ignored --nocapture`.
#[test]
#[ignore = "prints times"]
fn timing() {
    for example in EXAMPLES {
        let rehearsal = rehearse(&example.job());
        let mut times: Vec<f64> = (0..15)
            .map(|_| {
                let start = Instant::now();
                std::hint::black_box(Wetness::of(&rehearsal));
                start.elapsed().as_secs_f64() * 1000.0
            })
            .collect();
        times.sort_by(f64::total_cmp);
        println!("{}: {:.1} ms (least {:.1}, most {:.1})", example.name, times[7], times[0], times[14]);
        println!("{:#?}", Appraisal::of(rehearsal).wet(0));
    }
}
