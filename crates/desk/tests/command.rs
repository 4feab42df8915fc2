//! The program as a user meets it: the binary, its text, its exit codes.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

use std::path::Path;
use std::process::{Command, Output};

use desk::load::DEMO;

fn trayward(arguments: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_trayward")).args(arguments).env("TZ", "UTC").output().unwrap()
}

fn stdout(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap()
}

#[test]
fn every_demo_card_fits_80_columns_and_says_demo() {
    for (name, _) in DEMO {
        let text = stdout(&trayward(&["forecast", &format!("demo/{name}"), "--coarse"]));
        for line in text.lines() {
            assert!(line.chars().count() <= 80, "{name}: {line}");
        }
        assert!(text.lines().next().unwrap().contains("demo"), "{name}");
        for part in ["When", "What comes out", "Against limits", "Not in these figures yet", "Cautions"] {
            assert!(text.contains(part), "{name}: no {part}");
        }
    }
}

#[test]
fn json_keeps_to_its_schema() {
    let schema: serde_json::Value =
        serde_json::from_str(&stdout(&trayward(&["schema", "forecast"]))).unwrap();
    let validator = jsonschema::validator_for(&schema).unwrap();
    for (name, _) in DEMO {
        let json = stdout(&trayward(&["forecast", &format!("demo/{name}"), "--coarse", "--json"]));
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        let errors: Vec<String> =
            validator.iter_errors(&value).map(|error| error.to_string()).take(3).collect();
        assert!(errors.is_empty(), "{name}: {errors:?}");
    }
}

/// Same input, same bits. The C library picks other code for its transcendental functions when it may not use wide vectors
/// or fused multiply-add; a forecast must not notice.
#[test]
fn wide_vector_instructions_change_nothing() {
    let run = |tunables: Option<&str>| {
        let mut command = Command::new(env!("CARGO_BIN_EXE_trayward"));
        command.args(["forecast", "demo/study-alginate", "--coarse", "--json"]);
        match tunables {
            Some(tunables) => command.env("GLIBC_TUNABLES", tunables),
            None => command.env_remove("GLIBC_TUNABLES"),
        };
        stdout(&command.output().unwrap())
    };
    let plain = run(None);
    for mask in ["-AVX,-AVX2,-AVX512F,-FMA,-FMA4", "-AVX2,-FMA", "-SSE4_2,-AVX,-AVX2,-FMA"] {
        assert_eq!(plain, run(Some(&format!("glibc.cpu.hwcaps={mask}"))), "{mask}");
    }
}

#[test]
fn any_number_has_a_pedigree() {
    let row = stdout(&trayward(&["source", "alginate/set.activation_energy"]));
    for part in ["value", "conditions", "source", "how read", "grade"] {
        assert!(row.contains(part), "{row}");
    }
    let mut keys = std::collections::BTreeSet::new();
    for case in ["demo", "demo/crown-agar", "demo/crown-polyether", "demo/crown-agar-alginate"] {
        let json = stdout(&trayward(&["forecast", case, "--coarse", "--json"]));
        let value: serde_json::Value = serde_json::from_str(&json).unwrap();
        let list = |value: &serde_json::Value| value.as_array().unwrap().clone();
        let contributions =
            list(&value["quantities"]).into_iter().flat_map(|quantity| list(&quantity["contributions"]));
        let said = ["notes", "disinfection"].into_iter().flat_map(|name| list(&value[name]));
        let again = list(&value["second_pour"]["notes"]);
        for row in contributions.chain(said).chain(again) {
            keys.insert(row["key"].as_str().unwrap().to_owned());
        }
    }
    assert!(keys.iter().any(|key| key.starts_with("disinfection/")), "{keys:?}");
    assert!(keys.iter().any(|key| key.starts_with("inhibition/")), "{keys:?}");
    for key in keys.iter().filter(|key| *key != "case") {
        let text = stdout(&trayward(&["source", key]));
        assert!(text.contains("grade"), "{key}: {text}");
    }
    let number = stdout(&trayward(&["source", "die.diameter"]));
    assert!(number.contains("rests most on"));
}

#[test]
fn a_wrong_name_is_refused_with_what_is_near() {
    let refused = |arguments: &[&str], expected: &str| {
        let output = trayward(arguments);
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        assert_eq!(output.status.code(), Some(2), "{arguments:?}: {error}");
        assert!(error.contains(expected), "{arguments:?}: {error}");
        assert!(output.stdout.is_empty());
    };
    refused(&["source", "alginate/set.activation_enrgy"], "alginate/set.activation_energy");
    refused(&["forecast", "demo/nothing"], "demo/crown-silicone");
    refused(&["forecast", "no-such-file.toml"], "no-such-file.toml: cannot be opened");
    refused(&["example", "nothing"], "crown-silicone");
    refused(&["schema", "nothing"], "allowed case, forecast");
    refused(&["forecast", "demo", "--at", "noon"], "--at: given \"noon\"");
    refused(&["forecast", "demo", "--at", "1815-06-18T12:00:00Z"], "2000 to 2099");
}

#[test]
fn a_malformed_file_exits_with_2_and_names_its_lines() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/malformed");
    let mut count = 0;
    for entry in std::fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|extension| extension != "toml") {
            continue;
        }
        count += 1;
        let output = trayward(&["forecast", path.to_str().unwrap()]);
        assert_eq!(output.status.code(), Some(2), "{}", path.display());
        let error = String::from_utf8_lossy(&output.stderr).into_owned();
        assert!(error.contains("given") && error.contains("allowed"), "{}: {error}", path.display());
    }
    assert!(count >= 20, "{count} malformed files");
}

