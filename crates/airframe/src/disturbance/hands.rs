//! Which hands part a connection, and which make it whole again.

use std::collections::{BTreeMap, BTreeSet};

use super::broken;
use crate::access::Opening;
use crate::{Airframe, ConnectionId, ItemId};

/// The connections that each removal of an opening breaks, in the order of its removals:
/// those that were whole until that item came off.
pub fn breaks(
    airframe: &Airframe,
    opening: &Opening,
) -> BTreeMap<ItemId, Vec<ConnectionId>> {
    let order = opening.removals.iter().map(|removal| &removal.item);
    let mut off = opening.off.clone();
    by_item(airframe, order, |item| {
        let before = off.clone();
        off.insert(item.clone());
        (off.clone(), before)
    })
}

/// The connections that each refit of an opening makes whole, in the order of its refits:
/// those that were broken until that item went back.
pub fn makes(
    airframe: &Airframe,
    opening: &Opening,
) -> BTreeMap<ItemId, Vec<ConnectionId>> {
    let removed = opening.removals.iter().map(|removal| removal.item.clone());
    let mut off: BTreeSet<ItemId> = opening.off.iter().cloned().chain(removed).collect();
    let order = opening.refits.iter().map(|refit| &refit.item);
    by_item(airframe, order, |item| {
        let before = off.clone();
        off.remove(item);
        (before, off.clone())
    })
}

/// For each item in order: what is broken with the first of two sets off and not with the
/// second.
fn by_item<'o>(
    airframe: &Airframe,
    order: impl Iterator<Item = &'o ItemId>,
    mut sets: impl FnMut(&ItemId) -> (BTreeSet<ItemId>, BTreeSet<ItemId>),
) -> BTreeMap<ItemId, Vec<ConnectionId>> {
    let mut all = BTreeMap::new();
    for item in order {
        let (more, less) = sets(item);
        let less: BTreeSet<_> = broken(airframe, &less)
            .into_iter()
            .map(|connection| &connection.id)
            .collect();
        let parted = broken(airframe, &more).into_iter().map(|connection| &connection.id);
        let own = parted.filter(|id| !less.contains(id)).cloned().collect();
        all.insert(item.clone(), own);
    }
    all
}
