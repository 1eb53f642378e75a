//! Seals: that an entry was signed by whoever it names, shown by a key that only their
//! secret makes.
//!
//! The public half of a person's key stands in the record (`enrol`). The body of an entry
//! that they sign is kept as `{"seal":"...","body":...}`, where the seal is their Ed25519
//! signature over the ledger's name, who signs, when, and the kind, version and body of the
//! entry. So whoever can write the ledger's file still can't sign as somebody who has a
//! secret: [`verify`](crate::verify()) finds what is not sealed, sealed by another key, or
//! an entry that was copied.

use std::collections::BTreeSet;
use std::fmt;

use ledger::{Derivation, Entry, HidingKey, NewEntry, PublicKey, SigningKey};
use record::act::Enrol;
use record::{Act, PersonId, Programme, Refusal, RuleKey};

use crate::{AppError, Refused, Signed};

/// What a seal is for, so that it can't be taken for another signature.
const TAG: &str = "turnbuckle/seal/1";
/// What the key is for with which second factors are hidden.
const HIDING: &str = "turnbuckle 2026 beside the record: second factor";
const BEFORE: &str = "{\"seal\":\"";
const BETWEEN: &str = "\",\"body\":";

/// What somebody types to show who they are. It is never printed.
#[derive(Clone, PartialEq, Eq)]
pub struct Secret(String);

/// The fewest characters that a secret may have.
const SHORTEST: usize = 10;

impl Secret {
    /// A secret as it was typed or read, without the end of its line.
    pub fn new(text: &str) -> Self {
        Self(text.trim_end_matches(['\r', '\n']).to_owned())
    }
}

impl fmt::Debug for Secret {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str("Secret(..)")
    }
}

/// The body of an entry, and its seal if it has one.
pub(crate) struct Peeled<'a> {
    pub(crate) seal: Option<&'a str>,
    pub(crate) body: &'a str,
}

/// Takes the seal off a body.
pub(crate) fn peel(body: &[u8]) -> Peeled<'_> {
    let body = std::str::from_utf8(body).unwrap_or_default();
    sealed(body).unwrap_or(Peeled { seal: None, body })
}

fn sealed(body: &str) -> Option<Peeled<'_>> {
    let (seal, rest) = body.strip_prefix(BEFORE)?.split_once(BETWEEN)?;
    Some(Peeled { seal: Some(seal), body: rest.strip_suffix('}')? })
}

/// What a seal is made over: each part after its length, eight bytes, little-endian; the
/// version as eight bytes too.
fn message(
    ledger: &str,
    (by, at): (&str, &str),
    (kind, version): (&str, u32),
    body: &str,
) -> Vec<u8> {
    let version = u64::from(version).to_le_bytes();
    let parts: [&[u8]; 6] = [
        ledger.as_bytes(),
        by.as_bytes(),
        at.as_bytes(),
        kind.as_bytes(),
        &version,
        body.as_bytes(),
    ];
    let mut message = Vec::new();
    for part in parts {
        message.extend_from_slice(&(part.len() as u64).to_le_bytes());
        message.extend_from_slice(part);
    }
    message
}

/// Seals entries of one person, or leaves them as they are for somebody without a key.
pub(crate) struct Sealer {
    ledger: String,
    key: Option<SigningKey>,
}

impl Sealer {
    /// The one for whoever signs.
    ///
    /// # Errors
    /// [`AppError::Forbidden`] if they have a key and give no secret or another one, or give
    /// one and have no key.
    pub(crate) fn of(
        programme: &Programme,
        signed: &Signed,
        ledger: &impl fmt::Display,
        word: &'static str,
    ) -> Result<Self, AppError> {
        let ledger = ledger.to_string();
        let person = PersonId::new(&signed.by).ok();
        let Some(person) = person.filter(|person| programme.people.has(person)) else {
            return Ok(Self { ledger, key: None });
        };
        if let Some(refusal) = programme.seal_refusal(&person, signed.secret.is_some()) {
            return Err(forbidden(programme, refusal, word));
        }
        let keys = &programme.shop.authorities.keys;
        let (Some(key), Some(secret)) = (keys.get(&person), &signed.secret) else {
            return Ok(Self { ledger, key: None });
        };
        let made = made(&key.enrol, secret)?;
        if made.public().to_string() != key.enrol.key {
            let refusal = Refusal {
                rule: RuleKey::Seal,
                what: format!("that is not the secret of {person}"),
                hint:
                    "type it again; if it is lost, somebody who may appoint enrols anew"
                        .to_owned(),
            };
            return Err(forbidden(programme, refusal, word));
        }
        Ok(Self { ledger, key: Some(made) })
    }

