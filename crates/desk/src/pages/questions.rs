//! Questions: sets that were composed, practicals, and the form to compose another set.

mod analysis;
mod answer;
mod class;
mod marks;
mod paper;
mod pass;
mod set;
mod words;

use std::sync::Arc;

use axum::Router;
use axum::extract::{DefaultBodyLimit, State};
use axum::http::StatusCode;
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use maud::{Markup, html};
use questions::{Blueprint, Templates};
use records::SetBook;
use terms::CaseCode;

use super::House;
use super::ask::{Form, OrWrong, Wrong, code};
use super::frame::{Area, Page, hidden};
use crate::load::Known;
use crate::running::here;
use crate::school::{self, Sitting};

/// The largest table of answers that is sent, bytes: what a form makes of the largest that is read.
const MOST_TABLE: usize = 3 * questions::answer_file::MAX_BYTES;

/// Sets of the list that are opened to say what is in them.
const MOST_OPENED: usize = 24;

/// Every address of a set.
pub fn routes() -> Router<Arc<House>> {
    Router::new()
        .route("/questions", get(page).post(make))
        .route("/questions/{code}", get(set::page))
        .route("/questions/{code}/recheck.part", get(set::recheck_part))
        .route("/questions/{code}/package.zip", get(set::package))
        .route("/questions/{code}/sheet", get(paper::sheet))
        .route("/questions/{code}/key", get(paper::key))
        .route("/questions/{code}/answer", get(answer::page).post(answer::keep))
        .route("/questions/{code}/marks", get(marks::page).post(marks::show))
        .route("/questions/{code}/table.csv", get(class::csv))
        .route(
            "/questions/{code}/table",
            get(class::page).merge(post(class::keep).layer(DefaultBodyLimit::max(MOST_TABLE))),
        )
        .route("/questions/{code}/analysis", get(analysis::page).post(analysis::take_out))
        .route("/questions/{code}/pass", get(pass::page).post(pass::keep))
}

/// The set in an address.
async fn sitting(house: &Arc<House>, text: &str) -> Result<Sitting, Wrong> {
    let code = code(house, text)?;
    Sitting::open(&house.store, &code).await.map_err(|error| Wrong::absent(house, format!("{error:#}")))
}

/// What is known, with the templates read where reading them keeps nobody waiting.
async fn with_templates(house: &Arc<House>) -> Result<Arc<Known>, Wrong> {
    let known = house.known().or_wrong(house)?;
    let read = Arc::clone(&known);
    house.compute(move || read.templates().map(|_| ())).await.or_wrong(house)?;
    Ok(known)
}

/// Pages of a set, with the ends of their addresses.
const OF_A_SET: &[(&str, &str)] = &[
    ("", "Set"),
    ("/sheet", "Sheet"),
    ("/key", "Key"),
    ("/answer", "Answer on the page"),
    ("/table", "Table"),
    ("/analysis", "Analysis"),
    ("/pass", "Pass marks"),
];

/// The way between the pages of a set.
fn ways(code: &CaseCode, here: &str) -> Markup {
    html! {
        nav.case aria-label={ "Set " (code) } {
            @for (end, words) in OF_A_SET {
                a href={ "/questions/" (code) (end) } aria-current=[(*end == here).then_some("page")] { (words) }
            }
        }
    }
}

/// A page of a set.
fn of_set(house: &House, code: &CaseCode, here: &str, title: &str, body: &Markup) -> Html<String> {
    let title = format!("{title} · {code}");
    // The way to the key is not offered to those who answer.
    let body = html! { @if here != "/answer" { (ways(code, here)) } (body) };
    Page { house, title: &title, area: Area::Questions, case: None, body }.html()
}

/// A page that was asked for what cannot be, with everything that was typed still on it.
fn refused(page: Html<String>) -> Response {
    (StatusCode::UNPROCESSABLE_ENTITY, page).into_response()
}

