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
//! Through the depth the content is told by three numbers, its projection on the profiles of [`crate::response`]: the
//! integrals of either series in closed form.
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
use crate::response::{FRONT_MEAN, PROFILES, shape_of, with_mean};

/// Temperature of the diffusivity, K.
const T_REF_K: f64 = 296.15;

/// Fourier number where one series of the share takes over from the other.
const CROSSOVER: f64 = 0.03;

/// Fourier number below which what is lost does not reach the wall: erfc(1/2√F) is below 1e-16 of it.
const UNFELT: f64 = 7e-3;

/// 6 exp(-6).
const FRONT_END: f64 = 0.014_872_513_059_998_151;

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

/// What was wrong with the input of [`content_profile`].
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

/// The content through the sheet, from the open face (0) to the tray (1), at `out_times_s` since the start of the first stretch
/// (ascending), as coefficients of [`crate::response::profiles`] with the exact mean.
///
/// `start` is the uniform content at time 0, -1e9 to 1e9, in a unit of the caller's choice that the faces
/// share: mass per mass, mass per volume, or the share of the start. The means lie between the least and
/// the greatest of start and faces, to a rounding.
///
/// # Errors
/// [`SorptionError`] for a number outside its range, no stretch, output times out of order or another
/// count of values. `out` is then untouched.
pub fn content_profile(
    substance: &Substance,
    start: f64,
    stretches: &[Stretch],
    out_times_s: &[f64],
    out: &mut [[f64; PROFILES]],
) -> Result<(), SorptionError> {
    check(substance, start, stretches, out_times_s, out.len())?;
    out.fill([start, 0.0, 0.0]);
    superpose(substance, start, stretches, out_times_s, |index, change, fourier| {
        if let Some(profile) = out.get_mut(index) {
            for (c, lost) in profile.iter_mut().zip(profile_lost(fourier)) {
                *c += change * lost;
            }
        }
    });
    Ok(())
}

/// Gives every output every change of the face before it, and the Fourier number since.
fn superpose(
    substance: &Substance,
    start: f64,
    stretches: &[Stretch],
    out_times_s: &[f64],
    mut give: impl FnMut(usize, f64, f64),
) {
    let mut before = start;
    let mut begin_s = 0.0;
    let mut seen = 0;
    for (index, stretch) in stretches.iter().enumerate() {
        while seen < out_times_s.len() && out_times_s[seen] < begin_s {
            seen += 1;
        }
        let change = stretch.face - before;
        if change != 0.0 {
            answer(substance, begin_s, &stretches[index..], &out_times_s[seen..], |place, fourier| {
                give(seen + place, change, fourier);
            });
        }
        before = stretch.face;
        begin_s += stretch.duration_s;
    }
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

/// The Fourier number at every output since the start of the first of `stretches`.
fn answer(
    substance: &Substance,
    mut begin_s: f64,
    stretches: &[Stretch],
    out_times_s: &[f64],
    mut give: impl FnMut(usize, f64),
) {
    let mut fourier = 0.0;
    let mut next = 0;
    for (index, stretch) in stretches.iter().enumerate() {
        let last = index + 1 == stretches.len();
        let per_s = fourier_per_s(substance, stretch.t_k);
        let end_s = begin_s + stretch.duration_s;
        while next < out_times_s.len() && (last || out_times_s[next] < end_s) {
            give(next, fourier + per_s * (out_times_s[next] - begin_s));
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

/// What a sheet with an empty open face has lost through its depth, as coefficients of the profiles.
fn profile_lost(fourier: f64) -> [f64; PROFILES] {
    let fourier = fourier.max(0.0);
    let integrals =
        if fourier < UNFELT { integrals_by_root(fourier) } else { integrals_by_modes(fourier).map(|i| -i) };
    with_mean(share_lost(fourier), shape_of(integrals))
}

/// Integrals of erfc(x/2√F), what is lost while the wall is not felt, times x and exp(-6 x) less their means.
fn integrals_by_root(fourier: f64) -> [f64; 2] {
    let lost = share_by_root(fourier);
    let depth = 6.0 * fourier.sqrt();
    let front = (1.0 - libm::exp(depth * depth) * libm::erfc(depth)) / 6.0;
    [fourier - 0.5 * lost, front - FRONT_MEAN * lost]
}

/// The same of what is left, Σ 2/β sin(βx) exp(-β² F).
fn integrals_by_modes(fourier: f64) -> [f64; 2] {
    let mut sums = [0.0; 2];
    let (mut sign, mut odd) = (1.0, 1.0);
    each_mode(fourier, |exponential| {
        let beta = 0.5 * PI * odd;
        let weight = 2.0 / beta * exponential;
        sums[0] += weight * (sign / beta - 0.5) / beta;
        sums[1] += weight * ((beta - FRONT_END * sign) / (36.0 + beta * beta) - FRONT_MEAN / beta);
        (sign, odd) = (-sign, odd + 2.0);
    });
    sums
}

/// Crank's equation 4.20 while the wall is not felt.
fn share_by_root(fourier: f64) -> f64 {
    FRAC_2_SQRT_PI * fourier.sqrt()
}

/// Crank's equation 4.18.
fn share_by_modes(fourier: f64) -> f64 {
    let (mut odd, mut left) = (1.0, 0.0);
    each_mode(fourier, |exponential| {
        left += exponential / (odd * odd);
        odd += 2.0;
    });
    1.0 - 8.0 / (PI * PI) * left
}

/// The exponentials exp(-β² F) until they vanish. With q = exp(-π² F/4) they are q, q⁹, q²⁵, ..., raised to the squares
/// of the odd numbers: the ratio of neighbours changes by q⁸ from term to term.
fn each_mode(fourier: f64, mut give: impl FnMut(f64)) {
    let mut exponential = libm::exp(-0.25 * PI * PI * fourier);
    let square = exponential * exponential;
    let eighth = square * square * square * square;
    let mut ratio = eighth;
    while exponential > VANISHED {
        give(exponential);
        exponential *= ratio;
        ratio *= eighth;
    }
}

fn check(
    substance: &Substance,
    start: f64,
    stretches: &[Stretch],
    out_times_s: &[f64],
    values: usize,
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
    if values != out_times_s.len() {
        return Err(SorptionError::ValueCount { times: out_times_s.len(), values });
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
mod tests;
