//! The server, spoken to byte by byte: what it gives, what it refuses, and whom it lets go.

use super::*;
use site::HEADERS;
use std::io::Read;
use std::time::Instant;

const SHORT: Duration = Duration::from_millis(300);

/// Serves a small directory for as long as the test runs, and returns its port.
fn small_site(packs: bool, limits: Limits) -> (tempfile::TempDir, u16) {
    let dir = tempfile::tempdir().unwrap();
    let www = dir.path().join("www");
    std::fs::create_dir_all(www.join("pkg")).unwrap();
    std::fs::write(dir.path().join("outside.txt"), "secret").unwrap();
    let long = "long form ".repeat(400_000);
    let files = [
        ("index.html", "hello"),
        ("a.wasm", "long form"),
        ("a.wasm.br", "short"),
        ("a.wasm.gz", "middling"),
        ("b.js", "let b = 1;"),
        (".hidden.js", "secret"),
        ("key.pem", "secret"),
        ("long.css", &long),
    ];
    files.iter().for_each(|(name, text)| std::fs::write(www.join(name), text).unwrap());
    #[cfg(unix)]
    std::os::unix::fs::symlink(dir.path().join("outside.txt"), www.join("link.txt")).unwrap();
    let listener = listen(Ipv4Addr::LOCALHOST, Some(0)).unwrap();
    let port = listener.local_addr().unwrap().port();
    let site = Site::new(&www, packs, vec![("/told.json", "[1]".to_string())]);
    thread::spawn(move || answer_all(&listener, site, limits));
    (dir, port)
}

fn connect(port: u16) -> TcpStream {
    let stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
    stream.set_read_timeout(Some(Duration::from_secs(20))).unwrap();
    stream
}

/// The answer to a question as it is written; empty where the connection is cut.
fn ask(port: u16, question: &str) -> String {
    let mut stream = connect(port);
    let _ = stream.write_all(question.as_bytes());
    heard(&mut stream)
}

fn heard(stream: &mut TcpStream) -> String {
    let mut answer = Vec::new();
    let _ = stream.read_to_end(&mut answer);
    String::from_utf8_lossy(&answer).into_owned()
}

fn get(port: u16, path: &str, more: &str) -> String {
    ask(port, &format!("GET {path} HTTP/1.1\r\nHost: 127.0.0.1:{port}\r\nConnection: close\r\n{more}\r\n"))
}

fn status(answer: &str) -> &str {
    answer.split(' ').nth(1).unwrap_or("none")
}

#[test]
fn every_answer_carries_the_headers() {
    let (_site, port) = small_site(false, LIMITS);
    let refused =
        ["BREW\r\n\r\n".to_string(), format!("GET / HTTP/1.1\r\nHost: 127.0.0.1\r\nX: {}\r\n", "x".repeat(20_000))];
    let answers = ["/", "/a.wasm", "/missing", "/told.json"].map(|path| get(port, path, ""));
    for answer in answers.into_iter().chain(refused.map(|question| ask(port, &question))) {
        for (name, value) in HEADERS {
            assert!(answer.contains(&format!("{name}: {value}\r\n")), "it lacks {name}:\n{answer}");
        }
    }
}

#[test]
fn compressed_copies_go_to_those_who_take_them() {
    let (_site, port) = small_site(false, LIMITS);
    for (takes, coding, body) in [("gzip, br", "br", "short"), ("br;q=0, gzip;q=0.5", "gzip", "middling")] {
        let packed = get(port, "/a.wasm", &format!("Accept-Encoding: {takes}\r\n"));
        assert!(packed.contains(&format!("content-encoding: {coding}\r\n")) && packed.ends_with(body), "{packed}");
        assert!(packed.contains("content-type: application/wasm\r\n") && packed.contains("vary: accept-encoding\r\n"));
    }
    let plain = get(port, "/a.wasm", "");
    assert!(plain.ends_with("long form") && !plain.contains("content-encoding"), "{plain}");
    assert!(
        get(port, "/b.js", "Accept-Encoding: gzip\r\n").ends_with("let b = 1;"),
        "nothing is packed for this computer"
    );
}

#[test]
fn for_the_room_files_are_packed() {
    let (_site, port) = small_site(true, LIMITS);
    let mut stream = connect(port);
    write!(stream, "GET /long.css HTTP/1.0\r\nHost: 127.0.0.1\r\nAccept-Encoding: gzip\r\n\r\n").unwrap();
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).unwrap();
    let body = answer.windows(4).position(|four| four == b"\r\n\r\n").unwrap() + 4;
    assert!(answer.len() < 100_000 && String::from_utf8_lossy(&answer[..body]).contains("content-encoding: gzip\r\n"));
    let mut text = String::new();
    flate2::read::GzDecoder::new(&answer[body..]).read_to_string(&mut text).unwrap();
    assert_eq!(text, "long form ".repeat(400_000));
}

