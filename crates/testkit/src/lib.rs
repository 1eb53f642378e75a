//! Small named instances for tests, all invented.
//!
//! **Knows** quantities, the airframe, the record and scheduling problems. Only tests may
//! use it.

mod skiff;

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
