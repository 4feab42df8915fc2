//! Setting in the mouth: transient conduction across tooth, mix and tray, coupled to the cure of the mix.
//!
//! ```text
//! rho c dT/dt = d/dx(k dT/dx) + rho H da/dt   (the source in the mix alone; da/dt in `crate::cure`)
//! T(0, t) = T_inner at the pulp;   -k dT/dx = h (T - T_outer) on the tray;   T, k dT/dx continuous
//! T(x, 0) is one value in each layer, so the interfaces start with a jump.
//! ```
//!
//! Cell-centred finite volumes; neighbours are joined by 1/(dx_i/2k_i + dx_j/2k_j), which carries a flux that is
//! continuous across a change of material: second order in space. In time Crank-Nicolson, opened by four
//! implicit Euler steps that damp the jump (Rannacher, Numer. Math. 43 (1984) 309). In each step the field
//! without new knowledge of the heat is solved first, the cure follows that field, and the field is solved again
//! with exactly the heat released: second order, and energy is conserved to rounding.

use crate::cure::{self, CureLaw, CureState};

mod stack;

pub use stack::Stack;

/// One layer.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Layer {
    /// Thickness, m, above 0.
    pub thickness_m: f64,
    /// Conductivity, W/(m K), above 0.
    pub k_w_mk: f64,
    /// Density, kg/m3, above 0.
    pub rho_kg_m3: f64,
    /// Specific heat, J/(kg K), above 0.
    pub c_j_kgk: f64,
}

/// A loaded tray at the moment it is seated. Temperatures in K, above 0; all numbers finite.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetProblem {
    /// Tooth, from the pulp to the prepared surface.
    pub tooth: Layer,
    /// Impression material; its density turns the heat of cure into W/m3.
    pub mix: Layer,
    /// Tray.
    pub tray: Layer,
    /// Tooth at the start.
    pub tooth_t0_k: f64,
    /// Mix at the start.
    pub mix_t0_k: f64,
    /// Tray at the start.
    pub tray_t0_k: f64,
    /// Held at the pulp side of the tooth.
    pub inner_t_k: f64,
    /// Heat transfer from the outside of the tray, W/(m2 K), at least 0.
    pub outer_h_w_m2k: f64,
    /// Mouth temperature outside the tray.
    pub outer_t_k: f64,
    /// Cure of the mix.
    pub law: CureLaw,
    /// State of the mix when it is seated.
    pub start: CureState,
    /// Degree of cure at which shape is locked in.
    pub alpha_gel: f64,
    /// Degree of cure at which the material may be removed, at least `alpha_gel`.
    pub alpha_set: f64,
    /// Time followed, s, at most a day.
    pub horizon_s: f64,
}

/// One moment of a run.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct SetPoint {
    /// Least degree of cure of any place, cells and both faces of the mix.
    pub min_alpha: f64,
    /// Mean degree of cure.
    pub mean_alpha: f64,
    /// Mean temperature of the mix, K.
    pub mix_t_k: f64,
    /// Mean temperature of the tray, K.
    pub tray_t_k: f64,
    /// Temperature of the mix cell next to the tooth, K.
    pub tooth_side_t_k: f64,
    /// Temperature of the mix cell next to the tray, K.
    pub tray_side_t_k: f64,
    /// Slope of the temperature of the mix over the depth, 0 on the tooth and 1 on the tray, K: the line through the
    /// cells by least squares, with `mix_t_k` at its middle.
    pub mix_t_slope_k: f64,
}

/// Heat over the horizon per area of interface, J/m2: `stored = inner + outer + reaction` to rounding.
#[derive(Debug, Clone, Copy, PartialEq, Default)]
pub struct HeatBalance {
    /// Gained by the three layers.
    pub stored_j_m2: f64,
    /// Entered from the pulp side.
    pub inner_j_m2: f64,
    /// Entered through the outside of the tray.
    pub outer_j_m2: f64,
    /// Released by the cure.
    pub reaction_j_m2: f64,
}

/// What happened in a run of `NM` mix cells.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SetRun<const NM: usize = MIX_CELLS> {
    /// When the slowest place, cells and both faces of the mix, reaches `alpha_set`; `None` if not by the horizon.
    pub set_at_s: Option<f64>,
    /// The mix cell that sets last, counted from the tooth; with none set, the least cured at the horizon.
    pub slowest_cell: usize,
    /// When the first place reaches `alpha_gel`.
    pub first_gel_s: Option<f64>,
    /// When the last place reaches `alpha_gel`.
    pub last_gel_s: Option<f64>,
    /// Temperature of each mix cell when it passed `alpha_gel`, K.
    pub gel_t_k: [Option<f64>; NM],
    /// Mean tray temperature when a cell gelled, averaged over the cells that did, K.
    pub tray_t_at_gel_k: Option<f64>,
    /// Where the heat went.
    pub heat: HeatBalance,
    /// Moments at equal distances from 0 to the horizon.
    pub trace: [SetPoint; TRACE],
    /// Time followed, s.
    pub horizon_s: f64,
    /// Time steps taken.
    pub steps: usize,
}

