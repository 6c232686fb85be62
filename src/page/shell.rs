//! The shell of the page: its state, its commands, what is kept, and what is common to its places.

pub mod address;
pub mod app;
pub mod ask;
pub mod buttons;
pub mod controls;
pub mod fields;
pub mod files;
pub mod frames;
pub mod help;
pub mod history;
pub mod kept;
pub mod keys;
pub mod own;
pub mod plan;
pub mod pointer;
pub mod recorded;
pub mod rest;
pub mod room;
pub mod run;
pub mod settle;
pub mod stale;
pub mod workers;
