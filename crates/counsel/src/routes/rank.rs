//! Which route before which, and which cannot be told apart.

use std::collections::{BTreeMap, BTreeSet};

use chain::Outlook;
use chain::samples::{RANDOMISATIONS, coordinates};
use chain::statistics::{effective_samples, mean, variance};
use libm::{round, sqrt};

/// Randomisations of the samples: their block means give the scatter of a probability.
const BLOCKS: usize = RANDOMISATIONS as usize;

/// Times are compared in steps of this many seconds: finer differences are nobody's reason.
const STEP_S: f64 = 30.0;

/// Half the width of a 90 % interval, in standard deviations.
const NORMAL_90: f64 = 1.645;

/// The difference of two chances.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Difference {
    /// Expected difference.
    pub mean: f64,
    /// 5 % end.
    pub low: f64,
    /// 95 % end.
    pub high: f64,
}

impl Difference {
    /// Whether the sign is beyond its uncertainty.
    pub fn separates(&self) -> bool {
        self.low > 0.0 || self.high < 0.0
    }
}

/// What is compared of a route.
#[derive(Clone, Copy)]
pub struct Contender<'a> {
    /// Chance and samples.
    pub outlook: &'a Outlook,
    /// Time with the tray in the mouth, s.
    pub in_mouth_s: f64,
    /// Time in the chair, s.
    pub chair_s: f64,
    /// The user's own cost.
    pub cost: Option<f64>,
}

/// Compares outlooks of equally many samples.
///
/// A chance is uncertain by the scatter of its samples, and by what hangs on remembered and assumed values. The second is the variance
/// over those values of the expectation given them; of it the linear part is taken,
///
/// ```text
/// V = Var(d) sum_k (r_k^2 - 1/(n - 1)),
/// ```
///
/// `d` the probability (or difference of two) in each sample, `r_k` its correlation with the place of the sample in the dimension of the
/// remembered or assumed root `k`, and `1/(n - 1)` what `r_k^2` is expected to be where nothing hangs on it. Shared random numbers make both
/// parts small where two routes share their causes.
pub struct Scale {
    places: BTreeMap<usize, Vec<f64>>,
}

impl Scale {
    /// A scale for these outlooks, all of `points` points in each randomisation.
    pub fn of<'a>(outlooks: impl Iterator<Item = &'a Outlook>, points: u32) -> Scale {
        let weak: BTreeSet<usize> = outlooks.flat_map(|outlook| outlook.weak.iter().copied()).collect();
        Scale { places: weak.into_iter().map(|dimension| (dimension, coordinates(dimension, points))).collect() }
    }

    /// The chance of `a` less that of `b`, with its 90 % interval.
    pub fn difference(&self, a: &Outlook, b: &Outlook) -> Difference {
        let d: Vec<f64> = a.usable.iter().zip(&b.usable).map(|(a, b)| a - b).collect();
        let weights: Vec<f64> = a.weights.iter().zip(&b.weights).map(|(a, b)| 0.5 * (a + b)).collect();
        let weak: BTreeSet<usize> = a.weak.iter().chain(&b.weak).copied().collect();
        self.spread(&d, &weights, weak.into_iter())
    }

    /// The chance of a route with its 90 % interval.
    pub fn chance(&self, outlook: &Outlook) -> Difference {
        let spread = self.spread(&outlook.usable, &outlook.weights, outlook.weak.iter().copied());
        Difference { low: spread.low.max(0.0), high: spread.high.min(1.0), ..spread }
    }

    fn spread(&self, d: &[f64], weights: &[f64], weak: impl Iterator<Item = usize>) -> Difference {
        let centre = mean(d, weights);
        let half = NORMAL_90 * sqrt(scatter(d, weights) + self.held(d, weights, weak));
        Difference { mean: centre, low: centre - half, high: centre + half }
    }

    /// Variance of the expectation given the values of the weak roots.
    fn held(&self, d: &[f64], weights: &[f64], weak: impl Iterator<Item = usize>) -> f64 {
        let n = effective_samples(weights);
        let total = variance(d, weights);
        if n < 3.0 || total <= 0.0 {
            return 0.0;
        }
        let by_chance = 1.0 / (n - 1.0);
        let centre = mean(d, weights);
        let mut share = 0.0;
        for place in weak.filter_map(|dimension| self.places.get(&dimension)) {
            let middle = mean(place, weights);
            let products: Vec<f64> =
                d.iter().zip(place).map(|(d, at)| (d - centre) * (at - middle)).collect();
            let covariance = mean(&products, weights);
            let spread = variance(place, weights);
            if spread > 0.0 {
                share += covariance * covariance / (spread * total) - by_chance;
            }
        }
        total * share.clamp(0.0, 1.0)
    }
}

/// Variance of the mean, from the means of the randomisations.
fn scatter(d: &[f64], weights: &[f64]) -> f64 {
    let size = d.len() / BLOCKS;
    if size == 0 {
        return 0.0;
    }
    let blocks: Vec<f64> = d.chunks(size).zip(weights.chunks(size)).map(|(d, w)| mean(d, w)).collect();
    let equal = vec![1.0; blocks.len()];
    variance(&blocks, &equal) / (blocks.len() as f64 - 1.0).max(1.0)
}

