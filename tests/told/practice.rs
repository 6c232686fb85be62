//! What is told of a coat sprayed by hand: figures of passes that were sprayed in a known way, and the one thing to put
//! right, for every thing that a hand can do wrong.

use fanlap::job::Job;
use fanlap::job::inputs::System;
use fanlap::maths::{cos, sin};
use fanlap::practice::{ErrorSource, Slip, next_step, performance};
use fanlap::rehearsal::Rehearsal;
use fanlap::strokes::{MovedBy, Sample, Track};
use fanlap::units::{Degrees, Seconds};

/// A slightly crowned panel in one coat: six lines, 100 mm apart.
fn plan() -> Job {
    let text = r#"{ "fanlap_job": 1,
        "panel": { "length_mm": 800, "width_mm": 400, "crown_along_mm": 8, "crown_across_mm": 5, "cell_mm": 8 },
        "coats": [ { "overlap": 0.6, "speed_mm_per_s": 500, "margin_mm": 50, "lead_mm": 100 } ] }"#;
    Job::read(text, &fanlap::job::Files::none()).unwrap()
}

/// Looks at the planned gun sixty times a second, changed by a hand: pass (from 0), share of the pass, sample.
fn sprayed(hand: impl Fn(usize, f64, &mut Sample)) -> Job {
    let job = plan();
    let mut samples = Vec::new();
    for (n, pass) in Rehearsal::plan(&job).passes().iter().enumerate() {
        let duration = pass.stroke.duration().0;
        let count = (duration * 60.0).ceil();
        for i in 0..=count as usize {
            let share = i as f64 / count;
            let pose = pass.stroke.pose_at(Seconds(duration * share));
            let (place, distance) = Sample::under(&job.panel, pose.nozzle);
            let (heel, lean, time) = (Degrees(0.0), Degrees(0.0), Seconds(pass.start.0 + duration * share));
            let mut sample = Sample { time, place, distance, heel, lean, open: share < 1.0 };
            hand(n, share, &mut sample);
            samples.push(sample);
        }
    }
    let mut job = job;
    job.coats[0].track = Some(Track { samples, ..Track::default() });
    job.checked().unwrap()
}

fn near(what: &str, is: f64, wanted: f64, within: f64) {
    assert!((is - wanted).abs() <= within, "{what}: {is}, wanted {wanted} within {within}");
}

#[test]
fn a_faultless_recording_performs_as_planned_and_needs_nothing() {
    let job = sprayed(|_, _, _| {});
    let told = performance(&job, 0).unwrap();
    assert_eq!(told.passes.len(), Rehearsal::plan(&plan()).passes().len());
    assert!(told.left_out.is_empty() && told.to_come == 0);
    for (i, pass) in told.passes.iter().enumerate() {
        assert_eq!((pass.number, pass.line), (i + 1, Some(i + 1)));
        near("off line", pass.off_line_mm, 0.0, 0.1);
        near("distance", pass.distance_mm.mean, 180.0, 0.1);
        near("speed", pass.speed_mm_per_s.mean, 500.0, 1.0);
        near("slowest", pass.speed_mm_per_s.least, 500.0, 3.0);
        near("opened", pass.opened_before_mm, 100.0, 0.1);
        near("closed", pass.closed_after_mm, 100.0, 0.1);
        match i {
            0 => assert_eq!(pass.overlap, None),
            _ => near("overlap", pass.overlap.unwrap(), 0.6, 0.002),
        }
    }
    let next = next_step(&job, 0, System::Metric).unwrap();
    assert!(next.channel.is_none() && next.error < 0.01, "{next:?}");
    assert!(next.text.contains("as even as the plan"), "{}", next.text);
}

#[test]
fn each_figure_is_that_of_its_pass() {
    let job = sprayed(|n, share, sample| match n {
        1 => sample.distance.0 = 180.0 + 40.0 * share,
        2 => sample.place.y += 30.0,
        3 => (sample.heel, sample.lean) = (Degrees(12.0), Degrees(-8.0)),
        4 => sample.open = (0.3..0.8).contains(&share),
        _ => {}
    });
    let told = performance(&job, 0).unwrap().passes;
    // the panel lies from 0.1 to 0.9 of a pass
    near("mean distance", told[1].distance_mm.mean, 200.0, 0.5);
    near("least", told[1].distance_mm.least, 184.0, 1.0);
    near("most", told[1].distance_mm.most, 216.0, 1.0);
    near("off line", told[2].off_line_mm, 30.0, 0.1);
    near("less overlap", told[3].overlap.unwrap(), 1.0 - 130.0 / 250.0, 0.002);
    near("heel", told[3].heel_deg.mean, 12.0, 1e-9);
    // the fourth pass runs back: its lean is a drag of the other sign
    near("drag", told[3].drag_deg.mean, 8.0, 1e-9);
    near("opened inside", told[4].opened_before_mm, 100.0 - 300.0, 10.0);
    near("closed inside", told[4].closed_after_mm, 100.0 - 200.0, 10.0);
}

