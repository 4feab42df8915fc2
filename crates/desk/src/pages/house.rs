//! The store with what is open of it: cases, and the forecasts that were made of them.
//!
//! A page is never kept waiting by a sharper forecast: it shows what is there, says that it is being sharpened, and asks again. What is
//! computed for nobody in particular runs on threads of low priority, so that a stamp is not.

use std::collections::HashMap;
use std::sync::{Arc, Mutex, PoisonError};
use std::time::{Duration, Instant as Clock};

use anyhow::{Context, Result};
use chain::{Effort, Forecast};
use counsel::rules::{Audit, Pace};
use jiff::tz::TimeZone;
use records::sqlite::SqliteStore;
use records::{Book, CaseLine, Running, Store};
use terms::{CaseCode, Instant};
use tokio::sync::{Mutex as Turn, watch};

use crate::load::{Hand, Known};
use crate::running::{Session, here, recorded};
use case_file::Case;

/// A first answer for something that moves under a finger: 8 x 8 samples.
pub const QUICK: Effort = Effort { points: 8 };

/// A forecast of a running case is made again after this time, for time itself moves windows.
const AGAIN: Duration = Duration::from_secs(15);

/// Cases that are kept open.
const MOST_OPEN: usize = 400;

/// What the pages stand on.
pub struct House {
    /// Where everything is kept.
    pub store: SqliteStore,
    /// What is at hand.
    pub hand: Hand,
    /// Zone of the clocks.
    pub zone: TimeZone,
    /// The store holds an invented scenario.
    pub demo: bool,
    /// Whether the store goes when the program ends.
    pub scratch: bool,
    /// The word that forms of this start of the program carry.
    pub token: String,
    open: Mutex<HashMap<CaseCode, Arc<Open>>>,
    lines: Mutex<HashMap<CaseCode, (u64, Arc<Listed>)>>,
    audits: Mutex<Audits>,
    /// Sets are composed one after the other, so that a form that is sent twice makes one.
    pub composing: Turn<()>,
    quiet: Arc<rayon::ThreadPool>,
}

/// Rules that were asked of the chain, by identifier and samples.
type Audits = HashMap<(String, u32), Arc<Audit>>;

/// A case in the list of cases.
pub struct Listed {
    /// The case, as it was last stated, with what has happened.
    pub case: Case,
    /// What its history leaves.
    pub running: Running,
}

/// An open case.
pub struct Open {
    /// The case; whoever holds it acts alone.
    pub session: Turn<Session>,
    made: watch::Sender<Option<Arc<Made>>>,
    asked: Mutex<Asked>,
}

#[derive(Default)]
struct Asked {
    busy: bool,
    next: Option<Job>,
}

/// A forecast with what it was made from.
#[derive(Clone)]
pub struct Made {
    /// The forecast.
    pub forecast: Arc<Forecast>,
    /// Entries of the history at that time, with those that wait to be kept.
    pub entries: u64,
    /// When.
    pub at: Clock,
}

struct Job {
    case: Case,
    known: Arc<Known>,
    entries: u64,
    effort: Effort,
    now: Instant,
}

impl Job {
    fn of(session: &Session, effort: Effort, now: Instant) -> Job {
        Job {
            case: session.case().clone(),
            known: Arc::clone(session.known()),
            entries: session.running().entries,
            effort,
            now,
        }
    }

    fn make(&self) -> Result<Made> {
        let forecast = self
            .known
            .forecast(&self.case, self.effort, self.now)
            .with_context(|| self.case.code.to_string())?;
        Ok(Made { forecast: Arc::new(forecast), entries: self.entries, at: Clock::now() })
    }
}

