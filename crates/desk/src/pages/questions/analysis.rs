//! What the answers of a class say of the items and of the test.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use questions::Body;
use questions::analysis::{Distractors, Flag, ItemReport, TestReport, analyse};
use questions::answers::{Marked, mark_all};
use questions::figure::Absent;
use questions::marking::Rule;
use records::What;

use super::super::House;
use super::super::ask::{Form, OrWrong, Wrong};
use super::super::frame::hidden;
use super::marks::points;
use super::{of_set, refused, sitting, words};
use crate::questions_page::letter;
use crate::running::here;
use crate::school::{self, Sitting};

/// How answers that are partly right count.
#[derive(serde::Deserialize)]
pub struct Asked {
    rule: Option<String>,
}

/// The class as it is marked; none where nobody has answered.
pub fn marked(house: &Arc<House>, sitting: &Sitting, rule: Rule) -> Result<Option<Marked>, Wrong> {
    if sitting.book.learners().is_empty() {
        return Ok(None);
    }
    let answers = sitting.answers_counted().map_err(|problems| Wrong::asked(house, problems))?;
    mark_all(&answers, &sitting.items, rule).map(Some).map_err(|error| Wrong::asked(house, error))
}

/// `GET /questions/{code}/analysis`.
pub async fn page(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Wrong> {
    let sitting = sitting(&house, &text).await?;
    analysed(&house, &sitting, asked.rule.as_deref() == Some("whole"), None)
}

/// `POST /questions/{code}/analysis`: an item is taken out of the marking, with the reason, or put back.
pub async fn take_out(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    body: String,
) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let sitting = sitting(&house, &text).await?;
    let said = |name: &str| form.get(name).unwrap_or("").trim().to_owned();
    let (item, back, reason) = (said("item"), said("back") == "1", said("reason"));
    let wrong = match sitting.items.iter().any(|known| known.id == item) {
        false => Some(format!("item: given {item:?}; allowed an item of the set")),
        true if !back && reason.is_empty() => Some("reason: given nothing; allowed a few words".to_owned()),
        true if !back && sitting.counted().len() == 1 && !sitting.book.voided.contains_key(&item) => {
            Some("item: given the last that counts; allowed all but one".to_owned())
        }
        true => None,
    };
    if let Some(wrong) = wrong {
        return Ok(refused(analysed(&house, &sitting, false, Some(&wrong))?));
    }
    let voided = What::Voided { item, reason: (!back).then_some(reason) };
    school::keep(&house.store, &sitting.code, vec![voided], &here()).await.or_wrong(&house)?;
    Ok(Redirect::to(&format!("/questions/{}/analysis#out", sitting.code)).into_response())
}

fn taking_out(house: &House, sitting: &Sitting, wrong: Option<&str>) -> Markup {
    let action = format!("/questions/{}/analysis", sitting.code);
    html! {
        section.sheet #out { h2 { "Out of the marking" }
            p { "An item that turns out to have two keys, or none, is taken out for everybody. The answers stay, and so does the reason." }
            @if let Some(wrong) = wrong { p.wrong role="alert" { (wrong) } }
            @for (place, item) in sitting.items.iter().enumerate() {
                @if let Some(reason) = sitting.book.voided.get(&item.id) {
                    form.row method="post" action=(action) { (hidden(house, "")) input type="hidden" name="item" value=(item.id); input type="hidden" name="back" value="1";
                        span { b { "Question " (place + 1) } ": " (reason) } " " button { "Put question " (place + 1) " back" } }
                }
            }
            form.readings method="post" action=(action) { (hidden(house, ""))
                label { "Question" select name="item" { @for (place, item) in sitting.items.iter().enumerate() {
                    @if !sitting.book.voided.contains_key(&item.id) { option value=(item.id) { (place + 1) } } } } }
                label { "Why" input name="reason" required maxlength="200" size="28" autocomplete="off"; }
                button { "Take it out" }
            }
        }
    }
}

