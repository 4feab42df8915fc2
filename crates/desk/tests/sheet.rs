//! The laboratory sheet of every demo case.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use std::process::Command;

use case_file::Case;
use chain::Effort;
use counsel::cautions::Rulebook;
use counsel::sheet::LabSheet;
use desk::load;
use terms::{Action, Fact, HoldingSegment, Instant, LotLabel, Lots};

const NOW: Instant = Instant::from_millis(1_790_000_000_000);

fn sheet(case: &Case) -> LabSheet {
    let stock = load::stock(None, true).unwrap();
    let (parameters, _) = load::parameters(case, &stock).unwrap();
    let now = load::present(case, NOW);
    let forecast = load::forecast(case, &stock, Effort { points: 4 }, now).unwrap();
    let view = load::view(case);
    let rulebook = Rulebook::shipped().unwrap();
    let look = counsel::cautions::look(&rulebook, &view);
    counsel::sheet::sheet(&view, &forecast, &look, &parameters).unwrap()
}

fn printed(arguments: &[&str]) -> String {
    let output = Command::new(env!("CARGO_BIN_EXE_trayward"))
        .arg("sheet")
        .args(arguments)
        .env("TZ", "UTC")
        .output()
        .unwrap();
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout).unwrap()
}

#[test]
fn every_demo_makes_a_sheet_that_loosens_nothing() {
    let mut seen = Vec::new();
    for (name, _) in load::DEMO {
        let case = load::case(&format!("demo/{name}")).unwrap();
        let sheet = sheet(&case);
        let pour = sheet.windows.iter().find(|window| window.action == Action::Pour).unwrap();
        for limit in &pour.closes.instructed {
            assert!(pour.closes.binding_s.unwrap() <= limit.at_s, "{name}");
        }
        for limit in &pour.opens.instructed {
            assert!(pour.opens.binding_s.unwrap() >= limit.at_s, "{name}");
        }
        // Stamped and planned are never mixed: exactly the stamps of the case are stamped, at their own moments.
        for moment in &sheet.moments {
            let stamp = case.stamps.iter().find(|stamp| stamp.step == moment.step);
            assert_eq!(moment.stamped, stamp.is_some(), "{name}");
            assert!(stamp.is_none_or(|stamp| moment.at == Some(stamp.at)), "{name}");
        }
        seen.extend(sheet.checks.iter().map(|check| check.id.clone()));
        let text = printed(&[&format!("demo/{name}")]);
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{name}: {line}");
        }
        assert!(text.contains(case.code.as_str()) && text.lines().next().unwrap().contains("demo"), "{name}");
        // The boxes are there to be ticked by somebody, never by the program.
        assert!(!text.contains("[x]") && text.contains("[ ]"), "{name}");
    }
    let all = include_str!("../../../data/counsel/receipt-checks.toml");
    let ids: Vec<&str> =
        all.lines().filter_map(|line| line.strip_prefix("id = \"")?.strip_suffix('"')).collect();
    assert!(ids.len() >= 14);
    for id in ids {
        assert!(seen.iter().any(|known| known == id), "{id} belongs to no demo");
    }
}

/// A check that belongs to a class is there for it, and not for another.
#[test]
fn checks_belong_to_what_arrives() {
    let ids = |name: &str| -> Vec<String> {
        sheet(&load::case(&format!("demo/{name}")).unwrap())
            .checks
            .into_iter()
            .map(|check| check.id)
            .collect()
    };
    let (gel, rubber, cast) = (ids("crown-agar"), ids("crown-silicone"), ids("study-alginate"));
    let has = |list: &[String], id: &str| list.iter().any(|known| known == id);
    assert!(has(&gel, "kept-damp") && !has(&rubber, "kept-damp"));
    assert!(has(&rubber, "room-temperature") && !has(&gel, "room-temperature"));
    assert!(has(&rubber, "margin-all-round") && !has(&cast, "margin-all-round"));
}

/// Nobody said, or said no: the sheet never reads as if it had been disinfected.
#[test]
fn disinfection_that_is_not_known_is_never_shown_as_done() {
    let mut case = load::case("demo/crown-silicone").unwrap();
    let text = |case: &Case| {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("case.toml");
        std::fs::write(&path, case_file::write(case)).unwrap();
        // Where lines break does not matter here.
        printed(&[path.to_str().unwrap()]).split_whitespace().collect::<Vec<_>>().join(" ")
    };
    case.route.holding.clear();
    let nothing = text(&case);
    assert!(nothing.contains("NOT KNOWN: treat as not disinfected"), "{nothing}");
    let unknown = HoldingSegment::of(terms::HoldingKind::SprayedSealed, 600.0);
    case.route.holding = vec![unknown];
    let words = text(&case);
    assert!(words.contains("NOT KNOWN"), "{words}");
    case.route.holding = vec![HoldingSegment::of(terms::HoldingKind::OpenAir, 600.0)];
    let none = text(&case);
    assert!(none.contains("NOT DISINFECTED: treat as infectious"), "{none}");
    let planned = HoldingSegment {
        agent: Fact::Known(terms::Agent::Hypochlorite),
        concentration: Fact::Known(0.005),
        labelled_contact_s: Fact::Known(600.0),
        ..unknown
    };
    case.route.holding = vec![planned];
    let words = text(&case);
    assert!(words.contains("planned") && words.contains("[ ] done for the whole time"), "{words}");
    assert!(words.contains("sodium hypochlorite 0.5 %") && words.contains("at least 10 min"), "{words}");
}

#[test]
fn a_lot_is_on_the_sheet_and_in_no_forecast() {
    let case = load::case("demo/crown-silicone").unwrap();
    assert_eq!(case.route.lots.material, Some(LotLabel::new("L-2403").unwrap()));
    let text = printed(&["demo/crown-silicone"]);
    assert!(text.contains("lot L-2403") && text.contains("lot S-118"), "{text}");
    let stock = load::stock(None, true).unwrap();
    let mut without = case.clone();
    without.route.lots = Lots::default();
    let forecast = |case: &Case| load::forecast(case, &stock, Effort { points: 4 }, NOW).unwrap();
    assert!(forecast(&case) == forecast(&without));
    assert_ne!(case_file::write(&case), case_file::write(&without));
}

#[test]
fn json_has_every_part() {
    let json: serde_json::Value = serde_json::from_str(&printed(&["demo/running", "--json"])).unwrap();
    let sheet = &json["sheet"];
    for part in
        ["materials", "moments", "holding", "windows", "limits", "cautions", "checks", "stone_ratio", "casts"]
    {
        assert!(!sheet[part].is_null(), "{part}");
    }
    assert_eq!(sheet["moments"][2]["stamped"], true);
    assert_eq!(sheet["moments"][3]["stamped"], false);
}
