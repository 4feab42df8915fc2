//! Today: what runs, what waits to be poured and in which order, what needs attention.

use std::sync::Arc;

use anyhow::Result;
use axum::Json;
use axum::extract::{Query, State};
use axum::response::{Html, IntoResponse, Response};
use counsel::pour_order::Hands;
use jiff::tz::TimeZone;
use maud::{Markup, html};
use records::{Book, CaseLine};
use terms::{CaseCode, Instant, Step};

use super::House;
use super::ask::{OrWrong, Wrong};
use super::card::in_words;
use super::frame::{Area, Page, chip, hidden};
use super::house::Listed;
use super::stock::{expired, room_of};
use crate::digits::write;
use crate::pictures::{Waits, queue_strip};
use crate::queue_page;
use crate::running::{Level, Sight, clock_span, here, sight};
use crate::waiting::{LineUp, Queued, line_up, queued_of, usual_hands, waits};

/// The most cases that a list shows.
const MOST: usize = 40;

/// How many cases are looked at, the last touched first.
const LOOKED_AT: usize = 400;

/// Who pours.
#[derive(serde::Deserialize)]
pub struct Asked {
    hands: Option<usize>,
}

/// Everything that is known of today.
struct Today {
    running: Vec<(CaseCode, Arc<Listed>, Sight)>,
    queue: Vec<Queued>,
    line_up: Option<LineUp>,
    hands: Hands,
    planned: Vec<(CaseCode, Arc<Listed>)>,
    finished: Vec<(CaseCode, Arc<Listed>)>,
    unreadable: Vec<String>,
    attention: Vec<(Level, String, Option<CaseCode>)>,
    book: Book,
    cases: usize,
}

/// `GET /`.
pub async fn page(
    State(house): State<Arc<House>>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Wrong> {
    let today = today(&house, &asked).await.or_wrong(&house)?;
    let now = here().wall;
    let day = by_calendar(now, &house.zone, "%A, %-d %B %Y");
    let body = html! {
        p.over { (day) @if house.demo { " · demo" } }
        h1 { "Today" }
        div #today data-load="/today.json" data-every="5" {
            div #running { (running(&house, &today)) }
            div #waiting { (waiting(&house, &today)) }
            div #attention { (attention(&today)) }
        }
        p.row { a.button.go href="/new" { "New case" } }
        (room(&house, &today.book, now))
        (lists(&today))
    };
    Ok(Page { house: &house, title: "Today", area: Area::Today, case: None, body }.html())
}

/// `GET /today.json`: the parts that move by themselves.
pub async fn json(State(house): State<Arc<House>>, Query(asked): Query<Asked>) -> Result<Response, Wrong> {
    let today = today(&house, &asked).await.or_wrong(&house)?;
    let parts = [
        ("running", running(&house, &today).into_string()),
        ("waiting", waiting(&house, &today).into_string()),
        ("attention", attention(&today).into_string()),
    ];
    Ok(Json(serde_json::json!({ "parts": parts })).into_response())
}

async fn today(house: &Arc<House>, asked: &Asked) -> Result<Today> {
    let lines = house.cases().await?;
    let at = here();
    let mut today = Today {
        running: Vec::new(),
        queue: Vec::new(),
        line_up: None,
        hands: usual_hands(asked.hands.unwrap_or(1), at.wall),
        planned: Vec::new(),
        finished: Vec::new(),
        unreadable: Vec::new(),
        attention: Vec::new(),
        book: house.book().await?,
        cases: lines.len(),
    };
    for line in lines.iter().take(LOOKED_AT) {
        let listed = match house.listed(line).await {
            Ok(listed) => listed,
            Err(error) => {
                today.unreadable.push(format!("{}: {error:#}", line.case));
                continue;
            }
        };
        place(house, &mut today, line, listed).await?;
    }
    if !today.queue.is_empty() {
        let queue = std::mem::take(&mut today.queue);
        let hands = today.hands;
        let (queue, line_up) = house
            .compute(move || {
                let line_up = line_up(&queue, &hands);
                Ok((queue, line_up))
            })
            .await?;
        today.queue = queue;
        match line_up {
            Ok(line_up) => today.line_up = Some(line_up),
            Err(error) => {
                today.attention.push((Level::Late, format!("no order of pouring: {error:#}"), None))
            }
        }
    }
    let day = by_calendar(at.wall, &house.zone, "%F");
    for lot in &today.book.lots {
        if expired(lot.expires.as_deref(), &day) {
            today.attention.push((
                Level::Warn,
                format!(
                    "lot {} of {} has expired ({})",
                    lot.lot,
                    lot.product,
                    lot.expires.as_deref().unwrap_or("")
                ),
                None,
            ));
        }
    }
    today.attention.sort_by_key(|(level, ..)| *level);
    Ok(today)
}

