//! Every page of the table of routes, held against WCAG 2.2 AA: light and dark, at a desk and
//! on a phone.

use std::fmt::Write;

use crate::axe;
use crate::driver::there_is_a_browser;
use crate::routes::{Meets, ROUTES};
use crate::tab::{Device, Tab};
use crate::workshop::{Served, served};

/// Where the counts go, if they are wanted: `cargo xtask pages` makes a document of them.
const REPORT: &str = "TURNBUCKLE_PAGES";

/// What somebody may do who may do everything, beside what `TR` may.
const POWERS: [&str; 6] =
    ["appoint", "inspect", "classify", "engineer", "release", "stores"];

/// A workshop in which nothing is hidden from `TR`.
pub(crate) fn open_to_all() -> Served {
    let served = served();
    served.card();
    for power in POWERS {
        let name = format!("B-TR-{power}");
        let grant = [
            ("authority", name.as_str()),
            ("person", "TR"),
            ("power", power),
            ("reference", "invented approval"),
            ("from", "2020-01-01"),
        ];
        served.enter("OP", "grant", &grant);
    }
    served
}

/// The pages of the table that are HTML; each answer that is no page is a page to a person
/// too.
pub(crate) fn pages(served: &Served, person: &str) -> Vec<&'static str> {
    let mut client = served.person(person);
    let asked = ROUTES.iter().filter(|(_, meets)| *meets != Meets::Open);
    let is_html = |path: &&'static str| {
        let answer = client.get(path);
        let kind = answer.headers.get("content-type");
        kind.is_some_and(|kind| kind.starts_with("text/html"))
    };
    asked.map(|(path, _)| *path).filter(is_html).collect()
}

struct Sweep<'a> {
    tab: &'a Tab,
    device: Device,
    faults: Vec<String>,
    report: String,
}

impl Sweep<'_> {
    fn look(&mut self, path: &str) {
        self.tab.shade(false);
        self.tab.go(path);
        for (dark, shade) in [(false, "light"), (true, "dark")] {
            self.tab.shade(dark);
            let found = if dark { self.tab.axe_colours() } else { self.tab.axe() };
            let told = |fault| format!("{path} {} {shade}: {fault}", self.device.word());
            self.faults.extend(found.faults.iter().map(told));
            let unsaid = found.unsaid.join(" ");
            let (wrong, held) = (found.faults.len(), found.held);
            let word = self.device.word();
            // Writing to a text cannot fail.
            let _ = writeln!(
                self.report,
                "{path}\t{word}\t{shade}\t{wrong}\t{held}\t{unsaid}"
            );
        }
        if self.device == Device::Phone {
            let told = |fault| format!("{path} phone: {fault}");
            self.faults.extend(self.tab.missed().iter().map(told));
        }
    }
}

fn sweep(device: Device) {
    if !there_is_a_browser() || !axe::is_there() {
        return;
    }
    let served = open_to_all();
    let tab = Tab::open(&served, device);
    let (faults, report) = (Vec::new(), String::new());
    let mut sweep = Sweep { tab: &tab, device, faults, report };
    for (path, _) in ROUTES.iter().filter(|(_, meets)| *meets == Meets::Open) {
        sweep.look(path);
    }
    tab.shade(false);
    tab.go("/sign-in");
    tab.sign_in("TR");
    let pages = pages(&served, "TR");
    assert!(pages.len() > 40, "{pages:?}");
    for path in pages {
        sweep.look(path);
    }
    if let Some(folder) = std::env::var_os(REPORT) {
        let file = std::path::Path::new(&folder).join(format!("{}.tsv", device.word()));
        std::fs::write(file, &sweep.report).unwrap();
    }
    assert!(sweep.faults.is_empty(), "{}", sweep.faults.join("\n"));
}

#[test]
fn every_page_at_a_desk_is_accessible() {
    sweep(Device::Desk);
}

#[test]
fn every_page_on_a_phone_is_accessible() {
    sweep(Device::Phone);
}

/// A page without faults in which we plant one of each kind: all are found.
#[test]
fn planted_faults_are_found() {
    if !there_is_a_browser() || !axe::is_there() {
        return;
    }
    let served = served();
    let tab = Tab::open(&served, Device::Phone);
    tab.go("/sign-in");
    assert_eq!((tab.axe().faults, tab.missed()), (vec![], vec![]));
    for (planted, rule) in [
        ("const e = document.createElement('input'); main.append(e)", "label"),
        (
            "const e = document.createElement('img'); e.src = '/a'; main.append(e)",
            "image-alt",
        ),
        (
            "const e = document.createElement('p'); e.textContent = 'faint'; \
          e.style.color = '#aaa'; e.style.background = '#fff'; main.append(e)",
            "color-contrast",
        ),
        ("document.documentElement.removeAttribute('lang')", "html-has-lang"),
    ] {
        tab.run(&format!("const main = document.querySelector('main'); {planted}"), &[]);
        let faults = tab.axe().faults.join("\n");
        assert!(faults.contains(&format!("{rule}:")), "{rule}: {faults}");
    }
    tab.run(
        "const e = document.createElement('button'); e.textContent = 'low'; \
         e.style.minHeight = '0'; e.style.height = '20px'; e.style.width = '900px'; \
         document.querySelector('main').append(e)",
        &[],
    );
    let missed = tab.missed().join("\n");
    assert!(missed.contains("20 px high") && missed.contains("wider"), "{missed}");
}
