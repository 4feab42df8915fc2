//! Facts of a case: stated anew, or only moved to see what would follow.

use std::sync::Arc;

use axum::Json;
use axum::extract::{Path, State};
use axum::http::HeaderMap;
use axum::response::{Html, IntoResponse, Redirect, Response};
use counsel::cautions::Level;
use maud::{Markup, html};
use records::{Entry, EntryId, Running, What};
use terms::{ImpressionClass, Reading};

use super::ask::{Form, OrWrong, Told, Wrong, code, told};
use super::deeds::{back, wants_json};
use super::frame::{Area, Page, chip, hidden};
use super::house::QUICK;
use super::today::by_calendar;
use super::{House, card};
use crate::running::{Session, here, read_in_words};
use case_file::change::{Line, facts, may_not_apply, with};
use case_file::fields::Kind;
use case_file::{self, Case};

/// Start of the name of a field that states a fact.
const FACT: &str = "fact:";

/// `GET /case/{code}/facts`.
pub async fn page(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let code = code(&house, &text)?;
    let open = house.open(&code).await.map_err(|error| Wrong::absent(&house, format!("{error:#}")))?;
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    let case = session.case();
    let lines = facts(case);
    let read = read_so_far(session.running(), &house);
    let mut tables: Vec<(&str, String, &str, Vec<&Line>)> = Vec::new();
    for line in &lines {
        let path = line.path.rsplit_once('.').map_or("", |(table, _)| table).to_owned();
        match tables.last_mut() {
            Some((_, last, _, list)) if *last == path => list.push(line),
            _ => tables.push((line.table.path, path, line.table.about, vec![line])),
        }
    }
    let body = html! {
        p.over { (code) @if case.demo { " · demo" } " · " (case.title.as_deref().unwrap_or("")) }
        h1.quiet { "Facts" }
        p { "What is not known stays unknown, which is never \"no\". What is changed here is added to the history of the case." }
        form method="post" action={ "/case/" (code) "/facts" } data-stay {
            (hidden(&house, &format!("/case/{code}/facts")))
            @for read in &read { p { (chip("plain", "read")) " " (read) " A reading counts before what is stated." } }
            @for (table, path, about, list) in &tables {
                @let known = list.iter().filter(|line| line.said != "unknown" && !line.said.is_empty()).count();
                details.facts open[matches!(*table, "situation" | "situation.abutment")] {
                    summary { b { (path) } " " span.muted { (about) " " (known) " of " (list.len()) " known" } }
                    div.grid {
                        @for line in list { (control(line, None)) }
                    }
                }
            }
            p.stickly { button.go { "State these facts" } " " span role="status" {} }
        }
    };
    let title = format!("Facts of {code}");
    Ok(Page { house: &house, title: &title, area: Area::Case, case: Some((&code, "/facts")), body }.html())
}

/// `POST /case/{code}/facts`: states facts.
pub async fn state(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    headers: HeaderMap,
    body: String,
) -> Response {
    let go = || {
        let form = Form::read_openly(&body);
        back(&form, &format!("/case/{text}")).to_owned()
    };
    let done = stated(&house, &text, &body).await;
    match (done, wants_json(&headers)) {
        (Ok(()), false) => Redirect::to(&go()).into_response(),
        (Ok(()), true) => Json(serde_json::json!({ "done": true, "says": "", "go": go() })).into_response(),
        (Err(wrong), false) => wrong.into_response(),
        (Err(wrong), true) => {
            (wrong.status(), Json(serde_json::json!({ "done": false, "says": wrong.words() })))
                .into_response()
        }
    }
}

async fn stated(house: &Arc<House>, text: &str, body: &str) -> Result<(), Wrong> {
    let code = code(house, text)?;
    let form = Form::read(house, body)?;
    let open = house.open(&code).await.map_err(|error| Wrong::absent(house, format!("{error:#}")))?;
    let mut session = open.session.lock().await;
    let _ = session.follow(&house.store).await;
    let changed =
        with(session.case(), &changes(session.case(), &form)).map_err(|problems| said(house, &problems))?;
    if changed != *session.case() {
        restate(house, &mut session, changed).await?;
        let _ = house.forecast(&open, &session).await;
    }
    Ok(())
}

