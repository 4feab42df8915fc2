//! The table of checks for a terminal of 80 columns.

use std::fmt::Write as _;

use crate::{Outcome, RowOutcome};

/// Columns of the terminal.
const COLUMNS: usize = 80;

/// Every check with its source and its least comfortable row.
pub fn table(outcomes: &[Outcome]) -> String {
    let mut out = String::new();
    let mut topic = "";
    for outcome in outcomes {
        if outcome.topic != topic {
            topic = outcome.topic;
            let _ = writeln!(out, "\n{topic} {}", "─".repeat(COLUMNS - topic.chars().count() - 1));
        }
        let word = if outcome.agrees() { "agrees " } else { "DIFFERS" };
        wrapped(&mut out, &format!("{word} "), "        ", &outcome.check.title);
        let source = format!("{} [{}]", outcome.check.source, outcome.check.grade);
        wrapped(&mut out, "        ", "        ", &source);
        if let Some(row) = least_comfortable(outcome) {
            wrapped(&mut out, "        ", "          ", &describe(row));
        }
    }
    let rows: usize = outcomes.iter().map(|outcome| outcome.rows.len()).sum();
    let differing = outcomes.iter().filter(|outcome| !outcome.agrees()).count();
    let end = if differing == 0 { "all agree".to_owned() } else { format!("{differing} differ") };
    let _ =
        writeln!(out, "\n{} checks with something outside the project, {rows} rows, {end}", outcomes.len());
    out
}

/// The same as a Markdown document, without computed values, so that it changes only when a check does.
pub fn markdown(outcomes: &[Outcome]) -> String {
    let mut out = String::from(
        "# Checks with things outside the project\n\nWritten by `trayward checks --markdown`; `trayward checks` computes them.\n\
         One check is one equation or data set and source, whatever its number of rows.\n",
    );
    let mut topic = "";
    for outcome in outcomes {
        if outcome.topic != topic {
            topic = outcome.topic;
            let _ = write!(
                out,
                "\n## {topic}\n\n| check | source | how read | grade | rows | tolerance |\n|---|---|---|---|---|---|\n"
            );
        }
        let check = &outcome.check;
        let differs = if outcome.agrees() { "" } else { " **differs**" };
        let _ = writeln!(
            out,
            "| {}{differs} | {} | {} | {} | {} | {} |",
            check.title,
            check.source,
            check.how_read,
            check.grade,
            outcome.rows.len(),
            check.tolerance_why
        );
    }
    out
}

fn wrapped(out: &mut String, first: &str, rest: &str, text: &str) {
    let options = textwrap::Options::new(COLUMNS).initial_indent(first).subsequent_indent(rest);
    for line in textwrap::wrap(text, options) {
        let _ = writeln!(out, "{line}");
    }
}

/// The row that uses most of its tolerance, or one that differs.
fn least_comfortable(outcome: &Outcome) -> Option<&RowOutcome> {
    outcome.rows.iter().max_by(|a, b| used(a).total_cmp(&used(b)))
}

fn used(row: &RowOutcome) -> f64 {
    let Ok(value) = row.computed else { return f64::INFINITY };
    if !row.agrees {
        return f64::MAX;
    }
    match (row.row.expected, row.row.tolerance, row.row.relative) {
        (Some(expected), Some(tolerance), _) => (value - expected).abs() / tolerance,
        (Some(expected), _, Some(relative)) => (value - expected).abs() / (relative * expected.abs()),
        _ => 0.0,
    }
}

fn describe(row: &RowOutcome) -> String {
    let unit = if row.row.unit == "1" { String::new() } else { format!(" {}", row.row.unit) };
    let expected = match (row.row.expected, row.row.at_least, row.row.at_most) {
        (Some(expected), _, _) => format!("expected {}{unit}", short(expected)),
        (None, Some(least), Some(most)) => format!("expected {} to {}{unit}", short(least), short(most)),
        (None, Some(least), None) => format!("expected at least {}{unit}", short(least)),
        (None, None, Some(most)) => format!("expected at most {}{unit}", short(most)),
        (None, None, None) => "nothing expected".to_owned(),
    };
    let computed = match &row.computed {
        Ok(value) => format!("computed {}{unit}", short(*value)),
        Err(error) => format!("not computed: {error}"),
    };
    format!("{}: {expected}, {computed}", row.row.case)
}

/// Six significant digits without a tail of zeros.
fn short(value: f64) -> String {
    if value == 0.0 {
        return "0".to_owned();
    }
    let magnitude = value.abs().log10().floor();
    if !(-4.0..7.0).contains(&magnitude) {
        return format!("{value:.4e}");
    }
    let decimals = (5.0 - magnitude).clamp(0.0, 9.0) as usize;
    let text = format!("{value:.decimals$}");
    if text.contains('.') { text.trim_end_matches('0').trim_end_matches('.').to_owned() } else { text }
}
