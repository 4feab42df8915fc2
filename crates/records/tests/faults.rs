//! What must not be lost, when the program is killed, the disk is full or cannot be written, or a page goes bad.
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test stops where its premise fails")]

mod common;

use std::fs;
use std::io::{BufRead, BufReader};
use std::path::{Path, PathBuf};
use std::process::Command;
use std::time::Duration;

use common::{Numbers, as_child, everything, run, start, streamed};
use records::sqlite::{FORM, SqliteStore};
use records::{Running, Store, StoreError};

#[test]
#[ignore = "started by the tests of this file"]
fn child() {
    common::child();
}

/// `./check` sets this where the machine has what the tests need.
fn nothing_may_be_skipped() -> bool {
    std::env::var_os("TRAYWARD_NOTHING_SKIPPED").is_some()
}

/// The number of the last line "acknowledged N".
fn acknowledged(line: &str) -> Option<u64> {
    line.rsplit_once("acknowledged ").and_then(|(_, number)| number.trim().parse().ok())
}

/// Everything in the store is the beginning of the stream, at least up to what was acknowledged, and replays the same.
fn is_whole(path: &Path, last: Option<u64>) -> u64 {
    run(async {
        let store = SqliteStore::open(path).await.unwrap();
        let kept = everything(&store).await;
        let count = kept.len() as u64;
        assert!(last.is_none_or(|last| count > last), "{count} entries, {last:?} acknowledged");
        for (n, kept) in kept.iter().enumerate() {
            assert_eq!(kept.entry, streamed(n as u64));
        }
        for case in kept.chunk_by(|a, b| a.case() == b.case()) {
            let mut as_meant = Running::default();
            for kept in case {
                as_meant.hear(&kept.entry, kept.number);
            }
            assert_eq!(Running::replay(case), as_meant);
            assert!(as_meant.unheard.is_empty());
            assert_eq!(as_meant.stamps().len(), case.len() - 1);
        }
        let verified = store.verify().await.unwrap();
        assert!(verified.damage.is_empty(), "{verified:?}");
        assert_eq!(verified.entries, count);
        store.close().await;
        count
    })
}

/// A thousand times: a child records stamps, one after another, and is killed in the middle. Whatever it had acknowledged is there.
///
/// When the kill falls differs from run to run; that nothing is lost does not.
#[test]
fn killed_a_thousand_times_nothing_acknowledged_is_lost() {
    let mut numbers = Numbers(0x7261_7977_6172_6473);
    let mut total = 0;
    for _ in 0..20 {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("records.sqlite");
        let mut last = None;
        for _ in 0..50 {
            let mut child = start("stream", &path);
            let (sent, lines) = std::sync::mpsc::channel();
            let out = child.stdout.take().unwrap();
            let reader = std::thread::spawn(move || {
                for line in BufReader::new(out).lines().map_while(Result::ok) {
                    if let Some(number) = acknowledged(&line) {
                        sent.send(number).unwrap();
                    }
                }
            });
            // Some are killed while they open the file, others after a few stamps, in the middle of the next.
            let wanted = numbers.below(6);
            let mut seen = Vec::new();
            for _ in 0..wanted {
                seen.extend(lines.recv_timeout(Duration::from_secs(20)));
            }
            let longest_us = if wanted == 0 { 15_000 } else { 4000 };
            std::thread::sleep(Duration::from_micros(numbers.below(longest_us)));
            child.kill().unwrap();
            child.wait().unwrap();
            reader.join().unwrap();
            seen.extend(lines.try_iter());
            assert!(seen.len() as u64 >= wanted);
            last = seen.last().copied().or(last);
            // The next child opens what this one left, without anybody in between to mend it.
            if numbers.below(5) == 0 {
                is_whole(&path, last);
            }
        }
        total += is_whole(&path, last);
    }
    assert!(total > 1000, "{total} stamps in a thousand lives");
}

