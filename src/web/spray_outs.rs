//! The place Spray-outs: the cards side by side with the car's colour behind them, their figures, and the choice that
//! goes on to the rehearsal. Colours are CSS colours of the screen's own space; what is drawn of them is in
//! `spray_graph`. Knows nothing of a panel.

use super::app::{App, Place};
use super::{dom, files, spray_graph, with};
use crate::appraisal::Target;
use crate::cards::{Card, Look, Looks, Nearest, Sticker, coats_in_words, nearest, number_in_words, spray_outs, words};
use crate::colour::{Illuminant, Lab, ScreenSpace, delta_e00, demonstration, encode};
use crate::job::inputs::{Kind, Unit, input};
use crate::job::{Angles, Car, GroundKind, Job, MOST_CARDS, MOST_COATS};
use crate::units::{Degrees, Micrometres};
use crate::words::{digits_of, shown};
use serde_json::{Value, json};
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement, HtmlInputElement, HtmlSelectElement};

/// The cards of a job, as they were sprayed last.
pub struct Sprayed {
    /// The job they belong to.
    job: Job,
    /// The cards.
    pub cards: Vec<Card>,
    /// The film that comes nearest to the car.
    pub nearest: Option<Nearest>,
}

impl Sprayed {
    fn of(job: &Job) -> Self {
        let cards = spray_outs(job);
        let nearest = nearest(job, &cards);
        Self { job: job.clone(), cards, nearest }
    }

    /// The card that is chosen, or the one nearest to the car.
    pub fn aimed(&self) -> Option<&Card> {
        let chosen = self.job.cards.chosen.and_then(|coats| self.cards.iter().find(|card| card.coats == coats));
        let film = self.nearest.as_ref().map(|nearest| nearest.film.0);
        let off = |card: &Card| film.map_or(0.0, |film| (card.film.mean_um - film).abs());
        chosen.or_else(|| self.cards.iter().min_by(|a, b| off(a).total_cmp(&off(b))))
    }
}

/// Brings the place in step with the job.
pub fn sync(app: &mut App) {
    if app.sprayed.as_ref().is_none_or(|sprayed| sprayed.job != app.job) {
        app.sprayed = Some(Sprayed::of(&app.job));
    }
    let Some(sprayed) = &app.sprayed else { return };
    let looks = Looks::of(&app.job, app.space);
    choices(app);
    cards(app, sprayed, &looks);
    table(app, sprayed, &looks);
    car(app, &looks);
    let words = words(&app.job, &sprayed.cards, sprayed.nearest.as_ref(), app.system);
    dom::say(&dom::by_id("cards-text"), &words);
    aim(app, sprayed, &looks);
    spray_graph::draw(app, sprayed, &looks);
}

/// A colour of the screen for CSS.
pub fn css(look: &Look, space: ScreenSpace) -> String {
    let [red, green, blue] = look.shown.linear.map(|channel| encode(channel.clamp(0.0, 1.0)));
    let name = if space == ScreenSpace::DisplayP3 { "display-p3" } else { "srgb" };
    format!("color({name} {red:.4} {green:.4} {blue:.4})")
}

/// Paints the fields of a sticker into an element.
pub fn fields(element: &HtmlElement, job: &Job, sticker: &Sticker, space: ScreenSpace) {
    let named = job.cards.sticker.named();
    keep_count(element, named.len(), "span");
    for (field, (_, i)) in dom::all(element, "span").iter().zip(named) {
        dom::style(field, "--colour", &css(&sticker[*i], space));
    }
}

/// As many children of a kind as wanted.
fn keep_count(parent: &Element, wanted: usize, tag: &str) {
    while parent.child_element_count() as usize > wanted {
        let _ = parent.last_element_child().map(|last| last.remove());
    }
    while (parent.child_element_count() as usize) < wanted {
        let child = dom::document().create_element(tag).expect("plain elements exist");
        parent.append_child(&child).expect("elements can be appended");
    }
}

fn keep_copies(parent: &Element, wanted: usize, template: &str) {
    while parent.child_element_count() as usize > wanted {
        let _ = parent.last_element_child().map(|last| last.remove());
    }
    while (parent.child_element_count() as usize) < wanted {
        parent.append_child(&dom::template(template)).expect("elements can be appended");
    }
}

