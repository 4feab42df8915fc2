//! A running case: stamps move windows, warnings come in time, clocks survive, nothing that was done is lost.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

use std::io::Write;
use std::path::Path;
use std::process::{Command, Output, Stdio};

use chain::Effort;
use desk::load::{self, Hand};
use desk::running::{Deed, Level, NotDone, Session, Sight, Urgency, sight};
use records::sqlite::SqliteStore;
use records::{BootId, Moment, Moved, Store, StoreError, json_lines, read_json_lines, restore};
use terms::{Counted, Fact, Fault, Finding, Instant, Reading, Step};

/// 2026-03-02 9:15, one hour ahead of UTC.
const MORNING_MS: i64 = 1_772_439_300_000;

fn moment(s: f64) -> Moment {
    let ms = (s * 1000.0).round() as i64;
    Moment {
        wall: Instant::from_millis(MORNING_MS + ms),
        boot: Some(BootId("morning".to_owned())),
        since_boot_ms: Some(3_600_000 + ms),
    }
}

fn run<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(future)
}

async fn begun(folder: &Path, demo: &str) -> (SqliteStore, Session) {
    let store = SqliteStore::open(&folder.join("records.sqlite")).await.unwrap();
    let text = load::case_text(&format!("demo/{demo}")).unwrap();
    let session = Session::state(&store, demo, &text, &Hand::default(), &moment(0.0)).await.unwrap();
    (store, session)
}

fn stamp() -> Deed {
    Deed::Stamp { step: None, earlier_ms: 0 }
}

fn observe(reading: Reading) -> Deed {
    Deed::Observe { reading, earlier_ms: 0 }
}

async fn act(session: &mut Session, store: &SqliteStore, s: f64, deed: Deed) {
    session.act(store, deed, &moment(s)).await.unwrap();
}

fn seen_at(session: &Session, at: &Moment) -> Sight {
    let (now, doubt) = session.running().present(at);
    let forecast = session.forecast(Effort { points: 16 }, now).unwrap();
    sight(session, &forecast, now, doubt, &session.stops())
}

fn seen(session: &Session, s: f64) -> Sight {
    seen_at(session, &moment(s))
}

/// Until the next step must have been done, s.
fn to_spare(session: &Session, s: f64) -> f64 {
    seen(session, s).next.unwrap().to_spare_s.unwrap()
}

fn says(sight: &Sight, level: Level, words: &str) -> bool {
    sight.alerts.iter().any(|alert| alert.level == level && alert.words.contains(words))
}

/// The same history gives the same forecast, to the bit: after the program is started again, from an export, and from a backup.
#[test]
fn the_same_history_gives_the_same_bits() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "study-alginate").await;
        act(&mut session, &store, 20.0, observe(Reading::RoomHumidity(0.1 + 0.2))).await;
        act(&mut session, &store, 25.0, observe(Reading::WaterTemperature(273.15 + 21.3))).await;
        act(&mut session, &store, 30.123, stamp()).await;
        act(&mut session, &store, 95.777, stamp()).await;
        act(&mut session, &store, 96.5, Deed::TakeBack).await;
        act(&mut session, &store, 99.001, Deed::Stamp { step: None, earlier_ms: 2500 }).await;
        let absent = Finding { fault: Fault::ALL[0], present: Fact::Known(false) };
        act(&mut session, &store, 330.0, stamp()).await;
        act(&mut session, &store, 345.0, observe(Reading::Inspection(absent))).await;
        let bits = |session: &Session| {
            let (now, _) = session.running().present(&moment(400.0));
            serde_json::to_string(&session.forecast(Effort { points: 16 }, now).unwrap()).unwrap()
        };
        let before = bits(&session);
        let code = session.code().clone();
        let exported = json_lines(session.history()).unwrap();
        store.backup(&folder.path().join("backup.sqlite")).await.unwrap();
        store.close().await;

        let again = SqliteStore::open(&folder.path().join("records.sqlite")).await.unwrap();
        assert_eq!(bits(&Session::open(&again, &code, &Hand::default()).await.unwrap()), before);
        let lines = read_json_lines("export", &exported).unwrap();
        let (copy, _) = SqliteStore::read_backup(&folder.path().join("backup.sqlite")).await.unwrap();
        for (name, entries) in [("one.sqlite", lines), ("two.sqlite", copy)] {
            let other = SqliteStore::open(&folder.path().join(name)).await.unwrap();
            restore(&other, &entries).await.unwrap();
            assert_eq!(bits(&Session::open(&other, &code, &Hand::default()).await.unwrap()), before);
        }
    });
}

