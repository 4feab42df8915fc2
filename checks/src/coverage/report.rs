//! The comparison as a table for a terminal of 80 columns and as a Markdown document.

use std::fmt::Write as _;

use super::handbook::Handbook;
use super::score::{Binomial, geometric_mean};
use super::spec::{Kind, LeftOut, Values, left_out};
use super::{CaseOutcome, Outcome};
use crate::CheckError;

/// Columns of the terminal.
const COLUMNS: usize = 80;

/// What is aimed at: the least and the largest share inside, and the largest ratio of scores.
const GOAL: (f64, f64, f64) = (0.80, 0.97, 0.80);

/// Every case with its values, then the summary, the misses and what was left out.
///
/// # Errors
/// When a shipped text cannot be read.
pub fn table(outcomes: &[CaseOutcome]) -> Result<String, CheckError> {
    let mut out = String::new();
    let mut kind = None;
    for outcome in outcomes {
        let of_case = outcome.rows.first().map(|row| row.quantity.kind());
        if of_case != kind {
            kind = of_case;
            let words = kind.map_or("", Kind::words);
            let _ = writeln!(out, "\n{words} {}", "─".repeat(COLUMNS - words.chars().count() - 1));
        }
        wrapped(&mut out, "", "  ", &outcome.case.study);
        let named = if outcome.in_ledger { "; the ledger names this study" } else { "" };
        let case = &outcome.case;
        let about = format!("{} [{}; {}{named}]", case.measured, case.values.words(), case.grade);
        wrapped(&mut out, "  ", "  ", &about);
        for row in &outcome.rows {
            let mark = if row.inside() { "inside " } else { "OUTSIDE" };
            let line = format!(
                "{}, {}: {} {} in {} to {}, handbook {} to {}, scores {} and {}",
                row.what,
                row.quantity.words(),
                row.number(row.measured),
                row.unit,
                row.number(row.forecast[0]),
                row.number(row.forecast[2]),
                row.number(row.handbook[0]),
                row.number(row.handbook[1]),
                row.number(row.score()),
                row.number(row.handbook_score(1.0))
            );
            wrapped(&mut out, &format!("  {mark} "), "          ", &line);
        }
    }
    let summary = Summary::of(outcomes);
    let _ = writeln!(out, "\nsummary {}", "─".repeat(COLUMNS - 8));
    let _ = writeln!(out, "{:<38}{:>9}{:>12}{:>11}{:>9}", "", "inside", "95 % band", "handbook", "scores");
    for line in &summary.lines {
        let [low, high] = line.inside.band();
        let _ = writeln!(
            out,
            "{:<38}{:>9}{:>12}{:>11}{:>9.2}",
            line.words,
            format!("{}/{}", line.inside.hits, line.inside.of),
            format!("{:.0}-{:.0} %", 100.0 * low, 100.0 * high),
            format!("{}/{}", line.inside_handbook.hits, line.inside_handbook.of),
            line.ratio
        );
    }
    for sentence in summary.sentences() {
        wrapped(&mut out, "", "  ", &sentence);
    }
    let _ = writeln!(out, "\noutside {}", "─".repeat(COLUMNS - 8));
    for (outcome, row) in missed(outcomes) {
        wrapped(&mut out, "", "  ", &format!("{}: {}, {}", miss(row), outcome.case.id, row.what));
    }
    let _ = writeln!(out, "\nfound and not run {}", "─".repeat(COLUMNS - 18));
    for LeftOut { study, figure, why } in left_out()? {
        wrapped(&mut out, "", "  ", &format!("{study}: {figure}; {why}"));
    }
    Ok(out)
}

