//! The rehearsal in the browser: controls, views, time, readings, what is kept, and that the page's numbers are the
//! core's own. The core is asked beside the page; nothing here is a copied result.

use crate::driver::{Page, Pointer, keys};
use fanlap::appraisal::appraise;
use fanlap::job::examples::EXAMPLES;
use fanlap::job::{Files, Job};
use fanlap::rehearsal::rehearse;
use fanlap::report::{Report, report};
use serde_json::Value;

/// The page at rest: the example finished, nothing playing, the full grid shown.
pub fn at_rest() -> Page {
    let page = Page::start();
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    page.goto("/?nosw");
    page.wait_until("document.documentElement.dataset.ready === 'yes'");
    settled(&page, &expected(&EXAMPLES[0].job()).film["tinted"].interior.mean_um);
    page
}

pub fn expected(job: &Job) -> Report {
    report(&appraise(job))
}

/// A reading of the finished job by its label.
pub fn reading(page: &Page, label: &str) -> String {
    let script = format!(
        "const row = [...document.querySelectorAll('#readings-rows tr')].find((r) => r.cells[0].textContent === '{label}');
         return row ? row.querySelector('.finished').textContent : '';"
    );
    page.execute(&script).as_str().unwrap_or_default().to_string()
}

/// Waits until the mean film is what the core says, to the digit shown, on the full grid.
fn settled(page: &Page, mean_um: &f64) {
    let script = format!(
        "[...document.querySelectorAll('#readings-rows tr')].some((r) => r.cells[0].textContent === 'Film, mean'
         && r.querySelector('.finished').textContent === '{mean_um:.1}')
         && document.querySelector('#stage').dataset.grid === 'full'"
    );
    page.wait_until(&script);
}

pub fn present_job(page: &Page) -> Job {
    let text = page.execute_async("import('/pkg/fanlap.js').then((m) => done(m.present_job()))");
    Job::read(text.as_str().expect("a job file"), &Files::none()).expect("the page holds a sound job")
}

/// Pixels of the panel's picture, thinned out.
pub fn picture(page: &Page) -> Vec<u8> {
    let script =
        "const c = document.querySelector('#paint'), d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data;
         const out = []; for (let i = 0; i < d.length; i += 4 * 997) out.push(d[i], d[i + 1], d[i + 2]); return out;";
    let list = page.execute(script);
    list.as_array().expect("pixels").iter().map(|v| v.as_u64().unwrap_or(0) as u8).collect()
}

#[test]
fn it_opens_on_a_bonnet_being_sprayed() {
    let page = Page::open("/?nosw");
    assert_eq!(page.find("#play").attribute("aria-label").as_deref(), Some("Pause"));
    let clock = page.find("#clock").text();
    page.wait_until(&format!("document.querySelector('#clock').textContent !== '{clock}'"));
    let controls = page.execute("return document.querySelectorAll('#main-controls input[type=range]').length;");
    assert_eq!(controls, 4, "the four main controls stand beside it");
    assert!(!page.find("#notice").is_displayed(), "nothing stands in the way");
    page.assert_no_errors();
}

#[test]
fn each_main_control_changes_the_readings_as_the_core_says() {
    let page = at_rest();
    let controls = [
        ("coats-distance_mm", "distance_mm", 260.0),
        ("gun-fan_width_mm", "fan", 300.0),
        ("coats-overlap", "overlap", 0.5),
        ("coats-speed_mm_per_s", "speed_mm_per_s", 400.0),
    ];
    let mut job = EXAMPLES[0].job();
    for (name, key, value) in controls {
        let id = format!("main-{}-slide", name.replace("coats-", "coats---"));
        page.execute(&format!(
            "const s = document.getElementById('{id}'); s.value = {value};
             s.dispatchEvent(new Event('input', {{ bubbles: true }})); s.dispatchEvent(new Event('change', {{ bubbles: true }}));"
        ));
        let set = |job: Job, path: String| job.with(&path, &value.into()).expect("within its limits");
        job = match key {
            "fan" => set(job, "gun.fan_width_mm".into()),
            key => (0..2).fold(job, |job, coat| set(job, format!("coats[{coat}].{key}"))),
        };
        let wanted = expected(&job);
        settled(&page, &wanted.film["tinted"].interior.mean_um);
        let film = wanted.film["tinted"].interior;
        assert_eq!(reading(&page, "Least to most"), format!("{:.1}\u{2013}{:.1}", film.min_um, film.max_um), "{key}");
        assert_eq!(reading(&page, "Spread (sd)"), format!("{:.1}", film.sd_um), "{key}");
        assert_eq!(reading(&page, "Colour, mean"), format!("{:.1}", wanted.colour.delta_e00.mean), "{key}");
        assert_eq!(reading(&page, "Paint sprayed"), format!("{:.0}", wanted.paint["tinted"].sprayed_ml), "{key}");
        assert_eq!(present_job(&page), job, "{key}");
    }
    page.assert_no_errors();
}

