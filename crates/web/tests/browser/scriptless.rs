//! Without scripts: everything can be read, and each kind of form sent.

use serde_json::Value;

use crate::driver::there_is_a_browser;
use crate::lead;
use crate::tab::{Device, ENTER, Tab};
use crate::workshop::{Served, secret, served};

fn without(served: &Served, person: &str, device: Device) -> Tab {
    let tab = Tab::open(served, device);
    tab.scripts(false);
    tab.go("/sign-in");
    tab.sign_in(person);
    // A key that only a script listens to, to be sure that none runs.
    tab.keys("/");
    let searches = "return document.activeElement.id === 'find'";
    assert_eq!(tab.run(searches, &[]), Value::Bool(false), "scripts run");
    tab
}

#[test]
fn lists_are_read_narrowed_ordered_and_searched() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = without(&served, "HB", Device::Phone);
    tab.go("/show/findings");
    tab.fill("has", "F-001");
    tab.press("Show");
    tab.until("location.search.includes('has=F-001')");
    tab.see("main a[href='/show/findings/F-001']");
    assert!(!tab.has("main a[href='/show/findings/F-002']"));
    let find = tab.see("#find");
    tab.type_into(&find, "propeller");
    tab.keys(ENTER);
    tab.until("location.pathname === '/search'");
    tab.see("main a[href*='PROP']");
    tab.shot("no-script-search");
}

#[test]
fn acts_are_signed_with_more_rows_and_what_is_wrong_told() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = without(&served, "TR", Device::Desk);
    let number = served.desk.snapshot().number;
    tab.go("/act/issue-card");
    tab.fill("job", "ON:PROP-P");
    tab.fill("title", "Fit the port propeller");
    tab.fill("steps.1.id", "10");
    tab.fill("steps.1.text", "Torque the nut");
    tab.press("More rows");
    tab.see("[name='steps.6.id']");
    assert_eq!(tab.typed("steps.1.text"), "Torque the nut");
    tab.fill("_secret", &secret("TR"));
    tab.touch(&tab.see("form.act .sign button"));
    tab.see("[data-wrong]");
    assert_eq!(tab.typed("title"), "Fit the port propeller");
    assert_eq!(served.desk.snapshot().number, number);
    tab.choose("steps.1.work", "reassemble");
    tab.fill("steps.1.data", "Manual 61");
    tab.fill("steps.1.revision", "2");
    tab.choose("steps.1.independent", "yes");
    tab.fill("_secret", &secret("TR"));
    tab.touch(&tab.see("form.act .sign button"));
    tab.read("Entered as entry");
    assert_eq!(served.desk.snapshot().number, number + 1);
}

#[test]
fn a_season_is_planned_and_one_signs_out() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = without(&served, "TR", Device::Desk);
    lead::plan(&tab);
    tab.shot("no-script-plan");
    tab.fill("reason", "agreed on Monday");
    tab.fill("_secret", &secret("TR"));
    tab.touch(&tab.see("form[action$='/adopt'] .sign button"));
    tab.read("is adopted");
    tab.press("Sign out");
    tab.see("input[name='secret']");
}
