//! Case files: the demo set, the malformed set, and laws for generated ones.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

mod common;

use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};

use case_file::fields::{Kind, TABLES};
use case_file::{Case, MAX_BYTES, parse, schema, write};
use common::{Draw, case_text};
use proptest::prelude::*;

fn files(folder: &str, extension: &str) -> Vec<PathBuf> {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join(folder);
    let mut files: Vec<PathBuf> = std::fs::read_dir(folder)
        .unwrap()
        .map(|entry| entry.unwrap().path())
        .filter(|path| path.extension().is_some_and(|found| found == extension))
        .collect();
    files.sort();
    files
}

fn name(path: &Path) -> &str {
    path.file_name().unwrap().to_str().unwrap()
}

/// A TOML document as the JSON value that a schema speaks of.
fn as_json(text: &str) -> serde_json::Value {
    fn value(toml: toml::Value) -> serde_json::Value {
        match toml {
            toml::Value::String(text) => text.into(),
            toml::Value::Integer(number) => number.into(),
            toml::Value::Float(number) => number.into(),
            toml::Value::Boolean(flag) => flag.into(),
            toml::Value::Datetime(moment) => moment.to_string().into(),
            toml::Value::Array(items) => items.into_iter().map(value).collect(),
            toml::Value::Table(table) => {
                serde_json::Value::Object(table.into_iter().map(|(key, item)| (key, value(item))).collect())
            }
        }
    }
    value(toml::Value::Table(text.parse().unwrap()))
}

fn schema_errors(validator: &jsonschema::Validator, text: &str) -> Vec<String> {
    let json = as_json(text);
    validator.iter_errors(&json).map(|error| format!("{}: {error}", error.instance_path())).collect()
}

#[test]
fn every_demo_file_is_read_fits_the_schema_and_survives_writing() {
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    let demos = files("../../data/demo", "toml");
    assert_eq!(demos.len(), desk::load::DEMO.len());
    let mut codes = std::collections::BTreeSet::new();
    for path in demos {
        let text = std::fs::read_to_string(&path).unwrap();
        let case = parse(name(&path), &text).unwrap_or_else(|problems| panic!("{problems}"));
        assert!(case.demo, "{}", name(&path));
        assert_eq!(schema_errors(&validator, &text), Vec::<String>::new(), "{}", name(&path));
        let written = write(&case);
        assert_eq!(parse("written.toml", &written), Ok(case.clone()), "{written}");
        assert_eq!(schema_errors(&validator, &written), Vec::<String>::new(), "{written}");
        assert!(
            codes.insert(case.code.as_str().to_owned()),
            "each demo has a code of its own: {}",
            name(&path)
        );
    }
}

/// Set `WRITE_MESSAGES=1` to write the messages anew, then read every one of them.
#[test]
fn every_malformed_file_gets_exactly_its_messages() {
    let malformed = files("tests/malformed", "toml");
    assert!(malformed.len() >= 20);
    let mut mismatches = String::new();
    for path in malformed {
        let text = String::from_utf8(std::fs::read(&path).unwrap()).unwrap();
        let messages = match parse(name(&path), &text) {
            Ok(_) => "accepted\n".to_owned(),
            Err(problems) => format!("{problems}\n"),
        };
        let expected_path = path.with_extension("txt");
        if std::env::var_os("WRITE_MESSAGES").is_some() {
            std::fs::write(&expected_path, &messages).unwrap();
        }
        let expected = std::fs::read_to_string(&expected_path).unwrap_or_default();
        if messages != expected {
            mismatches.push_str(&format!("--- {}\nexpected:\n{expected}found:\n{messages}\n", name(&path)));
        }
    }
    assert!(mismatches.is_empty(), "{mismatches}");
}

/// Malformed files whose mistake a schema can see must be refused by it as well.
#[test]
fn the_schema_refuses_what_the_reader_refuses_field_by_field() {
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    let seen = [
        "bad-code.toml",
        "bad-product.toml",
        "bare-number.toml",
        "fault-without-present.toml",
        "impossible-tooth.toml",
        "local-time.toml",
        "missing-fields.toml",
        "no-reading.toml",
        "not-a-boolean.toml",
        "other-version.toml",
        "present-without-fault.toml",
        "too-many-teeth.toml",
        "two-readings.toml",
        "unknown-sulcus.toml",
        "unknown-field.toml",
        "wrong-unit.toml",
        "wrong-word.toml",
    ];
    for file in seen {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/malformed").join(file);
        let text = std::fs::read_to_string(&path).unwrap();
        assert!(parse(file, &text).is_err(), "{file}");
        assert!(!schema_errors(&validator, &text).is_empty(), "{file}");
    }
}