/// JSON with every number as one kind: a browser writes 1.0 as 1.
fn plain(value: &Value) -> Value {
    match value {
        Value::Array(items) => items.iter().map(plain).collect(),
        Value::Object(map) => Value::Object(map.iter().map(|(key, item)| (key.clone(), plain(item))).collect()),
        value => value.as_f64().map_or(value.clone(), Value::from),
    }
}

#[test]
fn the_pages_numbers_and_its_film_are_the_native_programs_bit_for_bit() {
    let page = at_rest();
    let mut job = EXAMPLES[1].job();
    job.hand.arc.0 = 12.0;
    job.hand.heel.0 = -6.0;
    job.hand.drag.0 = 9.0;
    job.hand.slow_at_ends.0 = 0.3;
    let text = serde_json::to_string(&job.text()).expect("text");
    let seen = page.execute_async(&format!("import('/pkg/fanlap.js').then((m) => done(m.rehearse({text})))"));
    assert_eq!(
        plain(&seen),
        plain(&serde_json::to_value(fanlap::report::in_full(&appraise(&job))).expect("a report")),
        "the report"
    );
    same_film(&page, &job);
}

/// The page and the native program lay the same film, every bit of it: an FNV-1a hash over them, computed on both sides.
pub fn same_film(page: &Page, job: &Job) {
    let text = serde_json::to_string(&job.text()).expect("text");
    let hash = page.execute_async(&format!(
        "import('/pkg/fanlap.js').then((m) => {{
           const bytes = new Uint8Array(m.film({text}).buffer); let h = 0xcbf29ce484222325n;
           for (const b of bytes) h = ((h ^ BigInt(b)) * 0x100000001b3n) & 0xffffffffffffffffn;
           done(h.toString(16)); }})"
    ));
    let bytes = rehearse(job).film(0).into_iter().flat_map(f64::to_le_bytes);
    let native = bytes.fold(0xcbf2_9ce4_8422_2325_u64, |h, b| (h ^ u64::from(b)).wrapping_mul(0x100_0000_01b3));
    assert_eq!(hash, format!("{native:x}"));
}

#[test]
fn play_moves_the_gun_and_pause_stops_it() {
    let page = at_rest();
    page.find("#to-start").click();
    page.find("#play").click();
    let gun = |page: &Page| page.execute("return document.querySelector('#stage').dataset.gun;");
    page.wait_until("(document.querySelector('#stage').dataset.gun || '').length > 0");
    let first = gun(&page);
    page.wait_until(&format!("document.querySelector('#stage').dataset.gun !== {first}"));
    page.find("#play").click();
    let still = page.find("#clock").text();
    page.execute_async("setTimeout(done, 300)");
    assert_eq!(page.find("#clock").text(), still, "paused");
    // half a second at 1x is half a second of the job
    let place = |page: &Page| {
        page.execute("return Number(document.querySelector('#stage').dataset.time);").as_f64().unwrap_or(0.0)
    };
    let before = place(&page);
    let took = page.execute_async(
        "const b = document.querySelector('#play'), t = performance.now(); b.click();
         setTimeout(() => { b.click(); done((performance.now() - t) / 1000); }, 700)",
    );
    let (ran, took) = (place(&page) - before, took.as_f64().expect("seconds"));
    assert!((ran - took).abs() < 0.15, "ran {ran} s of the job in {took} s");
    page.assert_no_errors();
}

