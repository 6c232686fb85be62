//! The booth sheet and the advice beside it: the sheet is the core's document, the search for plans runs in a worker that
//! tells its progress and its best so far and can be stopped. Advises nothing itself.

use super::app::{App, Place};
use super::practice::by_hand;
use super::{controls, dom, files, with};
use crate::advice::{Advice, Forgives, From, Plan, Search, Steadiness, Wishes};
use crate::job::inputs::{System, Unit};
use crate::job::{Files, Job};
use crate::practice::performance;
use crate::words::{clock, digits_of, shown, volume};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;
use web_sys::{HtmlButtonElement, HtmlElement, MessageEvent, Worker, WorkerOptions, WorkerType};

/// The place's state.
#[derive(Default)]
pub struct Booth {
    /// Job and units of the sheet that is shown.
    sheet_of: Option<(Job, System)>,
    /// Names of the paints whose mixing is shown.
    mixing: Vec<String>,
    /// The search that is under way, 0..1.
    progress: Option<f64>,
    /// The job that the search is of.
    of: Option<Job>,
    /// Its plans so far, and what that colour forgives.
    advice: Option<Advice>,
    /// Why it failed.
    failed: Option<String>,
}

thread_local! {
    static WORKER: RefCell<Option<Worker>> = const { RefCell::new(None) };
}

/// The search for plans, one rehearsal a step: what the worker runs.
#[wasm_bindgen]
pub struct Advising {
    search: Search,
}

#[wasm_bindgen]
impl Advising {
    /// Begins with the text of a job file, the difference that counts as right, the reach in mm and the hand as JSON.
    #[wasm_bindgen(constructor)]
    pub fn new(job: &str, within: f64, reach: f64, hand: &str) -> Result<Advising, JsValue> {
        let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
        let mut wishes = Wishes::of(&job);
        (wishes.within, wishes.reach.0) = (within, reach);
        if let Ok(hand) = serde_json::from_str::<Steadiness>(hand) {
            wishes.hand = hand;
        }
        let search = Search::new(&job, &wishes);
        let why = "This job has no tinted clear with a coat, or a target that no film of it meets.";
        search.map(|search| Self { search }).ok_or_else(|| JsValue::from_str(why))
    }

    /// One step; false when all is done.
    pub fn step(&mut self) -> bool {
        self.search.step()
    }

    /// How far it has come, 0..1.
    pub fn progress(&self) -> f64 {
        self.search.progress()
    }

    /// How many plans are proved.
    pub fn proved(&self) -> usize {
        self.search.proved()
    }

    /// The advice so far, as JSON.
    pub fn advice(&self) -> String {
        serde_json::to_string(&self.search.advice()).unwrap_or_default()
    }
}

/// Listens to the place's controls.
pub fn listen() {
    let click = |id: &'static str, f: fn(&mut App)| dom::on(&dom::by_id(id), "click", move |_| with(f));
    click("advice-search", |app| if app.booth.progress.is_some() { stop(app) } else { search(app) });
    click("sheet-save", |app| files::sheet(app));
    dom::on(&dom::by_id("sheet-print"), "click", |_| {
        let _ = dom::window().print();
    });
    dom::on(&dom::by_id("advice-plans"), "click", |event| {
        let Some(button) = dom::target(&event).and_then(|target| target.closest("button").ok().flatten()) else {
            return;
        };
        let Some(i) = button.get_attribute("data-plan").and_then(|i| i.parse::<usize>().ok()) else { return };
        with(|app| take(app, i));
    });
}

fn number(id: &str, (least, most): (f64, f64)) -> Result<f64, String> {
    let text = dom::input(id).value();
    let value = super::spray_outs::number_typed(&text).filter(|value| (least..=most).contains(value));
    value.ok_or_else(|| {
        format!("\u{201c}{text}\u{201d} is not a number from {least} to {most}. Type one and search again.")
    })
}

