//! Symmetry and sameness: mirrored jobs lay mirrored films; the same job lays the same bits.

use crate::common::*;
use fanlap::job::{Job, examples::EXAMPLES};
use fanlap::rehearsal::{Rehearsal, rehearse};
use fanlap::strokes::{Along, Reach};

fn job() -> Job {
    let mut job = flat(500.0, 400.0);
    job.panel.cell.0 = 10.0; // every row of cells is sprayed: none lies between others
    (job.panel.crown_along.0, job.panel.crown_across.0) = (30.0, 20.0);
    job
}

/// An even or odd number of lines.
fn with_lines(mut job: Job, odd: bool) -> Job {
    let (spacing, width) = (job.coats[0].spacing(&job.gun).0, job.panel.width.0);
    let gaps = if odd { 4.0 } else { 5.0 };
    job.coats[0].margin.0 = (gaps * spacing - width) / 2.0;
    assert_eq!(fanlap::strokes::lines(&job.panel, &job.gun, &job.coats[0]).len() % 2 == 1, odd);
    job
}

/// Largest difference between one film and another with columns and rows turned round as asked, over the largest film.
fn apart(a: &Rehearsal, b: &Rehearsal, turn_x: bool, turn_y: bool) -> f64 {
    let (patch, a, b) = (a.patch(), a.film(0), b.film(0));
    let of = |column: usize, row: usize| {
        let column = if turn_x { patch.columns - 1 - column } else { column };
        let row = if turn_y { patch.rows - 1 - row } else { row };
        b[row * patch.columns + column]
    };
    let cells = (0..patch.rows).flat_map(|row| (0..patch.columns).map(move |column| (column, row)));
    let most = range(&a).1;
    cells.map(|(c, r)| (a[r * patch.columns + c] - of(c, r)).abs()).fold(0.0, f64::max) / most
}

/// Mirrored sums differ in their last digits only.
const ROUNDING: f64 = 1e-9;

#[test]
fn a_faultless_film_is_its_own_mirror_image() {
    for along in [Along::Length, Along::Width] {
        for edge_pass in [false, true] {
            let mut job = job();
            (job.coats[0].along, job.coats[0].edge_pass) = (along, edge_pass);
            let film = rehearse(&job);
            assert_near("x", apart(&film, &film, true, false), 0.0, ROUNDING);
            assert_near("y", apart(&film, &film, false, true), 0.0, ROUNDING);
        }
    }
}

#[test]
fn a_wrist_arc_and_slowing_keep_the_mirror_image() {
    let mut job = job();
    (job.hand.arc.0, job.hand.slow_at_ends.0) = (35.0, 0.4);
    let film = rehearse(&job);
    assert_near("x", apart(&film, &film, true, false), 0.0, ROUNDING);
    assert_near("y", apart(&film, &film, false, true), 0.0, ROUNDING);
}

#[test]
fn both_sides_are_mirror_images_of_each_other() {
    // the heel of a painter on the far side is that of one on the near side, mirrored
    let mut job = with_lines(job(), false);
    (job.coats[0].reach, job.hand.heel.0) = (Reach::BothSides, 20.0);
    let film = rehearse(&job);
    assert_near("y", apart(&film, &film, false, true), 0.0, ROUNDING);
    assert_near("x", apart(&film, &film, true, false), 0.0, ROUNDING);
}

#[test]
fn a_late_trigger_mirrors_an_early_one() {
    let early_and_late = [-30.0, 30.0].map(|late| {
        let mut job = job();
        (job.coats[0].lead.0, job.hand.trigger_late.0) = (10.0, late);
        rehearse(&job)
    });
    let [early, late] = &early_and_late;
    assert_near("x", apart(early, late, true, false), 0.0, ROUNDING);
    assert!(apart(early, late, false, false) > 0.05, "they are not the same film");
}

#[test]
fn passes_that_alternate_mirror_across_or_turn_half_round() {
    // a late trigger and a drag know the direction of travel: an odd number of lines mirrors in y, an even one turns
    for odd in [true, false] {
        let mut job = with_lines(job(), odd);
        (job.coats[0].lead.0, job.hand.trigger_late.0, job.hand.drag.0) = (10.0, 20.0, 15.0);
        let film = rehearse(&job);
        assert_near(&format!("odd {odd}"), apart(&film, &film, !odd, true), 0.0, ROUNDING);
        assert!(apart(&film, &film, odd, true) > 0.05, "odd {odd}: the other way they differ");
    }
}

#[test]
fn heel_to_one_side_mirrors_heel_to_the_other() {
    let [far, near] = [20.0, -20.0].map(|heel| {
        let mut job = job();
        job.hand.heel.0 = heel;
        rehearse(&job)
    });
    assert_near("y", apart(&far, &near, false, true), 0.0, ROUNDING);
    assert!(apart(&far, &near, false, false) > 0.05, "they are not the same film");
}

#[test]
fn along_the_width_is_along_the_length_with_the_axes_exchanged() {
    let mut along = job();
    (along.hand.heel.0, along.hand.arc.0, along.gun.heavy_end.0) = (15.0, 20.0, 0.4);
    let mut across = along.clone();
    std::mem::swap(&mut across.panel.length, &mut across.panel.width);
    std::mem::swap(&mut across.panel.crown_along, &mut across.panel.crown_across);
    across.coats[0].along = Along::Width;
    let (a, b) = (rehearse(&along), rehearse(&across));
    let (patch, film, turned) = (a.patch(), a.film(0), b.film(0));
    let of = |i: usize| turned[i % patch.columns * patch.rows + i / patch.columns];
    let worst = film.iter().enumerate().map(|(i, f)| (f - of(i)).abs()).fold(0.0, f64::max);
    assert_near("worst cell", worst / range(&film).1, 0.0, ROUNDING);
}

/// FNV-1a over the bits of a film.
fn hash(film: &[f64]) -> u64 {
    let bytes = film.iter().flat_map(|f| f.to_bits().to_le_bytes());
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3))
}

#[test]
fn the_same_job_lays_the_same_bits() {
    // the hashes are printed for a comparison with another build: cargo test --test film same_bits -- --nocapture
    for example in EXAMPLES {
        let runs = [rehearse(&example.job()), rehearse(&example.job())];
        let hashes = [hash(&runs[0].film(0)), hash(&runs[1].film(0))];
        assert_eq!(hashes[0], hashes[1], "{}", example.name);
        assert_eq!(runs[0].accounts(), runs[1].accounts(), "{}", example.name);
        println!("film of \"{}\": {:016x}", example.name, hashes[0]);
    }
}

#[test]
fn pass_by_pass_and_all_at_once_lay_the_same_bits() {
    let job = job();
    let mut step_by_step = Rehearsal::plan(&job);
    let mut laid = 0;
    while step_by_step.lay_next() {
        laid += 1;
        assert_eq!(step_by_step.laid(), laid);
        let _ = step_by_step.film(0);
    }
    assert!(step_by_step.finished());
    assert_eq!(step_by_step.film(0), rehearse(&job).film(0));
}
