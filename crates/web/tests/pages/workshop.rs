//! A workshop that is served: the invented example, with people who have secrets.

use std::net::SocketAddr;
use std::path::PathBuf;
use std::sync::mpsc::channel;
use std::sync::{Arc, Mutex};
use std::thread::JoinHandle;

use app::{
    Act, Derivation, Desk, MadePass, NewPass, PassScope, Place, Secret, Signed, Workshop,
};
use tempfile::TempDir;
use web::{Config, Now, Rates, Serving, Sessions, Transport};

use crate::client::Client;

const EXAMPLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");
const STAMP: &str = "2032-01-14T12:00:00+00:00";

/// Who may do what in the tests; the first appoints the others. The last two have no authority;
/// the last of them observes.
pub(crate) const PEOPLE: [(&str, &[&str]); 7] = [
    ("OP", &["appoint"]),
    ("TR", &["plan", "certify", "stores", "supervise", "rob"]),
    ("BK", &["inspect"]),
    ("MS", &["classify", "engineer"]),
    ("AC", &["inspect", "release"]),
    ("HB", &[]),
    (OBSERVER, &[]),
];

/// Who reads and signs nothing.
pub(crate) const OBSERVER: &str = "CP";

/// The secret of somebody.
pub(crate) fn secret(person: &str) -> String {
    format!("four words of {person}")
}

pub(crate) struct Served {
    pub(crate) address: SocketAddr,
    pub(crate) place: Place,
    pub(crate) log: Arc<Mutex<Vec<String>>>,
    pub(crate) serving: Serving,
    pub(crate) desk: Arc<Desk>,
    thread: Option<JoinHandle<()>>,
    dir: TempDir,
}

impl Drop for Served {
    fn drop(&mut self) {
        self.serving.stop();
        self.thread.take().unwrap().join().unwrap();
    }
}

pub(crate) fn signed(by: &str) -> Signed {
    let secret = (by != "load").then(|| Secret::new(&secret(by)));
    Signed { by: by.to_owned(), at: STAMP.to_owned(), secret }
}

fn unsealed(by: &str) -> Signed {
    Signed { secret: None, ..signed(by) }
}

pub(crate) fn act(word: &str, fields: &[(&str, &str)]) -> Act {
    let fields: Vec<(String, String)> =
        fields.iter().map(|(name, value)| ((*name).into(), (*value).into())).collect();
    app::act_of_fields(word, &fields).unwrap()
}

/// The example as it was loaded, nobody enrolled.
fn loaded() -> (TempDir, Place) {
    loaded_without(None)
}

/// The same without one of its files.
fn loaded_without(left_out: Option<&str>) -> (TempDir, Place) {
    let dir = TempDir::new().unwrap();
    let place = Place::File(dir.path().join("ledger"));
    let folder = dir.path().join("programme");
    std::fs::create_dir(&folder).unwrap();
    for file in std::fs::read_dir(EXAMPLE).unwrap() {
        let file = file.unwrap();
        if file.file_name().to_str() != left_out {
            std::fs::copy(file.path(), folder.join(file.file_name())).unwrap();
        }
    }
    app::load(&folder, &place, &unsealed("load")).unwrap();
    (dir, place)
}

fn grants() -> Vec<Act> {
    let mut acts = Vec::new();
    for (person, powers) in PEOPLE {
        for power in powers {
            let name = format!("A-{person}-{power}");
            acts.push(act(
                "grant",
                &[
                    ("authority", &name),
                    ("person", person),
                    ("power", power),
                    ("reference", "invented approval"),
                    ("from", "2020-01-01"),
                ],
            ));
        }
    }
    acts
}

fn appointed() -> (TempDir, Place) {
    appointed_in(loaded())
}

fn appointed_in((dir, place): (TempDir, Place)) -> (TempDir, Place) {
    let mut workshop = Workshop::open(&place).unwrap();
    for grant in grants() {
        workshop.act(&[grant], &unsealed("OP"), None).unwrap();
    }
    for (number, (person, _)) in PEOPLE.into_iter().enumerate() {
        let key = Secret::new(&secret(person));
        let enrol = app::enrolment_by(person, &key, "first", Derivation::LEAST).unwrap();
        let by = if number == 0 { unsealed("OP") } else { signed("OP") };
        workshop.act(&[enrol], &by, None).unwrap();
    }
    (dir, place)
}

/// The example with people who have secrets, served in clear.
pub(crate) fn served() -> Served {
    serve(appointed(), Transport::Clear, Sessions::default())
}

/// The same of a programme that lacks a file.
pub(crate) fn served_without(file: &str) -> Served {
    let appointed = appointed_in(loaded_without(Some(file)));
    serve(appointed, Transport::Clear, Sessions::default())
}

