//! What a person does with a browser: goes to a page, reads, types, touches, looks.

use std::path::PathBuf;
use std::time::Instant;

use serde_json::{Value, json};

use crate::driver::{PATIENCE, Refused, Session};
use crate::workshop::{Served, secret};

/// What somebody holds in their hands.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Device {
    /// A screen on a desk, with a mouse.
    Desk,
    /// A phone of common size, touched.
    Phone,
}

impl Device {
    pub(crate) fn word(self) -> &'static str {
        match self {
            Self::Desk => "desk",
            Self::Phone => "phone",
        }
    }

    fn size(self) -> (u32, u32) {
        match self {
            Self::Desk => (1280, 900),
            Self::Phone => (390, 844),
        }
    }
}

/// A browser in front of somebody.
pub(crate) struct Tab {
    session: Session,
    site: String,
    device: Device,
}

/// An element, by its id in the driver.
pub(crate) struct Element(String);

/// The name under which `WebDriver` gives the id of an element (its section 12.1).
const ELEMENT: &str = "element-6066-11e4-a52e-4f735466cecf";
/// Keys as `WebDriver` writes them (its section 17.4.2).
pub(crate) const TAB: &str = "\u{e004}";
pub(crate) const ENTER: &str = "\u{e007}";

impl Tab {
    /// A browser of somebody who has not signed in.
    pub(crate) fn open(served: &Served, device: Device) -> Self {
        Self::at(&format!("http://{}", served.address), device)
    }

    pub(crate) fn at(site: &str, device: Device) -> Self {
        let tab = Self { session: Session::begin(), site: site.to_owned(), device };
        tab.hold(device);
        tab
    }

    /// A browser of somebody who has signed in as people do.
    pub(crate) fn of(served: &Served, person: &str, device: Device) -> Self {
        let tab = Self::open(served, device);
        tab.go("/sign-in");
        tab.sign_in(person);
        tab
    }

    /// Fills in the form of signing in, which is shown.
    pub(crate) fn sign_in(&self, person: &str) {
        self.fill("name", person);
        self.fill("secret", &secret(person));
        self.press("Sign in");
        self.see("form[action='/sign-out']");
    }

    /// Makes the window that of another device.
    pub(crate) fn hold(&self, device: Device) {
        let ((width, height), phone) = (device.size(), device == Device::Phone);
        let metrics = json!({"width": width, "height": height, "deviceScaleFactor": 1,
            "mobile": phone});
        self.cdp("Emulation.setDeviceMetricsOverride", &metrics);
        self.cdp("Emulation.setTouchEmulationEnabled", &json!({"enabled": phone}));
        // A page behind another window would have no focus to move.
        self.cdp("Emulation.setFocusEmulationEnabled", &json!({"enabled": true}));
        self.shade(false);
    }

    /// Whether the system asks for dark pages; nothing moves by itself in either.
    pub(crate) fn shade(&self, dark: bool) {
        let value = if dark { "dark" } else { "light" };
        let features = json!([{"name": "prefers-color-scheme", "value": value},
            {"name": "prefers-reduced-motion", "value": "reduce"}]);
        self.cdp("Emulation.setEmulatedMedia", &json!({"features": features}));
    }

    /// Switches scripts of pages off or on, from the next page on.
    pub(crate) fn scripts(&self, on: bool) {
        let value = json!({"value": !on});
        self.cdp("Emulation.setScriptExecutionDisabled", &value);
    }

    /// A command of the browser's own protocol for developers.
    pub(crate) fn cdp(&self, command: &str, parameters: &Value) -> Value {
        let body = json!({"cmd": command, "params": parameters});
        self.must("/goog/cdp/execute", &body)
    }

    fn must(&self, path: &str, body: &Value) -> Value {
        let done = self.session.post(path, body);
        done.unwrap_or_else(|Refused { code, told }| {
            panic!("{path} {body}: {code}: {told}\n{}", self.excerpt())
        })
    }

    /// What stands on the page, for the message of a failure.
    fn excerpt(&self) -> String {
        let text = self.session.get("/source").unwrap_or_default();
        let text = text.as_str().unwrap_or_default();
        let from = text.find("<main").unwrap_or(0);
        text[from..].chars().take(6_000).collect()
    }

    pub(crate) fn go(&self, path: &str) {
        self.must("/url", &json!({"url": format!("{}{path}", self.site)}));
    }

    pub(crate) fn back(&self) {
        self.must("/back", &json!({}));
    }

    pub(crate) fn refresh(&self) {
        self.must("/refresh", &json!({}));
    }

    /// The path of the page, with what follows `?`.
    pub(crate) fn path(&self) -> String {
        let url = self.session.get("/url").expect("an address");
        let url = url.as_str().unwrap_or_default();
        url.strip_prefix(&self.site).unwrap_or(url).to_owned()
    }

    /// Opens another tab of the same browser and goes there; its handle, and the one before.
    pub(crate) fn another(&self) -> [String; 2] {
        let text = |value: Value| value.as_str().expect("a handle").to_owned();
        let before = text(self.session.get("/window").expect("a handle"));
        let made = self.must("/window/new", &json!({"type": "tab"}));
        let made = text(made["handle"].clone());
        self.switch(&made);
        self.hold(self.device);
        [before, made]
    }

