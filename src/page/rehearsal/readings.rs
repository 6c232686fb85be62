//! The readings, the strip of the tablet, the call-out of the probe and the text twin: everything the page says in
//! figures and words. All of it comes from the report and the rehearsal.

use crate::figure::gist::{film, in_one_line, range};
use crate::figure::section;
use crate::figure::timeline;
use crate::parts::dom;
use crate::parts::quiet;
use crate::parts::shown::Shown;
use crate::parts::swatch::fields;
use crate::rehearsal::findings;
use crate::shell::app::{App, Probe};
use fanlap::cards::{Looks, target_words, to_car};
use fanlap::eye::Target;
use fanlap::field::{Spread, film_at};
use fanlap::findings::why_here;
use fanlap::job::inputs::{System, Unit};
use fanlap::report::{Difference, FARTHEST, NEAREST, Paint, Seen};
use fanlap::words::{clock, eye, outcome, seen_from, shown, times};
use web_sys::HtmlElement;

/// Brings everything said in step; the tables only when `whole`.
pub fn sync(app: &App, whole: bool) {
    let present = app.present_coat().map_or(0, |coat| coat + 1);
    let table = dom::by_id("readings-rows");
    let moved = table.get_attribute("data-coat") != Some(present.to_string());
    if whole || moved {
        dom::set(&table, "data-coat", &present.to_string());
        rows(app);
        strip(app);
        in_short(app);
    }
    words(app, whole || moved);
    callout(app);
    // what a control has changed is said when the whole of it is there and the hand rests
    if app.at_rest() && !app.moving && quiet::has_changed() {
        quiet::say(in_one_line(app));
    }
}

/// One row: label, left figure, right figure, unit.
type Row = [String; 4];

fn row(label: &str, left: String, right: String, unit: &str) -> Row {
    [label.to_string(), left, right, unit.to_string()]
}

const NONE: &str = "\u{2013}";

fn rows(app: &App) {
    if app.job.coats.is_empty() {
        fill(&[row("No coats yet", NONE.to_string(), NONE.to_string(), "")]);
        return;
    }
    let left = match &*app.held {
        Some(held) => Left::Held(&held.shown),
        None => Left::Coat(app.present_coat().and_then(|coat| app.shown.coat(coat))),
    };
    let coat = app.present_coat().map_or("Coat".to_string(), |coat| format!("Coat {}", coat + 1));
    let (held, now) = app.beside();
    dom::say(&dom::by_id("readings-present"), if app.held.is_some() { held } else { &coat });
    dom::say(&dom::by_id("readings-finished"), if app.held.is_some() { now } else { "Finished" });
    let mut rows: Vec<Row> = Vec::new();
    let several = app.job.paints.len() > 1;
    for paint in &app.job.paints {
        film_rows(app, &left, &paint.name, several, &mut rows);
    }
    colour_rows(app, &left, &mut rows);
    seen_rows(app, &left, &mut rows);
    for paint in &app.job.paints {
        paint_rows(app, &left, &paint.name, several, &mut rows);
    }
    let time = |f: fn(&Shown) -> f64| (left.of(|shown| clock(f(shown))), clock(f(&app.shown)));
    let (then, now) = time(|shown| shown.report.time.spraying_s);
    rows.push(row("Spraying", then, now, "min:s"));
    let (then, now) = time(|shown| shown.report.time.total_s);
    rows.push(row("Whole job", then, now, "min:s"));
    fill(&rows);
}

/// What stands in the left column.
enum Left<'a> {
    Coat(Option<Spread>),
    Held(&'a Shown),
}

impl Left<'_> {
    fn of(&self, f: impl Fn(&Shown) -> String) -> String {
        match self {
            Self::Held(shown) => f(shown),
            Self::Coat(_) => NONE.to_string(),
        }
    }
}

fn label(words: &str, paint: &str, several: bool) -> String {
    if several { format!("{words}, {paint}") } else { words.to_string() }
}

