//! The gun in the hand: mouse, finger, pen and keys spray, what they sprayed is told as the core tells it, kept, taken back,
//! compared and rehearsed bit for bit by the native program.

use crate::driver::{Page, Pointer, keys};
use crate::rehearsal::{present_job, same_film};
use fanlap::job::Job;
use fanlap::job::inputs::System;
use fanlap::practice::{Attempt, Lesson, Progress, lessons, next_step, performance};
use fanlap::strokes::MovedBy;

pub const SETTLED: &str = "document.querySelector('#stage').dataset.grid === 'full'";

/// The page with the gun in the hand.
pub fn in_hand() -> Page {
    let page = Page::open("/?nosw");
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    page.find("#to-practice").click();
    page.wait_until("document.body.dataset.place === 'practice'");
    page.wait_until(SETTLED);
    page
}

/// Places in the window of two points of the panel, as shares of its length and width.
pub fn places(page: &Page, points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let bounds = page.execute(
        "const b = document.querySelector('#paint').getBoundingClientRect(); return [b.left, b.top, b.width, b.height];",
    );
    let at = |i: usize| bounds[i].as_f64().expect("a number");
    points.iter().map(|(x, y)| (at(0) + x * at(2), at(1) + y * at(3))).collect()
}

/// Sprays one pass from left to right in steps.
pub fn pass(page: &Page, pointer: Pointer, y: f64) {
    let steps: Vec<(f64, f64)> = (0..=20).map(|i| (0.02 + 0.048 * f64::from(i), y)).collect();
    page.drag(pointer, &places(page, &steps), 40);
}

pub fn passes(job: &Job) -> usize {
    performance(job, 0).map_or(0, |told| told.passes.len())
}

/// Sets the gun onto the first line, lets it run along, and holds the space bar for so many ms: in one sequence, for the
/// gun does not wait.
pub fn run_and_hold(page: &Page, ms: u32) {
    let key = |kind: &str, value: char| serde_json::json!({ "type": kind, "value": value });
    let stroke = |value: char| [key("keyDown", value), key("keyUp", value)];
    let mut actions: Vec<serde_json::Value> = [stroke(keys::DOWN), stroke(keys::ENTER)].concat();
    actions.push(key("keyDown", ' '));
    actions.push(serde_json::json!({ "type": "pause", "duration": ms }));
    actions.push(key("keyUp", ' '));
    page.actions(serde_json::json!([{ "type": "key", "id": "k", "actions": actions }]));
}

/// Chooses a lesson by its value, or none.
pub fn lesson_of(page: &Page, value: &str) {
    page.execute(&format!(
        "const s = document.querySelector('#practice-lesson'); s.value = '{value}'; s.dispatchEvent(new Event('change', {{ bubbles: true }}))"
    ));
}

/// Waits until so many passes are told of.
pub fn told(page: &Page, count: usize) {
    page.wait_until(&format!("document.querySelectorAll('#practice-rows tr').length === {count}"));
    page.wait_until(SETTLED);
}

#[test]
fn a_mouse_sprays_and_is_told_what_the_core_tells() {
    let page = in_hand();
    let empty = crate::rehearsal::picture(&page);
    pass(&page, Pointer::Mouse, 0.3);
    told(&page, 1);
    assert_ne!(crate::rehearsal::picture(&page), empty, "there is film on the panel");
    pass(&page, Pointer::Mouse, 0.4);
    told(&page, 2);
    let job = present_job(&page);
    assert_eq!(passes(&job), 2);
    let track = job.coats[0].track.as_ref().expect("a recording");
    assert!(track.samples.len() > 30, "{} looks", track.samples.len());
    let next = |system: System| {
        let words = serde_json::to_string(&next_step(&job, 0, system).unwrap().text).unwrap();
        page.wait_until(&format!("document.querySelector('#practice-next').textContent === {words}"));
    };
    next(System::Metric);
    let row =
        page.execute("return [...document.querySelectorAll('#practice-rows tr')[1].cells].map((c) => c.textContent);");
    let second = &performance(&job, 0).unwrap().passes[1];
    assert_eq!(track.moved_by, Some(MovedBy::Pointer));
    assert_eq!(row[1], "180");
    let off = row[2].as_str().unwrap().replace('\u{2212}', "-").parse::<f64>().unwrap();
    assert!((off - second.course.worst_mm).abs() <= 0.5 + 1e-9, "off line at its worst place: {row}");
    assert_eq!(row[3].as_str().unwrap().parse::<f64>().unwrap(), second.speed_mm_per_s.mean.round());
    same_film(&page, &job);
    page.execute("document.querySelector('#units input[value=us]').click()");
    next(System::Us);
    page.assert_no_errors();
}

