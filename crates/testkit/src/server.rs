//! A PostgreSQL server for the tests: the one that `TURNBUCKLE_TEST_POSTGRES` names by a
//! connection string, or else a throw-away one that this process starts and ends.

use std::io::Write;
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::sync::OnceLock;
use std::thread;
use std::time::Duration;

use tempfile::TempDir;

/// Names a server by a connection string; its user must be a superuser.
const VARIABLE: &str = "TURNBUCKLE_TEST_POSTGRES";

/// Set by the gate, within which a missing server is a failure.
const GATE: &str = "TURNBUCKLE_GATE";

/// Where Debian keeps the programs of each version.
const DEBIAN: &str = "/usr/lib/postgresql";

/// A user of the throw-away server who must give a password, and the password.
pub const GUARDED: (&str, &str) = ("guarded", "an open:secret");

/// A server, or why there is none.
#[derive(Debug)]
pub enum Found {
    /// A server.
    Server(Server),
    /// Why there is none.
    Nothing(String),
}

/// A server that answers.
#[derive(Debug)]
pub struct Server {
    connection: String,
    // Ended by the watcher that is started with it.
    own: Option<(Child, TempDir)>,
}

impl Server {
    /// The connection string of a superuser, in the form of keys and values or of a URL.
    pub fn connection(&self) -> &str {
        &self.connection
    }

    /// The same as a URL with the parameter `schema`, which is ours.
    pub fn address(&self, schema: &str) -> String {
        let given = &self.connection;
        if given.contains("://") {
            let sign = if given.contains('?') { '&' } else { '?' };
            return format!("{given}{sign}schema={schema}");
        }
        let pairs: Vec<&str> = given.split_whitespace().collect();
        format!("postgresql:///?{}&schema={schema}", pairs.join("&"))
    }

    /// The folder of the socket of a throw-away server, through which the user
    /// [`GUARDED`] can be met; `None` for a server that was named.
    pub fn socket(&self) -> Option<&Path> {
        self.own.as_ref().map(|(_, folder)| folder.path())
    }
}

/// The server of this process; `Nothing` says why there is none.
///
/// # Panics
///
/// Within the gate if there is none.
pub fn find_server() -> &'static Found {
    static FOUND: OnceLock<Found> = OnceLock::new();
    FOUND.get_or_init(|| {
        let found = search();
        let missing =
            matches!(found, Found::Nothing(_)) && std::env::var_os(GATE).is_some();
        assert!(!missing, "the gate needs a PostgreSQL server: {found:?}");
        found
    })
}

fn search() -> Found {
    if let Some(connection) = std::env::var_os(VARIABLE) {
        let connection = connection.to_string_lossy().into_owned();
        return Found::Server(Server { connection, own: None });
    }
    let Some(programs) = programs() else {
        return Found::Nothing(format!(
            "no `initdb` on the path or below {DEBIAN}, and {VARIABLE} names no server; on \
             Debian, `apt-get install postgresql` gives one"
        ));
    };
    match start(&programs) {
        Ok(server) => Found::Server(server),
        Err(why) => Found::Nothing(format!("{} didn't start: {why}", programs.display())),
    }
}

/// The folder of `initdb` and `postgres`.
fn programs() -> Option<PathBuf> {
    let whole = |folder: &PathBuf| {
        folder.join("initdb").exists() && folder.join("postgres").exists()
    };
    let path = std::env::var_os("PATH")?;
    let mut folders: Vec<PathBuf> = std::env::split_paths(&path).collect();
    if let Ok(versions) = std::fs::read_dir(DEBIAN) {
        folders.extend(versions.flatten().map(|version| version.path().join("bin")));
    }
    let found = folders.iter().find(|folder| whole(folder))?;
    // Debian links to them from the path, and they look for their files beside themselves.
    let initdb = found.join("initdb").canonicalize().ok()?;
    initdb.parent().map(Path::to_owned)
}

