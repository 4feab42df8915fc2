//! Meshes of quadrilaterals in the half plane r, z: a grid of lines, of which some cells are filled, then bent.
//!
//! Every node keeps its place in the straight grid beside its place in the bent one. Boundaries, strain profiles and
//! measures are stated in the straight grid, where walls are lines of constant `r` or `z`.

/// Cells from `from` to `to` whose widths shrink by the factor [`RATIO`] towards the ends that are named.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Toward {
    /// Even widths.
    Neither,
    /// Finest at the lower end.
    Start,
    /// Finest at the upper end.
    End,
    /// Finest at both ends, coarsest at the middle, where a line lies.
    Both,
}

/// How much narrower a cell is than its neighbour on the coarse side.
pub const RATIO: f64 = 0.35;

/// Lines of a graded grid, ends included. The outermost of the `layers` graded cells takes `1 - RATIO` of the length,
/// and each of them is cut into `even` parts.
pub fn graded(from: f64, to: f64, toward: Toward, layers: usize, even: usize) -> Vec<f64> {
    let length = to - from;
    let mut stops = vec![0.0];
    match toward {
        Toward::Neither => {}
        Toward::Start => stops.extend((1..layers).rev().map(|k| RATIO.powi(k as i32))),
        Toward::End => stops.extend((1..layers).map(|k| 1.0 - RATIO.powi(k as i32))),
        Toward::Both => {
            stops.extend((1..layers).rev().map(|k| 0.5 * RATIO.powi(k as i32)));
            stops.push(0.5);
            stops.extend((1..layers).map(|k| 1.0 - 0.5 * RATIO.powi(k as i32)));
        }
    }
    stops.push(1.0);
    let mut lines = Vec::with_capacity((stops.len() - 1) * even + 1);
    for pair in stops.windows(2) {
        for part in 0..even {
            lines.push(from + length * (pair[0] + (pair[1] - pair[0]) * part as f64 / even as f64));
        }
    }
    lines.push(to);
    lines
}

/// Puts two runs of lines together; the last of the first is the first of the second.
pub fn joined(runs: &[Vec<f64>]) -> Vec<f64> {
    let mut lines: Vec<f64> = Vec::new();
    for run in runs {
        let skip = usize::from(!lines.is_empty());
        lines.extend(&run[skip..]);
    }
    lines
}

/// One side of a filled cell with nothing beside it, run through with the material on the left.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Edge {
    /// Its three nodes in order.
    pub nodes: [usize; 3],
    /// Its middle in the straight grid.
    pub middle: [f64; 2],
    /// Whether it lies along `z` in the straight grid.
    pub upright: bool,
}

/// A mesh of nine-node quadrilaterals.
#[derive(Clone, Debug, PartialEq)]
pub struct Mesh {
    /// Places of the nodes, `[r, z]`.
    pub nodes: Vec<[f64; 2]>,
    /// Places of the same nodes in the straight grid.
    pub straight: Vec<[f64; 2]>,
    /// Nodes of each element, numbered as in [`crate::shape`].
    pub elements: Vec<[usize; 9]>,
    /// Sides without a neighbour.
    pub edges: Vec<Edge>,
}

impl Mesh {
    /// The cells between the lines `r` and `z` whose middle is `filled`, each node moved by `bend`. The bend must
    /// keep every element's orientation.
    pub fn new(
        r: &[f64],
        z: &[f64],
        filled: impl Fn([f64; 2]) -> bool,
        bend: impl Fn([f64; 2]) -> [f64; 2],
    ) -> Self {
        let (columns, rows) = (r.len() - 1, z.len() - 1);
        let middle = |i: usize, j: usize| [0.5 * (r[i] + r[i + 1]), 0.5 * (z[j] + z[j + 1])];
        let is_filled = |i: isize, j: isize| {
            let inside = i >= 0 && j >= 0 && (i as usize) < columns && (j as usize) < rows;
            inside && filled(middle(i as usize, j as usize))
        };
        let half = |lines: &[f64], k: usize| 0.5 * (lines[k / 2] + lines[k.div_ceil(2)]);
        let width = 2 * columns + 1;
        let mut number = vec![usize::MAX; width * (2 * rows + 1)];
        let mut mesh =
            Self { nodes: Vec::new(), straight: Vec::new(), elements: Vec::new(), edges: Vec::new() };
        for i in 0..columns {
            for j in 0..rows {
                if !is_filled(i as isize, j as isize) {
                    continue;
                }
                let mut element = [0; 9];
                for (k, node) in element.iter_mut().enumerate() {
                    let (p, q) = (2 * i + k % 3, 2 * j + k / 3);
                    let slot = &mut number[q * width + p];
                    if *slot == usize::MAX {
                        *slot = mesh.nodes.len();
                        let place = [half(r, p), half(z, q)];
                        mesh.straight.push(place);
                        mesh.nodes.push(bend(place));
                    }
                    *node = *slot;
                }
                mesh.elements.push(element);
                let sides: [(isize, isize, [usize; 3], bool); 4] = [
                    (0, -1, [0, 1, 2], false),
                    (1, 0, [2, 5, 8], true),
                    (0, 1, [8, 7, 6], false),
                    (-1, 0, [6, 3, 0], true),
                ];
                for (di, dj, local, upright) in sides {
                    if !is_filled(i as isize + di, j as isize + dj) {
                        let nodes = local.map(|k| element[k]);
                        mesh.edges.push(Edge { nodes, middle: mesh.straight[nodes[1]], upright });
                    }
                }
            }
        }
        mesh
    }

    /// The sides whose middle satisfies `on`.
    pub fn edges_where(&self, on: impl Fn(&Edge) -> bool) -> Vec<Edge> {
        self.edges.iter().filter(|edge| on(edge)).copied().collect()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn grading_ends_where_it_should() {
        let lines = graded(1.0, 3.0, Toward::Both, 3, 2);
        assert_eq!(lines.len(), 13);
        assert!(lines.windows(2).all(|p| p[1] > p[0]));
        assert_eq!((lines[0], lines[6], lines[12]), (1.0, 2.0, 3.0));
        assert!((graded(0.0, 1.0, Toward::End, 2, 1)[1] - 0.65).abs() < 1e-15);
        assert_eq!(joined(&[vec![0.0, 1.0], vec![1.0, 2.0]]), vec![0.0, 1.0, 2.0]);
    }

    /// An L of three cells: 21 nodes, eight sides on the boundary, which go round it once.
    #[test]
    fn an_l_of_three_cells() {
        let mesh = Mesh::new(&[0.0, 1.0, 2.0], &[0.0, 1.0, 2.0], |m| m[0] < 1.0 || m[1] > 1.0, |x| x);
        assert_eq!((mesh.nodes.len(), mesh.elements.len(), mesh.edges.len()), (21, 3, 8));
        let area: f64 = mesh
            .edges
            .iter()
            .map(|e| {
                let (a, b) = (mesh.nodes[e.nodes[0]], mesh.nodes[e.nodes[2]]);
                0.5 * (a[0] * b[1] - b[0] * a[1])
            })
            .sum();
        assert!((area - 3.0).abs() < 1e-15);
    }
}
