//! Quantiles of the distribution of F, from the regularised incomplete beta function.
//!
//! ```text
//! F   P(F <= f) = I_x(d1/2, d2/2),  x = d1 f / (d1 f + d2)
//! I   continued fraction (Abramowitz & Stegun 1964, 26.5.8), evaluated from its front after Lentz (1976)
//! ```
//!
//! The fraction is of the two tails the one that converges fast; the quantile is found by halving, which cannot leave its
//! bracket. Good to one part in 10^9, and to one in 10^8 where a degree is 10^6; `checks` compares them.

use libm::{exp, fabs, lgamma, log};

/// The quantile of the standard normal distribution at 0.975.
pub const Z_975: f64 = 1.959_963_984_540_054;

/// Value that a variable of F with `d1` and `d2` degrees of freedom stays below with probability `p`.
///
/// None unless 0 < `p` < 1 and both degrees lie between 0.5 and 10^6.
pub fn of_f(p: f64, d1: f64, d2: f64) -> Option<f64> {
    let degrees = 0.5..=1e6;
    if !(p > 0.0 && p < 1.0 && degrees.contains(&d1) && degrees.contains(&d2)) {
        return None;
    }
    let (a, b) = (0.5 * d1, 0.5 * d2);
    // In the logarithm of f, so that small and large quantiles are equally exact.
    let (mut low, mut high) = (-60.0, 60.0);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        let ratio = d1 * exp(middle) / d2;
        if incomplete_beta(ratio / (1.0 + ratio), 1.0 / (1.0 + ratio), a, b) < p {
            low = middle;
        } else {
            high = middle;
        }
    }
    Some(exp(0.5 * (low + high)))
}

/// `I_x(a, b)`, with `y = 1 - x` given apart so that neither loses digits.
fn incomplete_beta(x: f64, y: f64, a: f64, b: f64) -> f64 {
    if x <= 0.0 {
        return 0.0;
    }
    if y <= 0.0 {
        return 1.0;
    }
    let front = exp(lgamma(a + b) - lgamma(a) - lgamma(b) + a * log(x) + b * log(y));
    if x < (a + 1.0) / (a + b + 2.0) {
        front * fraction(x, a, b) / a
    } else {
        1.0 - front * fraction(y, b, a) / b
    }
}

/// The continued fraction of the incomplete beta function.
fn fraction(x: f64, a: f64, b: f64) -> f64 {
    const TINY: f64 = 1e-300;
    const MOST: u32 = 20_000;
    let away = |value: f64| if fabs(value) < TINY { TINY } else { value };
    let mut c = 1.0;
    let mut d = 1.0 / away(1.0 - (a + b) * x / (a + 1.0));
    let mut value = d;
    for m in 1..=MOST {
        let m = f64::from(m);
        let even = m * (b - m) * x / ((a + 2.0 * m - 1.0) * (a + 2.0 * m));
        d = 1.0 / away(1.0 + even * d);
        c = away(1.0 + even / c);
        value *= d * c;
        let odd = -(a + m) * (a + b + m) * x / ((a + 2.0 * m) * (a + 2.0 * m + 1.0));
        d = 1.0 / away(1.0 + odd * d);
        c = away(1.0 + odd / c);
        let step = d * c;
        value *= step;
        if fabs(step - 1.0) < 1e-15 {
            break;
        }
    }
    value
}

#[cfg(test)]
mod tests {
    use super::of_f;

    #[test]
    fn what_has_no_quantile_has_none() {
        for (p, d1, d2) in
            [(0.0, 1.0, 1.0), (1.0, 1.0, 1.0), (0.5, 0.0, 1.0), (0.5, 1.0, f64::NAN), (f64::NAN, 1.0, 1.0)]
        {
            assert_eq!(of_f(p, d1, d2), None);
        }
    }

    #[test]
    fn prop_swapping_the_degrees_inverts_the_quantile() {
        for (d1, d2) in [(1.0, 9.0), (9.0, 81.0), (999.0, 3996.0), (2.0, 1e6)] {
            for p in [0.025, 0.3, 0.975] {
                let product = of_f(p, d1, d2).unwrap() * of_f(1.0 - p, d2, d1).unwrap();
                assert!((product - 1.0).abs() < 1e-9, "{p} {d1} {d2}: {product}");
            }
        }
    }
}
