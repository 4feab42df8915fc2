//! Where over two axes something holds, makes no difference that matters, fails, or cannot be told: an adaptive map.
//!
//! At a point of the unit square a level is asked for of each outcome, not negative where at least four fifths of the samples have that outcome;
//! where none has, nothing can be told. Levels are quantiles of margins that change continuously with the point, so that their zeros can be
//! solved for and not only counted.
//!
//! Squares whose corners or middle stand differently are quartered to the finest size. On the sides of the finest squares every zero is found by
//! false position with the Illinois change (Dowell and Jarratt 1971, *BIT* 11:168), which halves the weight of an end that stays. What is narrower
//! than half of a coarse square can be missed.

use std::collections::BTreeMap;

use libm::fabs;

/// What at least four fifths of the samples exceed at one point, for each outcome: not negative where it is the outcome there.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Levels {
    /// Of what the statement says.
    pub holds: f64,
    /// Of a difference too small to matter; negative infinity for a statement without one.
    pub slight: f64,
    /// Of the opposite, or of a bound that is not kept.
    pub fails: f64,
}

/// How a statement stands.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord, serde::Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Standing {
    /// In at least four fifths of the samples.
    Holds,
    /// In at least four fifths the difference is too small to matter.
    Slight,
    /// In at least four fifths it is the opposite, or the bound is not kept.
    Fails,
    /// None of them.
    CannotTell,
}

impl Levels {
    /// Nothing is an outcome.
    pub const NONE: Levels =
        Levels { holds: f64::NEG_INFINITY, slight: f64::NEG_INFINITY, fails: f64::NEG_INFINITY };

    /// Of a statement that has no small difference and no opposite: what it exceeds in the weakest fifth of the samples, and in the strongest.
    /// What is kept to the last digit has not failed.
    pub fn of_bound(weakest: f64, strongest: f64) -> Levels {
        let fails = if strongest == 0.0 { -f64::MIN_POSITIVE } else { -strongest };
        Levels { holds: weakest, fails, ..Levels::NONE }
    }

    /// How the statement stands.
    pub fn standing(self) -> Standing {
        match self {
            Levels { holds, .. } if holds >= 0.0 => Standing::Holds,
            Levels { fails, .. } if fails >= 0.0 => Standing::Fails,
            Levels { slight, .. } if slight >= 0.0 => Standing::Slight,
            _ => Standing::CannotTell,
        }
    }
}

/// How finely a map is drawn.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Fineness {
    /// Coarse squares along a side.
    pub coarse: u32,
    /// How often a square is quartered.
    pub quartered: u32,
    /// How near to a zero a side is solved, as a share of the side of a finest square.
    pub near: f64,
}

impl Fineness {
    /// A first answer: the coarse squares alone.
    pub const FIRST: Fineness = Fineness { coarse: 4, quartered: 0, near: 0.1 };
    /// The usual map: sixteen squares along a side where it matters.
    pub const USUAL: Fineness = Fineness { coarse: 4, quartered: 2, near: 0.01 };
}

/// The most steps to a zero: a bisection to a thousandth has ten.
const MOST_STEPS: usize = 40;

/// A point of the unit square.
pub type Point = [f64; 2];

/// One square of a map.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Square {
    /// Its lower left corner.
    pub low: Point,
    /// Its upper right corner.
    pub high: Point,
    /// What of it holds, as polygons.
    pub holds: Vec<Vec<Point>>,
    /// Where in it the difference is too small to matter.
    pub slight: Vec<Vec<Point>>,
    /// What of it fails.
    pub fails: Vec<Vec<Point>>,
}

/// A map over the unit square.
#[derive(Clone, Debug, PartialEq, serde::Serialize)]
pub struct Map {
    /// Squares that fill it without overlap.
    pub squares: Vec<Square>,
    /// Points where what holds ends, each solved for on a side of a finest square.
    pub holds_ends: Vec<Point>,
    /// Points where a difference begins or ceases to matter.
    pub slight_ends: Vec<Point>,
    /// Points where what fails begins.
    pub fails_begins: Vec<Point>,
    /// Share of the area that holds.
    pub holds: f64,
    /// Share of the area where the difference is too small to matter.
    pub slight: f64,
    /// Share of the area that fails.
    pub fails: f64,
    /// Points that were asked for.
    pub asked: usize,
}

