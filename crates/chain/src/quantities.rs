//! The numbers of a card, each with its interval and the root causes it rests on.

use crate::keeping::Kept;
use crate::mouth::{HORIZON_S, OPEN_HORIZON_S};
use crate::report::{Contribution, Quantity};
use crate::samples::Sample;
use crate::sensitivity::first_order_by_slices;
use crate::size::Sizes;
use crate::space::Space;
use crate::statistics::Interval;

/// Slices of a coordinate when shares of variance are estimated.
const SLICES: usize = 16;

/// Shares below this are within the noise of the estimate and are not listed.
const LEAST_SHARE: f64 = 0.01;

/// A number before it is summarised: one value a sample, infinite where it does not exist.
pub struct Raw {
    /// Identifier.
    pub id: &'static str,
    /// In words.
    pub words: &'static str,
    /// SI unit.
    pub si_unit: &'static str,
    /// Values in index order.
    pub values: Vec<f64>,
}

/// What decides which numbers there are.
pub struct Scope {
    /// Place of the pour among the pour times.
    pub pour: usize,
    /// A restoration is made on the die.
    pub has_die: bool,
    /// There is a span.
    pub has_span: bool,
    /// From the end of mixing until the tray is in place, s.
    pub loading_s: f64,
}

/// Numbers that every forecast has, and those of its purpose.
pub fn raw(samples: &[Sample], kept: &[Kept], sizes: &[Sizes], scope: &Scope) -> Vec<Raw> {
    let Scope { pour, has_die, has_span, loading_s } = *scope;
    let of_size = |id, words, si_unit, value: fn(&Sizes) -> f64| Raw {
        id,
        words,
        si_unit,
        values: sizes.iter().map(value).collect(),
    };
    let mut list = vec![
        of_size("die.diameter", "error of the die diameter", "m", |sizes| sizes.diameter_m),
        of_size("die.height", "error of the die height", "m", |sizes| sizes.height_m),
    ];
    if has_span {
        list.push(of_size("span", "error of the span", "m", |sizes| sizes.span_m));
        list.push(of_size("span.share", "error of the span as a share", "1", |sizes| sizes.span_share));
    }
    if has_die {
        list.push(of_size("fit.opening", "opening at the seated margin", "m", |sizes| sizes.opening_m));
        list.push(of_size("fit.wall_space", "space at the walls", "m", |sizes| sizes.wall_space_m));
        list.push(of_size("fit.loose", "space at the walls beyond the film", "m", |sizes| sizes.loose_m));
        list.push(of_size("fit.step", "largest step at the margin, either way", "m", |sizes| sizes.step_m));
        if has_span {
            list.push(of_size("fit.misfit", "span error that spacer and taper do not take", "m", |sizes| {
                sizes.misfit_m
            }));
        }
    }
    list.extend(before_removal(samples, loading_s));
    let of_kept = |id, words, si_unit, value: &dyn Fn(&Kept) -> f64| Raw {
        id,
        words,
        si_unit,
        values: kept.iter().map(value).collect(),
    };
    if has_die {
        list.extend([
            of_kept("access.captured", "chance that every margin is captured", "1", &|kept| {
                kept.margins.captured
            }),
            of_kept("access.width", "narrowest sulcus when the material comes", "m", &|kept| {
                kept.margins.narrowest_m
            }),
            of_kept("access.uncovered", "longest time from cord to material", "s", &|kept| {
                kept.margins.longest_s
            }),
        ]);
    }
    list.extend([
        of_kept("removed.temperature", "impression at removal", "K", &|kept| kept.removed_k),
        of_kept("mass.change", "mass change at the pour", "1", &|kept| kept.moulds[pour].mass_change),
        of_kept("strain.holding", "shrinkage from holding", "1", &|kept| kept.moulds[pour].holding),
        of_kept("strain.cure", "locked-in shrinkage of the cure", "1", &|kept| kept.moulds[pour].cure),
        of_kept("strain.thermal", "mouth to rigid stone, free thermal shrinkage", "1", &|kept| {
            kept.moulds[pour].thermal
        }),
        of_kept("strain.rewarming", "part of it undone by the heat of the stone", "1", &|kept| {
            kept.moulds[pour].rewarming
        }),
        of_kept("removal.strain", "strain over the undercut on removal", "1", &|kept| kept.pulled.strain),
        of_kept("removal.force", "force across on the tooth with the undercut", "N", &|kept| {
            kept.pulled.side_force_n
        }),
        of_kept("removal.at_die", "what that strain leaves on the die diameter", "m", &|kept| {
            kept.moulds[pour].pulled_m
        }),
        of_kept("removal.web_tear", "chance that a web between teeth tears", "1", &|kept| {
            kept.pulled.web_tear
        }),
        of_kept("separation.break", "chance that a slender stone tooth breaks on separation", "1", &|kept| {
            kept.break_chance
        }),
        of_kept("stone.growth", "growth of the stone in the impression", "1", &|kept| kept.stone.growth),
        of_kept("window.separate.opens", "ready for separation, from pouring", "s", &|kept| {
            kept.stone.separable_s
        }),
    ]);
    list
}

