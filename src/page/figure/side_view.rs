//! The side view above the controls: gun, fan and the next line's fan to one scale, with distance and fan width
//! dimensioned, the overlap as the darker wedge, and below it the film the two lines lay. Follows every slider.

use crate::parts::dom;
use crate::parts::pen::{Align, Pen};
use crate::shell::app::App;
use fanlap::job::inputs::Unit;
use fanlap::maths::pow;
use fanlap::words::{shown, shown_fine};

/// Draws it for the chosen coat (the first, if all are chosen).
pub fn draw(app: &App) {
    let canvas = dom::canvas("side-view");
    if canvas.width < 40.0 {
        return;
    }
    let pen = Pen { on: &canvas.context, small: 0.6875 * dom::rem() };
    let Some(coat) = app.job.coats.get(app.coat.unwrap_or(0)) else { return };
    let (ink, quiet, accent, well) =
        (dom::token("--ink"), dom::token("--ink-2"), dom::token("--accent"), dom::token("--line"));
    let gun = &app.job.gun;
    let (distance, fan, spacing) = (coat.distance.0, gun.width_at(coat.distance).0, coat.spacing(gun).0);
    let floor = (canvas.height - 2.6 * pen.small - 22.0).round();
    // one scale for all usual distances, so that a nearer gun is seen to be nearer
    let fits = ((floor - 14.0) / distance.max(255.0)).min((canvas.width - 96.0) / (fan + spacing));
    let scale = fits.min((canvas.width - 96.0) / 420.0 * 1.4);
    let first = (canvas.width - spacing * scale) / 2.0 - 6.0;
    let second = first + spacing * scale;
    let top = floor - distance * scale;
    let half = fan * scale / 2.0;
    let wedge = |x: f64| [(x, top), (x - half, floor), (x + half, floor)];
    pen.on.set_global_alpha(0.22);
    pen.colour(&well).area(wedge(first)).area(wedge(second));
    pen.on.set_global_alpha(1.0);
    pen.colour(&ink).width(1.0).line([wedge(first)[1], wedge(first)[0], wedge(first)[2]]);
    pen.colour(&quiet).dash(&[3.0, 3.0]).line([wedge(second)[1], wedge(second)[0], wedge(second)[2]]).dash(&[]);
    gun_from_the_side(&pen, second, top, &quiet, 0.5);
    gun_from_the_side(&pen, first, top, &ink, 1.0);
    pen.colour(&ink).width(1.5).across(floor, 4.0, canvas.width - 4.0).width(1.0);
    distance_mark(&pen, app, (distance, top, floor), &quiet);
    let (base, tall) = (canvas.height - 1.6 * pen.small - 2.0, 0.9 * pen.small + 6.0);
    profile(&pen, app, (first, second, half), (base, tall), (&quiet, &accent));
    let words = shown_fine(spacing, *app.system);
    pen.colour(&quiet).text("next line", canvas.width - 4.0, pen.small + 2.0, Align::Right);
    pen.text(&format!("{words} on"), canvas.width - 4.0, 2.5 * pen.small + 2.0, Align::Right);
    width_mark(&pen, app, (first - half, first + half), (canvas.height - 2.0, fan), &quiet);
    let overlap = shown(Unit::Percent, coat.overlap.0, *app.system);
    let distance = shown(Unit::Millimetre, distance, *app.system);
    let fan = shown(Unit::Millimetre, fan, *app.system);
    let alt = format!(
        "The gun {distance} from the panel, its fan {fan} wide there; the next line {words} on, which is \
         {overlap} overlap."
    );
    dom::set(&dom::by_id("side-view"), "aria-label", &alt);
}

fn gun_from_the_side(pen: &Pen, x: f64, nozzle: f64, colour: &str, strength: f64) {
    pen.on.set_global_alpha(strength);
    pen.colour(colour).area([
        (x - 7.0, nozzle - 12.0),
        (x + 7.0, nozzle - 12.0),
        (x + 7.0, nozzle - 6.0),
        (x + 2.5, nozzle),
        (x - 2.5, nozzle),
        (x - 7.0, nozzle - 6.0),
    ]);
    pen.on.set_global_alpha(1.0);
}

fn distance_mark(pen: &Pen, app: &App, (distance, top, floor): (f64, f64, f64), colour: &str) {
    let x = 8.0;
    pen.colour(colour).down(x, top, floor).across(top, x - 4.0, x + 5.0).across(floor, x - 4.0, x + 5.0);
    let words = shown(Unit::Millimetre, distance, *app.system);
    pen.text(&words, x + 7.0, (top + floor) / 2.0 + 4.0, Align::Left);
}

fn width_mark(pen: &Pen, app: &App, (left, right): (f64, f64), (base, fan): (f64, f64), colour: &str) {
    let words = shown(Unit::Millimetre, fan, *app.system);
    let half = pen.measure(&words) / 2.0 + 5.0;
    let middle = (left + right) / 2.0;
    let y = base - pen.small * 0.36;
    pen.colour(colour);
    if right - left > 2.0 * half + 8.0 {
        pen.across(y, left, middle - half).across(y, middle + half, right);
    }
    pen.down(left, y - 4.0, y + 5.0).down(right, y - 4.0, y + 5.0).text(&words, middle, base, Align::Centre);
}

/// What the two lines lay: each by itself, and together in the accent.
fn profile(
    pen: &Pen,
    app: &App,
    (first, second, half): (f64, f64, f64),
    (base, tall): (f64, f64),
    (quiet, accent): (&str, &str),
) {
    let m = app.job.gun.pass_exponent;
    let pass = |at: f64, x: f64| {
        let u = (x - at) / half;
        let rest = 1.0 - u * u;
        if rest > 0.0 { pow(rest, m) } else { 0.0 }
    };
    let places = |from: f64, to: f64| (0..=80).map(move |i| from + (to - from) * f64::from(i) / 80.0);
    let together = |x: f64| pass(first, x) + pass(second, x);
    let highest = places(first - half, second + half).map(together).fold(1.0, f64::max);
    let y = |film: f64| base - film / highest * tall;
    pen.colour(quiet).width(1.0).line(places(first - half, first + half).map(|x| (x, y(pass(first, x)))));
    pen.dash(&[3.0, 3.0]).line(places(second - half, second + half).map(|x| (x, y(pass(second, x))))).dash(&[]);
    pen.colour(accent).width(1.8).line(places(first - half, second + half).map(|x| (x, y(together(x))))).width(1.0);
}