impl House {
    /// A house over a store.
    ///
    /// # Errors
    /// When no threads can be had.
    pub fn over(store: SqliteStore, hand: Hand, zone: TimeZone, demo: bool) -> Result<House> {
        let quiet = rayon::ThreadPoolBuilder::new()
            .thread_name(|place| format!("forecast-{place}"))
            .start_handler(|_| give_way())
            .build()?;
        Ok(House {
            store,
            hand,
            zone,
            demo,
            scratch: false,
            token: uuid::Uuid::new_v4().simple().to_string(),
            open: Mutex::default(),
            lines: Mutex::default(),
            audits: Mutex::default(),
            composing: Turn::default(),
            quiet: Arc::new(quiet),
        })
    }

    /// Opens a case that the store has.
    ///
    /// # Errors
    /// When there is none, or it cannot be read.
    pub async fn open(&self, code: &CaseCode) -> Result<Arc<Open>> {
        if let Some(open) = locked(&self.open).get(code) {
            return Ok(Arc::clone(open));
        }
        let session = Session::open(&self.store, code, &self.hand).await?;
        let (made, _) = watch::channel(None);
        let fresh = Arc::new(Open { session: Turn::new(session), made, asked: Mutex::default() });
        let mut all = locked(&self.open);
        // What waits to be kept lives in its session alone: such a case is never closed.
        if all.len() >= MOST_OPEN {
            all.retain(|_, open| {
                open.session.try_lock().map_or(true, |session| !session.unkept().is_empty())
            });
        }
        Ok(Arc::clone(all.entry(code.clone()).or_insert(fresh)))
    }

    /// What is known of a case or of the clinic.
    ///
    /// # Errors
    /// When the clinic file or the ledger cannot be used.
    pub fn known(&self) -> Result<Arc<Known>> {
        self.hand.known(self.demo)
    }

    /// What the chain said of a rule at this pace, if it was asked.
    pub fn audited(&self, id: &str, pace: Pace) -> Option<Arc<Audit>> {
        locked(&self.audits).get(&(id.to_owned(), pace.effort.points)).map(Arc::clone)
    }

    /// Keeps what it said: the ledger does not change while the program runs.
    pub fn keep_audit(&self, id: &str, pace: Pace, audit: Audit) -> Arc<Audit> {
        let audit = Arc::new(audit);
        locked(&self.audits).insert((id.to_owned(), pace.effort.points), Arc::clone(&audit));
        audit
    }

