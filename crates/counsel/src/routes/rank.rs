//! Which route before which, and which cannot be told apart.

use std::collections::BTreeSet;

use chain::Outlook;
use chain::samples::{RANDOMISATIONS, coordinates};
use chain::statistics::{effective_samples, mean, variance};
use libm::{round, sqrt};
use rayon::prelude::*;

use super::least_squares::Design;

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
/// over those values of the expectation given them. Its linear part is taken: the probability (or difference of two) in each sample is
/// fitted by least squares on the places of the sample in the dimensions of all roots, and of that the part of the remembered and assumed
/// ones counts, less what chance alone would put there ([`super::least_squares`]). Shared random numbers make both parts small where two routes
/// share their causes.
pub struct Scale {
    /// Dimensions of the columns.
    dimensions: Vec<usize>,
    columns: Vec<Vec<f64>>,
    /// The design under equal weights.
    equal: Option<Design>,
}

impl Scale {
    /// A scale for these outlooks, all of `points` points in each randomisation.
    pub fn of<'a>(outlooks: impl Iterator<Item = &'a Outlook>, points: u32) -> Scale {
        let dimensions: BTreeSet<usize> =
            outlooks.flat_map(|outlook| outlook.sampled.iter().copied()).collect();
        let dimensions: Vec<usize> = dimensions.into_iter().collect();
        let columns: Vec<Vec<f64>> =
            dimensions.iter().map(|dimension| coordinates(*dimension, points)).collect();
        let samples = columns.first().map_or(0, Vec::len);
        let equal = Design::of(columns.clone(), vec![1.0; samples]);
        Scale { dimensions, columns, equal }
    }

    /// The chance of `a` less that of `b`, with its 90 % interval.
    pub fn difference(&self, a: &Outlook, b: &Outlook) -> Difference {
        let d: Vec<f64> = a.usable.iter().zip(&b.usable).map(|(a, b)| a - b).collect();
        let weights: Vec<f64> = a.weights.iter().zip(&b.weights).map(|(a, b)| 0.5 * (a + b)).collect();
        let weak: BTreeSet<usize> = a.weak.iter().chain(&b.weak).copied().collect();
        self.spread(&d, &weights, &weak)
    }

    /// The chance of a route with its 90 % interval.
    pub fn chance(&self, outlook: &Outlook) -> Difference {
        let weak: BTreeSet<usize> = outlook.weak.iter().copied().collect();
        let spread = self.spread(&outlook.usable, &outlook.weights, &weak);
        Difference { low: spread.low.max(0.0), high: spread.high.min(1.0), ..spread }
    }

    fn spread(&self, d: &[f64], weights: &[f64], weak: &BTreeSet<usize>) -> Difference {
        let centre = mean(d, weights);
        let half = NORMAL_90 * sqrt(scatter(d, weights) + self.held(d, weights, weak));
        Difference { mean: centre, low: centre - half, high: centre + half }
    }

    /// Variance of the expectation given the values of the weak roots; the whole variance where too few samples are there to tell.
    fn held(&self, d: &[f64], weights: &[f64], weak: &BTreeSet<usize>) -> f64 {
        let total = variance(d, weights);
        if total <= 0.0 {
            return 0.0;
        }
        let alike = weights.iter().all(|weight| weights.first() == Some(weight));
        let own = if alike { None } else { Design::of(self.columns.clone(), weights.to_vec()) };
        let Some(design) = (if alike { self.equal.as_ref() } else { own.as_ref() }) else {
            return self.held_roughly(d, weights, weak, total);
        };
        let places: Vec<usize> = (0..self.dimensions.len())
            .filter(|&place| self.dimensions.get(place).is_some_and(|d| weak.contains(d)))
            .collect();
        design.carried(&design.fit(d), &places).min(total)
    }

    /// With too few samples for all dimensions together: each alone, `Var(d) sum (r^2 - 1/(n - 1))`.
    fn held_roughly(&self, d: &[f64], weights: &[f64], weak: &BTreeSet<usize>, total: f64) -> f64 {
        let n = effective_samples(weights);
        let centre = mean(d, weights);
        let mut share = 0.0;
        for (_, place) in
            self.dimensions.iter().zip(&self.columns).filter(|(dimension, _)| weak.contains(dimension))
        {
            let middle = mean(place, weights);
            let products: Vec<f64> =
                d.iter().zip(place).map(|(d, at)| (d - centre) * (at - middle)).collect();
            let covariance = mean(&products, weights);
            let spread = variance(place, weights);
            if spread > 0.0 && n > 2.0 {
                share += covariance * covariance / (spread * total) - 1.0 / (n - 1.0);
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
/// Of those left, the candidates for the next place are the ones that no other of them is separated above. A group goes on with the candidates
/// that its first is not separated above, in the order of their times, then cost; when there is none, the fastest candidate begins the next
/// group. So no route stands before one that is certainly better, and time decides only where chances cannot be separated.
pub fn order(scale: &Scale, contenders: &[Contender]) -> Vec<Vec<usize>> {
    let count = contenders.len();
    let pairs: Vec<(usize, usize)> = (0..count).flat_map(|j| (0..j).map(move |i| (i, j))).collect();
    // Who stands certainly above whom, each pair once.
    let separated: Vec<Option<(usize, usize)>> = pairs
        .into_par_iter()
        .map(|(i, j)| {
            let difference = scale.difference(contenders.get(i)?.outlook, contenders.get(j)?.outlook);
            match difference {
                Difference { low, .. } if low > 0.0 => Some((i, j)),
                Difference { high, .. } if high < 0.0 => Some((j, i)),
                _ => None,
            }
        })
        .collect();
    let mut above: Vec<Vec<usize>> = vec![Vec::new(); count];
    for (upper, lower) in separated.into_iter().flatten() {
        if let Some(list) = above.get_mut(lower) {
            list.push(upper);
        }
    }
    let mut left: Vec<usize> = (0..count).collect();
    left.sort_by(|&i, &j| match (contenders.get(i), contenders.get(j)) {
        (Some(a), Some(b)) => by_time(a, b).then(i.cmp(&j)),
        _ => i.cmp(&j),
    });
    let mut groups: Vec<Vec<usize>> = Vec::new();
    while !left.is_empty() {
        let free = |place: &usize| {
            above.get(*place).is_some_and(|above| above.iter().all(|other| !left.contains(other)))
        };
        let first = groups.last().and_then(|group| group.first()).copied();
        let beside = |place: &usize| {
            first.is_some_and(|first| above.get(*place).is_some_and(|above| !above.contains(&first)))
        };
        let goes_on = left.iter().position(|place| free(place) && beside(place));
        // Separations that run in a ring leave nobody free; then the times alone decide.
        let next = goes_on.or_else(|| left.iter().position(free)).unwrap_or(0);
        let place = left.remove(next);
        match groups.last_mut() {
            Some(group) if goes_on.is_some() => group.push(place),
            _ => groups.push(vec![place]),
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
            sampled: (0..70).collect(),
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
        let weak = outlook.weak.iter().copied().collect();
        let held = scale.held(&outlook.usable, &outlook.weights, &weak);
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