#[test]
fn a_copy_that_is_still_good_is_not_sent_again() {
    let (site, port) = small_site(false, LIMITS);
    let tag = |answer: &str| answer.lines().find_map(|line| line.strip_prefix("etag: ").map(str::to_string)).unwrap();
    let first = tag(&get(port, "/b.js", ""));
    for known in [first.clone(), format!("\"other\", W/{first}"), "*".to_string()] {
        let answer = get(port, "/b.js", &format!("If-None-Match: {known}\r\n"));
        assert!(status(&answer) == "304" && answer.ends_with("\r\n\r\n") && tag(&answer) == first, "{answer}");
    }
    assert_ne!(tag(&get(port, "/a.wasm", "")), tag(&get(port, "/a.wasm", "Accept-Encoding: br\r\n")));
    std::fs::write(site.path().join("www/b.js"), "let b = 25;").unwrap();
    let answer = get(port, "/b.js", &format!("If-None-Match: {first}\r\n"));
    assert!(answer.ends_with("let b = 25;"), "{answer}");
}

#[test]
fn nothing_outside_the_page_is_served() {
    let (_site, port) = small_site(false, LIMITS);
    let outside = [
        "/../outside.txt",
        "/%2e%2e/outside.txt",
        "/..%2foutside.txt",
        "//etc/passwd",
        "/missing",
        "/.hidden.js",
        "/key.pem",
        "/link.txt",
        "/pkg",
        "/pkg/",
        "/pkg/../b.js",
        "/.",
        "/..",
        "http://127.0.0.1/b.js",
        "*",
        "/a.wasm.br",
        "/b.js%00",
        "/\\b.js",
    ];
    for path in outside {
        assert_eq!(status(&get(port, path, "")), "404", "{path}");
    }
    assert!(get(port, "/b.js?again", "").ends_with("let b = 1;"));
    assert!(get(port, "/told.json", "").ends_with("[1]"));
}

#[test]
fn only_reading_is_answered() {
    let (_site, port) = small_site(false, LIMITS);
    let to = |first: &str, more: &str| {
        ask(port, &format!("{first} HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n{more}\r\n"))
    };
    let head = to("HEAD /a.wasm", "");
    assert!(head.contains("content-length: 9\r\n") && head.ends_with("\r\n\r\n"), "{head}");
    let refused = to("DELETE /a.wasm", "");
    assert!(status(&refused) == "405" && refused.contains("allow: GET, HEAD\r\n"), "{refused}");
    for body in ["Content-Length: 5\r\n", "Transfer-Encoding: chunked\r\n"] {
        assert_eq!(status(&to("POST /", body)), "413", "{body}");
    }
    assert_eq!(status(&ask(port, "nonsense\r\n\r\n")), "400");
}

#[test]
fn a_name_that_somebody_points_here_reads_nothing() {
    let (_site, port) = small_site(false, LIMITS);
    let of = |host: &str| status(&ask(port, &format!("GET / HTTP/1.1\r\n{host}Connection: close\r\n\r\n"))).to_string();
    for host in ["127.0.0.1:8460", "localhost", "localhost:8460", "192.168.1.2:8460", "[::1]:8460"] {
        assert_eq!(of(&format!("Host: {host}\r\n")), "200", "{host}");
    }
    for host in ["elsewhere.example", "127.0.0.1.elsewhere.example:8460", "localhost.elsewhere.example", "", "[::1"] {
        assert_eq!(of(&format!("Host: {host}\r\n")), "421", "{host}");
    }
    assert_eq!(of(""), "421");
    assert_eq!(of("Host: localhost\r\nHost: localhost\r\n"), "421");
    // a browser would ignore the isolation of another computer's page, and complain of it
    let other = ask(port, "GET / HTTP/1.0\r\nHost: 192.168.1.2\r\n\r\n");
    assert!(other.contains("content-security-policy: ") && !other.contains("cross-origin-opener-policy"), "{other}");
}

#[test]
fn one_connection_takes_several_questions() {
    let (_site, port) = small_site(false, LIMITS);
    let one = "GET /b.js HTTP/1.1\r\nHost: localhost\r\n\r\n";
    let last = "GET /a.wasm HTTP/1.1\r\nHost: localhost\r\nConnection: close\r\n\r\n";
    let answer = ask(port, &format!("{one}{one}{last}"));
    assert_eq!(answer.matches("let b = 1;").count(), 2, "{answer}");
    assert!(answer.ends_with("long form"), "{answer}");
}

