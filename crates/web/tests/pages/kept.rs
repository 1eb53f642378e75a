//! What devices keep: the worker, and that all of it goes with whoever leaves.

use crate::workshop::served;

#[test]
fn the_worker_keeps_files_that_exist_and_no_secret() {
    let served = served();
    let mut stranger = served.stranger();
    let worker = stranger.get("/worker.js");
    assert_eq!(worker.status, 200);
    assert!(worker.headers["content-type"].starts_with("text/javascript"));
    assert_eq!(worker.headers["cache-control"], "no-cache");
    let list = worker.body.split(['[', ']']).nth(1).unwrap();
    let files: Vec<&str> = list.split('"').filter(|part| part.starts_with('/')).collect();
    assert!(files.len() > 8, "{list}");
    for file in files {
        assert_eq!(stranger.get(file).status, 200, "{file}");
    }
    // Twelve hours, as long as a session lasts at most.
    assert!(worker.body.contains("const LASTS = 43200000;"));
}

#[test]
fn a_page_says_for_whom_it_is_and_what_is_entered() {
    let served = served();
    served.card();
    let mut client = served.person("TR");
    let page = client.get("/today").body;
    assert!(page.contains("<body data-who=\"TR\">"), "{page}");
    assert!(!page.contains("data-entered"));
    assert!(!served.stranger().get("/sign-in").body.contains("data-who"));
    assert!(!served.stranger().get("/no-connection").body.contains("data-who"));
    let answer = client.sign("start", &[("job", "ON:PROP-P")], "four words of TR");
    assert!(client.get(answer.to()).body.contains("data-entered"));
}

/// W3C, Clear Site Data, 3.1: "storage" clears what scripts and workers kept, "cache" what the
/// browser kept of pages and files.
#[test]
fn signing_out_clears_what_the_device_kept() {
    let both = "\"cache\", \"storage\"";
    let served = served();
    for path in ["/sign-out", "/sign-out-everywhere"] {
        let mut client = served.person("TR");
        let csrf = client.get("/lists").value("_csrf");
        let answer = client.post(path, &[("_csrf", &csrf)]);
        assert_eq!((answer.status, answer.to()), (303, "/sign-in"), "{path}");
        assert_eq!(answer.headers["clear-site-data"], both, "{path}");
    }
    let kept = served.person("TR").post("/sign-out", &[("_csrf", "another")]);
    assert!(!kept.headers.contains_key("clear-site-data"), "nobody signed out");
}
