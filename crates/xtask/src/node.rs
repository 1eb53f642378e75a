//! What comes from the npm registry for the gate: packages with which the pages are held
//! against standards. They lie below `reference/`, and none is in the program.

use std::fs;
use std::process::Command;

use anyhow::{Context, Result, bail};

use crate::{debian, shell};

const FOLDER: &str = "reference";
const LOCK: &str = "package-lock.json";
/// What has to run, and Debian's package that has it.
const PROGRAMS: [(&str, &str, &str); 2] =
    [("npm", "--version", "npm"), ("java", "-version", "default-jre-headless")];

/// Sees to it that the packages of the lock file are there, and what runs them.
pub(crate) fn ready() -> Result<()> {
    programs()?;
    let folder = shell::root().join(FOLDER);
    let lock = folder.join(LOCK);
    let wanted = fs::read_to_string(&lock)
        .with_context(|| format!("can't read {}", lock.display()))?;
    let stamp = folder.join("node_modules/fetched.stamp");
    if fs::read_to_string(&stamp).is_ok_and(|have| have == wanted) {
        println!("{FOLDER}/node_modules is up to date");
        return Ok(());
    }
    let mut command = Command::new("npm");
    command.args(["ci", "--ignore-scripts", "--no-audit", "--no-fund", "--silent"]);
    shell::capture(command.current_dir(&folder)).with_context(|| {
        format!("can't fetch what {FOLDER}/{LOCK} names; is the npm registry reachable?")
    })?;
    fs::write(&stamp, &wanted)
        .with_context(|| format!("can't write {}", stamp.display()))?;
    Ok(())
}

/// Sees to it that `npm` and `java` run.
fn programs() -> Result<()> {
    let missing = |(program, version, _): &&(&str, &str, &str)| !runs(program, version);
    let packages = || -> Vec<&str> {
        PROGRAMS.iter().filter(missing).map(|(_, _, package)| *package).collect()
    };
    let lacking = packages();
    if !lacking.is_empty() && debian::can_install() {
        debian::install(&lacking)?;
    }
    match packages().as_slice() {
        [] => Ok(()),
        lacking => bail!(
            "holding the pages against standards takes `npm` and `java`; on Debian `apt-get \
             install {}` gives what is missing",
            lacking.join(" ")
        ),
    }
}

/// Whether a program runs, asked for its version by this word.
pub(crate) fn runs(program: &str, version: &str) -> bool {
    shell::output(Command::new(program).arg(version))
        .is_ok_and(|output| output.status.success())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn each_package_has_an_exact_version_and_a_digest() {
        let lock = shell::root().join(FOLDER).join(LOCK);
        let lock: serde_json::Value =
            serde_json::from_str(&fs::read_to_string(lock).unwrap()).unwrap();
        let packages = lock["packages"].as_object().unwrap();
        assert!(packages.len() > 1);
        for (name, package) in packages.iter().filter(|(name, _)| !name.is_empty()) {
            assert!(package["version"].is_string(), "{name}");
            assert!(
                package["integrity"].as_str().unwrap().starts_with("sha512-"),
                "{name}"
            );
        }
    }

    #[test]
    fn a_program_that_is_not_there_does_not_run() {
        assert!(!runs("no-such-program-here", "--version"));
    }
}
