//! Is a solver's answer true? From the instance and the best known values alone.

use super::answer::{Answer, Status};
use super::instance::{Instance, Mode};
use super::sets::Best;

/// Starts beyond this are taken for nonsense, so that sums can't overflow.
const LATEST: i64 = 1_000_000_000;

/// Every fault of an answer; none if it holds.
pub(super) fn answer(instance: &Instance, answer: &Answer, best: Best) -> Vec<String> {
    let mut faults = match answer.status {
        Status::Optimal | Status::Feasible => schedule(instance, answer),
        Status::Infeasible | Status::Unknown => {
            let silent = answer.makespan.is_none() && answer.starts.is_empty();
            let word = answer.status.word();
            let fault = format!("it says {word} and yet gives a schedule");
            (!silent).then_some(fault).into_iter().collect()
        }
    };
    faults.extend(claims(answer, best));
    faults
}

/// Are the claims beside the schedule at odds with each other or with what is known?
fn claims(answer: &Answer, best: Best) -> Vec<String> {
    let mut faults = Vec::new();
    if let (Some(bound), Some(makespan)) = (answer.bound, answer.makespan) {
        if bound > makespan {
            faults.push(format!("bound {bound} exceeds its own makespan {makespan}"));
        }
        if answer.status == Status::Optimal && bound < makespan {
            faults.push(format!("it says optimal with bound {bound} below {makespan}"));
        }
    }
    match best {
        Best::Infeasible => {
            if matches!(answer.status, Status::Optimal | Status::Feasible) {
                faults
                    .push("a schedule for an instance that is proven infeasible".into());
            }
        }
        Best::Between { lower, upper } => {
            if answer.status == Status::Infeasible && upper.is_some() {
                faults.push("it says infeasible, but a schedule is known".into());
            }
            if let (Some(bound), Some(upper)) = (answer.bound, upper)
                && bound > upper
            {
                faults.push(format!("bound {bound} exceeds the known makespan {upper}"));
            }
            if let (Some(makespan), Some(lower)) = (answer.makespan, lower)
                && makespan < lower
            {
                faults.push(format!(
                    "makespan {makespan} is below the known bound {lower}"
                ));
            }
        }
    }
    faults
}

fn schedule(instance: &Instance, answer: &Answer) -> Vec<String> {
    if instance.modes.is_empty() {
        return in_modes(instance, answer);
    }
    let chosen = match chosen(instance, &answer.modes) {
        Ok(chosen) => chosen,
        Err(fault) => return vec![fault],
    };
    let mut faults = in_modes(&with(instance, &chosen), answer);
    for (stock, &available) in instance.stocks.iter().enumerate() {
        let taken: i64 = chosen.iter().map(|mode| mode.takes[stock]).sum();
        if taken > available {
            faults.push(format!(
                "{taken} of {available} units of what is used up are taken, resource {}",
                stock + 1
            ));
        }
    }
    faults
}

/// The modes that an answer names.
fn chosen<'a>(instance: &'a Instance, modes: &[i64]) -> Result<Vec<&'a Mode>, String> {
    let count = instance.modes.len();
    if modes.len() != count {
        return Err(format!("{} modes for {count} activities", modes.len()));
    }
    let one = |(job, &number): (usize, &i64)| {
        let place = usize::try_from(number - 1).ok();
        let mode = place.and_then(|place| instance.modes[job].get(place));
        mode.ok_or_else(|| format!("activity {job} has no mode {number}"))
    };
    modes.iter().enumerate().map(one).collect()
}

/// The instance with these modes and no others. Its links all lead from an end to a start.
fn with(instance: &Instance, modes: &[&Mode]) -> Instance {
    let links = instance.links.iter();
    Instance {
        durations: modes.iter().map(|mode| mode.duration).collect(),
        demands: modes.iter().map(|mode| mode.demands.clone()).collect(),
        capacities: instance.capacities.clone(),
        links: links.map(|&(from, to, _)| (from, to, modes[from].duration)).collect(),
        ..Instance::default()
    }
}

/// The faults of a schedule where each activity has one mode.
fn in_modes(instance: &Instance, answer: &Answer) -> Vec<String> {
    let starts = &answer.starts;
    let count = instance.durations.len();
    if starts.len() != count {
        return vec![format!("{} starts for {count} activities", starts.len())];
    }
    if let Some(start) = starts.iter().find(|start| !(0..=LATEST).contains(*start)) {
        return vec![format!("start {start} is out of range")];
    }
    let mut faults = Vec::new();
    if starts[0] != 0 {
        faults.push(format!("the first dummy starts at {}, not 0", starts[0]));
    }
    if answer.makespan != Some(starts[count - 1]) {
        let said = answer.makespan.map_or("none".to_owned(), |length| length.to_string());
        faults.push(format!(
            "makespan {said}, but the last dummy starts at {}",
            starts[count - 1]
        ));
    }
    for &(from, to, lag) in &instance.links {
        if starts[to] < starts[from] + lag {
            faults.push(format!(
                "activity {to} starts at {}, less than {lag} after activity {from} at {}",
                starts[to], starts[from]
            ));
        }
    }
    faults.extend(overloads(instance, starts));
    faults
}