#[test]
fn a_file_that_is_too_large_or_holds_nul_is_refused_before_it_is_read() {
    let large = " ".repeat(MAX_BYTES + 1);
    let problems = parse("large.toml", &large).unwrap_err();
    assert_eq!(
        problems.to_string(),
        "large.toml:1: file: given 1048577 bytes; allowed at most 1048576 bytes"
    );
    let problems = parse("nul.toml", "schema_version = 1\ntitle = \"a\0\"\n").unwrap_err();
    assert_eq!(problems.to_string(), "nul.toml:2: file: given a NUL character; allowed text");
}

#[test]
fn more_entries_than_allowed_are_refused_at_the_first_one_too_many() {
    let mut text = case_text(7).split("\n[[stamps]]").next().unwrap().to_owned();
    text = text.split("\n[[observations]]").next().unwrap().split("\n[limits]").next().unwrap().to_owned();
    let lines = text.lines().count();
    for _ in 0..65 {
        text.push_str("\n[[observations]]\nat = 2026-03-01T09:00:00Z\nbowl_set = true\n");
    }
    let problems = parse("many.toml", &text).unwrap_err();
    assert_eq!(
        problems.to_string(),
        format!("many.toml:{}: observations: given 65; allowed at most 64", lines + 64 * 4 + 2)
    );
}

/// Whatever the text, the answer is a case or a list of problems with lines of the file.
fn read_without_panic(text: &str) -> Option<Case> {
    match parse("any.toml", text) {
        Ok(case) => Some(case),
        Err(problems) => {
            let last_line = text.matches('\n').count() + 1;
            assert!(!problems.list.is_empty());
            assert!(problems.list.is_sorted_by_key(|problem| problem.line));
            assert!(
                problems.list.iter().all(|problem| (1..=last_line).contains(&problem.line)),
                "{problems}\n{text}"
            );
            assert_eq!(
                problems.to_string().lines().count(),
                problems.list.len(),
                "one line each:\n{problems}"
            );
            None
        }
    }
}

#[test]
fn prop_ten_thousand_texts_are_read_or_refused() {
    const GENERATED: u64 = 3500;
    const MUTATED: u64 = 5500;
    const RANDOM: u64 = 1000;
    let validator = jsonschema::draft202012::new(&schema()).unwrap();
    let mut valid = 0;
    for seed in 0..GENERATED {
        let text = case_text(seed);
        let case = parse("generated.toml", &text).unwrap_or_else(|problems| panic!("{problems}\n{text}"));
        valid += 1;
        let written = write(&case);
        assert_eq!(parse("written.toml", &written), Ok(case), "seed {seed}\n{text}\n{written}");
        if seed < 200 {
            assert_eq!(schema_errors(&validator, &text), Vec::<String>::new(), "seed {seed}\n{text}");
            assert_eq!(schema_errors(&validator, &written), Vec::<String>::new(), "seed {seed}\n{written}");
        }
    }
    assert_eq!(valid, GENERATED);
    let mut still_valid = 0;
    for seed in 0..MUTATED {
        let text = mutated(seed);
        if let Some(case) = read_without_panic(&text) {
            assert_eq!(parse("written.toml", &write(&case)), Ok(case), "seed {seed}\n{text}");
            still_valid += 1;
        }
    }
    assert!((MUTATED / 100..MUTATED / 2).contains(&still_valid), "{still_valid} of {MUTATED} survived");
    for seed in 0..RANDOM {
        read_without_panic(&random(seed));
    }
}

/// The writer starts from the case, so a field that comes back with different values was read into the case.
#[test]
fn every_field_and_word_of_the_list_reaches_the_case_and_comes_back() {
    let mut written: BTreeMap<(String, String), BTreeSet<String>> = BTreeMap::new();
    for seed in 0..600 {
        let case = common::case(seed);
        let mut table = String::new();
        for line in write(&case).lines() {
            if let Some((name, value)) = line.split_once(" = ") {
                let values = written.entry((table.clone(), name.to_owned())).or_default();
                values.insert(value.trim_matches('"').to_owned());
            } else if line.starts_with('[') {
                table = line.trim_matches(['[', ']']).to_owned();
            }
        }
    }
    for table in TABLES {
        for field in table.fields {
            let values = written.get(&(table.path.to_owned(), field.name.to_owned()));
            let values = values.unwrap_or_else(|| panic!("{}.{} is never written", table.path, field.name));
            match field.kind {
                Kind::Word(words) => {
                    let missing: Vec<_> = words.iter().filter(|word| !values.contains(**word)).collect();
                    assert!(missing.is_empty(), "{}.{}: {missing:?}", table.path, field.name);
                }
                // These have one value, or are left out where they are false.
                Kind::Version | Kind::Sign | Kind::Switch | Kind::Text { .. } => assert!(!values.is_empty()),
                _ => assert!(values.len() > 1, "{}.{}", table.path, field.name),
            }
        }
    }
}

