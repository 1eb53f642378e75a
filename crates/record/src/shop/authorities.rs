//! Authorities: who may sign what, and since when.

use std::collections::BTreeMap;
use std::sync::Arc;

use airframe::Chapter;
use jiff::civil::Date;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{Act, Enrol, Grant, Power, Stamp, Withdraw};
use crate::{AuthorityId, PersonId, Programme, Refusal, RuleKey};

/// All authorities that were ever given.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Authorities {
    /// By name.
    pub given: BTreeMap<AuthorityId, Given>,
    /// The key of each person who has one.
    pub keys: BTreeMap<PersonId, Key>,
}

/// An authority that was given.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Given {
    /// As it was given.
    pub grant: Grant,
    /// By whom and when.
    pub by: Mark,
    /// By whom and when it was taken away again.
    pub withdrawn: Option<Mark>,
}

/// A key that only a person's secret makes.
#[derive(Debug, Clone, PartialEq, serde::Serialize, serde::Deserialize)]
pub struct Key {
    /// As it was entered.
    pub enrol: Enrol,
    /// By whom and when.
    pub by: Mark,
}

impl Given {
    /// Whether it is valid on a day.
    pub fn is_valid(&self, on: Date) -> bool {
        self.withdrawn.is_none()
            && self.grant.from <= on
            && self.grant.until.is_none_or(|until| on <= until)
    }
}

impl Authorities {
    /// Whether somebody has a power on a day. An authority that is limited to chapters
    /// covers work on what belongs to one of them, and nothing else.
    pub fn covers(
        &self,
        person: &PersonId,
        power: Power,
        chapter: Option<Chapter>,
        on: Date,
    ) -> bool {
        self.of(person).any(|(_, given)| {
            let limits = &given.grant.chapters;
            let within = |chapter: Chapter| limits.iter().any(|l| chapter.is_within(*l));
            let fits = limits.is_empty() || chapter.is_some_and(within);
            given.grant.power == power && fits && given.is_valid(on)
        })
    }

    /// Those of a person.
    pub fn of<'a>(
        &'a self,
        person: &'a PersonId,
    ) -> impl Iterator<Item = (&'a AuthorityId, &'a Given)> {
        self.given.iter().filter(move |(_, given)| given.grant.person == *person)
    }

    /// The one for a power that somebody would point to first.
    pub(super) fn nearest<'a>(
        &'a self,
        person: &'a PersonId,
        power: Power,
    ) -> Option<(&'a AuthorityId, &'a Given)> {
        self.of(person)
            .filter(|(_, given)| given.grant.power == power)
            .max_by_key(|(_, given)| (given.withdrawn.is_none(), given.grant.until))
    }
}

impl Programme {
    /// What forbids that a person signs with a seal, or without one, as the case may be.
    /// Whether the seal is theirs is for whoever holds the key against it to say.
    pub fn seal_refusal(&self, person: &PersonId, sealed: bool) -> Option<Refusal> {
        let authorities = &self.shop.authorities;
        let has = authorities.keys.contains_key(person);
        let (what, hint) = match (has, sealed) {
            (true, false) => (
                format!("{person} has a secret, and this is not sealed with it"),
                "give the secret",
            ),
            (false, true) => (
                format!("{person} has no key that a secret could make"),
                "somebody who may appoint enrols them first",
            ),
            (true, true) | (false, false) => return None,
        };
        Some(Refusal { rule: RuleKey::Seal, what, hint: hint.to_owned() })
    }
}

