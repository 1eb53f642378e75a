//! The engine against random problems with every feature.

use std::sync::atomic::{AtomicBool, Ordering};

use proptest::prelude::*;
use timetable::{
    Assignment, Clock, Measures, ModeId, Pace, Problem, Progress, Schedule, TaskId, Tick,
};

use crate::sample::{alone, broken, nested, problem};
use crate::{Conflict, News, Options, Outcome, Silent, Stop, Watch, explain, solve};

fn steps(steps: u64, threads: usize) -> Options {
    Options { stop: Stop::after_steps(steps), threads, seed: 7, start_from: None }
}

/// The best of all schedules, by trying every one.
fn best_of_all(problem: &Problem) -> Option<(i64, i64, Tick)> {
    let choices: Vec<Vec<Assignment>> = (0..problem.tasks().len())
        .map(|task| {
            let id = TaskId::new(task);
            let mut choices = Vec::new();
            for mode in (0..problem.task(id).modes.len()).map(ModeId::new) {
                for start in 0..=problem.horizon() {
                    for finish in start..=problem.horizon() {
                        let run = Assignment { mode, start, finish };
                        if alone(problem, id, &run) {
                            choices.push(run);
                        }
                    }
                }
            }
            choices
        })
        .collect();
    let mut best = None;
    let mut position = vec![0; choices.len()];
    if choices.iter().any(Vec::is_empty) {
        return None;
    }
    loop {
        let runs = position.iter().zip(&choices).map(|(&at, choices)| choices[at]);
        let schedule = Schedule { assignments: runs.collect() };
        let key = Measures::of(problem, &schedule).key();
        if best.is_none_or(|best| key < best) && broken(problem, &schedule).is_none() {
            best = Some(key);
        }
        let Some(wheel) =
            (0..choices.len()).find(|&w| position[w] + 1 < choices[w].len())
        else {
            return best;
        };
        position[..wheel].fill(0);
        position[wheel] += 1;
    }
}

/// The same problem with nothing left in it but lags, windows, capacities and the past.
fn elapsed(problem: &Problem) -> Problem {
    let mut tasks = problem.tasks().to_vec();
    for task in &mut tasks {
        if task.progress == Progress::Todo {
            task.modes.truncate(1);
            task.modes[0].pace = Pace::Elapsed;
            task.modes[0].cost = 0;
        }
        for mode in &mut task.modes {
            mode.takes.clear();
        }
        task.due = None;
        task.published = None;
    }
    let mut links = problem.links().to_vec();
    for link in &mut links {
        link.clock = Clock::Elapsed;
    }
    let (resources, calendars) = (problem.resources(), problem.calendars());
    let (resources, calendars) = (resources.to_vec(), calendars.to_vec());
    Problem::new(problem.horizon(), tasks, resources, calendars, links, vec![])
        .expect("it made sense before")
}

fn judge(problem: &Problem, outcome: &Outcome) {
    let Some(schedule) = outcome.schedule() else {
        return;
    };
    assert_eq!(broken(problem, schedule), None, "{problem:#?} {schedule:?}");
    assert_eq!(verify::check(problem, schedule), [], "{problem:#?} {schedule:?}");
    assert_eq!(outcome.measures(), Some(Measures::of(problem, schedule)));
    if let Outcome::Feasible { measures, bound, .. } = outcome {
        assert!(bound.tardiness <= measures.tardiness, "{problem:#?}");
        assert!(bound.cost <= measures.cost + measures.drift, "{problem:#?}");
        assert!(bound.length <= measures.length, "{problem:#?}");
    }
    assert_eq!(explain(problem, schedule).len(), problem.tasks().len());
}

/// The best by learning alone; lawful, and what it claims to measure.
fn learnt(problem: &Problem) -> Option<(i64, i64, Tick)> {
    let model = crate::model::Model::new(problem);
    if crate::conflict::conflict(&model, &|| false).is_some() {
        return None;
    }
    let mut exact = crate::exact::Exact::new(&model, &crate::Bound::default())?;
    exact.run(50_000, &|| false);
    assert!(exact.closed, "{problem:#?}");
    let (schedule, levels) = exact.best?;
    assert_eq!(verify::check(problem, &schedule), [], "{problem:#?} {schedule:?}");
    let key = Measures::of(problem, &schedule).key();
    assert_eq!((levels[0], levels[1], levels[2] as Tick), key, "{problem:#?}");
    Some(key)
}

/// Learning against enumeration, on problems with a few more tasks.
#[test]
fn learning_finds_what_enumeration_finds() {
    use crate::tiny::{Verdict, enumerate};
    let mut same = 0;
    for seed in 0..2_000 {
        let (size, horizon) = (2 + (seed % 5) as usize, 10 + (seed % 7) as Tick);
        let problem = problem(seed, size, horizon);
        let model = crate::model::Model::new(&problem);
        if crate::conflict::conflict(&model, &|| false).is_some() {
            continue;
        }
        let best = match enumerate(&model, &|| false) {
            Verdict::Best(schedule) => Some(Measures::of(&problem, &schedule).key()),
            Verdict::Nothing => None,
            Verdict::TooLarge => continue,
        };
        assert_eq!(learnt(&problem), best, "seed {seed} {problem:#?}");
        same += 1;
    }
    assert!(same > 500, "{same} problems are too few to say anything");
}

