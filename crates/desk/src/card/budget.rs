//! The signed budget in text: bars left and right of zero, with their intervals, and the sentence of what to change first.

use std::fmt::Write as _;

use chain::report::Budget;
use chain::size::Measure;

use super::{Card, Doc, paragraph, title};
use crate::digits::{percent, round, signed, step};

/// Columns on each side of zero.
const SIDE: usize = 14;

/// The section of budgets.
pub fn section(out: &mut Doc, card: &Card) {
    title(out, "Where it comes from");
    paragraph(
        out,
        "  ",
        "  ",
        "\"together\" is what links do by acting on each other; means differ from middles where spreads lean.",
    );
    for budget in &card.forecast.budgets {
        let beyond =
            card.forecast.quantity(id(budget.measure)).is_some_and(|quantity| quantity.beyond_checked);
        if beyond {
            let _ = writeln!(out, "  {}: beyond what was checked, no budget is drawn", id(budget.measure));
        } else {
            one(out, budget);
        }
    }
    gains(out, card);
    if let Some(change) = &card.forecast.change_first {
        let words = format!(
            "Change {} first: with that link ideal the chance would be {}. What that can mean: {}.",
            change.link,
            percent(change.usable_if_ideal),
            change.advice
        );
        paragraph(out, "  ", "  ", &words);
    } else {
        let _ = writeln!(out, "  No single link, made ideal, would raise the chance by 3 points or more.");
    }
}

/// The chance with each link ideal, and the root causes that it hangs on.
fn gains(out: &mut Doc, card: &Card) {
    let now = card.forecast.verdict.usable.value;
    let points = |value: f64| 100.0 * (value - now);
    let widest =
        card.forecast.gains.iter().map(|gain| points(gain.usable_if_ideal).abs()).fold(1.0, f64::max);
    let _ = writeln!(
        out,
        "  the chance, points: what each link, made ideal alone, would add to {}",
        percent(now)
    );
    for gain in &card.forecast.gains {
        let gained = points(gain.usable_if_ideal).round();
        let _ = writeln!(
            out,
            "    {:<12}{} {:>5}",
            gain.link.word(),
            drawn(gained / widest),
            signed(gained, 1.0)
        );
    }
    if card.forecast.root_causes.is_empty() {
        return;
    }
    let _ = writeln!(out, "  what the chance hangs on: share of its spread, alone and with others");
    for cause in &card.forecast.root_causes {
        let _ = writeln!(
            out,
            "    {:>3.0} %  {:>3.0} %  {} ({})\n                  {}",
            100.0 * cause.alone,
            100.0 * cause.total,
            cause.words,
            cause.link,
            cause.key
        );
    }
}

fn one(out: &mut Doc, budget: &Budget) {
    let words = id(budget.measure);
    let half = 0.5 * (budget.interval_m.high - budget.interval_m.low) * 1e6;
    let step = step(half);
    let widest =
        budget.bars.iter().map(|bar| bar.mean_m.abs()).fold(budget.interaction_m.abs(), f64::max).max(1e-12);
    let _ = writeln!(out, "  {words}, µm: what each link adds to the expected value [90 %]");
    for bar in &budget.bars {
        let _ = writeln!(
            out,
            "    {:<12}{} {:>5}  [{}, {}]",
            bar.link.word(),
            drawn(worth(bar.mean_m, step) / widest),
            signed(bar.mean_m * 1e6, step),
            signed(bar.interval_m.low * 1e6, step),
            signed(bar.interval_m.high * 1e6, step)
        );
    }
    let base = budget.base_m * 1e6;
    let _ = writeln!(
        out,
        "    {:<12}{} {:>5}",
        "together",
        drawn(worth(budget.interaction_m, step) / widest),
        signed(budget.interaction_m * 1e6, step)
    );
    if base.abs() >= 0.5 * step {
        let _ = writeln!(
            out,
            "    {:<41} {:>5}  film and rounded margin",
            "with every link ideal",
            signed(base, step)
        );
    }
    let _ = writeln!(
        out,
        "    {:<41} {:>5}  [{}, {}]",
        "mean of all",
        signed(budget.total_m * 1e6, step),
        signed(budget.interval_m.low * 1e6, step),
        signed(budget.interval_m.high * 1e6, step)
    );
}

/// The value, or nothing when it is written as zero.
fn worth(value_m: f64, step: f64) -> f64 {
    if round(value_m * 1e6, step) == 0.0 { 0.0 } else { value_m }
}

/// The quantity that a budget is of.
fn id(measure: Measure) -> &'static str {
    match measure {
        Measure::Diameter => "die.diameter",
        Measure::Height => "die.height",
        Measure::Span => "span",
        Measure::Opening => "fit.opening",
    }
}

/// A bar of `share` (-1 to 1) about a zero line.
fn drawn(share: f64) -> String {
    let length = ((share.abs() * SIDE as f64).round() as usize).min(SIDE);
    let blank = " ".repeat(SIDE);
    if share < 0.0 {
        format!("{}{}│{blank}", " ".repeat(SIDE - length), "▄".repeat(length))
    } else {
        format!("{blank}│{}{}", "▄".repeat(length), " ".repeat(SIDE - length))
    }
}