#[test]
fn warmer_water_and_a_longer_delay_move_the_next_window() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "study-alginate").await;
        act(&mut session, &store, 0.0, stamp()).await;
        let planned = to_spare(&session, 10.0);
        act(&mut session, &store, 11.0, observe(Reading::WaterTemperature(273.15 + 30.0))).await;
        let warm = to_spare(&session, 10.0);
        assert!(warm < planned - 5.0, "{planned} s with the planned water, {warm} s with warmer");
        act(&mut session, &store, 60.0, stamp()).await;
        // Seated ten seconds later it may come out later.
        let opens = |session: &Session| seen(session, 80.0).next.unwrap().opens.unwrap().at;
        let early = opens(&session);
        act(&mut session, &store, 61.0, Deed::TakeBack).await;
        act(&mut session, &store, 75.0, stamp()).await;
        assert!(opens(&session) > early);
        act(&mut session, &store, 320.0, stamp()).await;
        assert!(to_spare(&session, 400.0) > to_spare(&session, 700.0));
    });
}

/// Nothing before its time, a call while there is time, and the truth afterwards.
#[test]
fn a_warning_comes_before_the_window_closes() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "study-alginate").await;
        act(&mut session, &store, 0.0, stamp()).await;
        let closes = to_spare(&session, 5.0) + 5.0;
        let calm = seen(&session, closes - 30.0);
        assert_eq!(calm.next.as_ref().unwrap().urgency, Urgency::Open);
        assert!(!calm.alerts.iter().any(|alert| alert.words.contains("seat the tray")), "{:?}", calm.alerts);
        let soon = seen(&session, closes - 12.0);
        assert_eq!(soon.next.as_ref().unwrap().urgency, Urgency::Soon);
        assert!(says(&soon, Level::Warn, "seat the tray: 0:1"), "{:?}", soon.alerts);
        let late = seen(&session, closes + 7.0);
        assert_eq!(late.next.as_ref().unwrap().urgency, Urgency::Closed);
        assert!(says(&late, Level::Late, "too late to seat the tray"), "{:?}", late.alerts);
        // A tray that is in waits for its minimum.
        act(&mut session, &store, closes - 10.0, stamp()).await;
        let next = seen(&session, closes).next.unwrap();
        assert_eq!((next.step, next.urgency), (Step::Removed, Urgency::NotYet));
        assert!(next.wait_s.unwrap() > 60.0);
        // The printed minimum is never undercut: 2 min in the mouth, and 3:30 from the start of mixing.
        let opens = next.opens.unwrap();
        assert!(opens.at >= opens.printed.unwrap());
        let started = Instant::from_millis(MORNING_MS);
        assert!(opens.at >= started.plus_seconds(210.0));
    });
}

/// A wall clock that is set, a sleep, a restart: times go on, and what is in doubt says so.
#[test]
fn clocks_survive_what_happens_to_machines() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "study-alginate").await;
        act(&mut session, &store, 0.0, stamp()).await;
        let spare = to_spare(&session, 40.0);
        // The wall clock is set two hours back between the stamps; the machine's own clock goes on.
        let set =
            |s: f64| Moment { wall: Instant::from_millis(moment(s).wall.millis() - 7_200_000), ..moment(s) };
        let moved = seen_at(&session, &set(40.0));
        assert_eq!(moved.next.as_ref().unwrap().to_spare_s.unwrap(), spare);
        assert!(says(&moved, Level::Note, "the wall clock was moved by -2:00:00"), "{:?}", moved.alerts);
        session.act(&store, stamp(), &set(60.0)).await.unwrap();
        let at = session.running().stamp_of(Step::Seated).unwrap().stamp.at;
        assert_eq!(at, moment(60.0).wall);
        // A restart: only the wall clock is left, and it is said.
        let restarted = |s: f64| Moment {
            boot: Some(BootId("after".to_owned())),
            since_boot_ms: Some((s * 1000.0) as i64 - 250_000),
            ..moment(s)
        };
        session.act(&store, stamp(), &restarted(300.0)).await.unwrap();
        let kept = session.running().stamp_of(Step::Removed).unwrap();
        assert_eq!(kept.stamp.at, moment(300.0).wall);
        assert!(kept.doubt.is_some());
        let seen = seen_at(&session, &restarted(310.0));
        assert!(
            says(&seen, Level::Warn, "only the wall clock joins the times; check it"),
            "{:?}",
            seen.alerts
        );
        assert!(seen.done.last().unwrap().doubtful);
    });
}

