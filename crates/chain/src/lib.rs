//! The chain: what is known and planned, and what has happened, in; a forecast, out.
//!
//! One pure function, [`forecast`]. A plan is a forecast without stamps; the running clock is the same call with some
//! stamps; the check is the same call with all of them and what was found. It reads no clock, file, network or hidden random
//! state, and gives the same bits on any machine and any number of threads.
//!
//! The way through: `space` (what is sampled) -> `samples` and `mouth` (to removal) -> `access` (margins), `keeping` with `pull` (to
//! rigid stone) -> `size` (errors and fit) -> `judge`, `conditioning`, `quantities`, `budget`, `pouring`, `schedule`, `speech` (what is said) ->
//! `report`.

mod access;
mod after;
mod agar;
mod budget;
mod components;
mod conditioning;
mod constants;
mod contact;
mod course;
mod error;
mod forecast;
mod heat;
mod judge;
pub mod keeping;
pub mod mouth;
mod outlook;
mod pouring;
mod profile;
mod pull;
mod quantities;
mod readings;
pub mod report;
pub mod roots;
mod rubber;
mod sampled;
pub mod samples;
mod schedule;
mod scopes;
mod second_pour;
pub mod sensitivity;
mod setting;
pub mod size;
pub mod sobol;
pub mod space;
mod speech;
pub mod statistics;
mod timeline;
pub mod timing;
pub mod windows;

pub use access::{Buy, Margins, ToothMargin};
pub use after::signs;
pub use components::{Component, Components, Way, components};
pub use constants::Constants;
pub use error::ChainError;
pub use forecast::forecast;
pub use outlook::{Outlook, outlook, outlooks};
pub use profile::{Profile, ProfileMoment, bears, profile};
pub use readings::{AsRead, as_read, is_of_a_fact};
pub use report::Forecast;
pub use sampled::{IDS, Sampled, Series, gains, sampled, sampled_ideal, turned};
pub use samples::Effort;
pub use setting::{SetMoment, Setting, setting};
pub use speech::{LIKELY, MAINLY, UNLIKELY};
