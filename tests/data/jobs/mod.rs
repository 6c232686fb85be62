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

/// A job file with nothing in it but one value at a path such as `coats[0].overlap` (first items only), and what its
/// section cannot do without.
pub fn only(path: &str, value: Value) -> Value {
    let mut whole = json!({ "fanlap_job": 1 });
    put(&mut whole, path, value);
    complete(&mut whole, path);
    whole
}

/// Adds to the section of a path what it cannot do without: sections that may be null have no default of their own.
pub fn complete(whole: &mut Value, path: &str) {
    let without = |section: &Value, keys: &[&str]| keys.iter().all(|key| section.get(key).is_none());
    let (section, key) = path.split_once('.').unwrap_or((path, ""));
    if (section, key) == ("paints[0]", "reflectance") {
        whole["paints"][0]["role"] = json!("base");
    }
    let Some(inside) = whole.get_mut(section) else { return };
    match section {
        "car" if !key.is_empty() && without(inside, &["lab", "reflectance"]) => {
            inside["lab"] = json!({ "45": [42, 45, 30] });
        }
        "measured" if !key.is_empty() => {
            if without(inside, &["cards"]) {
                inside["cards"] = json!([{ "coats": 1 }]);
            }
            for card in inside["cards"].as_array_mut().into_iter().flatten().filter(|card| card.is_object()) {
                if without(card, &["lab", "reflectance"]) {
                    card["lab"] = json!([42, 45, 30]);
                }
            }
        }
        "test_card" if !key.is_empty() && without(inside, &["readings"]) => {
            inside["readings"] = json!([[-60, 4.5], [0, 12], [60, 4.5]]);
        }
        "cards" if key == "chosen" => inside["ladder"] = json!([0.5, 6, 8]),
        _ => {}
    }
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

/// Leaves out the key at a path.
pub fn remove(whole: &mut Value, path: &str) {
    let mut place = whole;
    let parts: Vec<&str> = path.split(['.', '[']).collect();
    for part in &parts[..parts.len() - 1] {
        let part = part.trim_end_matches(']');
        place = if place.is_array() { &mut place[part.parse::<usize>().unwrap()] } else { &mut place[part] };
    }
    place.as_object_mut().unwrap().remove(parts[parts.len() - 1]);
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

    /// Reflectances by some of the angles, 45 degrees among them, each number from 0 to 20.
    pub fn angles(&mut self) -> Value {
        let some = ["-15", "15", "25", "75", "110"].into_iter().filter(|_| self.share() < 0.9).collect::<Vec<_>>();
        Map::from_iter(some.into_iter().chain(["45"]).map(|angle| (angle.to_string(), self.spectrum(20.0)))).into()
    }

    /// A job file in which about `share` of all inputs are given, with up to three paints and up to five coats.
    pub fn job(&mut self, share: f64) -> Value {
        let mut whole = json!({ "fanlap_job": 1 });
        let own = ["cards", "car", "measured", "test_card"];
        let plain =
            |input: &&Input| !input.path.contains("[]") && !own.contains(&input.path.split('.').next().unwrap_or(""));
        for input in INPUTS.iter().filter(plain) {
            self.perhaps(share, input, &mut whole, input.path);
        }
        self.sections(share, &mut whole);
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
            whole["ground"] = json!({ "kind": "effect", "reflectance": self.angles() });
        }
        if self.share() < 0.5 * share {
            self.base(share, &mut whole);
        }
        if self.share() < 0.3 {
            whole["target"] = json!({ "lab": [self.share() * 100.0, self.share() * 50.0, -self.share() * 50.0] });
        }
        whole
    }

    /// A base under the other paints, perhaps sprayed before them.
    fn base(&mut self, share: f64, whole: &mut Value) {
        let mut base = self.item(share, "paints");
        (base["name"], base["role"]) = (json!("base"), json!("base"));
        if base["kind"] == "solid" {
            base["reflectance"] = json!({ "45": self.spectrum(1.0) });
        } else if self.share() < share {
            base["reflectance"] = self.angles();
        }
        whole["paints"].as_array_mut().unwrap().push(base);
        if self.share() < 0.8 {
            let mut coat = self.item(share, "coats");
            coat["paint"] = json!("base");
            whole["coats"].as_array_mut().unwrap().insert(0, coat);
        }
    }

    /// The sections of the spray-outs and the test card, in one of their forms or left out.
    fn sections(&mut self, share: f64, whole: &mut Value) {
        if self.share() < share {
            let mut ladder: Vec<f64> = (1..=16).map(|i| 0.5 * f64::from(i)).filter(|_| self.share() < 0.4).collect();
            ladder.truncate(8);
            if ladder.is_empty() {
                ladder.push(1.5);
            }
            let chosen = if self.share() < 0.5 { json!(null) } else { json!(self.one(&ladder)) };
            let sticker = self.one(&["black_grey_white", "black_grey", "black_white"]);
            whole["cards"] = json!({ "ladder": ladder, "chosen": chosen, "sticker": sticker });
        }
        if self.share() < share {
            whole["car"] = match self.below(3) {
                0 => json!(null),
                1 => json!({ "reflectance": self.angles() }),
                _ => {
                    let (light, observer) = (*self.one(&["D65", "A", "LED-B3"]), *self.one(&[2, 10]));
                    let lab = json!({ "-15": self.lab(), "45": self.lab(), "110": self.lab() });
                    json!({ "lab": lab, "illuminant": light, "observer_deg": observer })
                }
            };
        }
        if self.share() < share {
            let cards: Vec<Value> = (0..self.below(17)).map(|i| self.measured_card(i)).collect();
            whole["measured"] = json!({ "cards": cards });
            for input in fanlap::job::inputs::section("measured") {
                self.perhaps(share, input, whole, input.path);
            }
        }
        if self.share() < share {
            let places = self.below(200);
            let readings: Vec<Value> = (0..places).map(|i| json!([i as f64 - 99.5, 40.0 * self.share()])).collect();
            whole["test_card"] = json!({ "readings": readings });
            for input in fanlap::job::inputs::section("test_card") {
                self.perhaps(share, input, whole, input.path);
            }
        }
    }

    fn measured_card(&mut self, i: usize) -> Value {
        let mut card = json!({ "coats": 0.5 * i as f64 });
        if self.share() < 0.5 {
            card["lab"] = self.lab();
        } else {
            card["reflectance"] = json!({ "values": self.spectrum(20.0) });
        }
        if self.share() < 0.5 {
            card["film_um"] = json!(0.1 + 400.0 * self.share());
        }
        card
    }

    fn lab(&mut self) -> Value {
        json!([self.share() * 100.0, self.share() * 100.0 - 50.0, self.share() * 100.0 - 50.0])
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
