//! Gels in a liquid between removal and pouring.

use super::*;
use crate::holding::walk::Held;

/// 3 mm with salts of 5e-10 m²/s that draw in 3 % and a network that contracts by 1.5 %.
const SALTY: Gel = Gel {
    thickness_m: 3e-3,
    water_fraction: 0.7,
    syneresis_tau_s: 3e4,
    bath: Bath {
        salt_diffusivity_m2_s: 5e-10,
        swelling_diffusivity_m2_s: 2e-8,
        osmotic_volume_strain: 0.03,
        network_volume_strain: -0.015,
        salt_fraction: 0.02,
    },
    ..ALGINATE
};

fn wet(duration_s: f64, strength: f64, supply_kg_m2: f64) -> Segment {
    let exposure = Exposure::Wet { strength, supply_kg_m2 };
    Segment { duration_s, air_t_k: ROOM_K, relative_humidity: 0.95, exposure }
}

fn bath(duration_s: f64, strength: f64) -> Segment {
    wet(duration_s, strength, f64::INFINITY)
}

fn thick(gel: &Gel, thickness_m: f64) -> Gel {
    Gel { thickness_m, ..*gel }
}

fn with_bath(change: impl Fn(&mut Bath)) -> Gel {
    let mut gel = SALTY;
    change(&mut gel.bath);
    gel
}

fn water_gained(gel: &Gel, point: &HoldPoint) -> f64 {
    -point.evaporated_kg_m2 / (LIQUID_WATER_KG_M3 * gel.thickness_m)
}

/// Intercept and slope of a least-squares line, and the greatest distance from it as a share of its rise.
fn line<const N: usize>(x: [f64; N], y: [f64; N]) -> (f64, f64, f64) {
    let mean = |v: &[f64; N]| v.iter().sum::<f64>() / N as f64;
    let (mean_x, mean_y) = (mean(&x), mean(&y));
    let product: f64 = (0..N).map(|i| (x[i] - mean_x) * (y[i] - mean_y)).sum();
    let square: f64 = x.iter().map(|x| (x - mean_x) * (x - mean_x)).sum();
    let slope = product / square;
    let intercept = mean_y - slope * mean_x;
    let worst = (0..N).fold(0.0_f64, |worst, i| worst.max((y[i] - intercept - slope * x[i]).abs()));
    (intercept, slope, worst / (slope * (x[N - 1] - x[0])).abs())
}

/// The mass against the square root of the time, 10 to 120 min in water.
fn mass_line(gel: &Gel, factor: f64) -> (f64, f64, f64) {
    let times_s: [f64; 12] = core::array::from_fn(|i| 600.0 * (i + 1) as f64);
    let mut out = [HoldPoint::default(); 12];
    hold(gel, MOUTH_K, factor, &[bath(1.0, 0.0)], &times_s, &mut out).unwrap();
    line(times_s.map(f64::sqrt), out.map(|point| point.mass_change_fraction))
}

/// With `refine` times as many steps and (M - 1)/8 times as many cells.
fn refined<const M: usize>(segments: &[Segment], refine: f64, t_s: f64) -> HoldPoint {
    let widening = libm::pow(WIDENING, 8.0 / (M - 1) as f64);
    let steps = Steps { first_s: STEPS.first_s / refine, growth: STEPS.growth / refine };
    let mut out = [HoldPoint::default()];
    let course = Course { gel: &SALTY, start_t_k: MOUTH_K, factor: 1.0, segments, steps };
    march::<M>(&course, &sheet_of(&SALTY, widening), &[t_s], &mut out);
    out[0]
}

/// A bath swells the open face first; when the salts have left, the network has contracted evenly.
#[test]
fn profile_follows_the_bath() {
    let [early, late] = held(&SALTY, MOUTH_K, &[bath(1.0, 0.0)], [30.0, 1e7]);
    assert!(early.profile[0] + early.profile[2] < 2.0 * early.volume_strain, "{early:?}");
    assert!(early.volume_strain < 0.0 && early.profile[1] > 0.0, "{early:?}");
    assert!((late.profile[0] - 0.015).abs() < 1e-6 && late.profile[2].abs() < 1e-6, "{late:?}");
}