#[test]
fn the_next_step_is_what_did_most() {
    type Hand = fn(usize, f64, &mut Sample);
    let cases: [(ErrorSource, Hand, &str); 6] = [
        (
            ErrorSource::Distance,
            |n, _, s| s.distance.0 = if n % 2 == 0 { 140.0 } else { 250.0 },
            "it varied from 140 to 250 mm instead of 180 mm. Next: hold 180 mm.",
        ),
        (
            ErrorSource::Line,
            |n, _, s| s.place.y += if n == 2 { 45.0 } else { 0.0 },
            "Pass 3 lay 45 mm off its line, towards the far edge.",
        ),
        (ErrorSource::Speed, |_, share, s| s.time.0 -= 0.4 * share, "1.6 s from edge to edge"),
        (ErrorSource::Angle, |_, share, s| s.heel = Degrees(40.0 * (share - 0.5)), "keep the gun square"),
        (ErrorSource::Trigger, |_, share, s| s.open = s.open && (0.2..0.8).contains(&share), "inside the edge"),
        (ErrorSource::LeftOut, |n, _, s| s.open = s.open && n != 3, "Line 4 was left out"),
    ];
    for (channel, hand, words) in cases {
        let next = next_step(&sprayed(hand), 0, System::Metric).unwrap();
        assert_eq!(next.channel, Some(channel), "{next:?}");
        assert!(next.share > 0.6 && next.error > 0.03, "{next:?}");
        assert!(next.text.contains(words), "{}", next.text);
    }
}

/// What a hand does to a pass: its number (from 0), the place along the panel (0 to 1, below and above that beside it, in the
/// direction of the axis), the sample.
type Led = fn(usize, f64, &mut Sample);

/// A flat panel of one planned line, or of seven 100 mm apart, sprayed by a hand that adds passes where it needs them.
fn led(lines: usize, passes: usize, hand: Led) -> Job {
    let (width, margin, overlap) = if lines == 1 { (250, 0, 0.0) } else { (450, 50, 0.6) };
    let text = format!(
        r#"{{ "fanlap_job": 1, "panel": {{ "length_mm": 900, "width_mm": {width}, "cell_mm": 8 }},
        "coats": [ {{ "overlap": {overlap}, "shift": {}, "speed_mm_per_s": 400, "margin_mm": {margin}, "lead_mm": 120 }} ] }}"#,
        if lines == 1 { -0.5 } else { 0.0 }
    );
    let mut job = Job::read(&text, &fanlap::job::Files::none()).unwrap();
    let plan = fanlap::practice::plan(&job, 0);
    assert_eq!(plan.len(), lines);
    let (mut samples, mut now) = (Vec::new(), 0.0);
    for n in 0..passes {
        // beyond the plan's last line the hand goes on
        let step = if lines > 1 { plan[1].from.y - plan[0].from.y } else { 0.0 };
        let y = plan[0].from.y + step * n as f64;
        for i in 0..=285 {
            let way = 4.0 * f64::from(i) - 120.0;
            let x = if n % 2 == 0 { way } else { 900.0 - way };
            let place = glam::DVec2::new(x, y);
            let (heel, lean, distance) = (Degrees(0.0), Degrees(0.0), fanlap::units::Millimetres(180.0));
            let mut sample = Sample { time: Seconds(0.01), place, distance, heel, lean, open: i < 285 };
            // the hand says how long the step to this look took
            hand(n, x / 900.0, &mut sample);
            now += sample.time.0;
            sample.time = Seconds(now);
            samples.push(sample);
        }
        now += 0.6;
    }
    job.coats[0].track = Some(Track { samples, ..Track::default() });
    job.checked().unwrap()
}

fn says(job: &Job) -> (Option<ErrorSource>, String) {
    let next = next_step(job, 0, System::Metric).unwrap();
    (next.channel, next.text)
}

