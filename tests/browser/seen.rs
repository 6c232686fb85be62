//! What an eye would see, on the page: the map of times, the call-out, the readings, the viewing controls. The core is
//! asked beside the page.

use crate::driver::Page;
use crate::rehearsal::{at_rest, expected, picture, present_job, reading};
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use fanlap::report::SightReport;
use serde_json::Value;

fn seen(job: &Job) -> SightReport {
    expected(job).seen.expect("a tinted clear in two coats")
}

/// Waits until the full grid has been looked at.
fn looked(page: &Page) {
    page.wait_until("document.querySelector('#stage').dataset.seen === 'full'");
}

/// Changes a control of the settings, as a person does who lets go of it.
fn set(page: &Page, id: &str, value: &str) {
    page.execute(&format!(
        "const s = document.getElementById('{id}'); s.value = '{value}';
         s.dispatchEvent(new Event('input', {{ bubbles: true }})); s.dispatchEvent(new Event('change', {{ bubbles: true }}));"
    ));
}

/// Waits until a reading is what is wanted, on the full grid.
fn read(page: &Page, label: &str, wanted: &str) {
    page.wait_until(&format!(
        "document.querySelector('#stage').dataset.seen === 'full'
         && [...document.querySelectorAll('#readings-rows tr')].some((r) => r.cells[0].textContent === '{label}'
         && r.querySelector('.finished').textContent === '{wanted}')"
    ));
}

#[test]
fn the_times_map_is_one_choice_away_and_says_what_it_is() {
    let page = at_rest();
    looked(&page);
    assert!(!page.find("#measure").is_displayed(), "the choice belongs to the difference");
    page.execute("document.querySelector('input[name=view][value=difference]').click();");
    page.execute_async("requestAnimationFrame(() => requestAnimationFrame(done))");
    assert!(page.find("#measure").is_displayed() && page.find("#scale-bar").is_displayed());
    let to_target = picture(&page);
    set(&page, "measure", "seen");
    page.execute_async("requestAnimationFrame(() => requestAnimationFrame(done))");
    assert_ne!(picture(&page), to_target, "another map");
    // another view and back: the choice stays; so it does over a reload
    page.execute("document.querySelector('#figure').focus();");
    page.press(&['2']);
    page.wait_until("document.querySelector('input[name=view][value=film]').checked");
    page.execute("document.querySelector('input[name=view][value=difference]').click();");
    assert_eq!(page.find("#measure").property("value"), "seen");
    page.refresh();
    page.wait_until("document.documentElement.dataset.ready === 'yes'");
    assert_eq!(page.execute("return document.querySelector('input[name=view][value=difference]').checked;"), true);
    assert_eq!(page.find("#measure").property("value"), "seen");
    page.execute("document.querySelector('#figure').focus();");
    page.press(&['3']);
    page.wait_until("document.querySelector('#measure').value === 'difference'");
    page.press(&['4']);
    page.wait_until("document.querySelector('#measure').value === 'seen'");
    page.assert_no_errors();
}

#[test]
fn the_readings_and_the_words_say_what_the_core_says_would_be_seen() {
    let page = at_rest();
    let wanted = seen(&EXAMPLES[0].job());
    read(&page, "Worst place, at 1.0 m", &format!("{:.1}", wanted.times_threshold.max));
    assert_eq!(wanted.worst.seen_from_m, Some(10.0));
    assert_eq!(reading(&page, "Worst place seen from"), "> 10");
    let words = page.execute("return document.querySelector('#words-text').textContent;");
    let sentence = format!("at its worst place {:.1} times the visible threshold", wanted.times_threshold.max);
    assert!(words.as_str().is_some_and(|text| text.contains(&sentence)), "{words}");
    // even lines: nothing to see, and the page says so over the map
    set(&page, "main-coats---overlap-slide", "0.75");
    let even = seen(&present_job(&page));
    assert!(even.times_threshold.max < 1.0, "{even:?}");
    read(&page, "Worst place, at 1.0 m", &format!("{:.1}", even.times_threshold.max));
    assert_eq!(reading(&page, "Worst place seen from"), "not seen");
}