/// The film of [`hold`] at Biot numbers k L/D_s of 1 and 10 and Fourier numbers of 0.1 to 1: Crank 1975, section
/// 4.3.6. Eight cells leave 0.006.
#[test]
fn val_salts_leave_through_the_film() {
    let gel = Gel { thickness_m: 2.5e-3, bath: Bath { salt_diffusivity_m2_s: 1e-9, ..SALTY.bath }, ..SALTY };
    let times_s = [0.1, 0.5, 1.0].map(|fourier| fourier * 2.5e-3 * 2.5e-3 / 1e-9);
    let table = [
        (0.1, [0.0804032525006, 0.318895434553, 0.529602751135]),
        (1.0, [0.273882278841, 0.684983732852, 0.88650435888]),
    ];
    for (factor, shares) in table {
        let mut out = [HoldPoint::default(); 3];
        hold(&gel, ROOM_K, factor, &[bath(1.0, 0.0)], &times_s, &mut out).unwrap();
        for (point, share) in out.iter().zip(shares) {
            assert!((1.0 - point.salt_share - share).abs() < 6e-3, "{factor}: {point:?}, {share}");
        }
    }
}

/// D_c far above D_s: the mean of e is e_network + S (mean s - s_bath) from the first minute on. The lag is of the size
/// of S D_s/D_c = 1e-4 S.
#[test]
fn val_water_in_balance_with_the_salts() {
    let gel = with_bath(|bath| {
        bath.salt_diffusivity_m2_s = 1e-9;
        bath.swelling_diffusivity_m2_s = 1e-5;
    });
    for strength in [0.0, 0.4, 3.0] {
        for point in held(&gel, ROOM_K, &[bath(1.0, strength)], [60.0, 600.0, 3600.0, 36_000.0]) {
            let exact = -0.015 + 0.03 * (point.salt_share - strength);
            let got = water_gained(&gel, &point);
            assert!((got - exact).abs() < 2e-4 * 0.03, "strength {strength}: {got}, {exact}");
        }
    }
}

/// Without salts that draw water the network alone moves: a plane sheet whose face is kept at e_network (Crank 1975,
/// section 4.3.2, evaluated with mpmath). Eight cells leave 0.007.
#[test]
fn val_network_follows_a_plane_sheet() {
    let gel = with_bath(|bath| bath.osmotic_volume_strain = 0.0);
    let times_s = [0.1, 0.5, 1.0, 2.0].map(|fourier| fourier * 3e-3 * 3e-3 / 2e-8);
    let shares = [0.356823400452, 0.763950330744, 0.931259678463, 0.994170478926];
    for (point, share) in held(&gel, ROOM_K, &[bath(1.0, 0.0)], times_s).iter().zip(shares) {
        let got = water_gained(&gel, point) / -0.015;
        assert!((got - share).abs() < 7e-3, "{got}, {share}");
    }
}

/// A gel that a bath of half its strength has kept for ten days holds half the salts; dried at 80 % it keeps the water that
/// half of b holds in balance: c = b/2 RH/(1 - RH).
#[test]
fn val_leached_gel_comes_to_balance_with_the_room() {
    let segments = [bath(864_000.0, 0.5), open(1.0, 0.8, 0.5, Face::Up)];
    let [point] = held(&SALTY, ROOM_K, &segments, [1e8]);
    let fresh = 1080.0 * 0.7;
    let kept = 0.5 * fresh * (1.0 / 0.993 - 1.0) * 0.8 / 0.2;
    assert!((point.salt_share - 0.5).abs() < 1e-6);
    assert!((point.surface_water_kg_m3 / kept - 1.0).abs() < 1e-6, "{point:?}, {kept}");
    assert!((point.evaporated_kg_m2 / (3e-3 * (fresh - kept)) - 1.0).abs() < 1e-6, "{point:?}");
}

