//! Rules: what is taught, against the chain.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Html;
use counsel::rules::{Audit, Pace, Rule, audit, reason, sentence};
use maud::{Markup, html};

use super::House;
use super::ask::{OrWrong, Wrong};
use super::frame::{Area, Page, address};
use crate::load::Known;
use crate::pictures;

/// What is asked of a part.
#[derive(serde::Deserialize)]
pub struct Asked {
    pace: Option<String>,
}

/// `GET /rules`.
pub async fn page(State(house): State<Arc<House>>) -> Result<Html<String>, Wrong> {
    let known = house.known().or_wrong(&house)?;
    let rules = known.rules().or_wrong(&house)?;
    let body = html! {
        h1 { "Rules" }
        p { "What is taught, asked of the chain: where over two conditions each rule holds, where it fails, and where nothing can be told. Everything else in its case is left as it usually is." }
        p.muted { (rules.list.len()) " rules. The three shares are of the map: holds, fails, cannot be told; a first answer from few samples." }
        @for topic in rules.topics() {
            section.sheet {
                h2 { (topic) }
                ul.rules { @for rule in rules.list.iter().filter(|rule| rule.topic == topic) {
                    li { a href={ "/rules/" (address(&rule.id)) } { (rule.says) }
                        @match house.audited(&rule.id, Pace::FIRST) {
                            Some(audit) => (shares(&audit)),
                            None => div.shares id={ "share-" (rule.id) } data-load={ "/rules/" (address(&rule.id)) "/shares.part" } { span.muted role="status" { "not asked yet" } },
                        } }
                } }
            }
        }
    };
    Ok(Page { house: &house, title: "Rules", area: Area::Rules, case: None, body }.html())
}

/// `GET /rules/{id}`.
pub async fn rule(State(house): State<Arc<House>>, Path(id): Path<String>) -> Result<Html<String>, Wrong> {
    let known = house.known().or_wrong(&house)?;
    let rules = known.rules().or_wrong(&house)?;
    let Some(rule) = rules.find(&id) else {
        return Err(Wrong::absent(&house, format!("There is no rule \"{id}\".")));
    };
    let (audit, whole) = match house.audited(&id, Pace::USUAL) {
        Some(audit) => (audit, true),
        None => (asked(&house, &known, rule, Pace::FIRST).await?, false),
    };
    let place = rules.list.iter().position(|known| known.id == id).unwrap_or(0);
    let (before, after) =
        (place.checked_sub(1).and_then(|place| rules.list.get(place)), rules.list.get(place + 1));
    let body = html! {
        p.muted { a href="/rules" { "Rules" } " · " (rule.topic) }
        h1 { (rule.says) }
        dl.facts-of {
            dt { "Taught" } dd { (rule.source) " " span.muted { "(" (rule.grade.word()) ")" }
                @if let Some(key) = rule.quoted() { " " a.key href={ "/source/" (address(key)) } { (key) } } }
            dt { "Asked" } dd { (rule.means) }
        }
        section.sheet #map-part data-load=[(!whole).then(|| format!("/rules/{}/map.part", address(&id)))] { (part(rule, &audit, whole)) }
        p.row {
            @if let Some(rule) = before { a.button href={ "/rules/" (address(&rule.id)) } { "The rule before" } }
            @if let Some(rule) = after { a.button href={ "/rules/" (address(&rule.id)) } { "The next rule" } }
        }
    };
    Ok(Page { house: &house, title: &rule.says, area: Area::Rules, case: None, body }.html())
}

/// `GET /rules/{id}/map.part`: the whole map.
pub async fn map(
    State(house): State<Arc<House>>,
    Path(id): Path<String>,
    Query(wanted): Query<Asked>,
) -> Result<Html<String>, Wrong> {
    let pace = if wanted.pace.as_deref() == Some("first") { Pace::FIRST } else { Pace::USUAL };
    let known = house.known().or_wrong(&house)?;
    let rules = known.rules().or_wrong(&house)?;
    let Some(rule) = rules.find(&id) else {
        return Err(Wrong::absent(&house, format!("There is no rule \"{id}\".")));
    };
    let audit = asked(&house, &known, rule, pace).await?;
    Ok(Html(part(rule, &audit, pace == Pace::USUAL).into_string()))
}

/// `GET /rules/{id}/shares.part`.
pub async fn share(State(house): State<Arc<House>>, Path(id): Path<String>) -> Result<Html<String>, Wrong> {
    let known = house.known().or_wrong(&house)?;
    let rules = known.rules().or_wrong(&house)?;
    let Some(rule) = rules.find(&id) else {
        return Err(Wrong::absent(&house, format!("There is no rule \"{id}\".")));
    };
    let audit = asked(&house, &known, rule, Pace::FIRST).await?;
    Ok(Html(shares(&audit).into_string()))
}

async fn asked(house: &Arc<House>, known: &Arc<Known>, rule: &Rule, pace: Pace) -> Result<Arc<Audit>, Wrong> {
    if let Some(audit) = house.audited(&rule.id, pace) {
        return Ok(audit);
    }
    let (known, own) = (Arc::clone(known), rule.clone());
    let made = house
        .compute(move || Ok(audit(&own, &known.ask_rule(pace.effort), pace.fineness)?))
        .await
        .or_wrong(house)?;
    Ok(house.keep_audit(&rule.id, pace, made))
}

fn shares(audit: &Audit) -> Markup {
    let map = &audit.map;
    let percent = |share: f64| format!("{:.0} %", 100.0 * share);
    html! {
        svg.shares viewBox="0 0 100 6" preserveAspectRatio="none" role="img"
            aria-label=(format!("holds {}, fails {}, cannot be told {}", percent(map.holds), percent(map.fails), percent(map.cannot_tell()))) {
            rect.holds x="0" y="0" width=(format!("{:.1}", 100.0 * map.holds)) height="6" {}
            rect.fails x=(format!("{:.1}", 100.0 * (1.0 - map.fails))) y="0" width=(format!("{:.1}", 100.0 * map.fails)) height="6" {}
            rect.frame x="0" y="0" width="100" height="6" {}
        }
        span.muted { "holds " (percent(map.holds)) ", cannot be told " (percent(map.cannot_tell())) ", fails " (percent(map.fails)) " · " (audit.why.link) }
    }
}

fn part(rule: &Rule, audit: &Audit, whole: bool) -> Markup {
    html! {
        p.say { (sentence(rule, audit)) }
        p { (reason(audit)) }
        (pictures::rule_map(rule, audit))
        p.muted role="status" { @if whole { (audit.map.asked) " points of " (Pace::USUAL.effort.samples()) " samples each." } @else { "A first map of few points; it is being sharpened." } }
        @if !audit.why.causes.is_empty() {
            h2 { "What is not known hangs on" }
            p { "At " (rule.x.said(audit.why.at[0])) " of " (rule.x.words) " and " (rule.y.said(audit.why.at[1])) " of " (rule.y.words)
                " the rule holds in " (format!("{:.0}", 100.0 * audit.why.share)) " % of the samples. Of what spreads there:" }
            ul { @for cause in audit.why.causes.iter().take(5) {
                li { (format!("{:.0} %", 100.0 * cause.share)) " " (cause.words) ", " (cause.grade.word()) ": " a.key href={ "/source/" (address(&cause.key)) } { (cause.key) } }
            } }
        }
    }
}
