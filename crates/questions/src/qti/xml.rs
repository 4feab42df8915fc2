//! XML as a tree, within limits; names of versions 2 and 3 in one form.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use quick_xml::Reader;
use quick_xml::events::{BytesStart, Event};

use super::{MAX_ATTRIBUTES, MAX_DEPTH, MAX_ELEMENTS, MAX_NAME, MAX_XML_BYTES, QtiError};

/// An element.
#[derive(Clone, Debug, Default)]
pub struct Element {
    /// Its namespace; empty for none.
    pub space: String,
    /// Its name as written, without prefix.
    pub tag: String,
    /// Its name in the form of version 3 without `qti-`: `simple-choice` for `qti-simple-choice` and for `simpleChoice`.
    pub name: String,
    /// Attributes; names without prefix in the form of version 3.
    pub attributes: BTreeMap<String, String>,
    /// What it holds.
    pub children: Vec<Node>,
}

/// What an element holds.
#[derive(Clone, Debug)]
pub enum Node {
    /// An element.
    Element(Element),
    /// Text.
    Text(String),
}

impl Element {
    /// The attribute of this name.
    pub fn get(&self, name: &str) -> Option<&str> {
        self.attributes.get(name).map(String::as_str)
    }

    /// Elements directly in it.
    pub fn elements(&self) -> impl Iterator<Item = &Element> {
        self.children.iter().filter_map(|node| match node {
            Node::Element(element) => Some(element),
            Node::Text(_) => None,
        })
    }

    /// Elements of this name directly in it.
    pub fn all<'a>(&'a self, name: &'a str) -> impl Iterator<Item = &'a Element> {
        self.elements().filter(move |element| element.name == name)
    }

    /// The first element of this name directly in it.
    pub fn first(&self, name: &str) -> Option<&Element> {
        self.elements().find(|element| element.name == name)
    }

    /// Itself and everything in it, in the order of the document.
    pub fn walk(&self) -> Vec<&Element> {
        let mut found = vec![self];
        for element in self.elements() {
            found.extend(element.walk());
        }
        found
    }

    /// Its characters, without spaces at the ends.
    pub fn value(&self) -> String {
        let mut text = String::new();
        for node in &self.children {
            if let Node::Text(part) = node {
                text.push_str(part);
            }
        }
        text.trim().to_owned()
    }
}

/// Whether a document of XML 1.0 may hold this character.
pub fn is_allowed(c: char) -> bool {
    matches!(c, '\t' | '\n' | '\r' | '\u{20}'..='\u{d7ff}' | '\u{e000}'..='\u{fffd}' | '\u{10000}'..)
}

/// The root of a document.
///
/// # Errors
/// When it breaks a limit, states a document type, or is not well-formed.
pub fn parse(file: &str, bytes: &[u8]) -> Result<Element, QtiError> {
    if bytes.len() > MAX_XML_BYTES {
        return Err(QtiError::EntryTooLarge { entry: file.into(), allowed: MAX_XML_BYTES as u64 });
    }
    let text = std::str::from_utf8(bytes.strip_prefix(b"\xef\xbb\xbf").unwrap_or(bytes))
        .map_err(|_| QtiError::Encoding { file: file.into(), given: "bytes that are no UTF-8".into() })?;
    let mut reader = Reader::from_str(text);
    reader.config_mut().expand_empty_elements = true;
    let mut tree = Tree { file, open: Vec::new(), spaces: vec![BTreeMap::new()], root: None, elements: 0 };
    loop {
        let at = reader.buffer_position();
        let wrong = |why: String| QtiError::Xml { file: file.into(), at, why };
        match reader.read_event().map_err(|error| wrong(error.to_string()))? {
            Event::Start(start) => tree.start(&start, at)?,
            Event::End(_) => tree.end(),
            Event::Text(part) => tree.text(&part.xml10_content(), at)?,
            Event::CData(part) => tree.text(&part.xml10_content(), at)?,
            Event::GeneralRef(reference) => {
                let given = reference.resolve_char_ref().map_err(|error| wrong(error.to_string()))?;
                let c = match given {
                    Some(c) => c,
                    None => named(&reference.xml10_content())
                        .ok_or_else(|| wrong(format!("the entity &{};", reference.xml10_content())))?,
                };
                tree.text(c.encode_utf8(&mut [0; 4]), at)?;
            }
            Event::Decl(declaration) => {
                let encoding =
                    declaration.encoding().transpose().map_err(|error| wrong(error.to_string()))?;
                if let Some(given) = encoding.filter(|name| !name.eq_ignore_ascii_case("utf-8")) {
                    return Err(QtiError::Encoding { file: file.into(), given: given.into_owned() });
                }
            }
            Event::DocType(_) => return Err(QtiError::Doctype { file: file.into() }),
            Event::Comment(_) | Event::PI(_) => {}
            Event::Empty(_) => return Err(wrong("an element that was not expanded".into())),
            Event::Eof => break,
        }
    }
    let cut = |why: &str| QtiError::Xml { file: file.into(), at: text.len() as u64, why: why.into() };
    if !tree.open.is_empty() {
        return Err(cut("it ends within an element"));
    }
    tree.root.ok_or_else(|| cut("it has no element"))
}

fn named(entity: &str) -> Option<char> {
    Some(match entity {
        "lt" => '<',
        "gt" => '>',
        "amp" => '&',
        "apos" => '\'',
        "quot" => '"',
        _ => return None,
    })
}

struct Tree<'a> {
    file: &'a str,
    open: Vec<Element>,
    /// Namespaces by prefix, for the document and each open element.
    spaces: Vec<BTreeMap<String, String>>,
    root: Option<Element>,
    elements: usize,
}

