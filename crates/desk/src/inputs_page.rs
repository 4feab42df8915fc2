//! What each input moves, for a terminal. It is written line by line, for asking everything again takes a while.

use std::fmt::Write as _;

use crate::inputs::Input;
use crate::lines::{paragraph, title};
use case_file::Case;

/// The head of the page.
pub fn head(case: &Case) -> String {
    let mut out = String::new();
    let demo = if case.demo { "  demo" } else { "" };
    paragraph(&mut out, "", "  ", &format!("{}{demo}  {}", case.code, case.title.as_deref().unwrap_or("")));
    title(&mut out, "What each stated fact moves");
    paragraph(
        &mut out,
        "  ",
        "  ",
        "Each fact is stated otherwise, one at a time, and everything asked again. Points are how far the chance of a usable result went.",
    );
    out
}

/// The line of a fact; nothing where it moves nothing.
pub fn line(input: &Input) -> String {
    let mut out = String::new();
    if !input.moves.is_empty() {
        let chance = match input.chance {
            Some([low, high]) => format!(" ({:+.0} to {:+.0} points)", 100.0 * low, 100.0 * high),
            None => String::new(),
        };
        let words = format!("  {} = {}: {}{chance}", input.path, input.value, input.moves.join(", "));
        paragraph(&mut out, "", "    ", &words);
    }
    out
}

/// What does not matter here, and why.
pub fn foot(name: &str, inputs: &[Input]) -> String {
    let mut out = String::new();
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
