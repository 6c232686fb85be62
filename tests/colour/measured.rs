//! Measured colours read from files: every format, the bands, the scale, angles, what is refused and in which words,
//! and damaged texts. The files are invented (`data/colour/measured/README.md`). Does not test a real instrument's file.

use crate::data::assert_near;
use fanlap::colour::{ANGLES, BANDS, Illuminant, Lab, Observer, Spectrum, Xyz, read_spectra, wavelength};
use fanlap::job::Car;
use fanlap::job::instrument::{Question, question};
use fanlap::measured::{Reading, Said, Sample, Scale, read_measured, read_measured_as};
use fanlap::units::Degrees;

const BY_WAVELENGTH: &str = include_str!("../data/colour/measured/by_wavelength.csv");
const BY_WAVELENGTH_PERCENT: &str = include_str!("../data/colour/measured/by_wavelength_percent.csv");
const BY_SAMPLE: &str = include_str!("../data/colour/measured/by_sample.csv");
const BY_SAMPLE_LAB: &str = include_str!("../data/colour/measured/by_sample_lab.csv");
const CGATS: &str = include_str!("../data/colour/measured/spectra_and_lab.txt");
const CXF: &str = include_str!("../data/colour/measured/multiangle.cxf");
const ALL: [&str; 6] = [BY_WAVELENGTH, BY_WAVELENGTH_PERCENT, BY_SAMPLE, BY_SAMPLE_LAB, CGATS, CXF];

fn read(text: &str) -> Vec<Sample> {
    read_measured("card", text).unwrap_or_else(|problem| panic!("{problem}"))
}

fn spectrum(sample: &Sample) -> Spectrum {
    match sample.reading {
        Reading::Spectrum(spectrum) => spectrum,
        Reading::Lab { .. } => panic!("{} is no spectrum", sample.name),
    }
}

fn angle(sample: &Sample) -> Option<f64> {
    sample.aspecular.map(|angle| angle.0)
}

/// A smooth reflectance, the one of the sample files before rounding.
fn smooth(nm: f64) -> f64 {
    let x = (nm - 620.0) / 60.0;
    0.05 + 0.4 / (1.0 + x * x)
}

/// A table by wavelength of one column.
fn table(wavelengths: impl Iterator<Item = usize>, value: impl Fn(f64) -> f64) -> String {
    let rows = wavelengths.map(|nm| format!("{nm},{}\n", value(nm as f64)));
    format!("wavelength_nm,R\n{}", rows.collect::<String>())
}

/// Refused, naming all these words somewhere in the message.
fn assert_refused(text: &str, words: &[&str]) {
    let problem = match read_measured("card", text) {
        Err(problem) => problem.to_string(),
        Ok(samples) => panic!("{} samples were read where {words:?} should be refused", samples.len()),
    };
    for word in words.iter().chain(&["card"]) {
        assert!(problem.contains(word), "\"{word}\" is not in: {problem}");
    }
}

#[test]
fn every_format_gives_the_same_two_spectra() {
    for text in [BY_WAVELENGTH, BY_WAVELENGTH_PERCENT, BY_SAMPLE, CGATS, CXF] {
        let samples = read(text);
        assert!(samples[..2].iter().all(|sample| sample.name.starts_with("door")));
        assert_eq!((angle(&samples[0]), angle(&samples[1])), (Some(25.0), Some(45.0)));
        for band in 0..BANDS {
            // the files are rounded to four places
            let nm = wavelength(band);
            assert_near("as25", spectrum(&samples[0]).0[band], 1.8 * smooth(nm), 0.5001e-4);
            assert_near("as45", spectrum(&samples[1]).0[band], smooth(nm), 0.5001e-4);
            assert_near(
                "to the first file",
                spectrum(&samples[1]).0[band],
                spectrum(&read(BY_WAVELENGTH)[1]).0[band],
                1e-15,
            );
        }
    }
}

#[test]
fn the_table_of_the_job_is_read_to_the_same_numbers() {
    let samples = read(BY_WAVELENGTH);
    for ((name, column), sample) in read_spectra("card", BY_WAVELENGTH).unwrap().into_iter().zip(&samples) {
        assert_eq!((name, column), (sample.name.clone(), spectrum(sample)));
    }
}

