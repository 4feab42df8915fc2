//! One story that every store must tell, and the laws of a replay.
#![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

mod common;

use common::{entry, everything, moment, run, streamed};
use proptest::prelude::*;
use records::sqlite::SqliteStore;
use records::{
    Entry, EntryId, Kept, Moved, Refusal, Running, Store, StoreError, What, json_lines, read_json_lines,
    restore, table,
};
use terms::{CaseCode, Counted, Fact, Fault, Finding, Reading, Step};

/// The contract: what is recorded is there, once, in order, unchanged; what is refused leaves nothing.
async fn story(store: &impl Store) {
    let stated = streamed(0);
    let first = store.append(&[stated.clone(), streamed(1)]).await.unwrap();
    assert_eq!(
        first.iter().map(|done| (done.number, done.repeated)).collect::<Vec<_>>(),
        [(1, false), (2, false)]
    );

    // A repeat is acknowledged with the number it had, and adds nothing.
    let again = store.append(&[streamed(1), streamed(2)]).await.unwrap();
    assert_eq!(
        again.iter().map(|done| (done.number, done.repeated)).collect::<Vec<_>>(),
        [(2, true), (3, false)]
    );

    // Another content under a known identifier is refused, and with it everything recorded in the same breath.
    let other = Entry { what: What::Noted { text: "something else".to_owned() }, ..streamed(2) };
    let refused = store.append(&[streamed(3), other]).await.unwrap_err();
    assert!(matches!(refused, StoreError::Taken { .. }), "{refused}");
    assert_eq!(store.history(&stated.case).await.unwrap().len(), 3);

    // What cannot be kept is refused before anything is written.
    let endless = entry(3, What::Noted { text: "x".repeat(601) });
    let refused = store.append(&[endless]).await.unwrap_err().to_string();
    assert_eq!(refused, "note: given 601 characters; allowed 1 to 600 characters of text");

    let history = store.history(&stated.case).await.unwrap();
    assert_eq!(history.iter().map(|kept| kept.entry.clone()).collect::<Vec<_>>(), [0, 1, 2].map(streamed));
    assert_eq!(history.iter().map(|kept| kept.number).collect::<Vec<_>>(), [1, 2, 3]);

    store.append(&[streamed(6)]).await.unwrap();
    let cases = store.cases().await.unwrap();
    let lines: Vec<_> = cases.iter().map(|line| (line.case.as_str().to_owned(), line.entries)).collect();
    assert_eq!(lines, [("TS-000000".to_owned(), 3), ("TS-000001".to_owned(), 1)]);
    assert!(store.history(&CaseCode::new("TS-999999").unwrap()).await.unwrap().is_empty());

    let verified = store.verify().await.unwrap();
    assert_eq!((verified.cases, verified.entries, verified.damage.len()), (2, 4, 0));
}

#[test]
fn sqlite_tells_the_story() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("records.sqlite");
    run(async {
        let store = SqliteStore::open(&path).await.unwrap();
        story(&store).await;
        let before = everything(&store).await;
        store.close().await;
        let again = SqliteStore::open(&path).await.unwrap();
        assert_eq!(everything(&again).await, before);
        let to_read = SqliteStore::open_to_read(&path).await.unwrap();
        assert_eq!(everything(&to_read).await, before);
        assert!(to_read.append(&[streamed(7)]).await.is_err());
    });
}

