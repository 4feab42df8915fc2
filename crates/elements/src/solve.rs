//! A nearly incompressible layer in r, z: axisymmetric displacement and pressure.
//!
//! ```text
//! div(sigma) = 0,  sigma = 2 mu (e + eps I) - p I,  p = -lambda (div u + 3 eps)
//! ```
//!
//! `eps` > 0 is the isotropic linear shrinkage the material would show if it were free. The weak form, weighted with
//! `r`:
//!
//! ```text
//! int 2 mu (e(u) + eps I) : e(v) r - int p div v r + int over springs k u . v r = 0
//! int q (div u + 3 eps + p / lambda) r = 0
//! ```
//!
//! Biquadratic displacement, continuous bilinear pressure (Taylor-Hood; Brezzi & Fortin 1991, section VI.6): third
//! order in the energy, stable at nu = 1/2, where `1/lambda` is zero. A compressible body beside the layer (a tray)
//! is stated in displacement alone, because the pressure jumps between two bodies. Gauss points never lie on the
//! axis. The factors are those of a sparse LU of the `faer` library, on one thread.

use faer::prelude::Solve;
use faer::sparse::{SparseColMat, Triplet};

use crate::ElementsError;
use crate::mesh::{Edge, Mesh};
use crate::shape::{CORNERS, GAUSS_POINTS, GAUSS_WEIGHTS, corners, line, nine};

/// An isotropic linear body.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Material {
    /// Shear modulus, in any unit of stress that springs share.
    pub shear: f64,
    /// Poisson's ratio, above 0 and up to 1/2.
    pub poisson: f64,
    /// Whether the body has a pressure of its own. One body of a mesh may; a body without must be compressible and
    /// keeps its size.
    pub mixed: bool,
}

impl Material {
    /// Lame's first constant; infinite at nu = 1/2.
    fn lambda(&self) -> f64 {
        2.0 * self.shear * self.poisson / (1.0 - 2.0 * self.poisson)
    }

    fn inverse_lambda(&self) -> f64 {
        (1.0 - 2.0 * self.poisson) / (2.0 * self.shear * self.poisson)
    }
}

/// What acts on the boundary; everything not named is free of load.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Conditions {
    /// Node, component (0 for `r`, 1 for `z`) and prescribed displacement.
    pub fixed: Vec<(usize, usize, f64)>,
    /// Sides on springs, with the stress per displacement in every direction.
    pub springs: Vec<(Edge, f64)>,
}

impl Conditions {
    /// Holds one component of every node of these sides at zero.
    pub fn hold(&mut self, edges: &[Edge], component: usize) {
        let nodes = edges.iter().flat_map(|edge| edge.nodes);
        self.fixed.extend(nodes.map(|node| (node, component, 0.0)));
    }
}

/// Displacement and pressure under one profile of shrinkage.
#[derive(Clone, Debug, PartialEq)]
pub struct Field {
    /// Displacement of each node, `[r, z]`.
    pub u: Vec<[f64; 2]>,
    /// Pressure at the corners of elements with a pressure; zero elsewhere.
    pub p: Vec<f64>,
    /// Count of unknowns solved for.
    pub unknowns: usize,
}

/// Shrinkage of one profile at a place of the straight grid.
pub type Profile<'a> = &'a dyn Fn([f64; 2]) -> f64;

/// Solves for every profile with one factorisation. `material` is asked with the number of the element.
///
/// # Errors When a Poisson's ratio or modulus is out of range, an element is turned inside out, or the body can move
/// without strain.
pub fn solve(
    mesh: &Mesh,
    material: impl Fn(usize) -> Material,
    conditions: &Conditions,
    profiles: &[Profile],
) -> Result<Vec<Field>, ElementsError> {
    let nodes = mesh.nodes.len();
    let mut known = vec![f64::NAN; 3 * nodes];
    for &(node, component, value) in &conditions.fixed {
        known[3 * node + component] = value;
    }
    let mut row = vec![usize::MAX; 3 * nodes];
    let mut unknowns = 0;
    for (e, element) in mesh.elements.iter().enumerate() {
        let mixed = material(e).mixed;
        let mut count = |slot: usize| {
            if known[slot].is_nan() && row[slot] == usize::MAX {
                row[slot] = unknowns;
                unknowns += 1;
            }
        };
        for (k, &node) in element.iter().enumerate() {
            count(3 * node);
            count(3 * node + 1);
            if mixed && CORNERS.contains(&k) {
                count(3 * node + 2);
            }
        }
    }
    let mut system =
        System { row, known, triplets: Vec::new(), load: vec![vec![0.0; unknowns]; profiles.len()] };
    for (e, element) in mesh.elements.iter().enumerate() {
        system.add_element(mesh, e, element, material(e), profiles)?;
    }
    for (edge, stiffness) in &conditions.springs {
        system.add_spring(mesh, edge, *stiffness);
    }
    system.fields(nodes, unknowns)
}

