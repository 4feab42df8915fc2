//! In front of a class: one knob is turned, learners say what will happen, the chain says what does.
//!
//! A state is its link. There is no second model: a knob is a change to the facts of a base case, and every curve is a forecast of that case.
//! While learners have not said what they expect, nothing of the new state leaves the server.
//!
//! `state` (from a link and back) -> `knobs` on `bases` (a case) -> `shown` (what the chain says) -> `foresee` (two states compared) -> `view`,
//! `pictures`.

mod bases;
mod foresee;
mod knobs;
mod pictures;
mod shown;
mod state;
mod view;

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, RawQuery, State as Of};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use chain::{ChainError, Effort};
use maud::{PreEscaped, html};

use super::House;
use super::ask::{Form, OrWrong, Wrong};
use super::frame::{Area, Page};
use super::known::pedigree;
use crate::load::Known;
use knobs::Refused;
use shown::{FIRST, FIXED, Shown};
use state::{State, Turned};
use view::Sight;

/// What a state comes to.
struct Seen {
    state: State,
    base: case_file::Case,
    held: Option<Arc<Shown>>,
    now: Option<Arc<Shown>>,
    refused: Refused,
}

/// A turned case as the chain sees it, or what it refuses.
fn turned(
    base: &case_file::Case,
    turned: &Turned,
    known: &Known,
    effort: Effort,
    only_ask: bool,
) -> Result<Option<Arc<Shown>>, Refused> {
    let case = knobs::turn(base, turned)?;
    let said = |error: ChainError| {
        let field = match &error {
            ChainError::Invalid(invalid) => invalid.field.clone(),
            _ => String::new(),
        };
        Refused::at(turned.keys().copied(), &field, error.to_string())
    };
    match only_ask {
        true => known.bears(&case).map(|()| None).map_err(said),
        false => shown::shown(&case, known, effort).map(Some).map_err(said),
    }
}

fn seen(state: State, known: &Known, effort: Effort) -> anyhow::Result<Seen> {
    let base = state.base.case()?;
    let mut refused = Refused::default();
    // What was frozen was shown once; one that a link made up may be refused, and then the usual stands in its place.
    let held = match turned(&base, state.held(), known, effort, false) {
        Ok(held) => held,
        Err(why) => {
            refused.other.extend(why.by_knob.into_iter().map(|(knob, why)| format!("frozen, {knob}: {why}")));
            refused.other.extend(why.other);
            shown::shown(&base, known, effort).map(Some)?
        }
    };
    if !state.differs() {
        return Ok(Seen { state, base, held: None, now: held, refused });
    }
    let now = match turned(&base, &state.turned, known, effort, state.conceals()) {
        Ok(now) => now,
        Err(why) => {
            refused.by_knob.extend(why.by_knob);
            refused.other.extend(why.other);
            None
        }
    };
    Ok(Seen { state, base, held, now, refused })
}

impl Seen {
    fn sight(&self) -> Sight<'_> {
        Sight {
            state: &self.state,
            base: &self.base,
            held: self.held.as_deref(),
            now: self.now.as_deref(),
            refused: &self.refused,
        }
    }

    fn status(&self) -> StatusCode {
        match self.refused.by_knob.is_empty() && self.refused.other.is_empty() {
            true => StatusCode::OK,
            false => StatusCode::UNPROCESSABLE_ENTITY,
        }
    }
}

