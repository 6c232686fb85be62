//! `rehearse -`: a job a line from standard input, a report a line on standard output, in the same order, on all cores.
//! Reads only as far ahead as keeps the cores busy, so its memory does not grow with the lines. Does not know what is in
//! a report.

use super::files::Files;
use anyhow::Context;
use fanlap::causes::report;
use fanlap::error::Problem;
use fanlap::job::{self, Job, LARGEST_BYTES};
use fanlap::rehearsal::rehearse;
use serde_json::json;
use std::io::{self, BufRead, ErrorKind, IsTerminal, Read, Write};
use std::path::Path;
use std::sync::mpsc::{Receiver, SyncSender, sync_channel};
use std::sync::{Arc, Mutex};
use std::thread;
use std::time::{Duration, Instant};

/// Lines that are read ahead, for each core: a line that takes long does not leave the others waiting at once.
const AHEAD: usize = 4;
/// How often a person who watches hears how far it is.
const TELL_EVERY: Duration = Duration::from_millis(500);

/// One line of the input.
enum Line {
    /// As it stands, without its end.
    Whole(Vec<u8>),
    /// So many bytes, which is too many; they are not kept.
    TooLong(usize),
}

/// A line on its way to a core, and where the answer is waited for.
struct Task {
    line: Line,
    answer: SyncSender<Result<String, Problem>>,
}

/// A line whose answer is waited for.
struct Awaited {
    number: usize,
    answer: Receiver<Result<String, Problem>>,
}

/// Rehearses the jobs of standard input. Lines that are no job become error objects; that there were some is told at the
/// end.
pub fn rehearse_lines(out: Option<&Path>) -> anyhow::Result<()> {
    if let Some(folder) = out {
        let at = format!("--out {}", folder.display());
        let allowed = "one report a line on standard output, where jobs come from standard input";
        return Err(Problem::new(at, "a folder to write into", allowed, "Leave out --out, or name a job file.").into());
    }
    let cores = thread::available_parallelism().map_or(1, usize::from);
    let (tasks, waiting) = sync_channel::<Task>(cores);
    let waiting = Arc::new(Mutex::new(waiting));
    for _ in 0..cores {
        let waiting = Arc::clone(&waiting);
        thread::spawn(move || work(&waiting));
    }
    let (order, awaited) = sync_channel(AHEAD * cores);
    thread::spawn(move || read_lines(io::stdin().lock(), &tasks, &order));
    write_answers(&awaited)
}

/// Hands out the lines and keeps their order. Ends with the input, or when nobody waits any more.
fn read_lines(mut input: impl BufRead, tasks: &SyncSender<Task>, order: &SyncSender<io::Result<Awaited>>) {
    for number in 1.. {
        let line = match next_line(&mut input) {
            Ok(Some(line)) => line,
            Ok(None) => return,
            Err(error) => return drop(order.send(Err(error))),
        };
        if matches!(&line, Line::Whole(bytes) if bytes.iter().all(u8::is_ascii_whitespace)) {
            continue;
        }
        let (answer, receiver) = sync_channel(1);
        if order.send(Ok(Awaited { number, answer: receiver })).is_err() || tasks.send(Task { line, answer }).is_err() {
            return;
        }
    }
}

/// The next line; none at the end. What is longer than a job may be is counted and dropped.
fn next_line(input: &mut impl BufRead) -> io::Result<Option<Line>> {
    let mut bytes = Vec::new();
    let read = input.by_ref().take(LARGEST_BYTES as u64 + 1).read_until(b'\n', &mut bytes)?;
    if bytes.ends_with(b"\n") {
        bytes.pop();
    } else if read > LARGEST_BYTES {
        let mut last = None;
        let mut length = read;
        // the end of the line is no part of it, and the last line may lack one
        while last != Some(b'\n') {
            let rest = input.fill_buf()?;
            let Some(end) = rest.iter().position(|byte| *byte == b'\n').or(rest.len().checked_sub(1)) else { break };
            last = Some(rest[end]);
            length += end + usize::from(last != Some(b'\n'));
            input.consume(end + 1);
        }
        return Ok(Some(Line::TooLong(length)));
    }
    Ok((read > 0).then_some(Line::Whole(bytes)))
}

