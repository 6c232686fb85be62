//! The place Rehearsal: readings, findings, the clock, and the trials of the gun.

pub mod countdown;
pub mod findings;
pub mod gun_test;
pub mod readings;
