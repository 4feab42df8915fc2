//! What is done on a page: lines of the same grammar as in the terminal, each recorded before it is acknowledged.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{IntoResponse, Redirect, Response};
use records::{EntryId, Running, What};

use super::House;
use super::ask::{Form, OrWrong, Wrong, code};
use crate::running::{Deed, NotDone, Session, Typed, here, in_words, typed};

/// What came of a deed.
#[derive(serde::Serialize)]
struct Answer {
    done: bool,
    /// It is not known whether it is kept: the same again is harmless.
    again: bool,
    says: String,
}

/// `POST /case/{code}/do`: fields `line`, any number of them, each completed by `value`, `reason`, `signed` and `recall` where there is one
/// line alone; `id` makes a repeat of it harmless; `earlier_ms` says how long ago it was.
pub async fn act(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    headers: HeaderMap,
    body: String,
) -> Result<Response, Wrong> {
    let code = code(&house, &text)?;
    let wants_json = wants_json(&headers);
    let form = match Form::read(&house, &body) {
        Ok(form) => form,
        Err(stale) if wants_json => {
            let answer = Answer { done: false, again: false, says: stale.words().to_owned() };
            return Ok((stale.status(), Json(answer)).into_response());
        }
        Err(stale) => return Err(stale),
    };
    let open = house.open(&code).await.map_err(|error| Wrong::absent(&house, format!("{error:#}")))?;
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    let done = all(&house, &mut session, &form).await;
    // The next look at the clock finds a forecast of what has just happened.
    let _ = house.forecast(&open, &session).await.or_wrong(&house)?;
    drop(session);
    if wants_json {
        let (status, answer) = match done {
            Ok(says) => (StatusCode::OK, Answer { done: true, again: false, says }),
            Err(refused) => refused,
        };
        return Ok((status, Json(answer)).into_response());
    }
    match done {
        Ok(_) => Ok(Redirect::to(back(&form, &format!("/case/{code}/clock"))).into_response()),
        Err((_, answer)) => Err(Wrong::asked(&house, answer.says)),
    }
}

/// Whether a script asks, which stays on its page.
pub fn wants_json(headers: &HeaderMap) -> bool {
    headers
        .get(header::ACCEPT)
        .and_then(|value| value.to_str().ok())
        .is_some_and(|value| value.contains("json"))
}

/// Where a form leads when it is done: a page of this program.
pub fn back<'a>(form: &'a Form, otherwise: &'a str) -> &'a str {
    form.get("back").filter(|back| back.starts_with('/') && !back.starts_with("//")).unwrap_or(otherwise)
}

async fn all(house: &House, session: &mut Session, form: &Form) -> Result<String, (StatusCode, Answer)> {
    let refused =
        |says: String| (StatusCode::UNPROCESSABLE_ENTITY, Answer { done: false, again: false, says });
    let lines: Vec<String> = match form.lines().collect::<Vec<_>>().as_slice() {
        [] => return Err(refused("nothing was said".to_owned())),
        [line] => vec![completed(line, form)],
        lines => lines.iter().map(|line| (*line).to_owned()).collect(),
    };
    if lines.first().is_some_and(|line| line.starts_with("close"))
        && let Some(missing) = unsigned(form)
    {
        return Err(refused(missing));
    }
    let id = form
        .get("id")
        .map(|text| EntryId::from_text(text).ok_or_else(|| refused(format!("id: given {text:?}"))));
    let id = id.transpose()?;
    let earlier_ms = form.get("earlier_ms").and_then(|text| text.parse::<i64>().ok());
    // All are read before the first is done.
    let mut deeds = Vec::new();
    for line in &lines {
        match typed(line) {
            Ok(Typed::Deed(deed)) => deeds.push(with_moment(deed, earlier_ms)),
            Ok(_) => return Err(refused(format!("given \"{line}\"; allowed something to do"))),
            Err(error) => return Err(refused(error.to_string())),
        }
    }
    if let (Some(id), [_]) = (id, deeds.as_slice())
        && session.history().iter().any(|kept| kept.entry.id == id)
    {
        return Ok("kept already".to_owned());
    }
    let mut said = Vec::new();
    for deed in deeds {
        if says_nothing_new(session.running(), &deed) {
            continue;
        }
        let at = here();
        let mut entry = session.entry(deed, &at).map_err(|error| refused(error.to_string()))?;
        if let Some(id) = id {
            entry.id = id;
        }
        let words = words_of(session, &entry.what);
        match session.keep(&house.store, entry).await {
            Ok(_) => said.push(words),
            Err(NotDone::NotKept { source, .. }) => {
                let says = format!("not kept yet: {source}");
                return Err((StatusCode::SERVICE_UNAVAILABLE, Answer { done: false, again: true, says }));
            }
            Err(error) => return Err(refused(error.to_string())),
        }
    }
    Ok(if said.is_empty() { "nothing new".to_owned() } else { format!("kept: {}", said.join("; ")) })
}

/// What is recorded, and what is taken back, in words.
fn words_of(session: &Session, what: &What) -> String {
    match what {
        What::TakenBack { entry } => {
            let of = session.history().iter().find(|kept| kept.entry.id == *entry);
            format!("taken back: {}", of.map_or_else(String::new, |kept| in_words(&kept.entry.what)))
        }
        other => in_words(other),
    }
}

/// A line with what stands in the other fields of its form.
fn completed(line: &str, form: &Form) -> String {
    let mut line = line.to_owned();
    if let Some(value) = form.get("value") {
        line.push(' ');
        line.push_str(value);
    }
    if let Some(signed) = form.get("signed") {
        line.push_str(" signed ");
        line.push_str(signed);
    }
    if let Some(reason) = form.get("reason") {
        line.push_str(" because ");
        line.push_str(reason);
    }
    if let Some(recall) = form.get("recall") {
        line.push_str(" recall ");
        line.push_str(recall);
    }
    line
}

/// What is missing of a closing that somebody signs for; nothing where all or none is said.
fn unsigned(form: &Form) -> Option<String> {
    let parts =
        [("signed", "the initials"), ("reason", "the reason"), ("recall", "when the patient is called back")];
    let missing: Vec<&str> =
        parts.iter().filter(|(name, _)| form.get(name).is_none()).map(|(_, words)| *words).collect();
    let some = !missing.is_empty() && missing.len() < parts.len();
    some.then(|| {
        format!(
            "not closed: a difference is signed for with all three, and {} is missing",
            missing.join(" and ")
        )
    })
}

fn with_moment(deed: Deed, earlier_ms: Option<i64>) -> Deed {
    match (deed, earlier_ms) {
        (Deed::Stamp { step, earlier_ms: 0 }, Some(earlier_ms)) => Deed::Stamp { step, earlier_ms },
        (Deed::Observe { reading, earlier_ms: 0 }, Some(earlier_ms)) => Deed::Observe { reading, earlier_ms },
        (deed, _) => deed,
    }
}

/// A finding that says what the last one of its kind said already.
fn says_nothing_new(running: &Running, deed: &Deed) -> bool {
    let Deed::Observe { reading, .. } = deed else { return false };
    let findings = running.readings.iter().rev().map(|kept| kept.observation.reading);
    findings.into_iter().find(|other| other.is_of_the_same(reading)) == Some(*reading)
}