#[test]
fn cielab_comes_with_its_light_and_eye_where_the_file_says_them() {
    let lab = Lab { l: 60.5, a: 41.25, b: 38.0 };
    let said = Reading::Lab { lab, illuminant: Some(Illuminant::D65), observer: Some(Observer::Degrees10) };
    for text in [CGATS, CXF] {
        let samples = read(text);
        assert_eq!(samples.len(), 3);
        assert_eq!((angle(&samples[2]), samples[2].reading), (Some(-15.0), said));
    }
    let samples = read(BY_SAMPLE_LAB);
    assert_eq!((samples[0].name.as_str(), angle(&samples[0]), samples[0].reading), ("door, left", Some(25.0), said));
    let unsaid = Reading::Lab { lab: Lab { l: 45.2, a: 33.5, b: -21.0 }, illuminant: None, observer: None };
    assert_eq!((samples[1].name.as_str(), angle(&samples[1]), samples[1].reading), ("door_as45", Some(45.0), unsaid));
}

#[test]
fn names_and_angles_are_found_where_they_may_stand() {
    let named = |header: &str| {
        let samples = read(&BY_WAVELENGTH.replace("door_as25", header));
        (samples[0].name.clone(), angle(&samples[0]))
    };
    assert_eq!(named("as-15"), ("as-15".to_string(), Some(-15.0)));
    assert_eq!(named("110"), ("110".to_string(), Some(110.0)));
    assert_eq!(named("Roof AS75"), ("Roof AS75".to_string(), Some(75.0)));
    assert_eq!(named("brass45"), ("brass45".to_string(), None));
    assert_eq!(named(""), ("sample 1".to_string(), None));
    let samples = read("sample_id,L,a,b\n45,50,0,0\n,40,1,2\n");
    assert_eq!((samples[0].name.as_str(), angle(&samples[0])), ("45", None));
    assert_eq!(samples[1].name, "sample 2");
}

#[test]
fn an_angle_in_degrees_is_understood_where_the_name_says_it_clearly() {
    let named = |name: &str| angle(&read(&format!("name,L,a,b\n{name},50,0,0\n"))[0]);
    for at in ANGLES {
        for name in
            [format!("{at}deg"), format!("door {at} degrees"), format!("door {at}\u{b0} left"), format!("AS{at}\u{b0}")]
        {
            assert_eq!(named(&name), Some(at), "{name}");
        }
    }
    // observers, other numbers, hyphens that may be signs, two angles: none of them says it
    for name in [
        "D65 10deg",
        "2\u{b0}",
        "door",
        "15",
        "45 degreased",
        "door-15deg",
        "115deg",
        "3.15deg",
        "15\u{b0} to 45\u{b0}",
    ] {
        assert_eq!(named(name), None, "{name}");
    }
    assert_refused("name,angle,L,a,b\n15deg,45,50,0,0\n", &["as45", "as15", "one aspecular angle"]);
}

#[test]
fn names_that_are_all_different_angles_are_the_angles() {
    let angles = |text: &str| read(text).iter().map(angle).collect::<Vec<_>>();
    let ids = "SAMPLE_ID,LAB_L,LAB_A,LAB_B\n15,52,62,30\n45,36,52,27\n110,20,38,18\n";
    assert_eq!(angles(ids), [Some(15.0), Some(45.0), Some(110.0)]);
    assert_eq!(angles(&ids.replace("SAMPLE_ID", "angle")), [Some(15.0), Some(45.0), Some(110.0)]);
    assert_eq!(angles(&ids.replace("110,", "1,")), [None; 3], "coats, or numbers of samples");
    assert_eq!(angles(&ids.replace("110,", "45,")), [None; 3]);
    assert_eq!(angles("SAMPLE_ID,LAB_L,LAB_A,LAB_B\n15,52,62,30\n"), [None]);
}

