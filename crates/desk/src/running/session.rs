//! One case of a store: opened, acted on, forecast.

use std::sync::Arc;

use anyhow::{Context, Result, bail};
use chain::{Effort, Forecast};
use records::{Acknowledged, Balance, Entry, EntryId, Kept, Moment, Running, Store, StoreError, What};
use terms::{Answer, CaseCode, Fact, Instant, Invalid, Step};

use super::deed::{Deed, NoDeed};
use crate::load::{self, Hand, Known};
use case_file::{self, Case};

/// A case with its history.
pub struct Session {
    code: CaseCode,
    history: Vec<Kept>,
    running: Running,
    case: Case,
    known: Arc<Known>,
    /// What could not be kept yet, oldest first; the clock goes on as if it were.
    unkept: Vec<Entry>,
}

/// Stops of the rulebook that bear on a case.
#[derive(Clone, Debug, Default, PartialEq, serde::Serialize)]
pub struct Stops {
    /// Those that hold: rule, and what it says.
    pub holding: Vec<(String, String)>,
    /// Facts that are not known and could make one hold.
    pub open: usize,
}

/// A deed that was not recorded.
#[derive(Debug, thiserror::Error)]
pub enum NotDone {
    /// It cannot be done now.
    #[error(transparent)]
    Refused(#[from] NoDeed),
    /// It could not be kept; record this very entry again as soon as the store can be written.
    #[error("{source}")]
    NotKept {
        /// The entry, with its identifier and its moment.
        entry: Box<Entry>,
        /// Why.
        source: StoreError,
    },
    /// Somebody else stated the case anew, and it does not read.
    #[error(transparent)]
    Unreadable(#[from] load::Unreadable),
}

impl Session {
    /// Opens a case by the text of its file: what is new in it is recorded, and what the store already has of it goes on.
    ///
    /// Stamps and readings of a file are taken over once, when the case is new; from then on the history counts.
    ///
    /// # Errors
    /// When the text does not read, or the store cannot keep it.
    pub async fn state(
        store: &impl Store,
        name: &str,
        text: &str,
        hand: &Hand,
        at: &Moment,
    ) -> Result<Session> {
        let case = case_file::parse(name, text).map_err(load::Unreadable)?;
        if records::is_reserved(&case.code) {
            bail!(
                "{name}: code: given {}; allowed a code that does not begin with BOOK, SET or PRAC",
                case.code
            );
        }
        let history = store.history(&case.code).await?;
        let running = Running::replay(&history);
        if !history.is_empty() {
            // What has happened must still go with what is stated now; otherwise nothing is recorded.
            let known = hand.known(case.demo).with_context(|| name.to_owned())?;
            let (stamps, observations) = (running.stamps(), running.observations());
            known.bears(&Case { stamps, observations, ..case.clone() }).with_context(|| name.to_owned())?;
        }
        let stated = running.stated;
        let entry = |what| Entry { id: EntryId::fresh(), case: case.code.clone(), at: at.clone(), what };
        let mut entries = Vec::new();
        if stated.is_none_or(|stated| stated.case_file != text) {
            entries.push(entry(What::Stated { case_file: text.to_owned() }));
        }
        if history.is_empty() {
            // A file knows wall clocks alone.
            let then = |wall: Instant, what| Entry {
                at: Moment { wall, boot: None, since_boot_ms: None },
                ..entry(what)
            };
            let stamps =
                case.stamps.iter().map(|stamp| (stamp.at, What::Stamped { step: stamp.step, earlier_ms: 0 }));
            let readings = case
                .observations
                .iter()
                .map(|seen| (seen.at, What::Observed { reading: seen.reading, earlier_ms: 0 }));
            let mut taken_over: Vec<(Instant, What)> = stamps.chain(readings).collect();
            taken_over.sort_by_key(|(wall, _)| *wall);
            if let (Some((first, _)), Some(stated)) = (taken_over.first(), entries.first_mut()) {
                stated.at = Moment { wall: *first, boot: None, since_boot_ms: None };
            }
            entries.extend(taken_over.into_iter().map(|(wall, what)| then(wall, what)));
        }
        store.append(&entries).await?;
        Session::open(store, &case.code, hand).await
    }

    /// Opens a case that the store has.
    ///
    /// # Errors
    /// When there is no such case, or what it was stated as no longer reads.
    pub async fn open(store: &impl Store, code: &CaseCode, hand: &Hand) -> Result<Session> {
        let history = store.history(code).await?;
        if history.is_empty() {
            bail!(
                "{code}: there is no such case in the records; allowed a case of `trayward cases`, or a case file"
            );
        }
        let running = Running::replay(&history);
        let case = recorded(code, &running)?;
        let known = hand.known(case.demo).with_context(|| code.to_string())?;
        Ok(Session { code: code.clone(), history, running, case, known, unkept: Vec::new() })
    }

    /// Its code.
    pub fn code(&self) -> &CaseCode {
        &self.code
    }

    /// Its history.
    pub fn history(&self) -> &[Kept] {
        &self.history
    }

    /// What the history leaves.
    pub fn running(&self) -> &Running {
        &self.running
    }

    /// The case with the stamps and readings that count.
    pub fn case(&self) -> &Case {
        &self.case
    }

    /// What is at hand, and what is known of it.
    pub fn known(&self) -> &Arc<Known> {
        &self.known
    }

    /// The entry of a deed, checked against what has been recorded.
    ///
    /// # Errors
    /// When it would not count.
    pub fn entry(&self, deed: Deed, at: &Moment) -> Result<Entry, NoDeed> {
        let what = deed.what(&self.running, self.running.last_taken(&self.history))?;
        let (now, _) = self.running.present(at);
        let happened = now.plus_seconds(-(what.earlier_ms() as f64) / 1000.0);
        if let Some(refusal) = self.running.refuses(&what, happened) {
            return Err(refusal.into());
        }
        let entry = Entry { id: EntryId::fresh(), case: self.code.clone(), at: at.clone(), what };
        // What the chain cannot take would leave a case that cannot be forecast any more.
        let mut then = self.running.clone();
        then.hear(&entry, then.entries + 1);
        let case = recorded(&self.code, &then).map_err(|error| NoDeed::NotForThisCase(error.to_string()))?;
        self.known.bears(&case).map_err(|error| NoDeed::NotForThisCase(error.to_string()))?;
        Ok(entry)
    }

    /// What could not be kept yet.
    pub fn unkept(&self) -> &[Entry] {
        &self.unkept
    }

    /// Does something: it is on the disk when this returns.
    ///
    /// # Errors
    /// When it is refused, or the store cannot keep it.
    pub async fn act(
        &mut self,
        store: &impl Store,
        deed: Deed,
        at: &Moment,
    ) -> Result<Acknowledged, NotDone> {
        let entry = self.entry(deed, at)?;
        self.keep(store, entry).await
    }

    /// Records an entry, also one that could not be kept before; a second time changes nothing.
    ///
    /// # Errors
    /// When the store cannot keep it.
    pub async fn keep(&mut self, store: &impl Store, entry: Entry) -> Result<Acknowledged, NotDone> {
        let kept = store.append(std::slice::from_ref(&entry)).await;
        let acknowledged = match kept.map(|list| list.first().copied()) {
            Ok(Some(acknowledged)) => acknowledged,
            Ok(None) => {
                let source =
                    StoreError::Other { path: String::new(), why: "nothing was acknowledged".to_owned() };
                return Err(NotDone::NotKept { entry: Box::new(entry), source });
            }
            Err(source) => {
                if !self.unkept.contains(&entry) {
                    self.unkept.push(entry.clone());
                }
                self.take_up(self.history.clone())?;
                return Err(NotDone::NotKept { entry: Box::new(entry), source });
            }
        };
        self.unkept.retain(|unkept| unkept.id != entry.id);
        // The entry is kept; when what others did cannot be read just now, what is known goes on.
        if let Err(NotDone::Unreadable(error)) = self.follow(store).await {
            return Err(error.into());
        }
        Ok(acknowledged)
    }

    /// Takes over what others have recorded. True when there was something.
    ///
    /// # Errors
    /// When the store cannot be read, or the case no longer reads.
    pub async fn follow(&mut self, store: &impl Store) -> Result<bool, NotDone> {
        let Ok(history) = store.history(&self.code).await else { return Ok(false) };
        if history.len() == self.history.len() {
            return Ok(false);
        }
        self.take_up(history)?;
        Ok(true)
    }

    fn take_up(&mut self, history: Vec<Kept>) -> Result<(), NotDone> {
        let mut running = Running::replay(&history);
        for entry in &self.unkept {
            running.hear(entry, running.entries + 1);
        }
        self.case = recorded(&self.code, &running)?;
        self.running = running;
        self.history = history;
        Ok(())
    }

    /// Stops of the rulebook: which hold, and how many unanswered questions could make one hold.
    pub fn stops(&self) -> Stops {
        let look = counsel::cautions::look(self.known.rulebook(), &load::view(&self.case));
        let stop = |rule: &counsel::cautions::Rule| rule.level == counsel::cautions::Level::Stop;
        let holding = look.fired.iter().filter(|fired| stop(fired.rule));
        let mut asked: Vec<&str> = look
            .open
            .iter()
            .filter(|open| stop(open.rule))
            .flat_map(|open| open.hangs_on.iter().copied())
            .collect();
        asked.sort_unstable();
        asked.dedup();
        Stops {
            holding: holding.map(|fired| (fired.rule.id.clone(), fired.rule.says.clone())).collect(),
            open: asked.len(),
        }
    }

    /// What the chain says at a moment.
    ///
    /// # Errors
    /// When the chain refuses the case.
    pub fn forecast(&self, effort: Effort, now: Instant) -> Result<Forecast> {
        self.known.forecast(&self.case, effort, now).with_context(|| self.code.to_string())
    }
}

/// The case that a history holds: as it was last stated, with the stamps and readings that count.
///
/// # Errors
/// When it was never stated, or no longer reads.
pub fn recorded(code: &CaseCode, running: &Running) -> Result<Case, load::Unreadable> {
    let name = format!("{code} as recorded");
    let text = running.stated.as_ref().map_or("", |stated| stated.case_file.as_str());
    let mut case = case_file::parse(&name, text).map_err(load::Unreadable)?;
    case.stamps = running.stamps();
    case.observations = running.observations();
    // While the tray is in, cords may be in; once it is out they are missed, and the rulebook is told.
    let balances = running.balances();
    if running.stamp_of(Step::Removed).is_some() && !balances.is_empty() {
        let sum = |of: fn(&Balance) -> u32| f64::from(balances.iter().map(of).sum::<u32>());
        for (name, number) in
            [("cords_in", sum(|balance| balance.into)), ("cords_out", sum(|balance| balance.out))]
        {
            // More than a case file may say stays unanswered, and the counts themselves are shown.
            let _ = case.visit.answer("visit", name, Fact::Known(Answer::Number(number)));
        }
    }
    Ok(case)
}

impl From<Invalid> for NoDeed {
    fn from(invalid: Invalid) -> Self {
        NoDeed::Refused(invalid.into())
    }
}
