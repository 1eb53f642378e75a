//! Rounds of workers, and when to stop.
//!
//! A fixed set of workers, each with a random stream of its own, runs in rounds of a fixed
//! number of steps; after each round the best schedule is told to all. Threads only decide
//! how many workers run at the same time, so a budget of steps gives the same answer with
//! any number of them.

use std::time::{Duration, Instant};

use rayon::prelude::*;
use timetable::{Problem, Schedule};

use crate::bounds::bound;
use crate::breed::Breed;
use crate::conflict::{conflict, late_conflict, proven};
use crate::exact::Exact;
use crate::island::Island;
use crate::mend::Mender;
use crate::mirror::mirrored;
use crate::model::Model;
use crate::plain::Plain;
use crate::tiny::{Verdict, enumerate};
use crate::worker::{Found, Worker};
use crate::{Bound, News, Options, Outcome, Stopped, Watch};

/// How many populations there are, whatever the number of threads.
const POPULATIONS: u64 = 2;
/// News are at least so far apart.
const NEWS: Duration = Duration::from_millis(50);

/// Solves a problem.
///
/// Runs until it has a proof, or until a stop rule or the watch ends it; a cancelled search
/// returns within some tens of milliseconds, with what it has. A problem without tasks
/// has one schedule, which is optimal.
pub fn solve(problem: &Problem, options: &Options, watch: &dyn Watch) -> Outcome {
    let start = Instant::now();
    let model = Model::new(problem);
    if let Some(conflict) = conflict(&model) {
        return Outcome::Infeasible(conflict);
    }
    let mut search = Search::new(problem, options, watch, start);
    search.bound = bound(&model);
    match enumerate(&model, &|| search.over().is_some()) {
        Verdict::Best(schedule) => {
            let Found { schedule, measures } = Found::of(problem, schedule);
            return Outcome::Optimal { schedule, measures };
        }
        Verdict::Nothing => return search.nothing(),
        Verdict::TooLarge => {}
    }
    if let Some(plain) = Plain::of(problem) {
        let turned = plain.reversed();
        return search.plain(&model, &plain, &turned);
    }
    let turned = mirrored(problem);
    let mirror = turned.as_ref().map(Model::new);
    search.general(&model, mirror.as_ref())
}

/// Solves without enumeration and without the way round for plain problems, so that tests
/// see what decoding alone can do.
#[cfg(test)]
pub(crate) fn search_only(problem: &Problem, options: &Options) -> Outcome {
    let model = Model::new(problem);
    if let Some(conflict) = conflict(&model) {
        return Outcome::Infeasible(conflict);
    }
    let mut search = Search::new(problem, options, &crate::Silent, Instant::now());
    search.bound = bound(&model);
    let turned = mirrored(problem);
    let mirror = turned.as_ref().map(Model::new);
    search.general(&model, mirror.as_ref())
}

/// A search under way.
struct Search<'a> {
    problem: &'a Problem,
    options: &'a Options,
    watch: &'a dyn Watch,
    start: Instant,
    told: Option<Instant>,
    best: Option<Found>,
    bound: Bound,
    steps: u64,
}

impl<'a> Search<'a> {
    fn new(
        problem: &'a Problem,
        options: &'a Options,
        watch: &'a dyn Watch,
        start: Instant,
    ) -> Self {
        Self {
            problem,
            options,
            watch,
            start,
            told: None,
            best: None,
            bound: Bound::default(),
            steps: 0,
        }
    }

    fn plain(mut self, model: &Model, plain: &Plain, turned: &Plain) -> Outcome {
        let hint: Option<Vec<_>> = self.hint().map(|schedule| {
            schedule.assignments.iter().map(|assignment| assignment.start).collect()
        });
        let mut workers: Vec<Worker> = (0..POPULATIONS)
            .map(|number| {
                let mut breed = Breed::new(plain, turned, self.seed(number));
                if let Some(starts) = &hint {
                    breed.hear(starts);
                }
                Worker::Breed(Box::new(breed))
            })
            .collect();
        let turned = mirrored(self.problem);
        let mirror = turned.as_ref().map(Model::new);
        let mender = Mender::new(model, mirror.as_ref(), self.seed(POPULATIONS));
        workers.push(Worker::Mender(Box::new(mender)));
        let exact = Exact::new(model, &self.bound);
        workers.extend(exact.map(|exact| Worker::Exact(Box::new(exact))));
        self.rounds(&mut workers, 60_000 / (plain.count() as u64 + 1) + 1)
    }

    fn general(mut self, model: &Model, mirror: Option<&Model>) -> Outcome {
        let hint = self.hint();
        let mut workers: Vec<Worker> = (0..POPULATIONS)
            .map(|number| {
                let island = Island::new(model, mirror, self.seed(number), hint);
                Worker::Island(Box::new(island), model)
            })
            .collect();
        // What is found at once needs no proof that there is nothing.
        workers[0].run(1, &|| false);
        if workers[0].better(self.problem, None).is_none()
            && let Some(conflict) = late_conflict(model)
        {
            return Outcome::Infeasible(conflict);
        }
        let mender = Mender::new(model, mirror, self.seed(POPULATIONS));
        workers.push(Worker::Mender(Box::new(mender)));
        let exact = Exact::new(model, &self.bound);
        workers.extend(exact.map(|exact| Worker::Exact(Box::new(exact))));
        self.rounds(&mut workers, 10_000 / (model.count() as u64 + 1) + 1)
    }

