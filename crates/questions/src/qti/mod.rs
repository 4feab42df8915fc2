//! Items as packages of the open standard QTI 3.0 (Question and Test Interoperability, 1EdTech): bytes in, bytes out.
//!
//! A package is a ZIP with `imsmanifest.xml` at its root, one file for each item and one for the test that lists them in order.
//!
//! **What is written.** A choice is a `qti-choice-interaction`, an order a `qti-order-interaction`, a number a
//! `qti-text-entry-interaction` of base-type float with `qti-gte` and `qti-lte` between least and most. Marks are 1 or 0. What is
//! wrong with an option is a `qti-feedback-inline` in it; the reason, and what is to be said where two answers differ, stand in
//! a `qti-modal-feedback`. What the standard has no place for (topic, level, which answer is asked for, what the key rests on, misconceptions, digits,
//! spacing that a page would not show) stands in attributes `data-trayward-*` on elements of the body; the body is HTML5 in form, and the
//! standard's own example of an attribute `data-*` of somebody's own has it there. Other programs show the same item without them.
//! Entries are stored, not deflated, with one fixed time: the same items give the same bytes with any library of compression.
//!
//! **What is read.** Packages of version 3.0 and, because the names differ in form alone, 2.1 and 2.2; or one bare item.
//! Choices with one answer, orders, and numbers typed in. Response processing is carried out, not guessed at: the key is what scores
//! most, a band is what still scores as much at its edges and less beyond them, and feedback belongs to the answers that show it.
//! Whatever is not read is named in [`Read::left_out`]. A fixed place of an option (`fixed`) keeps all options in their order.
//!
//! **What is refused.** Everything in [`QtiError`]; the limits are the constants of this module.
//!
//! **Where the facts come from.** Read: the standard's own published example files (manifest, test, order, feedback inline and modal,
//! feedback block, `data-*`; repository `1EdTech/qti-examples`), and a public list of elements and attributes made
//! from the published schema of the item (attributes, defaults and allowed values of `qti-equal`, `qti-choice-interaction`, `qti-assessment-item` with the order of
//! its children). The examples name the template of response processing with `.xml` at the end, other material without; both are read.
//! From memory: percentages in `tolerance` of mode `relative`; two values in `tolerance` are below, then above;
//! names of version 2 other than those of the example files; `qti-map-entry` and its attributes; resource types of version 2.1.
//! The schema files could not be fetched where this was written, so packages have been checked with [`structure`] and not against the schema.

mod item_file;
mod package;
mod processing;
mod read;
mod scoring;
pub mod structure;
mod text;
mod write;
mod xml;

pub use read::{Read, read};
pub use write::{WriteError, write};

/// Most bytes of a package.
pub const MAX_PACKAGE_BYTES: usize = 64 << 20;
/// Most entries of a package.
pub const MAX_ENTRIES: usize = 4096;
/// Most bytes of one entry, inflated.
pub const MAX_ENTRY_BYTES: u64 = 16 << 20;
/// Most bytes of all entries, inflated.
pub const MAX_TOTAL_BYTES: u64 = 64 << 20;
/// Most bytes of one XML file.
pub const MAX_XML_BYTES: usize = 2 << 20;
/// Most elements within elements.
pub const MAX_DEPTH: usize = 64;
/// Most elements of one XML file.
pub const MAX_ELEMENTS: usize = 50_000;
/// Most attributes of one element.
pub const MAX_ATTRIBUTES: usize = 64;
/// Most characters of the name of an entry, and of an identifier.
pub const MAX_NAME: usize = 240;
/// Most items of a package.
pub const MAX_ITEMS: usize = 2000;

/// What names of entries may be, in words.
const NAMES: &str = "relative names with `/` between folders, without `..`, `.`, `\\`, `:` and control characters, at most 240 characters";

