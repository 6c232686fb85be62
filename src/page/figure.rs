//! The figure: the panel with its film, rulers, section and time, drawn on canvases.

pub mod axis;
pub mod layout;
pub mod maps;
pub mod pen;
pub mod section;
pub mod shown;
pub mod side_view;
pub mod sight;
pub mod sprayer;
pub mod stage;
pub mod timeline;