/// Every number comes back to the bit, and every kind of entry as it was.
#[test]
fn every_kind_comes_back_to_the_bit() {
    let folder = tempfile::tempdir().unwrap();
    let id = EntryId::from_bits(77);
    let text = || "a reason, with \"quotes\", a line\nand an umlaut: ü".to_owned();
    let read = |reading| What::Observed { reading, earlier_ms: 1500 };
    let kinds = vec![
        What::Stated { case_file: text() },
        What::Stamped { step: Step::Removed, earlier_ms: 90_000 },
        What::Skipped { step: Step::Separated, reason: text() },
        read(Reading::RoomTemperature(273.15 + 20.1)),
        read(Reading::RoomHumidity(0.1 + 0.2)),
        read(Reading::MassLoss(f64::from_bits(0x3F50_624D_D2F1_A9FD))),
        read(Reading::BowlSet),
        read(Reading::Inspection(Finding { fault: Fault::ALL[0], present: Fact::Unknown })),
        What::Counted { item: Counted::DeepCord, moved: Moved::In, number: 2 },
        What::TakenBack { entry: id },
        What::Overruled { what: "gum-cut-away".to_owned(), reason: text() },
        What::Measured { what: "die width".to_owned(), value: 7.123_456_789_012_345, unit: "mm".to_owned() },
        What::Noted { text: text() },
        What::Closed { signed: Some("AB".to_owned()), reason: Some(text()), recall: None },
        What::Received { product: "demo-stone-4".to_owned(), lot: "S-118".to_owned(), expires: None },
        What::Composed { document: text() },
        What::Answered { learner: "S-01".to_owned(), item: "t.1".to_owned(), response: text() },
        What::MarksShown { learner: "S-01".to_owned() },
        What::Voided { item: "t.1".to_owned(), reason: Some(text()) },
        What::Expected { judge: "AB".to_owned(), item: "t.1".to_owned(), share: 0.1 + 0.2 },
        What::PracticalOpened { rubric: "die".to_owned(), about: text() },
        What::Rated {
            learner: "S-01".to_owned(),
            marker: "AB".to_owned(),
            criterion: "void".to_owned(),
            level: None,
        },
    ];
    let entries: Vec<Entry> = kinds
        .into_iter()
        .enumerate()
        .map(|(n, what)| Entry { case: common::code(0), ..entry(n as u64, what) })
        .collect();
    run(async {
        let store = SqliteStore::open(&folder.path().join("r.sqlite")).await.unwrap();
        store.append(&entries).await.unwrap();
        let kept = everything(&store).await;
        assert_eq!(kept.iter().map(|kept| kept.entry.clone()).collect::<Vec<_>>(), entries);
        // The text of an export holds the same, and reads back.
        let lines = json_lines(&kept).unwrap();
        assert_eq!(lines.lines().count(), entries.len());
        assert_eq!(read_json_lines("export", &lines).unwrap(), kept);
        let changed = lines.replacen("0.30000000000000004", "0.3", 1);
        assert_ne!(changed, lines);
        let error = read_json_lines("export", &changed).unwrap_err().to_string();
        assert!(error.contains("line 5: its seal is not that of its content"), "{error}");
        // The table has the same entries under one head, by another reader.
        let table = table(&kept).unwrap();
        let mut reader = csv::Reader::from_reader(table.as_slice());
        let rows: Vec<csv::StringRecord> = reader.records().map(Result::unwrap).collect();
        assert_eq!(rows.len(), entries.len());
        for (row, kept) in rows.iter().zip(&kept) {
            let what: What = serde_json::from_str(row.get(7).unwrap()).unwrap();
            assert_eq!(what, kept.entry.what);
        }
    });
}

#[test]
fn a_backup_gives_back_what_is_missing_and_takes_nothing_away() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    run(async {
        let store = SqliteStore::open(&at("records.sqlite")).await.unwrap();
        store.append(&(0..15).map(streamed).collect::<Vec<_>>()).await.unwrap();
        let copy = store.backup(&at("backup.sqlite")).await.unwrap();
        assert_eq!((copy.cases, copy.entries, copy.damage.len()), (3, 15, 0));
        let refused = store.backup(&at("backup.sqlite")).await.unwrap_err().to_string();
        assert!(refused.contains("there is a file of that name already"), "{refused}");

        // Life goes on after the backup; restoring it takes nothing away.
        store.append(&[streamed(15)]).await.unwrap();
        let (entries, lost) = SqliteStore::read_backup(&at("backup.sqlite")).await.unwrap();
        assert!(lost.is_empty());
        let restored = restore(&store, &entries).await.unwrap();
        assert_eq!((restored.added, restored.there), (0, 15));
        assert_eq!(everything(&store).await.len(), 16);

        // Into an empty one it gives everything, with the same seals.
        let empty = SqliteStore::open(&at("new.sqlite")).await.unwrap();
        assert_eq!(restore(&empty, &entries).await.unwrap().added, 15);
        assert_eq!(everything(&empty).await, entries);

        // Histories that part stay as they are.
        empty.append(&[Entry { id: EntryId::from_bits(999), ..streamed(15) }]).await.unwrap();
        let (ours, theirs) = (everything(&empty).await, everything(&store).await);
        let restored = restore(&empty, &theirs).await.unwrap();
        assert_eq!(restored.parted, ["TS-000002"]);
        assert_eq!(everything(&empty).await, ours);
    });
}

