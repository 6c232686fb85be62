//! The booth sheet: what is on it, that it fits the job, that it reads the same in grey and runs nothing.

use fanlap::appraisal::Appraisal;
use fanlap::job::inputs::System;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::rehearse_film;
use fanlap::sheet::{Foreseen, Usual, body, document, edges, likely_errors};

fn job(more: &str) -> Job {
    let text = format!(
        r#"{{ "fanlap_job": 1, "title": "Panel <one> & only", "panel": {{ "length_mm": 900, "width_mm": 600, "cell_mm": 10 }},
              "paints": [ {{ "name": "tinted", "parts_paint": 2, "parts_hardener": 1, "parts_thinner": 0.2, "reserve": 0.2 }} ],
              "coats": [ {{ "overlap": 0.6, "speed_mm_per_s": 450, "lead_mm": 120, "margin_mm": 100 {more} }},
                         {{ "overlap": 0.6, "speed_mm_per_s": 450, "lead_mm": 120, "margin_mm": 100, "amount": 0.5, "shift": 0.5 }} ] }}"#
    );
    Job::read(&text, &Files::none()).unwrap()
}

fn whole(job: &Job, system: System) -> String {
    document(job, system, 1.0, Some(&Foreseen::of(job, 1.0)))
}

#[test]
fn it_holds_what_is_taken_along() {
    let sheet = whole(&job(""), System::Metric);
    for words in [
        "Panel &lt;one&gt; &amp; only",
        "180 mm",
        "60 %",
        // 900 mm at 450 mm/s, and at twice that for the half coat; four beats of a pass
        "<b>2 s</b>",
        "<b>1 s</b>",
        ">120<",
        ">240<",
        "100 mm (1.1 hands)",
        "s, then 10 min",
        "2 : 1 : 0.2",
        "20 % in reserve",
        "Sticker",
        "35 \u{b5}m",
        "isocyanates",
        "Air-fed",
        "data sheet",
    ] {
        assert!(sheet.contains(words), "{words} is missing");
    }
    // every line of the first coat has its number, and the other coat lies dashed beside it
    let lines = fanlap::strokes::lines(&job("").panel, &job("").gun, &job("").coats[0]).len();
    assert!(sheet.contains(&format!(">{lines}</text>")) && !sheet.contains(&format!(">{}</text>", lines + 1)));
    assert!(
        sheet.contains("stroke-dasharray")
            && sheet.contains("Dashed: the lines of coat 2, 50 mm towards the far edge.")
    );
    // where its outermost lines lie is told of both coats
    let [first, second] =
        [0, 1].map(|i| job("").coats[i].outermost(&job("").panel, &job("").gun).map(|at| at.0.round()));
    let words = format!("the outermost line {} mm outside, in coat 2 {} mm outside", first[0], second[0]);
    assert!(second[0] == first[0] - 50.0 && second[1] == first[1] + 50.0 && sheet.contains(&words), "{words}");
    // what is poured adds up to what is mixed, to a millilitre for each part
    let amount = &fanlap::advice::amounts(&job(""))[0];
    for ml in amount.parts_ml.iter().chain([&amount.mixed_ml]) {
        assert!(sheet.contains(&format!("{ml:.0} mL")), "{ml}");
    }
    // how far a hand may stray is told of a plan whose film is right
    let mut right = job("");
    let film: f64 = right.coats.iter().map(|coat| right.planned_film(coat).0).sum();
    right.coats.iter_mut().for_each(|coat| coat.speed.0 *= film / 35.0);
    let told = whole(&right, System::Metric);
    assert!(told.contains("What this colour forgives") && told.contains("every second line"), "{told}");
    let early = document(&job(""), System::Metric, 1.0, None);
    assert!(early.contains("Being worked out") && !early.contains("every second line"));
    let wider = document(&job(""), System::Metric, 2.0, None);
    assert!(early.contains("Within 1 \u{394}E at 45\u{b0}") && wider.contains("Within 2 \u{394}E"));
    let us = whole(&job(""), System::Us);
    assert!(us.contains("7.1 in") && us.contains("fl oz") && !us.contains(" mL"), "US units");
}

