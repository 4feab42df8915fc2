//! What the samples together say of the margins: chance, seconds to spare, and what would buy more.

use kernel::capture::Capture;
use rayon::prelude::*;

use crate::access::{self, Access, Change, Setting};
use crate::constants::AccessConstants;
use crate::error::ChainError;
use crate::samples::{RANDOMISATIONS, Sample};
use crate::speech::LIKELY;
use crate::statistics::{Interval, mean};

/// What the forecast says of the margins.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Margins {
    /// Probability that every margin is captured without a visible fault.
    #[serde(rename = "captured_probability")]
    pub captured: f64,
    /// How much later the whole round may come with that probability still *likely*, s; none when it is below already.
    pub spare_s: Option<f64>,
    /// The same probability when the round comes 20 s later.
    #[serde(rename = "captured_20_s_later_probability")]
    pub captured_20_s_later: f64,
    /// Each prepared tooth, in the order of the syringe.
    pub teeth: Vec<ToothMargin>,
    /// The impression has left the mouth: what is said of delays is past.
    pub is_over: bool,
    /// What would raise the probability, the most helpful first.
    pub buys: Vec<Buy>,
}

/// One prepared tooth.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct ToothMargin {
    /// Which, in ISO 3950, where it is known.
    pub tooth: Option<terms::Tooth>,
    /// Probability that its margin is captured.
    #[serde(rename = "captured_probability")]
    pub captured: f64,
    /// Tissue lies over the finish line somewhere.
    #[serde(rename = "covered_probability")]
    pub covered: f64,
    /// The material stops short of it.
    #[serde(rename = "unfilled_probability")]
    pub unfilled: f64,
    /// A bubble, fluid or blood leaves a void.
    #[serde(rename = "void_probability")]
    pub void: f64,
    /// The fin tears.
    #[serde(rename = "torn_probability")]
    pub torn: f64,
    /// Width of its sulcus at a line angle when the material comes, m.
    pub width_m: Interval,
    /// Time since its cord left, s.
    pub uncovered_s: Interval,
    /// How much later the round may come with this margin still *likely*, s; none when it is below already.
    pub spare_s: Option<f64>,
    /// The probability when the round comes 20 s later.
    #[serde(rename = "captured_20_s_later_probability")]
    pub captured_20_s_later: f64,
}

/// Something that raises the chance.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Buy {
    /// What is done, in words.
    pub words: &'static str,
    /// Probability that every margin is captured then.
    #[serde(rename = "captured_probability")]
    pub captured: f64,
}

/// Delays that are looked at, s.
const DELAYS_S: [f64; 10] = [0.0, 10.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 300.0];
/// Place of 20 s among them.
const TWENTY: usize = 2;
/// A gain in probability below this is not worth a line.
const LEAST_GAIN: f64 = 0.02;

/// One of so many samples is followed through delays and changes; differences between them need no more.
const OF: usize = 4;

struct Ensemble<'a> {
    setting: &'a Setting,
    constants: &'a AccessConstants,
    samples: Vec<&'a Sample>,
    weights: Vec<f64>,
}

impl Ensemble<'_> {
    /// Every sample under a change, in index order.
    fn run(&self, change: Change) -> Result<Vec<Access>, ChainError> {
        self.samples
            .par_iter()
            .with_min_len(32)
            .map(|sample| {
                let (at, draw) = (&sample.coordinates, &sample.draw);
                access::access(self.setting, self.constants, at, draw, &sample.mouth, change)
            })
            .collect::<Vec<_>>()
            .into_iter()
            .collect()
    }

    /// Mean over the samples of a number of one place.
    fn of(&self, all: &[Access], place: usize, value: impl Fn(&Capture) -> f64) -> f64 {
        self.mean(all, |access| access.teeth.get(place).map_or(1.0, &value))
    }

    fn mean(&self, all: &[Access], value: impl Fn(&Access) -> f64) -> f64 {
        mean(&all.iter().map(value).collect::<Vec<f64>>(), &self.weights)
    }

    fn interval(&self, all: &[Access], value: impl Fn(&Access) -> Option<f64>) -> Interval {
        let values: Vec<f64> = all.iter().map(|access| value(access).unwrap_or(0.0)).collect();
        Interval::of(&values, &self.weights).unwrap_or(Interval { low: 0.0, mid: 0.0, high: 0.0 })
    }
}