/// Rehearses line after line until there are no more.
fn work(waiting: &Mutex<Receiver<Task>>) {
    loop {
        let Ok(Task { line, answer }) = waiting.lock().expect("nothing fails while it waits").recv() else { return };
        // whoever waited for it may have gone
        drop(answer.send(one_report(line)));
    }
}

/// The report of a line. The files that it names lie below the working folder.
fn one_report(line: Line) -> Result<String, Problem> {
    let text = match line {
        Line::Whole(bytes) => super::files::decoded(bytes).map_err(|given| {
            Problem::new(
                THE_LINE,
                given.trim_start_matches("line 1 with "),
                "a text in UTF-8",
                super::files::SAVE_AS_UTF8,
            )
        })?,
        Line::TooLong(bytes) => {
            let remedy = "Move long spectra into files that the job names.";
            let allowed = format!("a job of up to {LARGEST_BYTES} bytes");
            return Err(Problem::new(THE_LINE, format!("{bytes} bytes"), allowed, remedy));
        }
    };
    let files = Files::new(false);
    let beside = |name: &str| files.beside(Path::new("."), name);
    let job = Job::read(&text, &job::Files::from(&beside)).map_err(|problem| {
        // a place in a text of one line
        let at = problem.at.trim_start_matches("line 1, ").to_string();
        Problem { at, ..problem }
    })?;
    Ok(serde_json::to_string(&report(&rehearse(&job))).expect("a report is made of plain values"))
}

const THE_LINE: &str = "the line";

/// Writes the answers in the order of the lines, each as soon as it is there.
fn write_answers(awaited: &Receiver<io::Result<Awaited>>) -> anyhow::Result<()> {
    let mut told = Progress::begin();
    for next in awaited {
        let Awaited { number, answer } = next.map_err(|error| {
            let remedy = "Send it a text, or name a job file instead of -.";
            Problem::new("standard input", error.to_string(), "one job a line", remedy)
        })?;
        let answer = answer.recv().with_context(|| format!("line {number}: its rehearsal broke off"))?;
        let text = match answer {
            Ok(report) => report,
            Err(problem) => {
                told.failed(number);
                error_object(number, &problem)
            }
        };
        match put(&text) {
            Err(error) if error.kind() == ErrorKind::BrokenPipe => return Ok(()),
            done => done.context("standard output could not be written")?,
        }
        told.one_more();
    }
    told.end()
}

/// Prints one line, at once.
fn put(text: &str) -> io::Result<()> {
    let mut out = io::stdout().lock();
    writeln!(out, "{text}")?;
    out.flush()
}

/// What stands in the place of the report of a line that is no job.
fn error_object(line: usize, problem: &Problem) -> String {
    let Problem { at, given, allowed, remedy } = problem;
    json!({ "line": line, "error": { "at": at, "given": given, "allowed": allowed, "remedy": remedy } }).to_string()
}

/// How far it is, and what failed.
struct Progress {
    lines: usize,
    failed: usize,
    first_failed: usize,
    /// When it was last shown, where there is somebody to show it to: reports that run over the screen show it themselves.
    shown: Option<Instant>,
}

impl Progress {
    fn begin() -> Self {
        let watched = io::stderr().is_terminal() && !io::stdout().is_terminal();
        Self { lines: 0, failed: 0, first_failed: 0, shown: watched.then(Instant::now) }
    }

    fn failed(&mut self, number: usize) {
        if self.failed == 0 {
            self.first_failed = number;
        }
        self.failed += 1;
    }

    fn one_more(&mut self) {
        self.lines += 1;
        if self.shown.is_some_and(|shown| shown.elapsed() >= TELL_EVERY) {
            self.show("");
            self.shown = Some(Instant::now());
        }
    }

    fn show(&self, end: &str) {
        eprint!("\r{} lines, {} of them no job{end}", self.lines, self.failed);
    }

    /// Says how many lines failed, if any did.
    fn end(self) -> anyhow::Result<()> {
        if self.shown.is_some() {
            self.show("\n");
        }
        if self.failed == 0 {
            return Ok(());
        }
        let given =
            format!("{} of {} lines that are no job, the first line {}", self.failed, self.lines, self.first_failed);
        let remedy = "The error objects in the output say what to mend; the other lines were rehearsed.";
        Err(Problem::new("standard input", given, "one job a line", remedy).into())
    }
}
