//! The cheapest set that takes something from each of given sets ("rows").

use std::collections::{BTreeMap, BTreeSet};

/// Rows that grow in number, and what was found for those that hang together.
pub(crate) struct Cover<'c> {
    cost: &'c [u64],
    rows: BTreeSet<Vec<usize>>,
    known: BTreeMap<Vec<Vec<usize>>, Hit>,
}

/// A set that takes something from each row.
#[derive(Debug, Clone, Default)]
pub(crate) struct Hit {
    pub(crate) chosen: Vec<usize>,
    /// No such set costs less.
    pub(crate) bound: u64,
    pub(crate) optimal: bool,
}

impl<'c> Cover<'c> {
    pub(crate) fn new(cost: &'c [u64]) -> Self {
        Self { cost, rows: BTreeSet::new(), known: BTreeMap::new() }
    }

    pub(crate) fn add(&mut self, mut row: Vec<usize>) {
        row.sort_unstable();
        self.rows.insert(row);
    }

    /// The cheapest set for all rows; when the steps run out, a good one and a bound.
    pub(crate) fn solve(&mut self, steps: &mut u64) -> Hit {
        let mut whole = Hit { optimal: true, ..Hit::default() };
        let mut known = BTreeMap::new();
        for part in parts(self.rows.iter().cloned().collect()) {
            let hit = match self.known.remove(&part) {
                Some(hit) if hit.optimal => hit,
                _ => Branch::solve(&part, self.cost, steps),
            };
            whole.chosen.extend(&hit.chosen);
            whole.bound += hit.bound;
            whole.optimal &= hit.optimal;
            known.insert(part, hit);
        }
        self.known = known;
        whole
    }
}

/// Rows in groups that share no element, without those that contain another one.
fn parts(rows: Vec<Vec<usize>>) -> Vec<Vec<Vec<usize>>> {
    let rows = without_supersets(rows);
    let mut group: Vec<usize> = (0..rows.len()).collect();
    let mut first: BTreeMap<usize, usize> = BTreeMap::new();
    for (at, row) in rows.iter().enumerate() {
        for element in row {
            let other = *first.entry(*element).or_insert(at);
            let (a, b) = (root(&mut group, at), root(&mut group, other));
            group[a.max(b)] = a.min(b);
        }
    }
    let mut grouped: BTreeMap<usize, Vec<Vec<usize>>> = BTreeMap::new();
    for (at, row) in rows.into_iter().enumerate() {
        grouped.entry(root(&mut group, at)).or_default().push(row);
    }
    grouped.into_values().collect()
}

fn root(group: &mut [usize], mut at: usize) -> usize {
    while group[at] != at {
        group[at] = group[group[at]];
        at = group[at];
    }
    at
}

fn without_supersets(mut rows: Vec<Vec<usize>>) -> Vec<Vec<usize>> {
    rows.sort_by(|a, b| a.len().cmp(&b.len()).then_with(|| a.cmp(b)));
    // Kept rows by their elements: a subset of a row shares its first element with it.
    let mut by_first: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    let mut kept: Vec<Vec<usize>> = Vec::new();
    for row in rows {
        let held = |at: &usize| kept[*at].iter().all(|e| row.binary_search(e).is_ok());
        let covered = row.iter().filter_map(|e| by_first.get(e)).flatten().any(held);
        if !covered {
            by_first.entry(row[0]).or_default().push(kept.len());
            kept.push(row);
        }
    }
    kept
}

/// Branch and bound over the rows of one group.
struct Branch<'b> {
    cost: &'b [u64],
    best: Vec<usize>,
    best_cost: u64,
    steps: &'b mut u64,
}

impl<'b> Branch<'b> {
    fn solve(rows: &[Vec<usize>], cost: &'b [u64], steps: &'b mut u64) -> Hit {
        let best = greedy(rows, cost);
        let best_cost = best.iter().map(|e| cost[*e]).sum();
        let mut branch = Branch { cost, best, best_cost, steps };
        let bound = rise(rows, cost);
        branch.search(rows.to_vec(), &mut Vec::new(), 0);
        let optimal = *branch.steps > 0;
        let bound = if optimal { branch.best_cost } else { bound };
        branch.best.sort_unstable();
        Hit { chosen: branch.best, bound, optimal }
    }

    /// Rows hold no element that is barred; every row must still be hit.
    fn search(&mut self, rows: Vec<Vec<usize>>, chosen: &mut Vec<usize>, spent: u64) {
        if *self.steps == 0 {
            return;
        }
        *self.steps -= 1;
        let depth = chosen.len();
        let (rows, spent) = self.settle(rows, chosen, spent);
        if let Some(rows) = rows {
            self.divide(rows, chosen, spent);
        }
        chosen.truncate(depth);
    }

