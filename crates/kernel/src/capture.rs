//! Whether a prepared margin comes out in the impression.
//!
//! The margin of one tooth is captured when four things go well, taken as independent:
//!
//! ```text
//! P = P_open P_filled P_clean P_whole
//! 1 - P_open   = b Phi(-ln(w / w_c) / s_w)                        tissue lies over the finish line
//! 1 - P_filled = b Phi(-ln(L / (d + d_b)) / s_L)                  the paste does not get below it
//! -ln P_clean  = h_0 + b h_wet (1 + t / t_wet) (1 - cos(theta)/2) bubbles, fluid, blood
//! 1 - P_whole  = b Phi(-ln(G_c / G) / s_G)                        the fin tears
//! b = 1 - exp(-d / d_1)                                           share of the margin below the gum
//! ```
//!
//! `w` is the width of the sulcus when the paste arrives, at a line angle, where it is narrowest (`capture/sulcus.rs`);
//! `d` the depth of the finish line below the gum; `L` how deep the paste is pressed by syringe and tray
//! (`capture/entry.rs`), and `d_b` how far it must pass the finish line. `w_c` is the width at which half of all
//! margins are covered somewhere. The fin is as thick as the sulcus was wide. It is drawn out against a grip on both its
//! faces, `g E`, in proportion to its stiffness because its own shape holds it, so that its strain and its energy
//! release at a flaw of length `a` are (Rivlin & Thomas, J Polym Sci 10 (1953) 291, small strain)
//!
//! ```text
//! e = 2 g (d + d_b) / w,   G = 2 pi (E e^2 / 2) a
//! ```
//!
//! A tray that presses less evenly multiplies the hazards `-ln P` of all but the tear.
//!
//! Two things were fitted. Laboratory slots without fluid about 1 mm deep fix grip and flaw: 0.11 mm 75 % defective,
//! 0.15 mm and more under 25 %, 0.2 mm good. Impressions sent to laboratories fix the rest, and only in the mean of their
//! unknown conditions: tissue over the finish line in 49 %, a void there in 24 %, odds ratio of an error 2.31 with blood
//! and 1.68 for a dual-arch tray (1157 impressions). How these split between width, fluid and filling is judgement.

pub mod entry;
pub mod sulcus;

use core::fmt;

use libm::{exp, log, pow};

use crate::normal::cdf;
use entry::{Paste, Push, depth_squared_m2};
use sulcus::width_m;

/// Longest delay that [`seconds_to_spare`] looks at, s.
pub const SPARE_MAX_S: f64 = 600.0;

/// What stands in the sulcus when the paste arrives, in rising order of harm.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Wetness {
    /// Dried and dry.
    Dry,
    /// Moist walls, no standing fluid.
    Damp,
    /// Saliva or crevicular fluid stands in it.
    Fluid,
    /// It bleeds.
    Blood,
}

/// One prepared tooth with its finish line.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Abutment {
    /// Width at the finish line when the cord leaves, m: 0.01 to 2 mm.
    pub open_width_m: f64,
    /// Width to which the sulcus goes back, m: 0.001 mm up to the open width.
    pub rest_width_m: f64,
    /// Time constant of the closing mid-face, s: 1 to 1e5.
    pub closing_s: f64,
    /// Depth of the finish line below the gum, m: 0 to 5 mm; 0 for one above the gum.
    pub depth_m: f64,
    /// What stands in the sulcus.
    pub wetness: Wetness,
    /// From the cord leaving to the paste arriving, s: 0 to 3600.
    pub uncovered_s: f64,
    /// From the moment for which the viscosity is stated to the paste arriving, s: 0 to 3600.
    pub paste_wait_s: f64,
    /// From the paste arriving to the tray pressing on it, s: 0 to 3600.
    pub seat_after_s: f64,
}

/// The material: as a paste on arrival, and as a rubber on removal.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// The paste at the moment from which [`Abutment::paste_wait_s`] counts. Viscosity above 0 up to 1e7 Pa s, doubling
    /// time from 0.1 s (infinite allowed), tension 0 to 0.1 N/m, cosine -1 to 1.
    pub paste: Paste,
    /// Modulus at removal, Pa: 1e3 to 1e8.
    pub modulus_pa: f64,
    /// Tear energy at removal, J/m2: 1 to 1e5.
    pub tear_energy_j_m2: f64,
}

