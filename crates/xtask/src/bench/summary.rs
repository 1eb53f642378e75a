//! Figures for a solver on a set.

use super::answer::Status;
use super::record::{Run, Score};
use super::sets::Best;

/// What the runs of one solver on one set come to. Gaps are in percent.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Figures {
    /// Runs.
    pub(super) of: f64,
    /// With a schedule that passed the checks.
    pub(super) solved: f64,
    /// Mean above the best known length, over those that have a schedule.
    pub(super) gap: Option<f64>,
    pub(super) worst: Option<f64>,
    /// As short as the best known, or shorter.
    pub(super) hit: f64,
    /// Shorter than the best known.
    pub(super) better: f64,
    pub(super) optimal: f64,
    pub(super) infeasible: f64,
    /// Neither a schedule nor a proof that there is none.
    pub(super) unknown: f64,
    /// Answers that the checker refused, or that could not be read.
    pub(super) wrong: f64,
    /// Mean above the critical path.
    pub(super) path: Option<f64>,
    /// Mean seconds until the first schedule.
    pub(super) first: Option<f64>,
    /// The most memory held, in bytes.
    pub(super) peak: Option<f64>,
    /// Schedules tried in a second of one processor: all schedules over all seconds.
    pub(super) rate: Option<f64>,
    /// Mean processor seconds.
    pub(super) processor: Option<f64>,
    /// Mean seconds by the solver's own clock.
    pub(super) seconds: Option<f64>,
    /// Processors that others kept busy, on average.
    pub(super) others: Option<f64>,
}

impl Figures {
    /// The figures of some runs.
    pub(super) fn of(runs: &[&Run]) -> Self {
        let count = |test: &dyn Fn(&Run) -> bool| {
            runs.iter().filter(|run| test(run)).count() as f64
        };
        let gaps = || runs.iter().filter_map(|run| gap(run));
        let compared = |test: &dyn Fn(i64, i64) -> bool| {
            count(
                &|run| matches!((length(run), known(run)), (Some(a), Some(b)) if test(a, b)),
            )
        };
        let (solved, infeasible) =
            (count(&Run::solved), count(&|run| run.says(Status::Infeasible)));
        let wrong = count(&|run| !run.faults.is_empty());
        Self {
            of: runs.len() as f64,
            solved,
            gap: mean(gaps()),
            worst: gaps().reduce(f64::max),
            hit: compared(&|ours, known| ours <= known),
            better: compared(&|ours, known| ours < known),
            optimal: count(&|run| run.says(Status::Optimal)),
            infeasible,
            unknown: runs.len() as f64 - solved - infeasible - wrong,
            wrong,
            path: mean(runs.iter().filter_map(|run| path_gap(run))),
            first: mean(runs.iter().filter_map(|run| run.effort?.first)),
            peak: runs.iter().filter_map(|run| run.usage.peak).max().map(|p| p as f64),
            rate: rate(runs),
            processor: mean(runs.iter().filter_map(|run| run.processor())),
            seconds: mean(runs.iter().filter_map(|run| Some(run.effort?.seconds))),
            others: mean(runs.iter().filter_map(|run| run.usage.others)),
        }
    }

    /// The mean of figures, one for each seed; of the worst and of the peak, the greatest.
    pub(super) fn mean(all: &[Self]) -> Self {
        let each =
            |figure: &dyn Fn(&Self) -> f64| mean(all.iter().map(figure)).unwrap_or(0.0);
        let some =
            |figure: &dyn Fn(&Self) -> Option<f64>| mean(all.iter().filter_map(figure));
        let most = |figure: &dyn Fn(&Self) -> Option<f64>| {
            all.iter().filter_map(figure).reduce(f64::max)
        };
        Self {
            of: each(&|f| f.of),
            solved: each(&|f| f.solved),
            gap: some(&|f| f.gap),
            worst: most(&|f| f.worst),
            hit: each(&|f| f.hit),
            better: each(&|f| f.better),
            optimal: each(&|f| f.optimal),
            infeasible: each(&|f| f.infeasible),
            unknown: each(&|f| f.unknown),
            wrong: each(&|f| f.wrong),
            path: some(&|f| f.path),
            first: some(&|f| f.first),
            peak: most(&|f| f.peak),
            rate: some(&|f| f.rate),
            processor: some(&|f| f.processor),
            seconds: some(&|f| f.seconds),
            others: some(&|f| f.others),
        }
    }
}

