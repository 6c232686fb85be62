//! Nothing a person made is lost: undo brings recordings back with their job and lesson, tabs keep apart, and what cannot be
//! shown can be saved.

use crate::driver::{Page, Pointer};
use crate::practice::{
    MARK, SETTLED, catch_files, caught, in_hand, lesson_of, open_text, pass, passes, run_and_hold, told,
};
use crate::rehearsal::{picture, present_job};
use fanlap::job::Job;
use fanlap::job::examples::EXAMPLES;
use fanlap::practice::{Attempt, ErrorSource, Slip, lessons};
use fanlap::strokes::Track;

/// The bonnet with two passes of somebody else's on its first coat.
fn foreign() -> Job {
    let mut job = EXAMPLES[0].job();
    job.title = "Somebody else's".to_string();
    let track = Slip::of(ErrorSource::Speed, 0.4).sprayed(&job, 0);
    let second = track.samples.iter().position(|sample| !sample.open).expect("a pass ends") + 1;
    job.coats[0].track = Some(Track { samples: track.samples[..second].to_vec(), ..track.clone() });
    job
}

fn undo(page: &Page) {
    page.find("#undo").click();
}

#[test]
fn undo_brings_recordings_back_with_their_job() {
    let page = in_hand();
    pass(&page, Pointer::Mouse, 0.3);
    told(&page, 1);
    pass(&page, Pointer::Mouse, 0.5);
    told(&page, 2);
    let own = present_job(&page);
    let shown = picture(&page);
    let other = foreign();
    open_text(&page, &other.text());
    told(&page, 1);
    assert_eq!(present_job(&page), other, "one's own passes are not laid over another job");
    undo(&page);
    told(&page, 2);
    assert_eq!(present_job(&page), own);
    assert_eq!(picture(&page), shown);
    page.find("#redo").click();
    told(&page, 1);
    assert_eq!(present_job(&page), other);
    // a job without a recording, an example, and a link leave none behind, and lose none
    let bare = EXAMPLES[1].job();
    for open in [
        &|| open_text(&page, &bare.text()),
        &|| drop(page.execute("document.querySelector('#new-door').click()")),
        &|| drop(page.execute(&format!("location.hash = '#job={}'", bare.link()))),
    ] as [&dyn Fn(); 3]
    {
        open();
        page.wait_until("document.querySelector('#practice-told').hidden");
        page.wait_until(&format!("document.querySelector('#job-title').value === {:?}", bare.title));
        assert_eq!(present_job(&page), bare);
        undo(&page);
        told(&page, 1);
        assert_eq!(present_job(&page), other);
    }
    // cleared, taken back: undone, and after a reload too
    page.find("#practice-clear").click();
    page.wait_until("document.querySelector('#practice-told').hidden");
    page.goto("/?nosw");
    page.wait_until("document.body.dataset.place === 'practice'");
    undo(&page);
    told(&page, 1);
    assert_eq!(present_job(&page), other);
    page.find("#practice-back").click();
    page.wait_until("document.querySelector('#practice-told').hidden");
    undo(&page);
    told(&page, 1);
    assert_eq!(present_job(&page), other);
    // settings leave the hand alone, forth and back
    page.execute(
        "const s = document.querySelector('#main-coats---overlap-slide'); s.value = '0.5';
         s.dispatchEvent(new Event('input', { bubbles: true })); s.dispatchEvent(new Event('change', { bubbles: true }))",
    );
    undo(&page);
    told(&page, 1);
    assert_eq!(present_job(&page), other);
    page.assert_no_errors();
}

