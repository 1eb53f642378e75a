//! Reactions, margins and stages: against statics worked by hand and published weighings.

#![expect(clippy::unwrap_used, reason = "in a test, failing is the way to say so")]

use std::collections::BTreeSet;

use airframe::support::{
    Event, Side, Stage, StageOptions, centre, margin, reactions, stages,
};
use airframe::{
    Airframe, Arrangement, Item, ItemId, Kinds, Parts, SupportKind, SupportPoint, Weighed,
};
use proptest::prelude::*;
use quantity::{Id, Length, Mass, Typed};

fn m(metres: f64) -> Length {
    Length::from_m(metres).unwrap()
}

fn kg(kilograms: f64) -> Mass {
    Mass::from_kg(kilograms).unwrap()
}

fn inches(inches: f64) -> Length {
    Length::from_inches(inches).unwrap()
}

fn lb(pounds: f64) -> Mass {
    Mass::from_lb(pounds).unwrap()
}

fn point(name: &str, arm: Length, side: Length) -> SupportPoint {
    SupportPoint {
        name: name.into(),
        kind: SupportKind::Jack,
        arm: Typed::from_value(arm),
        side: Typed::from_value(side),
        capacity: None,
        when_needed: false,
    }
}

fn near(one: f64, other: f64, within: f64) {
    assert!((one - other).abs() <= within, "{one} is not {other} within {within}");
}

/// Mass at arm, in pounds and inches, summed.
fn summed(rows: &[(f64, f64)]) -> (f64, f64) {
    let rows: Vec<_> = rows.iter().map(|(w, a)| (lb(*w), inches(*a))).collect();
    let (mass, arm) = centre(&rows).unwrap();
    (mass.in_lb(), arm.in_inches())
}

/// FAA AC 43.13-1B, chapter 10, figures 10-10, 10-11, 10-13 and 10-14.
#[test]
fn published_loadings() {
    let forward = [(1169.0, 10.6), (17.0, -49.0), (170.0, 16.0), (83.0, 22.0)];
    let (mass, arm) = summed(&forward);
    near(mass, 1439.0, 1e-6);
    near(arm, 11.2, 0.05);
    near(mass * arm, 16104.0, 0.5);

    let empty = [(1169.0, 10.6), (17.0, -49.0)];
    let aft = [(170.0, 16.0), (340.0, 48.0), (240.0, 22.0), (100.0, 75.5)];
    let (mass, arm) = summed(&[empty.as_slice(), &aft].concat());
    near(mass, 2036.0, 1e-6);
    near(mass * arm, 43428.0, 0.5);
    assert!(arm < 21.9, "the published aft limit");

    // Figure 10-13 prints +18.6 for 38466/2100, which is 18.317: a known misprint of the
    // answer; mass and moment agree.
    let people = [(170.0, 16.0), (170.0, 16.0), (340.0, 48.0), (234.0, 22.0)];
    let (mass, arm) = summed(&[empty.as_slice(), &people].concat());
    near(mass, 2100.0, 1e-6);
    near(mass * arm, 38466.0, 0.5);
    near(arm, 18.317, 0.0005);

    // Figure 10-14, answer 18.7.
    let seats = [(170.0, 48.0), (170.0, 16.0), (170.0, 16.0)];
    let stowed = [(240.0, 22.0), (100.0, 75.5)];
    let (mass, arm) = summed(&[empty.as_slice(), &seats, &stowed].concat());
    near(mass, 2036.0, 1e-6);
    near(arm, 18.7, 0.05);
}

/// A weighing backwards: the published centre of gravity on the published wheels gives the
/// published scale readings.
fn nose_wheel(nose: f64, main: f64, load: f64, mass: f64, from_main: f64) {
    let points = [
        point("NOSE", inches(nose), Length::ZERO),
        point("PORT", inches(main), inches(-40.0)),
        point("STARBOARD", inches(main), inches(40.0)),
    ];
    let centre = inches(main + from_main);
    let shared = reactions(&points, lb(mass), centre, Length::ZERO);
    near(shared.loads[0].in_lb(), load, 0.6);
    near(shared.loads[1].in_lb(), (mass - load) / 2.0, 0.6);
    near(shared.loads[1].in_lb(), shared.loads[2].in_lb(), 1e-6);
}

