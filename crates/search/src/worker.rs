//! One kind of handle for all that searches.
//!
//! A worker runs for a number of steps, or for some time, and then shows the best schedule
//! that it knows; between rounds it may be told of a better one. It never looks at other
//! workers while it runs: as long as steps are counted, that makes the answer independent of
//! how threads run them.

use std::time::{Duration, Instant};

use timetable::{Assignment, Measures, Problem, Schedule};

use crate::breed::{Breed, Child};
use crate::decode::Plan;
use crate::exact::Exact;
use crate::island::{Island, Member, key_of, recipe_of};
use crate::mend::Mender;
use crate::model::Model;

/// A lawful schedule and what it measures.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) struct Found {
    pub(crate) schedule: Schedule,
    pub(crate) measures: Measures,
}

impl Found {
    /// Measures a schedule.
    pub(crate) fn of(problem: &Problem, schedule: Schedule) -> Self {
        let measures = Measures::of(problem, &schedule);
        Self { schedule, measures }
    }
}

/// What a worker has proven.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub(crate) struct Proof {
    /// What no schedule can beat.
    pub(crate) bound: crate::Bound,
    /// Nothing is better than the best schedule that it was told of or found; if there is
    /// none, there is no lawful schedule.
    pub(crate) closed: bool,
}

/// What a worker may spend in a round.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Part {
    /// Steps.
    Steps(u64),
    /// Time, to be exceeded by what a step takes.
    Time(Duration),
}

impl Part {
    const fn steps(self) -> u64 {
        match self {
            Self::Steps(steps) => steps,
            Self::Time(_) => u64::MAX / 4,
        }
    }
}

/// With so few tasks an exact search from the back goes its own way: two that try the same
/// values first find the same.
const ALONE: usize = 40;

/// From which end an exact search sees a problem. What takes long from one may be soon
/// over from the other.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Side {
    /// As it is.
    Front,
    /// Its mirror image; for plain problems alone, of which every schedule turned round, from
    /// its own end, is one of the mirror image.
    Back,
}

impl Side {
    /// A schedule as it is seen from this side, and back.
    fn seen(self, schedule: &Schedule) -> Schedule {
        if self == Self::Front {
            return schedule.clone();
        }
        let runs = &schedule.assignments;
        let length = runs.iter().map(|run| run.finish).max().unwrap_or(0);
        let turn = |run: &Assignment| Assignment {
            start: length - run.finish,
            finish: length - run.start,
            ..*run
        };
        Schedule { assignments: runs.iter().map(turn).collect() }
    }
}

