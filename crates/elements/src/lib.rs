//! Axisymmetric finite elements for the layer of impression material between a die and its tray, and the table that
//! condenses them.
//!
//! Start at [`solve`] for the equations, [`die`] and [`wash`] for the bodies, [`condense`] for the table that `kernel::response`
//! evaluates. Nothing here runs inside a forecast.

pub mod condense;
pub mod die;
pub mod measure;
pub mod mesh;
pub mod shape;
pub mod solve;
pub mod wash;

/// What the elements cannot solve.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ElementsError {
    /// A constant of a material.
    #[error(
        "shear modulus {shear}, Poisson's ratio {poisson}; the modulus must be above 0, the ratio above 0 and up to {greatest}"
    )]
    Material {
        /// Shear modulus given.
        shear: f64,
        /// Poisson's ratio given.
        poisson: f64,
        /// Greatest Poisson's ratio allowed for this form.
        greatest: f64,
    },
    /// A mesh bent too far.
    #[error("element {element} near r, z = {straight:?} of the straight grid is turned inside out")]
    Inverted {
        /// Number of the element.
        element: usize,
        /// A place in it.
        straight: [f64; 2],
    },
    /// A body that nothing holds, or a factorisation that failed.
    #[error("{unknowns} unknowns could not be solved for: {why}")]
    Singular {
        /// Count of unknowns.
        unknowns: usize,
        /// What the factorisation said.
        why: String,
    },
    /// A measure of a die.
    #[error("{field} of the die is {given}; it must lie between {least} and {greatest}")]
    Die {
        /// The measure.
        field: &'static str,
        /// The value given.
        given: f64,
        /// The least value allowed.
        least: f64,
        /// The greatest value allowed.
        greatest: f64,
    },
}
