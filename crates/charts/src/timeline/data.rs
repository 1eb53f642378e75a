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
    let at = |moment| minutes(window.from, moment);
    let places: BTreeMap<&str, usize> = view
        .jobs
        .iter()
        .enumerate()
        .map(|(place, job)| (job.key.as_str(), place))
        .collect();
    let mut out = Json::new();
    out.member("from", &quoted(&window.from.to_string()));
    out.member("days", &window.days().to_string());
    let gate_end = i64::from((view.gate.1 - window.from).get_days() + 1) * 1_440;
    out.member("gate", &format!("[{},{gate_end}]", quoted(&view.gate.0)));
    out.member(
        "complete",
        &view.complete.map_or("null".to_owned(), |c| at(c).to_string()),
    );
    let today =
        view.today.map(|today| i64::from((today - window.from).get_days()) * 1_440);
    out.member("today", &today.map_or("null".to_owned(), |today| today.to_string()));
    let spans =
        |spans: &[(u16, u16)]| list(spans.iter().map(|(a, b)| format!("[{a},{b}]")));
    out.member("hours", &list(beside.hours.iter().map(|day| spans(day))));
    let closed =
        view.closed.iter().map(|(from, until)| format!("[{},{}]", at(*from), at(*until)));
    out.member("closed", &list(closed));
    let kinds = JobKind::ALL.iter();
    let kinds = kinds.map(|kind| {
        format!("[{},{}]", quoted(&kind.mark().to_string()), quoted(kind.word()))
    });
    out.member("kinds", &list(kinds));
    out.member("of", &quoted(&beside.of));
    out.member("key", &list(view.jobs.iter().map(|job| quoted(&job.key))));
    out.member(
        "name",
        &list(view.jobs.iter().map(|job| quoted(&text::one_line(&job.name)))),
    );
    out.member(
        "kind",
        &list(view.jobs.iter().map(|job| paint::number(job.kind).to_string())),
    );
    out.member("start", &list(view.jobs.iter().map(|job| at(job.start).to_string())));
    let long = view.jobs.iter().map(|job| (at(job.finish) - at(job.start)).to_string());
    out.member("long", &list(long));
    let flags = view.jobs.iter().map(|job| {
        let begun = beside.begun.contains(&job.key);
        (u8::from(job.driving) + 2 * u8::from(job.done) + 4 * u8::from(begun)).to_string()
    });
    out.member("flags", &list(flags));
    let after = view.jobs.iter().map(|job| {
        let known = job.after.iter().filter_map(|key| places.get(key.as_str()));
        list(known.map(ToString::to_string))
    });
    out.member("after", &list(after));
    let was = view.jobs.iter().map(|job| {
        beside.was.get(&job.key).map_or("0".to_owned(), |(from, until)| {
            format!("[{},{}]", at(*from), at(*until) - at(*from))
        })
    });
    out.member("was", &list(was));
    let bar = |bar: &Bar| {
        let job = view.jobs.get(bar.job)?;
        if (bar.from, bar.until) == (job.start, job.finish) {
            return Some(bar.job.to_string());
        }
        Some(format!("[{},{},{}]", bar.job, at(bar.from), at(bar.until) - at(bar.from)))
    };
    let sets = view.lanes.iter().map(|set| {
        let lanes = set.lanes.iter().map(|lane| {
            format!("[{},{}]", quoted(&lane.name), list(lane.bars.iter().filter_map(bar)))
        });
        format!("[{},{}]", quoted(&set.name), list(lanes))
    });
    out.member("lanes", &list(sets));
    out.done()
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
