//! Every route for every role.

use crate::forms::RAISE;
use crate::html;
use crate::workshop::{OBSERVER, PEOPLE, act, secret, served, signed};

/// What a role meets at a route.
#[derive(Debug, Clone, Copy, PartialEq)]
enum Meets {
    /// A page.
    Page,
    /// Sent to sign in, or told to.
    SignIn,
    /// No such page for anybody who is signed in.
    Nothing,
    /// A page only with an authority; without one they are told so.
    Authority,
    /// A page for all who work here; an observer is told so.
    Work,
    /// Only for whoever appoints, who is told that there is none.
    Second,
    /// The same for everybody.
    Open,
}
use Meets::{Authority, Nothing, Open, Page, Second, SignIn, Work};

/// Each route that is read, and what whoever is signed in meets; all others are sent to sign
/// in, except where it is open.
const ROUTES: [(&str, Meets); 61] = [
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
    ("/act/grant", Authority),
    ("/act/classify", Authority),
    ("/act/enrol", Page),
    ("/act/nothing", Nothing),
    ("/show/nothing", Nothing),
    ("/nothing", Nothing),
    ("/season", Page),
    ("/season/99", Nothing),
    ("/gates", Page),
    ("/gates/taxi", Page),
    ("/gates/nothing", Nothing),
    ("/record", Page),
    ("/record?by=OP&act=grant&from=2032-01-01", Page),
    ("/record/1", Page),
    ("/record/9999999", Nothing),
    ("/record/x", Nothing),
    ("/record/verify", Page),
    ("/people", Page),
    ("/people/roles", Page),
    ("/rules", Page),
    ("/me", Page),
    ("/me/second", Page),
    // Who appoints is told that there is none.
    ("/second/TR", Second),
    ("/sign-in", Open),
];

#[test]
fn every_route_for_every_role() {
    let served = served();
    served.card();
    let mut stranger = served.stranger();
    for (path, meets) in ROUTES {
        let answer = stranger.get(path);
        if meets == Open {
            assert_eq!(answer.status, 200, "{path}");
            assert_eq!(html::faults(&answer.body), [""; 0], "{path}");
            continue;
        }
        assert_eq!((answer.status, meets != SignIn), (303, true), "{path}");
        assert!(answer.to().starts_with("/sign-in?then="), "{path}: {}", answer.to());
        assert!(answer.body.is_empty(), "{path}: {}", answer.body);
    }
    for (person, powers) in PEOPLE {
        let mut client = served.person(person);
        for (path, meets) in ROUTES {
            let answer = client.get(path);
            let expected = match meets {
                Authority if powers.is_empty() => 403,
                Work if person == OBSERVER => 403,
                Second if powers.contains(&"appoint") => 404,
                Second => 403,
                Page | Authority | Work => 200,
                Nothing => 404,
                Open | SignIn => 303,
            };
            assert_eq!(answer.status, expected, "{person} {path}\n{}", answer.body);
            if answer.status != 303 {
                let faults = html::faults(&answer.body);
                assert_eq!(faults, [""; 0], "{person} {path}\n{}", answer.body);
            }
        }
    }
}

/// What changes something: whoever is not signed in, sends no token, or sends it from
/// elsewhere, changes nothing.
#[test]
fn nothing_changes_without_a_session_and_its_token() {
    let served = served();
    let number = served.desk.snapshot().number;
    let fields =
        [("finding", "X-1"), ("item", "PROP-P"), ("_secret", "four words of OP")];
    for path in ["/act/raise", "/sign-out", "/sign-out-everywhere"] {
        let answer = served.stranger().post(path, &fields);
        assert_eq!(answer.status, 401, "{path}");
        let mut client = served.person("OP");
        let answer = client.post(path, &fields);
        assert!(matches!(answer.status, 403 | 422), "{path}: {}", answer.status);
        assert_eq!(client.get("/").status, 200, "{path} signed out without a token");
        client.headers.push(("origin".into(), "https://evil.example".into()));
        assert_eq!(client.post(path, &fields).status, 403, "{path}");
    }
    for path in ["/", "/lists", "/show/status", "/history/X", "/search", "/act"] {
        let answer = served.person("OP").post(path, &fields);
        assert_eq!(answer.status, 405, "{path}");
    }
    let answer = served.stranger().post("/first/abc", &[("person", "OP")]);
    assert_eq!(answer.status, 404);
    assert_eq!(served.desk.snapshot().number, number);
}

/// Whoever has no authority is refused the forms of those who have, sent or opened.
#[test]
fn whoever_has_no_authority_does_what_the_bench_does() {
    let served = served();
    let mut client = served.person("HB");
    let form = client.get("/act/raise");
    assert_eq!(form.status, 200);
    let number = served.desk.snapshot().number;
    let answer = client.send(&form, "open-gate", &[("gate", "taxi")], "four words of HB");
    assert_eq!(answer.status, 403);
    assert_eq!(served.desk.snapshot().number, number);
    let listed = client.get("/act").body;
    assert!(listed.contains("/act/raise") && !listed.contains("/act/open-gate"));
}

/// An observer reads all and signs nothing but their own secret, by whatever way.
#[test]
fn an_observer_signs_nothing_but_their_own_secret() {
    let served = served();
    served.card();
    let mut client = served.person(OBSERVER);
    let card = client.get("/show/cards/ON%3APROP-P").body;
    assert!(card.contains("Torque the nut") && !card.contains("/act/start"), "{card}");
    assert!(!client.get("/").body.contains("Sign something"));
    let form = client.get("/act/enrol");
    let own = secret(OBSERVER);
    let number = served.desk.snapshot().number;
    assert_eq!(client.send(&form, "raise", &RAISE, &own).status, 403);
    // The record itself refuses, whatever the pages let through.
    let raise = act("raise", &RAISE);
    let refused = served.desk.act(vec![raise], signed(OBSERVER), None, None);
    assert!(refused.unwrap_err().to_string().contains("observer"));
    assert_eq!(served.desk.snapshot().number, number);
    let fields = [
        ("person", OBSERVER),
        ("reason", "changed"),
        ("_new", "another four words"),
        ("_again", "another four words"),
    ];
    let kept = client.send(&form, "enrol", &fields, &own);
    assert_eq!(kept.status, 303, "{}", kept.body);
    assert_eq!(served.stranger().sign_in(OBSERVER, "another four words").status, 303);
}