#[test]
fn each_common_error_of_a_hand_is_told_with_its_number() {
    use ErrorSource::*;
    let cases: [(usize, usize, Led, Option<ErrorSource>, &str); 17] = [
        // lines too far apart, too near, and all to one side
        (
            7,
            7,
            |n, _, s| s.place.y -= 15.0 * n as f64,
            Some(Overlap),
            "Your lines lie 115 mm apart: 54 % overlap instead of 60 %. Next: 100 mm from line to line.",
        ),
        (
            7,
            8,
            |n, _, s| s.place.y += 15.0 * n as f64,
            Some(Overlap),
            "Your lines lie 85 mm apart: 66 % overlap instead of 60 %.",
        ),
        (7, 7, |_, _, s| s.place.y += 40.0, Some(Line), "All your lines lie 40 mm off, towards the far edge."),
        (
            7,
            7,
            |n, _, s| s.place.y += if n % 2 == 1 { 45.0 } else { 0.0 },
            Some(Line),
            "Every second line lies 45 mm off, towards the far edge.",
        ),
        (
            7,
            7,
            |n, _, s| s.place.y -= if n == 3 { 35.0 } else { 0.0 },
            Some(Line),
            "Pass 4 lay 35 mm off its line, towards the near edge.",
        ),
        // aslant
        (
            7,
            7,
            |n, at, s| s.place.y += 60.0 * (at - 0.5) * if n % 2 == 0 { -1.0 } else { 1.0 },
            Some(Line),
            "Your passes slant by 30 mm at either end, alternately: a zigzag.",
        ),
        (
            1,
            1,
            |_, at, s| s.place.y += 80.0 * (at - 0.5),
            Some(Line),
            "Pass 1 slants: it began 40 mm off towards the near edge and ended as far off towards the far edge. Next: run each pass level",
        ),
        (
            7,
            7,
            |_, at, s| s.place.y -= 80.0 * (at - 0.5),
            Some(Line),
            "All your passes slant the same way, by 40 mm at either end.",
        ),
        // bowed, and waving
        (
            1,
            1,
            |_, at, s| s.place.y += 160.0 * (at - 0.5) * (at - 0.5) - 15.0,
            Some(Line),
            "Pass 1 bows by 40 mm, the middle towards the near edge.",
        ),
        (
            7,
            7,
            |_, at, s| s.place.y -= 160.0 * (at - 0.5) * (at - 0.5) - 15.0,
            Some(Line),
            "Your passes bow by 40 mm, the middle towards the far edge.",
        ),
        (
            7,
            7,
            |n, at, s| s.place.y += 25.0 * sin(18.85 * at + n as f64),
            Some(Line),
            "Your passes wave by 25 mm to either side of the line. Next: look ahead",
        ),
        // speed
        (
            7,
            7,
            |_, at, s| s.time.0 *= if (0.22..0.78).contains(&at) { 0.8 } else { 400.0 / 240.0 },
            Some(Speed),
            "Slow at both ends: 240 mm/s where 400 was meant, and 500 mm/s in the middle.",
        ),
        (
            7,
            7,
            |n, at, s| s.time.0 *= if at > 0.78 && n % 2 == 0 || at < 0.22 && n % 2 == 1 { 2.0 } else { 1.0 },
            Some(Speed),
            "Slow at the end of every pass: 200 mm/s where 400 was meant.",
        ),
        (
            7,
            7,
            |n, at, s| s.time.0 *= if at < 0.22 && n % 2 == 0 || at > 0.78 && n % 2 == 1 { 0.5 } else { 1.0 },
            Some(Speed),
            "Fast at the start of every pass: 800 mm/s where 400 was meant.",
        ),
        (
            7,
            7,
            |n, _, s| s.time.0 *= if n == 4 { 0.5 } else { 1.0 },
            Some(Speed),
            "Pass 5 was too fast: 800 mm/s where 400 was meant.",
        ),
        (
            7,
            7,
            |n, _, s| s.time.0 *= if n % 2 == 1 { 1.6 } else { 1.0 },
            Some(Speed),
            "Every second pass was too slow: 250 mm/s where 400 was meant, the others 400 mm/s.",
        ),
        (
            7,
            7,
            |_, _, s| s.time.0 *= 1.25,
            Some(Speed),
            "too slow, 320 mm/s on average where 400 was meant. Next: 2.2 s from edge to edge.",
        ),
    ];
    for (lines, passes, hand, channel, words) in cases {
        let (named, text) = says(&led(lines, passes, hand));
        println!("{text}");
        assert!(named == channel && text.contains(words), "{named:?} {text}, wanted {words}");
    }
}

