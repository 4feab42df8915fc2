//! Everything that is known of a case, as counsel looks at it.

use terms::{Answers, Observation, Route, Situation, Stamp};

/// One case: the mouth and the room, one route, the patient and the visit, and what has happened.
#[derive(Clone, Copy, Debug)]
pub struct View<'a> {
    /// The mouth and the room.
    pub situation: &'a Situation,
    /// The route that is looked at.
    pub route: &'a Route,
    /// Facts about the patient.
    pub patient: &'a Answers,
    /// Facts about the visit.
    pub visit: &'a Answers,
    /// Recorded moments.
    pub stamps: &'a [Stamp],
    /// Readings and findings.
    pub observations: &'a [Observation],
}
