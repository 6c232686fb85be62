//! `rehearse -`: a job a line in, a report a line out. Order, bad lines, blank lines, files named in a line, what is
//! flushed when, closed pipes, Ctrl-C, cores and memory. The reports are compared with those of single jobs.

use super::*;
use std::io::{BufRead, BufReader};
use std::process::{ChildStdin, ChildStdout, ExitStatus};
use std::sync::mpsc::channel;

/// A job that is rehearsed in a fraction of a millisecond; its title tells it from others.
fn tiny(title: usize) -> Value {
    job(json!({ "title": title.to_string(), "panel": { "length_mm": 100, "width_mm": 100, "cell_mm": 20 } }))
}

/// A job that takes much longer than the tiny ones: faults whose causes and cures are looked for.
fn slow() -> Value {
    job(json!({
        "panel": { "length_mm": 600, "width_mm": 400, "cell_mm": 10 },
        "coats": [{ "overlap": 0.3, "speed_mm_per_s": 300 }],
    }))
}

/// Jobs, each on a line of its own.
fn lines(jobs: &[Value]) -> Vec<u8> {
    jobs.iter().flat_map(|job| format!("{job}\n").into_bytes()).collect()
}

/// Runs `rehearse -` over lines in an empty folder.
fn batch(input: impl Into<Vec<u8>>) -> Run {
    run_with(tempfile::tempdir().unwrap().path(), &["rehearse", "-"], input.into())
}

