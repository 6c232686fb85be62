//! What an eye would see of a film: the contrast sensitivity against its authors' figures, the octave bands against
//! closed forms, and both together on film maps whose answer is known. Does not test what the page says of it.

use crate::data::{assert_near, daylight, ground, numbers};
use fanlap::colour::demonstration::{ember, kelp};
use fanlap::colour::{Base, Geometry, Illuminant, Lab, Observer, ScreenSpace, Viewing, Xyz, delta_e00, through_tint};
use fanlap::eye::{
    ATTENDED, BAND_GAIN, BAND_PERIOD, Bands, Eye, FilmColour, Looking, Mechanism, Onlooker, Raster, Sensitivity,
    Visibility, cycles_per_degree,
};
use fanlap::maths::{atan2, cos, exp, log, pow};
use fanlap::panel::{Panel, Patch};
use fanlap::units::{Degrees, Metres, Micrometres, Millimetres};
use glam::{DMat3, DVec3};
use std::f64::consts::PI;
use std::sync::Arc;

const LABORATORY: Onlooker = Onlooker { eye: Eye::Laboratory, white: 300.0 };
const METRE: Metres = Metres(1.0);

/// Colour against film of the red paint at an aspecular angle.
fn red(aspecular: f64) -> FilmColour {
    let (paint, viewing) = (ember(), daylight(aspecular));
    let track = crate::data::track(&paint, &viewing, ScreenSpace::Srgb);
    let base = *ground(&paint, &viewing);
    let path = Geometry::new(viewing.aspecular).path_factor();
    let xyz = |film| Xyz::of(&through_tint(&base, &paint.absorption, film, path), Illuminant::D65, Observer::Degrees2);
    FilmColour::new(Micrometres(100.0), xyz, |film| track.slope(film))
}

/// The red paint's colour.
fn lab(aspecular: f64, film: f64) -> Lab {
    let (paint, viewing) = (ember(), daylight(aspecular));
    let path = Geometry::new(viewing.aspecular).path_factor();
    let seen = through_tint(ground(&paint, &viewing), &paint.absorption, Micrometres(film), path);
    Lab::of(&seen, viewing.illuminant, viewing.observer)
}

/// A flat panel's cells.
fn cells(length: f64, width: f64, cell: f64) -> Patch {
    let mm = Millimetres;
    let (crown_along, crown_across, slope) = (mm(0.0), mm(0.0), Degrees(0.0));
    let (length, width, cell, edge_band) = (mm(length), mm(width), mm(cell), mm(10.0));
    let (rim_radius, rim_angle) = (mm(0.0), Degrees(60.0));
    Panel { length, width, crown_along, crown_across, rim_radius, rim_angle, slope, cell, edge_band }.cells()
}

/// A film that depends on x alone, um.
fn along(patch: &Patch, film: impl Fn(f64) -> f64) -> Vec<f64> {
    (0..patch.rows * patch.columns).map(|i| film(patch.centre(i % patch.columns, i / patch.columns).x)).collect()
}

/// Stripes with a crest at x = 0, so that they go on through the mirror at the rim.
fn stripes(patch: &Patch, film: f64, amplitude: f64, period: f64) -> Vec<f64> {
    along(patch, |x| film + amplitude * cos(2.0 * PI * x / period))
}

fn most(values: impl IntoIterator<Item = f64>) -> f64 {
    values.into_iter().fold(0.0, |most: f64, value| most.max(value.abs()))
}

fn visibility(patch: &Patch, film: &[f64], eye: Eye) -> Visibility {
    Visibility::of(patch, film, red(45.0), Onlooker::well_lit(eye))
}

// The contrast sensitivity

#[test]
fn each_mechanism_has_the_authors_sensitivity() {
    // From the authors' program (github.com/gfxdisp/castleCSF), run in Octave: 1 cycle per degree, 400 deg2, 100 cd/m2.
    for (mechanism, expected) in Mechanism::ALL.into_iter().zip([352.171411, 579.886672, 60.417940]) {
        assert_near(&format!("{mechanism:?}"), mechanism.sensitivity(1.0, 400.0, 100.0), expected, 1e-5);
    }
}

