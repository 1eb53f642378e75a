//! Stocks: what is left of them, and which modes can be at all.
//!
//! Of each stock the tasks that have begun have taken a part; of what they leave, every task
//! still to do takes at least as much as its most frugal mode. Only what goes beyond that is a
//! choice, and only it is counted here: a way takes so much more than the least that its task
//! can do with, and of all ways together no more may be taken than is left beyond the sum of
//! the least.
//!
//! **What can be left out beforehand.** A mode that takes more beyond the least than is left
//! is in no lawful schedule. A stock of which the most that all can take is there never lacks.
//! A mode that takes as long as another or longer, uses and takes no less of anything and
//! costs no less is never better ([`lean`]). Each of the three may make room for the others,
//! so they take turns until nothing changes.
//!
//! Worked case. Nine sheets; `a` takes 2 or 7, `b` 3 or 4, both have to be done. The least is 5,
//! so 4 are left: 5 more for the second mode of `a` are too many. Without it 1 more can be
//! taken at most, of 4: there are always sheets enough.
//!
//! Source: A. Sprecher, S. Hartmann, A. Drexl, *An exact algorithm for project scheduling with
//! multiple modes*, OR Spektrum 19 (1997) 195-203: non-executable and inefficient modes,
//! redundant nonrenewable resources (from memory).

mod chain;
mod lean;
mod mix;
mod price;

use std::sync::OnceLock;

use timetable::{Progress, StockId};

use crate::model::{Act, Model};

pub(crate) use chain::chains;
pub(crate) use mix::{Base, Mix, base, excess_with};
pub(crate) use price::{Price, least_cost, least_length, price};

/// The stocks that can lack.
#[derive(Debug, Default)]
pub(crate) struct Stocks {
    /// Which they are.
    pub(crate) ids: Vec<StockId>,
    /// How much may be taken of each beyond the least that the tasks can do with.
    pub(crate) left: Vec<i64>,
    /// The most that a way takes beyond the least: the measure of an excess.
    greatest: Vec<i64>,
    /// Why nothing can be chosen, if that is plain.
    pub(crate) short: Option<Short>,
    /// A choice of ways that takes no more than there is, once one was looked for.
    pub(crate) base: OnceLock<Vec<u8>>,
}

/// Why no choice of modes can be.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Short {
    /// The most frugal modes take more of a stock than there is.
    Stock(StockId),
    /// Each mode of a task takes too much of some stock beside the most frugal of the others.
    Task(usize),
}

/// What an excess of one greatest way counts, beside ticks by which deadlines are broken.
const WEIGHT: i128 = 1_000;

impl Stocks {
    /// Counts what the ways take, and leaves out what can be left out; inefficient ways only
    /// if that is wanted. Ways are only ever removed where the problem has stocks.
    pub(crate) fn of(model: &mut Model, without_inefficient: bool) -> Self {
        let problem = model.problem;
        if problem.stocks().is_empty() {
            return Self::default();
        }
        let mut stocks = Self {
            ids: (0..problem.stocks().len()).map(StockId::new).collect(),
            left: problem.stocks().iter().map(|stock| stock.available).collect(),
            ..Self::default()
        };
        stocks.count(model);
        while stocks.reduce(model, without_inefficient) {}
        let takes = |stock: usize| {
            let ways = model.acts.iter().flat_map(|act| &act.ways);
            ways.map(|way| way.takes[stock]).max().unwrap_or(0).max(1)
        };
        stocks.greatest = (0..stocks.ids.len()).map(takes).collect();
        stocks
    }

    /// Leaves something out, if something can be.
    fn reduce(&mut self, model: &mut Model, without_inefficient: bool) -> bool {
        self.remove_least(&mut model.acts);
        if self.short.is_some() {
            return false;
        }
        if self.remove_impossible(&mut model.acts) {
            return true;
        }
        if self.short.is_some() {
            return false;
        }
        self.remove_redundant(&mut model.acts);
        without_inefficient && lean::remove_inefficient(model)
    }