/// Records a case stated anew.
///
/// # Errors
/// When the chain refuses it, or it cannot be kept.
pub async fn restate(house: &Arc<House>, session: &mut Session, changed: Case) -> Result<(), Wrong> {
    let known = house.hand.known(changed.demo).or_wrong(house)?;
    known.bears(&changed).map_err(|error| Wrong::asked(house, error))?;
    // The history has the stamps and readings; the text holds what is stated.
    let stated = Case { stamps: Vec::new(), observations: Vec::new(), ..changed };
    let what = What::Stated { case_file: case_file::write(&stated) };
    let entry = Entry { id: EntryId::fresh(), case: session.code().clone(), at: here(), what };
    match session.keep(&house.store, entry).await {
        Ok(_) => Ok(()),
        Err(error) => Err(Wrong::asked(house, error)),
    }
}

/// Readings of facts, with when each was made.
pub fn read_so_far(running: &Running, house: &House) -> Vec<String> {
    let of_a_fact = |reading: &Reading| {
        let of_the_mix =
            matches!(reading, Reading::MixTemperature(_) | Reading::BowlSet | Reading::MassLoss(_));
        chain::is_of_a_fact(reading) || of_the_mix
    };
    let readings = running.readings.iter().map(|kept| kept.observation);
    readings
        .filter(|seen| of_a_fact(&seen.reading))
        .map(|seen| {
            format!(
                "{}, read at {}.",
                read_in_words(&seen.reading),
                by_calendar(seen.at, &house.zone, "%H:%M")
            )
        })
        .collect()
}

/// The case with its readings of facts as what is stated, so that they can be moved; the chain says what a reading stands in the place of.
pub fn as_read(case: &Case) -> Case {
    let Case { situation, route, stamps, observations, .. } = case;
    let Ok(read) = chain::as_read(situation, route, stamps, observations) else { return case.clone() };
    let others = observations.iter().filter(|seen| !chain::is_of_a_fact(&seen.reading)).copied();
    Case {
        situation: read.situation.into_owned(),
        route: read.route.into_owned(),
        observations: others.collect(),
        ..case.clone()
    }
}

/// What a form says otherwise than the case.
fn changes<'a>(case: &Case, form: &'a Form) -> Vec<(&'a str, &'a str)> {
    let stands = facts(case);
    let same = |path: &str, text: &str| stands.iter().any(|line| line.path == path && line.said == text);
    let said = form.fields().filter_map(|(name, text)| Some((name.strip_prefix(FACT)?, text)));
    said.filter(|(path, text)| !same(path, text)).collect()
}

fn said(house: &Arc<House>, problems: &case_file::Problems) -> Wrong {
    // Lines of a file that nobody wrote say nothing.
    let list = problems.list.iter().map(|problem| {
        let text = problem.to_string();
        text.split_once(": ").map_or(text.clone(), |(_, rest)| rest.to_owned())
    });
    Wrong::asked(house, list.collect::<Vec<_>>().join("\n"))
}