/// The hand that was chosen: as the job has it, assumed, or as Practice shows it.
fn hand(app: &App) -> Option<Steadiness> {
    match dom::select("advice-hand").value().as_str() {
        "measured" => {
            let job = by_hand(app);
            let told = performance(&job, app.practice.coat)?;
            Steadiness::measured(&job, app.practice.coat, &told)
        }
        _ => Some(Steadiness::of(&app.job)),
    }
}

/// Starts the search.
fn search(app: &mut App) {
    let trouble = dom::by_id("advice-trouble");
    dom::say(&trouble, "");
    let factor = Unit::Millimetre.shown(app.system).1;
    let wishes = number("advice-within", (0.1, 10.0))
        .and_then(|within| Ok((within, number("advice-reach", (200.0 * factor, 3000.0 * factor))? / factor)));
    let (within, reach) = match wishes {
        Ok(wishes) => wishes,
        Err(why) => return dom::say(&trouble, &why),
    };
    let Some(hand) = hand(app) else {
        return dom::say(
            &trouble,
            "Practice has less than three passes of this job: spray some there, or choose the job\u{2019}s hand.",
        );
    };
    let options = WorkerOptions::new();
    options.set_type(WorkerType::Module);
    let Ok(worker) = Worker::new_with_options("./worker.js", &options) else { return };
    dom::on(&worker, "message", |event| {
        let data = event.unchecked_ref::<MessageEvent>().data();
        with(|app| told(app, &data));
    });
    let message = js_sys::Object::new();
    let hand = serde_json::to_string(&hand).unwrap_or_default();
    let fields: [(&str, JsValue); 4] =
        [("advise", app.job.text().into()), ("within", within.into()), ("reach", reach.into()), ("hand", hand.into())];
    for (key, value) in fields {
        let _ = js_sys::Reflect::set(&message, &key.into(), &value);
    }
    let _ = worker.post_message(&message);
    WORKER.with(|cell| *cell.borrow_mut() = Some(worker));
    (app.booth.progress, app.booth.advice, app.booth.failed) = (Some(0.0), None, None);
    app.booth.of = Some(app.job.clone());
    app.stale.column = true;
}

/// Stops it; what was proved so far stays.
fn stop(app: &mut App) {
    if let Some(worker) = WORKER.with(|cell| cell.borrow_mut().take()) {
        worker.terminate();
    }
    app.booth.progress = None;
    app.stale.column = true;
}

fn told(app: &mut App, data: &JsValue) {
    let get = |key: &str| js_sys::Reflect::get(data, &key.into()).unwrap_or(JsValue::UNDEFINED);
    if app.booth.progress.is_none() {
        return;
    }
    if let Some(advice) = get("advice").as_string().and_then(|text| serde_json::from_str(&text).ok()) {
        app.booth.advice = Some(advice);
    }
    app.booth.failed = get("failed").as_string();
    app.booth.progress = get("progress").as_f64();
    if app.booth.progress.is_none_or(|progress| progress >= 1.0) {
        stop(app);
    }
    app.stale.column = true;
}

/// Takes a plan's coats for the job; undo takes it back.
fn take(app: &mut App, i: usize) {
    let Some(plan) = app.booth.advice.as_ref().and_then(|advice| advice.plans.get(i)) else { return };
    match plan.setting.of(&app.job).checked() {
        Ok(job) => {
            app.change(job);
            dom::say(&dom::by_id("said"), "The plan is taken; undo brings the one before back.");
        }
        Err(problem) => app.trouble("The plan was not taken", &problem.to_string()),
    }
}

