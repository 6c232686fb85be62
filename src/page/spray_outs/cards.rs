//! The cards side by side with the car's colour behind them, their figures, and the choice that goes on to the
//! rehearsal. Colours are CSS colours of the screen's own space; what is drawn of them is in `graph`, how the car's
//! colour gets in is in `car`. Knows nothing of a panel.

use crate::parts::choice::{options, seen_at};
use crate::parts::dom;
use crate::parts::swatch::{css, fields};
use crate::shell::app::{App, Place};
use crate::shell::run::with;
use crate::spray_outs::sprayed::{Sprayed, spray, sprayed};
use crate::spray_outs::{car, graph};
use fanlap::cards::{Looks, angles_in_words, coats_in_words, number_in_words, words};
use fanlap::colour::{delta_e00, demonstration};
use fanlap::job::inputs::{Kind, Unit, input};
use fanlap::job::{Angles, Car, GroundKind, Job, MOST_CARDS, MOST_COATS};
use fanlap::units::{Degrees, Micrometres};
use fanlap::words::digits_of;
use serde_json::{Value, json};
use wasm_bindgen::JsCast;
use web_sys::{HtmlElement, HtmlInputElement};

/// Brings the place in step with the job.
pub fn sync(app: &mut App) {
    spray(app);
    let Some(sprayed) = sprayed(app) else { return };
    let looks = Looks::of(&app.job, app.space);
    choices(app);
    cards(app, sprayed, &looks);
    table(app, sprayed, &looks);
    car::sync(app);
    let mut said = words(&app.job, &sprayed.cards, sprayed.nearest.as_ref(), *app.system);
    if car::typing() && app.job.car.is_none() {
        said = car::WANTED.to_string();
    }
    dom::say(&dom::by_id("cards-text"), &said);
    let glossy = app.job.viewing.surround_gloss > 0.0;
    let gloss = if glossy { "in the gloss of the surroundings" } else { "gloss left out, as measured" };
    dom::say(&dom::by_id("note-gloss"), gloss);
    dom::say(&dom::by_id("cards-apart"), &fanlap::cards::apart(&sprayed.cards, &looks));
    aim(app, sprayed, &looks);
    graph::draw(app, sprayed, &looks);
}

fn of_input(path: &str) -> Vec<(String, String)> {
    let Some(Kind::Choice(options, _)) = input(path).map(|input| input.kind) else { return Vec::new() };
    options.iter().map(|(value, words)| (value.trim_matches('"').to_string(), words.to_string())).collect()
}

fn choices(app: &App) {
    let job = &app.job;
    options(&dom::select("cards-light"), &of_input("viewing.illuminant"), &job.viewing.illuminant);
    seen_at("cards-angle", job, |angle| match angle.0 {
        15.0 | 25.0 => ", face",
        110.0 => ", flop",
        _ => "",
    });
    options(&dom::select("cards-sticker"), &of_input("cards.sticker"), &sticker_value(job));
    let paint = paint_of(job);
    let mut paints = vec![
        ("kelp".to_string(), "Clear green, invented".to_string()),
        ("ember".to_string(), "Warm red, invented".to_string()),
    ];
    if paint == "own" {
        paints.push(("own".to_string(), "this job\u{2019}s own".to_string()));
    }
    options(&dom::select("cards-paint"), &paints, paint);
    let missing = (1..=(2.0 * MOST_COATS) as usize).map(|n| n as f64 / 2.0).filter(|n| !job.cards.ladder.contains(n));
    let full = job.cards.ladder.len() >= MOST_CARDS;
    let mut adds = vec![(String::new(), if full { "no more cards" } else { "Add a card \u{2026}" }.to_string())];
    adds.extend(missing.filter(|_| !full).map(|n| (n.to_string(), coats_in_words(n))));
    options(&dom::select("card-add"), &adds, "");
}

fn sticker_value(job: &Job) -> String {
    let value = serde_json::to_value(job.cards.sticker).unwrap_or_default();
    value.as_str().unwrap_or_default().to_string()
}

