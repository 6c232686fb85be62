//! What goes out of the page and comes in: job files, links, pictures, grids and reports.

use crate::parts::dom;
use crate::shell::app::{App, View};
use crate::shell::rest::with_rest;
use crate::shell::room::Incoming;
use crate::shell::run::with;
use fanlap::error::Problem;
use fanlap::job::{Files, Job};
use fanlap::report::film_csv;
use fanlap::units::Seconds;
use wasm_bindgen::prelude::*;
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, HtmlCanvasElement, HtmlElement, HtmlTextAreaElement, Url};

/// Marks a job in the address.
const MARK: &str = "#job=";
/// Links longer than this are cut off by some mail programs.
const LONG_LINK: usize = 2000;

/// Name of a view as the page's controls and the kept state write it.
pub fn view_name(view: View) -> &'static str {
    match view {
        View::Paint => "paint",
        View::Film => "film",
        View::Difference => "difference",
        View::Seen => "seen",
    }
}

/// The view of that name.
pub fn view_of(name: &str) -> View {
    match name {
        "film" => View::Film,
        "difference" => View::Difference,
        "seen" => View::Seen,
        _ => View::Paint,
    }
}

/// Takes in the job or the lesson that the address carries, if it carries one; `rest` says what is shown if it is none.
pub fn arrive(app: &mut App, rest: &str) {
    let Ok(address) = dom::window().location().hash() else { return };
    let own = address.strip_prefix(MARK).map(|link| Job::from_link(link).map(|job| begin(app, job)));
    let Some(read) = own.or_else(|| taken_in(app, Incoming::Address(&address))) else { return };
    clear_address();
    if let Err(problem) = read {
        app.trouble("What is in this link was not opened", &format!("{problem} {rest}"));
    }
}

/// Opens a job at its beginning.
fn begin(app: &mut App, job: Job) {
    app.open(job);
    app.seek(Seconds(0.0));
}

/// Whether a place takes in what comes, and how that went.
fn taken_in(app: &mut App, incoming: Incoming) -> Option<Result<(), Problem>> {
    app.rooms.iter().find_map(|room| room.take_in(app, incoming))
}

/// Removes the job from the address, so that a reload shows what the page keeps.
fn clear_address() {
    let location = dom::window().location();
    let bare = location.pathname().unwrap_or_default() + &location.search().unwrap_or_default();
    if let Ok(history) = dom::window().history() {
        let _ = history.replace_state_with_url(&JsValue::NULL, "", Some(&bare));
    }
}

/// Copies a link with the whole job.
pub fn link(app: &App) {
    copy_or(&format!("{MARK}{}", app.job.link()), || {
        save(app);
        name(app, ".json")
    });
}

/// Copies a link. A page that is a file itself can be reached by none: it saves a file instead, and says its name.
pub fn copy_or(fragment: &str, saved: impl FnOnce() -> String) {
    if dom::window().location().protocol().is_ok_and(|protocol| protocol == "file:") {
        let words = format!("No link leads to a page that is a file: saved as {} instead.", saved());
        return dom::say(&dom::by_id("kept"), &words);
    }
    copy(fragment);
}

/// Copies a link to where the page stands; shows it in the address as well, in case the clipboard is closed.
fn copy(fragment: &str) {
    let location = dom::window().location();
    let bare = location.origin().unwrap_or_default() + &location.pathname().unwrap_or_default();
    let address = bare + fragment;
    if let Ok(history) = dom::window().history() {
        let _ = history.replace_state_with_url(&JsValue::NULL, "", Some(fragment));
    }
    let host = location.hostname().unwrap_or_default();
    let here = if HERE.contains(&host.as_str()) { " It leads to this computer alone." } else { "" };
    let long = if address.len() > LONG_LINK { " It is long; some mail programs cut it. A file is safer." } else { "" };
    let said = move |copied: bool| {
        let words = if copied { "Link copied." } else { "The link stands in the address bar." };
        dom::say(&dom::by_id("kept"), &format!("{words}{here}{long}"));
    };
    let clipboard = js_sys::Reflect::get(&dom::window().navigator(), &"clipboard".into()).unwrap_or_default();
    if clipboard.is_undefined() {
        return said(copied_the_old_way(&address).unwrap_or(false));
    }
    let written = dom::window().navigator().clipboard().write_text(&address);
    wasm_bindgen_futures::spawn_local(async move {
        said(wasm_bindgen_futures::JsFuture::from(written).await.is_ok());
    });
}

/// Names under which a computer knows itself.
const HERE: [&str; 3] = ["localhost", "127.0.0.1", "[::1]"];

/// Copies as browsers did before they had a clipboard: over plain http they have none.
fn copied_the_old_way(text: &str) -> Option<bool> {
    let focus = dom::document().active_element();
    let field: HtmlTextAreaElement = dom::plain("textarea").unchecked_into();
    field.set_value(text);
    dom::document().body()?.append_child(&field).ok()?;
    field.select();
    let command = js_sys::Reflect::get(&dom::document(), &"execCommand".into()).ok();
    let command = command.and_then(|command| command.dyn_into::<js_sys::Function>().ok());
    let copied = command.and_then(|command| command.call1(&dom::document(), &"copy".into()).ok());
    field.remove();
    let _ = focus.and_then(|element| element.dyn_into::<HtmlElement>().ok()).map(|element| element.focus());
    copied?.as_bool()
}

