//! The prepared margins of one sample: does the material reach them while the sulcus is wide, dry and open, and come out whole.
//!
//! The age of the material when it reaches the first tooth follows from the time of seating and the round of the syringe; how
//! fast it thickens follows from how fast this sample sets in this room. Teeth are taken in the order in which they are
//! syringed. What an inspection did not find is believed, with the chance that it missed it:
//!
//! ```text
//! s' = s / (s + (1 - s) m)
//! ```
//!
//! `s` a survival of the kernel (`kernel::capture`), `m` the chance of missing that fault.

mod report;

use kernel::capture::entry::{Paste, Push};
use kernel::capture::{self, Calibration, Capture, Cords, Material, Pressing, Round, Wetness};
use libm::{cos, exp2, pow};
use terms::{
    Abutment, CordOrder, DieFault, Displacement, Fact, Fault, ImpressionClass, Observation, Purpose, Reading,
    Route, Situation, SulcusState,
};

use crate::constants::AccessConstants;
use crate::error::ChainError;
use crate::mouth::Mouth;
use crate::roots::Root;
use crate::samples::{Sample, Setup};
use crate::space::{Coordinates, Draw};

pub use report::{Buy, Margins, ToothMargin, margins};

/// The prepared teeth; where none is described, as many unknown ones as the purpose needs.
pub fn teeth(situation: &Situation) -> Vec<Abutment> {
    if !situation.abutments.is_empty() {
        return situation.abutments.clone();
    }
    match situation.purpose {
        Purpose::Crown => vec![Abutment::UNKNOWN],
        Purpose::Bridge => vec![Abutment::UNKNOWN; 2],
        _ => Vec::new(),
    }
}

/// Whether material is brought to the sulcus by a syringe; a water gel alone comes with its tray.
pub fn is_syringed(route: &Route) -> bool {
    route.technique.has_wash() || !route.material.class.is_hydrocolloid()
}

/// What an inspection looked for and did not find.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
struct NotFound {
    open: bool,
    filled: bool,
    clean: bool,
    whole: bool,
}

/// What does not differ between samples.
pub struct Setting {
    teeth: Vec<Abutment>,
    bleeding: Fact<bool>,
    cords_leave: Fact<CordOrder>,
    is_sol: bool,
    not_found: NotFound,
    is_faulty: bool,
    is_over: bool,
}

/// Something done otherwise than planned.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Change {
    /// As planned.
    None,
    /// The whole round comes later by this many seconds.
    Later(f64),
    /// A thin deep cord stays in place.
    DeepCord,
    /// Each cord leaves just before its own tooth.
    OneByOne,
    /// A second pair of hands: the round takes half the time.
    SecondHands,
    /// Every sulcus is dry.
    Dried,
}

/// The margins of one sample.
#[derive(Clone, Debug)]
pub struct Access {
    /// One for each prepared tooth, in the order of the syringe; the survivals hold after the inspection.
    pub teeth: Vec<Capture>,
    /// How long each sulcus has been without its cord when the material comes, s.
    pub uncovered_s: Vec<f64>,
    /// Probability that every margin is captured.
    pub captured: f64,
}

/// The margins of one sample in three numbers.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Summary {
    /// Probability that every margin is captured; 1 where there is none.
    pub captured: f64,
    /// Width of the narrowest sulcus when the material comes, m.
    pub narrowest_m: f64,
    /// Longest time that a sulcus has been without its cord, s.
    pub longest_s: f64,
}

impl Summary {
    /// Without a margin there is nothing to miss.
    pub const NONE: Summary = Summary { captured: 1.0, narrowest_m: 0.0, longest_s: 0.0 };
}

impl Access {
    /// In three numbers.
    pub fn summary(&self) -> Summary {
        Summary {
            captured: self.captured,
            narrowest_m: self.teeth.iter().map(|tooth| tooth.width_m).fold(f64::INFINITY, f64::min),
            longest_s: self.uncovered_s.iter().copied().fold(0.0, f64::max),
        }
    }
}