#[test]
fn the_course_of_a_pass_is_measured_to_its_side_and_by_its_worst_place() {
    let of = |hand: Led| performance(&led(7, 7, hand), 0).unwrap().passes;
    for pass in of(|_, at, s| s.place.y += 10.0 + 60.0 * (at - 0.5)) {
        let course = pass.course;
        near("aside", course.aside_mm, 10.0, 0.1);
        near("slant", course.slant_mm, 30.0, 0.1);
        near("bow", course.bow_mm, 0.0, 0.1);
        near("waves", course.waves_mm, 0.0, 0.1);
        near("worst", course.worst_mm, 40.0, 1.0);
    }
    for pass in of(|_, at, s| s.place.y += 160.0 * (at - 0.5) * (at - 0.5)) {
        near("bow", pass.course.bow_mm, -40.0, 0.2);
        near("slant", pass.course.slant_mm, 0.0, 0.1);
        near("worst", pass.course.worst_mm, 40.0, 2.0);
        // the mean, which hides an arc about its line
        near("mean", pass.off_line_mm, 160.0 / 12.0, 0.1);
    }
    let told = performance(&led(7, 7, |n, _, s| s.place.y -= 15.0 * n as f64), 0).unwrap();
    near("spacing", told.spacing_mm.unwrap(), 115.0, 0.1);
    // counted from the first: the fifth line, though the sixth is nearer
    assert_eq!((told.passes[4].line, told.left_out.len(), told.to_come), (Some(5), 0, 0));
    near("the fifth", told.passes[4].off_line_mm, -60.0, 0.1);
    let parts = of(|n, at, s| s.time.0 *= if at < 0.22 && n % 2 == 0 || at > 0.78 && n % 2 == 1 { 2.0 } else { 1.0 });
    for pass in parts {
        let [start, middle, end] = pass.speed_along_mm_per_s;
        near("start", start, 200.0, 6.0);
        near("middle", middle, 400.0, 2.0);
        near("end", end, 400.0, 2.0);
    }
}

#[test]
fn what_the_film_does_not_show_is_told_beside_it() {
    let (channel, text) = says(&led(7, 7, |_, at, s| s.place.y += 14.0 * cos(6.3 * at)));
    assert!(
        channel.is_none() && text.starts_with("The film is as even as the plan\u{2019}s. Even so: Your passes"),
        "{text}"
    );
}

#[test]
fn a_line_sprayed_twice_a_held_turn_and_a_dab_are_told_apart() {
    // the third pass goes back along the second line
    let twice = sprayed(|n, _, sample| sample.place.y += if n == 2 { 100.0 } else { 0.0 });
    let told = performance(&twice, 0).unwrap();
    assert_eq!((told.passes[1].line, told.passes[2].line), (Some(2), Some(2)));
    let next = next_step(&twice, 0, System::Metric).unwrap();
    assert!(
        next.text.contains("Line 3 was left out, and line 2 was sprayed more than once. Next: spray what is missing"),
        "{}",
        next.text
    );
    // the trigger held from pass to pass: the hand moves on at the end
    let held = sprayed(|_, _, sample| sample.open = true);
    let told = performance(&held, 0).unwrap();
    assert!(told.passes[0].turned && told.passes.len() == 6, "{:?}", told.passes.len());
    assert!(next_step(&held, 0, System::Metric).unwrap().text.contains("through the turn after pass 1"));
    // a press without a movement is paint, and no pass
    let mut dab = plan();
    let look = |time: f64, open| Sample {
        time: Seconds(time),
        open,
        ..sprayed(|_, _, _| {}).coats[0].track.as_ref().unwrap().samples[40]
    };
    dab.coats[0].track = Some(Track { samples: vec![look(0.0, true), look(1.0, false)], ..Track::default() });
    assert!(performance(&dab, 0).unwrap().passes.is_empty());
    assert!(next_step(&dab, 0, System::Metric).unwrap().text.contains("Nothing was sprayed along the lines"));
}

