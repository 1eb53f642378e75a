//! Bundles of evidence: what proves a statement of the record, to be checked elsewhere.
//!
//! A bundle is a folder, or the same as one zip archive:
//!
//! | file | holds |
//! |---|---|
//! | `statement.txt`, `statement.json` | what the record says about a gate or a thing, on a day |
//! | `entries.jsonl` | entries of the ledger, one JSON object a line, each with its digest and the digest before it |
//! | `attachments/DIGEST.EXT` | attachments that these entries name |
//! | `checkpoint.txt` | the head of the ledger when the bundle was made, signed |
//! | `manifest.json` | what it is, and name, length and BLAKE3 digest of each other file |
//! | `manifest.sig` | the public key and the signature over `manifest.json` |
//!
//! A bundle about a gate holds every entry from the first: that nothing stands in the way can
//! only be shown by all that there is. Whoever checks it recomputes the chain from its
//! start, folds it, and compares the statement. A bundle about one thing holds the entries
//! that name it, and those that say who signed them and by what authority; each entry's
//! own digest is recomputed.

mod check;
mod packed;

use std::collections::BTreeSet;
use std::ops::ControlFlow;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use ledger::{Digest, Entry, Head, Place, SigningKey, Store};
use serde_json::{Value, json};

pub use check::{BundleVerdict, check_bundle};

use crate::files::write;
use crate::sheets::GATE_LAYOUT;
use crate::workshop::{look_at, patient};
use crate::{About, AppError, Programme, Sheet, Workshop, sheet};

/// What the signature over a manifest is for, so that it can't be taken for another one.
const TAG: &str = "turnbuckle/bundle/1";
/// The version of the format.
const FORMAT: u64 = 1;

/// What a bundle is about.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum BundleAbout {
    /// A gate: the whole record.
    Gate(String),
    /// An item, a finding, a card, a person: what names it.
    Thing(String),
}

/// A bundle that was made.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Bundled {
    /// Its files.
    pub files: Vec<PathBuf>,
    /// How many entries it holds.
    pub entries: usize,
    /// What people compare to know the key again.
    pub fingerprint: String,
}

/// Makes a bundle: a folder that is not there yet, or a file if its name ends in `.zip`.
pub fn bundle(
    ledger: &Place,
    about: &BundleAbout,
    key: &Path,
    (dir, at): (&Path, &str),
    on: Date,
) -> Result<Bundled, AppError> {
    if dir.exists() {
        return Err(AppError::Unknown(format!(
            "{} is there already: choose another name",
            dir.display()
        )));
    }
    let key = SigningKey::load(key).map_err(AppError::Ledger)?;
    let (parts, entries) = parts(ledger, about, Some(&key), (at, on))?;
    let public = key.public();
    let files = if packed::is_packed(dir) {
        write(dir, &packed::pack(&parts)?)?;
        vec![dir.to_owned()]
    } else {
        put(dir, &parts)?
    };
    Ok(Bundled { files, entries, fingerprint: public.fingerprint() })
}

/// A bundle as one archive, in memory.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PackedBundle {
    /// The archive.
    pub bytes: Vec<u8>,
    /// How many entries it holds.
    pub entries: usize,
    /// The fingerprint of the key that signed it, if there was one.
    pub fingerprint: Option<String>,
}

/// The most that is packed in memory, in bytes: what is larger is made with `turnbuckle
/// bundle`.
const LARGEST: usize = 512 * 1024 * 1024;

/// Makes a bundle in memory. Without a key it says what the record holds and not who made
/// it: it has neither a signature nor a signed checkpoint, and a check says so.
///
/// # Errors
/// If it would be too large to be made so, or those of [`bundle()`].
pub fn packed_bundle(
    ledger: &Place,
    about: &BundleAbout,
    key: Option<&Path>,
    at: &str,
    on: Date,
) -> Result<PackedBundle, AppError> {
    let key = key.map(SigningKey::load).transpose().map_err(AppError::Ledger)?;
    let (parts, entries) = parts(ledger, about, key.as_ref(), (at, on))?;
    let bytes = packed::pack(&parts)?;
    let fingerprint = key.map(|key| key.public().fingerprint());
    Ok(PackedBundle { bytes, entries, fingerprint })
}

/// Files by their names.
type Parts = Vec<(String, Vec<u8>)>;

