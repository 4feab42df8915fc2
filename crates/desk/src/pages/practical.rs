//! Practicals: the list, who has rated whom, the form of a marker, the sheet for the bench.

use std::sync::Arc;

use axum::extract::{Path, Query, State};
use axum::response::{Html, IntoResponse, Redirect, Response};
use maud::{Markup, html};
use questions::rubric::{self, Criterion};
use records::{PracticalBook, What, check_learner};
use terms::{CaseCode, Fact};

use super::House;
use super::ask::{Form, OrWrong, Wrong, code};
use super::frame::{Area, Page, hidden};
use super::prints::paper;
use crate::practical::{Practical, UNSEEN, changed, check_initials, next_number};
use crate::running::here;
use crate::school;

/// What stands over the plain faults.
const FIRST: &str = "These weigh before any micrometre: one of them is not made good by anything below.";

/// Start of the name of a field that holds a level.
const LEVEL: &str = "level-";

/// Patterns of the fields; the program checks what arrives.
const LEARNER: &str = "[A-Z]{1,3}-[0-9]{2,4}";
const INITIALS: &str = "[A-Z]{2,4}";

/// The practical in an address.
///
/// # Errors
/// When there is none.
pub async fn found(house: &Arc<House>, text: &str) -> Result<Practical, Wrong> {
    let code = code(house, text)?;
    Practical::open(&house.store, &code).await.map_err(|error| Wrong::absent(house, format!("{error:#}")))
}

/// The way back.
pub fn trail(practical: Option<&CaseCode>) -> Markup {
    html! {
        p.muted { a href="/questions" { "Questions" } " · " a href="/practical" { "Practicals" }
            @if let Some(code) = practical { " · " a href={ "/practical/" (code) } { (code) } } }
    }
}

/// `GET /practical`.
pub async fn list(State(house): State<Arc<House>>) -> Result<Html<String>, Wrong> {
    let (_, codes) = school::all(&house.store).await.or_wrong(&house)?;
    let mut practicals = Vec::new();
    for code in &codes {
        practicals.push((code, Practical::open(&house.store, code).await));
    }
    let body = html! {
        p.muted { a href="/questions" { "Questions" } }
        h1 { "Practicals" }
        p { "The impression or the die that a learner made, marked criterion by criterion by two markers who do not see each other's ratings before they have saved all of their own." }
        section.sheet {
            h2 { "In the store" }
            @if practicals.is_empty() { p.muted { "None is open." } }
            ul.cases { @for (code, practical) in &practicals {
                li { @match practical {
                    Ok(practical) => {
                        a.case href={ "/practical/" (code) } { b { (code) } span { (practical.rubric.title) " · " (practical.about) } }
                        p.muted.small { (number_of(practical.book.learners().len(), "learner")) ", " (number_of(practical.book.markers().len(), "marker")) }
                    },
                    Err(error) => p { b { (code) } " cannot be read: " (format!("{error:#}")) },
                } }
            } }
        }
        section.sheet {
            h2 { "Open one" }
            form.readings method="post" action="/practical" {
                (hidden(&house, "/practical"))
                label { "Marked by the rubric" select name="rubric" { @for rubric in rubric::names().filter_map(|name| rubric::shipped(name).ok()) {
                    option value=(rubric.id) { (rubric.title) } } } }
                label { "What it is about; no name of a person" input name="about" required maxlength="200" size="30" autocomplete="off"; }
                label { "Number" input type="number" name="number" required min="0" max="999999" step="1" value=(next_number(&codes)); }
                button.go { "Open it" }
            }
        }
    };
    Ok(Page { house: &house, title: "Practicals", area: Area::Questions, case: None, body }.html())
}

/// `POST /practical`.
pub async fn open(State(house): State<Arc<House>>, body: String) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let said = |name: &str| form.get(name).unwrap_or("");
    let number: u64 = said("number").parse().map_err(|_| {
        Wrong::asked(&house, format!("number: given {:?}; allowed 0 to 999999", said("number")))
    })?;
    let rubric = rubric::shipped(said("rubric")).map_err(|error| Wrong::asked(&house, error))?;
    let code = school::code_of(PracticalBook::LETTERS, number).or_wrong(&house)?;
    if Practical::open(&house.store, &code).await.is_ok() {
        return Err(Wrong::asked(
            &house,
            format!("number: given {number}, and {code} is open already; allowed a number that none has"),
        ));
    }
    let what = What::PracticalOpened { rubric: rubric.id, about: said("about").to_owned() };
    school::keep(&house.store, &code, vec![what], &here()).await.or_wrong(&house)?;
    Ok(Redirect::to(&format!("/practical/{code}")).into_response())
}

