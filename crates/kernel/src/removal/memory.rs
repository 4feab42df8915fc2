//! What a strain leaves behind: the part that comes back slowly and the part that never does.
//!
//! ```text
//! left(t) = L e + (1 - L) r(t)
//! L / (1 - L) = L_0 / (1 - L_0) (e / e_t)^(m - 1) (c / c_t)^beta x^(-n)
//! ```
//!
//! `r(t)` is the recovery of the linear solid ([`super::spectrum`]), `L` the share of the strain that is lost, `c` the time
//! under strain, `e_t` and `c_t` those of the standard test, `x` the network at removal as a share of that of the test: 1
//! there, towards 0 at the gel point, where everything is lost. The odds keep `L` between 0 and 1.
//!
//! The test fixes both parts, so that neither is counted twice: its recovery R, read a while after the release, says that
//! `L_0 e_t + (1 - L_0) r(t_read) = (1 - R) b`. A stated share of that reading is slow recovery: the branches of a given
//! shape are scaled until their `r` is that share, and the rest is lost.
//!
//! Standards state what is missing as a share of the height of the specimen, `b = 1` (formula from memory). Handbooks agree:
//! recovery and permanent deformation add up to 100 %, and alginate of 98 % keeps 1 to 2 % of strain from 10 to 20 %. A
//! reading stated as a share of the strain itself has `b = e_t` and means three to five times less set.
//!
//! That set depends on strain, age and load time in polyether, and not on load time in set addition silicone, is Endo &
//! Finger, Am J Dent 18 (2005) 355; that it comes from cure under strain and the exchange of bonds, and
//! that recovery itself is fast, is read in an abstract. The power
//! laws and `n` = 8/3, how the modulus of a gel grows beyond its gel point in percolation, are assumed.

use libm::pow;

use super::spectrum::{Branch, Loading, Spectrum};
use super::{RemovalError, within};

/// A recovery test: how the specimen is strained and when it is read.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Test {
    /// How it is strained.
    pub loading: Loading,
    /// From the release to the reading, s: 1 to 3600.
    pub read_s: f64,
    /// What the recovery is a share of.
    pub base: Base,
}

/// What a recovery is a share of.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Base {
    /// The height of the specimen, as standards state it.
    Height,
    /// The strain of the test.
    Strain,
}

impl Test {
    /// Strain that is missing at the reading.
    fn missing(&self, recovery: f64) -> f64 {
        match self.base {
            Base::Height => 1.0 - recovery,
            Base::Strain => (1.0 - recovery) * self.loading.strain,
        }
    }
}

/// Elastomers: 30 % within 1 s, let back in about 5 s, read after 120 s (standard, from memory).
pub const ELASTOMER_TEST: Test = Test {
    loading: Loading { strain: 0.3, ramp_s: 1.0, hold_s: 0.0, release_s: 5.0 },
    read_s: 120.0,
    base: Base::Height,
};

/// Hydrocolloids: 20 % within 1 s, held 5 s, let go, read after 35 s (standard, from memory: 30 to 40 s).
pub const GEL_TEST: Test = Test {
    loading: Loading { strain: 0.2, ramp_s: 1.0, hold_s: 5.0, release_s: 0.0 },
    read_s: 35.0,
    base: Base::Height,
};

/// What a class remembers, as its rows state it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Habit {
    /// Recovery in the standard test: up to 1, and high enough that no more than nine tenths of the strain are missing.
    pub recovery: f64,
    /// Share of the strain missing in that reading that still comes back, 0 to 0.9.
    pub slow_share: f64,
    /// Relaxation time of the fast branch, s: 0.1 to 100.
    pub fast_s: f64,
    /// Relaxation time of the slow branch, s: above the fast one, up to 1e5.
    pub slow_s: f64,
    /// `m`: how the set grows with strain, 1 to 3; 1 is in proportion.
    pub strain_exponent: f64,
    /// `beta`: how the odds of loss grow with time under strain, 0 to 2.
    pub contact_exponent: f64,
    /// `n`: how they fall as the network grows, 0 to 10.
    pub network_exponent: f64,
}

/// A class calibrated on its standard test. Moduli of its solid are shares of the relaxed one.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Memory {
    spectrum: Spectrum,
    odds: f64,
    test: Test,
    habit: Habit,
}

/// What is left at one moment, as strain.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Left {
    /// Still coming back.
    pub elastic: f64,
    /// Lost.
    pub lost: f64,
}

impl Left {
    /// Both.
    pub fn total(&self) -> f64 {
        self.elastic + self.lost
    }
}

/// Share of the network of the standard test that stands at conversion `alpha`: 0 at and below the gel point, 1 at the
/// conversion of the test, above 1 beyond it. Needs `gel < test`.
pub fn network_share(alpha: f64, gel: f64, test: f64) -> f64 {
    ((alpha - gel) / (test - gel)).max(0.0)
}

/// Most that the branches together may reach, as a share of the relaxed spring.
const STRENGTH_MAX: f64 = 1.0;

