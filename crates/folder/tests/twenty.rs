//! A folder with twenty mistakes: twenty errors, each at its place, and nothing is read.

use std::path::Path;

/// The places, found by hand in the files under `data/twenty`, and what is wrong there.
const MISTAKES: [(&str, &str); 20] = [
    ("checks.toml:4:16", "did you mean `engine control`?"),
    ("connections.csv:1:22", "there is no column `remrak`"),
    ("findings.csv:3:7", "there is no item PORP\n  hint: is PROP meant?"),
    ("findings.csv:4:20", "the quote that opens this cell is never closed"),
    ("gates.toml:9:9", "it has the same place in the order as ENGINE-RUN: 1"),
    ("items.csv:2:34", "mass: `psi` is a pressure; a mass was expected"),
    ("items.csv:3:68", "an estimate rises from low to high, but 2 h comes before 1 h"),
    ("items.csv:4:52", "a name is missing next to a sign in `COWL +`"),
    ("items.csv:5:80", "there is no stand RACKS\n  hint: is RACK meant?"),
    ("items.csv:6:1", "the item `PROP` is defined a second time"),
    ("packs.csv:2:17", "there is no season W32\n  hint: is W31 meant?"),
    ("people.csv:2:47", "`2031-11-28..2031-11-24` ends before it starts"),
    ("people.csv:3:45", "`satterday` is not a day of the week"),
    ("places.toml:5:1", "did you mean `heated`?"),
    ("programme.toml:7:12", "`quid` is not a known currency code"),
    ("routes.toml:37:9", "it says in two ways who does it"),
    ("seasons.toml:5:9", "there is no such day"),
    ("seasons.toml:7:57", "`15:00-09:00` ends before it starts"),
    ("stands.toml:4:9", "`-4` is not a whole number"),
    ("zones.toml:4:10", "there is no zone HUL"),
];

#[test]
fn each_is_told_at_its_place() {
    let folder = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/twenty");
    let Err(report) = folder::read(&folder) else { panic!("it was read") };
    assert_eq!(report.errors.len(), MISTAKES.len(), "{report}");
    assert_eq!(report.warnings, [], "{report}");
    for ((place, part), error) in MISTAKES.iter().zip(&report.errors) {
        let shown = error.to_string();
        assert!(shown.starts_with(&format!("{place}: error: ")), "{place}\n{shown}");
        assert!(shown.contains(part), "{part}\n{shown}");
    }
}
