//! The ledger as the use cases have it: on either store.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

mod bundles;
mod damage;
mod desk;
mod draws;
mod left;
mod overview;
mod seals;
mod snapshots;
mod stores;
mod story;
mod witnesses;
