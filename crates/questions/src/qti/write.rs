//! Items as a package.

use std::collections::BTreeSet;
use std::fmt::Write as _;

use super::package::pack;
use super::read::{MANIFEST, SPACE};
use super::text::{block, inline};
use super::xml::{escape_attribute, parse};
use super::{MAX_ITEMS, MAX_TOTAL_BYTES, QtiError};
use crate::item::{Body, Choice, Item, Step};

/// Namespace of the manifest.
pub const MANIFEST_SPACE: &str = "http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1";

/// Why items are not written.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum WriteError {
    /// A character that no XML can hold, or that no text should.
    #[error("{item}, {field}: given the character U+{given:04X}; allowed text, tabs and line ends")]
    Character {
        /// Which item; empty for the package.
        item: String,
        /// Which text.
        field: &'static str,
        /// The character.
        given: u32,
    },
    /// A title of several lines.
    #[error("{item}: given a title with a tab or line end; allowed one line")]
    Title {
        /// Which item; empty for the package.
        item: String,
    },
    /// An identifier that is not one of ours.
    #[error(
        "{item}: given the identifier {given:?}; allowed a letter, then {allowed}, at most 64 characters"
    )]
    Identifier {
        /// Which item.
        item: String,
        /// The identifier.
        given: String,
        /// What may follow the letter.
        allowed: &'static str,
    },
    /// One identifier twice.
    #[error("{item}: given the identifier {given} twice; allowed once")]
    Duplicate {
        /// Which item.
        item: String,
        /// The identifier.
        given: String,
    },
    /// A key that is none.
    #[error("{item}: given a key that is {given}; allowed {allowed}")]
    Key {
        /// Which item.
        item: String,
        /// What it is.
        given: String,
        /// What it may be.
        allowed: &'static str,
    },
    /// Too many items.
    #[error("given {given} items; allowed at most {MAX_ITEMS}")]
    TooMany {
        /// How many.
        given: usize,
    },
    /// Longer than what is read back.
    #[error("the package would not be read back: {0}")]
    Limit(QtiError),
    /// The writer of ZIP failed.
    #[error("the package could not be put together: {0}")]
    Package(String),
}

/// Items as a package, with a test of this title that lists them in this order; the same bytes each time.
///
/// # Errors
/// When a text holds what no XML may, an identifier or a key is none, or a limit of reading is broken.
pub fn write(title: &str, items: &[Item]) -> Result<Vec<u8>, WriteError> {
    if items.len() > MAX_ITEMS {
        return Err(WriteError::TooMany { given: items.len() });
    }
    check_title("", title)?;
    let mut seen = BTreeSet::new();
    let mut files = Vec::new();
    let mut listed = Vec::new();
    for (place, item) in items.iter().enumerate() {
        check(item)?;
        if !seen.insert(&item.id) {
            return Err(WriteError::Duplicate { item: item.id.clone(), given: item.id.clone() });
        }
        // The number keeps names apart where capitals do not count.
        let name = format!("items/{:04}-{}.xml", place + 1, item.id);
        files.push((name.clone(), document(item)));
        listed.push((item.id.as_str(), name));
    }
    files.insert(0, ("test.xml".into(), test(title, &listed)));
    files.insert(0, (MANIFEST.into(), manifest(&listed)));
    let mut total = 0;
    let mut packed = Vec::new();
    for (name, text) in files {
        parse(&name, text.as_bytes()).map_err(WriteError::Limit)?;
        total += text.len() as u64;
        if total > MAX_TOTAL_BYTES {
            return Err(WriteError::Limit(QtiError::TotalTooLarge { entry: name }));
        }
        packed.push((name, text.into_bytes()));
    }
    let package = pack(&packed).map_err(WriteError::Package)?;
    if package.len() > super::MAX_PACKAGE_BYTES {
        return Err(WriteError::Limit(QtiError::PackageTooLarge { given: package.len() }));
    }
    Ok(package)
}

