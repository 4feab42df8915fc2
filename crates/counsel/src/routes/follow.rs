//! Routes followed down the chain, and put in order.

use chain::{ChainError, Effort, Outlook};
use rayon::prelude::*;

use super::Question;
use super::candidates::Candidate;
use super::rank::{self, Contender};
use super::report::{Refused, RouteLine};
use super::standing::Standing;
use super::times::{self, Times};

/// A candidate with its standing.
pub struct Entered<'r> {
    /// Candidate.
    pub candidate: Candidate,
    /// Standing.
    pub standing: Standing<'r>,
}

/// A candidate that was followed.
pub struct Followed<'r> {
    /// Candidate.
    pub candidate: Candidate,
    /// Standing.
    pub standing: Standing<'r>,
    /// What it is worth.
    pub outlook: Outlook,
    /// Its times.
    pub times: Times,
}

/// Follows candidates, in their order; those that the chain refuses are told.
///
/// # Errors
/// When the ledger lacks a row.
pub fn follow<'r>(
    asked: &Question<'r>,
    entered: Vec<Entered<'r>>,
    effort: Effort,
    refused: &mut Vec<Refused>,
) -> Result<Vec<Followed<'r>>, ChainError> {
    let results: Vec<Result<Outlook, ChainError>> =
        entered.par_iter().map(|entered| outlook(asked, &entered.candidate, effort)).collect();
    let mut followed = Vec::with_capacity(entered.len());
    for (entered, result) in entered.into_iter().zip(results) {
        let Entered { candidate, standing } = entered;
        match result {
            Ok(outlook) => {
                let times = times::times(&candidate, &outlook, asked.parameters)?;
                followed.push(Followed { candidate, standing, outlook, times });
            }
            Err(error @ (ChainError::Invalid(_) | ChainError::Product { .. } | ChainError::Kernel(_))) => {
                refused.push(Refused { route: candidate.words(), reason: error.to_string() });
            }
            Err(error) => return Err(error),
        }
    }
    Ok(followed)
}

/// What a candidate is worth. What has happened belongs to the planned route alone: the others are plans.
pub fn outlook(
    asked: &Question,
    candidate: &Candidate,
    effort: Effort,
) -> Result<Outlook, ChainError> {
    let (stamps, observations) = match candidate.planned {
        true => (asked.view.stamps, asked.view.observations),
        false => (&[][..], &[][..]),
    };
    chain::outlook(
        &candidate.situation,
        &candidate.route,
        stamps,
        observations,
        asked.parameters,
        asked.limits,
        effort,
        asked.now,
    )
}

/// Groups of places in `followed`, best first. Routes that something uncounted stands in the way of come after all others.
pub fn order(followed: &[&Followed]) -> Vec<Vec<usize>> {
    let mut groups = Vec::new();
    for hindered in [false, true] {
        let places: Vec<usize> = (0..followed.len())
            .filter(|&place| followed[place].outlook.in_the_way.is_empty() != hindered)
            .collect();
        let contenders: Vec<Contender> = places
            .iter()
            .map(|&place| {
                let Followed { outlook, times, candidate, .. } = followed[place];
                Contender {
                    outlook,
                    in_mouth_s: times.in_mouth_s,
                    chair_s: times.chair_s,
                    cost: candidate.cost,
                }
            })
            .collect();
        let ordered = rank::order(&contenders);
        groups.extend(ordered.into_iter().map(|group| group.into_iter().map(|k| places[k]).collect()));
    }
    groups
}

impl Followed<'_> {
    /// What is said of it, against the first of the order.
    pub fn line(&self, first: Option<&Outlook>) -> RouteLine {
        let chance = rank::interval(&self.outlook);
        RouteLine {
            kit: self.candidate.kit.clone(),
            tray: self.candidate.tray.clone(),
            means: self.candidate.means.words(),
            planned: self.candidate.planned,
            made_before: self.candidate.made_before,
            chance: self.outlook.chance.value,
            low: chance.low.max(0.0),
            high: chance.high.min(1.0),
            captured: self.outlook.captured,
            fits: self.outlook.fits,
            in_mouth_s: self.times.in_mouth_s,
            chair_s: self.times.chair_s,
            cost: self.candidate.cost,
            in_the_way: self.outlook.in_the_way.clone(),
            waits_for: self.standing.waits.keys().copied().collect(),
            cautions: self.standing.others.iter().map(|rule| rule.id.clone()).collect(),
            against_first: first.map(|first| rank::difference(&self.outlook, first)),
        }
    }
}