#[test]
fn it_reads_the_same_in_grey_and_runs_nothing() {
    let sheet = whole(&job(""), System::Metric);
    assert!(!sheet.contains("<script") && !sheet.contains("http") && !sheet.contains(" style=\""));
    for colour in sheet.match_indices('#').filter_map(|(i, _)| sheet.get(i + 1..i + 4)) {
        let digits: Vec<char> = colour.chars().collect();
        let hex = digits.iter().all(char::is_ascii_hexdigit);
        assert!(!hex || digits.iter().all(|digit| *digit == digits[0]), "#{colour} is a colour");
    }
}

#[test]
fn edges_and_likely_errors_are_those_of_the_panel() {
    let mut bare = job("");
    bare.coats.truncate(1);
    let mut narrow = bare.clone();
    (narrow.coats[0].margin.0, narrow.coats[0].shift.0) = (0.0, 0.5);
    let of = |job: &Job| edges(job, &Appraisal::of(rehearse_film(job)));
    for (edge, less) in of(&bare).iter().zip(of(&narrow)) {
        assert_eq!(edge.name, less.name);
        assert!(edge.off > -0.1, "{edge:?}");
        // all lines moved half a spacing away from the near edge and none outside it: that edge starves, no other does
        assert_eq!(less.off < edge.off - 0.05, edge.name == "near", "{less:?} {edge:?}");
    }
    // the outermost line lies where it lies, not where it must at least lie: 7 lines 100 mm apart over 600 mm and twice 100
    let spacing = bare.coats[0].spacing(&bare.gun).0;
    let gaps = (800.0 / spacing - 1e-9).ceil();
    let outside = (gaps * spacing - 600.0) / 2.0;
    assert!((of(&bare)[0].outside_mm - outside).abs() < 1e-9 && (of(&bare)[1].outside_mm - outside).abs() < 1e-9);
    assert!((of(&bare)[2].outside_mm - 120.0).abs() < 1e-9, "the lead");
    // standing, the wet film of an edge band is told against what holds there
    let mut standing = bare.clone();
    standing.panel.slope.0 = 90.0;
    assert_eq!(of(&standing).iter().map(|edge| edge.name).collect::<Vec<_>>(), ["bottom", "top", "left", "right"]);
    assert!(whole(&standing, System::Metric).contains("top edge to bottom edge"));
    standing.paints[0].sag_limit.0 *= 2.0;
    let one = of(&standing)[0].of_limit;
    standing.paints[0].sag_limit.0 /= 2.0;
    assert!(one > 0.0 && (of(&standing)[0].of_limit / one - 2.0).abs() < 1e-6, "{one}");
}

#[test]
fn likely_errors_are_of_the_panel_and_the_hand_worst_first_and_each_kind_once() {
    let mut bare = job("");
    bare.coats.truncate(1);
    let errors = likely_errors(&bare, 1.0);
    assert!(errors.windows(2).all(|pair| pair[0].takes >= pair[1].takes) && errors[0].takes > 0.05, "{errors:?}");
    let kinds: Vec<Usual> = errors.iter().map(|error| error.kind).collect();
    assert!(kinds.iter().enumerate().all(|(i, kind)| !kinds[..i].contains(kind)), "{kinds:?}");
    for kind in [Usual::Distance, Usual::Line, Usual::Speed, Usual::Wrist, Usual::Heel, Usual::Trigger, Usual::Twice] {
        assert!(kinds.contains(&kind), "{kind:?}");
    }
    // a wider window is left by less
    let wide = likely_errors(&bare, 4.0);
    let of =
        |errors: &[fanlap::sheet::LikelyError], kind| errors.iter().find(|error| error.kind == kind).unwrap().takes;
    assert!(of(&wide, Usual::Line) < of(&errors, Usual::Line));
    // where two reaches meet, the line that both spray is the middle one
    let mut both = bare.clone();
    both.coats[0].reach = fanlap::strokes::Reach::BothSides;
    let twice = likely_errors(&both, 1.0).into_iter().find(|error| error.kind == Usual::Twice).unwrap();
    assert!(twice.text(&both, System::Metric).contains("both sides"), "{}", twice.text(&both, System::Metric));
    // and a gun that tilts towards its own side heaps or thins the middle
    let heel = likely_errors(&both, 1.0).into_iter().find(|error| error.kind == Usual::Heel).unwrap();
    let one_side = likely_errors(&bare, 1.0).into_iter().find(|error| error.kind == Usual::Heel).unwrap();
    assert!(heel.takes > one_side.takes && heel.text(&both, System::Metric).contains("where the two meet"));
    // standing and just under its sag limit, an error that lays more of a fluid paint runs, and that comes first
    let mut standing = bare.clone();
    (standing.panel.slope.0, standing.paints[0].viscosity.0) = (90.0, 0.02);
    let wet = |job: &Job| fanlap::report::report(&Appraisal::of(rehearse_film(job))).wet["tinted"].times_sag_limit;
    standing.paints[0].sag_limit.0 *= 1.03 * wet(&standing);
    assert!(wet(&standing) < 1.0);
    let errors = likely_errors(&standing, 1.0);
    assert!(errors[0].runs && errors[0].text(&standing, System::Metric).contains("runs"), "{errors:?}");
}