impl Map {
    /// Share of the area where nothing can be told.
    pub fn cannot_tell(&self) -> f64 {
        (1.0 - self.holds - self.slight - self.fails).max(0.0)
    }

    /// How the statement stands at a point of the unit square, as drawn.
    pub fn standing_at(&self, [x, y]: Point) -> Standing {
        let within = |polygon: &Vec<Point>| {
            let crossed = sides(polygon).filter(|[a, b]| {
                (a[1] <= y) != (b[1] <= y) && a[0] + (b[0] - a[0]) * (y - a[1]) / (b[1] - a[1]) > x
            });
            crossed.count() % 2 == 1
        };
        let square = self.squares.iter().find(|square| {
            (square.low[0]..square.high[0]).contains(&x) && (square.low[1]..square.high[1]).contains(&y)
        });
        match square {
            Some(square) if square.holds.iter().any(within) => Standing::Holds,
            Some(square) if square.fails.iter().any(within) => Standing::Fails,
            Some(square) if square.slight.iter().any(within) => Standing::Slight,
            _ => Standing::CannotTell,
        }
    }

    /// Where a line of constant second coordinate crosses into or out of what holds, of what is too small to matter, and of what fails, each in
    /// ascending order.
    pub fn crossings(&self, second: f64) -> [Vec<f64>; 3] {
        let of = |polygons: fn(&Square) -> &Vec<Vec<Point>>| {
            let mut ends: Vec<[f64; 2]> = Vec::new();
            for square in self.squares.iter().filter(|s| s.low[1] <= second && second < s.high[1]) {
                for polygon in polygons(square) {
                    let mut at: Vec<f64> = sides(polygon)
                        .filter(|[a, b]| (a[1] <= second) != (b[1] <= second))
                        .map(|[a, b]| a[0] + (b[0] - a[0]) * (second - a[1]) / (b[1] - a[1]))
                        .collect();
                    at.sort_by(f64::total_cmp);
                    ends.extend(at.chunks_exact(2).map(|pair| [pair[0], pair[1]]));
                }
            }
            ends.sort_by(|a, b| a[0].total_cmp(&b[0]));
            let mut joined: Vec<f64> = Vec::new();
            for [from, to] in ends {
                match joined.last_mut() {
                    Some(last) if from - *last < 1e-9 => *last = last.max(to),
                    _ => joined.extend([from, to]),
                }
            }
            joined
        };
        [of(|square| &square.holds), of(|square| &square.slight), of(|square| &square.fails)]
    }
}

fn sides(polygon: &[Point]) -> impl Iterator<Item = [Point; 2]> {
    (0..polygon.len()).map(|index| [polygon[index], polygon[(index + 1) % polygon.len()]])
}