#[test]
fn keywords_and_geometries_say_the_angle_too() {
    let cgats = "CGATS.17\nMEASUREMENT_GEOMETRY \"as75\"\nBEGIN_DATA_FORMAT\nSAMPLE_ID LAB_L LAB_A LAB_B\nEND_DATA_FORMAT\n\
                 BEGIN_DATA\ndoor 50 1 2\nEND_DATA\n";
    assert_eq!(angle(&read(cgats)[0]), Some(75.0));
    assert_eq!(angle(&read(&cgats.replace("as75", "45/0"))[0]), Some(45.0));
    assert_eq!(angle(&read(&cgats.replace("as75", "d/8"))[0]), None);
    assert_eq!(angle(&read(&cgats.replace("MEASUREMENT_GEOMETRY \"as75\"", "ASPECULAR_ANGLE 110"))[0]), Some(110.0));
    assert_eq!(angle(&read(&cgats.replace("door", "15deg").replace("as75", "d/8"))[0]), Some(15.0));
    let single = "<cc:SingleAngleConfiguration>Uniplanar</cc:SingleAngleConfiguration>";
    let aspecular = CXF.replacen(single, "<cc:AspecularAngle>15</cc:AspecularAngle>", 1);
    assert_eq!(angle(&read(&aspecular)[0]), Some(15.0), "as it is named, whatever the view is");
    let lit = aspecular.replacen("<cc:IlluminationAngle>45", "<cc:IlluminationAngle>60", 1);
    assert_eq!(angle(&read(&lit)[0]), None, "an aspecular angle under another light is another colour");
}

#[test]
fn a_first_column_of_wavelengths_is_one_in_any_language() {
    let comma = |text: String| text.replace(',', ";").replace('.', ",");
    let rows = |header: &str| {
        let rows =
            (400..=700).step_by(10).map(|nm| format!("{nm},{:.4},{:.4}\n", 1.8 * smooth(nm as f64), smooth(nm as f64)));
        format!("{header}\n{}", rows.collect::<String>())
    };
    for header in ["Wellenl\u{e4}nge,15,45", "longueur d'onde [nm],as15,as45", "Wavelength [nm],15,45"] {
        for text in [rows(header), comma(rows(header))] {
            let samples = read(&text);
            assert_eq!(samples.iter().map(angle).collect::<Vec<_>>(), [Some(15.0), Some(45.0)], "{header}");
            assert_near(header, spectrum(&samples[0]).0[24], 1.8 * smooth(620.0), 1e-4);
        }
    }
    let uneven = rows("Wellenl\u{e4}nge,15,45").replace("\n500,", "\n505,");
    assert_refused(&uneven, &["line 12", "505 nm after 490 nm"]);
}

#[test]
fn what_a_file_leaves_open_is_asked_and_never_taken_as_45_degrees() {
    let said = |aspecular: Option<f64>, scale| Said { aspecular: aspecular.map(Degrees), scale };
    let open = "name,L,a,b\ndoor,50,1,2\n";
    assert_eq!(question("f", open, Said::default(), false), Some(Question::Angle));
    let refused = Car::from_file("f.csv", open, Said::default()).unwrap_err().to_string();
    assert!(
        ["f.csv", "door without its angle", "\"aspecular_deg\": 45"].iter().all(|word| refused.contains(word)),
        "{refused}"
    );
    for at in ANGLES {
        let Car::Lab { lab, .. } = Car::from_file("f", open, said(Some(at), Scale::Unsaid)).unwrap() else {
            panic!("CIELAB")
        };
        assert_eq!(lab[0].0, Degrees(at));
    }
    assert_eq!(question("f", open, said(Some(15.0), Scale::Unsaid), false), None);
    // the file's own word comes first
    let known = Car::from_file("f", &open.replace("door", "door_as75"), said(Some(15.0), Scale::Unsaid)).unwrap();
    assert_eq!(known.angles(), [Degrees(75.0)]);
    // one answer does not tell two samples of a car apart, but cards may share it
    let two = format!("{open}roof,40,1,2\n");
    assert_eq!(
        (question("f", &two, Said::default(), false), question("f", &two, Said::default(), true)),
        (None, Some(Question::Angle))
    );

    let percent = table((400..=700).step_by(10), |nm| 100.0 * smooth(nm)).replace(",R", ",as45");
    assert_eq!(question("f", &percent, Said::default(), false), Some(Question::Scale));
    for (scale, white) in [(Scale::Percent, 1.0), (Scale::Factor, 100.0)] {
        match read_measured_as("card", &percent, said(None, scale)) {
            Ok(samples) => assert_near("scale", spectrum(&samples[0]).0[24], white * smooth(620.0), 1e-12),
            Err(_) => assert_eq!(scale, Scale::Factor, "45 is no factor"),
        }
    }
    let commented = format!("# factor\n{percent}");
    assert!(read_measured_as("card", &commented, said(None, Scale::Percent)).is_err(), "the file says factor");
    assert_eq!(question("f", &percent.replace("500,", "blue,"), Said::default(), false), None, "no answer helps");
}

