//! Small random airframes: cost, refusal, order and the way back.

use std::collections::BTreeSet;

use proptest::prelude::*;
use proptest::sample::select;

use super::naive::{Naive, Off};
use super::{airframe, handling, id};
use crate::access::{Opening, Options, Target, open};
use crate::{Group, Item, ItemId, Needs, Way};

/// An airframe and a question.
#[derive(Debug, Clone)]
struct Case {
    items: Vec<Item>,
    off: Off,
    targets: Vec<Target>,
    /// Shuffles lawful orders.
    lots: Vec<usize>,
}

fn name(at: usize) -> ItemId {
    id(&format!("I{at}"))
}

/// Needs of one item of so many; rings are welcome.
fn needs(count: usize, own: usize) -> impl Strategy<Value = Needs> {
    let others: Vec<usize> = (0..count).filter(|at| *at != own).collect();
    let one = select(others).prop_map(name);
    let way = prop::collection::vec(one, 1..=2).prop_map(|items| Way { items });
    let group = prop::collection::vec(way, 1..=3).prop_map(|ways| Group { ways });
    let groups = prop::collection::vec(group, 0..=2);
    prop_oneof![2 => Just(Needs::NONE), 3 => groups.prop_map(|groups| Needs { groups })]
}

fn one_item(count: usize, at: usize) -> impl Strategy<Value = Item> {
    let carrier = prop::option::weighted(0.6, 0..at.max(1));
    let kinds = (
        prop::bool::weighted(0.06),
        prop::bool::weighted(0.06),
        prop::bool::weighted(0.06),
    );
    (carrier, prop::bool::ANY, needs(count, at), needs(count, at), 0_i64..12, kinds)
        .prop_map(
            move |(carrier, mounted, behind, held_by, minutes, (fixed, bare, off))| {
                let carrier = carrier.filter(|carrier| *carrier < at).map(name);
                let (mounted_on, part_of) =
                    if mounted { (carrier, None) } else { (None, carrier) };
                Item {
                    part_of,
                    mounted_on,
                    behind,
                    held_by,
                    fixed: fixed.then(|| "fixed".to_owned()),
                    removal: (!bare).then(|| handling(minutes)),
                    refit: (!bare).then(|| handling(minutes / 2)),
                    off,
                    ..Item::new(name(at), "an item")
                }
            },
        )
}

fn case() -> impl Strategy<Value = Case> {
    (2_usize..=9).prop_flat_map(|count| {
        let items: Vec<_> = (0..count).map(|at| one_item(count, at).boxed()).collect();
        let target = (0..count, prop::bool::ANY).prop_map(|(at, free)| {
            if free { Target::Free(name(at)) } else { Target::Expose(name(at)) }
        });
        let off = prop::collection::btree_set((0..count).prop_map(name), 0..=1);
        let targets = prop::collection::vec(target, 1..=3);
        let lots = prop::collection::vec(0_usize..1000, 32);
        (items, off, targets, lots).prop_map(|(items, off, targets, lots)| Case {
            items,
            off,
            targets,
            lots,
        })
    })
}

/// Any order in which nothing comes before what it waits for.
fn some_order<'o>(
    waits: &[(&'o ItemId, BTreeSet<&'o ItemId>)],
    lots: &[usize],
) -> Vec<&'o ItemId> {
    let mut order: Vec<&ItemId> = Vec::new();
    while order.len() < waits.len() {
        let ready: Vec<_> = waits
            .iter()
            .filter(|(id, after)| {
                !order.contains(id) && after.iter().all(|first| order.contains(first))
            })
            .collect();
        order.push(ready[lots[order.len() % lots.len()] % ready.len()].0);
    }
    order
}

/// Every order that respects `after` is lawful, and nothing in `after` can be left out.
fn removals_are_lawful(naive: &Naive, opening: &Opening, lots: &[usize]) {
    let waits: Vec<_> = opening
        .removals
        .iter()
        .map(|removal| (&removal.item, removal.after.iter().collect()))
        .collect();
    let listed: Vec<_> = opening.removals.iter().map(|removal| &removal.item).collect();
    for order in [listed, some_order(&waits, lots)] {
        let mut off = naive.start.clone();
        for next in order {
            assert!(naive.can_come_off(next, &off), "{next} while {off:?} is off");
            off.insert(next.clone());
        }
    }
    for removal in &opening.removals {
        let only: Off = naive.start.iter().chain(&removal.after).cloned().collect();
        assert!(naive.can_come_off(&removal.item, &only), "after is enough");
        for spared in &removal.after {
            let mut fewer = only.clone();
            fewer.remove(spared);
            assert!(!naive.can_come_off(&removal.item, &fewer), "{spared} is needless");
        }
        assert!(!removal.why.is_empty(), "{} for nothing", removal.item);
    }
}

