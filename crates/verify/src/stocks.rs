//! Stocks: what all tasks take together, whenever they run.

use timetable::{Progress, StockId, TaskId};

use crate::case::Case;
use crate::note::{Rule, Taken};

pub(crate) fn check(case: &Case<'_>, rules: &mut Vec<Rule>) {
    for (position, stock) in case.problem.stocks().iter().enumerate() {
        let id = StockId::new(position);
        let takers: Vec<Taken> = case
            .task_ids()
            .map(|task| Taken { task, amount: taken(case, task, id) })
            .filter(|taken| taken.amount > 0)
            .collect();
        let chosen = takers.iter().any(|taken| !case.is_settled(taken.task));
        let sum: i128 = takers.iter().map(|taken| i128::from(taken.amount)).sum();
        // What facts alone have taken is nobody's choice.
        if chosen && sum > i128::from(stock.available) {
            let taken = i64::try_from(sum).unwrap_or(i64::MAX);
            let available = stock.available;
            rules.push(Rule::StockExceeded { stock: id, taken, available, takers });
        }
    }
}

/// How much a task takes of a stock: by its mode in the schedule or, if it has begun, by
/// the mode that is a fact.
fn taken(case: &Case<'_>, task: TaskId, stock: StockId) -> i64 {
    let data = case.problem.task(task);
    let mode = match data.progress {
        Progress::Todo => case.mode(task),
        Progress::Started { mode, .. } | Progress::Done { mode, .. } => {
            data.modes.get(mode.at())
        }
    };
    let takes = mode.map_or(&[][..], |mode| &mode.takes);
    takes.iter().filter(|take| take.stock == stock).map(|take| take.amount).sum()
}
