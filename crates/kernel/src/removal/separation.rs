//! Whether a slender stone tooth breaks when the cast is separated.
//!
//! ```text
//! F = pi d^3 sigma_f / (32 L)                        round cantilever bent at its tip
//! sigma_f = k sigma_c
//! P(break) = Phi(ln(F_side / F) / s)
//! ```
//!
//! `sigma_c` is the wet compressive strength at the age of separation ([`crate::stone_strength::wet_pa`]), `k` bending over
//! compression, `F_side` the sideways force on the tooth. Beam theory; a tooth with a neck is bent at its neck.

use libm::log;

use crate::normal::cdf;

/// Force at the tip of a round cantilever that breaks it at its root, N.
pub fn breaking_force_n(diameter_m: f64, length_m: f64, bending_strength_pa: f64) -> f64 {
    core::f64::consts::PI * diameter_m * diameter_m * diameter_m * bending_strength_pa / (32.0 * length_m)
}

/// Probability that a tooth with this breaking force breaks under a sideways force; `spread` of the logarithm, positive.
/// No force breaks nothing; stone without strength breaks under any.
pub fn break_probability(side_n: f64, breaking_n: f64, spread: f64) -> f64 {
    if side_n <= 0.0 {
        return 0.0;
    }
    cdf(log(side_n / breaking_n) / spread)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Cantilever values computed outside to five figures: `(d mm, L mm, sigma MPa, F N)`.
    #[test]
    fn val_cantilever() {
        for (d, length, sigma, force) in [
            (3.0, 8.0, 6.0, 1.9880),
            (4.0, 8.0, 6.0, 4.7124),
            (5.0, 8.0, 6.0, 9.2039),
            (3.0, 6.0, 6.0, 2.6507),
            (3.0, 8.0, 12.0, 3.9761),
        ] {
            let got = breaking_force_n(d * 1e-3, length * 1e-3, sigma * 1e6);
            assert!((got - force).abs() <= 0.00006, "{got}");
        }
    }

    #[test]
    fn stronger_and_thicker_break_less() {
        let risk = |d: f64, of_seven_mpa: f64, side_n: f64| {
            break_probability(side_n, breaking_force_n(d, 8e-3, 7e6 * of_seven_mpa), 0.4)
        };
        assert!(risk(4e-3, 1.0, 2.0) < risk(3e-3, 1.0, 2.0));
        assert!(risk(3e-3, 1.0, 2.0) < risk(3e-3, 0.6, 2.0));
        assert!(risk(3e-3, 1.0, 1.0) < risk(3e-3, 1.0, 2.0));
        assert_eq!(risk(3e-3, 0.0, 1.0), 1.0);
        assert_eq!(risk(3e-3, 0.0, 0.0), 0.0);
    }
}