/// Draws a map. `levels` is asked for points of the unit square.
///
/// # Errors
/// The first that `levels` gives.
pub fn map<E>(fineness: Fineness, levels: impl FnMut(Point) -> Result<Levels, E>) -> Result<Map, E> {
    let side = fineness.coarse.max(1) << fineness.quartered;
    let mut drawing = Drawing {
        levels,
        side,
        near: fineness.near,
        nodes: BTreeMap::new(),
        solved: BTreeMap::new(),
        asked: 0,
    };
    let mut open: Vec<(u32, u32, u32)> = Vec::new();
    let coarse = 1 << fineness.quartered;
    for j in (0..side).step_by(coarse) {
        for i in (0..side).step_by(coarse) {
            open.push((i, j, coarse as u32));
        }
    }
    let mut done = Vec::new();
    while let Some((i, j, size)) = open.pop() {
        if size > 1 && drawing.differs(i, j, size)? {
            let half = size / 2;
            open.extend([(i, j, half), (i + half, j, half), (i, j + half, half), (i + half, j + half, half)]);
        } else {
            done.push((j, i, size));
        }
    }
    done.sort_unstable();
    let mut map = Map {
        squares: Vec::with_capacity(done.len()),
        holds_ends: Vec::new(),
        slight_ends: Vec::new(),
        fails_begins: Vec::new(),
        holds: 0.0,
        slight: 0.0,
        fails: 0.0,
        asked: 0,
    };
    for (j, i, size) in done {
        let holds = drawing.region((i, j, size), Which::Holds)?;
        let slight = drawing.region((i, j, size), Which::Slight)?;
        let fails = drawing.region((i, j, size), Which::Fails)?;
        let together = |polygons: &[Vec<Point>]| polygons.iter().map(|polygon| area(polygon)).sum::<f64>();
        map.holds += together(&holds);
        map.slight += together(&slight);
        map.fails += together(&fails);
        let (low, high) = (drawing.place((i, j)), drawing.place((i + size, j + size)));
        map.squares.push(Square { low, high, holds, slight, fails });
    }
    for ((_, _, which), point) in &drawing.solved {
        match which {
            Which::Holds => map.holds_ends.push(*point),
            Which::Slight => map.slight_ends.push(*point),
            Which::Fails => map.fails_begins.push(*point),
        }
    }
    map.asked = drawing.asked;
    Ok(map)
}

/// Shoelace.
fn area(polygon: &[Point]) -> f64 {
    0.5 * fabs(sides(polygon).map(|[a, b]| a[0] * b[1] - b[0] * a[1]).sum::<f64>())
}

/// Which of the zeros.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
enum Which {
    Holds,
    Slight,
    Fails,
}

impl Which {
    /// Not negative inside.
    fn value(self, levels: Levels) -> f64 {
        match self {
            Which::Holds => levels.holds,
            Which::Slight => levels.slight,
            Which::Fails => levels.fails,
        }
    }

    fn inside(self, levels: Levels) -> bool {
        match self {
            Which::Holds => levels.standing() == Standing::Holds,
            Which::Slight => levels.standing() == Standing::Slight,
            Which::Fails => levels.standing() == Standing::Fails,
        }
    }
}

type Node = (u32, u32);

struct Drawing<F> {
    levels: F,
    side: u32,
    near: f64,
    nodes: BTreeMap<Node, Levels>,
    solved: BTreeMap<(Node, Node, Which), Point>,
    asked: usize,
}

