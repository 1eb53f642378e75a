//! Authorities: who may sign what, and since when.

use std::collections::BTreeMap;
use std::sync::Arc;

use airframe::Chapter;
use jiff::civil::Date;

use super::cards::Mark;
use super::judge::Judge;
use crate::act::{Act, Grant, Power, Stamp, Withdraw};
use crate::{AuthorityId, PersonId, Programme, RuleKey};

/// All authorities that were ever given.
#[derive(Debug, Clone, PartialEq, Default, serde::Serialize, serde::Deserialize)]
pub struct Authorities {
    /// By name.
    pub given: BTreeMap<AuthorityId, Given>,
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

impl Judge<'_> {
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
