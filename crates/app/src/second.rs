//! The second factor: a code that a device of the person computes from a key and the time.
//!
//! TOTP (RFC 6238) over HMAC-SHA-1, six digits, steps of thirty seconds, as all programs for
//! it have it. The key lies beside the record, encrypted with a key that only the person's
//! secret makes: whoever copies the ledger can compute no code. Recovery codes are kept as
//! digests and count once; so does each code within its step.

use hmac::{Hmac, KeyInit, Mac};
use ledger::{Digest, HidingKey};
use serde_json::{Value, json};
use sha1::Sha1;

use crate::{AppError, Change, Desk, Settings, key_of, random_token};

/// The length of a step in seconds, and how many digits a code has.
const STEP: i64 = 30;
const DIGITS: u32 = 6;
/// Clocks may differ by so many steps (RFC 6238, section 5.2, recommends one).
const DRIFT: i64 = 1;
/// The length of a key in bytes, as that of the digest (RFC 4226, section 4, R6).
const KEY: usize = 20;
/// How many recovery codes there are.
const RECOVERY: usize = 8;
const KIND: &str = "second-factor";
const NAME: &str = "totp";

/// What a code came to.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum CodeVerdict {
    /// It is right, and counts no more from now on.
    Right,
    /// It was a recovery code; so many are left.
    Recovered(usize),
    /// It is not the code of now.
    Wrong,
    /// It was right, and was used before: wait for the next.
    Used,
    /// There is a second factor that was set up with another secret: only a recovery code
    /// counts, and it was none.
    Locked,
}

/// A new key, as people type it: base32 (RFC 4648).
///
/// # Errors
/// If the system has no randomness.
pub fn new_code_key() -> Result<String, AppError> {
    let digits = random_token()?;
    let byte = |at: usize| u8::from_str_radix(&digits[at..at + 2], 16).unwrap_or(0);
    let bytes: Vec<u8> = (0..KEY).map(|at| byte(at * 2)).collect();
    Ok(base32(&bytes))
}

/// What a device is shown, as a picture or as a link.
pub fn code_link(person: &str, key: &str) -> String {
    let person: String = person
        .chars()
        .filter(|c| c.is_ascii_alphanumeric() || "-._".contains(*c))
        .collect();
    format!("otpauth://totp/Turnbuckle:{person}?secret={key}&issuer=Turnbuckle")
}

/// Whether somebody has a second factor.
pub fn has_second(settings: &Settings, person: &str) -> bool {
    settings.get(person, KIND, NAME).is_some()
}

/// Since when somebody has a second factor, whether it was set up with the secret that they
/// have now, and how many recovery codes are left.
pub fn second_of(
    settings: &Settings,
    programme: &crate::Programme,
    person: &str,
) -> Option<(String, bool, usize)> {
    let factor = Factor::read(settings.get(person, KIND, NAME)?)?;
    let current = key_of(programme, person).as_deref() == Some(factor.owner_key.as_str());
    Some((factor.since, current, factor.recovery.len()))
}

/// Sets a second factor up, if the code is the one of the key at a moment (seconds since
/// 1970); the recovery codes, which are told this once. None if the code is wrong.
///
/// # Errors
/// If the system has no randomness, or the ledger can't be written.
pub fn set_second(
    desk: &Desk,
    (person, unlocked): (&str, &HidingKey),
    (key, code): (&str, &str),
    (at, seconds): (&str, i64),
) -> Result<Option<Vec<String>>, AppError> {
    let Some(bytes) = from_base32(key).filter(|bytes| bytes.len() == KEY) else {
        return Ok(None);
    };
    let Some(step) = step_of(&bytes, code, seconds) else { return Ok(None) };
    let owner_key = key_of(&desk.snapshot().programme, person).unwrap_or_default();
    let hidden = unlocked.hide(person, &bytes);
    let hidden = hidden.map_err(|error| AppError::Unknown(error.to_string()))?;
    let codes: Vec<String> =
        (0..RECOVERY).map(|_| recovery_code()).collect::<Result<_, _>>()?;
    let factor = Factor {
        hidden: hex(&hidden),
        owner_key,
        last: step,
        recovery: codes.iter().map(|code| digest(person, code)).collect(),
        since: at.to_owned(),
    };
    let content = factor.content();
    desk.change_setting((person, KIND, NAME), |_| (Change::Put(content), ()))?;
    Ok(Some(codes))
}

/// Keeps the second factor of somebody who changed their secret: its key is hidden anew by what
/// the new one makes. Whether there was one that the old secret shows.
///
/// # Errors
/// If the key can't be hidden, or the ledger can't be written.
pub fn keep_second(
    desk: &Desk,
    person: &str,
    (old, new): (&HidingKey, &HidingKey),
) -> Result<bool, AppError> {
    let owner_key = key_of(&desk.snapshot().programme, person).unwrap_or_default();
    let (name, old, new) = (person.to_owned(), old.clone(), new.clone());
    desk.change_setting((person, KIND, NAME), move |found| {
        let factor = found.and_then(Factor::read);
        let shown = factor.and_then(|factor| {
            let key = old.show(&name, &unhex(&factor.hidden))?;
            Some((factor, key))
        });
        let Some((factor, key)) = shown else { return (Change::Keep, Ok(false)) };
        match new.hide(&name, &key) {
            Ok(hidden) => {
                let factor = Factor { hidden: hex(&hidden), owner_key, ..factor };
                (Change::Put(factor.content()), Ok(true))
            }
            Err(error) => (Change::Keep, Err(AppError::Unknown(error.to_string()))),
        }
    })?
}

