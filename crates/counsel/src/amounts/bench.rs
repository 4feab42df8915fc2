//! Timings taken at the bench at several mix temperatures: an activation energy, and the time at another temperature.
//!
//! ```text
//! ln t = a + b / T,   E = b R
//! ```
//!
//! by ordinary least squares; a prediction at `T0` has the half-width `t(n - 2) s sqrt(1 + 1/n + (1/T0 - x)^2 / Sxx)` in `ln t`, as in any textbook of
//! regression. Each timing is taken to be as good as the others.

use kernel::GAS_CONSTANT;
use libm::{atan, cos, exp, log, sqrt};
use terms::ranges;

use super::AmountError;

/// A timing.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct BenchTiming {
    /// Temperature of the mix, K.
    pub mix_k: f64,
    /// Time, s.
    pub seconds: f64,
}

/// What timings say together.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Bench {
    /// The timings.
    pub timings: Vec<BenchTiming>,
    /// Activation energy, J/mol.
    pub activation_j_mol: f64,
    /// Half-width of its 90 % interval, J/mol; none with two timings.
    pub activation_half_j_mol: Option<f64>,
    intercept: f64,
    slope_k: f64,
    residual: Option<f64>,
    mean_per_k: f64,
    sum_squares: f64,
}

/// The time at a temperature.
#[derive(Clone, Copy, Debug, PartialEq, serde::Serialize)]
pub struct Prediction {
    /// Temperature of the mix, K.
    pub mix_k: f64,
    /// Time, s.
    pub seconds: f64,
    /// 90 % prediction interval of one more timing, s; none with two timings.
    pub interval_s: Option<[f64; 2]>,
    /// The temperature lies outside those that were timed.
    pub extrapolated: bool,
}

/// Fits timings.
///
/// # Errors
/// Fewer than two, equal temperatures, or a figure outside its range.
pub fn bench(timings: &[BenchTiming]) -> Result<Bench, AmountError> {
    let given = |field, given: String, allowed: &str| {
        Err(AmountError::Given { field, given, allowed: allowed.to_owned() })
    };
    if timings.len() < 2 {
        return given("timings", timings.len().to_string(), "at least two, at different temperatures");
    }
    for timing in timings {
        if !ranges::WATER_TEMPERATURE.contains(timing.mix_k) {
            let celsius = format!("{:.1} °C", timing.mix_k - 273.15);
            return given("mix temperature", celsius, &ranges::WATER_TEMPERATURE.allowed());
        }
        if !(1.0..=7200.0).contains(&timing.seconds) {
            return given("timing", format!("{} s", timing.seconds), "1 s to 2 h");
        }
    }
    let n = timings.len() as f64;
    let x: Vec<f64> = timings.iter().map(|timing| 1.0 / timing.mix_k).collect();
    let y: Vec<f64> = timings.iter().map(|timing| log(timing.seconds)).collect();
    let mean = |values: &[f64]| values.iter().sum::<f64>() / n;
    let (mean_x, mean_y) = (mean(&x), mean(&y));
    let sum_squares: f64 = x.iter().map(|x| (x - mean_x) * (x - mean_x)).sum();
    // A tenth of a degree between the timings says nothing of how they depend on it.
    if sqrt(sum_squares / n) < 1e-6 {
        return given("mix temperatures", "all alike".to_owned(), "at least two that differ by some degrees");
    }
    let cross: f64 = x.iter().zip(&y).map(|(x, y)| (x - mean_x) * (y - mean_y)).sum();
    let slope_k = cross / sum_squares;
    let intercept = mean_y - slope_k * mean_x;
    let left: f64 = x
        .iter()
        .zip(&y)
        .map(|(x, y)| {
            let off = y - (intercept + slope_k * x);
            off * off
        })
        .sum();
    let degrees = timings.len() - 2;
    let residual = (degrees > 0).then(|| sqrt(left / degrees as f64));
    let activation_half_j_mol =
        residual.map(|s| student_quantile(degrees, 0.95) * s / sqrt(sum_squares) * GAS_CONSTANT);
    Ok(Bench {
        timings: timings.to_vec(),
        activation_j_mol: slope_k * GAS_CONSTANT,
        activation_half_j_mol,
        intercept,
        slope_k,
        residual,
        mean_per_k: mean_x,
        sum_squares,
    })
}

