//! Every route that is read: `roles` asks each of them as every role, and the browser looks at
//! each that is a page.

/// What a role meets at a route.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Meets {
    /// A page.
    Page,
    /// Sent to sign in, or told to.
    SignIn,
    /// No such page for anybody who is signed in.
    Nothing,
    /// A page only with one of these powers; without they are told so.
    Power(&'static str),
    /// A page for all who work here; an observer is told so.
    Work,
    /// The same for everybody.
    Open,
}
use Meets::{Nothing, Open, Page, Power, Work};

/// Each route that is read, and what whoever is signed in meets; all others are sent to sign
/// in, except where it is open.
pub(crate) const ROUTES: &[(&str, Meets)] = &[
    ("/", Page),
    ("/lists", Page),
    ("/show/status", Page),
    ("/show/gates", Page),
    ("/show/gates/taxi", Page),
    ("/show/conditions", Page),
    ("/show/plan", Page),
    ("/show/cards", Page),
    ("/show/cards/ON%3APROP-P", Page),
    ("/show/findings", Page),
    ("/show/findings/F-001", Page),
    ("/show/deferred", Page),
    ("/show/repairs", Page),
    ("/show/ndt", Page),
    ("/show/parts", Page),
    ("/show/parts/PROP-P", Page),
    ("/show/lives", Page),
    ("/show/made", Page),
    ("/show/tools", Page),
    ("/show/stores", Page),
    ("/show/people", Page),
    ("/show/people/OP", Page),
    ("/show/letters", Page),
    ("/show/directives", Page),
    ("/show/origins", Page),
    ("/show/service", Page),
    ("/show/mass", Page),
    ("/show/ratios", Page),
    ("/show/money", Page),
    ("/show/retention", Page),
    ("/show/audit", Page),
    ("/show/rules", Page),
    ("/history/PROP-P", Page),
    ("/search?q=propeller", Page),
    ("/act", Page),
    ("/act/raise?item=PROP-P", Work),
    ("/act/sign-step?job=ON%3APROP-P&step=10", Work),
    ("/act/grant", Power("appoint")),
    ("/act/classify", Power("classify")),
    ("/act/enrol", Page),
    ("/act/inspect", Power("inspect")),
    ("/act/issue-card", Power("plan")),
    ("/act/open-gate", Power("release")),
    ("/act/nothing", Nothing),
    ("/show/nothing", Nothing),
    ("/nothing", Nothing),
    ("/aircraft", Page),
    ("/aircraft?view=plan&on=2032-01-01", Page),
    ("/aircraft?view=front", Nothing),
    ("/aircraft/zone/NAC-P", Page),
    ("/aircraft/zone/NOWHERE", Nothing),
    ("/aircraft/parts", Page),
    ("/aircraft/parts?by=zone&at=HULL", Page),
    ("/aircraft/parts?by=chapter&at=99", Nothing),
    ("/aircraft/reach", Page),
    ("/aircraft/reach?free=PROP-P&expose=KEEL-F", Page),
    ("/survey?zone=NAC-P", Work),
    ("/findings?state=all&sort=-found", Page),
    ("/attachments/0000", Nothing),
    ("/act/tag?item=PROP-P", Work),
    ("/season", Page),
    ("/season/99", Nothing),
    ("/season/adopted", Page),
    ("/season/99/sheet", Nothing),
    ("/season/99/chart.json", Nothing),
    ("/season/99/job?job=X", Nothing),
    ("/season/99/beside/adopted", Nothing),
    ("/import", Page),
    ("/import/export/nothing.csv", Nothing),
    ("/import/template/routes.csv", Nothing),
    ("/sign-in", Open),
];
