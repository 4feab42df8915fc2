//! The one function of the chain.

use std::borrow::Cow;

use ledger::{Limits, Parameters};
use terms::{
    Action, Bound, HoldingKind, HoldingSegment, Instant, Link, Observation, ProductId, Route, Situation,
    Stamp, Step, check_order, check_round,
};

use crate::access;
use crate::budget;
use crate::conditioning::{self, Weights};
use crate::constants::Constants;
use crate::contact;
use crate::error::ChainError;
use crate::judge;
use crate::keeping::{KeepingPlan, Kept};
use crate::mouth::Manner;
use crate::pouring;
use crate::quantities;
use crate::report::{Conditioning, Contribution, Forecast, RootCause};
use crate::samples::{self, Effort, RANDOMISATIONS, Sample, Setup};
use crate::schedule::{self, Moments};
use crate::scopes::Scopes;
use crate::sensitivity::total_effect;
use crate::size::Sizes;
use crate::space::{Entry, Space, Standing};
use crate::speech;
use crate::statistics::{Interval, mean, probability};
use crate::timeline::Timeline;
use crate::windows::{Origins, Sayings, bind};
use crate::{heat, mouth, roots::Root, second_pour};

/// What the chain says about a route in a situation, given what has happened so far.
///
/// Pure: the same input gives the same bits, on any machine and any number of threads. Without stamps it is a plan that
/// starts at `now`; a stamp replaces the planned moment of its step; readings reweight the samples.
///
/// # Errors
/// An input outside its range, materials that do not go together, or a value missing from the ledger.
#[allow(
    clippy::too_many_arguments,
    reason = "these eight are the whole world of a forecast, and none may be hidden"
)]
pub fn forecast(
    situation: &Situation,
    route: &Route,
    stamps: &[Stamp],
    observations: &[Observation],
    parameters: &Parameters,
    limits: &Limits,
    effort: Effort,
    now: Instant,
) -> Result<Forecast, ChainError> {
    situation.validate()?;
    route.validate()?;
    check_order(stamps)?;
    check_round(situation, route)?;
    for (index, observation) in observations.iter().enumerate() {
        observation.validate(&format!("observations[{index}]"))?;
    }
    let scopes = Scopes::of(route, parameters)?;
    let space = Space::of(situation, route, &scopes, parameters)?;
    let constants = Constants::of(route, &scopes, parameters)?;
    let usual_seat_s = space.entry(Root::SeatTime).distribution.median();
    let timeline = Timeline::of(route, stamps, now, usual_seat_s);
    let margins_setting =
        access::Setting::of(situation, route, observations, timeline.stamped_s(Step::Removed).is_some());
    let setup = Setup {
        space: &space,
        margins: margins_setting.as_ref(),
        constants: &constants,
        purpose: situation.purpose,
        manner: Manner {
            mix: samples::mix_kind(route),
            second: samples::second(route),
            seat_s: timeline.forced_seat_s(usual_seat_s),
        },
    };
    let effort = Effort::of_points(effort.points);
    let samples = samples::to_removal(&setup, effort.points, |_| false)?;

    let case = Case { situation, route, parameters, timeline: &timeline, space: &space };
    let early = conditioning::before_removal(&samples, observations, &timeline, parameters)?;
    let origins = case.origins(&samples, &early.values, usual_seat_s, constants.pour_delay_s);
    let segments = segments(route, constants.pour_delay_s);
    let pour_after_s = origins.poured_s - origins.removed_s;
    let separated_after_pour_s = case.separated_after_pour_s(&origins, constants.separate_after_s);
    let again_s = second_pour::at_s(route, &constants, pour_after_s, separated_after_pour_s);
    let read_at_s =
        observations.iter().map(|o| o.at.seconds_since(timeline.start) - origins.removed_s).chain([again_s]);
    let times_s = pouring::times(pour_after_s, read_at_s);
    let place = |t_s: f64| times_s.iter().position(|&time_s| time_s == t_s);
    let pour = place(pour_after_s).unwrap_or(0);
    let plan = KeepingPlan {
        segments: &segments,
        times_s: &times_s,
        removed_after_seat_s: origins.removed_s - origins.seated_s,
        separated_after_pour_s,
        is_gel: route.material.class.is_hydrocolloid(),
        second: setup.manner.second,
    };
    let kept = samples::from_removal(&setup, &plan, &samples)?;
    let weights = conditioning::weights(
        &samples,
        &kept,
        observations,
        &timeline,
        place,
        origins.removed_s,
        parameters,
        &access::found_nothing(&setup, &samples)?,
    )?;

    let sizes = samples::sizes(&setup, &samples, &kept, pour, &[])?;
    let margins: Vec<f64> =
        sizes.iter().map(|sizes| judge::margin(situation.purpose, sizes, limits)).collect();
    let usable: Vec<f64> =
        kept.iter().zip(&margins).map(|(kept, margin)| judge::usable(kept, *margin, &[])).collect();
    let fits: Vec<f64> = kept
        .iter()
        .zip(&margins)
        .map(|(kept, margin)| judge::usable(kept, *margin, &[Link::Access]))
        .collect();
    let chances = speech::Chances {
        usable: probability(&usable, &weights.values, RANDOMISATIONS as usize),
        captured: setup.margins.map(|_| share_of(&kept, &weights, |kept| kept.margins.captured)),
        fits: mean(&fits, &weights.values),
    };
    let weak_share = weak_share(&setup, &plan, pour, effort, &margins, &usable, limits)?;

    let curve = pouring::curve(&setup, &samples, &kept, &weights.values, limits, &times_s)?;
    let has_span = !space.entry(Root::Span).distribution.is_exact();
    let scope = quantities::Scope {
        pour,
        has_die: situation.purpose.has_die(),
        has_span,
        loading_s: constants.loading_s,
    };
    let mut raw = quantities::raw(&samples, &kept, &sizes, &scope);
    let disinfected_s = contact::disinfected_after_s(route);
    raw.push(quantities::Raw {
        id: "window.pour.opens",
        words: "gas has gone and the disinfectant has had its time, from removal",
        si_unit: "s",
        values: samples.iter().map(|sample| sample.draw[Root::GasTime].max(disinfected_s)).collect(),
    });
    raw.push(quantities::Raw {
        id: "window.pour.closes",
        words: "held as planned, leaves the limits, from removal",
        si_unit: "s",
        values: curve.left_s,
    });
    raw.push(quantities::Raw {
        id: "verdict.margin",
        words: "distance to the nearest limit, positive inside",
        si_unit: if situation.purpose.has_die() { "m" } else { "1" },
        values: margins.clone(),
    });
    let values = |id: &str| raw.iter().find(|raw| raw.id == id).map_or(&[][..], |raw| &raw.values);
    let interval = |id: &str| Interval::of(values(id), &weights.values).unwrap_or(NO_INTERVAL);
    let mut contact = contact::contact(situation, route, parameters);
    let moments = Moments {
        pourable_s: Some(interval("window.pour.opens")).filter(|interval| interval.high > 0.0),
        servable: finite_share(values("window.pour.closes"), &weights.values),
        mixed_by_s: interval("window.mix.closes"),
        seated_by_s: interval("window.seat.closes"),
        ready_s: schedule::ready_s(&samples, &weights.values).unwrap_or(NO_INTERVAL),
        poured_by_s: curve.closes_s,
        separable_s: interval("window.separate.opens"),
        holding_horizon_s: times_s.last().copied().unwrap_or(0.0),
    };
    let separated_s = case.separated_s(&origins, moments.separable_s.high);
    let second_pour = second_pour::second_pour(
        route,
        &setup,
        &scopes,
        parameters,
        &samples,
        &kept,
        place(again_s),
        again_s,
        &weights.values,
        limits,
    )?;
    let windows = schedule::windows(route, &timeline, &case.sayings(origins), &moments, separated_s);
    let latest_pour_s = windows
        .iter()
        .filter(|window| window.action == Action::Pour)
        .flat_map(|window| &window.closes.instructed)
        .map(|limit| limit.seconds)
        .reduce(f64::min);
    let budget::Budgets { budgets, gains } =
        budget::budgets(&setup, &samples, &kept, pour, &sizes, &weights.values, limits)?;
    let said_of_margins = match setup.margins {
        Some(setting) => Some(access::margins(
            setting,
            &constants.access,
            &samples,
            &weights.values,
            &access::could_be_done(situation, route, setting),
        )?),
        None => None,
    };
    let change_first = budget::change_first(&gains, chances.usable.value, said_of_margins.as_ref());
    let quantities: Vec<_> = raw
        .iter()
        .filter(|raw| raw.values.iter().any(|value| *value != 0.0) || raw.id != "mass.change")
        .filter_map(|raw| quantities::quantity(raw, &space, &samples, &weights.values))
        .collect();
    heat::say(route, parameters, &quantities, &mut contact)?;
    let on_margin = quantities::contributions(&margins, &space, &samples, &weights.values);
    let on_usable = quantities::contributions(&usable, &space, &samples, &weights.values);
    let on_margin = larger(on_margin, on_usable);
    let root_causes = root_causes(&setup, &plan, pour, effort, &on_margin, &usable, limits)?;

    let conditioning = Conditioning {
        readings_used: weights.used,
        effective_samples: weights.effective,
        too_few: weights.too_few,
    };
    let against_limits = judge::against_limits(situation.purpose, &sizes, &weights.values, limits);
    let facts = speech::Facts {
        quantities: &quantities,
        situation,
        route,
        observations,
        windows: &windows,
        margins: said_of_margins.as_ref(),
        fits: chances.fits,
        limits: &against_limits,
        retentive_rad: constants.retentive_rad,
        break_chance: share_of(&kept, &weights, |kept| kept.break_chance),
        seated_in_time: share_of(&kept, &weights, |kept| one_if(kept.seated_in_time)),
        set_at_removal: share_of(&kept, &weights, |kept| one_if(kept.set_at_removal)),
        melted: share_of(&kept, &weights, |kept| one_if(kept.melted)),
        locked: share_of(&kept, &weights, |kept| one_if(kept.pulled.locked)),
        web_tear: share_of(&kept, &weights, |kept| kept.pulled.web_tear),
        contact: &contact,
        second_pour: second_pour::cautions(route, &constants, again_s, latest_pour_s),
        ratios: case.unusual_ratios(&scopes)?,
        furthest: weights.furthest,
        full: effort.points >= Effort::FULL.points,
        now_s: timeline.start_stamped.then_some(timeline.now_s),
        water_suffices: share_of(&kept, &weights, |kept| one_if(kept.stone.water_suffices)),
        conditioning,
        out_of_domain: samples::out_of_domain(&kept, &weights.values),
        start_stamped: timeline.start_stamped || stamps.is_empty(),
    };
    Ok(Forecast {
        model_version: env!("CARGO_PKG_VERSION"),
        parameters_hash: parameters.hash().to_owned(),
        effort,
        start: timeline.start,
        start_stamped: timeline.start_stamped,
        now,
        verdict: facts.verdict(chances, weak_share),
        disinfection: contact.disinfected.clone(),
        second_pour,
        notes: contact.notes.clone(),
        asks: facts.asks(&on_margin),
        not_in_budget: facts.not_in_budget(),
        outside: facts.outside(),
        windows,
        quantities,
        budgets,
        gains,
        change_first,
        root_causes,
        pour_curve: curve.points,
        margins: said_of_margins,
        limits: against_limits,
        assumed: assumed(on_margin),
        conditioning,
    })
}