impl Memory {
    /// Calibrates a class on a test. Refuses figures outside the ranges that the fields state.
    ///
    /// Where even branches as strong as the spring do not come back as slowly as `slow_share` asks, they stay at that
    /// strength and the rest counts as lost.
    pub fn calibrate(habit: &Habit, test: &Test) -> Result<Memory, RemovalError> {
        check(habit, test)?;
        let missing = test.missing(habit.recovery);
        let lost_share = (1.0 - habit.slow_share) * missing / test.loading.strain;
        let wanted = habit.slow_share * missing / (1.0 - lost_share);
        let slow_at = |strength: f64| -> Result<(Spectrum, f64), RemovalError> {
            let solid = branches(habit, strength)?;
            Ok((solid, solid.load(&test.loading).strain_at(test.read_s)))
        };
        // What comes back slowly is nearly in proportion to the strength: regula falsi with the Illinois weight. The share
        // need not be hit closely, for what is lost is then taken from the reading.
        let (mut low, mut high) = (0.0, STRENGTH_MAX);
        let (mut solid, mut slow) = slow_at(high)?;
        if slow > wanted {
            let (mut below, mut above) = (-wanted, slow - wanted);
            let mut side = 0;
            for _ in 0..60 {
                let strength = ((low * above - high * below) / (above - below)).max(1e-8);
                (solid, slow) = slow_at(strength)?;
                let miss = slow - wanted;
                if miss.abs() <= 1e-4 * wanted || strength <= 1e-8 {
                    break;
                }
                if miss > 0.0 {
                    (high, above) = (strength, miss);
                    below *= if side == 1 { 0.5 } else { 1.0 };
                    side = 1;
                } else {
                    (low, below) = (strength, miss);
                    above *= if side == -1 { 0.5 } else { 1.0 };
                    side = -1;
                }
            }
        }
        let lost = ((missing - slow) / (test.loading.strain - slow)).clamp(0.0, 1.0);
        Ok(Memory { spectrum: solid, odds: lost / (1.0 - lost), test: *test, habit: *habit })
    }

    /// The solid; its relaxed modulus is 1.
    pub fn spectrum(&self) -> &Spectrum {
        &self.spectrum
    }

    /// What a loading leaves `recover_s` after the rubber came free, at a network share `x` ([`network_share`]).
    ///
    /// The loading must be within its ranges, `network` and `recover_s` not negative.
    pub fn left(&self, loading: &Loading, network: f64, recover_s: f64) -> Left {
        let lost_share = self.lost_share(loading, network);
        let elastic = (1.0 - lost_share) * self.spectrum.load(loading).strain_at(recover_s);
        Left { elastic, lost: lost_share * loading.strain }
    }

    /// Share of the strain that a loading loses for good at a network share `x` ([`network_share`]); all of it without a network.
    pub fn lost_share(&self, loading: &Loading, network: f64) -> f64 {
        if loading.strain <= 0.0 {
            return 0.0;
        }
        if network <= 0.0 {
            return 1.0;
        }
        let odds = self.odds
            * pow(loading.strain / self.test.loading.strain, self.habit.strain_exponent - 1.0)
            * pow(loading.contact_s() / self.test.loading.contact_s(), self.habit.contact_exponent)
            * pow(network, -self.habit.network_exponent);
        odds / (1.0 + odds)
    }
}

/// Two branches of equal strength.
fn branches(habit: &Habit, strength: f64) -> Result<Spectrum, RemovalError> {
    let modulus = 0.5 * strength;
    Spectrum::new(1.0, &[Branch { modulus, tau_s: habit.fast_s }, Branch { modulus, tau_s: habit.slow_s }])
}

