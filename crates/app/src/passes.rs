//! Passes: what lets a program or a calendar read, or act, as somebody without their session.
//!
//! A pass is 256 random bits. Only its digest is kept, beside the record; whoever copies the
//! ledger has no use of it. It ends when it is revoked, when its day comes, when the person
//! leaves the list, or when they are given another secret.

use jiff::civil::Date;
use ledger::Digest;
use serde_json::{Value, json};

use crate::{AppError, Change, Desk, Programme, Settings, key_of, random_token};

/// What a pass lets one do.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum PassScope {
    /// Read by the JSON interface.
    Read,
    /// Read, and act with the signer's secret.
    Act,
    /// Read one's own calendar.
    Calendar,
}

/// The most that one person has of a kind.
const MOST: usize = 20;
/// The length of a name.
const NAME: usize = 12;
/// The longest note of what it is for.
const LONGEST: usize = 80;

impl PassScope {
    /// All of them.
    pub const ALL: [Self; 3] = [Self::Read, Self::Act, Self::Calendar];

    /// Its word.
    pub fn word(self) -> &'static str {
        match self {
            Self::Read => "read",
            Self::Act => "act",
            Self::Calendar => "calendar",
        }
    }

    fn of(word: &str) -> Option<Self> {
        Self::ALL.into_iter().find(|scope| scope.word() == word)
    }

    /// The kind of its setting.
    fn kind(self) -> &'static str {
        match self {
            Self::Read | Self::Act => "token",
            Self::Calendar => "calendar",
        }
    }

    /// What begins the text of one, so that whoever finds it knows what it is.
    fn begins(self) -> &'static str {
        match self {
            Self::Read | Self::Act => "turnbuckle_",
            Self::Calendar => "",
        }
    }
}

/// A pass as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Pass {
    /// Its name, by which it is revoked.
    pub name: String,
    /// Whose it is.
    pub owner: String,
    /// What it lets one do.
    pub scope: PassScope,
    /// What it is for, in its owner's words.
    pub label: String,
    /// When it was made.
    pub made: String,
    /// The last day on which it counts.
    pub expires: Option<Date>,
    /// About when it was last used.
    pub used: Option<String>,
    /// The key that its owner had then.
    key: String,
    digest: String,
}

/// A pass that is asked for.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct NewPass {
    /// Whose it will be.
    pub owner: String,
    /// What it lets one do.
    pub scope: PassScope,
    /// What it is for.
    pub label: String,
    /// The last day on which it counts.
    pub expires: Option<Date>,
    /// The id by which asking twice counts once.
    pub request: Option<String>,
}

/// What asking for a pass came to.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum MadePass {
    /// Its text, which is told this once.
    New(String),
    /// The same was asked before, and that pass is there.
    There,
    /// The same was asked before, and that pass was revoked since: asking again does not bring
    /// it back.
    Revoked,
}

/// How long it is remembered that a pass was revoked, in days. A form that would make it again
/// counts no longer than the session from which it was opened, and none lasts so long.
const REMEMBERED: i32 = 7;

/// Makes a pass, unless the same was asked before.
///
/// # Errors
/// If there are too many, its owner has no secret, or the ledger can't be written.
pub fn make_pass(desk: &Desk, new: NewPass, at: &str) -> Result<MadePass, AppError> {
    let NewPass { owner, scope, label, expires, request } = new;
    let unknown = |what: &str| AppError::Unknown(what.to_owned());
    let key = key_of(&desk.snapshot().programme, &owner);
    let key = key.ok_or_else(|| unknown("only somebody who has a secret has passes"))?;
    if label.chars().count() > LONGEST {
        return Err(unknown("what it is for is too long: write 80 characters or fewer"));
    }
    let name = match request {
        Some(request) => named(&owner, scope, &request),
        None => random_token()?[..NAME].to_owned(),
    };
    forget_revoked(desk, &owner, scope.kind(), at)?;
    let settings = desk.settings();
    let others = settings.of(&owner, scope.kind());
    let others = others.filter_map(|(found, content)| Pass::read(&owner, found, content));
    if others.filter(|pass| pass.name != name).count() >= MOST {
        return Err(unknown(
            "you have twenty of them: revoke one that is not used any more",
        ));
    }
    let text = format!("{}{name}_{}", scope.begins(), random_token()?);
    let digest = Digest::of(text.as_bytes()).to_string();
    let pass = Pass {
        name: name.clone(),
        owner: owner.clone(),
        scope,
        label,
        made: at.to_owned(),
        expires,
        used: None,
        key,
        digest,
    };
    let content = pass.content();
    desk.change_setting((&owner, scope.kind(), &name), |found| match found {
        Some(found) if revoked(found).is_some() => (Change::Keep, MadePass::Revoked),
        Some(_) => (Change::Keep, MadePass::There),
        None => (Change::Put(content), MadePass::New(text)),
    })
}

/// When what is kept was revoked, if it was.
fn revoked(content: &str) -> Option<String> {
    let value: Value = serde_json::from_str(content).ok()?;
    value["revoked"].as_str().map(str::to_owned)
}

