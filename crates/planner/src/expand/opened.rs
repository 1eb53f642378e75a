//! What comes off and goes back, and the checks that this demands.

use std::collections::{BTreeMap, BTreeSet};

use airframe::access::{Opening, Target, Why};
use airframe::disturbance::DemandedCheck;
use airframe::{Airframe, Handling, ItemId};
use record::PackId;

use super::{Expansion, blank, item_of};
use crate::draft::{Job, JobKind, Lasting, LinkWhy, Occupation, Way};

impl Expansion<'_> {
    /// Removals and refits, with their order and what they occupy.
    pub(crate) fn open(&mut self, airframe: &Airframe, opening: &Opening) {
        let packs = self.packs_of(opening);
        for removal in &opening.removals {
            let item = item_of(airframe, &removal.item);
            let handling = item.and_then(|item| item.removal.as_ref());
            let verb = if removal.on_unit.is_some() { "Strip off" } else { "Remove" };
            let name = item.map_or("", |item| &item.name);
            let job =
                Self::handle("OFF", &removal.item, handling, format!("{verb} {name}"));
            let job = Job {
                kind: JobKind::Remove,
                pack: packs.get(&removal.item).cloned(),
                ..job
            };
            let at = self.derived(job);
            self.removals.insert(removal.item.clone(), at);
        }
        for refit in &opening.refits {
            let item = item_of(airframe, &refit.item);
            let handling = item.and_then(|item| item.refit.as_ref());
            let name = item.map_or("", |item| &item.name);
            let job = Self::handle("ON", &refit.item, handling, format!("Refit {name}"));
            let job = Job {
                kind: JobKind::Refit,
                pack: packs.get(&refit.item).cloned(),
                ..job
            };
            let at = self.derived(job);
            self.refits.insert(refit.item.clone(), at);
        }
        self.order(opening);
        self.occupy(airframe, opening);
        self.reach(opening);
    }

    fn handle(
        verb: &str,
        item: &ItemId,
        handling: Option<&Handling>,
        name: String,
    ) -> Job {
        let ways = handling.map_or_else(
            || vec![Way::fixed(0)],
            |handling| vec![Way::worked(&handling.crew, &handling.hours)],
        );
        Job {
            name,
            item: Some(item.clone()),
            ways,
            lasting: Lasting::Worked { unbroken: false },
            gear: handling.map_or_else(Vec::new, |handling| handling.gear.clone()),
            ..blank(&format!("{verb}:{item}"))
        }
    }

    fn derived(&mut self, job: Job) -> usize {
        let key = job.key.0.clone();
        let ends = self.one(job);
        self.by_key.insert(key, ends);
        ends.first
    }

    /// The pack for whose sake each item comes off.
    fn packs_of(&self, opening: &Opening) -> BTreeMap<ItemId, PackId> {
        let mut packs: BTreeMap<ItemId, PackId> = BTreeMap::new();
        for (target, pack) in self.wanted.iter().rev() {
            packs.insert(target.item().clone(), pack.clone());
        }
        // Later removals are wanted by targets; earlier ones by later ones.
        for removal in opening.removals.iter().rev() {
            let wanting = removal.why.iter().map(|why| match why {
                Why::Target(target) => target.item(),
                Why::Item(item) | Why::Lightens(item) => item,
            });
            let mut wanting = wanting.filter_map(|item| packs.get(item)).cloned();
            if let (false, Some(pack)) =
                (packs.contains_key(&removal.item), wanting.next())
            {
                packs.insert(removal.item.clone(), pack);
            }
        }
        packs
    }

    fn order(&mut self, opening: &Opening) {
        for removal in &opening.removals {
            let to = self.removals[&removal.item];
            let before: Vec<usize> = removal
                .after
                .iter()
                .filter_map(|i| self.removals.get(i))
                .copied()
                .collect();
            for from in before {
                self.link(from, to, LinkWhy::InTheWay);
            }
            // What is stripped on the bench comes off when its unit is there.
            let unit = removal.on_unit.as_ref().and_then(|unit| self.removals.get(unit));
            if let Some(&from) = unit {
                self.link(from, to, LinkWhy::Opens);
            }
        }
        self.bench(opening);
        for refit in &opening.refits {
            let to = self.refits[&refit.item];
            if let Some(&from) = self.removals.get(&refit.item) {
                self.link(from, to, LinkWhy::WorkDone);
            }
            let before: Vec<usize> =
                refit.after.iter().filter_map(|i| self.refits.get(i)).copied().collect();
            for from in before {
                self.link(from, to, LinkWhy::RefitOrder);
            }
        }
    }

    /// What was stripped on the bench is put back on it there, before its unit goes back,
    /// unless the order of refits says otherwise.
    fn bench(&mut self, opening: &Opening) {
        let place: BTreeMap<&ItemId, usize> = opening
            .refits
            .iter()
            .enumerate()
            .map(|(at, refit)| (&refit.item, at))
            .collect();
        for removal in &opening.removals {
            let Some(unit) = &removal.on_unit else { continue };
            let ends = (self.refits.get(&removal.item), self.refits.get(unit));
            if let (Some(&from), Some(&to)) = ends
                && place.get(&removal.item) < place.get(unit)
            {
                self.link(from, to, LinkWhy::RefitOrder);
            }
        }
    }

    fn occupy(&mut self, airframe: &Airframe, opening: &Opening) {
        let ours =
            opening.stands.iter().map(|used| (used.stand.clone(), used.item.clone()));
        let already = airframe.parts().items.iter().filter(|item| item.off);
        let already =
            already.filter_map(|item| Some((item.stand.clone()?, item.id.clone())));
        let all: BTreeSet<_> = ours.chain(already).collect();
        for (stand, item) in all {
            let from = match self.removals.get(&item) {
                Some(&removal) => removal,
                None => self.begin(),
            };
            let to = self.refits.get(&item).copied();
            self.occupations.push(Occupation { stand, item, from, to });
        }
    }

    /// The job that stands for the beginning of the season, made when it is first asked for.
    fn begin(&mut self) -> usize {
        let known = self.jobs.iter().position(|job| job.kind == JobKind::Begin);
        known.unwrap_or_else(|| {
            let name = format!("Season {} begins", self.season.id);
            self.one(Job { name, kind: JobKind::Begin, ..blank("BEGIN") }).first
        })
    }

    /// Work starts when its target is reached, and what was opened for it goes back when
    /// the work is done.
    fn reach(&mut self, opening: &Opening) {
        let reached: BTreeMap<&Target, &Vec<ItemId>> =
            opening.reached.iter().map(|r| (&r.target, &r.after)).collect();
        let opened = std::mem::take(&mut self.opened);
        for (target, first, last) in &opened {
            let mut items: BTreeSet<&ItemId> =
                reached.get(target).into_iter().copied().flatten().collect();
            if let Target::Free(item) = target {
                items.insert(item);
            }
            for item in items {
                if let Some(&from) = self.removals.get(item) {
                    for &to in first {
                        self.link(from, to, LinkWhy::Opens);
                    }
                }
                if let Some(&to) = self.refits.get(item) {
                    for &from in last {
                        self.link(from, to, LinkWhy::WorkDone);
                    }
                }
            }
        }
        self.opened = opened;
    }

    /// Checks, after the refits that they check.
    pub(crate) fn check(&mut self, airframe: &Airframe, demanded: &[DemandedCheck]) {
        let mut at: BTreeMap<(String, String), usize> = BTreeMap::new();
        for check in demanded {
            let Some(rule) = airframe.parts().checks.iter().find(|r| r.id == check.rule)
            else {
                continue;
            };
            let refits: Vec<usize> = check
                .after_refit_of
                .iter()
                .filter_map(|i| self.refits.get(i))
                .copied()
                .collect();
            let work = check.after_refit_of.iter().filter_map(|i| self.removals.get(i));
            let independent_of = if rule.independent {
                refits.iter().copied().chain(work.copied()).collect()
            } else {
                Vec::new()
            };
            let job = Job {
                name: format!("{}: {}", rule.name, check.thing),
                pack: refits.first().and_then(|&refit| self.jobs[refit].pack.clone()),
                kind: JobKind::Check,
                item: check.after_refit_of.first().cloned(),
                ways: vec![Way::worked(&rule.crew, &rule.hours)],
                lasting: Lasting::Worked { unbroken: false },
                independent_of,
                ..blank(&format!("CHECK:{}:{}", check.rule, check.thing))
            };
            let to = self.derived(job);
            for &from in &refits {
                self.link(from, to, LinkWhy::Checks);
            }
            at.insert((check.rule.to_string(), check.thing.clone()), to);
        }
        self.check_order(demanded, &at);
    }

    fn check_order(
        &mut self,
        demanded: &[DemandedCheck],
        at: &BTreeMap<(String, String), usize>,
    ) {
        for check in demanded {
            let own = at.get(&(check.rule.to_string(), check.thing.clone()));
            for (rule, thing) in &check.after_checks {
                let before = at.get(&(rule.to_string(), thing.clone()));
                if let (Some(&to), Some(&from)) = (own, before) {
                    self.link(from, to, LinkWhy::Checks);
                }
            }
        }
    }
}
