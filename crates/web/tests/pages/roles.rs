//! Every route for every role.

use crate::forms::RAISE;
use crate::html;
use crate::routes::Meets::{Hidden, Nothing, Open, Page, Power, Same, SignIn, Work};
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
                Power(power) | Hidden(power) if !powers.contains(&power) => 403,
                Work if person == OBSERVER => 403,
                Page | Power(_) | Work | Same => 200,
                Nothing | Hidden(_) => 404,
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
    let settings = served.desk.settings();
    for (verb, way, cells) in told() {
        let path = sample(&way);
        let needs_session = !way.starts_with("/api/") && cells[1].contains("session");
        if verb == "POST" && needs_session {
            // Whoever has left leaves again: what the device kept goes.
            let leaves = path == "/sign-out";
            let answer = served.stranger().post(&path, &fields);
            assert_eq!(answer.status, if leaves { 303 } else { 401 }, "{path}");
            let mut client = served.person("OP");
            let answer = client.post(&path, &fields);
            // A list comes as a form with parts, which this is not.
            let refused = if path == "/import" { 400 } else { 403 };
            let again = answer.body.contains("this form was made before you signed in");
            assert!(answer.status == refused || again, "{path}: {}", answer.status);
            assert_eq!(client.get("/").status, 200, "{path} signed out without a token");
            client.headers.push(("origin".into(), "https://evil.example".into()));
            assert_eq!(client.post(&path, &fields).status, 403, "{path}");
        }
        let sent_to =
            told().iter().any(|(verb, found, _)| verb == "POST" && *found == way);
        if needs_session && !sent_to {
            let answer = served.person("OP").post(&path, &fields);
            assert_eq!(answer.status, 405, "{path}");
        }
    }
    let answer = served.stranger().post("/first/abc", &[("person", "OP")]);
    assert_eq!(answer.status, 404);
    assert_eq!(served.desk.snapshot().number, number);
    for person in ["OP", "TR"] {
        for kind in ["preferences", "token", "calendar", "second-factor"] {
            let now = served.desk.settings();
            assert!(settings.of(person, kind).eq(now.of(person, kind)), "{kind}");
        }
    }
}

/// The ways of `docs/ROLES.md`: what is done, where, and its other cells (what it does, what it
/// asks for, and each role's).
fn told() -> Vec<(String, String, Vec<String>)> {
    let text = web::roles_reference();
    let ways = text.split("## Ways").nth(1).unwrap().split("## Acts").next().unwrap();
    let rows = ways.lines().filter(|line| line.starts_with("| `"));
    let cells = |line: &str| {
        let mut cells =
            line.trim_matches('|').split('|').map(|cell| cell.trim().to_owned());
        let way = cells.next().unwrap();
        let (verb, path) = way.trim_matches('`').split_once(' ').unwrap();
        (verb.to_owned(), path.to_owned(), cells.collect())
    };
    let all: Vec<_> = rows.map(cells).collect();
    assert!(all.len() > 70, "{}", all.len());
    all
}

/// The roles of the columns, in their order.
fn columns() -> Vec<String> {
    let text = web::roles_reference();
    let head = text.lines().find(|line| line.starts_with("| way |")).unwrap();
    head.trim_matches('|').split('|').skip(3).map(|cell| cell.trim().to_owned()).collect()
}

/// A path of a way. Of what the address names nothing is there, except an act.
fn sample(way: &str) -> String {
    let word = |part: &str| match part {
        "{word}" => "raise".to_owned(),
        "{number}" | "{one}" | "{other}" => "1".to_owned(),
        part if part.starts_with('{') => "X".to_owned(),
        part => part.to_owned(),
    };
    way.split('/').map(word).collect::<Vec<_>>().join("/")
}

/// Whether a path is of a way, and how many of its parts the way names.
fn fits(way: &str, path: &str) -> Option<usize> {
    let path = path.split('?').next().unwrap();
    let (way, path): (Vec<_>, Vec<_>) =
        (way.split('/').collect(), path.split('/').collect());
    let pairs = || way.iter().zip(&path);
    let fits = way.len() == path.len()
        && pairs().all(|(way, path)| way.starts_with('{') || way == path);
    fits.then(|| pairs().filter(|(way, path)| way == path).count())
}

/// The published table says what every role meets: every way that is read has a row in the
/// table of routes, which is asked for above, and both say the same.
#[test]
fn the_table_of_roles_says_what_every_role_meets() {
    let (ways, columns) = (told(), columns());
    let read = || ways.iter().filter(|(verb, _, _)| verb == "GET");
    let mut asked = std::collections::BTreeSet::new();
    for (path, meets) in ROUTES {
        let found = read().filter_map(|way| Some((fits(&way.1, path)?, way)));
        let Some((_, (_, way, cells))) = found.max_by_key(|(named, _)| *named) else {
            assert_eq!(*meets, Nothing, "{path} is no way");
            continue;
        };
        asked.insert(way.clone());
        for (role, cell) in columns.iter().zip(&cells[2..]) {
            let expected = match meets {
                _ if cell == "by act" => continue,
                Page | Same | Open => true,
                Work => role != "observer",
                Power(power) | Hidden(power) => role == power,
                Nothing | SignIn => continue,
            };
            assert_eq!(cell == "yes", expected, "{path} ({way}) for {role}");
        }
    }
    // What is no page, or is there only after something was done, others ask for.
    let others = [
        "/changes",
        "/worker.js",
        "/season/progress",
        "/calendar/{name}",
        "/first/{token}",
        "/assets/{name}",
        "/import/file/{token}",
    ];
    let missing: Vec<&String> = read()
        .map(|(_, way, _)| way)
        .filter(|way| !way.starts_with("/api/") && !others.contains(&way.as_str()))
        .filter(|way| !asked.contains(*way))
        .collect();
    assert!(missing.is_empty(), "{missing:?}");
}

/// Whoever may not is refused, with the right token too.
#[test]
fn who_may_not_send_is_refused() {
    let (served, columns) = (served(), columns());
    let number = served.desk.snapshot().number;
    for (person, powers) in PEOPLE {
        let mut client = served.person(person);
        let csrf = client.get("/me").value("_csrf");
        for (verb, way, cells) in told() {
            let role = |at: usize| match columns[at].as_str() {
                "observer" => person == OBSERVER,
                "bench" => person != OBSERVER && powers.is_empty(),
                power => powers.contains(&power),
            };
            let mut own =
                (0..columns.len()).filter(|at| role(*at)).map(|at| &cells[at + 2]);
            // A list comes as a form with parts: its own tests send one.
            if verb == "POST" && way != "/import" && own.all(|cell| cell == "-") {
                let path = sample(&way);
                let answer = client.post(&path, &[("_csrf", &csrf), ("zone", "NAC-P")]);
                assert_eq!(answer.status, 403, "{person} {path}");
            }
        }
    }
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
