//! What is typed into a field: a number within its limits, and what is wrong with it told at the field. Knows nothing
//! of what the number is for.

use crate::parts::dom;
use fanlap::words::digits_of;
use web_sys::{HtmlElement, HtmlInputElement};

/// A number as typed: comma or point, true minus or hyphen.
pub fn number_typed(text: &str) -> Option<f64> {
    text.trim().replace(',', ".").replace('\u{2212}', "-").parse().ok().filter(|number: &f64| number.is_finite())
}

/// The number in a field, in the job file's unit; none of an empty one.
pub fn number(
    id: &str,
    (least, most): (f64, f64),
    (unit, factor, digits): (&str, f64, usize),
) -> Result<Option<f64>, String> {
    let text = dom::input(id).value();
    if text.trim().is_empty() {
        return Ok(None);
    }
    let allowed = (least * factor, most * factor);
    let value = number_typed(&text).filter(|value| (allowed.0..=allowed.1).contains(value));
    value.map(|value| Some(value / factor)).ok_or_else(|| {
        let label: HtmlElement =
            dom::part(&dom::document().body().expect("a page has a body"), &format!("label[for={id}]"));
        let (name, least, most) = (label.text_content().unwrap_or_default(), allowed.0, allowed.1);
        let (least, most) = (digits_of(least, digits), digits_of(most, digits));
        let unit = if unit.is_empty() { String::new() } else { format!(" {unit}") };
        format!("{name}: given \u{201c}{text}\u{201d}; allowed is {least} to {most}{unit}. Type a number within.")
    })
}

/// Ties what is wrong with a field to it.
pub fn at_field<T>(id: &str, trouble: &str, read: Result<T, String>) -> Result<T, String> {
    mark(&[dom::input(id)], &[read.is_err()], trouble);
    read
}

/// Marks the faulty fields of a row, none if there are none, and ties them to what is said of them.
pub fn mark(fields: &[HtmlInputElement], wrong: &[bool], trouble: &str) {
    for (i, field) in fields.iter().enumerate() {
        if wrong.get(i).copied().unwrap_or(false) {
            dom::set(field, "aria-invalid", "true");
            dom::set(field, "aria-describedby", trouble);
        } else {
            let _ = field.remove_attribute("aria-invalid");
            let _ = field.remove_attribute("aria-describedby");
        }
    }
}
