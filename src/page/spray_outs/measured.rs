//! One's own cards, within the spray-outs: what was measured on them is typed or loaded, the tint is fitted, and the
//! fitted paint can be taken for the job. Rows that are not complete yet stay in the page. Fits nothing itself.

use crate::parts::dom;
use crate::parts::layout::Room;
use crate::parts::typed::mark;
use crate::parts::typed::number_typed;
use crate::shell::app::App;
use crate::shell::ask;
use crate::shell::controls;
use crate::shell::files;
use crate::shell::room::States;
use crate::shell::run::with;
use crate::spray_outs::car::{PARTS, refused, row_of, sound};
use fanlap::cards::number_in_words;
use fanlap::cards::own;
use fanlap::colour::tint::TintFit;
use fanlap::colour::{ANGLES, Illuminant, Lab, Observer};
use fanlap::error::Problem;
use fanlap::job::inputs::{Unit, plain_number};
use fanlap::job::{Job, MeasuredCard, MeasuredCards};
use fanlap::measured::Said;
use fanlap::words::{digits_of, shown};
use serde_json::{Value, json};
use wasm_bindgen::JsCast;
use web_sys::{HtmlButtonElement, HtmlElement, HtmlInputElement, HtmlSelectElement};

/// A fit, and the cards it belongs to.
type TintFitted = Option<(MeasuredCards, Result<TintFit, Problem>)>;

/// Its state when the page opens.
pub fn state(states: &mut States) {
    states.put::<TintFitted>(None);
}

fn tint(app: &App) -> &TintFitted {
    app.states.of()
}

/// Builds the controls and listens.
pub fn listen() {
    let paths = ["measured.illuminant", "measured.observer_deg", "measured.unequal"];
    controls::add(&dom::by_id("measured-controls"), &paths);
    dom::on(&dom::by_id("measured-open"), "click", |_| open(true));
    dom::on(&dom::by_id("measured-back"), "click", |_| open(false));
    dom::on(&dom::by_id("measured-add"), "click", |_| {
        add_row(next_coats(), 45.0);
        if let Some(last) = rows().last() {
            let _ = dom::part::<HtmlElement>(last, ".cell").focus();
        }
    });
    dom::on(&dom::by_id("measured-base"), "click", |_| {
        let Some(angle) = base_missing() else { return };
        add_row(0.0, angle);
        if let Some(last) = rows().last() {
            let _ = cells(last)[1].focus();
        }
    });
    dom::on(&dom::by_id("measured-load"), "click", |_| dom::input("measured-file").click());
    files::when_chosen("measured-file", |app, name, text| {
        ask::first(app, "measured-ask", true, name, text, loaded);
    });
    ask::listen("measured-ask");
    dom::on(&dom::by_id("measured-rows"), "change", |event| {
        if let Some(row) = row_of(dom::target(&event).as_deref()) {
            dom::set(&row, "data-typed", "");
        }
        let within = row_of(dom::document().active_element().as_ref());
        with(move |app| typed(app, within.as_ref()));
    });
    dom::on(&dom::by_id("measured-rows"), "focusout", |event| {
        let within = row_of(dom::next_focus(&event).as_ref());
        if row_of(dom::target(&event).as_deref()).is_some_and(|row| row.has_attribute("data-typed")) {
            with(move |app| typed(app, within.as_ref()));
        }
    });
    dom::on(&dom::by_id("measured-rows"), "click", |event| {
        let Some(button) = dom::target(&event).and_then(|target| target.closest(".card-remove").ok().flatten()) else {
            return;
        };
        if let Some(row) = button.closest("tr").ok().flatten() {
            row.remove();
            with(|app| typed(app, None));
        }
    });
    dom::on(&dom::by_id("measured-use"), "click", |_| with(use_paint));
    dom::on(&dom::by_id("measured-remove"), "click", |_| {
        dom::by_id("measured-rows").set_inner_html("");
        ask::close("measured-ask");
        with(|app| {
            set(app, Value::Null);
        });
    });
}

