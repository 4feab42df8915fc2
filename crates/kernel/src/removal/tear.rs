//! Whether a web of rubber between two undercuts tears.
//!
//! ```text
//! G = 2 T lambda - w Lambda_0 ~ 2 T                  trousers with stiff legs, T the force per thickness
//! released = E e^2 w / 2                             strain energy of a web of thickness w
//! G(v) = G (v / v_0)^p                               a faster pull meets a tougher rubber
//! P(tear) = Phi(-ln(G / released) / s)
//! ```
//!
//! Rivlin & Thomas, J Polym Sci 10 (1953) 291. The thin fin at a margin is drawn by a grip and not by a given
//! strain; it is in [`crate::capture`].

use libm::{log, pow};

use crate::normal::cdf;

/// Tear energy of a trousers test, J/m2, from its force per thickness, N/m (1 N/mm is 1000 N/m).
pub fn trousers_energy_j_m2(force_per_thickness_n_m: f64) -> f64 {
    2.0 * force_per_thickness_n_m
}

/// A web that is stretched on removal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Web {
    /// Thickness, m, positive.
    pub thickness_m: f64,
    /// Mean strain, not negative.
    pub strain: f64,
    /// In what time it is stretched, s, positive.
    pub ramp_s: f64,
}

/// How a rubber tears.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Toughness {
    /// Tear energy at the rate of its test, J/m2, positive.
    pub tear_energy_j_m2: f64,
    /// Rate of strain of that test, 1/s, positive.
    pub reference_per_s: f64,
    /// `p`: 0 to 0.5.
    pub rate_exponent: f64,
    /// `s`: spread of the logarithm of the margin, positive.
    pub spread: f64,
}

/// Tearing of a web.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tear {
    /// Strain energy over tear energy at that rate.
    pub load: f64,
    /// Probability of a tear.
    pub probability: f64,
}

/// Tearing of a web of modulus `modulus_pa`. Arguments are validated by the caller; a web without strain does not tear.
pub fn tear(web: &Web, modulus_pa: f64, toughness: &Toughness) -> Tear {
    if web.strain <= 0.0 {
        return Tear { load: 0.0, probability: 0.0 };
    }
    let released_j_m2 = 0.5 * modulus_pa * web.strain * web.strain * web.thickness_m;
    let rate_per_s = web.strain / web.ramp_s;
    let energy_j_m2 =
        toughness.tear_energy_j_m2 * pow(rate_per_s / toughness.reference_per_s, toughness.rate_exponent);
    let load = released_j_m2 / energy_j_m2;
    Tear { load, probability: cdf(log(load) / toughness.spread) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const TOUGH: Toughness =
        Toughness { tear_energy_j_m2: 1000.0, reference_per_s: 1.0, rate_exponent: 0.1, spread: 0.5 };

    /// Worked values: 2 N/mm in trousers is 4000 J/m2 (textbook relation, exact); a web of 1 mm at 3 MPa and 50 % holds
    /// 375 J/m2 (by hand, exact).
    #[test]
    fn val_trousers_and_strain_energy() {
        assert_eq!(trousers_energy_j_m2(2000.0), 4000.0);
        let web = Web { thickness_m: 1e-3, strain: 0.5, ramp_s: 0.5 };
        assert!((tear(&web, 3e6, &TOUGH).load - 0.375).abs() < 1e-12);
    }

    proptest! {
        /// More strain or a thicker or stiffer web never tears less; a faster pull never tears more.
        #[test]
        fn prop_directions(w in 0.05e-3..5e-3, e in 0.01..2.0, ramp in 0.1..30.0, modulus in 3e5..6e6, by in 0.0..1.0) {
            let web = Web { thickness_m: w, strain: e, ramp_s: ramp };
            let p = tear(&web, modulus, &TOUGH).probability;
            prop_assert!((0.0..=1.0).contains(&p));
            let longer = tear(&Web { strain: e * (1.0 + by), ..web }, modulus, &TOUGH).probability;
            let thicker = tear(&Web { thickness_m: w * (1.0 + by), ..web }, modulus, &TOUGH).probability;
            let stiffer = tear(&web, modulus * (1.0 + by), &TOUGH).probability;
            let faster = tear(&Web { ramp_s: ramp / (1.0 + by), ..web }, modulus, &TOUGH).probability;
            prop_assert!(longer.min(thicker).min(stiffer) >= p - 1e-12 && faster <= p + 1e-12);
        }
    }
}
