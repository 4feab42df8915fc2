//! One thing that happened, as it is kept.

use serde::{Deserialize, Serialize};
use terms::{CaseCode, Counted, Instant, Invalid, Reading, Step};

use crate::class::check_learner;

/// Identifier of an entry, given by whoever records it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct EntryId(uuid::Uuid);

impl EntryId {
    /// An identifier that nothing else has.
    pub fn fresh() -> EntryId {
        EntryId(uuid::Uuid::new_v4())
    }

    /// An identifier from 128 bits, for tests and for what must be repeatable.
    pub const fn from_bits(bits: u128) -> EntryId {
        EntryId(uuid::Uuid::from_u128(bits))
    }

    /// The identifier that is written like this; none when it is not one.
    pub fn from_text(text: &str) -> Option<EntryId> {
        uuid::Uuid::try_parse(text).ok().map(EntryId)
    }
}

impl std::fmt::Display for EntryId {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        self.0.fmt(f)
    }
}

/// One start of one machine.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct BootId(pub String);

/// A moment as the clocks of a machine tell it.
#[derive(Clone, Debug, PartialEq, Eq, Serialize, Deserialize)]
pub struct Moment {
    /// The wall clock, which somebody may set.
    pub wall: Instant,
    /// Which start of which machine; none where the machine does not say.
    pub boot: Option<BootId>,
    /// Time since that start, sleep included, ms.
    pub since_boot_ms: Option<i64>,
}

/// Into the mouth, or out of it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Moved {
    /// Put in, or seen to be there.
    In,
    /// Taken out.
    Out,
}

/// What happened.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
#[serde(tag = "kind", rename_all = "snake_case")]
pub enum What {
    /// Situation and route were stated, or stated anew, as the text of a case file.
    Stated {
        /// The case file.
        case_file: String,
    },
    /// A step happened.
    Stamped {
        /// Step.
        step: Step,
        /// How long before it was recorded, ms.
        earlier_ms: i64,
    },
    /// A step is left out.
    Skipped {
        /// Step.
        step: Step,
        /// Why.
        reason: String,
    },
    /// Something was read or seen.
    Observed {
        /// What.
        reading: Reading,
        /// How long before it was recorded, ms.
        earlier_ms: i64,
    },
    /// Cords or fragments went in or came out.
    Counted {
        /// What is counted.
        item: Counted,
        /// Which way.
        moved: Moved,
        /// How many.
        number: u32,
    },
    /// An earlier entry was a mistake and does not count.
    TakenBack {
        /// That entry.
        entry: EntryId,
    },
    /// A caution, a stop or an end of a window was overruled.
    Overruled {
        /// Which.
        what: String,
        /// Why.
        reason: String,
    },
    /// Something was measured that is no reading of the chain.
    Measured {
        /// What.
        what: String,
        /// In `unit`.
        value: f64,
        /// Unit.
        unit: String,
    },
    /// A remark.
    Noted {
        /// The remark.
        text: String,
    },
    /// The chair side of the case is closed. With a difference in a count it carries who signs for it, why, and what is done about it.
    Closed {
        /// Initials of who signs; needed with a difference.
        signed: Option<String>,
        /// Why there is a difference.
        reason: Option<String>,
        /// When and how the patient is called back.
        recall: Option<String>,
    },
    /// A lot comes onto the shelf; only in the book of the clinic.
    Received {
        /// Identifier of its product.
        product: String,
        /// The label printed on it.
        lot: String,
        /// The last day or month on which it may be used, as 2027-03-31 or 2027-03; none where nothing is printed.
        expires: Option<String>,
    },
    /// A set of questions was composed; only in the history of a set.
    Composed {
        /// The set as JSON.
        document: String,
    },
    /// A learner answered an item; only in the history of a set.
    Answered {
        /// Code of the learner.
        learner: String,
        /// Identifier of the item.
        item: String,
        /// The answer as it is written in a table of answers; `-` for none.
        response: String,
    },
    /// A learner was shown the marks; only in the history of a set.
    MarksShown {
        /// Code of the learner.
        learner: String,
    },
    /// An item is taken out of the marking of a set, with the reason, or put back without one; only in the history of a set.
    Voided {
        /// Identifier of the item.
        item: String,
        /// Why; none puts it back.
        reason: Option<String>,
    },
    /// What a judge expects of a learner who only just passes; only in the history of a set.
    Expected {
        /// Initials of the judge.
        judge: String,
        /// Identifier of the item.
        item: String,
        /// Share of such learners who answer it, 0 to 1.
        share: f64,
    },
    /// A practical begins; only in its history.
    PracticalOpened {
        /// Name of the rubric.
        rubric: String,
        /// What is made, in words.
        about: String,
    },
    /// A marker rated the work of a learner in one criterion; only in the history of a practical.
    Rated {
        /// Code of the learner.
        learner: String,
        /// Initials of the marker.
        marker: String,
        /// Criterion of the rubric.
        criterion: String,
        /// Level, from 0; none where the marker could not see it.
        level: Option<u32>,
    },
}

