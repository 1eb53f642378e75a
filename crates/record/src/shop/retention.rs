//! Copies that were discarded, and what keeps others from being.
//!
//! This says what may go. Entries never do; whoever keeps attachments asks
//! [`Programme::is_discarded`] before the bytes of one are taken away.

use std::collections::BTreeMap;
use std::sync::Arc;

use jiff::civil::Date;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{Act, Discard, Power, RecordClass, Stamp};
use crate::{Programme, RuleKey};

/// Copies that are no longer kept.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Records {
    /// By digest or name.
    pub discarded: BTreeMap<String, (Discard, Mark)>,
}

/// A place of the record that names a copy.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Mention {
    /// What it is there.
    pub class: RecordClass,
    /// The day of what it records.
    pub on: Date,
    /// Where, in words.
    pub place: String,
}

impl Programme {
    /// Whether a copy was discarded.
    pub fn is_discarded(&self, record: &str) -> bool {
        self.shop.records.discarded.contains_key(record.trim())
    }

    /// Every copy that the record names, with each place that names it; on a day, because
    /// what is in force counts as of that day.
    pub fn mentions(&self, on: Date) -> BTreeMap<String, Vec<Mention>> {
        let mut all: BTreeMap<String, Vec<Mention>> = BTreeMap::new();
        let mut note = |record: &str, class, on, place: String| {
            let record = record.trim();
            if !record.is_empty() {
                let mention = Mention { class, on, place };
                all.entry(record.to_owned()).or_default().push(mention);
            }
        };
        self.of_evidence(&mut note);
        self.of_parts(&mut note);
        self.of_work(&mut note);
        self.of_structure(&mut note);
        self.of_office(on, &mut note);
        all
    }

    fn of_evidence(&self, note: &mut impl FnMut(&str, RecordClass, Date, String)) {
        for (requirement, proofs) in &self.shop.gates.proofs {
            for proof in proofs {
                let on = proof.mark.at.date();
                let place = format!("evidence for {requirement}");
                note(&proof.evidence.reference, RecordClass::Release, on, place);
            }
        }
    }

    fn of_parts(&self, note: &mut impl FnMut(&str, RecordClass, Date, String)) {
        let class = RecordClass::PartsHistory;
        for (item, part) in &self.shop.parts.parts {
            if let Some((tag, mark)) = &part.tag
                && let Some(photograph) = &tag.photograph
            {
                note(photograph, class, mark.at.date(), format!("tag of {item}"));
            }
            if let Some(paper) = &part.certificate {
                let back =
                    part.custody.as_ref().and_then(|custody| custody.back.as_ref());
                let day = back.map_or(Date::MAX, |mark| mark.at.date());
                note(&paper.number, class, day, format!("document of {item}"));
            }
        }
        for (batch, state) in &self.shop.stores.batches {
            let day =
                state.drawn.iter().map(|(_, _, mark)| mark).chain([&state.taken_in]);
            let day = day.map(|mark| mark.at.date()).max().unwrap_or(Date::MAX);
            let place = format!("conformity of {batch}");
            note(&state.batch.conformity, RecordClass::Materials, day, place);
        }
    }

    /// Photographs of steps belong to the record of the work.
    fn of_work(&self, note: &mut impl FnMut(&str, RecordClass, Date, String)) {
        for (job, card) in &self.shop.cards.cards {
            for step in &card.steps {
                let Some(signed) = &step.signed else { continue };
                for photograph in &signed.photographs {
                    let day = signed.mark.at.date();
                    let place = format!("step {} of {job}", step.spec.id);
                    note(photograph.as_str(), RecordClass::Work, day, place);
                }
            }
        }
    }

    fn of_structure(&self, note: &mut impl FnMut(&str, RecordClass, Date, String)) {
        let class = RecordClass::Structure;
        for finding in self.findings.iter() {
            if let Some(photograph) = &finding.photograph {
                let day = finding.found.unwrap_or(Date::MAX);
                note(photograph, class, day, format!("finding {}", finding.id));
            }
        }
        for (finding, state) in &self.shop.findings.states {
            let raised = state.raised.iter();
            for (words, mark) in raised {
                for photograph in &words.photographs {
                    let place = format!("finding {finding}");
                    note(photograph.as_str(), class, mark.at.date(), place);
                }
            }
        }
        for (repair, (words, mark)) in &self.shop.repairs.repairs {
            let place = format!("approval of {repair}");
            note(&words.approval, class, mark.at.date(), place);
        }
        for (name, (words, mark)) in &self.shop.office.modifications {
            let place = format!("approval of {name}");
            note(&words.approval, class, mark.at.date(), place);
        }
        let class = RecordClass::Examinations;
        for (name, (request, mark)) in &self.shop.examinations.requests {
            let sketch = request.sketch.as_deref().unwrap_or_default();
            note(sketch, class, mark.at.date(), format!("sketch of {name}"));
        }
        for (name, report) in &self.shop.examinations.reports {
            let document = report.words.document.as_deref().unwrap_or_default();
            note(document, class, report.words.on, format!("report {name}"));
        }
    }

    fn of_office(
        &self,
        today: Date,
        note: &mut impl FnMut(&str, RecordClass, Date, String),
    ) {
        for (name, (letter, _)) in &self.shop.office.letters {
            let place = format!("letter {name}");
            note(&letter.reference, RecordClass::Letters, letter.on, place);
        }
        for (name, given) in &self.shop.authorities.given {
            let taken = given.withdrawn.as_ref().map(|mark| mark.at.date());
            let end = taken.or(given.grant.until).unwrap_or(today);
            let place = format!("authority {name}");
            note(&given.grant.reference, RecordClass::People, end, place);
        }
    }
}

impl Judge<'_> {
    pub(super) fn discard(&mut self, act: &Discard) {
        let Discard { record, class, made, reason, how } = act;
        self.power(Power::Release, None);
        self.all_stated(&[("record", record), ("reason", reason), ("how", how)]);
        self.past("made", *made, RuleKey::Stated);
        let record = record.trim();
        if self.programme.is_discarded(record) {
            let what = format!("{record} was discarded already");
            self.refuse(RuleKey::Known, what, "nothing is left to be done");
        }
        let entry = record.strip_prefix("entry").unwrap_or(record).trim();
        if entry.parse::<u64>().is_ok() {
            let what =
                format!("{record} names an entry, and entries are never discarded");
            self.refuse(RuleKey::Retention, what, "strike it through if it is wrong");
            return;
        }
        self.time_is_over(*class, *made, record);
        let mentions = self.programme.mentions(self.today());
        for mention in mentions.get(record).into_iter().flatten() {
            let record = format!("{record}, which {} names,", mention.place);
            self.time_is_over(mention.class, mention.on.max(*made), &record);
        }
    }

    fn time_is_over(&mut self, class: RecordClass, made: Date, record: &str) {
        let keep = self.programme.keeps(class, made);
        let today = self.today();
        self.hold(
            !keep.holds(today),
            RuleKey::Retention,
            || format!("{record} is of the class {class} and is kept {keep}"),
            "keep it; how long a class is kept stands in the programme's list",
        );
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    if let Act::Discard(act) = act {
        let records = Arc::make_mut(&mut programme.shop.records);
        let name = act.record.trim().to_owned();
        records.discarded.insert(name, (act.clone(), Mark::of(stamp)));
    }
}
