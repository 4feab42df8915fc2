//! The routes of a card: compared, drawn, chosen.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use chain::report::VerdictWord;
use counsel::routes::{Pace, RouteLine, Routes};
use maud::{Markup, html};

use super::House;
use super::ask::{Form, OrWrong, Told, Wrong, code, told};
use super::clock::word;
use super::doc::{self, Ways};
use super::facts::restate;
use super::frame::{chip, hidden};
use crate::digits::span;
use crate::load::Known;
use crate::pictures;
use crate::routes_page;
use crate::running::here;
use case_file::Case;

/// How many routes stand open on the card.
const ROUTES: usize = 3;

/// How routes are asked for.
#[derive(serde::Deserialize)]
pub struct Asked {
    pace: Option<String>,
}

/// `GET /case/{code}/routes.part`.
pub async fn routes(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    Query(asked): Query<Asked>,
) -> Result<Html<String>, Wrong> {
    let whole = asked.pace.as_deref() == Some("whole");
    let Told { case, known, now, .. } = told(&house, &text).await?;
    let (of, by) = (case.clone(), Arc::clone(&known));
    let pace = if whole { Pace::WHOLE } else { Pace::FIRST };
    let work = move || Ok(by.ask(&of, now, |question| counsel::routes::routes(question, pace))?);
    let compared = match whole {
        true => house.compute_quietly(work).await,
        false => house.compute(work).await,
    }
    .or_wrong(&house)?;
    Ok(Html(routes_part(&house, &case, &known, &compared, whole).into_string()))
}

fn routes_part(house: &House, case: &Case, known: &Known, routes: &Routes, whole: bool) -> Markup {
    let base = format!("/case/{}/source/", case.code);
    let ways = Ways { base: &base, known, forecast: None };
    let full = routes_page::doc(case.code.as_str(), case, routes);
    let ranked: Vec<&RouteLine> = routes.ranked.iter().flatten().collect();
    let drawn: Vec<&RouteLine> =
        if ranked.is_empty() { routes.waiting.iter().collect() } else { ranked.clone() };
    html! {
        h2 { "Routes" }
        p.muted { "From " (routes.clinic) ". " @if whole { (routes.samples) " samples of each." } @else { "A first answer from " (routes.samples) " samples of each; it is being sharpened." } }
        @if ranked.is_empty() && !routes.waiting.is_empty() {
            p { (chip("stop", "unranked")) " None can be put in order before the questions above are answered; these are in no order." }
        }
        @if ranked.is_empty() && routes.waiting.is_empty() { p { "None: every route of today is blocked, for the reasons below." } }
        @if !drawn.is_empty() { (pictures::comparison(&drawn, routes.samples)) }
        ol.routes {
            @for (place, line) in drawn.iter().take(ROUTES).enumerate() { (route(house, case, line, place, ranked.is_empty(), ways)) }
        }
        @if drawn.len() > ROUTES {
            details { summary { "and " (drawn.len() - ROUTES) " more" }
                ol.routes { @for (place, line) in drawn.iter().enumerate().skip(ROUTES) { (route(house, case, line, place, ranked.is_empty(), ways)) } } }
        }
        @if !ranked.is_empty() && !routes.waiting.is_empty() {
            details { summary { (routes.waiting.len()) " wait for answers, in no order" }
                ol.routes { @for (place, line) in routes.waiting.iter().enumerate() { (route(house, case, line, place, true, ways)) } } }
        }
        @for title in ["Not today, or not with an impression", "Blocked, and why", "What would change the order", "How they are put in order"] {
            @let section = doc::section(&full, title, ways).into_string();
            @if !section.is_empty() { details { summary { (title) } (maud::PreEscaped(section)) } }
        }
    }
}

fn route(house: &House, case: &Case, line: &RouteLine, place: usize, unranked: bool, ways: Ways) -> Markup {
    let tied = line.against_first.is_some_and(|difference| !difference.separates());
    let chance = routes_page::short_chance(line.low, line.high);
    let verdict = match line.chance {
        _ if !line.in_the_way.is_empty() => VerdictWord::CannotTell,
        chance if chance >= chain::LIKELY => VerdictWord::Likely,
        chance if chance <= chain::UNLIKELY => VerdictWord::Unlikely,
        _ => VerdictWord::CannotTell,
    };
    html! {
        li.route {
            span.n { @if unranked { "?" } @else { (place + 1) } }
            div {
                b { (line.kit) } @if line.planned { " " (chip("plain", "planned")) }
                @if tied && place > 0 && !unranked { " " (chip("plain", "cannot be told from 1")) }
                br;
                span.muted { (line.tray) @if line.made_before { " (made before this visit)" } " · " (line.means) " · "
                    (span(line.in_mouth_s)) " in the mouth, " (span(line.chair_s)) " in the chair"
                    @if let Some(cost) = line.cost { " · cost " (cost) } }
                @for words in &line.in_the_way { p.small { (chip("caution", "in the way")) " " (words) } }
                @if !line.cautions.is_empty() { p.small { (chip("caution", "cautions")) " " (doc::linked(&line.cautions.join(", "), ways)) } }
                @if !line.waits_for.is_empty() { p.small { (chip("stop", "waits")) " for " (line.waits_for.len()) (if line.waits_for.len() == 1 { " answer" } else { " answers" }) " under " a href="#ask" { "Ask first" } } }
            }
            div.right {
                b { (word(verdict)) } br; span.muted { (chance) }
                @if !line.planned {
                    form method="post" action={ "/case/" (case.code) "/route" } {
                        (hidden(house, &format!("/case/{}", case.code)))
                        @for (name, value) in [("kit", &line.kit), ("tray", &line.tray), ("means", &line.means)] { input type="hidden" name=(name) value=(value); }
                        button.plain { "Choose" }
                    }
                }
            }
        }
    }
}

/// `POST /case/{code}/route`: plans another way.
pub async fn choose(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    body: String,
) -> Result<Response, Wrong> {
    let code = code(&house, &text)?;
    let form = Form::read(&house, &body)?;
    let open = house.open(&code).await.map_err(|error| Wrong::absent(&house, format!("{error:#}")))?;
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    let case = session.case().clone();
    let (now, _) = session.running().present(&here());
    let known = Arc::clone(session.known());
    let ways = known.ask(&case, now, counsel::routes::ways);
    let same = |way: &&counsel::routes::Way| {
        [("kit", &way.kit), ("tray", &way.tray), ("means", &way.means)]
            .iter()
            .all(|(name, words)| form.get(name) == Some(words.as_str()))
    };
    let Some(way) = ways.iter().find(same) else {
        return Err(Wrong::asked(
            &house,
            "That route is no longer among those from stock: look at the card again.",
        ));
    };
    if !session.running().stamps.is_empty() {
        return Err(Wrong::asked(
            &house,
            "It has begun: the route is what is being done. Take back what was stamped first.",
        ));
    }
    let changed =
        Case { situation: way.situation.clone(), route: way.route.clone(), visit: way.visit.clone(), ..case };
    restate(&house, &mut session, changed).await?;
    let _ = house.forecast(&open, &session).await;
    Ok(Redirect::to(&format!("/case/{code}")).into_response())
}
