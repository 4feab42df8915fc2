//! From the number of an item to what it draws: no random state, the same everywhere.
//!
//! A draw is `splitmix64` (Steele, Lea and Flood 2014, *OOPSLA*) of the FNV-1a hash of what is drawn for, so that one draw says nothing of another
//! and adding a template moves no other item.

/// What is drawn for: a template, a number, and a name.
#[derive(Clone, Copy, Debug)]
pub struct Draw<'a> {
    /// Identifier of the template or the set.
    pub of: &'a str,
    /// Number.
    pub number: u64,
    /// How often it was tried before.
    pub attempt: u32,
}

impl Draw<'_> {
    /// A whole number below `below`, every one as likely as the other; 0 where there is nothing to choose.
    pub fn below(&self, name: &str, below: usize) -> usize {
        // The high half of the product: Lemire (2019), without his rejection, whose bias at these sizes is below 1e-15.
        ((u128::from(self.bits(name)) * below as u128) >> 64) as usize
    }

    /// Places 0 to `count` in an order, every one as likely as the other: Fisher and Yates.
    pub fn order(&self, name: &str, count: usize) -> Vec<usize> {
        let mut order: Vec<usize> = (0..count).collect();
        for last in (1..count).rev() {
            order.swap(last, self.below(&format!("{name}.{last}"), last + 1));
        }
        order
    }

    fn bits(&self, name: &str) -> u64 {
        let mut hash = 0xcbf2_9ce4_8422_2325_u64;
        let number = self.number.to_le_bytes();
        let attempt = self.attempt.to_le_bytes();
        for part in [self.of.as_bytes(), &[0], &number, &attempt, name.as_bytes()] {
            for &byte in part {
                hash = (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3);
            }
        }
        let mut z = hash.wrapping_add(0x9e37_79b9_7f4a_7c15);
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_draw_is_even_and_repeats() {
        let mut counts = [0_u32; 6];
        for number in 0..6000 {
            let draw = Draw { of: "t", number, attempt: 0 };
            let order = draw.order("options", 3);
            assert_eq!(order, draw.order("options", 3));
            let place = match order.as_slice() {
                [0, 1, 2] => 0,
                [0, 2, 1] => 1,
                [1, 0, 2] => 2,
                [1, 2, 0] => 3,
                [2, 0, 1] => 4,
                _ => 5,
            };
            counts[place] += 1;
        }
        // Chi-square of five degrees of freedom: 20.5 is its 99.9 % point.
        let off = |count: u32| f64::from(count) - 1000.0;
        let chi: f64 = counts.iter().map(|&count| off(count) * off(count) / 1000.0).sum();
        assert!(chi < 20.5, "{counts:?}");
    }
}
