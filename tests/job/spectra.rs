//! Spectra, in the job file and beside it.

use super::*;

// Spectra

const ABSORPTION: &str = "paints[0].absorption_per_um";

fn spectrum(values: Vec<f64>) -> Value {
    json!({ "from_nm": 380, "step_nm": 10, "values": values })
}

fn ground(values: Vec<f64>) -> Value {
    only("ground", json!({ "kind": "effect", "reflectance": { "from_nm": 380, "step_nm": 10, "45": values } }))
}

#[test]
fn a_spectrum_has_36_numbers() {
    for count in [0, 35, 37] {
        let problem = refused(&only(ABSORPTION, spectrum(vec![0.1; count])));
        assert_eq!((problem.at, problem.given), (format!("{ABSORPTION}.values"), format!("{count} entries")));
        assert!(problem.allowed.contains("36 numbers") && problem.allowed.contains("380 to 730 nm"));
        assert_eq!(refused(&ground(vec![0.1; count])).at, "ground.reflectance.45");
    }
    let mut words = spectrum(vec![0.1; 36]);
    words["values"][35] = json!("0.1");
    assert_eq!(refused(&only(ABSORPTION, words)).at, format!("{ABSORPTION}.values"));
}

#[test]
fn a_spectrum_below_zero_or_on_a_scale_of_100_is_refused_with_its_wavelength() {
    let with = |value: f64| {
        let mut values = vec![0.1; 36];
        values[7] = value;
        values
    };
    for (value, given) in [(-0.001, "-0.001 at 450 nm"), (1.001, "1.001 at 450 nm"), (63.0, "63 at 450 nm")] {
        let problem = refused(&only(ABSORPTION, spectrum(with(value))));
        assert_eq!((problem.at.as_str(), problem.given.as_str()), (&*format!("{ABSORPTION}.values"), given));
        assert!(problem.remedy.contains("not 100"), "{problem}");
    }
    accepted(&ground(with(1.8)));
    for value in [-0.001, 20.1, 63.0] {
        let problem = refused(&ground(with(value)));
        assert_eq!((problem.at.as_str(), problem.given), ("ground.reflectance.45", format!("{value} at 450 nm")));
    }
}

#[test]
fn a_spectrum_on_other_wavelengths_is_refused() {
    for (key, given) in [("from_nm", json!(400)), ("step_nm", json!(20)), ("step_nm", json!("10"))] {
        let mut other = spectrum(vec![0.1; 36]);
        other[key] = given.clone();
        let problem = refused(&only(ABSORPTION, other));
        assert_eq!(
            (problem.at.as_str(), problem.given.as_str()),
            (&*format!("{ABSORPTION}.{key}"), &*given.to_string())
        );
        assert!(problem.allowed.ends_with(" nm"), "{problem}");
        let mut other = ground(vec![0.1; 36]);
        other["ground"]["reflectance"][key] = given;
        assert_eq!(refused(&other).at, format!("ground.reflectance.{key}"));
    }
    let short = only(ABSORPTION, json!({ "values": vec![0.1; 36] }));
    assert_eq!(accepted(&short), accepted(&only(ABSORPTION, spectrum(vec![0.1; 36]))));
}

#[test]
fn a_ground_needs_its_45_degrees_and_known_angles() {
    let grounds = |angles: Value| only("ground", json!({ "kind": "effect", "reflectance": angles }));
    let problem = refused(&grounds(json!({ "15": vec![0.5; 36] })));
    assert_eq!(problem.at, "ground.reflectance");
    assert!(problem.remedy.contains("45"), "{problem}");
    let problem = refused(&grounds(json!({ "45": vec![0.5; 36], "60": vec![0.5; 36] })));
    assert_eq!((problem.at.as_str(), problem.given.as_str()), ("ground.reflectance.60", "60"));
    let job = accepted(&grounds(json!({ "110": vec![0.1; 36], "-15": vec![0.9; 36], "45": vec![0.5; 36] })));
    assert_eq!(job.ground.reflectance.0.iter().map(|(angle, _)| angle.0).collect::<Vec<_>>(), [-15.0, 45.0, 110.0]);
}

#[test]
fn a_missing_part_of_the_ground_takes_its_default() {
    for ground in [json!({}), json!({ "kind": "effect" })] {
        assert_eq!(accepted(&only("ground", ground)), Job::default());
    }
    let reflectance = json!({ "45": vec![0.5; 36] });
    let job = accepted(&only("ground", json!({ "reflectance": reflectance })));
    assert_eq!(job.ground.reflectance.0.len(), 1);
}

#[test]
fn a_ground_of_another_kind_is_refused() {
    for kind in ["pearl", "mirror"] {
        let problem = refused(&only("ground", json!({ "kind": kind, "reflectance": { "45": vec![0.5; 36] } })));
        assert_eq!((problem.at.as_str(), problem.given), ("ground.kind", format!("\"{kind}\"")));
        assert_eq!(problem.allowed, "\"effect\" or \"solid\"");
    }
}

#[test]
fn a_solid_ground_is_measured_at_45_degrees_and_looked_at_from_anywhere() {
    let solid = |reflectance: Value| only("ground", json!({ "kind": "solid", "reflectance": reflectance }));
    let mut whole = solid(json!({ "45": vec![0.5; 36] }));
    let job = accepted(&whole);
    assert_eq!(Job::read(&job.text(), &Files::none()).unwrap(), job);
    assert_eq!(Job::from_link(&job.link()).unwrap(), job);
    whole["viewing"] = json!({ "aspecular_deg": 110 });
    accepted(&whole);
    assert_eq!(refused(&solid(json!({ "45": vec![0.5; 36], "15": vec![0.5; 36] }))).at, "ground.reflectance.15");
    assert_eq!(refused(&only("ground", json!({ "kind": "solid" }))).at, "ground.reflectance");
}

