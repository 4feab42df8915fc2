//! The parts of the page: knobs, what was said and what came of it, and what stands around the pictures.

use chain::windows::Edge;
use maud::{Markup, PreEscaped, html};
use terms::{Action, Bound, ClockOrigin, ImpressionClass};

use super::bases::BASES;
use super::foresee::{ASKED, Asked, Direction, Outcome, outcome, share};
use super::knobs::{self, Knob, Look, Refused, Slide};
use super::pictures;
use super::shown::Shown;
use super::state::{State, VIEWS};
use crate::digits::{self, interval, percent, span};
use crate::pages::frame::{address, chip};
use case_file::Case;

/// All that the page shows of a state.
pub struct Sight<'a> {
    /// The state.
    pub state: &'a State,
    /// The base case.
    pub base: &'a Case,
    /// What it is compared with; none where nothing differs from it.
    pub held: Option<&'a Shown>,
    /// As the knobs stand; none while that is kept back or refused.
    pub now: Option<&'a Shown>,
    /// What cannot be turned so.
    pub refused: &'a Refused,
}

impl Sight<'_> {
    /// The one that is shown in any case.
    fn any(&self) -> Option<&Shown> {
        self.now.or(self.held)
    }

    /// What the other curve is called.
    pub fn held_name(&self) -> &'static str {
        if self.state.frozen.is_some() { "frozen" } else { "usual" }
    }
}

/// Every part that follows, with its identifier.
pub fn parts(sight: &Sight) -> Vec<(String, Markup)> {
    let mut list: Vec<(String, Markup)> =
        knobs_of(sight).map(|knob| (format!("by-{}", knob.name), beside(sight, knob))).collect();
    let mut add = |id: &str, markup: Markup| list.push((id.to_owned(), markup));
    add("class-kept", kept(sight));
    add("class-say", say(sight));
    add("class-choose", choose(sight.state));
    // Where results follow at once, the curves come first.
    let (before, after) = match sight.state.at_once {
        true => (html! {}, foresee(sight)),
        false => (foresee(sight), html! {}),
    };
    add("class-foresee", before);
    add("class-pictures", pictures::pictures(sight));
    add("class-after", after);
    add("class-three", three(sight));
    add("class-link", link(sight));
    list
}

fn knobs_of<'a>(sight: &Sight<'a>) -> impl Iterator<Item = &'static Knob> + use<'a> {
    knobs::of(sight.base.route.material.class)
}

/// The form of the knobs.
pub fn form(sight: &Sight, part: impl Fn(&str) -> Markup) -> Markup {
    html! {
        form.material method="get" action="/class" {
            div {
                label for="class-material" { "Material" }
                select name="material" id="class-material" {
                    @for base in BASES { option value=(base.name) selected[base.name == sight.state.base.name] { (base.words) } }
                }
            }
            @if sight.state.at_once { input type="hidden" name="ask" value="no"; }
            button.plain { "Take it" }
        }
        p.muted.small { (sight.base.title.as_deref().unwrap_or("")) ". An invented tooth and room." }
        form #turn method="get" action="/class" data-parts="/class/parts" {
            input type="hidden" name="material" value=(sight.state.base.name);
            span #class-kept { (part("class-kept")) }
            @for knob in knobs_of(sight) {
                @let text = sight.state.turned.get(knob.name).cloned().unwrap_or_else(|| knob.said(sight.base));
                div.knob {
                    @match knob.look() {
                        Look::Slide(slide) => (slider(knob, slide, &text)),
                        Look::Choice(list) => {
                            label for={ "k-" (knob.name) } { (knob.words) }
                            select id={ "k-" (knob.name) } name=(knob.name) aria-describedby={ "by-" (knob.name) } {
                                @for (value, words) in &list { option value=(value) selected[*value == text] { (words) } }
                                @if !list.iter().any(|(value, _)| *value == text) { option value=(text) selected { (text) } }
                            }
                        },
                    }
                    p.by id={ "by-" (knob.name) } { (part(&format!("by-{}", knob.name))) }
                }
            }
            p.row { button.plain #class-turn { "Turn" } }
        }
    }
}

fn slider(knob: &Knob, slide: Slide, text: &str) -> Markup {
    let Slide { low, high, step, power, unit } = slide;
    let share = case_file::with_point(text)
        .parse::<f64>()
        .map_or(0.5, |value| ((value - low) / (high - low)).clamp(0.0, 1.0).powf(1.0 / power));
    html! {
        label for={ "k-" (knob.name) } { (knob.words) span.muted { ", " (knobs::short(low)) " to " (knobs::short(high)) " " (unit) } }
        div.turner {
            input.slide type="range" min="0" max="1000" step="1" hidden value=(format!("{:.0}", 1000.0 * share))
                data-low=(low) data-high=(high) data-power=(power) data-step=(step) data-for=(knob.name)
                aria-label={ (knob.words) ", by sliding" };
            input id={ "k-" (knob.name) } name=(knob.name) value=(text) inputmode="decimal" autocomplete="off" maxlength="40"
                aria-describedby={ "by-" (knob.name) };
        }
    }
}