#[test]
fn the_film_that_grows_is_the_film_that_stays() {
    let page = in_hand();
    let at = |x: f64| {
        let (x, y) = places(&page, &[(x, 0.5)])[0];
        serde_json::json!({ "type": "pointerMove", "duration": 60, "x": x.round(), "y": y.round(), "origin": "viewport" })
    };
    let does = |actions: Vec<serde_json::Value>| {
        page.actions(serde_json::json!([{ "type": "pointer", "id": "mouse", "parameters": { "pointerType": "mouse" }, "actions": actions }]));
    };
    let mut begin = vec![at(0.02), serde_json::json!({ "type": "pointerDown", "button": 0 })];
    begin.extend((1..=16).map(|i| at(0.02 + 0.06 * f64::from(i))));
    does(begin);
    // the trigger is still open
    let growing = crate::rehearsal::picture(&page);
    does(vec![serde_json::json!({ "type": "pointerUp", "button": 0 })]);
    told(&page, 1);
    let stays = crate::rehearsal::picture(&page);
    let apart: f64 =
        growing.iter().zip(&stays).map(|(a, b)| f64::from(a.abs_diff(*b))).sum::<f64>() / stays.len() as f64;
    assert!(apart < 2.0, "{apart} of 255 on average");
    // a gun that stands still sprays on, though no event tells of it
    does(vec![at(0.5), serde_json::json!({ "type": "pointerDown", "button": 0 })]);
    let before = crate::rehearsal::picture(&page);
    page.wait_until("performance.now() > (window.stood ??= performance.now() + 600)");
    assert_ne!(crate::rehearsal::picture(&page), before);
    does(vec![serde_json::json!({ "type": "pointerUp", "button": 0 })]);
    // how long it stood, the event that ended it has told
    page.wait_until(SETTLED);
    let track = present_job(&page).coats[0].track.clone().expect("a recording");
    let [.., stood, closed] = &track.samples[..] else { panic!("{} looks", track.samples.len()) };
    assert_eq!((stood.open, closed.open), (true, false));
    assert!(closed.time.0 - stood.time.0 > 0.5, "{} s", closed.time.0 - stood.time.0);
    page.assert_no_errors();
}

#[test]
fn a_finger_and_a_pen_spray_too() {
    let page = in_hand();
    pass(&page, Pointer::Touch, 0.3);
    told(&page, 1);
    pass(&page, Pointer::Pen(0.6), 0.45);
    told(&page, 2);
    // a pen that hardly touches has the trigger closed
    pass(&page, Pointer::Pen(0.05), 0.6);
    pass(&page, Pointer::Touch, 0.7);
    told(&page, 3);
    assert_eq!(passes(&present_job(&page)), 3);
    page.assert_no_errors();
}

#[test]
fn the_keys_alone_spray_a_pass_at_the_planned_speed() {
    let page = in_hand();
    page.execute("document.querySelector('#figure').focus()");
    run_and_hold(&page, 1500);
    told(&page, 1);
    assert_eq!(present_job(&page).coats[0].track.as_ref().unwrap().moved_by, Some(MovedBy::Keys));
    let told = performance(&present_job(&page), 0).unwrap();
    let speed = told.passes[0].speed_mm_per_s.mean;
    assert!((speed / 500.0 - 1.0).abs() < 0.05, "{speed} mm/s");
    // farther and nearer, and the pass taken back
    page.press(&['+', '+', '-']);
    page.wait_until("document.querySelector('#practice-distance').textContent === '185 mm'");
    page.press(&[keys::BACKSPACE]);
    page.wait_until("document.querySelector('#practice-told').hidden");
    assert_eq!(passes(&present_job(&page)), 0);
    page.assert_no_errors();
}

