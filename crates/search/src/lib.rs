//! Schedules: decoder (order to dates), heuristics, bounds, exact search, stop rules and
//! explanations. A problem goes in, an outcome comes out.
//!
//! [`solve()`] finds a lawful schedule at once where it can, improves it until it is told to
//! stop, and says what it has proven: optimal, within a bound, or impossible and which rules
//! can't hold together. [`explain()`] says of a schedule what holds each task where it is,
//! [`driving_chain`] which tasks decide when the last one ends. [`replan()`] repairs a
//! published schedule when something has slipped.
//!
//! | chapter | what it does |
//! |---|---|
//! | `arc`, `pattern`, `steps`, `free` | lags, calendars and capacities as monotone functions |
//! | `model`, `windows`, `order` | a problem made ready: earliest and latest times, what comes first |
//! | `decode`, `place`, `repair` | the serial and the parallel scheme, with repair |
//! | `mirror` | time running backwards |
//! | `room` | what is free of many pools of people side by side |
//! | `rules`, `island` | populations for problems with every feature |
//! | `flock` | the same where only the length is left |
//! | `board`, `seat`, `worth`, `local` | a schedule that changes a few tasks at a time |
//! | `squeeze`, `scarce` | what is aimed at where only the length is left and time can't be turned |
//! | `stocks` | what is used up: modes that can be, mixes of modes, prices |
//! | `plain`, `planes` | plain problems, decoded fast: 64 ticks a word |
//! | `breed`, `nest` | populations for plain problems |
//! | `lists` | lists of tasks bred from two others |
//! | `lots` | drawing by what was gained |
//! | `mend`, `patch` | repairs of the best schedule by complete search in a part of it |
//! | `exact`, `tiny` | complete search: by learning, and of all schedules of tiny problems |
//! | `energy`, `prices`, `rings`, `bounds`, `conflict` | proofs |
//! | `last` | the task with which everything is over: its tardiness is the length in other words |
//! | `solve`, `worker`, `fill` | rounds of workers, stop rules |
//! | `proving` | how much of the time complete search is worth beside populations |
//! | `replan` | a schedule near the published one |
//! | `explain` | what holds each task |
//!
//! **Knows** `timetable`. **Never knows** aircraft, storage, files, the wall clock (a limit
//! of elapsed time is measured from the call), or the checker, which judges its answers
//! from outside. Engines are synchronous and `Send`; the same seed and budget of steps give
//! the same answer with any number of threads. Where time alone ends a search, its answer
//! depends on the machine, and the work is shared out so that no thread waits.

mod arc;
mod board;
mod bounds;
mod breed;
mod conflict;
mod decode;
mod energy;
mod exact;
mod explain;
mod fill;
mod flock;
mod free;
mod island;
mod last;
mod lists;
mod local;
mod lots;
mod mend;
mod mirror;
mod model;
mod nest;
mod order;
mod outcome;
mod patch;
mod pattern;
mod place;
mod plain;
mod planes;
mod prices;
#[cfg(test)]
mod properties;
mod proving;
mod repair;
mod replan;
mod rings;
mod room;
mod rules;
#[cfg(test)]
mod sample;
mod scarce;
mod seat;
mod solve;
mod squeeze;
mod steps;
mod stocks;
mod tiny;
mod windows;
mod worker;
mod worth;

pub use conflict::{Conflict, Part};
pub use explain::{Cause, Lack, Reason, driving_chain, explain};
pub use outcome::{Bound, News, Options, Outcome, Silent, Stop, Stopped, Watch};
pub use replan::replan;
pub use solve::solve;
