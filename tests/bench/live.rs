//! What a hand on a slider waits for: work in the page from the movement of a control to the new picture, on the
//! preview's grid and on the full one, and the frames of an animation. Asserts nothing.

use super::driver::Page;
use super::row;
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use serde_json::Value;

/// The bonnet in three coats, 4 mm cells.
pub fn bonnet() -> Job {
    let mut job = EXAMPLES[0].job();
    job.coats.push(job.coats[1].clone());
    job
}

/// Opens a job, and notes how long each piece of the page's work takes: handlers of input and callbacks of frames.
fn prepare(page: &Page, job: &Job) {
    let link = format!("/?nosw&r#job={}", job.link());
    page.goto(&link);
    // at its end, as after every change
    page.execute("document.getElementById('to-end')?.click();");
    page.execute(
        "window.work = [];
         const ask = window.requestAnimationFrame.bind(window);
         window.requestAnimationFrame = (call) => ask((now) => {
           const begin = performance.now(); call(now); window.work.push([begin, performance.now() - begin]); });",
    );
}

/// Milliseconds of work until the preview is drawn and until the full grid is drawn, of so many movements.
const MOVE: &str = "
  const slider = document.getElementById('main-gun-fan_width_mm-slide');
  const rest = (ms) => new Promise((go) => setTimeout(go, ms));
  const rows = [];
  for (let i = 0; i < 40; i++) {
    window.work.length = 0;
    const begin = performance.now();
    slider.value = String(Number(slider.value) + (i % 2 ? -1 : 1) * Number(slider.step || 1));
    slider.dispatchEvent(new Event('input', { bubbles: true }));
    const handler = performance.now() - begin;
    await rest(700);
    const frames = window.work.filter(([, ms]) => ms > 0.2);
    const preview = handler + (frames[0]?.[1] ?? 0);
    const full = frames.slice(1).reduce((sum, [, ms]) => sum + ms, 0);
    const last = frames[frames.length - 1];
    rows.push([preview, full, last ? last[0] + last[1] - begin : 0, Math.max(...frames.map(([, ms]) => ms))]);
  }
  return rows;";

/// Prints the figures of a slider.
pub fn slider(page: &Page) {
    prepare(page, &bonnet());
    let rows = page.execute_async(&format!("(async () => {{ {MOVE} }})().then(done);"));
    let column = |i: usize| -> Vec<f64> {
        let rows = rows.as_array().expect("rows");
        rows.iter().filter_map(|row| row.get(i).and_then(Value::as_f64)).collect()
    };
    println!("a slider's step, bonnet in three coats, 4 mm cells, work in ms; median (least to most, 19 of 20 below)");
    println!("  until the preview is drawn {}", row(column(0)));
    println!("  the full grid after it {}", row(column(1)));
    println!("  on the clock until all is drawn {}", row(column(2)));
    println!("  the longest frame {}", row(column(3)));
}
