//! The pacer heard: clicks at the edges of the panel and at its quarters, in true seconds at the planned speed, from
//! where the trigger opened, and the seconds before a countdown. Knows when, not what film is.

use fanlap::job::Job;
use fanlap::strokes::Along;
use glam::DVec2;
use std::cell::RefCell;
use web_sys::{AudioContext, OscillatorNode};

thread_local! {
    static SOUND: RefCell<Option<AudioContext>> = const { RefCell::new(None) };
    static COMING: RefCell<Vec<OscillatorNode>> = const { RefCell::new(Vec::new()) };
}

/// Clicks from edge to edge.
const QUARTERS: u32 = 4;
/// A click lasts this long, s; those at the edges are higher, Hz.
const LASTS: f64 = 0.03;
const PITCHES: (f32, f32) = (1320.0, 880.0);
const LOUDNESS: f32 = 0.2;

/// The clicks of a pass: seconds from now, and whether it is at an edge. `gone` is how far the gun is past the first
/// edge, mm, below 0 before it.
fn beats(span: f64, speed: f64, gone: f64) -> Vec<(f64, bool)> {
    let beat = |i: u32| ((span * f64::from(i) / f64::from(QUARTERS) - gone) / speed, i.is_multiple_of(QUARTERS));
    (0..=QUARTERS).map(beat).filter(|(time, _)| *time >= 0.0).collect()
}

/// The clicks of a coat's pass that began at a place, from so many seconds later on.
pub fn pass(job: &Job, coat: usize, (from, along): (DVec2, Along), later: f64) {
    let panel = job.panel.area().most;
    let (span, at) = if along == Along::Length { (panel.x, from.x) } else { (panel.y, from.y) };
    let speed = job.coats[coat].actual_speed().0;
    let begun = if at > span / 2.0 { span - at } else { at };
    sound(&beats(span, speed, begun + speed * later));
}

/// Clicks, in so many seconds from now each.
pub fn sound(beats: &[(f64, bool)]) {
    SOUND.with(|sound| {
        let mut sound = sound.borrow_mut();
        if sound.is_none() {
            *sound = AudioContext::new().ok();
        }
        // a browser that has no sound has no clicks
        let Some(sound) = sound.as_ref() else { return };
        let now = sound.current_time();
        for (time, edge) in beats {
            let _ = click(sound, now + time, if *edge { PITCHES.0 } else { PITCHES.1 });
        }
    });
}

fn click(sound: &AudioContext, at: f64, pitch: f32) -> Result<(), wasm_bindgen::JsValue> {
    let (tone, gain) = (sound.create_oscillator()?, sound.create_gain()?);
    tone.frequency().set_value(pitch);
    gain.gain().set_value(LOUDNESS);
    tone.connect_with_audio_node(&gain)?.connect_with_audio_node(&sound.destination())?;
    tone.start_with_when(at)?;
    tone.stop_with_when(at + LASTS)?;
    COMING.with(|coming| coming.borrow_mut().push(tone));
    Ok(())
}

/// Silence: the clicks that have not come yet do not come.
pub fn stop() {
    COMING.with(|coming| {
        for tone in coming.borrow_mut().drain(..) {
            let _ = tone.disconnect();
        }
    });
}
