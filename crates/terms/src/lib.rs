//! The nouns of Trayward: what is known, what is planned, what happened. Data and its validation, no logic.
//!
//! Quantities are SI `f64` whose names carry the unit. A fact about the mouth or the room is
//! [`Fact::Known`], [`Fact::Unknown`] or [`Fact::NotApplicable`]; unknown is never "no".

mod abutment;
mod answers;
mod code;
mod fact;
mod found;
mod history;
mod instant;
mod lot;
mod questions;
pub mod ranges;
mod round;
mod route;
mod situation;
mod vocabulary;
mod words;

pub use abutment::{Abutment, MAX_ABUTMENTS, Tooth};
pub use answers::{Answer, AnswerKind, Answers, Question, patient, visit};
pub use code::{CaseCode, LEARNER_ALLOWED, NotACode, is_learner};
pub use fact::Fact;
pub use found::{Counted, DieFault, IndexFit, TryInSign};
pub use history::{DieFinding, Finding, Observation, Reading, Stamp, TryInFinding, check_order};
pub use instant::Instant;
pub use lot::{LotLabel, Lots, NotALot};
pub use questions::{PATIENT, VISIT};
pub use ranges::{Invalid, Range, Unit};
pub use round::check_round;
pub use route::{
    Baths, Fabrication, HoldingSegment, Material, Mix, Plan, ProductId, Restoration, Route, Stone, Tray,
};
pub use situation::Situation;
pub use vocabulary::{
    Action, Agent, Alloy, Anticoagulant, Astringent, Bound, CardiacDevice, ClockOrigin, Contaminant, Control,
    CordOrder, Dilution, DisinfectionMethod, Displacement, Electrode, Exposure, FabricationKind, Fault,
    Gagging, Grade, GumHealth, GumType, GypsumType, HoldingKind, ImpressionClass, InsulinPump, Link,
    MixMethod, Mobility, Purpose, Step, SulcusState, Technique, TrayKind, TrayMaterial, UndercutPlace,
    Withdrawal,
};