impl What {
    /// The kind as it is written.
    pub fn kind(&self) -> &'static str {
        match self {
            What::Stated { .. } => "stated",
            What::Stamped { .. } => "stamped",
            What::Skipped { .. } => "skipped",
            What::Observed { .. } => "observed",
            What::Counted { .. } => "counted",
            What::TakenBack { .. } => "taken_back",
            What::Overruled { .. } => "overruled",
            What::Measured { .. } => "measured",
            What::Noted { .. } => "noted",
            What::Closed { .. } => "closed",
            What::Received { .. } => "received",
            What::Composed { .. } => "composed",
            What::Answered { .. } => "answered",
            What::MarksShown { .. } => "marks_shown",
            What::Voided { .. } => "voided",
            What::Expected { .. } => "expected",
            What::PracticalOpened { .. } => "practical_opened",
            What::Rated { .. } => "rated",
        }
    }

    /// How long before it was recorded it happened, ms.
    pub fn earlier_ms(&self) -> i64 {
        match self {
            What::Stamped { earlier_ms, .. } | What::Observed { earlier_ms, .. } => *earlier_ms,
            _ => 0,
        }
    }

    /// Numbers that JSON can hold, texts that are not endless.
    ///
    /// # Errors
    /// The first that is not.
    pub fn check(&self) -> Result<(), Invalid> {
        match self {
            What::Stated { case_file } if case_file.len() > MOST_CASE_FILE => Err(Invalid {
                field: "case file".to_owned(),
                given: format!("{} bytes", case_file.len()),
                allowed: format!("up to {MOST_CASE_FILE} bytes"),
            }),
            What::Stated { .. } | What::TakenBack { .. } | What::Counted { .. } => Ok(()),
            What::Stamped { earlier_ms, .. } => check_earlier(*earlier_ms),
            What::Observed { reading, earlier_ms } => {
                check_earlier(*earlier_ms)?;
                let read = terms::Observation { at: Instant::from_millis(0), reading: *reading };
                read.validate("reading")
            }
            What::Skipped { reason, .. } => check_text("reason", reason),
            What::Overruled { what, reason } => {
                check_text("what is overruled", what)?;
                check_text("reason", reason)
            }
            What::Measured { what, value, unit } => {
                check_text("what is measured", what)?;
                check_text("unit", unit)?;
                match value.is_finite() {
                    true => Ok(()),
                    false => Err(Invalid {
                        field: "value".to_owned(),
                        given: value.to_string(),
                        allowed: "a finite number".to_owned(),
                    }),
                }
            }
            What::Noted { text } => check_text("note", text),
            What::Received { product, lot, expires } => {
                check_text("product", product)?;
                terms::LotLabel::new(lot).map_err(|error| Invalid {
                    field: "lot".to_owned(),
                    given: format!("{:?}", error.given),
                    allowed: terms::LotLabel::ALLOWED.to_owned(),
                })?;
                expires.as_deref().map_or(Ok(()), check_day)
            }
            What::Composed { document } if document.len() > MOST_CASE_FILE => Err(Invalid {
                field: "set".to_owned(),
                given: format!("{} bytes", document.len()),
                allowed: format!("up to {MOST_CASE_FILE} bytes"),
            }),
            What::Composed { .. } => Ok(()),
            What::Answered { learner, item, response } => {
                check_learner(learner)?;
                check_text("item", item)?;
                check_text("answer", response)
            }
            What::MarksShown { learner } => check_learner(learner),
            What::Voided { item, reason } => {
                check_text("item", item)?;
                reason.as_deref().map_or(Ok(()), |reason| check_text("reason", reason))
            }
            What::Expected { judge, item, share } => {
                check_initials(judge)?;
                check_text("item", item)?;
                match (0.0..=1.0).contains(share) {
                    true => Ok(()),
                    false => Err(Invalid {
                        field: "share".to_owned(),
                        given: share.to_string(),
                        allowed: "0 to 1".to_owned(),
                    }),
                }
            }
            What::PracticalOpened { rubric, about } => {
                check_text("rubric", rubric)?;
                check_text("about", about)
            }
            What::Rated { learner, marker, criterion, level } => {
                check_learner(learner)?;
                check_initials(marker)?;
                check_text("criterion", criterion)?;
                match level {
                    Some(level) if *level > 9 => Err(Invalid {
                        field: "level".to_owned(),
                        given: level.to_string(),
                        allowed: "0 to 9".to_owned(),
                    }),
                    _ => Ok(()),
                }
            }
            What::Closed { signed, reason, recall } => {
                if let Some(signed) = signed {
                    check_initials(signed)?;
                }
                for (field, text) in [("reason", reason), ("recall", recall)] {
                    if let Some(text) = text {
                        check_text(field, text)?;
                    }
                }
                Ok(())
            }
        }
    }
}

