//! One case on its way: what is sampled, and its samples from mixing to the judged sizes.
//!
//! A forecast says everything about one course; a comparison of routes asks several courses for less. Both run the same
//! models on the same samples.

use std::borrow::Cow;

use ledger::{Limits, Parameters};
use terms::{
    Action, Bound, HoldingKind, HoldingSegment, Instant, Link, Observation, ProductId, Reading, Route,
    Situation, Stamp, Step, check_order, check_round,
};

use crate::access;
use crate::after::{self, After, Seen};
use crate::conditioning::{self, Weights};
use crate::constants::Constants;
use crate::error::ChainError;
use crate::judge;
use crate::keeping::{KeepingPlan, Kept};
use crate::mouth::{self, Manner};
use crate::pouring;
use crate::roots::Root;
use crate::samples::{self, Effort, Sample, Setup};
use crate::schedule;
use crate::scopes::Scopes;
use crate::second_pour;
use crate::size::Sizes;
use crate::space::{Entry, Space, Standing};
use crate::speech::Shares;
use crate::statistics::mean;
use crate::timeline::Timeline;
use crate::windows::{Origins, Sayings, bind};

/// What is given, checked and looked up, before any sample is drawn.
pub struct Premises<'a> {
    /// The mouth and the room.
    pub situation: &'a Situation,
    /// The route.
    pub route: &'a Route,
    /// Readings and findings.
    pub observations: &'a [Observation],
    /// The ledger.
    pub parameters: &'a Parameters,
    /// Limits.
    pub limits: &'a Limits,
    /// Which rows speak for the route.
    pub scopes: Scopes,
    /// Distributions.
    pub space: Space,
    /// Constants.
    pub constants: Constants,
    /// Stamps and the present.
    pub timeline: Timeline,
    /// Prepared margins; none for a cast without them.
    margins: Option<access::Setting>,
    usual_seat_s: f64,
}

impl<'a> Premises<'a> {
    /// Checks what is given and looks up what it needs.
    ///
    /// # Errors
    /// An input outside its range, materials that do not go together, or a value missing from the ledger.
    pub fn of(
        situation: &'a Situation,
        route: &'a Route,
        stamps: &[Stamp],
        observations: &'a [Observation],
        parameters: &'a Parameters,
        limits: &'a Limits,
        now: Instant,
    ) -> Result<Premises<'a>, ChainError> {
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
        let has_span = !space.entry(Root::Span).distribution.is_exact();
        after::check(observations, situation.purpose.has_die(), has_span, constants.repour_casts)?;
        let usual_seat_s = space.entry(Root::SeatTime).distribution.median();
        let timeline = Timeline::of(route, stamps, now, usual_seat_s);
        let margins =
            access::Setting::of(situation, route, observations, timeline.stamped_s(Step::Removed).is_some());
        Ok(Premises {
            situation,
            route,
            observations,
            parameters,
            limits,
            scopes,
            space,
            constants,
            timeline,
            margins,
            usual_seat_s,
        })
    }

    /// What does not differ between samples.
    pub fn setup(&self) -> Setup<'_> {
        Setup {
            space: &self.space,
            margins: self.margins.as_ref(),
            constants: &self.constants,
            purpose: self.situation.purpose,
            manner: Manner {
                mix: samples::mix_kind(self.route),
                second: samples::second(self.route),
                seat_s: self.timeline.forced_seat_s(self.usual_seat_s),
            },
        }
    }

    /// When seating, removal and pouring happen: stamps, then plans, then the earliest that forecast and print allow.
    fn origins(&self, samples: &[Sample], weights: &[f64]) -> Origins {
        let seated_s = self.timeline.at_s(Step::Seated, self.usual_seat_s);
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
        let holding_s = if self.route.holding.is_empty() {
            self.constants.pour_delay_s
        } else {
            self.route.planned_holding_s()
        };
        origins.poured_s =
            self.timeline.at_s(Step::Poured, origins.removed_s + holding_s).max(origins.removed_s);
        origins
    }

    /// Separation, s from the start of mixing.
    pub fn separated_s(&self, origins: &Origins, separable_s: f64) -> f64 {
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
    fn separated_after_pour_s(&self, origins: &Origins) -> f64 {
        let usual_s = self.constants.separate_after_s;
        let stamped = self.timeline.stamped_s(Step::Separated).map(|at_s| at_s - origins.poured_s);
        stamped.or(self.route.plan.separate_after_s.known()).unwrap_or(usual_s).max(0.0)
    }

    /// Stated water/powder ratios far from what the class or type is made for, in words.
    pub fn unusual_ratios(&self) -> Result<Vec<String>, ChainError> {
        let mut said = Vec::new();
        let stone = (&self.route.stone.powder_kg, &self.route.stone.water_kg, self.scopes.gypsum(), "stone");
        let mix =
            (&self.route.mix.powder_kg, &self.route.mix.water_kg, self.scopes.material(), "impression mix");
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

    /// What print and teaching say, with the clocks they run from.
    pub fn sayings(&self, origins: Origins) -> Sayings<'_> {
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

/// Which moments of pouring are followed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Pours {
    /// All that a curve shows.
    Curve,
    /// The planned one, and those of readings.
    Planned,
}

/// The samples of a case, from mixing to the judged sizes.
pub struct Course<'a> {
    /// To removal.
    pub samples: Vec<Sample>,
    /// Seating, removal and pouring, s from the start of mixing.
    pub origins: Origins,
    /// Separation, s from pouring.
    pub separated_after_pour_s: f64,
    /// A second pour, s from removal.
    pub again_s: f64,
    segments: Cow<'a, [HoldingSegment]>,
    /// Moments of pouring that are followed, s from removal.
    pub times_s: Vec<f64>,
    /// The planned one among them.
    pub pour: usize,
    /// From removal to rigid stone.
    pub kept: Vec<Kept>,
    /// Under the readings.
    pub weights: Weights,
    /// Sizes at the planned pour.
    pub sizes: Vec<Sizes>,
    /// Distance to the nearest limit.
    pub margins: Vec<f64>,
    /// Probability that the sample is usable.
    pub usable: Vec<f64>,
    /// Whether it serves once its margins are captured.
    pub fits: Vec<f64>,
    /// A fault was seen on the die, so that no sample serves.
    faulty_die: bool,
}

