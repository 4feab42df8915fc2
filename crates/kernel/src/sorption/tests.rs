use super::*;
use crate::response::{mean, project};
use crate::tridiagonal;
use proptest::prelude::*;

/// 3 mm, with a tenth of a Fourier number in 90 000 s at 23 °C.
const SHEET: Substance = Substance { thickness_m: 3e-3, diffusivity_m2_s: 1e-11, activation_j_mol: 40_000.0 };
/// One Fourier number of `SHEET` at 23 °C, s.
const UNIT_S: f64 = 9e5;

fn stretch(duration_s: f64, t_k: f64, face: f64) -> Stretch {
    Stretch { duration_s, t_k, face }
}

/// Means of [`content_profile`].
fn mean_content(
    substance: &Substance,
    start: f64,
    stretches: &[Stretch],
    times_s: &[f64],
    out: &mut [f64],
) -> Result<(), SorptionError> {
    let mut profiles = vec![[f64::NAN; PROFILES]; out.len()];
    content_profile(substance, start, stretches, times_s, &mut profiles)?;
    for (out, profile) in out.iter_mut().zip(&profiles) {
        *out = mean(profile);
    }
    Ok(())
}

fn at(substance: &Substance, start: f64, stretches: &[Stretch], time_s: f64) -> f64 {
    let mut out = [f64::NAN];
    mean_content(substance, start, stretches, &[time_s], &mut out).unwrap();
    out[0]
}

/// Crank 1975, equation 4.18, at 40 digits by another program; the table is printed to 12 figures.
#[test]
fn val_share_lost() {
    let table = [
        (0.01, 0.11283791671),
        (0.1, 0.356823400452),
        (0.5, 0.763950330744),
        (1.0, 0.931259678463),
        (2.0, 0.994170478926),
    ];
    for (fourier, share) in table {
        assert!((share_lost(fourier) - share).abs() < 1e-12, "{fourier}");
        let left = at(&SHEET, 1.0, &[stretch(1.0, T_REF_K, 0.0)], fourier * UNIT_S);
        assert!((1.0 - left - share).abs() < 1e-12, "{fourier}");
    }
    // Close to the crossover on both sides, same source, 16 figures.
    assert!((share_lost(0.0299) - 0.1951149978540383).abs() < 5e-16);
    assert!((share_lost(0.0301) - 0.1957664687747327).abs() < 5e-16);
}

/// Crank 1975, equation 4.20, of which the first term alone is left at small times: the next is e^(-1/F).
/// Uptake in real units: 2 c √(D t/π)/L. What is left over is rounding.
#[test]
fn val_square_root_of_time() {
    for fourier in [1e-9, 1e-7, 1e-5, 1e-3, 1e-2] {
        let time_s = fourier * UNIT_S;
        let uptake = at(&SHEET, 0.0, &[stretch(0.0, T_REF_K, 0.7)], time_s);
        let law = 0.7 * 2.0 * (1e-11 * time_s / PI).sqrt() / 3e-3;
        assert!((uptake / law - 1.0).abs() < 1e-14, "{fourier}: {uptake} {law}");
    }
}

/// Crank 1975, equation 4.18, of which the first term alone is left at long times: 8/π² exp(-π² F/4). The
/// second is 8e-19 of it at F = 2; rounding of the mean is 1e-16 of the start, 2e-13 of what is left at
/// F = 3.
#[test]
fn val_long_times() {
    let square = PI * PI;
    for fourier in [2.0, 2.5, 3.0] {
        let left = at(&SHEET, 1.0, &[stretch(0.0, T_REF_K, 0.0)], fourier * UNIT_S);
        let law = 8.0 / square * libm::exp(-0.25 * square * fourier);
        assert!((left / law - 1.0).abs() < 2e-12, "{fourier}: {left} {law}");
    }
}

/// D(T)/D_ref at 40 kJ/mol by another program, 12 figures: the hot sheet loses what the cool one loses in
/// that much more time.
#[test]
fn val_arrhenius() {
    for (t_k, ratio) in [(278.15, COLD), (310.15, WARM)] {
        let here = at(&SHEET, 1.0, &[stretch(0.0, t_k, 0.0)], 0.1 * UNIT_S);
        assert!((1.0 - here - share_lost(0.1 * ratio)).abs() < 1e-11, "{t_k}");
    }
}

const COLD: f64 = 0.349499330095344;
const WARM: f64 = 2.08189973230105;

/// Duration in Fourier numbers at 23 °C, temperature, D over D_ref and face of three stretches.
const ROUTE: [(f64, f64, f64, f64); 3] =
    [(0.02, 310.15, WARM, 0.0), (0.3, 278.15, COLD, 0.4), (0.1, T_REF_K, 1.0, 1.5)];

