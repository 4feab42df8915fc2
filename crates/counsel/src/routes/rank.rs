//! Which route before which, and which cannot be told apart.

use chain::Outlook;
use libm::sqrt;

/// Randomisations of the samples: their block means give the scatter of a probability.
const BLOCKS: usize = chain::samples::RANDOMISATIONS as usize;

/// Times are compared in steps of this many seconds: finer differences are nobody's reason.
const STEP_S: f64 = 30.0;

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
#[derive(Clone, Debug)]
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

/// The chance of `a` less that of `b`, with a 90 % interval.
///
/// The interval holds the scatter of the sampling and what hangs on remembered and assumed values: with `d` the difference in a
/// sample and `d'` that with everything but those values drawn anew, `cov(d, d')` is the variance of the expected difference given
/// those values. Shared random numbers make both small where the routes share their causes.
pub fn difference(a: &Outlook, b: &Outlook) -> Difference {
    let pairs = |x: &[f64], y: &[f64]| -> Vec<f64> { x.iter().zip(y).map(|(x, y)| x - y).collect() };
    let weights: Vec<f64> = a.weights.iter().zip(&b.weights).map(|(x, y)| 0.5 * (x + y)).collect();
    spread(&pairs(&a.usable, &b.usable), &pairs(&a.usable_again, &b.usable_again), &weights)
}

/// The chance of a route with its 90 % interval, as of a difference from nothing.
pub fn interval(outlook: &Outlook) -> Difference {
    spread(&outlook.usable, &outlook.usable_again, &outlook.weights)
}

fn spread(d: &[f64], again: &[f64], weights: &[f64]) -> Difference {
    let mean = chain::statistics::mean(d, weights);
    let size = d.len() / BLOCKS;
    let scatter = if size == 0 {
        0.0
    } else {
        let blocks: Vec<f64> = (0..BLOCKS)
            .map(|k| {
                let range = k * size..(k + 1) * size;
                chain::statistics::mean(&d[range.clone()], &weights[range])
            })
            .collect();
        let centre = blocks.iter().sum::<f64>() / BLOCKS as f64;
        blocks.iter().map(|m| (m - centre) * (m - centre)).sum::<f64>() / (BLOCKS * (BLOCKS - 1)) as f64
    };
    let held = if again.len() == d.len() && !d.is_empty() {
        let count = d.len() as f64;
        let (m, n) = (d.iter().sum::<f64>() / count, again.iter().sum::<f64>() / count);
        d.iter().zip(again).map(|(x, y)| (x - m) * (y - n)).sum::<f64>() / count
    } else {
        0.0
    };
    let half = 1.645 * sqrt(scatter + held.max(0.0));
    Difference { mean, low: mean - half, high: mean + half }
}

/// Groups in order, best first; inside a group the chances cannot be told apart and times decide, then cost.
///
/// The group is led by the highest chance left; whoever is not separated from the leader is in it.
pub fn order(contenders: &[Contender]) -> Vec<Vec<usize>> {
    let mut left: Vec<usize> = (0..contenders.len()).collect();
    left.sort_by(|&i, &j| {
        let chance = |k: usize| contenders[k].outlook.chance.value;
        chance(j).total_cmp(&chance(i)).then(i.cmp(&j))
    });
    let mut groups = Vec::new();
    while let Some(&leader) = left.first() {
        let tied = |&k: &usize| {
            k == leader || !difference(contenders[leader].outlook, contenders[k].outlook).separates()
        };
        let mut group: Vec<usize> = left.iter().copied().filter(tied).collect();
        left.retain(|k| !group.contains(k));
        group.sort_by(|&i, &j| {
            let (a, b) = (&contenders[i], &contenders[j]);
            let steps = |s: f64| libm::round(s / STEP_S);
            let cost = |c: &Contender| c.cost.unwrap_or(f64::INFINITY);
            steps(a.in_mouth_s)
                .total_cmp(&steps(b.in_mouth_s))
                .then(steps(a.chair_s).total_cmp(&steps(b.chair_s)))
                .then(cost(a).total_cmp(&cost(b)))
                .then(b.outlook.chance.value.total_cmp(&a.outlook.chance.value))
                .then(i.cmp(&j))
        });
        groups.push(group);
    }
    groups
}
