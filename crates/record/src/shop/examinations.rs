//! Examinations: what was asked for, what was reported, and what a report is worth.
//!
//! Whoever examines reports; whether what they saw may stay is for engineering to say. So a
//! report that does not accept raises a finding, of which nobody knows yet how bad it is, and
//! no gate is clear of it until somebody entitled to has said so.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{
    Act, Equipment, Level, Method, Outcome, Power, Raise, ReportNdt, RequestNdt, Stamp,
};
use crate::{ExaminationId, Programme, ReportId, RuleKey};

/// Examinations that were asked for, and their reports.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Examinations {
    /// What was asked for.
    pub requests: BTreeMap<ExaminationId, (RequestNdt, Mark)>,
    /// What was reported.
    pub reports: BTreeMap<ReportId, Report>,
}

/// A report.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
pub struct Report {
    /// As it was entered.
    pub words: ReportNdt,
    /// By whom and when.
    pub mark: Mark,
    /// It was struck through.
    pub struck: bool,
}

/// How far a request is.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Answered {
    /// Nobody has reported.
    No,
    /// All reports left something out.
    InPart,
    /// One report covers all of it.
    Whole,
}

impl Examinations {
    /// The reports of an examination that count.
    pub fn of<'a>(
        &'a self,
        examination: &'a ExaminationId,
    ) -> impl Iterator<Item = &'a Report> {
        self.reports
            .values()
            .filter(move |r| !r.struck && r.words.examination == *examination)
    }

    /// How far a request is.
    pub fn answered(&self, examination: &ExaminationId) -> Answered {
        let mut reports = self.of(examination).peekable();
        if reports.peek().is_none() {
            Answered::No
        } else if reports.any(|report| report.words.whole) {
            Answered::Whole
        } else {
            Answered::InPart
        }
    }
}

impl Programme {
    /// The report that a reference names, if it is one of the record's own.
    pub fn report(&self, reference: &str) -> Option<&Report> {
        self.shop.examinations.reports.get(&ReportId::new(reference.trim()).ok()?)
    }

    /// Why a report is no evidence, in words; nothing if it is, or if it is none of the
    /// record's own.
    pub fn report_lacks(&self, reference: &str) -> Option<String> {
        let report = self.report(reference)?;
        let id = &report.words.report;
        if report.struck {
            return Some(format!("{id} was struck through"));
        }
        let ruled = report.words.finding.as_ref().is_some_and(|finding| {
            let states = &self.shop.findings.states;
            states.get(finding).is_some_and(super::FindingState::is_cleared)
        });
        match report.words.outcome {
            Outcome::Accept => None,
            Outcome::Reject => Some(format!("{id} rejects")),
            Outcome::Refer if ruled => None,
            Outcome::Refer => Some(format!("{id} waits for a ruling")),
        }
    }
}