/// Cells at the ends of `ROUTE` from a content of 1, by finite volumes on N cells and `steps` in each
/// stretch. The face joins the first cell by half a cell; Crank-Nicolson, opened by four half-steps of
/// implicit Euler.
fn cells_by_volumes<const N: usize>(steps: usize) -> [[f64; N]; 3] {
    let mut c = [1.0; N];
    ROUTE.map(|(duration, _, ratio, face)| {
        let r = 0.5 * duration * ratio / steps as f64 * (N * N) as f64;
        let mut diag = [1.0 + 2.0 * r; N];
        diag[0] += r;
        diag[N - 1] -= r;
        let implicit = tridiagonal::factor(&[-r; N], &diag, &[-r; N]);
        for half in 0..2 * steps {
            if half >= 4 && half % 2 == 0 {
                let old = c;
                for i in 0..N {
                    let before = if i == 0 { 2.0 * (face - old[i]) } else { old[i - 1] - old[i] };
                    let after = if i + 1 == N { 0.0 } else { old[i + 1] - old[i] };
                    c[i] += r * (before + after);
                }
            } else {
                c[0] += 2.0 * r * face;
                implicit.solve(&mut c);
            }
        }
        c
    })
}

fn by_volumes<const N: usize>(steps: usize) -> [f64; 3] {
    cells_by_volumes::<N>(steps).map(|c| c.iter().sum::<f64>() / N as f64)
}

/// Finite volumes as above approach the means with second order, through changing faces and temperatures.
#[test]
fn conv_finite_volumes() {
    let stretches = ROUTE.map(|(duration, t_k, _, face)| stretch(duration * UNIT_S, t_k, face));
    let ends = [0.02 * UNIT_S, 0.32 * UNIT_S, 0.42 * UNIT_S];
    let mut ours = [0.0; 3];
    mean_content(&SHEET, 1.0, &stretches, &ends, &mut ours).unwrap();
    let meshes = [by_volumes::<50>(100), by_volumes::<100>(200), by_volumes::<200>(400)];
    for end in 0..3 {
        let [coarse, middle, fine] = meshes.map(|means| (means[end] - ours[end]).abs());
        for ratio in [coarse / middle, middle / fine] {
            assert!((3.6..4.4).contains(&ratio), "{end}: {coarse} {middle} {fine}");
        }
        assert!(fine < 1e-5, "{end}: {fine}");
    }
}

/// Coefficients of x and exp(-6 x) in the projection of what is lost: quadrature of the images of erfc in 40 digits
/// (mpmath), on both sides of where one series takes over from the other. 1e-12 is rounding.
#[test]
fn val_profile_lost() {
    let table = [
        (0.0005, [0.2281926887247972, 0.5576066228089875]),
        (0.0069, [0.3101391634938644, 1.178737069510632]),
        (0.0071, [0.3069773175188501, 1.182513926001337]),
        (0.03, [-0.1060731303728487, 1.054635531406103]),
        (0.1, [-0.6020724390860547, 0.5259771227682382]),
        (0.5, [-0.2902205514838698, 0.14441544311603]),
        (2.0, [-0.007167981492920832, 0.00356605020934157]),
    ];
    for (fourier, [linear, front]) in table {
        let got = profile_lost(fourier);
        assert!((got[1] - linear).abs() < 1e-12 && (got[2] - front).abs() < 1e-12, "{fourier}: {got:?}");
    }
    assert_eq!(profile_lost(0.0), [0.0; PROFILES]);
    assert_eq!(profile_lost(f64::INFINITY), [1.0, 0.0, 0.0]);
}

/// Cells of finite volumes, through changing faces and temperatures, projected as cells.
#[test]
fn conv_profile_of_finite_volumes() {
    let stretches = ROUTE.map(|(duration, t_k, _, face)| stretch(duration * UNIT_S, t_k, face));
    let ends = [0.02 * UNIT_S, 0.32 * UNIT_S, 0.42 * UNIT_S];
    let mut ours = [[0.0; PROFILES]; 3];
    content_profile(&SHEET, 1.0, &stretches, &ends, &mut ours).unwrap();
    let coarse = cells_by_volumes::<50>(100).map(|cells| project(&cells));
    let fine = cells_by_volumes::<200>(400).map(|cells| project(&cells));
    for (end, ours) in ours.iter().enumerate() {
        let [coarse, fine] = [coarse[end], fine[end]]
            .map(|got| (0..PROFILES).fold(0.0, |worst: f64, k| worst.max((got[k] - ours[k]).abs())));
        assert!((12.0..20.0).contains(&(coarse / fine)) && fine < 2e-4, "{end}: {coarse} {fine}");
    }
}

