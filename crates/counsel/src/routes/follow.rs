//! Routes followed down the chain, and put in order.

use chain::{ChainError, Effort, Outlook};
use rayon::prelude::*;
use terms::{Route, Situation};

use super::Question;
use super::candidates::Candidate;
use super::rank::{self, Contender, Scale};
use super::report::{Refused, RouteLine};
use super::standing::Standing;
use super::times::{self, Times};
use crate::cautions::Level;

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

/// Follows candidates, those that differ in means alone together; those that the chain refuses are told.
///
/// # Errors
/// When the ledger lacks a row.
pub fn follow<'r>(
    asked: &Question<'r>,
    entered: Vec<Vec<Entered<'r>>>,
    effort: Effort,
    refused: &mut Vec<Refused>,
) -> Result<Vec<Followed<'r>>, ChainError> {
    let results: Vec<Vec<Result<Outlook, ChainError>>> =
        entered.par_iter().map(|together| outlooks(asked, together, effort)).collect();
    let mut followed = Vec::new();
    for (entered, result) in entered.into_iter().flatten().zip(results.into_iter().flatten()) {
        let Entered { candidate, standing } = entered;
        match result {
            Ok(outlook) => {
                let times = times::times(&candidate.situation, &candidate.route, &outlook, asked.parameters)?;
                followed.push(Followed { candidate, standing, outlook, times });
            }
            Err(error @ ChainError::Ledger(_)) => return Err(error),
            Err(error) => {
                refused.push(Refused { route: candidate.words(), reason: error.to_string() });
            }
        }
    }
    Ok(followed)
}

/// What candidates that differ in means alone are worth, in their order.
fn outlooks(asked: &Question, together: &[Entered], effort: Effort) -> Vec<Result<Outlook, ChainError>> {
    let happened = !(asked.view.stamps.is_empty() && asked.view.observations.is_empty());
    // What has happened belongs to the planned route alone: the others are plans.
    let alone = |entered: &Entered| happened && entered.candidate.planned;
    let plans: Vec<(&Situation, &Route)> = together
        .iter()
        .filter(|entered| !alone(entered))
        .map(|entered| (&entered.candidate.situation, &entered.candidate.route))
        .collect();
    let mut of_plans: Vec<Result<Outlook, ChainError>> = Vec::new();
    if let Some((first, others)) = plans.split_first() {
        match chain::outlooks(*first, others, asked.parameters, asked.limits, effort, asked.now) {
            Ok((first, others)) => {
                of_plans.push(Ok(first));
                of_plans.extend(others);
            }
            Err(error) => of_plans.extend(plans.iter().map(|_| Err(error.clone()))),
        }
    }
    let mut of_plans = of_plans.into_iter();
    let mut list = Vec::with_capacity(together.len());
    for entered in together {
        let next = if alone(entered) {
            Some(happened_so_far(asked, &entered.candidate, effort))
        } else {
            of_plans.next()
        };
        list.extend(next);
    }
    list
}

/// What the planned route is worth after what has happened.
fn happened_so_far(asked: &Question, candidate: &Candidate, effort: Effort) -> Result<Outlook, ChainError> {
    chain::outlook(
        &candidate.situation,
        &candidate.route,
        asked.view.stamps,
        asked.view.observations,
        asked.parameters,
        asked.limits,
        effort,
        asked.now,
    )
}

/// Groups of places in `followed`, best first. Routes that something uncounted stands in the way of come after all others.
pub fn order(scale: &Scale, followed: &[&Followed]) -> Vec<Vec<usize>> {
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
        let ordered = rank::order(scale, &contenders);
        groups.extend(ordered.into_iter().map(|group| group.into_iter().map(|k| places[k]).collect()));
    }
    groups
}

impl Followed<'_> {
    /// What is said of it, against the first of the order.
    pub fn line(&self, scale: &Scale, first: Option<&Outlook>) -> RouteLine {
        let chance = scale.chance(&self.outlook);
        RouteLine {
            kit: self.candidate.kit.clone(),
            tray: self.candidate.tray.clone(),
            means: self.candidate.means.words(),
            planned: self.candidate.planned,
            made_before: self.candidate.made_before,
            chance: self.outlook.chance.value,
            low: chance.low,
            high: chance.high,
            captured: self.outlook.captured,
            fits: self.outlook.fits,
            in_mouth_s: self.times.in_mouth_s,
            chair_s: self.times.chair_s,
            cost: self.candidate.cost,
            in_the_way: self.outlook.in_the_way.clone(),
            waits_for: self.standing.waits.keys().copied().collect(),
            cautions: self
                .standing
                .others
                .iter()
                .filter(|rule| rule.level == Level::Caution && rule.affects.is_of_a_route())
                .map(|rule| rule.id.clone())
                .collect(),
            against_first: first.map(|first| scale.difference(&self.outlook, first)),
        }
    }
}
