//! The folder that people start from.

use folder::{read, skeleton, write};

#[test]
fn it_reads_without_a_warning_and_comes_back_the_same() {
    let folder = tempfile::tempdir().unwrap();
    for (name, content) in skeleton() {
        std::fs::write(folder.path().join(name), content).unwrap();
    }
    let reading = read(folder.path()).unwrap_or_else(|report| panic!("{report}"));
    assert_eq!(reading.warnings, []);
    assert!(reading.programme.info.as_ref().unwrap().invented);
    let numbers = [
        reading.programme.zones.len(),
        reading.programme.items.len(),
        reading.programme.findings.len(),
        reading.programme.packs.len(),
        reading.programme.people.len(),
        reading.programme.seasons.len(),
    ];
    assert_eq!(numbers, [1, 3, 1, 1, 2, 1]);

    let other = tempfile::tempdir().unwrap();
    write(&reading.programme, other.path()).unwrap();
    let again = read(other.path()).unwrap_or_else(|report| panic!("{report}"));
    assert_eq!(again, reading);
}

/// The starter lists are complete and rest on nothing: what they rest on is for the
/// programme to say.
#[test]
fn its_gates_rules_and_records_cite_nothing() {
    let folder = tempfile::tempdir().unwrap();
    for (name, content) in skeleton() {
        std::fs::write(folder.path().join(name), content).unwrap();
    }
    let programme =
        read(folder.path()).unwrap_or_else(|report| panic!("{report}")).programme;
    let mut gates: Vec<_> = programme.gates.iter().collect();
    gates.sort_by_key(|gate| gate.order);
    let names: Vec<&str> = gates.iter().map(|gate| gate.id.as_str()).collect();
    assert_eq!(
        names,
        ["POWER-ON", "FUEL-ON", "ENGINE-RUN", "TAXI", "TEST-FLIGHT", "PERMIT"]
    );
    for gate in gates {
        let asks = programme.requirements.iter().filter(|asked| asked.gate == gate.id);
        assert!(asks.clone().count() >= 4, "{}", gate.id);
        for asked in asks {
            assert!(asked.kind.is_some() && asked.citation.is_none(), "{}", asked.id);
        }
    }
    assert_eq!(programme.rules.len(), record::RuleKey::ALL.len());
    let adopted = |rule: &record::Rule| {
        rule.basis == record::Basis::Adopted && rule.citation.is_none()
    };
    assert!(programme.rules.iter().all(adopted));
    assert_eq!(programme.retention.len(), record::act::RecordClass::ALL.len());
    let lasting =
        |kept: &record::Retention| kept.years.is_none() && kept.citation.is_none();
    assert!(programme.retention.iter().all(lasting));
}
