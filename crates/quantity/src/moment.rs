//! Moments of mass, as weighing uses them: a mass times its arm.

use crate::error::{NotFinite, QuantityError};
use crate::number::shortest;
use crate::scalar::{additive, quantity};
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;
use std::ops::Div;

use crate::length::Length;
use crate::mass::Mass;
use crate::scalar::held;

/// A moment of mass about a datum: mass times arm.
///
/// Kept in kilogram metres. Read from `1250 lb·in`, `lb in`, `lb.ft`, `kg·m`, `kg·mm`. A force at
/// a lever is a [`Torque`](crate::Torque).
#[derive(Clone, Copy)]
pub struct Moment(f64);

impl Moment {
    /// A moment of so many kilogram metres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in kilogram metres.
    pub fn from_kg_m(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, KG_M)
    }

    /// The number of kilogram metres.
    pub fn in_kg_m(self) -> f64 {
        KG_M.count_in(self.0)
    }

    /// A moment of so many kilogram millimetres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in kilogram metres.
    pub fn from_kg_mm(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, KG_MM)
    }

    /// The number of kilogram millimetres.
    pub fn in_kg_mm(self) -> f64 {
        KG_MM.count_in(self.0)
    }

    /// A moment of so many pound inches.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in kilogram metres.
    pub fn from_lb_in(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, LB_IN)
    }

    /// The number of pound inches.
    pub fn in_lb_in(self) -> f64 {
        LB_IN.count_in(self.0)
    }

    /// A moment of so many pound feet.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in kilogram metres.
    pub fn from_lb_ft(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, LB_FT)
    }

    /// The number of pound feet.
    pub fn in_lb_ft(self) -> f64 {
        LB_FT.count_in(self.0)
    }
}

impl Notation for Moment {
    const NOUN: &'static str = "a moment";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        SCALE.read(text).map(Self)
    }

    fn print(self) -> String {
        format!("{} kg·m", shortest(self.0, 0))
    }
}

quantity!(Moment, "a moment");
additive!(Moment, "a moment");

impl Moment {
    pub(crate) fn of_mass_at(mass: Mass, arm: Length) -> Self {
        Self(held(mass.in_kg() * arm.in_m()))
    }
}

/// The arm at which a mass has this moment.
///
/// Fails when the mass is zero, or so small that the arm leaves the range of `f64`.
impl Div<Mass> for Moment {
    type Output = Result<Length, NotFinite>;

    fn div(self, mass: Mass) -> Self::Output {
        Length::from_m(self.0 / mass.in_kg())
    }
}

const KG_M: Unit = Unit::new("kg·m", &["kgm"], 1, 1);
const KG_MM: Unit = Unit::new("kg·mm", &[], 1, 1000);
const LB_IN: Unit = Unit::new(
    "lb·in",
    &["in·lb", "lb·ins", "lbs·in", "in·lbs"],
    11_521_246_198,
    1_000_000_000_000,
);
const LB_FT: Unit = Unit::new(
    "lb·ft",
    &["ft·lb", "lbs·ft", "ft·lbs"],
    138_254_954_376,
    1_000_000_000_000,
);

static UNITS: [Unit; 6] = [
    KG_M,
    KG_MM,
    Unit::new("kg·cm", &[], 1, 100),
    Unit::new("t·m", &[], 1000, 1),
    LB_IN,
    LB_FT,
];

pub(crate) static SCALE: Scale = Scale {
    noun: Moment::NOUN,
    units: &UNITS,
    usual: "`1250 lb·in`",
    besides: &[],
    bare: None,
};