    pub(crate) fn seal(&self, entry: NewEntry) -> NewEntry {
        let Some(key) = &self.key else { return entry };
        let body = String::from_utf8_lossy(&entry.body);
        let about = (entry.kind.as_str(), entry.version);
        let message = message(&self.ledger, (&entry.by, &entry.at), about, &body);
        let seal = hex(&key.sign_document(TAG, &message));
        let body = format!("{BEFORE}{seal}{BETWEEN}{body}}}").into_bytes();
        NewEntry { body, ..entry }
    }
}

/// The key that a secret makes in the way that was entered.
fn made(enrol: &Enrol, secret: &Secret) -> Result<SigningKey, AppError> {
    let wrong = |error: ledger::SecretError| AppError::Unknown(error.to_string());
    let derivation: Derivation = enrol.derivation.parse().map_err(wrong)?;
    derivation.key(&secret.0, &bytes(&enrol.salt)).map_err(wrong)
}

/// Whether a person has a secret.
pub fn has_secret(programme: &Programme, person: &str) -> bool {
    let keys = &programme.shop.authorities.keys;
    PersonId::new(person).is_ok_and(|person| keys.contains_key(&person))
}

/// The public half of a person's key, if they have a secret.
pub fn key_of(programme: &Programme, person: &str) -> Option<String> {
    let key = programme.shop.authorities.keys.get(&PersonId::new(person).ok()?)?;
    Some(key.enrol.key.clone())
}

/// Whether anybody has a secret.
pub fn has_keys(programme: &Programme) -> bool {
    !programme.shop.authorities.keys.is_empty()
}

/// Whether a secret is that of a person, who has one. It takes as long for somebody who has
/// none, so that a guess does not tell who has.
///
/// # Errors
/// If the key can't be made: the entry that says how it is made is damaged.
pub fn proves(
    programme: &Programme,
    person: &str,
    secret: &Secret,
) -> Result<bool, AppError> {
    Ok(unlock(programme, person, secret)?.is_some())
}

/// The same, with the key that hides what lies beside the record and is for this person
/// alone; nothing if the secret is another one.
///
/// # Errors
/// As for [`proves`].
pub fn unlock(
    programme: &Programme,
    person: &str,
    secret: &Secret,
) -> Result<Option<HidingKey>, AppError> {
    let keys = &programme.shop.authorities.keys;
    let key = PersonId::new(person).ok().and_then(|person| keys.get(&person));
    let Some(key) = key else {
        let made = Derivation::USUAL.key(&secret.0, &[0; 16]);
        return made.map(|_| None).map_err(|error| AppError::Unknown(error.to_string()));
    };
    let made = made(&key.enrol, secret)?;
    let right = made.public().to_string() == key.enrol.key;
    Ok(right.then(|| made.hiding(HIDING)))
}

/// 256 random bits as hexadecimal digits, for what nobody may guess.
///
/// # Errors
/// If the system has no randomness.
pub fn random_token() -> Result<String, AppError> {
    let half = || ledger::new_salt().map_err(|e| AppError::Unknown(e.to_string()));
    Ok(hex(&half()?) + &hex(&half()?))
}

/// The act that gives a person a key made of a secret.
///
/// # Errors
/// If the secret is too short, the name is none, or the system has no randomness.
pub fn enrolment(person: &str, secret: &Secret, reason: &str) -> Result<Act, AppError> {
    enrolment_by(person, secret, reason, Derivation::USUAL)
}

/// The same with other costs.
pub fn enrolment_by(
    person: &str,
    secret: &Secret,
    reason: &str,
    derivation: Derivation,
) -> Result<Act, AppError> {
    let unknown = |what: String| AppError::Unknown(what);
    let length = secret.0.chars().count();
    if length < SHORTEST {
        return Err(unknown(format!(
            "a secret has {SHORTEST} characters or more, and this has {length}: take some words"
        )));
    }
    let person = PersonId::new(person).map_err(|error| unknown(error.to_string()))?;
    let salt = ledger::new_salt().map_err(|error| unknown(error.to_string()))?;
    let key = derivation.key(&secret.0, &salt);
    let key = key.map_err(|error| unknown(error.to_string()))?;
    let enrol = Enrol {
        person,
        key: key.public().to_string(),
        salt: hex(&salt),
        derivation: derivation.to_string(),
        reason: reason.to_owned(),
    };
    Ok(enrol.into())
}

fn forbidden(programme: &Programme, refusal: Refusal, word: &'static str) -> AppError {
    let rule = programme.rules.get(&refusal.rule);
    let citation = rule.and_then(|rule| rule.citation.clone());
    AppError::Forbidden(vec![Refused {
        act: (1, word),
        refusal,
        citation,
        follows: None,
    }])
}

