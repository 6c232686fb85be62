//! What the tests of job files share: making a job file with one value in it, reading and being refused, own dice,
//! and a clock that complains of a hang. Knows no limit of any input.
#![allow(dead_code)]

use fanlap::error::Problem;
use fanlap::job::inputs::{INPUTS, Input, Kind};
use fanlap::job::{Files, Job};
use serde_json::{Map, Value, json};
use std::sync::mpsc::{RecvTimeoutError, channel};
use std::time::Duration;

/// A job file in which every key is written; its spectra are made up.
pub const COMPLETE: &str = include_str!("contract.json");

/// Reads a job that names no files.
pub fn read(value: &Value) -> Result<Job, Problem> {
    Job::read(&value.to_string(), &Files::none())
}

/// Reads a job that must be accepted.
pub fn accepted(value: &Value) -> Job {
    read(value).unwrap_or_else(|problem| panic!("refused: {problem}"))
}

/// Reads a job that must be refused.
pub fn refused(value: &Value) -> Problem {
    match read(value) {
        Ok(_) => panic!("accepted: {}", value.to_string().chars().take(300).collect::<String>()),
        Err(problem) => sound(problem),
    }
}

/// A problem that says all four things, each not longer than a person reads.
pub fn sound(problem: Problem) -> Problem {
    for part in [&problem.at, &problem.given, &problem.allowed, &problem.remedy] {
        assert!(!part.trim().is_empty(), "one part of the message says nothing: {problem}");
        assert!(part.chars().count() <= 400, "{} characters in one part of a message", part.chars().count());
        assert!(!part.contains(char::is_control), "a message on one line: {problem:?}");
    }
    assert!(problem.remedy.ends_with(['.', '?', ';']), "a remedy is a sentence: {}", problem.remedy);
    problem
}

/// A job file with nothing in it but what is given.
pub fn job(with: Value) -> Value {
    let mut whole = json!({ "fanlap_job": 1 });
    whole.as_object_mut().unwrap().extend(with.as_object().unwrap().clone());
    whole
}

/// The path of an input in the first item of its list.
pub fn first(path: &str) -> String {
    path.replace("[]", "[0]")
}

/// A job file with nothing in it but one value at a path such as `coats[0].overlap` (first items only).
pub fn only(path: &str, value: Value) -> Value {
    let mut whole = json!({ "fanlap_job": 1 });
    put(&mut whole, path, value);
    whole
}

/// Writes a value at a path, making the objects and first items on the way.
pub fn put(whole: &mut Value, path: &str, value: Value) {
    let mut place = whole;
    for part in path.split('.') {
        let (key, item) = part.split_once('[').map_or((part, false), |(key, _)| (key, true));
        place = place.as_object_mut().unwrap().entry(key).or_insert(if item { json!([{}]) } else { json!({}) });
        if item {
            place = &mut place[0];
        }
    }
    *place = value;
}

/// The inputs that take a number.
pub fn numbers() -> impl Iterator<Item = (&'static Input, &'static fanlap::job::inputs::Range)> {
    INPUTS.iter().filter_map(|input| Some((input, input.range()?)))
}

/// Does something that must be done within some seconds; where it is not, says so instead of hanging.
pub fn within<T: Send + 'static>(seconds: u64, what: &str, f: impl FnOnce() -> T + Send + 'static) -> T {
    let (sender, receiver) = channel();
    let worker = std::thread::spawn(move || sender.send(f()));
    match receiver.recv_timeout(Duration::from_secs(seconds)) {
        Ok(done) => done,
        Err(RecvTimeoutError::Disconnected) => panic!("{what}: {:?}", worker.join().map(drop)),
        Err(RecvTimeoutError::Timeout) => panic!("{what}: not done after {seconds} s"),
    }
}

/// Dice that fall the same every time (L'Ecuyer's 64-bit linear congruence, upper bits).
pub struct Dice(pub u64);

impl Dice {
    /// A share of one.
    pub fn share(&mut self) -> f64 {
        self.0 = self.0.wrapping_mul(2_862_933_555_777_941_757).wrapping_add(3_037_000_493);
        (self.0 >> 11) as f64 / (1u64 << 53) as f64
    }

    /// A whole number below `count`.
    pub fn below(&mut self, count: usize) -> usize {
        ((self.share() * count as f64) as usize).min(count - 1)
    }

    /// One of a list.
    pub fn one<'a, T>(&mut self, of: &'a [T]) -> &'a T {
        &of[self.below(of.len())]
    }

    /// Some value that an input takes by itself; none for a spectrum.
    pub fn value(&mut self, input: &Input) -> Option<Value> {
        match input.kind {
            Kind::Number(range) => {
                let between = range.least + (range.most - range.least) * self.share();
                let whole = between.round().clamp(range.least, range.most);
                let number = *self.one(&[range.least, range.most, range.default, between, between, between, whole]);
                let number = if input.key() == "seed" { number.round() } else { number };
                Some(if number.fract() == 0.0 { json!(number as i64) } else { json!(number) })
            }
            Kind::Choice(options, _) => Some(serde_json::from_str(self.one(options).0).unwrap()),
            Kind::Flag(_) => Some(json!(self.share() < 0.5)),
            Kind::Text(default) if input.path == "title" => Some(json!(format!("{default} \u{fc} {}", self.below(99)))),
            Kind::Text(_) | Kind::Form(_) => None,
        }
    }

    /// Thirty-six numbers from 0 to `most`.
    pub fn spectrum(&mut self, most: f64) -> Value {
        (0..36).map(|_| json!(self.share() * most)).collect()
    }

    /// A job file in which about `share` of all inputs are given, with a paint or two and up to four coats.
    pub fn job(&mut self, share: f64) -> Value {
        let mut whole = json!({ "fanlap_job": 1 });
        for input in INPUTS.iter().filter(|input| !input.path.contains("[]")) {
            self.perhaps(share, input, &mut whole, input.path);
        }
        let (paints, coats) = (1 + self.below(2), self.below(5));
        for (list, count) in [("paints", paints), ("coats", coats)] {
            whole[list] = (0..count).map(|_| self.item(share, list)).collect();
        }
        for (i, name) in ["tinted", "top clear"].iter().enumerate().take(paints) {
            whole["paints"][i]["name"] = json!(name);
            whole["paints"][i]["role"] = json!(["tinted_clear", "clear"][i]);
        }
        if self.share() < share {
            let values = self.spectrum(1.0);
            whole["paints"][0]["absorption_per_um"] = json!({ "from_nm": 380, "step_nm": 10, "values": values });
        }
        if self.share() < share {
            let angles = ["15", "25", "45", "75", "110"].map(|angle| (angle.to_string(), self.spectrum(20.0)));
            whole["ground"] = json!({ "kind": "effect", "reflectance": Map::from_iter(angles) });
        }
        if self.share() < 0.3 {
            whole["target"] = json!({ "lab": [self.share() * 100.0, self.share() * 50.0, -self.share() * 50.0] });
        }
        whole
    }

    fn item(&mut self, share: f64, list: &str) -> Value {
        let mut item = json!({});
        for input in fanlap::job::inputs::section(&format!("{list}[]")) {
            self.perhaps(share, input, &mut item, input.key());
        }
        item
    }

    fn perhaps(&mut self, share: f64, input: &Input, whole: &mut Value, path: &str) {
        if self.share() < share
            && let Some(value) = self.value(input)
        {
            put(whole, path, value);
        }
    }
}
