//! The body of an item as plain text, and plain text as elements of a body.
//!
//! Blocks are parted by an empty line, `br` and entries of lists by a line end. Where a page would not show the spaces of a text as they
//! are, `data-trayward-exact` keeps it; it counts only as long as it says what is to be seen, so that a change of what is seen is a change.

use super::xml::{Element, Node, escape_attribute, escape_text};

/// What a gap to be filled is shown as.
pub const GAP: &str = "____";

/// Attribute with the text as it was, spaces included.
const EXACT: &str = "data-trayward-exact";

/// What was found in a body besides its text.
#[derive(Debug, Default)]
pub struct Found<'a> {
    /// Interactions in their order.
    pub interactions: Vec<&'a Element>,
    /// Feedback in it, shown only after an answer.
    pub feedback: Vec<&'a Element>,
    /// What was not taken over, as ends of a sentence.
    pub notes: Vec<String>,
}

/// The text of what these elements hold.
///
/// # Errors
/// With what cannot be said as plain text, as the end of a sentence.
pub fn plain<'a>(element: &'a Element, found: &mut Found<'a>) -> Result<String, String> {
    let mut page = Page::default();
    page.inside(element, found)?;
    Ok(page.out)
}

#[derive(Default)]
struct Page {
    out: String,
    /// A space is due before the next character of this line.
    space: bool,
    /// Line ends due before the next character.
    breaks: usize,
}

impl Page {
    fn inside<'a>(&mut self, element: &'a Element, found: &mut Found<'a>) -> Result<(), String> {
        if let Some(exact) = element.get(EXACT) {
            let mut seen = Page::default();
            let mut inner = Found::default();
            seen.children(element, &mut inner)?;
            if squash(&seen.out) == squash(exact) {
                self.due();
                self.out.push_str(exact);
                found.interactions.append(&mut inner.interactions);
                found.feedback.append(&mut inner.feedback);
                found.notes.append(&mut inner.notes);
                return Ok(());
            }
            found.notes.push("spacing of a text that was changed since".into());
        }
        self.children(element, found)
    }

    fn children<'a>(&mut self, element: &'a Element, found: &mut Found<'a>) -> Result<(), String> {
        let preformatted = element.name == "pre";
        for node in &element.children {
            match node {
                Node::Text(text) if preformatted => {
                    self.due();
                    self.out.push_str(text.trim_matches('\n'));
                }
                Node::Text(text) => self.words(text),
                Node::Element(child) => self.element(child, found)?,
            }
        }
        Ok(())
    }

    fn element<'a>(&mut self, element: &'a Element, found: &mut Found<'a>) -> Result<(), String> {
        let name = element.name.as_str();
        if element.space.contains("MathML") {
            return Err("a formula in MathML".into());
        }
        match name {
            "p" | "div" | "h1" | "h2" | "h3" | "h4" | "h5" | "h6" | "blockquote" | "pre" | "address"
            | "section" | "article" | "aside" | "header" | "footer" | "nav" | "ul" | "ol" | "dl" => {
                self.block(2);
                if matches!(name, "ul" | "ol") {
                    self.list(element, found)?;
                } else {
                    self.inside(element, found)?;
                }
                self.block(2);
            }
            "dt" | "dd" => {
                self.block(1);
                self.inside(element, found)?;
                self.block(1);
            }
            "br" => {
                self.breaks += 1;
                self.space = false;
            }
            "hr" => self.block(2),
            "span" | "strong" | "em" | "b" | "i" | "u" | "small" | "big" | "code" | "tt" | "kbd" | "samp"
            | "var" | "cite" | "dfn" | "abbr" | "acronym" | "q" | "a" | "bdo" | "bdi" | "label"
            | "content-body" => {
                self.inside(element, found)?;
            }
            "sup" => self.raised(element, RAISED, "superscript")?,
            "sub" => self.raised(element, LOWERED, "subscript")?,
            "feedback-inline" | "feedback-block" => found.feedback.push(element),
            "rubric-block" => found.notes.push("a rubric block".into()),
            "text-entry-interaction" => {
                found.interactions.push(element);
                self.words(GAP);
            }
            _ if name.ends_with("-interaction") => {
                found.interactions.push(element);
                self.block(2);
            }
            "img" | "picture" | "figure" | "svg" => return Err("a picture".into()),
            "object" | "audio" | "video" => return Err("an embedded medium".into()),
            "table" => return Err("a table".into()),
            _ => return Err(format!("an element {}", element.tag)),
        }
        Ok(())
    }

    fn list<'a>(&mut self, list: &'a Element, found: &mut Found<'a>) -> Result<(), String> {
        let mut number = 0;
        for node in &list.children {
            match node {
                Node::Text(text) if text.trim().is_empty() => {}
                Node::Element(entry) if entry.name == "li" => {
                    number += 1;
                    self.block(1);
                    let mark = if list.name == "ol" { format!("{number}. ") } else { "- ".into() };
                    self.due();
                    self.out.push_str(&mark);
                    let mut page = Page::default();
                    page.inside(entry, found)?;
                    self.out.push_str(&page.out);
                    self.block(1);
                }
                _ => return Err("a list of other things than entries".into()),
            }
        }
        Ok(())
    }

    /// Digits and signs set high or low, where there are characters for them: without, 10 to the third would read as 103.
    fn raised(&mut self, element: &Element, table: &[(char, char)], kind: &str) -> Result<(), String> {
        let mut text = String::new();
        for node in &element.children {
            match node {
                Node::Text(part) => text.push_str(part.trim()),
                Node::Element(_) => return Err(format!("a {kind} with elements in it")),
            }
        }
        for c in text.chars() {
            let set = table.iter().find(|(plain, _)| *plain == c).map(|(_, set)| *set);
            let set = set.ok_or_else(|| format!("the {kind} {text:?}"))?;
            self.words(set.encode_utf8(&mut [0; 4]));
        }
        Ok(())
    }

    fn block(&mut self, breaks: usize) {
        self.space = false;
        self.breaks = self.breaks.max(breaks);
    }

    fn words(&mut self, text: &str) {
        for c in text.chars() {
            if matches!(c, ' ' | '\t' | '\n' | '\r') {
                self.space = true;
            } else {
                self.due();
                self.out.push(c);
            }
        }
    }

    /// Writes what is due before the next character; nothing at the beginning.
    fn due(&mut self) {
        if !self.out.is_empty() {
            if self.breaks > 0 {
                self.out.extend(std::iter::repeat_n('\n', self.breaks));
            } else if self.space {
                self.out.push(' ');
            }
        }
        (self.space, self.breaks) = (false, 0);
    }
}

