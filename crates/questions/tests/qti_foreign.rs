//! Packages that were not written here: the folder `qti`, made by hand from the standard's model of an item, with other prefixes, quotes,
//! folders, response processing and feedback than ours. What is expected below was said by reading the items as the standard does.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use std::fs;
use std::io::{Cursor, Write as _};
use std::path::Path;

use questions::item::{Body, Item};
use questions::qti::{self, QtiError, Read};
use zip::write::SimpleFileOptions;

fn folder() -> &'static Path {
    Path::new(concat!(env!("CARGO_MANIFEST_DIR"), "/tests/qti"))
}

/// The folder as a package, deflated, with entries for folders as well.
fn zipped() -> Vec<u8> {
    let mut zip = zip::ZipWriter::new(Cursor::new(Vec::new()));
    let options = SimpleFileOptions::default().compression_method(zip::CompressionMethod::Deflated);
    let mut folders = vec![folder().to_path_buf()];
    while let Some(folder_here) = folders.pop() {
        let mut entries: Vec<_> =
            fs::read_dir(folder_here).unwrap().map(|entry| entry.unwrap().path()).collect();
        entries.sort();
        for path in entries {
            let name = path.strip_prefix(folder()).unwrap().to_str().unwrap().to_owned();
            if path.is_dir() {
                zip.add_directory(format!("{name}/"), options).unwrap();
                folders.push(path);
            } else {
                zip.start_file(name, options).unwrap();
                zip.write_all(&fs::read(path).unwrap()).unwrap();
            }
        }
    }
    zip.finish().unwrap().into_inner()
}

fn package() -> Read {
    qti::read(&zipped()).unwrap()
}

fn item(id: &str) -> Item {
    package().items.into_iter().find(|item| item.id == id).unwrap()
}

fn left_out(part: &str) -> Vec<String> {
    package().left_out.into_iter().filter(|sentence| sentence.contains(part)).collect()
}

#[test]
fn val_title_and_order_are_those_of_the_test() {
    let read = package();
    assert_eq!(read.title, "Copies & casts");
    let ids: Vec<&str> = read.items.iter().map(|item| item.id.as_str()).collect();
    // Three in the order of the test, then the manifest's own order.
    assert_eq!(ids, ["q_pouring.steps", "cord-size", "void", "ratio", "shrink", "glove", "old"]);
}

#[test]
fn val_everything_that_is_left_out_is_named() {
    assert_eq!(
        left_out("pairs"),
        ["items/pairs.xml: pairs left out, because a qti-match-interaction is not read."]
    );
    assert_eq!(
        left_out("margin"),
        ["items/margin.xml: margin left out, because a picture cannot be read as plain text."]
    );
    assert_eq!(left_out("gone").len(), 1);
    assert_eq!(left_out("R-words"), ["The resource R-words of type \"imslti_xmlv1p0\" is not read."]);
    assert_eq!(left_out("_pouring.steps is read with the identifier q_pouring.steps").len(), 1);
    assert_eq!(
        left_out("glove"),
        ["items/glove.xml: glove is read without marks for other options than the key."]
    );
    assert_eq!(left_out("shrink").len(), 1);
    assert_eq!(left_out("void").len(), 1, "feedback to every wrong answer belongs to no one option");
    assert_eq!(package().left_out.len(), 8);
}

#[test]
fn val_choice_with_a_prefix_shuffled_and_processed_by_a_negation() {
    let item = item("cord-size");
    assert_eq!(item.title, "A <thin> sulcus");
    assert_eq!(
        item.stem,
        "A lower incisor has a sulcus of 1 mm, with thin tissue.\n\n- No bleeding\n- Plaque < 10 % & falling"
    );
    assert_eq!(item.lead_in, "Which cord goes in first?");
    let Body::Choice { options, key, in_order } = item.body else { panic!() };
    let shown: Vec<(&str, &str)> =
        options.iter().map(|option| (option.id.as_str(), option.text.as_str())).collect();
    assert_eq!(
        shown,
        [
            ("thick_cord", "The thickest that enters"),
            ("thin_cord", "The thinnest that stays"),
            ("none", "No cord — paste & cap"),
        ]
    );
    assert_eq!((key, in_order), (1, false));
    assert_eq!((item.topic, item.level, item.asks, item.reason.as_str()), (None, None, None, ""));
}

#[test]
fn val_choice_with_feedback() {
    let item = item("void");
    assert_eq!(item.stem, "The copy of an upper molar shows a void of 2 mm on the finish line.");
    assert_eq!(item.lead_in, "What comes next?");
    assert_eq!(item.reason, "What is missing from a copy is missing from the die.\n\nNothing adds it later.");
    let Body::Choice { options, key, in_order } = item.body else { panic!() };
    let whys: Vec<(&str, &str)> =
        options.iter().map(|option| (option.text.as_str(), option.why.as_str())).collect();
    assert_eq!(
        whys,
        [
            ("Pour it", "The die would have no margin there."),
            ("Make it again", "It is short."),
            ("Fill it with wax", ""),
        ]
    );
    // The standard does not shuffle unless told to.
    assert_eq!((key, in_order), (1, true));
}

#[test]
fn val_order() {
    let item = item("q_pouring.steps");
    assert_eq!(item.stem, "An alginate copy lies on the bench.\nThe room has 23 °C.");
    assert_eq!(item.lead_in, "Put the steps in order.");
    let Body::Order { steps, key } = item.body else { panic!() };
    let texts: Vec<&str> = steps.iter().map(|step| step.text.as_str()).collect();
    assert_eq!(texts, ["Pour", "Rinse \"well\"", "Mix the stone"]);
    assert_eq!(key, ["rinse", "mix", "pour"]);
}

