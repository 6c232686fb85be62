//! The wet film: published laws and their figures, stacks of coats, what runs on a standing panel, wet edges, and what
//! the report says of them. Does not know painted panels: nothing here was measured on one.

use fanlap::appraisal::places_of;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::inputs::System;
use fanlap::job::{Files, Job};
use fanlap::maths::{acos, atan2, exp};
use fanlap::rehearsal::{Rehearsal, TURN, Wetness, rehearse};
use fanlap::report::report;
use fanlap::strokes::{Along, Reach, Side};
use fanlap::units::*;
use fanlap::wet::{self, Drying, Flow, Lie, SURFACE_TENSION, Stack, levelled_within, levelling_time, sag_limit_at};
use fanlap::words::outcome;
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
    let standing = Lie::flat(STANDING);
    let speed = |viscosity| wet::surface_speed(Micrometres(60.0), PascalSeconds(viscosity), &standing);
    near("0.1 Pa s", speed(0.1), 176.6, 0.1);
    near("1 Pa s", speed(1.0), 17.66, 0.01);
    near("travel", newtonian(1.0, 60.0).travel(Micrometres(60.0), &standing).0, 1.06, 0.005);
    assert_eq!(newtonian(0.1, 600.0).travel(Micrometres(900.0), &Lie::flat(Degrees(0.0))).0, 0.0);
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
        let travel = flow.travel(Micrometres(film), &lie).0;
        near("travel, mm", travel, 1000.0 * through * fluidity, 1e-3 * travel + 1e-7);
        assert!(travel > 0.0);
    }
    assert_eq!(flow.travel(Micrometres(89.9), &Lie::flat(STANDING)).0, 0.0);
    assert_eq!(flow.travel(Micrometres(139.0), &Lie::flat(Degrees(40.0))).0, 0.0);
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

fn lay(stack: &mut Stack, time: f64, dry: f64, solids: f64, drying: Drying) -> f64 {
    stack.lay(Seconds(time), Micrometres(dry), Fraction(solids), drying).0
}

#[test]
fn wet_film_is_its_solids_and_what_is_left_of_each_coats_solvent() {
    let dries = drying(1e9, 240.0);
    let coats = [(0.0, 20.0), (12.0, 3.0), (600.0, 25.0), (601.0, 7.0)];
    let mut stack = Stack::default();
    for (time, dry) in coats {
        lay(&mut stack, time, dry, 0.4, dries);
    }
    let dry: f64 = coats.iter().map(|(_, dry)| dry).sum();
    for time in [601.0, 700.0, 2000.0, 1e6] {
        let left: f64 = coats.iter().map(|(at, dry)| dry * 1.5 * exp(-(time - at) / 240.0)).sum();
        near("wet", stack.wet(Seconds(time)).0, dry + left, 1e-9);
    }
    near("solids", stack.solids().0, dry, 1e-12);
    near("in the end it is dry", stack.wet(Seconds(1e6)).0, dry, 1e-9);
}