/// Which of the invented paints a job sprays, or its own.
fn paint_of(job: &Job) -> &'static str {
    let absorption = job.tinted_clear().absorption;
    let same = |demo: &demonstration::Demonstration| {
        let base = job.under_tint(Degrees(45.0)).map(|base| match base {
            fanlap::colour::Base::Effect(seen) | fanlap::colour::Base::Solid(seen) => *seen,
        });
        demo.absorption == absorption && base.as_ref() == demo.ground_at(Degrees(45.0))
    };
    if same(&demonstration::kelp()) {
        "kelp"
    } else if same(&demonstration::ember()) {
        "ember"
    } else {
        "own"
    }
}

fn cards(app: &App, sprayed: &Sprayed, looks: &Looks) {
    let (figure, row) = (dom::by_id("cards"), dom::by_id("cards-row"));
    dom::keep(&row, sprayed.cards.len(), || dom::template("card"));
    dom::style(&figure, "--cards", &sprayed.cards.len().to_string());
    let base = looks.card(Micrometres(0.0));
    let closest = sprayed.closest(looks);
    let each = f64::from(row.client_width()) / sprayed.cards.len() as f64 / dom::rem();
    let wordy = if sprayed.angles().is_some() { WORDY_AT } else { WORDY };
    dom::class(&figure, "tight", each < TIGHT);
    dom::class(&figure, "brief", each < wordy);
    let (symbol, factor, digits) = Unit::Micrometre.shown(*app.system);
    let at =
        sprayed.angles().map_or(String::new(), |_| format!(" at {}\u{b0}", digits_of(app.job.viewing.aspecular.0, 0)));
    for (element, card) in dom::all(&row, ".card").iter().zip(&sprayed.cards) {
        let film = card.film.mean();
        let radio: HtmlInputElement = dom::part(element, "input");
        radio.set_value(&card.coats.to_string());
        let states = [(app.job.cards.chosen == Some(card.coats), "chosen"), (closest == Some(card.coats), "closest")];
        radio.set_checked(states[0].0);
        let of = |words: [&str; 2], joint: &str| {
            let held = states.iter().zip(words).filter(|((on, _), _)| *on).map(|(_, word)| word);
            held.collect::<Vec<_>>().join(joint)
        };
        dom::say(&dom::part(element, ".card-count"), &number_in_words(card.coats));
        dom::say(&dom::part(element, ".card-name .word"), if card.coats <= 1.0 { "\u{a0}coat" } else { "\u{a0}coats" });
        dom::say(&dom::part(element, ".card-state .word"), &of(["chosen", "closest"], ", "));
        let over = sprayed.nearest.as_ref().map_or(0, |near| near.differences.len());
        let over = if states[1].0 && over > 1 { format!(" over {over} angles") } else { String::new() };
        dom::say(&dom::part(element, ".card-state .over"), &over);
        dom::say(&dom::part(element, ".card-state .mark"), &of([CHOSEN, CLOSEST], "\u{a0}"));
        dom::style(&dom::part(element, ".card-paint"), "--colour", &css(&looks.card(film), app.space));
        dom::style(&dom::part(element, ".card-base"), "--colour", &css(&base, app.space));
        fields(&dom::part(element, ".fields"), &app.job, &looks.sticker(film), app.space);
        dom::say(&dom::part(element, ".card-film .value"), &format!("{:.digits$}", film.0 * factor));
        dom::say(&dom::part(element, ".card-film .unit"), &format!("\u{a0}{symbol}"));
        let off = looks.difference(film).map_or("\u{2013}".to_string(), |d| format!("{d:.1}"));
        dom::say(&dom::part(element, ".card-off .word"), &format!("difference{at}\u{a0}"));
        dom::say(&dom::part(element, ".card-off .value"), &off);
    }
    let key = format!("Under each card: film, {symbol}; difference, \u{394}E. {CHOSEN} chosen, {CLOSEST} closest.");
    dom::say(&dom::by_id("cards-key"), &key);
    let band = dom::by_id("car-band");
    let reference = looks.reference();
    dom::style(&band, "--colour", &reference.map_or("none".to_string(), |look| css(&look, app.space)));
    dom::say(&dom::by_id("car-name"), &band_words(&app.job, reference.is_some()));
    let words = of_input("cards.sticker").into_iter().find(|(value, _)| *value == sticker_value(&app.job));
    dom::say(&dom::by_id("note-sticker"), &format!("sticker, {}", words.map_or(String::new(), |(_, words)| words)));
    let names = dom::by_id("sticker-names");
    let named = app.job.cards.sticker.named();
    dom::keep(&names, named.len(), || dom::plain("span"));
    for (element, (name, _)) in dom::all(&names, "span").iter().zip(named) {
        dom::say(element, name);
    }
}

