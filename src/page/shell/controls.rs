//! The controls: built from the table of inputs, kept in step with the job. A control carries the pattern of its path
//! in `data-path`; one listener serves them all.

use crate::parts::choice::option;
use crate::parts::dom;
use crate::parts::layout::even_marks;
use crate::shell::app::App;
use fanlap::job::inputs::{INPUTS, Input, Kind, Range, System, Unit, input, plain_number};
use fanlap::job::{Role, at};
use fanlap::words::digits_of;
use serde_json::Value;
use wasm_bindgen::JsCast;
use web_sys::{Element, HtmlElement, HtmlInputElement, HtmlSelectElement};

/// The four main controls.
const MAIN: [&str; 4] = ["coats[].distance_mm", "gun.fan_width_mm", "coats[].overlap", "coats[].speed_mm_per_s"];

/// Builds every control.
pub fn build(app: &App) {
    let main = dom::by_id("main-controls");
    for path in MAIN {
        append(&main, &control(input(path).expect("a main control is an input"), path, "main"));
    }
    for group in ["coat", "gun", "panel", "hand", "viewing"] {
        let body = group_body(group);
        let section = if group == "coat" { "coats[]" } else { group };
        for input in section_inputs(section) {
            append(&body, &control(input, input.path, "more"));
        }
    }
    paints(app);
}

/// The controls of the paints and the target, one set for each paint.
pub fn paints(app: &App) {
    let body = group_body("paint");
    body.set_inner_html("");
    append(&body, &control(input("target.film_um").expect("an input"), "target.film_um", "more"));
    for (i, paint) in app.job.paints.iter().enumerate() {
        if app.job.paints.len() > 1 {
            let name = dom::plain("h3");
            dom::say(&name, &format!("{}, {}", paint.name, role_in_words(paint.role)));
            append(&body, &name);
        }
        for input in section_inputs("paints[]").filter(|input| applies(input, paint.role)) {
            append(&body, &control(input, &input.path.replace("[]", &format!("[{i}]")), "more"));
        }
    }
}

fn role_in_words(role: Role) -> &'static str {
    match role {
        Role::TintedClear => "tinted clear",
        Role::Clear => "untinted clear",
        Role::Base => "base",
    }
}

/// Whether an input of a paint means anything for its role.
fn applies(input: &Input, role: Role) -> bool {
    match input.key() {
        "kind" | "hides_at_um" => role == Role::Base,
        "scatter_per_um" => role == Role::TintedClear,
        _ => true,
    }
}

/// Inputs of a section that a person can move: numbers with more than one value, choices and flags.
fn section_inputs(section: &str) -> impl Iterator<Item = &'static Input> {
    let section = section.to_string();
    INPUTS.iter().filter(move |input| {
        let movable = match input.kind {
            Kind::Number(range) => range.least < range.most && input.key() != "seed",
            Kind::Choice(..) | Kind::Flag(_) => input.path != "paints[].role",
            Kind::Text(_) => input.path == "coats[].paint",
            Kind::Form(_) => false,
        };
        movable && !MAIN.contains(&input.path) && input.path.rsplit_once('.').is_some_and(|(of, _)| of == section)
    })
}

/// Controls of some inputs, for a part of the page that shows them by itself.
pub fn add(to: &Element, paths: &[&str]) {
    for path in paths {
        append(to, &control(input(path).expect("an input"), path, &to.id()));
    }
}

fn group_body(group: &str) -> HtmlElement {
    dom::part(&dom::by_id("more-settings"), &format!("[data-group={group}]"))
}

fn append(to: &Element, child: &Element) {
    to.append_child(child).expect("elements can be appended");
}

/// One control for an input, in a place of the page that gives it its id.
fn control(input: &Input, path: &str, place: &str) -> HtmlElement {
    let root = dom::template(match input.kind {
        Kind::Number(_) if place == "main" => "main-control",
        Kind::Number(_) => "small-control",
        Kind::Choice(..) | Kind::Text(_) | Kind::Form(_) => "choice-control",
        Kind::Flag(_) => "flag-control",
    });
    let id = format!("{place}-{}", path.replace(['[', ']', '.'], "-"));
    dom::set(&root, "data-path", path);
    let label: HtmlElement = dom::part(&root, ".control-label");
    dom::say(&label, input.name);
    label.set_id(&format!("{id}-label"));
    dom::set(&label, "for", &id);
    let hint: HtmlElement = dom::part(&root, ".hint");
    dom::say(&hint, input.hint);
    hint.set_id(&format!("{id}-hint"));
    let trouble: HtmlElement = dom::part(&root, ".trouble");
    trouble.set_id(&format!("{id}-trouble"));
    let field: HtmlElement = dom::part(&root, ".number, select, input[type=checkbox]");
    field.set_id(&id);
    dom::set(&field, "aria-describedby", &format!("{id}-hint {id}-trouble"));
    match input.kind {
        Kind::Number(range) => slide(&root, &id, &range),
        Kind::Choice(options, _) => options.iter().for_each(|(value, words)| option(&field, value, words)),
        _ => {}
    }
    root
}