/// A material without water in a liquid: the exponential with C/(h + h_tray), 240 + 8 W/(m² K), and nothing else.
/// The first step of 2 s leaves a millikelvin.
#[test]
fn val_dry_slab_in_a_bath_cools_exponentially() {
    let gel = Gel { bath: SALTY.bath, ..SILICONE };
    let capacity = 1400.0 * 1300.0 * 5e-3 + 2e-3 * 1180.0 * 1460.0;
    for point in held(&gel, MOUTH_K, &[bath(1.0, 0.0)], [0.0, 10.0, 60.0, 600.0]) {
        let exact = ROOM_K + 12.0 * libm::exp(-point.t_s * (240.0 + 8.0) / capacity);
        assert!((point.temperature_k - exact).abs() < 1e-2, "{point:?}, {exact}");
        assert!(
            point.evaporated_kg_m2 == 0.0 && point.mass_change_fraction == 0.0 && point.salt_share == 1.0
        );
    }
}

/// Halved steps: the errors in water, salts and temperature after 20 min in the room, 10 min in water and 10 min in
/// the room fall fourfold.
#[test]
fn conv_steps_second_order_through_air_and_water() {
    let room = |duration_s| open(duration_s, 0.5, 1.0, Face::Up);
    let cases = [
        (vec![bath(1.0, 0.0)], 900.0),
        (vec![room(1200.0), bath(600.0, 0.0), room(1.0)], 2400.0),
        (vec![bath(600.0, 0.0), room(600.0), bath(1.0, 0.3)], 2400.0),
    ];
    for (segments, t_s) in cases {
        let run = |refine| refined::<9>(&segments, refine, t_s);
        let exact = run(256.0);
        let error = |refine| {
            let point = run(refine);
            let water = (point.evaporated_kg_m2 - exact.evaporated_kg_m2) / 0.1;
            [water, point.salt_share - exact.salt_share, point.temperature_k - exact.temperature_k]
        };
        let errors = [error(4.0), error(8.0), error(16.0)];
        for pair in errors.windows(2) {
            for (coarse, fine) in pair[0].iter().zip(pair[1]).filter(|(coarse, _)| coarse.abs() > 1e-9) {
                let order = libm::log2(coarse / fine);
                assert!((1.7..2.3).contains(&order), "{t_s} s: order {order}, {errors:?}");
            }
        }
        assert!(errors[2].iter().all(|e| e.abs() < 1e-4), "{errors:?}");
        assert!(error(1.0).iter().all(|e| e.abs() < 3e-3), "{:?}", error(1.0));
    }
}

/// Halved cells: the water and the salts after an hour in water converge at second order; eight cells leave 1 %
/// of S and of the salts.
#[test]
fn conv_cells_second_order_in_a_bath() {
    let run = |point: HoldPoint| [point.volume_strain / 0.03, point.salt_share];
    let segments = [bath(1.0, 0.0)];
    let seen = [
        run(refined::<9>(&segments, 4.0, 3600.0)),
        run(refined::<17>(&segments, 4.0, 3600.0)),
        run(refined::<33>(&segments, 4.0, 3600.0)),
        run(refined::<65>(&segments, 4.0, 3600.0)),
    ];
    for field in 0..2 {
        let order = libm::log2((seen[1][field] - seen[2][field]) / (seen[2][field] - seen[3][field]));
        assert!((1.7..2.3).contains(&order), "order {order}: {seen:?}");
        assert!((seen[0][field] - seen[3][field]).abs() < 0.01, "{seen:?}");
    }
}