fn manifest(items: &[(&str, String)]) -> String {
    let mut resources = String::new();
    for (id, name) in items {
        let _ = writeln!(
            resources,
            "    <resource identifier=\"{id}\" type=\"imsqti_item_xmlv3p0\" href=\"{name}\">\n      <file href=\"{name}\"/>\n    </resource>"
        );
    }
    // No item begins with `_`, so these identifiers are free.
    let mut needs = String::new();
    for (id, _) in items {
        let _ = writeln!(needs, "      <dependency identifierref=\"{id}\"/>");
    }
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<manifest xmlns=\"{MANIFEST_SPACE}\" identifier=\"_package\">\n  <metadata>\n    <schema>QTI Package</schema>\n    <schemaversion>3.0.1</schemaversion>\n  </metadata>\n  <organizations/>\n  <resources>\n    <resource identifier=\"_test\" type=\"imsqti_test_xmlv3p0\" href=\"test.xml\">\n      <file href=\"test.xml\"/>\n{needs}    </resource>\n{resources}  </resources>\n</manifest>\n"
    )
}

fn test(title: &str, items: &[(&str, String)]) -> String {
    let title = escape_attribute(title);
    let mut references = String::new();
    for (id, name) in items {
        let _ = writeln!(references, "      <qti-assessment-item-ref identifier=\"{id}\" href=\"{name}\"/>");
    }
    format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<qti-assessment-test xmlns=\"{SPACE}\" identifier=\"_test\" title=\"{title}\">\n  <qti-test-part identifier=\"_part\" navigation-mode=\"nonlinear\" submission-mode=\"individual\">\n    <qti-assessment-section identifier=\"_section\" title=\"{title}\" visible=\"true\">\n{references}    </qti-assessment-section>\n  </qti-test-part>\n</qti-assessment-test>\n"
    )
}

/// An item as its document.
fn document(item: &Item) -> String {
    let parts = match &item.body {
        Body::Choice { options, key, in_order } => choice(item, options, *key, *in_order),
        Body::Order { steps, key } => order(item, steps, key),
        Body::Numeric { key, least, most, unit, digits } => {
            numeric(item, [*key, *least, *most], unit, *digits)
        }
    };
    let feedback = if parts.names_option {
        "  <qti-outcome-declaration identifier=\"FEEDBACK\" cardinality=\"single\" base-type=\"identifier\"/>\n"
    } else {
        ""
    };
    let names_option = if parts.names_option {
        "    <qti-set-outcome-value identifier=\"FEEDBACK\">\n      <qti-variable identifier=\"RESPONSE\"/>\n    </qti-set-outcome-value>\n"
    } else {
        ""
    };
    let mut explanation = block("reason", "", &item.reason);
    if let Some(disagreement) = &item.disagreement {
        explanation.push_str(&block("disagreement", "", disagreement));
    }
    let stem = block("stem", &about(item), &item.stem);
    let Parts { cardinality, base, correct, question, condition, .. } = parts;
    format!(
        r#"<?xml version="1.0" encoding="UTF-8"?>
<qti-assessment-item xmlns="{SPACE}" identifier="{id}" title="{title}" adaptive="false" time-dependent="false" xml:lang="en">
  <qti-response-declaration identifier="RESPONSE" cardinality="{cardinality}" base-type="{base}">
    <qti-correct-response>{correct}</qti-correct-response>
  </qti-response-declaration>
  <qti-outcome-declaration identifier="SCORE" cardinality="single" base-type="float">
    <qti-default-value><qti-value>0</qti-value></qti-default-value>
  </qti-outcome-declaration>
{feedback}  <qti-outcome-declaration identifier="EXPLANATION" cardinality="single" base-type="identifier"/>
  <qti-item-body>
    {stem}
    {question}
  </qti-item-body>
  <qti-response-processing>
    <qti-response-condition>
      <qti-response-if>
{condition}        <qti-set-outcome-value identifier="SCORE"><qti-base-value base-type="float">1</qti-base-value></qti-set-outcome-value>
      </qti-response-if>
      <qti-response-else>
        <qti-set-outcome-value identifier="SCORE"><qti-base-value base-type="float">0</qti-base-value></qti-set-outcome-value>
      </qti-response-else>
    </qti-response-condition>
{names_option}    <qti-set-outcome-value identifier="EXPLANATION">
      <qti-base-value base-type="identifier">{EXPLANATION}</qti-base-value>
    </qti-set-outcome-value>
  </qti-response-processing>
  <qti-modal-feedback outcome-identifier="EXPLANATION" identifier="{EXPLANATION}" show-hide="show">
    <qti-content-body>{explanation}</qti-content-body>
  </qti-modal-feedback>
</qti-assessment-item>
"#,
        id = item.id,
        title = escape_attribute(&item.title),
    )
}

