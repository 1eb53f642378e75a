//! One item on the aircraft: where it is, what is wrong with it, what is in its way.

use std::collections::BTreeSet;

use airframe::ItemId;
use jiff::civil::Date;
use record::Programme;

use super::{ItemState, facts, item_state};
use crate::AppError;
use crate::findings::{FindingRow, row};
use crate::sheets::card_state;

/// An item on the aircraft.
#[derive(Debug, Clone, PartialEq)]
pub struct AboutItem {
    /// How it stands.
    pub state: ItemState,
    /// Its zone, with what people call it.
    pub zone: Option<(String, String)>,
    /// Why it never comes off, where that is so.
    pub fixed: Option<String>,
    /// What it is a part of, with what people call that.
    pub part_of: Option<(String, String)>,
    /// Findings on it, open ones first.
    pub findings: Vec<FindingRow>,
    /// Cards of it that are not certified complete: name, title, how each stands.
    pub cards: Vec<(String, String, &'static str)>,
    /// Items that may have to be out of the way to get at it, and whether each is off already.
    pub blocked_by: Vec<(String, bool)>,
    /// Items that it is in the way of.
    pub blocks: Vec<String>,
}

/// An item on the aircraft, on a day.
///
/// # Errors
/// [`AppError::Unknown`] if there is no such item.
pub fn about_item(
    programme: &Programme,
    item: &str,
    on: Date,
) -> Result<AboutItem, AppError> {
    let state = item_state(programme, item, on)?;
    let found = programme.items.iter().find(|found| found.id.as_str() == item);
    let Some(found) = found else {
        return Err(AppError::Unknown(format!("there is no item {item}")));
    };
    let zone = facts::zone_of(programme, &found.id).map(|zone| {
        let known = programme.zones.get(zone);
        (zone.to_string(), known.map(|zone| zone.name.clone()).unwrap_or_default())
    });
    let part_of = found.part_of.as_ref().map(|whole| {
        let known = programme.items.get(whole);
        (whole.to_string(), known.map(|item| item.name.clone()).unwrap_or_default())
    });
    let needs = found.behind.items().chain(found.held_by.items());
    let needs: BTreeSet<&ItemId> = needs.collect();
    let blocked_by =
        needs.into_iter().map(|other| (other.to_string(), programme.is_off(other)));
    Ok(AboutItem {
        state,
        zone,
        fixed: found.fixed.clone(),
        part_of,
        findings: findings(programme, &found.id, on),
        cards: cards(programme, &found.id),
        blocked_by: blocked_by.collect(),
        blocks: blocks(programme, &found.id),
    })
}

fn findings(programme: &Programme, item: &ItemId, on: Date) -> Vec<FindingRow> {
    let states = programme.shop.findings.states.keys();
    let all: BTreeSet<_> = programme.findings.names().chain(states).collect();
    let own = all
        .into_iter()
        .filter(|finding| programme.item_of_finding(finding) == Some(item));
    let mut rows: Vec<FindingRow> =
        own.map(|finding| row(programme, finding, on)).collect();
    rows.sort_by_key(|row| (row.cleared, row.severity));
    rows
}

fn cards(programme: &Programme, item: &ItemId) -> Vec<(String, String, &'static str)> {
    let all = programme.shop.cards.cards.iter();
    let open =
        all.filter(|(_, card)| !card.is_finished() && card.item.as_ref() == Some(item));
    open.map(|(job, card)| (job.to_string(), card.title.clone(), card_state(card)))
        .collect()
}

fn blocks(programme: &Programme, item: &ItemId) -> Vec<String> {
    let others = programme.items.iter().filter(|other| {
        other.behind.items().chain(other.held_by.items()).any(|one| one == item)
    });
    others.map(|other| other.id.to_string()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_in_the_way_is_told_both_ways() {
        let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");
        let programme = crate::read_folder(folder.as_ref()).unwrap().programme;
        let on = jiff::civil::date(2032, 1, 14);
        let keel = about_item(&programme, "KEEL-F", on).unwrap();
        let names: Vec<&str> = keel.blocked_by.iter().map(|(n, _)| n.as_str()).collect();
        assert_eq!(names, ["FLOOR-1", "FLOOR-2"]);
        assert_eq!(keel.zone.unwrap().0, "BILGE-F");
        assert_eq!(keel.part_of.unwrap().0, "HULL");
        assert!(keel.findings.iter().any(|row| row.finding == "F-007"));
        let floor = about_item(&programme, "FLOOR-1", on).unwrap();
        assert!(floor.blocks.contains(&"KEEL-F".to_owned()));
        assert!(floor.fixed.is_none() && keel.fixed.is_some());
        assert!(about_item(&programme, "NO", on).is_err());
    }
}