/// Larger than fresh after 10 min, smaller after an hour (1.5 mm) or two (3 mm); the salts make it lighter still.
#[test]
fn in_water_it_swells_first_and_shrinks_later() {
    for (thickness_m, late_s) in [(1.5e-3, 3600.0), (3e-3, 7200.0)] {
        let [early, late] = held(&thick(&SALTY, thickness_m), MOUTH_K, &[bath(1.0, 0.0)], [600.0, late_s]);
        assert!(early.volume_strain < -0.003, "{early:?}");
        assert!(late.volume_strain > 0.003, "{late:?}");
        for point in [early, late] {
            let water = -point.volume_strain * LIQUID_WATER_KG_M3 / 1080.0;
            let salts = 0.02 * (point.salt_share - 1.0);
            assert!((point.mass_change_fraction - water - salts).abs() < 1e-14 && salts < -0.003);
        }
    }
}

/// The mass against the square root of the time is a line within 1 % of its rise; it starts above zero and falls.
#[test]
fn the_mass_in_water_follows_the_square_root_of_time() {
    let (intercept, slope, worst) = mass_line(&Gel { syneresis_volume_strain: 0.01, ..SALTY }, 1.0);
    assert!(intercept > 0.01 && slope < 0.0 && worst < 0.01, "{intercept} {slope} {worst}");
}

/// Fick alone would double the slope of half the thickness. Exudation does not know the thickness, and the thinner sheet
/// runs out of salts: both make it less. The film moves the intercept, hardly the slope.
#[test]
fn half_the_thickness_less_than_doubles_the_slope() {
    let ratio = |gel: &Gel, thickness_m: f64, factor| {
        mass_line(&thick(gel, 0.5 * thickness_m), factor).1 / mass_line(&thick(gel, thickness_m), factor).1
    };
    let slow = with_bath(|bath| {
        bath.salt_diffusivity_m2_s = 1.5e-10;
        bath.swelling_diffusivity_m2_s = 1e-7;
    });
    let exuding = Gel { syneresis_volume_strain: 0.01, ..slow };
    let (fick, real) = (ratio(&slow, 3e-3, 20.0), ratio(&exuding, 3e-3, 1.0));
    assert!((1.88..1.95).contains(&fick) && (1.7..1.85).contains(&real), "{fick}, {real}");
    let exuding = Gel { syneresis_volume_strain: 0.01, ..SALTY };
    for thickness_m in [3e-3, 4e-3] {
        let real = ratio(&exuding, thickness_m, 1.0);
        assert!((1.2..1.8).contains(&real), "{thickness_m}: {real}");
    }
}

/// After 10 min; a liquid of the strength of the gel moves no salts and only the network.
#[test]
fn a_stronger_solution_takes_more() {
    let mass = |strength| held(&SALTY, MOUTH_K, &[bath(1.0, strength)], [600.0])[0].mass_change_fraction;
    let masses = [0.0, 0.5, 1.0, 2.0, 4.0].map(mass);
    assert!(masses.windows(2).all(|pair| pair[1] < pair[0] - 1e-3), "{masses:?}");
    let [even] = held(&SALTY, MOUTH_K, &[bath(1.0, 1.0)], [36_000.0]);
    assert!((even.salt_share - 1.0).abs() < 1e-12 && (even.volume_strain - 0.015).abs() < 1e-4, "{even:?}");
}

/// 20 min open and 10 min in water, in either order.
#[test]
fn order_of_room_and_bath_matters() {
    let (air, water) = (open(1200.0, 0.5, 0.0, Face::Unknown), bath(600.0, 0.0));
    let [open_first] = held(&SALTY, MOUTH_K, &[air, water], [1800.0]);
    let [water_first] = held(&SALTY, MOUTH_K, &[Segment { duration_s: 600.0, ..water }, air], [1800.0]);
    let apart = water_first.volume_strain - open_first.volume_strain;
    assert!(apart > 0.005, "{open_first:?} {water_first:?}");
}

