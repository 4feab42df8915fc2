//! Every dependency carries a licence that this project may be combined with.

use std::process::Command;

/// Licences that may appear; an expression passes when one alternative of each `AND` part is here.
const ALLOWED: &[&str] = &[
    "MIT",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "ISC",
    "Zlib",
    "Unlicense",
    "Unicode-3.0",
    "CC0-1.0",
    "0BSD",
    "BSL-1.0",
    "MIT-0",
];

/// Lists every package of the lock file with a licence that is not allowed.
///
/// # Errors
/// When `cargo metadata` fails, or a package has no allowed licence.
pub fn check() -> Result<String, String> {
    let output = Command::new("cargo")
        .args(["metadata", "--format-version", "1", "--locked"])
        .output()
        .map_err(|error| format!("cargo metadata: {error}"))?;
    if !output.status.success() {
        return Err(String::from_utf8_lossy(&output.stderr).into_owned());
    }
    let metadata: serde_json::Value =
        serde_json::from_slice(&output.stdout).map_err(|error| error.to_string())?;
    let packages = metadata["packages"].as_array().ok_or("cargo metadata lists no packages")?;
    let refused: Vec<String> = packages
        .iter()
        .filter_map(|package| {
            let name = package["name"].as_str().unwrap_or("?");
            let licence = package["license"].as_str().unwrap_or("none stated");
            (!allowed(licence)).then(|| format!("{name}: {licence}"))
        })
        .collect();
    if refused.is_empty() {
        return Ok(format!("{} packages, every licence is allowed", packages.len()));
    }
    Err(format!("licences that are not allowed:\n{}", refused.join("\n")))
}

fn allowed(expression: &str) -> bool {
    expression.replace(['(', ')'], "").split(" AND ").all(|part| {
        part.split(" OR ")
            .flat_map(|alternative| alternative.split('/'))
            .any(|name| ALLOWED.contains(&name.trim()))
    })
}

#[cfg(test)]
mod tests {
    use super::allowed;

    #[test]
    fn expressions_are_read() {
        assert!(allowed("MIT OR Apache-2.0") && allowed("MIT/Apache-2.0"));
        assert!(allowed("(MIT OR Apache-2.0) AND Unicode-3.0"));
        assert!(allowed("LGPL-2.1 OR MIT"));
        assert!(!allowed("LGPL-2.1") && !allowed("MIT AND GPL-3.0") && !allowed("none stated"));
    }
}
