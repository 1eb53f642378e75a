//! A plan as data.

use std::collections::BTreeMap;
use std::fmt::Write as _;

use crate::kind::JobKind;
use crate::paint;
use crate::text;
use crate::timeline::{Beside, Window, minutes};
use crate::view::{Bar, PlanView};

/// The plan as JSON (RFC 8259), as short as it can be: every list has a job's part at the
/// job's place, times are minutes from the first day's midnight.
///
/// - `from`, `days`: the first day, and how many there are; `gate`, `complete`, `today`;
/// - `hours`: for each day of the week from Monday, spans of minutes; `closed`: spans;
/// - `kinds`: the mark and the word of each kind;
/// - `key`, `name`, `kind`, `start`, `long`, `flags` (1 sets the date, 2 done, 4 begun);
/// - `after`: places of the jobs that each follows; `was`: start and length beside, or 0;
/// - `lanes`: name of the set, and lanes: name, bars; a bar is a job's place, or that with a
///   start and a length of its own.
pub fn timeline_json(view: &PlanView, beside: &Beside) -> String {
    let window = Window::whole(view);
    let places: BTreeMap<&str, usize> = view
        .jobs
        .iter()
        .enumerate()
        .map(|(place, job)| (job.key.as_str(), place))
        .collect();
    let mut out = Json::new();
    frame(&mut out, view, beside, window);
    jobs(&mut out, view, beside, window.from);
    let after = view.jobs.iter().map(|job| {
        let known = job.after.iter().filter_map(|key| places.get(key.as_str()));
        list(known.map(ToString::to_string))
    });
    out.member("after", &list(after));
    let sets = view.lanes.iter().map(|set| {
        let lanes = set.lanes.iter().map(|lane| {
            let bars = lane.bars.iter().filter_map(|one| bar(view, one, window.from));
            format!("[{},{}]", quoted(&lane.name), list(bars))
        });
        format!("[{},{}]", quoted(&set.name), list(lanes))
    });
    out.member("lanes", &list(sets));
    out.done()
}

/// Days, lines and shading.
fn frame(out: &mut Json, view: &PlanView, beside: &Beside, window: Window) {
    let at = |moment| minutes(window.from, moment);
    let day = |day: jiff::civil::Date| i64::from((day - window.from).get_days()) * 1_440;
    let or_null =
        |minute: Option<i64>| minute.map_or("null".to_owned(), |m| m.to_string());
    out.member("from", &quoted(&window.from.to_string()));
    out.member("days", &window.days().to_string());
    let gate_end = day(view.gate.1) + 1_440;
    out.member("gate", &format!("[{},{gate_end}]", quoted(&view.gate.0)));
    out.member("complete", &or_null(view.complete.map(at)));
    out.member("today", &or_null(view.today.map(day)));
    let spans =
        |spans: &[(u16, u16)]| list(spans.iter().map(|(a, b)| format!("[{a},{b}]")));
    out.member("hours", &list(beside.hours.iter().map(|day| spans(day))));
    let closed = view.closed.iter();
    let closed = closed.map(|(from, until)| format!("[{},{}]", at(*from), at(*until)));
    out.member("closed", &list(closed));
    let kinds = JobKind::ALL.iter().map(|kind| {
        format!("[{},{}]", quoted(&kind.mark().to_string()), quoted(kind.word()))
    });
    out.member("kinds", &list(kinds));
    out.member("of", &quoted(&beside.of));
}

/// What each job is, and where it lies.
fn jobs(out: &mut Json, view: &PlanView, beside: &Beside, first: jiff::civil::Date) {
    let at = |moment| minutes(first, moment);
    let jobs = view.jobs.iter();
    out.member("key", &list(jobs.clone().map(|job| quoted(&job.key))));
    out.member("name", &list(jobs.clone().map(|job| quoted(&text::one_line(&job.name)))));
    let kinds = jobs.clone().map(|job| paint::number(job.kind).to_string());
    out.member("kind", &list(kinds));
    out.member("start", &list(jobs.clone().map(|job| at(job.start).to_string())));
    let long = jobs.clone().map(|job| (at(job.finish) - at(job.start)).to_string());
    out.member("long", &list(long));
    let flags = jobs.clone().map(|job| {
        let begun = beside.begun.contains(&job.key);
        (u8::from(job.driving) + 2 * u8::from(job.done) + 4 * u8::from(begun)).to_string()
    });
    out.member("flags", &list(flags));
    let was = jobs.map(|job| {
        beside.was.get(&job.key).map_or("0".to_owned(), |(from, until)| {
            format!("[{},{}]", at(*from), at(*until) - at(*from))
        })
    });
    out.member("was", &list(was));
}

/// A bar: a job's place, with a start and a length where these are not the job's own.
fn bar(view: &PlanView, bar: &Bar, first: jiff::civil::Date) -> Option<String> {
    let job = view.jobs.get(bar.job)?;
    if (bar.from, bar.until) == (job.start, job.finish) {
        return Some(bar.job.to_string());
    }
    let (from, until) = (minutes(first, bar.from), minutes(first, bar.until));
    Some(format!("[{},{from},{}]", bar.job, until - from))
}

struct Json(String);

impl Json {
    fn new() -> Self {
        Self(String::from("{"))
    }

    fn member(&mut self, name: &str, value: &str) {
        let comma = if self.0.len() > 1 { "," } else { "" };
        // Writing to a text cannot fail.
        let _ = write!(self.0, "{comma}\"{name}\":{value}");
    }

    fn done(mut self) -> String {
        self.0.push('}');
        self.0
    }
}

fn list(parts: impl Iterator<Item = String>) -> String {
    format!("[{}]", parts.collect::<Vec<_>>().join(","))
}

/// A text as JSON has it (RFC 8259, section 7).
fn quoted(text: &str) -> String {
    let mut out = String::from("\"");
    for c in text.chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c < ' ' => {
                let _ = write!(out, "\\u{:04x}", u32::from(c));
            }
            c => out.push(c),
        }
    }
    out.push('"');
    out
}
