//! Tables of what a band weighs in what is seen, against film or luminance and against how much of the field a mark fills.
//! Does not know what makes a band weigh so much.

/// Places of the tables against the root of the share that a mark fills.
pub(super) const SHARES: usize = 8;

/// What a band weighs, against film or luminance and against the root of the share of the field that a mark fills: for
/// each place one row of shares.
#[derive(Debug, Clone)]
pub(super) struct Keenness {
    from: f64,
    per_step: f64,
    rows: Vec<[f64; SHARES + 1]>,
}

impl Keenness {
    /// A table for each band of what `of` says at so many places, beginning at `from` and a step apart, for areas.
    pub fn tables(
        bands: usize,
        (from, step): (f64, f64),
        places: usize,
        areas: &[Vec<[f64; 3]>],
        of: impl Fn(usize, &[[f64; 3]]) -> Vec<f64> + Sync + Send,
    ) -> Vec<Self> {
        let weigh = |place: usize| -> Vec<Vec<f64>> { areas.iter().map(|area| of(place, area)).collect() };
        let all: Vec<Vec<Vec<f64>>> = (0..places).map(weigh).collect();
        let row = |band: usize, place: usize| std::array::from_fn(|share| all[place][share][band]);
        let table = |band: usize| Self {
            from,
            per_step: 1.0 / step,
            rows: (0..places).map(|place| row(band, place)).collect(),
        };
        (0..bands).map(table).collect()
    }

    /// What is weighed at a place, for the root of a share.
    #[inline]
    pub fn at(&self, place: f64, root_of_share: f64) -> f64 {
        let at = ((place - self.from) * self.per_step).clamp(0.0, (self.rows.len() - 1) as f64);
        let i = (at as usize).min(self.rows.len() - 2);
        let (part, of_share) = (at - i as f64, root_of_share * SHARES as f64);
        let share = (of_share as usize).min(SHARES - 1);
        let (low, high) = (&self.rows[i], &self.rows[i + 1]);
        let between = |share: usize| low[share] + (high[share] - low[share]) * part;
        let (small, large) = (between(share), between(share + 1));
        small + (large - small) * (of_share - share as f64)
    }
}
