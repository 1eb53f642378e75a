//! Tables of what came of the runs, one group for each way to count limits.

use std::collections::{BTreeMap, BTreeSet};

use super::answer::Status;
use super::record::{Run, Score};
use super::sets::natural;
use super::settings::Clock;
use super::summary::{Duel, Figures, key, known, length, mean};
use super::table::{Form, Table, count, number};

/// Runs of one set under one limit.
struct Block<'a> {
    set: &'a str,
    limit: String,
    runs: Vec<&'a Run>,
}

/// How much is shown, and how.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Style {
    pub(super) form: Form,
    /// Of several seeds only the mean.
    pub(super) means: bool,
}

/// Everything there is to say of some runs. Of runs that answer the same question, the last
/// counts.
pub(super) fn report(runs: &[Run], style: Style) -> String {
    let runs = last(runs);
    let mut parts = Vec::new();
    for (clock, threads) in ways(&runs) {
        let of_way =
            |run: &&Run| (run.settings.clock, run.settings.threads) == (clock, threads);
        let chosen: Vec<&Run> = runs.iter().copied().filter(of_way).collect();
        parts.push(way(clock, threads));
        for by_length in [true, false] {
            let of_kind =
                |run: &&Run| matches!(run.score, Score::Length { .. }) == by_length;
            let chosen: Vec<&Run> = chosen.iter().copied().filter(of_kind).collect();
            if !chosen.is_empty() {
                parts.extend(tables(&blocks(&chosen), by_length, style));
            }
        }
        parts.push(circumstances(&chosen));
    }
    parts.extend(
        [news(&runs), faults(&runs)]
            .iter()
            .filter(|l| !l.is_empty())
            .map(|l| l.join("\n")),
    );
    parts.join("\n\n")
}

/// All that is wrong with answers, or between them.
pub(super) fn faults(runs: &[&Run]) -> Vec<String> {
    let mut faults: Vec<String> = runs
        .iter()
        .flat_map(|run| run.faults.iter().map(|fault| format!("{}: {fault}", named(run))))
        .collect();
    for block in blocks(runs) {
        for solver in solvers(&block.runs).iter().skip(1) {
            let pairs = pairs(&block.runs, [solvers(&block.runs)[0], solver]);
            faults.extend(pairs.iter().filter_map(contradiction));
        }
    }
    faults
}

/// The faults among all runs that count.
pub(super) fn all_faults(runs: &[Run]) -> Vec<String> {
    faults(&last(runs))
}

fn named(run: &Run) -> String {
    let Run { set, instance, solver, settings, .. } = run;
    format!("{set} {instance}, {solver}, {settings}, seed {}", settings.seed)
}

/// Two claims that can't both be true.
fn contradiction(pair: &[&Run; 2]) -> Option<String> {
    let [first, second] = pair;
    for (one, other) in [(first, second), (second, first)] {
        if one.says(Status::Infeasible) && other.solved() {
            return Some(format!(
                "{}: infeasible, but {} has a schedule",
                named(one),
                other.solver
            ));
        }
        if one.says(Status::Optimal) && key(one) > key(other) && other.solved() {
            return Some(format!(
                "{}: optimal at {}, but {} reaches {}",
                named(one),
                value(one),
                other.solver,
                value(other)
            ));
        }
        if let (Some(bounds), Some(reached)) = (bounds(one), key(other))
            && bounds > reached
        {
            let bound = match one.score {
                Score::Length { .. } => bounds[2].to_string(),
                Score::Levels { .. } => format!("{bounds:?}"),
            };
            return Some(format!(
                "{}: bound {bound}, but {} reaches {}",
                named(one),
                other.solver,
                value(other)
            ));
        }
    }
    None
}

