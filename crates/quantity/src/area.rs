//! Areas.

use crate::error::{NotFinite, QuantityError};
use crate::number::shortest;
use crate::scalar::{additive, quantity};
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;
use std::ops::Mul;

use crate::length::Length;
use crate::scalar::held;

/// An area.
///
/// Kept in square metres. Read from `2 sq in`, `in²`, `in2`, `mm²`, `sq ft`, `m²`.
#[derive(Clone, Copy)]
pub struct Area(f64);

impl Area {
    /// An area of so many square metres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in square metres.
    pub fn from_m2(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, M2)
    }

    /// The number of square metres.
    pub fn in_m2(self) -> f64 {
        M2.count_in(self.0)
    }

    /// An area of so many square millimetres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in square metres.
    pub fn from_mm2(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, MM2)
    }

    /// The number of square millimetres.
    pub fn in_mm2(self) -> f64 {
        MM2.count_in(self.0)
    }

    /// An area of so many square centimetres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in square metres.
    pub fn from_cm2(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, CM2)
    }

    /// The number of square centimetres.
    pub fn in_cm2(self) -> f64 {
        CM2.count_in(self.0)
    }

    /// An area of so many square inches.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in square metres.
    pub fn from_in2(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, IN2)
    }

    /// The number of square inches.
    pub fn in_in2(self) -> f64 {
        IN2.count_in(self.0)
    }

    /// An area of so many square feet.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in square metres.
    pub fn from_ft2(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, FT2)
    }

    /// The number of square feet.
    pub fn in_ft2(self) -> f64 {
        FT2.count_in(self.0)
    }
}

impl Notation for Area {
    const NOUN: &'static str = "an area";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        SCALE.read(text).map(Self)
    }

    fn print(self) -> String {
        if self.0.abs() < 0.1 {
            return format!("{} mm²", shortest(self.0, 6));
        }
        format!("{} m²", shortest(self.0, 0))
    }
}

quantity!(Area, "an area");
additive!(Area, "an area");

/// The area of a rectangle with these sides.
impl Mul for Length {
    type Output = Area;

    fn mul(self, other: Self) -> Area {
        Area(held(self.in_m() * other.in_m()))
    }
}

const MM2: Unit = Unit::new("mm²", &["sq mm"], 1, 1_000_000);
const CM2: Unit = Unit::new("cm²", &["sq cm"], 1, 10_000);
const M2: Unit = Unit::new("m²", &["sq m"], 1, 1);
const IN2: Unit = Unit::new(
    "in²",
    &["sq in", "sq ins", "sq inch", "sq inches", "square inch", "square inches"],
    64_516,
    100_000_000,
);
const FT2: Unit = Unit::new(
    "ft²",
    &["sq ft", "sq feet", "square foot", "square feet"],
    9_290_304,
    100_000_000,
);

static UNITS: [Unit; 5] = [MM2, CM2, M2, IN2, FT2];

pub(crate) static SCALE: Scale =
    Scale {
        noun: Area::NOUN, units: &UNITS, usual: "`2 in²`", besides: &[], bare: None
    };
