//! The lead: looks where we are, plans a season, tries a delay, adopts.

use crate::driver::there_is_a_browser;
use crate::tab::{Device, Tab};
use crate::workshop::{secret, served};

/// Begins a search on the page of the season, and goes to what it came to.
pub(crate) fn plan(tab: &Tab) {
    tab.go("/season");
    tab.choose("seconds", "5");
    tab.press("Plan it");
    // The page looks again by itself, with or without a script; with one it goes there.
    tab.until(
        "location.pathname === '/season/1' || document.querySelector(\"main a[href='/season/1']\")",
    );
    tab.go("/season/1");
    tab.see("form[action$='/adopt']");
}

#[test]
fn the_lead_plans_tries_and_adopts() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "TR", Device::Desk);
    assert_eq!(tab.path(), "/");
    tab.sound(Device::Desk);
    tab.shot("lead-home");
    tab.press("Season");
    plan(&tab);
    tab.sound(Device::Desk);
    tab.shot("lead-plan");
    let first = tab.path();
    tab.fill_in("#try-job", "OFF:PROP-P");
    tab.fill_in("#try-from", "2032-02-20");
    tab.press("Try it");
    tab.until(&format!(
        "location.pathname.startsWith('/season/') && location.pathname !== '{first}'"
    ));
    tab.shot("lead-tried");
    tab.sound(Device::Desk);
    // Back to the first, which is as it was.
    tab.go(&first);
    let number = served.desk.snapshot().number;
    tab.fill("reason", "agreed on Monday");
    tab.fill("_secret", "not these words");
    tab.touch(&tab.see("form[action$='/adopt'] .sign button"));
    tab.read("not the secret of TR");
    assert_eq!(tab.typed("reason"), "agreed on Monday");
    assert_eq!(served.desk.snapshot().number, number);
    tab.sound(Device::Desk);
    tab.fill("_secret", &secret("TR"));
    tab.touch(&tab.see("form[action$='/adopt'] .sign button"));
    tab.read("is adopted");
    assert_eq!(served.desk.snapshot().number, number + 1);
    tab.shot("lead-adopted");
    tab.sound(Device::Desk);
    // What people come in to.
    for (path, name) in [("/today", "today"), ("/today?wall=1", "today-wall")] {
        tab.go(path);
        tab.see("h1");
        tab.sound(Device::Desk);
        tab.shot(name);
    }
}
