//! One set: what it froze, its items with their keys, and what would come out otherwise today.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Response};
use maud::{Markup, html};
use questions::{Changed, QuestionSet, recheck};

use super::super::House;
use super::super::ask::{OrWrong, Wrong};
use super::{of_set, sitting, words};
use crate::questions_page::key_in_words;
use crate::school::Sitting;

/// What is asked of the page.
#[derive(serde::Deserialize)]
pub struct Asked {
    recheck: Option<String>,
}

/// `GET /questions/{code}`.
pub async fn page(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Wrong> {
    let sitting = sitting(&house, &text).await?;
    let changed = match asked.recheck {
        Some(_) => Some(rechecked(&house, &sitting).await?),
        None => None,
    };
    let (code, set) = (&sitting.code, &sitting.set);
    let base = format!("/questions/{code}");
    let body = html! {
        h1 { "Set " (code) }
        p.row {
            a.button href={ (base) "/table.csv" } download { "Answers (CSV)" } a.button href={ (base) "/package.zip" } { "QTI package" }
        }
        section.sheet { h2 { "What it froze" }
            dl.facts-of {
                dt { "Number" } dd { (set.number) }
                dt { "Blueprint" } dd { (blueprint(set)) }
                dt { "Models" } dd { (set.model_version) }
                dt { "Parameters" } dd { code.hash { (set.parameters_hash) } }
                dt { "Answered by" } dd { (words::counted(sitting.book.learners().len(), "learner")) }
            }
        }
        @if !set.wanting.is_empty() {
            section.sheet { h2 { "Asked for and not to be had" } ul { @for line in &set.wanting { li { (line) } } } }
        }
        section.sheet { h2 { "Items" }
            div.scroll role="region" tabindex="0" aria-label="Items" { table {
                thead { tr { th scope="col" { "no." } th scope="col" { "question" } th scope="col" { "topic, level" } th scope="col" { "key" } th scope="col" { "the key holds" } } }
                tbody { @for (place, frozen) in set.items.iter().enumerate() {
                    @let item = &frozen.item;
                    tr { td { (place + 1) }
                        th scope="row" { (item.lead_in) br; span.muted.small { (item.id) } }
                        td { (item.topic.as_deref().unwrap_or("")) @if let Some(level) = item.level { ", " (level.word()) } }
                        td { (key_in_words(item)) } td { (words::holds(frozen)) } }
                } }
            } }
        }
        section.sheet { h2 { "What has changed since" }
            div #recheck {
                @match &changed {
                    Some(changed) => (said(set, changed)),
                    None => {
                        p { "A set stays as it was frozen. Every key can be asked for again with the ledger, the rulebook and the templates of today." }
                        p { a.button href={ (base) "?recheck=1#recheck" } data-part={ (base) "/recheck.part" } data-into="recheck" { "Ask for every key again" } }
                        p role="status" {}
                    }
                }
            }
        }
    };
    Ok(of_set(&house, code, "", "Set", &body))
}

/// What was asked for, or where the items come from.
fn blueprint(set: &QuestionSet) -> String {
    let count = words::counted(set.items.len(), "item");
    let Some(blueprint) = &set.blueprint else {
        return format!("{count} taken over from elsewhere, with the keys of their authors");
    };
    let listed =
        |list: Vec<String>, none: &str| if list.is_empty() { none.to_owned() } else { list.join(", ") };
    let topics = blueprint.topics.iter().map(|(topic, weight)| format!("{topic} {weight}")).collect();
    let levels =
        blueprint.levels.iter().map(|(level, weight)| format!("{} {weight}", level.word())).collect();
    format!(
        "{}; topics by weight: {}; levels by weight: {}",
        words::counted(blueprint.items, "item"),
        listed(topics, "all, by their templates"),
        listed(levels, "as they come")
    )
}

/// `GET /questions/{code}/recheck.part`.
pub async fn recheck_part(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
) -> Result<Html<String>, Wrong> {
    let sitting = sitting(&house, &text).await?;
    Ok(Html(said(&sitting.set, &rechecked(&house, &sitting).await?).into_string()))
}

async fn rechecked(house: &Arc<House>, sitting: &Sitting) -> Result<Vec<Changed>, Wrong> {
    let known = house.known().or_wrong(house)?;
    let set = sitting.set.clone();
    house.compute_quietly(move || Ok(recheck(&known.world(), known.templates()?, &set))).await.or_wrong(house)
}

fn said(set: &QuestionSet, changed: &[Changed]) -> Markup {
    let elsewhere = set.items.iter().filter(|frozen| frozen.made.is_none()).count();
    html! {
        @if elsewhere > 0 { p { (words::counted(elsewhere, "item")) " read from elsewhere: nothing here made the keys, and nothing was asked." } }
        @if elsewhere == set.items.len() {}
        @else if changed.is_empty() { p role="status" { "Nothing: every item would come out the same today, bit by bit." } }
        @else {
            p role="status" { (words::counted(changed.len(), "item")) " would come out otherwise today:" }
            ul { @for item in changed { li { "Item " (item.place) ", " (item.item) ": " (item.what) "." @if item.key { " " b { "Look at it before the set is marked again." } } } } }
        }
    }
}

/// `GET /questions/{code}/package.zip`.
pub async fn package(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Response, Wrong> {
    let sitting = sitting(&house, &text).await?;
    let bytes = questions::qti::write(&format!("Trayward set {}", sitting.set.number), &sitting.items)
        .map_err(|error| Wrong::asked(&house, error))?;
    let name = format!("attachment; filename=\"{}.zip\"", sitting.code);
    let kind = "application/zip".to_owned();
    Ok(([(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, name)], bytes).into_response())
}
