//! Rounds of workers, and when to stop.
//!
//! A set of workers, each with a random stream of its own, runs in rounds; after each round
//! the best schedule is told to all.
//!
//! Where a budget of steps ends the search, the set is fixed and a round is a number of steps
//! for each: threads only decide how many workers run at the same time, so the answer is
//! the same with any number of them. A step of one worker takes much longer than that of
//! another, though, and threads wait for each other at the end of a round. Where only time ends
//! the search nobody can count on the same answer twice; then the set grows with the
//! threads, and a round is some time for each, shared out so that threads end together.
//!
//! For plain problems the population is itself bred by all threads, in small jobs that fill
//! what the exact search leaves free, and where steps need not be counted it goes on until the
//! others are through; and who is of little use at the time takes part in few rounds.

use std::sync::atomic::{AtomicBool, Ordering};
use std::time::{Duration, Instant};

use rayon::prelude::*;
use timetable::{Problem, Schedule, Tick};

use crate::bounds::bound;
use crate::breed::Breed;
use crate::conflict::{conflict, late_conflict, proven, stock_conflict, unaffordable};
use crate::exact::Exact;
use crate::fill::{Piece, filled};
use crate::island::Island;
use crate::last::{Last, beside, tighten, without_end};
use crate::mend::Mender;
use crate::mirror::mirrored;
use crate::model::{Keep, Model};
use crate::plain::Plain;
use crate::prices::Prices;
use crate::proving::{Proving, SELDOM};
use crate::stocks::{Base, base};
use crate::tiny::{Verdict, enumerate};
use crate::worker::{Found, Part, Side, Worker, exchange, introduce};
use crate::{Bound, Conflict, News, Options, Outcome, Stopped, Watch};

/// How many populations there are at least.
const POPULATIONS: u64 = 2;
/// How many there are at most: of a season of thousands of tasks each holds some 30 MB.
const MOST_POPULATIONS: u64 = 16;
/// More threads than this have nothing to do.
const MOST_THREADS: usize = 256;
/// Plain problems with so few tasks are worth two exact searches, one from each end.
const FEW: usize = 70;
/// With so few tasks complete search is a good way to find a first schedule.
const FINDS: usize = 250;
/// A first schedule comes within so many rounds, mostly, however many tasks there are; from then on
/// complete search gets as much time as populations.
const SOON: u64 = 6;
/// The least time that a worker gets in a round. Repairs can't be interrupted, except to end
/// the search: they exceed it by some tens of milliseconds, which should matter little.
const PART: Duration = Duration::from_millis(60);
/// So many questions about prices are asked in a round of steps: some of the time that the
/// others take.
const QUESTIONS: u64 = 50;
/// Rounds without any schedule after which prices are asked whether there can be one.
const DOUBTFUL: u64 = 20;
/// Schedules of a population that fill the time of a thread until it looks again whether the others
/// are through.
const MORE: u64 = 160;
/// News are at least so far apart.
const NEWS: Duration = Duration::from_millis(50);

/// Solves a problem.
///
/// Runs until it has a proof, or until a stop rule or the watch ends it; a cancelled search
/// returns within some tens of milliseconds, with what it has. A problem without tasks
/// has one schedule, which is optimal.
pub fn solve(problem: &Problem, options: &Options, watch: &dyn Watch) -> Outcome {
    let start = Instant::now();
    let model = Model::with(problem, Keep::Better);
    let mut search = Search::new(problem, options, watch, start);
    if let Some(outcome) = search.cancelled() {
        return outcome;
    }
    if let Some(conflict) = conflict(&model, &|| watch.cancelled()) {
        return Outcome::Infeasible(conflict);
    }
    search.learn_of(&model);
    if let Some(outcome) = search.cancelled().or_else(|| search.first_mix(&model)) {
        return outcome;
    }
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
    let turned = mirrored(&without_end(problem, model.last));
    let mirror = turned.as_ref().map(|turned| Model::with(turned, Keep::Same(&model)));
    search.general(&model, mirror.as_ref())
}

