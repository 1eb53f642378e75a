//! Seasons, and times that run backwards.

use jiff::civil::{Date, Time};

use crate::check::notes::{At, Notes};
use crate::{DateSpan, Programme, Season, Shift, Weekdays};

/// Years outside these are slips of the hand.
const YEARS: std::ops::RangeInclusive<i16> = 1900..=2199;

/// The most days that a season has.
const LONGEST: i64 = 1000;

pub(crate) fn check(programme: &Programme, notes: &mut Notes) {
    for season in programme.seasons.iter() {
        one(season, notes);
    }
    let mut seasons: Vec<&Season> = programme.seasons.iter().collect();
    seasons.sort_by_key(|season| (season.from, season.until));
    for pair in seasons.windows(2) {
        let [first, second] = pair else { continue };
        if second.from <= first.until && first.from <= first.until {
            let what = format!(
                "it begins on {}, before {} ends on {}",
                second.from, first.id, first.until
            );
            notes
                .error("season", &second.id, "from", what)
                .hint("let one season end before the next begins");
        }
    }
}

fn one(season: &Season, notes: &mut Notes) {
    let Season {
        id,
        name: _,
        from,
        until,
        gate: _,
        shifts,
        closed,
        heating,
        wet,
        arrangement: _,
    } = season;
    let at = At::new("season", id, "shifts");
    let sound =
        day(at.field("from"), *from, notes) & day(at.field("until"), *until, notes);
    if until < from {
        let what = format!("it ends on {until}, before it starts on {from}");
        notes
            .error_at(at.field("until"), what)
            .hint("exchange the two, or mend the year");
    }
    if shifts.is_empty() {
        notes
            .error_at(at, "it has no shifts, so nobody ever works")
            .hint("write `Mon-Fri 08:00-16:30`");
    }
    for shift in shifts {
        hours(at, shift, notes);
    }
    overlaps(at, shifts, notes);
    spans(at.field("closed"), closed, notes);
    spans(at.field("wet"), wet, notes);
    for period in heating {
        let at = at.field("heating");
        spans(at, &[period.days], notes);
        if let Some((from, until)) = period.hours {
            times(at, from, until, notes);
        }
    }
    if sound && from <= until {
        closures(season, notes);
    }
}

/// Closures against the season.
fn closures(season: &Season, notes: &mut Notes) {
    let at = At::new("season", &season.id, "closed");
    for span in &season.closed {
        if span.until < season.from || season.until < span.from {
            let what = format!("{} lies outside the season", shown(*span));
            notes.warning_at(at, what).hint("take it out, or mend the year");
        }
    }
    if season.closed.iter().any(|span| span.holds(season.until)) {
        let what = format!(
            "the gate date {} lies in a closure, when nobody is there",
            season.until
        );
        notes
            .warning_at(at.field("until"), what)
            .hint("set the gate date to the last day of work");
    }
    let days =
        season.from.until(season.until).map_or(0, |span| i64::from(span.get_days()));
    if days > LONGEST {
        let what = format!("the season has {days} days");
        notes.warning_at(at.field("until"), what).hint("is the year right?");
        return;
    }
    let open = |day: &Date| {
        season.shifts.iter().any(|shift| shift.days.holds(day.weekday()))
            && !season.closed.iter().any(|span| span.holds(*day))
    };
    let mut each = season
        .from
        .series(jiff::Span::new().days(1))
        .take_while(|day| *day <= season.until);
    if !season.shifts.is_empty() && !each.any(|day| open(&day)) {
        notes
            .error_at(at, "nobody works on any day of the season")
            .hint("look at the shifts and the closures");
    }
}

/// Notes a day that cannot be meant; says whether it can.
pub(crate) fn day(at: At<'_>, day: Date, notes: &mut Notes) -> bool {
    let good = YEARS.contains(&day.year());
    if !good {
        notes
            .error_at(at, format!("{day} is no day of this programme's time"))
            .hint("mend the year");
    }
    good
}

/// Notes spans that run backwards.
pub(crate) fn spans(at: At<'_>, spans: &[DateSpan], notes: &mut Notes) {
    for span in spans {
        if day(at, span.from, notes) & day(at, span.until, notes)
            && span.until < span.from
        {
            let what = format!("{} ends before it starts", shown(*span));
            notes.error_at(at, what).hint(format!("write {}..{}", span.until, span.from));
        }
    }
}

/// Notes hours that run backwards or fall on no day.
pub(crate) fn hours(at: At<'_>, shift: &Shift, notes: &mut Notes) {
    let Shift { days, from, until } = shift;
    if *days == Weekdays::NONE {
        notes
            .error_at(at, "hours are given for no day of the week")
            .hint("write `Mon-Fri 08:00-16:30`");
    }
    times(at, *from, *until, notes);
}

fn times(at: At<'_>, from: Time, until: Time, notes: &mut Notes) {
    whole_minutes(at, from, notes);
    whole_minutes(at, until, notes);
    if until <= from {
        let (from, until) = (hm(from), hm(until));
        notes
            .error_at(
                at,
                format!("it ends at {until}, and that is not after its start at {from}"),
            )
            .hint(
                "work past midnight is written as two shifts, on one day and on the next",
            );
    }
}

/// Notes a time with seconds, which no file could hold.
pub(crate) fn whole_minutes(at: At<'_>, time: Time, notes: &mut Notes) {
    if time.second() != 0 || time.subsec_nanosecond() != 0 {
        notes
            .error_at(at, format!("the time {time} has seconds"))
            .hint("give whole minutes");
    }
}

fn overlaps(at: At<'_>, shifts: &[Shift], notes: &mut Notes) {
    for (position, one) in shifts.iter().enumerate() {
        for other in &shifts[..position] {
            let shared = one.days.iter().any(|day| other.days.holds(day));
            if shared && one.from < other.until && other.from < one.until {
                let what = format!(
                    "the shift {} {}-{} overlaps the shift {} {}-{}",
                    one.days,
                    hm(one.from),
                    hm(one.until),
                    other.days,
                    hm(other.from),
                    hm(other.until)
                );
                notes
                    .error_at(at, what)
                    .hint("people cannot work twice at the same time");
            }
        }
    }
}

fn shown(span: DateSpan) -> String {
    format!("{}..{}", span.from, span.until)
}

fn hm(time: Time) -> String {
    format!("{:02}:{:02}", time.hour(), time.minute())
}
