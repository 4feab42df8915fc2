//! The stone in the impression: what it brings out against rubber and gel. Each test names the cheap version that it excludes.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

mod common;

use common::{Case, alginate_cast, silicone_crown};
use terms::{Fact, GypsumType, ImpressionClass, Material};

const POINTS: u32 = 64;

fn growth(case: &Case) -> f64 {
    case.forecast(POINTS).quantity("stone.growth").unwrap().interval.mid
}

fn of_class(class: ImpressionClass) -> Case {
    let mut case = silicone_crown();
    case.route.material = Material { class, product: None };
    case
}

fn of_stone(mut case: Case, gypsum: GypsumType, ratio: f64) -> Case {
    case.route.stone.gypsum = gypsum;
    case.route.stone.product = None;
    case.route.stone.water_kg = Fact::Known(ratio * 0.1);
    case
}

/// Excluded: one expansion for every stone.
#[test]
fn high_expansion_stone_grows_more() {
    let low = growth(&of_stone(silicone_crown(), GypsumType::Type4, 0.225));
    let high = growth(&of_stone(silicone_crown(), GypsumType::Type5, 0.205));
    assert!(high > 1.8 * low, "{high} {low}");
}

/// Excluded: a share of the class, the same for every tray. A thin layer holds the stone back more than a thick one.
#[test]
fn a_thick_layer_holds_less_back() {
    let of = |relief_mm: f64| {
        let mut case = silicone_crown();
        case.route.tray.relief_m = Fact::Known(relief_mm * 1e-3);
        growth(&case)
    };
    let (thin, thick) = (of(1.0), of(5.0));
    assert!(thick > 1.04 * thin, "{thick} {thin}");
}

/// Excluded: a restraint that does not ask for the stiffness of the rubber. Polysulfide is the softest of the elastomers.
#[test]
fn a_soft_rubber_holds_less_back() {
    let stiff = growth(&of_class(ImpressionClass::Polyether));
    let soft = growth(&of_class(ImpressionClass::Polysulfide));
    assert!(soft > 1.02 * stiff, "{soft} {stiff}");
}

/// Excluded: growth as in air for every class. The same stone grows more against a wet gel than against rubber (alginate dies
/// uniformly larger, addition silicone held back: two Japanese studies of casts, abstracts).
#[test]
fn a_wet_gel_lets_stone_grow_more() {
    let against = |mut case: Case| {
        case.route.stone = alginate_cast().route.stone;
        growth(&case)
    };
    let (rubber, gel) = (against(silicone_crown()), against(alginate_cast()));
    assert!(gel > 1.15 * rubber && gel < 2.0 * rubber, "{gel} {rubber}");
}

/// Excluded: a restraint that counts by the hour. Once the stone has outgrown the rubber, an hour more or less changes little.
#[test]
fn separating_late_changes_little() {
    let of = |hours: f64| {
        let mut case = silicone_crown();
        case.route.plan.separate_after_s = Fact::Known(3600.0 * hours);
        growth(&case)
    };
    let (one, two, day) = (of(1.0), of(2.0), of(20.0));
    assert!((two / one - 1.0).abs() < 0.01, "{two} {one}");
    assert!((day / one - 1.0).abs() < 0.02, "{day} {one}");
}

/// Excluded: a stone that grows by all or by none of its free expansion in a rubber.
///
/// Heshmati et al. 2002 (abstract): 0.14 % at 120 h is the lowest free growth of six stones of types 4 and 5, 0.35 % the highest. What
/// comes out of a rubber after a day lies below, and by no more than half (stiff rubber in a rigid tray holds stone back most, abstract
/// without a figure; a half is the lowest that was guessed).
#[test]
fn val_growth_in_rubber_lies_below_the_free_growth() {
    let four = growth(&of_stone(silicone_crown(), GypsumType::Type4, 0.225));
    let five = growth(&of_stone(silicone_crown(), GypsumType::Type5, 0.205));
    assert!((0.5 * 0.14e-2..0.14e-2).contains(&four), "{four}");
    assert!((0.5 * 0.35e-2..0.35e-2).contains(&five), "{five}");
}
