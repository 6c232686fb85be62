//! The booth sheet's place: the sheet is the core's, plans are searched for and taken, the search can be stopped, the sheet
//! is one page of paper, and the rehearsal can be counted down.

use crate::driver::Page;
use crate::rehearsal::present_job;
use fanlap::job::inputs::System;
use std::time::Duration;

fn booth() -> Page {
    let page = Page::open("/?nosw");
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    page.find("#to-sheet").click();
    page.wait_until("document.body.dataset.place === 'sheet' && document.querySelector('#booth-sheet .sheet')");
    // what the sheet foresees takes many rehearsals
    page.wait_until("!document.querySelector('#sheet-print').disabled");
    page
}

/// The words of the sheet, without the spaces between.
fn words(page: &Page) -> String {
    let text = page.execute("return document.querySelector('#booth-sheet').textContent;");
    text.as_str().unwrap().split_whitespace().collect()
}

/// A4 and Letter, in inches.
fn one_page(page: &Page) {
    for (width, height) in [(8.27, 11.69), (8.5, 11.0)] {
        let print = serde_json::json!({ "paperWidth": width, "paperHeight": height, "printBackground": true, "preferCSSPageSize": false });
        let pdf = page.devtools("Page.printToPDF", print)["data"].as_str().unwrap().to_string();
        let pdf = base64::Engine::decode(&base64::engine::general_purpose::STANDARD, pdf).unwrap();
        let pdf = String::from_utf8_lossy(&pdf).to_string();
        let pages = pdf.matches("/Type /Page\n").count() + pdf.matches("/Type /Page ").count();
        assert_eq!(pages, 1, "{width} x {height}");
    }
}

#[test]
fn seven_coats_on_a_tall_panel_fit_on_a_page_and_another_difference_counts_everywhere() {
    let page = Page::open("/?nosw");
    let coats: Vec<String> = ["ground", "ground", "ground", "tinted", "tinted", "tinted", "tinted"]
        .iter()
        .map(|paint| {
            format!("{{ \"paint\": \"{paint}\", \"overlap\": 0.6, \"reach\": \"both_sides\", \"edge_pass\": true }}")
        })
        .collect();
    let text = format!(
        r#"{{ "fanlap_job": 1, "title": "Two paints, seven coats (invented)", "panel": {{ "length_mm": 1200, "width_mm": 1300, "cell_mm": 10 }},
              "paints": [ {{ "name": "ground", "role": "base", "parts_thinner": 0.5 }}, {{ "name": "tinted", "parts_hardener": 0.5 }} ],
              "coats": [ {} ] }}"#,
        coats.join(", ")
    );
    let job = fanlap::job::Job::read(&text, &fanlap::job::Files::none()).unwrap();
    page.goto(&format!("/?nosw&again#job={}", job.link()));
    page.find("#to-sheet").click();
    page.wait_until("document.querySelector('#sheet-print') && !document.querySelector('#sheet-print').disabled");
    page.wait_until("document.querySelector('#booth-sheet').textContent.includes('lines of coat 4')");
    one_page(&page);
    // the difference that counts as right holds for the sheet and is kept
    page.execute(
        "const f = document.querySelector('#advice-within'); f.value = '2'; f.dispatchEvent(new Event('change'))",
    );
    page.wait_until("document.querySelector('#booth-sheet').textContent.includes('Within 2 \u{394}E')");
    page.goto("/?nosw");
    page.wait_until("document.querySelector('#booth-sheet').textContent.includes('Within 2 \u{394}E')");
    page.wait_until("document.querySelector('#advice-within').value === '2'");
    page.assert_no_errors();
}

