//! Sets and practicals in the store: composed, answered, rated; what the pages and the command line share.

use anyhow::{Context, Result, bail};
use questions::answer_file::{Problems, read_csv};
use questions::answers::Answers;
use questions::{Blueprint, Item, QuestionSet, compose};
use records::{Entry, EntryId, Moment, PracticalBook, SetBook, Store, What};
use terms::CaseCode;

use crate::load::Known;

/// What is written where a learner gives no answer.
pub const BLANK: &str = "-";

/// A set that was composed, with what came in.
pub struct Sitting {
    /// Code.
    pub code: CaseCode,
    /// The set as it was frozen.
    pub set: QuestionSet,
    /// Its items, in their order.
    pub items: Vec<Item>,
    /// Answers, and what judges expect.
    pub book: SetBook,
}

impl Sitting {
    /// Opens a set.
    ///
    /// # Errors
    /// When there is no such set, or its history does not read.
    pub async fn open(store: &impl Store, code: &CaseCode) -> Result<Sitting> {
        let book = SetBook::replay(&store.history(code).await?);
        let Some(document) = book.document.as_deref().filter(|_| SetBook::is(code)) else {
            bail!("there is no set {code}");
        };
        let set: QuestionSet =
            serde_json::from_str(document).with_context(|| format!("{code} does not read"))?;
        let items = set.items.iter().map(|frozen| frozen.item.clone()).collect();
        Ok(Sitting { code: code.clone(), set, items, book })
    }

    /// The answers of the class, read by the grammar of a table of answers.
    ///
    /// # Errors
    /// What cannot be read, which the checks on the way in keep out.
    pub fn answers(&self) -> Result<Answers, Problems> {
        read_csv(&self.table(), &self.items)
    }

    /// Items that count, in their order: all that were not taken out of the marking.
    pub fn counted(&self) -> Vec<&Item> {
        self.items.iter().filter(|item| !self.book.voided.contains_key(&item.id)).collect()
    }

    /// The answers to the items that count.
    ///
    /// # Errors
    /// As [`Sitting::answers`].
    pub fn answers_counted(&self) -> Result<Answers, Problems> {
        Ok(self.answers()?.without(|item| self.book.voided.contains_key(item)))
    }

    /// The answers as a table: learners by items.
    pub fn table(&self) -> String {
        let quoted = |text: &str| format!("\"{}\"", text.replace('"', "\"\""));
        let mut table = String::from("learner");
        for item in &self.items {
            table.push(',');
            table.push_str(&quoted(&item.id));
        }
        table.push('\n');
        for learner in self.book.learners() {
            table.push_str(learner);
            for item in &self.items {
                let answer = self.book.answers.get(&(learner.to_owned(), item.id.clone()));
                let text = answer.map_or("", |(_, text)| if text == BLANK { "" } else { text.as_str() });
                table.push(',');
                table.push_str(&quoted(text));
            }
            table.push('\n');
        }
        table
    }
}

/// The code of the set of a number.
///
/// # Errors
/// A number of more than six digits.
pub fn code_of(letters: &str, number: u64) -> Result<CaseCode> {
    CaseCode::new(&format!("{letters}-{number:04}"))
        .map_err(|_| anyhow::anyhow!("number: given {number}; allowed 0 to 999999"))
}

/// Composes the set of a number and keeps it; a set that is there already stays as it was frozen.
///
/// # Errors
/// A blueprint that cannot be composed, or a store that does not keep.
pub async fn compose_and_keep(
    store: &impl Store,
    known: &Known,
    number: u64,
    blueprint: &Blueprint,
    at: &Moment,
) -> Result<CaseCode> {
    let code = free(store, number).await?;
    keep_composed(store, &code, &composed(known, number, blueprint)?, at).await?;
    Ok(code)
}

/// The code of a number that no set has yet.
///
/// # Errors
/// A number that a set has, or that is none.
pub async fn free(store: &impl Store, number: u64) -> Result<CaseCode> {
    let code = code_of(SetBook::LETTERS, number)?;
    if SetBook::replay(&store.history(&code).await?).document.is_some() {
        bail!("number: given {number}, and {code} is there already; a frozen set is not composed anew");
    }
    Ok(code)
}

/// Composes a set: some seconds of work, and nothing is kept.
///
/// # Errors
/// A blueprint that cannot be composed.
pub fn composed(known: &Known, number: u64, blueprint: &Blueprint) -> Result<QuestionSet> {
    Ok(compose(&known.world(), known.templates()?, number, blueprint)?)
}

/// Keeps a set that was composed.
///
/// # Errors
/// A store that does not keep.
pub async fn keep_composed(
    store: &impl Store,
    code: &CaseCode,
    set: &QuestionSet,
    at: &Moment,
) -> Result<()> {
    keep(store, code, vec![What::Composed { document: serde_json::to_string(set)? }], at).await
}

/// Keeps the answers of a table: what a learner answered before is replaced where the table says something, and an empty cell leaves it.
///
/// # Errors
/// Every problem of the table, and then nothing is kept.
pub async fn keep_table(store: &impl Store, sitting: &Sitting, text: &str, at: &Moment) -> Result<usize> {
    let answers = read_csv(text, &sitting.items)?;
    let mut list = Vec::new();
    for (learner, responses) in &answers.learners {
        for (item, response) in answers.items.iter().zip(responses) {
            let learner = learner.as_str().to_owned();
            let answered = sitting.book.answers.contains_key(&(learner.clone(), item.clone()));
            if answered && *response == questions::Response::Blank {
                continue;
            }
            list.push(What::Answered { learner, item: item.clone(), response: written(response) });
        }
    }
    let count = answers.learners.len();
    keep(store, &sitting.code, list, at).await?;
    Ok(count)
}

/// An answer as it is kept.
pub fn written(response: &questions::Response) -> String {
    match response {
        questions::Response::Blank => BLANK.to_owned(),
        questions::Response::Choice(id) => id.clone(),
        questions::Response::Order(ids) => ids.join(">"),
        questions::Response::Number(number) => number.to_string(),
    }
}

/// Keeps what happened to a set or a practical.
///
/// # Errors
/// What may not be kept, and then nothing is; a store that does not keep.
pub async fn keep(store: &impl Store, code: &CaseCode, list: Vec<What>, at: &Moment) -> Result<()> {
    for what in &list {
        what.check()?;
    }
    let entry = |what| Entry { id: EntryId::fresh(), case: code.clone(), at: at.clone(), what };
    let entries: Vec<Entry> = list.into_iter().map(entry).collect();
    store.append(&entries).await?;
    Ok(())
}

/// Sets and practicals of the store, the last touched first.
///
/// # Errors
/// When the store cannot be read.
pub async fn all(store: &impl Store) -> Result<(Vec<CaseCode>, Vec<CaseCode>)> {
    let mut lines = store.cases().await?;
    lines.sort_by(|a, b| b.last.cmp(&a.last).then_with(|| a.case.cmp(&b.case)));
    let of =
        |is: fn(&CaseCode) -> bool| lines.iter().map(|line| line.case.clone()).filter(is).collect::<Vec<_>>();
    Ok((of(SetBook::is), of(PracticalBook::is)))
}
