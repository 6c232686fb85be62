//! What the shell, the figure and the places are made of: the document in short words, a pen, fields, and the figures
//! that are shown. None of it knows the app.

pub mod axis;
pub mod chance;
pub mod choice;
pub mod clicks;
pub mod dom;
pub mod layout;
pub mod pen;
pub mod quiet;
pub mod shown;
pub mod sight;
pub mod swatch;
pub mod typed;
pub mod watched;