/// What stands under a knob: how it stands otherwise, and why it cannot stand so.
fn beside(sight: &Sight, knob: &Knob) -> Markup {
    let State { turned, frozen, .. } = sight.state;
    let usual = knob.said(sight.base);
    html! {
        @if let Some(why) = sight.refused.of(knob.name) { span.refusal { b { "Refused: " } (why) } " " }
        @if turned.contains_key(knob.name) { "usual " (usual) }
        @if let Some(text) = frozen.as_ref().and_then(|frozen| frozen.get(knob.name)) { " · frozen " (text) }
    }
}

/// What a form carries along.
fn kept(sight: &Sight) -> Markup {
    let state = sight.state;
    html! {
        @if sight.now.is_some() { input type="hidden" name="shown" value=(super::state::mark(&state.turned)); }
        @if let Some(frozen) = &state.frozen {
            input type="hidden" name="frozen" value="yes";
            @for (name, text) in frozen { input type="hidden" name={ "was." (name) } value=(text); }
        }
        @if state.at_once { input type="hidden" name="ask" value="no"; }
        @if state.view != "all" { input type="hidden" name="view" value=(state.view); }
    }
}

/// What differs, in a sentence.
fn say(sight: &Sight) -> Markup {
    let differing = sight.state.differing();
    let value = |knob: &Knob, turned: &super::state::Turned| {
        turned.get(knob.name).cloned().unwrap_or_else(|| knob.said(sight.base))
    };
    let unit = |knob: &Knob| match knob.look() {
        Look::Slide(slide) => format!(" {}", slide.unit),
        Look::Choice(_) => String::new(),
    };
    html! {
        @if differing.is_empty() {
            p.say { (capital(sight.state.base.words)) @if sight.state.frozen.is_some() { ", as it was frozen" } @else { ", as usual" } ". Turn one knob." }
        } @else {
            p.say {
                (capital(sight.state.base.words)) ": "
                @for (place, knob) in knobs::KNOBS.iter().filter(|knob| differing.contains(&knob.name)).enumerate() {
                    @if place > 0 { "; " }
                    @let (now, held) = (value(knob, &sight.state.turned), value(knob, sight.state.held()));
                    (knob.words.to_lowercase()) " " b { (now) } " instead of " (held) (unit(knob))
                }
                "."
            }
            @if differing.len() > 1 {
                p { (chip("caution", "more than one knob")) " " (differing.len()) " knobs differ from what is compared with: what changes cannot be put down to one of them. Freeze after each." }
            }
        }
        @for why in &sight.refused.other { p.stopline { b { "Refused: " } (why) } }
        @if !sight.refused.by_knob.is_empty() || !sight.refused.other.is_empty() { p.stopline { "It cannot be turned so; what is refused says why beside its knob. The curves are those to compare." } }
    }
}

fn capital(text: &str) -> String {
    let mut letters = text.chars();
    letters.next().map_or_else(String::new, |first| first.to_uppercase().chain(letters).collect())
}

/// Ways to other views of the same state.
fn choose(state: &State) -> Markup {
    let pair = |name: &str, value: &str| {
        let kept = state.query();
        let others = form_urlencoded::parse(kept.as_bytes()).filter(|(known, _)| known != name);
        let mut written = form_urlencoded::Serializer::new(String::new());
        written.extend_pairs(others);
        if !matches!(value, "all" | "yes") {
            written.append_pair(name, value);
        }
        format!("/class?{}", written.finish())
    };
    html! {
        div.chosen { nav.views aria-label="Pictures" {
            @for (name, words) in VIEWS { a href=(pair("view", name)) aria-current=[(*name == state.view).then_some("true")] { (capital(words)) } }
        }
        nav.views aria-label="Asking" {
            a href=(pair("ask", "yes")) aria-current=[(!state.at_once).then_some("true")] { "Predict first" }
            a href=(pair("ask", "no")) aria-current=[state.at_once.then_some("true")] { "Show at once" }
        } }
    }
}

/// Asking, or what came of it.
fn foresee(sight: &Sight) -> Markup {
    let state = sight.state;
    let refused = !sight.refused.by_knob.is_empty() || !sight.refused.other.is_empty();
    if refused || !state.differs() {
        return html! {};
    }
    match (sight.held, sight.now) {
        (Some(held), Some(now)) => came(sight, held, now),
        _ => html! {
            section.sheet.foresee {
                h2 { "What will happen? Say before it is shown" }
                p.muted { "By a show of hands, counted here, or as the class agrees. One answer is enough to reveal; nothing is recorded." }
                @for asked in ASKED { (question(state, asked)) }
            }
        },
    }
}