/// What `rehearse` prints of a job, on one line.
fn alone(job: &Value) -> String {
    let run = run(folder_with(&job.to_string()).path(), &["rehearse", "job.json"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    serde_json::from_str::<Value>(&run.out).unwrap().to_string()
}

/// The lines of an output, each as JSON.
fn values(out: &str) -> Vec<Value> {
    out.lines().map(|line| serde_json::from_str(line).unwrap_or_else(|error| panic!("{error}: {line}"))).collect()
}

// What a line becomes

#[test]
fn a_line_becomes_the_report_of_its_job_on_one_line_in_the_same_order() {
    let jobs = [slow(), small(), tiny(1), COMPLETE.replace("\"cell_mm\": 4", "\"cell_mm\": 20").parse().unwrap()];
    let run = batch(lines(&jobs));
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    let reports: Vec<&str> = run.out.lines().collect();
    assert_eq!(reports.len(), jobs.len());
    for (report, job) in reports.iter().zip(&jobs) {
        assert_eq!(*report, alone(job));
    }
    assert!(run.out.ends_with("}\n"));
}

#[test]
fn a_bad_line_becomes_an_error_with_its_number_and_the_rest_goes_on() {
    let mut input = lines(&[tiny(1)]);
    input.extend(b"{ \"fanlap_job\": 1,, }\n");
    input.extend(lines(&[job(json!({ "coats": [{}, { "overlap": 1.4 }] })), job(json!({ "gun": { "fan": 3 } }))]));
    input.extend(b"[1, 2]\n{ \"fanlap_job\": 1, \"title\": \"\xff\" }\n");
    input.extend(lines(&[tiny(2)]));
    let run = batch(input);
    let out = values(&run.out);
    assert_eq!(out.len(), 7);
    for good in [0, 6] {
        assert_eq!(out[good]["fanlap_report"], 1);
    }
    let range = json!({ "line": 3, "error": {
        "at": "coats[1].overlap", "given": "1.4", "allowed": "0 to 0.9 as a share of 1",
        "remedy": "Change Overlap to a value within this range." } });
    assert_eq!(out[2], range);
    for (place, at, given) in [
        (1, "column 19", "text that is no JSON"),
        (3, "gun.fan", "an unknown key"),
        (4, "job file", "[1,2]"),
        (5, "the line", "a letter that is not in UTF-8"),
    ] {
        let error = &out[place]["error"];
        assert_eq!((&out[place]["line"], &error["at"]), (&json!(place + 1), &json!(at)), "{error}");
        assert!(error["given"].as_str().unwrap().contains(given), "{error}");
        assert!(["allowed", "remedy"].iter().all(|key| !error[key].as_str().unwrap().is_empty()), "{error}");
    }
    assert_eq!(run.status, 2);
    assert_eq!(run.err.lines().count(), 1, "{}", run.err);
    for part in ["standard input", "5 of 7 lines", "line 2", "one job a line", "the other lines were rehearsed"] {
        assert!(run.err.contains(part), "{part}: {}", run.err);
    }
}

#[test]
fn a_line_that_is_too_long_is_an_error_and_not_kept() {
    let most = 2_000_000;
    let fill = |length: usize| {
        let plain = tiny(0).to_string();
        format!("{}{plain}\n", " ".repeat(length - plain.len())).into_bytes()
    };
    let run = batch([fill(most), fill(most + 1), vec![b'x'; 40_000_000], b"\n".to_vec(), lines(&[tiny(1)])].concat());
    let out = values(&run.out);
    assert_eq!((run.status, out.len()), (2, 4));
    assert_eq!((&out[0]["fanlap_report"], &out[3]["fanlap_report"]), (&json!(1), &json!(1)));
    for (place, bytes) in [(1, "2000001 bytes"), (2, "40000000 bytes")] {
        assert_eq!((&out[place]["line"], &out[place]["error"]["given"]), (&json!(place + 1), &json!(bytes)));
        assert!(out[place]["error"]["allowed"].as_str().unwrap().contains("2000000 bytes"));
    }
}

#[test]
fn blank_lines_are_passed_over_and_counted() {
    let job = tiny(1).to_string();
    let run = batch(format!("\n{job}\n  \t\r\n\nnonsense\n{job}\r\n\n"));
    let out = values(&run.out);
    assert_eq!((run.status, out.len()), (2, 3), "no line for a blank one: {}", run.out);
    assert_eq!((&out[1]["line"], out[0] == out[2]), (&json!(5), true));
    assert!(run.err.contains("1 of 3 lines"), "{}", run.err);
    for nothing in ["", "\n", " \n\n"] {
        let run = batch(nothing);
        assert_eq!((run.status, run.out.as_str(), run.err.as_str()), (0, "", ""));
    }
}

#[test]
fn the_last_line_may_lack_its_end_and_the_first_begin_with_a_mark() {
    let run = batch(format!("\u{feff}{}\n{}", tiny(1), tiny(2)));
    assert_eq!((run.status, run.err.as_str(), values(&run.out).len()), (0, "", 2));
}

#[test]
fn files_named_in_a_line_lie_below_the_working_folder() {
    let folder = tempfile::tempdir().unwrap();
    let inside = folder.path().join("inside");
    fs::create_dir_all(inside.join("paints")).unwrap();
    let rows: String = (0..36).map(|i| format!("{},0.0{}\n", 380 + 10 * i, 10 + i)).collect();
    for place in ["inside/paints/kelp.csv", "outside.csv"] {
        fs::write(folder.path().join(place), format!("wavelength_nm,a\n{rows}")).unwrap();
    }
    let naming = |file: &str| job(json!({ "paints": [{ "absorption_per_um": { "file": file } }], "coats": [{}] }));
    let named = ["paints/kelp.csv", "../outside.csv", "/etc/hostname", "paints/missing.csv"].map(naming);
    let run_in = |folder: &Path| run_with(folder, &["rehearse", "-"], lines(&named));
    let run = run_in(&inside);
    let out = values(&run.out);
    assert_eq!((run.status, out.len()), (2, 4));
    assert_eq!(out[0]["fanlap_report"], 1, "{}", out[0]);
    for (place, given) in [(1, "outside the job's folder"), (2, "outside the job's folder"), (3, "No such file")] {
        let error = &out[place]["error"];
        assert_eq!(error["at"], "paints[0].absorption_per_um", "{error}");
        assert!(error["given"].as_str().unwrap().contains(given), "{error}");
    }
    let mut spectra = naming("paints/kelp.csv");
    let values: Vec<f64> = (0..36).map(|i| f64::from(10 + i) / 1000.0).collect();
    spectra["paints"][0]["absorption_per_um"] = json!(values);
    assert_eq!(run.out.lines().next().unwrap(), alone(&spectra), "what the file holds was used");
}

#[test]
fn a_folder_to_write_into_is_refused_beside_a_stream() {
    let folder = tempfile::tempdir().unwrap();
    let run = run_with(folder.path(), &["rehearse", "-", "--out", "new"], lines(&[tiny(1)]));
    assert_eq!((run.status, run.out.as_str()), (2, ""));
    for part in ["--out new", "standard output", "Leave out --out"] {
        assert!(run.err.contains(part), "{part}: {}", run.err);
    }
    assert_eq!(names(folder.path()), set(&[]));
}

#[test]
fn a_file_called_like_the_stream_can_still_be_named() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("-"), tiny(1).to_string()).unwrap();
    let run = run(folder.path(), &["rehearse", "./-"]);
    assert_eq!((run.status, run.err.as_str()), (0, ""));
    assert!(run.out.starts_with("{\n"));
}

