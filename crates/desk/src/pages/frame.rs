//! What stands around every page.

use axum::http::StatusCode;
use axum::response::Html;
use maud::{DOCTYPE, Markup, PreEscaped, html};
use terms::CaseCode;

use super::House;

/// Areas of the program.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Area {
    /// What runs, and what waits.
    Today,
    /// A new case.
    Begin,
    /// One case.
    Case,
    /// Products and lots.
    Stock,
    /// What is taught, against the chain.
    Rules,
    /// Sets of questions and practicals.
    Questions,
    /// Where numbers come from.
    Sources,
    /// Turned in front of a class.
    Class,
}

/// Pages of a case, with the ends of their addresses.
const OF_A_CASE: &[(&str, &str)] = &[
    ("", "Card"),
    ("/clock", "Clock"),
    ("/inspect", "Inspect"),
    ("/check", "Check"),
    ("/facts", "Facts"),
    ("/prints", "Prints"),
];

/// A page.
pub struct Page<'a> {
    /// The house.
    pub house: &'a House,
    /// Title.
    pub title: &'a str,
    /// Area.
    pub area: Area,
    /// Case, and the end of the address within it.
    pub case: Option<(&'a CaseCode, &'a str)>,
    /// Content.
    pub body: Markup,
}

/// Whom everything yields to.
pub const PREVAILS: &str = "The instructions of the products, local codes and the licensed practitioner always prevail. This supports \
                            judgement and never replaces it; no line of it is a clearance. Contaminated gloves touch no screen and no \
                            keyboard: a foot switch, or one key pressed by a clean hand.";

impl Page<'_> {
    /// The page as it is sent.
    pub fn html(self) -> Html<String> {
        let on = |here: bool| here.then_some("page");
        let body = html! {
            a.skip href="#content" { "To the content" }
            header.top {
                a.name href="/" { "Trayward" }
                nav aria-label="Areas" {
                    a href="/" aria-current=[on(self.area == Area::Today)] { "Today" }
                    a href="/new" aria-current=[on(self.area == Area::Begin)] { "New case" }
                    a href="/stock" aria-current=[on(self.area == Area::Stock)] { "Stock" }
                    a href="/rules" aria-current=[on(self.area == Area::Rules)] { "Rules" }
                    a href="/class" aria-current=[on(self.area == Area::Class)] { "Class" }
                    a href="/questions" aria-current=[on(self.area == Area::Questions)] { "Questions" }
                    a href="/sources" aria-current=[on(self.area == Area::Sources)] { "Sources" }
                }
                @if self.house.demo { p.demo { b { "demo" } ": an invented clinic." @if self.house.scratch { " Nothing here is kept when the program ends." } } }
            }
            @if let Some((code, place)) = self.case {
                nav.case aria-label={ "Case " (code) } {
                    @for (end, words) in OF_A_CASE {
                        a href={ "/case/" (code) (end) } aria-current=[on(*end == place)] { (words) }
                    }
                }
            }
            main #content { (self.body) }
            footer { p { (PREVAILS) } }
        };
        Html(document(&self.house.token, self.title, body).into_string())
    }
}

/// A whole document.
pub fn document(token: &str, title: &str, body: Markup) -> Markup {
    html! {
        (DOCTYPE)
        html lang="en" {
            head {
                meta charset="utf-8";
                meta name="viewport" content="width=device-width, initial-scale=1";
                meta name="color-scheme" content="light dark";
                meta name="token" content=(token);
                title { (title) " · Trayward" }
                link rel="icon" href="data:,";
                link rel="stylesheet" href={ "/web/" (super::server::mark()) "/trayward.css" };
                script type="module" src={ "/web/" (super::server::mark()) "/trayward.js" } {}
            }
            body { (body) }
        }
    }
}

/// A page that says what cannot be done.
pub fn refused(status: StatusCode, house: &House, words: &str) -> (StatusCode, Html<String>) {
    let title = match status {
        StatusCode::NOT_FOUND => "Not here",
        StatusCode::FORBIDDEN => "Refused",
        _ => "Not done",
    };
    let body = html! {
        h1 { (title) }
        @for line in words.lines() { p.say { (line) } }
        p.row { button.go type="button" data-back hidden { "Back, to change it" } " " a.button href="/" { "To Today" } }
    };
    (status, Page { house, title, area: Area::Today, case: None, body }.html())
}

/// The hidden fields of a form: who made it, and where to go when it is done.
pub fn hidden(house: &House, back: &str) -> Markup {
    html! {
        input type="hidden" name="token" value=(house.token);
        input type="hidden" name="back" value=(back);
    }
}

/// A button that does one thing.
pub fn doing(house: &House, action: &str, back: &str, line: &str, words: &str, class: &str) -> Markup {
    html! {
        form.one method="post" action=(action) {
            (hidden(house, back))
            input type="hidden" name="line" value=(line);
            button class=(class) { (words) }
        }
    }
}

/// A word that stands for a level, never its colour alone.
pub fn chip(class: &str, words: &str) -> Markup {
    html! { span class={ "chip " (class) } { (words) } }
}

/// A name of a source as a way to its pedigree.
pub fn pedigree(code: &CaseCode, key: &str) -> Markup {
    html! { a.key href={ "/case/" (code) "/source/" (PreEscaped(address(key))) } title={ "where " (key) " comes from" } { (key) } }
}

/// A name in an address.
pub fn address(key: &str) -> String {
    form_urlencoded::byte_serialize(key.as_bytes())
        .collect::<String>()
        .replace("%2F", "/")
        .replace('+', "%20")
}