/// FAA-H-8083-1, weighing with a nose wheel: 340 lb at 78 in ahead of the main wheels, 2006
/// lb in all, centre 13.2 in ahead of them.
#[test]
fn a_published_nose_wheel_weighing() {
    nose_wheel(-78.0, 0.0, 340.0, 2006.0, -13.22);
    let rows = [(lb(340.0), inches(-78.0)), (lb(1666.0), Length::ZERO)];
    near(centre(&rows).unwrap().1.in_inches(), -13.2, 0.05);
}

/// FAA-H-8083-30, chapter 4: scales 650, 640, 225 lb with tare 5, 5, 2.5; mains 70 in aft,
/// nose 30 in ahead of the datum; 30 gal of fuel at 95 in, 5.9 lb each, taken out; 6 lb of
/// unusable fuel at 98 in put in. The totals 1331.5 lb and 50.1 in are from memory and agree
/// with the sum.
#[test]
fn a_published_weighing_with_tare() {
    let rows =
        [(645.0, 70.0), (635.0, 70.0), (222.5, -30.0), (-30.0 * 5.9, 95.0), (6.0, 98.0)];
    let (mass, arm) = summed(&rows);
    near(mass, 1331.5, 1e-9);
    near(arm, 50.1, 0.05);
    let net = lb(1502.5);
    let arm =
        centre(&[(lb(1280.0), inches(70.0)), (lb(222.5), inches(-30.0))]).unwrap().1;
    nose_wheel(-30.0, 70.0, 222.5, net.in_lb(), arm.in_inches() - 70.0);
}

/// A published examination question on weighing: nose 285 kg, mains 1465 and 1395 kg, base
/// 92 in; centre 83.7 in aft of the nose wheel.
#[test]
fn a_published_examination_question() {
    let rows = [(kg(285.0), Length::ZERO), (kg(2860.0), inches(92.0))];
    let arm = centre(&rows).unwrap().1;
    near(arm.in_inches(), 83.7, 0.05);
    // The mains differ because the centre lies to one side: (1465 − 1395)·s / 3145.
    let points = [
        point("NOSE", Length::ZERO, Length::ZERO),
        point("PORT", inches(92.0), m(-1.5)),
        point("STARBOARD", inches(92.0), m(1.5)),
    ];
    let side = m((1465.0 - 1395.0) * -1.5 / 3145.0);
    let shared = reactions(&points, kg(3145.0), arm, side);
    for (load, read) in shared.loads.iter().zip([285.0, 1465.0, 1395.0]) {
        near(load.in_kg(), read, 1e-6);
    }
}

/// The handbooks' four formulas for the centre of gravity from a weighing (FAA-H-8083-1,
/// chapter 3; formulas and the two worked answers from memory) against the sum of moments.
#[test]
fn the_handbook_formulas_are_the_sum_of_moments() {
    let (_, tail) = summed(&[(1218.0 - 67.0, 7.5), (67.0, 7.5 + 222.0)]);
    near(tail, 7.5 + 67.0 * 222.0 / 1218.0, 1e-9);
    near(tail, 19.7, 0.05);
    let (_, nose) = summed(&[(2006.0 - 340.0, 128.0), (340.0, 128.0 - 78.0)]);
    near(nose, 128.0 - 340.0 * 78.0 / 2006.0, 1e-9);
    near(nose, 114.8, 0.05);
}

/// Two trestles at 1 m and 5 m, 800 kg at 2 m: moments about the first, 800·1 = R·4.
#[test]
fn a_beam_on_two_trestles() {
    let points = [point("FORE", m(1.0), m(0.0)), point("AFT", m(5.0), m(0.0))];
    let shared = reactions(&points, kg(800.0), m(2.0), Length::ZERO);
    near(shared.loads[0].in_kg(), 600.0, 1e-9);
    near(shared.loads[1].in_kg(), 200.0, 1e-9);
    let margin = shared.margin.unwrap();
    near(margin.distance.in_m(), 1.0, 1e-12);
    assert_eq!((margin.towards, margin.over), (Side::Forward, vec![0]));
    // A beam is kept upright by something else: a side does not count.
    assert!(
        reactions(&points, kg(800.0), m(2.0), m(3.0)).margin.unwrap().distance > m(0.9)
    );
    // 0.5 m beyond the aft trestle: it tips over it, and that trestle takes all.
    let over = reactions(&points, kg(800.0), m(5.5), Length::ZERO);
    let tipping = over.margin.unwrap();
    near(tipping.distance.in_m(), -0.5, 1e-12);
    assert_eq!((tipping.towards, tipping.over), (Side::Aft, vec![1]));
    near(over.loads[1].in_kg(), 800.0, 1e-9);
}