fn open(on: bool) {
    dom::by_id("measured").set_hidden(!on);
    dom::by_id("cards-main").set_hidden(on);
    let _ = dom::by_id(if on { "measured-title" } else { "measured-open" }).focus();
}

fn rows() -> Vec<HtmlElement> {
    dom::all(&dom::by_id("measured-rows"), "tr")
}

/// The fields of a row: coats, L*, a*, b*, gauge.
fn cells(row: &HtmlElement) -> Vec<HtmlInputElement> {
    dom::all(row, ".cell").into_iter().map(JsCast::unchecked_into).collect()
}

fn next_coats() -> f64 {
    let known = rows().iter().filter_map(|row| number_typed(&cells(row)[0].value())).fold(-1.0, f64::max);
    (known + 1.0).min(8.0)
}

/// The angle of a row, degrees.
fn angle_of(row: &HtmlElement) -> f64 {
    dom::part::<HtmlSelectElement>(row, ".angle").value().parse().unwrap_or(45.0)
}

/// The next angle at which no row has the bare base, those that tell most first; none if it has it at all.
fn base_missing() -> Option<f64> {
    let bases = rows().into_iter().filter(|row| number_typed(&cells(row)[0].value()) == Some(0.0));
    let known: Vec<f64> = bases.map(|row| angle_of(&row)).collect();
    [45.0, 15.0, 110.0, 25.0, 75.0, -15.0].into_iter().find(|angle| !known.contains(angle))
}

fn add_row(coats: f64, angle: f64) {
    let row = dom::template("measured-row");
    let body = dom::by_id("measured-rows");
    body.append_child(&row).expect("elements can be appended");
    cells(&row)[0].set_value(&digits_of(coats, 1));
    let select: HtmlSelectElement = dom::part(&row, ".angle");
    for at in ANGLES {
        let option = dom::plain("option");
        dom::set(&option, "value", &at.to_string());
        dom::say(&option, &format!("{at}\u{b0}").replace('-', "\u{2212}"));
        select.append_child(&option).expect("elements can be appended");
    }
    select.set_value(&angle.to_string());
    name_cells(&row, rows().len() - 1);
}

/// Brings the readings in step with the job, while they are open.
pub fn sync(app: &mut App) {
    if dom::by_id("measured").hidden() {
        return;
    }
    let known = tint(app).as_ref().map(|(cards, _)| cards);
    if known != app.job.measured.as_ref() {
        let fit = app.job.measured.as_ref().and_then(|cards| own::fit(&app.job).map(|fit| (cards.clone(), fit)));
        *app.states.of_mut::<TintFitted>() = fit;
    }
    let cards = app.job.measured.as_ref().map_or(&[][..], |measured| &measured.cards);
    let taken = rows().iter().filter(|row| row.has_attribute("data-card")).count();
    if taken != cards.len() {
        // the job's cards have changed otherwise than by typing
        dom::by_id("measured-rows").set_inner_html("");
        for (i, card) in cards.iter().enumerate() {
            add_row(card.coats, card.aspecular.0);
            dom::set(&rows()[i], "data-card", &i.to_string());
        }
    }
    if rows().is_empty() {
        PRESET.into_iter().for_each(|coats| add_row(coats, 45.0));
    }
    let fit = tint(app).as_ref().and_then(|(_, fit)| fit.as_ref().ok());
    let um = Unit::Micrometre.shown(*app.system);
    dom::say(&dom::by_id("measured-film-unit"), &format!("Gauge, {}", um.0));
    for (i, row) in rows().iter().enumerate() {
        let card = card_of(row);
        let off = card.and_then(|card| fit?.residuals.get(card)).map_or(String::new(), |off| format!("{off:.1}"));
        dom::say(&dom::part(row, ".off"), &off);
        name_cells(row, i);
        if let Some(card) = card.and_then(|card| cards.get(card)) {
            fill(app, row, card, um.1);
        }
    }
    dom::by_id("measured-controls").set_hidden(cards.is_empty());
    let all = base_missing().is_none();
    dom::off("measured-base", all);
    controls::sync_within(app, &dom::by_id("measured-controls"));
    words(app);
}