/// Ends of a control's track.
fn ends(range: &Range) -> (f64, f64) {
    match range.marks {
        [first, .., last] => (*first, *last),
        _ => (range.least, range.most),
    }
}

fn slide(root: &HtmlElement, id: &str, range: &Range) {
    let slide: HtmlInputElement = dom::part(root, ".slide");
    let (least, most) = ends(range);
    slide.set_min(&least.to_string());
    slide.set_max(&most.to_string());
    slide.set_step(&range.step.to_string());
    slide.set_id(&format!("{id}-slide"));
    dom::set(&slide, "aria-labelledby", &format!("{id}-label"));
    if let Some((from, to)) = range.usual {
        let usual: HtmlElement = dom::part(root, ".usual");
        let share = |x: f64| ((x - least) / (most - least)).clamp(0.0, 1.0).to_string();
        dom::style(&usual, "--from", &share(from));
        dom::style(&usual, "--to", &share(to));
    }
}

/// The marks under a main control's track, in the units shown.
fn marks(root: &HtmlElement, range: &Range, system: System) {
    let Ok(Some(ticks)) = root.query_selector(".ticks") else { return };
    let (symbol, factor, _) = range.unit.shown(system);
    if ticks.get_attribute("data-unit").as_deref() == Some(symbol) {
        return;
    }
    dom::set(&ticks, "data-unit", symbol);
    let (least, most) = ends(range);
    let own_units = system == System::Metric || range.unit == Unit::Percent;
    let places: Vec<f64> = if own_units {
        range.marks.to_vec()
    } else {
        even_marks(least * factor, most * factor, 5.0).iter().map(|mark| mark / factor).collect()
    };
    ticks.set_inner_html("");
    for place in places {
        let tick = dom::template("tick");
        dom::style(&tick, "--at", &((place - least) / (most - least)).to_string());
        dom::say(&dom::part(&tick, "span"), &digits_of(place * factor, 1));
        append(&ticks, &tick);
    }
}

/// Brings every control in step with the job.
pub fn sync(app: &App) {
    // those that are on show; the others catch up when they are
    let more = dom::by_id("more-settings");
    let main = dom::by_id("settings-main");
    sync_within(app, if more.hidden() { &main } else { &more });
    coat_tabs(app);
    coat_list(app);
    let which = match (*app.coat, app.job.coats.len()) {
        (_, 0) => String::new(),
        (Some(coat), _) => format!("Settings of coat {}", coat + 1),
        (None, 1) => "Settings of the coat".to_string(),
        (None, _) => "Settings of all coats".to_string(),
    };
    dom::say(&dom::by_id("coat-which"), &which);
    gists(app);
    let lines = fanlap::strokes::lines;
    let note = app.job.coats.get(app.coat.unwrap_or(0)).map(|coat| {
        let count = lines(&app.job.panel, &app.job.gun, coat).iter().filter(|line| !line.rim).count();
        let (symbol, factor, digits) = Unit::Millimetre.shown(*app.system);
        let apart = digits_of(coat.spacing(&app.job.gun).0 * factor, digits.max(1));
        format!("<b>{count}</b> lines, <b>{apart}</b> {symbol} apart")
    });
    dom::by_id("lines-note").set_inner_html(note.as_deref().unwrap_or("no coats yet"));
    sync_header(app);
    dom::select("light").set_value(&app.job.viewing.illuminant);
    crate::parts::choice::seen_at("angle", &app.job, |_| "");
}