/// How the paste is pressed in.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pressing {
    /// By the syringe: pressure 0 to 1 MPa, duration 0 to 600 s.
    pub syringe: Push,
    /// By the tray, in the same ranges.
    pub tray: Push,
    /// Factor of the hazards of all but the tear, 1 to 10: 1 for a full tray, more for a dual-arch tray.
    pub tray_hazard: f64,
}

/// Constants of the model; none is a constant of nature, each is a row with a spread.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Calibration {
    /// `f`: how many times faster a line angle closes than mid-face, 1 to 10.
    pub line_angle_rate: f64,
    /// `w_c`: width at which half of all margins are covered by tissue somewhere, m.
    pub covered_width_m: f64,
    /// `s_w`: spread of the logarithm of the width around the tooth.
    pub width_spread: f64,
    /// `d_1`: depth over which a margin passes from above to below the gum, m.
    pub rim_m: f64,
    /// `d_b`: how far the paste must pass the finish line, m.
    pub beyond_m: f64,
    /// `s_L`: spread of the logarithm of the depth reached.
    pub entry_spread: f64,
    /// `h_0`: hazard of bubbles that does not depend on the sulcus, 0 to 5.
    pub bubble_hazard: f64,
    /// `h_wet` of dry, damp, fluid and blood, ascending, 0 to 5.
    pub wet_hazard: [f64; 4],
    /// `t_wet`: time in which seeping doubles that hazard, s.
    pub seep_s: f64,
    /// Pressure of what stands in the sulcus: dry, damp, fluid and blood, ascending, Pa, 0 to 1 MPa.
    pub fluid_pressure_pa: [f64; 4],
    /// `g`: grip on each face of the fin while it is drawn out, as a share of its modulus.
    pub grip: f64,
    /// `a`: length of the flaw from which a tear starts, m.
    pub flaw_m: f64,
    /// `s_G`: spread of the logarithm of tear energy over energy release.
    pub tear_spread: f64,
}

/// Survivals of one margin; the product of the four is the probability.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Capture {
    /// No tissue lies over the finish line.
    pub open: f64,
    /// The paste passed the finish line.
    pub filled: f64,
    /// Neither bubble nor fluid nor blood kept it away.
    pub clean: f64,
    /// The fin came out whole.
    pub whole: f64,
    /// Width of the sulcus when the paste arrived, m, at a line angle.
    pub width_m: f64,
    /// Depth that the paste reached between walls of that width, m.
    pub depth_m: f64,
}

impl Capture {
    /// Probability that the margin is captured.
    pub fn probability(&self) -> f64 {
        self.open * self.filled * self.clean * self.whole
    }
}

/// When the cords leave.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Cords {
    /// All before the first tooth is syringed.
    AllFirst,
    /// Each just before its own tooth.
    OneByOne,
}

/// The round of the syringe over several teeth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Round {
    /// When the cords leave.
    pub cords: Cords,
    /// From cord to paste, s: of the first tooth when all cords leave first, of every tooth when one by one.
    pub first_s: f64,
    /// From one tooth to the next, s, the cord of the next included when it is drawn then.
    pub per_tooth_s: f64,
    /// From the last tooth to the tray pressing, s.
    pub seat_s: f64,
}

/// A figure that no capture can be computed from.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct CaptureError {
    /// The field.
    pub field: &'static str,
    /// The value given, SI.
    pub given: f64,
    /// Least value allowed.
    pub least: f64,
    /// Greatest value allowed.
    pub most: f64,
}

impl fmt::Display for CaptureError {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(
            f,
            "{} of the margin is {}; it must lie between {} and {}",
            self.field, self.given, self.least, self.most
        )
    }
}

impl core::error::Error for CaptureError {}

/// Capture of one margin. Refuses a figure outside the ranges that the fields state.
pub fn capture(
    abutment: &Abutment,
    material: &Material,
    pressing: &Pressing,
    calibration: &Calibration,
) -> Result<Capture, CaptureError> {
    check_calibration(calibration)?;
    check_material(material, pressing)?;
    check_abutment(abutment)?;
    Ok(survivals(abutment, material, pressing, calibration, 0.0))
}

/// How much later than planned the paste may arrive with the probability still at `level`, s.
///
/// None when it is below already; [`SPARE_MAX_S`] when a delay of that length does not bring it below. The delay lengthens
/// both the closing of the sulcus and the thickening of the paste; the tray follows as long after as planned. The
/// probability falls all the way, so a bracket holds the one root; the answer is at most 0.01 s early, or so that the
/// probability is within 1e-6 above the level.
pub fn seconds_to_spare(
    abutment: &Abutment,
    material: &Material,
    pressing: &Pressing,
    calibration: &Calibration,
    level: f64,
) -> Result<Option<f64>, CaptureError> {
    joint_seconds_to_spare(core::slice::from_ref(abutment), material, pressing, calibration, level)
}

