//! Zones as lists and one by one: what a drawing shows, in words.

use std::collections::BTreeSet;

use airframe::{ItemId, ZoneId};
use jiff::civil::Date;
use record::{Programme, View};

use super::facts::{self, ZoneFacts, zone_of};
use super::{ItemState, item_state};
use crate::findings::{FindingRow, row};
use crate::sheets::card_state;
use crate::{AppError, near};

/// One zone, with all that lies in it and in the zones within it.
#[derive(Debug, Clone, PartialEq)]
pub struct ZonePage {
    /// What counts with it.
    pub facts: ZoneFacts,
    /// The zones around it, the outermost first: name and what people call it.
    pub around: Vec<(String, String)>,
    /// The zones directly within it, each with all that counts with it.
    pub within: Vec<ZoneFacts>,
    /// Its items.
    pub items: Vec<ItemState>,
    /// Findings in it, open ones first.
    pub findings: Vec<FindingRow>,
    /// Cards of it that are not certified complete: name, title, how each stands.
    pub cards: Vec<(String, String, &'static str)>,
    /// Tools that are out for a card of it: tool, who has it, for which card.
    pub tools: Vec<(String, String, String)>,
    /// Tools that are lost, wherever: no zone is free of them until they are cleared.
    pub lost: Vec<(String, String)>,
    /// The views in which it, or a zone around it, is drawn.
    pub views: Vec<View>,
}

/// The views of which there is a drawing.
pub fn views(programme: &Programme) -> Vec<View> {
    let drawn = |view: &View| programme.outlines.iter().any(|one| one.view == *view);
    View::ALL.into_iter().filter(drawn).collect()
}

/// Every zone by itself, in words, whether it is drawn or not; those without a zone around
/// them and those within them, level by level, with how deep each lies.
pub fn zone_list(programme: &Programme, on: Date) -> Vec<(usize, ZoneFacts)> {
    let gathered = facts::gather(programme, on);
    let mut list = Vec::new();
    let mut seen = BTreeSet::new();
    let roots = programme.zones.iter().filter(|zone| {
        let around = zone.within.as_ref();
        around.is_none_or(|around| !programme.zones.has(around))
    });
    for root in roots {
        level(programme, &gathered, &root.id, 0, (&mut seen, &mut list));
    }
    list
}

fn level<'p>(
    programme: &'p Programme,
    gathered: &facts::Gathered,
    zone: &'p ZoneId,
    depth: usize,
    (seen, list): (&mut BTreeSet<&'p ZoneId>, &mut Vec<(usize, ZoneFacts)>),
) {
    if !seen.insert(zone) {
        return;
    }
    list.push((depth, facts::of_zone(programme, gathered, zone, &[zone], false)));
    for inner in inner(programme, zone) {
        level(programme, gathered, inner, depth + 1, (&mut *seen, &mut *list));
    }
}

/// The zones directly within one.
fn inner<'p>(
    programme: &'p Programme,
    zone: &ZoneId,
) -> impl Iterator<Item = &'p ZoneId> {
    let within = programme.zones.iter().filter(move |z| z.within.as_ref() == Some(zone));
    within.map(|zone| &zone.id)
}

/// A zone and every zone within it.
fn members<'p>(programme: &'p Programme, zone: &'p ZoneId) -> Vec<&'p ZoneId> {
    let (mut all, mut at) = (vec![zone], 0);
    while let Some(next) = all.get(at).copied() {
        let more: Vec<&ZoneId> =
            inner(programme, next).filter(|inner| !all.contains(inner)).collect();
        all.extend(more);
        at += 1;
    }
    all
}

/// The zones around one, the outermost first.
fn around(programme: &Programme, zone: &ZoneId) -> Vec<(String, String)> {
    let (mut chain, mut seen) = (Vec::new(), BTreeSet::from([zone]));
    let mut at = programme.zones.get(zone).and_then(|zone| zone.within.as_ref());
    while let Some(next) = at.filter(|next| seen.insert(next)) {
        let Some(found) = programme.zones.get(next) else { break };
        chain.push((found.id.to_string(), found.name.clone()));
        at = found.within.as_ref();
    }
    chain.reverse();
    chain
}