/// Numbers that are known once an impression can be removed, whatever becomes of it.
pub fn before_removal(samples: &[Sample], loading_s: f64) -> Vec<Raw> {
    let of_sample = |id, words, si_unit, value: fn(&Sample) -> f64| Raw {
        id,
        words,
        si_unit,
        values: samples.iter().map(value).collect(),
    };
    let mut list = vec![
        of_sample("mix.temperature", "mix at the end of mixing", "K", |sample| sample.mouth.mix_t_k),
        Raw {
            id: "window.mix.closes",
            words: "mixing must have ended, from the start of mixing",
            si_unit: "s",
            values: samples.iter().map(|sample| (sample.mouth.working_end_s - loading_s).max(0.0)).collect(),
        },
        of_sample("window.seat.closes", "end of working, from the start of mixing", "s", |sample| {
            sample.mouth.working_end_s
        }),
        of_sample("bowl.set", "rest in the bowl has set, from the start of mixing", "s", |sample| {
            sample.mouth.bowl_set_s
        }),
        of_sample("window.remove.opens", "ready for removal, from the tray being in place", "s", |sample| {
            sample.mouth.ready_after_seat_s.min(HORIZON_S)
        }),
    ];
    if samples.iter().any(|sample| sample.mouth.sol.is_some()) {
        let of_sol = |value: fn(&crate::agar::Sol) -> f64| {
            samples.iter().map(|sample| sample.mouth.sol.as_ref().map_or(f64::INFINITY, value)).collect()
        };
        list.push(Raw {
            id: "sol.least",
            words: "least share of sol in the tube after storage",
            si_unit: "1",
            values: of_sol(|sol| sol.least_share),
        });
        list.push(Raw {
            id: "sol.core",
            words: "axis of the tube after its last bath",
            si_unit: "K",
            values: of_sol(|sol| sol.core_k),
        });
        list.push(Raw {
            id: "sol.boil",
            words: "time in the boiling bath that melts it to the axis",
            si_unit: "s",
            values: of_sol(|sol| sol.boil_needed_s),
        });
    }
    if samples.iter().any(|sample| sample.mouth.film.is_some()) {
        let of_film = |value: fn(&crate::agar::Film) -> f64| {
            samples.iter().map(|sample| sample.mouth.film.as_ref().map_or(f64::INFINITY, value)).collect()
        };
        list.push(Raw {
            id: "film.gelled",
            words: "agar on the tooth has gelled, from the tray being in place",
            si_unit: "s",
            values: of_film(|film| film.gelled_after_seat_s),
        });
        list.push(Raw {
            id: "heat.contact",
            words: "hottest the tooth becomes at its surface",
            si_unit: "K",
            values: of_film(|film| film.contact_k),
        });
        list.push(Raw {
            id: "heat.pulp_rise",
            words: "warming of the wall of the pulp",
            si_unit: "K",
            values: of_film(|film| film.pulp_rise_k),
        });
    }
    list
}