#[test]
fn counts_skips_and_overrules_stay_in_sight() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "latex-putty").await;
        let stop = session.stops().holding.first().unwrap().0.clone();
        assert!(says(&seen(&session, 1.0), Level::Late, &format!("stop, {stop}")));
        let reason = "nitrile gloves at hand, changed before mixing".to_owned();
        act(&mut session, &store, 2.0, Deed::Overrule { what: stop.clone(), reason }).await;
        let sight = seen(&session, 3.0);
        assert!(says(&sight, Level::Warn, &format!("overruled: {stop}, because nitrile gloves")));
        assert!(!says(&sight, Level::Late, &format!("stop, {stop}")));

        let count = |item, moved, number| Deed::Count { item, moved, number };
        act(&mut session, &store, 4.0, count(Counted::Cord, Moved::In, 2)).await;
        act(&mut session, &store, 5.0, count(Counted::DeepCord, Moved::In, 1)).await;
        act(&mut session, &store, 6.0, count(Counted::Cord, Moved::Out, 1)).await;
        assert!(says(&seen(&session, 7.0), Level::Note, "cord: 2 in, 1 out"));
        let plain = Deed::Close { signed: None, reason: None, recall: None };
        let refused = session.act(&store, plain.clone(), &moment(8.0)).await.unwrap_err().to_string();
        assert!(refused.contains("cord: 2 in, 1 out; deep cord: 1 in, 0 out"), "{refused}");
        let signed = Deed::Close {
            signed: Some("AB".to_owned()),
            reason: Some("one cord not found".to_owned()),
            recall: Some("tomorrow 9:00".to_owned()),
        };
        act(&mut session, &store, 9.0, signed).await;
        assert!(says(
            &seen(&session, 10.0),
            Level::Warn,
            "closed with a difference in the counts; recall: tomorrow 9:00"
        ));
        let skip = Deed::Skip { step: Some(Step::Separated), reason: "the laboratory does it".to_owned() };
        act(&mut session, &store, 11.0, skip).await;
        assert_eq!(seen(&session, 12.0).skipped, [(Step::Separated, "the laboratory does it".to_owned())]);
    });
}

/// What the chain cannot take is refused before it is kept, so that no case is left that cannot be forecast.
#[test]
fn what_a_case_cannot_have_is_not_recorded() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "crown-silicone").await;
        for reading in [Reading::WaterTemperature(295.0), Reading::SpanIndex(terms::IndexFit::Seats)] {
            let refused = session.act(&store, observe(reading), &moment(1.0)).await.unwrap_err().to_string();
            assert!(refused.contains("observations[0]") && refused.contains("allowed"), "{refused}");
        }
        assert_eq!(store.history(session.code()).await.unwrap().len(), 1);
        // A file that no longer goes with what has happened is refused as well, and nothing changes.
        let (store, mut session) = begun(&folder.path().join(""), "study-alginate").await;
        act(&mut session, &store, 1.0, observe(Reading::WaterTemperature(295.0))).await;
        let other = load::case_text("demo/crown-silicone").unwrap().replace("DEMO-01", "DEMO-02");
        let refused =
            Session::state(&store, "other", &other, &Hand::default(), &moment(2.0)).await.err().unwrap();
        assert!(format!("{refused:#}").contains("a reading of water for alginate alone"), "{refused:#}");
        assert_eq!(store.history(session.code()).await.unwrap().len(), 2);
    });
}