impl Judge<'_> {
    pub(super) fn enrol(&mut self, act: &Enrol) {
        let Enrol { person, key, salt, derivation, reason } = act;
        let people = &self.programme.people;
        self.known(people, person);
        self.all_stated(&[("derivation", derivation), ("reason", reason)]);
        for (field, digits, least) in [("key", key, 64), ("salt", salt, 32)] {
            let hex = digits.len() >= least && digits.len() % 2 == 0;
            self.hold(
                hex && digits.bytes().all(|digit| digit.is_ascii_hexdigit()),
                RuleKey::Stated,
                || format!("`{field}` has not {least} hexadecimal digits or more"),
                "let `turnbuckle enrol` make it",
            );
        }
        let keys = &self.shop().authorities.keys;
        let own = person == self.by();
        // Whoever has a key seals this with it; without one, nobody could tell who it is.
        if keys.is_empty() || (own && keys.contains_key(person)) {
            return;
        }
        if own {
            let what = format!("{person} has no key yet that would show who this is");
            let hint = "somebody who may appoint enrols them";
            self.refuse(RuleKey::Seal, what, hint);
        } else {
            self.power(Power::Appoint, None);
        }
    }

    pub(super) fn grant(&mut self, act: &Grant) {
        let Grant {
            authority,
            person,
            power,
            chapters: _,
            reference,
            from,
            until,
            specimen,
        } = act;
        let given = &self.shop().authorities.given;
        if given.contains_key(authority) {
            self.taken("authority", authority);
        }
        self.person(person);
        self.hold(
            !self.observes(person),
            RuleKey::Authority,
            || format!("{person} is an observer, who reads the record and signs nothing"),
            "give them another standing in the list of people first",
        );
        self.stated("reference", reference);
        if let Some(specimen) = specimen {
            self.stated("specimen", specimen);
        }
        if let Some(until) = until {
            self.hold(
                from <= until,
                RuleKey::Stated,
                || format!("it ends on {until}, before it begins on {from}"),
                "exchange the two days",
            );
            self.not_over("until", *until, RuleKey::Stated);
        }
        if given.is_empty() {
            self.hold(
                *power == Power::Appoint,
                RuleKey::Appointment,
                || {
                    format!(
                        "the first authority of a programme is one to {}",
                        power.word()
                    )
                },
                "grant one to appoint first; whoever holds it gives the others",
            );
            return;
        }
        self.appointed(person);
    }

    pub(super) fn withdraw(&mut self, act: &Withdraw) {
        self.stated("reason", &act.reason);
        let Some(given) = self.shop().authorities.given.get(&act.authority) else {
            self.unknown("authority", &act.authority);
            return;
        };
        if let Some(taken) = &given.withdrawn {
            let what = format!("{} was withdrawn on {}", act.authority, taken.at.date());
            self.refuse(RuleKey::Known, what, "it need not be withdrawn again");
        }
        // Giving up one's own needs nobody's leave.
        if given.grant.person != *self.by() {
            self.power_to_appoint();
        }
    }

    fn appointed(&mut self, person: &PersonId) {
        self.power_to_appoint();
        let by = self.by();
        self.hold(
            person != by,
            RuleKey::Appointment,
            || format!("{by} would give an authority to {by}"),
            "somebody else who may appoint gives it",
        );
    }

    fn power_to_appoint(&mut self) {
        let by = self.by();
        let may = self.has(by, Power::Appoint, None);
        self.hold(
            may,
            RuleKey::Appointment,
            || format!("{by} has no authority to appoint"),
            "somebody who may appoint does it",
        );
    }
}

pub(super) fn perform(programme: &mut Programme, act: &Act, stamp: &Stamp) {
    let mark = Mark::of(stamp);
    match act {
        Act::Enrol(act) => {
            let key = Key { enrol: act.clone(), by: Mark::of(stamp) };
            let all = Arc::make_mut(&mut programme.shop.authorities);
            all.keys.insert(act.person.clone(), key);
        }
        Act::Grant(grant) => {
            let given = Given { grant: grant.clone(), by: mark, withdrawn: None };
            let list = Arc::make_mut(&mut programme.shop.authorities);
            list.given.insert(grant.authority.clone(), given);
        }
        Act::Withdraw(withdraw) => {
            let list = Arc::make_mut(&mut programme.shop.authorities);
            if let Some(given) = list.given.get_mut(&withdraw.authority) {
                given.withdrawn = Some(mark);
            }
        }
        _ => {}
    }
}
