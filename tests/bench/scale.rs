//! How the cost of a film grows with its cells and with the length of its passes, and what a cell costs in memory.

use super::live::bonnet;
use super::row;
use fanlap::job::Job;
use fanlap::rehearsal::rehearse_film;
use std::time::Instant;

/// Runs of each size.
const RUNS: usize = 9;

/// Lays jobs of several sizes in turns.
fn turns(jobs: &[(String, Job)]) {
    let mut times = vec![Vec::new(); jobs.len()];
    let mut sizes = vec![(0, 0, 0.0); jobs.len()];
    for _ in 0..RUNS {
        for (i, (_, job)) in jobs.iter().enumerate() {
            let start = Instant::now();
            let rehearsal = rehearse_film(job);
            std::hint::black_box(rehearsal.film(0));
            times[i].push(start.elapsed().as_secs_f64() * 1000.0);
            let covered: usize = rehearsal.passes().iter().map(|pass| pass.window.len()).sum();
            let way = rehearsal.passes().iter().map(|pass| pass.line.length()).sum();
            sizes[i] = (rehearsal.patch().height.len(), covered, way);
        }
    }
    for (((name, _), times), (cells, covered, way)) in jobs.iter().zip(times).zip(sizes) {
        let mut sorted = times.clone();
        sorted.sort_by(f64::total_cmp);
        let median = sorted[RUNS / 2];
        println!("  {name}: {cells} cells, {:.0} m of passes, ms {}", way / 1000.0, row(times));
        println!(
            "    {:.1} ns a cell and coat, {:.2} ms a metre; {:.0} bytes a cell in films of passes, 32 in the panel",
            1e6 * median / cells as f64 / 3.0,
            1000.0 * median / way,
            8.0 * covered as f64 / cells as f64
        );
    }
}

/// Smaller cells, then longer panels.
pub fn grow() {
    for (name, hand) in [("steady", 0.0), ("scattered", 1.0)] {
        println!("film of the bonnet in three coats, {name} hand, in turns");
        let job = |cell: f64, length: f64| {
            let mut job = bonnet();
            (job.panel.cell.0, job.panel.length.0) = (cell, length);
            // as much bent as the bonnet
            job.panel.crown_along.0 *= (length / 1400.0) * (length / 1400.0);
            (job.hand.distance_sd.0, job.hand.speed_sd.0) = (15.0 * hand, 0.1 * hand);
            (job.hand.line_sd.0, job.hand.angle_sd.0) = (15.0 * hand, 5.0 * hand);
            job
        };
        let cells = [8.0, 4.0, 2.0, 1.0].map(|cell| (format!("cells of {cell} mm"), job(cell, 1400.0)));
        turns(&cells);
        let lengths =
            [700.0, 1400.0, 2800.0].map(|length| (format!("{length} mm long, cells of 4 mm"), job(4.0, length)));
        turns(&lengths);
    }
}