impl Setting {
    /// The setting of a case; none where there is no die.
    ///
    /// `is_over` is set once the impression has left the mouth: nothing can be done otherwise then.
    pub fn of(
        situation: &Situation,
        route: &Route,
        observations: &[Observation],
        is_over: bool,
    ) -> Option<Setting> {
        if !situation.purpose.has_die() {
            return None;
        }
        let says = |fault: Fault, present: bool| {
            observations.iter().any(|observation| match observation.reading {
                Reading::Inspection(finding) => {
                    finding.fault == fault && finding.present == Fact::Known(present)
                }
                _ => false,
            })
        };
        // What one look found, another did not undo.
        let absent = |fault: Fault| says(fault, false) && !says(fault, true);
        let at_margin =
            [Fault::MarginMissing, Fault::MarginVoid, Fault::Drag, Fault::Tear, Fault::BloodOrFluid];
        let on_die = |fault: DieFault, present: bool| {
            observations.iter().any(|observation| match observation.reading {
                Reading::Die(finding) => finding.fault == fault && finding.present == Fact::Known(present),
                _ => false,
            })
        };
        // A finish line that can be followed on the die was in the impression.
        let readable =
            on_die(DieFault::MarginNotReadable, false) && !on_die(DieFault::MarginNotReadable, true);
        let not_in_the_impression = on_die(DieFault::MarginNotReadable, true) || on_die(DieFault::Bead, true);
        Some(Setting {
            teeth: teeth(situation),
            bleeding: situation.bleeding,
            cords_leave: route.cords_leave,
            is_sol: route.wash.as_ref().unwrap_or(&route.material).class == ImpressionClass::Agar,
            not_found: NotFound {
                open: readable || absent(Fault::MarginMissing),
                filled: readable || absent(Fault::MarginMissing) || absent(Fault::Drag),
                clean: readable || absent(Fault::MarginVoid) || absent(Fault::BloodOrFluid),
                whole: readable || absent(Fault::Tear),
            },
            is_faulty: not_in_the_impression || at_margin.iter().any(|&fault| says(fault, true)),
            is_over,
        })
    }

    /// Number of prepared teeth.
    pub fn count(&self) -> usize {
        self.teeth.len()
    }
}

/// Captures the margins of one sample.
///
/// # Errors
/// When the kernel refuses a number; the validated ranges keep that from happening.
pub fn access(
    setting: &Setting,
    constants: &AccessConstants,
    at: &Coordinates,
    draw: &Draw,
    mouth: &Mouth,
    change: Change,
) -> Result<Access, ChainError> {
    let count = setting.teeth.len();
    let hurry = if change == Change::SecondHands { 0.5 } else { 1.0 };
    let later_s = if let Change::Later(s) = change { s } else { 0.0 };
    let per_tooth_s = hurry * draw[Root::PerTooth];
    let span_s = per_tooth_s * count.saturating_sub(1) as f64;
    // The material is ready when mixing has ended; the tray then waits for the round.
    let arrives_s = (mouth.seat_s - hurry * draw[Root::TrayAfter] - span_s).max(mouth.mixing_s);
    let seat_s = (mouth.seat_s - arrives_s - span_s).max(0.0);
    let one_by_one = match (change, setting.cords_leave) {
        (Change::OneByOne, _) => true,
        (_, Fact::Known(order)) => order == CordOrder::OneByOne,
        (_, Fact::Unknown) => draw[Root::CordOrder] > 0.5,
        (_, Fact::NotApplicable) => false,
    };
    let round = Round {
        cords: if one_by_one { Cords::OneByOne } else { Cords::AllFirst },
        first_s: draw[Root::PasteAfter] + later_s,
        per_tooth_s,
        seat_s,
    };
    let (open_m, rest_m) = width(constants, at, draw, change);
    let mut abutments: Vec<capture::Abutment> = setting
        .teeth
        .iter()
        .map(|tooth| capture::Abutment {
            open_width_m: open_m,
            rest_width_m: rest_m.min(open_m),
            closing_s: draw[Root::ClosingTime],
            depth_m: depth_m(tooth, draw),
            wetness: if change == Change::Dried {
                Wetness::Dry
            } else {
                wetness(setting, constants, tooth, draw)
            },
            uncovered_s: 0.0,
            paste_wait_s: 0.0,
            seat_after_s: 0.0,
        })
        .collect();
    capture::in_turn(&mut abutments, &round);
    let material = material(setting, constants, draw, mouth, arrives_s + later_s);
    let pressing = pressing(draw);
    let calibration = calibration(constants, draw);
    let mut access =
        Access { teeth: Vec::with_capacity(count), uncovered_s: Vec::with_capacity(count), captured: 1.0 };
    for abutment in &abutments {
        let found = capture::capture(abutment, &material, &pressing, &calibration)?;
        let found = after_inspection(&setting.not_found, constants.inspection_miss, draw, found);
        access.captured *= found.probability();
        access.teeth.push(found);
        access.uncovered_s.push(abutment.uncovered_s);
    }
    if setting.is_faulty {
        access.captured = 0.0;
    }
    Ok(access)
}