/// Takes somebody's second factor away; whether there was one.
///
/// # Errors
/// If the ledger can't be written.
pub fn remove_second(desk: &Desk, person: &str) -> Result<bool, AppError> {
    desk.change_setting((person, KIND, NAME), |found| (Change::Remove, found.is_some()))
}

/// Holds a code, or a recovery code, against somebody's second factor, and counts it as used.
///
/// # Errors
/// If the ledger can't be written: then nobody comes in, for the code would count again.
pub fn check_code(
    desk: &Desk,
    (person, unlocked): (&str, &HidingKey),
    code: &str,
    seconds: i64,
) -> Result<CodeVerdict, AppError> {
    let (name, key, code) = (person.to_owned(), unlocked.clone(), code.to_owned());
    desk.change_setting((person, KIND, NAME), move |found| {
        let Some(mut factor) = found.and_then(Factor::read) else {
            return (Change::Keep, CodeVerdict::Locked);
        };
        let verdict = factor.check((&name, &key), &code, seconds);
        let counts = matches!(verdict, CodeVerdict::Right | CodeVerdict::Recovered(_));
        (if counts { Change::Put(factor.content()) } else { Change::Keep }, verdict)
    })
}

/// A second factor as it is kept.
struct Factor {
    hidden: String,
    owner_key: String,
    /// The last step whose code was used.
    last: i64,
    recovery: Vec<String>,
    since: String,
}

impl Factor {
    fn check(
        &mut self,
        (person, unlocked): (&str, &HidingKey),
        code: &str,
        seconds: i64,
    ) -> CodeVerdict {
        let typed = digest(person, code);
        if let Some(at) = self.recovery.iter().position(|kept| *kept == typed) {
            self.recovery.remove(at);
            return CodeVerdict::Recovered(self.recovery.len());
        }
        let Some(key) = unlocked.show(person, &unhex(&self.hidden)) else {
            return CodeVerdict::Locked;
        };
        match step_of(&key, code, seconds) {
            None => CodeVerdict::Wrong,
            Some(step) if step <= self.last => CodeVerdict::Used,
            Some(step) => {
                self.last = step;
                CodeVerdict::Right
            }
        }
    }

    fn content(&self) -> String {
        let Self { hidden, owner_key, last, recovery, since } = self;
        json!({
            "hidden": hidden, "key": owner_key, "last": last, "recovery": recovery,
            "since": since,
        })
        .to_string()
    }

    fn read(content: &str) -> Option<Self> {
        let value: Value = serde_json::from_str(content).ok()?;
        let text = |field: &str| value[field].as_str().map(str::to_owned);
        let recovery = value["recovery"].as_array()?.iter();
        Some(Self {
            hidden: text("hidden")?,
            owner_key: text("key")?,
            last: value["last"].as_i64()?,
            recovery: recovery
                .filter_map(|one| one.as_str().map(str::to_owned))
                .collect(),
            since: text("since")?,
        })
    }
}

/// The step of which a code is the code, near a moment.
fn step_of(key: &[u8], code: &str, seconds: i64) -> Option<i64> {
    let code: String = code.chars().filter(|c| !c.is_whitespace()).collect();
    let now = seconds.div_euclid(STEP);
    let mut near = (now - DRIFT..=now + DRIFT).filter(|step| *step >= 0);
    near.find(|step| format!("{:06}", hotp(key, *step as u64, DIGITS)) == code)
}

/// The code of a key at a moment (seconds since 1970), as a device shows it.
pub fn code_at(key: &[u8], seconds: i64) -> String {
    let step = seconds.div_euclid(STEP).max(0);
    format!("{:06}", hotp(key, step as u64, DIGITS))
}

/// HOTP (RFC 4226, section 5.3).
fn hotp(key: &[u8], counter: u64, digits: u32) -> u32 {
    // HMAC takes a key of any length.
    let Ok(mut mac) = Hmac::<Sha1>::new_from_slice(key) else { return 0 };
    mac.update(&counter.to_be_bytes());
    let sum = mac.finalize().into_bytes();
    let at = usize::from(sum[19] & 0xf);
    let four = [sum[at] & 0x7f, sum[at + 1], sum[at + 2], sum[at + 3]];
    u32::from_be_bytes(four) % 10_u32.pow(digits)
}

