//! A moment in integer milliseconds UTC. Zones and clocks belong to the program, not to the models.

/// Milliseconds since 1970-01-01T00:00:00Z, leap seconds not counted.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
pub struct Instant(i64);

impl Instant {
    /// A moment from milliseconds UTC.
    pub const fn from_millis(ms: i64) -> Self {
        Instant(ms)
    }

    /// Milliseconds UTC.
    pub const fn millis(self) -> i64 {
        self.0
    }

    /// This moment shifted by `seconds`, rounded to the millisecond and saturating at the ends.
    pub fn plus_seconds(self, seconds: f64) -> Self {
        Instant(self.0.saturating_add((seconds * 1000.0).round() as i64))
    }

    /// Seconds from `earlier` to this moment; negative when this moment is the earlier one.
    pub fn seconds_since(self, earlier: Instant) -> f64 {
        self.0.saturating_sub(earlier.0) as f64 / 1000.0
    }
}

#[cfg(test)]
mod tests {
    use super::Instant;

    #[test]
    fn shifting_and_measuring_agree_to_the_millisecond() {
        let start = Instant::from_millis(1_790_000_000_000);
        assert_eq!(start.plus_seconds(90.5).seconds_since(start), 90.5);
        assert_eq!(start.plus_seconds(-0.0004), start);
        assert_eq!(start.plus_seconds(f64::INFINITY).millis(), i64::MAX);
    }
}