/// Something that searches.
#[derive(Debug)]
pub(crate) enum Worker<'m> {
    /// A population for any problem.
    Island(Box<Island<'m>>, &'m Model<'m>),
    /// A population for plain problems.
    Breed(Box<Breed<'m>>),
    /// Repairs of the best schedule.
    Mender(Box<Mender<'m>>),
    /// An exact search.
    Exact(Box<Exact<'m>>, Side),
}

impl Worker<'_> {
    /// Runs for its part of a round, or until `halt` says so.
    pub(crate) fn run(&mut self, part: Part, halt: &(dyn Fn() -> bool + Sync)) {
        let budget = part.steps();
        let until = match part {
            Part::Steps(_) => None,
            Part::Time(time) => Some(Instant::now() + time),
        };
        let rest = move || until.is_some_and(|until| Instant::now() >= until);
        match self {
            Self::Island(island, _) => island.run(budget, &rest, halt),
            Self::Breed(breed) => breed.run(budget, halt),
            Self::Mender(mender) => mender.run(budget / 10 + 1, &rest, halt),
            // A conflict takes as long as some schedules do.
            Self::Exact(exact, _) => exact.run(budget / 10 + 1, &|| rest() || halt()),
        }
    }

    /// It runs in one of so many rounds: what is complete takes longer for a step the more
    /// tasks there are, and gains less by it.
    pub(crate) const fn every(&self, tasks: usize) -> u64 {
        match (self, tasks) {
            (Self::Exact(..), _) => Self::every_exact(tasks),
            (Self::Mender(_), 600..) => 3,
            _ => 1,
        }
    }

    /// The same for an exact search.
    pub(crate) const fn every_exact(tasks: usize) -> u64 {
        match tasks {
            600.. => 6,
            250.. => 3,
            _ => 1,
        }
    }

    /// Steps run so far.
    pub(crate) fn steps(&self) -> u64 {
        match self {
            Self::Island(island, _) => island.steps,
            Self::Breed(breed) => breed.steps,
            Self::Mender(mender) => mender.steps,
            Self::Exact(exact, _) => exact.steps,
        }
    }

    /// The best lawful schedule that it knows, if it beats a given one.
    pub(crate) fn better(
        &self,
        problem: &Problem,
        than: Option<&Found>,
    ) -> Option<Found> {
        let beats = |key| than.is_none_or(|best| key < best.measures.key());
        match self {
            Self::Island(island, model) => {
                let best = island.best().filter(|best| best.key.0 == 0)?;
                let key = (best.key.1, best.key.2, best.key.3);
                beats(key).then(|| Found::of(problem, best.plan.schedule(model)))
            }
            Self::Breed(breed) => {
                // Nothing but the length differs between schedules of a plain problem.
                let shorter =
                    |best: &&Child| than.is_none_or(|t| best.length < t.measures.length);
                let best = breed.best.as_ref().filter(shorter)?;
                Some(Found::of(problem, best.schedule(problem)))
            }
            Self::Mender(mender) => {
                let (schedule, levels) = mender.best.as_ref()?;
                let key = (levels[0], levels[1], levels[2] as timetable::Tick);
                beats(key).then(|| Found::of(problem, schedule.clone()))
            }
            Self::Exact(exact, side) => {
                let (schedule, levels) = exact.best.as_ref()?;
                let key = (levels[0], levels[1], levels[2] as timetable::Tick);
                beats(key).then(|| Found::of(problem, side.seen(schedule)))
            }
        }
    }

    /// Hears of a schedule from elsewhere.
    pub(crate) fn learn(&mut self, found: &Found) {
        match self {
            Self::Island(island, model) => {
                if let Some(member) = member_of(model, &found.schedule) {
                    island.learn(&member);
                }
            }
            Self::Breed(breed) => {
                let length = breed.best.as_ref().map(|best| best.length);
                if length.is_some_and(|length| length <= found.measures.length) {
                    return;
                }
                let starts =
                    found.schedule.assignments.iter().map(|assignment| assignment.start);
                breed.hear(&starts.collect::<Vec<_>>());
            }
            Self::Mender(mender) => {
                let (tardiness, cost, length) = found.measures.key();
                mender.hear(&found.schedule, [tardiness, cost, i64::from(length)]);
            }
            Self::Exact(exact, side) => {
                let (tardiness, cost, length) = found.measures.key();
                let levels = [tardiness, cost, i64::from(length)];
                let tasks = found.schedule.assignments.len();
                if *side == Side::Back && tasks <= ALONE {
                    exact.hear_levels(levels);
                } else {
                    exact.hear(&side.seen(&found.schedule), levels);
                }
            }
        }
    }

    /// Hears of a bound on the length of every schedule.
    pub(crate) fn hear_bound(&mut self, length: timetable::Tick) {
        if let Self::Exact(exact, _) = self {
            exact.hear_bound(length);
        }
    }

    /// Hears of what is late at least in every schedule.
    pub(crate) fn hear_late(&mut self, tardiness: i64) {
        if let Self::Mender(mender) = self {
            mender.hear_late(tardiness);
        }
    }

    /// What it has proven.
    pub(crate) fn proof(&self) -> Proof {
        match self {
            Self::Island(..) | Self::Breed(_) | Self::Mender(_) => Proof::default(),
            Self::Exact(exact, _) => Proof { bound: exact.lower(), closed: exact.closed },
        }
    }
}

/// The complete searches of a plain problem, if there is one from each end.
fn both_ends<'a, 'm>(workers: &'a mut [Worker<'m>]) -> Option<[&'a mut Exact<'m>; 2]> {
    let exact = |worker: &'a mut Worker<'m>| match worker {
        Worker::Exact(exact, _) => Some(&mut **exact),
        _ => None,
    };
    let all: Vec<&mut Exact> = workers.iter_mut().filter_map(exact).collect();
    all.try_into().ok()
}

/// Has complete searches from both ends of a plain problem keep what each should tell the other.
pub(crate) fn introduce(workers: &mut [Worker]) {
    both_ends(workers).into_iter().flatten().for_each(Exact::talk);
}

/// Tells complete searches from both ends what the other has learnt.
pub(crate) fn exchange(workers: &mut [Worker]) {
    if let Some([front, back]) = both_ends(workers) {
        let (of_front, of_back) = (front.said(), back.said());
        front.hear_said(of_back);
        back.hear_said(of_front);
    }
}

fn member_of(model: &Model, schedule: &Schedule) -> Option<Member> {
    let recipe = recipe_of(model, schedule)?;
    let span = schedule.assignments.iter().map(|a| (a.start, a.finish)).collect();
    let plan = Plan { span, way: recipe.way.clone(), breach: 0 };
    let key = key_of(model, &plan);
    Some(Member { recipe, plan, key })
}
