//! Adding to a store what another one has.

use std::collections::BTreeMap;

use terms::CaseCode;

use crate::replay::Kept;
use crate::seal::Seal;
use crate::store::{Restored, Store, StoreError};

/// Entries that are recorded in one go.
const BATCH: usize = 500;

/// Adds what is missing. A case whose two histories part is left as it is and named; nothing is ever taken away.
///
/// # Errors
/// When the store cannot be read or written.
pub async fn restore(store: &impl Store, entries: &[Kept]) -> Result<Restored, StoreError> {
    let mut restored = Restored::default();
    let mut cases: BTreeMap<&CaseCode, Vec<&Kept>> = BTreeMap::new();
    for kept in entries {
        cases.entry(kept.case()).or_default().push(kept);
    }
    for (case, theirs) in cases {
        restored.cases += 1;
        let ours = store.history(case).await?;
        let common = ours.len().min(theirs.len());
        let seal = |seal: Option<Seal>| seal.unwrap_or(Seal::EMPTY);
        let (last_ours, last_theirs) = match common {
            0 => (Seal::EMPTY, Seal::EMPTY),
            _ => (
                seal(ours.get(common - 1).map(|kept| kept.seal)),
                seal(theirs.get(common - 1).map(|kept| kept.seal)),
            ),
        };
        if last_ours != last_theirs {
            restored.parted.push(case.as_str().to_owned());
            continue;
        }
        restored.there += common as u64;
        let missing: Vec<_> = theirs.iter().skip(common).map(|kept| kept.entry.clone()).collect();
        for batch in missing.chunks(BATCH) {
            restored.added += store.append(batch).await?.len() as u64;
        }
    }
    Ok(restored)
}
