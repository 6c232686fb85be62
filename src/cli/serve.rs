//! Serves the page, to this computer's browser or to the room, under a strict content security policy. One thread a
//! connection: a page has few readers. Knows nothing of what the files hold or how they were built.

mod crowd;
mod http;
mod room;
pub mod site;

pub use room::PATH as ROOM;

use anyhow::{Context, Result, bail, ensure};
use crowd::{Crowd, Place};
use http::{Limits, Line, Refusal};
use site::Site;
use std::io::Write;
use std::net::{Ipv4Addr, TcpListener, TcpStream};
use std::path::Path;
use std::sync::Arc;
use std::thread;
use std::time::Duration;

/// The port tried first, so that a bookmark and the browser's memory of the page last.
const USUAL_PORT: u16 = 8460;
/// How many ports after the usual one are tried before any free one is taken.
const NEXT_PORTS: u16 = 20;

/// A class of thirty with six connections each finds room; who is slower than this is let go.
const LIMITS: Limits = Limits {
    connections: 200,
    idle: Duration::from_secs(60),
    head: Duration::from_secs(10),
    answer: Duration::from_secs(120),
};
const NO_ROOM: Refusal = Refusal("503 Service Unavailable", "Too many are reading at once: try again in a minute.");

/// What is wanted of the server.
pub struct Wishes {
    /// Without one the usual port is taken, or the next free one; 0 takes any.
    pub port: Option<u16>,
    pub open_browser: bool,
    /// To everyone in this network, not to this computer alone.
    pub to_the_room: bool,
}

/// Serves the folder until Ctrl-C, and prints where.
pub fn serve(www: &Path, wishes: &Wishes) -> Result<()> {
    for needed in ["index.html", "pkg/fanlap.js"] {
        ensure!(www.join(needed).is_file(), "{} is missing: build the page first", www.join(needed).display());
    }
    let on = if wishes.to_the_room { Ipv4Addr::UNSPECIFIED } else { Ipv4Addr::LOCALHOST };
    let listener = listen(on, wishes.port)?;
    let port = listener.local_addr()?.port();
    let room = if wishes.to_the_room { room::addresses(port)? } else { Vec::new() };
    let address = format!("http://{}:{port}/", Ipv4Addr::LOCALHOST);
    announce(&format!("fanlap is at {address}"))?;
    if wishes.to_the_room {
        announce(&room::words(&room)?)?;
    }
    if wishes.open_browser && open::that_detached(&address).is_err() {
        eprintln!("no browser could be started: open {address} by hand; Ctrl-C ends");
    }
    let site = Site::new(www, wishes.to_the_room, vec![(room::PATH, room::told(&room)?)]);
    answer_all(&listener, site, LIMITS)
}

/// Whole lines on standard output, the first of which other programs wait for.
fn announce(words: &str) -> Result<()> {
    let mut out = std::io::stdout().lock();
    writeln!(out, "{words}")?;
    Ok(out.flush()?)
}

fn listen(on: Ipv4Addr, port: Option<u16>) -> Result<TcpListener> {
    match port {
        Some(port) => TcpListener::bind((on, port)).with_context(|| {
            format!("port {port} cannot be used: choose another one with --port, or --port 0 for any free one")
        }),
        None => listen_near(on, USUAL_PORT),
    }
}

fn listen_near(on: Ipv4Addr, usual: u16) -> Result<TcpListener> {
    let bind = |port| TcpListener::bind((on, port));
    let near = (usual..=usual.saturating_add(NEXT_PORTS)).find_map(|port| bind(port).ok());
    match near.map_or_else(|| bind(0), Ok) {
        Ok(listener) => Ok(listener),
        Err(error) => bail!("no port of {on} is free: {error}"),
    }
}

/// Answers whoever comes, for ever.
fn answer_all(listener: &TcpListener, site: Site, limits: Limits) -> ! {
    let (site, crowd) = (Arc::new(site), Crowd::new(limits.connections));
    loop {
        // no more files can be opened, or the reader has gone again
        let Ok((stream, _)) = listener.accept() else {
            thread::sleep(Duration::from_millis(50));
            continue;
        };
        let stream = Arc::new(stream);
        let Some(place) = crowd.admit(&stream) else {
            let short = Limits { answer: Duration::from_millis(100), ..limits };
            let _ = Line::new(&stream, short).answer(&site::with_headers(NO_ROOM.into()), false, false);
            continue;
        };
        let site = site.clone();
        let one = move || drop(converse(&stream, &site, limits, &place));
        let _ = thread::Builder::new().stack_size(256 * 1024).spawn(one);
    }
}

/// Answers one reader until he goes, is too slow, or asks what is no question.
fn converse(stream: &TcpStream, site: &Site, limits: Limits, place: &Place) -> std::io::Result<()> {
    let mut line = Line::new(stream, limits);
    while let Some(asked) = line.question()? {
        place.waits(false);
        let (answer, stays, head_only) = match &asked {
            Ok(question) => (site.answer(question), question.stays, question.method == "HEAD"),
            Err(refusal) => (site::with_headers((*refusal).into()), false, false),
        };
        line.answer(&answer, stays, head_only)?;
        if !stays {
            break;
        }
        place.waits(true);
    }
    line.close();
    Ok(())
}

#[cfg(test)]
mod tests;
