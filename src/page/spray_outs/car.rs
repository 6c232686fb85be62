//! The car's colour, within the spray-outs: typed angle by angle or taken from a file. Rows that are not complete stay
//! in the page; the job knows the car once one is. Compares nothing itself.

use crate::parts::dom;
use crate::parts::typed::mark;
use crate::parts::typed::number_typed;
use crate::shell::app::App;
use crate::shell::ask;
use crate::shell::files;
use crate::shell::run::with;
use fanlap::cards::{angles_in_words, light_in_words};
use fanlap::eye::Target;
use fanlap::job::inputs::Unit;
use fanlap::job::{Car, Job};
use fanlap::maths::ascending;
use fanlap::measured::Said;
use fanlap::units::Degrees;
use fanlap::words::{digits_of, shown};
use serde_json::json;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement, HtmlInputElement};

/// Angles at which a car's L*, a*, b* can be typed: face, middle, flop.
const TYPED: [f64; 3] = [15.0, 45.0, 110.0];
/// The light for which typed numbers hold, as instruments usually print them.
const LIGHT: &str = "D65";
/// What is said until a row is complete.
pub const WANTED: &str = "Type the car\u{2019}s L*, a* and b* at one angle or more; until a row is complete the \
          cards are \
                          compared with the target.";

/// Listens to the car's choice, its rows and its file.
pub fn listen() {
    dom::on(&dom::by_id("car-kind"), "change", |_| {
        let kind = dom::select("car-kind").value();
        with(move |app| take(app, &kind));
    });
    files::when_chosen("car-file", |app, name, text| ask::first(app, "car-ask", false, name, text, from_file));
    ask::listen("car-ask");
    let rows = dom::by_id("car-rows");
    dom::on(&rows, "change", |event| {
        if let Some(row) = row_of(dom::target(&event).as_deref()) {
            dom::set(&row, "data-typed", "");
        }
        let within = row_of(dom::document().active_element().as_ref());
        with(move |app| typed(app, within.as_ref()));
    });
    dom::on(&rows, "focusout", |event| {
        let within = row_of(dom::next_focus(&event).as_ref());
        if row_of(dom::target(&event).as_deref()).is_some_and(|row| row.has_attribute("data-typed")) {
            with(move |app| typed(app, within.as_ref()));
        }
    });
}

/// The row of a table that an element stands in.
pub fn row_of(element: Option<&Element>) -> Option<HtmlElement> {
    element?.closest("tr").ok().flatten().map(JsCast::unchecked_into)
}

/// Whether numbers are being typed that are not the job's yet.
pub fn typing() -> bool {
    dom::by_id("car-lab").has_attribute("data-typing")
}

fn set_typing(on: bool) {
    let rows = dom::by_id("car-lab");
    let _ = if on { rows.set_attribute("data-typing", "") } else { rows.remove_attribute("data-typing") };
    dom::by_id("car-rows").set_inner_html("");
    dom::say(&dom::by_id("car-trouble"), "");
}

/// The fields of a row: L*, a*, b*.
fn cells(row: &Element) -> Vec<HtmlInputElement> {
    dom::all(row, ".cell").into_iter().map(JsCast::unchecked_into).collect()
}

fn rows() -> Vec<HtmlElement> {
    dom::all(&dom::by_id("car-rows"), "tr")
}

/// Brings the controls in step with the job.
pub fn sync(app: &App) {
    let kind = match &app.job.car {
        None if typing() => "lab",
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
            Target::Film(film) => format!("{} of this paint", shown(Unit::Micrometre, film.0, *app.system)),
            Target::Colour(_) => "as the job\u{2019}s target".to_string(),
        };
        dom::say(&option, &words);
    }
    select.set_value(kind);
    dom::by_id("car-lab").set_hidden(kind != "lab");
    if kind == "lab" {
        fill(&app.job);
    }
}

fn fill(job: &Job) {
    let (illuminant, observer_deg, lab) = match &job.car {
        Some(Car::Lab { illuminant, observer_deg, lab }) => (illuminant.as_str(), *observer_deg, &lab[..]),
        _ => (LIGHT, job.viewing.observer_deg, &[][..]),
    };
    // a car can be measured where the base was not
    let mut angles: Vec<Degrees> = TYPED.map(Degrees).to_vec();
    let more: Vec<Degrees> = lab.iter().map(|(angle, _)| *angle).filter(|angle| !angles.contains(angle)).collect();
    angles.extend(more);
    ascending(&mut angles, |angle| angle.0);
    let body = dom::by_id("car-rows");
    dom::keep(&body, angles.len(), || dom::template("car-row"));
    for (row, angle) in rows().iter().zip(angles) {
        let name = format!("{}\u{b0}", digits_of(angle.0, 0));
        dom::say(&dom::part(row, "th"), &name);
        dom::set(row, "data-angle", &angle.0.to_string());
        let values = lab.iter().find(|(at, _)| *at == angle).map(|(_, lab)| [lab.l, lab.a, lab.b]);
        for (i, (field, part)) in cells(row).iter().zip(PARTS).enumerate() {
            dom::set(field, "aria-label", &format!("{part} at {name}"));
            let active = dom::document().active_element().is_some_and(|active| active == ***field);
            if !active && !row.has_attribute("data-typed") {
                field.set_value(&values.map_or(String::new(), |values| digits_of(values[i], 2)));
            }
        }
    }
    let mut note = format!("For {} and the {observer_deg}\u{b0} observer, gloss left out.", light_in_words(illuminant));
    let known = job.angles();
    if TYPED.iter().any(|angle| !known.contains(&Degrees(*angle))) {
        note += &format!(" Compared at {} only: the base was measured there.", angles_in_words(&known, "and"));
    }
    dom::say(&dom::by_id("car-light"), &note);
}