/// Weighted share of the samples in which a number exists.
fn finite_share(values: &[f64], weights: &[f64]) -> f64 {
    let holds: Vec<f64> = values.iter().map(|value| one_if(value.is_finite())).collect();
    mean(&holds, weights)
}

/// Stands in where no sample has weight; the forecast then says that nothing can be concluded.
const NO_INTERVAL: Interval = Interval { low: 0.0, mid: 0.0, high: 0.0 };

/// Assumed and remembered values that carry the margin.
fn assumed(on_margin: Vec<Contribution>) -> Vec<Contribution> {
    on_margin.into_iter().filter(|contribution| contribution.grade.is_weak()).take(6).collect()
}

fn share_of(kept: &[Kept], weights: &Weights, value: impl Fn(&Kept) -> f64) -> f64 {
    let values: Vec<f64> = kept.iter().map(value).collect();
    mean(&values, &weights.values)
}

/// The segments of the route; without any, the impression lies in the room until the stone is mixed.
///
/// The last segment goes on when pouring is later than planned; but nothing stays in a bath beyond its plan: it is taken out
/// and lies in the room.
fn segments(route: &Route, pour_delay_s: f64) -> Cow<'_, [HoldingSegment]> {
    if let Some(last) = route.holding.last() {
        if last.kind == HoldingKind::Immersed {
            let mut segments = route.holding.clone();
            segments.push(HoldingSegment::of(HoldingKind::OpenAir, 0.0));
            return Cow::Owned(segments);
        }
        return Cow::Borrowed(&route.holding);
    }
    Cow::Owned(vec![HoldingSegment::of(HoldingKind::OpenAir, pour_delay_s)])
}

