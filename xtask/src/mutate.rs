//! Breaks the code on purpose and sees each check, and each test of the chain that excludes a cheap version, turn red.
//!
//! The tree is copied to a temporary folder; nothing here touches the tree itself. A mutation that does not compile proves
//! nothing and counts as surviving.

use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// One mutation and the test that must notice it.
struct Case {
    package: String,
    test: String,
    file: String,
    old: String,
    new: String,
}

/// Mutations of tests that are not checks.
#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct Listed {
    mutation: Vec<ListedCase>,
}

#[derive(serde::Deserialize)]
#[serde(deny_unknown_fields)]
struct ListedCase {
    package: String,
    test: String,
    file: String,
    old: String,
    new: String,
}

/// Applies every mutation, or those whose test carries one of the names.
///
/// # Errors
/// When one survives, or the copy cannot be made or built.
pub fn run(root: &Path, names: &[String]) -> Result<String, String> {
    let cases: Vec<Case> = cases()?
        .into_iter()
        .filter(|case| names.is_empty() || names.iter().any(|name| case.test.contains(name.as_str())))
        .collect();
    if cases.is_empty() {
        return Err(format!(
            "given {}; allowed parts of the names of tests, such as val_slab_series",
            names.join(", ")
        ));
    }
    let copy = std::env::temp_dir().join(format!("trayward-mutants-{}", std::process::id()));
    copy_tree(root, &copy)?;
    let mut survivors = Vec::new();
    for (number, case) in cases.iter().enumerate() {
        let word = match mutated(&copy, case)? {
            Fate::Caught => "caught  ",
            Fate::Survived => "SURVIVED",
            Fate::Refused => "refused ",
            Fate::DoesNotBuild => "no build",
        };
        println!("{word} {:>3}/{} {} in {}", number + 1, cases.len(), case.test, case.file);
        if word != "caught  " {
            survivors.push(case.test.clone());
        }
    }
    fs::remove_dir_all(&copy).map_err(|error| format!("{}: {error}", copy.display()))?;
    if survivors.is_empty() {
        return Ok(format!("{} mutations, every one caught", cases.len()));
    }
    Err(format!("not caught: {}", survivors.join(", ")))
}

fn cases() -> Result<Vec<Case>, String> {
    let checks = checks::all().map_err(|error| error.to_string())?;
    let mut list: Vec<Case> = checks
        .into_iter()
        .map(|(_, check)| Case {
            package: "checks".to_owned(),
            test: format!("val_{}", check.id.replace('-', "_")),
            file: check.mutation.file,
            old: check.mutation.old,
            new: check.mutation.new,
        })
        .collect();
    let listed: Listed =
        toml::from_str(include_str!("../mutations.toml")).map_err(|error| error.to_string())?;
    list.extend(listed.mutation.into_iter().map(|case| Case {
        package: case.package,
        test: case.test,
        file: case.file,
        old: case.old,
        new: case.new,
    }));
    Ok(list)
}

enum Fate {
    Caught,
    Survived,
    /// A model refused the mutated input: no value was seen to differ.
    Refused,
    DoesNotBuild,
}

fn mutated(copy: &Path, case: &Case) -> Result<Fate, String> {
    let path = copy.join(&case.file);
    let text = fs::read_to_string(&path).map_err(|error| format!("{}: {error}", case.file))?;
    if text.matches(&case.old).count() != 1 {
        return Err(format!("{}: \"{}\" does not occur once in {}", case.test, case.old, case.file));
    }
    fs::write(&path, text.replacen(&case.old, &case.new, 1)).map_err(|error| error.to_string())?;
    let (builds, _) = cargo(copy, &["test", "--no-run", "-q", "-p", &case.package])?;
    let tested = if builds {
        Some(cargo(copy, &["test", "-q", "-p", &case.package, "--", "--exact", &case.test])?)
    } else {
        None
    };
    fs::write(&path, text).map_err(|error| error.to_string())?;
    Ok(match tested {
        None => Fate::DoesNotBuild,
        Some((true, _)) => Fate::Survived,
        Some((false, said)) if said.contains("computed Err(") => Fate::Refused,
        Some((false, _)) => Fate::Caught,
    })
}

/// Whether the command succeeded, and what it printed.
fn cargo(folder: &Path, arguments: &[&str]) -> Result<(bool, String), String> {
    let output = Command::new("cargo")
        .args(arguments)
        .current_dir(folder)
        .env("RUSTFLAGS", "-Awarnings")
        .env("CARGO_TARGET_DIR", std::env::temp_dir().join("trayward-mutants-target"))
        .output()
        .map_err(|error| format!("cargo: {error}"))?;
    Ok((output.status.success(), String::from_utf8_lossy(&output.stdout).into_owned()))
}

fn copy_tree(from: &Path, to: &Path) -> Result<(), String> {
    let mut folders = vec![PathBuf::new()];
    while let Some(folder) = folders.pop() {
        let (source, target) = (from.join(&folder), to.join(&folder));
        fs::create_dir_all(&target).map_err(|error| format!("{}: {error}", target.display()))?;
        for entry in fs::read_dir(&source).map_err(|error| format!("{}: {error}", source.display()))? {
            let entry = entry.map_err(|error| error.to_string())?;
            let name = entry.file_name();
            if name == "target" || name == ".git" {
                continue;
            }
            if entry.path().is_dir() {
                folders.push(folder.join(name));
            } else {
                fs::copy(entry.path(), target.join(&name)).map_err(|error| error.to_string())?;
            }
        }
    }
    Ok(())
}
