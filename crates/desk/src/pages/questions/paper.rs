//! The sheet of a set for learners, and its key, on paper.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Html;
use maud::{Markup, html};
use questions::{Body, Frozen, Misconception};

use super::super::House;
use super::super::ask::{OrWrong, Wrong};
use super::super::prints::paper;
use super::{sitting, with_templates, words};
use crate::load::Known;
use crate::pictures::{self, Asked};
use crate::questions_page::{key_in_words, letter};
use crate::school::Sitting;

/// Letters of a hash that are enough to tell two apart by eye.
const SHORT: usize = 12;

fn head(sitting: &Sitting, what: &str) -> Markup {
    let set = &sitting.set;
    let hash: String = set.parameters_hash.chars().take(SHORT).collect();
    html! {
        p.over { (what) " · " b { (sitting.code) } " · set number " (set.number) " · " (words::counted(set.items.len(), "item"))
            " · models " (set.model_version) " · parameters " (hash) }
    }
}

/// `GET /questions/{code}/sheet`.
pub async fn sheet(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let sitting = sitting(&house, &text).await?;
    let body = html! {
        (head(&sitting, "Question sheet"))
        h1 { "Questions, set " (sitting.code) }
        p.code-line { "Learner's code, such as S-01; never a name: " span.fill {} " Date: " span.fill.short {} }
        @for (place, item) in sitting.items.iter().enumerate() {
            section.asked { h2 { "Question " (place + 1) }
                (words::stem(item))
                p.lead { (item.lead_in) }
                @match &item.body {
                    Body::Choice { options, .. } => {
                        ul.choices { @for (place, option) in options.iter().enumerate() { li { span.box {} " " b { (letter(place)) } "  " (option.text) } } }
                    }
                    Body::Order { steps, .. } => {
                        p.small { "Write 1 into the box of the first step, 2 into that of the next, up to " (steps.len()) "." }
                        ul.choices { @for (place, step) in steps.iter().enumerate() { li { span.box.wide {} " " b { (letter(place)) } "  " (step.text) } } }
                    }
                    Body::Numeric { unit, .. } => { p.number { "Answer: " span.fill.short {} " " (unit) } }
                }
            }
        }
    };
    let back = format!("/questions/{}", sitting.code);
    Ok(paper(&house, &format!("Question sheet {}", sitting.code), "exam", &back, &body))
}

/// `GET /questions/{code}/key`.
pub async fn key(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let sitting = sitting(&house, &text).await?;
    let known = with_templates(&house).await?;
    let templates = known.templates().or_wrong(&house)?;
    let body = html! {
        (head(&sitting, "Key"))
        h1 { "Key of set " (sitting.code) }
        p.small { "For those who teach. Each key with its reason, what makes each other option seem right, and what it rests on." }
        @for (place, frozen) in sitting.set.items.iter().enumerate() {
            (keyed(place, frozen, &templates.misconceptions, &known))
        }
    };
    let back = format!("/questions/{}", sitting.code);
    Ok(paper(&house, &format!("Key {}", sitting.code), "exam keyed", &back, &body))
}

fn keyed(place: usize, frozen: &Frozen, misconceptions: &[Misconception], known: &Known) -> Markup {
    let item = &frozen.item;
    let id = format!("evidence-{}", place + 1);
    html! {
        section.asked { h2 { "Question " (place + 1) " · " (item.title) }
            (words::stem(item))
            p.lead { (item.lead_in) }
            p { b { "Key " (key_in_words(item)) } }
            @match &item.body {
                Body::Choice { options, key, .. } => {
                    ul.choices { @for (place, option) in options.iter().enumerate() {
                        li { b { (letter(place)) @if place == *key { " (key)" } } "  " (option.text) ". " (option.why)
                            @if let Some(id) = &option.misconception { " " i { "Who chooses it believes: " (words::believed(misconceptions, id)) } } }
                    } }
                }
                Body::Order { steps, key } => {
                    ol { @for id in key { @if let Some(step) = steps.iter().find(|step| &step.id == id) { li { (step.text) } } } }
                }
                Body::Numeric { .. } => {}
            }
            p { "Why: " (item.reason) }
            @if let Some(text) = &item.disagreement { p { b { "Convention and cause differ. " } (text) } }
            p.small { @if item.asks.is_some() { (item.asks.map_or("", questions::Asks::words)) ". " } (words::held(frozen)) " " (item.id) }
            (words::rests_on(item, known))
            @if let Some(picture) = pictures::evidence(frozen, Asked { id: &id, answer: None }) { (picture) }
        }
    }
}
