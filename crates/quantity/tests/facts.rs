//! Values that the outside world fixes, each with its source.

use quantity::{
    Area, Currency, Force, Length, Mass, Moment, Money, Notation, Pressure, Temperature,
    Torque,
};

fn near(found: f64, published: f64, within: f64) -> bool {
    (found - published).abs() <= within
}

/// BS 3737:1964 as printed in published engineering tables, in the millimetres that they
/// give beside the inches: the table here was made from the inches.
#[test]
fn wire_gauges_agree_with_the_published_millimetres() {
    const ABOVE: [f64; 7] = [12.700, 11.786, 10.973, 10.160, 9.449, 8.839, 8.230];
    const NUMBERED: [f64; 50] = [
        7.620, 7.010, 6.401, 5.893, 5.385, 4.877, 4.470, 4.064, 3.658, 3.251, 2.946,
        2.642, 2.337, 2.032, 1.829, 1.626, 1.422, 1.219, 1.016, 0.914, 0.813, 0.711,
        0.610, 0.559, 0.508, 0.457, 0.417, 0.376, 0.345, 0.315, 0.295, 0.274, 0.254,
        0.234, 0.213, 0.193, 0.173, 0.152, 0.132, 0.122, 0.112, 0.102, 0.091, 0.081,
        0.071, 0.061, 0.051, 0.041, 0.030, 0.025,
    ];
    let above = (1..=7).rev().map(|noughts| format!("{noughts}/0 SWG")).zip(ABOVE);
    let numbered = (1..=50).map(|gauge| format!("{gauge} SWG")).zip(NUMBERED);
    let mut last = f64::INFINITY;
    for (gauge, published) in above.chain(numbered) {
        let size = Length::parse(&gauge).unwrap().in_mm();
        assert!(near(size, published, 0.000_501), "{gauge}: {size} {published}");
        assert!(size < last, "{gauge} is thinner than the one before");
        last = size;
    }
}

/// International yard and pound agreement, 1959: 1 yd = 0.9144 m, 1 lb = 0.45359237 kg.
/// With them the conversions of NIST Special Publication 811, appendix B (exact ones in
/// full, the rest to the seven figures printed; from memory).
#[test]
fn units_have_their_published_size() {
    fn one<Q: Notation>(text: &str, canonical: impl Fn(Q) -> f64, published: f64) {
        let found = canonical(Q::parse(text).unwrap());
        let within = published * 0.500_000_1e-6;
        assert!(near(found, published, within), "{text}: {found} {published}");
    }
    assert_eq!(Length::parse("1 in").unwrap().in_m(), 0.0254);
    assert_eq!(Length::parse("1 yd").unwrap().in_m(), 0.9144);
    assert_eq!(Length::parse("1 ft").unwrap().in_m(), 0.3048);
    assert_eq!(Length::parse("1 mil").unwrap().in_m(), 2.54e-5);
    assert_eq!(Mass::parse("1 lb").unwrap().in_kg(), 0.453_592_37);
    assert_eq!(Area::parse("1 sq in").unwrap().in_m2(), 6.4516e-4);
    assert_eq!(Area::parse("1 sq ft").unwrap().in_m2(), 9.290_304e-2);
    assert_eq!(Force::parse("1 kgf").unwrap().in_n(), 9.806_65);
    assert_eq!(Force::parse("1 lbf").unwrap().in_n(), 4.448_221_615_260_5);
    assert_eq!(Pressure::parse("1 kgf/cm²").unwrap().in_pa(), 9.806_65e4);
    one("1 oz", Mass::in_kg, 2.834_952e-2);
    one("1 cwt", Mass::in_kg, 50.802_35);
    one("1 long ton", Mass::in_kg, 1_016.047);
    one("1 short ton", Mass::in_kg, 907.184_7);
    one("1 lbf·in", Torque::in_n_m, 0.112_984_8);
    one("1 lbf·ft", Torque::in_n_m, 1.355_818);
    one("1 kgf·m", Torque::in_n_m, 9.806_65);
    one("1 in-oz", Torque::in_n_m, 7.061_552e-3);
    one("1 psi", Pressure::in_pa, 6_894.757);
    one("1 ksi", Pressure::in_pa, 6.894_757e6);
    one("1 inHg", Pressure::in_pa, 3_386.389);
    // Products of the two units of 1959, worked by hand.
    one("1 lb·in", Moment::in_kg_m, 0.011_521_246_198);
    one("1 lb·ft", Moment::in_kg_m, 0.138_254_954_376);
}

/// ICAO standard atmosphere, sea level: 1013.25 hPa, 29.92 inHg and 14.696 psi as aviation
/// prints them.
#[test]
fn standard_pressure_is_one_in_all_units() {
    let standard = Pressure::parse("1013.25 hPa").unwrap();
    assert!(near(standard.in_in_hg(), 29.92, 0.005));
    assert!(near(standard.in_psi(), 14.696, 0.000_5));
    assert!(near(standard.in_bar(), 1.013_25, 1e-12));
}

/// Fixed points: absolute zero and the definition of the Celsius scale (BIPM SI brochure);
/// 32 °F at 0 °C, 212 °F at 100 °C, the two scales crossing at -40.
#[test]
fn temperatures_meet_at_their_fixed_points() {
    let points = [
        ("0 K", "-459.67 °F", "-273.15 °C"),
        ("233.15 K", "-40 °F", "-40 °C"),
        ("273.15 K", "32 F", "0 C"),
        ("310.15 K", "98.6 °F", "37 °C"),
        ("373.15 K", "212 deg F", "100 deg C"),
    ];
    for (kelvin, fahrenheit, celsius) in points {
        let kelvin = Temperature::parse(kelvin).unwrap();
        assert_eq!(Temperature::parse(fahrenheit).unwrap(), kelvin);
        assert_eq!(Temperature::parse(celsius).unwrap(), kelvin);
    }
    let warm = Temperature::from_f(212.0).unwrap();
    assert!(near(warm.in_c(), 100.0, 1e-9) && near(warm.in_f(), 212.0, 1e-9));
}

/// ISO 4217: the yen has no minor unit, the pound has hundredths, the Bahraini dinar
/// thousandths.
#[test]
fn minor_units_follow_iso_4217() {
    for (text, minor) in [("5 JPY", 5), ("5 GBP", 500), ("5 BHD", 5000)] {
        assert_eq!(Money::parse(text).unwrap().minor(), minor);
    }
    assert_eq!(Currency::new("BHD").unwrap().minor_units(), 1000);
}

/// A weighing worked by hand: mass times arm, summed, over the mass gives the centre of
/// gravity. 3000 lb at 100 in and 1000 lb at 140 in balance at 110 in.
#[test]
fn a_weighing_finds_the_centre_of_gravity() {
    let lines = [("3000 lb", "100 in"), ("1000 lb", "140 in")];
    let read = |(mass, arm)| (Mass::parse(mass).unwrap(), Length::parse(arm).unwrap());
    let mass: Mass = lines.map(read).iter().map(|(mass, _)| mass).sum();
    let moment: Moment = lines.map(read).iter().map(|&(mass, arm)| mass * arm).sum();
    assert!(near(moment.in_lb_in(), 440_000.0, 1e-6));
    assert!(near((moment / mass).unwrap().in_inches(), 110.0, 1e-9));
    assert!((moment / Mass::ZERO).is_err());
}
