//! Why a place has the film it has: the lines that pass nearest, and how that differs from the panel around, in one
//! sentence. Only says what was laid; causes are found by rehearsing again.

use super::FilmUnderTest;
use crate::appraisal::Appraisal;
use crate::field::film_at;
use crate::maths::ascending;
use glam::DVec2;

/// How a place differs from its surround, um, and the passes that laid the most there with the distance of their lines,
/// mm, to the nearest tenth.
#[derive(Debug, Clone, PartialEq)]
pub struct Why {
    /// Film there above (or below) the mean away from the edges, um.
    pub off: f64,
    /// Coat (from 0), number of the pass, film it laid (um), and how far its line runs from the place (mm): the two that
    /// laid the most.
    pub passes: Vec<(usize, usize, f64, f64)>,
}

/// Why there is so much film at a place; none off the panel or where nothing is laid.
pub fn why_here(appraisal: &Appraisal, place: DVec2) -> Option<Why> {
    let rehearsal = appraisal.rehearsal();
    let seen = FilmUnderTest::all(appraisal).pop()?;
    let off = film_at(seen.patch, seen.film, place).0 - seen.mean;
    let of_tint = |index: &usize| {
        let coat = &seen.job.coats[rehearsal.passes()[*index].coat];
        seen.job.paint_of(coat) == seen.paint
    };
    let mut laid: Vec<(usize, f64)> =
        rehearsal.laid_at(place, 0.05).into_iter().filter(|(index, _)| of_tint(index)).collect();
    ascending(&mut laid, |(_, film)| -film);
    let told = laid.into_iter().take(2).map(|(index, film)| {
        let pass = &rehearsal.passes()[index];
        let across = (place - pass.line.from).perp_dot(pass.line.direction()).abs();
        (pass.coat, pass.number, film, (across * 10.0).round() / 10.0)
    });
    Some(Why { off, passes: told.collect() })
}