#[test]
fn val_number_with_a_tolerance_above_that_is_left_out() {
    let item = item("ratio");
    assert!(item.stem.ends_with("1 cm³ of water weighs 1 g."), "{}", item.stem);
    assert_eq!(item.lead_in, "Give ____ ml of water.");
    let Body::Numeric { key, least, most, unit, digits } = item.body else { panic!() };
    // 0.5 below and 1.5 above, the upper edge itself wrong: the last number below 39.
    assert_eq!((key, least, most), (37.5, 37.0, 39f64.next_down()));
    assert_eq!((unit.as_str(), digits), ("", 2));
}

#[test]
fn val_number_between_bounds_with_partial_credit_around() {
    let item = item("shrink");
    assert_eq!(
        (item.stem.as_str(), item.lead_in.as_str()),
        ("", "How many micrometres does 10 mm lose at 0.4 %?")
    );
    let Body::Numeric { key, least, most, .. } = item.body else { panic!() };
    assert_eq!((least, most), (37f64.next_up(), 43.0));
    assert!(least < key && key < most);
}

#[test]
fn val_mapped_scores_have_a_key_and_say_that_partial_credit_is_gone() {
    let item = item("glove");
    assert_eq!((item.stem.as_str(), item.lead_in.as_str()), ("", "What keeps a putty from setting?"));
    let Body::Choice { options, key, in_order } = item.body else { panic!() };
    assert_eq!((options[key].id.as_str(), in_order), ("latex", true));
}

#[test]
fn val_version_two_differs_in_names_alone() {
    let item = item("old");
    assert_eq!(item.lead_in, "How thick is the film of cement, in mm?");
    let Body::Numeric { key, least, most, digits, .. } = item.body else { panic!() };
    assert_eq!((key, least, most, digits), (0.2, 0.2, 0.2, 1));
}

#[test]
fn a_bare_item_is_read() {
    let read = qti::read(&fs::read(folder().join("more/steps.xml")).unwrap()).unwrap();
    assert_eq!((read.title.as_str(), read.items.len()), ("Pouring", 1));
    let test = qti::read(&fs::read(folder().join("tests/paper.xml")).unwrap());
    assert!(matches!(test, Err(QtiError::Foreign { .. })));
}

#[test]
fn prop_what_was_read_is_written_and_read_again() {
    let read = package();
    let again = qti::read(&qti::write(&read.title, &read.items).unwrap()).unwrap();
    assert_eq!(again, Read { left_out: vec![], ..read });
}

/// One change in an item each, and the end of the sentence that says why it is not read then.
#[test]
fn val_items_of_other_kinds_are_left_out_and_say_why() {
    let void = fs::read_to_string(folder().join("items/void.xml")).unwrap();
    let ratio = fs::read_to_string(folder().join("more/ratio.xml")).unwrap();
    let steps = fs::read_to_string(folder().join("more/steps.xml")).unwrap();
    for (text, from, to, why) in [
        (&void, "adaptive=\"false\"", "adaptive=\"true\"", "it is adaptive."),
        (
            &void,
            "cardinality=\"single\" base-type=\"identifier\">",
            "cardinality=\"multiple\" base-type=\"identifier\">",
            "read are single identifier.",
        ),
        (&void, "<qti-value>B</qti-value>", "<qti-value>Z</qti-value>", "is none of its options."),
        (&void, "identifier=\"C\"", "identifier=\"A\"", "two options have the identifier \"A\"."),
        (
            &void,
            "<qti-item-body>",
            "<qti-template-declaration identifier=\"T\" cardinality=\"single\" base-type=\"float\"/><qti-item-body>",
            "it is drawn anew each time that it is shown.",
        ),
        (&void, "2 mm", "2<sup>x</sup> mm", "the superscript \"x\" cannot be read as plain text."),
        (&void, "2 mm", "<table/> mm", "a table cannot be read as plain text."),
        (
            &void,
            "2 mm",
            "<m:math xmlns:m=\"http://www.w3.org/1998/Math/MathML\"/>",
            "a formula in MathML cannot be read as plain text.",
        ),
        (&void, "2 mm", "<qti-text-entry-interaction response-identifier=\"R2\"/>", "it asks for 2 answers."),
        (
            &void,
            "<qti-variable identifier=\"MOST\"/>",
            "<qti-random><qti-variable identifier=\"MOST\"/></qti-random>",
            "response processing with qti-random is not read.",
        ),
        (
            &void,
            "<qti-match>",
            "<qti-match><qti-null/>",
            "qti-match with other than two expressions in it is not read.",
        ),
        (&void, "imsqtiasi_v3p0", "imsqti_v9", "read are those of QTI 3.0, 2.2 and 2.1."),
        (
            &ratio,
            "base-type=\"float\">\n    <qti-correct",
            "base-type=\"string\">\n    <qti-correct",
            "read are single float or integer.",
        ),
        (&ratio, "0.5 1.5", "-1", "it has the tolerance \"-1\"."),
        (&ratio, "absolute", "about", "it has the tolerance mode \"about\"."),
        (&ratio, "37.50", "inf", "it has the number \"inf\"."),
        (&steps, "<qti-value>pour</qti-value>", "", "its right answer is not an order of all its steps."),
        (
            &steps,
            "match_correct.xml",
            "other_way",
            "the template of response processing \"other_way\" is not read.",
        ),
    ] {
        assert!(text.contains(from), "{from}");
        let read = qti::read(text.replacen(from, to, 1).as_bytes()).unwrap();
        assert!(read.items.is_empty(), "{why}: {read:?}");
        assert_eq!(read.left_out.len(), 1);
        assert!(read.left_out[0].ends_with(why), "{why}: {}", read.left_out[0]);
    }
}