struct System {
    row: Vec<usize>,
    known: Vec<f64>,
    triplets: Vec<Triplet<usize, usize, f64>>,
    load: Vec<Vec<f64>>,
}

impl System {
    fn add_element(
        &mut self,
        mesh: &Mesh,
        number: usize,
        element: &[usize; 9],
        material: Material,
        profiles: &[Profile],
    ) -> Result<(), ElementsError> {
        let Material { shear, poisson, mixed } = material;
        let greatest = if mixed { 0.5 } else { 0.499 };
        if !(poisson > 0.0 && poisson <= greatest && shear > 0.0) {
            return Err(ElementsError::Material { shear, poisson, greatest });
        }
        // Unknowns of an element: radial and axial displacement of nine nodes, then four pressures.
        let mut k = [[0.0; 22]; 22];
        let mut load = vec![[0.0; 22]; profiles.len()];
        for (xi, wx) in GAUSS_POINTS.iter().zip(GAUSS_WEIGHTS) {
            for (eta, wy) in GAUSS_POINTS.iter().zip(GAUSS_WEIGHTS) {
                let (n, slope) = nine(*xi, *eta);
                let m = corners(*xi, *eta);
                let mut jacobian = [[0.0; 2]; 2];
                let (mut r, mut straight) = (0.0, [0.0; 2]);
                for (a, &node) in element.iter().enumerate() {
                    let place = mesh.nodes[node];
                    r += n[a] * place[0];
                    for c in 0..2 {
                        straight[c] += n[a] * mesh.straight[node][c];
                        for d in 0..2 {
                            jacobian[d][c] += slope[a][d] * place[c];
                        }
                    }
                }
                let det = jacobian[0][0] * jacobian[1][1] - jacobian[0][1] * jacobian[1][0];
                if det.is_nan() || det <= 0.0 || r <= 0.0 {
                    return Err(ElementsError::Inverted { element: number, straight });
                }
                let w = wx * wy * det * r;
                // Gradient of each function, and its part of the divergence per component.
                let mut g = [[0.0; 2]; 9];
                let mut div = [0.0; 18];
                for a in 0..9 {
                    g[a] = [
                        (jacobian[1][1] * slope[a][0] - jacobian[0][1] * slope[a][1]) / det,
                        (jacobian[0][0] * slope[a][1] - jacobian[1][0] * slope[a][0]) / det,
                    ];
                    div[2 * a] = g[a][0] + n[a] / r;
                    div[2 * a + 1] = g[a][1];
                }
                let lambda = if mixed { 0.0 } else { material.lambda() };
                for a in 0..9 {
                    for b in 0..9 {
                        let (ga, gb) = (g[a], g[b]);
                        let hoop = n[a] * n[b] / (r * r);
                        let s = shear * w;
                        k[2 * a][2 * b] += s * (2.0 * (ga[0] * gb[0] + hoop) + ga[1] * gb[1]);
                        k[2 * a][2 * b + 1] += s * ga[1] * gb[0];
                        k[2 * a + 1][2 * b] += s * ga[0] * gb[1];
                        k[2 * a + 1][2 * b + 1] += s * (2.0 * ga[1] * gb[1] + ga[0] * gb[0]);
                    }
                }
                for a in 0..18 {
                    for b in 0..18 {
                        k[a][b] += lambda * w * div[a] * div[b];
                    }
                }
                if !mixed {
                    continue;
                }
                for a in 0..4 {
                    for b in 0..18 {
                        k[18 + a][b] -= w * m[a] * div[b];
                        k[b][18 + a] -= w * m[a] * div[b];
                    }
                    for b in 0..4 {
                        k[18 + a][18 + b] -= w * material.inverse_lambda() * m[a] * m[b];
                    }
                }
                for (load, profile) in load.iter_mut().zip(profiles) {
                    let eps = profile(straight);
                    for a in 0..18 {
                        load[a] -= w * 2.0 * shear * eps * div[a];
                    }
                    for a in 0..4 {
                        load[18 + a] += w * 3.0 * eps * m[a];
                    }
                }
            }
        }
        let mut slots = [0; 22];
        for a in 0..9 {
            slots[2 * a] = 3 * element[a];
            slots[2 * a + 1] = 3 * element[a] + 1;
        }
        for (a, &corner) in CORNERS.iter().enumerate() {
            slots[18 + a] = 3 * element[corner] + 2;
        }
        let used = if mixed { 22 } else { 18 };
        for a in 0..used {
            for b in 0..used {
                self.add(slots[a], slots[b], k[a][b]);
            }
            for (profile, load) in load.iter().enumerate() {
                self.add_load(profile, slots[a], load[a]);
            }
        }
        Ok(())
    }