/// Coats of the rows that stand ready: the bare base, and the two cards that tell most.
const PRESET: [f64; 3] = [0.0, 1.0, 3.0];

/// Which of the job's measured cards a row shows; none while it is not complete.
fn card_of(row: &HtmlElement) -> Option<usize> {
    row.get_attribute("data-card")?.parse().ok()
}

fn name_cells(row: &HtmlElement, i: usize) {
    for (cell, name) in cells(row).iter().zip(["Coats", "L*", "a*", "b*", "Gauge"]) {
        dom::set(cell, "aria-label", &format!("{name} of reading {}", i + 1));
    }
    dom::set(&dom::part::<HtmlElement>(row, ".angle"), "aria-label", &format!("Angle of reading {}", i + 1));
}

fn fill(app: &App, row: &HtmlElement, card: &MeasuredCard, um: f64) {
    let spectral = card.reflectance.is_some();
    dom::class(row, "spectral", spectral);
    let lab = lab_of(&app.job, card);
    let film = card.film_um.map_or(String::new(), |film| digits_of(film.0 * um, 2));
    let values = [digits_of(card.coats, 1), digits_of(lab.l, 2), digits_of(lab.a, 2), digits_of(lab.b, 2), film];
    let digits = Unit::Micrometre.shown(*app.system).2;
    let film_short = card.film_um.map_or(String::new(), |film| digits_of(film.0 * um, digits));
    let short =
        [lab.l, lab.a, lab.b].map(|value| digits_of(value, 1)).into_iter().chain([film_short]).collect::<Vec<_>>();
    if !row.has_attribute("data-typed") {
        dom::part::<HtmlSelectElement>(row, ".angle").set_value(&card.aspecular.0.to_string());
    }
    let active = dom::document().active_element();
    for (i, (cell, value)) in cells(row).iter().zip(values).enumerate() {
        cell.set_read_only(spectral && (1..4).contains(&i));
        let typing = active.as_ref().is_some_and(|active| *active == ***cell);
        if !typing && !row.has_attribute("data-typed") {
            // beside a figure the column has no room for the second digit; it is kept with the field
            let narrow = app.layout.room != Room::Narrow && i > 0;
            let text = if narrow { &short[i - 1] } else { &value };
            cell.set_value(text);
            dom::set(cell, "data-shown", text);
            dom::set(cell, "data-full", &value);
        }
    }
}

/// What stands in a field, with the digits that it has no room for.
fn text_of(cell: &HtmlInputElement) -> String {
    let shown = cell.get_attribute("data-shown");
    let full = cell.get_attribute("data-full").filter(|_| shown.as_deref() == Some(&cell.value()));
    full.unwrap_or_else(|| cell.value())
}

/// CIELAB of a card as it was measured, or of its spectrum.
fn lab_of(job: &Job, card: &MeasuredCard) -> Lab {
    let measured = job.measured.as_ref();
    let light = measured.and_then(|m| Illuminant::from_name(&m.illuminant)).unwrap_or(Illuminant::D65);
    let observer = measured.and_then(|m| Observer::from_degrees(m.observer_deg)).unwrap_or(Observer::Degrees10);
    match (&card.reflectance, card.lab) {
        (Some(seen), _) => Lab::of(seen, light, observer),
        (None, lab) => {
            let [l, a, b] = lab.unwrap_or_default();
            Lab { l, a, b }
        }
    }
}