#[test]
fn another_lesson_by_a_slip_is_undone_whole_and_leaving_one_restores_the_help() {
    let page = in_hand();
    // free spraying without the pacer
    page.find("#practice-pacer").click();
    lesson_of(&page, "0");
    page.wait_until(SETTLED);
    page.execute("document.querySelector('#figure').focus()");
    run_and_hold(&page, 3600);
    page.wait_until(&format!("{MARK}.startsWith('Done')"));
    let done = present_job(&page);
    let find = lessons().iter().position(|lesson| lesson.title == "One thing wrong").unwrap();
    lesson_of(&page, &find.to_string());
    page.wait_until("!document.querySelector('#predict').hidden");
    undo(&page);
    page.wait_until(&format!("{MARK}.startsWith('Done')"));
    assert_eq!(present_job(&page), done);
    assert_eq!(page.execute("return document.querySelector('#practice-lesson').value;"), "0");
    let held = format!("{} mm", lessons()[0].taken_up_at_mm.unwrap_or(done.coats[0].distance.0));
    assert_eq!(page.find("#practice-distance").text(), held);
    let record = "JSON.parse(localStorage.getItem('fanlap.progress')).attempts.length";
    assert_eq!(page.execute(&format!("return {record};")), 1, "what comes back is not done again");
    // another attempt is undone as well
    page.find("#practice-clear").click();
    page.wait_until(&format!("{MARK} === ''"));
    undo(&page);
    page.wait_until(&format!("{MARK}.startsWith('Done')"));
    // a lesson without help is left: what helps is as it was before
    lesson_of(&page, &find.to_string());
    page.wait_until("!document.querySelector('#predict').hidden");
    lesson_of(&page, "");
    page.wait_until("document.querySelector('#practice-goal-box').hidden");
    let ticks = page.execute(
        "return ['lines', 'pacer', 'clicks', 'film'].map((of) => document.querySelector('#practice-' + of).checked);",
    );
    assert_eq!(ticks, serde_json::json!([true, false, false, true]));
    page.assert_no_errors();
}

#[test]
fn a_second_attempt_shows_its_own_film_at_once() {
    let page = in_hand();
    let lesson = &lessons()[0];
    let example = lesson.example().unwrap();
    open_text(&page, &example.text());
    page.wait_until(&format!("{MARK}.startsWith('Done')"));
    page.wait_until(SETTLED);
    let first = picture(&page);
    let mut job = lesson.set_up().unwrap();
    job.coats[0].track = Some(Slip::of(ErrorSource::Speed, 0.4).sprayed(&job, 0));
    let second = Attempt::new(lesson, &job);
    open_text(&page, &second.text());
    page.wait_until(&format!("{MARK}.startsWith('Not yet')"));
    page.wait_until(SETTLED);
    assert_ne!(picture(&page), first);
    assert_eq!(passes(&present_job(&page)), 1);
    // again, and the first once more
    page.find("#practice-clear").click();
    page.wait_until("document.querySelector('#practice-told').hidden");
    open_text(&page, &example.text());
    page.wait_until(&format!("{MARK}.startsWith('Done')"));
    page.wait_until(SETTLED);
    assert_eq!(picture(&page), first);
    // an attempt at a lesson that is not here, of a hand that is not one's own, leaves nothing of the one before
    let find = lessons().iter().find(|lesson| lesson.title == "One thing wrong").unwrap();
    let mut strange = Attempt::new(find, &find.set_up().unwrap());
    strange.lesson = "Not here".to_string();
    open_text(&page, &strange.text());
    page.wait_until("!document.querySelector('#notice').hidden");
    page.wait_until("document.querySelector('#practice-told').hidden");
    assert_eq!(passes(&present_job(&page)), 0);
    page.assert_no_errors();
}

#[test]
fn a_held_result_of_another_panel_lets_go_by_itself() {
    let page = Page::open("/?nosw");
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    page.find("#hold").click();
    page.wait_until("document.querySelector('#hold').textContent === 'Let go'");
    page.execute("document.querySelector('#new-door').click()");
    page.wait_until("document.querySelector('#hold').textContent === 'Hold and compare'");
    page.wait_until("document.querySelector('#divider-handle').hidden");
    page.assert_no_errors();
}

/// Sets a number of the main settings.
fn set(page: &Page, path: &str, value: &str) {
    page.execute(&format!(
        "const s = document.querySelector('#main-{path}-slide'); s.value = '{value}';
         s.dispatchEvent(new Event('input', {{ bubbles: true }})); s.dispatchEvent(new Event('change', {{ bubbles: true }}))"
    ));
    page.wait_until(SETTLED);
}

