//! A schedule near the one that people work from, when something has slipped.
//!
//! What can stay where it was stays (see [`Board::take_over`](crate::board::Board::take_over)):
//! one late task moves its followers, as far as they have no room, whoever needs the stand that
//! it keeps for longer, and nobody else. Then moves of a few tasks are tried, and kept where the
//! problem's own measures gain by them and nothing is led further away from what is published. That
//! is over soon. What is late still may need many tasks to move at once: whoever gives more
//! time gets a [search](solve()) that begins from there.
//!
//! Worked case. One crew; `a` in `[0, 4)`, `b` in `[4, 6)` and `c` in `[8, 9)`, each published
//! there. `a` turns out to take 5 ticks. `c` stays; `b` can't, finds room for its 2 ticks from 5 on,
//! and moves by one tick.

use std::time::{Duration, Instant};

use rand::SeedableRng;
use rand_pcg::Pcg64Mcg;
use timetable::{Measures, Problem, Progress, Schedule, Tick};

use crate::decode::{Decoder, Plan, Recipe};
use crate::local::Local;
use crate::mirror::mirrored;
use crate::model::Model;
use crate::rules::ranks;
use crate::solve::solve;
use crate::stocks::Mix;
use crate::{Bound, Options, Outcome, Stopped, Watch};

/// So many tasks for each one of the problem may be placed until the repair is lawful.
const PATIENCE: u64 = 60;
/// Moves that only gain are tried for so long, or with so many steps: what they have not
/// found by then they hardly find, and whoever waits for a repair waits no longer.
const SOON: Duration = Duration::from_millis(90);
/// A search that has less time than this is not begun: it would be over before it found anything.
const LEAST: Duration = Duration::from_millis(100);
const FEW_STEPS: u64 = 100;

/// Repairs a schedule: lawful for the problem as it is now, and close to the schedule that was
/// published before something changed.
///
/// - A task stays in its mode, and where it was, unless a rule forbids that beside the tasks
///   that stand before it; if not, it starts later, and earlier only where it must or where
///   the measures gain.
/// - A published schedule that is still lawful is where the answer starts from, so the answer
///   measures no more than it.
/// - Without time for a search, the answer claims no proof: the bound that it states is the
///   trivial one.
///
/// The stop rules of the options count from the call: time in earnest (the repair itself takes
/// some milliseconds for a thousand tasks and is not cut short by them, only by the watch),
/// steps as tasks placed divided by the number of tasks, later as [`solve()`] counts them. Up to
/// 90 ms, or 100 steps, one thread works, whatever the options say. With neither rule it
/// ends when the watch cancels it, or at a proof. Where no repair is found (a
/// schedule of other tasks, a deadline that only another order keeps), the problem is
/// [solved](solve()) anew, beginning from the published schedule.
pub fn replan(
    problem: &Problem,
    published: &Schedule,
    options: &Options,
    watch: &dyn Watch,
) -> Outcome {
    let begun = Instant::now();
    let search = |from: Schedule, steps: u64| {
        let spent = begun.elapsed();
        let mut options = Options { start_from: Some(from), ..options.clone() };
        options.stop.time = options.stop.time.map(|time| time.saturating_sub(spent));
        options.stop.steps = options.stop.steps.map(|all| all.saturating_sub(steps));
        solve(problem, &options, watch)
    };
    let anew = || search(published.clone(), 0);
    if problem.tasks().iter().all(|task| task.progress != Progress::Todo) {
        return anew();
    }
    let model = Model::new(problem);
    let Some(mut plan) =
        plan_of(&model, published).filter(|_| model.windows.failed.is_none())
    else {
        return anew();
    };
    let mut local = Local::new(&model);
    let mut rng = Pcg64Mcg::seed_from_u64(options.seed);
    // Where a stock has become short, no more tasks change their modes than have to.
    if model.stock_breach(&plan.way) > 0 {
        if !Mix::new(&model).repair(&mut plan.way, &mut rng) {
            return anew();
        }
        plan.fit(&model);
    }
    let placements = PATIENCE * model.count() as u64;
    let latest = latest(problem, &plan);
    let whole = local.take_over(&plan, latest.as_deref());
    if !whole || !local.mend(placements, &mut rng, &|| watch.cancelled()) {
        return anew();
    }
    let stopped = lessen(&mut local, &model, options, watch, begun);
    let schedule = local.best().1.schedule(&model);
    let measures = Measures::of(problem, &schedule);
    let Some(stopped) = stopped else {
        let found = search(schedule.clone(), FEW_STEPS);
        return no_worse(schedule, measures, found);
    };
    Outcome::Feasible { schedule, measures, bound: Bound::default(), stopped }
}

