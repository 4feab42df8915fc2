//! The way of an impression through its segments: which law rules, how long a step is, what is read.
//!
//! In air a step that differs too much from its first-order solution is halved. In a liquid the laws are linear and
//! no step is refused; one in which a finite film of liquid is drunk up ends there.

use super::bath::{self, Liquid, Salt, Soaking};
use super::sheet::{self, Sheet, State};
use super::surroundings::Surroundings;
use super::{ERROR_K, ERROR_WATER_SHARE, Exposure, Gel, HoldPoint, SHORTEST, Segment, exuded};
use crate::moist_air::LIQUID_WATER_KG_M3;
use crate::response::with_mean;

/// What happens to which gel, and in which steps.
pub(super) struct Course<'a> {
    pub gel: &'a Gel,
    pub start_t_k: f64,
    pub factor: f64,
    pub segments: &'a [Segment],
    pub steps: Steps,
}

/// The first step of a segment, and the growth of a step per time since the start of the segment.
pub(super) struct Steps {
    pub first_s: f64,
    pub growth: f64,
}

/// Halvings that find when a finite film of liquid has been drunk: to 1e-9 of the step.
const HALVINGS: usize = 30;

/// What the slab holds.
#[derive(Clone, Copy)]
pub(super) struct Held<const M: usize> {
    pub state: State<M>,
    pub salt: Salt<M>,
    /// Of what left through the open face, what a liquid took, kg/m²; negative when it gave.
    pub to_liquid_kg_m2: f64,
}

/// Runs through the segments until the last output time; what the slab holds after the last step.
pub(super) fn march<const M: usize>(
    course: &Course,
    sheet: &Sheet<M>,
    out_times_s: &[f64],
    out: &mut [HoldPoint],
) -> Held<M> {
    let gel = course.gel;
    let fresh_kg_m3 = gel.rho_kg_m3 * gel.water_fraction;
    let held = Held {
        state: sheet::uniform::<M>(course.start_t_k, fresh_kg_m3),
        salt: bath::fresh_salt(),
        to_liquid_kg_m2: 0.0,
    };
    let soaking = bath::soaking(gel, sheet);
    let mut walk = Walk { course, sheet, soaking, fresh_kg_m3, held, out_times_s, out, next: 0 };
    let mut start_s = 0.0;
    for (index, segment) in course.segments.iter().enumerate() {
        let end_s = if index + 1 == course.segments.len() { f64::INFINITY } else { segment.duration_s };
        let mut wet_s = 0.0;
        if let Exposure::Wet { strength, supply_kg_m2 } = segment.exposure {
            let endless = supply_kg_m2 == f64::INFINITY;
            let liquid = bath::liquid(gel, course.factor, segment, strength, endless);
            wet_s = walk.in_liquid(&liquid, supply_kg_m2, start_s, end_s);
        }
        if wet_s < end_s {
            let surroundings = Surroundings::new(gel, sheet.surface_m_s, course.factor, segment);
            walk.in_air(&surroundings, start_s + wet_s, end_s - wet_s);
        }
        start_s += segment.duration_s;
    }
    walk.held
}

struct Walk<'a, const M: usize> {
    course: &'a Course<'a>,
    sheet: &'a Sheet<M>,
    soaking: Soaking<M>,
    fresh_kg_m3: f64,
    held: Held<M>,
    out_times_s: &'a [f64],
    out: &'a mut [HoldPoint],
    /// The first output that is not written yet.
    next: usize,
}

