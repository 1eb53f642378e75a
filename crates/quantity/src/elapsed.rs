//! Elapsed time, which runs by night and at week-ends too, and what it shares with
//! [`Work`](crate::Work).

use crate::error::{Fault, QuantityError};
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;

/// Elapsed time in whole minutes: cure, turnaround, transport. Kept apart from
/// [`Work`](crate::Work).
///
/// Read from `24 h`, `3 days`, `2 d 4 h`, `1 week`, `90 min`. A day is 24 hours. May be
/// negative, as a difference is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct Elapsed(i64);

/// Implements what the two kinds of time have in common.
macro_rules! time {
    ($name:ident, $what:literal) => {
        impl $name {
            #[doc = concat!("No ", $what, ".")]
            pub const ZERO: Self = Self(0);

            #[doc = concat!("So many minutes of ", $what, ".")]
            pub const fn from_minutes(minutes: i64) -> Self {
                Self(minutes)
            }

            /// The whole minutes.
            pub const fn minutes(self) -> i64 {
                self.0
            }

            /// The sum, or `None` when it does not fit.
            #[must_use]
            pub const fn checked_add(self, other: Self) -> Option<Self> {
                match self.0.checked_add(other.0) {
                    Some(minutes) => Some(Self(minutes)),
                    None => None,
                }
            }

            /// The difference, or `None` when it does not fit.
            #[must_use]
            pub const fn checked_sub(self, other: Self) -> Option<Self> {
                match self.0.checked_sub(other.0) {
                    Some(minutes) => Some(Self(minutes)),
                    None => None,
                }
            }
        }

        impl std::fmt::Display for $name {
            fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
                f.pad(&$crate::Notation::print(*self))
            }
        }

        impl std::str::FromStr for $name {
            type Err = $crate::QuantityError;

            fn from_str(text: &str) -> Result<Self, Self::Err> {
                $crate::Notation::parse(text)
            }
        }
    };
}

pub(crate) use time;

time!(Elapsed, "elapsed time");

impl Notation for Elapsed {
    const NOUN: &'static str = "an elapsed time";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        minutes(&SCALE, text).map(Self)
    }

    fn print(self) -> String {
        spelt(self.0, &[("day", "days", 24 * 60), ("h", "h", 60)])
    }
}

/// The whole minutes that a text says.
pub(crate) fn minutes(scale: &Scale, text: &str) -> Result<i64, QuantityError> {
    let exact = scale.read_exact(text)?;
    let fault = |sentence: &str, hint: &str| {
        let fault = Fault::new(0..text.len(), sentence).hint(hint);
        QuantityError::new(scale.noun, text, fault)
    };
    let whole = exact.whole().ok_or_else(|| {
        let near = exact.to_f64().round();
        fault("the time is not a whole number of minutes", &format!("write {near} min"))
    })?;
    i64::try_from(whole)
        .map_err(|_| fault("the time is too long to be kept", "write a shorter time"))
}

/// Minutes in larger units and a rest; each unit comes with its plural and its minutes.
pub(crate) fn spelt(minutes: i64, units: &[(&str, &str, u64)]) -> String {
    let mut rest = minutes.unsigned_abs();
    let mut parts = Vec::new();
    for (one, many, size) in units {
        let count = rest / size;
        rest %= size;
        if count > 0 {
            parts.push(format!("{count} {}", if count == 1 { one } else { many }));
        }
    }
    if rest > 0 || parts.is_empty() {
        parts.push(format!("{rest} min"));
    }
    format!("{}{}", if minutes < 0 { "-" } else { "" }, parts.join(" "))
}

pub(crate) const MINUTE: Unit =
    Unit::new("min", &["m", "mins", "minute", "minutes"], 1, 1).joining();
pub(crate) const HOUR: Unit =
    Unit::new("h", &["hr", "hrs", "hour", "hours"], 60, 1).joining();

static UNITS: [Unit; 4] = [
    MINUTE,
    HOUR,
    Unit::new("d", &["day", "days"], 24 * 60, 1).joining(),
    Unit::new("week", &["w", "wk", "weeks"], 7 * 24 * 60, 1).joining(),
];

pub(crate) static SCALE: Scale = Scale {
    noun: Elapsed::NOUN,
    units: &UNITS,
    usual: "`3 days`",
    besides: &[],
    bare: Some(("h", "min")),
};
