//! From what clocks told to moments on one axis.
//!
//! ```text
//! instant = offset of the boot + time since boot;   offset = wall - time since boot, at the first entry of that boot
//! ```
//!
//! A wall clock that is set in between moves nothing, and a sleeping machine counts its sleep. Across a restart, or on another machine, only
//! the wall clocks are left, and that is said. No moment comes before one that was recorded earlier in another boot.

use terms::Instant;

use crate::entry::{BootId, Moment};

/// Two clocks may differ by this much before it is said, ms.
const NOTICED_MS: i64 = 2000;

/// Why a time is to be doubted.
#[derive(Clone, Debug, PartialEq, Eq, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Doubt {
    /// The wall clock was moved by this many milliseconds; the machine's own clock was kept to.
    WallClockMoved(i64),
    /// Between this moment and those before it only wall clocks are left: a restart, another machine, or one without its own clock.
    OnlyWallClock,
    /// The wall clock stood this many milliseconds before what had already been recorded, and no other clock was left.
    WentBack(i64),
}

/// The boots that have been seen.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Clocks {
    offsets: Vec<(BootId, i64)>,
    last: Option<(Instant, Option<BootId>)>,
    moved_ms: i64,
}

impl Clocks {
    /// Places the next moment of a history.
    pub fn place(&mut self, moment: &Moment) -> (Instant, Option<Doubt>) {
        let (at, doubt) = self.placed(moment);
        if let (Some(boot), Some(since_ms)) = (&moment.boot, moment.since_boot_ms)
            && !self.offsets.iter().any(|(known, _)| known == boot)
        {
            self.offsets.push((boot.clone(), at.millis().saturating_sub(since_ms)));
        }
        if let Some(Doubt::WallClockMoved(ms)) = doubt {
            // One setting of the clock is said once.
            let again = (ms - self.moved_ms).abs() <= NOTICED_MS;
            self.moved_ms = ms;
            if again {
                self.last = Some((at, moment.boot.clone()));
                return (at, None);
            }
        }
        self.last = Some((at, moment.boot.clone()));
        (at, doubt)
    }

    /// Where a moment lies, without recording it: the present.
    pub fn placed(&self, moment: &Moment) -> (Instant, Option<Doubt>) {
        let offset = moment.boot.as_ref().and_then(|boot| {
            self.offsets.iter().find(|(known, _)| known == boot).map(|(_, offset_ms)| *offset_ms)
        });
        if let (Some(offset_ms), Some(since_ms)) = (offset, moment.since_boot_ms) {
            let at = Instant::from_millis(offset_ms.saturating_add(since_ms));
            let apart_ms = moment.wall.millis().saturating_sub(at.millis());
            let moved = apart_ms.abs() > NOTICED_MS;
            return (at, moved.then_some(Doubt::WallClockMoved(apart_ms)));
        }
        let Some((last, _)) = &self.last else {
            let doubt = moment.boot.is_none().then_some(Doubt::OnlyWallClock);
            return (moment.wall, doubt);
        };
        let back_ms = last.millis().saturating_sub(moment.wall.millis());
        if back_ms > 0 {
            return (*last, Some(Doubt::WentBack(back_ms)));
        }
        (moment.wall, Some(Doubt::OnlyWallClock))
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn moment(wall_s: i64, boot: Option<&str>, since_s: i64) -> Moment {
        Moment {
            wall: Instant::from_millis(wall_s * 1000),
            boot: boot.map(|boot| BootId(boot.to_owned())),
            since_boot_ms: boot.map(|_| since_s * 1000),
        }
    }

    fn at(seconds: i64) -> Instant {
        Instant::from_millis(seconds * 1000)
    }

    #[test]
    fn a_wall_clock_that_is_set_moves_nothing_and_is_said_once() {
        let mut clocks = Clocks::default();
        assert_eq!(clocks.place(&moment(1000, Some("a"), 50)), (at(1000), None));
        // An hour forward, as when the zone is mistaken and the clock set.
        assert_eq!(
            clocks.place(&moment(4690, Some("a"), 140)),
            (at(1090), Some(Doubt::WallClockMoved(3_600_000)))
        );
        assert_eq!(clocks.place(&moment(4700, Some("a"), 150)), (at(1100), None));
        // And back again: that is another setting.
        assert_eq!(clocks.place(&moment(1110, Some("a"), 160)), (at(1110), None));
    }

    #[test]
    fn sleep_counts_because_the_clock_since_boot_counts_it() {
        let mut clocks = Clocks::default();
        clocks.place(&moment(1000, Some("a"), 50));
        assert_eq!(clocks.place(&moment(2800, Some("a"), 1850)), (at(2800), None));
    }

    #[test]
    fn a_restart_leaves_only_the_wall_clock_and_says_so() {
        let mut clocks = Clocks::default();
        clocks.place(&moment(1000, Some("a"), 50));
        assert_eq!(clocks.place(&moment(1200, Some("b"), 9)), (at(1200), Some(Doubt::OnlyWallClock)));
        // Within the new boot its own clock counts again.
        assert_eq!(clocks.place(&moment(1260, Some("b"), 69)), (at(1260), None));
        // The first machine, asked again, still knows its own offset.
        assert_eq!(clocks.place(&moment(1300, Some("a"), 350)), (at(1300), None));
    }

    #[test]
    fn a_wall_clock_that_went_back_over_a_restart_turns_nothing_round() {
        let mut clocks = Clocks::default();
        clocks.place(&moment(1000, Some("a"), 50));
        assert_eq!(clocks.place(&moment(400, Some("b"), 9)), (at(1000), Some(Doubt::WentBack(600_000))));
        assert_eq!(clocks.place(&moment(460, Some("b"), 69)).0, at(1060));
    }

    #[test]
    fn without_a_clock_of_its_own_a_machine_is_doubted_each_time() {
        let mut clocks = Clocks::default();
        assert_eq!(clocks.place(&moment(1000, None, 0)), (at(1000), Some(Doubt::OnlyWallClock)));
        assert_eq!(clocks.place(&moment(1010, None, 0)), (at(1010), Some(Doubt::OnlyWallClock)));
    }
}
