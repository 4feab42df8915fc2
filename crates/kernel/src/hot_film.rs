//! Hot agar syringed on a prepared tooth and covered with cool material: how warm the pulp gets, when the film gels.
//!
//! ```text
//! rho c dT/dt = d/dx(k dT/dx) through  pulp | dentine | film | cover | outside
//! k dT/dx = h_pulp (T - T_pulp) at the pulp wall
//! until the delay is over:  -k dT/dx = h_air (T - T_air) on the film, and the cover waits at its own temperature
//! after it:                 T and k dT/dx continuous into the cover, -k dT/dx = h_outer (T - T_outer) outside it
//! T(x, 0) is one value in the dentine and one in the film; gelation follows a law of [`crate::cure`]
//! ```
//!
//! h_pulp stands for the blood that carries heat from the pulp. Two bodies brought together take the temperature
//! (e1 T1 + e2 T2)/(e1 + e2), e = sqrt(k rho c), at once and keep it until the far sides are felt (Carslaw & Jaeger
//! 1959, section 2.15). The mesh cannot show that before heat has crossed a cell; until then the tooth surface is
//! taken to be at that temperature.
//!
//! Finite volumes with the conductances of [`crate::set`], cells of dentine and cover narrowing towards the film, second
//! order; TR-BDF2 in time ([`crate::tube`]) with steps that grow from the start and from the covering on, second
//! order. The heat of gelation, about 1 kJ/kg, is left out.

use crate::cure::{self, CureLaw};
use crate::set::Layer;
use crate::tube::{self, Chain, OutOfRange, in_series};

/// A film and what it lies between. Temperatures in K, heat transfer in W/(m2 K), at least 0. Ranges are those of
/// [`check`].
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HotFilm {
    /// Dentine left between pulp and prepared surface, 1 to 3 mm.
    pub dentine: Layer,
    /// Agar, 0.3 to 2 mm.
    pub film: Layer,
    /// Cool material in the tray, 2 to 6 mm.
    pub cover: Layer,
    /// Dentine when the film arrives.
    pub dentine_t0_k: f64,
    /// Film when it arrives.
    pub film_t0_k: f64,
    /// Cover when it arrives.
    pub cover_t0_k: f64,
    /// From pulp wall to blood, about 100 to 1000.
    pub pulp_h_w_m2k: f64,
    /// Blood.
    pub pulp_t_k: f64,
    /// From film to air, evaporation included.
    pub air_h_w_m2k: f64,
    /// Air in the mouth.
    pub air_t_k: f64,
    /// From film to cover, s.
    pub delay_s: f64,
    /// From the outside of the cover.
    pub outer_h_w_m2k: f64,
    /// Outside the cover.
    pub outer_t_k: f64,
    /// Gelation; the degree of cure is the share of gel. See [`crate::agar::gelation_law`].
    pub law: CureLaw,
    /// Share of gel that counts as gelled, above 0 and below 1.
    pub alpha_set: f64,
    /// Time followed from the arrival of the film, s, at least `delay_s`.
    pub horizon_s: f64,
}

/// What happened. Times are counted from the arrival of the film.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct FilmRun {
    /// Highest temperature of the pulp wall, K.
    pub pulp_peak_k: f64,
    /// When, s.
    pub pulp_peak_s: f64,
    /// Highest temperature of the prepared surface, K.
    pub tooth_peak_k: f64,
    /// When the last place of the film has gelled, s; `None` if not by the horizon.
    pub gelled_s: Option<f64>,
    /// Temperature of the coldest place of the film, faces included, when the cover arrives, K.
    pub least_at_cover_k: f64,
    /// Share of gel in the place that has most of it when the cover arrives.
    pub gel_at_cover: f64,
}

/// Cells of the dentine, the film and the cover in [`run`].
pub const CELLS: [usize; 3] = [6, 5, 5];