fn question(state: &State, asked: &Asked) -> Markup {
    let said = state.said.get(asked.name);
    html! {
        fieldset {
            legend { (asked.words) span.muted { ": no change is less than " (asked.matters_words) " either way" } }
            div.answers {
                @for direction in Direction::ALL {
                    @let id = format!("say-{}-{}", asked.name, direction.name());
                    div.answer {
                        span.tile {
                            input type="radio" form="turn" id=(id) name={ "say." (asked.name) } value=(direction.name())
                                checked[said.is_some_and(|said| said.choice == Some(direction))];
                            label for=(id) { @if direction == Direction::Same { "no change" } @else { (asked.way(direction)) } }
                        }
                        label.hands { span { "hands" span.heard { " for " (asked.way(direction)) } }
                            input type="number" form="turn" min="0" max="999" step="1" name={ "hands." (asked.name) "." (direction.name()) }
                                value=(said.and_then(|said| said.hands.get(&direction)).map_or_else(String::new, u32::to_string));
                        }
                    }
                }
            }
        }
    }
}

/// The result beside what was said.
fn came(sight: &Sight, held: &Shown, now: &Shown) -> Markup {
    let asked_first = sight.state.shows_what_was_said();
    html! {
        section.sheet.came {
            h2 #class-came tabindex="-1" { @if asked_first { "What was said, and what comes of it" } @else { "What comes of it" } }
            p.muted { "The same " (now.forecast.effort.samples()) " samples before and after, compared one by one. A direction is told where it holds in at least 80 %." }
            div.scroll tabindex="0" role="region" aria-label="Predictions and results" { table.results {
                thead { tr {
                    th scope="col" { "quantity" } th scope="col" { "less" } th scope="col" { "no change" } th scope="col" { "more" } th scope="col" { "the model says" }
                } }
                tbody { @for asked in ASKED { (row(sight, asked, held, now, asked_first)) } }
            } }
            details { summary { "The values themselves, now and " (sight.held_name()) }
                div.scroll tabindex="0" role="region" aria-label="Values" { table {
                    thead { tr { th scope="col" { "quantity" } th scope="col" { "now, 90 % interval" } th scope="col" { (sight.held_name()) ", 90 % interval" } } }
                    tbody { @for asked in ASKED { tr { th scope="row" { (asked.words) } td { (asked.value(now)) } td { (asked.value(held)) } } } }
                } }
            }
        }
    }
}

fn row(sight: &Sight, asked: &Asked, held: &Shown, now: &Shown, asked_first: bool) -> Markup {
    let found: Option<Outcome> = outcome(asked, held, now);
    let said = sight.state.said.get(asked.name);
    html! {
        tr {
            th scope="row" { (asked.words) br; (key(sight, asked.id)) }
            @for (place, direction) in Direction::ALL.into_iter().enumerate() {
                td class=[found.as_ref().is_some_and(|found| found.told == Some(direction)).then_some("told")] {
                    @if direction == Direction::Same { "no change" } @else { (asked.way(direction)) }
                    @if let Some(found) = &found { ": " span.whole { "holds in " (share(found.shares[place])) } }
                    @if asked_first {
                        @let hands = said.and_then(|said| said.hands.get(&direction));
                        @let chosen = said.is_some_and(|said| said.choice == Some(direction));
                        @if chosen || hands.is_some() { br; }
                        @if chosen { b.whole { "✓ said" } " " }
                        @if let Some(hands) = hands { b.whole { (hands) @if *hands == 1 { " hand" } @else { " hands" } } }
                    }
                }
            }
            td {
                @match &found {
                    Some(found) => {
                        b { @match found.told { Some(direction) => (asked.way(direction)), None => "The model cannot tell" } }
                        br; "change " (found.difference)
                        @if let Some(of) = found.of { br; span.muted.small { "shares " (of) } }
                    },
                    None => "There is no such number here.",
                }
            }
        }
    }
}

/// A number of the shown state as a way to its pedigree; its link holds the state.
pub fn key(sight: &Sight, id: &str) -> Markup {
    let query = sight.state.query();
    // What a forecast does not list by itself is explained by the number that it is made of.
    let id = match id {
        "ready.from_mix" => "window.remove.opens",
        "verdict.usable" => "verdict.margin",
        other => other,
    };
    html! { a.key href={ "/class/source/" (PreEscaped(address(id))) "?" (query) } title={ "where " (id) " comes from" } { (id) } }
}

/// A ledger row as a way to its pedigree.
pub fn row_key(key: &str) -> Markup {
    html! { a.key href={ "/source/" (PreEscaped(address(key))) } title={ "where " (key) " comes from" } { (key) } }
}

