//! Entries that a number alone decides, and a child process that records them until somebody stops it.
#![allow(
    clippy::unwrap_used,
    dead_code,
    reason = "a test stops where its premise fails; not every test uses everything"
)]

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};

use records::sqlite::SqliteStore;
use records::{BootId, Entry, EntryId, Kept, Moment, Store, What};
use terms::{CaseCode, Instant, Step};

/// What a case consists of: it is stated, and its five steps are stamped.
pub const PER_CASE: u64 = 6;

pub fn code(n: u64) -> CaseCode {
    CaseCode::new(&format!("TS-{:06}", n / PER_CASE)).unwrap()
}

pub fn moment(ms: i64) -> Moment {
    Moment {
        wall: Instant::from_millis(1_790_000_000_000 + ms),
        boot: Some(BootId("1f0e".to_owned())),
        since_boot_ms: Some(5_000_000 + ms),
    }
}

pub fn entry(n: u64, what: What) -> Entry {
    let at = moment(i64::try_from(n).unwrap() * 1000);
    Entry { id: EntryId::from_bits(u128::from(n) + 1), case: code(n), at, what }
}

/// The entry of this number in the stream.
pub fn streamed(n: u64) -> Entry {
    let what = match usize::try_from(n % PER_CASE).unwrap() {
        0 => What::Stated { case_file: format!("schema_version = 1\ncode = \"{}\"\n", code(n)) },
        place => What::Stamped { step: Step::ALL[place - 1], earlier_ms: 0 },
    };
    entry(n, what)
}

/// All entries of a store, in the order of the stream.
pub async fn everything(store: &SqliteStore) -> Vec<Kept> {
    let mut all = Vec::new();
    for line in store.cases().await.unwrap() {
        all.extend(store.history(&line.case).await.unwrap());
    }
    all
}

/// What the child is told to do, and where.
const TASK: &str = "TRAYWARD_TEST_TASK";
const PLACE: &str = "TRAYWARD_TEST_PLACE";

/// What a child does; each test file that starts children has an ignored test that calls this.
pub fn child() {
    let (Ok(task), Ok(place)) = (std::env::var(TASK), std::env::var(PLACE)) else { return };
    let place = PathBuf::from(place);
    let said = run(async {
        let store = match SqliteStore::open(&place).await {
            Ok(store) => store,
            Err(error) => return format!("refused {error}"),
        };
        let from: u64 = store.cases().await.unwrap().iter().map(|line| line.entries).sum();
        let most = task.strip_prefix("some ").map_or(u64::MAX, |most| most.parse().unwrap());
        for n in (from..).take(usize::try_from(most).unwrap_or(usize::MAX)) {
            match store.append(&[streamed(n)]).await {
                Ok(_) => say(&format!("acknowledged {n}")),
                Err(error) => return format!("refused {error}"),
            }
        }
        "done".to_owned()
    });
    say(&said);
}

fn say(line: &str) {
    let mut out = std::io::stdout().lock();
    // One write, so that a reader never sees half a line.
    out.write_all(format!("{line}\n").as_bytes()).unwrap();
    out.flush().unwrap();
}

/// The arguments with which this test program is its own child.
pub fn arguments() -> Vec<&'static str> {
    vec!["--exact", "child", "--ignored", "--nocapture", "--test-threads", "1"]
}

/// A command that runs `program` as the child; `task` is "stream", or "some N".
pub fn as_child(program: &Path, task: &str, place: &Path) -> Command {
    let mut command = Command::new(program);
    command.args(arguments()).env(TASK, task).env(PLACE, place).stdout(Stdio::piped()).stderr(Stdio::null());
    command
}

pub fn start(task: &str, place: &Path) -> Child {
    as_child(&std::env::current_exe().unwrap(), task, place).spawn().unwrap()
}

pub fn run<T>(future: impl Future<Output = T>) -> T {
    tokio::runtime::Builder::new_current_thread().enable_all().build().unwrap().block_on(future)
}

/// A sequence of numbers without a pattern, the same every time (xorshift64*).
pub struct Numbers(pub u64);

impl Numbers {
    pub fn below(&mut self, bound: u64) -> u64 {
        self.0 ^= self.0 >> 12;
        self.0 ^= self.0 << 25;
        self.0 ^= self.0 >> 27;
        (self.0.wrapping_mul(0x2545_F491_4F6C_DD1D) >> 33) % bound
    }
}
