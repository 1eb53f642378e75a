//! What the manifests say, out of `cargo metadata`.

use std::collections::BTreeSet;

use anyhow::{Context, Result, bail};
use serde_json::Value;

/// A crate of the workspace and what its manifest names.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub(super) struct Crate {
    /// Its name.
    pub(super) name: String,
    /// Workspace crates among its dependencies, those of its build script included.
    pub(super) knows: BTreeSet<String>,
    /// Workspace crates among the dependencies of its tests.
    pub(super) tests_use: BTreeSet<String>,
    /// Crates from outside among its dependencies, those of its build script included.
    pub(super) outside: BTreeSet<String>,
}

/// Reads the members out of what `cargo metadata --no-deps` prints.
pub(super) fn read(metadata: &Value) -> Result<Vec<Crate>> {
    let packages =
        metadata["packages"].as_array().context("`cargo metadata` names no packages")?;
    let members: BTreeSet<&str> =
        packages.iter().filter_map(|package| package["name"].as_str()).collect();
    if members.is_empty() {
        bail!("`cargo metadata` names no members of the workspace");
    }
    packages.iter().map(|package| member(package, &members)).collect()
}

fn member(package: &Value, members: &BTreeSet<&str>) -> Result<Crate> {
    let name = package["name"].as_str().context("a package without a name")?;
    let mut member = Crate { name: name.to_owned(), ..Crate::default() };
    let dependencies = package["dependencies"]
        .as_array()
        .with_context(|| format!("`{name}` has no list of dependencies"))?;
    for dependency in dependencies {
        let other = dependency["name"]
            .as_str()
            .with_context(|| format!("`{name}` has a dependency without a name"))?;
        // A path alone would also match a copy of an outside crate kept in the tree.
        let ours = dependency["path"].is_string() && members.contains(other);
        let for_tests = dependency["kind"] == "dev";
        let list = match (ours, for_tests) {
            (true, false) => &mut member.knows,
            (true, true) => &mut member.tests_use,
            (false, false) => &mut member.outside,
            // What tests take from outside is anybody's choice.
            (false, true) => continue,
        };
        list.insert(other.to_owned());
    }
    Ok(member)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn sorts_dependencies_by_kind_and_origin() {
        let metadata = serde_json::json!({"packages": [
            {"name": "a", "dependencies": []},
            {"name": "b", "dependencies": [
                {"name": "a", "kind": null, "path": "/w/a"},
                {"name": "c", "kind": "dev", "path": "/w/c"},
                {"name": "serde", "kind": null},
                {"name": "cc", "kind": "build"},
                {"name": "proptest", "kind": "dev"},
                {"name": "kept", "kind": null, "path": "/w/kept"},
            ]},
            {"name": "c", "dependencies": []},
        ]});
        let crates = read(&metadata).unwrap();
        let set = |names: &[&str]| -> BTreeSet<String> {
            names.iter().map(|&name| name.to_owned()).collect()
        };
        assert_eq!(crates.len(), 3);
        assert_eq!(crates[1].knows, set(&["a"]));
        assert_eq!(crates[1].tests_use, set(&["c"]));
        assert_eq!(crates[1].outside, set(&["cc", "kept", "serde"]));
    }

    #[test]
    fn refuses_what_cargo_would_not_print() {
        assert!(read(&serde_json::json!({})).is_err());
        assert!(read(&serde_json::json!({"packages": []})).is_err());
        assert!(read(&serde_json::json!({"packages": [{"name": "a"}]})).is_err());
    }
}