    /// The book of the clinic.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn book(&self) -> Result<Book> {
        let code = CaseCode::new(Book::CODE)?;
        Ok(Book::replay(&self.store.history(&code).await?))
    }

    /// Cases of the store, the last touched first.
    ///
    /// # Errors
    /// When the store cannot be read.
    pub async fn cases(&self) -> Result<Vec<CaseLine>> {
        let mut lines = self.store.cases().await?;
        lines.retain(|line| !records::is_reserved(&line.case));
        lines.sort_by(|a, b| b.last.cmp(&a.last).then_with(|| a.case.cmp(&b.case)));
        Ok(lines)
    }

    /// A case in the list, read again when something was added to it.
    ///
    /// # Errors
    /// When it cannot be read.
    pub async fn listed(&self, line: &CaseLine) -> Result<Arc<Listed>> {
        if let Some((entries, listed)) = locked(&self.lines).get(&line.case)
            && *entries == line.entries
        {
            return Ok(Arc::clone(listed));
        }
        let running = Running::replay(&self.store.history(&line.case).await?);
        let case = recorded(&line.case, &running)?;
        let listed = Arc::new(Listed { case, running });
        locked(&self.lines).insert(line.case.clone(), (line.entries, Arc::clone(&listed)));
        Ok(listed)
    }

    /// Computes something for somebody who waits for it.
    ///
    /// # Errors
    /// What the computation says.
    pub async fn compute<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T> + Send + 'static,
    ) -> Result<T> {
        tokio::task::spawn_blocking(work).await?
    }

    /// Computes something on threads that give way to everything else.
    ///
    /// # Errors
    /// What the computation says.
    pub async fn compute_quietly<T: Send + 'static>(
        &self,
        work: impl FnOnce() -> Result<T> + Send + 'static,
    ) -> Result<T> {
        let (done, result) = tokio::sync::oneshot::channel();
        self.quiet.spawn(move || {
            let _ = done.send(work());
        });
        result.await?
    }

    /// The forecast of an open case: the newest there is, and whether it is of its whole history. Without any, one is made.
    ///
    /// # Errors
    /// When the chain refuses the case.
    pub async fn forecast(&self, open: &Arc<Open>, session: &Session) -> Result<(Arc<Forecast>, bool)> {
        let (now, _) = session.running().present(&here());
        let entries = session.running().entries;
        let made = open.made.borrow().clone();
        match made {
            Some(made) => {
                let fresh = made.entries == entries;
                let moves = made.forecast.start_stamped && session.running().next_step().is_some();
                if !fresh || (moves && made.at.elapsed() > AGAIN) {
                    self.ask(open, Job::of(session, Effort::COARSE, now));
                }
                Ok((Arc::clone(&made.forecast), fresh))
            }
            None => {
                let job = Job::of(session, Effort::COARSE, now);
                let made = self.compute(move || job.make()).await?;
                let forecast = Arc::clone(&made.forecast);
                open.made.send_replace(Some(Arc::new(made)));
                Ok((forecast, true))
            }
        }
    }

    /// The forecast of an open case with all its history and all samples, made now where it is not there.
    ///
    /// # Errors
    /// When the chain refuses the case.
    pub async fn sharp(&self, open: &Arc<Open>) -> Result<Arc<Forecast>> {
        let (entries, job) = {
            let session = open.session.lock().await;
            let (now, _) = session.running().present(&here());
            (session.running().entries, Job::of(&session, Effort::FULL, now))
        };
        let fits = |made: &Option<Arc<Made>>| {
            made.as_ref().is_some_and(|made| {
                made.entries >= entries && made.forecast.effort.points >= Effort::FULL.points
            })
        };
        let mut made = open.made.subscribe();
        if let Some(made) = made.borrow().clone().filter(|made| fits(&Some(Arc::clone(made)))) {
            return Ok(Arc::clone(&made.forecast));
        }
        self.ask(open, job);
        let waited = tokio::time::timeout(Duration::from_secs(30), made.wait_for(fits)).await;
        let made = waited.context("the forecast takes too long")??.clone();
        made.map(|made| Arc::clone(&made.forecast)).context("no forecast was made")
    }

    /// Asks for a forecast of an open case; only the last one asked for is made.
    fn ask(&self, open: &Arc<Open>, job: Job) {
        let mut asked = locked(&open.asked);
        let sharper = asked.next.as_ref().is_none_or(|waiting| {
            waiting.entries < job.entries || waiting.effort.points <= job.effort.points
        });
        if sharper {
            asked.next = Some(job);
        }
        if asked.busy {
            return;
        }
        asked.busy = true;
        let open = Arc::clone(open);
        self.quiet.spawn(move || {
            loop {
                let job = {
                    let mut asked = locked(&open.asked);
                    match asked.next.take() {
                        Some(job) => job,
                        None => {
                            asked.busy = false;
                            return;
                        }
                    }
                };
                // A case that the chain refuses keeps the forecast it has; whoever opens it is told.
                if let Ok(made) = job.make() {
                    open.made.send_replace(Some(Arc::new(made)));
                }
            }
        });
    }
}

impl Open {
    /// What changes whenever another forecast has been made.
    pub fn made(&self) -> Option<Arc<Made>> {
        self.made.borrow().clone()
    }
}

/// A lock that a panic elsewhere does not take away: what it guards is replaced whole.
fn locked<T>(mutex: &Mutex<T>) -> std::sync::MutexGuard<'_, T> {
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

/// Lowers the priority of this thread where the system lets threads have one of their own.
fn give_way() {
    #[cfg(target_os = "linux")]
    let _ = rustix::process::nice(10);
}
