//! The limits a result is compared with. They are ledger rows: none is proven, and each has its source.

use crate::snapshot::{LedgerError, Parameters};
use terms::Grade;

/// One limit.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Limit {
    /// Ledger key, or `case` when the case file sets it.
    pub key: String,
    /// Value, SI (metres, or a share for relative limits).
    pub value: f64,
    /// Other limits in use, SI, ascending; results against them are shown too.
    pub others: Vec<f64>,
    /// Grade.
    pub grade: Grade,
}

/// The limits of one purpose.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Limits {
    /// Largest marginal opening along the path of insertion, m.
    pub opening_m: Limit,
    /// Largest space at the walls, m.
    pub wall_space_m: Limit,
    /// Largest step between crown and tooth at the margin, either way, m.
    pub overhang_m: Limit,
    /// Largest space at the walls beyond the film, m.
    pub loose_m: Limit,
    /// Largest relative error of a distance on a study cast.
    pub cast_share: Limit,
}

impl Limits {
    /// The limits of the ledger.
    ///
    /// # Errors
    /// When a row is missing.
    pub fn of(parameters: &Parameters) -> Result<Limits, LedgerError> {
        let limit = |name: &str, others: [&str; 2]| -> Result<Limit, LedgerError> {
            let value = parameters.exact(&format!("limit/{name}"))?;
            let mut listed = Vec::new();
            for other in others {
                listed.push(parameters.exact(&format!("limit/{other}"))?.1);
            }
            Ok(Limit { key: value.0.key.clone(), value: value.1, others: listed, grade: value.0.grade })
        };
        Ok(Limits {
            opening_m: limit("opening", ["opening_strict", "opening_wide"])?,
            wall_space_m: limit("wall_space", ["wall_space_strict", "wall_space_wide"])?,
            overhang_m: limit("overhang", ["overhang_strict", "overhang_wide"])?,
            loose_m: limit("loose", ["loose_strict", "loose_wide"])?,
            cast_share: limit("cast_share", ["cast_share_strict", "cast_share_middle"])?,
        })
    }

    /// The same limits with those that a case sets for itself.
    pub fn with_case(mut self, opening_m: Option<f64>, wall_space_m: Option<f64>) -> Limits {
        for (limit, own) in [(&mut self.opening_m, opening_m), (&mut self.wall_space_m, wall_space_m)] {
            if let Some(value) = own {
                limit.key = "case".to_owned();
                limit.value = value;
                limit.grade = Grade::MeasuredHere;
            }
        }
        self
    }
}
