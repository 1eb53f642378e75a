//! Exact search by learning.
//!
//! For problems in which only lags and capacities matter (one mode each, elapsed time,
//! nothing but the length to minimise; greatest lags and changing capacity included).
//!
//! **Notation.** Each task has a start `x` with bounds; a *literal* is a bound: `[x >= b]`, or
//! `[x <= b]`, written `[-x >= -b]`. One more variable, the length, comes after every finish.
//!
//! **Idea.** Propagators raise bounds and say why, as a few literals that imply the new one.
//! When a decision runs into a contradiction, the reasons are followed back until a single
//! literal of the latest decision is left (the first unique implication point); the negation
//! of what was found is a clause that is true for good. It is kept, the search jumps back to
//! where the clause first says something new, and the same mistake is not made again
//! anywhere in the tree.
//!
//! **Worked case.** Capacity 1, `a` and `b` of 3 ticks, the length at most 5. Deciding `[a <= 0]`
//! makes `a` run in `[0, 3)`, pushes `b` to 3 and the length to 6: contradiction. Its
//! reason is `[a <= 0]` and the limit, so `[a >= 1]` is learnt; then `b` goes first, the length
//! is 6 again, and without any decision left the limit of 5 is refuted: 6 is optimal.
//!
//! **Order of questions.** The limit is itself a decision, the first one. With a schedule of
//! length `u` and a proven bound `l`, the limit is `u - 1` or, in turns, `l`; a refuted
//! limit raises `l`.
//!
//! Sources (from memory): A. Schutt, T. Feydy, P. J. Stuckey, M. G. Wallace, *Explaining the
//! cumulative propagator*, Constraints 16 (2011) 250-282, and *Solving RCPSP/max by lazy
//! clause generation*, J. Scheduling 16 (2013) 273-289; M. Moskewicz et al., *Chaff*, DAC
//! 2001, for activities and restarts; J. Marques-Silva, K. Sakallah, *GRASP*, IEEE Trans.
//! Computers 48 (1999) 506-521.

mod branch;
mod cumulative;
mod learn;
mod trail;

use timetable::Tick;

use crate::arc::{Lag, is_finish, task_of};
use crate::model::Model;
use crate::pattern::Pattern;
use branch::Branch;
use cumulative::{Cumulative, Pairs};
use trail::{Lit, Trail};

/// Conflicts after which the search begins again from the root, times the Luby sequence.
const RESTART: u64 = 100;

/// An exact search under way.
#[derive(Debug)]
pub(crate) struct Exact {
    trail: Trail,
    resources: Vec<Cumulative>,
    pairs: Pairs,
    branch: Branch,
    /// The variable of each task that is not fixed.
    variable: Vec<Option<usize>>,
    /// The variable of the length.
    length: usize,
    /// Starts and length of the best schedule found here.
    pub(crate) best: Option<(Vec<Tick>, Tick)>,
    /// The length that has to be beaten, if any is known.
    upper: Option<Tick>,
    limit: Option<Tick>,
    restarts: u64,
    until_restart: u64,
    /// Conflicts so far.
    pub(crate) steps: u64,
    /// Nothing beats the best length that is known.
    pub(crate) closed: bool,
}

