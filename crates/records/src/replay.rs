//! The state that a history gives.

use terms::{CaseCode, Counted, Instant, Observation, Stamp, Step};

use crate::clocks::{Clocks, Doubt};
use crate::entry::{Entry, EntryId, Moment, Moved, What};
use crate::seal::Seal;

/// An entry in the history of its case.
#[derive(Clone, Debug, PartialEq)]
pub struct Kept {
    /// The entry.
    pub entry: Entry,
    /// Its place, from 1.
    pub number: u64,
    /// Hash of it and all before it.
    pub seal: Seal,
}

/// Situation and route as last stated.
#[derive(Clone, Debug, PartialEq)]
pub struct Stated {
    /// Place in the history.
    pub number: u64,
    /// Text of a case file.
    pub case_file: String,
}

/// A stamp that counts.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct KeptStamp {
    /// Entry.
    pub id: EntryId,
    /// Step and moment.
    pub stamp: Stamp,
    /// Whether its moment is to be doubted.
    pub doubt: Option<Doubt>,
}

/// A reading that counts.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct KeptReading {
    /// Entry.
    pub id: EntryId,
    /// Reading and moment.
    pub observation: Observation,
}

/// A reason that was given, for a step left out or for something overruled.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Reason {
    /// Entry.
    pub id: EntryId,
    /// When.
    pub at: Instant,
    /// What it is about.
    pub what: String,
    /// The reason.
    pub reason: String,
}

/// How many of something went in and came out.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
pub struct Balance {
    /// What is counted.
    pub item: Counted,
    /// In.
    pub into: u32,
    /// Out.
    pub out: u32,
}

/// The chair side was closed.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Closing {
    /// Entry.
    pub id: EntryId,
    /// When.
    pub at: Instant,
    /// Who signs for a difference.
    pub signed: Option<String>,
    /// Why there is one.
    pub reason: Option<String>,
    /// How the patient is called back.
    pub recall: Option<String>,
}

/// An entry of the history that does not count, and why. It is shown, never dropped.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Unheard {
    /// Place in the history.
    pub number: u64,
    /// Kind.
    pub kind: &'static str,
    /// Why.
    pub why: Refusal,
}

/// Why something cannot be recorded now.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// The step has its stamp.
    #[error("\"{0}\" is stamped already: take it back first")]
    Stamped(Step),
    /// It would come out of order.
    #[error(
        "\"{step}\" would come {side} \"{other}\", which is stamped: take that back first, or say when it happened"
    )]
    OutOfOrder {
        /// The step.
        step: Step,
        /// Which side it would be on.
        side: &'static str,
        /// The step that is stamped.
        other: Step,
    },
    /// What is taken back is not there, or has been taken back, or cannot be.
    #[error("there is nothing to take back under this identifier")]
    Nothing,
    /// None or very many at once.
    #[error("{0} at once: 1 to 30 are counted")]
    Number(u32),
    /// Counts differ and nobody signs for it.
    #[error("the counts differ ({0}): close with a reason, initials, and when the patient is called back")]
    Difference(String),
    /// Nothing to close, stamp or count: the case has not been stated.
    #[error("the case has not been stated yet")]
    NotStated,
    /// It belongs in the book of the clinic.
    #[error("a lot belongs in the book of the clinic, not in a case")]
    OfTheClinic,
    /// It belongs to a set of questions or a practical.
    #[error("answers and marks belong to a set of questions or a practical, not to a case")]
    OfTheClass,
    /// Not a text or figure that is kept.
    #[error(transparent)]
    Given(#[from] terms::Invalid),
}

impl serde::Serialize for Refusal {
    fn serialize<S: serde::Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

/// A case as its history leaves it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Running {
    /// Situation and route.
    pub stated: Option<Stated>,
    /// Stamps, in the order of the steps.
    pub stamps: Vec<KeptStamp>,
    /// Readings and findings, in the order in which they were recorded.
    pub readings: Vec<KeptReading>,
    /// Steps left out.
    pub skipped: Vec<(Step, Reason)>,
    /// What was overruled.
    pub overruled: Vec<Reason>,
    /// Further measurements, as text with their unit.
    pub measured: Vec<Reason>,
    /// Remarks.
    pub notes: Vec<Reason>,
    /// The closing of the chair side.
    pub closed: Option<Closing>,
    /// What does not count.
    pub unheard: Vec<Unheard>,
    /// Doubts of clocks, with the place of the entry.
    pub doubts: Vec<(u64, Doubt)>,
    /// Entries.
    pub entries: u64,
    counts: Vec<(EntryId, Counted, Moved, u32)>,
    clocks: Clocks,
}

