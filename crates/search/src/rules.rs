//! First orders: priority rules.
//!
//! | rule | first comes | from |
//! |---|---|---|
//! | latest finish | what must be finished soonest | Kolisch 1996 |
//! | latest start | what must be started soonest | Kolisch 1996 |
//! | earliest start | what can start soonest | |
//! | followers | what most depends on | "most total successors" |
//! | positional weight | what has most work behind it, own included | "greatest rank positional weight" |
//! | published | what the published plan has first | |
//! | last call | what must be started soonest by deadlines alone | |
//!
//! Latest times come from deadlines and horizon; where due dates are what matters, they are
//! taken from those instead. A rule is biased by drawing each task's value within a
//! fraction of the rule's range (from memory: "random biased sampling", Kolisch and Drexl).

use rand::RngExt;
use rand_pcg::Pcg64Mcg;
use timetable::Tick;

use crate::arc::{is_finish, task_of};
use crate::decode::Recipe;
use crate::model::Model;

/// How many rules there are.
pub(crate) const RULES: usize = 7;

/// The value of each task under a rule; the smaller goes first.
pub(crate) fn values(model: &Model, rule: usize) -> Vec<f64> {
    let count = model.count();
    match rule % RULES {
        0 => each(count, |task, late| f64::from(late[2 * task + 1]), &urgent(model)),
        1 => each(count, |task, late| f64::from(late[2 * task]), &urgent(model)),
        2 => each(count, |task, early| f64::from(early[2 * task]), &model.windows.early),
        3 => followers(model, |_| 1.0),
        4 => followers(model, |task| {
            f64::from(model.acts[task].ways.first().map_or(0, |way| way.pattern.work()))
        }),
        5 => published(model),
        _ => each(count, |task, late| f64::from(late[2 * task]), &model.windows.late),
    }
}

fn each(count: usize, value: impl Fn(usize, &[Tick]) -> f64, times: &[Tick]) -> Vec<f64> {
    (0..count).map(|task| value(task, times)).collect()
}

/// Latest times from due dates, where these come before the latest lawful times.
pub(crate) fn urgent(model: &Model) -> Vec<Tick> {
    let mut late = model.windows.late.clone();
    for (task, data) in model.problem.tasks().iter().enumerate() {
        if let Some(due) = data.due {
            late[2 * task + 1] = late[2 * task + 1].min(due.at);
        }
    }
    for task in reverse_order(model) {
        let shift = late[2 * task + 1];
        let ways = model.acts[task].ways.iter();
        let start = ways.filter_map(|way| way.pattern.before(shift)).map(|s| s.0).max();
        late[2 * task] = late[2 * task].min(start.unwrap_or(shift));
        for &number in &model.into[task] {
            let arc = &model.arcs[number];
            let tick = arc.latest(late[arc.to]);
            late[arc.from] = late[arc.from].min(tick);
            if !is_finish(arc.from) {
                continue;
            }
            let other = task_of(arc.from);
            late[2 * other] = late[2 * other].min(tick);
        }
    }
    late
}

/// The tasks, each before those that have to be decoded before it.
fn reverse_order(model: &Model) -> Vec<usize> {
    let mut before = model.before.clone();
    let mut order: Vec<usize> =
        (0..model.count()).filter(|&task| before[task] == 0).collect();
    let mut done = 0;
    while done < order.len() {
        for &next in &model.next[order[done]] {
            before[next] -= 1;
            if before[next] == 0 {
                order.push(next);
            }
        }
        done += 1;
    }
    order.reverse();
    order
}

/// Minus the weight of what follows each task along the longest way; own weight included.
fn followers(model: &Model, weight: impl Fn(usize) -> f64) -> Vec<f64> {
    let mut value = vec![0.0; model.count()];
    for task in reverse_order(model) {
        let behind: f64 = model.next[task].iter().map(|&next| value[next]).sum();
        // Shared followers count once for each way to them; bounded, it still ranks.
        value[task] = (behind - weight(task)).max(-1e12);
    }
    value
}

fn published(model: &Model) -> Vec<f64> {
    let tasks = model.problem.tasks().iter().enumerate();
    tasks
        .map(|(task, data)| {
            let early = model.windows.early[2 * task];
            f64::from(data.published.map_or(early, |published| published.start))
        })
        .collect()
}

/// The recipe of a rule, biased by a fraction of its range.
pub(crate) fn recipe(
    model: &Model,
    values: &[f64],
    bias: f64,
    rng: &mut Pcg64Mcg,
) -> Recipe {
    let least = values.iter().copied().fold(f64::INFINITY, f64::min);
    let most = values.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let range = if most > least { (most - least) * bias } else { bias };
    let drawn: Vec<f64> =
        values.iter().map(|value| value + range * rng.random::<f64>()).collect();
    Recipe {
        rank: ranks(&drawn),
        way: vec![0; model.count()],
        hurry: vec![false; model.count()],
        parallel: false,
    }
}

/// The rank of each value; equal values in order of their position.
pub(crate) fn ranks(values: &[f64]) -> Vec<u32> {
    let mut order: Vec<usize> = (0..values.len()).collect();
    order.sort_by(|&a, &b| values[a].total_cmp(&values[b]).then(a.cmp(&b)));
    let mut rank = vec![0; values.len()];
    for (position, task) in order.into_iter().enumerate() {
        rank[task] = position as u32;
    }
    rank
}
