//! Every way of the pages and of the JSON interface, and to whom it is open.
//!
//! The table stands beside the router: a test holds the two against each other, others ask
//! every way as every role. `/people/roles` and `docs/ROLES.md` are made of it, and of what the
//! acts themselves ask for.

use std::fmt::Write;

use app::{OF_THE_BENCH, powers_for};

/// To whom a way is open.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Who {
    /// Everybody, signed in or not.
    Everybody,
    /// Whoever is signed in.
    SignedIn,
    /// Whoever is signed in, for themselves alone.
    Own,
    /// Whoever may sign acts of this word.
    Act(&'static str),
    /// Whoever has one of these powers.
    Powers(&'static [&'static str]),
    /// As the act that the address names asks.
    EachAct,
    /// Whoever sends a token that counts, as its owner.
    Token,
    /// The same, if the token lets one act; each act asks for its own.
    ActToken,
    /// Whoever has the link.
    Link,
}
use Who::{Act, ActToken, EachAct, Everybody, Link, Own, Powers, SignedIn, Token};

/// What a way does: is it read, or sent to?
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(crate) enum Verb {
    /// It is read.
    Get,
    /// Something is sent.
    Post,
}
use Verb::{Get, Post};

/// One way: what is done there, and to whom it is open.
pub(crate) type Way = (Verb, &'static str, &'static str, Who);

/// What it takes to load a list.
pub(crate) const LOADS: &[&str] = &["plan", "appoint"];
/// What it takes to change the sign-in of others.
pub(crate) const APPOINTS: &[&str] = &["appoint"];