/// Refuses what [`run`] cannot follow; names the first field at fault.
pub fn check(p: &HotFilm) -> Result<(), OutOfRange> {
    for layer in [p.dentine, p.film, p.cover] {
        tube::check_ranges(&[
            ("thickness_m", layer.thickness_m, 1e-5, 0.05),
            ("k_w_mk", layer.k_w_mk, 0.01, 500.0),
            ("rho_kg_m3", layer.rho_kg_m3, 100.0, 2e4),
            ("c_j_kgk", layer.c_j_kgk, 100.0, 1e4),
        ])?;
    }
    tube::check_ranges(&[
        ("dentine_t0_k", p.dentine_t0_k, 260.0, 400.0),
        ("film_t0_k", p.film_t0_k, 260.0, 400.0),
        ("cover_t0_k", p.cover_t0_k, 260.0, 400.0),
        ("pulp_t_k", p.pulp_t_k, 260.0, 400.0),
        ("air_t_k", p.air_t_k, 260.0, 400.0),
        ("outer_t_k", p.outer_t_k, 260.0, 400.0),
        ("pulp_h_w_m2k", p.pulp_h_w_m2k, 0.0, f64::INFINITY),
        ("air_h_w_m2k", p.air_h_w_m2k, 0.0, 1e5),
        ("outer_h_w_m2k", p.outer_h_w_m2k, 0.0, 1e5),
        ("alpha_set", p.alpha_set, 1e-6, 1.0 - 1e-6),
        ("horizon_s", p.horizon_s, 0.0, 86_400.0),
        ("delay_s", p.delay_s, 0.0, p.horizon_s),
    ])
}

/// Follows one film that has passed [`check`] on the production mesh.
pub fn run(p: &HotFilm) -> FilmRun {
    const N: usize = CELLS[0] + CELLS[1] + CELLS[2];
    run_cells::<{ CELLS[0] }, { CELLS[1] }, { CELLS[2] }, N>(p, 1.0).0
}

/// [`run`] on any mesh of `N = ND + NF + NC` cells with steps `finer` (above 0) times shorter. Also gives the
/// temperatures of all cells at the horizon.
pub fn run_cells<const ND: usize, const NF: usize, const NC: usize, const N: usize>(
    p: &HotFilm,
    finer: f64,
) -> (FilmRun, [f64; N]) {
    const { assert!(ND > 0 && NF > 2 && NC > 0 && ND + NF + NC == N) };
    let wall = Wall::<N>::new(p, [ND, NF, NC]);
    let mut t_k: [f64; N] = std::array::from_fn(|i| match i {
        i if i < ND => p.dentine_t0_k,
        i if i < ND + NF => p.film_t0_k,
        _ => p.cover_t0_k,
    });
    let mut gel = [p.law.fresh(); NF];
    let mut gelled_s = [None; NF];
    let contact_k = contact_t_k(&p.dentine, p.dentine_t0_k, &p.film, p.film_t0_k);
    let mut run = FilmRun {
        pulp_peak_k: wall.pulp_k(&t_k, p),
        pulp_peak_s: 0.0,
        tooth_peak_k: contact_k,
        gelled_s: None,
        least_at_cover_k: contact_k.min(p.film_t0_k),
        gel_at_cover: 0.0,
    };
    let mut time_s = 0.0;
    for (covered, end_s) in [(false, p.delay_s), (true, p.horizon_s)] {
        let (chain, around_k) = (wall.chain(p, covered), wall.around_k(p, covered));
        let start_s = time_s;
        while time_s < end_s {
            let left_s = end_s - time_s;
            let grown_s = (FIRST_STEP_S / finer).max(GROWTH / finer * (time_s - start_s));
            // The rest is divided so that no sliver of a step remains.
            let dt_s = if grown_s >= left_s { left_s } else { grown_s.min(0.5 * left_s) };
            let after_k = chain.advance(&chain.step(dt_s), &t_k, &around_k).end;
            for j in 0..NF {
                let (t0_k, t1_k) = (t_k[ND + j], after_k[ND + j]);
                let to = cure::advance(&p.law, gel[j], t0_k, t1_k, dt_s);
                if gelled_s[j].is_none() && to.alpha >= p.alpha_set {
                    let s = cure::crossing_s(&p.law, gel[j], t0_k, t1_k, dt_s, p.alpha_set);
                    gelled_s[j] = Some(time_s + s);
                }
                gel[j] = to;
            }
            t_k = after_k;
            time_s = if dt_s >= left_s { end_s } else { time_s + dt_s };
            let pulp_k = wall.pulp_k(&t_k, p);
            if pulp_k > run.pulp_peak_k {
                (run.pulp_peak_k, run.pulp_peak_s) = (pulp_k, time_s);
            }
            if time_s >= wall.settled_s {
                run.tooth_peak_k = run.tooth_peak_k.max(wall.tooth_k(&t_k));
            }
        }
        if !covered && p.delay_s > 0.0 {
            let film = &t_k[ND..ND + NF];
            let tooth_k = if time_s < wall.settled_s { contact_k } else { wall.tooth_k(&t_k) };
            run.least_at_cover_k = film.iter().fold(tooth_k.min(wall.film_face_k(&t_k, p)), |a, &b| a.min(b));
            run.gel_at_cover = gel.iter().fold(0.0, |most: f64, s| most.max(s.alpha));
        }
    }
    run.gelled_s = last_s(&gelled_s).filter(|&s| s <= p.horizon_s);
    (run, t_k)
}