/// The files of a bundle, and how many entries they hold.
fn parts(
    ledger: &Place,
    about: &BundleAbout,
    key: Option<&SigningKey>,
    (at, on): (&str, Date),
) -> Result<(Parts, usize), AppError> {
    let workshop = Workshop::read(ledger)?;
    let mut store = if key.is_some() { patient(ledger)? } else { look_at(ledger)? };
    let statement = statement(&workshop, about, on)?;
    let entries = chosen(store.as_ref(), about)?;
    let mut parts = vec![
        ("statement.txt".to_owned(), statement.text().into_bytes()),
        ("statement.json".to_owned(), pretty(&statement.json())),
        ("entries.jsonl".to_owned(), lines(&entries)),
    ];
    if let Some(key) = key {
        let checkpoint = store.sign_checkpoint(key, at).map_err(AppError::Ledger)?;
        parts.push(("checkpoint.txt".to_owned(), checkpoint.to_string().into_bytes()));
    }
    attachments(store.as_ref(), &entries, &mut parts)?;
    let size: usize = parts.iter().map(|(_, content)| content.len()).sum();
    if size > LARGEST {
        return Err(AppError::Unknown(format!(
            "this bundle has {size} bytes, and more than {LARGEST} are not made at once: make \
             it with `turnbuckle bundle` where the ledger lies"
        )));
    }
    let head = store.head().map_err(AppError::Ledger)?;
    let manifest = pretty(&manifest(&workshop, about, (at, on), &head, &parts));
    if let Some(key) = key {
        let (public, signature) = (key.public(), key.sign_document(TAG, &manifest));
        let signed = format!("key: {public}\nsignature: {}\n", hex(&signature));
        parts.push(("manifest.sig".to_owned(), signed.into_bytes()));
    }
    parts.push(("manifest.json".to_owned(), manifest));
    Ok((parts, entries.len()))
}

/// Writes all files beside the folder's place first, so that a bundle is there whole or not.
fn put(dir: &Path, parts: &[(String, Vec<u8>)]) -> Result<Vec<PathBuf>, AppError> {
    let mut unfinished = dir.as_os_str().to_owned();
    unfinished.push(".unfinished");
    let unfinished = PathBuf::from(unfinished);
    let io = |doing: &'static str, file: &Path| {
        let file = file.to_owned();
        move |source| AppError::File { doing, file, source }
    };
    if unfinished.exists() {
        std::fs::remove_dir_all(&unfinished).map_err(io("remove", &unfinished))?;
    }
    for (name, content) in parts {
        write(&unfinished.join(name), content)?;
    }
    std::fs::rename(&unfinished, dir).map_err(io("rename", &unfinished))?;
    Ok(parts.iter().map(|(name, _)| dir.join(name)).collect())
}

fn statement(
    workshop: &Workshop,
    about: &BundleAbout,
    on: Date,
) -> Result<Sheet, AppError> {
    let programme = workshop.programme();
    match about {
        BundleAbout::Gate(gate) => {
            sheet(programme, &About::Gates(Some(gate.clone())), on)
        }
        BundleAbout::Thing(thing) => {
            let known = [
                About::Parts(Some(thing.clone())),
                About::Cards(Some(thing.clone())),
                About::Findings(Some(thing.clone())),
            ];
            let found = known.iter().find_map(|about| sheet(programme, about, on).ok());
            found.ok_or_else(|| {
                AppError::Unknown(format!("there is no item, card or finding {thing}"))
            })
        }
    }
}

/// An entry with the digest of the one before it.
struct Linked {
    before: Digest,
    entry: Entry,
}

/// The entries that a bundle holds.
fn chosen(store: &dyn Store, about: &BundleAbout) -> Result<Vec<Linked>, AppError> {
    let id = store.id().map_err(AppError::Ledger)?;
    let mut before = ledger::chain::start_digest(&id);
    let mut all = Vec::new();
    let mut visit = |entry: Entry| {
        let link = Linked { before, entry };
        before = link.entry.digest;
        all.push(link);
        ControlFlow::Continue(())
    };
    store.read(0, &mut visit).map_err(AppError::Ledger)?;
    Ok(match about {
        BundleAbout::Gate(_) => all,
        BundleAbout::Thing(thing) => about_thing(all, thing),
    })
}

/// Those that name a thing, those about the people who signed them, and their authorities.
fn about_thing(all: Vec<Linked>, thing: &str) -> Vec<Linked> {
    let body = |link: &Linked| -> Value {
        serde_json::from_str(crate::seal::peel(&link.entry.body).body).unwrap_or_default()
    };
    let names = |link: &Linked| crate::history::names(&body(link), thing);
    let signers = signers(&all, &names, &body);
    let of_signer = |link: &Linked| is_about(link, &body(link), &signers);
    let granted: BTreeSet<String> = all
        .iter()
        .filter(|link| link.entry.kind == "act.grant" && of_signer(link))
        .filter_map(|link| body(link)["authority"].as_str().map(str::to_owned))
        .collect();
    let withdrawn = |link: &Linked| {
        link.entry.kind == "act.withdraw"
            && body(link)["authority"].as_str().is_some_and(|name| granted.contains(name))
    };
    all.into_iter()
        .filter(|link| names(link) || of_signer(link) || withdrawn(link))
        .collect()
}

