//! Pictures of a film, pixel by pixel, as the page and the command line show them: the paint as the eye gets it, the
//! film and the difference as maps. Dithered, so that eight bits do not draw bands that are not there. Knows nothing
//! of canvases or files.

use crate::appraisal::Appraisal;
use crate::colour::{encode, maps};
use crate::eye::Appearance;
use crate::maths::Table;
use crate::panel::Patch;
use crate::units::Micrometres;
use std::sync::LazyLock;

/// A picture, four bytes a pixel, the panel's far edge at the top.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Picture {
    /// Pixels across.
    pub columns: usize,
    /// Pixels down.
    pub rows: usize,
    /// Red, green, blue, 255.
    pub rgba: Vec<u8>,
}

/// From film to colour, tabulated finely enough that neighbouring places differ by less than one eight-bit step; over a
/// base coat that does not hide, one such row for each of its films that is tabulated.
#[derive(Debug, Clone)]
pub struct Palette {
    from: f64,
    per_um: f64,
    /// Encoded red, green, blue in 256ths of an eight-bit step, row after row.
    places: Vec<[u16; 3]>,
    /// Place among the rows by film of the base, at equal steps, and steps per um; none where there is one row.
    rows: Option<(Vec<f32>, f64)>,
}

/// Places of a palette's row.
const PLACES: usize = 2048;
/// Places at which the rows by base film are tabulated.
const BASE_PLACES: usize = 4096;

impl Palette {
    fn new((from, to): (f64, f64), f: impl Fn(Micrometres) -> [f64; 3]) -> Self {
        let step = (to - from) / (PLACES - 1) as f64;
        let places = (0..PLACES).map(|i| f(Micrometres(from + step * i as f64)).map(fine)).collect();
        Self { from, per_um: 1.0 / step, places, rows: None }
    }

    /// A row for every sheet of an appearance, from no film to `film_max`.
    fn of_sheets(appearance: &Appearance, film_max: Micrometres, f: impl Fn(usize, Micrometres) -> [f64; 3]) -> Self {
        let mut all = Self::new((0.0, film_max.0), |film| f(0, film));
        for sheet in 1..appearance.sheets() {
            all.places.extend(Self::new((0.0, film_max.0), |film| f(sheet, film)).places);
        }
        if let Some(most) = appearance.underlay().thickest() {
            let step = most.0 / (BASE_PLACES - 1) as f64;
            let row = |i| appearance.underlay().place_of(Micrometres(step * i as f64)) as f32;
            all.rows = Some(((0..BASE_PLACES).map(row).collect(), 1.0 / step));
        }
        all
    }

    /// The paint on the screen.
    pub fn paint(appearance: &Appearance, film_max: Micrometres) -> Self {
        let encoded = |linear: f64| 255.0 * ENCODED.at(linear);
        Self::of_sheets(appearance, film_max, |sheet, film| appearance.on_sheet(sheet, film).0.map(encoded))
    }

    /// The film as a map between two ends, um.
    pub fn film(ends: (f64, f64)) -> Self {
        Self::new(ends, |film| maps::cividis((film.0 - ends.0) / (ends.1 - ends.0)).map(f64::from))
    }

    /// The difference to the target as a map from `-top` to `top`.
    pub fn difference(appearance: &Appearance, top: f64, film_max: Micrometres) -> Self {
        let shown = |sheet, film| maps::under_over(appearance.on_sheet(sheet, film).1 / top).map(f64::from);
        Self::of_sheets(appearance, film_max, shown)
    }

    /// What is seen as a map from 0 to `top` times the threshold; it takes times for films.
    pub fn times(top: f64) -> Self {
        Self::film((0.0, top))
    }

    /// A change of film from `-top` to `top`.
    pub fn change(top: f64) -> Self {
        Self::new((-top, top), |change| maps::under_over(change.0 / top).map(f64::from))
    }

    #[inline]
    fn at(&self, film: f64) -> [u16; 3] {
        let place = ((film - self.from) * self.per_um) as usize;
        self.places[place.min(PLACES - 1)]
    }

    #[inline]
    fn over(&self, film: f64, base: f64) -> [u16; 3] {
        let Some((rows, per_um)) = &self.rows else { return self.at(film) };
        let place = ((film - self.from) * self.per_um) as usize;
        let row = rows[((base * per_um) as usize).min(BASE_PLACES - 1)];
        let (above, part) = (row as usize * PLACES + place.min(PLACES - 1), row.fract());
        let thin = self.places[above];
        let Some(thick) = self.places.get(above + PLACES) else { return thin };
        std::array::from_fn(|k| {
            let (thin, thick) = (f32::from(thin[k]), f32::from(thick[k]));
            (thin + (thick - thin) * part) as u16
        })
    }
}

/// A channel, 0..255, in 256ths; with the dither on top it stays below 256.
fn fine(channel: f64) -> u16 {
    (256.0 * channel.clamp(0.0, 255.0)) as u16
}

