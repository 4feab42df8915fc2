//! The card of a case: the sentence first, then what to ask, the windows, the routes, the numbers.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use axum::response::{Html, IntoResponse, Response};
use chain::Forecast;
use chain::report::VerdictWord;
use counsel::cautions::{Level, Look};
use maud::{Markup, html};

use super::House;
use super::ask::{OrWrong, Told, Wrong, code, told};
use super::clock::word;
use super::doc::{self, Ways};
use super::facts::{control, to_move, unanswered};
use super::frame::{Area, Page, chip, hidden, pedigree};
use crate::card::{self, Card, when};
use crate::digits::percent;
use crate::load::{Known, view};
use crate::{amounts_page, pictures};
use case_file::Case;

/// Everything that a card of the pages is made of.
struct Shown<'a> {
    card: Card<'a>,
    known: &'a Known,
    base: String,
}

impl Shown<'_> {
    fn ways(&self) -> Ways<'_> {
        Ways { base: &self.base, known: self.known, forecast: Some(self.card.forecast) }
    }
}

/// Calls `show` with the card of a case.
fn with_card<T>(
    house: &House,
    case: &Case,
    known: &Known,
    forecast: &Forecast,
    show: impl FnOnce(&Shown) -> T,
) -> anyhow::Result<T> {
    let view = view(case);
    let look = counsel::cautions::look(known.rulebook(), &view);
    let checks = counsel::visit::checks(&view, &known.stock.clinic)?;
    let card = Card {
        name: case.code.as_str(),
        case,
        forecast,
        parameters: &known.parameters,
        look: &look,
        checks: &checks,
        zone: house.zone.clone(),
        present: "the clock of this machine",
    };
    Ok(show(&Shown { card, known, base: format!("/case/{}/source/", case.code) }))
}

/// `GET /case/{code}`.
pub async fn page(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let code = code(&house, &text)?;
    let open = house.open(&code).await.map_err(|error| Wrong::absent(&house, format!("{error:#}")))?;
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    let (forecast, _) = house.forecast(&open, &session).await.or_wrong(&house)?;
    let case = session.case().clone();
    let known = Arc::clone(session.known());
    drop(session);
    let body = with_card(&house, &case, &known, &forecast, |shown| body(&house, shown)).or_wrong(&house)?;
    let title = format!("Card of {code}");
    Ok(Page { house: &house, title: &title, area: Area::Case, case: Some((&code, "")), body }.html())
}

fn body(house: &House, shown: &Shown) -> Markup {
    let Card { case, look, .. } = shown.card;
    let code = &case.code;
    let full = card::doc(&shown.card, false);
    let ways = shown.ways();
    html! {
        article.card #card data-code=(code) {
            p.over { (code) @if case.demo { " · demo" } @if let Some(title) = &case.title { " · " (title) } }
            h1 { (in_words(case)) }
            div #say { (say(shown)) }
            p.row { a.button.go href={ "/case/" (code) "/clock" } { "Run the clock" } " " a.button href={ "/case/" (code) "/prints" } { "Print" } }
            (ask(house, case, look, shown.card.forecast))
            section.sheet {
                div #when { (strip(shown)) }
                p #sharpening role="status" { "First answer; it is being sharpened." }
            }
            (what_if(house, case))
            section.sheet #routes data-load={ "/case/" (code) "/routes.part" } {
                h2 { "Routes" }
                p role="status" { "Every way from stock is being compared; a first answer comes at once. "
                    a href={ "/case/" (code) "/routes.part?pace=whole" } { "Show them" } }
            }
            div #numbers { (numbers(shown)) }
            div #pictures { (pictures_part(shown)) }
            section.sheet #thickness-part data-load={ "/case/" (code) "/thickness.part" } {
                h2 { "In the mouth" }
                p role="status" { "Temperature and cure through the thickness are being worked out. "
                    a href={ "/case/" (code) "/thickness.part" } { "Show them" } }
            }
            section.sheet {
                details { summary { b { "Amounts and waits" } } (amounts(shown)) }
                details { summary { b { "The whole visit" } } (doc::section(&full, "The whole visit", ways)) }
                details { summary { b { "Cautions" } } (cautions(shown)) }
                details { summary { b { "Taught, printed, forecast" } } (doc::markup(&card::instructions::doc(&shown.card), ways, &[])) }
                details { summary { b { "Contacts, heat, a second cast" } }
                    (doc::section(&full, "Contacts and heat", ways)) (doc::section(&full, "A second cast from the same impression", ways)) }
                details { summary { b { "What this rests on, and what is not in it" } }
                    (doc::section(&full, "Resting on remembered or assumed values", ways))
                    h3 { "Not in these figures yet" } (doc::section(&full, "Not in these figures yet", ways))
                    h3 { "Outside what was checked" } (doc::section(&full, "Outside what was checked", ways)) }
            }
            p.muted.small { "trayward " (shown.card.forecast.model_version) " · parameters " (&shown.card.forecast.parameters_hash[..12]) }
        }
    }
}