/// What a search found, or the schedule that it began from: the search takes that for a hint.
fn no_worse(schedule: Schedule, measures: Measures, found: Outcome) -> Outcome {
    if found.measures().is_some_and(|found| found.key() <= measures.key()) {
        return found;
    }
    match found {
        Outcome::Feasible { bound, stopped, .. }
        | Outcome::Unknown { bound, stopped } => {
            Outcome::Feasible { schedule, measures, bound, stopped }
        }
        proven => proven,
    }
}

/// The starts that tasks could have without making anything later than the plan has it: what
/// has the least room comes first where all can't have theirs.
fn latest(problem: &Problem, plan: &Plan) -> Option<Vec<Tick>> {
    let turned = mirrored(problem)?;
    let back = Model::new(&turned);
    let horizon = problem.horizon();
    let length = plan.span.iter().map(|span| span.1).max().unwrap_or(0);
    let floor = problem.tasks().iter().zip(&plan.span).map(|(task, span)| {
        let until = task.due.map_or(length, |due| due.at.max(span.1));
        horizon - until.min(length)
    });
    let floor: Vec<Tick> = floor.collect();
    let ends: Vec<f64> = plan.span.iter().map(|span| -f64::from(span.1)).collect();
    let recipe = Recipe {
        rank: ranks(&ends),
        way: plan.way.clone(),
        hurry: vec![true; plan.span.len()],
        parallel: false,
    };
    let pushed = Decoder::new(&back).decode(&recipe, Some(&floor));
    Some(pushed.span.iter().map(|span| horizon - span.1).collect())
}

/// Moves that gain, for the first of what there is to spend. Why it stopped, if all is spent.
fn lessen(
    local: &mut Local,
    model: &Model,
    options: &Options,
    watch: &dyn Watch,
    begun: Instant,
) -> Option<Stopped> {
    let stop = options.stop;
    let late = || stop.time.is_some_and(|time| begun.elapsed() >= time);
    // Where steps alone count, the clock decides nothing.
    let soon = match (stop.time, stop.steps) {
        (None, Some(_)) => None,
        (Some(time), _) if time < SOON + LEAST => None,
        _ => Some(SOON),
    };
    let soon = || soon.is_some_and(|soon| begun.elapsed() >= soon);
    let steps = stop.steps.map_or(u64::MAX, |steps| steps.min(FEW_STEPS));
    let placements = steps.saturating_mul(model.count() as u64).min(u64::MAX / 2);
    let mut rng = Pcg64Mcg::seed_from_u64(options.seed);
    local.run(placements, &mut rng, &|| watch.cancelled() || late() || soon());
    if watch.cancelled() {
        return Some(Stopped::Cancelled);
    }
    let spent = stop.steps.is_some_and(|steps| steps <= FEW_STEPS) && !soon();
    if late() { Some(Stopped::Time) } else { spent.then_some(Stopped::Steps) }
}

impl Plan {
    /// Lets each task end where its way ends.
    fn fit(&mut self, model: &Model) {
        for (task, act) in model.acts.iter().enumerate() {
            let pattern = &act.ways[usize::from(self.way[task])].pattern;
            let start = self.span[task].0;
            self.span[task] = pattern.after(start).unwrap_or((start, start));
        }
    }
}

