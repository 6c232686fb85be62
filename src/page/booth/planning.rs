//! The booth sheet and the advice beside it: the sheet is the core's document, the search for plans runs in a worker
//! that tells its progress and its best so far and can be stopped. Advises nothing itself.

use crate::booth::state::{booth, booth_mut};
use crate::parts::dom;
use crate::parts::typed::{at_field, number};
use crate::shell::app::{App, Place};
use crate::shell::controls;
use crate::shell::files;
use crate::shell::run::with;
use crate::shell::workers::{self, Helper};
use fanlap::advice::{Advice, Figures, Forgives, From, MOST_MIN, MOST_ML, Plan, REACH, Steadiness, WITHIN, Wishes};
use fanlap::job::inputs::Unit;
use fanlap::job::{Job, Paint};
use fanlap::practice::performance;
use fanlap::sheet::Foreseen;
use fanlap::strokes::{Along, Reach};
use fanlap::units::Millimetres;
use fanlap::words::{between, clock, digits_of, shown, volume_unit};
use std::cell::RefCell;
use wasm_bindgen::prelude::*;
use web_sys::{HtmlButtonElement, HtmlElement};

thread_local! {
    static ADVISER: RefCell<Option<Helper>> = const { RefCell::new(None) };
    static FORESEER: RefCell<Option<Helper>> = const { RefCell::new(None) };
}

/// Listens to the place's controls.
pub fn listen() {
    let click = |id: &'static str, f: fn(&mut App)| dom::on(&dom::by_id(id), "click", move |_| with(f));
    click("advice-search", |app| {
        if booth(app).progress.is_none() {
            return search(app);
        }
        stop(app);
        booth_mut(app).failed = Some("Stopped. The plans that were finished stay.".to_string());
    });
    click("sheet-save", save);
    for id in ["advice-hand", "advice-reach", "advice-paint", "advice-minutes"] {
        dom::on(&dom::by_id(id), "change", |_| with(changed));
    }
    dom::on(&dom::by_id("advice-within"), "change", |_| with(set_within));
    dom::on(&dom::by_id("sheet-print"), "click", |_| {
        let _ = dom::window().print();
    });
    // by the browser's own keys too a whole sheet is printed
    dom::on(&dom::window(), "beforeprint", |_| with(complete));
    dom::on(&dom::by_id("advice-plans"), "click", |event| {
        let Some(button) = dom::target(&event).and_then(|target| target.closest("button").ok().flatten()) else {
            return;
        };
        let Some(i) = button.get_attribute("data-plan").and_then(|i| i.parse::<usize>().ok()) else { return };
        with(|app| take(app, i));
    });
}

/// Saves the sheet as a document of its own.
fn save(app: &mut App) {
    let text = fanlap::sheet::document(&app.job, *app.system, *app.within, booth(app).foreseen());
    files::document(&text, &files::name(app, "-booth-sheet.html"));
}

/// A number without a unit.
const PLAIN: (&str, f64, usize) = ("", 1.0, 1);

/// A wish was changed: what is wrong with it is said at once, and plans that were sought with another one are old.
fn changed(app: &mut App) {
    dom::say(&dom::by_id("advice-trouble"), &wrong_wishes(app));
}

/// A number's field: its limits, and how it is shown.
type Field = (&'static str, (f64, f64), (&'static str, f64, usize));

/// The fields of the numbers that can be wished for.
fn fields(app: &App) -> [Field; 3] {
    [
        ("advice-reach", REACH, Unit::Millimetre.shown(*app.system)),
        ("advice-paint", MOST_ML, volume_unit(*app.system)),
        ("advice-minutes", MOST_MIN, ("min", 1.0, 0)),
    ]
}

/// What is wrong with the wishes, each at its own field; nothing if they can be searched for.
fn wrong_wishes(app: &App) -> String {
    let wrong: Vec<String> = fields(app)
        .into_iter()
        .filter_map(|(id, limits, unit)| at_field(id, "advice-trouble", number(id, limits, unit)).err())
        .collect();
    if wrong.is_empty() { wished(app).err().unwrap_or_default() } else { wrong.join(" ") }
}

/// Takes the difference that counts as right; the section and the sheet follow it.
fn set_within(app: &mut App) {
    if let Ok(within) = told_within() {
        *app.within = within.unwrap_or(1.0);
    }
}

