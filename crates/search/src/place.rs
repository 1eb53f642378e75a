//! The earliest span of a task beside what is placed.
//!
//! A candidate span is checked against every resource that it touches. Where something
//! lacks until tick `u`, no start before `u` can do (a later start still covers the stretch
//! that lacks), so the search jumps to `u` and goes on. An occupancy that begins with the
//! task needs the resource from its event for ever, as long as its end is not placed; one
//! that ends with it gives back from its event on, which is netted: the refit that takes a
//! wing from the stand may use what it frees.

use timetable::Tick;

use crate::arc::{is_finish, task_of};
use crate::decode::Decoder;
use crate::free::Free;
use crate::model::{Model, Use, Way, for_each_open};
use crate::pattern::Span;
use crate::room::Room;
use crate::steps::FAR;

/// Where a task can be placed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Fit {
    /// The earliest span.
    At(Span),
    /// Nowhere, as long as this resource is held without a known end.
    Waits(usize),
    /// Nowhere.
    Never,
}

/// The net need of one resource: while the task runs, and from its finish until a tick.
#[derive(Debug, Clone, Copy)]
struct Net {
    entry: Use,
    tail: i32,
    until: Tick,
    /// An occupancy that begins with the task can't end before.
    least: Tick,
}

impl Decoder<'_> {
    /// The earliest span of a task that starts and finishes no earlier than given.
    pub(crate) fn fit(&self, task: usize, start: Tick, finish: Tick) -> Fit {
        let act = &self.model.acts[task];
        let way = &act.ways[usize::from(self.way[task])];
        let simple =
            act.opens.is_empty() && act.closes.is_empty() && act.keeps.is_empty();
        let which = (task, self.way[task]);
        let apart = self.free.apart(task, self.way[task]);
        let net = if simple { Vec::new() } else { self.net(task, apart) };
        let mut tick = start;
        loop {
            let Some(span) = self.free.first(which, way, tick) else {
                return Fit::Never;
            };
            if span.1 < finish {
                tick = way.pattern.reaching(finish).max(span.0 + 1);
                continue;
            }
            let lack = if simple {
                lack_of_uses(&self.free, way, apart, span)
            } else {
                lack_of_net(self.model, &self.free, way, &net, span)
            };
            match lack {
                Some((until, resource)) if until >= FAR => {
                    let open = self.held[resource] > 0;
                    return if open { Fit::Waits(resource) } else { Fit::Never };
                }
                Some((until, _)) => tick = until.max(span.0 + 1),
                None if self.model.own_arcs_allow(task, span) => return Fit::At(span),
                None if self.model.own_arcs_forbid(task, &way.pattern) => {
                    return Fit::Never;
                }
                None if span.0 > self.model.problem.horizon() => return Fit::Never,
                None => tick = span.0 + 1,
            }
        }
    }

    fn net(&self, task: usize, apart: &[Use]) -> Vec<Net> {
        let act = &self.model.acts[task];
        let mut net: Vec<Net> = apart
            .iter()
            .map(|&entry| Net { entry, tail: 0, until: 0, least: 0 })
            .collect();
        for &number in &act.keeps {
            let hold = self.model.holds[number];
            if !is_finish(hold.from) && is_finish(hold.to) {
                entry(&mut net, hold.resource).entry.throughout += hold.amount;
            }
        }
        for &number in &act.opens {
            let hold = self.model.holds[number];
            let to = task_of(hold.to);
            let until = if self.placed[to] { self.tick(hold.to) } else { FAR };
            let net = entry(&mut net, hold.resource);
            net.tail += hold.amount;
            net.until = net.until.max(until);
            net.least = net.least.max(self.model.windows.early[hold.to]);
            if !is_finish(hold.from) {
                net.entry.throughout += hold.amount;
            }
        }
        for &number in &act.closes {
            let hold = self.model.holds[number];
            if !self.placed[task_of(hold.from)] {
                continue;
            }
            let net = entry(&mut net, hold.resource);
            net.tail -= hold.amount;
            if !is_finish(hold.to) {
                net.entry.throughout -= hold.amount;
            }
        }
        net
    }
}

fn entry(net: &mut Vec<Net>, resource: usize) -> &mut Net {
    let found = net.iter().position(|net| net.entry.resource == resource);
    let position = found.unwrap_or_else(|| {
        let entry = Use { resource, throughout: 0, working: 0 };
        net.push(Net { entry, tail: 0, until: 0, least: 0 });
        net.len() - 1
    });
    &mut net[position]
}

/// Until when a start is impossible, and the resource that lacks.
pub(crate) fn lack_of_uses(
    free: &Room,
    way: &Way,
    apart: &[Use],
    span: Span,
) -> Option<(Tick, usize)> {
    let throughout =
        apart.iter().filter(|entry| entry.throughout > 0).find_map(|entry| {
            let lack = free[entry.resource].lack(span.0, span.1, entry.throughout);
            lack.map(|(_, until)| (until, entry.resource))
        });
    if throughout.is_some() || apart.iter().all(|entry| entry.working == 0) {
        return throughout;
    }
    let mut found = None;
    for_each_open(&way.pattern, span, |open| {
        if found.is_some() {
            return;
        }
        found = apart.iter().filter(|entry| entry.working > 0).find_map(|entry| {
            let need = entry.throughout + entry.working;
            let lack = free[entry.resource].lack(open.0, open.1, need);
            lack.map(|(_, until)| (until, entry.resource))
        });
    });
    found
}

fn lack_of(free: &Free, way: &Way, entry: &Use, span: Span) -> Option<Tick> {
    if entry.throughout > 0
        && let Some((_, until)) = free.lack(span.0, span.1, entry.throughout)
    {
        return Some(until);
    }
    let need = entry.throughout + entry.working;
    let mut found = None;
    if entry.working > 0 && need > 0 {
        for_each_open(&way.pattern, span, |open| {
            if found.is_none() {
                found = free.lack(open.0, open.1, need).map(|(_, until)| until);
            }
        });
    }
    found
}

/// The same with occupancies. Beyond the earliest tick at which an occupancy may end, a
/// capacity that lacks by itself does not forbid its beginning: should it last so long, its
/// beginning is pushed behind the gap when its end is placed.
fn lack_of_net(
    model: &Model,
    free: &Room,
    way: &Way,
    net: &[Net],
    span: Span,
) -> Option<(Tick, usize)> {
    net.iter().find_map(|net| {
        let resource = net.entry.resource;
        let lack = lack_of(&free[resource], way, &net.entry, span);
        let tail = || {
            let until = tail_lack(model, &free[resource], net, span.1)?;
            // The finish has to come after the lack, so the start may come before it.
            Some(if until >= FAR { FAR } else { way.pattern.reaching(until) })
        };
        lack.or_else(tail).map(|until| (until, resource))
    })
}

fn tail_lack(model: &Model, free: &Free, net: &Net, from: Tick) -> Option<Tick> {
    let base = &model.static_free[net.entry.resource];
    let mut tick = from;
    if net.tail <= 0 {
        return None;
    }
    loop {
        let (begins, until) = free.lack(tick, net.until, net.tail)?;
        match base.lack(begins, begins + 1, net.tail) {
            Some((_, end)) if begins >= net.least => tick = end,
            Some(_) | None => return Some(until),
        }
    }
}