#[test]
fn a_neutral_modulation_has_the_authors_sensitivity() {
    // 4 cycles per degree, 1 deg2, L + M = 104.97 cd/m2: 120.0644, had from the authors' program. The colours were not
    // noted with it; these are deduced: the only example in that program with this luminance, cones (0.7443, 0.3054,
    // 0.0157) times 100, and its stock neutral modulation. Sensitivity is the inverse of the rms cone contrast at
    // threshold. They give 120.095; their four digits leave that much open.
    let (background, modulation) = (DVec3::new(74.43, 30.54, 1.57), DVec3::new(0.6855, 0.2951, 0.0194));
    let to_xyz = DMat3::from_cols_array_2d(&[
        [0.187596268556126, 0.585168649077728, -0.026384263306304],
        [-0.133397430663221, 0.405505777260049, 0.034502127690364],
        [0.000244379021663, -0.000542995890619, 0.019406849066323],
    ])
    .transpose()
    .inverse();
    let xyz = |cones: DVec3| {
        let v = to_xyz * cones;
        Xyz { x: v.x, y: v.y, z: v.z }
    };
    let times = Sensitivity::threshold(xyz(background), xyz(modulation), 4.0, 1.0);
    let contrast = (times * modulation / background).length() / 3.0_f64.sqrt();
    assert_near("neutral", 1.0 / contrast, 120.0644, 0.04);
}

#[test]
fn nothing_is_seen_in_the_dark_or_of_nothing() {
    let (none, grey) = (Xyz { x: 0.0, y: 0.0, z: 0.0 }, Xyz { x: 95.0, y: 100.0, z: 109.0 });
    assert_eq!(Sensitivity::threshold(grey, none, 1.0, 400.0), f64::INFINITY);
    assert_eq!(Sensitivity::threshold(none, grey, 1.0, 400.0), f64::INFINITY);
    assert_eq!(Sensitivity::threshold(grey, grey, 0.0, 400.0), f64::INFINITY);
}

#[test]
fn stripes_of_the_red_paint_are_seen_from_the_computed_amplitudes() {
    let mut worst = 0.0_f64;
    for row in numbers(include_str!("../data/visibility/stripe_thresholds_red.csv")) {
        let (film, colour) = (Micrometres(row[0]), red(row[1]));
        let amplitude = colour.threshold(film, &LABORATORY, row[2], ATTENDED);
        worst = worst.max((amplitude / row[3] - 1.0).abs());
        // Four decimals are printed.
        assert_near(&format!("{row:?}, um"), amplitude, row[3], 1e-3 * row[3]);
        let (thin, thick) = (lab(row[1], row[0] - amplitude), lab(row[1], row[0] + amplitude));
        assert_near(&format!("{row:?}, dE00"), delta_e00(thin, thick), row[4], 1e-3 * row[4]);
        // The slope of the track stands for the whole step; of the widest it is off by up to 3 %.
        let by_slope = 2.0 * amplitude * colour.slope(film);
        assert_near(&format!("{row:?}, dE00 by slope"), by_slope, row[4], 0.03 * row[4]);
    }
    println!("stripe thresholds: worst relative deviation {worst:.1e}");
}

