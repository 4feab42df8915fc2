//! Shape functions of the Taylor-Hood quadrilateral on the square -1 <= xi, eta <= 1, and the Gauss rule.
//!
//! Nine nodes carry the displacement and the geometry, numbered row by row from (-1, -1); the four corners (nodes 0,
//! 2, 6 and 8) carry the pressure.

/// Local numbers of the corners among the nine nodes, in the order of [`corners`].
pub const CORNERS: [usize; 4] = [0, 2, 6, 8];

/// Points of the Gauss rule with four points, exact to degree 7.
pub const GAUSS_POINTS: [f64; 4] =
    [-0.861_136_311_594_052_6, -0.339_981_043_584_856_3, 0.339_981_043_584_856_3, 0.861_136_311_594_052_6];
/// Weights of [`GAUSS_POINTS`].
pub const GAUSS_WEIGHTS: [f64; 4] =
    [0.347_854_845_137_453_9, 0.652_145_154_862_546_1, 0.652_145_154_862_546_1, 0.347_854_845_137_453_9];

/// The three quadratic functions of a line with nodes at -1, 0 and 1, and their derivatives.
pub fn line(x: f64) -> ([f64; 3], [f64; 3]) {
    ([0.5 * x * (x - 1.0), 1.0 - x * x, 0.5 * x * (x + 1.0)], [x - 0.5, -2.0 * x, x + 0.5])
}

/// The nine biquadratic functions and their derivatives in `xi` and `eta`.
pub fn nine(xi: f64, eta: f64) -> ([f64; 9], [[f64; 2]; 9]) {
    let ((f, df), (g, dg)) = (line(xi), line(eta));
    let mut value = [0.0; 9];
    let mut slope = [[0.0; 2]; 9];
    for j in 0..3 {
        for i in 0..3 {
            value[3 * j + i] = f[i] * g[j];
            slope[3 * j + i] = [df[i] * g[j], f[i] * dg[j]];
        }
    }
    (value, slope)
}

/// The four bilinear functions, in the order of [`CORNERS`].
pub fn corners(xi: f64, eta: f64) -> [f64; 4] {
    let (a, b) = (0.5 * (1.0 - xi), 0.5 * (1.0 + xi));
    let (c, d) = (0.5 * (1.0 - eta), 0.5 * (1.0 + eta));
    [a * c, b * c, a * d, b * d]
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Each function is one at its node and nothing at the others; sums are one and slopes cancel.
    #[test]
    fn partition_of_unity() {
        for j in 0..3 {
            for i in 0..3 {
                let (value, slope) = nine(i as f64 - 1.0, j as f64 - 1.0);
                for (k, v) in value.iter().enumerate() {
                    assert!((v - f64::from(u8::from(k == 3 * j + i))).abs() < 1e-15);
                }
                assert!(slope.iter().map(|s| s[0]).sum::<f64>().abs() < 1e-14);
                assert!(slope.iter().map(|s| s[1]).sum::<f64>().abs() < 1e-14);
            }
        }
        assert!((corners(0.3, -0.7).iter().sum::<f64>() - 1.0).abs() < 1e-15);
    }

    /// The rule integrates x^6 exactly: 2/7.
    #[test]
    fn gauss_rule_is_of_degree_seven() {
        let sum: f64 = GAUSS_POINTS.iter().zip(GAUSS_WEIGHTS).map(|(x, w)| w * x.powi(6)).sum();
        assert!((sum - 2.0 / 7.0).abs() < 1e-14);
    }
}