#[test]
fn a_case_is_what_its_history_says() {
    let mut running = Running::default();
    let mut number = 0;
    let mut hear = |running: &mut Running, s: i64, what: What| {
        number += 1;
        let entry = Entry {
            id: EntryId::from_bits(u128::from(number)),
            case: common::code(0),
            at: moment(s * 1000),
            what,
        };
        running.hear(&entry, number);
        entry.id
    };
    let stamp = |step| What::Stamped { step, earlier_ms: 0 };
    hear(&mut running, 0, stamp(Step::MixStarted));
    assert_eq!(running.unheard.first().map(|unheard| unheard.why.clone()), Some(Refusal::NotStated));
    hear(&mut running, 1, What::Stated { case_file: "x".to_owned() });
    assert_eq!(running.next_step(), Some(Step::MixStarted));
    hear(&mut running, 2, stamp(Step::MixStarted));
    let seated = hear(&mut running, 60, stamp(Step::Seated));
    // A second press of the same key is not another stamp.
    hear(&mut running, 61, stamp(Step::Seated));
    assert_eq!(
        running.unheard.last().map(|unheard| unheard.why.clone()),
        Some(Refusal::Stamped(Step::Seated))
    );
    hear(&mut running, 62, What::TakenBack { entry: seated });
    assert_eq!(running.next_step(), Some(Step::Seated));
    // Recorded a quarter of a minute late.
    hear(&mut running, 80, What::Stamped { step: Step::Seated, earlier_ms: 15_000 });
    let at = running.stamp_of(Step::Seated).unwrap().stamp.at;
    assert_eq!(at, moment(65_000).wall);
    // Taken back twice, or a thing that never was: nothing.
    hear(&mut running, 81, What::TakenBack { entry: seated });
    assert_eq!(running.unheard.last().map(|unheard| unheard.why.clone()), Some(Refusal::Nothing));
    // A step said to have happened before the one it follows is refused and kept in sight.
    hear(&mut running, 90, What::Stamped { step: Step::Removed, earlier_ms: 80_000 });
    assert!(matches!(running.unheard.last().unwrap().why, Refusal::OutOfOrder { side: "before", .. }));
    hear(
        &mut running,
        95,
        What::Skipped { step: Step::Removed, reason: "the tray came out with the tooth".to_owned() },
    );
    assert_eq!(running.next_step(), Some(Step::Poured));
    hear(&mut running, 300, stamp(Step::Poured));
    assert_eq!(running.next_step(), Some(Step::Separated));
    assert_eq!(running.stamps().len(), 3);
}

#[test]
fn a_count_that_differs_is_signed_for_or_stays_open() {
    let mut running = Running::default();
    let mut number = 0u32;
    let mut hear = |running: &mut Running, what: What| {
        number += 1;
        let at = moment(i64::from(number) * 1000);
        running.hear(
            &Entry { id: EntryId::from_bits(number.into()), case: common::code(0), at, what },
            number.into(),
        );
    };
    let count = |item, moved, number| What::Counted { item, moved, number };
    let closed = |signed: Option<&str>, recall: Option<&str>| What::Closed {
        signed: signed.map(str::to_owned),
        reason: signed.map(|_| "one cord not found after rinsing and a look with the mirror".to_owned()),
        recall: recall.map(str::to_owned),
    };
    hear(&mut running, What::Stated { case_file: "x".to_owned() });
    hear(&mut running, count(Counted::Cord, Moved::In, 2));
    hear(&mut running, count(Counted::DeepCord, Moved::In, 2));
    hear(&mut running, count(Counted::Cord, Moved::Out, 1));
    hear(&mut running, count(Counted::DeepCord, Moved::Out, 2));
    hear(&mut running, closed(None, None));
    let refusal = running.unheard.last().unwrap().why.to_string();
    assert!(refusal.starts_with("the counts differ (cord: 2 in, 1 out)"), "{refusal}");
    hear(&mut running, closed(Some("AB"), None));
    assert!(running.closed.is_none());
    hear(&mut running, closed(Some("Ann B"), Some("tomorrow 9:00")));
    assert!(running.unheard.last().unwrap().why.to_string().contains("allowed two to four capital letters"));
    hear(&mut running, closed(Some("AB"), Some("tomorrow 9:00")));
    assert!(running.closed.is_some());
    // The cord is found: the closing on the old count is void, and the new one needs no signature.
    hear(&mut running, count(Counted::Cord, Moved::Out, 1));
    assert!(running.closed.is_none() && running.differences().is_empty());
    hear(&mut running, closed(None, None));
    assert!(running.closed.is_some());
}

