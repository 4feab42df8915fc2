//! The book of the clinic: the room as it was last read, and the lots on the shelf. It is a history like that of a case, under a code of
//! its own.

use terms::{CaseCode, Instant, Reading};

use crate::clocks::Clocks;
use crate::entry::{EntryId, What};
use crate::replay::Kept;

/// A lot on the shelf.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
pub struct OnShelf {
    /// Entry; taking it back takes the lot off the shelf.
    pub id: EntryId,
    /// Identifier of its product.
    pub product: String,
    /// Label.
    pub lot: String,
    /// The last day or month, as printed.
    pub expires: Option<String>,
    /// When it came.
    pub at: Instant,
}

/// The clinic as its book leaves it.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Book {
    /// Air of the room, K.
    pub room_temperature_k: Option<(f64, Instant)>,
    /// Relative humidity.
    pub room_humidity: Option<(f64, Instant)>,
    /// Tap water, K.
    pub water_temperature_k: Option<(f64, Instant)>,
    /// Lots, the newest last.
    pub lots: Vec<OnShelf>,
    /// Entries.
    pub entries: u64,
}

impl Book {
    /// The code under which a clinic keeps its book. No case has it.
    pub const CODE: &'static str = "BOOK-00";

    /// Whether a code is that of the book.
    pub fn is(code: &CaseCode) -> bool {
        code.as_str() == Book::CODE
    }

    /// The clinic as a history leaves it. What does not belong here changes nothing.
    pub fn replay(history: &[Kept]) -> Book {
        let mut book = Book::default();
        let mut clocks = Clocks::default();
        for Kept { entry, number, .. } in history {
            let (recorded, _) = clocks.place(&entry.at);
            let at = recorded.plus_seconds(-(entry.what.earlier_ms() as f64) / 1000.0);
            book.entries = *number;
            if entry.what.check().is_err() {
                continue;
            }
            match &entry.what {
                What::Observed { reading: Reading::RoomTemperature(k), .. } => {
                    book.room_temperature_k = Some((*k, at));
                }
                What::Observed { reading: Reading::RoomHumidity(share), .. } => {
                    book.room_humidity = Some((*share, at));
                }
                What::Observed { reading: Reading::WaterTemperature(k), .. } => {
                    book.water_temperature_k = Some((*k, at));
                }
                What::Received { product, lot, expires } => book.lots.push(OnShelf {
                    id: entry.id,
                    product: product.clone(),
                    lot: lot.clone(),
                    expires: expires.clone(),
                    at,
                }),
                What::TakenBack { entry } => book.lots.retain(|lot| lot.id != *entry),
                _ => {}
            }
        }
        book
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

    use super::*;
    use crate::{Entry, Moment, Seal};

    #[test]
    fn the_room_is_as_last_read_and_a_lot_stays_until_it_is_taken_off() {
        let code = CaseCode::new(Book::CODE).unwrap();
        let kept = |number: u64, what| Kept {
            entry: Entry {
                id: EntryId::from_bits(number.into()),
                case: code.clone(),
                at: Moment {
                    wall: Instant::from_millis(1_800_000_000_000 + number as i64 * 1000),
                    boot: None,
                    since_boot_ms: None,
                },
                what,
            },
            number,
            seal: Seal::EMPTY,
        };
        let room = |k| What::Observed { reading: Reading::RoomTemperature(k), earlier_ms: 0 };
        let lot = |lot: &str, expires: Option<&str>| What::Received {
            product: "demo-stone-4".to_owned(),
            lot: lot.to_owned(),
            expires: expires.map(str::to_owned),
        };
        let history = [
            kept(1, room(295.0)),
            kept(2, lot("S-118", Some("2027-03"))),
            kept(3, room(297.0)),
            kept(4, lot("S-119", Some("2027-13"))),
            kept(5, lot("S-120", None)),
            kept(6, What::TakenBack { entry: EntryId::from_bits(2) }),
        ];
        let book = Book::replay(&history);
        assert_eq!(book.room_temperature_k.unwrap().0, 297.0);
        assert_eq!(book.room_humidity, None);
        let lots: Vec<&str> = book.lots.iter().map(|lot| lot.lot.as_str()).collect();
        assert_eq!(lots, ["S-120"], "a month that no year has is not counted");
        assert!(lot("S 1", None).check().is_err() && lot("S-1", Some("2027-02-31x")).check().is_err());
    }
}
