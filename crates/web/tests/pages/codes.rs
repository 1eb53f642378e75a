//! Codes and the prints that bear them.

use crate::floor::tagged;
use crate::html;
use crate::workshop::served;

/// The short code on a print.
fn code(body: &str) -> &str {
    let at = body.find("<figcaption>").expect("a code") + "<figcaption>".len();
    &body[at..][..body[at..].find('<').unwrap()]
}

#[test]
fn the_code_on_each_print_leads_back_to_the_thing() {
    let served = served();
    served.card();
    tagged(&served);
    let sent = [
        ("item", "PROP-P"),
        ("firm", "PLATING"),
        ("order", "7"),
        ("scope", "Plate it"),
        ("document", "Certificate"),
        ("due", "2032-01-20"),
        ("preservation", "Boxed"),
        ("carrier", "Van"),
    ];
    let entry = served.enter("TR", "despatch", &sent);
    let mut client = served.person("HB");
    let despatch = format!("/despatch/PROP-P?entry={entry}");
    for (print, leads) in [
        ("/card/ON%3APROP-P/print", "/card/ON%3APROP-P"),
        ("/tag/PROP-P", "/tag/PROP-P"),
        ("/despatch/PROP-P", &despatch),
        (&despatch, &despatch),
    ] {
        let page = client.get(print);
        assert_eq!(page.status, 200, "{print}\n{}", page.body);
        assert_eq!(html::faults(&page.body), [""; 0], "{print}");
        assert!(page.body.contains("INVENTED"), "{print}");
        assert!(page.body.contains("<svg") && !page.body.contains(" style="), "{print}");
        let code = code(&page.body);
        for typed in [code.to_owned(), code.to_lowercase(), code.replace('-', "")] {
            let answer = client.get(&format!("/code?c={typed}"));
            assert_eq!((answer.status, answer.to()), (303, leads), "{typed}");
        }
    }
    assert_eq!(client.get("/code?c=PROP-P").to(), "/show/parts/PROP-P");
    assert_eq!(client.get("/code?c=on:prop-p").to(), "/card/ON%3APROP-P");
    assert_eq!(client.get("/code").to(), "/scan");
    assert_eq!(client.get("/despatch/PROP-P?entry=1").status, 404);
    let none = client.get("/code?c=%3Cb%3E");
    assert_eq!(none.status, 404);
    assert!(none.body.contains("&lt;b&gt;") && !none.body.contains("<b>"));
    assert_eq!(html::faults(&none.body), [""; 0]);
}

/// Whoever follows a code signs in first and then is there.
#[test]
fn a_code_survives_signing_in() {
    let served = served();
    served.card();
    let mut client = served.stranger();
    let asked = client.get("/code?c=ON%3APROP-P");
    assert_eq!(asked.to(), "/sign-in?then=%2Fcode%3Fc%3DON%253APROP-P");
}

#[test]
fn only_the_page_that_reads_codes_may_ask_for_the_camera() {
    let served = served();
    let mut client = served.person("HB");
    for (path, allowed) in [("/scan", true), ("/", false), ("/today", false)] {
        let answer = client.get(path);
        let policy = &answer.headers["permissions-policy"];
        assert_eq!(policy.contains("camera=(self)"), allowed, "{path}: {policy}");
        assert!(policy.contains("microphone=()"), "{path}");
    }
    let stranger = served.stranger().get("/scan");
    assert!(!stranger.headers["permissions-policy"].contains("self"));
}

#[test]
fn a_card_prints_what_is_signed_and_room_for_what_is_not() {
    let served = served();
    served.card();
    served.enter("TR", "start", &[("job", "ON:PROP-P")]);
    served.enter("TR", "sign-step", &[("job", "ON:PROP-P"), ("step", "10")]);
    let page = served.person("HB").get("/card/ON%3APROP-P/print").body;
    for words in [
        "Tam Ruddock (TR), 2032-01-14 12:00, entry",
        "Manual 61, revision 2",
        "class=\"ink\"",
        "Cautions",
        "it releases nothing",
        "<thead>",
    ] {
        assert!(page.contains(words), "{words}\n{page}");
    }
}