/// What pouring and judging say of each sample.
pub fn judged(has_die: bool, opens_s: Vec<f64>, left_s: Vec<f64>, margins: Vec<f64>) -> [Raw; 3] {
    let of = |id, words, si_unit, values| Raw { id, words, si_unit, values };
    [
        of(
            "window.pour.opens",
            "gas has gone and the disinfectant has had its time, from removal",
            "s",
            opens_s,
        ),
        of("window.pour.closes", "held as planned, leaves the limits, from removal", "s", left_s),
        of(
            "verdict.margin",
            "distance to the nearest limit, positive inside",
            if has_die { "m" } else { "1" },
            margins,
        ),
    ]
}

/// The range of a number within which the models were compared with anything: beyond it only "more than" is said.
///
/// Published die and span errors reach some tens to 200 µm, openings of seated crowns 170 µm, changes of stored hydrocolloids
/// -8.3 to +2.9 %.
fn checked(id: &str, si_unit: &str, followed_s: f64) -> (f64, f64) {
    match id {
        "die.diameter" | "die.height" | "span" => (-300e-6, 300e-6),
        "span.share" => (-0.01, 0.01),
        "window.remove.opens" => (0.0, 0.999 * HORIZON_S),
        "window.mix.closes" | "window.seat.closes" | "bowl.set" => (0.0, 0.999 * OPEN_HORIZON_S),
        // Of a cast it is a share, and goes as far as the shares of its distances.
        "verdict.margin" if si_unit == "1" => (-0.01, 0.02),
        "verdict.margin" => (-300e-6, 300e-6),
        "fit.opening" | "fit.wall_space" => (0.0, 300e-6),
        "fit.loose" | "fit.step" | "fit.misfit" | "removal.at_die" => (-300e-6, 300e-6),
        "removal.strain" => (0.0, 0.6),
        "window.pour.closes" => (0.0, 0.999 * followed_s),
        "strain.holding" => (-0.03, 0.083),
        "mass.change" => (-0.21, 0.08),
        _ => (f64::NEG_INFINITY, f64::INFINITY),
    }
}

/// Interval and contributions; none when no sample has a value. `followed_s` is how long the class was followed.
pub fn quantity(
    raw: &Raw,
    followed_s: f64,
    space: &Space,
    samples: &[Sample],
    weights: &[f64],
) -> Option<Quantity> {
    let finite: Vec<f64> = raw
        .values
        .iter()
        .zip(weights)
        .map(|(value, weight)| if value.is_finite() { *weight } else { 0.0 })
        .collect();
    let total: f64 = weights.iter().sum();
    let full = Interval::of(&raw.values, &finite)?;
    let (least, greatest) = checked(raw.id, raw.si_unit, followed_s);
    let interval = full.clamped(least, greatest);
    Some(Quantity {
        beyond_checked: interval != full,
        id: raw.id,
        words: raw.words,
        si_unit: raw.si_unit,
        interval,
        defined_in: if total > 0.0 { finite.iter().sum::<f64>() / total } else { 0.0 },
        contributions: contributions(&raw.values, space, samples, &finite),
    })
}

/// Root causes by their first-order share of the variance of `values`, the largest first.
pub fn contributions(
    values: &[f64],
    space: &Space,
    samples: &[Sample],
    weights: &[f64],
) -> Vec<Contribution> {
    let finite: Vec<f64> = values.iter().map(|value| if value.is_finite() { *value } else { 0.0 }).collect();
    let mut list = Vec::new();
    for (dimension, entry) in space.entries().iter().enumerate() {
        if entry.distribution.is_exact() {
            continue;
        }
        let coordinate: Vec<f64> = samples.iter().map(|sample| sample.coordinates.get(dimension)).collect();
        let share = first_order_by_slices(&coordinate, &finite, weights, SLICES);
        if share >= LEAST_SHARE {
            list.push(Contribution {
                words: entry.row.words,
                key: entry.key.clone(),
                grade: entry.grade,
                standing: entry.standing,
                share,
            });
        }
    }
    list.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.words.cmp(b.words)));
    list
}
