//! What a test can do to the page in a real browser: go, look, press, draw, read the console. The commands are those of
//! W3C WebDriver (<https://www.w3.org/TR/webdriver2/>). Knows nothing of what the page is about, only that it says
//! `data-ready="yes"` and `data-rest="yes"` on its root element when it is ready and whole.
//!
//! ```ignore
//! let page = Page::open("/?nosw");
//! page.find("#spray").click();
//! page.wait_until("document.querySelector('#film').textContent !== ''");
//! ```
#![allow(dead_code)] // it offers what a test may need, not only what the present ones do

use crate::session::{PATIENCE, Server, Session, text_of};
use base64::Engine;
use serde_json::{Value, json};
use std::path::Path;
use std::time::{Duration, Instant};

/// The keys without a letter, as WebDriver writes them.
pub mod keys {
    pub const BACKSPACE: char = '\u{E003}';
    pub const TAB: char = '\u{E004}';
    pub const ENTER: char = '\u{E007}';
    pub const SHIFT: char = '\u{E008}';
    pub const CONTROL: char = '\u{E009}';
    pub const ESCAPE: char = '\u{E00C}';
    pub const SPACE: char = ' ';
    pub const PAGE_UP: char = '\u{E00E}';
    pub const PAGE_DOWN: char = '\u{E00F}';
    pub const END: char = '\u{E010}';
    pub const HOME: char = '\u{E011}';
    pub const LEFT: char = '\u{E012}';
    pub const UP: char = '\u{E013}';
    pub const RIGHT: char = '\u{E014}';
    pub const DOWN: char = '\u{E015}';
    pub const DELETE: char = '\u{E017}';
}

const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";
/// The first picture is there, and the rest of the page's code.
const READY: &str =
    "document.documentElement.dataset.ready === 'yes' && document.documentElement.dataset.rest === 'yes'";
const FIRST: &str = "document.documentElement.dataset.ready === 'yes'";

/// One page in one fresh browser, with a server of its own. Dropping it ends all three.
pub struct Page {
    session: Session,
    server: Option<Server>,
    port: u16,
    /// Where its paths begin.
    base: String,
}

impl Page {
    /// Starts a server and a browser, goes to the path and waits until the page is ready.
    #[track_caller]
    pub fn open(path: &str) -> Page {
        let page = Page::start();
        page.goto(path);
        page
    }

    /// Starts a server and a browser, and goes nowhere yet: for what must be set before the page loads.
    #[track_caller]
    pub fn start() -> Page {
        let server = Server::start(0);
        let base = format!("http://127.0.0.1:{}", server.port());
        Page { session: Session::new(), port: server.port(), server: Some(server), base }
    }

    /// Starts a browser for a page that stands elsewhere: behind another server, or behind none.
    #[track_caller]
    pub fn elsewhere(server: Option<Server>, base: &str) -> Page {
        let port = server.as_ref().map_or(0, Server::port);
        Page { session: Session::new(), port, server, base: base.to_string() }
    }

    /// Where the page is served, without a slash at the end.
    pub fn origin(&self) -> String {
        self.base.clone()
    }

    /// Ends the server, as when the network is gone.
    pub fn stop_server(&mut self) {
        self.server = None;
    }

    /// Lets the network stall, or go on.
    pub fn stall(&self, on: bool) {
        self.server.as_ref().expect("a server").stall(on);
    }

    /// Starts the server again where it was.
    #[track_caller]
    pub fn restart_server(&mut self) {
        self.stop_server();
        self.server = Some(Server::start(self.port));
    }

    /// Goes to a path of the page and waits until it is ready.
    #[track_caller]
    pub fn goto(&self, path: &str) {
        self.post("url", json!({ "url": format!("{}{path}", self.origin()) }));
        self.wait_until(READY);
    }

    /// Goes to a path of the page and waits until its first picture is there, but not for the rest.
    #[track_caller]
    pub fn goto_first(&self, path: &str) {
        self.post("url", json!({ "url": format!("{}{path}", self.origin()) }));
        self.wait_until(FIRST);
    }

