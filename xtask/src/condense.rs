//! Makes the table of `kernel::response` anew.

use std::fs;
use std::path::Path;
use std::time::Instant;

/// Where the table lies.
const TABLE: &str = "data/condensed/die.rs";

/// Solves, fits, checks and writes; says the errors met.
///
/// # Errors
/// When a die cannot be solved or the table cannot be written.
pub fn run(root: &Path) -> Result<String, String> {
    let start = Instant::now();
    let mut say = |step: &str| eprintln!("{:6.1} s  {step}", start.elapsed().as_secs_f64());
    let text = elements::condense::table(&mut say).map_err(|e| e.to_string())?;
    let path = root.join(TABLE);
    if let Some(folder) = path.parent() {
        fs::create_dir_all(folder).map_err(|e| format!("{}: {e}", folder.display()))?;
    }
    fs::write(&path, &text).map_err(|e| format!("{}: {e}", path.display()))?;
    let head: Vec<&str> = text.lines().take_while(|line| line.starts_with("//")).collect();
    Ok(format!(
        "{}\n{TABLE}: {} bytes in {:.0} s",
        head.join("\n"),
        text.len(),
        start.elapsed().as_secs_f64()
    ))
}
