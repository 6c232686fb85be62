//! The graph under the cards: colour against coats, on the same axis as the row of cards above it. Reads what the cards
//! show; changes nothing.

use crate::parts::dom;
use crate::parts::layout::even_marks;
use crate::parts::pen::{Align, BAND, INK, PAPER, PLOT, Pen};
use crate::parts::swatch::css;
use crate::shell::app::App;
use crate::spray_outs::sprayed::{Sprayed, sprayed};
use fanlap::cards::{Card, Looks, PERCEIVED, coats_in_words, number_in_words, remedy};
use fanlap::job::inputs::Unit;
use fanlap::maths::ascending;
use fanlap::units::Micrometres;
use fanlap::words::{digits_of, shown};
use wasm_bindgen::JsCast;

/// What is drawn against the coats.
#[derive(Clone, Copy, PartialEq)]
enum Of {
    Difference,
    Lab,
    Hue,
}

impl Of {
    fn chosen() -> Self {
        let checked = dom::by_id("graph-of").query_selector("input:checked").ok().flatten();
        match checked.map(|input| input.unchecked_into::<web_sys::HtmlInputElement>().value()).as_deref() {
            Some("lab") => Self::Lab,
            Some("hue") => Self::Hue,
            _ => Self::Difference,
        }
    }

    fn title(self, what: &str) -> String {
        match self {
            Self::Difference => format!("Colour difference to {what}, against coats"),
            Self::Lab => "L*, a* and b*, against coats".to_string(),
            Self::Hue => "Hue angle, against coats".to_string(),
        }
    }
}

/// The axis of coats: the centres of the cards on the canvas, px.
struct Axis<'a> {
    cards: &'a [Card],
    centres: Vec<f64>,
    width: f64,
}

impl Axis<'_> {
    /// Coats and their places: those of the cards, and no coat where there is one card only.
    fn known(&self) -> Vec<(f64, f64)> {
        let zero = match self.centres[..] {
            // twice the only card stands at the right end
            [centre] => Some((0.0, (2.0 * centre - self.width + 14.0).max(46.0))),
            _ => None,
        };
        zero.into_iter().chain(self.cards.iter().map(|card| card.coats).zip(self.centres.iter().copied())).collect()
    }

    /// Place of a number of coats, straight between two cards and on beyond them.
    fn place(&self, coats: f64) -> f64 {
        along(&self.known(), coats)
    }

    fn coats(&self, place: f64) -> f64 {
        along(&self.known().into_iter().map(|(coats, at)| (at, coats)).collect::<Vec<_>>(), place)
    }

    /// Coats written along the axis, with their places.
    fn marks(&self) -> Vec<(f64, f64)> {
        match self.cards {
            [card] => [0.0, card.coats, 2.0 * card.coats].map(|coats| (coats, self.place(coats))).to_vec(),
            _ => self.known(),
        }
    }

    /// Film of a number of coats.
    fn film(&self, coats: f64) -> Micrometres {
        let known: Vec<(f64, f64)> =
            [(0.0, 0.0)].into_iter().chain(self.cards.iter().map(|card| (card.coats, card.film.mean_um))).collect();
        Micrometres(along(&known, coats).max(0.0))
    }
}

/// Straight lines through known places, and on beyond the first and the last.
fn along(known: &[(f64, f64)], x: f64) -> f64 {
    let [first, .., last] = known else {
        return known.first().map_or(0.0, |(at, value)| value + (x - at) * 100.0);
    };
    let after = known.iter().position(|(at, _)| *at > x).unwrap_or(known.len());
    let i = after.clamp(1, known.len() - 1);
    let (a, b) = (known[i - 1], known[i]);
    if first.0 == last.0 { a.1 } else { a.1 + (b.1 - a.1) * (x - a.0) / (b.0 - a.0) }
}