#[test]
fn the_mechanisms_share_the_red_stripes_as_computed() {
    let paint = ember();
    for row in numbers(include_str!("../data/visibility/stripe_thresholds_red.csv")) {
        let viewing = daylight(row[1]);
        let path = Geometry::new(viewing.aspecular).path_factor();
        let lit = |film: f64| {
            let seen = through_tint(ground(&paint, &viewing), &paint.absorption, Micrometres(film), path);
            let Xyz { x, y, z } = Xyz::of(&seen, Illuminant::D65, Observer::Degrees2);
            DVec3::new(x, y, z) * 3.0
        };
        let xyz = |v: DVec3| Xyz { x: v.x, y: v.y, z: v.z };
        let change = lit(row[0] + 0.05) - lit(row[0] - 0.05);
        let parts = Sensitivity::parts(xyz(lit(row[0])), xyz(change), row[2], ATTENDED).map(|part| part * part);
        for i in 0..3 {
            assert_near(&format!("{row:?}, {i}"), parts[i] / parts.iter().sum::<f64>(), row[5 + i], 5e-4);
        }
    }
}

#[test]
fn stripes_are_seen_from_a_distance_as_computed() {
    let colour = red(45.0);
    for row in numbers(include_str!("../data/visibility/stripe_period_distance_red35.csv")) {
        let (period, distance) = (Millimetres(row[0]), Metres(row[1] / 1000.0));
        assert_near(&format!("{row:?}, cpd"), cycles_per_degree(period, distance), row[2], 6e-5);
        let amplitude = colour.stripe_threshold(Micrometres(35.0), &LABORATORY, period, distance).0;
        assert_near(&format!("{row:?}, um"), amplitude, row[3], 1e-3 * row[3]);
    }
}

// The bands

#[test]
fn a_band_leaves_0_472470_of_a_stripe_of_its_period() {
    assert_near("gain", BAND_GAIN, pow(4.0, -1.0 / 3.0) - pow(4.0, -4.0 / 3.0), 1e-15);
    assert_near("period", BAND_PERIOD, PI * (6.0 / log(4.0)).sqrt(), 1e-14);
    let gain = |sigma: f64, period: f64| {
        let u = 2.0 * (PI * sigma / period) * (PI * sigma / period);
        exp(-u) - exp(-4.0 * u)
    };
    // One panel for the narrow Gaussians and one for the wide ones; the stripes fit twelve times.
    for (cell, band) in [(0.75, 0), (0.75, 1), (4.0, 2), (4.0, 4)] {
        for times in [0.7, 1.0, 1.5] {
            let sigma = 3.0 * f64::from(1 << band);
            let columns = (12.0 * BAND_PERIOD * times * sigma / cell).round();
            let patch = cells(columns * cell, 30.0 * cell, cell);
            let period = columns * cell / 12.0;
            let bands = Bands::of(&patch, &stripes(&patch, 20.0, 1.0, period));
            let band = (0..bands.count()).find(|k| bands.sigma(*k).0 == sigma).unwrap();
            for cell in 0..patch.columns * patch.rows {
                let expected = gain(sigma, period) * cos(2.0 * PI * patch.centre(cell % patch.columns, 0).x / period);
                assert_near(&format!("sigma {sigma}, {period}"), bands.value(band, cell), expected, 2e-5);
            }
        }
    }
}

#[test]
fn a_unit_step_gives_0_16134_in_every_band() {
    let patch = cells(3000.0, 4.0, 1.0);
    let bands = Bands::of(&patch, &along(&patch, |x| if x > 1500.0 { 1.0 } else { 0.0 }));
    for band in (0..bands.count()).filter(|band| bands.sigma(*band).0 < 200.0) {
        let values: Vec<f64> = (0..patch.columns).map(|cell| bands.value(band, cell)).collect();
        let (low, high) = values.iter().fold((0.0_f64, 0.0_f64), |(l, h), v| (l.min(*v), h.max(*v)));
        // Most of the normal distribution at z over that at z / 2. A cell is a third of the finest sigma.
        assert_near(&format!("band {band}"), high, 0.16134, if band == 0 { 1e-3 } else { 2e-4 });
        assert_near(&format!("band {band}"), low, -high, 1e-9);
    }
}

