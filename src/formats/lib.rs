//! The files of fanlap: the job with its link, recordings of a gun, measured colours, and JSON that is read with care.
//! Does not rehearse.

pub mod job;
pub mod json;
pub mod measured;
