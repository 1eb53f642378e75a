//! Readings of the air.

use jiff::civil::{date, datetime};
use quantity::Typed;
use record::act::{AirReading, Calibrate, Strike};
use record::{Act, Programme, RuleKey as R};

use crate::scene::{Scene, id};
use crate::stores::{find, lose};
use crate::table::{Row, check, row};

const RANGE: &str =
    "WMO-No. 8, vol. I, annex 4.B: the formula over water holds from -45 to 60 °C";
const CAN_BE: &str = "practice: relative humidity lies between nothing and a hundred";
const CAL: &str = "145.A.40(b): what measures is controlled and calibrated";
const CLOCK: &str = "practice: a reading is of now or of the past";

fn reading(temperature: &str, humidity: f64) -> AirReading {
    AirReading {
        place: Some(id("CAGE")),
        at: None,
        temperature: Typed::parse(temperature).unwrap(),
        humidity,
        surface: None,
        surface_of: None,
        instruments: Vec::new(),
        note: None,
    }
}

fn with(tool: &str) -> AirReading {
    AirReading { instruments: vec![id(tool)], ..reading("18 °C", 60.0) }
}

fn calibrated(scene: &mut Scene) {
    let (until, certificate) = (date(2033, 1, 1), "C-1".into());
    scene.does("frank", Calibrate { tool: id("TW-1"), until, certificate });
}

fn refused(name: &'static str, source: &'static str, rule: R, act: AirReading) -> Row {
    row(name, source, rule, move |_| ("ben", act.clone().into()))
}

pub(crate) fn rows() -> Vec<Row> {
    let at = |at| AirReading { at: Some(at), ..reading("18 °C", 60.0) };
    let surface = |text| {
        let surface = Some(Typed::parse(text).unwrap());
        AirReading { surface, ..reading("18 °C", 60.0) }
    };
    let nowhere = AirReading { place: Some(id("ATTIC")), ..reading("18 °C", 60.0) };
    let of = |item| AirReading { surface_of: Some(id(item)), ..surface("16 °C") };
    let of_nothing =
        AirReading { surface_of: Some(id("HULL")), ..reading("18 °C", 60.0) };
    vec![
        refused("air is read at a place", CAN_BE, R::Known, nowhere),
        refused("a surface is of an item", CAN_BE, R::Known, of("NOTHING")),
        refused("a surface has a temperature", CAN_BE, R::Stated, of_nothing),
        refused("air is not so cold", RANGE, R::Stated, reading("-46 °C", 60.0)),
        refused("air is not so warm", RANGE, R::Stated, reading("185 °C", 60.0)),
        refused("Fahrenheit was meant", RANGE, R::Stated, reading("64 °C", 60.0)),
        refused("air holds some water", CAN_BE, R::Stated, reading("18 °C", 0.0)),
        refused("a fraction is no per cent", CAN_BE, R::Stated, reading("18 °C", 0.6)),
        refused("air holds no more", CAN_BE, R::Stated, reading("18 °C", 101.0)),
        refused("humidity is a number", CAN_BE, R::Stated, reading("18 °C", f64::NAN)),
        refused("a surface is not so warm", CAN_BE, R::Stated, surface("160 °C")),
        refused(
            "air of tomorrow is not known",
            CLOCK,
            R::Clock,
            at(datetime(2032, 1, 15, 9, 0, 0, 0)),
        ),
        refused(
            "air of the afternoon is not known in the morning",
            CLOCK,
            R::Clock,
            at(datetime(2032, 1, 14, 15, 0, 0, 0)),
        ),
        refused(
            "what is no instrument reads no air",
            CAL,
            R::Calibration,
            with("HAMMER"),
        ),
        refused("an instrument is calibrated", CAL, R::Calibration, with("TW-1")),
        refused("an instrument is one of the list", CAL, R::Known, with("TH-9")),
        row("a lost instrument reads nothing", CAL, R::ToolControl, |scene| {
            calibrated(scene);
            scene.does("ben", lose("TW-1"));
            ("ben", with("TW-1").into())
        }),
        row("a found one is calibrated first", CAL, R::Calibration, |scene| {
            calibrated(scene);
            scene.does("ben", lose("TW-1")).does("ben", find("TW-1"));
            ("ben", with("TW-1").into())
        }),
        row("it was calibrated on the day", CAL, R::Calibration, |scene| {
            calibrated(scene);
            let at = Some(datetime(2032, 1, 13, 9, 0, 0, 0));
            ("ben", AirReading { at, ..with("TW-1") }.into())
        }),
    ]
}