async fn place(house: &Arc<House>, today: &mut Today, line: &CaseLine, listed: Arc<Listed>) -> Result<()> {
    let code = line.case.clone();
    let running = &listed.running;
    let started = !running.stamps.is_empty();
    let left_out = running.skipped.iter().any(|(step, _)| *step == Step::Poured);
    let over = running.next_step().is_none();
    if !running.differences().is_empty()
        && running.stamp_of(Step::Removed).is_some()
        && running.closed.is_none()
    {
        today.attention.push((
            Level::Late,
            format!("{code}: counts differ and the chair side is not closed"),
            Some(code.clone()),
        ));
    }
    if !started {
        today.planned.push((code, listed));
        return Ok(());
    }
    if over {
        today.finished.push((code, listed));
        return Ok(());
    }
    let open = match house.open(&code).await {
        Ok(open) => open,
        Err(error) => {
            today.unreadable.push(format!("{code}: {error:#}"));
            return Ok(());
        }
    };
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    let (forecast, _) = match house.forecast(&open, &session).await {
        Ok(made) => made,
        Err(error) => {
            today.unreadable.push(format!("{code}: {error:#}"));
            return Ok(());
        }
    };
    let (now, doubt) = session.running().present(&here());
    let seen = sight(&session, &forecast, now, doubt, &session.stops());
    if waits(&listed.case) && !left_out {
        let known = Arc::clone(session.known());
        let queued = queued_of(code.as_str(), &listed.case, &known, &forecast, now);
        match queued {
            Ok(queued) => today.queue.push(queued),
            Err(error) => today.unreadable.push(format!("{error:#}")),
        }
    }
    for alert in seen.alerts.iter().filter(|alert| alert.level == Level::Late) {
        today.attention.push((alert.level, format!("{code}: {}", alert.words), Some(code.clone())));
    }
    drop(session);
    today.running.push((code, listed, seen));
    Ok(())
}

/// What waits to be poured, in its order.
///
/// # Errors
/// When the store cannot be read.
pub async fn queue(house: &Arc<House>, asked: &Asked) -> Result<(Vec<Queued>, Option<LineUp>, Hands)> {
    let today = today(house, asked).await?;
    Ok((today.queue, today.line_up, today.hands))
}

fn running(house: &House, today: &Today) -> Markup {
    // What only waits to be poured stands on the strip below.
    let in_hand: Vec<_> = today
        .running
        .iter()
        .filter(|(_, listed, _)| listed.running.next_step() != Some(Step::Poured))
        .collect();
    html! {
        section.sheet {
            h2 { "Running" }
            @if in_hand.is_empty() { p.muted { "Nothing runs. A case runs from its first stamp." } }
            ul.cases {
                @for (code, listed, seen) in in_hand {
                    li {
                        a.case href={ "/case/" (code) "/clock" } {
                            b { (code) } " " span { (listed.case.title.clone().unwrap_or_else(|| in_words(&listed.case))) }
                        }
                        @if let Some(next) = &seen.next {
                            p { (next.words) ": "
                                @match (next.wait_s, next.to_spare_s) {
                                    (_, Some(s)) if s < 0.0 => { b { "too late by " (clock_span(s)) } },
                                    (Some(s), _) => { "in " b { (clock_span(s.ceil())) } },
                                    (None, Some(s)) => { b { (clock_span(s)) } " to spare" },
                                    _ => { "no time said" },
                                }
                                @if let Some(end) = &next.closes { span.muted { " · by " (by_calendar(end.at, &house.zone, "%H:%M")) } }
                            }
                        }
                    }
                }
            }
        }
    }
}

