//! Jobs as comma-separated values (RFC 4180).

use jiff::civil::DateTime;

use crate::text;
use crate::view::{JobView, PlanView};

/// The columns of the jobs, in the file and in the workbook.
pub(crate) const COLUMNS: [&str; 17] = [
    "key", "name", "pack", "kind", "item", "start", "finish", "hours", "people", "stand",
    "place", "firm", "why", "slack", "driving", "done", "after",
];

/// The jobs as CSV: UTF-8 without a byte order mark, a header row, lines that end in CR
/// LF, fields quoted where RFC 4180 asks for it, dates as `2032-01-05T08:00`.
///
/// `hours` are the hours between start and finish that are worked. Lists are parted by
/// `; `. Nothing beyond the quoting is done to the text: a spreadsheet that opens the
/// file directly may take a name that starts with `=` for a formula. Where that matters,
/// use [`jobs_xlsx`](crate::jobs_xlsx), which stores text as text.
pub fn jobs_csv(view: &PlanView) -> Vec<u8> {
    let mut writer = csv::WriterBuilder::new()
        .terminator(csv::Terminator::CRLF)
        .from_writer(Vec::new());
    // Writing to memory cannot fail, and every record has the same length.
    let _ = writer.write_record(COLUMNS);
    for job in &view.jobs {
        let _ = writer.write_record(record(job));
    }
    writer.into_inner().unwrap_or_default()
}

/// Hours worked on a job, to a hundredth.
pub(crate) fn hours(job: &JobView) -> f64 {
    let minutes: i64 = if job.working.is_empty() {
        minutes_between(job.start, job.finish)
    } else {
        job.working.iter().map(|&(from, until)| minutes_between(from, until)).sum()
    };
    (minutes as f64 / 0.6).round() / 100.0
}

pub(crate) fn yes_no(value: bool) -> &'static str {
    if value { "yes" } else { "no" }
}

fn record(job: &JobView) -> [String; COLUMNS.len()] {
    [
        job.key.clone(),
        job.name.clone(),
        job.pack.clone(),
        job.kind.word().to_owned(),
        job.item.clone().unwrap_or_default(),
        text::iso(job.start),
        text::iso(job.finish),
        hours(job).to_string(),
        job.people.join("; "),
        job.stand.clone().unwrap_or_default(),
        job.place.clone().unwrap_or_default(),
        job.firm.clone().unwrap_or_default(),
        job.why.clone(),
        job.slack.clone().unwrap_or_default(),
        yes_no(job.driving).to_owned(),
        yes_no(job.done).to_owned(),
        job.after.join("; "),
    ]
}

fn minutes_between(from: DateTime, until: DateTime) -> i64 {
    let span = until.duration_since(from);
    span.as_secs().max(0) / 60
}