#[test]
fn the_bands_add_up_to_the_film_and_keep_its_sum() {
    let patch = cells(400.0, 251.0, 4.0);
    let film: Vec<f64> = (0..patch.columns * patch.rows).map(|i| ((i * 7919) % 101) as f64).collect();
    let bands = Bands::of(&patch, &film);
    for band in 0..bands.count() {
        let sum: f64 = (0..film.len()).map(|cell| bands.value(band, cell)).sum();
        // Gaussians end at 5.5 sigmas, and wide ones lie on fewer cells
        assert_near("sum of a band", sum / film.len() as f64, 0.0, 1e-7);
    }
}

/// Smoothing by plain sums over every cell and its mirror images.
fn smoothed_plainly(film: &[f64], patch: &Patch, sigma: f64, cell: usize) -> f64 {
    let reach = (8.0 * sigma / patch.cell.x) as isize;
    let fold = |i: isize, n: usize| {
        let i = i.rem_euclid(2 * n as isize) as usize;
        if i < n { i } else { 2 * n - 1 - i }
    };
    let weight = |i: isize, size: f64| exp(-0.5 * (i as f64 * size / sigma) * (i as f64 * size / sigma));
    let (column, row) = ((cell % patch.columns) as isize, (cell / patch.columns) as isize);
    let (mut sum, mut weights) = (0.0, 0.0);
    for j in -reach..=reach {
        for i in -reach..=reach {
            let w = weight(i, patch.cell.x) * weight(j, patch.cell.y);
            let at = fold(row + j, patch.rows) * patch.columns + fold(column + i, patch.columns);
            sum += w * film[at];
            weights += w;
        }
    }
    sum / weights
}

#[test]
fn the_quick_smoothing_is_the_plain_one() {
    let patch = cells(124.0, 80.0, 4.0);
    let film: Vec<f64> = (0..patch.columns * patch.rows).map(|i| ((i * 7919) % 101) as f64).collect();
    let bands = Bands::of(&patch, &film);
    for band in 0..bands.count() {
        for cell in [0, 17, 123, film.len() / 2, film.len() - 1] {
            let plain = smoothed_plainly(&film, &patch, 2.0 * bands.sigma(band).0, cell);
            // 1e-6 of a film that goes up to 100
            assert_near(&format!("band {band}, cell {cell}"), bands.surround(band, cell), plain, 1e-4);
        }
    }
}

#[test]
fn a_map_that_is_the_same_along_one_side_is_seen_the_same_from_one_cell_a_row() {
    let patch = cells(700.0, 501.0, 3.0);
    let film = |x: f64| 35.0 + 0.4 * cos(2.0 * PI * x / 118.0) + 0.2 * cos(x / 9.0) + if x > 300.0 { 0.5 } else { 0.0 };
    let profile: Vec<f64> = (0..patch.columns).map(|column| film(patch.centre(column, 0).x)).collect();
    let colour = Arc::new(red(45.0));
    let onlooker = Onlooker::well_lit(Eye::Trained);
    let raster = Raster::along(&patch, false);
    let once = Looking::at_film(raster, &profile, colour, onlooker).finish();
    let all = visibility(&patch, &along(&patch, film), Eye::Trained);
    for distance in [0.5, 1.0, 4.0].map(Metres) {
        let (row, map) = (once.map(distance), all.map(distance));
        for (cell, times) in map.iter().enumerate() {
            let expected = row[cell % patch.columns];
            assert_near(&format!("cell {cell}, {distance:?}"), *times, expected, 1e-9 + 1e-6 * expected);
        }
        let (one, other) = (once.at(40, distance).unwrap(), all.at(40 + 90 * patch.columns, distance).unwrap());
        assert_near("at a place", one.times, other.times, 1e-6 * other.times);
    }
}

// Both together

