//! Which entries name what, so that a history reads these and no others.
//!
//! It is made of the entries themselves, in memory, and made further whenever it is asked: a
//! ledger only grows. It says where to look, not what is there: the entries that it names are
//! read from the ledger and looked at again.

use std::collections::HashMap;
use std::collections::hash_map::RandomState;
use std::hash::BuildHasher;
use std::ops::ControlFlow;
use std::sync::{Mutex, PoisonError};

use ledger::{Entry, Store};
use serde_json::Value;

use crate::AppError;

/// Longer texts are remarks, and no names.
const LONGEST: usize = 80;

/// See the module.
#[derive(Debug, Default)]
pub(crate) struct Named(Mutex<Index>);

#[derive(Debug, Default)]
struct Index {
    /// The last entry that was looked at.
    upto: u64,
    /// Entries in order, by the hash of a name: two names may share one.
    places: HashMap<u64, Vec<u64>>,
    hasher: RandomState,
}

impl Named {
    /// The entries in which a name may stand, in order. Nothing if that can't be told, since it
    /// is too long to be a name.
    ///
    /// # Errors
    /// If the ledger can't be read.
    pub(crate) fn entries(
        &self,
        store: &dyn Store,
        name: &str,
    ) -> Result<Option<Vec<u64>>, AppError> {
        if name.len() > LONGEST {
            return Ok(None);
        }
        let mut index = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        index.catch_up(store)?;
        let hash = index.hasher.hash_one(name);
        Ok(Some(index.places.get(&hash).cloned().unwrap_or_default()))
    }
}

impl Index {
    fn catch_up(&mut self, store: &dyn Store) -> Result<(), AppError> {
        let head = store.head().map_err(AppError::Ledger)?.number;
        if head < self.upto {
            // Another ledger was put in its place.
            *self = Self::default();
        }
        if head == self.upto {
            return Ok(());
        }
        let known = self.upto;
        let mut visit = |entry: Entry| {
            let text = crate::seal::peel(&entry.body).body;
            let body: Value = serde_json::from_str(text).unwrap_or_default();
            self.note(&body, entry.number);
            self.upto = entry.number;
            ControlFlow::Continue(())
        };
        store.read(known, &mut visit).map_err(AppError::Ledger)
    }

    fn note(&mut self, body: &Value, number: u64) {
        match body {
            Value::String(text) if text.len() <= LONGEST => {
                let hash = self.hasher.hash_one(text.as_str());
                let places = self.places.entry(hash).or_default();
                if places.last() != Some(&number) {
                    places.push(number);
                }
            }
            Value::Array(items) => items.iter().for_each(|item| self.note(item, number)),
            Value::Object(members) => {
                members.values().for_each(|value| self.note(value, number));
            }
            _ => {}
        }
    }
}
