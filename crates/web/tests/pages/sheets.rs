//! Lists, searching, and where we are.

use crate::html;
use crate::workshop::served;

#[test]
fn a_link_shows_the_same_rows_in_the_same_order_to_others() {
    let served = served();
    let page = |person: &str, query: &str| {
        served.person(person).get(&format!("/show/findings{query}")).body
    };
    let all = page("OP", "");
    assert!(all.contains(">F-001</a>") && all.contains("/show/findings/F-002\""));
    let narrowed = page("TR", "?has=F-002");
    assert!(!narrowed.contains(">F-001</a>") && narrowed.contains(">F-002</a>"));
    assert!(narrowed.contains("value=\"F-002\""), "what was typed stays");
    let order = |body: &str| {
        let at = |name: &str| body.find(&format!(">{name}</a>")).unwrap();
        at("F-001") < at("F-002")
    };
    assert!(order(&page("OP", "?sort=0.0")));
    assert!(!order(&page("TR", "?sort=-0.0")));
    assert!(page("OP", "?sort=-0.0").contains("aria-sort=\"descending\""));
}

#[test]
fn a_list_is_csv_and_a_sheet_is_json() {
    let served = served();
    let mut client = served.person("OP");
    let csv = client.get("/show/findings?has=F-002&as=csv&list=0");
    assert!(csv.headers["content-type"].starts_with("text/csv"));
    assert!(csv.headers["content-disposition"].contains("open.csv"));
    let lines: Vec<&str> = csv.body.lines().collect();
    assert_eq!(lines[0], "finding,item,state,allows,found,days,what");
    assert!(lines.len() == 2 && lines[1].starts_with("F-002,"), "{lines:?}");
    let book = client.get("/show/findings?has=F-002&as=xlsx");
    assert!(book.headers["content-type"].ends_with("spreadsheetml.sheet"));
    assert!(book.headers["content-disposition"].ends_with(".xlsx\""));
    assert!(book.bytes.starts_with(b"PK"), "a zip archive, as ECMA-376, part 2 has it");
    let json = client.get("/show/findings?has=F-002&as=json");
    assert_eq!(json.headers["content-type"], "application/json");
    let at = served.desk.snapshot().number;
    assert!(json.body.contains(&format!("\"entry\":{at}")), "{}", json.body);
    assert_eq!(client.get("/show/findings?as=csv&list=9").status, 404);
}

#[test]
fn a_day_that_is_none_is_told() {
    let served = served();
    let mut client = served.person("OP");
    assert!(client.get("/show/findings?on=2031-12-01").body.contains("2031-12-01"));
    let odd = client.get("/show/findings?on=tomorrow");
    assert_eq!(odd.status, 400);
    assert!(odd.body.contains("`tomorrow` is no day"));
    let none = client.get("/show/findings/F-999999");
    assert_eq!(none.status, 404);
    assert!(none.body.contains("There is no finding F-999999"));
}

#[test]
fn what_was_typed_is_never_markup() {
    let served = served();
    let mut client = served.person("OP");
    let nasty = "%3Cscript%3Ealert(1)%3C%2Fscript%3E%22%27";
    for path in [
        format!("/search?q={nasty}"),
        format!("/show/findings?has={nasty}"),
        format!("/history/{nasty}"),
        format!("/act/raise?what={nasty}&finding={nasty}"),
        format!("/show/findings/{nasty}"),
    ] {
        let answer = client.get(&path);
        assert!(!answer.body.contains("<script>alert"), "{path}");
        assert_eq!(html::faults(&answer.body), [""; 0], "{path}");
    }
}

