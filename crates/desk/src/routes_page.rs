//! The comparison of routes for a terminal: what to ask, which routes are open and in what order, what blocks the others.

use std::fmt::Write as _;

use chain::statistics::Interval;
use counsel::routes::{Difference, RouteLine, Routes};
use terms::Fact;

use crate::case_file::Case;
use crate::digits;
use crate::lines::{paragraph, title};

/// Questions that are printed before the rest is only counted.
const QUESTIONS: usize = 8;

/// The page as text, every line within the columns of a terminal.
pub fn text(name: &str, case: &Case, routes: &Routes) -> String {
    let mut out = String::new();
    let demo = if case.demo { "  demo" } else { "" };
    paragraph(&mut out, "", "  ", &format!("{}{demo}  {}", case.code, case.title.as_deref().unwrap_or("")));
    paragraph(&mut out, "", "  ", &format!("Routes from: {}.", routes.clinic));
    questions(&mut out, name, routes);
    ranked(&mut out, routes);
    waiting(&mut out, routes);
    elsewhere(&mut out, routes);
    blocked(&mut out, routes);
    changes(&mut out, routes);
    title(&mut out, "How they are put in order");
    paragraph(&mut out, "  ", "  ", routes.order);
    paragraph(
        &mut out,
        "  ",
        "  ",
        "Blood, a void, a drag or a missed margin spoils more impressions than any difference of material. No line here is a clearance: \
         instructions, local codes and the licensed practitioner prevail.",
    );
    let _ = writeln!(out, "\n{} samples of each route; cautions: trayward cautions {name}", routes.samples);
    out
}

fn questions(out: &mut String, name: &str, routes: &Routes) {
    if routes.questions.is_empty() {
        return;
    }
    title(out, "Ask first");
    for asked in routes.questions.iter().take(QUESTIONS) {
        let routes = match asked.routes {
            1 => "one route waits".to_owned(),
            count => format!("{count} routes wait"),
        };
        paragraph(out, "  ? ", "    ", &format!("{} ({routes})  {}", asked.words, asked.fact));
    }
    let more = routes.questions.len().saturating_sub(QUESTIONS);
    if more > 0 {
        paragraph(out, "    ", "    ", &format!("and {more} more: trayward cautions {name}"));
    }
}

fn ranked(out: &mut String, routes: &Routes) {
    title(out, "Open routes, best first");
    if routes.ranked.is_empty() {
        let why = match (routes.waiting.is_empty(), routes.blocked.is_empty()) {
            (false, _) => "None can be put in order before the questions above are answered.",
            (true, false) => "None: every route of today is blocked, for the reasons below.",
            (true, true) => "None could be followed.",
        };
        paragraph(out, "  ", "  ", why);
        return;
    }
    let mut place = 1;
    for group in &routes.ranked {
        if group.len() > 1 {
            let last = place + group.len() - 1;
            let words = format!("{place} to {last}: cannot be separated by their chances; in order of time.");
            paragraph(out, "  ", "  ", &words);
        }
        for line in group {
            route(out, &format!("{place:>3}  "), line);
            place += 1;
        }
    }
}

fn route(out: &mut String, mark: &str, line: &RouteLine) {
    let planned = if line.planned { "  (as planned)" } else { "" };
    paragraph(out, mark, "     ", &format!("{}; {}; {}{planned}", line.kit, line.tray, line.means));
    let cost = line.cost.map(|cost| format!("; cost {cost}")).unwrap_or_default();
    let numbers = format!(
        "usable {}; {} in the mouth, {} in the chair{cost}",
        chance(line.low, line.chance, line.high),
        digits::span(rounded(line.in_mouth_s)),
        digits::span(rounded(line.chair_s)),
    );
    paragraph(out, "     ", "     ", &numbers);
    if let Some(captured) = line.captured {
        let words =
            format!("margins captured {}; given that, the rest serves {}", digits::percent(captured), digits::percent(line.fits));
        paragraph(out, "     ", "     ", &words);
    }
    if line.made_before {
        paragraph(out, "     ", "     ", "needs a tray made before this visit");
    }
    for said in &line.in_the_way {
        paragraph(out, "     ! ", "       ", said);
    }
    if !line.cautions.is_empty() {
        paragraph(out, "     ! ", "       ", &format!("cautions: {}", line.cautions.join(", ")));
    }
    if !line.waits_for.is_empty() {
        paragraph(out, "     ? ", "       ", &format!("waits for {}", line.waits_for.join(", ")));
    }
}