impl Exact {
    /// A search, if the problem is of the right kind and not too large.
    pub(crate) fn new(model: &Model) -> Option<Self> {
        const LARGEST: usize = 400;
        if model.count() > LARGEST || !fits(model) {
            return None;
        }
        let mut variable = vec![None; model.count()];
        let mut tasks = Vec::new();
        for (task, act) in model.acts.iter().enumerate() {
            if act.fixed.is_none() {
                variable[task] = Some(tasks.len());
                tasks.push(task);
            }
        }
        let length = tasks.len();
        let mut trail = Trail::new(length + 1);
        let work = |task: usize| model.acts[task].ways[0].pattern.work();
        let fixed = model.acts.iter().filter_map(|act| act.fixed.map(|f| f.finish));
        let horizon = model.problem.horizon();
        let floor = fixed.max().unwrap_or(0);
        let mut possible = trail.limit(length, floor, horizon.max(floor));
        for (variable, &task) in tasks.iter().enumerate() {
            let (early, late) = (&model.windows.early, &model.windows.late);
            possible &= trail.limit(variable, early[2 * task], late[2 * task]);
            trail.arc(variable, length, work(task));
        }
        for arc in &model.arcs {
            let (from, to) = (task_of(arc.from), task_of(arc.to));
            let (Some(a), Some(b)) = (variable[from], variable[to]) else {
                continue;
            };
            let Lag::Elapsed(lag) = arc.lag else {
                continue;
            };
            let ahead = if is_finish(arc.from) { work(from) } else { 0 };
            let behind = if is_finish(arc.to) { work(to) } else { 0 };
            if a != b {
                trail.arc(a, b, lag + ahead - behind);
            }
        }
        let resources = Cumulative::all(model, &tasks);
        let pairs =
            Pairs::of(&resources, &tasks.iter().map(|&t| work(t)).collect::<Vec<_>>());
        let branch = Branch::new(length + 1);
        Some(Self {
            trail,
            resources,
            pairs,
            branch,
            variable,
            length,
            best: None,
            upper: None,
            limit: None,
            restarts: 0,
            until_restart: RESTART,
            steps: 0,
            closed: !possible,
        })
    }

    /// The proven bound on the length.
    pub(crate) fn lower(&self) -> Tick {
        self.trail.root(Trail::up(self.length))
    }

    /// Hears of a schedule from elsewhere: its starts, in the order of the problem's tasks.
    pub(crate) fn hear(&mut self, starts: &[Tick], length: Tick) {
        if self.upper.is_none_or(|upper| length < upper) {
            self.upper = Some(length);
            for (task, variable) in self.variable.iter().enumerate() {
                if let Some(variable) = *variable {
                    self.branch.remember(variable, starts[task]);
                }
            }
        }
    }

    /// Searches until so many conflicts are over or `halt` says so.
    pub(crate) fn run(&mut self, budget: u64, halt: &(dyn Fn() -> bool + Sync)) {
        let end = self.steps + budget;
        let mut turns = 0_u32;
        self.restart();
        while self.steps < end && !self.closed {
            turns = turns.wrapping_add(1);
            if turns.is_multiple_of(64) && halt() {
                return;
            }
            match self.propagate() {
                Ok(()) => self.decide(),
                Err(conflict) => {
                    self.steps += 1;
                    self.learn(conflict);
                }
            }
        }
    }

    fn propagate(&mut self) -> Result<(), Vec<Lit>> {
        loop {
            self.trail.propagate()?;
            let before = self.trail.len();
            self.pairs.propagate(&mut self.trail)?;
            if self.trail.len() > before {
                continue;
            }
            for resource in &mut self.resources {
                resource.propagate(&mut self.trail)?;
                if self.trail.len() > before {
                    break;
                }
            }
            if self.trail.len() == before {
                return Ok(());
            }
        }
    }

    fn learn(&mut self, conflict: Vec<Lit>) {
        let Some(clause) = self.trail.analyse(conflict, &mut self.branch) else {
            self.closed = true;
            return;
        };
        self.branch.reopen(self.trail.len());
        self.trail.add_clause(clause);
        self.branch.decay();
        self.until_restart = self.until_restart.saturating_sub(1);
        if self.until_restart == 0 {
            self.restarts += 1;
            self.until_restart = RESTART * luby(self.restarts);
            self.restart();
        }
    }

    /// Goes back to the root and asks for a length that is worth asking for.
    fn restart(&mut self) {
        self.trail.back_to(0);
        self.branch.reopen(0);
        self.limit = None;
    }

