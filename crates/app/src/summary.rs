//! A plan as text that a person can act on, and as data.

use std::collections::BTreeMap;
use std::fmt::Write;

use airframe::support::{Event, Stage};
use jiff::civil::DateTime;
use planner::{Job, JobKind, Plan, PlannedJob};
use record::Programme;
use serde_json::{Value, json};

use crate::season::{Ending, SeasonPlan};
use crate::tables::{cut, table};

fn day(at: DateTime) -> String {
    at.strftime("%a %-d %b %Y").to_string()
}

fn short(at: DateTime) -> String {
    at.strftime("%a %-d %b").to_string()
}

/// The plan in sections: the date and how sure it is, what comes off in which order, what
/// goes out when, the load, what drives the date, and what to look at.
pub fn summary(programme: &Programme, planned: &SeasonPlan) -> String {
    let mut text = head(programme, planned);
    if let Some(plan) = &planned.plan {
        for part in [
            comes_off(planned, plan),
            goes_out(planned, plan),
            load(plan),
            support(&plan.stages),
            drives(planned, plan),
            risks(planned),
            warnings(&plan.warnings),
        ] {
            text.push_str(&part);
        }
    }
    if let Some(moves) = crate::moves(programme, planned) {
        text.push_str(&moves.text());
    }
    text.push_str(
        "\nThis plan supports approved data, licensed engineers and the authority, and \
         replaces none of them.\n",
    );
    text
}

fn head(programme: &Programme, planned: &SeasonPlan) -> String {
    let season = &planned.draft.season;
    let mut text = String::new();
    if let Some(info) = &programme.info {
        let invented = if info.invented { " (an invented example)" } else { "" };
        let _ = writeln!(text, "{}: {}{invented}", info.name, info.aircraft);
    }
    let _ = writeln!(
        text,
        "{} ({}), {} to {}, ends on gate {}",
        season.name, season.id, season.from, season.until, season.gate
    );
    let opening = &planned.draft.opening;
    let _ = writeln!(
        text,
        "{} jobs, {} items off, {} back, {} checks demanded; opening and closing {:.0} person-hours{}",
        planned.draft.jobs.len() - 1,
        opening.removals.len(),
        opening.refits.len(),
        planned.draft.checks.len(),
        opening.cost as f64 / 60.0,
        if opening.optimal { ", proven the least" } else { "" }
    );
    match (&planned.plan, &planned.ending) {
        (Some(plan), ending) => text.push_str(&dates(plan, ending, season.until)),
        (None, Ending::Infeasible(reasons)) => {
            text.push_str("\nThere is no plan that keeps all the rules. These cannot hold together:\n");
            for reason in reasons {
                let _ = writeln!(text, "  - {reason}");
            }
        }
        (None, _) => {
            text.push_str("\nNo plan was found in the time given: allow it longer.\n");
        }
    }
    text
}

fn dates(plan: &Plan, ending: &Ending, gate: jiff::civil::Date) -> String {
    let margin = match plan.margin_days {
        days if days < 0 => format!("{} days LATE for the gate on {gate}", -days),
        days => format!("{days} days before the gate date {gate} is over"),
    };
    let sure = match ending {
        Ending::Optimal => "no plan is better (proven)".to_owned(),
        Ending::Feasible { earliest, stopped } => format!(
            "no plan that keeps the due dates as well for as little can be complete before {} (proven); \
             the search ended because {stopped}",
            day(*earliest)
        ),
        Ending::Infeasible(_) | Ending::Nothing { .. } => String::new(),
    };
    format!("\nComplete {}, {margin}.\n  {sure}\n", day(plan.complete))
}

fn rows<'a>(
    planned: &'a SeasonPlan,
    plan: &'a Plan,
    wanted: impl Fn(&Job) -> bool + 'a,
) -> Vec<(&'a PlannedJob, &'a Job)> {
    let mut rows = plan.by_start(&planned.draft.jobs);
    rows.retain(|(_, job)| wanted(job));
    rows
}

fn comes_off(planned: &SeasonPlan, plan: &Plan) -> String {
    let off = rows(planned, plan, |job| job.kind == JobKind::Remove);
    let refits: BTreeMap<_, _> = rows(planned, plan, |job| job.kind == JobKind::Refit)
        .into_iter()
        .map(|(at, job)| (job.item.clone(), short(at.finish)))
        .collect();
    let back = |job: &Job| {
        refits.get(&job.item).cloned().unwrap_or_else(|| "stays off".to_owned())
    };
    let lines: Vec<Vec<String>> = off
        .iter()
        .map(|(at, job)| {
            let item = job.item.as_ref().map_or_else(String::new, ToString::to_string);
            let stand = planned
                .draft
                .occupations
                .iter()
                .find(|o| Some(&o.item) == job.item.as_ref());
            vec![
                short(at.start),
                item,
                cut(&job.name, 34),
                stand.map_or_else(String::new, |stand| stand.stand.to_string()),
                back(job),
                cut(&at.why, 60),
            ]
        })
        .collect();
    let head = ["off", "item", "what", "stand", "back on", "why then"];
    section("What comes off, in order", &head, &lines, 40)
}

