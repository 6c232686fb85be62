//! The plain search for plans beside an optimiser of a library: COBYLA (Powell 1994; crate `cobyla`) on overlap, margin and
//! shift for every number of coats, direction and edge, its aim the share in the window of six hands, with the same seeds.
//! Both plans are then sprayed by the same forty other hands.

use cobyla::{Func, RhoBeg, minimize};
use fanlap::advice::{Search, Setting, Wishes, shares};
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use fanlap::strokes::{Along, Reach, Sequence};
use std::cell::Cell;
use std::time::Instant;

/// Cells of the trials, mm, and hands that try a plan, as the search has them.
const CELL: f64 = 16.0;
const HANDS: u32 = 6;
/// Hands that compare the plans.
const JUDGES: std::ops::Range<u32> = 9001..9041;
/// Coats that are tried.
const PROGRAMMES: [&[f64]; 5] = [&[1.0], &[0.5, 1.0], &[1.0, 1.0], &[0.5, 1.0, 1.0], &[1.0, 1.0, 1.0]];

/// Both, on both examples and on the crowned one.
pub fn compare() {
    println!(
        "\nplans: the plain search against COBYLA; share in the window with {} hands that neither has seen",
        JUDGES.len()
    );
    for job in EXAMPLES.iter().map(|example| example.job()).chain([crowned()]) {
        let wishes = Wishes::of(&job);
        let began = Instant::now();
        let mut search = Search::new(&job, &wishes).expect("an example can be advised on");
        while search.step() {}
        let (took, advice) = (began.elapsed().as_secs_f64(), search.advice());
        let window = (advice.window.film_low_um, advice.window.film_high_um);
        let judged = |setting: &Setting| mean(&shares(&coarse(setting.of(&job)), &wishes.hand, window, JUDGES));
        println!("{}", job.title);
        println!(
            "  plain search, proofs included: {took:.1} s, {:.3}: {}",
            judged(&advice.plans[0].setting),
            advice.plans[0].text
        );
        for evaluations in [8, 30] {
            let began = Instant::now();
            let (setting, rehearsals) = best(&job, &wishes, (window, advice.target_um), evaluations);
            let took = began.elapsed().as_secs_f64();
            let text = setting.text(&job, fanlap::job::inputs::System::Metric);
            println!(
                "  COBYLA, {evaluations} trials each: {took:.1} s, {rehearsals} rehearsals, {:.3}: {text}",
                judged(&setting)
            );
        }
    }
}

fn crowned() -> Job {
    let mut job = EXAMPLES[0].job();
    job.title = "The bonnet with a crown of 40 and 30 mm".to_string();
    (job.panel.crown_along.0, job.panel.crown_across.0) = (40.0, 30.0);
    job
}

fn coarse(mut job: Job) -> Job {
    job.panel.cell.0 = job.panel.cell.0.max(CELL);
    job
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len().max(1) as f64
}

/// The best that COBYLA finds, and how many rehearsals that took.
fn best(job: &Job, wishes: &Wishes, (window, target): ((f64, f64), f64), evaluations: usize) -> (Setting, u32) {
    let fan = job.gun.width_at(job.coats[0].distance).0;
    let rehearsals = Cell::new(0);
    let mut best: Option<(f64, Setting)> = None;
    for amounts in PROGRAMMES {
        for (along, edge_pass) in
            [Along::Length, Along::Width].into_iter().flat_map(|along| [(along, false), (along, true)])
        {
            let across = if along == Along::Length { job.panel.width.0 } else { job.panel.length.0 };
            if across > 2.0 * wishes.reach.0 {
                continue;
            }
            let reach = if across <= wishes.reach.0 { Reach::OneSide } else { Reach::BothSides };
            // the unknowns are shares of their range
            let setting = |x: &[f64]| {
                let (least, most) = wishes.overlap;
                let setting = Setting {
                    amounts: amounts.to_vec(),
                    overlap: least + (most - least) * x[0],
                    speed_mm_per_s: 1.0,
                    along,
                    reach,
                    sequence: Sequence::EdgesInwards,
                    shift: 0.5 * x[2],
                    margin_mm: 0.5 * fan * x[1],
                    edge_pass,
                };
                let at_one: f64 = setting.coats(job).iter().map(|coat| job.planned_film(coat).0).sum();
                Setting { speed_mm_per_s: at_one / target, ..setting }
            };
            let (slow, fast) = wishes.speed;
            let too_slow = |x: &[f64], _: &mut ()| setting(x).speed_mm_per_s / slow - 1.0;
            // a thin coat may go half as fast again as a full one
            let thinnest = amounts.iter().copied().fold(1.0, f64::min);
            let fast = fast.min(1.5 * fast * thinnest);
            let too_fast = |x: &[f64], _: &mut ()| 1.0 - setting(x).speed_mm_per_s / fast;
            let aim = |x: &[f64], _: &mut ()| {
                let x: Vec<f64> = x.iter().map(|x| x.clamp(0.0, 1.0)).collect();
                rehearsals.set(rehearsals.get() + HANDS);
                -mean(&shares(&coarse(setting(&x).of(job)), &wishes.hand, window, 1..HANDS + 1))
            };
            let limits: [&dyn Func<()>; 2] = [&too_slow, &too_fast];
            let bounds = [(0.0, 1.0); 3];
            let found = minimize(aim, &[0.5, 0.5, 0.5], &bounds, &limits, (), evaluations, RhoBeg::All(0.3), None);
            let (x, value) = match found {
                Ok((_, x, value)) | Err((_, x, value)) => (x, value),
            };
            let setting = setting(&x);
            let can = (slow..=fast).contains(&setting.speed_mm_per_s);
            if can && best.as_ref().is_none_or(|(least, _)| value < *least) {
                best = Some((value, setting));
            }
        }
    }
    (best.expect("some plan can be sprayed").1, rehearsals.get())
}