    fn add_spring(&mut self, mesh: &Mesh, edge: &Edge, stiffness: f64) {
        let places = edge.nodes.map(|node| mesh.nodes[node]);
        for (x, weight) in GAUSS_POINTS.iter().zip(GAUSS_WEIGHTS) {
            let (n, slope) = line(*x);
            let at = |c: usize, f: &[f64; 3]| f.iter().zip(places).map(|(f, p)| f * p[c]).sum::<f64>();
            let (tr, tz) = (at(0, &slope), at(1, &slope));
            let w = weight * (tr * tr + tz * tz).sqrt() * at(0, &n) * stiffness;
            for a in 0..3 {
                for b in 0..3 {
                    for c in 0..2 {
                        self.add(3 * edge.nodes[a] + c, 3 * edge.nodes[b] + c, w * n[a] * n[b]);
                    }
                }
            }
        }
    }

    fn add(&mut self, slot_row: usize, slot_column: usize, value: f64) {
        let (i, j) = (self.row[slot_row], self.row[slot_column]);
        if i == usize::MAX {
            return;
        }
        if j == usize::MAX {
            let known = self.known[slot_column];
            for load in &mut self.load {
                load[i] -= value * known;
            }
        } else {
            self.triplets.push(Triplet::new(i, j, value));
        }
    }

    fn add_load(&mut self, profile: usize, slot: usize, value: f64) {
        let i = self.row[slot];
        if i != usize::MAX {
            self.load[profile][i] += value;
        }
    }

    fn fields(&self, nodes: usize, unknowns: usize) -> Result<Vec<Field>, ElementsError> {
        let singular = |why: String| ElementsError::Singular { unknowns, why };
        let matrix = SparseColMat::<usize, f64>::try_new_from_triplets(unknowns, unknowns, &self.triplets)
            .map_err(|e| singular(format!("{e:?}")))?;
        let factors = matrix.sp_lu().map_err(|e| singular(format!("{e:?}")))?;
        let load = faer::Mat::from_fn(unknowns, self.load.len(), |i, k| self.load[k][i]);
        let mut x = factors.solve(&load);
        // One step of refinement brings the saddle point to the last digits.
        x += factors.solve(&load - &matrix * &x);
        let mut fields = Vec::with_capacity(self.load.len());
        for k in 0..self.load.len() {
            let value = |slot: usize| match self.row[slot] {
                usize::MAX if self.known[slot].is_nan() => 0.0,
                usize::MAX => self.known[slot],
                i => x[(i, k)],
            };
            let u: Vec<_> = (0..nodes).map(|n| [value(3 * n), value(3 * n + 1)]).collect();
            if u.iter().flatten().any(|u| !u.is_finite()) {
                return Err(singular("a displacement is not finite".to_owned()));
            }
            fields.push(Field { u, p: (0..nodes).map(|n| value(3 * n + 2)).collect(), unknowns });
        }
        Ok(fields)
    }
}