    /// Whether no stock can lack.
    pub(crate) fn is_empty(&self) -> bool {
        self.ids.is_empty()
    }

    /// By how much more is taken than there is; 0 if there is enough.
    #[inline]
    pub(crate) fn excess(&self, taken: &[i64]) -> i64 {
        let mut sum = 0;
        for (stock, &taken) in taken.iter().enumerate() {
            let over = taken - self.left[stock];
            if over > 0 {
                let measure = i128::from(self.greatest[stock]);
                let share = i128::from(over) * WEIGHT / measure + 1;
                sum += i64::try_from(share).unwrap_or(i64::MAX / 64).min(i64::MAX / 64);
            }
        }
        sum
    }

    /// What each way takes, and what facts leave.
    fn count(&mut self, model: &mut Model) {
        let problem = model.problem;
        for (act, task) in model.acts.iter_mut().zip(problem.tasks()) {
            for way in &mut act.ways {
                way.takes = vec![0; self.ids.len()];
                for take in &task.modes[way.mode.at()].takes {
                    way.takes[take.stock.at()] = take.amount;
                }
            }
            if task.progress == Progress::Todo {
                continue;
            }
            for way in &mut act.ways {
                for (left, take) in self.left.iter_mut().zip(&mut way.takes) {
                    *left -= std::mem::take(take);
                }
            }
        }
        // Facts may have taken too much: then nothing is left.
        self.left.iter_mut().for_each(|left| *left = (*left).max(0));
    }

    /// Takes the least that each task can do with off what its ways take.
    fn remove_least(&mut self, acts: &mut [Act]) {
        for stock in 0..self.ids.len() {
            for act in acts.iter_mut() {
                let least = act.ways.iter().map(|way| way.takes[stock]).min();
                let least = least.unwrap_or(0);
                self.left[stock] -= least;
                for way in &mut act.ways {
                    way.takes[stock] -= least;
                }
            }
        }
        let lacking = (0..self.ids.len()).find(|&stock| self.left[stock] < 0);
        self.short = lacking.map(|stock| Short::Stock(self.ids[stock]));
    }

    /// Removes ways that take more than is left; whether there were any.
    fn remove_impossible(&mut self, acts: &mut [Act]) -> bool {
        let mut fewer = false;
        for (task, act) in acts.iter_mut().enumerate() {
            let fits = |way: &crate::model::Way| {
                way.takes.iter().zip(&self.left).all(|(take, left)| take <= left)
            };
            if act.ways.iter().all(fits) {
                continue;
            }
            if !act.ways.iter().any(fits) {
                self.short = Some(Short::Task(task));
                return false;
            }
            act.ways.retain(fits);
            fewer = true;
        }
        fewer
    }

    /// Removes stocks that never lack.
    fn remove_redundant(&mut self, acts: &mut [Act]) {
        for stock in (0..self.ids.len()).rev() {
            let most = |act: &Act| act.ways.iter().map(|way| way.takes[stock]).max();
            let all: i128 = acts.iter().filter_map(most).map(i128::from).sum();
            if all <= i128::from(self.left[stock]) {
                self.ids.remove(stock);
                self.left.remove(stock);
                for way in acts.iter_mut().flat_map(|act| &mut act.ways) {
                    way.takes.remove(stock);
                }
            }
        }
    }
}

impl Model<'_> {
    /// What a choice of ways takes of each stock that can lack, beyond the least.
    pub(crate) fn taken(&self, way: &[u8]) -> Vec<i64> {
        let mut taken = vec![0; self.stocks.ids.len()];
        if taken.is_empty() {
            return taken;
        }
        for (act, &way) in self.acts.iter().zip(way) {
            for (sum, take) in taken.iter_mut().zip(&act.ways[usize::from(way)].takes) {
                *sum += take;
            }
        }
        taken
    }

    /// By how much a choice of ways takes more of stocks than there is.
    pub(crate) fn stock_breach(&self, way: &[u8]) -> i64 {
        if self.stocks.is_empty() { 0 } else { self.stocks.excess(&self.taken(way)) }
    }
}

#[cfg(test)]
mod tests;
