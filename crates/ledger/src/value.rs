//! One row of the ledger: a number and where it came from.

use crate::{Distribution, ValueUnit};
use terms::Grade;

/// How a value is spread, in the unit of its row.
#[derive(Clone, Copy, Debug, PartialEq, serde::Deserialize, serde::Serialize)]
#[serde(tag = "kind", rename_all = "kebab-case", deny_unknown_fields)]
pub enum Spread {
    /// No spread: a constant of nature or a definition.
    Exact,
    /// Normal with this standard deviation, cut to `within` where given.
    Normal {
        /// Standard deviation.
        sd: f64,
        /// Ends beyond which the value makes no sense.
        within: Option<[f64; 2]>,
    },
    /// Normal in the logarithm; `factor` is one standard deviation.
    LogNormal {
        /// Factor of one standard deviation, above one.
        factor: f64,
        /// Ends beyond which the value makes no sense.
        within: Option<[f64; 2]>,
    },
    /// Equally likely between the ends; the central value is their middle.
    Uniform {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
    /// Triangular with the central value as the most likely.
    Triangular {
        /// Lower end.
        low: f64,
        /// Upper end.
        high: f64,
    },
}

/// A value with its spread and its pedigree.
#[derive(Clone, Debug, PartialEq, serde::Deserialize, serde::Serialize)]
#[serde(deny_unknown_fields)]
pub struct Value {
    /// `scope/name`.
    pub key: String,
    /// What it is, in words.
    pub quantity: String,
    /// Unit symbol.
    pub unit: String,
    /// Central value.
    pub central: f64,
    /// Spread.
    pub spread: Spread,
    /// Under which conditions it holds.
    pub conditions: String,
    /// Author, year, journal or standard and clause; `common practice` for a fact of the trade without one.
    pub source: String,
    /// How it was obtained from the source.
    pub how_read: String,
    /// Grade.
    pub grade: Grade,
}

impl Value {
    /// The distribution in SI.
    ///
    /// # Errors
    /// What is wrong with the row, in words.
    pub fn distribution(&self) -> Result<Distribution, String> {
        let unit =
            ValueUnit::from_symbol(&self.unit).ok_or_else(|| format!("unknown unit \"{}\"", self.unit))?;
        if !self.central.is_finite() {
            return Err(format!("central value {} is not a number", self.central));
        }
        let si = |x: f64| unit.to_si(x);
        let ends = |within: Option<[f64; 2]>| -> Result<(f64, f64), String> {
            match within {
                None => Ok((f64::NEG_INFINITY, f64::INFINITY)),
                Some([low, high]) if low < high && low <= self.central && self.central <= high => {
                    Ok((si(low), si(high)))
                }
                Some([low, high]) => Err(format!("[{low}, {high}] does not enclose {}", self.central)),
            }
        };
        match self.spread {
            Spread::Exact => Ok(Distribution::Exact(si(self.central))),
            Spread::Normal { sd, within } if sd > 0.0 && sd.is_finite() => {
                let (low, high) = ends(within)?;
                Ok(Distribution::Normal { mean: si(self.central), sd: unit.difference_to_si(sd), low, high })
            }
            Spread::LogNormal { factor, within }
                if factor > 1.0 && factor.is_finite() && self.central > 0.0 && unit.offset == 0.0 =>
            {
                let (low, high) = ends(within)?;
                Ok(Distribution::LogNormal { median: si(self.central), factor, low, high })
            }
            // What is shown is what is used: the middle of a uniform spread is its median.
            Spread::Uniform { low, high }
                if low < high && (self.central - 0.5 * (low + high)).abs() <= 0.05 * (high - low) =>
            {
                Ok(Distribution::Uniform { low: si(low), high: si(high) })
            }
            Spread::Triangular { low, high } if low < high && low <= self.central && self.central <= high => {
                Ok(Distribution::Triangular { low: si(low), mode: si(self.central), high: si(high) })
            }
            spread => Err(format!(
                "spread {spread:?} does not fit the central value {} {}",
                self.central, self.unit
            )),
        }
    }
}