#[test]
fn the_wheel_sets_the_distance_and_it_is_recorded() {
    let page = in_hand();
    let at = places(&page, &[(0.5, 0.5)])[0];
    let notch = serde_json::json!({ "type": "scroll", "x": at.0 as i64, "y": at.1 as i64, "deltaX": 0, "deltaY": 100, "duration": 0 });
    page.actions(serde_json::json!([{ "type": "wheel", "id": "w", "actions": [notch, notch, notch, notch] }]));
    page.wait_until("document.querySelector('#practice-distance').textContent === '200 mm'");
    pass(&page, Pointer::Mouse, 0.5);
    told(&page, 1);
    let told = performance(&present_job(&page), 0).unwrap();
    assert!((told.passes[0].distance_mm.mean - 200.0).abs() < 1e-9);
}

#[test]
fn what_was_sprayed_is_kept_compared_saved_and_cleared() {
    let page = in_hand();
    pass(&page, Pointer::Mouse, 0.35);
    told(&page, 1);
    let job = present_job(&page);
    page.goto("/?nosw");
    page.wait_until("document.body.dataset.place === 'practice'");
    told(&page, 1);
    assert_eq!(present_job(&page), job, "a reload keeps every look");
    page.find("#practice-compare").click();
    page.wait_until("!document.querySelector('#divider-handle').hidden");
    page.find("#practice-compare").click();
    page.wait_until("document.querySelector('#divider-handle').hidden");
    // the rehearsal shows the plan, practice what was sprayed
    page.find("#to-rehearsal").click();
    page.wait_until(SETTLED);
    let plan = crate::rehearsal::picture(&page);
    page.find("#to-practice").click();
    told(&page, 1);
    assert_ne!(crate::rehearsal::picture(&page), plan);
    page.find("#practice-clear").click();
    page.wait_until("document.querySelector('#practice-told').hidden");
    assert_eq!(present_job(&page).coats[0].track, None);
    // a job file that holds a recording opens with the gun in the hand
    let text = serde_json::to_string(&job.text()).unwrap();
    page.execute(&format!(
        "const file = new File([{text}], 'mine.json'), list = new DataTransfer(); list.items.add(file);
         const input = document.querySelector('#file-input'); input.files = list.files;
         input.dispatchEvent(new Event('change', {{ bubbles: true }}))"
    ));
    told(&page, 1);
    assert_eq!(present_job(&page), job);
    page.assert_no_errors();
}

#[test]
fn nothing_is_cut_off_in_the_four_windows() {
    let page = in_hand();
    pass(&page, Pointer::Mouse, 0.35);
    told(&page, 1);
    for (width, height) in [(1366, 768), (1920, 1080), (1024, 768), (390, 844)] {
        page.set_viewport(width, height);
        page.wait_until("document.querySelector('#practice').getBoundingClientRect().width > 0");
        let over = page.execute(
            "return [...document.querySelectorAll('#practice *')].filter((e) => e.offsetParent && !e.classList.contains('aside')
               && (e.getBoundingClientRect().right > innerWidth + 0.5 || e.scrollWidth > e.clientWidth + 1
               && getComputedStyle(e).display !== 'inline')).map((e) => e.id || e.tagName + ' ' + e.textContent.slice(0, 40));",
        );
        assert_eq!(over, serde_json::json!([]), "{width}");
        let wide = page.execute("return document.documentElement.scrollWidth - innerWidth;");
        assert_eq!(wide, 0, "{width}: the page is wider than its window");
    }
}

