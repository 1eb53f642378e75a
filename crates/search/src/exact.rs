//! Exact search by learning.
//!
//! For problems with every feature: calendars and pauses, ways, lags of all kinds, capacities
//! that change, occupancies, what has happened, and the three levels of the objective.
//!
//! **Notation.** Variables are whole numbers with bounds: where each task starts (as an
//! ordinal among the starts that its calendar allows, see `axis`), which way is
//! chosen, and what the levels of the objective come to. A *literal* is a bound: `[x >= b]`,
//! or `[x <= b]`, written `[-x >= -b]`.
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
//! **Order of questions.** Lateness first: the limit of the level is a decision, the first one.
//! With a schedule of value `u` and a proven bound `l`, the limit is `u - 1` or, in turns,
//! `l`; a refuted limit raises `l`. When `l` reaches `u` the level is settled: from then on only
//! schedules of that value count, and the next level is asked for. What is proven about a
//! level therefore holds for schedules that are best on the levels before it.
//!
//! **Propagators.** Lags and what was learnt (`trail`), ways (`split`), sums (`goal`, `rows`), orders of two
//! (`pairs`), capacities (`cumulative`), and what holds for many of which no two may overlap
//! (`cliques`); what takes longest comes last.
//!
//! **What is learnt** is followed back (`learn`), freed of what follows from the rest (`minimise`) and
//! kept (`clauses`).
//!
//! **Two ends.** A plain problem is searched from both ends; what one side learns the other hears
//! (`share`).
//!
//! Sources (from memory): A. Schutt, T. Feydy, P. J. Stuckey, M. G. Wallace, *Explaining the
//! cumulative propagator*, Constraints 16 (2011) 250-282, and *Solving RCPSP/max by lazy
//! clause generation*, J. Scheduling 16 (2013) 273-289; M. Moskewicz et al., *Chaff*, DAC
//! 2001, for activities and restarts; J. Marques-Silva, K. Sakallah, *GRASP*, IEEE Trans.
//! Computers 48 (1999) 506-521.

mod axis;
mod branch;
mod build;
mod clauses;
mod cliques;
mod cumulative;
mod goal;
mod learn;
mod minimise;
mod pairs;
mod rows;
mod share;
mod split;
mod trail;

use timetable::{Assignment, Schedule, Tick};

use crate::Bound;
use crate::arc::task_of;
use crate::model::Model;
use axis::Event;
use branch::Branch;
use build::{Built, LEVELS, build};
use cliques::{Clique, cliques};
use cumulative::Cumulative;
use goal::Sum;
use pairs::Pairs;
use rows::Row;
use share::Talk;
use split::Split;
use trail::{Lit, Trail, Value};

/// Conflicts after which the search begins again from the root, times the Luby sequence.
const RESTART: u64 = 100;

/// The levels of the objective, the first one most important.
pub(crate) type Levels = [i64; 3];

/// A propagator that depends on a variable.
#[derive(Debug, Clone, Copy)]
enum Watcher {
    Use(usize, usize),
    Split(usize),
    Term(usize, usize),
    Pair(usize),
    Clique(usize),
}

/// An exact search under way.
#[derive(Debug)]
pub(crate) struct Exact<'m> {
    model: &'m Model<'m>,
    trail: Trail<'m>,
    resources: Vec<Cumulative<'m>>,
    splits: Vec<Split<'m>>,
    pending_splits: Vec<usize>,
    sums: Vec<Sum>,
    rows: Vec<Row>,
    pairs: Pairs,
    cliques: Vec<Clique>,
    branch: Branch,
    watchers: Vec<Vec<Watcher>>,
    /// The terms of rows that depend on each variable; empty if there are no rows.
    row_watchers: Vec<Vec<(usize, usize)>>,
    moved: Vec<usize>,
    /// The variables of each task's ways.
    ways: Vec<Vec<usize>>,
    /// The best schedule found here, and what it measures.
    pub(crate) best: Option<(Schedule, Levels)>,
    /// The length is at least this, as others have proven.
    floor: Tick,
    /// Any schedule will do.
    first: bool,
    /// So many levels are of interest.
    wanted: usize,
    /// What has to be beaten, if any is known.
    upper: Option<Levels>,
    /// Something was heard since the last run.
    news: bool,
    /// The level that is asked for; those before it are settled.
    level: usize,
    limit: Option<Value>,
    restarts: u64,
    until_restart: u64,
    /// Conflicts so far.
    pub(crate) steps: u64,
    /// Nothing beats the best that is known.
    pub(crate) closed: bool,
    /// For a search from the other end, if there is one.
    talk: Option<Talk>,
}

