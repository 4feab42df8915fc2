//! Packages that mean harm, or are broken.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use std::io::Write as _;

use proptest::prelude::*;
use questions::item::{Body, Choice, Item};
use questions::qti::{self, QtiError, structure};

const MANIFEST: &str = "imsmanifest.xml";

/// One entry as its parts, so that each can lie.
#[derive(Clone)]
struct Entry {
    name: Vec<u8>,
    /// What lies in the package.
    data: Vec<u8>,
    /// 0 stored, 8 deflated.
    method: u16,
    flags: u16,
    /// CRC-32 and size of what it inflates to, as stated.
    crc: u32,
    size: u32,
    attributes: u32,
}

fn crc32(bytes: &[u8]) -> u32 {
    !bytes.iter().fold(!0, |crc, byte| {
        (0..8).fold(crc ^ u32::from(*byte), |crc, _| (crc >> 1) ^ (0xedb8_8320 * (crc & 1)))
    })
}

fn entry(name: &str, text: &str) -> Entry {
    Entry {
        name: name.into(),
        data: text.into(),
        method: 0,
        flags: 0,
        crc: crc32(text.as_bytes()),
        size: text.len() as u32,
        attributes: 0o100_644 << 16,
    }
}

/// A ZIP by the published layout of its records: local headers with data, the directory, its end.
fn packed(entries: &[Entry]) -> Vec<u8> {
    let mut out = Vec::new();
    let mut directory = Vec::new();
    for entry in entries {
        let offset = out.len() as u32;
        let mut common = Vec::new();
        for two in [20, entry.flags, entry.method, 0, 0x21] {
            common.extend(two.to_le_bytes());
        }
        for four in [entry.crc, entry.data.len() as u32, entry.size] {
            common.extend(four.to_le_bytes());
        }
        common.extend((entry.name.len() as u16).to_le_bytes());
        common.extend([0, 0]);
        out.extend(b"PK\x03\x04");
        out.extend(&common);
        out.extend(&entry.name);
        out.extend(&entry.data);
        directory.extend(b"PK\x01\x02\x14\x03");
        directory.extend(&common);
        directory.extend([0; 6]);
        directory.extend(entry.attributes.to_le_bytes());
        directory.extend(offset.to_le_bytes());
        directory.extend(&entry.name);
    }
    let (count, start, length) = (entries.len() as u16, out.len() as u32, directory.len() as u32);
    out.extend(directory);
    out.extend(b"PK\x05\x06\0\0\0\0");
    out.extend([count.to_le_bytes(), count.to_le_bytes()].concat());
    out.extend([length.to_le_bytes(), start.to_le_bytes()].concat());
    out.extend([0, 0]);
    out
}

/// A deflated stream of this many times 258 zeros and one more: one block of fixed codes, a literal, then copies of the byte before.
fn zeros(runs: usize) -> Vec<u8> {
    let mut bits = Bits::default();
    bits.push(0b011, 3);
    bits.code(0x30, 8);
    for _ in 0..runs {
        // Length 258 is code 285, the distance 1 is code 0.
        bits.code(0b1100_0101, 8);
        bits.code(0, 5);
    }
    bits.code(0, 7);
    bits.push(0, 7);
    bits.bytes
}

#[derive(Default)]
struct Bits {
    bytes: Vec<u8>,
    held: u32,
    count: u32,
}

impl Bits {
    fn push(&mut self, value: u32, length: u32) {
        self.held |= value << self.count;
        self.count += length;
        while self.count >= 8 {
            self.bytes.push(self.held as u8);
            self.held >>= 8;
            self.count -= 8;
        }
    }

    /// Codes stand with their first bit first.
    fn code(&mut self, code: u32, length: u32) {
        self.push(code.reverse_bits() >> (32 - length), length);
    }
}

