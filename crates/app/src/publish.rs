//! A plan's charts and lists as files.

use std::path::{Path, PathBuf};

use jiff::Timestamp;
use record::Programme;

use crate::files::write;
use crate::season::SeasonPlan;
use crate::view::{people_days, plan_view};
use crate::{AppError, json, summary};

/// The files of a plan.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Published {
    /// The time chart as one page, for a browser.
    pub page: PathBuf,
    /// Every file, with what it is.
    pub files: Vec<(PathBuf, &'static str)>,
}

/// Writes the time chart as a page and as drawings, the jobs as CSV and as a workbook,
/// people's days as calendars, and the summary as text and as data. Each file appears
/// whole or not at all. Answers nothing where there is no plan.
pub fn publish(
    programme: &Programme,
    planned: &SeasonPlan,
    dir: &Path,
    made: Timestamp,
) -> Result<Option<Published>, AppError> {
    let Some(plan) = &planned.plan else {
        return Ok(None);
    };
    let view = plan_view(programme, planned, plan, &format!("Made {made}"));
    let page = dir.join("plan.html");
    let mut files: Vec<(PathBuf, &'static str, Vec<u8>)> = vec![
        (page.clone(), "time chart, for a browser", charts::html(&view).into_bytes()),
        (dir.join("jobs.csv"), "jobs", charts::jobs_csv(&view)),
        (
            dir.join("jobs.xlsx"),
            "jobs and load, as a workbook",
            charts::jobs_xlsx(&view).map_err(AppError::Chart)?,
        ),
        (dir.join("summary.txt"), "summary", summary(programme, planned).into_bytes()),
        (
            dir.join("plan.json"),
            "the plan as data",
            json(planned).to_string().into_bytes(),
        ),
    ];
    for (number, set) in view.lanes.iter().enumerate() {
        let name = set.name.to_lowercase().replace(' ', "-");
        let svg = charts::svg(&view, number, charts::SvgOptions::default());
        files.push((
            dir.join(format!("chart-{name}.svg")),
            "time chart, drawing",
            svg.into_bytes(),
        ));
    }
    for (id, days) in people_days(programme, planned, plan, made) {
        let name = format!("people/{}.ics", id.replace('/', "_"));
        files.push((dir.join(name), "calendar", charts::calendar(&days).into_bytes()));
    }
    for (file, _, bytes) in &files {
        write(file, bytes)?;
    }
    let files = files.into_iter().map(|(file, what, _)| (file, what)).collect();
    Ok(Some(Published { page, files }))
}

/// A plan's charts and its table of jobs as a part of a page, which [`chart_style`] and
/// [`chart_script`] go with; nothing where there is no plan.
pub fn chart(programme: &Programme, planned: &SeasonPlan, made: &str) -> Option<String> {
    let plan = planned.plan.as_ref()?;
    Some(charts::fragment(&plan_view(programme, planned, plan, made)))
}

/// The style of every [`chart`].
pub fn chart_style() -> String {
    charts::stylesheet()
}

/// The script of every [`chart`], which says everything without it too.
pub const fn chart_script() -> &'static str {
    charts::script()
}
