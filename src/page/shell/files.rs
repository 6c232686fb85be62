//! What goes out of the page and comes in: job files, links, pictures, grids and reports.

use crate::figure::pen::{Align, INK, Pen};
use crate::practice::lesson;
use crate::shell::app::{App, Place, View};
use crate::shell::dom;
use crate::shell::rest::with_rest;
use crate::with;
use fanlap::job::{Files, Job};
use fanlap::practice::{Attempt, Lesson};
use fanlap::report::film_csv;
use fanlap::units::Seconds;
use wasm_bindgen::prelude::*;
use web_sys::{Blob, BlobPropertyBag, HtmlAnchorElement, HtmlCanvasElement, HtmlElement, HtmlTextAreaElement, Url};

/// Marks a job in the address, and a lesson.
const MARK: &str = "#job=";
const LESSON_MARK: &str = "#lesson=";
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
    let read = if let Some(link) = address.strip_prefix(MARK) {
        Job::from_link(link).map(|job| {
            app.open(job);
            app.seek(Seconds(0.0));
        })
    } else if let Some(link) = address.strip_prefix(LESSON_MARK) {
        Lesson::from_link(link).map(|lesson| lesson::come_in(app, lesson))
    } else {
        return;
    };
    clear_address();
    if let Err(problem) = read {
        app.trouble("What is in this link was not opened", &format!("{problem} {rest}"));
    }
}

/// Removes the job from the address, so that a reload shows what the page keeps.
fn clear_address() {
    let location = dom::window().location();
    let bare = location.pathname().unwrap_or_default() + &location.search().unwrap_or_default();
    if let Ok(history) = dom::window().history() {
        let _ = history.replace_state_with_url(&JsValue::NULL, "", Some(&bare));
    }
}

/// Copies a link with the whole job. A page that is a file itself can be reached by no link: it saves the job instead.
pub fn link(app: &App) {
    if is_file() {
        save(app);
        return dom::say(&dom::by_id("kept"), &no_link(&name(app, ".json")));
    }
    copy(&format!("{MARK}{}", app.job.link()));
}

/// Copies a link with a lesson, or saves the lesson.
pub fn lesson_link(lesson: &Lesson) {
    if is_file() {
        text(&lesson.text(), &lesson.title, "-lesson.json");
        return dom::say(&dom::by_id("kept"), &no_link(&named(&lesson.title, "-lesson.json")));
    }
    copy(&format!("{LESSON_MARK}{}", lesson.link()));
}

fn is_file() -> bool {
    dom::window().location().protocol().is_ok_and(|protocol| protocol == "file:")
}