/// The same as a Markdown document.
///
/// # Errors
/// When a shipped text cannot be read.
pub fn markdown(outcomes: &[CaseOutcome]) -> Result<String, CheckError> {
    let summary = Summary::of(outcomes);
    let mut out = String::from(
        "# Published outcomes against forecasts\n\nWritten by `trayward coverage --markdown`; `trayward coverage` prints the same for a terminal.\n\n\
         Every published case with enough inputs is run blind: the class and no product, and what the study does not say is left \
         unknown. *Forecast* is the 90 % interval, *handbook* the plain range of the class turned into the same quantity in the obvious \
         way, and *scores* are their interval scores in the unit of the value (small is better). Sizes are positive when larger than the \
         original, changes when the material grows.\n\n\
         A mean of specimens scatters less than the single case that the interval is for, so more than 90 % of means should lie \
         inside; the ends of a range of means were picked for being extreme, and fewer of them should. The models are not changed for \
         either. The band is that of independent values; those of one study are not, so the share with every study weighing the same \
         stands beside it.\n\n## Summary\n\n\
         | | values | studies | inside | 95 % band | inside handbook | forecast score over handbook score |\n|---|---|---|---|---|---|---|\n",
    );
    for line in &summary.lines {
        let [low, high] = line.inside.band();
        let _ = writeln!(
            out,
            "| {} | {} | {} | {:.0} % | {:.0} to {:.0} % | {:.0} % | {:.2} |",
            line.words,
            line.inside.of,
            line.studies,
            100.0 * line.inside.share(),
            100.0 * low,
            100.0 * high,
            100.0 * line.inside_handbook.share(),
            line.ratio
        );
    }
    out.push('\n');
    for sentence in summary.sentences() {
        let _ = writeln!(out, "{sentence}\n");
    }
    out.push_str("## Outside\n\n");
    for (outcome, row) in missed(outcomes) {
        let _ = writeln!(out, "- {}: `{}`, {}", miss(row), outcome.case.id, row.what);
    }
    for outcome in outcomes {
        let case = &outcome.case;
        let doi = case.doi.as_ref().map(|doi| format!(", doi {doi}")).unwrap_or_default();
        let named = if outcome.in_ledger { " The ledger names this study." } else { "" };
        let _ = write!(
            out,
            "\n## {}\n\n{}{doi}. Measured: {}. How read: {}. Grade: {}; {}. Taken: {}.{named}\n\n\
             | value | quantity | measured | forecast | handbook | scores | |\n|---|---|---|---|---|---|---|\n",
            case.id,
            case.study,
            case.measured,
            case.how_read,
            case.grade,
            case.values.words(),
            case.taken
        );
        for row in &outcome.rows {
            let _ = writeln!(
                out,
                "| {} | {} | {} {} | {} to {} | {} to {} | {} and {} | {} |",
                row.what,
                row.quantity.words(),
                row.number(row.measured),
                row.unit,
                row.number(row.forecast[0]),
                row.number(row.forecast[2]),
                row.number(row.handbook[0]),
                row.number(row.handbook[1]),
                row.number(row.score()),
                row.number(row.handbook_score(1.0)),
                if row.inside() { "inside" } else { "**outside**" }
            );
        }
        for (row, why) in case.row.iter().filter_map(|row| row.handbook_why.as_ref().map(|why| (row, why))) {
            let _ = writeln!(out, "\nHandbook range of {}: {why}.", row.what);
        }
    }
    out.push_str("\n## Handbook ranges\n\n| of | range | source | grade |\n|---|---|---|---|\n");
    for row in Handbook::shipped()?.rows() {
        let _ = writeln!(out, "{row}");
    }
    out.push_str("\n## Found and not run\n\n| study | figure | why not |\n|---|---|---|\n");
    for LeftOut { study, figure, why } in left_out()? {
        let _ = writeln!(out, "| {study} | {figure} | {why} |");
    }
    Ok(out)
}

/// One line of the summary.
struct Line {
    words: String,
    studies: usize,
    inside: Binomial,
    inside_handbook: Binomial,
    /// Geometric mean of the forecast score over the handbook score.
    ratio: f64,
}

struct Summary {
    lines: Vec<Line>,
    /// Mean over studies of the share inside.
    by_study: f64,
    /// The one factor by which every handbook range would have to be widened to score best on these very values, and what the
    /// forecast's score is over its score then.
    widened: (f64, f64),
}

/// An outcome with its case.
type Paired<'a> = (&'a CaseOutcome, &'a Outcome);

