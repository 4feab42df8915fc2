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
use terms::{Link, Purpose};

use crate::error::ChainError;
use crate::keeping::{MouldState, StoneState};
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

/// Sizes of one sample. The links named in `ideal` add nothing of their own:
///
/// - set: no cure strain, no mouth-to-room strain; holding: no water moves;
/// - tray: holds everywhere and keeps its size; stone: does not grow. Its heat acts on the mouth-to-mould strain and is
///   counted there;
/// - removal: no scatter between repeats; fit: the restoration is made without error.
///
/// # Errors
/// When the kernel refuses a number; the validated ranges keep that from happening.
pub fn sizes(
    draw: &Draw,
    purpose: Purpose,
    mould: &MouldState,
    stone: &StoneState,
    ideal: &[Link],
) -> Result<Sizes, ChainError> {
    let kept = |link: Link| if ideal.contains(&link) { 0.0 } else { 1.0 };
    let strain = kept(Link::Set) * (mould.cure + mould.thermal + draw[Root::SetStrainDiscrepancy])
        + kept(Link::Holding) * mould.holding;
    let tray = kept(Link::Tray) * mould.tray;
    let growth = kept(Link::Stone) * stone.growth;
    let mut cavity = cavity(draw);
    if ideal.contains(&Link::Tray) {
        cavity.hold = 1.0;
    }
    let scatter = kept(Link::Removal);
    let (diameter, height) = (draw[Root::DieDiameter], draw[Root::DieHeight]);
    let diameter_m = 2.0 * draw[Root::TrayDiscrepancy] * radius_change_m(&cavity, strain, tray)
        + growth * diameter
        + scatter * draw[Root::DiameterDiscrepancy];
    let height_m = draw[Root::TrayDiscrepancy] * height_change_m(&cavity, strain, tray)
        + growth * height
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