fn goes_out(planned: &SeasonPlan, plan: &Plan) -> String {
    let kinds = [JobKind::Despatch, JobKind::Return, JobKind::AtFirm];
    let out = rows(planned, plan, move |job| kinds.contains(&job.kind));
    let lines: Vec<Vec<String>> = out
        .iter()
        .filter(|(_, job)| {
            job.kind != JobKind::AtFirm
                || matches!(job.lasting, planner::Lasting::FirmHere(_))
        })
        .map(|(at, job)| vec![short(at.start), short(at.finish), cut(&job.name, 70)])
        .collect();
    section(
        "What goes out and comes back, and who comes here",
        &["from", "to", "what"],
        &lines,
        40,
    )
}

fn section(title: &str, head: &[&str], rows: &[Vec<String>], most: usize) -> String {
    if rows.is_empty() {
        return String::new();
    }
    let shown = &rows[..rows.len().min(most)];
    let mut text = format!("\n{title}\n{}", table(head, shown));
    if rows.len() > most {
        let _ = writeln!(text, "  and {} more in the job list", rows.len() - most);
    }
    text
}

fn load(plan: &Plan) -> String {
    let lines: Vec<Vec<String>> = plan
        .loads
        .iter()
        .filter(|load| load.weeks.iter().any(|week| week.needed > 0.0))
        .map(|load| {
            let needed: f64 = load.weeks.iter().map(|week| week.needed).sum();
            let there: f64 = load.weeks.iter().map(|week| week.there).sum();
            let ratio = |n: f64, t: f64| if t > 0.0 { 100.0 * n / t } else { 0.0 };
            let most = load.weeks.iter().max_by(|a, b| {
                ratio(a.needed, a.there).total_cmp(&ratio(b.needed, b.there))
            });
            let bar: String = load
                .weeks
                .iter()
                .map(|week| block(ratio(week.needed, week.there)))
                .collect();
            let week = most.map_or_else(String::new, |week| {
                let full = ratio(week.needed, week.there);
                format!("{full:.0} % in the week of {}", week.monday.strftime("%-d %b"))
            });
            vec![
                load.name.clone(),
                format!("{needed:.0} h"),
                format!("{there:.0} h"),
                week,
                bar,
            ]
        })
        .collect();
    let head =
        ["skill", "needed", "there", "fullest", "week by week (a full block is 100 %)"];
    section("Load by skill", &head, &lines, 40)
}

fn block(percent: f64) -> char {
    const BLOCKS: [char; 9] = ['·', '▁', '▂', '▃', '▄', '▅', '▆', '▇', '█'];
    let step = (percent / 12.5).ceil().clamp(0.0, 8.0);
    BLOCKS[step as usize]
}

/// Stages in a row that need the same are one line.
fn support(stages: &[Stage]) -> String {
    let mut runs: Vec<Vec<&Stage>> = Vec::new();
    for stage in stages {
        let same = runs.last().is_some_and(|run| {
            let last = run[run.len() - 1];
            let over = |stage: &Stage| -> Vec<String> {
                stage.overloaded.iter().map(|over| over.point.clone()).collect()
            };
            (last.tips, &last.needs, last.unsafe_anyhow, over(last), last.is_short())
                == (
                    stage.tips,
                    &stage.needs,
                    stage.unsafe_anyhow,
                    over(stage),
                    stage.is_short(),
                )
        });
        match runs.last_mut() {
            Some(run) if same => run.push(stage),
            _ => runs.push(vec![stage]),
        }
    }
    let told = runs
        .into_iter()
        .filter(|run| run[0].tips || run[0].is_short() || !run[0].overloaded.is_empty());
    let lines: Vec<Vec<String>> = told
        .map(|run| {
            let last = run[run.len() - 1];
            vec![event(&run[0].after), event(&last.after), support_need(&run)]
        })
        .collect();
    let head = ["from", "to", "what"];
    section("Support: when the standing supports are not enough", &head, &lines, 30)
}

fn event(event: &Event) -> String {
    match event {
        Event::Start => "the start".to_owned(),
        Event::Off(item) => format!("{item} off"),
        Event::On(item) => format!("{item} back"),
    }
}

