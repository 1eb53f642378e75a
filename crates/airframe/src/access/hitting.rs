//! The cheapest set that takes something from each of given sets ("rows").

use std::collections::{BTreeMap, BTreeSet};

use super::relax::relax;

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

/// Rows must not be empty.
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

/// Branch and bound: what is certain is taken, what falls apart is solved apart, and a bound
/// by relaxation ([`relax`]) leaves out what cannot be in a better set.
struct Branch<'b> {
    cost: &'b [u64],
    steps: &'b mut u64,
}

/// A set and its cost.
type Set = (u64, Vec<usize>);

impl<'b> Branch<'b> {
    fn solve(rows: &[Vec<usize>], cost: &'b [u64], steps: &'b mut u64) -> Hit {
        let relaxed = relax(rows, cost, u64::MAX);
        let mut branch = Branch { cost, steps };
        let better = branch.search(rows.to_vec(), relaxed.set.0);
        let optimal = *branch.steps > 0 || relaxed.bound == relaxed.set.0;
        let (worth, mut chosen) = better.unwrap_or(relaxed.set);
        chosen.sort_unstable();
        let bound = if optimal { worth } else { relaxed.bound };
        Hit { chosen, bound, optimal }
    }

    /// The cheapest set for the rows if it costs less than `limit`; when the steps run out,
    /// perhaps none or not the cheapest.
    fn search(&mut self, rows: Vec<Vec<usize>>, limit: u64) -> Option<Set> {
        if *self.steps == 0 {
            return None;
        }
        let size: usize = rows.iter().map(Vec::len).sum();
        *self.steps = self.steps.saturating_sub(1 + size as u64 / 16);
        let (rows, (spent, mut chosen)) = self.settle(rows)?;
        let limit = limit.checked_sub(spent).filter(|limit| *limit > 0)?;
        let parts = parts(rows);
        let (cost, set) = match parts.len() {
            0 => (0, Vec::new()),
            1 => self.whole(parts.into_iter().next()?, limit)?,
            _ => self.apart(parts, limit)?,
        };
        chosen.extend(set);
        Some((spent + cost, chosen))
    }

    /// Takes what is the only choice of some row and leaves out what something else
    /// replaces, until neither is left; nothing if some row has no choice.
    fn settle(&self, mut rows: Vec<Vec<usize>>) -> Option<(Vec<Vec<usize>>, Set)> {
        let (mut spent, mut chosen) = (0, Vec::new());
        loop {
            if rows.iter().any(Vec::is_empty) {
                return None;
            }
            rows = narrowed(without_supersets(rows), self.cost);
            let only: BTreeSet<usize> =
                rows.iter().filter(|row| row.len() == 1).map(|row| row[0]).collect();
            if only.is_empty() {
                return Some((rows, (spent, chosen)));
            }
            rows.retain(|row| !row.iter().any(|e| only.contains(e)));
            spent += only.iter().map(|e| self.cost[*e]).sum::<u64>();
            chosen.extend(only);
        }
    }

    /// Parts that share no element, each within what the bounds of the others leave.
    fn apart(&mut self, parts: Vec<Vec<Vec<usize>>>, limit: u64) -> Option<Set> {
        let bounds: Vec<u64> = parts.iter().map(|part| rise(part, self.cost)).collect();
        let mut floor: u64 = bounds.iter().sum();
        let mut whole = (0, Vec::new());
        for (part, bound) in parts.into_iter().zip(bounds) {
            let room = limit.checked_sub(floor - bound).filter(|room| *room > 0)?;
            let (cost, set) = self.search(part, room)?;
            floor += cost - bound;
            whole.0 += cost;
            whole.1.extend(set);
        }
        (whole.0 < limit).then_some(whole)
    }

    fn whole(&mut self, rows: Vec<Vec<usize>>, limit: u64) -> Option<Set> {
        let relaxed = relax(&rows, self.cost, limit);
        let found = (relaxed.set.0 < limit).then_some(relaxed.set);
        let limit = found.as_ref().map_or(limit, |(cost, _)| *cost);
        if relaxed.bound >= limit {
            return found;
        }
        let better = if relaxed.surely.is_empty() && relaxed.never.is_empty() {
            self.divide(&rows, relaxed.branch, limit)
        } else {
            self.fix(rows, &relaxed.surely, &relaxed.never, limit)
        };
        better.or(found)
    }

