//! Values with unit, spread, conditions and pedigree; products and their instructions; what is taught.
//!
//! Rows are read from TOML text into one immutable [`Parameters`] snapshot with a hash. No file is opened here: the
//! program passes the text. A key is `scope/name`; a lookup tries the product, then the class, then `any`.

mod distribution;
mod limits;
mod product;
pub mod shipped;
mod snapshot;
mod unit;
mod value;

pub use distribution::Distribution;
pub use limits::{Limit, Limits};
pub use product::{Instruction, Product, ProductKind, Taught};
pub use shipped::shipped;
pub use snapshot::{LedgerError, Parameters};
pub use unit::ValueUnit;
pub use value::{Spread, Value};