/// Takes the complete rows; a row of which only the coats are given is not measured yet, and one that the hand is still
/// in may be incomplete.
fn typed(app: &mut App, within: Option<&HtmlElement>) {
    let trouble = dom::by_id("measured-trouble");
    let um = Unit::Micrometre.shown(*app.system).1;
    let before = app.job.get("measured").filter(Value::is_object).unwrap_or_else(|| json!({}));
    let mut cards: Vec<Value> = Vec::new();
    let mut taken: Vec<(HtmlElement, bool)> = Vec::new();
    for (i, row) in rows().into_iter().enumerate() {
        let known = card_of(&row).and_then(|card| before["cards"].get(card)).cloned();
        if let (Some(known), false) = (&known, row.has_attribute("data-typed")) {
            // as measured, with all its digits
            cards.push(known.clone());
            taken.push((row, true));
            continue;
        }
        let fields = cells(&row);
        let texts: Vec<String> = fields.iter().map(text_of).collect();
        let spectral = row.class_list().contains("spectral");
        if !spectral && texts[1..].iter().all(|text| text.trim().is_empty()) {
            mark(&fields, &[], "measured-trouble");
            taken.push((row, false));
            continue;
        }
        let numbers: Vec<Option<f64>> =
            texts.iter().enumerate().map(|(i, text)| number_typed(text).filter(|n| possible(i, *n, um))).collect();
        // an empty field is not wrong while the hand is still in its row; anything else is told at once
        let waits = |i: usize| texts[i].trim().is_empty() && (i == 4 || within == Some(&row));
        let wrong: Vec<bool> = (0..5).map(|i| numbers[i].is_none() && !waits(i)).collect();
        mark(&fields, &wrong, "measured-trouble");
        if let Some(at) = wrong.iter().position(|wrong| *wrong) {
            let text = not_possible(at, &texts[at], i + 1, app);
            dom::say(&trouble, &format!("{text} The last good readings are still used."));
            return;
        }
        if numbers[..4].contains(&None) {
            cards.extend(known.clone());
            taken.push((row, known.is_some()));
            continue;
        }
        let film = numbers[4].map(|film| film / um);
        let mut card = json!({ "coats": numbers[0], "aspecular_deg": plain_number(angle_of(&row)), "film_um": film });
        match known.filter(|_| spectral) {
            Some(known) => card["reflectance"] = known["reflectance"].clone(),
            None => card["lab"] = json!(&numbers[1..4]),
        }
        cards.push(card);
        taken.push((row, true));
    }
    let mut measured = before;
    measured["cards"] = cards.into();
    if !set(app, measured) {
        return;
    }
    let mut next = 0;
    for (row, card) in taken {
        let _ =
            if card { row.set_attribute("data-card", &next.to_string()) } else { row.remove_attribute("data-card") };
        next += usize::from(card);
        if within != Some(&row) {
            let _ = row.remove_attribute("data-typed");
        }
    }
}

/// Whether a number can stand in a field of a row.
fn possible(field: usize, value: f64, um: f64) -> bool {
    match field {
        0 => (0.0..=8.0).contains(&value),
        4 => (0.1..=500.0).contains(&(value / um)),
        _ => sound(field - 1, value),
    }
}

/// Says what is wrong with a field of a row.
fn not_possible(field: usize, given: &str, row: usize, app: &App) -> String {
    let name = |part: &str| format!("{part} of reading {row}");
    match field {
        0 => format!("{}: type the coats, from 0 for the bare base to 8.", name("Coats")),
        4 => {
            let [least, most] = [0.1, 500.0].map(|film| shown(Unit::Micrometre, film, *app.system));
            format!("{}: type a film from {least} to {most}, or leave it empty.", name("Gauge"))
        }
        _ => refused(&name(PARTS[field - 1]), given, field - 1),
    }
}

/// Gives the readings to the job; whether they were taken.
fn set(app: &mut App, measured: Value) -> bool {
    let said = match app.set(&["measured".to_string()], &measured) {
        Ok(()) => String::new(),
        Err(problem) => format!("{} The last good readings are still used.", problem.plainly()),
    };
    dom::say(&dom::by_id("measured-trouble"), &said);
    said.is_empty()
}