/// What is still in when the tray is out is a stop of the rulebook; before that it is a count.
#[test]
fn a_cord_that_is_still_in_becomes_a_stop_when_the_tray_is_out() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "crown-silicone").await;
        let count = |moved, number| Deed::Count { item: Counted::Cord, moved, number };
        act(&mut session, &store, 1.0, count(Moved::In, 2)).await;
        act(&mut session, &store, 2.0, count(Moved::Out, 1)).await;
        let missed = "Fewer cords have come out";
        act(&mut session, &store, 3.0, stamp()).await;
        act(&mut session, &store, 70.0, stamp()).await;
        assert!(!says(&seen(&session, 71.0), Level::Late, missed));
        act(&mut session, &store, 430.0, stamp()).await;
        let out = seen(&session, 431.0);
        assert!(says(&out, Level::Late, missed), "{:?}", out.alerts);
        assert!(says(&out, Level::Warn, "look at it before anything else"));
        act(&mut session, &store, 440.0, count(Moved::Out, 1)).await;
        assert!(!says(&seen(&session, 441.0), Level::Late, missed));
    });
}

/// Two screens on one case: each sees what the other did, and a stamp pressed on both counts once.
#[test]
fn two_screens_share_a_case() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut one) = begun(folder.path(), "study-alginate").await;
        let mut two = Session::open(&store, one.code(), &Hand::default()).await.unwrap();
        act(&mut one, &store, 0.0, stamp()).await;
        // The second presses the same key before it has seen the first.
        act(&mut two, &store, 0.4, Deed::Stamp { step: Some(Step::MixStarted), earlier_ms: 0 }).await;
        assert_eq!(two.running().stamps().len(), 1);
        assert_eq!(two.running().stamp_of(Step::MixStarted).unwrap().stamp.at, moment(0.0).wall);
        assert_eq!(two.running().unheard.len(), 1);
        assert!(one.follow(&store).await.unwrap());
        assert_eq!(one.running(), two.running());
        assert!(says(&seen(&one, 1.0), Level::Note, "does not count: \"mix started\" is stamped already"));
    });
}

/// A store that cannot keep an entry gives it back whole; recorded later, it has its own moment.
#[test]
fn a_stamp_that_could_not_be_kept_is_kept_later_with_its_moment() {
    /// A store that is full for a while.
    struct Full<'a>(&'a SqliteStore);
    impl Store for Full<'_> {
        async fn append(&self, _: &[records::Entry]) -> Result<Vec<records::Acknowledged>, StoreError> {
            Err(StoreError::Full { path: "somewhere".to_owned() })
        }
        async fn history(&self, case: &terms::CaseCode) -> Result<Vec<records::Kept>, StoreError> {
            self.0.history(case).await
        }
        async fn cases(&self) -> Result<Vec<records::CaseLine>, StoreError> {
            self.0.cases().await
        }
        async fn verify(&self) -> Result<records::Verified, StoreError> {
            self.0.verify().await
        }
    }
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "study-alginate").await;
        let failed = session.act(&Full(&store), stamp(), &moment(12.0)).await.unwrap_err();
        let NotDone::NotKept { entry, source } = failed else { panic!("{failed}") };
        assert!(source.to_string().contains("the disk is full"));
        // The clock goes on: the next key is the next step, and it is said that nothing is kept.
        assert_eq!(session.running().next_step(), Some(Step::Seated));
        assert!(says(&seen(&session, 13.0), Level::Late, "NOT KEPT YET: 1 of what was done"));
        let second = session.act(&Full(&store), stamp(), &moment(70.0)).await;
        assert!(matches!(second, Err(NotDone::NotKept { .. })));
        assert_eq!((session.unkept().len(), session.running().stamps().len()), (2, 2));
        // A minute later there is room.
        let kept = session.keep(&store, (*entry).clone()).await.unwrap();
        let again = session.keep(&store, *entry).await.unwrap();
        assert_eq!((kept.repeated, again.repeated, kept.number), (false, true, again.number));
        let seated = session.unkept().first().unwrap().clone();
        session.keep(&store, seated).await.unwrap();
        assert!(session.unkept().is_empty());
        assert_eq!(store.history(session.code()).await.unwrap().len(), 3);
        assert_eq!(session.running().stamp_of(Step::MixStarted).unwrap().stamp.at, moment(12.0).wall);
        assert_eq!(session.running().stamp_of(Step::Seated).unwrap().stamp.at, moment(70.0).wall);
    });
}

