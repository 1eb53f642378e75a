//! Rings in what waits for what.

use std::collections::{BTreeMap, BTreeSet};

/// What each thing waits for.
pub(crate) type Waits = BTreeMap<usize, BTreeSet<usize>>;

/// A shortest ring through the first thing that is in one; nothing if there is no ring.
pub(crate) fn ring(waits: &Waits) -> Option<Vec<usize>> {
    rings(waits).into_iter().next()
}

/// For each knot of things that wait for each other, a shortest ring through its first one.
pub(crate) fn rings(waits: &Waits) -> Vec<Vec<usize>> {
    let knots = knots(waits);
    let mut rings = Vec::new();
    let mut told = BTreeSet::new();
    for (&at, &knot) in &knots {
        if told.contains(&knot) {
            continue;
        }
        if let Some(ring) = through(waits, &knots, at) {
            told.insert(knot);
            rings.push(ring);
        }
    }
    rings
}

/// A shortest way from a thing back to itself within its knot.
fn through(
    waits: &Waits,
    knots: &BTreeMap<usize, usize>,
    start: usize,
) -> Option<Vec<usize>> {
    let mut from: BTreeMap<usize, usize> = BTreeMap::new();
    let mut queue = std::collections::VecDeque::from([start]);
    while let Some(at) = queue.pop_front() {
        for &next in waits.get(&at).into_iter().flatten() {
            if next == start {
                let back = std::iter::successors(Some(at), |at| from.get(at).copied());
                let mut ring: Vec<usize> = back.collect();
                ring.reverse();
                return Some(ring);
            }
            if knots.get(&next) == knots.get(&start) && !from.contains_key(&next) {
                from.insert(next, at);
                queue.push_back(next);
            }
        }
    }
    None
}

/// The strongly connected parts (Tarjan's algorithm, without recursion): for each thing
/// the number of its part.
fn knots(waits: &Waits) -> BTreeMap<usize, usize> {
    let mut found = Tarjan::default();
    for &at in waits.keys() {
        if !found.index.contains_key(&at) {
            found.visit(waits, at);
        }
    }
    found.knot
}

#[derive(Default)]
struct Tarjan {
    index: BTreeMap<usize, usize>,
    low: BTreeMap<usize, usize>,
    open: Vec<usize>,
    knot: BTreeMap<usize, usize>,
}

impl Tarjan {
    fn enter(&mut self, at: usize) {
        let number = self.index.len();
        self.index.insert(at, number);
        self.low.insert(at, number);
        self.open.push(at);
    }

    fn visit(&mut self, waits: &Waits, start: usize) {
        let next = |at: usize| waits.get(&at).into_iter().flatten().copied();
        self.enter(start);
        let mut path = vec![(start, next(start))];
        while let Some((at, edges)) = path.last_mut() {
            let at = *at;
            if let Some(to) = edges.next() {
                if !self.index.contains_key(&to) {
                    self.enter(to);
                    path.push((to, next(to)));
                } else if !self.knot.contains_key(&to) {
                    self.lower(at, self.index[&to]);
                }
                continue;
            }
            path.pop();
            let low = self.low[&at];
            if let Some((parent, _)) = path.last() {
                self.lower(*parent, low);
            }
            if low == self.index[&at] {
                self.close(at);
            }
        }
    }

    fn lower(&mut self, at: usize, to: usize) {
        self.low.entry(at).and_modify(|low| *low = (*low).min(to));
    }

    fn close(&mut self, first: usize) {
        let number = self.knot.len();
        while let Some(at) = self.open.pop() {
            self.knot.insert(at, number);
            if at == first {
                break;
            }
        }
    }
}