const RAISED: &[(char, char)] = &[
    ('0', '⁰'),
    ('1', '¹'),
    ('2', '²'),
    ('3', '³'),
    ('4', '⁴'),
    ('5', '⁵'),
    ('6', '⁶'),
    ('7', '⁷'),
    ('8', '⁸'),
    ('9', '⁹'),
    ('+', '⁺'),
    ('-', '⁻'),
    ('−', '⁻'),
    ('–', '⁻'),
    ('n', 'ⁿ'),
];

const LOWERED: &[(char, char)] = &[
    ('0', '₀'),
    ('1', '₁'),
    ('2', '₂'),
    ('3', '₃'),
    ('4', '₄'),
    ('5', '₅'),
    ('6', '₆'),
    ('7', '₇'),
    ('8', '₈'),
    ('9', '₉'),
];

/// A text as a page shows it on one long line.
fn squash(text: &str) -> String {
    let words = text.split([' ', '\t', '\n', '\r']).filter(|word| !word.is_empty());
    words.collect::<Vec<&str>>().join(" ")
}

/// Paragraphs in an element `div` of this part of the item.
pub fn block(part: &str, attributes: &str, text: &str) -> String {
    let mut inside = String::new();
    for paragraph in text.split("\n\n").filter(|paragraph| !paragraph.is_empty()) {
        inside.push_str(&format!("<p>{}</p>", lines(paragraph)));
    }
    let exact = exact(&inside, text);
    format!("<div data-trayward-part=\"{part}\"{attributes}{exact}>{inside}</div>")
}

/// Text within a line, line ends as `br`.
pub fn inline(text: &str) -> String {
    let inside = lines(text);
    let exact = exact(&inside, text);
    if exact.is_empty() { inside } else { format!("<span{exact}>{inside}</span>") }
}

fn lines(text: &str) -> String {
    text.split('\n').map(escape_text).collect::<Vec<String>>().join("<br/>")
}

/// The attribute that keeps a text whose spaces would be lost; nothing for most texts.
fn exact(inside: &str, text: &str) -> String {
    let document = format!("<div>{inside}</div>");
    let read = super::xml::parse("text", document.as_bytes())
        .ok()
        .and_then(|element| plain(&element, &mut Found::default()).ok());
    if read.as_deref() == Some(text) {
        String::new()
    } else {
        format!(" {EXACT}=\"{}\"", escape_attribute(text))
    }
}