#[test]
fn the_sheet_is_the_cores_and_one_page_of_paper() {
    let page = booth();
    let job = present_job(&page);
    let body = fanlap::sheet::body(&job, System::Metric, 1.0, Some(&fanlap::sheet::Foreseen::of(&job, 1.0)));
    let mut plain = String::new();
    let mut within = false;
    for letter in body.chars() {
        match letter {
            '<' => within = true,
            '>' => within = false,
            letter if !within => plain.push(letter),
            _ => {}
        }
    }
    let plain: String = plain.split_whitespace().collect();
    assert_eq!(words(&page), plain.replace("&lt;", "<").replace("&gt;", ">").replace("&amp;", "&"));
    one_page(&page);
    page.execute("document.querySelector('#units input[value=us]').click()");
    page.wait_until("document.querySelector('#booth-sheet').textContent.includes('fl oz')");
    for (width, height) in [(1366, 768), (1920, 1080), (1024, 768), (390, 844)] {
        page.set_viewport(width, height);
        page.wait_until(&format!("innerWidth === {width}"));
        assert_eq!(page.execute("return document.documentElement.scrollWidth - innerWidth;"), 0, "{width}");
    }
    page.assert_no_errors();
}

#[test]
fn printed_by_key_right_after_a_change_the_sheet_is_whole() {
    let page = booth();
    page.execute(
        "const f = document.querySelector('#advice-within'); f.value = '2'; f.dispatchEvent(new Event('change'));
         dispatchEvent(new Event('beforeprint'));
         window.printed = document.querySelector('#booth-sheet').textContent",
    );
    let printed = page.execute("return window.printed;").as_str().unwrap().to_string();
    assert!(printed.contains("Within 2 \u{394}E") && !printed.contains("Being worked out"), "{printed}");
    let whole = fanlap::sheet::Foreseen::of(&present_job(&page), 2.0);
    assert!(printed.contains(&whole.forgives.text(System::Metric)), "{printed}");
    page.assert_no_errors();
}

#[test]
fn what_is_mixed_follows_the_ratio_that_is_typed() {
    let page = booth();
    let part = |key: &str| format!("#booth-mix-paints-0--{key}");
    for (key, value) in [("parts_paint", "2"), ("parts_hardener", "1"), ("parts_thinner", "0.3"), ("reserve", "20")] {
        let field = page.find(&part(key));
        field.clear();
        field.type_keys(&format!("{value}\t"));
    }
    page.wait_until("document.querySelector('#booth-sheet').textContent.includes('2 : 1 : 0.3: paint ')");
    page.wait_until("document.querySelector('#booth-sheet').textContent.includes('20 % in reserve')");
    let job = present_job(&page);
    assert_eq!((job.paints[0].parts_paint, job.paints[0].parts_hardener, job.paints[0].parts_thinner), (2.0, 1.0, 0.3));
    // what cannot be is refused beside its field, and the slider moves the number
    let field = page.find(&part("parts_hardener"));
    field.clear();
    field.type_keys("x\t");
    page.wait_until(&format!(
        "document.querySelector('{}-trouble').textContent.includes('is not a number: 0 to ')",
        part("parts_hardener")
    ));
    page.execute(&format!(
        "const s = document.querySelector('{}-slide'); s.value = 5; for (const kind of ['input', 'change']) s.dispatchEvent(new Event(kind, {{ bubbles: true }}))",
        part("parts_hardener")
    ));
    page.wait_until("document.querySelector('#booth-sheet').textContent.includes('2 : 5 : 0.3')");
    page.find("#undo").click();
    page.wait_until("document.querySelector('#booth-sheet').textContent.includes('2 : 1 : 0.3')");
    // every input of the page has an id of its own
    let twice = page.execute(
        "const ids = [...document.querySelectorAll('[id]')].map(e => e.id); return ids.length - new Set(ids).size;",
    );
    assert_eq!(twice, 0);
    page.assert_no_errors();
}

