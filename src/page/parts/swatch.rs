//! Colours of the paint for CSS, and the fields of a sticker painted with them.

use crate::parts::dom;
use fanlap::cards::{Look, Sticker};
use fanlap::colour::{ScreenSpace, encode};
use fanlap::job::Job;
use web_sys::HtmlElement;

/// A colour of the screen for CSS.
pub fn css(look: &Look, space: ScreenSpace) -> String {
    let [red, green, blue] = look.shown.linear.map(|channel| encode(channel.clamp(0.0, 1.0)));
    let name = if space == ScreenSpace::DisplayP3 { "display-p3" } else { "srgb" };
    format!("color({name} {red:.4} {green:.4} {blue:.4})")
}

/// Paints the fields of a sticker into an element.
pub fn fields(element: &HtmlElement, job: &Job, sticker: &Sticker, space: ScreenSpace) {
    let named = job.cards.sticker.named();
    dom::keep(element, named.len(), || dom::plain("span"));
    for (field, (_, i)) in dom::all(element, "span").iter().zip(named) {
        dom::style(field, "--colour", &css(&sticker[*i], space));
    }
}