fn analysed(
    house: &Arc<House>,
    sitting: &Sitting,
    whole: bool,
    wrong: Option<&str>,
) -> Result<Html<String>, Wrong> {
    let code = &sitting.code;
    let rule = if whole { Rule::AllOrNothing } else { Rule::Partial };
    let report = match marked(house, sitting, rule)? {
        None => None,
        Some(marked) => {
            let report = analyse(&marked.columns).map_err(|error| Wrong::asked(house, error))?;
            Some((marked, report))
        }
    };
    let body = html! {
        h1 { "Analysis of " (code) }
        @match &report {
            None => { p.say2 { "Nobody has answered yet." } }
            Some((marked, report)) => {
                p { (words::counted(report.learners, "learner")) ", " (words::counted(report.items, "item")) ". "
                    @if whole { "What is not wholly right earns nothing. " a href={ "/questions/" (code) "/analysis" } { "Count parts" } }
                    @else { "A number near the key and an order that is partly right earn a part. " a href={ "/questions/" (code) "/analysis?rule=whole" } { "Count only what is wholly right" } } }
                (test(report))
                (items(sitting, report))
                (options(sitting, report))
                (totals(marked))
            }
        }
        (taking_out(house, sitting, wrong))
    };
    Ok(of_set(house, code, "/analysis", "Analysis", &body))
}

fn flags(list: &Result<Vec<Flag>, Absent>, notes: &mut Vec<Absent>) -> Markup {
    html! {
        @match list {
            Err(absent) => (words::note(*absent, notes)),
            Ok(list) if list.is_empty() => "nothing to look at",
            Ok(list) => { ul.plain { @for flag in list {
                li { (flag.figure) ": " (flag.words)
                    @match flag.firm { Some(true) => " (its whole interval lies there)", Some(false) => " (its interval reaches further)", None => "" }
                    "; " span.muted.small { (flag.source) } }
            } } }
        }
    }
}

fn test(report: &TestReport) -> Markup {
    let mut notes = Vec::new();
    let of = |figure, notes: &mut Vec<Absent>| words::figure(figure, 2, notes);
    let rows = [
        ("Mean of the totals, points", of(report.mean, &mut notes), String::new()),
        ("Standard deviation, points", of(report.sd, &mut notes), String::new()),
        (
            "Cronbach's alpha",
            of(report.alpha, &mut notes),
            words::interval(report.alpha_interval, 2, &mut notes),
        ),
        (
            "KR-20",
            of(report.kr20, &mut notes),
            report
                .kr20
                .known()
                .map_or(String::new(), |_| words::interval(report.alpha_interval, 2, &mut notes)),
        ),
        ("KR-21, as if all items were equally hard", of(report.kr21, &mut notes), String::new()),
        ("Standard error of measurement, points", of(report.standard_error, &mut notes), String::new()),
    ];
    let said = flags(&report.flags, &mut notes);
    html! {
        section.sheet { h2 { "The test" }
            table { thead { tr { th scope="col" { "figure" } th scope="col" { "value" } th scope="col" { "95 % interval" } } }
                tbody { @for (name, value, interval) in &rows { tr { th scope="row" { (name) } td { (value) } td { (interval) } } } } }
            p { "What is to be said of the reliability: " (said) }
            (words::notes(&notes))
        }
    }
}

