//! A person's days as a calendar file (RFC 5545).

use icalendar::{Calendar, Component, Event, Property};
use jiff::ToSpan;
use jiff::civil::{Date, DateTime};
use jiff::tz::TimeZone;

use crate::text;
use crate::view::{DayView, PersonDays};

/// The person's days, one event for each stretch.
///
/// Times are floating local times (RFC 5545, 3.3.5, form 1): eight o'clock in the
/// workshop, whatever the reader's device believes about zones. An event keeps its
/// identity from one export to the next: `uid_base`, the date, and for the second and
/// later stretches of a date their number.
pub fn calendar(person: &PersonDays) -> String {
    let mut file = Calendar::empty();
    file.append_property(Property::new("VERSION", "2.0"));
    file.append_property(Property::new("PRODID", "-//Turnbuckle//Days//EN"));
    file.append_property(Property::new("CALSCALE", "GREGORIAN"));
    file.append_property(Property::new("METHOD", "PUBLISH"));
    file.name(&line(&person.name));
    let stamp = format!("{}Z", basic(TimeZone::UTC.to_datetime(person.made)));
    for (at, day) in person.days.iter().enumerate() {
        let earlier = person.days[..at].iter().filter(|d| d.date == day.date).count();
        file.push(event(&person.uid_base, day, earlier, &stamp));
    }
    refold(&file.to_string())
}

fn event(uid_base: &str, day: &DayView, earlier: usize, stamp: &str) -> Event {
    let start = day.date.to_datetime(day.from);
    let end = if day.until > day.from {
        day.date.to_datetime(day.until)
    } else {
        next(day.date).to_datetime(day.until)
    };
    let mut event = Event::new();
    event
        .uid(&uid(uid_base, day.date, earlier))
        .add_property("DTSTAMP", stamp)
        .add_property("DTSTART", basic(start))
        .add_property("DTEND", basic(end))
        .summary(&summary(&day.jobs));
    if !day.jobs.is_empty() {
        let lines: Vec<String> = day.jobs.iter().map(|job| line(job)).collect();
        event.description(&lines.join("\n"));
    }
    event.done()
}

fn uid(base: &str, date: Date, earlier: usize) -> String {
    let base = line(base);
    let day = format!("{:04}{:02}{:02}", date.year(), date.month(), date.day());
    match earlier {
        0 => format!("{base}-{day}"),
        n => format!("{base}-{day}-{}", n + 1),
    }
}

fn summary(jobs: &[String]) -> String {
    match jobs {
        [] => "In the workshop".to_owned(),
        [only] => line(only),
        [first, rest @ ..] => format!("{} (and {} more)", line(first), rest.len()),
    }
}

/// One line without controls; a calendar value may hold none but the tab.
fn line(raw: &str) -> String {
    text::one_line(&text::lawful_text(raw))
}

fn next(date: Date) -> Date {
    date.saturating_add(1.day())
}

/// The same content lines, folded so that none has more than 75 octets (RFC 5545, 3.1).
///
/// The writer forgets that the blank which begins a continuation counts too, and makes
/// some lines of 76.
fn refold(file: &str) -> String {
    let mut out = String::with_capacity(file.len() + file.len() / 32);
    for line in file.replace("\r\n ", "").split_inclusive("\r\n") {
        let mut octets = 0;
        for c in line.trim_end_matches("\r\n").chars() {
            if octets + c.len_utf8() > 75 {
                out.push_str("\r\n ");
                octets = 1;
            }
            out.push(c);
            octets += c.len_utf8();
        }
        out.push_str("\r\n");
    }
    out
}

/// `20320105T080000`.
fn basic(at: DateTime) -> String {
    format!(
        "{:04}{:02}{:02}T{:02}{:02}{:02}",
        at.year(),
        at.month(),
        at.day(),
        at.hour(),
        at.minute(),
        at.second()
    )
}
