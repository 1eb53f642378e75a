//! Tools and materials.

use jiff::civil::Date;
use record::{Programme, ToolId};

use super::{mark, name, none, or_dash};
use crate::{AppError, Sheet};

pub(super) fn tools(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Tools on {on}"));
    let states = &programme.shop.tools;
    let out = states
        .out()
        .map(|(tool, who, job)| vec![tool.to_string(), who.to_string(), job.to_string()]);
    sheet.list("out", &["tool", "who", "card"], out.collect());
    let lost = states.lost().map(|(tool, seen)| vec![tool.to_string(), seen.to_owned()]);
    sheet.list("lost", &["tool", "last seen"], lost.collect());
    let instruments = programme.tools.iter().filter(|tool| tool.measures).map(|tool| {
        let until = states.states.get(&tool.id).and_then(|state| state.calibrated);
        let usable = until.is_some_and(|until| on <= until);
        vec![
            tool.id.to_string(),
            tool.name.clone(),
            or_dash(until),
            if usable { "" } else { "not to be used" }.to_owned(),
        ]
    });
    let columns = ["instrument", "name", "calibrated until", "state"];
    sheet.list("instruments", &columns, instruments.collect());
    sheet
}

/// One tool: who has it, and how far it may be trusted.
pub(super) fn one(
    programme: &Programme,
    tool: &str,
    on: Date,
) -> Result<Sheet, AppError> {
    let id: ToolId = name(tool)?;
    let known = || programme.tools.names().map(ToString::to_string);
    let found = programme.tools.get(&id).ok_or_else(|| none("tool", tool, known()))?;
    let state = programme.shop.tools.states.get(&id);
    let mut sheet = Sheet::new(format!("Tool {id}: {}", found.name));
    let out = state.and_then(|state| state.out.as_ref());
    let lost = state.and_then(|state| state.lost.as_ref());
    let place = match (out, lost) {
        (_, Some((seen, by))) => format!("lost, last seen {seen}: {}", mark(by)),
        (Some((who, job, by)), None) => {
            format!("out with {who} for {job}: {}", mark(by))
        }
        (None, None) => "in store".to_owned(),
    };
    sheet.fact("where", place);
    if let Some((search, by)) = state.and_then(|state| state.cleared.as_ref()) {
        sheet.fact("loss cleared", format!("{search}: {}", mark(by)));
    }
    if found.measures {
        let until = state.and_then(|state| state.calibrated);
        let usable = until.is_some_and(|until| on <= until);
        let usable = if usable { "may be used" } else { "not to be used" };
        sheet.fact("calibrated until", or_dash(until)).fact("measuring", usable);
    }
    let trusted = state.into_iter().flat_map(|state| &state.trusted);
    let rows = trusted.map(|(from, until)| vec![from.to_string(), until.to_string()]);
    sheet.list("calibrated", &["from", "until"], rows.collect());
    Ok(sheet)
}

pub(super) fn materials(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Stores on {on}"));
    let stores = &programme.shop.stores;
    let batches = stores.batches.values().map(|state| {
        let batch = &state.batch;
        let over = batch.expires.is_some_and(|expires| expires < on);
        vec![
            batch.batch.to_string(),
            batch.material.clone(),
            batch.specification.clone(),
            format!("{} {}", state.left, batch.unit),
            or_dash(batch.expires),
            if over { "over its date" } else { "" }.to_owned(),
        ]
    });
    let columns = ["batch", "material", "specification", "left", "until", "state"];
    sheet.list("batches", &columns, batches.collect());
    let tasks = stores.tasks.iter().map(|((item, task), state)| {
        let late = state.due() < on;
        vec![
            item.to_string(),
            task.clone(),
            state.due().to_string(),
            if late { "late" } else { "" }.to_owned(),
        ]
    });
    sheet.list("due in store", &["item", "task", "due", "state"], tasks.collect());
    sheet
}