/// Three trestles in line are not determined by statics. On equal springs at 0, 1 and 2 m,
/// 300 kg at 0.5 m sinks by a + b·x with 3a + 3b = 300 and 3a + 5b = 150: loads 175, 100 and
/// 25. At 0.1 m the last would lift (loads 235, 100, −35), so the first two bear 270 and 30.
#[test]
fn three_trestles_in_line_and_one_that_lifts() {
    let points: Vec<_> = [0.0, 1.0, 2.0].map(|arm| point("T", m(arm), m(0.0))).into();
    for (arm, loads) in [(0.5, [175.0, 100.0, 25.0]), (0.1, [270.0, 30.0, 0.0])] {
        let shared = reactions(&points, kg(300.0), m(arm), Length::ZERO);
        for (load, worked) in shared.loads.iter().zip(loads) {
            near(load.in_kg(), worked, 1e-6);
        }
    }
}

/// A tail wheel at 8 m and mains at 2 m, 3 m apart; the centre at 2.6 m. The nearest edges
/// are the lines from a main wheel to the tail: they pass (2, ±1.5) and (8, 0).
#[test]
fn the_margin_is_to_the_nearest_edge() {
    let points = [
        point("PORT", m(2.0), m(-1.5)),
        point("STARBOARD", m(2.0), m(1.5)),
        point("TAIL", m(8.0), m(0.0)),
    ];
    let at = |arm, side| margin(&points, m(arm), m(side)).unwrap();
    near(at(2.6, 0.0).distance.in_m(), 0.6, 1e-12);
    assert_eq!((at(2.6, 0.0).towards, at(2.6, 0.0).over), (Side::Forward, vec![1, 0]));
    // Distance of (6, 0) from the line: (8 − 6)·1.5 / √(6² + 1.5²).
    near(at(6.0, 0.0).distance.in_m(), 3.0 / 38.25_f64.sqrt(), 1e-12);
    // Outside and beyond a corner, the corner is the nearest.
    near(at(9.0, 0.0).distance.in_m(), -1.0, 1e-12);
    assert_eq!(at(2.6, -2.5).towards, Side::Port);
    near(at(1.0, 0.0).distance.in_m(), -1.0, 1e-12);
}

#[test]
fn points_that_hold_nothing_have_no_margin() {
    assert_eq!(margin(&[], Length::ZERO, Length::ZERO), None);
    let one = [point("ONE", m(1.0), m(0.0))];
    near(margin(&one, m(3.0), m(0.0)).unwrap().distance.in_m(), -2.0, 1e-12);
    let across = [point("PORT", m(1.0), m(-1.0)), point("STARBOARD", m(1.0), m(1.0))];
    assert!(margin(&across, m(1.2), m(0.0)).unwrap().distance < Length::ZERO);
    assert!(reactions(&[], kg(10.0), Length::ZERO, Length::ZERO).loads.is_empty());
}

fn item(name: &str, carrier: Option<&str>, mass: Option<f64>, arm: Option<f64>) -> Item {
    Item {
        part_of: carrier.map(|carrier| Id::new(carrier).unwrap()),
        mass: mass.map(|mass| Typed::from_value(kg(mass))),
        arm: arm.map(|arm| Typed::from_value(m(arm))),
        ..Item::new(Id::new(name).unwrap(), name)
    }
}

