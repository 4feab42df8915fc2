//! What is found after pouring: how likely each sample makes it.
//!
//! The true size of the tooth is not known, so nothing is measured against it. A sign is reported where the size `x` of a sample lies beyond
//! a threshold that differs from hand to hand, and now and then whatever the size:
//!
//! ```text
//! P(sign | x) = e + (1 - 2 e) Phi((x - m) / s)            threshold m, its spread s, slips e
//! p(read | x) ~ exp(-((read - x) / s)^2 / 2)              a measured film, or a measured difference of two dies
//! ```
//!
//! Each sample then counts as much as it makes all findings likely. What nobody looked for says nothing.

use kernel::normal::cdf;
use ledger::{Distribution, Parameters};
use libm::log;
use terms::{DieFault, Fact, IndexFit, Invalid, Observation, Reading, TryInSign};

use crate::error::ChainError;
use crate::size::Sizes;

/// Findings after pouring in the eyes of the samples.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct After {
    /// Logarithm of the likelihood of all findings, one for each sample; none without findings that speak of sizes.
    pub log_likelihood: Vec<f64>,
    /// Findings that were used.
    pub used: usize,
    /// Faults of the die, which no size speaks of.
    pub die_faults: Vec<DieFault>,
}

/// A sample as findings see it.
#[derive(Clone, Copy, Debug)]
pub struct Seen<'a> {
    /// Sizes at the pour.
    pub sizes: &'a Sizes,
    /// Diameter of the second die minus that of the first, m; none where no second die is followed.
    pub second_minus_first_m: Option<f64>,
}

/// Faults of the die that were seen.
pub fn die_faults(observations: &[Observation]) -> Vec<DieFault> {
    let mut list: Vec<DieFault> = observations
        .iter()
        .filter_map(|seen| match seen.reading {
            Reading::Die(finding) if finding.present == Fact::Known(true) => Some(finding.fault),
            _ => None,
        })
        .collect();
    list.sort();
    list.dedup();
    list
}

/// Plain signs that something does not fit, in words. They take *likely* away, whatever the figures say.
pub fn signs(observations: &[Observation]) -> Vec<String> {
    let mut list: Vec<String> = Vec::new();
    for seen in observations {
        let sign = match seen.reading {
            Reading::SpanIndex(fit) if fit != IndexFit::Seats => format!("the span index {fit}"),
            Reading::TryIn(finding) if finding.present == Fact::Known(true) => finding.sign.word().to_owned(),
            _ => continue,
        };
        if !list.contains(&sign) {
            list.push(sign);
        }
    }
    list
}

/// Findings after pouring belong to what the case has.
///
/// # Errors
/// The first that does not.
pub fn check(observations: &[Observation], has_die: bool, has_span: bool, casts: f64) -> Result<(), Invalid> {
    for (index, seen) in observations.iter().enumerate() {
        let wrong = match seen.reading {
            Reading::SpanIndex(_) if !has_span => {
                Some(("span_index", "a case without a span", "a span index where there is a span"))
            }
            Reading::MarginFilm(_) | Reading::WallFilm(_) | Reading::TryIn(_) if !has_die => Some((
                "finding at try-in",
                "a cast without a die",
                "findings on a restoration where there is one",
            )),
            Reading::PourDifference(_) if !has_die => {
                Some(("pour_difference", "a cast without a die", "a difference of two dies"))
            }
            Reading::PourDifference(_) if casts < 2.0 => Some((
                "pour_difference",
                "a material that is poured once",
                "a difference where a second pour is possible",
            )),
            _ => None,
        };
        if let Some((field, given, allowed)) = wrong {
            return Err(Invalid {
                field: format!("observations[{index}].{field}"),
                given: given.to_owned(),
                allowed: allowed.to_owned(),
            });
        }
    }
    Ok(())
}