// A running stream

/// A stream whose two ends are held open.
struct Stream {
    child: Child,
    input: Option<ChildStdin>,
    output: Option<BufReader<ChildStdout>>,
    _folder: TempDir,
}

impl Stream {
    fn open() -> Self {
        let folder = tempfile::tempdir().unwrap();
        let mut child = start(folder.path(), &["rehearse", "-"]);
        let (input, output) = (child.stdin.take(), child.stdout.take().map(BufReader::new));
        Self { child, input, output, _folder: folder }
    }

    fn put(&mut self, job: &Value) {
        writeln!(self.input.as_mut().unwrap(), "{job}").unwrap();
    }

    fn line(&mut self) -> String {
        let mut line = String::new();
        self.output.as_mut().unwrap().read_line(&mut line).unwrap();
        line
    }

    /// Waits for the end: exit status (none after a signal), and what was said on standard error.
    fn end(mut self) -> (ExitStatus, String) {
        let begun = Instant::now();
        while self.child.try_wait().unwrap().is_none() {
            assert!(begun.elapsed() < Duration::from_secs(60), "it does not end");
            std::thread::sleep(Duration::from_millis(5));
        }
        let mut said = String::new();
        self.child.stderr.take().unwrap().read_to_string(&mut said).unwrap();
        (self.child.wait().unwrap(), said)
    }
}

impl Drop for Stream {
    fn drop(&mut self) {
        drop(self.child.kill());
        drop(self.child.wait());
    }
}

#[test]
fn a_report_is_there_as_soon_as_it_is_done() {
    let mut stream = Stream::open();
    for title in 0..5 {
        stream.put(&tiny(title));
        assert!(stream.line().starts_with("{\"fanlap_report\":1,"), "the input is still open");
    }
    drop(stream.input.take());
    assert_eq!(stream.line(), "");
    assert_eq!(stream.end().0.code(), Some(0));
}

#[test]
fn a_reader_that_leaves_ends_it_quietly() {
    let mut stream = Stream::open();
    let mut input = stream.input.take().unwrap();
    // as much as it takes, for ever: only the closed pipe can end this
    let feeder = std::thread::spawn(move || while writeln!(input, "{}", tiny(1)).is_ok() {});
    assert!(!stream.line().is_empty());
    drop(stream.output.take());
    let (status, said) = stream.end();
    assert_eq!((status.code(), said.as_str()), (Some(0), ""));
    feeder.join().unwrap();
}

#[cfg(unix)]
#[test]
fn an_interrupt_ends_it() {
    use std::os::unix::process::ExitStatusExt;
    let mut stream = Stream::open();
    (0..4).for_each(|_| stream.put(&slow()));
    assert!(!stream.line().is_empty());
    let interrupted = Command::new("kill").args(["-INT", &stream.child.id().to_string()]).status().unwrap();
    assert!(interrupted.success());
    assert_eq!(stream.end().0.signal(), Some(2));
}

#[test]
fn it_reads_no_further_ahead_than_it_must() {
    let mut stream = Stream::open();
    stream.put(&slow());
    let mut input = stream.input.take().unwrap();
    let (taken, count) = channel();
    // lines of 10 kB, so that the pipe itself holds few; nothing is taken from the output
    let line = format!("{}{}\n", " ".repeat(10_000), tiny(1));
    std::thread::spawn(move || {
        while input.write_all(line.as_bytes()).is_ok() {
            taken.send(()).unwrap();
        }
    });
    let mut lines = 0;
    while count.recv_timeout(Duration::from_secs(5)).is_ok() {
        lines += 1;
    }
    let cores = std::thread::available_parallelism().unwrap().get();
    let pipes = 65_536 / 800 + 65_536 / 10_000; // reports in the one and lines in the other
    assert!((cores..10 * cores + pipes).contains(&lines), "{lines} lines taken that nobody had asked for");
}

