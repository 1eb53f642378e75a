//! How the aircraft stands, on one page: computed, and each figure with its sheet.

use std::collections::BTreeMap;

use jiff::civil::Date;
use record::act::DirectiveState;
use record::shop::{Answered, FindingState};
use record::{Condition, Programme};

use super::{gate, office, or_dash};
use crate::Sheet;

pub(super) fn status(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("How the aircraft stands on {on}"));
    if let Some(info) = &programme.info {
        sheet
            .fact("aircraft", &info.aircraft)
            .fact("registration", or_dash(info.registration.as_ref()))
            .fact("keeper", or_dash(info.keeper.as_ref()));
    }
    sheet.list("gates", &["gate", "name", "state", "in the way"], gates(programme, on));
    sheet.list(
        "totals",
        &["of", "before the record", "since", "in all", "rests on", "how sure"],
        office::totals(&programme.shop.office),
    );
    sheet.list("counts", &["of", "state", "count"], counts(programme, on));
    sheet.list("lives", &["item", "left", "of", "counted in"], lives(programme, on));
    sheet.list("due in service", &["duty", "what", "left", "of"], duties(programme, on));
    sheet.caution(gate::CAUTION);
    sheet
}

fn gates(programme: &Programme, on: Date) -> Vec<Vec<String>> {
    let rows = gate::ordered(programme).into_iter().map(|gate| {
        let state = programme.gate_state(gate, on);
        vec![
            gate.id.to_string(),
            gate.name.clone(),
            gate::word(programme, gate, state.open),
            state.blocks.len().to_string(),
        ]
    });
    rows.collect()
}

/// How many there are of what somebody must know of.
fn counts(programme: &Programme, on: Date) -> Vec<Vec<String>> {
    let mut counts: BTreeMap<(&str, &str), usize> = BTreeMap::new();
    let mut add = |what, state, count| *counts.entry((what, state)).or_default() += count;
    let states = &programme.shop.findings.states;
    for condition in Condition::ALL {
        let open = programme.open_findings();
        let of = |id: &&&record::FindingId| {
            let state = states.get(**id);
            state.map_or(Condition::Unknown, FindingState::condition) == condition
        };
        add("findings open", condition.word(), open.iter().filter(of).count());
    }
    let carried = states.values().filter(|s| s.deferred.is_some() && !s.is_cleared());
    add("findings open", "of them carried forward", carried.count());
    let office = &programme.shop.office;
    for state in DirectiveState::ALL {
        let of = office.directives.values().filter(|(one, _)| one.state == state);
        add("directives", state.word(), of.count());
    }
    let late = office.directives.values();
    let late = late.filter(|(one, _)| office::overdue(one, on)).count();
    add("directives", "of them overdue", late);
    add("modifications", "", office.modifications.len());
    let register = &programme.shop.repairs;
    let major = register.repairs.values().filter(|(repair, _)| repair.major).count();
    add("repairs", "major", major);
    add("repairs", "minor", register.repairs.len() - major);
    add("materials in place of others", "", register.substitutions.len());
    add("parts made in-house", "", register.made.len());
    let off = programme.items.names().filter(|item| programme.is_off(item)).count();
    add("items", "off", off);
    let examinations = &programme.shop.examinations;
    let open = examinations.requests.keys();
    let open = open.filter(|name| examinations.answered(name) != Answered::Whole);
    add("examinations", "outstanding", open.count());
    let cards = programme.shop.cards.cards.values();
    let begun = cards.filter(|card| card.is_begun() && !card.is_finished()).count();
    add("cards", "begun and not complete", begun);
    let rows = counts.into_iter().map(|((what, state), count)| {
        vec![what.to_owned(), state.to_owned(), count.to_string()]
    });
    rows.collect()
}

fn lives(programme: &Programme, on: Date) -> Vec<Vec<String>> {
    let rows = programme.shop.parts.parts.iter().filter_map(|(item, part)| {
        let life = part.life.as_ref()?;
        let left = life.left(on);
        let left = left.map_or_else(|| "not known".to_owned(), |left| left.to_string());
        let unit = life.unit.word().to_owned();
        Some(vec![item.to_string(), left, life.limit.to_string(), unit])
    });
    rows.collect()
}

fn duties(programme: &Programme, on: Date) -> Vec<Vec<String>> {
    let office = &programme.shop.office;
    let rows = office.duties.iter().map(|(name, state)| {
        let duty = &state.duty;
        let left = state.left(office.count(duty.unit), on).to_string();
        let every = format!("{} {}", duty.every, duty.unit.word());
        vec![name.to_string(), duty.what.clone(), left, every]
    });
    rows.collect()
}