/// Cells of the tooth in [`run`].
pub const TOOTH_CELLS: usize = 4;
/// Cells of the mix in [`run`].
pub const MIX_CELLS: usize = 8;
/// Cells of the tray in [`run`].
pub const TRAY_CELLS: usize = 4;
/// Moments kept in a run.
pub const TRACE: usize = 64;

/// Runs one setting on the production mesh.
pub fn run(problem: &SetProblem) -> SetRun {
    run_cells::<TOOTH_CELLS, MIX_CELLS, TRAY_CELLS, { TOOTH_CELLS + MIX_CELLS + TRAY_CELLS }>(problem, 1.0)
}

/// Temperatures, K, and degrees of cure of the cells at the horizon, on the production mesh: tooth, mix and tray from the pulp
/// outward, and the mix alone.
pub fn at_the_horizon(
    problem: &SetProblem,
) -> ([f64; TOOTH_CELLS + MIX_CELLS + TRAY_CELLS], [f64; MIX_CELLS]) {
    let layers = [problem.tooth, problem.mix, problem.tray];
    let cells = [TOOTH_CELLS, MIX_CELLS, TRAY_CELLS];
    let stack = Stack::new(layers, cells, f64::INFINITY, problem.outer_h_w_m2k);
    let end = march::<TOOTH_CELLS, MIX_CELLS, TRAY_CELLS, { TOOTH_CELLS + MIX_CELLS + TRAY_CELLS }>(
        &stack, problem, 1.0,
    );
    (end.t_k, end.state.map(|state| state.alpha))
}

/// Runs one setting on any mesh of `N = NT + NM + NR` cells with time steps `finer` (above 0) times shorter.
pub fn run_cells<const NT: usize, const NM: usize, const NR: usize, const N: usize>(
    problem: &SetProblem,
    finer: f64,
) -> SetRun<NM> {
    let layers = [problem.tooth, problem.mix, problem.tray];
    let stack = Stack::<N>::new(layers, [NT, NM, NR], f64::INFINITY, problem.outer_h_w_m2k);
    run_stack::<NT, NM, NR, N>(&stack, problem, finer).0
}

/// The general run: the stack may have any heat transfer at its inner surface (see [`Stack::new`]). Also gives
/// the temperatures of all cells at the horizon.
pub fn run_stack<const NT: usize, const NM: usize, const NR: usize, const N: usize>(
    stack: &Stack<N>,
    problem: &SetProblem,
    finer: f64,
) -> (SetRun<NM>, [f64; N]) {
    let end = march::<NT, NM, NR, N>(stack, problem, finer);
    (end.run, end.t_k)
}

/// A run with its cells at the horizon.
struct End<const NM: usize, const N: usize> {
    run: SetRun<NM>,
    t_k: [f64; N],
    state: [CureState; NM],
}