/// The difference that counts as right; what is wrong with it is told at its field.
fn told_within() -> Result<Option<f64>, String> {
    let within = at_field("advice-within", "within-trouble", number("advice-within", WITHIN, PLAIN));
    dom::say(&dom::by_id("within-trouble"), within.as_ref().err().map_or("", String::as_str));
    within
}

/// What is wished for, as the fields have it.
fn wished(app: &App) -> Result<Wishes, String> {
    let usual = Wishes::of(&app.job);
    let hand = hand(app)
        .ok_or("Practice has less than three passes of this job: spray some there, or choose the job\u{2019}s hand.")?;
    let [reach, most_ml, most_min] = fields(app).map(|(id, limits, unit)| number(id, limits, unit));
    Ok(Wishes {
        // a wrong one is told at its own field; the last good one counts
        within: number("advice-within", WITHIN, PLAIN).map_or(*app.within, |within| within.unwrap_or(usual.within)),
        reach: Millimetres(reach?.unwrap_or(usual.reach.0)),
        most_ml: most_ml?,
        most_min: most_min?,
        hand,
        ..usual
    })
}

/// The hand that was chosen: as the job has it, assumed, or as Practice shows it.
fn hand(app: &App) -> Option<Steadiness> {
    match dom::select("advice-hand").value().as_str() {
        "measured" => {
            let job = app.by_hand();
            let told = performance(&job, app.recorded.coat)?;
            Steadiness::measured(&job, app.recorded.coat, &told)
        }
        _ => Some(Steadiness::of(&app.job)),
    }
}

/// Starts the search.
fn search(app: &mut App) {
    let wrong = wrong_wishes(app);
    dom::say(&dom::by_id("advice-trouble"), &wrong);
    let (Ok(wishes), Ok(_)) = (wished(app), told_within()) else { return };
    app.within.put(wishes.within);
    let booth = booth_mut(app);
    (booth.failed, booth.deaths.0) = (None, 0);
    booth_mut(app).of = Some((app.job.clone(), wishes));
    begin(app);
    dom::by_id("advice-search").scroll_into_view();
}

/// Has a worker of its own search for what was wished.
fn begin(app: &mut App) {
    let Some((job, wishes)) = &booth(app).of else { return };
    let Some(helper) = Helper::start(told, adviser_died) else { return };
    let text = serde_json::to_string(wishes).unwrap_or_default();
    helper.send(&[("advise", job.text().into()), ("wishes", text.into())]);
    ADVISER.with(|cell| *cell.borrow_mut() = Some(helper));
    let booth = booth_mut(app);
    (booth.progress, booth.advice) = (Some(0.0), None);
}

/// The worker of the search has died: the search is begun once more.
fn adviser_died(app: &mut App, why: &str) {
    if booth(app).progress.is_none() {
        return;
    }
    booth_mut(app).deaths.0 += 1;
    if booth(app).deaths.0 == 1 {
        begin(app);
    } else {
        booth_mut(app).failed =
            Some(format!("Plans could not be computed: {why}. Search again, or change something first."));
        stop(app);
    }
}

/// The worker of what the sheet foresees has died: it is asked once more.
fn foreseer_died(app: &mut App, why: &str) {
    FORESEER.with(|cell| cell.borrow_mut().take());
    if booth(app).foreseen.is_some() {
        return;
    }
    booth_mut(app).deaths.1 += 1;
    if booth(app).deaths.1 == 1 {
        booth_mut(app).asked = None;
    } else {
        booth_mut(app).unforeseen =
            Some(format!("It could not be computed: {why}. Change something, and it is tried anew."));
    }
    booth_mut(app).sheet_of = None;
}