/// Draws the graph.
pub fn draw(app: &App, sprayed: &Sprayed, looks: &Looks) {
    let of = Of::chosen();
    let what = if app.job.car.is_some() { "the car" } else { "the target" };
    dom::say(&dom::by_id("graph-title"), &of.title(what));
    let canvas = dom::canvas("cards-graph");
    if canvas.width < 80.0 || canvas.height < 60.0 {
        return;
    }
    let pen = Pen { on: &canvas.context, small: 0.6875 * dom::rem() };
    let left_of = |element: &web_sys::Element| element.get_bounding_client_rect().left();
    let origin = left_of(&dom::by_id("cards-graph"));
    let centre = |card: &web_sys::HtmlElement| left_of(card) - origin + f64::from(card.client_width()) / 2.0;
    let centres = dom::all(&dom::by_id("cards-row"), ".card").iter().map(centre).collect();
    let axis = Axis { cards: &sprayed.cards, centres, width: canvas.width };
    let area = Area {
        left: 30.0_f64.max(axis.place(0.0)).min(axis.centres.first().copied().unwrap_or(60.0) - 24.0).max(30.0),
        right: canvas.width - 1.0,
        top: 8.0,
        bottom: canvas.height - pen.small - 14.0,
    };
    let series = series(of, looks, &axis, &area);
    if series.iter().all(|one| one.values.is_empty()) {
        let remedy = remedy(&app.job).unwrap_or_default();
        let text = format!("The car was not measured for this light and angle. {remedy}");
        pen.colour(INK);
        for (i, line) in wrapped(&pen, &text, area.right - area.left).iter().enumerate() {
            pen.text(line, area.left, area.top + 16.0 + 1.4 * pen.small * i as f64, Align::Left);
        }
        return;
    }
    let ends = ends(of, &series);
    frame(&pen, of, &area, ends, &axis);
    let beyond: Vec<(f64, f64)> = series.iter().flat_map(|one| curve(&pen, one, &area, ends, &axis)).collect();
    if looks.compared.lab().is_some() {
        nearest(app, &pen, sprayed, (&axis, &area), &beyond);
    }
    names(&pen, &series, &area, ends);
}

/// A text in lines of some width.
fn wrapped(pen: &Pen, text: &str, width: f64) -> Vec<String> {
    let mut lines = vec![String::new()];
    for word in text.split(' ') {
        let last = lines.last_mut().expect("there is a line");
        if !last.is_empty() && pen.measure(&format!("{last} {word}")) > width {
            lines.push(word.to_string());
        } else {
            *last += if last.is_empty() { "" } else { " " };
            *last += word;
        }
    }
    lines
}

/// Where the plot stands, px.
struct Area {
    left: f64,
    right: f64,
    top: f64,
    bottom: f64,
}

impl Area {
    fn y(&self, value: f64, (low, high): (f64, f64)) -> f64 {
        self.bottom - (value - low) / (high - low) * (self.bottom - self.top)
    }
}

/// One curve: its name, its values at even places, and a function for the cards.
struct Series<'a> {
    name: &'static str,
    values: Vec<(f64, f64)>,
    at: Box<dyn Fn(Micrometres) -> Option<f64> + 'a>,
}

fn series<'a>(of: Of, looks: &'a Looks<'a>, axis: &Axis, area: &Area) -> Vec<Series<'a>> {
    type At<'a> = Box<dyn Fn(Micrometres) -> Option<f64> + 'a>;
    let kinds: Vec<(&'static str, At<'a>)> = match of {
        Of::Difference => vec![("", Box::new(|film| looks.difference(film)))],
        Of::Lab => vec![
            ("L*", Box::new(|film| Some(looks.lab(film).l))),
            ("a*", Box::new(|film| Some(looks.lab(film).a))),
            ("b*", Box::new(|film| Some(looks.lab(film).b))),
        ],
        Of::Hue => vec![("", Box::new(|film| Some(near(looks.lab(film).hue_degrees(), looks))))],
    };
    let steps = ((area.right - area.left) / 4.0).max(8.0) as usize;
    let place = |i: usize| area.left + (area.right - area.left) * i as f64 / steps as f64;
    kinds
        .into_iter()
        .map(|(name, at)| {
            let values =
                (0..=steps).filter_map(|i| Some((place(i), at(axis.film(axis.coats(place(i)).max(0.0)))?))).collect();
            Series { name, values, at }
        })
        .collect()
}

/// A hue angle written so that it does not jump at 360 degrees: within half a turn of the bare base's.
fn near(hue: f64, looks: &Looks) -> f64 {
    let base = looks.lab(Micrometres(0.0)).hue_degrees();
    hue - 360.0 * ((hue - base) / 360.0).round()
}

fn ends(of: Of, series: &[Series]) -> (f64, f64) {
    let all = || series.iter().flat_map(|one| one.values.iter().map(|(_, value)| *value));
    let (low, high) = (all().fold(f64::INFINITY, f64::min), all().fold(f64::NEG_INFINITY, f64::max));
    match of {
        // what lies far off is cut: the place where the curve comes down is what matters
        Of::Difference => (0.0, [4.0, 8.0, 16.0].into_iter().find(|top| high <= *top).unwrap_or(16.0)),
        Of::Lab => ((low / 20.0).floor() * 20.0, (high / 20.0).ceil() * 20.0),
        Of::Hue => ((low / 10.0).floor() * 10.0, ((high / 10.0).ceil() * 10.0).max((low / 10.0).floor() * 10.0 + 10.0)),
    }
}

