//! The few things the page does with its document, in short words. Elements named here stand in `www/index.html`;
//! a missing one is a fault of the build and panics. Knows nothing of jobs.

use std::cell::RefCell;
use std::collections::HashMap;
use wasm_bindgen::prelude::*;
use web_sys::{
    CanvasRenderingContext2d, Document, Element, Event, EventTarget, HtmlButtonElement, HtmlCanvasElement, HtmlElement,
    HtmlInputElement, HtmlSelectElement, HtmlTemplateElement, Window,
};

/// The window.
pub fn window() -> Window {
    web_sys::window().expect("the page runs in a window")
}

/// The document.
pub fn document() -> Document {
    window().document().expect("the window has a document")
}

/// An element of the page by its id.
pub fn by_id(id: &str) -> HtmlElement {
    document().get_element_by_id(id).unwrap_or_else(|| panic!("#{id} stands in index.html")).unchecked_into()
}

/// An input by its id.
pub fn input(id: &str) -> HtmlInputElement {
    by_id(id).unchecked_into()
}

/// A select by its id.
pub fn select(id: &str) -> HtmlSelectElement {
    by_id(id).unchecked_into()
}

/// All elements that match.
pub fn all(within: &Element, selector: &str) -> Vec<HtmlElement> {
    let Ok(list) = within.query_selector_all(selector) else { return Vec::new() };
    (0..list.length()).filter_map(|i| list.item(i)).map(JsCast::unchecked_into).collect()
}

/// The first element within that matches.
pub fn part<T: JsCast>(within: &Element, selector: &str) -> T {
    let found = within.query_selector(selector).ok().flatten();
    found.unwrap_or_else(|| panic!("{selector} stands in its template")).unchecked_into()
}

/// A fresh copy of a template's element.
pub fn template(id: &str) -> HtmlElement {
    let template: HtmlTemplateElement = by_id(id).unchecked_into();
    let first = template.content().first_element_child().expect("a template holds an element");
    first.clone_node_with_deep(true).expect("elements can be copied").unchecked_into()
}

/// Keeps as many children as wanted: the last ones go, what is missing is made.
pub fn keep<E: AsRef<Element>>(parent: &Element, wanted: usize, make: impl Fn() -> E) {
    while parent.child_element_count() as usize > wanted {
        let _ = parent.last_element_child().map(|last| last.remove());
    }
    while (parent.child_element_count() as usize) < wanted {
        parent.append_child(make().as_ref()).expect("elements can be appended");
    }
}

/// A fresh plain element.
pub fn plain(tag: &str) -> Element {
    document().create_element(tag).expect("plain elements exist")
}

/// Sets an element's text if it is another one (so that screen readers are not told twice).
pub fn say(element: &Element, text: &str) {
    if element.text_content().as_deref() != Some(text) {
        element.set_text_content(Some(text));
    }
}

/// Sets an attribute.
pub fn set(element: &Element, name: &str, value: &str) {
    element.set_attribute(name, value).expect("names of attributes are valid");
}

/// Sets a style property or a custom property.
pub fn style(element: &HtmlElement, name: &str, value: &str) {
    element.style().set_property(name, value).expect("names of properties are valid");
}

/// Adds or removes a class.
pub fn class(element: &Element, name: &str, on: bool) {
    element.class_list().toggle_with_force(name, on).expect("names of classes are valid");
}

/// Listens for as long as the page lives.
pub fn on(target: &EventTarget, kind: &str, listener: impl FnMut(Event) + 'static) {
    let closure = Closure::<dyn FnMut(Event)>::new(listener).into_js_value();
    target.add_event_listener_with_callback(kind, closure.unchecked_ref()).expect("events can be listened to");
}

/// Listens to an event on its way down to its element: some do not come up again.
pub fn on_way_down(target: &EventTarget, kind: &str, listener: impl FnMut(Event) + 'static) {
    let closure = Closure::<dyn FnMut(Event)>::new(listener).into_js_value();
    let listening = target.add_event_listener_with_callback_and_bool(kind, closure.unchecked_ref(), true);
    listening.expect("events can be listened to");
}

