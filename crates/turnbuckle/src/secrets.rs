//! Secrets of those who sign: from a file, the environment or the terminal; never from the
//! command line, which others can see.

use std::io::IsTerminal;
use std::path::Path;

use anyhow::{Context, Result, bail};
use app::{Place, Secret, Workshop};

use crate::arguments::Signer;

const VARIABLE: &str = "TURNBUCKLE_SECRET";

/// The secret of whoever signs; nothing for somebody who has none.
pub(crate) fn of(signer: &Signer, by: &str, ledger: &Place) -> Result<Option<Secret>> {
    if let Some(file) = &signer.secret_file {
        return first_line(file).map(Some);
    }
    if let Some(secret) = std::env::var_os(VARIABLE) {
        let secret = secret.to_str().context("TURNBUCKLE_SECRET holds no text")?;
        return Ok(Some(Secret::new(secret)));
    }
    if !std::io::stdin().is_terminal() || !needs(by, ledger) {
        return Ok(None);
    }
    asked(&format!("secret of {by}: ")).map(Some)
}

/// Whether somebody has a key. A ledger that can't be read is told by whoever reads it next.
fn needs(by: &str, ledger: &Place) -> bool {
    Workshop::read(ledger).is_ok_and(|workshop| app::has_secret(workshop.programme(), by))
}

/// A new secret, typed twice.
pub(crate) fn new(person: &str, file: Option<&Path>) -> Result<Secret> {
    if let Some(file) = file {
        return first_line(file);
    }
    if !std::io::stdin().is_terminal() {
        bail!("give the new secret with --new-secret-file, or call this on a terminal");
    }
    let secret = asked(&format!("new secret of {person}: "))?;
    if asked("once more: ")? != secret {
        bail!("the two are not the same; nothing was entered");
    }
    Ok(secret)
}

fn asked(prompt: &str) -> Result<Secret> {
    let typed =
        rpassword::prompt_password(prompt).context("the terminal gives nothing")?;
    Ok(Secret::new(&typed))
}

fn first_line(file: &Path) -> Result<Secret> {
    let text = std::fs::read_to_string(file)
        .with_context(|| format!("could not read {}", file.display()))?;
    match text.lines().next() {
        Some(line) if !line.is_empty() => Ok(Secret::new(line)),
        _ => bail!("{}: the first line is empty", file.display()),
    }
}
