//! Every kind of thing from a row and into a record.

mod aircraft;
mod assurance;
mod seasons;
mod work;
mod workshop;

use record::Named;

use crate::fields::{Kind, Record};
use crate::taker::Taker;

pub(crate) use seasons::{read_info, write_info};

/// A thing that has a field table.
pub(crate) trait Thing: Named {
    /// Its table.
    const KIND: &'static Kind;

    /// Reads it.
    fn read(row: &mut Taker<'_>) -> Option<Self>;

    /// Writes it.
    fn write(&self) -> Record;
}