const ITEM: &str = r#"<qti-assessment-item xmlns="http://www.imsglobal.org/xsd/imsqtiasi_v3p0" identifier="q1" title="T" time-dependent="false">
<qti-response-declaration identifier="RESPONSE" cardinality="single" base-type="identifier"><qti-correct-response><qti-value>a</qti-value></qti-correct-response></qti-response-declaration>
<qti-outcome-declaration identifier="SCORE" cardinality="single" base-type="float"/>
<qti-item-body><p>Stem</p><qti-choice-interaction response-identifier="RESPONSE"><qti-prompt>Which?</qti-prompt>
<qti-simple-choice identifier="a">A</qti-simple-choice><qti-simple-choice identifier="b">B</qti-simple-choice></qti-choice-interaction></qti-item-body>
<qti-response-processing template="https://purl.imsglobal.org/spec/qti/v3p0/rptemplates/match_correct"/>
</qti-assessment-item>"#;

fn manifest(href: &str) -> String {
    format!(
        r#"<manifest xmlns="http://www.imsglobal.org/xsd/qti/qtiv3p0/imscp_v1p1" identifier="M"><metadata><schema>QTI Package</schema><schemaversion>3.0.1</schemaversion></metadata><organizations/><resources><resource identifier="q1" type="imsqti_item_xmlv3p0" href="{href}"><file href="{href}"/></resource></resources></manifest>"#
    )
}

fn good() -> Vec<Entry> {
    vec![entry(MANIFEST, &manifest("q1.xml")), entry("q1.xml", ITEM)]
}

fn refused(entries: &[Entry]) -> QtiError {
    qti::read(&packed(entries)).unwrap_err()
}

fn with(change: impl FnOnce(&mut Entry)) -> QtiError {
    let mut entries = good();
    change(&mut entries[1]);
    refused(&entries)
}

#[test]
fn the_package_that_is_spoiled_below_is_good() {
    let package = packed(&good());
    assert_eq!(qti::read(&package).unwrap().items.len(), 1);
    assert_eq!(structure::faults(&package).unwrap(), Vec::<String>::new());
    // As a program writes that does not know sizes beforehand: they follow the data.
    let mut streamed = zip::ZipWriter::new_stream(Vec::new());
    for entry in good() {
        let options = zip::write::SimpleFileOptions::default();
        streamed.start_file(String::from_utf8(entry.name).unwrap(), options).unwrap();
        streamed.write_all(&entry.data).unwrap();
    }
    let streamed = streamed.finish().unwrap().into_inner();
    assert_eq!(qti::read(&streamed).unwrap().items.len(), 1);
    let stored = vec![0u8; 3 * 258 + 1];
    let mut entries = good();
    let deflated = zeros(3);
    entries.push(Entry {
        method: 8,
        crc: crc32(&stored),
        size: 775,
        data: deflated,
        ..entry("zeros.bin", "")
    });
    assert_eq!(qti::read(&packed(&entries)).unwrap().items.len(), 1);
}

#[test]
fn names_that_lead_out_are_refused() {
    for name in [
        "../q1.xml",
        "a/../../q1.xml",
        "/q1.xml",
        "\\q1.xml",
        "a\\..\\q1.xml",
        "C:q1.xml",
        "C:/q1.xml",
        "//host/q1.xml",
        "./q1.xml",
        "a//q1.xml",
        "q1.xml:stream",
        "a\nb.xml",
        "..",
        "",
    ] {
        let error = refused(&[good(), vec![entry(name, "x")]].concat());
        assert!(matches!(error, QtiError::Name { .. }), "{name:?}: {error:?}");
    }
    let long = "a".repeat(qti::MAX_NAME + 1);
    assert!(matches!(refused(&[good(), vec![entry(&long, "x")]].concat()), QtiError::Name { .. }));
    assert!(matches!(with(|entry| entry.name = b"q\xff.xml".to_vec()), QtiError::Name { .. }));
}