/// All ways, in the order of the router.
pub(crate) const WAYS: &[Way] = &[
    (Get, "/", "where we are", SignedIn),
    (Get, "/lists", "all lists", SignedIn),
    (Get, "/show/{sheet}", "a list", SignedIn),
    (Get, "/show/{sheet}/{name}", "a thing of a list", SignedIn),
    (Get, "/history/{name}", "the history of a thing", SignedIn),
    (Get, "/search", "search", SignedIn),
    (Get, "/act", "the acts that one may sign", SignedIn),
    (Get, "/changes", "news of changes, for open pages", SignedIn),
    (Get, "/today", "today", SignedIn),
    (Get, "/parts", "the board of parts", SignedIn),
    (Get, "/card/{job}", "a card in hand", SignedIn),
    (Get, "/card/{job}/print", "a card to print", SignedIn),
    (Get, "/card/{job}/{word}", "an act on a card", EachAct),
    (Get, "/tag/{item}", "the tag of a part", SignedIn),
    (Get, "/despatch/{item}", "the paper that goes with a part", SignedIn),
    (Get, "/code", "what a code names", SignedIn),
    (Get, "/scan", "read a code", SignedIn),
    (Get, "/worker.js", "what keeps pages on a device", Everybody),
    (Get, "/no-connection", "what a device shows without a connection", Everybody),
    (Get, "/aircraft", "the aircraft", SignedIn),
    (Get, "/aircraft/parts", "its breakdown", SignedIn),
    (Get, "/aircraft/reach", "the way to a place", SignedIn),
    (Get, "/aircraft/zone/{zone}", "a zone", SignedIn),
    (Get, "/findings", "findings", SignedIn),
    (Get, "/attachments/{digest}", "a file that the record names", SignedIn),
    (Get, "/attachments/{digest}/small", "a photograph, small", SignedIn),
    (Get, "/season", "seasons and their plans", SignedIn),
    (Post, "/season", "begin the search for a plan", Act("adopt")),
    (Post, "/season/stop", "end it", Act("adopt")),
    (Get, "/season/progress", "watch it", SignedIn),
    (Get, "/season/adopted", "the adopted plan and what happened", SignedIn),
    (Get, "/season/{number}", "a proposed plan", SignedIn),
    (Get, "/season/{number}/sheet", "its list", SignedIn),
    (Get, "/season/{number}/chart.json", "its chart, for the script", SignedIn),
    (Get, "/season/{number}/job", "why a job stands where it does", SignedIn),
    (Get, "/season/{one}/beside/{other}", "two plans side by side", SignedIn),
    (Post, "/season/{number}/try", "try something upon a plan", Act("adopt")),
    (Post, "/season/{number}/adopt", "adopt a plan", Act("adopt")),
    (Get, "/gates", "gates", SignedIn),
    (Get, "/gates/{gate}", "a gate and its evidence", SignedIn),
    (Post, "/gates/{gate}/bundle", "take its evidence away", SignedIn),
    (Get, "/record", "the record", SignedIn),
    (Get, "/record/{number}", "an entry", SignedIn),
    (Get, "/record/verify", "whether the record verifies", SignedIn),
    (Post, "/record/verify", "verify it", SignedIn),
    (Get, "/people", "people and authority", SignedIn),
    (Get, "/people/roles", "which ways and acts are open to whom", SignedIn),
    (Get, "/rules", "the rules", SignedIn),
    (Get, "/me", "one's own page", Own),
    (Post, "/me/view", "how one sees things", Own),
    (Post, "/me/session", "end a session", Own),
    (Get, "/me/second", "one's second step", Own),
    (Post, "/me/second", "set it up", Own),
    (Post, "/me/second/remove", "take it away", Own),
    (Post, "/me/token", "make a token", Own),
    (Post, "/me/calendar", "make a calendar link", Own),
    (Post, "/me/revoke", "revoke a token or link", Own),
    (Get, "/second/{person}", "somebody else's second step", Powers(APPOINTS)),
    (Post, "/second/{person}", "take it away", Powers(APPOINTS)),
    (Get, "/calendar/{name}", "a calendar", Link),
    (Get, "/import", "lists to take away", SignedIn),
    (Post, "/import", "give a list", Powers(LOADS)),
    (Get, "/import/file/{token}", "what a list would change", Own),
    (Post, "/import/file/{token}", "load it", Powers(LOADS)),
    (Get, "/import/export/{file}", "a list as a file", SignedIn),
    (Get, "/import/template/{file}", "an empty list as a file", SignedIn),
    (Get, "/sign-in", "sign in", Everybody),
    (Post, "/sign-in", "sign in", Everybody),
    (Post, "/sign-in/code", "the second step", Everybody),
    (Post, "/sign-out", "sign out", Own),
    (Post, "/sign-out-everywhere", "sign out on all devices", Own),
    (Get, "/first/{token}", "the first secret of all", Link),
    (Post, "/first/{token}", "set the first secret of all", Link),
    (Get, "/assets/{name}", "style and scripts", Everybody),
    (Get, "/act/{word}", "the form of an act", EachAct),
    (Post, "/act/{word}", "sign an act", EachAct),
    (Get, "/survey", "survey a zone", Act("raise")),
    (Post, "/survey", "raise what was found", Act("raise")),
    (Get, "/api/openapi.json", "what the JSON interface has", Everybody),
    (Get, "/api/me", "whose token it is, and what they may do", Token),
    (Get, "/api/overview", "where we are", Token),
    (Get, "/api/sheets", "all lists", Token),
    (Get, "/api/sheets/{sheet}", "a list", Token),
    (Get, "/api/sheets/{sheet}/{name}", "a thing of a list", Token),
    (Get, "/api/things", "all that has a name", Token),
    (Get, "/api/history/{name}", "the history of a thing", Token),
    (Get, "/api/entries", "entries", Token),
    (Get, "/api/entries/{number}", "an entry", Token),
    (Post, "/api/acts", "sign acts", ActToken),
    (Post, "/api/acts/try", "ask whether acts would be kept", Token),
    (Get, "/api/attachments/{digest}", "a file that was attached", Token),
    (Post, "/api/attachments", "attach a file, for acts to name", ActToken),
];

/// What a role of the table meets: an observer, somebody without an authority, or with one.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Role {
    Observer,
    Bench,
    Power(&'static str),
}

impl Role {
    fn all() -> Vec<Self> {
        let powers = app::all_powers().into_iter().map(Self::Power);
        [Self::Observer, Self::Bench].into_iter().chain(powers).collect()
    }

