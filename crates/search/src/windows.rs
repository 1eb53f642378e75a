//! Earliest and latest times.
//!
//! Arcs and spans only ever push events later, and each pushes monotonically; so raising
//! the events until nothing moves gives the least times that satisfy all of them. If those
//! times break a deadline or move a fixed event, nothing else can do better: the problem is
//! infeasible, and the chain of pushes says why. Latest times come from the same rules
//! read backwards. Spans respect calendars and the capacity that fixed tasks leave, not
//! what the other tasks use.
//!
//! A ring of arcs with a positive sum pushes for ever; it is noticed by the number of
//! pushes along the chain, or by the deadline that it runs into.

use std::collections::VecDeque;

use timetable::Tick;

use crate::arc::{Node, task_of};
use crate::model::{Model, Way, for_each_open};
use crate::pattern::Span;
use crate::steps::{FAR, Steps};

/// Earliest and latest tick of each event, by its [`Node`].
#[derive(Debug, Default, Clone)]
pub(crate) struct Windows {
    pub(crate) early: Vec<Tick>,
    pub(crate) late: Vec<Tick>,
    /// What raised each event.
    pub(crate) why: Vec<Why>,
    /// The event that shows that there is no lawful schedule.
    pub(crate) failed: Option<Node>,
    /// Raising was ended while events still moved.
    pub(crate) tired: bool,
}

/// What last raised an event, beside the other end of its task, its calendar and capacity.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Why {
    /// The origin of time.
    Origin,
    /// The task's release.
    Release,
    /// What has happened.
    Past,
    /// An arc.
    Arc(usize),
}

impl Windows {
    /// When the last task is over at the latest.
    pub(crate) fn ends(&self) -> Tick {
        self.late.iter().copied().max().unwrap_or(Tick::MAX)
    }

    /// The windows of a model whose arcs and fixed uses are ready.
    pub(crate) fn of(model: &Model) -> Self {
        let mut windows = forward(model);
        windows.late = backward(model, None);
        if windows.failed.is_none() {
            let crossed = (0..windows.early.len())
                .find(|&node| windows.early[node] > windows.late[node]);
            windows.failed = crossed;
        }
        windows
    }
}

/// The first span of a mode with a start and a finish no earlier than given, on some free
/// capacity, alone.
pub(crate) fn first_span(
    model: &Model,
    free: &[Steps],
    task: usize,
    way: &Way,
    from: Tick,
    finish: Tick,
) -> Option<Span> {
    // So many starts may be refused by arcs between the task's own events, before it is
    // assumed (which proves less, and nothing false) that they allow the next one.
    const PATIENCE: u32 = 2_000;
    let limit = model.acts[task].deadline;
    let mut refused = 0;
    let mut tick = from.max(way.pattern.reaching(finish));
    loop {
        let span = way.pattern.after(tick)?;
        if span.1 > limit {
            return None;
        }
        let lack = way.uses.iter().find_map(|entry| {
            let throughout = free[entry.resource].lack(span.0, span.1, entry.throughout);
            throughout
                .filter(|_| entry.throughout > 0)
                .or_else(|| working(free, way, entry, span))
        });
        match lack {
            Some((_, until)) => tick = until,
            None if refused >= PATIENCE || model.own_arcs_allow(task, span) => {
                return Some(span);
            }
            None if model.own_arcs_forbid(task, &way.pattern) => return None,
            None => {
                refused += 1;
                tick = span.0 + 1;
            }
        }
        if tick >= FAR {
            return None;
        }
    }
}

fn working(
    free: &[Steps],
    way: &Way,
    entry: &crate::model::Use,
    span: Span,
) -> Option<Span> {
    if entry.working == 0 {
        return None;
    }
    let need = entry.throughout.saturating_add(entry.working);
    let mut found = None;
    for_each_open(&way.pattern, span, |open| {
        if found.is_none() {
            found = free[entry.resource].lack(open.0, open.1, need);
        }
    });
    found
}