fn march<const NT: usize, const NM: usize, const NR: usize, const N: usize>(
    stack: &Stack<N>,
    problem: &SetProblem,
    finer: f64,
) -> End<NM, N> {
    const { assert!(NT > 0 && NM > 2 && NR > 0 && NT + NM + NR == N) };
    let p = problem;
    let horizon_s = p.horizon_s.min(LATEST_S);
    let steps = Steps::finer(finer);
    let start_temperatures_k = [p.tooth_t0_k, p.mix_t0_k, p.tray_t0_k, p.inner_t_k, p.outer_t_k];
    let (coldest_k, hottest_k) = start_temperatures_k
        .into_iter()
        .fold((f64::INFINITY, 0.0), |(low, high): (f64, f64), t| (low.min(t), high.max(t)));
    // A gelation has a negative activation energy: it is fastest where it is coldest.
    let fresh_rate_per_s = p.law.kamal.rate(0.0, hottest_k).max(p.law.kamal.rate(0.0, coldest_k));
    let fresh_s = cure::resolved_step_s(0.0, fresh_rate_per_s, steps.cure);
    let released_j_m2 = p.mix.rho_kg_m3 * p.law.heat_j_kg * p.mix.thickness_m / NM as f64;
    let start_t_k: [f64; N] = std::array::from_fn(|i| match i {
        i if i < NT => p.tooth_t0_k,
        i if i < NT + NM => p.mix_t0_k,
        _ => p.tray_t0_k,
    });

    let mut t_k = start_t_k;
    let mut state = [p.start; NM];
    let mut heating_w_m2 = [0.0; NM];
    let mut heat = HeatBalance::default();
    let mut gel = Passage::<NM>::new(p.alpha_gel, p.start.alpha, p.mix_t0_k, p.tray_t0_k);
    let mut set = Passage::<NM>::new(p.alpha_set, p.start.alpha, p.mix_t0_k, p.tray_t0_k);
    let mut trace = [SetPoint::of(&t_k[NT..NT + NM], &t_k[NT + NM..], &state); TRACE];
    let mut kept = 1;
    let mut before = trace[0];
    let (mut time_s, mut count, mut next_s) = (0.0, 0, steps.first_s);

    while time_s < horizon_s {
        // The rest is divided so that no sliver of a step remains.
        let left_s = horizon_s - time_s;
        let dt_s = if next_s >= left_s { left_s } else { next_s.min(0.5 * left_s) };
        let end_s = if next_s >= left_s { horizon_s } else { time_s + dt_s };
        let implicit = if count < EULER_STEPS { 1.0 } else { 0.5 };

        let matrix = stack.matrix(dt_s, implicit);
        let flow_w_m2 = stack.inflow_w_m2(&t_k, p.inner_t_k, p.outer_t_k);
        let rise = |heating_w_m2: &[f64; NM]| {
            let mut rise_k = flow_w_m2;
            for (flow, heating) in rise_k[NT..NT + NM].iter_mut().zip(heating_w_m2) {
                *flow += heating;
            }
            matrix.solve(&mut rise_k);
            rise_k
        };

        // The heating of the step before is enough for the field along which the cure runs.
        let guess_k = rise(&heating_w_m2);
        let mut cured = state;
        let mut resolved_s = f64::INFINITY;
        for j in 0..NM {
            let t0 = t_k[NT + j];
            cured[j] = cure::advance(&p.law, state[j], t0, t0 + guess_k[NT + j], dt_s);
            let gained = cured[j].alpha - state[j].alpha;
            heating_w_m2[j] = released_j_m2 * gained / dt_s;
            heat.reaction_j_m2 += released_j_m2 * gained;
            resolved_s = resolved_s.min(if state[j].induction < 1.0 {
                // Up to the end of the induction, then what the first rate asks.
                fresh_s.max(dt_s * (1.0 - cured[j].induction) / (cured[j].induction - state[j].induction))
            } else {
                cure::resolved_step_s(cured[j].alpha, gained / dt_s, steps.cure)
            });
        }
        let rise_k = rise(&heating_w_m2);

        let (inner, outer) = stack.surfaces_w_m2(&t_k, &rise_k, implicit, p.inner_t_k, p.outer_t_k);
        heat.inner_j_m2 += dt_s * inner;
        heat.outer_j_m2 += dt_s * outer;
        let mut after_k = t_k;
        for (t, rise) in after_k.iter_mut().zip(&rise_k) {
            *t += rise;
        }

        let tray_k = (mean(&t_k[NT + NM..]), mean(&after_k[NT + NM..]));
        for j in 0..NM {
            let step = CellStep {
                from: state[j],
                to: cured[j],
                t0_k: t_k[NT + j],
                cure_t1_k: t_k[NT + j] + guess_k[NT + j],
                t1_k: after_k[NT + j],
                tray_k,
                time_s,
                dt_s,
            };
            gel.note(&p.law, j, &step);
            set.note(&p.law, j, &step);
        }

        let now = SetPoint::of(&after_k[NT..NT + NM], &after_k[NT + NM..], &cured);
        while kept < TRACE && horizon_s * kept as f64 / (TRACE - 1) as f64 <= end_s {
            let share = (horizon_s * kept as f64 / (TRACE - 1) as f64 - time_s) / dt_s;
            trace[kept] = before.towards(&now, share);
            kept += 1;
        }

        (t_k, state, before, time_s) = (after_k, cured, now, end_s);
        count += 1;
        next_s = steps.next_s(time_s, dt_s, count, resolved_s);
    }
    for point in &mut trace[kept..] {
        *point = before;
    }

    heat.stored_j_m2 = (0..N).map(|i| stack.heat_j_m2k[i] * (t_k[i] - start_t_k[i])).sum();
    let set_at_s = set.last_s().filter(|&s| s <= horizon_s);
    let last_gel_s = gel.last_s().filter(|&s| s <= horizon_s);
    let run = SetRun {
        set_at_s,
        slowest_cell: set.slowest(&state),
        first_gel_s: gel.first_s(),
        last_gel_s,
        gel_t_k: gel.t_k,
        tray_t_at_gel_k: gel.mean_tray_t_k(),
        heat,
        trace,
        horizon_s,
        steps: count,
    };
    End { run, t_k, state }
}