/// Total-effect index of all values of the last two grades together (Jansen 1999), from a part of the samples: on the margin of
/// the sizes or on whether the result is usable, whichever is larger.
///
/// Readings do not enter: the question is what the figures rest on, not what they say.
fn weak_share(
    setup: &Setup,
    plan: &KeepingPlan,
    pour: usize,
    effort: Effort,
    margins: &[f64],
    usable: &[f64],
    limits: &Limits,
) -> Result<f64, ChainError> {
    let points = (effort.points / 8).max(effort.points.min(16));
    let swapped = swapped(setup, plan, pour, points, limits, |entry| entry.grade.is_weak())?;
    let on_margin = total_effect(&prefix(margins, effort.points, points), &swapped.margins);
    let on_usable = total_effect(&prefix(usable, effort.points, points), &swapped.usable);
    Ok(on_margin.max(on_usable).clamp(0.0, 1.0))
}

/// Root causes that are followed to their total effect.
const MOST_CAUSES: usize = 6;

/// The largest root causes of whether the result is usable, each with its total-effect index (Jansen 1999) from a part of the
/// samples.
fn root_causes(
    setup: &Setup,
    plan: &KeepingPlan,
    pour: usize,
    effort: Effort,
    candidates: &[Contribution],
    usable: &[f64],
    limits: &Limits,
) -> Result<Vec<RootCause>, ChainError> {
    let points = (effort.points / 16).max(effort.points.min(8));
    let before = prefix(usable, effort.points, points);
    let mut list = Vec::new();
    for cause in candidates.iter().take(MOST_CAUSES) {
        let after = swapped(setup, plan, pour, points, limits, |entry| entry.row.words == cause.words)?;
        let link = setup.space.entries().iter().find(|entry| entry.row.words == cause.words);
        list.push(RootCause {
            words: cause.words,
            key: cause.key.clone(),
            grade: cause.grade,
            standing: cause.standing,
            link: link.map_or(Link::Mix, |entry| entry.row.link),
            alone: cause.share,
            total: total_effect(&before, &after.usable).clamp(0.0, 1.0),
        });
    }
    list.sort_by(|a, b| b.total.total_cmp(&a.total).then(a.words.cmp(b.words)));
    Ok(list)
}

