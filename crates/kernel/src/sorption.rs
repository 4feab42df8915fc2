//! A sheet of elastomer between mouth and stone: volatiles that leave, water that comes and goes.
//!
//! ```text
//! ∂c/∂t = D(T) ∂²c/∂x²,   0 < x < L;   c(0, t) = c_face;   ∂c/∂x(L) = 0;   c(x, 0) = c_start
//! D(T) = D_ref exp[-(E/R) (1/T - 1/T_ref)],   T_ref = 296.15 K
//! c_mean(t) = c_start + Σ_k (c_face,k - c_face,k-1) S(F_k),   c_face,-1 = c_start
//! F_k = ∫ D dt / L² from the start of stretch k
//! S(F) = 1 - Σ_n 2/β_n² exp(-β_n² F),   β_n = (n + 1/2) π
//!      = 2 √F [1/√π + 2 Σ_n (-1)^n ierfc(n/√F)]
//! ```
//!
//! The condensation by-product of a silicone, the water of a polysulfide, the water of a polyether. One face
//! is open to air or to a liquid, the other lies against a tray that nothing passes. Every stretch of time
//! sets a content at the open face and a temperature; the sheet has the temperature of the stretch.
//!
//! D does not depend on c and T is uniform, so in the time ∫ D dt the equation is linear with constant
//! coefficients, and each change of the face value answers with the same S (Duhamel's theorem). Nothing is
//! discretised: any sequence is exact, whatever its lengths. Below F = 0.03 the second series of S is its
//! first term, the law of √t; above, the first series is summed. The terms left out are below 2e-16 of S.
//!
//! The film of air beside the sheet lowers S by less than 1/Bi, Bi = h_m L K/D, where K is the vapour in
//! the air over the content of the sheet: for water at 23 °C, h_m = 3 mm/s, L = 3 mm and K = 0.02/120 by
//! 0.007 at D = 1e-11 m²/s, by 0.07 at 1e-10.
//!
//! Weight losses of condensation silicones follow √t for a day (Biomaterials 1992, doi
//! 10.1016/0142-9612(92)90058-v), as S does within 1 % until F = 0.3. A sheet that swells by more than a
//! few per cent is outside the model: its thickness grows and D is no longer one number.
//!
//! Crank 1975, The Mathematics of Diffusion, equations 4.18 and 4.20 for S. Carslaw & Jaeger 1959, section
//! 1.14, for Duhamel's theorem.
//!
//! ```
//! // A sheet of 3 mm with D = 1e-11 m²/s loses 7 % of its volatiles in the first hour.
//! let lost = kernel::sorption::share_lost(1e-11 * 3600.0 / (3e-3 * 3e-3));
//! assert!((lost - 0.0714).abs() < 1e-4);
//! ```

use core::f64::consts::{FRAC_2_SQRT_PI, PI};

use crate::GAS_CONSTANT;

/// Temperature of the diffusivity, K.
const T_REF_K: f64 = 296.15;

/// Fourier number where one series of the share takes over from the other.
const CROSSOVER: f64 = 0.03;

/// Exponentials below this are lost in rounding.
const VANISHED: f64 = 1e-17;

/// A substance in a sheet.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Substance {
    /// Thickness of the sheet L, m, 1e-5 to 0.1.
    pub thickness_m: f64,
    /// Diffusivity D_ref at 296.15 K, m²/s, 0 to 1e-7.
    pub diffusivity_m2_s: f64,
    /// Activation energy of the diffusivity E, J/mol, 0 to 2e5.
    pub activation_j_mol: f64,
}

/// A stretch of time under one condition.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Stretch {
    /// Duration, s, 0 to 1e8. The last stretch goes on for as long as an output time asks.
    pub duration_s: f64,
    /// Temperature of the sheet, K, 253.15 to 423.15.
    pub t_k: f64,
    /// Content at the open face, in the unit of the start, -1e9 to 1e9.
    pub face: f64,
}

