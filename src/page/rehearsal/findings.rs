//! The findings beside the panel: asked of a worker when the full grid is there, listed worst first with cause and
//! cure, marked on the panel by the same numbers. A cure is tried by holding the present result and changing the job.
//! Finds nothing itself.

use crate::parts::choice::options;
use crate::parts::dom;
use crate::parts::pen::{Align, INK, PAPER, Pen};
use crate::parts::watched::Watched;
use crate::shell::app::{App, Place};
use crate::shell::buttons;
use crate::shell::history::unpacked;
use crate::shell::room::{Event, Sought};
use crate::shell::run::with;
use crate::shell::stale::{Changed, last};
use crate::shell::workers::{self, Helper};
use fanlap::appraisal::{Appraisal, FARTHEST};
use fanlap::causes::{Aim, Cause, Diagnosis, Search};
use fanlap::findings::DefectKind;
use fanlap::job::inputs::Unit;
use fanlap::job::{Files, Job};
use fanlap::report::DefectReport;
use fanlap::wet::RUN_TRAVEL;
use fanlap::words::{digits_of, shown, shown_run};
use glam::DVec2;
use std::cell::{Cell, RefCell};
use wasm_bindgen::prelude::*;
use web_sys::{HtmlButtonElement, HtmlElement, HtmlSelectElement};

/// Where what is known of them lies.
type State = Watched<Findings>;

/// What is known of the present job's findings.
pub struct Findings {
    /// Worst first; none while the first look is under way.
    found: Option<Vec<DefectReport>>,
    /// How far the search for causes has come, 0..1.
    progress: f64,
    /// The one that is looked at.
    chosen: Option<usize>,
    /// Paint to which the list is confined.
    paint: Option<String>,
    /// What was tried last, in words; it holds the comparison that undo ends.
    tried: Option<String>,
    /// What is being tried just now.
    trying: Option<String>,
    /// Why the search failed.
    failed: Option<String>,
    /// How often its worker has died over this job.
    deaths: u32,
    /// The job has not been sent to the worker yet.
    due: bool,
    /// The step that is taken back ends the comparison.
    ends: bool,
    /// Causes and cures are shown.
    answers: bool,
}

impl Findings {
    /// Of a job that has not been sent to the worker yet.
    fn due() -> Self {
        Self {
            found: None,
            progress: 0.0,
            chosen: None,
            paint: None,
            tried: None,
            trying: None,
            failed: None,
            deaths: 0,
            due: true,
            ends: false,
            answers: true,
        }
    }
}

/// Its state when the page opens.
pub fn fresh() -> State {
    Watched::new(Findings::due())
}

fn of(app: &App) -> &Findings {
    app.states.of::<State>()
}

fn of_mut(app: &mut App) -> &mut Findings {
    app.states.of_mut::<State>()
}

/// What it draws and says has changed last.
pub fn changed(app: &App) -> Changed {
    let at = last(&[app.states.of::<State>()]);
    Changed { drawing: at, column: at, ..Changed::default() }
}

/// Hears of an event.
pub fn hear(app: &mut App, event: Event) {
    match event {
        Event::Outdated => forget(app),
        Event::Marked => done(app),
        Event::Undoing => of_mut(app).ends = of(app).tried.is_some() && app.held.is_some(),
        // undo of a cure that was tried ends the comparison that began with it
        Event::Undone if std::mem::take(&mut of_mut(app).ends) => buttons::hold(app),
        _ => {}
    }
}

thread_local! {
    static HELPER: RefCell<Option<Helper>> = const { RefCell::new(None) };
    static SERIAL: Cell<u32> = const { Cell::new(0) };
}

/// The search for causes, one rehearsal a step: what the worker runs.
#[wasm_bindgen]
pub struct Explaining {
    search: Search,
    job: Job,
}

#[wasm_bindgen]
impl Explaining {
    /// Begins with the text of a job file, and with the job before its last change as undo holds it; of a job sprayed
    /// by hand only what is beyond its plan is found.
    #[wasm_bindgen(constructor)]
    pub fn new(job: &str, before: Option<String>, by_hand: bool) -> Result<Explaining, JsValue> {
        let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
        let appraisal = Appraisal::of(fanlap::rehearsal::rehearse_film(&job));
        let before = before.and_then(|step| unpacked(&step).ok());
        let aim = Aim { before: before.as_ref(), beyond_plan: by_hand, done: false };
        Ok(Self { search: Search::with(&appraisal, aim), job })
    }

