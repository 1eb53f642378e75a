//! Seasons: the closed periods in which the aircraft is opened up.

use std::fmt;

use airframe::ArrangementId;
use jiff::civil::{Date, Time};

use crate::{GateId, SeasonId};

/// The closed period in which the aircraft is opened up; it ends on a gate date.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Season {
    /// Its name in the programme.
    pub id: SeasonId,
    /// What people call it.
    pub name: String,
    /// The first day of work.
    pub from: Date,
    /// The gate date: the aircraft must stand complete for its gate by the end of it.
    pub until: Date,
    /// The gate that it must end on.
    pub gate: GateId,
    /// The hours of work.
    pub shifts: Vec<Shift>,
    /// When nobody works, both days included.
    pub closed: Vec<DateSpan>,
    /// When the hangar is warm.
    pub heating: Vec<HeatingPeriod>,
    /// Days on which it is too wet for dry work in places that do not keep weather out.
    pub wet: Vec<DateSpan>,
    /// How the aircraft is supported while it is open.
    pub arrangement: Option<ArrangementId>,
}

/// Hours of work on some days of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Shift {
    /// On which days.
    pub days: Weekdays,
    /// From when.
    pub from: Time,
    /// Until when; after `from`, on the same day.
    pub until: Time,
}

/// A stretch of days, both included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct DateSpan {
    /// The first day.
    pub from: Date,
    /// The last day, not before the first.
    pub until: Date,
}

impl DateSpan {
    /// Whether a day lies in it.
    pub fn holds(&self, day: Date) -> bool {
        self.from <= day && day <= self.until
    }
}

/// When the hangar is warm enough for warm work.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct HeatingPeriod {
    /// The days, both included.
    pub days: DateSpan,
    /// Hours on each of those days in which it is warm; nothing means day and night.
    pub hours: Option<(Time, Time)>,
}

/// Days of the week.
pub type Weekday = jiff::civil::Weekday;

/// A set of days of the week.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Default, Hash)]
pub struct Weekdays(u8);

impl Weekdays {
    /// None.
    pub const NONE: Self = Self(0);
    /// All seven.
    pub const ALL: Self = Self(0x7f);

    /// The set with one more day.
    #[must_use]
    pub fn with(self, day: Weekday) -> Self {
        Self(self.0 | 1 << day.to_monday_zero_offset())
    }

    /// Whether a day is in it.
    pub fn holds(self, day: Weekday) -> bool {
        self.0 & (1 << day.to_monday_zero_offset()) != 0
    }

    /// Whether no day is in it.
    pub const fn is_empty(self) -> bool {
        self.0 == 0
    }

    /// The days in it, Monday first.
    pub fn iter(self) -> impl Iterator<Item = Weekday> {
        Weekday::Monday.cycle_forward().take(7).filter(move |&day| self.holds(day))
    }
}

impl fmt::Display for Weekdays {
    /// `Mon Tue Wed`; runs of three or more as `Mon-Fri`.
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        const NAMES: [&str; 7] = ["Mon", "Tue", "Wed", "Thu", "Fri", "Sat", "Sun"];
        let mut day = 0;
        let mut first = true;
        while day < 7 {
            if self.0 & (1 << day) == 0 {
                day += 1;
                continue;
            }
            let run = (day..7).take_while(|d| self.0 & (1 << d) != 0).count();
            let shown = if run >= 3 { run } else { 1 };
            if !first {
                f.write_str(" ")?;
            }
            first = false;
            f.write_str(NAMES[day])?;
            if shown >= 3 {
                write!(f, "-{}", NAMES[day + shown - 1])?;
            }
            day += shown;
        }
        Ok(())
    }
}

impl crate::Named for Season {
    type Name = SeasonId;
    const NOUN: &'static str = "season";

    fn name(&self) -> &SeasonId {
        &self.id
    }
}