/// Run backwards, the refits are lawful removals, in any order that respects `after`.
fn refits_are_lawful(naive: &Naive, opening: &Opening, lots: &[usize]) {
    let waits: Vec<_> = opening
        .refits
        .iter()
        .map(|refit| (&refit.item, refit.after.iter().collect()))
        .collect();
    let listed: Vec<_> = opening.refits.iter().map(|refit| &refit.item).collect();
    for order in [listed, some_order(&waits, lots)] {
        let removed = opening.removals.iter().map(|removal| &removal.item);
        let mut off: Off = opening.off.iter().chain(removed).cloned().collect();
        for next in order {
            assert!(off.remove(next), "{next} goes back twice");
            assert!(naive.can_come_off(next, &off), "{next} back while {off:?} is off");
        }
        assert_eq!(off, naive.start, "all is back");
    }
}

fn reached_as_said(naive: &Naive, opening: &Opening, targets: &[Target]) {
    let said: Vec<_> = opening.reached.iter().map(|reached| &reached.target).collect();
    assert_eq!(said, targets.iter().collect::<Vec<_>>());
    for reached in &opening.reached {
        let off: Off = naive.start.iter().chain(&reached.after).cloned().collect();
        assert!(naive.reached(&reached.target, &off), "{} by its own", reached.target);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 4000, ..ProptestConfig::default() })]

    #[test]
    fn agrees_with_the_definition(case in case()) {
        let airframe = airframe(case.items.clone());
        let naive = Naive::new(&case.items, &case.off);
        let options = Options::default();
        match open(&airframe, &case.off, &case.targets, &options) {
            Ok(opening) => {
                prop_assert_eq!(Some(opening.cost), naive.cheapest(&case.targets));
                let removed = opening.removals.iter().map(|removal| &removal.item);
                prop_assert_eq!(opening.cost, removed.map(|id| naive.cost(id)).sum::<u64>());
                prop_assert!(opening.optimal && opening.bound == opening.cost);
                prop_assert_eq!(&opening.off, &naive.start);
                removals_are_lawful(&naive, &opening, &case.lots);
                refits_are_lawful(&naive, &opening, &case.lots);
                reached_as_said(&naive, &opening, &case.targets);
            }
            Err(refusal) => {
                for refused in &refusal.refused {
                    let alone = std::slice::from_ref(&refused.target);
                    prop_assert_eq!(naive.cheapest(alone), None);
                    prop_assert!(!refused.reasons.is_empty(), "{}", refusal);
                }
                for fine in &refusal.fine {
                    prop_assert!(naive.cheapest(std::slice::from_ref(fine)).is_some());
                }
                let told = refusal.refused.len() + refusal.fine.len();
                prop_assert_eq!(told, case.targets.len());
                prop_assert!(!refusal.refused.is_empty());
            }
        }
    }

    #[test]
    fn a_short_search_is_lawful_and_says_how_good_it_is(case in case(), steps in 0_u64..3) {
        let airframe = airframe(case.items.clone());
        let naive = Naive::new(&case.items, &case.off);
        let options = Options { steps, ..Options::default() };
        if let Ok(opening) = open(&airframe, &case.off, &case.targets, &options) {
            let least = naive.cheapest(&case.targets).unwrap();
            prop_assert!(opening.bound <= least && least <= opening.cost);
            prop_assert_eq!(opening.optimal, opening.bound == opening.cost);
            removals_are_lawful(&naive, &opening, &case.lots);
            reached_as_said(&naive, &opening, &case.targets);
        }
    }

    /// The same opening in two halves: half of it was done last season, and all of it goes
    /// back in this one.
    #[test]
    fn what_was_off_goes_back_lawfully(case in case()) {
        let airframe = airframe(case.items.clone());
        let first = open(&airframe, &case.off, &case.targets, &Options::default());
        let Ok(first) = first else { return Ok(()) };
        let half = first.removals.len() / 2;
        let earlier = first.removals[..half].iter().map(|removal| removal.item.clone());
        let earlier: BTreeSet<ItemId> = earlier.collect();
        let off = case.off.union(&earlier).cloned().collect();
        let options = Options { put_back: earlier, ..Options::default() };
        let second = open(&airframe, &off, &case.targets, &options).unwrap();
        prop_assert!(second.cost <= first.cost);
        let naive = Naive::new(&case.items, &case.off);
        refits_are_lawful(&naive, &second, &case.lots);
        let now = Naive::new(&case.items, &off);
        for reached in &second.reached {
            let held = naive.start.iter().chain(&reached.holds).cloned().collect();
            prop_assert!(now.reached(&reached.target, &held), "{:?}", reached);
        }
    }

    #[test]
    fn the_same_question_has_the_same_answer(case in case()) {
        let airframe = airframe(case.items.clone());
        let ask = || open(&airframe, &case.off, &case.targets, &Options::default());
        prop_assert_eq!(ask(), ask());
    }
}