/// Two solvers on the same instances with the same seeds.
#[derive(Debug, Clone, Copy, Default, PartialEq)]
pub(super) struct Duel {
    /// Runs that can be compared: both solvers had the instance.
    pub(super) of: usize,
    /// Where both have a schedule.
    pub(super) both: usize,
    /// Mean gaps over those where both have a schedule.
    pub(super) gaps: [Option<f64>; 2],
    /// Where one's schedule is better, or it alone has one.
    pub(super) ahead: [usize; 2],
    /// Optimal or infeasible, proven.
    pub(super) settled: [usize; 2],
    /// Settled by this one alone.
    pub(super) alone: [usize; 2],
    /// With a schedule where the other has none.
    pub(super) only: [usize; 2],
    /// Settled by both, and with the same verdict.
    pub(super) agree: usize,
}

impl Duel {
    /// Compares the first of each pair with the second.
    pub(super) fn of(pairs: &[[&Run; 2]]) -> Self {
        let mut duel = Self { of: pairs.len(), ..Self::default() };
        let mut gaps = [Vec::new(), Vec::new()];
        for pair in pairs {
            let both = pair.iter().all(|run| run.solved());
            duel.both += usize::from(both);
            let settled = pair.iter().all(|run| run.settled());
            duel.agree += usize::from(settled && key(pair[0]) == key(pair[1]));
            if let (true, Some(first), Some(second)) = (both, gap(pair[0]), gap(pair[1]))
            {
                gaps[0].push(first);
                gaps[1].push(second);
            }
            for (at, run) in pair.iter().enumerate() {
                let other = pair[1 - at];
                duel.ahead[at] += usize::from(beats(run, other));
                duel.settled[at] += usize::from(run.settled());
                duel.alone[at] += usize::from(run.settled() && !other.settled());
                duel.only[at] += usize::from(run.solved() && !other.solved());
            }
        }
        duel.gaps = gaps.map(|gaps| mean(gaps.into_iter()));
        duel
    }
}

/// Whether a run has the better schedule. No schedule is better than a proof that there
/// is none.
fn beats(run: &Run, other: &Run) -> bool {
    match (key(run), key(other)) {
        (Some(own), Some(other)) => own < other,
        (Some(_), None) => !other.says(Status::Infeasible),
        (None, _) => false,
    }
}

/// What decides between schedules, the smaller the better; a length is a level alone.
pub(super) fn key(run: &Run) -> Option<[i64; 3]> {
    if !run.solved() {
        return None;
    }
    match run.score {
        Score::Length { makespan, .. } => makespan.map(|makespan| [0, 0, makespan]),
        Score::Levels { reached, .. } => reached,
    }
}

/// The length of the schedule, if there is one and it passed the checks.
pub(super) fn length(run: &Run) -> Option<i64> {
    key(run).map(|key| key[2])
}

/// The best known length.
pub(super) fn known(run: &Run) -> Option<i64> {
    match run.score {
        Score::Length { best: Best::Between { upper, .. }, .. } => upper,
        Score::Length { best: Best::Infeasible, .. } | Score::Levels { .. } => None,
    }
}

/// Above the best known length, in percent.
pub(super) fn gap(run: &Run) -> Option<f64> {
    above(length(run)?, known(run)?)
}

fn path_gap(run: &Run) -> Option<f64> {
    match run.score {
        Score::Length { path, .. } => above(length(run)?, path?),
        Score::Levels { .. } => None,
    }
}

fn rate(runs: &[&Run]) -> Option<f64> {
    let pairs = runs.iter().filter_map(|run| {
        let effort = run.effort?;
        Some((effort.steps?, run.processor().unwrap_or(effort.seconds)))
    });
    let (steps, seconds) =
        pairs.fold((0.0, 0.0), |sum, pair| (sum.0 + pair.0, sum.1 + pair.1));
    (steps > 0.0 && seconds > 0.0).then(|| steps / seconds)
}

fn above(ours: i64, other: i64) -> Option<f64> {
    (other > 0).then(|| 100.0 * (ours - other) as f64 / other as f64)
}

