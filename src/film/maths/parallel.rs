//! Work shared out over the machine's cores; in the page one after another. Every piece is computed as if it were alone
//! and lies where it belongs, so that the bits are the same with any number of threads. Knows nothing of the work.

/// Fewer values than this are not worth sharing out.
#[cfg(not(target_arch = "wasm32"))]
const WORTH_SHARING: usize = 8192;

/// Fills a list piece by piece, `size` values each and the last one shorter: `each` is given a piece and its number.
///
/// ```
/// let mut squares = vec![0; 7];
/// fanlap_film::maths::fill_pieces(&mut squares, 3, |piece, values| {
///     values.iter_mut().enumerate().for_each(|(i, value)| *value = (3 * piece + i) * (3 * piece + i));
/// });
/// assert_eq!(squares, [0, 1, 4, 9, 16, 25, 36]);
/// ```
pub fn fill_pieces<T: Send>(list: &mut [T], size: usize, each: impl Fn(usize, &mut [T]) + Sync + Send) {
    #[cfg(not(target_arch = "wasm32"))]
    if list.len() >= WORTH_SHARING {
        use rayon::prelude::*;
        return list.par_chunks_mut(size).enumerate().for_each(|(i, piece)| each(i, piece));
    }
    list.chunks_mut(size).enumerate().for_each(|(i, piece)| each(i, piece));
}

/// What `each` makes of the numbers up to `count`, in their order. For pieces that are large each.
///
/// ```
/// assert_eq!(fanlap_film::maths::in_turn(4, |i| 10 * i), [0, 10, 20, 30]);
/// ```
pub fn in_turn<T: Send>(count: usize, each: impl Fn(usize) -> T + Sync + Send) -> Vec<T> {
    #[cfg(not(target_arch = "wasm32"))]
    if count > 1 {
        use rayon::prelude::*;
        return (0..count).into_par_iter().with_max_len(1).map(each).collect();
    }
    (0..count).map(each).collect()
}

/// Two things at once, where there are cores for both.
pub fn both<A: Send, B: Send>(one: impl FnOnce() -> A + Send, other: impl FnOnce() -> B + Send) -> (A, B) {
    #[cfg(not(target_arch = "wasm32"))]
    return rayon::join(one, other);
    #[cfg(target_arch = "wasm32")]
    (one(), other())
}
