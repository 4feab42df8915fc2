//! Values with unit, spread, conditions and pedigree; products and their instructions; what is taught; what disinfects an
//! impression and what keeps it from setting.
//!
//! Rows are read from TOML text into one immutable [`Parameters`] snapshot with a hash. No file is opened here: the
//! program passes the text. A key is `scope/name`; a lookup tries the product, then the class, then `any`.

pub mod disinfection;
mod distribution;
mod inhibition;
mod limits;
mod product;
pub mod shipped;
mod snapshot;
mod unit;
mod value;

pub use disinfection::{Bearing, Disinfectant};
pub use distribution::Distribution;
pub use inhibition::{Effect, Inhibition};
pub use limits::{Limit, Limits};
pub use product::{Instruction, Product, ProductKind, Taught};
pub use shipped::{FILES, shipped};
pub use snapshot::{LedgerError, Parameters};
pub use unit::ValueUnit;
pub use value::{Spread, Value};
