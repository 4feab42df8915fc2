//! Where judges would set a pass mark of a written exercise. Both methods advise, and people decide.

use std::collections::BTreeSet;
use std::sync::Arc;

use axum::extract::{Path, RawQuery, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use questions::Body;
use questions::marking::Rule;
use questions::pass_mark::{Angoff, Centre, Hofstee, HofsteeJudge, NoCrossing, angoff, hofstee};
use records::What;

use super::super::House;
use super::super::ask::{Form, OrWrong, Wrong};
use super::super::frame::hidden;
use super::analysis::marked;
use super::{of_set, refused, sitting, words};
use crate::pictures;
use crate::questions_page::{key_in_words, letter};
use crate::running::here;
use crate::school::{self, Sitting};

/// Judges that can be asked for Hofstee at once, at least.
const ROWS: usize = 3;

const FIELDS: [(&str, &str); 4] = [
    ("cut_least", "lowest pass mark, %"),
    ("cut_most", "highest pass mark, %"),
    ("fail_least", "fewest below it, %"),
    ("fail_most", "most below it, %"),
];

/// `GET /questions/{code}/pass`.
pub async fn page(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Html<String>, Wrong> {
    let sitting = sitting(&house, &text).await?;
    shown(&house, &sitting, &Form::read_openly(query.as_deref().unwrap_or("")), &[])
}

fn shown(
    house: &Arc<House>,
    sitting: &Sitting,
    form: &Form,
    wrongs: &[String],
) -> Result<Html<String>, Wrong> {
    let code = &sitting.code;
    let body = html! {
        h1 { "Pass marks of " (code) }
        p.say2 { "Both methods advise; people decide. They are for this written exercise and say nothing of a patient's case." }
        section.sheet { h2 { "By what judges expect of each item (Angoff)" } (judging(house, sitting, form, wrongs)) (advice(house, sitting)?) }
        section.sheet #hofstee { h2 { "By what judges would bear (Hofstee)" } (borne(house, sitting, form)?) }
    };
    Ok(of_set(house, code, "/pass", "Pass marks", &body))
}

/// Judges below which no mark is advised.
const FEWEST_JUDGES: usize = 2;

/// A judge with what was said of every item.
type Judged<'a> = (&'a str, Vec<f64>);

/// Judges who have said something of every item, and those who have not, with how many they have judged.
fn judges(sitting: &Sitting) -> (Vec<Judged<'_>>, Vec<(&str, usize)>) {
    let names: BTreeSet<&str> = sitting.book.expected.keys().map(|(judge, _)| judge.as_str()).collect();
    let (mut whole, mut part) = (Vec::new(), Vec::new());
    for judge in names {
        let of =
            |item: &questions::Item| sitting.book.expected.get(&(judge.to_owned(), item.id.clone())).copied();
        let counted = sitting.counted();
        let said: Vec<f64> = counted.iter().copied().filter_map(of).collect();
        if said.len() == counted.len() { whole.push((judge, said)) } else { part.push((judge, said.len())) }
    }
    (whole, part)
}

fn advice(house: &Arc<House>, sitting: &Sitting) -> Result<Markup, Wrong> {
    let (whole, part) = judges(sitting);
    let of = sitting.counted().len();
    let shares: Vec<Vec<f64>> = whole.iter().map(|(_, said)| said.clone()).collect();
    let found = match shares.len() < FEWEST_JUDGES {
        true => None,
        false => Some(angoff(&shares).map_err(|error| Wrong::asked(house, error))?),
    };
    Ok(html! {
        @match &found {
            None => { p { (words::counted(whole.len(), "judge")) " of every item so far; the method asks for " (FEWEST_JUDGES) " at least." } }
            // Whoever still judges does not see what others said.
            Some(found) => { details { summary { "What " (words::counted(whole.len(), "judge")) " expect together: to be opened when each has judged alone" } (judged(sitting, found, &whole)) } }
        }
        @for (judge, said) in &part { p.muted { (judge) " has judged " (said) " of " (of) " items and is not counted yet." } }
    })
}

fn judged(sitting: &Sitting, found: &Angoff, whole: &[Judged]) -> Markup {
    let mut notes = Vec::new();
    let of = sitting.counted().len();
    let error = words::figure(found.standard_error, 2, &mut notes);
    let interval = words::interval(found.interval, 2, &mut notes);
    let counted = sitting.counted();
    let rows: Vec<[String; 4]> = found
        .talk_about
        .iter()
        .filter_map(|&place| {
            let mean = format!("{:.0} %", 100.0 * found.by_item.get(place)?);
            let spread = match found.spread.get(place)?.known() {
                Some(sd) => format!("{:.0}", 100.0 * sd),
                None => words::figure(*found.spread.get(place)?, 2, &mut notes),
            };
            let item = counted.get(place)?;
            let number = sitting.items.iter().position(|known| known.id == item.id)? + 1;
            Some([number.to_string(), item.lead_in.clone(), mean, spread])
        })
        .collect();
    html! {
        p.say2 { "Advised: " (format!("{:.2}", found.cut)) " of " (of) " points, " (format!("{:.0} %", 100.0 * found.share)) "." }
        dl.facts-of {
            dt { "Standard error over judges, points" } dd { (error) }
            dt { "95 % interval, points" } dd { (interval) }
            dt { "Sum of each judge, points" } dd { @for (place, (judge, _)) in whole.iter().enumerate() { @if place > 0 { ", " } (judge) " " (format!("{:.2}", found.sums.get(place).copied().unwrap_or(0.0))) } }
        }
        (words::notes(&notes))
        details { summary { "Items, those that judges differ most on first" }
            div.scroll role="region" tabindex="0" aria-label="Items by what judges expect" { table {
                thead { tr { th scope="col" { "no." } th scope="col" { "question" } th scope="col" { "mean" } th scope="col" { "standard deviation, %" } } }
                tbody { @for [number, lead_in, mean, spread] in &rows { tr { td { (number) } th scope="row" { (lead_in) } td { (mean) } td { (spread) } } } }
            } } }
    }
}

fn judging(house: &House, sitting: &Sitting, form: &Form, wrongs: &[String]) -> Markup {
    let judge = form.get("judge").unwrap_or("").trim();
    let stands = |item: &str| match form.get(&format!("share:{item}")) {
        Some(typed) => typed.to_owned(),
        None => {
            let said = sitting.book.expected.get(&(judge.to_owned(), item.to_owned()));
            said.map_or(String::new(), |share| super::marks::points(100.0 * share))
        }
    };
    html! {
        p { "Of a hundred learners who only just pass, how many have the item right? Judge each item alone, before the others are heard. What is left empty is judged later." }
        @if !wrongs.is_empty() { div.wrong role="alert" { p { b { "Nothing was kept." } } ul { @for wrong in wrongs { li { (wrong) } } } } }
        @if form.get("kept").is_some() { p role="status" { b { "Kept for " (judge) "." } } }
        form method="post" action={ "/questions/" (sitting.code) "/pass" } {
            (hidden(house, ""))
            label.whole-line { "Initials, two to four capital letters"
                input name="judge" value=(judge) required maxlength="4" autocomplete="off" aria-invalid=[wrongs.iter().any(|wrong| wrong.starts_with("judge")).then_some("true")]; }
            ul.judged { @for (place, item) in sitting.items.iter().enumerate() {
                @let about = format!("item {}:", place + 1);
                li { (whole_item(item)) label { span { b { (place + 1) ". " } (item.lead_in) " " span.muted { "key " (key_in_words(item)) } }
                    span.field { input name={ "share:" (item.id) } inputmode="decimal" maxlength="12" autocomplete="off" value=(stands(&item.id)) aria-invalid=[wrongs.iter().any(|wrong| wrong.starts_with(&about)).then_some("true")]; " %" } } }
            } }
            p { button.go { "Keep what this judge expects" } }
        }
    }
}

/// An item as learners see it, in a fold.
fn whole_item(item: &questions::Item) -> Markup {
    html! {
        details { summary { "The whole question" }
            (words::stem(item))
            p { b { (item.lead_in) } }
            @match &item.body {
                Body::Choice { options, .. } => ul.plain { @for (at, option) in options.iter().enumerate() { li { b { (letter(at)) } " " (option.text) } } },
                Body::Order { steps, .. } => ul.plain { @for (at, step) in steps.iter().enumerate() { li { b { (letter(at)) } " " (step.text) } } },
                Body::Numeric { unit, .. } => p { "A number in " (unit) "." },
            }
        }
    }
}

/// A share that is typed in percent.
fn percent(text: &str) -> Option<f64> {
    let value: f64 = text.trim().trim_end_matches('%').trim().replace(',', ".").parse().ok()?;
    (0.0..=100.0).contains(&value).then_some(value / 100.0)
}

/// `POST /questions/{code}/pass`.
pub async fn keep(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    body: String,
) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let sitting = sitting(&house, &text).await?;
    let judge = form.get("judge").unwrap_or("").trim().to_owned();
    let (mut list, mut wrongs) = (Vec::new(), Vec::new());
    for (place, item) in sitting.items.iter().enumerate() {
        let Some(typed) = form.get(&format!("share:{}", item.id)) else { continue };
        match percent(typed) {
            Some(share) => list.push(What::Expected { judge: judge.clone(), item: item.id.clone(), share }),
            None => wrongs.push(format!("item {}: given {typed:?}; allowed 0 to 100 %", place + 1)),
        }
    }
    let initials = What::Expected { judge: judge.clone(), item: "item".to_owned(), share: 0.0 };
    if let Err(invalid) = initials.check() {
        wrongs.insert(0, format!("judge: given {}; allowed {}", invalid.given, invalid.allowed));
    }
    if list.is_empty() && wrongs.is_empty() {
        wrongs.push(format!(
            "item 1: given nothing for any item; allowed 0 to 100 % for 1 to {}",
            sitting.items.len()
        ));
    }
    if !wrongs.is_empty() {
        return Ok(refused(shown(&house, &sitting, &form, &wrongs)?));
    }
    school::keep(&house.store, &sitting.code, list, &here()).await.or_wrong(&house)?;
    Ok(Redirect::to(&format!("/questions/{}/pass?judge={judge}&kept=1", sitting.code)).into_response())
}

