//! Shares of variance.
//!
//! ```text
//! first-order index, Saltelli et al. (2010):  S_i = mean( f(B) (f(A_B^i) - f(A)) ) / V
//! total-effect index, Jansen (1999):          T_i = mean( (f(A) - f(A_B^i))^2 ) / (2 V)
//! ```
//!
//! `A` and `B` are two independent sets of samples and `A_B^i` is `A` with the coordinates of group `i` taken from `B`.
//! A. Saltelli et al., Comput. Phys. Commun. 181 (2010) 259-270; M. J. W. Jansen, Comput. Phys. Commun. 117 (1999) 35-43.

/// First-order index of a group from `f(A)`, `f(B)` and `f(A_B)`.
pub fn first_order(a: &[f64], b: &[f64], a_b: &[f64]) -> f64 {
    let variance = variance_of_both(a, b);
    if variance <= 0.0 {
        return 0.0;
    }
    // Taking the mean off f(B) changes nothing in expectation and removes most of the scatter.
    let centre = b.iter().sum::<f64>() / b.len() as f64;
    let sum: f64 = b.iter().zip(a_b.iter().zip(a)).map(|(fb, (fab, fa))| (fb - centre) * (fab - fa)).sum();
    sum / a.len() as f64 / variance
}

/// Total-effect index of a group from `f(A)` and `f(A_B)`; the variance is that of `f(A)` and `f(A_B)` together.
pub fn total_effect(a: &[f64], a_b: &[f64]) -> f64 {
    let variance = variance_of_both(a, a_b);
    if variance <= 0.0 {
        return 0.0;
    }
    let sum: f64 = a.iter().zip(a_b).map(|(fa, fab)| (fa - fab) * (fa - fab)).sum();
    sum / (2.0 * a.len() as f64) / variance
}

/// First-order index of one coordinate from plain samples: the variance of the mean of `values` over equal slices of the
/// coordinate, less what chance alone would give. Needs no further evaluation of the model.
///
/// `coordinate` holds numbers between 0 and 1, `weights` the weight of each sample.
pub fn first_order_by_slices(coordinate: &[f64], values: &[f64], weights: &[f64], slices: usize) -> f64 {
    let mut sums = vec![0.0; slices];
    let mut totals = vec![0.0; slices];
    let mut squares = vec![0.0; slices];
    let (mut sum, mut total, mut square) = (0.0, 0.0, 0.0);
    for ((u, value), weight) in coordinate.iter().zip(values).zip(weights) {
        let slice = ((u * slices as f64) as usize).min(slices - 1);
        sums[slice] += weight * value;
        totals[slice] += weight;
        squares[slice] += weight * weight;
        sum += weight * value;
        total += weight;
        square += weight * value * value;
    }
    if total <= 0.0 {
        return 0.0;
    }
    let mean = sum / total;
    let variance = square / total - mean * mean;
    if variance <= 1e-300 {
        return 0.0;
    }
    let mut between = 0.0;
    let mut chance = 0.0;
    for slice in 0..slices {
        if totals[slice] > 0.0 {
            let deviation = sums[slice] / totals[slice] - mean;
            between += totals[slice] / total * deviation * deviation;
            chance += squares[slice] / totals[slice] / total;
        }
    }
    // Means of slices scatter by chance as well: variance (number of slices - 1) / (effective number of samples).
    (between / variance - chance * (slices as f64 - 1.0) / slices as f64).clamp(0.0, 1.0)
}

fn variance_of_both(a: &[f64], b: &[f64]) -> f64 {
    let count = (a.len() + b.len()) as f64;
    let mean = a.iter().chain(b).sum::<f64>() / count;
    a.iter().chain(b).map(|x| (x - mean) * (x - mean)).sum::<f64>() / count
}
