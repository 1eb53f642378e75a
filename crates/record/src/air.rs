//! The dew point of air, and how far a surface lies above it.
//!
//! Over water the vapour pressure at saturation is, after Magnus, `e(t) = 6.112 hPa ·
//! exp(a·t / (b + t))` with `t` in °C. Air at a temperature and a relative humidity `r` holds
//! `r/100 · e(t)`; the dew point is where that is all that air can hold:
//!
//! `d = b·g / (a - g)`, with `g = ln(r/100) + a·t / (b + t)`.
//!
//! By hand: at 20 °C and 60 %, `g = -0.5108 + 1.3393 = 0.8285` and `d = 12.0 °C`.
//!
//! The coefficients are those of WMO-No. 8, *Guide to Instruments and Methods of Observation*,
//! volume I, chapter 4, annex 4.B: `a = 17.62`, `b = 243.12 °C`, over water from -45 to 60 °C.
//! The last digits of a logarithm may differ between machines: a dew point is shown and is
//! never kept.

/// `a` of the formula.
const A: f64 = 17.62;
/// `b` of the formula, in °C.
const B: f64 = 243.12;

/// Temperatures of the air for which the formula holds, in °C.
pub const HOLDS: std::ops::RangeInclusive<f64> = -45.0..=60.0;

/// Relative humidities that an instrument of a hangar tells, in per cent.
pub const HUMIDITIES: std::ops::RangeInclusive<f64> = 1.0..=100.0;

/// Temperatures that a surface in a hangar or in the sun can have, in °C.
pub const SURFACES: std::ops::RangeInclusive<f64> = -45.0..=120.0;

/// The dew point in °C of air of this temperature, in °C, and relative humidity, in per cent.
/// Nothing where the formula does not hold.
pub fn dew_point(temperature: f64, humidity: f64) -> Option<f64> {
    if !HOLDS.contains(&temperature) || !HUMIDITIES.contains(&humidity) {
        return None;
    }
    let g = (humidity / 100.0).ln() + A * temperature / (B + temperature);
    Some(B * g / (A - g))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Air temperature, dew point and relative humidity as the tests of pvlib-python have them
    /// for these coefficients (release 0.16.1, `tests/test_atmosphere.py`).
    #[test]
    fn the_dew_points_of_a_library_of_others_are_met() {
        for (temperature, dew, humidity) in [
            (20.0, 15.0, 72.951_85),
            (25.0, 20.0, 73.815_00),
            (30.0, 25.0, 74.640_13),
            (15.0, 12.0, 82.270_64),
            (10.0, 8.0, 87.390_18),
        ] {
            let found = dew_point(temperature, humidity).unwrap();
            assert!((found - dew).abs() < 1e-4, "{temperature} {humidity}: {found}");
        }
    }

    /// Charts that makers of coatings print, to their whole degree: 30 °C and 55 % is 20 °C
    /// (Dörken, *dew point*); 16 °C and 71 % is 11 °C (a published inspector's worked case).
    #[test]
    fn printed_charts_are_met_to_their_degree() {
        for (temperature, humidity, printed) in [(30.0, 55.0, 20.0), (16.0, 71.0, 11.0)] {
            let found: f64 = dew_point(temperature, humidity).unwrap();
            assert!((found - printed).abs() < 0.5, "{found}");
        }
    }

    /// ASHRAE Handbook, Fundamentals (2017), chapter 1: saturation pressures of table 3, in Pa.
    /// The humidity that its table gives for a dew point leads back to that dew point.
    #[test]
    fn a_psychrometric_table_is_met_to_a_tenth() {
        for (temperature, full, dew, held) in
            [(25.0, 3169.7, 5.0, 872.6), (50.0, 12_351.3, 25.0, 3169.7)]
        {
            let found = dew_point(temperature, 100.0 * held / full).unwrap();
            assert!((found - dew).abs() < 0.1, "{temperature}: {found}");
        }
    }

    #[test]
    fn saturated_air_is_at_its_dew_point_and_odd_figures_have_none() {
        for temperature in [-45.0, -10.0, 0.0, 18.5, 60.0] {
            let found = dew_point(temperature, 100.0).unwrap();
            assert!((found - temperature).abs() < 1e-9, "{found}");
        }
        for (temperature, humidity) in [
            (-45.1, 50.0),
            (60.1, 50.0),
            (20.0, 0.0),
            (20.0, 100.1),
            (f64::NAN, 50.0),
            (20.0, f64::NAN),
            (f64::INFINITY, 50.0),
        ] {
            assert_eq!(
                dew_point(temperature, humidity),
                None,
                "{temperature} {humidity}"
            );
        }
    }
}