#[test]
fn stripes_at_their_threshold_are_just_seen() {
    for (band, distance) in [(2, 0.5), (3, 1.0), (3, 3.0), (4, 2.0)] {
        for between in [1.0, 2.0_f64.sqrt().sqrt(), 2.0_f64.sqrt()] {
            let columns = (8.0 * BAND_PERIOD * 3.0 * f64::from(1 << band) * between / 4.0).round();
            let patch = cells(columns * 4.0, 2000.0, 4.0);
            let period = Millimetres(columns * 4.0 / 8.0);
            let patch = Patch { rows: 40, ..patch };
            let colour = red(45.0);
            let onlooker = Onlooker::well_lit(Eye::Trained);
            // the panel's angles, at most 20 by 20 degrees
            let angle = |side: f64| 2.0 * atan2(side / 2000.0, distance).to_degrees();
            let area = (angle(columns * 4.0) * angle(160.0)).min(400.0);
            let cpd = cycles_per_degree(period, Metres(distance));
            let least = colour.threshold(Micrometres(35.0), &onlooker, cpd, area);
            let film = stripes(&patch, 35.0, least, period.0);
            let seen = most(Visibility::of(&patch, &film, colour, onlooker).map(Metres(distance)));
            println!("period {:.1} mm at {distance} m: seen {seen:.4} times", period.0);
            // Bands are weighed to give 1 at their own periods; between them the norm leaves a little.
            assert_near(&format!("{period:?} at {distance} m"), seen, 1.0, if between == 1.0 { 0.01 } else { 0.04 });
        }
    }
}

#[test]
fn a_ramp_hides_a_step_as_computed() {
    let patch = cells(2400.0, 80.0, 1.0); // just enough for the attended field of the table
    // every band over the threshold of the whole field, which the table takes for every step
    let step = |width: f64| {
        let film = along(&patch, |x| 35.0 + 0.1 * ((x - 1200.0) / width.max(1e-9)).clamp(-0.5, 0.5));
        let (bands, colour) = (Bands::of(&patch, &film), red(45.0));
        let full = |k| colour.stripe_threshold(Micrometres(35.0), &LABORATORY, bands.period(k), METRE).0;
        let thresholds: Vec<f64> = (0..bands.count()).map(full).collect();
        let joined = |cell: usize| {
            let band = |k: usize| pow(bands.value(k, cell).abs() / BAND_GAIN / thresholds[k], 4.0);
            pow((0..bands.count()).map(band).sum(), 0.25)
        };
        0.1 / most((0..patch.columns).map(joined))
    };
    let edge = step(0.0);
    println!("the least sharp step at 1 m: {edge:.3} um");
    for row in numbers(include_str!("../data/visibility/ramp_red35_1m.csv")) {
        let relative = step(row[0]) / edge;
        println!("ramp {} mm: {relative:.3}, table {}", row[0], row[4]);
        if row[0] <= 300.0 {
            // The channels of the table are not ours; both are models.
            assert_near(&format!("ramp of {} mm", row[0]), relative, row[4], 0.22 * row[4]);
        } else {
            // Wider than the 20 degrees the table was made for: ours still sees it in wider bands.
            assert!(relative > 12.0 && relative < row[4], "ramp of {} mm: {relative}", row[0]);
        }
    }
}

#[test]
fn a_uniform_film_shows_nothing() {
    let patch = cells(1000.0, 700.0, 4.0);
    let seen = visibility(&patch, &vec![35.0; patch.columns * patch.rows], Eye::Laboratory);
    assert!(most(seen.map(METRE)) < 1e-9);
    assert_eq!(seen.seen_from(5000, Metres(0.3), Metres(10.0)), None);
}

#[test]
fn the_mirror_image_is_seen_the_same() {
    let patch = cells(500.0, 300.0, 4.0);
    let film: Vec<f64> = (0..patch.columns * patch.rows).map(|i| 30.0 + ((i * 7919) % 101) as f64 / 10.0).collect();
    let turned: Vec<f64> = film.iter().rev().copied().collect();
    let (one, other) =
        (visibility(&patch, &film, Eye::Anyone).map(METRE), visibility(&patch, &turned, Eye::Anyone).map(METRE));
    for (one, other) in one.iter().zip(other.iter().rev()) {
        // how far a mark reaches is summed in blocks, counted from one corner
        assert_near("half a turn", *other, *one, 1e-3 * one.max(1.0));
    }
}