/// The same problem with nothing to weigh but the length.
fn shortest(problem: &Problem) -> Problem {
    let mut tasks = problem.tasks().to_vec();
    for task in &mut tasks {
        task.due = None;
        task.published = None;
        for mode in &mut task.modes {
            mode.cost = 0;
        }
    }
    problem.with_tasks(tasks).expect("it made sense before")
}

/// What prices prove is never above the shortest length, wherever the climb begins.
#[test]
fn prices_prove_nothing_false() {
    let (mut seen, mut tight, mut raised) = (0, 0, 0);
    for seed in 0..6_000 {
        let (size, horizon) = (2 + (seed % 7) as usize, 12 + (seed % 29) as Tick);
        let drawn = if seed % 3 < 2 { problem } else { nested };
        let problem = shortest(&drawn(seed, size, horizon));
        let model = crate::model::Model::new(&problem);
        if crate::conflict::conflict(&model, &|| false).is_some() {
            continue;
        }
        let bound = crate::bounds::bound(&model);
        let best = learnt(&problem).map_or(horizon + 1, |best| best.2);
        for from in [0, bound.length / 2, bound.length] {
            let mut prices = crate::prices::Prices::within(&model, from, horizon);
            prices.run(3_000, &|| false);
            assert!(
                prices.proven <= best,
                "seed {seed}: {} proven, {best} is the best, {problem:#?}",
                prices.proven
            );
            tight += usize::from(prices.proven == best);
            raised += usize::from(prices.proven > bound.length);
            seen += 1;
        }
    }
    assert!(seen > 3_000 && tight > 500 && raised > 10, "{seen} {tight} {raised}");
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(150))]

    #[test]
    fn every_schedule_is_lawful(seed: u64, most in 1_usize..14) {
        let problem = problem(seed, most, 60);
        judge(&problem, &solve(&problem, &steps(200, 1), &Silent));
        judge(&problem, &crate::solve::search_only(&problem, &steps(200, 1)));
    }

    #[test]
    fn tiny_problems_are_settled_rightly(seed: u64) {
        let problem = problem(seed, 3, 11);
        let best = best_of_all(&problem);
        let model = crate::model::Model::new(&problem);
        if crate::conflict::late_conflict(&model, &|| false).is_some() {
            prop_assert_eq!(None, best, "{:#?}", problem);
        }
        match solve(&problem, &steps(2_000, 1), &Silent) {
            Outcome::Optimal { schedule, measures } => {
                prop_assert_eq!(broken(&problem, &schedule), None);
                prop_assert_eq!(verify::check(&problem, &schedule), []);
                prop_assert_eq!(Some(measures.key()), best, "{:#?}", problem);
            }
            Outcome::Infeasible(Conflict { parts, .. }) => {
                prop_assert_eq!(None, best, "{:#?}", problem);
                prop_assert!(!parts.is_empty());
            }
            other => prop_assert!(false, "not settled: {other:?} {problem:#?}"),
        }
    }

    #[test]
    fn learning_settles_lags_and_capacities_rightly(seed: u64) {
        let problem = elapsed(&problem(seed, 4, 12));
        let best = best_of_all(&problem);
        prop_assert_eq!(learnt(&problem), best, "{:#?}", problem);
    }

    #[test]
    fn learning_settles_every_feature_rightly(seed: u64) {
        let problem = problem(seed, 3, 12);
        let best = best_of_all(&problem);
        prop_assert_eq!(learnt(&problem), best, "{:#?}", problem);
    }

    #[test]
    fn a_part_taken_out_fits_back_in(seed: u64, some: u64) {
        use crate::patch::{Layout, Patch};
        let problem = problem(seed, 14, 60);
        let found = crate::solve::search_only(&problem, &steps(100, 1));
        let Some(schedule) = found.schedule() else {
            return Ok(());
        };
        let model = crate::model::Model::new(&problem);
        let Some(layout) = Layout::of(&model, schedule) else {
            return Err(TestCaseError::fail("a lawful schedule has ways that can be"));
        };
        let free = |&task: &usize| model.acts[task].fixed.is_none();
        let chosen = |&task: &usize| some >> (task % 64) & 1 == 1;
        let tasks: Vec<usize> = (0..model.count()).filter(free).filter(chosen).collect();
        let Some(patch) = Patch::new(&model, &layout, &tasks, 0, &|_| Tick::MAX) else {
            return Err(TestCaseError::fail("what was there has a place"));
        };
        let part = patch.cut(&model, &layout);
        prop_assert_eq!(verify::check(&patch.problem, &part), [], "{:#?}", patch.problem);
        let small = crate::model::Model::new(&patch.problem);
        let bound = crate::Bound::default();
        let mut exact = crate::exact::Exact::new(&small, &bound).expect("it is small");
        exact.run(2_000, &|| false);
        let (part, _) = exact.best.as_ref().expect("there is a schedule");
        let whole = patch.put_back(&model, &layout, part).expect("its ways can be");
        let breach = crate::decode::breach_of(&model, &whole.span);
        let plan = crate::decode::Plan { span: whole.span, way: whole.way, breach };
        let again = plan.schedule(&model);
        prop_assert_eq!(verify::check(&problem, &again), [], "{:#?}", problem);
        prop_assert!(Measures::of(&problem, &again).tardiness <= Measures::of(&problem, schedule).tardiness);
    }

    #[test]
    fn mended_schedules_are_lawful_and_better(seed: u64) {
        let problem = problem(seed, 14, 60);
        let found = crate::solve::search_only(&problem, &steps(3, 1));
        let Some(schedule) = found.schedule() else {
            return Ok(());
        };
        let model = crate::model::Model::new(&problem);
        let turned = crate::mirror::mirrored(&problem);
        let mirror = turned.as_ref().map(crate::model::Model::new);
        let mut mender = crate::mend::Mender::new(&model, mirror.as_ref(), seed);
        let (tardiness, cost, length) = Measures::of(&problem, schedule).key();
        mender.hear(schedule, [tardiness, cost, i64::from(length)]);
        mender.run(400, &|| false, &|| false);
        if let Some((better, levels)) = &mender.best {
            prop_assert_eq!(verify::check(&problem, better), [], "{:#?}", problem);
            let key = Measures::of(&problem, better).key();
            prop_assert_eq!(*levels, [key.0, key.1, i64::from(key.2)]);
            prop_assert!(key < (tardiness, cost, length));
        }
    }

    #[test]
    fn threads_do_not_change_the_answer(seed: u64) {
        let problem = problem(seed, 12, 50);
        let one = crate::solve::search_only(&problem, &steps(300, 1));
        let two = crate::solve::search_only(&problem, &steps(300, 2));
        prop_assert_eq!(one, two);
    }
}