/// Taught, printed and forecast, apart.
fn three(sight: &Sight) -> Markup {
    let Some(any) = sight.any() else { return html! {} };
    let from = |origin: ClockOrigin| match origin {
        ClockOrigin::StartOfMix if any.case.route.material.class == ImpressionClass::Agar => {
            "from leaving the bath"
        }
        ClockOrigin::StartOfMix => "from the start of mixing",
        ClockOrigin::InTheMouth => "in the mouth",
        ClockOrigin::Removal => "after removal",
        ClockOrigin::Pour => "after pouring",
    };
    let forecast_of = |edge: &Edge| match edge.forecast_s {
        Some(found) => {
            let more = if edge.beyond_checked { " or beyond" } else { "" };
            format!("{} to {}{more} {}", span(found.low), span(found.high), from(edge.origin))
        }
        None => "no limit from the models".to_owned(),
    };
    let edges = |shown: &Shown, action: Action, bound: Bound| -> Option<Edge> {
        let window = shown.forecast.window(action)?;
        Some(match bound {
            Bound::Minimum => window.opens.clone(),
            Bound::Maximum => window.closes.clone(),
        })
    };
    let steps: Vec<(Action, Bound, Edge)> = any
        .forecast
        .windows
        .iter()
        .flat_map(|window| [(window.action, Bound::Minimum), (window.action, Bound::Maximum)])
        .filter_map(|(action, bound)| Some((action, bound, edges(any, action, bound)?)))
        .filter(|(_, _, edge)| {
            edge.forecast_s.is_some() || !edge.taught.is_empty() || !edge.instructed.is_empty()
        })
        .collect();
    let words = |action: Action, bound: Bound| {
        let action = if action == Action::Mix { "mixed" } else { action.word() };
        format!("{action} {}", if bound == Bound::Minimum { "not before" } else { "not after" })
    };
    html! {
        section.sheet {
            h2 { "What is taught, what is printed, what is forecast" }
            p.muted { "Three things that stay apart. The printed instruction of the product in hand prevails; products here are invented." }
            div.scroll tabindex="0" role="region" aria-label="Taught, printed, forecast" { table {
                thead { tr {
                    th scope="col" { "step" } th scope="col" { "taught" } th scope="col" { "printed" }
                    @if sight.now.is_some() { th scope="col" { "forecast now, 90 %" } }
                    @if sight.held.is_some() { th scope="col" { "forecast " (sight.held_name()) ", 90 %" } }
                } }
                tbody {
                    @for (action, bound, edge) in &steps {
                        tr {
                            th scope="row" { (words(*action, *bound)) }
                            td { @if edge.taught.is_empty() { "–" }
                                @for rule in &edge.taught { p { (rule.rule) " " (row_key(&rule.key)) } } }
                            td { @if edge.instructed.is_empty() { "nothing: consult the instructions" }
                                @for limit in &edge.instructed { p { (span(limit.seconds)) " " (from(limit.origin)) " (" (limit.product) ")" } } }
                            @for shown in [sight.now, sight.held].into_iter().flatten() {
                                td { (edges(shown, *action, *bound).as_ref().map_or_else(String::new, forecast_of)) }
                            }
                        }
                    }
                }
            } }
            @for (shown, name) in [(sight.now, "now"), (sight.held, sight.held_name())] {
                @if let Some(shown) = shown {
                    @let verdict = &shown.forecast.verdict;
                    details { summary { "What the chain says beside the figures, " (name) }
                        p { "Chance of a usable result: " (percent(verdict.usable.value)) ". Width of the die: "
                            (width(shown)) " " (key(sight, "die.diameter")) }
                        ul { @for reason in verdict.reasons.iter().chain(&shown.forecast.outside) { li { (reason) } } }
                    }
                }
            }
        }
    }
}

fn width(shown: &Shown) -> String {
    match shown.forecast.quantity("die.diameter") {
        Some(quantity) if quantity.beyond_checked => digits::beyond(quantity.interval, 1e6, "µm", true),
        Some(quantity) => interval(quantity.interval, 1e6, "µm"),
        None => "–".to_owned(),
    }
}

/// The link, and what makes it reproduce the same figures.
fn link(sight: &Sight) -> Markup {
    let address = format!("/class?{}", sight.state.query());
    html! {
        p { "This state: " a #class-address href=(address) { (address) } }
        @if let Some(any) = sight.any() {
            p.muted.small {
                "A link shows the same figures wherever it is opened with trayward " (any.forecast.model_version) " and parameters "
                (&any.forecast.parameters_hash[..12]) ": " (any.forecast.effort.samples()) " samples, the same in every state. Nothing is recorded."
            }
        }
    }
}
