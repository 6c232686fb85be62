//! The page opens: cleanly, from its own origin alone, under the strict headers, and without a network once it
//! has been seen. Knows nothing of what the page shows.

use crate::driver::Page;
use crate::session::Server;
use std::collections::BTreeSet;
use std::path::Path;

const CONTROLLED: &str = "navigator.serviceWorker.controller !== null";

#[test]
fn the_page_opens_without_errors() {
    let page = Page::open("/?nosw");
    page.assert_no_errors();
    assert!(!page.title().is_empty(), "the page has a title");
    assert_eq!(page.execute("return window.crossOriginIsolated;"), true);
}

#[test]
fn no_request_leaves_the_origin() {
    let page = Page::open("/");
    page.wait_until(CONTROLLED);
    let requests = page.requests();
    assert!(requests.iter().any(|url| url.ends_with("/pkg/fanlap_bg.wasm")), "the log works: {requests:#?}");
    let own = |url: &String| url.starts_with(&page.origin()) || url.starts_with("data:") || url.starts_with("blob:");
    let foreign: Vec<_> = requests.iter().filter(|url| !own(url)).collect();
    assert!(foreign.is_empty(), "requests to elsewhere: {foreign:#?}");
}

#[test]
fn a_request_to_elsewhere_would_be_seen_and_stopped() {
    let page = Page::open("/?nosw");
    let outcome = page.execute_async("fetch('http://127.0.0.2:9/spy').then(() => done('sent'), () => done('stopped'))");
    assert_eq!(outcome, "stopped");
    let said = page.console();
    assert!(said.iter().any(|(_, text)| text.contains("Content Security Policy")), "{said:#?}");
}

#[test]
fn every_answer_carries_the_headers() {
    let server = Server::start(0);
    for path in ["/", "/pkg/fanlap_bg.wasm", "/sw.js", "/missing"] {
        let answer = server.get(path);
        assert!(
            answer.header("content-security-policy").starts_with("default-src 'none'; script-src 'self'"),
            "{path}"
        );
        assert_eq!(answer.header("x-content-type-options"), "nosniff", "{path}");
        assert_eq!(answer.header("referrer-policy"), "no-referrer", "{path}");
        assert_eq!(answer.header("cross-origin-opener-policy"), "same-origin", "{path}");
        assert_eq!(answer.header("cross-origin-embedder-policy"), "require-corp", "{path}");
        assert_eq!(answer.header("cache-control"), "no-cache", "{path}");
    }
    assert_eq!(server.get("/pkg/fanlap_bg.wasm").header("content-type"), "application/wasm");
}

#[test]
fn nothing_outside_the_page_is_served() {
    let server = Server::start(0);
    for path in ["/../Cargo.toml", "/%2e%2e/Cargo.toml", "/..%2fCargo.toml", "//etc/passwd", "/missing"] {
        assert_eq!(server.get(path).status, 404, "{path}");
    }
}

#[test]
fn the_page_works_without_a_network_after_the_first_visit() {
    let mut page = Page::open("/");
    page.wait_until(CONTROLLED);
    page.stop_server();
    page.refresh();
    page.goto("/?job=anything");
    page.goto("/index.html");
    page.assert_no_errors();
    page.restart_server();
    page.refresh();
    page.assert_no_errors();
}

#[test]
fn nosw_retires_the_service_worker_and_its_copies() {
    let page = Page::open("/");
    page.wait_until(CONTROLLED);
    page.goto("/?nosw");
    page.goto("/?nosw");
    let left = page.execute_async(
        "Promise.all([navigator.serviceWorker.getRegistrations(), caches.keys()])
         .then(([workers, names]) => done([workers.length, names]))",
    );
    assert_eq!(left, serde_json::json!([0, []]));
}

#[test]
fn one_cache_is_kept_and_an_older_one_goes() {
    let page = Page::open("/?nosw");
    page.execute_async("caches.open('fanlap-older').then(() => caches.open('other')).then(() => done())");
    page.goto("/");
    page.wait_until(CONTROLLED);
    let names = page.execute_async("caches.keys().then(done)");
    let names: Vec<_> = names.as_array().unwrap().iter().map(|name| name.as_str().unwrap()).collect();
    assert!(names.len() == 2 && names.contains(&"other") && !names.contains(&"fanlap-older"), "{names:?}");
}

#[test]
fn the_service_worker_keeps_every_file_of_the_page() {
    let page = Page::open("/");
    page.wait_until(CONTROLLED);
    let kept = page.execute_async(
        "caches.keys().then(([name]) => caches.open(name)).then(cache => cache.keys())
         .then(requests => done(requests.map(request => new URL(request.url).pathname)))",
    );
    let kept: BTreeSet<String> = kept.as_array().unwrap().iter().map(|path| path.as_str().unwrap().into()).collect();
    let www = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("www");
    let mut wanted = BTreeSet::new();
    collect(&www, "", &mut wanted);
    assert_eq!(kept, wanted);
}

/// The addresses of all files of the page, but for compressed copies, the service worker's own two, and the help, which is
/// part of the code.
fn collect(dir: &Path, address: &str, into: &mut BTreeSet<String>) {
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        let name = path.file_name().unwrap().to_str().unwrap();
        let address = format!("{address}/{name}");
        match address.as_str() {
            _ if name.starts_with('.') || name.ends_with(".br") => {}
            "/sw.js" | "/pkg/version.js" | "/help.html" => {}
            "/index.html" => drop(into.insert("/".to_owned())),
            _ if path.is_dir() => collect(&path, &address, into),
            _ => drop(into.insert(address)),
        }
    }
}
