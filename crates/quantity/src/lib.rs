//! Quantities, money, durations, typed names and seeds, with the notation of the shop floor.
//!
//! Everything here is a plain value that cannot be wrong once it exists: a [`Length`] is
//! finite and knows its unit, an [`Id`] is spelt lawfully and names one kind of thing, an
//! [`Estimate`] is in order. Text becomes a value through one trait, [`Notation`], whose
//! errors say what was expected, where the text went wrong and what to write instead.
//!
//! ```
//! use quantity::{Length, Notation, Typed};
//!
//! let rivet = Typed::<Length>::parse("3/16 in")?;
//! assert_eq!(rivet.text(), "3/16 in");
//! assert_eq!(rivet.value(), Length::parse("4.7625 mm")?);
//! # Ok::<(), quantity::QuantityError>(())
//! ```
//!
//! **Exactness.** A number is read as an exact fraction, multiplied by the exact factor of
//! its unit, and rounded once, so that two notations of one quantity give the same bits.
//!
//! **What it never knows:** aircraft, workshops, people, files, screens, the clock. It
//! depends on no other crate of the workspace.

mod area;
mod currency;
mod elapsed;
mod error;
mod estimate;
mod force;
mod gauge;
mod id;
mod length;
mod mass;
mod moment;
mod money;
mod number;
mod pressure;
mod rational;
mod scalar;
mod scale;
mod scan;
mod seed;
mod temperature;
mod torque;
mod typed;
mod unit;
mod work;

pub use area::Area;
pub use currency::Currency;
pub use elapsed::Elapsed;
pub use error::{NotFinite, OutOfOrder, QuantityError};
pub use estimate::Estimate;
pub use force::Force;
pub use id::{Id, IdError, Kind};
pub use length::Length;
pub use mass::Mass;
pub use moment::Moment;
pub use money::{Money, MoneyError};
pub use pressure::Pressure;
pub use seed::{Label, Seed};
pub use temperature::Temperature;
pub use torque::Torque;
pub use typed::{Notation, Typed};
pub use work::Work;
