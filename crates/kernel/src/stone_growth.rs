//! How much of its setting expansion a stone brings out inside the impression.
//!
//! ```text
//! E(x)   = E_set x^p,   x = (s - s_r) / (1 - s_r)            stiffness of the skeleton
//! k      = f E_c a / t                                       pressure for each unit of strain of the die wall
//! d(out) = g E / (E + k) d(free)                             in the impression
//! d(out) = d(free)                                           after separation
//! ```
//!
//! `s` is the share of the final hydration and `s_r` the share at which the slurry has become a skeleton: what grows
//! before goes into the open top of the pour. Then stone and layer are two springs against each other: the skeleton begins
//! with no stiffness at all, so the impression swallows the first growth and lets the later through. A power of 2 to 4 of the
//! distance from the threshold is what percolating and porous skeletons show; for gypsum that hardens it was not found
//! measured. `E_c` is the confined modulus of the layer ([`confined_modulus_pa`]), `a` the radius of the die, `t` the
//! thickness of the layer. A layer that the tray does not hold can slip along it and pushes back without the share that its
//! shape adds. Finite elements of a growing die, free to rise from the impression with its cast, give 0.85 to 1.8 times
//! that `k` (`crates/elements/tests/growing_stone.rs`); the factor `f` stands for this and for what the layer gives way in an hour.
//!
//! Growth is proportional to hydration up to the reading at two hours, so that part is an integral over `x`:
//!
//! ```text
//! I(x) = int_0^x y^p / (y^p + kappa) dy,   kappa = k / E_set
//! ```
//!
//! A stone in contact with a water gel drinks from it and grows `g` times as much. Under water setting expansion is about
//! doubled (Mahler & Ady 1960, from memory). The gel softens the surface as well, which is not modelled.
//!
//! What the impression compressed springs back on separation: k / E_set of the growth, a thousandth, which is left out. Casts
//! contract after 72 to 96 h of storage (Michalakis et al. 2012, doi 10.1016/S0022-3913(12)60146-2, abstract); by how much was not told, so
//! nothing here shrinks.

use libm::pow;

use crate::gypsum::{Expansion, GypsumError, Hydration, READING_S, within};
use crate::removal::confined_modulus_pa;

/// Panels of the quadrature. Error of the integral below 4e-5 for p from 2 to 4 and any stiffness.
const PANELS: usize = 8;

/// The stiffness of a stone that hardens.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Skeleton {
    /// `E_set`: modulus of the wet stone when hydration has ended, Pa: 1e8 to 1e11.
    pub modulus_pa: f64,
    /// `p`: 1 to 6.
    pub exponent: f64,
}

/// The layer between die and tray.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Backing {
    /// Modulus of the set material, Pa.
    pub modulus_pa: f64,
    /// Poisson's ratio of the layer, below 0.5.
    pub poisson: f64,
    /// Thickness of the layer beside the die, m.
    pub thickness_m: f64,
    /// Radius of the die, m.
    pub radius_m: f64,
    /// Height of the die, m.
    pub height_m: f64,
    /// Share of the tray's grip, 0 to 1.
    pub hold: f64,
}

/// The stone's stay in the impression.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stay {
    /// `k`: pressure of the impression for each unit of strain of the die wall, Pa: 0 or more.
    pub stiffness_pa: f64,
    /// `g`: growth in contact with the impression over growth in air: 1 for rubbers, 1 to 3.
    pub gain: f64,
    /// Separation, s from the start of mixing the stone.
    pub separated_s: f64,
}

/// Linear growth of a die.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Grown {
    /// In the impression.
    pub inside: f64,
    /// After separation.
    pub after: f64,
}

impl Grown {
    /// Both.
    pub fn total(&self) -> f64 {
        self.inside + self.after
    }
}

impl Skeleton {
    /// Refuses figures outside the ranges that the fields state.
    ///
    /// # Errors
    /// Names the field.
    pub fn check(&self) -> Result<(), GypsumError> {
        within("modulus_pa", self.modulus_pa, 1e8, 1e11)?;
        within("exponent", self.exponent, 1.0, 6.0)
    }

