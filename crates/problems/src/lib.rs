//! Scheduling problems as files, and a generator of full-featured ones.
//!
//! [`read()`] takes the text of a JSON document that a person can write, and says all that
//! is wrong with it at once, each mistake with its line and its path. [`write()`] gives a
//! problem back as such a document. `docs/PROBLEMS.md` describes it, and [`SCHEMA`] for programs.
//!
//! [`generate()`] draws problems with every feature of the vocabulary: calendars, pauses,
//! modes, stocks, occupancies, lags of both kinds, windows, due dates, a published plan, a past. A
//! [`Recipe`] says how large. The same recipe and seed give the same problem everywhere.
//! What they stand for is invented.
//!
//! **Knows** the vocabulary of `timetable`. **Never knows** how a problem is solved or
//! judged, aircraft, people, files on disk, the clock.

mod board;
mod errors;
mod fields;
mod generate;
mod names;
mod node;
mod pack;
mod read;
mod season;
mod small;
mod stocks;
mod workshop;
mod write;

pub use errors::Error;
pub use generate::{Recipe, generate};
pub use read::read;
pub use write::write;

/// The form of a document as a JSON Schema of draft 2020-12. It refuses no document that
/// [`read()`] takes; what only shows when parts are held against each other, such as a reference
/// to nothing or windows out of order, it can't see.
pub const SCHEMA: &str = include_str!("problem.schema.json");
