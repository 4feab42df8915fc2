//! Rules: what is taught, against the chain.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::Html;
use counsel::rules::{Audit, Pace, Rule, Standing, asked_at, audit, reason, sentence};
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

/// What is asked of the list.
#[derive(serde::Deserialize)]
pub struct Filter {
    topic: Option<String>,
}

/// `GET /rules`, or those of one topic.
pub async fn page(
    State(house): State<Arc<House>>,
    Query(filter): Query<Filter>,
) -> Result<Html<String>, Wrong> {
    let known = house.known().or_wrong(&house)?;
    let rules = known.rules().or_wrong(&house)?;
    let topics = rules.topics();
    let only = filter.topic.as_deref().filter(|topic| !topic.is_empty());
    if let Some(topic) = only.filter(|topic| !topics.contains(topic)) {
        let words = format!("There are no rules on \"{topic}\"; topics are {}.", topics.join(", "));
        return Err(Wrong::absent(&house, words));
    }
    let of = |topic: &str| rules.list.iter().filter(|rule| rule.topic == topic).count();
    let alone = |topic: &str| format!("/rules?topic={}", address(topic));
    let shown = topics.iter().enumerate().filter(|(_, topic)| only.is_none_or(|only| only == **topic));
    let body = html! {
        h1 { "Rules" }
        p { "What is taught, asked of the chain: where over two conditions each rule holds, where the difference is too small to matter, where it fails, and where nothing can be told. Everything else in its case is left as it usually is." }
        nav.topics aria-label="Topics" {
            @if only.is_some() { a href="/rules" { "All " (rules.list.len()) " rules" } }
            @for (place, topic) in topics.iter().enumerate() {
                @if only == Some(*topic) { b aria-current="page" { (topic) " " (of(topic)) } }
                @else if only.is_some() { a href=(alone(topic)) { (topic) " " (of(topic)) } }
                @else { a href={ "#topic-" (place) } { (topic) " " (of(topic)) } }
            }
        }
        dl.facts-of.muted {
            dt { "Shares" } dd { "of the map of each rule, from a first answer of few samples. A rule that compares two cases comes out as taught, with a difference too small to matter, or the opposite; a deadline or a bound holds or fails." }
            dt { "Small word" } dd { "after the shares, as in \"· set\": the link of the chain that decides, from mix, set, access (to the margin), removal, holding (until it is poured), tray and stone to fit." }
        }
        @for (place, topic) in shown {
            section.sheet id={ "topic-" (place) } {
                h2 { (topic) @if only.is_none() { " " a.alone href=(alone(topic)) { "only these " (of(topic)) } } }
                ul.rules { @for rule in rules.list.iter().filter(|rule| rule.topic == *topic) {
                    li { a href={ "/rules/" (address(&rule.id)) } { (rule.says) }
                        @match house.audited(&rule.id, Pace::FIRST) {
                            Some(audit) => (shares(rule, &audit)),
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
        p.muted { a href="/rules" { "Rules" } " · " a href={ "/rules?topic=" (address(&rule.topic)) } { (rule.topic) } }
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
    Ok(Html(shares(rule, &audit).into_string()))
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

fn shares(rule: &Rule, audit: &Audit) -> Markup {
    let map = &audit.map;
    let of = |outcome: Standing| match outcome {
        Standing::Holds => map.holds,
        Standing::Slight => map.slight,
        Standing::Fails => map.fails,
        Standing::CannotTell => map.cannot_tell(),
    };
    let words: Vec<String> = rule
        .outcomes()
        .iter()
        .chain(&[Standing::CannotTell])
        .map(|outcome| {
            let called = match outcome {
                Standing::Slight if rule.claim.by_taught => "less than taught".to_owned(),
                Standing::Slight => "too small to matter".to_owned(),
                outcome => rule.called(*outcome),
            };
            format!("{called} {:.0} %", 100.0 * of(*outcome))
        })
        .collect();
    let words = words.join(", ");
    let wide = |share: f64| format!("{:.1}", 100.0 * share.clamp(0.0, 1.0));
    html! {
        svg.shares viewBox="0 0 100 6" preserveAspectRatio="none" role="img" aria-label=(words) {
            rect.holds x="0" y="0" width=(wide(map.holds)) height="6" {}
            // Low beside what holds and what fails: told apart by its height.
            rect.slight x=(wide(map.holds)) y="4" width=(wide(map.slight)) height="2" {}
            rect.fails x=(wide(1.0 - map.fails)) y="0" width=(wide(map.fails)) height="6" {}
            rect.frame x="0" y="0" width="100" height="6" {}
        }
        span.muted { (words) " · " (audit.why.link) }
    }
}

fn part(rule: &Rule, audit: &Audit, whole: bool) -> Markup {
    html! {
        p.say { (sentence(rule, audit)) }
        p { (reason(audit)) }
        (pictures::rule_map(rule, audit))
        p { span.key-here role="img" aria-label="The ring" {} " " (asked_at(rule, audit)) }
        p.muted role="status" { @if whole { (audit.map.asked) " points of " (Pace::USUAL.effort.samples()) " samples each." } @else { "A first map of few points; it is being sharpened." } }
        @if !audit.why.causes.is_empty() {
            h2 { "What is not known hangs on" }
            p { "At the ring, of what spreads there:" }
            ul { @for cause in audit.why.causes.iter().take(5) {
                li { (format!("{:.0} %", 100.0 * cause.share)) " " (cause.words) ", " (cause.grade.word()) ": " a.key href={ "/source/" (address(&cause.key)) } { (cause.key) } }
            } }
        }
    }
}
