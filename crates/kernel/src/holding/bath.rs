//! A water gel in a liquid: salts leave, water follows.
//!
//! ```text
//! ∂s/∂t = D_s ∂²s/∂x²,              0 < x < L;   D_s ∂s/∂x(0) = k (s(0) - s_bath);   ∂s/∂x(L) = 0
//! ∂e/∂t = D_c ∂²/∂x² [e - S (s - s_bath)];       e - S (s - s_bath) = e_network at 0;  no flux at L
//! C dT/dt = (h + h_tray) (T_∞ - T)
//! ```
//!
//! s is the share of the salts of the fresh gel, e the water gained per volume, c = c_0 + ρ_w e the water of the
//! sheet. At the start s and c are what the segment before left. D_c, the cooperative diffusivity of the
//! network, exceeds D_s: e reaches e_network + S (s - s_bath) before the salts have moved far, and S is given
//! back as they leave. While they leave as from a half space, e falls as the square root of time from
//! an intercept above zero.
//!
//! The strength that draws water is that of the liquid away from the face: the film holds the salts back,
//! not the water.
//!
//! Finite volumes on the cells of the sheet, half the first cell in series with k. In time the diagonally
//! implicit method of two stages with γ = 1 - 1/√2 (Alexander 1977, SIAM J. Numer. Anal. 14:1006): second order
//! in both, L-stable, and its last stage is the new state, so that e keeps its balance with s however
//! large D_c is. A stage of the salts enters the same stage of the water. What left is what the cells lost.
//!
//! Two fields and the reversal: Nallamuthu, Braden & Patel 2012, Dent. Mater. 28:756. D_c of an ionic alginate
//! gel: Hu, Zhao, Vlassak & Suo 2010, Appl. Phys. Lett. 96:121904.

use super::sheet::{Sheet, State};
use super::{BAG_W_M2K, Gel, Segment};
use crate::moist_air::LIQUID_WATER_KG_M3;
use crate::tridiagonal::{self, Factored};

/// 1 - 1/√2: the smaller of the two values that make the method L-stable.
const GAMMA: f64 = 1.0 - core::f64::consts::FRAC_1_SQRT_2;

/// Coefficient of salts in a liquid at rest, m/s. Sh = 0.54 Ra^(1/4) for salts of 1.2e-9 m²/s that make the
/// liquid 0.2 % heavier, over 12.5 mm: Ra = 3e7, Sh = 40.
const FILM_M_S: f64 = 4e-6;

/// Coefficient of heat in a liquid at rest, W/(m² K): 400 of the liquid (Nu = 0.54 Ra^(1/4), 4 K over 12.5 mm)
/// in series with a third of 3 mm of gel, as the lump has the mean temperature.
const LIQUID_W_M2K: f64 = 240.0;

/// How fast salts and water move in a sheet, and where the water comes to rest.
pub(super) struct Soaking<const M: usize> {
    /// Heat capacity per area, J/(m² K), then the widths of the cells, m.
    capacity: [f64; M],
    /// Exchange of salts and of water between place i and i + 1, m/s; zero at both ends.
    salt_m_s: [f64; M],
    water_m_s: [f64; M],
    /// Conductance of half the first cell for each, m/s.
    salt_half_m_s: f64,
    water_half_m_s: f64,
    /// ρ_w S, kg/m³.
    osmotic_kg_m3: f64,
    /// c_0 + ρ_w e_network, kg/m³.
    final_kg_m3: f64,
}

/// The salts of the sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Salt<const M: usize> {
    /// Share of each cell; place 0 is not used.
    pub share: [f64; M],
    /// What left since the start: share times metre.
    pub left_m: f64,
    /// A liquid has taken salts, so that they may be uneven.
    pub moved: bool,
}

/// What the face meets.
pub(super) struct Liquid {
    /// s_bath.
    pub strength: f64,
    /// k, m/s; 0 for a finite film of liquid, which keeps the salts in the gel.
    pub film_m_s: f64,
    /// Temperature, K.
    pub t_k: f64,
    /// h + h_tray, W/(m² K).
    pub heat_w_m2k: f64,
}

/// The salts of the fresh gel.
pub(super) fn fresh_salt<const M: usize>() -> Salt<M> {
    Salt { share: [1.0; M], left_m: 0.0, moved: false }
}

/// A bath, or a film of liquid in a bag.
pub(super) fn liquid(gel: &Gel, factor: f64, segment: &Segment, strength: f64, endless: bool) -> Liquid {
    let holds_water = gel.water_fraction > 0.0;
    let film_m_s = if endless && holds_water { factor * FILM_M_S } else { 0.0 };
    let face_w_m2k = if endless { LIQUID_W_M2K } else { BAG_W_M2K };
    Liquid { strength, film_m_s, t_k: segment.air_t_k, heat_w_m2k: factor * face_w_m2k + gel.tray_h_w_m2k }
}

