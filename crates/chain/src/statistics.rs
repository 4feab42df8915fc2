//! Weighted summaries of samples. Sums run in index order, so that they do not depend on the number of threads.

/// A 90 % interval with its middle: the weighted 5 %, 50 % and 95 % quantiles.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Interval {
    /// 5 % of the weight lies below.
    pub low: f64,
    /// Half of the weight lies below.
    pub mid: f64,
    /// 95 % of the weight lies below.
    pub high: f64,
}

impl Interval {
    /// The interval of `values` under `weights`; `None` when there is no weight.
    pub fn of(values: &[f64], weights: &[f64]) -> Option<Interval> {
        let sorted = Sorted::new(values, weights)?;
        Some(Interval { low: sorted.quantile(0.05), mid: sorted.quantile(0.5), high: sorted.quantile(0.95) })
    }

    /// The interval with every figure moved into `[least, greatest]`.
    pub fn clamped(self, least: f64, greatest: f64) -> Interval {
        let into = |x: f64| x.clamp(least, greatest);
        Interval { low: into(self.low), mid: into(self.mid), high: into(self.high) }
    }

    /// The interval with both ends and the middle multiplied by `factor`, a positive number.
    pub fn scaled(self, factor: f64) -> Interval {
        Interval { low: self.low * factor, mid: self.mid * factor, high: self.high * factor }
    }
}

/// Samples in ascending order with their cumulated weight.
pub struct Sorted {
    values: Vec<f64>,
    cumulated: Vec<f64>,
}

impl Sorted {
    /// Sorts; `None` when the weights sum to nothing.
    pub fn new(values: &[f64], weights: &[f64]) -> Option<Sorted> {
        let mut order: Vec<usize> =
            (0..values.len().min(weights.len())).filter(|&i| weights[i] > 0.0).collect();
        order.sort_by(|&a, &b| values[a].total_cmp(&values[b]).then(a.cmp(&b)));
        let mut total = 0.0;
        let mut cumulated = Vec::with_capacity(order.len());
        for &index in &order {
            total += weights[index];
            cumulated.push(total);
        }
        (total > 0.0).then(|| Sorted { values: order.iter().map(|&i| values[i]).collect(), cumulated })
    }

    /// Weighted quantile: linear between the middles of the steps of the cumulated weight.
    pub fn quantile(&self, p: f64) -> f64 {
        let total = self.cumulated[self.cumulated.len() - 1];
        let target = p * total;
        let middle = |i: usize| {
            let below = if i == 0 { 0.0 } else { self.cumulated[i - 1] };
            0.5 * (below + self.cumulated[i])
        };
        let next = self.cumulated.partition_point(|&sum| sum < target).min(self.values.len() - 1);
        let (left, right) =
            if target < middle(next) { (next.saturating_sub(1), next) } else { (next, next + 1) };
        if left == right || right >= self.values.len() {
            return self.values[next];
        }
        let (a, b) = (self.values[left], self.values[right]);
        if a == b || !(b - a).is_finite() {
            return if target < middle(next) { a } else { self.values[next] };
        }
        a + (b - a) * (target - middle(left)) / (middle(right) - middle(left))
    }
}

/// Weighted mean; zero when there is no weight.
pub fn mean(values: &[f64], weights: &[f64]) -> f64 {
    let mut sum = 0.0;
    let mut total = 0.0;
    for (value, weight) in values.iter().zip(weights) {
        sum += value * weight;
        total += weight;
    }
    if total > 0.0 { sum / total } else { 0.0 }
}

/// Weighted variance about the weighted mean.
pub fn variance(values: &[f64], weights: &[f64]) -> f64 {
    let centre = mean(values, weights);
    let mut sum = 0.0;
    let mut total = 0.0;
    for (value, weight) in values.iter().zip(weights) {
        sum += weight * (value - centre) * (value - centre);
        total += weight;
    }
    if total > 0.0 { sum / total } else { 0.0 }
}

/// Effective number of samples, (sum w)^2 / sum w^2: Kish (1965).
pub fn effective_samples(weights: &[f64]) -> f64 {
    let mut sum = 0.0;
    let mut squares = 0.0;
    for weight in weights {
        sum += weight;
        squares += weight * weight;
    }
    if squares > 0.0 { sum * sum / squares } else { 0.0 }
}

/// A probability with its standard error between independent randomisations.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Probability {
    /// Estimate.
    pub value: f64,
    /// Standard error of the sampling alone; it says nothing of the model.
    pub standard_error: f64,
}

/// Mean of the probabilities of the samples, estimated per randomisation block of equal length and averaged.
pub fn probability(each_sample: &[f64], weights: &[f64], blocks: usize) -> Probability {
    let value = mean(each_sample, weights);
    let length = each_sample.len() / blocks.max(1);
    if blocks < 2 || length == 0 {
        return Probability { value, standard_error: 0.5 };
    }
    let each: Vec<f64> = (0..blocks)
        .map(|block| {
            let range = block * length..(block + 1) * length;
            mean(&each_sample[range.clone()], &weights[range])
        })
        .collect();
    let equal = vec![1.0; blocks];
    let spread = variance(&each, &equal) / (blocks as f64 - 1.0);
    Probability { value, standard_error: spread.sqrt() }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn quantiles_of_equal_weights_are_the_usual_ones() {
        let values: Vec<f64> = (0..101).map(f64::from).rev().collect();
        let weights = vec![1.0; 101];
        let interval = Interval::of(&values, &weights).unwrap();
        assert_eq!(interval.mid, 50.0);
        assert!((interval.low - 4.55).abs() < 1e-9 && (interval.high - 95.45).abs() < 1e-9, "{interval:?}");
    }

    #[test]
    fn a_sample_without_weight_does_not_count() {
        let interval = Interval::of(&[1.0, 2.0, 900.0], &[1.0, 1.0, 0.0]).unwrap();
        assert!(interval.high <= 2.0);
        assert!(Interval::of(&[1.0], &[0.0]).is_none());
        assert!((effective_samples(&[1.0, 1.0, 0.0, 0.0]) - 2.0).abs() < 1e-15);
        let held = Interval::of(&[1.0, f64::INFINITY, f64::INFINITY], &[1.0, 1.0, 1.0]).unwrap();
        assert!(held.high.is_infinite() && !held.mid.is_nan());
    }
}
