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
