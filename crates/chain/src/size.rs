//! From strains to sizes: the die, the span, and how a crown made on it seats.
//!
//! ```text
//! dD = 2 u + g D,   dH = top - margin + g H,   dS = S [h e_tray - (1 - h) e + g]
//! ```
//!
//! `u`, `top` and `margin` are displacements of the cavity from the condensed finite elements of the layer
//! (`kernel::response`), `g` the growth of the stone, `h` the share of the layer that the tray holds, `e` the mean free
//! shrinkage, `e_tray` the change of the tray. Errors are positive when the stone is larger than the tooth. The geometry of a
//! sample enters once ([`Form`]); from there on all is algebra, so that any link can be made ideal without running a model
//! again.

use kernel::casting::{self, Chain};
use kernel::response::{self, Die, Gains, PROFILES};
use kernel::seating::joined::{Joined, Retainer, seat_joined};
use kernel::seating::margin::step;
use kernel::seating::{Seating, seat};
use libm::pow;
use terms::{Link, Purpose};

use crate::constants::Constants;
use crate::error::ChainError;
use crate::keeping::{MouldState, StoneState};
use crate::mouth::Second;
use crate::pull;
use crate::roots::Root;
use crate::space::Draw;

/// Errors of one sample, m unless the name says otherwise; positive when stone is larger than tooth.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Sizes {
    /// Diameter of the die, mean over its wall.
    pub diameter_m: f64,
    /// Diameter over the lower third of its wall.
    pub margin_diameter_m: f64,
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
    /// That space beyond the film.
    pub loose_m: f64,
    /// Largest step between restoration and tooth at the margin, either way.
    pub step_m: f64,
    /// Error of the span between joined retainers that spacer and taper do not take: stress, or rocking.
    pub misfit_m: f64,
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

/// Thinnest wash that a set putty leaves, m.
const THINNEST_WASH_M: f64 = 4e-4;

/// What the geometry of one sample makes of strains.
#[derive(Clone, Copy, Debug)]
pub struct Form {
    /// In its tray.
    gains: Gains,
    /// In a rigid tray that holds everywhere.
    held: Gains,
    /// Share of the layer that is wash, as a profile.
    wash: [f64; PROFILES],
    /// How much narrower the die comes out because the flange springs back, m.
    spring_back_m: f64,
    /// Whether the elements were made for such a die.
    pub in_domain: bool,
}

