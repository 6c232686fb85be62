//! Workers beside the page: started, sent to, listened to. One that dies is noticed, whether it says so, fails or is
//! simply gone: it holds a lock as long as it lives, and the page waits for that. And what the workers of the booth
//! sheet run.

use crate::parts::dom;
use crate::shell::app::App;
use crate::shell::run::with;
use fanlap::advice::{Search, Wishes};
use fanlap::job::{Files, Job};
use fanlap::sheet::Foreseen;
use std::cell::Cell;
use std::rc::Rc;
use wasm_bindgen::prelude::*;
use web_sys::{MessageEvent, Worker, WorkerOptions, WorkerType};

/// What is said when a worker died for the first time over a job.
pub const AGAIN: &str = "The calculation stopped unexpectedly; it is started again.";

/// Hears a message.
pub type Told = fn(&mut App, &JsValue);
/// Hears that the worker has died, and why.
pub type Died = fn(&mut App, &str);

/// A worker that is terminated when it is dropped.
pub struct Helper {
    worker: Worker,
    ended: Rc<Cell<bool>>,
}

impl Helper {
    /// Starts one; none where the browser has no workers.
    pub fn start(told: Told, died: Died) -> Option<Self> {
        let options = WorkerOptions::new();
        // where the page is one file, its own text is the worker's
        let inside = dom::document().document_element().and_then(|root| root.get_attribute("data-worker"));
        options.set_type(if inside.is_some() { WorkerType::Classic } else { WorkerType::Module });
        let worker = Worker::new_with_options(inside.as_deref().unwrap_or("./worker.js"), &options).ok()?;
        let ended = Rc::new(Cell::new(false));
        let end: Rc<dyn Fn(&str)> = {
            let (worker, ended) = (worker.clone(), ended.clone());
            Rc::new(move |why: &str| {
                if !ended.replace(true) {
                    worker.terminate();
                    with(|app| {
                        died(app, why);
                        app.touch();
                    });
                }
            })
        };
        let (hears, over) = (end.clone(), ended.clone());
        dom::on(&worker, "message", move |event| {
            let data = event.unchecked_ref::<MessageEvent>().data();
            if let Some(why) = text(&data, "died") {
                hears(&why);
            } else if let Some(lock) = text(&data, "alive") {
                watch(&lock, hears.clone());
            } else if !over.get() {
                with(|app| {
                    told(app, &data);
                    app.touch();
                });
            }
        });
        for kind in ["error", "messageerror"] {
            let hears = end.clone();
            dom::on(&worker, kind, move |event| {
                hears(&text(&event, "message").unwrap_or_else(|| "its answer was not readable".to_string()));
            });
        }
        Some(Self { worker, ended })
    }

    /// Sends it some fields.
    pub fn send(&self, fields: &[(&str, JsValue)]) {
        let message = js_sys::Object::new();
        for (key, value) in fields {
            let _ = js_sys::Reflect::set(&message, &(*key).into(), value);
        }
        let _ = self.worker.post_message(&message);
    }
}

impl Drop for Helper {
    fn drop(&mut self) {
        self.ended.set(true);
        self.worker.terminate();
    }
}

fn text(of: &JsValue, key: &str) -> Option<String> {
    js_sys::Reflect::get(of, &key.into()).ok()?.as_string().filter(|text| !text.is_empty())
}

/// Waits for the lock that a worker holds while it lives. Where a browser has no locks, its errors alone are heard.
fn watch(lock: &str, end: Rc<dyn Fn(&str)>) {
    let get = |of: &JsValue, key: &str| js_sys::Reflect::get(of, &key.into()).unwrap_or_default();
    let locks = get(&dom::window().navigator(), "locks");
    let request = get(&locks, "request");
    let free = Closure::once_into_js(move || end("it ended by itself"));
    if let Some(request) = request.dyn_ref::<js_sys::Function>() {
        let _ = request.call2(&locks, &lock.into(), &free);
    }
}

/// Makes a fault of the program itself, in a worker, an error with its reason.
#[wasm_bindgen]
pub fn tell_faults() {
    std::panic::set_hook(Box::new(|panic| wasm_bindgen::throw_str(&panic.to_string())));
}

/// What a job's booth sheet foresees, as JSON: what its worker runs.
#[wasm_bindgen]
pub fn foresee(job: &str, within: f64) -> String {
    let job = Job::read(job, &Files::none()).ok();
    job.and_then(|job| serde_json::to_string(&Foreseen::of(&job, within)).ok()).unwrap_or_default()
}

/// The search for plans, one rehearsal a step: what the worker runs.
#[wasm_bindgen]
pub struct Advising {
    search: Search,
}

#[wasm_bindgen]
impl Advising {
    /// Begins with the text of a job file and the wishes as JSON.
    #[wasm_bindgen(constructor)]
    pub fn new(job: &str, wishes: &str) -> Result<Advising, JsValue> {
        let job = Job::read(job, &Files::none()).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
        let wishes: Wishes = serde_json::from_str(wishes).map_err(|problem| JsValue::from_str(&problem.to_string()))?;
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