/// Earliest times, and the event that fails.
fn forward(model: &Model) -> Windows {
    let count = model.count();
    let mut windows = Windows {
        early: vec![0; 2 * count],
        late: Vec::new(),
        why: vec![Why::Origin; 2 * count],
        failed: None,
        tired: false,
    };
    let mut queue: VecDeque<usize> = (0..count).collect();
    let mut queued = vec![true; count];
    // Enough for any chain, and an end to rings that creep.
    let mut budget = 200 * (count + model.arcs.len()) + 10_000;
    for (task, act) in model.acts.iter().enumerate() {
        match act.fixed {
            Some(fixed) => {
                windows.early[2 * task] = fixed.start;
                windows.early[2 * task + 1] = fixed.finish;
                windows.why[2 * task] = Why::Past;
                windows.why[2 * task + 1] = Why::Past;
                if act.broken || act.overdue {
                    windows.failed = Some(2 * task + 1);
                    return windows;
                }
            }
            None if act.release > 0 => {
                windows.early[2 * task] = act.release;
                windows.why[2 * task] = Why::Release;
            }
            None => {}
        }
    }
    while let Some(task) = queue.pop_front() {
        queued[task] = false;
        if !settle(model, &mut windows, task) {
            windows.failed = Some(2 * task + 1);
            return windows;
        }
        for &number in &model.out[task] {
            let arc = &model.arcs[number];
            let tick = arc.earliest(windows.early[arc.from]);
            if tick <= windows.early[arc.to] {
                continue;
            }
            let other = task_of(arc.to);
            windows.early[arc.to] = tick;
            windows.why[arc.to] = Why::Arc(number);
            if model.acts[other].fixed.is_some() {
                windows.failed = Some(arc.to);
                return windows;
            }
            if !queued[other] {
                queued[other] = true;
                queue.push_back(other);
            }
        }
        budget = budget.saturating_sub(1);
        if budget == 0 {
            windows.tired = true;
            break;
        }
    }
    windows
}

/// Raises the events of one task to what its modes allow; false if none allows anything.
fn settle(model: &Model, windows: &mut Windows, task: usize) -> bool {
    let act = &model.acts[task];
    if act.fixed.is_some() {
        return true;
    }
    let (from, until) = (windows.early[2 * task], windows.early[2 * task + 1]);
    let spans = act
        .ways
        .iter()
        .filter_map(|way| first_span(model, &model.static_free, task, way, from, until));
    let least = spans.reduce(|a, b| (a.0.min(b.0), a.1.min(b.1)));
    let Some((start, finish)) = least else {
        return false;
    };
    windows.early[2 * task] = from.max(start);
    windows.early[2 * task + 1] = until.max(finish);
    true
}

/// Latest times by deadlines, spans and arcs, if everything that is not fixed finishes by
/// a tick.
pub(crate) fn backward(model: &Model, until: Option<Tick>) -> Vec<Tick> {
    let count = model.count();
    let mut late = vec![0; 2 * count];
    for (task, act) in model.acts.iter().enumerate() {
        let deadline = until.map_or(act.deadline, |until| until.min(act.deadline));
        let (start, finish) =
            act.fixed.map_or((deadline, deadline), |f| (f.start, f.finish));
        late[2 * task] = start;
        late[2 * task + 1] = finish;
    }
    let mut queue: VecDeque<usize> = (0..count).collect();
    let mut queued = vec![true; count];
    let mut budget = 200 * (count + model.arcs.len()) + 10_000;
    while let Some(task) = queue.pop_front() {
        queued[task] = false;
        draw_in(model, &mut late, task);
        for &number in &model.into[task] {
            let arc = &model.arcs[number];
            let tick = arc.latest(late[arc.to]).max(-1);
            let other = task_of(arc.from);
            if tick >= late[arc.from] || model.acts[other].fixed.is_some() {
                continue;
            }
            late[arc.from] = tick;
            if tick >= 0 && !queued[other] {
                queued[other] = true;
                queue.push_back(other);
            }
        }
        budget = budget.saturating_sub(1);
        if budget == 0 {
            break;
        }
    }
    late
}

/// Lowers the events of one task to what its modes allow.
fn draw_in(model: &Model, late: &mut [Tick], task: usize) {
    let act = &model.acts[task];
    if act.fixed.is_some() {
        return;
    }
    let spans = act.ways.iter().filter_map(|way| way.pattern.before(late[2 * task + 1]));
    let start = spans.map(|span| span.0).max().unwrap_or(-1).max(-1);
    late[2 * task] = late[2 * task].min(start);
    let ends = act.ways.iter().map(|way| {
        let start = late[2 * task];
        way.pattern.after(start).map_or(FAR, |span| span.1)
    });
    let finish = ends.max().unwrap_or(FAR);
    late[2 * task + 1] = late[2 * task + 1].min(finish);
}
