//! A practical exercise as its history leaves it: what markers gave, learner by learner, and who has seen what.
//!
//! Markers rate blind of each other: what somebody gave is shown to another marker of the same work only after that one has rated all of it.
//! What is changed after that is a rating like any other, and no longer a blind one: agreement is told of the blind ones.

use std::collections::{BTreeMap, BTreeSet};

use anyhow::{Context, Result, bail};
use questions::agreement::Marking;
use questions::rubric::{self, Criterion, Rubric};
use records::{Kept, PracticalBook, Store, What};
use terms::{CaseCode, Fact};

/// Initials of a marker, in words.
pub const INITIALS_ALLOWED: &str = "two to four capital letters, such as \"AB\"; never a name";

/// A practical with its rubric.
pub struct Practical {
    /// Code.
    pub code: CaseCode,
    /// What it is about.
    pub about: String,
    /// What it is marked by.
    pub rubric: Rubric,
    /// What was rated.
    pub book: PracticalBook,
    /// What each marker gave last before another's could be seen.
    pub blind: Ratings,
    /// What was changed after that.
    pub changed_late: BTreeSet<Key>,
}

/// Learner, marker, criterion.
pub type Key = (String, String, String);
/// Levels; none where the marker could not see it.
pub type Ratings = BTreeMap<Key, Option<u32>>;

/// One criterion of the work of one learner.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Place<'a> {
    /// Learner.
    pub learner: &'a str,
    /// Criterion.
    pub criterion: &'a Criterion,
}

impl Practical {
    /// Opens a practical.
    ///
    /// # Errors
    /// When there is no such practical, or its rubric is not known.
    pub async fn open(store: &impl Store, code: &CaseCode) -> Result<Practical> {
        let history = store.history(code).await?;
        let book = PracticalBook::replay(&history);
        let Some((name, about)) = book.opened.clone().filter(|_| PracticalBook::is(code)) else {
            bail!("there is no practical {code}");
        };
        let rubric = rubric::shipped(&name).with_context(|| code.to_string())?;
        let (blind, changed_late) = blind(&rubric, &history);
        Ok(Practical { code: code.clone(), about, rubric, book, blind, changed_late })
    }

    /// What a marker gave: nothing where that is still open, unknown where it could not be seen.
    pub fn given(&self, learner: &str, marker: &str, criterion: &Criterion) -> Option<Fact<usize>> {
        read(&self.book.ratings, learner, marker, criterion)
    }

    /// Criteria that a marker has not rated yet on the work of a learner.
    pub fn still_open(&self, learner: &str, marker: &str) -> Vec<&Criterion> {
        let open = |criterion: &&Criterion| self.given(learner, marker, criterion).is_none();
        self.rubric.criteria.iter().filter(open).collect()
    }

    /// Whether a marker has rated all of the work of a learner.
    pub fn has_rated_all(&self, learner: &str, marker: &str) -> bool {
        self.still_open(learner, marker).is_empty()
    }

    /// Whether a marker has rated some of it and not all.
    pub fn is_under_way(&self, learner: &str, marker: &str) -> bool {
        (1..self.rubric.criteria.len()).contains(&self.still_open(learner, marker).len())
    }

    /// Learners whose work all of these markers have rated wholly.
    pub fn rated_by<'a>(&'a self, markers: &[&str]) -> Vec<&'a str> {
        let wholly = |learner: &&str| markers.iter().all(|marker| self.has_rated_all(learner, marker));
        self.book.learners().into_iter().filter(wholly).collect()
    }

    /// Criteria by their number of levels: scales of different lengths are not compared.
    pub fn scales(&self) -> BTreeMap<usize, Vec<&Criterion>> {
        let mut scales: BTreeMap<usize, Vec<&Criterion>> = BTreeMap::new();
        for criterion in &self.rubric.criteria {
            scales.entry(criterion.levels.len()).or_default().push(criterion);
        }
        scales
    }

    /// What a marker gave blind at these places; what is open or could not be seen is unknown.
    pub fn levels(&self, marker: &str, places: &[Place]) -> Vec<Fact<usize>> {
        let given = |place: &Place| read(&self.blind, place.learner, marker, place.criterion);
        places.iter().map(|place| given(place).unwrap_or(Fact::Unknown)).collect()
    }

    /// What a marker gave blind to these learners, for a comparison with a reference.
    pub fn marking(&self, marker: &str, learners: &[&str]) -> Marking {
        self.marking_of(&self.blind, marker, learners)
    }

    /// The marking that others are compared with, as it stands now: it is settled, not blind.
    pub fn reference(&self, marker: &str, learners: &[&str]) -> Marking {
        self.marking_of(&self.book.ratings, marker, learners)
    }

    fn marking_of(&self, ratings: &Ratings, marker: &str, learners: &[&str]) -> Marking {
        let of = |learner: &str| {
            let level = |criterion: &Criterion| {
                let given = read(ratings, learner, marker, criterion).unwrap_or(Fact::Unknown);
                (criterion.id.clone(), given)
            };
            self.rubric.criteria.iter().map(level).collect()
        };
        learners.iter().map(|learner| ((*learner).to_owned(), of(learner))).collect()
    }
}

fn key(learner: &str, marker: &str, criterion: &str) -> Key {
    (learner.to_owned(), marker.to_owned(), criterion.to_owned())
}