#[test]
fn references_that_lead_out_are_refused() {
    for href in [
        "../q1.xml",
        "a/../../q1.xml",
        "/etc/q1.xml",
        "\\q1.xml",
        "C:/q1.xml",
        "file:///q1.xml",
        "%2e%2e/q1.xml",
        "%2E%2e%2fq1.xml",
        "a%5c..%5cq1.xml",
        "%zz",
        "",
        "a%00b",
    ] {
        let error = refused(&[entry(MANIFEST, &manifest(href)), entry("q1.xml", ITEM)]);
        assert!(matches!(error, QtiError::Name { .. }), "{href:?}: {error:?}");
    }
    let test = |href: &str| {
        let manifest = manifest("q1.xml").replace(
            "</resources>",
            "<resource identifier=\"t\" type=\"imsqti_test_xmlv3p0\" href=\"tests/t.xml\"><file href=\"tests/t.xml\"/></resource></resources>",
        );
        let test = format!(
            "<qti-assessment-test xmlns=\"http://www.imsglobal.org/xsd/imsqtiasi_v3p0\" identifier=\"t\" title=\"T\"><qti-assessment-item-ref identifier=\"q1\" href=\"{href}\"/></qti-assessment-test>"
        );
        qti::read(&packed(&[entry(MANIFEST, &manifest), entry("q1.xml", ITEM), entry("tests/t.xml", &test)]))
    };
    assert_eq!(test("../q1.xml").unwrap().items.len(), 1);
    assert!(matches!(test("../../q1.xml"), Err(QtiError::Name { .. })));
}

#[test]
fn entries_that_are_not_plain_files_are_refused() {
    assert!(matches!(with(|entry| entry.attributes = 0o120_777 << 16), QtiError::Link { .. }));
    assert!(matches!(with(|entry| entry.flags = 1), QtiError::Encrypted { .. }));
    assert!(matches!(with(|entry| entry.method = 12), QtiError::Compression { .. }));
    let twice = [good(), vec![entry("q1.xml", "other")]].concat();
    assert_eq!(refused(&twice), QtiError::Duplicate { entry: "q1.xml".into() });
}

#[test]
fn a_bomb_is_refused_before_it_goes_off() {
    // 1.07e9 zeros in 7 MB.
    let runs = 4_161_791;
    let data = zeros(runs);
    let bomb = |size: u32| {
        let mut entries = good();
        entries.push(Entry { method: 8, size, data: data.clone(), ..entry("big.xml", "") });
        refused(&entries)
    };
    let honest = (runs * 258 + 1) as u32;
    assert_eq!(
        bomb(honest),
        QtiError::EntryTooLarge { entry: "big.xml".into(), allowed: qti::MAX_ENTRY_BYTES }
    );
    for stated in [0, 100, qti::MAX_ENTRY_BYTES as u32] {
        // The reader of ZIP may find the lie first.
        let named = match bomb(stated) {
            QtiError::SizeStated { entry, .. } => entry,
            QtiError::Damaged { place, .. } => place,
            other => panic!("{other:?}"),
        };
        assert_eq!(named, "big.xml");
    }
    // Many entries that are each within their limit.
    let run = (qti::MAX_ENTRY_BYTES as usize - 1) / 258;
    let (data, size) = (zeros(run), run * 258 + 1);
    let crc = crc32(&vec![0; size]);
    let mut entries = good();
    for place in 0..5 {
        let part = Entry {
            method: 8,
            size: size as u32,
            crc,
            data: data.clone(),
            ..entry(&format!("{place}.bin"), "")
        };
        entries.push(part);
    }
    assert!(matches!(refused(&entries), QtiError::TotalTooLarge { .. }));
}

#[test]
fn lying_headers_are_refused() {
    assert!(matches!(with(|entry| entry.size -= 1), QtiError::SizeStated { .. } | QtiError::Damaged { .. }));
    assert!(matches!(with(|entry| entry.size += 1), QtiError::SizeStated { .. } | QtiError::Damaged { .. }));
    assert!(matches!(with(|entry| entry.crc ^= 1), QtiError::Damaged { .. }));
    // A local header of another name than the directory says.
    let mut package = packed(&good());
    let at = package.windows(6).position(|six| six == b"q1.xml").unwrap();
    let local = package.windows(6).enumerate().filter(|(_, six)| *six == b"q1.xml").map(|(at, _)| at);
    let places: Vec<usize> = local.collect();
    assert!(places.len() >= 4 && at == places[0]);
    package[places[2]] = b'z';
    assert!(matches!(qti::read(&package), Err(QtiError::Damaged { .. })));
}