impl<const NM: usize> SetRun<NM> {
    /// Mean over the mix of the temperature at which it gelled, K; a cell that never did counts at `fallback_k`.
    pub fn gel_t_mean_k(&self, fallback_k: f64) -> f64 {
        mean(&self.gel_t_k.map(|t_k| t_k.unwrap_or(fallback_k)))
    }

    /// Slope of that temperature over the depth, 0 on the tooth and 1 on the tray, K: the line through the cells by least
    /// squares, with the mean at its middle.
    pub fn gel_t_slope_k(&self, fallback_k: f64) -> f64 {
        slope(&self.gel_t_k.map(|t_k| t_k.unwrap_or(fallback_k)))
    }

    /// The moment `t_s`, linear between the kept moments, held at the ends.
    pub fn at(&self, t_s: f64) -> SetPoint {
        if self.horizon_s <= 0.0 {
            return self.trace[0];
        }
        let place = (t_s / self.horizon_s).clamp(0.0, 1.0) * (TRACE - 1) as f64;
        let from = (place as usize).min(TRACE - 2);
        self.trace[from].towards(&self.trace[from + 1], place - from as f64)
    }
}

/// A run is followed for a day at most, s.
const LATEST_S: f64 = 86_400.0;
/// Implicit Euler steps before Crank-Nicolson takes over.
const EULER_STEPS: usize = 4;

/// How the time steps grow.
#[derive(Debug, Clone, Copy)]
struct Steps {
    first_s: f64,
    growth: f64,
    shortest_s: f64,
    longest_s: f64,
    /// Longest step as a share of the time gone by, for the slow end of a run.
    late: f64,
    /// Share for [`cure::resolved_step_s`].
    cure: f64,
}

impl Steps {
    fn finer(finer: f64) -> Steps {
        Steps {
            first_s: 0.05 / finer,
            growth: libm::pow(1.2, 1.0 / finer),
            shortest_s: 0.02 / finer,
            longest_s: 6.0 / finer,
            late: 0.04 / finer,
            cure: 0.2 / finer,
        }
    }

    fn next_s(&self, time_s: f64, last_s: f64, taken: usize, resolved_s: f64) -> f64 {
        let grown_s = if taken < EULER_STEPS { self.first_s } else { self.growth * last_s };
        let longest_s = self.longest_s.max(self.late * time_s);
        grown_s.min(longest_s).min(resolved_s).max(self.shortest_s)
    }
}

impl SetPoint {
    fn of(mix_t_k: &[f64], tray_t_k: &[f64], state: &[CureState]) -> SetPoint {
        SetPoint {
            min_alpha: least_alpha(state),
            mean_alpha: state.iter().map(|s| s.alpha).sum::<f64>() / state.len() as f64,
            mix_t_k: mean(mix_t_k),
            tray_t_k: mean(tray_t_k),
            tooth_side_t_k: mix_t_k[0],
            tray_side_t_k: mix_t_k[mix_t_k.len() - 1],
            mix_t_slope_k: slope(mix_t_k),
        }
    }

    fn towards(&self, other: &SetPoint, share: f64) -> SetPoint {
        let mix = |a: f64, b: f64| a + (b - a) * share;
        SetPoint {
            min_alpha: mix(self.min_alpha, other.min_alpha),
            mean_alpha: mix(self.mean_alpha, other.mean_alpha),
            mix_t_k: mix(self.mix_t_k, other.mix_t_k),
            tray_t_k: mix(self.tray_t_k, other.tray_t_k),
            tooth_side_t_k: mix(self.tooth_side_t_k, other.tooth_side_t_k),
            tray_side_t_k: mix(self.tray_side_t_k, other.tray_side_t_k),
            mix_t_slope_k: mix(self.mix_t_slope_k, other.mix_t_slope_k),
        }
    }
}

/// One step of one mix cell.
struct CellStep {
    from: CureState,
    to: CureState,
    t0_k: f64,
    /// End of the field along which the cure ran.
    cure_t1_k: f64,
    t1_k: f64,
    tray_k: (f64, f64),
    time_s: f64,
    dt_s: f64,
}