/// Gives each tooth, in the order of the slice, its times in the round. The viscosity is then that at the first tooth.
pub fn in_turn(abutments: &mut [Abutment], round: &Round) {
    let last = abutments.len().saturating_sub(1);
    for (place, abutment) in abutments.iter_mut().enumerate() {
        let wait_s = place as f64 * round.per_tooth_s;
        abutment.paste_wait_s = wait_s;
        abutment.uncovered_s = match round.cords {
            Cords::AllFirst => round.first_s + wait_s,
            Cords::OneByOne => round.first_s,
        };
        abutment.seat_after_s = (last - place) as f64 * round.per_tooth_s + round.seat_s;
    }
}

/// Probability that every margin is captured: the product in order, 1 for none.
///
/// Independent given the arguments; what the teeth share (material, hand, gum) is shared through them.
pub fn joint(
    abutments: &[Abutment],
    material: &Material,
    pressing: &Pressing,
    calibration: &Calibration,
) -> Result<f64, CaptureError> {
    check_calibration(calibration)?;
    check_material(material, pressing)?;
    for abutment in abutments {
        check_abutment(abutment)?;
    }
    Ok(product(abutments, material, pressing, calibration, 0.0))
}

/// As [`seconds_to_spare`], for all margins together when the whole round is late by the same time.
pub fn joint_seconds_to_spare(
    abutments: &[Abutment],
    material: &Material,
    pressing: &Pressing,
    calibration: &Calibration,
    level: f64,
) -> Result<Option<f64>, CaptureError> {
    within("level", level, 0.0, 1.0)?;
    let above = |delay_s: f64| product(abutments, material, pressing, calibration, delay_s) - level;
    let (mut good_s, mut good) = (0.0, joint(abutments, material, pressing, calibration)? - level);
    if good < 0.0 {
        return Ok(None);
    }
    let (mut late_s, mut late) = (8.0, above(8.0));
    while late >= 0.0 {
        if late_s >= SPARE_MAX_S {
            return Ok(Some(SPARE_MAX_S));
        }
        (good_s, good) = (late_s, late);
        late_s = (2.0 * late_s).min(SPARE_MAX_S);
        late = above(late_s);
    }
    // Regula falsi with the Illinois weight; a step that would not leave an end takes the middle.
    let mut same = 0;
    for _ in 0..60 {
        if late_s - good_s <= 0.01 {
            break;
        }
        let secant_s = good_s + (late_s - good_s) * good / (good - late);
        let next_s = if secant_s > good_s && secant_s < late_s { secant_s } else { 0.5 * (good_s + late_s) };
        let next = above(next_s);
        if next >= 0.0 {
            (good_s, good) = (next_s, next);
            if good <= 1e-6 {
                break;
            }
            late *= if same == 1 { 0.5 } else { 1.0 };
            same = 1;
        } else {
            (late_s, late) = (next_s, next);
            good *= if same == -1 { 0.5 } else { 1.0 };
            same = -1;
        }
    }
    Ok(Some(good_s))
}

fn product(
    abutments: &[Abutment],
    material: &Material,
    pressing: &Pressing,
    calibration: &Calibration,
    delay_s: f64,
) -> f64 {
    abutments.iter().fold(1.0, |all, abutment| {
        all * survivals(abutment, material, pressing, calibration, delay_s).probability()
    })
}

