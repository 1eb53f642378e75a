//! Lengths: the sizes of parts, and places along an axis.
//!
//! One inch is 25.4 mm exactly (international yard and pound agreement, 1959). Wire gauges
//! are those of [`gauge`].

use crate::error::{NotFinite, QuantityError};
use crate::gauge;
use crate::number::shortest;
use crate::scalar::{additive, quantity};
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;

/// A length, or a place along an axis: it may be negative.
///
/// Kept in metres; see the crate's head for what is exact. Read from `3/16 in`, `1 3/8"`,
/// `5 ft 3 1/2 in`, `1.2 mm`, `12 thou` (also `mil`, which is the same), `18 SWG`.
#[derive(Clone, Copy)]
pub struct Length(f64);

impl Length {
    /// A length of so many metres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in metres.
    pub fn from_m(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, M)
    }

    /// The number of metres.
    pub fn in_m(self) -> f64 {
        M.count_in(self.0)
    }

    /// A length of so many millimetres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in metres.
    pub fn from_mm(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, MM)
    }

    /// The number of millimetres.
    pub fn in_mm(self) -> f64 {
        MM.count_in(self.0)
    }

    /// A length of so many centimetres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in metres.
    pub fn from_cm(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, CM)
    }

    /// The number of centimetres.
    pub fn in_cm(self) -> f64 {
        CM.count_in(self.0)
    }

    /// A length of so many inches.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in metres.
    pub fn from_inches(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, INCH)
    }

    /// The number of inches.
    pub fn in_inches(self) -> f64 {
        INCH.count_in(self.0)
    }

    /// A length of so many feet.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in metres.
    pub fn from_feet(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, FOOT)
    }

    /// The number of feet.
    pub fn in_feet(self) -> f64 {
        FOOT.count_in(self.0)
    }

    /// A length of so many thousandths of an inch.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in metres.
    pub fn from_thou(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, THOU)
    }

    /// The number of thousandths of an inch.
    pub fn in_thou(self) -> f64 {
        THOU.count_in(self.0)
    }
}

impl Notation for Length {
    const NOUN: &'static str = "a length";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        match gauge::read(text) {
            Some(size) => size
                .map(|size| Self(size.to_f64()))
                .map_err(|fault| QuantityError::new(Self::NOUN, text, fault)),
            None => SCALE.read(text).map(Self),
        }
    }

    fn print(self) -> String {
        format!("{} mm", shortest(self.0, 3))
    }
}

quantity!(Length, "a length");
additive!(Length, "a length");

const MM: Unit =
    Unit::new("mm", &["millimetre", "millimetres", "millimeter", "millimeters"], 1, 1000);
const CM: Unit =
    Unit::new("cm", &["centimetre", "centimetres", "centimeter", "centimeters"], 1, 100);
const M: Unit = Unit::new("m", &["metre", "metres", "meter", "meters"], 1, 1);
const INCH: Unit =
    Unit::new("in", &["\"", "inch", "inches", "ins"], 254, 10_000).joining();
const FOOT: Unit = Unit::new("ft", &["'", "foot", "feet"], 3048, 10_000).joining();
const THOU: Unit = Unit::new("thou", &["mil", "mils", "thous"], 254, 10_000_000);

static UNITS: [Unit; 10] = [
    MM,
    CM,
    M,
    INCH,
    FOOT,
    THOU,
    Unit::new("µm", &["μm", "um", "micron", "microns"], 1, 1_000_000),
    Unit::new("yd", &["yard", "yards"], 9144, 10_000),
    Unit::refused(
        "AWG",
        &["B&S"],
        "is the American wire gauge, which is not read here",
        "write the size, such as 0.048 in, or the standard wire gauge, such as 18 SWG",
    ),
    // In exact case: a `g` is a slip for the gram.
    Unit::refused(
        "gauge",
        &["ga", "G", "BWG"],
        "does not say which gauge is meant",
        "write 18 SWG for the standard wire gauge, or the size, such as 0.048 in",
    )
    .in_exact_case(),
];

pub(crate) static SCALE: Scale = Scale {
    noun: Length::NOUN,
    units: &UNITS,
    usual: "`3/16 in`",
    besides: &["SWG"],
    bare: None,
};