/// When, and at which temperatures, each mix cell passes one degree of cure.
struct Passage<const NM: usize> {
    alpha: f64,
    at_s: [Option<f64>; NM],
    t_k: [Option<f64>; NM],
    tray_t_k: [f64; NM],
}

impl<const NM: usize> Passage<NM> {
    fn new(alpha: f64, start: f64, mix_t_k: f64, tray_t_k: f64) -> Self {
        let passed = start >= alpha;
        Passage {
            alpha,
            at_s: [passed.then_some(0.0); NM],
            t_k: [passed.then_some(mix_t_k); NM],
            tray_t_k: [tray_t_k; NM],
        }
    }

    fn note(&mut self, law: &CureLaw, cell: usize, step: &CellStep) {
        if self.at_s[cell].is_some() || step.to.alpha < self.alpha {
            return;
        }
        let s = cure::crossing_s(law, step.from, step.t0_k, step.cure_t1_k, step.dt_s, self.alpha);
        let share = s / step.dt_s;
        self.at_s[cell] = Some(step.time_s + s);
        self.t_k[cell] = Some(step.t0_k + (step.t1_k - step.t0_k) * share);
        self.tray_t_k[cell] = step.tray_k.0 + (step.tray_k.1 - step.tray_k.0) * share;
    }

    /// Times at the tooth face and the tray face, from the parabola through the three cells next to each.
    fn faces_s(&self) -> Option<(f64, f64)> {
        let face = |a: usize, b: usize, c: usize| {
            Some((15.0 * self.at_s[a]? - 10.0 * self.at_s[b]? + 3.0 * self.at_s[c]?) / 8.0)
        };
        Some((face(0, 1, 2)?, face(NM - 1, NM - 2, NM - 3)?))
    }

    /// When every cell and both faces have passed.
    fn last_s(&self) -> Option<f64> {
        let (tooth_s, tray_s) = self.faces_s()?;
        self.at_s.iter().try_fold(tooth_s.max(tray_s), |last, s| Some(last.max((*s)?)))
    }

    /// When the first cell or face has passed.
    fn first_s(&self) -> Option<f64> {
        let first_cell_s = self.at_s.iter().flatten().copied().reduce(f64::min)?;
        let first_s = self.faces_s().map_or(first_cell_s, |(tooth, tray)| first_cell_s.min(tooth).min(tray));
        Some(first_s.max(0.0))
    }

    fn mean_tray_t_k(&self) -> Option<f64> {
        let passed = self.at_s.iter().zip(&self.tray_t_k).filter(|(s, _)| s.is_some());
        let (count, sum) = passed.fold((0, 0.0), |(n, sum), (_, t)| (n + 1, sum + t));
        (count > 0).then(|| sum / f64::from(count))
    }

    /// The cell that passed last; if some have not, the least cured of them.
    fn slowest(&self, state: &[CureState; NM]) -> usize {
        let later = |a: usize, b: usize| match (self.at_s[a], self.at_s[b]) {
            (Some(a_s), Some(b_s)) => b_s > a_s,
            (None, None) => state[b].alpha < state[a].alpha,
            (a_s, _) => a_s.is_some(),
        };
        (1..NM).fold(0, |slowest, j| if later(slowest, j) { j } else { slowest })
    }
}

/// Least degree of cure; a face is reached by the parabola through the three cells next to it.
fn least_alpha(state: &[CureState]) -> f64 {
    let last = state.len() - 1;
    let face = |a: usize, b: usize, c: usize| {
        (15.0 * state[a].alpha - 10.0 * state[b].alpha + 3.0 * state[c].alpha) / 8.0
    };
    let faces = face(0, 1, 2).min(face(last, last - 1, last - 2)).max(0.0);
    state.iter().fold(faces, |least, s| least.min(s.alpha))
}

fn mean(values: &[f64]) -> f64 {
    values.iter().sum::<f64>() / values.len() as f64
}

/// Slope over all the cells of the line through equal cells by least squares; 0 for fewer than two.
fn slope(values: &[f64]) -> f64 {
    let n = values.len() as f64;
    // Twice the distance of the middle of a cell from the middle of all, in cells.
    let arm = |cell: usize| (2 * cell + 1) as f64 - n;
    let sum: f64 = values.iter().enumerate().map(|(cell, value)| arm(cell) * value).sum();
    // The squares of the arms add to n (n^2 - 1) / 3.
    if n > 1.0 { 6.0 * sum / (n * n - 1.0) } else { 0.0 }
}

#[cfg(test)]
mod tests;