    /// One step; false when all is done.
    pub fn step(&mut self) -> bool {
        self.search.step()
    }

    /// How far it has come, 0..1.
    pub fn progress(&self) -> f64 {
        self.search.progress()
    }

    /// The findings as the report's JSON; causes and cures as far as they are known.
    pub fn findings(&self) -> String {
        let known = self.search.diagnoses().iter().map(|diagnosis| DefectReport::of(diagnosis, &self.job));
        let rest = self.search.found().iter().skip(self.search.diagnoses().len());
        let rest = rest.map(|defect| DefectReport::of(&Diagnosis::bare(defect), &self.job));
        serde_json::to_string(&known.chain(rest).collect::<Vec<_>>()).unwrap_or_default()
    }
}

/// The worker has died: if it was looking, another one is asked once more.
fn died(app: &mut App, why: &str) {
    HELPER.with(|cell| cell.borrow_mut().take());
    let findings = of_mut(app);
    if !findings.due && findings.failed.is_none() && findings.progress < 1.0 {
        findings.deaths += 1;
        findings.due = findings.deaths == 1;
        findings.failed = (!findings.due).then(|| why.to_string());
    }
}

/// Listens to the list.
pub fn listen() {
    let list = dom::by_id("findings-list");
    for kind in ["mouseover", "focusin", "click"] {
        dom::on(&list, kind, move |event| {
            let Some(target) = dom::target(&event) else { return };
            let item = target.closest("li").ok().flatten().and_then(|item| item.get_attribute("data-finding"));
            let Some(i) = item.and_then(|i| i.parse::<usize>().ok()) else { return };
            let trying = kind == "click" && target.closest(".finding-try").ok().flatten().is_some();
            with(|app| if trying { try_cure(app, i) } else { choose(app, i) });
        });
    }
    dom::on(&dom::by_id("findings-answers"), "change", |_| {
        with(|app| of_mut(app).answers = dom::input("findings-answers").checked());
    });
    with(|app| of_mut(app).answers = dom::input("findings-answers").checked());
    dom::on(&dom::by_id("findings-paint"), "change", |event| {
        let Some(field) = dom::target(&event) else { return };
        let paint = field.unchecked_into::<HtmlSelectElement>().value();
        with(|app| {
            of_mut(app).paint = (!paint.is_empty()).then_some(paint);
        });
    });
}

/// Sends the present job to the worker once it is there; whatever it does for an earlier one is dropped.
pub fn ask(app: &mut App) {
    let busy = app.rooms.iter().any(|room| room.busy(app));
    if !of(app).due || !app.full.shown() || app.moving || busy {
        return;
    }
    of_mut(app).due = false;
    let serial = SERIAL.with(|serial| {
        serial.set(serial.get() + 1);
        serial.get()
    });
    HELPER.with(|cell| {
        let mut cell = cell.borrow_mut();
        *cell = cell.take().or_else(|| Helper::start(told, died));
    });
    let mut fields: Vec<(&str, JsValue)> = vec![
        ("serial", serial.into()),
        ("job", app.rehearsed().text().into()),
        ("byHand", (app.sought() != Sought::All).into()),
    ];
    if let Some(before) = app.undo.last() {
        fields.push(("before", (&before.job).into()));
    }
    send(&fields);
}

fn send(fields: &[(&str, JsValue)]) {
    HELPER.with(|helper| {
        if let Some(helper) = helper.borrow().as_ref() {
            helper.send(fields);
        }
    });
}

/// Forgets the findings of an earlier job and stops the search for them.
fn forget(app: &mut App) {
    // of what was not sprayed yet nothing is asked
    let due = *app.place != Place::Practice || app.recorded.any();
    let before = of_mut(app);
    let (paint, tried) = (before.paint.take(), before.trying.take());
    *before = Findings { paint, tried, due, ends: before.ends, answers: before.answers, ..Findings::due() };
    SERIAL.with(|serial| serial.set(serial.get() + 1));
    send(&[("serial", SERIAL.with(Cell::get).into())]);
}