/// What is asked of a set that is to be composed.
#[derive(Default)]
struct Draft {
    number: String,
    items: String,
    topics: Vec<String>,
    text: String,
}

impl Draft {
    fn of(form: &Form) -> Draft {
        let said = |name: &str| form.get(name).unwrap_or("").trim().to_owned();
        Draft {
            number: said("number"),
            items: said("items"),
            topics: form.all("topic").map(str::to_owned).collect(),
            text: said("blueprint"),
        }
    }

    /// The number and the blueprint, or what is given and what is allowed.
    fn read(&self, templates: &Templates) -> Result<(u64, Blueprint), String> {
        let number: u64 = self.number.parse().map_err(|_| {
            format!("number: given {:?}; allowed a whole number from 0 to 999999", self.number)
        })?;
        if !self.text.is_empty() {
            let blueprint = toml::from_str(&self.text).map_err(|error: toml::de::Error| {
                let at = error.span().map_or(0, |span| span.start);
                let line = 1 + self.text.bytes().take(at).filter(|&byte| byte == b'\n').count();
                let given = self.text.lines().nth(line - 1).unwrap_or("").trim();
                format!("blueprint: given line {line}, {given:?}, which cannot be read; allowed a text as in the example")
            })?;
            return Ok((number, blueprint));
        }
        let items: usize = self
            .items
            .parse()
            .map_err(|_| format!("items: given {:?}; allowed a whole number from 1 to 60", self.items))?;
        let mut blueprint = Blueprint::of_items(items);
        for topic in &self.topics {
            let count = templates.list.iter().filter(|template| &template.topic == topic).count();
            blueprint.topics.insert(topic.clone(), count.max(1) as f64);
        }
        Ok((number, blueprint))
    }
}

const EXAMPLE: &str =
    "items = 20\n\n[topics]\n\"mix and set\" = 2\n\n[levels]\nrecall = 1\napply = 2\nanalyse = 1\n";

/// `GET /questions`.
pub async fn page(State(house): State<Arc<House>>) -> Result<Html<String>, Wrong> {
    let (sets, _) = school::all(&house.store).await.or_wrong(&house)?;
    let taken = sets.iter().filter_map(|code| code.as_str().rsplit('-').next()?.parse::<u64>().ok()).max();
    let number = taken.map_or(1, |number| number + 1).to_string();
    listing(&house, &Draft { number, items: "20".to_owned(), ..Draft::default() }, None).await
}

async fn listing(house: &Arc<House>, draft: &Draft, wrong: Option<&str>) -> Result<Html<String>, Wrong> {
    let (sets, practicals) = school::all(&house.store).await.or_wrong(house)?;
    let known = with_templates(house).await?;
    let templates = known.templates().or_wrong(house)?;
    let mut lines = Vec::new();
    for code in &sets {
        let opened =
            if lines.len() < MOST_OPENED { Sitting::open(&house.store, code).await.ok() } else { None };
        let said = opened.map(|sitting| {
            let (items, learners) = (sitting.items.len(), sitting.book.learners().len());
            format!("{}, answered by {learners}", words::counted(items, "item"))
        });
        lines.push((code, said));
    }
    let body = html! {
        h1 { "Questions" }
        p { "Questions whose keys are asked of the chain and the rulebook, each with its reason and what it rests on. Learners have codes, never names." }
        section.sheet { h2 { "Sets" }
            @if lines.is_empty() { p.muted { "No set is composed yet." } }
            ul.cases { @for (code, said) in &lines {
                li { a.case href={ "/questions/" (code) } { b { (code) } @if let Some(said) = said { span.muted { (said) } } } }
            } }
        }
        section.sheet { h2 { "Practicals" }
            p { "The impression and the die of a learner, marked by two against a rubric." }
            ul.cases { @for code in &practicals { li { a.case href={ "/practical/" (code) } { b { (code) } } } } }
            p { a.button href="/practical" { "Open a practical" } }
        }
        section.sheet { h2 { "Compose a set" }
            (composing(house, draft, templates, wrong))
        }
        section.sheet { h2 { "Take over questions from elsewhere" }
            p { "A package of the open standard QTI 3.0 becomes a set of its own, with the keys of its authors, by " code { "trayward questions import PACKAGE.zip --keep NUMBER" } ". Every set is given out as such a package on its own page." }
        }
    };
    Ok(Page { house, title: "Questions", area: Area::Questions, case: None, body }.html())
}