#[test]
fn a_lesson_is_chosen_done_failed_and_left() {
    let page = in_hand();
    lesson_of(&page, "0");
    page.wait_until("document.querySelector('#practice-goal').textContent.startsWith('Spray one pass')");
    page.wait_until(SETTLED);
    // the gun runs along the line by itself, the space bar is held all the way: the worked example by hand
    page.execute("document.querySelector('#figure').focus()");
    run_and_hold(&page, 3600);
    page.wait_until("document.querySelector('#practice-mark').textContent.startsWith('Done')");
    let lesson = &fanlap::practice::lessons()[0];
    let job = present_job(&page);
    assert!(lesson.is_of(&job) && lesson.mark(&Attempt::new(lesson, &job)).unwrap().passed);
    // the mark says that keys kept line and speed, and nothing is found beside it
    page.wait_until("document.querySelector('#practice-mark').textContent.includes('Sprayed by keys')");
    let nothing = "document.querySelector('#tab-findings .count').textContent === ' 0'
                   && document.querySelector('#findings-note').textContent.startsWith('Done: nothing beyond')
                   && document.querySelectorAll('#findings-list li').length === 0";
    page.wait_until(nothing);
    page.goto("/?nosw");
    page.wait_until("document.querySelector('#practice-mark').textContent.startsWith('Done')");
    page.wait_until(nothing);
    page.find("#practice-clear").click();
    page.wait_until("document.querySelector('#practice-mark').textContent === ''");
    // far too fast
    let ends: Vec<(f64, f64)> = (0..=10).map(|i| (-0.04 + 0.108 * f64::from(i), 0.5)).collect();
    page.drag(Pointer::Mouse, &places(&page, &ends), 40);
    page.wait_until("document.querySelector('#practice-mark').textContent.startsWith('Not yet')");
    assert!(!lesson.mark(&Attempt::new(lesson, &present_job(&page))).unwrap().passed);
    // the settings are locked until the lesson is left
    let locked = "document.querySelector('#main-gun-fan_width_mm-slide').disabled";
    assert_eq!(page.execute(&format!("return {locked};")), true);
    lesson_of(&page, "");
    page.wait_until(&format!("document.querySelector('#practice-goal-box').hidden && !{locked}"));
    page.assert_no_errors();
}

/// The value of a lesson in the list.
pub fn numbered(title: &str) -> String {
    lessons().iter().position(|lesson| lesson.title == title).expect("a lesson of the ladder").to_string()
}

fn lesson(title: &str) -> &'static Lesson {
    lessons().iter().find(|lesson| lesson.title == title).expect("a lesson of the ladder")
}

/// What was reached so far, as the page keeps it.
pub fn progress(page: &Page) -> Progress {
    let text = page.execute("return localStorage.getItem('fanlap.progress') ?? '{}';");
    serde_json::from_str(text.as_str().unwrap()).unwrap()
}

/// Takes what the page offers as a file instead of letting the browser save it.
pub fn catch_files(page: &Page) {
    page.execute(
        "window.caught = null; const make = URL.createObjectURL;
         URL.createObjectURL = (blob) => { blob.text().then((text) => { window.caught = text; }); return make(blob); };",
    );
}

pub fn caught(page: &Page) -> String {
    page.wait_until("window.caught !== null");
    let text = page.execute("const text = window.caught; window.caught = null; return text;");
    text.as_str().unwrap().to_string()
}

pub fn open_text(page: &Page, text: &str) {
    let text = serde_json::to_string(text).unwrap();
    page.execute(&format!(
        "const file = new File([{text}], 'mine.json'), list = new DataTransfer(); list.items.add(file);
         const input = document.querySelector('#file-input'); input.files = list.files;
         input.dispatchEvent(new Event('change', {{ bubbles: true }}))"
    ));
}

pub const MARK: &str = "document.querySelector('#practice-mark').textContent";

