//! Parts: where each is, what class it is, and what keeps it from being fitted.

use std::collections::BTreeMap;
use std::sync::Arc;

use airframe::ItemId;
use jiff::civil::Date;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{
    Accept, Act, Certificate, Chase, ClassPart, Despatch, Fit, Life, LifeUnit, Move,
    PartClass, Power, Quarantine, Receive, Release, Rob, Scrap, Stamp, Tag, Use,
};
use crate::{Condition, FirmId, PlaceId, Programme, RuleKey, TakesOn};

/// Parts with which something was done.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Parts {
    /// By item.
    pub parts: BTreeMap<ItemId, Part>,
}

/// A part.
#[derive(Debug, Clone, PartialEq)]
pub struct Part {
    /// Where it is.
    pub whereabouts: Whereabouts,
    /// Its class.
    pub class: PartClass,
    /// Its tag, while it is off.
    pub tag: Option<(Tag, Mark)>,
    /// It came back and waits for its receiving check.
    pub waits: bool,
    /// Why it is in quarantine.
    pub quarantine: Option<(String, Mark)>,
    /// It comes from an aircraft that had an accident, or from where nobody knows, and no
    /// engineer has accepted it yet.
    pub doubtful: bool,
    /// Where it was last sent.
    pub custody: Option<Custody>,
    /// The document that came with it.
    pub certificate: Option<Certificate>,
    /// Its life, if that is limited.
    pub life: Option<LifeState>,
}

/// Where a part is.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Whereabouts {
    /// On the aircraft.
    Fitted,
    /// Off since before the record began, and nobody has said where.
    Untold,
    /// Off, at a place of the workshop.
    At(PlaceId),
    /// Away, at a firm.
    Away(FirmId),
    /// Written off.
    Gone,
}

/// The way of a part to a firm and back.
#[derive(Debug, Clone, PartialEq)]
pub struct Custody {
    /// As it was sent.
    pub despatch: Despatch,
    /// By whom and when.
    pub sent: Mark,
    /// When it is due, as it stands.
    pub due: Date,
    /// How often it was asked for.
    pub chased: u32,
    /// By whom and when it was taken in.
    pub back: Option<Mark>,
}

/// A life that is limited.
#[derive(Debug, Clone, PartialEq)]
pub struct LifeState {
    /// The most that it may have used.
    pub limit: f64,
    /// What is counted.
    pub unit: LifeUnit,
    /// What it has used; nothing if that is not known.
    pub used: Option<f64>,
    /// The day on which `used` was stated, from which days count on.
    pub since: Date,
}

impl LifeState {
    /// What is left on a day; nothing if that is not known.
    pub fn left(&self, on: Date) -> Option<f64> {
        let days = match self.unit {
            LifeUnit::Days => f64::from((on - self.since).get_days()),
            _ => 0.0,
        };
        self.used.map(|used| self.limit - used - days)
    }

    /// Whether a part with it may be in service on a day.
    pub fn is_left(&self, on: Date) -> bool {
        self.left(on).is_some_and(|left| left > 0.0)
    }
}

impl Part {
    /// A part of which nothing was said yet.
    fn of(off: bool) -> Self {
        Self {
            whereabouts: if off { Whereabouts::Untold } else { Whereabouts::Fitted },
            class: if off { PartClass::Unserviceable } else { PartClass::Serviceable },
            tag: None,
            waits: false,
            quarantine: None,
            doubtful: false,
            custody: None,
            certificate: None,
            life: None,
        }
    }

    /// Whether it is on the aircraft.
    pub fn is_fitted(&self) -> bool {
        self.whereabouts == Whereabouts::Fitted
    }
}

impl Programme {
    /// Whether an item is off: tagged and not fitted since, or off when the survey was made.
    pub fn is_off(&self, item: &ItemId) -> bool {
        match self.shop.parts.parts.get(item) {
            Some(part) => !part.is_fitted(),
            None => self.items.get(item).is_some_and(|item| item.off),
        }
    }
}