/// Asks what the sheet foresees of the job as it is now, if it is not known yet; what is under way for another one is
/// dropped with its worker.
fn ask(app: &mut App) {
    // what is mixed and how it is called changes nothing of it
    let mut of = app.job.clone();
    of.title.clear();
    for paint in &mut of.paints {
        (paint.parts_paint, paint.parts_hardener, paint.parts_thinner, paint.reserve.0) = (1.0, 0.0, 0.0, 0.0);
    }
    let asked = Some((of, *app.within));
    if booth(app).asked == asked {
        return;
    }
    if booth(app).asked.is_some() {
        let booth = booth_mut(app);
        (booth.deaths.1, booth.unforeseen) = (0, None);
    }
    let text = app.job.text();
    FORESEER.with(|cell| {
        let mut cell = cell.borrow_mut();
        if booth(app).foreseen.is_none() {
            *cell = None;
        }
        *cell = cell.take().or_else(|| Helper::start(foreseen, foreseer_died));
        if let Some(helper) = cell.as_ref() {
            helper.send(&[("foresee", text.into()), ("within", (*app.within).into())]);
        }
    });
    let booth = booth_mut(app);
    (booth.asked, booth.foreseen) = (asked, None);
}

fn foreseen(app: &mut App, data: &JsValue) {
    let text = js_sys::Reflect::get(data, &"foreseen".into()).ok().and_then(|text| text.as_string());
    booth_mut(app).foreseen = text.and_then(|text| serde_json::from_str(&text).ok());
}

/// Works out at once what the sheet still lacks: whoever prints waits a moment.
fn complete(app: &mut App) {
    if *app.place != Place::Sheet {
        return;
    }
    ask(app);
    if booth(app).foreseen.is_none() {
        // its answer would come too late, and for the next job
        FORESEER.with(|cell| cell.borrow_mut().take());
        booth_mut(app).foreseen = Some(Foreseen::of(&app.job, *app.within));
    }
    sheet(app);
}

/// Stops it; what was told so far stays.
fn stop(app: &mut App) {
    ADVISER.with(|cell| cell.borrow_mut().take());
    booth_mut(app).progress = None;
}

fn told(app: &mut App, data: &JsValue) {
    let get = |key: &str| js_sys::Reflect::get(data, &key.into()).unwrap_or(JsValue::UNDEFINED);
    if booth(app).progress.is_none() {
        return;
    }
    if let Some(advice) = get("advice").as_string().and_then(|text| serde_json::from_str(&text).ok()) {
        booth_mut(app).advice = Some(advice);
    }
    booth_mut(app).failed = get("failed").as_string();
    booth_mut(app).progress = get("progress").as_f64();
    if booth(app).progress.is_none_or(|progress| progress >= 1.0) {
        stop(app);
    }
}

/// Takes a plan's coats for the job; undo takes it back.
fn take(app: &mut App, i: usize) {
    let Some(plan) = booth(app).advice.as_ref().and_then(|advice| advice.plans.get(i)) else { return };
    let job = plan.setting.of(&app.job);
    if job.coats == app.job.coats {
        return;
    }
    match job.checked() {
        Ok(job) => {
            app.change(job);
            dom::say(&dom::by_id("said"), "The plan is taken; undo brings the one before back.");
        }
        Err(problem) => app.trouble("The plan was not taken", &problem.to_string()),
    }
}

/// Brings the sheet in step; true when it lacks nothing.
fn sheet(app: &mut App) -> bool {
    let complete = booth(app).foreseen.is_some();
    let shown = booth(app).sheet_of.as_ref();
    if shown.is_none_or(|(job, system, within, whole)| {
        (job, system, within, whole) != (&*app.job, &*app.system, &*app.within, &complete)
    }) {
        let sheet = fanlap::sheet::body(&app.job, *app.system, *app.within, booth(app).foreseen());
        dom::by_id("booth-sheet").set_inner_html(&sheet);
        let waits = dom::all(&dom::by_id("booth-sheet"), "p");
        let waits = waits.into_iter().find(|p| p.text_content().as_deref() == Some("Being worked out \u{2026}"));
        let died =
            (booth(app).deaths.1 > 0).then(|| booth(app).unforeseen.clone().unwrap_or(workers::AGAIN.to_string()));
        if let Some((waits, why)) = waits.zip(died) {
            dom::say(&waits, &why);
        }
        booth_mut(app).sheet_of = Some((app.job.clone(), *app.system, *app.within, complete));
    }
    complete
}

