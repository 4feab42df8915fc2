//! What each input moves, for a terminal.

use std::fmt::Write as _;

use crate::case_file::Case;
use crate::inputs::Input;
use crate::lines::{paragraph, title};

/// The page as text.
pub fn text(name: &str, case: &Case, inputs: &[Input]) -> String {
    let mut out = String::new();
    let demo = if case.demo { "  demo" } else { "" };
    paragraph(&mut out, "", "  ", &format!("{}{demo}  {}", case.code, case.title.as_deref().unwrap_or("")));
    title(&mut out, "What each stated fact moves");
    paragraph(
        &mut out,
        "  ",
        "  ",
        "Each fact was stated otherwise, one at a time, and everything asked again. Points are how far the chance of a usable result went.",
    );
    for input in inputs.iter().filter(|input| !input.moves.is_empty()) {
        let chance = match input.chance {
            Some([low, high]) => format!(" ({:+.0} to {:+.0} points)", 100.0 * low, 100.0 * high),
            None => String::new(),
        };
        let first = format!("  {} = {}", input.path, input.value);
        paragraph(&mut out, "", "    ", &format!("{first}: {}{chance}", input.moves.join(", ")));
    }
    let still: Vec<&Input> = inputs.iter().filter(|input| input.moves.is_empty()).collect();
    if !still.is_empty() {
        title(&mut out, "Does not matter here");
        for input in still {
            let why = input.why_not.as_deref().unwrap_or("");
            paragraph(&mut out, "  - ", "    ", &format!("{} = {}: {why}", input.path, input.value));
        }
    }
    let _ = writeln!(out, "\nthe case itself: trayward forecast {name}");
    out
}