impl<'m> Exact<'m> {
    /// A search, if the problem is not too large. `proven` bounds hold already.
    pub(crate) fn new(model: &'m Model<'m>, proven: &Bound) -> Option<Self> {
        const LARGEST: usize = 2_500;
        (model.count() <= LARGEST).then(|| Self::of(model, proven))
    }

    /// A search for a problem of any size, of which nothing is proven yet: where a problem
    /// has neither lags nor resources, even a large one is no trouble.
    pub(crate) fn of_any_size(model: &'m Model<'m>) -> Self {
        Self::of(model, &Bound::default())
    }

    fn of(model: &'m Model<'m>, proven: &Bound) -> Self {
        let Built {
            mut trail,
            resources,
            splits,
            sums,
            rows,
            choices,
            choice_of,
            possible,
        } = build(model);
        let floors = [proven.tardiness, proven.cost, i64::from(proven.length)];
        let mut possible = possible;
        for (level, floor) in LEVELS.into_iter().zip(floors) {
            let lit = Lit { view: Trail::up(level), bound: floor };
            possible &= !trail.is_false(lit);
            trail.assume(lit);
        }
        let mut pairs = Pairs::of(&resources);
        let works = |event: Event| {
            let ways = model.acts[task_of(event)].ways.iter();
            ways.map(|way| way.pattern.work()).min().unwrap_or(0)
        };
        let path = model.windows.early.iter().copied().max().unwrap_or(0);
        let length = path.max(proven.length);
        let cliques = cliques(&mut pairs, &mut trail, &works, length);
        let ways = choice_of
            .iter()
            .map(|choice| {
                choice.map_or(Vec::new(), |choice| choices[choice].ways.clone())
            })
            .collect();
        let watchers = watchers(&trail, &resources, &splits, &sums, (&pairs, &cliques));
        let row_watchers = row_watchers(&rows, watchers.len());
        let branch = Branch::new(watchers.len(), choices);
        Self {
            model,
            pending_splits: (0..splits.len()).collect(),
            trail,
            resources,
            splits,
            sums,
            rows,
            pairs,
            cliques,
            branch,
            watchers,
            row_watchers,
            moved: Vec::new(),
            ways,
            best: None,
            first: false,
            wanted: LEVELS.len(),
            floor: proven.length,
            upper: None,
            news: true,
            level: 0,
            limit: None,
            restarts: 0,
            until_restart: RESTART,
            steps: 0,
            closed: !possible,
            talk: None,
        }
    }

    /// From now on the search is over as soon as nothing is better on so many levels, the first ones.
    pub(crate) const fn want(&mut self, levels: usize) {
        self.wanted = levels;
    }

    /// Nothing beats the best that is known on the levels that are of interest.
    pub(crate) const fn is_settled(&self) -> bool {
        self.closed || self.level >= self.wanted
    }

    /// What is proven of each level, for schedules that are best on the levels before it.
    pub(crate) fn lower(&self) -> Bound {
        let [tardiness, cost, length] =
            LEVELS.map(|level| self.trail.root(Trail::up(level)));
        Bound { tardiness, cost, length: length as Tick }
    }

    /// Hears of a bound on the length that holds for every schedule.
    pub(crate) fn hear_bound(&mut self, length: Tick) {
        self.news |= length > self.floor;
        self.floor = self.floor.max(length);
    }

    /// Hears of a schedule from elsewhere.
    pub(crate) fn hear(&mut self, schedule: &Schedule, levels: Levels) {
        if self.upper.is_none_or(|upper| levels < upper) {
            self.upper = Some(levels);
            self.news = true;
            self.remember(schedule);
        }
    }

    /// Hears of what a schedule from elsewhere measures, but not of the schedule.
    pub(crate) fn hear_levels(&mut self, levels: Levels) {
        if self.upper.is_none_or(|upper| levels < upper) {
            self.upper = Some(levels);
            self.news = true;
        }
    }

