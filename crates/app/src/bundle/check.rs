//! Checking a bundle by itself, without the ledger that it was made from.

use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};

use jiff::civil::Date;
use ledger::chain::{Link, entry_digest, start_digest};
use ledger::{Checkpoint, Digest, PublicKey};
use record::Programme;
use serde_json::{Value, json};

use super::packed::{self, Files};
use super::{FORMAT, TAG, gate_state, is_inside};
use crate::proving::{checkpoints, trusted};
use crate::seal::{Sealed, Seals};
use crate::sheets::GATE_LAYOUT;
use crate::workshop::fold;
use crate::{About, AppError, Witnesses, sheet};

/// What a check of a bundle came to.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BundleVerdict {
    /// What the bundle is about.
    pub about: String,
    /// How many entries were recomputed.
    pub entries: usize,
    /// Whether the statement was computed again from the entries, and not only found as it
    /// was signed.
    pub recomputed: bool,
    /// How many entries are sealed by those who signed them.
    pub sealed: usize,
    /// The fingerprint of the key that signed it, if a signature fits.
    pub fingerprint: Option<String>,
    /// What somebody should know though nothing is wrong.
    pub notices: Vec<String>,
    /// Everything that is wrong.
    pub faults: Vec<String>,
}

/// Checks a bundle: signature, files, digests, entries, and what they say.
///
/// With trusted keys, one of them must have signed it; with checkpoints that were kept
/// elsewhere, its entries must be those for which they speak.
pub fn check_bundle(
    dir: &Path,
    witnesses: &Witnesses,
) -> Result<BundleVerdict, AppError> {
    let kept = checkpoints(&witnesses.checkpoints)?;
    let files = Source::of(dir)?;
    let mut check = Check { files, verdict: BundleVerdict::default() };
    let manifest = check.bytes("manifest.json")?;
    let known = kept.iter().map(|checkpoint| checkpoint.key);
    let key = check.signature(&manifest);
    let known: Vec<PublicKey> = known.chain(key).collect();
    let trusted = trusted(&witnesses.keys, &known)?;
    check.trust(key, &trusted);
    let manifest: Value = match serde_json::from_slice(&manifest) {
        Ok(value) => value,
        Err(error) => {
            check.fault(format!("manifest.json is no JSON: {error}"));
            return Ok(check.verdict);
        }
    };
    if manifest["format"].as_u64() != Some(FORMAT) {
        let found = &manifest["format"];
        check.fault(format!("it has format {found}, and {FORMAT} is what is known here"));
        return Ok(check.verdict);
    }
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let (kind, name) =
        (text(&manifest["about"]["kind"]), text(&manifest["about"]["name"]));
    check.verdict.about = format!("{kind} {name}");
    check.files(&manifest)?;
    let entries = check.entries()?;
    check.head(&manifest, &entries);
    check.witnesses(&entries, &kept, &trusted);
    check.seals(&entries);
    if kind == "gate" {
        check.statement(&entries, &name, &manifest)?;
    }
    Ok(check.verdict)
}

/// An entry as a bundle has it.
struct Line {
    number: u64,
    batch: u64,
    kind: String,
    version: u32,
    at: String,
    by: String,
    request: Option<String>,
    body: String,
    before: Digest,
    digest: Digest,
}

/// Where the files of a bundle are.
enum Source<'a> {
    Folder(&'a Path),
    Packed(&'a Path, Files),
}

impl<'a> Source<'a> {
    fn of(path: &'a Path) -> Result<Self, AppError> {
        if path.is_file() {
            return Ok(Self::Packed(path, packed::unpack(path)?));
        }
        Ok(Self::Folder(path))
    }

    fn bytes(&self, name: &str) -> Result<Vec<u8>, AppError> {
        let failed =
            |file: PathBuf| move |source| AppError::File { doing: "read", file, source };
        match self {
            Self::Folder(dir) => {
                let file = dir.join(name);
                fs::read(&file).map_err(failed(file))
            }
            Self::Packed(path, files) => {
                let missing = || std::io::Error::from(std::io::ErrorKind::NotFound);
                let found = files.get(name).cloned().ok_or_else(missing);
                found.map_err(failed(path.join(name)))
            }
        }
    }

    fn names(&self) -> Result<Vec<String>, AppError> {
        match self {
            Self::Folder(dir) => inside(dir),
            Self::Packed(_, files) => Ok(files.keys().cloned().collect()),
        }
    }
}

struct Check<'a> {
    files: Source<'a>,
    verdict: BundleVerdict,
}

