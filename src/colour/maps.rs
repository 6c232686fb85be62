//! Colours for film maps, readable with every kind of colour vision and in grey print. `cividis`: Nunez, Anderton &
//! Renslow 2018, PLoS ONE 13(7), e0199239, CC0, the table of matplotlib 3.11. `under_over`: `broc` by Crameri,
//! Scientific colour maps (Crameri, Shephard & Heron 2020, Nature Communications 11, 5444), MIT licence
//! (`data/broc_LICENCE.txt`), the table of cmcrameri 1.10 reversed. Does not know what is shown.

use std::sync::LazyLock;

static CIVIDIS: LazyLock<Vec<[f64; 3]>> = LazyLock::new(|| entries(include_str!("data/cividis.csv")));
static BROC_REVERSED: LazyLock<Vec<[f64; 3]>> = LazyLock::new(|| entries(include_str!("data/broc_reversed.csv")));

/// From dark blue (0) over grey to yellow (1), ever lighter; 8-bit sRGB. Held at the ends.
///
/// ```
/// assert_eq!(fanlap_colour::maps::cividis(0.0), [0, 34, 78]);
/// ```
pub fn cividis(t: f64) -> [u8; 3] {
    read(&CIVIDIS, t)
}

/// From olive (-1, under) over near white (0) to blue (1, over); 8-bit sRGB. Held at the ends.
pub fn under_over(t: f64) -> [u8; 3] {
    read(&BROC_REVERSED, 0.5 * (t + 1.0))
}

/// The table at `t` of its length, by straight lines.
fn read(table: &[[f64; 3]], t: f64) -> [u8; 3] {
    let last = table.len() - 1;
    let place = if t > 0.0 { t.min(1.0) * last as f64 } else { 0.0 };
    let i = (place as usize).min(last - 1);
    let part = place - i as f64;
    std::array::from_fn(|k| (table[i][k] + (table[i + 1][k] - table[i][k]) * part).round() as u8)
}

/// Red, green and blue per line under a header.
fn entries(text: &str) -> Vec<[f64; 3]> {
    let row = |line: &str| {
        let mut cells = line.split(',').map(|cell| cell.parse().expect("the built-in colour maps hold numbers"));
        std::array::from_fn(|_| cells.next().expect("the built-in colour maps have three columns"))
    };
    text.lines().skip(1).map(row).collect()
}
