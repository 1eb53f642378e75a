//! Prices for stocks: what the choice of modes comes to at least.
//!
//! Each way has a value (what it costs, or how much it uses of a resource), and the sum of the
//! values over the ways that are chosen is to be small. Put a price on each stock. Whoever
//! chooses within the stocks pays no more for what he takes than all that is left is worth; so
//! the sum is at least what it is if each task takes the way that is cheapest with its takes
//! paid for, less what all that is left is worth. Any prices prove a bound; good ones follow
//! from raising the price of what lacks and lowering that of what is left over. The bound is
//! counted in whole numbers, so that nothing is lost or won by rounding.
//!
//! Worked case. One unit is left; two tasks, each of value 5, or of value 1 for one unit. At a
//! price of 4 every choice comes to 5, two of them to 10, less 4 for the unit: at least 6.
//!
//! Source: M. Held, R. M. Karp, Mathematical Programming 1 (1971) 6-25, for the ascent; M. L.
//! Fisher, Management Science 27 (1981) 1-18, for the method (both from memory).

use timetable::Tick;

use super::chain::{Chain, chains};
use crate::energy;
use crate::model::{Model, Way};
use crate::steps::FAR;

/// Prices are whole numbers of so small a part.
const PART: i64 = 1_000;
/// No number that is multiplied here is greater.
const MOST: i64 = 1 << 45;
/// Steps of the ascent.
const STEPS: u32 = 80;
/// With more tasks than this, only the sum over all of them is asked for.
const MANY: usize = 120;

/// Prices, and what they prove.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Price {
    /// What a unit of each stock counts, in parts of a unit of value.
    pub(crate) each: Vec<i64>,
    /// So many parts make a unit.
    pub(crate) part: i64,
    /// The sum of the values is at least this.
    pub(crate) least: i64,
}

/// Good prices for values of the ways of some tasks. None if numbers are too great.
pub(crate) fn price(
    model: &Model,
    tasks: &[usize],
    value: &dyn Fn(usize, &Way) -> i64,
) -> Option<Price> {
    let values: Vec<Vec<i64>> = tasks
        .iter()
        .map(|&task| model.acts[task].ways.iter().map(|way| value(task, way)).collect())
        .collect();
    let stocks = &model.stocks;
    let great = values.iter().flatten().any(|&value| value > MOST)
        || stocks.left.iter().any(|&left| left > MOST);
    if great {
        return None;
    }
    let mut each = vec![0.0; stocks.left.len()];
    let mut best = certified(model, tasks, &values, &each);
    let mut reach = 1.0;
    for step in 0..STEPS {
        let (sum, lack) = chosen(model, tasks, &values, &each);
        let norm: f64 = lack.iter().map(|lack| lack * lack).sum();
        if norm <= 0.0 {
            break;
        }
        // As far as would close a gap of a twentieth.
        let gap = reach * (sum.abs() * 0.05 + 1.0);
        for (price, lack) in each.iter_mut().zip(&lack) {
            *price = (*price + gap * lack / norm).max(0.0);
        }
        let found = certified(model, tasks, &values, &each);
        if found.least > best.least {
            best = found;
        } else if step % 5 == 4 {
            reach *= 0.7;
        }
    }
    Some(best)
}

/// What the cheapest choice at some prices comes to, and by how much it takes more of each
/// stock than is left.
fn chosen(
    model: &Model,
    tasks: &[usize],
    values: &[Vec<i64>],
    each: &[f64],
) -> (f64, Vec<f64>) {
    let left = model.stocks.left.iter().map(|&left| left as f64);
    let mut lack: Vec<f64> = left.map(|left| -left).collect();
    let mut sum: f64 = lack.iter().zip(each).map(|(lack, price)| lack * price).sum();
    for (&task, values) in tasks.iter().zip(values) {
        let paid = |way: usize| {
            let takes = model.acts[task].ways[way].takes.iter().zip(each);
            let paid: f64 = takes.map(|(&take, price)| take as f64 * price).sum();
            values[way] as f64 + paid
        };
        let ways = (0..values.len()).map(|way| (paid(way), way));
        let least = ways.min_by(|a, b| a.0.total_cmp(&b.0).then(a.1.cmp(&b.1)));
        let Some((paid, way)) = least else { continue };
        sum += paid;
        for (lack, &take) in lack.iter_mut().zip(&model.acts[task].ways[way].takes) {
            *lack += take as f64;
        }
    }
    (sum, lack)
}

