//! The rules of one task at a time.

use timetable::{Assignment, Mode, Pace, Progress, TaskId, Tick};

use crate::case::Case;
use crate::note::{Happened, Rule};

pub(crate) fn check(case: &Case<'_>, rules: &mut Vec<Rule>) {
    for id in case.task_ids() {
        let task = case.problem.task(id);
        let found = case.assignment(id);
        if case.mode(id).is_none() {
            let modes = task.modes.len();
            rules.push(Rule::UnknownMode { task: id, mode: found.mode, modes });
        }
        match task.progress {
            Progress::Todo => {
                check_start(case, id, rules);
                if let Some(mode) = case.mode(id) {
                    check_pace(case, id, mode.pace, (found.start, mode.work), rules);
                    check_pausing_start(case, id, mode, rules);
                }
                check_finish(case, id, rules);
            }
            Progress::Started { mode, start, resume, left } => {
                check_past(id, Happened { mode, start, finish: None }, found, rules);
                let pace = task.modes[mode.at()].pace;
                check_pace(case, id, pace, (resume, left), rules);
                check_finish(case, id, rules);
            }
            Progress::Done { mode, start, finish } => {
                let finish = Some(finish);
                check_past(id, Happened { mode, start, finish }, found, rules);
            }
        }
    }
}

fn check_start(case: &Case<'_>, task: TaskId, rules: &mut Vec<Rule>) {
    let start = case.assignment(task).start;
    let release = case.problem.task(task).release;
    if start < 0 {
        rules.push(Rule::BeforeOrigin { task, start });
    } else if start < release {
        rules.push(Rule::StartsTooEarly { task, start, release });
    }
}

fn check_finish(case: &Case<'_>, task: TaskId, rules: &mut Vec<Rule>) {
    let finish = case.assignment(task).finish;
    if let Some(deadline) = case.problem.task(task).deadline
        && finish > deadline
    {
        rules.push(Rule::FinishesTooLate { task, finish, deadline });
    }
    let horizon = case.problem.horizon();
    if finish > horizon {
        rules.push(Rule::BeyondHorizon { task, finish, horizon });
    }
}

fn check_past(
    task: TaskId,
    happened: Happened,
    found: Assignment,
    rules: &mut Vec<Rule>,
) {
    let Happened { mode, start, finish } = happened;
    let same_finish = finish.is_none_or(|finish| finish == found.finish);
    if mode != found.mode || start != found.start || !same_finish {
        rules.push(Rule::PastChanged { task, happened, found });
    }
}

/// Whether the finish follows from some work that lies from a tick on at a pace, and
/// whether work that runs on without a break lies in open ticks.
fn check_pace(
    case: &Case<'_>,
    task: TaskId,
    pace: Pace,
    (from, work): (Tick, Tick),
    rules: &mut Vec<Rule>,
) {
    let (from, work) = (i64::from(from), i64::from(work));
    let finish = match pace {
        Pace::Elapsed => Some(from + work),
        Pace::Whole(calendar) => {
            let closed = case.hours(calendar).first_closed(from, from + work);
            if let Some(tick) = closed {
                // A tick that is too great to be written down lies beyond the horizon,
                // and the finish after it says so.
                let tick = Tick::try_from(tick).unwrap_or(Tick::MAX);
                rules.push(Rule::ClosedTick { task, tick, calendar });
            }
            Some(from + work)
        }
        Pace::Pausing(calendar) => case.hours(calendar).finish(from, work),
    };
    let expected = finish.and_then(|finish| Tick::try_from(finish).ok());
    let found = case.assignment(task).finish;
    if expected != Some(found) {
        rules.push(Rule::WrongFinish { task, expected, found });
    }
}

fn check_pausing_start(
    case: &Case<'_>,
    task: TaskId,
    mode: &Mode,
    rules: &mut Vec<Rule>,
) {
    let Pace::Pausing(calendar) = mode.pace else { return };
    let tick = case.assignment(task).start;
    let from = i64::from(tick);
    if mode.work > 0 && case.hours(calendar).first_closed(from, from + 1).is_some() {
        rules.push(Rule::ClosedTick { task, tick, calendar });
    }
}
