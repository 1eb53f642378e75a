//! Guessing of secrets: whoever guesses waits, longer each time.
//!
//! An attempt counts as a wrong one from its begin until it proves right, so that many at
//! once gain nothing.
//!
//! Somebody who only knows a name must not keep its owner out by guessing. So guesses are
//! counted apart: those of strangers by the name and by the address from which they come; those
//! of a session, of a token, or of a browser in which the same person signed in before, each by
//! itself. A stranger who guesses on and on makes other strangers wait, and neither those who
//! are at work nor whoever comes back to the browser that they use.

use std::collections::BTreeMap;
use std::net::{IpAddr, Ipv6Addr};
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::{Duration, Instant};

/// So many wrong ones are forgiven: of a person, and of an address behind which several may
/// sit.
const OF_PERSON: u32 = 4;
const OF_ADDRESS: u32 = 12;
/// The longest wait.
const LONGEST: Duration = Duration::from_mins(15);
/// After so long without any, the count begins anew.
const FORGET: Duration = Duration::from_hours(1);
/// The most counts that are kept.
const MOST: usize = 10_000;
/// So much of a name tells it apart from others.
const NAME: usize = 80;

/// Where a guess comes from.
#[derive(Debug, Clone, Copy)]
pub(crate) enum Guesser<'a> {
    /// Somebody of whom nothing is known but the address.
    Stranger(IpAddr),
    /// Who showed before that they are the person: by a session, a token, or a browser. The
    /// text is what tells that one apart from all others.
    Known(&'a str),
}

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Key {
    Person(String),
    Address(IpAddr),
    Known(String, String),
}

#[derive(Debug)]
struct Count {
    wrong: u32,
    last: Instant,
}

/// Who guessed how often.
#[derive(Debug, Default)]
pub(crate) struct Limiter {
    counts: Mutex<BTreeMap<Key, Count>>,
}

/// The counts that a guess is in, each with how many wrong ones are forgiven.
fn keys(person: &str, guesser: Guesser<'_>) -> Vec<(Key, u32)> {
    let person: String = person.chars().take(NAME).collect();
    match guesser {
        Guesser::Known(by) => vec![(Key::Known(by.to_owned(), person), OF_PERSON)],
        Guesser::Stranger(address) => vec![
            (Key::Person(person), OF_PERSON),
            (Key::Address(network(address)), OF_ADDRESS),
        ],
    }
}

/// What one subscriber has: an address, or with version 6 the whole network below 64 bits
/// (RFC 6177), of which a guesser would take another address each time.
fn network(address: IpAddr) -> IpAddr {
    match address.to_canonical() {
        IpAddr::V6(six) => {
            let kept = six.to_bits() >> 64 << 64;
            IpAddr::V6(Ipv6Addr::from_bits(kept))
        }
        four @ IpAddr::V4(_) => four,
    }
}

impl Limiter {
    fn counts(&self) -> MutexGuard<'_, BTreeMap<Key, Count>> {
        self.counts.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins an attempt, or says how long to wait.
    pub(crate) fn begin(
        &self,
        person: &str,
        guesser: Guesser<'_>,
    ) -> Result<(), Duration> {
        self.begin_at(person, guesser, Instant::now())
    }

    fn begin_at(
        &self,
        person: &str,
        guesser: Guesser<'_>,
        now: Instant,
    ) -> Result<(), Duration> {
        let mut counts = self.counts();
        if counts.len() >= MOST {
            counts.retain(|_, count| now.duration_since(count.last) < LONGEST);
        }
        let keys = keys(person, guesser);
        let wait = keys.iter().filter_map(|(key, free)| {
            let count = counts.get(key)?;
            let until = count.last + pause(count.wrong, *free);
            (until > now).then(|| until - now)
        });
        if let Some(wait) = wait.max() {
            return Err(wait);
        }
        for (key, _) in keys {
            let count = counts.entry(key).or_insert(Count { wrong: 0, last: now });
            if now.duration_since(count.last) > FORGET {
                count.wrong = 0;
            }
            count.wrong = count.wrong.saturating_add(1);
            count.last = now;
        }
        Ok(())
    }