impl<F, E> Drawing<F>
where
    F: FnMut(Point) -> Result<Levels, E>,
{
    fn place(&self, (i, j): Node) -> Point {
        [f64::from(i) / f64::from(self.side), f64::from(j) / f64::from(self.side)]
    }

    fn ask(&mut self, point: Point) -> Result<Levels, E> {
        self.asked += 1;
        (self.levels)(point)
    }

    fn at(&mut self, node: Node) -> Result<Levels, E> {
        if let Some(levels) = self.nodes.get(&node) {
            return Ok(*levels);
        }
        let levels = self.ask(self.place(node))?;
        self.nodes.insert(node, levels);
        Ok(levels)
    }

    /// Whether the corners and the middle of a square of at least two stand differently.
    fn differs(&mut self, i: u32, j: u32, size: u32) -> Result<bool, E> {
        let first = self.at((i, j))?.standing();
        for node in [(i + size, j), (i, j + size), (i + size, j + size), (i + size / 2, j + size / 2)] {
            if self.at(node)?.standing() != first {
                return Ok(true);
            }
        }
        Ok(false)
    }

    /// What of a square lies inside, as polygons.
    fn region(&mut self, (i, j, size): (u32, u32, u32), which: Which) -> Result<Vec<Vec<Point>>, E> {
        let corners = [(i, j), (i + size, j), (i + size, j + size), (i, j + size)];
        let mut inside = [false; 4];
        for (place, corner) in corners.iter().enumerate() {
            inside[place] = which.inside(self.at(*corner)?);
        }
        match inside {
            [true, true, true, true] => return Ok(vec![corners.map(|corner| self.place(corner)).to_vec()]),
            [false, false, false, false] => return Ok(Vec::new()),
            _ => {}
        }
        let mut around: Vec<Point> = Vec::new();
        for place in 0..4 {
            let next = (place + 1) % 4;
            if inside[place] {
                around.push(self.place(corners[place]));
            }
            if inside[place] != inside[next] {
                around.push(self.zero(corners[place], corners[next], which)?);
            }
        }
        // Two opposite corners: one band, or two corners cut off, as the middle says.
        if around.len() == 6 && inside[0] == inside[2] {
            let [a, b] = [self.place(corners[0]), self.place(corners[2])];
            let middle = self.ask([0.5 * (a[0] + b[0]), 0.5 * (a[1] + b[1])])?;
            if !which.inside(middle) {
                let corner = usize::from(!inside[0]);
                let start = around.iter().position(|point| *point == self.place(corners[corner]));
                around.rotate_left((start.unwrap_or(0) + 5) % 6);
                return Ok(vec![around[..3].to_vec(), around[3..].to_vec()]);
            }
        }
        Ok(vec![around])
    }

    /// Where between two nodes the standing changes.
    fn zero(&mut self, from: Node, to: Node, which: Which) -> Result<Point, E> {
        let (from, to) = if from < to { (from, to) } else { (to, from) };
        if let Some(point) = self.solved.get(&(from, to, which)) {
            return Ok(*point);
        }
        let (a, b) = (self.place(from), self.place(to));
        let point_at = |t: f64| [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1])];
        let (mut low, mut high) = (0.0, 1.0);
        let first = self.at(from)?;
        let (mut at_low, mut at_high) = (which.value(first), which.value(self.at(to)?));
        let low_inside = which.inside(first);
        let mut stayed = 0_i8;
        let mut t = f64::NAN;
        for _ in 0..MOST_STEPS {
            let secant = low + (high - low) * at_low / (at_low - at_high);
            // An end whose level is zero to rounding is the zero itself.
            let (at_end, finite) =
                (secant <= low || secant >= high, at_low.is_finite() && at_high.is_finite());
            if finite && at_end {
                t = if secant <= low { low } else { high };
                break;
            }
            let next = if secant > low && secant < high { secant } else { 0.5 * (low + high) };
            let moved = fabs(next - t);
            t = next;
            if moved < self.near || high - low < self.near {
                break;
            }
            let levels = self.ask(point_at(t))?;
            let value = which.value(levels);
            if which.inside(levels) == low_inside {
                (low, at_low) = (t, value);
                at_high *= if stayed == 1 { 0.5 } else { 1.0 };
                stayed = 1;
            } else {
                (high, at_high) = (t, value);
                at_low *= if stayed == -1 { 0.5 } else { 1.0 };
                stayed = -1;
            }
        }
        let point = point_at(t);
        self.solved.insert((from, to, which), point);
        Ok(point)
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test stops where its premise fails")]

    use super::*;

    fn drawn(fineness: Fineness, level: impl Fn(Point) -> f64, width: f64) -> Map {
        let of = |point| -> Result<Levels, ()> {
            let level = level(point);
            Ok(Levels::of_bound(level - width, level + width))
        };
        map(fineness, of).unwrap()
    }

    #[test]
    fn a_half_plane_has_its_area_and_its_crossing() {
        let map = drawn(Fineness::USUAL, |[x, _]| x - 0.3, 0.1);
        assert!(
            (map.holds - 0.6).abs() < 1e-9 && (map.fails - 0.2).abs() < 1e-9,
            "{} {}",
            map.holds,
            map.fails
        );
        assert!((map.cannot_tell() - 0.2).abs() < 1e-9);
        let [holds, _, fails] = map.crossings(0.37);
        assert_eq!((holds.len(), fails.len()), (2, 2));
        assert!((holds[0] - 0.4).abs() < 1e-9 && (fails[1] - 0.2).abs() < 1e-9);
    }

    #[test]
    fn three_outcomes_share_the_map_with_what_cannot_be_told() {
        // One difference, spread by a width, and the least of it that matters.
        let (width, by) = (0.05, 0.2);
        let drawn = |sign: f64| {
            let of = |[x, y]: Point| -> Result<Levels, ()> {
                let gain = sign * (x + 0.2 * y - 0.5);
                Ok(Levels {
                    holds: gain - width - by,
                    slight: by - fabs(gain) - width,
                    fails: -gain - width - by,
                })
            };
            map(Fineness::USUAL, of).unwrap()
        };
        let (map, mirror) = (drawn(1.0), drawn(-1.0));
        assert!((map.holds + map.slight + map.fails + map.cannot_tell() - 1.0).abs() < 1e-9);
        assert!((map.slight - 0.3).abs() < 1e-6 && (map.cannot_tell() - 0.2).abs() < 1e-6, "{}", map.slight);
        assert!((map.holds - mirror.fails).abs() < 1e-9 && (map.fails - mirror.holds).abs() < 1e-9);
        assert_eq!(map.slight_ends.len(), mirror.slight_ends.len());
        assert_eq!(map.standing_at([0.4, 0.5]), Standing::Slight);
        let [holds, slight, fails] = map.crossings(0.5);
        assert!((slight[0] - 0.25).abs() < 1e-6 && (slight[1] - 0.55).abs() < 1e-6, "{slight:?}");
        assert!((fails[1] - 0.15).abs() < 1e-6 && (holds[0] - 0.65).abs() < 1e-6);
    }

    #[test]
    fn a_disc_is_found_to_the_square_of_the_finest_side() {
        // What lies between chords and the circle falls as the square of the side.
        let disc = |[x, y]: Point| 0.09 - (x - 0.5) * (x - 0.5) - (y - 0.5) * (y - 0.5);
        let exact = std::f64::consts::PI * 0.09;
        let error = |quartered| {
            let map = drawn(Fineness { coarse: 4, quartered, near: 1e-6 }, disc, 0.0);
            (map.holds - exact).abs()
        };
        let (coarse, fine) = (error(1), error(3));
        assert!(coarse / fine > 10.0 && fine < 1e-3, "{coarse} {fine}");
    }

    #[test]
    fn every_point_of_the_end_lies_where_the_level_is_zero() {
        let level = |[x, y]: Point| libm::exp(3.0 * x) * (0.2 + y) - 2.0;
        let map = drawn(Fineness { near: 1e-6, ..Fineness::USUAL }, level, 0.0);
        assert!(map.holds_ends.len() > 10);
        for point in map.holds_ends {
            assert!(level(point).abs() < 1e-4, "{point:?} {}", level(point));
        }
    }

    #[test]
    fn two_opposite_corners_are_two_triangles_or_one_band() {
        let one = Fineness { coarse: 1, quartered: 0, near: 1e-6 };
        let apart = drawn(one, |[x, y]| (x - 0.5) * (y - 0.5) - 0.1, 0.0);
        assert_eq!(apart.squares[0].holds.len(), 2);
        let together = drawn(one, |[x, y]| (x - 0.5) * (y - 0.5) + 0.1, 0.0);
        assert_eq!(together.squares[0].holds.len(), 1);
        assert!(apart.holds < 0.5 && together.holds > 0.5, "{} {}", apart.holds, together.holds);
        assert!((apart.holds + apart.fails - 1.0).abs() < 1e-9);
    }

    #[test]
    fn what_is_nowhere_finite_is_still_a_map() {
        let map = drawn(Fineness::USUAL, |[x, _]| if x < 0.51 { f64::NEG_INFINITY } else { 1.0 }, 0.0);
        assert!(
            (map.fails - 0.51).abs() < 2e-3 && (map.holds - 0.49).abs() < 2e-3,
            "{} {}",
            map.fails,
            map.holds
        );
    }
}
