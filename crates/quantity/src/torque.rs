//! Torques, as a torque wrench shows them.
//!
//! `lb·in` and `in-lb` on a torque wrench are pounds of force.

use crate::error::{NotFinite, QuantityError};
use crate::number::shortest;
use crate::scalar::{additive, quantity};
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;

/// A torque: a force at a lever.
///
/// Kept in newton metres. Read from `450 lbf·in`, `450 in-lb`, `37 lb-ft`, `37 ft·lbf`, `50 Nm`. A
/// mass at an arm is a [`Moment`](crate::Moment).
#[derive(Clone, Copy)]
pub struct Torque(f64);

impl Torque {
    /// A torque of so many newton metres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in newton metres.
    pub fn from_n_m(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, N_M)
    }

    /// The number of newton metres.
    pub fn in_n_m(self) -> f64 {
        N_M.count_in(self.0)
    }

    /// A torque of so many pound-force inches.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in newton metres.
    pub fn from_lbf_in(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, LBF_IN)
    }

    /// The number of pound-force inches.
    pub fn in_lbf_in(self) -> f64 {
        LBF_IN.count_in(self.0)
    }

    /// A torque of so many pound-force feet.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in newton metres.
    pub fn from_lbf_ft(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, LBF_FT)
    }

    /// The number of pound-force feet.
    pub fn in_lbf_ft(self) -> f64 {
        LBF_FT.count_in(self.0)
    }

    /// A torque of so many kilogram-force metres.
    ///
    /// # Errors
    /// When the number is not finite, or leaves the range of `f64` in newton metres.
    pub fn from_kgf_m(number: f64) -> Result<Self, NotFinite> {
        Self::of(number, KGF_M)
    }

    /// The number of kilogram-force metres.
    pub fn in_kgf_m(self) -> f64 {
        KGF_M.count_in(self.0)
    }
}

impl Notation for Torque {
    const NOUN: &'static str = "a torque";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        SCALE.read(text).map(Self)
    }

    fn print(self) -> String {
        format!("{} N·m", shortest(self.0, 0))
    }
}

quantity!(Torque, "a torque");
additive!(Torque, "a torque");

const N_M: Unit = Unit::new("N·m", &["Nm", "newton-metre", "newton-metres"], 1, 1);
const LBF_IN: Unit = Unit::new(
    "lbf·in",
    &[
        "in·lbf",
        "lb·in",
        "in·lb",
        "inlb",
        "lbs·in",
        "in·lbs",
        "inch·pound",
        "inch·pounds",
    ],
    1_129_848_290_276_167,
    10_000_000_000_000_000,
);
const LBF_FT: Unit = Unit::new(
    "lbf·ft",
    &[
        "ft·lbf",
        "lb·ft",
        "ft·lb",
        "ftlb",
        "lbs·ft",
        "ft·lbs",
        "foot·pound",
        "foot·pounds",
    ],
    3_389_544_870_828_501,
    2_500_000_000_000_000,
);
const KGF_M: Unit = Unit::new("kgf·m", &["m·kgf", "kgfm"], 980_665, 100_000);

static UNITS: [Unit; 9] = [
    N_M,
    Unit::new("kN·m", &["kNm"], 1000, 1),
    Unit::new("N·mm", &["Nmm"], 1, 1000),
    Unit::new("N·cm", &["Ncm"], 1, 100),
    LBF_IN,
    LBF_FT,
    KGF_M,
    Unit::new("kgf·cm", &["cm·kgf"], 980_665, 10_000_000),
    Unit::new(
        "ozf·in",
        &["in·oz", "oz·in", "in·ozf"],
        1_129_848_290_276_167,
        160_000_000_000_000_000,
    ),
];

pub(crate) static SCALE: Scale = Scale {
    noun: Torque::NOUN,
    units: &UNITS,
    usual: "`450 lbf·in`",
    besides: &[],
    bare: None,
};