fn film_rows(app: &App, left: &Left, name: &str, several: bool, rows: &mut Vec<Row>) {
    let Some(now) = app.shown.report.film.get(name) else { return };
    let unit = Unit::Micrometre.shown(*app.system).0;
    // the film of the present coat is of its own paint
    let sprayed = app.present_coat().is_some_and(|coat| app.job.coats[coat].paint == name);
    let of_coat = |f: &dyn Fn(&Spread) -> String| match left {
        Left::Coat(Some(spread)) if sprayed => f(spread),
        Left::Held(shown) => shown.report.film.get(name).map_or(NONE.to_string(), |film| f(&film.interior)),
        Left::Coat(_) => NONE.to_string(),
    };
    let of_rim = |f: &dyn Fn(&Spread) -> String| {
        left.of(|shown| shown.report.film.get(name).map_or(NONE.to_string(), |film| f(&film.edge_band)))
    };
    let system = *app.system;
    let mean = |spread: &Spread| film(spread.mean_um, system);
    // a spread is small: one digit more in mil
    let spread = |spread: &Spread| match system {
        System::Metric => film(spread.sd_um, system),
        System::Us => format!("{:.3}", spread.sd_um / 25.4),
    };
    let ends = |spread: &Spread| range(spread, system);
    rows.push(row(&label("Film, mean", name, several), of_coat(&mean), mean(&now.interior), unit));
    rows.push(row("Least to most", of_coat(&ends), ends(&now.interior), unit));
    rows.push(row("Spread (sd)", of_coat(&spread), spread(&now.interior), unit));
    rows.push(row("Edge band, mean", of_rim(&mean), mean(&now.edge_band), unit));
    rows.push(row("Edge band, range", of_rim(&ends), ends(&now.edge_band), unit));
}

fn colour_rows(app: &App, left: &Left, rows: &mut Vec<Row>) {
    let pair = |f: fn(&Difference) -> f64| {
        let words = |shown: &Shown| format!("{:.1}", f(&shown.report.colour.delta_e00));
        (left.of(words), words(&app.shown))
    };
    for (name, f) in [
        ("Colour, mean", (|d| d.mean) as fn(&Difference) -> f64),
        ("19 places in 20", |d| d.p95),
        ("Colour, most", |d| d.max),
    ] {
        let (then, now) = pair(f);
        rows.push(row(name, then, now, "\u{394}E"));
    }
    if let Some(off) = to_car(&app.job) {
        let then = left.of(|shown| to_car(shown.rehearsal.job()).map_or(NONE.to_string(), |off| format!("{off:.1}")));
        rows.push(row("Target, from the car", then, format!("{off:.1}"), "\u{394}E"));
    }
}

/// What an eye would see at the worst place.
fn seen_rows(app: &App, left: &Left, rows: &mut Vec<Row>) {
    let seen = |shown: &Shown, f: &dyn Fn(&Seen) -> String| shown.report.seen.as_ref().map_or(NONE.to_string(), f);
    let pair = |f: &dyn Fn(&Seen) -> String| (left.of(|shown| seen(shown, f)), seen(&app.shown, f));
    let (metre, factor, digits) = Unit::Metre.shown(*app.system);
    let (then, now) = pair(&|seen| times(seen.times_threshold.max));
    let at = app.job.viewing.distance.0 * factor;
    rows.push(row(&format!("Worst place, at {at:.digits$} {metre}"), then, now, "\u{d7}"));
    let from = |seen: &Seen| match seen.worst.seen_from_m {
        None => "not seen".to_string(),
        Some(from) if from >= seen.looked_from_m[1] => format!("> {:.0}", from * factor),
        Some(from) => format!("{:.digits$}", from * factor),
    };
    let (then, now) = pair(&from);
    let unit = if now == "not seen" { "" } else { metre };
    rows.push(row("Worst place seen from", then, now, unit));
}

fn paint_rows(app: &App, left: &Left, name: &str, several: bool, rows: &mut Vec<Row>) {
    let (unit, factor, digits) = match *app.system {
        System::Metric => ("mL", 1.0, 0),
        System::Us => ("fl oz", 1.0 / fanlap::units::ML_PER_OUNCE, 1),
    };
    let words = |shown: &Shown, f: fn(&Paint) -> f64| {
        shown.report.paint.get(name).map_or(NONE.to_string(), |paint| format!("{:.digits$}", f(paint) * factor))
    };
    let parts = [
        ("Paint sprayed", (|paint| paint.sprayed_ml) as fn(&Paint) -> f64),
        ("on the panel", |paint| paint.on_panel_ml),
        ("past its rim", |paint| paint.off_panel_ml),
        ("lost in the air", |paint| paint.lost_in_air_ml),
    ];
    for (i, (part, f)) in parts.into_iter().enumerate() {
        let part = if i == 0 { label(part, name, several) } else { part.to_string() };
        rows.push(row(&part, left.of(|shown| words(shown, f)), words(&app.shown, f), unit));
    }
}

