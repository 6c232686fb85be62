//! What is recorded of the gun in the hand is what the events themselves say, whatever the computer was doing meanwhile;
//! and where it stuttered, that is told and nothing is marked.

use crate::driver::{Page, Pointer};
use crate::practice::{MARK, SETTLED, in_hand, lesson_of, places, told};
use crate::rehearsal::present_job;
use fanlap::job::Job;
use fanlap::rehearsal::rehearse;
use glam::DVec2;

/// Films count as the same within this share of the most film.
const SAME: f64 = 0.005;
const STUTTERED: &str = "Your computer stuttered; this pass is not marked: take it back and spray it again.";

/// How far two jobs' films are apart, as a share of the most film of the first.
fn apart(one: &Job, other: &Job) -> f64 {
    let (one, other) = (rehearse(one).film(0), rehearse(other).film(0));
    let most = one.iter().copied().fold(0.0, f64::max);
    one.iter().zip(&other).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max) / most
}

/// Sprays one straight, even pass by events that bear their own times, and may keep the page from taking them for a
/// quarter of a second in its middle: what happened meanwhile then arrives late, after frames were drawn.
fn even_pass(page: &Page, blocked: bool) {
    page.execute_async(&format!(
        "const b = document.querySelector('#paint').getBoundingClientRect(), stage = document.querySelector('#stage');
         const last = 96, every = 12.5, start = performance.now(), frame = () => new Promise(requestAnimationFrame);
         const event = (kind, i, more) => {{
           const one = new PointerEvent(kind, {{ bubbles: true, pointerId: 1, pointerType: 'mouse', isPrimary: true,
             clientX: b.left + (0.02 + 0.96 * i / last) * b.width, clientY: b.top + 0.5 * b.height,
             button: kind === 'pointermove' ? -1 : 0, buttons: kind === 'pointerup' ? 0 : 1, ...more }});
           Object.defineProperty(one, 'timeStamp', {{ value: start + every * i }});
           return one;
         }};
         stage.dispatchEvent(event('pointerdown', 0));
         let next = 1, free = !{blocked};
         const go = async () => {{
           if (!free && next > last / 2) {{
             free = true;
             const until = performance.now() + 250;
             while (performance.now() < until);
             await frame();
             await frame();
           }}
           const due = [];
           while (next < last && start + every * next <= performance.now()) due.push(event('pointermove', next++));
           if (due.length > 0) stage.dispatchEvent(event('pointermove', next - 1, {{ coalescedEvents: due }}));
           if (next < last) return setTimeout(go, 8);
           stage.dispatchEvent(event('pointerup', last));
           done();
         }};
         go();"
    ));
}

#[test]
fn a_computer_that_stutters_leaves_the_film_as_it_was_sprayed_and_says_so() {
    let page = in_hand();
    lesson_of(&page, "0");
    page.wait_until("document.querySelector('#practice-goal').textContent.startsWith('Spray one pass')");
    page.wait_until(SETTLED);
    even_pass(&page, false);
    told(&page, 1);
    let fluent = present_job(&page);
    page.wait_until(&format!("{MARK} !== ''"));
    page.find("#practice-clear").click();
    page.wait_until(&format!("{MARK} === ''"));
    page.wait_until(SETTLED);
    even_pass(&page, true);
    told(&page, 1);
    let stuttered = present_job(&page);
    let apart = apart(&fluent, &stuttered);
    assert!(apart < SAME, "{apart} of the most film");
    // it is told instead of a mark, and survives a reload
    let attempts = "(JSON.parse(localStorage.getItem('fanlap.progress') ?? '{\"attempts\":[]}').attempts.length)";
    let before = page.execute(&format!("return {attempts};"));
    page.wait_until(&format!("{MARK} === '{STUTTERED}'"));
    page.goto("/?nosw");
    told(&page, 1);
    page.wait_until(&format!("{MARK} === '{STUTTERED}'"));
    assert_eq!(page.execute(&format!("return {attempts};")), before, "nothing went into the record");
    page.find("#practice-save").click();
    page.wait_until("document.querySelector('#notice').textContent.includes('was not saved')");
    // the pass taken back, the lesson goes on
    page.find("#practice-back").click();
    page.wait_until(&format!("{MARK} === ''"));
    page.assert_no_errors();
}

/// Writes down every event that the page gets of the pointer: time, place, whether the trigger is open.
fn write_down(page: &Page) {
    page.execute(
        "window.seen = [];
         for (const kind of ['pointerdown', 'pointermove', 'pointerup'])
           document.querySelector('#stage').addEventListener(kind, (e) => {
             const all = kind === 'pointermove' ? e.getCoalescedEvents() : [e];
             for (const one of all.length > 0 ? all : [e])
               seen.push([one.timeStamp, Math.trunc(one.clientX), Math.trunc(one.clientY), e.buttons]);
           }, true);",
    );
}

#[test]
fn the_recording_is_what_the_events_of_a_real_pointer_say() {
    let page = in_hand();
    write_down(&page);
    // the page is kept busy for a quarter of a second while the pointer goes on
    page.execute(
        "setTimeout(() => { const until = performance.now() + 250; while (performance.now() < until); }, 500)",
    );
    let steps: Vec<(f64, f64)> = (0..=20).map(|i| (0.02 + 0.048 * f64::from(i), 0.5)).collect();
    page.drag(Pointer::Mouse, &places(&page, &steps), 50);
    told(&page, 1);
    let job = present_job(&page);
    let track = &job.coats[0].track.as_ref().expect("a recording").samples;
    let bounds = page.execute(
        "const b = document.querySelector('#paint').getBoundingClientRect(); return [b.left, b.top, b.width, b.height];",
    );
    let number = |value: &serde_json::Value| value.as_f64().expect("a number");
    let [left, top, width, height] = [0, 1, 2, 3].map(|i| number(&bounds[i]));
    let seen = page.execute("return seen;");
    let seen = seen.as_array().expect("a list").iter().map(|look| [0, 1, 2, 3].map(|i| number(&look[i])));
    let seen: Vec<[f64; 4]> = seen.skip_while(|look| look[3] == 0.0).collect();
    assert_eq!(track.len(), seen.len(), "one look for each event");
    for (look, event) in track.iter().zip(&seen) {
        assert!((look.time.0 - (event[0] - seen[0][0]) / 1000.0).abs() < 2e-4, "{look:?} at {event:?}");
        let place = DVec2::new((event[1] - left) / width, (top + height - event[2]) / height);
        let place = place * DVec2::new(job.panel.length.0, job.panel.width.0);
        // the picture begins at a whole pixel
        assert!((look.place - place).abs().max_element() < 2.0, "{look:?} at {place}");
        assert_eq!(look.open, event[3] > 0.0);
    }
    page.assert_no_errors();
}
