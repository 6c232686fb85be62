//! As much of HTTP/1.1 (RFC 9112) as a page needs: a question without a body is read, within limits of size and time, and
//! answered. Knows nothing of which files there are.

use std::io::{Error, ErrorKind, Read, Result, Write};
use std::net::{Shutdown, TcpStream};
use std::time::{Duration, Instant, SystemTime};

/// How much a reader may ask, and how long he may take.
#[derive(Clone, Copy)]
pub struct Limits {
    /// Connections at a time.
    pub connections: usize,
    /// Until the first byte of a question.
    pub idle: Duration,
    /// From there to the end of its head.
    pub head: Duration,
    /// Until an answer is taken.
    pub answer: Duration,
}

/// The longest head of a question, bytes.
const LONGEST_HEAD: usize = 16 * 1024;
const MOST_FIELDS: usize = 64;
/// What is still listened to of a refused question, so that the refusal is heard: bytes, and time.
const LISTENS: (usize, Duration) = (4 << 20, Duration::from_secs(1));

/// A question: what a browser asks for.
pub struct Question {
    pub method: String,
    /// As it was sent, with its query.
    pub target: String,
    /// The connection stays open after the answer.
    pub stays: bool,
    fields: Vec<(String, String)>,
}

impl Question {
    /// The values of a header, one after the other; its name in small letters.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.fields.iter().filter(move |(key, _)| key == name).map(|(_, value)| value.as_str())
    }

    /// The words of a header that is a list.
    pub fn words<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a str> {
        self.all(name).flat_map(|value| value.split(',')).map(str::trim)
    }

    fn read(bytes: &[u8]) -> std::result::Result<Option<(Self, usize)>, Refusal> {
        let mut fields = [httparse::EMPTY_HEADER; MOST_FIELDS];
        let mut parsed = httparse::Request::new(&mut fields);
        let length = match parsed.parse(bytes) {
            Ok(httparse::Status::Complete(length)) => length,
            Ok(httparse::Status::Partial) if bytes.len() < LONGEST_HEAD => return Ok(None),
            Ok(httparse::Status::Partial) | Err(httparse::Error::TooManyHeaders) => return Err(TOO_LONG),
            Err(_) => return Err(MALFORMED),
        };
        let text = |value: &[u8]| String::from_utf8_lossy(value).trim().to_string();
        let fields = parsed.headers.iter().map(|field| (field.name.to_ascii_lowercase(), text(field.value)));
        let mut question = Self {
            method: parsed.method.unwrap_or_default().to_string(),
            target: parsed.path.unwrap_or_default().to_string(),
            stays: false,
            fields: fields.collect(),
        };
        if question.all("transfer-encoding").next().is_some() || question.all("content-length").any(|n| n != "0") {
            return Err(WITH_BODY);
        }
        let closes = question.words("connection").any(|word| word.eq_ignore_ascii_case("close"));
        question.stays = parsed.version == Some(1) && !closes;
        Ok(Some((question, length)))
    }
}

/// A question that is not answered as it was put: status, and what is said.
#[derive(Clone, Copy)]
pub struct Refusal(pub &'static str, pub &'static str);

const MALFORMED: Refusal = Refusal("400 Bad Request", "This is no HTTP question.");
const WITH_BODY: Refusal = Refusal("413 Content Too Large", "The page takes nothing in.");
const TOO_LONG: Refusal = Refusal("431 Request Header Fields Too Large", "The head of a question may be 16 KiB long.");

/// An answer.
pub struct Answer {
    pub status: &'static str,
    pub headers: Vec<(&'static str, String)>,
    pub body: std::sync::Arc<Vec<u8>>,
}

impl From<Refusal> for Answer {
    fn from(Refusal(status, words): Refusal) -> Self {
        let headers = vec![("content-type", "text/plain; charset=utf-8".to_string())];
        Self { status, headers, body: format!("{words}\n").into_bytes().into() }
    }
}

/// One connection: the bytes that have come of the next question, and what it may take.
pub struct Line<'a> {
    stream: &'a TcpStream,
    limits: Limits,
    come: Vec<u8>,
}

impl<'a> Line<'a> {
    pub fn new(stream: &'a TcpStream, limits: Limits) -> Self {
        let _ = stream.set_nodelay(true);
        Self { stream, limits, come: Vec::new() }
    }

    /// The next question; none when the reader has gone; an error when he is too slow.
    pub fn question(&mut self) -> Result<Option<std::result::Result<Question, Refusal>>> {
        let (start, mut since) = (Instant::now(), None);
        loop {
            match Question::read(&self.come) {
                Ok(None) => {}
                Ok(Some((question, length))) => {
                    self.come.drain(..length);
                    return Ok(Some(Ok(question)));
                }
                Err(refusal) => return Ok(Some(Err(refusal))),
            }
            if !self.come.is_empty() {
                since.get_or_insert_with(Instant::now);
            }
            let until = since.map_or(start + self.limits.idle, |since: Instant| since + self.limits.head);
            self.stream.set_read_timeout(Some(left(until)?))?;
            let mut more = [0; 4096];
            match self.stream.read(&mut more) {
                Ok(0) => return Ok(None),
                Ok(count) => self.come.extend_from_slice(&more[..count]),
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
    }

    /// Sends an answer, without its body where only the head was asked for.
    pub fn answer(&mut self, answer: &Answer, stays: bool, head_only: bool) -> Result<()> {
        use std::fmt::Write;
        let until = Instant::now() + self.limits.answer;
        let mut head = format!("HTTP/1.1 {}\r\n", answer.status);
        for (name, value) in &answer.headers {
            let _ = write!(head, "{name}: {value}\r\n");
        }
        if !answer.status.starts_with("304") {
            let _ = write!(head, "content-length: {}\r\n", answer.body.len());
        }
        let connection = if stays { "keep-alive" } else { "close" };
        let _ =
            write!(head, "date: {}\r\nconnection: {connection}\r\n\r\n", httpdate::fmt_http_date(SystemTime::now()));
        self.send(head.as_bytes(), until)?;
        if head_only { Ok(()) } else { self.send(&answer.body, until) }
    }

    fn send(&self, mut bytes: &[u8], until: Instant) -> Result<()> {
        let mut stream = self.stream;
        while !bytes.is_empty() {
            stream.set_write_timeout(Some(left(until)?))?;
            match stream.write(bytes) {
                Ok(0) => return Err(ErrorKind::WriteZero.into()),
                Ok(count) => bytes = &bytes[count..],
                Err(error) if error.kind() == ErrorKind::Interrupted => {}
                Err(error) => return Err(error),
            }
        }
        Ok(())
    }

    /// Ends the connection and listens a little longer: closed at once, it would take the last answer with it.
    pub fn close(self) {
        let (mut rest, until) = (LISTENS.0, Instant::now() + LISTENS.1);
        let _ = self.stream.shutdown(Shutdown::Write);
        let mut more = [0; 4096];
        while let Ok(left) = left(until) {
            let heard = self.stream.set_read_timeout(Some(left)).and_then(|()| (&mut &*self.stream).read(&mut more));
            match heard {
                Ok(count) if count > 0 && count < rest => rest -= count,
                _ => return,
            }
        }
    }
}

/// The time left, as an error when there is none.
fn left(until: Instant) -> Result<Duration> {
    let left = until.saturating_duration_since(Instant::now());
    if left.is_zero() { Err(Error::from(ErrorKind::TimedOut)) } else { Ok(left) }
}