/// What rounded prices prove, counted in whole numbers.
fn certified(model: &Model, tasks: &[usize], values: &[Vec<i64>], each: &[f64]) -> Price {
    let round = |price: &f64| {
        let parts = (price * PART as f64).round();
        if parts < MOST as f64 { parts as i64 } else { MOST }
    };
    let each: Vec<i64> = each.iter().map(round).collect();
    let worth = |numbers: &[i64]| -> i128 {
        numbers.iter().zip(&each).map(|(&n, &p)| i128::from(n) * i128::from(p)).sum()
    };
    let mut sum = -worth(&model.stocks.left);
    for (&task, values) in tasks.iter().zip(values) {
        let ways = model.acts[task].ways.iter().zip(values);
        let paid = ways.map(|(way, &value)| {
            i128::from(value) * i128::from(PART) + worth(&way.takes)
        });
        sum += paid.min().unwrap_or(0);
    }
    let part = i128::from(PART);
    let least = if sum > 0 { (sum + part - 1) / part } else { 0 };
    let least = i64::try_from(least).unwrap_or(i64::MAX);
    Price { each, part: PART, least }
}

/// What the modes cost at least, by stocks too.
pub(crate) fn least_cost(model: &Model) -> i64 {
    let tasks: Vec<usize> = (0..model.count()).collect();
    price(model, &tasks, &|_, way| way.cost).map_or(0, |price| price.least)
}

/// A lower bound on the length: of all schedules, by what the choice of modes has to use of
/// each resource from some tick on, and by how long the longest chains take.
pub(crate) fn least_length(model: &Model, early: &[Tick]) -> Tick {
    let mut bound = 0;
    for resource in 0..model.static_free.len() {
        let energy = |way: &Way| {
            let entry = way.uses.iter().find(|entry| entry.resource == resource);
            entry.map_or(0, |entry| {
                let amount = i64::from(entry.throughout) + i64::from(entry.working);
                amount * i64::from(way.pattern.work())
            })
        };
        let loose = |&task: &usize| {
            let act = &model.acts[task];
            act.fixed.is_none() && act.ways.iter().any(|way| energy(way) > 0)
        };
        let mut tasks: Vec<usize> = (0..model.count()).filter(loose).collect();
        tasks.sort_by_key(|&task| (early[2 * task], task));
        let from = |&first: &usize| {
            first == 0 || early[2 * tasks[first]] > early[2 * tasks[first - 1]]
        };
        let most = if tasks.len() > MANY { 1 } else { tasks.len() };
        for first in (0..most).filter(from) {
            let tasks = &tasks[first..];
            let Some(price) = price(model, tasks, &|_, way| energy(way)) else {
                continue;
            };
            let begin = early[2 * tasks[0]];
            let sum = energy::reached(&model.static_free[resource], begin, price.least);
            bound = bound.max(sum);
        }
    }
    chains(model).iter().map(|chain| end_of(model, chain, early)).fold(bound, Tick::max)
}

/// When a chain ends at the earliest, by the modes that its tasks can have together.
fn end_of(model: &Model, chain: &Chain, early: &[Tick]) -> Tick {
    let all: Vec<usize> = (0..model.count()).collect();
    let work = |task: usize, way: &Way| {
        let inside = chain.tasks.contains(&task);
        if inside { i64::from(way.pattern.work()) } else { 0 }
    };
    let Some(price) = price(model, &all, &work) else { return 0 };
    let begin = chain.tasks.first().map_or(0, |&task| i64::from(early[2 * task]));
    let end = begin.saturating_add(price.least).saturating_add(chain.lags);
    Tick::try_from(end.min(i64::from(FAR))).unwrap_or(FAR)
}
