//! Working time: how long hands are on a job.

use crate::elapsed::{HOUR, MINUTE, minutes, spelt, time};
use crate::error::QuantityError;
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;

/// Working time in whole minutes, kept apart from [`Elapsed`](crate::Elapsed) time.
///
/// Read from `2 h`, `2.5 h`, `1 h 30`, `1 h 30 min`, `45 min`. A day of work is refused: how
/// long it is depends on the shift. May be negative, as a difference is.
#[derive(
    Debug,
    Clone,
    Copy,
    Default,
    PartialEq,
    Eq,
    PartialOrd,
    Ord,
    Hash,
    serde::Serialize,
    serde::Deserialize,
)]
pub struct Work(i64);

time!(Work, "working time");

impl Notation for Work {
    const NOUN: &'static str = "a working time";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        minutes(&SCALE, text).map(Self)
    }

    fn print(self) -> String {
        spelt(self.0, &[("h", "h", 60)])
    }
}

static UNITS: [Unit; 4] = [
    HOUR,
    MINUTE,
    Unit::refused(
        "day",
        &["d", "days"],
        "of work is not a fixed time: it depends on the shift",
        "write hours, such as `16 h`",
    ),
    Unit::refused(
        "week",
        &["w", "wk", "weeks"],
        "of work is not a fixed time: it depends on the shifts",
        "write hours, such as `80 h`",
    ),
];

pub(crate) static SCALE: Scale = Scale {
    noun: Work::NOUN,
    units: &UNITS,
    usual: "`2 h 30 min`",
    besides: &[],
    bare: Some(("h", "min")),
};