/// What a run says that no schedule is below. The bound of a level holds for schedules that
/// meet those of the levels before, so that bounds compare like schedules: by the first
/// level that differs.
fn bounds(run: &Run) -> Option<[i64; 3]> {
    match run.score {
        _ if !run.faults.is_empty() => None,
        Score::Length { bound, .. } => bound.map(|bound| [0, 0, bound]),
        Score::Levels { bound, .. } => bound,
    }
}

fn value(run: &Run) -> String {
    match (run.score, key(run)) {
        (_, None) => "nothing".to_owned(),
        (Score::Length { .. }, Some(key)) => key[2].to_string(),
        (Score::Levels { .. }, Some(key)) => format!("{key:?}"),
    }
}

/// Schedules shorter than any known, the shortest of each instance.
pub(super) fn news(runs: &[&Run]) -> Vec<String> {
    let mut best: Vec<&Run> = Vec::new();
    let better =
        |run: &&&Run| matches!((length(run), known(run)), (Some(a), Some(b)) if a < b);
    for run in runs.iter().filter(better) {
        match best.iter_mut().find(|b| (&b.set, &b.instance) == (&run.set, &run.instance))
        {
            Some(before) if length(before) <= length(run) => {}
            Some(before) => *before = run,
            None => best.push(run),
        }
    }
    let line = |run: &&Run| {
        let (ours, known) = (length(run).unwrap_or(0), known(run).unwrap_or(0));
        format!(
            "{}: {ours} beats the best known {known}, and passes the checks",
            named(run)
        )
    };
    best.iter().map(line).collect()
}

/// Each question once, in the order in which it was first asked, with its last answer.
fn last(runs: &[Run]) -> Vec<&Run> {
    let mut places = BTreeMap::new();
    let mut kept: Vec<&Run> = Vec::new();
    for run in runs {
        let question = (&run.set, &run.instance, &run.solver, run.settings);
        let place = *places.entry(question).or_insert(kept.len());
        match kept.get_mut(place) {
            Some(before) => *before = run,
            None => kept.push(run),
        }
    }
    kept
}

fn ways(runs: &[&Run]) -> BTreeSet<(Clock, u64)> {
    runs.iter().map(|run| (run.settings.clock, run.settings.threads)).collect()
}

fn way(clock: Clock, threads: u64) -> String {
    match clock {
        Clock::Wall => format!("{threads} threads; a limit is time that passes"),
        Clock::Processor => format!(
            "{threads} threads; a limit of 1 s is {threads} s of processor time, all \
             threads together"
        ),
    }
}

fn blocks<'a>(runs: &[&'a Run]) -> Vec<Block<'a>> {
    let mut blocks: Vec<Block<'a>> = Vec::new();
    for &run in runs {
        let limit = format!("{} s", run.settings.limit.as_secs_f64());
        let found =
            blocks.iter_mut().find(|block| block.set == run.set && block.limit == limit);
        match found {
            Some(block) => block.runs.push(run),
            None => blocks.push(Block { set: &run.set, limit, runs: vec![run] }),
        }
    }
    blocks.sort_by_cached_key(|block| (natural(block.set), natural(&block.limit)));
    blocks
}

/// In order of appearance.
fn solvers<'a>(runs: &[&'a Run]) -> Vec<&'a str> {
    let mut solvers: Vec<&str> = Vec::new();
    for run in runs {
        if !solvers.contains(&run.solver.as_str()) {
            solvers.push(&run.solver);
        }
    }
    solvers
}

fn tables(blocks: &[Block], by_length: bool, style: Style) -> Vec<String> {
    let Style { form, means } = style;
    let first = if by_length { lengths(blocks, means) } else { levels(blocks, means) };
    let mut tables = vec![first, efforts(blocks, means)];
    if blocks.iter().any(|block| solvers(&block.runs).len() > 1) {
        tables.push(duels(blocks, by_length));
    }
    tables.iter().map(|table| table.show(form)).collect()
}