fn waiting(house: &House, today: &Today) -> Markup {
    let Some(line_up) = &today.line_up else {
        return html! { section.sheet { h2 { "Waiting to be poured" } p.muted { "Nothing waits." } } };
    };
    let doc = queue_page::doc(&today.queue, line_up, &house.zone);
    let rows = rows(&today.queue, line_up, &today.hands, &house.zone);
    let from_s = today.hands.from_s;
    html! {
        section.sheet {
            h2 { "Waiting to be poured" }
            (queue_strip(&rows.iter().map(|row| &row.waits).collect::<Vec<_>>(), |minute| queue_page::clock(from_s + 60.0 * minute, &house.zone)))
            ol.pours {
                @for row in &rows {
                    li { a href={ "/case/" (row.code) "/clock" } { b { (row.code) } } " "
                        span { (row.title) } " · " (row.says[1]) ", " (row.says[2])
                        @if row.late { " " (chip("stop", "late")) } }
                }
            }
            @let (first, others) = advice(&doc, line_up);
            @for words in &first { p { (words) } }
            @if !others.is_empty() {
                details { summary { "What else would help, and how the order is made" }
                    @for words in &others { p { (words) } } }
            }
            p.row {
                a.button href={ "/?hands=" (3 - today.hands.pairs) } { @if today.hands.pairs == 1 { "With a second pair of hands" } @else { "With one pair of hands" } }
                " " a.button href={ "/print/pour?hands=" (today.hands.pairs) } { "Print the pour sheet" }
            }
        }
    }
}

/// What is said under the strip: what is late and the rescue that leaves the fewest late, then everything else.
fn advice(doc: &crate::lines::Doc, line_up: &LineUp) -> (Vec<String>, Vec<String>) {
    let (mut first, mut rescues, mut others) = (Vec::new(), Vec::new(), Vec::new());
    for (title, blocks) in doc.sections() {
        for block in blocks {
            let crate::lines::Block::Paragraph { first: mark, words, .. } = block else { continue };
            match (title, mark.trim()) {
                (Some("Pour in this order"), "") if mark == "  " => first.push(words.clone()),
                (Some("Pour in this order"), _) => {}
                (_, "-") => rescues.push(words.clone()),
                _ => others.push(words.clone()),
            }
        }
    }
    // Rescues stand in the order of their cost; of those that leave as few late, the cheapest.
    let best =
        line_up.rescues.iter().enumerate().min_by_key(|(place, rescue)| (rescue.order.outcome.late, *place));
    if let Some((place, _)) = best
        && place < rescues.len()
    {
        first.push(format!("What would save most: {}.", rescues.remove(place)));
    }
    rescues.extend(others);
    (first, rescues)
}

/// Rows of the strip, with the titles of their cases.
pub struct PourRow {
    /// As drawn.
    pub waits: Waits,
    /// What it is.
    pub title: String,
}

impl std::ops::Deref for PourRow {
    type Target = Waits;

    fn deref(&self) -> &Waits {
        &self.waits
    }
}

