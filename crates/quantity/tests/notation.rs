//! The notations in use, and what is said to somebody who writes another.

use quantity::{
    Area, Currency, Elapsed, Estimate, Force, Length, Mass, Moment, Money, MoneyError,
    NotFinite, Notation, Pressure, Temperature, Torque, Typed, Work,
};

/// All texts of a row say the same value, to the last bit, which is printed as the first.
fn same<Q: Notation + std::fmt::Debug>(rows: &[&[&str]]) {
    for row in rows {
        let first =
            Q::parse(row[0]).unwrap_or_else(|error| panic!("{}: {error}", row[0]));
        assert_eq!(first.print(), row[0]);
        for text in &row[1..] {
            let value = Q::parse(text).unwrap_or_else(|error| panic!("{text}: {error}"));
            assert_eq!(value, first, "{text}");
        }
    }
}

/// The sentence, the part of the text at fault and the hint, each for one text.
fn refused<Q: Notation + std::fmt::Debug>(rows: &[(&str, &str, &str, &str)]) {
    for &(text, sentence, offending, hint) in rows {
        let Err(error) = Q::parse(text) else {
            panic!("{text} is read as {}", Q::NOUN);
        };
        assert!(error.to_string().contains(sentence), "{text}: {error}");
        assert_eq!(error.offending(), offending, "{text}");
        assert!(error.hint().unwrap_or_default().contains(hint), "{text}: {error:?}");
        assert_eq!(error.text(), text);
        assert_eq!(error.expected(), Q::NOUN);
    }
}

#[test]
fn lengths() {
    same::<Length>(&[
        &["4.7625 mm", "3/16 in", "0.1875 in", "3/16\"", "187.5 thou", "187.5 mil"],
        &[
            "34.925 mm",
            "1 3/8\"",
            "1-3/8 in",
            "1⅜ in",
            "1 ⅜ in.",
            "1.375 inches",
            "1 3⁄8″",
        ],
        &["1.2192 mm", "0.048 in", ".048\"", "48 thou", "18 SWG", "18swg", "SWG 18"],
        &["1.2192 mm", "18 S.W.G.", "S.W.G. 18", "1219.2 µm", "4.8e-2 in", "6/125 in"],
        &[
            "1612.9 mm",
            "5 ft 3 1/2 in",
            "5' 3 1/2\"",
            "5′ 3 1/2″",
            "5’ 3 1/2”",
            "5'-3½\"",
        ],
        &[
            "1612.9 mm",
            "5ft3.5in",
            "5 ft, 3 1/2 in",
            "63 1/2 in",
            "1.6129 m",
            "161.29 cm",
        ],
        &["1612.9 mm", "5 feet 3½ inches", "5'3½''", "5 ft-3 1/2 in", "5 FT 3.5 IN"],
        &["-12.7 mm", "-1/2 in", "−1/2 in", "- ½ in", "-0.5\""],
        &["-1600.2 mm", "-5 ft 3 in", "-63 in"],
        &["12.7 mm", "7/0 SWG", "+1/2 in", " 1/2 in ", "½ in", "1/2\u{a0}in"],
        &["8.2296 mm", "0 SWG", "1/0 SWG"],
        &["0 mm", "-0 in", "0 ft 0 in", "0/4 m", "0e999 m"],
        &["914.4 mm", "1 yd", "1 yard", "3 ft", "36 in"],
        &["1.5e30 mm", "1.5e27 m", "1500000000000000000000000000000 mm"],
    ]);
    let third = Length::parse("1/3 in").unwrap();
    assert_eq!(third, Length::parse("2/6 in").unwrap());
    // 127/15000 m: one division of exact numbers, which IEEE 754 rounds once.
    assert_eq!(third.in_m(), 127.0 / 15_000.0);
}

