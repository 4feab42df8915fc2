//! From sizes to usable or not, and how far from the limit.

use ledger::{Limit, Limits};
use terms::Purpose;

use crate::keeping::Kept;
use crate::report::LimitResult;
use crate::size::Sizes;
use crate::statistics::mean;

/// Signed distance to the nearest limit, positive inside: metres for a restoration, a share for a cast.
pub fn margin(purpose: Purpose, sizes: &Sizes, limits: &Limits) -> f64 {
    if purpose.has_die() {
        (limits.opening_m.value - sizes.opening_m).min(limits.wall_space_m.value - sizes.wall_space_m)
    } else {
        limits.cast_share.value - cast_share(sizes)
    }
}

/// Whether this sample ends inside the limits: it was molten where it had to be, it was seated while it flowed, it had set at
/// removal, every grain of its stone could hydrate, and its sizes keep the limits.
pub fn usable(kept: &Kept, margin: f64) -> bool {
    kept.melted && kept.seated_in_time && kept.set_at_removal && kept.stone.water_suffices && margin > 0.0
}

/// The result against each limit that bears on the purpose, and against the other limits in use.
pub fn against_limits(
    purpose: Purpose,
    sizes: &[Sizes],
    weights: &[f64],
    limits: &Limits,
) -> Vec<LimitResult> {
    let result = |limit: &Limit, words, si_unit, value: fn(&Sizes) -> f64| {
        let within = |bound: f64| {
            let holds: Vec<f64> =
                sizes.iter().map(|sizes| if value(sizes) < bound { 1.0 } else { 0.0 }).collect();
            mean(&holds, weights)
        };
        LimitResult {
            key: limit.key.clone(),
            words,
            si_unit,
            value: limit.value,
            within: within(limit.value),
            others: limit.others.iter().map(|&other| (other, within(other))).collect(),
            grade: limit.grade,
        }
    };
    if purpose.has_die() {
        vec![
            result(&limits.opening_m, "opening at the margin", "m", |sizes| sizes.opening_m),
            result(&limits.wall_space_m, "space at the walls", "m", |sizes| sizes.wall_space_m),
        ]
    } else {
        vec![result(&limits.cast_share, "error of a distance on the cast", "1", cast_share)]
    }
}

/// Relative error of a cast: that of the distance across the arch, or of a tooth where no distance applies.
fn cast_share(sizes: &Sizes) -> f64 {
    if sizes.span_share == 0.0 { sizes.diameter_share.abs() } else { sizes.span_share.abs() }
}
