//! The PostgreSQL server that the tests of the ledger start.

use std::path::{Path, PathBuf};

use anyhow::{Result, bail};

use crate::debian;

/// Names a server that runs already, by a connection string.
const VARIABLE: &str = "TURNBUCKLE_TEST_POSTGRES";

/// Where Debian keeps the programs of each version.
const DEBIAN: &str = "/usr/lib/postgresql";

/// Sees to it that the tests find a server, or the programs to start one.
pub(crate) fn ready() -> Result<()> {
    if std::env::var_os(VARIABLE).is_some() || programs().is_some() {
        return Ok(());
    }
    if debian::can_install() {
        println!("no `initdb` on the path or below {DEBIAN}");
        debian::install(&["postgresql"])?;
    }
    match programs() {
        Some(_) => Ok(()),
        None => bail!(
            "the tests of the ledger need PostgreSQL, and there is no `initdb` on the path or \
             below {DEBIAN}; on Debian `apt-get install postgresql` gives it, or {VARIABLE} \
             names a server by a connection string of a superuser"
        ),
    }
}

/// The folder of `initdb`, where the tests look for it.
fn programs() -> Option<PathBuf> {
    let path = std::env::var_os("PATH").unwrap_or_default();
    let versions = std::fs::read_dir(DEBIAN).into_iter().flatten().flatten();
    let debian = versions.map(|version| version.path().join("bin"));
    let found = |folder: &PathBuf| holds_programs(folder);
    std::env::split_paths(&path).chain(debian).find(found)
}

fn holds_programs(folder: &Path) -> bool {
    ["initdb", "postgres"].iter().all(|name| folder.join(name).exists())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_programs_are_needed() {
        let folder = std::env::temp_dir().join(format!("xtask-{}", std::process::id()));
        std::fs::create_dir_all(&folder).unwrap();
        std::fs::write(folder.join("initdb"), "").unwrap();
        let half = holds_programs(&folder);
        std::fs::write(folder.join("postgres"), "").unwrap();
        let whole = holds_programs(&folder);
        std::fs::remove_dir_all(&folder).unwrap();
        assert_eq!((half, whole), (false, true));
    }
}