impl Tree<'_> {
    fn wrong(&self, at: u64, why: impl Into<String>) -> QtiError {
        QtiError::Xml { file: self.file.into(), at, why: why.into() }
    }

    fn start(&mut self, start: &BytesStart, at: u64) -> Result<(), QtiError> {
        if self.open.len() >= MAX_DEPTH {
            return Err(QtiError::Depth { file: self.file.into() });
        }
        self.elements += 1;
        if self.elements > MAX_ELEMENTS {
            return Err(QtiError::Elements { file: self.file.into() });
        }
        if self.open.is_empty() && self.root.is_some() {
            return Err(self.wrong(at, "a second root element"));
        }
        let mut spaces = self.spaces.last().cloned().unwrap_or_default();
        let mut written = BTreeMap::new();
        // Its own check of doubled names takes time in the square of their number; the map below does not.
        for (place, attribute) in start.attributes().with_checks(false).enumerate() {
            if place >= MAX_ATTRIBUTES {
                return Err(QtiError::Attributes { file: self.file.into() });
            }
            let attribute = attribute.map_err(|error| self.wrong(at, error.to_string()))?;
            let key = attribute.key.as_ref().to_owned();
            let value = unescape(&attribute.value).map_err(|why| self.wrong(at, why))?;
            if let Some(prefix) = key.strip_prefix("xmlns:") {
                spaces.insert(prefix.into(), value.clone());
            } else if key == "xmlns" {
                spaces.insert(String::new(), value.clone());
            }
            if written.insert(key.clone(), value).is_some() {
                return Err(self.wrong(at, format!("the attribute {key} twice")));
            }
        }
        let name = start.name();
        let (prefix, tag) = name.as_ref().split_once(':').unwrap_or(("", name.as_ref()));
        if tag.chars().count() > MAX_NAME || !is_name(tag) {
            return Err(self.wrong(at, "a name that no element may have"));
        }
        let space = match spaces.get(prefix) {
            Some(space) => space.clone(),
            None if prefix.is_empty() => String::new(),
            None => return Err(self.wrong(at, format!("the prefix {prefix} without a namespace"))),
        };
        let attributes = written
            .into_iter()
            .filter(|(key, _)| key != "xmlns" && !key.starts_with("xmlns:"))
            .map(|(key, value)| if key.contains(':') { (key, value) } else { (kebab(&key), value) })
            .collect();
        let plain = kebab(tag);
        let name = plain.strip_prefix("qti-").unwrap_or(&plain).to_owned();
        self.open.push(Element { space, tag: tag.into(), name, attributes, children: Vec::new() });
        self.spaces.push(spaces);
        Ok(())
    }

    fn end(&mut self) {
        self.spaces.pop();
        if let Some(element) = self.open.pop() {
            match self.open.last_mut() {
                Some(parent) => parent.children.push(Node::Element(element)),
                None => self.root = Some(element),
            }
        }
    }

    fn text(&mut self, text: &str, at: u64) -> Result<(), QtiError> {
        if let Some(c) = text.chars().find(|c| !is_allowed(*c)) {
            return Err(self.wrong(at, format!("the character U+{:04X}", u32::from(c))));
        }
        let Some(parent) = self.open.last_mut() else {
            let blank = text.chars().all(char::is_whitespace);
            return if blank { Ok(()) } else { Err(self.wrong(at, "text outside the root element")) };
        };
        match parent.children.last_mut() {
            Some(Node::Text(before)) => before.push_str(text),
            _ => parent.children.push(Node::Text(text.into())),
        }
        Ok(())
    }
}

/// An attribute as it is meant: white space as spaces, references resolved.
fn unescape(raw: &str) -> Result<String, String> {
    if raw.contains('<') {
        return Err("the character < in an attribute".into());
    }
    let spaced = raw.replace("\r\n", " ").replace(['\t', '\n', '\r'], " ");
    let value = quick_xml::escape::unescape(&spaced).map_err(|error| error.to_string())?;
    match value.chars().find(|c| !is_allowed(*c)) {
        Some(c) => Err(format!("the character U+{:04X}", u32::from(c))),
        None => Ok(value.into_owned()),
    }
}

/// `simpleChoice` as `simple-choice`; names that are so already stay.
fn kebab(name: &str) -> String {
    let mut out = String::with_capacity(name.len() + 4);
    for c in name.chars() {
        if c.is_ascii_uppercase() {
            if !out.is_empty() {
                out.push('-');
            }
            out.push(c.to_ascii_lowercase());
        } else {
            out.push(c);
        }
    }
    out
}

/// Whether this can be a name of XML without a prefix, and so an identifier of the standard.
pub fn is_name(name: &str) -> bool {
    let mut characters = name.chars();
    let begins = |c: char| c == '_' || c.is_alphabetic();
    characters.next().is_some_and(begins)
        && characters.all(|c| begins(c) || c.is_alphanumeric() || matches!(c, '-' | '.' | '\u{b7}'))
}

/// Text as it stands between tags; line ends inside stay line ends for every reader.
pub fn escape_text(text: &str) -> String {
    escape(text, false)
}

/// Text as it stands in an attribute between double quotes.
pub fn escape_attribute(text: &str) -> String {
    escape(text, true)
}

fn escape(text: &str, attribute: bool) -> String {
    let mut out = String::with_capacity(text.len() + 16);
    for c in text.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' if attribute => out.push_str("&quot;"),
            '\t' | '\n' | '\r' if attribute => {
                // Writing to a String cannot fail.
                let _ = write!(out, "&#{};", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out
}