/// Brings the place in step.
pub fn sync(app: &mut App) {
    if *app.place != Place::Sheet {
        return;
    }
    ask(app);
    let complete = sheet(app);
    // half a sheet is not taken along
    for id in ["sheet-print", "sheet-save"] {
        dom::by_id(id).unchecked_into::<HtmlButtonElement>().set_disabled(!complete);
    }
    mixing(app);
    wishes(app);
    let running = booth(app).progress;
    dom::say(&dom::by_id("advice-search"), if running.is_some() { "Stop" } else { "Search for plans" });
    let bar = dom::by_id("advice-progress");
    bar.set_hidden(running.is_none());
    dom::set(&bar, "value", &running.unwrap_or(0.0).to_string());
    dom::say(&dom::by_id("advice-state"), &state(app));
    let advice = booth(app).advice.as_ref();
    let plans = advice.map_or(&[][..], |advice| &advice.plans);
    for id in ["advice-table", "advice-caution"] {
        dom::by_id(id).set_hidden(plans.is_empty());
    }
    if let Some(advice) = advice {
        compare(app, advice);
    }
    let list = dom::by_id("advice-plans");
    dom::keep(&list, plans.len(), || dom::template("advice-plan"));
    for (i, (item, plan)) in dom::all(&list, "li").iter().zip(plans).enumerate() {
        one(app, item, i, plan);
    }
    let foreseen = booth(app).foreseen();
    dom::by_id("advice-forgives").set_hidden(app.job.tinted().is_none());
    dom::class(&dom::by_id("advice-forgives"), "waiting", foreseen.is_none());
    if let Some(foreseen) = foreseen {
        forgiving(app, &foreseen.forgives);
    }
}

/// The job that plans were sought for, or the one that is open.
fn sought(app: &App) -> &Job {
    booth(app).of.as_ref().map_or(&app.job, |(job, _)| job)
}

/// Whether the plans are for the job as it is now, whatever its coats are, and for what is wished for now.
fn fits(app: &App) -> bool {
    let Some((of, sought)) = &booth(app).of else { return false };
    let now = &app.job;
    let paint = |paint: &Paint| (paint.name.clone(), paint.absorption, paint.solids_by_volume);
    let job = (&of.gun, &of.panel, &of.target) == (&now.gun, &now.panel, &now.target)
        && of.paints.iter().map(paint).eq(now.paints.iter().map(paint));
    // a number that was shown in another unit is rounded
    let near = |a: f64, b: f64| (a - b).abs() <= 0.005 * b.abs();
    let both = |a: Option<f64>, b: Option<f64>| a.zip(b).map_or(a.is_none() && b.is_none(), |(a, b)| near(a, b));
    job && wished(app).is_ok_and(|wishes| {
        wishes.within == sought.within
            && wishes.hand == sought.hand
            && near(wishes.reach.0, sought.reach.0)
            && both(wishes.most_ml, sought.most_ml)
            && both(wishes.most_min, sought.most_min)
    })
}

/// The mixing ratios of the paints that are sprayed.
fn mixing(app: &mut App) {
    let body = dom::by_id("booth-mix");
    if !app.job.paints.iter().map(|paint| &paint.name).eq(&booth(app).mixing) {
        body.set_inner_html("");
        for (i, paint) in app.job.paints.iter().enumerate() {
            let heading = dom::plain("h3");
            dom::say(&heading, &paint.name);
            let _ = body.append_child(&heading);
            let paths =
                ["parts_paint", "parts_hardener", "parts_thinner", "reserve"].map(|key| format!("paints[{i}].{key}"));
            controls::add(&body, &paths.each_ref().map(String::as_str));
        }
        booth_mut(app).mixing = app.job.paints.iter().map(|paint| paint.name.clone()).collect();
    }
    controls::sync_within(app, &body);
}

/// Shows a field's value in a unit, with its factor and digits; what was typed in another one is converted.
fn in_unit(id: &str, (unit, factor, digits): (&str, f64, usize), usual: Option<f64>) {
    let field = dom::input(id);
    dom::say(&dom::by_id(&format!("{id}-unit")), unit);
    if field.get_attribute("data-unit").as_deref() == Some(unit) {
        return;
    }
    let before = field.get_attribute("data-factor").and_then(|before| before.parse::<f64>().ok());
    let typed = before.and_then(|before| Some(crate::parts::typed::number_typed(&field.value())? / before));
    if before.is_none() || typed.is_some() {
        field.set_value(&typed.or(usual).map_or(String::new(), |value| digits_of(value * factor, digits)));
    }
    dom::set(&field, "data-unit", unit);
    dom::set(&field, "data-factor", &factor.to_string());
}

