//! Whether a package of version 3.0 hangs together: what can be checked without the schema of the standard.
//!
//! It knows elements by the names that are written here and finds: files that are missing or not listed, identifiers that are doubled or
//! none, references that lead nowhere, parts in the wrong order, answers that are not declared, keys that are no option, and outcomes that are set and not declared.
//! It does not know the content of every element, as the schema does.

use std::collections::{BTreeMap, BTreeSet};

use super::QtiError;
use super::package::{is_package, resolve, unpack};
use super::processing::number;
use super::read::{MANIFEST, SPACE};
use super::write::MANIFEST_SPACE;
use super::xml::{Element, is_name, parse};

/// What a package of version 3.0 has wrong in its structure, each as a sentence; nothing when nothing was found.
///
/// # Errors
/// When it is refused as [`super::read`] refuses it.
pub fn faults(bytes: &[u8]) -> Result<Vec<String>, QtiError> {
    if !is_package(bytes) {
        return Err(QtiError::Foreign { given: "no ZIP".into() });
    }
    let files = unpack(bytes)?;
    let mut faults = Vec::new();
    let Some(manifest) = files.get(MANIFEST) else {
        return Ok(vec!["The package has no imsmanifest.xml at its root.".into()]);
    };
    let manifest = parse(MANIFEST, manifest)?;
    if manifest.space != MANIFEST_SPACE || manifest.tag != "manifest" {
        faults.push(format!(
            "The root of the manifest is {} in the namespace {:?}.",
            manifest.tag, manifest.space
        ));
    }
    order(&manifest, MANIFEST, &["metadata", "organizations", "resources"], &mut faults);
    let stated =
        |name: &str| manifest.first("metadata").and_then(|metadata| metadata.first(name)).map(Element::value);
    if stated("schema").as_deref() != Some("QTI Package") {
        faults.push("The metadata of the manifest do not say QTI Package.".into());
    }
    if !stated("schemaversion").is_some_and(|version| version.starts_with("3.0")) {
        faults.push("The metadata of the manifest do not say a version 3.0.".into());
    }
    let resources = resources(&manifest, &files, &mut faults)?;
    for (file, (identifier, kind)) in &resources {
        let Some(bytes) = files.get(file) else { continue };
        match kind.as_str() {
            "imsqti_item_xmlv3p0" => item(file, identifier, &parse(file, bytes)?, &mut faults),
            "imsqti_test_xmlv3p0" => test(file, &parse(file, bytes)?, &resources, &mut faults)?,
            "webcontent" => {}
            other => faults.push(format!("{file}: its resource has the type {other:?}.")),
        }
    }
    Ok(faults)
}

/// Resources by the file that they point at, as identifier and type.
type Resources = BTreeMap<String, (String, String)>;

fn resources(
    manifest: &Element,
    files: &BTreeMap<String, Vec<u8>>,
    faults: &mut Vec<String>,
) -> Result<Resources, QtiError> {
    let mut found = Resources::new();
    let mut listed = BTreeSet::from([MANIFEST.to_owned()]);
    let all: Vec<&Element> =
        manifest.all("resources").flat_map(|resources| resources.all("resource")).collect();
    let mut identifiers = BTreeSet::from([manifest.get("identifier").unwrap_or_default()]);
    for resource in &all {
        let identifier = resource.get("identifier").unwrap_or_default();
        if !is_name(identifier) {
            faults.push(format!("The manifest has the identifier {identifier:?}, which is none."));
        }
        if !identifiers.insert(identifier) {
            faults.push(format!("The manifest has the identifier {identifier} twice."));
        }
        let mut own = BTreeSet::new();
        for href in resource.all("file").map(|file| file.get("href").unwrap_or_default()) {
            own.insert(resolve(MANIFEST, "", href)?);
        }
        let file = resolve(MANIFEST, "", resource.get("href").unwrap_or_default())?;
        if !own.contains(&file) {
            faults.push(format!("The resource {identifier} does not list its own file {file}."));
        }
        for missing in own.iter().filter(|file| !files.contains_key(*file)) {
            faults.push(format!("The resource {identifier} lists {missing}, which is not in the package."));
        }
        listed.extend(own);
        let kind = resource.get("type").unwrap_or_default().to_owned();
        if found.insert(file.clone(), (identifier.to_owned(), kind)).is_some() {
            faults.push(format!("Two resources point at {file}."));
        }
    }
    for resource in &all {
        for needed in resource.all("dependency").map(|needed| needed.get("identifierref").unwrap_or_default())
        {
            if !identifiers.contains(needed) {
                faults.push(format!("The manifest needs the resource {needed:?}, which it does not have."));
            }
        }
    }
    for file in files.keys().filter(|file| !listed.contains(*file)) {
        faults.push(format!("{file}: the manifest does not list it."));
    }
    Ok(found)
}