/// A case file that was changed states the case anew; the stamps stay. Stamps of a file are taken over once.
#[test]
fn a_file_that_changes_states_the_case_anew() {
    let folder = tempfile::tempdir().unwrap();
    run(async {
        let (store, mut session) = begun(folder.path(), "study-alginate").await;
        act(&mut session, &store, 5.0, stamp()).await;
        let text = load::case_text("demo/study-alginate").unwrap();
        let same = Session::state(&store, "again", &text, &Hand::default(), &moment(6.0)).await.unwrap();
        assert_eq!(same.history().len(), 2);
        let changed = text.replace("room_temperature = \"22 °C\"", "room_temperature = \"29 °C\"");
        let anew = Session::state(&store, "again", &changed, &Hand::default(), &moment(7.0)).await.unwrap();
        assert_eq!(anew.history().len(), 3);
        assert_eq!(anew.case().situation.room_temperature_k, Fact::Known(273.15 + 29.0));
        assert_eq!(anew.running().stamps().len(), 1);

        let text = load::case_text("demo/running").unwrap();
        let taken = Session::state(&store, "running", &text, &Hand::default(), &moment(8.0)).await.unwrap();
        let file = load::case("demo/running").unwrap();
        assert_eq!(taken.case().stamps, file.stamps);
        assert_eq!(taken.case().observations, file.observations);
        let again = Session::state(&store, "running", &text, &Hand::default(), &moment(9.0)).await.unwrap();
        assert_eq!(again.history(), taken.history());
    });
}

fn trayward(store: &Path, arguments: &[&str], lines: &str) -> Output {
    let mut child = Command::new(env!("CARGO_BIN_EXE_trayward"))
        .arg("--store")
        .arg(store)
        .args(arguments)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    child.stdin.take().unwrap().write_all(lines.as_bytes()).unwrap();
    child.wait_with_output().unwrap()
}

fn text(output: &Output) -> String {
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    String::from_utf8(output.stdout.clone()).unwrap()
}

/// The whole by lines, as somebody at a keyboard would: begin, leave, come back, count, close, back up, lose the file, restore.
#[test]
fn the_program_keeps_a_case_from_one_start_to_the_next() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("records.sqlite");
    let first =
        text(&trayward(&store, &["run", "demo/study-alginate"], "water 24\nstamp 20 s ago\nnonsense\n"));
    assert!(first.contains("kept: \"mix started\", 0:20 earlier"), "{first}");
    assert!(first.contains("not understood: given \"nonsense\""), "{first}");
    let again = text(&trayward(&store, &["run", "DEMO-02"], "stamp\ncords in 1\nclose\nback\nshow\n"));
    assert!(again.contains("NEXT  SEAT THE TRAY"), "{again}");
    assert!(again.contains("kept: \"seated\""), "{again}");
    assert!(again.contains("not recorded: the counts differ"), "{again}");
    assert!(again.contains("NEXT  TAKE IT OUT"), "{again}");
    for line in first.lines().chain(again.lines()) {
        assert!(line.chars().count() <= 80, "{line}");
    }
    let cases = text(&trayward(&store, &["cases"], ""));
    assert!(cases.contains("DEMO-02") && cases.contains("seated, under way"), "{cases}");
    let json = text(&trayward(&store, &["run", "DEMO-02", "--json"], ""));
    let sight: serde_json::Value = serde_json::from_str(&json).unwrap();
    assert_eq!(sight["next"]["step"], "removed");

    // What waits to be poured is in the queue by itself.
    let nothing = text(&trayward(&store, &["queue"], ""));
    assert!(nothing.contains("Nothing waits to be poured"), "{nothing}");
    text(&trayward(&store, &["run", "DEMO-02"], "stamp\n"));
    let queue = text(&trayward(&store, &["queue"], ""));
    assert!(queue.contains("DEMO-02") && queue.contains("mix type 3"), "{queue}");

    let backup = folder.path().join("backup.sqlite");
    let backup = backup.to_str().unwrap();
    assert!(text(&trayward(&store, &["backup", backup], "")).contains("1 cases, 7 entries"));
    let lines = text(&trayward(&store, &["export"], ""));
    assert_eq!(lines.lines().count(), 7);
    assert!(text(&trayward(&store, &["export", "--csv"], "")).starts_with("case,number,id"));
    assert!(text(&trayward(&store, &["verify"], "")).contains("7 entries are whole"));
    let new = folder.path().join("new.sqlite");
    assert!(text(&trayward(&new, &["restore", backup], "")).contains("7 entries added"));
    assert_eq!(text(&trayward(&new, &["export"], "")), lines);
    let exported = folder.path().join("export.jsonl");
    std::fs::write(&exported, &lines).unwrap();
    let third = folder.path().join("third.sqlite");
    assert!(
        text(&trayward(&third, &["restore", exported.to_str().unwrap()], "")).contains("7 entries added")
    );
}

