//! What is printed: the case card, the laboratory sheet, the pour sheet; one side of paper each, black on white.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use terms::Instant;

use super::ask::{OrWrong, Told, Wrong, code, told};
use super::card::{in_words, say_in_print};
use super::doc::{self, Ways};
use super::facts::unanswered;
use super::frame::{Area, PREVAILS, Page, document};
use super::today::{by_calendar, rows};
use super::{House, today};
use crate::card::Card;
use crate::load::{Known, view};
use crate::pictures;
use crate::running::here;
use crate::sheet_page::{self, SheetPage};
use case_file::Case;

/// `GET /case/{code}/prints`.
pub async fn page(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let code = code(&house, &text)?;
    let body = html! {
        h1 { "Prints" }
        p { "One side of A4 or letter each, black on white. No name of a patient belongs on any of them." }
        ul.prints {
            li { a.button href={ "/case/" (code) "/print/card" } { "Case card" } " " span.muted { "for the chair: the sentence, what to ask, the windows, what to lay out" } }
            li { a.button href={ "/case/" (code) "/print/sheet" } { "Laboratory sheet" } " " span.muted { "goes with the impression: agent, lots, times, limits, what to look at on receipt" } }
            li { a.button href="/print/pour" { "Pour sheet" } " " span.muted { "all that waits, in the order in which to pour it" } }
        }
    };
    let title = format!("Prints of {code}");
    Ok(Page { house: &house, title: &title, area: Area::Case, case: Some((&code, "/prints")), body }.html())
}

/// A sheet of paper.
pub(super) fn paper(house: &House, title: &str, class: &str, back: &str, body: &Markup) -> Html<String> {
    let whole = html! {
        nav.unprinted { a.button href=(back) { "Back" } " " button.go #print type="button" { "Print" } }
        main class={ "paper " (class) } #content {
            (body)
            p.prevails { (PREVAILS) }
        }
    };
    Html(document(&house.token, title, whole).into_string())
}

fn head(house: &House, case: &Case, what: &str, now: Instant) -> Markup {
    html! {
        p.over { (what) " · " b { (case.code) } @if case.demo { " · demo" } @if let Some(title) = &case.title { " · " (title) }
            " · printed " (by_calendar(now, &house.zone, "%F %H:%M UTC%:z")) }
    }
}

fn signatures(names: &[&str]) -> Markup {
    html! { p.sign { @for name in names { span { (name) } } } }
}

/// `GET /case/{code}/print/card`.
pub async fn card(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let Told { code, open, case, known, .. } = told(&house, &text).await?;
    let forecast = house.sharp(&open).await.or_wrong(&house)?;
    let now = here().wall;
    let look = counsel::cautions::look(known.rulebook(), &view(&case));
    let checks = counsel::visit::checks(&view(&case), &known.stock.clinic)
        .map_err(|error| Wrong::asked(&house, error))?;
    let shown = Card {
        name: case.code.as_str(),
        case: &case,
        forecast: &forecast,
        parameters: &known.parameters,
        look: &look,
        checks: &checks,
        zone: house.zone.clone(),
        present: "the clock of this machine",
    };
    let base = format!("/case/{code}/source/");
    let ways = Ways { base: &base, known: &known, forecast: Some(&forecast) };
    let open_questions = unanswered(&case, &look);
    let body = html! {
        (head(&house, &case, "Case card", now))
        h1 { (in_words(&case)) }
        (say_in_print(&shown, ways))
        @if !open_questions.is_empty() {
            h2 { "Ask first: not answered is not \"no\"" }
            ul.asks { @for (_, words, _) in open_questions.iter().take(4) { li { span.box {} " " (words) } }
                @if open_questions.len() > 4 { li { "and " (open_questions.len() - 4) " more, on the card" } } }
        }
        div.beside {
            (pictures::strip(&shown, "strip"))
            div { h2 { "Cautions that hold" }
                ul.asks { @for fired in look.fired.iter().filter(|fired| fired.rule.level <= counsel::cautions::Level::Caution).take(5) {
                    li { b { (fired.rule.level) } " " (fired.rule.says) } } }
                @if !look.fired.iter().any(|fired| fired.rule.level <= counsel::cautions::Level::Caution) { p { "None of the rules fires on what is known. That is not a clearance." } } }
        }
        h2 { "Lay out" }
        div.columns { (amounts(&case, &known, &forecast, ways)) }
        p.small { "As of " (by_calendar(forecast.now, &house.zone, "%F %H:%M UTC%:z")) " · trayward " (forecast.model_version) " · parameters " (&forecast.parameters_hash[..12]) " · "
            (forecast.effort.samples()) " samples · where any number comes from: /case/" (code) " on the screen" }
        (signatures(&["seen by", "initials", "date"]))
    };
    Ok(paper(&house, &format!("Case card {code}"), "card", &format!("/case/{code}/prints"), &body))
}