/// A trace of the system calls: between the last write to the log and the acknowledgement, the log is synchronised.
#[test]
fn the_data_is_synchronised_before_it_is_acknowledged() {
    if Command::new("strace").arg("-V").output().is_err() {
        assert!(!nothing_may_be_skipped(), "strace is needed here");
        eprintln!("NOT RUN: strace is not installed");
        return;
    }
    let folder = tempfile::tempdir().unwrap();
    let (path, trace) = (folder.path().join("records.sqlite"), folder.path().join("trace"));
    let child = as_child(&std::env::current_exe().unwrap(), "some 40", &path);
    let mut traced = Command::new("strace");
    traced
        .args(["-f", "-y", "-s", "64", "-e", "trace=write,pwrite64,fsync,fdatasync,ftruncate", "-o"])
        .arg(&trace);
    traced.arg(child.get_program()).args(child.get_args());
    traced.envs(child.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let out = traced.output().unwrap();
    assert!(String::from_utf8_lossy(&out.stdout).contains("acknowledged 39"), "{out:?}");

    let (mut unsynchronised, mut acknowledged, mut writes) = (false, 0, 0);
    for line in fs::read_to_string(&trace).unwrap().lines() {
        let on_log = line.contains("records.sqlite-wal>");
        if on_log && line.contains("pwrite64(") {
            unsynchronised = true;
            writes += 1;
        } else if on_log && (line.contains("fdatasync(") || line.contains("fsync(")) {
            // A call that another thread interrupts is written in two lines; the second has its result.
            unsynchronised &= line.contains("unfinished");
        } else if line.contains("fdatasync resumed") || line.contains("fsync resumed") {
            unsynchronised = false;
        } else if line.contains("write(1<") && line.contains("acknowledged ") {
            assert!(!unsynchronised, "acknowledged before it was on the disk: {line}");
            acknowledged += 1;
        }
    }
    assert_eq!(acknowledged, 40);
    assert!(writes >= 40, "{writes} writes to the log");
}

fn beside(path: &Path, ending: &str) -> PathBuf {
    PathBuf::from(format!("{}{ending}", path.display()))
}

/// The log is cut off at every byte of its last frame: the file opens, and holds the entry of that frame or ends before it.
#[test]
fn recovery_from_every_truncation_of_the_last_frame() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("records.sqlite");
    let mut child = start("stream", &path);
    let mut lines = BufReader::new(child.stdout.take().unwrap()).lines().map_while(Result::ok);
    let last = lines.by_ref().filter_map(|line| acknowledged(&line)).nth(8).unwrap();
    child.kill().unwrap();
    child.wait().unwrap();
    let log = fs::read(beside(&path, "-wal")).unwrap();
    let main = fs::read(&path).unwrap();
    // A log begins with a head of 32 bytes; the page size stands in it, and each frame has a head of 24 (SQLite file format, 4.1).
    let page = u32::from_be_bytes(log[8..12].try_into().unwrap()) as usize;
    let frame = page + 24;
    // A kill in the middle of a frame leaves a part of one; what was acknowledged lies in whole ones.
    let whole = 32 + (log.len() - 32) / frame * frame;
    let mut counts = Vec::new();
    for length in whole - frame..=whole {
        let copy = tempfile::tempdir().unwrap();
        let cut = copy.path().join("records.sqlite");
        fs::write(&cut, &main).unwrap();
        fs::write(beside(&cut, "-wal"), &log[..length]).unwrap();
        // Opening and reading finds every entry of the frames that are left; the longest keeps everything.
        let count = run(async {
            let store = SqliteStore::open(&cut).await.unwrap();
            let kept = everything(&store).await;
            for (n, kept) in kept.iter().enumerate() {
                assert_eq!(kept.entry, streamed(n as u64));
            }
            store.close().await;
            kept.len() as u64
        });
        counts.push(count);
    }
    assert!(*counts.last().unwrap() > last, "{counts:?}");
    assert!(counts.iter().all(|count| *count >= last), "an entry before the last frame was lost");
    assert!(counts.windows(2).all(|pair| pair[0] <= pair[1]));
}

/// A file system of half a megabyte fills up: the error says so, what was acknowledged is there, and with room it goes on.
#[test]
fn a_full_disk_says_so_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let small = folder.path().join("small");
    fs::create_dir(&small).unwrap();
    // In a mount namespace of its own, so that nothing of it is left whatever happens; the copy is what the check looks at.
    let program = std::env::current_exe().unwrap();
    let child = as_child(&program, "stream", &small.join("records.sqlite"));
    let script = format!(
        "mount -t tmpfs -o size=512k none '{small}' && {{ '{program}' {arguments}; cp -r '{small}' '{out}'; }}",
        small = small.display(),
        program = program.display(),
        arguments = common::arguments().join(" "),
        out = folder.path().join("left").display(),
    );
    let mut command = Command::new("unshare");
    command.args(["--mount", "--map-root-user", "--user", "sh", "-c", &script]);
    command.envs(child.get_envs().filter_map(|(name, value)| Some((name, value?))));
    let out = command.output().unwrap();
    let said = String::from_utf8_lossy(&out.stdout).into_owned();
    if !said.contains("acknowledged") {
        assert!(!nothing_may_be_skipped(), "a small file system is needed here: {out:?}");
        eprintln!("NOT RUN: no file system can be mounted here: {}", String::from_utf8_lossy(&out.stderr));
        return;
    }
    let last = said.lines().filter_map(acknowledged).next_back().unwrap();
    let refused = said.lines().find(|line| line.starts_with("refused")).unwrap_or_else(|| panic!("{said}"));
    assert!(refused.contains("the disk is full; what was acknowledged before is kept"), "{refused}");
    assert!(last > 20, "{last}");
    let left = folder.path().join("left").join("records.sqlite");
    assert_eq!(is_whole(&left, Some(last)), last + 1);
    run(async {
        let store = SqliteStore::open(&left).await.unwrap();
        store.append(&[streamed(last + 1)]).await.unwrap();
    });
}

