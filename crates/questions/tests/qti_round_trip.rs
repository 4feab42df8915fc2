//! Items to a package and back.

use proptest::prelude::*;
use questions::item::{Asks, Body, Choice, Item, Level, Step};
use questions::qti::{self, WriteError, structure};

/// Any character that may be written, with those that markup is made of much more often.
fn text() -> impl Strategy<Value = String> {
    let piece = prop_oneof![
        4 => "[a-zA-Z0-9 ]{1,8}",
        2 => prop::sample::select(vec![
            "<", ">", "&", "\"", "'", "]]>", "<![CDATA[", "<!-- ", "&lt;", "&#10;", "<br/>", "<p>", "\n", "\n\n", "\n\n\n",
            "\t", " ", "  ", "- ", "1. ", "____", "µm ± 0,5 %", "²", "\u{a0}", "\u{2028}", "é", "e\u{301}", "日本", "🦷", "\u{202e}",
        ])
        .prop_map(str::to_owned),
        1 => any::<char>()
            .prop_filter("refused", |c| !c.is_control() && !matches!(c, '\u{fffe}' | '\u{ffff}'))
            .prop_map(String::from),
    ];
    prop::collection::vec(piece, 0..8).prop_map(|pieces| pieces.concat())
}

fn title() -> impl Strategy<Value = String> {
    text().prop_map(|text| text.replace(['\n', '\t'], " "))
}

fn figure() -> impl Strategy<Value = f64> {
    prop_oneof![
        -1e3..1e3f64,
        prop::sample::select(vec![
            0.0,
            -0.0,
            0.1,
            1e-300,
            1e300,
            -1e300,
            f64::MAX,
            f64::MIN_POSITIVE,
            5e-324
        ]),
        prop::num::f64::NORMAL,
    ]
}

fn choice() -> impl Strategy<Value = Body> {
    (
        prop::collection::vec((text(), text(), prop::option::of(text())), 1..6),
        any::<prop::sample::Index>(),
        any::<bool>(),
    )
        .prop_map(|(parts, key, in_order)| {
            let key = key.index(parts.len());
            let options = parts
                .into_iter()
                .enumerate()
                .map(|(place, (text, why, misconception))| Choice {
                    id: format!("o_{place}"),
                    text,
                    why,
                    misconception,
                })
                .collect();
            Body::Choice { options, key, in_order }
        })
}

fn order() -> impl Strategy<Value = Body> {
    prop::collection::vec(text(), 1..6).prop_flat_map(|texts| {
        let steps: Vec<Step> = texts
            .into_iter()
            .enumerate()
            .map(|(place, text)| Step { id: format!("s{place}"), text })
            .collect();
        let ids: Vec<String> = steps.iter().map(|step| step.id.clone()).collect();
        Just(ids).prop_shuffle().prop_map(move |key| Body::Order { steps: steps.clone(), key })
    })
}

fn numeric() -> impl Strategy<Value = Body> {
    (prop::array::uniform3(figure()), text(), any::<u8>()).prop_map(|(mut figures, unit, digits)| {
        figures.sort_by(f64::total_cmp);
        let [least, key, most] = figures;
        Body::Numeric { key, least, most, unit, digits }
    })
}

fn item() -> impl Strategy<Value = Item> {
    let level = prop::sample::select(vec![Level::Recall, Level::Apply, Level::Analyse]);
    let asks = prop::sample::select(vec![Asks::Conventional, Asks::Mechanistic]);
    let about = (
        title(),
        prop::option::of(text()),
        prop::option::of(level),
        prop::option::of(asks),
        prop::collection::vec(text(), 0..4),
    );
    let body = prop_oneof![choice(), order(), numeric()];
    (about, text(), text(), body, text(), prop::option::of(text())).prop_map(
        |((title, topic, level, asks, rests_on), stem, lead_in, body, reason, disagreement)| Item {
            id: String::new(),
            title,
            topic,
            level,
            asks,
            stem,
            lead_in,
            body,
            reason,
            disagreement,
            rests_on,
        },
    )
}

