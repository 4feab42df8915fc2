//! From sizes to usable or not, and how far from the limit.

use ledger::{Limit, Limits};
use terms::{Link, Purpose};

use crate::keeping::Kept;
use crate::report::LimitResult;
use crate::size::Sizes;
use crate::statistics::mean;

/// Signed distance to the nearest limit, positive inside: metres for a restoration, a share for a cast.
pub fn margin(purpose: Purpose, sizes: &Sizes, limits: &Limits) -> f64 {
    if purpose.has_die() {
        (limits.opening_m.value - sizes.opening_m)
            .min(limits.wall_space_m.value - sizes.wall_space_m)
            .min(limits.loose_m.value - sizes.loose_m)
            .min(limits.overhang_m.value - sizes.step_m)
    } else {
        limits.cast_share.value - cast_share(sizes)
    }
}

/// Whether this sample serves once its margins are captured: it was molten where it had to be and seated while it flowed (mix),
/// every place was a gel at removal (set), every grain of its stone could hydrate (stone), and its sizes keep the limits. What
/// belongs to a link in `ideal` is taken as well done.
pub fn fits(kept: &Kept, margin: f64, ideal: &[Link]) -> bool {
    let well = |link: Link, done: bool| done || ideal.contains(&link);
    well(Link::Mix, kept.melted && kept.seated_in_time)
        && well(Link::Set, kept.gelled_at_removal)
        && well(Link::Stone, kept.stone.water_suffices)
        && margin > 0.0
}

/// Probability that this sample is usable: every margin captured, and it serves.
pub fn usable(kept: &Kept, margin: f64, ideal: &[Link]) -> f64 {
    match (fits(kept, margin, ideal), ideal.contains(&Link::Access)) {
        (false, _) => 0.0,
        (true, true) => 1.0,
        (true, false) => kept.margins.captured,
    }
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
            result(&limits.loose_m, "space at the walls beyond the film", "m", |sizes| sizes.loose_m),
            result(&limits.overhang_m, "step at the margin", "m", |sizes| sizes.step_m),
        ]
    } else {
        vec![result(&limits.cast_share, "error of a distance on the cast", "1", cast_share)]
    }
}

/// Relative error of a cast: of a tooth or of the distance across the arch, whichever is the larger. A tray that holds keeps the
/// distance while the teeth grow.
fn cast_share(sizes: &Sizes) -> f64 {
    sizes.diameter_share.abs().max(sizes.span_share.abs())
}
