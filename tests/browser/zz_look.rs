use crate::driver::Page;
use crate::spray_outs::{choose_option, give, type_row};
#[test]
#[ignore]
fn look() {
    for (scheme, w, h) in
        [("light", 1366, 768), ("dark", 1366, 768), ("light", 1024, 768), ("dark", 390, 844), ("light", 320, 640)]
    {
        let page = Page::start();
        page.set_media(&[("prefers-reduced-motion", "reduce"), ("prefers-color-scheme", scheme)]);
        page.set_viewport(w, h);
        page.goto("/?nosw");
        let shot = |name: &str| {
            std::thread::sleep(std::time::Duration::from_millis(700));
            page.screenshot(format!("/tmp/acc/shots/{name}-{w}-{scheme}.png"));
        };
        shot("rehearsal");
        page.execute("document.querySelector('#to-cards').click()");
        give(&page, "car-file", "door.csv", "name,L,a,b\ndoor,36.2,52.4,27.1\n");
        page.wait_until("!document.querySelector('#car-ask').hidden");
        shot("ask");
        page.execute("document.querySelector('#car-ask [data-answer=none]').click()");
        choose_option(&page, "car-kind", "lab");
        page.wait_until("document.querySelectorAll('#car-rows tr').length === 3");
        type_row(&page, "car-rows", 1, &["3620", "62", "49"]);
        shot("car");
        page.execute("document.querySelector('#measured-open').click()");
        page.execute("document.querySelector('#measured-base').click()");
        type_row(&page, "measured-rows", 0, &["0", "58.52", "20.21", "49.33", ""]);
        type_row(&page, "measured-rows", 1, &["1.5", "46.41", "39.55", "36.12", "17.12"]);
        type_row(&page, "measured-rows", 2, &["3", "346.41", "39.55", "36.12", "17.12"]);
        shot("measured");
        page.execute("document.querySelector('#to-sheet').click()");
        page.wait_until("!document.querySelector('#advice-forgives').hidden");
        page.execute("for (const id of ['advice-within', 'advice-reach']) { const f = document.querySelector('#' + id); f.value = 'x'; f.dispatchEvent(new Event('change', { bubbles: true })) }");
        page.execute("document.querySelector('#advice-trouble').scrollIntoView({block: 'center'})");
        shot("sheet");
        page.execute("document.querySelector('#to-rehearsal').click(); document.querySelector('#more').click(); document.querySelector('details:has([data-group=paint]) summary').click()");
        shot("paint");
        page.execute("document.querySelector('#less').click(); document.querySelector('#tab-findings').click()");
        shot("findings");
    }
}
