//! Ordinary least squares on the places of the samples, for the part of a probability that hangs on some of them.
//!
//! The normal equations are solved by Cholesky's method in index order: a library that shares the sums out over wide registers or threads would
//! not give the same bits on every machine.

use chain::statistics::mean;
use libm::sqrt;

/// A design: columns about their means, under weights.
pub struct Design {
    columns: Vec<Vec<f64>>,
    weights: Vec<f64>,
    /// Lower triangle of the factor, row by row.
    factor: Vec<Vec<f64>>,
    /// Inverse of the normal matrix.
    inverse: Vec<Vec<f64>>,
    /// Covariances of the columns.
    covariances: Vec<Vec<f64>>,
}

/// A fit.
pub struct Fit {
    /// Coefficients, one for each column.
    pub coefficients: Vec<f64>,
    /// Variance of what is left, with the degrees of freedom.
    pub residual: f64,
}

impl Design {
    /// Factors a design; none when its columns are not independent, or there are too few samples for them.
    pub fn of(columns: Vec<Vec<f64>>, weights: Vec<f64>) -> Option<Design> {
        let count = columns.len();
        if weights.len() < 2 * count + 2 {
            return None;
        }
        let columns: Vec<Vec<f64>> = columns
            .into_iter()
            .map(|column| {
                let centre = mean(&column, &weights);
                column.into_iter().map(|x| x - centre).collect()
            })
            .collect();
        let total: f64 = weights.iter().sum();
        let product = |a: &[f64], b: &[f64]| -> f64 {
            a.iter().zip(b).zip(&weights).map(|((a, b), weight)| weight * a * b).sum()
        };
        let normal: Vec<Vec<f64>> =
            columns.iter().map(|a| columns.iter().map(|b| product(a, b)).collect()).collect();
        let covariances = normal.iter().map(|row| row.iter().map(|sum| sum / total).collect()).collect();
        let factor = cholesky(&normal)?;
        let inverse = (0..count)
            .map(|place| {
                let unit: Vec<f64> = (0..count).map(|row| if row == place { 1.0 } else { 0.0 }).collect();
                solve(&factor, &unit)
            })
            .collect();
        Some(Design { columns, weights, factor, inverse, covariances })
    }

    /// Fits values.
    pub fn fit(&self, values: &[f64]) -> Fit {
        let centre = mean(values, &self.weights);
        let off: Vec<f64> = values.iter().map(|value| value - centre).collect();
        let right: Vec<f64> = self
            .columns
            .iter()
            .map(|column| column.iter().zip(&off).zip(&self.weights).map(|((x, y), w)| w * x * y).sum())
            .collect();
        let coefficients = solve(&self.factor, &right);
        let explained: f64 = coefficients.iter().zip(&right).map(|(b, r)| b * r).sum();
        let whole: f64 = off.iter().zip(&self.weights).map(|(y, w)| w * y * y).sum();
        let total: f64 = self.weights.iter().sum();
        let free = self.weights.len() as f64 - self.columns.len() as f64 - 1.0;
        let residual = (whole - explained).max(0.0) / total * self.weights.len() as f64 / free;
        Fit { coefficients, residual }
    }

    /// Variance that the columns at these places carry: that of the fitted part less what chance alone puts there.
    pub fn carried(&self, fit: &Fit, places: &[usize]) -> f64 {
        let at = |matrix: &[Vec<f64>], i: usize, j: usize| {
            matrix.get(i).and_then(|row| row.get(j)).copied().unwrap_or(0.0)
        };
        let coefficient = |place: usize| fit.coefficients.get(place).copied().unwrap_or(0.0);
        let (mut fitted, mut chance) = (0.0, 0.0);
        for &i in places {
            for &j in places {
                let covariance = at(&self.covariances, i, j);
                fitted += coefficient(i) * coefficient(j) * covariance;
                chance += at(&self.inverse, i, j) * covariance;
            }
        }
        let mean_weight = self.weights.iter().sum::<f64>() / self.weights.len().max(1) as f64;
        (fitted - fit.residual * chance * mean_weight).max(0.0)
    }
}

fn cholesky(matrix: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let mut factor: Vec<Vec<f64>> = Vec::with_capacity(matrix.len());
    for (i, row) in matrix.iter().enumerate() {
        let mut line: Vec<f64> = Vec::with_capacity(i + 1);
        for (j, &value) in row.iter().take(i + 1).enumerate() {
            let other = if j == i { &line } else { factor.get(j)? };
            let dot: f64 = line.iter().zip(other.iter()).take(j).map(|(a, b)| a * b).sum();
            let left = value - dot;
            if j < i {
                line.push(left / other.get(j)?);
            } else if left > 1e-9 * value {
                line.push(sqrt(left));
            } else {
                return None;
            }
        }
        factor.push(line);
    }
    Some(factor)
}

/// Solves `L L' x = right`.
fn solve(factor: &[Vec<f64>], right: &[f64]) -> Vec<f64> {
    let mut forward: Vec<f64> = Vec::with_capacity(right.len());
    for (line, value) in factor.iter().zip(right) {
        let dot: f64 = line.iter().zip(&forward).map(|(a, b)| a * b).sum();
        forward.push((value - dot) / line.last().copied().unwrap_or(1.0));
    }
    let mut solved = forward;
    for i in (0..factor.len()).rev() {
        let below: f64 =
            (i + 1..factor.len()).filter_map(|k| Some(factor.get(k)?.get(i)? * solved.get(k)?)).sum();
        if let (Some(slot), Some(pivot)) = (solved.get_mut(i), factor.get(i).and_then(|line| line.get(i))) {
            *slot = (*slot - below) / pivot;
        }
    }
    solved
}

#[cfg(test)]
mod tests {
    use super::*;
    use chain::samples::coordinates;

    /// An exact line is recovered, and a part of it carries its own variance.
    #[test]
    fn an_exact_line_is_recovered() {
        let columns: Vec<Vec<f64>> = (0..5).map(|dimension| coordinates(dimension, 32)).collect();
        let values: Vec<f64> =
            (0..256).map(|i| 2.0 + 3.0 * columns[0][i] - columns[3][i] + 0.5 * columns[4][i]).collect();
        let variance = |k: usize| chain::statistics::variance(&columns[k], &[1.0; 256]);
        let (first, fourth) = (variance(0), variance(3));
        let design = Design::of(columns.clone(), vec![1.0; 256]).unwrap();
        let fit = design.fit(&values);
        for (found, expected) in fit.coefficients.iter().zip([3.0, 0.0, 0.0, -1.0, 0.5]) {
            assert!((found - expected).abs() < 1e-9, "{:?}", fit.coefficients);
        }
        assert!(fit.residual < 1e-12);
        assert!((design.carried(&fit, &[0]) - 9.0 * first).abs() < 1e-9);
        assert!((design.carried(&fit, &[3]) - fourth).abs() < 1e-9);
    }

    #[test]
    fn columns_that_depend_on_each_other_are_refused() {
        let column = coordinates(0, 32);
        assert!(Design::of(vec![column.clone(), column.clone()], vec![1.0; 256]).is_none());
        assert!(Design::of(vec![column; 1], vec![1.0; 3]).is_none());
    }
}
