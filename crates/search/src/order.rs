//! Which tasks have to be decoded before which.
//!
//! An arc from `u` to `v` is easy to keep when `u` is decoded first: it is a lower bound.
//! Decoded the other way round it is an upper bound, which may fail. Between different
//! strongly connected components of the graph of tasks all arcs can be kept the easy way.
//! Inside a component (a ring of least and greatest lags, say) the arcs that point forward
//! in time are followed as far as they do not run in a circle themselves; the rest are
//! upper bounds, and the decoder repairs what they break.
//!
//! Source: R. Tarjan, *Depth-first search and linear graph algorithms*, SIAM J. Computing 1
//! (1972) 146-160 (from memory).

use crate::arc::task_of;
use crate::model::{Model, points_forward};

/// For each task those that come after it, and how many come before it.
pub(crate) fn ordering(model: &Model) -> (Vec<Vec<usize>>, Vec<u32>) {
    let count = model.count();
    let component = components(model);
    let rank = ranks_inside(model, &component);
    let mut next = vec![Vec::new(); count];
    let mut before = vec![0; count];
    for arc in &model.arcs {
        let (from, to) = (task_of(arc.from), task_of(arc.to));
        let apart = component[from] != component[to];
        let inside = !apart && points_forward(arc) && rank[from] < rank[to];
        if apart || inside {
            next[from].push(to);
        }
    }
    for (from, list) in next.iter_mut().enumerate() {
        list.sort_unstable();
        list.dedup();
        list.retain(|&to| to != from);
        for &to in list.iter() {
            before[to] += 1;
        }
    }
    (next, before)
}

/// The number of each task's strongly connected component.
pub(crate) fn components(model: &Model) -> Vec<usize> {
    const NEW: usize = usize::MAX;
    let count = model.count();
    let (mut number, mut low) = (vec![NEW; count], vec![0; count]);
    let mut component = vec![NEW; count];
    let (mut open, mut calls) = (Vec::new(), Vec::new());
    let (mut clock, mut found) = (0, 0);
    for root in 0..count {
        if number[root] != NEW {
            continue;
        }
        calls.push((root, 0));
        while let Some((task, done)) = calls.pop() {
            if done == 0 {
                number[task] = clock;
                low[task] = clock;
                clock += 1;
                open.push(task);
            }
            if let Some(&arc) = model.out[task].get(done) {
                calls.push((task, done + 1));
                let to = task_of(model.arcs[arc].to);
                if number[to] == NEW {
                    calls.push((to, 0));
                } else if component[to] == NEW {
                    low[task] = low[task].min(number[to]);
                }
                continue;
            }
            if low[task] == number[task] {
                while let Some(member) = open.pop() {
                    component[member] = found;
                    if member == task {
                        break;
                    }
                }
                found += 1;
            }
            if let Some(&(parent, _)) = calls.last() {
                low[parent] = low[parent].min(low[task]);
            }
        }
    }
    component
}

/// A rank for each task such that inside a component few forward arcs lead to a lower one:
/// repeatedly the task without an open forward arc into it or, failing that, the earliest.
fn ranks_inside(model: &Model, component: &[usize]) -> Vec<usize> {
    let count = model.count();
    let inside = |arc: usize| {
        let arc = &model.arcs[arc];
        let (from, to) = (task_of(arc.from), task_of(arc.to));
        (component[from] == component[to] && points_forward(arc)).then_some((from, to))
    };
    let mut waits = vec![0_usize; count];
    for (_, to) in (0..model.arcs.len()).filter_map(inside) {
        waits[to] += 1;
    }
    let early = |task: usize| (model.windows.early[2 * task], task);
    let mut rest: std::collections::BTreeSet<_> =
        (0..count).map(|task| (waits[task].min(1), early(task))).collect();
    let mut rank = vec![usize::MAX; count];
    let mut clock = 0;
    while let Some((_, (_, task))) = rest.pop_first() {
        rank[task] = clock;
        clock += 1;
        for (_, to) in model.out[task].iter().filter_map(|&arc| inside(arc)) {
            if rank[to] != usize::MAX {
                continue;
            }
            rest.remove(&(waits[to].min(1), early(to)));
            waits[to] = waits[to].saturating_sub(1);
            rest.insert((waits[to].min(1), early(to)));
        }
    }
    rank
}
