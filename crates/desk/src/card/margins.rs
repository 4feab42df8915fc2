//! The prepared margins: how likely each is captured, by what it may be missed, how many seconds are left, what would buy more.

use std::fmt::Write as _;

use chain::ToothMargin;
use chain::statistics::Interval;

use super::{Card, Doc, paragraph, title};
use crate::digits::{percent, plain, span};

/// The section of margins; nothing where there is no die.
pub fn section(out: &mut Doc, card: &Card) {
    let Some(margins) = &card.forecast.margins else { return };
    title(out, "Margins");
    let all = if margins.teeth.len() > 1 { "every margin captured" } else { "captured" };
    if !card.forecast.verdict.faults.is_empty() {
        let _ = writeln!(out, "  Found on inspection, see above: no chance is given.  access.captured");
        return;
    }
    let sum = match margins.is_over {
        true => format!("{all} without a visible fault: {}.  access.captured", percent(margins.captured)),
        false => format!(
            "{all} without a visible fault: {}; with everything 20 s later {}. {}  access.captured",
            percent(margins.captured),
            percent(margins.captured_20_s_later),
            spare(margins.spare_s)
        ),
    };
    paragraph(out, "  ", "  ", &sum);
    for (place, tooth) in margins.teeth.iter().enumerate() {
        one(out, place, tooth, margins.teeth.len() > 1, margins.is_over);
    }
    for buy in &margins.buys {
        paragraph(out, "  + ", "    ", &format!("{}: {}.", buy.words, percent(buy.captured)));
    }
    paragraph(
        out,
        "  ",
        "  ",
        "A torn edge is one that stays in the sulcus or frays. An inspection is taken to miss one fault in ten. Source keys: \
         access.captured, access.width, access.uncovered.",
    );
}

fn one(out: &mut Doc, place: usize, tooth: &ToothMargin, several: bool, is_over: bool) {
    let name = match tooth.tooth {
        Some(number) => format!("tooth {number}"),
        None if !several => "the tooth".to_owned(),
        None => format!("tooth {} in the order of the syringe", place + 1),
    };
    let faults = [
        ("tissue over it", tooth.covered),
        ("material that stops short", tooth.unfilled),
        ("void", tooth.void),
        ("torn", tooth.torn),
    ];
    let faults: Vec<String> =
        faults.iter().map(|(fault, chance)| format!("{fault} {}", percent(*chance))).collect();
    let words = format!(
        "{name}: {}. Missed by {}. From its cord {}; sulcus then {}.{}",
        percent(tooth.captured),
        faults.join(", "),
        uncovered(tooth.uncovered_s),
        plain(tooth.width_m.scaled(1e3), "mm"),
        if several && !is_over { format!(" {}", spare(tooth.spare_s)) } else { String::new() }
    );
    paragraph(out, "  - ", "    ", &words);
}

/// A planned wait is one number, a guessed one an interval.
fn uncovered(interval: Interval) -> String {
    if interval.high - interval.low < 0.5 { span(interval.mid) } else { plain(interval, "s") }
}

/// Seconds to spare in words.
fn spare(spare_s: Option<f64>) -> String {
    match spare_s {
        None => "No second to spare: it is below 80 % already.".to_owned(),
        Some(s) if s >= 299.0 => "5 min later it is still above 80 %.".to_owned(),
        Some(s) => format!("To spare before it falls below 80 %: {}.", span(5.0 * (s / 5.0).floor())),
    }
}