fn fill(rows: &[Row]) {
    let table = dom::by_id("readings-rows");
    dom::keep(&table, rows.len(), || dom::template("reading-row"));
    for (tr, row) in dom::all(&table, "tr").iter().zip(rows) {
        for (cell, text) in dom::all(tr, "th, td").iter().zip(row) {
            dom::say(cell, text);
        }
    }
}

/// The readings in one line, above the further settings.
fn in_short(app: &App) {
    dom::say(&dom::by_id("more-readings"), &in_one_line(app));
}

/// Four readings in short, for the tablet.
fn strip(app: &App) {
    let strip = dom::by_id("readings-strip");
    let name = app.job.tinted().map_or("", |i| app.job.paints[i].name.as_str());
    let spread = app.shown.report.film.get(name).map_or(Spread::default(), |film| film.interior);
    let unit = Unit::Micrometre.shown(*app.system).0;
    let difference = &app.shown.report.colour.delta_e00;
    let items = [
        ("Film, finished", film(spread.mean_um, *app.system), unit),
        ("Least to most", range(&spread, *app.system), unit),
        ("Colour difference", format!("{:.1}", difference.mean), "\u{394}E"),
        ("19 places in 20", format!("{:.1}", difference.p95), "\u{394}E"),
    ];
    dom::keep(&strip, items.len(), || dom::template("strip-item"));
    for (item, (label, value, unit)) in dom::all(&strip, ":scope > div").iter().zip(items) {
        dom::say(&dom::part(item, "dt"), label);
        dom::say(&dom::part(item, ".value"), &value);
        dom::say(&dom::part(item, ".unit"), unit);
    }
}

/// The text twin: a paragraph, and the section as a table.
fn words(app: &App, whole: bool) {
    let step = timeline::words(app);
    let paragraph = dom::by_id("words-text");
    // while the job plays it is told once for each pass, not for every frame
    let key = step.split_once(", ").map_or(step.clone(), |(_, rest)| rest.to_string());
    if !whole && paragraph.get_attribute("data-step").as_deref() == Some(&key) && *app.playing {
        return;
    }
    dom::set(&paragraph, "data-step", &key);
    let mut text = format!("Now: {step}. {}", outcome(&app.job, &app.shown.report, *app.system));
    if !findings::answers(app)
        && let Some(errors) = fanlap::words::hand_errors(&app.job, *app.system)
    {
        text = text.replace(&format!("The hand errs: {errors}. "), "");
    }
    text += &findings::in_words(app);
    let target = target_words(&app.job, *app.system);
    if !target.is_empty() {
        text += &format!(" {target}");
    }
    if let Some(held) = &*app.held {
        text += " Held for comparison: ";
        text += &outcome(&held.job, &held.shown.report, *app.system);
    }
    if let Some(film) = app.shown.appearance.track().mapped().filter(|film| film.0 <= app.shown.most.0) {
        let from = shown(Unit::Micrometre, film.0, *app.system);
        text += &format!(
            " From {from} on this screen cannot show the colour and draws it less saturated; all figures use \
             the true one."
        );
    }
    let exposure = app.shown.appearance.track().exposure();
    if exposure < 0.999 {
        text += &format!(
            " The picture is drawn at {:.0} % of its brightness, so that the brightest film fits the screen.",
            exposure * 100.0
        );
    }
    dom::say(&paragraph, &text);
    table(app);
}

/// About this many rows of the section are told.
const TOLD: usize = 24;

fn table(app: &App) {
    let patch = app.shown.rehearsal.patch();
    let tinted = app.job.tinted();
    let now = tinted.map_or(app.shown.finished.as_slice(), |paint| app.playback.film(paint));
    if now.len() != app.shown.finished.len() {
        return;
    }
    let (mm, mm_factor, mm_digits) = Unit::Millimetre.shown(*app.system);
    let um = Unit::Micrometre.shown(*app.system).0;
    let at = shown(Unit::Millimetre, *app.section, *app.system);
    dom::say(&dom::by_id("words-caption"), &format!("Along the section line, {at} {}", section::from_edge(app)));
    let head = dom::by_id("words-head");
    let titles = [format!("At, {mm}"), format!("now, {um}"), format!("finished, {um}"), "\u{394}E".to_string()];
    cells(&head, &titles, true);
    let (present, finished) = (section::cut(app, patch, now), section::cut(app, patch, &app.shown.finished));
    let every = present.len().div_ceil(TOLD).max(1);
    let rows: Vec<[String; 4]> = present
        .iter()
        .zip(&finished)
        .step_by(every)
        .map(|((y, now), (_, done))| {
            let difference = app.shown.appearance.difference(app.shown.films_at(section::place_of(app, *y)));
            let at = format!("{:.mm_digits$}", y * mm_factor);
            [at, film(*now, *app.system), film(*done, *app.system), format!("{difference:.1}")]
        })
        .collect();
    let body = dom::by_id("words-rows");
    dom::keep(&body, rows.len(), || dom::plain("tr"));
    for (tr, row) in dom::all(&body, "tr").iter().zip(&rows) {
        cells(tr, row, false);
    }
}