fn wishes(app: &App) {
    // what is no number stays as it was typed
    if number("advice-within", WITHIN, PLAIN).is_ok_and(|within| within != Some(*app.within)) {
        dom::input("advice-within").set_value(&digits_of(*app.within, 1));
    }
    in_unit("advice-reach", Unit::Millimetre.shown(*app.system), Some(Wishes::of(&app.job).reach.0));
    in_unit("advice-paint", volume_unit(*app.system), None);
    let text = hand(app).map_or("Practice has less than three passes of this job.".to_string(), |hand| {
        let mm = |value: f64| shown(Unit::Millimetre, value, *app.system);
        let from = match hand.from {
            From::Job => "as the job\u{2019}s hand",
            From::Measured => "as in Practice",
            From::Assumed => "assumed, half a novice\u{2019}s",
        };
        format!(
            "Strays by {} in distance, {} off the line, {} in speed, {:.0}\u{b0} ({from}).",
            mm(hand.distance_mm),
            mm(hand.line_mm),
            shown(Unit::Percent, hand.speed, *app.system),
            hand.angle_deg
        )
    });
    dom::say(&dom::by_id("advice-hand-text"), &text);
}

fn state(app: &App) -> String {
    let booth = booth(app);
    if let Some(why) = &booth.failed {
        return why.clone();
    }
    let Some(advice) = &booth.advice else {
        let idle = "Tries the plans you can reach and spray, then tells the best of them from 60 hands that \
         took no part in the choice.";
        return if booth.progress.is_some() && booth.deaths.0 > 0 {
            workers::AGAIN.to_string()
        } else if booth.progress.is_some() {
            "Trying plans \u{2026}".to_string()
        } else {
            idle.to_string()
        };
    };
    let old = if booth.progress.is_none() && !fits(app) { " Something was changed since: search again." } else { "" };
    if let Some(why) = &advice.none_because {
        return format!("{why}{old}");
    }
    let besides = if booth.progress.is_some() { " More plans are being sprayed." } else { old };
    let window = &advice.window;
    let window = between(Unit::Micrometre, window.film_low_um, window.film_high_um, *app.system);
    let within = digits_of(advice.within_de00, 1);
    let best = advice.plans.first().map(|plan| &plan.figures);
    let far = too_far(app).map_or(String::new(), |across| {
        format!(" The job as it was before needs a reach of {}.", shown(Unit::Millimetre, across, *app.system))
    });
    let better = match best {
        _ if !far.is_empty() => "",
        Some(best) if best.in_window_from_to[0] <= advice.present.in_window_from_to[1] => {
            " No plan is clearly better than the job as it was before: a steadier hand or a wider window would do more."
        }
        Some(best) if best.in_window < 0.5 => " With this hand less than half of the panel comes right even so.",
        _ => "",
    };
    format!(
        "{} settings were tried. Right is film of {window}, within {within} \u{394}E.{better}{far}{besides}",
        advice.tried
    )
}

/// How far the job as it was sought for makes one reach, mm, where that is farther than one does.
fn too_far(app: &App) -> Option<f64> {
    let (job, wishes) = booth(app).of.as_ref()?;
    let coat = &job.coats[job.tinted_coat()?];
    let across = if coat.along == Along::Length { job.panel.width.0 } else { job.panel.length.0 };
    let sides = if coat.reach == Reach::OneSide { 1.0 } else { 2.0 };
    (!job.panel.stands() && across > sides * wishes.reach.0).then_some(across / sides)
}

fn one(app: &App, item: &HtmlElement, i: usize, plan: &Plan) {
    let part = |name: &str| -> HtmlElement { dom::part(item, &format!("[data-part={name}]")) };
    let best = plan.best_at.join(", ");
    let name =
        best.chars().next().map_or(String::new(), |first| first.to_uppercase().to_string() + &best[first.len_utf8()..]);
    dom::say(&part("name"), &format!("{} {name}", i + 1));
    let of = sought(app);
    dom::say(&part("text"), &plan.words(of, *app.system));
    let button = part("take");
    dom::set(&button, "data-plan", &i.to_string());
    let taken = app.job.coats == plan.setting.of(&app.job).coats;
    dom::say(&button, if taken { "This is the plan" } else { "Take this plan" });
    // it keeps the focus that pressed it
    dom::set(&button, "aria-disabled", if taken { "true" } else { "false" });
    button.unchecked_into::<HtmlButtonElement>().set_disabled(!fits(app));
}

