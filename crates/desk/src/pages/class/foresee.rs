//! What learners say before, and what the chain says of it: the same samples before and after, compared one by one.
//!
//! For a quantity that each impression has, the share of the samples in which it becomes less, more, or neither by as much as matters. A chance
//! is no property of one impression: it is compared between the independent sets of samples that a forecast consists of.

use chain::samples::RANDOMISATIONS;
use chain::statistics::{Interval, mean};

use super::shown::Shown;
use crate::digits::{self, interval, percent, span, write};

/// Which way.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Direction {
    /// Shorter, smaller, less.
    Less,
    /// No change that matters.
    Same,
    /// Longer, larger, more.
    More,
}

impl Direction {
    /// In the order of the columns.
    pub const ALL: [Direction; 3] = [Direction::Less, Direction::Same, Direction::More];

    /// Name in a link.
    pub fn name(self) -> &'static str {
        match self {
            Direction::Less => "less",
            Direction::Same => "same",
            Direction::More => "more",
        }
    }

    /// The direction of this name.
    pub fn of(name: &str) -> Option<Direction> {
        Direction::ALL.into_iter().find(|direction| direction.name() == name)
    }
}

/// How a quantity is written.
#[derive(Clone, Copy, PartialEq, Eq)]
pub enum Written {
    /// A span of time.
    Time,
    /// A share of length, in per cent.
    Strain,
    /// A difference of width, in micrometres.
    Width,
    /// A chance.
    Chance,
}

/// A quantity that learners are asked about.
pub struct Asked {
    /// Name in a link.
    pub name: &'static str,
    /// The number of the chain.
    pub id: &'static str,
    /// In words.
    pub words: &'static str,
    /// Less and more of it, in words.
    pub ways: [&'static str; 2],
    /// What is less than this either way does not matter, SI. A choice of this page, said on it.
    pub matters: f64,
    /// The same in words.
    pub matters_words: &'static str,
    /// How it is written.
    pub written: Written,
}

/// What is asked, in the order in which it comes about.
pub const ASKED: &[Asked] = &[
    Asked {
        name: "working",
        id: "window.seat.closes",
        words: "Working time",
        ways: ["shorter", "longer"],
        matters: 10.0,
        matters_words: "10 s",
        written: Written::Time,
    },
    Asked {
        name: "setting",
        id: "ready.from_mix",
        words: "Setting time, to removal",
        ways: ["shorter", "longer"],
        matters: 15.0,
        matters_words: "15 s",
        written: Written::Time,
    },
    Asked {
        name: "holding",
        id: "strain.holding",
        words: "Shrinkage while it is kept",
        ways: ["less or swells", "more"],
        matters: 5e-4,
        matters_words: "0.05 % of length",
        written: Written::Strain,
    },
    Asked {
        name: "die",
        id: "die.diameter",
        words: "Width of the stone die",
        ways: ["narrower", "wider"],
        matters: 5e-6,
        matters_words: "5 µm",
        written: Written::Width,
    },
    Asked {
        name: "chance",
        id: "verdict.usable",
        words: "Chance of a usable result",
        ways: ["smaller", "larger"],
        matters: 0.03,
        matters_words: "3 points of a hundred",
        written: Written::Chance,
    },
];

impl Asked {
    /// A direction in words.
    pub fn way(&self, direction: Direction) -> &'static str {
        match direction {
            Direction::Less => self.ways[0],
            Direction::Same => "no change that matters",
            Direction::More => self.ways[1],
        }
    }

    /// The quantity of a state, interval first.
    pub fn value(&self, shown: &Shown) -> String {
        let beyond = shown.forecast.quantity(self.id).is_some_and(|quantity| quantity.beyond_checked);
        if beyond && let Some(quantity) = shown.forecast.quantity(self.id) {
            return match self.written {
                Written::Width => digits::beyond(quantity.interval, 1e6, "µm", true),
                Written::Strain => digits::beyond(quantity.interval, 100.0, "%", true),
                _ => format!("{} or beyond", times(quantity.interval)),
            };
        }
        let Some(found) = shown.interval(self.id) else { return "–".to_owned() };
        match self.written {
            Written::Time => times(found),
            Written::Strain => interval(found, 100.0, "%"),
            Written::Width => interval(found, 1e6, "µm"),
            Written::Chance => percent(shown.forecast.verdict.usable.value),
        }
    }

    /// A difference, interval first.
    fn difference(&self, found: Interval) -> String {
        match self.written {
            Written::Time => interval(found, 1.0, "s"),
            Written::Strain => interval(found, 100.0, "%"),
            Written::Width => interval(found, 1e6, "µm"),
            Written::Chance => interval(found, 100.0, "points"),
        }
    }
}

fn times(found: Interval) -> String {
    format!("{} to {}, middle {}", span(found.low), span(found.high), span(found.mid))
}

/// What came of a quantity.
pub struct Outcome {
    /// In which share it becomes less, stays, becomes more.
    pub shares: [f64; 3],
    /// The direction that holds in enough of them.
    pub told: Option<Direction>,
    /// The difference, interval first.
    pub difference: String,
    /// What the shares are of, where they are not of the samples.
    pub of: Option<&'static str>,
}

/// Compares a quantity between two states; none where either has no such number.
pub fn outcome(asked: &Asked, held: &Shown, now: &Shown) -> Option<Outcome> {
    let (before, after) = (held.values(asked.id), now.values(asked.id));
    if before.is_empty() || before.len() != after.len() {
        return None;
    }
    let differences = match asked.written {
        Written::Chance => {
            let sets = before.len() / RANDOMISATIONS as usize;
            let of = |values: &[f64]| -> Vec<f64> {
                values.chunks(sets.max(1)).map(|set| mean(set, &vec![1.0; set.len()])).collect()
            };
            chain::gains(&of(before), &of(after))
        }
        _ => chain::gains(before, after),
    };
    Some(of_differences(asked, &differences))
}

fn of_differences(asked: &Asked, differences: &[f64]) -> Outcome {
    let shares = chain::turned(differences, asked.matters);
    let told = Direction::ALL.into_iter().zip(shares).find(|(_, share)| *share >= chain::LIKELY);
    let even = vec![1.0; differences.len()];
    Outcome {
        shares,
        told: told.map(|(direction, _)| direction),
        difference: Interval::of(differences, &even)
            .filter(|found| found.low.is_finite() && found.high.is_finite())
            .map_or_else(|| "beyond what was followed".to_owned(), |found| asked.difference(found)),
        of: match asked.written {
            Written::Chance => Some("of 8 independent sets of samples"),
            _ => None,
        },
    }
}

/// A share of samples.
pub fn share(value: f64) -> String {
    format!("{} %", write(100.0 * value, 1.0))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_direction_is_told_from_four_fifths_of_the_samples_on() {
        let asked = &ASKED[0];
        let of = |less: usize, same: usize, more: usize| {
            let list: Vec<f64> = [(-10.0, less), (9.9, same), (10.0, more)]
                .iter()
                .flat_map(|(value, count)| vec![*value; *count])
                .collect();
            of_differences(asked, &list)
        };
        assert_eq!(of(80, 20, 0).told, Some(Direction::Less));
        assert_eq!(of(79, 21, 0).told, None);
        assert_eq!(of(10, 80, 10).told, Some(Direction::Same));
        assert_eq!(of(0, 0, 5).told, Some(Direction::More));
        assert_eq!(of(40, 20, 40).shares, [0.4, 0.19999999999999996, 0.4]);
    }
}