/// Chance that the inspection found nothing, one for each sample; none where nobody looked.
///
/// # Errors
/// As [`access`].
pub fn found_nothing(setup: &Setup, samples: &[Sample]) -> Result<Vec<f64>, ChainError> {
    let looked = match setup.margins {
        Some(setting) if setting.not_found != NotFound::default() => setting,
        _ => return Ok(Vec::new()),
    };
    let before =
        Setting { not_found: NotFound::default(), is_faulty: false, teeth: looked.teeth.clone(), ..*looked };
    let constants = &setup.constants.access;
    let chance = |sample: &Sample| {
        let (at, draw) = (&sample.coordinates, &sample.draw);
        let all = access(&before, constants, at, draw, &sample.mouth, Change::None)?;
        Ok(all
            .teeth
            .iter()
            .map(|tooth| overlooked(&looked.not_found, constants.inspection_miss, tooth))
            .product())
    };
    samples.iter().map(chance).collect()
}

fn overlooked(looked: &NotFound, miss: f64, tooth: &Capture) -> f64 {
    let of = |looked: bool, survival: f64| if looked { survival + (1.0 - survival) * miss } else { 1.0 };
    of(looked.open, tooth.open)
        * of(looked.filled, tooth.filled)
        * of(looked.clean, tooth.clean)
        * of(looked.whole, tooth.whole)
}

/// What could be done otherwise in this case to capture more, in words.
pub fn could_be_done(situation: &Situation, route: &Route, setting: &Setting) -> Vec<(Change, &'static str)> {
    let mut list = Vec::new();
    if setting.is_over {
        return list;
    }
    let wide = matches!(
        route.displacement,
        Fact::Known(
            Displacement::DoubleCord
                | Displacement::Laser
                | Displacement::Electrosurgery
                | Displacement::RotaryCurettage
        )
    );
    if !wide {
        list.push((Change::DeepCord, "with a thin deep cord left in place at the base of the sulcus"));
    }
    if setting.count() > 1 {
        if setting.cords_leave == Fact::Known(CordOrder::AllFirst) {
            list.push((Change::OneByOne, "with each cord out just before its own tooth"));
        }
        list.push((Change::SecondHands, "with a second pair of hands: cords out while the other syringes"));
    }
    let dry = setting.teeth.iter().all(|tooth| tooth.sulcus == Fact::Known(SulcusState::Dry));
    if !dry || situation.bleeding == Fact::Known(true) {
        let may_bleed = situation.bleeding != Fact::Known(false)
            || setting.teeth.iter().any(|tooth| tooth.sulcus == Fact::Known(SulcusState::Blood));
        let words = if may_bleed {
            "with what bleeds stopped and the sulcus rinsed and dried"
        } else {
            "with the sulcus rinsed and dried"
        };
        list.push((Change::Dried, words));
    }
    list
}

fn width(constants: &AccessConstants, at: &Coordinates, draw: &Draw, change: Change) -> (f64, f64) {
    if change == Change::DeepCord {
        let of = |root: Root| at.get(root as usize);
        return (
            constants.double_open.quantile(of(Root::OpenWidth)),
            constants.double_rest.quantile(of(Root::RestWidth)),
        );
    }
    (draw[Root::OpenWidth], draw[Root::RestWidth])
}

/// Deepest finish line that the kernel follows, m.
const DEEPEST_M: f64 = 5e-3;

fn depth_m(tooth: &Abutment, draw: &Draw) -> f64 {
    match tooth.margin_depth_m.known() {
        // A line at the gum or above it is seen, not measured.
        Some(0.0) => 0.0,
        Some(depth_m) => (depth_m + draw[Root::DepthReading]).clamp(0.0, DEEPEST_M),
        None => draw[Root::MarginDepth],
    }
}