/// Without the powers of root, a folder that cannot be written: a new store is refused, an old one can be read.
#[test]
fn a_folder_that_cannot_be_written_is_said() {
    use std::os::unix::fs::PermissionsExt;
    let folder = tempfile::tempdir().unwrap();
    let shelf = folder.path().join("shelf");
    fs::create_dir(&shelf).unwrap();
    let path = shelf.join("records.sqlite");
    run(async {
        let store = SqliteStore::open(&path).await.unwrap();
        store.append(&(0..9).map(streamed).collect::<Vec<_>>()).await.unwrap();
        store.close().await;
    });
    // The program must be reachable for whoever has no powers.
    let program = folder.path().join("program");
    fs::copy(std::env::current_exe().unwrap(), &program).unwrap();
    fs::set_permissions(folder.path(), fs::Permissions::from_mode(0o755)).unwrap();
    let before = fs::read(&path).unwrap();
    for entry in fs::read_dir(&shelf).unwrap() {
        fs::set_permissions(entry.unwrap().path(), fs::Permissions::from_mode(0o444)).unwrap();
    }
    fs::set_permissions(&shelf, fs::Permissions::from_mode(0o555)).unwrap();
    for name in ["records.sqlite", "another.sqlite"] {
        let child = as_child(&program, "some 1", &shelf.join(name));
        let root =
            fs::metadata("/proc/self").map(|own| std::os::unix::fs::MetadataExt::uid(&own)).unwrap() == 0;
        let mut command = match root {
            true => {
                let mut command = Command::new("setpriv");
                command.args(["--reuid", "65534", "--regid", "65534", "--clear-groups", "--inh-caps=-all"]);
                command.arg(&program).args(common::arguments());
                command.envs(child.get_envs().filter_map(|(name, value)| Some((name, value?))));
                command
            }
            false => child,
        };
        let said = String::from_utf8(command.output().unwrap().stdout).unwrap();
        let (_, refused) = said.split_once("refused").unwrap_or_else(|| panic!("{said}"));
        assert!(refused.contains("cannot be written here"), "{refused}");
        assert!(refused.contains(name) && refused.contains("nothing new is"), "{refused}");
    }
    fs::set_permissions(&shelf, fs::Permissions::from_mode(0o755)).unwrap();
    assert_eq!(fs::read(&path).unwrap(), before);
    assert!(!shelf.join("another.sqlite").exists());
    run(async {
        let store = SqliteStore::open_to_read(&path).await.unwrap();
        assert_eq!(everything(&store).await.len(), 9);
    });
}

/// Pages are overwritten, one at a time: what is damaged is named, what is whole is read, and a backup brings back the rest.
#[test]
fn a_page_that_goes_bad_is_named_and_the_rest_is_read() {
    let folder = tempfile::tempdir().unwrap();
    let at = |name: &str| folder.path().join(name);
    let entries: Vec<_> = (0..600).map(streamed).collect();
    run(async {
        let store = SqliteStore::open(&at("records.sqlite")).await.unwrap();
        store.append(&entries).await.unwrap();
        store.backup(&at("backup.sqlite")).await.unwrap();
        store.close().await;
    });
    let good = fs::read(at("records.sqlite")).unwrap();
    let page = 4096;
    let (mut named, mut salvaged_all) = (0, 0);
    for place in 1..good.len() / page {
        let mut bad = good.clone();
        for byte in &mut bad[place * page..(place + 1) * page] {
            *byte = 0x5A;
        }
        let path = at(&format!("bad-{place}.sqlite"));
        fs::write(&path, &bad).unwrap();
        run(async {
            // It opens or says that it is damaged; and nothing is written into it by looking.
            match SqliteStore::open_to_read(&path).await {
                Ok(store) => {
                    let verified = store.verify().await;
                    match verified {
                        Ok(verified) if verified.damage.is_empty() => {
                            // A page that holds nothing: everything else must be there.
                            assert_eq!(verified.entries, 600, "page {place}");
                            salvaged_all += 1;
                        }
                        Ok(verified) => {
                            named += 1;
                            assert!(
                                verified.entries >= 500 || verified.damage.len() > 1,
                                "page {place}: {verified:?}"
                            );
                        }
                        Err(error) => {
                            named += 1;
                            assert!(matches!(error, StoreError::Damaged { .. }), "page {place}: {error}");
                        }
                    }
                    store.close().await;
                }
                Err(error) => {
                    named += 1;
                    assert!(error.to_string().contains("damaged"), "page {place}: {error}");
                }
            }
            let (entries, _) = SqliteStore::read_backup(&at("backup.sqlite")).await.unwrap();
            assert_eq!(entries.len(), 600);
        });
        assert_eq!(fs::read(&path).unwrap(), bad, "looking at a damaged file changed it");
    }
    assert!(named > 10, "{named} pages named, {salvaged_all} held nothing");
}

