//! Taught rules against the chain, for a terminal and a page.

use std::fmt::Write as _;

use counsel::rules::{Audit, Rule, Standing, reason, sentence};

use crate::lines::{Doc, paragraph, title};

/// Columns and lines of a map in letters.
const LETTERS: (usize, usize) = (56, 17);

/// One rule with its map.
pub fn doc(rule: &Rule, audit: &Audit, samples: usize) -> Doc {
    let mut out = Doc::default();
    title(&mut out, &rule.topic);
    paragraph(&mut out, "  ", "  ", &rule.says);
    paragraph(&mut out, "  taught    ", "            ", &format!("{} ({})", rule.source, rule.grade.word()));
    paragraph(&mut out, "  asked     ", "            ", &rule.means);
    paragraph(&mut out, "  answer    ", "            ", &sentence(rule, audit));
    paragraph(&mut out, "  decides   ", "            ", &reason(audit));
    let _ = out.write_str(&letters(rule, audit));
    if !audit.why.causes.is_empty() {
        title(&mut out, "What is not known there hangs on");
        for cause in audit.why.causes.iter().take(5) {
            let first = format!("  {:>3.0} %  ", 100.0 * cause.share);
            let words = format!("{}, {}; trayward source {}", cause.words, cause.grade.word(), cause.key);
            paragraph(&mut out, &first, "         ", &words);
        }
        let at = format!(
            "At {} of {} and {} of {} it holds in {:.0} % of {samples} samples.",
            rule.x.said(audit.why.at[0]),
            rule.x.words,
            rule.y.said(audit.why.at[1]),
            rule.y.words,
            100.0 * audit.why.share,
        );
        paragraph(&mut out, "  ", "  ", &at);
    }
    if let Some(key) = rule.quoted() {
        paragraph(
            &mut out,
            "  ",
            "  ",
            &format!("The time is that of what is taught: trayward source {key}"),
        );
    }
    out
}

/// The map in letters: `#` holds, `-` fails, a point where nothing can be told.
fn letters(rule: &Rule, audit: &Audit) -> String {
    let (columns, lines) = LETTERS;
    let mut text = String::new();
    let _ = writeln!(text, "\n  {}", rule.y.words);
    for line in 0..lines {
        let y = 1.0 - (line as f64 + 0.5) / lines as f64;
        let label = match line {
            0 => rule.y.said(rule.y.to),
            line if line == lines / 2 => rule.y.said(rule.y.at(0.5)),
            line if line + 1 == lines => rule.y.said(rule.y.from),
            _ => String::new(),
        };
        let row: String = (0..columns)
            .map(|column| match audit.map.standing_at([(column as f64 + 0.5) / columns as f64, y]) {
                Standing::Holds => '#',
                Standing::Fails => '-',
                Standing::CannotTell => '·',
            })
            .collect();
        let _ = writeln!(text, "  {label:>10} │{row}│");
    }
    let (from, to) = (rule.x.said(rule.x.from), rule.x.said(rule.x.to));
    let gap = columns.saturating_sub(from.chars().count() + to.chars().count());
    let _ = writeln!(text, "  {:>10}  {from}{}{to}", "", " ".repeat(gap));
    let _ = writeln!(text, "  {:>10}  {}", "", rule.x.words);
    let _ = writeln!(text, "\n  # holds   - fails   · cannot be told (in 20 to 80 % of the samples)");
    text
}

/// One line of the list of rules.
pub fn line(rule: &Rule, audit: &Audit) -> Doc {
    let mut out = Doc::default();
    let map = &audit.map;
    let percent = |share: f64| format!("{:.0}", 100.0 * share);
    let first =
        format!("{:>4}{:>6}{:>6}   ", percent(map.holds), percent(map.fails), percent(map.cannot_tell()));
    paragraph(&mut out, &first, "                   ", &format!("{} [{}]", rule.says, rule.id));
    out
}

/// What is written over the list.
pub const HEAD: &str = "share of the map, %\nholds fails  open   rule\n";
