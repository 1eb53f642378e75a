//! Every page of the table of routes, read by a checker of HTML that somebody else wrote: the
//! Nu Html Checker (<https://validator.github.io/validator/>, MIT, fetched by the gate).

use std::path::Path;
use std::process::Command;

use serde_json::Value;
use tempfile::TempDir;

use crate::axe::package;
use crate::routes::ROUTES;
use crate::sweep::open_to_all;
use crate::workshop::secret;

/// What the checker says is wrong with the files of a folder.
fn faults(checker: &Path, folder: &Path) -> Vec<String> {
    let output = Command::new("java")
        .arg("-jar")
        .arg(checker)
        .args(["--stdout", "--format", "json", "--exit-zero-always", "--also-check-css"])
        .arg(folder)
        .output()
        .expect("`java` runs; on Debian `apt-get install default-jre-headless` gives it");
    assert!(output.status.success(), "{}", String::from_utf8_lossy(&output.stderr));
    let told: Value = serde_json::from_slice(&output.stdout).expect("JSON");
    let told = told["messages"].as_array().expect("messages").iter();
    let text = |message: &Value, name: &str| {
        message[name].as_str().unwrap_or_default().replace('\n', " ")
    };
    let wrong = told.filter(|message| message["type"] != "info" || is_warning(message));
    wrong
        .map(|message| {
            let url = text(message, "url");
            let (file, what) = (url.rsplit('/').next(), text(message, "message"));
            let (line, extract) = (&message["lastLine"], text(message, "extract"));
            format!("{}:{line}: {what}: {extract}", file.unwrap_or_default())
        })
        .collect()
}

fn is_warning(message: &Value) -> bool {
    message["subType"] == "warning"
}

fn keep(folder: &Path, name: &str, body: &str) {
    let plain = |c: char| if c.is_ascii_alphanumeric() { c } else { '-' };
    let name: String = name.chars().map(plain).collect();
    std::fs::write(folder.join(format!("page{name}.html")), body).unwrap();
}

#[test]
fn every_page_is_valid_html() {
    let Some(checker) = package("vnu-jar/build/dist/vnu.jar") else { return };
    let (served, folder) = (open_to_all(), TempDir::new().unwrap());
    let (mut stranger, mut client) = (served.stranger(), served.person("TR"));
    keep(folder.path(), "-signed-out", &stranger.get("/sign-in").body);
    let mut styles = Vec::new();
    for (path, _) in ROUTES {
        let answer = client.get(path);
        let kind = answer.headers.get("content-type");
        if kind.is_some_and(|kind| kind.starts_with("text/html")) {
            keep(folder.path(), path, &answer.body);
            styles.extend(linked_styles(&answer.body));
        }
    }
    for form in app::act_forms() {
        let path = format!("/act/{}", form.word);
        let asked = client.get(&path);
        keep(folder.path(), &path, &asked.body);
        if form.word == "enrol" {
            continue;
        }
        // Sent with nothing in it, it comes back with what is wrong beside the fields.
        let refused = client.send(&asked, form.word, &[], &secret("TR"));
        if refused.status != 303 {
            keep(folder.path(), &format!("{path}-refused"), &refused.body);
        }
    }
    styles.sort_unstable();
    styles.dedup();
    assert!(!styles.is_empty());
    for path in styles {
        let file = folder.path().join(path.rsplit('/').next().unwrap());
        std::fs::write(file, client.get(&path).body).unwrap();
    }
    let kept = std::fs::read_dir(folder.path()).unwrap().count();
    assert!(kept > 100, "{kept}");
    let found = faults(&checker, folder.path());
    assert!(found.is_empty(), "{}", found.join("\n"));
}

/// The addresses of a page's stylesheets.
fn linked_styles(page: &str) -> Vec<String> {
    let parts = page.split("rel=\"stylesheet\" href=\"").skip(1);
    parts.filter_map(|rest| Some(rest.split_once('"')?.0.to_owned())).collect()
}

#[test]
fn what_is_not_valid_is_found() {
    let Some(checker) = package("vnu-jar/build/dist/vnu.jar") else { return };
    let folder = TempDir::new().unwrap();
    let page = |body: &str| {
        format!(
            "<!DOCTYPE html><html lang=\"en\"><head><title>t</title></head><body>{body}"
        )
    };
    keep(folder.path(), "-good", &page("<p>all is well</p>"));
    assert_eq!(faults(&checker, folder.path()), [""; 0]);
    keep(
        folder.path(),
        "-bad",
        &page("<ul><p>no item</p></ul><p id=\"a\"></p><b id=\"a\">"),
    );
    std::fs::write(folder.path().join("bad.css"), "p { colour: blue }").unwrap();
    let found = faults(&checker, folder.path()).join("\n");
    for part in ["page-bad.html", "Duplicate ID", "bad.css", "colour"] {
        assert!(found.contains(part), "{part}: {found}");
    }
}