/// The options of a select; they are written only when they have changed.
fn options(id: &str, wanted: &[(String, String)], chosen: &str) {
    let select: HtmlSelectElement = dom::select(id);
    let mark: String = wanted.iter().map(|(value, words)| format!("{value}\n{words}\n")).collect();
    if select.get_attribute("data-options").as_deref() != Some(&mark) {
        dom::set(&select, "data-options", &mark);
        select.set_inner_html("");
        for (value, words) in wanted {
            let option = dom::document().create_element("option").expect("options exist");
            dom::set(&option, "value", value);
            dom::say(&option, words);
            select.append_child(&option).expect("elements can be appended");
        }
    }
    select.set_value(chosen);
}

fn of_input(path: &str) -> Vec<(String, String)> {
    let Some(Kind::Choice(options, _)) = input(path).map(|input| input.kind) else { return Vec::new() };
    options.iter().map(|(value, words)| (value.trim_matches('"').to_string(), words.to_string())).collect()
}

fn choices(app: &App) {
    let job = &app.job;
    options("cards-light", &of_input("viewing.illuminant"), &job.viewing.illuminant);
    let angle = |angle: Degrees| {
        let place = match angle.0 {
            15.0 | 25.0 => ", face",
            110.0 => ", flop",
            _ => "",
        };
        (angle.0.to_string(), format!("{}\u{b0}{place}", digits_of(angle.0, 0)))
    };
    let angles: Vec<_> = job.angles().into_iter().map(angle).collect();
    options("cards-angle", &angles, &job.viewing.aspecular.0.to_string());
    let sticker = serde_json::to_value(job.cards.sticker).unwrap_or_default();
    options("cards-sticker", &of_input("cards.sticker"), sticker.as_str().unwrap_or_default());
    let paint = paint_of(job);
    let mut paints = vec![
        ("kelp".to_string(), "Clear green, invented".to_string()),
        ("ember".to_string(), "Warm red, invented".to_string()),
    ];
    if paint == "own" {
        paints.push(("own".to_string(), "this job\u{2019}s own".to_string()));
    }
    options("cards-paint", &paints, paint);
    let missing = (1..=(2.0 * MOST_COATS) as usize).map(|n| n as f64 / 2.0).filter(|n| !job.cards.ladder.contains(n));
    let full = job.cards.ladder.len() >= MOST_CARDS;
    let mut adds = vec![(String::new(), if full { "no more cards" } else { "Add a card \u{2026}" }.to_string())];
    adds.extend(missing.filter(|_| !full).map(|n| (n.to_string(), coats_in_words(n))));
    options("card-add", &adds, "");
}

