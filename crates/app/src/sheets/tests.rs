//! Sheets of a record in which everything that a review asks after is wrong once.

use std::sync::Arc;

use airframe::Item;
use jiff::civil::date;
use record::act::{
    Classify, Defer, Directive, DirectiveState, Duty, Letter, Life, LifeUnit, Raise, Use,
};
use record::{Act, Condition, Gate, JobKey, Programme, Season, Stamp};

use super::{About, sheet};
use crate::Sheet;

const ON: jiff::civil::Date = date(2032, 1, 14);

fn id<K: quantity::Kind>(name: &str) -> quantity::Id<K> {
    quantity::Id::new(name).expect("a name of a test is one")
}

fn does(programme: &mut Programme, act: impl Into<Act>) {
    let number = programme.shop.last.map_or(1, |_| 2);
    let stamp = Stamp { number, at: ON.at(9, 0, 0, 0), by: id("ben") };
    programme.perform(&act.into(), &stamp);
}

fn programme() -> Programme {
    let season = |name: &str, year: i16| Season {
        id: id(name),
        name: name.into(),
        from: date(year, 1, 1),
        until: date(year, 12, 31),
        gate: id("taxi"),
        shifts: vec![],
        closed: vec![],
        heating: vec![],
        wet: vec![],
        arrangement: None,
    };
    let gate = |name: &str, order| Gate { id: id(name), name: name.into(), order };
    Programme {
        gates: [gate("run", 1), gate("taxi", 2)].into_iter().collect(),
        seasons: [season("S31", 2031), season("S32", 2032)].into_iter().collect(),
        items: [Item::new(id("HULL"), "Hull"), Item::new(id("PUMP"), "Pump")]
            .into_iter()
            .collect(),
        ..Programme::default()
    }
}

fn finding(programme: &mut Programme, name: &str, condition: Condition, until: &str) {
    does(
        programme,
        Raise {
            finding: id(name),
            item: id("HULL"),
            zone: None,
            what: "pitting".into(),
            measured: None,
            found: date(2031, 1, 1),
            cause: None,
            job: None,
            also: vec![],
            photographs: Vec::new(),
            mark: None,
        },
    );
    let (basis, effect) = ("limit".into(), None);
    let finding = id(name);
    let allows = Some(id("run"));
    does(programme, Classify { finding, condition, allows, basis, effect });
    if until.is_empty() {
        return;
    }
    does(
        programme,
        Defer {
            finding: id(name),
            allows: id("run"),
            limitation: format!("slowly, {name}"),
            until: id(until),
            reason: "alone".into(),
        },
    );
}

fn asked<'a>(audit: &'a Sheet, question: &str) -> &'a [String] {
    let rows = &audit.lists[0].rows;
    rows.iter().find(|row| row[0] == question).unwrap_or_else(|| panic!("{question}"))
}

#[test]
fn an_audit_names_what_is_wrong() {
    let mut p = programme();
    finding(&mut p, "F-1", Condition::Hazard, "");
    finding(&mut p, "F-2", Condition::OutsideLimits, "S31");
    finding(&mut p, "F-3", Condition::OutsideLimits, "S32");
    finding(&mut p, "F-4", Condition::Unknown, "");
    let directive = |name: &str, due| Directive {
        directive: id(name),
        source: "an invented one".into(),
        subject: "look".into(),
        state: DirectiveState::Open,
        method: None,
        job: None,
        due,
    };
    does(&mut p, directive("D-1", Some(date(2032, 1, 13))));
    does(&mut p, directive("D-2", Some(ON)));
    does(&mut p, directive("D-3", None));
    let unit = LifeUnit::EngineHours;
    let (what, source) = ("oil".to_owned(), "manual".to_owned());
    let duty = Duty { duty: id("OIL"), what, item: None, every: 25.0, unit, source };
    does(&mut p, duty);
    does(&mut p, Use { items: vec![], amount: 26.0, unit, what: "run".into(), on: ON });
    let basis = "log".into();
    does(&mut p, Life { item: id("PUMP"), limit: 5.0, unit, used: None, basis });
    let letter = Letter {
        letter: id("L-1"),
        with: "the insurer".into(),
        sent: true,
        on: date(2031, 1, 1),
        reference: "1".into(),
        subject: "cover".into(),
        answers: None,
        due: Some(date(2031, 2, 1)),
    };
    does(&mut p, letter);
    let mended = JobKey("J".into());
    let states = &mut Arc::make_mut(&mut p.shop.findings).states;
    let state = states.get_mut(&id("F-4")).expect("it was raised");
    let mark = state.raised.as_ref().expect("it was raised").1.clone();
    (state.cleared, state.mended) = (Some((mark, "mended".into())), Some(mended));

    let audit = sheet(&p, &About::Audit, ON).expect("an audit can always be made");
    for (question, expected) in [
        ("known hazards that are open", "F-1"),
        ("findings that nobody entitled has classed", "-"),
        ("findings carried forward for too long", "F-2"),
        (
            "findings put right on a card, without data and approval in the register",
            "F-4",
        ),
        ("directives whose day is over", "D-1"),
        ("open directives without a day", "D-3"),
        ("what is due in service and overdue", "OIL"),
        ("fitted parts whose life is used up or not known", "PUMP"),
        ("letters whose answer is late", "L-1"),
        ("tools that are out or lost", "-"),
    ] {
        assert_eq!(asked(&audit, question)[3], expected, "{question}");
    }
    assert_eq!(audit.facts[1].1, "6", "{:?}", audit.facts);
}

/// What was carried forward for too long is no limitation any more, and blocks.
#[test]
fn a_gate_names_what_is_carried_forward_while_it_may_be() {
    let mut p = programme();
    finding(&mut p, "F-2", Condition::OutsideLimits, "S31");
    finding(&mut p, "F-3", Condition::OutsideLimits, "S32");
    let gate = sheet(&p, &About::Gates(Some("run".into())), ON).expect("there is one");
    let list = |title: &str| {
        let list = gate.lists.iter().find(|list| list.title == title);
        list.unwrap_or_else(|| panic!("{title}")).rows.clone()
    };
    let carried = list("limitations that a release names");
    assert_eq!(carried.len(), 1);
    assert_eq!((carried[0][0].as_str(), carried[0][2].as_str()), ("F-3", "slowly, F-3"));
    assert!(list("in the way")[0][0].contains("F-2 was carried forward until"));
    let taxi = sheet(&p, &About::Gates(Some("taxi".into())), ON).expect("there is one");
    assert!(taxi.facts[1].1.starts_with("taxi is REFUSED: 2 in the way"), "{taxi:?}");
}

#[test]
fn a_status_counts_what_there_is() {
    let mut p = programme();
    finding(&mut p, "F-1", Condition::Hazard, "");
    finding(&mut p, "F-2", Condition::OutsideLimits, "S32");
    let status = sheet(&p, &About::Status, ON).expect("a status can always be made");
    let counts = &status.lists.iter().find(|list| list.title == "counts");
    let counts = &counts.expect("it counts").rows;
    let count = |of: &str, state: &str| {
        let row = counts.iter().find(|row| row[0] == of && row[1] == state);
        row.map(|row| row[2].clone()).unwrap_or_default()
    };
    assert_eq!(count("findings open", "hazard"), "1");
    assert_eq!(count("findings open", "unknown"), "0");
    assert_eq!(count("findings open", "of them carried forward"), "1");
    assert_eq!(count("directives", "open"), "0");
    let totals = status.lists.iter().find(|list| list.title == "totals");
    assert_eq!(totals.expect("it totals").rows[0][3], "not known");
}
