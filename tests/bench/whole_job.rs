//! Times the whole job, native and in the page, in turns in one go, and prints medians, ratios and the page's weight.
//! Asserts nothing but that weight: `cargo bench --bench whole_job`, with the name of a part for that part alone.

#[path = "../browser/driver.rs"]
mod driver;
#[path = "../browser/session.rs"]
#[allow(dead_code)]
mod session;

mod live;
mod optimiser;
mod plain;
mod scale;
mod whole;

use driver::Page;
use fanlap::appraisal::appraise;
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use fanlap::rehearsal::rehearse;
use session::Server;
use std::time::Instant;

/// Runs of each side.
const RUNS: usize = 15;

/// The parts by name.
const PARTS: [(&str, fn()); 11] = [
    ("plain", plain::compare),
    ("whole", whole::compare),
    ("rim", whole::rim),
    ("limits", whole::limits),
    ("scale", scale::grow),
    ("page", page),
    ("slider", live::slider),
    ("animation", live::animation),
    ("first", live::first_picture),
    ("optimiser", optimiser::compare),
    ("weight", weight),
];

fn main() {
    println!("ms: median (least to most, 19 of 20 below)");
    let wanted: Vec<String> = std::env::args().skip(1).filter(|word| !word.starts_with('-')).collect();
    for (_, run) in PARTS.iter().filter(|(name, _)| wanted.is_empty() || wanted.iter().any(|word| word == name)) {
        run();
    }
}

fn page() {
    let page = Page::open("/?nosw");
    for example in EXAMPLES {
        for cell in [4.0, 12.0] {
            let mut job = example.job();
            job.panel.cell.0 = cell;
            compare(&page, &format!("{}, {cell} mm cells", example.name), &job);
        }
    }
}

/// The film alone, and the whole report with findings, causes and cures: in the page and natively.
fn compare(page: &Page, name: &str, job: &Job) {
    let text = serde_json::to_string(&job.text()).expect("text");
    let in_page = |what: &str| {
        let script = format!(
            "import('/pkg/fanlap.js').then((m) => {{ const t = performance.now(); m.{what}({text});
               done(performance.now() - t); }})"
        );
        page.execute_async(&script).as_f64().expect("milliseconds")
    };
    let film = || drop(std::hint::black_box(rehearse(job).film(0)));
    let whole = || drop(std::hint::black_box(fanlap::report::in_full(&appraise(job))));
    for (what, function, run) in [("film", "film", &film as &dyn Fn()), ("with findings", "rehearse", &whole)] {
        let (mut native, mut wasm) = (Vec::new(), Vec::new());
        for _ in 0..RUNS {
            let start = Instant::now();
            run();
            native.push(start.elapsed().as_secs_f64() * 1000.0);
            wasm.push(in_page(function));
        }
        let ratio: Vec<f64> = wasm.iter().zip(&native).map(|(w, n)| w / n).collect();
        println!("{name}, {what}: native {}, page {}, ratio {}", row(native), row(wasm), row(ratio));
    }
}

fn row(mut values: Vec<f64>) -> String {
    values.sort_by(f64::total_cmp);
    let at = |share: f64| values[(share * (values.len() - 1) as f64).round() as usize];
    format!("{:.2} ({:.2} to {:.2}, {:.2})", at(0.5), at(0.0), at(1.0), at(0.95))
}

/// Most that may be sent before the first picture, bytes, all transfers together.
const MOST_SENT: u64 = 400_000;

/// What a published page transfers when it is opened first, packed with Brotli, file by file: before the first picture and
/// after it. Which files those are is seen in a browser; how heavy they are, in the publication.
fn weight() {
    let folder = tempfile::tempdir().expect("a folder");
    let published = folder.path().to_path_buf();
    let server = Server::of_publication(folder.path());
    let base = format!("http://127.0.0.1:{}", server.port());
    let page = Page::elsewhere(Some(server), &base);
    page.goto("/?nosw");
    page.wait_until("document.documentElement.dataset.rest === 'yes'");
    let files = page.execute(
        "const first = performance.getEntriesByName('first picture')[0].startTime;
         return [...performance.getEntriesByType('navigation'), ...performance.getEntriesByType('resource')].map((file) =>
           [new URL(file.name).pathname, file.startTime < first]);",
    );
    let files = files.as_array().expect("files");
    let sent = |file: &serde_json::Value| {
        let name = file[0].as_str().unwrap_or_default().trim_start_matches('/');
        let path = published.join(if name.is_empty() { "index.html" } else { name });
        let packed = std::path::PathBuf::from(format!("{}.br", path.display()));
        std::fs::metadata(packed).or(std::fs::metadata(path)).map_or(0, |file| file.len())
    };
    for (when, before) in [("before the first picture", true), ("after it", false)] {
        let files = files.iter().filter(|file| file[1] == before);
        let all: u64 = files.clone().map(sent).sum();
        println!("{when}: {all} bytes as sent");
        files.for_each(|file| println!("  {}: {}", file[0], sent(file)));
        assert!(!before || (100_000..=MOST_SENT).contains(&all), "more than {MOST_SENT} bytes {when}");
    }
}