/// `GET /practical/{code}`.
pub async fn grid(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let practical = found(&house, &text).await?;
    let Practical { code, book, rubric, .. } = &practical;
    let (learners, markers) = (book.learners(), book.markers());
    let all = rubric.criteria.len();
    let body = html! {
        (trail(None))
        h1 { "Practical " (code) }
        p { (practical.about) " · " (rubric.title) ", " (all) " criteria" }
        section.sheet {
            h2 { "Who has rated whom" }
            @if learners.is_empty() { p.muted { "Nobody has rated anything yet." } }
            @else { div.scroll { table.standing {
                thead { tr { th scope="col" { "learner" } @for marker in &markers { th scope="col" { (marker) } } } }
                tbody { @for learner in &learners { tr {
                    th scope="row" { (learner) }
                    @for marker in &markers { td {
                        @let open = practical.still_open(learner, marker).len();
                        a.cell href={ "/practical/" (code) "/rate?learner=" (learner) "&marker=" (marker) } aria-label={ (learner) " by " (marker) ": " (standing(open, all)) } { (standing(open, all)) }
                    } }
                } } }
            } } }
        }
        section.sheet {
            h2 { "Rate the work of a learner" }
            form.readings method="get" action={ "/practical/" (code) "/rate" } {
                label { "Code of the learner, such as S-01" input name="learner" required maxlength="8" size="8" pattern=(LEARNER) autocomplete="off" autocapitalize="characters" spellcheck="false"; }
                label { "Initials of the marker, two to four capitals" input name="marker" required maxlength="4" size="5" pattern=(INITIALS) autocomplete="off" autocapitalize="characters" spellcheck="false"; }
                button.go { "Rate" }
            }
            p.muted { "Learners have codes and markers initials; no name is kept." }
        }
        p.row { a.button href={ "/practical/" (code) "/result" } { "Results" } " " a.button href={ "/practical/" (code) "/sheet" } { "Rating sheet for the bench" } }
    };
    let title = format!("Practical {code}");
    Ok(Page { house: &house, title: &title, area: Area::Questions, case: None, body }.html())
}

/// How much is open, in words.
fn standing(open: usize, all: usize) -> String {
    match open {
        0 => format!("all {all}"),
        _ if open == all => "not begun".to_owned(),
        _ => format!("{open} of {all} open"),
    }
}

/// Something with its number.
pub fn number_of(count: usize, word: &str) -> String {
    format!("{count} {word}{}", if count == 1 { "" } else { "s" })
}

/// Whose work, and who marks it.
#[derive(serde::Deserialize)]
pub struct Who {
    learner: Option<String>,
    marker: Option<String>,
}

impl Who {
    fn checked(self) -> anyhow::Result<[String; 2]> {
        let (learner, marker) = (self.learner.unwrap_or_default(), self.marker.unwrap_or_default());
        check_learner(&learner)?;
        check_initials(&marker)?;
        Ok([learner, marker])
    }
}

/// `GET /practical/{code}/rate`.
pub async fn form(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    Query(who): Query<Who>,
) -> Result<Html<String>, Wrong> {
    let practical = found(&house, &text).await?;
    let [learner, marker] = who.checked().or_wrong(&house)?;
    let (code, all) = (&practical.code, practical.rubric.criteria.len());
    let open = practical.still_open(&learner, &marker);
    let (plain, rest): (Vec<_>, Vec<_>) =
        practical.rubric.criteria.iter().partition(|criterion| criterion.plain_fault);
    // Others are seen by those alone who have rated all.
    let others: Vec<&str> = match open.is_empty() {
        true => {
            let markers = practical.book.markers().into_iter();
            markers.filter(|other| *other != marker && practical.has_rated_all(&learner, other)).collect()
        }
        false => Vec::new(),
    };
    let one = |criterion: &Criterion| asked(&practical, criterion, &learner, &marker, &others);
    let body = html! {
        (trail(Some(code)))
        h1 { (learner) ", rated by " (marker) }
        p { (practical.rubric.title) " · " (practical.about) }
        p.say2 role="status" {
            @if open.is_empty() { "All " (all) " are saved. " }
            @else if open.len() == all { "Nothing is saved yet. " }
            @else { (all - open.len()) " of " (all) " are saved; still open: " (open.iter().map(|criterion| criterion.words.as_str()).collect::<Vec<_>>().join(", ")) ". " }
            @if !open.is_empty() { span.muted { "What other markers gave stands here when all of yours are saved." } }
            @else if others.is_empty() { span.muted { "No other marker has rated all of this work yet." } }
            @else { span.muted { "What others gave stands beside yours. A rating that you change now stays in the history, and agreement is told of what you gave before." } }
        }
        form method="post" action={ "/practical/" (code) "/rate" } {
            (hidden(&house, &format!("/practical/{code}")))
            input type="hidden" name="learner" value=(learner);
            input type="hidden" name="marker" value=(marker);
            section.sheet { h2 { "Plain faults first" } p { (FIRST) } @for criterion in plain { (one(criterion)) } }
            section.sheet { h2 { "Then the rest" } @for criterion in rest { (one(criterion)) } }
            p.stickly { button.go { "Save these ratings" } }
        }
        @if open.is_empty() {
            section.sheet { h2 { "The next learner" }
                form.readings method="get" action={ "/practical/" (code) "/rate" } {
                    label { "Code of the learner" input name="learner" required maxlength="8" size="8" pattern=(LEARNER) value=(next_code(&learner)) autocomplete="off" autocapitalize="characters" spellcheck="false"; }
                    input type="hidden" name="marker" value=(marker);
                    button.go { "Rate, as " (marker) }
                }
            }
        }
    };
    let title = format!("{learner} by {marker}, {code}");
    Ok(Page { house: &house, title: &title, area: Area::Questions, case: None, body }.html())
}