/// The cells of a row of the twin's table, its first a heading.
fn cells(tr: &HtmlElement, texts: &[String; 4], head: bool) {
    if tr.child_element_count() == 0 {
        for i in 0..texts.len() {
            let heading = head || i == 0;
            let Ok(cell) = dom::document().create_element(if heading { "th" } else { "td" }) else { return };
            if heading {
                dom::set(&cell, "scope", if head { "col" } else { "row" });
            }
            let _ = tr.append_child(&cell);
        }
    }
    for (cell, text) in dom::all(tr, "th, td").iter().zip(texts) {
        dom::say(cell, text);
    }
}

/// The call-out of the probe, beside its place but never over the gun.
fn callout(app: &App) {
    let callout = dom::by_id("callout");
    let Some(probe) = *app.probe else {
        callout.set_hidden(true);
        return;
    };
    let (value, text) = probed(app, &probe);
    let name = app.job.tinted().map_or("film", |i| app.job.paints[i].name.as_str());
    dom::say(&dom::part(&callout, "[data-part=value]"), &value);
    let (mm, factor, digits) = Unit::Millimetre.shown(*app.system);
    let at = probe.place * factor;
    let place = format!("{name} at {:.digits$}, {:.digits$} {mm}", at.x, at.y);
    dom::say(&dom::part(&callout, "[data-part=unit]"), &format!("{} {place}", Unit::Micrometre.shown(*app.system).0));
    let stickers = stickers(app, &probe, &callout);
    dom::say(&dom::part(&callout, "[data-part=text]"), &format!("{text}{stickers}"));
    callout.set_hidden(false);
    let (x, y) = app.layout.on_stage(probe.place);
    let (width, height) = (f64::from(callout.offset_width()), f64::from(callout.offset_height()));
    let left = if x + 24.0 + width < app.layout.right() { x + 24.0 } else { x - 24.0 - width };
    let gun = app.shown.rehearsal.pose_at(*app.time).map(|pose| app.layout.on_stage(pose.nozzle.truncate()).1);
    let under = y + 20.0;
    let over = y - 20.0 - height;
    let room_under = under + height < app.layout.bottom();
    let gun_under = gun.is_some_and(|gun| gun > y && gun < under + height + 40.0);
    let top = if room_under && !(gun_under && over > app.layout.top) { under } else { over.max(app.layout.top - 8.0) };
    let most = (app.layout.right() - width).max(4.0);
    dom::style(&callout, "left", &format!("{}px", left.clamp(4.0, most).round()));
    dom::style(&callout, "top", &format!("{}px", top.round()));
}

/// A hiding sticker at the place as it looks now, beside the one to aim at; in words by its lightness.
fn stickers(app: &App, probe: &Probe, callout: &web_sys::HtmlElement) -> String {
    let row: web_sys::HtmlElement = dom::part(callout, ".callout-stickers");
    let now = app.job.tinted().map_or(&[][..], |paint| app.playback.film(paint));
    row.set_hidden(now.len() != app.shown.finished.len());
    if row.hidden() {
        return String::new();
    }
    let looks = Looks::of(&app.job, app.space);
    let here = looks.sticker(film_at(app.shown.rehearsal.patch(), now, probe.place));
    let aim = looks.sticker(app.shown.appearance.target_film());
    fields(&dom::part(&row, "[data-part=here]"), &app.job, &here, app.space);
    fields(&dom::part(&row, "[data-part=aim]"), &app.job, &aim, app.space);
    let (name, field) = app.job.cards.sticker.gauge();
    format!("\nSticker, {name} field: L* {:.1} here, {:.1} on the card.", here[field].lab.l, aim[field].lab.l)
}

/// Passes that laid less than this at a place are not named, um.
const NAMED: f64 = 0.05;