#[test]
fn a_coat_that_was_not_recorded_is_told_nothing_of() {
    assert_eq!(performance(&plan(), 0), None);
    assert_eq!(next_step(&plan(), 0, System::Metric), None);
    assert_eq!(performance(&plan(), 3), None);
    let mut nothing = plan();
    nothing.coats[0].track = Some(Track::default());
    assert!(next_step(&nothing, 0, System::Us).unwrap().text.contains("Nothing was sprayed"));
    let told = performance(&nothing, 0).unwrap();
    assert_eq!((told.left_out.len(), told.to_come), (0, 6));
}

#[test]
fn a_coat_under_way_is_held_to_the_lines_that_were_reached() {
    let job = sprayed(|n, _, sample| sample.open = sample.open && n < 3);
    let told = performance(&job, 0).unwrap();
    assert_eq!((told.passes.len(), told.left_out.len(), told.to_come), (3, 0, 3));
    let next = next_step(&job, 0, System::Metric).unwrap();
    assert!(next.channel.is_none() && next.error < 0.01, "{next:?}");
}

#[test]
fn what_moved_the_gun_stays_with_the_recording() {
    let job = sprayed(|_, _, _| {});
    assert!(!job.text().contains("moved_by"), "a recording of which it is not known says nothing");
    let with = |mover: &str| {
        let mut value = job.value();
        value["coats"][0]["track"]["moved_by"] = mover.into();
        Job::read(&value.to_string(), &fanlap::job::Files::none())
    };
    for (mover, name) in
        [(MovedBy::Keys, "keys"), (MovedBy::Pointer, "pointer"), (MovedBy::Pen, "pen"), (MovedBy::Touch, "touch")]
    {
        let read = with(name).unwrap();
        assert_eq!((read.coats[0].track.as_ref().unwrap().moved_by, mover.name()), (Some(mover), name));
        // it survives a file and a link
        assert_eq!(Job::read(&read.text(), &fanlap::job::Files::none()).unwrap(), read);
        assert_eq!(Job::from_link(&read.link()).unwrap(), read);
    }
    let refused = with("robot").unwrap_err().to_string();
    assert!(
        refused.contains("coats[0].track.moved_by: given \"robot\"; allowed is keys, pointer, pen or touch"),
        "{refused}"
    );
    // what keys did stays theirs
    let mut track = Track::default();
    track.moved_by(MovedBy::Pointer);
    track.moved_by(MovedBy::Pen);
    assert_eq!(track.moved_by, Some(MovedBy::Pen));
    track.moved_by(MovedBy::Keys);
    track.moved_by(MovedBy::Pointer);
    assert_eq!(track.moved_by, Some(MovedBy::Keys));
}

/// Runs the command line in a folder: status, output, errors.
fn fanlap(folder: &std::path::Path, arguments: &[&str]) -> (i32, String, String) {
    let run = std::process::Command::new(env!("CARGO_BIN_EXE_fanlap")).args(arguments).current_dir(folder).output();
    let run = run.unwrap();
    let text = |bytes: Vec<u8>| String::from_utf8(bytes).unwrap();
    (run.status.code().unwrap(), text(run.stdout), text(run.stderr))
}

/// A faultless recording as a tracker would write it: nozzles in space, semicolons, decimal commas.
fn csv(job: &Job) -> String {
    let mut text = "t_s;x_mm;y_mm;z_mm;trigger\n".to_string();
    for sample in &job.coats[0].track.as_ref().unwrap().samples {
        let nozzle = sample.pose(&job.panel, job.coats[0].along).nozzle;
        let line = format!("{};{};{};{};{}\n", sample.time.0, nozzle.x, nozzle.y, nozzle.z, u8::from(sample.open));
        text += &line.replace('.', ",");
    }
    text
}