#[test]
fn lengths_refused() {
    let list = "mm, cm, m, in, ft, thou, µm, yd, SWG";
    refused::<Length>(&[
        ("", "nothing is written", "", "such as `3/16 in`"),
        (" \t ", "nothing is written", " \t ", "such as `3/16 in`"),
        ("12", list, "", "put the unit behind"),
        ("5 ft 3", list, "", "put the unit behind"),
        ("12 kg", "`kg` is a mass; a length was expected", "kg", list),
        ("12 lbf", "`lbf` is a force", "lbf", list),
        ("2 sq in", "`sq in` is an area", "sq in", list),
        ("5 h", "`h` is a time", "h", list),
        ("12 mmm", "not a unit known for a length", "mmm", "did you mean mm?"),
        ("12 milimetre", "not a unit", "milimetre", "did you mean mm?"),
        ("12 furlongs", "not a unit", "furlongs", list),
        ("1,2 mm", "comma in the number", "1,2", "write 1.2 mm"),
        ("5 ft 1,2 in", "comma in the number", "1,2", "write 5 ft 1.2 in"),
        (
            "1,250 mm",
            "comma",
            "1,250",
            "write 1250 mm if the comma parts thousands, 1.250 mm",
        ),
        ("1,250,000 mm", "comma", "1,250,000", "write 1250000 mm"),
        ("1,250.5 mm", "comma", "1,250.5", "write 1250.5 mm"),
        ("1.250,5 mm", "comma", "1.250,5", "write 1250.5 mm"),
        ("1 250 mm", "no unit between two numbers", "1 250", "write 1250 mm if"),
        ("1 2 mm", "no unit between two numbers", "1 2", "behind each number"),
        ("1.2.3 mm", "more than one point", "1.2.3", "at most one point"),
        ("nan m", "a number was expected where `nan` stands", "nan", "such as"),
        ("inf m", "a number was expected", "inf", "such as"),
        ("mm 3", "a number was expected", "mm", "such as"),
        ("-", "a number is missing at the end", "", "such as"),
        ("1e999 m", "too large", "1e999", ""),
        ("1e-999 m", "too small", "1e-999", ""),
        ("1e99999999999 m", "more digits", "1e99999999999", "fewer digits"),
        ("3/0 in", "denominator 0", "3/0", "3/16"),
        ("3/ in", "no denominator", "3/", "3/16"),
        ("5 in 3 ft", "larger unit comes first", "5 in 3 ft", "larger unit first"),
        ("5 in 3 in", "larger unit comes first", "5 in 3 in", ""),
        ("5 mm 3 in", "not written together", "5 mm 3 in", "one unit"),
        ("5.5 ft 3 in", "may have a fraction", "5.5", "last unit"),
        ("5 ft -3 in", "sign may stand only", "-", "at the beginning"),
        ("5 ft - 3 in", "not a unit", "ft -", "ft"),
        ("5 - mm", "not a unit", "- mm", "mm"),
        ("51 SWG", "no standard wire gauge `51`", "51", "7/0 to 1/0"),
        ("-18 SWG", "no standard wire gauge", "-18", "7/0 to 1/0"),
        ("SWG", "no standard wire gauge", "", "7/0 to 1/0"),
        ("18 AWG", "American wire gauge", "AWG", "18 SWG"),
        ("18 G", "which gauge", "G", "18 SWG"),
        ("18 g", "`g` is a mass", "g", list),
    ]);
    let digits = "9".repeat(400);
    let error = Length::parse(&format!("{digits} in")).unwrap_err();
    assert!(error.to_string().contains("more digits"), "{error}");
    let error = Length::parse(&format!("3 {}", "x".repeat(10_000))).unwrap_err();
    assert!(error.to_string().len() < 200, "an error does not repeat a page");
}

