//! What no schedule can beat, before any search.
//!
//! The earliest times bound tardiness task by task and length by the last task; the cheapest
//! modes bound cost; the distance of a published start from the task's window bounds drift.
//! The length is then asked for destructively: assume that everything finishes by `L`,
//! draw in the latest times, and look for an [overload](crate::energy); if there is
//! one, no schedule finishes by `L`.
//!
//! Source: R. Klein, A. Scholl, *Computing lower bounds by destructive improvement*, European
//! J. Operational Research 112 (1999) 322-346 (from memory).

use timetable::Tick;

use crate::Bound;
use crate::energy::{least_length, overload};
use crate::last::tighten;
use crate::model::Model;
use crate::stocks;
use crate::windows::backward;

/// Lower bounds from the windows and from energy.
pub(crate) fn bound(model: &Model) -> Bound {
    let early = &model.windows.early;
    let late = &model.windows.late;
    let (mut tardiness, mut cost, mut drift, mut length) = (0, 0, 0, 0);
    for (task, data) in model.problem.tasks().iter().enumerate() {
        let finish = early[2 * task + 1];
        if let Some(due) = data.due {
            tardiness += i64::from((finish - due.at).max(0)) * i64::from(due.weight);
        }
        cost += model.acts[task].ways.iter().map(|way| way.cost).min().unwrap_or(0);
        if let Some(published) = data.published {
            let (from, until) = (early[2 * task], late[2 * task]);
            let away = (from - published.start).max(published.start - until).max(0);
            drift += i64::from(away) * i64::from(published.weight);
        }
        length = length.max(finish);
    }
    cost += drift;
    length = length.max(least_length(model, early));
    if !model.stocks.is_empty() {
        cost = cost.max(drift + stocks::least_cost(model));
        length = length.max(stocks::least_length(model, early));
    }
    length = destructive(model, length);
    let mut bound = Bound { tardiness, cost, length };
    tighten(model.last, &mut bound);
    bound
}

/// The least length that is not refuted by energy, from a proven bound up.
fn destructive(model: &Model, proven: Tick) -> Tick {
    // Each question costs about the square of the number of tasks.
    const LARGEST: usize = 1_500;
    if model.count() > LARGEST || model.static_free.is_empty() {
        return proven;
    }
    let refuted = |length: Tick| {
        let late = backward(model, Some(length));
        let early = &model.windows.early;
        (0..late.len()).any(|node| early[node] > late[node])
            || overload(model, early, &late).is_some()
    };
    let (mut low, mut high) = (proven, proven);
    let mut stride = 1;
    while high < model.problem.horizon() && refuted(high) {
        low = high + 1;
        high = high.saturating_add(stride).min(model.problem.horizon());
        stride = stride.saturating_mul(2);
    }
    while low < high {
        let middle = low + (high - low) / 2;
        if refuted(middle) { low = middle + 1 } else { high = middle }
    }
    low
}