impl Check<'_> {
    fn fault(&mut self, what: impl Into<String>) {
        self.verdict.faults.push(what.into());
    }

    fn bytes(&self, name: &str) -> Result<Vec<u8>, AppError> {
        self.files.bytes(name)
    }

    /// The key that signed it must be one of those that are trusted, if there are any.
    fn trust(&mut self, key: Option<PublicKey>, trusted: &[PublicKey]) {
        if let Some(key) = key.filter(|key| !trusted.is_empty() && !trusted.contains(key))
        {
            self.fault(format!(
                "it is signed by the key {}, which isn't among those you trust",
                key.fingerprint()
            ));
        }
    }

    /// Its entries are those for which checkpoints speak that were kept elsewhere.
    fn witnesses(
        &mut self,
        entries: &[Line],
        kept: &[Checkpoint],
        trusted: &[PublicKey],
    ) {
        let text = self.bytes("checkpoint.txt").unwrap_or_default();
        let own = String::from_utf8_lossy(&text).parse::<Checkpoint>().ok();
        for checkpoint in kept {
            let number = checkpoint.head.number;
            let name =
                format!("the checkpoint of entry {number} that was kept elsewhere");
            let trusts = trusted.is_empty() || trusted.contains(&checkpoint.key);
            let mut digests: Vec<Digest> = entries
                .iter()
                .filter(|line| line.number == number)
                .map(|line| line.digest)
                .collect();
            let head = own.as_ref().map(|own| own.head);
            digests.extend(
                head.filter(|head| head.number == number).map(|head| head.digest),
            );
            if !checkpoint.is_signed() {
                self.fault(format!("{name} isn't what its key signed"));
            } else if !trusts {
                self.fault(format!("{name} is signed by a key that you don't trust"));
            } else if own.as_ref().is_some_and(|own| own.ledger != checkpoint.ledger) {
                self.fault(format!("{name} is of another ledger"));
            } else if digests.iter().any(|digest| *digest != checkpoint.head.digest) {
                self.fault(format!(
                    "{name} states another digest: history was rewritten"
                ));
            }
        }
    }

    /// The key whose signature fits.
    fn signature(&mut self, manifest: &[u8]) -> Option<PublicKey> {
        let Ok(signed) = self.bytes("manifest.sig") else {
            self.fault(
                "nobody signed it: manifest.sig is not there. It shows what is in it, and not \
                 who made it, nor that it is all that there was",
            );
            return None;
        };
        let signed = String::from_utf8_lossy(&signed).into_owned();
        let field = |name: &str| {
            signed.lines().find_map(|line| line.strip_prefix(name)).map(str::trim)
        };
        let key = field("key:").and_then(|text| text.parse::<PublicKey>().ok());
        let signature = field("signature:").and_then(bytes_64);
        let (Some(key), Some(signature)) = (key, signature) else {
            self.fault("manifest.sig holds no key and signature");
            return None;
        };
        if !key.signed_document(TAG, manifest, &signature) {
            self.fault("manifest.json is not what was signed");
            return None;
        }
        self.verdict.fingerprint = Some(key.fingerprint());
        Some(key)
    }

    /// Every file is there as the manifest says, and no other.
    fn files(&mut self, manifest: &Value) -> Result<(), AppError> {
        let listed = manifest["files"].as_array().cloned().unwrap_or_default();
        let mut names: BTreeSet<String> =
            ["manifest.json", "manifest.sig"].map(str::to_owned).into();
        let mut folded = BTreeSet::new();
        for file in &listed {
            let name = file["name"].as_str().unwrap_or_default().to_owned();
            names.insert(name.clone());
            if !folded.insert(name.to_lowercase()) {
                self.fault(format!("{name} is named twice, in whatever capitals"));
            }
            if !is_inside(&name) {
                self.fault(format!("{name} is no name of a file in a bundle"));
                continue;
            }
            let Ok(content) = self.bytes(&name) else {
                self.fault(format!("{name} is missing"));
                continue;
            };
            let digest = Digest::of(&content).to_string();
            if file["blake3"].as_str() != Some(&digest) {
                self.fault(format!("{name} was changed after the bundle was signed"));
            }
        }
        for found in self.files.names()? {
            if !names.contains(&found) {
                self.fault(format!("{found} is not in the manifest"));
            }
        }
        Ok(())
    }

    /// The entries, each recomputed; those that follow each other are held together.
    fn entries(&mut self) -> Result<Vec<Line>, AppError> {
        let text = self.bytes("entries.jsonl")?;
        let text = String::from_utf8_lossy(&text).into_owned();
        let mut entries: Vec<Line> = Vec::new();
        for (place, line) in (1..).zip(text.lines()) {
            let Some(line) = parse(line) else {
                self.fault(format!("line {place} of entries.jsonl is no entry"));
                continue;
            };
            if computed(&line) != line.digest {
                self.fault(format!(
                    "entry {} was changed after it was written",
                    line.number
                ));
            }
            if let Some(last) = entries.last() {
                let next = last.number + 1 == line.number;
                if line.number <= last.number || (next && last.digest != line.before) {
                    self.fault(format!(
                        "entry {} does not follow entry {}",
                        line.number, last.number
                    ));
                }
            }
            entries.push(line);
        }
        self.verdict.entries = entries.len();
        Ok(entries)
    }

    /// The signed checkpoint names the head, and what is here does not go beyond it.
    fn head(&mut self, manifest: &Value, entries: &[Line]) {
        let Ok(text) = self.bytes("checkpoint.txt") else {
            self.fault("checkpoint.txt is not there: no key speaks for the head, nor for the seals");
            return;
        };
        let text = String::from_utf8_lossy(&text).into_owned();
        let checkpoint = match text.parse::<Checkpoint>() {
            Ok(checkpoint) => checkpoint,
            Err(error) => return self.fault(error.to_string()),
        };
        if !checkpoint.is_signed() {
            self.fault("checkpoint.txt is not what was signed");
        }
        let head = checkpoint.head;
        if manifest["head"]["entry"].as_u64() != Some(head.number) {
            self.fault("the manifest and the checkpoint name different heads");
        }
        if let Some(last) = entries.last() {
            let beyond = last.number > head.number;
            if beyond || (last.number == head.number && last.digest != head.digest) {
                self.fault(format!(
                    "entry {} does not lead to the head that was signed",
                    last.number
                ));
            }
        }
        let whole = manifest["about"]["kind"] == "gate";
        if whole {
            let complete = entries.len() as u64 == head.number;
            let begins = entries
                .first()
                .is_none_or(|first| first.before == start_digest(&checkpoint.ledger));
            if !complete || !begins {
                self.fault(
                    "entries are missing: a bundle about a gate holds all of them",
                );
            }
        }
    }

    /// Folds the entries and computes the statement anew.
    /// Whatever somebody signed who had a secret is sealed with it.
    fn seals(&mut self, entries: &[Line]) {
        let text = self.bytes("checkpoint.txt").unwrap_or_default();
        let Ok(own) = String::from_utf8_lossy(&text).parse::<Checkpoint>() else {
            return;
        };
        let mut seals = Seals::new(&own.ledger);
        let mut programme = Programme::default();
        for line in entries {
            let (number, version) = (line.number, line.version);
            let (by, at, kind) = (line.by.as_str(), line.at.as_str(), line.kind.as_str());
            let body = line.body.as_bytes();
            seals.look(&programme, &Sealed { number, by, at, kind, version, body });
            // Only keys count here; what can't be folded is told elsewhere.
            if kind == "act.enrol" {
                let about = (number, kind, version);
                let _ = fold(&mut programme, about, (by, at), body);
            }
        }
        let (sealed, faults) = seals.finish();
        self.verdict.sealed = sealed;
        self.verdict.faults.extend(faults);
    }

    fn statement(
        &mut self,
        entries: &[Line],
        gate: &str,
        manifest: &Value,
    ) -> Result<(), AppError> {
        let on = manifest["on"].as_str().unwrap_or_default();
        let Ok(on) = on.parse::<Date>() else {
            self.fault("the manifest names no day");
            return Ok(());
        };
        let mut programme = Programme::default();
        for line in entries {
            let (kind, body) = (line.kind.as_str(), line.body.as_bytes());
            let folded = fold(
                &mut programme,
                (line.number, kind, line.version),
                (&line.by, &line.at),
                body,
            );
            if let Err(error) = folded {
                self.fault(error.to_string());
                return Ok(());
            }
        }
        let state = gate_state(&programme, gate, on);
        if manifest["gate"] != json!(state) {
            self.fault("how the gate stood is not what its entries say");
            return Ok(());
        }
        if manifest["layout"].as_u64() != Some(GATE_LAYOUT) {
            self.verdict.notices.push(
                "the statement is laid out as another version of the program does; its state \
                 follows from its entries, and its words were not compared"
                    .to_owned(),
            );
            return Ok(());
        }
        let said = self.bytes("statement.json")?;
        let said: Value = serde_json::from_slice(&said).unwrap_or_default();
        match sheet(&programme, &About::Gates(Some(gate.to_owned())), on) {
            Ok(sheet) if sheet.json() == said => self.verdict.recomputed = true,
            Ok(_) => self.fault("the statement is not what its entries say"),
            Err(error) => self.fault(error.to_string()),
        }
        Ok(())
    }
}