impl Judge<'_> {
    pub(super) fn request_ndt(&mut self, act: &RequestNdt) {
        let item = &act.item;
        self.power(Power::Plan, Some(item));
        if self.shop().examinations.requests.contains_key(&act.examination) {
            self.taken("examination", &act.examination);
        }
        self.item(item);
        if let Some(zone) = &act.zone {
            let list = &self.programme.zones;
            self.known(list, zone);
        }
        self.what_is_asked(act);
        self.why_asked(act);
        self.technique(act);
        self.not_over("needed_by", act.needed_by, RuleKey::Stated);
    }

    fn what_is_asked(&mut self, act: &RequestNdt) {
        self.all_stated(&[
            ("location", &act.location),
            ("material", &act.material),
            ("form", &act.form),
            ("finish", &act.finish),
            ("thickness", &act.thickness),
            ("sought", &act.sought),
            ("least", &act.least),
            ("preparation", &act.preparation),
            ("restores", &act.restores),
            ("acceptance", &act.acceptance),
            ("rules", &act.rules),
            ("closes", &act.closes),
            ("cleaning", &act.cleaning),
        ]);
    }

    fn why_asked(&mut self, act: &RequestNdt) {
        if let Some(finding) = &act.finding {
            self.finding(finding);
        }
        self.hold(
            act.finding.is_some() || said(act.why.as_ref()),
            RuleKey::Stated,
            || format!("it is not said why {} is asked for", act.examination),
            "name the finding, or say in `why` what else asks for it",
        );
    }

    fn technique(&mut self, act: &RequestNdt) {
        let sheet = said(act.technique.as_ref());
        self.hold(
            sheet != act.develop,
            RuleKey::Data,
            || {
                let both =
                    if sheet { "a technique and that one" } else { "no technique" };
                format!("{} names {both} is to be developed", act.examination)
            },
            "name the technique sheet, or say `develop=yes`, not both",
        );
        self.hold(
            !sheet || said(act.revision.as_ref()),
            RuleKey::Data,
            || format!("the technique of {} has no revision", act.examination),
            "give the revision of the sheet",
        );
    }

    pub(super) fn report_ndt(&mut self, act: &ReportNdt) {
        let requests = &self.shop().examinations.requests;
        let request = requests.get(&act.examination);
        let item = request.map(|(request, _)| &request.item);
        self.power(Power::Inspect, item);
        let by = self.by();
        if self.is_supervised(by) {
            let what = format!("{by} works under supervision and would enter a report");
            self.refuse(
                RuleKey::Supervision,
                what,
                "an inspector reads it and enters it",
            );
        }
        if request.is_none() {
            self.unknown("examination", &act.examination);
        }
        if self.shop().examinations.reports.contains_key(&act.report) {
            self.taken("report", &act.report);
        }
        if let Some(firm) = &act.firm {
            let list = &self.programme.firms;
            self.known(list, firm);
        }
        self.past("on", act.on, RuleKey::Clock);
        self.how_examined(act);
        self.extent(act);
        self.examiner(act);
        self.equipment(act);
        self.consumables(act);
        self.result(act);
    }

    fn how_examined(&mut self, act: &ReportNdt) {
        self.all_stated(&[
            ("parameters", &act.parameters),
            ("standard", &act.standard),
            ("examined", &act.examined),
        ]);
        let revised = said(act.revision.as_ref()) && !act.procedure.trim().is_empty();
        self.hold(
            revised,
            RuleKey::Examination,
            || format!("{} names no procedure with its revision", act.report),
            "ask the examiner by which revision of which procedure it was made",
        );
        self.hold(
            !act.acceptance.trim().is_empty(),
            RuleKey::Examination,
            || format!("{} does not say by which standard it was judged", act.report),
            "name the standard; where there is none, say who was asked, and `outcome=refer`",
        );
    }

    /// What was not examined is said, also that nothing was left out.
    fn extent(&mut self, act: &ReportNdt) {
        for missed in &act.missed {
            self.all_stated(&[
                ("missed.place", &missed.place),
                ("missed.why", &missed.why),
            ]);
        }
        self.hold(
            act.whole == act.missed.is_empty(),
            RuleKey::Examination,
            || {
                let claim = if act.whole { "all" } else { "not all" };
                let missed = act.missed.len();
                format!(
                    "{} says that {claim} was examined, and names {missed} places that were not",
                    act.report
                )
            },
            "name each place that was not examined and why, or say that all was",
        );
    }

    fn examiner(&mut self, act: &ReportNdt) {
        let ReportNdt { examiner, method, level, on, report, .. } = act;
        self.all_stated(&[("examiner", examiner), ("qualification", &act.qualification)]);
        let wants = method.has_levels();
        let may = level.is_none_or(|level| level != Level::Trainee);
        self.hold(
            may && (level.is_some() || !wants),
            RuleKey::Qualification,
            || match level {
                Some(level) => {
                    format!("{examiner} is a {} and would report", level.word())
                }
                None => format!("nobody says at which level {examiner} is qualified"),
            },
            "a report is made by somebody of a level that may; ask for the certificate",
        );
        self.hold(
            act.qualified_in.contains(method),
            RuleKey::Qualification,
            || format!("{examiner} is not qualified in {}", method.word()),
            "somebody who is examines; for an inspection, who is trained and assessed in it",
        );
        match act.qualified_until {
            None => self.refuse(
                RuleKey::Qualification,
                format!("nobody says until when {examiner} is qualified"),
                "ask for the certificate",
            ),
            Some(until) if until < *on => self.refuse(
                RuleKey::Qualification,
                format!(
                    "the qualification of {examiner} ran out on {until}, before {report}"
                ),
                "it is made anew by somebody who is qualified",
            ),
            Some(_) => {}
        }
    }

    fn equipment(&mut self, act: &ReportNdt) {
        let bare = act.method.has_levels() && act.equipment.is_empty();
        self.hold(
            !bare,
            RuleKey::Calibration,
            || format!("{} does not say with what it was made", act.report),
            "name the equipment, with the last day of its calibration",
        );
        for equipment in &act.equipment {
            self.stated("equipment.name", &equipment.name);
            self.calibrated_on(equipment, act.on);
        }
    }

    fn calibrated_on(&mut self, equipment: &Equipment, on: Date) {
        let Equipment { name, tool, until } = equipment;
        if let Some(tool) = tool {
            self.instrument_on(tool, on);
            return;
        }
        let what = match until {
            None => format!("nobody says until when {name} is calibrated"),
            Some(until) if *until < on => {
                format!("the calibration of {name} ran out on {until}, before {on}")
            }
            Some(_) => return,
        };
        self.refuse(
            RuleKey::Calibration,
            what,
            "ask for its certificate; what was measured without one is measured again",
        );
    }

    fn consumables(&mut self, act: &ReportNdt) {
        for batch in &act.batches {
            let Some(state) = self.shop().stores.batches.get(batch) else {
                self.unknown("batch", batch);
                continue;
            };
            if let Some(until) = state.batch.expires.filter(|until| *until < act.on) {
                let what = format!("{batch} was good until {until}");
                self.refuse(
                    RuleKey::ShelfLife,
                    what,
                    "it is made anew with a good batch",
                );
            }
        }
        let penetrant = act.method == Method::Penetrant;
        let wet = penetrant || act.method == Method::Magnetic;
        for (asked, given, field, hint) in [
            (
                penetrant,
                !act.batches.is_empty(),
                "batches",
                "name each consumable's batch",
            ),
            (penetrant, said(act.dwell.as_ref()), "dwell", "say how long, and how warm"),
            (wet, said(act.lighting.as_ref()), "lighting", "say which light, how strong"),
            (
                wet,
                said(act.afterwards.as_ref()),
                "afterwards",
                "say what was cleaned off",
            ),
        ] {
            self.hold(
                given || !asked,
                RuleKey::Examination,
                || format!("{} by {} has no `{field}`", act.report, act.method.word()),
                hint,
            );
        }
    }

    fn result(&mut self, act: &ReportNdt) {
        for one in &act.indications {
            self.all_stated(&[
                ("indications.place", &one.place),
                ("indications.size", &one.size),
                ("indications.what", &one.what),
            ]);
        }
        let accepts = act.outcome == Outcome::Accept;
        self.hold(
            said(act.detectable.as_ref()) || !accepts,
            RuleKey::Detectability,
            || {
                format!(
                    "{} accepts, and does not say what it would have found",
                    act.report
                )
            },
            "give the least defect that this method shows here",
        );
        let defects =
            act.indications.iter().any(|one| one.rank == crate::act::Rank::Defect);
        self.hold(
            !(accepts && defects),
            RuleKey::Examination,
            || format!("{} finds a defect and accepts", act.report),
            "a defect is what does not meet the standard: reject, or say what else it is",
        );
        match (&act.finding, accepts) {
            (None, false) => self.refuse(
                RuleKey::FailedInspection,
                format!("{} does not accept and names no finding", act.report),
                "name the finding that it raises; engineering says how bad it is",
            ),
            (Some(_), true) => self.refuse(
                RuleKey::Stated,
                format!("{} accepts and would raise a finding", act.report),
                "leave it out, or raise what else was seen by itself",
            ),
            (Some(finding), false) => self.new_finding(finding),
            (None, true) => {}
        }
    }
}