#[test]
fn too_much_is_refused() {
    let many: Vec<Entry> = (0..=qti::MAX_ENTRIES).map(|place| entry(&format!("{place}"), "")).collect();
    assert_eq!(refused(&many), QtiError::TooManyEntries { given: qti::MAX_ENTRIES + 1 });
    let mut large = packed(&good());
    large.resize(qti::MAX_PACKAGE_BYTES + 1, 0);
    assert_eq!(qti::read(&large).unwrap_err(), QtiError::PackageTooLarge { given: large.len() });
    let item = |text: &str| qti::read(text.as_bytes()).unwrap_err();
    let deep = format!("{}{}", "<a>".repeat(qti::MAX_DEPTH + 1), "</a>".repeat(qti::MAX_DEPTH + 1));
    assert!(matches!(item(&deep), QtiError::Depth { .. }));
    assert!(matches!(item(&"<a>".repeat(500_000)), QtiError::Depth { .. }));
    assert!(matches!(
        item(&format!("<a>{}</a>", "<b/>".repeat(qti::MAX_ELEMENTS))),
        QtiError::Elements { .. }
    ));
    let attributes: String = (0..100_000).map(|place| format!(" a{place}=''")).collect();
    assert!(matches!(item(&format!("<a{attributes}/>")), QtiError::Attributes { .. }));
    assert!(matches!(
        item(&format!("<a>{}</a>", "x".repeat(qti::MAX_XML_BYTES))),
        QtiError::EntryTooLarge { .. }
    ));
    let many = manifest("q1.xml").replace(
        "</resources>",
        &format!(
            "{}</resources>",
            "<resource identifier=\"r\" type=\"imsqti_item_xmlv3p0\" href=\"q\"/>".repeat(qti::MAX_ITEMS)
        ),
    );
    let many = refused(&[entry(MANIFEST, &many), entry("q1.xml", ITEM)]);
    assert_eq!(many, QtiError::TooManyItems { given: qti::MAX_ITEMS + 1 });
}

