//! The programme as a whole: letters, directives, modifications, origins, samples, duties,
//! money.

use std::collections::BTreeMap;

use jiff::civil::Date;
use quantity::Money;
use record::act::{Directive, DirectiveState, LifeUnit, MoneyKind, Origin, Verdict};
use record::shop::Office;
use record::{PackId, Programme, SeasonId};

use super::{mark, or_dash};
use crate::Sheet;

pub(super) fn letters(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Letters on {on}"));
    let letters = &programme.shop.office.letters;
    let answered =
        |name| letters.values().any(|(other, _)| other.answers.as_ref() == Some(name));
    let rows = letters.iter().map(|(name, (letter, _))| {
        let late = letter.due.is_some_and(|due| due < on) && !answered(name);
        vec![
            name.to_string(),
            letter.on.to_string(),
            if letter.sent { "to" } else { "from" }.to_owned(),
            letter.with.clone(),
            letter.reference.clone(),
            letter.subject.clone(),
            or_dash(letter.answers.as_ref()),
            if late { "answer late" } else { "" }.to_owned(),
        ]
    });
    let columns =
        ["letter", "date", "way", "with", "reference", "subject", "answers", "state"];
    sheet.list("letters", &columns, rows.collect());
    sheet
}

pub(super) fn directives(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("Directives and modifications on {on}"));
    let office = &programme.shop.office;
    let rows = office.directives.iter().map(|(name, (directive, by))| {
        vec![
            name.to_string(),
            directive.source.clone(),
            directive.subject.clone(),
            directive.state.word().to_owned(),
            directive.method.clone().unwrap_or_default(),
            or_dash(directive.job.as_ref()),
            or_dash(directive.due),
            if overdue(directive, on) { "overdue" } else { "" }.to_owned(),
            mark(by),
        ]
    });
    let columns = [
        "directive",
        "source",
        "subject",
        "state",
        "how or why",
        "card",
        "due",
        "late",
        "signed",
    ];
    sheet.list("directives", &columns, rows.collect());
    let rows = office.modifications.iter().map(|(name, (one, by))| {
        vec![
            name.to_string(),
            one.item.to_string(),
            one.what.clone(),
            one.data.clone(),
            one.approval.clone(),
            one.job.to_string(),
            mark(by),
        ]
    });
    let columns = ["modification", "item", "what", "data", "approval", "card", "signed"];
    sheet.list("modifications", &columns, rows.collect());
    sheet
}

/// A directive that applies and whose day is over.
pub(super) fn overdue(directive: &Directive, on: Date) -> bool {
    let applies =
        matches!(directive.state, DirectiveState::Open | DirectiveState::Repeating);
    applies && directive.due.is_some_and(|due| due < on)
}

/// Where items come from, and how many of each origin there are in each assembly.
pub(super) fn origins(programme: &Programme) -> Sheet {
    let mut sheet = Sheet::new("Where it comes from");
    let origins = &programme.shop.office.origins;
    let rows = origins.iter().map(|(item, (origin, by))| {
        let word = origin.origin.word().to_owned();
        vec![item.to_string(), word, origin.evidence.clone(), mark(by)]
    });
    sheet.list("items", &["item", "origin", "evidence", "signed"], rows.collect());
    let mut shares: BTreeMap<String, BTreeMap<Origin, usize>> = BTreeMap::new();
    for item in programme.items.iter() {
        let assembly = or_dash(item.part_of.as_ref());
        let origin = origins.get(&item.id).map_or(Origin::NotKnown, |(o, _)| o.origin);
        *shares.entry(assembly).or_default().entry(origin).or_default() += 1;
    }
    let rows = shares.into_iter().map(|(assembly, counts)| {
        let count = |origin| counts.get(&origin).copied().unwrap_or(0).to_string();
        let mut row = vec![assembly];
        row.extend(Origin::ALL.map(count));
        row
    });
    let columns = ["assembly", "original", "donor", "new-made", "not known"];
    sheet.list("by assembly", &columns, rows.collect());
    sheet
}

/// What the aircraft has flown, run and landed. What nobody stated is not known.
pub(super) fn totals(office: &Office) -> Vec<Vec<String>> {
    let counted = LifeUnit::ALL.into_iter().filter(|unit| *unit != LifeUnit::Days);
    let rows = counted.map(|unit| {
        let before = office.before.get(&unit).map(|(total, _)| total);
        let total = office.total(unit);
        vec![
            unit.word().to_owned(),
            before.map_or_else(|| "not known".to_owned(), |b| b.amount.to_string()),
            office.count(unit).to_string(),
            total.map_or_else(|| "not known".to_owned(), |total| total.to_string()),
            or_dash(before.map(|before| &before.basis)),
            or_dash(before.map(|before| &before.confidence)),
        ]
    });
    rows.collect()
}

pub(super) fn service(programme: &Programme, on: Date) -> Sheet {
    let mut sheet = Sheet::new(format!("In service on {on}"));
    let office = &programme.shop.office;
    sheet.list(
        "totals",
        &["of", "before the record", "since", "in all", "rests on", "how sure"],
        totals(office),
    );
    let rows = office.duties.iter().map(|(name, duty)| {
        let left = duty.left(office.count(duty.duty.unit), on);
        vec![
            name.to_string(),
            duty.duty.what.clone(),
            format!("{} {}", duty.duty.every, duty.duty.unit.word()),
            left.to_string(),
            if left < 0.0 { "overdue" } else { "" }.to_owned(),
            duty.duty.source.clone(),
        ]
    });
    let columns = ["duty", "what", "every", "left", "state", "source"];
    sheet.list("due in service", &columns, rows.collect());
    let rows = office.samples.iter().map(|(name, state)| {
        let failed = state.results.values().filter(|(v, _)| *v == Verdict::Fail).count();
        vec![
            name.to_string(),
            state.sample.of.clone(),
            format!("{} of {}", state.results.len(), state.wanted()),
            failed.to_string(),
            if state.is_done() { "done" } else { "open" }.to_owned(),
        ]
    });
    let columns = ["sample", "of", "looked at", "not sound", "state"];
    sheet.list("samples of structure", &columns, rows.collect());
    sheet
}

