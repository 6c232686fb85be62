//! The spray-outs in the browser: cards, car, measured cards, the choice that goes on to the rehearsal, and the trials of
//! the gun. The core is asked beside the page; nothing here is a copied result.

use crate::driver::Page;
use fanlap::cards::{choose, own, report};
use fanlap::colour::demonstration::ember;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::{Car, Files, Job};
use fanlap::measured::Said;
use std::path::Path;

pub fn at_the_cards() -> Page {
    let page = Page::start();
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    page.goto("/?nosw");
    page.wait_until("document.documentElement.dataset.ready === 'yes'");
    page.execute("document.querySelector('#to-cards').click()");
    page.wait_until("document.querySelectorAll('#cards-row .card').length === 4");
    page
}

pub fn present_job(page: &Page) -> Job {
    let text = page.execute_async("import('/pkg/fanlap.js').then((m) => done(m.present_job()))");
    Job::read(text.as_str().expect("a job file"), &Files::none()).expect("the page holds a sound job")
}

pub fn text(page: &Page, selector: &str) -> String {
    let script = format!("return document.querySelector('{selector}').textContent");
    page.execute(&script).as_str().unwrap_or_default().to_string()
}

/// Chooses an option as a person does.
pub fn choose_option(page: &Page, id: &str, value: &str) {
    page.execute(&format!(
        "const s = document.querySelector('#{id}'); s.value = '{value}'; s.dispatchEvent(new Event('change', {{ bubbles: true }}))"
    ));
}

/// The figures of the table of cards: one list a card, without its coats.
fn table(page: &Page) -> Vec<Vec<String>> {
    let script = "return [...document.querySelectorAll('#cards-rows tr')].map((r) => [...r.cells].slice(1, 8).map((c) => c.textContent))";
    serde_json::from_value(page.execute(script)).expect("rows of texts")
}

/// Waits until the table shows what the core says of a job.
fn shows(page: &Page, job: &Job) {
    let report = report(job);
    let minus = |text: String| text.replace('-', "\u{2212}");
    let wanted: Vec<Vec<String>> = report
        .cards
        .iter()
        .map(|card| {
            let [l, a, b] = card.colour.lab;
            let whole = [l, a, b, card.colour.chroma, card.colour.hue_deg].map(|value| minus(format!("{value:.0}")));
            let off = card.delta_e00.map_or("\u{2013}".to_string(), |off| format!("{off:.1}"));
            let film = format!("{:.1}", card.film.mean_um);
            [film].into_iter().chain(whole).chain([off]).collect()
        })
        .collect();
    let script = format!(
        "JSON.stringify([...document.querySelectorAll('#cards-rows tr')].map((r) => [...r.cells].slice(1, 8).map((c) => c.textContent))) === {}",
        serde_json::to_string(&serde_json::to_string(&wanted).unwrap()).unwrap()
    );
    page.wait_until(&script);
    assert_eq!(table(page), wanted);
    assert_eq!(text(page, "#cards-text"), report.text);
}

#[test]
fn the_cards_are_the_cores_own_and_follow_paint_light_and_angle() {
    let page = at_the_cards();
    let mut job = EXAMPLES[0].job();
    shows(&page, &job);
    choose_option(&page, "cards-paint", "ember");
    let tinted = job.tinted().unwrap();
    job.paints[tinted].absorption = ember().absorption;
    job.ground.reflectance.0 = ember().ground;
    shows(&page, &job);
    choose_option(&page, "cards-light", "A");
    choose_option(&page, "cards-angle", "15");
    job = job.with("viewing.illuminant", &"A".into()).unwrap().with("viewing.aspecular_deg", &15.into()).unwrap();
    shows(&page, &job);
    assert_eq!(present_job(&page), job);
}

#[test]
fn every_card_has_a_colour_of_its_own_a_sticker_and_the_bare_base() {
    let page = at_the_cards();
    let colours = "[...document.querySelectorAll('.card-paint')].map((c) => getComputedStyle(c).backgroundColor)";
    let count = page.execute(&format!("return new Set({colours}).size"));
    assert_eq!(count.as_u64(), Some(4), "four films, four colours");
    let bases = "[...document.querySelectorAll('.card-base')].map((c) => getComputedStyle(c).backgroundColor)";
    assert_eq!(page.execute(&format!("return new Set({bases}).size")).as_u64(), Some(1), "one identical base");
    let fields =
        |of: &str| page.execute(&format!("return document.querySelectorAll('#cards-row {of}').length")).as_u64();
    assert_eq!(fields(".fields > span"), Some(12));
    choose_option(&page, "cards-sticker", "black_grey");
    page.wait_until("document.querySelectorAll('#cards-row .fields > span').length === 8");
}