/// Which of the invented paints a job sprays, or its own.
fn paint_of(job: &Job) -> &'static str {
    let absorption = job.tinted_clear().absorption;
    let same = |demo: &demonstration::Demonstration| {
        let base = job.under_tint(Degrees(45.0)).map(|base| match base {
            crate::colour::Base::Effect(seen) | crate::colour::Base::Solid(seen) => *seen,
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
    keep_copies(&row, sprayed.cards.len(), "card");
    dom::style(&figure, "--cards", &sprayed.cards.len().to_string());
    let base = looks.card(Micrometres(0.0));
    let aimed = sprayed.aimed().map(|card| card.coats);
    for (element, card) in dom::all(&row, ".card").iter().zip(&sprayed.cards) {
        let film = card.film.mean();
        let (name, chosen) = (coats_in_words(card.coats), app.job.cards.chosen == Some(card.coats));
        let radio: HtmlInputElement = dom::part(element, "input");
        radio.set_value(&card.coats.to_string());
        radio.set_checked(chosen);
        let state = match (chosen, aimed == Some(card.coats)) {
            (true, _) => ", chosen",
            (false, true) => ", closest",
            _ => "",
        };
        dom::say(&dom::part(element, ".card-name"), &format!("{name}{state}"));
        dom::style(&dom::part(element, ".card-paint"), "--colour", &css(&looks.card(film), app.space));
        dom::style(&dom::part(element, ".card-base"), "--colour", &css(&base, app.space));
        fields(&dom::part(element, ".fields"), &app.job, &looks.sticker(film), app.space);
        dom::say(&dom::part(element, ".card-film"), &shown_film(app, film));
        let off = looks.difference(film).map_or("\u{2013}".to_string(), |d| format!("{d:.1}"));
        dom::say(&dom::part(element, ".card-off .value"), &off);
    }
    let band = dom::by_id("car-band");
    let reference = looks.reference();
    dom::style(&band, "--colour", &reference.map_or("none".to_string(), |look| css(&look, app.space)));
    let name = match (&app.job.car, reference.is_some()) {
        (Some(_), true) => "The car",
        (Some(_), false) => "The car: not measured so",
        (None, _) => "The target",
    };
    dom::say(&dom::by_id("car-name"), name);
    let sticker = of_input("cards.sticker");
    let now = serde_json::to_value(app.job.cards.sticker).unwrap_or_default();
    let words = sticker.iter().find(|(value, _)| Some(value.as_str()) == now.as_str()).map(|(_, words)| words.as_str());
    dom::say(&dom::by_id("note-sticker"), &format!("sticker, {}", words.unwrap_or_default()));
}

/// A film with one digit always, so that figures stand in a column.
fn shown_film(app: &App, film: Micrometres) -> String {
    let (symbol, factor, digits) = Unit::Micrometre.shown(app.system);
    format!("{:.digits$}\u{a0}{symbol}", film.0 * factor)
}

fn table(app: &App, sprayed: &Sprayed, looks: &Looks) {
    let (symbol, factor, digits) = Unit::Micrometre.shown(app.system);
    dom::say(&dom::by_id("cards-film-unit"), symbol);
    let body = dom::by_id("cards-rows");
    keep_copies(&body, sprayed.cards.len(), "card-row");
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

/// Angles at which a car's L*, a*, b* can be typed: face, middle, flop.
const TYPED: [f64; 3] = [15.0, 45.0, 110.0];

fn car(app: &App, looks: &Looks) {
    let kind = match &app.job.car {
        None => "target",
        Some(Car::Lab { .. }) => "lab",
        Some(Car::Reflectance(_)) => "spectra",
    };
    let select = dom::select("car-kind");
    if let Some(option) = select.query_selector("option[value=spectra]").ok().flatten() {
        let option: HtmlElement = option.unchecked_into();
        option.set_hidden(kind != "spectra");
    }
    if let Some(option) = select.query_selector("option[value=target]").ok().flatten() {
        let words = match app.job.target {
            Target::Film(film) => format!("{} of this paint", shown(Unit::Micrometre, film.0, app.system)),
            Target::Colour(_) => "as the job\u{2019}s target".to_string(),
        };
        dom::say(&option, &words);
    }
    select.set_value(kind);
    dom::by_id("car-lab").set_hidden(kind != "lab");
    let Some(Car::Lab { illuminant, observer_deg, lab }) = &app.job.car else { return };
    let mut angles = TYPED.map(Degrees).to_vec();
    angles.extend(lab.iter().map(|(angle, _)| *angle).filter(|angle| !TYPED.contains(&angle.0)));
    angles.sort_by(|a, b| a.0.total_cmp(&b.0));
    let body = dom::by_id("car-rows");
    keep_copies(&body, angles.len(), "car-row");
    for (row, angle) in dom::all(&body, "tr").iter().zip(angles) {
        let name = format!("{}\u{b0}", digits_of(angle.0, 0));
        dom::say(&dom::part(row, "th"), &name);
        dom::set(row, "data-angle", &angle.0.to_string());
        let values = lab.iter().find(|(at, _)| *at == angle).map(|(_, lab)| [lab.l, lab.a, lab.b]);
        for (i, (cell, part)) in dom::all(row, ".cell").into_iter().zip(["L*", "a*", "b*"]).enumerate() {
            dom::set(&cell, "aria-label", &format!("{part} at {name}"));
            let field: HtmlInputElement = cell.unchecked_into();
            let active = dom::document().active_element().is_some_and(|active| active == **field);
            if !active && field.get_attribute("data-wrong").is_none() {
                field.set_value(&values.map_or(String::new(), |values| digits_of(values[i], 2)));
            }
        }
    }
    let off = looks.compared.lab().is_none();
    let note = if off { " Nothing is compared under another light or at an angle left empty." } else { "" };
    let note = format!("For {illuminant} and the {observer_deg}\u{b0} observer.{note}");
    dom::say(&dom::by_id("car-light"), &note);
}

fn aim(app: &App, sprayed: &Sprayed, looks: &Looks) {
    let (box_of, button) = (dom::by_id("sticker-aim"), dom::by_id("cards-rehearse"));
    let aimed = sprayed.aimed().filter(|_| app.job.tinted().is_some());
    box_of.set_hidden(aimed.is_none());
    button.clone().unchecked_into::<web_sys::HtmlButtonElement>().set_disabled(aimed.is_none());
    let Some(card) = aimed else {
        dom::say(&button, "Rehearse");
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
}

/// Listens to everything of the place.
pub fn listen() {
    let change = |id: &'static str, f: fn(&mut App, &str)| {
        dom::on(&dom::by_id(id), "change", move |event| {
            let Some(field) = dom::target(&event) else { return };
            let value = js_sys::Reflect::get(&field, &"value".into()).ok().and_then(|value| value.as_string());
            with(move |app| f(app, &value.unwrap_or_default()));
        });
    };
    change("cards-light", |app, value| set(app, "viewing.illuminant", value.into()));
    change("cards-angle", |app, value| {
        let angle = value.parse().unwrap_or(45.0);
        set(app, "viewing.aspecular_deg", crate::job::inputs::plain_number(angle));
    });
    change("cards-sticker", |app, value| set(app, "cards.sticker", value.into()));
    change("cards-paint", take_paint);
    change("car-kind", take_car);
    change("cards-row", |app, value| set(app, "cards.chosen", value.parse::<f64>().map_or(Value::Null, |n| json!(n))));
    change("card-add", |app, value| {
        if let Ok(coats) = value.parse::<f64>() {
            let mut ladder = app.job.cards.ladder.clone();
            ladder.push(coats);
            set(app, "cards.ladder", json!(ladder));
        }
    });
    change("cards-show", |_, value| dom::class(&dom::by_id("cards"), "stickers", value == "stickers"));
    change("graph-of", |app, _| app.stale.column = true);
    files::when_chosen("car-file", car_file);
    dom::on(&dom::by_id("car-rows"), "change", move |_| with(typed_car));
    dom::on(&dom::by_id("cards-rows"), "click", move |event| {
        let button = dom::target(&event).and_then(|target| target.closest("button").ok().flatten());
        let coats = button.and_then(|b| b.get_attribute("data-coats")).and_then(|coats| coats.parse::<f64>().ok());
        if let Some(coats) = coats {
            with(move |app| take_off(app, coats));
        }
    });
    let go = |id: &'static str, place: Place| {
        dom::on(&dom::by_id(id), "click", move |_| with(move |app| app.go(place)));
    };
    go("to-cards", Place::SprayOuts);
    go("to-rehearsal", Place::Rehearsal);
    dom::on(&dom::by_id("cards-rehearse"), "click", move |_| with(rehearse_with));
}

fn set(app: &mut App, path: &str, value: Value) {
    if let Err(problem) = app.set(&[path.to_string()], &value) {
        app.trouble("This was not changed", &problem.to_string());
    }
    app.stale.column = true;
}

fn take_off(app: &mut App, coats: f64) {
    let mut job = app.job.clone();
    job.cards.ladder.retain(|n| *n != coats);
    job.cards.chosen = job.cards.chosen.filter(|chosen| *chosen != coats);
    app.change(job);
    app.stale.column = true;
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
    app.stale.column = true;
}

fn take_car(app: &mut App, kind: &str) {
    app.stale.column = true;
    dom::say(&dom::by_id("car-trouble"), "");
    let mut job = app.job.clone();
    match kind {
        "target" => job.car = None,
        "lab" => {
            // begins with the present target, so that a person sees what kind of numbers are wanted
            let known = |angle: Degrees| {
                let looks = Looks::at(&app.job, angle, Illuminant::D65, app.space)?;
                let film = app.sprayed.as_ref().and_then(|sprayed| Some(sprayed.nearest.as_ref()?.film));
                Some((angle, rounded(looks.lab(film.unwrap_or(Micrometres(35.0))))))
            };
            let lab = vec![known(app.job.viewing.aspecular).or_else(|| known(Degrees(45.0)))].into_iter().flatten();
            let observer_deg = app.job.viewing.observer_deg;
            job.car = Some(Car::Lab { illuminant: "D65".to_string(), observer_deg, lab: lab.collect() });
        }
        "file" => {
            dom::input("car-file").click();
            return;
        }
        _ => return,
    }
    app.change(job);
}

/// Takes the car's colour from a measured file; the last one stays if it is refused.
fn car_file(app: &mut App, name: &str, text: &str) {
    app.stale.column = true;
    let taken = Car::from_file(name, text).and_then(|car| {
        let mut job = app.job.clone();
        job.car = Some(car);
        job.checked()
    });
    match taken {
        Ok(job) => {
            app.change(job);
            dom::say(&dom::by_id("car-trouble"), "");
        }
        Err(problem) => {
            dom::say(&dom::by_id("car-trouble"), &format!("{problem} The colour as it was is still used."));
        }
    }
}

fn rounded(lab: Lab) -> Lab {
    let round = |value: f64| (value * 100.0).round() / 100.0;
    Lab { l: round(lab.l), a: round(lab.a), b: round(lab.b) }
}

/// Takes the typed colours of the car; a row left empty was not measured.
fn typed_car(app: &mut App) {
    app.stale.column = true;
    let Some(Car::Lab { illuminant, observer_deg, .. }) = app.job.car.clone() else { return };
    let trouble = dom::by_id("car-trouble");
    let mut lab = serde_json::Map::new();
    for row in dom::all(&dom::by_id("car-rows"), "tr") {
        let angle = row.get_attribute("data-angle").unwrap_or_default();
        let cells: Vec<String> =
            dom::all(&row, ".cell").into_iter().map(|cell| cell.unchecked_into::<HtmlInputElement>().value()).collect();
        if cells.iter().all(|text| text.trim().is_empty()) {
            continue;
        }
        let numbers: Option<Vec<f64>> = cells.iter().map(|text| number_typed(text)).collect();
        let Some(numbers) = numbers else {
            let text = format!(
                "At {angle}\u{b0} a number is missing or is none: L* 0 to 200, a* and b* \u{2212}200 to 200. Fill the row, or \
                 empty it. The last good colour is still used."
            );
            dom::say(&trouble, &text);
            mark(true);
            return;
        };
        lab.insert(angle, json!(numbers));
    }
    let car = json!({ "lab": lab, "illuminant": illuminant, "observer_deg": observer_deg });
    match app.set(&["car".to_string()], &car) {
        Ok(()) => {
            dom::say(&trouble, "");
            mark(false);
        }
        Err(problem) => {
            dom::say(&trouble, &format!("{problem} The last good colour is still used."));
            mark(true);
        }
    }
}

/// Keeps what was typed wrong in the fields until it is mended.
fn mark(wrong: bool) {
    for cell in dom::all(&dom::by_id("car-rows"), ".cell") {
        let _ = if wrong { cell.set_attribute("data-wrong", "") } else { cell.remove_attribute("data-wrong") };
    }
}

/// A number as typed: comma or point, true minus or hyphen.
pub fn number_typed(text: &str) -> Option<f64> {
    text.trim().replace(',', ".").replace('\u{2212}', "-").parse().ok().filter(|number: &f64| number.is_finite())
}

/// Takes the card aimed at for the job, and goes to rehearse it.
fn rehearse_with(app: &mut App) {
    let Some(coats) = app.sprayed.as_ref().and_then(|sprayed| sprayed.aimed()).map(|card| card.coats) else { return };
    match crate::cards::choose(&app.job, coats) {
        Ok(job) => {
            app.change(job);
            app.go(Place::Rehearsal);
            app.seek(crate::units::Seconds(0.0));
            app.play(!dom::media("(prefers-reduced-motion: reduce)"));
        }
        Err(problem) => app.trouble("The card was not taken", &problem.to_string()),
    }
}