fn loaded(app: &mut App, name: &str, text: &str, said: Said) {
    match MeasuredCards::from_file(name, text, said) {
        Ok(measured) => {
            dom::by_id("measured-rows").set_inner_html("");
            set(app, serde_json::to_value(measured).unwrap_or_default());
        }
        Err(problem) => {
            let text = format!(
                "This is not a file of measured cards; CSV, CGATS.17 text or CxF3 are read. {problem} The \
                 readings as they were are still used."
            );
            dom::say(&dom::by_id("measured-trouble"), &text);
        }
    }
}

fn words(app: &App) {
    let (said, list) = (dom::by_id("measured-words"), dom::by_id("measured-doubts"));
    let use_it: HtmlButtonElement = dom::by_id("measured-use").unchecked_into();
    let fit = tint(app).as_ref().map(|(_, fit)| fit);
    use_it.set_disabled(!matches!(fit, Some(Ok(_))));
    let poor = matches!(fit, Some(Ok(fit)) if worst(fit) > own::MEETS);
    dom::class(&use_it, "main", !poor);
    dom::class(&use_it, "plain", poor);
    list.set_inner_html("");
    let text = match fit {
        None => "Measure the bare base and two tinted cards with different coats, or more. With the base \
         measured at 15\u{b0} and 110\u{b0} too, \
                 your paint can be seen from face to flop."
            .to_string(),
        Some(Err(problem)) => problem.plainly(),
        Some(Ok(fit)) => {
            for doubt in &fit.doubts {
                let item = dom::document().create_element("li").expect("plain elements exist");
                dom::say(&item, &doubt.words());
                list.append_child(&item).expect("elements can be appended");
            }
            fitted(app, fit)
        }
    };
    dom::say(&said, &text);
}

/// CIEDE2000 of the card that a fit misses most.
fn worst(fit: &TintFit) -> f64 {
    fit.residuals.iter().copied().fold(0.0, f64::max)
}

fn fitted(app: &App, fit: &TintFit) -> String {
    let worst = worst(fit);
    let (film, gauged) = own::film_per_coat(&app.job, fit);
    let film = shown(Unit::Micrometre, film.0, *app.system);
    let how = if gauged {
        let laid = shown(Unit::Micrometre, own::film_of_the_gun(&app.job).0, *app.system);
        format!("as gauged; a coat of this job\u{2019}s gun: {laid}")
    } else {
        "as this job\u{2019}s gun lays it; a gauge would tell".to_string()
    };
    let meets = if worst > own::MEETS {
        format!(
            "The fitted paint does not meet the cards: it misses one by {worst:.1} (CIEDE2000). Measure again, \
             or look for a \
             card whose coats are not as given."
        )
    } else {
        format!("The fitted paint meets every card within {worst:.1} (CIEDE2000).")
    };
    let mut text = format!("{meets} One coat is taken as {film}, {how}.");
    let given: Vec<f64> =
        app.job.measured.iter().flat_map(|measured| measured.cards.iter().map(|card| card.coats)).collect();
    if app.job.measured.as_ref().is_some_and(|measured| measured.unequal) {
        let pairs = given.iter().zip(&fit.coats).filter(|(given, _)| **given > 0.0);
        let mut pairs: Vec<String> =
            pairs.map(|(given, found)| format!("{} for {}", digits_of(*found, 2), number_in_words(*given))).collect();
        // readings of one card have its coats
        pairs.dedup();
        text += &format!(" Coats as found: {}.", pairs.join(", "));
    }
    text
}

fn use_paint(app: &mut App) {
    let Some((_, Ok(fit))) = tint(app) else { return };
    match own::take(&app.job, fit) {
        Ok(job) => {
            app.change(job);
            let angles = fanlap::cards::angles_in_words(&app.job.angles(), "and");
            dom::say(&dom::by_id("said"), &format!("The job now sprays the fitted paint, seen at {angles}."));
            open(false);
        }
        Err(problem) => dom::say(&dom::by_id("measured-trouble"), &problem.plainly()),
    }
}