fn amounts(case: &Case, known: &Known, forecast: &chain::Forecast, ways: Ways) -> Markup {
    match counsel::amounts::measure(&view(case), &known.parameters, forecast) {
        Ok(measure) => {
            let doc = crate::amounts_page::measure_doc(case, &measure);
            html! { (doc::section(&doc, "Measure", ways)) (doc::section(&doc, "Wait", ways)) }
        }
        Err(error) => html! { p { (error.to_string()) } },
    }
}

/// `GET /case/{code}/print/sheet`.
pub async fn sheet(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let Told { code, open, case, known, .. } = told(&house, &text).await?;
    let forecast = house.sharp(&open).await.or_wrong(&house)?;
    let now = here().wall;
    let look = counsel::cautions::look(known.rulebook(), &view(&case));
    let sheet = counsel::sheet::sheet(&view(&case), &forecast, &look, &known.parameters)
        .map_err(|error| Wrong::asked(&house, error))?;
    let doc = sheet_page::doc(&SheetPage {
        name: case.code.as_str(),
        case: &case,
        sheet: &sheet,
        zone: &house.zone,
    });
    let base = format!("/case/{code}/source/");
    let ways = Ways { base: &base, known: &known, forecast: Some(&forecast) };
    let body = html! {
        (head(&house, &case, "Laboratory sheet", now))
        h1 { (in_words(&case)) }
        div.columns { (doc::on_paper(&doc, ways)) }
        p.legal { "Local legal text:" }
        (signatures(&["sent", "signed", "received", "signed"]))
    };
    Ok(paper(
        &house,
        &format!("Laboratory sheet {code}"),
        "sheet-print",
        &format!("/case/{code}/prints"),
        &body,
    ))
}

/// `GET /print/pour`.
pub async fn pour(
    State(house): State<Arc<House>>,
    Query(asked): Query<today::Asked>,
) -> Result<Html<String>, Wrong> {
    let (queue, line_up, hands) = today::queue(&house, &asked).await.or_wrong(&house)?;
    let now = here().wall;
    let body = html! {
        p.over { "Pour sheet" @if house.demo { " · demo" } " · printed " (by_calendar(now, &house.zone, "%F %H:%M UTC%:z")) }
        h1 { "What to pour, in this order" }
        @match &line_up {
            None => p.say { "Nothing waits to be poured." },
            Some(line_up) => {
                @let rows = rows(&queue, line_up, &hands, &house.zone);
                @let late: Vec<&str> = rows.iter().filter(|row| row.late).map(|row| row.code.as_str()).collect();
                p.say { @if late.is_empty() { "Nothing is late in this order." } @else { (late.join(", ")) " cannot be kept in time in this order; what would save it stands on the screen." } }
                div.scroll { table.pour {
                    thead { tr { th { "order" } th { "impression" } th { "stone" } th { "pour" } th { "ready from" } th { "begin by" } th { "poured at" } th { "by" } } }
                    tbody { @for (place, row) in rows.iter().enumerate() {
                        tr { td { (place + 1) } th scope="row" { (row.code) br; span.small { (row.title) } }
                            td { (row.says[1]) } td { (row.says[2].trim_start_matches("pour ")) } td { (row.says[3]) }
                            td { @if row.late { b { "LATE " } } (row.says[4]) } td.blank {} td.blank {} }
                    } }
                } }
                p.small { "One mix takes " (crate::digits::span(hands.mix_s)) ", each pour " (crate::digits::span(hands.pour_s)) "; " (hands.casts) " casts of a mix, which stays pourable "
                    (crate::digits::span(hands.pot_s)) "; " (hands.pairs) " pair of hands. A printed end is never moved. Water is never added to a mix that has begun to set (common practice)." }
            }
        }
        (signatures(&["poured by", "date"]))
    };
    Ok(paper(&house, "Pour sheet", "pour-print", "/", &body))
}
