//! The vocabulary of scheduling: what has to be done, with what, under which rules, and
//! what a finished schedule measures.
//!
//! A [`Problem`] holds tasks with modes, renewable resources whose capacity changes over
//! time, stocks that are used up, calendars, links with least and greatest lags, occupancies
//! and an objective. A [`Schedule`] says in which mode, from when and until when each task runs. [`Measures`]
//! are always recomputed from the two, never believed from whoever made the schedule.
//!
//! The semantics of every rule are stated on the type that carries it; `verify` and the
//! search engine are written from those statements, apart from each other.
//!
//! [`instance`] reads problems from the text of public benchmark formats.
//!
//! **Never knows**: aircraft, people, solvers, files, the wall clock. Time is a count of
//! ticks from an origin that the caller chose; how long a tick lasts is the caller's
//! business.

mod calendar;
mod index;
pub mod instance;
mod link;
mod problem;
mod profile;
mod schedule;
mod stock;
mod task;

pub use calendar::{Calendar, CalendarFault, Window};
pub use index::{CalendarId, LinkId, ModeId, OccupancyId, ResourceId, StockId, TaskId};
pub use link::{Clock, End, Event, Link, Occupancy};
pub use problem::{Fault, Problem, Subject};
pub use profile::{Profile, ProfileFault, Resource};
pub use schedule::{Assignment, Measures, Schedule};
pub use stock::{Stock, Take};
pub use task::{Demand, Due, During, Mode, Pace, Progress, Published, Task};

/// A point in time or a span of it, in ticks from the problem's origin.
///
/// An alias and not a type of its own: engines add, compare and index by ticks in their
/// innermost loops, and every field says which of the two it is.
pub type Tick = i32;