fn waiting(out: &mut String, routes: &Routes) {
    if routes.waiting.is_empty() {
        return;
    }
    title(out, "Waiting for answers, in no order");
    for line in &routes.waiting {
        route(out, "  ?  ", line);
    }
}

fn elsewhere(out: &mut String, routes: &Routes) {
    title(out, "Not today, or not with an impression");
    let today = &routes.not_today;
    let why = match (today.reasons.is_empty(), today.unknown.is_empty()) {
        (false, _) => format!("Treat the gum first, because {}.", today.reasons.join(" and ")),
        (true, false) => format!("Treat the gum first? Not known: {}.", today.unknown.join(", ")),
        (true, true) => "Treat the gum first: nothing that is known speaks for it.".to_owned(),
    };
    paragraph(out, "  - ", "    ", &why);
    if let Some(then) = &today.then {
        let [low, _, high] = today.healing_s.map(|s| s / 86_400.0);
        let against = match &then.against_today {
            Some(difference) if difference.separates() => format!(", {} against today", points(difference)),
            Some(_) => ", which cannot be separated from today".to_owned(),
            None => String::new(),
        };
        let words = format!(
            "After about {low:.0} to {high:.0} days ({}), with a healthy gum and dry sulci: {}: usable {}{against}.",
            today.key,
            then.route,
            chance(then.low, then.chance, then.high)
        );
        paragraph(out, "    ", "    ", &words);
    }
    let at_hand = match routes.scan.at_hand {
        Fact::Known(true) => "a scanner is at hand",
        Fact::Known(false) => "no scanner is at hand",
        Fact::Unknown | Fact::NotApplicable => "whether a scanner is at hand is not known",
    };
    paragraph(
        out,
        "  - ",
        "    ",
        &format!(
            "An optical scan ({at_hand}). Not ranked; it sees no margin under blood, fluid or a closed sulcus (common practice). \
             Published:"
        ),
    );
    for figure in &routes.scan.figures {
        let [low, mid, high] = figure.interval.map(|m| m * 1e6);
        let interval = digits::plain(Interval { low, mid, high }, "µm");
        paragraph(out, "    ", "      ", &format!("{}: {interval}; {}  {}", figure.quantity, figure.conditions, figure.key));
    }
}

fn blocked(out: &mut String, routes: &Routes) {
    if routes.blocked.is_empty() && routes.refused.is_empty() {
        return;
    }
    title(out, "Blocked, and why");
    for blocked in &routes.blocked {
        let what = match blocked.what.len() {
            0 => "every route of today".to_owned(),
            _ => blocked.what.join("; "),
        };
        paragraph(out, "  × ", "    ", &format!("{what}: {}  {}", blocked.says, blocked.rule));
        if let Some(instead) = &blocked.instead {
            paragraph(out, "    ", "    ", &format!("Consider: {instead}"));
        }
    }
    for refused in &routes.refused {
        paragraph(out, "  × ", "    ", &format!("{}: cannot be followed: {}", refused.route, refused.reason));
    }
}

fn changes(out: &mut String, routes: &Routes) {
    if routes.tried.is_empty() {
        return;
    }
    title(out, "What would change the order");
    for change in &routes.changes {
        let against = match (change.present_first, change.separated) {
            (None, _) => "; the present first would then be out".to_owned(),
            (Some(present), true) => format!("; the present first {}", digits::percent(present)),
            (Some(_), false) => "; the two could still not be separated by their chances".to_owned(),
        };
        let words =
            format!("{}: first {} ({}{against})", change.words, change.first, digits::percent(change.chance));
        paragraph(out, "  - ", "    ", &words);
    }
    if routes.changes.is_empty() {
        let words = format!("None of these alone, as far as was tried: {}.", routes.tried.join("; "));
        paragraph(out, "  ", "  ", &words);
    }
}

/// "62 to 84 %, middle 74".
fn chance(low: f64, mid: f64, high: f64) -> String {
    if low < 0.01 && high < 0.01 {
        return "below 1 %".to_owned();
    }
    if high > 0.99 && low > 0.99 {
        return "above 99 %".to_owned();
    }
    digits::plain(Interval { low, mid, high }.scaled(100.0), "%")
}

fn points(difference: &Difference) -> String {
    let interval = Interval { low: difference.low, mid: difference.mean, high: difference.high };
    digits::interval(interval, 100.0, "points")
}

/// To half a minute: the rows of times support no more.
fn rounded(seconds: f64) -> f64 {
    30.0 * (seconds / 30.0).round()
}