/// A state that nobody described is drawn from the mixture of the ledger; bleeding that nobody described may be there.
fn wetness(setting: &Setting, constants: &AccessConstants, tooth: &Abutment, draw: &Draw) -> Wetness {
    if let Some(state) = tooth.sulcus.known() {
        return match state {
            SulcusState::Dry => Wetness::Dry,
            SulcusState::Damp => Wetness::Damp,
            SulcusState::Fluid => Wetness::Fluid,
            SulcusState::Blood => Wetness::Blood,
        };
    }
    let blood = match setting.bleeding {
        Fact::Known(true) => return Wetness::Blood,
        Fact::Known(false) | Fact::NotApplicable => 0.0,
        Fact::Unknown => constants.state_blood,
    };
    let place = draw[Root::SulcusPlace];
    if place < blood {
        return Wetness::Blood;
    }
    match (place - blood) / (1.0 - blood) {
        rest if rest < constants.state_fluid => Wetness::Fluid,
        rest if rest < constants.state_fluid + constants.state_damp => Wetness::Damp,
        _ => Wetness::Dry,
    }
}

/// The material when it reaches the first tooth, and as a rubber on removal.
fn material(
    setting: &Setting,
    constants: &AccessConstants,
    draw: &Draw,
    mouth: &Mouth,
    arrives_s: f64,
) -> Material {
    // A material that sets faster here than its class at the temperature of the tests thickens faster by as much.
    let pace = if setting.is_sol { 1.0 } else { mouth.working_end_s / constants.working_reference_s };
    let doubling_s = draw[Root::Thickening] * pace.clamp(0.1, 10.0);
    let doublings = ((arrives_s - constants.viscosity_moment_s) / doubling_s).clamp(-10.0, 15.0);
    let viscosity_pa_s = (draw[Root::Viscosity] * exp2(doublings)).clamp(1e-3, 9e6);
    let rate_per_s = 1.0 / draw[Root::Ramp];
    let faster = pow(rate_per_s / draw[Root::TearReferenceRate], draw[Root::TearRateExponent]);
    Material {
        paste: Paste {
            viscosity_pa_s,
            doubling_s,
            tension_n_m: draw[Root::Tension],
            contact_cosine: cos(draw[Root::ContactAngle]),
        },
        modulus_pa: draw[Root::FinModulus],
        tear_energy_j_m2: draw[Root::TearEnergy] * faster,
    }
}

fn pressing(draw: &Draw) -> Pressing {
    Pressing {
        syringe: Push { pressure_pa: draw[Root::SyringePressure], duration_s: draw[Root::SyringeTime] },
        tray: Push { pressure_pa: draw[Root::TrayPressure], duration_s: draw[Root::TrayPressTime] },
        tray_hazard: draw[Root::DualArchHazard].max(1.0),
    }
}

fn calibration(constants: &AccessConstants, draw: &Draw) -> Calibration {
    // Drawn one by one, they may come out of order: what is wetter is never better.
    let mut wet_hazard =
        [draw[Root::HazardDry], draw[Root::HazardDamp], draw[Root::HazardFluid], draw[Root::HazardBlood]];
    for wetter in 1..wet_hazard.len() {
        wet_hazard[wetter] = wet_hazard[wetter].max(wet_hazard[wetter - 1]);
    }
    let fluid_pa = draw[Root::FluidPressure];
    Calibration {
        line_angle_rate: draw[Root::LineAngleRate],
        covered_width_m: draw[Root::CoveredWidth],
        width_spread: draw[Root::WidthSpread],
        rim_m: draw[Root::Rim],
        beyond_m: draw[Root::Beyond],
        entry_spread: draw[Root::EntrySpread],
        bubble_hazard: draw[Root::BubbleHazard] * draw[Root::BubbleFactor].max(1.0),
        wet_hazard,
        seep_s: draw[Root::SeepTime],
        fluid_pressure_pa: [0.0, 0.0, fluid_pa, draw[Root::BloodPressure].max(fluid_pa)],
        grip: draw[Root::Grip],
        flaw_m: constants.flaw_m,
        tear_spread: draw[Root::TearSpread],
    }
}

fn after_inspection(looked: &NotFound, miss: f64, draw: &Draw, found: Capture) -> Capture {
    // The discrepancy of the model multiplies the logarithm of every survival.
    let worn = |survival: f64| pow(survival.clamp(0.0, 1.0), draw[Root::AccessDiscrepancy]);
    let seen = |looked: bool, survival: f64| {
        let survival = worn(survival);
        if looked { survival / (survival + (1.0 - survival) * miss) } else { survival }
    };
    Capture {
        open: seen(looked.open, found.open),
        filled: seen(looked.filled, found.filled),
        clean: seen(looked.clean, found.clean),
        whole: seen(looked.whole, found.whole),
        ..found
    }
}
