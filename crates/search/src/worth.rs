//! What a schedule under way is worth, kept up to date task by task.

use timetable::Tick;

use crate::model::Model;
use crate::pattern::Span;
use crate::squeeze::Aim;

/// What decides between schedules, in this order; less is better.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default)]
pub(crate) struct Worth {
    /// By how much deadlines and arcs are broken, in ticks.
    pub(crate) breach: i64,
    /// Weighted tardiness.
    pub(crate) tardiness: i64,
    /// Cost and drift.
    pub(crate) cost: i64,
    /// By how much tasks end too late for a length that is [aimed at](crate::squeeze).
    pub(crate) strain: i64,
    /// The length.
    pub(crate) length: Tick,
    /// The sum of all finishes, by what they weigh. Not an aim of its own: of two schedules that are equally
    /// good, the one with less of it has more room left.
    pub(crate) finishes: i64,
}

impl Worth {
    /// With what a task adds.
    pub(crate) fn with(mut self, share: &Self) -> Self {
        self.tardiness += share.tardiness;
        self.cost += share.cost;
        self.strain += share.strain;
        self.finishes += share.finishes;
        self
    }

    /// Without what a task adds.
    pub(crate) fn without(mut self, share: &Self) -> Self {
        self.tardiness -= share.tardiness;
        self.cost -= share.cost;
        self.strain -= share.strain;
        self.finishes -= share.finishes;
        self
    }

    /// Without the last level, which only breaks ties.
    pub(crate) const fn key(&self) -> (i64, i64, i64, Tick) {
        (self.breach, self.tardiness, self.cost, self.length)
    }
}

/// What decides what a task adds, close together: the problem's own tasks are large, and
/// moves look at many of them.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Stake {
    due: Tick,
    late: i64,
    published: Tick,
    moved: i64,
    pub(crate) aim: Aim,
}

impl Stake {
    /// One for each task.
    pub(crate) fn all(model: &Model) -> Vec<Self> {
        let of = |data: &timetable::Task| Self {
            due: data.due.map_or(Tick::MAX, |due| due.at),
            late: data.due.map_or(0, |due| i64::from(due.weight)),
            published: data.published.map_or(0, |published| published.start),
            moved: data.published.map_or(0, |published| i64::from(published.weight)),
            aim: Aim::NONE,
        };
        model.problem.tasks().iter().map(of).collect()
    }

    /// Its weighted tardiness.
    pub(crate) fn tardiness(&self, span: Span) -> i64 {
        if span.1 > self.due { i64::from(span.1 - self.due) * self.late } else { 0 }
    }

    /// Its weighted distance from the published plan.
    pub(crate) fn drift(&self, span: Span) -> i64 {
        if self.moved == 0 {
            return 0;
        }
        i64::from((span.0 - self.published).abs()) * self.moved
    }

    /// Where the published plan has it, if moving it counts.
    pub(crate) fn published(&self) -> Option<Tick> {
        (self.moved > 0).then_some(self.published)
    }

    /// What it adds.
    pub(crate) fn share(&self, model: &Model, task: usize, span: Span, way: u8) -> Worth {
        let cost = self.drift(span) + model.acts[task].ways[usize::from(way)].cost;
        let tardiness = self.tardiness(span);
        let finishes = i64::from(span.1) * self.aim.weight;
        let strain = self.aim.strain(span.1);
        Worth { breach: 0, tardiness, cost, strain, length: 0, finishes }
    }
}
