//! The jobs that set a plan's date, told in words: what each waits for, and what would bring
//! the date forward.

use jiff::civil::DateTime;
use planner::{Job, Lasting, PlannedJob};

use crate::SeasonPlan;

/// A job of those that set the date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DrivingJob {
    /// Its name in the plan.
    pub job: String,
    /// What is done.
    pub name: String,
    /// When it begins, and when it ends.
    pub when: (DateTime, DateTime),
    /// Why it begins when it does, a sentence without a full stop.
    pub why: String,
    /// What would bring the date forward here: noun phrases. None where only the jobs before
    /// it would.
    pub forward: Vec<String>,
}

/// The jobs that set the date, in order; none where there is no plan.
pub fn driving(planned: &SeasonPlan) -> Vec<DrivingJob> {
    let Some(plan) = &planned.plan else { return Vec::new() };
    let told = |&at: &usize| {
        let (at, job) = (&plan.jobs[at], &planned.draft.jobs[at]);
        let mut forward = if at.done { Vec::new() } else { at.levers.clone() };
        forward.extend(shorter(job, at));
        DrivingJob {
            job: at.key.to_string(),
            name: job.name.clone(),
            when: (at.start, at.finish),
            why: at.why.clone(),
            forward,
        }
    };
    plan.driving.iter().map(told).collect()
}

/// What would make the job itself shorter.
fn shorter(job: &Job, at: &PlannedJob) -> Option<String> {
    let elapsed = minutes(at.start, at.finish);
    if at.done || elapsed == 0 {
        return None;
    }
    Some(match &job.lasting {
        Lasting::AtFirm(firm) => {
            format!("a shorter turnaround at {firm} than {}", long(elapsed))
        }
        Lasting::FirmHere(firm) => format!("{firm} being here for longer hours"),
        Lasting::Worked { .. } => {
            let worked = at.worked.iter().map(|one| minutes(one.from, one.until)).sum();
            let more = if job.ways.len() > 1 { "more hands or " } else { "" };
            format!("{more}less work in it: it takes {}", long(worked))
        }
        Lasting::Elapsed => {
            format!("nothing here: it has to have its {}", long(elapsed))
        }
        Lasting::Collection(_) | Lasting::Moment => return None,
    })
}

fn minutes(from: DateTime, until: DateTime) -> i64 {
    until.duration_since(from).as_mins()
}

/// So many minutes as people say it: hours up to two days, then days.
fn long(minutes: i64) -> String {
    const DAY: i64 = 24 * 60;
    match minutes {
        ..60 => format!("{minutes} min"),
        60..2_880 if minutes % 60 == 0 => format!("{} h", minutes / 60),
        60..2_880 => format!("{} h {} min", minutes / 60, minutes % 60),
        // What has begun of a day counts as one.
        _ => format!("{} days", minutes.div_euclid(DAY) + i64::from(minutes % DAY > 0)),
    }
}

#[cfg(test)]
mod tests {
    use super::long;

    #[test]
    fn how_long_is_said_in_hours_and_then_in_days() {
        for (minutes, said) in [
            (0, "0 min"),
            (45, "45 min"),
            (60, "1 h"),
            (90, "1 h 30 min"),
            (1_440, "24 h"),
            (2_880, "2 days"),
            (2_881, "3 days"),
        ] {
            assert_eq!(long(minutes), said);
        }
    }
}
