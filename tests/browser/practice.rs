//! The gun in the hand: mouse, finger, pen and keys spray, what they sprayed is told as the core tells it, kept, taken back,
//! compared and rehearsed bit for bit by the native program.

use crate::driver::{Page, Pointer, keys};
use crate::rehearsal::{present_job, same_film};
use fanlap::job::Job;
use fanlap::job::inputs::System;
use fanlap::practice::{next_step, performance};

const SETTLED: &str = "document.querySelector('#stage').dataset.grid === 'full'";

/// The page with the gun in the hand.
fn in_hand() -> Page {
    let page = Page::open("/?nosw");
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    page.find("#to-practice").click();
    page.wait_until("document.body.dataset.place === 'practice'");
    page.wait_until(SETTLED);
    page
}

/// Places in the window of two points of the panel, as shares of its length and width.
fn places(page: &Page, points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let bounds = page.execute(
        "const b = document.querySelector('#paint').getBoundingClientRect(); return [b.left, b.top, b.width, b.height];",
    );
    let at = |i: usize| bounds[i].as_f64().expect("a number");
    points.iter().map(|(x, y)| (at(0) + x * at(2), at(1) + y * at(3))).collect()
}

/// Sprays one pass from left to right in steps.
fn pass(page: &Page, pointer: Pointer, y: f64) {
    let steps: Vec<(f64, f64)> = (0..=20).map(|i| (0.02 + 0.048 * f64::from(i), y)).collect();
    page.drag(pointer, &places(page, &steps), 40);
}

fn passes(job: &Job) -> usize {
    performance(job, 0).map_or(0, |told| told.passes.len())
}

/// Sets the gun onto the first line, lets it run along, and holds the space bar for so many ms: in one sequence, for the
/// gun does not wait.
fn run_and_hold(page: &Page, ms: u32) {
    let key = |kind: &str, value: char| serde_json::json!({ "type": kind, "value": value });
    let stroke = |value: char| [key("keyDown", value), key("keyUp", value)];
    let mut actions: Vec<serde_json::Value> = [stroke(keys::DOWN), stroke(keys::ENTER)].concat();
    actions.push(key("keyDown", ' '));
    actions.push(serde_json::json!({ "type": "pause", "duration": ms }));
    actions.push(key("keyUp", ' '));
    page.actions(serde_json::json!([{ "type": "key", "id": "k", "actions": actions }]));
}

/// Waits until so many passes are told of.
fn told(page: &Page, count: usize) {
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
    assert_eq!(row[1], "180");
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
    page.execute(
        "const s = document.querySelector('#practice-lesson'); s.value = '0'; s.dispatchEvent(new Event('change', { bubbles: true }))",
    );
    page.wait_until("document.querySelector('#practice-goal').textContent.startsWith('Spray one pass')");
    page.wait_until(SETTLED);
    // the gun runs along the line by itself, the space bar is held all the way: the worked example by hand
    page.execute("document.querySelector('#figure').focus()");
    run_and_hold(&page, 3600);
    page.wait_until("document.querySelector('#practice-mark').textContent.startsWith('Done')");
    let lesson = &fanlap::practice::lessons()[0];
    let job = present_job(&page);
    assert!(lesson.is_of(&job) && lesson.mark(&job).passed);
    page.goto("/?nosw");
    page.wait_until("document.querySelector('#practice-mark').textContent.startsWith('Done')");
    page.find("#practice-clear").click();
    page.wait_until("document.querySelector('#practice-mark').textContent === ''");
    // far too fast
    let ends: Vec<(f64, f64)> = (0..=10).map(|i| (-0.04 + 0.108 * f64::from(i), 0.5)).collect();
    page.drag(Pointer::Mouse, &places(&page, &ends), 40);
    page.wait_until("document.querySelector('#practice-mark').textContent.startsWith('Not yet')");
    assert!(!lesson.mark(&present_job(&page)).passed);
    // another gun is another job
    page.execute(
        "const s = document.querySelector('#main-gun-fan_width_mm-slide'); s.value = '300';
         s.dispatchEvent(new Event('input', { bubbles: true })); s.dispatchEvent(new Event('change', { bubbles: true }))",
    );
    page.wait_until("document.querySelector('#practice-goal-box').hidden");
    page.assert_no_errors();
}
