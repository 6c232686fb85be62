//! The film core against published and exact figures. Published figures carry their source beside the check; a
//! figure called "derived" carries its formula, a trade fact "common practice, no source". Most checks go through
//! `rehearse`; those that need one exact place go through a hand's stroke and `deposit`. Does not test colour.

mod account;
mod angle;
mod budget;
mod common;
mod distance;
mod drift;
mod edges;
mod gun_card;
mod law;
mod overlap;
mod pattern;
mod plan;
mod random;
mod rim;
mod steep;
mod sweep;
mod symmetry;
mod threads;
mod track;
mod wet;
