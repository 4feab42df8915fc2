//! Single facts of the demo cases, said again and changed.

#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

use case_file::change::{facts, with};
use desk::load;
use terms::Fact;

#[test]
fn every_fact_of_every_demo_case_can_be_said_again_as_it_stands() {
    for (name, _) in load::DEMO {
        let case = load::case(&format!("demo/{name}")).unwrap();
        for line in facts(&case) {
            let same = with(&case, &[(&line.path, &line.said)]);
            assert_eq!(same.unwrap(), case, "{name}: {} = {}", line.path, line.said);
        }
    }
}

#[test]
fn a_fact_is_changed_and_nothing_else() {
    let case = load::case("demo").unwrap();
    let warmer = with(&case, &[("situation.room_temperature", "26 °C")]).unwrap();
    assert_eq!(warmer.situation.room_temperature_k, Fact::Known(299.15));
    let back = with(&warmer, &[("situation.room_temperature", "23 °C")]).unwrap();
    assert_eq!(back, case);
    assert_eq!(
        with(&case, &[("patient.device", "unknown")]).unwrap().patient.get("device"),
        Some(Fact::Unknown)
    );
    let bare = with(&case, &[("situation.room_temperature", "25,5"), ("patient.since_infarction", "never")]);
    let bare = bare.unwrap();
    assert_eq!(bare.situation.room_temperature_k, Fact::Known(298.65));
    assert_eq!(bare.patient.get("since_infarction"), Some(Fact::NotApplicable));
    assert_eq!(with(&case, &[("route.lots.stone", "")]).unwrap().route.lots.stone, None);
}

#[test]
fn what_is_refused_says_what_is_allowed() {
    let case = load::case("demo").unwrap();
    let refused = |path: &str, text: &str| with(&case, &[(path, text)]).unwrap_err().to_string();
    assert!(refused("situation.room_temperature", "90 °C").contains("given 90 °C; allowed 10 to 40 °C"));
    assert!(refused("route.tray.kind", "bucket").contains("\"custom\""));
    assert!(refused("code", "AB-12").contains("a fact of the case"));
    assert!(refused("situation.latex", "maybe").contains("true, false"));
}