fn check(habit: &Habit, test: &Test) -> Result<(), RemovalError> {
    test.loading.check()?;
    within("strain of the test", test.loading.strain, 0.01, 5.0)?;
    within("read_s", test.read_s, 1.0, 3600.0)?;
    let base = test.missing(0.0);
    within("recovery", habit.recovery, 1.0 - 0.9 * test.loading.strain / base, 1.0)?;
    within("slow_share", habit.slow_share, 0.0, 0.9)?;
    within("fast_s", habit.fast_s, 0.1, 100.0)?;
    within("slow_s", habit.slow_s, 1.01 * habit.fast_s, 1e5)?;
    within("strain_exponent", habit.strain_exponent, 1.0, 3.0)?;
    within("contact_exponent", habit.contact_exponent, 0.0, 2.0)?;
    within("network_exponent", habit.network_exponent, 0.0, 10.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn habit(recovery: f64, contact_exponent: f64) -> Habit {
        Habit {
            recovery,
            slow_share: 0.05,
            fast_s: 2.0,
            slow_s: 60.0,
            strain_exponent: 1.0,
            contact_exponent,
            network_exponent: 8.0 / 3.0,
        }
    }

    /// Mean recoveries of single products: five elastomers of IADR 2010 abstract 126959 (table), and alginate and agar as
    /// recalled from Craig. The class is calibrated on the test, so the test must give them back to the solver's 1e-9.
    #[test]
    fn val_recoveries_of_the_tables() {
        let tables =
            [(ELASTOMER_TEST, &[98.2, 99.0, 99.5, 97.5, 99.3][..]), (GEL_TEST, &[98.2, 98.8, 99.0][..])];
        for (test, recoveries) in tables {
            for &percent in recoveries {
                let memory = Memory::calibrate(&habit(percent / 100.0, 0.2), &test).unwrap();
                let left = memory.left(&test.loading, 1.0, test.read_s);
                let recovered = 100.0 * (1.0 - left.total());
                assert!((recovered - percent).abs() < 1e-6, "{recovered}");
                assert!(left.elastic / left.total() < 0.0501 && left.elastic > 1e-4, "{left:?}");
            }
        }
    }

    /// Endo & Finger 2005 (abstract): strain from 16.4 to 60 % and load time from 1 to 10 s move the set of a polyether;
    /// load time does not move that of a set addition silicone. Direction only.
    #[test]
    fn val_set_by_strain_and_load_time() {
        let set = |memory: &Memory, strain: f64, hold_s: f64| {
            let loading = Loading { strain, hold_s, ..ELASTOMER_TEST.loading };
            100.0 * memory.left(&loading, 1.0, 120.0).total()
        };
        let polyether = Memory::calibrate(&habit(0.986, 0.3), &ELASTOMER_TEST).unwrap();
        assert!(set(&polyether, 0.6, 1.0) > 3.0 * set(&polyether, 0.164, 1.0));
        let (short, long) = (set(&polyether, 0.3, 1.0), set(&polyether, 0.3, 10.0));
        assert!(long > 1.3 * short, "{short} {long}");
        let silicone = Memory::calibrate(&Habit { slow_share: 0.02, ..habit(0.9935, 0.05) }, &ELASTOMER_TEST);
        let silicone = silicone.unwrap();
        let (brief, lasting) = (set(&silicone, 0.3, 1.0), set(&silicone, 0.3, 10.0));
        // A change of a tenth of a per cent of strain is what such a test resolves.
        assert!(lasting - brief < 0.1 && long - short > 0.15, "{brief} {lasting} {short} {long}");
    }

    /// Handbook figure for alginate, recalled: 1 to 2 % of set at 10 to 20 % of strain held 5 to 30 s. A recovery of
    /// 97.8 % at 20 % and 5 s is calibrated; the other corner of the figure is predicted, within a factor of two.
    #[test]
    fn val_alginate_set_over_the_handbook_range() {
        let gel = Memory::calibrate(&habit(0.978, 0.25), &GEL_TEST).unwrap();
        let set = |strain: f64, hold_s: f64| {
            100.0 * gel.left(&Loading { strain, hold_s, ..GEL_TEST.loading }, 1.0, 35.0).total()
        };
        assert!((0.5..=2.0).contains(&set(0.1, 5.0)), "{}", set(0.1, 5.0));
        assert!((1.0..=4.0).contains(&set(0.2, 30.0)), "{}", set(0.2, 30.0));
    }

    #[test]
    fn a_weak_network_loses_everything_smoothly() {
        let memory = Memory::calibrate(&habit(0.99, 0.1), &ELASTOMER_TEST).unwrap();
        let lost = |alpha: f64| {
            memory.left(&ELASTOMER_TEST.loading, network_share(alpha, 0.5, 0.8), 300.0).lost / 0.3
        };
        assert_eq!(lost(0.4), 1.0);
        assert!(lost(0.5 + 1e-6) > 0.999);
        assert!(lost(0.65) < 0.2 && lost(0.65) > lost(0.7) && lost(0.8) < 0.034 && lost(0.95) < lost(0.8));
    }

    proptest! {
        /// Left is between nothing and the strain; longer under strain, more strain, less network or less time to recover
        /// never leaves less.
        #[test]
        fn prop_nothing_rougher_leaves_less(
            recovery in 0.94..0.998, slow_share in 0.0..0.3, contact in 0.0..0.5, m in 1.0..1.5, strain in 0.01..0.8,
            hold in 0.0..30.0, network in 0.01..1.3, wait in 1.0..3600.0, by in 0.01..1.0,
        ) {
            let habit = Habit { slow_share, strain_exponent: m, ..habit(recovery, contact) };
            let memory = Memory::calibrate(&habit, &ELASTOMER_TEST).unwrap();
            let loading = Loading { strain, hold_s: hold, ..ELASTOMER_TEST.loading };
            let base = memory.left(&loading, network, wait);
            prop_assert!(base.elastic >= 0.0 && base.lost >= 0.0 && base.total() <= strain);
            let longer = Loading { hold_s: hold + 10.0 * by, ..loading };
            let larger = Loading { strain: strain * (1.0 + by), ..loading };
            for worse in [
                memory.left(&longer, network, wait),
                memory.left(&larger, network, wait),
                memory.left(&loading, network * (1.0 - 0.5 * by), wait),
                memory.left(&loading, network, wait * (1.0 - 0.5 * by)),
            ] {
                prop_assert!(worse.total() >= base.total() - 1e-12, "{base:?} {worse:?}");
            }
        }
    }
}