fn told(app: &mut App, data: &JsValue) {
    let get = |key: &str| js_sys::Reflect::get(data, &key.into()).unwrap_or(JsValue::UNDEFINED);
    if get("serial").as_f64() != Some(f64::from(SERIAL.with(Cell::get))) {
        return;
    }
    let findings = of_mut(app);
    findings.progress = get("progress").as_f64().unwrap_or(0.0);
    if let Some(found) = get("findings").as_string().and_then(|text| serde_json::from_str(&text).ok()) {
        findings.found = Some(found);
    }
    findings.failed = get("failed").as_string();
    done(app);
}

/// Of a spraying that a lesson calls done nothing more is found.
fn done(app: &mut App) {
    if app.sought() == Sought::Nothing {
        let findings = of_mut(app);
        (findings.found, findings.progress) = (Some(Vec::new()), 1.0);
    }
}

/// Looks at one finding: the section goes through its worst place.
fn choose(app: &mut App, i: usize) {
    if of(app).chosen == Some(i) {
        return;
    }
    of_mut(app).chosen = Some(i);
    let worst = of(app).found.as_ref().and_then(|found| found.get(i)).map(|finding| finding.worst);
    if let Some(worst) = worst {
        *app.section =
            if app.turned() { worst.y_mm } else { worst.x_mm }.clamp(0.0, crate::shell::plan::section_reach(&app.job));
    }
}

/// Holds the present result and changes the job as the cure says; undo takes it back.
fn try_cure(app: &mut App, i: usize) {
    let Some(cure) = of(app).found.as_ref().and_then(|found| found.get(i)?.cure.clone()) else { return };
    let job = app.job.with_all(&cure.set);
    match job {
        Ok(job) => {
            if app.held.is_none() {
                buttons::hold(app);
            }
            of_mut(app).trying = Some(cure.text.clone());
            app.change(job);
            dom::say(&dom::by_id("said"), &format!("Tried: {} Held and now are shown beside each other.", cure.text));
            let _ = dom::by_id("hold").focus();
        }
        Err(problem) => app.trouble("The cure was not tried", &problem.to_string()),
    }
}

/// What the cure of the chosen finding, or of the worst one, would set at one of these paths.
pub fn cured(app: &App, paths: &[String]) -> Option<f64> {
    let found = of(app).found.as_ref().filter(|_| answers(app))?;
    let cure = found.get(of(app).chosen.unwrap_or(0))?.cure.as_ref()?;
    paths.iter().find_map(|path| cure.set.get(path)?.as_f64())
}

/// The findings of the whole job with every cause and cure; none while they are sought or hidden.
pub fn whole(app: &App) -> Option<Vec<DefectReport>> {
    of(app).found.clone().filter(|_| of(app).progress >= 1.0 && answers(app))
}

/// Whether causes and cures are shown.
pub fn answers(app: &App) -> bool {
    of(app).answers
}

/// Brings the list in step.
pub fn sync(app: &App) {
    let findings = of(app);
    // a class that is to find the error is not told it
    let errors = fanlap::words::hand_errors(&app.job, *app.system).filter(|_| answers(app));
    dom::say(&dom::by_id("hand-note"), &errors.map_or(String::new(), |errors| format!("The hand errs: {errors}.")));
    let count = findings.found.as_ref().map_or(String::new(), |found| format!(" {}", found.len()));
    dom::say(&dom::part(&dom::by_id("tab-findings"), ".count"), &count);
    dom::say(&dom::by_id("findings-note"), &note(app));
    // seen, not said: a listener is told when it begins and when it has ended
    let busy = findings.found.as_ref().is_some_and(|found| !found.is_empty());
    let share = busy && findings.failed.is_none() && findings.progress < 1.0 && answers(app);
    let share = if share { format!("{:.0} %", 100.0 * findings.progress) } else { String::new() };
    dom::say(&dom::by_id("findings-share"), &share);
    let found = findings.found.as_deref().unwrap_or_default();
    paints(app, found);
    let list = dom::by_id("findings-list");
    let listed: Vec<(usize, &DefectReport)> = found
        .iter()
        .enumerate()
        .filter(|(_, finding)| findings.paint.as_ref().is_none_or(|paint| *paint == finding.paint))
        .collect();
    dom::keep(&list, listed.len(), || dom::template("finding"));
    for (row, (i, finding)) in dom::all(&list, "li").iter().zip(listed) {
        one(app, row, i, finding);
    }
}

