//! Selects whose options follow from data, written only when they have changed.

use crate::parts::dom;
use fanlap::job::Job;
use fanlap::units::Degrees;
use fanlap::words::digits_of;
use web_sys::{Element, HtmlSelectElement};

/// The options of a select, values and words; they are written only when they have changed.
pub fn options(select: &HtmlSelectElement, wanted: &[(String, String)], chosen: &str) {
    let mark: String = wanted.iter().map(|(value, words)| format!("{value}\n{words}\n")).collect();
    if select.get_attribute("data-options").as_deref() != Some(&mark) {
        dom::set(select, "data-options", &mark);
        select.set_inner_html("");
        wanted.iter().for_each(|(value, words)| option(select, value, words));
    }
    select.set_value(chosen);
}

/// Adds one option.
pub fn option(select: &Element, value: &str, words: &str) {
    let option = dom::plain("option");
    dom::set(&option, "value", value);
    dom::say(&option, words);
    select.append_child(&option).expect("elements can be appended");
}

/// Offers the angles at which a job's paint can be looked at, with what each is called.
pub fn seen_at(id: &str, job: &Job, called: impl Fn(Degrees) -> &'static str) {
    let angle = |angle: Degrees| (angle.0.to_string(), format!("{}\u{b0}{}", digits_of(angle.0, 0), called(angle)));
    let angles: Vec<_> = job.angles().into_iter().map(angle).collect();
    options(&dom::select(id), &angles, &job.viewing.aspecular.0.to_string());
}
