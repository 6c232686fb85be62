//! Feedback by schedule, predictions, progress and retests: what they say of figures that are known beforehand.

use fanlap::job::{Files, Job};
use fanlap::practice::{Aid, Due, Marked, Prediction, Progress, Told};
use fanlap::rehearsal::Rehearsal;

fn told(schedule: Told, seed: u32, off: f64) -> Vec<bool> {
    (1..=20).map(|trial| schedule.tells(trial, seed, off)).collect()
}

#[test]
fn a_schedule_tells_of_the_trials_that_it_says() {
    assert!(told(Told::Every, 1, 0.0).iter().all(|told| *told));
    assert!(told(Told::End, 1, 0.0).iter().all(|told| *told));
    assert!(told(Told::None, 1, 9.0).iter().all(|told| !told));
    assert!(told(Told::Bandwidth(0.1), 1, 0.11).iter().all(|told| *told));
    assert!(told(Told::Bandwidth(0.1), 1, 0.1).iter().all(|told| !told));
    assert_eq!(told(Told::Alternate, 1, 0.0)[..4], [true, false, true, false]);
}

#[test]
fn a_faded_schedule_tells_of_all_then_of_half_then_of_none_as_its_seed_draws() {
    let mut drawn = std::collections::BTreeSet::new();
    for seed in 0..40 {
        let faded = told(Told::Faded, seed, 0.0);
        assert_eq!(faded[..4], [true; 4]);
        assert!(faded[4..12].chunks(2).all(|pair| pair[0] != pair[1]), "one of two: {faded:?}");
        assert!(faded[12..].iter().all(|told| !told));
        assert_eq!(faded, told(Told::Faded, seed, 0.0));
        drawn.insert(faded);
    }
    assert!(drawn.len() > 8, "of 16 that are possible, {} were drawn", drawn.len());
}

#[test]
fn an_aid_that_fades_is_shown_on_fewer_lines_at_every_trial() {
    let shown = |trial| (0..8).filter(|line| Aid::Fading.shows(*line, 8, trial)).count();
    assert_eq!([1, 2, 3, 4, 5, 9].map(shown), [8, 6, 4, 2, 0, 0]);
    assert!(Aid::On.shows(7, 8, 99) && !Aid::Off.shows(0, 8, 1));
}

#[test]
fn a_prediction_is_held_against_the_film() {
    let text = r#"{ "fanlap_job": 1, "panel": { "length_mm": 600, "width_mm": 400, "cell_mm": 5 },
        "coats": [ { "overlap": 0, "shift": -0.5, "margin_mm": 0 } ] }"#;
    let mut rehearsal = Rehearsal::plan(&Job::read(text, &Files::none()).unwrap());
    while rehearsal.lay_next() {}
    let film = rehearsal.film(0);
    let mean = film.iter().sum::<f64>() / film.len() as f64;
    let passes = rehearsal.passes();
    let line = passes.iter().map(|pass| pass.line.from.y).find(|y| (50.0..350.0).contains(y)).unwrap();
    let said = Prediction { thick_mm: Some([300.0, line]), thin_mm: Some([300.0, line]), mean_um: Some(1.1 * mean) };
    let foreseen = said.against(rehearsal.patch(), &film);
    // the middle of a pass is where it is thickest
    assert!(foreseen.thick.unwrap() > 0.9 && foreseen.thin.unwrap() < 0.1, "{foreseen:?}");
    assert!((foreseen.mean_off.unwrap() - 0.1).abs() < 1e-12);
    let text = foreseen.text();
    assert!(text.ends_with("Your mean is 10 % too much."), "{text}");
    assert_eq!(Prediction::default().against(rehearsal.patch(), &film).text(), "");
}

fn attempt(when_s: f64, test: bool, passed: bool) -> Marked {
    Marked { lesson: "Overlap".to_string(), when_s, test, passed, off: 0.12, foreseen: None }
}

#[test]
fn a_retest_is_due_a_day_and_a_week_after_it_was_first_passed() {
    const HOUR: f64 = 3600.0;
    let mut progress = Progress::default();
    progress.add(attempt(0.0, false, false));
    assert_eq!(progress.due("Overlap", 1e9), None, "it was never passed");
    progress.add(attempt(HOUR, false, true));
    assert_eq!(progress.due("Overlap", 10.0 * HOUR), None);
    assert_eq!(progress.due("Overlap", 20.0 * HOUR), Some(Due::Day));
    // a test on the same day is none of the next
    progress.add(attempt(2.0 * HOUR, true, true));
    assert_eq!(progress.due("Overlap", 20.0 * HOUR), Some(Due::Day));
    progress.add(attempt(21.0 * HOUR, true, false));
    assert_eq!(progress.due("Overlap", 22.0 * HOUR), None);
    assert_eq!(progress.due("Overlap", 24.0 * 7.0 * HOUR), Some(Due::Week));
    progress.add(attempt(24.0 * 7.0 * HOUR, true, true));
    assert_eq!(progress.due("Overlap", 24.0 * 70.0 * HOUR), None);
    assert_eq!((progress.trial("Overlap"), progress.trial("Speed")), (3, 1));
    assert_eq!(progress.of("Overlap", true).count(), 3);
    assert_eq!(progress.lessons(), ["Overlap"]);
    let table = progress.csv();
    assert_eq!(table.lines().count(), 6);
    assert_eq!(table.lines().nth(2), Some("1970-01-01 01:00:00,\"Overlap\",practice,done,0.1200,"));
    let kept = serde_json::to_string(&progress).unwrap();
    assert_eq!(serde_json::from_str::<Progress>(&kept).unwrap(), progress);
}

#[test]
fn the_table_is_read_by_people_and_does_nothing_in_a_spreadsheet() {
    let marked = |lesson: &str, when_s: f64| Marked {
        lesson: lesson.to_string(),
        when_s,
        test: true,
        passed: false,
        off: 0.5,
        foreseen: None,
    };
    let mut progress = Progress::default();
    // the second before and after a leap day, the end of a year, and a formula for a title
    for (lesson, when_s) in [
        ("One", 951_782_399.0),
        ("Two", 951_868_800.0),
        ("Three", 1_798_761_599.0),
        ("=HYPERLINK(\"x\")", 4_107_542_400.0),
        ("-2 of 3", 1_795_846_685.0),
    ] {
        progress.add(marked(lesson, when_s));
    }
    let table = progress.csv();
    let lines: Vec<&str> = table.lines().collect();
    assert_eq!(lines[0], "date and time (UTC),lesson,kind,mark,film off the plan,mean foreseen off");
    let begins = |line: usize, with: &str| assert!(lines[line].starts_with(with), "{}", lines[line]);
    begins(1, "2000-02-28 23:59:59,\"One\",test,not yet,0.5000,");
    begins(2, "2000-03-01 00:00:00,\"Two\"");
    begins(3, "2026-12-31 23:59:59,\"Three\"");
    begins(4, "2100-03-01 00:00:00,\"'=HYPERLINK(\"\"x\"\")\"");
    begins(5, "2026-11-28 06:18:05,\"'-2 of 3\"");
}