impl Running {
    /// The state that a history gives. Entries that cannot count are listed as unheard; nothing fails.
    pub fn replay(history: &[Kept]) -> Running {
        let mut running = Running::default();
        for kept in history {
            running.hear(&kept.entry, kept.number);
        }
        running
    }

    /// Adds one more entry.
    pub fn hear(&mut self, entry: &Entry, number: u64) {
        let (recorded, doubt) = self.clocks.place(&entry.at);
        self.entries = number;
        if let Some(doubt) = &doubt {
            self.doubts.push((number, doubt.clone()));
        }
        let at = recorded.plus_seconds(-(entry.what.earlier_ms() as f64) / 1000.0);
        match self.refuses(&entry.what, at) {
            Some(why) => self.unheard.push(Unheard { number, kind: entry.what.kind(), why }),
            None => self.count(entry, number, at, doubt),
        }
    }

    /// Where the present lies among the moments of this case.
    pub fn present(&self, moment: &Moment) -> (Instant, Option<Doubt>) {
        self.clocks.placed(moment)
    }

    /// Why something would not count if it were recorded as having happened `at`; none when it would.
    pub fn refuses(&self, what: &What, at: Instant) -> Option<Refusal> {
        if let Err(invalid) = what.check() {
            return Some(Refusal::Given(invalid));
        }
        if self.stated.is_none() && !matches!(what, What::Stated { .. }) {
            return Some(Refusal::NotStated);
        }
        match what {
            What::Received { .. } => Some(Refusal::OfTheClinic),
            What::Composed { .. }
            | What::Answered { .. }
            | What::MarksShown { .. }
            | What::Voided { .. }
            | What::Expected { .. }
            | What::PracticalOpened { .. }
            | What::Rated { .. } => Some(Refusal::OfTheClass),
            What::Stamped { step, .. } => self.refuses_stamp(*step, at),
            What::Skipped { step, .. } if self.stamp_of(*step).is_some() => Some(Refusal::Stamped(*step)),
            What::TakenBack { entry } if !self.holds(*entry) => Some(Refusal::Nothing),
            What::Counted { number, .. } if !(1..=30).contains(number) => Some(Refusal::Number(*number)),
            What::Closed { signed, reason, recall } => {
                let open = self.differences();
                let signed_for = signed.is_some() && reason.is_some() && recall.is_some();
                (!open.is_empty() && !signed_for).then(|| Refusal::Difference(in_words(&open)))
            }
            _ => None,
        }
    }

    fn refuses_stamp(&self, step: Step, at: Instant) -> Option<Refusal> {
        for KeptStamp { stamp, .. } in &self.stamps {
            let wrong = match stamp.step.cmp(&step) {
                std::cmp::Ordering::Equal => return Some(Refusal::Stamped(step)),
                std::cmp::Ordering::Less => (at < stamp.at).then_some("before"),
                std::cmp::Ordering::Greater => (at > stamp.at).then_some("after"),
            };
            if let Some(side) = wrong {
                return Some(Refusal::OutOfOrder { step, side, other: stamp.step });
            }
        }
        None
    }

    fn count(&mut self, entry: &Entry, number: u64, at: Instant, doubt: Option<Doubt>) {
        let id = entry.id;
        let said =
            |what: &str, reason: &str| Reason { id, at, what: what.to_owned(), reason: reason.to_owned() };
        match &entry.what {
            What::Stated { case_file } => self.stated = Some(Stated { number, case_file: case_file.clone() }),
            What::Stamped { step, .. } => {
                self.skipped.retain(|(skipped, _)| skipped != step);
                self.stamps.push(KeptStamp { id, stamp: Stamp { step: *step, at }, doubt });
                self.stamps.sort_by_key(|kept| kept.stamp.step);
            }
            What::Skipped { step, reason } => {
                self.skipped.retain(|(skipped, _)| skipped != step);
                self.skipped.push((*step, said(step.word(), reason)));
            }
            What::Observed { reading, .. } => {
                self.readings.push(KeptReading { id, observation: Observation { at, reading: *reading } });
            }
            What::Counted { item, moved, number } => {
                self.counts.push((id, *item, *moved, *number));
                // Whoever closed did so on another count.
                self.closed = None;
            }
            What::TakenBack { entry } => self.take_back(*entry),
            What::Overruled { what, reason } => self.overruled.push(said(what, reason)),
            What::Measured { what, value, unit } => {
                self.measured.push(said(what, &format!("{value} {unit}")))
            }
            What::Noted { text } => self.notes.push(said("note", text)),
            // Refused above.
            What::Received { .. }
            | What::Composed { .. }
            | What::Answered { .. }
            | What::MarksShown { .. }
            | What::Voided { .. }
            | What::Expected { .. }
            | What::PracticalOpened { .. }
            | What::Rated { .. } => {}
            What::Closed { signed, reason, recall } => {
                self.closed = Some(Closing {
                    id,
                    at,
                    signed: signed.clone(),
                    reason: reason.clone(),
                    recall: recall.clone(),
                });
            }
        }
    }