/// Evaluates the margins: all samples as planned, and a part of them later and otherwise, whose differences are added.
///
/// # Errors
/// The first sample that the kernel refuses.
pub fn margins(
    setting: &Setting,
    constants: &AccessConstants,
    samples: &[Sample],
    weights: &[f64],
    can: &[(Change, &'static str)],
) -> Result<Margins, ChainError> {
    let whole = Ensemble { setting, constants, samples: samples.iter().collect(), weights: weights.to_vec() };
    let now = whole.run(Change::None)?;
    // The first of every block of a scrambled sequence are as even as the whole of it.
    let block = samples.len() / RANDOMISATIONS as usize;
    let first = |index: &usize| block == 0 || index % block < block.div_ceil(OF);
    let places: Vec<usize> = (0..samples.len()).filter(first).collect();
    let part = Ensemble {
        setting,
        constants,
        samples: places.iter().map(|&index| &samples[index]).collect(),
        weights: places.iter().map(|&index| weights[index]).collect(),
    };
    let mut later = Vec::with_capacity(DELAYS_S.len());
    for delay_s in DELAYS_S {
        later.push(part.run(Change::Later(delay_s))?);
    }
    let from = |now: f64, part: &[f64]| -> Vec<f64> {
        let start = part.first().copied().unwrap_or(now);
        part.iter().map(|chance| (now + chance - start).clamp(0.0, 1.0)).collect()
    };
    let captured = whole.mean(&now, |access| access.captured);
    let joint: Vec<f64> = later.iter().map(|all| part.mean(all, |access| access.captured)).collect();
    let all_teeth = from(captured, &joint);
    let mut teeth = Vec::with_capacity(setting.count());
    for (place, abutment) in setting.teeth.iter().enumerate() {
        let captured = whole.of(&now, place, Capture::probability);
        let later: Vec<f64> = later.iter().map(|all| part.of(all, place, Capture::probability)).collect();
        let chances = from(captured, &later);
        teeth.push(ToothMargin {
            tooth: abutment.tooth.known(),
            captured,
            covered: 1.0 - whole.of(&now, place, |tooth| tooth.open),
            unfilled: 1.0 - whole.of(&now, place, |tooth| tooth.filled),
            void: 1.0 - whole.of(&now, place, |tooth| tooth.clean),
            torn: 1.0 - whole.of(&now, place, |tooth| tooth.whole),
            width_m: whole.interval(&now, |access| access.teeth.get(place).map(|tooth| tooth.width_m)),
            uncovered_s: whole.interval(&now, |access| access.uncovered_s.get(place).copied()),
            spare_s: spare_s(&chances),
            captured_20_s_later: chances.get(TWENTY).copied().unwrap_or(captured),
        });
    }
    let mut buys = Vec::new();
    for &(change, words) in can {
        let gained = part.mean(&part.run(change)?, |access| access.captured) - joint[0];
        if gained >= LEAST_GAIN {
            buys.push(Buy { words, captured: (captured + gained).min(1.0) });
        }
    }
    buys.sort_by(|a, b| b.captured.total_cmp(&a.captured).then(a.words.cmp(b.words)));
    Ok(Margins {
        is_over: setting.is_over,
        captured,
        spare_s: spare_s(&all_teeth),
        captured_20_s_later: all_teeth.get(TWENTY).copied().unwrap_or(captured),
        teeth,
        buys,
    })
}

/// Where falling chances cross *likely*, between the delays by a straight line; the longest delay when they do not.
fn spare_s(chances: &[f64]) -> Option<f64> {
    if chances.first().is_none_or(|&now| now < LIKELY) {
        return None;
    }
    let crossing = chances.windows(2).zip(DELAYS_S.windows(2)).find(|(chance, _)| chance[1] < LIKELY);
    Some(crossing.map_or(DELAYS_S[DELAYS_S.len() - 1], |(chance, delay)| {
        delay[0] + (delay[1] - delay[0]) * (chance[0] - LIKELY) / (chance[0] - chance[1])
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn seconds_to_spare_end_where_likely_ends() {
        let mut chances = [0.9; 10];
        assert_eq!(spare_s(&chances), Some(300.0));
        chances[4..].fill(0.7);
        assert!((spare_s(&chances).unwrap() - 37.5).abs() < 1e-9);
        chances[0] = 0.79;
        assert_eq!(spare_s(&chances), None);
    }
}
