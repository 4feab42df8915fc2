//! The clock of a running case: the next step in large type, seconds to spare, one key for a stamp.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use axum::response::Html;
use chain::Forecast;
use chain::report::VerdictWord;
use jiff::tz::TimeZone;
use maud::{Markup, html};
use terms::{Bound, Counted, Step, TrayKind};

use super::House;
use super::ask::{OrWrong, Wrong, code};
use super::facts::read_so_far;
use super::frame::{Area, Page, chip, doing, hidden};
use crate::run_page::{Face, clock, ends, one, usable};
use crate::running::{Level, Next, Session, Sight, Urgency, clock_span, here, lead_s, sight};

/// What the page asks for each second.
#[derive(serde::Serialize)]
pub struct Look {
    present: i64,
    step: Option<&'static str>,
    words: Option<&'static str>,
    started: bool,
    opens: Option<i64>,
    closes: Option<i64>,
    lead_s: f64,
    fresh: bool,
    token: String,
    parts: Vec<(&'static str, String)>,
}

/// `GET /case/{code}/clock`.
pub async fn page(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let code = code(&house, &text)?;
    let open = house.open(&code).await.map_err(|error| Wrong::absent(&house, format!("{error:#}")))?;
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    let (forecast, fresh) = house.forecast(&open, &session).await.or_wrong(&house)?;
    let (look, sight) = look(&house, &session, &forecast, fresh);
    let body = body(&house, &session, &sight, &look);
    let title = format!("Clock of {code}");
    Ok(Page { house: &house, title: &title, area: Area::Case, case: Some((&code, "/clock")), body }.html())
}

/// `GET /case/{code}/clock.json`.
pub async fn json(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Json<Look>, Wrong> {
    let code = code(&house, &text)?;
    let open = house.open(&code).await.map_err(|error| Wrong::absent(&house, format!("{error:#}")))?;
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    // What could not be kept is tried again whenever somebody looks.
    for entry in session.unkept().to_vec() {
        let _ = session.keep(&house.store, entry).await;
    }
    let (forecast, fresh) = house.forecast(&open, &session).await.or_wrong(&house)?;
    Ok(Json(look(&house, &session, &forecast, fresh).0))
}

fn look(house: &House, session: &Session, forecast: &Forecast, fresh: bool) -> (Look, Sight) {
    let (now, doubt) = session.running().present(&here());
    let sight = sight(session, forecast, now, doubt, &session.stops());
    let next = sight.next.as_ref();
    let look = Look {
        present: now.millis(),
        step: next.map(|next| next.step.word()),
        words: next.map(|next| next.words),
        started: sight.started.is_some(),
        opens: next.and_then(|next| next.opens.as_ref()).map(|end| end.at.millis()),
        closes: next.and_then(|next| next.closes.as_ref()).map(|end| end.at.millis()),
        lead_s: next.map_or(0.0, |next| lead_s(next.step)),
        fresh,
        token: house.token.clone(),
        parts: vec![
            ("next", next_part(&sight, &house.zone).into_string()),
            ("alerts", alerts(&sight).into_string()),
            ("later", later(&sight, &house.zone).into_string()),
            ("done", done(house, session, &sight).into_string()),
            ("counted", counted(&sight).into_string()),
            ("state", state(&sight, fresh).into_string()),
        ],
    };
    (look, sight)
}

fn body(house: &House, session: &Session, sight: &Sight, look: &Look) -> Markup {
    let case = session.case();
    let action = format!("/case/{}/do", sight.code);
    let back = format!("/case/{}/clock", sight.code);
    let part = |name: &str| {
        let html = look.parts.iter().find(|(known, _)| *known == name).map_or("", |(_, html)| html.as_str());
        maud::PreEscaped(html.to_owned())
    };
    html! {
        p.over { (sight.code) @if sight.demo { " · demo" } " · " (sight.title.as_deref().unwrap_or("")) }
        h1.quiet { "Clock" }
        section.clock #clock data-code=(sight.code) data-action=(action) {
            div #next { (part("next")) }
            div.keys {
                form.one method="post" action=(action) #stamp {
                    (hidden(house, &back))
                    input type="hidden" name="line" value=(look.step.map(|step| format!("stamp {step}")).unwrap_or_default());
                    button.go.huge autofocus disabled[look.step.is_none()] { (label(look)) }
                }
                (doing(house, &action, &back, "back", "Take back", "plain"))
                button.plain #sound type="button" hidden { "Sound on" }
            }
            p.muted.keyline { "Space, Enter or the foot switch stamps what is shown; the screen is kept awake where the browser allows it." }
            div #call role="alert" {}
            div #said role="status" {}
        }
        div #alerts { (part("alerts")) }
        div.two {
            section { h2 { "Then" } div #later { (part("later")) } }
            section { h2 { "Done" } div #done { (part("done")) } }
        }
        section.sheet {
            h2 { "Read" }
            p.muted { "A reading replaces what was stated, and the windows move." }
            div.readings {
                @for (line, words, unit, low, high, step) in readings(session) {
                    form method="post" action=(action) {
                        (hidden(house, &back))
                        input type="hidden" name="line" value=(line);
                        label { (words) ", " (unit)
                            input type="number" name="value" inputmode="decimal" min=(low) max=(high) step=(step) required; }
                        button.plain { "Record" }
                    }
                }
                (doing(house, &action, &back, "bowl set", "The rest in the bowl has set", "plain"))
            }
        }
        section.sheet {
            h2 { "Count into the sulcus and out again" }
            p #counted role="status" { (part("counted")) }
            div.counts {
                @for item in Counted::ALL {
                    @let words = format!("{item}s");
                    div.count {
                        b { (words) }
                        (doing(house, &action, &back, &format!("{words} in 1"), "one in", "plain"))
                        (doing(house, &action, &back, &format!("{words} out 1"), "one out", "plain"))
                    }
                }
            }
            @if case.route.tray.kind == TrayKind::DualArch { p.muted { "Nothing of a both-arch tray is counted here." } }
            details {
                summary { "Close the chair side" }
                form.stack method="post" action=(action) {
                    (hidden(house, &back))
                    input type="hidden" name="line" value="close";
                    p { "With the counts even, close as it is. With a difference all three are needed." }
                    label { "Initials, two to four capitals" input name="signed" maxlength="4" pattern="[A-Z]{2,4}" autocomplete="off"; }
                    label { "Why there is a difference" input name="reason" maxlength="300" autocomplete="off"; }
                    label { "When and how the patient is called back" input name="recall" maxlength="300" autocomplete="off"; }
                    button.plain { "Close" }
                }
            }
        }
        section.sheet {
            h2 { "Otherwise" }
            div.two {
                details {
                    summary { "Leave a step out, with a reason" }
                    form.stack method="post" action=(action) {
                        (hidden(house, &back))
                        label { "Step" select name="line" { @for step in Step::ALL { option value={ "skip " (step) } { (step) } } } }
                        label { "Reason" input name="reason" required maxlength="300" autocomplete="off"; }
                        button.plain { "Leave out" }
                    }
                }
                details {
                    summary { "It happened earlier" }
                    form.stack method="post" action=(action) {
                        (hidden(house, &back))
                        label { "Step" select name="line" { @for step in Step::ALL { option value={ "stamp " (step) } { (step) } } } }
                        label { "How long ago, such as 90 s ago or 2 min ago" input name="value" required pattern=".* ago" autocomplete="off"; }
                        button.plain { "Stamp" }
                    }
                }
                details {
                    summary { "Overrule a caution or a window, with a reason" }
                    form.stack method="post" action=(action) {
                        (hidden(house, &back))
                        input type="hidden" name="line" value="overrule";
                        label { "Which, by the name it is shown under" input name="value" required maxlength="80" autocomplete="off"; }
                        label { "Reason" input name="reason" required maxlength="300" autocomplete="off"; }
                        button.plain { "Overrule" }
                    }
                }
                details {
                    summary { "Note" }
                    form.stack method="post" action=(action) {
                        (hidden(house, &back))
                        input type="hidden" name="line" value="note";
                        label { "No name, date of birth or address" input name="value" required maxlength="500" autocomplete="off"; }
                        button.plain { "Write down" }
                    }
                }
            }
        }
        div #state { (part("state")) }
    }
}

/// Readings that this case can take: line of the grammar, words, unit, least, most, step.
fn readings(
    session: &Session,
) -> Vec<(&'static str, &'static str, &'static str, &'static str, &'static str, &'static str)> {
    let mut list = vec![
        ("room", "Room", "°C", "10", "40", "0.1"),
        ("humidity", "Humidity", "%", "5", "95", "1"),
        ("tooth", "Tooth", "°C", "15", "40", "0.1"),
        ("mix", "Mix", "°C", "1", "45", "0.1"),
    ];
    if session.case().route.material.class.is_alginate() {
        list.insert(0, ("water", "Water", "°C", "1", "45", "0.1"));
    }
    if session.running().stamp_of(Step::Removed).is_some() {
        list.push(("mass lost", "Mass lost since removal", "%", "0", "20", "0.01"));
    }
    list
}

fn label(look: &Look) -> String {
    match look.words {
        Some(words) => {
            let mut letters = words.chars();
            letters.next().map(|first| first.to_uppercase().chain(letters).collect()).unwrap_or_default()
        }
        None => "Every step is done".to_owned(),
    }
}

fn next_part(sight: &Sight, zone: &TimeZone) -> Markup {
    let Some(next) = &sight.next else {
        return html! { p.order { "Every step is stamped or left out." } };
    };
    let (figure, words) = spare(sight, next);
    html! {
        p.order { (next.words) }
        p class={ "figure " (class(next.urgency)) } {
            span.big #count { (figure) } " " span.unit #count-words { (words) }
        }
        @for (name, end, bound) in [("not before", &next.opens, Bound::Minimum), ("not after", &next.closes, Bound::Maximum)] {
            @if let Some(end) = end {
                p.end { b { (name) } " " (one(end, bound, &Face::of(sight, zone))) " "
                    a.key href={ "/case/" (sight.code) "/source/" (end.key) } { (end.key) } }
            }
        }
    }
}

fn class(urgency: Urgency) -> &'static str {
    match urgency {
        Urgency::Closed => "late",
        Urgency::Soon => "soon",
        Urgency::Open => "open",
        Urgency::NotYet | Urgency::NotSaid => "wait",
    }
}

/// The figure and what it means; the script goes on counting with the same words.
fn spare(sight: &Sight, next: &Next) -> (String, &'static str) {
    match (next.urgency, next.wait_s, next.to_spare_s) {
        _ if sight.started.is_none() => ("–:––".to_owned(), "when everything is laid out"),
        (Urgency::Closed, _, Some(s)) => (clock_span(s), "too late"),
        (Urgency::NotYet, Some(s), _) => (clock_span(s.ceil()), "to wait: not yet"),
        (Urgency::Soon, _, Some(s)) => (clock_span(s), "left"),
        (_, _, Some(s)) => (clock_span(s), "to spare"),
        (Urgency::Open, None, None) => ("now".to_owned(), "or later"),
        _ => ("–:––".to_owned(), "no time said: consult the instructions"),
    }
}

fn alerts(sight: &Sight) -> Markup {
    html! {
        @if !sight.alerts.is_empty() {
            ul.alerts {
                @for alert in &sight.alerts {
                    @let (class, word) = match alert.level {
                        Level::Late => ("stop", "now"),
                        Level::Warn => ("caution", "heed"),
                        Level::Note => ("note", "note"),
                    };
                    @let (words, way) = on_pages(&alert.words, &sight.code);
                    li { (chip(class, word)) " " (words) @if let Some((address, name)) = way { ": " a href=(address) { (name) } } }
                }
            }
        }
    }
}

/// What the terminal says with a command stands on a page with a way.
fn on_pages<'a>(words: &'a str, code: &str) -> (&'a str, Option<(String, &'static str)>) {
    let commands = [
        (": trayward cautions ", "#ask", "ask"),
        (": trayward inspect ", "/inspect", "inspect"),
        (": trayward result ", "/check", "check"),
    ];
    for (command, end, name) in commands {
        if let Some((words, _)) = words.split_once(command) {
            return (words, Some((format!("/case/{code}{end}"), name)));
        }
    }
    (words, None)
}

