//! A second bound for stretches with much to choose from: Lagrangian relaxation.
//!
//! Every resource (the room of each window, the count and the talk of each limit) gets a price.
//! Whatever is chosen, its worth is at most the price of all that is left of the resources plus,
//! line by line, the most that a choice is worth above the price of what it uses. Any prices
//! give a bound; good ones are found by subgradient steps (Held, Wolfe and Crowder 1974, from
//! memory) at the root and kept. Bounds are summed in whole numbers.

/// Prices are whole numbers of this part of a unit of worth.
const SCALE: i64 = 1 << 16;
/// Steps taken from the root; more changed nothing on sessions made to be hard.
const STEPS: usize = 120;
/// Sets of prices kept: the best, and others that are better deep in the search.
const KEPT: usize = 6;

/// A choice as far as it uses resources.
#[derive(Debug, Clone)]
pub struct Use {
    pub value: i64,
    /// Amounts of resources, by their index.
    pub uses: Vec<(usize, i64)>,
}

/// A line as a row of choices of which one is taken, or for an optional line none.
#[derive(Debug, Clone)]
pub struct Row {
    pub must: bool,
    pub choices: Vec<Use>,
}

/// Prices that bound what a search can still find.
#[derive(Debug)]
pub struct Prices {
    sets: Vec<Set>,
}

#[derive(Debug)]
struct Set {
    prices: Vec<i64>,
    /// What the rows from each depth on are worth above their price.
    after: Vec<i64>,
}

impl Prices {
    /// Finds prices for rows in the order of the search; `whole` is how much there is of each
    /// resource, `found` the best worth known.
    pub fn find(rows: &[Row], whole: &[i64], found: i64) -> Self {
        let mut prices = vec![0.0_f64; whole.len()];
        let mut sets: Vec<(i64, Set)> = Vec::new();
        let mut pace = 1.0;
        let mut since_better = 0;
        for _ in 0..STEPS {
            let set = Set::new(rows, &prices);
            let bound = set.bound(0, whole);
            if sets.last().is_none_or(|(best, _)| bound < *best) {
                sets.push((bound, set));
                since_better = 0;
            } else {
                since_better += 1;
                if since_better % 4 == 0 {
                    pace /= 2.0;
                }
            }
            if bound <= found {
                break;
            }
            // Uphill where more is used than there is, as a part of the whole.
            let over = over_use(rows, &prices, whole);
            let norm: f64 = over.iter().map(|o| o * o).sum();
            if norm < 1e-9 {
                break;
            }
            let step = pace * (bound - found).max(1) as f64 / norm;
            for ((price, over), whole) in prices.iter_mut().zip(&over).zip(whole) {
                let whole = (*whole).max(1) as f64;
                *price = (*price + step * over / whole).max(0.0);
            }
        }
        let first = sets.len().saturating_sub(KEPT);
        let mut sets: Vec<_> = sets.drain(first..).map(|(_, set)| set).collect();
        sets.reverse();
        Self { sets }
    }

    /// Returns the most that the rows from `depth` on can add to what uses the rest of `left`.
    pub fn bound(&self, depth: usize, left: &[i64]) -> i64 {
        let bounds = self.sets.iter().map(|set| set.bound(depth, left));
        bounds.min().unwrap_or(i64::MAX)
    }
}

impl Set {
    fn new(rows: &[Row], prices: &[f64]) -> Self {
        let prices: Vec<_> = prices
            .iter()
            .map(|p| (p * SCALE as f64).round() as i64)
            .collect();
        let mut after = vec![0; rows.len() + 1];
        for (depth, row) in rows.iter().enumerate().rev() {
            let net = |c: &Use| c.value * SCALE - cost(c, &prices);
            let best = row.choices.iter().map(net).max().unwrap_or(0);
            after[depth] = after[depth + 1] + if row.must { best } else { best.max(0) };
        }
        Self { prices, after }
    }

    fn bound(&self, depth: usize, left: &[i64]) -> i64 {
        let rest: i64 = self.prices.iter().zip(left).map(|(p, l)| p * l).sum();
        (rest + self.after[depth]).div_euclid(SCALE)
    }
}

fn cost(choice: &Use, prices: &[i64]) -> i64 {
    choice.uses.iter().map(|(at, n)| prices[*at] * n).sum()
}

/// Returns by how much each resource is used beyond what there is, as a part of it, when every
/// row takes what is best for it at these prices.
fn over_use(rows: &[Row], prices: &[f64], whole: &[i64]) -> Vec<f64> {
    let mut used = vec![0i64; whole.len()];
    for row in rows {
        let net = |c: &Use| {
            let cost: f64 = c.uses.iter().map(|(at, n)| prices[*at] * *n as f64).sum();
            c.value as f64 - cost
        };
        let best = row.choices.iter().max_by(|a, b| net(a).total_cmp(&net(b)));
        if let Some(best) = best.filter(|b| row.must || net(b) > 0.0) {
            for (at, n) in &best.uses {
                used[*at] += n;
            }
        }
    }
    used.iter()
        .zip(whole)
        .map(|(used, whole)| (used - whole) as f64 / (*whole).max(1) as f64)
        .collect()
}