/// Cards narrower than this, rem, bear numbers without words.
const TIGHT: f64 = 5.0;
/// Cards need this room each, rem, for the word difference, and with an angle behind it.
const WORDY: f64 = 8.0;
const WORDY_AT: f64 = 11.0;
/// Marks on cards too narrow for words.
const CHOSEN: &str = "\u{25cf}";
const CLOSEST: &str = "\u{25cb}";

/// The name of the band behind the cards; where there is none, what the car was measured for.
fn band_words(job: &Job, known: bool) -> String {
    match &job.car {
        None => "The target".to_string(),
        Some(_) if known => "The car".to_string(),
        Some(Car::Reflectance(angles)) => {
            let angles: Vec<Degrees> = angles.0.iter().map(|(angle, _)| *angle).collect();
            format!("The car: measured at {}", angles_in_words(&angles, "and"))
        }
        Some(car @ Car::Lab { illuminant, observer_deg, .. }) => format!(
            "The car: measured for {illuminant}, {observer_deg}\u{b0} observer, at {}",
            angles_in_words(&car.angles(), "and")
        ),
    }
}

/// A film with one digit always, so that figures stand in a column.
fn shown_film(app: &App, film: Micrometres) -> String {
    let (symbol, factor, digits) = Unit::Micrometre.shown(*app.system);
    format!("{:.digits$}\u{a0}{symbol}", film.0 * factor)
}

fn table(app: &App, sprayed: &Sprayed, looks: &Looks) {
    let (symbol, factor, digits) = Unit::Micrometre.shown(*app.system);
    dom::say(&dom::by_id("cards-film-unit"), symbol);
    let body = dom::by_id("cards-rows");
    dom::keep(&body, sprayed.cards.len(), || dom::template("card-row"));
    let aimed = sprayed.aimed().map(|card| card.coats);
    for (i, (row, card)) in dom::all(&body, "tr").iter().zip(&sprayed.cards).enumerate() {
        let film = card.film.mean();
        let lab = looks.lab(film);
        dom::say(&dom::part(row, "th"), &number_in_words(card.coats));
        let whole = |value: f64| digits_of(value, 0);
        let next = sprayed.cards.get(i + 1).map(|next| delta_e00(lab, looks.lab(next.film.mean())));
        let values = [
            format!("{:.digits$}", film.0 * factor),
            whole(lab.l),
            whole(lab.a),
            whole(lab.b),
            whole(lab.chroma()),
            whole(lab.hue_degrees()),
            looks.difference(film).map_or("\u{2013}".to_string(), |d| format!("{d:.1}")),
        ];
        for (cell, value) in dom::all(row, "td").iter().zip(values) {
            dom::say(cell, &value);
        }
        let title = next.map_or(String::new(), |d| format!("{d:.1} to the next card"));
        dom::set(row, "title", &title);
        dom::class(row, "chosen", aimed == Some(card.coats));
        let remove: HtmlElement = dom::part(row, ".card-remove");
        dom::set(&remove, "data-coats", &card.coats.to_string());
        dom::set(&remove, "aria-label", &format!("Take off the card with {}", coats_in_words(card.coats)));
        remove.unchecked_into::<web_sys::HtmlButtonElement>().set_disabled(sprayed.cards.len() == 1);
    }
}

