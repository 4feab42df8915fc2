//! What an impression is disinfected with, and how long its material bears it.
//!
//! ```text
//! borne   <=>   labelled <= planned <= bears
//! ```
//!
//! The label gives the shortest contact that disinfects, the ledger the longest that the material is thought to bear without
//! a change of size or surface. Where the first exceeds the second there is no good contact: the answer is another agent or
//! method, never a shorter contact.

use std::ops::RangeInclusive;

use terms::{Agent, DisinfectionMethod, Grade, ImpressionClass};

use crate::Parameters;
use crate::snapshot::{check_filled, slug};

/// Longest contact that a row may speak of, s.
const DAY_S: f64 = 86_400.0;

/// An agent, how it is brought onto a class of material, and how long that class bears it.
#[derive(Clone, Debug, PartialEq, serde::Serialize, serde::Deserialize)]
#[serde(deny_unknown_fields)]
pub struct Disinfectant {
    /// `disinfection/class-agent-method`, each word with hyphens for spaces.
    pub key: String,
    /// Class of impression material.
    pub class: ImpressionClass,
    /// Agent.
    pub agent: Agent,
    /// How it is brought onto the impression.
    pub method: DisinfectionMethod,
    /// Usual range of the active substance, per cent by mass.
    pub concentration_percent: [f64; 2],
    /// Usual contact on labels, s; stands in where no label is entered.
    pub contact_min_s: f64,
    /// Longest contact at which the material is thought to keep its size and surface, s; 0 when the agent must not be used
    /// on this class in this way.
    pub bears_max_s: f64,
    /// What speaks for and against it, in one sentence; the reason when it must not be used.
    pub note: String,
    /// Author, year, journal, or the guidance and that it is recalled.
    pub source: String,
    /// How it was obtained from the source.
    pub how_read: String,
    /// Grade of `bears_max_s`.
    pub grade: Grade,
}

impl Disinfectant {
    /// Whether it must not be used on this class in this way.
    pub fn is_refused(&self) -> bool {
        self.bears_max_s == 0.0
    }

    /// The shortest contact that disinfects, s: the labelled one, or the usual one where no label is entered. A label that is
    /// not a positive number counts as none.
    pub fn needed_s(&self, labelled_s: Option<f64>) -> f64 {
        labelled_s.filter(|seconds| *seconds > 0.0).unwrap_or(self.contact_min_s)
    }

    /// What is wrong with the row, in words.
    pub(crate) fn check(&self) -> Result<(), String> {
        let words = [self.class.word(), self.agent.word(), self.method.word()].map(slug).join("-");
        if self.key != format!("disinfection/{words}") {
            return Err(format!("its content makes the key \"disinfection/{words}\""));
        }
        check_filled(&[("note", &self.note), ("source", &self.source), ("how_read", &self.how_read)])?;
        let [low, high] = self.concentration_percent;
        if !(low > 0.0 && low <= high && high <= 100.0) {
            return Err(format!(
                "concentration_percent [{low}, {high}] is not a range above 0 and up to 100"
            ));
        }
        // A usual contact of nothing would let any contact pass where no label is entered.
        check_seconds("contact_min_s", self.contact_min_s, f64::MIN_POSITIVE..=DAY_S)?;
        check_seconds("bears_max_s", self.bears_max_s, 0.0..=DAY_S)
    }
}

/// What a planned contact comes to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Bearing {
    /// The contact disinfects and the material bears it.
    Borne,
    /// The labelled contact is longer than the material bears: another agent or method.
    Conflict,
    /// The planned contact is shorter than the labelled one: not disinfected.
    TooShort,
    /// The planned contact is longer than the material bears.
    TooLong,
    /// There is no row for this class, agent and method.
    Unknown,
    /// The agent must not be used on this class in this way.
    Refused,
}

/// What a contact of `planned_s` comes to under a label of `labelled_s`, both in seconds.
///
/// Any numbers may be given. A planned contact below the label, or one that is not a number, is never [`Bearing::Borne`].
pub fn bearing(row: Option<&Disinfectant>, labelled_s: Option<f64>, planned_s: f64) -> Bearing {
    let Some(row) = row else { return Bearing::Unknown };
    let needed_s = row.needed_s(labelled_s);
    if row.is_refused() {
        Bearing::Refused
    } else if needed_s <= planned_s && planned_s <= row.bears_max_s {
        Bearing::Borne
    } else if needed_s > row.bears_max_s {
        Bearing::Conflict
    } else if planned_s > row.bears_max_s {
        Bearing::TooLong
    } else {
        Bearing::TooShort
    }
}