fn start(programs: &Path) -> Result<Server, String> {
    let folder = tempfile::Builder::new()
        .prefix("tb")
        .tempdir()
        .map_err(|error| error.to_string())?;
    let data = folder.path().join("data");
    let user = other_user();
    if let Some(user) = user {
        succeed(Command::new("chown").arg(user).arg(folder.path()))?;
    }
    let mut initdb = as_user(user, &programs.join("initdb"));
    initdb.args(["--username=tester", "--auth=trust", "--encoding=UTF8", "--no-locale"]);
    succeed(initdb.arg("--pgdata").arg(&data))?;
    guard(user, programs, &data)?;
    let mut server = as_user(user, &programs.join("postgres"));
    server
        .arg("-D")
        .arg(&data)
        .arg("-k")
        .arg(folder.path())
        // Nobody else can reach it, and what it acknowledges is on disk.
        .args(["-c", "listen_addresses=", "-c", "fsync=on", "-c", "shared_buffers=32MB"])
        .stdin(Stdio::null())
        .stdout(Stdio::null())
        .stderr(Stdio::null());
    let child = server.spawn().map_err(|error| error.to_string())?;
    watch(child.id(), folder.path())?;
    let host = folder.path().display();
    let connection = format!("host={host} user=tester dbname=postgres");
    for _ in 0..400 {
        if is_ready(&data) {
            return Ok(Server { connection, own: Some((child, folder)) });
        }
        thread::sleep(Duration::from_millis(50));
    }
    Err("it wasn't ready within 20 s".to_owned())
}

/// Whether the server says so in its own file, on whose eighth line its state stands.
fn is_ready(data: &Path) -> bool {
    let text = std::fs::read_to_string(data.join("postmaster.pid")).unwrap_or_default();
    text.lines().nth(7).is_some_and(|state| state.trim() == "ready")
}

/// Makes a superuser who must give a password, by the server in its form for one user.
fn guard(user: Option<&str>, programs: &Path, data: &Path) -> Result<(), String> {
    let (name, password) = GUARDED;
    let rules = data.join("pg_hba.conf");
    let told = |error: std::io::Error| error.to_string();
    let others = std::fs::read_to_string(&rules).map_err(told)?;
    let first = format!("local all {name} scram-sha-256\n");
    std::fs::write(&rules, first + &others).map_err(told)?;
    let mut single = as_user(user, &programs.join("postgres"));
    single.arg("--single").arg("-D").arg(data).arg("postgres").current_dir("/");
    single.stdin(Stdio::piped()).stdout(Stdio::null()).stderr(Stdio::null());
    let mut child = single.spawn().map_err(told)?;
    let statement =
        format!("CREATE ROLE {name} SUPERUSER LOGIN PASSWORD '{password}';\n");
    let mut stdin = child.stdin.take().ok_or("it takes no statements")?;
    stdin.write_all(statement.as_bytes()).map_err(told)?;
    drop(stdin);
    let ended = child.wait().map_err(told)?;
    if ended.success() { Ok(()) } else { Err(format!("--single: {ended}")) }
}

/// Starts a small shell that waits until this process is gone, however it ended, and then
/// ends the server and removes its files.
fn watch(server: u32, folder: &Path) -> Result<(), String> {
    let own = std::process::id();
    let script = format!(
        "while kill -0 {own} 2>/dev/null; do sleep 0.2; done; kill -QUIT {server}; \
         while kill -0 {server} 2>/dev/null; do sleep 0.1; done; rm -rf \"$1\""
    );
    let mut watcher = Command::new("sh");
    watcher.args(["-c", &script, "watcher"]).arg(folder);
    watcher.stdin(Stdio::null()).stdout(Stdio::null()).stderr(Stdio::null());
    watcher.spawn().map(drop).map_err(|error| error.to_string())
}

/// The superuser may not run a server; `postgres` or `nobody` does it then.
fn other_user() -> Option<&'static str> {
    let id = Command::new("id").arg("-u").output().ok()?;
    if id.stdout.trim_ascii() != b"0" {
        return None;
    }
    ["postgres", "nobody"].into_iter().find(|user| {
        let known = Command::new("id").arg(user).output();
        known.is_ok_and(|output| output.status.success())
    })
}

/// `program`, to be run by `user`; the process is that of the program itself.
fn as_user(user: Option<&str>, program: &Path) -> Command {
    let Some(user) = user else { return Command::new(program) };
    let group = Command::new("id").args(["-g", user]).output();
    let group = group.map(|output| output.stdout.trim_ascii().to_vec());
    let group = String::from_utf8(group.unwrap_or_default()).unwrap_or_default();
    let mut command = Command::new("setpriv");
    command
        .arg(format!("--reuid={user}"))
        .arg(format!("--regid={group}"))
        .arg("--clear-groups")
        .arg(program);
    command
}

fn succeed(command: &mut Command) -> Result<(), String> {
    // A folder that the other user may enter.
    let output: Output =
        command.current_dir("/").output().map_err(|error| error.to_string())?;
    if output.status.success() {
        return Ok(());
    }
    let program = command.get_program().display().to_string();
    Err(format!("{program}: {}", String::from_utf8_lossy(&output.stderr).trim()))
}
