//! Every link of the documents leads somewhere: a file of the tree, and the heading it names.

use std::fs;
use std::path::{Path, PathBuf};

/// Checks the relative links of all Markdown files below `root`. Links to the outside are counted and not followed.
///
/// # Errors
/// Every link that leads nowhere, with its file and line.
pub fn check(root: &Path) -> Result<String, String> {
    let mut files = Vec::new();
    collect(root, &mut files)?;
    let (mut inside, mut outside, mut broken) = (0, 0, Vec::new());
    for file in &files {
        let text = fs::read_to_string(file).map_err(|error| format!("{}: {error}", file.display()))?;
        for (number, line) in text.lines().enumerate() {
            for target in targets(line) {
                if target.contains("://") || target.starts_with("mailto:") {
                    outside += 1;
                    continue;
                }
                inside += 1;
                if !leads(file, target) {
                    broken.push(format!("{}:{}: {target}", file.display(), number + 1));
                }
            }
        }
    }
    if broken.is_empty() {
        return Ok(format!("{} documents, {inside} links inside, {outside} to the outside", files.len()));
    }
    Err(format!("links that lead nowhere:\n{}", broken.join("\n")))
}

fn collect(folder: &Path, files: &mut Vec<PathBuf>) -> Result<(), String> {
    let entries = fs::read_dir(folder).map_err(|error| format!("{}: {error}", folder.display()))?;
    for entry in entries {
        let path = entry.map_err(|error| error.to_string())?.path();
        let name = path.file_name().map(|name| name.to_string_lossy().into_owned()).unwrap_or_default();
        if name.starts_with('.') || name == "target" || name == "node_modules" {
            continue;
        }
        if path.is_dir() {
            collect(&path, files)?;
        } else if path.extension().is_some_and(|extension| extension == "md") {
            files.push(path);
        }
    }
    files.sort();
    Ok(())
}

/// Targets of `[words](target)` in a line.
fn targets(line: &str) -> Vec<&str> {
    line.match_indices("](")
        .filter_map(|(at, _)| {
            let rest = &line[at + 2..];
            rest.find(')').map(|end| rest[..end].trim())
        })
        .collect()
}

fn leads(file: &Path, target: &str) -> bool {
    let (path, heading) = target.split_once('#').unwrap_or((target, ""));
    let place = match path {
        "" => file.to_path_buf(),
        _ => file.parent().unwrap_or(Path::new(".")).join(path),
    };
    if heading.is_empty() {
        return place.exists();
    }
    fs::read_to_string(place).is_ok_and(|text| {
        text.lines().filter(|line| line.starts_with('#')).any(|line| anchor(line) == heading)
    })
}

/// The anchor of a heading: small letters, digits and hyphens.
fn anchor(heading: &str) -> String {
    heading
        .trim_start_matches('#')
        .trim()
        .to_lowercase()
        .chars()
        .filter_map(|c| match c {
            ' ' => Some('-'),
            c if c.is_alphanumeric() || c == '-' => Some(c),
            _ => None,
        })
        .collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn targets_and_anchors_are_found() {
        assert_eq!(targets("see [a](b.md) and [c](d.md#e)"), ["b.md", "d.md#e"]);
        assert_eq!(anchor("## What is locked in"), "what-is-locked-in");
    }
}