/// Why a package is refused.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
pub enum QtiError {
    /// Neither a package nor an item.
    #[error("given {given}; allowed a ZIP package with imsmanifest.xml at its root, or one QTI item as XML")]
    Foreign {
        /// What it is instead.
        given: String,
    },
    /// The whole is too large.
    #[error("given a package of {given} bytes; allowed at most {MAX_PACKAGE_BYTES}")]
    PackageTooLarge {
        /// Its bytes.
        given: usize,
    },
    /// Too many entries.
    #[error("given a package of {given} entries; allowed at most {MAX_ENTRIES}")]
    TooManyEntries {
        /// How many.
        given: usize,
    },
    /// Too many items.
    #[error("given a package of {given} items; allowed at most {MAX_ITEMS}")]
    TooManyItems {
        /// How many.
        given: usize,
    },
    /// One entry inflates to too much.
    #[error("{entry}: given more than {allowed} bytes when inflated; allowed at most {allowed}")]
    EntryTooLarge {
        /// Which.
        entry: String,
        /// The limit that it broke.
        allowed: u64,
    },
    /// All entries together inflate to too much.
    #[error(
        "{entry}: with it the package inflates to more than {MAX_TOTAL_BYTES} bytes; allowed at most that"
    )]
    TotalTooLarge {
        /// The entry that broke the limit.
        entry: String,
    },
    /// The header states another size than the entry has.
    #[error(
        "{entry}: given a header that states {stated} bytes and an entry that has other; allowed the same"
    )]
    SizeStated {
        /// Which.
        entry: String,
        /// What its header states.
        stated: u64,
    },
    /// A name that leads, or may lead, out of the package.
    #[error("{place}: given the name {given:?}; allowed {NAMES}")]
    Name {
        /// Where it stands.
        place: String,
        /// The name.
        given: String,
    },
    /// A link.
    #[error("{entry}: given a symbolic link; allowed files and folders")]
    Link {
        /// Which.
        entry: String,
    },
    /// Encrypted.
    #[error("{entry}: given an encrypted entry; allowed plain ones")]
    Encrypted {
        /// Which.
        entry: String,
    },
    /// Compressed in another way.
    #[error("{entry}: given the compression {given}; allowed stored or deflated")]
    Compression {
        /// Which.
        entry: String,
        /// How.
        given: String,
    },
    /// Two entries of one name.
    #[error("given two entries of the name {entry:?}; allowed one")]
    Duplicate {
        /// The name.
        entry: String,
    },
    /// The ZIP is cut off or its parts contradict each other.
    #[error("{place}: given a damaged ZIP ({why}); allowed a whole one")]
    Damaged {
        /// Which part.
        place: String,
        /// What the reader says.
        why: String,
    },
    /// Not UTF-8.
    #[error("{file}: given text in {given}; allowed UTF-8")]
    Encoding {
        /// Which file.
        file: String,
        /// What it is instead.
        given: String,
    },
    /// A document type, which could state entities.
    #[error("{file}: given a DOCTYPE; allowed none, so that no entity can be stated")]
    Doctype {
        /// Which file.
        file: String,
    },
    /// Not well-formed.
    #[error("{file}, byte {at}: given XML that is not well-formed ({why})")]
    Xml {
        /// Which file.
        file: String,
        /// Where.
        at: u64,
        /// What is wrong.
        why: String,
    },
    /// Elements too deep in each other.
    #[error("{file}: given elements nested deeper than {MAX_DEPTH}; allowed at most that")]
    Depth {
        /// Which file.
        file: String,
    },
    /// Too many elements.
    #[error("{file}: given more than {MAX_ELEMENTS} elements; allowed at most that")]
    Elements {
        /// Which file.
        file: String,
    },
    /// Too many attributes on one element.
    #[error("{file}: given more than {MAX_ATTRIBUTES} attributes on one element; allowed at most that")]
    Attributes {
        /// Which file.
        file: String,
    },
    /// An identifier that is none.
    #[error(
        "{file}: given the identifier {given:?}; allowed a letter or `_`, then letters, digits, `_`, `-` and `.`, at most 240 characters"
    )]
    Identifier {
        /// Which file.
        file: String,
        /// The identifier.
        given: String,
    },
}
