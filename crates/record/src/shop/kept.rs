//! What a restated programme may not lose: whatever people signed about.

use airframe::Note;

use crate::{Named, Programme, Register};

/// What a restatement would take away, or move, although acts rest on it.
pub(crate) fn lost(before: &Programme, after: &Programme) -> Vec<Note> {
    let mut notes = Vec::new();
    people(before, after, &mut notes);
    things(before, after, &mut notes);
    findings(before, after, &mut notes);
    notes
}

fn gone<'a, T: Named + 'a>(
    list: &Register<T>,
    names: impl IntoIterator<Item = &'a T::Name>,
    why: &str,
    notes: &mut Vec<Note>,
) where
    T::Name: 'a,
{
    for name in names {
        if !list.has(name) {
            let what = format!("it is gone, and {why}");
            notes.push(
                Note::error(T::NOUN, name, "", what)
                    .hinting("keep it in its list; what was signed about it stands"),
            );
        }
    }
}

fn people(before: &Programme, after: &Programme, notes: &mut Vec<Note>) {
    let shop = &before.shop;
    let mut names: Vec<_> =
        shop.authorities.given.values().map(|g| &g.grant.person).collect();
    for card in shop.cards.cards.values() {
        names.extend(card.involved());
        let looks =
            card.steps.iter().flat_map(|step| step.first.iter().chain(&step.second));
        names.extend(looks.map(|look| &look.mark.by));
    }
    names.sort_unstable();
    names.dedup();
    gone(&after.people, names, "they signed, or hold an authority", notes);
}

fn things(before: &Programme, after: &Programme, notes: &mut Vec<Note>) {
    let shop = &before.shop;
    let cards = shop.cards.cards.values().filter_map(|card| card.item.as_ref());
    let asked = shop.examinations.requests.values().map(|(request, _)| &request.item);
    let asked = asked.chain(shop.repairs.made.keys());
    let airs = || shop.air.readings.values().flatten();
    let asked = asked.chain(airs().filter_map(|reading| reading.surface_of.as_ref()));
    let mut items: Vec<_> = shop.parts.parts.keys().chain(cards).chain(asked).collect();
    items.sort_unstable();
    items.dedup();
    gone(
        &after.items,
        items,
        "there is a tag, a card, an examination or a reading of it",
        notes,
    );
    let places = shop.air.readings.keys().flatten();
    gone(&after.places, places, "its air was read", notes);
    let instruments = airs().flat_map(|reading| &reading.instruments);
    let mut tools: Vec<_> = shop.tools.states.keys().chain(instruments).collect();
    tools.sort_unstable();
    tools.dedup();
    gone(&after.tools, tools, "it was out, lost or calibrated, or measured", notes);
    gone(&after.gates, shop.gates.openings.keys(), "it was opened", notes);
    let assigned = shop.findings.states.values().filter_map(|state| state.work.as_ref());
    let (packs, routes): (Vec<_>, Vec<_>) =
        assigned.map(|(pack, route)| (pack, route)).unzip();
    gone(&after.packs, packs, "a finding is assigned to it", notes);
    gone(&after.routes, routes, "a finding is put right by it", notes);
    let proofs = shop.gates.proofs.keys();
    gone(&after.requirements, proofs, "evidence was given for it", notes);
}

fn findings(before: &Programme, after: &Programme, notes: &mut Vec<Note>) {
    let states = &before.shop.findings.states;
    let shop = &before.shop;
    let asked = shop.examinations.requests.values();
    let asked = asked.filter_map(|(request, _)| request.finding.as_ref());
    let mended = shop.repairs.repairs.values().map(|(repair, _)| &repair.finding);
    let named: std::collections::BTreeSet<_> =
        states.keys().chain(asked).chain(mended).collect();
    let surveyed: Vec<_> =
        before.findings.iter().filter(|f| named.contains(&f.id)).collect();
    let names = surveyed.iter().map(|finding| &finding.id);
    gone(&after.findings, names, "somebody signed about it", notes);
    for finding in surveyed {
        let Some(now) = after.findings.get(&finding.id) else { continue };
        if now.found != finding.found || now.item != finding.item {
            let what = "its day or its item is another, and somebody signed about it";
            notes.push(Note::error("finding", &finding.id, "found", what).hinting(
                "leave them as they were; raise another finding if this is one",
            ));
        }
    }
    // A name that an act gave is taken.
    for finding in after.findings.names() {
        let raised = states.get(finding).is_some_and(|state| state.raised.is_some());
        if raised {
            let what = "a finding of this name was raised on a card";
            notes.push(
                Note::error("finding", finding, "id", what)
                    .hinting("choose another name"),
            );
        }
    }
}