    pub(crate) fn switch(&self, handle: &str) {
        self.must("/window", &json!({"handle": handle}));
    }

    fn find(&self, using: &str, value: &str) -> Element {
        let until = Instant::now() + PATIENCE;
        loop {
            let body = json!({"using": using, "value": value});
            match self.session.post("/element", &body) {
                Ok(found) => return Element(found[ELEMENT].as_str().unwrap().to_owned()),
                Err(_) if Instant::now() < until => std::thread::yield_now(),
                Err(Refused { code, .. }) => {
                    panic!(
                        "{code}: {value} is not on {}\n{}",
                        self.path(),
                        self.excerpt()
                    )
                }
            }
        }
    }

    /// The first element of a selector, once it is there.
    pub(crate) fn see(&self, css: &str) -> Element {
        self.find("css selector", css)
    }

    /// The first element that holds these words and no other that does, once it is there.
    pub(crate) fn read(&self, words: &str) -> Element {
        assert!(!words.contains('"'), "XPath has no escape for it");
        let inner = format!("contains(normalize-space(.), \"{words}\")");
        self.find("xpath", &format!("//body//*[{inner} and not(.//*[{inner}])]"))
    }

    /// Whether there is any element of a selector now.
    pub(crate) fn has(&self, css: &str) -> bool {
        let body = json!({"using": "css selector", "value": css});
        self.session.post("/element", &body).is_ok()
    }

    /// Touches a link or a button by its words: by a finger on a phone, by a click at a desk.
    pub(crate) fn press(&self, words: &str) {
        let own = format!("normalize-space(.) = \"{words}\"");
        let path = format!("//a[{own}] | //button[{own}] | //summary[{own}]");
        self.touch(&self.find("xpath", &path));
    }

    pub(crate) fn touch(&self, element: &Element) {
        if self.device == Device::Desk {
            self.must(&format!("/element/{}/click", element.0), &json!({}));
            return;
        }
        let at = json!({ELEMENT: element.0});
        self.run(
            "arguments[0].scrollIntoView({block: 'center'})",
            std::slice::from_ref(&at),
        );
        let actions = json!([
            {"type": "pointerMove", "duration": 0, "x": 0, "y": 0, "origin": at},
            {"type": "pointerDown", "button": 0},
            {"type": "pointerUp", "button": 0},
        ]);
        let finger = json!({"type": "pointer", "id": "finger",
            "parameters": {"pointerType": "touch"}, "actions": actions});
        self.must("/actions", &json!({"actions": [finger]}));
    }

    /// Clicks twice, as fast as a hand does that means to click once.
    pub(crate) fn twice(&self, element: &Element) {
        let at = json!({ELEMENT: element.0});
        let press = [
            json!({"type": "pointerDown", "button": 0}),
            json!({"type": "pointerUp", "button": 0}),
        ];
        let mut actions = vec![
            json!({"type": "pointerMove", "duration": 0, "x": 0, "y": 0, "origin": at}),
        ];
        actions.extend(press.iter().chain(&press).cloned());
        let mouse = json!({"type": "pointer", "id": "mouse", "actions": actions});
        self.must("/actions", &json!({"actions": [mouse]}));
    }

    /// Presses keys where the focus is.
    pub(crate) fn keys(&self, keys: &str) {
        let strokes = keys.chars().flat_map(|key| {
            [
                json!({"type": "keyDown", "value": key}),
                json!({"type": "keyUp", "value": key}),
            ]
        });
        let strokes: Vec<Value> = strokes.collect();
        let keyboard = json!({"type": "key", "id": "keyboard", "actions": strokes});
        self.must("/actions", &json!({"actions": [keyboard]}));
    }

    /// Types into the field of a name, which is emptied first.
    pub(crate) fn fill(&self, name: &str, text: &str) {
        self.fill_in(&format!("main [name='{name}']"), text);
    }

    /// The same, into the field of a selector.
    pub(crate) fn fill_in(&self, css: &str, text: &str) {
        let element = self.see(css);
        let kind = self.attribute(&element, "type");
        if kind.as_deref() == Some("date") {
            // What is typed into a date depends on the language of the browser.
            let at = [json!({ELEMENT: element.0}), json!(text)];
            self.run("arguments[0].value = arguments[1]", &at);
            return;
        }
        self.type_into(&element, text);
    }

    /// Types into a field, which is emptied first.
    pub(crate) fn type_into(&self, element: &Element, text: &str) {
        self.must(&format!("/element/{}/clear", element.0), &json!({}));
        self.must(&format!("/element/{}/value", element.0), &json!({"text": text}));
    }

    /// Chooses a file of this machine, as a dialogue would.
    pub(crate) fn choose_file(&self, css: &str, file: &std::path::Path) {
        let element = self.see(css);
        let text = file.to_str().expect("a path in UTF-8");
        self.must(&format!("/element/{}/value", element.0), &json!({"text": text}));
    }

