//! A moment as text: RFC 3339 with an offset from UTC, to the millisecond.

use terms::Instant;
use toml::value::Datetime;

/// First moment that a case file may hold: 2000-01-01T00:00:00Z.
const FIRST_MS: i64 = 946_684_800_000;
/// First moment after the years that a case file may hold: 2101-01-01T00:00:00Z.
const AFTER_LAST_MS: i64 = 4_133_980_800_000;

/// Why a moment is refused.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Refused {
    /// It is not a date and a time of day.
    NotAMoment,
    /// It has no offset, so it could be any of some forty moments.
    NoOffset,
    /// It lies outside the years 2000 to 2100.
    OtherCentury,
}

/// The moment that is written, rounded to the millisecond.
///
/// # Errors
/// Why it is refused.
pub fn parse(written: &Datetime) -> Result<Instant, Refused> {
    if written.date.is_none() || written.time.is_none() {
        return Err(Refused::NotAMoment);
    }
    if written.offset.is_none() {
        return Err(Refused::NoOffset);
    }
    let timestamp: jiff::Timestamp = written.to_string().parse().map_err(|_| Refused::NotAMoment)?;
    let ms = (timestamp.as_nanosecond() + 500_000).div_euclid(1_000_000);
    match i64::try_from(ms) {
        Ok(ms) if (FIRST_MS..AFTER_LAST_MS).contains(&ms) => Ok(Instant::from_millis(ms)),
        _ => Err(Refused::OtherCentury),
    }
}

/// The moment in UTC.
pub fn write(moment: Instant) -> String {
    let ms = moment.millis().clamp(FIRST_MS, AFTER_LAST_MS - 1);
    jiff::Timestamp::from_millisecond(ms).expect("the years 2000 to 2100 lie inside the calendar").to_string()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn read(text: &str) -> Result<Instant, Refused> {
        text.parse::<Datetime>().map_err(|_| Refused::NotAMoment).and_then(|written| parse(&written))
    }

    #[test]
    fn the_offset_counts_and_must_be_there() {
        assert_eq!(read("1970-01-01T00:00:00Z"), Err(Refused::OtherCentury));
        assert_eq!(read("2000-01-01T01:00:00+01:00"), Ok(Instant::from_millis(FIRST_MS)));
        assert_eq!(read("2000-01-01T00:59:59.999+01:00"), Err(Refused::OtherCentury));
        assert_eq!(read("2100-12-31T23:59:59.999Z"), Ok(Instant::from_millis(AFTER_LAST_MS - 1)));
        assert_eq!(read("2101-01-01T00:00:00Z"), Err(Refused::OtherCentury));
        assert_eq!(read("2000-01-01T00:00:00.0005Z"), Ok(Instant::from_millis(FIRST_MS + 1)));
        assert_eq!(read("2000-01-01T00:00:00.000499Z"), Ok(Instant::from_millis(FIRST_MS)));
        assert_eq!(read("2026-03-02T09:15:00"), Err(Refused::NoOffset));
        assert_eq!(read("2026-03-02"), Err(Refused::NotAMoment));
        assert_eq!(read("09:15:00"), Err(Refused::NotAMoment));
    }

    #[test]
    fn what_is_written_reads_back_to_the_millisecond() {
        for ms in [FIRST_MS, 1_772_442_900_000, 1_772_442_900_123, AFTER_LAST_MS - 1] {
            let moment = Instant::from_millis(ms);
            assert_eq!(read(&write(moment)), Ok(moment));
        }
        assert_eq!(write(Instant::from_millis(1_772_442_900_000)), "2026-03-02T09:15:00Z");
    }
}