fn note(app: &App) -> String {
    let tried =
        of(app).tried.as_ref().filter(|_| answers(app)).map_or(String::new(), |tried| format!("Tried: {tried} "));
    tried + &state(app)
}

fn state(app: &App) -> String {
    let findings = of(app);
    let (eye, from) =
        (fanlap::words::eye(&app.job.viewing.eye), shown(Unit::Metre, app.job.viewing.distance.0, *app.system));
    match (&findings.failed, &findings.found) {
        _ if app.job.coats.is_empty() => "Nothing is sprayed yet.".to_string(),
        (Some(why), _) => {
            format!("What is wrong could not be computed: {why}. Change something, and it is tried anew.")
        }
        (None, _) if findings.deaths > 0 && findings.progress < 1.0 => workers::AGAIN.to_string(),
        (None, None) => "Looking \u{2026}".to_string(),
        (None, Some(found)) if found.is_empty() && app.job.coloured().is_empty() => {
            format!("Nothing endangers the job. {}", fanlap::words::not_looked_at(&app.job))
        }
        (None, Some(_)) if app.sought() == Sought::Nothing => "Done: nothing beyond what this lesson asks.".to_string(),
        (None, Some(found)) if found.is_empty() && app.sought() == Sought::BeyondPlan => {
            "Nothing beyond what the plan itself leaves.".to_string()
        }
        (None, Some(found)) if found.is_empty() => {
            format!("Nothing {eye} would see from {from}, and nothing that endangers the job.")
        }
        (None, Some(_)) if findings.progress < 1.0 && answers(app) => {
            "Putting one thing right at a time \u{2026}".to_string()
        }
        (None, Some(found)) => {
            let count = if found.len() == 1 { "One finding".to_string() } else { format!("{} findings", found.len()) };
            let count =
                if app.sought() == Sought::BeyondPlan { count + " beyond the plan\u{2019}s own" } else { count };
            format!("{count}, worst first: what {eye} would see from {from}, and what endangers the job.")
        }
    }
}

fn paints(app: &App, found: &[DefectReport]) {
    let mut names: Vec<&str> = found.iter().map(|finding| finding.paint.as_str()).collect();
    names.sort_unstable();
    names.dedup();
    dom::by_id("findings-paint-box").set_hidden(names.len() < 2);
    let all = [(String::new(), "all paints".to_string())];
    let each = names.into_iter().map(|name| (name.to_string(), name.to_string()));
    let wanted: Vec<_> = all.into_iter().chain(each).collect();
    options(&dom::select("findings-paint"), &wanted, of(app).paint.as_deref().unwrap_or_default());
}

fn one(app: &App, row: &HtmlElement, i: usize, finding: &DefectReport) {
    let say = |part: &str, text: &str| dom::say(&dom::part::<HtmlElement>(row, part), text);
    dom::set(row, "data-finding", &i.to_string());
    dom::class(row, "chosen", of(app).chosen == Some(i));
    say(".ring", &(i + 1).to_string());
    say(".finding-name", &name(app, finding));
    say(".finding-seen", &from_how_far(app, finding));
    say(".finding-size", &size(app, finding));
    say(".finding-limit", &finding.limit);
    let told = answers(app) && (finding.cause.is_some() || finding.cure.is_some() || of(app).progress >= 1.0);
    dom::part::<HtmlElement>(row, ".answer").set_hidden(!told);
    let causes: Vec<&Cause> = finding.cause.iter().chain(&finding.also).collect();
    let words: String = causes.iter().enumerate().fold(String::new(), |words, (i, cause)| {
        let joint = if i == 0 {
            ""
        } else if cause.instead {
            " Or: "
        } else {
            " With it: "
        };
        format!("{words}{joint}{} Explains {:.0} %.", cause.text, 100.0 * cause.share)
    });
    let none = "Nothing that was put right by itself makes it smaller.".to_string();
    say(".finding-cause", if words.is_empty() { &none } else { &words });
    let share = causes.first().map_or(0.0, |cause| cause.share);
    dom::style(&dom::part(row, ".share"), "--share", &share.to_string());
    let cure = finding
        .cure
        .as_ref()
        .map(|cure| format!("{} Rehearsed: {:.1} times the limit then.", cure.text, cure.severity));
    say(".finding-cure", &cure.unwrap_or_else(|| "None of the changes that were tried takes it away.".to_string()));
    let button: HtmlButtonElement = dom::part(row, ".finding-try");
    // what the hand must do otherwise is no setting
    button.set_hidden(finding.cure.as_ref().is_none_or(|cure| cure.set.is_empty()));
    dom::set(&button, "aria-label", &format!("Try it: the cure of finding {}", i + 1));
}

