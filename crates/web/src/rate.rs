//! How often somebody may ask: a bucket that fills again steadily, one for each.

use std::collections::BTreeMap;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// The most buckets that are kept.
const MOST: usize = 10_000;

/// How much of one kind somebody may ask for.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rate {
    /// So many at once.
    pub burst: u32,
    /// So many in a minute, steadily.
    pub minute: u32,
}

/// How often one may ask, by how one comes.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Rates {
    /// The JSON interface, by one token.
    pub tokens: Rate,
    /// A calendar, by one link.
    pub calendars: Rate,
    /// Without a token or a link that counts, from one address.
    pub strangers: Rate,
}

impl Default for Rates {
    fn default() -> Self {
        Self {
            tokens: Rate { burst: 120, minute: 600 },
            calendars: Rate { burst: 10, minute: 10 },
            strangers: Rate { burst: 30, minute: 30 },
        }
    }
}

#[derive(Debug)]
struct Bucket {
    left: f64,
    at: Instant,
}

/// All buckets, by whose they are.
#[derive(Debug, Default)]
pub(crate) struct Buckets(Mutex<BTreeMap<String, Bucket>>);

impl Buckets {
    /// Takes one, or says how long until there is one.
    pub(crate) fn take(&self, whose: &str, rate: Rate) -> Result<(), Duration> {
        self.take_at(whose, rate, Instant::now())
    }

    fn take_at(&self, whose: &str, rate: Rate, now: Instant) -> Result<(), Duration> {
        let mut all = self.0.lock().unwrap_or_else(PoisonError::into_inner);
        if all.len() >= MOST {
            all.retain(|_, one| now.duration_since(one.at) < Duration::from_mins(5));
        }
        let full = f64::from(rate.burst);
        let one = all.entry(whose.to_owned()).or_insert(Bucket { left: full, at: now });
        let gone = now.duration_since(one.at).as_secs_f64();
        let second = f64::from(rate.minute) / 60.0;
        one.left = (one.left + gone * second).min(full);
        one.at = now;
        if one.left < 1.0 {
            return Err(Duration::from_secs_f64((1.0 - one.left) / second.max(1e-3)));
        }
        one.left -= 1.0;
        Ok(())
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whoever_asks_too_often_waits_and_others_do_not() {
        let (buckets, now) = (Buckets::default(), Instant::now());
        let rate = Rate { burst: 3, minute: 60 };
        for _ in 0..3 {
            assert_eq!(buckets.take_at("one", rate, now), Ok(()));
        }
        assert_eq!(buckets.take_at("one", rate, now), Err(Duration::from_secs(1)));
        assert_eq!(buckets.take_at("other", rate, now), Ok(()));
        let later = now + Duration::from_secs(2);
        assert_eq!(buckets.take_at("one", rate, later), Ok(()));
        assert_eq!(buckets.take_at("one", rate, later), Ok(()));
        assert!(buckets.take_at("one", rate, later).is_err());
    }
}