/// What follows when facts move.
#[derive(serde::Serialize)]
struct Moved {
    parts: Vec<(&'static str, String)>,
    says: String,
}

/// `POST /case/{code}/what-if`: nothing is recorded. `points` asks for more samples.
pub async fn what_if(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    body: String,
) -> Result<Response, Wrong> {
    let form = Form::read_openly(&body);
    let Told { case, known, now, .. } = told(&house, &text).await?;
    let case = as_read(&case);
    let moved = changes(&case, &form);
    let changed = match with(&case, &moved) {
        Ok(changed) => changed,
        Err(problems) => {
            let says = said(&house, &problems);
            return Ok((says.status(), Json(Moved { parts: Vec::new(), says: says.words().to_owned() }))
                .into_response());
        }
    };
    let effort = match form.get("points").and_then(|text| text.parse().ok()) {
        Some(points) => chain::Effort::of_points(u32::min(points, 512)),
        None => QUICK,
    };
    let list: Vec<String> = moved.iter().map(|(path, text)| format!("{path} = {text}")).collect();
    let at = Arc::clone(&house);
    let parts = house
        .compute(move || {
            let forecast = known.forecast(&changed, effort, now)?;
            card::moving_parts(&at, &changed, &known, &forecast)
        })
        .await;
    let answer = match parts {
        Ok(parts) => {
            let says = match list.is_empty() {
                true => String::new(),
                false => format!("What if: {}. Nothing is recorded.", list.join(", ")),
            };
            Moved { parts, says }
        }
        Err(error) => Moved { parts: Vec::new(), says: format!("{error:#}") },
    };
    Ok(Json(answer).into_response())
}

/// A control for a fact. With words of its own it stands on a card, and a quantity moves under a finger.
pub fn control(line: &Line, own: Option<&str>) -> Markup {
    let about = own.unwrap_or_else(|| line.field.about.trim_end_matches('.'));
    let name = format!("{FACT}{}", line.path);
    let said = line.said.as_str();
    html! {
        @match line.field.kind {
            Kind::Quantity { range, words } => {
                @let unit = range.unit;
                @let short = |si: f64| format!("{}", (unit.from_si(si) * 1e4).round() / 1e4);
                label.fact {
                    span { (about) ", " (unit.symbol()) @if matches!(line.table.path, "patient" | "visit") && may_not_apply(line.field) { ", or \"never\"" } }
                    @if own.is_some() {
                        @let (low, high) = (unit.from_si(range.min), unit.from_si(range.max));
                        @let now = line.si.map_or(0.5 * (low + high), |si| unit.from_si(si));
                        // A quantity that runs over decades moves slowly at its small end.
                        @let power = if (high - low) > 30.0 * (now - low).abs().max(1e-9) { 4.0 } else { 1.0 };
                        @let share = ((now - low) / (high - low)).clamp(0.0, 1.0).powf(1.0 / power);
                        input.slide type="range" min="0" max="1000" step="1" value=(format!("{:.0}", 1000.0 * share))
                            data-low=(low) data-high=(high) data-power=(power) data-step=(step(low, high))
                            data-unit=(unit.symbol()) data-for=(name) aria-label={ (about) ", by sliding" };
                    }
                    input name=(name) value=(said) data-stands=(said) autocomplete="off" inputmode="text"
                        placeholder={ (short(range.min)) " to " (short(range.max)) " " (unit.symbol()) }
                        list=[(!words.is_empty()).then(|| format!("{name}-words"))];
                    @if !words.is_empty() {
                        datalist id={ (name) "-words" } { @for (word, _) in words { option value=(word) {} } }
                    }
                }
            },
            Kind::Word(words) => label.fact {
                span { (about) }
                select name=(name) data-stands=(said) {
                    @for word in words { option value=(word) selected[*word == said] { (word) } }
                    (others(line))
                }
            },
            Kind::YesNo => label.fact {
                span { (about) }
                select name=(name) data-stands=(said) {
                    option value="true" selected[said == "true"] { "yes" }
                    option value="false" selected[said == "false"] { "no" }
                    (others(line))
                }
            },
            _ => label.fact {
                span { (about) }
                input name=(name) value=(said) data-stands=(said) autocomplete="off" maxlength="64";
            },
        }
    }
}

fn others(line: &Line) -> Markup {
    let said = line.said.as_str();
    html! {
        @if line.field.is_fact() { option value="unknown" selected[said == "unknown"] { "not known" } }
        @if may_not_apply(line.field) { option value="not applicable" selected[said == "not applicable"] { "does not apply" } }
    }
}

/// A step of a slider: a two-hundredth of its way, rounded.
fn step(low: f64, high: f64) -> String {
    let raw = (high - low) / 200.0;
    let decade = 10f64.powf(raw.log10().floor());
    let step =
        [1.0, 2.0, 5.0].into_iter().map(|m| m * decade).rfind(|step| *step <= raw * 1.001).unwrap_or(decade);
    format!("{step}")
}

/// Facts that are moved most on a card of this case, with the words they stand under.
pub fn to_move(case: &Case) -> Vec<(Line, String)> {
    let case = &as_read(case);
    let of_powder =
        matches!(case.route.material.class, ImpressionClass::Alginate | ImpressionClass::ExtendedAlginate);
    let mut wanted: Vec<(String, String)> = vec![
        ("situation.room_temperature".to_owned(), "Room".to_owned()),
        ("situation.room_humidity".to_owned(), "Humidity of the room".to_owned()),
    ];
    if of_powder {
        wanted.push(("situation.water_temperature".to_owned(), "Water of the mix".to_owned()));
        wanted.push(("route.mix.water".to_owned(), "Amount of water".to_owned()));
    }
    for (place, segment) in case.route.holding.iter().enumerate() {
        wanted.push((format!("route.holding[{place}].duration"), format!("Kept {}, for", segment.kind)));
    }
    let seat = "Tray in place, from the start of mixing".to_owned();
    wanted.push(("route.plan.seat_after".to_owned(), seat));
    for (place, _) in case.situation.abutments.iter().enumerate().take(2) {
        let tooth = match case.situation.abutments.len() {
            1 => String::new(),
            _ => format!(", tooth {} in the order of the syringe", place + 1),
        };
        wanted.push((
            format!("situation.abutment[{place}].margin_depth"),
            format!("Margin below the gum{tooth}"),
        ));
        wanted.push((
            format!("situation.abutment[{place}].sulcus"),
            format!("Sulcus when the material comes{tooth}"),
        ));
    }
    wanted.push(("situation.undercut".to_owned(), "Deepest undercut".to_owned()));
    let mut lines = facts(case);
    wanted
        .into_iter()
        .filter_map(|(path, words)| {
            let place = lines.iter().position(|line| line.path == path)?;
            Some((lines.swap_remove(place), words))
        })
        .collect()
}

/// Where the case may say what a fact of the rulebook stands on; the first of these that is not known is asked.
fn paths_of(fact: &'static str) -> Vec<&'static str> {
    match fact {
        "touch.latex" => vec!["situation.latex"],
        "touch.fresh_resin" => vec!["situation.fresh_resin"],
        "touch.cement" => vec!["situation.cement_residue"],
        "gum.bleeding" => vec!["situation.bleeding"],
        "medicament" => vec!["situation.astringent"],
        "medicament.adrenaline" => vec!["situation.astringent", "visit.second_medicament"],
        "medicament.rinsed" => vec!["situation.astringent_rinsed"],
        "teeth.mobility" => vec!["situation.mobility"],
        "teeth.undercut" => vec!["situation.undercut"],
        "tray.undercut_share" => vec!["situation.undercut", "route.tray.relief"],
        "margin.depth" => vec!["situation.abutment[0].margin_depth"],
        "sulcus" => vec!["situation.abutment[0].sulcus"],
        "room.temperature" => vec!["situation.room_temperature"],
        "room.humidity" => vec!["situation.room_humidity"],
        "water.temperature" => vec!["situation.water_temperature"],
        "tray.adhesive" => vec!["route.tray.adhesive"],
        "visit.adrenaline_total" => vec!["visit.cartridges", "visit.cartridge_volume", "visit.adrenaline"],
        "keeping.short_contact" | "keeping.agent_strength" => {
            vec![
                "route.holding[0].agent",
                "route.holding[0].concentration",
                "route.holding[0].labelled_contact",
            ]
        }
        fact => vec![fact],
    }
}

/// Questions of safety that nobody has answered, each with a control, the stops first.
pub fn unanswered(
    case: &Case,
    look: &counsel::cautions::Look,
) -> Vec<(&'static str, &'static str, Option<Line>)> {
    let mut asked: Vec<&'static str> = Vec::new();
    for open in look.open.iter().filter(|open| matches!(open.rule.level, Level::Stop | Level::Ask)) {
        for fact in &open.hangs_on {
            if !asked.contains(fact) {
                asked.push(fact);
            }
        }
    }
    let mut lines = facts(case);
    asked
        .into_iter()
        .filter_map(|fact| {
            // What is known already is not what the question hangs on.
            let place = paths_of(fact)
                .into_iter()
                .find_map(|path| lines.iter().position(|line| line.path == path && line.said == "unknown"));
            Some((fact, counsel::cautions::question(fact)?, place.map(|place| lines.swap_remove(place))))
        })
        .collect()
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

    use terms::{Fact, Observation};

    use super::*;
    use crate::load::{self, Known};

    #[test]
    fn a_reading_as_a_fact_gives_the_same_forecast() {
        let known = Known::of(load::stock(None, true).unwrap()).unwrap();
        let mut case = load::case("demo/study-alginate").unwrap();
        let now = load::present(&case, terms::Instant::from_millis(0));
        for reading in [Reading::RoomTemperature(300.15), Reading::WaterTemperature(289.15)] {
            case.observations.push(Observation { at: now, reading });
        }
        let read = as_read(&case);
        assert_eq!(read.observations, []);
        assert_eq!(read.situation.room_temperature_k, Fact::Known(300.15));
        let windows = |case: &Case| known.forecast(case, QUICK, now).unwrap().windows;
        assert_eq!(windows(&read), windows(&case));
    }
}
