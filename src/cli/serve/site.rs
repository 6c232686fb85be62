//! Which file of the page answers which path, how it is packed, and what is sent with it. Nothing but the page's own
//! kinds of files, from its own folder. Speaks to nobody.

use super::http::{Answer, Question, Refusal};
use std::collections::HashMap;
use std::fs;
use std::io::Write;
use std::net::IpAddr;
use std::path::{Path, PathBuf};
use std::sync::{Arc, Mutex, PoisonError};
use std::time::SystemTime;

/// Sent with every answer: workers and errors need them as much as the page does. Cross-origin isolation gives
/// the page fine clock steps; `no-cache` makes the browser ask whether its copy is still good.
pub const HEADERS: [(&str, &str); 7] = [
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

/// The kinds of files a page has, by their endings, and whether they are worth packing.
const KINDS: [(&str, &str, bool); 9] = [
    ("html", "text/html; charset=utf-8", true),
    ("css", "text/css; charset=utf-8", true),
    ("js", "text/javascript; charset=utf-8", true),
    ("json", "application/json", true),
    ("webmanifest", "application/manifest+json", true),
    ("svg", "image/svg+xml", true),
    ("txt", "text/plain; charset=utf-8", true),
    ("wasm", "application/wasm", true),
    ("woff2", "font/woff2", false),
];

const NOT_FOUND: Refusal = Refusal("404 Not Found", "The page has no such file.");
const NOT_ASKED_SO: Refusal = Refusal("405 Method Not Allowed", "The page can only be read: GET or HEAD.");
const ELSEWHERE: Refusal = Refusal(
    "421 Misdirected Request",
    "Ask for the page by its address in numbers, or as localhost: under other names a stranger's page could read it.",
);

/// Whether a file's kind is worth packing; none for a file that no page has.
pub fn worth_packing(path: &Path) -> Option<bool> {
    kind_of(path).map(|(_, packs)| packs)
}

fn kind_of(path: &Path) -> Option<(&'static str, bool)> {
    let ending = path.extension()?.to_str()?;
    KINDS.iter().find(|(known, ..)| *known == ending).map(|(_, kind, packs)| (*kind, *packs))
}

/// The page's folder, what was read of it, and what is told beside it.
pub struct Site {
    root: PathBuf,
    /// What has no packed copy is packed here: for a network, not for this computer alone.
    packs: bool,
    /// Answers that are no files: path, kind, text.
    told: Vec<(&'static str, String)>,
    kept: Mutex<HashMap<(PathBuf, bool), Kept>>,
}

/// A file as it was read, as long as it is the same.
#[derive(Clone)]
struct Kept {
    of: (Option<SystemTime>, u64),
    bytes: Arc<Vec<u8>>,
    tag: String,
}

impl Site {
    pub fn new(root: &Path, packs: bool, told: Vec<(&'static str, String)>) -> Self {
        Self { root: root.to_path_buf(), packs, told, kept: Mutex::default() }
    }

    /// Answers a question.
    pub fn answer(&self, question: &Question) -> Answer {
        let mut answer = match question.method.as_str() {
            _ if !named_rightly(question) => ELSEWHERE.into(),
            "GET" | "HEAD" => self.file(question).unwrap_or_else(|| NOT_FOUND.into()),
            _ => {
                let mut answer = Answer::from(NOT_ASKED_SO);
                answer.headers.push(("allow", "GET, HEAD".to_string()));
                answer
            }
        };
        answer.headers.extend(headers_for(question));
        answer
    }

    fn file(&self, question: &Question) -> Option<Answer> {
        let asked = question.target.split(['?', '#']).next().unwrap_or_default();
        if let Some((_, text)) = self.told.iter().find(|(path, _)| *path == asked) {
            let headers = vec![("content-type", "application/json".to_string())];
            return Some(Answer { status: "200 OK", headers, body: text.clone().into_bytes().into() });
        }
        let path = self.path(asked)?;
        let (kind, packs) = kind_of(&path)?;
        let (kept, coding) = self.packed(&path, packs, question).or_else(|| Some((self.read(&path, false)?, None)))?;
        let mut headers = vec![("content-type", kind.to_string()), ("etag", kept.tag.clone())];
        if packs {
            headers.push(("vary", "accept-encoding".to_string()));
        }
        headers.extend(coding.map(|coding| ("content-encoding", coding.to_string())));
        let known = |tag: &str| tag == "*" || tag.trim_start_matches("W/") == kept.tag;
        if question.words("if-none-match").any(known) {
            return Some(Answer { status: "304 Not Modified", headers, body: Arc::default() });
        }
        Some(Answer { status: "200 OK", headers, body: kept.bytes })
    }

    /// The file that a path names: plain names only, none hidden, nothing outside the folder.
    fn path(&self, asked: &str) -> Option<PathBuf> {
        let inside = asked.strip_prefix('/')?;
        let inside = if inside.is_empty() { "index.html" } else { inside };
        let plain = |c: char| c.is_ascii_alphanumeric() || matches!(c, '.' | '-' | '_');
        let is_name = |name: &str| !name.is_empty() && !name.starts_with('.') && name.chars().all(plain);
        if !inside.split('/').all(is_name) {
            return None;
        }
        let path = fs::canonicalize(self.root.join(inside)).ok()?;
        path.starts_with(fs::canonicalize(&self.root).ok()?).then_some(path)
    }

    /// The file as it is sent packed: its packed copy, if there is one, or one that is made now.
    fn packed(&self, path: &Path, packs: bool, question: &Question) -> Option<(Kept, Option<&'static str>)> {
        let takes = |coding: &str| {
            question.words("accept-encoding").any(|word| {
                let (name, weight) = word.split_once(';').unwrap_or((word, ""));
                name.trim() == coding && !weight.trim().trim_start_matches("q=").parse().is_ok_and(|q: f64| q == 0.0)
            })
        };
        let copy = |coding: &'static str, ending: &str| {
            let copy = PathBuf::from(format!("{}.{ending}", path.display()));
            (packs && takes(coding)).then(|| self.read(&copy, false)).flatten().map(|kept| (kept, Some(coding)))
        };
        let made = || (packs && self.packs && takes("gzip")).then(|| self.read(path, true)).flatten();
        copy("br", "br").or_else(|| copy("gzip", "gz")).or_else(|| Some((made()?, Some("gzip"))))
    }

    /// A file's bytes, packed or as they are: those read before, if it has not changed.
    fn read(&self, path: &Path, pack: bool) -> Option<Kept> {
        let about = fs::metadata(path).ok().filter(fs::Metadata::is_file)?;
        let of = (about.modified().ok(), about.len());
        let key = (path.to_path_buf(), pack);
        let lock = || self.kept.lock().unwrap_or_else(PoisonError::into_inner);
        if let Some(kept) = lock().get(&key).filter(|kept| kept.of == of) {
            return Some(kept.clone());
        }
        let plain = fs::read(path).ok()?;
        let bytes = if pack { gzip(&plain, flate2::Compression::default()) } else { plain };
        let tag = format!("\"{}\"", crate::build::fingerprint([bytes.as_slice()]));
        let kept = Kept { of, bytes: bytes.into(), tag };
        lock().insert(key, kept.clone());
        Some(kept)
    }
}

/// Packs bytes as gzip does.
pub fn gzip(bytes: &[u8], level: flate2::Compression) -> Vec<u8> {
    let mut packer = flate2::write::GzEncoder::new(Vec::new(), level);
    packer.write_all(bytes).and_then(|()| packer.finish()).expect("memory takes all that is written")
}

/// Whether the question names this computer in numbers or as localhost. A foreign page that has a name of its own
/// pointed at this computer (DNS rebinding) gives that name, and reads nothing.
fn named_rightly(question: &Question) -> bool {
    host(question).is_some_and(|host| host == "localhost" || host.parse::<IpAddr>().is_ok())
}

/// The one host that is asked, without its port.
fn host(question: &Question) -> Option<&str> {
    let mut named = question.all("host");
    let host = named.next().filter(|_| named.next().is_none())?;
    if let Some(rest) = host.strip_prefix('[') {
        return rest.split_once(']').map(|(host, _)| host);
    }
    Some(host.split_once(':').map_or(host, |(host, _)| host))
}

/// An answer to what was no question, with the headers of every answer.
pub fn with_headers(mut answer: Answer) -> Answer {
    answer.headers.extend(HEADERS.map(|(name, value)| (name, value.to_string())));
    answer
}

/// The headers of every answer. Over plain http from another computer browsers ignore the isolation and complain of it.
fn headers_for(question: &Question) -> impl Iterator<Item = (&'static str, String)> {
    let here = host(question)
        .is_some_and(|host| host.parse().map_or(host == "localhost", |address: IpAddr| address.is_loopback()));
    let fits = move |name: &str| here || !matches!(name, "cross-origin-opener-policy" | "cross-origin-embedder-policy");
    HEADERS.into_iter().filter(move |(name, _)| fits(name)).map(|(name, value)| (name, value.to_string()))
}