/// Whether children stand in this order, and no others.
fn order(element: &Element, file: &str, names: &[&str], faults: &mut Vec<String>) {
    let mut last = 0;
    for child in element.elements() {
        match names.iter().position(|name| *name == child.tag) {
            None => faults.push(format!("{file}: {} in {}.", child.tag, element.tag)),
            Some(place) if place < last => {
                faults.push(format!("{file}: {} stands too late in {}.", child.tag, element.tag));
            }
            Some(place) => last = place,
        }
    }
}

fn root(file: &str, element: &Element, tag: &str, needed: &[&str], faults: &mut Vec<String>) {
    if element.space != SPACE || element.tag != tag {
        faults.push(format!("{file}: its root is {} in the namespace {:?}.", element.tag, element.space));
    }
    for name in needed.iter().filter(|name| element.get(name).is_none()) {
        faults.push(format!("{file}: {tag} without {name}."));
    }
}

fn test(file: &str, test: &Element, resources: &Resources, faults: &mut Vec<String>) -> Result<(), QtiError> {
    root(file, test, "qti-assessment-test", &["identifier", "title"], faults);
    let folder = file.rsplit_once('/').map_or("", |(folder, _)| folder);
    let mut identifiers = BTreeSet::new();
    for element in test.walk() {
        let needed: &[&str] = match element.name.as_str() {
            "test-part" => &["identifier", "navigation-mode", "submission-mode"],
            "assessment-section" => &["identifier", "title", "visible"],
            "assessment-item-ref" => &["identifier", "href"],
            _ => continue,
        };
        for name in needed.iter().filter(|name| element.get(name).is_none()) {
            faults.push(format!("{file}: {} without {name}.", element.tag));
        }
        let identifier = element.get("identifier").unwrap_or_default();
        if !identifiers.insert(identifier) {
            faults.push(format!("{file}: the identifier {identifier} twice."));
        }
        if element.name == "assessment-item-ref" {
            let target = resolve(file, folder, element.get("href").unwrap_or_default())?;
            if resources.get(&target).is_none_or(|(_, kind)| kind != "imsqti_item_xmlv3p0") {
                faults.push(format!(
                    "{file}: {identifier} leads to {target}, which is no item of the manifest."
                ));
            }
        }
    }
    Ok(())
}

const ITEM: &[&str] = &[
    "qti-context-declaration",
    "qti-response-declaration",
    "qti-outcome-declaration",
    "qti-template-declaration",
    "qti-template-processing",
    "qti-assessment-stimulus-ref",
    "qti-companion-materials-info",
    "qti-stylesheet",
    "qti-item-body",
    "qti-catalog-info",
    "qti-response-processing",
    "qti-modal-feedback",
];

