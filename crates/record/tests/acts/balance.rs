//! Mass and balance as far as they are known. `CG = Σ w·a / Σ w`, as FAA-H-8083-1 has it; the
//! figures are worked out by hand.

use airframe::{Item, Weighed};
use quantity::Typed;
use record::Programme;
use record::balance::Acting;

use crate::scene::{Scene, id, tag};

fn item(name: &str, mass: Option<&str>, arm: Option<&str>, on: Option<&str>) -> Item {
    Item {
        mass: mass.map(|text| Typed::parse(text).unwrap()),
        arm: arm.map(|text| Typed::parse(text).unwrap()),
        mounted_on: on.map(id),
        ..Item::new(id(name), name)
    }
}

fn weighed(scene: &mut Scene, items: Vec<Item>) {
    scene.programme.items = items.into_iter().collect();
    let mut info = scene.programme.info.as_ref().unwrap().as_ref().clone();
    let (mass, arm) = (Typed::parse("1000 kg").unwrap(), Typed::parse("2 m").unwrap());
    info.weighed = Some(Weighed { mass, arm });
    scene.programme.info = Some(info.into());
}

fn is(acting: Option<Acting>, mass: f64, arm: f64) {
    let (m, a) = acting.expect("it is known");
    assert!((m.in_kg() - mass).abs() < 1e-6, "{} kg", m.in_kg());
    assert!((a.in_m() - arm).abs() < 1e-6, "{} m", a.in_m());
}

fn known(programme: &Programme) -> (usize, usize) {
    let balance = programme.balance();
    (balance.unknown.len(), balance.unknown_off.len())
}

#[test]
fn what_is_off_takes_its_mass_and_what_it_carries_along() {
    let mut scene = Scene::new();
    let items = vec![
        item("HULL", Some("600 kg"), Some("3 m"), None),
        item("PUMP", Some("80 kg"), Some("1 m"), None),
        item("PUMP-2", Some("20 kg"), Some("1 m"), Some("PUMP")),
        item("GROUP", None, None, None),
        item("PART", Some("100 kg"), Some("2 m"), Some("GROUP")),
    ];
    weighed(&mut scene, items);
    let before = scene.programme.balance();
    // 600·3 + 80·1 + 20·1 + 100·2 = 2100, over 800.
    is(before.listed, 800.0, 2.625);
    is(before.aboard, 800.0, 2.625);
    is(before.now, 1000.0, 2.0);
    assert_eq!((before.off, known(&scene.programme)), (None, (0, 0)));
    scene.does("ben", tag("PUMP"));
    let after = scene.programme.balance();
    is(after.off, 100.0, 1.0);
    // 1800 + 200 = 2000, over 700.
    is(after.aboard, 700.0, 2000.0 / 700.0);
    // 2000 - 100 = 1900, over 900.
    is(after.now, 900.0, 1900.0 / 900.0);
}

#[test]
fn what_is_not_known_is_named_and_not_taken_for_nothing() {
    let mut scene = Scene::new();
    let items = vec![
        item("HULL", Some("600 kg"), Some("3 m"), None),
        item("PUMP", None, Some("1 m"), None),
        item("PUMP-2", Some("20 kg"), None, None),
    ];
    weighed(&mut scene, items);
    assert_eq!(known(&scene.programme), (2, 0));
    is(scene.programme.balance().now, 1000.0, 2.0);
    scene.does("ben", tag("PUMP"));
    let balance = scene.programme.balance();
    assert_eq!((known(&scene.programme), balance.now), ((2, 1), None));
    is(balance.weighed, 1000.0, 2.0);
}