/// The job as it stands and the plans beside each other; the best of each figure in bold.
fn compare(app: &App, advice: &Advice) {
    let all: Vec<&Figures> =
        std::iter::once(&advice.present).chain(advice.plans.iter().map(|plan| &plan.figures)).collect();
    let names = (1..all.len()).map(|i| format!("<th scope=\"col\">{i}</th>")).collect::<String>();
    dom::by_id("advice-names")
        .set_inner_html(&format!("<th scope=\"col\">Plan</th><th scope=\"col\">before</th>{names}"));
    let percent = |share: f64| digits_of(100.0 * share, 0);
    let (unit, ml, digits) = volume_unit(*app.system);
    type Of<'a> = &'a dyn Fn(&Figures) -> f64;
    type Said<'a> = &'a dyn Fn(&Figures) -> String;
    let paint = format!("Mix, {unit}");
    let of = sought(app);
    let mixed = 1.0 + of.tinted().map_or(0.0, |paint| of.paints[paint].reserve.0);
    // the figure, how it is said, and whether more (1) or less (-1) of it is better
    let rows: [(&str, Of, Said, f64); 9] = [
        ("Panel within tolerance, %", &|of| of.in_window, &|of| percent(of.in_window), 1.0),
        (
            "\u{2003}give or take",
            &|_| 0.0,
            &|of| percent((of.in_window_from_to[1] - of.in_window_from_to[0]) / 2.0),
            0.0,
        ),
        ("On a bad day (1 hand in 10), %", &|of| of.in_window_tenth, &|of| percent(of.in_window_tenth), 1.0),
        ("Faultless hand, %", &|of| of.in_window_faultless, &|of| percent(of.in_window_faultless), 1.0),
        (
            "\u{2003}its film uneven by, %",
            &|of| of.unevenness_faultless,
            &|of| digits_of(100.0 * of.unevenness_faultless, 1),
            -1.0,
        ),
        ("Time in all", &|of| of.total_s, &|of| clock(of.total_s), -1.0),
        ("Passes", &|of| of.passes as f64, &|of| of.passes.to_string(), -1.0),
        (&paint, &|of| of.sprayed_ml, &|of| digits_of(of.sprayed_ml * mixed * ml, digits), -1.0),
        ("Wet edge lost, %", &|of| of.edge_lost, &|of| percent(of.edge_lost), -1.0),
    ];
    let row = |(name, of, said, better): &(&str, Of, Said, f64)| {
        let best = all.iter().max_by(|a, b| (better * of(a)).total_cmp(&(better * of(b)))).map(|figures| said(figures));
        let cell = |figures: &&Figures| {
            let said = said(figures);
            // what reads alike is as good
            let bold = *better != 0.0 && best.as_ref() == Some(&said);
            if bold { format!("<td><b>{said}</b></td>") } else { format!("<td>{said}</td>") }
        };
        format!("<tr><th scope=\"row\">{name}</th>{}</tr>", all.iter().map(cell).collect::<String>())
    };
    let lost = all.iter().any(|figures| figures.edge_lost > 0.005);
    let shown = if lost { &rows[..] } else { &rows[..8] };
    dom::by_id("advice-figures").set_inner_html(&shown.iter().map(row).collect::<String>());
}

fn forgiving(app: &App, forgives: &Forgives) {
    let um = |value: f64| shown(Unit::Micrometre, value, *app.system);
    let body = dom::by_id("forgives-rows");
    dom::keep(&body, forgives.angles.len(), || dom::template("forgives-row"));
    for (row, at) in dom::all(&body, "tr").iter().zip(&forgives.angles) {
        let window = at
            .window_um
            .map_or("\u{2013}".to_string(), |[low, high]| between(Unit::Micrometre, low, high, *app.system));
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
    let from = shown(Unit::Metre, forgives.from_m, *app.system);
    dom::say(&dom::by_id("forgives-from"), &format!("Stripes seen from {from}"));
    dom::say(&dom::by_id("forgives-text"), &forgives.text(*app.system));
}