    /// Modulus, Pa, at the share `hydrated` of the final hydration, for a skeleton that began at `rigid_share`.
    pub fn modulus_at_pa(&self, hydrated: f64, rigid_share: f64) -> f64 {
        self.modulus_pa * pow(progress(hydrated, rigid_share), self.exponent)
    }
}

impl Backing {
    /// `k` without its factor `f`, Pa (module documentation).
    pub fn stiffness_pa(&self) -> f64 {
        let over =
            |height_m: f64| confined_modulus_pa(self.modulus_pa, self.poisson, height_m, self.thickness_m);
        let confined_pa = self.hold * over(self.height_m) + (1.0 - self.hold) * over(0.0);
        confined_pa * self.radius_m / self.thickness_m
    }
}

/// Two springs against each other: the part of a free growth that comes out.
pub fn let_through(stone_pa: f64, impression_pa: f64) -> f64 {
    if stone_pa > 0.0 { stone_pa / (stone_pa + impression_pa) } else { 0.0 }
}

/// Growth of the die from the start of its skeleton to `age_s` from the start of mixing. A stone that is still a slurry at two
/// hours has no setting expansion to speak of, and grows by nothing.
///
/// # Errors
/// When a figure lies outside the range that its field states.
pub fn grown(
    expansion: &Expansion,
    hydration: &Hydration,
    skeleton: &Skeleton,
    stay: &Stay,
    age_s: f64,
) -> Result<Grown, GypsumError> {
    hydration.check()?;
    skeleton.check()?;
    within("stiffness_pa", stay.stiffness_pa, 0.0, f64::INFINITY)?;
    within("gain", stay.gain, 1.0, 3.0)?;
    within("separated_s", stay.separated_s, 0.0, f64::INFINITY)?;
    let until_s = stay.separated_s.min(age_s);
    let free = expansion.strain(hydration, until_s);
    let rigid = expansion.rigid_share;
    let last = progress(hydration.share(until_s.min(READING_S)), rigid);
    let whole = progress(hydration.share(READING_S), rigid);
    if whole <= 0.0 {
        return Ok(Grown::default());
    }
    let kappa = stay.stiffness_pa / skeleton.modulus_pa;
    let early = expansion.at_2h / whole * integral(last, skeleton.exponent, kappa, PANELS);
    let late_free = (free - expansion.at_2h * last / whole).max(0.0);
    let now_pa = skeleton.modulus_at_pa(hydration.share(until_s), rigid);
    let late = late_free * let_through(now_pa, stay.stiffness_pa);
    Ok(Grown { inside: stay.gain * (early + late), after: expansion.strain(hydration, age_s) - free })
}

/// Way of the hydration from the start of the skeleton to its end, 0 to 1.
fn progress(hydrated: f64, rigid_share: f64) -> f64 {
    ((hydrated - rigid_share) / (1.0 - rigid_share)).clamp(0.0, 1.0)
}

/// `I(x)` of the module documentation: three Gauss points on each panel of `v`, `y = x v^3`, which spreads the steep foot.
fn integral(x: f64, exponent: f64, kappa: f64, panels: usize) -> f64 {
    // A rigid mould: the quotient below would be infinity over infinity.
    if kappa.is_infinite() {
        return 0.0;
    }
    let half = 0.5 / panels as f64;
    let mut sum = 0.0;
    for panel in 0..panels {
        let middle = half * (2 * panel + 1) as f64;
        for (place, weight) in [(-GAUSS_PLACE, 5.0 / 9.0), (0.0, 8.0 / 9.0), (GAUSS_PLACE, 5.0 / 9.0)] {
            let v = middle + half * place;
            let power = pow(x * v * v * v, exponent);
            sum += weight * half * 3.0 * x * v * v * let_through(power, kappa);
        }
    }
    sum
}