/// The situation in one line.
pub fn in_words(case: &Case) -> String {
    let situation = &case.situation;
    let teeth: Vec<String> = situation
        .abutments
        .iter()
        .filter_map(|abutment| abutment.tooth.known())
        .map(|tooth| tooth.to_string())
        .collect();
    let mut words = situation.purpose.word().to_owned();
    if let Some(first) = words.get(..1) {
        words = format!("{}{}", first.to_uppercase(), &words[1..]);
    }
    match teeth.as_slice() {
        [] => {}
        [one] => words.push_str(&format!(" on {one}")),
        many => words.push_str(&format!(" on {}", many.join(", "))),
    }
    let depths: Vec<f64> =
        situation.abutments.iter().filter_map(|abutment| abutment.margin_depth_m.known()).collect();
    if let Some(deepest) = depths.into_iter().reduce(f64::max) {
        words.push_str(&match deepest {
            m if m <= 0.0 => ", margin at the gum".to_owned(),
            m => format!(", margin {:.1} mm below the gum", m * 1e3),
        });
    } else if situation.purpose.has_die() {
        words.push_str(", depth of the margin not known");
    }
    words
}

/// The same for paper.
pub fn say_in_print(card: &Card, ways: Ways) -> Markup {
    said(card, ways, 3)
}

/// Stops, the sentence, what to do and when, and why.
fn say(shown: &Shown) -> Markup {
    said(&shown.card, shown.ways(), usize::MAX)
}

fn said(card: &Card, ways: Ways, most: usize) -> Markup {
    let Card { case, forecast, look, .. } = card;
    let verdict = &forecast.verdict;
    let checked = case.situation.purpose.in_checked_scope();
    html! {
        @for fired in look.fired.iter().filter(|fired| fired.rule.level == Level::Stop) {
            p.stopline { (chip("stop", "stop")) " " (fired.rule.says) " " (pedigree(&case.code, &fired.rule.id)) }
        }
        p.say {
            @if !checked { "Timed only: its error is outside what this model was checked for." }
            @else if !verdict.faults.is_empty() {
                "A usable result is " b { "unlikely" } ": a fault was found on inspection. Look again before anything else is done with it."
            } @else {
                @if verdict.word == VerdictWord::CannotTell {
                    "Whether the result will be usable " b { "cannot be told" } " (" (percent(verdict.usable.value)) " by the figures alone)"
                } @else { "A usable result is " b { (word(verdict.word)) } " (" (percent(verdict.usable.value)) ")" }
                @match verdict.captured {
                    Some(captured) => { ": margins captured " (percent(captured)) ", and given that, the rest serves " (percent(verdict.fits)) },
                    None => { ", provided it is free of visible faults" },
                }
                ". "
                @if verdict.word == VerdictWord::Unlikely { "Do not go by this plan. " }
                @if let Some(change) = &forecast.change_first { "Change " (change.link) " first: " (change.advice) ". " }
            }
        }
        @if verdict.mainly_assumed { p { (chip("caution", "mainly assumed")) " Over half of what is unsure hangs on remembered or assumed values." } }
        @if verdict.word != VerdictWord::Unlikely || !checked {
            ul.orders { @for order in when::orders(card) { li { (order_in_words(&order)) } } }
        }
        @if !verdict.reasons.is_empty() { ul.reasons { @for reason in verdict.reasons.iter().take(most) { li { (doc::linked(reason, ways)) } }
            @if verdict.reasons.len() > most { li { "and " (verdict.reasons.len() - most) " more, on the screen" } } } }
        p.muted { "Blood, a void, a drag or a missed margin spoils more impressions than everything counted below: inspect it first." }
    }
}

/// Columns of the terminal are no columns here.
fn order_in_words(order: &str) -> String {
    order.split_whitespace().collect::<Vec<_>>().join(" ")
}

/// How many questions stand open on the card; the others wait behind one tap.
const QUESTIONS: usize = 6;

