//! The table of jobs.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use jiff::civil::DateTime;

use crate::legend;
use crate::text::{self, escape};
use crate::view::{JobView, PlanView};

const COLUMNS: [&str; 10] = [
    "Job",
    "Pack",
    "Kind",
    "Start",
    "Finish",
    "Who",
    "Where",
    "Why it starts then",
    "Slack",
    "After",
];

/// Writes the table: everything that the chart shows, and more.
pub(super) fn table(out: &mut String, view: &PlanView) {
    let rows: BTreeMap<&str, usize> =
        view.jobs.iter().enumerate().map(|(at, job)| (job.key.as_str(), at)).collect();
    let _ = write!(
        out,
        r#"<section class="jobs"><h2 id="jobs">Jobs</h2><table class="data" id="table" aria-labelledby="jobs"><thead><tr>"#
    );
    for column in COLUMNS {
        let _ = write!(out, r#"<th scope="col">{column}</th>"#);
    }
    out.push_str("</tr></thead><tbody>");
    for (at, job) in view.jobs.iter().enumerate() {
        row(out, at, job, &rows);
    }
    out.push_str("</tbody></table></section>");
}

fn row(out: &mut String, at: usize, job: &JobView, rows: &BTreeMap<&str, usize>) {
    let _ = write!(
        out,
        r#"<tr id="j{at}" tabindex="-1"><td><b>{}</b> <small>{}{}</small>"#,
        escape(&job.name),
        escape(&job.key),
        job.item.as_ref().map_or(String::new(), |item| format!(" · {}", escape(item)))
    );
    if job.driving {
        out.push_str(r#" <em class="flag">◆ sets the date</em>"#);
    }
    if job.done {
        out.push_str(r#" <em class="flag">✓ done</em>"#);
    }
    let _ = write!(
        out,
        r#"</td><td>{}</td><td><svg width="26" height="16" aria-hidden="true">{}</svg> {} {}</td>"#,
        escape(&job.pack),
        legend::swatch(job.kind, ""),
        job.kind.mark(),
        job.kind.word()
    );
    time(out, job.start);
    time(out, job.finish);
    let who: Vec<&str> = job.people.iter().chain(&job.firm).map(String::as_str).collect();
    let places: Vec<&str> =
        job.place.iter().chain(&job.stand).map(String::as_str).collect();
    let _ = write!(
        out,
        r#"<td>{}</td><td>{}</td><td id="w{at}">{}</td><td>{}</td><td>"#,
        escape(&who.join(", ")),
        escape(&places.join(", ")),
        escape(&job.why),
        escape(job.slack.as_deref().unwrap_or(""))
    );
    for (nth, key) in job.after.iter().enumerate() {
        let part = if nth > 0 { ", " } else { "" };
        let key_text = escape(key);
        let _ = match rows.get(key.as_str()) {
            Some(row) => write!(out, r##"{part}<a href="#j{row}">{key_text}</a>"##),
            None => write!(out, "{part}{key_text}"),
        };
    }
    out.push_str("</td></tr>");
}

fn time(out: &mut String, at: DateTime) {
    let _ = write!(
        out,
        r#"<td><time datetime="{}">{}</time></td>"#,
        text::iso(at),
        text::moment_and_year(at)
    );
}