fn items(sitting: &Sitting, report: &TestReport) -> Markup {
    let mut notes = Vec::new();
    let mut rows = Vec::new();
    for item in &report.by_item {
        let ItemReport { difficulty, discrimination, with_total, with_rest, alpha_without, .. } = *item;
        let figures = [difficulty, discrimination, with_total, with_rest, alpha_without];
        let [difficulty, others @ ..] = figures.map(|figure| words::figure(figure, 2, &mut notes));
        let interval = words::interval(item.difficulty_interval, 2, &mut notes);
        rows.push((item, difficulty, interval, others, flags(&item.flags, &mut notes)));
    }
    html! {
        section.sheet { h2 { "Items" }
            p.muted { "Difficulty is the mean of what was earned: higher is easier. Discrimination is the upper less the lower 27 %. Point-biserial is the correlation with the total; corrected, with the total of the other items." }
            div.scroll role="region" tabindex="0" aria-label="Figures of the items" { table.figures {
                thead { tr { @for head in ["no.", "difficulty", "95 % interval", "discrimi\u{ad}nation", "point-biserial", "corrected", "alpha without", "blank"] { th scope="col" { (head) } } } }
                tbody { @for (place, (item, difficulty, interval, others, said)) in rows.iter().enumerate() {
                    tr { th scope="row" title=(item.item) { (number(sitting, &item.item).unwrap_or(place + 1)) } td { (difficulty) } td { (interval) }
                        @for cell in others { td { (cell) } } td { (item.omitted) } }
                    tr.under { td {} td colspan="7" { "To look at: " (said) } }
                } }
            } }
            (words::notes(&notes))
        }
    }
}

/// The number of an item on the sheet.
fn number(sitting: &Sitting, id: &str) -> Option<usize> {
    sitting.items.iter().position(|item| item.id == id).map(|place| place + 1)
}

fn options(sitting: &Sitting, report: &TestReport) -> Markup {
    let mut notes = Vec::new();
    let mut tables = Vec::new();
    for (item, of) in sitting.counted().into_iter().zip(&report.by_item) {
        let Body::Choice { options, .. } = &item.body else { continue };
        match &of.distractors {
            Ok(who) => tables.push((number(sitting, &item.id), item, options, who)),
            Err(absent) => {
                words::note(*absent, &mut notes);
            }
        }
    }
    let yes = |fact: Option<bool>| match fact {
        Some(true) => "yes",
        Some(false) => "no",
        None => "key",
    };
    html! {
        section.sheet { h2 { "Who chose which option" }
            @for (number, item, options, Distractors { options: lines, blank, working }) in &tables {
                details { summary { "Question " (number.unwrap_or(0)) ": " (item.lead_in) " " span.muted { (working[0]) " of " (working[1]) " distractors work" } }
                    div.scroll role="region" tabindex="0" aria-label={ "Options of question " (number.unwrap_or(0)) } { table {
                        thead { tr { @for head in ["option", "chosen by", "share", "upper", "middle", "lower", "works", "more in the upper group"] { th scope="col" { (head) } } } }
                        tbody { @for (place, line) in lines.iter().enumerate() {
                            tr { th scope="row" { (letter(place)) " " (options.get(place).map_or("", |option| option.text.as_str())) @if line.key { " (key)" } }
                                td { (line.count) } td { (format!("{:.0} %", 100.0 * line.share)) }
                                @for part in [line.upper, line.middle, line.lower] { td { (format!("{part:.1}")) } }
                                td { (yes(line.works)) } td { (yes(line.more_in_upper)) } }
                        } }
                    } }
                    p { (words::counted(*blank, "blank")) "." }
                }
            }
            (words::notes(&notes))
            @if tables.is_empty() && notes.is_empty() { p { "No item of this set has options." } }
        }
    }
}

fn totals(marked: &Marked) -> Markup {
    let of = marked.columns.len();
    html! {
        section.sheet { h2 { "Learners" }
            div.scroll role="region" tabindex="0" aria-label="Totals" { table {
                thead { tr { th scope="col" { "learner" } th scope="col" { "earned" } th scope="col" { "wholly right" } th scope="col" { "blank" } } }
                tbody { @for total in &marked.totals {
                    tr { th scope="row" { (total.learner) } td { (points(total.earned)) " of " (of) } td { (total.right) } td { (total.omitted) } }
                } }
            } }
        }
    }
}