impl Form {
    /// The form of a sample.
    pub fn of(draw: &Draw, constants: &Constants, second: Second) -> Form {
        let relief_m = draw[Root::Relief];
        let shear_pa = constants.stiffness_pa / 3.0;
        let die = Die {
            radius_m: 0.5 * draw[Root::DieDiameter],
            height_m: draw[Root::DieHeight],
            half_angle_rad: 0.5 * draw[Root::Convergence],
            relief_m,
            ceiling_m: draw[Root::Ceiling],
            poisson: draw[Root::Poisson],
            hold: draw[Root::Hold],
            tray_yield: response::tray_yield(shear_pa, relief_m, pull::flange_pa_per_m(draw)),
        };
        let neighbour = draw[Root::Neighbour];
        let wash_m = match second {
            Second::None | Second::AgarFilm => 0.0,
            Second::Together => draw[Root::WashThickness],
            Second::OnPutty => draw[Root::WashThickness].max(THINNEST_WASH_M),
        };
        Form {
            gains: response::gains(&die, neighbour),
            held: response::gains(&Die { hold: 1.0, tray_yield: 0.0, ..die }, neighbour),
            wash: response::step_profile((wash_m / relief_m).clamp(0.0, 1.0)),
            spring_back_m: draw[Root::Hold] * pull::spring_back_m(draw),
            in_domain: response::in_domain(&die),
        }
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
/// - tray: rigid, holds everywhere and keeps its size; stone: does not grow. Its heat acts on the mouth-to-mould strain and is
///   counted there;
/// - removal: nothing is left of the strain over undercuts, no scatter between repeats, no rebound of a putty, no movement while
///   setting; fit: the restoration is made without error.
///
/// # Errors
/// When the kernel refuses a number; the validated ranges keep that from happening.
pub fn sizes(
    draw: &Draw,
    how: &How,
    form: &Form,
    mould: &MouldState,
    stone: &StoneState,
    ideal: &[Link],
) -> Result<Sizes, ChainError> {
    let kept = |link: Link| if ideal.contains(&link) { 0.0 } else { 1.0 };
    let profile = shrinkage(draw, how.second, form, mould, kept(Link::Set), kept(Link::Holding));
    let tray = kept(Link::Tray) * mould.tray;
    let growth = kept(Link::Stone) * stone.growth;
    let is_held = ideal.contains(&Link::Tray);
    let gains = if is_held { &form.held } else { &form.gains };
    let moved = gains.displacement(&profile, tray);
    let model = draw[Root::TrayDiscrepancy];

    let (diameter, height) = (draw[Root::DieDiameter], draw[Root::DieHeight]);
    let mut recoil = draw[Root::Recoil];
    if how.second == Second::OnPutty {
        // A thinner wash presses the putty harder while it is seated; the putty comes back after removal.
        let wash_m = draw[Root::WashThickness].max(THINNEST_WASH_M);
        recoil *= pow(REFERENCE_WASH_M / wash_m, draw[Root::RecoilExponent]);
    }
    // A mix that has begun to stiffen keeps more of what a moving hand does to it.
    let movement = draw[Root::Movement] * (1.0 + mould.lateness);
    let again = if how.first_cast { 0.0 } else { draw[Root::RepourStrain] * diameter };
    let pulled =
        kept(Link::Removal) * (draw[Root::DiameterDiscrepancy] + mould.pulled_m + movement + recoil + again);
    let of_tray = kept(Link::Tray) * (draw[Root::DualArchDiameter] - form.spring_back_m);
    let whole = |radius_m: f64| 2.0 * model * radius_m + growth * diameter + of_tray + pulled;
    let diameter_m = whole(moved.wall_m);
    let height_m = model * (moved.top_m - moved.margin_m)
        + growth * height
        + kept(Link::Tray) * draw[Root::DualArchHeight]
        + kept(Link::Removal) * draw[Root::HeightDiscrepancy];
    let hold = if is_held { 1.0 } else { draw[Root::Hold] };
    let span_share = hold * tray - (1.0 - hold) * response::mean(&profile)
        + growth
        + kept(Link::Tray) * draw[Root::SpanDiscrepancy];
    let span_m = span_share * draw[Root::Span];
    let mut sizes = Sizes {
        diameter_m,
        margin_diameter_m: whole(moved.lower_wall_m),
        height_m,
        span_m,
        diameter_share: diameter_m / diameter,
        span_share: if draw[Root::Span] > 0.0 { span_share } else { 0.0 },
        ..Sizes::default()
    };
    if how.purpose.has_die() {
        fit(draw, how.purpose, kept(Link::Fit), &mut sizes)?;
    }
    Ok(sizes)
}

/// Free shrinkage through the layer, from the die to the tray, as the coefficients of its profiles.
///
/// Filler makes wash and tray material shrink by different amounts; a putty that had set before adds no cure.
fn shrinkage(
    draw: &Draw,
    second: Second,
    form: &Form,
    mould: &MouldState,
    set: f64,
    holding: f64,
) -> [f64; PROFILES] {
    let factor = |root: Root| if draw[root] > 0.0 { draw[root] } else { 1.0 };
    let (wash, tray) = (factor(Root::WashShrinkage), factor(Root::TrayShrinkage));
    let tray_cure = if second == Second::OnPutty { 0.0 } else { tray };
    let even = tray_cure * mould.cure + tray * mould.thermal + draw[Root::SetStrainDiscrepancy];
    let in_wash = (wash - tray_cure) * mould.cure + (wash - tray) * mould.thermal;
    // Before a set putty the temperatures are those of the wash alone; its slope is nothing beside the step to the putty.
    let slope = if second == Second::OnPutty { 0.0 } else { mould.thermal_slope };
    let mut profile = [set * (even - 0.5 * slope), set * slope, 0.0];
    for (sum, (wash, held)) in profile.iter_mut().zip(form.wash.iter().zip(&mould.holding_profile)) {
        *sum += set * in_wash * wash + holding * held;
    }
    profile
}

/// Seats the restoration.
fn fit(draw: &Draw, purpose: Purpose, made: f64, sizes: &mut Sizes) -> Result<(), ChainError> {
    let film = draw[Root::Film];
    let fabrication = made * fabrication_m(draw)?;
    let crown = Seating {
        half_angle_rad: 0.5 * draw[Root::Convergence],
        spacer_m: draw[Root::Spacer],
        occlusal_spacer_m: draw[Root::Spacer],
        wall_film_m: film,
        occlusal_film_m: film,
        margin_film_m: film,
        diameter_error_m: sizes.diameter_m + fabrication,
        height_error_m: sizes.height_m,
        span_error_m: if purpose == Purpose::Bridge { sizes.span_m } else { 0.0 },
    };
    let seated = seat(&crown)?;
    if purpose == Purpose::Bridge && draw[Root::Span] > 0.0 {
        let retainer = Retainer { crown, wall_height_m: draw[Root::DieHeight] };
        let bridge =
            Joined { retainers: [retainer; 2], span_error_m: sizes.span_m, span_m: draw[Root::Span] };
        sizes.misfit_m = seat_joined(&bridge)?.misfit_m;
    }
    // A margin is rounded to half the width of the finest line that the material must copy.
    let rounding = 0.5 * draw[Root::DetailLine];
    sizes.opening_m = (seated.opening_m + rounding + made * draw[Root::FitDiscrepancy]).max(0.0);
    sizes.wall_space_m = seated.wall_space_m;
    sizes.loose_m = seated.loose_m;
    let margin_m = sizes.margin_diameter_m + fabrication;
    sizes.step_m = step(&crown, &seated, margin_m, draw[Root::OffCentre])?.worst_m();
    Ok(())
}

/// Error of the inner diameter by its making, m; for a casting with the chain from wax to metal.
fn fabrication_m(draw: &Draw) -> Result<f64, ChainError> {
    let scatter_m = draw[Root::FabricationError];
    if draw[Root::ChainAlloy] == 0.0 {
        return Ok(scatter_m);
    }
    let chain = Chain {
        setting: draw[Root::ChainSetting],
        thermal: draw[Root::ChainThermal],
        wax: draw[Root::ChainWax],
        alloy: draw[Root::ChainAlloy],
    };
    Ok(casting::diameter_error_m(draw[Root::DieDiameter], &chain, scatter_m)?)
}