impl Summary {
    fn of(outcomes: &[CaseOutcome]) -> Summary {
        let all: Vec<Paired> =
            outcomes.iter().flat_map(|case| case.rows.iter().map(move |row| (case, row))).collect();
        let mut lines = vec![Line::of("all", &all)];
        let mut push = |words: &str, keep: &dyn Fn(&Paired) -> bool| {
            let kept: Vec<Paired> = all.iter().filter(|pair| keep(pair)).copied().collect();
            if !kept.is_empty() {
                lines.push(Line::of(words, &kept));
            }
        };
        push("not named in the ledger", &|(case, _)| !case.in_ledger);
        push("named in the ledger", &|(case, _)| case.in_ledger);
        for values in [Values::Means, Values::Ends, Values::Single] {
            push(values.words(), &|(case, _)| case.case.values == values);
        }
        for kind in Kind::ALL {
            push(kind.words(), &|(_, row)| row.quantity.kind() == kind);
        }
        for &class in terms::ImpressionClass::ALL {
            push(class.word(), &|(_, row)| row.class == class);
        }
        let studies = studies(&all);
        let share = |study: &str| {
            let of: Vec<&Paired> = all.iter().filter(|(case, _)| case.case.study == study).collect();
            of.iter().filter(|(_, row)| row.inside()).count() as f64 / of.len() as f64
        };
        let by_study = studies.iter().map(|study| share(study)).sum::<f64>() / studies.len().max(1) as f64;
        let ratio =
            |factor: f64| geometric_mean(all.iter().map(|(_, row)| row.score() / row.handbook_score(factor)));
        let widened = (4..=80)
            .map(|quarter| 0.25 * f64::from(quarter))
            .map(|factor| (factor, ratio(factor)))
            .max_by(|a, b| a.1.total_cmp(&b.1))
            .unwrap_or((1.0, 1.0));
        Summary { lines, by_study, widened }
    }

    fn sentences(&self) -> Vec<String> {
        let all = &self.lines[0];
        let share = all.inside.share();
        let (least, most, ratio) = GOAL;
        let met = |holds: bool| if holds { "met" } else { "NOT met" };
        let (factor, against_widened) = self.widened;
        vec![
            format!(
                "{} values from {} studies; {:.0} % inside. Every study weighing the same: {:.0} %. Aim {:.0} to {:.0} %: {}.",
                all.inside.of,
                all.studies,
                100.0 * share,
                100.0 * self.by_study,
                100.0 * least,
                100.0 * most,
                met(share >= least && share <= most)
            ),
            format!(
                "Score of the forecast over that of the handbook range, geometric mean: {:.2}. Aim at most {ratio:.2}: {}.",
                all.ratio,
                met(all.ratio <= ratio)
            ),
            format!(
                "Widened {factor:.2} times about their middles, the factor that serves them best on these very values, the \
                 handbook ranges leave a ratio of {against_widened:.2}."
            ),
        ]
    }
}

impl Line {
    fn of(words: &str, pairs: &[Paired]) -> Line {
        let count = |holds: &dyn Fn(&Outcome) -> bool| Binomial {
            hits: pairs.iter().filter(|(_, row)| holds(row)).count(),
            of: pairs.len(),
        };
        Line {
            words: words.to_owned(),
            studies: studies(pairs).len(),
            inside: count(&Outcome::inside),
            inside_handbook: count(&Outcome::inside_handbook),
            ratio: geometric_mean(pairs.iter().map(|(_, row)| row.score() / row.handbook_score(1.0))),
        }
    }
}

/// Each study once, in order.
fn studies<'a>(pairs: &[Paired<'a>]) -> Vec<&'a str> {
    let mut list: Vec<&str> = pairs.iter().map(|(case, _)| case.case.study.as_str()).collect();
    list.sort_unstable();
    list.dedup();
    list
}

/// The values outside, by kind, then class, the furthest first.
fn missed(outcomes: &[CaseOutcome]) -> Vec<Paired<'_>> {
    let mut list: Vec<Paired> = outcomes
        .iter()
        .flat_map(|case| case.rows.iter().map(move |row| (case, row)))
        .filter(|(_, row)| !row.inside())
        .collect();
    let place = |row: &Outcome| Kind::ALL.iter().position(|kind| *kind == row.quantity.kind());
    list.sort_by(|(_, a), (_, b)| {
        place(a).cmp(&place(b)).then(a.class.cmp(&b.class)).then(b.half_widths().total_cmp(&a.half_widths()))
    });
    list
}