/// Temperature of the plane where two bodies meet, at once and for as long as neither far side is felt, K.
pub fn contact_t_k(a: &Layer, a_t_k: f64, b: &Layer, b_t_k: f64) -> f64 {
    let effusivity = |l: &Layer| (l.k_w_mk * l.rho_kg_m3 * l.c_j_kgk).sqrt();
    let (ea, eb) = (effusivity(a), effusivity(b));
    (ea * a_t_k + eb * b_t_k) / (ea + eb)
}

/// When every cell of the film and both its faces have gelled, s; a face by the parabola through the three cells
/// next to it.
fn last_s<const NF: usize>(at_s: &[Option<f64>; NF]) -> Option<f64> {
    let face =
        |a: usize, b: usize, c: usize| Some((15.0 * at_s[a]? - 10.0 * at_s[b]? + 3.0 * at_s[c]?) / 8.0);
    let faces_s = face(0, 1, 2)?.max(face(NF - 1, NF - 2, NF - 3)?);
    at_s.iter().try_fold(faces_s, |last, s| Some(last.max((*s)?)))
}

/// First step after the film arrives and after the cover does, s.
const FIRST_STEP_S: f64 = 0.05;
/// Length of a step as a share of the time since.
const GROWTH: f64 = 0.15;
/// Ratio of the widths of neighbouring cells of dentine and cover in [`run`], narrowing towards the film.
const NARROWING: f64 = 0.75;

/// The section cut into cells, per area.
struct Wall<const N: usize> {
    /// Last cell of the dentine and last cell of the film.
    last: [usize; 2],
    capacity_j_m2k: [f64; N],
    /// From a cell's centre to either of its faces, W/(m2 K).
    half_w_m2k: [f64; N],
    /// When heat has crossed the cells on both sides of the tooth surface and the mesh shows its temperature, s.
    settled_s: f64,
}

impl<const N: usize> Wall<N> {
    fn new(p: &HotFilm, cells: [usize; 3]) -> Self {
        let layers = [p.dentine, p.film, p.cover];
        let (mut capacity_j_m2k, mut half_w_m2k) = ([0.0; N], [0.0; N]);
        let mut crossing_s = [0.0; N];
        let mut i = 0;
        for (j, (layer, count)) in layers.into_iter().zip(cells).enumerate() {
            // A finer mesh divides the cells of the coarser, so the ratio of neighbours nears 1.
            let narrowing = libm::pow(NARROWING, CELLS[j] as f64 / count as f64);
            let ratio = [narrowing, 1.0, 1.0 / narrowing][j];
            let shares = (1..count).fold(1.0, |sum, _| 1.0 + ratio * sum);
            let mut width_m = layer.thickness_m / shares;
            for _ in 0..count {
                capacity_j_m2k[i] = layer.rho_kg_m3 * layer.c_j_kgk * width_m;
                half_w_m2k[i] = 2.0 * layer.k_w_mk / width_m;
                crossing_s[i] = 2.0 * capacity_j_m2k[i] / half_w_m2k[i];
                width_m *= ratio;
                i += 1;
            }
        }
        let last = [cells[0] - 1, cells[0] + cells[1] - 1];
        let settled_s = 4.0 * crossing_s[last[0]].max(crossing_s[last[0] + 1]);
        Wall { last, capacity_j_m2k, half_w_m2k, settled_s }
    }

    fn chain(&self, p: &HotFilm, covered: bool) -> Chain<N> {
        let half = &self.half_w_m2k;
        let next = std::array::from_fn(|i| {
            let open = i + 1 == N || (i == self.last[1] && !covered);
            if open { 0.0 } else { in_series(half[i], half[i + 1]) }
        });
        let mut around = [0.0; N];
        around[0] = in_series(half[0], p.pulp_h_w_m2k);
        if covered {
            around[N - 1] += in_series(half[N - 1], p.outer_h_w_m2k);
        } else {
            around[self.last[1]] += in_series(half[self.last[1]], p.air_h_w_m2k);
        }
        Chain { capacity: self.capacity_j_m2k, next, around }
    }

