//! From strains to sizes: the die, the span, and how a crown made on it seats.
//!
//! ```text
//! dD = 2 u(a) + g D,   dH = w(H) + g H,   dS = S [h e_tray - (1 - h) e + g]
//! ```
//!
//! `u` and `w` are the closed forms of the layer between die and tray, `g` the growth of the stone, `h` the share of the
//! layer that the tray holds, `e` the free shrinkage, `e_tray` the change of the tray. Errors are positive when the stone is
//! larger than the tooth. Algebra only: any link can be made ideal without running a model again.

use kernel::layer::{Cavity, height_change_m, radius_change_m};
use kernel::seating::{Seating, seat};
use libm::pow;
use terms::{Link, Purpose};

use crate::error::ChainError;
use crate::keeping::{MouldState, StoneState};
use crate::mouth::Second;
use crate::roots::Root;
use crate::space::Draw;

/// Errors of one sample, m unless the name says otherwise; positive when stone is larger than tooth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sizes {
    /// Diameter of the die.
    pub diameter_m: f64,
    /// Height of the die.
    pub height_m: f64,
    /// Span.
    pub span_m: f64,
    /// Diameter as a share of itself.
    pub diameter_share: f64,
    /// Span as a share of itself; zero without a span.
    pub span_share: f64,
    /// Opening at the margin of the seated restoration.
    pub opening_m: f64,
    /// Space at its walls.
    pub wall_space_m: f64,
}

/// A quantity that a budget is made of.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Measure {
    /// Diameter of the die.
    Diameter,
    /// Height of the die.
    Height,
    /// Span.
    Span,
    /// Opening at the margin.
    Opening,
}

impl Sizes {
    /// One of the measures, m.
    pub fn measure(&self, measure: Measure) -> f64 {
        match measure {
            Measure::Diameter => self.diameter_m,
            Measure::Height => self.height_m,
            Measure::Span => self.span_m,
            Measure::Opening => self.opening_m,
        }
    }
}

/// The wash at which the rebound of a putty is stated, m.
const REFERENCE_WASH_M: f64 = 1e-3;

/// The wash in front of a set putty, within what the closed forms were fitted for, m.
fn wash_m(draw: &Draw) -> f64 {
    draw[Root::WashThickness].max(4e-4)
}

/// The space around one die in this sample.
pub fn cavity(draw: &Draw) -> Cavity {
    Cavity {
        die_radius_m: 0.5 * draw[Root::DieDiameter],
        relief_m: draw[Root::Relief],
        height_m: draw[Root::DieHeight],
        ceiling_m: draw[Root::Ceiling],
        poisson: draw[Root::Poisson],
        hold: draw[Root::Hold],
        neighbour: draw[Root::Neighbour],
    }
}

/// What does not differ between samples.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct How {
    /// What the copy is for.
    pub purpose: Purpose,
    /// The second material.
    pub second: Second,
    /// Whether this is the first cast from the impression.
    pub first_cast: bool,
}

/// Sizes of one sample. The links named in `ideal` add nothing of their own:
///
/// - set: no cure strain, no mouth-to-room strain; holding: no water moves;
/// - tray: holds everywhere and keeps its size; stone: does not grow. Its heat acts on the mouth-to-mould strain and is
///   counted there;
/// - removal: no scatter between repeats, no rebound of a putty, no movement while setting; fit: the restoration is made without error.
///
/// # Errors
/// When the kernel refuses a number; the validated ranges keep that from happening.
pub fn sizes(
    draw: &Draw,
    how: &How,
    mould: &MouldState,
    stone: &StoneState,
    ideal: &[Link],
) -> Result<Sizes, ChainError> {
    let purpose = how.purpose;
    let kept = |link: Link| if ideal.contains(&link) { 0.0 } else { 1.0 };
    let set = kept(Link::Set);
    let strain = set * (mould.cure + mould.thermal + draw[Root::SetStrainDiscrepancy])
        + kept(Link::Holding) * mould.holding;
    let tray = kept(Link::Tray) * mould.tray;
    let growth = kept(Link::Stone) * stone.growth;
    let mut cavity = cavity(draw);
    if ideal.contains(&Link::Tray) {
        cavity.hold = 1.0;
    }
    let scatter = kept(Link::Removal);
    let (diameter, height) = (draw[Root::DieDiameter], draw[Root::DieHeight]);
    let (mut radius, mut top) =
        (radius_change_m(&cavity, strain, tray), height_change_m(&cavity, strain, tray));
    let mut recoil = draw[Root::Recoil];
    if how.second == Second::OnPutty {
        // The putty has cured before: only the wash shrinks by its cure. Strains add, so the thick layer gives it back.
        let thin = Cavity { relief_m: wash_m(draw), ceiling_m: wash_m(draw), ..cavity };
        let cure = set * mould.cure;
        radius += radius_change_m(&thin, cure, 0.0) - radius_change_m(&cavity, cure, 0.0);
        top += height_change_m(&thin, cure, 0.0) - height_change_m(&cavity, cure, 0.0);
        // A thinner wash presses the putty harder while it is seated; the putty comes back after removal.
        recoil *= pow(REFERENCE_WASH_M / wash_m(draw), draw[Root::RecoilExponent]);
    }
    // A mix that has begun to stiffen keeps more of what a moving hand does to it.
    let moved = draw[Root::Movement] * (1.0 + mould.lateness);
    let again = if how.first_cast { 0.0 } else { draw[Root::RepourStrain] * diameter };
    let diameter_m = 2.0 * draw[Root::TrayDiscrepancy] * radius
        + growth * diameter
        + kept(Link::Tray) * draw[Root::DualArchDiameter]
        + scatter * (draw[Root::DiameterDiscrepancy] + moved + recoil + again);
    let height_m = draw[Root::TrayDiscrepancy] * top
        + growth * height
        + kept(Link::Tray) * draw[Root::DualArchHeight]
        + scatter * draw[Root::HeightDiscrepancy];
    let span_share = cavity.hold * tray - (1.0 - cavity.hold) * strain
        + growth
        + kept(Link::Tray) * draw[Root::SpanDiscrepancy];
    let span_m = span_share * draw[Root::Span];
    let mut sizes = Sizes {
        diameter_m,
        height_m,
        span_m,
        diameter_share: diameter_m / diameter,
        span_share: if draw[Root::Span] > 0.0 { span_share } else { 0.0 },
        ..Sizes::default()
    };
    if purpose.has_die() {
        let film = draw[Root::Film];
        let seated = seat(&Seating {
            half_angle_rad: 0.5 * draw[Root::Convergence],
            spacer_m: draw[Root::Spacer],
            occlusal_spacer_m: draw[Root::Spacer],
            wall_film_m: film,
            occlusal_film_m: film,
            margin_film_m: film,
            diameter_error_m: diameter_m + kept(Link::Fit) * draw[Root::FabricationError],
            height_error_m: height_m,
            span_error_m: if purpose == Purpose::Bridge { span_m } else { 0.0 },
        })?;
        // A margin is rounded to half the width of the finest line that the material must copy.
        let rounding = 0.5 * draw[Root::DetailLine];
        sizes.opening_m =
            (seated.opening_m + rounding + kept(Link::Fit) * draw[Root::FitDiscrepancy]).max(0.0);
        sizes.wall_space_m = seated.wall_space_m;
    }
    Ok(sizes)
}