impl Bench {
    /// The time at a temperature.
    ///
    /// # Errors
    /// A temperature outside its range.
    pub fn at(&self, mix_k: f64) -> Result<Prediction, AmountError> {
        if !ranges::WATER_TEMPERATURE.contains(mix_k) {
            return Err(AmountError::Given {
                field: "mix temperature",
                given: format!("{:.1} °C", mix_k - 273.15),
                allowed: ranges::WATER_TEMPERATURE.allowed(),
            });
        }
        let x = 1.0 / mix_k;
        let middle = self.intercept + self.slope_k * x;
        let n = self.timings.len() as f64;
        let interval_s = self.residual.map(|s| {
            let off = x - self.mean_per_k;
            let half = student_quantile(self.timings.len() - 2, 0.95)
                * s
                * sqrt(1.0 + 1.0 / n + off * off / self.sum_squares);
            [exp(middle - half), exp(middle + half)]
        });
        let timed = self.timings.iter().map(|timing| timing.mix_k);
        let (least, most) = (timed.clone().fold(f64::INFINITY, f64::min), timed.fold(0.0, f64::max));
        Ok(Prediction {
            mix_k,
            seconds: exp(middle),
            interval_s,
            extrapolated: !(least - 1e-9..=most + 1e-9).contains(&mix_k),
        })
    }

    /// The mix temperature at which this time is expected, K.
    ///
    /// # Errors
    /// When no mix within the range is expected to take that long, with the times that are.
    pub fn for_time(&self, seconds: f64) -> Result<Prediction, AmountError> {
        let range = &ranges::WATER_TEMPERATURE;
        let mix_k = self.slope_k / (log(seconds.max(f64::MIN_POSITIVE)) - self.intercept);
        if range.contains(mix_k) {
            return self.at(mix_k);
        }
        let (warm, cold) = (self.at(range.max)?.seconds, self.at(range.min)?.seconds);
        let (least, most) = (warm.min(cold), warm.max(cold));
        Err(AmountError::Given {
            field: "wanted time",
            given: format!("{seconds:.0} s"),
            allowed: format!(
                "{least:.0} to {most:.0} s, what the timings say of mixes from {}",
                range.allowed()
            ),
        })
    }
}

/// Quantile `p` above one half of Student's distribution with whole degrees of freedom, by halving its distribution function
/// (Abramowitz and Stegun 26.7.3 and 26.7.4).
pub fn student_quantile(degrees: usize, p: f64) -> f64 {
    let (mut low, mut high) = (0.0, 1e4);
    for _ in 0..80 {
        let middle = 0.5 * (low + high);
        if between(degrees, middle) < 2.0 * p - 1.0 {
            low = middle;
        } else {
            high = middle;
        }
    }
    0.5 * (low + high)
}

/// Probability of a value between `-t` and `t`.
fn between(degrees: usize, t: f64) -> f64 {
    let angle = atan(t / sqrt(degrees as f64));
    let (sine, cosine) = (libm::sin(angle), cos(angle));
    let odd = degrees % 2 == 1;
    let mut term = if odd { cosine } else { 1.0 };
    let mut sum = if degrees == 1 { 0.0 } else { term };
    let mut k = if odd { 3 } else { 2 };
    while k < degrees {
        term *= cosine * cosine * (k - 1) as f64 / k as f64;
        sum += term;
        k += 2;
    }
    match odd {
        true => 2.0 / std::f64::consts::PI * (angle + sine * sum),
        false => sine * sum,
    }
}