/// A gel that lost water in the room drinks that too; a gel that drank first dries from there.
#[test]
fn a_dried_gel_drinks_more() {
    let air = open(1200.0, 0.5, 0.0, Face::Unknown);
    let [dried, after] = held(&SALTY, MOUTH_K, &[air, bath(1.0, 0.0)], [1200.0, 3000.0]);
    let [fresh] = held(&SALTY, MOUTH_K, &[bath(1.0, 0.0)], [1800.0]);
    let drunk = dried.evaporated_kg_m2 - after.evaporated_kg_m2;
    assert!(drunk > -fresh.evaporated_kg_m2 + 0.9 * dried.evaporated_kg_m2, "{drunk} {fresh:?}");
    let [soaked, dry] = held(&SALTY, MOUTH_K, &[bath(600.0, 0.0), air], [600.0, 1800.0]);
    assert!(dry.evaporated_kg_m2 > soaked.evaporated_kg_m2 + 0.02, "{soaked:?} {dry:?}");
}

/// At the humidity of its own activity a fresh gel stays as it is; one whose salts water has taken dries.
#[test]
fn a_leached_gel_dries_where_a_fresh_one_does_not() {
    let bag = sealed(1e4, 0.993);
    let [fresh] = held(&SALTY, ROOM_K, &[bag], [1e4]);
    let [before, after] = held(&SALTY, ROOM_K, &[bath(36_000.0, 0.0), bag], [36_000.0, 46_000.0]);
    let dried = after.evaporated_kg_m2 - before.evaporated_kg_m2;
    assert!(fresh.evaporated_kg_m2.abs() < 1e-12 && dried > 1e-3, "{fresh:?} {dried}");
}

/// A film of 10 g/m² in a bag is drunk in a minute and the salts stay; from then on the bag alone rules. The volume
/// of 10 g/m² in 3 mm is a third of a per cent.
#[test]
fn a_film_is_drunk_and_the_bag_goes_on() {
    let [soon, drunk, later] = held(&SALTY, ROOM_K, &[wet(1.0, 0.0, 0.01)], [0.5, 60.0, 3600.0]);
    assert!(soon.evaporated_kg_m2 < 0.0 && soon.evaporated_kg_m2 > drunk.evaporated_kg_m2);
    assert!((drunk.evaporated_kg_m2 + 0.01).abs() < 1e-4, "{drunk:?}");
    let [none, dry] = held(&SALTY, ROOM_K, &[sealed(1.0, 0.95)], [60.0, 3600.0]);
    let apart =
        (later.evaporated_kg_m2 - drunk.evaporated_kg_m2) / (dry.evaporated_kg_m2 - none.evaporated_kg_m2);
    assert!((0.9..1.2).contains(&apart), "{apart}");
    assert!(drunk.salt_share == 1.0 && later.salt_share == 1.0);
    let [without] = held(&SALTY, ROOM_K, &[wet(1.0, 0.0, 0.0)], [3600.0]);
    assert_eq!(without, dry);
}

#[test]
fn output_times_do_not_move_a_bath() {
    let segments = [bath(600.0, 0.0), open(600.0, 0.5, 0.0, Face::Up), wet(1.0, 0.5, 0.02)];
    let few = held(&SALTY, MOUTH_K, &segments, [0.0, 5000.0]);
    let many = held(&SALTY, MOUTH_K, &segments, [0.0, 0.5, 600.0, 601.0, 1200.0, 1230.0, 5000.0]);
    assert_eq!((few[0], few[1]), (many[0], many[6]));
}