/// Money by pack and season, and what is left of each estimate.
pub(super) fn money(programme: &Programme) -> Sheet {
    let mut sheet = Sheet::new("Money");
    let sums = &programme.shop.office.money;
    let all = by_pack(sums);
    let rows = all.iter().map(|((pack, season), counted)| {
        [vec![pack.to_string(), season.to_string()], counted.cells().to_vec()].concat()
    });
    let columns = ["pack", "season", "estimate", "commitment", "payment", "left"];
    sheet.list("by pack and season", &columns, rows.collect());
    sheet.list("by season", &columns[1..], by_season(&all));
    let mut hours: BTreeMap<String, i64> = BTreeMap::new();
    for card in programme.shop.cards.cards.values() {
        let spent: i64 = card
            .involved()
            .into_iter()
            .map(|person| card.hours_of(person).minutes())
            .sum();
        *hours.entry(or_dash(card.pack.as_ref())).or_default() += spent;
    }
    let rows = hours.into_iter().map(|(pack, minutes)| {
        let work = quantity::Work::from_minutes(minutes);
        vec![pack, quantity::Notation::print(work)]
    });
    sheet.list("hours on cards by pack", &["pack", "hours"], rows.collect());
    sheet
}

type Sums = BTreeMap<(PackId, SeasonId, MoneyKind), Money>;

/// What was counted for a pack in a season, or for a season; a sum that does not fit is none.
#[derive(Debug, Clone, Copy, Default)]
struct Counted {
    /// Estimated, committed, paid.
    kinds: [Option<Money>; 3],
    /// What is bound: what was ordered and is not paid yet, or paid without an order, counts once.
    bound: Option<Money>,
}

impl Counted {
    fn of(kinds: [Option<Money>; 3]) -> Self {
        let [_, commitment, payment] = kinds;
        let bound = match (commitment, payment) {
            (Some(a), Some(b)) => Some(if a.minor() > b.minor() { a } else { b }),
            (one, other) => one.or(other),
        };
        Self { kinds, bound }
    }

    fn and(self, other: Self) -> Self {
        let sum = |one: Option<Money>, other: Option<Money>| match (one, other) {
            (Some(one), Some(other)) => one.checked_add(other).ok(),
            (one, other) => one.or(other),
        };
        let kinds = std::array::from_fn(|at| sum(self.kinds[at], other.kinds[at]));
        Self { kinds, bound: sum(self.bound, other.bound) }
    }

    /// The three, and what is left of the estimate.
    fn cells(self) -> [String; 4] {
        let [estimate, commitment, payment] = self.kinds;
        let left = match (estimate, self.bound) {
            (Some(estimate), Some(bound)) => estimate.checked_sub(bound).ok(),
            (estimate, None) => estimate,
            (None, Some(_)) => None,
        };
        [estimate, commitment, payment, left].map(or_dash)
    }
}

fn by_pack(sums: &Sums) -> Vec<((PackId, SeasonId), Counted)> {
    let mut keys: Vec<_> =
        sums.keys().map(|(pack, season, _)| (pack.clone(), season.clone())).collect();
    keys.dedup();
    let counted = |(pack, season): (PackId, SeasonId)| {
        let sum = |kind| sums.get(&(pack.clone(), season.clone(), kind)).copied();
        let counted = Counted::of(MoneyKind::ALL.map(sum));
        ((pack, season), counted)
    };
    keys.into_iter().map(counted).collect()
}

fn by_season(all: &[((PackId, SeasonId), Counted)]) -> Vec<Vec<String>> {
    let mut seasons: BTreeMap<&SeasonId, Counted> = BTreeMap::new();
    for ((_, season), counted) in all {
        let sum = seasons.entry(season).or_default();
        *sum = sum.and(*counted);
    }
    let row = |(season, counted): (&SeasonId, Counted)| {
        [vec![season.to_string()], counted.cells().to_vec()].concat()
    };
    seasons.into_iter().map(row).collect()
}

#[cfg(test)]
mod tests {
    use quantity::Currency;

    use super::*;

    #[test]
    fn money_is_summed_over_the_packs_of_a_season() {
        let pounds = |minor| Money::from_minor(minor, Currency::GBP);
        let key = |pack: &str, season: &str, kind| {
            (PackId::new(pack).unwrap(), SeasonId::new(season).unwrap(), kind)
        };
        let [estimate, commitment, payment] = MoneyKind::ALL;
        let sums = BTreeMap::from([
            (key("HULL", "S1", estimate), pounds(100_000)),
            (key("HULL", "S1", commitment), pounds(40_000)),
            (key("ENG", "S1", estimate), pounds(50_050)),
            (key("ENG", "S1", payment), pounds(45_000)),
            (key("ENG", "S2", payment), pounds(1)),
        ]);
        let cell = |minor| or_dash(Some(pounds(minor)));
        let none = || or_dash(None::<Money>);
        assert_eq!(
            by_season(&by_pack(&sums)),
            [
                // What is committed for one pack and what is paid for another both bind.
                vec![
                    "S1".to_owned(),
                    cell(150_050),
                    cell(40_000),
                    cell(45_000),
                    cell(65_050)
                ],
                vec!["S2".to_owned(), none(), none(), cell(1), none()],
            ]
        );
    }
}