    /// Takes what is the only choice of some row, until there is none; no rows if this is a
    /// dead end or a finished set.
    fn settle(
        &mut self,
        mut rows: Vec<Vec<usize>>,
        chosen: &mut Vec<usize>,
        mut spent: u64,
    ) -> (Option<Vec<Vec<usize>>>, u64) {
        while let Some(only) = rows.iter().find(|row| row.len() == 1).map(|row| row[0]) {
            chosen.push(only);
            spent += self.cost[only];
            rows.retain(|row| row.binary_search(&only).is_err());
            if spent >= self.best_cost {
                return (None, spent);
            }
        }
        if rows.iter().any(Vec::is_empty) {
            return (None, spent);
        }
        if rows.is_empty() {
            if spent < self.best_cost {
                self.best_cost = spent;
                self.best.clone_from(chosen);
            }
            return (None, spent);
        }
        let open = spent + rise(&rows, self.cost) < self.best_cost;
        (open.then_some(rows), spent)
    }

    /// Each element of the shortest row in turn, the likeliest first; the next branches bar
    /// it.
    fn divide(&mut self, rows: Vec<Vec<usize>>, chosen: &mut Vec<usize>, spent: u64) {
        let mut rows = narrowed(without_supersets(rows), self.cost);
        let Some(shortest) = rows.iter().min_by_key(|row| row.len()).cloned() else {
            return;
        };
        let mut order: Vec<(u64, usize)> = shortest
            .iter()
            .map(|e| {
                let hits = rows.iter().filter(|row| row.binary_search(e).is_ok()).count();
                (self.cost[*e] * 1024 / hits.max(1) as u64, *e)
            })
            .collect();
        order.sort_unstable();
        for (_, element) in order {
            let left = rows.iter().filter(|row| row.binary_search(&element).is_err());
            let left = left.cloned().collect();
            chosen.push(element);
            self.search(left, chosen, spent + self.cost[element]);
            chosen.pop();
            for row in &mut rows {
                row.retain(|e| *e != element);
            }
        }
    }
}

/// Leaves out elements that another one replaces: it hits the same rows, and more or
/// cheaper.
fn narrowed(mut rows: Vec<Vec<usize>>, cost: &[u64]) -> Vec<Vec<usize>> {
    let mut hits: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, row) in rows.iter().enumerate() {
        row.iter().for_each(|e| hits.entry(*e).or_default().push(at));
    }
    let mut barred = BTreeSet::new();
    for (element, rows_hit) in &hits {
        // A replacement hits the first of these rows too.
        let replaced = rows[rows_hit[0]].iter().any(|other| {
            other != element
                && !barred.contains(other)
                && cost[*other] <= cost[*element]
                && hits.get(other).is_some_and(|theirs| {
                    rows_hit.iter().all(|row| theirs.binary_search(row).is_ok())
                })
        });
        if replaced {
            barred.insert(*element);
        }
    }
    for row in &mut rows {
        row.retain(|e| !barred.contains(e));
    }
    rows
}

/// A bound from below: each row in turn takes what its cheapest element has left to give.
fn rise(rows: &[Vec<usize>], cost: &[u64]) -> u64 {
    let mut left: BTreeMap<usize, u64> = BTreeMap::new();
    let mut bound = 0;
    for row in rows {
        let give = row.iter().map(|e| *left.get(e).unwrap_or(&cost[*e])).min();
        let give = give.unwrap_or(0);
        for element in row {
            *left.entry(*element).or_insert(cost[*element]) -= give;
        }
        bound += give;
    }
    bound
}

/// A set to start from: again and again the element with the most rows for its cost.
fn greedy(rows: &[Vec<usize>], cost: &[u64]) -> Vec<usize> {
    let mut open: Vec<&Vec<usize>> = rows.iter().collect();
    let mut chosen = Vec::new();
    while !open.is_empty() {
        let mut hits: BTreeMap<usize, u64> = BTreeMap::new();
        for element in open.iter().copied().flatten() {
            *hits.entry(*element).or_default() += 1;
        }
        let best = hits.iter().min_by(|(a, x), (b, y)| {
            let (one, other) = (
                u128::from(cost[**a]) * u128::from(**y),
                u128::from(cost[**b]) * u128::from(**x),
            );
            one.cmp(&other).then(a.cmp(b))
        });
        let Some((&best, _)) = best else { break };
        chosen.push(best);
        open.retain(|row| row.binary_search(&best).is_err());
    }
    chosen
}