fn no_link(name: &str) -> String {
    format!("No link leads to a page that is a file: saved as {name} instead.")
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

/// Saves a text under a title.
pub fn text(text: &str, title: &str, ending: &str) {
    offer(&js_sys::Array::of1(&text.into()), "application/json", &named(title, ending));
}

/// Saves the booth sheet as a document of its own.
pub fn sheet(app: &App) {
    let text = fanlap::sheet::document(&app.job, app.system, app.within, app.booth.foreseen());
    offer(&js_sys::Array::of1(&text.into()), "text/html", &name(app, "-booth-sheet.html"));
}

/// Saves a table.
pub fn table(text: &str, name: &str) {
    offer(&js_sys::Array::of1(&text.into()), "text/csv", name);
}

/// Saves the film grid of the job's tinted clear, or of its first paint.
pub fn grid(app: &App) {
    let text = film_csv(&app.whole(), app.job.tinted().unwrap_or(0));
    offer(&js_sys::Array::of1(&text.into()), "text/csv", &name(app, "-film.csv"));
}

/// Saves the report, with the findings as far as the page lists them and their search has ended.
pub fn report(app: &App) {
    let rehearsed = fanlap::report::report(&app.whole());
    let report = fanlap::report::Report { findings: crate::rehearsal::findings::whole(app), ..rehearsed };
    let text = serde_json::to_string_pretty(&report).unwrap_or_default() + "\n";
    offer(&js_sys::Array::of1(&text.into()), "application/json", &name(app, "-report.json"));
}

/// Height of the caption under a saved picture, px.
const CAPTION: f64 = 64.0;

/// Saves the figure as it is seen: picture, rulers and section, and under them the job's title and what it shows.
pub fn picture(app: &App) {
    if app.place == Place::SprayOuts {
        return crate::spray_outs::graph::picture(app);
    }
    let over: HtmlCanvasElement = dom::by_id("drawing").unchecked_into();
    let under: HtmlCanvasElement = dom::by_id("paint").unchecked_into();
    let Ok(whole) = dom::document().create_element("canvas") else { return };
    let whole: HtmlCanvasElement = whole.unchecked_into();
    let ratio = f64::from(over.width()) / f64::from(over.client_width().max(1));
    let (width, height) = (f64::from(over.width()) / ratio, f64::from(over.height()) / ratio);
    whole.set_width(over.width());
    whole.set_height(((height + CAPTION) * ratio).round() as u32);
    let Some(context) = whole.get_context("2d").ok().flatten() else { return };
    let context: web_sys::CanvasRenderingContext2d = context.unchecked_into();
    let _ = context.scale(ratio, ratio);
    context.set_fill_style_str(&dom::token("--surround"));
    context.fill_rect(0.0, 0.0, width, height + CAPTION);
    let layout = &app.layout;
    let (x, y) = (layout.left, layout.top);
    let _ = context.draw_image_with_html_canvas_element_and_dw_and_dh(&under, x, y, layout.width, layout.height);
    let _ = context.draw_image_with_html_canvas_element_and_dw_and_dh(&over, 0.0, 0.0, width, height);
    let pen = Pen { on: &context, small: 12.0 };
    let view = match app.view {
        View::Paint => format!("paint under {} at {}\u{b0}", app.job.viewing.illuminant, app.job.viewing.aspecular.0),
        View::Film => format!("film, \u{b5}m, {:.0} to {:.0}", app.film_ends().0, app.film_ends().1),
        View::Difference => format!("colour difference to the target, \u{b1}{:.0} \u{394}E", app.scales.difference),
        View::Seen => format!(
            "what {} would see from {} m, 0 to {:.0} times the threshold",
            fanlap::words::eye(&app.job.viewing.eye),
            app.job.viewing.distance.0,
            app.scales.times
        ),
    };
    pen.colour(INK).bold(&format!("{}: {view}", app.job.title), 16.0, height + 20.0, Align::Left);
    pen.text(&crate::rehearsal::readings::in_one_line(app), 16.0, height + 38.0, Align::Left);
    pen.text("Computed by fanlap; not checked on a painted panel.", 16.0, height + 56.0, Align::Left);
    offer_canvas(&whole, &name(app, ".png"));
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
            with_rest(move |app| f(app, &name, &text));
            input.set_value("");
        });
    });
}

/// Takes the text of an opened file: a job, a lesson or an attempt at one. The present job stays if it is refused.
pub fn opened(app: &mut App, name: &str, text: &str) {
    dom::by_id("notice").set_hidden(true);
    let read = if text.contains("\"fanlap_lesson\"") {
        Lesson::read(name, text).map(|lesson| lesson::come_in(app, lesson))
    } else if text.contains("\"fanlap_attempt\"") {
        Attempt::read(name, text).and_then(|attempt| Ok((attempt.sprayed()?, attempt))).map(|(job, attempt)| {
            app.open(job);
            lesson::come_back(app, &attempt);
        })
    } else {
        Job::read(text, &Files::none()).map(|job| {
            app.open(job);
            app.seek(Seconds(0.0));
        })
    };
    match read {
        Ok(()) => crate::shell::controls::paints(app),
        Err(problem) => {
            app.trouble(&format!("{name} was not opened"), &format!("{problem} Your present job is untouched."))
        }
    }
}
