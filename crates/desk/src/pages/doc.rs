//! What the terminal says, as a part of a page: names become headings of their lines, keys become ways to their pedigree.

use chain::Forecast;
use maud::{Markup, html};

use super::frame::address;
use crate::lines::{Block, Doc};
use crate::load::Known;
use crate::sources::has_pedigree;

/// Where keys lead, and which there are.
#[derive(Clone, Copy)]
pub struct Ways<'a> {
    /// Start of the address of a pedigree.
    pub base: &'a str,
    /// The ledger and the rulebook.
    pub known: &'a Known,
    /// The forecast, for names of its numbers.
    pub forecast: Option<&'a Forecast>,
}

/// A document with its sections, those left out whose title is among `but`.
pub fn markup(doc: &Doc, ways: Ways, but: &[&str]) -> Markup {
    html! {
        @for (title, blocks) in doc.sections() {
            @if !title.is_some_and(|title| but.contains(&title)) {
                section.doc {
                    @if let Some(title) = title { h2 { (title) } }
                    (self::blocks(blocks, ways))
                }
            }
        }
    }
}

/// A document for paper: without the lines that stand as they are, which are for a terminal alone.
pub fn on_paper(doc: &Doc, ways: Ways) -> Markup {
    html! {
        @for (title, blocks) in doc.sections() {
            section.doc {
                @if let Some(title) = title { h2 { (title) } }
                @for block in blocks.iter().filter(|block| !matches!(block, Block::Lines(_))) {
                    (self::blocks(std::slice::from_ref(block), ways))
                }
            }
        }
    }
}

/// One section of a document.
pub fn section(doc: &Doc, title: &str, ways: Ways) -> Markup {
    let found = doc.sections().into_iter().find(|(known, _)| *known == Some(title));
    html! {
        @if let Some((_, blocks)) = found {
            @for block in blocks.iter().filter(|block| !is_for_a_terminal(block)) {
                (self::blocks(std::slice::from_ref(block), ways))
            }
        }
    }
}

/// Lines under each other.
pub fn blocks(blocks: &[Block], ways: Ways) -> Markup {
    html! {
        @for block in blocks {
            @match block {
                Block::Title(words) => h3 { (words) },
                Block::Paragraph { first, words, .. } => {
                    @let mark = first.trim();
                    @if mark.is_empty() { p { (linked(words, ways)) } }
                    @else if mark == "else:" { p.else { i { "else: " } (linked(words, ways)) } }
                    @else if is_mark(mark) { p.item { span.mark { (mark) } span { (linked(words, ways)) } } }
                    @else if let Some(quantity) = ways.forecast.and_then(|forecast| forecast.quantity(mark)) {
                        p.named { b { (quantity.words) } span { (words) " " a.key href={ (ways.base) (address(mark)) } { (mark) } } }
                    }
                    @else { p.named { b { (linked(mark, ways)) } span { (linked(words, ways)) } } }
                },
                Block::Lines(lines) => {
                    @if !lines.trim().is_empty() { pre tabindex="0" { (linked_lines(lines, ways)) } }
                },
            }
        }
    }
}

/// Lines that name a command.
fn is_for_a_terminal(block: &Block) -> bool {
    matches!(block, Block::Lines(lines) if lines.contains("trayward "))
}

/// A sign or a few that stand before a line.
fn is_mark(text: &str) -> bool {
    text.chars().count() <= 3
        || matches!(text, "? look" | "· none" | "– n/a" | "! FOUND" | "× STOP" | "STOP" | "ASK")
}

/// Words with their keys as ways.
pub fn linked(words: &str, ways: Ways) -> Markup {
    html! {
        @for (place, word) in words.split(' ').enumerate() {
            @if place > 0 { " " }
            @let key = word.trim_matches(|c: char| matches!(c, ',' | ';' | '.' | ':' | '(' | ')' | '[' | ']'));
            @if is_key(key) && has_pedigree(key, ways.known, ways.forecast) {
                @let (before, after) = word.split_once(key).unwrap_or(("", ""));
                (before) a.key href={ (ways.base) (address(key)) } { (key) } (after)
            } @else if is_label(word) { span.whole { (word) } } @else { (word) }
        }
    }
}

fn linked_lines(lines: &str, ways: Ways) -> Markup {
    html! {
        @for (place, line) in lines.trim_end().split('\n').enumerate() {
            @if place > 0 { "\n" }
            (linked(line, ways))
        }
    }
}

/// Labels of lots and codes of cases are not broken at their hyphen.
fn is_label(word: &str) -> bool {
    word.contains('-') && word.len() <= 26 && word.starts_with(|c: char| c.is_ascii_uppercase())
}

/// Names of the ledger, of numbers and of rules are lower case with strokes, dots or hyphens.
fn is_key(word: &str) -> bool {
    word.len() > 3
        && word.contains(['/', '.', '-'])
        && word.starts_with(|c: char| c.is_ascii_lowercase())
        && word
            .chars()
            .all(|c| c.is_ascii_lowercase() || c.is_ascii_digit() || matches!(c, '/' | '.' | '-' | '_'))
}