/// A stored entry, as far as its seal is concerned.
pub(crate) struct Sealed<'a> {
    pub(crate) number: u64,
    pub(crate) by: &'a str,
    pub(crate) at: &'a str,
    pub(crate) kind: &'a str,
    pub(crate) version: u32,
    pub(crate) body: &'a [u8],
}

impl<'a> From<&'a Entry> for Sealed<'a> {
    fn from(entry: &'a Entry) -> Self {
        let Entry { number, by, at, kind, version, body, .. } = entry;
        Self { number: *number, by, at, kind, version: *version, body }
    }
}

/// A seal that is still to be held against its key.
struct Claim {
    number: u64,
    by: String,
    key: PublicKey,
    message: Vec<u8>,
    seal: [u8; 64],
}

/// Looks at the seals of entries in their order.
pub(crate) struct Seals {
    ledger: String,
    claims: Vec<Claim>,
    seen: BTreeSet<String>,
    count: usize,
    faults: Vec<String>,
}

/// So many are held against their keys at once.
const AT_ONCE: usize = 8_192;

impl Seals {
    pub(crate) fn new(ledger: &impl fmt::Display) -> Self {
        Self {
            ledger: ledger.to_string(),
            claims: Vec::new(),
            seen: BTreeSet::new(),
            count: 0,
            faults: Vec::new(),
        }
    }

    /// Looks at an entry, with the programme as it stands before it.
    pub(crate) fn look(&mut self, programme: &Programme, entry: &Sealed<'_>) {
        let Sealed { number, by, at, kind, version, body } = *entry;
        let person = PersonId::new(by).ok();
        let key = person.and_then(|by| programme.shop.authorities.keys.get(&by));
        let peeled = peel(body);
        let (key, seal) = match (key, peeled.seal) {
            (None, None) => return,
            (None, Some(_)) => {
                self.faults
                    .push(format!("entry {number} is sealed, and {by} had no key"));
                return;
            }
            (Some(_), None) => {
                self.faults.push(format!(
                    "entry {number} names {by}, who had a secret, and is not sealed with it"
                ));
                return;
            }
            (Some(key), Some(seal)) => (key, seal),
        };
        if !self.seen.insert(seal.to_owned()) {
            self.faults.push(format!("entry {number} is a copy of an earlier one"));
        }
        let message = message(&self.ledger, (by, at), (kind, version), peeled.body);
        let key = key.enrol.key.parse::<PublicKey>().ok();
        match (key, <[u8; 64]>::try_from(bytes(seal).as_slice())) {
            (Some(key), Ok(seal)) => {
                self.claims.push(Claim { number, by: by.to_owned(), key, message, seal });
            }
            _ => self.faults.push(unsealed(number, by)),
        }
        if self.claims.len() == AT_ONCE {
            self.settle();
        }
    }

    /// How many seals there were, and all that is wrong.
    pub(crate) fn finish(mut self) -> (usize, Vec<String>) {
        self.settle();
        (self.count, self.faults)
    }

    fn settle(&mut self) {
        let claims = std::mem::take(&mut self.claims);
        self.count += claims.len();
        let hands =
            std::thread::available_parallelism().map_or(1, std::num::NonZero::get);
        let share = claims.len().div_ceil(hands).max(1);
        let broken = std::thread::scope(|scope| {
            let hands: Vec<_> = claims
                .chunks(share)
                .map(|claims| scope.spawn(move || broken(claims)))
                .collect();
            let found = hands.into_iter().map(|hand| hand.join().unwrap_or_default());
            found.flatten().collect::<Vec<String>>()
        });
        self.faults.extend(broken);
    }
}

fn broken(claims: &[Claim]) -> Vec<String> {
    let fits =
        |claim: &&Claim| !claim.key.signed_document(TAG, &claim.message, &claim.seal);
    claims.iter().filter(fits).map(|claim| unsealed(claim.number, &claim.by)).collect()
}

fn unsealed(number: u64, by: &str) -> String {
    format!("the seal of entry {number} is not one of {by}: it was changed or forged")
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

/// Bytes of hexadecimal digits; none if they are something else.
fn bytes(digits: &str) -> Vec<u8> {
    let pair = |at: usize| u8::from_str_radix(digits.get(at..at + 2)?, 16).ok();
    if digits.len() % 2 == 1 {
        return Vec::new();
    }
    (0..digits.len()).step_by(2).map(pair).collect::<Option<_>>().unwrap_or_default()
}