/// The mean, or nothing of nothing.
pub(super) fn mean(values: impl Iterator<Item = f64>) -> Option<f64> {
    let (sum, count) =
        values.fold((0.0, 0_u32), |(sum, count), value| (sum + value, count + 1));
    (count > 0).then(|| sum / f64::from(count))
}

#[cfg(test)]
mod tests {
    use super::super::record::tests::run;
    use super::*;

    #[test]
    fn figures_sum_up_the_runs() {
        let mut broken = run("e", "a", Status::Feasible, 10);
        broken.faults.push("bad".to_owned());
        let mut slow = run("b", "a", Status::Feasible, 110);
        slow.effort.as_mut().unwrap().seconds = 1.5;
        slow.usage.peak = Some(9_000_000);
        let runs = [
            run("a", "a", Status::Optimal, 99),
            slow,
            run("c", "a", Status::Unknown, 0),
            run("d", "a", Status::Infeasible, 0),
            broken,
        ];
        let figures = Figures::of(&runs.iter().collect::<Vec<_>>());
        let expected = Figures {
            of: 5.0,
            solved: 2.0,
            gap: Some(4.5),
            worst: Some(10.0),
            hit: 1.0,
            better: 1.0,
            optimal: 1.0,
            infeasible: 1.0,
            unknown: 1.0,
            // The schedule that broke a rule counts as none.
            wrong: 1.0,
            path: Some(109.0),
            first: Some(0.125),
            peak: Some(9e6),
            rate: Some(1000.0 / 0.75),
            processor: Some(0.75),
            seconds: Some(0.7),
            others: Some(0.25),
        };
        assert_eq!(figures, expected);
        assert_eq!(Figures::of(&[]), Figures::default());
    }

    #[test]
    fn the_mean_over_seeds() {
        let one = Figures { of: 4.0, hit: 1.0, worst: Some(3.0), ..Figures::default() };
        let two = Figures { hit: 2.0, worst: Some(5.0), gap: Some(1.0), ..one };
        let mean = Figures::mean(&[one, two]);
        assert_eq!(
            (mean.of, mean.hit, mean.worst, mean.gap),
            (4.0, 1.5, Some(5.0), Some(1.0))
        );
    }

    #[test]
    fn a_duel_is_fair_to_both() {
        let pairs = [
            [run("a", "a", Status::Optimal, 100), run("a", "b", Status::Feasible, 110)],
            [run("b", "a", Status::Feasible, 100), run("b", "b", Status::Feasible, 100)],
            [run("c", "a", Status::Unknown, 0), run("c", "b", Status::Feasible, 120)],
            [run("d", "a", Status::Infeasible, 0), run("d", "b", Status::Unknown, 0)],
        ];
        let pairs: Vec<[&Run; 2]> = pairs.iter().map(|[a, b]| [a, b]).collect();
        let duel = Duel::of(&pairs);
        let expected = Duel {
            of: 4,
            both: 2,
            gaps: [Some(0.0), Some(5.0)],
            ahead: [1, 1],
            settled: [2, 0],
            alone: [2, 0],
            only: [0, 1],
            agree: 0,
        };
        assert_eq!(duel, expected);
    }

    #[test]
    fn proofs_agree_on_value_and_on_infeasibility() {
        let agree = |first: Run, second: Run| Duel::of(&[[&first, &second]]).agree;
        let proven = |length| run("a", "a", Status::Optimal, length);
        let none = || run("a", "a", Status::Infeasible, 0);
        assert_eq!(agree(proven(7), proven(7)), 1);
        assert_eq!(agree(none(), none()), 1);
        assert_eq!(agree(proven(7), proven(8)), 0);
        assert_eq!(agree(proven(7), none()), 0);
        assert_eq!(agree(proven(7), run("a", "a", Status::Feasible, 7)), 0);
    }

    #[test]
    fn levels_count_in_their_order() {
        let levels = |levels| {
            let mut run = run("a", "a", Status::Feasible, 0);
            run.score = Score::Levels { reached: Some(levels), bound: None };
            run
        };
        let (late, dear) = (levels([1, 0, 0]), levels([0, 9, 9]));
        assert!(beats(&dear, &late) && !beats(&late, &dear));
        assert_eq!(gap(&late), None);
    }
}
