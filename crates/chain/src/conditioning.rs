//! Observations reweight the samples: a sample counts as much as it makes what was read likely.

use ledger::{Distribution, Parameters};
use terms::{Observation, Reading};

use crate::error::ChainError;
use crate::keeping::Kept;
use crate::roots::Root;
use crate::samples::Sample;
use crate::statistics::effective_samples;
use crate::timeline::Timeline;
use libm::exp;

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
}

/// Below this many effective samples nothing is concluded.
const LEAST_EFFECTIVE: f64 = 40.0;

/// Weights under the readings. A reading is normal about what the sample predicts, with the spread of the instrument.
///
/// `time_index` gives the place of a time since removal among the pour times.
///
/// # Errors
/// When the spread of an instrument is missing from the ledger.
pub fn weights(
    samples: &[Sample],
    kept: &[Kept],
    observations: &[Observation],
    timeline: &Timeline,
    time_index: impl Fn(f64) -> Option<usize>,
    removed_s: f64,
    parameters: &Parameters,
) -> Result<Weights, ChainError> {
    let mut log_weights = vec![0.0; samples.len()];
    let mut used = 0;
    for observation in observations {
        let at_s = observation.at.seconds_since(timeline.start);
        let (instrument, read) = match observation.reading {
            Reading::RoomTemperature(k) | Reading::MixTemperature(k) => ("temperature", k),
            Reading::RoomHumidity(rh) => ("humidity", rh),
            Reading::BowlSet => ("set_sign", at_s),
            Reading::MassLoss(share) => ("mass", -share),
            Reading::Inspection(_) => continue,
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
        for (log_weight, (sample, kept)) in log_weights.iter_mut().zip(samples.iter().zip(kept)) {
            let predicted = match observation.reading {
                Reading::RoomTemperature(_) => sample.draw[Root::RoomTemperature],
                Reading::RoomHumidity(_) => sample.draw[Root::RoomHumidity],
                Reading::MixTemperature(_) => sample.mouth.mix_t_k,
                Reading::BowlSet => sample.mouth.bowl_set_s,
                Reading::MassLoss(_) => kept.moulds[place].mass_change,
                Reading::Inspection(_) => continue,
            };
            let deviation = (read - predicted) / sd;
            *log_weight -= 0.5 * deviation * deviation;
        }
    }
    let best = log_weights.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let values: Vec<f64> = log_weights.iter().map(|log_weight| exp(log_weight - best)).collect();
    let effective = effective_samples(&values);
    let too_few = used > 0 && effective < LEAST_EFFECTIVE.min(0.5 * samples.len() as f64);
    let values = if too_few { vec![1.0; samples.len()] } else { values };
    Ok(Weights { values, effective, used, too_few })
}

fn spread(parameters: &Parameters, instrument: &str) -> Result<f64, ChainError> {
    let (_, distribution) = parameters.find(&["reading"], instrument)?;
    Ok(match distribution {
        Distribution::Normal { sd, .. } => sd,
        other => (other.quantile(0.84) - other.quantile(0.16)).abs().max(1e-12) / 2.0,
    })
}
