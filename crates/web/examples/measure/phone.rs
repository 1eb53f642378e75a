//! What somebody sees with a phone: in Chromium, with the network and the processor slowed.

use std::time::{Duration, Instant};

use serde_json::{Value, json};

use crate::driver::{Session, there_is_a_browser};
use crate::served::Served;

/// A network as a phone has it at the far end of a hangar: 1.6 Mbit/s down, 0.75 Mbit/s up,
/// and 150 ms there and back.
const DOWN: f64 = 1_600_000.0 / 8.0;
const UP: f64 = 750_000.0 / 8.0;
const LATENCY: u32 = 150;
/// How many times slower a phone's processor is taken to be.
const SLOWER: u32 = 4;

const TIMES: &str = "
    const [page] = performance.getEntriesByType('navigation');
    const paint = performance.getEntriesByType('paint')
        .find((entry) => entry.name === 'first-contentful-paint');
    const assets = performance.getEntriesByType('resource');
    return [paint ? paint.startTime : 0, page.loadEventEnd,
        page.transferSize + assets.reduce((sum, asset) => sum + asset.transferSize, 0)];";

/// Frames while a chart is dragged and zoomed for some seconds: how many, how long they took
/// in all, and the longest.
const FRAMES: &str = "
    const done = arguments[0];
    const chart = document.querySelector('[data-chart] canvas') || document.querySelector('main svg')
        || document.scrollingElement;
    const frames = [];
    let last = performance.now();
    const begun = last;
    const step = (now) => {
        frames.push(now - last);
        last = now;
        if (now - begun > 4000) {
            done([frames.length, now - begun, Math.max(...frames)]);
            return;
        }
        const phase = Math.floor((now - begun) / 1000) % 2 === 0 ? 1 : -1;
        const zooms = now - begun > 2000;
        const wheel = {deltaX: zooms ? 0 : 30 * phase, deltaY: zooms ? 20 * phase : 0,
            ctrlKey: zooms, bubbles: true, cancelable: true, clientX: 400, clientY: 300};
        chart.dispatchEvent(new WheelEvent('wheel', wheel));
        requestAnimationFrame(step);
    };
    requestAnimationFrame(step);";

fn cdp(session: &Session, command: &str, parameters: &Value) {
    let body = json!({"cmd": command, "params": parameters});
    session.post("/goog/cdp/execute", &body).unwrap();
}

fn go(session: &Session, base: &str, path: &str) {
    session.post("/url", &json!({"url": format!("{base}{path}")})).unwrap();
}

fn numbers(value: &Value) -> Vec<f64> {
    value.as_array().into_iter().flatten().filter_map(Value::as_f64).collect()
}

pub(crate) fn measure(served: &Served, cookie: &str) {
    if !there_is_a_browser() {
        return;
    }
    let (session, base) = (Session::begin(), served.base.as_str());
    go(&session, base, "/sign-in");
    let value = cookie.trim_start_matches("session=");
    let cookie = json!({"name": "session", "value": value, "url": base});
    cdp(&session, "Network.setCookie", &cookie);
    // A first view is one before anything of ours is on the device.
    cdp(&session, "Network.enable", &json!({}));
    cdp(&session, "Network.setBypassServiceWorker", &json!({"bypass": true}));
    first_views(&session, base);
    frames(&session, base);
}

fn first_views(session: &Session, base: &str) {
    let metrics =
        json!({"width": 390, "height": 844, "deviceScaleFactor": 2, "mobile": true});
    cdp(session, "Emulation.setDeviceMetricsOverride", &metrics);
    let network = json!({"offline": false, "latency": LATENCY,
        "downloadThroughput": DOWN, "uploadThroughput": UP});
    cdp(session, "Network.emulateNetworkConditions", &network);
    cdp(session, "Emulation.setCPUThrottlingRate", &json!({"rate": SLOWER}));
    println!(
        "A first view with a phone (Chromium, 390 by 844, 1.6 Mbit/s, {LATENCY} ms, processor \
         {SLOWER} times slower):\n\n| page | first seen, ms | whole, ms | kB |\n|---|--:|--:|--:|"
    );
    for path in
        ["/", "/show/cards/K-7", "/show/findings/F-001", "/act/raise", "/show/cards"]
    {
        cdp(session, "Network.clearBrowserCache", &json!({}));
        go(session, base, path);
        let body = json!({"script": TIMES, "args": []});
        let times = numbers(&session.post("/execute/sync", &body).unwrap());
        println!(
            "| `{path}` | {:.0} | {:.0} | {:.1} |",
            times[0],
            times[1],
            times[2] / 1000.0
        );
    }
    println!();
    let free = json!({"offline": false, "latency": 0, "downloadThroughput": -1,
        "uploadThroughput": -1});
    cdp(session, "Network.emulateNetworkConditions", &free);
    cdp(session, "Emulation.setCPUThrottlingRate", &json!({"rate": 1}));
}

/// The chart of a season of 3,000 jobs, dragged and zoomed at a desk.
fn frames(session: &Session, base: &str) {
    let metrics =
        json!({"width": 1280, "height": 900, "deviceScaleFactor": 1, "mobile": false});
    cdp(session, "Emulation.setDeviceMetricsOverride", &metrics);
    go(session, base, "/season");
    let press = "document.querySelector('form[action=\"/season\"]').requestSubmit()";
    session.post("/execute/sync", &json!({"script": press, "args": []})).unwrap();
    let begun = Instant::now();
    let chart = "main a[href^='/season/']";
    while session
        .post("/element", &json!({"using": "css selector", "value": chart}))
        .is_err()
    {
        if begun.elapsed() > Duration::from_mins(4) {
            println!(
                "No chart was measured: the season came to no plan in four minutes.\n"
            );
            return;
        }
        std::thread::sleep(Duration::from_millis(500));
        go(session, base, "/season");
    }
    go(session, base, "/season/1");
    let ready = json!({"using": "css selector", "value": "[data-ready='yes']"});
    let begun = Instant::now();
    while session.post("/element", &ready).is_err() {
        assert!(begun.elapsed() < Duration::from_mins(1), "the chart is never ready");
        std::thread::sleep(Duration::from_millis(50));
    }
    let body = json!({"script": FRAMES, "args": []});
    let told = numbers(&session.post("/execute/async", &body).unwrap());
    println!(
        "The chart of the season dragged and zoomed in headless Chromium without a graphics \
         processor: {:.0} frames a second, the longest {:.0} ms.\n",
        told[0] / (told[1] / 1000.0),
        told[2]
    );
}