/// Whoever signed what names the thing, whoever gave them authorities and keys, and so on.
fn signers(
    all: &[Linked],
    names: &dyn Fn(&Linked) -> bool,
    body: &dyn Fn(&Linked) -> Value,
) -> BTreeSet<String> {
    let mut signers: BTreeSet<String> =
        all.iter().filter(|link| names(link)).map(|link| link.entry.by.clone()).collect();
    loop {
        let about = all.iter().filter(|link| is_about(link, &body(link), &signers));
        let by: BTreeSet<String> = about.map(|link| link.entry.by.clone()).collect();
        let before = signers.len();
        signers.extend(by);
        if signers.len() == before {
            return signers;
        }
    }
}

/// Whether an entry says who somebody is, and what they may sign with which key.
fn is_about(link: &Linked, body: &Value, people: &BTreeSet<String>) -> bool {
    let about =
        |field: &str| body[field].as_str().is_some_and(|person| people.contains(person));
    match link.entry.kind.as_str() {
        "person" => about("id"),
        "act.grant" | "act.enrol" => about("person"),
        _ => false,
    }
}

fn lines(entries: &[Linked]) -> Vec<u8> {
    let mut text = String::new();
    for Linked { before, entry } in entries {
        let line = json!({
            "number": entry.number,
            "batch": entry.batch,
            "kind": entry.kind,
            "version": entry.version,
            "at": entry.at,
            "by": entry.by,
            "request": entry.request.as_ref().map(ToString::to_string),
            "body": String::from_utf8_lossy(&entry.body),
            "before": before.to_string(),
            "digest": entry.digest.to_string(),
        });
        text.push_str(&line.to_string());
        text.push('\n');
    }
    text.into_bytes()
}

/// Adds the attachments that entries name by their digests.
fn attachments(
    store: &dyn Store,
    entries: &[Linked],
    parts: &mut Vec<(String, Vec<u8>)>,
) -> Result<(), AppError> {
    for stored in store.attachments().map_err(AppError::Ledger)? {
        let name = stored.digest.to_string();
        let named = |link: &Linked| {
            std::str::from_utf8(&link.entry.body).is_ok_and(|body| body.contains(&name))
        };
        if !entries.iter().any(named) {
            continue;
        }
        let found = store.attachment(&stored.digest).map_err(AppError::Ledger)?;
        if let Some((attachment, content)) = found {
            let file = format!("attachments/{name}.{}", attachment.media.extension());
            parts.push((file, content));
        }
    }
    Ok(())
}

fn manifest(
    workshop: &Workshop,
    about: &BundleAbout,
    (at, on): (&str, Date),
    head: &Head,
    parts: &[(String, Vec<u8>)],
) -> Value {
    let (kind, name) = match about {
        BundleAbout::Gate(name) => ("gate", name),
        BundleAbout::Thing(name) => ("thing", name),
    };
    let files = parts.iter().map(|(name, content)| {
        let digest = Digest::of(content).to_string();
        json!({ "name": name, "bytes": content.len(), "blake3": digest })
    });
    let info = workshop.programme().info.as_ref();
    let state = match about {
        BundleAbout::Gate(gate) => gate_state(workshop.programme(), gate, on),
        BundleAbout::Thing(_) => None,
    };
    json!({
        "format": FORMAT,
        "about": { "kind": kind, "name": name },
        "programme": info.map(|info| info.name.clone()),
        "invented": info.is_some_and(|info| info.invented),
        "on": on.to_string(),
        "gate": state,
        "layout": GATE_LAYOUT,
        "made": at,
        "head": { "entry": head.number, "digest": head.digest.to_string() },
        "files": files.collect::<Vec<_>>(),
        "caution": "This bundle shows what a record holds. It approves and releases nothing.",
    })
}

/// How a gate stands, in what can be compared however a sheet lays it out.
fn gate_state(programme: &Programme, gate: &str, on: Date) -> Option<Value> {
    let gate = programme.gates.get(&gate.parse().ok()?)?;
    let state = programme.gate_state(gate, on);
    Some(json!({
        "open": state.open,
        "in the way": state.blocks.len(),
        "limitations": state.limitations.len(),
        "requirements": state.requirements,
        "items off": state.off,
        "tools out": state.tools_out,
        "cards open": state.cards_open,
    }))
}

/// A name of a file that lies in the bundle itself, on any system.
fn is_inside(name: &str) -> bool {
    let plain = |part: &str| !part.is_empty() && part != "." && part != "..";
    let odd = |sign: char| matches!(sign, '\\' | ':') || sign.is_control();
    !name.contains(odd) && name.split('/').all(plain)
}

fn pretty(value: &Value) -> Vec<u8> {
    let mut text = serde_json::to_string_pretty(value).unwrap_or_default();
    text.push('\n');
    text.into_bytes()
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}