/// Use can only rise where something starts, so only these moments are looked at.
fn overloads(instance: &Instance, starts: &[i64]) -> Vec<String> {
    let mut faults = Vec::new();
    let mut moments = starts.to_vec();
    moments.sort_unstable();
    moments.dedup();
    for (resource, &capacity) in instance.capacities.iter().enumerate() {
        for &moment in &moments {
            let used: i64 = (0..starts.len())
                .filter(|&job| {
                    let end = starts[job] + instance.durations[job];
                    starts[job] <= moment && moment < end
                })
                .map(|job| instance.demands[job][resource])
                .sum();
            if used > capacity {
                faults.push(format!(
                    "at {moment}, {used} of {capacity} units of resource {} are used",
                    resource + 1
                ));
            }
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::super::answer::Effort;
    use super::*;

    /// Two activities of 3 and 5 that can't share the two units; the second starts at most
    /// 4 after the first.
    fn instance() -> Instance {
        Instance {
            durations: vec![0, 3, 5, 0],
            demands: vec![vec![0], vec![2], vec![1], vec![0]],
            capacities: vec![2],
            links: vec![(0, 1, 0), (0, 2, 0), (1, 3, 3), (2, 3, 5), (2, 1, -4)],
            ..Instance::default()
        }
    }

    #[test]
    fn modes_are_judged_as_they_were_chosen() {
        let mode =
            |duration, takes| Mode { duration, demands: vec![1], takes: vec![takes] };
        let none = || vec![Mode { duration: 0, demands: vec![0], takes: vec![0] }];
        let instance = Instance {
            durations: vec![0, 2, 0],
            demands: vec![vec![0], vec![1], vec![0]],
            capacities: vec![1],
            links: vec![(0, 1, 0), (1, 2, 2)],
            modes: vec![none(), vec![mode(2, 7), mode(5, 3)], none()],
            stocks: vec![5],
        };
        let said = |makespan, modes: &[i64]| Answer {
            modes: modes.to_vec(),
            ..said(Status::Feasible, makespan, 0, &[0, 0, makespan])
        };
        let faults = |answer: &Answer| super::answer(&instance, answer, OPEN);
        assert_eq!(faults(&said(5, &[1, 2, 1])), Vec::<String>::new());
        for (answer, fault) in [
            (said(2, &[1, 2, 1]), "less than 5 after activity 1"),
            (said(2, &[1, 1, 1]), "7 of 5 units of what is used up are taken"),
            (said(5, &[1, 3, 1]), "activity 1 has no mode 3"),
            (said(5, &[1, 0, 1]), "activity 1 has no mode 0"),
            (said(5, &[]), "0 modes for 3 activities"),
        ] {
            let faults = faults(&answer);
            assert_eq!(faults.len(), 1, "{faults:?}");
            assert!(faults[0].contains(fault), "{faults:?}");
        }
    }

    fn said(status: Status, makespan: i64, bound: i64, starts: &[i64]) -> Answer {
        let (makespan, bound) = (Some(makespan), Some(bound));
        Answer {
            status,
            makespan,
            bound,
            starts: starts.to_vec(),
            modes: Vec::new(),
            effort: Effort::default(),
        }
    }

    const OPEN: Best = Best::Between { lower: None, upper: None };

    fn only(answer: &Answer, best: Best, expected: &str) {
        let faults = super::answer(&instance(), answer, best);
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(faults[0].contains(expected), "{faults:?}");
    }

    #[test]
    fn a_lawful_schedule_passes() {
        for starts in [[0, 0, 3, 8], [0, 0, 4, 9], [0, 5, 0, 8]] {
            let answer = said(Status::Feasible, starts[3], 8, &starts);
            let known = Best::Between { lower: Some(8), upper: Some(8) };
            assert_eq!(super::answer(&instance(), &answer, known), Vec::<String>::new());
        }
    }

    #[test]
    fn each_rule_broken_once() {
        let feasible =
            |makespan, starts: &[i64]| said(Status::Feasible, makespan, 0, starts);
        only(&feasible(8, &[0, 0, 3]), OPEN, "3 starts for 4");
        only(&feasible(8, &[0, -1, 3, 8]), OPEN, "out of range");
        only(&feasible(8, &[0, i64::MAX, 3, 8]), OPEN, "out of range");
        only(&feasible(9, &[1, 1, 4, 9]), OPEN, "first dummy");
        only(&feasible(7, &[0, 0, 3, 8]), OPEN, "last dummy");
        only(&feasible(7, &[0, 0, 3, 7]), OPEN, "less than 5 after activity 2");
        only(&feasible(10, &[0, 0, 5, 10]), OPEN, "less than -4 after activity 2");
        only(&feasible(7, &[0, 0, 2, 7]), OPEN, "at 2, 3 of 2 units of resource 1");
    }

    #[test]
    fn each_false_claim() {
        let starts = [0, 0, 3, 8];
        let between =
            |lower, upper| Best::Between { lower: Some(lower), upper: Some(upper) };
        only(&said(Status::Feasible, 8, 9, &starts), OPEN, "exceeds its own");
        only(&said(Status::Optimal, 8, 7, &starts), OPEN, "says optimal");
        only(
            &said(Status::Feasible, 8, 8, &starts),
            Best::Infeasible,
            "proven infeasible",
        );
        only(&said(Status::Feasible, 8, 8, &starts), between(6, 7), "known makespan 7");
        only(&said(Status::Feasible, 8, 5, &starts), between(9, 10), "known bound 9");
        let silent = Answer {
            status: Status::Infeasible,
            makespan: None,
            bound: None,
            starts: Vec::new(),
            modes: Vec::new(),
            effort: Effort::default(),
        };
        only(&silent, between(8, 8), "a schedule is known");
        assert!(super::answer(&instance(), &silent, Best::Infeasible).is_empty());
        let talking = Answer { makespan: Some(3), ..silent };
        only(&talking, OPEN, "yet gives a schedule");
    }
}
