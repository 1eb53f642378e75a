//! The time chart by keyboard: every bar in every lane, and what is said of a job.

use serde_json::{Value, json};

use crate::driver::there_is_a_browser;
use crate::lead::plan;
use crate::tab::{Device, Tab};
use crate::workshop::served;

/// Presses a key so often, and gives what was said each time; and how many bars there are.
const PRESSED: &str = "
    const canvas = document.querySelector('.tl-scroll canvas');
    const said = document.querySelector('.tl > [role=status]');
    const press = (key) => canvas.dispatchEvent(new KeyboardEvent('keydown', { key, bubbles: true }));
    const all = [];
    for (let count = 0; count < arguments[1]; count++) { press(arguments[0]); all.push(said.textContent); }
    return all;";

/// How many bars stand in the lanes of a set, as the chart's own data has them.
const BARS: &str = "
    const data = await (await fetch(document.querySelector('[data-chart]').dataset.chart)).json();
    const [, lanes] = data.lanes.find(([name]) => name.toLowerCase().endsWith(arguments[0]));
    return lanes.reduce((sum, [, bars]) => sum + bars.length, 0);";

#[test]
fn every_bar_is_reached_by_keyboard_and_a_job_says_why_it_is_then() {
    if !there_is_a_browser() {
        return;
    }
    let served = served();
    let tab = Tab::of(&served, "TR", Device::Desk);
    plan(&tab);
    tab.until("document.querySelector('[data-ready]')");
    for set in ["person", "pack"] {
        tab.choose("lanes", set);
        let script = format!("return (async () => {{ {BARS} }})()");
        let bars = tab.run(&script, &[json!(set)]).as_u64().expect("so many bars");
        assert!(bars > 100, "{set}: {bars}");
        tab.run(PRESSED, &[json!("Escape"), json!(1)]);
        // Once round, and the first one comes again: somebody's work stands in the lane of
        // each who does it, and every one of them is reached.
        let said = tab.run(PRESSED, &[json!("n"), json!(bars + 1)]);
        let said: Vec<&str> =
            said.as_array().unwrap().iter().filter_map(Value::as_str).collect();
        assert_eq!(said.first(), said.last(), "{set}: it goes round");
        let again = said[1..].iter().position(|one| *one == said[0]);
        assert_eq!(again, Some(bars as usize - 1), "{set}: in one round");
        assert!(said.iter().all(|one| one.contains(", in ")), "{set}");
        let back = tab.run(PRESSED, &[json!("p"), json!(1)]);
        assert_eq!(back[0].as_str(), Some(said[bars as usize - 1]), "{set}: and back");
    }
    tab.run(PRESSED, &[json!("Enter"), json!(1)]);
    tab.read("Why then: ");
    tab.until("document.activeElement.classList.contains('why-job')");
    tab.sound(Device::Desk);
    // Whoever is signed out is told so, and not shown another page as the reason.
    tab.cdp("Network.clearBrowserCookies", &json!({}));
    tab.run(PRESSED, &[json!("n"), json!(1)]);
    tab.run(PRESSED, &[json!("Enter"), json!(1)]);
    tab.read("You are not signed in any more");
}