fn frame(pen: &Pen, of: Of, area: &Area, ends: (f64, f64), axis: &Axis) {
    pen.on.set_fill_style_str(PLOT);
    pen.block(area.left, area.top, area.right - area.left, area.bottom - area.top);
    if of == Of::Difference {
        let y = area.y(PERCEIVED, ends);
        pen.on.set_fill_style_str(BAND);
        pen.block(area.left, y, area.right - area.left, area.bottom - y);
        pen.colour(INK).width(1.0).across(y, area.left, area.right);
    }
    for mark in even_marks(ends.0, ends.1, 4.0) {
        let y = area.y(mark, ends);
        pen.on.set_global_alpha(0.16);
        pen.colour(INK).width(1.0).across(y, area.left, area.right);
        pen.on.set_global_alpha(1.0);
        pen.colour(INK).across(y, area.left - 4.0, area.left);
        pen.text(&digits_of(mark, 0), area.left - 7.0, y + pen.small * 0.36, Align::Right);
    }
    pen.colour(INK).width(1.0).down(area.left - 1.0, area.top, area.bottom).across(
        area.bottom,
        area.left - 1.0,
        area.right,
    );
    for (coats, x) in axis.marks().into_iter().filter(|(_, x)| (area.left..=area.right).contains(x)) {
        pen.down(x, area.bottom, area.bottom + 5.0);
        let align = if x + 12.0 > area.right { Align::Right } else { Align::Centre };
        pen.text(&number_in_words(coats), x, area.bottom + 8.0 + pen.small, align);
    }
}

/// Where the car's colour comes nearest, over all angles that count; its words keep clear of labels at the top edge.
fn nearest(app: &App, pen: &Pen, sprayed: &Sprayed, (axis, area): (&Axis, &Area), beyond: &[(f64, f64)]) {
    let Some(found) = &sprayed.nearest else { return };
    let x = axis.place(found.coats);
    if !(area.left..=area.right).contains(&x) {
        return;
    }
    pen.colour(INK).width(1.0).dash(&[3.0, 2.0]).down(x, area.top, area.bottom).dash(&[]);
    let coats = coats_in_words((100.0 * found.coats).round() / 100.0);
    let film = shown(Unit::Micrometre, found.film.0, *app.system);
    let texts = match sprayed.angles() {
        None => [format!("closest at {coats}, {film}"), format!("closest at {coats}"), coats],
        Some(angles) => [
            format!("closest over {angles}: {coats}, {film}"),
            format!("closest over {angles}: {coats}"),
            format!("closest over {}: {coats}", angles.replace(" and ", ", ").replace(", ", "\u{202f}")),
        ],
    };
    let room = |text: &str| pen.measure(text) * 1.12 + 12.0;
    let most = (x - area.left).max(area.right - x);
    let Some(text) = texts.into_iter().find(|text| room(text) < most) else { return };
    let left = x - area.left > room(&text);
    let align = if left { Align::Right } else { Align::Left };
    let at = if left { x - 6.0 } else { x + 6.0 };
    let (from, to) = if left { (at - room(&text), at) } else { (at, at + room(&text)) };
    let under = beyond.iter().any(|(low, high)| *high > from && *low < to);
    let y = area.top + pen.small + 6.0 + if under { 1.5 * pen.small } else { 0.0 };
    haloed(pen, &text, (at, y), align);
}

/// Bold text on a halo of the plot's own grey.
fn haloed(pen: &Pen, text: &str, (x, y): (f64, f64), align: Align) {
    pen.on.set_stroke_style_str(PLOT);
    pen.width(4.0).outline(text, x, y, align);
    pen.colour(INK).bold(text, x, y, align);
}

/// Draws a curve with its cards. What lies above the graph is told at its top edge: the rooms of those words, px.
fn curve(pen: &Pen, one: &Series, area: &Area, ends: (f64, f64), axis: &Axis) -> Vec<(f64, f64)> {
    let mut beyond = Vec::new();
    pen.on.save();
    pen.path([(area.left, area.top), (area.right, area.top), (area.right, area.bottom), (area.left, area.bottom)]);
    pen.on.clip();
    pen.colour(INK).width(1.8).dash(dashes(one.name));
    pen.line(one.values.iter().map(|(x, value)| (*x, area.y(*value, ends)))).dash(&[]);
    pen.on.restore();
    for (card, x) in axis.cards.iter().zip(&axis.centres) {
        let Some(value) = (one.at)(card.film.mean()) else { continue };
        let y = area.y(value, ends);
        if y < area.top - 1.0 {
            let text = format!("{value:.1} \u{2191}");
            pen.colour(INK).width(1.0).text(&text, *x, area.top + pen.small + 3.0, Align::Centre);
            let half = 0.5 * pen.measure(&text) + 4.0;
            beyond.push((x - half, x + half));
            continue;
        }
        pen.on.begin_path();
        pen.on.arc(*x, y, 5.0, 0.0, std::f64::consts::TAU).expect("a radius not below 0");
        pen.on.set_fill_style_str(PAPER);
        pen.on.fill();
        pen.colour(INK).width(1.5).circle(*x, y, 5.0);
    }
    beyond
}

