//! How much an effect paint darkens from its highlight to its face, as one number. The formula is from memory and was
//! found in no source; only its arithmetic is tested. Does not know colour: lightness alone counts.

use fanlap_film::maths::pow;

/// The flop index from L* at 15, 45 and 110 degrees aspecular: 0 for a solid colour, 15 and more for a strong metallic.
/// From memory. `l45` is above 0; a paint darker at its highlight than at 110 degrees counts as 0.
///
/// ```
/// assert!((fanlap_colour::flop_index(120.0, 65.0, 38.0) - 9.8851).abs() < 1e-4);
/// ```
pub fn flop_index(l15: f64, l45: f64, l110: f64) -> f64 {
    2.69 * pow((l15 - l110).max(0.0), 1.11) / pow(l45, 0.86)
}
