//! Routes that are not taken today, or not with an impression: the gum is treated first, or the mouth is scanned.

use chain::ChainError;
use terms::{Answer, Fact, GumHealth, Purpose, SulcusState};

use super::candidates::{self, Candidate};
use super::change;
use super::clinic::Means;
use super::follow::{Entered, Followed, follow, order};
use super::rank::Scale;
use super::report::{NotToday, Scan, ScanFigure, Then};
use super::standing::Standing;
use super::{Pace, Question};

/// Treating the gum first: why, how long, and what it would make of the best routes.
///
/// # Errors
/// When the ledger lacks a row.
pub fn not_today(
    asked: &Question,
    scale: &Scale,
    ordered: &[&Followed],
    waiting: &[&Followed],
    means: &[Means],
    pace: Pace,
) -> Result<NotToday, ChainError> {
    let (row, healing) = asked.parameters.find(&["visit"], "healing")?;
    let mut report = NotToday {
        reasons: Vec::new(),
        unknown: Vec::new(),
        key: row.key.clone(),
        healing_s: [healing.quantile(0.05), healing.median(), healing.quantile(0.95)],
        then: None,
    };
    let situation = asked.view.situation;
    match situation.bleeding {
        Fact::Known(true) => report.reasons.push("it bleeds at the margin".to_owned()),
        Fact::Unknown => report.unknown.push("whether it bleeds at the margin"),
        _ => {}
    }
    if situation.abutments.iter().any(|abutment| abutment.sulcus == Fact::Known(SulcusState::Blood)) {
        report.reasons.push("blood stands in a sulcus".to_owned());
    }
    match asked.view.patient.get("gum_health") {
        Some(Fact::Known(Answer::Word(word))) if word != GumHealth::Healthy.word() => {
            report.reasons.push(format!("the gum {word}"));
        }
        Some(Fact::Unknown) => report.unknown.push("whether the gum is healthy"),
        _ => {}
    }
    if !situation.purpose.has_die() {
        return Ok(report);
    }
    // The best of today, or those that wait, or where nothing may be done today the routes with the first means at hand.
    let today: Vec<&Followed> = match ordered.is_empty() {
        true => order(scale, waiting)
            .into_iter()
            .flatten()
            .filter_map(|place| waiting.get(place).copied())
            .collect(),
        false => ordered.to_vec(),
    };
    let now = today.first();
    let mut candidates: Vec<Candidate> =
        today.iter().take(pace.contenders.max(1)).map(|followed| followed.candidate.clone()).collect();
    if candidates.is_empty()
        && let Some(first) = means.first()
    {
        candidates = candidates::with_means(&asked.view, asked.clinic, first);
    }
    let mut patient = asked.view.patient.clone();
    // The list of patient's questions has this one, with this word.
    let _ = patient.answer("patient", "gum_health", Fact::Known(Answer::Word(GumHealth::Healthy.word())));
    let healed = Question { view: crate::View { patient: &patient, ..asked.view }, ..*asked };
    let entered: Vec<Vec<Entered>> = candidates
        .into_iter()
        .map(|candidate| change::turned(&candidate, change::DRY).unwrap_or(candidate))
        .map(|candidate| {
            let standing = Standing::of(asked.rulebook, &candidate, &healed.view);
            Entered { candidate, standing }
        })
        .filter(|entered| entered.standing.stops.is_empty())
        .map(|entered| vec![entered])
        .collect();
    let followed = follow(&healed, entered, pace.effort, &mut Vec::new())?;
    let each: Vec<&Followed> = followed.iter().collect();
    let both = each.iter().chain(now).map(|followed| &followed.outlook);
    let scale = Scale::of(both, pace.effort.points);
    let first = order(&scale, &each).into_iter().flatten().next().and_then(|place| each.get(place));
    report.then = first.map(|first| {
        let chance = scale.chance(&first.outlook);
        Then {
            route: first.candidate.words(),
            chance: first.outlook.chance.value,
            low: chance.low,
            high: chance.high,
            against_today: now.map(|now| scale.difference(&first.outlook, &now.outlook)),
        }
    });
    Ok(report)
}

/// An optical scan with its published figures.
///
/// # Errors
/// When the ledger lacks a row.
pub fn scan(asked: &Question) -> Result<Scan, ChainError> {
    let mut figures = Vec::new();
    let names: &[&str] = match asked.view.situation.purpose {
        Purpose::Crown => &["opening", "quadrant"],
        Purpose::Bridge => &["opening", "quadrant", "arch"],
        _ => &["arch"],
    };
    for name in names {
        let (row, distribution) = asked.parameters.find(&["scan"], name)?;
        figures.push(ScanFigure {
            key: row.key.clone(),
            quantity: row.quantity.clone(),
            interval: [distribution.quantile(0.05), distribution.median(), distribution.quantile(0.95)],
            conditions: row.conditions.clone(),
        });
    }
    Ok(Scan { at_hand: asked.clinic.scanner, figures })
}
