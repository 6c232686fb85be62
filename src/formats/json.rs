//! JSON in which every key stands once: of two equal ones the reader would drop the first without a word. Knows nothing of
//! what the text means.

use fanlap_film::error::Problem;
use serde::de::{DeserializeSeed, Deserializer, Error, MapAccess, SeqAccess, Visitor};
use serde_json::{Map, Number, Value};
use std::cell::RefCell;
use std::fmt;

/// Reads a text as JSON. `file` is what the text is, in words, for whoever has to mend it.
///
/// ```
/// use fanlap_formats::json;
/// assert_eq!(json::read("a job file", "{\"a\": [1, 2.5]}").unwrap()["a"][1], 2.5);
/// let problem = json::read("a job file", "{\"coats\": [{\"a\": 1, \"a\": 2}]}").unwrap_err();
/// assert_eq!((problem.at.as_str(), problem.given.as_str()), ("coats[0].a", "the key \"a\" twice"));
/// ```
pub fn read(file: &str, text: &str) -> Result<Value, Problem> {
    let twice = RefCell::new(None);
    let mut reader = serde_json::Deserializer::from_str(text.trim_start_matches('\u{feff}'));
    let place = Place { path: String::new(), twice: &twice };
    let read = place.deserialize(&mut reader).and_then(|value| reader.end().map(|()| value));
    read.map_err(|error| twice.take().unwrap_or_else(|| broken(file, &error)))
}

/// A text that is no JSON.
fn broken(file: &str, error: &serde_json::Error) -> Problem {
    let at = format!("line {}, column {}", error.line(), error.column());
    if error.is_eof() {
        let remedy = "The file is incomplete: save it or send it again. Nothing of it was used.";
        return Problem::new(at, "the end of the text", format!("a whole {file} (JSON)"), remedy);
    }
    let place = format!(" at line {} column {}", error.line(), error.column());
    let given = format!("text that is no JSON ({})", error.to_string().replace(&place, ""));
    let remedy = format!("Check that it is a {file}, and mend the text at this place; nothing of it was used.");
    Problem::new(at, given, format!("a {file} (JSON)"), remedy)
}

/// Where in the text a value stands, and the first key that stood there twice.
struct Place<'a> {
    path: String,
    twice: &'a RefCell<Option<Problem>>,
}

impl Place<'_> {
    fn item(&self, i: usize) -> Self {
        Self { path: format!("{}[{i}]", self.path), twice: self.twice }
    }

    fn key(&self, key: &str) -> Self {
        let path = if self.path.is_empty() { key.to_string() } else { format!("{}.{key}", self.path) };
        Self { path, twice: self.twice }
    }
}

impl<'de> DeserializeSeed<'de> for Place<'_> {
    type Value = Value;

    fn deserialize<D: Deserializer<'de>>(self, from: D) -> Result<Value, D::Error> {
        from.deserialize_any(self)
    }
}

impl<'de> Visitor<'de> for Place<'_> {
    type Value = Value;

    fn expecting(&self, f: &mut fmt::Formatter) -> fmt::Result {
        f.write_str("a JSON value")
    }

    fn visit_unit<E>(self) -> Result<Value, E> {
        Ok(Value::Null)
    }

    fn visit_bool<E>(self, value: bool) -> Result<Value, E> {
        Ok(Value::Bool(value))
    }

    fn visit_i64<E>(self, value: i64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_u64<E>(self, value: u64) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_f64<E>(self, value: f64) -> Result<Value, E> {
        Ok(Number::from_f64(value).map_or(Value::Null, Value::Number))
    }

    fn visit_str<E>(self, value: &str) -> Result<Value, E> {
        Ok(value.into())
    }

    fn visit_seq<A: SeqAccess<'de>>(self, mut list: A) -> Result<Value, A::Error> {
        let mut items = Vec::new();
        while let Some(item) = list.next_element_seed(self.item(items.len()))? {
            items.push(item);
        }
        Ok(Value::Array(items))
    }

    fn visit_map<A: MapAccess<'de>>(self, mut entries: A) -> Result<Value, A::Error> {
        let mut map = Map::new();
        while let Some(key) = entries.next_key::<String>()? {
            let place = self.key(&key);
            if map.contains_key(&key) {
                let remedy = "Remove one of the two: which of them is meant cannot be told.";
                let given = format!("the key \"{key}\" twice");
                *self.twice.borrow_mut() = Some(Problem::new(place.path, given, "every key once", remedy));
                return Err(A::Error::custom("a key twice"));
            }
            let value = entries.next_value_seed(place)?;
            map.insert(key, value);
        }
        Ok(Value::Object(map))
    }
}