/// Samples some of whose coordinates come from an independent set.
struct Swapped {
    margins: Vec<f64>,
    usable: Vec<f64>,
}

fn swapped(
    setup: &Setup,
    plan: &KeepingPlan,
    pour: usize,
    points: u32,
    limits: &Limits,
    which: impl Fn(&Entry) -> bool + Sync,
) -> Result<Swapped, ChainError> {
    let samples = samples::to_removal(setup, points, which)?;
    let times_s = [plan.times_s.get(pour).copied().unwrap_or(0.0)];
    let kept = samples::from_removal(setup, &KeepingPlan { times_s: &times_s, ..*plan }, &samples)?;
    let sizes: Vec<Sizes> = samples::sizes(setup, &samples, &kept, 0, &[])?;
    let margins: Vec<f64> = sizes.iter().map(|sizes| judge::margin(setup.purpose, sizes, limits)).collect();
    let usable = kept.iter().zip(&margins).map(|(kept, margin)| judge::usable(kept, *margin, &[])).collect();
    Ok(Swapped { margins, usable })
}

/// The first `points` of every randomisation.
fn prefix(values: &[f64], of: u32, points: u32) -> Vec<f64> {
    let (of, points) = (of as usize, points as usize);
    (0..RANDOMISATIONS as usize).flat_map(|block| values[block * of..block * of + points].to_vec()).collect()
}

fn one_if(holds: bool) -> f64 {
    if holds { 1.0 } else { 0.0 }
}

/// For each root the larger of its shares in the margin and in whether the result is usable.
fn larger(a: Vec<Contribution>, b: Vec<Contribution>) -> Vec<Contribution> {
    let mut merged = a;
    for contribution in b {
        match merged.iter_mut().find(|known| known.words == contribution.words) {
            Some(known) => known.share = known.share.max(contribution.share),
            None => merged.push(contribution),
        }
    }
    merged.sort_by(|a, b| b.share.total_cmp(&a.share).then(a.words.cmp(b.words)));
    merged
}

