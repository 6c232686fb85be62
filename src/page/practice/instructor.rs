//! The instructor's part of practice: one error put in by a named control for the class to name, a view for the
//! projector, and a lesson made of what is on the page. What an error does is the core's.

use crate::parts::dom;
use crate::practice::aids::foretells;
use crate::practice::lesson::{answer, copy_link};
use crate::practice::state::{PutIn, practice, practice_mut};
use crate::shell::app::App;
use crate::shell::files;
use crate::shell::run::with;
use fanlap::practice::{Aid, Channel, Gap, LESSON_VERSION, Lesson, LessonLimits, LessonShown, Size, Slip, Task, Told};
use fanlap::words::shown;
use wasm_bindgen::JsCast;
use web_sys::HtmlButtonElement;

/// What the chosen control puts in; none where it is kept secret.
fn chosen() -> Option<Channel> {
    let value = dom::select("error-kind").value();
    Channel::ALL.into_iter().find(|channel| key(*channel) == value)
}

/// A channel's name in files and in the page's values.
fn key(channel: Channel) -> String {
    serde_json::to_value(channel).ok().and_then(|value| value.as_str().map(String::from)).unwrap_or_default()
}

/// Listens to the instructor's controls and to the answers.
pub fn listen() {
    let select = dom::select("error-kind");
    for channel in Channel::ALL {
        let option = dom::plain("option");
        dom::set(&option, "value", &key(channel));
        dom::say(&option, channel.name());
        let _ = select.append_child(&option);
        let button = dom::plain("button");
        dom::set(&button, "type", "button");
        dom::set(&button, "class", "plain");
        dom::set(&button, "data-channel", &key(channel));
        dom::say(&button, channel.name());
        let _ = dom::by_id("guess-answers").append_child(&button);
    }
    dom::on(&select, "change", |_| {
        with(|app| {
            size(app, true);
            if practice(app).put_in.is_some() {
                put_in(app);
            }
        });
    });
    dom::on(&dom::by_id("error-size"), "input", |_| {
        with(|app| {
            size(app, false);
            if practice(app).put_in.is_some() && chosen().is_some() {
                put_in(app);
            }
        });
    });
    dom::on(&dom::by_id("error-spray"), "click", |_| with(put_in));
    dom::on(&dom::by_id("error-take-out"), "click", |_| {
        with(|app| {
            *practice_mut(app).put_in = None;
            app.recorded.tracks.clear();
            app.resprayed();
        });
    });
    dom::on(&dom::by_id("guess-answers"), "click", |event| {
        let named = dom::target(&event).and_then(|target| target.get_attribute("data-channel"));
        let named = named.and_then(|named| Channel::ALL.into_iter().find(|channel| key(*channel) == named));
        let Some(channel) = named else { return };
        with(|app| {
            if let Some(put_in) = &mut *practice_mut(app).put_in {
                put_in.guess = Some(channel);
            } else {
                answer(app, channel);
            }
        });
    });
    dom::on(&dom::by_id("projector"), "click", |_| with(projector));
    dom::on(&dom::by_id("author-save"), "click", |_| {
        with(|app| {
            if let Some(lesson) = authored(app) {
                files::text(&lesson.text(), &lesson.title, "-lesson.json");
            }
        });
    });
    dom::on(&dom::by_id("author-link"), "click", |_| {
        with(|app| {
            if let Some(lesson) = authored(app) {
                copy_link(&lesson);
            }
        });
    });
}

/// Large type, few controls, high contrast; and back.
fn projector(app: &mut App) {
    let root = dom::document().document_element().expect("a page has a root");
    let on = !root.class_list().contains("projector");
    dom::class(&root, "projector", on);
    let button = dom::by_id("projector");
    dom::set(&button, "aria-pressed", if on { "true" } else { "false" });
    dom::say(&button, if on { "Leave the projector view" } else { "For the projector" });
    app.measure();
}

