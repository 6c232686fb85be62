//! A pen for technical drawing on a canvas: hairlines on whole pixels, text in the page's face. Knows nothing of
//! what it draws.

use wasm_bindgen::JsValue;
use web_sys::CanvasRenderingContext2d;

/// Colours of the figure, the same in the light and the dark scheme.
pub const INK: &str = "#0f0f0f";
/// Ground of a graph.
pub const PLOT: &str = "#a6a6a6";
/// The target band.
pub const BAND: &str = "#e6e6e6";
/// Call-out paper, and the halo of lines over the paint.
pub const PAPER: &str = "#f4f4f4";

/// Draws on one canvas.
pub struct Pen<'a> {
    /// The canvas.
    pub on: &'a CanvasRenderingContext2d,
    /// Size of small text, px.
    pub small: f64,
}

/// Where text stands against its place.
#[derive(Clone, Copy)]
pub enum Align {
    /// Begins there.
    Left,
    /// Is centred there.
    Centre,
    /// Ends there.
    Right,
}

impl Pen<'_> {
    /// Colour of lines and text.
    pub fn colour(&self, colour: &str) -> &Self {
        self.on.set_stroke_style_str(colour);
        self.on.set_fill_style_str(colour);
        self
    }

    /// Width of lines, px.
    pub fn width(&self, width: f64) -> &Self {
        self.on.set_line_width(width);
        self
    }

    /// Dashes, px; none for a solid line.
    pub fn dash(&self, lengths: &[f64]) -> &Self {
        let list: js_sys::Array = lengths.iter().map(|length| JsValue::from_f64(*length)).collect();
        self.on.set_line_dash(&list).expect("a list of lengths");
        self
    }

    /// A line through places.
    pub fn line(&self, places: impl IntoIterator<Item = (f64, f64)>) -> &Self {
        self.path(places);
        self.on.stroke();
        self
    }

    /// A path through places, neither stroked nor filled.
    pub fn path(&self, places: impl IntoIterator<Item = (f64, f64)>) -> &Self {
        self.on.begin_path();
        for (i, (x, y)) in places.into_iter().enumerate() {
            if i == 0 { self.on.move_to(x, y) } else { self.on.line_to(x, y) }
        }
        self
    }

    /// A filled area.
    pub fn area(&self, places: impl IntoIterator<Item = (f64, f64)>) -> &Self {
        self.path(places);
        self.on.fill();
        self
    }

    /// A filled rectangle.
    pub fn block(&self, x: f64, y: f64, width: f64, height: f64) -> &Self {
        self.on.fill_rect(x, y, width, height);
        self
    }

    /// The outline of a rectangle on whole pixels.
    pub fn frame(&self, x: f64, y: f64, width: f64, height: f64) -> &Self {
        self.on.stroke_rect(x.round() + 0.5, y.round() + 0.5, width.round() - 1.0, height.round() - 1.0);
        self
    }

    /// A vertical hairline.
    pub fn down(&self, x: f64, from: f64, to: f64) -> &Self {
        let x = x.round() + 0.5;
        self.line([(x, from), (x, to)])
    }

    /// A horizontal hairline.
    pub fn across(&self, y: f64, from: f64, to: f64) -> &Self {
        let y = y.round() + 0.5;
        self.line([(from, y), (to, y)])
    }

    /// A circle's outline.
    pub fn circle(&self, x: f64, y: f64, radius: f64) -> &Self {
        self.on.begin_path();
        self.on.arc(x, y, radius, 0.0, std::f64::consts::TAU).expect("a radius not below 0");
        self.on.stroke();
        self
    }

    /// Small text.
    pub fn text(&self, text: &str, x: f64, y: f64, align: Align) -> &Self {
        self.write(text, (x, y), align, false)
    }

    /// Small bold text.
    pub fn bold(&self, text: &str, x: f64, y: f64, align: Align) -> &Self {
        self.write(text, (x, y), align, true)
    }

    /// The outline of small text in the colour and width of lines: a halo.
    pub fn outline(&self, text: &str, x: f64, y: f64, align: Align) -> &Self {
        self.face(align, false);
        self.on.stroke_text(text, x, y).expect("text can be drawn");
        self
    }

    fn write(&self, text: &str, (x, y): (f64, f64), align: Align, bold: bool) -> &Self {
        self.face(align, bold);
        self.on.fill_text(text, x, y).expect("text can be drawn");
        self
    }

    fn face(&self, align: Align, bold: bool) {
        let weight = if bold { "bold " } else { "" };
        self.on.set_font(&format!("{weight}{}px B612, sans-serif", self.small));
        self.on.set_text_align(match align {
            Align::Left => "left",
            Align::Centre => "center",
            Align::Right => "right",
        });
    }

    /// Width of small text, px.
    pub fn measure(&self, text: &str) -> f64 {
        self.on.set_font(&format!("{}px B612, sans-serif", self.small));
        self.on.measure_text(text).map_or(0.0, |metrics| metrics.width())
    }
}