/// Places of contenders, best first, in groups.
///
/// Of those left, the candidates for the next place are the ones that no other is separated above; among them the times decide, then the cost.
/// So no route stands before one that is certainly better, and time decides only where chances cannot be separated. A new group
/// begins where a route is separated from the first of the group.
pub fn order(scale: &Scale, contenders: &[Contender]) -> Vec<Vec<usize>> {
    let better = |i: usize, j: usize| {
        match (contenders.get(i), contenders.get(j)) {
            (Some(a), Some(b)) => scale.difference(a.outlook, b.outlook).low > 0.0,
            _ => false,
        }
    };
    let count = contenders.len();
    let above: Vec<Vec<usize>> =
        (0..count).map(|j| (0..count).filter(|&i| i != j && better(i, j)).collect()).collect();
    let mut left: Vec<usize> = (0..count).collect();
    left.sort_by(|&i, &j| match (contenders.get(i), contenders.get(j)) {
        (Some(a), Some(b)) => by_time(a, b).then(i.cmp(&j)),
        _ => i.cmp(&j),
    });
    let mut groups: Vec<Vec<usize>> = Vec::new();
    while !left.is_empty() {
        let free = left.iter().position(|place| {
            above.get(*place).is_some_and(|above| above.iter().all(|other| !left.contains(other)))
        });
        // Separations that run in a ring leave nobody free; then the times alone decide.
        let next = left.remove(free.unwrap_or(0));
        match groups.last_mut() {
            Some(group) if group.first().is_some_and(|&first| !better(first, next)) => group.push(next),
            _ => groups.push(vec![next]),
        }
    }
    groups
}

/// Time in the mouth, then in the chair, then cost, then chance.
fn by_time(a: &Contender, b: &Contender) -> std::cmp::Ordering {
    let steps = |s: f64| round(s / STEP_S);
    let cost = |contender: &Contender| contender.cost.unwrap_or(f64::INFINITY);
    steps(a.in_mouth_s)
        .total_cmp(&steps(b.in_mouth_s))
        .then(steps(a.chair_s).total_cmp(&steps(b.chair_s)))
        .then(cost(a).total_cmp(&cost(b)))
        .then(b.outlook.chance.value.total_cmp(&a.outlook.chance.value))
}

#[cfg(test)]
mod tests {
    use super::*;
    use chain::statistics::Probability;

    const POINTS: u32 = 64;

    fn outlook(usable: Vec<f64>, weak: Vec<usize>) -> Outlook {
        let weights = vec![1.0; usable.len()];
        let value = mean(&usable, &weights);
        Outlook {
            chance: Probability { value, standard_error: 0.0 },
            captured: None,
            fits: value,
            in_mouth_s: 300.0,
            mix_to_removal_s: 400.0,
            kept_s: 0.0,
            in_the_way: Vec::new(),
            usable,
            weak,
            weights,
        }
    }

    fn one_if(holds: bool) -> f64 {
        if holds { 1.0 } else { 0.0 }
    }

    /// A share of known size: usable where 0.6 a + 0.8 b exceeds 0.7, `a` a weak root and `b` another; the variance over `a` of the
    /// expectation is that of min(1, max(0, 1 - (0.7 - 0.6 a)/0.8)), uniform on [0.125, 0.875]: 0.75²/12.
    #[test]
    fn what_hangs_on_weak_values_is_found() {
        let (a, b) = (coordinates(5, POINTS), coordinates(30, POINTS));
        let usable = a.iter().zip(&b).map(|(a, b)| one_if(0.6 * a + 0.8 * b > 0.7)).collect();
        let weak: Vec<usize> = (0..30).collect();
        let outlook = outlook(usable, weak);
        let scale = Scale::of([&outlook].into_iter(), POINTS);
        let held = scale.held(&outlook.usable, &outlook.weights, outlook.weak.iter().copied());
        let expected: f64 = 0.75 * 0.75 / 12.0;
        assert!((held.sqrt() / expected.sqrt() - 1.0).abs() < 0.12, "{held} against {expected}");
    }

    #[test]
    fn where_nothing_hangs_on_them_little_is_found() {
        let b = coordinates(60, POINTS);
        let outlook = outlook(b.iter().map(|b| one_if(*b > 0.2)).collect(), (0..40).collect());
        let scale = Scale::of([&outlook].into_iter(), POINTS);
        let chance = scale.chance(&outlook);
        assert!(chance.high - chance.low < 0.12, "{chance:?}");
        assert!((chance.mean - 0.8).abs() < 0.01, "{chance:?}");
    }

    #[test]
    fn shared_numbers_separate_what_differs_in_one_cause() {
        let b = coordinates(60, POINTS);
        let lower = |share: f64| b.iter().map(|b| share * one_if(*b > 0.3)).collect::<Vec<f64>>();
        let (good, less) = (outlook(lower(1.0), vec![60]), outlook(lower(0.9), vec![60]));
        let scale = Scale::of([&good, &less].into_iter(), POINTS);
        assert!(scale.difference(&good, &less).low > 0.0);
        assert!(!scale.difference(&good, &good).separates());
    }

    #[test]
    fn no_route_stands_before_one_that_is_certainly_better() {
        let b = coordinates(60, POINTS);
        let share = |share: f64| outlook(b.iter().map(|b| share * one_if(*b > 0.1)).collect(), vec![]);
        let (best, middle, worst) = (share(1.0), share(0.9), share(0.5));
        let contender = |outlook, in_mouth_s| Contender { outlook, in_mouth_s, chair_s: 0.0, cost: None };
        let list = [contender(&worst, 60.0), contender(&middle, 120.0), contender(&best, 600.0)];
        let scale = Scale::of([&best, &middle, &worst].into_iter(), POINTS);
        assert_eq!(order(&scale, &list), vec![vec![2], vec![1], vec![0]]);
        let tied = [contender(&best, 600.0), contender(&best, 300.0)];
        assert_eq!(order(&scale, &tied), vec![vec![1, 0]]);
    }
}
