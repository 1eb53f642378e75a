//! The aircraft: its drawing, its zones, its breakdown, and the way to get at something.

use crate::html;
use crate::workshop::{Served, served, served_without};

/// The page at a path, which must be whole.
fn page(served: &Served, path: &str) -> String {
    let answer = served.person("HB").get(path);
    assert_eq!(answer.status, 200, "{path}\n{}", answer.body);
    assert_eq!(html::faults(&answer.body), [""; 0], "{path}");
    answer.body
}

#[test]
fn each_zone_of_the_drawing_is_a_link_with_its_state_in_words() {
    let served = served();
    for (view, zone) in [("side", "BILGE-F"), ("plan", "NAC-S")] {
        let body = page(&served, &format!("/aircraft?view={view}"));
        let drawn = &body[body.find("<svg").unwrap()..body.find("</svg>").unwrap()];
        assert!(drawn.contains(&format!("href=\"/aircraft/zone/{zone}\"")), "{view}");
        assert!(drawn.contains(&format!("data-region=\"{zone}\"")), "{view}");
        assert!(!drawn.contains("style=") && !drawn.contains("<style"), "{view}");
        // The list beside it says the same, and more: zones that no drawing shows.
        let list = &body[body.find("data-part=\"zones\"").unwrap()..];
        for zone in ["BILGE-F", "NAC-S", "FLOAT-P"] {
            assert!(list.contains(&format!("href=\"/aircraft/zone/{zone}\"")), "{zone}");
        }
        assert!(list.contains("doubtful"), "{list}");
    }
}

#[test]
fn a_programme_without_outlines_says_what_to_do_and_lists_its_zones() {
    let served = served_without("outlines.csv");
    let body = page(&served, "/aircraft");
    assert!(body.contains("No drawing yet") && body.contains("outlines.csv"));
    assert!(body.contains("href=\"/aircraft/zone/BILGE-F\"") && !body.contains("<svg"));
    let zone = page(&served, "/aircraft/zone/BILGE-F");
    assert!(zone.contains("KEEL-F"));
    let survey = page(&served, "/survey");
    assert!(
        survey.contains("no drawing to mark it on") && survey.contains("name=\"zone\"")
    );
    let answer = served.person("HB").get("/aircraft?view=side");
    assert_eq!(answer.status, 404);
}

#[test]
fn a_zone_tells_what_is_in_it_and_follows_the_record() {
    let served = served();
    let before = page(&served, "/aircraft/zone/NAC-P");
    assert!(
        before.contains("PROP-P")
            && before.contains("None is out for a card of this zone")
    );
    served.card();
    served.enter("HB", "start", &[("job", "ON:PROP-P")]);
    let raise = [
        ("finding", "X-1"),
        ("item", "PROP-P"),
        ("what", "nick"),
        ("found", "2032-01-02"),
    ];
    served.enter("HB", "raise", &raise);
    let after = page(&served, "/aircraft/zone/NAC-P");
    for told in
        ["href=\"/show/cards/ON%3APROP-P\"", "at work", "href=\"/show/findings/X-1\""]
    {
        assert!(after.contains(told), "{told}\n{after}");
    }
    // What lies within counts with what lies around it.
    let wing = page(&served, "/aircraft/zone/WING");
    assert!(wing.contains("X-1") && wing.contains("href=\"/aircraft/zone/NAC-P\""));
}

#[test]
fn a_zone_that_is_not_there_names_the_nearest() {
    let served = served();
    let answer = served.person("HB").get("/aircraft/zone/NAC-Q");
    assert_eq!(answer.status, 404);
    assert!(answer.body.contains("NAC-P"), "{}", answer.body);
    let answer = served.person("HB").get("/aircraft?on=yesterday");
    assert_eq!(answer.status, 400);
}

#[test]
fn the_breakdown_is_gone_into_place_by_place() {
    let served = served();
    let top = page(&served, "/aircraft/parts?by=zone");
    assert!(top.contains("/aircraft/parts?by=zone&amp;at=HULL"));
    let hull = page(&served, "/aircraft/parts?by=zone&at=HULL");
    assert!(hull.contains("at=BILGE-F") && hull.contains("The aircraft"));
    let bilge = page(&served, "/aircraft/parts?by=zone&at=BILGE-F");
    assert!(bilge.contains("href=\"/show/parts/KEEL-F\"") && bilge.contains("at=HULL"));
    let chapters = page(&served, "/aircraft/parts?by=chapter");
    assert!(chapters.contains("Fuselage"), "{chapters}");
}

#[test]
fn the_way_to_something_is_drawn_and_told_step_by_step() {
    let served = served();
    let body = page(&served, "/aircraft/reach?expose=KEEL-F");
    for told in [
        "FLOOR-1",
        "FLOOR-2",
        "data-from=\"",
        "id=\"step-1\"",
        "href=\"#step-1\"",
        "no cheaper way exists",
        "Back in this order",
    ] {
        assert!(body.contains(told), "{told}\n{body}");
    }
    // Each box leads to a step that is there.
    for link in body.split("href=\"#step-").skip(1) {
        let number = link.split('"').next().unwrap();
        assert!(body.contains(&format!("id=\"step-{number}\"")), "{number}");
    }
    let item = page(&served, "/show/parts/KEEL-F");
    assert!(item.contains("/aircraft/reach?expose=KEEL-F"));
}

#[test]
fn several_can_be_asked_for_and_supports_are_told() {
    let served = served();
    let body = page(&served, "/aircraft/reach?free=PROP-P&free=PROP-S&expose=STEP");
    for told in ["PROP-P off", "PROP-S off", "STEP exposed", "on its supports then"] {
        assert!(body.contains(told), "{told}\n{body}");
    }
    // What was asked for stands in the fields, with more to spare.
    assert_eq!(body.matches("<input name=\"free\"").count(), 4);
}

#[test]
fn what_is_wrong_with_what_is_wanted_stands_at_its_field() {
    let served = served();
    let path = "/aircraft/reach?free=HULL&free=PROPP-P&expose=NO-SUCH&arrangement=AIR";
    let answer = served.person("HB").get(path);
    assert_eq!(answer.status, 422);
    assert_eq!(html::faults(&answer.body), [""; 0]);
    for told in [
        "HULL never comes off",
        "there is no item `PROPP-P`; did you mean `PROP-P`?",
        "there is no item `NO-SUCH`",
        "there is no arrangement `AIR`",
        "id=\"free-wrong\"",
        "id=\"expose-wrong\"",
        "value=\"PROPP-P\"",
    ] {
        assert!(answer.body.contains(told), "{told}\n{}", answer.body);
    }
    assert!(!answer.body.contains("id=\"step-1\""));
}