#[test]
fn headings_of_bands_may_be_written_in_several_ways() {
    let sound = spectrum(&read(BY_SAMPLE)[1]);
    for (from, to) in [("nm", ""), ("nm", "R"), ("nm", "NM_"), ("nm", "SPECTRAL_"), ("# percent\nname\t", "name\t")] {
        let mut text = BY_SAMPLE.replace(from, to);
        if from.len() > 2 {
            text = text.replace("nm", "SPECTRAL_PCT");
        }
        assert_eq!(spectrum(&read(&text)[1]), sound, "{to}");
    }
    let text = (380..=730)
        .step_by(10)
        .fold(BY_SAMPLE.to_string(), |text, nm| text.replace(&format!("nm{nm}"), &format!("{nm} nm")));
    assert_eq!(spectrum(&read(&text)[1]), sound);
    let norm = CGATS.replace("NUMBER_OF_SETS 2", "SPECTRAL_NORM 100\nNUMBER_OF_SETS 2");
    assert_near("SPECTRAL_NORM", spectrum(&read(&norm)[1]).0[0], 0.01 * sound.0[0], 1e-15);
}

#[test]
fn steps_of_20_nm_are_interpolated() {
    // A midpoint of the cubic through four points h apart is off by at most 9/384 h^4 max|f''''|; the fourth derivative
    // of 1 / (1 + x^2) is at most 24, so here 9/384 * 24 * 0.4 * (20/60)^4 = 0.00278. Measured: 0.0015 from 380, 0.0022 from 390 nm.
    let read_at = |from: usize| read(&table((from..=730).step_by(20), smooth)).remove(0);
    let worst = |from: usize| {
        let given = spectrum(&read_at(from));
        (0..BANDS - 1).map(|band| (given.0[band] - smooth(wavelength(band).max(from as f64))).abs()).fold(0.0, f64::max)
    };
    for from in [380, 390] {
        assert!(worst(from) < 0.00278, "from {from}: off by {}", worst(from));
    }
    assert!(worst(390) > 1e-4 && worst(380) > 1e-4, "{} {}: not interpolated at all?", worst(390), worst(380));
    // a parabola is met everywhere, the ends too
    let parabola = |nm: f64| 0.2 + (nm - 500.0) * (nm - 500.0) / 1e5;
    let given = spectrum(&read(&table((380..=740).step_by(20), parabola))[0]);
    (0..BANDS).for_each(|band| assert_near("parabola", given.0[band], parabola(wavelength(band)), 1e-12));
}

#[test]
fn held_ends_are_the_folded_weights_of_e308() {
    let weights =
        read_spectra("weights", include_str!("../../src/colour/data/weights_E308style_10deg_10nm_380_730.csv"));
    let weights = weights.unwrap();
    let held = spectrum(&read(&table((400..=700).step_by(10), smooth))[0]);
    let xyz = Xyz::of(&held, Illuminant::D65, Observer::Degrees10);
    for (column, given) in [xyz.x, xyz.y, xyz.z].into_iter().enumerate() {
        let weight = &weights[column].1.0;
        let mut folded: Vec<f64> = weight[2..=32].to_vec();
        folded[0] += weight[0] + weight[1];
        folded[30] += weight[33] + weight[34] + weight[35];
        let expected: f64 = folded.iter().enumerate().map(|(i, w)| w * smooth(400.0 + 10.0 * i as f64)).sum();
        assert_near(&weights[column].0, given, expected, 1e-12 * 100.0);
    }
}

#[test]
fn bands_beyond_the_core_are_dropped_and_black_noise_is_black() {
    let wide = read(&table((360..=780).step_by(10), smooth));
    assert_eq!(spectrum(&wide[0]), Spectrum(std::array::from_fn(|band| smooth(wavelength(band)))));
    let black = read(&table((400..=700).step_by(10), |_| -0.004));
    assert_eq!(spectrum(&black[0]), Spectrum::constant(0.0));
}

