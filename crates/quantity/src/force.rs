//! Forces.
//!
//! One pound-force is the weight of a pound under standard gravity, 9.80665 m/s² exactly
//! (3rd General Conference on Weights and Measures, 1901): 4.4482216152605 N.

use crate::error::{NotFinite, QuantityError};
use crate::number::shortest;
use crate::scalar::{additive, held, quantity};
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;

/// A force.
///
/// Kept in newtons. Read from `450 lbf`, `2 kN`, `30 N`, `5 kgf`. A pound alone is a mass.
#[derive(Clone, Copy)]
pub struct Force(f64);

impl Force {
    /// A force of so many newtons.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in newtons.
    pub fn from_n(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, N)
    }

    /// The number of newtons.
    pub fn in_n(self) -> f64 {
        N.count_in(self.0)
    }

    /// A force of so many kilonewtons.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in newtons.
    pub fn from_kn(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, KN)
    }

    /// The number of kilonewtons.
    pub fn in_kn(self) -> f64 {
        KN.count_in(self.0)
    }

    /// A force of so many pounds-force.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in newtons.
    pub fn from_lbf(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, LBF)
    }

    /// The number of pounds-force.
    pub fn in_lbf(self) -> f64 {
        LBF.count_in(self.0)
    }

    /// A force of so many kilograms-force.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in newtons.
    pub fn from_kgf(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, KGF)
    }

    /// The number of kilograms-force.
    pub fn in_kgf(self) -> f64 {
        KGF.count_in(self.0)
    }
}

impl Force {
    pub(crate) fn of_newtons(newtons: f64) -> Self {
        Self(held(newtons))
    }
}

impl Notation for Force {
    const NOUN: &'static str = "a force";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        SCALE.read(text).map(Self)
    }

    fn print(self) -> String {
        format!("{} N", shortest(self.0, 0))
    }
}

quantity!(Force, "a force");
additive!(Force, "a force");

const N: Unit = Unit::new("N", &["newton", "newtons"], 1, 1);
const KN: Unit = Unit::new("kN", &["kilonewton", "kilonewtons"], 1000, 1);
const LBF: Unit = Unit::new(
    "lbf",
    &["pound-force", "pounds-force"],
    44_482_216_152_605,
    10_000_000_000_000,
);
const KGF: Unit = Unit::new("kgf", &["kilogram-force", "kp"], 980_665, 100_000);

static UNITS: [Unit; 4] = [N, KN, LBF, KGF];

pub(crate) static SCALE: Scale = Scale {
    noun: Force::NOUN,
    units: &UNITS,
    usual: "`450 lbf`",
    besides: &[],
    bare: None,
};