fn composing(house: &House, draft: &Draft, templates: &Templates, wrong: Option<&str>) -> Markup {
    let names = |field: &str| wrong.is_some_and(|wrong| wrong.starts_with(field)).then_some("true");
    html! {
        form.compose method="post" action="/questions" data-busy="The set is being composed: every key is asked of the chain, which takes some seconds." {
            (hidden(house, "/questions"))
            @if let Some(wrong) = wrong { p.wrong role="alert" { (wrong) } }
            div.readings {
                label { "Number of the set" input type="number" name="number" min="0" max="999999" step="1" required value=(draft.number) aria-invalid=[names("number")]; }
                label { "Items, 1 to 60" input type="number" name="items" min="1" max="60" step="1" required value=(draft.items) aria-invalid=[names("items")]; }
            }
            fieldset { legend { "Topics; none chosen means all. Each weighs as many as it has templates." }
                div.tiles { @for (place, topic) in templates.topics().iter().enumerate() {
                    @let id = format!("topic-{place}");
                    span.tile { input type="checkbox" name="topic" value=(topic) id=(id) checked[draft.topics.iter().any(|chosen| chosen == topic)]; label for=(id) { (topic) } }
                } }
            }
            details open[!draft.text.is_empty()] {
                summary { "The blueprint as a text instead" }
                p.muted { "Weights of topics and of levels (recall, apply, analyse); what is written here takes the place of items and topics above. Such as:" }
                pre { (EXAMPLE) }
                label.whole-line { "Blueprint" textarea name="blueprint" rows="8" spellcheck="false" aria-invalid=[names("blueprint")] { (draft.text) } }
            }
            p.muted { (words::counted(templates.list.len(), "template")) " at hand. The same number and blueprint give the same set as long as nothing is changed; what is composed is frozen with what it was composed from." }
            p { button.go { "Compose the set" } }
            p role="status" {}
        }
    }
}

/// `POST /questions`.
pub async fn make(State(house): State<Arc<House>>, body: String) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let draft = Draft::of(&form);
    let known = with_templates(&house).await?;
    let templates = known.templates().or_wrong(&house)?;
    let made = match draft.read(templates) {
        Ok((number, blueprint)) => compose(&house, number, blueprint).await,
        Err(wrong) => Err(wrong),
    };
    match made {
        Ok(code) => Ok(Redirect::to(&format!("/questions/{code}")).into_response()),
        Err(wrong) => Ok(refused(listing(&house, &draft, Some(&wrong)).await?)),
    }
}

/// Composes and keeps; a form that was sent twice comes to the set that its first sending made.
async fn compose(house: &Arc<House>, number: u64, blueprint: Blueprint) -> Result<CaseCode, String> {
    let said = |error: anyhow::Error| format!("{error:#}");
    let _alone = house.composing.lock().await;
    let code = school::code_of(SetBook::LETTERS, number).map_err(said)?;
    if let Ok(there) = Sitting::open(&house.store, &code).await
        && there.set.blueprint.as_ref() == Some(&blueprint)
    {
        return Ok(code);
    }
    let code = school::free(&house.store, number).await.map_err(said)?;
    let known = house.known().map_err(said)?;
    let set =
        house.compute_quietly(move || school::composed(&known, number, &blueprint)).await.map_err(said)?;
    if set.items.is_empty() {
        let wanting = set.wanting.join("; ");
        return Err(format!("items: none could be composed: {wanting}; allowed a blueprint with an item"));
    }
    school::keep_composed(&house.store, &code, &set, &here()).await.map_err(said)?;
    Ok(code)
}