#[test]
fn plans_are_searched_for_taken_and_undone() {
    let page = booth();
    page.execute("document.querySelector('#advice-within').value = 'one'");
    page.find("#advice-search").click();
    page.wait_until("document.querySelector('#within-trouble').textContent.includes('Colour right within, \u{394}E: given \u{201c}one\u{201d}; allowed is 0.1 to 10')");
    page.execute("document.querySelector('#advice-within').value = '1'");
    page.find("#advice-search").click();
    page.wait_until("document.querySelector('#advice-search').textContent === 'Stop'");
    page.find("#advice-search").click();
    page.wait_until("document.querySelector('#advice-progress').hidden");
    page.wait_until("document.querySelector('#advice-state').textContent.startsWith('Stopped')");
    page.find("#advice-search").click();
    let done = "document.querySelector('#advice-progress').hidden && document.querySelector('#advice-plans li')";
    page.wait_until_within(done, Duration::from_secs(180));
    let before = present_job(&page);
    page.execute("document.querySelector('#advice-plans li [data-part=take]').click()");
    page.wait_until("document.querySelector('#advice-plans li [data-part=take]').textContent === 'This is the plan'");
    let taken = present_job(&page);
    let advice = fanlap::advice::advise(&before, &fanlap::advice::Wishes::of(&before)).unwrap();
    assert_eq!(taken.coats, advice.plans[0].setting.of(&before).coats, "the page advises as the core");
    let named = page.execute("return document.querySelector('#advice-plans li [data-part=text]').textContent;");
    assert_eq!(named, advice.plans[0].text.as_str());
    // the plan is the job now: what is foreseen is of it
    let forgives = serde_json::to_string(&advice.forgives.unwrap().text(System::Metric)).unwrap();
    page.wait_until(&format!("document.querySelector('#forgives-text').textContent === {forgives}"));
    page.wait_until("!document.querySelector('#sheet-print').disabled");
    page.find("#undo").click();
    page.wait_until("document.querySelector('#advice-plans li [data-part=take]').textContent === 'Take this plan'");
    assert_eq!(present_job(&page), before);
    // what is only read aloud does not make the page longer than its window
    let longer = page.execute("return document.documentElement.scrollHeight - innerHeight;");
    assert_eq!(longer, 0);
    // plans that were sought with another wish are old, and a wish that is none is named
    let wish = |id: &str, value: &str| {
        page.execute(&format!(
            "const f = document.querySelector('#{id}'); f.value = '{value}'; f.dispatchEvent(new Event('change'))"
        ))
    };
    wish("advice-reach", "1200");
    page.wait_until("document.querySelector('#advice-plans li [data-part=take]').disabled");
    page.wait_until("document.querySelector('#advice-state').textContent.includes('search again')");
    wish("advice-reach", "-5");
    page.wait_until(
        "document.querySelector('#advice-trouble').textContent === 'Reach across: given \u{201c}-5\u{201d}; allowed is 200 to 3000 mm. Type a number within.'",
    );
    wish("advice-reach", "900");
    page.wait_until("!document.querySelector('#advice-plans li [data-part=take]').disabled");
    page.wait_until("document.querySelector('#advice-trouble').textContent === ''");
    // in US units, and of another job that they were not sought for
    page.execute("document.querySelector('#units input[value=us]').click()");
    let us = serde_json::to_string(&advice.plans[0].words(&before, System::Us)).unwrap();
    page.wait_until(&format!("document.querySelector('#advice-plans li [data-part=text]').textContent === {us}"));
    page.execute("document.querySelector('#new-door').click()");
    page.wait_until("document.querySelector('#advice-plans li [data-part=take]').disabled");
    page.wait_until("document.querySelector('#advice-state').textContent.includes('search again')");
    page.wait_until("document.querySelector('#booth-mix h3').textContent === 'ember'");
    // the place is kept over a reload
    page.goto("/?nosw");
    page.wait_until("document.body.dataset.place === 'sheet'");
    page.assert_no_errors();
}

