//! What the ledger says about one thing, entry by entry, as it was written.

use std::ops::ControlFlow;

use ledger::{Entry, Place, Store};
use record::Programme;
use serde_json::Value;

use crate::workshop::look_at;
use crate::{AppError, Desk, Sheet, Workshop};

/// Every entry that names a thing, in order; what was struck through is marked and stays.
pub fn history(ledger: &Place, thing: &str) -> Result<Sheet, AppError> {
    let store = look_at(ledger)?;
    told(Workshop::read(ledger)?.programme(), store.as_ref(), thing, None)
}

impl Desk {
    /// Takes in which entries name what, so that the first history is as quick as others. It
    /// reads the whole ledger.
    ///
    /// # Errors
    /// If the ledger can't be read.
    pub fn look_through(&self) -> Result<(), AppError> {
        self.named().entries(look_at(self.place())?.as_ref(), "").map(drop)
    }

    /// The same from the snapshot; what names it is kept in mind, so that little is read.
    ///
    /// # Errors
    /// If the ledger can't be read.
    pub fn history(&self, thing: &str) -> Result<Sheet, AppError> {
        let store = look_at(self.place())?;
        let among = self.named().entries(store.as_ref(), thing)?;
        told(&self.snapshot().programme, store.as_ref(), thing, among.as_deref())
    }
}

/// One of so many entries is worth a reading by itself; of more, all are read in one go.
const SPARSE: u64 = 16;

/// The history of a thing, `among` entries that may name it or among all.
fn told(
    programme: &Programme,
    store: &dyn Store,
    thing: &str,
    among: Option<&[u64]>,
) -> Result<Sheet, AppError> {
    let struck = &programme.shop.strikes.struck;
    let mut rows = Vec::new();
    let mut look = |entry: &Entry| {
        let text = crate::seal::peel(&entry.body).body;
        if !may_name(text, thing) {
            return;
        }
        let body: Value = serde_json::from_str(text).unwrap_or_default();
        if names(&body, thing) {
            let mark = struck.get(&entry.number).map_or_else(String::new, |struck| {
                format!("struck by {}: {}", struck.mark.by, struck.reason)
            });
            rows.push(vec![
                entry.number.to_string(),
                entry.at.clone(),
                entry.by.clone(),
                entry.kind.clone(),
                mark,
                body.to_string(),
            ]);
        }
    };
    let head = store.head().map_err(AppError::Ledger)?.number;
    let few = among.filter(|among| (among.len() as u64).saturating_mul(SPARSE) <= head);
    if let Some(among) = few {
        one_by_one(store, among, &mut look)?;
    } else {
        let mut visit = |entry: Entry| {
            look(&entry);
            ControlFlow::Continue(())
        };
        store.read(0, &mut visit).map_err(AppError::Ledger)?;
    }
    let mut sheet = Sheet::new(format!("Everything that the record says about {thing}"));
    sheet.fact("entries", rows.len());
    let columns = ["entry", "when", "who", "what", "struck", "as it was written"];
    sheet.list("entries", &columns, rows);
    Ok(sheet)
}

fn one_by_one(
    store: &dyn Store,
    numbers: &[u64],
    look: &mut dyn FnMut(&Entry),
) -> Result<(), AppError> {
    for number in numbers {
        let mut visit = |entry: Entry| {
            if entry.number == *number {
                look(&entry);
            }
            ControlFlow::Break(())
        };
        store.read(number.saturating_sub(1), &mut visit).map_err(AppError::Ledger)?;
    }
    Ok(())
}

/// Whether a body can name a thing, by its letters alone: most can't, and reading them as JSON
/// takes far longer. What is written with escapes is read in any case.
fn may_name(text: &str, thing: &str) -> bool {
    text.contains('\\') || thing.contains(['"', '\\']) || text.contains(thing)
}

/// Whether a thing is named anywhere in a body: as a whole value, or as one of a list.
pub(crate) fn names(body: &Value, thing: &str) -> bool {
    match body {
        Value::String(text) => text == thing,
        Value::Array(items) => items.iter().any(|item| names(item, thing)),
        Value::Object(members) => members.values().any(|value| names(value, thing)),
        _ => false,
    }
}
