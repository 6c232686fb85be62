//! One's own cards, within the spray-outs: what was measured on them is typed or loaded, the tint is fitted, and the
//! fitted paint can be taken for the job. Rows that are not complete yet stay in the page. Fits nothing itself.

use super::app::App;
use super::spray_outs::number_typed;
use super::{controls, dom, files, with};
use crate::cards::number_in_words;
use crate::cards::own;
use crate::colour::tint::TintFit;
use crate::colour::{Illuminant, Lab, Observer};
use crate::error::Problem;
use crate::job::inputs::Unit;
use crate::job::{Job, MeasuredCard, MeasuredCards};
use crate::words::{digits_of, shown};
use serde_json::{Value, json};
use wasm_bindgen::JsCast;
use web_sys::{HtmlButtonElement, HtmlElement, HtmlInputElement};

/// A fit, and the cards it belongs to.
pub type TintFitted = (MeasuredCards, Result<TintFit, Problem>);

/// Builds the controls and listens.
pub fn listen() {
    let paths = ["measured.illuminant", "measured.observer_deg", "measured.unequal"];
    controls::add(&dom::by_id("measured-controls"), &paths);
    dom::on(&dom::by_id("measured-open"), "click", |_| {
        open(true);
        with(|app| app.stale.column = true);
    });
    dom::on(&dom::by_id("measured-back"), "click", |_| {
        open(false);
        with(|app| app.stale.column = true);
    });
    dom::on(&dom::by_id("measured-add"), "click", |_| {
        add_row(next_coats());
        if let Some(last) = rows().last() {
            let _ = dom::part::<HtmlElement>(last, ".cell").focus();
        }
    });
    dom::on(&dom::by_id("measured-load"), "click", |_| dom::input("measured-file").click());
    files::when_chosen("measured-file", loaded);
    dom::on(&dom::by_id("measured-rows"), "change", |_| with(typed));
    dom::on(&dom::by_id("measured-rows"), "click", |event| {
        let Some(button) = dom::target(&event).and_then(|target| target.closest(".card-remove").ok().flatten()) else {
            return;
        };
        if let Some(row) = button.closest("tr").ok().flatten() {
            row.remove();
            with(typed);
        }
    });
    dom::on(&dom::by_id("measured-controls"), "change", |event| {
        if let Some(field) = dom::target(&event) {
            with(|app| {
                controls::changed(app, &field, true);
            });
        }
    });
    dom::on(&dom::by_id("measured-use"), "click", |_| with(use_paint));
    dom::on(&dom::by_id("measured-remove"), "click", |_| {
        dom::by_id("measured-rows").set_inner_html("");
        with(|app| set(app, Value::Null));
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

fn add_row(coats: f64) {
    let row = dom::template("measured-row");
    let body = dom::by_id("measured-rows");
    body.append_child(&row).expect("elements can be appended");
    cells(&row)[0].set_value(&digits_of(coats, 1));
}

/// Brings the readings in step with the job, while they are open.
pub fn sync(app: &mut App) {
    if dom::by_id("measured").hidden() {
        return;
    }
    let fresh = match (&app.job.measured, &app.tint) {
        (None, _) => None,
        (Some(measured), Some((known, _))) if known == measured => app.tint.take(),
        (Some(measured), _) => own::fit(&app.job).map(|fit| (measured.clone(), fit)),
    };
    app.tint = fresh;
    let cards = app.job.measured.as_ref().map_or(&[][..], |measured| &measured.cards);
    if cards.is_empty() && rows().is_empty() {
        [0.0, 1.0, 2.0].into_iter().for_each(add_row);
    }
    while rows().len() < cards.len() {
        add_row(0.0);
    }
    let fit = app.tint.as_ref().and_then(|(_, fit)| fit.as_ref().ok());
    let um = Unit::Micrometre.shown(app.system);
    dom::say(&dom::by_id("measured-film-unit"), um.0);
    for (i, row) in rows().iter().enumerate() {
        let off = fit.and_then(|fit| fit.residuals.get(i)).map_or(String::new(), |off| digits_of(*off, 1));
        dom::say(&dom::part(row, ".off"), &off);
        name_cells(row, i);
        if let Some(card) = cards.get(i) {
            fill(app, row, card, um.1);
        }
    }
    dom::by_id("measured-controls").set_hidden(cards.is_empty());
    controls::sync_within(app, &dom::by_id("measured-controls"));
    words(app);
}

fn name_cells(row: &HtmlElement, i: usize) {
    for (cell, name) in cells(row).iter().zip(["Coats", "L*", "a*", "b*", "Gauge"]) {
        dom::set(cell, "aria-label", &format!("{name} of card {}", i + 1));
    }
}

fn fill(app: &App, row: &HtmlElement, card: &MeasuredCard, um: f64) {
    let spectral = card.reflectance.is_some();
    dom::class(row, "spectral", spectral);
    let lab = lab_of(&app.job, card);
    let film = card.film_um.map_or(String::new(), |film| digits_of(film.0 * um, 2));
    let values = [digits_of(card.coats, 1), digits_of(lab.l, 2), digits_of(lab.a, 2), digits_of(lab.b, 2), film];
    let active = dom::document().active_element();
    for (i, (cell, value)) in cells(row).iter().zip(values).enumerate() {
        cell.set_read_only(spectral && (1..4).contains(&i));
        let typing = active.as_ref().is_some_and(|active| *active == ***cell);
        if !typing && !row.has_attribute("data-wrong") {
            cell.set_value(&value);
        }
    }
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

/// Takes the complete rows; a row of which only the coats are given is not measured yet.
fn typed(app: &mut App) {
    app.stale.column = true;
    let trouble = dom::by_id("measured-trouble");
    let um = Unit::Micrometre.shown(app.system).1;
    let known = app.job.measured.as_ref().map_or(Vec::new(), |measured| measured.cards.clone());
    let mut cards = Vec::new();
    for (i, row) in rows().iter().enumerate() {
        let _ = row.remove_attribute("data-wrong");
        let texts: Vec<String> = cells(row).iter().map(HtmlInputElement::value).collect();
        let spectral = row.class_list().contains("spectral");
        if !spectral && texts[1..].iter().all(|text| text.trim().is_empty()) {
            continue;
        }
        let numbers: Option<Vec<f64>> = texts[..4].iter().map(|text| number_typed(text)).collect();
        let film = if texts[4].trim().is_empty() { Some(None) } else { number_typed(&texts[4]).map(Some) };
        let (Some(numbers), Some(film)) = (numbers, film) else {
            let text = format!(
                "Card {}: a number is missing or is none. Give coats, L*, a* and b*; the gauge may stay empty. The last good \
                 readings are still used.",
                i + 1
            );
            dom::say(&trouble, &text);
            dom::set(row, "data-wrong", "");
            return;
        };
        let mut card = json!({ "coats": numbers[0], "film_um": film.map(|film| film / um) });
        match known.get(i).and_then(|card| card.reflectance).filter(|_| spectral) {
            Some(seen) => {
                card["reflectance"] = json!({ "from_nm": 380, "step_nm": 10, "values": seen.0.to_vec() });
            }
            None => card["lab"] = json!(&numbers[1..4]),
        }
        cards.push(card);
    }
    let mut measured = app.job.get("measured").filter(Value::is_object).unwrap_or_else(|| json!({}));
    measured["cards"] = cards.into();
    set(app, measured);
}

fn set(app: &mut App, measured: Value) {
    let said = match app.set(&["measured".to_string()], &measured) {
        Ok(()) => String::new(),
        Err(problem) => format!("{problem} The last good readings are still used."),
    };
    dom::say(&dom::by_id("measured-trouble"), &said);
    app.stale.column = true;
}

fn loaded(app: &mut App, name: &str, text: &str) {
    match MeasuredCards::from_file(name, text) {
        Ok(measured) => {
            dom::by_id("measured-rows").set_inner_html("");
            set(app, serde_json::to_value(measured).unwrap_or_default());
        }
        Err(problem) => {
            let text = format!("{problem} The readings as they were are still used.");
            dom::say(&dom::by_id("measured-trouble"), &text);
            app.stale.column = true;
        }
    }
}

fn words(app: &App) {
    let (said, list) = (dom::by_id("measured-words"), dom::by_id("measured-doubts"));
    let use_it: HtmlButtonElement = dom::by_id("measured-use").unchecked_into();
    let fit = app.tint.as_ref().map(|(_, fit)| fit);
    use_it.set_disabled(!matches!(fit, Some(Ok(_))));
    list.set_inner_html("");
    let text = match fit {
        None => "Measure the bare base and at least two cards with different coats.".to_string(),
        Some(Err(problem)) => problem.to_string(),
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

fn fitted(app: &App, fit: &TintFit) -> String {
    let worst = fit.residuals.iter().copied().fold(0.0, f64::max);
    let (film, gauged) = own::film_per_coat(&app.job, fit);
    let film = shown(Unit::Micrometre, film.0, app.system);
    let how = if gauged { "as gauged" } else { "as this job\u{2019}s gun lays it; a gauge would tell" };
    let mut text =
        format!("The fitted paint meets every card within {worst:.1} (CIEDE2000). One coat is taken as {film}, {how}.");
    let given: Vec<f64> =
        app.job.measured.iter().flat_map(|measured| measured.cards.iter().map(|card| card.coats)).collect();
    if app.job.measured.as_ref().is_some_and(|measured| measured.unequal) {
        let pairs = given.iter().zip(&fit.coats).filter(|(given, _)| **given > 0.0);
        let pairs: Vec<String> =
            pairs.map(|(given, found)| format!("{} for {}", digits_of(*found, 2), number_in_words(*given))).collect();
        text += &format!(" Coats as found: {}.", pairs.join(", "));
    }
    text
}

fn use_paint(app: &mut App) {
    let Some((_, Ok(fit))) = &app.tint else { return };
    match own::take(&app.job, fit) {
        Ok(job) => {
            app.change(job);
            dom::say(&dom::by_id("said"), "The job now sprays the fitted paint.");
            open(false);
        }
        Err(problem) => dom::say(&dom::by_id("measured-trouble"), &problem.to_string()),
    }
    app.stale.column = true;
}