/// Solves without enumeration and without the way round for plain problems, so that tests
/// see what decoding alone can do.
#[cfg(test)]
pub(crate) fn search_only(problem: &Problem, options: &Options) -> Outcome {
    let model = Model::with(problem, Keep::Better);
    if let Some(conflict) = conflict(&model, &|| false) {
        return Outcome::Infeasible(conflict);
    }
    let mut search = Search::new(problem, options, &crate::Silent, Instant::now());
    search.learn_of(&model);
    if let Some(outcome) = search.first_mix(&model) {
        return outcome;
    }
    let turned = mirrored(&without_end(problem, model.last));
    let mirror = turned.as_ref().map(|turned| Model::with(turned, Keep::Same(&model)));
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
    /// The task with which everything is over, if it is due.
    last: Option<Last>,
    /// When all is over at the latest in every lawful schedule.
    ends: Tick,
    /// Why there is no lawful schedule, where prices have shown that.
    refuted: Option<Conflict>,
    /// Steps before there were workers, and all of them.
    begun: u64,
    steps: u64,
    proving: Proving,
    /// Rounds since there were news.
    quiet: u64,
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
            last: None,
            ends: Tick::MAX,
            refuted: None,
            begun: 0,
            steps: 0,
            proving: Proving::new(problem.tasks().len()),
            quiet: 0,
        }
    }

    /// Learns from a model what holds for every schedule.
    fn learn_of(&mut self, model: &Model) {
        (self.bound, self.last) = (bound(model), model.last);
        self.ends = model.windows.ends();
    }

    fn plain(mut self, model: &Model, plain: &Plain, turned: &Plain) -> Outcome {
        let hint: Option<Vec<_>> = self.hint().map(|schedule| {
            schedule.assignments.iter().map(|assignment| assignment.start).collect()
        });
        let mut breed = Breed::new(plain, turned, self.seed(0));
        if let Some(starts) = &hint {
            breed.hear(starts);
        }
        let mut workers = vec![Worker::Breed(Box::new(breed))];
        let turned = mirrored(self.problem);
        let mirror = turned.as_ref().map(Model::new);
        let mender = Mender::new(model, mirror.as_ref(), self.seed(POPULATIONS));
        workers.push(Worker::Mender(Box::new(mender)));
        let exact = Exact::new(model, &self.bound);
        workers.extend(exact.map(|exact| Worker::Exact(Box::new(exact), Side::Front)));
        if let Some(mirror) = mirror.as_ref().filter(|_| plain.count() <= FEW) {
            let exact = Exact::new(mirror, &self.bound);
            workers.extend(exact.map(|exact| Worker::Exact(Box::new(exact), Side::Back)));
            introduce(&mut workers);
        }
        self.rounds(&mut workers, None, 60_000 / (plain.count() as u64 + 1) + 1)
    }

    fn general(mut self, model: &Model, mirror: Option<&Model>) -> Outcome {
        let hint = self.hint();
        let (islands, menders) = self.crew();
        let mut workers: Vec<Worker> = (0..islands)
            .map(|number| {
                let island = Island::new(model, mirror, self.seed(number), hint);
                Worker::Island(Box::new(island), model)
            })
            .collect();
        // What is found at once needs no proof that there is nothing.
        let watch = self.watch;
        workers[0].run(Part::Steps(1), &|| watch.cancelled());
        self.gather(&mut workers);
        if let Some(outcome) = self.cancelled() {
            return outcome;
        }
        if self.best.is_none()
            && let Some(conflict) = late_conflict(model, &|| watch.cancelled())
        {
            return Outcome::Infeasible(conflict);
        }
        // Before the repairs: what is small is soon proven, and there is nothing to repair then.
        let exact = Exact::new(model, &self.bound);
        workers.extend(exact.map(|exact| Worker::Exact(Box::new(exact), Side::Front)));
        for number in islands..islands + menders {
            let mender = Mender::new(model, mirror, self.seed(number));
            workers.push(Worker::Mender(Box::new(mender)));
        }
        self.rounds(&mut workers, Some(model), 10_000 / (model.count() as u64 + 1) + 1)
    }

    /// Looks for modes that do with the stocks there are. Without any there is no schedule, so
    /// nothing else has to be done before.
    fn first_mix(&mut self, model: &Model) -> Option<Outcome> {
        if model.stocks.is_empty() {
            return None;
        }
        let (start, options, watch) = (self.start, self.options, self.watch);
        let halt = move || over(start, options, watch).is_some();
        let most = options.stop.steps.unwrap_or(u64::MAX / 4);
        let (found, steps) = match base(model, most, &halt) {
            Base::Found(way) => (Some(way), 0),
            Base::Nothing(steps) => {
                let conflict = stock_conflict(self.problem, steps, &halt);
                return Some(Outcome::Infeasible(conflict));
            }
            Base::Unknown(steps) => (None, steps),
        };
        self.begun = steps;
        self.steps = steps;
        match found {
            Some(way) => {
                let _ = model.stocks.base.set(way);
                None
            }
            None => self.verdict(&[]),
        }
    }

    /// How many populations, and repairs, a general problem gets. A budget of steps has to give
    /// the same answer with any number of threads; time does not, and uses as many
    /// threads as there are workers to run.
    fn crew(&self) -> (u64, u64) {
        let threads = self.threads() as u64;
        let most = threads.min(MOST_POPULATIONS);
        match self.options.stop.steps {
            Some(_) => (POPULATIONS, 1),
            None => (POPULATIONS.max(most), (most / 2).max(1)),
        }
    }

    fn threads(&self) -> usize {
        self.options.threads.clamp(1, MOST_THREADS)
    }

    /// A complete search has shown that there is no lawful schedule: which rules conflict?
    fn nothing(&self) -> Outcome {
        let (start, options, watch) = (self.start, self.options, self.watch);
        let halt = move || over(start, options, watch).is_some();
        Outcome::Infeasible(proven(self.problem, self.steps, &halt))
    }

    /// The outcome, if whoever looks on has cancelled the search.
    fn cancelled(&self) -> Option<Outcome> {
        self.watch.cancelled().then(|| self.verdict(&[])).flatten()
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

    fn rounds(
        &mut self,
        workers: &mut [Worker],
        mut priced: Option<&Model>,
        round: u64,
    ) -> Outcome {
        let pool =
            rayon::ThreadPoolBuilder::new().num_threads(self.threads()).build().ok();
        let plain = workers.iter().any(|worker| matches!(worker, Worker::Breed(_)));
        // The first schedule is shown as soon as it is there.
        let (mut budget, mut number) = (1, 0_u64);
        let mut prices = None;
        loop {
            if let Some(outcome) = self.verdict(workers) {
                self.told = None;
                self.tell();
                return outcome;
            }
            let (start, options, watch) = (self.start, self.options, self.watch);
            // With a proof, or a first schedule, the others need not go on to the end of the
            // round, unless steps are counted: then who is through first must not matter.
            let counted = options.stop.steps.is_some();
            let (problem, none_yet) = (self.problem, self.best.is_none());
            let done = AtomicBool::new(false);
            let halt =
                || done.load(Ordering::Relaxed) || over(start, options, watch).is_some();
            let timed = !plain && !counted && number > 0;
            let run = |worker: &mut Worker| {
                let part = if timed {
                    self.share(worker, number)
                } else {
                    Some(self.part(worker, plain, number, budget))
                        .filter(|&steps| steps > 0)
                        .map(Part::Steps)
                };
                if let Some(part) = part {
                    worker.run(part, &halt);
                    let ends = || {
                        worker.proof().closed
                            || (none_yet && worker.better(problem, None).is_some())
                    };
                    done.fetch_or(!counted && ends(), Ordering::Relaxed);
                }
            };
            // A large problem's first schedule has all the time until it is there, or it is
            // doubtful whether there is one.
            let large = self.problem.tasks().len() > FINDS;
            let waits = self.best.is_none() && large && number < DOUBTFUL;
            if let Some(model) = priced.take_if(|_| !waits) {
                prices = Prices::new(model, self.bound.length);
            }
            let asked = prices.as_mut().filter(|_| !waits);
            let climb = || asked.into_iter().for_each(|p| ask(p, timed, &halt));
            if let Some(pool) = &pool {
                let fills = plain && !counted && !none_yet;
                let all = || match &mut *workers {
                    [breed, others @ ..] if fills => {
                        filled(others, &run, |piece| match piece {
                            Piece::Own => run(breed),
                            Piece::More if halt() => std::thread::yield_now(),
                            Piece::More => breed.run(Part::Steps(MORE), &halt),
                        });
                    }
                    workers => workers.par_iter_mut().for_each(run),
                };
                pool.install(|| rayon::join(all, climb));
            } else {
                workers.iter_mut().for_each(run);
                climb();
            }
            number += 1;
            self.hear_prices(workers, &mut prices);
            self.gather(workers);
            let left =
                self.options.stop.steps.map(|most| most.saturating_sub(self.steps));
            let share = left.map(|left| left.div_ceil(workers.len() as u64));
            budget = share.map_or(round, |share| share.clamp(1, round));
        }
    }

    /// Whether a small plain problem has had no news for long: then populations have done
    /// what they can.
    fn is_quiet(&self) -> bool {
        const LONG: u64 = 10;
        // Thirty tasks are soon through; sixty take some hundred thousand schedules.
        let tasks = self.problem.tasks().len().min(FEW);
        let long = LONG * ((tasks as u64).pow(5) / 30_u64.pow(5)).max(1);
        self.problem.tasks().len() <= FEW && self.quiet > long
    }

    /// Whether only the length is left to improve.
    fn is_flat(&self) -> bool {
        self.best.as_ref().is_some_and(|best| {
            let (tardiness, cost, length) = best.measures.key();
            let late = beside(self.last, (0, tardiness), length).1 > 0;
            tardiness <= self.bound.tardiness && cost <= self.bound.cost
                || !late && tardiness > 0
        })
    }

    /// The time that a worker gets in a round, where steps need not be counted: such that
    /// two threads, or more, are through at the same time.
    fn share(&self, worker: &Worker, round: u64) -> Option<Part> {
        let tasks = self.problem.tasks().len();
        let every = Worker::every_exact(tasks);
        let seeks = self.best.is_none() && (tasks <= FINDS || round > SOON);
        let complete = seeks || (every > 1 && round.is_multiple_of(every));
        // Of a large problem whole schedules gain more than repairs, once only the length is left.
        let flat = every > 1 && self.is_flat();
        let parts = match worker {
            Worker::Exact(..) if complete => 4,
            Worker::Exact(..) => u32::from(every == 1),
            Worker::Mender(_) if complete => 0,
            Worker::Mender(_) if every == 1 || flat => 1,
            Worker::Mender(_) => 2,
            _ if complete || flat => 2,
            _ => 1,
        };
        (parts > 0).then(|| Part::Time(PART * parts))
    }

    /// The steps that a worker gets in a round. On plain problems populations are so fast
    /// that the others have to be worth it.
    fn part(&self, worker: &Worker, plain: bool, round: u64, budget: u64) -> u64 {
        let tasks = self.problem.tasks().len();
        if !plain && self.is_flat() && matches!(worker, Worker::Mender(_)) && round > 0 {
            return budget.saturating_mul(2);
        }
        let every = match worker {
            _ if !plain => worker.every(tasks),
            Worker::Exact(..) if self.is_quiet() => 1,
            Worker::Breed(_) if self.is_quiet() => return self.beside(budget),
            Worker::Exact(..) => self.proving.every(),
            Worker::Mender(_) => SELDOM.saturating_mul(self.proving.slowness),
            _ => 1,
        };
        let complete = matches!(worker, Worker::Exact(..) | Worker::Mender(_));
        // The first schedule waits for nobody.
        if !round.is_multiple_of(every) || (complete && round == 0) {
            return 0;
        }
        if self.best.is_none() && tasks <= FINDS && round > 0 {
            // Repair may go on for long where nothing is lawful; learning finds that out.
            return if complete { budget.saturating_mul(10) } else { budget.min(4) };
        }
        // A conflict takes as long as some twenty schedules of a plain problem, and a worker
        // counts ten.
        if plain && complete {
            let more = if self.is_quiet() { 4 } else { 1 };
            return (more * budget).div_ceil(2);
        }
        budget
    }

    /// The steps of a population that has had no news for long: half as much time as the complete
    /// searches take meanwhile.
    fn beside(&self, budget: u64) -> u64 {
        const MORE: u64 = 5;
        let left = self.options.stop.steps.map(|most| most.saturating_sub(self.steps));
        (MORE * budget).min(left.unwrap_or(u64::MAX)).max(1)
    }

    /// Takes what the prices have proven, which holds for every schedule; once there is nothing
    /// more to try, they are let go.
    fn hear_prices(&mut self, workers: &mut [Worker], prices: &mut Option<Prices>) {
        if let Some(found) = prices {
            if found.proven > self.ends && self.best.is_none() {
                let (start, options, watch) = (self.start, self.options, self.watch);
                let halt = move || over(start, options, watch).is_some();
                self.refuted = Some(unaffordable(self.problem, found, &halt));
            }
            if found.proven > self.bound.length {
                self.bound.length = found.proven;
                tighten(self.last, &mut self.bound);
                for worker in workers {
                    worker.hear_bound(found.proven);
                }
            }
            if found.done {
                *prices = None;
            }
        }
    }

    /// Takes what the workers found and tells it to all of them.
    fn gather(&mut self, workers: &mut [Worker]) {
        self.steps = self.begun + workers.iter().map(Worker::steps).sum::<u64>();
        let mut news = false;
        let none_yet = self.best.is_none();
        self.quiet += 1;
        for worker in workers.iter() {
            if let Some(found) = worker.better(self.problem, self.best.as_ref()) {
                self.best = Some(found);
                news = true;
            }
        }
        if let Some(best) = self.best.as_ref().filter(|_| news) {
            self.quiet = 0;
            for worker in workers.iter_mut() {
                worker.learn(best);
            }
        }
        for worker in workers.iter() {
            self.bound = self.bound.or(worker.proof().bound);
        }
        tighten(self.last, &mut self.bound);
        for worker in workers.iter_mut() {
            worker.hear_late(self.bound.tardiness);
        }
        // On a plain problem a bound on the length holds for every schedule.
        if matches!(workers.first(), Some(Worker::Breed(_))) {
            for worker in workers.iter_mut() {
                worker.hear_bound(self.bound.length);
            }
            exchange(workers);
        }
        let best = self.best.as_ref().map(|best| best.measures.length);
        self.proving.look(workers, self.bound.length, best);
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
        if let Some(conflict) = &self.refuted {
            return Some(Outcome::Infeasible(conflict.clone()));
        }
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

/// Asks about prices for a round.
fn ask(prices: &mut Prices, timed: bool, halt: &dyn Fn() -> bool) {
    if timed {
        // It is soon through, and the sooner the bound is known the better.
        let until = Instant::now() + 2 * PART;
        prices.run(u64::MAX, &|| Instant::now() >= until || halt());
    } else {
        prices.run(QUESTIONS, halt);
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