impl<'a> Course<'a> {
    /// Draws the samples and runs them.
    ///
    /// # Errors
    /// The first sample that a kernel refuses.
    pub fn of(
        premises: &Premises<'a>,
        setup: &Setup,
        effort: Effort,
        pours: Pours,
    ) -> Result<Course<'a>, ChainError> {
        let Premises { route, observations, parameters, limits, constants, timeline, .. } = premises;
        let samples = samples::to_removal(setup, effort.points, |_| false)?;
        let early = conditioning::before_removal(&samples, observations, timeline, parameters)?;
        let origins = premises.origins(&samples, &early.values);
        let segments = segments(route, constants.pour_delay_s);
        let pour_after_s = origins.poured_s - origins.removed_s;
        let separated_after_pour_s = premises.separated_after_pour_s(&origins);
        let again_s = second_pour::at_s(route, constants, pour_after_s, separated_after_pour_s);
        // A weighing asks for the mass at its moment.
        let read_at_s = observations
            .iter()
            .filter(|seen| matches!(seen.reading, Reading::MassLoss(_)))
            .map(|seen| seen.at.seconds_since(timeline.start) - origins.removed_s);
        let times_s = match pours {
            Pours::Curve => pouring::times(route.material.class, pour_after_s, read_at_s.chain([again_s])),
            Pours::Planned => pouring::few_times(pour_after_s, read_at_s),
        };
        let place = |t_s: f64| times_s.iter().position(|&time_s| time_s == t_s);
        let pour = place(pour_after_s).unwrap_or(0);
        let plan = keeping_plan(premises, setup, &segments, &times_s, &origins, separated_after_pour_s);
        let kept = samples::from_removal(setup, &plan, &samples)?;
        let sizes = samples::sizes(setup, &samples, &kept, pour, &[])?;
        let after = after(premises, setup, &samples, &kept, &sizes, place(again_s))?;
        let weights = conditioning::weights(
            &samples,
            &kept,
            observations,
            timeline,
            place,
            origins.removed_s,
            parameters,
            &access::found_nothing(setup, &samples)?,
            &after,
        )?;
        let margins: Vec<f64> =
            sizes.iter().map(|sizes| judge::margin(setup.purpose, sizes, limits)).collect();
        let judged = |ideal: &[Link]| -> Vec<f64> {
            kept.iter().zip(&margins).map(|(kept, margin)| judge::usable(kept, *margin, ideal)).collect()
        };
        let (mut usable, fits) = (judged(&[]), judged(&[Link::Access]));
        let faulty_die = !after.die_faults.is_empty();
        if faulty_die {
            usable.fill(0.0);
        }
        Ok(Course {
            samples,
            origins,
            separated_after_pour_s,
            again_s,
            segments,
            times_s,
            pour,
            kept,
            weights,
            sizes,
            margins,
            usable,
            fits,
            faulty_die,
        })
    }

    /// The way from removal to the stone.
    pub fn plan<'b>(&'b self, premises: &Premises, setup: &Setup) -> KeepingPlan<'b> {
        let Course { segments, times_s, origins, separated_after_pour_s, .. } = self;
        keeping_plan(premises, setup, segments, times_s, origins, *separated_after_pour_s)
    }

    /// The judged sizes of samples some of whose coordinates come from an independent set, at the planned pour.
    ///
    /// # Errors
    /// The first sample that a kernel refuses.
    pub fn again(
        &self,
        premises: &Premises,
        setup: &Setup,
        points: u32,
        which: impl Fn(&Entry) -> bool + Sync,
    ) -> Result<Judged, ChainError> {
        let samples = samples::to_removal(setup, points, which)?;
        let times_s = [self.times_s.get(self.pour).copied().unwrap_or(0.0)];
        let plan = KeepingPlan { times_s: &times_s, ..self.plan(premises, setup) };
        let kept = samples::from_removal(setup, &plan, &samples)?;
        let sizes = samples::sizes(setup, &samples, &kept, 0, &[])?;
        let margins: Vec<f64> =
            sizes.iter().map(|sizes| judge::margin(setup.purpose, sizes, premises.limits)).collect();
        let serves = if self.faulty_die { 0.0 } else { 1.0 };
        let usable = kept
            .iter()
            .zip(&margins)
            .map(|(kept, margin)| serves * judge::usable(kept, *margin, &[]))
            .collect();
        Ok(Judged { margins, usable })
    }

    /// Shares and chances that words are made from.
    pub fn shares(&self) -> Shares {
        let one_if = |holds: bool| if holds { 1.0 } else { 0.0 };
        Shares {
            break_chance: self.share(|kept| kept.break_chance),
            locked: self.share(|kept| one_if(kept.pulled.locked)),
            web_tear: self.share(|kept| kept.pulled.web_tear),
            seated_in_time: self.share(|kept| one_if(kept.seated_in_time)),
            set_at_removal: self.share(|kept| one_if(kept.set_at_removal)),
            melted: self.share(|kept| one_if(kept.melted)),
            water_suffices: self.share(|kept| one_if(kept.stone.water_suffices)),
            out_of_domain: samples::out_of_domain(&self.kept, &self.weights.values),
        }
    }

    /// Weighted share of the samples.
    pub fn share(&self, value: impl Fn(&Kept) -> f64) -> f64 {
        let values: Vec<f64> = self.kept.iter().map(value).collect();
        mean(&values, &self.weights.values)
    }
}