fn computed(line: &Line) -> Digest {
    let link = Link {
        number: line.number,
        batch: line.batch,
        at: &line.at,
        by: &line.by,
        kind: &line.kind,
        version: line.version,
        body: line.body.as_bytes(),
        request: line.request.as_deref(),
    };
    entry_digest(&line.before, &link)
}

fn parse(line: &str) -> Option<Line> {
    let value: Value = serde_json::from_str(line).ok()?;
    let text = |name: &str| value[name].as_str().map(str::to_owned);
    Some(Line {
        number: value["number"].as_u64()?,
        batch: value["batch"].as_u64()?,
        kind: text("kind")?,
        version: u32::try_from(value["version"].as_u64()?).ok()?,
        at: text("at")?,
        by: text("by")?,
        request: text("request"),
        body: text("body")?,
        before: text("before")?.parse().ok()?,
        digest: text("digest")?.parse().ok()?,
    })
}

fn bytes_64(text: &str) -> Option<[u8; 64]> {
    let digits: Option<Vec<u8>> =
        text.chars().map(|c| c.to_digit(16).map(|digit| digit as u8)).collect();
    let bytes: Vec<u8> =
        digits?.chunks(2).map(|pair| pair[0] << 4 | pair[pair.len() - 1]).collect();
    bytes.try_into().ok()
}

/// All files below a folder, by their names from there, with `/` between.
fn inside(dir: &Path) -> Result<Vec<String>, AppError> {
    let io = |file: &Path| {
        let file = file.to_owned();
        move |source| AppError::File { doing: "list", file, source }
    };
    let (mut names, mut open) = (Vec::new(), vec![PathBuf::new()]);
    while let Some(below) = open.pop() {
        let here = dir.join(&below);
        for found in std::fs::read_dir(&here).map_err(io(&here))? {
            let name = below.join(found.map_err(io(&here))?.file_name());
            // A link is no folder: it could lead back to where one came from.
            let file = dir.join(&name);
            if file.symlink_metadata().map_err(io(&file))?.is_dir() {
                open.push(name);
            } else {
                names.push(name.to_string_lossy().replace('\\', "/"));
            }
        }
    }
    Ok(names)
}
