//! Pressures and stresses.
//!
//! An inch of mercury is the conventional one: mercury of 13 595.1 kg/m³ under standard
//! gravity, 3386.388640341 Pa. The value is from memory.

use crate::error::{NotFinite, QuantityError};
use crate::number::shortest;
use crate::scalar::{additive, quantity};
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;
use std::ops::Mul;

use crate::area::Area;
use crate::force::Force;

/// A pressure or a stress.
///
/// Kept in pascals. Read from `45 psi`, `1.2 bar`, `100 kPa`, `29.92 inHg`, `210 MPa`, `30 ksi`.
#[derive(Clone, Copy)]
pub struct Pressure(f64);

impl Pressure {
    /// A pressure of so many pascals.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in pascals.
    pub fn from_pa(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, PA)
    }

    /// The number of pascals.
    pub fn in_pa(self) -> f64 {
        PA.count_in(self.0)
    }

    /// A pressure of so many kilopascals.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in pascals.
    pub fn from_kpa(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, KPA)
    }

    /// The number of kilopascals.
    pub fn in_kpa(self) -> f64 {
        KPA.count_in(self.0)
    }

    /// A pressure of so many megapascals.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in pascals.
    pub fn from_mpa(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, MPA)
    }

    /// The number of megapascals.
    pub fn in_mpa(self) -> f64 {
        MPA.count_in(self.0)
    }

    /// A pressure of so many bars.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in pascals.
    pub fn from_bar(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, BAR)
    }

    /// The number of bars.
    pub fn in_bar(self) -> f64 {
        BAR.count_in(self.0)
    }

    /// A pressure of so many pounds-force per square inch.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in pascals.
    pub fn from_psi(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, PSI)
    }

    /// The number of pounds-force per square inch.
    pub fn in_psi(self) -> f64 {
        PSI.count_in(self.0)
    }

    /// A pressure of so many inches of mercury.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in pascals.
    pub fn from_in_hg(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, IN_HG)
    }

    /// The number of inches of mercury.
    pub fn in_in_hg(self) -> f64 {
        IN_HG.count_in(self.0)
    }
}

impl Notation for Pressure {
    const NOUN: &'static str = "a pressure";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        SCALE.read(text).map(Self)
    }

    fn print(self) -> String {
        format!("{} kPa", shortest(self.0, -3))
    }
}

quantity!(Pressure, "a pressure");
additive!(Pressure, "a pressure");

/// The force of a pressure, or a stress, on an area.
impl Mul<Area> for Pressure {
    type Output = Force;

    fn mul(self, area: Area) -> Force {
        Force::of_newtons(self.0 * area.in_m2())
    }
}

const PA: Unit = Unit::new("Pa", &[], 1, 1);
const KPA: Unit = Unit::new("kPa", &[], 1000, 1);
const MPA: Unit = Unit::new("MPa", &["N/mm²"], 1_000_000, 1).in_exact_case();
const BAR: Unit = Unit::new("bar", &["bars"], 100_000, 1);
const PSI: Unit = Unit::new(
    "psi",
    &["lbf/in²", "lb/in²", "lbf/sq in", "lb/sq in"],
    44_482_216_152_605,
    6_451_600_000,
);
const IN_HG: Unit =
    Unit::new("inHg", &["in Hg", "\"Hg"], 3_386_388_640_341, 1_000_000_000);

static UNITS: [Unit; 9] = [
    PA,
    KPA,
    MPA,
    Unit::new("hPa", &["mbar"], 100, 1),
    BAR,
    PSI,
    Unit::new("ksi", &[], 44_482_216_152_605, 6_451_600),
    IN_HG,
    Unit::new("kgf/cm²", &["kg/cm²"], 980_665, 10),
];

pub(crate) static SCALE: Scale = Scale {
    noun: Pressure::NOUN,
    units: &UNITS,
    usual: "`45 psi`",
    besides: &[],
    bare: None,
};