impl<'a> Judge<'a> {
    /// A part that is off and not written off.
    fn off(&mut self, item: &ItemId) -> Option<&'a Part> {
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
    fn here(&mut self, item: &ItemId) -> Option<&'a Part> {
        let part = self.off(item)?;
        if let Whereabouts::Away(firm) = &part.whereabouts {
            let what = format!("{item} is away at {firm}");
            self.refuse(RuleKey::Custody, what, "take it in first");
            return None;
        }
        Some(part)
    }

    /// A part that is off, here, checked in and not in quarantine.
    fn free(&mut self, item: &ItemId) -> Option<&'a Part> {
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

    pub(super) fn despatch(&mut self, act: &Despatch) {
        let Despatch {
            item,
            firm,
            order,
            scope,
            document,
            due,
            preservation,
            carrier,
            ..
        } = act;
        self.power(Power::Stores, Some(item));
        self.free(item);
        let firms = &self.programme.firms;
        let away = self.known(firms, firm).is_none_or(|f| f.takes_on == TakesOn::Away);
        self.hold(
            away,
            RuleKey::Custody,
            || format!("{firm} works here; nothing is sent to it"),
            "leave the part where it is",
        );
        for (field, text) in [
            ("order", order),
            ("scope", scope),
            ("document", document),
            ("preservation", preservation),
            ("carrier", carrier),
        ] {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::Custody,
                || format!("the despatch of {item} leaves `{field}` open"),
                "say it before the part leaves",
            );
        }
        self.not_over("due", *due, RuleKey::Custody);
        let declared =
            act.declaration.as_ref().is_some_and(|text| !text.trim().is_empty());
        if let Some(medium) = act.dangerous.filter(|_| !declared) {
            let what = format!("{item} holds {} and travels undeclared", medium.word());
            let hint =
                "have it declared by somebody trained for it, or make it safe first";
            self.refuse(RuleKey::DangerousGoods, what, hint);
        }
    }

    fn away(&mut self, item: &ItemId) -> bool {
        let Some(part) = self.off(item) else { return false };
        let away = matches!(part.whereabouts, Whereabouts::Away(_));
        self.hold(
            away,
            RuleKey::Custody,
            || format!("{item} is not away"),
            "look where the record says that it is",
        )
    }

    pub(super) fn chase(&mut self, act: &Chase) {
        self.stated("answer", &act.answer);
        if let Some(due) = act.due {
            self.not_over("due", due, RuleKey::Custody);
        }
        self.away(&act.item);
    }

    pub(super) fn receive(&mut self, act: &Receive) {
        self.stated("packing", &act.packing);
        self.place(&act.place);
        self.away(&act.item);
    }

    pub(super) fn accept(&mut self, act: &Accept) {
        let Accept { item, certificate, done, complete } = act;
        self.power(Power::Stores, Some(item));
        let Some(part) = self.here(item) else { return };
        self.hold(
            part.waits,
            RuleKey::Known,
            || format!("{item} does not wait for a receiving check"),
            "nothing needs to be accepted",
        );
        self.hold(
            part.quarantine.is_none(),
            RuleKey::Segregation,
            || format!("{item} is in quarantine"),
            "release it first",
        );
        self.stated("done", done);
        self.hold(
            *complete,
            RuleKey::ReceivingCheck,
            || format!("not all that was ordered for {item} was done"),
            "put it into quarantine, or send it back",
        );
        self.certificate(item, certificate);
    }

    fn certificate(&mut self, item: &ItemId, certificate: &Certificate) {
        let Certificate { number, status, serial, data, revision } = certificate;
        for (field, text) in [("number", number), ("status", status), ("data", data)] {
            self.hold(
                !text.trim().is_empty(),
                RuleKey::ReleaseDocument,
                || format!("the document of {item} says no `{field}`"),
                "have the firm put it right; the part waits",
            );
        }
        self.hold(
            !status.contains(['/', ',', ';', '+']),
            RuleKey::ReleaseDocument,
            || format!("the document of {item} has more than one status: {status}"),
            "have the firm put it right; the part waits",
        );
        let revised =
            revision.as_ref().is_some_and(|revision| !revision.trim().is_empty());
        self.hold(
            revised,
            RuleKey::ReleaseDocument,
            || format!("the document of {item} names data without their revision"),
            "have the firm put it right; the part waits",
        );
        let own = self.programme.items.get(item).and_then(|item| item.serial.as_ref());
        if let Some(own) = own {
            let same = serial.as_ref().is_some_and(|serial| serial.trim() == own.trim());
            self.hold(
                same,
                RuleKey::ReleaseDocument,
                || {
                    let found = serial.as_deref().unwrap_or("none");
                    format!("{item} has the serial number {own}, its document {found}")
                },
                "find out which part this is before anything else is done with it",
            );
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

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    if let Act::Use(act) = act {
        return use_up(programme, act);
    }
    let Some(item) = item_of(act) else { return };
    let off = programme.items.get(item).is_some_and(|item| item.off);
    let parts = Arc::make_mut(&mut programme.shop.parts);
    let part = parts.parts.entry(item.clone()).or_insert_with(|| Part::of(off));
    let mark = Mark::of(stamp);
    match act {
        Act::Tag(act) => {
            part.whereabouts = Whereabouts::At(act.place.clone());
            part.class = PartClass::Unserviceable;
            part.doubtful |= act.accident;
            part.tag = Some((act.clone(), mark));
        }
        Act::Move(act) => part.whereabouts = Whereabouts::At(act.place.clone()),
        Act::ClassPart(act) => {
            part.class = act.class;
            part.doubtful &= act.class != PartClass::Serviceable;
        }
        Act::Despatch(act) => {
            part.whereabouts = Whereabouts::Away(act.firm.clone());
            let due = act.due;
            let despatch = act.clone();
            part.custody =
                Some(Custody { despatch, sent: mark, due, chased: 0, back: None });
        }
        Act::Chase(act) => {
            if let Some(custody) = &mut part.custody {
                custody.chased += 1;
                custody.due = act.due.unwrap_or(custody.due);
            }
        }
        Act::Receive(act) => {
            part.whereabouts = Whereabouts::At(act.place.clone());
            part.waits = true;
            part.class = PartClass::Unserviceable;
            part.custody.iter_mut().for_each(|custody| custody.back = Some(mark.clone()));
        }
        Act::Accept(act) => {
            part.waits = false;
            part.class = PartClass::Serviceable;
            part.certificate = Some(act.certificate.clone());
        }
        Act::Quarantine(act) => part.quarantine = Some((act.reason.clone(), mark)),
        Act::Release(_) => part.quarantine = None,
        Act::Scrap(_) => {
            part.whereabouts = Whereabouts::Gone;
            part.class = PartClass::Unsalvageable;
        }
        // Of unknown condition, and doubtful until an engineer has read its history.
        Act::Rob(_) => {
            part.class = PartClass::Unserviceable;
            part.doubtful = true;
        }
        Act::Life(act) => {
            let Life { item: _, limit, unit, used, basis: _ } = *act;
            part.life = Some(LifeState { limit, unit, used, since: stamp.at.date() });
        }
        Act::Fit(_) => part.whereabouts = Whereabouts::Fitted,
        _ => {}
    }
}

/// The part that an act is about, if it is about one.
fn item_of(act: &Act) -> Option<&ItemId> {
    Some(match act {
        Act::Tag(act) => &act.item,
        Act::Move(act) => &act.item,
        Act::ClassPart(act) => &act.item,
        Act::Despatch(act) => &act.item,
        Act::Chase(act) => &act.item,
        Act::Receive(act) => &act.item,
        Act::Accept(act) => &act.item,
        Act::Quarantine(act) => &act.item,
        Act::Release(act) => &act.item,
        Act::Scrap(act) => &act.item,
        Act::Rob(act) => &act.item,
        Act::Life(act) => &act.item,
        Act::Fit(act) => &act.item,
        _ => return None,
    })
}

/// Adds what was used to every part that counts in that unit and was fitted, or was named.
fn use_up(programme: &mut Programme, act: &Use) {
    let parts = Arc::make_mut(&mut programme.shop.parts);
    for (item, part) in &mut parts.parts {
        let meant = if act.items.is_empty() {
            part.is_fitted()
        } else {
            act.items.contains(item)
        };
        let life = part.life.as_mut().filter(|life| meant && life.unit == act.unit);
        if let Some(used) = life.and_then(|life| life.used.as_mut()) {
            *used += act.amount;
        }
    }
}
