//! A package, or one bare item, as items.

use std::collections::{BTreeMap, BTreeSet};

use super::item_file::{own_identifier, take};
use super::package::{is_package, resolve, unpack};
use super::xml::{Element, is_name, parse};
use super::{MAX_ITEMS, MAX_NAME, QtiError};
use crate::item::Item;

/// Namespace of the documents of version 3.0.
pub const SPACE: &str = "http://www.imsglobal.org/xsd/imsqtiasi_v3p0";

/// Namespaces of version 2, whose documents differ in names alone.
const EARLIER: &[&str] =
    &["http://www.imsglobal.org/xsd/imsqti_v2p1", "http://www.imsglobal.org/xsd/imsqti_v2p2"];

/// Where the manifest of a package stands.
pub const MANIFEST: &str = "imsmanifest.xml";

/// What was read.
#[derive(Clone, Debug, PartialEq)]
pub struct Read {
    /// Title of the test, or of the item when there is no test; empty when neither has one.
    pub title: String,
    /// Items in the order of the test, then those that it does not list.
    pub items: Vec<Item>,
    /// What was not taken over, each as a sentence.
    pub left_out: Vec<String>,
}

/// Reads a package, or one item as bare XML.
///
/// # Errors
/// When it is neither, breaks a limit, is damaged or means harm. An item that is only of another kind is left out instead.
pub fn read(bytes: &[u8]) -> Result<Read, QtiError> {
    if is_package(bytes) {
        return read_package(&unpack(bytes)?);
    }
    if bytes.starts_with(b"PK") || bytes.contains(&0) && !bytes.starts_with(b"<") {
        return Err(QtiError::Foreign { given: "other bytes".into() });
    }
    let file = "the item";
    let root = parse(file, bytes)?;
    if root.name != "assessment-item" {
        return Err(QtiError::Foreign { given: format!("XML with the root {}", root.tag) });
    }
    let mut gathered = Gathered::default();
    gathered.item(file, &root)?;
    Ok(Read {
        title: root.get("title").unwrap_or_default().to_owned(),
        items: gathered.items,
        left_out: gathered.left_out,
    })
}

fn read_package(files: &BTreeMap<String, Vec<u8>>) -> Result<Read, QtiError> {
    let manifest = files
        .get(MANIFEST)
        .ok_or(QtiError::Foreign { given: "a ZIP without imsmanifest.xml at its root".into() })?;
    let manifest = parse(MANIFEST, manifest)?;
    if manifest.name != "manifest" {
        return Err(QtiError::Foreign { given: format!("a manifest with the root {}", manifest.tag) });
    }
    let mut gathered = Gathered::default();
    let mut items = Vec::new();
    let mut tests = Vec::new();
    let resources: Vec<&Element> =
        manifest.all("resources").flat_map(|resources| resources.all("resource")).collect();
    for resource in &resources {
        let kind = resource.get("type").unwrap_or_default();
        let identifier = checked(MANIFEST, resource.get("identifier").unwrap_or("_"))?;
        let file =
            match resource.get("href").or_else(|| resource.first("file").and_then(|file| file.get("href"))) {
                Some(href) if is_remote(href) => None,
                Some(href) => Some(resolve(MANIFEST, resource.get("xml:base").unwrap_or_default(), href)?),
                None => None,
            };
        // Media are checked too, though they are not read: their names could mean harm to whoever unpacks them.
        for href in resource.all("file").filter_map(|file| file.get("href")).filter(|href| !is_remote(href)) {
            resolve(MANIFEST, resource.get("xml:base").unwrap_or_default(), href)?;
        }
        match (kind, file) {
            (kind, Some(file)) if kind.starts_with("imsqti_item_xml") => items.push(file),
            (kind, Some(file)) if kind.starts_with("imsqti_test_xml") => tests.push(file),
            (kind, _) if kind.starts_with("webcontent") || kind.starts_with("controlfile") => {}
            _ => gathered.left_out.push(format!("The resource {identifier} of type {kind:?} is not read.")),
        }
    }
    if items.len() > MAX_ITEMS {
        return Err(QtiError::TooManyItems { given: items.len() });
    }
    let mut title = String::new();
    let mut order = Vec::new();
    for (place, file) in tests.iter().enumerate() {
        let Some(bytes) = files.get(file) else {
            gathered
                .left_out
                .push(format!("{file}: the manifest lists this test and the package does not have it."));
            continue;
        };
        let test = parse(file, bytes)?;
        if test.name != "assessment-test" || place > 0 {
            gathered.left_out.push(format!("{file}: this test is not read; its items are."));
            continue;
        }
        title = test.get("title").unwrap_or_default().to_owned();
        let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
        let walk = test.walk();
        if walk.iter().any(|element| matches!(element.name.as_str(), "selection" | "ordering")) {
            gathered
                .left_out
                .push(format!("{file}: the test draws or shuffles its items; all are read, in order."));
        }
        for reference in walk.into_iter().filter(|element| element.name == "assessment-item-ref") {
            order.push(resolve(file, folder, reference.get("href").unwrap_or_default())?);
        }
    }
    let listed: BTreeSet<&String> = items.iter().collect();
    let mut done = BTreeSet::new();
    for file in order.iter().filter(|file| listed.contains(file)).chain(&items) {
        if !done.insert(file) {
            continue;
        }
        match files.get(file) {
            Some(bytes) => {
                let root = parse(file, bytes)?;
                gathered.item(file, &root)?;
            }
            None => gathered
                .left_out
                .push(format!("{file}: the manifest lists this item and the package does not have it.")),
        }
    }
    for file in order.iter().filter(|file| !listed.contains(file)) {
        gathered.left_out.push(format!("{file}: the test lists this item and the manifest does not."));
    }
    Ok(Read { title, items: gathered.items, left_out: gathered.left_out })
}