/// Likelihood of the findings in each sample.
///
/// # Errors
/// When a row is missing from the ledger.
pub fn after(
    observations: &[Observation],
    samples: &[Seen],
    parameters: &Parameters,
) -> Result<After, ChainError> {
    let mut after = After { die_faults: die_faults(observations), ..After::default() };
    let slips = parameters.find(&["after"], "false_report")?.1.median();
    for seen in observations {
        let of: Box<dyn Fn(&Seen) -> f64> = match seen.reading {
            Reading::SpanIndex(fit) => {
                let (rocks, off) =
                    (threshold(parameters, "index_rocks")?, threshold(parameters, "index_off")?);
                Box::new(move |sample| {
                    let error_m = sample.sizes.span_m.abs();
                    let (rocks, off) = (rocks.beyond(error_m), off.beyond(error_m));
                    // What does not go down rocks as well, so the second is never the likelier.
                    let off = off.min(rocks);
                    let share = match fit {
                        IndexFit::Seats => 1.0 - rocks,
                        IndexFit::Rocks => rocks - off,
                        IndexFit::DoesNotSeat => off,
                    };
                    log(slips + (1.0 - 3.0 * slips) * share)
                })
            }
            Reading::TryIn(finding) => {
                let Fact::Known(present) = finding.present else { continue };
                let sign = finding.sign;
                let threshold = threshold(
                    parameters,
                    match sign {
                        TryInSign::NotSeated => "not_seated",
                        TryInSign::OpenMargin => "open_margin",
                        TryInSign::Overhang => "overhang",
                        TryInSign::Loose => "loose",
                        TryInSign::Rocks => "rocks",
                    },
                )?;
                Box::new(move |sample| {
                    let sizes = sample.sizes;
                    let beyond = threshold.beyond(match sign {
                        TryInSign::NotSeated | TryInSign::OpenMargin => sizes.opening_m,
                        TryInSign::Overhang => sizes.step_m,
                        TryInSign::Loose => sizes.loose_m,
                        TryInSign::Rocks => sizes.misfit_m.abs(),
                    });
                    let reported = slips + (1.0 - 2.0 * slips) * beyond;
                    log(if present { reported } else { 1.0 - reported })
                })
            }
            Reading::MarginFilm(read_m) => {
                let spread = threshold(parameters, "margin_film")?;
                Box::new(move |sample| spread.read(read_m, sample.sizes.opening_m))
            }
            Reading::WallFilm(read_m) => {
                let spread = threshold(parameters, "wall_film")?;
                Box::new(move |sample| spread.read(read_m, sample.sizes.wall_space_m))
            }
            Reading::PourDifference(read_m) => {
                let spread = threshold(parameters, "die_width")?;
                Box::new(move |sample| match sample.second_minus_first_m {
                    Some(difference_m) => spread.read(read_m, difference_m),
                    None => 0.0,
                })
            }
            _ => continue,
        };
        after.used += 1;
        after.log_likelihood.resize(samples.len(), 0.0);
        for (sum, sample) in after.log_likelihood.iter_mut().zip(samples) {
            *sum += of(sample);
        }
    }
    Ok(after)
}

/// A threshold that differs from hand to hand, or an instrument.
#[derive(Clone, Copy, Debug)]
struct Threshold {
    mean_m: f64,
    sd_m: f64,
}

impl Threshold {
    fn beyond(self, size_m: f64) -> f64 {
        cdf((size_m - self.mean_m) / self.sd_m)
    }

    fn read(self, read_m: f64, size_m: f64) -> f64 {
        let off = (read_m - size_m - self.mean_m) / self.sd_m;
        -0.5 * off * off
    }
}

fn threshold(parameters: &Parameters, name: &str) -> Result<Threshold, ChainError> {
    let (_, distribution) = parameters.find(&["after"], name)?;
    let sd_m = match distribution {
        Distribution::Normal { sd, .. } => sd,
        other => (other.quantile(0.84) - other.quantile(0.16)) / 2.0,
    };
    Ok(Threshold { mean_m: distribution.median(), sd_m: sd_m.max(1e-9) })
}

#[cfg(test)]
mod tests;
