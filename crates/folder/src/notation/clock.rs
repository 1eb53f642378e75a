//! Days, dates, hours and shifts.

use jiff::civil::{Date, DateTime, Time, Weekday};
use record::{DateSpan, HeatingPeriod, Shift, Weekdays};

use crate::cell::{Cell, Value};
use crate::fields::{Out, Shape};
use crate::notation::{Fault, Listed, Notated, quoted};

/// A person's own hours: `09:00-15:00` on the days on which they come, or on other days
/// than these: `Sat 09:00-13:00`.
pub(crate) struct OwnHours {
    /// The days, if they were given.
    pub(crate) days: Option<Weekdays>,
    pub(crate) from: Time,
    pub(crate) until: Time,
}

const NAMES: [(&str, Weekday); 7] = [
    ("monday", Weekday::Monday),
    ("tuesday", Weekday::Tuesday),
    ("wednesday", Weekday::Wednesday),
    ("thursday", Weekday::Thursday),
    ("friday", Weekday::Friday),
    ("saturday", Weekday::Saturday),
    ("sunday", Weekday::Sunday),
];

/// The days as the notation writes them.
pub(crate) const fn day_names() -> &'static str {
    "Mon Tue Wed Thu Fri Sat Sun"
}

impl Notated for Date {
    const SHAPE: Shape = Shape::Date;

    fn parse(text: &str) -> Result<Self, Fault> {
        let text = text.trim();
        let not_one = || {
            Fault::new(format!("{} is not a date", quoted(text)))
                .hint("write year, month and day: `2031-10-06`")
        };
        let parts: Vec<&str> = text.split('-').collect();
        let [year, month, day] = parts.as_slice() else { return Err(not_one()) };
        let digits = |part: &str, length: usize| {
            let good = part.len() == length && part.bytes().all(|b| b.is_ascii_digit());
            good.then(|| part.parse::<i16>().ok()).flatten()
        };
        let (Some(year), Some(month), Some(day)) =
            (digits(year, 4), digits(month, 2), digits(day, 2))
        else {
            return Err(not_one());
        };
        Self::new(year, month as i8, day as i8)
            .map_err(|_| no_such_day(year, month, text))
    }

    fn print(&self) -> Out {
        Out::Text(self.to_string())
    }

    fn read(cell: &Cell) -> Result<Self, Fault> {
        match &cell.value {
            Value::Stamp(stamp) => Self::parse(stamp),
            // A date whose cell lost its format is a count of days.
            Value::Float(serial) if cell.place.is_in_sheet() => serial_date(*serial),
            Value::Int(serial) if cell.place.is_in_sheet() => serial_date(*serial as f64),
            value => match value.plain() {
                Some(text) => Self::parse(&text),
                None => Err(Fault::new(format!("{} is not a date", value.noun()))),
            },
        }
    }
}

fn no_such_day(year: i16, month: i16, text: &str) -> Fault {
    let fault = Fault::new(format!("there is no such day as {text}"));
    match Date::new(year, month as i8, 1) {
        Ok(first) => fault.hint(format!("that month has {} days", first.days_in_month())),
        Err(_) => fault.hint("months run from 01 to 12"),
    }
}

/// A spreadsheet's count of days from the end of 1899, for the years 1955 to 2119.
fn serial_date(serial: f64) -> Result<Date, Fault> {
    let fault = || {
        Fault::new(format!("the number {serial} is not a date"))
            .hint("format the cell as text and write `2031-10-06`")
    };
    if serial.fract() != 0.0 || !(20_000.0..80_000.0).contains(&serial) {
        return Err(fault());
    }
    let start = jiff::civil::date(1899, 12, 30);
    start.checked_add(jiff::Span::new().days(serial as i64)).map_err(|_| fault())
}

impl Notated for DateTime {
    const SHAPE: Shape = Shape::Moment;

    fn parse(text: &str) -> Result<Self, Fault> {
        let text = text.trim();
        let parts = text.split_once(' ').or_else(|| text.split_once('T'));
        let Some((day, time)) = parts else {
            return Err(Fault::new(format!("{} is not a date and a time", quoted(text)))
                .hint("write `2031-10-06 08:00`"));
        };
        Ok(Date::parse(day)?.to_datetime(clock(time)?))
    }

    fn print(&self) -> Out {
        Out::Text(format!("{} {}", self.date(), hm(self.time())))
    }

    fn read(cell: &Cell) -> Result<Self, Fault> {
        match &cell.value {
            Value::Stamp(text) | Value::Text(text) => Self::parse(text),
            other => {
                Err(Fault::new(format!("{} is not a date and a time", other.noun()))
                    .hint("write `2031-10-06 08:00`"))
            }
        }
    }
}

impl Notated for DateSpan {
    const SHAPE: Shape = Shape::Spans;

    fn parse(text: &str) -> Result<Self, Fault> {
        let text = text.trim();
        let (from, until) = text.split_once("..").unwrap_or((text, text));
        let fault =
            |fault: Fault| fault.hint("write `2031-12-20..2032-01-04`, both included");
        let wrong = |error: Fault| {
            if error.what.contains("no such day") { error } else { fault(error) }
        };
        let from = Date::parse(from).map_err(wrong)?;
        let until = Date::parse(until).map_err(wrong)?;
        if until < from {
            return Err(Fault::new(format!("{} ends before it starts", quoted(text)))
                .hint(format!("write `{until}..{from}`, or mend the year")));
        }
        Ok(Self { from, until })
    }

    fn print(&self) -> Out {
        Out::Text(span(*self))
    }
}

impl Listed for DateSpan {
    const LIST: Shape = Shape::Spans;
}