    fn word(self) -> &'static str {
        match self {
            Self::Observer => "observer",
            Self::Bench => "bench",
            Self::Power(power) => power,
        }
    }

    fn powers(self) -> Vec<&'static str> {
        if let Self::Power(power) = self { vec![power] } else { Vec::new() }
    }

    /// What is said of a way.
    fn way(self, who: Who) -> &'static str {
        let open = match who {
            Everybody | SignedIn | Own | Token | Link => true,
            Act(word) => self != Self::Observer && app::may(&self.powers(), word),
            Powers(asked) => self.powers().iter().any(|power| asked.contains(power)),
            EachAct | ActToken => return BY_ACT,
        };
        if open { YES } else { NO }
    }

    /// What is said of an act.
    fn act(self, word: &str) -> &'static str {
        match self {
            Self::Observer | Self::Bench if word == "enrol" => OWN,
            Self::Observer => NO,
            _ if OF_THE_BENCH.contains(&word) => YES,
            Self::Power(_) if powers_for(word).is_empty() => IN_CASES,
            _ if app::may(&self.powers(), word) => YES,
            _ => NO,
        }
    }
}

/// The words of all roles, in the order of the columns.
pub(crate) fn roles() -> Vec<&'static str> {
    Role::all().into_iter().map(Role::word).collect()
}

/// So many columns stand before those of the roles.
pub(crate) const FIRST: usize = 3;

const YES: &str = "yes";
pub(crate) const NO: &str = "-";
const OWN: &str = "own";
const IN_CASES: &str = "in cases";
const BY_ACT: &str = "by act";

/// What the words in the tables mean.
pub(crate) const LEGEND: &str = "Whoever has several powers may do what any of them may. \
    `bench`: whoever works here and has no authority. `own`: for one's own secret alone. \
    `in cases`: the record looks at the case, such as whose it is. `by act`: as the table of \
    acts has it. Whether an act is lawful (which chapter, whose work) the record judges when it \
    is signed, whatever page or program it came from; it names the rule that forbids it.";

/// A table of what is open to whom.
pub(crate) struct Table {
    pub(crate) title: &'static str,
    pub(crate) columns: Vec<&'static str>,
    pub(crate) rows: Vec<Vec<String>>,
}

/// The ways, and the acts, each by role.
pub(crate) fn tables() -> [Table; 2] {
    let roles = Role::all();
    let columns = |first: [&'static str; FIRST]| {
        first.into_iter().chain(roles.iter().map(|role| role.word())).collect()
    };
    let cells = |of: &dyn Fn(Role) -> &'static str| {
        roles.iter().map(|role| of(*role).to_owned()).collect::<Vec<_>>()
    };
    let way = |&(verb, path, what, who): &Way| {
        let way = format!("{} {path}", if verb == Get { "GET" } else { "POST" });
        [vec![way, what.to_owned(), asks(who)], cells(&|role| role.way(who))].concat()
    };
    let act = |form: app::ActForm| {
        let asked = powers_for(form.word).join(" or ");
        let asked = if asked.is_empty() { NO.to_owned() } else { asked };
        let first = vec![form.word.to_owned(), form.doc.to_owned(), asked];
        [first, cells(&|role| role.act(form.word))].concat()
    };
    [
        Table {
            title: "Ways",
            columns: columns(["way", "what", "asks for"]),
            rows: WAYS.iter().map(way).collect(),
        },
        Table {
            title: "Acts",
            columns: columns(["act", "what it does", "asks for"]),
            rows: app::act_forms().into_iter().map(act).collect(),
        },
    ]
}

fn asks(who: Who) -> String {
    match who {
        Everybody => NO.to_owned(),
        SignedIn => "a session".to_owned(),
        Own => "a session; one's own".to_owned(),
        Act(word) => format!("a session, and what `{word}` asks for"),
        Powers(powers) => format!("a session, and {}", powers.join(" or ")),
        EachAct => "a session, and what the act asks for".to_owned(),
        Token => "a token".to_owned(),
        ActToken => "a token that may act, and what each act asks for".to_owned(),
        Link => "the link".to_owned(),
    }
}

