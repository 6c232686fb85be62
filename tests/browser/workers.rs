//! What computes beside the page may die: the page notices, says so, starts it again, and says in the end what could not be
//! computed.

use crate::driver::Page;
use serde_json::json;

const AGAIN: &str = "The calculation stopped unexpectedly; it is started again.";
const NOTE: &str = "document.querySelector('#findings-note').textContent";

/// The page with all its workers at hand, as `workers`, and how often it said that one is started again, as `again`. The first
/// that looks for findings ends by itself.
fn watched() -> Page {
    let page = Page::start();
    let source = "window.workers = []; window.whileItLooks = (worker) => { whileItLooks = null; worker.terminate(); };
         window.Worker = class extends Worker {
           constructor(...all) {
             super(...all);
             workers.push(this);
             this.addEventListener('message', ({ data }) => {
               this.lives ||= 'alive' in data;
               if (data.findings && data.progress < 1) window.whileItLooks?.(this);
             });
           }
           postMessage(data) { super.postMessage(window.spoilt && data.foresee ? { foresee: { length: 1 } } : data); }
         };";
    let said = format!(
        "window.again = 0;
         addEventListener('DOMContentLoaded', () => {{
           for (const id of ['findings-note', 'advice-state', 'booth-sheet']) {{
             const part = document.querySelector('#' + id);
             const look = () => {{ again += part.textContent.includes('{AGAIN}') }};
             new MutationObserver(look).observe(part, {{ subtree: true, childList: true, characterData: true }});
           }}
         }});"
    );
    page.devtools("Page.addScriptToEvaluateOnNewDocument", json!({ "source": source.to_string() + &said }));
    page.goto("/?nosw");
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    page
}

/// Has a worker end as it would by itself: it closes, and nobody says a word.
fn end(page: &Page, which: usize) {
    page.wait_until(&format!("workers[{which}]?.lives"));
    page.execute(&format!("workers[{which}].terminate()"));
}

#[test]
fn findings_are_sought_again_when_their_worker_dies_and_then_given_up_aloud() {
    let page = watched();
    page.find("#tab-findings").click();
    page.find("#to-end").click();
    // it ends by itself while it looks
    page.wait_until("again === 1");
    page.wait_until(&format!("workers.length === 2 && {NOTE}.includes('worst first')"));
    // twice over one job is enough
    page.execute(
        "whileItLooks = (worker) => worker.dispatchEvent(new ErrorEvent('error', { message: 'no more memory' }));
         const s = document.querySelector('#main-coats---overlap-slide'); s.value = '0.4';
         s.dispatchEvent(new Event('input', { bubbles: true })); s.dispatchEvent(new Event('change', { bubbles: true }))",
    );
    page.wait_until("again === 2 && workers.length === 3");
    page.wait_until(&format!("{NOTE}.startsWith('What is wrong could not be computed: no more memory.')"));
    page.assert_no_errors();
}

#[test]
fn the_sheet_says_when_it_cannot_be_foreseen() {
    let page = watched();
    page.find("#to-sheet").click();
    let sheet = "document.querySelector('#booth-sheet').textContent";
    page.wait_until(&format!("{sheet}.includes('Being worked out')"));
    let which = page.execute("return workers.length - 1;").as_u64().unwrap() as usize;
    end(&page, which);
    page.wait_until(&format!("again > 0 && workers.length === {}", which + 2));
    page.wait_until("!document.querySelector('#sheet-print').disabled");
    // faults of the program itself in the worker: they tell their reason
    page.execute("window.spoilt = true");
    page.find("#to-rehearsal").click();
    page.execute("document.querySelector('#new-door').click()");
    page.find("#to-sheet").click();
    page.wait_until(&format!("{sheet}.includes('It could not be computed: ') && {sheet}.includes('charCodeAt')"));
}

#[test]
fn the_search_for_plans_is_begun_again_once() {
    let page = watched();
    page.find("#to-sheet").click();
    page.find("#advice-search").click();
    let state = "document.querySelector('#advice-state').textContent";
    page.wait_until(&format!("{state}.startsWith('Trying')"));
    let which = page.execute("return workers.length - 1;").as_u64().unwrap() as usize;
    end(&page, which);
    page.wait_until("again > 0");
    end(&page, which + 1);
    page.wait_until(&format!("{state}.startsWith('Plans could not be computed: it ended by itself.')"));
    page.wait_until("document.querySelector('#advice-search').textContent === 'Search for plans'");
}
