//! What a measured file leaves open, asked where the file was chosen: at which angle, on which scale. Keeps the file
//! until it is answered, and hands it on with the answer. Reads nothing itself.

use crate::parts::dom;
use crate::shell::app::App;
use crate::shell::run::with;
use fanlap::colour::ANGLES;
use fanlap::job::instrument::{Question, question};
use fanlap::measured::{Said, Scale};
use fanlap::units::Degrees;
use std::cell::RefCell;
use web_sys::{Element, HtmlElement};

/// What is done with a file once everything is known of it.
pub type Take = fn(&mut App, &str, &str, Said);

/// A file that waits for an answer.
struct Waiting {
    place: &'static str,
    name: String,
    text: String,
    said: Said,
    cards: bool,
    take: Take,
}

thread_local! {
    static WAITING: RefCell<Option<Waiting>> = const { RefCell::new(None) };
}

/// Listens to the answers at a place.
pub fn listen(place: &'static str) {
    dom::on(&dom::by_id(place), "click", move |event| {
        let button = dom::target(&event).and_then(|target| target.closest("[data-answer]").ok().flatten());
        if let Some(answer) = button.and_then(|button| button.get_attribute("data-answer")) {
            answered(place, &answer);
        }
    });
}

/// Takes a file at a place of the page, after asking what it leaves open. Samples of one colour need an angle each;
/// `cards` may share theirs.
pub fn first(app: &mut App, place: &'static str, cards: bool, name: &str, text: &str, take: Take) {
    let (name, text) = (name.to_string(), text.to_string());
    go_on(app, Waiting { place, name, text, said: Said::default(), cards, take });
}

fn go_on(app: &mut App, file: Waiting) {
    match question(&file.name, &file.text, file.said, file.cards) {
        Some(question) => {
            show(&file, question);
            WAITING.set(Some(file));
        }
        None => {
            close(file.place);
            (file.take)(app, &file.name, &file.text, file.said);
        }
    }
}

/// Drops a question that is still open at a place.
pub fn close(place: &str) {
    dom::by_id(place).set_hidden(true);
    WAITING.set(None);
}

fn answered(place: &'static str, answer: &str) {
    let Some(mut file) = WAITING.take().filter(|file| file.place == place) else { return };
    match answer {
        "percent" => file.said.scale = Scale::Percent,
        "factor" => file.said.scale = Scale::Factor,
        answer => file.said.aspecular = answer.parse().ok().map(Degrees),
    }
    if answer == "none" {
        close(place);
    } else {
        with(|app| go_on(app, file));
    }
    // the button is gone: where the file was chosen the work goes on
    let back = dom::by_id(place).get_attribute("data-back").unwrap_or_default();
    if dom::by_id(place).hidden() {
        let _ = dom::by_id(&back).focus();
    }
}

fn show(file: &Waiting, question: Question) {
    let place = dom::by_id(file.place);
    let text = match (question, file.cards) {
        (Question::Angle, false) => format!("{} does not say its angle. At which one was it measured?", file.name),
        (Question::Angle, true) => {
            format!("{} does not say its angle. At which one were the cards measured?", file.name)
        }
        (Question::Scale, _) => format!("{} has reflectances far above 1. Is 100 or 1 the perfect white?", file.name),
    };
    dom::say(&dom::part(&place, "p"), &text);
    let mut answers: Vec<(String, String)> = match question {
        Question::Angle => ANGLES.map(|at| (at.to_string(), format!("{at}\u{b0}").replace('-', "\u{2212}"))).to_vec(),
        Question::Scale => [("percent", "100: per cent"), ("factor", "1: factors")]
            .map(|(value, words)| (value.to_string(), words.to_string()))
            .to_vec(),
    };
    answers.push(("none".to_string(), "Leave it".to_string()));
    let keys: HtmlElement = dom::part(&place, ".trial-keys");
    dom::keep(&keys, answers.len(), answer);
    for (button, (value, words)) in dom::all(&keys, "button").iter().zip(&answers) {
        dom::set(button, "data-answer", value);
        dom::say(button, words);
    }
    place.set_hidden(false);
    let _ = dom::part::<HtmlElement>(&place, "button").focus();
}

fn answer() -> Element {
    let button = dom::plain("button");
    dom::set(&button, "type", "button");
    dom::set(&button, "class", "plain");
    button
}