/// Identifier of the explanation; with a `-`, which no option has in its own.
const EXPLANATION: &str = "after-any-answer";

/// What differs between kinds of item.
struct Parts {
    cardinality: &'static str,
    base: &'static str,
    correct: String,
    question: String,
    condition: String,
    names_option: bool,
}

const MATCHES: &str = "        <qti-match>\n          <qti-variable identifier=\"RESPONSE\"/>\n          <qti-correct identifier=\"RESPONSE\"/>\n        </qti-match>\n";

/// What the standard has no place for, as attributes.
fn about(item: &Item) -> String {
    let word = |value: serde_json::Value| value.as_str().map(str::to_owned);
    let rests_on =
        (!item.rests_on.is_empty()).then(|| serde_json::Value::from(item.rests_on.clone()).to_string());
    let attributes = [
        ("topic", item.topic.clone()),
        ("level", item.level.and_then(|level| word(serde_json::to_value(level).unwrap_or_default()))),
        ("asks", item.asks.and_then(|asks| word(serde_json::to_value(asks).unwrap_or_default()))),
        ("rests-on", rests_on),
    ];
    let mut out = String::new();
    for (name, value) in attributes {
        if let Some(value) = value {
            let _ = write!(out, " data-trayward-{name}=\"{}\"", escape_attribute(&value));
        }
    }
    out
}

fn choice(item: &Item, options: &[Choice], key: usize, in_order: bool) -> Parts {
    let mut inside = String::new();
    for option in options {
        let misconception = option.misconception.as_ref().map_or(String::new(), |text| {
            format!(" data-trayward-misconception=\"{}\"", escape_attribute(text))
        });
        let why = if option.why.is_empty() {
            String::new()
        } else {
            let why = inline(&option.why);
            format!(
                "<qti-feedback-inline outcome-identifier=\"FEEDBACK\" identifier=\"{}\" show-hide=\"show\">{why}</qti-feedback-inline>",
                option.id
            )
        };
        let _ = writeln!(
            inside,
            "      <qti-simple-choice identifier=\"{}\"{misconception}>{}{why}</qti-simple-choice>",
            option.id,
            inline(&option.text)
        );
    }
    let key = options.get(key).map_or("", |option| &option.id);
    Parts {
        cardinality: "single",
        base: "identifier",
        correct: value(key),
        question: format!(
            "<qti-choice-interaction response-identifier=\"RESPONSE\" shuffle=\"{}\" max-choices=\"1\">\n      <qti-prompt>{}</qti-prompt>\n{inside}    </qti-choice-interaction>",
            !in_order,
            block("lead-in", "", &item.lead_in)
        ),
        condition: MATCHES.into(),
        names_option: true,
    }
}

fn order(item: &Item, steps: &[Step], key: &[String]) -> Parts {
    let mut inside = String::new();
    for step in steps {
        let text = inline(&step.text);
        let _ = writeln!(
            inside,
            "      <qti-simple-choice identifier=\"{}\">{text}</qti-simple-choice>",
            step.id
        );
    }
    Parts {
        cardinality: "ordered",
        base: "identifier",
        correct: key.iter().map(|id| value(id)).collect(),
        question: format!(
            "<qti-order-interaction response-identifier=\"RESPONSE\" shuffle=\"false\">\n      <qti-prompt>{}</qti-prompt>\n{inside}    </qti-order-interaction>",
            block("lead-in", "", &item.lead_in)
        ),
        condition: MATCHES.into(),
        names_option: false,
    }
}

fn numeric(item: &Item, [key, least, most]: [f64; 3], unit: &str, digits: u8) -> Parts {
    let bound = |operator: &str, bound: f64| {
        format!(
            "          <qti-{operator}>\n            <qti-variable identifier=\"RESPONSE\"/>\n            <qti-base-value base-type=\"float\">{bound:?}</qti-base-value>\n          </qti-{operator}>\n"
        )
    };
    Parts {
        cardinality: "single",
        base: "float",
        correct: value(&format!("{key:?}")),
        question: format!(
            "{}\n    <p><qti-text-entry-interaction response-identifier=\"RESPONSE\" data-trayward-digits=\"{digits}\"/> <span data-trayward-part=\"unit\">{}</span></p>",
            block("lead-in", "", &item.lead_in),
            inline(unit)
        ),
        condition: format!(
            "        <qti-and>\n{}{}        </qti-and>\n",
            bound("gte", least),
            bound("lte", most)
        ),
        names_option: false,
    }
}