/// Calls with each solver's runs of each seed, and with those of all seeds; of several seeds
/// only with the latter if only `means` are wanted.
fn each(blocks: &[Block], means: bool, mut take: impl FnMut(Vec<String>, &[Vec<&Run>])) {
    for block in blocks {
        for solver in solvers(&block.runs) {
            let runs = || block.runs.iter().copied().filter(|run| run.solver == solver);
            let seeds: BTreeSet<u64> = runs().map(|run| run.settings.seed).collect();
            let by_seed: Vec<Vec<&Run>> = seeds
                .iter()
                .map(|&seed| runs().filter(|run| run.settings.seed == seed).collect())
                .collect();
            let start = |seed: String| {
                vec![block.set.to_owned(), block.limit.clone(), solver.to_owned(), seed]
            };
            let single =
                seeds.iter().zip(&by_seed).filter(|_| !means || seeds.len() == 1);
            for (seed, runs) in single {
                take(start(seed.to_string()), std::slice::from_ref(runs));
            }
            if seeds.len() > 1 {
                take(start("mean".to_owned()), &by_seed);
            }
        }
    }
}

fn figures(by_seed: &[Vec<&Run>]) -> Figures {
    let all: Vec<Figures> = by_seed.iter().map(|runs| Figures::of(runs)).collect();
    Figures::mean(&all)
}

fn lengths(blocks: &[Block], means: bool) -> Table {
    let mut table = Table::new(&[
        "set",
        "limit",
        "solver",
        "seed",
        "of",
        "solved",
        "gap %",
        "worst %",
        "hit",
        "better",
        "path %",
        "optimal",
        "infeasible",
        "settled",
        "unknown",
        "wrong",
    ]);
    each(blocks, means, |mut row, by_seed| {
        let f = figures(by_seed);
        row.extend([count(f.of), count(f.solved), number(f.gap, 3), number(f.worst, 2)]);
        row.extend([count(f.hit), count(f.better), number(f.path, 2)]);
        row.extend([
            count(f.optimal),
            count(f.infeasible),
            count(f.optimal + f.infeasible),
        ]);
        row.extend([count(f.unknown), count(f.wrong)]);
        table.add(row);
    });
    table
}

fn levels(blocks: &[Block], only_means: bool) -> Table {
    let mut table = Table::new(&[
        "set",
        "limit",
        "solver",
        "seed",
        "of",
        "solved",
        "optimal",
        "infeasible",
        "settled",
        "unknown",
        "wrong",
        "tardiness",
        "cost",
        "length",
    ]);
    each(blocks, only_means, |mut row, by_seed| {
        let f = figures(by_seed);
        row.extend([count(f.of), count(f.solved), count(f.optimal), count(f.infeasible)]);
        row.extend([count(f.optimal + f.infeasible), count(f.unknown), count(f.wrong)]);
        let runs = || by_seed.iter().flatten().copied();
        row.extend(means(runs()).map(|mean| number(mean, 1)));
        table.add(row);
    });
    table
}

/// The mean of each level over the runs that have a schedule.
fn means<'a>(runs: impl Iterator<Item = &'a Run>) -> [Option<f64>; 3] {
    let keys: Vec<[i64; 3]> = runs.filter_map(key).collect();
    [0, 1, 2].map(|level| mean(keys.iter().map(|key| key[level] as f64)))
}

fn efforts(blocks: &[Block], means: bool) -> Table {
    let mut table = Table::new(&[
        "set",
        "limit",
        "solver",
        "seed",
        "first s",
        "seconds",
        "processor s",
        "schedules/s",
        "peak MB",
        "others",
    ]);
    each(blocks, means, |mut row, by_seed| {
        let f = figures(by_seed);
        row.extend([number(f.first, 4), number(f.seconds, 3), number(f.processor, 3)]);
        let megabytes = f.peak.map(|bytes| bytes / 1e6);
        row.extend([number(f.rate, 0), number(megabytes, 1), number(f.others, 2)]);
        table.add(row);
    });
    table
}