#[test]
fn passes_can_be_stepped_and_time_can_be_dragged() {
    let page = at_rest();
    page.find("#to-start").click();
    page.wait_until("document.querySelector('#clock').textContent.startsWith('0:00')");
    for pass in ["pass 1 of 13", "pass 2 of 13"] {
        page.find("#step-on").click();
        page.wait_until(&format!("document.querySelector('#time').getAttribute('aria-valuetext').includes('{pass}')"));
        let gun = page.execute("return document.querySelector('#stage').dataset.gun;");
        assert!(gun.as_str().is_some_and(|gun| !gun.is_empty()), "the gun is seen at every step");
    }
    page.find("#step-back").click();
    page.wait_until("document.querySelector('#time').getAttribute('aria-valuetext').includes('pass 1 of 13')");
    let time = page.find("#time");
    page.drag(Pointer::Mouse, &[time.point(0.005, 0.5), time.point(0.3, 0.5), time.point(0.72, 0.5)], 120);
    page.wait_until("document.querySelector('#time').getAttribute('aria-valuetext').includes('coat 2 of 2')");
    page.find("#to-end").click();
    page.wait_until("document.querySelector('#time').getAttribute('aria-valuetext').includes('finished')");
}

#[test]
fn the_three_views_differ_and_are_not_blank() {
    let page = at_rest();
    let mut pictures = Vec::new();
    for view in ["paint", "film", "difference"] {
        page.execute(&format!("document.querySelector('input[name=view][value={view}]').click();"));
        page.execute_async("requestAnimationFrame(() => requestAnimationFrame(done))");
        let pixels = picture(&page);
        let kinds: std::collections::BTreeSet<&[u8]> = pixels.chunks(3).collect();
        assert!(kinds.len() > 8, "{view} is blank: {} colours", kinds.len());
        pictures.push(pixels);
    }
    assert!(pictures[0] != pictures[1] && pictures[1] != pictures[2] && pictures[0] != pictures[2]);
}

#[test]
fn the_keyboard_alone_reaches_and_changes_every_control() {
    let page = at_rest();
    let mut reached = std::collections::BTreeSet::new();
    for _ in 0..70 {
        page.press(&[keys::TAB]);
        let id = page.execute("const a = document.activeElement; return a.id || a.name || a.className || a.tagName;");
        reached.insert(id.as_str().unwrap_or_default().to_string());
    }
    for id in [
        "job-title",
        "figure",
        "hold",
        "section-handle",
        "play",
        "time",
        "speed",
        "more",
        "tab-readings",
        "main-coats---overlap",
        "main-coats---overlap-slide",
        "main-gun-fan_width_mm",
        "light",
        "angle",
        "help-open",
    ] {
        assert!(reached.contains(id), "{id} is not reached by Tab: {reached:?}");
    }
    // an arrow on the slider, a typed number, a key of the figure
    page.execute("document.querySelector('#main-coats---overlap-slide').focus();");
    page.press(&[keys::RIGHT]);
    page.wait_until("document.querySelector('#main-coats---overlap').value === '61'");
    page.execute("const f = document.querySelector('#main-coats---speed_mm_per_s'); f.focus(); f.select();");
    page.find("#main-coats---speed_mm_per_s").type_keys("640\u{e007}");
    page.wait_until("document.querySelector('#main-coats---speed_mm_per_s-slide').value === '640'");
    assert_eq!(present_job(&page).coats[1].speed.0, 640.0);
    page.execute("document.querySelector('#figure').focus();");
    page.press(&['2']);
    page.wait_until("document.querySelector('input[name=view][value=film]').checked");
    page.press(&[keys::RIGHT]);
    page.wait_until("!document.querySelector('#callout').hidden");
    let said = page.find("#callout").text();
    assert!(said.contains("laid"), "{said}");
    page.press(&[' ']);
    page.wait_until("document.querySelector('#play').getAttribute('aria-label') === 'Pause'");
    page.assert_no_errors();
}