fn later(sight: &Sight, zone: &TimeZone) -> Markup {
    html! {
        @if sight.later.is_empty() { p.muted { "Nothing after that." } }
        dl.lines {
            @for next in &sight.later {
                @let words = ends(next, &Face::of(sight, zone));
                dt { (next.words) }
                dd { @if words.is_empty() { "no time said" } @else { (words) } }
            }
        }
    }
}

/// How many are in and out, beside the buttons that count them.
fn counted(sight: &Sight) -> Markup {
    html! {
        @if sight.counts.is_empty() { "Nothing has been counted." }
        @for (place, balance) in sight.counts.iter().enumerate() {
            @if place > 0 { " · " }
            b { (balance.item) "s " } (balance.into) " in, " (balance.out) " out"
            @if balance.out > balance.into { " " (chip("caution", "more out than in")) }
        }
    }
}

fn done(house: &House, session: &Session, sight: &Sight) -> Markup {
    let zone = &house.zone;
    html! {
        @if sight.done.is_empty() && sight.skipped.is_empty() && sight.counts.is_empty() { p.muted { "Nothing yet." } }
        dl.lines {
            @for done in &sight.done {
                dt { (done.step) }
                dd { (clock(done.at, sight.present, zone))
                    @if let Some(started) = sight.started.filter(|started| done.at > *started) {
                        " · " (clock_span(done.at.seconds_since(started))) " from the start"
                    }
                    @if done.doubtful { " · by the wall clock alone" } }
            }
            @for read in read_so_far(session.running(), house) { dt { "read" } dd { (read) } }
            @for (step, reason) in &sight.skipped { dt { (step) } dd { "left out: " (reason) } }
            @for balance in &sight.counts { dt { (balance.item) "s" } dd { (balance.into) " in, " (balance.out) " out" } }
            @if let Some(closing) = &sight.closed {
                dt { "chair side closed" }
                dd { (clock(closing.at, sight.present, zone)) @if let Some(signed) = &closing.signed { ", signed " (signed) } }
            }
        }
    }
}

fn state(sight: &Sight, fresh: bool) -> Markup {
    html! {
        p.muted {
            (usable(sight.word, sight.usable))
            @if sight.mainly_assumed { ", mainly on assumed values" }
            ": " a href={ "/case/" (sight.code) } { "the card" } ". "
            @if !fresh { "The windows are being worked out anew." }
        }
    }
}

/// The word of a verdict.
pub fn word(word: VerdictWord) -> &'static str {
    match word {
        VerdictWord::Likely => "likely",
        VerdictWord::Unlikely => "unlikely",
        VerdictWord::CannotTell => "cannot tell",
    }
}