/// A zone on a day.
///
/// # Errors
/// [`AppError::Unknown`] if there is no such zone.
pub fn zone_page(
    programme: &Programme,
    zone: &str,
    on: Date,
) -> Result<ZonePage, AppError> {
    let found = programme.zones.names().find(|id| id.as_str() == zone);
    let Some(zone) = found else {
        let known = programme.zones.names().map(ZoneId::as_str);
        return Err(AppError::Unknown(near::no_such("zone", zone, known)));
    };
    let gathered = facts::gather(programme, on);
    let all = members(programme, zone);
    let within = inner(programme, zone).map(|inner| {
        facts::of_zone(programme, &gathered, inner, &members(programme, inner), false)
    });
    let views = views(programme).into_iter().filter(|view| {
        let drawn = |zone: &str| {
            let mut of = programme.outlines.iter().filter(|one| one.view == *view);
            of.any(|one| one.zone.as_ref().is_some_and(|id| id.as_str() == zone))
        };
        drawn(zone.as_str()) || around(programme, zone).iter().any(|(id, _)| drawn(id))
    });
    Ok(ZonePage {
        facts: facts::of_zone(programme, &gathered, zone, &all, true),
        around: around(programme, zone),
        within: within.collect(),
        items: items(programme, &all, on),
        findings: findings(programme, &all, on),
        cards: cards(programme, &all),
        tools: tools(programme, &all),
        lost: lost(programme),
        views: views.collect(),
    })
}

/// Every item that lies in a zone, with that zone.
pub fn zones_of_items(programme: &Programme) -> Vec<(String, String)> {
    let each = programme.items.names().filter_map(|item| {
        Some((item.to_string(), zone_of(programme, item)?.to_string()))
    });
    each.collect()
}

fn lies(programme: &Programme, item: Option<&ItemId>, zones: &[&ZoneId]) -> bool {
    let zone = item.and_then(|item| zone_of(programme, item));
    zone.is_some_and(|zone| zones.contains(&zone))
}

fn items(programme: &Programme, zones: &[&ZoneId], on: Date) -> Vec<ItemState> {
    let own = programme.items.names().filter(|id| lies(programme, Some(id), zones));
    own.filter_map(|id| item_state(programme, id.as_str(), on).ok()).collect()
}

fn findings(programme: &Programme, zones: &[&ZoneId], on: Date) -> Vec<FindingRow> {
    let states = programme.shop.findings.states.keys();
    let all: BTreeSet<_> = programme.findings.names().chain(states).collect();
    let inside = all.into_iter().filter(|finding| {
        facts::zone_of_finding(programme, finding)
            .is_some_and(|zone| zones.contains(&zone))
    });
    let mut rows: Vec<FindingRow> =
        inside.map(|finding| row(programme, finding, on)).collect();
    rows.sort_by_key(|row| (row.cleared, row.severity));
    rows
}

fn cards(
    programme: &Programme,
    zones: &[&ZoneId],
) -> Vec<(String, String, &'static str)> {
    let all = programme.shop.cards.cards.iter();
    let open = all.filter(|(_, card)| {
        !card.is_finished() && lies(programme, card.item.as_ref(), zones)
    });
    open.map(|(job, card)| (job.to_string(), card.title.clone(), card_state(card)))
        .collect()
}

fn tools(programme: &Programme, zones: &[&ZoneId]) -> Vec<(String, String, String)> {
    let out = programme.shop.tools.out().filter(|(_, _, job)| {
        let card = programme.shop.cards.cards.get(*job);
        lies(programme, card.and_then(|card| card.item.as_ref()), zones)
    });
    out.map(|(tool, who, job)| (tool.to_string(), who.to_string(), job.to_string()))
        .collect()
}

fn lost(programme: &Programme) -> Vec<(String, String)> {
    let lost = programme.shop.tools.lost();
    lost.map(|(tool, seen)| (tool.to_string(), seen.to_owned())).collect()
}