#[test]
fn errors_name_what_a_bath_allows() {
    let said = |gel: &Gel, segments: &[Segment]| {
        let mut out = [HoldPoint::default()];
        hold(gel, MOUTH_K, 1.0, segments, &[1.0], &mut out).unwrap_err().to_string()
    };
    assert_eq!(
        said(&SALTY, &[sealed(1.0, 1.0), bath(1.0, 21.0)]),
        "segment 1: strength is 21, allowed are 0 to 20"
    );
    assert!(said(&SALTY, &[wet(1.0, 0.0, f64::NAN)]).contains("segment 0: supply_kg_m2 is NaN"));
    let fast = with_bath(|bath| bath.swelling_diffusivity_m2_s = 1e-4);
    assert!(said(&fast, &[bath(1.0, 0.0)]).starts_with("swelling_diffusivity_m2_s is 0.0001, allowed are"));
    let strong = with_bath(|bath| bath.osmotic_volume_strain = 0.1);
    assert!(said(&strong, &[bath(1.0, 10.0)]).starts_with("segment 0: volume strain in the liquid is -0.9"));
}

fn any_bath() -> impl Strategy<Value = Bath> {
    (1e-10..3e-9f64, 1e-9..1e-7f64, -0.05..0.05f64, -0.05..0.05f64, 0.0..0.1f64).prop_map(
        |(salt_diffusivity_m2_s, swelling_diffusivity_m2_s, osmotic, network, salt_fraction)| Bath {
            salt_diffusivity_m2_s,
            swelling_diffusivity_m2_s,
            osmotic_volume_strain: osmotic,
            network_volume_strain: network,
            salt_fraction,
        },
    )
}

/// A gel that a liquid enters, or a dry material.
fn any_wet_gel() -> impl Strategy<Value = Gel> {
    (any_gel(), any_bath(), prop_oneof![Just(0.0), 0.5..0.9f64]).prop_map(|(gel, bath, water_fraction)| Gel {
        bath,
        water_fraction,
        ..gel
    })
}

fn any_segment_or_liquid() -> impl Strategy<Value = Segment> {
    let supply = prop_oneof![Just(f64::INFINITY), Just(0.0), 1e-4..0.3f64];
    let liquid = (any_segment(), 0.0..4.0f64, supply).prop_map(|(segment, strength, supply_kg_m2)| Segment {
        exposure: Exposure::Wet { strength, supply_kg_m2 },
        ..segment
    });
    prop_oneof![any_segment(), liquid]
}