fn from_how_far(app: &App, finding: &DefectReport) -> String {
    match finding.seen_from_m {
        Some(from) if from >= FARTHEST.0 => {
            format!("still seen from {}", shown(Unit::Metre, from, *app.system))
        }
        Some(from) => format!("seen from {}", shown(Unit::Metre, from, *app.system)),
        None if finding.kind.is_of_colour() => "seen beside the right colour".to_string(),
        None if finding.kind == DefectKind::MaskingSprayed => "costs paint".to_string(),
        None => "endangers the job".to_string(),
    }
}

/// Its name and where it is; of which paint where more than one carries colour.
fn name(app: &App, finding: &DefectReport) -> String {
    let of = if app.job.coloured().len() > 1 && finding.kind.is_of_colour() {
        format!(" of {}", finding.paint)
    } else {
        String::new()
    };
    format!("{}{of} {}", finding.name, finding.part.words())
}

fn size(app: &App, finding: &DefectReport) -> String {
    let (symbol, factor, digits) = Unit::Micrometre.shown(*app.system);
    let times = format!("{} \u{d7} the limit", digits_of(finding.severity, 1));
    let sign = if finding.film_um < 0.0 { "\u{2212}" } else { "+" };
    let film = format!("{sign}{:.digits$} {symbol}", (finding.film_um * factor).abs());
    match finding.kind {
        DefectKind::DrySpray | DefectKind::WetSpray | DefectKind::WetEdgeLost => times,
        DefectKind::MaskingSprayed => {
            format!("{} of the paint", shown(Unit::Percent, finding.severity - 1.0, *app.system))
        }
        DefectKind::Run => {
            let moves = shown_run(finding.severity * RUN_TRAVEL.0, *app.system);
            format!("{film} wet over the sag limit, flows down {moves}")
        }
        DefectKind::NearRun => format!("{film} wet over the sag limit, {times}"),
        _ => format!("{film}, \u{394}E {}, {times}", digits_of(finding.delta_e00, 1)),
    }
}

/// The findings in words, for the text twin.
pub fn in_words(app: &App) -> String {
    let Some(found) = &of(app).found else { return String::new() };
    let one = |(i, finding): (usize, &DefectReport)| {
        let cause =
            finding.cause.as_ref().filter(|_| answers(app)).map_or(String::new(), |cause| format!(" {}", cause.text));
        format!(" {}: {} ({}).{cause}", i + 1, name(app, finding), size(app, finding))
    };
    let list: String = found.iter().enumerate().map(one).collect();
    if list.is_empty() { " No findings.".to_string() } else { format!(" Findings.{list}") }
}

/// What is said of a finding at a probed place: its number, name and cause.
pub fn at(app: &App, place: DVec2) -> Option<String> {
    let found = of(app).found.as_ref()?;
    let inside = |finding: &&DefectReport| {
        let (from, size) = (DVec2::new(finding.x_mm, finding.y_mm), DVec2::new(finding.width_mm, finding.height_mm));
        place.cmpge(from).all() && place.cmple(from + size).all() && finding.seen_from_m.is_some()
    };
    let (i, finding) = found.iter().enumerate().find(|(_, finding)| inside(finding))?;
    let cause =
        finding.cause.as_ref().filter(|_| answers(app)).map_or(String::new(), |cause| format!(" {}", cause.text));
    Some(format!("DefectReport {}, {}.{cause}", i + 1, finding.name.to_lowercase()))
}