/// The coefficients of `gel` on the cells of `sheet`.
pub(super) fn soaking<const M: usize>(gel: &Gel, sheet: &Sheet<M>) -> Soaking<M> {
    let width = &sheet.capacity;
    let (salt, water) = (gel.bath.salt_diffusivity_m2_s, gel.bath.swelling_diffusivity_m2_s);
    let (mut salt_m_s, mut water_m_s) = ([0.0; M], [0.0; M]);
    for i in 1..M - 1 {
        salt_m_s[i] = 2.0 * salt / (width[i] + width[i + 1]);
        water_m_s[i] = 2.0 * water / (width[i] + width[i + 1]);
    }
    // A material without water has no network that could take any.
    let strain_kg_m3 = if gel.water_fraction > 0.0 { LIQUID_WATER_KG_M3 } else { 0.0 };
    Soaking {
        capacity: *width,
        salt_m_s,
        water_m_s,
        salt_half_m_s: 2.0 * salt / width[1],
        water_half_m_s: 2.0 * water / width[1],
        osmotic_kg_m3: strain_kg_m3 * gel.bath.osmotic_volume_strain,
        final_kg_m3: gel.rho_kg_m3 * gel.water_fraction + strain_kg_m3 * gel.bath.network_volume_strain,
    }
}

/// One step of `dt_s` in a liquid.
pub(super) fn soak<const M: usize>(
    soaking: &Soaking<M>,
    liquid: &Liquid,
    state: &mut State<M>,
    salt: &mut Salt<M>,
    dt_s: f64,
) {
    let salts = salt_stages(soaking, liquid, salt, dt_s);
    keep(soaking, salt, &salts, dt_s);
    salt.moved |= liquid.film_m_s > 0.0;

    let osmotic = soaking.osmotic_kg_m3;
    let outside = soaking.final_kg_m3 - osmotic * liquid.strength;
    let rate = |u: &[f64; M], share: &[f64; M]| {
        let mut level = *u;
        for i in 1..M {
            level[i] -= osmotic * share[i];
        }
        let mut rate = exchanged(&soaking.water_m_s, &level);
        rate[0] = liquid.heat_w_m2k * (liquid.t_k - u[0]);
        rate[1] += soaking.water_half_m_s * (outside - level[1]);
        rate
    };
    let matrix = matrix(soaking, &soaking.water_m_s, liquid.heat_w_m2k, soaking.water_half_m_s, GAMMA * dt_s);
    let water = stages(&state.u, dt_s, &matrix, |u, stage| rate(u, &salts.values[stage]));
    state.u = water.values[1];
    state.heat_j_m2 -= dt_s * soaking.capacity[0] * water.mean_rate[0];
    state.evaporated_kg_m2 -= dt_s * gained(&soaking.capacity, &water.mean_rate);
}

/// One step of `dt_s` in air: the salts level out.
pub(super) fn level<const M: usize>(soaking: &Soaking<M>, salt: &mut Salt<M>, dt_s: f64) {
    let closed = Liquid { strength: 0.0, film_m_s: 0.0, t_k: 0.0, heat_w_m2k: 0.0 };
    let salts = salt_stages(soaking, &closed, salt, dt_s);
    keep(soaking, salt, &salts, dt_s);
}

/// Water at the face, kg/m³.
pub(super) fn face_water_kg_m3<const M: usize>(soaking: &Soaking<M>, liquid: &Liquid, salt: &Salt<M>) -> f64 {
    let (film, half) = (liquid.film_m_s, soaking.salt_half_m_s);
    let face = (half * salt.share[1] + film * liquid.strength) / (half + film);
    soaking.final_kg_m3 + soaking.osmotic_kg_m3 * (face - liquid.strength)
}

/// The two stages of a step.
struct Stages<const M: usize> {
    /// The values of each; the second are those after the step.
    values: [[f64; M]; 2],
    /// Change over the step per time.
    mean_rate: [f64; M],
}

