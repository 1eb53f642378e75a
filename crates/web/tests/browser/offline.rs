//! A hangar has corners without a connection: what is typed there waits on the phone and is
//! signed once, what was looked at can be read, and nothing stays with whoever signed out.

use serde_json::json;

use crate::bench::at_work;
use crate::driver::there_is_a_browser;
use crate::tab::{Device, Tab};
use crate::workshop::secret;

const CARD: &str = "/card/ON%3APROP-P";
const STEP: &str = "/card/ON%3APROP-P/sign-step?step=10";
const NOTE: &str = "the nut went home by hand";

/// Takes the connection from a page, or gives it back.
fn connected(tab: &Tab, on: bool) {
    tab.cdp("Network.enable", &json!({}));
    let conditions = json!({"offline": !on, "latency": 0, "downloadThroughput": -1,
        "uploadThroughput": -1});
    tab.cdp("Network.emulateNetworkConditions", &conditions);
    tab.until(if on { "navigator.onLine" } else { "!navigator.onLine" });
}

/// Types a note into the form of the step, which is shown.
fn note(tab: &Tab, text: &str) {
    tab.run("document.querySelector('form.act details').open = true", &[]);
    tab.fill("note", text);
}

fn press_sign(tab: &Tab) {
    tab.touch(&tab.see("form.act .sign button"));
}

fn sign(tab: &Tab) {
    tab.fill("_secret", &secret("TR"));
    press_sign(tab);
}

/// All that scripts of the page have kept, as one text.
fn kept(tab: &Tab) -> String {
    tab.run("return JSON.stringify(localStorage)", &[]).as_str().unwrap().to_owned()
}

/// Waits until the worker answers for pages.
fn worker(tab: &Tab) {
    tab.until("navigator.serviceWorker.controller !== null");
}

/// The paths of the pages of which a copy is kept.
fn copies(tab: &Tab) -> Vec<String> {
    let script = "const done = arguments[arguments.length - 1];
        caches.has('pages').then((has) => has ? caches.open('pages') : null)
          .then((pages) => pages ? pages.keys() : [])
          .then((keys) => done(keys.map((key) => new URL(key.url).pathname)));";
    let found = tab.run_until(script, &[]);
    let found = found.as_array().unwrap().iter();
    found.map(|path| path.as_str().unwrap().to_owned()).collect()
}

#[test]
fn a_step_typed_without_a_connection_is_signed_once_there_is_one() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    served.enter("TR", "start", &[("job", "ON:PROP-P")]);
    let phone = Tab::of(&served, "TR", Device::Phone);
    phone.go(STEP);
    phone.see("input[name='_secret']");
    let number = served.desk.snapshot().number;
    connected(&phone, false);
    note(&phone, NOTE);
    sign(&phone);
    phone.read("this is kept on this device and not entered");
    phone.shot("offline-kept");
    phone.sound(Device::Phone);
    assert_eq!(served.desk.snapshot().number, number);
    let found = kept(&phone);
    assert!(found.contains(NOTE) && !found.contains(&secret("TR")), "{found}");

    connected(&phone, true);
    phone.go("/lists");
    phone.read("Typed on this device");
    phone.shot("online-waits");
    phone.touch(&phone.see(".device a[href*='sign-step']"));
    phone.see("input[name='_secret']");
    phone.read("is back. Your secret was not kept");
    assert_eq!(phone.typed("note"), NOTE);
    assert_eq!(phone.typed("_secret"), "");
    let request = phone.typed("_request");
    sign(&phone);
    phone.read("Entered as entry");
    assert_eq!(served.desk.snapshot().number, number + 1);
    // Nothing waits any more, and the same form sent again counts no second time.
    let left = kept(&phone);
    assert!(!left.contains(NOTE) && !left.contains(&request), "{left}");
    assert!(!phone.has(".device:not([hidden])"));
    phone.back();
    phone.until("document.querySelector('input[name=_secret]') !== null");
    phone.fill("_secret", &secret("TR"));
    press_sign(&phone);
    phone.until("document.querySelector('[data-wrong], .kept') !== null");
    assert_eq!(served.desk.snapshot().number, number + 1);
}

#[test]
fn what_was_looked_at_can_be_read_when_the_server_is_gone() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    served.enter("TR", "start", &[("job", "ON:PROP-P")]);
    let phone = Tab::of(&served, "TR", Device::Phone);
    phone.go("/today");
    worker(&phone);
    for path in ["/today", CARD] {
        phone.go(path);
        phone.see("h1");
    }
    phone.go(STEP);
    let copied = copies(&phone);
    assert!(copied.iter().any(|path| path == CARD), "{copied:?}");
    assert!(copied.iter().all(|path| !path.contains("sign-step")), "{copied:?}");
    drop(served);
    phone.go(CARD);
    phone.read("This page is as it was at");
    assert!(phone.text().contains("Torque the nut"), "{}", phone.text());
    phone.shot("offline-card");
    // What was never looked at is not made up.
    phone.go("/show/findings");
    phone.see("h1");
    assert!(!phone.text().contains("F-001"), "{}", phone.text());
}

#[test]
fn nothing_is_left_on_the_device_of_whoever_signed_out() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    served.enter("TR", "start", &[("job", "ON:PROP-P")]);
    let phone = Tab::of(&served, "TR", Device::Phone);
    phone.go("/today");
    worker(&phone);
    phone.go(CARD);
    phone.go(STEP);
    note(&phone, NOTE);
    phone.until("JSON.stringify(localStorage).includes('by hand')");
    assert!(!copies(&phone).is_empty());
    phone.go("/lists");
    phone.touch(&phone.see(".more summary"));
    phone.touch(&phone.see(".more form[action='/sign-out'] button"));
    phone.see("input[name='secret']");
    phone.until("!JSON.stringify(localStorage).includes('kept')");
    assert_eq!(copies(&phone), [""; 0]);
    // Somebody else on the same phone finds a form as nobody had touched it.
    phone.sign_in("OP");
    phone.go(STEP);
    phone.see("form.act[data-ready]");
    assert_eq!(phone.typed("note"), "");
    assert!(!kept(&phone).contains(NOTE));
}

#[test]
fn what_another_tab_has_typed_stays_its_own() {
    if !there_is_a_browser() {
        return;
    }
    let served = at_work();
    served.enter("TR", "start", &[("job", "ON:PROP-P")]);
    let tab = Tab::of(&served, "TR", Device::Phone);
    tab.go(STEP);
    note(&tab, NOTE);
    tab.until("JSON.stringify(localStorage).includes('by hand')");
    let [first, second] = tab.another();
    tab.go(STEP);
    tab.see("form.act[data-ready]");
    assert_eq!(tab.typed("note"), "", "it was typed in another tab");
    note(&tab, "typed in the second");
    tab.until("JSON.stringify(localStorage).includes('second')");
    tab.switch(&first);
    tab.refresh();
    tab.until(
        "document.querySelector('[name=note]')?.value === 'the nut went home by hand'",
    );
    tab.switch(&second);
    assert_eq!(tab.typed("note"), "typed in the second");
}