    /// Goes on with what any better set must and must not take.
    fn fix(
        &mut self,
        mut rows: Vec<Vec<usize>>,
        surely: &BTreeSet<usize>,
        never: &BTreeSet<usize>,
        limit: u64,
    ) -> Option<Set> {
        let spent: u64 = surely.iter().map(|e| self.cost[*e]).sum();
        let room = limit.checked_sub(spent).filter(|room| *room > 0)?;
        rows.retain(|row| !row.iter().any(|e| surely.contains(e)));
        for row in &mut rows {
            row.retain(|e| !never.contains(e));
        }
        let (cost, mut set) = self.search(rows, room)?;
        set.extend(surely);
        Some((cost + spent, set))
    }

    /// With an element, then without it.
    fn divide(
        &mut self,
        rows: &[Vec<usize>],
        element: usize,
        mut limit: u64,
    ) -> Option<Set> {
        let only = BTreeSet::from([element]);
        let none = BTreeSet::new();
        let with = self.fix(rows.to_vec(), &only, &none, limit);
        if let Some((cost, _)) = &with {
            limit = *cost;
        }
        self.fix(rows.to_vec(), &none, &only, limit).or(with)
    }
}

/// Leaves out elements that another one replaces: it hits the same rows, and more or
/// cheaper.
fn narrowed(mut rows: Vec<Vec<usize>>, cost: &[u64]) -> Vec<Vec<usize>> {
    let mut hits: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
    for (at, row) in rows.iter().enumerate() {
        for e in row {
            hits.entry(*e).or_default().push(at);
        }
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
    gifts(rows, cost).into_iter().sum()
}

fn gifts(rows: &[Vec<usize>], cost: &[u64]) -> Vec<u64> {
    let mut left: BTreeMap<usize, u64> = BTreeMap::new();
    let mut gifts = Vec::new();
    for row in rows {
        let give = row.iter().map(|e| *left.get(e).unwrap_or(&cost[*e])).min();
        let give = give.unwrap_or(0);
        for element in row {
            *left.entry(*element).or_insert(cost[*element]) -= give;
        }
        gifts.push(give);
    }
    gifts
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;

    fn brute(rows: &[Vec<usize>], cost: &[u64]) -> u64 {
        let hits = |set: usize| {
            rows.iter().all(|row| row.iter().any(|element| set >> element & 1 == 1))
        };
        let worth = |set: usize| {
            (0..cost.len()).filter(move |e| set >> e & 1 == 1).map(|e| cost[e])
        };
        let sets = (0..1_usize << cost.len()).filter(|set| hits(*set));
        sets.map(|set| worth(set).sum()).min().unwrap()
    }

    fn solved(rows: &[Vec<usize>], cost: &[u64], mut steps: u64) -> Hit {
        let mut cover = Cover::new(cost);
        for row in rows {
            cover.add(row.clone());
        }
        let hit = cover.solve(&mut steps);
        for row in rows {
            assert!(row.iter().any(|element| hit.chosen.contains(element)), "{row:?}");
        }
        hit
    }

    proptest! {
        #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

        #[test]
        fn finds_the_cheapest_set(
            rows in prop::collection::vec(prop::collection::btree_set(0_usize..13, 1..5), 0..32),
            cost in prop::collection::vec(1_u64..30, 13),
            steps in 1_u64..6,
        ) {
            let rows: Vec<Vec<usize>> =
                rows.into_iter().map(|row| row.into_iter().collect()).collect();
            let least = brute(&rows, &cost);
            let hit = solved(&rows, &cost, 100_000);
            let worth = |hit: &Hit| hit.chosen.iter().map(|e| cost[*e]).sum::<u64>();
            prop_assert_eq!((worth(&hit), hit.bound, hit.optimal), (least, least, true));
            let short = solved(&rows, &cost, steps);
            prop_assert!(short.bound <= least && least <= worth(&short));
            prop_assert!(!short.optimal || worth(&short) == least);
        }
    }
}