/// A line of `/proc/PID/status`, in its unit.
#[cfg(target_os = "linux")]
fn status(process: u32, key: &str) -> u64 {
    let status = fs::read_to_string(format!("/proc/{process}/status")).unwrap();
    let line = status.lines().find(|line| line.starts_with(key)).unwrap();
    line.split_whitespace().nth(1).unwrap().parse().unwrap()
}

/// Feeds a slow job and then so many tiny ones; what was the most memory it ever had, kB, once all reports are there.
#[cfg(target_os = "linux")]
fn most_memory(jobs: usize) -> u64 {
    let mut stream = Stream::open();
    let mut input = stream.input.take().unwrap();
    let feeder = std::thread::spawn(move || {
        writeln!(input, "{}", slow()).unwrap();
        (1..jobs).for_each(|i| writeln!(input, "{}", tiny(i)).unwrap());
        input // open until the memory is read
    });
    (0..jobs).for_each(|_| assert!(stream.line().starts_with("{\"fanlap_report\":1,")));
    let most = status(stream.child.id(), "VmHWM:");
    drop(feeder.join().unwrap());
    assert_eq!(stream.end().0.code(), Some(0));
    most
}

#[cfg(target_os = "linux")]
#[test]
fn memory_does_not_grow_with_the_lines() {
    let (few, many) = (most_memory(2_000), most_memory(20_000));
    println!("most memory over 2000 lines {few} kB, over 20 000 lines {many} kB");
    // a report of 900 bytes kept for each of the lines would add 16 000 kB
    assert!(many < few + 6_000, "{few} kB over 2000 lines, {many} kB over 20 000");
}

#[cfg(target_os = "linux")]
#[test]
fn every_core_has_its_share_of_the_work() {
    let mut stream = Stream::open();
    let mut input = stream.input.take().unwrap();
    let cores = std::thread::available_parallelism().unwrap().get();
    let jobs = 16 * cores;
    let feeder = std::thread::spawn(move || {
        (0..jobs).for_each(|_| writeln!(input, "{}", slow()).unwrap());
        input
    });
    (0..jobs).for_each(|_| drop(stream.line()));
    let tasks = fs::read_dir(format!("/proc/{}/task", stream.child.id())).unwrap();
    // user time in hundredths of a second: the 14th field, the 12th behind the name in brackets
    let worked = tasks.filter(|task| {
        let stat = fs::read_to_string(task.as_ref().unwrap().path().join("stat")).unwrap();
        let behind = stat.rsplit_once(") ").unwrap().1;
        behind.split(' ').nth(11).unwrap().parse::<u64>().unwrap() >= 10
    });
    assert!(worked.count() >= cores, "{cores} cores");
    drop(feeder.join().unwrap());
    assert_eq!(stream.end().0.code(), Some(0));
}

#[cfg(target_os = "linux")]
#[test]
fn what_is_no_stream_of_text_is_bad_input() {
    let folder = tempfile::tempdir().unwrap();
    let run = Command::new(env!("CARGO_BIN_EXE_fanlap"))
        .args(["rehearse", "-"])
        .stdin(fs::File::open(folder.path()).unwrap())
        .output()
        .unwrap();
    let said = String::from_utf8(run.stderr).unwrap();
    assert_eq!((run.status.code(), run.stdout.len()), (Some(2), 0), "{said}");
    assert!(said.contains("standard input") && said.contains("directory"), "{said}");
}

#[cfg(target_os = "linux")]
#[test]
fn progress_is_shown_to_whoever_watches_a_file_being_written() {
    let folder = tempfile::tempdir().unwrap();
    let jobs = [slow(), slow(), json!({}), slow(), slow()];
    fs::write(folder.path().join("jobs.jsonl"), lines(&jobs)).unwrap();
    let program = env!("CARGO_BIN_EXE_fanlap");
    let watched = |command: String| {
        let run = Command::new("script").args(["-qec", &command, "/dev/null"]).current_dir(folder.path()).output();
        String::from_utf8(run.expect("script, of the package bsdutils").stdout).unwrap()
    };
    let screen = watched(format!("{program} rehearse - < jobs.jsonl > reports.jsonl"));
    for part in ["5 lines", "1 of them no job"] {
        assert!(screen.contains(part), "{part}: {screen}");
    }
    assert_eq!(fs::read_to_string(folder.path().join("reports.jsonl")).unwrap().lines().count(), 5);
    let screen = watched(format!("{program} rehearse - < jobs.jsonl"));
    assert!(!screen.contains("5 lines,"), "the reports themselves are seen: {screen}");
}