impl Notated for Weekdays {
    const SHAPE: Shape = Shape::Days;

    fn parse(text: &str) -> Result<Self, Fault> {
        let text = tight(text);
        let lower = text.to_lowercase();
        if matches!(lower.as_str(), "daily" | "every day") {
            return Ok(Self::ALL);
        }
        let mut days = Self::NONE;
        let parts = lower.split(|c: char| c.is_whitespace() || c == ',');
        for part in parts.filter(|part| !part.is_empty()) {
            let (first, last) = part.split_once('-').unwrap_or((part, part));
            let last = day(last, &text)?;
            let mut next = day(first, &text)?;
            days = days.with(next);
            while next != last {
                next = next.next();
                days = days.with(next);
            }
        }
        Ok(days)
    }

    fn print(&self) -> Out {
        Out::Text(self.to_string())
    }
}

impl Notated for Shift {
    const SHAPE: Shape = Shape::Shifts;

    fn parse(text: &str) -> Result<Self, Fault> {
        let hours = OwnHours::parse(text)?;
        let Some(days) = hours.days else {
            return Err(Fault::new(format!(
                "{} does not say on which days",
                quoted(text.trim())
            ))
            .hint("write `Mon-Fri 08:00-16:30`"));
        };
        Ok(Self { days, from: hours.from, until: hours.until })
    }

    fn print(&self) -> Out {
        Out::Text(format!("{} {}", self.days, hours(self.from, self.until)))
    }
}

impl Listed for Shift {
    const LIST: Shape = Shape::Shifts;
}

impl Notated for OwnHours {
    const SHAPE: Shape = Shape::Hours;

    fn parse(text: &str) -> Result<Self, Fault> {
        let text = tight(text);
        let (days, time) = match text.rsplit_once(char::is_whitespace) {
            Some((days, time)) => (Some(Weekdays::parse(days)?), time),
            None => (None, text.as_str()),
        };
        let (from, until) = hour_span(time)?;
        Ok(Self { days, from, until })
    }

    fn print(&self) -> Out {
        let time = hours(self.from, self.until);
        Out::Text(match self.days {
            Some(days) => format!("{days} {time}"),
            None => time,
        })
    }
}

impl Notated for HeatingPeriod {
    const SHAPE: Shape = Shape::Heating;

    fn parse(text: &str) -> Result<Self, Fault> {
        let text = tight(text);
        match text.split_once(char::is_whitespace) {
            Some((days, time)) => {
                Ok(Self { days: DateSpan::parse(days)?, hours: Some(hour_span(time)?) })
            }
            None => Ok(Self { days: DateSpan::parse(&text)?, hours: None }),
        }
    }

    fn print(&self) -> Out {
        let days = span(self.days);
        Out::Text(match self.hours {
            Some((from, until)) => format!("{days} {}", hours(from, until)),
            None => days,
        })
    }
}

impl Listed for HeatingPeriod {
    const LIST: Shape = Shape::Heating;
}

/// The text without blanks around its dashes and dots, and with plain dashes.
fn tight(text: &str) -> String {
    let mut words = text.trim().replace(['–', '—'], "-");
    for sign in ["-", ".."] {
        let parts: Vec<&str> = words.split(sign).map(str::trim).collect();
        words = parts.join(sign);
    }
    words.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn day(word: &str, whole: &str) -> Result<Weekday, Fault> {
    let found = NAMES.iter().find(|(name, _)| {
        word.len() >= 3 && name.starts_with(word.trim_end_matches('.'))
    });
    found.map(|(_, day)| *day).ok_or_else(|| {
        let what =
            format!("{} is not a day of the week, in {}", quoted(word), quoted(whole));
        Fault::new(what).hint(format!(
            "the days are {}; write `Mon-Fri`, `Tue Sat` or `daily`",
            day_names()
        ))
    })
}

fn hour_span(text: &str) -> Result<(Time, Time), Fault> {
    let Some((from, until)) = text.split_once('-') else {
        let what = format!("{} does not say from when until when", quoted(text));
        return Err(Fault::new(what).hint("write `08:00-16:30`"));
    };
    let (from, until) = (clock(from)?, clock(until)?);
    if until <= from {
        let what = format!("{} ends before it starts", quoted(text));
        return Err(Fault::new(what).hint(
            "work past midnight is written as two shifts, on one day and on the next",
        ));
    }
    Ok((from, until))
}

/// A time of day in hours and minutes.
fn clock(text: &str) -> Result<Time, Fault> {
    let text = text.trim();
    let not_one = || Fault::new(format!("{} is not a time of day", quoted(text)));
    let parts = text.split_once(':').and_then(|(hour, minute)| {
        let minute = minute.strip_suffix(":00").unwrap_or(minute);
        let good = |part: &str| part.bytes().all(|b| b.is_ascii_digit());
        let spelt = good(hour) && good(minute) && minute.len() == 2 && hour.len() <= 2;
        spelt
            .then(|| Some((hour.parse::<i8>().ok()?, minute.parse::<i8>().ok()?)))
            .flatten()
    });
    let (hour, minute) =
        parts.ok_or_else(|| not_one().hint("write hours and minutes: `08:00`"))?;
    Time::new(hour, minute, 0, 0)
        .map_err(|_| not_one().hint("times run from `00:00` to `23:59`"))
}

fn hm(time: Time) -> String {
    format!("{:02}:{:02}", time.hour(), time.minute())
}

fn hours(from: Time, until: Time) -> String {
    format!("{}-{}", hm(from), hm(until))
}

fn span(span: DateSpan) -> String {
    if span.from == span.until {
        span.from.to_string()
    } else {
        format!("{}..{}", span.from, span.until)
    }
}
