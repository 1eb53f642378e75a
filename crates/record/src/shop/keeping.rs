//! What is asked of parts in the workshop: tags, classes, quarantine, lives, fitting.

use airframe::ItemId;

use super::judge::Judge;
use super::parts::{Part, Whereabouts};
use crate::act::{
    ClassPart, Fit, Life, LifeUnit, Move, PartClass, Power, Quarantine, Release, Rob,
    Scrap, Tag, Use,
};
use crate::{Condition, RuleKey};

impl<'a> Judge<'a> {
    /// A part that is off and not written off.
    pub(super) fn off(&mut self, item: &ItemId) -> Option<&'a Part> {
        if !self.item(item) {
            return None;
        }
        let part = self.shop().parts.parts.get(item);
        let told = |part: &&Part| {
            !matches!(part.whereabouts, Whereabouts::Fitted | Whereabouts::Untold)
        };
        let Some(part) = part.filter(told) else {
            let (what, hint) = if self.programme.is_off(item) {
                (format!("{item} is off and has no tag"), "tag it first")
            } else {
                (format!("{item} is on the aircraft"), "tag it when it comes off")
            };
            self.refuse(RuleKey::Tagging, what, hint);
            return None;
        };
        if part.whereabouts == Whereabouts::Gone {
            let what = format!("{item} was written off");
            self.refuse(RuleKey::Writeoff, what, "use another one");
            return None;
        }
        Some(part)
    }

    /// A part that is off and here.
    pub(super) fn here(&mut self, item: &ItemId) -> Option<&'a Part> {
        let part = self.off(item)?;
        if let Whereabouts::Away(firm) = &part.whereabouts {
            let what = format!("{item} is away at {firm}");
            self.refuse(RuleKey::Custody, what, "take it in first");
            return None;
        }
        Some(part)
    }

    /// A part that is off, here, checked in and not in quarantine.
    pub(super) fn free(&mut self, item: &ItemId) -> Option<&'a Part> {
        let part = self.here(item)?;
        let mut free = true;
        if let Some((reason, _)) = &part.quarantine {
            let what = format!("{item} is in quarantine: {reason}");
            self.refuse(
                RuleKey::Segregation,
                what,
                "release it first, with what was found out",
            );
            free = false;
        }
        if part.waits {
            let what = format!("{item} came back and was not checked");
            let hint = "accept it against its papers, or put it into quarantine";
            self.refuse(RuleKey::ReceivingCheck, what, hint);
            free = false;
        }
        free.then_some(part)
    }

    pub(super) fn tag(&mut self, act: &Tag) {
        let Tag { item, job, location, service, preservation, defects, place, .. } = act;
        if !self.item(item) {
            return;
        }
        for (field, text) in [
            ("location", location),
            ("service", service),
            ("preservation", preservation),
            ("defects", defects),
        ] {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::Tagging,
                || format!("the tag of {item} leaves `{field}` open"),
                "say what is known; where nothing is known, say that",
            );
        }
        self.place(place);
        if let Some(job) = job {
            self.open_card(job);
        }
        let part = self.shop().parts.parts.get(item);
        let tagged = part.is_some_and(|p| !p.is_fitted() && p.tag.is_some());
        self.hold(
            !tagged,
            RuleKey::Known,
            || format!("{item} is tagged and not fitted since"),
            "move it, or say what class it is",
        );
        let fixed = self.programme.items.get(item).and_then(|item| item.fixed.as_ref());
        if let Some(why) = fixed {
            let what = format!("{item} never comes off: {why}");
            self.refuse(RuleKey::Known, what, "tag what came off it");
        }
        let limited = part.is_some_and(|part| part.life.is_some());
        let controlled =
            act.control.as_ref().is_some_and(|control| !control.trim().is_empty());
        self.hold(
            controlled || !limited,
            RuleKey::Life,
            || format!("{item} has a limited life and nothing keeps it from going back unseen"),
            "say how that is controlled: by the record, a mark, a locked store",
        );
    }

    pub(super) fn move_part(&mut self, act: &Move) {
        self.place(&act.place);
        let Some(part) = self.here(&act.item) else { return };
        self.hold(
            part.quarantine.is_none(),
            RuleKey::Segregation,
            || format!("{} is in quarantine", act.item),
            "release it first",
        );
    }

    pub(super) fn class_part(&mut self, act: &ClassPart) {
        let ClassPart { item, class, basis } = act;
        self.hold(
            !basis.trim().is_empty(),
            RuleKey::PartClass,
            || format!("it is not said why {item} is {}", class.word()),
            "name the card, certificate or inspection",
        );
        let power = match class {
            PartClass::Standard | PartClass::Material => Power::Stores,
            _ => Power::Certify,
        };
        self.power(power, Some(item));
        if *class != PartClass::Serviceable {
            self.off(item);
            return;
        }
        let Some(part) = self.free(item) else { return };
        if part.doubtful {
            let by = self.by();
            let may = self.has(by, Power::Engineer, Some(item));
            self.hold(
                may,
                RuleKey::Pedigree,
                || format!("nobody can tell what {item} went through"),
                "strip, test and measure it; then an engineer accepts it",
            );
        }
        self.life_left(item, part);
        self.no_open_finding(item);
    }

    fn life_left(&mut self, item: &ItemId, part: &Part) {
        let today = self.today();
        let Some(life) = part.life.as_ref().filter(|life| !life.is_left(today)) else {
            return;
        };
        let what = match life.left(today) {
            Some(_) => format!("the life of {item} is used up"),
            None => format!("nobody knows how much of its life {item} has used"),
        };
        self.refuse(
            RuleKey::Life,
            what,
            "an engineer states its life, or it is written off",
        );
    }

    /// Nothing open on a part keeps it from being serviceable.
    fn no_open_finding(&mut self, item: &ItemId) {
        let programme = self.programme;
        let on = |finding: &&crate::FindingId| {
            programme.item_of_finding(finding) == Some(item)
        };
        for finding in programme.open_findings().into_iter().filter(on) {
            let state = self.shop().findings.states.get(finding);
            let condition =
                state.map_or(Condition::Unknown, super::FindingState::condition);
            if condition != Condition::WithinLimits
                && state.is_none_or(|state| state.deferred.is_none())
            {
                let what = format!("{finding} on {item} is open: {}", condition.word());
                self.refuse(RuleKey::Unknown, what, "clear it or class it first");
            }
        }
    }

    pub(super) fn quarantine(&mut self, act: &Quarantine) {
        self.stated("reason", &act.reason);
        let Some(part) = self.here(&act.item) else { return };
        self.hold(
            part.quarantine.is_none(),
            RuleKey::Known,
            || format!("{} is in quarantine", act.item),
            "it need not be again",
        );
    }

    pub(super) fn release(&mut self, act: &Release) {
        self.power(Power::Stores, Some(&act.item));
        self.stated("basis", &act.basis);
        let Some(part) = self.here(&act.item) else { return };
        self.hold(
            part.quarantine.is_some(),
            RuleKey::Known,
            || format!("{} is not in quarantine", act.item),
            "it need not be released",
        );
    }

    pub(super) fn scrap(&mut self, act: &Scrap) {
        self.power(Power::Certify, Some(&act.item));
        self.hold(
            !act.disposal.trim().is_empty(),
            RuleKey::Writeoff,
            || format!("it is not said how {} is kept from coming back", act.item),
            "say how it was made unusable, or that it is kept for display, marked, and where",
        );
        self.here(&act.item);
    }

    pub(super) fn rob(&mut self, act: &Rob) {
        let Rob { item, donor, recipient, reason, finding, lacking, history } = act;
        self.power(Power::Rob, Some(item));
        self.all_stated(&[("donor", donor), ("reason", reason), ("history", history)]);
        self.item(recipient);
        self.item(lacking);
        self.new_finding(finding);
        self.hold(
            item != recipient,
            RuleKey::Robbery,
            || format!("{item} would go into itself"),
            "name what it goes into",
        );
        self.free(item);
    }

    pub(super) fn life(&mut self, act: &Life) {
        let Life { item, limit, unit: _, used, basis } = act;
        self.power(Power::Engineer, Some(item));
        self.item(item);
        self.amount("limit", *limit);
        self.stated("basis", basis);
        let used = used.unwrap_or(0.0);
        self.hold(
            used.is_finite() && used >= 0.0,
            RuleKey::Stated,
            || format!("`used` is {used}"),
            "give what it has used, or leave it out if nobody knows",
        );
    }

    pub(super) fn use_life(&mut self, act: &Use) {
        let Use { items, amount, unit, what, on } = act;
        self.power(Power::Certify, None);
        for item in items {
            self.item(item);
        }
        self.amount("amount", *amount);
        self.stated("what", what);
        self.past("on", *on, RuleKey::Clock);
        self.hold(
            *unit != LifeUnit::Days,
            RuleKey::Stated,
            || "days count by themselves".to_owned(),
            "leave them out",
        );
    }

    pub(super) fn fit(&mut self, act: &Fit) {
        let Fit { item, job, checked } = act;
        self.at_card(job);
        let Some(part) = self.free(item) else { return };
        let usable = matches!(part.class, PartClass::Serviceable | PartClass::Standard);
        self.hold(
            usable,
            RuleKey::PartClass,
            || format!("{item} is {}", part.class.word()),
            "have it classed by somebody entitled to",
        );
        self.life_left(item, part);
        self.hold(
            *checked,
            RuleKey::ReceivingCheck,
            || format!("the installer did not look at {item} and its papers"),
            "look at it: a release document is no leave to fit",
        );
    }
}