/// What findings after pouring say of the samples.
fn after(
    premises: &Premises,
    setup: &Setup,
    samples: &[Sample],
    kept: &[Kept],
    sizes: &[Sizes],
    again: Option<usize>,
) -> Result<After, ChainError> {
    let compared = |seen: &Observation| matches!(seen.reading, Reading::PourDifference(_));
    let second = match again {
        Some(place) if premises.observations.iter().any(compared) => {
            Some(second_pour::dies(setup, samples, kept, place)?)
        }
        _ => None,
    };
    let seen: Vec<Seen> = sizes
        .iter()
        .enumerate()
        .map(|(index, first)| Seen {
            sizes: first,
            second_minus_first_m: second.as_ref().map(|dies| dies[index].diameter_m - first.diameter_m),
        })
        .collect();
    after::after(premises.observations, &seen, premises.parameters)
}

/// Samples run again with other numbers.
pub struct Judged {
    /// Distance to the nearest limit.
    pub margins: Vec<f64>,
    /// Probability that the sample is usable.
    pub usable: Vec<f64>,
}

fn keeping_plan<'b>(
    premises: &Premises,
    setup: &Setup,
    segments: &'b [HoldingSegment],
    times_s: &'b [f64],
    origins: &Origins,
    separated_after_pour_s: f64,
) -> KeepingPlan<'b> {
    KeepingPlan {
        segments,
        times_s,
        removed_after_seat_s: origins.removed_s - origins.seated_s,
        separated_after_pour_s,
        is_gel: premises.route.material.class.is_hydrocolloid(),
        second: setup.manner.second,
    }
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