/// What was wrong with the input of [`mean_content`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub enum SorptionError {
    /// A number outside its range.
    OutOfRange {
        /// The stretch, counted from 0; none for the substance or the start.
        stretch: Option<usize>,
        /// The field.
        field: &'static str,
        /// The number given.
        given: f64,
        /// The least allowed.
        low: f64,
        /// The greatest allowed.
        high: f64,
    },
    /// No stretch was given.
    NoStretch,
    /// As many values as output times are needed.
    ValueCount {
        /// Output times given.
        times: usize,
        /// Values given.
        values: usize,
    },
    /// Output times must lie between 0 and 1e8 s and ascend.
    OutputTime {
        /// The place of the first that is not.
        index: usize,
        /// Its value, s.
        given: f64,
    },
}

impl core::fmt::Display for SorptionError {
    fn fmt(&self, f: &mut core::fmt::Formatter<'_>) -> core::fmt::Result {
        match *self {
            Self::OutOfRange { stretch, field, given, low, high } => {
                if let Some(index) = stretch {
                    write!(f, "stretch {index}: ")?;
                }
                write!(f, "{field} is {given}, allowed are {low} to {high}")
            }
            Self::NoStretch => write!(f, "no stretch given, at least one is needed"),
            Self::ValueCount { times, values } => {
                write!(f, "{values} values given for {times} output times, the counts must agree")
            }
            Self::OutputTime { index, given } => {
                write!(f, "output time {index} is {given} s, allowed are 0 to 1e8 s in ascending order")
            }
        }
    }
}

impl core::error::Error for SorptionError {}

/// Mean content of the sheet at `out_times_s` since the start of the first stretch (ascending).
///
/// `start` is the uniform content at time 0, -1e9 to 1e9, in a unit of the caller's choice that the faces
/// share: mass per mass, mass per volume, or the share of the start. The means lie between the least and
/// the greatest of start and faces, to a rounding.
///
/// # Errors
/// [`SorptionError`] for a number outside its range, no stretch, output times out of order or another
/// count of values. `out` is then untouched.
pub fn mean_content(
    substance: &Substance,
    start: f64,
    stretches: &[Stretch],
    out_times_s: &[f64],
    out: &mut [f64],
) -> Result<(), SorptionError> {
    check(substance, start, stretches, out_times_s, out)?;
    out.fill(start);
    let mut before = start;
    let mut begin_s = 0.0;
    let mut seen = 0;
    for (index, stretch) in stretches.iter().enumerate() {
        while seen < out.len() && out_times_s[seen] < begin_s {
            seen += 1;
        }
        let change = stretch.face - before;
        if change != 0.0 {
            answer(substance, change, begin_s, &stretches[index..], &out_times_s[seen..], &mut out[seen..]);
        }
        before = stretch.face;
        begin_s += stretch.duration_s;
    }
    Ok(())
}

/// Share of a uniform content that a sheet with an empty open face has lost at Fourier number `fourier`,
/// D t/L², at least 0: S of the module. A negative number counts as 0.
pub fn share_lost(fourier: f64) -> f64 {
    let fourier = fourier.max(0.0);
    if fourier < CROSSOVER { share_by_root(fourier) } else { share_by_modes(fourier) }
}

/// Water content of a material at equilibrium with a water activity: saturated · activity^exponent.
///
/// A choice of shape. It is monotonic, and convex for an exponent above 1; of dental polyethers only the
/// direction with humidity is published. Isotherms of polyether urethanes are convex (Dolmaire et al. 2003,
/// J Polym Sci B, doi 10.1002/polb.10716, type III).
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Isotherm {
    /// Mass of water per mass of material at activity 1, at least 0.
    pub saturated: f64,
    /// Exponent of the activity, above 0.
    pub exponent: f64,
}

impl Isotherm {
    /// Mass of water per mass of material at a water activity, 0 to 1 (the relative humidity in air; near 1
    /// in dilute solutions). An activity outside counts as the nearer end.
    pub fn content(&self, activity: f64) -> f64 {
        self.saturated * libm::pow(activity.clamp(0.0, 1.0), self.exponent)
    }
}

