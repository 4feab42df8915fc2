//! The boundary of an audited rule against closed-form inversions.
//!
//! Each map is drawn by the code that draws those of taught rules, over a model of the kernel or the elements; what comes out is the largest
//! relative distance of its boundary from the curve that the closed form gives.

use counsel::rules::{Axis, Fineness, Levels, Point, Scale, map};
use kernel::GAS_CONSTANT;
use kernel::cure::{CureLaw, Kamal, time_to_alpha_isothermal};

use crate::tray::annulus_um;
use crate::{CheckError, Input};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "audit-set-time" => set_time(input),
        "audit-plane-sheet" => plane_sheet(input),
        "audit-annulus" => annulus(input),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

/// A boundary of fewer points has not been drawn.
const FEWEST: usize = 12;

fn axis(from: f64, to: f64, scale: Scale) -> Axis {
    Axis { words: String::new(), unit: String::new(), from, to, usual: None, own: Vec::new(), scale }
}

/// The largest relative distance of the second coordinate of the boundary from `exact` of the first.
fn furthest(
    x: &Axis,
    y: &Axis,
    level: impl Fn(f64, f64) -> Result<f64, CheckError>,
    exact: impl Fn(f64) -> f64,
) -> Result<f64, CheckError> {
    let levels = |[a, b]: Point| {
        let level = level(x.at(a), y.at(b))?;
        Ok(Levels::of_bound(level, level))
    };
    let drawn = map(Fineness::USUAL, levels)?;
    if drawn.holds_ends.len() < FEWEST || drawn.fails_begins.len() < FEWEST {
        return Err(CheckError::Model(format!("the boundary has {} points", drawn.holds_ends.len())));
    }
    let off = |[a, b]: &Point| (y.at(*b) / exact(x.at(*a)) - 1.0).abs();
    Ok(drawn.holds_ends.iter().chain(&drawn.fails_begins).map(off).fold(0.0, f64::max))
}

/// "Set within the time of the second axis", at the temperature of the first: m = n = 1 and one activation energy.
fn set_time(input: &Input) -> Result<f64, CheckError> {
    let [k1, k2, e, alpha] =
        [input.number("k1")?, input.number("k2")?, input.number("e")?, input.number("alpha")?];
    let t_ref_k = 296.15;
    let kamal =
        Kamal { k1_ref_per_s: k1, k2_ref_per_s: k2, e1_j_mol: e, e2_j_mol: e, t_ref_k, m: 1.0, n: 1.0 };
    let law = CureLaw { induction: None, kamal, heat_j_kg: 0.0 };
    let reference_s = ((k1 + k2 * alpha) / (k1 * (1.0 - alpha))).ln() / (k1 + k2);
    let exact =
        |celsius: f64| reference_s * (e / GAS_CONSTANT * (1.0 / (celsius + 273.15) - 1.0 / t_ref_k)).exp();
    let (x, y) = (axis(15.0, 40.0, Scale::Even), axis(60.0, 900.0, Scale::Factors));
    furthest(&x, &y, |celsius, s| Ok(s - time_to_alpha_isothermal(&law, celsius + 273.15, alpha)), exact)
}

/// "Has lost no more than this share", for the thickness of the first axis and the time of the second.
fn plane_sheet(input: &Input) -> Result<f64, CheckError> {
    let [d, share] = [input.number("diffusivity")?, input.number("share")?];
    // The law of the square root of time, whose next term is below 1e-12 up to a share of a third.
    let fourier = std::f64::consts::PI * share * share / 4.0;
    let exact = |mm: f64| fourier * (mm * 1e-3) * (mm * 1e-3) / d;
    let (x, y) = (axis(1.0, 4.0, Scale::Even), axis(60.0, 200_000.0, Scale::Factors));
    let level = |mm: f64, s: f64| Ok(share - kernel::sorption::share_lost(d * s / (mm * mm * 1e-6)));
    furthest(&x, &y, level, exact)
}

/// "The wall moves no further than this", for the relief of the first axis and the shrinkage in per cent of the second.
fn annulus(input: &Input) -> Result<f64, CheckError> {
    let most_um = input.number("most_um")?;
    let exact = |relief: f64| {
        let b = 4.0 + relief;
        // Nothing leaves a held incompressible annulus but through its inner wall: 3 e (b2 - a2) / (2 a).
        100.0 * most_um * 1e-3 * 2.0 * 4.0 / (3.0 * (b * b - 16.0))
    };
    let (x, y) = (axis(1.0, 6.0, Scale::Even), axis(0.02, 2.0, Scale::Factors));
    let level = |relief: f64, percent: f64| Ok(most_um - annulus_um(0.5, 4.0 + relief)? * percent / 0.2);
    furthest(&x, &y, level, exact)
}