#[test]
fn an_error_in_somebodys_film_is_foreseen_named_and_recorded() {
    let page = in_hand();
    let title = "One thing wrong";
    lesson_of(&page, &numbered(title));
    page.wait_until("!document.querySelector('#predict').hidden");
    page.wait_until(SETTLED);
    // nothing of the film is seen before it was foreseen
    let veiled =
        "document.body.classList.contains('veiled') && document.querySelector('#outcome').offsetParent === null";
    page.wait_until(veiled);
    let blank = crate::rehearsal::picture(&page);
    assert!(blank.chunks(3).all(|pixel| pixel.iter().zip(&blank[..3]).all(|(a, b)| a.abs_diff(*b) < 12)));
    for (x, y) in places(&page, &[(0.5, 0.5), (0.02, 0.5)]) {
        page.actions(
            serde_json::json!([{ "type": "pointer", "id": "m", "parameters": { "pointerType": "mouse" }, "actions": [
            { "type": "pointerMove", "duration": 0, "x": x.round(), "y": y.round(), "origin": "viewport" },
            { "type": "pointerDown", "button": 0 }, { "type": "pointerUp", "button": 0 } ] }]),
        );
    }
    page.wait_until("document.querySelector('#predict-text').textContent.startsWith('Both places')");
    page.execute(
        "document.querySelector('#predict-mean').value = '20'; document.querySelector('#predict-show').click()",
    );
    page.wait_until(&format!("!({veiled})"));
    page.wait_until("!document.querySelector('#guess').hidden");
    assert_ne!(crate::rehearsal::picture(&page), blank);
    assert_eq!(progress(&page).attempts.len(), 0, "it was not answered yet");
    page.execute("document.querySelector('#guess-answers [data-channel=speed]').click()");
    page.wait_until("document.querySelector('#guess-told').textContent === 'No: it was the wrist, not the speed.'");
    page.wait_until("document.querySelector('#practice-foreseen').textContent.includes('foreseen: where you said')");
    catch_files(&page);
    page.find("#practice-save").click();
    let attempt = Attempt::read("the page's", &caught(&page)).unwrap();
    let mark = lesson(title).mark(&attempt).unwrap();
    assert!(!mark.passed);
    let words = serde_json::to_string(&mark.foreseen.unwrap().text()).unwrap();
    page.wait_until(&format!("document.querySelector('#practice-foreseen').textContent === {words}"));
    let record = progress(&page);
    assert_eq!((record.attempts.len(), record.attempts[0].passed, record.attempts[0].test), (1, false, false));
    assert!((record.attempts[0].off - mark.off).abs() < 1e-12);
    // a reload keeps what was answered and counts nothing twice
    page.goto("/?nosw");
    page.wait_until("document.querySelector('#guess-told').textContent.startsWith('No: it was the wrist')");
    assert_eq!(progress(&page).attempts.len(), 1);
    // the attempt comes back from its file
    lesson_of(&page, "");
    open_text(&page, &attempt.text());
    page.wait_until("document.querySelector('#guess-told').textContent.startsWith('No: it was the wrist')");
    assert_eq!(progress(&page).attempts.len(), 1, "what is looked at again is not done again");
    page.assert_no_errors();
}

#[test]
fn a_plan_for_a_hand_that_strays_is_chosen_and_marked_as_the_core_marks_it() {
    let page = in_hand();
    let title = "Scattered hand, difficult crown";
    lesson_of(&page, &numbered(title));
    page.wait_until("!document.querySelector('#practice-spray').hidden");
    page.wait_until(SETTLED);
    let slide = |path: &str, value: &str| {
        page.execute(&format!(
            "const s = document.querySelector('#main-{path}-slide'); s.value = '{value}';
             s.dispatchEvent(new Event('input', {{ bubbles: true }})); s.dispatchEvent(new Event('change', {{ bubbles: true }}))"
        ));
    };
    let locked = page.execute("return [...document.querySelectorAll('#main-controls .slide')].map((s) => s.disabled);");
    assert_eq!(locked, serde_json::json!([true, true, false, false]), "distance and fan are locked");
    page.find("#practice-spray").click();
    page.wait_until(&format!("{MARK}.startsWith('Not yet')"));
    slide("coats---overlap", "0.76");
    page.wait_until(&format!("{MARK} === ''"));
    slide("coats---speed_mm_per_s", "750");
    page.wait_until("!document.querySelector('#practice-goal-box').hidden");
    page.find("#practice-spray").click();
    page.wait_until(&format!("{MARK}.startsWith('Done')"));
    catch_files(&page);
    page.find("#practice-save").click();
    let attempt = Attempt::read("the page's", &caught(&page)).unwrap();
    assert!(lesson(title).mark(&attempt).unwrap().passed);
    page.assert_no_errors();
}