/// What judges would bear, row by row; rows without anything are left out.
fn borne_by(form: &Form) -> (Vec<[String; 4]>, Result<Vec<HofsteeJudge>, String>) {
    let column = |name: &str| -> Vec<String> {
        form.fields().filter(|(known, _)| *known == name).map(|(_, text)| text.to_owned()).collect()
    };
    let columns = FIELDS.map(|(name, _)| column(name));
    let count = columns.iter().map(Vec::len).max().unwrap_or(0);
    let rows = (0..count).map(|row| [0, 1, 2, 3].map(|of| columns[of].get(row).cloned().unwrap_or_default()));
    let rows: Vec<[String; 4]> = rows.filter(|row| row.iter().any(|cell| !cell.is_empty())).collect();
    let read = rows
        .iter()
        .enumerate()
        .map(|(place, row)| {
            let mut shares = [0.0; 4];
            for ((share, cell), (_, words)) in shares.iter_mut().zip(row).zip(FIELDS) {
                *share = percent(cell).ok_or_else(|| {
                    format!("judge {}, {words}: given {cell:?}; allowed 0 to 100", place + 1)
                })?;
            }
            let [cut_least, cut_most, fail_least, fail_most] = shares;
            Ok(HofsteeJudge { cut_least, cut_most, fail_least, fail_most })
        })
        .collect();
    (rows, read)
}