#[test]
fn it_shows_in_proportion_and_less_to_a_careless_eye() {
    let patch = cells(1000.0, 700.0, 4.0);
    let seen = |amplitude, eye| most(visibility(&patch, &stripes(&patch, 35.0, amplitude, 125.0), eye).map(METRE));
    assert_near("twice the amplitude", seen(0.2, Eye::Trained) / seen(0.1, Eye::Trained), 2.0, 0.01);
    assert_near("anyone", seen(0.1, Eye::Trained) / seen(0.1, Eye::Anyone), 2.0, 1e-9);
}

#[test]
fn a_place_is_seen_up_to_where_it_is_seen_once() {
    let patch = cells(1000.0, 700.0, 4.0);
    let seen = visibility(&patch, &stripes(&patch, 35.0, 0.6, 125.0), Eye::Trained);
    let crest = 87 * patch.columns + 125; // x = 502 mm
    let (nearest, farthest) = (Metres(0.3), Metres(100.0));
    let last = seen.seen_from(crest, nearest, farthest).unwrap();
    println!("stripes of 125 mm and 0.6 um are seen from up to {:.2} m", last.0);
    assert_near("once", seen.at(crest, last).unwrap().times, 1.0, 1e-6);
    assert!(seen.at(crest, Metres(1.1 * last.0)).unwrap().times < 1.0);
    assert_eq!(seen.seen_from(crest, nearest, Metres(0.9 * last.0)), Some(Metres(0.9 * last.0)));
    // the map and the place agree: thresholds are read from a table over film in the one, computed in the other, and the
    // map's wide bands are read between cells of their own, over the corner that the area of a mark has at every crest
    let sighting = seen.at(crest, METRE).unwrap();
    assert_near("map", seen.map(METRE)[crest], sighting.times, 2e-3 * sighting.times);
    // Of stripes of 125 mm the band of 78 mm holds less film than that of 157 mm and shows more.
    assert!((sighting.period.0 - 78.43).abs() < 0.01 && sighting.amplitude.0 > 0.4, "{sighting:?}");
    assert_near("dE00", sighting.delta_e00, 2.0 * sighting.amplitude.0 * 0.3665, 0.01);
}

#[test]
fn a_panel_smaller_than_any_band_shows_nothing() {
    let patch = cells(8.0, 8.0, 4.0);
    let seen = visibility(&patch, &[10.0, 20.0, 30.0, 40.0], Eye::Laboratory);
    assert_eq!((seen.periods().len(), seen.at(0, METRE), most(seen.map(METRE))), (0, None, 0.0));
}

/// A grey whose lightness alone follows the film, so that only the achromatic mechanism answers: 1 % of it a um.
fn grey() -> FilmColour {
    let xyz = |film: Micrometres| {
        let y = 40.0 * (1.0 - 0.01 * (film.0 - 35.0));
        Xyz { x: 0.95047 * y, y, z: 1.08883 * y }
    };
    FilmColour::new(Micrometres(100.0), xyz, |_| 0.1)
}

#[test]
fn the_attended_area_is_what_the_panel_fills_and_at_most_twenty_degrees_square() {
    let patch = cells(1400.0, 1100.0, 20.0);
    let seen = visibility(&patch, &vec![35.0; patch.columns * patch.rows], Eye::Trained);
    // at 10 m the panel is 8.0082 by 6.2968 degrees
    assert_near("from afar", seen.attended(Metres(10.0)), 8.0082 * 6.2968, 0.01);
    assert_near("from near by", seen.attended(METRE), 400.0, 1e-9);
}

