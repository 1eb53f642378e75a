//! Hours, stands and gear of an opening.

use std::collections::BTreeMap;

use super::{GearUse, Minutes, SkillHours, StandUse};
use crate::{Airframe, Handling, SkillId};

/// Person-minutes by skill.
pub(crate) fn hours(
    airframe: &Airframe,
    off: &[usize],
    back: &[usize],
) -> BTreeMap<SkillId, SkillHours> {
    let mut hours: BTreeMap<SkillId, SkillHours> = BTreeMap::new();
    let mut add = |handling: &Handling, side: fn(&mut SkillHours) -> &mut Minutes| {
        for crew in &handling.crew {
            let sum = hours.entry(crew.skill.clone()).or_default();
            side(sum).add(i64::from(crew.count), &handling.hours);
        }
    };
    for at in off {
        if let Some(removal) = &airframe.item_at(*at).removal {
            add(removal, |sum| &mut sum.removal);
        }
    }
    for at in back {
        if let Some(refit) = &airframe.item_at(*at).refit {
            add(refit, |sum| &mut sum.refit);
        }
    }
    hours
}

/// Stands that what goes back has taken up till then.
pub(crate) fn stands(airframe: &Airframe, back: &[usize]) -> Vec<StandUse> {
    let mut stands: Vec<StandUse> = back
        .iter()
        .map(|at| airframe.item_at(*at))
        .filter_map(|item| {
            Some(StandUse { stand: item.stand.clone()?, item: item.id.clone() })
        })
        .collect();
    stands.sort();
    stands
}

/// Lifting gear by name.
pub(crate) fn gear(airframe: &Airframe, off: &[usize], back: &[usize]) -> Vec<GearUse> {
    let mut uses = BTreeMap::new();
    let empty = || (Vec::new(), Vec::new());
    for at in off {
        let item = airframe.item_at(*at);
        for gear in item.removal.iter().flat_map(|handling| &handling.gear) {
            uses.entry(gear.clone()).or_insert_with(empty).0.push(item.id.clone());
        }
    }
    for at in back {
        let item = airframe.item_at(*at);
        for gear in item.refit.iter().flat_map(|handling| &handling.gear) {
            uses.entry(gear.clone()).or_insert_with(empty).1.push(item.id.clone());
        }
    }
    uses.into_iter()
        .map(|(gear, (removals, refits))| GearUse { gear, removals, refits })
        .collect()
}
