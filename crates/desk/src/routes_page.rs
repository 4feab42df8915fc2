//! The comparison of routes for a terminal: what to ask, which routes are open and in what order, what blocks the others.

use std::fmt::Write as _;

use chain::statistics::Interval;
use counsel::routes::{Difference, RouteLine, Routes};
use terms::Fact;

use crate::digits;
use crate::lines::{Doc, paragraph, title};
use case_file::Case;

/// Questions that are printed before the rest is only counted.
const QUESTIONS: usize = 8;

/// The page as text, every line within the columns of a terminal.
pub fn text(name: &str, case: &Case, routes: &Routes) -> String {
    doc(name, case, routes).text()
}

/// The same as a document.
pub fn doc(name: &str, case: &Case, routes: &Routes) -> Doc {
    let mut out = Doc::default();
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
    let _ = writeln!(out, "\n{} samples of each route", routes.samples);
    let _ = writeln!(out, "cautions: trayward cautions {name}");
    out
}

fn questions(out: &mut Doc, name: &str, routes: &Routes) {
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

fn ranked(out: &mut Doc, routes: &Routes) {
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
    paragraph(
        out,
        "  ",
        "  ",
        "90 % intervals of the chance of a usable result, then time with the tray in the mouth and in the chair. \
         = cannot be separated from 1 by its chance.",
    );
    let lines: Vec<&RouteLine> = routes.ranked.iter().flatten().collect();
    let hindrances = hindrances(&lines);
    for words in &hindrances {
        paragraph(out, "  ! ", "    ", &format!("every route: {words}"));
    }
    let places: Vec<(usize, &RouteLine)> =
        routes.ranked.iter().flatten().enumerate().map(|(place, line)| (place + 1, line)).collect();
    ways(out, &places, true, &[], &hindrances);
}

fn waiting(out: &mut Doc, routes: &Routes) {
    if routes.waiting.is_empty() {
        return;
    }
    title(out, "Waiting for answers, in no order");
    let all = common(routes);
    if !all.is_empty() {
        paragraph(out, "  ", "  ", &format!("Each waits for {}; some for more.", all.join(", ")));
    }
    let lines: Vec<&RouteLine> = routes.waiting.iter().collect();
    let hindrances = hindrances(&lines);
    for words in &hindrances {
        paragraph(out, "  ! ", "    ", &format!("every one: {words}"));
    }
    let places: Vec<(usize, &RouteLine)> = routes.waiting.iter().map(|line| (0, line)).collect();
    ways(out, &places, false, &all, &hindrances);
}

/// Ways that are shown with all their means; of the others the best alone is.
const WAYS_IN_FULL: usize = 3;

/// Routes gathered under their material and tray, in the order of the best of each.
fn ways(
    out: &mut Doc,
    places: &[(usize, &RouteLine)],
    in_order: bool,
    said: &[&str],
    hindrances: &[&String],
) {
    let mut gathered: Vec<Vec<(usize, &RouteLine)>> = Vec::new();
    for &(place, line) in places {
        let same = |way: &&mut Vec<(usize, &RouteLine)>| {
            way.first().is_some_and(|(_, first)| (&first.kit, &first.tray) == (&line.kit, &line.tray))
        };
        match gathered.iter_mut().find(same) {
            Some(way) => way.push((place, line)),
            None => gathered.push(vec![(place, line)]),
        }
    }
    for (index, way) in gathered.iter().enumerate() {
        let Some((_, first)) = way.first() else { continue };
        let mut head = format!("{}; {}", first.kit, first.tray);
        if first.made_before {
            head.push_str(" (made before this visit)");
        }
        if let Some(cost) = first.cost {
            head.push_str(&format!("; cost {cost}"));
        }
        paragraph(out, "      ", "      ", &head);
        let planned = |(_, line): &&(usize, &RouteLine)| line.planned;
        let shown = if in_order && index < WAYS_IN_FULL { way.len() } else { 1 };
        for (place, line) in way.iter().take(shown) {
            route(out, *place, line, in_order, said);
        }
        for (place, line) in way.iter().skip(shown).filter(planned) {
            route(out, *place, line, in_order, said);
        }
        let left = way.iter().skip(shown).filter(|(_, line)| !line.planned).count();
        if left > 0 {
            let words = if left == 1 { "other way" } else { "other ways" };
            let _ = writeln!(out, "      and {left} {words} to open the gum (--json has all)");
        }
        for words in first.in_the_way.iter().filter(|words| !hindrances.contains(words)) {
            paragraph(out, "      ! ", "        ", words);
        }
        cautions(out, &way.iter().take(shown).copied().collect::<Vec<_>>());
    }
}

/// Cautions of the lines shown, each with the places that it holds for where it does not hold for all.
fn cautions(out: &mut Doc, lines: &[(usize, &RouteLine)]) {
    let mut rules: Vec<&String> = Vec::new();
    for rule in lines.iter().flat_map(|(_, line)| &line.cautions) {
        if !rules.contains(&rule) {
            rules.push(rule);
        }
    }
    let said: Vec<String> = rules
        .into_iter()
        .map(|rule| {
            let of: Vec<String> = lines
                .iter()
                .filter(|(_, line)| line.cautions.contains(rule))
                .map(|(place, _)| place.to_string())
                .collect();
            match of.len() == lines.len() {
                true => rule.clone(),
                false => format!("{rule} ({})", of.join(", ")),
            }
        })
        .collect();
    if !said.is_empty() {
        paragraph(out, "      ! ", "        ", &format!("cautions: {}", said.join("; ")));
    }
}

/// One line: place, means, chance, times.
fn route(out: &mut Doc, place: usize, line: &RouteLine, in_order: bool, said: &[&str]) {
    let tied = line.against_first.is_some_and(|difference| !difference.separates());
    let mark = match (in_order, tied) {
        (true, true) => format!("{place:>3} ="),
        (true, false) => format!("{place:>3}  "),
        (false, _) => "  ?  ".to_owned(),
    };
    let planned = if line.planned { "  planned" } else { "" };
    let chance = short_chance(line.low, line.high);
    let _ = writeln!(
        out,
        "{mark} {:<36}{chance:<13}{:>8}{:>8}{planned}",
        short(&line.means, 35),
        minutes(line.in_mouth_s),
        minutes(line.chair_s),
    );
    let more: Vec<&str> = line.waits_for.iter().copied().filter(|fact| !said.contains(fact)).collect();
    if !more.is_empty() {
        paragraph(out, "      ? ", "        ", &format!("waits for {}", more.join(", ")));
    }
}

/// What stands in the way of every one of these.
fn hindrances<'a>(lines: &[&'a RouteLine]) -> Vec<&'a String> {
    let Some((first, others)) = lines.split_first() else { return Vec::new() };
    let of_all = |words: &&String| others.iter().all(|line| line.in_the_way.contains(words));
    first.in_the_way.iter().filter(of_all).collect()
}

