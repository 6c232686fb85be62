//! fanlap beside the straightforward program, compiled for this very processor, and its NumPy version: the same poses, the
//! same cells, in turns.

use super::live::bonnet;
use super::row;
use fanlap::job::Job;
use fanlap::rehearsal::{Rehearsal, rehearse_film};
use std::io::{BufRead, BufReader, Write};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use std::time::Instant;

/// Runs of each side.
const RUNS: usize = 5;

/// The bonnet in three coats, 2 mm cells, pressed flat.
pub fn flat() -> Job {
    let mut job = bonnet();
    job.panel.cell.0 = 2.0;
    (job.panel.crown_along.0, job.panel.crown_across.0) = (0.0, 0.0);
    job
}

/// The same on the crowned bonnet by a hand that strays as an apprentice's.
pub fn scattered() -> Job {
    let mut job = bonnet();
    job.panel.cell.0 = 2.0;
    (job.hand.distance_sd.0, job.hand.speed_sd.0, job.hand.line_sd.0, job.hand.angle_sd.0) = (15.0, 0.1, 15.0, 5.0);
    job
}

/// One of the programs that fanlap is compared with, at work on a job.
pub struct Program {
    child: Child,
    film: PathBuf,
}

impl Program {
    /// Starts one.
    pub fn start(command: &mut Command, kind: &str, job: &Path) -> Self {
        let film = job.with_extension(command.get_program().to_string_lossy().replace('/', "_"));
        let piped = command.args([kind.as_ref(), job.as_os_str(), film.as_os_str()]);
        let child = piped.stdin(Stdio::piped()).stdout(Stdio::piped()).spawn().expect("the program starts");
        Self { child, film }
    }

    /// Lays the job once: milliseconds.
    pub fn run(&mut self) -> f64 {
        writeln!(self.child.stdin.as_mut().expect("piped"), "go").expect("the program listens");
        let mut answer = String::new();
        // one line an answer: nothing is left in the buffer
        BufReader::new(self.child.stdout.as_mut().expect("piped")).read_line(&mut answer).expect("an answer");
        answer.trim().parse().expect("milliseconds")
    }

    /// The last film.
    pub fn end(mut self) -> Vec<f64> {
        drop(self.child.stdin.take());
        assert!(self.child.wait().expect("it ends").success());
        let bytes = std::fs::read(self.film).expect("a film");
        bytes.chunks_exact(8).map(|bytes| f64::from_le_bytes(bytes.try_into().expect("8 bytes"))).collect()
    }
}

/// A job in bare numbers: gun, panel, solids, and the poses of every pass.
pub fn numbers(job: &Job, rehearsal: &Rehearsal) -> String {
    let (gun, panel) = (&job.gun, &job.panel);
    let mut numbers = vec![
        gun.tan_half_width(),
        gun.tan_half_depth(),
        gun.pass_exponent,
        gun.depth_exponent,
        gun.heavy_end.0,
        gun.split.0,
        gun.fluid.cubic_mm_per_s(),
        gun.transfer_efficiency.0,
        gun.at_distance.0,
        gun.transfer_falls_over.map_or(0.0, |over| over.0),
        panel.length.0,
        panel.width.0,
        panel.crown_along.0,
        panel.crown_across.0,
        panel.cell.0,
        job.paints[0].solids_by_volume.0,
        rehearsal.passes().len() as f64,
    ];
    for pass in rehearsal.passes() {
        numbers.push(pass.stroke.moments.len() as f64);
        for moment in &pass.stroke.moments {
            numbers.push(moment.time.0);
            numbers.extend([moment.pose.nozzle, moment.pose.aim, moment.pose.fan].iter().flat_map(|v| v.to_array()));
        }
    }
    numbers.iter().map(|number| format!("{number:?}\n")).collect()
}

/// The straightforward program, compiled for this very processor.
pub fn build(folder: &Path) -> PathBuf {
    let plain = folder.join("plain");
    let source = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/bench/plain/plain.rs");
    let built = Command::new("rustc")
        .args(["--edition=2024", "-O", "-C", "target-cpu=native", "-o"])
        .args([&plain, &source])
        .status();
    assert!(built.expect("rustc starts").success());
    plain
}

/// Compares the three on both jobs.
pub fn compare() {
    let folder = tempfile::tempdir().expect("a folder");
    let here = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../.."));
    let plain = build(folder.path());
    let python = here.join("target/reference/bin/python");
    for (name, kind, job) in
        [("flat bonnet", "square", flat()), ("crowned bonnet, scattered hand", "general", scattered())]
    {
        let rehearsal = rehearse_film(&job);
        let file = folder.path().join(format!("{kind}.txt"));
        std::fs::write(&file, numbers(&job, &rehearsal)).expect("written");
        let mut plain = Program::start(&mut Command::new(&plain), kind, &file);
        let script = here.join("tests/bench/plain/plain.py");
        let mut numpy = python.exists().then(|| Program::start(Command::new(&python).arg(&script), kind, &file));
        let mut times: [Vec<f64>; 4] = Default::default();
        for _ in 0..RUNS {
            let mut time = |i: usize, run: &mut dyn FnMut()| {
                let start = Instant::now();
                run();
                times[i].push(start.elapsed().as_secs_f64() * 1000.0);
            };
            time(0, &mut || drop(std::hint::black_box(rehearse_film(&job).film(0))));
            time(1, &mut || drop(std::hint::black_box(fanlap::rehearsal::rehearse(&job).film(0))));
            times[2].push(plain.run());
            if let Some(numpy) = &mut numpy {
                times[3].push(numpy.run());
            }
        }
        println!("{name}, three coats, {} cells of 2 mm, ms of {RUNS} runs in turns:", rehearsal.patch().height.len());
        let [ours, account, ..] = &times;
        println!("  fanlap, film from the job {}", row(ours.clone()));
        println!("  the same with its paint account {}", row(account.clone()));
        let film = rehearsal.film(0);
        for (what, program, times) in
            [("the straightforward program", Some(plain), &times[2]), ("its NumPy version", numpy, &times[3])]
        {
            let Some(program) = program else {
                println!("  {what}: not run, `bash tests/run` makes {}", python.display());
                continue;
            };
            let times_as_long: Vec<f64> = times.iter().zip(ours).map(|(theirs, ours)| theirs / ours).collect();
            println!("  {what} {}, {} times as long", row(times.clone()), row(times_as_long));
            let (other, most) = (program.end(), film.iter().copied().fold(0.0, f64::max));
            let apart = film.iter().zip(&other).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
            println!("    largest difference of film {:.4} % of the most", 100.0 * apart / most);
        }
    }
}