/// Where the numbers stand on the panel: at the worst places, clear of each other.
fn rings(app: &App) -> Vec<(f64, f64)> {
    let layout = &app.layout;
    let mut rings: Vec<(f64, f64)> = Vec::new();
    for finding in of(app).found.iter().flatten() {
        let (x, y) = layout.on_stage(DVec2::new(finding.worst.x_mm, finding.worst.y_mm));
        let mut at =
            (x.clamp(layout.left + 12.0, layout.right() - 12.0), y.clamp(layout.top + 12.0, layout.bottom() - 12.0));
        while rings.iter().any(|(x, y)| (x - at.0).abs() < 24.0 && (y - at.1).abs() < 24.0) {
            at.0 += if at.0 + 38.0 < layout.right() { 26.0 } else { -26.0 * rings.len() as f64 };
            at.1 += if at.0 < layout.left { 26.0 } else { 0.0 };
            at.0 = at.0.max(layout.left + 12.0);
        }
        rings.push(at);
    }
    rings
}

/// Whether the numbers are shown.
fn marked(app: &App) -> bool {
    app.ended() && app.held.is_none()
}

/// Chooses the finding whose number stands at a place of the stage; false if there is none.
pub fn choose_at(app: &mut App, (x, y): (f64, f64)) -> bool {
    let hit = |at: &(f64, f64)| (at.0 - x).abs() < 13.0 && (at.1 - y).abs() < 13.0;
    let found = rings(app).iter().position(hit).filter(|_| marked(app));
    if let Some(i) = found {
        buttons::tab("findings");
        choose(app, i);
    }
    found.is_some()
}

/// Marks the findings on the panel: a numbered ring at each worst place, and corner brackets around the chosen one.
pub fn draw(app: &App, pen: &Pen) {
    // while the gun is in the hand their numbers would lie in its way
    if app.in_hand() && dom::by_id("findings").hidden() {
        return;
    }
    let Some(found) = of(app).found.as_ref().filter(|_| marked(app)) else { return };
    for (i, (finding, at)) in found.iter().zip(rings(app)).enumerate() {
        let chosen = of(app).chosen == Some(i);
        if chosen {
            let (left, bottom) = app.layout.on_stage(DVec2::new(finding.x_mm, finding.y_mm));
            let corner = DVec2::new(finding.x_mm + finding.width_mm, finding.y_mm + finding.height_mm);
            let (right, top) = app.layout.on_stage(corner);
            brackets(pen, (left, top, right, bottom));
        }
        ring(pen, at, &(i + 1).to_string(), chosen);
    }
}

fn brackets(pen: &Pen, (left, top, right, bottom): (f64, f64, f64, f64)) {
    let arm = 14.0_f64.min((right - left) / 2.0).min((bottom - top) / 2.0);
    let corners = [
        [(left, top + arm), (left, top), (left + arm, top)],
        [(right - arm, top), (right, top), (right, top + arm)],
        [(right, bottom - arm), (right, bottom), (right - arm, bottom)],
        [(left + arm, bottom), (left, bottom), (left, bottom - arm)],
    ];
    for (colour, width) in [(PAPER, 4.0), (INK, 2.0)] {
        pen.colour(colour).width(width);
        for corner in corners {
            pen.line(corner);
        }
    }
    for (colour, width) in [(PAPER, 3.0), (INK, 1.0)] {
        pen.colour(colour).width(width).dash(&[2.0, 4.0]).line([
            (left, top),
            (right, top),
            (right, bottom),
            (left, bottom),
            (left, top),
        ]);
        pen.dash(&[]);
    }
    pen.width(1.0);
}

fn ring(pen: &Pen, (x, y): (f64, f64), number: &str, filled: bool) {
    let (ground, ink) = if filled { (INK, PAPER) } else { (PAPER, INK) };
    pen.on.begin_path();
    pen.on.arc(x, y, 10.0, 0.0, std::f64::consts::TAU).expect("a radius not below 0");
    pen.on.set_fill_style_str(ground);
    pen.on.fill();
    pen.colour(INK).width(1.5).circle(x, y, 10.0).width(1.0);
    pen.colour(ink).bold(number, x, y + pen.small * 0.36, Align::Centre);
}
