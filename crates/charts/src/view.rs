//! What the caller hands in: finished values, already in the words that people read.
//!
//! Dates and times are civil (the workshop's own clock). Text may hold anything; each
//! writer escapes for its own format.

use jiff::Timestamp;
use jiff::civil::{Date, DateTime, Time};

use crate::kind::JobKind;

/// One season's plan, as it is to be shown.
#[derive(Debug, Clone, PartialEq)]
pub struct PlanView {
    /// The heading, e.g. the aircraft and the season.
    pub title: String,
    /// A line under the heading; may be empty.
    pub subtitle: String,
    /// What must be read with the plan: "Invented example", cautions. Shown on every
    /// printed page.
    pub notices: Vec<String>,
    /// First day of the season.
    pub from: Date,
    /// Last day of the season.
    pub until: Date,
    /// The gate's name and date. The line stands at the end of that day.
    pub gate: (String, Date),
    /// When the last job that the gate needs ends, if the plan has one.
    pub complete: Option<DateTime>,
    /// The day on which the plan is read; drawn only if it is within the chart.
    pub today: Option<Date>,
    /// Spans in which nobody works. Spans that lie within a night are not drawn.
    pub closed: Vec<(DateTime, DateTime)>,
    /// Days on which the place is heated, both ends included.
    pub warm: Vec<(Date, Date)>,
    /// Every job, in the order of the table.
    pub jobs: Vec<JobView>,
    /// The ways of laying the jobs out; the first is shown first.
    pub lanes: Vec<LaneSet>,
    /// Hours needed and there, by skill and week.
    pub loads: Vec<LoadView>,
    /// Figures for the head of the page: name and value.
    pub summary: Vec<(String, String)>,
    /// When and from what the page was made, as text.
    pub made: String,
}

/// One job.
#[derive(Debug, Clone, PartialEq)]
pub struct JobView {
    /// The job's key, unique in the plan.
    pub key: String,
    /// What is done.
    pub name: String,
    /// The work pack that it belongs to.
    pub pack: String,
    /// What sort of work it is: chooses the fill, the hatching and the mark.
    pub kind: JobKind,
    /// The item worked on.
    pub item: Option<String>,
    /// First moment.
    pub start: DateTime,
    /// Last moment.
    pub finish: DateTime,
    /// Stretches actually worked, in order; what lies between them is a pause. Empty
    /// means that the job runs from start to finish without one.
    pub working: Vec<(DateTime, DateTime)>,
    /// Who does it.
    pub people: Vec<String>,
    /// The stand that it occupies.
    pub stand: Option<String>,
    /// Where it is done.
    pub place: Option<String>,
    /// The outside firm that does it.
    pub firm: Option<String>,
    /// Why it starts when it does.
    pub why: String,
    /// How far it could slip, as text.
    pub slack: Option<String>,
    /// Whether it belongs to the chain that sets the date of completion.
    pub driving: bool,
    /// Whether it is done.
    pub done: bool,
    /// Keys of the jobs that it follows.
    pub after: Vec<String>,
}

impl JobView {
    /// A job between two moments, of which nothing else is said.
    pub fn between(start: DateTime, finish: DateTime) -> Self {
        Self {
            key: String::new(),
            name: String::new(),
            pack: String::new(),
            kind: JobKind::Other,
            item: None,
            start,
            finish,
            working: Vec::new(),
            people: Vec::new(),
            stand: None,
            place: None,
            firm: None,
            why: String::new(),
            slack: None,
            driving: false,
            done: false,
            after: Vec::new(),
        }
    }
}

/// One way of laying jobs out in lanes: by pack, by stand, by person, by firm.
#[derive(Debug, Clone, PartialEq)]
pub struct LaneSet {
    /// What the lanes are, e.g. "By pack".
    pub name: String,
    /// The lanes from top to bottom.
    pub lanes: Vec<Lane>,
}

/// One lane; bars that overlap are stacked in it.
#[derive(Debug, Clone, PartialEq)]
pub struct Lane {
    /// The lane's name.
    pub name: String,
    /// A short remark under the name; may be empty.
    pub note: String,
    /// The bars in any order.
    pub bars: Vec<Bar>,
}

/// One bar in a lane.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bar {
    /// Index into [`PlanView::jobs`]; a bar whose index is out of range is not drawn.
    pub job: usize,
    /// From when the lane is taken. What lies outside the job's own start and finish is
    /// drawn as held (a stand that stays occupied), what lies inside as worked or paused.
    pub from: DateTime,
    /// Until when.
    pub until: DateTime,
}

/// The weekly hours of one skill.
#[derive(Debug, Clone, PartialEq)]
pub struct LoadView {
    /// The skill's name.
    pub skill: String,
    /// The weeks in order.
    pub weeks: Vec<LoadWeek>,
}

/// The hours of one skill in one week. Values that are not finite or are below zero are
/// drawn as zero.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct LoadWeek {
    /// The Monday that starts the week.
    pub monday: Date,
    /// Hours that the plan needs.
    pub needed: f64,
    /// Hours that are there.
    pub there: f64,
}

/// The days of one person.
#[derive(Debug, Clone, PartialEq)]
pub struct PersonDays {
    /// The person's name, which names the calendar.
    pub name: String,
    /// What every event's identity begins with. The same person in the same programme
    /// must always get the same text, so that a calendar updates and doesn't double.
    pub uid_base: String,
    /// The days in order.
    pub days: Vec<DayView>,
    /// When the calendar was made.
    pub made: Timestamp,
}

/// One stretch of a person's day.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct DayView {
    /// The day.
    pub date: Date,
    /// From this time of the day.
    pub from: Time,
    /// Until this time; not later than `from` means on the following day.
    pub until: Time,
    /// One line for each job.
    pub jobs: Vec<String>,
}