    /// The attempt was right after all.
    pub(crate) fn right(&self, person: &str, guesser: Guesser<'_>) {
        let mut counts = self.counts();
        for (key, _) in keys(person, guesser) {
            if !matches!(key, Key::Address(_)) {
                counts.remove(&key);
            } else if let Some(count) = counts.get_mut(&key) {
                // Of an address only this one: others behind it may be guessing.
                count.wrong = count.wrong.saturating_sub(1);
            }
        }
    }
}

/// How long to wait after so many wrong ones: doubled each time, from a second on.
fn pause(wrong: u32, free: u32) -> Duration {
    let Some(over) = wrong.checked_sub(free) else { return Duration::ZERO };
    let seconds = 1_u64.checked_shl(over).filter(|_| over < 30);
    seconds.map_or(LONGEST, Duration::from_secs).min(LONGEST)
}

#[cfg(test)]
mod tests {
    use super::*;

    const HERE: Guesser<'static> =
        Guesser::Stranger(IpAddr::V4(std::net::Ipv4Addr::LOCALHOST));

    #[test]
    fn whoever_guesses_waits_longer_each_time() {
        let (limiter, mut now) = (Limiter::default(), Instant::now());
        for _ in 0..OF_PERSON {
            assert_eq!(limiter.begin_at("OP", HERE, now), Ok(()));
        }
        let mut waits = Vec::new();
        for _ in 0..5 {
            let wait = limiter.begin_at("OP", HERE, now).unwrap_err();
            waits.push(wait.as_secs());
            now += wait;
            assert_eq!(limiter.begin_at("OP", HERE, now), Ok(()));
        }
        assert_eq!(waits, [1, 2, 4, 8, 16]);
        assert_eq!(pause(u32::MAX, OF_PERSON), LONGEST);
        // Another person at the same terminal may still try, and one elsewhere.
        assert_eq!(limiter.begin_at("TR", HERE, now), Ok(()));
    }

    #[test]
    fn an_address_that_tries_many_names_waits_too() {
        let (limiter, now) = (Limiter::default(), Instant::now());
        for number in 0..OF_ADDRESS {
            assert_eq!(limiter.begin_at(&format!("P{number}"), HERE, now), Ok(()));
        }
        assert!(limiter.begin_at("AC", HERE, now).is_err());
    }

    #[test]
    fn many_addresses_of_one_network_are_one() {
        let (limiter, now) = (Limiter::default(), Instant::now());
        let from = |text: String| Guesser::Stranger(text.parse().unwrap());
        for number in 0..OF_ADDRESS {
            let six = from(format!("2001:db8:1:2::{number:x}"));
            assert_eq!(limiter.begin_at(&format!("P{number}"), six, now), Ok(()));
        }
        let next = from("2001:db8:1:2:ffff::1".to_owned());
        assert!(limiter.begin_at("AC", next, now).is_err());
        let other = from("2001:db8:1:3::1".to_owned());
        assert_eq!(limiter.begin_at("AC", other, now), Ok(()));
        // One of version 4 that came by version 6 (RFC 4291, section 2.5.5.2).
        assert_eq!(
            network("::ffff:192.0.2.1".parse().unwrap()),
            network("192.0.2.1".parse().unwrap())
        );
    }

    #[test]
    fn a_stranger_keeps_nobody_from_their_work() {
        let (limiter, now) = (Limiter::default(), Instant::now());
        while limiter.begin_at("OP", HERE, now).is_ok() {}
        let at_work = Guesser::Known("session 1");
        assert_eq!(limiter.begin_at("OP", at_work, now), Ok(()));
        limiter.right("OP", at_work);
        assert!(limiter.begin_at("OP", HERE, now).is_err(), "the stranger still waits");
        // Who sits down at an open session and guesses waits by themselves.
        for _ in 0..OF_PERSON {
            assert_eq!(limiter.begin_at("OP", at_work, now), Ok(()));
        }
        assert!(limiter.begin_at("OP", at_work, now).is_err());
        assert_eq!(limiter.begin_at("OP", Guesser::Known("session 2"), now), Ok(()));
    }

    #[test]
    fn a_right_one_ends_the_count_of_the_person() {
        let (limiter, now) = (Limiter::default(), Instant::now());
        for _ in 0..50 {
            assert_eq!(limiter.begin_at("OP", HERE, now), Ok(()));
            limiter.right("OP", HERE);
        }
    }
}