#[test]
fn the_probe_says_what_the_core_says() {
    let page = at_rest();
    let paint = page.find("#paint");
    page.hover(&[paint.point(0.5, 0.5)], 50);
    page.wait_until("!document.querySelector('#callout').hidden");
    let value: f64 = page.find("#callout [data-part=value]").text().parse().expect("a number");
    let film = expected(&EXAMPLES[0].job()).film["tinted"].panel;
    assert!(value >= film.min_um - 0.1 && value <= film.max_um + 0.1, "{value}");
    let laid = page.find("#callout [data-part=text]").text();
    // what the passes laid adds up to the film
    let sum: f64 = laid
        .lines()
        .filter_map(|line| line.split(" laid ").nth(1))
        .map(|list| {
            let coats = if list.contains("each") { 2.0 } else { 1.0 };
            let films = list.trim_end_matches('.').trim_end_matches(" each").trim_end_matches(" \u{b5}m").split(", ");
            coats * films.map(|um| um.parse::<f64>().expect("a film")).sum::<f64>()
        })
        .sum();
    assert!((sum - value).abs() < 0.5, "{sum} against {value}: {laid}");
}

#[test]
fn undo_and_redo_go_back_and_forth() {
    let page = at_rest();
    let first = present_job(&page);
    page.execute("document.querySelector('#main-coats---overlap-slide').focus();");
    page.press(&[keys::RIGHT]);
    page.wait_until("!document.querySelector('#undo').disabled");
    let second = present_job(&page);
    assert_ne!(first, second);
    page.find("#undo").click();
    page.wait_until("!document.querySelector('#redo').disabled");
    assert_eq!(present_job(&page), first);
    page.find("#redo").click();
    page.wait_until("document.querySelector('#redo').disabled");
    assert_eq!(present_job(&page), second);
}

#[test]
fn a_reload_keeps_the_job_and_the_settings_of_the_page() {
    let page = at_rest();
    page.execute("document.querySelector('#main-coats---overlap-slide').focus();");
    page.press(&[keys::RIGHT, keys::RIGHT]);
    page.wait_until("document.querySelector('#main-coats---overlap').value === '62'");
    page.execute("document.querySelector('input[name=units][value=us]').click();");
    page.execute("document.querySelector('input[name=view][value=film]').click();");
    page.wait_until("document.querySelector('#main-gun-fan_width_mm').value === '9.8'");
    let job = present_job(&page);
    page.refresh();
    page.wait_until("document.documentElement.dataset.ready === 'yes'");
    page.wait_until("document.querySelector('#main-gun-fan_width_mm').value === '9.8'");
    assert_eq!(present_job(&page), job);
    assert_eq!(page.execute("return document.querySelector('input[name=view][value=film]').checked;"), true);
    assert_eq!(page.execute("return document.querySelector('#undo').disabled;"), false, "undo survives");
}

#[test]
fn a_link_carries_the_whole_job() {
    let page = at_rest();
    let mut job = EXAMPLES[1].job();
    job.title = "From a link, \u{fc}ber \u{394}".to_string();
    page.goto(&format!("/?nosw&again#job={}", job.link()));
    page.wait_until("document.documentElement.dataset.ready === 'yes'");
    assert_eq!(present_job(&page), job);
    assert_eq!(page.find("#job-title").property("value"), Value::from(job.title.as_str()));
}

#[test]
fn a_broken_link_or_file_is_refused_and_the_last_job_stays() {
    let page = at_rest();
    let before = present_job(&page);
    page.execute("location.hash = '#job=AAAA';");
    page.wait_until("!document.querySelector('#notice').hidden");
    assert!(page.find("#notice").text().contains("link"), "{}", page.find("#notice").text());
    assert_eq!(present_job(&page), before);
    page.execute(
        "const file = new File(['{ \"fanlap_job\": 1, \"coats\": [ { \"overlap\": 1.4 } ] }'], 'tomorrow.json');
         const list = new DataTransfer(); list.items.add(file); const input = document.querySelector('#file-input');
         input.files = list.files; input.dispatchEvent(new Event('change', { bubbles: true }));",
    );
    page.wait_until("document.querySelector('#notice').textContent.includes('coats[0].overlap')");
    let said = page.find("#notice").text();
    for part in ["tomorrow.json", "1.4", "0 to 0.9"] {
        assert!(said.contains(part), "{part} is missing: {said}");
    }
    assert_eq!(present_job(&page), before);
}

