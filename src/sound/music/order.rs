//! Which track comes next: a pure function of the seed and of what was heard.

use super::Order;

/// The endless row of a list's indices.
#[derive(Debug)]
pub(super) struct Row {
    order: Order,
    count: usize,
    /// What is left of this time through the list, the next one last.
    left: Vec<usize>,
    round: u64,
    last: Option<usize>,
}

impl Row {
    pub(super) fn new(order: Order, count: usize) -> Self {
        Self {
            order,
            count,
            left: Vec::new(),
            round: 0,
            last: None,
        }
    }

    /// Returns the next index; `None` for an empty list.
    pub(super) fn next(&mut self) -> Option<usize> {
        if self.left.is_empty() {
            self.left = (0..self.count).rev().collect();
            if let Order::Shuffled { seed } = self.order {
                shuffle(&mut self.left, mixed(seed).wrapping_add(self.round));
                // The last track of one round is not the first of the next.
                if self.count > 1 && self.left.last() == self.last.as_ref() {
                    let end = self.count - 1;
                    self.left.swap(0, end);
                }
            }
            self.round += 1;
        }
        self.last = self.left.pop();
        self.last
    }
}

/// Fisher and Yates; each order as likely as any other, but for less than anybody could hear.
fn shuffle(list: &mut [usize], seed: u64) {
    let mut state = seed;
    for at in (1..list.len()).rev() {
        state = state.wrapping_add(0x9e37_79b9_7f4a_7c15);
        list.swap(at, (mixed(state) % (at as u64 + 1)) as usize);
    }
}

/// The mixing step of SplitMix64 (Steele, Lea and Flood 2014; constants from memory).
fn mixed(value: u64) -> u64 {
    let value = (value ^ (value >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
    let value = (value ^ (value >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
    value ^ (value >> 31)
}

#[cfg(test)]
mod tests {
    use super::*;
    use std::collections::HashSet;

    fn taken(order: Order, count: usize, many: usize) -> Vec<usize> {
        let mut row = Row::new(order, count);
        (0..many).filter_map(|_| row.next()).collect()
    }

    #[test]
    fn each_track_is_heard_once_before_any_comes_again_and_none_twice_running() {
        for seed in 0..200 {
            let row = taken(Order::Shuffled { seed }, 5, 50);
            for round in row.chunks(5) {
                assert_eq!(round.iter().collect::<HashSet<_>>().len(), 5, "{row:?}");
            }
            assert!(row.windows(2).all(|pair| pair[0] != pair[1]), "{row:?}");
        }
        assert_eq!(taken(Order::Named, 3, 7), [0, 1, 2, 0, 1, 2, 0]);
        assert_eq!(taken(Order::Shuffled { seed: 1 }, 1, 3), [0, 0, 0]);
        assert_eq!(taken(Order::Named, 0, 3), [0usize; 0]);
    }

    #[test]
    fn a_seed_gives_one_order_and_seeds_differ() {
        let orders = |seed| taken(Order::Shuffled { seed }, 8, 16);
        assert_eq!(orders(7), orders(7));
        let all: HashSet<_> = (0..100).map(orders).collect();
        assert!(all.len() > 95, "{}", all.len());
        // No track has a place of its own: each begins now and then.
        let first: HashSet<_> = (0..100).map(|seed| orders(seed)[0]).collect();
        assert_eq!(first.len(), 8);
    }
}