#[test]
fn the_call_out_says_from_how_far_a_place_would_be_seen() {
    let page = at_rest();
    looked(&page);
    let paint = page.find("#paint");
    page.hover(&[paint.point(0.5, 0.5)], 50);
    page.wait_until("document.querySelector('#callout').innerText.includes('times the threshold of a trained eye')");
    let said = page.find("#callout [data-part=text]").text();
    assert!(said.contains("At 1 m, ") && said.contains("seen from"), "{said}");
    set(&page, "main-coats---overlap-slide", "0.75");
    page.wait_until(
        "document.querySelector('#callout').innerText.includes('not seen at any distance from 0.3 to 10 m')",
    );
    // while the job is sprayed it says that it speaks of the finished film
    page.find("#to-start").click();
    page.hover(&[paint.point(0.5, 0.6)], 50);
    page.wait_until("document.querySelector('#callout').innerText.includes('Finished, at 1 m')");
}

#[test]
fn distance_and_eye_are_controls_and_change_what_is_seen() {
    let page = at_rest();
    looked(&page);
    page.find("#more").click();
    page.execute("[...document.querySelectorAll('#more-settings .group')].at(-1).open = true;");
    assert!(page.find("#more-viewing-distance_m").is_displayed() && page.find("#more-viewing-eye").is_displayed());
    let hint = page.execute("return document.querySelector('#more-viewing-eye-hint').textContent;");
    assert!(hint.as_str().is_some_and(|hint| hint.contains("our judgement")), "{hint}");
    set(&page, "more-viewing-distance_m-slide", "5");
    let far = seen(&present_job(&page));
    assert_eq!(far.distance_m, 5.0);
    read(&page, "Worst place, at 5.0 m", &format!("{:.1}", far.times_threshold.max));
    set(&page, "more-viewing-eye", "\"anyone\"");
    let anyone = seen(&present_job(&page));
    assert!((anyone.times_threshold.max / far.times_threshold.max - 0.5).abs() < 1e-9);
    read(&page, "Worst place, at 5.0 m", &format!("{:.1}", anyone.times_threshold.max));
    let line = page.execute("return document.querySelector('#more-readings').textContent;");
    assert!(line.as_str().is_some_and(|line| line.contains("\u{d7} the threshold at 5 m")), "{line}");
    page.assert_no_errors();
}

#[test]
fn the_tools_of_the_times_map_fit_the_four_windows_also_while_comparing() {
    let page = at_rest();
    looked(&page);
    page.execute("document.querySelector('#figure').focus();");
    page.press(&['4']);
    for held in [false, true] {
        if held {
            page.execute("document.querySelector('#hold').click();");
        }
        for (width, height) in [(1366, 768), (1920, 1080), (1024, 768), (390, 844)] {
            page.set_viewport(width, height);
            page.execute_async("setTimeout(done, 250)");
            let boxes = page.execute(
                "return [...document.querySelectorAll('#figure-tools > *')].filter((e) => e.checkVisibility())
                   .map((e) => { const r = e.getBoundingClientRect(); return [r.left, r.top, r.right, r.bottom, e.id]; });",
            );
            let boxes: Vec<Vec<f64>> = boxes
                .as_array()
                .expect("tools")
                .iter()
                .map(|of| of.as_array().expect("a box").iter().filter_map(Value::as_f64).collect())
                .collect();
            assert!(boxes.len() >= 4, "{width} x {height}");
            for (i, one) in boxes.iter().enumerate() {
                assert!(one[0] >= 0.0 && one[2] <= f64::from(width), "{width} x {height}: {one:?} is cut off");
                for other in &boxes[..i] {
                    let over = one[0].max(other[0]) < one[2].min(other[2]) - 1.0
                        && one[1].max(other[1]) < one[3].min(other[3]) - 1.0;
                    assert!(!over, "{width} x {height}, held {held}: {one:?} over {other:?}");
                }
            }
        }
    }
}