#[test]
fn a_typed_value_out_of_range_says_what_is_allowed_and_changes_nothing() {
    let page = at_rest();
    let before = present_job(&page);
    page.execute("const f = document.querySelector('#main-coats---overlap'); f.focus(); f.select();");
    page.find("#main-coats---overlap").type_keys("96\u{e007}");
    page.wait_until("document.querySelector('#main-coats---overlap').getAttribute('aria-invalid') === 'true'");
    let said = page.find("#main-controls .wrong .trouble").text();
    for part in ["96 %", "0 to 90 %", "still uses 60 %"] {
        assert!(said.contains(part), "{part} is missing: {said}");
    }
    assert_eq!(present_job(&page), before);
    // it stands clear of the slider's marks and of the next control
    for (width, height) in [(1366, 768), (1920, 1080), (1024, 768), (390, 844)] {
        page.set_viewport(width, height);
        page.execute_async("setTimeout(done, 250)");
        let clear = page.execute(
            "const c = document.querySelector('#main-controls .wrong'), t = c.querySelector('.trouble').getBoundingClientRect();
             const marks = [...c.querySelectorAll('.tick span')].map((m) => m.getBoundingClientRect().bottom);
             const next = c.nextElementSibling.querySelector('.control-label').getBoundingClientRect().top;
             return t.height > 8 && Math.max(...marks) <= t.top + 1 && t.bottom <= next + 1;",
        );
        assert_eq!(clear, true, "{width} x {height}");
    }
}

#[test]
fn us_units_show_the_same_job() {
    let page = at_rest();
    let before = present_job(&page);
    page.execute("document.querySelector('input[name=units][value=us]').click();");
    page.wait_until("document.querySelector('#main-coats---distance_mm').value === '7.1'");
    assert!(page.find("#lines-note").text().contains("3.9 in apart"), "{}", page.find("#lines-note").text());
    let mean = expected(&before).film["tinted"].interior.mean_um / 25.4;
    assert_eq!(reading(&page, "Film, mean"), format!("{mean:.2}"));
    assert_eq!(present_job(&page), before, "looking changes nothing");
}

#[test]
fn a_held_result_is_compared_with_the_present_one() {
    let page = at_rest();
    page.find("#hold").click();
    page.wait_until("document.querySelector('#readings-present').textContent === 'Held'");
    page.execute("document.querySelector('#main-coats---overlap-slide').focus();");
    page.press(&[keys::END]);
    page.wait_until("document.querySelector('#main-coats---overlap').value === '90'");
    let held = page.execute("return document.querySelector('#readings-rows .present').textContent;");
    let wanted = expected(&EXAMPLES[0].job()).film["tinted"].interior.mean_um;
    assert_eq!(held, format!("{wanted:.1}"));
    assert!(page.find("#divider-handle").is_displayed());
    page.find("#hold").click();
    page.wait_until("document.querySelector('#readings-present').textContent.startsWith('Coat')");
}

#[test]
fn the_text_twin_is_in_step_with_the_picture() {
    let page = at_rest();
    let said = |page: &Page| page.execute("return document.querySelector('#words-text').textContent;");
    let text = said(&page).as_str().unwrap_or_default().to_string();
    let report = expected(&EXAMPLES[0].job());
    assert!(
        text.contains("finished") && text.contains(&format!("{:.1} \u{b5}m", report.film["tinted"].interior.mean_um)),
        "{text}"
    );
    let rows = page.execute("return document.querySelectorAll('#words-rows tr').length;");
    assert!(rows.as_u64().is_some_and(|rows| rows >= 10), "{rows}");
    page.find("#to-start").click();
    page.wait_until("document.querySelector('#words-text').textContent.includes('pass 1 of 13')");
}