/// 3000 kg at 2.5 m on mains at 2 m and a tail wheel at 8 m; two engines' weight of 900 kg at
/// 1 m on a frame of 100 kg, a tail of 300 kg at 7.5 m, and a trestle that can be set at 0 m.
fn amphibian(weighed: bool) -> Airframe {
    let mut items = vec![
        item("HULL", None, Some(1700.0), Some((7500.0 - 1000.0 - 2250.0) / 1700.0)),
        item("FRAME", Some("HULL"), Some(100.0), Some(1.0)),
        item("ENGINES", Some("FRAME"), Some(900.0), Some(1.0)),
        item("TAIL", Some("HULL"), Some(300.0), Some(7.5)),
        item("TRAY", Some("TAIL"), None, Some(7.5)),
    ];
    if weighed {
        items.remove(0);
        items[0].part_of = None;
        items[2].part_of = None;
    }
    let mut nose = point("NOSE", m(0.0), m(0.0));
    nose.when_needed = true;
    let mut tail = point("TAIL", m(8.0), m(0.0));
    tail.capacity = Some(Typed::from_value(kg(900.0)));
    let points = vec![
        point("PORT", m(2.0), m(-1.5)),
        point("STARBOARD", m(2.0), m(1.5)),
        tail,
        nose,
    ];
    let id = Id::new("WHEELS").unwrap();
    let complete =
        Weighed { mass: Typed::from_value(kg(3000.0)), arm: Typed::from_value(m(2.5)) };
    let parts = Parts {
        items,
        arrangements: vec![Arrangement { id, name: "on its wheels".into(), points }],
        weighed: weighed.then_some(complete),
        ..Parts::default()
    };
    Airframe::new(parts, &Kinds::default()).unwrap()
}

fn names(names: &[&str]) -> Vec<ItemId> {
    names.iter().map(|name| Id::new(name).unwrap()).collect()
}

fn run(
    airframe: &Airframe,
    off: &[&str],
    on: &[&str],
    options: &StageOptions,
) -> Vec<Stage> {
    let arrangement = &airframe.parts().arrangements[0];
    stages(airframe, &BTreeSet::new(), &names(off), &names(on), arrangement, options)
}

/// Worked by hand: complete 3000 kg at 2.5 m. The tail off: (7500 − 2250)/2700 = 1.944 m,
/// 0.056 m ahead of the mains: it tips forward. Then the frame off, with the engines on it:
/// (5250 − 1000)/1700 = 2.5 m again.
#[test]
fn stages_of_an_amphibian() {
    for weighed in [true, false] {
        let airframe = amphibian(weighed);
        let options = StageOptions::default();
        let run = run(&airframe, &["TAIL", "FRAME"], &["FRAME", "TAIL"], &options);
        let arms: Vec<f64> = run.iter().map(|stage| stage.arm.unwrap().in_m()).collect();
        for (arm, worked) in arms.iter().zip([2.5, 1.944_444, 2.5, 1.944_444, 2.5]) {
            near(*arm, worked, 1e-6);
        }
        let masses: Vec<f64> = run.iter().map(|stage| stage.mass.in_kg()).collect();
        for (mass, worked) in masses.iter().zip([3000.0, 2700.0, 1700.0, 2700.0, 3000.0])
        {
            near(*mass, worked, 1e-9);
        }
        let tips: Vec<bool> = run.iter().map(|stage| stage.tips).collect();
        assert_eq!(tips, [false, true, false, true, false]);
        let tipping = &run[1];
        assert_eq!(tipping.after, Event::Off(Id::new("TAIL").unwrap()));
        let margin = tipping.margin.as_ref().unwrap();
        near(margin.distance.in_m(), -0.055_556, 1e-6);
        assert_eq!(margin.towards, Side::Forward);
        assert_eq!(
            (tipping.needs.as_slice(), tipping.unsafe_anyhow),
            (&["NOSE".to_owned()][..], false)
        );
        let bears = tipping.loads[3].unwrap();
        assert!(bears > Mass::ZERO, "the trestle bears {bears}");
        assert_eq!(run[0].loads[3], None, "the trestle is not set");
        // The tray has no mass. Where the whole was weighed that matters once it is gone;
        // where the masses are summed, as long as it is there.
        let unknown: Vec<usize> = run.iter().map(|stage| stage.unknown.len()).collect();
        let worked = if weighed { [0, 1, 1, 1, 0] } else { [1, 0, 0, 0, 1] };
        assert_eq!(unknown, worked);
    }
}