/// In a real terminal one key is a stamp, another takes it back, and the screen is given back at the end.
#[test]
fn one_key_is_a_stamp() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("records.sqlite");
    // `script` gives the program a terminal of its own; keys that come early wait in it.
    let program = format!(
        "stty cols 80 rows 24; {} --store {} run demo/study-alginate",
        env!("CARGO_BIN_EXE_trayward"),
        store.display()
    );
    let mut child = match Command::new("timeout")
        .args(["60", "script", "-qec", &program, "/dev/null"])
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .spawn()
    {
        Ok(child) => child,
        Err(error) => {
            assert!(
                std::env::var_os("TRAYWARD_NOTHING_SKIPPED").is_none(),
                "`script` is needed here: {error}"
            );
            eprintln!("NOT RUN: `script` is not installed");
            return;
        }
    };
    let mut keyboard = child.stdin.take().unwrap();
    keyboard.write_all(b"  b:note a line\rq").unwrap();
    keyboard.flush().unwrap();
    let output = child.wait_with_output().unwrap();
    drop(keyboard);
    assert!(output.status.success());
    let screen = String::from_utf8_lossy(&output.stdout).into_owned();
    assert!(
        screen.contains("space stamp") && screen.contains("\u{1b}[?1049l"),
        "the screen is not given back"
    );
    let lines = text(&trayward(&store, &["export"], ""));
    let kinds: Vec<&str> = ["stated", "stamped", "taken_back", "noted"]
        .into_iter()
        .filter(|kind| lines.contains(&format!("\"kind\":\"{kind}\"")))
        .collect();
    assert_eq!(kinds, ["stated", "stamped", "taken_back", "noted"]);
    assert_eq!(lines.lines().count(), 5, "{lines}");
    let cases = text(&trayward(&store, &["cases"], ""));
    assert!(cases.contains("mix started, under way"), "{cases}");
}

#[test]
fn what_cannot_be_used_is_said() {
    let folder = tempfile::tempdir().unwrap();
    let store = folder.path().join("records.sqlite");
    let refused = |arguments: &[&str]| {
        let output = trayward(&store, arguments, "");
        assert_eq!(output.status.code(), Some(2), "{arguments:?}");
        String::from_utf8(output.stderr).unwrap()
    };
    assert!(refused(&["cases"]).contains("there is no store of records"));
    assert!(refused(&["run", "TW-0042"]).contains("there is no such case in the records"));
    assert!(refused(&["forecast", "TW-0042"]).contains("there is no such case in"));
    assert!(refused(&["restore", "nowhere.sqlite"]).contains("nowhere.sqlite"));
    std::fs::write(
        folder.path().join("picture"),
        "no store at all, but long enough to be looked at by a program",
    )
    .unwrap();
    let picture = folder.path().join("picture");
    assert!(refused(&["restore", picture.to_str().unwrap()]).contains("is no store of records"));
    let other = trayward(&picture, &["cases"], "");
    assert!(String::from_utf8_lossy(&other.stderr).contains("is no store of records"));
}

/// The demo morning: what is late, what is kept, and what would save it.
#[test]
fn the_demo_morning_says_what_to_pour_first() {
    let folder = tempfile::tempdir().unwrap();
    let queue = text(&trayward(&folder.path().join("none.sqlite"), &["queue", "demo"], ""));
    let order: Vec<&str> = queue
        .lines()
        .filter(|line| line.contains(" pour 0") || line.contains(" pour 1"))
        .filter_map(|line| line.split_whitespace().nth(1).filter(|word| word.starts_with("DEMO-")))
        .collect();
    assert_eq!(order.len(), 6, "{queue}");
    // The bridge costs another visit and is kept; a study cast is late; the silicone waits for its gas and is last.
    assert_eq!(order.last(), Some(&"DEMO-36"), "{queue}");
    assert!(queue.contains("cannot be kept in any order") && queue.contains("seal DEMO-3"), "{queue}");
    assert!(!queue.lines().any(|line| line.contains("DEMO-35") && line.contains("LATE")), "{queue}");
    assert!(queue.contains("a second pair of hands: nothing is late then"), "{queue}");
}
