//! Parts: where each is, what class it is, and what keeps it from being fitted.

use std::collections::BTreeMap;
use std::sync::Arc;

use airframe::ItemId;
use jiff::civil::Date;

use super::cards::Mark;
use crate::act::{
    Act, Certificate, Despatch, Life, LifeUnit, PartClass, Stamp, Tag, Use,
};
use crate::{FirmId, PlaceId, Programme};

/// Parts with which something was done.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Parts {
    /// By item.
    pub parts: BTreeMap<ItemId, Part>,
}

/// A part.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
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
    /// Where it was sent before that, the first time first.
    pub sent_before: Vec<Custody>,
    /// When it last came off, as far as the record knows.
    pub came_off: Option<Mark>,
    /// When it was last fitted.
    pub fitted: Option<Mark>,
    /// The document that came with it.
    pub certificate: Option<Certificate>,
    /// Its life, if that is limited.
    pub life: Option<LifeState>,
}

/// Where a part is.
#[derive(Debug, Clone, PartialEq, Eq, serde::Serialize, serde::Deserialize)]
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
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
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
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
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
            sent_before: Vec::new(),
            came_off: None,
            fitted: None,
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
    /// Whether an item was off when a day began, as far as its last removal and its last refit
    /// tell.
    pub fn was_off(&self, item: &ItemId, day: Date) -> bool {
        let listed = self.items.get(item).is_some_and(|item| item.off);
        let Some(part) = self.shop.parts.parts.get(item) else { return listed };
        let before = |mark: &Mark| mark.at.date() < day;
        let fitted_later = part.fitted.as_ref().is_some_and(|mark| !before(mark));
        match &part.came_off {
            Some(mark) if !before(mark) => false,
            Some(_) => !part.is_fitted() || fitted_later,
            None => listed && (!part.is_fitted() || fitted_later),
        }
    }

    /// Whether an item is off: tagged and not fitted since, or off when the survey was made.
    pub fn is_off(&self, item: &ItemId) -> bool {
        match self.shop.parts.parts.get(item) {
            Some(part) => !part.is_fitted(),
            None => self.items.get(item).is_some_and(|item| item.off),
        }
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
            part.came_off = Some(mark.clone());
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
            let custody = Custody { despatch, sent: mark, due, chased: 0, back: None };
            part.sent_before.extend(part.custody.replace(custody));
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
        Act::Fit(_) => {
            part.whereabouts = Whereabouts::Fitted;
            part.fitted = Some(mark);
        }
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
