//! The shell of the page: its state, its commands, what is kept, and what is common to its places.

pub mod address;
pub mod app;
pub mod ask;
pub mod buttons;
pub mod chance;
pub mod controls;
pub mod dom;
pub mod fields;
pub mod files;
pub mod frames;
pub mod history;
pub mod kept;
pub mod keys;
pub mod pointer;
pub mod quiet;
pub mod rest;
pub mod typed;
pub mod workers;