/// Brings the place in step.
pub fn sync(app: &mut App) {
    if app.place != Place::Sheet {
        return;
    }
    let made = app.booth.sheet_of.as_ref().is_some_and(|(job, system)| *job == app.job && *system == app.system);
    if !made {
        dom::by_id("booth-sheet").set_inner_html(&crate::sheet::body(&app.job, app.system));
        app.booth.sheet_of = Some((app.job.clone(), app.system));
    }
    mixing(app);
    wishes(app);
    let running = app.booth.progress;
    dom::say(&dom::by_id("advice-search"), if running.is_some() { "Stop" } else { "Search for plans" });
    let bar = dom::by_id("advice-progress");
    bar.set_hidden(running.is_none());
    dom::set(&bar, "value", &running.unwrap_or(0.0).to_string());
    dom::say(&dom::by_id("advice-state"), &state(app));
    let advice = app.booth.advice.as_ref();
    let plans = advice.map_or(&[][..], |advice| &advice.plans);
    let list = dom::by_id("advice-plans");
    dom::keep(&list, plans.len(), || dom::template("advice-plan"));
    for (i, (item, plan)) in dom::all(&list, "li").iter().zip(plans).enumerate() {
        one(app, item, i, plan);
    }
    let forgives = advice.and_then(|advice| advice.forgives.as_ref());
    dom::by_id("advice-forgives").set_hidden(forgives.is_none());
    if let Some(forgives) = forgives {
        forgiving(app, forgives);
    }
}

/// Whether the plans are for the job as it is now, whatever its coats are.
fn fits(app: &App) -> bool {
    let same = |of: &Job| {
        let now = &app.job;
        (&of.gun, &of.panel, &of.target) == (&now.gun, &now.panel, &now.target)
            && of
                .paints
                .iter()
                .map(|paint| (&paint.name, &paint.absorption))
                .eq(now.paints.iter().map(|paint| (&paint.name, &paint.absorption)))
            && of
                .paints
                .iter()
                .map(|paint| paint.solids_by_volume)
                .eq(now.paints.iter().map(|paint| paint.solids_by_volume))
    };
    app.booth.of.as_ref().is_some_and(same)
}

/// The mixing ratios of the paints that are sprayed.
fn mixing(app: &mut App) {
    let body = dom::by_id("booth-mix");
    if !app.job.paints.iter().map(|paint| &paint.name).eq(&app.booth.mixing) {
        body.set_inner_html("");
        for (i, paint) in app.job.paints.iter().enumerate() {
            let heading = dom::plain("h3");
            dom::say(&heading, &paint.name);
            let _ = body.append_child(&heading);
            let paths =
                ["parts_paint", "parts_hardener", "parts_thinner", "reserve"].map(|key| format!("paints[{i}].{key}"));
            controls::add(&body, &paths.each_ref().map(String::as_str));
        }
        app.booth.mixing = app.job.paints.iter().map(|paint| paint.name.clone()).collect();
    }
    controls::sync_within(app, &body);
}

fn wishes(app: &App) {
    let (unit, factor, digits) = Unit::Millimetre.shown(app.system);
    dom::say(&dom::by_id("advice-reach-unit"), unit);
    let reach = dom::input("advice-reach");
    // typed in the other unit it would mean something else
    if reach.get_attribute("data-unit").as_deref() != Some(unit) {
        reach.set_value(&digits_of(Wishes::of(&app.job).reach.0 * factor, digits));
        dom::set(&reach, "data-unit", unit);
    }
    let text = hand(app).map_or("Practice has less than three passes of this job.".to_string(), |hand| {
        let mm = |value: f64| shown(Unit::Millimetre, value, app.system);
        let from = match hand.from {
            From::Job => "as the job\u{2019}s hand",
            From::Measured => "as in Practice",
            From::Assumed => "assumed, half a novice\u{2019}s",
        };
        format!(
            "Strays by {} in distance, {} off the line, {} in speed, {:.0}\u{b0} ({from}).",
            mm(hand.distance_mm),
            mm(hand.line_mm),
            shown(Unit::Percent, hand.speed, app.system),
            hand.angle_deg
        )
    });
    dom::say(&dom::by_id("advice-hand-text"), &text);
}

