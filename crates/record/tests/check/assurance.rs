//! Tools, requirements of gates, and rules.

use crate::builders::*;
use record::{Basis, Requirement, Rule, RuleKey, Tool};

#[test]
fn tools_requirements_and_rules() {
    expect(&[
        ("error: requirement RUN-1, gate: there is no gate RUNS (is RUN meant?)", |p| {
            edit(&mut p.requirements, |requirement| requirement.gate = id("RUNS"));
        }),
        (
            "error: requirement RUN-1, fitted: there is no item LEVR (is LEVER meant?)",
            |p| {
                edit(&mut p.requirements, |r| r.fitted = Some(id("LEVR")));
            },
        ),
        ("error: requirement RUN-1, what: it is blank", |p| {
            edit(&mut p.requirements, |requirement| requirement.what = String::new());
        }),
        ("error: requirement RUN-1, citation: it begins or ends with a blank", |p| {
            edit(&mut p.requirements, |r| r.citation = Some("Condition 1 ".into()));
        }),
        ("error: requirement run-1, id: it differs from the requirement RUN-1", |p| {
            add(&mut p.requirements, Requirement { id: id("run-1"), ..requirement() });
        }),
        ("error: tool tw-1, id: it differs from the tool TW-1 in capitals alone", |p| {
            add(&mut p.tools, Tool { id: id("tw-1"), ..tool() });
        }),
        ("error: tool TW-1, name: it is blank", |p| {
            edit(&mut p.tools, |tool| tool.name = " ".into());
        }),
        ("error: tool TW-1, range: it holds the control character", |p| {
            edit(&mut p.tools, |tool| tool.range = Some("5\u{7}60".into()));
        }),
        (
            "error: rule limits, basis: no programme may do without it: A value that was \
             asked for is measured and lies within its limits (write `binding` or",
            |p| add(&mut p.rules, profile(RuleKey::Limits, Basis::Off)),
        ),
        ("error: rule handover, note: it is off, and nothing says why (say why", |p| {
            let rule = profile(RuleKey::Handover, Basis::Off);
            add(&mut p.rules, Rule { note: None, ..rule });
        }),
        ("warning: rule handover, citation: it binds, and nothing says by what", |p| {
            let rule = profile(RuleKey::Handover, Basis::Binding);
            add(&mut p.rules, Rule { citation: None, ..rule });
        }),
        ("error: rule handover, citation: it is blank", |p| {
            let rule = profile(RuleKey::Handover, Basis::Adopted);
            add(&mut p.rules, Rule { citation: Some(String::new()), ..rule });
        }),
        ("error: rule handover, note: it begins or ends with a blank", |p| {
            let rule = profile(RuleKey::Handover, Basis::Adopted);
            add(&mut p.rules, Rule { note: Some(" agreed".into()), ..rule });
        }),
    ]);
    let mut adopted = sound();
    let rule = profile(RuleKey::Handover, Basis::Adopted);
    add(&mut adopted.rules, Rule { citation: None, note: None, ..rule });
    assert_eq!(adopted.check(), []);
}