#[test]
fn the_rehearsal_is_counted_down() {
    let page = booth();
    page.execute(
        "window.clicks = []; const start = OscillatorNode.prototype.start;
         OscillatorNode.prototype.start = function (at) { window.clicks.push(at); return start.call(this, at); };
         document.querySelector('#countdown-clicks').click()",
    );
    page.find("#countdown-begin").click();
    page.wait_until("document.querySelector('#countdown-now').textContent === 'Ready'");
    page.wait_until("document.querySelector('#countdown-left').textContent === '1 s'");
    page.wait_until("document.querySelector('#countdown-now').textContent === 'Coat 1, pass 1 of 13'");
    page.wait_until("document.querySelector('#countdown-then').textContent.startsWith('then pass 2')");
    let left = "parseFloat(document.querySelector('#countdown-left').textContent)";
    page.execute(&format!("window.first = {left}"));
    page.wait_until(&format!("{left} < window.first"));
    // three seconds are clicked before it, then every pass at its edges and quarters
    page.wait_until("document.querySelector('#countdown-now').textContent.endsWith('pass 2 of 13')");
    let heard = page.execute("return window.clicks;");
    let heard: Vec<f64> = heard.as_array().unwrap().iter().map(|at| at.as_f64().unwrap()).collect();
    let job = present_job(&page);
    let quarter = job.panel.length.0 / 4.0 / job.coats[0].actual_speed().0;
    let apart = |seconds: f64| heard.windows(2).filter(|pair| (pair[1] - pair[0] - seconds).abs() < 0.02).count();
    // a page that is held up drops a click that is late already
    assert!(apart(1.0) >= 1 && apart(quarter) >= 3, "{quarter} {heard:?}");
    page.execute("document.querySelector('#countdown-clicks').click(); window.clicks = []");
    page.wait_until("document.querySelector('#countdown-now').textContent.endsWith('pass 3 of 13')");
    assert_eq!(page.execute("return window.clicks.length;"), 0);
    page.find("#to-end").click();
    page.wait_until("document.querySelector('#countdown-now').textContent === 'Done'");
    page.find("#countdown-close").click();
    page.wait_until("document.body.dataset.place === 'sheet' && document.querySelector('#countdown').hidden");
    page.assert_no_errors();
}

#[test]
fn the_countdown_says_when_to_go_round() {
    let page = Page::open("/?nosw");
    let text = r#"{ "fanlap_job": 1, "title": "Three lines from both sides (invented)",
        "panel": { "length_mm": 400, "width_mm": 200, "cell_mm": 10 }, "hand": { "walk_round_s": 4 },
        "coats": [ { "overlap": 0.5, "margin_mm": 0, "reach": "both_sides", "speed_mm_per_s": 300, "flash_min": 1 } ] }"#;
    let job = fanlap::job::Job::read(text, &fanlap::job::Files::none()).unwrap();
    let near = fanlap::strokes::lines(&job.panel, &job.gun, &job.coats[0]);
    let near = near.iter().filter(|line| line.side == fanlap::strokes::Side::Near).count();
    page.goto(&format!("/?nosw&again#job={}", job.link()));
    page.find("#to-sheet").click();
    page.wait_until("document.querySelector('#booth-sheet .sheet')");
    assert!(words(&page).contains(&format!("walkroundafterline{near}(4s)")), "{}", words(&page));
    page.find("#countdown-begin").click();
    let said = |id: &str, text: &str| page.wait_until(&format!("document.querySelector('#{id}').textContent{text}"));
    said("countdown-now", &format!(".includes('pass {near} of ')"));
    said("countdown-then", &format!(".startsWith('then go round, pass {}')", near + 1));
    said("countdown-now", " === 'Coat 1, go round now'");
    // it takes as long as the job says, and the slider says the same
    let left = page.execute("return parseFloat(document.querySelector('#countdown-left').textContent);");
    assert!((1.0..=4.0).contains(&left.as_f64().unwrap()), "{left}");
    page.wait_until("document.querySelector('#time').getAttribute('aria-valuetext').endsWith(', walking round')");
    said("countdown-now", &format!(".includes('pass {} of ')", near + 1));
    page.assert_no_errors();
}
