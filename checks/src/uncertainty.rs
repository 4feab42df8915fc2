//! The sampler, its distributions and the shares of variance.

use chain::sensitivity::{first_order, total_effect};
use chain::sobol::Sobol;
use chain::statistics::{Sorted, mean, variance};
use kernel::normal;
use ledger::Distribution;

use crate::{CheckError, Input, unknown_word};

pub(crate) fn compute(id: &str, input: &Input) -> Result<f64, CheckError> {
    match id {
        "normal-quantile" => Ok(normal::quantile(input.number("p")?)),
        "sobol-points" => {
            let digits =
                Sobol::new().digits(input.number("index")? as u32, input.number("dimension")? as usize);
            Ok(f64::from(digits) / 4_294_967_296.0)
        }
        "sum-of-normals" => summary(input, &[normal_of(0.0, 1.0); 4], |x| x.iter().sum()),
        "sum-of-rectangles" => summary(input, &[rectangle(1.0); 4], |x| x.iter().sum()),
        "one-wide-rectangle" => {
            let terms = [rectangle(1.0), rectangle(1.0), rectangle(1.0), rectangle(10.0)];
            summary(input, &terms, |x| x.iter().sum())
        }
        "mass-calibration" => mass_calibration(input),
        "end-gauge" => end_gauge(input),
        "comparison-loss" => comparison_loss(input),
        "logarithm" => {
            let uniform = Distribution::Uniform { low: 0.1, high: 1.1 };
            summary(input, &[uniform], |x| x[0].ln())
        }
        "ishigami" => ishigami(input),
        _ => Err(CheckError::Unknown(id.to_owned())),
    }
}

/// Points of each of eight randomisations.
const POINTS: u32 = 4096;

fn normal_of(mean: f64, sd: f64) -> Distribution {
    Distribution::Normal { mean, sd, low: f64::NEG_INFINITY, high: f64::INFINITY }
}

fn rectangle(sd: f64) -> Distribution {
    let half = 3f64.sqrt() * sd;
    Distribution::Uniform { low: -half, high: half }
}

/// Propagates distributions through a model and returns the asked figure of the result.
fn summary(
    input: &Input,
    distributions: &[Distribution],
    model: impl Fn(&[f64]) -> f64,
) -> Result<f64, CheckError> {
    let sobol = Sobol::new();
    let mut values = Vec::new();
    for randomisation in 0..8 {
        for index in 0..POINTS {
            let x: Vec<f64> = distributions
                .iter()
                .enumerate()
                .map(|(dimension, d)| d.quantile(sobol.point(randomisation, index, dimension)))
                .collect();
            values.push(model(&x));
        }
    }
    let weights = vec![1.0; values.len()];
    let sorted = Sorted::new(&values, &weights).ok_or(CheckError::Model("no samples".to_owned()))?;
    match input.word("figure")? {
        "mean" => Ok(mean(&values, &weights)),
        "standard deviation" => Ok(variance(&values, &weights).sqrt()),
        "half width, 95 %" => Ok(0.5 * (sorted.quantile(0.975) - sorted.quantile(0.025))),
        "2.5 % quantile" => Ok(sorted.quantile(0.025)),
        "97.5 % quantile" => Ok(sorted.quantile(0.975)),
        "95 % quantile" => Ok(sorted.quantile(0.95)),
        other => Err(unknown_word("figure", other)),
    }
}

/// JCGM 101:2008, 9.3, in mg: conventional mass of a weight against a reference in air.
fn mass_calibration(input: &Input) -> Result<f64, CheckError> {
    let inputs = [
        normal_of(100_000.0, 0.050),
        normal_of(1.234, 0.020),
        Distribution::Uniform { low: 1.10, high: 1.30 },
        Distribution::Uniform { low: 7000.0, high: 9000.0 },
        Distribution::Uniform { low: 7950.0, high: 8050.0 },
    ];
    summary(input, &inputs, |x| (x[0] + x[1]) * (1.0 + (x[2] - 1.2) * (1.0 / x[3] - 1.0 / x[4])) - 100_000.0)
}

/// JCGM 100:2008, H.1, in nm about the nominal length: l = l_s + d - L (delta_alpha theta + alpha_s delta_theta).
fn end_gauge(input: &Input) -> Result<f64, CheckError> {
    let theta_sd = (0.2f64 * 0.2 + 0.5 * 0.5 / 2.0).sqrt();
    let inputs = [
        normal_of(623.0, 25.0),
        normal_of(215.0, 9.681_942),
        Distribution::Uniform { low: -1e-6, high: 1e-6 },
        normal_of(-0.1, theta_sd),
        Distribution::Uniform { low: 9.5e-6, high: 13.5e-6 },
        Distribution::Uniform { low: -0.05, high: 0.05 },
    ];
    summary(input, &inputs, |x| x[0] + x[1] - 50e6 * (x[2] * x[3] + x[4] * x[5]))
}

/// JCGM 101:2008, 9.4, in units of 1e-6: the loss x1^2 + x2^2 with standard uncertainties of 0.005 and correlation r.
fn comparison_loss(input: &Input) -> Result<f64, CheckError> {
    let (x1, r) = (input.number("x1")?, input.number("r")?);
    summary(input, &[normal_of(0.0, 0.005); 2], |d| {
        let (a, b) = (x1 + d[0], r * d[0] + (1.0 - r * r).sqrt() * d[1]);
        1e6 * (a * a + b * b)
    })
}

fn ishigami(input: &Input) -> Result<f64, CheckError> {
    let sobol = Sobol::new();
    let pi = std::f64::consts::PI;
    let model = |u: [f64; 3]| {
        let x = u.map(|u| pi * (2.0 * u - 1.0));
        x[0].sin() + 7.0 * x[1].sin() * x[1].sin() + 0.1 * x[2].powi(4) * x[0].sin()
    };
    let swapped = input.number("coordinate")? as usize;
    let (mut a, mut b, mut a_b) = (Vec::new(), Vec::new(), Vec::new());
    for randomisation in 0..8 {
        for index in 0..8 * POINTS {
            let first: [f64; 3] = std::array::from_fn(|d| sobol.point(randomisation, index, d));
            let second: [f64; 3] = std::array::from_fn(|d| sobol.point(randomisation + 8, index, d));
            let mut mixed = first;
            mixed[swapped.min(2)] = second[swapped.min(2)];
            a.push(model(first));
            b.push(model(second));
            a_b.push(model(mixed));
        }
    }
    match input.word("index")? {
        "first" => Ok(first_order(&a, &b, &a_b)),
        "total" => Ok(total_effect(&a, &a_b)),
        other => Err(unknown_word("index", other)),
    }
}
