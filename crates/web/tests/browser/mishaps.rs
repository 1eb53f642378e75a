//! What goes wrong between a person and a browser: nothing counts twice, nothing is lost.

use crate::driver::there_is_a_browser;
use crate::tab::{Device, Tab};
use crate::workshop::{secret, served};

fn raise(tab: &Tab, finding: &str) {
    tab.go("/act/raise?item=PROP-P");
    tab.fill("finding", finding);
    tab.fill("what", "a dent at the leading edge");
    tab.fill("found", "2032-01-02");
}

#[test]
fn a_double_click_back_and_a_refresh_enter_nothing_twice() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "HB", Device::Desk);
    raise(&tab, "X-1");
    tab.fill("_secret", &secret("HB"));
    let number = served.desk.snapshot().number;
    tab.twice(&tab.see("form.act .sign button"));
    tab.read("Entered as entry");
    assert_eq!(tab.path(), "/show/findings/X-1");
    assert_eq!(served.desk.snapshot().number, number + 1);
    tab.refresh();
    tab.see("h1");
    assert!(!tab.text().contains("Entered as entry"), "it is told once");
    tab.back();
    tab.until("location.pathname === '/act/raise' && document.readyState === 'complete'");
    tab.fill("finding", "X-1");
    tab.fill("what", "a dent at the leading edge");
    tab.fill("found", "2032-01-02");
    tab.fill("_secret", &secret("HB"));
    tab.touch(&tab.see("form.act .sign button"));
    tab.shot("again");
    tab.until("document.querySelector('[data-wrong], .kept') !== null");
    assert_eq!(served.desk.snapshot().number, number + 1, "{}", tab.text());
}

#[test]
fn what_is_typed_outlives_a_refresh() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "HB", Device::Desk);
    raise(&tab, "X-1");
    tab.fill("_secret", &secret("HB"));
    let kept =
        "Object.values(localStorage).some((kept) => kept.includes('leading edge'))";
    tab.until(kept);
    tab.refresh();
    tab.until("document.readyState === 'complete'");
    assert_eq!(tab.typed("what"), "a dent at the leading edge");
    assert_eq!(tab.typed("_secret"), "", "a secret is typed for one signature");
    assert_eq!(tab.typed("_request").len(), 64);
}

/// Signs how a finding is worked on, in the form that is shown.
fn assign(tab: &Tab, person: &str, reason: &str) {
    tab.fill("pack", "HULL-KEEL");
    tab.fill("route", "CORR-IN");
    tab.fill("reason", reason);
    tab.fill("_secret", &secret(person));
    tab.touch(&tab.see("form.act .sign button"));
}

#[test]
fn the_second_of_two_people_is_shown_both() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let grant = [
        ("authority", "B-MS"),
        ("person", "MS"),
        ("power", "plan"),
        ("reference", "invented approval"),
        ("from", "2020-01-01"),
    ];
    served.enter("OP", "grant", &grant);
    let (one, two) =
        (Tab::of(&served, "TR", Device::Desk), Tab::of(&served, "MS", Device::Phone));
    one.go("/act/assign?finding=F-001");
    two.go("/act/assign?finding=F-001");
    assign(&two, "MS", "decided by the other");
    two.read("Entered as entry");
    let number = served.desk.snapshot().number;
    assign(&one, "TR", "the keel is open anyway");
    one.see("[data-wrong]");
    one.read("decided by the other");
    assert_eq!(one.typed("reason"), "the keel is open anyway");
    assert_eq!(served.desk.snapshot().number, number);
    one.sound(Device::Desk);
    one.shot("both-shown");
}

/// One person in two tabs: each form counts once, whichever is sent first.
#[test]
fn two_tabs_of_one_person_do_not_meet() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "HB", Device::Desk);
    let number = served.desk.snapshot().number;
    raise(&tab, "X-3");
    let [first, _] = tab.another();
    raise(&tab, "X-3");
    tab.fill("_secret", &secret("HB"));
    tab.touch(&tab.see("form.act .sign button"));
    tab.read("Entered as entry");
    tab.switch(&first);
    tab.fill("_secret", &secret("HB"));
    tab.touch(&tab.see("form.act .sign button"));
    // Told that it was entered before, or that there is such a finding already.
    tab.until("document.querySelector('[data-wrong], .kept') !== null");
    assert_eq!(served.desk.snapshot().number, number + 1);
}

#[test]
fn a_session_that_ends_within_a_form_loses_nothing() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "HB", Device::Phone);
    raise(&tab, "X-2");
    tab.fill("_secret", &secret("HB"));
    let [first, _] = tab.another();
    tab.go("/");
    tab.touch(&tab.see(".more summary"));
    tab.touch(&tab.see(".more form[action='/sign-out'] button"));
    tab.see("input[name='secret']");
    tab.switch(&first);
    let number = served.desk.snapshot().number;
    tab.touch(&tab.see("form.act .sign button"));
    tab.see("input[name='secret']");
    tab.sound(Device::Phone);
    tab.fill("name", "HB");
    tab.fill("secret", &secret("HB"));
    tab.press("Sign in");
    tab.see("input[name='_secret']");
    assert_eq!(tab.typed("what"), "a dent at the leading edge");
    assert_eq!(served.desk.snapshot().number, number);
    tab.fill("_secret", &secret("HB"));
    tab.touch(&tab.see("form.act .sign button"));
    tab.read("Entered as entry");
    assert_eq!(served.desk.snapshot().number, number + 1);
}

/// What others enter is told on a page that is looked at, without a look at it anew.
#[test]
fn what_others_enter_is_told_while_one_looks() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "TR", Device::Desk);
    tab.go("/act");
    assert!(!tab.has(".changed:not([hidden])"));
    let finding = [
        ("finding", "X-9"),
        ("item", "PROP-P"),
        ("what", "a scratch"),
        ("found", "2032-01-02"),
    ];
    served.enter("HB", "raise", &finding);
    tab.see(".changed:not([hidden])");
    tab.sound(Device::Desk);
}
