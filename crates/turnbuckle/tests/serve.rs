//! Serving pages, as whoever starts it meets it: a real process, a real port.

use std::io::{BufRead, BufReader, Read, Write};
use std::net::TcpStream;
use std::path::Path;
use std::process::{Child, Command, Stdio};

use tempfile::TempDir;

fn turnbuckle(dir: &Path, arguments: &[&str]) -> Command {
    let mut command = Command::new(env!("CARGO_BIN_EXE_turnbuckle"));
    command.current_dir(dir).args(arguments);
    command
}

fn good(dir: &Path, arguments: &[&str]) {
    let output = turnbuckle(dir, arguments).output().expect("the program starts");
    let wrong = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success(), "{arguments:?}\n{wrong}");
}

/// A program that serves, stopped when it is dropped.
struct Serving(Child);

impl Drop for Serving {
    fn drop(&mut self) {
        // It may have ended by itself.
        let _ = self.0.kill();
        let _ = self.0.wait();
    }
}

/// Starts serving; the program, what it said, and the address.
fn start(dir: &Path, arguments: &[&str]) -> (Serving, String, String) {
    let mut command = turnbuckle(dir, arguments);
    let child = command.stdout(Stdio::piped()).stderr(Stdio::null()).spawn();
    let mut serving = Serving(child.expect("the program starts"));
    let out = serving.0.stdout.take().expect("it is piped");
    let mut said = String::new();
    let mut lines = BufReader::new(out).lines();
    let mut address = String::new();
    for line in &mut lines {
        let line = line.expect("it is a text");
        if let Some(found) = line.strip_prefix("open this in a browser: http://") {
            found.trim_end_matches('/').clone_into(&mut address);
        }
        said.push_str(&line);
        said.push('\n');
        if line == "Ctrl-C stops" {
            break;
        }
    }
    // What follows is read to its end elsewhere, so that the program can say it.
    std::thread::spawn(move || lines.for_each(drop));
    (serving, said, address)
}

fn get(address: &str, path: &str) -> String {
    let mut stream = TcpStream::connect(address).expect("somebody listens");
    write!(stream, "GET {path} HTTP/1.1\r\nhost: {address}\r\nconnection: close\r\n\r\n")
        .expect("it is sent");
    let mut answer = String::new();
    stream.read_to_string(&mut answer).expect("it is answered");
    answer
}

#[test]
fn pages_are_served_until_somebody_stops_them() {
    let dir = TempDir::new().unwrap();
    let dir = dir.path();
    good(dir, &["new", "boat"]);
    good(dir, &["load", "boat"]);
    let (mut serving, said, address) = start(dir, &["serve", "--listen", "127.0.0.1:0"]);
    assert!(get(&address, "/sign-in").starts_with("HTTP/1.1 200"), "{said}");
    // Nobody has a secret: the link by which the first one enrols is told here and nowhere else.
    let link = said.lines().find(|line| line.contains("/first/")).expect("a link");
    let path = link.split_once(&address).map_or("", |(_, path)| path);
    assert!(get(&address, path).contains("The first secret"), "{link}");
    assert!(get(&address, "/first/other").starts_with("HTTP/1.1 404"));
    // While it serves, the command line gets at the ledger too.
    good(dir, &["load", "boat"]);
    let stop = Command::new("kill").arg(serving.0.id().to_string()).status();
    assert!(stop.expect("there is a kill").success());
    assert!(serving.0.wait().expect("it ends").success(), "it stops in order");
}

#[test]
fn secrets_never_cross_a_network_in_clear() {
    let dir = TempDir::new().unwrap();
    let arguments = ["serve", "--listen", "0.0.0.0:0"];
    let output = turnbuckle(dir.path(), &arguments).output().expect("the program starts");
    let wrong = String::from_utf8_lossy(&output.stderr).into_owned();
    assert_eq!(output.status.code(), Some(1), "{wrong}");
    for told in ["in clear", "--tls-cert", "--self-signed", "--behind-proxy"] {
        assert!(wrong.contains(told), "{told}: {wrong}");
    }
}

#[test]
fn the_example_is_served_with_a_person_for_each_role() {
    let dir = TempDir::new().unwrap();
    let demo = ["demo", "--steps", "50", "--for", "20s", "--listen", "127.0.0.1:0"];
    let (serving, said, address) = start(dir.path(), &demo);
    assert!(said.contains("INVENTED PEOPLE"), "{said}");
    assert!(get(&address, "/sign-in").starts_with("HTTP/1.1 200"));
    assert!(!said.contains("/first/"), "they have secrets already");
    drop(serving);
    // Again, over what is there: with the same secrets.
    let (_serving, again, _) = start(dir.path(), &demo);
    let people = |said: &str| {
        let lines = said.lines().skip_while(|line| !line.starts_with("INVENTED PEOPLE"));
        lines.take(8).map(ToOwned::to_owned).collect::<Vec<_>>()
    };
    assert_eq!(people(&said), people(&again));
    assert_eq!(people(&said).len(), 8);
}