#[test]
fn the_section_lies_across_the_passes() {
    let page = at_rest();
    let caption = |page: &Page| page.execute("return document.querySelector('#words-caption').textContent;");
    assert!(caption(&page).as_str().is_some_and(|text| text.contains("from the left edge")));
    page.execute(
        "const s = document.querySelector('#more-coats---along'); s.value = '\"width\"';
         s.dispatchEvent(new Event('change', { bubbles: true }));",
    );
    page.wait_until("document.querySelector('#words-caption').textContent.includes('from the near edge')");
    page.wait_until("document.querySelector('#stage').dataset.grid === 'full'");
    // the table now shows the stripes: its finished films differ
    let films = page
        .execute("return [...document.querySelectorAll('#words-rows tr')].map((r) => Number(r.cells[2].textContent));");
    let films: Vec<f64> = films.as_array().expect("rows").iter().filter_map(serde_json::Value::as_f64).collect();
    let (least, most) = films.iter().fold((f64::MAX, 0.0_f64), |(a, b), f| (a.min(*f), b.max(*f)));
    assert!(most - least > 2.0, "{films:?}");
    page.execute("document.querySelector('#section-handle').focus();");
    page.press(&[keys::END]);
    page.wait_until("document.querySelector('#section-handle').getAttribute('aria-valuetext').startsWith('1100 mm')");
}

#[test]
fn the_section_is_drawn_around_the_target_and_whole_again() {
    let page = at_rest();
    // the graph alone: the panel beside it is marked when the findings come
    let drawn = |page: &Page| {
        page.execute(
            "const c = document.querySelector('#drawing'), r = c.getBoundingClientRect();
             const from = (document.querySelector('#section-near').getBoundingClientRect().right - 100 - r.left) * c.width / r.width;
             return [...c.getContext('2d').getImageData(from, 0, c.width - from, c.height).data].reduce((h, v) => (h * 31 + v) | 0, 0);",
        )
    };
    let whole = drawn(&page);
    let press = |page: &Page, pressed: &str| {
        page.execute("document.querySelector('#section-near').click()");
        page.wait_until(&format!("document.querySelector('#section-near').ariaPressed === '{pressed}'"));
    };
    press(&page, "true");
    assert!(drawn(&page) != whole, "the graph is drawn anew");
    press(&page, "false");
    assert!(drawn(&page) == whole, "and is as it was");
    page.assert_no_errors();
}

#[test]
fn every_angle_that_is_chosen_stands_in_its_picker() {
    let page = at_rest();
    for angle in ["-15", "110", "45"] {
        page.execute(&format!(
            "const s = document.querySelector('#angle'); s.value = '{angle}'; s.dispatchEvent(new Event('change', {{ bubbles: true }}));"
        ));
        page.wait_until("document.querySelector('#stage').dataset.grid === 'full'");
        page.execute_async("setTimeout(done, 200)");
        assert_eq!(page.execute("return document.querySelector('#angle').value;"), angle);
        assert_eq!(present_job(&page).viewing.aspecular.0.to_string(), angle);
    }
}

#[test]
fn nothing_is_cut_off_in_the_four_windows() {
    let page = at_rest();
    for (width, height) in [(1366, 768), (1920, 1080), (1024, 768), (390, 844)] {
        page.set_viewport(width, height);
        page.execute_async("setTimeout(done, 250)");
        let out = page.execute(
            "return [...document.querySelectorAll('body *')].filter((e) => { const r = e.getBoundingClientRect();
               return r.width > 2 && r.height > 2 && e.checkVisibility({ visibilityProperty: true }) && !e.closest('.aside, .skip')
                 && (r.right > innerWidth + 1 || r.left < -1); }).map((e) => e.id || e.className || e.tagName);",
        );
        assert_eq!(out, serde_json::json!([]), "{width} x {height}");
        let (_, _, w, h) = page.find("#figure").rect();
        if width >= 1024 {
            assert!(w * h > 0.5 * f64::from(width * height), "the figure is more than half of {width} x {height}");
        }
        let (_, _, w, h) = page.find("#paint").rect();
        let job = EXAMPLES[0].job();
        assert!((w / h - job.panel.length.0 / job.panel.width.0).abs() < 0.02, "the scale is true in both directions");
    }
}

/// Not a check: makes the picture in the README from the real page.
#[test]
#[ignore = "writes assets/rehearsal.png"]
fn the_picture_for_the_readme() {
    let page = at_rest();
    page.set_viewport(1366, 768);
    page.execute("document.querySelector('#time').value = 155; document.querySelector('#time').dispatchEvent(new Event('input'));");
    page.execute_async("setTimeout(done, 400)");
    page.screenshot(std::path::Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/../..")).join("assets/rehearsal.png"));
}
