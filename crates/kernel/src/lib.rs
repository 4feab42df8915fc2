//! The models of each link of the chain: pure functions, SI numbers in, SI numbers out.
//!
//! No clock, file, network or random state; no allocation in the inner loops. Transcendental
//! functions come from `libm`, so that the same input gives the same bits on every processor.
//! Each module opens with its equation, its conditions and its source.

pub mod agar;
pub mod capture;
pub mod casting;
pub mod cure;
pub mod gypsum;
pub mod holding;
pub mod hot_film;
pub mod mixing;
pub mod moist_air;
pub mod mould_heat;
pub mod normal;
pub mod removal;
pub mod response;
pub mod seating;
pub mod set;
pub mod sorption;
pub mod stone_growth;
pub mod stone_strength;
pub mod surface;
pub mod tridiagonal;
pub mod tube;

/// Molar gas constant, J/(mol K): exact since the 2019 SI.
pub const GAS_CONSTANT: f64 = 8.314_462_618_153_24;

/// 0 °C in kelvin, exact.
pub const ZERO_CELSIUS: f64 = 273.15;
