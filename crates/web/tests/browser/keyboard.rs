//! Keys alone (WCAG 2.2: 2.1.1, 2.1.2, 2.4.1, 2.4.3, 2.4.7, 2.4.11).

use std::collections::BTreeSet;

use serde_json::Value;

use crate::driver::there_is_a_browser;
use crate::tab::{Device, ENTER, TAB, Tab};
use crate::workshop::{secret, served};

/// What has the focus: which of all elements it is, its words, how it shows the focus, and
/// whether it is on the screen and nothing lies over it.
const FOCUS: &str = "
    const at = document.activeElement;
    if (!at || at === document.body) return null;
    const style = getComputedStyle(at), box = at.getBoundingClientRect();
    const x = (box.left + box.right) / 2, y = (box.top + box.bottom) / 2;
    const over = document.elementFromPoint(x, y);
    return {
        index: [...document.querySelectorAll('*')].indexOf(at),
        told: at.outerHTML.slice(0, 160),
        ringed: style.outlineStyle !== 'none' && parseFloat(style.outlineWidth) >= 2,
        seen: box.width > 1 && y >= 0 && y <= innerHeight && x >= 0 && x <= innerWidth,
        free: Boolean(over) && (at === over || at.contains(over) || over.contains(at)),
    };";

/// Goes through a page by the Tab key, and says what is wrong on the way.
fn walk(tab: &Tab, path: &str) -> Vec<String> {
    tab.go(path);
    tab.run("document.activeElement.blur(); scrollTo(0, 0)", &[]);
    let (mut faults, mut been, mut last) = (Vec::new(), BTreeSet::new(), -1);
    for _ in 0..60 {
        tab.keys(TAB);
        let at = tab.run(FOCUS, &[]);
        let Some(index) = at["index"].as_i64() else { break };
        if !been.insert(index) {
            break;
        }
        let told = at["told"].as_str().unwrap_or_default();
        for (what, holds) in [
            ("shows no focus", at["ringed"] == Value::Bool(true)),
            ("is not on the screen", at["seen"] == Value::Bool(true)),
            ("is covered", at["free"] == Value::Bool(true)),
            ("comes before what stands before it", index > last),
        ] {
            if !holds {
                faults.push(format!("{path}: {what}: {told}"));
            }
        }
        last = index;
    }
    assert!(been.len() > 3, "{path}: the Tab key leads nowhere");
    faults
}

#[test]
fn the_tab_key_goes_through_a_page_in_order_and_is_seen() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    served.card();
    let tab = Tab::of(&served, "TR", Device::Desk);
    let mut faults = Vec::new();
    for path in [
        "/",
        "/show/cards/ON%3APROP-P",
        "/show/findings",
        "/act/raise?item=PROP-P",
        "/season",
        "/lists",
    ] {
        faults.extend(walk(&tab, path));
    }
    assert_eq!(faults, [""; 0]);
}

#[test]
fn the_first_key_skips_to_the_content() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "TR", Device::Desk);
    tab.go("/show/findings");
    tab.until("document.hasFocus() && document.readyState === 'complete'");
    tab.keys(TAB);
    let at = tab.run(FOCUS, &[]);
    assert!(at["told"].as_str().unwrap().contains("Skip to the content"), "{at}");
    assert_eq!(at["seen"], Value::Bool(true), "{at}");
    tab.shot("skip");
    tab.keys(ENTER);
    tab.keys(TAB);
    let inside = "return document.activeElement.closest('main') !== null";
    assert_eq!(tab.run(inside, &[]), Value::Bool(true));
}

/// From signing in to what was entered, without anything but keys.
#[test]
fn an_act_is_signed_by_keys_alone() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::open(&served, Device::Desk);
    tab.go("/sign-in?then=/act/raise?item=PROP-P");
    tab.keys(&format!("HB{TAB}{}{ENTER}", secret("HB")));
    tab.see("input[name='_secret']");
    assert_eq!(tab.typed("item"), "PROP-P");
    let number = served.desk.snapshot().number;
    for (name, text) in
        [("finding", "X-7"), ("what", "a dent"), ("_secret", secret("HB").as_str())]
    {
        reach(&tab, name);
        tab.keys(text);
    }
    tab.keys(ENTER);
    // A day is missing: what is wrong is said where the focus is.
    tab.see("main");
    if served.desk.snapshot().number == number {
        reach(&tab, "found");
        // The same day whichever of the two comes first in the browser's language.
        tab.keys("01012032");
        reach(&tab, "_secret");
        tab.keys(&secret("HB"));
        tab.keys(ENTER);
    }
    tab.read("Entered as entry");
    assert_eq!(served.desk.snapshot().number, number + 1);
}

/// Presses the Tab key until a field has the focus.
fn reach(tab: &Tab, name: &str) {
    let there = format!("return document.activeElement.name === '{name}'");
    for _ in 0..80 {
        if tab.run(&there, &[]) == Value::Bool(true) {
            return;
        }
        tab.keys(TAB);
    }
    panic!("the Tab key does not reach {name}");
}
