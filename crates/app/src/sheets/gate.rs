//! Gates: what stands between the aircraft and each.

use jiff::civil::Date;
use record::act::EvidenceKind;
use record::shop::{Block, GateState, Opening, Proof};
use record::{Condition, FindingId, Gate, Programme, Requirement, RuleKey};

use super::finding::what;
use super::{joined, mark, name, none, or_dash};
use crate::{AppError, Sheet};

pub(super) const CAUTION: &str = "This sheet says what the record holds. It releases nothing: that is done by somebody \
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

pub(crate) fn ordered(programme: &Programme) -> Vec<&Gate> {
    let mut gates: Vec<&Gate> = programme.gates.iter().collect();
    gates.sort_by_key(|gate| (gate.order, gate.id.clone()));
    gates
}

pub(super) fn word(programme: &Programme, gate: &Gate, open: bool) -> String {
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
    sheet.fact("statement", statement(gate, &state, on));
    opening(programme, gate, &mut sheet);
    sheet
        .fact("requirements", state.requirements)
        .fact("items off", state.off)
        .fact("tools out", state.tools_out)
        .fact("cards open", state.cards_open);
    let rows = state.blocks.iter().map(|block| row(programme, block)).collect();
    sheet.list("in the way", &["what", "rule", "asked for by"], rows);
    let hazards = hazards(programme);
    if !hazards.is_empty() {
        sheet.list("known hazards", &["finding", "item", "what"], hazards);
    }
    sheet.list(
        "limitations that a release names",
        &["finding", "item", "limitation", "allows", "until", "found", "signed"],
        carried(programme, gate, on),
    );
    sheet.list("conditions and evidence", &CONDITIONS, matrix(programme, gate.order, on));
    alone(programme, &mut sheet);
    sheet.caution(CAUTION);
    Ok(sheet)
}

/// The columns of what gates ask for.
const CONDITIONS: [&str; 6] =
    ["gate", "condition", "what", "asked for by", "evidence", "state"];

/// What every gate asks for, and what shows that it is so.
pub(super) fn conditions(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Conditions and evidence on {on}"));
    let rows = matrix(programme, u32::MAX, on);
    let met = rows.iter().filter(|row| row[5] == MET).count();
    sheet.fact("conditions", rows.len()).fact("met", met);
    sheet.list("conditions", &CONDITIONS, rows);
    sheet.caution(CAUTION);
    sheet
}

const MET: &str = "met";

/// Each requirement of the gates up to a place in the order.
fn matrix(programme: &Programme, most: u32, on: Date) -> Vec<Vec<String>> {
    let mut rows = Vec::new();
    for gate in ordered(programme).into_iter().filter(|gate| gate.order <= most) {
        let of = programme.requirements.iter().filter(|one| one.gate == gate.id);
        rows.extend(of.map(|one| condition(programme, one, on)));
    }
    rows
}

fn condition(programme: &Programme, asked: &Requirement, on: Date) -> Vec<String> {
    let lacks = programme.lacks(asked, on);
    vec![
        asked.gate.to_string(),
        asked.id.to_string(),
        asked.what.clone(),
        or_dash(asked.citation.as_ref()),
        evidence(programme, asked),
        lacks.unwrap_or_else(|| MET.to_owned()),
    ]
}

/// All that was given for a requirement and was not struck through.
fn evidence(programme: &Programme, asked: &Requirement) -> String {
    let mut items = Vec::new();
    let item = asked.fitted.as_ref().filter(|item| !programme.is_off(item));
    items.extend(item.map(|item| format!("{item} is fitted")));
    let card = asked.job.as_ref().and_then(|job| {
        let done = programme.shop.cards.cards.get(job)?.finished.as_ref()?;
        Some(format!("card {job} certified by {}", mark(done)))
    });
    items.extend(card);
    let proofs = programme.shop.gates.proofs.get(&asked.id);
    let proofs = proofs.into_iter().flatten().filter(|proof| !proof.struck);
    items.extend(proofs.map(|one| proof(programme, one)));
    joined(items.iter())
}

/// What was given; a report of the record that left something out says so.
fn proof(programme: &Programme, proof: &Proof) -> String {
    let given = &proof.evidence;
    let report = (given.kind == EvidenceKind::Report)
        .then(|| programme.report(&given.reference))
        .flatten();
    let part = report.filter(|report| !report.words.whole);
    let part = part.map_or("", |_| " (not all was examined)");
    let until = given.until.map_or_else(String::new, |until| format!(", until {until}"));
    let kind = given.kind.word();
    format!("{kind} {}{part}{until}, {}", given.reference, mark(&proof.mark))
}

/// What the record says of a gate, in a sentence.
fn statement(gate: &Gate, state: &GateState, on: Date) -> String {
    let id = &gate.id;
    let hazards =
        state.blocks.iter().filter(|block| block.rule == RuleKey::GateHazard).count();
    let (blocks, limits) = (state.blocks.len(), state.limitations.len());
    match (blocks, limits, state.open) {
        (0, 0, true) => format!("{id} is open on {on}, and nothing is carried forward"),
        (0, _, true) => {
            format!("{id} is open on {on}, under the limitations below ({limits})")
        }
        (0, 0, false) => {
            format!("nothing stands in the way of {id}, and nobody opened it")
        }
        (0, _, false) => format!(
            "nothing stands in the way of {id} under the limitations below ({limits}), and \
             nobody opened it"
        ),
        _ if hazards > 0 => format!(
            "{id} is REFUSED: {blocks} in the way, of them findings that do not allow it: \
             {hazards}"
        ),
        _ => format!("{id} is REFUSED: {blocks} in the way"),
    }
}

/// Findings that are classed as hazards and open.
fn hazards(programme: &Programme) -> Vec<Vec<String>> {
    let states = &programme.shop.findings.states;
    let hazard = |id: &&FindingId| {
        states.get(*id).is_some_and(|state| state.condition() == Condition::Hazard)
    };
    let open = programme.open_findings().into_iter().filter(hazard);
    let rows = open.map(|id| {
        let item = or_dash(programme.item_of_finding(id));
        vec![id.to_string(), item, what(programme, id)]
    });
    rows.collect()
}

/// Each finding that is carried forward past a gate, while its season lasts.
fn carried(programme: &Programme, gate: &Gate, on: Date) -> Vec<Vec<String>> {
    let order = |id| programme.gates.get(id).map(|gate: &Gate| gate.order);
    let states = programme.shop.findings.states.iter().filter(|(_, s)| !s.is_cleared());
    let rows = states.filter_map(|(id, state)| {
        let deferral = state.deferred.as_ref()?;
        let passes = order(&deferral.allows).is_some_and(|most| gate.order <= most);
        let season = programme.seasons.get(&deferral.until);
        let lasts = season.is_none_or(|season| on <= season.until);
        (passes && lasts).then(|| {
            vec![
                id.to_string(),
                or_dash(programme.item_of_finding(id)),
                deferral.limitation.clone(),
                deferral.allows.to_string(),
                deferral.until.to_string(),
                or_dash(programme.day_of_finding(id)),
                mark(&deferral.mark),
            ]
        })
    });
    rows.collect()
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
