use proptest::prelude::*;
use rand::{RngExt, SeedableRng};
use timetable::{Mode, Problem, Stock, Take, Task};

use super::*;
use crate::model::Keep;
use crate::sample;

fn task(modes: &[(i32, &[i64])]) -> Task {
    let mode = |&(work, takes): &(i32, &[i64])| {
        let takes = takes.iter().enumerate().filter(|take| *take.1 > 0);
        let takes =
            takes.map(|(stock, &amount)| Take { stock: StockId::new(stock), amount });
        Mode { takes: takes.collect(), ..Mode::elapsed(work, vec![]) }
    };
    let mut task = Task::new("t", Mode::elapsed(0, vec![]));
    task.modes = modes.iter().map(mode).collect();
    task
}

fn problem(tasks: Vec<Task>, available: &[i64]) -> Problem {
    let stock = |&available: &i64| Stock { name: "s".to_owned(), available };
    let stocks = available.iter().map(stock).collect();
    Problem::stocked(60, tasks, vec![], stocks, vec![], vec![], vec![]).unwrap()
}

fn ways(model: &Model) -> Vec<usize> {
    model.acts.iter().map(|act| act.ways.len()).collect()
}

#[test]
fn the_worked_case() {
    let a = task(&[(9, &[2]), (1, &[7])]);
    let b = task(&[(9, &[3]), (1, &[4])]);
    let short = problem(vec![a.clone(), b.clone()], &[9]);
    let model = Model::new(&short);
    assert_eq!(ways(&model), [1, 2]);
    assert!(model.stocks.is_empty());
    let enough = problem(vec![a.clone(), b.clone()], &[10]);
    let model = Model::new(&enough);
    assert_eq!((ways(&model), &model.stocks.left[..]), (vec![2, 2], &[5][..]));
    assert_eq!(model.stocks.excess(&[6]), WEIGHT as i64 / 5 + 1);
    let nothing = problem(vec![a, b], &[4]);
    assert_eq!(Model::new(&nothing).stocks.short, Some(Short::Stock(StockId(0))));
}

#[test]
fn a_task_without_a_way_is_short() {
    let tasks = vec![task(&[(1, &[5, 0]), (1, &[0, 5])]), task(&[(1, &[1, 1])])];
    let problem = problem(tasks, &[4, 4]);
    assert_eq!(Model::new(&problem).stocks.short, Some(Short::Task(0)));
}

#[test]
fn what_is_never_better_goes_only_if_that_is_wanted() {
    // Two modes that are alike, one that is longer, one that is longer and takes less.
    let modes: [(i32, &[i64]); 4] = [(3, &[4]), (3, &[4]), (5, &[4]), (5, &[2])];
    let problem = problem(vec![task(&modes), task(&modes)], &[7]);
    assert_eq!(ways(&Model::new(&problem)), [4, 4]);
    let model = Model::with(&problem, Keep::Better);
    let modes: Vec<u32> = model.acts[0].ways.iter().map(|way| way.mode.0).collect();
    assert_eq!(modes, [0, 3]);
}

#[test]
fn prices_prove_what_the_worked_case_says() {
    let task = |cost| {
        let mut task = task(&[(1, &[0]), (1, &[1])]);
        (task.modes[0].cost, task.modes[1].cost) = (cost, 1);
        task
    };
    let problem = problem(vec![task(5), task(5)], &[1]);
    let model = Model::new(&problem);
    assert_eq!(least_cost(&model), 6);
}

/// The least sum of values over all choices that the stocks allow, by trying every one.
fn least_of_all(
    model: &Model,
    value: &dyn Fn(usize, &crate::model::Way) -> i64,
) -> Option<i64> {
    let mut way = vec![0_u8; model.count()];
    let mut least = None;
    loop {
        if model.stock_breach(&way) == 0 {
            let acts = model.acts.iter().zip(&way);
            let acts = acts.enumerate();
            let sum: i64 =
                acts.map(|(n, (act, &way))| value(n, &act.ways[usize::from(way)])).sum();
            least = Some(least.map_or(sum, |least: i64| least.min(sum)));
        }
        let turn =
            |&task: &usize| usize::from(way[task]) + 1 < model.acts[task].ways.len();
        let Some(wheel) = (0..way.len()).find(turn) else { return least };
        way[wheel] += 1;
        way[..wheel].fill(0);
    }
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn a_mix_is_found_where_there_is_one_and_prices_prove_no_more_than_is_true(seed: u64) {
        let problem = sample::problem(seed, 7, 30);
        let model = Model::new(&problem);
        let least = least_of_all(&model, &|_, way| way.cost);
        if model.stocks.short.is_some() {
            prop_assert_eq!(least, None);
            return Ok(());
        }
        if model.stocks.is_empty() {
            return Ok(());
        }
        match base(&model, 100_000, &|| false) {
            Base::Found(way) => prop_assert_eq!(model.stock_breach(&way), 0),
            Base::Nothing(_) => prop_assert_eq!(least, None),
            Base::Unknown(_) => prop_assert!(false, "not settled"),
        }
        if let Some(least) = least {
            prop_assert!(least_cost(&model) <= least, "{} > {least}", least_cost(&model));
            let work = |_: usize, way: &crate::model::Way| i64::from(way.pattern.work());
            let tasks: Vec<usize> = (0..model.count()).collect();
            let bound = price(&model, &tasks, &work).unwrap().least;
            prop_assert!(bound <= least_of_all(&model, &work).unwrap());
        }
    }
}

/// Whole seasons whose stocks can lack get a lawful schedule, the same from any number of
/// threads.
#[test]
fn seasons_with_stocks_are_planned() {
    let mut seen = 0;
    for seed in 0..12 {
        let problem = problems::generate(&problems::Recipe::tasks(120), seed);
        if Model::new(&problem).stocks.is_empty() {
            continue;
        }
        seen += 1;
        let solve = |threads| {
            let stop = crate::Stop::after_steps(400);
            let options = crate::Options { stop, threads, seed: 3, start_from: None };
            crate::solve(&problem, &options, &crate::Silent)
        };
        let found = solve(1);
        let schedule = found.schedule().expect("the generator laid one down");
        assert_eq!(verify::check(&problem, schedule), []);
        if seen == 1 {
            assert_eq!(found, solve(2));
        }
    }
    assert!(seen >= 2, "{seen} seasons are too few to say anything");
}

/// A hundred tasks, each with a cheap mode of one stock or of another, and hardly enough of
/// both: single changes do not get there.
#[test]
fn a_mix_is_found_at_the_edge_of_what_can_be() {
    for seed in 0..8 {
        let mut rng = rand_pcg::Pcg64Mcg::seed_from_u64(seed);
        let mut amounts = [0, 0];
        let tasks = (0..60).map(|_| {
            let each = |_| {
                let first = rng.random_range(1..100);
                (5, [first, 104 - first + rng.random_range(-3..=3)])
            };
            let modes: Vec<(i32, [i64; 2])> = (0..3).map(each).collect();
            let laid = modes[rng.random_range(0..3)].1;
            amounts = [amounts[0] + laid[0], amounts[1] + laid[1]];
            let modes: Vec<(i32, &[i64])> =
                modes.iter().map(|m| (m.0, &m.1[..])).collect();
            task(&modes)
        });
        let tasks = tasks.collect();
        let problem = problem(tasks, &amounts);
        let model = Model::new(&problem);
        let found = base(&model, 20_000, &|| false);
        assert!(matches!(found, Base::Found(_)), "seed {seed}: {found:?}");
    }
}