#[test]
fn the_scale_is_said_not_guessed() {
    let percent = table((400..=700).step_by(10), |nm| 100.0 * smooth(nm));
    assert_refused(&percent, &["line 2", "where 1 is the perfect white", "# percent", "# factor"]);
    let flagged = [format!("# percent,\n{percent}"), percent.replace(",R\n", ",R %\n"), format!("{percent}#%\n")];
    for text in flagged {
        assert_near("per cent", spectrum(&read(&text)[0]).0[24], smooth(620.0), 1e-12);
    }
    let bright = table((400..=700).step_by(10), |_| 3.5);
    assert_refused(&bright, &["3.5", "2"]);
    assert_eq!(spectrum(&read(&format!("# factor\n{bright}"))[0]), Spectrum::constant(3.5));
    assert_refused(&format!("# factor\n{}", bright.replace("3.5", "35")), &["from 0 to 20"]);
    assert_refused(&percent.replace(",R\n", ",R %\n").replace("600,", "600,99"), &["2000 %", "line 22"]);
    let wrong = CXF.replacen("0.1324", "13.24", 1);
    assert_refused(&wrong, &["object door", "380 nm", "<!-- percent -->"]);
    assert_near(
        "CxF3",
        spectrum(&read(&wrong.replace("</cc:CxF>", "<!-- percent --></cc:CxF>"))[0]).0[0],
        0.1324,
        1e-12,
    );
    assert_refused(&CGATS.replacen("0.1324", "13.24", 1), &["line 13", "door as25", "380 nm", "# percent"]);
}

#[test]
fn wavelengths_that_do_not_fit_are_refused() {
    let sound = table((400..=700).step_by(10), smooth);
    let row = |nm: usize| format!("{nm},{}\n", smooth(nm as f64));
    assert_refused(&sound.replace(&row(500), ""), &["line 12", "510 nm after 490 nm", "even steps of 10 or 20 nm"]);
    assert_refused(&sound.replace(&row(500), &(row(500) + &row(500))), &["line 13", "500 nm after 500 nm"]);
    assert_refused(&sound.replace("500,", "502,"), &["502 nm after 490 nm"]);
    assert_refused(&table((400..=700).step_by(5), smooth), &["405 nm after 400 nm", "10 or 20 nm"]);
    assert_refused(&table((400..=700).rev().step_by(10), smooth), &["690 nm after 700 nm", "upwards"]);
    assert_refused(&table((395..=705).step_by(10), smooth), &["395 nm", "whole tens"]);
    assert_refused(&table((410..=700).step_by(10), smooth), &["410 to 700 nm", "400 to 700 nm"]);
    assert_refused(&table((400..=680).step_by(20), smooth), &["400 to 680 nm", "400 to 700 nm"]);
    assert_refused(&table(400..401, smooth), &["1 wavelengths", "400 to 700 nm"]);
    assert_refused(&sound.replace("500,", "blue,"), &["line 12", "blue", "a wavelength, nm"]);
    let headings = BY_SAMPLE.replace("nm500", "nm490");
    assert_refused(&headings, &["line 2", "second column", "nm490"]);
    assert_refused(&BY_SAMPLE.replace("nm500", "nm505"), &["line 2", "505 nm after 490 nm"]);
    assert_refused(&CGATS.replace("SPECTRAL_NM500", "DENSITY"), &["510 nm after 490 nm"]);
    assert_refused(&CXF.replace("Increment=\"10\"", "Increment=\"5\""), &["object door", "385 nm after 380 nm"]);
    assert_refused(&CXF.replace(" Increment=\"10\"", ""), &["Increment", "a wavelength, nm"]);
    let other = CXF.replace("ColorSpecification=\"as45\"", "ColorSpecification=\"as25\"").replacen("0.1324", "", 1);
    assert_refused(&other, &["object door", "36 values", "35 values"]);
}