fn read(ratings: &Ratings, learner: &str, marker: &str, criterion: &Criterion) -> Option<Fact<usize>> {
    let level = ratings.get(&key(learner, marker, &criterion.id))?;
    // A level that the criterion does not have came from elsewhere, and says nothing.
    let level = level.and_then(|level| usize::try_from(level).ok());
    Some(level.filter(|level| *level < criterion.levels.len()).map_or(Fact::Unknown, Fact::Known))
}

/// Ratings before the marker could see those of another, and what was changed after.
fn blind(rubric: &Rubric, history: &[Kept]) -> (Ratings, BTreeSet<Key>) {
    let (mut now, mut blind, mut late) = (Ratings::new(), Ratings::new(), BTreeSet::new());
    // Markers who have rated all, by learner.
    let mut whole: BTreeMap<String, BTreeSet<String>> = BTreeMap::new();
    for Kept { entry, .. } in history {
        let What::Rated { learner, marker, criterion, level } = &entry.what else { continue };
        if entry.what.check().is_err() {
            continue;
        }
        let key = key(learner, marker, criterion);
        let of_learner = whole.entry(learner.clone()).or_default();
        if of_learner.contains(marker) && of_learner.len() > 1 {
            if now.get(&key) != Some(level) {
                late.insert(key.clone());
            }
        } else {
            blind.insert(key.clone(), *level);
        }
        now.insert(key, *level);
        let is_rated = |criterion: &Criterion| read(&now, learner, marker, criterion).is_some();
        if rubric.criteria.iter().all(is_rated) {
            of_learner.insert(marker.clone());
        }
    }
    (blind, late)
}

/// A criterion on which two markers differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Difference<'a> {
    /// Criterion.
    pub criterion: &'a Criterion,
    /// Levels of the two.
    pub levels: [usize; 2],
}

impl Difference<'_> {
    /// Levels between the two.
    pub fn apart(&self) -> usize {
        self.levels[0].abs_diff(self.levels[1])
    }
}

/// Where two markers differ now on the work of a learner: plain faults first, then by share of the scale.
pub fn differences<'a>(practical: &'a Practical, learner: &str, markers: [&str; 2]) -> Vec<Difference<'a>> {
    let mut list: Vec<Difference> = Vec::new();
    for criterion in &practical.rubric.criteria {
        let [first, second] =
            markers.map(|marker| practical.given(learner, marker, criterion).and_then(|level| level.known()));
        if let (Some(first), Some(second)) = (first, second)
            && first != second
        {
            list.push(Difference { criterion, levels: [first, second] });
        }
    }
    let share = |of: &Difference| of.apart() as f64 / (of.criterion.levels.len() - 1) as f64;
    list.sort_by(|a, b| {
        let plain = b.criterion.plain_fault.cmp(&a.criterion.plain_fault);
        plain.then_with(|| share(b).total_cmp(&share(a)))
    });
    list
}

/// Every criterion of every learner.
pub fn places<'a>(learners: &[&'a str], criteria: &[&'a Criterion]) -> Vec<Place<'a>> {
    let of = |learner: &'a str| criteria.iter().map(move |criterion| Place { learner, criterion });
    learners.iter().flat_map(|learner| of(learner)).collect()
}

/// Refuses what are no initials of a marker.
///
/// # Errors
/// Anything but two to four capital letters.
pub fn check_initials(text: &str) -> Result<()> {
    if (2..=4).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_uppercase()) {
        return Ok(());
    }
    bail!("marker: given {text:?}; allowed {INITIALS_ALLOWED}")
}

/// What a form says of the levels of one marker, as entries: only what is new or changed.
///
/// # Errors
/// A criterion or a level that the rubric does not have; then nothing is kept.
pub fn changed<'a>(
    practical: &Practical,
    learner: &str,
    marker: &str,
    fields: impl Iterator<Item = (&'a str, &'a str)>,
) -> Result<Vec<What>> {
    let mut list = Vec::new();
    for (id, text) in fields {
        let criteria = &practical.rubric.criteria;
        let Some(criterion) = criteria.iter().find(|criterion| criterion.id == id) else {
            let allowed: Vec<&str> = criteria.iter().map(|criterion| criterion.id.as_str()).collect();
            bail!("criterion: given {id:?}; allowed {}", allowed.join(", "));
        };
        let most = criterion.levels.len() - 1;
        let level = match text {
            UNSEEN => Fact::Unknown,
            _ => match text.parse::<usize>() {
                Ok(level) if level <= most => Fact::Known(level),
                _ => bail!("{id}: given level {text:?}; allowed 0 to {most}, or {UNSEEN}"),
            },
        };
        if practical.given(learner, marker, criterion) != Some(level) {
            list.push(What::Rated {
                learner: learner.to_owned(),
                marker: marker.to_owned(),
                criterion: id.to_owned(),
                level: level.known().and_then(|level| u32::try_from(level).ok()),
            });
        }
    }
    Ok(list)
}

/// How a form says that a marker could not see it.
pub const UNSEEN: &str = "unseen";

/// The first number that no practical has.
pub fn next_number(codes: &[CaseCode]) -> u64 {
    let number = |code: &CaseCode| code.as_str().split_once('-').and_then(|(_, digits)| digits.parse().ok());
    codes.iter().filter_map(number).max().map_or(1, |most: u64| most + 1)
}
