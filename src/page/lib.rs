//! The page: listens to the person, lets the app change, asks for frames. The only part that knows a browser; whatever
//! it shows can be had from the core.

#![cfg(target_arch = "wasm32")]

#[cfg(not(target_feature = "simd128"))]
compile_error!("build with simd128: see .cargo/config.toml");

mod booth;
mod figure;
mod parts;
mod practice;
mod rehearsal;
mod shell;
mod spray_outs;

use booth::BoothSheet;
use fanlap::colour::ScreenSpace;
use fanlap::job::inputs::System;
use fanlap::job::{Files, Job};
use fanlap::units::Seconds;
use figure::Figure;
use parts::dom;
use practice::ByHand;
use rehearsal::Rehearsal;
use shell::app::App;
use shell::kept::{self, Keeper};
use shell::own::Shell;
use shell::room::Rooms;
use shell::run::with;
use shell::{address, controls, fields, files, help, plan, rest, run};
use spray_outs::SprayOuts;
use wasm_bindgen::prelude::*;

/// All that is brought in step, in this order: what the first picture has, then what comes with the rest of the code.
const ROOMS: Rooms = &[&Figure, &Shell, &ByHand, &Rehearsal, &SprayOuts, &BoothSheet, &Keeper];
const FIRST: Rooms = &[&Figure, &Shell];

/// Rehearses the text of a job file: the report as an object, its findings with their causes and cures. For scripts
/// beside the page.
#[wasm_bindgen]
pub fn rehearse(job: &str) -> Result<JsValue, JsValue> {
    let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
    let report = fanlap::report::in_full(&fanlap::appraisal::appraise(&job));
    let as_objects = serde_wasm_bindgen::Serializer::json_compatible();
    serde::Serialize::serialize(&report, &as_objects).map_err(Into::into)
}

/// Film of a job's first paint, every bit: um, cell by cell. For checks against the native program.
#[wasm_bindgen]
pub fn film(job: &str) -> Result<Vec<f64>, JsValue> {
    let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
    Ok(fanlap::rehearsal::rehearse(&job).film(0))
}

/// The present job as the text of a job file.
#[wasm_bindgen]
pub fn present_job() -> String {
    run::read(|app| app.kept().text()).unwrap_or_default()
}

/// The rest of the code is there.
#[wasm_bindgen]
pub fn rest_came() {
    rest::came(ROOMS);
}

/// Opens the page. Called once, when the fonts are there; `whole` says that the rest of the code is there too.
#[wasm_bindgen]
pub fn start(whole: bool) {
    let rooms = if whole { ROOMS } else { FIRST };
    if whole {
        rest::was_here();
    }
    std::panic::set_hook(Box::new(|panic| {
        web_sys::console::error_1(&JsValue::from_str(&panic.to_string()));
        if kept::loads() {
            return kept::refuse(&format!("The page stopped over it: {panic}"));
        }
        let notice = dom::by_id("notice");
        dom::say(&dom::part(&notice, "[data-part=what]"), "The page has failed");
        let why = format!("Load it again: the job is kept. What happened: {panic}");
        dom::say(&dom::part(&notice, "[data-part=why]"), &why);
        notice.set_hidden(false);
    }));
    help::build();
    let space = if dom::media("(color-gamut: p3)") { ScreenSpace::DisplayP3 } else { ScreenSpace::Srgb };
    let mut app = match kept::restore(rooms, space) {
        Ok(app) => app.unwrap_or_else(|| first_visit(rooms, space)),
        Err(why) => return kept::refuse(&why),
    };
    // an address that carries a job has brought the rest of the code
    if whole {
        files::arrive(&mut app, "The last job is shown instead.");
    }
    dom::class(&dom::body(), "starting", false);
    controls::build(&app);
    app.go(address::place().unwrap_or(*app.place));
    run::begin(app);
    rooms.iter().for_each(|room| room.listen());
    with(|app| {
        fields::name_view(*app.view);
        dom::choose("units", if *app.system == System::Us { "us" } else { "metric" });
        dom::select("speed").set_value(&app.rate.to_string());
    });
    let root = dom::document().document_element().expect("a page has a root");
    dom::set(&root, "data-ready", "yes");
}

/// The first visit: the bonnet, a few passes into its first coat, being sprayed; at its end where motion is not wanted.
fn first_visit(rooms: Rooms, space: ScreenSpace) -> App {
    let mut app = App::new(plan::first_job(), rooms, space);
    if dom::media("(prefers-reduced-motion: reduce)") {
        *app.time = app.shown.rehearsal().total();
    } else {
        *app.time = app.shown.rehearsal().passes().get(4).map_or(Seconds(0.0), |pass| pass.start);
        *app.playing = true;
    }
    app
}