/// Brings the controls of a part of the page in step with the job.
pub fn sync_within(app: &App, within: &Element) {
    let job = app.job.value();
    for root in dom::all(within, ".control[data-path]") {
        let pattern = root.get_attribute("data-path").unwrap_or_default();
        let Some(input) = input(&pattern) else { continue };
        let paths = app.paths(&pattern);
        let values: Vec<Option<Value>> = paths.iter().map(|path| at(&job, path).cloned()).collect();
        let value = values.first().cloned().flatten();
        let absent = value.is_none();
        let differ = values.windows(2).any(|pair| pair[0] != pair[1]);
        match input.kind {
            Kind::Number(range) => {
                number(*app.system, &root, &range, value, differ);
                cure_mark(app, &root, &range, &paths);
            }
            Kind::Choice(..) => {
                choose(&root, value);
                let differing = if differ { ", coats differ" } else { "" };
                dom::say(&dom::part(&root, ".control-label"), &format!("{}{differing}", input.name));
            }
            Kind::Text(_) => paint_names(app, &root, value),
            Kind::Flag(_) => {
                let tick: HtmlInputElement = dom::part(&root, "input");
                tick.set_checked(value == Some(Value::Bool(true)));
            }
            Kind::Form(_) => {}
        }
        let locked = app.locked(&paths);
        dom::class(&root, "locked", locked);
        for field in dom::all(&root, "input, select") {
            let off = locked || (absent && field.tag_name() == "INPUT");
            let _ = field.toggle_attribute_with_force("disabled", off);
        }
    }
}

/// Forgets what is half typed: another job is open.
pub fn forget_typed() {
    let body = dom::document().body().expect("a page has a body");
    for root in dom::all(&body, ".control[data-typed]") {
        let _ = root.remove_attribute("data-typed");
    }
}

/// Brings the header in step with the job.
pub fn sync_header(app: &App) {
    let (undo, redo) = (dom::by_id("undo"), dom::by_id("redo"));
    let off =
        |element: HtmlElement, off: bool| element.unchecked_into::<web_sys::HtmlButtonElement>().set_disabled(off);
    off(undo, app.undo.is_empty());
    off(redo, app.redo.is_empty());
    let title = dom::input("job-title");
    if !is_active(&title) {
        title.set_value(&app.job.title);
    }
}

fn is_active(element: &Element) -> bool {
    dom::document().active_element().as_ref() == Some(element)
}

fn number(system: System, root: &HtmlElement, range: &Range, value: Option<Value>, differ: bool) {
    let field: HtmlInputElement = dom::part(root, ".number");
    let slide: HtmlInputElement = dom::part(root, ".slide");
    let (symbol, factor, digits) = range.unit.shown(system);
    dom::say(&dom::part(root, ".unit"), symbol);
    let off = value.is_none();
    dom::class(root, "off", off);
    let number = value.as_ref().and_then(Value::as_f64);
    let text =
        number.map_or("none".to_string(), |number| digits_of(number * factor, digits_for(range, factor, digits)));
    let text = if off { "\u{2013}".to_string() } else { text };
    if root.get_attribute("data-typed").is_none() {
        field.set_value(&text);
        dom::style(&field, "--chars", &text.chars().count().max(2).to_string());
        dom::class(root, "wrong", false);
        let _ = field.remove_attribute("aria-invalid");
        dom::say(&dom::part(root, ".trouble"), "");
    }
    if let Some(number) = number {
        slide.set_value(&number.to_string());
    }
    dom::set(&slide, "aria-valuetext", &format!("{text} {symbol}"));
    let verdict = match (range.usual, number) {
        _ if differ => "coats differ",
        // what is not there at all is not too little of it: a steady hand
        (Some((from, _)), Some(x)) if x < from - 1e-9 && !(x == 0.0 && range.default == 0.0) => "below usual",
        (Some((_, to)), Some(x)) if x > to + 1e-9 => "above usual",
        _ => "",
    };
    dom::say(&dom::part(root, ".verdict"), verdict);
    marks(root, range, system);
}

/// Marks on a control's track where the cure of the chosen finding, or of the worst one, would set it.
fn cure_mark(app: &App, root: &HtmlElement, range: &Range, paths: &[String]) {
    let mark: HtmlElement = dom::part(root, ".cure-mark");
    let value = app.cure(paths);
    mark.set_hidden(value.is_none());
    if let Some(value) = value {
        let (least, most) = ends(range);
        dom::style(&mark, "--at", &((value - least) / (most - least)).clamp(0.0, 1.0).to_string());
    }
}

/// Digits that show a step of the control.
fn digits_for(range: &Range, factor: f64, digits: usize) -> usize {
    let step = range.step * factor;
    // a typed value may be finer than a step: one digit more than the step's is shown where it has one
    if step < 0.095 { 2 } else { digits.max(1) }
}

fn choose(root: &HtmlElement, value: Option<Value>) {
    let select: HtmlSelectElement = dom::part(root, "select");
    select.set_disabled(value.is_none());
    let text = value.map(|value| value.as_f64().map_or(value.to_string(), |number| plain_number(number).to_string()));
    select.set_value(&text.unwrap_or_default());
}