/// Linear strain of a material free to swell that took up `mass_share` of a substance per mass of material;
/// a gain expands (positive), a loss contracts. Densities in kg/m³, above 0.
///
/// Volumes are taken to add, the substance with its density as a pure liquid, and the strain is a third of
/// the volume per volume: the cube root to first order. At a volume strain v that is v²/9 too much, 3e-5 at
/// 1.6 %.
pub fn linear_strain(mass_share: f64, rho_material: f64, rho_substance: f64) -> f64 {
    mass_share * rho_material / rho_substance / 3.0
}

/// Adds the answer to a change of the face at the start of the first of `stretches`.
fn answer(
    substance: &Substance,
    change: f64,
    mut begin_s: f64,
    stretches: &[Stretch],
    out_times_s: &[f64],
    out: &mut [f64],
) {
    let mut fourier = 0.0;
    let mut next = 0;
    for (index, stretch) in stretches.iter().enumerate() {
        let last = index + 1 == stretches.len();
        let per_s = fourier_per_s(substance, stretch.t_k);
        let end_s = begin_s + stretch.duration_s;
        while next < out.len() && (last || out_times_s[next] < end_s) {
            out[next] += change * share_lost(fourier + per_s * (out_times_s[next] - begin_s));
            next += 1;
        }
        fourier += per_s * stretch.duration_s;
        begin_s = end_s;
    }
}

/// D(T)/L², 1/s.
fn fourier_per_s(substance: &Substance, t_k: f64) -> f64 {
    let exponent = -substance.activation_j_mol / GAS_CONSTANT * (1.0 / t_k - 1.0 / T_REF_K);
    substance.diffusivity_m2_s * libm::exp(exponent) / (substance.thickness_m * substance.thickness_m)
}

/// Crank's equation 4.20 while the wall is not felt.
fn share_by_root(fourier: f64) -> f64 {
    FRAC_2_SQRT_PI * fourier.sqrt()
}

/// Crank's equation 4.18. With q = exp(-π² F/4) the exponentials are q, q⁹, q²⁵, ..., raised to the squares
/// of the odd numbers: the ratio of neighbours changes by q⁸ from term to term.
fn share_by_modes(fourier: f64) -> f64 {
    let mut exponential = libm::exp(-0.25 * PI * PI * fourier);
    let square = exponential * exponential;
    let eighth = square * square * square * square;
    let mut ratio = eighth;
    let mut odd = 1.0;
    let mut left = 0.0;
    while exponential > VANISHED {
        left += exponential / (odd * odd);
        exponential *= ratio;
        ratio *= eighth;
        odd += 2.0;
    }
    1.0 - 8.0 / (PI * PI) * left
}

fn check(
    substance: &Substance,
    start: f64,
    stretches: &[Stretch],
    out_times_s: &[f64],
    out: &[f64],
) -> Result<(), SorptionError> {
    in_range(None, "thickness_m", substance.thickness_m, 1e-5, 0.1)?;
    in_range(None, "diffusivity_m2_s", substance.diffusivity_m2_s, 0.0, 1e-7)?;
    in_range(None, "activation_j_mol", substance.activation_j_mol, 0.0, 2e5)?;
    in_range(None, "start", start, -1e9, 1e9)?;
    for (index, stretch) in stretches.iter().enumerate() {
        in_range(Some(index), "duration_s", stretch.duration_s, 0.0, 1e8)?;
        in_range(Some(index), "t_k", stretch.t_k, 253.15, 423.15)?;
        in_range(Some(index), "face", stretch.face, -1e9, 1e9)?;
    }
    if stretches.is_empty() {
        return Err(SorptionError::NoStretch);
    }
    if out.len() != out_times_s.len() {
        return Err(SorptionError::ValueCount { times: out_times_s.len(), values: out.len() });
    }
    let mut least = 0.0;
    for (index, &given) in out_times_s.iter().enumerate() {
        if !(least..=1e8).contains(&given) {
            return Err(SorptionError::OutputTime { index, given });
        }
        least = given;
    }
    Ok(())
}