    /// At the root: limits the length by what is known and asks the next question.
    fn ask(&mut self) {
        let down = Trail::down(self.length);
        if let Some(upper) = self.upper {
            let bound = Lit { view: down, bound: 1 - upper };
            if self.trail.is_false(bound) {
                self.closed = true;
                return;
            }
            self.trail.assume(bound);
        }
        self.trail.tidy();
        let lower = self.lower();
        let most = -self.trail.root(down);
        // Most of the time the best schedule is attacked, now and then the bound.
        let limit =
            if self.upper.is_some() && self.restarts % 3 == 2 { lower } else { most };
        self.limit = Some(limit);
        self.branch.by_start = self.restarts.is_multiple_of(2);
    }

    fn decide(&mut self) {
        if self.trail.level() == 0 && self.limit.is_none() {
            self.ask();
            return;
        }
        if let Some(limit) = self.limit.filter(|_| self.trail.level() == 0) {
            let question = Lit { view: Trail::down(self.length), bound: -limit };
            if self.trail.is_false(question) {
                self.limit = None;
                return;
            }
            self.trail.decide(question);
            return;
        }
        match self.branch.next(&self.trail, self.length) {
            Some(lit) => self.trail.decide(lit),
            None => self.record(),
        }
    }

    /// All starts are fixed: a schedule.
    fn record(&mut self) {
        self.steps += 1;
        let length = self.trail.low(Trail::up(self.length));
        let start = |variable: &Option<usize>| {
            variable.map_or(0, |variable| self.trail.low(Trail::up(variable)))
        };
        let starts: Vec<Tick> = self.variable.iter().map(start).collect();
        if self.upper.is_none_or(|upper| length < upper) {
            self.hear(&starts, length);
            self.best = Some((starts, length));
        }
        self.restart();
    }
}

/// Whether nothing but lags, capacities and the length matters.
fn fits(model: &Model) -> bool {
    let tasks = model.problem.tasks();
    let acts = model.acts.iter().zip(tasks).enumerate().all(|(task, (act, data))| {
        act.fixed.is_some()
            || (act.ways.len() == 1
                && matches!(act.ways[0].pattern, Pattern::Elapsed(_))
                && data.due.is_none()
                && data.published.is_none_or(|published| published.weight == 0)
                && model.own_arcs_allow(task, (0, act.ways[0].pattern.work())))
    });
    let arcs = model.arcs.iter().all(|arc| {
        matches!(arc.lag, Lag::Elapsed(_))
            || (model.fixed(arc.from).is_some() && model.fixed(arc.to).is_some())
    });
    let holds = model
        .holds
        .iter()
        .all(|hold| model.fixed(hold.from).is_some() && model.fixed(hold.to).is_some());
    acts && arcs && holds
}

/// The Luby sequence: 1 1 2 1 1 2 4 ...
fn luby(mut number: u64) -> u64 {
    loop {
        let width = 64 - (number + 1).leading_zeros();
        if number + 1 == 1 << (width - 1) {
            return 1 << (width - 2).min(62);
        }
        number -= (1 << (width - 1)) - 1;
        if number == 0 {
            return 1;
        }
    }
}

#[cfg(test)]
mod tests {
    use timetable::{Demand, Mode, Problem, Profile, Resource, ResourceId, Task};

    use super::*;

    #[test]
    fn the_worked_case() {
        let task =
            Task::new("t", Mode::elapsed(3, vec![Demand::throughout(ResourceId(0), 1)]));
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(1) };
        let tasks = vec![task.clone(), task];
        let problem = Problem::new(9, tasks, vec![crew], vec![], vec![], vec![]).unwrap();
        let mut exact = Exact::new(&Model::new(&problem)).unwrap();
        exact.run(100, &|| false);
        assert_eq!(exact.best.map(|best| best.1), Some(6));
        assert!(exact.closed);
    }

    #[test]
    fn restarts_grow() {
        let first: Vec<u64> = (1..=15).map(luby).collect();
        assert_eq!(first, [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
    }
}