/// What is said of a place: the film now, and how it came about.
fn probed(app: &App, probe: &Probe) -> (String, String) {
    let rehearsal = &app.shown.rehearsal;
    let patch = rehearsal.patch();
    let system = *app.system;
    let now = app.job.tinted().map_or(app.shown.finished.as_slice(), |paint| app.playback.film(paint));
    if now.len() != app.shown.finished.len() {
        return (String::new(), String::new());
    }
    let present = film_at(patch, now, probe.place);
    let finished = film_at(patch, &app.shown.finished, probe.place);
    let mut text = String::new();
    if let Some(held) = &*app.held {
        let then = film_at(held.shown.rehearsal.patch(), &held.shown.finished, probe.place);
        let change = present.0 - then.0;
        let sign = if change < 0.0 { "\u{2212}" } else { "+" };
        let difference = held.shown.appearance.difference(held.shown.films_at(probe.place));
        text += &format!(
            "Held: {}, colour difference {difference:.1}. Change: {sign}{}.\n",
            film(then.0, system),
            film(change.abs(), system)
        );
    }
    let mut lists: Vec<(Vec<usize>, String)> = Vec::new();
    for coat in 0..app.job.coats.len() {
        let laid: Vec<(usize, f64)> = rehearsal
            .laid_at(probe.place, NAMED)
            .into_iter()
            .filter(|(index, _)| {
                rehearsal.passes()[*index].coat == coat && rehearsal.passes()[*index].end.0 <= app.time.0 + 1e-6
            })
            .collect();
        if laid.is_empty() {
            continue;
        }
        let numbers: Vec<String> =
            laid.iter().map(|(index, _)| rehearsal.passes()[*index].number.to_string()).collect();
        let films: Vec<String> = laid.iter().map(|(_, um)| film(*um, system)).collect();
        let which = if numbers.len() == 1 { "pass" } else { "passes" };
        let unit = Unit::Micrometre.shown(system).0;
        let list = format!("{which} {} laid {} {unit}", numbers.join(", "), films.join(", "));
        match lists.iter_mut().find(|(_, other)| *other == list) {
            Some((coats, _)) => coats.push(coat + 1),
            None => lists.push((vec![coat + 1], list)),
        }
    }
    for (coats, list) in lists {
        let each = if coats.len() > 1 { " each" } else { "" };
        let coats = coats.iter().map(usize::to_string).collect::<Vec<_>>().join(" and ");
        text += &format!("Coat {coats}: {list}{each}.\n");
    }
    let difference = app.shown.appearance.difference(app.shown.films_at(probe.place));
    let off = finished.0 - app.shown.appearance.target_film().0;
    let sign = if off < 0.0 { "\u{2212}" } else { "+" };
    let unit = Unit::Micrometre.shown(system).0;
    let lead = if app.ended() { String::new() } else { format!("Finished: {} {unit}, ", film(finished.0, system)) };
    let from = match app.job.target {
        Target::Film(_) => "from target",
        Target::Colour(_) => "from the film that comes nearest",
    };
    text += &format!("{lead}{sign}{} {unit} {from}, colour difference {difference:.1}.", film(off.abs(), system));
    text += &sighted(app, probe);
    if app.ended() {
        text += &because(app, probe);
    }
    (film(present.0, system), text)
}

/// Why there is so much film at a place, and which finding it belongs to.
fn because(app: &App, probe: &Probe) -> String {
    let mut text = String::new();
    if let Some(why) = why_here(&app.shown.rehearsal, probe.place) {
        let mm = |value: f64| shown(Unit::Millimetre, value, *app.system);
        let mut lines: Vec<String> =
            why.passes.iter().map(|(_, number, _, away)| format!("that of pass {number} {}", mm(*away))).collect();
        lines.dedup();
        let (more, size) =
            (if why.off < 0.0 { "less" } else { "more" }, shown(Unit::Micrometre, why.off.abs(), *app.system));
        if !lines.is_empty() {
            text += &format!("\n{size} {more} than on average inside: of the lines, {} away.", lines.join(" and "));
        }
    }
    text + &findings::at(app, probe.place).map_or(String::new(), |finding| format!("\n{finding}"))
}

/// What an eye would see of the finished film at a place.
fn sighted(app: &App, probe: &Probe) -> String {
    let Some(sight) = &app.shown.sight else { return String::new() };
    let (over, from) = sight.at(probe.place);
    let view = &app.job.viewing;
    let (at, whose) = (shown(Unit::Metre, view.distance.0, *app.system), eye(&view.eye));
    let seen = seen_from(from, [NEAREST.0, FARTHEST.0], *app.system);
    let lead = if app.ended() { "At" } else { "Finished, at" };
    format!("\n{lead} {at}, {} times the threshold of {whose}; {seen}.", times(over))
}