/// The sizes of the chosen error.
fn sizes(app: &App) -> Option<Size> {
    chosen().map(|channel| Slip::sizes(&app.job, app.recorded.coat, channel))
}

fn size(app: &App, anew: bool) {
    let slide = dom::input("error-size");
    let sizes = sizes(app);
    dom::by_id("error-size-box").set_hidden(sizes.is_none());
    let Some(sizes) = sizes else { return };
    slide.set_min(&sizes.range.0.to_string());
    slide.set_max(&sizes.range.1.to_string());
    slide.set_step(&sizes.step.to_string());
    if anew {
        slide.set_value(&sizes.usual.to_string());
    }
    let value: f64 = slide.value().parse().unwrap_or(sizes.usual);
    let way = match chosen() {
        Some(Channel::Distance) if value > 0.0 => " farther",
        Some(Channel::Distance) if value < 0.0 => " nearer",
        Some(Channel::Overlap) if value > 0.0 => " too far apart",
        Some(Channel::Overlap) if value < 0.0 => " too close",
        _ => "",
    };
    let text = match sizes.unit {
        Some(unit) => shown(unit, if way.is_empty() { value } else { value.abs() }, *app.system) + way,
        None => format!("line {value:.0}"),
    };
    dom::say(&dom::by_id("error-size-value"), &text);
}

/// Sprays the plan with the chosen error, or with one that nobody is told.
fn put_in(app: &mut App) {
    if app.job.coats.is_empty() {
        return;
    }
    let coat = app.recorded.coat;
    let (channel, size) = match chosen() {
        Some(channel) => (channel, dom::input("error-size").value().parse().unwrap_or(0.0)),
        None => {
            let drawn = crate::parts::chance::seed() as usize % Channel::ALL.len();
            let channel = Channel::ALL[drawn];
            (channel, Slip::sizes(&app.job, coat, channel).usual)
        }
    };
    if practice(app).put_in.is_none() {
        app.remember_hand();
    }
    // every coat, so that the film is the plan's but for the error
    let sprayed = Slip::of(channel, size).in_all_coats(&app.job);
    *practice_mut(app).lesson = None;
    app.recorded.tracks = sprayed.coats.into_iter().filter_map(|coat| coat.track).collect();
    practice_mut(app).judged_anew = false;
    *practice_mut(app).put_in = Some(PutIn { channel, secret: chosen().is_none(), guess: None });
    app.resprayed();
}

