//! The card of one case for a terminal of 80 columns: the sentence first, then what to ask, the windows, the numbers.

mod budget;
pub mod instructions;
mod margins;
mod strip;
pub(crate) mod when;

use std::fmt::Write as _;

use chain::Forecast;
use chain::report::{LimitResult, Note, Quantity, VerdictWord};
use counsel::cautions::{Level, Look};
use counsel::visit::{Phase, Who};
use jiff::tz::TimeZone;
use ledger::Parameters;
use terms::Grade;

use crate::digits::{self, percent};
use crate::lines::{Doc, paragraph, title};
use crate::sources;
use case_file::Case;

/// Everything a card shows.
pub struct Card<'a> {
    /// The name by which the case was asked for, to be repeated in commands.
    pub name: &'a str,
    /// The case.
    pub case: &'a Case,
    /// Its forecast.
    pub forecast: &'a Forecast,
    /// The ledger, for names of products.
    pub parameters: &'a Parameters,
    /// What the cautions say.
    pub look: &'a Look<'a>,
    /// The check list of the visit.
    pub checks: &'a [counsel::visit::Line],
    /// Zone of wall clock times.
    pub zone: TimeZone,
    /// Who said what time it is.
    pub present: &'a str,
}

/// The card as text, every line within [`COLUMNS`](crate::lines::COLUMNS). A short one ends after the time strip and fits a screen or two.
pub fn text(card: &Card, short: bool) -> String {
    doc(card, short).text()
}

/// The same as a document.
pub fn doc(card: &Card, short: bool) -> Doc {
    let mut out = Doc::default();
    let checked = checked_scope(card);
    head(&mut out, card);
    stops(&mut out, card);
    sentence(&mut out, card);
    asks(&mut out, card);
    if short {
        when::strips(&mut out, card);
        foot(&mut out, card);
        return out;
    }
    when::section(&mut out, card);
    if checked {
        margins::section(&mut out, card);
        sizes(&mut out, card);
        limits(&mut out, card);
        budget::section(&mut out, card);
        rests_on(&mut out, card);
        second_pour(&mut out, card);
    }
    contacts(&mut out, card);
    visit(&mut out, card);
    missing(&mut out, card);
    cautions(&mut out, card);
    foot(&mut out, card);
    out
}

fn head(out: &mut Doc, card: &Card) {
    let case = card.case;
    let demo = if case.demo { "  demo" } else { "" };
    let title = case.title.as_deref().unwrap_or("without a title");
    paragraph(out, "", "  ", &format!("{}{demo}  {title}", case.code));
    paragraph(out, "", "", &route_in_words(card));
}

fn route_in_words(card: &Card) -> String {
    let route = &card.case.route;
    let wash = match &route.wash {
        Some(wash) => {
            format!(" with {}", product(card, &wash.product).unwrap_or_else(|| wash.class.to_string()))
        }
        None => String::new(),
    };
    let material = product(card, &route.material.product).unwrap_or_else(|| route.material.class.to_string());
    let stone =
        product(card, &route.stone.product).unwrap_or_else(|| format!("stone {}", route.stone.gypsum));
    format!(
        "{}: {material}{wash}, {}, {} {} tray, {stone}.",
        card.case.situation.purpose, route.technique, route.tray.kind, route.tray.material
    )
}

fn product(card: &Card, id: &Option<terms::ProductId>) -> Option<String> {
    id.as_ref().and_then(|id| card.parameters.product(id)).map(|product| product.name.clone())
}

/// Stops come before anything that the figures say.
fn stops(out: &mut Doc, card: &Card) {
    let stops = card.look.fired.iter().filter(|fired| fired.rule.level == Level::Stop);
    for (index, fired) in stops.enumerate() {
        if index == 0 {
            let _ = writeln!(out);
        }
        paragraph(out, "  × STOP  ", "          ", &format!("{} [{}]", fired.rule.says, fired.rule.id));
    }
}

fn sentence(out: &mut Doc, card: &Card) {
    let verdict = &card.forecast.verdict;
    let chance = percent(verdict.usable.value);
    let parts = match verdict.captured {
        Some(captured) => format!(
            ": margins captured {}, and given that, the rest serves {}",
            percent(captured),
            percent(verdict.fits)
        ),
        None => ", provided it is free of visible faults".to_owned(),
    };
    let said = match (verdict.word, verdict.faults.is_empty()) {
        _ if !checked_scope(card) => "Timed only.".to_owned(),
        (VerdictWord::Likely, _) => format!("Likely to serve ({chance}){parts}."),
        (VerdictWord::Unlikely, true) => {
            format!("Unlikely to serve ({chance}){parts}. Do not go by this plan.")
        }
        (VerdictWord::Unlikely, false) => {
            "Unlikely to serve: look again before anything else is done with it.".to_owned()
        }
        (VerdictWord::CannotTell, _) => {
            format!("Cannot tell whether it will serve ({chance} by the figures alone){parts}.")
        }
    };
    let _ = writeln!(out);
    paragraph(out, "  ", "  ", &said);
    if verdict.word != VerdictWord::Unlikely || !checked_scope(card) {
        for order in when::orders(card) {
            paragraph(out, "    ", "             ", &order);
        }
    }
    for reason in &verdict.reasons {
        paragraph(out, "  · ", "    ", &format!("{reason}{}", if reason.ends_with('.') { "" } else { "." }));
    }
    paragraph(
        out,
        "  ",
        "  ",
        "Blood, a void, a drag or a missed margin spoils more impressions than everything counted below: inspect it first.",
    );
}

