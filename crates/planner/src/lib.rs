//! From a programme's state to scheduling problems, and from their answers to plans in the
//! programme's words.
//!
//! [`draft()`] expands one season: findings become jobs by their routes, jobs that need an
//! item off pull in its removal and refit, and refits pull in the checks that the
//! disturbance demands. [`Model::new`] turns the draft into a scheduling problem;
//! [`Plan::new`] turns a schedule back into dated jobs, each with the reason for its date
//! in words, with people by name and the load week by week.
//!
//! **Knows** the record, the airframe, scheduling problems and how their answers are
//! explained. **Never knows** HTTP, SQL, files, pages, or the wall clock: today arrives as a
//! parameter. It judges no schedule lawful; whoever publishes asks the checker.

mod calendars;
mod card;
mod conflict;
mod crew;
mod draft;
mod expand;
mod grid;
mod load;
mod measured;
mod model;
mod past;
mod plan;
mod pools;
mod spans;
mod words;

pub use card::{CardError, Data, card};
pub use conflict::conflict;
pub use draft::{
    Draft, DraftError, Job, JobKind, Lasting, Link, LinkWhy, Occupation, Risk, Way, draft,
};
pub use grid::Grid;
pub use load::{Week, WeekLoad};
pub use model::{CalendarRole, Model, ModelError, ResourceRole};
pub use past::{Past, SoFar};
pub use plan::{Plan, PlannedJob, Stretch};
pub use words::opening_warning;