/// Where no steps are counted, a proof ends a round at once: what was settled so is what is
/// settled with all rounds run to their end.
#[test]
fn a_proof_ends_a_round_and_changes_nothing() {
    let settled = |outcome: Outcome| match outcome {
        Outcome::Optimal { measures, .. } => Some(Some(measures.key())),
        Outcome::Infeasible(_) => Some(None),
        _ => None,
    };
    let mut seen = [0, 0];
    for seed in 0..200 {
        let problem = problem(seed, 12, 90);
        let counted = settled(solve(&problem, &steps(4_000, 2), &Silent));
        let stop = Stop::after(std::time::Duration::from_secs(20));
        let timed = settled(solve(&problem, &Options { stop, ..steps(0, 2) }, &Silent));
        if let (Some(counted), Some(timed)) = (counted, timed) {
            assert_eq!(counted, timed, "seed {seed} {problem:#?}");
            seen[usize::from(timed.is_some())] += 1;
        }
    }
    assert!(seen[0] > 2 && seen[1] > 20, "{seen:?} say little");
}

/// Most tiny problems that have a schedule get one from decoding alone.
#[test]
fn decoding_finds_what_enumeration_finds() {
    let (mut there, mut missed) = (0, 0);
    for seed in 0..600 {
        let problem = problem(seed, 5, 14);
        let Outcome::Optimal { .. } = solve(&problem, &steps(1, 1), &Silent) else {
            continue;
        };
        there += 1;
        let found = crate::solve::search_only(&problem, &steps(1_000, 1));
        judge(&problem, &found);
        assert!(!matches!(found, Outcome::Infeasible(_)), "{problem:#?}");
        missed += usize::from(found.schedule().is_none());
    }
    assert!(there > 100, "{there} problems are too few to say anything");
    assert!(missed * 25 <= there, "{missed} of {there} missed");
}

#[test]
fn a_cancelled_search_returns_what_it_has() {
    struct Ends(AtomicBool);
    impl Watch for Ends {
        fn progress(&self, news: &News) {
            if news.best.is_some() {
                self.0.store(true, Ordering::Relaxed);
            }
        }
        fn cancelled(&self) -> bool {
            self.0.load(Ordering::Relaxed)
        }
    }
    // Large enough that no proof is found before it is cancelled.
    let problem = (0..99).map(|seed| problem(seed, 120, 400)).find(|problem| {
        let outcome = crate::solve::search_only(problem, &steps(100, 1));
        matches!(outcome, Outcome::Feasible { .. })
    });
    let options = Options { stop: Stop::default(), ..Options::default() };
    let outcome = solve(&problem.unwrap(), &options, &Ends(AtomicBool::new(false)));
    let cancelled = crate::Stopped::Cancelled;
    assert!(
        matches!(outcome, Outcome::Feasible { stopped, .. } if stopped == cancelled),
        "{outcome:?}"
    );
}