/// What may be used on `class` in place of `agent` by `method`: best grade first, then the longest margin between the contact
/// that is needed and the one that is borne, then by key.
///
/// The label of the given agent still binds where only the method changes; another agent has its usual contact.
pub fn alternatives(
    parameters: &Parameters,
    class: ImpressionClass,
    agent: Agent,
    method: DisinfectionMethod,
    labelled_s: Option<f64>,
) -> Vec<&Disinfectant> {
    let margin_s = |row: &Disinfectant| {
        let label = if row.agent == agent { labelled_s } else { None };
        row.bears_max_s - row.needed_s(label)
    };
    let mut rows: Vec<&Disinfectant> = parameters
        .disinfectants()
        .iter()
        .filter(|row| row.class == class && (row.agent, row.method) != (agent, method))
        .filter(|row| !row.is_refused() && margin_s(row) >= 0.0)
        .collect();
    rows.sort_by(|a, b| a.grade.cmp(&b.grade).then(margin_s(b).total_cmp(&margin_s(a))));
    rows
}

fn check_seconds(name: &str, seconds: f64, allowed: RangeInclusive<f64>) -> Result<(), String> {
    if allowed.contains(&seconds) {
        return Ok(());
    }
    let from = if *allowed.start() > 0.0 { "above 0" } else { "from 0" };
    Err(format!("{name} of {seconds} s is not {from} and up to {} s", allowed.end()))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn row(contact_min_s: f64, bears_max_s: f64) -> Disinfectant {
        Disinfectant {
            key: "disinfection/polyether-phenolic-spray".to_owned(),
            class: ImpressionClass::Polyether,
            agent: Agent::Phenolic,
            method: DisinfectionMethod::Spray,
            concentration_percent: [0.1, 0.5],
            contact_min_s,
            bears_max_s,
            note: "A note.".to_owned(),
            source: "a source".to_owned(),
            how_read: "judged".to_owned(),
            grade: Grade::Assumed,
        }
    }

    #[test]
    fn every_answer_has_its_case() {
        let row = row(600.0, 900.0);
        let bearing = |labelled_s, planned_s| super::bearing(Some(&row), labelled_s, planned_s);
        assert_eq!(bearing(None, 600.0), Bearing::Borne);
        assert_eq!(bearing(None, 599.0), Bearing::TooShort);
        assert_eq!(bearing(None, 900.0), Bearing::Borne);
        assert_eq!(bearing(None, 901.0), Bearing::TooLong);
        assert_eq!(bearing(Some(900.0), 900.0), Bearing::Borne);
        assert_eq!(bearing(Some(300.0), 300.0), Bearing::Borne);
        // A label beyond what is borne is a conflict, however long the contact is planned.
        for planned_s in [300.0, 900.0, 1200.0, 1800.0] {
            assert_eq!(bearing(Some(1200.0), planned_s), Bearing::Conflict);
        }
        assert_eq!(super::bearing(None, Some(600.0), 600.0), Bearing::Unknown);
        let refused = super::tests::row(600.0, 0.0);
        assert_eq!(super::bearing(Some(&refused), Some(600.0), 600.0), Bearing::Refused);
    }

    /// For any bits at all: `Borne` is at least the label and at most what is borne.
    #[test]
    fn prop_nothing_below_the_label_is_borne() {
        let corners = [
            0.0,
            -0.0,
            -600.0,
            5e-324,
            599.999_999_999_999_9,
            600.0,
            600.000_000_000_000_1,
            1800.0,
            1e300,
            f64::INFINITY,
            f64::NEG_INFINITY,
            f64::NAN,
        ];
        // SplitMix64 by Steele, Lea and Flood (2014), so that the bits are the same in every run.
        let mut state = 1_u64;
        let mut bits = || {
            state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
            let mut z = state;
            z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
            z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
            z ^ (z >> 31)
        };
        let mut borne = 0;
        for _ in 0..200_000 {
            // A corner, a time of up to half an hour, or any bits.
            let mut number = || match bits() % 3 {
                0 => corners[(bits() % corners.len() as u64) as usize],
                1 => (bits() % 1801) as f64,
                _ => f64::from_bits(bits()),
            };
            let (usual_s, bears_s, label_s, planned_s) = (number(), number(), number(), number());
            let row = row(usual_s, bears_s);
            for labelled_s in [None, Some(label_s)] {
                if bearing(Some(&row), labelled_s, planned_s) == Bearing::Borne {
                    borne += 1;
                    let least_s = if labelled_s.is_some() && label_s > 0.0 { label_s } else { usual_s };
                    assert!(planned_s >= least_s, "{planned_s} under {labelled_s:?}, usually {usual_s}");
                    assert!(planned_s <= bears_s, "{planned_s} where {bears_s} is borne");
                }
            }
        }
        assert!(borne > 10_000, "only {borne} of the draws were borne, so little was tried");
    }
}
