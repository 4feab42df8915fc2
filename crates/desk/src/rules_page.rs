//! Taught rules against the chain, for a terminal and a page.

use std::fmt::Write as _;

use counsel::rules::{Audit, Rule, Standing, asked_at, reason, sentence};

use crate::lines::{Doc, Paper as _, paragraph, title};

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
    let _ = out.write_str(&legend(rule));
    if !audit.why.causes.is_empty() {
        title(&mut out, "What is not known there hangs on");
        for cause in audit.why.causes.iter().take(5) {
            let first = format!("  {:>3.0} %  ", 100.0 * cause.share);
            let words = format!("{}, {}; trayward source {}", cause.words, cause.grade.word(), cause.key);
            paragraph(&mut out, &first, "         ", &words);
        }
    }
    out.put_paragraph("\n  ", "  ", &format!("{} Asked of {samples}.", asked_at(rule, audit)));
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

/// A letter for each standing.
fn letter(standing: Standing) -> char {
    match standing {
        Standing::Holds => '#',
        Standing::Slight => '=',
        Standing::Fails => 'x',
        Standing::CannotTell => '·',
    }
}

fn legend(rule: &Rule) -> String {
    let mut text = String::new();
    for outcome in rule.outcomes() {
        let _ = writeln!(text, "  {} {}", letter(*outcome), rule.called(*outcome));
    }
    let open = letter(Standing::CannotTell);
    let _ = writeln!(text, "  {open} cannot be told: none of these in four fifths of the samples");
    for (axis, mark) in [(&rule.x, '^'), (&rule.y, '>')] {
        if !axis.own.is_empty() {
            let _ = writeln!(text, "  {mark} what the rule itself states");
        }
    }
    text
}

/// The map in letters, with the numbers of the rule itself beside it.
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
            .map(|column| letter(audit.map.standing_at([(column as f64 + 0.5) / columns as f64, y])))
            .collect();
        let own = rule.y.own.iter().any(|own| cell(rule.y.place(*own), lines) == lines - 1 - line);
        let mark = if own { '>' } else { ' ' };
        let _ = writeln!(text, "  {label:>10}{mark}│{row}│");
    }
    if !rule.x.own.is_empty() {
        let mut marks = vec![' '; columns];
        for own in &rule.x.own {
            marks[cell(rule.x.place(*own), columns)] = '^';
        }
        let marks: String = marks.into_iter().collect();
        let own: Vec<String> = rule.x.own.iter().map(|own| rule.x.said_own(*own)).collect();
        let _ = writeln!(text, "  {:>10}  {} {}", "", marks.trim_end(), own.join(", "));
    }
    let (from, to) = (rule.x.said(rule.x.from), rule.x.said(rule.x.to));
    let gap = columns.saturating_sub(from.chars().count() + to.chars().count());
    let _ = writeln!(text, "  {:>10}  {from}{}{to}", "", " ".repeat(gap));
    let _ = writeln!(text, "  {:>10}  {}\n", "", rule.x.words);
    text
}

/// Which of so many cells a place between 0 and 1 lies in.
fn cell(place: f64, cells: usize) -> usize {
    ((place * cells as f64) as usize).min(cells.saturating_sub(1))
}

/// One line of the list of rules.
pub fn line(rule: &Rule, audit: &Audit) -> Doc {
    let mut out = Doc::default();
    let map = &audit.map;
    let percent = |share: f64| format!("{:.0}", 100.0 * share);
    let slight = if rule.compares() { percent(map.slight) } else { "-".to_owned() };
    let first = format!(
        "{:>5}{slight:>6}{:>6}{:>6}  ",
        percent(map.holds),
        percent(map.fails),
        percent(map.cannot_tell())
    );
    paragraph(&mut out, &first, "                         ", &format!("{} [{}]", rule.says, rule.id));
    out
}

/// What is written over the list.
pub const HEAD: &str = "\
share of the map, %
holds: as taught, or kept; small: a difference too small to matter;
fails: the opposite, or not kept; open: cannot be told

holds small fails  open  rule
";
