//! Sums of the objective: weighted lateness, and cost with the distance from the published plan.
//!
//! A sum is at least what its terms are at least. Turned round: if the sum may be at most so
//! much, no term may be more than what the others leave. Of a sum that is too great as much
//! is left out of the explanation as it is too great by: first the smallest terms, then part of
//! the next one.
//!
//! Worked case. Weights 2 and 3, both due at 10, finishes of at least 14 and 11: the sum is
//! at least 8 + 3 = 11. It may be at most 9: one too many, so the explanation
//! need only make it 10: `[first >= 14]` and, for a single unit of the second, `[second >= 11]`.

use timetable::Tick;

use super::axis::Event;
use super::trail::{Lit, Trail, Value};

/// A term of a sum.
#[derive(Debug, Clone)]
pub(super) enum Term {
    /// Each tick after a tick counts so much.
    Late(Event, Tick, Value),
    /// Each tick away from a tick counts so much.
    Away(Event, Tick, Value),
    /// Exactly one of these variables is 1; its number counts.
    Ways(Vec<(usize, Value)>),
}

impl Term {
    /// The variables that it depends on.
    pub(super) fn variables(&self, trail: &Trail) -> Vec<usize> {
        match self {
            Self::Late(event, ..) | Self::Away(event, ..) => {
                vec![trail.network.variable(*event)]
            }
            Self::Ways(ways) => ways.iter().map(|way| way.0).collect(),
        }
    }

    /// What it is at least.
    fn least(&self, trail: &Trail) -> Value {
        match *self {
            Self::Late(event, due, weight) => {
                Value::from((trail.early(event) - due).max(0)) * weight
            }
            Self::Away(event, at, weight) => {
                let away = (trail.early(event) - at).max(at - trail.late(event)).max(0);
                Value::from(away) * weight
            }
            Self::Ways(ref ways) => {
                let open = ways.iter().filter(|way| trail.high(2 * way.0) > 0);
                open.map(|way| way.1).min().unwrap_or(0)
            }
        }
    }

    /// Why it is at least so much (more than 0, and no more than [`least`](Self::least)).
    fn explain(&self, trail: &Trail, value: Value, into: &mut Vec<Lit>) {
        let network = &trail.network;
        let ticks = |weight: Value| ((value + weight - 1) / weight) as Tick;
        match *self {
            Self::Late(event, due, weight) => {
                into.push(network.at_least(event, due + ticks(weight)));
            }
            Self::Away(event, at, weight) => {
                let ticks = ticks(weight);
                if trail.early(event) - at >= ticks {
                    into.push(network.at_least(event, at + ticks));
                } else {
                    into.push(network.at_most(event, at - ticks));
                }
            }
            Self::Ways(ref ways) => {
                let cheap = ways.iter().filter(|way| way.1 < value);
                into.extend(cheap.map(|way| Lit { view: 2 * way.0 + 1, bound: 0 }));
            }
        }
    }

    /// What must hold if it may be at most so much.
    fn limit(&self, trail: &Trail, most: Value, into: &mut Vec<Lit>) {
        let network = &trail.network;
        let ticks =
            |weight: Value| (most / weight).min(Value::from(Tick::MAX / 4)) as Tick;
        match *self {
            Self::Late(event, due, weight) => {
                into.push(network.at_most(event, due.saturating_add(ticks(weight))));
            }
            Self::Away(event, at, weight) => {
                into.push(network.at_most(event, at.saturating_add(ticks(weight))));
                into.push(network.at_least(event, at.saturating_sub(ticks(weight))));
            }
            Self::Ways(ref ways) => {
                let dear = ways.iter().filter(|way| way.1 > most);
                into.extend(dear.map(|way| Lit { view: 2 * way.0 + 1, bound: 0 }));
            }
        }
    }
}

/// A sum.
#[derive(Debug)]
pub(super) struct Sum {
    /// Its variable.
    pub(super) total: usize,
    /// What it is without its terms.
    base: Value,
    pub(super) terms: Vec<Term>,
    least: Vec<Value>,
    /// What base and terms are at least.
    now: Value,
    pending: Vec<usize>,
    is_pending: Vec<bool>,
    /// The greatest value at the last look.
    most: Value,
}

impl Sum {
    /// A sum of terms on top of a base.
    pub(super) fn new(total: usize, base: Value, terms: Vec<Term>) -> Self {
        let count = terms.len();
        Self {
            total,
            base,
            terms,
            least: vec![0; count],
            now: base,
            pending: (0..count).collect(),
            is_pending: vec![true; count],
            most: Value::MAX,
        }
    }

    /// The bounds of a term moved.
    pub(super) fn note(&mut self, term: usize) {
        if !std::mem::replace(&mut self.is_pending[term], true) {
            self.pending.push(term);
        }
    }

    /// Raises the sum, and limits its terms.
    pub(super) fn propagate(&mut self, trail: &mut Trail) -> Result<(), Vec<Lit>> {
        let most = trail.high(2 * self.total);
        if self.pending.is_empty() && self.most == most {
            return Ok(());
        }
        let before = self.now;
        while let Some(term) = self.pending.pop() {
            self.is_pending[term] = false;
            let least = self.terms[term].least(trail);
            self.now += least - std::mem::replace(&mut self.least[term], least);
        }
        let tighter = self.now > before || most < self.most;
        self.most = most;
        if self.now > trail.low(2 * self.total) {
            // What is above the limit needs no explanation.
            let goal = self.now.min(most.saturating_add(1));
            let because = self.because(trail, self.now - goal, usize::MAX);
            trail.set_for(Lit { view: 2 * self.total, bound: goal }, &because)?;
        }
        let outcome = if tighter { self.limit(trail, most) } else { Ok(()) };
        if outcome.is_err() {
            // Not all terms were limited: begin again next time.
            self.most = Value::MAX;
        }
        outcome
    }

    fn limit(&self, trail: &mut Trail, most: Value) -> Result<(), Vec<Lit>> {
        let slack = most - self.now;
        let mut lits = Vec::new();
        for (number, term) in self.terms.iter().enumerate() {
            lits.clear();
            term.limit(trail, self.least[number] + slack, &mut lits);
            for &lit in &lits {
                if trail.is_true(lit) {
                    continue;
                }
                let mut because = self.because(trail, 0, number);
                because.push(Lit { view: 2 * self.total + 1, bound: -most });
                trail.set_for(lit, &because)?;
            }
        }
        Ok(())
    }

    /// Why the terms but one sum up to what they do, less some slack.
    fn because(&self, trail: &Trail, mut slack: Value, spared: usize) -> Vec<Lit> {
        let mut order: Vec<usize> = (0..self.terms.len())
            .filter(|&term| term != spared && self.least[term] > 0)
            .collect();
        if slack > 0 {
            order.sort_by_key(|&term| (self.least[term], term));
        }
        let mut because = Vec::with_capacity(order.len());
        for term in order {
            let left_out = slack.min(self.least[term]);
            slack -= left_out;
            if self.least[term] > left_out {
                self.terms[term].explain(
                    trail,
                    self.least[term] - left_out,
                    &mut because,
                );
            }
        }
        because
    }

    /// What it is without its terms.
    pub(super) const fn base(&self) -> Value {
        self.base
    }
}