fn value(text: &str) -> String {
    format!("<qti-value>{text}</qti-value>")
}

fn check_title(item: &str, title: &str) -> Result<(), WriteError> {
    check_text(item, "title", title)?;
    if title.contains(['\t', '\n']) { Err(WriteError::Title { item: item.into() }) } else { Ok(()) }
}

fn check_text(item: &str, field: &'static str, text: &str) -> Result<(), WriteError> {
    let barred =
        |c: &char| c.is_control() && !matches!(c, '\n' | '\t') || matches!(c, '\u{fffe}' | '\u{ffff}');
    match text.chars().find(barred) {
        Some(given) => Err(WriteError::Character { item: item.into(), field, given: given.into() }),
        None => Ok(()),
    }
}

fn check_identifier(item: &str, given: &str, also: &[char], allowed: &'static str) -> Result<(), WriteError> {
    let plain = given.starts_with(|c: char| c.is_ascii_alphabetic())
        && given.len() <= 64
        && given.chars().all(|c| c.is_ascii_alphanumeric() || c == '_' || also.contains(&c));
    if plain {
        return Ok(());
    }
    Err(WriteError::Identifier { item: item.into(), given: given.into(), allowed })
}

fn check(item: &Item) -> Result<(), WriteError> {
    check_identifier(&item.id, &item.id, &['.', '-'], "letters, digits, `.`, `_` and `-`")?;
    let id = item.id.as_str();
    check_title(id, &item.title)?;
    let texts = [("stem", &item.stem), ("lead-in", &item.lead_in), ("reason", &item.reason)];
    let others = [("topic", &item.topic), ("disagreement", &item.disagreement)];
    let others = others.into_iter().filter_map(|(field, text)| text.as_ref().map(|text| (field, text)));
    let rests_on = item.rests_on.iter().map(|key| ("what it rests on", key));
    for (field, text) in texts.into_iter().chain(others).chain(rests_on) {
        check_text(id, field, text)?;
    }
    let wrong = |given: String, allowed: &'static str| WriteError::Key { item: id.into(), given, allowed };
    let distinct = |ids: Vec<&String>| {
        let mut seen = BTreeSet::new();
        for given in ids {
            check_identifier(id, given, &[], "letters, digits and `_`")?;
            if !seen.insert(given) {
                return Err(WriteError::Duplicate { item: id.into(), given: given.clone() });
            }
        }
        Ok(seen.into_iter().cloned().collect::<BTreeSet<String>>())
    };
    match &item.body {
        Body::Choice { options, key, .. } => {
            distinct(options.iter().map(|option| &option.id).collect())?;
            for option in options {
                check_text(id, "option", &option.text)?;
                check_text(id, "why", &option.why)?;
                check_text(id, "misconception", option.misconception.as_deref().unwrap_or_default())?;
            }
            if *key >= options.len() {
                let given = format!("option {} of {}", key.saturating_add(1), options.len());
                return Err(wrong(given, "the place of an option"));
            }
        }
        Body::Order { steps, key } => {
            let ids = distinct(steps.iter().map(|step| &step.id).collect())?;
            for step in steps {
                check_text(id, "step", &step.text)?;
            }
            let named: BTreeSet<String> = key.iter().cloned().collect();
            if key.is_empty() || key.len() != steps.len() || named != ids {
                return Err(wrong(key.join(", "), "each step once"));
            }
        }
        Body::Numeric { key, least, most, unit, .. } => {
            check_text(id, "unit", unit)?;
            let finite = [*key, *least, *most].iter().all(|value| value.is_finite());
            let in_order = least <= key && key <= most;
            if !(finite && in_order) {
                let given = format!("{key}, least {least}, most {most}");
                return Err(wrong(given, "finite numbers with least, key and most in this order"));
            }
        }
    }
    Ok(())
}
