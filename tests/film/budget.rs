//! The film budget: spreading rates, the mean film far from edges, and what doubling does.

use crate::common::*;
use fanlap::rehearsal::rehearse;
use fanlap::units::{ML_PER_OUNCE, MM_PER_INCH, Micrometres, UM_PER_MIL};

/// One US gallon, mm^3.
fn gallon() -> f64 {
    128.0 * ML_PER_OUNCE * 1000.0
}

/// One square foot, mm^2.
fn square_foot() -> f64 {
    (12.0 * MM_PER_INCH) * (12.0 * MM_PER_INCH)
}

#[test]
fn a_gallon_covers_1604_square_feet_at_one_mil() {
    // Wet film formulae (GEI): 1604.17 ft^2 mil per US gallon.
    assert_near("ft2 mil / gal", gallon() / (UM_PER_MIL / 1000.0) / square_foot(), 1604.17, 0.01);
    assert_near("a mil of film, um", Micrometres(25.4).mil(), 1.0, 1e-12);
}

/// Square millimetres that a rehearsed interior gets from a cubic millimetre of wet paint, at a dry film, um.
fn spreading_rate(solids: f64, film: f64) -> f64 {
    let mut job = flat(200.0, 1000.0);
    job.paints[0].solids_by_volume.0 = solids;
    job.coats[0].margin.0 = 125.0;
    job.coats[0].lead.0 = 100.0;
    job.coats[0].speed.0 *= middle_mean(&job) / film;
    let rehearsal = rehearse(&job);
    let dry = mean(&rehearsal.film(0));
    // all of this panel is far from the ends of lines: its volume over its area is the film's own
    assert_ratio("film aimed at", dry, film, 2e-3);
    let area = job.panel.length.0 * job.panel.width.0;
    area / (rehearsal.accounts()[0].on_panel.0 * 1000.0) * dry / film
}

#[test]
fn rehearsed_paint_spreads_as_the_inspectors_table_says() {
    // Printed for 65 % solids: 208.52 ft^2 per US gallon at 5.0 mil, 5.2 m^2 per litre at 125 um (spreading-rate
    // sheet, scribd 343849341).
    let imperial = spreading_rate(0.65, 5.0 * UM_PER_MIL) * gallon() / square_foot();
    // 0.03: the print is 1604 x 0.65 / 5, its constant rounded from 1604.17
    assert_near("ft2 / gal", imperial, 208.52, 0.03);
    assert_near("ft2 / gal, exact constant", imperial, 1604.1667 * 0.65 / 5.0, 0.001);
    let metric = spreading_rate(0.65, 125.0);
    // a square metre per litre is a square millimetre per cubic millimetre
    assert_near("m2 / L", metric, 5.2, 0.001);
}

#[test]
fn only_the_paint_that_transfers_covers_as_the_prevention_note_says() {
    // Georgia pollution prevention note: a paint of 300 ft^2/gal covers 90 at 30 % transfer and 45 at 15 %.
    for (transfer, covered) in [(0.30, 90.0), (0.15, 45.0)] {
        let mut job = flat(400.0, 1000.0);
        job.gun.transfer_efficiency.0 = transfer;
        let account = account(&job);
        let reached = account.on_panel.0 + account.off_panel.0;
        assert_near(&format!("at {transfer}"), 300.0 * reached / account.sprayed.0, covered, 0.001 * covered);
    }
}

#[test]
fn film_times_area_over_solids_is_the_volume_on_the_panel() {
    for (along, across) in [(0.0, 0.0), (60.0, 0.0), (40.0, 80.0), (-50.0, -30.0)] {
        let mut job = flat(800.0, 600.0);
        (job.panel.crown_along.0, job.panel.crown_across.0) = (along, across);
        let rehearsal = rehearse(&job);
        let (patch, film) = (rehearsal.patch(), rehearsal.film(0));
        let cell = patch.cell.x * patch.cell.y / 1e6; // mm^2 x um = 1e-6 mL
        let area = |i: usize| cell * (1.0 + patch.gradient[i].length_squared()).sqrt();
        let dry: f64 = film.iter().enumerate().map(|(i, film)| film * area(i)).sum();
        let solids = job.paints[0].solids_by_volume.0;
        assert_ratio(&format!("crown {along}, {across}"), dry / solids, rehearsal.accounts()[0].on_panel.0, 1e-8); // a row between others is not below 0
    }
}

#[test]
fn the_mean_film_far_from_edges_is_exactly_the_budget() {
    // Q TE VS amount / (v p), derived; the same sum by hand: 250 mL/min, TE .65, VS .45, 457 mm/s, fan 250 mm.
    // fan 240 mm in 2 mm cells: every spacing below is a whole number of cells
    for (overlap, amount, distance, fluid, speed, solids, transfer) in [
        (0.5, 1.0, 180.0, 200.0, 500.0, 0.42, 0.65),
        (0.75, 1.0, 180.0, 200.0, 500.0, 0.42, 0.65),
        (0.75, 0.5, 180.0, 120.0, 300.0, 0.42, 0.65),
        (0.5, 2.0, 180.0, 320.0, 900.0, 0.25, 0.87),
        (0.5, 1.0, 270.0, 200.0, 500.0, 0.60, 0.65),
        (0.75, 1.5, 120.0, 200.0, 700.0, 0.42, 0.30),
        (0.9, 1.0, 180.0, 250.0, 1500.0, 0.42, 0.65),
    ] {
        let mut job = flat(200.0, 900.0);
        job.gun.fan_width.0 = 240.0;
        job.gun.fluid.0 = fluid;
        job.gun.transfer_efficiency.0 = transfer;
        job.paints[0].solids_by_volume.0 = solids;
        let coat = &mut job.coats[0];
        (coat.overlap.0, coat.amount.0, coat.distance.0, coat.speed.0) = (overlap, amount, distance, speed);
        let coat = job.coats[0].clone();
        // 2e-6: the pattern's tables are straight between 4096 places
        assert_ratio(&format!("{overlap} x {amount} from {distance} mm"), middle_mean(&job), budget(&job, &coat), 2e-6);
    }
}