fn take(app: &mut App, kind: &str) {
    if kind == "file" {
        dom::input("car-file").click();
        return;
    }
    ask::close("car-ask");
    set_typing(kind == "lab");
    if kind == "target" || (kind == "lab" && !matches!(app.job.car, Some(Car::Lab { .. }))) {
        let mut job = app.job.clone();
        job.car = None;
        app.change(job);
    }
}

/// Takes the car's colour from a measured file; the last one stays if it is refused.
fn from_file(app: &mut App, name: &str, text: &str, said: Said) {
    let taken = Car::from_file(name, text, said).and_then(|car| {
        let mut job = app.job.clone();
        job.car = Some(car);
        job.checked()
    });
    match taken {
        Ok(job) => {
            set_typing(false);
            app.change(job);
        }
        Err(problem) => {
            let text = format!(
                "This is not a file of the car\u{2019}s measured colour; CSV, CGATS.17 text or CxF3 are read. \
                 {problem} The \
                 colour as it was is still used."
            );
            dom::say(&dom::by_id("car-trouble"), &text);
        }
    }
}

/// Takes the typed colours of the car; a row left empty was not measured. A row that the hand is still in may be
/// incomplete.
fn typed(app: &mut App, within: Option<&HtmlElement>) {
    let trouble = dom::by_id("car-trouble");
    let (illuminant, observer_deg, known) = match app.job.car.clone() {
        Some(Car::Lab { illuminant, observer_deg, lab }) => (illuminant, observer_deg, lab),
        _ => (LIGHT.to_string(), app.job.viewing.observer_deg, Vec::new()),
    };
    let mut lab = serde_json::Map::new();
    let mut said = String::new();
    for row in rows() {
        let angle = row.get_attribute("data-angle").unwrap_or_default();
        let was = known.iter().find(|(at, _)| at.0.to_string() == angle);
        if let (Some((_, was)), false) = (was, row.has_attribute("data-typed")) {
            // as measured, with all its digits
            lab.insert(angle, json!([was.l, was.a, was.b]));
            continue;
        }
        let fields = cells(&row);
        if fields.iter().all(|field| field.value().trim().is_empty()) {
            mark(&fields, &[], "car-trouble");
            continue;
        }
        let numbers: Vec<Option<f64>> =
            (0..3).map(|i| number_typed(&fields[i].value()).filter(|value| sound(i, *value))).collect();
        // an empty field is not wrong while the hand is still in its row; anything else is told at once
        let waits = |field: &HtmlInputElement| within == Some(&row) && field.value().trim().is_empty();
        let wrong: Vec<bool> =
            fields.iter().zip(&numbers).map(|(field, number)| number.is_none() && !waits(field)).collect();
        mark(&fields, &wrong, "car-trouble");
        if let Some(i) = wrong.iter().position(|wrong| *wrong) {
            said = refused(&format!("{} at {angle}\u{b0}", PARTS[i]), &fields[i].value(), i);
            said += match app.job.car {
                Some(_) => " The last good colour is still used.",
                None => " Until it is right the cards are compared with the target.",
            };
            break;
        }
        if numbers.iter().all(Option::is_some) {
            lab.insert(angle, json!(numbers));
        } else if let Some((_, was)) = was {
            // the hand is still in it: what was known of it stands
            lab.insert(angle, json!([was.l, was.a, was.b]));
        }
    }
    dom::say(&trouble, &said);
    if !said.is_empty() {
        return;
    }
    let car = match lab.is_empty() {
        true => serde_json::Value::Null,
        false => json!({ "lab": lab, "illuminant": illuminant, "observer_deg": observer_deg }),
    };
    if let Err(problem) = app.set(&["car".to_string()], &car) {
        dom::say(&trouble, &format!("{} The last good colour is still used.", problem.plainly()));
        return;
    }
    let left = rows().into_iter().filter(|row| within != Some(row));
    left.for_each(|row| {
        let _ = row.remove_attribute("data-typed");
    });
    // an emptied table is still one to type in
    let _ = dom::by_id("car-lab").set_attribute("data-typing", "");
}

/// Parts of a colour, as their fields stand in a row.
pub const PARTS: [&str; 3] = ["L*", "a*", "b*"];

/// Whether a part of a colour can be so large.
pub fn sound(part: usize, value: f64) -> bool {
    if part == 0 { (0.0..=200.0).contains(&value) } else { value.abs() <= 200.0 }
}

/// Says what is wrong with a part of a colour.
pub fn refused(what: &str, given: &str, part: usize) -> String {
    let goes = format!("{} goes from {} to 200", PARTS[part], if part == 0 { "0" } else { "\u{2212}200" });
    match given.trim() {
        "" => format!("{what} is missing; {goes}."),
        given if number_typed(given).is_some() => format!("{what} cannot be {given}: {goes}."),
        given => format!("{what}: \u{201c}{given}\u{201d} is not a number; {goes}."),
    }
}
