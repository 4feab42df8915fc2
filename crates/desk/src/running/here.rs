//! The clocks of this machine.

use records::Moment;
use terms::Instant;

/// The present: the wall clock, which start of the machine this is, and how long that is ago, sleep included.
///
/// Where a machine does not say when it was started, only the wall clock is left, and whoever reads the history is told so.
pub fn here() -> Moment {
    let wall = Instant::from_millis(jiff::Timestamp::now().as_millisecond());
    let since = boot();
    Moment {
        wall,
        boot: since.as_ref().map(|(boot, _)| boot.clone()),
        since_boot_ms: since.map(|(_, ms)| ms),
    }
}

#[cfg(target_os = "linux")]
fn boot() -> Option<(records::BootId, i64)> {
    let id = std::fs::read_to_string("/proc/sys/kernel/random/boot_id").ok()?;
    let since = rustix::time::clock_gettime(rustix::time::ClockId::Boottime);
    let ms = since.tv_sec.checked_mul(1000)?.checked_add(since.tv_nsec / 1_000_000)?;
    Some((records::BootId(id.trim().to_owned()), ms))
}

#[cfg(not(target_os = "linux"))]
fn boot() -> Option<(records::BootId, i64)> {
    None
}

#[cfg(all(test, target_os = "linux"))]
mod tests {
    use super::here;

    #[test]
    fn both_clocks_go_on_together() {
        let (first, second) = (here(), here());
        assert!(first.boot.is_some() && first.boot == second.boot);
        let since = |moment: &records::Moment| moment.since_boot_ms.unwrap();
        assert!(since(&second) >= since(&first));
    }
}