proptest! {
    /// Water, salts and heat that the cells lost have left, through any sequence: to 1e-10 of what there was.
    #[test]
    fn prop_water_salts_and_heat_balance(
        gel in any_wet_gel(), segments in prop::collection::vec(any_segment_or_liquid(), 1..6),
        start_t_k in 290.0..312.0f64, factor in 0.3..3.0f64, t_s in 0.0..200_000.0f64,
    ) {
        let sheet: Sheet<PLACES> = sheet_of(&gel, WIDENING);
        let mut out = [HoldPoint::default()];
        let course = Course { gel: &gel, start_t_k, factor, segments: &segments, steps: STEPS };
        let Held { state, salt, .. } = march(&course, &sheet, &[t_s], &mut out);
        let fresh = gel.rho_kg_m3 * gel.water_fraction;
        let lost: f64 = (1..PLACES).map(|i| sheet.capacity[i] * (fresh - state.u[i])).sum();
        prop_assert!((lost - state.evaporated_kg_m2).abs() <= 1e-10 * fresh * gel.thickness_m);
        let lost: f64 = (1..PLACES).map(|i| sheet.capacity[i] * (1.0 - salt.share[i])).sum();
        prop_assert!((lost - salt.left_m).abs() <= 1e-10 * gel.thickness_m);
        let cooled = sheet.capacity[0] * (start_t_k - state.u[0]);
        let scale = state.latent_j_m2.abs() + state.heat_j_m2.abs() + sheet.capacity[0];
        prop_assert!((cooled - state.latent_j_m2 - state.heat_j_m2).abs() <= 1e-10 * scale);
    }

    /// Finite and within bounds for any sequence: the salts stay between the strengths they met, a step's overshoot
    /// to spare.
    #[test]
    fn prop_finite_through_any_sequence(
        gel in any_wet_gel(), segments in prop::collection::vec(any_segment_or_liquid(), 1..6),
        start_t_k in 290.0..312.0f64, factor in 0.3..3.0f64, t_s in 0.0..2e6f64,
    ) {
        let mut out = [HoldPoint::default(); 2];
        hold(&gel, start_t_k, factor, &segments, &[0.5 * t_s, t_s], &mut out).unwrap();
        let strongest = segments.iter().fold(1.0_f64, |most, segment| match segment.exposure {
            Exposure::Wet { strength, .. } => most.max(strength),
            _ => most,
        });
        for point in out {
            let all = gel.rho_kg_m3 * gel.water_fraction * gel.thickness_m;
            prop_assert!(point.evaporated_kg_m2 <= all * 1.02, "{point:?}");
            prop_assert!(point.evaporated_kg_m2.is_finite() && point.surface_water_kg_m3 >= 0.0);
            prop_assert!(point.volume_strain.is_finite() && point.mass_change_fraction.is_finite());
            prop_assert!((-0.01..=strongest + 0.01).contains(&point.salt_share), "{point:?}");
            prop_assert!((240.0..345.0).contains(&point.temperature_k), "{point:?}");
            prop_assert!(gel.water_fraction > 0.0 || (point.salt_share == 1.0 && point.evaporated_kg_m2 == 0.0));
        }
    }

    /// At no time has the gel drunk more than the film held; with the film gone a dry bag gives nothing.
    #[test]
    fn prop_a_finite_supply_is_never_exceeded(
        gel in any_wet_gel(), supply_kg_m2 in 0.0..0.2f64, strength in 0.0..2.0f64, t_s in 0.1..20_000.0f64,
    ) {
        let times_s: [f64; 8] = core::array::from_fn(|i| t_s * ((i + 1) as f64) / 8.0);
        let segment = Segment { relative_humidity: 0.5, ..wet(1.0, strength, supply_kg_m2) };
        for point in held(&gel, ROOM_K, &[segment], times_s) {
            prop_assert!(point.evaporated_kg_m2 >= -supply_kg_m2 * (1.0 + 1e-12), "{point:?}");
        }
    }

    /// Sequences without a liquid do not read the coefficients of the bath.
    #[test]
    fn prop_a_gel_that_met_no_liquid_does_not_know_the_bath(
        gel in any_gel(), bath in any_bath(), segments in prop::collection::vec(any_segment(), 1..4),
        t_s in 0.0..50_000.0f64,
    ) {
        let [without] = held(&gel, MOUTH_K, &segments, [t_s]);
        let [with] = held(&Gel { bath, ..gel }, MOUTH_K, &segments, [t_s]);
        prop_assert_eq!(with, without);
    }
}

/// What a liquid took and what the air took are the two ways through the face: in a bath all goes one way, in air all the other, and what the
/// bath took stays on its account while the air goes on.
#[test]
fn prop_each_water_counts_for_the_way_it_went() {
    let segments = [open(300.0, 0.5, 0.0, Face::Up), bath(600.0, 0.0), open(600.0, 0.5, 0.0, Face::Up)];
    let [aired, soaked, later] = held(&SALTY, MOUTH_K, &segments, [300.0, 900.0, 1500.0]);
    assert!(aired.to_liquid_kg_m2 == 0.0 && aired.evaporated_kg_m2 > 0.0);
    let in_bath = soaked.evaporated_kg_m2 - aired.evaporated_kg_m2;
    assert!((soaked.to_liquid_kg_m2 - in_bath).abs() < 1e-12 && in_bath < 0.0, "{soaked:?}");
    assert_eq!(later.to_liquid_kg_m2, soaked.to_liquid_kg_m2);
    let [only] = held(&SALTY, MOUTH_K, &[bath(1.0, 0.0)], [600.0]);
    assert!((only.to_liquid_kg_m2 - only.evaporated_kg_m2).abs() < 1e-12, "{only:?}");
}