#[test]
fn the_budget_of_the_textbook_settings_is_21_um_dry_and_twice_that_at_75_per_cent() {
    // derived: 250 mL/min, TE .65, VS .45, 457 mm/s (the printed 1.5 ft/s), fan 250 mm
    let mut job = flat(200.0, 1000.0);
    (job.gun.fluid.0, job.paints[0].solids_by_volume.0, job.coats[0].speed.0) = (250.0, 0.45, 457.0);
    job.panel.cell.0 = 0.5 * 125.0 / 50.0;
    assert_near("50 %, um dry", middle_mean(&job), 21.3, 0.05);
    assert_near("50 %, um wet", middle_mean(&job) / 0.45, 47.4, 0.05);
    job.coats[0].overlap.0 = 0.75;
    assert_near("75 %, um dry", middle_mean(&job), 42.7, 0.05);
    // two such coats of 300 mL/min at 50 % reach 51 um, the printed 2 mil floor of clear films
    job.coats[0].overlap.0 = 0.5;
    job.gun.fluid.0 = 300.0;
    job.coats.push(job.coats[0].clone());
    // 0.3: twice 25.6 um, rounded
    assert_near("two coats, um dry", middle_mean(&job), 51.0, 0.3);
}

#[test]
fn three_quarters_overlap_lays_exactly_twice_the_film_of_half() {
    let film = |overlap: f64| {
        let mut job = flat(200.0, 900.0);
        job.gun.fan_width.0 = 240.0;
        job.coats[0].overlap.0 = overlap;
        middle_mean(&job)
    };
    assert_ratio("75 % / 50 %", film(0.75), 2.0 * film(0.5), 1e-6);
}

#[test]
fn two_half_overlap_coats_staggered_by_half_a_spacing_are_one_at_three_quarters() {
    for m in [1.0, 1.5, 2.5] {
        let mut job = flat(200.0, 960.0);
        pattern(&mut job.gun, 240.0, 60.0, m, 1.5);
        let mut one = job.clone();
        one.coats[0].overlap.0 = 0.75;
        job.coats.push(job.coats[0].clone());
        job.coats[1].shift.0 = 0.5;
        let (two, one) = (section(&rehearse(&job)), section(&rehearse(&one)));
        let (two, one) = (middle(&two, 2.0, 480.0), middle(&one, 2.0, 480.0));
        let worst = two.iter().zip(one).map(|(a, b)| (a / b - 1.0).abs()).fold(0.0, f64::max);
        // 1e-9: the same passes, summed in another order
        assert_near(&format!("m {m}, worst place"), worst, 0.0, 1e-9);
    }
}

#[test]
fn a_second_coat_in_step_keeps_the_ripple() {
    let mut job = flat(200.0, 960.0);
    pattern(&mut job.gun, 240.0, 60.0, 1.5, 1.5);
    let once = section(&rehearse(&job));
    job.coats.push(job.coats[0].clone());
    let twice = section(&rehearse(&job));
    assert_near("ripple", ripple(middle(&twice, 2.0, 120.0)), ripple(middle(&once, 2.0, 120.0)), 1e-9);
    assert_near("m 1.5 at 50 %", ripple(middle(&once, 2.0, 120.0)), 0.254, 0.003);
}

#[test]
fn twice_the_speed_is_half_the_film_everywhere() {
    let mut job = flat(400.0, 600.0);
    (job.panel.crown_along.0, job.hand.arc.0, job.hand.heel.0) = (30.0, 20.0, 10.0);
    let slow = rehearse(&job).film(0);
    job.coats[0].speed.0 *= 2.0;
    let fast = rehearse(&job).film(0);
    job.coats[0].speed.0 /= 2.0;
    job.coats[0].amount.0 = 0.5;
    let half = rehearse(&job).film(0);
    job.coats[0].amount.0 = 1.0;
    job.hand.speed_error.0 = 1.0;
    let hasty = rehearse(&job).film(0);
    for (i, film) in slow.iter().enumerate() {
        for other in [fast[i], half[i], hasty[i]] {
            assert!((other - film / 2.0).abs() <= 1e-12 * film, "cell {i}: {other} of {film}");
        }
    }
}

#[test]
fn a_speed_error_of_all_passes_goes_straight_through() {
    // derived: 10 % fast lays 1/1.1, -9.1 %
    let mut job = flat(200.0, 900.0);
    let right = middle_mean(&job);
    job.hand.speed_error.0 = 0.1;
    assert_near("10 % fast", middle_mean(&job) / right - 1.0, -0.0909, 0.0001);
}
