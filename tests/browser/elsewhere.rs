//! The page away from its own server on this computer: over plain http from another computer, published below a folder
//! of any web server, and as one file without a server. What is missing there is told, and nothing breaks.

use crate::driver::{Page, keys};
use crate::practice::lesson_of;
use crate::session::{OTHER_COMPUTER, Server, publish};
use fanlap::job::examples::EXAMPLES;
use std::time::Duration;

const NOTE: &str = "document.querySelector('#findings-note').textContent";
const KEPT: &str = "document.querySelector('#kept').textContent";

/// A lesson opens, a rehearsal has its findings, plans are found, and the sheet is worked out: page and workers do all.
fn does_everything(page: &Page) {
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    page.find("#tab-findings").click();
    page.find("#to-end").click();
    page.wait_until(&format!("{NOTE}.includes('worst first')"));
    page.find("#to-sheet").click();
    page.wait_until("!document.querySelector('#sheet-print').disabled");
    page.find("#advice-search").click();
    let found = "document.querySelector('#advice-progress').hidden && document.querySelector('#advice-plans li')";
    page.wait_until_within(found, Duration::from_secs(180));
    page.find("#to-practice").click();
    lesson_of(page, "0");
    let trial = "document.querySelector('#practice-trial').textContent === 'Attempt 1: '";
    page.wait_until_within(trial, Duration::from_secs(120));
    page.find("#to-rehearsal").click();
    assert!(page.execute("return document.fonts.check('11px B612');") == true, "the page has its own face");
}

/// A job in a link is taken in where the page stands.
fn takes_a_link(page: &Page, path: &str) {
    let mut job = EXAMPLES[1].job();
    job.title = "By a link, \u{fc}ber \u{394}".to_string();
    page.goto(&format!("{path}#job={}", job.link()));
    page.execute(&format!("location.hash = '#job={}'", job.link()));
    page.wait_until("document.querySelector('#job-title').value === 'By a link, \u{fc}ber \u{394}'");
}

/// Catches the file that is saved next as `caught`, with its name.
const CATCH: &str =
    "URL.createObjectURL = (blob) => { blob.text().then((text) => { window.caught = text; }); return '#'; };
     HTMLAnchorElement.prototype.click = function () { window.caughtName = this.download; };";

#[test]
fn over_plain_http_nothing_breaks_and_what_is_missing_is_told() {
    let server = Server::start(0);
    let base = format!("http://{OTHER_COMPUTER}:{}", server.port());
    let page = Page::elsewhere(Some(server), &base);
    page.goto("/");
    assert_eq!(
        page.execute("return [isSecureContext, 'serviceWorker' in navigator];"),
        serde_json::json!([false, false])
    );
    does_everything(&page);
    page.find("#help-open").click();
    assert!(page.find("#plain-http").text().contains("does not work offline"));
    page.find("#room summary").click();
    page.wait_until(&format!("document.querySelector('.room-code a')?.href === '{base}/'"));
    page.find("#help-close").click();
    // a link is copied without the clipboard that browsers keep for https
    page.execute("document.querySelector('#file-menu').open = true");
    page.find("#file-link").click();
    page.wait_until(&format!("{KEPT}.startsWith('Link copied.') && !{KEPT}.includes('this computer')"));
    let title = page.find("#job-title");
    title.click();
    page.chord(&[keys::CONTROL, 'a']);
    page.chord(&[keys::CONTROL, 'v']);
    // the title takes no more than 80 letters
    page.wait_until(&format!("document.querySelector('#job-title').value.startsWith('{base}/#job=')"));
    takes_a_link(&page, "/?nosw");
    page.assert_no_errors();
}

#[test]
fn at_home_a_link_is_said_to_lead_home_and_nothing_is_missing() {
    let page = Page::open("/?nosw");
    page.devtools(
        "Browser.grantPermissions",
        serde_json::json!({ "permissions": ["clipboardReadWrite", "clipboardSanitizedWrite"] }),
    );
    page.execute("document.querySelector('#file-menu').open = true");
    page.find("#file-link").click();
    page.wait_until(&format!("{KEPT}.startsWith('Link copied. It leads to this computer alone.')"));
    let copied = page.execute_async("navigator.clipboard.readText().then(done, (e) => done(String(e)))");
    assert!(copied.as_str().unwrap().starts_with(&format!("{}/#job=", page.origin())), "{copied}");
    page.find("#help-open").click();
    page.find("#room summary").click();
    page.wait_until("!document.querySelector('#room-alone').hidden");
    let shown = |id: &str| page.find(id).is_displayed();
    assert_eq!((shown("#room-open"), shown("#room-file"), shown("#plain-http")), (false, false, false));
    assert_eq!(page.execute("return document.querySelectorAll('.room-code').length;"), 0);
    page.assert_no_errors();
}

