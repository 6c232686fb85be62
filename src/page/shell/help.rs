//! The help: its text is part of the page's code, so that it is there without a network and in a page of one file.

use crate::parts::dom;

const TEXT: &str = include_str!("../../../www/help.html");

/// Puts the text where it is read.
pub fn build() {
    let _ = dom::by_id("help").insert_adjacent_html("beforeend", TEXT);
}
