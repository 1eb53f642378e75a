//! Permissive licences only, over every package in the lock file.

use anyhow::{Result, bail};
use serde_json::Value;

use crate::shell;

/// SPDX names of the licences that whoever ships the binary can live with.
const ALLOWED: &[&str] = &[
    "MIT",
    "MIT-0",
    "Apache-2.0",
    "Apache-2.0 WITH LLVM-exception",
    "BSD-2-Clause",
    "BSD-3-Clause",
    "ISC",
    "Zlib",
    "Unicode-3.0",
    "Unlicense",
    "CC0-1.0",
    "BSL-1.0",
];

/// Reads every package's licence, prints each that isn't allowed, and fails if there is one.
pub(crate) fn run() -> Result<()> {
    let metadata = shell::metadata(false)?;
    let packages = metadata["packages"].as_array().map_or(&[][..], Vec::as_slice);
    let faults: Vec<String> = packages.iter().filter_map(fault).collect();
    for fault in &faults {
        eprintln!("{fault}");
    }
    if packages.is_empty() {
        bail!("`cargo metadata` names no packages");
    }
    if !faults.is_empty() {
        bail!(
            "{} of {} packages lack a permissive licence; use another package, or add the \
             licence to the list in crates/xtask/src/licences.rs if it is permissive",
            faults.len(),
            packages.len()
        );
    }
    println!("{} packages, all under permissive licences", packages.len());
    Ok(())
}

fn fault(package: &Value) -> Option<String> {
    let name = package["name"].as_str().unwrap_or("?");
    let version = package["version"].as_str().unwrap_or("?");
    let Some(expression) = package["license"].as_str() else {
        return Some(format!("{name} {version}: states no licence expression"));
    };
    match allowed(expression) {
        Ok(true) => None,
        Ok(false) => Some(format!("{name} {version}: {expression}")),
        Err(why) => Some(format!("{name} {version}: {expression}: {why}")),
    }
}

/// Is there a choice within this SPDX expression that only asks for allowed licences?
fn allowed(expression: &str) -> Result<bool, String> {
    // Before SPDX expressions, a slash meant a choice; some manifests still have it.
    let spaced = expression.replace('(', " ( ").replace(')', " ) ").replace('/', " OR ");
    let words: Vec<&str> = spaced.split_whitespace().collect();
    let mut rest = words.as_slice();
    let verdict = either(&mut rest)?;
    match rest.first() {
        None => Ok(verdict),
        Some(word) => Err(format!("`{word}` is unexpected")),
    }
}

fn either(words: &mut &[&str]) -> Result<bool, String> {
    let mut verdict = both(words)?;
    while eat(words, "OR") {
        verdict |= both(words)?;
    }
    Ok(verdict)
}

fn both(words: &mut &[&str]) -> Result<bool, String> {
    let mut verdict = licence(words)?;
    while eat(words, "AND") {
        verdict &= licence(words)?;
    }
    Ok(verdict)
}

fn licence(words: &mut &[&str]) -> Result<bool, String> {
    if eat(words, "(") {
        let verdict = either(words)?;
        return if eat(words, ")") { Ok(verdict) } else { Err("`)` is missing".into()) };
    }
    let name = next(words)?;
    if matches!(name, "OR" | "AND" | "WITH" | ")") {
        return Err(format!("`{name}` stands where a licence should"));
    }
    if eat(words, "WITH") {
        let exception = next(words)?;
        return Ok(ALLOWED.contains(&format!("{name} WITH {exception}").as_str()));
    }
    Ok(ALLOWED.contains(&name))
}

fn eat(words: &mut &[&str], word: &str) -> bool {
    let found = words.first() == Some(&word);
    if found {
        *words = &words[1..];
    }
    found
}

fn next<'a>(words: &mut &[&'a str]) -> Result<&'a str, String> {
    let (first, rest) = words.split_first().ok_or("it ends too early")?;
    *words = rest;
    Ok(first)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn expressions() {
        for (expression, expected) in [
            ("MIT", true),
            ("GPL-3.0-only", false),
            ("MIT OR GPL-3.0-only", true),
            ("MIT AND GPL-3.0-only", false),
            ("MIT/Apache-2.0", true),
            ("(MIT OR Apache-2.0) AND Unicode-3.0", true),
            ("(MIT OR Apache-2.0) AND MPL-2.0", false),
            // AND binds closer than OR, as SPDX 3, annex B has it.
            ("MIT OR Apache-2.0 AND GPL-2.0-only", true),
            ("GPL-2.0-only AND MIT OR GPL-2.0-only", false),
            ("Apache-2.0 WITH LLVM-exception", true),
            ("GPL-2.0-only WITH Classpath-exception-2.0", false),
            ("Apache-2.0 WITH LLVM-exception OR GPL-2.0-only", true),
        ] {
            assert_eq!(allowed(expression), Ok(expected), "{expression}");
        }
    }

    #[test]
    fn broken_expressions_are_faults() {
        for expression in ["", "MIT OR", "(MIT", "MIT Apache-2.0", "AND MIT", "MIT)"] {
            assert!(allowed(expression).is_err(), "{expression}");
        }
    }

    #[test]
    fn a_package_is_named_with_its_version() {
        let package = serde_json::json!(
            {"name": "x", "version": "1.2.3", "license": "GPL-3.0-only"});
        assert_eq!(fault(&package).unwrap(), "x 1.2.3: GPL-3.0-only");
        let none = serde_json::json!({"name": "x", "version": "1.2.3", "license": null});
        assert!(fault(&none).unwrap().contains("states no licence"));
        let good = serde_json::json!({"name": "x", "version": "1", "license": "ISC"});
        assert_eq!(fault(&good), None);
    }
}