/// The runs of two solvers on the same instance with the same seed.
fn pairs<'a>(runs: &[&'a Run], solvers: [&str; 2]) -> Vec<[&'a Run; 2]> {
    let of = |solver: &str| {
        let runs = runs.iter().filter(move |run| run.solver == solver);
        runs.map(|run| ((&run.instance, run.settings.seed), *run))
            .collect::<BTreeMap<_, _>>()
    };
    let (first, second) = (of(solvers[0]), of(solvers[1]));
    let pair = |(key, run): (&_, &&'a Run)| second.get(key).map(|other| [*run, *other]);
    first.iter().filter_map(pair).collect()
}

/// Each solver beside the first, on what both were given.
fn duels(blocks: &[Block], by_length: bool) -> Table {
    let mut heading = vec!["set", "limit", "solver", "of", "both solved", "ahead"];
    heading.extend(["only one solved", "settled", "only one settled", "agree"]);
    let gaps: &[&str] =
        if by_length { &["gap %"] } else { &["tardiness", "cost", "length"] };
    heading.extend(gaps);
    let mut table = Table::new(&heading);
    for block in blocks {
        let names = solvers(&block.runs);
        for other in names.iter().skip(1) {
            for row in duel(block, [names[0], other], by_length) {
                table.add(row);
            }
        }
    }
    table
}

fn duel(block: &Block, names: [&str; 2], by_length: bool) -> [Vec<String>; 2] {
    let pairs = pairs(&block.runs, names);
    let duel = Duel::of(&pairs);
    [0, 1].map(|at| {
        let mut row =
            vec![block.set.to_owned(), block.limit.clone(), names[at].to_owned()];
        let counts = [
            duel.of,
            duel.both,
            duel.ahead[at],
            duel.only[at],
            duel.settled[at],
            duel.alone[at],
            duel.agree,
        ];
        row.extend(counts.map(|count| count.to_string()));
        if by_length {
            row.push(number(duel.gaps[at], 3));
        } else {
            let both = pairs.iter().filter(|pair| pair.iter().all(|run| run.solved()));
            row.extend(means(both.map(|pair| pair[at])).map(|mean| number(mean, 1)));
        }
        row
    })
}

/// Machine, days, versions, and whether the machine was idle.
fn circumstances(runs: &[&Run]) -> String {
    let each = |what: &dyn Fn(&Run) -> String| {
        let all: BTreeSet<String> = runs.iter().map(|run| what(run)).collect();
        all.into_iter().collect::<Vec<_>>().join("; ")
    };
    let load: Vec<f64> = runs.iter().filter_map(|run| run.usage.others).collect();
    let most = load.iter().copied().reduce(f64::max);
    let load = match (mean(load.iter().copied()), most) {
        (Some(mean), Some(most)) => {
            format!("others kept {mean:.2} processors busy on average, {most:.2} at most")
        }
        _ => "unknown".to_owned(),
    };
    format!(
        "machine: {}\ndays: {}\nversions: {}\nother load: {load}",
        each(&|run| run.machine.clone()),
        each(&|run| run.date.clone()),
        each(&|run| format!("{} {}", run.solver, run.version)),
    )
}

#[cfg(test)]
mod tests {
    use super::super::record::tests::run;
    use super::*;

    const TEXT: Style = Style { form: Form::Text, means: false };

    fn runs() -> Vec<Run> {
        let mut second = run("x1", "a", Status::Feasible, 99);
        second.settings.seed = 2;
        vec![
            run("x1", "a", Status::Feasible, 104),
            run("x1", "b", Status::Feasible, 105),
            second,
            run("x2", "a", Status::Optimal, 100),
            // The same question once more: this one counts.
            run("x1", "a", Status::Feasible, 102),
        ]
    }

    fn row<'a>(report: &'a str, starts: &[&str]) -> Vec<&'a str> {
        let words = |line: &'a str| line.split_whitespace().collect::<Vec<_>>();
        let found = report.lines().map(words).find(|line| line.starts_with(starts));
        found.unwrap_or_else(|| panic!("no line {starts:?} in\n{report}"))
    }

    #[test]
    fn each_seed_has_a_row_and_the_mean_one_more() {
        let report = report(&runs(), TEXT);
        let first = row(&report, &["s", "1.1", "s", "a", "1"]);
        let expected =
            ["2", "2", "1.000", "2.00", "1", "0", "102.00", "1", "0", "1", "0", "0"];
        assert_eq!(first[5..], expected, "{report}");
        assert_eq!(
            row(&report, &["s", "1.1", "s", "a", "2"])[5..8],
            ["1", "1", "-1.000"]
        );
        assert_eq!(
            row(&report, &["s", "1.1", "s", "a", "mean"])[5..8],
            ["1.5", "1.5", "0.000"]
        );
        assert!(report.contains("versions: a 1; b 1"), "{report}");
        assert!(report.contains("99 beats the best known 100"), "{report}");
    }

    #[test]
    fn only_means_where_there_are_several_seeds() {
        let report = report(&runs(), Style { means: true, ..TEXT });
        let answers = report.split("\n\n").nth(1).unwrap();
        let seeds: Vec<&str> = answers
            .lines()
            .skip(2)
            .map(|line| line.split_whitespace().nth(4).unwrap())
            .collect();
        assert_eq!(seeds, ["mean", "1"], "{answers}");
    }

    #[test]
    fn solvers_stand_side_by_side() {
        let report = report(&runs(), TEXT);
        let side = report.split("both solved").nth(1).unwrap();
        // Only x1 with seed 1 was given to both.
        assert_eq!(
            row(side, &["s", "1.1", "s", "a"])[4..],
            ["1", "1", "1", "0", "0", "0", "0", "2.000"]
        );
        assert_eq!(
            row(side, &["s", "1.1", "s", "b"])[4..],
            ["1", "1", "0", "0", "0", "0", "0", "5.000"]
        );
    }

    #[test]
    fn contradictions_are_faults() {
        let fault = |first: Run, second: Run| {
            let faults = all_faults(&[first, second]);
            assert_eq!(faults.len(), 1, "{faults:?}");
            faults[0].clone()
        };
        let feasible = || run("x", "b", Status::Feasible, 100);
        let text = fault(run("x", "a", Status::Infeasible, 0), feasible());
        assert!(text.contains("b has a schedule"), "{text}");
        let text = fault(run("x", "a", Status::Optimal, 101), feasible());
        assert!(text.contains("optimal at 101, but b reaches 100"), "{text}");
        let mut bold = run("x", "a", Status::Unknown, 0);
        bold.score = Score::Length {
            makespan: None,
            bound: Some(101),
            best: super::super::sets::Best::Infeasible,
            path: None,
        };
        assert!(fault(bold, feasible()).contains("bound 101"));
        assert!(
            all_faults(&[run("x", "a", Status::Optimal, 100), feasible()]).is_empty()
        );
    }

    #[test]
    fn levels_have_columns_of_their_own() {
        let levels = |solver: &str, levels| {
            let mut run = run("f", solver, Status::Optimal, 0);
            run.score = Score::Levels { reached: Some(levels), bound: None };
            run
        };
        let runs = [levels("a", [0, 7, 30]), levels("b", [1, 2, 20])];
        let report = report(&runs, TEXT);
        let first = row(&report, &["s", "1.1", "s", "a", "1"]);
        assert_eq!(first[first.len() - 3..], ["0.0", "7.0", "30.0"]);
        assert!(report.contains("b, 1.1 s × 2 of processor, seed 1: optimal at [1, 2, 20], but a reaches [0, 7, 30]"), "{report}");
    }

    #[test]
    fn markdown_has_no_other_tables() {
        let report = report(&runs(), Style { form: Form::Markdown, ..TEXT });
        assert!(report.contains("| s   | 1.1 s | a "), "{report}");
    }
}
