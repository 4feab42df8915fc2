//! The arithmetic of the comparison.

/// Share of cases that an interval is allowed to miss.
const ALPHA: f64 = 0.1;

/// Interval score of a central 90 % interval (Gneiting & Raftery 2007, eq. 43), in the unit of its arguments.
pub fn interval_score(low: f64, high: f64, x: f64) -> f64 {
    (high - low) + 2.0 / ALPHA * ((low - x).max(0.0) + (x - high).max(0.0))
}

/// A share of so many with its band.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Binomial {
    /// Successes.
    pub hits: usize,
    /// Trials.
    pub of: usize,
}

impl Binomial {
    /// The share; zero of none.
    pub fn share(self) -> f64 {
        if self.of == 0 { 0.0 } else { self.hits as f64 / self.of as f64 }
    }

    /// Its 95 % band, [`wilson_95`].
    pub fn band(self) -> [f64; 2] {
        wilson_95(self.hits, self.of)
    }
}

/// 95 % band of a binomial share by the score method without correction (Wilson 1927, J Am Stat Assoc 22:209-212); all of 0 to 1
/// for no trial.
pub fn wilson_95(hits: usize, of: usize) -> [f64; 2] {
    if of == 0 {
        return [0.0, 1.0];
    }
    const Z: f64 = 1.959_963_984_540_054;
    let (n, p) = (of as f64, hits as f64 / of as f64);
    let (middle, scale) = (p + Z * Z / (2.0 * n), 1.0 + Z * Z / n);
    let half = Z * (p * (1.0 - p) / n + Z * Z / (4.0 * n * n)).sqrt();
    [((middle - half) / scale).max(0.0), ((middle + half) / scale).min(1.0)]
}

/// Geometric mean of positive numbers, the middle of ratios that have no common unit; 1 of none.
pub fn geometric_mean(ratios: impl Iterator<Item = f64>) -> f64 {
    let logs: Vec<f64> = ratios.map(f64::ln).collect();
    if logs.is_empty() { 1.0 } else { (logs.iter().sum::<f64>() / logs.len() as f64).exp() }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// By hand: width 4; two below the interval costs 2 x 20 more, half a unit above it 10 more.
    #[test]
    fn the_interval_score_is_that_of_the_formula() {
        assert_eq!(interval_score(-1.0, 3.0, 0.5), 4.0);
        assert_eq!(interval_score(-1.0, 3.0, -1.0), 4.0);
        assert_eq!(interval_score(-1.0, 3.0, -3.0), 44.0);
        assert_eq!(interval_score(-1.0, 3.0, 3.5), 14.0);
    }

    /// The bands that Newcombe prints for this method, to four decimals (1998, Stat Med 17:857-872, table I,
    /// method 3), recalled and not read again; half a digit of the last place.
    #[test]
    fn val_the_binomial_band_is_that_of_newcombe() {
        for (hits, of, low, high) in [
            (81, 263, 0.2553, 0.3662),
            (15, 148, 0.0624, 0.1605),
            (0, 20, 0.0000, 0.1611),
            (1, 29, 0.0061, 0.1718),
        ] {
            let [l, h] = wilson_95(hits, of);
            assert!((l - low).abs() < 5.1e-5 && (h - high).abs() < 5.1e-5, "{hits}/{of}: {l} {h}");
        }
    }

    #[test]
    fn the_geometric_mean_of_a_ratio_and_its_inverse_is_one() {
        assert!((geometric_mean([4.0, 0.25].into_iter()) - 1.0).abs() < 1e-15);
        assert!((geometric_mean([2.0, 8.0].into_iter()) - 4.0).abs() < 1e-14);
    }
}
