//! The order of pouring for a terminal.

use std::fmt::Write as _;

use counsel::pour_order::{self, Help};
use jiff::tz::TimeZone;

use crate::lines::{Doc, paragraph, title};
use crate::waiting::{LineUp, Queued};

/// The time of day.
pub fn clock(s: f64, zone: &TimeZone) -> String {
    by_calendar(s, zone, "%H:%M")
}

/// A moment with its date where that is another day than `beside_s`.
pub fn dated(s: f64, beside_s: f64, zone: &TimeZone) -> String {
    let same = by_calendar(s, zone, "%F") == by_calendar(beside_s, zone, "%F");
    if same { clock(s, zone) } else { by_calendar(s, zone, "%F %H:%M") }
}

fn by_calendar(s: f64, zone: &TimeZone, format: &str) -> String {
    match jiff::Timestamp::from_millisecond((s * 1e3).round() as i64) {
        Ok(timestamp) => timestamp.to_zoned_datetime(zone.clone()).strftime(format).to_string(),
        Err(_) => "no time that a calendar has".to_owned(),
    }
}

/// The page.
pub fn text(queue: &[Queued], line_up: &LineUp, zone: &TimeZone) -> String {
    doc(queue, line_up, zone).text()
}

/// The same as a document.
pub fn doc(queue: &[Queued], line_up: &LineUp, zone: &TimeZone) -> Doc {
    let LineUp { order, cannot_all: tight, rescues } = line_up;
    let mut out = Doc::default();
    let code = |place: usize| queue.get(place).map_or("", |queued| queued.waiting.code.as_str());
    let first_s = order.pours.first().map_or(0.0, |pour| pour.begins_s);
    let zone_now = by_calendar(first_s, zone, "%F, clocks at UTC%:z");
    title(&mut out, "Pour in this order");
    let _ = writeln!(out, "  {zone_now}");
    for (number, pour) in order.pours.iter().enumerate() {
        let Some(queued) = queue.get(pour.waiting) else { continue };
        let mix = match pour.mix_s {
            Some(s) => format!("mix {} {}", queued.stone, clock(s, zone)),
            None => "same mix".to_owned(),
        };
        let end = match queued.waiting.begin_by_s {
            Some(end_s) if pour.late_s > 0.0 => {
                format!(
                    "LATE by {:.0} min, was due {}",
                    (pour.late_s / 60.0).ceil(),
                    dated(end_s, pour.begins_s, zone)
                )
            }
            Some(end_s) => format!("due {}", dated(end_s, pour.begins_s, zone)),
            None => "no end".to_owned(),
        };
        let hands = if pour.pair == 1 { "  second hands" } else { "" };
        let _ = writeln!(
            out,
            "{:>3}  {:<10}{:<18}pour {}  {end}{hands}",
            number + 1,
            code(pour.waiting),
            mix,
            clock(pour.begins_s, zone)
        );
        if let Some(what) = &queued.title {
            paragraph(&mut out, "     ", "     ", what);
        }
        if queued.no_window {
            let _ = writeln!(out, "     there is no window: it opened after it closed");
        }
    }
    let _ = writeln!(out);
    let late: Vec<&str> =
        order.pours.iter().filter(|pour| pour.late_s > 0.0).map(|pour| code(pour.waiting)).collect();
    if late.is_empty() {
        paragraph(&mut out, "  ", "  ", "Nothing is late in this order.");
    } else {
        let words = match order.exact {
            true => {
                format!("{} cannot be kept in any order that keeps as much of the rest.", late.join(", "))
            }
            false => format!("{} late in the best order that was found.", late.join(", ")),
        };
        paragraph(&mut out, "  ", "  ", &words);
        if !tight.is_empty() {
            let list: Vec<&str> = tight.iter().map(|place| code(*place)).collect();
            paragraph(
                &mut out,
                "  ",
                "  ",
                &format!("These cannot all be begun in time, in whatever order: {}.", list.join(", ")),
            );
        }
    }
    if !order.exact {
        let words = format!(
            "More than {} wait: {:.0} of at most {:.0} minutes at stake are kept, and whether an order keeps more is not known.",
            pour_order::MOST_EXACT,
            order.outcome.worth,
            order.bound
        );
        paragraph(&mut out, "  ", "  ", &words);
    }
    if !late.is_empty() {
        title(&mut out, "What would save it, the cheapest first");
        for rescue in rescues {
            let what = match &rescue.what {
                Help::Seal(place) => format!("seal {} humid now, or take it again later", code(*place)),
                Help::Stone(place, stone) => {
                    format!("pour {} in stone {stone} with the others", code(*place))
                }
                Help::SecondHands => "a second pair of hands".to_owned(),
            };
            let then = match rescue.order.outcome.late {
                0 => "nothing is late then".to_owned(),
                late => format!("{late} late then"),
            };
            paragraph(&mut out, "  - ", "    ", &format!("{what}: {then}"));
        }
        if rescues.is_empty() {
            paragraph(&mut out, "  ", "  ", "Nothing that was tried: take the late ones again.");
        }
    }
    paragraph(
        &mut out,
        "\n  ",
        "  ",
        "Kept is what is at stake (minutes to do it again) times the chance that the cast serves; then the fewest late; then the least \
         lateness. A printed end is never moved.",
    );
    out
}
