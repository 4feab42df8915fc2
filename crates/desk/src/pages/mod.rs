//! The local pages: what the terminal says, for a tablet or a laptop beside the chair.
//!
//! Server-rendered, with a few plain scripts of our own; nothing is loaded from elsewhere and nothing leaves the machine. A page is a view
//! of a forecast, and whatever is done on one is one of the same [`crate::running::Deed`]s as in the terminal.
//!
//! The way through: `server` (routes, refusals in `guard`) -> `house` (open cases and their forecasts) -> a page (`today`, `begin`, `card`,
//! `clock`, `findings`, `prints`, `stock`, `known`, `questions`) -> `frame`.

mod ask;
mod begin;
mod card;
mod class;
mod clock;
mod deeds;
mod demo;
mod doc;
mod facts;
mod findings;
mod frame;
mod guard;
mod house;
mod known;
mod practical;
mod practical_result;
mod prints;
mod questions;
mod routes;
mod server;
mod stock;
mod taught;
mod today;

pub use demo::fill;
pub use house::House;
pub use server::{Listening, ServeError, listen, router};