/// A name for a file of this job.
pub fn name(app: &App, ending: &str) -> String {
    named(&app.job.title, ending)
}

fn named(title: &str, ending: &str) -> String {
    let plain: String = title.to_lowercase().chars().map(|c| if c.is_alphanumeric() { c } else { ' ' }).collect();
    let words: Vec<&str> = plain.split_whitespace().collect();
    format!("{}{ending}", words.join("-"))
}

fn offer(parts: &JsValue, kind: &str, name: &str) {
    let bag = BlobPropertyBag::new();
    bag.set_type(kind);
    let Ok(blob) = Blob::new_with_str_sequence_and_options(parts, &bag) else { return };
    offer_blob(&blob, name);
}

fn offer_blob(blob: &Blob, name: &str) {
    let Ok(address) = Url::create_object_url_with_blob(blob) else { return };
    let Ok(anchor) = dom::document().create_element("a") else { return };
    let anchor: HtmlAnchorElement = anchor.unchecked_into();
    anchor.set_href(&address);
    anchor.set_download(name);
    anchor.click();
    dom::say(&dom::by_id("kept"), &format!("Saved as {name}."));
    let _ = Url::revoke_object_url(&address);
}

/// Saves the job file.
pub fn save(app: &App) {
    offer(&js_sys::Array::of1(&app.kept().text().into()), "application/json", &name(app, ".json"));
}

/// Saves a text under a title; the file's name.
pub fn text(text: &str, title: &str, ending: &str) -> String {
    let name = named(title, ending);
    offer(&js_sys::Array::of1(&text.into()), "application/json", &name);
    name
}

/// Saves a document of its own.
pub fn document(text: &str, name: &str) {
    offer(&js_sys::Array::of1(&text.into()), "text/html", name);
}

/// Saves a table.
pub fn table(text: &str, name: &str) {
    offer(&js_sys::Array::of1(&text.into()), "text/csv", name);
}

/// Saves the film grid of the job's tinted clear, or of its first paint.
#[inline(never)] // so that it comes later
pub fn grid(app: &App) {
    let text = film_csv(&app.whole(), app.job.tinted().unwrap_or(0));
    offer(&js_sys::Array::of1(&text.into()), "text/csv", &name(app, "-film.csv"));
}

/// Saves the report, with the findings as far as the page lists them and their search has ended.
#[inline(never)] // so that it comes later
pub fn report(app: &App) {
    let mut report = fanlap::report::report(&app.whole());
    app.rooms.iter().for_each(|room| room.report(app, &mut report));
    let text = serde_json::to_string_pretty(&report).unwrap_or_default() + "\n";
    offer(&js_sys::Array::of1(&text.into()), "application/json", &name(app, "-report.json"));
}

/// Saves the picture of the place that is open.
pub fn picture(app: &App) {
    let _ = app.rooms.iter().any(|room| room.picture(app));
}

/// Saves a canvas as a picture.
pub fn offer_canvas(canvas: &HtmlCanvasElement, name: &str) {
    let name = name.to_string();
    let done = Closure::once_into_js(move |blob: Option<Blob>| {
        if let Some(blob) = blob {
            offer_blob(&blob, &name);
        }
    });
    let _ = canvas.to_blob(done.unchecked_ref());
}

/// Saves what the spray-outs show.
#[inline(never)] // so that it comes later
pub fn cards(app: &App) {
    let text = serde_json::to_string_pretty(&fanlap::cards::report(&app.job)).unwrap_or_default() + "\n";
    offer(&js_sys::Array::of1(&text.into()), "application/json", &name(app, "-cards.json"));
}

/// Largest file that is read, bytes.
const LARGEST: f64 = 2_000_000.0;

/// Reads a file when one is chosen, and hands on its name and its text.
pub fn when_chosen(id: &'static str, f: fn(&mut App, &str, &str)) {
    dom::on(&dom::by_id(id), "change", move |_| {
        let input = dom::input(id);
        let Some(file) = input.files().and_then(|files| files.get(0)) else { return };
        let name = file.name();
        if file.size() > LARGEST {
            input.set_value("");
            let why = "It is larger than 2 MB: no job and no reading is. Choose another file; nothing was changed.";
            with(|app| app.trouble(&format!("{name} was not opened"), why));
            return;
        }
        wasm_bindgen_futures::spawn_local(async move {
            let text = wasm_bindgen_futures::JsFuture::from(file.text()).await;
            let text = text.ok().and_then(|text| text.as_string()).unwrap_or_default();
            with_rest(move |app| {
                f(app, &name, &text);
                app.touch();
            });
            input.set_value("");
        });
    });
}

/// Takes the text of an opened file: a job, or what a place knows. The present job stays if it is refused.
pub fn opened(app: &mut App, name: &str, text: &str) {
    *app.notice = None;
    let taken = taken_in(app, Incoming::File(name, text));
    let read = taken.unwrap_or_else(|| Job::read(text, &Files::none()).map(|job| begin(app, job)));
    match read {
        Ok(()) => crate::shell::controls::paints(app),
        Err(problem) => {
            app.trouble(&format!("{name} was not opened"), &format!("{problem} Your present job is untouched."))
        }
    }
}
