//! What is found: on the impression after removal, and after pouring on die, index, film and at try-in.

use std::sync::Arc;

use axum::extract::{Path, State};
use axum::response::Html;
use chain::Effort;
use maud::{Markup, html};
use records::Running;
use terms::{DieFault, Fact, IndexFit, Reading, TryInSign};

use super::House;
use super::ask::{OrWrong, Told, Wrong, told};
use super::doc::{self, Ways};
use super::frame::{Area, Page, doing, hidden};
use crate::load::view;
use crate::running::read_in_words;
use crate::{inspection_page, result_page};

/// Samples of an inspection.
const EFFORT: Effort = Effort { points: 64 };

/// One thing to look for: what it is called in the grammar, words, what was found so far.
fn look_for(name: &str, [yes, no, not_looked]: [&str; 3], words: &Markup, found: Fact<bool>) -> Markup {
    // What was never looked for is not recorded as such; what was found can be withdrawn.
    let withdrawn = if matches!(found, Fact::Known(_)) { not_looked } else { "" };
    html! {
        fieldset.look { legend { (words) }
            div.tiles {
                @for (value, word, on) in [(no, "not there", Fact::Known(false)), (yes, "there", Fact::Known(true)), (withdrawn, "not looked", Fact::Unknown)] {
                    @let id = format!("{name}-{word}").replace(' ', "-");
                    span.tile { input type="radio" name={ "line-" (name) } value=(value) id=(id) checked[found == on || (on == Fact::Unknown && found == Fact::NotApplicable)]; label for=(id) { (word) } }
                }
            }
        }
    }
}

/// `GET /case/{code}/inspect`.
pub async fn inspect(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
) -> Result<Html<String>, Wrong> {
    let Told { code, case, known, now, .. } = told(&house, &text).await?;
    let (of, by) = (case.clone(), Arc::clone(&known));
    let inspection = house
        .compute(move || {
            let limits = by.limits(&of);
            Ok(counsel::inspection::inspect(
                &view(&of),
                &by.stock.clinic,
                &by.parameters,
                &limits,
                EFFORT,
                now,
            )?)
        })
        .await
        .or_wrong(&house)?;
    let base = format!("/case/{code}/source/");
    let ways = Ways { base: &base, known: &known, forecast: None };
    let full = inspection_page::doc(&case, &inspection);
    let body = html! {
        p.over { (code) @if case.demo { " · demo" } " · " (case.title.as_deref().unwrap_or("")) }
        h1 { "Inspect before anything else" }
        p.say2 { "Under light and magnification, rinsed and dried. A void, a drag, blood or a missed margin spoils more impressions than any micrometre." }
        form method="post" action={ "/case/" (code) "/do" } {
            (hidden(&house, &format!("/case/{code}/inspect")))
            @for line in &inspection.lines {
                @if let Some(fault) = line.fault {
                    (look_for(line.id, [&format!("found {fault}"), &format!("not found {fault}"), &format!("not looked for {fault}")], &html! { b { (line.words) } " " span.muted { (line.means) } }, line.found))
                } @else {
                    p.look { b { (line.words) } " "
                        @match line.found { Fact::Known(true) => "is missing", Fact::Known(false) => "all there", _ => "not known" }
                        ": " a href={ "/case/" (code) "/clock" } { "counts" } " and " a href={ "/case/" (code) "/facts" } { "facts" } }
                }
            }
            p.stickly { button.go { "Record what was seen" } }
        }
        section.sheet { h2 { "Accept, or take another one now" } (doc::section(&full, "Accept, or take another one now", ways)) }
    };
    let title = format!("Inspection of {code}");
    Ok(Page { house: &house, title: &title, area: Area::Case, case: Some((&code, "/inspect")), body }.html())
}

