//! Kappa: agreement beyond chance, with its large-sample standard error.
//!
//! ```text
//! kappa   (p_o - p_e) / (1 - p_e)       p_o = sum w_ij p_ij,  p_e = sum w_ij p_i. p_.j
//! var     { sum p_ij [ w_ij (1 - p_e) - (w_i. + w_.j)(1 - p_o) ]^2 - (p_o p_e - 2 p_e + p_o)^2 } / (n (1 - p_e)^4)
//!         w_i. = sum over j of p_.j w_ij,  w_.j = sum over i of p_i. w_ij
//! weights none: 1 where equal, else 0;  linear: 1 - |i - j|/(k - 1);  quadratic: 1 - (i - j)^2/(k - 1)^2
//! Fleiss  (P - P_e) / (1 - P_e)         P = share of the pairs of markers that agree,  P_e = sum of squared shares of levels
//! ```
//!
//! Cohen 1960, Educ Psychol Meas 20:37-46; Cohen 1968, Psychol Bull 70:213-220; Fleiss, Cohen & Everitt 1969, Psychol Bull 72:323-327; Fleiss 1971,
//! Psychol Bull 76:378-382. Formulas from memory; published values are compared in `checks`.

use libm::sqrt;
use serde::{Deserialize, Serialize};

use super::RatingsError;
use crate::figure::{Absent, Of, enough};

/// How near misses count.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Weights {
    /// Not at all.
    None,
    /// By their distance.
    Linear,
    /// By the square of their distance.
    Quadratic,
}

/// A kappa.
#[derive(Clone, Copy, Debug, PartialEq, Serialize, Deserialize)]
pub struct Kappa {
    /// Its value.
    pub value: f64,
    /// Its standard error in large samples.
    pub standard_error: f64,
    /// Weighted agreement observed.
    pub observed: f64,
    /// Weighted agreement by chance.
    pub chance: f64,
}

/// Weights of agreement of a scale.
pub fn weights(kind: Weights, levels: usize) -> Vec<Vec<f64>> {
    let far = levels.saturating_sub(1).max(1) as f64;
    let weight = |i: usize, j: usize| {
        let apart = i.abs_diff(j) as f64 / far;
        match kind {
            Weights::None => f64::from(u8::from(i == j)),
            Weights::Linear => 1.0 - apart,
            Weights::Quadratic => 1.0 - apart * apart,
        }
    };
    (0..levels).map(|i| (0..levels).map(|j| weight(i, j)).collect()).collect()
}

/// Kappa of a table of counts with weights of agreement.
///
/// # Errors
/// When table or weights are not square, or a weight is outside its range. The value inside is absent where there are no cases, or
/// where chance agrees always.
pub fn kappa(table: &[Vec<usize>], weights: &[Vec<f64>]) -> Result<Result<Kappa, Absent>, RatingsError> {
    let k = table.len();
    let problem = |problem| Err(RatingsError::Table { problem });
    if !(2..=6).contains(&k) || table.iter().any(|row| row.len() != k) {
        return problem("a table that is not square, or not of 2 to 6 levels");
    }
    if weights.len() != k || weights.iter().any(|row| row.len() != k) {
        return problem("weights that are not of the size of the table");
    }
    if weights.iter().flatten().any(|weight| !(0.0..=1.0).contains(weight)) {
        return problem("a weight outside 0 to 1");
    }
    if (0..k).any(|level| weights[level][level] != 1.0) {
        return problem("a weight of agreement that is not 1");
    }
    let cases: usize = table.iter().flatten().sum();
    if let Err(few) = enough(Of::Cases, cases, 1) {
        return Ok(Err(few));
    }
    let n = cases as f64;
    let p = |i: usize, j: usize| table[i][j] as f64 / n;
    let rows: Vec<f64> = (0..k).map(|i| (0..k).map(|j| p(i, j)).sum()).collect();
    let columns: Vec<f64> = (0..k).map(|j| (0..k).map(|i| p(i, j)).sum()).collect();
    let sum = |of: &dyn Fn(usize, usize) -> f64| -> f64 {
        (0..k).map(|i| (0..k).map(|j| of(i, j)).sum::<f64>()).sum()
    };
    let observed = sum(&|i, j| weights[i][j] * p(i, j));
    let chance = sum(&|i, j| weights[i][j] * rows[i] * columns[j]);
    if 1.0 - chance <= 1e-12 {
        return Ok(Err(Absent::ChanceIsCertain));
    }
    let of_row: Vec<f64> = (0..k).map(|i| (0..k).map(|j| columns[j] * weights[i][j]).sum()).collect();
    let of_column: Vec<f64> = (0..k).map(|j| (0..k).map(|i| rows[i] * weights[i][j]).sum()).collect();
    let squares = sum(&|i, j| {
        let term = weights[i][j] * (1.0 - chance) - (of_row[i] + of_column[j]) * (1.0 - observed);
        p(i, j) * term * term
    });
    let centre = observed * chance - 2.0 * chance + observed;
    let left = 1.0 - chance;
    // Rounding leaves a little below zero where all agree.
    let variance = (squares - centre * centre).max(0.0) / (n * left * left * left * left);
    Ok(Ok(Kappa { value: (observed - chance) / left, standard_error: sqrt(variance), observed, chance }))
}

/// Fleiss' kappa of cases by levels, each entry the number of markers who gave the level.
///
/// # Errors
/// When there are no cases, fewer than two markers or not the same number for each case, or chance agrees always.
pub fn fleiss(counts: &[Vec<usize>]) -> Result<f64, Absent> {
    enough(Of::Cases, counts.len(), 1)?;
    let of_first: usize = counts.iter().take(1).flatten().sum();
    let fewest = counts.iter().map(|case| case.iter().sum()).min().unwrap_or(0);
    // A case with fewer markers than another one has too few.
    enough(Of::Markers, fewest, of_first.max(2))?;
    let most = counts.iter().map(|case| case.iter().sum()).max().unwrap_or(0);
    enough(Of::Markers, of_first, most)?;
    let all = (counts.len() * of_first) as f64;
    let levels = counts.iter().map(Vec::len).max().unwrap_or(0);
    let share = |level: usize| counts.iter().filter_map(|case| case.get(level)).sum::<usize>() as f64 / all;
    let chance: f64 = (0..levels).map(share).map(|share| share * share).sum();
    if 1.0 - chance <= 1e-12 {
        return Err(Absent::ChanceIsCertain);
    }
    Ok((pairs_alike(counts) - chance) / (1.0 - chance))
}

/// Mean over the cases of the share of pairs of markers with the same level.
pub(super) fn pairs_alike(counts: &[Vec<usize>]) -> f64 {
    let of_case = |case: &Vec<usize>| {
        let markers: usize = case.iter().sum();
        let alike: usize = case.iter().map(|count| count * count.saturating_sub(1)).sum();
        alike as f64 / (markers * (markers - 1)) as f64
    };
    counts.iter().map(of_case).sum::<f64>() / counts.len() as f64
}
