//! The figure as a picture to save. Draws what is on show once more, with a caption.

use crate::figure::gist;
use crate::parts::dom;
use crate::parts::pen::{Align, INK, Pen};
use crate::shell::app::{App, View};
use crate::shell::files;
use wasm_bindgen::JsCast;
use web_sys::HtmlCanvasElement;

/// Height of the caption under a saved picture, px.
const CAPTION: f64 = 64.0;

/// Saves the figure as it is seen: picture, rulers and section, and under them the job's title and what it shows.
pub fn picture(app: &App) {
    let over: HtmlCanvasElement = dom::by_id("drawing").unchecked_into();
    let under: HtmlCanvasElement = dom::by_id("paint").unchecked_into();
    let Ok(whole) = dom::document().create_element("canvas") else { return };
    let whole: HtmlCanvasElement = whole.unchecked_into();
    let ratio = f64::from(over.width()) / f64::from(over.client_width().max(1));
    let (width, height) = (f64::from(over.width()) / ratio, f64::from(over.height()) / ratio);
    whole.set_width(over.width());
    whole.set_height(((height + CAPTION) * ratio).round() as u32);
    let Some(context) = whole.get_context("2d").ok().flatten() else { return };
    let context: web_sys::CanvasRenderingContext2d = context.unchecked_into();
    let _ = context.scale(ratio, ratio);
    context.set_fill_style_str(&dom::token("--surround"));
    context.fill_rect(0.0, 0.0, width, height + CAPTION);
    let layout = &app.layout;
    let (x, y) = (layout.left, layout.top);
    let _ = context.draw_image_with_html_canvas_element_and_dw_and_dh(&under, x, y, layout.width, layout.height);
    let _ = context.draw_image_with_html_canvas_element_and_dw_and_dh(&over, 0.0, 0.0, width, height);
    let pen = Pen { on: &context, small: 12.0 };
    let view = match *app.view {
        View::Paint => format!("paint under {} at {}\u{b0}", app.job.viewing.illuminant, app.job.viewing.aspecular.0),
        View::Film => format!("film, \u{b5}m, {:.0} to {:.0}", app.film_ends().0, app.film_ends().1),
        View::Difference => format!("colour difference to the target, \u{b1}{:.0} \u{394}E", app.scales.difference),
        View::Seen => format!(
            "what {} would see from {} m, 0 to {:.0} times the threshold",
            fanlap::words::eye(&app.job.viewing.eye),
            app.job.viewing.distance.0,
            app.scales.times
        ),
    };
    pen.colour(INK).bold(&format!("{}: {view}", app.job.title), 16.0, height + 20.0, Align::Left);
    pen.text(&gist::in_one_line(app), 16.0, height + 38.0, Align::Left);
    pen.text("Computed by fanlap; not checked on a painted panel.", 16.0, height + 56.0, Align::Left);
    files::offer_canvas(&whole, &files::name(app, ".png"));
}
