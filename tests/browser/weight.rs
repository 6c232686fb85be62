//! What the first visit sends before the first picture, and what comes after it: the rest of the page's code, which
//! whoever needs it earlier waits for, and is told if it does not come.

use crate::driver::Page;
use serde_json::{Value, json};

/// Every file that was fetched: its path, who asked for it, whether before the first picture, and its bytes unpacked.
fn fetched(page: &Page) -> Vec<Value> {
    let files = page.execute(
        "const first = performance.getEntriesByName('first picture')[0].startTime;
         return [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')].map((file) =>
           [new URL(file.name).pathname, file.initiatorType, file.startTime < first, file.decodedBodySize]);",
    );
    files.as_array().expect("files").clone()
}

#[test]
fn the_first_picture_fetches_nothing_that_comes_later() {
    let page = Page::open("/");
    let files = fetched(&page);
    let (before, after): (Vec<&Value>, Vec<&Value>) = files.iter().partition(|file| file[2] == true);
    assert!(before.iter().any(|file| file[0] == "/pkg/fanlap_bg.wasm"), "{before:#?}");
    for late in ["/pkg/fanlap_rest.wasm", "/worker.js", "/sw.js"] {
        assert!(before.iter().all(|file| file[0] != late), "{late} comes before the first picture: {before:#?}");
    }
    // at leisure, not because something could not wait
    let rest = after.iter().find(|file| file[0] == "/pkg/fanlap_rest.wasm").expect("the rest");
    assert_eq!(rest[1], "fetch", "{after:#?}");
    // a list of what comes later that names nothing any more would leave nothing to come
    let first = before.iter().find(|file| file[0] == "/pkg/fanlap_bg.wasm").and_then(|file| file[3].as_u64());
    let (first, rest) = (first.expect("bytes"), rest[3].as_u64().expect("bytes"));
    assert!(rest * 2 > first, "{first} bytes of code come first, only {rest} later");
    page.assert_no_errors();
}

/// Opens a page whose rest comes when `window.letRest()` is called, or does not where `window.noRest()` is.
fn without_rest() -> Page {
    let page = Page::start();
    let source = "const fetchAny = window.fetch;
         let waits = new Promise((come, fail) => { window.letRest = come; window.noRest = fail; });
         window.fetch = async (...asked) => {
           if (String(asked[0]).endsWith('fanlap_rest.wasm') && !sessionStorage.asEver) await waits.finally(() => { waits = Promise.resolve(); });
           return fetchAny(...asked);
         };";
    page.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": source }));
    page.goto_first("/?nosw");
    page
}

/// Nothing stood still for the rest.
fn assert_no_haste(page: &Page) {
    let hasty = "return performance.getEntriesByType('resource').filter((file) => file.initiatorType === 'xmlhttprequest').length;";
    assert_eq!(page.execute(hasty), 0, "the rest was fetched while everything waited");
}

#[test]
fn what_the_first_picture_has_works_before_the_rest_is_there() {
    let page = without_rest();
    page.wait_until("document.querySelector('#stage').dataset.grid === 'film'");
    page.execute(
        "const slide = document.querySelector('#main-gun-fan_width_mm-slide');
         slide.value = Number(slide.value) + 40;
         slide.dispatchEvent(new Event('input', { bubbles: true }));
         slide.dispatchEvent(new Event('change', { bubbles: true }));
         document.querySelector('#to-end').click();
         document.querySelector('input[name=view][value=film]').click();
         document.querySelector('input[name=units][value=us]').click();",
    );
    page.wait_until("!document.querySelector('#undo').disabled");
    page.wait_until("document.querySelector('#stage').dataset.grid === 'film'");
    assert_no_haste(&page);
    page.assert_no_errors();
    page.execute("letRest();");
    page.wait_until("document.querySelector('#stage').dataset.grid === 'full'");
    // what was done meanwhile can be taken back, and is kept
    page.find("#undo").click();
    page.execute("sessionStorage.asEver = 'yes';");
    page.refresh();
    page.wait_until("!document.querySelector('#redo').disabled");
    assert_no_haste(&page);
    page.assert_no_errors();
}

#[test]
fn who_asks_for_another_place_early_is_told_to_wait_and_gets_there() {
    let page = without_rest();
    page.find("#to-practice").click();
    page.wait_until("document.querySelector('#said').textContent === 'Loading \u{2026}'");
    assert_eq!(page.execute("return document.body.dataset.place;"), "rehearsal");
    page.execute("letRest();");
    page.wait_until("document.body.dataset.place === 'practice'");
    assert_eq!(page.execute("return document.querySelector('#said').textContent;"), "Practice.");
    assert_no_haste(&page);
    page.assert_no_errors();
}

#[test]
fn a_rest_that_does_not_come_is_told_and_tried_again() {
    let page = without_rest();
    page.execute("noRest(new Error('the network is gone'));");
    page.wait_until("!document.querySelector('#notice').hidden");
    let said = page.execute("return document.querySelector('#notice').textContent;");
    let said = said.as_str().expect("a text");
    for part in ["Not all of the page was loaded", "the network is gone", "load the page again"] {
        assert!(said.contains(part), "{said}");
    }
    page.find("#to-practice").click();
    page.wait_until("document.body.dataset.place === 'practice'");
    assert_no_haste(&page);
}