/// The stages of M du/dt = `rate`, with `matrix` the elimination of M - γ dt d(rate)/du.
fn stages<const M: usize>(
    u: &[f64; M],
    dt_s: f64,
    matrix: &Factored<M>,
    rate: impl Fn(&[f64; M], usize) -> [f64; M],
) -> Stages<M> {
    let mut k1 = rate(u, 0);
    matrix.solve(&mut k1);
    let (mut first, mut second) = (*u, *u);
    for i in 0..M {
        first[i] += GAMMA * dt_s * k1[i];
        second[i] += (1.0 - GAMMA) * dt_s * k1[i];
    }
    let mut k2 = rate(&second, 1);
    matrix.solve(&mut k2);
    let mut mean_rate = k2;
    for i in 0..M {
        second[i] += GAMMA * dt_s * k2[i];
        mean_rate[i] = (1.0 - GAMMA) * k1[i] + GAMMA * k2[i];
    }
    Stages { values: [first, second], mean_rate }
}

fn salt_stages<const M: usize>(
    soaking: &Soaking<M>,
    liquid: &Liquid,
    salt: &Salt<M>,
    dt_s: f64,
) -> Stages<M> {
    let through = 1.0 / (1.0 / liquid.film_m_s + 1.0 / soaking.salt_half_m_s);
    let matrix = matrix(soaking, &soaking.salt_m_s, 0.0, through, GAMMA * dt_s);
    stages(&salt.share, dt_s, &matrix, |share, _| {
        let mut rate = exchanged(&soaking.salt_m_s, share);
        rate[1] += through * (liquid.strength - share[1]);
        rate
    })
}

fn keep<const M: usize>(soaking: &Soaking<M>, salt: &mut Salt<M>, salts: &Stages<M>, dt_s: f64) {
    salt.share = salts.values[1];
    salt.left_m -= dt_s * gained(&soaking.capacity, &salts.mean_rate);
}

fn gained<const M: usize>(width_m: &[f64; M], rate: &[f64; M]) -> f64 {
    (1..M).map(|i| width_m[i] * rate[i]).sum()
}

fn exchanged<const M: usize>(exchange_m_s: &[f64; M], level: &[f64; M]) -> [f64; M] {
    let mut rate = [0.0; M];
    for i in 1..M - 1 {
        let outward = exchange_m_s[i] * (level[i + 1] - level[i]);
        rate[i] += outward;
        rate[i + 1] -= outward;
    }
    rate
}

fn matrix<const M: usize>(
    soaking: &Soaking<M>,
    exchange_m_s: &[f64; M],
    heat_w_m2k: f64,
    face_m_s: f64,
    g_s: f64,
) -> Factored<M> {
    let (mut lower, mut diag, mut upper) = ([0.0; M], soaking.capacity, [0.0; M]);
    for i in 1..M {
        lower[i] = -g_s * exchange_m_s[i - 1];
        diag[i] += g_s * (exchange_m_s[i - 1] + exchange_m_s[i]);
        upper[i] = -g_s * exchange_m_s[i];
    }
    diag[0] += g_s * heat_w_m2k;
    diag[1] += g_s * face_m_s;
    tridiagonal::factor(&lower, &diag, &upper)
}

#[cfg(test)]
mod tests {
    use super::super::{Bath, sheet};
    use super::*;
    use core::f64::consts::PI;

    const GEL: Gel = Gel {
        thickness_m: 2e-3,
        plate_length_m: 0.0125,
        rho_kg_m3: 1080.0,
        c_j_kgk: 3600.0,
        water_fraction: 0.7,
        diffusivity_m2_s: 1.3e-9,
        water_activity: 0.993,
        syneresis_volume_strain: 0.0,
        syneresis_tau_s: 3e4,
        bath: Bath {
            salt_diffusivity_m2_s: 1e-9,
            swelling_diffusivity_m2_s: 8e-9,
            osmotic_volume_strain: 0.03,
            network_volume_strain: -0.02,
            salt_fraction: 0.02,
        },
        tray_j_m2k: 0.0,
        tray_h_w_m2k: 8.0,
    };

    /// D_s t/L² of `fourier` in a bath of `strength`: on equal cells, in steps that grow as the square root of
    /// the time. Salts that left and water gained, per volume.
    fn soaked<const M: usize>(film_m_s: f64, strength: f64, fourier: f64, steps: usize) -> (f64, f64) {
        let l_m = GEL.thickness_m;
        let sheet = sheet::sheet::<M>(l_m, GEL.diffusivity_m2_s, 7776.0, 1.0);
        let soaking = soaking(&GEL, &sheet);
        let liquid = Liquid { strength, film_m_s, t_k: 300.0, heat_w_m2k: 0.0 };
        let (mut state, mut salt) = (sheet::uniform::<M>(300.0, 1080.0 * 0.7), fresh_salt());
        let end_s = fourier * l_m * l_m / GEL.bath.salt_diffusivity_m2_s;
        let edge = |i: usize| end_s * (i as f64 / steps as f64) * (i as f64 / steps as f64);
        for i in 0..steps {
            soak(&soaking, &liquid, &mut state, &mut salt, edge(i + 1) - edge(i));
        }
        (salt.left_m / l_m, -state.evaporated_kg_m2 / (LIQUID_WATER_KG_M3 * l_m))
    }

