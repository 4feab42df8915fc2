//! The answers of a class as a table: downloaded, filled in elsewhere, brought back.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::http::header;
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::html;
use questions::answer_file::Problems;

use super::super::House;
use super::super::ask::{Form, Wrong};
use super::super::frame::hidden;
use super::{of_set, refused, sitting, words};
use crate::running::here;
use crate::school::{self, Sitting};

/// `GET /questions/{code}/table.csv`.
pub async fn csv(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Response, Wrong> {
    let sitting = sitting(&house, &text).await?;
    let name = format!("attachment; filename=\"{}-answers.csv\"", sitting.code);
    let kind = "text/csv; charset=utf-8".to_owned();
    Ok(([(header::CONTENT_TYPE, kind), (header::CONTENT_DISPOSITION, name)], sitting.table()).into_response())
}

/// `GET /questions/{code}/table`.
pub async fn page(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let sitting = sitting(&house, &text).await?;
    Ok(shown(&house, &sitting, "", None))
}

/// `POST /questions/{code}/table`.
pub async fn keep(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    body: String,
) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let sitting = sitting(&house, &text).await?;
    let table = form.get("table").unwrap_or("");
    match school::keep_table(&house.store, &sitting, table, &here()).await {
        Ok(_) => Ok(Redirect::to(&format!("/questions/{}/table", sitting.code)).into_response()),
        Err(error) => Ok(refused(shown(&house, &sitting, table, Some(&error)))),
    }
}

fn shown(house: &House, sitting: &Sitting, typed: &str, wrong: Option<&anyhow::Error>) -> Html<String> {
    let code = &sitting.code;
    let learners: Vec<&str> = sitting.book.learners().into_iter().collect();
    let body = html! {
        h1 { "Answers to " (code) " as a table" }
        @if let Some(error) = wrong {
            section.sheet role="alert" { h2 { "Nothing was kept" }
                @match error.downcast_ref::<Problems>() {
                    Some(problems) => {
                        div.scroll role="region" tabindex="0" aria-label="Problems of the table" { table {
                            thead { tr { th scope="col" { "line" } th scope="col" { "column" } th scope="col" { "item" } th scope="col" { "given" } th scope="col" { "allowed" } } }
                            tbody { @for problem in &problems.told {
                                tr { td { (problem.line) } td { (problem.column) } td { (problem.header.as_deref().unwrap_or("")) } td { (problem.given) } td { (problem.allowed) } }
                            } }
                        } }
                        @if problems.more > 0 { p { "and " (problems.more) " more" } }
                    }
                    None => { p.wrong { (format!("{error:#}")) } }
                }
            }
        }
        section.sheet { h2 { "Kept" }
            @if learners.is_empty() { p.muted { "Nobody has answered yet." } }
            @else { p role="status" { (words::counted(learners.len(), "learner")) " answered: " (learners.join(", ")) "." } }
            p { a.button href={ "/questions/" (code) "/table.csv" } download { "Download the table (CSV)" } }
        }
        section.sheet { h2 { "Bring answers in" }
            p { "The first line is " code { "learner" } " and the items; each further line is a learner's code, never a name, and the answers. A choice is the letter as shown or the name of the option; an order is letters with "
                code { ">" } " between them; a number may have a decimal point or comma; an empty cell is no answer, and leaves what was answered before. What else was answered before is replaced." }
            p.muted.small { "Items in their order: " (sitting.items.iter().map(|item| item.id.as_str()).collect::<Vec<_>>().join(", ")) }
            form method="post" action={ "/questions/" (code) "/table" } {
                (hidden(house, ""))
                p hidden data-with-script { label.whole-line { "A file from this machine" input type="file" accept=".csv,text/csv,text/plain" data-read-into="table"; } }
                label.whole-line for="table" { "Table" }
                textarea #table name="table" rows="10" spellcheck="false" required { (typed) }
                p { button.go { "Keep these answers" } }
            }
        }
    };
    of_set(house, code, "/table", "Answers", &body)
}