/// A text that is nothing but mistakes is answered in full, in time proportional to its length.
#[test]
fn a_large_file_of_mistakes_is_answered() {
    for mistake in ["a = 1\n", "a = b\n", "[a]\n", "latex = 23 °C\n", "[[stamps]]\n", "a\n"] {
        let text = mistake.repeat(40_000 / mistake.len());
        assert_eq!(read_without_panic(&text), None);
    }
}

/// A valid text with one to three things done to it.
fn mutated(seed: u64) -> String {
    let mut draw = Draw::new(!seed);
    let mut bytes = case_text(seed % 500).into_bytes();
    for _ in 0..=draw.below(3) {
        let at = draw.below(bytes.len());
        match draw.below(6) {
            0 => {
                let end = (at + 1 + draw.below(8)).min(bytes.len());
                bytes.drain(at..end);
            }
            1 => bytes[at] = draw.bits() as u8,
            2 => {
                let junk = draw
                    .one(&["\"", "[", "]]", "=", "\n", "\"\"\"", "#", "{", "é", "\u{202e}", "99999", "0"]);
                bytes.splice(at..at, junk.bytes());
            }
            3 => {
                let text = String::from_utf8_lossy(&bytes).into_owned();
                let mut lines: Vec<&str> = text.lines().collect();
                let (one, other) = (draw.below(lines.len()), draw.below(lines.len()));
                lines.swap(one, other);
                bytes = lines.join("\n").into_bytes();
            }
            4 => {
                let text = String::from_utf8_lossy(&bytes).into_owned();
                let words: Vec<&str> = text.split('"').collect();
                let (one, other) = (draw.below(words.len()), draw.below(words.len()));
                let mut words = words;
                words.swap(one, other);
                bytes = words.join("\"").into_bytes();
            }
            _ => {
                let digits: Vec<usize> = (0..bytes.len()).filter(|&at| bytes[at].is_ascii_digit()).collect();
                if !digits.is_empty() {
                    let at = draw.one(&digits);
                    bytes.splice(at..at, draw.one(&["9", "0", "-", "1e9", "."]).bytes());
                }
            }
        }
        if bytes.is_empty() {
            break;
        }
    }
    String::from_utf8_lossy(&bytes).into_owned()
}

/// Random bytes, random TOML punctuation, or deep nesting.
fn random(seed: u64) -> String {
    let mut draw = Draw::new(seed ^ 0xabcd);
    let length = draw.below(2000);
    match draw.below(4) {
        0 => {
            String::from_utf8_lossy(&(0..length).map(|_| draw.bits() as u8).collect::<Vec<u8>>()).into_owned()
        }
        1 => draw.one(&["[", "{", "a.", "[[a.", "a={", "[a.b]\n", "\"", "a=[{"]).repeat(length),
        _ => {
            let pieces = [
                "[",
                "]",
                "[[",
                "]]",
                "=",
                "\n",
                "\"",
                "'",
                "{",
                "}",
                ",",
                ".",
                "#",
                "1",
                "true",
                "route",
                "situation",
                "stamps",
                "at",
                "holding",
                "code",
                "schema_version",
                " ",
                "\r\n",
                "2026-01-01",
                "T09:00:00Z",
                "\u{feff}",
            ];
            (0..length).map(|_| draw.one(&pieces)).collect()
        }
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(64))]

    /// Any title and note that can be read survive being written.
    #[test]
    fn prop_texts_survive_writing(title in "\\PC{0,80}", note in "(\\PC|[\n\t\r\"'\\\\]){0,60}", seed in 0u64..1000) {
        let mut case = common::case(seed);
        case.title = Some(title);
        case.note = Some(note);
        let written = write(&case);
        prop_assert_eq!(parse("written.toml", &written), Ok(case), "{}", written);
    }
}
