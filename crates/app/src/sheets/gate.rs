//! Gates: what stands between the aircraft and each.

use jiff::civil::Date;
use record::shop::{Block, Opening};
use record::{Gate, Programme};

use super::{mark, name, none};
use crate::{AppError, Sheet};

const CAUTION: &str = "This sheet says what the record holds. It releases nothing: that is done by somebody \
     entitled to, under the approvals that bind this aircraft.";

pub(super) fn all(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Gates on {on}"));
    let rows = ordered(programme)
        .into_iter()
        .map(|gate| {
            let state = programme.gate_state(gate, on);
            let next = state.blocks.first().map_or_else(String::new, |b| b.what.clone());
            vec![
                gate.id.to_string(),
                gate.name.clone(),
                word(programme, gate, state.open),
                state.blocks.len().to_string(),
                next,
            ]
        })
        .collect();
    sheet.list("gates", &["gate", "name", "state", "in the way", "first of them"], rows);
    sheet.caution(CAUTION);
    sheet
}

fn ordered(programme: &Programme) -> Vec<&Gate> {
    let mut gates: Vec<&Gate> = programme.gates.iter().collect();
    gates.sort_by_key(|gate| (gate.order, gate.id.clone()));
    gates
}

fn word(programme: &Programme, gate: &Gate, open: bool) -> String {
    let opening = programme.shop.gates.openings.get(&gate.id);
    match opening {
        Some(_) if open => "open".to_owned(),
        None => "never opened".to_owned(),
        Some(Opening { shut: Some(_), .. }) => "shut".to_owned(),
        Some(_) => "shut: no longer clear".to_owned(),
    }
}

pub(super) fn one(
    programme: &Programme,
    gate: &str,
    on: Date,
) -> Result<Sheet, AppError> {
    let known = || programme.gates.names().map(ToString::to_string);
    let found = programme.gates.get(&name(gate)?);
    let gate = found.ok_or_else(|| none("gate", gate, known()))?;
    let state = programme.gate_state(gate, on);
    let mut sheet = Sheet::new(format!("Gate {} ({}) on {on}", gate.id, gate.name));
    sheet.fact("state", word(programme, gate, state.open));
    opening(programme, gate, &mut sheet);
    sheet
        .fact("requirements", state.requirements)
        .fact("items off", state.off)
        .fact("tools out", state.tools_out)
        .fact("cards open", state.cards_open);
    let rows = state.blocks.iter().map(|block| row(programme, block)).collect();
    sheet.list("in the way", &["what", "rule", "asked for by"], rows);
    let rows = state.limitations.iter().map(|text| vec![text.clone()]).collect();
    sheet.list("limitations that a release names", &["limitation"], rows);
    alone(programme, &mut sheet);
    sheet.caution(CAUTION);
    Ok(sheet)
}

fn opening(programme: &Programme, gate: &Gate, sheet: &mut Sheet) {
    let Some(opening) = programme.shop.gates.openings.get(&gate.id) else { return };
    sheet.fact("opened", mark(&opening.mark));
    if !opening.limitations.is_empty() {
        sheet.fact("with limitations", opening.limitations.join("; "));
    }
    if let Some(until) = opening.until {
        sheet.fact("until", until);
    }
    if let Some((why, by)) = &opening.shut {
        sheet.fact("shut", format!("{}: {why}", mark(by)));
    }
}

/// What blocks, and where the programme says that this comes from.
fn row(programme: &Programme, block: &Block) -> Vec<String> {
    let profile = programme.rules.get(&block.rule);
    let citation = block
        .citation
        .clone()
        .or_else(|| profile.and_then(|rule| rule.citation.clone()))
        .unwrap_or_default();
    vec![block.what.clone(), block.rule.to_string(), citation]
}

/// Inspections that one person made twice are shown to whoever releases.
fn alone(programme: &Programme, sheet: &mut Sheet) {
    let cards = programme.shop.cards.cards.iter();
    let looks = cards.flat_map(|(job, card)| {
        card.steps.iter().filter_map(move |step| {
            let look = step.second.as_ref()?;
            let (reason, allowed_by) = look.alone.as_ref()?;
            Some(vec![
                job.to_string(),
                step.spec.id.to_string(),
                look.mark.by.to_string(),
                reason.clone(),
                allowed_by.to_string(),
            ])
        })
    });
    let rows: Vec<Vec<String>> = looks.collect();
    if !rows.is_empty() {
        let columns = ["card", "step", "by", "why alone", "allowed by"];
        sheet.list("inspected twice by one person", &columns, rows);
    }
}
