//! The bench: a volunteer with a phone, who supervises, who inspects, and who only looks.

use crate::driver::there_is_a_browser;
use crate::tab::{Device, Tab};
use crate::workshop::{Served, secret, served};

const CARD: &str = "/show/cards/ON%3APROP-P";

/// A workshop with a card of which nothing is done.
pub(crate) fn at_work() -> Served {
    let served = served();
    served.card();
    served
}

/// Opens the form of an act about a step of the card, from the card.
fn open(tab: &Tab, act: &str, step: &str) {
    tab.go(CARD);
    let link = format!("main a[href^='/act/{act}?'][href*='step={step}']");
    tab.touch(&tab.see(&link));
    tab.see("input[name='_secret']");
}

fn sign(tab: &Tab, person: &str) {
    tab.fill("_secret", &secret(person));
    tab.touch(&tab.see("form.act .sign button"));
}

#[test]
fn a_step_is_done_on_a_phone_countersigned_and_inspected() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    let phone = Tab::of(&served, "HB", Device::Phone);
    phone.press("Cards");
    phone.touch(&phone.see(&format!("main a[href='{CARD}']")));
    phone.see("h1");
    phone.sound(Device::Phone);
    phone.shot("volunteer-card");
    phone.press("Start");
    phone.see("input[name='_secret']");
    sign(&phone, "HB");
    phone.read("Entered as entry");
    served.enter("TR", "start", &[("job", "ON:PROP-P")]);
    open(&phone, "sign-step", "10");
    phone.sound(Device::Phone);
    phone.shot("volunteer-step");
    let number = served.desk.snapshot().number;
    phone.fill("supervisor", "TR");
    sign(&phone, "HB");
    phone.read("Entered as entry");
    assert_eq!(served.desk.snapshot().number, number + 1);
    phone.shot("volunteer-signed");

    let lead = Tab::of(&served, "TR", Device::Desk);
    open(&lead, "countersign", "10");
    sign(&lead, "TR");
    lead.read("Entered as entry");

    let inspector = Tab::of(&served, "BK", Device::Desk);
    open(&inspector, "inspect", "10");
    inspector.sound(Device::Desk);
    inspector.fill("checked", "torque and direction; the nut is home");
    inspector.choose("verdict", "pass");
    sign(&inspector, "BK");
    inspector.read("Entered as entry");
    assert_eq!(served.desk.snapshot().number, number + 3);
    inspector.shot("inspector-signed");
    let proof = app::verify(&served.place, &app::Witnesses::default()).unwrap();
    assert!(proof.faults.is_empty(), "{:?}", proof.faults);
}

#[test]
fn whoever_only_looks_is_told_that_they_may_not() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    let tab = Tab::of(&served, "HB", Device::Desk);
    let number = served.desk.snapshot().number;
    assert!(!tab.has("main form[action='/season']"));
    for path in ["/act/open-gate?gate=taxi", "/act/grant", "/act/classify"] {
        tab.go(path);
        assert!(!tab.has("input[name='_secret']"), "{path} offers a form");
        tab.see("h1");
        tab.sound(Device::Desk);
        assert!(tab.has("main a[href]"), "{path} leads nowhere");
    }
    tab.shot("viewer-refused");
    // What a rule forbids is told by the rule, and nothing that was typed is lost.
    tab.go("/act/sign-step?job=ON%3APROP-P&step=10");
    tab.fill("note", "on my own");
    sign(&tab, "HB");
    tab.see("[data-wrong]");
    assert_eq!((tab.typed("note"), tab.typed("step")), ("on my own".into(), "10".into()));
    tab.sound(Device::Desk);
    assert_eq!(served.desk.snapshot().number, number);
}
