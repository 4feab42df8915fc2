//! Scrambled Sobol points with a fixed key, padded to any number of dimensions.
//!
//! Dimensions come in groups of four. Within a group, point `i` is the digital net of Joe and Kuo (SIAM J. Sci. Comput. 30
//! (2008) 2635-2654, first four dimensions) with its digits scrambled by a nested (Owen) permutation, realised as a hash of
//! the reversed bits. Between groups the order of the points is shuffled by another nested permutation, so that every group
//! keeps its net while no two groups share the poor projections that high Sobol dimensions have at a few hundred points:
//! B. Burley, "Practical hash-based Owen scrambling", J. Comput. Graph. Tech. 9(4) (2020), sections 3 and 4.
//!
//! The first 2^k points of a randomisation are a net as well, so a coarse answer is a prefix of a fine one. The first point is
//! kept: dropping it would unbalance the net (A. B. Owen, "On dropping the first Sobol' point", 2020).
//!
//! Points are pure functions of (key, randomisation, index, dimension); nothing is hidden and nothing is drawn.

/// The key of every forecast. It never changes, so that the same input gives the same bits.
pub const KEY: u32 = 0x7261_7921;

/// Dimensions of a group.
pub const GROUP: usize = 4;

const BITS: usize = 32;

/// Coefficients of the primitive polynomials and initial direction integers for dimensions 2 to 4; dimension 1 is the van
/// der Corput sequence.
const JOE_KUO: [(u32, &[u32]); GROUP - 1] = [(0, &[1]), (1, &[1, 3]), (1, &[1, 3, 1])];

/// Direction numbers of a group.
pub struct Sobol {
    directions: [[u32; BITS]; GROUP],
}

impl Default for Sobol {
    fn default() -> Self {
        Sobol::new()
    }
}

impl Sobol {
    /// Prepares the direction numbers.
    pub fn new() -> Self {
        Sobol {
            directions: std::array::from_fn(|dimension| match dimension {
                0 => std::array::from_fn(|bit| 1u32 << (BITS - 1 - bit)),
                _ => direction_numbers(JOE_KUO[dimension - 1].0, JOE_KUO[dimension - 1].1),
            }),
        }
    }

    /// Unscrambled point of one of the four dimensions of a group, as 32 binary digits.
    pub fn digits(&self, index: u32, dimension: usize) -> u32 {
        let mut point = 0;
        let mut rest = index;
        for direction in &self.directions[dimension % GROUP] {
            if rest & 1 == 1 {
                point ^= direction;
            }
            rest >>= 1;
            if rest == 0 {
                break;
            }
        }
        point
    }

    /// Scrambled point strictly between 0 and 1: the middle of its cell of width 2^-32.
    pub fn point(&self, randomisation: u32, index: u32, dimension: usize) -> f64 {
        let group = (dimension / GROUP) as u32;
        let shuffled = owen_scramble(index, seed(randomisation, group, u32::MAX));
        let digits = self.digits(shuffled, dimension);
        let scrambled = owen_scramble(digits, seed(randomisation, group, (dimension % GROUP) as u32));
        (f64::from(scrambled) + 0.5) / 4_294_967_296.0
    }
}

fn seed(randomisation: u32, group: u32, purpose: u32) -> u32 {
    mix(KEY
        ^ mix(randomisation.wrapping_mul(0x9e37_79b9) ^ mix(group.wrapping_mul(0x85eb_ca77) ^ mix(purpose))))
}

fn direction_numbers(coefficients: u32, initial: &[u32]) -> [u32; BITS] {
    let degree = initial.len();
    let mut v = [0u32; BITS];
    for bit in 0..BITS {
        v[bit] = if bit < degree {
            initial[bit] << (BITS - 1 - bit)
        } else {
            let mut next = v[bit - degree] ^ (v[bit - degree] >> degree);
            for term in 1..degree {
                if coefficients >> (degree - 1 - term) & 1 == 1 {
                    next ^= v[bit - term];
                }
            }
            next
        };
    }
    v
}