#[test]
fn an_example_is_a_case_file_that_reads() {
    for (name, _) in DEMO {
        let text = stdout(&trayward(&["example", name]));
        let case = case_file::parse(name, &text).unwrap();
        assert!(!case.demo, "somebody's own case runs by the clock");
    }
    assert_eq!(stdout(&trayward(&["example"])).lines().count(), DEMO.len());
}

/// The document is what the program prints when every check agrees; that they do is for the table below and for the tests of
/// the checks themselves.
#[test]
fn the_document_of_checks_is_that_of_the_program() {
    let outcome = |(topic, check): (&'static str, checks::Check)| {
        let row =
            |row: &checks::Row| checks::RowOutcome { row: row.clone(), computed: Ok(0.0), agrees: true };
        checks::Outcome { topic, rows: check.row.iter().map(row).collect(), check }
    };
    let outcomes: Vec<checks::Outcome> = checks::all().unwrap().into_iter().map(outcome).collect();
    let shipped = include_str!("../../../docs/checks.md");
    assert_eq!(checks::markdown(&outcomes), shipped, "trayward checks --markdown > docs/checks.md");
}

#[test]
fn the_document_of_coverage_is_that_of_the_program() {
    let shipped = include_str!("../../../docs/coverage.md");
    assert_eq!(
        stdout(&trayward(&["coverage", "--markdown"])),
        shipped,
        "trayward coverage --markdown > docs/coverage.md"
    );
}

#[test]
fn the_table_of_checks_fits_80_columns() {
    let text = stdout(&trayward(&["checks"]));
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    assert!(text.trim_end().ends_with("all agree"));
}

/// Every page of counsel on every demo case: 80 columns, and JSON that is JSON.
#[test]
fn every_page_of_counsel_fits_80_columns_and_is_json_too() {
    for (name, _) in DEMO {
        let case = format!("demo/{name}");
        for page in [
            &["routes", &case, "--coarse"][..],
            &["cautions", &case],
            &["instructions", &case],
            &["inspect", &case],
            &["measure", &case],
            &["blend", &case],
        ] {
            let text = stdout(&trayward(page));
            for line in text.lines() {
                assert!(line.chars().count() <= 80, "{page:?}: {line}");
            }
            assert!(text.lines().next().unwrap().contains("demo"), "{page:?}");
            let mut as_json = page.to_vec();
            as_json.push("--json");
            let value: serde_json::Value = serde_json::from_str(&stdout(&trayward(&as_json))).unwrap();
            assert!(value.is_object() || value.is_array(), "{page:?}");
        }
    }
}

#[test]
fn counsel_says_what_was_given_and_what_is_allowed() {
    let refused = |arguments: &[&str]| {
        let output = trayward(arguments);
        assert!(!output.status.success(), "{arguments:?}");
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(refused(&["blend", "--working", "soon"]).contains("given \"soon\"; allowed 1 s to 1 h"));
    assert!(refused(&["blend", "--warm", "90 °C"]).contains("allowed 1 to 45 °C"));
    assert!(
        refused(&["blend", "--warm", "28", "--cold", "6", "--to", "30"])
            .contains("allowed 6.0 °C to 28.0 °C")
    );
    assert!(refused(&["blend", "--bench", "18"]).contains("allowed a mix temperature and a time"));
    assert!(refused(&["routes", "nowhere.toml"]).contains("nowhere.toml"));
    assert!(refused(&["routes", "demo", "--clinic", "nowhere.toml"]).contains("nowhere.toml"));
    assert!(refused(&["routes", "demo/running", "--at", "2000-01-01T00:00:00Z"]).contains("first stamp"));
}

/// A rule has a way to its pedigree, like a number.
#[test]
fn a_caution_has_a_pedigree() {
    let text = stdout(&trayward(&["source", "heart-device-monopolar"]));
    for part in ["stop", "doubt", "Miller et al. 1998", "not yet reviewed by a clinician"] {
        assert!(text.contains(part), "{part}: {text}");
    }
}

#[test]
fn the_example_clinic_is_one_that_is_read() {
    let text = stdout(&trayward(&["example", "clinic"]));
    desk::clinic_file::parse("clinic", &text).unwrap();
    assert!(text.contains("demo = false"));
}

#[test]
fn a_queue_takes_what_has_been_taken_out_and_not_poured() {
    let text = stdout(&trayward(&["queue", "demo/running"]));
    assert!(text.contains("DEMO-07") && text.contains("Nothing is late in this order."), "{text}");
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{line}");
    }
    let value: serde_json::Value =
        serde_json::from_str(&stdout(&trayward(&["queue", "demo/running", "--json"]))).unwrap();
    assert_eq!(value["order"]["exact"], true);
    let refused = |arguments: &[&str]| {
        let output = trayward(arguments);
        assert!(!output.status.success(), "{arguments:?}");
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(
        refused(&["queue", "demo/study-alginate"]).contains("allowed impressions that have been taken out")
    );
    assert!(refused(&["queue", "demo/checked"]).contains("allowed impressions that wait to be poured"));
    assert!(refused(&["queue", "demo/running", "--hands", "3"]).contains("hands: given 3; allowed 1 or 2"));
    assert!(refused(&["queue", "demo/running", "--mix", "soon"]).contains("--mix: given \"soon\""));
}
