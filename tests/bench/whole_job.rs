//! Times the whole job, native and in the page, in turns in one go, and prints medians, ratios and the page's weight.
//! Asserts nothing: `cargo bench --bench whole_job`.

#[path = "../browser/driver.rs"]
mod driver;
#[path = "../browser/session.rs"]
#[allow(dead_code)]
mod session;

use driver::Page;
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use fanlap::rehearsal::rehearse;
use fanlap::report::report;
use std::time::Instant;

/// Runs of each side.
const RUNS: usize = 15;

fn main() {
    let page = Page::open("/?nosw");
    println!("whole job: rehearsal and report, ms; median (least to most) of {RUNS} runs, native and page in turns");
    for example in EXAMPLES {
        for cell in [4.0, 12.0] {
            let mut job = example.job();
            job.panel.cell.0 = cell;
            compare(&page, example.name, &job);
        }
    }
    weight();
}

fn compare(page: &Page, name: &str, job: &Job) {
    let text = serde_json::to_string(&job.text()).expect("text");
    let script = format!(
        "import('/pkg/fanlap.js').then((m) => {{ const t = performance.now(); m.rehearse({text});
           done(performance.now() - t); }})"
    );
    let (mut native, mut wasm) = (Vec::new(), Vec::new());
    for _ in 0..RUNS {
        let start = Instant::now();
        std::hint::black_box(report(&rehearse(job)));
        native.push(start.elapsed().as_secs_f64() * 1000.0);
        wasm.push(page.execute_async(&script).as_f64().expect("milliseconds"));
    }
    let ratio: Vec<f64> = wasm.iter().zip(&native).map(|(w, n)| w / n).collect();
    let cell = job.panel.cell.0;
    println!("{name}, {cell} mm cells: native {}, page {}, ratio {}", row(native), row(wasm), row(ratio));
}

fn row(mut values: Vec<f64>) -> String {
    values.sort_by(f64::total_cmp);
    format!("{:.2} ({:.2} to {:.2})", values[values.len() / 2], values[0], values[values.len() - 1])
}

fn weight() {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("www/pkg");
    for name in ["fanlap_bg.wasm", "fanlap.js"] {
        let size = |name: &str| std::fs::metadata(folder.join(name)).map_or(0, |file| file.len());
        println!("{name}: {} bytes, {} as sent", size(name), size(&format!("{name}.gz")));
    }
}