fn aim(app: &App, sprayed: &Sprayed, looks: &Looks) {
    let (box_of, button) = (dom::by_id("sticker-aim"), dom::by_id("cards-rehearse"));
    let aimed = sprayed.aimed().filter(|_| app.job.tinted().is_some());
    box_of.set_hidden(aimed.is_none());
    button.clone().unchecked_into::<web_sys::HtmlButtonElement>().set_disabled(aimed.is_none());
    let sets = dom::by_id("cards-sets");
    let Some(card) = aimed else {
        dom::say(&button, "Rehearse");
        dom::say(&sets, "");
        return;
    };
    let film = card.film.mean();
    fields(&dom::part(&box_of, ".fields"), &app.job, &looks.sticker(film), app.space);
    let words = format!(
        "Sticker at {}, {}: the film gauge for the job. Stop when the sticker on the car looks like it.",
        coats_in_words(card.coats),
        shown_film(app, film)
    );
    dom::say(&dom::part::<HtmlElement>(&box_of, "p"), &words);
    dom::say(&button, &format!("Rehearse with {}", coats_in_words(card.coats)));
    let words = format!("It sets the target to {} and lays {}.", shown_film(app, film), coats_in_words(card.coats));
    dom::say(&sets, &words);
}

/// Listens to everything of the place.
pub fn listen() {
    let change = |id: &'static str, f: fn(&mut App, &str)| {
        dom::on(&dom::by_id(id), "change", move |event| {
            let Some(field) = dom::target(&event) else { return };
            with(move |app| f(app, &dom::value_of(&field)));
        });
    };
    change("cards-light", |app, value| set(app, "viewing.illuminant", value.into()));
    change("cards-angle", |app, value| {
        let angle = value.parse().unwrap_or(45.0);
        set(app, "viewing.aspecular_deg", fanlap::job::inputs::plain_number(angle));
    });
    change("cards-sticker", |app, value| set(app, "cards.sticker", value.into()));
    change("cards-paint", take_paint);
    change("cards-row", |app, value| set(app, "cards.chosen", value.parse::<f64>().map_or(Value::Null, |n| json!(n))));
    change("card-add", |app, value| {
        if let Ok(coats) = value.parse::<f64>() {
            let mut ladder = app.job.cards.ladder.clone();
            ladder.push(coats);
            set(app, "cards.ladder", json!(ladder));
        }
    });
    change("cards-show", |_, value| dom::class(&dom::by_id("cards"), "stickers", value == "stickers"));
    dom::on(&dom::by_id("cards-rows"), "click", move |event| {
        let button = dom::target(&event).and_then(|target| target.closest("button").ok().flatten());
        let coats = button.and_then(|b| b.get_attribute("data-coats")).and_then(|coats| coats.parse::<f64>().ok());
        if let Some(coats) = coats {
            with(move |app| take_off(app, coats));
        }
    });
    dom::on(&dom::by_id("cards-rehearse"), "click", move |_| with(rehearse_with));
}

fn set(app: &mut App, path: &str, value: Value) {
    if let Err(problem) = app.set(&[path.to_string()], &value) {
        app.trouble("This was not changed", &problem.to_string());
    }
}

fn take_off(app: &mut App, coats: f64) {
    let mut job = app.job.clone();
    job.cards.ladder.retain(|n| *n != coats);
    job.cards.chosen = job.cards.chosen.filter(|chosen| *chosen != coats);
    app.change(job);
}

/// Takes one of the invented paints, with the base it lies on.
fn take_paint(app: &mut App, name: &str) {
    let demo = match name {
        "kelp" => demonstration::kelp(),
        "ember" => demonstration::ember(),
        _ => return,
    };
    let mut job = app.job.clone();
    let Some(tinted) = job.tinted() else { return };
    job.paints[tinted].absorption = demo.absorption;
    job.paints[tinted].scatter_per_um = 0.0;
    match job.base() {
        Some(base) => {
            (job.paints[base].kind, job.paints[base].reflectance) = (GroundKind::Effect, Some(Angles(demo.ground)));
        }
        None => {
            (job.ground.kind, job.ground.reflectance) = (GroundKind::Effect, Angles(demo.ground));
        }
    }
    app.change(job);
}

/// Takes the card aimed at for the job, and goes to rehearse it.
fn rehearse_with(app: &mut App) {
    let Some(coats) = sprayed(app).and_then(Sprayed::aimed).map(|card| card.coats) else { return };
    match fanlap::cards::choose(&app.job, coats) {
        Ok(job) => {
            app.change(job);
            app.go(Place::Rehearsal);
            app.focus = Some("figure");
            app.seek(fanlap::units::Seconds(0.0));
            app.play(!dom::media("(prefers-reduced-motion: reduce)"));
        }
        Err(problem) => app.trouble("The card was not taken", &problem.to_string()),
    }
}