    /// Tries values first that a schedule has.
    fn remember(&mut self, schedule: &Schedule) {
        for (task, run) in schedule.assignments.iter().enumerate() {
            let act = &self.model.acts[task];
            if act.fixed.is_some() {
                continue;
            }
            let network = &self.trail.network;
            for (event, tick) in [(2 * task, run.start), (2 * task + 1, run.finish)] {
                let value = network.at_least(event, tick).bound;
                self.branch.remember(network.variable(event), value);
            }
            for (way, &variable) in self.ways[task].iter().enumerate() {
                let taken = act.ways[way].mode == run.mode;
                self.branch.remember(variable, Value::from(taken));
            }
        }
    }

    /// Searches until a schedule is found, so many conflicts are over or `halt` says so.
    pub(crate) fn find(&mut self, budget: u64, halt: &(dyn Fn() -> bool + Sync)) {
        self.first = true;
        self.run(budget, halt);
        self.first = false;
    }

    /// Searches until so many conflicts are over or `halt` says so.
    pub(crate) fn run(&mut self, budget: u64, halt: &(dyn Fn() -> bool + Sync)) {
        let end = self.steps + budget;
        let often = (4_000 / (self.model.count() as u32 + 1)).clamp(2, 64);
        let mut turns = 0_u32;
        // From the root alone, what is new can be asked for; else the search goes on where
        // it was.
        if std::mem::take(&mut self.news) {
            self.restart();
        }
        while self.steps < end
            && !self.is_settled()
            && !(self.first && self.best.is_some())
        {
            turns = turns.wrapping_add(1);
            if turns.is_multiple_of(often) && halt() {
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
            self.wake();
            let before = self.trail.len();
            while let Some(&split) = self.pending_splits.last() {
                self.splits[split].propagate(&mut self.trail)?;
                self.pending_splits.pop();
            }
            for sum in &mut self.sums {
                sum.propagate(&mut self.trail)?;
            }
            if !self.rows.is_empty() {
                self.propagate_rows()?;
            }
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
            // What takes longest, last.
            for clique in &mut self.cliques {
                if self.trail.len() > before {
                    break;
                }
                clique.propagate(&mut self.trail)?;
            }
            if self.trail.len() == before {
                return Ok(());
            }
        }
    }

    /// Apart from the others, which most problems do with: theirs is the innermost loop.
    #[inline(never)]
    fn propagate_rows(&mut self) -> Result<(), Vec<Lit>> {
        for row in &mut self.rows {
            row.propagate(&mut self.trail)?;
        }
        Ok(())
    }

    /// Tells propagators whose variables moved.
    fn wake(&mut self) {
        self.trail.take_moved(&mut self.moved);
        for &variable in &self.moved {
            for &watcher in &self.watchers[variable] {
                match watcher {
                    Watcher::Use(resource, entry) => self.resources[resource].note(entry),
                    Watcher::Split(split) => self.pending_splits.push(split),
                    Watcher::Term(sum, term) => self.sums[sum].note(term),
                    Watcher::Pair(entry) => self.pairs.note(entry),
                    Watcher::Clique(clique) => self.cliques[clique].note(),
                }
            }
        }
        self.pending_splits.sort_unstable();
        self.pending_splits.dedup();
        if !self.rows.is_empty() {
            self.wake_rows();
        }
    }

    #[inline(never)]
    fn wake_rows(&mut self) {
        for &variable in &self.moved {
            for &(row, term) in &self.row_watchers[variable] {
                self.rows[row].note(term);
            }
        }
    }

    fn learn(&mut self, conflict: Vec<Lit>) {
        let Some(clause) = self.trail.analyse(conflict, &mut self.branch) else {
            self.closed = true;
            return;
        };
        self.branch.reopen(self.trail.len());
        self.note(&clause);
        self.trail.add_clause(&clause);
        self.branch.decay();
        self.until_restart = self.until_restart.saturating_sub(1);
        if self.until_restart == 0 {
            self.restarts += 1;
            self.until_restart = RESTART * luby(self.restarts);
            self.restart();
        }
    }

    /// Goes back to the root and asks for something that is worth asking for.
    fn restart(&mut self) {
        self.trail.back_to(0);
        self.branch.reopen(0);
        self.limit = None;
    }

    /// At the root: takes for granted what is proven elsewhere.
    fn assume(&mut self, proven: Lit) {
        self.closed |= self.trail.is_false(proven);
        self.trail.assume(proven);
    }

    /// The view of the level that is asked for, downwards.
    fn goal(&self) -> usize {
        Trail::down(LEVELS[self.level])
    }

    /// At the root: limits what is known and asks the next question.
    fn ask(&mut self) {
        let last = self.level + 1 == LEVELS.len();
        let floor = Lit { view: Trail::up(LEVELS[2]), bound: self.floor.into() };
        if !self.trail.is_true(floor) {
            self.assume(floor);
            if let Some(end) = self.model.last.filter(|end| end.ends(self.floor)) {
                self.assume(self.trail.network.at_least(2 * end.task + 1, self.floor));
            }
            return;
        }
        let down = self.goal();
        let lower = self.trail.root(Trail::up(LEVELS[self.level]));
        if let Some(upper) = self.upper {
            let best = upper[self.level];
            let settled = lower >= best;
            if settled && last {
                self.closed = true;
                return;
            }
            if settled || last {
                // What is settled stays, and on the last level only better ones count.
                let most = if settled { best } else { best - 1 };
                self.level += usize::from(settled);
                let lit = Lit { view: down, bound: -most };
                self.closed |= self.trail.is_false(lit);
                let known = self.trail.is_true(lit);
                self.trail.assume(lit);
                if !known || settled {
                    return;
                }
            }
        }
        self.trail.tidy();
        if self.use_heard() {
            return;
        }
        let most =
            self.upper.map_or(-self.trail.root(down), |upper| upper[self.level] - 1);
        // Most of the time the best schedule is attacked, now and then the bound.
        let probe = self.upper.is_some() && self.restarts % 5 == 4;
        self.limit = Some(if probe { lower } else { most });
        self.branch.by_start = self.restarts.is_multiple_of(4);
    }

    fn decide(&mut self) {
        if self.trail.level() == 0 && self.limit.is_none() {
            self.ask();
            return;
        }
        if let Some(limit) = self.limit.filter(|_| self.trail.level() == 0) {
            let question = Lit { view: self.goal(), bound: -limit };
            if self.trail.is_false(question) {
                self.limit = None;
                return;
            }
            self.trail.decide(question);
            return;
        }
        match self.branch.next(&self.trail) {
            Some(lit) => self.trail.decide(lit),
            None => self.record(),
        }
    }

    /// Everything is decided: a schedule.
    fn record(&mut self) {
        self.steps += 1;
        let levels = LEVELS.map(|level| self.trail.low(Trail::up(level)));
        if self.upper.is_none_or(|upper| levels < upper) {
            let schedule = self.schedule();
            self.hear(&schedule, levels);
            self.best = Some((schedule, levels));
        }
        self.restart();
    }

    fn schedule(&self) -> Schedule {
        let acts = self.model.acts.iter().enumerate();
        let assignments = acts.map(|(task, act)| {
            let mut ways = self.ways[task].iter();
            let way = ways.position(|&way| self.trail.low(Trail::up(way)) > 0);
            act.fixed.unwrap_or(Assignment {
                mode: act.ways[way.unwrap_or(0)].mode,
                start: self.trail.early(2 * task),
                finish: self.trail.early(2 * task + 1),
            })
        });
        Schedule { assignments: assignments.collect() }
    }
}

/// Which propagators depend on each variable.
fn watchers(
    trail: &Trail,
    resources: &[Cumulative],
    splits: &[Split],
    sums: &[Sum],
    (pairs, cliques): (&Pairs, &[Clique]),
) -> Vec<Vec<Watcher>> {
    let mut watchers = vec![Vec::new(); trail.count()];
    let mut watch = |variables: &[usize], watcher: Watcher| {
        let mut variables = variables.to_vec();
        variables.sort_unstable();
        variables.dedup();
        for variable in variables {
            watchers[variable].push(watcher);
        }
    };
    let of = |event| trail.network.variable(event);
    for (resource, data) in resources.iter().enumerate() {
        for (number, entry) in data.uses().iter().enumerate() {
            let mut variables = vec![of(entry.from), of(entry.to)];
            variables.extend(entry.present.map(|lit| lit.view / 2));
            watch(&variables, Watcher::Use(resource, number));
        }
    }
    for (number, split) in splits.iter().enumerate() {
        let mut variables = split.chosen.clone();
        variables.extend([of(split.start), of(split.finish)]);
        watch(&variables, Watcher::Split(number));
    }
    for (number, sum) in sums.iter().enumerate() {
        for (term, data) in sum.terms.iter().enumerate() {
            watch(&data.variables(trail), Watcher::Term(number, term));
        }
    }
    for (number, &(from, to)) in pairs.uses().iter().enumerate() {
        // A pair is looked at from one side when its order moves.
        let mine = pairs.others(number).filter(|other| other.0 > number);
        let orders = mine.filter_map(|other| other.1);
        let orders = orders.map(|lit| lit.view / 2);
        let variables: Vec<usize> =
            [of(from), of(to)].into_iter().chain(orders).collect();
        watch(&variables, Watcher::Pair(number));
    }
    for (number, clique) in cliques.iter().enumerate() {
        let orders = clique.lits().map(|lit| lit.view / 2);
        let variables: Vec<usize> = clique.events().map(of).chain(orders).collect();
        watch(&variables, Watcher::Clique(number));
    }
    watchers
}

/// Which terms of rows depend on each of so many variables.
fn row_watchers(rows: &[Row], variables: usize) -> Vec<Vec<(usize, usize)>> {
    if rows.is_empty() {
        return Vec::new();
    }
    let mut watchers = vec![Vec::new(); variables];
    for (number, row) in rows.iter().enumerate() {
        for (term, of) in row.variables() {
            for variable in of {
                watchers[variable].push((number, term));
            }
        }
    }
    watchers
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
        let model = Model::new(&problem);
        let mut exact = Exact::new(&model, &Bound::default()).unwrap();
        exact.run(100, &|| false);
        assert_eq!(exact.best.map(|best| best.1), Some([0, 0, 6]));
        assert!(exact.closed);
    }