#[test]
fn a_trackers_file_becomes_a_job_whose_film_is_that_of_the_recording() {
    let folder = tempfile::tempdir().unwrap();
    let recorded = sprayed(|n, _, sample| sample.distance.0 = if n % 2 == 0 { 150.0 } else { 210.0 });
    std::fs::write(folder.path().join("plan.json"), plan().text()).unwrap();
    std::fs::write(folder.path().join("mine.csv"), csv(&recorded)).unwrap();
    let (status, _, err) = fanlap(folder.path(), &["track", "plan.json", "--csv", "mine.csv", "--out", "out"]);
    assert_eq!((status, err.as_str()), (0, "written: out/track.json, out/job.json\n"));
    let job = std::fs::read_to_string(folder.path().join("out/job.json")).unwrap();
    let job = Job::read(&job, &fanlap::job::Files::none()).unwrap();
    let (a, b) = (fanlap::rehearsal::rehearse_film(&job).film(0), fanlap::rehearsal::rehearse_film(&recorded).film(0));
    let off = a.iter().zip(&b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
    assert!(off < 1e-6, "{off} um");
    // told again from the job it wrote, the same; and it is rehearsed like any job
    let (status, out, _) = fanlap(folder.path(), &["track", "out/job.json"]);
    assert_eq!((status, out), (0, std::fs::read_to_string(folder.path().join("out/track.json")).unwrap()));
    assert_eq!(fanlap(folder.path(), &["rehearse", "out/job.json", "--out", "film"]).0, 0);
    assert!(fanlap(folder.path(), &["check", "out/job.json"]).1.contains("sprayed by hand in 6 passes"));
}

#[test]
fn a_bad_track_is_refused_and_nothing_is_written() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join("plan.json"), plan().text()).unwrap();
    for (text, words) in [
        ("t_s,x_mm,y_mm,trigger\n0,0,0,1\n", "mine.csv, line 1: given no column z_mm"),
        ("t_s,x_mm,y_mm,z_mm,trigger,pressure\n", "given pressure; allowed is the columns t_s"),
        ("t_s,x_mm,y_mm,z_mm,trigger\n0,0,0,much,1\n", "mine.csv, line 2, z_mm: given much; allowed is a number"),
        ("t_s,x_mm,y_mm,distance_mm,trigger\n0,0,0,5,1\n", "samples[0]"),
        ("t_s,x_mm,y_mm,distance_mm,trigger\n2,0,0,180,1\n1,0,0,180,1\n", "samples[1]: given 1 s"),
        ("", "no column t_s"),
    ] {
        std::fs::write(folder.path().join("mine.csv"), text).unwrap();
        let (status, _, err) = fanlap(folder.path(), &["track", "plan.json", "--csv", "mine.csv", "--out", "out"]);
        assert_eq!(status, 2, "{text}");
        assert!(err.contains(words), "{err}");
        assert!(!folder.path().join("out").exists());
    }
    let (status, _, err) = fanlap(folder.path(), &["track", "plan.json"]);
    assert_eq!(status, 2);
    assert!(err.contains("coats[0].track: given nothing; allowed is a recorded coat"), "{err}");
    let (status, _, err) = fanlap(folder.path(), &["track", "plan.json", "--coat", "7"]);
    assert_eq!((status, err.contains("1 to 1")), (2, true), "{err}");
}

#[test]
fn every_error_put_in_is_the_one_that_is_found() {
    let job = plan();
    for channel in ErrorSource::ALL {
        let size = Slip::sizes(&job, 0, channel);
        assert!(size.range.0 <= size.usual && size.usual <= size.range.1, "{channel:?}");
        let mut sprayed = job.clone();
        sprayed.coats[0].track = Some(Slip::of(channel, size.usual).sprayed(&job, 0));
        let next = next_step(&sprayed.checked().unwrap(), 0, System::Metric).unwrap();
        assert_eq!(next.channel, Some(channel), "{next:?}");
    }
}

#[test]
fn an_error_put_in_lays_the_film_of_the_hand_that_makes_it() {
    // the rehearsal's own hand against the recording of its errors
    for (slip, set) in [
        (Slip { faster: 0.3, ..Slip::default() }, (|job: &mut Job| job.hand.speed_error.0 = 0.3) as fn(&mut Job)),
        (Slip { farther_mm: 60.0, ..Slip::default() }, |job| job.hand.distance_error.0 = 60.0),
        (Slip { arc_deg: 25.0, ..Slip::default() }, |job| job.hand.arc.0 = 25.0),
        (Slip { heel_deg: 9.0, ..Slip::default() }, |job| job.hand.heel.0 = 9.0),
    ] {
        let (mut by_hand, mut planned) = (plan(), plan());
        by_hand.coats[0].track = Some(slip.sprayed(&planned, 0));
        set(&mut planned);
        let film = |job: &Job| fanlap::rehearsal::rehearse(&job.clone().checked().unwrap()).film(0);
        let (a, b) = (film(&by_hand), film(&planned));
        let most = b.iter().copied().fold(0.0, f64::max);
        let apart = a.iter().zip(&b).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max) / most;
        near(&format!("{slip:?}"), apart, 0.0, 4e-3);
    }
}
