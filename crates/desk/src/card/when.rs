//! The windows on a card: what is taught, printed and forecast, kept apart, and the time strip.

use std::fmt::Write as _;

use chain::windows::{DecidedBy, Edge, Instructed, Window, WindowState};
use terms::{Action, Bound, ClockOrigin, ImpressionClass, Instant};

pub use super::strip::openness;
use super::strip::{Axis, band};
use super::{Card, Doc, paragraph, title};
use crate::digits::{careful_span, span};

/// What to do and when, one line an action.
pub fn orders(card: &Card) -> Vec<String> {
    let mut parts = Vec::new();
    for window in &card.forecast.windows {
        if window.stamped {
            continue;
        }
        if window.action == Action::Mix {
            continue;
        }
        if window.state == WindowState::NoWindow {
            parts.push(format!("{:<9}there is no window", verb(window.action)));
            continue;
        }
        let now_s = card.forecast.now.seconds_since(card.forecast.start);
        if let Some(close_s) =
            window.closes.binding_s.filter(|&close_s| card.forecast.start_stamped && now_s > close_s)
        {
            parts.push(format!("{:<9}too late, by {}", verb(window.action), span(now_s - close_s)));
            continue;
        }
        let closes = binding(card, &window.closes).map(|close| match earlier_taught(card, &window.closes) {
            Some(taught) => format!("{close} by the forecast alone, and taught {taught}"),
            None => close,
        });
        let ends = (binding(card, &window.opens), closes);
        let verb = format!("{:<9}", verb(window.action));
        match ends {
            (Some(open), Some(close)) => {
                parts.push(format!("{verb}not before {open}, not after {close}"));
            }
            (Some(open), None) => parts.push(format!("{verb}not before {open}")),
            (None, Some(close)) if window.action == Action::Pour && !window.opens.taught.is_empty() => {
                parts.push(format!("{verb}within {close}; how early, the instructions say"));
            }
            (None, Some(close)) => parts.push(format!("{verb}within {close}")),
            (None, None) => {}
        }
    }
    if card
        .forecast
        .windows
        .iter()
        .any(|window| window.state == WindowState::ConsultInstructions && window.action != Action::Mix)
    {
        parts.push("where no instruction is entered, consult it first".to_owned());
    }
    parts
}

/// The section of windows and strips.
pub fn section(out: &mut Doc, card: &Card) {
    title(out, "When");
    paragraph(
        out,
        "  ",
        "  ",
        "Forecasts carry their 90 % interval; the careful end counts. Source keys: window.mix.closes, window.seat.closes, \
         window.remove.opens, window.pour.opens, window.pour.closes, window.separate.opens; the chance: verdict.margin.",
    );
    for window in &card.forecast.windows {
        for edge in [&window.opens, &window.closes] {
            end(out, card, window, edge);
        }
        if window.state == WindowState::NoWindow {
            let _ = writeln!(out, "            NO WINDOW: it opens after it has closed");
        }
        if window.state == WindowState::ConsultInstructions && window.action != Action::Mix {
            let _ = writeln!(out, "            no instruction entered: consult it; this is a forecast alone");
        }
        if let Some(at_s) = window.planned_s {
            let word = if window.stamped { "done" } else { "plan" };
            let first = format!("            {word:<9}");
            let as_it_opens = !window.stamped
                && window.action == Action::Remove
                && card.case.route.plan.remove_after_s.known().is_none();
            let words = match as_it_opens {
                true => "as soon as it opens".to_owned(),
                false => moment(card, window.action, at_s),
            };
            paragraph(out, &first, "              ", &words);
        }
    }
    strips(out, card);
}