fn in_range(
    stretch: Option<usize>,
    field: &'static str,
    given: f64,
    low: f64,
    high: f64,
) -> Result<(), SorptionError> {
    if (low..=high).contains(&given) {
        Ok(())
    } else {
        Err(SorptionError::OutOfRange { stretch, field, given, low, high })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tridiagonal;
    use proptest::prelude::*;

    /// 3 mm, with a tenth of a Fourier number in 90 000 s at 23 °C.
    const SHEET: Substance =
        Substance { thickness_m: 3e-3, diffusivity_m2_s: 1e-11, activation_j_mol: 40_000.0 };
    /// One Fourier number of `SHEET` at 23 °C, s.
    const UNIT_S: f64 = 9e5;

    fn stretch(duration_s: f64, t_k: f64, face: f64) -> Stretch {
        Stretch { duration_s, t_k, face }
    }

    fn at(substance: &Substance, start: f64, stretches: &[Stretch], time_s: f64) -> f64 {
        let mut out = [f64::NAN];
        mean_content(substance, start, stretches, &[time_s], &mut out).unwrap();
        out[0]
    }

    /// Crank 1975, equation 4.18, at 40 digits by another program; the table is printed to 12 figures.
    #[test]
    fn val_share_lost() {
        let table = [
            (0.01, 0.11283791671),
            (0.1, 0.356823400452),
            (0.5, 0.763950330744),
            (1.0, 0.931259678463),
            (2.0, 0.994170478926),
        ];
        for (fourier, share) in table {
            assert!((share_lost(fourier) - share).abs() < 1e-12, "{fourier}");
            let left = at(&SHEET, 1.0, &[stretch(1.0, T_REF_K, 0.0)], fourier * UNIT_S);
            assert!((1.0 - left - share).abs() < 1e-12, "{fourier}");
        }
        // Close to the crossover on both sides, same source, 16 figures.
        assert!((share_lost(0.0299) - 0.1951149978540383).abs() < 5e-16);
        assert!((share_lost(0.0301) - 0.1957664687747327).abs() < 5e-16);
    }

    /// Crank 1975, equation 4.20, of which the first term alone is left at small times: the next is e^(-1/F).
    /// Uptake in real units: 2 c √(D t/π)/L. What is left over is rounding.
    #[test]
    fn val_square_root_of_time() {
        for fourier in [1e-9, 1e-7, 1e-5, 1e-3, 1e-2] {
            let time_s = fourier * UNIT_S;
            let uptake = at(&SHEET, 0.0, &[stretch(0.0, T_REF_K, 0.7)], time_s);
            let law = 0.7 * 2.0 * (1e-11 * time_s / PI).sqrt() / 3e-3;
            assert!((uptake / law - 1.0).abs() < 1e-14, "{fourier}: {uptake} {law}");
        }
    }

    /// Crank 1975, equation 4.18, of which the first term alone is left at long times: 8/π² exp(-π² F/4). The
    /// second is 8e-19 of it at F = 2; rounding of the mean is 1e-16 of the start, 2e-13 of what is left at
    /// F = 3.
    #[test]
    fn val_long_times() {
        let square = PI * PI;
        for fourier in [2.0, 2.5, 3.0] {
            let left = at(&SHEET, 1.0, &[stretch(0.0, T_REF_K, 0.0)], fourier * UNIT_S);
            let law = 8.0 / square * libm::exp(-0.25 * square * fourier);
            assert!((left / law - 1.0).abs() < 2e-12, "{fourier}: {left} {law}");
        }
    }

    /// D(T)/D_ref at 40 kJ/mol by another program, 12 figures: the hot sheet loses what the cool one loses in
    /// that much more time.
    #[test]
    fn val_arrhenius() {
        for (t_k, ratio) in [(278.15, COLD), (310.15, WARM)] {
            let here = at(&SHEET, 1.0, &[stretch(0.0, t_k, 0.0)], 0.1 * UNIT_S);
            assert!((1.0 - here - share_lost(0.1 * ratio)).abs() < 1e-11, "{t_k}");
        }
    }

    const COLD: f64 = 0.349499330095344;
    const WARM: f64 = 2.08189973230105;

    /// Duration in Fourier numbers at 23 °C, temperature, D over D_ref and face of three stretches.
    const ROUTE: [(f64, f64, f64, f64); 3] =
        [(0.02, 310.15, WARM, 0.0), (0.3, 278.15, COLD, 0.4), (0.1, T_REF_K, 1.0, 1.5)];

    /// Means at the ends of `ROUTE` from a content of 1, by finite volumes on N cells and `steps` in each
    /// stretch. The face joins the first cell by half a cell; Crank-Nicolson, opened by four half-steps of
    /// implicit Euler.
    fn by_volumes<const N: usize>(steps: usize) -> [f64; 3] {
        let mut c = [1.0; N];
        ROUTE.map(|(duration, _, ratio, face)| {
            let r = 0.5 * duration * ratio / steps as f64 * (N * N) as f64;
            let mut diag = [1.0 + 2.0 * r; N];
            diag[0] += r;
            diag[N - 1] -= r;
            let implicit = tridiagonal::factor(&[-r; N], &diag, &[-r; N]);
            for half in 0..2 * steps {
                if half >= 4 && half % 2 == 0 {
                    let old = c;
                    for i in 0..N {
                        let before = if i == 0 { 2.0 * (face - old[i]) } else { old[i - 1] - old[i] };
                        let after = if i + 1 == N { 0.0 } else { old[i + 1] - old[i] };
                        c[i] += r * (before + after);
                    }
                } else {
                    c[0] += 2.0 * r * face;
                    implicit.solve(&mut c);
                }
            }
            c.iter().sum::<f64>() / N as f64
        })
    }

    /// Finite volumes as above approach the means with second order, through changing faces and temperatures.
    #[test]
    fn conv_finite_volumes() {
        let stretches = ROUTE.map(|(duration, t_k, _, face)| stretch(duration * UNIT_S, t_k, face));
        let ends = [0.02 * UNIT_S, 0.32 * UNIT_S, 0.42 * UNIT_S];
        let mut ours = [0.0; 3];
        mean_content(&SHEET, 1.0, &stretches, &ends, &mut ours).unwrap();
        let meshes = [by_volumes::<50>(100), by_volumes::<100>(200), by_volumes::<200>(400)];
        for end in 0..3 {
            let [coarse, middle, fine] = meshes.map(|means| (means[end] - ours[end]).abs());
            for ratio in [coarse / middle, middle / fine] {
                assert!((3.6..4.4).contains(&ratio), "{end}: {coarse} {middle} {fine}");
            }
            assert!(fine < 1e-5, "{end}: {fine}");
        }
    }

    /// The inputs that are refused, each named.
    #[test]
    fn prop_refusals() {
        let good = stretch(60.0, T_REF_K, 0.0);
        let refused = |substance: Substance, start: f64, stretches: &[Stretch], times: &[f64]| {
            let mut out = [9.0; 2];
            let error = mean_content(&substance, start, stretches, times, &mut out).unwrap_err();
            assert_eq!(out, [9.0; 2]);
            error.to_string()
        };
        let times = [0.0, 1.0];
        let thin = Substance { thickness_m: 1e-6, ..SHEET };
        assert_eq!(
            refused(thin, 1.0, &[good], &times),
            "thickness_m is 0.000001, allowed are 0.00001 to 0.1"
        );
        let fast = Substance { diffusivity_m2_s: f64::NAN, ..SHEET };
        assert!(refused(fast, 1.0, &[good], &times).starts_with("diffusivity_m2_s is NaN"));
        let steep = Substance { activation_j_mol: -1.0, ..SHEET };
        assert!(refused(steep, 1.0, &[good], &times).starts_with("activation_j_mol is -1"));
        assert!(refused(SHEET, f64::INFINITY, &[good], &times).starts_with("start is inf"));
        let cold = stretch(60.0, 23.0, 0.0);
        assert!(refused(SHEET, 1.0, &[good, cold], &times).starts_with("stretch 1: t_k is 23"));
        let back = stretch(-1.0, T_REF_K, 0.0);
        assert!(refused(SHEET, 1.0, &[back], &times).starts_with("stretch 0: duration_s is -1"));
        let empty = stretch(60.0, T_REF_K, f64::NAN);
        assert!(refused(SHEET, 1.0, &[empty], &times).starts_with("stretch 0: face is NaN"));
        assert!(refused(SHEET, 1.0, &[], &times).starts_with("no stretch given"));
        assert!(refused(SHEET, 1.0, &[good], &[0.0]).starts_with("2 values given for 1 output times"));
        assert!(refused(SHEET, 1.0, &[good], &[2.0, 1.0]).starts_with("output time 1 is 1 s"));
    }

    /// Small volumes add: a third of the volume per volume, within v²/9 of the cube root.
    #[test]
    fn prop_linear_strain() {
        for mass_share in [-0.01, -0.004, 0.0, 0.01] {
            let volume = mass_share * 1500.0 / 789.0;
            let strain = linear_strain(mass_share, 1500.0, 789.0);
            let root = libm::cbrt(1.0 + volume) - 1.0;
            assert!((strain - root).abs() <= volume * volume / 8.0, "{mass_share}");
        }
    }

    fn stretches() -> impl Strategy<Value = Vec<Stretch>> {
        let one = (0.0..2e5f64, 278.15..320.0f64, -2.0..2.0f64);
        prop::collection::vec(one.prop_map(|(duration, t_k, face)| stretch(duration, t_k, face)), 1..6)
    }

    proptest! {
        /// Eigenmodes of the sheet, 3000 of them, each relaxing to the face of the stretch: another road to
        /// the same means. Modes beyond are at the last face within rounding after 3e3 s.
        #[test]
        fn prop_equals_the_modes(start in -2.0..2.0f64, route in stretches(), after_s in 3e3..1e6f64) {
            let mut end_s = after_s;
            for stretch in &route[..route.len() - 1] {
                end_s += stretch.duration_s;
            }
            let last_face = route[route.len() - 1].face;
            let mut mean = last_face;
            for n in 0..3000 {
                let root = (n as f64 + 0.5) * PI;
                let square = root * root;
                let mut mode = start;
                for (index, stretch) in route.iter().enumerate() {
                    let lasts_s = if index + 1 == route.len() { after_s } else { stretch.duration_s };
                    let relaxed = libm::exp(-square * fourier_per_s(&SHEET, stretch.t_k) * lasts_s);
                    mode = stretch.face + (mode - stretch.face) * relaxed;
                }
                mean += 2.0 / square * (mode - last_face);
            }
            prop_assert!((at(&SHEET, start, &route, end_s) - mean).abs() < 1e-13);
        }

        /// Nothing leaves the range of start and faces.
        #[test]
        fn prop_between_start_and_faces(
            start in -2.0..2.0f64, route in stretches(),
            times in prop::collection::vec(0.0..1e6f64, 1..20),
        ) {
            let mut times = times;
            times.sort_by(f64::total_cmp);
            let mut out = vec![f64::NAN; times.len()];
            mean_content(&SHEET, start, &route, &times, &mut out).unwrap();
            let low = route.iter().fold(start, |low, stretch| low.min(stretch.face));
            let high = route.iter().fold(start, |high, stretch| high.max(stretch.face));
            for mean in out {
                prop_assert!(mean >= low - 1e-14 && mean <= high + 1e-14, "{low} {mean} {high}");
            }
        }

        /// A stretch is what its two parts are.
        #[test]
        fn prop_parts_of_a_stretch(
            start in -2.0..2.0f64, route in stretches(), which in 0usize..6, part in 0.0..1.0f64,
            time_s in 0.0..1e6f64,
        ) {
            let which = which % route.len();
            let mut parts = route.clone();
            let whole = route[which];
            parts[which].duration_s *= part;
            let rest_s = whole.duration_s - parts[which].duration_s;
            parts.insert(which + 1, Stretch { duration_s: rest_s, ..whole });
            let (whole, split) = (at(&SHEET, start, &route, time_s), at(&SHEET, start, &parts, time_s));
            // Near a change of the face a rounding of the time counts as its square root.
            prop_assert!((whole - split).abs() < 1e-7, "{whole} {split}");
        }

        /// Time goes with the square of the thickness.
        #[test]
        fn prop_thickness(
            start in -2.0..2.0f64, route in stretches(), time_s in 0.0..1e6f64, factor in 0.1..10.0f64,
        ) {
            let thick = Substance { thickness_m: factor * SHEET.thickness_m, ..SHEET };
            let stretched: Vec<_> = route
                .iter()
                .map(|stretch| Stretch { duration_s: stretch.duration_s * factor * factor, ..*stretch })
                .collect();
            let thin = at(&SHEET, start, &route, time_s);
            let thick = at(&thick, start, &stretched, time_s * factor * factor);
            prop_assert!((thin - thick).abs() < 1e-7, "{thin} {thick}");
        }

        /// Damp then dry is not dry then damp, and the later face weighs more.
        #[test]
        fn prop_order_of_stretches(
            start in -2.0..2.0f64, damp in 0.1..2.0f64, first in 0.01..2.0f64, second in 0.01..2.0f64,
            t_k in 278.15..320.0f64,
        ) {
            let wet = stretch(first * UNIT_S, T_REF_K, damp);
            let dry = stretch(second * UNIT_S, t_k, 0.0);
            let end_s = (first + second) * UNIT_S;
            let dried = at(&SHEET, start, &[wet, dry], end_s);
            let wetted = at(&SHEET, start, &[dry, wet], end_s);
            prop_assert!(wetted - dried > 0.02 * damp, "{dried} {wetted}");
            let same = Stretch { face: damp, ..dry };
            let one = at(&SHEET, start, &[wet, same], end_s);
            let other = at(&SHEET, start, &[same, wet], end_s);
            prop_assert!((one - other).abs() < 1e-14, "{one} {other}");
        }

        /// The share rises from 0 to 1, and both series give it where one takes over from the other.
        #[test]
        fn prop_share(fourier in 1e-12..40.0f64, more in 1.001..2.0f64, middle in 0.0285..0.0315f64) {
            let share = share_lost(fourier);
            prop_assert!(share > 0.0 && share <= 1.0);
            prop_assert!(share_lost(fourier * more) >= share);
            prop_assert!((share_by_root(middle) - share_by_modes(middle)).abs() < 1e-15);
            let ends = [0.0, -fourier, f64::INFINITY].map(share_lost);
            prop_assert_eq!(ends, [0.0, 0.0, 1.0]);
        }

        /// More humid is wetter, and the more so the more humid it is.
        #[test]
        fn prop_isotherm(
            saturated in 1e-3..0.5f64, exponent in 1.0..6.0f64, dry in 0.0..0.9f64, step in 1e-3..0.05f64,
        ) {
            let isotherm = Isotherm { saturated, exponent };
            let [low, middle, high] =
                [dry, dry + step, dry + 2.0 * step].map(|activity| isotherm.content(activity));
            prop_assert!(low < middle && middle < high);
            prop_assert!(high - middle >= (middle - low) * (1.0 - 1e-9));
            prop_assert_eq!((isotherm.content(0.0), isotherm.content(1.0)), (0.0, saturated));
        }
    }
}
