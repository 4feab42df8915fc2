//! A learner answers on the page.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use questions::answer_file::read_csv;
use questions::{Body, Item};
use records::What;

use super::super::House;
use super::super::ask::{Form, OrWrong, Wrong};
use super::super::frame::hidden;
use super::{of_set, refused, sitting, words};
use crate::questions_page::letter;
use crate::running::here;
use crate::school::{self, BLANK, Sitting};

/// Who answers.
#[derive(serde::Deserialize)]
pub struct Who {
    learner: Option<String>,
    kept: Option<String>,
}

/// What is wrong with an answer: the place of its item, and the words.
type Wrongs = Vec<(usize, String)>;

/// `GET /questions/{code}/answer`.
pub async fn page(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    Query(who): Query<Who>,
) -> Result<Response, Wrong> {
    let sitting = sitting(&house, &text).await?;
    match who.learner.as_deref().map(str::trim) {
        None => Ok(asked(&house, &sitting, "", None).into_response()),
        Some(learner) => match records::check_learner(learner) {
            Ok(()) => Ok(answering(&house, &sitting, learner, None, &[], who.kept.is_some()).into_response()),
            Err(invalid) => Ok(refused(asked(&house, &sitting, learner, Some(&invalid.to_string())))),
        },
    }
}

/// Who answers is asked first.
fn asked(house: &House, sitting: &Sitting, typed: &str, wrong: Option<&str>) -> Html<String> {
    let body = html! {
        h1 { "Answer set " (sitting.code) }
        form.stack method="get" action={ "/questions/" (sitting.code) "/answer" } {
            @if let Some(wrong) = wrong { p.wrong role="alert" #learner-wrong { (wrong) } }
            label { "Your code, such as S-01; never a name"
                input name="learner" value=(typed) required maxlength="60" autocomplete="off" autocapitalize="characters" aria-invalid=[wrong.map(|_| "true")] aria-describedby=[wrong.map(|_| "learner-wrong")]; }
            button.go { "Begin" }
        }
    };
    of_set(house, &sitting.code, "/answer", "Answer", &body)
}

/// What stands in a field: as it was sent, or else as it is kept.
fn stands(sitting: &Sitting, learner: &str, form: Option<&Form>, item: &Item, step: Option<&str>) -> String {
    if let Some(form) = form {
        let name =
            step.map_or_else(|| format!("answer:{}", item.id), |step| format!("step:{}:{step}", item.id));
        return form.get(&name).unwrap_or("").to_owned();
    }
    let kept = sitting.book.answers.get(&(learner.to_owned(), item.id.clone()));
    let kept = kept.map_or("", |(_, text)| if text == BLANK { "" } else { text.as_str() });
    match step {
        None => kept.to_owned(),
        Some(step) => {
            kept.split('>').position(|id| id == step).map_or(String::new(), |place| (place + 1).to_string())
        }
    }
}

fn answering(
    house: &House,
    sitting: &Sitting,
    learner: &str,
    form: Option<&Form>,
    wrongs: &[(usize, String)],
    kept: bool,
) -> Html<String> {
    let code = &sitting.code;
    let answer = |item: &Item| sitting.book.answers.get(&(learner.to_owned(), item.id.clone()));
    let done =
        sitting.items.iter().filter(|item| answer(item).is_some_and(|(_, text)| text != BLANK)).count();
    let of = sitting.items.len();
    let body = html! {
        h1 { "Set " (code) ", answered by " (learner) }
        @if sitting.book.shown.contains(learner) {
            p.say2 { "The marks of " (learner) " have been shown: the answers stay as they are." }
            p { a.button href={ "/questions/" (code) "/marks?learner=" (learner) } { "Show my marks" } }
        } @else {
            @if !wrongs.is_empty() {
                div.wrong role="alert" { p { b { (words::counted(wrongs.len(), "answer")) " cannot be read:" } }
                    ul { @for (place, words) in wrongs { li { a href={ "#question-" (place + 1) } { "Question " (place + 1) } ": " (words) } } }
                    p { "What can be read is kept." } }
            }
            @if kept { p role="status" { b { "Kept: " (done) " of " (of) " answered." } " They can be changed until the marks are shown." } }
            @else { p.muted { (words::counted(of, "question")) "; " (done) " answered so far. Nothing is kept before \"Keep my answers\" is pressed." } }
            form method="post" action={ "/questions/" (code) "/answer" } data-draft={ (code) " " (learner) } {
                (hidden(house, ""))
                input type="hidden" name="learner" value=(learner);
                p role="status" data-drafted hidden { b { "Answers that were not kept yet have been filled in again." } }
                @for (place, item) in sitting.items.iter().enumerate() {
                    @let wrong = wrongs.iter().find(|(of, _)| *of == place).map(|(_, words)| words.as_str());
                    section.sheet.asked id={ "question-" (place + 1) } { h2 { "Question " (place + 1) }
                        (words::stem(item))
                        (fields(place, item, wrong, &|step| stands(sitting, learner, form, item, step)))
                    }
                }
                p.stickly { button.go { "Keep my answers" } " " button name="then" value="marks" { "Keep them and go to my marks" } }
            }
        }
    };
    of_set(house, code, "/answer", "Answer", &body)
}

fn fields(place: usize, item: &Item, wrong: Option<&str>, stands: &dyn Fn(Option<&str>) -> String) -> Markup {
    let (invalid, told) = (wrong.map(|_| "true"), wrong.map(|_| format!("wrong-{place}")));
    let name = format!("answer:{}", item.id);
    html! {
        @match &item.body {
            Body::Choice { options, .. } => {
                @let chosen = stands(None);
                fieldset.plainly aria-describedby=[told.as_deref()] { legend.lead { (item.lead_in) }
                    div.options {
                        @for (at, option) in options.iter().enumerate() {
                            @let id = format!("a-{place}-{at}");
                            span.tile { input type="radio" name=(name) value=(option.id) id=(id) checked[chosen == option.id]; label for=(id) { b { (letter(at)) } span { (option.text) } } }
                        }
                        @let id = format!("a-{place}-none");
                        span.tile.none { input type="radio" name=(name) value="" id=(id) checked[!options.iter().any(|option| option.id == chosen)]; label for=(id) { "no answer" } }
                    }
                }
            }
            Body::Order { steps, .. } => {
                fieldset.plainly aria-describedby=[told.as_deref()] { legend.lead { (item.lead_in) }
                    p.muted { "1 for the first step, up to " (steps.len()) " for the last." }
                    ul.ordered { @for (at, step) in steps.iter().enumerate() {
                        @let stood = stands(Some(&step.id));
                        li { label { select name={ "step:" (item.id) ":" (step.id) } aria-invalid=[invalid] {
                            option value="" { "–" }
                            @for number in 1..=steps.len() { option value=(number) selected[stood == number.to_string()] { (number) } } }
                            b { (letter(at)) } span { (step.text) } } }
                    } }
                }
            }
            Body::Numeric { unit, .. } => {
                label.numeric { span.lead { (item.lead_in) }
                    span.field { input name=(name) inputmode="decimal" autocomplete="off" maxlength="40" value=(stands(None)) aria-invalid=[invalid] aria-describedby=[told.as_deref()]; " " (unit) } }
            }
        }
        @if let Some(wrong) = wrong { p.wrong id=[told.as_deref()] { (wrong) } }
    }
}

/// `POST /questions/{code}/answer`.
pub async fn keep(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    body: String,
) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let sitting = sitting(&house, &text).await?;
    let learner = form.get("learner").unwrap_or("").trim().to_owned();
    if let Err(invalid) = records::check_learner(&learner) {
        return Ok(refused(asked(&house, &sitting, &learner, Some(&invalid.to_string()))));
    }
    if sitting.book.shown.contains(&learner) {
        return Ok(refused(answering(&house, &sitting, &learner, None, &[], false)));
    }
    let mut wrongs = Wrongs::new();
    let mut list = Vec::new();
    for (place, item) in sitting.items.iter().enumerate() {
        let response = match read(&form, item, &learner) {
            Ok(response) => response,
            Err(wrong) => {
                wrongs.push((place, wrong));
                continue;
            }
        };
        let kept = sitting.book.answers.get(&(learner.clone(), item.id.clone()));
        if kept.is_none_or(|(_, text)| *text != response) {
            list.push(What::Answered { learner: learner.clone(), item: item.id.clone(), response });
        }
    }
    if !wrongs.is_empty() {
        // Whoever still writes has left nothing out yet.
        list.retain(|what| !matches!(what, What::Answered { response, .. } if response == BLANK));
    }
    school::keep(&house.store, &sitting.code, list, &here()).await.or_wrong(&house)?;
    if !wrongs.is_empty() {
        let sitting = super::sitting(&house, &text).await?;
        return Ok(refused(answering(&house, &sitting, &learner, Some(&form), &wrongs, false)));
    }
    let next = match form.get("then") {
        Some("marks") => format!("/questions/{}/marks?learner={learner}", sitting.code),
        _ => format!("/questions/{}/answer?learner={learner}&kept=1", sitting.code),
    };
    Ok(Redirect::to(&next).into_response())
}