fn borne(house: &Arc<House>, sitting: &Sitting, form: &Form) -> Result<Markup, Wrong> {
    let (mut rows, read) = borne_by(form);
    let median = form.get("centre") == Some("median");
    let centre = if median { Centre::Median } else { Centre::Mean };
    let asked = !rows.is_empty();
    let of = sitting.counted().len().max(1) as f64;
    let scores: Vec<f64> = match marked(house, sitting, Rule::Partial)? {
        None => Vec::new(),
        Some(marked) => marked.totals.iter().map(|total| (total.earned / of).clamp(0.0, 1.0)).collect(),
    };
    let found = match (asked, read) {
        (false, _) => None,
        (true, Err(wrong)) => Some(Err(wrong)),
        (true, Ok(judges)) => Some(hofstee(&scores, &judges, centre).map_err(|error| error.to_string())),
    };
    let more = rows.len() + 1;
    rows.resize(ROWS.max(more), Default::default());
    Ok(html! {
        p { "Each judge says between which pass marks it should lie, and how few and how many learners may be below it. The line between the corners meets the curve of this class, or it does not." }
        @match &found {
            None => {}
            Some(Err(wrong)) => { p.wrong role="alert" { (wrong) } }
            Some(Ok(outcome)) => { p.say2 role="status" { (met(outcome)) } (pictures::failing(&scores, outcome)) }
        }
        form method="get" action={ "/questions/" (sitting.code) "/pass#hofstee" } {
            div.scroll role="region" tabindex="0" aria-label="What each judge would bear" { table {
                thead { tr { th scope="col" { "judge" } @for (_, words) in FIELDS { th scope="col" { (words) } } } }
                tbody { @for (place, row) in rows.iter().enumerate() {
                    tr { th scope="row" { (place + 1) }
                        @for ((name, words), cell) in FIELDS.iter().zip(row) { td { input.narrow name=(name) value=(cell) inputmode="decimal" maxlength="8" autocomplete="off" aria-label={ "judge " (place + 1) ", " (words) }; } } }
                } }
            } }
            div.readings {
                label { "Judges together by" select name="centre" { option value="mean" selected[!median] { "their mean" } option value="median" selected[median] { "their median" } } }
                button.plain { "Where do they meet?" }
            }
        }
    })
}

fn met(outcome: &Hofstee) -> String {
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    match outcome {
        Hofstee::Meets { cut, failing, failing_above, .. } => {
            let above =
                failing_above.map_or(String::new(), |above| format!(", {} just above it", percent(above)));
            format!(
                "Advised: {} of the points; {} of this class are below it{above}.",
                percent(*cut),
                percent(*failing)
            )
        }
        Hofstee::AskAgain { judges, why } => match why {
            NoCrossing::TooManyFail { failing, allowed } => format!(
                "There is no crossing: even at the lowest pass mark, {}, {} of this class are below it, and at most {} would do. Ask the judges again.",
                percent(judges.cut_least),
                percent(*failing),
                percent(*allowed)
            ),
            NoCrossing::TooFewFail { failing, allowed } => format!(
                "There is no crossing: even at the highest pass mark, {}, {} of this class are below it, and at least {} would do. Ask the judges again.",
                percent(judges.cut_most),
                percent(*failing),
                percent(*allowed)
            ),
        },
    }
}
