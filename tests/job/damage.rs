//! Damage of every kind: no text and no file brings the reader down.

use super::*;

// Damage of every kind

/// Reads a damaged text: a job or a problem, and what is a job stays one.
fn survive(text: &str) {
    match Job::read(text, &Files::none()) {
        Ok(job) => {
            assert_eq!(Job::read(&job.text(), &Files::none()).as_ref(), Ok(&job), "{text}");
            assert!(!fanlap::words::meaning(&job).is_empty());
        }
        Err(problem) => drop(sound(problem)),
    }
}

#[test]
fn no_damaged_letter_of_a_job_file_makes_reading_panic_or_hang() {
    within(120, "damaged job files", || {
        let mut dice = Dice(15);
        let texts = [EXAMPLES[0].text, EXAMPLES[1].text, COMPLETE];
        let bits = [
            &b"-1"[..],
            b"1e999",
            b"null",
            b"\"",
            b"{",
            b"}",
            b"[",
            b"]",
            b",",
            b":",
            b"\\u0000",
            b"\0",
            b"\xff",
            b"999999",
        ];
        for round in 0..6000 {
            let mut bytes = texts[round % 3].as_bytes().to_vec();
            for _ in 0..=dice.below(4) {
                let place = dice.below(bytes.len());
                match dice.below(5) {
                    0 => bytes[place] ^= 1 << dice.below(8),
                    1 => drop(bytes.remove(place)),
                    2 => drop(bytes.splice(place..place, dice.one(&bits).iter().copied())),
                    3 => bytes[place] = b"0123456789.-e"[dice.below(13)],
                    _ => {
                        let end = (place + dice.below(40)).min(bytes.len());
                        drop(bytes.drain(place..end));
                    }
                }
            }
            survive(&String::from_utf8_lossy(&bytes));
        }
    });
}

/// The places of a JSON value, counted in order; the one at `place` is replaced.
fn replace(value: &mut Value, place: &mut usize, with: &Value) {
    if *place == 0 {
        *value = with.clone();
    }
    *place = place.wrapping_sub(1);
    match value {
        Value::Object(map) => map.values_mut().for_each(|item| replace(item, place, with)),
        Value::Array(items) => items.iter_mut().for_each(|item| replace(item, place, with)),
        _ => {}
    }
}

#[test]
fn no_odd_value_anywhere_in_a_job_file_makes_reading_panic_or_hang() {
    within(120, "odd values", || {
        let mut dice = Dice(16);
        let odd = [
            json!(null),
            json!(true),
            json!(-1),
            json!(-0.0),
            json!(0),
            json!(1e300),
            json!(u64::MAX),
            json!(i64::MIN),
            json!(5e-324),
            json!(""),
            json!("tinted"),
            json!("\u{0}"),
            json!("45"),
            json!([]),
            json!([[]]),
            json!({}),
            json!({ "file": "x" }),
            json!({ "file": 3 }),
            json!({ "file": "x", "values": [] }),
            json!({ "": {} }),
            json!(vec![0.5; 36]),
        ];
        for round in 0..6000 {
            let mut whole: Value =
                serde_json::from_str([COMPLETE, EXAMPLES[0].text, EXAMPLES[1].text][round % 3]).unwrap();
            for _ in 0..=dice.below(2) {
                replace(&mut whole, &mut dice.below(400), dice.one(&odd));
            }
            survive(&whole.to_string());
        }
    });
}