#[test]
fn a_card_is_chosen_and_rehearsed() {
    let page = at_the_cards();
    page.execute("document.querySelector('.card input[value=\"1.5\"]').click()");
    page.wait_until("document.querySelector('#cards-rehearse').textContent === 'Rehearse with 1\u{bd} coats'");
    let wanted = choose(&present_job(&page), 1.5).unwrap();
    page.execute("document.querySelector('#cards-rehearse').click()");
    page.wait_until("document.body.dataset.place === 'rehearsal' && document.querySelector('#figure').offsetWidth > 0");
    let job = present_job(&page);
    assert_eq!(job, wanted);
    assert_eq!(job.coats.iter().map(|coat| coat.amount.0).collect::<Vec<_>>(), [0.5, 1.0]);
    page.execute("document.querySelector('#undo').click()");
    page.wait_until("document.querySelector('#undo').disabled === false || true");
    assert_eq!(present_job(&page).coats, EXAMPLES[0].job().coats);
}

#[test]
fn cards_are_added_and_taken_off_and_the_place_survives_a_reload() {
    let page = at_the_cards();
    choose_option(&page, "card-add", "3");
    page.wait_until("document.querySelectorAll('#cards-row .card').length === 5");
    page.execute("document.querySelector('.card-remove[data-coats=\"1\"]').click()");
    page.wait_until("document.querySelectorAll('#cards-row .card').length === 4");
    assert_eq!(present_job(&page).cards.ladder, [1.5, 2.0, 2.5, 3.0]);
    page.goto("/?nosw");
    page.wait_until("document.documentElement.dataset.ready === 'yes'");
    page.wait_until(
        "document.body.dataset.place === 'cards' && document.querySelectorAll('#cards-row .card').length === 4",
    );
    assert_eq!(present_job(&page).cards.ladder, [1.5, 2.0, 2.5, 3.0]);
}

/// Types into the fields of one row of a table.
pub fn type_row(page: &Page, body: &str, row: usize, values: &[&str]) {
    let values = serde_json::to_string(values).unwrap();
    page.execute(&format!(
        "const r = document.querySelectorAll('#{body} tr')[{row}], v = {values};
         [...r.querySelectorAll('.cell')].forEach((c, i) => {{ if (i < v.length) c.value = v[i]; }});
         r.querySelector('.cell').dispatchEvent(new Event('change', {{ bubbles: true }}))"
    ));
}

#[test]
fn the_cars_colour_is_typed_and_nonsense_changes_nothing() {
    let page = at_the_cards();
    choose_option(&page, "car-kind", "lab");
    page.wait_until("document.querySelectorAll('#car-rows tr').length === 3");
    assert_eq!(present_job(&page).car, None, "nothing is known of the car before it is typed");
    let typed = page.execute("return [...document.querySelectorAll('#car-rows .cell')].map((c) => c.value).join('')");
    assert_eq!(typed, "");
    page.wait_until("document.querySelector('#cards-text').textContent.startsWith('Type the car')");
    type_row(&page, "car-rows", 1, &["50,5", "\u{2212}44", "41"]);
    page.wait_until("document.querySelector('#car-trouble').textContent === ''");
    let job = present_job(&page);
    let Some(Car::Lab { lab, .. }) = &job.car else { panic!("{:?}", job.car) };
    assert_eq!((lab.len(), lab[0].1.l, lab[0].1.a), (1, 50.5, -44.0));
    shows(&page, &job);
    for wrong in [["50", "x", "41"], ["50", "", "41"], ["500", "0", "0"]] {
        type_row(&page, "car-rows", 1, &wrong);
        page.wait_until("document.querySelector('#car-trouble').textContent.includes('still used')");
        assert_eq!(present_job(&page), job, "{wrong:?}");
    }
    page.wait_until("document.querySelectorAll('#car-rows .cell[aria-invalid]').length === 1");
    // while the hand is in a row it may be incomplete
    type_row(&page, "car-rows", 1, &["50,5", "\u{2212}44", "41"]);
    page.wait_until("document.querySelector('#car-trouble').textContent === ''");
    page.execute(
        "const c = document.querySelectorAll('#car-rows tr')[2].querySelectorAll('.cell'); c[0].focus(); c[0].value = '30';
         c[0].dispatchEvent(new Event('change', { bubbles: true }))",
    );
    assert_eq!(text(&page, "#car-trouble"), "");
    page.execute("document.querySelector('#card-add').focus()");
    page.wait_until("document.querySelector('#car-trouble').textContent.includes('110')");
    assert_eq!(present_job(&page), job);
}

