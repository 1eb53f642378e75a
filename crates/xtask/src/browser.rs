//! The browser in which the pages are tested.

use anyhow::{Result, bail};

use crate::{debian, node};

/// Chromium, what drives it, and letters to show.
const DEBIAN: [&str; 3] = ["chromium", "chromium-driver", "fonts-dejavu-core"];

/// Sees to it that the tests find a browser.
pub(crate) fn ready() -> Result<()> {
    if missing().is_empty() {
        return Ok(());
    }
    if debian::can_install() {
        println!("no `{}` on the path", missing().join("` and no `"));
        debian::install(&DEBIAN)?;
    }
    match missing().as_slice() {
        [] => Ok(()),
        missing => bail!(
            "the tests of the pages need Chromium and its driver, and `{}` does not run; on \
             Debian `apt-get install {}` gives both",
            missing.join("` and `"),
            DEBIAN.join(" ")
        ),
    }
}

fn missing() -> Vec<&'static str> {
    let programs = ["chromium", "chromedriver"];
    programs.into_iter().filter(|program| !node::runs(program, "--version")).collect()
}
