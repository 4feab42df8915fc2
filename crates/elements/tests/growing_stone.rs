//! A stone that grows in the held layer, against the closed form of what the layer pushes back with.

use elements::mesh::{Mesh, Toward, graded, joined};
use elements::solve::{Conditions, Material, solve};
use kernel::stone_growth::Backing;

const STRAIN: f64 = 1e-3;
/// Modulus of the stone over that of the rubber: stiff enough to let most through, soft enough to show the rest.
const STONE: f64 = 1e4;

/// Radius and height of the die, relief beside and above it, mm.
const DIES: [[f64; 4]; 7] = [
    [4.0, 5.0, 3.0, 3.0],
    [4.0, 5.0, 1.5, 3.0],
    [4.0, 5.0, 6.0, 3.0],
    [4.0, 5.0, 3.0, 6.0],
    [4.0, 8.0, 3.0, 3.0],
    [2.5, 5.0, 3.0, 3.0],
    [4.0, 5.0, 2.0, 1.5],
];

/// Stiffness of the layer against the growth of the die's radius, in units of the modulus of the rubber. The stone is free
/// to rise out of the impression, as its cast is; it sticks to the rubber. Growth of the stone is the same as contraction of
/// everything else, seen from a frame that shrinks along.
fn stiffness([a, height, relief, ceiling]: [f64; 4], poisson: f64, bonded: bool) -> f64 {
    let (b, lid) = (a + relief, height + ceiling);
    let r = joined(&[graded(0.0, a, Toward::End, 6, 1), graded(a, b, Toward::Both, 6, 1)]);
    let z = joined(&[graded(0.0, height, Toward::Both, 6, 1), graded(height, lid, Toward::Start, 6, 1)]);
    let mesh = Mesh::new(&r, &z, |_| true, |x| x);
    let mut conditions = Conditions::default();
    for edge in mesh.edges_where(|e| e.middle[0] == b || e.middle[1] == lid) {
        for node in edge.nodes {
            let at = mesh.straight[node];
            // A tray that slips holds what presses on it and nothing along it.
            for (component, face) in [(0, b), (1, lid)] {
                if bonded || at[component] == face {
                    conditions.fixed.push((node, component, -STRAIN * at[component]));
                }
            }
        }
    }
    conditions.hold(&mesh.edges_where(|e| e.middle[0] == 0.0), 0);
    let is_stone = |element: usize| {
        let middle = mesh.straight[mesh.elements[element][4]];
        middle[0] < a && middle[1] < height
    };
    let material = |element: usize| match is_stone(element) {
        true => Material { shear: STONE / 2.5, poisson: 0.25, mixed: false },
        false => Material { shear: 0.5 / (1.0 + poisson), poisson, mixed: true },
    };
    let fields = solve(&mesh, material, &conditions, &[&|_| STRAIN]).expect("the layer is held");
    let mut wall: Vec<(f64, f64)> = mesh
        .straight
        .iter()
        .zip(&fields[0].u)
        .filter(|(at, _)| at[0] == a && at[1] <= height)
        .map(|(at, u)| (at[1], u[0]))
        .collect();
    wall.sort_by(|p, q| p.0.total_cmp(&q.0));
    let area: f64 = wall.windows(2).map(|w| 0.5 * (w[1].0 - w[0].0) * (w[0].1 + w[1].1)).sum();
    let out = 1.0 + area / height / (STRAIN * a);
    STONE * (1.0 / out - 1.0)
}

/// The closed form is a strip between rigid faces (Gent & Lindley), with the open length of a tray; the die is a ring that is closed at
/// one end. It keeps within a factor of two, and the middle of the factors is what the rows `stone.restraint` start from.
#[test]
fn val_backing_of_a_growing_die() {
    let (mut low, mut high, mut sum, mut count) = (f64::INFINITY, 0.0_f64, 0.0, 0.0);
    for poisson in [0.45, 0.47, 0.49, 0.4999] {
        for die in DIES {
            for hold in [0.0, 1.0] {
                let [radius_m, height_m, thickness_m, _] = die;
                let form = Backing { modulus_pa: 1.0, poisson, thickness_m, radius_m, height_m, hold }
                    .stiffness_pa();
                let factor = stiffness(die, poisson, hold == 1.0) / form;
                assert!((0.6..2.0).contains(&factor), "{die:?}, {poisson}, held {hold}: {factor}");
                if hold == 1.0 {
                    low = low.min(factor);
                    high = high.max(factor);
                    sum += factor.ln();
                    count += 1.0;
                }
            }
        }
    }
    let middle = (sum / count).exp();
    assert!((1.15..1.35).contains(&middle), "from {low} to {high}, middle {middle}");
}
