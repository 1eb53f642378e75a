//! The commands that keep a ledger: attachments, keys, checkpoints, bundles, backups.

use std::path::Path;

use anyhow::{Result, bail};
use app::{BundleAbout, Place, Witnesses};
use jiff::civil::Date;

use crate::acts::{now, stamp};
use crate::say;

pub(crate) fn attach(ledger: &Place, file: &Path) -> Result<bool> {
    let attached = app::attach(ledger, file, &stamp())?;
    println!("{}", attached.digest);
    println!("  {}, {} bytes", attached.media, attached.size);
    if attached.removed > 0 {
        println!(
            "  {} bytes about place, time and device were taken out",
            attached.removed
        );
    }
    Ok(true)
}

/// Clears away files that no entry names, or says what would go.
pub(crate) fn clear(ledger: &Place, days: u32, only_try: bool) -> Result<bool> {
    let now = now().timestamp();
    let cleared = if only_try {
        app::would_clear(ledger, now, days)?
    } else {
        app::clear_left_behind(ledger, now, days)?
    };
    let age = if days == 1 { "a day".to_owned() } else { format!("{days} days") };
    println!(
        "{} {} that no entry names and that were sent more than {age} ago",
        if only_try { "would go:" } else { "cleared away:" },
        cleared.gone.told()
    );
    if cleared.stays.count > 0 {
        println!(
            "stays: {} that no entry names, younger or of an age that is not known",
            cleared.stays.told()
        );
    }
    Ok(true)
}

pub(crate) fn key(file: &Path) -> Result<bool> {
    let key = app::new_key(file)?;
    println!("made {}", file.display());
    println!("  public key: {key}");
    println!("  fingerprint: {}", key.fingerprint());
    println!(
        "  write the fingerprint down, and give it to whoever checks what this key signs"
    );
    Ok(true)
}

pub(crate) fn checkpoint(ledger: &Place, key: &Path, out: &Path) -> Result<bool> {
    let signed = app::checkpoint(ledger, key, out, &stamp())?;
    println!("signed entry {} in {}", signed.head.number, out.display());
    println!("  fingerprint: {}", signed.key.fingerprint());
    Ok(true)
}

pub(crate) fn bundle(
    ledger: &Place,
    about: (Option<String>, Option<String>),
    key: &Path,
    out: &Path,
    on: Option<Date>,
) -> Result<bool> {
    let about = match about {
        (Some(gate), _) => BundleAbout::Gate(gate),
        (None, Some(thing)) => BundleAbout::Thing(thing),
        (None, None) => {
            bail!("name a gate with --gate, or an item, finding or card with --thing")
        }
    };
    let on = on.unwrap_or_else(|| now().date());
    let made = app::bundle(ledger, &about, key, (out, &stamp()), on)?;
    say::files("wrote", &made.files);
    println!("\n{} entries; fingerprint of the key: {}", made.entries, made.fingerprint);
    println!("check it anywhere: turnbuckle verify {}", out.display());
    Ok(true)
}

/// Says whether a ledger is sound, and what speaks for it from outside. If it is wished,
/// what was kept for a fast start is thrown away before.
pub(crate) fn verify(
    ledger: &Place,
    witnesses: &Witnesses,
    forget: bool,
) -> Result<bool> {
    if forget {
        app::forget_snapshots(ledger)?;
    }
    let proof = app::verify(ledger, witnesses)?;
    let verdict = &proof.verdict;
    for fault in &verdict.faults {
        println!("{fault}");
    }
    if verdict.more > 0 {
        println!("and {} more", verdict.more);
    }
    for told in proof.faults.iter().chain(&proof.notices) {
        println!("{told}");
    }
    if !proof.is_sound() {
        println!(
            "NOT sound: keep the ledger as it is, and go back to the last backup that is"
        );
        return Ok(false);
    }
    let head = verdict.head.map_or_else(String::new, |head| head.digest.to_string());
    println!("sound: {} entries, the chain ends in {head}", verdict.entries);
    if let Some(left) = proof.left.as_ref().filter(|left| left.count > 0) {
        println!(
            "  attached, and named by no entry: {}; `turnbuckle clear` takes away what is old",
            left.told()
        );
    }
    if proof.sealed > 0 {
        println!("  {} of them sealed by those who signed them", proof.sealed);
    }
    if proof.witnesses > 0 {
        println!("  it fits all checkpoints kept elsewhere ({})", proof.witnesses);
    }
    if let Some(witnessed) = proof.witnessed.filter(|last| *last < verdict.entries) {
        println!("  no checkpoint speaks for the entries after {witnessed}");
    }
    Ok(true)
}

pub(crate) fn check_bundle(dir: &Path, witnesses: &Witnesses) -> Result<bool> {
    let verdict = app::check_bundle(dir, witnesses)?;
    println!("bundle about {}", verdict.about);
    println!("  entries recomputed: {}", verdict.entries);
    if verdict.sealed > 0 {
        println!("  of them sealed by those who signed them: {}", verdict.sealed);
    }
    if verdict.recomputed {
        println!("  the statement follows from its entries");
    }
    if let Some(fingerprint) = &verdict.fingerprint {
        println!(
            "  signed with the key {fingerprint}: compare it with what you were given"
        );
    }
    for notice in &verdict.notices {
        println!("  {notice}");
    }
    for fault in &verdict.faults {
        println!("  fault: {fault}");
    }
    let sound = verdict.faults.is_empty();
    println!("{}", if sound { "sound" } else { "NOT sound" });
    Ok(sound)
}

pub(crate) fn backup(ledger: &Place, to: &Path) -> Result<bool> {
    let number = app::backup(ledger, to, &stamp())?;
    println!("copied and verified, up to entry {number}: {}", to.display());
    println!("  keep it in another place than the ledger");
    Ok(true)
}

pub(crate) fn restore(from: &Path, ledger: &Place) -> Result<bool> {
    let (number, was_there) = app::restore(from, ledger)?;
    println!("restored up to entry {number}: {ledger}");
    if was_there {
        let ending = match ledger {
            Place::File(_) => ".replaced",
            Place::Server(_) => "_replaced",
        };
        println!("  what was there lies beside it, under a name that ends in {ending}");
    }
    Ok(true)
}