#[test]
fn the_sides_are_those_across_the_passes_and_a_plan_that_misses_its_film_says_so() {
    let mut across = job("");
    for coat in &mut across.coats {
        (coat.along, coat.reach) = (fanlap::strokes::Along::Width, fanlap::strokes::Reach::BothSides);
    }
    let sheet = whole(&across, System::Metric);
    assert!(
        sheet.contains("grey from the left, then white from the right side")
            && sheet.contains("left half, then right half")
    );
    let near = fanlap::strokes::lines(&across.panel, &across.gun, &across.coats[0])
        .iter()
        .filter(|line| line.side == fanlap::strokes::Side::Near)
        .count();
    assert!(sheet.contains(&format!("walk round after line {near}")));
    // a coat that lies beside may change sides after another line, and says so
    let mut beside = across.clone();
    beside.panel.length.0 = 950.0;
    beside.coats[1].shift.0 = 0.5;
    let [first, second] = [0, 1].map(|coat| {
        let lines = fanlap::strokes::lines(&beside.panel, &beside.gun, &beside.coats[coat]);
        lines.iter().filter(|line| line.side == fanlap::strokes::Side::Near).count()
    });
    let words = format!("walk round after line {first} in coat 1, line {second} in coat 2");
    assert!(first != second && whole(&beside, System::Metric).contains(&words), "{words}");
    beside.coats[0].reach = fanlap::strokes::Reach::OneSide;
    assert!(whole(&beside, System::Metric).contains(&format!("walk round after line {second} in coat 2")));
    // the grey half ends where the reaches meet: in the middle, as wide as the panel is deep
    let grey = sheet.split("<rect ").find(|rect| rect.contains("#ddd")).unwrap();
    let of = |name: &str| -> f64 {
        grey.split(&format!(" {name}=\"")).nth(1).unwrap().split('"').next().unwrap().parse().unwrap()
    };
    let spacing = across.coats[0].spacing(&across.gun).0;
    assert!(
        (of("width") - across.panel.length.0 / 2.0).abs() <= spacing / 2.0 + 0.1
            && of("height") == across.panel.width.0
    );
    assert!(!whole(&job(""), System::Metric).contains("#ddd"), "from one side nothing is grey");
    // too fast by far: no error is told of, but that the plan is wrong
    across.coats.iter_mut().for_each(|coat| coat.speed.0 = 1500.0);
    let sheet = whole(&across, System::Metric);
    assert!(sheet.contains("Put the plan right first") && !sheet.contains("likeliest errors"));
    assert!(sheet.contains("This plan lays"));
}

#[test]
fn a_job_without_coats_has_a_sheet_that_says_so() {
    assert!(body(&Job::default(), System::Metric, 1.0, None).contains("no coats yet"));
}

#[test]
fn the_command_line_writes_it() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("job.json"), job("").text()).unwrap();
    let mut command = std::process::Command::new(env!("CARGO_BIN_EXE_fanlap"));
    let run = command.args(["sheet", "job.json", "--out", "out"]).current_dir(folder.path()).output().unwrap();
    assert!(run.status.success(), "{}", String::from_utf8_lossy(&run.stderr));
    let sheet = std::fs::read_to_string(folder.path().join("out/sheet.html")).unwrap();
    assert_eq!(sheet, whole(&job(""), System::Metric));
}
