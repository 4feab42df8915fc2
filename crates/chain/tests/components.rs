//! The parts of the strain of holding, and the curve of setting.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

mod common;

use chain::{Components, Effort, Way};
use common::{Case, START, alginate_cast, held, parameters, silicone_crown};
use ledger::Limits;
use terms::{Fact, HoldingKind, ImpressionClass, Material};

const POINTS: u32 = 8;

fn components(case: &Case) -> Components {
    let parameters = parameters();
    let limits = Limits::of(&parameters).unwrap();
    chain::components(&case.situation, &case.route, &parameters, &limits, Effort::of_points(POINTS), START)
        .unwrap()
}

fn kept(mut case: Case, kind: HoldingKind) -> Case {
    case.route.holding = vec![held(kind, 30.0)];
    case
}

fn of_class(class: ImpressionClass) -> Case {
    let mut case = silicone_crown();
    case.route.material = Material { class, product: None };
    case
}

fn middle(components: &Components, way: Way, after_s: f64) -> f64 {
    let place = components.after_removal_s.iter().position(|s| *s >= after_s).unwrap();
    components.parts.iter().find(|part| part.way == way).unwrap().strain[place].mid
}

const KINDS: [HoldingKind; 4] =
    [HoldingKind::OpenAir, HoldingKind::SealedHumid, HoldingKind::WrappedWet, HoldingKind::Immersed];

/// In each sample, to a rounding: the parts are of the samples whose strain the forecast says, and nothing else is in it.
#[test]
fn prop_parts_sum_to_the_strain_of_holding_of_the_same_samples() {
    let rubbers =
        [ImpressionClass::CondensationSilicone, ImpressionClass::Polysulfide, ImpressionClass::Polyether];
    let cases = KINDS
        .iter()
        .map(|&kind| kept(alginate_cast(), kind))
        .chain(KINDS.iter().flat_map(|&kind| rubbers.map(|class| kept(of_class(class), kind))));
    for case in cases {
        let found = components(&case);
        let name = format!("{} {:?}", case.route.material.class, case.route.holding[0].kind);
        assert!(found.largest_gap < 1e-15, "{name}: {}", found.largest_gap);
        let curve = case.forecast(POINTS).pour_curve;
        let strains: Vec<_> = curve.iter().map(|point| point.holding_strain).collect();
        assert_eq!(found.whole, strains, "{name}");
        let times: Vec<f64> = curve.iter().map(|point| point.after_removal_s).collect();
        assert_eq!(found.after_removal_s, times, "{name}");
    }
}

#[test]
fn a_bag_keeps_water_in_and_leaves_syneresis_alone() {
    let (open, bag) = (
        components(&kept(alginate_cast(), HoldingKind::OpenAir)),
        components(&kept(alginate_cast(), HoldingKind::SealedHumid)),
    );
    let hour = 3600.0;
    assert!(middle(&open, Way::Evaporation, hour) > 3.0 * middle(&bag, Way::Evaporation, hour).abs());
    assert_eq!(middle(&open, Way::Liquid, hour), 0.0);
    // The volume squeezed out is the same; a length is a cube root of the whole volume, so that it moves by a few per cent of itself.
    let (a, b) = (middle(&open, Way::Exudation, hour), middle(&bag, Way::Exudation, hour));
    assert!(a > 0.0 && (a / b - 1.0).abs() < 0.1, "{a} {b}");
    let bath = components(&kept(alginate_cast(), HoldingKind::Immersed));
    assert!(middle(&bath, Way::Liquid, 300.0) < 0.0, "fresh gel draws water in");
    assert_eq!(middle(&bath, Way::Evaporation, 300.0), 0.0);
}

#[test]
fn a_rubber_has_its_own_ways() {
    let silicone = components(&kept(of_class(ImpressionClass::CondensationSilicone), HoldingKind::OpenAir));
    assert_eq!(silicone.parts.iter().map(|part| part.way).collect::<Vec<_>>(), [Way::Byproduct, Way::Water]);
    assert!(middle(&silicone, Way::Byproduct, 3600.0) > 0.0);
    let mut damp = kept(of_class(ImpressionClass::Polyether), HoldingKind::OpenAir);
    damp.situation.room_humidity = Fact::Known(0.9);
    assert!(middle(&components(&damp), Way::Water, 86_400.0) < 0.0, "polyether drinks from damp air");
    assert!(components(&damp).contact_rad.is_some_and(|angle| angle.low > 0.0 && angle.high < 3.0));
}

/// The curve of setting and the windows are of the same samples: where the middle of the curve passes the conversion at which working
/// ends is where working ends.
#[test]
fn the_curve_of_setting_agrees_with_the_windows() {
    let mut case = alginate_cast();
    // Held in the bowl for as long as it works, and in the mouth after.
    case.route.plan.seat_after_s = Fact::Known(60.0);
    let parameters = parameters();
    let limits = Limits::of(&parameters).unwrap();
    let moments: Vec<f64> = (0..60).map(|k| 10.0 * f64::from(k)).collect();
    let found = chain::setting(
        &case.situation,
        &case.route,
        &parameters,
        &limits,
        Effort::of_points(POINTS),
        START,
        &moments,
    )
    .unwrap();
    assert!(found.moments.windows(2).all(|pair| pair[0].cure_share.mid <= pair[1].cure_share.mid + 1e-9));
    assert!(found.moments[0].temperature_k.mid < 300.0);
    let forecast = case.forecast(POINTS);
    let ready = forecast.quantity("window.remove.opens").unwrap().interval;
    let at = |from_mix_s: f64| found.moments[(from_mix_s / 10.0) as usize].cure_share;
    // Before the first sample is ready none of the middle is, and after the last all are; the trace of a run has a point every 19 s.
    assert!(at(60.0 + ready.low - 20.0).mid < found.ready_cure);
    assert!(at(60.0 + ready.high + 30.0).mid > found.ready_cure);
}
