//! Ways that are never better than another.
//!
//! Say two ways of a task follow the same calendar, and the one takes no longer, uses and
//! takes no more of anything, and costs no more. Whatever schedule has the other, the one may
//! stand at the same start in its place. If it ends sooner by that, nothing may depend on the
//! task's ending late: no lag that holds its finish back, no occupancy that its finish begins.

use crate::arc::is_finish;
use crate::model::{Model, Way};
use crate::pattern::Pattern;

/// Removes ways that another one makes superfluous; whether there were any.
pub(super) fn remove_inefficient(model: &mut Model) -> bool {
    let mut fewer = false;
    for task in 0..model.count() {
        if model.acts[task].fixed.is_some() || model.acts[task].ways.len() < 2 {
            continue;
        }
        let may_end_sooner = may_end_sooner(model, task);
        let ways = &model.acts[task].ways;
        let beaten = |a: usize| {
            (0..ways.len()).any(|b| {
                a != b
                    && no_better(&ways[a], &ways[b], may_end_sooner)
                    && (a > b || !no_better(&ways[b], &ways[a], may_end_sooner))
            })
        };
        let kept: Vec<bool> = (0..ways.len()).map(|way| !beaten(way)).collect();
        let mut number = 0;
        let before = ways.len();
        model.acts[task].ways.retain(|_| {
            number += 1;
            kept[number - 1]
        });
        fewer |= model.acts[task].ways.len() < before;
    }
    fewer
}

/// Whether an earlier finish of a task, at the same start, can do no harm.
fn may_end_sooner(model: &Model, task: usize) -> bool {
    let held = model.into[task].iter().chain(&model.own[task]).any(|&number| {
        is_finish(model.arcs[number].to) && model.arcs[number].to / 2 == task
    });
    let act = &model.acts[task];
    let begins = act
        .opens
        .iter()
        .chain(&act.keeps)
        .any(|&number| is_finish(model.holds[number].from));
    !held && !begins
}

/// Whether a way is no better than another in anything.
fn no_better(a: &Way, b: &Way, may_end_sooner: bool) -> bool {
    let (long, short) = match (&a.pattern, &b.pattern) {
        (&Pattern::Elapsed(a), &Pattern::Elapsed(b)) => (a, b),
        (&Pattern::Whole(x, a), &Pattern::Whole(y, b))
        | (&Pattern::Pausing(x, a), &Pattern::Pausing(y, b))
            if std::ptr::eq(x, y) =>
        {
            (a, b)
        }
        _ => return false,
    };
    let in_time = long == short || (short < long && may_end_sooner);
    let uses_less = b.uses.iter().all(|less| {
        let more = a.uses.iter().find(|entry| entry.resource == less.resource);
        let (throughout, working) =
            more.map_or((0, 0), |entry| (entry.throughout, entry.working));
        less.throughout <= throughout && less.working <= working
    });
    let takes_less = a.takes.iter().zip(&b.takes).all(|(a, b)| b <= a);
    in_time && uses_less && takes_less && b.cost <= a.cost
}
