//! What a hand on a slider waits for: work in the page from the movement of a control to the new picture, on the
//! preview's grid and on the full one, and the frames of an animation. Asserts nothing.

use super::driver::Page;
use super::row;
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use serde_json::Value;

/// Browsers started for the first picture.
const FIRST_RUNS: usize = 5;

/// The bonnet in three coats, 4 mm cells, no coat like another: the lines of each lie elsewhere.
pub fn bonnet() -> Job {
    let mut job = EXAMPLES[0].job();
    job.coats.push(job.coats[1].clone());
    (job.coats[1].shift.0, job.coats[2].shift.0) = (0.5, 0.25);
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
           const begin = performance.now(); call(now);
           window.work.push([begin, performance.now() - begin, document.getElementById('stage').dataset.grid]); });",
    );
}

/// What is told of every movement.
const WHAT: [&str; 6] = [
    "work until the preview is drawn",
    "then until the film on the full grid is drawn",
    "then until its figures and what is seen of it are drawn",
    "on the clock, that film is there after",
    "on the clock, all of it is there after",
    "the longest frame",
];

/// Milliseconds of all that, of forty movements.
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
    const work = (some) => some.reduce((sum, [, ms]) => sum + ms, 0);
    const end = (frame) => frame[0] + frame[1] - begin;
    const picture = frames.findIndex(([, , grid]) => grid !== 'preview');
    rows.push([handler + frames[0][1], work(frames.slice(1, picture + 1)), work(frames.slice(picture + 1)),
      end(frames[picture]), end(frames[frames.length - 1]), Math.max(...frames.map(([, ms]) => ms))]);
  }
  return rows;";

/// Prints the figures of a slider.
pub fn slider() {
    let mut alike = bonnet();
    (alike.coats[1].shift.0, alike.coats[2].shift.0) = (0.0, 0.0);
    move_slider("no coat like another", &bonnet());
    move_slider("all coats alike", &alike);
}

fn move_slider(name: &str, job: &Job) {
    let page = Page::start();
    prepare(&page, job);
    let rows = page.execute_async(&format!("(async () => {{ {MOVE} }})().then(done);"));
    let column = |i: usize| -> Vec<f64> {
        let rows = rows.as_array().expect("rows");
        rows.iter().filter_map(|row| row.get(i).and_then(Value::as_f64)).collect()
    };
    println!("a slider's step, bonnet in three coats, {name}, 4 mm cells:");
    for (i, what) in WHAT.iter().enumerate() {
        println!("  {what} {}", row(column(i)));
    }
}

/// Milliseconds from one frame to the next, and of the page's own work in each, while five seconds are played.
const PLAY: &str = "
  document.getElementById('play').click();
  const rest = (ms) => new Promise((go) => setTimeout(go, ms));
  await rest(500);
  window.work.length = 0;
  await rest(5000);
  document.getElementById('play').click();
  return window.work;";

/// Prints the frames of an animation, with the film at its fastest.
pub fn animation() {
    let page = Page::start();
    prepare(&page, &bonnet());
    page.execute(
        "const speed = document.getElementById('speed'); speed.value = '16';
         speed.dispatchEvent(new Event('change', { bubbles: true }));",
    );
    let work = page.execute_async(&format!("(async () => {{ {PLAY} }})().then(done);"));
    let work: Vec<f64> = work.as_array().expect("frames").iter().filter_map(|frame| frame[1].as_f64()).collect();
    let over = work.iter().filter(|ms| **ms > 1000.0 / 60.0).count();
    println!("playing the same at 16x for five seconds: {} frames, work in a frame {}", work.len(), row(work.clone()));
    println!("  {over} of them over a sixtieth of a second");
}

/// Prints when the first picture is there, of a page that was never loaded before.
pub fn first_picture() {
    let mut times = Vec::new();
    for _ in 0..FIRST_RUNS {
        let page = Page::start();
        let note =
            "new MutationObserver(() => { if (document.documentElement?.dataset.ready === 'yes' && !window.first)
             requestAnimationFrame(() => requestAnimationFrame(() => { window.first ??= performance.now(); })); })
             .observe(document, { attributes: true, subtree: true, childList: true });";
        page.devtools("Page.addScriptToEvaluateOnNewDocument", serde_json::json!({ "source": note }));
        page.goto("/");
        page.wait_until("window.first");
        times.push(page.execute("return window.first;").as_f64().expect("milliseconds"));
    }
    println!("first picture in a new browser, from loopback {}", row(times));
}
