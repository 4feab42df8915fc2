//! Figures in words, with their bands and where the bands come from. A flag says what to look at; it never takes an item out.

use serde::{Deserialize, Serialize};

use super::distractors::Distractors;

/// A band of a figure.
#[derive(Clone, Copy, Debug, PartialEq, Serialize)]
pub struct Band {
    /// Figure.
    pub figure: &'static str,
    /// From.
    pub least: f64,
    /// Below.
    pub below: f64,
    /// In words.
    pub words: &'static str,
    /// Whether it is flagged.
    pub flagged: bool,
    /// Where the band comes from, and how it was read.
    pub source: &'static str,
}

/// Something to look at.
#[derive(Clone, Debug, PartialEq, Serialize, Deserialize)]
pub struct Flag {
    /// Figure.
    pub figure: String,
    /// What is said.
    pub words: String,
    /// Whether the whole interval of the figure lies in the band; none where the figure has no interval.
    pub firm: Option<bool>,
    /// Where the band comes from, and how it was read.
    pub source: String,
}

const DIFFICULTY: &str = "common practice: the bands of a teaching page on item analysis, read in extract; others put the best items at 0.40 to 0.60";
const DISCRIMINATION: &str = "Ebel & Frisbie 1991, Essentials of Educational Measurement, as quoted on a teaching page read in extract";
const REST: &str = "common practice, from memory";
const RELIABILITY: &str =
    "0.70 and 0.90: a help page on KR-20, read in extract; 0.80 where much depends on it: from memory";
const DISTRACTOR: &str = "BMC Med Educ 2024;24:445, read in extract";
const UPPER: &str = "judged: more by at least one learner";

const fn band(
    figure: &'static str,
    least: f64,
    below: f64,
    words: &'static str,
    flagged: bool,
    source: &'static str,
) -> Band {
    Band { figure, least, below, words, flagged, source }
}

const LOW: f64 = f64::NEG_INFINITY;
const HIGH: f64 = f64::INFINITY;

/// Every band, the lowest of a figure first.
pub const BANDS: &[Band] = &[
    band("difficulty", LOW, 0.30, "hard: less than three tenths of it are earned", true, DIFFICULTY),
    band("difficulty", 0.30, 0.70, "in the middle", false, DIFFICULTY),
    band("difficulty", 0.70, HIGH, "easy: seven tenths of it or more are earned", true, DIFFICULTY),
    band(
        "discrimination",
        LOW,
        0.0,
        "those who know more have it less often: check the key",
        true,
        DISCRIMINATION,
    ),
    band(
        "discrimination",
        0.0,
        0.20,
        "hardly tells those who know from those who do not",
        true,
        DISCRIMINATION,
    ),
    band("discrimination", 0.20, 0.30, "tells them apart a little: look at it again", true, DISCRIMINATION),
    band("discrimination", 0.30, 0.40, "tells them apart well", false, DISCRIMINATION),
    band("discrimination", 0.40, HIGH, "tells them apart very well", false, DISCRIMINATION),
    band("item and rest", LOW, 0.0, "goes against the rest of the test: check the key", true, REST),
    band("item and rest", 0.0, 0.15, "has little to do with the rest of the test", true, REST),
    band("item and rest", 0.15, HIGH, "goes with the rest of the test", false, REST),
    band("reliability", LOW, 0.70, "too low to decide by one total alone", true, RELIABILITY),
    band("reliability", 0.70, 0.80, "serves where little depends on it", false, RELIABILITY),
    band("reliability", 0.80, 0.90, "serves where much depends on it", false, RELIABILITY),
    band("reliability", 0.90, HIGH, "very high: some items may ask the same", true, RELIABILITY),
];

/// The bands of a figure.
pub fn bands(figure: &str) -> impl Iterator<Item = &'static Band> {
    BANDS.iter().filter(move |band| band.figure == figure)
}

fn flag(figure: &str, value: f64, interval: Option<[f64; 2]>, always: bool) -> Option<Flag> {
    let holds = |band: &&Band| band.least <= value && value < band.below;
    let band = bands(figure).find(holds).filter(|band| always || band.flagged)?;
    let firm = interval.map(|[low, high]| band.least <= low && high < band.below);
    Some(Flag {
        figure: figure.to_owned(),
        words: band.words.to_owned(),
        firm,
        source: band.source.to_owned(),
    })
}

/// What is to be looked at in an item. `without` is alpha without the item and alpha.
pub fn of_item(
    difficulty: Option<f64>,
    interval: Option<[f64; 2]>,
    discrimination: Option<f64>,
    with_rest: Option<f64>,
    without: Option<(f64, f64)>,
    distractors: Option<&Distractors>,
) -> Vec<Flag> {
    let mut flags: Vec<Flag> = [
        difficulty.and_then(|value| flag("difficulty", value, interval, false)),
        discrimination.and_then(|value| flag("discrimination", value, None, false)),
        with_rest.and_then(|value| flag("item and rest", value, None, false)),
    ]
    .into_iter()
    .flatten()
    .collect();
    let mut more = |figure: &str, words: String, source: &str| {
        flags.push(Flag { figure: figure.to_owned(), words, firm: None, source: source.to_owned() });
    };
    if without.is_some_and(|(without, with)| without > with) {
        more("alpha without it", "the test is more reliable without it".to_owned(), REST);
    }
    // Learners saw letters.
    let lettered = distractors.iter().flat_map(|all| ('A'..='Z').zip(&all.options));
    for (letter, line) in lettered {
        if line.works == Some(false) {
            let words = format!("option {letter} ({}) is chosen by fewer than one in twenty", line.id);
            more("distractors", words, DISTRACTOR);
        }
        if line.more_in_upper == Some(true) {
            let words = format!(
                "option {letter} ({}) is chosen more by those who know more: it may be right, or the key wrong",
                line.id
            );
            more("distractors", words, UPPER);
        }
    }
    flags
}

/// What is to be said of a reliability.
pub fn of_reliability(r: f64, interval: [f64; 2]) -> Vec<Flag> {
    flag("reliability", r, Some(interval), true).into_iter().collect()
}
