//! What holds for every value and every text.

use proptest::prelude::*;
use quantity::{
    Area, Currency, Elapsed, Estimate, Force, Id, Kind, Length, Mass, Moment, Money,
    Notation, Pressure, QuantityError, Seed, Temperature, Torque, Typed, Work,
};

#[derive(Debug)]
struct Thing;

impl Kind for Thing {
    const NOUN: &'static str = "thing";
}

/// What is printed is read back as the same value, and printed the same.
fn returns<Q: Notation + std::fmt::Debug>(value: Q) -> Result<(), TestCaseError> {
    let text = value.print();
    let back =
        Q::parse(&text).map_err(|error| TestCaseError::fail(format!("{error:?}")))?;
    prop_assert_eq!(back, value, "{}", text);
    prop_assert_eq!(back.print(), text);
    prop_assert_eq!(Typed::from_value(value).value(), value);
    Ok(())
}

/// An error points into its text and has a sentence.
fn lawful<Q>(text: &str, result: Result<Q, QuantityError>) -> Result<(), TestCaseError> {
    if let Err(error) = result {
        prop_assert_eq!(error.text(), text);
        let part = text.get(error.range());
        prop_assert_eq!(part, Some(error.offending()), "{:?}", error);
        prop_assert!(!error.to_string().is_empty());
    }
    Ok(())
}

/// Every finite number, and often one of the size that workshops have.
fn finite() -> impl Strategy<Value = f64> {
    prop_oneof![
        any::<f64>().prop_filter("finite", |number| number.is_finite()),
        -1e6_f64..1e6,
        (-1_000_000_i32..1_000_000).prop_map(|thousandths| f64::from(thousandths) / 1e3),
    ]
}

/// Texts made of the pieces that notations are made of: far more of them get deep into a
/// parser than random characters do.
fn pieces() -> impl Strategy<Value = String> {
    let piece = prop::sample::select(vec![
        "1",
        "3",
        "16",
        "250",
        "0",
        "9999999999999999999999",
        ".",
        ",",
        "/",
        "⁄",
        "-",
        "−",
        "+",
        " ",
        "  ",
        "\u{a0}",
        "½",
        "⅞",
        "e",
        "E5",
        "e-400",
        "e999",
        "in",
        "ft",
        "'",
        "\"",
        "″",
        "”",
        "mm",
        "m",
        "2",
        "²",
        "^2",
        "sq",
        "SWG",
        "S.W.G.",
        "0/",
        "lb",
        "oz",
        "lbf",
        "·",
        "N",
        "°",
        "F",
        "C",
        "K",
        "psi",
        "h",
        "min",
        "d",
        "days",
        "t",
        "ton",
        "£",
        "$",
        "GBP",
        "€",
        ":",
        "x",
        "é",
        "\n",
        "\u{301}",
        "𝟙",
    ]);
    prop::collection::vec(piece, 0..12).prop_map(|pieces| pieces.concat())
}

fn try_all(text: &str) -> Result<(), TestCaseError> {
    lawful(text, Length::parse(text))?;
    lawful(text, Mass::parse(text))?;
    lawful(text, Force::parse(text))?;
    lawful(text, Moment::parse(text))?;
    lawful(text, Torque::parse(text))?;
    lawful(text, Area::parse(text))?;
    lawful(text, Pressure::parse(text))?;
    lawful(text, Temperature::parse(text))?;
    lawful(text, Work::parse(text))?;
    lawful(text, Elapsed::parse(text))?;
    lawful(text, Estimate::<Work>::parse(text))?;
    lawful(text, Money::parse(text))?;
    lawful(text, Money::parse_in(text, Currency::USD))?;
    lawful(text, Currency::new(text))?;
    if let Ok(id) = Id::<Thing>::new(text) {
        prop_assert_eq!(id.as_str(), text);
    }
    Ok(())
}

/// A value that was read is printed and read again.
fn reads_again(text: &str) -> Result<(), TestCaseError> {
    Length::parse(text).map_or(Ok(()), returns)?;
    Mass::parse(text).map_or(Ok(()), returns)?;
    Torque::parse(text).map_or(Ok(()), returns)?;
    Temperature::parse(text).map_or(Ok(()), returns)?;
    Work::parse(text).map_or(Ok(()), returns)?;
    Estimate::<Elapsed>::parse(text).map_or(Ok(()), returns)?;
    Money::parse_in(text, Currency::GBP).map_or(Ok(()), returns)
}