fn survivals(
    abutment: &Abutment,
    material: &Material,
    pressing: &Pressing,
    c: &Calibration,
    delay_s: f64,
) -> Capture {
    let wet = abutment.wetness as usize;
    let uncovered_s = abutment.uncovered_s + delay_s;
    let arrives_s = abutment.paste_wait_s + delay_s;
    let paste = &material.paste;
    let width_m = width_m(
        abutment.open_width_m,
        abutment.rest_width_m,
        abutment.closing_s,
        c.line_angle_rate,
        uncovered_s,
    );
    let below = 1.0 - exp(-abutment.depth_m / c.rim_m);
    let fin_m = abutment.depth_m + c.beyond_m;

    // Paste that is in the sulcus holds it open, so the tray presses into the width that the syringe found.
    let against_pa = c.fluid_pressure_pa[wet];
    let depth_m = (depth_squared_m2(paste, width_m, &pressing.syringe, against_pa, arrives_s)
        + depth_squared_m2(paste, width_m, &pressing.tray, against_pa, arrives_s + abutment.seat_after_s))
    .sqrt();

    let seeping = c.wet_hazard[wet] * (1.0 + uncovered_s / c.seep_s) * (1.0 - 0.5 * paste.contact_cosine);
    let strain = 2.0 * c.grip * fin_m / width_m;
    let release_j_m2 = core::f64::consts::PI * material.modulus_pa * strain * strain * c.flaw_m;

    let hold = |survival: f64| {
        if pressing.tray_hazard == 1.0 { survival } else { pow(survival, pressing.tray_hazard) }
    };
    Capture {
        open: hold(survives(below, width_m / c.covered_width_m, c.width_spread)),
        filled: hold(survives(below, depth_m / fin_m, c.entry_spread)),
        clean: hold(exp(-(c.bubble_hazard + below * seeping))),
        whole: survives(below, material.tear_energy_j_m2 / release_j_m2, c.tear_spread),
        width_m,
        depth_m,
    }
}

/// `1 - b Phi(-ln(ratio) / spread)`; a ratio of zero fails for certain.
fn survives(below: f64, ratio: f64, spread: f64) -> f64 {
    1.0 - below * cdf(-log(ratio) / spread)
}

fn check_abutment(a: &Abutment) -> Result<(), CaptureError> {
    within("open_width_m", a.open_width_m, 1e-5, 2e-3)?;
    within("rest_width_m", a.rest_width_m, 1e-6, a.open_width_m)?;
    within("closing_s", a.closing_s, 1.0, 1e5)?;
    within("depth_m", a.depth_m, 0.0, 5e-3)?;
    within("uncovered_s", a.uncovered_s, 0.0, 3600.0)?;
    within("paste_wait_s", a.paste_wait_s, 0.0, 3600.0)?;
    within("seat_after_s", a.seat_after_s, 0.0, 3600.0)
}

fn check_material(m: &Material, p: &Pressing) -> Result<(), CaptureError> {
    within("viscosity_pa_s", m.paste.viscosity_pa_s, 1e-4, 1e7)?;
    within("doubling_s", m.paste.doubling_s, 0.1, f64::INFINITY)?;
    within("tension_n_m", m.paste.tension_n_m, 0.0, 0.1)?;
    within("contact_cosine", m.paste.contact_cosine, -1.0, 1.0)?;
    within("modulus_pa", m.modulus_pa, 1e3, 1e8)?;
    within("tear_energy_j_m2", m.tear_energy_j_m2, 1.0, 1e5)?;
    for push in [&p.syringe, &p.tray] {
        within("pressure_pa", push.pressure_pa, 0.0, 1e6)?;
        within("duration_s", push.duration_s, 0.0, 600.0)?;
    }
    within("tray_hazard", p.tray_hazard, 1.0, 10.0)
}

fn check_calibration(c: &Calibration) -> Result<(), CaptureError> {
    within("line_angle_rate", c.line_angle_rate, 1.0, 10.0)?;
    for (field, length_m) in
        [("covered_width_m", c.covered_width_m), ("rim_m", c.rim_m), ("flaw_m", c.flaw_m)]
    {
        within(field, length_m, 1e-6, 5e-3)?;
    }
    within("beyond_m", c.beyond_m, 1e-6, 5e-3)?;
    for (field, spread) in
        [("width_spread", c.width_spread), ("entry_spread", c.entry_spread), ("tear_spread", c.tear_spread)]
    {
        within(field, spread, 0.01, 3.0)?;
    }
    within("bubble_hazard", c.bubble_hazard, 0.0, 5.0)?;
    within("seep_s", c.seep_s, 1.0, 1e5)?;
    within("grip", c.grip, 1e-6, 10.0)?;
    let (mut hazard, mut pressure_pa) = (0.0, 0.0);
    for wet in 0..4 {
        within("wet_hazard", c.wet_hazard[wet], hazard, 5.0)?;
        within("fluid_pressure_pa", c.fluid_pressure_pa[wet], pressure_pa, 1e6)?;
        hazard = c.wet_hazard[wet];
        pressure_pa = c.fluid_pressure_pa[wet];
    }
    Ok(())
}

fn within(field: &'static str, given: f64, least: f64, most: f64) -> Result<(), CaptureError> {
    if (least..=most).contains(&given) { Ok(()) } else { Err(CaptureError { field, given, least, most }) }
}

#[cfg(test)]
mod tests;
