//! Every route for every role.

use crate::forms::RAISE;
use crate::html;
use crate::routes::Meets::{Nothing, Open, Page, Power, Same, SignIn, Work};
use crate::routes::ROUTES;
use crate::workshop::{OBSERVER, PEOPLE, act, secret, served, signed};

#[test]
fn every_route_for_every_role() {
    let served = served();
    served.card();
    let mut stranger = served.stranger();
    for &(path, meets) in ROUTES {
        let answer = stranger.get(path);
        if matches!(meets, Open | Same) {
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
        for &(path, meets) in ROUTES {
            let answer = client.get(path);
            let expected = match meets {
                Power(power) if !powers.contains(&power) => 403,
                Work if person == OBSERVER => 403,
                Page | Power(_) | Work | Same => 200,
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
    for path in ["/act/raise", "/survey", "/sign-out", "/sign-out-everywhere"] {
        let answer = served.stranger().post(path, &fields);
        assert_eq!(answer.status, 401, "{path}");
        let mut client = served.person("OP");
        let answer = client.post(path, &fields);
        assert!(matches!(answer.status, 403 | 422), "{path}: {}", answer.status);
        assert_eq!(client.get("/").status, 200, "{path} signed out without a token");
        client.headers.push(("origin".into(), "https://evil.example".into()));
        assert_eq!(client.post(path, &fields).status, 403, "{path}");
    }
    for path in [
        "/",
        "/today",
        "/parts",
        "/card/X",
        "/card/X/sign-step",
        "/tag/X",
        "/code",
        "/scan",
        "/lists",
        "/show/status",
        "/history/X",
        "/search",
        "/act",
        "/aircraft",
        "/aircraft/reach",
        "/findings",
        "/attachments/0000",
    ] {
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