/// Dashes by which curves that cross are told apart, px.
fn dashes(name: &str) -> &'static [f64] {
    match name {
        "a*" => &[9.0, 4.0],
        "b*" => &[2.0, 3.0],
        _ => &[],
    }
}

/// Names of curves at their right ends, pushed apart where they would lie over each other.
fn names(pen: &Pen, series: &[Series], area: &Area, ends: (f64, f64)) {
    let named = series.iter().filter(|one| !one.name.is_empty());
    let mut labels: Vec<(f64, &str)> =
        named.filter_map(|one| Some((area.y(one.values.last()?.1, ends) - 6.0, one.name))).collect();
    ascending(&mut labels, |label| label.0);
    let line = 1.3 * pen.small;
    let mut least = area.top + pen.small;
    for label in &mut labels {
        label.0 = label.0.max(least);
        least = label.0 + line;
    }
    let mut most = area.bottom - 3.0;
    for label in labels.iter_mut().rev() {
        label.0 = label.0.min(most);
        most = label.0 - line;
    }
    for (y, name) in labels {
        haloed(pen, name, (area.right - 6.0, y), Align::Right);
    }
}

/// Size of the saved picture, px.
const SAVED: (f64, f64) = (1200.0, 760.0);

/// Saves the cards as a picture: the car's colour behind them, stickers, bare base, and what they show.
pub fn picture(app: &App) {
    let Some(sprayed) = sprayed(app) else { return };
    let Ok(whole) = dom::document().create_element("canvas") else { return };
    let whole: web_sys::HtmlCanvasElement = whole.unchecked_into();
    whole.set_width(SAVED.0 as u32);
    whole.set_height(SAVED.1 as u32);
    let Some(context) = whole.get_context("2d").ok().flatten() else { return };
    let context: web_sys::CanvasRenderingContext2d = context.unchecked_into();
    let pen = Pen { on: &context, small: 15.0 };
    let fill = |colour: &str, x: f64, y: f64, width: f64, height: f64| {
        context.set_fill_style_str(colour);
        pen.block(x, y, width, height);
    };
    let looks = Looks::of(&app.job, app.space);
    let shade = |look: &fanlap::cards::Look| css(look, app.space);
    fill(&dom::token("--surround"), 0.0, 0.0, SAVED.0, SAVED.1);
    if let Some(car) = looks.reference() {
        fill(&shade(&car), 0.0, 160.0, SAVED.0, 200.0);
    }
    let each = (SAVED.0 - 40.0) / sprayed.cards.len() as f64;
    for (i, card) in sprayed.cards.iter().enumerate() {
        let (x, film) = (40.0 + each * i as f64, card.film.mean());
        let width = each - 40.0;
        fill(&shade(&looks.card(film)), x, 80.0, width, 440.0);
        fill(&shade(&looks.card(Micrometres(0.0))), x, 480.0, width, 40.0);
        let (sticker, named) = (looks.sticker(film), app.job.cards.sticker.named());
        let field = 0.7 * width / named.len() as f64;
        for (k, (_, which)) in named.iter().enumerate() {
            fill(&shade(&sticker[*which]), x + 0.15 * width + field * k as f64, 400.0, field, 50.0);
        }
        let middle = x + width / 2.0;
        let off = looks.difference(film).map_or(String::new(), |off| format!("difference {off:.1}"));
        pen.colour(INK).bold(&coats_in_words(card.coats), middle, 60.0, Align::Centre);
        pen.text(&shown(Unit::Micrometre, film.0, *app.system), middle, 550.0, Align::Centre);
        pen.text(&off, middle, 575.0, Align::Centre);
    }
    let view = &app.job.viewing;
    let title = format!("{}: spray-outs under {} at {}\u{b0}", app.job.title, view.illuminant, view.aspecular.0);
    pen.colour(INK).bold(&title, 40.0, 640.0, Align::Left);
    let words = fanlap::cards::words(&app.job, &sprayed.cards, sprayed.nearest.as_ref(), *app.system);
    let lines = wrapped(&pen, &words, SAVED.0 - 80.0);
    for (i, line) in lines.iter().enumerate() {
        pen.text(line, 40.0, 668.0 + 22.0 * i as f64, Align::Left);
    }
    pen.text("Computed by fanlap; real cards, seen outside in sunlight, decide.", 40.0, 740.0, Align::Left);
    crate::shell::files::offer_canvas(&whole, &crate::shell::files::name(app, "-cards.png"));
}