    /// A complete search has shown that there is no lawful schedule: which rules conflict?
    fn nothing(&self) -> Outcome {
        let (start, options, watch) = (self.start, self.options, self.watch);
        let halt = move || over(start, options, watch).is_some();
        Outcome::Infeasible(proven(self.problem, self.steps, &halt))
    }

    fn hint(&self) -> Option<&'a Schedule> {
        let hint = self.options.start_from.as_ref();
        hint.filter(|s| s.assignments.len() == self.problem.tasks().len())
    }

    /// A seed for each stream, far from its neighbours.
    const fn seed(&self, number: u64) -> u64 {
        self.options.seed.wrapping_mul(0x9e37_79b9_7f4a_7c15)
            ^ (number + 1).wrapping_mul(0xd1b5_4a32_d192_ed03)
    }

    fn rounds(&mut self, workers: &mut [Worker], round: u64) -> Outcome {
        let threads = self.options.threads.clamp(1, workers.len().max(1));
        let pool = rayon::ThreadPoolBuilder::new().num_threads(threads).build().ok();
        let pool = pool.filter(|_| threads > 1);
        // The first schedule is shown as soon as it is there.
        let (mut budget, mut turn) = (1, 0_u64);
        let tasks = self.problem.tasks().len();
        loop {
            if let Some(outcome) = self.verdict(workers) {
                self.told = None;
                self.tell();
                return outcome;
            }
            let (start, options, watch) = (self.start, self.options, self.watch);
            let halt = move || over(start, options, watch).is_some();
            let run = |worker: &mut Worker| {
                if turn.is_multiple_of(worker.every(tasks)) {
                    worker.run(budget, &halt);
                }
            };
            match &pool {
                Some(pool) => pool.install(|| workers.par_iter_mut().for_each(run)),
                None => workers.iter_mut().for_each(run),
            }
            turn += 1;
            self.gather(workers);
            let left =
                self.options.stop.steps.map(|most| most.saturating_sub(self.steps));
            let share = left.map(|left| left.div_ceil(workers.len() as u64));
            budget = share.map_or(round, |share| share.clamp(1, round));
        }
    }

    /// Takes what the workers found and tells it to all of them.
    fn gather(&mut self, workers: &mut [Worker]) {
        self.steps = workers.iter().map(Worker::steps).sum();
        let mut news = false;
        let none_yet = self.best.is_none();
        for worker in workers.iter() {
            if let Some(found) = worker.better(self.problem, self.best.as_ref()) {
                self.best = Some(found);
                news = true;
            }
        }
        if let Some(best) = self.best.as_ref().filter(|_| news) {
            for worker in workers.iter_mut() {
                worker.learn(best);
            }
        }
        for worker in workers.iter() {
            self.bound = self.bound.or(worker.proof().bound);
        }
        if none_yet && news {
            self.told = None;
        }
        self.tell();
    }

    fn tell(&mut self) {
        let now = Instant::now();
        if self.told.is_some_and(|told| now - told < NEWS) {
            return;
        }
        self.told = Some(now);
        self.watch.progress(&News {
            best: self.best.as_ref().map(|best| best.measures),
            bound: self.bound,
            steps: self.steps,
            elapsed: now - self.start,
        });
    }

    fn over(&self) -> Option<Stopped> {
        over(self.start, self.options, self.watch)
    }

    /// The outcome, if the search is over.
    fn verdict(&self, workers: &[Worker]) -> Option<Outcome> {
        let closed = workers.iter().any(|worker| worker.proof().closed);
        if let Some(Found { schedule, measures }) = &self.best
            && (closed || self.bound.is_met_by(measures))
        {
            return Some(Outcome::Optimal {
                schedule: schedule.clone(),
                measures: *measures,
            });
        }
        if closed && self.best.is_none() {
            return Some(self.nothing());
        }
        let spent = self.options.stop.steps.is_some_and(|steps| self.steps >= steps);
        let stopped = self.over().or(spent.then_some(Stopped::Steps))?;
        let bound = self.bound;
        Some(match &self.best {
            Some(Found { schedule, measures }) => Outcome::Feasible {
                schedule: schedule.clone(),
                measures: *measures,
                bound,
                stopped,
            },
            None => Outcome::Unknown { bound, stopped },
        })
    }
}

/// Whether time is over or the search is cancelled.
fn over(start: Instant, options: &Options, watch: &dyn Watch) -> Option<Stopped> {
    if watch.cancelled() {
        return Some(Stopped::Cancelled);
    }
    let late = options.stop.time.is_some_and(|time| start.elapsed() >= time);
    late.then_some(Stopped::Time)
}