    /// Mean share left in a plane sheet whose face is kept at 0: Σ 8 e^(-(n+½)²π²τ) / ((2n+1)²π²).
    fn left(fourier: f64) -> f64 {
        let root = |n: usize| (n as f64 + 0.5) * PI;
        (0..200).map(|n| 2.0 / (root(n) * root(n)) * libm::exp(-root(n) * root(n) * fourier)).sum()
    }

    /// With the face at s_bath, both fields in cosines of (n + ½)π: the mean of e is
    /// e_network [1 - F(D_c)] + S (1 - s_bath) D_c/(D_c - D_s) [F(D_s) - F(D_c)], F(D) the share left at D t/L².
    fn gained_in_closed_form(strength: f64, fourier: f64) -> f64 {
        let Bath { salt_diffusivity_m2_s: salt, swelling_diffusivity_m2_s: swelling, .. } = GEL.bath;
        let (slow, fast) = (left(fourier), left(fourier * swelling / salt));
        let osmotic = GEL.bath.osmotic_volume_strain * (1.0 - strength) * swelling / (swelling - salt);
        GEL.bath.network_volume_strain * (1.0 - fast) + osmotic * (slow - fast)
    }

    /// Crank 1975, section 4.3.6 (a film at the face) and section 4.3.2 (none, last column), evaluated with mpmath.
    /// The bath keeps half the salts. 128 cells and 512 steps: 6e-5 covers the smallest
    /// time and the thinnest film, where the front is thirteen cells deep.
    #[test]
    fn val_salts_leave_a_plane_sheet_through_a_film() {
        let table = [
            (0.01, [0.000992527172976, 0.00929489667868, 0.0555962743251, 0.11283791671]),
            (0.1, [0.00976702316481, 0.0804032525006, 0.273882278841, 0.356823400452]),
            (0.5, [0.0474260147618, 0.318895434553, 0.684983732852, 0.763950330744]),
            (1.0, [0.0924129205911, 0.529602751135, 0.88650435888, 0.931259678463]),
            (2.0, [0.176111147294, 0.775605996171, 0.985266925735, 0.994170478926]),
        ];
        for (fourier, row) in table {
            for (biot, share) in [0.1, 1.0, 10.0, f64::INFINITY].into_iter().zip(row) {
                let film_m_s = biot * GEL.bath.salt_diffusivity_m2_s / GEL.thickness_m;
                let (out, _) = soaked::<129>(film_m_s, 0.5, fourier, 512);
                assert!((out / 0.5 - share).abs() < 6e-5, "L {biot} τ {fourier}: {out}, {share}");
            }
        }
    }

    /// The closed form of both fields, from before the swelling has reached the tray to when the salts are gone: within
    /// 2e-4 of S, that of the mesh at the smallest time.
    #[test]
    fn val_water_follows_the_salts_in_closed_form() {
        for strength in [0.0, 0.4, 3.0] {
            for fourier in [0.005, 0.02, 0.1, 0.5, 2.0] {
                let (_, got) = soaked::<129>(f64::INFINITY, strength, fourier, 512);
                let exact = gained_in_closed_form(strength, fourier);
                assert!((got - exact).abs() < 2e-4 * 0.03, "s {strength} τ {fourier}: {got}, {exact}");
            }
        }
    }

    /// Cells and steps halved together: the error of both fields falls fourfold, to below 1e-3.
    #[test]
    fn conv_both_fields_second_order() {
        let (salt, water) = (1.0 - left(0.3), gained_in_closed_form(0.0, 0.3));
        let error = |(got_salt, got_water): (f64, f64)| [got_salt - salt, (got_water - water) / 0.03];
        let errors = [
            error(soaked::<17>(f64::INFINITY, 0.0, 0.3, 32)),
            error(soaked::<33>(f64::INFINITY, 0.0, 0.3, 64)),
            error(soaked::<65>(f64::INFINITY, 0.0, 0.3, 128)),
        ];
        for pair in errors.windows(2) {
            for (coarse, fine) in pair[0].iter().zip(pair[1]) {
                let order = libm::log2(coarse / fine);
                assert!((1.8..2.2).contains(&order), "order {order}: {errors:?}");
            }
        }
        assert!(errors[2].iter().all(|e| e.abs() < 1e-3), "{errors:?}");
    }
}