#[test]
fn a_head_of_a_megabyte_is_refused() {
    let (_site, port) = small_site(false, LIMITS);
    let start = Instant::now();
    let answer = ask(port, &format!("GET / HTTP/1.1\r\nHost: localhost\r\nX: {}\r\n\r\n", "x".repeat(1 << 20)));
    assert_eq!(status(&answer), "431", "{answer}");
    let many = "X: y\r\n".repeat(1000);
    assert_eq!(status(&get(port, "/", &many)), "431");
    assert!(start.elapsed() < Duration::from_secs(10));
}

#[test]
fn who_asks_too_slowly_is_let_go() {
    let (_site, port) = small_site(false, Limits { head: 4 * SHORT, idle: SHORT, ..LIMITS });
    // a byte every now and then, each well within the time of a single read
    let mut stream = connect(port);
    let start = Instant::now();
    let sent = "GET / HTTP/1.1\r\nX: ".bytes().chain(std::iter::repeat_n(b'x', 200));
    let bytes = sent.take_while(|byte| {
        thread::sleep(SHORT / 3);
        stream.write_all(&[*byte]).is_ok() && start.elapsed() < Duration::from_secs(15)
    });
    let sent = bytes.count();
    assert!((5..40).contains(&sent), "{sent} bytes were taken in {:?}", start.elapsed());
    // one that asks nothing at all
    let start = Instant::now();
    assert_eq!(heard(&mut connect(port)), "");
    assert!(start.elapsed() < Duration::from_secs(5), "{:?}", start.elapsed());
}

#[test]
fn who_takes_an_answer_too_slowly_is_let_go() {
    let (_site, port) = small_site(false, Limits { answer: 2 * SHORT, ..LIMITS });
    let mut stream = connect(port);
    write!(stream, "GET /long.css HTTP/1.1\r\nHost: localhost\r\n\r\n").unwrap();
    thread::sleep(6 * SHORT);
    // what lay in the buffers still comes, the rest does not
    let length = heard(&mut stream).len();
    assert!(length < 4_000_000, "{length} bytes came");
    assert!(get(port, "/long.css", "").len() > 4_000_000, "who reads on gets all of it");
}

#[test]
fn two_hundred_idle_connections_do_not_stop_the_page() {
    let (_site, port) = small_site(false, Limits { connections: 50, ..LIMITS });
    let mut idle: Vec<_> = (0..200).map(|_| connect(port)).collect();
    for _ in 0..3 {
        assert!(get(port, "/", "").ends_with("hello"));
    }
    // the oldest had to go, the newest may still ask
    assert_eq!(heard(&mut idle[0]), "");
    let newest = idle.last_mut().unwrap();
    write!(newest, "GET / HTTP/1.0\r\nHost: localhost\r\n\r\n").unwrap();
    assert!(heard(newest).ends_with("hello"));
}

#[test]
fn where_all_are_being_answered_a_newcomer_is_told_so() {
    let (_site, port) = small_site(false, Limits { connections: 3, ..LIMITS });
    let busy: Vec<_> = (0..3)
        .map(|_| {
            let mut stream = connect(port);
            write!(stream, "GET /long.css HTTP/1.1\r\nHost: localhost\r\n\r\n").unwrap();
            stream
        })
        .collect();
    thread::sleep(SHORT);
    assert_eq!(status(&heard(&mut connect(port))), "503");
    drop(busy);
    thread::sleep(SHORT);
    assert_eq!(status(&get(port, "/", "")), "200");
}

#[test]
fn a_taken_port_is_refused_when_asked_for_and_passed_over_otherwise() {
    let here = Ipv4Addr::LOCALHOST;
    let taken = listen(here, Some(0)).unwrap();
    let port = taken.local_addr().unwrap().port();
    let message = format!("{:#}", listen(here, Some(port)).unwrap_err());
    assert!(message.contains(&format!("port {port} cannot be used")), "{message}");
    assert_ne!(listen_near(here, port).unwrap().local_addr().unwrap().port(), port);
}

#[test]
fn an_unbuilt_page_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    let wishes = Wishes { port: Some(0), open_browser: false, to_the_room: false };
    let message = serve(dir.path(), &wishes).unwrap_err().to_string();
    assert!(message.ends_with("is missing: build the page first"), "{message}");
}