#[test]
fn the_room_is_told_the_addresses_with_their_codes() {
    let server = Server::start_with(0, &["--lan"]);
    let told: Vec<serde_json::Value> = serde_json::from_str(&server.get("/room.json").body).unwrap();
    assert!(!told.is_empty(), "this machine has an address in a network");
    assert!(
        told.iter().all(|one| one["address"].as_str().unwrap().ends_with(&format!(":{}/", server.port()))),
        "{told:?}"
    );
    let base = format!("http://127.0.0.1:{}", server.port());
    let page = Page::elsewhere(Some(server), &base);
    page.goto("/?nosw");
    page.find("#help-open").click();
    page.find("#room summary").click();
    page.wait_until(&format!("document.querySelectorAll('.room-code path').length === {}", told.len()));
    let shown = page.execute(
        "return [...document.querySelectorAll('.room-code')]
           .map((one) => [one.querySelector('a').href, one.querySelector('path').getAttribute('d')]);",
    );
    let wanted: Vec<_> = told.iter().map(|one| [one["address"].clone(), one["d"].clone()]).collect();
    assert_eq!(shown, serde_json::json!(wanted));
    assert!(page.find("#room-open").text().starts_with("Everyone in this network can open the page"));
    assert!(!page.find("#room-alone").is_displayed());
    let (_, _, width, height) = page.find(".room-code svg").rect();
    assert!(width > 150.0 && (width - height).abs() < 1.0, "a code of {width} by {height} px");
    page.assert_no_errors();
}

#[test]
fn a_published_page_works_below_any_folder_of_any_server() {
    let folder = tempfile::tempdir().unwrap();
    let site = folder.path().join("deep/site");
    std::fs::create_dir(folder.path().join("deep")).unwrap();
    let said = publish(&[site.to_str().unwrap()]);
    assert!(said.contains("as sent with Brotli") && said.contains("application/wasm"), "{said}");
    publish(&[site.to_str().unwrap()]);
    for ending in ["", ".br", ".gz"] {
        assert!(site.join(format!("pkg/fanlap_bg.wasm{ending}")).is_file(), "{ending}");
    }
    let server = Server::of_folder(folder.path());
    let (port, base) = (server.port(), format!("http://127.0.0.1:{}/deep/site", server.port()));
    let mut page = Page::elsewhere(Some(server), &base);
    page.goto("/?nosw");
    does_everything(&page);
    takes_a_link(&page, "/?nosw&again");
    let requests = page.requests();
    let own = |url: &String| url.starts_with(&base) || url.starts_with("data:") || url.starts_with("blob:");
    assert!(requests.len() > 10 && requests.iter().all(own), "{requests:#?}");
    // its own policy holds, whatever the server says
    assert_eq!(
        page.execute_async("fetch('http://127.0.0.2:9/spy').then(() => done('sent'), () => done('stopped'))"),
        "stopped"
    );
    assert!(page.console().iter().any(|(_, text)| text.contains("Content Security Policy")));
    // offline, beside a page in another folder of the same server
    page.execute_async("caches.open('fanlap-/other/1').then(() => caches.open('fanlap-older')).then(() => done())");
    page.goto("/");
    page.wait_until("navigator.serviceWorker.controller !== null");
    let names = page
        .execute_async("caches.keys().then((names) => done(names.map((n) => n.replace(/[0-9a-f]{16}$/, '')).sort()))");
    assert_eq!(names, serde_json::json!(["fanlap-/deep/site/", "fanlap-/other/1"]));
    page.stop_server();
    page.refresh();
    page.assert_no_errors();
    assert_ne!(port, 0);
}

#[test]
fn the_page_of_one_file_needs_no_server() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("fan lap.html");
    let said = publish(&["--one-file", file.to_str().unwrap()]);
    assert!(said.contains("opens by double click"), "{said}");
    publish(&["--one-file", file.to_str().unwrap()]);
    let page = Page::elsewhere(None, &format!("file://{}/fan%20lap.html", folder.path().display()));
    page.goto("");
    does_everything(&page);
    takes_a_link(&page, "");
    page.refresh();
    page.wait_until("document.querySelector('#job-title').value.startsWith('By a link')");
    let requests = page.requests();
    let inside = |url: &String| ["file:", "data:", "blob:"].iter().any(|kind| url.starts_with(kind));
    assert!(!requests.is_empty() && requests.iter().all(inside), "{requests:#?}");
    // no link leads to it: the job is saved instead
    page.execute(&format!("{CATCH} document.querySelector('#file-menu').open = true"));
    page.find("#file-link").click();
    page.wait_until(&format!(
        "{KEPT}.startsWith('No link leads to a page that is a file: saved as ') && window.caught"
    ));
    let saved = page.execute("return [caughtName, JSON.parse(caught).title];");
    assert_eq!(saved, serde_json::json!(["by-a-link-\u{fc}ber-\u{3b4}.json", "By a link, \u{fc}ber \u{394}"]));
    page.find("#help-open").click();
    page.find("#room summary").click();
    page.wait_until("!document.querySelector('#room-file').hidden");
    assert!(!page.find("#plain-http").is_displayed(), "nothing is missing");
    page.assert_no_errors();
}

#[test]
fn a_browser_that_keeps_nothing_for_files_says_so() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("page.html");
    publish(&["--one-file", file.to_str().unwrap()]);
    let page = Page::elsewhere(None, &format!("file://{}", file.display()));
    let source = "for (const name of ['localStorage', 'sessionStorage'])
         Object.defineProperty(window, name, { get() { throw new DOMException('closed', 'SecurityError'); } });";
    page.devtools("Page.addScriptToEvaluateOnNewDocument", serde_json::json!({ "source": source }));
    page.goto("");
    page.wait_until(&format!("{KEPT} === 'not kept: save it as a file'"));
    page.find("#new-door").attribute("id");
    page.execute("document.querySelector('#new-door').click()");
    page.wait_until("document.querySelector('#job-title').value.startsWith('Door')");
    page.assert_no_errors();
}