fn said(text: Option<&String>) -> bool {
    text.is_some_and(|text| !text.trim().is_empty())
}

/// The finding that a report raises which does not accept.
pub(super) fn raised(programme: &Programme, act: &ReportNdt) -> Option<Raise> {
    let finding = act.finding.clone()?;
    let (request, _) = programme.shop.examinations.requests.get(&act.examination)?;
    let seen = act.indications.iter().map(|one| {
        format!("{} {} at {}, {}", one.rank.word(), one.what, one.place, one.size)
    });
    let seen: Vec<String> = seen.collect();
    let verdict = match act.outcome {
        Outcome::Reject => "rejected",
        Outcome::Accept | Outcome::Refer => "to be ruled on",
    };
    let seen = if seen.is_empty() { act.examined.clone() } else { seen.join("; ") };
    Some(Raise {
        finding,
        item: request.item.clone(),
        zone: request.zone.clone(),
        what: format!("{verdict} by {} ({}): {seen}", act.report, act.method.word()),
        measured: None,
        found: act.on,
        cause: None,
        job: None,
        also: Vec::new(),
        photographs: Vec::new(),
        mark: None,
    })
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let mark = Mark::of(stamp);
    let examinations = &mut programme.shop.examinations;
    match act {
        Act::RequestNdt(act) => {
            let requests = &mut Arc::make_mut(examinations).requests;
            requests.insert(act.examination.clone(), (act.clone(), mark));
        }
        Act::ReportNdt(act) => {
            let report = Report { words: act.clone(), mark, struck: false };
            Arc::make_mut(examinations).reports.insert(act.report.clone(), report);
        }
        _ => {}
    }
}
