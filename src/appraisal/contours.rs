//! Contour lines of a film: marching squares (Lorensen & Cline 1987 in two dimensions), as loose segments. Does not
//! know what is drawn with them.

use crate::panel::Patch;
use glam::DVec2;

/// Segments, on the plan in mm, along which a value over the cells of a patch equals `level`. Every `coarse`-th cell
/// is visited.
pub fn contours(patch: &Patch, values: &[f64], level: f64, coarse: usize) -> Vec<[DVec2; 2]> {
    let mut segments = Vec::new();
    let (columns, rows) = ((patch.columns - 1) / coarse, (patch.rows - 1) / coarse);
    for row in 0..rows {
        for column in 0..columns {
            let corner = |c: usize, r: usize| {
                let (c, r) = ((column + c) * coarse, (row + r) * coarse);
                (patch.centre(c, r), values[r * patch.columns + c] - level)
            };
            square([corner(0, 0), corner(1, 0), corner(1, 1), corner(0, 1)], &mut segments);
        }
    }
    segments
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