proptest! {
    #[test]
    fn quantities_print_and_read_back(number in finite()) {
        returns(Length::from_m(number).unwrap())?;
        returns(Mass::from_kg(number).unwrap())?;
        returns(Force::from_n(number).unwrap())?;
        returns(Moment::from_kg_m(number).unwrap())?;
        returns(Torque::from_n_m(number).unwrap())?;
        returns(Area::from_m2(number).unwrap())?;
        returns(Pressure::from_pa(number).unwrap())?;
        returns(Temperature::from_k(number.abs()).unwrap())?;
    }

    #[test]
    fn times_and_money_print_and_read_back(number: i64, places in 0_usize..3) {
        let currency = Currency::new(["JPY", "GBP", "KWD"][places]).unwrap();
        returns(Work::from_minutes(number))?;
        returns(Elapsed::from_minutes(number))?;
        returns(Money::from_minor(number, currency))?;
    }

    #[test]
    fn estimates_print_and_read_back(mut figures: [i64; 3]) {
        figures.sort_unstable();
        let [low, likely, high] = figures.map(Work::from_minutes);
        returns(Estimate::new(low, likely, high).unwrap())?;
        let unordered = Estimate::new(high, likely, low);
        prop_assert_eq!(unordered.is_ok(), low == high);
    }

    #[test]
    fn any_text_is_read_or_refused(text in ".{0,40}") {
        try_all(&text)?;
    }

    #[test]
    fn any_pieces_are_read_or_refused(text in pieces()) {
        try_all(&text)?;
        reads_again(&text)?;
    }

    /// Sixteenths as a fraction, a mixed number, a decimal, in thou and in millimetres, and
    /// in feet and inches.
    #[test]
    fn one_length_in_all_notations(feet in 0_u32..100, sixteenths in 0_u32..192) {
        let (inches, part) = (sixteenths / 16, sixteenths % 16);
        let all = feet * 192 + sixteenths;
        let expected = Length::parse(&format!("{all}/16 in")).unwrap();
        // A sixteenth of an inch is 1.5875 mm.
        let ten_thousandths = u64::from(all) * 15_875;
        let texts = [
            format!("{} {}/16 in", all / 16, all % 16),
            format!("{} in", f64::from(all) / 16.0),
            format!("{} thou", f64::from(all) * 62.5),
            format!("{}.{:04} mm", ten_thousandths / 10_000, ten_thousandths % 10_000),
            format!("{feet} ft {inches} {part}/16 in"),
            format!("{feet}'-{inches} {part}/16\""),
            format!("{feet}′ {} in", f64::from(sixteenths) / 16.0),
        ];
        for text in texts {
            prop_assert_eq!(Length::parse(&text).unwrap(), expected, "{}", text);
        }
        prop_assert_eq!(-Length::parse(&format!("-{all}/16 in")).unwrap(), expected);
    }

    /// Two routes through the parser: a decimal at any size, and an exact fraction.
    #[test]
    fn the_two_routes_round_alike(digits in 0_u64.., places in 0_usize..10) {
        let text = format!("{digits:011}");
        let (whole, decimals) = text.split_at(text.len() - places);
        let decimal = Length::parse(&format!("{whole}.{decimals} mm")).unwrap();
        let fraction = Length::parse(&format!("{digits}/1{} mm", "0".repeat(places))).unwrap();
        prop_assert_eq!(decimal, fraction);
    }

    /// A bare number goes through two roundings at most, a typed one through one.
    #[test]
    fn getters_give_back_what_was_put_in(number in -1e9_f64..1e9) {
        let near = |back: f64| (back - number).abs() <= number.abs() * 4.0 * f64::EPSILON;
        prop_assert!(near(Length::from_inches(number).unwrap().in_inches()));
        prop_assert!(near(Mass::from_lb(number).unwrap().in_lb()));
        prop_assert!(near(Torque::from_lbf_ft(number).unwrap().in_lbf_ft()));
        prop_assert!(near(Moment::from_lb_in(number).unwrap().in_lb_in()));
        prop_assert!(near(Pressure::from_psi(number).unwrap().in_psi()));
    }

    #[test]
    fn seeds_repeat_and_differ(seed: u64, one in ".{0,20}", other in ".{0,20}") {
        let child = Seed(seed).child(one.as_str());
        prop_assert_eq!(child, Seed(seed).child(&one));
        prop_assert_eq!(child == Seed(seed).child(other.as_str()), one == other);
    }
}
