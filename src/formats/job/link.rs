//! The link that carries a whole job: its JSON less everything that is at its default, deflated (RFC 1951) and
//! written as base64url (RFC 4648). Has never heard of a page or an address.

use super::inputs::INPUTS;
use super::{Files, Job, read};
use base64::Engine;
use base64::engine::general_purpose::URL_SAFE_NO_PAD;
use fanlap_film::error::Problem;
use serde_json::Value;
use std::sync::LazyLock;

/// What a job's text may grow to when a link is unpacked.
const LARGEST_BYTES: usize = 400_000;
/// Longest link that is read.
const LONGEST: usize = 60_000;

pub(super) fn write(job: &Job) -> String {
    static DEFAULTS: LazyLock<Value> = LazyLock::new(|| Job::default().value());
    let mut value = job.value();
    shorten(&mut value, &DEFAULTS, "");
    pack(&value.to_string())
}

pub(super) fn read(fragment: &str) -> Result<Job, Problem> {
    read::job(read::parse(&unpack(fragment)?)?, &Files::none())
}

/// A text packed for a link.
pub fn pack(text: &str) -> String {
    URL_SAFE_NO_PAD.encode(miniz_oxide::deflate::compress_to_vec(text.as_bytes(), 9))
}

/// The text of a link.
pub fn unpack(fragment: &str) -> Result<String, Problem> {
    let broken = |given: &str| {
        let allowed = "a link as this page writes it";
        Problem::new("link", given, allowed, "Ask for the link again, or for the file.")
    };
    if fragment.len() > LONGEST {
        return Err(broken("a text too long for a link"));
    }
    let packed = URL_SAFE_NO_PAD.decode(fragment).map_err(|_| broken("a text that is no link"))?;
    let text = miniz_oxide::inflate::decompress_to_vec_with_limit(&packed, LARGEST_BYTES)
        .map_err(|_| broken("a link that is cut short or damaged"))?;
    String::from_utf8(text).map_err(|_| broken("a link that is damaged"))
}

/// Forms that are kept whole where they are not at their default.
const WHOLE: [&str; 9] =
    ["ground", "absorption_per_um", "reflectance", "target", "ladder", "car", "measured", "test_card", "chosen"];

/// Removes what is at its default.
fn shorten(value: &mut Value, defaults: &Value, path: &str) {
    match value {
        Value::Object(map) => {
            map.retain(|key, item| {
                let path = if path.is_empty() { key.clone() } else { format!("{path}.{key}") };
                let default = defaults.get(key).cloned().or_else(|| default_of(&path));
                if key == "fanlap_job" {
                    return true;
                }
                if default.as_ref().is_some_and(|default| read::same(default, item)) {
                    return false;
                }
                if WHOLE.contains(&key.as_str()) {
                    return true;
                }
                shorten(item, default.as_ref().unwrap_or(&Value::Null), &path);
                true
            });
        }
        Value::Array(items) => {
            for item in items {
                // a list's items are compared with the first default item, or with the table
                shorten(item, defaults.get(0).unwrap_or(&Value::Null), &format!("{path}[]"));
            }
        }
        _ => {}
    }
}

/// The default of an item of a list.
fn default_of(pattern: &str) -> Option<Value> {
    INPUTS.iter().find(|input| input.path == pattern).and_then(|input| input.default_value())
}