/// The largest case file that is kept, bytes.
const MOST_CASE_FILE: usize = 1024 * 1024;

/// The longest text of a reason or a note, characters.
const MOST_TEXT: usize = 600;

/// A stamp may be recorded up to a day late, ms.
const MOST_EARLIER_MS: i64 = 24 * 3600 * 1000;

/// A text of some words.
///
/// # Errors
/// An empty or endless text, or one with control characters.
pub fn check_text(field: &'static str, text: &str) -> Result<(), Invalid> {
    let length = text.trim().chars().count();
    let control = text.chars().any(|c| c.is_control() && c != '\n');
    if (1..=MOST_TEXT).contains(&length) && !control {
        return Ok(());
    }
    let given = match control {
        true => "a control character".to_owned(),
        false => format!("{length} characters"),
    };
    Err(Invalid { field: field.to_owned(), given, allowed: format!("1 to {MOST_TEXT} characters of text") })
}

/// Initials of staff, so that no name is kept.
fn check_initials(text: &str) -> Result<(), Invalid> {
    if (2..=4).contains(&text.len()) && text.bytes().all(|b| b.is_ascii_uppercase()) {
        return Ok(());
    }
    Err(Invalid {
        field: "signed".to_owned(),
        given: format!("{text:?}"),
        allowed: "two to four capital letters".to_owned(),
    })
}

/// "2027-03" or "2027-03-31".
fn check_day(text: &str) -> Result<(), Invalid> {
    let parts: Vec<&str> = text.split('-').collect();
    let number = |place: usize, digits: usize| {
        let part = parts.get(place).filter(|part| part.len() == digits)?;
        part.bytes().all(|b| b.is_ascii_digit()).then(|| part.parse::<u32>().ok()).flatten()
    };
    let year = number(0, 4).is_some_and(|year| (2000..2100).contains(&year));
    let month = number(1, 2).is_some_and(|month| (1..=12).contains(&month));
    let day = parts.len() == 2 || number(2, 2).is_some_and(|day| (1..=31).contains(&day));
    if year && month && day && parts.len() <= 3 {
        return Ok(());
    }
    Err(Invalid {
        field: "expires".to_owned(),
        given: format!("{text:?}"),
        allowed: "a day as 2027-03-31 or a month as 2027-03".to_owned(),
    })
}

fn check_earlier(ms: i64) -> Result<(), Invalid> {
    if (0..=MOST_EARLIER_MS).contains(&ms) {
        return Ok(());
    }
    Err(Invalid {
        field: "earlier".to_owned(),
        given: format!("{ms} ms"),
        allowed: "0 to 24 h before it is recorded".to_owned(),
    })
}

/// One thing that happened to a case.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Entry {
    /// Identifier; the same entry recorded twice is kept once.
    pub id: EntryId,
    /// Case.
    pub case: CaseCode,
    /// When it was recorded.
    pub at: Moment,
    /// What happened.
    pub what: What,
}