#[test]
fn everything_that_has_a_name_is_found() {
    let served = served();
    served.card();
    let mut client = served.person("OP");
    for (typed, to) in [
        ("prop-p", "/show/parts/PROP-P"),
        ("F-001", "/show/findings/F-001"),
        ("on:prop-p", "/show/cards/ON%3APROP-P"),
        ("TAXI", "/gates/taxi"),
    ] {
        let answer = client.get(&format!("/search?q={typed}"));
        assert_eq!((answer.status, answer.to()), (303, to), "{typed}");
    }
    let answer = client.get("/search?q=penhallick");
    assert!(answer.body.contains("/show/people/OP"), "{}", answer.body);
    assert!(client.get("/search?q=zzzz").body.contains("Nothing holds these words"));
}

#[test]
fn the_first_page_tells_what_waits_for_whom() {
    let served = served();
    served.card();
    let mut mechanic = served.person("TR");
    assert!(mechanic.get("/").body.contains("Next gate"));
    served.enter("TR", "start", &[("job", "ON:PROP-P")]);
    let body = mechanic.get("/").body;
    assert!(body.contains("I am at work on"), "{body}");
    assert!(body.contains("/card/ON%3APROP-P/sign-step?step=10"), "{body}");
    let sign = [("job", "ON:PROP-P"), ("step", "10")];
    served.enter("TR", "sign-step", &sign);
    let inspect = "/card/ON%3APROP-P/inspect?step=10";
    assert!(served.person("BK").get("/").body.contains(inspect));
    assert!(!served.person("HB").get("/").body.contains(inspect));
    // The card says the same.
    let inspect = "/act/inspect?job=ON%3APROP-P&amp;step=10";
    assert!(served.person("BK").get("/show/cards/ON%3APROP-P").body.contains(inspect));
}

#[test]
fn history_tells_each_entry_that_names_a_thing() {
    let served = served();
    served.card();
    let page = served.person("OP").get("/history/ON%3APROP-P");
    assert!(page.body.contains("act.issue-card") && page.body.contains("Torque the nut"));
}

/// By a part of a name, a number, a person, and by words of what was found, of a card's step and
/// of a letter; the rest of a kind is one touch away.
#[test]
fn what_is_said_of_things_is_found_and_told() {
    let served = served();
    served.card();
    served.enter(
        "OP",
        "letter",
        &[
            ("letter", "L-7"),
            ("with", "the invented authority"),
            ("sent", "no"),
            ("on", "2032-01-10"),
            ("reference", "AB/4711"),
            ("subject", "Permit of the flying boat"),
        ],
    );
    let raise = [
        ("finding", "X-1"),
        ("item", "PROP-P"),
        ("what", "a nick in the leading edge"),
        ("measured", "0.7 mm deep"),
        ("found", "2032-01-02"),
    ];
    served.enter("HB", "raise", &raise);
    let mut client = served.person("HB");
    for (typed, link, says) in [
        ("prop-", "/show/parts/PROP-P", ""),
        ("Lock the nut", "/show/cards/ON%3APROP-P", "step 20: Lock the nut"),
        ("4711", "/history/L-7", "reference AB/4711"),
        ("flying boat", "/history/L-7", ""),
        ("0.7 mm", "/show/findings/X-1", "measured 0.7 mm deep"),
        ("nick edge", "/show/findings/X-1", ""),
        ("brimblecombe nick", "/show/findings/X-1", "raised by HB Hal Brimblecombe"),
    ] {
        let page = client.get(&format!("/search?q={}", typed.replace(' ', "%20")));
        assert_eq!(page.status, 200, "{typed}");
        assert!(
            page.body.contains(link) && page.body.contains(says),
            "{typed}: {}",
            page.body
        );
        assert_eq!(html::faults(&page.body), [""; 0], "{typed}");
    }
    let page = client.get("/search?q=a").body;
    let all = page.split("/search?q=a&amp;kind=").nth(1).expect("more of a kind");
    let kind = all.split('"').next().unwrap();
    let whole = client.get(&format!("/search?q=a&kind={kind}")).body;
    assert!(whole.matches("<dt>").count() > 40, "{kind}");
    assert!(client.get("/search").body.contains("Type a name"));
}
