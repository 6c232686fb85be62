//! How far fitted numbers may be off when the residuals scatter: the diagonal of the inverse of J'J, the usual linear
//! estimate (from memory: any text on least squares). Does not know bounds, nor whether the residuals scatter evenly.

/// What one unit of scatter in every residual does to each fitted number: the root of the diagonal of (J'J)^-1.
/// `steps` are the halves of the differences that stand for the derivatives, one a number, above 0. None if the
/// residuals do not tell the numbers apart.
///
/// ```
/// // the mean of four readings: the scatter of one over the root of four
/// let off = |x: &[f64]| [1.0, 3.0, 2.0, 2.0].iter().map(|seen| x[0] - seen).collect::<Vec<f64>>();
/// assert!((fanlap_film::maths::spread(&[2.0], &[1e-3], off).unwrap()[0] - 0.5).abs() < 1e-9);
/// ```
pub fn spread(values: &[f64], steps: &[f64], residuals: impl Fn(&[f64]) -> Vec<f64>) -> Option<Vec<f64>> {
    let slopes: Vec<Vec<f64>> = (0..values.len())
        .map(|i| {
            let at = |by: f64| {
                let mut moved = values.to_vec();
                moved[i] += by;
                residuals(&moved)
            };
            at(steps[i]).iter().zip(at(-steps[i])).map(|(up, down)| (up - down) / (2.0 * steps[i])).collect()
        })
        .collect();
    let dot = |a: &[f64], b: &[f64]| a.iter().zip(b).map(|(a, b)| a * b).sum::<f64>();
    let lengths: Vec<f64> = slopes.iter().map(|slope| dot(slope, slope).sqrt()).collect();
    if lengths.iter().any(|length| !length.is_finite() || *length <= 0.0) {
        return None;
    }
    // columns of length one: the inverse is then not spoilt by the units of the numbers
    let cosine = |i: usize, j: usize| dot(&slopes[i], &slopes[j]) / (lengths[i] * lengths[j]);
    let cosines = (0..values.len()).map(|i| (0..values.len()).map(|j| cosine(i, j)).collect()).collect();
    let diagonal = diagonal_of_inverse(cosines)?;
    Some(diagonal.iter().zip(&lengths).map(|(d, length)| d.sqrt() / length).collect())
}

/// A pivot below this counts as none: the rounding of the differences.
const SMALLEST_PIVOT: f64 = 1e-10;

/// The diagonal of the inverse of a symmetric positive matrix with ones on its diagonal, by Gauss-Jordan.
fn diagonal_of_inverse(mut matrix: Vec<Vec<f64>>) -> Option<Vec<f64>> {
    let n = matrix.len();
    for (i, row) in matrix.iter_mut().enumerate() {
        row.extend((0..n).map(|j| if i == j { 1.0 } else { 0.0 }));
    }
    for i in 0..n {
        let pivot = matrix[i][i];
        if pivot.is_nan() || pivot < SMALLEST_PIVOT {
            return None;
        }
        matrix[i].iter_mut().for_each(|x| *x /= pivot);
        let row = matrix[i].clone();
        for (_, other) in matrix.iter_mut().enumerate().filter(|(j, _)| *j != i) {
            let factor = other[i];
            other.iter_mut().zip(&row).for_each(|(x, y)| *x -= factor * y);
        }
    }
    Some((0..n).map(|i| matrix[i][n + i]).collect())
}