/// `GET /case/{code}/check`.
pub async fn check(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let Told { code, case, running, .. } = told(&house, &text).await?;
    let number = |line: &str, words: &str, unit: &str, least: &str, most: &str| {
        html! {
            form method="post" action={ "/case/" (code) "/do" } {
                (hidden(&house, &format!("/case/{code}/check")))
                input type="hidden" name="line" value=(line);
                label { (words) ", " (unit) input type="number" name="value" inputmode="decimal" min=(least) max=(most) step="1" required; }
                button.plain { "Record" }
            }
        }
    };
    let body = html! {
        p.over { (code) @if case.demo { " · demo" } " · " (case.title.as_deref().unwrap_or("")) }
        h1 { "Check after pouring" }
        p.say2 { "The true size of the tooth is not known: findings change what is likely and prove nothing." }
        section.sheet #result data-load={ "/case/" (code) "/result.part" } {
            h2 { "A usable result" }
            p role="status" { "The chance with and without what was found is being worked out. " a href={ "/case/" (code) "/result.part" } { "Show it" } }
        }
        form method="post" action={ "/case/" (code) "/do" } {
            (hidden(&house, &format!("/case/{code}/check")))
            h2 { "The die under magnification" }
            @for fault in DieFault::ALL {
                (look_for(&format!("die-{fault}"), [&format!("die {fault}"), &format!("die no {fault}"), &format!("not looked on the die for {fault}")], &html! { b { (fault) } }, on_die(&running, *fault)))
            }
            h2 { "At try-in" }
            @for sign in TryInSign::ALL {
                (look_for(&format!("felt-{sign}"), [&format!("felt {sign}"), &format!("not felt {sign}"), &format!("not looked at try-in for {sign}")], &html! { b { (sign) } }, felt(&running, *sign)))
            }
            @if case.situation.abutments.len() > 1 {
                h2 { "A rigid index made in the mouth, on the cast" }
                div.tiles { @for fit in IndexFit::ALL {
                    @let id = format!("index-{fit}").replace(' ', "-");
                    span.tile { input type="radio" name="line-index" value={ "index " (fit) } id=(id) checked[index(&running) == Some(*fit)]; label for=(id) { (fit) } }
                } }
            }
            p.stickly { button.go { "Record what was found" } }
        }
        section.sheet { h2 { "Measured" }
            @for (id, words) in measured(&running) {
                p.row { span { (words) } " " (doing(&house, &format!("/case/{code}/do"), &format!("/case/{code}/check"), &format!("back {id}"), "Take back", "plain")) }
            }
            div.readings {
                (number("film margin", "Fit-check film at the margin", "µm", "0", "500"))
                (number("film walls", "Fit-check film at the walls", "µm", "0", "500"))
                (number("second die", "Width of the second die less that of the first", "µm", "-200", "200"))
            }
        }
    };
    let title = format!("Check of {code}");
    Ok(Page { house: &house, title: &title, area: Area::Case, case: Some((&code, "/check")), body }.html())
}

/// `GET /case/{code}/result.part`.
pub async fn result(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
) -> Result<Html<String>, Wrong> {
    let Told { code, case, known, now, .. } = told(&house, &text).await?;
    let (of, by) = (case.clone(), Arc::clone(&known));
    let outcome = house
        .compute(move || {
            let limits = by.limits(&of);
            Ok(counsel::result::result(&view(&of), &by.parameters, &limits, Effort::COARSE, now)?)
        })
        .await
        .or_wrong(&house)?;
    let base = format!("/case/{code}/source/");
    let ways = Ways { base: &base, known: &known, forecast: None };
    let doc = result_page::doc(code.as_str(), &case, &outcome, &known.parameters);
    Ok(Html(doc::markup(&doc, ways, &[]).into_string()))
}

fn last<T>(running: &Running, of: impl Fn(&Reading) -> Option<T>) -> Option<T> {
    running.readings.iter().rev().find_map(|kept| of(&kept.observation.reading))
}

fn on_die(running: &Running, fault: DieFault) -> Fact<bool> {
    last(running, |reading| match reading {
        Reading::Die(finding) if finding.fault == fault => Some(finding.present),
        _ => None,
    })
    .unwrap_or(Fact::Unknown)
}

fn felt(running: &Running, sign: TryInSign) -> Fact<bool> {
    last(running, |reading| match reading {
        Reading::TryIn(finding) if finding.sign == sign => Some(finding.present),
        _ => None,
    })
    .unwrap_or(Fact::Unknown)
}

/// What was measured after pouring, and the index, each with its entry.
fn measured(running: &Running) -> Vec<(String, String)> {
    let of_these = |reading: &Reading| {
        matches!(
            reading,
            Reading::MarginFilm(_)
                | Reading::WallFilm(_)
                | Reading::PourDifference(_)
                | Reading::SpanIndex(_)
        )
    };
    let kept = running.readings.iter().filter(|kept| of_these(&kept.observation.reading));
    kept.map(|kept| (kept.id.to_string(), read_in_words(&kept.observation.reading))).collect()
}

fn index(running: &Running) -> Option<IndexFit> {
    last(running, |reading| if let Reading::SpanIndex(fit) = reading { Some(*fit) } else { None })
}