fn miss(row: &Outcome) -> String {
    let side = if row.beyond() < 0.0 { "below" } else { "above" };
    format!(
        "{} of {}, {} {} {side} by {:.1} half widths",
        row.quantity.words(),
        row.class,
        row.number(row.beyond().abs()),
        row.unit,
        row.half_widths()
    )
}

impl Outcome {
    /// How far outside in half widths of the interval on that side.
    fn half_widths(&self) -> f64 {
        let [low, mid, high] = self.forecast;
        let half = if self.beyond() < 0.0 { mid - low } else { high - mid };
        self.beyond().abs() / half.max(f64::MIN_POSITIVE)
    }

    /// A number with digits that suit its unit.
    fn number(&self, value: f64) -> String {
        let text = match self.unit.as_str() {
            "%" => format!("{value:.2}"),
            "µm" | "°C" => format!("{value:.1}"),
            _ => format!("{value:.0}"),
        };
        // No minus before nothing.
        if text.trim_start_matches('-').chars().all(|c| matches!(c, '0' | '.')) {
            text.trim_start_matches('-').to_owned()
        } else {
            text
        }
    }
}

fn wrapped(out: &mut String, first: &str, rest: &str, text: &str) {
    let options = textwrap::Options::new(COLUMNS).initial_indent(first).subsequent_indent(rest);
    for line in textwrap::wrap(text, options) {
        let _ = writeln!(out, "{line}");
    }
}

#[cfg(test)]
mod tests {
    use super::super::all;
    use super::*;

    /// The shipped cases with made-up ranges: half of the values inside, the others far below.
    fn made_up() -> Vec<CaseOutcome> {
        let row = |row: &super::super::spec::Row, below: f64| Outcome {
            what: row.what.clone(),
            quantity: row.quantity,
            class: terms::ImpressionClass::VinylPolyetherHybrid,
            unit: row.unit.clone(),
            measured: row.value,
            forecast: [row.value - 1000.0 + below, row.value + below, row.value + 1000.0 + below],
            handbook: [row.value - 2000.0, row.value + 2000.0],
        };
        let of = |case: super::super::Case| {
            let rows = case.row.iter().enumerate().map(|(i, r)| row(r, 1500.0 * (i % 2) as f64)).collect();
            CaseOutcome { in_ledger: case.ledger_mark.is_some(), case, rows }
        };
        all().unwrap().into_iter().map(of).collect()
    }

    #[test]
    fn the_table_fits_80_columns_and_marks_what_is_outside() {
        let outcomes = made_up();
        let text = table(&outcomes).unwrap();
        for line in text.lines() {
            assert!(line.chars().count() <= COLUMNS, "{line}");
        }
        assert_eq!(text.matches("OUTSIDE ").count(), missed(&outcomes).len());
    }

    #[test]
    fn the_document_names_every_study() {
        let outcomes = made_up();
        let text = markdown(&outcomes).unwrap();
        for outcome in &outcomes {
            assert!(text.contains(&outcome.case.study) && text.contains(&outcome.case.how_read));
        }
        for row in left_out().unwrap() {
            assert!(text.contains(&row.why));
        }
    }

    /// Two values of one unit by hand: scores 2000 and 12000 over 4000 and 4000.
    #[test]
    fn the_summary_counts_and_compares() {
        let mut outcomes: Vec<CaseOutcome> =
            made_up().into_iter().filter(|case| case.rows.len() > 1).take(1).collect();
        outcomes[0].rows.truncate(2);
        let line = &Summary::of(&outcomes).lines[0];
        assert_eq!((line.inside.hits, line.inside.of, line.studies), (1, 2, 1));
        assert!((line.ratio - (0.5f64 * 3.0).sqrt()).abs() < 1e-12, "{}", line.ratio);
        assert_eq!(Summary::of(&outcomes).by_study, 0.5);
    }
}