/// A nested uniform permutation of the binary digits, most significant first.
fn owen_scramble(digits: u32, seed: u32) -> u32 {
    let mut x = digits.reverse_bits();
    x ^= x.wrapping_mul(0x3d20_adea);
    x = x.wrapping_add(seed);
    x = x.wrapping_mul((seed >> 16) | 1);
    x ^= x.wrapping_mul(0x0552_6c56);
    x ^= x.wrapping_mul(0x53a2_2864);
    x.reverse_bits()
}

/// A bijective mix of 32 bits (the finaliser of a well-known public-domain hash).
fn mix(mut x: u32) -> u32 {
    x ^= x >> 16;
    x = x.wrapping_mul(0x85eb_ca6b);
    x ^= x >> 13;
    x = x.wrapping_mul(0xc2b2_ae35);
    x ^ (x >> 16)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Points of an independent implementation with the same direction numbers (scipy.stats.qmc.Sobol, unscrambled). It
    /// counts in Gray code, so its point k is ours with index k xor k/2. Compared digit for digit.
    #[test]
    fn val_points_of_an_independent_library() {
        let sobol = Sobol::new();
        let eighths = [
            [0, 0, 0, 0],
            [4, 4, 4, 4],
            [6, 2, 2, 2],
            [2, 6, 6, 6],
            [3, 3, 5, 7],
            [7, 7, 1, 3],
            [5, 1, 7, 5],
        ];
        for (k, expected) in eighths.iter().enumerate() {
            let index = (k ^ (k >> 1)) as u32;
            assert_eq!([0, 1, 2, 3].map(|d| sobol.digits(index, d) >> 29), *expected, "point {k}");
        }
    }

    /// Every one-dimensional projection of the first 2^k points has one point in each cell of width 2^-k.
    #[test]
    fn prop_every_dimension_is_stratified() {
        let sobol = Sobol::new();
        for dimension in 0..80 {
            for randomisation in [0, 3] {
                let mut seen = [false; 256];
                for index in 0..256 {
                    let cell = (sobol.point(randomisation, index, dimension) * 256.0) as usize;
                    assert!(!seen[cell], "dimension {dimension}");
                    seen[cell] = true;
                }
            }
        }
    }

    /// The first two dimensions of a group form a (0, m, 2)-net: each elementary rectangle of area 2^-8 holds one of 2^8.
    #[test]
    fn prop_pairs_in_a_group_form_a_net() {
        let sobol = Sobol::new();
        for first in [0, 4, 40] {
            for split in 0..=8u32 {
                let mut seen = [false; 256];
                for index in 0..256 {
                    let column = (sobol.point(1, index, first) * f64::from(1u32 << split)) as usize;
                    let row = (sobol.point(1, index, first + 1) * f64::from(1u32 << (8 - split))) as usize;
                    let cell = row * (1 << split) + column;
                    assert!(!seen[cell]);
                    seen[cell] = true;
                }
            }
        }
    }

    /// No pair of dimensions is correlated beyond chance: with 4,096 points the correlation of independent uniforms has
    /// a standard deviation of 1/64, and 3,160 pairs stay below five of them.
    #[test]
    fn prop_no_two_dimensions_move_together() {
        let sobol = Sobol::new();
        let columns: Vec<Vec<f64>> = (0..80)
            .map(|d| {
                (0..8)
                    .flat_map(|r| (0..512).map(move |i| (r, i)))
                    .map(|(r, i)| sobol.point(r, i, d) - 0.5)
                    .collect()
            })
            .collect();
        for a in 0..80 {
            for b in 0..a {
                let product: f64 = columns[a].iter().zip(&columns[b]).map(|(x, y)| x * y).sum();
                let correlation = product * 12.0 / 4096.0;
                assert!(correlation.abs() < 5.0 / 64.0, "{a} {b} {correlation}");
            }
        }
    }
}
