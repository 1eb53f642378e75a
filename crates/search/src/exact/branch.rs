//! What to decide next.
//!
//! Two ways take turns at restarts: the task that can start first starts then (ties by
//! activity), which builds schedules; and the literal that took part in the most recent
//! conflicts, which settles what is disputed. A literal is tried the way the best schedule
//! has it. A task that may be done in several ways gets its way just before its start.
//!
//! Starting at once is not always best: where a published plan is to be kept, a task that has
//! room waits until its published start.

use timetable::Tick;

use super::axis::Event;
use super::trail::{Lit, Trail, Value};

/// What has to be decided of a task.
#[derive(Debug, Clone)]
pub(super) struct Choice {
    /// Its start.
    pub(super) start: Event,
    /// A variable for each way, if there are several; exactly one of them is 1.
    pub(super) ways: Vec<usize>,
    /// The start of the published plan, if moving it counts.
    pub(super) wish: Option<Tick>,
}

/// Activities of literals, and the best schedule's starts.
#[derive(Debug)]
pub(super) struct Branch {
    /// Whether the task that can start first is next.
    pub(super) by_start: bool,
    /// Of each variable the bounds that took part in conflicts, in order, and their numbers.
    numbers: Vec<Vec<(Value, u32)>>,
    lits: Vec<Lit>,
    activity: Vec<f64>,
    heap: Vec<usize>,
    /// The place of each literal in the heap; `usize::MAX` if it is not there.
    place: Vec<usize>,
    /// Literals that left the heap, with the length of the trail at that time.
    settled: Vec<(usize, usize)>,
    step: f64,
    variable: Vec<f64>,
    saved: Vec<Option<Value>>,
    choices: Vec<Choice>,
}

impl Branch {
    /// For so many variables.
    pub(super) fn new(count: usize, choices: Vec<Choice>) -> Self {
        Self {
            by_start: true,
            numbers: vec![Vec::new(); count],
            lits: Vec::new(),
            activity: Vec::new(),
            heap: Vec::new(),
            place: Vec::new(),
            settled: Vec::new(),
            step: 1.0,
            variable: vec![0.0; count],
            saved: vec![None; count],
            choices,
        }
    }

    /// Remembers where the best schedule has a variable.
    pub(super) fn remember(&mut self, variable: usize, value: Value) {
        self.saved[variable] = Some(value);
    }

    /// A literal took part in a conflict.
    pub(super) fn bump(&mut self, lit: Lit) {
        // A literal and its opposite are one question; ask it of the plain view.
        let lit = if lit.view.is_multiple_of(2) { lit } else { lit.not() };
        let number = self.number(lit);
        self.activity[number] += self.step;
        self.variable[lit.view / 2] += self.step;
        if self.activity[number] > 1e100 {
            self.rescale();
        }
        if self.place[number] == usize::MAX {
            self.place[number] = self.heap.len();
            self.heap.push(number);
        }
        self.rise(self.place[number]);
    }

    /// The number of a literal of a plain view.
    fn number(&mut self, lit: Lit) -> usize {
        let numbers = &mut self.numbers[lit.view / 2];
        match numbers.binary_search_by_key(&lit.bound, |&(bound, _)| bound) {
            Ok(place) => numbers[place].1 as usize,
            Err(place) => {
                let number = self.lits.len();
                numbers.insert(place, (lit.bound, number as u32));
                self.lits.push(lit);
                self.activity.push(0.0);
                self.place.push(usize::MAX);
                number
            }
        }
    }

    /// Older conflicts count less.
    pub(super) fn decay(&mut self) {
        self.step /= 0.95;
    }

    fn rescale(&mut self) {
        for activity in self.activity.iter_mut().chain(&mut self.variable) {
            *activity *= 1e-100;
        }
        self.step *= 1e-100;
    }

