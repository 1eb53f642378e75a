//! A programme as a folder of text files and spreadsheets, and as stored entries.
//!
//! One table of fields for each kind of thing drives everything: reading with every error
//! at its place, writing the same folder back, the entries of the ledger ([`stored`]), the
//! JSON Schemas and the reference.
//!
//! - [`read()`] takes a folder and gives a programme, or every error in it at once;
//! - [`write()`] and [`overwrite`] write a programme as a folder that reads back the same;
//! - [`skeleton()`] is a small folder to start from;
//! - [`schemas`] and [`reference()`] describe the folder to editors and to people;
//! - [`lists`] take one list out as a table, and say what a table would change;
//! - [`acts`] are what people do and sign for, as stored bodies, as JSON and as typed.
//!
//! **Knows** quantities, the airframe and the record. **Never knows** SQL, solvers, the
//! clock or the network, and it takes nothing away from a folder.

pub mod acts;
mod cell;
mod fields;
mod json;
pub mod lists;
mod nearest;
mod notation;
mod place;
mod problem;
mod read;
mod reference;
#[cfg(test)]
mod round_trip;
mod schema;
mod skeleton;
mod source;
pub mod stored;
mod taker;
mod things;
mod write;

pub use nearest::did_you_mean;
pub use place::{Place, Spot};
pub use problem::{Problem, Reading, Report, Severity};
pub use read::read;
pub use reference::reference;
pub use schema::schemas;
pub use skeleton::skeleton;
pub use write::{WriteError, overwrite, write};