#[test]
fn masses_forces_and_moments() {
    same::<Mass>(&[
        &[
            "5.61320557875 kg",
            "12 lb 6 oz",
            "12lb6oz",
            "198 oz",
            "12.375 lbs",
            "12 3/8 lb",
        ],
        &["0.3 kg", "300 g", "300 grams", "3e-4 t"],
        &["1200 kg", "1.2 t", "1.2 tonnes", "1.2 metric ton"],
        &["50.80234544 kg", "1 cwt", "112 lb", "1 hundredweight", "0 cwt 112 lb"],
        &["1016.0469088 kg", "1 long ton", "20 cwt", "2240 lb"],
    ]);
    refused::<Mass>(&[
        (
            "1 ton",
            "long ton to some",
            "ton",
            "long ton (2240 lb), short ton (2000 lb) or t",
        ),
        ("2 tons", "long ton to some", "tons", "t (1000 kg)"),
        ("3 lb 4 kg", "not written together", "3 lb 4 kg", ""),
        ("3 kgg", "not a unit", "kgg", "did you mean kg?"),
    ]);
    same::<Force>(&[
        &["44.482216152605 N", "10 lbf", "10 LBF"],
        &["2000 N", "2 kN", "2 KN", "2e3 N"],
        &["49.03325 N", "5 kgf", "5 kp"],
    ]);
    refused::<Force>(&[("3 lb", "`lb` is a mass; a force was expected", "lb", "lbf")]);
    same::<Moment>(&[
        &["14.4015577475 kg·m", "1250 lb·in", "1250 lb.in", "1250 lb in", "1250 in-lb"],
        &["0.012 kg·m", "12 kg·mm", "12 kg mm", "1.2 kg.cm"],
        &["-0.034563738594 kg·m", "-3 lb·in"],
    ]);
    refused::<Moment>(&[("50 Nm", "`Nm` is a torque", "Nm", "kg·m")]);
}

#[test]
fn torques_areas_and_pressures() {
    same::<Torque>(&[
        &["50 N·m", "50 Nm", "50 N.m", "50 N m", "50 newton-metres", "5000 N·cm"],
        &[
            "50.84317306242752 N·m",
            "450 lbf·in",
            "450 lbf.in",
            "450 lbf in",
            "450 in-lb",
            "450 lb in",
            "450 in. lbs.",
            "450 inch-pounds",
            "37.5 lb-ft",
            "37 1/2 ft·lbf",
            "450 lbf⋅in",
            "450 lbf*in",
            "37.5 ftlb",
        ],
    ]);
    refused::<Torque>(&[("5 kg·m", "`kg·m` is a moment", "kg·m", "kgf·m")]);
    same::<Area>(&[
        &[
            "1290.32 mm²",
            "2 sq in",
            "2 sq. in.",
            "2 in²",
            "2 in2",
            "2 in^2",
            "2 square inches",
        ],
        &["30 mm²", "30 mm2", "30 sq mm", "0.3 cm²", "0.3cm2"],
        &["0.27870912 m²", "3 sq ft", "3 ft²", "432 sq in"],
    ]);
    refused::<Area>(&[("2 in", "`in` is a length; an area was expected", "in", "in²")]);
    same::<Pressure>(&[
        &["206.84271879505084 kPa", "30 psi", "30 PSI", "30 lbf/in²", "30 lb/sq in"],
        &["120 kPa", "1.2 bar", "120000 Pa", "1200 mbar", "0.12 MPa", "0.12 N/mm²"],
    ]);
    refused::<Pressure>(&[
        ("210 mPa", "not a unit", "mPa", "did you mean MPa?"),
        ("3 in", "`in` is a length", "in", "inHg"),
    ]);
}

#[test]
fn temperatures() {
    same::<Temperature>(&[
        &[
            "12 °C",
            "12 C",
            "12C",
            "12 c",
            "12 deg C",
            "12 º C",
            "12 degrees C",
            "285.15 K",
        ],
        &["285.9277777777778 K", "55 °F", "55F", "55 deg. F"],
        &["-40 °C", "-40 °F", "−40F"],
    ]);
    refused::<Temperature>(&[
        ("-300 °C", "below absolute zero", "-300 °C", ""),
        ("-460 F", "below absolute zero", "-460 F", ""),
        ("-1e-9 K", "below absolute zero", "-1e-9 K", ""),
        ("12", "a temperature needs one of °C, °F, K", "", ""),
        ("12 °", "not a unit", "°", "°C, °F, K"),
        ("5 °C 3 °C", "not written together", "5 °C 3 °C", ""),
    ]);
    assert!(Temperature::from_c(-273.15).is_ok());
    let error = Temperature::from_c(-274.0).unwrap_err();
    assert_eq!(error.to_string(), "a temperature cannot lie below absolute zero");
}

