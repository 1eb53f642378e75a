//! Findings as a list that a link narrows, and what can be decided about one.

use crate::html;
use crate::workshop::served;

#[test]
fn the_address_narrows_and_the_form_shows_it() {
    let served = served();
    served.enter(
        "MS",
        "classify",
        &[
            ("finding", "F-001"),
            ("condition", "outside limits"),
            ("allows", "taxi"),
            ("basis", "manual"),
        ],
    );
    let mut client = served.person("HB");
    let all = client.get("/findings");
    assert!(all.body.contains("F-001") && all.body.contains("F-002"));
    for (query, there, absent) in [
        ("class=outside%20limits", "F-001", "F-002"),
        ("item=PB-FP&who=OP", "F-001", "F-002"),
        ("text=Drain", "F-002", "F-001"),
        ("zone=BOTTOM&gate=taxi", "F-002", "F-001"),
        ("state=classed", "F-001", "F-002"),
    ] {
        let answer = client.get(&format!("/findings?{query}"));
        assert_eq!(html::faults(&answer.body), [""; 0], "{query}");
        let link = |name: &str| format!("href=\"/show/findings/{name}\"");
        assert!(answer.body.contains(&link(there)), "{query}");
        assert!(!answer.body.contains(&link(absent)), "{query}");
    }
    let zone = client.get("/findings?zone=BOTTOM").body;
    assert!(zone.contains("<option value=\"BOTTOM\" selected"), "{zone}");
    assert!(zone.contains("zone=BOTTOM&amp;as=csv"), "{zone}");
}

#[test]
fn a_link_that_names_nothing_says_so_at_the_field() {
    let served = served();
    let answer = served.person("HB").get("/findings?zone=BOTTOMM&sort=nonsense");
    assert_eq!((answer.status, html::faults(&answer.body)), (200, Vec::new()));
    assert!(answer.body.contains("there is no zone `BOTTOMM`; did you mean `BOTTOM`?"));
    assert!(answer.body.contains("None fits."));
}

#[test]
fn the_list_is_taken_as_csv_and_json() {
    let served = served();
    let mut client = served.person("HB");
    let csv = client.get("/findings?zone=BOTTOM&as=csv");
    assert!(csv.headers["content-type"].starts_with("text/csv"));
    assert!(csv.body.starts_with("finding,item,zone,state,class,"), "{}", csv.body);
    assert!(
        csv.body.lines().skip(1).all(|line| line.contains(",BOTTOM,")),
        "{}",
        csv.body
    );
    let json = client.get("/findings?as=json");
    assert_eq!(json.headers["content-type"], "application/json");
}

#[test]
fn what_can_be_decided_is_shown_to_whoever_may_with_the_gates_it_clears() {
    let served = served();
    let page = served.person("MS").get("/show/findings/F-001").body;
    assert_eq!(html::faults(&page), [""; 0]);
    for told in [
        "nobody who may class findings has said how bad F-001 is",
        "/act/classify?finding=F-001&amp;condition=outside%20limits&amp;allows=taxi",
        "clears ",
        "stands before ",
    ] {
        assert!(page.contains(told), "{told}\n{page}");
    }
    let bench = served.person("HB").get("/show/findings/F-001").body;
    assert!(!bench.contains("/act/classify?finding=F-001&amp;condition"));
}
