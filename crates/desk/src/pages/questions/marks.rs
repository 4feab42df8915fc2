//! What a learner earned, and what is said to each answer.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::{IntoResponse, Redirect, Response};
use maud::{Markup, html};
use questions::marking::{About, Mark, Rule, mark};
use questions::{Frozen, Misconception, Response as Answer};
use records::What;

use super::super::House;
use super::super::ask::{Form, OrWrong, Wrong};
use super::super::frame::chip;
use super::{of_set, refused, sitting, with_templates, words};
use crate::load::Known;
use crate::pictures::{self, Asked};
use crate::questions_page::key_in_words;
use crate::running::here;
use crate::school;

/// Whose marks.
#[derive(serde::Deserialize)]
pub struct Who {
    learner: Option<String>,
}

/// `POST /questions/{code}/marks`: shown once and for good, also to the next start of the program.
pub async fn show(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    body: String,
) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let sitting = sitting(&house, &text).await?;
    let learner = form.get("learner").unwrap_or("").trim().to_owned();
    records::check_learner(&learner).map_err(|invalid| Wrong::asked(&house, invalid))?;
    if sitting.book.learners().contains(learner.as_str()) && !sitting.book.shown.contains(&learner) {
        let shown = What::MarksShown { learner: learner.clone() };
        school::keep(&house.store, &sitting.code, vec![shown], &here()).await.or_wrong(&house)?;
    }
    Ok(Redirect::to(&format!("/questions/{}/marks?learner={learner}", sitting.code)).into_response())
}

/// `GET /questions/{code}/marks`.
pub async fn page(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    Query(who): Query<Who>,
) -> Result<Response, Wrong> {
    let sitting = sitting(&house, &text).await?;
    let learner = who.learner.as_deref().unwrap_or("").trim().to_owned();
    records::check_learner(&learner).map_err(|invalid| Wrong::asked(&house, invalid))?;
    if !sitting.book.learners().contains(learner.as_str()) {
        let body = html! { h1 { "No marks" } p.say2 { (learner) " has not answered " (sitting.code) " yet." }
        p { a.button href={ "/questions/" (sitting.code) "/answer?learner=" (learner) } { "Answer" } } };
        return Ok(refused(of_set(&house, &sitting.code, "/answer", "Marks", &body)));
    }
    if !sitting.book.shown.contains(&learner) {
        let blank = |item: &&questions::Item| {
            let kept = sitting.book.answers.get(&(learner.clone(), item.id.clone()));
            kept.is_none_or(|(_, text)| text == school::BLANK)
        };
        let open: Vec<usize> = sitting
            .items
            .iter()
            .enumerate()
            .filter(|(_, item)| blank(item))
            .map(|(place, _)| place + 1)
            .collect();
        let body = html! {
            h1 { "Marks of " (learner) }
            p.say2 { (sitting.items.len() - open.len()) " of " (words::counted(sitting.items.len(), "question")) " answered. Once the marks are shown, these answers stay as they are." }
            @if !open.is_empty() {
                p { b { "Without an answer: " } @for (at, number) in open.iter().enumerate() { @if at > 0 { ", " } a href={ "/questions/" (sitting.code) "/answer?learner=" (learner) "#question-" (number) } { (number) } } "." }
            }
            (words::marks_asked(&house, &sitting.code, &learner))
            p { a href={ "/questions/" (sitting.code) "/answer?learner=" (learner) } { "Back to the questions" } }
        };
        return Ok(of_set(&house, &sitting.code, "/answer", "Marks", &body).into_response());
    }
    let answers = sitting.answers().map_err(|problems| Wrong::asked(&house, problems))?;
    let own = answers.learners.iter().find(|(known, _)| known.as_str() == learner);
    let own = own.map_or(&[][..], |(_, list)| list.as_slice());
    let mut marked = Vec::new();
    for (frozen, answer) in sitting.set.items.iter().zip(own) {
        let mark = mark(&frozen.item, answer, Rule::Partial).map_err(|error| Wrong::asked(&house, error))?;
        marked.push((frozen, answer, mark));
    }
    let known = with_templates(&house).await?;
    let misconceptions = &known.templates().or_wrong(&house)?.misconceptions;
    let out = |frozen: &Frozen| sitting.book.voided.get(&frozen.item.id).map(String::as_str);
    let counted: Vec<&Mark> =
        marked.iter().filter(|(frozen, ..)| out(frozen).is_none()).map(|(_, _, mark)| mark).collect();
    let earned: f64 = counted.iter().map(|mark| mark.earned).sum();
    let right = counted.iter().filter(|mark| mark.right).count();
    let blank = counted.iter().filter(|mark| mark.omitted).count();
    let body = html! {
        h1 { "Marks of " (learner) " in " (sitting.code) }
        p.say2 { (points(earned)) " of " (counted.len()) " earned; " (right) " wholly right, " (blank) " without an answer." }
        p.muted { "A number near the key and an order that is partly right earn a part. From now on these answers stay as they are." }
        @for (place, (frozen, answer, mark)) in marked.iter().enumerate() {
            (said(place, frozen, answer, mark, out(frozen), misconceptions, &known))
        }
    };
    Ok(of_set(&house, &sitting.code, "/answer", "Marks", &body).into_response())
}

/// Points without digits that say nothing.
pub fn points(earned: f64) -> String {
    let text = format!("{earned:.2}");
    text.trim_end_matches('0').trim_end_matches('.').to_owned()
}

fn said(
    place: usize,
    frozen: &Frozen,
    answer: &Answer,
    mark: &Mark,
    out: Option<&str>,
    misconceptions: &[Misconception],
    known: &Known,
) -> Markup {
    let item = &frozen.item;
    let id = format!("evidence-{}", place + 1);
    html! {
        section.sheet.asked { h2 { "Question " (place + 1) }
            (words::stem(item))
            p.lead { (item.lead_in) }
            @if let Some(reason) = out { p { (chip("caution", "out of the marking")) " " (reason) } }
            @else { p { @match (mark.right, mark.omitted) {
                    (true, _) => (chip("", "right")),
                    (_, true) => (chip("caution", "no answer")),
                    _ if mark.earned > 0.0 => (chip("caution", "partly right")),
                    _ => (chip("stop", "not right")),
                }
                " " (points(mark.earned)) " of 1 earned" } }
            dl.facts-of {
                dt { "Answered" } dd { (words::answer(item, answer)) }
                dt { "Key" } dd { b { (key_in_words(item)) } }
                @for piece in &mark.said {
                    @match piece.about {
                        About::Chosen => { dt { "That option" } dd { (piece.text) } }
                        About::Misconception => { dt { "The belief behind it" } dd { (words::believed(misconceptions, &piece.text)) } }
                        About::Key => { dt { "The key" } dd { (piece.text) } }
                        About::Reason => { dt { "Why" } dd { (piece.text) } }
                        About::Disagreement => { dt { "Convention and cause" } dd { (piece.text) } }
                    }
                }
            }
            p.small.muted { (item.asks.map_or("", questions::Asks::words)) @if item.asks.is_some() { ". " } (words::held(frozen)) }
            @if let Some(picture) = pictures::evidence(frozen, Asked { id: &id, answer: Some(answer) }) { (picture) }
            (words::rests_on(item, known))
        }
    }
}
