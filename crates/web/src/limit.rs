//! Guessing of secrets: whoever guesses waits, longer each time.
//!
//! An attempt counts as a wrong one from its begin until it proves right, so that many at
//! once gain nothing.

use std::collections::BTreeMap;
use std::net::IpAddr;
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

#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
enum Key {
    Person(String),
    Address(IpAddr),
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

impl Limiter {
    fn counts(&self) -> MutexGuard<'_, BTreeMap<Key, Count>> {
        self.counts.lock().unwrap_or_else(PoisonError::into_inner)
    }

    /// Begins an attempt, or says how long to wait.
    pub(crate) fn begin(&self, person: &str, address: IpAddr) -> Result<(), Duration> {
        self.begin_at(person, address, Instant::now())
    }

    fn begin_at(
        &self,
        person: &str,
        address: IpAddr,
        now: Instant,
    ) -> Result<(), Duration> {
        let mut counts = self.counts();
        if counts.len() >= MOST {
            counts.retain(|_, count| now.duration_since(count.last) < LONGEST);
        }
        let keys = [
            (Key::Person(person.to_owned()), OF_PERSON),
            (Key::Address(address), OF_ADDRESS),
        ];
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
    pub(crate) fn right(&self, person: &str, address: IpAddr) {
        let mut counts = self.counts();
        counts.remove(&Key::Person(person.to_owned()));
        // Of an address only this one: others behind it may be guessing.
        if let Some(count) = counts.get_mut(&Key::Address(address)) {
            count.wrong = count.wrong.saturating_sub(1);
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

    const HERE: IpAddr = IpAddr::V4(std::net::Ipv4Addr::LOCALHOST);

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
    fn a_right_one_ends_the_count_of_the_person() {
        let (limiter, now) = (Limiter::default(), Instant::now());
        for _ in 0..50 {
            assert_eq!(limiter.begin_at("OP", HERE, now), Ok(()));
            limiter.right("OP", HERE);
        }
    }
}