/// The names of the job's paints as the options of a coat's paint.
fn paint_names(app: &App, root: &HtmlElement, value: Option<Value>) {
    let select: HtmlSelectElement = dom::part(root, "select");
    let names: Vec<&str> = app.job.paints.iter().map(|paint| paint.name.as_str()).collect();
    if select.get_attribute("data-names") != Some(names.join("\n")) {
        dom::set(&select, "data-names", &names.join("\n"));
        select.set_inner_html("");
        names.iter().for_each(|name| option(&select, &Value::from(*name).to_string(), name));
    }
    choose(root, value);
}

/// Tabs for the coats; "All" where there is more than one.
fn coat_tabs(app: &App) {
    let tabs = dom::by_id("coat-tabs");
    let many = app.job.coats.len() > 1;
    let wanted = app.job.coats.len() + usize::from(many);
    if tabs.child_element_count() as usize != wanted {
        tabs.set_inner_html("");
        for i in 0..wanted {
            let tab = dom::template("coat-tab");
            let radio: HtmlInputElement = dom::part(&tab, "input");
            let all = many && i == 0;
            let coat = i - usize::from(many && i > 0);
            radio.set_value(if all { "all".to_string() } else { coat.to_string() }.as_str());
            let name = if all { "All".to_string() } else { format!("Coat {}", coat + 1) };
            dom::set(&radio, "aria-label", &name);
            dom::say(&dom::part(&tab, ".word"), if all { "All" } else { "Coat\u{a0}" });
            dom::say(&dom::part(&tab, ".which"), &if all { String::new() } else { (coat + 1).to_string() });
            append(&tabs, &tab);
        }
    }
    let chosen = match *app.coat {
        Some(coat) => coat.to_string(),
        None if many => "all".to_string(),
        None => "0".to_string(),
    };
    for tab in dom::all(&tabs, "input") {
        let radio: HtmlInputElement = tab.unchecked_into();
        radio.set_checked(radio.value() == chosen);
    }
}

/// The coats in order, with what can be done to each.
fn coat_list(app: &App) {
    let list = dom::by_id("coat-list");
    dom::keep(&list, app.job.coats.len(), || dom::template("coat-row"));
    for (i, (row, coat)) in dom::all(&list, "li").iter().zip(&app.job.coats).enumerate() {
        let name = format!("Coat {}", i + 1);
        dom::say(&dom::part(row, ".coat-name"), &name);
        let amount = if coat.amount.0 == 1.0 {
            "full".to_string()
        } else {
            format!("{} %", digits_of(coat.amount.0 * 100.0, 0))
        };
        let lines = fanlap::strokes::lines(&app.job.panel, &app.job.gun, coat).len();
        let gist = format!("{}, {amount}, {lines} passes", coat.paint);
        dom::say(&dom::part(row, ".coat-gist"), &gist);
        let button = |class: &str, words: String| {
            let button: HtmlElement = dom::part(row, class);
            dom::set(&button, "aria-label", &words);
            dom::set(&button, "data-coat", &i.to_string());
        };
        let choose: HtmlElement = dom::part(row, ".coat-choose");
        dom::set(&choose, "data-coat", &i.to_string());
        dom::set(&choose, "title", &format!("Show the settings of {}", name.to_lowercase()));
        button(".coat-double", format!("Lay {name} once more"));
        button(".coat-remove", format!("Remove {name}"));
        dom::class(row, "chosen", *app.coat == Some(i));
        let _ = if *app.coat == Some(i) {
            row.set_attribute("aria-current", "true")
        } else {
            row.remove_attribute("aria-current")
        };
    }
}

/// One line for each closed group.
fn gists(app: &App) {
    let (job, system) = (&app.job, *app.system);
    let shown = |unit, value| fanlap::words::shown(unit, value, system);
    let hand = &job.hand;
    let faultless = *hand == job.faultless_hand();
    let target = match job.target {
        fanlap::eye::Target::Film(film) => shown(Unit::Micrometre, film.0),
        fanlap::eye::Target::Colour(_) => "a colour".to_string(),
    };
    for (group, gist) in [
        ("coat", format!("{}", job.coats.len())),
        (
            "gun",
            format!(
                "{}, {} arrives",
                shown(Unit::MillilitrePerMinute, job.gun.fluid.0),
                shown(Unit::Percent, job.gun.transfer_efficiency.0)
            ),
        ),
        (
            "panel",
            format!(
                "{} \u{d7} {}",
                shown(Unit::Millimetre, job.panel.length.0),
                shown(Unit::Millimetre, job.panel.width.0)
            ),
        ),
        ("hand", if faultless { "faultless" } else { "with errors" }.to_string()),
        ("paint", target),
        (
            "viewing",
            format!(
                "{}, {}\u{b0}, {}",
                job.viewing.illuminant,
                job.viewing.aspecular.0,
                shown(Unit::Metre, job.viewing.distance.0)
            ),
        ),
    ] {
        dom::say(&dom::part(&dom::by_id("more-settings"), &format!("[data-gist={group}]")), &gist);
    }
}

