//! What the ledger says about one thing, entry by entry, as it was written.

use std::ops::ControlFlow;

use ledger::{Entry, Place};
use record::Programme;
use serde_json::Value;

use crate::workshop::look_at;
use crate::{AppError, Sheet, Workshop};

/// Every entry that names a thing, in order; what was struck through is marked and stays.
pub fn history(ledger: &Place, thing: &str) -> Result<Sheet, AppError> {
    history_of(Workshop::read(ledger)?.programme(), ledger, thing)
}

/// The same for a programme that is at hand, folded from the same ledger.
pub fn history_of(
    programme: &Programme,
    ledger: &Place,
    thing: &str,
) -> Result<Sheet, AppError> {
    let struck = &programme.shop.strikes.struck;
    let store = look_at(ledger)?;
    let mut rows = Vec::new();
    let mut visit = |entry: Entry| {
        let text = crate::seal::peel(&entry.body).body;
        if !may_name(text, thing) {
            return ControlFlow::Continue(());
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
        ControlFlow::Continue(())
    };
    store.read(0, &mut visit).map_err(AppError::Ledger)?;
    let mut sheet = Sheet::new(format!("Everything that the record says about {thing}"));
    sheet.fact("entries", rows.len());
    let columns = ["entry", "when", "who", "what", "struck", "as it was written"];
    sheet.list("entries", &columns, rows);
    Ok(sheet)
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
