//! Narrowing, sorting, counting; what a decision would let the aircraft do.

use jiff::civil::date;
use record::act::Stamp;
use record::{Act, PersonId};

use super::*;

fn example() -> Programme {
    let folder = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");
    crate::read_folder(folder.as_ref()).unwrap().programme
}

fn does(programme: &mut Programme, word: &str, fields: &[(&str, &str)]) {
    let fields: Vec<(String, String)> =
        fields.iter().map(|(name, value)| ((*name).into(), (*value).into())).collect();
    let act: Act = crate::act_of_fields(word, &fields).unwrap();
    let at = date(2032, 1, 10).at(9, 0, 0, 0);
    let stamp = Stamp { number: 1, at, by: PersonId::new("MS").unwrap() };
    programme.perform(&act, &stamp);
}

fn found(programme: &Programme, filter: &FindingFilter) -> Vec<String> {
    let found = findings(programme, date(2032, 1, 14), filter);
    found.rows.into_iter().map(|row| row.finding).collect()
}

#[test]
fn what_nobody_classed_stands_before_every_gate() {
    let programme = example();
    let on = date(2032, 1, 14);
    let id = FindingId::new("F-001").unwrap();
    let row = row(&programme, &id, on);
    assert_eq!(row.state, FindingWord::NotClassed);
    assert_eq!(row.before.len(), programme.gates.len());
    assert!(row.allows.is_none());
}

#[test]
fn each_filter_narrows_by_itself_and_with_others() {
    let mut programme = example();
    does(
        &mut programme,
        "classify",
        &[
            ("finding", "F-001"),
            ("condition", "outside limits"),
            ("allows", "taxi"),
            ("basis", "limit"),
        ],
    );
    let with = |change: fn(&mut FindingFilter)| {
        let mut filter = FindingFilter::default();
        change(&mut filter);
        filter
    };
    let all = found(&programme, &FindingFilter::default());
    assert_eq!(all.len(), programme.findings.len());
    assert_eq!(
        found(&programme, &with(|f| f.class = "outside limits".into())),
        ["F-001"]
    );
    let item = found(&programme, &with(|f| f.item = "PB-FP".into()));
    assert!(item.contains(&"F-001".to_owned()) && item.len() < all.len());
    // A zone is asked for with those within it.
    let hull = found(&programme, &with(|f| f.zone = "HULL".into()));
    let bottom = found(&programme, &with(|f| f.zone = "BOTTOM".into()));
    assert!(bottom.iter().all(|name| hull.contains(name)) && bottom.len() < hull.len());
    // It no longer stands before the gate that it allows.
    let taxi = found(&programme, &with(|f| f.gate = "taxi".into()));
    assert!(!taxi.contains(&"F-001".to_owned()) && taxi.len() == all.len() - 1);
    let words = found(&programme, &with(|f| f.text = "pitting KEEL lap".into()));
    assert_eq!(words, ["F-001"]);
    assert!(found(&programme, &with(|f| f.state = "cleared".into())).is_empty());
    let strange = findings(
        &programme,
        date(2032, 1, 14),
        &with(|f| {
            f.zone = "HUL".into();
            f.gate = "moon".into();
        }),
    );
    let fields: Vec<&str> = strange.strange.iter().map(|(field, _)| *field).collect();
    assert_eq!((fields, strange.rows.len()), (vec!["zone", "gate"], 0));
    assert!(strange.strange[0].1.contains("HULL"));
}

#[test]
fn the_gravest_comes_first_and_names_count_as_numbers() {
    let mut programme = example();
    let hazard = [("finding", "F-010"), ("condition", "hazard"), ("basis", "limit")];
    does(&mut programme, "classify", &hazard);
    assert_eq!(found(&programme, &FindingFilter::default())[0], "F-010");
    let back = FindingFilter { sort: "-finding".into(), ..FindingFilter::default() };
    let names = found(&programme, &back);
    assert!(names.windows(2).all(|two| natural(&two[0], &two[1]) != Ordering::Less));
    assert_eq!(natural("F-9", "F-10"), Ordering::Less);
    assert_eq!(natural("F-9a", "F-10"), "F-9a".cmp("F-10"));
    assert_eq!(natural("9", "10"), Ordering::Less);
    assert_eq!(natural("é9", "é10"), Ordering::Less);
    assert_eq!(natural("F-007", "F-7"), Ordering::Less);
}

#[test]
fn the_next_name_is_free() {
    let mut programme = example();
    let next = next_finding(&programme);
    assert!(!programme.has_finding(&FindingId::new(&next).unwrap()), "{next}");
    assert_eq!(next.len(), "F-001".len());
    let raise = [
        ("finding", next.as_str()),
        ("item", "PROP-P"),
        ("what", "dent"),
        ("found", "2032-01-02"),
    ];
    does(&mut programme, "raise", &raise);
    assert_ne!(next_finding(&programme), next);
    assert_eq!(next_finding(&Programme::default()), "F-001");
}

/// What is promised of a decision is what the gates say once it was signed.
#[test]
fn a_decision_lets_pass_what_was_promised() {
    let programme = example();
    let on = date(2032, 1, 14);
    let id = FindingId::new("F-001").unwrap();
    let asked = deciding(&programme, "F-001", on).unwrap();
    assert!(asked.gates.iter().all(|gate| gate.why.is_some()));
    let classing: Vec<&Way> =
        asked.ways.iter().filter(|way| way.act.0 == "classify").collect();
    assert_eq!(classing.len(), programme.gates.len() + 3);
    for way in classing {
        let mut after = programme.clone();
        let mut fields: Vec<(&str, &str)> =
            way.act.1.iter().map(|(name, value)| (*name, value.as_str())).collect();
        fields.push(("basis", "limit"));
        does(&mut after, way.act.0, &fields);
        assert_eq!(row(&after, &id, on).before, way.before, "{}", way.says);
        let next = deciding(&after, "F-001", on).unwrap();
        let defer = next.ways.iter().any(|way| way.act.0 == "defer");
        let hazard = way.says.contains("hazard");
        assert_eq!(defer, !way.passes.is_empty() && !hazard, "{}", way.says);
    }
    assert!(deciding(&programme, "F-999999", on).is_none());
}
