//! The register of repairs, materials in place of others, parts that were made in-house.

use std::collections::BTreeMap;
use std::sync::Arc;

use airframe::ItemId;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{Act, Make, Origin, Power, Provenance, Repair, Stamp, Substitute};
use crate::{FindingId, JobKey, Programme, RepairId, RuleKey, SubstitutionId};

/// Repairs and what was made.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Repairs {
    /// Repairs.
    pub repairs: BTreeMap<RepairId, (Repair, Mark)>,
    /// Materials in place of others.
    pub substitutions: BTreeMap<SubstitutionId, (Substitute, Mark)>,
    /// Parts that were made in-house, the latest of each item.
    pub made: BTreeMap<ItemId, (Make, Mark)>,
}

impl Repairs {
    /// The repairs of a finding.
    pub fn of<'a>(
        &'a self,
        finding: &'a FindingId,
    ) -> impl Iterator<Item = (&'a RepairId, &'a Repair)> {
        let of = self
            .repairs
            .iter()
            .filter(move |(_, (repair, _))| repair.finding == *finding);
        of.map(|(name, (repair, _))| (name, repair))
    }
}

impl Judge<'_> {
    pub(super) fn repair(&mut self, act: &Repair) {
        let name = &act.repair;
        if self.shop().repairs.repairs.contains_key(name) {
            self.taken("repair", name);
        }
        self.finding(&act.finding);
        let item = self.programme.item_of_finding(&act.finding);
        self.power(Power::Certify, item);
        self.all_stated(&[
            ("location", &act.location),
            ("what", &act.what),
            ("dimensions", &act.dimensions),
            ("criterion", &act.criterion),
        ]);
        self.revised(&name.to_string(), &act.data, act.revision.as_ref());
        self.approved(&name.to_string(), &act.approval);
        self.complete_card(&act.job, RuleKey::Restored);
        if let Some(duty) = &act.duty
            && !self.shop().office.duties.contains_key(duty)
        {
            self.unknown("duty", duty);
        }
        self.remains(act);
    }

    /// What is left of what was taken away is measured.
    fn remains(&mut self, act: &Repair) {
        let Repair { repair, removed, limits, remains, .. } = act;
        self.hold(
            !removed || !limits.is_empty(),
            RuleKey::Limits,
            || format!("{repair} took material away, and no least thickness is named"),
            "name what must be left at each place, by the data, and measure it",
        );
        for limit in limits {
            self.limit(&repair.to_string(), limit);
        }
        self.readings(limits, remains);
    }

    fn revised(&mut self, name: &str, data: &str, revision: Option<&String>) {
        let revised = revision.is_some_and(|revision| !revision.trim().is_empty());
        self.hold(
            revised && !data.trim().is_empty(),
            RuleKey::Data,
            || format!("{name} names no data with their revision"),
            "name the document and its revision",
        );
    }

    fn approved(&mut self, name: &str, approval: &str) {
        self.hold(
            !approval.trim().is_empty(),
            RuleKey::Approval,
            || format!("{name} has no approval"),
            "name who approved it, and by which reference; until then it waits",
        );
    }

    pub(super) fn substitute(&mut self, act: &Substitute) {
        let name = &act.substitution;
        if self.shop().repairs.substitutions.contains_key(name) {
            self.taken("substitution", name);
        }
        self.item(&act.item);
        self.power(Power::Engineer, Some(&act.item));
        self.all_stated(&[
            ("original", &act.original),
            ("proposed", &act.proposed),
            ("strength", &act.strength),
            ("thickness", &act.thickness),
            ("treatment", &act.treatment),
            ("corrosion", &act.corrosion),
            ("reason", &act.reason),
            ("data", &act.data),
        ]);
        self.approved(&name.to_string(), &act.approval);
    }

    pub(super) fn make(&mut self, act: &Make) {
        let Make {
            item,
            drawing,
            revision,
            batches,
            treatment,
            first,
            mark,
            report,
            job,
        } = act;
        self.item(item);
        self.power(Power::Certify, Some(item));
        self.revised(&item.to_string(), drawing, revision.as_ref());
        self.all_stated(&[("treatment", treatment), ("first", first), ("mark", mark)]);
        self.complete_card(job, RuleKey::Completion);
        self.material(item, batches, job);
        let Some(report) = report else { return };
        if !self.shop().examinations.reports.contains_key(report) {
            self.unknown("report", report);
        }
        if let Some(lacks) = self.programme.report_lacks(report.as_str()) {
            let what = format!("{item} is not shown to be sound: {lacks}");
            self.refuse(RuleKey::Examination, what, "examine it again, or scrap it");
        }
    }

    fn material(&mut self, item: &ItemId, batches: &[crate::BatchId], job: &JobKey) {
        self.hold(
            !batches.is_empty(),
            RuleKey::Conformity,
            || format!("nobody says of which batch {item} was made"),
            "name the batches that were drawn for its card",
        );
        for batch in batches {
            let Some(state) = self.shop().stores.batches.get(batch) else {
                self.unknown("batch", batch);
                continue;
            };
            let drawn = state.drawn.iter().any(|(card, _, _)| card == job);
            self.hold(
                drawn,
                RuleKey::Conformity,
                || format!("nothing of {batch} was drawn for {job}"),
                "name the batch that was; what was not drawn was not made into anything",
            );
        }
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let mark = Mark::of(stamp);
    let repairs = &mut programme.shop.repairs;
    match act {
        Act::Repair(act) => {
            let repairs = &mut Arc::make_mut(repairs).repairs;
            repairs.insert(act.repair.clone(), (act.clone(), mark));
        }
        Act::Substitute(act) => {
            let list = &mut Arc::make_mut(repairs).substitutions;
            list.insert(act.substitution.clone(), (act.clone(), mark));
        }
        Act::Make(act) => {
            let made = &mut Arc::make_mut(repairs).made;
            made.insert(act.item.clone(), (act.clone(), mark.clone()));
            let evidence = format!("made on {} to {}", act.job, act.drawing);
            let origin =
                Provenance { item: act.item.clone(), origin: Origin::NewMade, evidence };
            let office = Arc::make_mut(&mut programme.shop.office);
            office.origins.insert(act.item.clone(), (origin, mark));
        }
        _ => {}
    }
}