/// An address elsewhere, which no file of the package is at.
fn is_remote(href: &str) -> bool {
    href.starts_with("https://") || href.starts_with("http://")
}

/// An identifier that can stand in messages and names.
fn checked<'a>(file: &str, identifier: &'a str) -> Result<&'a str, QtiError> {
    if is_name(identifier) && identifier.chars().count() <= MAX_NAME {
        return Ok(identifier);
    }
    Err(QtiError::Identifier { file: file.into(), given: identifier.chars().take(MAX_NAME).collect() })
}

#[derive(Default)]
struct Gathered {
    items: Vec<Item>,
    left_out: Vec<String>,
    given: BTreeSet<String>,
    taken: BTreeSet<String>,
}

impl Gathered {
    fn item(&mut self, file: &str, root: &Element) -> Result<(), QtiError> {
        if root.name != "assessment-item" {
            self.left_out
                .push(format!("{file}: left out, because its root is {} and not an item.", root.tag));
            return Ok(());
        }
        let identifier = checked(file, root.get("identifier").unwrap_or_default())?.to_owned();
        if root.space != SPACE && !EARLIER.contains(&root.space.as_str()) {
            let given = &root.space;
            self.left_out.push(format!(
                "{file}: {identifier} left out, because its namespace is {given:?}; read are those of QTI 3.0, 2.2 and 2.1."
            ));
            return Ok(());
        }
        for element in root.walk() {
            // Identifiers of what can be answered come back as answers.
            if let Some(identifier) = element.get("identifier") {
                checked(file, identifier)?;
            }
        }
        if !self.given.insert(identifier.clone()) {
            self.left_out
                .push(format!("{file}: left out, because another item has the identifier {identifier} too."));
            return Ok(());
        }
        let id = own_identifier(&identifier, &['.', '-'], 64, 'q', &self.taken);
        match take(root, id.clone()) {
            Ok(taken) => {
                if id != identifier {
                    self.left_out.push(format!("{file}: {identifier} is read with the identifier {id}."));
                }
                for note in taken.notes {
                    self.left_out.push(format!("{file}: {identifier} is read without {note}."));
                }
                self.taken.insert(id);
                self.items.push(taken.item);
            }
            Err(why) => self.left_out.push(format!("{file}: {identifier} left out, because {why}.")),
        }
        Ok(())
    }
}
