//! What axe-core (<https://github.com/dequelabs/axe-core>, MPL-2.0, fetched by the gate and in no
//! binary) finds wrong with a page by the success criteria of WCAG 2.0, 2.1 and 2.2, levels A
//! and AA; and what we ask for beyond that of a phone.

use std::path::PathBuf;
use std::sync::OnceLock;

use serde_json::{Value, json};

use crate::tab::{Device, Tab};

/// Set by the gate, within which a missing package is a failure.
const GATE: &str = "TURNBUCKLE_GATE";

/// The tags of axe's rules for those criteria, by its documentation of the API.
const TAGS: [&str; 5] = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"];

/// The rules of axe that depend on colours, and so on whether a page is light or dark.
const COLOURS: [&str; 2] = ["color-contrast", "link-in-text-block"];

const RUN: &str = "
    const [type, values, done] = arguments;
    axe.run(document, {
        runOnly: {type, values},
        resultTypes: ['violations', 'incomplete'],
    }).then(done, (error) => done({error: String(error)}));";

/// Controls that are lower than a gloved finger wants, and whether the page is wider than
/// the screen. A box to tick counts with its label, a link within a sentence does not.
const TOUCH: &str = "
    const faults = [];
    const most = document.documentElement.clientWidth;
    if (document.documentElement.scrollWidth > most + 1) {
        const wide = [...document.querySelectorAll('body *')].filter((e) =>
            e.getBoundingClientRect().right > most + 1 && !e.closest('.wide, svg'));
        const told = wide.slice(0, 3).map((e) => e.outerHTML.slice(0, 120));
        faults.push(`wider than the screen: ${told.join(' ')}`);
    }
    const acts = 'main button, main a.act, main select, main textarea, main summary, ' +
        'main input:not([type=hidden])';
    for (const control of document.querySelectorAll(acts)) {
        const small = /^(checkbox|radio)$/.test(control.type);
        const height = (e) => e.getBoundingClientRect().height;
        const labels = small ? [...control.labels] : [];
        const target = labels.sort((a, b) => height(b) - height(a))[0] || control;
        const box = target.getBoundingClientRect();
        if (box.height > 1 && box.height < 47.5) {
            faults.push(`${box.height.toFixed(0)} px high: ${target.outerHTML.slice(0, 120)}`);
        }
    }
    return faults;";

/// A file of a package that the gate fetches, if it is there.
pub(crate) fn package(file: &str) -> Option<PathBuf> {
    let root = concat!(env!("CARGO_MANIFEST_DIR"), "/../../reference/node_modules");
    let path = PathBuf::from(root).join(file);
    if path.exists() {
        return Some(path);
    }
    let told = format!(
        "nothing was compared: {file} is missing below reference/node_modules; \
         `cargo xtask ci node` fetches it"
    );
    assert!(std::env::var_os(GATE).is_none(), "{told}");
    println!("{told}");
    None
}

fn source() -> Option<&'static str> {
    static SOURCE: OnceLock<Option<String>> = OnceLock::new();
    let read = || Some(std::fs::read_to_string(package("axe-core/axe.min.js")?).unwrap());
    SOURCE.get_or_init(read).as_deref()
}

/// Whether axe-core is there.
pub(crate) fn is_there() -> bool {
    source().is_some()
}

/// What was found on one page as it is shown.
#[derive(Debug, Default)]
pub(crate) struct Found {
    /// What is wrong, each with its element.
    pub(crate) faults: Vec<String>,
    /// Rules that held.
    pub(crate) held: usize,
    /// Rules of which a machine can't say whether they hold.
    pub(crate) unsaid: Vec<String>,
}

impl Tab {
    /// Holds the page as it is shown against the criteria.
    pub(crate) fn axe(&self) -> Found {
        self.held("tag", &TAGS)
    }

    /// The same in other colours: what does not depend on them is not asked again.
    pub(crate) fn axe_colours(&self) -> Found {
        self.held("rule", &COLOURS)
    }

    fn held(&self, kind: &str, values: &[&str]) -> Found {
        let Some(source) = source() else { return Found::default() };
        // Run by the driver, not by the page, so that the page's own policy stands as it is.
        if self.run("return typeof axe === 'undefined'", &[]) == Value::Bool(true) {
            self.run(source, &[]);
        }
        let result = self.run_until(RUN, &[json!(kind), json!(values)]);
        assert!(result["error"].is_null(), "{}", result["error"]);
        let list = |name: &str| result[name].as_array().cloned().unwrap_or_default();
        let faults = list("violations").iter().flat_map(faults_of).collect();
        let unsaid = list("incomplete");
        let unsaid = unsaid.iter().filter_map(|rule| rule["id"].as_str());
        let (held, unsaid) = (list("passes").len(), unsaid.map(str::to_owned).collect());
        Found { faults, held, unsaid }
    }

    /// What a finger would miss, on a phone.
    pub(crate) fn missed(&self) -> Vec<String> {
        let found = self.run(TOUCH, &[]);
        let found = found.as_array().map_or(&[][..], Vec::as_slice).iter();
        found.filter_map(|fault| fault.as_str().map(str::to_owned)).collect()
    }

    /// Fails if anything is wrong with the page as it is shown.
    pub(crate) fn sound(&self, device: Device) {
        let mut faults = self.axe().faults;
        if device == Device::Phone {
            faults.extend(self.missed());
        }
        assert_eq!(faults, [""; 0], "{}", self.path());
    }
}

fn faults_of(rule: &Value) -> Vec<String> {
    let nodes = rule["nodes"].as_array().map_or(&[][..], Vec::as_slice).iter();
    let text = |value: &Value| value.as_str().unwrap_or_default().replace('\n', " ");
    let told = |node: &Value| {
        let (id, why) = (text(&rule["id"]), text(&node["failureSummary"]));
        format!("{id}: {}: {why}", text(&node["html"]))
    };
    nodes.map(told).collect()
}
