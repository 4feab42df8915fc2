//! Comparing routes: an outlook is the forecast with less said, and routes that differ in displacement share their samples.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

mod common;

use chain::{Effort, Outlook, outlook, outlooks};
use common::{Case, START, alginate_cast, silicone_crown};
use ledger::{Limits, Parameters};
use terms::{Astringent, CordOrder, Displacement, Fact};

const EFFORT: Effort = Effort { points: 8 };

fn alone(case: &Case, parameters: &Parameters) -> Outlook {
    let limits = Limits::of(parameters).unwrap();
    outlook(&case.situation, &case.route, &[], &[], parameters, &limits, EFFORT, START).unwrap()
}

#[test]
fn an_outlook_has_the_chance_of_the_forecast() {
    let parameters = ledger::shipped().unwrap();
    for case in [silicone_crown(), alginate_cast()] {
        let verdict = case.forecast(EFFORT.points).verdict;
        let outlook = alone(&case, &parameters);
        assert_eq!(outlook.chance.value.to_bits(), verdict.usable.value.to_bits());
        assert_eq!(outlook.captured.map(f64::to_bits), verdict.captured.map(f64::to_bits));
        assert_eq!(outlook.fits.to_bits(), verdict.fits.to_bits());
    }
}

/// The samples are run once and only the margins asked again; every figure is what the route gives alone, bit for bit.
#[test]
fn ways_to_open_the_gum_share_their_samples() {
    let parameters = ledger::shipped().unwrap();
    let limits = Limits::of(&parameters).unwrap();
    let first = silicone_crown();
    let means = [
        (Displacement::None, Fact::NotApplicable, Astringent::None),
        (Displacement::Paste, Fact::NotApplicable, Astringent::AluminiumChloride),
        (Displacement::SingleCord, Fact::Known(CordOrder::OneByOne), Astringent::FerricSulfate),
        (Displacement::DoubleCord, Fact::Known(CordOrder::AllFirst), Astringent::AluminiumChloride),
        (Displacement::Laser, Fact::NotApplicable, Astringent::None),
    ];
    let others: Vec<Case> = means
        .into_iter()
        .map(|(displacement, cords_leave, medicament)| {
            let mut case = silicone_crown();
            case.route.displacement = Fact::Known(displacement);
            case.route.cords_leave = cords_leave;
            case.situation.astringent = Fact::Known(medicament);
            case
        })
        .collect();
    let pairs: Vec<_> = others.iter().map(|case| (&case.situation, &case.route)).collect();
    let (shared_first, shared) =
        outlooks((&first.situation, &first.route), &pairs, &parameters, &limits, EFFORT, START).unwrap();
    assert_eq!(shared_first, alone(&first, &parameters));
    let mut chances = Vec::new();
    for (shared, case) in shared.into_iter().zip(&others) {
        let shared = shared.unwrap();
        assert_eq!(shared, alone(case, &parameters));
        chances.push(shared.chance.value);
    }
    assert!(chances[0] < chances[1] && chances[1] < chances[3], "{chances:?}");
}

/// A plan that breaks a printed limit says so in a comparison, as it does on a card.
#[test]
fn a_comparison_loosens_no_printed_limit() {
    let parameters = ledger::shipped().unwrap();
    let mut cast = alginate_cast();
    assert!(!alone(&cast, &parameters).in_the_way.iter().any(|words| words.contains("prints")));
    cast.route.holding = vec![common::held(terms::HoldingKind::SealedHumid, 240.0)];
    let late = alone(&cast, &parameters).in_the_way;
    assert!(
        late.iter().any(|words| words.starts_with("the plan to pour lies") && words.contains("after what")),
        "{late:?}"
    );
    let mut soon = silicone_crown();
    soon.route.plan.remove_after_s = Fact::Known(120.0);
    let early = alone(&soon, &parameters).in_the_way;
    assert!(
        early
            .iter()
            .any(|words| words.starts_with("the plan to remove lies") && words.contains("before what")),
        "{early:?}"
    );
}