#[test]
fn an_error_is_put_in_for_the_class_and_named() {
    let page = in_hand();
    page.execute("document.querySelector('#instructor').open = true");
    page.execute(
        "const s = document.querySelector('#error-kind'); s.value = 'speed'; s.dispatchEvent(new Event('change', { bubbles: true }))",
    );
    page.wait_until("document.querySelector('#error-size-value').textContent === '40 %'");
    page.find("#error-spray").click();
    page.wait_until("!document.querySelector('#guess').hidden && document.body.classList.contains('guessing')");
    page.wait_until(SETTLED);
    assert_eq!(page.execute("return document.querySelector('#practice-told').hidden;"), true, "nothing is told before");
    let job = present_job(&page);
    let speed = performance(&job, 0).unwrap().passes[0].speed_mm_per_s.mean;
    assert!((speed / (1.4 * job.coats[0].actual_speed().0) - 1.0).abs() < 0.01, "{speed}");
    assert!(job.coats.len() > 1 && job.coats.iter().all(|coat| coat.track.is_some()), "every coat has the error");
    // beside the plan it is called what it is
    page.find("#practice-compare").click();
    page.wait_until("document.querySelector('#readings-present').textContent === 'Plan'");
    page.wait_until("document.querySelector('#readings-finished').textContent === 'With the error'");
    page.find("#practice-compare").click();
    page.wait_until(SETTLED);
    // the pointer sprays nothing meanwhile
    pass(&page, Pointer::Mouse, 0.5);
    assert_eq!(present_job(&page), job);
    page.execute("document.querySelector('#guess-answers [data-channel=distance]').click()");
    page.wait_until("document.querySelector('#guess-told').textContent === 'No: it was the speed, not the distance.'");
    page.execute("document.querySelector('#guess-answers [data-channel=speed]').click()");
    page.wait_until("document.querySelector('#guess-told').textContent === 'Yes: it was the speed.'");
    page.wait_until("!document.querySelector('#practice-told').hidden");
    // one that nobody is told
    page.execute(
        "const s = document.querySelector('#error-kind'); s.value = 'any'; s.dispatchEvent(new Event('change', { bubbles: true }))",
    );
    page.wait_until("document.querySelector('#error-state').textContent.startsWith('One error was drawn')");
    page.find("#error-take-out").click();
    page.wait_until("document.querySelector('#guess').hidden");
    let size = || {
        let size =
            page.execute("return parseFloat(getComputedStyle(document.querySelector('#practice-body')).fontSize);");
        size.as_f64().unwrap()
    };
    let before = size();
    page.find("#projector").click();
    assert!(size() > 1.2 * before, "{} after {before}", size());
    let below =
        page.execute("return document.querySelector('#transport').getBoundingClientRect().bottom - innerHeight;");
    assert!(below.as_f64().unwrap() <= 0.5, "the timeline is {below} px below the window");
    page.find("#projector").click();
    page.assert_no_errors();
}

#[test]
fn a_lesson_is_made_shared_by_a_link_and_kept() {
    let page = in_hand();
    page.execute("document.querySelector('#instructor').open = document.querySelector('#author').open = true");
    catch_files(&page);
    page.find("#author-save").click();
    page.wait_until("document.querySelector('#author-trouble').textContent.includes('title and a goal')");
    page.execute(
        "document.querySelector('#author-title').value = 'Door, too fast'; document.querySelector('#author-goal').value = 'Spray it.';
         document.querySelector('#author-why').value = 'Thin film shows. Count.';
         const s = document.querySelector('#error-kind'); s.value = 'speed'; s.dispatchEvent(new Event('change', { bubbles: true }))",
    );
    page.find("#author-save").click();
    let lesson = Lesson::read("the page's", &caught(&page)).unwrap();
    assert_eq!((lesson.title.as_str(), lesson.why.len()), ("Door, too fast", 2));
    assert!(lesson.mark(&lesson.example().unwrap()).unwrap().passed);
    // an error that passes makes no lesson
    page.execute(
        "const e = document.querySelector('#error-size'); e.value = '0.05'; e.dispatchEvent(new Event('input', { bubbles: true }))",
    );
    page.find("#author-save").click();
    page.wait_until("document.querySelector('#author-trouble').textContent.includes('The error above passes it too')");
    // the link opens the lesson elsewhere, where it is kept
    let elsewhere = Page::open("/?nosw");
    elsewhere.execute(&format!("location.hash = '#lesson={}'", lesson.link()));
    elsewhere.wait_until("document.querySelector('#practice-goal').textContent === 'Spray it.'");
    elsewhere.goto("/?nosw");
    let listed = "[...document.querySelector('#practice-lesson').options].at(-1).textContent";
    elsewhere.wait_until(&format!("{listed} === 'own: Door, too fast'"));
    elsewhere.find("#practice-forget").click();
    elsewhere.wait_until(&format!("{listed} !== 'own: Door, too fast'"));
    elsewhere.execute("location.hash = '#lesson=broken'");
    elsewhere.wait_until("document.querySelector('#notice').textContent.includes('was not opened')");
    elsewhere.assert_no_errors();
}

