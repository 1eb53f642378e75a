//! The cheapest set of atoms that makes a net reach its goal.

use super::hitting::Cover;
use super::net::{Net, Run};

/// A set that reaches the goal.
#[derive(Debug, Clone)]
pub(crate) struct Found {
    /// The atoms, in order.
    pub(crate) chosen: Vec<usize>,
    /// What they cost.
    pub(crate) cost: u64,
    /// No set costs less.
    pub(crate) bound: u64,
}

/// A search in progress.
struct Search<'n> {
    net: &'n Net,
    cost: &'n [u64],
    /// Every atom that may be allowed, cheapest first.
    actions: Vec<usize>,
    forced: Vec<bool>,
    best: Found,
    steps: u64,
}

/// The cheapest set among `allowed`, which as a whole must reach the goal.
pub(crate) fn least(net: &Net, cost: &[u64], allowed: &[bool], steps: u64) -> Found {
    let mut actions: Vec<usize> = (0..net.atoms()).filter(|a| allowed[*a]).collect();
    actions.sort_by_key(|a| (cost[*a], *a));
    let first = net.estimate(cost, allowed).support(net);
    let forced = forced(net, &actions, &first);
    let best = prune(net, cost, &forced, first);
    let mut search = Search { net, cost, actions, forced, best, steps };
    search.improve();
    search.best
}

/// Leaves out what is not needed, dearest first; what is forced always is.
fn prune(net: &Net, cost: &[u64], forced: &[bool], mut chosen: Vec<bool>) -> Found {
    let mut order: Vec<usize> =
        (0..chosen.len()).filter(|a| chosen[*a] && !forced[*a]).collect();
    order.sort_by_key(|a| (std::cmp::Reverse(cost[*a]), *a));
    let mut run = net.run();
    (0..chosen.len()).filter(|a| forced[*a]).for_each(|a| run.allow(a));
    // What is still to be judged comes last, so that only the end is undone.
    for at in 0..order.len() {
        let mark = run.mark();
        order[at + 1..].iter().for_each(|a| run.allow(*a));
        let needed = !run.reached();
        run.back(mark);
        if needed {
            run.allow(order[at]);
        } else {
            chosen[order[at]] = false;
        }
    }
    let kept: Vec<usize> = (0..chosen.len()).filter(|a| chosen[*a]).collect();
    let cost = kept.iter().map(|a| cost[*a]).sum();
    Found { chosen: kept, cost, bound: 0 }
}

/// Which atoms of a set that reaches the goal are in every such set.
fn forced(net: &Net, actions: &[usize], set: &[bool]) -> Vec<bool> {
    let mut forced = vec![false; net.atoms()];
    let mut run = net.run();
    actions.iter().filter(|a| !set[**a]).for_each(|a| run.allow(*a));
    let members: Vec<usize> = (0..set.len()).filter(|a| set[*a]).collect();
    halve(&mut run, &members, &mut forced);
    forced
}

/// With everything allowed but `members`: which of them the goal cannot do without. By
/// halves, so that each half is judged with the other one allowed once for all of it.
fn halve(run: &mut Run<'_>, members: &[usize], forced: &mut [bool]) {
    if run.reached() {
        return;
    }
    if let [only] = members {
        forced[*only] = true;
        return;
    }
    let (one, other) = members.split_at(members.len() / 2);
    for (judged, allowed) in [(one, other), (other, one)] {
        let mark = run.mark();
        for atom in allowed {
            run.allow(*atom);
        }
        halve(run, judged, forced);
        run.back(mark);
    }
}

impl Search<'_> {
    fn improve(&mut self) {
        let forced: u64 = self.sum(&self.forced);
        let mut cover = Cover::new(self.cost);
        loop {
            let hit = cover.solve(&mut self.steps);
            self.best.bound = self.best.bound.max(forced + hit.bound).min(self.best.cost);
            if self.best.bound >= self.best.cost {
                return;
            }
            let mut chosen = self.forced.clone();
            hit.chosen.iter().for_each(|a| chosen[*a] = true);
            let rows = self.rows(&mut chosen);
            let exact = rows.is_empty() && hit.optimal;
            let found = prune(self.net, self.cost, &self.forced, chosen);
            if found.cost < self.best.cost {
                self.best = Found { bound: self.best.bound, ..found };
            }
            if exact {
                self.best.bound = self.best.cost;
                return;
            }
            if rows.is_empty() || self.steps == 0 {
                return;
            }
            for row in rows {
                cover.add(row);
            }
        }
    }

    fn sum(&self, set: &[bool]) -> u64 {
        (0..set.len()).filter(|a| set[*a]).map(|a| self.cost[a]).sum()
    }

    /// Landmarks that `chosen` leaves out, one after the other; after each, its cheapest
    /// atom is chosen, until the goal is reached.
    fn rows(&mut self, chosen: &mut [bool]) -> Vec<Vec<usize>> {
        let mut run = self.net.run();
        (0..chosen.len()).filter(|a| chosen[*a]).for_each(|a| run.allow(a));
        let mut rows = Vec::new();
        while !run.reached() {
            let row = self.landmark(&mut run, chosen);
            let work = 1 + self.actions.len() as u64 / 64;
            self.steps = self.steps.saturating_sub(work);
            // The row is never empty: all atoms together reach the goal.
            let Some(&cheapest) = row.first() else { break };
            chosen[cheapest] = true;
            run.allow(cheapest);
            rows.push(row);
        }
        rows
    }

    /// Allows whatever does not reach the goal, cheapest first; what is left over are atoms
    /// of which every lawful set has one. The state is left as it was.
    fn landmark(&self, run: &mut Run<'_>, chosen: &[bool]) -> Vec<usize> {
        let start = run.mark();
        let mut left = Vec::new();
        for &atom in self.actions.iter().filter(|a| !chosen[**a]) {
            let mark = run.mark();
            run.allow(atom);
            if run.reached() {
                run.back(mark);
                left.push(atom);
            }
        }
        run.back(start);
        left
    }
}