fn ask(house: &House, case: &Case, look: &Look, forecast: &Forecast) -> Markup {
    let open = unanswered(case, look);
    let stops = |fact: &str| {
        look.open.iter().any(|open| open.rule.level == Level::Stop && open.hangs_on.contains(&fact))
    };
    let question = |fact: &'static str, words: &str, line: &Option<case_file::change::Line>| {
        html! {
            li.question {
                @if stops(fact) { (chip("stop", "could stop it")) } @else { (chip("caution", "ask")) }
                div {
                    p { (words) " " span.muted { (fact) } }
                    @match line {
                        Some(line) => (control(line, None)),
                        None => p.muted {
                            @let (end, words) = elsewhere(fact);
                            "It is answered " a href={ "/case/" (case.code) (end) } { (words) } "."
                        },
                    }
                }
            }
        }
    };
    html! {
        @if !open.is_empty() || !forecast.asks.is_empty() {
            section.sheet #ask {
                h2 { "Ask first" }
                @if !open.is_empty() {
                    p { (open.len()) (if open.len() == 1 { " question of safety is" } else { " questions of safety are" }) " not answered. Not answered is not \"no\"." }
                    form method="post" action={ "/case/" (case.code) "/facts" } data-stay {
                        (hidden(house, &format!("/case/{}", case.code)))
                        ul.questions { @for (fact, words, line) in open.iter().take(QUESTIONS) { (question(fact, words, line)) } }
                        @if open.len() > QUESTIONS {
                            details { summary { "and " (open.len() - QUESTIONS) " more" }
                                ul.questions { @for (fact, words, line) in open.iter().skip(QUESTIONS) { (question(fact, words, line)) } } }
                        }
                        @if open.iter().any(|(_, _, line)| line.is_some()) { button.plain { "Keep these answers" } }
                        p role="status" {}
                    }
                }
                @if !forecast.asks.is_empty() {
                    ul.reasons { @for ask in &forecast.asks { li { (ask.words) " " span.muted { "(" (ask.why) ")" } } } }
                }
            }
        }
    }
}

/// Where a question is answered that has no field of its own.
fn elsewhere(fact: &str) -> (&'static str, &'static str) {
    match fact {
        "visit.cords_missing" => ("/clock", "by what is counted on the clock"),
        fact if fact.starts_with("found.") => ("/inspect", "by the inspection"),
        fact if fact.starts_with("done.") => ("/clock", "by the clock"),
        _ => ("/facts", "by the facts of the case"),
    }
}

fn strip(shown: &Shown) -> Markup {
    pictures::strip(&shown.card, "strip")
}

/// The facts that move under a finger; the sentence, the strip and the numbers follow.
fn what_if(house: &House, case: &Case) -> Markup {
    html! {
        section.sheet.whatif {
            h2 { "What if" }
            p.muted { "Move a fact and the windows, the chance and the pictures follow; nothing is recorded before it is stated. "
                a href={ "/case/" (case.code) "/facts" } { "All facts" } }
            form #whatif data-stay method="post" action={ "/case/" (case.code) "/facts" } data-action={ "/case/" (case.code) "/what-if" } {
                (hidden(house, &format!("/case/{}", case.code)))
                div.grid { @for (line, words) in to_move(case) { (control(&line, Some(&words))) } }
                p.row { button.plain type="reset" #as-stated { "As stated" } " " button.plain { "State this" } }
                p #whatif-says role="status" {}
            }
        }
    }
}

fn numbers(shown: &Shown) -> Markup {
    let Card { case, forecast, .. } = shown.card;
    if !case.situation.purpose.in_checked_scope() {
        return html! {};
    }
    let full = card::doc(&shown.card, false);
    let ways = shown.ways();
    let drawn: Vec<_> = forecast
        .budgets
        .iter()
        .filter(|budget| {
            let key = pictures::key(budget.measure);
            !forecast.quantity(key).is_some_and(|quantity| quantity.beyond_checked)
        })
        .collect();
    html! {
        section.sheet {
            h2 { "Where the error comes from" }
            @match &forecast.change_first {
                Some(change) => p.say2 { "Change " b { (change.link) } " first: with that link ideal the chance would be " (percent(change.usable_if_ideal)) ". What that can mean: " (change.advice) "." },
                None => p.say2 { "No single link, made ideal, would raise the chance by 3 points or more." },
            }
            @if let Some((first, others)) = drawn.split_first() {
                (pictures::budget(first))
                p { (pedigree(&case.code, pictures::key(first.measure))) }
                @for budget in others {
                    details { summary { (pictures::budget_words(budget.measure)) } (pictures::budget(budget)) p { (pedigree(&case.code, pictures::key(budget.measure))) } }
                }
            } @else { p { "Beyond what was checked: no budget is drawn." } }
            details { summary { "What the chance hangs on" } (doc::section(&full, "Where it comes from", ways)) }
        }
        div.two {
            section.sheet { h2 { "Margins" } (doc::section(&full, "Margins", ways))
                @if forecast.margins.is_none() { p.muted { "There is no prepared margin." } } }
            section.sheet { h2 { "What comes out" } (doc::section(&full, "What comes out", ways)) }
        }
        section.sheet { h2 { "Against limits" } (doc::section(&full, "Against limits", ways)) }
    }
}