    /// Chooses one of several by the value it has, in a list, or among buttons.
    pub(crate) fn choose(&self, name: &str, value: &str) {
        let option = format!("main select[name='{name}'] option[value='{value}']");
        if self.has(&option) {
            let element = self.see(&option);
            self.must(&format!("/element/{}/click", element.0), &json!({}));
            return;
        }
        self.touch(&self.see(&format!("main input[name='{name}'][value='{value}']")));
    }

    /// What stands in the field of a name.
    pub(crate) fn typed(&self, name: &str) -> String {
        let element = self.see(&format!("main [name='{name}']"));
        let path = format!("/element/{}/property/value", element.0);
        let value = self.session.get(&path).expect("a value");
        value.as_str().unwrap_or_default().to_owned()
    }

    pub(crate) fn attribute(&self, element: &Element, name: &str) -> Option<String> {
        let path = format!("/element/{}/attribute/{name}", element.0);
        self.session.get(&path).expect("an attribute").as_str().map(str::to_owned)
    }

    /// The words of the main part of the page, as they are shown.
    pub(crate) fn text(&self) -> String {
        let element = self.see("main");
        let text = self.session.get(&format!("/element/{}/text", element.0));
        text.expect("text").as_str().unwrap_or_default().to_owned()
    }

    /// Runs a script of the test in the page, whatever the page itself may run.
    pub(crate) fn run(&self, script: &str, arguments: &[Value]) -> Value {
        self.must("/execute/sync", &json!({"script": script, "args": arguments}))
    }

    /// The same, for one that calls the last of its arguments when it is done.
    pub(crate) fn run_until(&self, script: &str, arguments: &[Value]) -> Value {
        self.must("/execute/async", &json!({"script": script, "args": arguments}))
    }

    /// Waits until a script gives what is true.
    pub(crate) fn until(&self, condition: &str) {
        let until = Instant::now() + PATIENCE;
        let script = format!("return Boolean({condition})");
        let body = json!({"script": script, "args": []});
        while !matches!(self.session.post("/execute/sync", &body), Ok(Value::Bool(true)))
        {
            assert!(Instant::now() < until, "never: {condition}\n{}", self.excerpt());
            std::thread::yield_now();
        }
    }

    /// What the browser complained of since it was last asked, but for pages that were
    /// refused on purpose.
    pub(crate) fn complaints(&self) -> Vec<String> {
        let log = self.must("/se/log", &json!({"type": "browser"}));
        let lines = log.as_array().map_or(&[][..], Vec::as_slice).iter();
        let severe = lines.filter(|line| line["level"] == "SEVERE");
        let told = severe.filter_map(|line| line["message"].as_str());
        let refused = |told: &&str| {
            told.contains("Failed to load resource") && !told.contains("/assets/")
        };
        told.filter(|told| !refused(told)).map(str::to_owned).collect()
    }

    /// Keeps a picture of what is shown, if a folder was named for pictures.
    pub(crate) fn shot(&self, name: &str) {
        let Some(folder) = std::env::var_os("TURNBUCKLE_SHOTS") else { return };
        let parameters = json!({"format": "webp", "quality": 80});
        let shot = self.cdp("Page.captureScreenshot", &parameters);
        let bytes = base64(shot["data"].as_str().expect("a picture"));
        let folder = PathBuf::from(folder);
        std::fs::create_dir_all(&folder).expect("a folder for pictures");
        std::fs::write(folder.join(format!("{name}.webp")), bytes).expect("a picture");
    }

    /// A photograph, as far as a program can tell: what is shown, as a JPEG.
    pub(crate) fn photograph(&self) -> Vec<u8> {
        let shot = self.cdp("Page.captureScreenshot", &json!({"format": "jpeg"}));
        base64(shot["data"].as_str().expect("a picture"))
    }
}

impl Drop for Tab {
    /// A page about which the browser complained is a fault, whatever else was tested.
    fn drop(&mut self) {
        if !std::thread::panicking() {
            assert_eq!(self.complaints(), [""; 0], "the browser complained");
        }
    }
}

/// RFC 4648, section 4.
fn base64(text: &str) -> Vec<u8> {
    let digit = |byte: u8| match byte {
        b'A'..=b'Z' => byte - b'A',
        b'a'..=b'z' => byte - b'a' + 26,
        b'0'..=b'9' => byte - b'0' + 52,
        b'+' => 62,
        _ => 63,
    };
    let mut bytes = Vec::with_capacity(text.len() * 3 / 4);
    for group in text.trim_end_matches('=').as_bytes().chunks(4) {
        let bits =
            group.iter().fold(0_u32, |bits, byte| bits << 6 | u32::from(digit(*byte)));
        let bits = bits << (6 * (4 - group.len()));
        bytes.extend_from_slice(&bits.to_be_bytes()[1..group.len()]);
    }
    bytes
}

#[test]
fn base64_is_read() {
    // RFC 4648, section 10.
    for (text, plain) in [("", ""), ("Zg==", "f"), ("Zm8=", "fo"), ("Zm9vYmFy", "foobar")]
    {
        assert_eq!(base64(text), plain.as_bytes());
    }
}