#[test]
fn where_nothing_can_be_compared_nothing_is_closest_and_the_words_say_what_to_choose() {
    let page = at_the_cards();
    let before = text(&page, "#cards-rehearse");
    choose_option(&page, "car-kind", "lab");
    page.wait_until("document.querySelectorAll('#car-rows tr').length === 3");
    type_row(&page, "car-rows", 1, &["58", "\u{2212}34", "38"]);
    page.wait_until("document.querySelector('#cards-rehearse').textContent === 'Rehearse with 1 coat'");
    choose_option(&page, "cards-light", "A");
    page.wait_until("document.querySelector('#cards-text').textContent.includes('Choose Daylight D65 and 45')");
    assert_eq!(text(&page, "#cards-rehearse"), before, "the card nearest to the target film");
    assert!(!text(&page, "#cards-row").contains("closest"));
    assert!(text(&page, "#car-name").contains("measured for D65"));
}

#[test]
fn one_card_alone_is_still_drawn_on_an_axis_from_no_coat() {
    let page = at_the_cards();
    for coats in ["1", "1.5", "2.5"] {
        page.execute(&format!("document.querySelector('.card-remove[data-coats=\"{coats}\"]').click()"));
        page.wait_until(&format!("!document.querySelector('.card-remove[data-coats=\"{coats}\"]')"));
    }
    // ink of the curve, in the left and in the right half of the graph
    let script = "const c = document.querySelector('#cards-graph'), k = c.getContext('2d');
         const ink = (from, to) => { const d = k.getImageData(from * c.width, 0.1 * c.height, (to - from) * c.width, 0.7 * c.height).data;
           let n = 0; for (let i = 0; i < d.length; i += 4) if (d[i] < 60 && d[i + 3] > 200) n += 1; return n; };
         return [ink(0.2, 0.5), ink(0.6, 0.95)]";
    let ink: Vec<u64> = serde_json::from_value(page.execute(script)).unwrap();
    assert!(ink.iter().all(|ink| *ink > 60), "{ink:?}");
}

/// Gives a file to a hidden input, as the file dialog would.
pub fn give(page: &Page, id: &str, name: &str, content: &str) {
    page.execute(&format!(
        "const t = new DataTransfer(); t.items.add(new File([{}], {})); const i = document.querySelector('#{id}');
         i.files = t.files; i.dispatchEvent(new Event('change', {{ bubbles: true }}))",
        serde_json::to_string(content).unwrap(),
        serde_json::to_string(name).unwrap()
    ));
}

fn sample(name: &str) -> String {
    let path = Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("tests/data/colour/measured").join(name);
    std::fs::read_to_string(path).expect("the sample lies there")
}

#[test]
fn the_cars_colour_comes_from_files_and_a_bad_one_is_refused_with_its_reason() {
    let page = at_the_cards();
    for name in ["multiangle.cxf", "by_wavelength.csv"] {
        give(&page, "car-file", name, &sample(name));
        page.wait_until("document.querySelector('#car-kind').value === 'spectra'");
        let wanted = Car::from_file(name, &sample(name), Said::default()).unwrap();
        page.wait_until("document.querySelector('#car-trouble').textContent === ''");
        let mut seen = present_job(&page).car;
        for _ in 0..50 {
            if seen.as_ref() == Some(&wanted) {
                break;
            }
            seen = present_job(&page).car;
        }
        assert_eq!(seen, Some(wanted), "{name}");
    }
    let before = present_job(&page);
    give(&page, "car-file", "holiday.txt", "no colour at all");
    page.wait_until("document.querySelector('#car-trouble').textContent.includes('holiday.txt')");
    assert_eq!(present_job(&page), before);
}

#[test]
fn measured_cards_are_typed_fitted_and_taken_as_the_jobs_paint() {
    let page = at_the_cards();
    page.execute("document.querySelector('#measured-open').click()");
    page.wait_until("document.querySelectorAll('#measured-rows tr').length === 3");
    for (row, values) in
        [["0", "58.5", "20.2", "49.3", ""], ["1", "46.4", "39.5", "36.1", "17"], ["3", "34.7", "54.6", "27.4", ""]]
            .iter()
            .enumerate()
    {
        type_row(&page, "measured-rows", row, values);
    }
    page.wait_until("document.querySelector('#measured-words').textContent.includes('17 \u{b5}m, as gauged')");
    assert!(text(&page, "#measured-doubts").contains("one light"), "L*a*b* alone is doubted under other lights");
    type_row(&page, "measured-rows", 2, &["3", "34.7", "", "27.4", ""]);
    page.wait_until("document.querySelector('#measured-trouble').textContent.includes('a* of reading 3 is missing')");
    let job = present_job(&page);
    assert_eq!(job.measured.as_ref().unwrap().cards.len(), 3, "the last good readings stay");
    let wanted = own::take(&job, &own::fit(&job).unwrap().unwrap()).unwrap();
    page.execute("document.querySelector('#measured-use').click()");
    page.wait_until("document.querySelector('#cards-paint').value === 'own'");
    let taken = present_job(&page);
    let tinted = taken.tinted().unwrap();
    for (seen, fitted) in taken.paints[tinted].absorption.0.iter().zip(wanted.paints[tinted].absorption.0) {
        assert!((seen - fitted).abs() < 1e-12, "{seen} {fitted}");
    }
}