/// What every waiting route waits for.
fn common(routes: &Routes) -> Vec<&str> {
    let Some((first, others)) = routes.waiting.split_first() else { return Vec::new() };
    let of_all = |fact: &&&'static str| others.iter().all(|line| line.waits_for.contains(*fact));
    first.waits_for.iter().filter(of_all).copied().collect()
}

/// At most so many columns.
fn short(words: &str, columns: usize) -> String {
    if words.chars().count() <= columns {
        return words.to_owned();
    }
    let kept: String = words.chars().take(columns - 1).collect();
    format!("{}…", kept.trim_end())
}

/// "62 to 84 %".
pub fn short_chance(low: f64, high: f64) -> String {
    if high < 0.01 {
        return "below 1 %".to_owned();
    }
    if low > 0.99 {
        return "above 99 %".to_owned();
    }
    let (low, high) = (100.0 * low, 100.0 * high);
    let step = digits::step(0.5 * (high - low)).max(1.0);
    format!("{} to {} %", digits::write(low, step), digits::write(high, step))
}

/// Half minutes, such as "5.5 min": the rows of times support no more.
fn minutes(seconds: f64) -> String {
    match (seconds / 30.0).round() / 2.0 {
        few if few < 10.0 => format!("{few:.1} min"),
        many => format!("{many:.0} min"),
    }
}

fn elsewhere(out: &mut Doc, routes: &Routes) {
    title(out, "Not today, or not with an impression");
    let today = &routes.not_today;
    let why = match (today.reasons.is_empty(), today.unknown.is_empty()) {
        (false, _) => format!("Treat the gum first, because {}.", today.reasons.join(" and ")),
        (true, false) => format!("Treat the gum first? Not known: {}.", today.unknown.join(", ")),
        (true, true) => "Treat the gum first: nothing that is known speaks for it.".to_owned(),
    };
    paragraph(out, "  - ", "    ", &why);
    let worth_saying = !(today.reasons.is_empty() && today.unknown.is_empty());
    if let Some(then) = today.then.as_ref().filter(|_| worth_saying) {
        let [low, _, high] = today.healing_s.map(|s| s / 86_400.0);
        let against = match &then.against_today {
            Some(difference) if difference.separates() => format!("; against today {}", points(difference)),
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
        paragraph(
            out,
            "    ",
            "      ",
            &format!("{}: {interval}; {}  {}", figure.quantity, figure.conditions, figure.key),
        );
    }
}

fn blocked(out: &mut Doc, routes: &Routes) {
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

fn changes(out: &mut Doc, routes: &Routes) {
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
