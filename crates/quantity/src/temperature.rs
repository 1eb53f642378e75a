//! Temperatures on the absolute scale.
//!
//! 0 °C is 273.15 K and a degree Fahrenheit is 5/9 K, with 32 °F at 0 °C, all exactly.

use crate::error::Fault;
use crate::error::{NotFinite, QuantityError};
use crate::number::shortest;
use crate::scalar::quantity;
use crate::scale::Scale;
use crate::typed::Notation;
use crate::unit::Unit;

/// A temperature; never below absolute zero.
///
/// Kept in kelvins. Read from `55 °F`, `55F`, `12 °C`, `290 K`. Temperatures are not added.
#[derive(Clone, Copy)]
pub struct Temperature(f64);

impl Temperature {
    /// A temperature of so many kelvins.
    ///
    /// # Errors
    /// When the number is not finite, or lies below absolute zero.
    pub fn from_k(number: f64) -> Result<Self, NotFinite> {
        Self::warm(number, K)
    }

    /// The number of kelvins.
    pub fn in_k(self) -> f64 {
        K.count_in(self.0)
    }

    /// A temperature of so many degrees Celsius.
    ///
    /// # Errors
    /// When the number is not finite, or lies below absolute zero.
    pub fn from_c(number: f64) -> Result<Self, NotFinite> {
        Self::warm(number, C)
    }

    /// The number of degrees Celsius.
    pub fn in_c(self) -> f64 {
        C.count_in(self.0)
    }

    /// A temperature of so many degrees Fahrenheit.
    ///
    /// # Errors
    /// When the number is not finite, or lies below absolute zero.
    pub fn from_f(number: f64) -> Result<Self, NotFinite> {
        Self::warm(number, F)
    }

    /// The number of degrees Fahrenheit.
    pub fn in_f(self) -> f64 {
        F.count_in(self.0)
    }
}

impl Temperature {
    fn warm(number: f64, unit: Unit) -> Result<Self, NotFinite> {
        let temperature = Self::of(number, unit)?;
        if temperature.0 < 0.0 {
            return Err(NotFinite::too_cold(Self::NOUN));
        }
        Ok(temperature)
    }
}

impl Notation for Temperature {
    const NOUN: &'static str = "a temperature";

    fn parse(text: &str) -> Result<Self, QuantityError> {
        let kelvins = SCALE.read(text)?;
        if kelvins < 0.0 {
            let sentence = "a temperature cannot lie below absolute zero, -273.15 °C";
            let fault = Fault::new(0..text.len(), sentence);
            return Err(QuantityError::new(Self::NOUN, text, fault));
        }
        Ok(Self(kelvins + 0.0))
    }

    fn print(self) -> String {
        let celsius = format!("{} °C", (self.in_c() * 1e6).round() / 1e6);
        match Self::parse(&celsius) {
            Ok(same) if same == self => celsius,
            _ => format!("{} K", shortest(self.0, 0)),
        }
    }
}

quantity!(Temperature, "a temperature");

const C: Unit =
    Unit::new("°C", &["C", "deg C", "degC", "° C", "celsius", "degrees C"], 1, 1)
        .with_zero_at(27_315, 100);
const F: Unit =
    Unit::new("°F", &["F", "deg F", "degF", "° F", "fahrenheit", "degrees F"], 5, 9)
        .with_zero_at(45_967, 180);
const K: Unit = Unit::new("K", &["kelvin", "kelvins"], 1, 1);

static UNITS: [Unit; 3] = [C, F, K];

pub(crate) static SCALE: Scale = Scale {
    noun: Temperature::NOUN,
    units: &UNITS,
    usual: "`55 °F`",
    besides: &[],
    bare: None,
};