/// Anything that could be recorded, in any order.
fn anything() -> impl Strategy<Value = What> {
    let step = proptest::sample::select(Step::ALL);
    let earlier = prop_oneof![Just(0i64), 0i64..200_000];
    prop_oneof![
        (step.clone(), earlier.clone()).prop_map(|(step, earlier_ms)| What::Stamped { step, earlier_ms }),
        (1u128..12).prop_map(|bits| What::TakenBack { entry: EntryId::from_bits(bits) }),
        step.prop_map(|step| What::Skipped { step, reason: "r".to_owned() }),
        (proptest::sample::select(Counted::ALL), any::<bool>(), 0u32..40).prop_map(|(item, into, number)| {
            What::Counted { item, moved: if into { Moved::In } else { Moved::Out }, number }
        }),
        (280.0..310.0f64, earlier)
            .prop_map(|(k, earlier_ms)| What::Observed { reading: Reading::RoomTemperature(k), earlier_ms }),
        Just(What::Closed { signed: None, reason: None, recall: None }),
        Just(What::Received {
            product: "demo-stone-4".to_owned(),
            lot: "S-118".to_owned(),
            expires: Some("2027-03".to_owned()),
        }),
        Just(What::Answered { learner: "S-01".to_owned(), item: "t.1".to_owned(), response: "A".to_owned() }),
    ]
}

proptest! {
    /// Whatever is recorded: a replay never fails, stamps stay in order with each step once, nothing vanishes unsaid, and the
    /// state is the same whether the history is replayed at once or entry by entry.
    #[test]
    fn prop_a_replay_keeps_order_and_loses_nothing(
        whats in proptest::collection::vec((anything(), 0i64..5000, 0u8..3, -3i64..3), 1..40),
    ) {
        let mut ms = 0;
        let mut history = Vec::new();
        let mut stepwise = Running::default();
        let all = std::iter::once((What::Stated { case_file: "x".to_owned() }, 0, 0, 0)).chain(whats);
        for (index, (what, later, boot, hours)) in all.enumerate() {
            ms += later;
            let mut at = moment(ms);
            // Clocks that are set, and machines that are started again.
            at.wall = terms::Instant::from_millis(at.wall.millis() + hours * 3_600_000);
            at.boot = (boot > 0).then(|| records::BootId(boot.to_string()));
            let number = index as u64 + 1;
            let entry = Entry { id: EntryId::from_bits(number.into()), case: common::code(0), at, what };
            stepwise.hear(&entry, number);
            history.push(Kept { entry, number, seal: records::Seal::EMPTY });
        }
        let running = Running::replay(&history);
        prop_assert_eq!(&running, &stepwise);
        prop_assert!(terms::check_order(&running.stamps()).is_ok());
        let unheard: Vec<u64> = running.unheard.iter().map(|unheard| unheard.number).collect();
        let taken: Vec<EntryId> = history.iter().filter(|kept| !unheard.contains(&kept.number)).filter_map(|kept| {
            match kept.entry.what { What::TakenBack { entry } => Some(entry), _ => None }
        }).collect();
        for kept in &history {
            let What::Stamped { .. } = kept.entry.what else { continue };
            let counted = running.stamps.iter().any(|stamp| stamp.id == kept.entry.id);
            prop_assert!(counted || unheard.contains(&kept.number) || taken.contains(&kept.entry.id));
        }
    }
}

/// Whoever looks again says what counts: the last finding of a thing, and none where nobody had looked after all.
#[test]
fn the_last_finding_of_a_thing_counts_and_can_be_withdrawn() {
    let code = CaseCode::new("TW-0001").unwrap();
    let finding = |present| Reading::Inspection(Finding { fault: Fault::ALL[0], present });
    let mut number = 0;
    let mut hear = |running: &mut Running, what| {
        number += 1;
        let at = records::Moment {
            wall: terms::Instant::from_millis(1_800_000_000_000 + number * 1000),
            boot: None,
            since_boot_ms: None,
        };
        let id = EntryId::from_bits(number as u128);
        running.hear(&Entry { id, case: code.clone(), at, what }, number as u64);
        id
    };
    let seen = |present| What::Observed { reading: finding(present), earlier_ms: 0 };
    let mut running = Running::default();
    hear(&mut running, What::Stated { case_file: String::new() });
    hear(&mut running, seen(Fact::Known(true)));
    let second = hear(&mut running, seen(Fact::Known(false)));
    let counted = |running: &Running| -> Vec<Reading> {
        running.observations().iter().map(|seen| seen.reading).collect()
    };
    assert_eq!(counted(&running), [finding(Fact::Known(false))]);
    hear(&mut running, What::TakenBack { entry: second });
    assert_eq!(counted(&running), [finding(Fact::Known(true))]);
    hear(&mut running, seen(Fact::Unknown));
    assert_eq!(counted(&running), []);
    assert_eq!(running.readings.len(), 2, "the history keeps what was said");
}
