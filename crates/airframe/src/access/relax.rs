//! A bound for the cheapest hitting set, and a good set beside it.
//!
//! Each row gets a price; an element is worth its cost less the prices of its rows. For any
//! prices, their sum plus all that is worth less than nothing bounds every set from below
//! (Lagrange). Prices are bettered by steps along the rows that are hit too often or not at
//! all (Held and Karp; the use for covers after Beasley, from memory).

use std::collections::{BTreeMap, BTreeSet};

/// What relaxation tells.
#[derive(Debug)]
pub(super) struct Relaxed {
    /// No set costs less.
    pub(super) bound: u64,
    /// A set.
    pub(super) set: (u64, Vec<usize>),
    /// What every set cheaper than the limit and the set above takes.
    pub(super) surely: BTreeSet<usize>,
    /// What no such set takes.
    pub(super) never: BTreeSet<usize>,
    /// Where to branch: the element on which most hangs.
    pub(super) branch: usize,
}

/// How often the prices are bettered.
const ROUNDS: usize = 150;
/// Costs are whole numbers; sums of prices are this exact.
const SLACK: f64 = 1e-6;

/// The rows with elements numbered from 0.
struct Table {
    names: Vec<usize>,
    cost: Vec<f64>,
    rows: Vec<Vec<usize>>,
    of: Vec<Vec<usize>>,
}

/// A bound and a set for rows that are not empty, and what follows for any set that costs
/// less than `limit`.
pub(super) fn relax(rows: &[Vec<usize>], cost: &[u64], limit: u64) -> Relaxed {
    let table = Table::of(rows, cost);
    let mut prices = table.first_prices();
    let mut best_prices = prices.clone();
    let (mut bound, mut worth) = table.bound(&prices);
    let mut set = table.cover(&worth);
    let mut stride = 1.0;
    let mut stalled = 0;
    for round in 0..ROUNDS {
        let ceiling = set.0.min(limit as f64);
        if bound > ceiling - 1.0 + SLACK || stride < 1e-3 {
            break;
        }
        let (now, _) = table.bound(&prices);
        table.step(&mut prices, &worth, stride * (ceiling - now).max(1.0));
        let (next, next_worth) = table.bound(&prices);
        worth = next_worth;
        if next > bound + SLACK {
            bound = next;
            best_prices.clone_from(&prices);
            stalled = 0;
        } else {
            stalled += 1;
            if stalled == 8 {
                (stalled, stride) = (0, stride / 2.0);
            }
        }
        if round % 5 == 0 {
            let other = table.cover(&worth);
            if other.0 < set.0 {
                set = other;
            }
        }
    }
    table.conclude(&best_prices, set, limit)
}

impl Table {
    fn of(rows: &[Vec<usize>], cost: &[u64]) -> Self {
        let names: Vec<usize> =
            rows.iter().flatten().copied().collect::<BTreeSet<_>>().into_iter().collect();
        let number: BTreeMap<usize, usize> =
            names.iter().enumerate().map(|(at, name)| (*name, at)).collect();
        let rows: Vec<Vec<usize>> =
            rows.iter().map(|row| row.iter().map(|e| number[e]).collect()).collect();
        let mut of = vec![Vec::new(); names.len()];
        for (at, row) in rows.iter().enumerate() {
            for element in row {
                of[*element].push(at);
            }
        }
        let cost = names.iter().map(|name| cost[*name] as f64).collect();
        Self { names, cost, rows, of }
    }

    /// Each row in turn takes what its cheapest element has left to give.
    fn first_prices(&self) -> Vec<f64> {
        let mut left = self.cost.clone();
        let mut prices = Vec::new();
        for row in &self.rows {
            let give = row.iter().map(|e| left[*e]).fold(f64::MAX, f64::min);
            for element in row {
                left[*element] -= give;
            }
            prices.push(give);
        }
        prices
    }

    /// The bound that prices give, and what each element is worth.
    fn bound(&self, prices: &[f64]) -> (f64, Vec<f64>) {
        let mut worth = self.cost.clone();
        for (row, price) in self.rows.iter().zip(prices) {
            for element in row {
                worth[*element] -= price;
            }
        }
        let gain: f64 = worth.iter().map(|worth| worth.min(0.0)).sum();
        (prices.iter().sum::<f64>() + gain, worth)
    }

    /// Raises the prices of rows that nothing hits, lowers those that are hit too often.
    fn step(&self, prices: &mut [f64], worth: &[f64], reach: f64) {
        let hits = |row: &Vec<usize>| row.iter().filter(|e| worth[**e] < 0.0).count();
        let slope: Vec<f64> =
            self.rows.iter().map(|row| 1.0 - hits(row) as f64).collect();
        let square: f64 = slope.iter().map(|s| s * s).sum();
        if square > 0.0 {
            for (price, slope) in prices.iter_mut().zip(slope) {
                *price = (*price + reach / square * slope).max(0.0);
            }
        }
    }

    /// A set: what is worth less than nothing, then for each row left what is worth least
    /// for the rows that it hits; without what turns out needless.
    fn cover(&self, worth: &[f64]) -> (f64, Vec<usize>) {
        let mut chosen: Vec<bool> = worth.iter().map(|worth| *worth < 0.0).collect();
        let mut hits: Vec<usize> = self
            .rows
            .iter()
            .map(|row| row.iter().filter(|e| chosen[**e]).count())
            .collect();
        for at in 0..self.rows.len() {
            if hits[at] > 0 {
                continue;
            }
            let open =
                |e: &usize| self.of[*e].iter().filter(|row| hits[**row] == 0).count();
            let rate = |e: &usize| worth[*e] / open(e) as f64;
            let best = self.rows[at].iter().min_by(|a, b| rate(a).total_cmp(&rate(b)));
            let Some(&best) = best else { continue };
            chosen[best] = true;
            self.of[best].iter().for_each(|row| hits[*row] += 1);
        }
        let mut order: Vec<usize> = (0..chosen.len()).filter(|e| chosen[*e]).collect();
        order.sort_by(|a, b| self.cost[*b].total_cmp(&self.cost[*a]).then(a.cmp(b)));
        for element in order {
            if self.of[element].iter().all(|row| hits[*row] > 1) {
                chosen[element] = false;
                self.of[element].iter().for_each(|row| hits[*row] -= 1);
            }
        }
        let set: Vec<usize> = (0..chosen.len()).filter(|e| chosen[*e]).collect();
        (set.iter().map(|e| self.cost[*e]).sum(), set)
    }

    /// A set that takes what is worth `w > 0` costs at least the bound and `w`; one that
    /// leaves out what is worth `w < 0`, at least the bound less `w`.
    fn conclude(&self, prices: &[f64], set: (f64, Vec<usize>), limit: u64) -> Relaxed {
        let (bound, worth) = self.bound(prices);
        let ceiling = set.0.min(limit as f64) - 1.0 + SLACK;
        let mut surely = BTreeSet::new();
        let mut never = BTreeSet::new();
        for (element, worth) in worth.iter().enumerate() {
            if bound + worth.abs() > ceiling {
                let fate = if *worth > 0.0 { &mut never } else { &mut surely };
                fate.insert(self.names[element]);
            }
        }
        let weight = |e: &usize| (self.of[*e].len(), std::cmp::Reverse(*e));
        let branch =
            (0..self.names.len()).max_by_key(weight).map_or(0, |e| self.names[e]);
        Relaxed {
            bound: (bound - SLACK).ceil().max(0.0) as u64,
            set: (set.0 as u64, set.1.into_iter().map(|e| self.names[e]).collect()),
            surely,
            never,
            branch,
        }
    }
}