/// Which ways and acts are open to whom, as a page of the documents (Markdown).
pub fn roles_reference() -> String {
    let mut text = format!(
        "<!-- Written by `cargo xtask docs` from the code; edit that instead. -->\n\
         # Which ways and acts are open to whom\n\n{LEGEND}\n"
    );
    for table in tables() {
        let bars = table.columns.iter().map(|_| "---").collect::<Vec<_>>().join("|");
        // Writing to a text cannot fail.
        let _ = writeln!(
            text,
            "\n## {}\n\n| {} |\n|{bars}|",
            table.title,
            table.columns.join(" | ")
        );
        for row in table.rows {
            let [first, rest @ ..] = row.as_slice() else { continue };
            let _ = writeln!(text, "| `{first}` | {} |", rest.join(" | "));
        }
    }
    text
}

#[cfg(test)]
mod tests {
    use std::collections::BTreeSet;

    use super::*;
    use crate::{kept, pages, second, sign_in};

    /// The routes that a source gives to its routers, each with what may be sent to it.
    fn routes(source: &str, prefix: &str) -> BTreeSet<(Verb, String)> {
        let mut found = BTreeSet::new();
        for part in source.split(".route(").skip(1) {
            let mut depth = 1;
            let end = part.find(|c| {
                depth += i32::from(c == '(') - i32::from(c == ')');
                depth == 0
            });
            let part = &part[..end.unwrap()];
            let (path, handlers) = part.split_once(',').unwrap();
            let path = match path.trim() {
                "pages::me::PATH" => pages::me::PATH,
                "sign_in::PATH" => sign_in::PATH,
                "second::PATH" => second::PATH,
                "kept::WORKER" => kept::WORKER,
                "kept::AWAY" => kept::AWAY,
                quoted => quoted.trim_matches('"'),
            };
            assert!(path.starts_with('/'), "what is {path}?");
            let verbs = [(Get, "get("), (Post, "post(")];
            let verbs: Vec<_> =
                verbs.into_iter().filter(|(_, word)| handlers.contains(word)).collect();
            assert!(!verbs.is_empty(), "{path} is neither read nor sent to");
            found
                .extend(verbs.iter().map(|(verb, _)| (*verb, format!("{prefix}{path}"))));
        }
        found
    }

    #[test]
    fn every_route_stands_in_the_table_and_nothing_else() {
        let mut routed = routes(include_str!("router.rs"), "");
        routed.extend(routes(include_str!("api.rs"), "/api"));
        assert!(routed.len() > 70, "{}", routed.len());
        let told: BTreeSet<(Verb, String)> =
            WAYS.iter().map(|(verb, path, _, _)| (*verb, (*path).to_owned())).collect();
        assert_eq!(told.len(), WAYS.len(), "a way stands twice");
        let missing: Vec<_> = routed.difference(&told).collect();
        let gone: Vec<_> = told.difference(&routed).collect();
        assert_eq!((missing, gone), (vec![], vec![]));
    }

    #[test]
    fn roles_meet_what_the_record_asks_for() {
        let cell = |table: usize, row: &str, column: &str| {
            let [ways, acts] = tables();
            let table = if table == 0 { ways } else { acts };
            let at = table.columns.iter().position(|found| *found == column).unwrap();
            let row = table.rows.iter().find(|found| found[0] == row).unwrap();
            row[at].clone()
        };
        for (table, row, column, expected) in [
            (0, "POST /season", "plan", YES),
            (0, "POST /season", "inspect", NO),
            (0, "GET /survey", "bench", YES),
            (0, "GET /survey", "observer", NO),
            (0, "GET /record", "observer", YES),
            (0, "POST /import", "appoint", YES),
            (0, "POST /import", "bench", NO),
            (0, "POST /act/{word}", "bench", BY_ACT),
            (1, "grant", "appoint", YES),
            (1, "grant", "plan", NO),
            (1, "raise", "bench", YES),
            (1, "raise", "observer", NO),
            (1, "enrol", "observer", OWN),
            (1, "withdraw", "appoint", IN_CASES),
            (1, "withdraw", "bench", NO),
            (1, "answer", "engineer", YES),
        ] {
            assert_eq!(cell(table, row, column), expected, "{row} {column}");
        }
        for table in tables() {
            assert!(table.rows.iter().all(|row| row.len() == table.columns.len()));
        }
    }
}
