//! The plan that was adopted for a season, beside what has happened.

use jiff::civil::{Date, DateTime};
use planner::{Past, SoFar};
use record::Programme;
use record::shop::Adopted;

use super::{mark, or_dash};
use crate::season::choose_season;
use crate::{AppError, Sheet};

pub(super) fn plan(
    programme: &Programme,
    season: Option<&str>,
    on: Date,
) -> Result<Sheet, AppError> {
    let season = choose_season(programme, season, Some(on))?;
    let mut sheet = Sheet::new(format!("Plan of season {season} on {on}"));
    let Some(adopted) = programme.shop.plans.adopted.get(&season) else {
        sheet
            .fact("adopted", "no plan yet: `turnbuckle plan --adopt REASON --by PERSON`");
        return Ok(sheet);
    };
    let draft = planner::draft(programme, &season).map_err(AppError::Draft)?;
    let past = |key: &record::JobKey| {
        let at = draft.jobs.iter().position(|job| job.key == *key)?;
        draft.past.get(&at)
    };
    let mut rows: Vec<Row> = adopted
        .plan
        .jobs
        .iter()
        .map(|job| Row { job, past: past(&job.job), on })
        .collect();
    rows.sort_by_key(|row| (row.job.from, row.job.until, &row.job.job));
    head(&mut sheet, adopted, &rows, on);
    let columns = ["job", "from", "until", "people", "happened", "days late"];
    sheet.list("jobs", &columns, rows.iter().map(Row::cells).collect());
    let known: std::collections::BTreeSet<_> =
        adopted.plan.jobs.iter().map(|job| &job.job).collect();
    let since = draft.jobs.iter().filter(|job| !known.contains(&job.key));
    let since = since.filter(|job| job.kind != planner::JobKind::Begin);
    let since = since.map(|job| vec![job.key.to_string(), job.name.clone()]);
    sheet.list("jobs that came up since", &["job", "what"], since.collect());
    Ok(sheet)
}

fn head(sheet: &mut Sheet, adopted: &Adopted, rows: &[Row<'_>], on: Date) {
    let plan = &adopted.plan;
    let done = rows.iter().filter(|row| row.is_done()).count();
    let due = rows.iter().filter(|row| row.job.until.date() < on).count();
    let late = rows.iter().filter(|row| row.late() > 0 && !row.is_done()).count();
    sheet
        .fact("adopted by", mark(&adopted.mark))
        .fact("plans before it", adopted.before)
        .fact("reason", &plan.reason)
        .fact("complete", moment(plan.complete))
        .fact("proven: not earlier than", or_dash(plan.earliest.map(moment)))
        .fact(
            "made by",
            format!("{}, seed {}, problem {}", plan.engine, plan.seed, plan.problem),
        )
        .fact("jobs", rows.len())
        .fact("done", done)
        .fact("to be done by now", due)
        .fact("behind", late);
}

/// A job of the plan with what has happened of it.
struct Row<'a> {
    job: &'a record::act::DatedJob,
    past: Option<&'a Past>,
    on: Date,
}

impl Row<'_> {
    fn is_done(&self) -> bool {
        self.past.is_some_and(Past::is_done)
    }

    /// Days by which it was, or so far is, later than planned; 0 if it is not.
    fn late(&self) -> i32 {
        let behind =
            |planned: DateTime, was: Date| (was - planned.date()).get_days().max(0);
        match self.past.map(|past| past.so_far) {
            Some(SoFar::Done(at)) => behind(self.job.until, at.date()),
            Some(SoFar::Due(day)) => behind(self.job.until, day.max(self.on)),
            Some(SoFar::Left(_)) => behind(self.job.until, self.on),
            None => behind(self.job.from, self.on),
        }
    }

    fn cells(&self) -> Vec<String> {
        let happened = self.past.map(|past| match past.so_far {
            SoFar::Done(at) => format!("done {}", moment(at)),
            SoFar::Left(minutes) => {
                let hours = minutes as f64 / 60.0;
                format!("since {}, {hours:.1} h left", moment(past.from))
            }
            SoFar::Due(day) => format!("away since {}, due {day}", past.from.date()),
        });
        let people: Vec<&str> =
            self.job.people.iter().map(quantity::Id::as_str).collect();
        vec![
            self.job.job.to_string(),
            moment(self.job.from),
            moment(self.job.until),
            people.join(", "),
            or_dash(happened),
            match self.late() {
                0 => String::new(),
                days => days.to_string(),
            },
        ]
    }
}

fn moment(at: DateTime) -> String {
    at.strftime("%Y-%m-%d %H:%M").to_string()
}
