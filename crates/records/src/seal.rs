//! The chain of hashes of a case.
//!
//! ```text
//! seal(n) = SHA-256(seal(n - 1), id, case, number, wall, boot, since boot, body)
//! ```
//!
//! with a length before each part. It finds what was damaged or changed by hand; it is no signature, for anybody can compute it.

use sha2::{Digest, Sha256};

use crate::entry::Entry;

/// Hash of an entry and of all entries of its case before it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Seal(pub [u8; 32]);

impl Seal {
    /// Before the first entry.
    pub const EMPTY: Seal = Seal([0; 32]);

    /// As hexadecimal digits.
    pub fn text(&self) -> String {
        self.0.iter().map(|byte| format!("{byte:02x}")).collect()
    }

    /// From hexadecimal digits; none when they are not 64 of them.
    pub fn from_text(text: &str) -> Option<Seal> {
        let bytes = text.as_bytes();
        if bytes.len() != 64 {
            return None;
        }
        let mut seal = [0; 32];
        for (byte, pair) in seal.iter_mut().zip(bytes.chunks_exact(2)) {
            let digits = std::str::from_utf8(pair).ok()?;
            *byte = u8::from_str_radix(digits, 16).ok()?;
        }
        Some(Seal(seal))
    }
}

/// The seal of an entry after one before it. `body` is its text as it is kept.
pub fn sealed(before: Seal, entry: &Entry, number: u64, body: &str) -> Seal {
    let mut hash = Sha256::new();
    let mut part = |bytes: &[u8]| {
        hash.update((bytes.len() as u64).to_le_bytes());
        hash.update(bytes);
    };
    part(&before.0);
    part(entry.id.to_string().as_bytes());
    part(entry.case.as_str().as_bytes());
    part(&number.to_le_bytes());
    part(&entry.at.wall.millis().to_le_bytes());
    part(entry.at.boot.as_ref().map_or("", |boot| boot.0.as_str()).as_bytes());
    part(&entry.at.since_boot_ms.unwrap_or(i64::MIN).to_le_bytes());
    part(body.as_bytes());
    Seal(hash.finalize().into())
}