    /// Opens another tab of the same browser and turns to it; the handle of the one before.
    #[track_caller]
    pub fn new_tab(&self, path: &str) -> String {
        let before = text_of(&self.session.get("window"));
        let made = self.post("window/new", json!({ "type": "tab" }));
        self.turn_to(&text_of(&made["handle"]));
        self.goto(path);
        before
    }

    /// Turns to a tab.
    #[track_caller]
    pub fn turn_to(&self, tab: &str) {
        self.post("window", json!({ "handle": tab }));
    }

    /// Closes the tab turned to, and turns to another.
    #[track_caller]
    pub fn close_tab(&self, then: &str) {
        self.session.delete("window");
        self.turn_to(then);
    }

    /// Loads the page again and waits until it is ready.
    #[track_caller]
    pub fn refresh(&self) {
        self.post("refresh", json!({}));
        self.wait_until(READY);
    }

    /// The first element a CSS selector matches; waits for it.
    #[track_caller]
    pub fn find(&self, css: &str) -> Element<'_> {
        self.wait_until(&format!("document.querySelector({}) !== null", json!(css)));
        let found = self.post("element", json!({ "using": "css selector", "value": css }));
        Element { page: self, id: text_of(&found[ELEMENT]), css: css.to_owned() }
    }

    /// Runs a function body in the page and returns what it returns.
    #[track_caller]
    pub fn execute(&self, script: &str) -> Value {
        self.post("execute/sync", json!({ "script": script, "args": [] }))
    }

    /// Runs a function body that hands its result to the callback `done`, and waits for that.
    #[track_caller]
    pub fn execute_async(&self, script: &str) -> Value {
        let script = format!("const done = arguments[arguments.length - 1];\n{script}");
        self.post("execute/async", json!({ "script": script, "args": [] }))
    }

    /// Waits, up to half a minute, until a JavaScript expression is true.
    #[track_caller]
    pub fn wait_until(&self, condition: &str) {
        self.wait_until_within(condition, PATIENCE);
    }

    /// Waits until a JavaScript expression is true; panics when that takes too long.
    #[track_caller]
    pub fn wait_until_within(&self, condition: &str, patience: Duration) {
        let (start, script) = (Instant::now(), format!("return Boolean({condition});"));
        loop {
            let answer = self.session.try_post("execute/sync", json!({ "script": script, "args": [] }));
            if answer == Ok(Value::Bool(true)) {
                return;
            }
            if start.elapsed() > patience {
                let log = self.console();
                panic!("not so after {patience:?}: {condition}\nlast answer: {answer:?}\nconsole: {log:#?}");
            }
            std::thread::sleep(Duration::from_millis(20));
        }
    }

    /// The page's title.
    #[track_caller]
    pub fn title(&self) -> String {
        text_of(&self.execute("return document.title;"))
    }

    /// Writes what the window shows to a PNG file and returns its bytes.
    #[track_caller]
    pub fn screenshot(&self, path: impl AsRef<Path>) -> Vec<u8> {
        let shot = text_of(&self.session.get("screenshot"));
        let png = base64::engine::general_purpose::STANDARD.decode(shot).expect("chromedriver sends base64");
        let path = path.as_ref();
        std::fs::create_dir_all(path.parent().expect("a file's path")).expect("a place for the screenshot");
        std::fs::write(path, &png).unwrap_or_else(|error| panic!("cannot write {}: {error}", path.display()));
        png
    }

    /// What the console has said since the last call: level and message, "SEVERE" for errors.
    #[track_caller]
    pub fn console(&self) -> Vec<(String, String)> {
        let log = self.post("se/log", json!({ "type": "browser" }));
        items(&log).map(|entry| (text_of(&entry["level"]), text_of(&entry["message"]))).collect()
    }

    /// Panics when the console has shown an error since it was last read.
    #[track_caller]
    pub fn assert_no_errors(&self) {
        let errors: Vec<_> = self.console().into_iter().filter(|(level, _)| level == "SEVERE").collect();
        assert!(errors.is_empty(), "the console shows errors: {errors:#?}");
    }

    /// The address of every request made since the last call, but for those of the browser's own start page.
    #[track_caller]
    pub fn requests(&self) -> Vec<String> {
        let log = self.post("se/log", json!({ "type": "performance" }));
        let events = items(&log).filter_map(|entry| serde_json::from_str::<Value>(entry["message"].as_str()?).ok());
        let sent = events.filter(|event| event["message"]["method"] == "Network.requestWillBeSent");
        let params = sent.map(|mut event| event["message"]["params"].take());
        let own = params.filter(|params| !text_of(&params["documentURL"]).starts_with("chrome"));
        own.map(|params| text_of(&params["request"]["url"])).collect()
    }

    /// Sends a DevTools command.
    #[track_caller]
    pub fn devtools(&self, command: &str, params: Value) -> Value {
        self.post("goog/cdp/execute", json!({ "cmd": command, "params": params }))
    }

    /// Gives the page a window of this many CSS pixels; a narrow one behaves as a phone's.
    #[track_caller]
    pub fn set_viewport(&self, width: u32, height: u32) {
        let size = json!({ "width": width, "height": height, "deviceScaleFactor": 1, "mobile": width < 600 });
        self.devtools("Emulation.setDeviceMetricsOverride", size);
    }

    /// Sets media features, such as `("prefers-color-scheme", "dark")` or `("prefers-reduced-motion", "reduce")`;
    /// those not named return to normal.
    #[track_caller]
    pub fn set_media(&self, features: &[(&str, &str)]) {
        let features: Vec<_> = features.iter().map(|(name, value)| json!({ "name": name, "value": value })).collect();
        self.devtools("Emulation.setEmulatedMedia", json!({ "features": features }));
    }

    /// Presses keys one after the other, wherever the focus is.
    #[track_caller]
    pub fn press(&self, keys: &[char]) {
        let strokes = keys.iter().flat_map(|key| [key_action("keyDown", *key), key_action("keyUp", *key)]);
        self.key_actions(strokes.collect());
    }

    /// Presses keys together, such as Shift and Tab.
    #[track_caller]
    pub fn chord(&self, keys: &[char]) {
        let down = keys.iter().map(|key| key_action("keyDown", *key));
        let up = keys.iter().rev().map(|key| key_action("keyUp", *key));
        self.key_actions(down.chain(up).collect());
    }

    #[track_caller]
    fn key_actions(&self, actions: Vec<Value>) {
        self.actions(json!([{ "type": "key", "id": "keyboard", "actions": actions }]));
    }

    /// Draws with the pointer held down through points of the window, in CSS pixels, at `ms` a point.
    #[track_caller]
    pub fn drag(&self, pointer: Pointer, points: &[(f64, f64)], ms: u32) {
        let to = |point: &(f64, f64), ms: u32| pointer.action("pointerMove", point, ms);
        let Some(first) = points.first() else { return };
        let mut actions = vec![to(first, 0), pointer.action("pointerDown", first, 0)];
        actions.extend(points[1..].iter().map(|point| to(point, ms)));
        actions.push(json!({ "type": "pointerUp", "button": 0 }));
        self.pointer_actions(pointer, actions);
    }

    /// Moves the pointer through points of the window without pressing it.
    #[track_caller]
    pub fn hover(&self, points: &[(f64, f64)], ms: u32) {
        let moves = points.iter().map(|point| Pointer::Mouse.action("pointerMove", point, ms)).collect();
        self.pointer_actions(Pointer::Mouse, moves);
    }

    #[track_caller]
    fn pointer_actions(&self, pointer: Pointer, actions: Vec<Value>) {
        let kind = pointer.name();
        self.actions(json!([
            { "type": "pointer", "id": kind, "parameters": { "pointerType": kind }, "actions": actions }
        ]));
    }

    /// Performs WebDriver input sources as they are given.
    #[track_caller]
    pub fn actions(&self, sources: Value) {
        self.post("actions", json!({ "actions": sources }));
    }

    #[track_caller]
    fn post(&self, path: &str, body: Value) -> Value {
        self.session.post(path, body)
    }
}

