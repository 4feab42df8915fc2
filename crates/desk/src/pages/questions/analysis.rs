//! What the answers of a class say of the items and of the test.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Html;
use maud::{Markup, html};
use questions::Body;
use questions::analysis::{Distractors, Flag, ItemReport, TestReport, analyse};
use questions::answers::{Marked, mark_all};
use questions::figure::Absent;
use questions::marking::Rule;

use super::super::House;
use super::super::ask::Wrong;
use super::marks::points;
use super::{of_set, sitting, words};
use crate::questions_page::letter;
use crate::school::Sitting;

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
    let answers = sitting.answers().map_err(|problems| Wrong::asked(house, problems))?;
    mark_all(&answers, &sitting.items, rule).map(Some).map_err(|error| Wrong::asked(house, error))
}

/// `GET /questions/{code}/analysis`.
pub async fn page(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Wrong> {
    let sitting = sitting(&house, &text).await?;
    let code = &sitting.code;
    let whole = asked.rule.as_deref() == Some("whole");
    let rule = if whole { Rule::AllOrNothing } else { Rule::Partial };
    let report = match marked(&house, &sitting, rule)? {
        None => None,
        Some(marked) => {
            let report = analyse(&marked.columns).map_err(|error| Wrong::asked(&house, error))?;
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
                (items(&sitting, report))
                (options(&sitting, report))
                (totals(marked))
            }
        }
    };
    Ok(of_set(&house, code, "/analysis", "Analysis", &body))
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
    for (item, of) in sitting.items.iter().zip(&report.by_item) {
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