#[test]
fn a_long_flash_leaves_solids_and_no_flash_leaves_all() {
    let second_after = |flash: f64, open: f64| {
        let mut stack = Stack::default();
        lay(&mut stack, 0.0, 20.0, 0.4, drying(open, 60.0));
        let below = lay(&mut stack, flash, 20.0, 0.4, drying(open, 60.0));
        (below, stack.fresh().0)
    };
    let (below, both) = second_after(0.0, 1e9);
    near("no flash: all of both", both, 100.0, 1e-9);
    near("no flash: all below", below, 50.0, 1e-9);
    near("long flash: solids below", second_after(6000.0, 1e9).1, 70.0, 1e-9);
    // once the first has set, it carries no run
    assert_eq!(second_after(720.0, 720.0).0, 20.0 + 30.0 * exp(-12.0));
    assert_eq!(second_after(720.1, 720.0), (0.0, 50.0));
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

#[test]
fn coats_stack_by_what_the_flash_leaves() {
    let of_two = |flash: f64, open: f64| {
        let mut job = panel(90.0, "{}, {}");
        (job.coats[0].flash.0, job.paints[0].open_time.0) = (flash, open);
        job.paints[0].solvent_leaves_over.0 = 4.0;
        let rehearsal = rehearse(&job);
        let middle = cell_at(&rehearsal, 400.0, 300.0);
        let wetness = Wetness::of(&rehearsal);
        (wetness.films[0].most[middle], wetness.meetings[1].onto_open.0, wetness.films[0].when[middle], rehearsal)
    };
    let mut one = panel(90.0, "{}");
    one.paints[0].solvent_leaves_over.0 = 4.0;
    let one = rehearse(&one);
    let alone = Wetness::of(&one).films[0].most[cell_at(&one, 400.0, 300.0)];
    let dry = one.film(0)[cell_at(&one, 400.0, 300.0)];
    let (wet, onto_open, when, rehearsal) = of_two(100.0, 200.0);
    near("long flash, still open: the solids below", wet, alone + dry, 1e-6);
    assert_eq!(onto_open, 1.0);
    assert!(when > rehearsal.coats()[1].start.0 && when < rehearsal.coats()[1].end.0, "{when}");
    let (wet, onto_open, ..) = of_two(100.0, 50.0);
    near("set: only itself", wet, alone, 1e-9);
    assert_eq!(onto_open, 0.0);
    let (wet, ..) = of_two(0.0, 200.0);
    assert!(wet > 1.85 * alone && wet < 2.0 * alone, "no flash: nearly both, {wet} of {alone}");
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
    let (set, open) = (of(10.0), of(1.0));
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
    job.paints[0].sag_limit.0 = 1.25 * budget(&job);
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
        assert!(run.travel.0 > 0.0 && run.from.cmpge(run.area.least).all() && run.from.cmple(run.area.most).all());
    }
    assert!(film.runs.windows(2).all(|pair| pair[0].times_limit >= pair[1].times_limit));
    near("the worst of all is the first", film.runs[0].times_limit, most(&film.times_limit), 0.0);
    let rim = film.times_limit.iter().filter(|times| **times > 1.0).count();
    assert_eq!(rim, film.runs.iter().map(|run| run.cells.len()).sum::<usize>());

    job.coats[0].edge_pass = false;
    assert!(Wetness::of(&rehearse(&job)).films[0].runs.is_empty(), "without the rim's pass nothing runs");
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
        let report = report(&rehearse(&job));
        (report.wet["tinted"].clone(), outcome(&job, &report, System::Metric))
    };
    let worst = most(&film.gap);
    let (lost, said) = of(worst - 1.0);
    near("worst gap", lost.worst_gap_s, worst, 0.0);
    assert!(lost.edge_lost > 0.0 && lost.edge_lost < 0.3 && said.contains("wet edge"), "{said}");
    let (kept, said) = of(worst + 1.0);
    assert!(kept.edge_lost == 0.0 && !said.contains("wet edge"), "{said}");
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
        job.paints[0].sag_limit.0 = 60.0;
        report(&rehearse(&job)).wet["ember"].clone()
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
    let report = report(&rehearse(&job));
    assert_eq!(report.wet["tinted"], Default::default());
    let said = outcome(&job, &report, System::Metric);
    assert!(!said.contains("runs at") && !said.contains("wet edge"));
}

#[test]
fn the_report_and_the_words_say_what_runs() {
    for example in EXAMPLES {
        let mut job = example.job();
        let said = |job: &Job| {
            let report = report(&rehearse(job));
            (outcome(job, &report, System::Metric), report.wet[&job.paints[0].name].clone())
        };
        let (words, wet) = said(&job);
        assert!(wet.runs == 0 && wet.worst_run.is_none() && wet.longest_run_mm == 0.0 && !words.contains("runs at"));
        assert!(wet.levels_up_to_mm > 1.0 && wet.levels_up_to_mm < 15.0, "{}", wet.levels_up_to_mm);
        job.panel.slope.0 = 90.0;
        job.paints[0].sag_limit.0 = 0.5 * wet.max_um;
        let (words, wet) = said(&job);
        assert!(wet.runs > 0 && words.contains("runs at"), "{words}");
        near("times", wet.times_sag_limit, 2.0, 0.1);
        let (worst, wetness) = (wet.worst_run.unwrap(), Wetness::of(&rehearse(&job)));
        assert_eq!(worst.wet_um, wetness.films[0].runs[0].wet.0);
    }
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
        println!("{:#?}", report(&rehearsal).wet);
    }
}
