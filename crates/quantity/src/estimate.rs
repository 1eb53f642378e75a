//! Three-point estimates.

use std::fmt;

use crate::error::{Fault, OutOfOrder, QuantityError};
use crate::typed::Notation;

/// A low, a likely and a high figure, in rising order; two or three may be equal.
///
/// Written `2 h / 3 h / 6 h`, or `3 h` alone where all three are the same.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash)]
pub struct Estimate<T> {
    low: T,
    likely: T,
    high: T,
}

impl<T: Notation + Ord> Estimate<T> {
    /// Three figures.
    ///
    /// # Errors
    /// When they are not in rising order.
    pub fn new(low: T, likely: T, high: T) -> Result<Self, OutOfOrder> {
        for (first, second) in [(low, likely), (likely, high)] {
            if first > second {
                return Err(OutOfOrder { first: first.print(), second: second.print() });
            }
        }
        Ok(Self { low, likely, high })
    }
}

impl<T: Copy> Estimate<T> {
    /// One figure that is certain.
    pub fn certain(figure: T) -> Self {
        Self { low: figure, likely: figure, high: figure }
    }

    /// The least it can be.
    pub fn low(&self) -> T {
        self.low
    }

    /// What it most likely is.
    pub fn likely(&self) -> T {
        self.likely
    }

    /// The most it can be.
    pub fn high(&self) -> T {
        self.high
    }
}

impl<T: Notation + Ord> Notation for Estimate<T> {
    const NOUN: &'static str = "an estimate";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        let parts = parts(text);
        let read = |&(start, part): &(usize, &str)| {
            T::parse(part).map_err(|error| error.within(Self::NOUN, text, start))
        };
        match parts.as_slice() {
            [one] => read(one).map(Self::certain).map_err(|error| {
                if text.matches('/').count() < 2 {
                    return error;
                }
                let sentence = "each figure of an estimate needs its unit";
                let fault = Fault::new(0..text.len(), sentence)
                    .hint("write low / likely / high, such as 2 h / 3 h / 6 h");
                QuantityError::new(Self::NOUN, text, fault)
            }),
            [low, likely, high] => Self::new(read(low)?, read(likely)?, read(high)?)
                .map_err(|order| {
                    let fault = Fault::new(0..text.len(), order.to_string())
                        .hint("write low / likely / high");
                    QuantityError::new(Self::NOUN, text, fault)
                }),
            other => {
                let count = other.len();
                let sentence =
                    format!("an estimate has one figure or three, not {count}");
                let fault = Fault::new(0..text.len(), sentence)
                    .hint("write low / likely / high, each with its unit");
                Err(QuantityError::new(Self::NOUN, text, fault))
            }
        }
    }

    fn print(self) -> String {
        let [low, likely, high] = [self.low, self.likely, self.high].map(T::print);
        if self.low == self.likely && self.likely == self.high {
            return likely;
        }
        format!("{low} / {likely} / {high}")
    }
}

impl<T: Notation + Ord> fmt::Display for Estimate<T> {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.pad(&self.print())
    }
}

impl<T: Notation + Ord> std::str::FromStr for Estimate<T> {
    type Err = QuantityError;

    fn from_str(text: &str) -> Result<Self, Self::Err> {
        Self::parse(text)
    }
}

/// The parts between strokes, each with where it starts. A stroke with a digit on both
/// sides belongs to a fraction.
fn parts(text: &str) -> Vec<(usize, &str)> {
    let bytes = text.as_bytes();
    let digit = |at: Option<usize>| {
        at.and_then(|at| bytes.get(at)).is_some_and(u8::is_ascii_digit)
    };
    let mut parts = Vec::new();
    let mut start = 0;
    for (at, _) in text.match_indices('/') {
        if !(digit(at.checked_sub(1)) && digit(Some(at + 1))) {
            parts.push((start, &text[start..at]));
            start = at + 1;
        }
    }
    parts.push((start, &text[start..]));
    parts
}