/// `GET /class`: the state of the link; a pressed button leads to the link of what it makes.
pub async fn page(Of(house): Of<Arc<House>>, RawQuery(query): RawQuery) -> Result<Response, Wrong> {
    let query = query.unwrap_or_default();
    let state = State::read(&query).or_wrong(&house)?;
    if let Some(deed) = Form::read_openly(&query).get("do") {
        return Ok(Redirect::to(&format!("/class?{}", state.done(deed).query())).into_response());
    }
    let known = house.hand.known(true).or_wrong(&house)?;
    let seen = house.compute(move || seen(state, &known, FIXED)).await.or_wrong(&house)?;
    let sight = seen.sight();
    let parts = view::parts(&sight);
    let part = |id: &str| {
        let found = parts.iter().find(|(known, _)| known == id);
        PreEscaped(found.map_or_else(String::new, |(_, markup)| markup.0.clone()))
    };
    let body = html! {
        h1.quiet { "Before a class: one knob at a time" }
        div #class data-conceals[seen.state.conceals()] {
            div.knobs { (view::form(&sight, part)) }
            div.room {
                div #class-say role="status" { (part("class-say")) }
                p.row.deeds {
                    button.go form="turn" name="do" value="reveal" #class-reveal hidden[!seen.state.conceals()] { "Reveal" }
                    button form="turn" name="do" value="freeze" { "Freeze this" }
                    button form="turn" name="do" value="back" { "Turn back" }
                    button form="turn" name="do" value="release" { "Compare with the usual" }
                }
                p #class-status role="status" {}
                div #class-foresee { (part("class-foresee")) }
                div #class-choose { (part("class-choose")) }
                div #class-pictures { (part("class-pictures")) }
                div #class-after { (part("class-after")) }
                div #class-three { (part("class-three")) }
                div #class-link { (part("class-link")) }
            }
        }
    };
    let html = Page { house: &house, title: "Class", area: Area::Class, case: None, body }.html();
    Ok((seen.status(), html).into_response())
}

/// `GET /class/parts`: what follows when something moves. `points=first` asks for the first samples alone.
pub async fn parts(Of(house): Of<Arc<House>>, RawQuery(query): RawQuery) -> Result<Response, Wrong> {
    let query = query.unwrap_or_default();
    let form = Form::read_openly(&query);
    let state = State::read(&query).or_wrong(&house)?.done(form.get("do").unwrap_or(""));
    // What is kept back shows only what stands at hand already.
    let effort = match form.get("points") {
        Some("first") if !state.conceals() => FIRST,
        _ => FIXED,
    };
    let unsaid = matches!(form.get("do"), Some("reveal" | "freeze")) && state.conceals();
    let known = house.hand.known(true).or_wrong(&house)?;
    let seen = house.compute(move || seen(state, &known, effort)).await.or_wrong(&house)?;
    let parts: Vec<(String, String)> =
        view::parts(&seen.sight()).into_iter().map(|(id, markup)| (id, markup.into_string())).collect();
    let says = match (unsaid, effort == FIXED, seen.state.conceals()) {
        (true, ..) => "Say something first, then reveal: one answer or one hand is enough.",
        (_, _, true) => "",
        (_, false, _) => "First answer; it is being sharpened.",
        (_, true, _) => "Sharpened.",
    };
    let answer = serde_json::json!({
        "parts": parts,
        "says": says,
        "sharp": effort == FIXED,
        "conceals": seen.state.conceals(),
        "link": format!("/class?{}", seen.state.query()),
    });
    Ok(Json(answer).into_response())
}

/// `GET /class/source/{key}`: a number of a state that is shown.
pub async fn source(
    Of(house): Of<Arc<House>>,
    Path(key): Path<String>,
    RawQuery(query): RawQuery,
) -> Result<Html<String>, Wrong> {
    let state = State::read(&query.unwrap_or_default()).or_wrong(&house)?;
    let known = house.hand.known(true).or_wrong(&house)?;
    let at = Arc::clone(&known);
    let back = format!("/class?{}", state.query());
    let seen = house.compute(move || seen(state, &at, FIXED)).await.or_wrong(&house)?;
    let forecast = seen.now.as_ref().or(seen.held.as_ref()).map(|shown| &shown.forecast);
    let body = html! {
        (pedigree(&house, &known, forecast, &key, "/source/")?)
        p { a.button href=(back) { "Back to the class" } }
    };
    Ok(Page { house: &house, title: &key, area: Area::Class, case: None, body }.html())
}