#[test]
fn values_that_are_none_are_refused() {
    let sound = table((400..=700).step_by(10), |_| 0.5);
    for (cell, words) in [
        ("NaN", ["line 12", "NaN", "finite"]),
        ("inf", ["line 12", "inf", "finite"]),
        ("", ["line 12", "nothing", "finite"]),
        ("bright", ["line 12", "bright", "finite"]),
        ("-0.02", ["line 12", "-0.02", "not negative"]),
        ("0.5,0.5", ["line 12", "3 cells", "2 cells"]),
        ("\"0.5", ["line 12", "500", "quotes"]),
    ] {
        assert_refused(&sound.replace("500,0.5", &format!("500,{cell}")), &words);
    }
    assert_refused("name,L,a,b\nx,50,1\n", &["line 2", "3 cells", "4 cells"]);
    assert_refused("name,L,a,b\nx,50,1,\n", &["line 2", "(x)", "50 1 ", "L from 0 to 400"]);
    assert_refused("name,L,a,b\nx,-5,1,2\n", &["-5 1 2", "L from 0 to 400"]);
    assert_refused("name,L,a\nx,50,1\n", &["line 1", "L, a and b together"]);
    assert_refused("name,L,a,b,gloss\nx,50,1,2,90\n", &["line 1", "gloss", "aspecular_deg"]);
    assert_refused("name,L,a,b,aspecular_deg\nx,50,1,2,flat\n", &["line 2", "flat", "degrees"]);
    assert_refused("name,L,a,b,aspecular_deg\nx,50,1,2,200\n", &["line 2", "as200", "-90 to 180"]);
    assert_refused("name,L,a,b,aspecular_deg\nx_as45,50,1,2,25\n", &["x_as45", "as25", "as45", "one aspecular angle"]);
    assert_refused("L,a,b,illuminant\n50,1,2,D50\n", &["line 2", "D50", "D65, A or LED-B3"]);
    assert_refused("L,a,b,observer\n50,1,2,4\n", &["line 2", "4", "2 or 10 degrees"]);
}

#[test]
fn a_damaged_cgats_text_is_refused() {
    assert_refused(&CGATS.replace("NUMBER_OF_SETS 2", "NUMBER_OF_SETS 3"), &["2 sets", "3 sets", "NUMBER_OF_SETS"]);
    assert_refused(&CGATS.replace("FIELDS 39", "FIELDS 40"), &["39 fields", "40 fields", "NUMBER_OF_FIELDS"]);
    assert_refused(&CGATS.replace("FIELDS 39", "FIELDS many"), &["NUMBER_OF_FIELDS", "many", "whole number"]);
    assert_refused(&CGATS.replacen("0.1324", "", 1), &["77 values for 39 fields"]);
    assert_refused(&CGATS.replace("\"door as25\"", "door as25"), &["79 values for 39 fields", "quotes"]);
    assert_refused(&CGATS.replace("May\"", "May"), &["line 13", "quotes in pairs"]);
    assert_refused(&CGATS.replace("BEGIN_DATA_FORMAT", "DATA_FORMAT"), &["without fields", "END_DATA_FORMAT"]);
    assert_refused(CGATS.split("\nEND_DATA\n").next().unwrap(), &["BEGIN_DATA without END_DATA", "cut short"]);
    assert_refused(CGATS.split("END_DATA_FORMAT").next().unwrap(), &["without END_DATA_FORMAT", "cut short"]);
    assert_refused(CGATS.rsplit_once("BEGIN_DATA\n").unwrap().0, &["without values", "cut short"]);
    assert_refused(
        "CGATS.17\nBEGIN_DATA_FORMAT\nCMYK_C\nEND_DATA_FORMAT\nBEGIN_DATA\n5\nEND_DATA\n",
        &["no measured colour"],
    );
    assert_refused(&CGATS.replace("ILLUMINANT, D65", "ILLUMINANT, D50"), &["lid", "D50", "D65, A or LED-B3"]);
    assert_refused(&CGATS.replace("NUMBER_OF_SETS 2", "SPECTRAL_NORM 50"), &["SPECTRAL_NORM", "50", "100 (per cent)"]);
}

#[test]
fn damaged_xml_and_other_xml_is_refused() {
    assert_refused(CXF.split_at(CXF.len() / 2).0, &["XML with a fault", "well-formed"]);
    assert_refused("<html></html>", &["<html>", "<CxF> in namespace http://colorexchangeformat.com/CxF3-core"]);
    assert_refused(&CXF.replace("CxF3-core", "CxF2"), &["CxF2", "older CxF"]);
    let entity = "<!DOCTYPE CxF [<!ENTITY a \"aaaa\">]>";
    assert_refused(&CXF.replace("<cc:CxF ", &format!("{entity}<cc:CxF ")), &["XML with a fault", "DTD"]);
    assert_refused(&CXF.replace("Id=\"as45\"", "Id=\"x\""), &["object door", "\"as45\"", "does not hold"]);
    assert_refused(&CXF.replace("D65", "D50"), &["object lid_as-15", "D50", "D65, A or LED-B3"]);
    assert_refused(&CXF.replace("<cc:L>60.5</cc:L>", ""), &["object lid_as-15", "L from 0 to 400"]);
    assert_refused(&CXF.replace("Name=\"door\"", "Name=\"door_as75\""), &["as25", "as75", "one aspecular angle"]);
    assert_refused(&CXF.replace("Object", "Subject"), &["no measured colour"]);
}