#[test]
fn times() {
    same::<Work>(&[
        &["2 h", "2h", "120 min", "2 hours", "2 hrs", "1 h 60"],
        &["1 h 30 min", "1 h 30", "1h30", "1h30m", "1.5 h", "1 1/2 h", "90 min", "1½ h"],
        &["20 min", "1/3 h"],
        &["0 min", "0 h", "-0 h"],
        &["-2 h 30 min", "-2.5 h"],
    ]);
    refused::<Work>(&[
        ("2 days", "depends on the shift", "days", "hours"),
        ("1 week", "depends on the shift", "week", "hours"),
        ("2.51 h", "not a whole number of minutes", "2.51 h", "write 151 min"),
        ("1:30", "not a unit", ":", "write the units, such as 1 h 30 min"),
        ("5", "needs one of h, min", "", "2 h 30 min"),
        ("9223372036854775808 min", "too long", "9223372036854775808 min", "shorter"),
    ]);
    same::<Elapsed>(&[
        &["1 day", "24 h", "1 d", "1440 min"],
        &["3 days", "3 d", "72 h"],
        &["7 days", "1 week", "1 wk"],
        &["9 days 3 h 4 min", "1 week 2 days 3 h 4 min", "1w2d3h4"],
        &["1 day 12 h", "1.5 days", "36 hours"],
    ]);
    refused::<Elapsed>(&[("2 months", "not a unit", "months", "week")]);
    let hour = Work::from_minutes(60);
    assert_eq!(hour.checked_add(hour).map(Work::minutes), Some(120));
    assert_eq!(hour.checked_sub(hour), Some(Work::ZERO));
    assert_eq!(Work::from_minutes(i64::MAX).checked_add(hour), None);
}

#[test]
fn estimates() {
    same::<Estimate<Work>>(&[
        &["2 h / 3 h / 6 h", "2h/3h/6h", "120 min / 3h / 6 h", "2 h/3 h/6 h"],
        &["3 h", "3h / 3h / 180 min"],
        &["1 h 30 min / 2 h / 3 h", "1 h 30 / 2 h / 3 h"],
        &["30 min / 45 min / 1 h", "1/2 h / 3/4 h / 1 h"],
    ]);
    same::<Estimate<Elapsed>>(&[&["3 days / 5 days / 14 days", "3d/5d/2 weeks"]]);
    refused::<Estimate<Work>>(&[
        ("3h / 2h / 6h", "3 h comes before 2 h", "3h / 2h / 6h", "low / likely / high"),
        ("2h / 7h / 6h", "7 h comes before 6 h", "2h / 7h / 6h", "low / likely / high"),
        ("2h / 3h", "one figure or three, not 2", "2h / 3h", "each with its unit"),
        ("2/3/6 h", "each figure", "2/3/6 h", "2 h / 3 h / 6 h"),
        ("2h / 3 kg / 6h", "`kg` is a mass", "kg", ""),
        ("2 h / 2 days / 3 h", "depends on the shift", "days", "hours"),
        ("2 h / / 3 h", "nothing is written", " ", "such as"),
    ]);
    let sure = Estimate::certain(Work::from_minutes(5));
    assert_eq!((sure.low(), sure.likely(), sure.high()).2.minutes(), 5);
}