#[test]
fn a_grating_a_single_stripe_and_a_cloud_of_one_contrast_are_seen_by_their_own_areas() {
    let (patch, sigma, mid) = (cells(1600.0, 1600.0, 8.0), 48.0, 800.0);
    let bell = |d: f64| exp(-0.5 * d * d / (sigma * sigma));
    let map = |shape: &dyn Fn(f64, f64) -> f64| -> Vec<f64> {
        let place = |i: usize| patch.centre(i % patch.columns, i / patch.columns);
        (0..patch.columns * patch.rows).map(|i| 35.0 + shape(place(i).x, place(i).y)).collect()
    };
    let onlooker = Onlooker::well_lit(Eye::Trained);
    // what the strongest band shows at the middle, over what it would show if it filled the field
    let against_full = |shape: &dyn Fn(f64, f64) -> f64, distance: f64| {
        let seen = Visibility::of(&patch, &map(shape), grey(), onlooker);
        let at = seen.at(100 * patch.columns + 100, Metres(distance)).unwrap();
        let cpd = cycles_per_degree(at.period, Metres(distance));
        let full = grey().threshold(Micrometres(35.0), &onlooker, cpd, seen.attended(Metres(distance)));
        (at.amplitude.0 / full / at.times, cpd)
    };
    for distance in [1.0, 3.0] {
        let (grating, _) = against_full(&|x, _| 0.5 * cos(2.0 * PI * (x - mid) / 313.7), distance);
        let (stripe, _) = against_full(&|x, _| bell(x - mid), distance);
        let (cloud, cpd) = against_full(&|x, y| bell(x - mid) * bell(y - mid), distance);
        println!(
            "{distance} m: grating {grating:.2}, stripe {stripe:.2}, cloud {cloud:.2} times the threshold of a full field"
        );
        assert!(grating < 1.1 && grating < 0.95 * stripe && stripe < 0.8 * cloud, "{grating} {stripe} {cloud}");
        // A bell of that width: twice its square's integral, 2 pi sigma^2, in square degrees, by the authors' law.
        let side = |mm: f64| mm / 1000.0 / distance * 180.0 / PI;
        let area = 2.0 * PI * side(sigma) * side(sigma);
        let luminance = 0.4 * 300.0;
        let sensitivity = |area: f64| Mechanism::Achromatic.sensitivity(cpd, area, luminance);
        let expected = sensitivity(400.0) / sensitivity(area);
        // The band's own bell is wider than the cloud's and has a rim of the other sign: a factor of 1.5.
        assert!(
            cloud > expected / 1.5 && cloud < 1.5 * expected,
            "{distance} m: {cloud}, by the area alone {expected}"
        );
    }
}

#[test]
fn the_gloss_of_a_bright_room_veils_stripes_as_computed_apart() {
    // Stripes of 100 mm from 1 m under 35 um, a surround of half and of all the white's luminance: how many times the
    // threshold without gloss, computed apart from this program from Fresnel's 4.0, 4.1 and 12.1 % and the same law.
    let mut worst = 0.0_f64;
    for (paint, aspecular, half, full) in
        [(kelp(), 45.0, 1.11, 1.23), (kelp(), 75.0, 1.20, 1.40), (kelp(), 110.0, 1.8, 2.6), (ember(), 45.0, 1.15, 1.29)]
    {
        let threshold = |surround_gloss: f64| {
            let viewing = Viewing { surround_gloss, ..daylight(aspecular) };
            let base = Base::Effect(ground(&paint, &viewing));
            let colour = FilmColour::over(base, &paint.absorption, &viewing, Micrometres(60.0));
            colour.stripe_threshold(Micrometres(35.0), &LABORATORY, Millimetres(100.0), METRE).0
        };
        for (gloss, expected) in [(0.5, half), (1.0, full)] {
            let times = threshold(gloss) / threshold(0.0);
            println!("{aspecular} deg, {gloss}: {times:.3}, {expected}");
            worst = worst.max((times / expected - 1.0).abs());
        }
    }
    assert!(worst < 0.04, "two digits were kept: {worst}");
}
