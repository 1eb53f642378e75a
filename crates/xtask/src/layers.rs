//! The crates' dependencies against the table in ARCHITECTURE.md, in both directions.
//!
//! The table is the design; the manifests are what was built. A difference either way is a
//! fault: a dependency that the table does not allow, and a permission nobody uses any more.

mod reserved;
mod rules;
mod table;
mod workspace;

use anyhow::{Context, Result, bail};

use crate::shell;

const DOCUMENT: &str = "ARCHITECTURE.md";

/// Compares, prints every difference, and fails if there is one.
pub(crate) fn run() -> Result<()> {
    let path = shell::root().join(DOCUMENT);
    let text = std::fs::read_to_string(&path)
        .with_context(|| format!("can't read {}", path.display()))?;
    let table = table::read(&text).map_err(|fault| {
        anyhow::anyhow!("{DOCUMENT}:{}: {}", fault.line, fault.message)
    })?;
    let crates = workspace::read(&shell::metadata(true)?)?;
    let mut faults = rules::check(&table, &crates);
    faults.extend(reserved::check(&table, &crates));
    for fault in &faults {
        eprintln!("{DOCUMENT}:{}: {}", fault.line, fault.message);
    }
    if !faults.is_empty() {
        bail!(
            "{} between the table in {DOCUMENT} and the manifests",
            count(faults.len(), "difference")
        );
    }
    println!("{} agree with {DOCUMENT}", count(crates.len(), "crate"));
    Ok(())
}

fn count(number: usize, noun: &str) -> String {
    format!("{number} {noun}{}", if number == 1 { "" } else { "s" })
}
