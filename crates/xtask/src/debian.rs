//! Installing Debian's packages, where this runs as root on Debian.

use std::process::Command;

use anyhow::{Context, Result};

use crate::shell;

/// Whether packages can be installed here without asking anybody.
pub(crate) fn can_install() -> bool {
    let id = shell::capture(Command::new("id").arg("-u"));
    id.is_ok_and(|id| id.trim() == "0")
        && shell::capture(Command::new("apt-get").arg("--version")).is_ok()
}

/// Installs packages by `apt-get`, and says so.
pub(crate) fn install(packages: &[&str]) -> Result<()> {
    println!("installing {} with apt-get", packages.join(" and "));
    apt(&["update", "--quiet"])?;
    let mut install = vec!["install", "--yes", "--quiet", "--no-install-recommends"];
    install.extend(packages);
    apt(&install)
}

fn apt(arguments: &[&str]) -> Result<()> {
    let mut command = Command::new("apt-get");
    command.args(arguments).env("DEBIAN_FRONTEND", "noninteractive");
    shell::capture(&mut command)
        .context("can't install Debian packages; is the archive reachable?")?;
    Ok(())
}
