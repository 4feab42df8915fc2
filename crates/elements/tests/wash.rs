//! A layer of which only a wash next to the die shrinks: closed form, meshes, and what the condensed table makes of it.

use elements::condense::{CHECKED_MESH, Draw, MARGIN_MM, SEEDS, solved};
use elements::die::{Fineness, Means, Tapered, tapered};
use elements::mesh::{Mesh, Toward, graded, joined};
use elements::solve::{Conditions, Material, solve};
use elements::wash::{ByDepth, tapered_by_depth};
use kernel::response::{Die, Displacement, gains, in_domain, step_profile};

const STRAIN: f64 = 0.002;
const SHARES: [f64; 3] = [0.1, 0.2, 0.4];
const MESH: Fineness = Fineness { layers: 3, even: 1 };

/// One solve of a die in a rigid tray for a wash of each of the shares; um.
fn washed(die: &Tapered, fineness: Fineness) -> Vec<Means> {
    let step = |share: f64| move |x: f64| if x < share { STRAIN * 1e3 } else { 0.0 };
    let [thin, middle, thick] = SHARES.map(step);
    let shrinkage: [ByDepth; 3] = [&thin, &middle, &thick];
    tapered_by_depth(die, &shrinkage, &SHARES, MARGIN_MM, fineness).expect("the die is held")
}

fn dies(count: usize) -> Vec<Tapered> {
    let coarse = Fineness { layers: 1, even: 1 };
    solved(SEEDS[2], count, Draw::Even, coarse)
        .expect("dies of the domain")
        .iter()
        .map(|s| Tapered { grip: 1.0, ..s.die })
        .collect()
}

fn measures(u: &Means) -> [f64; 4] {
    [u.wall, u.lower_wall, u.top, u.margin]
}

/// Plane strain with a shrinkage that varies along `r` (Timoshenko & Goodier 1970, section 151, with the tray at `b`):
/// the wall moves by `2 (1 + nu) a int eps r dr / (a^2 + (1 - 2 nu) b^2)`. The pressure jumps within the body; one part
/// in ten thousand is what lines graded towards the jump are asked for.
#[test]
fn val_annulus_of_which_a_wash_shrinks() {
    let (a, b) = (4.0, 7.0);
    for (poisson, share) in [(0.3, 0.1), (0.45, 0.4), (0.4999, 0.2), (0.5, 0.4)] {
        let c = a + share * (b - a);
        let r = joined(&[graded(a, c, Toward::Both, 8, 1), graded(c, b, Toward::Both, 8, 1)]);
        let mesh = Mesh::new(&r, &[0.0, 0.5], |_| true, |x| x);
        let mut conditions = Conditions::default();
        conditions.hold(&mesh.edges_where(|e| !e.upright), 1);
        conditions.hold(&mesh.edges_where(|e| e.middle[0] == b), 0);
        let layer = Material { shear: 1.0, poisson, mixed: true };
        let step = |x: [f64; 2]| if x[0] < c { STRAIN } else { 0.0 };
        let fields = solve(&mesh, |_| layer, &conditions, &[&step]).unwrap();
        let wall = mesh.straight.iter().position(|&x| x == [a, 0.0]).unwrap();
        let exact = (1.0 + poisson) * a * STRAIN * (c * c - a * a) / (a * a + (1.0 - 2.0 * poisson) * b * b);
        let error = fields[0].u[wall][0] / exact - 1.0;
        assert!(error.abs() < 1e-4, "nu {poisson}, share {share}: {error:e}");
    }
}

/// Without a jump it is the tapered die, to the rounding of another factorisation.
#[test]
fn without_a_jump_it_is_the_tapered_die() {
    for die in dies(3) {
        let want = tapered(&die, MARGIN_MM, CHECKED_MESH).unwrap();
        let got =
            tapered_by_depth(&die, &[&|_| 1.0, &|x| x, &|x| (-6.0 * x).exp()], &[], MARGIN_MM, CHECKED_MESH);
        for (got, want) in got.unwrap().iter().zip(&want) {
            for (g, w) in measures(got).iter().zip(measures(want)) {
                assert!((g - w).abs() < 1e-9, "{g} for {w}");
            }
        }
    }
}

/// The mesh of these tests is within 0.03 um of a far finer one.
#[test]
fn conv_mesh_of_a_wash() {
    for die in dies(3) {
        let fine = washed(&die, Fineness { layers: 5, even: 2 });
        for (got, want) in washed(&die, MESH).iter().zip(&fine) {
            for (g, w) in measures(got).iter().zip(measures(want)) {
                assert!((g - w).abs() < 0.03, "{g} for {w}, {die:?}");
            }
        }
    }
}

/// Dies drawn from the domain with a wash of a tenth, a fifth and two fifths of the layer that alone shrinks, 0.2 %:
/// `step_profile` and the table against full solves. Allowed are 0.25 um for wall and lower wall, 0.5 um for the top and
/// 0.6 um for the margin, of up to 5, 3, 14 and 19 um: the greatest errors over 200 dies were 0.22, 0.19, 0.48 and 0.56 um. An
/// even strain of the same mean errs by up to 15 um.
#[test]
fn val_wash_against_full_solves() {
    let allowed = [0.25, 0.25, 0.5, 0.6];
    let (mut worst, mut largest) = ([0.0_f64; 4], [0.0_f64; 4]);
    for solved in dies(24) {
        let die = Die {
            radius_m: solved.radius * 1e-3,
            height_m: solved.height * 1e-3,
            half_angle_rad: solved.half_angle_rad,
            relief_m: solved.relief * 1e-3,
            ceiling_m: solved.ceiling * 1e-3,
            poisson: solved.poisson,
            hold: 1.0,
            tray_yield: 0.0,
        };
        assert!(in_domain(&die), "{die:?}");
        let gains = gains(&die, 1.0);
        for (share, want) in SHARES.iter().zip(washed(&solved, MESH)) {
            let u: Displacement = gains.displacement(&step_profile(*share).map(|c| c * STRAIN), 0.0);
            let got = [u.wall_m, u.lower_wall_m, u.top_m, u.margin_m].map(|u| u * 1e6);
            for (k, (got, want)) in got.iter().zip(measures(&want)).enumerate() {
                let error = (got - want).abs();
                worst[k] = worst[k].max(error);
                largest[k] = largest[k].max(want.abs());
                assert!(error < allowed[k], "measure {k}, share {share}: {got} um for {want}, {solved:?}");
            }
        }
    }
    println!("greatest errors {worst:.3?} um of up to {largest:.1?}");
}

/// A jump outside the layer is refused by name.
#[test]
fn refusals() {
    for jumps in [[0.5, 0.5], [0.5, 1.0], [0.0, 0.5], [f64::NAN, 0.5]] {
        let text = tapered_by_depth(&dies(1)[0], &[], &jumps, MARGIN_MM, MESH).unwrap_err().to_string();
        assert!(text.contains("depth of a jump"), "{text}");
    }
}