#[test]
fn no_entity_is_expanded() {
    let laughs = r#"<?xml version="1.0"?><!DOCTYPE l [<!ENTITY a "ha"><!ENTITY b "&a;&a;&a;&a;&a;&a;&a;&a;"><!ENTITY c "&b;&b;&b;&b;&b;&b;&b;&b;">]><l>&c;</l>"#;
    let outside = ITEM.replace("Stem", "&x;");
    let outside = format!(r#"<!DOCTYPE q [<!ENTITY x SYSTEM "file:///etc/passwd">]>{outside}"#);
    for text in [laughs, outside.as_str(), "<!DOCTYPE html><a/>"] {
        assert!(matches!(qti::read(text.as_bytes()), Err(QtiError::Doctype { .. })));
        let package = [entry(MANIFEST, &manifest("q1.xml")), entry("q1.xml", text)];
        assert_eq!(refused(&package), QtiError::Doctype { file: "q1.xml".into() });
        assert_eq!(refused(&[entry(MANIFEST, text)]), QtiError::Doctype { file: MANIFEST.into() });
    }
    for entity in ["&nbsp;", "&x;", "&#0;", "&#1;", "&#xFFFE;", "&#xD800;", "&#99999999;", "& "] {
        let text = ITEM.replace("Stem", entity);
        assert!(matches!(qti::read(text.as_bytes()), Err(QtiError::Xml { .. })), "{entity}");
        let text = ITEM.replace("title=\"T\"", &format!("title=\"{entity}\""));
        assert!(matches!(qti::read(text.as_bytes()), Err(QtiError::Xml { .. })), "{entity} in an attribute");
    }
}

#[test]
fn what_is_not_well_formed_is_refused() {
    for (from, to) in [
        ("</p>", ""),
        ("</p>", "</q>"),
        ("<p>", "<p a='1' a='2'>"),
        ("<p>", "<z:p>"),
        ("<p>", "<p a=1>"),
        ("<p>", "<p a='<'>"),
        ("Stem", "St\u{1}em"),
        ("</qti-assessment-item>", ""),
        ("</qti-assessment-item>", "</qti-assessment-item><more/>"),
        ("</qti-assessment-item>", "</qti-assessment-item>more"),
        ("Stem", "<![CDATA[ never closed"),
        ("Stem", "<!-- never closed"),
    ] {
        let text = ITEM.replacen(from, to, 1);
        assert!(matches!(qti::read(text.as_bytes()), Err(QtiError::Xml { .. })), "{from:?} as {to:?}");
    }
    for text in [b"<a>\xff</a>".to_vec(), b"<?xml version='1.0' encoding='ISO-8859-1'?><a/>".to_vec()] {
        assert!(matches!(qti::read(&text), Err(QtiError::Encoding { .. })));
    }
    let wide: Vec<u8> = "\u{feff}<a/>".encode_utf16().flat_map(u16::to_le_bytes).collect();
    assert!(qti::read(&wide).is_err());
    for bytes in [&b""[..], b"PK", b"PK\x05\x06", b"%PDF-1.7", b"\0\0\0\0", b"{}"] {
        assert!(qti::read(bytes).is_err(), "{bytes:?}");
    }
}

#[test]
fn identifiers_that_are_none_are_refused() {
    for identifier in ["", "1", "a b", "a/b", "../a", "a\u{202e}b", "&lt;script>", &"a".repeat(241)] {
        let text = ITEM.replace("identifier=\"q1\"", &format!("identifier=\"{identifier}\""));
        assert!(matches!(qti::read(text.as_bytes()), Err(QtiError::Identifier { .. })), "{identifier:?}");
        let text = ITEM.replace("identifier=\"b\"", &format!("identifier=\"{identifier}\""));
        assert!(matches!(qti::read(text.as_bytes()), Err(QtiError::Identifier { .. })), "{identifier:?}");
    }
}

#[test]
fn every_cut_package_is_refused() {
    let package = packed(&good());
    for length in 0..package.len() {
        assert!(qti::read(&package[..length]).is_err(), "cut to {length}");
    }
}

/// The checks of structure turn red, one each.
#[test]
fn structure_finds_each_fault() {
    let item = |from: &str, to: &str| {
        vec![entry(MANIFEST, &manifest("q1.xml")), entry("q1.xml", &ITEM.replacen(from, to, 1))]
    };
    let listed = |from: &str, to: &str| {
        vec![entry(MANIFEST, &manifest("q1.xml").replacen(from, to, 1)), entry("q1.xml", ITEM)]
    };
    let body = "<qti-item-body>";
    for (entries, said) in [
        (vec![entry("q1.xml", ITEM)], "no imsmanifest.xml"),
        (listed("QTI Package", "Other"), "do not say QTI Package"),
        (listed("3.0.1", "2.2"), "do not say a version 3.0"),
        (listed("qti/qtiv3p0/imscp_v1p1", "imscp_v1p1"), "the root of the manifest"),
        (listed("<organizations/>", ""), ""),
        (listed("</resources>", "</resources><metadata/>"), "stands too late in manifest"),
        (listed("identifier=\"q1\"", "identifier=\"M\""), "the identifier M twice"),
        (listed("<file href=\"q1.xml\"/>", ""), "does not list its own file"),
        (listed("<file href=\"q1.xml\"/>", "<file href=\"q1.xml\"/><file href=\"z.png\"/>"), "lists z.png"),
        (listed("<file href", "<dependency identifierref=\"n\"/><file href"), "needs the resource \"n\""),
        (listed("imsqti_item_xmlv3p0", "other"), "the type \"other\""),
        ([good(), vec![entry("z.xml", "<z/>")]].concat(), "z.xml: the manifest does not list it"),
        (item("imsqtiasi_v3p0", "other"), "its root is qti-assessment-item"),
        (item(" title=\"T\"", ""), "without title"),
        (item("identifier=\"q1\"", "identifier=\"q2\""), "the item is \"q2\" and its resource \"q1\""),
        (item(body, "<qti-response-processing/><qti-item-body>"), "stands too late"),
        (item(body, "<p/><qti-item-body>"), "p in qti-assessment-item"),
        (item("identifier=\"SCORE\"", "identifier=\"OTHER\""), "no outcome SCORE"),
        (item("<qti-value>a<", "<qti-value>z<"), "is none of the options"),
        (item("<qti-value>a</qti-value>", ""), "no right answer"),
        (item("response-identifier=\"RESPONSE\"", "response-identifier=\"R\""), "which is not declared"),
        (
            item(
                "cardinality=\"single\" base-type=\"identifier\"",
                "cardinality=\"ordered\" base-type=\"identifier\"",
            ),
            "is declared as ordered",
        ),
        (item("choice identifier=\"b\"", "choice identifier=\"a\""), "is none or there twice"),
        (
            item(
                "</qti-assessment-item>",
                "<qti-modal-feedback outcome-identifier=\"F\" identifier=\"x\"/></qti-assessment-item>",
            ),
            "refers to nothing",
        ),
        (
            item(
                " template=",
                "><qti-set-outcome-value identifier=\"F\"/></qti-response-processing><!-- --><z ",
            ),
            "",
        ),
    ] {
        let package = packed(&entries);
        let Ok(faults) = structure::faults(&package) else {
            assert!(said.is_empty(), "{said}");
            continue;
        };
        let all = faults.join(" ").to_lowercase();
        assert!(all.contains(&said.to_lowercase()), "{said}: {all}");
        assert_eq!(said.is_empty(), faults.is_empty(), "{said}: {all}");
    }
}

/// A package of each kind of item, as bytes to spoil.
fn valid() -> Vec<u8> {
    let option = |id: &str| Choice { id: id.into(), text: id.into(), why: "w".into(), misconception: None };
    let item = Item {
        id: "q1".into(),
        title: "t".into(),
        topic: Some("x".into()),
        level: None,
        asks: None,
        stem: "A  stem.".into(),
        lead_in: "Which?".into(),
        body: Body::Choice { options: vec![option("a"), option("b")], key: 0, in_order: false },
        reason: "r".into(),
        disagreement: None,
        rests_on: vec!["k".into()],
    };
    let body = Body::Numeric { key: 1.5, least: 1.0, most: 2.0, unit: "mm".into(), digits: 1 };
    let number = Item { id: "q2".into(), body, ..item.clone() };
    qti::write("t", &[item, number]).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    /// No bytes bring it down.
    #[test]
    fn prop_any_bytes_are_read_or_refused(bytes in prop::collection::vec(any::<u8>(), 0..400), head in 0..4usize) {
        let begin: &[u8] = [&b""[..], b"PK\x03\x04", b"<qti-assessment-item", ITEM.as_bytes()][head];
        let _ = qti::read(&[begin, &bytes].concat());
        let _ = structure::faults(&[begin, &bytes].concat());
    }

    /// Nor does a good package with bytes changed, cut out or doubled.
    #[test]
    fn prop_spoiled_packages_are_read_or_refused(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<u8>(), 0..4u8, 1..40usize), 1..6),
    ) {
        let mut bytes = valid();
        for (place, byte, kind, length) in changes {
            let at = place.index(bytes.len());
            let end = (at + length).min(bytes.len());
            match kind {
                0 => bytes[at] = byte,
                1 => drop(bytes.drain(at..end)),
                2 => bytes.insert(at, byte),
                _ => {
                    let part = bytes[at..end].to_vec();
                    bytes.splice(at..at, part);
                }
            }
            if bytes.is_empty() {
                bytes.push(byte);
            }
        }
        let _ = qti::read(&bytes);
        let _ = structure::faults(&bytes);
    }

    /// Nor an item with words of the standard in wrong places; it is whole bytes, so the reader gets as far as scoring.
    #[test]
    fn prop_spoiled_items_are_read_or_refused(
        changes in prop::collection::vec((any::<prop::sample::Index>(), any::<prop::sample::Index>()), 1..4),
    ) {
        let mut text = ITEM.to_owned();
        const WORDS: &[&str] = &[
            "qti-order-interaction", "qti-text-entry-interaction", "ordered", "float", "NaN", "1e999", "-0", "<p>", "</p>", "<br/>",
            "<qti-response-processing/>", "qti-mapping", "map_response", "identifier", "RESPONSE", "SCORE", "\"", "&#x10FFFF;", "é",
        ];
        for (from, to) in changes {
            let parts: Vec<&str> = text.split_inclusive(['<', '>', '"', ' ', '/']).collect();
            let mut parts: Vec<String> = parts.into_iter().map(str::to_owned).collect();
            let at = from.index(parts.len());
            parts[at] = WORDS[to.index(WORDS.len())].into();
            text = parts.concat();
        }
        let _ = qti::read(text.as_bytes());
    }
}