/// An answer as it is kept, read by the grammar of a table of answers; or what is given and what is allowed.
fn read(form: &Form, item: &Item, learner: &str) -> Result<String, String> {
    let cell = match &item.body {
        Body::Order { steps, .. } => {
            let ids: Vec<&str> = steps.iter().map(|step| step.id.as_str()).collect();
            ordered(form, &item.id, &ids)?
        }
        _ => form.get(&format!("answer:{}", item.id)).unwrap_or("").to_owned(),
    };
    let table = format!("learner,\"{}\"\n{learner},\"{}\"\n", item.id, cell.replace('"', "\"\""));
    match read_csv(&table, std::slice::from_ref(item)) {
        Ok(answers) => {
            let own = answers.learners.into_iter().flat_map(|(_, list)| list).next();
            Ok(own.map_or(BLANK.to_owned(), |one| school::written(&one)))
        }
        Err(problems) => {
            let told = problems.told.first();
            Err(told.map_or(String::new(), |told| format!("given {}; allowed {}", told.given, told.allowed)))
        }
    }
}

/// Steps in the order of their numbers; nothing where none has one.
fn ordered(form: &Form, item: &str, ids: &[&str]) -> Result<String, String> {
    let given: Vec<Option<&str>> = ids.iter().map(|id| form.get(&format!("step:{item}:{id}"))).collect();
    if given.iter().all(Option::is_none) {
        return Ok(String::new());
    }
    let allowed = format!("allowed each of 1 to {} once, or none at all", ids.len());
    let mut order: Vec<Option<&str>> = vec![None; ids.len()];
    for (id, number) in ids.iter().zip(&given) {
        let Some(number) = number else { return Err(format!("given a step without a number; {allowed}")) };
        let spot = number.parse::<usize>().ok().and_then(|number| order.get_mut(number.checked_sub(1)?));
        match spot {
            None => return Err(format!("given {number:?}; {allowed}")),
            Some(spot) if spot.is_some() => return Err(format!("given {number} more than once; {allowed}")),
            Some(spot) => *spot = Some(id),
        }
    }
    Ok(order.into_iter().flatten().collect::<Vec<_>>().join(">"))
}