/// What a hand points with.
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum Pointer {
    Mouse,
    Touch,
    /// A pen, pressed with this share of its full force.
    Pen(f64),
}

impl Pointer {
    fn name(self) -> &'static str {
        match self {
            Pointer::Mouse => "mouse",
            Pointer::Touch => "touch",
            Pointer::Pen(_) => "pen",
        }
    }

    fn action(self, kind: &str, (x, y): &(f64, f64), ms: u32) -> Value {
        let mut action = match kind {
            "pointerDown" => json!({ "type": kind, "button": 0 }),
            _ => json!({ "type": kind, "duration": ms, "x": x.round(), "y": y.round(), "origin": "viewport" }),
        };
        if let Pointer::Pen(force) = self {
            action["pressure"] = json!(force);
        }
        action
    }
}

/// An element of the page.
pub struct Element<'a> {
    page: &'a Page,
    id: String,
    css: String,
}

impl Element<'_> {
    #[track_caller]
    pub fn click(&self) {
        self.post("click", json!({}));
    }

    /// Types text or `keys` into the element.
    #[track_caller]
    pub fn type_keys(&self, text: &str) {
        self.post("value", json!({ "text": text }));
    }

    /// Empties a field.
    #[track_caller]
    pub fn clear(&self) {
        self.post("clear", json!({}));
    }

    /// The text as it is shown.
    #[track_caller]
    pub fn text(&self) -> String {
        text_of(&self.get("text"))
    }

    /// An attribute as it is written; none when it is not there.
    #[track_caller]
    pub fn attribute(&self, name: &str) -> Option<String> {
        self.get(&format!("attribute/{name}")).as_str().map(str::to_owned)
    }

    /// A property of the live element, such as `value` or `checked`.
    #[track_caller]
    pub fn property(&self, name: &str) -> Value {
        self.get(&format!("property/{name}"))
    }

    /// Whether it can be seen.
    #[track_caller]
    pub fn is_displayed(&self) -> bool {
        self.get("displayed") == Value::Bool(true)
    }

    /// Left, top, width and height in the window, in CSS pixels, after scrolling it into view.
    #[track_caller]
    pub fn rect(&self) -> (f64, f64, f64, f64) {
        let script = "const e = arguments[0]; e.scrollIntoView({ block: 'nearest', behavior: 'instant' }); \
                      const r = e.getBoundingClientRect(); return [r.left, r.top, r.width, r.height];";
        let rect = self.page.post("execute/sync", json!({ "script": script, "args": [{ ELEMENT: self.id }] }));
        let side = |i: usize| rect[i].as_f64().unwrap_or_else(|| panic!("{} has no place: {rect}", self.css));
        (side(0), side(1), side(2), side(3))
    }

    /// The point of the window at these shares of the element's width and height.
    #[track_caller]
    pub fn point(&self, across: f64, down: f64) -> (f64, f64) {
        let (left, top, width, height) = self.rect();
        (left + across * width, top + down * height)
    }

    #[track_caller]
    fn get(&self, what: &str) -> Value {
        self.page.session.get(&format!("element/{}/{what}", self.id))
    }

    #[track_caller]
    fn post(&self, what: &str, body: Value) {
        let answer = self.page.session.try_post(&format!("element/{}/{what}", self.id), body);
        answer.unwrap_or_else(|error| panic!("{what} on `{}`: {error}", self.css));
    }
}

fn key_action(kind: &str, key: char) -> Value {
    json!({ "type": kind, "value": key })
}

fn items(value: &Value) -> impl Iterator<Item = &Value> {
    value.as_array().into_iter().flatten()
}