/// Where a schedule has the tasks; nothing if it is a schedule of something else.
fn plan_of(model: &Model, schedule: &Schedule) -> Option<Plan> {
    if schedule.assignments.len() != model.count() {
        return None;
    }
    let mut plan = Plan { span: Vec::new(), way: Vec::new(), breach: 0 };
    for (act, assignment) in model.acts.iter().zip(&schedule.assignments) {
        let found = act.ways.iter().position(|way| way.mode == assignment.mode);
        let way = found.and_then(|way| u8::try_from(way).ok()).unwrap_or(0);
        let start = assignment.start.clamp(0, model.problem.horizon());
        let span = act.ways[usize::from(way)].pattern.after(start);
        plan.span.push(span.unwrap_or((start, start)));
        plan.way.push(way);
    }
    Some(plan)
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;
    use timetable::{Demand, Mode, Profile, Published, Resource, ResourceId, Task};

    use super::*;
    use crate::sample::{broken, problem};
    use crate::{Silent, Stop};

    fn steps(steps: u64) -> Options {
        Options { stop: Stop::after_steps(steps), ..Options::default() }
    }

    /// The same problem with a schedule published, and one task that takes longer.
    fn slipped(problem: &Problem, schedule: &Schedule, late: usize, by: Tick) -> Problem {
        let mut tasks = problem.tasks().to_vec();
        for (task, run) in tasks.iter_mut().zip(&schedule.assignments) {
            task.published = Some(Published { start: run.start, weight: 1 });
        }
        for mode in &mut tasks[late].modes {
            mode.work = (mode.work + by).min(problem.horizon());
        }
        problem.with_tasks(tasks).expect("a longer task makes as much sense")
    }

    #[test]
    fn the_worked_case() {
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(1) };
        let task = |work| {
            let demand = Demand::throughout(ResourceId(0), 1);
            Task::new("t", Mode::elapsed(work, vec![demand]))
        };
        let tasks = vec![task(4), task(2), task(1)];
        let problem =
            Problem::new(20, tasks, vec![crew], vec![], vec![], vec![]).unwrap();
        let run = |start, finish| timetable::Assignment {
            mode: timetable::ModeId(0),
            start,
            finish,
        };
        let published = Schedule { assignments: vec![run(0, 4), run(4, 6), run(8, 9)] };
        let late = slipped(&problem, &published, 0, 1);
        let outcome = replan(&late, &published, &steps(0), &Silent);
        let repaired = outcome.schedule().unwrap();
        let starts: Vec<Tick> = repaired.assignments.iter().map(|a| a.start).collect();
        assert_eq!(starts, [0, 5, 8]);
    }

    /// What has room gives way: `c` could stand on day two or later, `b` is promised for then.
    /// In the order of the plan `c` would come first and make `b` late.
    #[test]
    fn what_is_promised_comes_before_what_has_room() {
        let crew = Resource { name: "crew".to_owned(), capacity: Profile::constant(1) };
        let task = |work| {
            let demand = Demand::throughout(ResourceId(0), 1);
            Task::new("t", Mode::elapsed(work, vec![demand]))
        };
        let mut tasks = vec![task(4), task(4), task(4), task(1)];
        tasks[2].due = Some(timetable::Due { at: 12, weight: 1 });
        tasks[3].release = 30;
        let problem =
            Problem::new(60, tasks, vec![crew], vec![], vec![], vec![]).unwrap();
        let run = |start, finish| timetable::Assignment {
            mode: timetable::ModeId(0),
            start,
            finish,
        };
        let runs = vec![run(0, 4), run(4, 8), run(8, 12), run(30, 31)];
        let published = Schedule { assignments: runs };
        let late = slipped(&problem, &published, 0, 2);
        let outcome = replan(&late, &published, &steps(0), &Silent);
        let starts: Vec<Tick> =
            outcome.schedule().unwrap().assignments.iter().map(|run| run.start).collect();
        assert_eq!(starts, [0, 12, 8, 30]);
    }

    /// A stand that was taken and given back before now is there again.
    #[test]
    fn what_is_over_uses_nothing() {
        let stand = Resource { name: "stand".to_owned(), capacity: Profile::constant(1) };
        let done = |start, finish| {
            let mut task = Task::new("t", Mode::elapsed(finish - start, vec![]));
            let mode = timetable::ModeId(0);
            task.progress = Progress::Done { mode, start, finish };
            task
        };
        let mut tasks =
            vec![done(0, 2), done(6, 8), Task::new("t", Mode::elapsed(2, vec![]))];
        tasks[2].release = 8;
        let hold = timetable::Occupancy {
            resource: ResourceId(0),
            amount: 1,
            from: timetable::Event::start(timetable::TaskId(0)),
            to: timetable::Event::finish(timetable::TaskId(1)),
        };
        let problem =
            Problem::new(60, tasks, vec![stand], vec![], vec![], vec![hold]).unwrap();
        let model = Model::new(&problem);
        let plan =
            Plan { span: vec![(0, 2), (6, 8), (8, 10)], way: vec![0; 3], breach: 0 };
        let mut local = Local::new(&model);
        assert!(local.take_over(&plan, None));
        assert_eq!(local.best().0.breach, 0);
    }

    proptest! {
        #![proptest_config(ProptestConfig::with_cases(120))]

        #[test]
        fn repairs_are_lawful(seed: u64, late: prop::sample::Index, by in 0..4) {
            let problem = problem(seed, 14, 60);
            let first = solve(&problem, &steps(60), &Silent);
            let Some(schedule) = first.schedule() else {
                return Ok(());
            };
            let late = late.index(problem.tasks().len());
            let changed = slipped(&problem, schedule, late, by);
            for budget in [0, 20] {
                let outcome = replan(&changed, schedule, &steps(budget), &Silent);
                if let Some(repaired) = outcome.schedule() {
                    prop_assert_eq!(broken(&changed, repaired), None);
                    prop_assert_eq!(verify::check(&changed, repaired), []);
                }
            }
        }

        /// A schedule that is still lawful is kept, or beaten without more drift.
        #[test]
        fn what_is_lawful_stays(seed: u64) {
            let problem = problem(seed, 14, 60);
            let first = solve(&problem, &steps(60), &Silent);
            let Some(schedule) = first.schedule() else {
                return Ok(());
            };
            let same = slipped(&problem, schedule, 0, 0);
            let outcome = replan(&same, schedule, &steps(0), &Silent);
            prop_assert_eq!(outcome.schedule(), Some(schedule));
            let before = Measures::of(&same, schedule);
            let after = replan(&same, schedule, &steps(20), &Silent).measures();
            prop_assert!(after.is_some_and(|after| after.key() <= before.key()));
        }
    }

    /// A repair drifts by far less than the first schedule of a search that begins from the
    /// published one, over many problems.
    #[test]
    fn repairs_stay_near() {
        let (mut near, mut far, mut cases) = (0, 0, 0);
        for seed in 0..32 {
            let problem = problems::generate(&problems::Recipe::tasks(60), seed);
            let first = crate::solve::search_only(&problem, &steps(60));
            let Some(schedule) = first.schedule() else {
                continue;
            };
            let changed = slipped(&problem, schedule, 20, 12);
            let repaired = replan(&changed, schedule, &steps(5), &Silent);
            if let Some(repaired) = repaired.schedule() {
                assert_eq!(verify::check(&changed, repaired), []);
            }
            let hint = Options { start_from: Some(schedule.clone()), ..steps(1) };
            let anew = crate::solve::search_only(&changed, &hint);
            if let (Some(a), Some(b)) = (repaired.measures(), anew.measures()) {
                (near, far, cases) = (near + a.drift, far + b.drift, cases + 1);
            }
        }
        assert!(cases >= 8, "{cases} cases are too few to say anything");
        assert!(2 * near <= far, "{near} against {far}");
    }

    #[test]
    fn a_schedule_of_something_else_is_no_hint() {
        let other = Schedule { assignments: Vec::new() };
        let found = (0..40).filter(|&seed| {
            let problem = problem(seed, 6, 40);
            let outcome = replan(&problem, &other, &steps(50), &Silent);
            let length = outcome.schedule().map(|s| s.assignments.len());
            length.is_some_and(|length| length == problem.tasks().len())
        });
        assert!(found.count() > 10);
    }
}
