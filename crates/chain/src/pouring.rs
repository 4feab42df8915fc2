//! Poured then, what would come of it: probability and size against the moment of pouring.

use ledger::Limits;
use terms::ImpressionClass;

use crate::error::ChainError;
use crate::judge;
use crate::keeping::Kept;
use crate::report::PourPoint;
use crate::samples::{self, Sample, Setup};
use crate::statistics::{Interval, mean};

/// Times after removal that every forecast looks at, min.
const TIMES_MIN: [f64; 26] = [
    1.0, 2.0, 3.0, 5.0, 7.5, 10.0, 15.0, 20.0, 30.0, 45.0, 60.0, 90.0, 120.0, 180.0, 240.0, 360.0, 480.0,
    720.0, 1440.0, 2160.0, 2880.0, 4320.0, 7200.0, 10080.0, 14400.0, 20160.0,
];

/// Usable at the first time looked at by fewer than this share of the samples, a route has no window worth the name.
const LEAST_START: f64 = 0.05;

/// The curve and where it ends.
pub struct Curve {
    /// One point a time.
    pub points: Vec<PourPoint>,
    /// Of the samples usable at first: when each leaves the limits, s from removal; none when almost none is usable. A
    /// sample that never leaves them counts at the last time.
    pub closes_s: Option<Interval>,
    /// When each sample leaves the limits, s from removal; infinite for one that was never inside, the last time for one that
    /// never leaves.
    pub left_s: Vec<f64>,
}

/// How long impressions of a class were followed in publications, s: beyond it nothing is said of the latest pour. Agar for a day,
/// alginate for five, elastomers for two weeks.
pub fn followed_s(class: ImpressionClass) -> f64 {
    let days = match class {
        ImpressionClass::Agar => 1.0,
        ImpressionClass::Alginate | ImpressionClass::ExtendedAlginate => 5.0,
        _ => 14.0,
    };
    86_400.0 * days
}

/// Times to look at, s from removal, ascending: the fixed ones as far as the class was followed, the planned pour, and the moments of
/// readings.
pub fn times(class: ImpressionClass, pour_s: f64, readings_s: impl Iterator<Item = f64>) -> Vec<f64> {
    let last = followed_s(class);
    let mut times: Vec<f64> =
        TIMES_MIN.iter().map(|minutes| minutes * 60.0).filter(|&t_s| t_s <= last).collect();
    times.push(pour_s);
    times.extend(readings_s.filter(|&t_s| t_s >= 0.0 && t_s <= last));
    times.sort_by(f64::total_cmp);
    times.dedup();
    times
}

/// The planned pour and the moments of readings alone, for an answer that shows no curve.
pub fn few_times(pour_s: f64, readings_s: impl Iterator<Item = f64>) -> Vec<f64> {
    let last = TIMES_MIN[TIMES_MIN.len() - 1] * 60.0;
    let mut times: Vec<f64> = readings_s.filter(|&t_s| t_s >= 0.0 && t_s <= last).chain([pour_s]).collect();
    times.sort_by(f64::total_cmp);
    times.dedup();
    times
}

/// Evaluates the curve.
///
/// # Errors
/// The first sample that a kernel refuses.
pub fn curve(
    setup: &Setup,
    samples: &[Sample],
    kept: &[Kept],
    weights: &[f64],
    limits: &Limits,
    times_s: &[f64],
) -> Result<Curve, ChainError> {
    let mut points = Vec::with_capacity(times_s.len());
    let mut crossings = Crossings::new(kept.len());
    for (place, &after_removal_s) in times_s.iter().enumerate() {
        let sizes = samples::sizes(setup, samples, kept, place, &[])?;
        let margins: Vec<f64> =
            sizes.iter().map(|sizes| judge::margin(setup.purpose, sizes, limits)).collect();
        let usable: Vec<f64> =
            kept.iter().zip(&margins).map(|(kept, margin)| judge::usable(kept, *margin, &[])).collect();
        let fits: Vec<bool> =
            kept.iter().zip(&margins).map(|(kept, margin)| judge::fits(kept, *margin, &[])).collect();
        crossings.look(after_removal_s, &margins, &fits);
        let diameters: Vec<f64> = sizes.iter().map(|sizes| sizes.diameter_m).collect();
        let strains: Vec<f64> = kept.iter().map(|kept| kept.moulds[place].holding).collect();
        let zero = Interval { low: 0.0, mid: 0.0, high: 0.0 };
        points.push(PourPoint {
            after_removal_s,
            usable: mean(&usable, weights),
            diameter_m: Interval::of(&diameters, weights).unwrap_or(zero),
            holding_strain: Interval::of(&strains, weights).unwrap_or(zero),
        });
    }
    let last_s = times_s.last().copied().unwrap_or(0.0);
    let left_s: Vec<f64> = crossings
        .started
        .iter()
        .zip(&crossings.left_s)
        .map(|(&started, &left_s)| if started { left_s.min(last_s) } else { f64::INFINITY })
        .collect();
    Ok(Curve { closes_s: interval(&left_s, weights), left_s, points })
}

/// When each sample first leaves the limits.
struct Crossings {
    started: Vec<bool>,
    left_s: Vec<f64>,
    last: Option<(f64, Vec<f64>)>,
}

impl Crossings {
    fn new(count: usize) -> Self {
        Crossings { started: vec![false; count], left_s: vec![f64::INFINITY; count], last: None }
    }

    fn look(&mut self, t_s: f64, margins: &[f64], fits: &[bool]) {
        match &self.last {
            None => {
                self.started.copy_from_slice(fits);
            }
            Some((before_s, before)) => {
                for sample in 0..margins.len() {
                    if self.left_s[sample].is_infinite() && margins[sample] <= 0.0 {
                        let (from, to) = (before[sample], margins[sample]);
                        let share = if from > to { (from / (from - to)).clamp(0.0, 1.0) } else { 1.0 };
                        self.left_s[sample] = before_s + share * (t_s - before_s);
                    }
                }
            }
        }
        self.last = Some((t_s, margins.to_vec()));
    }
}

/// The interval over the samples that were inside the limits at first; none when almost none was.
fn interval(left_s: &[f64], weights: &[f64]) -> Option<Interval> {
    let started: Vec<f64> = left_s
        .iter()
        .zip(weights)
        .map(|(left_s, &weight)| if left_s.is_finite() { weight } else { 0.0 })
        .collect();
    let total: f64 = weights.iter().sum();
    if total <= 0.0 || started.iter().sum::<f64>() / total < LEAST_START {
        return None;
    }
    Interval::of(left_s, &started)
}