/// A control was moved or typed into. True if its new value was taken.
pub fn changed(app: &mut App, field: &HtmlElement, finished: bool) -> bool {
    let Ok(Some(root)) = field.closest(".control[data-path]") else { return false };
    let root: HtmlElement = root.unchecked_into();
    let pattern = root.get_attribute("data-path").unwrap_or_default();
    let Some(input) = input(&pattern) else { return false };
    let value = match input.kind {
        Kind::Number(range) if field.class_list().contains("number") => {
            if !finished {
                dom::set(&root, "data-typed", "");
                return false;
            }
            let _ = root.remove_attribute("data-typed");
            match typed(*app.system, &range, &field.unchecked_ref::<HtmlInputElement>().value()) {
                Some(value) => value,
                None => return refuse(app, &root, input, &range),
            }
        }
        Kind::Number(_) => plain_number(field.unchecked_ref::<HtmlInputElement>().value_as_number()),
        Kind::Flag(_) => Value::Bool(field.unchecked_ref::<HtmlInputElement>().checked()),
        _ => match serde_json::from_str(&field.unchecked_ref::<HtmlSelectElement>().value()) {
            Ok(value) => value,
            Err(_) => return false,
        },
    };
    match app.set(&app.paths(&pattern), &value) {
        Ok(()) => {
            let _ = root.remove_attribute("data-typed");
            crate::parts::quiet::changed();
            true
        }
        Err(problem) => match input.kind {
            Kind::Number(range) if problem.at == app.paths(&pattern).first().cloned().unwrap_or_default() => {
                refuse(app, &root, input, &range)
            }
            _ => {
                app.trouble(&format!("{} was not changed", input.name), &problem.to_string());
                false
            }
        },
    }
}

/// What a person typed, in the job file's unit. Comma or point; "none" where a number may be missing.
fn typed(system: System, range: &Range, text: &str) -> Option<Value> {
    let text = text.trim().replace(',', ".").replace('\u{2212}', "-");
    if range.none.is_some() && (text.is_empty() || text == "none" || text == "\u{2013}") {
        return Some(Value::Null);
    }
    let (symbol, factor, _) = range.unit.shown(system);
    let number: f64 = text.trim_end_matches(symbol).trim().parse().ok()?;
    // 60 % is 0.6, not 0.6000000000000001
    let exact = number / factor;
    Some(plain_number(if factor == 100.0 { (exact * 1e9).round() / 1e9 } else { exact }))
}

/// Says at the control what was given, what is allowed, and what the rehearsal still uses.
fn refuse(app: &App, root: &HtmlElement, input: &Input, range: &Range) -> bool {
    let field: HtmlInputElement = dom::part(root, ".number");
    let (symbol, factor, digits) = range.unit.shown(*app.system);
    let digits = digits_for(range, factor, digits);
    let words = |number: f64| digits_of(number * factor, digits);
    let pattern = root.get_attribute("data-path").unwrap_or_default();
    let used = app.paths(&pattern).first().and_then(|path| app.job.get(path)).and_then(|value| value.as_f64());
    let still = used.map_or("none".to_string(), |used| format!("{} {symbol}", words(used)));
    let given = field.value();
    let is_number = typed(*app.system, range, &given).is_some_and(|value| value.is_number());
    let none = range.none.map_or(String::new(), |meaning| format!(", or none ({meaning})"));
    let wrong = match (is_number, given.trim()) {
        (true, given) => {
            let given = given.trim_end_matches(symbol).trim();
            format!("{given} {symbol} is not possible for {}", input.name.to_lowercase())
        }
        (false, "") => format!("{} is missing", input.name),
        (false, given) => format!("\u{201c}{given}\u{201d} is not a number"),
    };
    let text = format!(
        "{wrong}: {} to {} {symbol}{none}. Type a number within. The rehearsal still uses {still}.",
        words(range.least),
        words(range.most),
    );
    dom::say(&dom::part(root, ".trouble"), &text);
    dom::class(root, "wrong", true);
    dom::set(&field, "aria-invalid", "true");
    dom::set(root, "data-typed", "");
    false
}
