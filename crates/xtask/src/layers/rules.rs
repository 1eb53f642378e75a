//! Table and manifests side by side.

use std::collections::{BTreeMap, BTreeSet};

use super::table::{Fault, Row, Table};
use super::workspace::Crate;

/// The crate of small instances, which every crate's tests may use.
const FOR_ALL_TESTS: &str = "testkit";

/// Every difference between the table and the crates, by line.
pub(super) fn check(table: &Table, crates: &[Crate]) -> Vec<Fault> {
    let rows: BTreeMap<&str, &Row> =
        table.rows.iter().map(|row| (row.name.as_str(), row)).collect();
    let built: BTreeMap<&str, &Crate> =
        crates.iter().map(|member| (member.name.as_str(), member)).collect();
    let mut faults = Vec::new();
    for member in crates {
        match rows.get(member.name.as_str()) {
            None => faults.push(Fault {
                line: table.line,
                message: format!(
                    "crate `{}` has no row; add one that says what it knows",
                    member.name
                ),
            }),
            Some(row) => faults.extend(compare(row, member, &rows)),
        }
    }
    for row in &table.rows {
        if !built.contains_key(row.name.as_str()) {
            faults.push(Fault {
                line: row.line,
                message: format!(
                    "crate `{}` isn't in the workspace; drop the row",
                    row.name
                ),
            });
        }
    }
    faults.sort();
    faults
}

fn compare(row: &Row, member: &Crate, rows: &BTreeMap<&str, &Row>) -> Vec<Fault> {
    let mut faults = Vec::new();
    let mut tell = |message: String| faults.push(Fault { line: row.line, message });
    let name = &row.name;
    for other in member.knows.difference(&row.knows) {
        tell(format!(
            "crate `{name}` depends on `{other}`, which the table doesn't allow"
        ));
    }
    for other in row.knows.difference(&member.knows) {
        tell(format!(
            "crate `{name}` may know `{other}` but doesn't depend on it; drop it here"
        ));
    }
    for other in member.outside.difference(&row.outside) {
        tell(format!(
            "crate `{name}` depends on outside crate `{other}`, which the table doesn't allow"
        ));
    }
    for other in row.outside.difference(&member.outside) {
        tell(format!(
            "crate `{name}` may use outside crate `{other}` but doesn't; drop it here"
        ));
    }
    let below = below(row, rows);
    let granted = |other: &str| below.contains(other) || other == FOR_ALL_TESTS;
    for other in &member.tests_use {
        if !granted(other) && !row.tests_may_use.contains(other) {
            tell(format!(
                "tests of crate `{name}` use `{other}`, which neither lies below it nor \
                 stands under \"tests may use\""
            ));
        }
    }
    for other in &row.tests_may_use {
        if granted(other) {
            tell(format!(
                "tests of crate `{name}` may use `{other}` in any case; drop it here"
            ));
        } else if !member.tests_use.contains(other) {
            tell(format!(
                "tests of crate `{name}` may use `{other}` but don't; drop it here"
            ));
        }
    }
    faults
}

/// Everything that a crate knows, and what those know, and so on down.
fn below<'a>(row: &'a Row, rows: &BTreeMap<&str, &'a Row>) -> BTreeSet<&'a str> {
    let mut found = BTreeSet::new();
    let mut open: Vec<&str> = row.knows.iter().map(String::as_str).collect();
    while let Some(name) = open.pop() {
        if found.insert(name)
            && let Some(row) = rows.get(name)
        {
            open.extend(row.knows.iter().map(String::as_str));
        }
    }
    found
}

#[cfg(test)]
mod tests {
    use super::super::table;
    use super::*;

    /// Crates as `name: knows / tests use / outside`, and a table in the same notation;
    /// returns `line: message` of each fault. The table's first row is line 3.
    fn faults(rows: &[&str], crates: &[&str]) -> Vec<String> {
        let head = ["| crate | knows | tests may use | outside crates |", "|-|-|-|-|"];
        let body = rows.iter().map(|row| format!("|{}|", row.replace([':', '/'], "|")));
        let lines: Vec<String> =
            head.map(str::to_owned).into_iter().chain(body).collect();
        let text = lines.join("\n");
        let table = table::read(&text).unwrap();
        let set = |cell: &str| -> BTreeSet<String> {
            cell.split_whitespace().map(str::to_owned).collect()
        };
        let crates: Vec<Crate> = crates
            .iter()
            .map(|line| {
                let (name, rest) = line.split_once(':').unwrap();
                let cells: Vec<&str> = rest.split('/').collect();
                Crate {
                    name: name.to_owned(),
                    knows: set(cells[0]),
                    tests_use: set(cells[1]),
                    outside: set(cells[2]),
                }
            })
            .collect();
        check(&table, &crates)
            .iter()
            .map(|fault| format!("{}: {}", fault.line, fault.message))
            .collect()
    }

    fn one(rows: &[&str], crates: &[&str], expected: &str) {
        let faults = faults(rows, crates);
        assert_eq!(faults.len(), 1, "{faults:?}");
        assert!(faults[0].contains(expected), "{faults:?}");
    }

    const A: &str = "a: / / ";

    #[test]
    fn agreement_is_silent() {
        let rows = ["a: / / toml", "b: a / d / ", "c: b / / ", "d: a / / "];
        let crates = ["a: / / toml", "b: a / d / ", "c: b / a testkit / ", "d: a / / "];
        // `testkit` is given to all tests; here it has no row because it isn't built.
        assert_eq!(faults(&rows, &crates), Vec::<String>::new());
    }

    #[test]
    fn a_dependency_that_the_table_does_not_allow() {
        one(&[A, "b: / / "], &[A, "b: a / / "], "4: crate `b` depends on `a`");
    }

    #[test]
    fn a_permission_that_nobody_uses() {
        one(&[A, "b: a / / "], &[A, "b: / / "], "4: crate `b` may know `a`");
    }

    #[test]
    fn a_crate_without_a_row() {
        one(&[A], &[A, "b: / / "], "1: crate `b` has no row");
    }

    #[test]
    fn a_row_without_a_crate() {
        one(&[A, "b: / / "], &[A], "4: crate `b` isn't in the workspace");
    }

    #[test]
    fn an_outside_crate_that_the_table_does_not_allow() {
        one(
            &[A],
            &["a: / / rusqlite"],
            "3: crate `a` depends on outside crate `rusqlite`",
        );
    }

    #[test]
    fn an_outside_permission_that_nobody_uses() {
        one(&["a: / / toml"], &[A], "3: crate `a` may use outside crate `toml`");
    }

    #[test]
    fn tests_that_use_a_crate_above() {
        one(
            &[A, "b: a / / "],
            &["a: / b / ", "b: a / / "],
            "3: tests of crate `a` use `b`",
        );
    }

    #[test]
    fn tests_that_do_not_use_what_they_may() {
        one(
            &["a: / b / ", "b: / / "],
            &[A, "b: / / "],
            "3: tests of crate `a` may use `b`",
        );
    }

    #[test]
    fn a_test_permission_that_says_nothing_new() {
        one(
            &[A, "b: a / a / "],
            &[A, "b: a / a / "],
            "4: tests of crate `b` may use `a` in any case",
        );
    }
}