#[test]
fn the_air_is_read_as_it_can_be() {
    check(rows());
}

/// The humidities of the last readings, by place.
fn last(programme: &Programme) -> Vec<(Option<String>, f64)> {
    let all = programme.shop.air.all_latest();
    all.map(|(place, last)| (place.map(ToString::to_string), last.humidity)).collect()
}

#[test]
fn each_place_has_its_last_reading_by_when_it_was_read() {
    let mut scene = Scene::new();
    calibrated(&mut scene);
    let hangar = AirReading { place: None, ..reading("12 °C", 80.0) };
    scene.does("ben", hangar).does("ben", with("TW-1"));
    // From somebody's notebook, later.
    let before = Some(datetime(2032, 1, 13, 16, 0, 0, 0));
    scene.does("ben", AirReading { at: before, ..reading("9 °C", 91.0) });
    let cage = Some("CAGE".to_owned());
    assert_eq!(last(&scene.programme), [(None, 80.0), (cage.clone(), 60.0)]);
    let all = &scene.programme.shop.air.readings[&Some(id("CAGE"))];
    assert_eq!(all.iter().map(|one| one.humidity).collect::<Vec<_>>(), [91.0, 60.0]);
    // What is struck through counts no more, and the one before it does.
    let strike = Strike { entry: all[1].mark.entry, reason: "read at the door".into() };
    scene.does("ben", strike);
    assert_eq!(last(&scene.programme), [(None, 80.0), (cage, 91.0)]);
    assert_eq!(scene.programme.shop.air.readings[&Some(id("CAGE"))].len(), 2);
}

#[test]
fn nobody_elses_reading_is_struck_through_without_authority() {
    let mut scene = Scene::new();
    scene.does("ben", reading("18 °C", 60.0));
    let strike = Strike { entry: scene.number, reason: "wrong".into() };
    let refusals = scene.refusals("frank", &strike.into());
    assert_eq!(refusals.iter().map(|one| one.rule).collect::<Vec<_>>(), [R::Correction]);
}

/// Two worked cases of an inspector's manual that is published for steel: 16 °C and 71 %, with
/// the plate at 13 °C, is less than 3 °C above the dew point; dry bulb 21 °C and wet bulb 17 °C
/// (67 %), with the plate at 19 °C, is more.
#[test]
fn the_surface_lies_above_the_dew_point_or_does_not() {
    for (air, humidity, surface, enough) in
        [("16 °C", 71.0, "13 °C", false), ("69.8 °F", 67.1, "19 °C", true)]
    {
        let mut scene = Scene::new();
        let surface = Some(Typed::parse(surface).unwrap());
        scene.does("ben", AirReading { surface, ..reading(air, humidity) });
        let margin = scene.programme.shop.air.latest(Some(&id("CAGE"))).unwrap().margin();
        assert_eq!(margin.unwrap() >= 3.0, enough, "{margin:?}");
    }
}

#[test]
fn limits_of_what_can_be_are_inside_in_any_unit() {
    let mut scene = Scene::new();
    for (temperature, humidity) in [("140 °F", 100.0), ("-49 °F", 1.0), ("333.15 K", 1.0)]
    {
        scene.does("ben", reading(temperature, humidity));
        let last = scene.programme.shop.air.latest(Some(&id("CAGE"))).unwrap();
        assert!(last.dew_point().is_some(), "{last:?}");
    }
}

#[test]
fn whoever_names_no_instrument_is_told() {
    let mut scene = Scene::new();
    calibrated(&mut scene);
    let told = |act: AirReading| {
        let act: Act = act.into();
        scene.programme.cautions(&act, &scene.stamp("ben")).len()
    };
    assert_eq!((told(reading("18 °C", 60.0)), told(with("TW-1"))), (1, 0));
}