impl<const M: usize> Walk<'_, M> {
    /// In the air of a room or a bag from `start_s` since removal, for `end_s`.
    fn in_air(&mut self, surroundings: &Surroundings, start_s: f64, end_s: f64) {
        let steps = &self.course.steps;
        let mut t_s = 0.0;
        let mut longest_s = f64::INFINITY;
        while self.next < self.out.len() && t_s < end_s {
            let stop_s = (t_s + (steps.first_s + steps.growth * t_s).min(longest_s)).min(end_s);
            let dt_s = stop_s - t_s;
            let salt = self.levelled(dt_s);
            let after = self.dried(surroundings, &salt, dt_s);
            if after.is_none() && dt_s > SHORTEST * (1.0 + t_s) {
                longest_s = 0.5 * dt_s;
                continue;
            }
            longest_s = 2.0 * dt_s;
            while let Some(share_s) = self.to_read(start_s, t_s, stop_s) {
                let salt = self.levelled(share_s);
                let state = self.dried(surroundings, &salt, share_s).unwrap_or(self.held.state);
                let surface_kg_m3 = surroundings.surface_water_kg_m3(state.u[0], salt.share[1], state.u[1]);
                let to_liquid_kg_m2 = self.held.to_liquid_kg_m2;
                self.read(&Held { state, salt, to_liquid_kg_m2 }, surface_kg_m3);
            }
            self.held = Held { state: after.unwrap_or(self.held.state), salt, ..self.held };
            t_s = stop_s;
        }
    }

    /// In a liquid from `start_s` since removal, for `end_s` or until `supply_kg_m2` is drunk. Returns for how long.
    fn in_liquid(&mut self, liquid: &Liquid, supply_kg_m2: f64, start_s: f64, end_s: f64) -> f64 {
        let steps = &self.course.steps;
        let mut supply_kg_m2 = supply_kg_m2;
        let mut t_s = 0.0;
        while self.next < self.out.len() && t_s < end_s && supply_kg_m2 > 0.0 {
            let stop_s = (t_s + steps.first_s + steps.growth * t_s).min(end_s);
            let dt_s = stop_s - t_s;
            let (after, wet_s) = self.soaked(liquid, dt_s, supply_kg_m2);
            let runs_out = wet_s < dt_s;
            let stop_s = if runs_out { t_s + wet_s } else { stop_s };
            while let Some(share_s) = self.to_read(start_s, t_s, stop_s) {
                let (seen, _) = self.soaked(liquid, share_s, supply_kg_m2);
                let surface_kg_m3 = bath::face_water_kg_m3(&self.soaking, liquid, &seen.salt);
                self.read(&seen, surface_kg_m3);
            }
            supply_kg_m2 += after.state.evaporated_kg_m2 - self.held.state.evaporated_kg_m2;
            self.held = after;
            t_s = stop_s;
            if runs_out {
                break;
            }
        }
        t_s
    }

    /// How far into the step from `t_s` to `stop_s` the next output lies; none if it lies behind. An output has a
    /// step of its own from the last state, so that reading does not move the others. A time on the
    /// border of two segments may be off by a rounding.
    fn to_read(&self, start_s: f64, t_s: f64, stop_s: f64) -> Option<f64> {
        let time_s = *self.out_times_s.get(self.next)?;
        (time_s - start_s <= stop_s).then(|| (time_s - start_s - t_s).max(0.0))
    }

    fn read(&mut self, held: &Held<M>, surface_kg_m3: f64) {
        let t_s = self.out_times_s[self.next];
        self.out[self.next] = point(self.course.gel, self.sheet, t_s, held, surface_kg_m3);
        self.next += 1;
    }

    /// The salts after a step in air.
    fn levelled(&self, dt_s: f64) -> Salt<M> {
        let mut salt = self.held.salt;
        if salt.moved {
            bath::level(&self.soaking, &mut salt, dt_s);
        }
        salt
    }

    /// Heat and water after a step in air; none if the step was too long. The salts do not feel the water: those
    /// of the middle of the step keep it second order.
    fn dried(&self, surroundings: &Surroundings, after: &Salt<M>, dt_s: f64) -> Option<State<M>> {
        let salt_share = 0.5 * (self.held.salt.share[1] + after.share[1]);
        let loss = |t_k: f64, water_kg_m3: f64| surroundings.loss(t_k, salt_share, water_kg_m3);
        let mut state = self.held.state;
        let (error_k, error_kg_m3) = sheet::step(self.sheet, &mut state, dt_s, &loss);
        (error_k <= ERROR_K && error_kg_m3 <= ERROR_WATER_SHARE * self.fresh_kg_m3).then_some(state)
    }

    /// After a step in a liquid, and how long it lasted: less than `dt_s` if the gel drinks all there is.
    fn soaked(&self, liquid: &Liquid, dt_s: f64, supply_kg_m2: f64) -> (Held<M>, f64) {
        let after = |dt_s: f64| {
            let mut after = self.held;
            bath::soak(&self.soaking, liquid, &mut after.state, &mut after.salt, dt_s);
            after.to_liquid_kg_m2 += after.state.evaporated_kg_m2 - self.held.state.evaporated_kg_m2;
            after
        };
        let drunk_kg_m2 = |after: &Held<M>| self.held.state.evaporated_kg_m2 - after.state.evaporated_kg_m2;
        let whole = after(dt_s);
        if drunk_kg_m2(&whole) <= supply_kg_m2 {
            return (whole, dt_s);
        }
        let (mut low_s, mut high_s) = (0.0, dt_s);
        for _ in 0..HALVINGS {
            let middle_s = 0.5 * (low_s + high_s);
            if drunk_kg_m2(&after(middle_s)) <= supply_kg_m2 {
                low_s = middle_s;
            } else {
                high_s = middle_s;
            }
        }
        (after(low_s), low_s)
    }
}

fn point<const M: usize>(
    gel: &Gel,
    sheet: &Sheet<M>,
    t_s: f64,
    held: &Held<M>,
    surface_kg_m3: f64,
) -> HoldPoint {
    let Held { state, salt, to_liquid_kg_m2 } = held;
    let evaporated_kg_m2 = state.evaporated_kg_m2;
    let exuded_volume_strain = exuded(gel, t_s);
    let volume_strain = evaporated_kg_m2 / (LIQUID_WATER_KG_M3 * gel.thickness_m) + exuded_volume_strain;
    // What drains by syneresis is even: it changes the mean alone.
    let fresh_kg_m3 = gel.rho_kg_m3 * gel.water_fraction;
    let lost_kg_m3 = state.u.map(|water_kg_m3| fresh_kg_m3 - water_kg_m3);
    let uneven = sheet.projection.shape(&lost_kg_m3).map(|c| c / LIQUID_WATER_KG_M3);
    let salt_left = salt.left_m / gel.thickness_m;
    let mass_lost = volume_strain * LIQUID_WATER_KG_M3 / gel.rho_kg_m3 + gel.bath.salt_fraction * salt_left;
    HoldPoint {
        t_s,
        evaporated_kg_m2,
        to_liquid_kg_m2: *to_liquid_kg_m2,
        exuded_volume_strain,
        temperature_k: state.u[0],
        volume_strain,
        profile: with_mean(volume_strain, uneven),
        surface_water_kg_m3: surface_kg_m3,
        mass_change_fraction: -mass_lost,
        salt_share: 1.0 - salt_left,
    }
}