/// Forgets what was revoked long ago.
fn forget_revoked(
    desk: &Desk,
    owner: &str,
    kind: &str,
    at: &str,
) -> Result<(), AppError> {
    let day = |stamp: &str| stamp.get(..10).and_then(|day| day.parse::<Date>().ok());
    let Some(today) = day(at) else { return Ok(()) };
    let long_ago = |content: &str| {
        let then = revoked(content).and_then(|at| day(&at));
        then.is_some_and(|then| (today - then).get_days().abs() > REMEMBERED)
    };
    let settings = desk.settings();
    let old = settings.of(owner, kind).filter(|(_, content)| long_ago(content));
    let old: Vec<String> = old.map(|(name, _)| name.to_owned()).collect();
    for name in old {
        desk.change_setting((owner, kind, &name), |_| (Change::Remove, ()))?;
    }
    Ok(())
}

/// The name of what a request asks for: the same for the same request.
fn named(owner: &str, scope: PassScope, request: &str) -> String {
    let asked = format!("{owner}\n{}\n{request}", scope.kind());
    Digest::of(asked.as_bytes()).to_string()[..NAME].to_owned()
}

/// The passes of a person, oldest first.
pub fn passes(settings: &Settings, owner: &str) -> Vec<Pass> {
    let kinds = ["token", "calendar"].into_iter();
    let each = kinds.flat_map(|kind| settings.of(owner, kind));
    let mut all: Vec<Pass> =
        each.filter_map(|(name, content)| Pass::read(owner, name, content)).collect();
    all.sort_by(|one, other| (one.scope, &one.made).cmp(&(other.scope, &other.made)));
    all
}

/// The pass of a text that counts on a day, for the calendar or for the JSON interface.
pub fn find_pass(
    settings: &Settings,
    programme: &Programme,
    (text, calendar): (&str, bool),
    on: Date,
) -> Option<Pass> {
    let scope = if calendar { PassScope::Calendar } else { PassScope::Read };
    let (name, _) = text.strip_prefix(scope.begins())?.split_once('_')?;
    let digest = Digest::of(text.as_bytes()).to_string();
    let mut found = settings.of_kind(scope.kind()).filter(|(_, found, _)| *found == name);
    let pass = found.find_map(|(owner, name, content)| {
        Pass::read(owner, name, content).filter(|pass| same(&pass.digest, &digest))
    })?;
    let counts = pass.expires.is_none_or(|last| on <= last);
    let key = key_of(programme, &pass.owner);
    (counts && key.as_ref() == Some(&pass.key)).then_some(pass)
}

/// Whether two digests are the same, in a time that does not tell where they differ.
fn same(one: &str, other: &str) -> bool {
    let bits = one.bytes().zip(other.bytes()).fold(0, |bits, (a, b)| bits | (a ^ b));
    one.len() == other.len() && bits == 0
}

/// Notes that a pass was used, about every ten minutes.
///
/// # Errors
/// If the ledger can't be written.
pub fn pass_used(desk: &Desk, pass: &Pass, at: &str) -> Result<(), AppError> {
    // `2032-01-14T09:3`: ten minutes.
    let about = |at: &str| at.get(..15).map(str::to_owned);
    if pass.used.as_deref().and_then(about) == about(at) {
        return Ok(());
    }
    let (owner, name, at) = (pass.owner.clone(), pass.name.clone(), at.to_owned());
    let key = (pass.owner.as_str(), pass.scope.kind(), pass.name.as_str());
    desk.change_setting(key, move |found| {
        let pass = found.and_then(|found| Pass::read(&owner, &name, found));
        let change = pass.map(|pass| Pass { used: Some(at), ..pass }.content());
        (change.map_or(Change::Keep, Change::Put), ())
    })
}

/// Revokes a pass of somebody; whether there was one. Nothing of it stays but that it was
/// revoked, so that the form that made it makes no other one.
///
/// # Errors
/// If the ledger can't be written.
pub fn revoke_pass(
    desk: &Desk,
    owner: &str,
    name: &str,
    at: &str,
) -> Result<bool, AppError> {
    let settings = desk.settings();
    let found = passes(&settings, owner).into_iter().find(|pass| pass.name == name);
    let Some(pass) = found else { return Ok(false) };
    let key = (owner, pass.scope.kind(), name);
    let mark = json!({ "revoked": at }).to_string();
    desk.change_setting(key, |found| match found {
        Some(found) if revoked(found).is_none() => (Change::Put(mark), true),
        _ => (Change::Keep, false),
    })
}

impl Pass {
    fn content(&self) -> String {
        let Self { name: _, owner: _, scope, label, made, expires, used, key, digest } =
            self;
        json!({
            "scope": scope.word(),
            "label": label,
            "made": made,
            "expires": expires.map(|day| day.to_string()),
            "used": used,
            "key": key,
            "digest": digest,
        })
        .to_string()
    }

    fn read(owner: &str, name: &str, content: &str) -> Option<Self> {
        let value: Value = serde_json::from_str(content).ok()?;
        let text = |field: &str| value[field].as_str().map(str::to_owned);
        let expires = match text("expires") {
            Some(day) => Some(day.parse().ok()?),
            None => None,
        };
        Some(Self {
            name: name.to_owned(),
            owner: owner.to_owned(),
            scope: PassScope::of(&text("scope")?)?,
            label: text("label")?,
            made: text("made")?,
            expires,
            used: text("used"),
            key: text("key")?,
            digest: text("digest")?,
        })
    }
}