fn end(out: &mut Doc, card: &Card, window: &Window, edge: &Edge) {
    if edge.binding_s.is_none() && edge.taught.is_empty() {
        return;
    }
    let word = match edge.bound {
        Bound::Minimum => "not before",
        Bound::Maximum => "not after",
    };
    let decided = match edge.decided_by {
        DecidedBy::Forecast => "forecast",
        DecidedBy::Instruction => "printed",
        DecidedBy::Nothing => "taught only",
    };
    let action = if window.action == Action::Mix { "mixed" } else { window.action.word() };
    let when = binding(card, edge).unwrap_or_else(|| "neither forecast nor print gives a moment".to_owned());
    let first = format!("  {action:<9} {word:<11}");
    paragraph(out, &first, "              ", &format!("{when} ({decided})"));
    match edge.forecast_s {
        Some(interval) if interval.low == interval.high => {
            let words = format!("{} {}: {}", span(interval.mid), from(card, edge.origin), edge.reason);
            paragraph(out, "            planned  ", "              ", &words);
        }
        Some(interval) => {
            let words = format!("{}, {}", followed(interval, edge), from(card, edge.origin));
            paragraph(out, "            forecast ", "              ", &words);
        }
        None => paragraph(out, "            forecast none: ", "              ", &edge.reason),
    }
    for (limit, products) in alike(&edge.instructed) {
        let text =
            format!("{} {}, {}{}", span(limit.seconds), from(card, limit.origin), products, elsewhere(limit));
        paragraph(out, "            printed  ", "              ", &text);
    }
    for limit in &edge.taught {
        let [low, high] = limit.seconds;
        let range = if low == high { span(low) } else { format!("{} to {}", span(low), span(high)) };
        paragraph(
            out,
            "            taught   ",
            "              ",
            &format!("{range} {}: {} [{}]", from(card, limit.origin), limit.rule, limit.key),
        );
    }
}

/// Printed limits that say the same, once, with the names of their products.
pub fn alike(instructed: &[Instructed]) -> Vec<(&Instructed, String)> {
    let same = |a: &Instructed, b: &Instructed| {
        a.seconds == b.seconds && a.origin == b.origin && a.stated_for_this_room == b.stated_for_this_room
    };
    let mut list: Vec<(&Instructed, String)> = Vec::new();
    for limit in instructed {
        match list.iter_mut().find(|(first, _)| same(first, limit)) {
            Some((_, products)) => {
                products.push_str(" and ");
                products.push_str(&limit.product);
            }
            None => list.push((limit, limit.product.clone())),
        }
    }
    list
}

pub fn verb(action: Action) -> &'static str {
    match action {
        Action::Remove => "take out",
        action => action.word(),
    }
}

/// The interval of a forecast end. What lies where following stopped is said to lie beyond it.
pub fn followed(interval: chain::statistics::Interval, edge: &Edge) -> String {
    let half = 0.5 * (interval.high - interval.low);
    let write = |s: f64, earliest: bool| careful_span(s, half, earliest);
    if edge.beyond_checked && interval.low >= 0.999 * interval.high {
        return format!("beyond {}, as far as it was followed", span(interval.high));
    }
    let beyond = if edge.beyond_checked { " and beyond" } else { "" };
    format!(
        "{} to {}{beyond}, middle {}",
        write(interval.low, false),
        write(interval.high, edge.bound == Bound::Minimum),
        write(interval.mid, false)
    )
}

fn elsewhere(limit: &Instructed) -> &'static str {
    if limit.stated_for_this_room { "" } else { " (not stated for this room)" }
}

/// The binding end as a span from the clock of whatever decided it.
pub fn binding(card: &Card, edge: &Edge) -> Option<String> {
    let at_s = edge.binding_s?;
    let origin = match edge.decided_by {
        DecidedBy::Instruction => edge
            .instructed
            .iter()
            .find(|limit| (start_of(card, limit.origin) + limit.seconds - at_s).abs() < 1e-6)
            .map_or(edge.origin, |limit| limit.origin),
        _ => edge.origin,
    };
    let seconds = at_s - start_of(card, origin);
    let text = match (edge.decided_by, edge.forecast_s) {
        (DecidedBy::Forecast, Some(interval)) => {
            careful_span(seconds, 0.5 * (interval.high - interval.low), edge.bound == Bound::Minimum)
        }
        _ => span(seconds),
    };
    Some(format!("{text} {}", from(card, origin)))
}

/// A taught latest moment that comes before that of a forecast which no print backs.
fn earlier_taught(card: &Card, edge: &Edge) -> Option<String> {
    let at_s = edge.binding_s.filter(|_| edge.instructed.is_empty() && edge.bound == Bound::Maximum)?;
    let rule = edge.taught.iter().min_by(|a, b| a.seconds[1].total_cmp(&b.seconds[1]))?;
    (start_of(card, rule.origin) + rule.seconds[1] < at_s)
        .then(|| format!("{} {}", span(rule.seconds[1]), from(card, rule.origin)))
}