    /// Whether this entry counts and can be taken back.
    fn holds(&self, id: EntryId) -> bool {
        let reasons = [&self.overruled, &self.measured, &self.notes];
        self.stamps.iter().any(|kept| kept.id == id)
            || self.readings.iter().any(|kept| kept.id == id)
            || self.skipped.iter().any(|(_, reason)| reason.id == id)
            || self.counts.iter().any(|(counted, ..)| *counted == id)
            || reasons.iter().any(|list| list.iter().any(|reason| reason.id == id))
            || self.closed.as_ref().is_some_and(|closing| closing.id == id)
    }

    fn take_back(&mut self, id: EntryId) {
        self.stamps.retain(|kept| kept.id != id);
        self.readings.retain(|kept| kept.id != id);
        self.skipped.retain(|(_, reason)| reason.id != id);
        if self.counts.iter().any(|(counted, ..)| *counted == id) {
            self.closed = None;
        }
        self.counts.retain(|(counted, ..)| *counted != id);
        for list in [&mut self.overruled, &mut self.measured, &mut self.notes] {
            list.retain(|reason| reason.id != id);
        }
        if self.closed.as_ref().is_some_and(|closing| closing.id == id) {
            self.closed = None;
        }
    }

    /// The stamp of a step.
    pub fn stamp_of(&self, step: Step) -> Option<&KeptStamp> {
        self.stamps.iter().find(|kept| kept.stamp.step == step)
    }

    /// The next step that is neither stamped nor left out, after the last stamped one.
    pub fn next_step(&self) -> Option<Step> {
        let last = self.stamps.iter().map(|kept| kept.stamp.step).max();
        Step::ALL.iter().copied().find(|step| {
            last.is_none_or(|last| *step > last) && !self.skipped.iter().any(|(skipped, _)| skipped == step)
        })
    }

    /// The entry that a plain "take back" means: the last of stamps, skips, counts and closings that counts.
    pub fn last_taken(&self, history: &[Kept]) -> Option<EntryId> {
        let counts = |kept: &&Kept| {
            matches!(
                kept.entry.what,
                What::Stamped { .. } | What::Skipped { .. } | What::Counted { .. } | What::Closed { .. }
            ) && self.holds(kept.entry.id)
        };
        history.iter().rev().find(counts).map(|kept| kept.entry.id)
    }

    /// Stamps as the chain takes them.
    pub fn stamps(&self) -> Vec<Stamp> {
        self.stamps.iter().map(|kept| kept.stamp).collect()
    }

    /// Readings as the chain takes them. Of several findings of the same thing the one recorded last counts, and one that says that nobody
    /// has looked after all withdraws those before it.
    pub fn observations(&self) -> Vec<Observation> {
        let seen = self.readings.iter().map(|kept| kept.observation);
        seen.enumerate()
            .filter(|(place, seen)| {
                let later = self.readings.get(place + 1..).unwrap_or_default();
                !seen.reading.is_not_looked()
                    && !later.iter().any(|kept| kept.observation.reading.is_of_the_same(&seen.reading))
            })
            .map(|(_, seen)| seen)
            .collect()
    }

    /// Everything that was counted.
    pub fn balances(&self) -> Vec<Balance> {
        let mut list = Vec::new();
        for &item in Counted::ALL {
            let sum = |way: Moved| {
                let of =
                    self.counts.iter().filter(|(_, counted, moved, _)| *counted == item && *moved == way);
                of.fold(0u32, |sum, (.., number)| sum.saturating_add(*number))
            };
            let balance = Balance { item, into: sum(Moved::In), out: sum(Moved::Out) };
            if balance.into > 0 || balance.out > 0 {
                list.push(balance);
            }
        }
        list
    }

    /// What did not come out, or came out without having gone in.
    pub fn differences(&self) -> Vec<Balance> {
        self.balances().into_iter().filter(|balance| balance.into != balance.out).collect()
    }
}

/// "2 cords in, 1 out".
fn in_words(balances: &[Balance]) -> String {
    let one = |balance: &Balance| format!("{}: {} in, {} out", balance.item, balance.into, balance.out);
    balances.iter().map(one).collect::<Vec<_>>().join("; ")
}

impl Kept {
    /// Case.
    pub fn case(&self) -> &CaseCode {
        &self.entry.case
    }
}