#[test]
fn money() {
    same::<Money>(&[
        &[
            "1250.50 GBP",
            "GBP 1250.50",
            "£1,250.50",
            "£1250.5",
            "1,250.50gbp",
            "£ 1250.50",
        ],
        &["12345678.90 EUR", "€12,345,678.90", "12345678.9 EUR", "€ 12345678.90"],
        &["-5.00 GBP", "-£5", "£-5", "−5 GBP", "GBP -5"],
        &["0.05 USD", ".05 USD", "USD 0.05"],
        &["1250 JPY", "JPY 1,250", "1250. JPY"],
        &["1.250 BHD", "BHD 1.25"],
    ]);
    refused::<Money>(&[
        ("", "no amount", "", "1250.50 GBP"),
        ("GBP", "no amount", "GBP", "1250.50 GBP"),
        ("12", "currency is missing", "", "three letters"),
        ("$12", "which dollar", "$", "USD, CAD or AUD"),
        ("¥12", "yen or yuan", "¥", "JPY or CNY"),
        ("12 XYZ", "`XYZ` is not a known currency", "XYZ", "ISO 4217"),
        ("1,25 GBP", "`1,25` is not an amount", "1,25", "groups of three"),
        ("1,2500 GBP", "is not an amount", "1,2500", "groups of three"),
        ("1.250,50 EUR", "is not an amount", "1.250,50", "groups of three"),
        ("1.2.3 GBP", "is not an amount", "1.2.3", ""),
        ("12.345 GBP", "GBP has 2 decimals, not 3", "12.345", "round"),
        ("12.5 JPY", "JPY has no decimals, not 1", "12.5", "round"),
        ("1 250 GBP", "a space in it", "250 GBP", "together"),
        ("GBP 5 GBP", "not one amount", "GBP 5 GBP", ""),
        ("--5 GBP", "not one amount", "--5 GBP", ""),
        ("99999999999999999999 GBP", "too large", "99999999999999999999", ""),
    ]);
    let dollars = Money::parse_in("$12", Currency::USD).unwrap();
    assert_eq!(dollars, Money::parse("12 USD").unwrap());
    assert_eq!(Money::parse_in("12", Currency::GBP), Money::parse("12 GBP"));
    assert_eq!(Money::parse_in("€12", Currency::GBP), Money::parse("12 EUR"));
    assert!(Money::parse_in("$12", Currency::GBP).is_err());
}

#[test]
fn amounts_of_two_currencies_have_no_sum_and_no_order() {
    let pounds = Money::from_minor(1000, Currency::GBP);
    let euros = Money::from_minor(1000, Currency::EUR);
    let mixed = MoneyError::Mixed { left: Currency::GBP, right: Currency::EUR };
    assert_eq!(pounds.checked_add(euros), Err(mixed));
    assert_eq!(mixed.to_string(), "GBP and EUR cannot be taken together");
    assert_eq!(pounds.partial_cmp(&euros), None);
    assert_eq!(pounds.checked_add(pounds).map(Money::minor), Ok(2000));
    assert_eq!(pounds.checked_sub(pounds), Ok(Money::zero(Currency::GBP)));
    assert_eq!(pounds.checked_mul(-3).map(Money::minor), Ok(-3000));
    let most = Money::from_minor(i64::MAX, Currency::GBP);
    assert_eq!(most.checked_add(pounds), Err(MoneyError::Overflow));
}

#[test]
fn a_typed_value_keeps_its_text() {
    let typed = Typed::<Length>::parse("  3/16 in ").unwrap();
    assert_eq!((typed.text(), typed.to_string().as_str()), ("3/16 in", "3/16 in"));
    let metric = Typed::<Length>::parse("4.7625 mm").unwrap();
    assert_eq!(typed.value(), metric.value());
    assert_ne!(typed, metric);
    assert_eq!(Typed::from_value(typed.value()), metric);
}

#[test]
fn arithmetic_stays_finite() {
    let most = Length::from_m(f64::MAX).unwrap();
    assert_eq!(most + most, most);
    assert_eq!(-most - most, -most);
    assert!(most.in_mm().is_finite() && most.in_inches().is_finite());
    assert!((most * 2.0).is_err() && (most * f64::NAN).is_err());
    assert_eq!((most * 0.5).unwrap().in_m(), f64::MAX / 2.0);
    assert!(
        Length::from_m(f64::NAN).is_err() && Length::from_feet(f64::INFINITY).is_err()
    );
    let error: NotFinite = Length::from_mm(f64::NAN).unwrap_err();
    assert_eq!(error.to_string(), "a length must be a finite number");
    assert!(most.ratio_to(Length::ZERO).is_err());
    let inch = Length::from_inches(1.0).unwrap();
    assert_eq!((inch * 4).ratio_to(inch), Ok(4.0));
    assert_eq!(Length::from_inches(0.1875), Length::parse("3/16 in").map_err(|_| error));
    assert_eq!((inch * inch).in_mm2(), 645.16);
    let push = Pressure::parse("100 psi").unwrap() * Area::parse("2 in²").unwrap();
    assert!((push.in_lbf() - 200.0).abs() < 1e-9);
    assert_eq!(format!("{inch:?}"), "Length(25.4 mm)");
}