/// The same as it is served first, when nobody has a secret.
pub(crate) fn unfounded() -> Served {
    serve(loaded(), Transport::Clear, Sessions::default())
}

pub(crate) fn served_by(transport: Transport, sessions: Sessions) -> Served {
    serve(appointed(), transport, sessions)
}

/// The same with other limits on how often one may ask.
pub(crate) fn served_at(rates: Rates) -> Served {
    begin(appointed(), Transport::Clear, Sessions::default(), (rates, None))
}

/// The same with a key that signs bundles; its fingerprint.
pub(crate) fn served_with_key() -> (Served, String) {
    let place = appointed();
    let key = place.0.path().join("key");
    let fingerprint = app::new_key(&key).unwrap().fingerprint();
    let more = (Rates::default(), Some(key));
    (begin(place, Transport::Clear, Sessions::default(), more), fingerprint)
}

fn serve(place: (TempDir, Place), transport: Transport, sessions: Sessions) -> Served {
    begin(place, transport, sessions, (Rates::default(), None))
}

fn begin(
    (dir, place): (TempDir, Place),
    transport: Transport,
    sessions: Sessions,
    (rates, key): (Rates, Option<PathBuf>),
) -> Served {
    let log = Arc::new(Mutex::new(Vec::new()));
    let lines = Arc::clone(&log);
    let desk = Arc::new(Desk::open(&place).unwrap());
    let config = Config {
        desk: Arc::clone(&desk),
        clock: Arc::new(|| Now {
            day: STAMP[..10].parse().unwrap(),
            stamp: STAMP.to_owned(),
        }),
        log: Arc::new(move |line: &str| lines.lock().unwrap().push(line.to_owned())),
        transport,
        sessions,
        rates,
        key,
        public: Some("https://hangar.example".to_owned()),
    };
    let (begun, started) = channel();
    let listen = SocketAddr::from(([127, 0, 0, 1], 0));
    let thread = std::thread::spawn(move || {
        web::serve(config, listen, |serving| begun.send(serving).unwrap()).unwrap();
    });
    let serving = started.recv().unwrap();
    let (address, thread) = (serving.address, Some(thread));
    Served { address, place, log, serving, desk, thread, dir }
}

impl Served {
    /// Somebody who has not signed in.
    pub(crate) fn stranger(&self) -> Client {
        Client::new(&format!("http://{}", self.address))
    }

    /// Somebody who has.
    pub(crate) fn person(&self, person: &str) -> Client {
        let mut client = self.stranger();
        let answer = client.sign_in(person, &secret(person));
        assert_eq!(answer.status, 303, "{person}: {}", answer.body);
        client
    }

    /// A pass of somebody.
    pub(crate) fn pass(&self, person: &str, scope: PassScope) -> String {
        let (owner, label) = (person.to_owned(), "a test".to_owned());
        let new = NewPass { owner, scope, label, expires: None, request: None };
        match app::make_pass(&self.desk, new, STAMP).unwrap() {
            MadePass::New(text) => text,
            other => panic!("{other:?}"),
        }
    }

    /// A program that asks with a token.
    pub(crate) fn program(&self, token: &str) -> Client {
        let mut client = self.stranger();
        client.headers.push(("authorization".into(), format!("Bearer {token}")));
        client
    }

    /// Enters something by the desk.
    pub(crate) fn enter(&self, by: &str, word: &str, fields: &[(&str, &str)]) -> u64 {
        let kept = self.desk.act(vec![act(word, fields)], signed(by), None, None);
        kept.unwrap_or_else(|error| panic!("{word}: {error}"))[0].number
    }

    /// A card with two steps, of which the first is critical.
    pub(crate) fn card(&self) {
        self.enter(
            "TR",
            "issue-card",
            &[
                ("job", "ON:PROP-P"),
                ("title", "Fit the port propeller"),
                ("item", "PROP-P"),
                ("steps.1.id", "10"),
                ("steps.1.text", "Torque the nut"),
                ("steps.1.work", "reassemble"),
                ("steps.1.data", "Manual 61"),
                ("steps.1.revision", "2"),
                ("steps.1.inspected", "yes"),
                ("steps.1.independent", "yes"),
                ("steps.2.id", "20"),
                ("steps.2.text", "Lock the nut"),
                ("steps.2.work", "reassemble"),
                ("steps.2.data", "Manual 61"),
                ("steps.2.revision", "2"),
                ("steps.2.independent", "yes"),
            ],
        );
    }

    /// Where the ledger lies.
    pub(crate) fn dir(&self) -> &std::path::Path {
        self.dir.path()
    }
}