/// Seconds from the start of mixing at which a clock starts, by stamps and plan.
pub fn start_of(card: &Card, origin: ClockOrigin) -> f64 {
    let planned = |action: Action| {
        card.forecast
            .windows
            .iter()
            .find(|window| window.action == action)
            .and_then(|window| window.planned_s)
    };
    match origin {
        ClockOrigin::StartOfMix => Some(0.0),
        ClockOrigin::InTheMouth => planned(Action::Seat),
        ClockOrigin::Removal => planned(Action::Remove),
        ClockOrigin::Pour => planned(Action::Pour),
    }
    .unwrap_or(0.0)
}

/// Agar is not mixed: its clock starts when it leaves the tempering bath.
pub fn from(card: &Card, origin: ClockOrigin) -> &'static str {
    match origin {
        ClockOrigin::StartOfMix if card.case.route.material.class == ImpressionClass::Agar => {
            "from leaving the bath"
        }
        ClockOrigin::StartOfMix => "from the start of mixing",
        ClockOrigin::InTheMouth => "in the mouth",
        ClockOrigin::Removal => "after removal",
        ClockOrigin::Pour => "after pouring",
    }
}

/// A planned or stamped moment: on its clock, and by the wall once there are stamps.
fn moment(card: &Card, action: Action, at_s: f64) -> String {
    let on = |origin: ClockOrigin| format!("{} {}", span(at_s - start_of(card, origin)), from(card, origin));
    let clock = match action {
        Action::Pour => on(ClockOrigin::Removal),
        Action::Separate => on(ClockOrigin::Pour),
        Action::Remove => format!("{}, {}", on(ClockOrigin::InTheMouth), on(ClockOrigin::StartOfMix)),
        Action::Mix | Action::Seat => on(ClockOrigin::StartOfMix),
    };
    if card.case.stamps.is_empty() {
        return clock;
    }
    format!("{clock}, at {}", wall(card, card.forecast.start.plus_seconds(at_s)))
}

/// A moment by the wall, with its date and offset.
pub fn wall(card: &Card, at: Instant) -> String {
    match jiff::Timestamp::from_millisecond(at.millis()) {
        Ok(timestamp) => {
            timestamp.to_zoned_datetime(card.zone.clone()).strftime("%Y-%m-%d %H:%M:%S (%:z)").to_string()
        }
        Err(_) => "no time that a calendar has".to_owned(),
    }
}

/// The time strips.
pub fn strips(out: &mut Doc, card: &Card) {
    let forecast = card.forecast;
    let windows = &forecast.windows;
    let find = |action: Action| windows.iter().find(|window| window.action == action);
    let removed_s = start_of(card, ClockOrigin::Removal);
    let poured_s = start_of(card, ClockOrigin::Pour);
    let now_s = forecast.start_stamped.then(|| forecast.now.seconds_since(forecast.start));
    let mouth_end_s = (((removed_s + 60.0) / 120.0).ceil() * 120.0).max(360.0);
    let last_s = forecast.pour_curve.last().map_or(86_400.0, |point| point.after_removal_s);
    let rows = [
        (
            Axis { from_s: 0.0, to_s: mouth_end_s, logarithmic: false },
            from(card, ClockOrigin::StartOfMix),
            vec![Action::Mix, Action::Seat, Action::Remove],
        ),
        (
            Axis { from_s: removed_s, to_s: removed_s + last_s, logarithmic: true },
            "after removal, widening scale",
            vec![Action::Pour],
        ),
        (
            Axis { from_s: poured_s, to_s: poured_s + 7200.0, logarithmic: false },
            "after pouring",
            vec![Action::Separate],
        ),
    ];
    let _ = writeln!(out);
    for (axis, clock, actions) in rows {
        for action in actions {
            if let Some(window) = find(action) {
                let band = band(window, &axis, now_s, |origin| start_of(card, origin));
                let word = if action == Action::Mix { "mixed" } else { action.word() };
                let _ = writeln!(out, "  {word:<9} {band}");
            }
        }
        let _ = writeln!(out, "  {:<9} {}", "", axis.scale());
        let _ = writeln!(out, "  {:<9} {clock}", "");
    }
    let _ = writeln!(out, "  band: inside the window, paler where the forecast is unsure; dots: outside");
    let _ = writeln!(out, "  | printed limit   ▼ plan   ● done   ¦ now");
}
