//! The situations of the demo clinic, with the lines that must be said of each written out in `data/counsel/demo-expected.toml`.
#![allow(clippy::unwrap_used, clippy::expect_used, reason = "a test stops where its premise fails")]

use std::process::Command;

const EXPECTED: &str = include_str!("../../../data/counsel/demo-expected.toml");

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct File {
    case: Vec<Case>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Case {
    name: String,
    #[serde(default)]
    with: Vec<String>,
    line: Vec<Line>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Line {
    #[serde(rename = "in")]
    page: String,
    says: Option<String>,
    never: Option<String>,
}

fn one_blank(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn page(case: &str, words: &str) -> String {
    let mut words = words.split_whitespace();
    let command = words.next().unwrap();
    let output = Command::new(env!("CARGO_BIN_EXE_trayward"))
        .arg(command)
        .arg(case)
        .args(words)
        .args(if command == "forecast" { &["--coarse"][..] } else { &[] })
        .args(["--clinic", "demo"])
        .current_dir(env!("CARGO_TARGET_TMPDIR"))
        .env("TZ", "UTC")
        .output()
        .unwrap();
    assert!(output.status.success(), "{case} {command}: {}", String::from_utf8_lossy(&output.stderr));
    let text = String::from_utf8(output.stdout).unwrap();
    for line in text.lines() {
        assert!(line.chars().count() <= 80, "{case} {command}: {line}");
    }
    one_blank(&text)
}

#[test]
fn every_situation_says_its_lines() {
    let file: File = toml::from_str(EXPECTED).unwrap();
    assert!(file.case.len() >= 11);
    let folder = std::path::PathBuf::from(env!("CARGO_TARGET_TMPDIR"));
    let mut missing = Vec::new();
    for (number, case) in file.case.iter().enumerate() {
        let path = format!("{}/../../data/demo/{}.toml", env!("CARGO_MANIFEST_DIR"), case.name);
        let mut text = std::fs::read_to_string(&path).unwrap();
        for pair in case.with.chunks(2) {
            assert!(text.contains(&pair[0]), "{}: no {}", case.name, pair[0]);
            text = text.replace(&pair[0], &pair[1]);
        }
        let changed = format!("s{number}.toml");
        std::fs::write(folder.join(&changed), text).unwrap();
        let mut pages: Vec<(&str, String)> = Vec::new();
        for line in &case.line {
            let shown = match pages.iter().find(|(name, _)| *name == line.page) {
                Some((_, shown)) => shown.clone(),
                None => {
                    let shown = page(&changed, &line.page);
                    pages.push((&line.page, shown.clone()));
                    shown
                }
            };
            if let Some(says) = &line.says
                && !shown.contains(&one_blank(says))
            {
                missing.push(format!("{} {}: not said: {says}", case.name, line.page));
            }
            if let Some(never) = &line.never
                && shown.contains(&one_blank(never))
            {
                missing.push(format!("{} {}: said: {never}", case.name, line.page));
            }
        }
    }
    assert!(missing.is_empty(), "{}", missing.join("\n"));
}
