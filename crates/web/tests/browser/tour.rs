//! Who only looks, and what there is to see: the rest of the pictures of `docs/TOUR.md`.

use crate::bench::at_work;
use crate::driver::there_is_a_browser;
use crate::tab::{Device, Tab};
use crate::workshop::OBSERVER;

#[test]
fn an_observer_reads_everything_and_signs_nothing() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    let tab = Tab::of(&served, OBSERVER, Device::Desk);
    tab.see("h1");
    assert!(!tab.has("main a.act"), "{}", tab.text());
    tab.shot("observer-home");
    for (path, name) in [
        ("/aircraft", "aircraft"),
        ("/aircraft/reach?free=PROP-P&expose=KEEL-F", "reach"),
        ("/findings", "findings"),
        ("/gates/taxi", "gate"),
        ("/show/cards/ON%3APROP-P", "observer-card"),
        ("/search?q=propeller", "search"),
    ] {
        tab.go(path);
        tab.see("h1");
        tab.sound(Device::Desk);
        tab.shot(name);
    }
    tab.go("/survey?zone=NAC-P");
    assert!(!tab.has("main form[method=post]"), "an observer surveys nothing");
    tab.go("/aircraft");
    tab.shade(true);
    tab.shot("aircraft-dark");
    tab.sound(Device::Desk);
}
