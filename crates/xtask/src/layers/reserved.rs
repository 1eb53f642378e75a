//! Outside crates that only named crates may ever have, whatever the table says.
//!
//! The table can be edited in the same breath as a manifest. These few lines are the walls
//! behind it: to move one takes a change here, where the reason stands beside it.

use super::table::{Fault, Table};
use super::workspace::Crate;

struct Reserved {
    /// Does this outside crate fall under the rule?
    covers: fn(&str) -> bool,
    /// The crates that may have it.
    only: &'static [&'static str],
    reason: &'static str,
}

const RESERVED: &[Reserved] = &[
    Reserved {
        covers: |name| {
            matches!(name, "rusqlite" | "libsqlite3-sys" | "sqlx" | "diesel" | "postgres")
        },
        only: &["ledger"],
        reason: "SQL stops at the ledger",
    },
    Reserved {
        covers: |name| {
            matches!(name, "tokio" | "axum" | "hyper" | "reqwest" | "rustls")
                || name.starts_with("tokio-")
                || name.starts_with("tower")
                || name.starts_with("axum-")
        },
        only: &["web"],
        reason: "HTTP and the reactor stop at the pages",
    },
    Reserved {
        covers: |name| matches!(name, "rand" | "fastrand") || name.starts_with("rand_"),
        only: &["search", "odds", "problems"],
        reason: "random streams belong to what is repeatable by seed: the engines, and the \
                 generator of problems",
    },
    Reserved {
        covers: |name| name == "getrandom",
        only: &["ledger"],
        reason: "the system's randomness makes keys and ids, and nothing that is computed",
    },
    Reserved {
        covers: |name| name == "rayon",
        only: &["search", "odds"],
        reason: "worker threads belong to the engines",
    },
    Reserved {
        covers: |name| name == "postcard",
        only: &["app"],
        reason: "a snapshot is the one place where a domain type is written as it lies in \
                 memory",
    },
    Reserved {
        covers: |name| name == "clap",
        only: &["turnbuckle"],
        reason: "only the binary has a command line",
    },
];

/// Every use of a reserved crate by another crate than its holder.
pub(super) fn check(table: &Table, crates: &[Crate]) -> Vec<Fault> {
    let mut faults = Vec::new();
    for member in crates {
        let row = table.rows.iter().find(|row| row.name == member.name);
        let line = row.map_or(table.line, |row| row.line);
        for outside in &member.outside {
            let broken = RESERVED.iter().filter(|rule| {
                (rule.covers)(outside) && !rule.only.contains(&member.name.as_str())
            });
            faults.extend(broken.map(|rule| Fault {
                line,
                message: format!(
                    "crate `{}` must not depend on `{outside}`: {}",
                    member.name, rule.reason
                ),
            }));
        }
    }
    faults
}

#[cfg(test)]
mod tests {
    use super::super::table::Row;
    use super::*;

    fn faults(name: &str, outside: &str) -> Vec<Fault> {
        let empty = std::collections::BTreeSet::new;
        let row = Row {
            line: 9,
            name: name.to_owned(),
            knows: empty(),
            tests_may_use: empty(),
            outside: std::iter::once(outside.to_owned()).collect(),
        };
        let member = Crate {
            name: name.to_owned(),
            outside: row.outside.clone(),
            ..Crate::default()
        };
        check(&Table { line: 7, rows: vec![row] }, &[member])
    }

    #[test]
    fn a_wall_holds_though_the_table_grants_it() {
        for (name, outside, word) in [
            ("app", "rusqlite", "SQL"),
            ("app", "tokio", "HTTP"),
            ("turnbuckle", "axum", "HTTP"),
            ("planner", "rand_pcg", "random"),
            ("search", "getrandom", "keys and ids"),
            ("planner", "rayon", "worker threads"),
            ("problems", "rayon", "worker threads"),
            ("app", "clap", "command line"),
            ("folder", "postcard", "snapshot"),
        ] {
            let faults = faults(name, outside);
            assert_eq!(faults.len(), 1, "{name} {outside}");
            assert_eq!(faults[0].line, 9);
            assert!(faults[0].message.contains(word), "{faults:?}");
        }
    }

    #[test]
    fn the_holders_and_the_rest_are_free() {
        for (name, outside) in [
            ("ledger", "rusqlite"),
            ("ledger", "postgres"),
            ("ledger", "getrandom"),
            ("web", "axum"),
            ("web", "axum-server"),
            ("web", "tokio"),
            ("search", "rand"),
            ("search", "rayon"),
            ("problems", "rand_pcg"),
            ("odds", "rand_pcg"),
            ("turnbuckle", "clap"),
            ("app", "thiserror"),
        ] {
            assert_eq!(faults(name, outside), [], "{name} {outside}");
        }
    }
}
