//! Distributions of parameters, sampled by inverting their cumulative function.
//!
//! Inversion keeps one uniform number per parameter, so that a low-discrepancy sequence can be used and two routes
//! share their random numbers.

use kernel::normal;
use libm::{exp, log};

/// A distribution in SI.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Distribution {
    /// One value.
    Exact(f64),
    /// Normal, cut to `[low, high]` (infinite ends for an uncut one).
    Normal {
        /// Mean before cutting.
        mean: f64,
        /// Standard deviation before cutting, positive.
        sd: f64,
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Normal in the logarithm, cut to `[low, high]`.
    LogNormal {
        /// Median before cutting, positive.
        median: f64,
        /// Factor of one standard deviation, above one.
        factor: f64,
        /// Lower end, not negative.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Equally likely between two ends.
    Uniform {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Triangular between two ends.
    Triangular {
        /// Lower end.
        low: f64,
        /// Most likely value.
        mode: f64,
        /// Upper end.
        high: f64,
    },
}

impl Distribution {
    /// Moved by a hundredth of its median, or of its spread where that is zero; the ends stay where they were.
    pub(crate) fn nudged(&self) -> Distribution {
        let by = |of: f64, spread: f64| 0.01 * if of == 0.0 { spread } else { of };
        match *self {
            Distribution::Exact(value) => Distribution::Exact(value + by(value, 1.0)),
            Distribution::Normal { mean, sd, low, high } => {
                Distribution::Normal { mean: mean + by(mean, sd), sd, low, high }
            }
            Distribution::LogNormal { median, factor, low, high } => {
                Distribution::LogNormal { median: 1.01 * median, factor, low, high }
            }
            Distribution::Uniform { low, high } => {
                Distribution::Uniform { low, high: high - 0.01 * (high - low) }
            }
            Distribution::Triangular { low, mode, high } => Distribution::Triangular {
                low,
                mode: mode + 0.01 * (high - mode),
                high: high - 0.005 * (high - mode),
            },
        }
    }

    /// The value that is not exceeded with probability `p`, `0 < p < 1`.
    pub fn quantile(&self, p: f64) -> f64 {
        match *self {
            Distribution::Exact(value) => value,
            Distribution::Normal { mean, sd, low, high } => {
                mean + sd * cut_normal(p, (low - mean) / sd, (high - mean) / sd)
            }
            Distribution::LogNormal { median, factor, low, high } => {
                let spread = log(factor);
                let end = |x: f64| if x <= 0.0 { f64::NEG_INFINITY } else { log(x / median) / spread };
                median * exp(spread * cut_normal(p, end(low), end(high)))
            }
            Distribution::Uniform { low, high } => low + (high - low) * p,
            Distribution::Triangular { low, mode, high } => {
                let rise = (mode - low) / (high - low);
                if p < rise {
                    low + ((high - low) * (mode - low) * p).sqrt()
                } else {
                    high - ((high - low) * (high - mode) * (1.0 - p)).sqrt()
                }
            }
        }
    }

    /// Median.
    pub fn median(&self) -> f64 {
        self.quantile(0.5)
    }

    /// Whether there is nothing to sample.
    pub fn is_exact(&self) -> bool {
        matches!(self, Distribution::Exact(_))
    }
}

/// Quantile of a standard normal cut to `[low, high]`.
fn cut_normal(p: f64, low: f64, high: f64) -> f64 {
    if low == f64::NEG_INFINITY && high == f64::INFINITY {
        return normal::quantile(p);
    }
    let (p_low, p_high) = (normal::cdf(low), normal::cdf(high));
    normal::quantile(p_low + p * (p_high - p_low)).clamp(low, high)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_rise_and_stay_inside_the_cut() {
        let cut = Distribution::Normal { mean: 0.9, sd: 0.2, low: 0.0, high: 1.0 };
        let log_normal = Distribution::LogNormal { median: 150.0, factor: 1.3, low: 80.0, high: 300.0 };
        let triangular = Distribution::Triangular { low: -1.0, mode: 0.5, high: 1.0 };
        for distribution in [cut, log_normal, triangular] {
            let mut last = f64::NEG_INFINITY;
            for k in 1..400 {
                let x = distribution.quantile(k as f64 / 400.0);
                assert!(x >= last && x.is_finite());
                last = x;
            }
        }
        assert!(cut.quantile(0.999) <= 1.0 && log_normal.quantile(1e-6) >= 80.0);
        assert!((triangular.quantile(0.75) - 0.5).abs() < 1e-12);
    }
}