    /// Three short jobs beside which a very long one has no room: each is pushed past it
    /// at once, not tick by tick.
    #[test]
    fn a_long_stretch_is_passed_in_one_step() {
        let task = |work, amount| {
            Task::new(
                "t",
                Mode::elapsed(work, vec![Demand::throughout(ResourceId(0), amount)]),
            )
        };
        let mut tasks = vec![task(200_000, 2), task(2, 2), task(2, 2), task(2, 2)];
        tasks[0].deadline = Some(200_003);
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(3) };
        let problem =
            Problem::new(400_000, tasks, vec![crew], vec![], vec![], vec![]).unwrap();
        let model = Model::new(&problem);
        let mut exact = Exact::new(&model, &Bound::default()).unwrap();
        let (mut turns, mut most) = (0, 0);
        while !exact.closed && turns < 500 {
            exact.run(1, &|| false);
            most = most.max(exact.trail.len());
            turns += 1;
        }
        assert_eq!(exact.best.as_ref().map(|best| best.1), Some([0, 0, 200_006]));
        assert!(exact.closed && most < 10_000, "{turns} turns, {most} changes");
    }

    /// Two tasks for one crew; the one that is due goes first, and then it is settled what is late.
    /// Where both start is another question.
    #[test]
    fn a_search_for_what_is_late_alone_ends_sooner() {
        let demand = || vec![Demand::throughout(ResourceId(0), 1)];
        let mut tasks = vec![Task::new("t", Mode::elapsed(3, demand())); 2];
        tasks[1].due = Some(timetable::Due { at: 2, weight: 5 });
        tasks[0].published = Some(timetable::Published { start: 1, weight: 1 });
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(1) };
        let problem = Problem::new(9, tasks, vec![crew], vec![], vec![], vec![]).unwrap();
        let model = Model::new(&problem);
        let mut exact = Exact::new(&model, &Bound::default()).unwrap();
        exact.want(1);
        exact.run(100, &|| false);
        assert!(exact.is_settled() && !exact.closed);
        assert_eq!(exact.lower().tardiness, 5);
        assert_eq!(exact.best.as_ref().map(|best| best.1[0]), Some(5));
        exact.want(LEVELS.len());
        exact.run(100, &|| false);
        assert!(exact.is_settled() && exact.closed);
        assert_eq!(exact.best.as_ref().map(|best| best.1), Some([5, 2, 6]));
    }

    #[test]
    fn restarts_grow() {
        let first: Vec<u64> = (1..=15).map(luby).collect();
        assert_eq!(first, [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
    }
}
