//! A real browser, asked by `WebDriver` (W3C, <https://www.w3.org/TR/webdriver2/>).
//!
//! Chromium's driver is started once for all tests of a process. A watcher ends it, and all
//! that it started, as soon as the process is gone, however that went.

use std::io::{BufRead, BufReader};
use std::os::unix::process::CommandExt;
use std::path::PathBuf;
use std::process::{Child, ChildStdout, Command, Stdio};
use std::sync::OnceLock;
use std::time::Duration;

use serde_json::{Value, json};
use tempfile::TempDir;
use ureq::Agent;

/// Set by the gate, within which a missing browser is a failure.
const GATE: &str = "TURNBUCKLE_GATE";

/// Runs the driver until its own input ends, that is until the test's process has ended, and
/// then ends all of its group.
const WATCHER: &str = "chromedriver --port=0 </dev/null & \
     cat >/dev/null; trap '' TERM; kill -TERM 0; sleep 2; rm -rf \"$1\"; kill -KILL 0";

/// How a test looks for elements, and how long it waits for what is to come.
pub(crate) const PATIENCE: Duration = Duration::from_secs(20);

struct Driver {
    base: String,
    /// Where each browser has a folder; the watcher removes it.
    profiles: PathBuf,
    // Its input is open as long as this lives, which is as long as the process.
    _watcher: Child,
    // Kept, so that it can go on telling.
    _told: BufReader<ChildStdout>,
}

/// The driver, or why there is none.
fn driver() -> Result<&'static Driver, &'static str> {
    static DRIVER: OnceLock<Result<Driver, String>> = OnceLock::new();
    DRIVER.get_or_init(start).as_ref().map_err(String::as_str)
}

fn start() -> Result<Driver, String> {
    for program in ["chromium", "chromedriver"] {
        let version = Command::new(program).arg("--version").output();
        if !version.is_ok_and(|output| output.status.success()) {
            return Err(format!("`{program}` does not run"));
        }
    }
    let profiles = TempDir::new().map_err(|error| error.to_string())?.keep();
    let mut watcher = Command::new("sh")
        .args(["-c", WATCHER, "watcher"])
        .arg(&profiles)
        .env("LANGUAGE", "en_GB")
        .process_group(0)
        .stdin(Stdio::piped())
        .stdout(Stdio::piped())
        .stderr(Stdio::null())
        .spawn()
        .map_err(|error| format!("the driver can't be started: {error}"))?;
    let mut told = BufReader::new(watcher.stdout.take().expect("a pipe"));
    let begun = "started successfully on port ";
    let mut line = String::new();
    while told.read_line(&mut line).is_ok_and(|read| read > 0) {
        if let Some((_, port)) = line.trim_end().split_once(begun) {
            let base = format!("http://127.0.0.1:{}", port.trim_end_matches('.'));
            return Ok(Driver { base, profiles, _watcher: watcher, _told: told });
        }
        line.clear();
    }
    Err("the driver ended without saying where it listens".to_owned())
}

/// Whether a browser is there. Without one the tests say so and try nothing; within the
/// gate that is a failure.
pub(crate) fn there_is_a_browser() -> bool {
    let Err(why) = driver() else { return true };
    let told = format!(
        "nothing was tested in a browser: {why}. It takes `chromium` and `chromedriver` on the \
         path; on Debian `apt-get install chromium chromium-driver` gives both"
    );
    assert!(std::env::var_os(GATE).is_none(), "{told}");
    println!("{told}");
    false
}

/// A session with a browser of its own: no cookie and no cache is shared with another.
pub(crate) struct Session {
    agent: Agent,
    base: String,
}

/// What the driver did not do: its code and its words.
#[derive(Debug)]
pub(crate) struct Refused {
    pub(crate) code: String,
    pub(crate) told: String,
}

impl Session {
    /// Starts a browser that reaches this machine and nothing else.
    pub(crate) fn begin() -> Self {
        let driver = driver().expect("a browser");
        let config = Agent::config_builder()
            .http_status_as_error(false)
            .timeout_global(Some(Duration::from_mins(3)))
            .build();
        let mut session = Self { agent: config.into(), base: driver.base.clone() };
        let profile =
            tempfile::Builder::new().prefix("profile").tempdir_in(&driver.profiles);
        let profile = profile.expect("a folder").keep();
        let profile = format!("--user-data-dir={}", profile.display());
        let mut arguments = vec![profile.as_str()];
        arguments.extend(ARGUMENTS);
        let wanted = json!({"capabilities": {"alwaysMatch": {
            "browserName": "chrome",
            "goog:chromeOptions": {"args": arguments},
            "goog:loggingPrefs": {"browser": "ALL"},
            "timeouts": {"script": 120_000},
        }}});
        let begun = session.send("POST", "/session", &wanted);
        let begun = begun.unwrap_or_else(|refused| panic!("no browser: {refused:?}"));
        let id = begun["sessionId"].as_str().expect("an id").to_owned();
        session.base = format!("{}/session/{id}", session.base);
        session
    }

    fn send(&self, method: &str, path: &str, body: &Value) -> Result<Value, Refused> {
        let url = format!("{}{path}", self.base);
        let answer = match method {
            "GET" => self.agent.get(&url).call(),
            "DELETE" => self.agent.delete(&url).call(),
            _ => self
                .agent
                .post(&url)
                .header("content-type", "application/json")
                .send(body.to_string()),
        };
        let mut answer = answer.unwrap_or_else(|error| panic!("the driver: {error}"));
        let reader = answer.body_mut().with_config().limit(64 << 20);
        let text = reader.read_to_string().expect("an answer");
        let mut told: Value = serde_json::from_str(&text).expect("JSON");
        let value = told["value"].take();
        if answer.status().is_success() {
            return Ok(value);
        }
        let of = |name: &str| value[name].as_str().unwrap_or_default().to_owned();
        Err(Refused { code: of("error"), told: of("message") })
    }

    pub(crate) fn get(&self, path: &str) -> Result<Value, Refused> {
        self.send("GET", path, &Value::Null)
    }

    pub(crate) fn post(&self, path: &str, body: &Value) -> Result<Value, Refused> {
        self.send("POST", path, body)
    }

    pub(crate) fn delete(&self, path: &str) -> Result<Value, Refused> {
        self.send("DELETE", path, &Value::Null)
    }
}

impl Drop for Session {
    fn drop(&mut self) {
        let _ = self.delete("");
    }
}

/// Nothing is looked up and nothing is fetched beside what the tests ask for; pictures come
/// out alike on each machine.
const ARGUMENTS: [&str; 15] = [
    "--headless=new",
    // Tests may run as root, where the browser's own cage does not start.
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--disable-dev-shm-usage",
    "--no-first-run",
    "--no-default-browser-check",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-default-apps",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
    "--hide-scrollbars",
    "--lang=en-GB",
    "--window-size=1280,900",
];