fn item(file: &str, resource: &str, item: &Element, faults: &mut Vec<String>) {
    root(file, item, "qti-assessment-item", &["identifier", "title", "time-dependent"], faults);
    order(item, file, ITEM, faults);
    let identifier = item.get("identifier").unwrap_or_default();
    if identifier != resource {
        faults.push(format!("{file}: the item is {identifier:?} and its resource {resource:?}."));
    }
    let walk = item.walk();
    let declared = |kind: &'static str, faults: &mut Vec<String>| {
        let mut found: BTreeMap<&str, &Element> = BTreeMap::new();
        for element in item.all(kind) {
            let identifier = element.get("identifier").unwrap_or_default();
            if !is_name(identifier) {
                faults.push(format!("{file}: the identifier {identifier:?}, which is none."));
            }
            if found.insert(identifier, element).is_some() {
                faults.push(format!("{file}: {identifier} is declared twice."));
            }
        }
        found
    };
    let responses = declared("response-declaration", faults);
    let outcomes = declared("outcome-declaration", faults);
    let is = |element: &Element, name: &str, value: &str| element.get(name) == Some(value);
    if !outcomes
        .get("SCORE")
        .is_some_and(|score| is(score, "cardinality", "single") && is(score, "base-type", "float"))
    {
        faults.push(format!("{file}: no outcome SCORE that is a single float."));
    }
    for interaction in walk.iter().filter(|element| element.name.ends_with("-interaction")) {
        let name = interaction.get("response-identifier").unwrap_or_default();
        match responses.get(name) {
            Some(response) => answers(file, interaction, response, faults),
            None => faults
                .push(format!("{file}: {} answers into {name:?}, which is not declared.", interaction.tag)),
        }
    }
    for element in &walk {
        let name = element.get("identifier").unwrap_or_default();
        let outcome = element.get("outcome-identifier").unwrap_or_default();
        let known = match element.name.as_str() {
            "set-outcome-value" => outcomes.contains_key(name),
            "variable" => outcomes.contains_key(name) || responses.contains_key(name),
            "correct" | "map-response" => responses.contains_key(name),
            "modal-feedback" | "feedback-inline" | "feedback-block" => {
                is_name(name)
                    && outcomes.get(outcome).is_some_and(|outcome| is(outcome, "base-type", "identifier"))
            }
            "base-value" if matches!(element.get("base-type"), Some("float" | "integer")) => {
                number(&element.value()).is_some()
            }
            _ => true,
        };
        if !known {
            faults.push(format!(
                "{file}: {} {name:?} {outcome:?} refers to nothing that is declared.",
                element.tag
            ));
        }
        if element.space == SPACE && element.name == "modal-feedback" {
            order(element, file, &["qti-content-body"], faults);
        }
    }
}

/// Whether what an interaction offers and what is declared as its answer agree.
fn answers(file: &str, interaction: &Element, response: &Element, faults: &mut Vec<String>) {
    let (cardinality, bases): (&[&str], &[&str]) = match interaction.tag.as_str() {
        "qti-choice-interaction" => (&["single", "multiple"], &["identifier"]),
        "qti-order-interaction" => (&["ordered"], &["identifier"]),
        "qti-text-entry-interaction" => (&["single"], &["float", "integer", "string"]),
        _ => return,
    };
    let given = |name: &str| response.get(name).unwrap_or_default();
    if !cardinality.contains(&given("cardinality")) || !bases.contains(&given("base-type")) {
        let (cardinality, base) = (given("cardinality"), given("base-type"));
        faults
            .push(format!("{file}: the answer of {} is declared as {cardinality} {base}.", interaction.tag));
    }
    let mut options = BTreeSet::new();
    for option in interaction.all("simple-choice") {
        let identifier = option.get("identifier").unwrap_or_default();
        if !is_name(identifier) || !options.insert(identifier.to_owned()) {
            faults.push(format!("{file}: the option {identifier:?} is none or there twice."));
        }
    }
    let correct: Vec<String> = response
        .first("correct-response")
        .iter()
        .flat_map(|correct| correct.all("value"))
        .map(Element::value)
        .collect();
    if correct.is_empty() {
        faults.push(format!("{file}: no right answer."));
    }
    if given("cardinality") == "single" && correct.len() > 1 {
        faults.push(format!("{file}: several right answers where one is declared."));
    }
    if given("base-type") == "identifier" {
        for one in correct.iter().filter(|one| !options.contains(*one)) {
            faults.push(format!("{file}: the right answer {one:?} is none of the options."));
        }
    } else if given("base-type") != "string" {
        for one in correct.iter().filter(|one| number(one).is_none()) {
            faults.push(format!("{file}: the right answer {one:?} is no number."));
        }
    }
    let distinct: BTreeSet<&String> = correct.iter().collect();
    if given("cardinality") == "ordered"
        && (distinct.len() != correct.len() || correct.len() != options.len())
    {
        faults.push(format!("{file}: the right order does not name each step once."));
    }
}