/// One letter of one entry is changed in the file, which no page check notices: the seal does.
#[test]
fn a_changed_letter_is_found() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("records.sqlite");
    run(async {
        let store = SqliteStore::open(&path).await.unwrap();
        store.append(&(0..12).map(streamed).collect::<Vec<_>>()).await.unwrap();
        store.close().await;
    });
    let mut bytes = fs::read(&path).unwrap();
    let word = b"\"step\":\"seated\"";
    let place = bytes.windows(word.len()).position(|window| window == word).unwrap();
    bytes[place + 8..place + 14].copy_from_slice(b"poured");
    fs::write(&path, &bytes).unwrap();
    run(async {
        let store = SqliteStore::open(&path).await.unwrap();
        let verified = store.verify().await.unwrap();
        let expected = "its content is not what was recorded";
        assert!(verified.damage.iter().any(|line| line.contains(expected)), "{verified:?}");
        // Of two cases one is refused and the other not touched.
        let (mut whole, mut refused) = (0, Vec::new());
        for case in [common::code(0), common::code(6)] {
            match store.history(&case).await {
                Ok(history) => whole += history.len(),
                Err(error) => refused.push(error.to_string()),
            }
        }
        assert_eq!((whole, refused.len()), (6, 1));
        assert!(
            refused[0].contains(expected) && refused[0].contains("nothing has been changed"),
            "{refused:?}"
        );
    });
}

#[test]
fn a_newer_form_and_a_foreign_file_are_refused_untouched() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("records.sqlite");
    run(async {
        let store = SqliteStore::open(&path).await.unwrap();
        store.append(&[streamed(0)]).await.unwrap();
        store.close().await;
    });
    let mut bytes = fs::read(&path).unwrap();
    bytes[60..64].copy_from_slice(&9u32.to_be_bytes());
    fs::write(&path, &bytes).unwrap();
    let refused = run(SqliteStore::open(&path)).err().unwrap().to_string();
    assert!(refused.contains(&format!("given records of form 9; allowed up to form {FORM}")), "{refused}");
    assert_eq!(fs::read(&path).unwrap(), bytes);

    // Tables of somebody else, a picture, and no folder at all.
    bytes[60..64].copy_from_slice(&1u32.to_be_bytes());
    bytes[68..72].copy_from_slice(&7u32.to_be_bytes());
    fs::write(&path, &bytes).unwrap();
    assert!(matches!(run(SqliteStore::open(&path)).err().unwrap(), StoreError::Foreign { .. }));
    assert_eq!(fs::read(&path).unwrap(), bytes);
    fs::write(&path, b"\x89PNG and more").unwrap();
    assert!(matches!(run(SqliteStore::open(&path)).err().unwrap(), StoreError::Foreign { .. }));
    let nowhere = folder.path().join("no").join("records.sqlite");
    let refused = run(SqliteStore::open(&nowhere)).err().unwrap().to_string();
    assert!(refused.contains("there is no folder"), "{refused}");
    assert!(matches!(
        run(SqliteStore::open_to_read(&folder.path().join("x"))).err().unwrap(),
        StoreError::Absent { .. }
    ));
}

/// Nothing can be changed or taken out, even by whoever speaks to the file directly.
#[test]
fn entries_cannot_be_changed_or_taken_out() {
    let folder = tempfile::tempdir().unwrap();
    let path = folder.path().join("records.sqlite");
    run(async {
        let store = SqliteStore::open(&path).await.unwrap();
        store.append(&[streamed(0)]).await.unwrap();
        let pool = sqlx::SqlitePool::connect(&format!("sqlite://{}", path.display())).await.unwrap();
        for (statement, why) in [
            ("update entry set wall_ms = 0", "entries are never changed"),
            ("delete from entry", "entries are never taken out"),
        ] {
            let error = sqlx::query(statement).execute(&pool).await.unwrap_err().to_string();
            assert!(error.contains(why), "{error}");
        }
        assert_eq!(everything(&store).await.len(), 1);
    });
}