/// The code after this one, of as many digits.
fn next_code(code: &str) -> String {
    let digits = code.bytes().rev().take_while(u8::is_ascii_digit).count();
    let (letters, number) = code.split_at(code.len() - digits);
    number
        .parse::<u32>()
        .map_or(String::new(), |number| format!("{letters}{:0digits$}", number.saturating_add(1)))
}

/// One criterion: what to look for, its levels, and that it could not be seen.
fn asked(
    practical: &Practical,
    criterion: &Criterion,
    learner: &str,
    marker: &str,
    others: &[&str],
) -> Markup {
    let given = practical.given(learner, marker, criterion);
    let name = format!("{LEVEL}{}", criterion.id);
    let tile = |value: &str, words: &str, on: bool| {
        html! {
            span.tile { input type="radio" name=(name) value=(value) id={ (name) "-" (value) } checked[on]; label for={ (name) "-" (value) } { (words) } }
        }
    };
    html! {
        fieldset.look {
            legend { b { (criterion.words) } " " span.muted { (criterion.look) } }
            div.tiles.levels {
                @for (level, words) in criterion.levels.iter().enumerate() { (tile(&level.to_string(), words, given == Some(Fact::Known(level)))) }
                (tile(UNSEEN, "could not see it", given == Some(Fact::Unknown)))
            }
            @for other in others { p.other { b { (other) } ": " (in_words(practical, learner, other, criterion)) } }
        }
    }
}

/// What a marker gave, in the words of the rubric.
pub fn in_words(practical: &Practical, learner: &str, marker: &str, criterion: &Criterion) -> String {
    match practical.given(learner, marker, criterion) {
        None => "still open".to_owned(),
        Some(Fact::Known(level)) => criterion.levels.get(level).cloned().unwrap_or_default(),
        Some(_) => "could not see it".to_owned(),
    }
}

/// `POST /practical/{code}/rate`.
pub async fn rate(
    State(house): State<Arc<House>>,
    Path(text): Path<String>,
    body: String,
) -> Result<Response, Wrong> {
    let form = Form::read(&house, &body)?;
    let practical = found(&house, &text).await?;
    let said = |name: &str| form.get(name).map(str::to_owned);
    let [learner, marker] =
        Who { learner: said("learner"), marker: said("marker") }.checked().or_wrong(&house)?;
    let levels = form.fields().filter_map(|(name, value)| Some((name.strip_prefix(LEVEL)?, value)));
    let list = changed(&practical, &learner, &marker, levels).or_wrong(&house)?;
    if !list.is_empty() {
        school::keep(&house.store, &practical.code, list, &here()).await.or_wrong(&house)?;
    }
    let to = format!("/practical/{}/rate?learner={learner}&marker={marker}", practical.code);
    Ok(Redirect::to(&to).into_response())
}

/// `GET /practical/{code}/sheet`: for the bench, on paper.
pub async fn sheet(State(house): State<Arc<House>>, Path(text): Path<String>) -> Result<Html<String>, Wrong> {
    let practical = found(&house, &text).await?;
    let code = &practical.code;
    let part = |plain: bool| {
        html! {
            @for criterion in practical.rubric.criteria.iter().filter(|criterion| criterion.plain_fault == plain) {
                div.rated {
                    div { b { (criterion.words) } br; (criterion.look) }
                    ul.asks { @for level in &criterion.levels { li { span.box {} " " (level) } }
                        li { span.box {} " could not see it" } }
                }
            }
        }
    };
    let body = html! {
        p.over { "Rating sheet · " b { (code) } @if house.demo { " · demo" } " · " (practical.about) }
        h1 { (practical.rubric.title) }
        p.sign { @for name in ["learner, code", "marker, initials", "date"] { span { (name) } } }
        p { "One box in each row. No name of a person belongs on this sheet. Mark alone, before you talk about the work." }
        h2 { "Plain faults first" }
        p { (FIRST) }
        (part(true))
        h2 { "Then the rest" }
        (part(false))
    };
    Ok(paper(&house, &format!("Rating sheet {code}"), "rating-print", &format!("/practical/{code}"), &body))
}
