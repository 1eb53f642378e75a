//! The survey: quick entry, and what becomes of it.

use crate::client::{Answer, Client};
use crate::html;
use crate::uploads::picture;
use crate::workshop::{Served, secret, served};

fn send(
    client: &mut Client,
    path: &str,
    change: &[(&str, &str)],
    files: &[(&str, &str, &[u8])],
) -> Answer {
    let form = client.get(path);
    assert_eq!(html::faults(&form.body), [""; 0]);
    again(client, &form, change, files, &secret("HB"))
}

/// Sends a form that was opened before, with what it proposed unless it is changed.
fn again(
    client: &mut Client,
    form: &Answer,
    change: &[(&str, &str)],
    files: &[(&str, &str, &[u8])],
    secret: &str,
) -> Answer {
    let suggested = form.value("_suggested");
    let given = |name: &str| change.iter().any(|(field, _)| *field == name);
    let mut fields: Vec<(&str, &str)> = change.to_vec();
    fields.push(("_suggested", &suggested));
    for (name, value) in [("finding", suggested.as_str()), ("found", "2032-01-14")] {
        if !given(name) {
            fields.push((name, value));
        }
    }
    let filled = Client::filled(form, &fields, secret);
    let filled: Vec<(&str, &str)> =
        filled.iter().map(|(name, value)| (*name, value.as_str())).collect();
    client.post_files("/survey", &filled, files)
}

fn next(served: &Served) -> String {
    app::next_finding(&served.desk.snapshot().programme)
}

#[test]
fn a_finding_is_entered_with_words_a_photograph_and_a_mark() {
    let served = served();
    let mut client = served.person("HB");
    let (name, one) = (next(&served), picture(1));
    let fields = [
        ("zone", "NAC-P"),
        ("item", "PROP-P"),
        ("_word", "crack"),
        ("_word", "leak"),
        ("what", "at the hub"),
        ("mark", "side 300 -150"),
        ("_view", "side"),
    ];
    let files: [(&str, &str, &[u8]); 1] = [("_file.photographs", "IMG_1.jpg", &one)];
    let answer = send(&mut client, "/survey?zone=NAC-P&view=side", &fields, &files);
    assert_eq!(answer.status, 303, "{}", answer.body);
    assert_eq!(answer.to(), format!("/survey?zone=NAC-P&view=side&last={name}"));
    // On to the next at the same place.
    let form = client.get(answer.to());
    assert!(
        form.body.contains("Entered as entry")
            && form.body.contains("Crack, leak: at the hub")
    );
    assert_ne!(form.value("_suggested"), name);
    assert!(form.body.contains("<option value=\"NAC-P\" selected"), "{}", form.body);
    let page = client.get(&format!("/show/findings/{name}")).body;
    assert_eq!(html::faults(&page), [""; 0]);
    for told in [
        "Crack, leak: at the hub",
        "side view, 300 to the right, -150 down",
        "<img ",
        "class=\"rg-p\"",
    ] {
        assert!(page.contains(told), "{told}\n{page}");
    }
    let drawing = client.get("/aircraft?view=side").body;
    assert!(drawing.contains(&format!("href=\"/show/findings/{name}\"")));
    assert!(!client.get("/aircraft?view=plan").body.contains("class=\"rg-p\""));
}

#[test]
fn a_refused_one_comes_back_whole_and_enters_nothing() {
    let served = served();
    let mut client = served.person("HB");
    let number = served.desk.snapshot().number;
    let one = picture(1);
    let fields = [
        ("zone", "NAC-P"),
        ("item", "NO-SUCH"),
        ("_word", "dent"),
        ("what", "by the <ladder>"),
        ("mark", "side 1e9 0"),
        ("_view", "side"),
    ];
    let files: [(&str, &str, &[u8]); 1] = [("_file.photographs", "1.png", &one)];
    let answer = send(&mut client, "/survey", &fields, &files);
    assert_eq!(answer.status, 422);
    assert_eq!(html::faults(&answer.body), [""; 0]);
    for told in [
        "NO-SUCH",
        "outside the side view",
        "value=\"dent\" checked",
        "by the &lt;ladder&gt;",
        "value=\"side 1e9 0\"",
        "name=\"photographs\" value=\"",
        "<option value=\"NAC-P\" selected",
    ] {
        assert!(answer.body.contains(told), "{told}\n{}", answer.body);
    }
    assert_eq!(served.desk.snapshot().number, number);
    // The secret too is asked for again, and the words do not pile up.
    let digest = answer.body.split("name=\"photographs\" value=\"").nth(1).unwrap()[..64]
        .to_owned();
    let fields = [
        ("zone", "NAC-P"),
        ("item", "PROP-P"),
        ("_word", "dent"),
        ("what", "by the ladder"),
        ("photographs", digest.as_str()),
    ];
    let wrong = again(&mut client, &answer, &fields, &[], "not my secret");
    assert_eq!(wrong.status, 401);
    let done = again(&mut client, &wrong, &fields, &[], &secret("HB"));
    assert_eq!(done.status, 303, "{}", done.body);
    let page = client.get("/findings?text=ladder").body;
    assert!(
        page.contains("Dent: by the ladder") && page.contains("1 photograph"),
        "{page}"
    );
}

#[test]
fn a_proposed_name_that_was_taken_meanwhile_is_proposed_anew() {
    let served = served();
    let (mut one, mut other) = (served.person("HB"), served.person("HB"));
    let (first, second) = (one.get("/survey"), other.get("/survey"));
    let fields = [("item", "PROP-P"), ("what", "one")];
    assert_eq!(again(&mut one, &first, &fields, &[], &secret("HB")).status, 303);
    let fields = [("item", "PROP-S"), ("what", "another")];
    let answer = again(&mut other, &second, &fields, &[], &secret("HB"));
    assert!(matches!(answer.status, 409 | 422), "{}", answer.status);
    assert!(
        answer.body.contains("entered by somebody else meanwhile"),
        "{}",
        answer.body
    );
    assert_ne!(answer.value("_suggested"), first.value("_suggested"));
    let answer = again(&mut other, &answer, &fields, &[], &secret("HB"));
    assert_eq!(answer.status, 303, "{}", answer.body);
}

#[test]
fn a_double_touch_counts_once() {
    let served = served();
    let mut client = served.person("HB");
    let form = client.get("/survey");
    let number = served.desk.snapshot().number;
    for _ in 0..2 {
        let fields = [("item", "PROP-P"), ("what", "nick")];
        let answer = again(&mut client, &form, &fields, &[], &secret("HB"));
        assert_eq!(answer.status, 303, "{}", answer.body);
    }
    assert_eq!(served.desk.snapshot().number, number + 1);
}

#[test]
fn whoever_was_signed_out_keeps_what_they_typed() {
    let served = served();
    let one = picture(1);
    let files: [(&str, &str, &[u8]); 1] = [("_file.photographs", "1.png", &one)];
    let fields = [("item", "PROP-P"), ("_word", "dent"), ("what", "by the ladder")];
    let answer = served.stranger().post_files("/survey", &fields, &files);
    assert_eq!(answer.status, 401);
    assert!(
        answer.body.contains("name=\"f.what\" value=\"Dent: by the ladder\""),
        "{}",
        answer.body
    );
}