#[test]
fn the_same_ground_looks_darker_under_tint_when_it_is_solid() {
    // the film returns part of the diffuse light to the ground: Williams & Clapper 1953
    let target = |kind: &str| {
        let job = accepted(&only("ground", json!({ "kind": kind, "reflectance": { "45": vec![0.5; 36] } })));
        fanlap::report::report(&fanlap::appraisal::appraise(&job)).colour.target.lab
    };
    let (effect, solid) = (target("effect"), target("solid"));
    assert!(solid[0] < effect[0] - 1.0, "L* {} over a solid ground, {} over an effect ground", solid[0], effect[0]);
}

#[test]
fn an_untinted_clear_takes_no_light() {
    let clear = |absorption: Value| job(json!({ "paints": [{ "role": "clear", "absorption_per_um": absorption }] }));
    accepted(&clear(spectrum(vec![0.0; 36])));
    assert_eq!(refused(&clear(spectrum(vec![0.1; 36]))).at, ABSORPTION);
    let left_out = accepted(&job(json!({ "paints": [{ "role": "clear" }] })));
    assert!(left_out.paints[0].absorption.0.iter().all(|value| *value == 0.0));
}

/// A CSV file beside a job: its header and the value of every column at every wavelength.
fn csv(header: &str, value: &str) -> String {
    let row = |band: usize| format!("{}{}\n", 380 + 10 * band, format!(",{value}").repeat(header.matches(',').count()));
    format!("{header}\n{}", (0..36).map(row).collect::<String>())
}

fn read_beside(job: &Value, file: Result<String, String>) -> Result<Job, Problem> {
    let serve = |name: &str| if name == "kelp.csv" { file.clone() } else { Err("not found".to_string()) };
    Job::read(&job.to_string(), &Files::from(&serve))
}

fn named(path: &str) -> Value {
    let mut whole = only(path, json!({ "file": "kelp.csv" }));
    if whole.get("ground").is_some() {
        whole["ground"]["kind"] = json!("effect");
    }
    whole
}

#[test]
fn a_spectrum_may_lie_beside_the_job_file() {
    let job = read_beside(&named(ABSORPTION), Ok(csv("wavelength_nm,a", "0.25"))).unwrap();
    assert!(job.paints[0].absorption.0.iter().all(|value| *value == 0.25));
    let file = csv("wavelength_nm,R_as45, R_as-15 ,110", "0.75").replace('\n', "\r\n");
    let job = read_beside(&named("ground.reflectance"), Ok(file)).unwrap();
    assert_eq!(job.ground.reflectance.0.iter().map(|(angle, _)| angle.0).collect::<Vec<_>>(), [-15.0, 45.0, 110.0]);
    assert!(same(&accepted(&job.value()).value(), &job.value()), "the spectra are now in the job itself");
}

#[test]
fn a_spectrum_file_may_begin_with_a_byte_order_mark() {
    let marked = format!("\u{feff}{}", csv("wavelength_nm,a", "0.25"));
    read_beside(&named(ABSORPTION), Ok(marked)).expect("spreadsheets write it");
}

#[test]
fn a_spectrum_file_that_is_not_there_is_refused_with_the_path_in_the_job() {
    for path in [ABSORPTION, "ground.reflectance"] {
        let problem = sound(read_beside(&named(path), Err("not found".to_string())).unwrap_err());
        assert_eq!((problem.at.as_str(), problem.given.as_str()), (path, "kelp.csv: not found"));
        assert_eq!(refused(&named(path)).at, path);
    }
}

#[test]
fn a_spectrum_file_with_a_fault_is_refused_with_its_row() {
    let good = csv("wavelength_nm,a", "0.25");
    let faults = [
        (good.replacen("420,0.25", "420,zero", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "420,NaN", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "420,inf", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "421,0.25", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "420", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25", "420,0.25,0.25", 1), "kelp.csv, row 5"),
        (good.replacen("420,0.25\n", "", 1), "kelp.csv"),
        (good.clone() + "740,0.25\n", "kelp.csv"),
        (good.replacen("wavelength_nm", "nm", 1), "kelp.csv, line 1"),
        (String::new(), "kelp.csv, line 1"),
        ("x".repeat(100_000), "kelp.csv, line 1"),
        (good.replacen("420,0.25", &"9".repeat(100_000), 1), "kelp.csv, row 5"),
    ];
    for (text, at) in faults {
        let problem = sound(read_beside(&named(ABSORPTION), Ok(text)).unwrap_err());
        assert_eq!(problem.at, at, "{problem}");
    }
    let two = read_beside(&named(ABSORPTION), Ok(csv("wavelength_nm,a,b", "0.25"))).unwrap_err();
    assert_eq!(two.at, ABSORPTION);
    let scale = read_beside(&named(ABSORPTION), Ok(csv("wavelength_nm,a", "25"))).unwrap_err();
    assert!(scale.remedy.contains("not 100"), "{scale}");
    let angles = read_beside(&named("ground.reflectance"), Ok(csv("wavelength_nm,R_as45,R_as60", "0.5"))).unwrap_err();
    assert_eq!(angles.at, "ground.reflectance.60");
}

#[test]
fn a_spectrum_file_with_one_angle_twice_is_refused() {
    let twice = csv("wavelength_nm,R_as45,S_as45", "0.5");
    assert!(read_beside(&named("ground.reflectance"), Ok(twice)).is_err(), "which of the two is meant?");
}
