//! The use of each resource, swept from its first change to its last.

use std::collections::BTreeMap;

use timetable::{Demand, During, OccupancyId, Pace, ResourceId, TaskId, Tick};

use crate::case::Case;
use crate::note::{Rule, Use, User};

/// A use of one resource in every tick of `[from, until)`.
#[derive(Clone, Copy)]
struct Span {
    from: Tick,
    until: Tick,
    amount: u32,
    user: User,
    /// Whether every schedule has it.
    settled: bool,
}

pub(crate) fn check(case: &Case<'_>, rules: &mut Vec<Rule>) {
    let mut spans = vec![Vec::new(); case.problem.resources().len()];
    for task in case.task_ids() {
        for demand in case.mode(task).map_or(&[][..], |mode| &mode.demands) {
            spans_of_demand(case, task, *demand, &mut spans[demand.resource.at()]);
        }
    }
    for position in 0..case.problem.occupancies().len() {
        let id = OccupancyId::new(position);
        let resource = case.problem.occupancies()[position].resource;
        spans_of_occupancy(case, id, &mut spans[resource.at()]);
    }
    for (position, spans) in spans.iter().enumerate() {
        sweep(case, ResourceId::new(position), spans, rules);
    }
}

fn spans_of_demand(case: &Case<'_>, task: TaskId, demand: Demand, spans: &mut Vec<Span>) {
    let (start, finish) = (case.assignment(task).start, case.assignment(task).finish);
    let (amount, settled) = (demand.amount, case.is_settled(task));
    let span =
        |from, until| Span { from, until, amount, user: User::Task(task), settled };
    match (demand.during, case.mode(task).map(|mode| mode.pace)) {
        (During::Working, Some(Pace::Pausing(calendar))) => {
            let open = case.hours(calendar).within(i64::from(start), i64::from(finish));
            // Both ends lie between a start and a finish, which are ticks.
            spans.extend(open.map(|(from, until)| span(from as Tick, until as Tick)));
        }
        _ if start < finish => spans.push(span(start, finish)),
        _ => {}
    }
}

fn spans_of_occupancy(case: &Case<'_>, id: OccupancyId, spans: &mut Vec<Span>) {
    let occupancy = case.problem.occupancies()[id.at()];
    let (from, to) = (case.tick(occupancy.from), case.tick(occupancy.to));
    let settled_until = match (
        case.is_settled(occupancy.from.task),
        case.is_settled(occupancy.to.task),
    ) {
        (true, true) => to,
        (true, false) => case.problem.task(occupancy.to.task).release.min(to),
        (false, _) => from,
    };
    let divide = settled_until.max(from);
    let (amount, user) = (occupancy.amount, User::Occupancy(id));
    for (from, until, settled) in [(from, divide, true), (divide, to, false)] {
        if from < until {
            spans.push(Span { from, until, amount, user, settled });
        }
    }
}

/// Goes through the ticks at which use or capacity changes.
fn sweep(case: &Case<'_>, id: ResourceId, spans: &[Span], rules: &mut Vec<Rule>) {
    let steps = case.problem.resource(id).capacity.steps();
    // (tick, change of use, change of the number of chosen uses)
    let mut changes: Vec<(Tick, i64, i32)> = Vec::with_capacity(2 * spans.len());
    for span in spans {
        let (amount, chosen) = (i64::from(span.amount), i32::from(!span.settled));
        changes.push((span.from, amount, chosen));
        changes.push((span.until, -amount, -chosen));
    }
    changes.extend(steps.iter().map(|&(tick, _)| (tick, 0, 0)));
    changes.sort_unstable_by_key(|&(tick, ..)| tick);

    let mut capacity = steps.first().map_or(0, |&(_, level)| level);
    let mut coming = steps.iter().peekable();
    let (mut used, mut chosen) = (0, 0);
    let mut short: Option<(Tick, u32)> = None;
    for at_once in changes.chunk_by(|one, other| one.0 == other.0) {
        let tick = at_once[0].0;
        while let Some(&&(from, level)) = coming.peek()
            && from <= tick
        {
            capacity = level;
            coming.next();
        }
        for &(_, use_change, chosen_change) in at_once {
            used += use_change;
            chosen += chosen_change;
        }
        let is_short = chosen > 0 && used > i64::from(capacity);
        match short {
            None if is_short => short = Some((tick, capacity)),
            Some((from, level)) if !is_short => {
                rules.push(exceeded(id, spans, (from, tick), level));
                short = None;
            }
            _ => {}
        }
    }
}

fn exceeded(
    resource: ResourceId,
    spans: &[Span],
    (tick, until): (Tick, Tick),
    capacity: u32,
) -> Rule {
    let mut amounts: BTreeMap<User, u64> = BTreeMap::new();
    for span in spans.iter().filter(|span| span.from <= tick && tick < span.until) {
        *amounts.entry(span.user).or_default() += u64::from(span.amount);
    }
    let users: Vec<Use> =
        amounts.into_iter().map(|(user, amount)| Use { user, amount }).collect();
    let used = users.iter().map(|usage| usage.amount).sum();
    Rule::CapacityExceeded { resource, tick, until, used, capacity, users }
}