    fn around_k(&self, p: &HotFilm, covered: bool) -> [f64; N] {
        let mut around_k = [if covered { p.outer_t_k } else { p.air_t_k }; N];
        around_k[0] = p.pulp_t_k;
        around_k
    }

    /// Temperature of the pulp wall, from the flux through it.
    fn pulp_k(&self, t_k: &[f64; N], p: &HotFilm) -> f64 {
        t_k[0] + in_series(self.half_w_m2k[0], p.pulp_h_w_m2k) / self.half_w_m2k[0] * (p.pulp_t_k - t_k[0])
    }

    /// Temperature of the prepared surface: the value that carries one flux.
    fn tooth_k(&self, t_k: &[f64; N]) -> f64 {
        let i = self.last[0];
        let (a, b) = (self.half_w_m2k[i], self.half_w_m2k[i + 1]);
        (a * t_k[i] + b * t_k[i + 1]) / (a + b)
    }

    /// Temperature of the face of the film in air.
    fn film_face_k(&self, t_k: &[f64; N], p: &HotFilm) -> f64 {
        let i = self.last[1];
        t_k[i] + in_series(self.half_w_m2k[i], p.air_h_w_m2k) / self.half_w_m2k[i] * (p.air_t_k - t_k[i])
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::ZERO_CELSIUS;
    use crate::agar::gelation_law;
    use proptest::prelude::*;

    fn layer(thickness_m: f64, k_w_mk: f64, rho_kg_m3: f64, c_j_kgk: f64) -> Layer {
        Layer { thickness_m, k_w_mk, rho_kg_m3, c_j_kgk }
    }

    /// 2 mm of dentine, 1 mm of agar at 62 C, 4 mm of alginate at 20 C.
    fn film(delay_s: f64, horizon_s: f64) -> HotFilm {
        HotFilm {
            dentine: layer(2e-3, 0.5, 2100.0, 1300.0),
            film: layer(1e-3, 0.58, 1060.0, 3760.0),
            cover: layer(4e-3, 0.6, 1180.0, 3200.0),
            dentine_t0_k: 34.0 + ZERO_CELSIUS,
            film_t0_k: 62.0 + ZERO_CELSIUS,
            cover_t0_k: 20.0 + ZERO_CELSIUS,
            pulp_h_w_m2k: 500.0,
            pulp_t_k: 37.0 + ZERO_CELSIUS,
            air_h_w_m2k: 40.0,
            air_t_k: 23.0 + ZERO_CELSIUS,
            delay_s,
            outer_h_w_m2k: 10.0,
            outer_t_k: 30.0 + ZERO_CELSIUS,
            law: gelation_law(309.15, 120.0, -400e3, 1.0, 0.0),
            alpha_set: 0.9,
            horizon_s,
        }
    }

    /// Pulp wall and prepared surface at the horizon, C.
    fn faces<const ND: usize, const NF: usize, const NC: usize, const N: usize>(
        p: &HotFilm,
        finer: f64,
    ) -> [f64; 2] {
        let wall = Wall::<N>::new(p, [ND, NF, NC]);
        let t_k = run_cells::<ND, NF, NC, N>(p, finer).1;
        [wall.pulp_k(&t_k, p) - ZERO_CELSIUS, wall.tooth_k(&t_k) - ZERO_CELSIUS]
    }

    /// Time, then pulp wall and prepared surface of `film`, C: in air throughout, and covered from the start.
    const LAPLACE: [(f64, [f64; 2], [f64; 2]); 5] = [
        (1.0, [35.06223450758, 49.79038381302], [35.06222402348, 48.32605598067]),
        (5.0, [38.32357025037, 47.93476937456], [37.71649106564, 40.36307013742]),
        (15.0, [39.77849146156, 43.99249398273], [37.18220996518, 35.42572197893]),
        (40.0, [37.96730786876, 38.96140903038], [35.65993353203, 32.67061821249]),
        (120.0, [36.31396876501, 34.85434904285], [35.82954718555, 33.60073026638]),
    ];

    /// Laplace transform of the layered wall, inverted by Talbot's contour with 40 digits, outside this program.
    /// The fine mesh is held to 5 mK. The production mesh to 0.2 K up to 5 s, while heat has crossed few of its cells,
    /// and to 0.06 K later.
    #[test]
    fn val_layers_follow_the_laplace_solution() {
        for (time_s, in_air, covered) in LAPLACE {
            for (delay_s, exact) in [(time_s, in_air), (0.0, covered)] {
                let p = film(delay_s, time_s);
                let fine = faces::<48, 40, 40, 128>(&p, 8.0);
                let production = faces::<6, 5, 5, 16>(&p, 1.0);
                let bound = if time_s < 15.0 { 0.2 } else { 0.06 };
                for i in 0..2 {
                    assert!((fine[i] - exact[i]).abs() < 5e-3, "{time_s} s: {fine:?} for {exact:?}");
                    assert!(
                        (production[i] - exact[i]).abs() < bound,
                        "{time_s} s: {production:?} for {exact:?}"
                    );
                }
            }
        }
    }

    /// Highest temperature of the pulp wall of the same two solutions, by golden section: 39.8859121565 C at
    /// 11.9 s in air, 38.0187677927 C at 7.3 s when covered at once. Production is within 0.06 K.
    #[test]
    fn val_pulp_peak_is_that_of_the_laplace_solution() {
        for (delay_s, exact, at_s) in [(120.0, 39.8859121565, 11.92), (0.0, 38.0187677927, 7.32)] {
            let p = film(delay_s, 120.0);
            let fine = run_cells::<48, 40, 40, 128>(&p, 8.0).0;
            assert!((fine.pulp_peak_k - ZERO_CELSIUS - exact).abs() < 2e-3, "{fine:?}");
            assert!((fine.pulp_peak_s - at_s).abs() < 0.2, "{fine:?}");
            let production = run(&p);
            assert!((production.pulp_peak_k - ZERO_CELSIUS - exact).abs() < 0.06, "{production:?}");
        }
    }

    /// Two half spaces: (e1 T1 + e2 T2)/(e1 + e2) = 49.833234814077 C with e = 1168.33 and 1520.42. It is the
    /// highest the surface gets here, and on a fine mesh the surface shows it while neither far side is felt:
    /// at 0.2 s to 1e-6 K, of which 128 cells leave 2 mK.
    #[test]
    fn val_contact_temperature_is_that_of_the_effusivities() {
        let p = film(60.0, 60.0);
        assert!((run(&p).tooth_peak_k - ZERO_CELSIUS - 49.833234814077).abs() < 1e-9);
        let got = faces::<48, 40, 40, 128>(&film(0.2, 0.2), 64.0)[1];
        assert!((got - 49.833234814077).abs() < 5e-3, "{got}");
    }

    /// Everything at the gel point: ln 10/(ln 2/120 s) = 398.631371 s to 90 %, faces included. The cure step is
    /// second order in its length and leaves 0.5 s.
    #[test]
    fn val_a_film_at_the_gel_point_gels_in_closed_form() {
        let at = 309.15;
        let p = HotFilm {
            dentine_t0_k: at,
            film_t0_k: at,
            cover_t0_k: at,
            pulp_t_k: at,
            air_t_k: at,
            outer_t_k: at,
            ..film(20.0, 600.0)
        };
        let got = [1.0, 16.0].map(|finer| run_cells::<6, 5, 5, 16>(&p, finer).0.gelled_s.expect("gels"));
        assert!((got[0] - 398.631371).abs() < 0.5 && (got[1] - 398.631371).abs() < 5e-3, "{got:?}");
    }

    /// Prepared surface and pulp wall at 40 s of a film covered at 15 s, against the finest mesh.
    #[test]
    fn conv_cells_are_of_second_order() {
        let p = film(15.0, 40.0);
        let got = [
            faces::<6, 5, 5, 16>(&p, 16.0),
            faces::<12, 10, 10, 32>(&p, 16.0),
            faces::<24, 20, 20, 64>(&p, 16.0),
            faces::<48, 40, 40, 128>(&p, 16.0),
        ];
        for i in 0..2 {
            let order = libm::log2((got[2][i] - got[1][i]).abs() / (got[3][i] - got[2][i]).abs());
            assert!(order > 1.8 && (got[0][i] - got[3][i]).abs() < 0.05, "{i}: {got:?} order {order}");
        }
    }

    /// The same, and when the film has gelled, against steps 128 times finer.
    #[test]
    fn conv_steps_are_of_second_order() {
        let p = film(15.0, 40.0);
        let gelled_s = |finer| run_cells::<6, 5, 5, 16>(&film(15.0, 300.0), finer).0.gelled_s.expect("gels");
        let all = |finer| {
            let [pulp, tooth] = faces::<6, 5, 5, 16>(&p, finer);
            [pulp, tooth, gelled_s(finer)]
        };
        let exact = all(128.0);
        let (coarse, fine) = (all(2.0), all(8.0));
        for (i, bound) in [1e-2, 1e-2, 0.5].into_iter().enumerate() {
            let errors = [(coarse[i] - exact[i]).abs(), (fine[i] - exact[i]).abs()];
            let order = 0.5 * libm::log2(errors[0] / errors[1]);
            assert!(order > 1.7 && errors[0] < bound, "{i}: {errors:?} order {order}");
        }
    }

    #[test]
    fn what_is_not_reached_is_none_and_what_cannot_be_is_refused() {
        assert_eq!(run(&film(5.0, 6.0)).gelled_s, None);
        let empty = run(&film(0.0, 0.0));
        assert!(empty.pulp_peak_s == 0.0 && empty.gel_at_cover == 0.0 && empty.pulp_peak_k.is_finite());
        assert_eq!(check(&film(5.0, 60.0)), Ok(()));
        let field = |p: &HotFilm| check(p).expect_err("out of range").field;
        assert_eq!(field(&film(61.0, 60.0)), "delay_s");
        assert_eq!(field(&HotFilm { film_t0_k: f64::NAN, ..film(5.0, 60.0) }), "film_t0_k");
        assert_eq!(field(&HotFilm { alpha_set: 1.0, ..film(5.0, 60.0) }), "alpha_set");
    }

    prop_compose! {
        fn any_film()(
            thickness in (1e-3..3e-3, 3e-4..2e-3, 2e-3..6e-3), film_c in 50.0..66.0f64, cover_c in 8.0..25.0f64,
            pulp_h in 100.0..1000.0f64, air_h in 5.0..60.0f64, delay_s in 0.0..40.0f64,
        ) -> HotFilm {
            let p = film(delay_s, 240.0);
            HotFilm {
                dentine: Layer { thickness_m: thickness.0, ..p.dentine },
                film: Layer { thickness_m: thickness.1, ..p.film },
                cover: Layer { thickness_m: thickness.2, ..p.cover },
                film_t0_k: film_c + ZERO_CELSIUS,
                cover_t0_k: cover_c + ZERO_CELSIUS,
                pulp_h_w_m2k: pulp_h,
                air_h_w_m2k: air_h,
                ..p
            }
        }
    }

    proptest! {
        #[test]
        fn prop_temperatures_stay_between_those_given(p in any_film()) {
            let (r, t_k) = run_cells::<6, 5, 5, 16>(&p, 1.0);
            let (coldest, hottest) = (p.cover_t0_k, p.film_t0_k);
            prop_assert!(t_k.iter().all(|&t| t > coldest - 0.05 && t < hottest + 0.05));
            prop_assert!(r.pulp_peak_k < r.tooth_peak_k && r.tooth_peak_k < hottest);
            prop_assert!(r.least_at_cover_k < hottest && (0.0..=1.0).contains(&r.gel_at_cover));
            prop_assert!(r.gelled_s.is_none_or(|s| s > 0.0 && s <= p.horizon_s));
            prop_assert_eq!(r, run(&p));
        }

        /// More dentine, more blood and a cooler film spare a pulp that starts as warm as its blood.
        #[test]
        fn prop_the_pulp_is_spared(p in any_film(), more in 1.1..2.0f64, cooler_k in 1.0..10.0f64) {
            let p = HotFilm { dentine_t0_k: p.pulp_t_k, ..p };
            let usual = run(&p);
            let dentine = Layer { thickness_m: p.dentine.thickness_m * more, ..p.dentine };
            let others = [
                HotFilm { dentine, ..p },
                HotFilm { pulp_h_w_m2k: p.pulp_h_w_m2k * more, ..p },
                HotFilm { film_t0_k: p.film_t0_k - cooler_k, ..p },
            ];
            for (i, other) in others.iter().enumerate() {
                prop_assert!(run(other).pulp_peak_k < usual.pulp_peak_k + 0.02, "{} {:?} {:?}", i, usual, run(other));
            }
            prop_assert!(run(&others[2]).tooth_peak_k < usual.tooth_peak_k);
        }
    }
}