/// Ballast by hand: without the tail 2700 kg at 1.9444 m and a margin of 2 % of 6 m = 0.12 m
/// asked for. Ballast w at the tail wheel (8 m): (5250 + 8w)/(2700 + w) = 2.12, so w =
/// (2.12·2700 − 5250)/(8 − 2.12) = 80.6 kg. At 6 m it would be 122.2 kg.
#[test]
fn the_least_ballast() {
    let airframe = amphibian(true);
    let stage =
        |options: &StageOptions| run(&airframe, &["TAIL"], &[], options)[1].clone();
    let ballast = stage(&StageOptions::default()).ballast.unwrap();
    near(ballast.mass.in_kg(), (2.12 * 2700.0 - 5250.0) / 5.88, 1e-6);
    near(ballast.arm.in_m(), 8.0, 1e-12);
    let given = StageOptions { ballast_at: vec![m(6.0)], ..StageOptions::default() };
    near(stage(&given).ballast.unwrap().mass.in_kg(), 474.0 / 3.88, 1e-6);
    let useless = StageOptions { ballast_at: vec![m(1.0)], ..StageOptions::default() };
    assert_eq!(stage(&useless).ballast, None);
    let content = StageOptions { minimum: 0.0, ..StageOptions::default() };
    assert_eq!(run(&airframe, &[], &[], &content)[0].ballast, None);
}

/// 1700 kg of hull alone at 2.5 m: the tail wheel bears 1700·0.5/6 = 141.7 kg of its 900.
/// Ahead of time with a capacity of 100 kg it is overloaded.
#[test]
fn an_overloaded_point_is_named() {
    let mut airframe = amphibian(true).parts().clone();
    airframe.arrangements[0].points[2].capacity = Some(Typed::from_value(kg(100.0)));
    let airframe = Airframe::new(airframe, &Kinds::default()).unwrap();
    let stage =
        run(&airframe, &["TAIL", "FRAME"], &[], &StageOptions::default())[2].clone();
    let [over] = stage.overloaded.as_slice() else { panic!("{:?}", stage.overloaded) };
    assert_eq!((over.point.as_str(), over.capacity), ("TAIL", kg(100.0)));
    near(over.load.in_kg(), 1700.0 * 0.5 / 6.0, 1e-6);
}

/// Stripping a unit that is off changes nothing on the supports.
#[test]
fn what_is_stripped_on_the_bench_leaves_the_load_alone() {
    let airframe = amphibian(true);
    let run = run(
        &airframe,
        &["FRAME", "ENGINES"],
        &["FRAME", "ENGINES"],
        &StageOptions::default(),
    );
    let masses: Vec<f64> = run.iter().map(|stage| stage.mass.in_kg()).collect();
    for (mass, worked) in masses.iter().zip([3000.0, 2000.0, 2000.0, 2100.0, 3000.0]) {
        near(*mass, worked, 1e-9);
    }
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 2000, ..ProptestConfig::default() })]

    /// Whatever the points, the loads balance mass and moments while the aircraft stands, none
    /// pulls, and those that bear lie on one plane over which the others would lift.
    #[test]
    fn the_loads_balance(
        spots in prop::collection::vec((0_i32..12, -4_i32..5), 2..8),
        arm in 0.0_f64..12.0,
        side in -4.0_f64..4.0,
    ) {
        let points: Vec<_> = spots
            .iter()
            .map(|(arm, side)| point("P", m(f64::from(*arm)), m(f64::from(*side))))
            .collect();
        let shared = reactions(&points, kg(1000.0), m(arm), m(side));
        let Some(margin) = shared.margin else { return Ok(()) };
        let loads: Vec<f64> = shared.loads.iter().map(|load| load.in_kg()).collect();
        prop_assert!(loads.iter().all(|load| *load >= 0.0));
        prop_assert!((loads.iter().sum::<f64>() - 1000.0).abs() < 1e-3);
        if margin.distance >= Length::ZERO {
            let moment = |of: fn(&(i32, i32)) -> i32| -> f64 {
                spots.iter().zip(&loads).map(|(spot, load)| f64::from(of(spot)) * load).sum()
            };
            prop_assert!((moment(|spot| spot.0) - 1000.0 * arm).abs() < 1e-2);
            let beam = spots.iter().all(|spot| spot.1 == spots[0].1);
            prop_assert!(beam || (moment(|spot| spot.1) - 1000.0 * side).abs() < 1e-2);
        }
    }
}