/// The order as rows of a strip.
pub fn rows(queue: &[Queued], line_up: &LineUp, hands: &Hands, zone: &TimeZone) -> Vec<PourRow> {
    let minute = |s: f64| (s - hands.from_s) / 60.0;
    let clock = |s: f64| queue_page::clock(s, zone);
    line_up
        .order
        .pours
        .iter()
        .filter_map(|pour| {
            let queued = queue.get(pour.waiting)?;
            let waiting = &queued.waiting;
            let mix = match pour.mix_s {
                Some(s) => format!("mix {} {}", queued.stone, clock(s)),
                None => "same mix".to_owned(),
            };
            let until = match waiting.begin_by_s {
                Some(s) if pour.late_s > 0.0 => {
                    format!("{}, late by {} min", clock(s), write(pour.late_s / 60.0, 1.0))
                }
                Some(s) => queue_page::dated(s, pour.begins_s, zone),
                None => "no end".to_owned(),
            };
            Some(PourRow {
                title: queued.title.clone().unwrap_or_default(),
                waits: Waits {
                    code: waiting.code.clone(),
                    ready_min: minute(waiting.ready_s),
                    until_min: waiting.begin_by_s.map(minute),
                    mix_min: pour.mix_s.map(minute),
                    pour_min: [minute(pour.begins_s), minute(pour.begins_s + hands.pour_s)],
                    late: pour.late_s > 0.0,
                    hands: pour.pair + 1,
                    says: vec![
                        waiting.code.clone(),
                        mix,
                        format!("pour {}", clock(pour.begins_s)),
                        queue_page::dated(waiting.ready_s, pour.begins_s, zone),
                        until,
                    ],
                },
            })
        })
        .collect()
}

fn attention(today: &Today) -> Markup {
    html! {
        @if !today.attention.is_empty() || !today.unreadable.is_empty() {
            section.sheet {
                h2 { "Needs attention" }
                ul.alerts {
                    @for (level, words, code) in &today.attention {
                        @let (class, name) = if *level == Level::Late { ("stop", "now") } else { ("caution", "heed") };
                        li { (chip(class, name)) " " @match code { Some(code) => a href={ "/case/" (code) "/clock" } { (words) }, None => { (words) } } }
                    }
                    @for words in &today.unreadable { li { (chip("caution", "not read")) " " (words) } }
                }
            }
        }
    }
}

fn room(house: &House, book: &Book, now: Instant) -> Markup {
    let said = room_of(book, now, &house.zone);
    html! {
        section.sheet {
            h2 { "The room" }
            @for line in &said { p { (line) } }
            form.readings method="post" action="/room" {
                (hidden(house, "/"))
                label { "Room, °C" input type="number" name="room" min="10" max="40" step="0.1" inputmode="decimal"; }
                label { "Humidity, %" input type="number" name="humidity" min="5" max="95" step="1" inputmode="decimal"; }
                label { "Tap water, °C" input type="number" name="water" min="1" max="45" step="0.1" inputmode="decimal"; }
                button.plain { "Remember" }
            }
        }
    }
}

fn lists(today: &Today) -> Markup {
    let list = |words: &str, cases: &[(CaseCode, Arc<Listed>)]| {
        html! {
            section.sheet {
                h2 { (words) }
                @if cases.is_empty() { p.muted { "None." } }
                ul.cases { @for (code, listed) in cases.iter().take(MOST) {
                    li { a.case href={ "/case/" (code) } { b { (code) } " " span { (listed.case.title.clone().unwrap_or_else(|| in_words(&listed.case))) } } }
                } }
                @if cases.len() > MOST { p.muted { "and " (cases.len() - MOST) " more; any of them by its address, /case/CODE" } }
            }
        }
    };
    html! {
        div.two {
            (list("Planned", &today.planned))
            (list("Done", &today.finished))
        }
        p.muted.small { (today.cases) " cases are recorded." }
    }
}

/// A moment by the calendar.
pub fn by_calendar(at: Instant, zone: &TimeZone, format: &str) -> String {
    match jiff::Timestamp::from_millisecond(at.millis()) {
        Ok(timestamp) => timestamp.to_zoned_datetime(zone.clone()).strftime(format).to_string(),
        Err(_) => "no time that a calendar has".to_owned(),
    }
}