#[test]
fn a_test_is_due_a_day_later_and_kept_apart_from_practice() {
    let page = in_hand();
    let passed = serde_json::json!({ "attempts": [
        { "lesson": "One pass", "when_s": 0.0, "test": false, "passed": true, "off": 0.1 } ] });
    page.execute(&format!(
        "const p = {passed}; p.attempts[0].when_s = Date.now() / 1000 - 20 * 3600; localStorage.setItem('fanlap.progress', JSON.stringify(p))"
    ));
    page.goto("/?nosw");
    page.wait_until("document.querySelector('#progress-count').textContent.includes('1 to test')");
    lesson_of(&page, "0");
    page.wait_until("document.querySelector('#practice-trial').textContent === 'Attempt 2: '");
    page.find("#practice-test").click();
    page.wait_until("document.querySelector('#practice-trial').textContent === 'Test: '");
    page.wait_until(SETTLED);
    assert_eq!(page.execute("return document.querySelector('#practice-lines').checked;"), false, "no help");
    page.execute("document.querySelector('#figure').focus()");
    run_and_hold(&page, 3600);
    page.wait_until(&format!("{MARK}.startsWith('The test is over')"));
    assert_eq!(page.execute("return document.querySelector('#practice-told').hidden;"), true);
    let record = progress(&page);
    assert_eq!(record.of("One pass", true).map(|marked| marked.passed).collect::<Vec<_>>(), [true]);
    page.wait_until("document.querySelector('#progress-count').textContent === ''");
    page.execute("document.querySelector('#progress').open = true");
    catch_files(&page);
    page.find("#progress-save").click();
    assert_eq!(caught(&page), record.csv());
    page.find("#progress-delete").click();
    page.wait_until("document.querySelector('#progress-delete').textContent === 'Delete for good'");
    page.find("#progress-delete").click();
    page.wait_until("!document.querySelector('#progress-none').hidden");
    assert_eq!(progress(&page), Progress::default());
    page.assert_no_errors();
}

#[test]
fn clicks_are_heard_and_two_fingers_set_the_distance() {
    let page = in_hand();
    page.execute(
        "window.clicks = []; const start = OscillatorNode.prototype.start;
         OscillatorNode.prototype.start = function (at) { window.clicks.push(at); return start.call(this, at); };
         document.querySelector('#practice-clicks').click()",
    );
    pass(&page, Pointer::Mouse, 0.5);
    told(&page, 1);
    let heard = page.execute("return window.clicks;");
    let heard: Vec<f64> = heard.as_array().unwrap().iter().map(|at| at.as_f64().unwrap()).collect();
    // opened within the panel: the edge has gone by, the quarters and the far edge are to come
    assert_eq!(heard.len(), 4, "{heard:?}");
    let job = present_job(&page);
    let quarter = job.panel.length.0 / 4.0 / job.coats[0].actual_speed().0;
    for pair in heard.windows(2) {
        assert!((pair[1] - pair[0] - quarter).abs() < 1e-6, "{heard:?}");
    }
    // two fingers that go apart to twice the way hold the gun at half the distance, and spray nothing
    let at = |points: &[(f64, f64)]| places(&page, points);
    let finger = |id: &str, from: (f64, f64), to: (f64, f64)| {
        serde_json::json!({ "type": "pointer", "id": id, "parameters": { "pointerType": "touch" }, "actions": [
            { "type": "pointerMove", "duration": 0, "x": from.0.round(), "y": from.1.round(), "origin": "viewport" },
            { "type": "pointerDown", "button": 0 },
            { "type": "pointerMove", "duration": 100, "x": to.0.round(), "y": to.1.round(), "origin": "viewport" },
            { "type": "pointerUp", "button": 0 } ] })
    };
    let (a, b) = (at(&[(0.45, 0.5), (0.40, 0.5)]), at(&[(0.55, 0.5), (0.60, 0.5)]));
    page.actions(serde_json::json!([finger("one", a[0], a[1]), finger("two", b[0], b[1])]));
    page.wait_until("Math.abs(parseFloat(document.querySelector('#practice-distance').textContent) - 90) < 5");
    assert_eq!(passes(&present_job(&page)), 1, "a pinch sprays nothing");
    page.assert_no_errors();
}
