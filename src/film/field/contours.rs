//! Contour lines of a film: marching squares (Lorensen & Cline 1987 in two dimensions), as loose segments. Does not
//! know what is drawn with them.

use crate::panel::Patch;
use glam::DVec2;

/// Segments, on the plan in mm, along which a value over the cells of a patch equals `level`. Every `coarse`-th cell
/// is visited, and the last.
pub fn contours(patch: &Patch, values: &[f64], level: f64, coarse: usize) -> Vec<[DVec2; 2]> {
    let mut segments = Vec::new();
    let (columns, rows) = (visited(patch.columns, coarse), visited(patch.rows, coarse));
    for r in rows.windows(2) {
        for c in columns.windows(2) {
            let corner = |c: usize, r: usize| (patch.centre(c, r), values[r * patch.columns + c] - level);
            let corners = [corner(c[0], r[0]), corner(c[1], r[0]), corner(c[1], r[1]), corner(c[0], r[1])];
            square(corners, &mut segments);
        }
    }
    segments
}

/// Every `coarse`-th of `count` cells, and the last.
fn visited(count: usize, coarse: usize) -> Vec<usize> {
    let mut cells: Vec<usize> = (0..count).step_by(coarse).collect();
    if cells.last() != Some(&(count - 1)) {
        cells.push(count - 1);
    }
    cells
}

/// The segments within one square of four corners in turn.
fn square(corners: [(DVec2, f64); 4], segments: &mut Vec<[DVec2; 2]>) {
    let over = corners.map(|(_, v)| v > 0.0);
    if over == [true; 4] || over == [false; 4] {
        return;
    }
    let crossings: Vec<DVec2> = (0..4)
        .filter(|i| over[*i] != over[(i + 1) % 4])
        .map(|i| {
            let ((a, va), (b, vb)) = (corners[i], corners[(i + 1) % 4]);
            a.lerp(b, va / (va - vb))
        })
        .collect();
    match crossings[..] {
        [a, b] => segments.push([a, b]),
        // a saddle: join so that the middle belongs to the side its mean says
        [a, b, c, d] => {
            let middle_over = corners.iter().map(|(_, v)| v).sum::<f64>() > 0.0;
            let pairs = if middle_over == over[0] { [[a, b], [c, d]] } else { [[d, a], [b, c]] };
            segments.extend(pairs);
        }
        _ => {}
    }
}