fn state(app: &App) -> String {
    let booth = &app.booth;
    if let Some(why) = &booth.failed {
        return why.clone();
    }
    let Some(advice) = &booth.advice else {
        let idle = "Searches what can be sprayed from within reach, then proves the best with hands it has not seen.";
        return if booth.progress.is_some() {
            "Trying what can be sprayed \u{2026}".to_string()
        } else {
            idle.to_string()
        };
    };
    if let Some(why) = &advice.none_because {
        return why.clone();
    }
    let percent = |share: f64| digits_of(100.0 * share, 0);
    let [low, high] = advice.present.in_window_from_to;
    let besides = match (booth.progress.is_some(), fits(app)) {
        (true, _) => " More are being proved.",
        (_, false) => " The job was changed since: search again.",
        _ => "",
    };
    format!(
        "{} settings were tried. As the job stood, {} % of the panel was in the window ({} to {}, 19 times of 20).{besides}",
        advice.tried,
        percent(advice.present.in_window),
        percent(low),
        percent(high)
    )
}

fn one(app: &App, item: &HtmlElement, i: usize, plan: &Plan) {
    let part = |name: &str| -> HtmlElement { dom::part(item, &format!("[data-part={name}]")) };
    let best = plan.best_at.join(", ");
    let name =
        best.chars().next().map_or(String::new(), |first| first.to_uppercase().to_string() + &best[first.len_utf8()..]);
    dom::say(&part("name"), &name);
    let of = app.booth.of.as_ref().unwrap_or(&app.job);
    dom::say(&part("text"), &plan.setting.text(of, app.system));
    let figures = &plan.figures;
    let percent = |share: f64| format!("{} %", digits_of(100.0 * share, 0));
    let [low, high] = figures.in_window_from_to;
    let lost = if figures.edge_lost > 0.005 {
        format!(", wet edge lost on {}", percent(figures.edge_lost))
    } else {
        String::new()
    };
    let text = format!(
        "{} of the panel in the window ({} to {}; one hand in ten below {}; faultless {}). {} passes, {} sprayed, {} in all, {}{lost}.",
        percent(figures.in_window),
        digits_of(100.0 * low, 0),
        digits_of(100.0 * high, 0),
        percent(figures.in_window_tenth),
        percent(figures.in_window_faultless),
        figures.passes,
        clock(figures.spraying_s),
        clock(figures.total_s),
        volume(figures.sprayed_ml, app.system),
    );
    dom::say(&part("figures"), &text);
    let button = part("take");
    dom::set(&button, "data-plan", &i.to_string());
    let taken = app.job.coats == plan.setting.of(&app.job).coats;
    dom::say(&button, if taken { "This is the plan" } else { "Take this plan" });
    button.unchecked_into::<HtmlButtonElement>().set_disabled(taken || !fits(app));
}

fn forgiving(app: &App, forgives: &Forgives) {
    let um = |value: f64| shown(Unit::Micrometre, value, app.system);
    let body = dom::by_id("forgives-rows");
    dom::keep(&body, forgives.angles.len(), || dom::template("forgives-row"));
    for (row, at) in dom::all(&body, "tr").iter().zip(&forgives.angles) {
        let window = at.window_um.map_or("\u{2013}".to_string(), |[low, high]| format!("{} to {}", um(low), um(high)));
        let seen = at.seen_um.map_or("\u{2013}".to_string(), |seen| format!("\u{b1} {}", um(seen)));
        let texts = [
            ("angle", format!("{:.0}\u{b0}", at.aspecular_deg).replace('-', "\u{2212}")),
            ("window", window),
            ("seen", seen),
        ];
        for (part, text) in texts {
            dom::say(&dom::part(row, &format!("[data-part={part}]")), &text);
        }
    }
    dom::say(&dom::by_id("forgives-text"), &forgives.text(app.system));
}
