//! The place in the address, the history and the title of the page: Back and Forward go from place to place. A job or a
//! lesson in a link has an address of its own, which `files` takes in and removes. Shows no place itself.

use crate::parts::dom;
use crate::shell::app::Place;
use wasm_bindgen::JsValue;

/// The places with their words in the address and in the title.
const PLACES: [(Place, &str, &str); 4] = [
    (Place::SprayOuts, "#spray-outs", "Spray-outs"),
    (Place::Rehearsal, "#rehearsal", "Rehearsal"),
    (Place::Practice, "#practice", "Practice"),
    (Place::Sheet, "#booth-sheet", "Booth sheet"),
];

/// The place that the address names.
pub fn place() -> Option<Place> {
    let hash = dom::window().location().hash().ok()?;
    PLACES.iter().find(|(_, words, _)| *words == hash).map(|(place, ..)| *place)
}

/// Brings address, history and title to the place that is shown. An address that named no place is replaced.
pub fn shows(place: Place) {
    let before = self::place();
    let Some((_, words, name)) = PLACES.iter().find(|(of, ..)| *of == place) else { return };
    dom::document().set_title(&format!("{name} \u{b7} fanlap"));
    if before == Some(place) {
        return;
    }
    let location = dom::window().location();
    let bare = location.pathname().unwrap_or_default() + &location.search().unwrap_or_default();
    let (address, nothing) = (Some(bare + words), JsValue::NULL);
    let Ok(history) = dom::window().history() else { return };
    let _ = match before {
        None => history.replace_state_with_url(&nothing, "", address.as_deref()),
        Some(_) => {
            dom::say(&dom::by_id("said"), &format!("{name}."));
            history.push_state_with_url(&nothing, "", address.as_deref())
        }
    };
}