fn items() -> impl Strategy<Value = Vec<Item>> {
    prop::collection::vec(item(), 0..5).prop_map(|mut items| {
        for (place, item) in items.iter_mut().enumerate() {
            item.id = format!("q.{place}-x_{place}");
        }
        items
    })
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 200, ..ProptestConfig::default() })]

    /// What is written is read back whole, hangs together, and is the same bytes each time.
    #[test]
    fn prop_round_trip(title in title(), items in items()) {
        let package = qti::write(&title, &items).unwrap();
        prop_assert_eq!(&package, &qti::write(&title, &items).unwrap());
        let read = qti::read(&package).unwrap();
        prop_assert_eq!(&read.left_out, &Vec::<String>::new());
        prop_assert_eq!(read.title, title);
        prop_assert_eq!(read.items, items);
        prop_assert_eq!(structure::faults(&package).unwrap(), Vec::<String>::new());
    }

    /// No character that XML cannot hold is written, wherever it stands.
    #[test]
    fn prop_control_characters_are_refused(
        c in prop::sample::select(('\0'..='\u{9f}').filter(|c| c.is_control() && !matches!(c, '\n' | '\t')).collect::<Vec<char>>()),
        field in 0..7usize,
    ) {
        let mut item = plain_item();
        let bad = format!("a{c}b");
        match (field, &mut item.body) {
            (0, _) => item.title = bad,
            (1, _) => item.stem = bad,
            (2, _) => item.lead_in = bad,
            (3, _) => item.reason = bad,
            (4, _) => item.rests_on = vec![bad],
            (5, Body::Choice { options, .. }) => options[0].text = bad,
            (_, Body::Choice { options, .. }) => options[0].misconception = Some(bad),
            _ => unreachable!(),
        }
        let refused = qti::write("t", &[item]);
        let named = matches!(refused, Err(WriteError::Character { given, .. }) if given == u32::from(c));
        prop_assert!(named);
    }
}

fn plain_item() -> Item {
    let option =
        |id: &str| Choice { id: id.into(), text: id.into(), why: String::new(), misconception: None };
    Item {
        id: "q1".into(),
        title: "t".into(),
        topic: None,
        level: None,
        asks: None,
        stem: "A stem.".into(),
        lead_in: "Which?".into(),
        body: Body::Choice { options: vec![option("a"), option("b")], key: 0, in_order: false },
        reason: "r".into(),
        disagreement: None,
        rests_on: vec![],
    }
}

#[test]
fn refuses_what_is_no_item() {
    let with = |change: fn(&mut Item)| {
        let mut item = plain_item();
        change(&mut item);
        qti::write("t", &[item])
    };
    assert!(matches!(with(|item| item.id = "1a".into()), Err(WriteError::Identifier { .. })));
    assert!(matches!(with(|item| item.id = "a/../b".into()), Err(WriteError::Identifier { .. })));
    assert!(matches!(with(|item| item.id = "é".into()), Err(WriteError::Identifier { .. })));
    assert!(matches!(with(|item| item.id = "a".repeat(65)), Err(WriteError::Identifier { .. })));
    assert!(matches!(with(|item| item.title = "a\nb".into()), Err(WriteError::Title { .. })));
    let key = |item: &mut Item| {
        if let Body::Choice { key, .. } = &mut item.body {
            *key = usize::MAX;
        }
    };
    assert!(matches!(with(key), Err(WriteError::Key { .. })));
    let numeric = |key: f64, least: f64, most: f64| {
        let mut item = plain_item();
        item.body = Body::Numeric { key, least, most, unit: "mm".into(), digits: 1 };
        qti::write("t", &[item])
    };
    assert!(numeric(1.0, 0.5, 2.0).is_ok());
    for (key, least, most) in [(f64::NAN, 0.0, 1.0), (1.0, 0.0, f64::INFINITY), (3.0, 1.0, 2.0)] {
        assert!(matches!(numeric(key, least, most), Err(WriteError::Key { .. })));
    }
    let twice = qti::write("t", &[plain_item(), plain_item()]);
    assert!(matches!(twice, Err(WriteError::Duplicate { .. })));
    let mut long = plain_item();
    long.stem = "a\n\n".repeat(60_000);
    assert!(matches!(qti::write("t", &[long]), Err(WriteError::Limit(_))));
}

/// Bytes are those of earlier, whatever the machine; a change here is a change of every package that was handed out.
#[test]
fn regress_bytes_of_a_package() {
    let package = qti::write("Impressions", &[plain_item()]).unwrap();
    let sum = package.iter().fold(0xcbf2_9ce4_8422_2325_u64, |hash, byte| {
        (hash ^ u64::from(*byte)).wrapping_mul(0x0000_0100_0000_01b3)
    });
    assert_eq!((package.len(), sum), (3723, 15_854_329_242_192_187_372));
}
