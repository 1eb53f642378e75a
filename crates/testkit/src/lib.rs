//! Small named instances for tests, all invented, and the server that tests of a ledger use.
//!
//! **Knows** quantities, the airframe and the record. Only tests may use it.

mod server;
mod skiff;

pub use server::{Found, GUARDED, Server, find_server};
pub use skiff::skiff;

use quantity::{Id, Kind};

/// A name that is known to be good.
///
/// # Panics
///
/// If it is not a name.
pub fn id<K: Kind>(name: &str) -> Id<K> {
    Id::new(name).expect("a test names things well")
}