/// The screen's transfer curve; exact at its places, 1/1023 apart.
static ENCODED: LazyLock<Table> = LazyLock::new(|| Table::new(0.0, 1.0, 1023, encode));

/// Ordered dither (Bayer 1973, 8 x 8), in 256ths of an eight-bit step, of which what is left over is dropped.
static DITHER: LazyLock<[[u16; 8]; 8]> = LazyLock::new(|| {
    std::array::from_fn(|y| {
        std::array::from_fn(|x| {
            let bits = (0..3).fold(0_u16, |sum, i| {
                let (a, b) = (((x ^ y) >> i & 1) as u16, (y >> i & 1) as u16);
                sum | (a << (5 - 2 * i)) | (b << (4 - 2 * i))
            });
            4 * bits + 2
        })
    })
});

/// Paints films into a picture of any size: straight between cell centres, dithered where the palette is the paint's.
/// `base` is the film of the base coat under it; without one the base hides.
pub fn draw(
    palette: &Palette,
    patch: &Patch,
    (film, base): (&[f64], Option<&[f64]>),
    dithered: bool,
    picture: &mut Picture,
) {
    match base.filter(|_| palette.rows.is_some()) {
        None => paint_cells(patch, [film], dithered, picture, |[film]| palette.at(film)),
        Some(base) => paint_cells(patch, [film, base], dithered, picture, |[film, base]| palette.over(film, base)),
    }
}

fn paint_cells<const N: usize>(
    patch: &Patch,
    films: [&[f64]; N],
    dithered: bool,
    picture: &mut Picture,
    colour: impl Fn([f64; N]) -> [u16; 3],
) {
    picture.rgba.resize(picture.columns * picture.rows * 4, 255);
    let across = places(picture.columns, patch.columns, false);
    let down = places(picture.rows, patch.rows, true);
    let mut rows = films.map(|_| vec![0.0; patch.columns]);
    for (y, (row, next_row, part_y)) in down.iter().copied().enumerate() {
        for (between, film) in rows.iter_mut().zip(films) {
            let near = &film[row * patch.columns..][..patch.columns];
            let far = &film[next_row * patch.columns..][..patch.columns];
            between.iter_mut().zip(near.iter().zip(far)).for_each(|(cell, (a, b))| *cell = a + (b - a) * part_y);
        }
        let line = &mut picture.rgba[y * picture.columns * 4..][..picture.columns * 4];
        let dither = if dithered { DITHER[y % 8] } else { [128; 8] };
        for (x, (pixel, (column, next, part))) in line.chunks_exact_mut(4).zip(&across).enumerate() {
            let between = |k: usize| rows[k][*column] + (rows[k][*next] - rows[k][*column]) * part;
            let rgb = colour(std::array::from_fn(between)).map(|channel| ((channel + dither[x % 8]) >> 8) as u8);
            pixel.copy_from_slice(&[rgb[0], rgb[1], rgb[2], 255]);
        }
    }
}

/// For every pixel the two cells it lies between and the part of the way; `far_first` turns the order round.
fn places(pixels: usize, cells: usize, far_first: bool) -> Vec<(usize, usize, f64)> {
    (0..pixels)
        .map(|i| {
            let i = if far_first { pixels - 1 - i } else { i };
            let at = ((i as f64 + 0.5) * cells as f64 / pixels as f64 - 0.5).clamp(0.0, cells as f64 - 1.0);
            (at as usize, (at as usize + 1).min(cells - 1), at.fract())
        })
        .collect()
}

/// The upper end of a film map: an even step at or above the most film.
pub fn map_top(film: Micrometres) -> Micrometres {
    let step = [2.0, 4.0, 8.0, 20.0, 40.0, 80.0].into_iter().find(|step| film.0 <= 8.0 * step).unwrap_or(200.0);
    Micrometres((film.0 / step).ceil().max(1.0) * step)
}

/// The film of the tinted clear as a map, a pixel a cell.
pub fn film(appraisal: &Appraisal) -> Picture {
    of(appraisal, &Palette::film((0.0, map_top(most(appraisal)).0)), None, false)
}

/// The paint as a screen shows it, a pixel a cell.
pub fn paint(appraisal: &Appraisal) -> Picture {
    of(appraisal, &Palette::paint(appraisal.appearance(), most(appraisal)), appraisal.base(), true)
}

/// The most film that a picture's palette reaches: that of the rehearsal, and a little where there is none.
fn most(appraisal: &Appraisal) -> Micrometres {
    Micrometres(appraisal.most().0.max(1.0))
}

fn of(appraisal: &Appraisal, palette: &Palette, base: Option<&[f64]>, dithered: bool) -> Picture {
    let patch = appraisal.patch();
    let bare = vec![0.0; patch.window().len()];
    let mut picture = Picture { columns: patch.columns, rows: patch.rows, rgba: Vec::new() };
    draw(palette, patch, (appraisal.tinted().unwrap_or(&bare), base), dithered, &mut picture);
    picture
}