fn support_need(run: &[&Stage]) -> String {
    let stage = run[0];
    let mut parts = Vec::new();
    if stage.tips {
        parts.push("would TIP".to_owned());
    } else if stage.is_short() {
        parts.push("margin too small".to_owned());
    }
    if !stage.needs.is_empty() {
        parts.push(format!("set {}", stage.needs.join(", ")));
    }
    let ballast = run.iter().filter_map(|stage| stage.ballast.as_ref());
    if let Some(most) = ballast.max_by(|a, b| a.mass.cmp(&b.mass)) {
        let (mass, arm) = (most.mass.in_lb(), most.arm.in_inches());
        parts.push(format!("or ballast, at most {mass:.0} lb at {arm:.0} in"));
    }
    if stage.unsafe_anyhow {
        parts.push("no support that is listed mends it: DO NOT".to_owned());
    }
    for over in &stage.overloaded {
        let loads = run.iter().flat_map(|stage| &stage.overloaded);
        let same = loads.filter(|other| other.point == over.point);
        let most = same.map(|other| other.load.in_lb()).fold(0.0, f64::max);
        let may = over.capacity.in_lb();
        parts.push(format!("{} bears up to {most:.0} lb of {may:.0} lb", over.point));
    }
    parts.join("; ")
}

fn drives(planned: &SeasonPlan, plan: &Plan) -> String {
    let lines: Vec<Vec<String>> = plan
        .driving
        .iter()
        .map(|&number| {
            let (at, job) = (&plan.jobs[number], &planned.draft.jobs[number]);
            vec![
                short(at.start),
                short(at.finish),
                job.key.to_string(),
                cut(&job.name, 40),
                cut(&at.why, 70),
            ]
        })
        .collect();
    section(
        "What drives the date",
        &["from", "to", "job", "what", "why then"],
        &lines,
        30,
    )
}

fn risks(planned: &SeasonPlan) -> String {
    let open: Vec<_> = planned.draft.risks.iter().filter(|risk| !risk.planned).collect();
    if open.is_empty() {
        return String::new();
    }
    let expected: f64 =
        open.iter().map(|risk| risk.chance * risk.rework as f64 / 60.0).sum();
    format!(
        "\nNot in the plan: {} inspections may fail; the rework to expect from them is {expected:.0} person-hours.\n",
        open.len()
    )
}

fn warnings(warnings: &[String]) -> String {
    if warnings.is_empty() {
        return String::new();
    }
    let mut text = String::from("\nLook at these\n");
    for warning in warnings.iter().take(20) {
        let _ = writeln!(text, "  - {warning}");
    }
    if warnings.len() > 20 {
        let _ = writeln!(text, "  and {} more", warnings.len() - 20);
    }
    text
}

/// The plan as one JSON object.
pub fn json(planned: &SeasonPlan) -> Value {
    let (status, detail) = match &planned.ending {
        Ending::Optimal => ("optimal", Value::Null),
        Ending::Feasible { earliest, .. } => ("feasible", json!(earliest.to_string())),
        Ending::Infeasible(reasons) => ("infeasible", json!(reasons)),
        Ending::Nothing { .. } => ("unknown", Value::Null),
    };
    let season = &planned.draft.season;
    let mut object = json!({
        "season": season.id.to_string(),
        "gate": season.gate.to_string(),
        "gate_date": season.until.to_string(),
        "status": status,
    });
    match &planned.ending {
        Ending::Feasible { .. } => object["earliest_complete"] = detail,
        Ending::Infeasible(_) => object["conflict"] = detail,
        _ => {}
    }
    if let Some(plan) = &planned.plan {
        object["complete"] = json!(plan.complete.to_string());
        object["margin_days"] = json!(plan.margin_days);
        object["warnings"] = json!(plan.warnings);
        let jobs = plan.jobs.iter().zip(&planned.draft.jobs);
        object["jobs"] = jobs.map(|(at, job)| job_json(at, job)).collect();
    }
    object
}

fn job_json(at: &PlannedJob, job: &Job) -> Value {
    let people: Vec<String> =
        at.people.iter().map(|(person, _)| person.to_string()).collect();
    json!({
        "job": job.key.to_string(),
        "name": job.name,
        "pack": job.pack.as_ref().map(ToString::to_string),
        "item": job.item.as_ref().map(ToString::to_string),
        "start": at.start.to_string(),
        "finish": at.finish.to_string(),
        "people": people,
        "why": at.why,
        "slack_days": at.slack_days,
        "driving": at.driving,
        "done": at.done,
    })
}
