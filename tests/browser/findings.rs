//! The findings in the browser: asked of a worker, listed with cause and cure, marked on the panel, tried and undone. The
//! core is asked beside the page; nothing here is a copied result.

use crate::driver::Page;
use crate::rehearsal::{at_rest, present_job};
use fanlap::appraisal::appraise;
use fanlap::job::Job;
use fanlap::report::{DefectReport, in_full};
use serde_json::Value;

fn expected(job: &Job) -> Vec<DefectReport> {
    in_full(&appraise(job)).findings.expect("they were looked for")
}

/// Waits until all causes are known, and gives the list's items as texts.
fn found(page: &Page, count: usize) -> Vec<String> {
    page.execute("document.querySelector('#tab-findings').click()");
    let done = if count == 0 { "Nothing" } else { "worst first" };
    page.wait_until(&format!(
        "document.querySelector('#findings-note').textContent.includes('{done}')
         && document.querySelectorAll('#findings-list li').length === {count}"
    ));
    let texts = page.execute("return [...document.querySelectorAll('#findings-list li')].map((li) => li.textContent)");
    serde_json::from_value(texts).expect("texts")
}

#[test]
fn the_list_says_what_the_core_finds_worst_first_with_cause_and_cure() {
    let page = at_rest();
    let wanted = expected(&present_job(&page));
    let texts = found(&page, wanted.len());
    assert!(!wanted.is_empty(), "the example has stripes to show");
    for (text, finding) in texts.iter().zip(&wanted) {
        let cause = finding.cause.as_ref().expect("explained");
        let cure = finding.cure.as_ref().expect("cured");
        for part in [&finding.name, &cause.text, &cure.text, &format!("{:.0} %", 100.0 * cause.share)] {
            assert!(text.contains(part.as_str()), "{part} not in: {text}");
        }
    }
    let words = page.execute("return document.querySelector('#words-text').textContent");
    assert!(words.as_str().unwrap().contains(&wanted[0].name), "the text twin tells it too: {words}");
}

#[test]
fn the_saved_report_carries_what_the_list_says_unless_the_answers_are_hidden() {
    let page = at_rest();
    let wanted = expected(&present_job(&page));
    found(&page, wanted.len());
    let saved = || {
        let text = page.execute_async(
            "const make = URL.createObjectURL;
             URL.createObjectURL = (blob) => { blob.text().then(done); URL.createObjectURL = make; return make(blob); };
             document.querySelector('#file-report').click();",
        );
        let report: Value = serde_json::from_str(text.as_str().expect("a text")).expect("JSON");
        report["findings"].clone()
    };
    assert_eq!(serde_json::from_value::<Vec<DefectReport>>(saved()).expect("findings"), wanted);
    page.execute("document.querySelector('#findings-answers').click()");
    assert_eq!(saved(), Value::Null);
}

#[test]
fn a_cure_is_tried_beside_the_held_result_and_undone() {
    let page = at_rest();
    let before = present_job(&page);
    let wanted = expected(&before);
    found(&page, wanted.len());
    page.execute("document.querySelector('#findings-list .finding-try').click()");
    page.wait_until("document.querySelector('#hold').textContent === 'Let go'");
    let tried = present_job(&page);
    for (path, value) in &wanted[0].cure.as_ref().unwrap().set {
        let now = tried.get(path).unwrap();
        assert_eq!(now.as_f64(), value.as_f64(), "{path}");
    }
    assert!(!expected(&tried).iter().any(|finding| finding.kind == wanted[0].kind), "the cure holds");
    page.execute("document.querySelector('#undo').click()");
    assert_eq!(present_job(&page), before);
}

#[test]
fn findings_follow_the_job_and_stale_ones_are_dropped() {
    let page = at_rest();
    for (field, value) in [("main-coats---overlap", "25"), ("main-coats---overlap", "50")] {
        page.execute(&format!(
            "const f = document.querySelector('#{field}'); f.focus(); f.value = '{value}';
             f.dispatchEvent(new Event('input', {{ bubbles: true }})); f.dispatchEvent(new Event('change', {{ bubbles: true }}));"
        ));
    }
    page.wait_until("document.querySelector('#stage').dataset.grid === 'full'");
    let job = present_job(&page);
    assert_eq!(job.coats[0].overlap.0, 0.5);
    let wanted = expected(&job);
    let texts = found(&page, wanted.len());
    for (text, finding) in texts.iter().zip(&wanted) {
        assert!(text.contains(&finding.name), "{} not in: {text}", finding.name);
    }
}

#[test]
fn an_instructor_switches_the_answers_off_and_the_page_stays_alive_meanwhile() {
    let page = at_rest();
    page.execute(
        "document.querySelector('#tab-findings').click(); document.querySelector('#findings-answers').click()",
    );
    let count = expected(&present_job(&page)).len();
    page.wait_until(&format!("document.querySelectorAll('#findings-list li').length === {count}"));
    let shown = page.execute("return [...document.querySelectorAll('.answer')].filter((a) => !a.hidden).length");
    assert_eq!(shown.as_u64(), Some(0));
    page.execute("document.querySelector('#findings-answers').click()");
    page.wait_until("[...document.querySelectorAll('.answer')].some((a) => !a.hidden)");
    page.assert_no_errors();
}