/// 80 random bits, as `k7qd-9v3m-x2fa-41te` without letters that look alike.
fn recovery_code() -> Result<String, AppError> {
    const SIGNS: &[u8; 32] = b"abcdefghjkmnpqrstuvwxyz023456789";
    let digits = random_token()?;
    let pair =
        |at: usize| u8::from_str_radix(&digits[at * 2..at * 2 + 2], 16).unwrap_or(0);
    let signs: Vec<char> =
        (0..16).map(|at| char::from(SIGNS[usize::from(pair(at) & 31)])).collect();
    let groups: Vec<String> =
        signs.chunks(4).map(|group| group.iter().collect()).collect();
    Ok(groups.join("-"))
}

fn digest(person: &str, code: &str) -> String {
    let plain = code.chars().filter(char::is_ascii_alphanumeric).collect::<String>();
    Digest::of(format!("{person}\n{}", plain.to_lowercase()).as_bytes()).to_string()
}

const BASE32: &[u8; 32] = b"ABCDEFGHIJKLMNOPQRSTUVWXYZ234567";

/// RFC 4648, section 6, without padding.
fn base32(bytes: &[u8]) -> String {
    let bits = |at: usize| {
        (0..5).fold(0_usize, |sum, bit| {
            let place = at * 5 + bit;
            let byte = bytes.get(place / 8).copied().unwrap_or(0);
            sum << 1 | usize::from(byte >> (7 - place % 8) & 1)
        })
    };
    (0..(bytes.len() * 8).div_ceil(5)).map(|at| char::from(BASE32[bits(at)])).collect()
}

fn from_base32(text: &str) -> Option<Vec<u8>> {
    let (mut bytes, mut sum, mut held) = (Vec::new(), 0_u32, 0);
    for sign in text.bytes().filter(|sign| !sign.is_ascii_whitespace()) {
        let value =
            BASE32.iter().position(|known| *known == sign.to_ascii_uppercase())?;
        sum = (sum << 5 | value as u32) & 0xffff;
        held += 5;
        if held >= 8 {
            held -= 8;
            bytes.push((sum >> held) as u8);
        }
    }
    Some(bytes)
}

fn hex(bytes: &[u8]) -> String {
    use std::fmt::Write;
    bytes.iter().fold(String::new(), |mut text, byte| {
        let _ = write!(text, "{byte:02x}");
        text
    })
}

fn unhex(digits: &str) -> Vec<u8> {
    let pairs = (0..digits.len() / 2).map(|at| digits.get(at * 2..at * 2 + 2));
    pairs.filter_map(|pair| u8::from_str_radix(pair?, 16).ok()).collect()
}

#[cfg(test)]
mod tests {
    use super::*;

    /// RFC 4226, appendix D.
    #[test]
    fn codes_are_those_of_the_counter_based_standard() {
        let codes: Vec<u32> =
            (0..10).map(|counter| hotp(b"12345678901234567890", counter, 6)).collect();
        assert_eq!(
            codes,
            [
                755_224, 287_082, 359_152, 969_429, 338_314, 254_676, 287_922, 162_583,
                399_871, 520_489
            ]
        );
    }

    /// RFC 6238, appendix B, the lines for SHA-1: eight digits.
    #[test]
    fn codes_are_those_of_the_time_based_standard() {
        for (seconds, code) in [
            (59, 94_287_082),
            (1_111_111_109, 7_081_804),
            (1_111_111_111, 14_050_471),
            (1_234_567_890, 89_005_924),
            (2_000_000_000, 69_279_037),
            (20_000_000_000, 65_353_130),
        ] {
            let step = seconds / STEP as u64;
            assert_eq!(hotp(b"12345678901234567890", step, 8), code, "{seconds}");
        }
    }

    /// RFC 4648, section 10.
    #[test]
    fn keys_are_written_in_base32() {
        for (plain, text) in [
            ("", ""),
            ("f", "MY"),
            ("fo", "MZXQ"),
            ("foo", "MZXW6"),
            ("foob", "MZXW6YQ"),
            ("fooba", "MZXW6YTB"),
            ("foobar", "MZXW6YTBOI"),
        ] {
            assert_eq!(base32(plain.as_bytes()), text);
            assert_eq!(from_base32(text).unwrap(), plain.as_bytes());
        }
        assert_eq!(from_base32("M1"), None);
        assert_eq!(new_code_key().unwrap().len(), 32);
    }

    #[test]
    fn a_code_counts_near_its_step_alone() {
        let key = b"12345678901234567890";
        // 287082 is the code of step 1: the seconds from 30 to 59.
        for (seconds, step) in [(59, Some(1)), (0, Some(1)), (89, Some(1)), (90, None)] {
            assert_eq!(step_of(key, "287082", seconds), step, "{seconds}");
        }
        assert_eq!(step_of(key, " 287 082 ", 59), Some(1));
        for wrong in ["", "287083", "0287082", "287082a"] {
            assert_eq!(step_of(key, wrong, 59), None, "{wrong}");
        }
    }

    #[test]
    fn a_recovery_code_is_found_however_it_is_typed() {
        let code = recovery_code().unwrap();
        assert_eq!(code.len(), 19);
        assert_eq!(
            digest("OP", &code),
            digest("OP", &code.to_uppercase().replace('-', " "))
        );
        assert_ne!(digest("OP", &code), digest("TR", &code));
    }
}