fn checked_scope(card: &Card) -> bool {
    card.case.situation.purpose.in_checked_scope()
}

fn asks(out: &mut Doc, card: &Card) {
    if card.forecast.asks.is_empty() {
        return;
    }
    title(out, "Ask first");
    for ask in &card.forecast.asks {
        let words = format!("{} ({}).", ask.words, ask.why);
        paragraph(out, "  ? ", "    ", &words);
    }
}

fn sizes(out: &mut Doc, card: &Card) {
    title(out, "What comes out");
    let about = "90 % intervals; + means stone larger than tooth. Each name is a source key.";
    paragraph(out, "  ", "  ", about);
    for id in [
        "die.diameter",
        "die.height",
        "span",
        "fit.opening",
        "fit.wall_space",
        "fit.loose",
        "fit.step",
        "fit.misfit",
        "removal.at_die",
    ] {
        line(out, card, id, 1e6, "µm");
    }
    for id in ["span.share", "mass.change", "strain.holding"] {
        line(out, card, id, 100.0, "%");
    }
    for id in ["removal.strain", "separation.break"] {
        line(out, card, id, 100.0, "%");
    }
    line(out, card, "removal.force", 1.0, "N");
    line(out, card, "sol.least", 100.0, "%");
    let temperatures = ["mix.temperature", "removed.temperature", "sol.core", "heat.contact"];
    for (id, offset) in temperatures.map(|id| (id, 273.15)) {
        if let Some(quantity) = card.forecast.quantity(id) {
            let mut celsius = quantity.interval;
            for value in [&mut celsius.low, &mut celsius.mid, &mut celsius.high] {
                *value -= offset;
            }
            let text = digits::plain(celsius, "°C");
            paragraph(out, &format!("  {id:<20}"), "                      ", &text);
        }
    }
    line(out, card, "heat.pulp_rise", 1.0, "K");
}

/// One number with its source key; nothing when it does not exist or does not move.
fn line(out: &mut Doc, card: &Card, id: &str, factor: f64, unit: &str) {
    let signed = matches!(unit, "µm" | "%") && !sources::without_sign(id);
    let Some(quantity) = card.forecast.quantity(id).filter(|quantity| moves(quantity)) else { return };
    let text = match (quantity.beyond_checked, signed) {
        (true, signed) => digits::beyond(quantity.interval, factor, unit, signed),
        (false, true) => digits::interval(quantity.interval, factor, unit),
        (false, false) => digits::plain(quantity.interval.scaled(factor), unit),
    };
    paragraph(out, &format!("  {id:<20}"), "                      ", &text);
}

fn moves(quantity: &Quantity) -> bool {
    quantity.beyond_checked || quantity.interval.high - quantity.interval.low > 1e-9
}

fn limits(out: &mut Doc, card: &Card) {
    title(out, "Against limits");
    paragraph(out, "  ", "  ", "None is proven; each alone, given captured margins.");
    for limit in &card.forecast.limits {
        let with = |value: f64, within: f64| format!("{} {}", limit_in_words(limit, value), percent(within));
        let mut list = vec![with(limit.value, limit.within)];
        list.extend(limit.others.iter().map(|&(value, within)| with(value, within)));
        let weak = if limit.grade.is_weak() { format!(" ({})", limit.grade) } else { String::new() };
        paragraph(out, "  ", "    ", &format!("{}: {}{weak}  {}", limit.words, list.join("; "), limit.key));
    }
}

fn limit_in_words(limit: &LimitResult, value: f64) -> String {
    match limit.si_unit {
        "m" => format!("under {:.0} µm", value * 1e6),
        _ => format!("under {:.1} %", value * 100.0),
    }
}

