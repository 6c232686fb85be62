//! The whole job on the command line beside the straightforward program's film alone, what a rolled rim costs, and the
//! slowest jobs that the limits allow. Asserts nothing.

use super::live::bonnet;
use super::plain::{Program, build, flat, numbers, scattered};
use super::row;
use fanlap::causes::report;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::{rehearse, rehearse_film};
use fanlap::report::report as plain_report;
use serde_json::{Value, json};
use std::hint::black_box;
use std::process::Command;
use std::time::Instant;

/// Runs of each side.
const RUNS: usize = 5;

/// Milliseconds that something takes.
fn ms(run: impl FnOnce()) -> f64 {
    let start = Instant::now();
    run();
    start.elapsed().as_secs_f64() * 1000.0
}

/// Film, account, wet film, sight, findings and causes of a job.
fn whole(job: &Job) {
    drop(black_box(report(&rehearse(job))));
}

/// The bonnet in three unlike coats, 2 mm cells, as crowned as it is.
fn crowned() -> Job {
    let mut job = bonnet();
    job.panel.cell.0 = 2.0;
    job
}

/// The whole job beside the straightforward program's film.
pub fn compare() {
    let folder = tempfile::tempdir().expect("a folder");
    let program = build(folder.path());
    let jobs = [("flat", "square", flat()), ("crowned", "general", crowned()), ("scattered", "general", scattered())];
    for (name, kind, job) in jobs {
        let file = folder.path().join(format!("{name}.txt"));
        std::fs::write(&file, numbers(&job, &rehearse_film(&job))).expect("written");
        let mut plain = Program::start(&mut Command::new(&program), kind, &file);
        let mut times: [Vec<f64>; 4] = Default::default();
        for _ in 0..RUNS {
            times[0].push(plain.run());
            times[1].push(ms(|| whole(&job)));
            times[2].push(ms(|| drop(black_box(rehearse(&job)))));
            times[3].push(ms(|| drop(black_box(plain_report(&rehearse(&job))))));
        }
        plain.end();
        let ratio: Vec<f64> = times[0].iter().zip(&times[1]).map(|(plain, ours)| plain / ours).collect();
        let [plain, ours, account, figures] = times.map(row);
        println!("{name} bonnet, three coats, cells of 2 mm, ms of {RUNS} runs in turns:");
        println!("  the straightforward program's film {plain}; the whole job {ours}, {} times as fast", row(ratio));
        println!("  of that film and account {account}; with wet film and sight {figures}");
    }
}

/// What a rolled rim costs: the bonnet as it comes, film and account, then the whole job.
pub fn rim() {
    let job = |radius: f64| {
        let mut job = bonnet();
        job.panel.rim_radius.0 = radius;
        job
    };
    let jobs = [job(0.0), job(15.0)];
    for (what, run) in [
        ("film and account", &(|job: &Job| drop(black_box(rehearse(job)))) as &dyn Fn(&Job)),
        ("the whole job", &whole),
    ] {
        let mut times: [Vec<f64>; 2] = Default::default();
        for _ in 0..RUNS {
            jobs.iter().zip(&mut times).for_each(|(job, times)| times.push(ms(|| run(job))));
        }
        let ratio: Vec<f64> = times[1].iter().zip(&times[0]).map(|(rim, none)| rim / none).collect();
        let [none, rim] = times.map(row);
        println!("{what} of the bonnet: no rim {none}, a rim of 15 mm {rim}, {} times as long", row(ratio));
    }
}

/// Jobs near the limits, each slow for a reason of its own.
fn slow() -> Vec<(&'static str, Job)> {
    let scatter = json!({ "distance_sd_mm": 15, "speed_sd": 0.1, "line_sd_mm": 15, "angle_sd_deg": 5 });
    let coats = |count: usize| -> Value { (0..count).map(|i| json!({ "shift": i as f64 / count as f64 })).collect() };
    let large = json!({ "length_mm": 2400, "width_mm": 1800, "cell_mm": 1.72, "slope_deg": 60 });
    let with = |panel: &Value, more: Value| {
        let mut panel = panel.clone();
        let (all, more) = (panel.as_object_mut().expect("an object"), more.as_object().expect("an object"));
        all.extend(more.clone());
        panel
    };
    let crown = json!({ "crown_along_mm": 60, "crown_across_mm": 45 });
    let rim = json!({ "rim_radius_mm": 15, "length_mm": 2000, "width_mm": 1500, "cell_mm": 1.5 });
    let steep =
        json!({ "crown_along_mm": 400, "crown_across_mm": 10, "length_mm": 2000, "width_mm": 1500, "cell_mm": 1.5 });
    let jobs = [
        ("most cells, three coats", json!({ "panel": large, "coats": coats(3) })),
        (
            "most cells, crowned, a hand that strays",
            json!({
            "panel": with(&large, crown.clone()), "coats": coats(3), "hand": scatter }),
        ),
        (
            "most cells, a rolled rim, a hand that strays",
            json!({
            "panel": with(&large, rim.clone()), "coats": coats(3), "hand": scatter }),
        ),
        (
            "a steep crown, a hand that strays",
            json!({ "panel": with(&large, steep), "coats": coats(3), "hand": scatter }),
        ),
        (
            "twenty coats on a rolled rim, a hand that strays",
            json!({
            "panel": { "length_mm": 1400, "width_mm": 1100, "cell_mm": 3, "rim_radius_mm": 15, "crown_across_mm": 40,
                       "slope_deg": 60 },
            "coats": coats(20), "hand": scatter }),
        ),
    ];
    jobs.into_iter()
        .map(|(name, job)| {
            let mut text = job;
            text["fanlap_job"] = json!(1);
            let read = Job::read(&text.to_string(), &Files::none());
            (name, read.unwrap_or_else(|problem| panic!("{name}: {problem:?}")))
        })
        .collect()
}

/// The slowest jobs that the limits allow, once each.
pub fn limits() {
    for (name, job) in slow() {
        let mut rehearsal = None;
        let film = ms(|| rehearsal = Some(rehearse(&job)));
        let rehearsal = rehearsal.expect("rehearsed");
        let rest = ms(|| drop(black_box(report(&rehearsal))));
        let (cells, passes) = (rehearsal.patch().height.len(), rehearsal.passes().len());
        println!("{name}: {cells} cells, {passes} passes: film and account {film:.0} ms, the rest {rest:.0} ms");
    }
}
