//! Masses.
//!
//! One pound is 0.45359237 kg exactly (international yard and pound agreement, 1959).

use crate::error::{NotFinite, QuantityError};
use crate::number::shortest;
use crate::scalar::{additive, quantity};
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;
use std::ops::Mul;

use crate::length::Length;
use crate::moment::Moment;

/// A mass.
///
/// Kept in kilograms. Read from `12 lb 6 oz`, `450 lb`, `2.5 kg`, `1.2 t`, `1 cwt` (112 lb). A
/// bare `ton` is refused, because three different ones are in use.
#[derive(Clone, Copy)]
pub struct Mass(f64);

impl Mass {
    /// A mass of so many kilograms.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in kilograms.
    pub fn from_kg(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, KG)
    }

    /// The number of kilograms.
    pub fn in_kg(self) -> f64 {
        KG.count_in(self.0)
    }

    /// A mass of so many grams.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in kilograms.
    pub fn from_g(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, G)
    }

    /// The number of grams.
    pub fn in_g(self) -> f64 {
        G.count_in(self.0)
    }

    /// A mass of so many pounds.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in kilograms.
    pub fn from_lb(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, LB)
    }

    /// The number of pounds.
    pub fn in_lb(self) -> f64 {
        LB.count_in(self.0)
    }

    /// A mass of so many ounces.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in kilograms.
    pub fn from_oz(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, OZ)
    }

    /// The number of ounces.
    pub fn in_oz(self) -> f64 {
        OZ.count_in(self.0)
    }
}

impl Notation for Mass {
    const NOUN: &'static str = "a mass";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        SCALE.read(text).map(Self)
    }

    fn print(self) -> String {
        format!("{} kg", shortest(self.0, 0))
    }
}

quantity!(Mass, "a mass");
additive!(Mass, "a mass");

/// The moment of a mass at an arm.
impl Mul<Length> for Mass {
    type Output = Moment;

    fn mul(self, arm: Length) -> Moment {
        Moment::of_mass_at(self, arm)
    }
}

const KG: Unit =
    Unit::new("kg", &["kgs", "kilogram", "kilograms", "kilo", "kilos"], 1, 1);
const G: Unit = Unit::new("g", &["gram", "grams"], 1, 1000);
const LB: Unit =
    Unit::new("lb", &["lbs", "lbm", "pound", "pounds"], 45_359_237, 100_000_000)
        .joining();
const OZ: Unit =
    Unit::new("oz", &["ounce", "ounces"], 45_359_237, 1_600_000_000).joining();

static UNITS: [Unit; 9] = [
    KG,
    G,
    LB,
    OZ,
    Unit::new("t", &["tonne", "tonnes", "metric ton"], 1000, 1),
    Unit::new("cwt", &["hundredweight"], 5_080_234_544, 100_000_000).joining(),
    Unit::new("long ton", &["long tons"], 10_160_469_088, 10_000_000).joining(),
    Unit::new("short ton", &["short tons"], 90_718_474, 100_000),
    Unit::refused(
        "ton",
        &["tons"],
        "is a long ton to some, a short or a metric one to others",
        "write long ton (2240 lb), short ton (2000 lb) or t (1000 kg)",
    ),
];

pub(crate) static SCALE: Scale = Scale {
    noun: Mass::NOUN,
    units: &UNITS,
    usual: "`450 lb`",
    besides: &[],
    bare: None,
};