fn rests_on(out: &mut Doc, card: &Card) {
    if card.forecast.assumed.is_empty() {
        return;
    }
    title(out, "Resting on remembered or assumed values");
    for contribution in &card.forecast.assumed {
        let grade = if contribution.grade == Grade::Assumed { "assumed" } else { "from memory" };
        let _ = writeln!(
            out,
            "  {:>3.0} %  {} ({grade})\n         {}",
            100.0 * contribution.share,
            contribution.words,
            contribution.key
        );
    }
    let share = 100.0 * card.forecast.verdict.weak_share;
    let _ = writeln!(out, "  All such values together carry {share:.0} % of what is unsure.");
}

fn second_pour(out: &mut Doc, card: &Card) {
    let second = &card.forecast.second_pour;
    title(out, "A second cast from the same impression");
    if let (Some(at_s), Some(chance), Some(diameter)) =
        (second.after_removal_s, second.usable, second.diameter_m)
    {
        let text = format!(
            "poured {} after removal: {} to serve, die diameter {}. The heat and the water of the first stone are \
             not in it.",
            digits::span(at_s),
            percent(chance),
            digits::interval(diameter, 1e6, "µm")
        );
        paragraph(out, "  - ", "    ", &text);
    }
    notes(out, &second.notes);
}

/// Disinfection, and what is good to know beside the figures.
fn contacts(out: &mut Doc, card: &Card) {
    let forecast = card.forecast;
    if forecast.disinfection.is_empty() && forecast.notes.is_empty() {
        return;
    }
    title(out, "Contacts and heat");
    for said in forecast.disinfection.iter().filter(|said| !said.stands_in_the_way) {
        let key = said.key.as_deref().unwrap_or("");
        paragraph(out, "  - ", "    ", &format!("{}.  {key}", said.words));
    }
    notes(out, &forecast.notes);
}

/// The check list from end to end.
fn visit(out: &mut Doc, card: &Card) {
    title(out, "The whole visit");
    let mut phase = None;
    for line in card.checks {
        if phase != Some(line.phase) {
            phase = Some(line.phase);
            let words = match line.phase {
                Phase::Before => "before anything is mixed",
                Phase::Impression => "around the impression",
                Phase::After => "before the patient leaves",
                Phase::Laboratory => "between clinic and laboratory",
                Phase::Own => "of this clinic",
            };
            let _ = writeln!(out, "  {words}");
        }
        let who = match line.who {
            Who::Dentist => "dentist",
            Who::Assistant => "assistant",
            Who::Laboratory => "laboratory",
            Who::Together => "together",
        };
        paragraph(
            out,
            &format!("  [ ] {who:<11}"),
            "                 ",
            &format!("{}  {}", line.says, line.id),
        );
    }
}

fn notes(out: &mut Doc, notes: &[Note]) {
    for note in notes {
        let end = if note.words.ends_with('.') { "" } else { "." };
        let key = note.key.as_deref().map(|key| format!("  {key}")).unwrap_or_default();
        paragraph(out, "  - ", "    ", &format!("{}{end}{key}", note.words));
    }
}

fn missing(out: &mut Doc, card: &Card) {
    title(out, "Not in these figures yet");
    for part in &card.forecast.not_in_budget {
        paragraph(out, "  - ", "    ", part);
    }
    if !card.forecast.outside.is_empty() {
        title(out, "Outside what was checked");
        for said in &card.forecast.outside {
            paragraph(out, "  - ", "    ", said);
        }
    }
}

fn cautions(out: &mut Doc, card: &Card) {
    title(out, "Cautions");
    let fired = |level: Level| card.look.fired.iter().filter(|fired| fired.rule.level == level).count();
    let open = card.look.open.iter().filter(|open| open.rule.level == Level::Stop).count();
    let count = |count: usize, one: &str, many: &str| match count {
        1 => format!("1 {one}"),
        count => format!("{count} {many}"),
    };
    paragraph(
        out,
        "  ",
        "  ",
        &format!(
            "{} and {} hold; {} hang on questions that are not answered: trayward cautions {}",
            count(fired(Level::Stop), "stop", "stops"),
            count(fired(Level::Caution), "caution", "cautions"),
            count(open, "stop", "stops"),
            card.name
        ),
    );
    paragraph(
        out,
        "  ",
        "  ",
        "The instructions of the products, local codes and the licensed practitioner always prevail; this card supports \
         judgement and never replaces it, and no line of it is a clearance. Contaminated gloves touch no keyboard.",
    );
}

fn foot(out: &mut Doc, card: &Card) {
    let forecast = card.forecast;
    let _ = writeln!(
        out,
        "\ntrayward {}  parameters {}  {} samples",
        forecast.model_version,
        &forecast.parameters_hash[..12],
        forecast.effort.samples()
    );
    let _ = writeln!(out, "as of {} by {}", when::wall(card, forecast.now), card.present);
    let _ = writeln!(out, "any number: trayward source NAME {}", card.name);
    let _ = writeln!(out, "your own case: trayward example crown-silicone > mine.toml");
}
