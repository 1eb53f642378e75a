//! Chains: tasks that run one after the other, whatever their modes.
//!
//! How long a chain is at least follows from its modes, and the modes from the stocks: a chain of
//! ten tasks of which each is quick for a sheet is not as short as ten quick tasks where there
//! are three sheets. Of all chains those are looked at that are longest if every task takes its
//! shortest mode, its longest one, or one between.

use crate::arc::{Lag, is_finish, task_of};
use crate::model::{Act, Model};

/// A chain.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Chain {
    /// Its tasks, in order; none of them has begun.
    pub(crate) tasks: Vec<usize>,
    /// The sum of the lags between them.
    pub(crate) lags: i64,
}

/// The longest chains, by three measures; each once.
pub(crate) fn chains(model: &Model) -> Vec<Chain> {
    let works = |act: &Act| -> Vec<i64> {
        act.ways.iter().map(|way| i64::from(way.pattern.work())).collect()
    };
    let least = |act: &Act| works(act).into_iter().min().unwrap_or(0);
    let most = |act: &Act| works(act).into_iter().max().unwrap_or(0);
    let measures: [&dyn Fn(&Act) -> i64; 3] =
        [&least, &most, &|act| i64::midpoint(least(act), most(act))];
    let mut chains: Vec<Chain> = Vec::new();
    for measure in measures {
        let chain = longest(model, measure);
        if chain.tasks.len() > 1 && !chains.contains(&chain) {
            chains.push(chain);
        }
    }
    chains
}

/// The longest chain by what each task measures.
fn longest(model: &Model, measure: &dyn Fn(&Act) -> i64) -> Chain {
    let free = |node: usize| model.acts[task_of(node)].fixed.is_none();
    let steps: Vec<(usize, usize, i64)> = model
        .arcs
        .iter()
        .filter(|arc| free(arc.from) && free(arc.to))
        .filter_map(|arc| match arc.lag {
            Lag::Elapsed(lag)
                if lag >= 0 && is_finish(arc.from) && !is_finish(arc.to) =>
            {
                Some((task_of(arc.from), task_of(arc.to), i64::from(lag)))
            }
            _ => None,
        })
        .collect();
    let own: Vec<i64> = model.acts.iter().map(measure).collect();
    // The longest way that ends before each task.
    let mut before = vec![(0, None::<usize>); model.count()];
    // Tasks of no length may stand in a ring: so no more turns than there are tasks, and few.
    for _ in 0..model.count().min(400) {
        let mut moved = false;
        for (number, &(from, to, lag)) in steps.iter().enumerate() {
            let length = before[from].0 + own[from] + lag;
            if length > before[to].0 {
                before[to] = (length, Some(number));
                moved = true;
            }
        }
        if !moved {
            break;
        }
    }
    let last = (0..model.count())
        .filter(|&task| free(2 * task))
        .max_by_key(|&task| (before[task].0 + own[task], std::cmp::Reverse(task)));
    let mut chain = Chain { tasks: Vec::new(), lags: 0 };
    let mut next = last;
    while let Some(task) = next {
        if chain.tasks.contains(&task) {
            break;
        }
        chain.tasks.push(task);
        next = before[task].1.map(|step| {
            chain.lags += steps[step].2;
            steps[step].0
        });
    }
    if next.is_some() {
        // A ring: what was counted of its lags says nothing.
        chain.lags = 0;
    }
    chain.tasks.reverse();
    chain
}