fn pictures_part(shown: &Shown) -> Markup {
    let Card { case, forecast, .. } = shown.card;
    let code = &case.code;
    html! {
        @if case.situation.purpose.in_checked_scope() {
            section.sheet { h2 { "When to pour" }
                @match pictures::chance(forecast) {
                    Some(picture) => { (picture) p { (pedigree(code, "verdict.margin")) } },
                    None => p.muted { "Poured at once; nothing is drawn." },
                }
            }
            @if let Some(picture) = pictures::strain(forecast) {
                section.sheet { h2 { "While it is kept" } (picture) p { (pedigree(code, "strain.holding")) } }
            }
            @if let Some(picture) = pictures::section(&case.situation, &case.route, forecast) {
                section.sheet { h2 { "In the tray" } (picture) p { (pedigree(code, "die.diameter")) " " (pedigree(code, "die.height")) } }
            }
        }
    }
}

fn amounts(shown: &Shown) -> Markup {
    let Card { case, forecast, parameters, .. } = shown.card;
    match counsel::amounts::measure(&view(case), parameters, forecast) {
        Ok(measure) => doc::markup(&amounts_page::measure_doc(case, &measure), shown.ways(), &[]),
        Err(error) => html! { p { (error.to_string()) } },
    }
}

fn cautions(shown: &Shown) -> Markup {
    let Card { case, look, .. } = shown.card;
    let adrenaline = counsel::cautions::adrenaline(shown.known.rulebook(), &view(case));
    let page = crate::cautions_page::Page {
        name: case.code.as_str(),
        case,
        rulebook: shown.known.rulebook(),
        look,
        adrenaline: &adrenaline,
    };
    doc::markup(&crate::cautions_page::doc(&page), shown.ways(), &[])
}

/// The parts that follow when a fact moves or a forecast becomes sharper.
///
/// # Errors
/// When the check list of the visit cannot be read.
pub fn moving_parts(
    house: &House,
    case: &Case,
    known: &Known,
    forecast: &Forecast,
) -> anyhow::Result<Vec<(&'static str, String)>> {
    with_card(house, case, known, forecast, |shown| {
        vec![
            ("say", say(shown).into_string()),
            ("when", strip(shown).into_string()),
            ("numbers", numbers(shown).into_string()),
            ("pictures", pictures_part(shown).into_string()),
        ]
    })
}

/// `GET /case/{code}/card.json`: the card with all samples, when it is there.
pub async fn sharp(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Response, Wrong> {
    let Told { open, case, known, .. } = told(&house, &text).await?;
    let forecast = house.sharp(&open).await.or_wrong(&house)?;
    let parts = moving_parts(&house, &case, &known, &forecast).or_wrong(&house)?;
    let says = format!("Sharpened: {} samples.", forecast.effort.samples());
    Ok(Json(serde_json::json!({ "parts": parts, "says": says })).into_response())
}

/// Moments at which the thickness is looked through, s after seating.
const MOMENTS: [f64; 5] = [5.0, 60.0, 120.0, 240.0, 480.0];

/// `GET /case/{code}/thickness.part`.
pub async fn thickness(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
) -> Result<Html<String>, Wrong> {
    let Told { case, known, now, .. } = told(&house, &text).await?;
    let profile = house
        .compute(move || {
            let Case { situation, route, stamps, observations, .. } = &case;
            let limits = known.limits(&case);
            Ok(chain::profile(
                situation,
                route,
                stamps,
                observations,
                &known.parameters,
                &limits,
                &MOMENTS,
                now,
            )?)
        })
        .await
        .or_wrong(&house)?;
    let part = html! { h2 { "In the mouth" } (pictures::thickness(&profile)) };
    Ok(Html(part.into_string()))
}