/// The inputs that are refused, each named.
#[test]
fn prop_refusals() {
    let good = stretch(60.0, T_REF_K, 0.0);
    let refused = |substance: Substance, start: f64, stretches: &[Stretch], times: &[f64]| {
        let mut out = [9.0; 2];
        let error = mean_content(&substance, start, stretches, times, &mut out).unwrap_err();
        assert_eq!(out, [9.0; 2]);
        error.to_string()
    };
    let times = [0.0, 1.0];
    let thin = Substance { thickness_m: 1e-6, ..SHEET };
    assert_eq!(refused(thin, 1.0, &[good], &times), "thickness_m is 0.000001, allowed are 0.00001 to 0.1");
    let fast = Substance { diffusivity_m2_s: f64::NAN, ..SHEET };
    assert!(refused(fast, 1.0, &[good], &times).starts_with("diffusivity_m2_s is NaN"));
    let steep = Substance { activation_j_mol: -1.0, ..SHEET };
    assert!(refused(steep, 1.0, &[good], &times).starts_with("activation_j_mol is -1"));
    assert!(refused(SHEET, f64::INFINITY, &[good], &times).starts_with("start is inf"));
    let cold = stretch(60.0, 23.0, 0.0);
    assert!(refused(SHEET, 1.0, &[good, cold], &times).starts_with("stretch 1: t_k is 23"));
    let back = stretch(-1.0, T_REF_K, 0.0);
    assert!(refused(SHEET, 1.0, &[back], &times).starts_with("stretch 0: duration_s is -1"));
    let empty = stretch(60.0, T_REF_K, f64::NAN);
    assert!(refused(SHEET, 1.0, &[empty], &times).starts_with("stretch 0: face is NaN"));
    assert!(refused(SHEET, 1.0, &[], &times).starts_with("no stretch given"));
    assert!(refused(SHEET, 1.0, &[good], &[0.0]).starts_with("2 values given for 1 output times"));
    assert!(refused(SHEET, 1.0, &[good], &[2.0, 1.0]).starts_with("output time 1 is 1 s"));
}

/// Small volumes add: a third of the volume per volume, within v²/9 of the cube root.
#[test]
fn prop_linear_strain() {
    for mass_share in [-0.01, -0.004, 0.0, 0.01] {
        let volume = mass_share * 1500.0 / 789.0;
        let strain = linear_strain(mass_share, 1500.0, 789.0);
        let root = libm::cbrt(1.0 + volume) - 1.0;
        assert!((strain - root).abs() <= volume * volume / 8.0, "{mass_share}");
    }
}

fn stretches() -> impl Strategy<Value = Vec<Stretch>> {
    let one = (0.0..2e5f64, 278.15..320.0f64, -2.0..2.0f64);
    prop::collection::vec(one.prop_map(|(duration, t_k, face)| stretch(duration, t_k, face)), 1..6)
}

