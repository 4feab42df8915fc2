//! The upper and the lower group of a class, and how far an item tells them apart.
//!
//! ```text
//! D = (earned in the upper group - earned in the lower group) / size of a group
//! ```
//!
//! Each group holds the share 0.27 of the learners by total (Kelley 1939, J Educ Psychol 30:17-24), exactly: the size is not rounded to
//! whole learners. Learners with the same total belong to a group in equal parts: those tied at its edge share the places that are
//! left. So neither the order of the learners nor that of the items changes anything. Where more than 46 % are tied in the middle, one
//! learner can belong in part to both groups, which takes as much from one side of D as from the other.

use crate::answers::Column;

/// Share of the learners in each group.
pub const SHARE: f64 = 0.27;

/// Totals this close are tied: credits are sums of parts, which rounding moves.
const TIED: f64 = 1e-9;

/// How far each learner belongs to the upper and to the lower group, 0 to 1.
#[derive(Clone, Debug, PartialEq)]
pub struct Groups {
    /// Learners in each group.
    pub size: f64,
    /// Membership in the upper group.
    pub upper: Vec<f64>,
    /// Membership in the lower group.
    pub lower: Vec<f64>,
}

/// The groups of a class by its totals; `share` of it in each, at most one half.
pub fn groups(totals: &[f64], share: f64) -> Groups {
    let size = totals.len() as f64 * share.clamp(0.0, 0.5);
    let mut order: Vec<usize> = (0..totals.len()).collect();
    order.sort_by(|&a, &b| totals[a].total_cmp(&totals[b]));
    let lower = membership(totals, &order, size);
    order.reverse();
    let upper = membership(totals, &order, size);
    Groups { size, upper, lower }
}

/// The first `size` of an order, those tied at the edge in equal parts.
fn membership(totals: &[f64], order: &[usize], size: f64) -> Vec<f64> {
    let mut of = vec![0.0; totals.len()];
    let mut left = size;
    let mut rest = order;
    while left > 0.0 && !rest.is_empty() {
        let tied =
            rest.windows(2).take_while(|pair| (totals[pair[0]] - totals[pair[1]]).abs() <= TIED).count() + 1;
        let (group, after) = rest.split_at(tied);
        let part = (left / tied as f64).min(1.0);
        for &learner in group {
            of[learner] = part;
        }
        left -= part * tied as f64;
        rest = after;
    }
    of
}

/// The upper-lower discrimination of an item; none where a group is empty.
pub fn discrimination(column: &Column, groups: &Groups) -> Option<f64> {
    let earned = |membership: &[f64]| -> f64 {
        membership.iter().zip(&column.earned).map(|(part, earned)| part * earned).sum()
    };
    (groups.size > 0.0).then(|| (earned(&groups.upper) - earned(&groups.lower)) / groups.size)
}

#[cfg(test)]
mod tests {
    use super::groups;

    #[test]
    fn those_tied_at_the_edge_share_what_is_left() {
        let groups = groups(&[9.0, 9.0, 8.0, 8.0, 8.0, 7.0, 7.0, 7.0, 2.0, 2.0], 0.27);
        assert!((groups.size - 2.7).abs() < 1e-12);
        assert_eq!(groups.upper[..2], [1.0, 1.0]);
        for member in &groups.upper[2..5] {
            assert!((member - 0.7 / 3.0).abs() < 1e-12);
        }
        assert_eq!(groups.upper[5..], [0.0; 5]);
        assert_eq!(groups.lower[8..], [1.0, 1.0]);
        assert!((groups.lower.iter().sum::<f64>() - 2.7).abs() < 1e-12);
    }

    #[test]
    fn where_all_are_tied_nobody_is_above() {
        let groups = groups(&[3.0; 10], 0.27);
        assert_eq!(groups.upper, groups.lower);
    }

    #[test]
    fn totals_that_differ_by_rounding_are_tied() {
        let groups = groups(&[0.1 + 0.2, 0.3, 0.1, 0.0], 0.25);
        assert_eq!(groups.upper[..2], [0.5, 0.5]);
    }
}