#[test]
fn the_gun_is_fitted_to_a_test_card_and_flooded() {
    let page = at_the_cards();
    page.execute("document.querySelector('#to-rehearsal').click(); document.querySelector('#more').click()");
    page.execute("document.querySelector('details:has(#flood-graph) summary').click()");
    page.wait_until("document.querySelector('#flood-words').textContent.includes('runs')");
    page.execute("document.querySelector('#test-card-begin').click()");
    page.wait_until("!document.querySelector('#test-card-body').hidden");
    let job = present_job(&page);
    let card = job.test_card.clone().unwrap();
    let mut other = job.gun.clone();
    (other.fan_width.0, other.pass_exponent) = (280.0, 1.5);
    let middle = fanlap::units::Millimetres(0.0);
    let lines: Vec<String> = (-8..=8)
        .map(|i| {
            let at = fanlap::units::Millimetres(f64::from(i) * 20.0);
            format!("{} {:.3}", at.0, card.laid_by(&other, middle, at).0)
        })
        .collect();
    let type_lines = |text: &str| {
        page.execute(&format!(
            "const t = document.querySelector('#test-card-readings'); t.value = {}; t.dispatchEvent(new Event('change', {{ bubbles: true }}))",
            serde_json::to_string(text).unwrap()
        ));
    };
    type_lines(&lines.join("\n"));
    page.wait_until("!document.querySelector('#test-card-use').disabled");
    type_lines("-100 2\nten 3");
    page.wait_until("document.querySelector('#test-card-trouble').textContent.includes('Line 2')");
    assert_eq!(present_job(&page).test_card.unwrap().readings.len(), 17, "the last good readings stay");
    page.execute("document.querySelector('#test-card-use').click()");
    page.wait_until("document.querySelector('#said').textContent.includes('fitted gun')");
    let gun = present_job(&page).gun;
    assert!((gun.fan_width.0 - 280.0).abs() < 1.0 && (gun.pass_exponent - 1.5).abs() < 0.05, "{gun:?}");
}

#[test]
fn nothing_is_cut_off_or_outside_the_window() {
    for (width, height) in [(1366, 768), (1920, 1080), (1024, 768), (390, 844)] {
        let page = at_the_cards();
        page.set_viewport(width, height);
        page.wait_until(&format!("Math.abs(innerWidth - {width}) < 2"));
        let sound = |what: &str| {
            let wide = page.execute("return document.documentElement.scrollWidth - innerWidth");
            assert!(wide.as_f64().unwrap() <= 0.0, "{width} {what}: {wide} px too wide");
            let cut = page.execute(
                "return [...document.querySelectorAll('.card-name, .card-state, .card-film, .card-off, #cards-tools *, .place, #cards-settings, .cell')]
                   .filter((e) => e.scrollWidth > e.clientWidth + 1 && getComputedStyle(e).display !== 'inline' && e.clientWidth > 1)
                   .map((e) => e.className + ' ' + e.id + ' ' + e.textContent.trim() + (e.value ?? ''))",
            );
            assert_eq!(cut.as_array().map(Vec::len), Some(0), "{width} {what}: {cut}");
        };
        sound("four cards");
        choose_option(&page, "car-kind", "lab");
        page.wait_until("document.querySelectorAll('#car-rows tr').length === 3");
        type_row(&page, "car-rows", 0, &["75.25", "\u{2212}30.15", "55.75"]);
        type_row(&page, "car-rows", 1, &["50.25", "\u{2212}44.15", "41.75"]);
        for coats in ["3", "3.5", "4", "5"] {
            choose_option(&page, "card-add", coats);
        }
        page.wait_until("document.querySelectorAll('#cards-row .card').length === 8");
        page.execute("document.querySelector('.card input[value=\"2\"]').click()");
        page.wait_until(
            "document.querySelector('.card-state').parentElement.parentElement.textContent.includes('chosen')",
        );
        sound("eight cards");
        page.execute("document.querySelector('#measured-open').click()");
        page.wait_until("document.querySelectorAll('#measured-rows tr').length === 3");
        type_row(&page, "measured-rows", 0, &["0", "58.52", "\u{2212}20.21", "\u{2212}49.33", ""]);
        type_row(&page, "measured-rows", 1, &["1.5", "46.41", "\u{2212}39.55", "36.12", "17.12"]);
        page.wait_until("document.querySelectorAll('#measured-rows tr[data-card]').length === 2");
        page.wait_until("document.querySelectorAll('#measured-rows .off')[1].textContent !== ''");
        sound("measured cards");
    }
}