struct Case<'a> {
    situation: &'a Situation,
    route: &'a Route,
    parameters: &'a Parameters,
    timeline: &'a Timeline,
    space: &'a Space,
}

impl Case<'_> {
    /// When seating, removal and pouring happen: stamps, then plans, then the earliest that forecast and print allow.
    fn origins(&self, samples: &[Sample], weights: &[f64], usual_seat_s: f64, pour_delay_s: f64) -> Origins {
        let seated_s = self.timeline.at_s(Step::Seated, usual_seat_s);
        let mut origins = Origins { seated_s, removed_s: seated_s, poured_s: seated_s };
        let removed_s = match self.route.plan.remove_after_s.known() {
            Some(after_s) => seated_s + after_s,
            None => {
                let ready =
                    schedule::ready_s(samples, weights).map_or(mouth::HORIZON_S, |interval| interval.high);
                self.earliest(Action::Remove, &origins, seated_s + ready)
            }
        };
        origins.removed_s = self.timeline.at_s(Step::Removed, removed_s).max(seated_s);
        let holding_s =
            if self.route.holding.is_empty() { pour_delay_s } else { self.route.planned_holding_s() };
        origins.poured_s =
            self.timeline.at_s(Step::Poured, origins.removed_s + holding_s).max(origins.removed_s);
        origins
    }

    fn separated_s(&self, origins: &Origins, separable_s: f64) -> f64 {
        let planned = match self.route.plan.separate_after_s.known() {
            Some(after_s) => origins.poured_s + after_s,
            None => self.earliest(Action::Separate, origins, origins.poured_s + separable_s),
        };
        self.timeline.at_s(Step::Separated, planned)
    }

    /// The later of the forecast and every printed minimum, s from the start of mixing.
    fn earliest(&self, action: Action, origins: &Origins, forecast_s: f64) -> f64 {
        let sayings = self.sayings(*origins);
        let printed: Vec<f64> = sayings
            .instructed(action, Bound::Minimum)
            .iter()
            .map(|limit| origins.start_s(limit.origin) + limit.seconds)
            .collect();
        bind(Bound::Minimum, Some(forecast_s), &printed).0.unwrap_or(forecast_s)
    }

    /// From pouring to separation: stamps, then the plan, then what is usual.
    fn separated_after_pour_s(&self, origins: &Origins, usual_s: f64) -> f64 {
        let stamped = self.timeline.stamped_s(Step::Separated).map(|at_s| at_s - origins.poured_s);
        stamped.or(self.route.plan.separate_after_s.known()).unwrap_or(usual_s).max(0.0)
    }

    /// Stated water/powder ratios far from what the class or type is made for, in words.
    fn unusual_ratios(&self, scopes: &Scopes) -> Result<Vec<String>, ChainError> {
        let mut said = Vec::new();
        let stone = (&self.route.stone.powder_kg, &self.route.stone.water_kg, scopes.gypsum(), "stone");
        let mix = (&self.route.mix.powder_kg, &self.route.mix.water_kg, scopes.material(), "impression mix");
        for (powder, water, scopes, what) in [stone, mix] {
            let (Some(powder), Some(water)) = (powder.known(), water.known()) else { continue };
            let class = scopes.last().copied().unwrap_or_default();
            let (_, usual) = self.parameters.find(&[class], "mix.ratio")?;
            let (least, most, ratio) = (usual.quantile(0.02), usual.quantile(0.98), water / powder);
            if ratio < 0.9 * least || ratio > 1.1 * most {
                said.push(format!(
                    "the {what} has {ratio:.2} g of water to a gram of powder; usual are {least:.2} to {most:.2}"
                ));
            }
        }
        Ok(said)
    }

    fn sayings(&self, origins: Origins) -> Sayings<'_> {
        let wash = self.route.wash.as_ref().and_then(|wash| wash.product.as_ref());
        let products: Vec<&ProductId> =
            [self.route.material.product.as_ref(), wash, self.route.stone.product.as_ref()]
                .into_iter()
                .flatten()
                .collect();
        let room = self.space.entry(Root::RoomTemperature);
        let room_k = match room.standing {
            Standing::Stated => self.situation.room_temperature_k.known(),
            _ => None,
        };
        Sayings {
            room_k: room_k.unwrap_or_else(|| room.distribution.median()),
            origins,
            parameters: self.parameters,
            products,
            class: self.route.material.class,
            technique: self.route.technique,
        }
    }
}
