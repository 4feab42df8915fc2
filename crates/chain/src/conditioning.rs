//! Observations reweight the samples: a sample counts as much as it makes what was read likely.

use ledger::{Distribution, Parameters};
use terms::{Observation, Reading};

use crate::after::After;
use crate::error::ChainError;
use crate::keeping::Kept;
use crate::readings::is_of_a_fact;
use crate::samples::Sample;
use crate::statistics::{effective_samples, mean, variance};
use crate::timeline::Timeline;
use libm::{exp, log};

/// Weights of the samples, and how many samples they are worth.
pub struct Weights {
    /// One for each sample; the largest is one.
    pub values: Vec<f64>,
    /// Effective number of samples.
    pub effective: f64,
    /// Readings that were used.
    pub used: usize,
    /// Too few samples agree with the readings; the weights are then equal, as without readings.
    pub too_few: bool,
    /// The reading that lies furthest from what the samples predict.
    pub furthest: Option<&'static str>,
}

/// Below this many effective samples nothing is concluded.
const LEAST_EFFECTIVE: f64 = 40.0;

/// Weights under the readings that can be made before removal; they decide when it is planned.
///
/// # Errors
/// When the spread of an instrument is missing from the ledger.
pub fn before_removal(
    samples: &[Sample],
    observations: &[Observation],
    timeline: &Timeline,
    parameters: &Parameters,
) -> Result<Weights, ChainError> {
    weights(samples, &[], observations, timeline, |_| None, 0.0, parameters, &[], &After::default())
}

/// Weights under the readings. A reading is normal about what the sample predicts, with the spread of the instrument.
///
/// `time_index` gives the place of a time since removal among the pour times; `found_nothing` is the chance that the inspection
/// found nothing in each sample, none where nobody looked; `after` what findings after pouring say.
///
/// # Errors
/// When the spread of an instrument is missing from the ledger.
#[allow(clippy::too_many_arguments, reason = "all that is known of the samples, and all that was seen")]
pub fn weights(
    samples: &[Sample],
    kept: &[Kept],
    observations: &[Observation],
    timeline: &Timeline,
    time_index: impl Fn(f64) -> Option<usize>,
    removed_s: f64,
    parameters: &Parameters,
    found_nothing: &[f64],
    after: &After,
) -> Result<Weights, ChainError> {
    let mut log_weights = vec![0.0; samples.len()];
    for (log_weight, chance) in log_weights.iter_mut().zip(found_nothing) {
        *log_weight = log(chance.max(1e-12));
    }
    for (log_weight, likelihood) in log_weights.iter_mut().zip(&after.log_likelihood) {
        *log_weight += likelihood;
    }
    let mut used = after.used;
    let mut furthest: Option<(f64, &'static str)> = None;
    for observation in observations {
        if is_of_a_fact(&observation.reading) {
            // It stands in the place of the fact already.
            used += 1;
            continue;
        }
        let at_s = observation.at.seconds_since(timeline.start);
        let (instrument, read) = match observation.reading {
            Reading::MixTemperature(k) => ("temperature", k),
            Reading::BowlSet => ("set_sign", at_s),
            Reading::MassLoss(share) => ("mass", -share),
            _ => continue,
        };
        let place = match observation.reading {
            Reading::MassLoss(_) => match time_index(at_s - removed_s) {
                Some(place) => place,
                None => continue,
            },
            _ => 0,
        };
        let sd = spread(parameters, instrument)?;
        used += 1;
        let predict = |sample: &Sample, kept: Option<&Kept>| match observation.reading {
            Reading::MixTemperature(_) => sample.mouth.mix_t_k,
            Reading::BowlSet => sample.mouth.bowl_set_s,
            Reading::MassLoss(_) => kept.map_or(read, |kept| kept.moulds[place].mass_change),
            _ => read,
        };
        let predicted: Vec<f64> =
            samples.iter().enumerate().map(|(index, sample)| predict(sample, kept.get(index))).collect();
        for (log_weight, predicted) in log_weights.iter_mut().zip(&predicted) {
            let deviation = (read - predicted) / sd;
            *log_weight -= 0.5 * deviation * deviation;
        }
        let equal = vec![1.0; predicted.len()];
        let apart = (read - mean(&predicted, &equal)).abs() / (variance(&predicted, &equal) + sd * sd).sqrt();
        if furthest.is_none_or(|(most, _)| apart > most) {
            furthest = Some((apart, in_words(&observation.reading)));
        }
    }
    let best = log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let values: Vec<f64> = log_weights.iter().map(|log_weight| exp(log_weight - best)).collect();
    let effective = effective_samples(&values);
    let too_few = used > 0 && effective < LEAST_EFFECTIVE.min(0.5 * samples.len() as f64);
    let values = if too_few { vec![1.0; samples.len()] } else { values };
    Ok(Weights { values, effective, used, too_few, furthest: furthest.map(|(_, words)| words) })
}

fn in_words(reading: &Reading) -> &'static str {
    match reading {
        Reading::RoomTemperature(_) => "room temperature",
        Reading::RoomHumidity(_) => "room humidity",
        Reading::WaterTemperature(_) => "temperature of the water",
        Reading::ToothTemperature(_) => "temperature of the tooth",
        Reading::MixTemperature(_) => "temperature of the mix",
        Reading::BowlSet => "setting of the rest in the bowl",
        Reading::MassLoss(_) => "mass lost",
        _ => "inspection",
    }
}

fn spread(parameters: &Parameters, instrument: &str) -> Result<f64, ChainError> {
    let (_, distribution) = parameters.find(&["reading"], instrument)?;
    Ok(match distribution {
        Distribution::Normal { sd, .. } => sd,
        other => (other.quantile(0.84) - other.quantile(0.16)).abs().max(1e-12) / 2.0,
    })
}
