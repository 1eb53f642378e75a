//! What the judgements of all areas have in common.

use airframe::ItemId;
use jiff::civil::Date;

use crate::act::{Act, Power, Stamp};
use crate::{
    FindingId, GateId, Named, PersonId, PlaceId, Programme, Refusal, Register, RuleKey,
    SeasonId, Shop, Standing,
};

/// By how much an act may be dated before the last one: clocks of two devices differ.
pub(super) const APART_MINUTES: i64 = 10;

/// Holds one act against the rules, and notes every one that it breaks.
pub(super) struct Judge<'a> {
    pub(super) programme: &'a Programme,
    pub(super) stamp: &'a Stamp,
    pub(super) refusals: Vec<Refusal>,
}

impl<'a> Judge<'a> {
    pub(super) fn new(programme: &'a Programme, stamp: &'a Stamp) -> Self {
        Self { programme, stamp, refusals: Vec::new() }
    }

    pub(super) fn shop(&self) -> &'a Shop {
        &self.programme.shop
    }

    /// The day of the act.
    pub(super) fn today(&self) -> Date {
        self.stamp.at.date()
    }

    pub(super) fn by(&self) -> &'a PersonId {
        &self.stamp.by
    }

    pub(super) fn refuse(
        &mut self,
        rule: RuleKey,
        what: impl Into<String>,
        hint: impl Into<String>,
    ) {
        let refusal = Refusal { rule, what: what.into(), hint: hint.into() };
        if !self.refusals.contains(&refusal) {
            self.refusals.push(refusal);
        }
    }

    /// Refuses unless something holds; whether it does.
    pub(super) fn hold(
        &mut self,
        holds: bool,
        rule: RuleKey,
        what: impl FnOnce() -> String,
        hint: &str,
    ) -> bool {
        if !holds {
            self.refuse(rule, what(), hint);
        }
        holds
    }

    /// An act is not dated before what it builds on.
    pub(super) fn clock(&mut self) {
        let Some(last) = self.shop().last else {
            return;
        };
        let span = jiff::Span::new().minutes(APART_MINUTES);
        let earliest = last.checked_sub(span).unwrap_or(last);
        let at = self.stamp.at;
        self.hold(
            at >= earliest,
            RuleKey::Clock,
            || format!("it is dated {at}, and the last act was done at {last}"),
            "set the clock of this machine; if the earlier act was misdated, somebody who may \
             appoint says so: `right-clock`",
        );
    }

    /// Whoever signs is somebody whom the programme knows, works here, and is there on that
    /// day.
    pub(super) fn signer(&mut self, act: &Act) -> bool {
        let (by, today) = (self.by(), self.today());
        let Some(person) = self.programme.people.get(by) else {
            self.refuse(
                RuleKey::Known,
                format!("nobody is called {by} in this programme"),
                "sign with the name that the list of people gives you",
            );
            return false;
        };
        let gone = person.until.filter(|until| *until < today);
        if let Some(until) = gone {
            self.refuse(
                RuleKey::Authority,
                format!("{by} left on {until}"),
                "somebody who is there signs; or put the last day right in the list of people",
            );
        }
        // Observers have a secret too, and may change it.
        let own = matches!(act, Act::Enrol(enrol) if enrol.person == *by)
            && self.shop().authorities.keys.contains_key(by);
        let looks_on = self.observes(by) && !own;
        if looks_on {
            self.refuse(
                RuleKey::Authority,
                format!("{by} is an observer, who reads the record and signs nothing"),
                "somebody who works here signs; or put the standing right in the list of people",
            );
        }
        gone.is_none() && !looks_on
    }

    /// Whether somebody only looks on.
    pub(super) fn observes(&self, person: &PersonId) -> bool {
        let person = self.programme.people.get(person);
        person.is_some_and(|person| person.standing == Standing::Observer)
    }

    /// A text that must say something.
    pub(super) fn stated(&mut self, field: &str, text: &str) -> bool {
        self.hold(
            !text.trim().is_empty(),
            RuleKey::Stated,
            || format!("`{field}` says nothing"),
            "say it in words; where nothing is to be said, say so",
        )
    }

    pub(super) fn all_stated(&mut self, fields: &[(&str, &str)]) {
        for (field, text) in fields {
            self.stated(field, text);
        }
    }

    /// An amount that can be so.
    pub(super) fn amount(&mut self, field: &str, amount: f64) -> bool {
        self.hold(
            amount.is_finite() && amount > 0.0,
            RuleKey::Stated,
            || format!("`{field}` is {amount}"),
            "give an amount greater than nothing",
        )
    }

    /// A day that is not to come.
    pub(super) fn past(&mut self, field: &str, day: Date, rule: RuleKey) -> bool {
        let today = self.today();
        self.hold(
            day <= today,
            rule,
            || format!("`{field}` is {day}, and today is {today}"),
            "give the day on which it was",
        )
    }

    /// A day that is not over.
    pub(super) fn not_over(&mut self, field: &str, day: Date, rule: RuleKey) -> bool {
        let today = self.today();
        self.hold(
            day >= today,
            rule,
            || format!("`{field}` is {day}, and today is {today}"),
            "give a day that is not over",
        )
    }

    /// Something of a list of the programme.
    pub(super) fn known<T: Named>(
        &mut self,
        list: &'a Register<T>,
        name: &T::Name,
    ) -> Option<&'a T> {
        let found = list.get(name);
        if found.is_none() {
            self.unknown(T::NOUN, name);
        }
        found
    }

    pub(super) fn unknown(&mut self, noun: &str, name: &dyn std::fmt::Display) {
        self.refuse(
            RuleKey::Known,
            format!("there is no {noun} {name}"),
            format!("name a {noun} that there is, or enter it first"),
        );
    }

    pub(super) fn taken(&mut self, noun: &str, name: &dyn std::fmt::Display) {
        self.refuse(
            RuleKey::Known,
            format!("there is a {noun} {name} already"),
            "choose another name",
        );
    }

    pub(super) fn item(&mut self, item: &ItemId) -> bool {
        let list = &self.programme.items;
        self.known(list, item).is_some()
    }

    pub(super) fn place(&mut self, place: &PlaceId) -> bool {
        let list = &self.programme.places;
        self.known(list, place).is_some()
    }

    pub(super) fn person(&mut self, person: &PersonId) -> bool {
        let list = &self.programme.people;
        self.known(list, person).is_some()
    }

    pub(super) fn season(&mut self, season: &SeasonId) -> bool {
        let list = &self.programme.seasons;
        self.known(list, season).is_some()
    }

    /// The place of a gate in the order.
    pub(super) fn gate(&mut self, gate: &GateId) -> Option<u32> {
        let list = &self.programme.gates;
        self.known(list, gate).map(|gate| gate.order)
    }

    /// A finding, from the survey or raised since.
    pub(super) fn finding(&mut self, finding: &FindingId) -> bool {
        let known = self.programme.has_finding(finding);
        if !known {
            self.unknown("finding", finding);
        }
        known
    }

    /// A name for a finding that is still free.
    pub(super) fn new_finding(&mut self, finding: &FindingId) {
        if self.programme.has_finding(finding) {
            self.taken("finding", finding);
        }
    }

    /// Whether the signer works under supervision.
    pub(super) fn is_supervised(&self, person: &PersonId) -> bool {
        let person = self.programme.people.get(person);
        person.is_none_or(|person| person.standing == Standing::Volunteer)
    }

    /// The signer has an authority for this on the day of the act.
    pub(super) fn power(&mut self, power: Power, item: Option<&ItemId>) -> bool {
        let by = self.by();
        let has = self.has(by, power, item);
        if !has {
            let why = self.why_not(by, power, item);
            let what = format!("{by} has no authority to {}{why}", power.word());
            let hint = format!(
                "somebody who may {} signs, or an authority is granted first",
                power.word()
            );
            self.refuse(RuleKey::Authority, what, hint);
        }
        has
    }

    pub(super) fn has(
        &self,
        person: &PersonId,
        power: Power,
        item: Option<&ItemId>,
    ) -> bool {
        let chapter = item.and_then(|item| self.programme.items.get(item)?.chapter);
        self.shop().authorities.covers(person, power, chapter, self.today())
    }

    /// Why authorities that come near do not count, in words.
    fn why_not(&self, person: &PersonId, power: Power, item: Option<&ItemId>) -> String {
        let near = self.shop().authorities.nearest(person, power);
        let Some((name, given)) = near else {
            return String::new();
        };
        let today = self.today();
        if let Some(taken) = &given.withdrawn {
            return format!(": {name} was withdrawn on {}", taken.at.date());
        }
        if given.grant.until.is_some_and(|until| until < today) {
            return format!(": {name} ran out on {}", given.grant.until.unwrap_or(today));
        }
        if given.grant.from > today {
            return format!(": {name} begins on {}", given.grant.from);
        }
        match item {
            Some(item) => format!(": {name} does not cover {item}"),
            None => format!(": {name} is limited to some chapters"),
        }
    }
}
