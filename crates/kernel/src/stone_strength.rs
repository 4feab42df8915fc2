//! Compressive strength of a stone as it hydrates and as it dries.
//!
//! ```text
//! wet  = sigma_1h (s(t) / s(1 h))^m
//! now  = wet (1 + (R - 1) exp(-w / w_0))
//! ```
//!
//! `sigma_1h` is the wet strength after an hour ([`crate::gypsum::wet_strength_1h`]) and `s` the share of the final hydration.
//! Excess water keeps the crystals from locking: strength stays near the wet one until the last of it has left, then
//! rises to `R` times the wet strength, about twice (Gypsum & Lime 1954, no. 13, abstract: under water half of what it is
//! dried at 45 C). `w` is the share of the excess water that is left and `w_0`, about a tenth, how little counts as the last of it;
//! that most of the rise comes with the last few per cent is recalled from handbooks.

use crate::gypsum::Hydration;
use libm::{exp, pow};

/// An hour from the start of mixing, s: the age at which standards test.
const TEST_S: f64 = 3600.0;

/// Wet compressive strength at `t_s` from the start of mixing, Pa; `exponent` of the share of the hydration, 1 to 3.
pub fn wet_pa(one_hour_pa: f64, hydration: &Hydration, t_s: f64, exponent: f64) -> f64 {
    let at_test = hydration.share(TEST_S);
    if at_test > 0.0 { one_hour_pa * pow(hydration.share(t_s) / at_test, exponent) } else { 0.0 }
}

/// Compressive strength, Pa, of a stone whose wet strength is `wet_pa`, with the share `water_left` of its excess water, 0 to 1.
/// `dry_ratio` is the strength of dry over wet stone, `last_water` the share that counts as the last, above 0.
pub fn drying_pa(wet_pa: f64, dry_ratio: f64, water_left: f64, last_water: f64) -> f64 {
    wet_pa * (1.0 + (dry_ratio - 1.0) * exp(-water_left.clamp(0.0, 1.0) / last_water))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gypsum::wet_strength_1h;

    fn stone() -> Hydration {
        Hydration {
            needle_set_s: 600.0,
            needle_share: 0.4,
            induction_s: 165.0,
            exponent: 1.5,
            final_conversion: 0.95,
        }
    }

    /// Plaster that dries, handbook table (Phillips, from memory): 9.6 MPa after 2 h, 11.7 after 8 h, 23.3 from 24 h on. Taken as
    /// water/powder 0.50 with nearly all its excess water, a third of it, and none; the fit behind the wet strength claims 10 % and
    /// the ratio of 2 comes from another source, hence 12 %.
    #[test]
    fn val_plaster_that_dries() {
        let wet = wet_strength_1h(0.50).pa;
        for (left, mpa) in [(0.9, 9.6), (0.33, 11.7), (0.0, 23.3)] {
            let got = drying_pa(wet, 2.0, left, 0.1) / 1e6;
            assert!((got / mpa - 1.0).abs() < 0.12, "{left} of the water: {got} MPa against {mpa}");
        }
    }

    /// Hardness of a stone surface at 45 min is below that at 2 h, and that below 24 h (stone in contact, abstract): the same order.
    #[test]
    fn strength_grows_with_age_and_drying() {
        let at = |minutes: f64| wet_pa(35e6, &stone(), 60.0 * minutes, 2.0);
        assert!((at(60.0) / 35e6 - 1.0).abs() < 1e-12);
        assert!(at(45.0) < at(120.0) && at(120.0) < drying_pa(at(1440.0), 2.0, 0.05, 0.1));
        assert_eq!(at(1.0), 0.0);
    }
}