#[test]
fn two_tabs_keep_apart_and_nothing_of_either_is_lost() {
    let page = Page::open("/?nosw");
    page.set_media(&[("prefers-reduced-motion", "reduce")]);
    set(&page, "coats---overlap", "0.4");
    let settings = |page: &Page| {
        let job = present_job(page);
        (job.coats[0].overlap.0, job.coats[0].speed.0, job.gun.fan_width.0)
    };
    let before = settings(&page);
    let first = page.new_tab("/?nosw");
    assert_eq!(settings(&page), before, "another tab begins with what was kept last");
    set(&page, "coats---speed_mm_per_s", "700");
    let second = settings(&page);
    page.wait_until("document.querySelector('#kept').textContent === 'kept in this browser, apart from other tabs'");
    page.close_tab(&first);
    set(&page, "gun-fan_width_mm", "300");
    let own = settings(&page);
    assert_eq!((own.0, own.1), (before.0, before.1), "nothing of the other tab's got in");
    page.goto("/?nosw");
    assert_eq!(settings(&page), own, "a reload brings a tab its own");
    // the other tab's is kept too, and is taken over, and undone
    page.find("#file-menu summary").click();
    page.wait_until("document.querySelectorAll('#menu-tabs-list button').length > 0");
    page.find("#menu-tabs-list button").click();
    page.wait_until(SETTLED);
    assert_eq!(settings(&page), second);
    undo(&page);
    assert_eq!(settings(&page), own);
    page.assert_no_errors();
}

#[test]
fn attempts_of_two_tabs_stand_in_one_record() {
    let page = in_hand();
    let spray = |page: &Page| {
        lesson_of(page, "0");
        page.wait_until(SETTLED);
        page.execute("document.querySelector('#figure').focus()");
        run_and_hold(page, 3600);
        page.wait_until(&format!("{MARK}.startsWith('Done')"));
    };
    let first = page.new_tab("/?nosw");
    page.find("#to-practice").click();
    page.wait_until("document.body.dataset.place === 'practice'");
    spray(&page);
    page.turn_to(&first);
    spray(&page);
    let record = "JSON.parse(localStorage.getItem('fanlap.progress')).attempts.length";
    assert_eq!(page.execute(&format!("return {record};")), 2);
    page.assert_no_errors();
}

#[test]
fn what_was_kept_and_cannot_be_shown_is_saved_and_one_starts_afresh() {
    let page = in_hand();
    pass(&page, Pointer::Mouse, 0.4);
    told(&page, 1);
    let job = present_job(&page);
    let key = "('fanlap.rehearsal.' + sessionStorage.getItem('fanlap.tab'))";
    page.wait_until("localStorage.getItem('fanlap.loading') === null");
    let refused = "!document.querySelector('#refused').hidden";
    // the mark of a first picture that never came
    page.execute(&format!("window.addEventListener('pagehide', () => localStorage.setItem('fanlap.loading', {key}))"));
    page.goto("/?nosw");
    page.wait_until(refused);
    catch_files(&page);
    page.find("#refused-save").click();
    assert_eq!(Job::read(&caught(&page), &fanlap::job::Files::none()).unwrap(), job, "the file is a job file");
    page.find("#refused-again").click();
    page.wait_until("document.documentElement.dataset.ready === 'yes' && document.body.dataset.place === 'practice'");
    told(&page, 1);
    assert_eq!(present_job(&page), job);
    // a recording of a gun that was nowhere
    page.execute(&format!(
        "const kept = JSON.parse(localStorage.getItem({key})); kept.tracks[0].samples[3][1] = 1e300;
         const text = JSON.stringify(kept), last = () => localStorage.setItem({key}, text);
         window.addEventListener('pagehide', last);
         document.addEventListener('visibilitychange', last)"
    ));
    page.goto("/?nosw");
    page.wait_until(refused);
    page.wait_until("document.querySelector('#refused-why').textContent.includes('samples')");
    catch_files(&page);
    page.find("#refused-save").click();
    assert!(caught(&page).contains("\"fanlap_job\""));
    page.find("#refused-afresh").click();
    page.wait_until(&format!("document.documentElement.dataset.ready === 'yes' && !({refused})"));
    assert_eq!(present_job(&page), EXAMPLES[0].job());
    page.goto("/?nosw");
    assert_eq!(page.execute(&format!("return {refused};")), false);
    page.assert_no_errors();
}
