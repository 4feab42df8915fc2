//! Sources: every value with its pedigree, the outside checks, the coverage of published outcomes.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Html;
use chain::Forecast;
use maud::{PreEscaped, html};
use pulldown_cmark::{Event, Options, Parser};

use super::House;
use super::ask::{OrWrong, Told, Wrong, told};
use super::doc::{self, Ways};
use super::frame::{Area, Page, address};
use crate::load::Known;
use crate::sources;

/// What is looked for.
#[derive(serde::Deserialize)]
pub struct Asked {
    q: Option<String>,
}

/// Rows that are shown before the rest is only counted.
const MOST: usize = 60;

/// `GET /sources`.
pub async fn page(
    State(house): State<Arc<House>>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Wrong> {
    let known = house.known().or_wrong(&house)?;
    let wanted = asked.q.as_deref().unwrap_or("").trim().to_lowercase();
    let words: Vec<&str> = wanted.split_whitespace().collect();
    let fits = |text: &str| words.iter().all(|word| text.contains(word));
    let rows: Vec<_> = known
        .parameters
        .values()
        .filter(|value| {
            fits(
                &format!("{} {} {} {}", value.key, value.quantity, value.source, value.grade.word())
                    .to_lowercase(),
            )
        })
        .collect();
    let rules: Vec<_> = known
        .rulebook()
        .rules()
        .iter()
        .filter(|rule| {
            !words.is_empty() && fits(&format!("{} {} {}", rule.id, rule.says, rule.source).to_lowercase())
        })
        .collect();
    let all = known.parameters.values().count();
    let body = html! {
        h1 { "Sources" }
        p { "Every number leads here. Grades, best first: measured here; published, full table read; published, abstract only; standard, text read; standard or handbook, from memory; assumed." }
        p.row {
            a.button href="/sources/checks" { "Checks against things outside" } " "
            a.button href="/sources/coverage" { "Published outcomes, run blind" } " "
            a.button href="/sources/model" { "The model" } " "
            a.button href="/sources/cautions" { "The rulebook of cautions" }
        }
        form.readings method="get" action="/sources" role="search" {
            label { "Look for a name, a quantity, an author or a grade" input name="q" value=(asked.q.as_deref().unwrap_or("")) autocomplete="off"; }
            button.plain { "Look" }
        }
        p.muted { (rows.len()) " of " (all) " values" @if !rules.is_empty() { " and " (rules.len()) " rules" } " fit." }
        @if rows.is_empty() && rules.is_empty() { p { "Nothing fits. Fewer letters find more." } }
        div.scroll { table {
            thead { tr { th { "name" } th { "what it is" } th { "value" } th { "grade" } } }
            tbody {
                @for rule in rules.iter().take(MOST) { tr { th scope="row" { a.key href={ "/source/" (address(&rule.id)) } { (rule.id) } } td { (rule.says) } td { (rule.level) } td { (rule.grade) } } }
                @for value in rows.iter().take(MOST) {
                    tr { th scope="row" { a.key href={ "/source/" (address(&value.key)) } { (value.key) } } td { (value.quantity) } td { (value.central) @if value.unit != "1" { " " (value.unit) } } td { (value.grade.word()) } }
                }
            }
        } }
        @if rows.len() > MOST { p.muted { "and " (rows.len() - MOST) " more: look for something narrower." } }
    };
    Ok(Page { house: &house, title: "Sources", area: Area::Sources, case: None, body }.html())
}

/// `GET /source/{key}`.
pub async fn source(State(house): State<Arc<House>>, Path(key): Path<String>) -> Result<Html<String>, Wrong> {
    let known = house.known().or_wrong(&house)?;
    let body = pedigree(&house, &known, None, &key, "/source/")?;
    Ok(Page { house: &house, title: &key, area: Area::Sources, case: None, body }.html())
}

/// `GET /case/{code}/source/{key}`.
pub async fn of_case(
    State(house): State<Arc<House>>,
    Path((text, key)): Path<(String, String)>,
) -> Result<Html<String>, Wrong> {
    let Told { code, open, known, .. } = told(&house, &text).await?;
    // A ledger row needs no forecast; a number of the card is explained from all samples.
    let forecast = match sources::has_pedigree(&key, &known, None) {
        true => None,
        false => Some(house.sharp(&open).await.or_wrong(&house)?),
    };
    let base = format!("/case/{code}/source/");
    let body = pedigree(&house, &known, forecast.as_deref(), &key, &base)?;
    Ok(Page { house: &house, title: &key, area: Area::Case, case: Some((&code, "/source")), body }.html())
}

/// A pedigree as a part of a page.
///
/// # Errors
/// When there is no such number or row.
pub fn pedigree(
    house: &Arc<House>,
    known: &Known,
    forecast: Option<&Forecast>,
    key: &str,
    base: &str,
) -> Result<maud::Markup, Wrong> {
    let Some(doc) = sources::pedigree(key, known, forecast) else {
        return Err(Wrong::absent(
            house,
            format!(
                "There is no number or row \"{key}\" here. Sources has all rows; numbers of a card are reached from the card."
            ),
        ));
    };
    Ok(html! {
        h1 { (key) }
        section.sheet.pedigree { (doc::markup(&doc, Ways { base, known, forecast }, &[])) }
        p { a.button href="/sources" { "All sources" } }
    })
}

/// `GET /sources/{document}`: a document as it was computed; the tests compute it again and compare.
pub async fn document(
    State(house): State<Arc<House>>,
    Path(name): Path<String>,
) -> Result<Html<String>, Wrong> {
    let (title, text, how) = match name.as_str() {
        "checks" => ("Checks", include_str!("../../../../docs/checks.md"), "trayward checks"),
        "coverage" => ("Coverage", include_str!("../../../../docs/coverage.md"), "trayward coverage"),
        "model" => ("The model", include_str!("../../../../docs/model.md"), "trayward source NAME"),
        "cautions" => ("Cautions", include_str!("../../../../docs/cautions.md"), "trayward cautions"),
        _ => return Err(Wrong::absent(&house, format!("There is no document \"{name}\" here."))),
    };
    // Nothing in the documents is markup of its own.
    let events = Parser::new_ext(text, Options::ENABLE_TABLES).map(|event| match event {
        Event::Html(html) | Event::InlineHtml(html) => Event::Text(html),
        other => other,
    });
    let mut written = String::new();
    pulldown_cmark::html::push_html(&mut written, events);
    let written = written
        .replace("<th></th>", "<td></td>")
        .replace("<table>", "<div class=\"scroll\" tabindex=\"0\"><table>")
        .replace("</table>", "</table></div>");
    let body = html! {
        p.muted { "As computed for this version; " code { (how) } " computes it again, and the tests do so and compare." }
        article.document { (PreEscaped(written)) }
    };
    Ok(Page { house: &house, title, area: Area::Sources, case: None, body }.html())
}