/// Square root of 3/5.
const GAUSS_PLACE: f64 = 0.774_596_669_241_483_4;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::gypsum::DELAYED_TAU_S;
    use proptest::prelude::*;

    fn hydration() -> Hydration {
        Hydration {
            needle_set_s: 600.0,
            needle_share: 0.4,
            induction_s: 165.0,
            exponent: 1.5,
            final_conversion: 0.95,
        }
    }

    fn expansion() -> Expansion {
        Expansion { at_2h: 8e-4, plateau_ratio: 1.45, rigid_share: 0.5, delayed_tau_s: DELAYED_TAU_S }
    }

    const STONE: Skeleton = Skeleton { modulus_pa: 8e9, exponent: 3.0 };
    const DAY_S: f64 = 86_400.0;

    fn stay(stiffness_pa: f64) -> Stay {
        Stay { stiffness_pa, gain: 1.0, separated_s: 3600.0 }
    }

    fn total(stay: &Stay) -> f64 {
        grown(&expansion(), &hydration(), &STONE, stay, DAY_S).unwrap().total()
    }

    /// Lame: a stone of 4 mm in a held annulus to 7 mm, both in plane strain, in 30-digit arithmetic elsewhere (rubber 1 MPa,
    /// 0.499; stone 0.25): 5 um of free growth come out as printed, by the modulus of the stone in MPa.
    #[test]
    fn val_two_springs_lame() {
        let (a, b, e, nu) = (4.0_f64, 7.0_f64, 1e6, 0.499);
        // Pressure on the wall of a plane annulus that is held outside, for each unit of u(a)/a.
        let plane_pa = e / ((1.0 + nu) * (1.0 - 2.0 * nu));
        let ring_pa = plane_pa * (a * a + (1.0 - 2.0 * nu) * b * b) / (b * b - a * a);
        for (mpa, um) in [(1.0, 0.048_69), (10.0, 0.447_64), (100.0, 2.478_97), (1000.0, 4.538_45)] {
            let stone_pa = mpa * 1e6 / (1.25 * 0.5);
            let out = 5.0 * let_through(stone_pa, ring_pa);
            assert!((out - um).abs() < 6e-6, "{mpa} MPa: {out} um");
        }
    }

    /// x (1 - 2F1(1, 1/p; 1 + 1/p; -x^p/kappa)) by a general-purpose library (mpmath, 30 digits) at x = 0.95, by p and kappa.
    #[test]
    fn val_integral() {
        let rows = [
            (2.0, 1e-6, 0.948_430_256_304),
            (2.0, 1e-3, 0.901_379_301_725),
            (3.0, 1e-4, 0.893_929_326_575),
            (3.0, 1e-3, 0.829_633_800_722),
            (3.0, 1e-2, 0.695_000_354_526),
            (4.0, 1e-6, 0.914_876_315_128),
            (4.0, 1e-2, 0.602_626_801_028),
            (4.0, 100.0, 0.001_540_598_347),
        ];
        for (p, kappa, expected) in rows {
            let got = integral(0.95, p, kappa, PANELS);
            assert!((got - expected).abs() < 4e-5, "p {p}, kappa {kappa}: {got}");
            assert!((integral(0.95, p, kappa, 256) - expected).abs() < 1e-11, "p {p}, kappa {kappa}");
        }
    }

    /// Three Gauss points: sixth order. Closed form for p = 2: x - sqrt(kappa) atan(x / sqrt(kappa)).
    #[test]
    fn conv_integral_is_of_sixth_order() {
        let root = libm::sqrt(0.1);
        let exact = 0.95 - root * libm::atan(0.95 / root);
        let error = |panels: usize| (integral(0.95, 2.0, 0.1, panels) - exact).abs();
        let order = libm::log2(error(16) / error(32));
        assert!((5.5..6.5).contains(&order), "{order}");
        assert!(error(PANELS) < 1e-7);
    }

    /// A mould without stiffness lets everything through, one without give nothing; both leave what grows after separation.
    #[test]
    fn limits_of_the_stiffness() {
        let (expansion, hydration) = (expansion(), hydration());
        let free = expansion.strain(&hydration, DAY_S);
        assert!((total(&stay(0.0)) / free - 1.0).abs() < 1e-12);
        let rigid = grown(&expansion, &hydration, &STONE, &stay(f64::INFINITY), DAY_S).unwrap();
        assert_eq!(rigid.inside, 0.0);
        assert!((rigid.after + expansion.strain(&hydration, 3600.0) - free).abs() < 1e-18);
    }

    /// Separated while still a slurry, the impression has had no part in it.
    #[test]
    fn nothing_grows_inside_before_the_skeleton() {
        let early = Stay { separated_s: 300.0, ..stay(1e7) };
        let grown = grown(&expansion(), &hydration(), &STONE, &early, DAY_S).unwrap();
        assert_eq!(grown.inside, 0.0);
        assert!(grown.after > 8e-4);
    }

    #[test]
    fn a_stone_that_is_late_has_not_grown() {
        let late = Hydration { needle_set_s: 14_000.0, ..hydration() };
        assert_eq!(grown(&expansion(), &late, &STONE, &stay(1e7), DAY_S).unwrap(), Grown::default());
    }

    /// Most of the growth comes after the stone has outgrown a rubber, so an hour more or less in it changes little.
    #[test]
    fn a_rubber_takes_a_tenth_or_two() {
        let layer = Backing {
            modulus_pa: 3e6,
            poisson: 0.47,
            thickness_m: 3e-3,
            radius_m: 4e-3,
            height_m: 5e-3,
            hold: 1.0,
        };
        let kept = total(&stay(1.25 * layer.stiffness_pa())) / total(&stay(0.0));
        assert!((0.8..0.97).contains(&kept), "{kept}");
        let soft = Backing { modulus_pa: 1e6, ..layer };
        let thick = Backing { thickness_m: 6e-3, ..layer };
        let loose = Backing { hold: 0.0, ..layer };
        for less in [soft, thick, loose] {
            assert!(less.stiffness_pa() < layer.stiffness_pa());
        }
        let later = Stay { separated_s: 7200.0, ..stay(layer.stiffness_pa()) };
        assert!((total(&later) / total(&stay(layer.stiffness_pa())) - 1.0).abs() < 0.01);
    }

    #[test]
    fn refusals_name_field_and_value() {
        let said = |skeleton: Skeleton, stay: Stay| {
            grown(&expansion(), &hydration(), &skeleton, &stay, DAY_S).unwrap_err().to_string()
        };
        let soft = said(Skeleton { modulus_pa: 1.0, ..STONE }, stay(0.0));
        assert!(soft.contains("modulus_pa") && soft.contains("is 1;"), "{soft}");
        let lost = said(STONE, stay(f64::NAN));
        assert!(lost.contains("stiffness_pa") && lost.contains("NaN"), "{lost}");
        let shrinks = said(STONE, Stay { gain: 0.5, ..stay(0.0) });
        assert!(shrinks.contains("gain") && shrinks.contains("0.5"), "{shrinks}");
    }

    proptest! {
        /// A stiffer mould lets through no more, a stiffer stone no less, a drier contact no more; never beyond what is free.
        #[test]
        fn prop_restraint_is_ordered(
            k in 1e4..1e9, more in 1.1..10.0, p in 2.0..4.0, modulus_gpa in 2.0..9.9, rigid in 0.3..0.7,
            separated in 0.0..2e5, gain in 1.0..2.0,
        ) {
            let x = Expansion { rigid_share: rigid, ..expansion() };
            let stone = Skeleton { modulus_pa: modulus_gpa * 1e9, exponent: p };
            let of = |stone: &Skeleton, stay: &Stay| grown(&x, &hydration(), stone, stay, DAY_S).unwrap();
            let stay = Stay { stiffness_pa: k, gain: 1.0, separated_s: separated };
            let here = of(&stone, &stay);
            let stiffer = of(&stone, &Stay { stiffness_pa: k * more, ..stay });
            let harder = of(&Skeleton { modulus_pa: stone.modulus_pa * more, ..stone }, &stay);
            let wetter = of(&stone, &Stay { gain, ..stay });
            let free = x.strain(&hydration(), DAY_S);
            prop_assert!(stiffer.inside <= here.inside + 1e-18 && harder.inside >= here.inside - 1e-18);
            prop_assert!((wetter.inside - gain * here.inside).abs() < 1e-15);
            prop_assert!(here.inside >= 0.0 && here.after >= -1e-18);
            prop_assert!(here.total() <= free * (1.0 + 1e-4));
        }
    }
}