proptest! {
    /// Eigenmodes of the sheet, 3000 of them, each relaxing to the face of the stretch: another road to
    /// the same means. Modes beyond are at the last face within rounding after 3e3 s.
    #[test]
    fn prop_equals_the_modes(start in -2.0..2.0f64, route in stretches(), after_s in 3e3..1e6f64) {
        let mut end_s = after_s;
        for stretch in &route[..route.len() - 1] {
            end_s += stretch.duration_s;
        }
        let last_face = route[route.len() - 1].face;
        let mut mean = last_face;
        for n in 0..3000 {
            let root = (n as f64 + 0.5) * PI;
            let square = root * root;
            let mut mode = start;
            for (index, stretch) in route.iter().enumerate() {
                let lasts_s = if index + 1 == route.len() { after_s } else { stretch.duration_s };
                let relaxed = libm::exp(-square * fourier_per_s(&SHEET, stretch.t_k) * lasts_s);
                mode = stretch.face + (mode - stretch.face) * relaxed;
            }
            mean += 2.0 / square * (mode - last_face);
        }
        prop_assert!((at(&SHEET, start, &route, end_s) - mean).abs() < 1e-13);
    }

    /// Nothing leaves the range of start and faces.
    #[test]
    fn prop_between_start_and_faces(
        start in -2.0..2.0f64, route in stretches(),
        times in prop::collection::vec(0.0..1e6f64, 1..20),
    ) {
        let mut times = times;
        times.sort_by(f64::total_cmp);
        let mut out = vec![f64::NAN; times.len()];
        mean_content(&SHEET, start, &route, &times, &mut out).unwrap();
        let low = route.iter().fold(start, |low, stretch| low.min(stretch.face));
        let high = route.iter().fold(start, |high, stretch| high.max(stretch.face));
        for mean in out {
            prop_assert!(mean >= low - 1e-14 && mean <= high + 1e-14, "{low} {mean} {high}");
        }
    }

    /// The profile has the mean of the sheet.
    #[test]
    fn prop_profile_has_the_mean(start in -2.0..2.0f64, route in stretches(), time_s in 0.0..1e6f64) {
        let mut out = [[f64::NAN; PROFILES]];
        content_profile(&SHEET, start, &route, &[time_s], &mut out).unwrap();
        let exact = at(&SHEET, start, &route, time_s);
        prop_assert!((mean(&out[0]) - exact).abs() < 1e-13, "{out:?} {exact}");
    }

    /// A stretch is what its two parts are.
    #[test]
    fn prop_parts_of_a_stretch(
        start in -2.0..2.0f64, route in stretches(), which in 0usize..6, part in 0.0..1.0f64,
        time_s in 0.0..1e6f64,
    ) {
        let which = which % route.len();
        let mut parts = route.clone();
        let whole = route[which];
        parts[which].duration_s *= part;
        let rest_s = whole.duration_s - parts[which].duration_s;
        parts.insert(which + 1, Stretch { duration_s: rest_s, ..whole });
        let (whole, split) = (at(&SHEET, start, &route, time_s), at(&SHEET, start, &parts, time_s));
        // Near a change of the face a rounding of the time counts as its square root.
        prop_assert!((whole - split).abs() < 1e-7, "{whole} {split}");
    }

    /// Time goes with the square of the thickness.
    #[test]
    fn prop_thickness(
        start in -2.0..2.0f64, route in stretches(), time_s in 0.0..1e6f64, factor in 0.1..10.0f64,
    ) {
        let thick = Substance { thickness_m: factor * SHEET.thickness_m, ..SHEET };
        let stretched: Vec<_> = route
            .iter()
            .map(|stretch| Stretch { duration_s: stretch.duration_s * factor * factor, ..*stretch })
            .collect();
        let thin = at(&SHEET, start, &route, time_s);
        let thick = at(&thick, start, &stretched, time_s * factor * factor);
        prop_assert!((thin - thick).abs() < 1e-7, "{thin} {thick}");
    }

    /// Damp then dry is not dry then damp, and the later face weighs more.
    #[test]
    fn prop_order_of_stretches(
        start in -2.0..2.0f64, damp in 0.1..2.0f64, first in 0.01..2.0f64, second in 0.01..2.0f64,
        t_k in 278.15..320.0f64,
    ) {
        let wet = stretch(first * UNIT_S, T_REF_K, damp);
        let dry = stretch(second * UNIT_S, t_k, 0.0);
        let end_s = (first + second) * UNIT_S;
        let dried = at(&SHEET, start, &[wet, dry], end_s);
        let wetted = at(&SHEET, start, &[dry, wet], end_s);
        prop_assert!(wetted - dried > 0.02 * damp, "{dried} {wetted}");
        let same = Stretch { face: damp, ..dry };
        let one = at(&SHEET, start, &[wet, same], end_s);
        let other = at(&SHEET, start, &[same, wet], end_s);
        prop_assert!((one - other).abs() < 1e-14, "{one} {other}");
    }

    /// The share rises from 0 to 1, and both series give it where one takes over from the other.
    #[test]
    fn prop_share(fourier in 1e-12..40.0f64, more in 1.001..2.0f64, middle in 0.0285..0.0315f64) {
        let share = share_lost(fourier);
        prop_assert!(share > 0.0 && share <= 1.0);
        prop_assert!(share_lost(fourier * more) >= share);
        prop_assert!((share_by_root(middle) - share_by_modes(middle)).abs() < 1e-15);
        let ends = [0.0, -fourier, f64::INFINITY].map(share_lost);
        prop_assert_eq!(ends, [0.0, 0.0, 1.0]);
    }

    /// More humid is wetter, and the more so the more humid it is.
    #[test]
    fn prop_isotherm(
        saturated in 1e-3..0.5f64, exponent in 1.0..6.0f64, dry in 0.0..0.9f64, step in 1e-3..0.05f64,
    ) {
        let isotherm = Isotherm { saturated, exponent };
        let [low, middle, high] =
            [dry, dry + step, dry + 2.0 * step].map(|activity| isotherm.content(activity));
        prop_assert!(low < middle && middle < high);
        prop_assert!(high - middle >= (middle - low) * (1.0 - 1e-9));
        prop_assert_eq!((isotherm.content(0.0), isotherm.content(1.0)), (0.0, saturated));
    }
}
