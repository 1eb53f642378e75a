//! Readings of the air against work of the invented skiff that asks for it.

use jiff::civil::{DateTime, date};
use quantity::Typed;
use record::Programme;
use record::act::{AirReading, CardStep, Limit, Strike};
use testkit::id;

use super::tests::{MORNING, card, does, finished_before_the_top_coat, step};
use super::{AirVerdict, AirWork, today};

const NINE: DateTime = MORNING;

fn limit(name: &str, low: Option<f64>, high: Option<f64>, unit: &str) -> Limit {
    Limit { name: name.into(), low, high, unit: unit.into() }
}

/// The top coat has its card, which asks for warm air that is not too wet.
fn scene() -> Programme {
    let mut programme = finished_before_the_top_coat();
    let limits = vec![
        limit("Air temperature", Some(59.0), Some(77.0), "°F"),
        limit("humidity", None, Some(75.0), "%RH"),
    ];
    let steps = vec![CardStep { limits, ..step("10") }];
    does(&mut programme, "Ben", NINE, card("F3:top", "FLOAT", steps));
    programme
}

fn reading(temperature: &str, humidity: f64, surface: Option<&str>) -> AirReading {
    AirReading {
        place: Some(id("bay")),
        at: None,
        temperature: Typed::parse(temperature).unwrap(),
        humidity,
        surface: surface.map(|surface| Typed::parse(surface).unwrap()),
        surface_of: None,
        instruments: Vec::new(),
        note: None,
    }
}

fn top(programme: &Programme, now: DateTime) -> AirWork {
    let work = today(programme, now).air.work;
    let found = work.into_iter().find(|work| work.job == "F3:top");
    found.expect("the top coat asks for warmth")
}

/// What is said of the top coat after one reading, a little later.
fn after(act: AirReading, minutes: i64) -> (AirVerdict, Vec<String>) {
    let mut programme = scene();
    does(&mut programme, "Ben", NINE, act);
    let now = NINE.checked_add(jiff::Span::new().minutes(minutes)).unwrap();
    let AirWork { verdict, why, .. } = top(&programme, now);
    (verdict, why)
}

#[test]
fn only_a_reading_that_is_whole_fresh_and_within_limits_is_good() {
    use AirVerdict::{May, MayNot, NotKnown};
    let good = reading("18 °C", 60.0, Some("15 °C"));
    let elsewhere = AirReading { place: None, ..good.clone() };
    let of = |item| AirReading { surface_of: Some(id(item)), ..good.clone() };
    for (act, minutes, verdict, why) in [
        (good.clone(), 0, May, ""),
        (good.clone(), 240, May, ""),
        (good.clone(), 241, NotKnown, "last read 4 h 1 min ago"),
        (elsewhere, 0, NotKnown, "nobody has read the air of Paint bay"),
        (reading("18 °C", 60.0, None), 0, NotKnown, "the surface was not read"),
        (of("FLOAT"), 0, May, ""),
        (of("COWL"), 0, NotKnown, "is that of COWL"),
        (reading("14 °C", 60.0, Some("14 °C")), 0, MayNot, "it is 57.2"),
        (reading("59 °F", 60.0, Some("59 °F")), 0, May, ""),
        (reading("18 °C", 76.0, Some("18 °C")), 0, MayNot, "humidity at most 75 %RH"),
        // 18 °C and 60 %: the dew point is at 10.1 °C.
        (reading("18 °C", 60.0, Some("13 °C")), 0, MayNot, "lies 2.8 degrees above"),
        (reading("18 °C", 60.0, Some("9 °C")), 0, MayNot, "degrees below the dew point"),
    ] {
        let told = after(act.clone(), minutes);
        assert_eq!(told.0, verdict, "{act:?} {told:?}");
        let found = why.is_empty() || told.1.iter().any(|one| one.contains(why));
        assert!(found, "{why}: {told:?}");
    }
}

#[test]
fn nothing_is_good_before_somebody_has_read_the_air_or_after_it_is_struck_through() {
    let mut programme = scene();
    assert_eq!(top(&programme, NINE).verdict, AirVerdict::NotKnown);
    does(&mut programme, "Ben", NINE, reading("18 °C", 60.0, Some("15 °C")));
    assert_eq!(top(&programme, NINE).verdict, AirVerdict::May);
    let entry = programme.shop.air.readings[&Some(id("bay"))][0].mark.entry;
    let reason = "another place".into();
    does(&mut programme, "Ben", NINE, Strike { entry, reason });
    assert_eq!(top(&programme, NINE).verdict, AirVerdict::NotKnown);
    assert_eq!(today(&programme, NINE).air.places, []);
}

#[test]
fn a_card_may_ask_for_another_margin_and_one_that_says_nothing_is_not_known() {
    let mut programme = finished_before_the_top_coat();
    does(&mut programme, "Ben", NINE, reading("18 °C", 60.0, Some("14 °C")));
    let told = top(&programme, NINE);
    assert_eq!(told.verdict, AirVerdict::NotKnown, "{told:?}");
    let silent = |words| told.why.iter().any(|why: &String| why.contains(words));
    assert!(silent("how warm it must be: the product data sheet does"), "{told:?}");
    assert!(silent("how humid the air may be: the product data sheet does"), "{told:?}");
    let limits = vec![
        limit("Air temperature", Some(15.0), None, "°C"),
        limit("humidity", None, Some(85.0), "%RH"),
        limit("surface above dew point", Some(5.0), None, "°C"),
    ];
    let steps = vec![CardStep { limits, ..step("10") }];
    does(&mut programme, "Ben", NINE, card("F3:top", "FLOAT", steps));
    let told = top(&programme, NINE);
    assert_eq!(told.verdict, AirVerdict::MayNot, "{told:?}");
    assert_eq!(
        told.why,
        ["step 10 asks for surface above dew point at least 5 °C, and it is 3.9"]
    );
}

#[test]
fn a_reading_is_told_with_its_age_dew_point_and_margin() {
    let mut programme = scene();
    does(&mut programme, "Ben", NINE, reading("18 °C", 60.0, Some("13 °C")));
    let places = |now| today(&programme, now).air.places;
    let [one] = &places(date(2031, 10, 6).at(9, 25, 0, 0))[..] else { panic!("one") };
    assert_eq!((one.name.as_str(), one.age.as_str()), ("Paint bay", "25 min ago"));
    assert!(one.facts.contains(&("dew point", "10.1 °C".to_owned())), "{:?}", one.facts);
    assert_eq!((one.fresh, one.margin), (true, Some(2.8)));
    assert_eq!(one.until, date(2031, 10, 6).at(13, 0, 0, 0));
    let later = &places(date(2031, 10, 9).at(9, 0, 0, 0))[0];
    assert_eq!((later.fresh, later.age.as_str()), (false, "3 days ago"));
}

/// A page may lie open for hours: it says until when what it says holds.
#[test]
fn what_may_go_on_is_told_with_its_end() {
    let mut programme = scene();
    does(&mut programme, "Ben", NINE, reading("18 °C", 60.0, Some("15 °C")));
    let told = top(&programme, NINE);
    assert_eq!((told.verdict, told.until), (AirVerdict::May, Some(NINE + hours(4))));
    assert_eq!(top(&programme, NINE + hours(5)).until, None);
    does(&mut programme, "Ben", NINE, reading("18 °C", 90.0, Some("15 °C")));
    assert_eq!(top(&programme, NINE).until, None, "what may not has no end");
}

fn hours(hours: i32) -> jiff::Span {
    jiff::Span::new().hours(hours)
}