/// Where the focus goes from an element that loses it.
pub fn next_focus(event: &Event) -> Option<Element> {
    js_sys::Reflect::get(event, &"relatedTarget".into()).ok()?.dyn_into().ok()
}

/// The value of a field, whatever its kind.
pub fn value_of(field: &HtmlElement) -> String {
    js_sys::Reflect::get(field, &"value".into()).ok().and_then(|value| value.as_string()).unwrap_or_default()
}

/// The page's body.
pub fn body() -> HtmlElement {
    document().body().expect("a page has a body")
}

/// Switches a button off or on.
pub fn off(id: &str, off: bool) {
    by_id(id).unchecked_into::<HtmlButtonElement>().set_disabled(off);
}

/// Checks the radio of a group.
pub fn choose(group: &str, value: &str) {
    for radio in all(&body(), &format!("input[name={group}][value={value}]")) {
        radio.unchecked_into::<HtmlInputElement>().set_checked(true);
    }
}

/// The element an event came from. A drawing inside a button counts as an element like any other.
pub fn target(event: &Event) -> Option<HtmlElement> {
    event.target().and_then(|target| target.dyn_into::<Element>().ok()).map(JsCast::unchecked_into)
}

/// Whether a media query holds.
pub fn media(query: &str) -> bool {
    window().match_media(query).ok().flatten().is_some_and(|list| list.matches())
}

thread_local! {
    /// What has been read of the page's style; reading it anew costs the browser a whole style pass.
    static STYLE: RefCell<HashMap<String, String>> = RefCell::new(HashMap::new());
}

/// Forgets what was read of the page's style: the window's size or its colour scheme has changed.
pub fn forget_style() {
    STYLE.with(|style| style.borrow_mut().clear());
}

/// A property of the root's style, such as the token `--ink`.
fn root_style(name: &str) -> String {
    STYLE.with(|known| {
        known
            .borrow_mut()
            .entry(name.to_string())
            .or_insert_with(|| {
                let root = document().document_element().expect("a page has a root");
                let style = window().get_computed_style(&root).ok().flatten();
                let value = style.and_then(|style| style.get_property_value(name).ok());
                value.unwrap_or_default().trim().to_string()
            })
            .clone()
    })
}

/// The value of a colour token of the page.
pub fn token(name: &str) -> String {
    root_style(name)
}

/// Size of the root's text, px.
pub fn rem() -> f64 {
    root_style("font-size").trim_end_matches("px").parse().unwrap_or(16.0)
}

/// A canvas whose pixels match the screen's: its drawing context in CSS pixels, cleared, with its width and height.
pub struct Canvas {
    /// Draws in CSS pixels.
    pub context: CanvasRenderingContext2d,
    /// Width, CSS px.
    pub width: f64,
    /// Height, CSS px.
    pub height: f64,
}

/// Prepares a canvas for a fresh drawing.
pub fn canvas(id: &str) -> Canvas {
    let element: HtmlCanvasElement = by_id(id).unchecked_into();
    let (width, height) = (f64::from(element.client_width()), f64::from(element.client_height()));
    let ratio = window().device_pixel_ratio().clamp(1.0, 3.0);
    let (columns, rows) = ((width * ratio).round() as u32, (height * ratio).round() as u32);
    if element.width() != columns || element.height() != rows {
        element.set_width(columns);
        element.set_height(rows);
    }
    let context = context(&element);
    context.set_transform(ratio, 0.0, 0.0, ratio, 0.0, 0.0).expect("a plain scale");
    context.clear_rect(0.0, 0.0, width, height);
    Canvas { context, width, height }
}

fn context(element: &HtmlCanvasElement) -> CanvasRenderingContext2d {
    let context = element.get_context("2d").ok().flatten().expect("every browser draws in two dimensions");
    context.unchecked_into()
}

/// Milliseconds since the page was opened.
pub fn now() -> f64 {
    window().performance().map_or(0.0, |clock| clock.now())
}
