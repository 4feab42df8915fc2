//! Lines of text for a terminal of 80 columns, shared by everything that is printed.

use std::fmt::Write as _;

/// Columns of the terminal that pages are made for.
pub const COLUMNS: usize = 80;

/// A section title over a hairline.
pub fn title(out: &mut String, words: &str) {
    let rule = COLUMNS - words.chars().count() - 1;
    let _ = writeln!(out, "\n{words} {}", "─".repeat(rule));
}

/// A wrapped paragraph; lines after the first are indented by `hang`.
pub fn paragraph(out: &mut String, first: &str, hang: &str, words: &str) {
    let options = textwrap::Options::new(COLUMNS).initial_indent(first).subsequent_indent(hang);
    for line in textwrap::wrap(words, options) {
        let _ = writeln!(out, "{line}");
    }
}
