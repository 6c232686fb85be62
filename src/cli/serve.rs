//! Serves the page to this computer's browser under a strict content security policy. Knows nothing of what the
//! files hold or how they were built.

use anyhow::{Context, Result, bail, ensure};
use axum::Router;
use axum::http::{HeaderName, HeaderValue};
use std::io::Write;
use std::net::{Ipv4Addr, TcpListener};
use std::path::Path;
use tower_http::compression::CompressionLayer;
use tower_http::services::ServeDir;
use tower_http::set_header::SetResponseHeaderLayer;

/// The port tried first, so that a bookmark and the browser's memory of the page last.
const USUAL_PORT: u16 = 8460;
/// How many ports after the usual one are tried before any free one is taken.
const NEXT_PORTS: u16 = 20;

/// Sent with every answer: workers and errors need them as much as the page does. Cross-origin isolation gives
/// the page fine clock steps; `no-cache` makes the browser ask whether its copy is still good.
const HEADERS: [(&str, &str); 7] = [
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' data: blob:; \
         font-src 'self'; connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; \
         form-action 'none'; frame-ancestors 'none'",
    ),
    ("x-content-type-options", "nosniff"),
    ("referrer-policy", "no-referrer"),
    ("cross-origin-opener-policy", "same-origin"),
    ("cross-origin-embedder-policy", "require-corp"),
    ("cross-origin-resource-policy", "same-origin"),
    ("cache-control", "no-cache"),
];

/// Serves `www` on 127.0.0.1 until Ctrl-C, and prints where. Without a port the usual one is taken, or the next
/// free one; port 0 takes any.
pub fn serve(www: &Path, port: Option<u16>, open_browser: bool) -> Result<()> {
    for needed in ["index.html", "pkg/fanlap.js"] {
        ensure!(www.join(needed).is_file(), "{} is missing: build the page first", www.join(needed).display());
    }
    let listener = listen(port)?;
    let address = format!("http://{}/", listener.local_addr()?);
    announce(&address)?;
    if open_browser && open::that_detached(&address).is_err() {
        eprintln!("no browser could be started: open {address} by hand; Ctrl-C ends");
    }
    until_interrupted(listener, www)
}

/// One whole line on standard output, which other programs wait for.
fn announce(address: &str) -> Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "fanlap is at {address}")?;
    Ok(out.flush()?)
}

fn listen(port: Option<u16>) -> Result<TcpListener> {
    match port {
        Some(port) => bind(port).with_context(|| {
            format!("port {port} cannot be used: choose another one with --port, or --port 0 for any free one")
        }),
        None => listen_near(USUAL_PORT),
    }
}

fn listen_near(usual: u16) -> Result<TcpListener> {
    let near = (usual..=usual.saturating_add(NEXT_PORTS)).find_map(|port| bind(port).ok());
    match near.map_or_else(|| bind(0), Ok) {
        Ok(listener) => Ok(listener),
        Err(error) => bail!("no port of 127.0.0.1 is free: {error}"),
    }
}

fn bind(port: u16) -> std::io::Result<TcpListener> {
    TcpListener::bind((Ipv4Addr::LOCALHOST, port))
}

fn until_interrupted(listener: TcpListener, www: &Path) -> Result<()> {
    let runtime = tokio::runtime::Builder::new_current_thread().enable_all().build()?;
    runtime.block_on(async {
        listener.set_nonblocking(true)?;
        let listener = tokio::net::TcpListener::from_std(listener)?;
        tokio::select! {
            ended = async { axum::serve(listener, router(www)).await } => ended.context("the server ended"),
            interrupted = tokio::signal::ctrl_c() => interrupted.context("cannot wait for Ctrl-C"),
        }
    })
}

fn router(www: &Path) -> Router {
    let files = Router::new().fallback_service(ServeDir::new(www).precompressed_br());
    let files = files.layer(CompressionLayer::new());
    HEADERS.iter().fold(files, |router, (name, value)| {
        let (name, value) = (HeaderName::from_static(name), HeaderValue::from_static(value));
        router.layer(SetResponseHeaderLayer::overriding(name, value))
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::io::Read;
    use std::net::TcpStream;

    /// Serves a small directory until it is dropped, and returns its port.
    fn small_site() -> (tempfile::TempDir, u16) {
        let dir = tempfile::tempdir().unwrap();
        let www = dir.path().join("www");
        std::fs::create_dir(&www).unwrap();
        std::fs::write(dir.path().join("outside.txt"), "secret").unwrap();
        std::fs::write(www.join("index.html"), "hello").unwrap();
        std::fs::write(www.join("a.wasm"), "long form").unwrap();
        std::fs::write(www.join("a.wasm.br"), "short").unwrap();
        let listener = listen(Some(0)).unwrap();
        let port = listener.local_addr().unwrap().port();
        std::thread::spawn(move || until_interrupted(listener, &www));
        (dir, port)
    }

    fn get(port: u16, path: &str, more: &str) -> String {
        let mut stream = TcpStream::connect((Ipv4Addr::LOCALHOST, port)).unwrap();
        write!(stream, "GET {path} HTTP/1.1\r\nHost: 127.0.0.1\r\nConnection: close\r\n{more}\r\n").unwrap();
        let mut answer = String::new();
        stream.read_to_string(&mut answer).unwrap();
        answer
    }

    #[test]
    fn every_answer_carries_the_headers() {
        let (_site, port) = small_site();
        for path in ["/", "/a.wasm", "/missing"] {
            let answer = get(port, path, "");
            for (name, value) in HEADERS {
                assert!(answer.contains(&format!("{name}: {value}\r\n")), "{path} lacks {name}:\n{answer}");
            }
        }
    }

    #[test]
    fn compressed_copies_go_to_those_who_take_them() {
        let (_site, port) = small_site();
        let packed = get(port, "/a.wasm", "Accept-Encoding: gzip, br\r\n");
        assert!(packed.contains("content-encoding: br\r\n") && packed.ends_with("short"), "{packed}");
        assert!(packed.contains("content-type: application/wasm\r\n"), "{packed}");
        assert!(get(port, "/a.wasm", "").ends_with("long form"));
    }

    #[test]
    fn nothing_outside_the_page_is_served() {
        let (_site, port) = small_site();
        for path in ["/../outside.txt", "/%2e%2e/outside.txt", "/..%2foutside.txt", "//etc/passwd", "/missing"] {
            let answer = get(port, path, "");
            assert!(answer.starts_with("HTTP/1.1 404"), "{path}: {answer}");
        }
    }

    #[test]
    fn a_taken_port_is_refused_when_asked_for_and_passed_over_otherwise() {
        let taken = listen(Some(0)).unwrap();
        let port = taken.local_addr().unwrap().port();
        let message = format!("{:#}", listen(Some(port)).unwrap_err());
        assert!(message.contains(&format!("port {port} cannot be used")), "{message}");
        assert_ne!(listen_near(port).unwrap().local_addr().unwrap().port(), port);
    }

    #[test]
    fn an_unbuilt_page_is_refused() {
        let dir = tempfile::tempdir().unwrap();
        let message = serve(dir.path(), Some(0), false).unwrap_err().to_string();
        assert!(message.ends_with("is missing: build the page first"), "{message}");
    }
}