/// The lesson of the present state: the job, what is shown, the error. Says why if there is none.
fn authored(app: &mut App) -> Option<Lesson> {
    let text = |id: &str| dom::input(id).value().trim().to_string();
    let (title, goal) = (text("author-title"), text("author-goal"));
    let trouble = dom::by_id("author-trouble");
    if title.is_empty() || goal.is_empty() {
        dom::say(&trouble, "A lesson needs a title and a goal.");
        return None;
    }
    // the error that is put in; without one, the job as it stands must not pass at another speed
    let put_in = *practice(app).put_in;
    let channel = chosen().or(put_in.map(|put_in| put_in.channel)).unwrap_or(Channel::Speed);
    let usual = Slip::sizes(&app.job, app.recorded.coat, channel).usual;
    let size = chosen().and_then(|_| dom::input("error-size").value().parse().ok()).unwrap_or(usual);
    let slip = Slip::of(channel, size);
    let job = app.job.clone();
    let aid = |id: &str| if dom::input(id).checked() { Aid::On } else { Aid::Off };
    let find = dom::select("author-task").value() == "find";
    let told: Told = serde_json::from_value(dom::select("author-told").value().into()).unwrap_or(Told::End);
    let other = Channel::ALL.into_iter().find(|other| *other != channel).unwrap_or(channel);
    let film = text("author-film").parse::<f64>().unwrap_or(20.0) / 100.0;
    let lesson = Lesson {
        fanlap_lesson: LESSON_VERSION,
        title,
        new: channel.name().to_string(),
        goal,
        why: text("author-why")
            .split_inclusive(". ")
            .map(|why| why.trim().to_string())
            .filter(|w| !w.is_empty())
            .collect(),
        job: job.value(),
        task: if find { Task::Find { hand: slip, mistaken_for: other } } else { Task::Spray { slip } },
        open: Vec::<Gap>::new(),
        taken_up_at_mm: None,
        limits: if find {
            LessonLimits::default()
        } else {
            LessonLimits { film: Some(film), ..LessonLimits::default() }
        },
        shown: LessonShown {
            lines: aid("author-lines-shown"),
            pacer: aid("author-pacer-shown"),
            clicks: aid("author-clicks-shown"),
            film: aid("author-film-shown"),
        },
        told: if find { Told::End } else { told },
        predict: dom::input("author-predict").checked(),
        seed: 0,
    };
    if let Err(problem) = lesson.in_range("the lesson") {
        dom::say(&trouble, &problem.plainly());
        return None;
    }
    // a lesson that its own plan does not pass, or its error does, teaches nothing
    let passes = |attempt: Result<fanlap::practice::Attempt, fanlap::error::Problem>| {
        attempt.and_then(|attempt| lesson.mark(&attempt)).map(|mark| mark.passed)
    };
    let said = match (passes(lesson.example()), passes(lesson.typical_error())) {
        (Ok(true), Ok(false)) => None,
        (Ok(false), _) => Some("The plan itself does not pass it: allow more.".to_string()),
        (_, Ok(true)) => Some("The error above passes it too: make it larger, or allow less.".to_string()),
        (Err(problem), _) | (_, Err(problem)) => Some(problem.to_string()),
    };
    dom::say(&trouble, said.as_deref().unwrap_or(""));
    said.is_none().then_some(lesson)
}

/// What went wrong, once it is found.
fn truth(app: &App) -> Option<Channel> {
    let found = practice(app).next.as_ref()?.channel;
    found.or(practice(app).put_in.map(|put_in| put_in.channel))
}

/// Brings the question and its answers in step.
pub fn sync(app: &App) {
    size(app, dom::input("error-size").value().is_empty());
    let put_in = *practice(app).put_in;
    let in_lesson = practice(app)
        .lesson
        .as_ref()
        .filter(|trying| matches!(trying.lesson.task, Task::Find { .. }) && !foretells(app));
    let guess = put_in.map_or_else(|| in_lesson.and_then(|trying| trying.state.answer), |put_in| put_in.guess);
    let asks = put_in.is_some() || in_lesson.is_some();
    dom::by_id("guess").set_hidden(!asks);
    dom::by_id("error-take-out").set_hidden(put_in.is_none());
    let body = dom::document().body().expect("a page has a body");
    dom::class(&body, "guessing", asks && guess.is_none());
    for button in dom::all(&dom::by_id("guess-answers"), "button") {
        let named = button.get_attribute("data-channel").unwrap_or_default();
        let this = guess.is_some_and(|guess| key(guess) == named);
        dom::set(&button, "aria-pressed", if this { "true" } else { "false" });
        button.unchecked_into::<HtmlButtonElement>().set_disabled(in_lesson.is_some() && guess.is_some());
    }
    let text = match (guess, truth(app)) {
        (None, _) => String::new(),
        (Some(_), None) => "Trying what did most \u{2026}".to_string(),
        (Some(guess), Some(truth)) if guess == truth => format!("Yes: it was {}.", truth.name()),
        (Some(guess), Some(truth)) => format!("No: it was {}, not {}.", truth.name(), guess.name()),
    };
    dom::say(&dom::by_id("guess-told"), &text);
    let secret = put_in.is_some_and(|put_in| put_in.secret && put_in.guess.is_none());
    dom::say(&dom::by_id("error-state"), if secret { "One error was drawn; nobody is told which." } else { "" });
    let limit = dom::by_id("author-film-box");
    let find = dom::select("author-task").value() == "find";
    limit.set_hidden(find);
    dom::by_id("author-told-box").set_hidden(find);
    dom::by_id("author-shown").set_hidden(find);
}
