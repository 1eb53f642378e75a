//! Mass and balance as far as they are known: from the list of items, and from the last
//! weighing less what is off.
//!
//! An item without a mass that carries others is a mere grouping. One without a mass that
//! carries nothing, or without an arm, is not known: it is named, and never taken for zero.

use std::collections::BTreeSet;

use airframe::support::centre;
use airframe::{Item, ItemId};
use quantity::{Length, Mass};

use crate::Programme;

/// A mass and where it acts, aft of the datum.
pub type Acting = (Mass, Length);

/// Mass and balance, as far as they are known.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Balance {
    /// All items whose mass and arm are known.
    pub listed: Option<Acting>,
    /// Those of them that are on the aircraft.
    pub aboard: Option<Acting>,
    /// Those of them that are off.
    pub off: Option<Acting>,
    /// As last weighed, complete.
    pub weighed: Option<Acting>,
    /// As last weighed, less what is off; nothing if the mass of something that is off is
    /// not known.
    pub now: Option<Acting>,
    /// Items whose mass or arm is not known.
    pub unknown: Vec<ItemId>,
    /// Those of them that are off.
    pub unknown_off: Vec<ItemId>,
}

impl Programme {
    /// Mass and balance of the aircraft as it stands.
    pub fn balance(&self) -> Balance {
        let carriers: BTreeSet<&ItemId> =
            self.items.iter().filter_map(Item::carrier).collect();
        let (mut aboard, mut off) = (Vec::new(), Vec::new());
        let mut balance = Balance::default();
        for item in self.items.iter() {
            let away = self.is_away(item);
            match (&item.mass, &item.arm) {
                (Some(mass), Some(arm)) => {
                    let list = if away { &mut off } else { &mut aboard };
                    list.push((mass.value(), arm.value()));
                }
                (None, _) if carriers.contains(&item.id) => {}
                _ => {
                    balance.unknown.push(item.id.clone());
                    if away {
                        balance.unknown_off.push(item.id.clone());
                    }
                }
            }
        }
        balance.aboard = centre(&aboard);
        balance.off = centre(&off);
        aboard.extend(&off);
        balance.listed = centre(&aboard);
        let weighed = self.info.as_ref().and_then(|info| info.weighed.as_ref());
        balance.weighed =
            weighed.map(|weighed| (weighed.mass.value(), weighed.arm.value()));
        if balance.unknown_off.is_empty() {
            balance.now = balance.weighed.and_then(|weighed| less(weighed, &off));
        }
        balance
    }

    /// Whether an item, or anything that carries it, is off.
    fn is_away(&self, item: &Item) -> bool {
        let mut seen = BTreeSet::new();
        let mut at = Some(item);
        while let Some(item) = at.filter(|item| seen.insert(&item.id)) {
            if self.is_off(&item.id) {
                return true;
            }
            at = item.carrier().and_then(|carrier| self.items.get(carrier));
        }
        false
    }
}

fn less((mass, arm): Acting, off: &[Acting]) -> Option<Acting> {
    let gone: f64 = off.iter().map(|(mass, _)| mass.in_kg()).sum();
    let moment: f64 = off.iter().map(|(mass, arm)| mass.in_kg() * arm.in_m()).sum();
    let left = mass.in_kg() - gone;
    if left <= 0.0 {
        return None;
    }
    let arm = (mass.in_kg() * arm.in_m() - moment) / left;
    Some((Mass::from_kg(left).ok()?, Length::from_m(arm).ok()?))
}
