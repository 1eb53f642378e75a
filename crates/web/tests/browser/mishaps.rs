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
    tab.refresh();
    tab.until("document.readyState === 'complete'");
    assert_eq!(tab.typed("what"), "a dent at the leading edge");
    assert_eq!(tab.typed("_secret"), "", "a secret is typed for one signature");
    assert_eq!(tab.typed("_request").len(), 64);
}

#[test]
fn of_two_tabs_the_second_is_shown_both() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "TR", Device::Desk);
    let path = "/act/assign?finding=F-001";
    let fill = |reason: &str| {
        tab.fill("pack", "HULL-KEEL");
        tab.fill("route", "CORR-IN");
        tab.fill("reason", reason);
        tab.fill("_secret", &secret("TR"));
    };
    tab.go(path);
    fill("the keel is open anyway");
    let [first, _] = tab.another();
    tab.go(path);
    fill("decided in the other tab");
    tab.touch(&tab.see("form.act .sign button"));
    tab.read("Entered as entry");
    let number = served.desk.snapshot().number;
    tab.switch(&first);
    tab.touch(&tab.see("form.act .sign button"));
    tab.see("[data-wrong]");
    tab.read("decided in the other tab");
    assert_eq!(tab.typed("reason"), "the keel is open anyway");
    assert_eq!(served.desk.snapshot().number, number);
    tab.sound(Device::Desk);
    tab.shot("two-tabs");
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
    tab.press("Sign out");
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