#[test]
fn geometries_that_do_not_say_the_angle_leave_it_to_the_name() {
    let sphere = CXF.replace("<cc:MeasurementAngle>0</cc:MeasurementAngle>", "");
    assert_eq!(angle(&read(&sphere)[1]), None);
    let named = sphere.replace("Name=\"door\" Id=\"o45\"", "Name=\"door_as45\" Id=\"o45\"");
    assert_eq!(angle(&read(&named)[1]), Some(45.0));
    let reversed = CXF.replace(">45<", ">0<").replace(">-20<", ">-45<");
    assert_eq!(angle(&read(&reversed)[0]), Some(45.0));
}

#[test]
fn large_deep_and_empty_texts_are_refused() {
    assert_refused(&"x".repeat(2_000_001), &["2000001 bytes", "2 MB"]);
    assert_refused(&"<a>".repeat(600_000), &["XML with a fault"]);
    let deep = format!("{}{}", "<a>".repeat(190_000), "</a>".repeat(190_000));
    assert_refused(&deep, &["<a>"]);
    assert_refused("", &["nothing", "wavelength_nm"]);
    assert_refused("\u{feff}\n\n# only a comment\n", &["nothing", "CGATS.17"]);
    assert_refused("not a colour at all", &["not a colour at all", "CxF3"]);
    assert_refused("wavelength_nm\n400\n", &["400 to 700 nm"]);
    assert_refused(&table(0..0, smooth), &["0 wavelengths"]);
    let wide: String = (0..1001).map(|i| format!("c{i},")).collect();
    assert_refused(&format!("{wide}L,a,b\n"), &["1004 columns", "1000 columns"]);
}

/// A small generator of numbers that look random (Knuth's multiplier for 64 bits, from memory).
struct Dice(u64);

impl Dice {
    fn below(&mut self, end: usize) -> usize {
        self.0 = self.0.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1_442_695_040_888_963_407);
        (self.0 >> 33) as usize % end.max(1)
    }
}

/// The text with one damage: cut, a part lost, a part twice, or a letter changed.
fn damaged(text: &str, dice: &mut Dice) -> String {
    let letters: Vec<char> = text.chars().collect();
    let from = dice.below(letters.len() + 1);
    let to = (from + dice.below(40)).min(letters.len());
    let odd: Vec<char> = "\"<>#;,.-&\t\n %e9\0\u{e9}\u{feff}".chars().collect();
    let joined = |parts: [&[char]; 3]| parts.concat().into_iter().collect();
    match dice.below(4) {
        0 => joined([&letters[..from], &[], &[]]),
        1 => joined([&letters[..from], &letters[to..], &[]]),
        2 => joined([&letters[..to], &letters[from..], &[]]),
        _ => joined([&letters[..from], &[odd[dice.below(odd.len())]], &letters[(from + 1).min(letters.len())..]]),
    }
}

#[test]
fn damaged_texts_are_read_or_refused_with_a_full_message() {
    let mut dice = Dice(2026);
    let (mut sound, mut refused) = (0, 0);
    for text in ALL {
        for times in 0..520 {
            let mut harmed = damaged(text, &mut dice);
            for _ in 0..times % 3 {
                harmed = damaged(&harmed, &mut dice);
            }
            match read_measured("card", &harmed) {
                Ok(samples) => {
                    assert!(samples.iter().all(|sample| !sample.name.is_empty()));
                    sound += 1;
                }
                Err(problem) => {
                    let parts = [&problem.at, &problem.given, &problem.allowed, &problem.remedy];
                    assert!(parts.iter().all(|part| !part.trim().is_empty()), "{problem}");
                    assert!(problem.at.contains("card"), "{problem}");
                    refused += 1;
                }
            }
        }
    }
    assert!(sound > 60 && refused > 1500, "{sound} read, {refused} refused");
}