    /// The next decision; nothing if everything is decided.
    pub(super) fn next(&mut self, trail: &Trail) -> Option<Lit> {
        if !self.by_start {
            while let Some(&number) = self.heap.first() {
                let lit = self.lits[number];
                if trail.is_true(lit) || trail.is_false(lit) {
                    self.pop();
                    self.settled.push((trail.len(), number));
                    continue;
                }
                return Some(self.phase(lit));
            }
        }
        let mut first = None;
        for (position, choice) in self.choices.iter().enumerate() {
            let variable = trail.network.variable(choice.start);
            let fixed = trail.low(2 * variable) == trail.high(2 * variable);
            if fixed && choice.ways.iter().all(|&way| trail.is_fixed(way)) {
                continue;
            }
            let early = trail.early(choice.start);
            let from = choice.wish.map_or(early, |wish| {
                wish.clamp(early, trail.late(choice.start).max(early))
            });
            let key = (from, trail.late(choice.start));
            let less = first.is_none_or(|(other, at): ((Tick, Tick), usize)| {
                let activity = |at: usize| {
                    self.variable[trail.network.variable(self.choices[at].start)]
                };
                key.cmp(&other)
                    .then_with(|| activity(at).total_cmp(&activity(position)))
                    .is_lt()
            });
            if less {
                first = Some((key, position));
            }
        }
        first.map(|((from, _), position)| self.settle(trail, position, from))
    }

    /// The decision for a task: its way, then its start.
    fn settle(&self, trail: &Trail, position: usize, from: Tick) -> Lit {
        let choice = &self.choices[position];
        let open = || choice.ways.iter().filter(|&&way| !trail.is_fixed(way));
        let kept =
            open().find(|&&way| self.saved[way] == Some(1)).or_else(|| open().next());
        if let Some(&way) = kept {
            return Lit { view: 2 * way, bound: 1 };
        }
        if from > trail.early(choice.start) {
            let later = trail.network.at_least(choice.start, from);
            if !trail.is_true(later) && !trail.is_false(later) {
                return later;
            }
        }
        let view = 2 * trail.network.variable(choice.start);
        Lit { view: view + 1, bound: -trail.low(view) }
    }

    /// Literals that left the heap since the trail was so long may come back: what decided
    /// them was taken back.
    pub(super) fn reopen(&mut self, trail: usize) {
        while let Some(&(at, number)) = self.settled.last()
            && at > trail
        {
            self.settled.pop();
            if self.place[number] == usize::MAX {
                self.place[number] = self.heap.len();
                self.heap.push(number);
                self.rise(self.place[number]);
            }
        }
    }

    fn phase(&self, lit: Lit) -> Lit {
        let value = self.saved[lit.view / 2];
        if value.is_some_and(|value| value >= lit.bound) { lit } else { lit.not() }
    }

    fn less(&self, a: usize, b: usize) -> bool {
        let (a, b) = (self.heap[a], self.heap[b]);
        self.activity[a].total_cmp(&self.activity[b]).then(b.cmp(&a)).is_lt()
    }

    fn exchange(&mut self, a: usize, b: usize) {
        self.heap.swap(a, b);
        self.place[self.heap[a]] = a;
        self.place[self.heap[b]] = b;
    }

    fn rise(&mut self, mut at: usize) {
        while at > 0 && self.less((at - 1) / 2, at) {
            self.exchange(at, (at - 1) / 2);
            at = (at - 1) / 2;
        }
    }

    fn pop(&mut self) {
        let last = self.heap.len() - 1;
        self.exchange(0, last);
        if let Some(number) = self.heap.pop() {
            self.place[number] = usize::MAX;
        }
        let mut at = 0;
        loop {
            let (left, right) = (2 * at + 1, 2 * at + 2);
            let mut most = at;
            if left < self.heap.len() && self.less(most, left) {
                most = left;
            }
            if right < self.heap.len() && self.less(most, right) {
                most = right;
            }
            if most == at {
                return;
            }
            self.exchange(at, most);
            at = most;
        }
    }
}
