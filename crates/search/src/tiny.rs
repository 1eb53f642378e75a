//! All schedules of a tiny problem.
//!
//! Tasks are taken in decoding order; each is tried in every mode at every start of its
//! window, and a branch is left as soon as a rule is broken. Nothing is clever here, so it
//! is complete for every feature; it stops where a count of tried starts shows that
//! the problem is not tiny, and the search proper takes over.

use timetable::{Assignment, Measures, Schedule, Tick};

use crate::arc::{is_finish, task_of};
use crate::model::{Model, for_each_use};
use crate::pattern::Span;
use crate::steps::{FAR, Steps};

/// More tasks than this are never enumerated.
const TASKS: usize = 8;
/// More tried starts than this are too many.
const TRIES: u64 = 60_000;
/// A start that is tried further takes a copy of what is free; so many segments of it count as one
/// start more.
const SEGMENTS: usize = 256;

/// What enumeration shows.
pub(crate) enum Verdict {
    /// The best schedule of all.
    Best(Schedule),
    /// There is no lawful schedule.
    Nothing,
    /// There were too many.
    TooLarge,
}

struct Tree<'m> {
    model: &'m Model<'m>,
    halt: &'m dyn Fn() -> bool,
    order: Vec<usize>,
    chosen: Vec<Option<(usize, Span)>>,
    tries: u64,
    /// What a copy of what is free counts.
    copy: u64,
    best: Option<(i64, i64, Tick, Schedule)>,
}

/// Enumerates, if the problem is tiny.
pub(crate) fn enumerate(model: &Model, halt: &dyn Fn() -> bool) -> Verdict {
    let loose = |&task: &usize| model.acts[task].fixed.is_none();
    let mut order: Vec<usize> = (0..model.count()).filter(loose).collect();
    if order.len() > TASKS {
        return Verdict::TooLarge;
    }
    order.sort_by_key(|&task| (model.windows.early[2 * task], task));
    let fixed = |act: &crate::model::Act| act.fixed.map(|f| (0, (f.start, f.finish)));
    let chosen = model.acts.iter().map(fixed).collect();
    let segments = model.static_free.iter().map(|free| free.segments().count());
    let copy = (segments.sum::<usize>() / SEGMENTS) as u64;
    let mut tree = Tree { model, halt, order, chosen, tries: 0, copy, best: None };
    if !tree.descend(0, &model.static_free) {
        return Verdict::TooLarge;
    }
    tree.best.map_or(Verdict::Nothing, |(_, _, _, schedule)| Verdict::Best(schedule))
}

impl Tree<'_> {
    /// Tries all that is left; false if that is too much.
    fn descend(&mut self, depth: usize, free: &[Steps]) -> bool {
        let Some(&task) = self.order.get(depth) else {
            self.record(free);
            return true;
        };
        let (early, late) = (&self.model.windows.early, &self.model.windows.late);
        let (from, until) = (early[2 * task], late[2 * task]);
        for way in 0..self.model.acts[task].ways.len() {
            if !self.is_enough_for(task, way) {
                continue;
            }
            let mut tick = from;
            while let Some(span) = self.model.acts[task].ways[way].pattern.after(tick) {
                if span.0 > until {
                    break;
                }
                tick = span.0 + 1;
                self.tries += 1;
                if self.tries > TRIES || (self.halt)() {
                    return false;
                }
                if self.allowed(task, span) {
                    self.tries += self.copy;
                    let mut less = free.to_vec();
                    self.chosen[task] = Some((way, span));
                    let fits = self.take(task, &mut less);
                    if fits && !self.descend(depth + 1, &less) {
                        return false;
                    }
                    self.chosen[task] = None;
                }
            }
        }
        true
    }

    /// Whether deadlines and the arcs to chosen tasks allow a span.
    fn allowed(&self, task: usize, span: Span) -> bool {
        let tick = |node| {
            let span =
                if task_of(node) == task { Some(span) } else { self.span(task_of(node)) };
            span.map(|span| if is_finish(node) { span.1 } else { span.0 })
        };
        let kept = |&number: &usize| {
            let arc = &self.model.arcs[number];
            let ends = tick(arc.from).zip(tick(arc.to));
            ends.is_none_or(|(from, to)| arc.earliest(from) <= to)
        };
        span.1 <= self.model.acts[task].deadline
            && self.model.own_arcs_allow(task, span)
            && self.model.out[task].iter().all(kept)
            && self.model.into[task].iter().all(kept)
    }

    /// Whether the stocks, beside what chosen tasks take, are enough for a way.
    fn is_enough_for(&self, task: usize, way: usize) -> bool {
        let stocks = &self.model.stocks;
        if stocks.is_empty() {
            return true;
        }
        let mut taken = self.model.acts[task].ways[way].takes.clone();
        for (act, chosen) in self.model.acts.iter().zip(&self.chosen) {
            if let Some((way, _)) = *chosen {
                for (sum, take) in taken.iter_mut().zip(&act.ways[way].takes) {
                    *sum += take;
                }
            }
        }
        stocks.excess(&taken) == 0
    }

    fn span(&self, task: usize) -> Option<Span> {
        self.chosen[task].map(|(_, span)| span)
    }

    /// Takes what a chosen task uses, and the occupancies that it completes; false if
    /// something lacks.
    fn take(&self, task: usize, free: &mut [Steps]) -> bool {
        let Some((way, span)) = self.chosen[task] else {
            return false;
        };
        let act = &self.model.acts[task];
        let mut fits = true;
        let mut use_one = |resource: usize, span: Span, amount: i32| {
            free[resource].add(span.0, span.1, -amount);
            fits &= free[resource].lack(span.0, span.1, 0).is_none();
        };
        for_each_use(&act.ways[way], span, &mut use_one);
        for &number in act.opens.iter().chain(&act.closes).chain(&act.keeps) {
            let hold = self.model.holds[number];
            let tick = |node: usize| {
                self.span(task_of(node)).map(|s| if is_finish(node) { s.1 } else { s.0 })
            };
            if let (Some(from), Some(to)) = (tick(hold.from), tick(hold.to)) {
                use_one(hold.resource, (from.max(hold.judged_from), to), hold.amount);
            }
        }
        fits
    }

    fn record(&mut self, free: &[Steps]) {
        if free.iter().any(|free| free.lack(0, FAR, 0).is_some()) {
            return;
        }
        let problem = self.model.problem;
        let assignments =
            self.chosen.iter().zip(&self.model.acts).map(|(chosen, act)| {
                act.fixed.unwrap_or_else(|| {
                    let (way, (start, finish)) = chosen.unwrap_or((0, (0, 0)));
                    Assignment { mode: act.ways[way].mode, start, finish }
                })
            });
        let schedule = Schedule { assignments: assignments.collect() };
        let (tardiness, cost, length) = Measures::of(problem, &schedule).key();
        let better = self
            .best
            .as_ref()
            .is_none_or(|best| (tardiness, cost, length) < (best.0, best.1, best.2));
        if better {
            self.best = Some((tardiness, cost, length, schedule));
        }
    }
}
