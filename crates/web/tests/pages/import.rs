//! Lists from spreadsheets: given, looked at, loaded whole or not at all, and taken away.

use crate::client::{Answer, Client};
use crate::html;
use crate::workshop::{Served, secret, served};

fn sound(answer: &Answer, status: u16, what: &str) {
    assert_eq!(answer.status, status, "{what}: {}", answer.body);
    assert_eq!(html::faults(&answer.body), [""; 0], "{what}");
}

/// Gives a file and opens what it is shown to change.
fn given(client: &mut Client, list: &str, file: (&str, &[u8])) -> (String, Answer) {
    let csrf = client.get("/import").value("_csrf");
    let answer = client.give("/import", &[("_csrf", &csrf), ("list", list)], file);
    assert_eq!(answer.status, 303, "{}", answer.body);
    let path = answer.to().to_owned();
    let page = client.get(&path);
    (path, page)
}

/// Signs for what a page shows.
fn enter(
    client: &mut Client,
    path: &str,
    page: &Answer,
    more: &[(&str, &str)],
) -> Answer {
    let own =
        ["_csrf", "_request", "_digest", "list"].map(|name| (name, page.value(name)));
    let mut fields: Vec<(&str, &str)> =
        own.iter().map(|(name, value)| (*name, value.as_str())).collect();
    fields.extend(more);
    client.post(path.split('?').next().unwrap(), &fields)
}

const TWO_TOOLS: &[u8] =
    b"id,name,measures\nTW-91,Feeler gauge,yes\nTW-92,Strap wrench,no\n";

fn has_tool(served: &Served, client: &mut Client, tool: &str) -> bool {
    let _ = served;
    client.get("/import/export/tools.csv").body.contains(tool)
}

#[test]
fn a_list_is_looked_at_and_then_loaded_by_signature_once() {
    let served = served();
    let mut client = served.person("TR");
    let (path, page) = given(&mut client, "", ("tools.csv", TWO_TOOLS));
    sound(&page, 200, "the preview");
    for words in
        ["<strong>2</strong> new", "TW-91", "Strap wrench", "Sign: enter 2 changes"]
    {
        assert!(page.body.contains(words), "{words}: {}", page.body);
    }
    let number = served.desk.snapshot().number;
    let wrong = enter(&mut client, &path, &page, &[("_secret", "not these words")]);
    sound(&wrong, 401, "a wrong secret");
    assert_eq!(served.desk.snapshot().number, number);
    let right = enter(&mut client, &path, &page, &[("_secret", &secret("TR"))]);
    assert_eq!((right.status, right.to()), (303, "/import"), "{}", right.body);
    assert_eq!(served.desk.snapshot().number, number + 2);
    let told = client.get("/import").body;
    let entries = format!("entries {} to {}", number + 1, number + 2);
    assert!(told.contains(&entries), "{told}");
    // Sent twice, it counts once.
    let twice = enter(&mut client, &path, &page, &[("_secret", &secret("TR"))]);
    assert_eq!(twice.status, 303, "{}", twice.body);
    assert_eq!(served.desk.snapshot().number, number + 2);
    assert!(has_tool(&served, &mut client, "TW-91"));
    // Given again, there is nothing to enter.
    let (_, again) = given(&mut client, "tools", ("other.csv", TWO_TOOLS));
    assert!(again.body.contains("There is nothing to enter"), "{}", again.body);
}

#[test]
fn what_two_people_change_at_once_is_told_to_the_second() {
    let served = served();
    let mut client = served.person("TR");
    let (path, page) = given(&mut client, "tools", ("t.csv", TWO_TOOLS));
    let mut other = served.person("OP");
    let theirs: &[u8] = b"id,name,measures\nTW-91,Feeler gauge of the other hangar,yes\n";
    let (others, shown) = given(&mut other, "tools", ("t.csv", theirs));
    assert_eq!(
        enter(&mut other, &others, &shown, &[("_secret", &secret("OP"))]).status,
        303
    );
    let number = served.desk.snapshot().number;
    let clash = enter(&mut client, &path, &page, &[("_secret", &secret("TR"))]);
    sound(&clash, 409, "a clash");
    for words in
        ["Others changed the record", "of the other hangar", "<strong>1</strong> changed"]
    {
        assert!(clash.body.contains(words), "{words}: {}", clash.body);
    }
    assert_eq!(served.desk.snapshot().number, number);
    // What is shown now can be signed.
    let right = enter(&mut client, &path, &clash, &[("_secret", &secret("TR"))]);
    assert_eq!(right.status, 303, "{}", right.body);
}

#[test]
fn foreign_columns_are_matched_in_the_form_and_every_mistake_is_told() {
    let served = served();
    let mut client = served.person("TR");
    let text = "Mark;Called;Due\nTW-93;Long bar;3/4/2033\nTW 94;;31/12/2033\n";
    let (path, page) = given(&mut client, "tools", ("bench.csv", text.as_bytes()));
    sound(&page, 200, "nothing matched");
    assert!(
        page.body.contains("no column holds `id`") && !page.body.contains("Sign: enter")
    );
    let matched = client.get(&format!("{path}&c0=id&c1=name&c2=-"));
    sound(&matched, 200, "matched");
    for words in ["bench.csv, line 3", "TW 94", "(left out)"] {
        assert!(matched.body.contains(words), "{words}: {}", matched.body);
    }
    // What was chosen stays chosen.
    assert!(matched.body.contains("value=\"id\" selected"));
    assert!(!matched.body.contains("Sign: enter"));
}

#[test]
fn lists_and_templates_are_taken_away_and_come_back_without_a_difference() {
    let served = served();
    let mut client = served.person("TR");
    for list in ["items", "people"] {
        for ending in ["csv", "xlsx"] {
            let file = format!("{list}.{ending}");
            let content = client.content(&format!("/import/export/{file}"));
            let (path, page) = given(&mut client, "", (&file, &content));
            sound(&page, 200, &file);
            assert!(
                page.body.contains("There is nothing to enter"),
                "{file}: {}",
                page.body
            );
            let whole = client.get(&format!("{path}&whole=yes"));
            assert!(whole.body.contains("There is nothing to enter"), "{file}, whole");
        }
        let template = client.content(&format!("/import/template/{list}.xlsx"));
        let (_, page) = given(&mut client, list, ("template.xlsx", &template));
        assert!(page.body.contains("explanations"), "the sheet of a template of {list}");
        assert!(page.body.contains("There is nothing to enter"), "{list}: {}", page.body);
    }
    let routes = client.content("/import/export/routes.toml");
    let (_, page) = given(&mut client, "", ("routes.toml", &routes));
    assert!(page.body.contains("There is nothing to enter"), "{}", page.body);
}

#[test]
fn what_is_no_list_or_too_much_is_refused_in_words() {
    let served = served();
    let mut client = served.person("TR");
    let csrf = client.get("/import").value("_csrf");
    let fields = [("_csrf", csrf.as_str()), ("list", "")];
    for (name, content, status, told) in [
        ("cheese.csv", &b"id\n"[..], 422, "No list is called"),
        ("", b"", 422, "Choose a file"),
        ("tools.csv", b"", 422, "nothing in that file"),
    ] {
        let answer = client.give("/import", &fields, (name, content));
        sound(&answer, status, told);
        assert!(answer.body.contains(told), "{told}: {}", answer.body);
    }
    // However large: whoever sent it is told, and the connection is not cut.
    for length in [(8 << 20) + 1, 60 << 20] {
        let large = vec![b'x'; length];
        let answer = client.give("/import", &fields, ("tools.csv", &large));
        sound(&answer, 413, "too large");
        assert!(answer.body.contains("tools.csv is larger than 8 MB"), "{}", answer.body);
    }
    let (_, page) =
        given(&mut client, "tools", ("tools.xlsx", b"PK\x03\x04 and no more"));
    sound(&page, 200, "no workbook");
    for words in ["cannot be read", "That can be told once what is wrong is put right"] {
        assert!(page.body.contains(words), "{words}: {}", page.body);
    }
    assert!(!page.body.contains("There is nothing to enter"), "nobody can tell that");
    let (_, page) =
        given(&mut client, "tools", ("tools.csv", b"id,name\nTW-1,=HYPERLINK(1)\n"));
    assert!(page.body.contains("holds a formula"), "{}", page.body);
    let gone = client.get("/import/file/abc?list=tools");
    sound(&gone, 410, "a file that is not kept");
}

#[test]
fn who_may_not_load_takes_lists_away_and_no_more() {
    let served = served();
    let mut client = served.person("HB");
    let page = client.get("/import");
    sound(&page, 200, "the page");
    assert!(
        !page.body.contains("Look at it")
            && page.body.contains("/import/export/items.csv")
    );
    let csrf = client.get("/lists").value("_csrf");
    let fields = [("_csrf", csrf.as_str()), ("list", "tools")];
    assert_eq!(client.give("/import", &fields, ("tools.csv", TWO_TOOLS)).status, 403);
    let foreign = [("_csrf", "another"), ("list", "tools")];
    assert_eq!(client.give("/import", &foreign, ("tools.csv", TWO_TOOLS)).status, 403);
    // A file of another is nobody else's.
    let mut planner = served.person("TR");
    let (path, _) = given(&mut planner, "tools", ("tools.csv", TWO_TOOLS));
    assert_eq!(served.person("OP").get(&path).status, 410);
    // What decides about gates takes an authority to appoint.
    let gates = b"id,name\ntaxi,Another name for it\n";
    let (path, page) = given(&mut planner, "gates", ("gates.csv", gates));
    let refused = enter(&mut planner, &path, &page, &[("_secret", &secret("TR"))]);
    sound(&refused, 422, "gates");
    assert!(refused.body.contains("no authority to appoint"), "{}", refused.body);
}

#[test]
fn what_is_wrong_in_many_places_is_said_once_and_all_of_it_can_be_had() {
    let served = served();
    let mut client = served.person("TR");
    let rows = (0..900).map(|number| format!("Z-{number},Tool {number},81\n"));
    let text = format!("id,name,mass\n{}", rows.collect::<String>());
    let (path, page) = given(&mut client, "items", ("items.csv", text.as_bytes()));
    sound(&page, 200, "many mistakes");
    assert_eq!(page.body.matches("a unit is missing").count(), 1, "{}", page.body);
    for words in ["items.csv, line 2, character", "and 894 more places", ">900</span>"] {
        assert!(page.body.contains(words), "{words}: {}", page.body);
    }
    let all = client.get(&format!("{path}&as=csv"));
    assert_eq!(all.headers["content-type"], "text/csv; charset=utf-8");
    let wrong = all.body.lines().filter(|line| line.starts_with("wrong,")).count();
    assert_eq!(wrong, 900);
    // What the file does not name is named, and stays.
    let kept =
        all.body.lines().filter(|line| line.starts_with("not in the file,")).count();
    assert!(kept > 10 && all.body.contains("PROP-P"), "{kept}");
    assert!(page.body.contains("Not in the file, and kept as they are"));
    let fine = text.replace(",81", ",81 kg");
    let (path, page) = given(&mut client, "items", ("items.csv", fine.as_bytes()));
    assert!(page.body.contains("and 700 more: all of it can be had as CSV"));
    let all = client.get(&format!("{path}&as=csv"));
    let new = |line: &&str| line.starts_with("new,") && line.contains(",mass,,81 kg");
    assert_eq!(all.body.lines().filter(new).count(), 900);
}

#[test]
fn a_text_that_is_not_utf8_is_taken_as_somebody_says() {
    let served = served();
    let mut client = served.person("TR");
    let text = b"id;name\r\nTW-94;F\xFChlerlehre\r\n";
    let (path, page) = given(&mut client, "tools", ("bench.csv", text));
    sound(&page, 200, "not UTF-8");
    for words in ["bench.csv, line 2, character 8", "id=\"text\"", "say below that it is"]
    {
        assert!(page.body.contains(words), "{words}: {}", page.body);
    }
    let western = format!("{path}&text=western");
    let page = client.get(&western);
    assert!(page.body.contains("F\u{fc}hlerlehre"), "{}", page.body);
    let more = [("_secret", secret("TR")), ("text", "western".to_owned())];
    let more: Vec<(&str, &str)> =
        more.iter().map(|(name, value)| (*name, value.as_str())).collect();
    assert_eq!(enter(&mut client, &path, &page, &more).status, 303);
    assert!(has_tool(&served, &mut client, "F\u{fc}hlerlehre"));
}

#[test]
fn a_preview_comes_back_after_signing_in_and_a_file_is_asked_for_again() {
    let served = served();
    let mut client = served.person("TR");
    let (path, page) = given(&mut client, "tools", ("tools.csv", TWO_TOOLS));
    let number = served.desk.snapshot().number;
    client.cookies.remove("session");
    let secret = secret("TR");
    let asked = enter(&mut client, &path, &page, &[("_secret", &secret)]);
    sound(&asked, 401, "signed out");
    let mut fields: Vec<(&str, String)> =
        ["_before", "_form", "f._request", "f._digest", "f.list"]
            .map(|name| (name, asked.value(name)))
            .to_vec();
    fields.extend([("name", "TR".to_owned()), ("secret", secret.clone())]);
    let fields: Vec<(&str, &str)> =
        fields.iter().map(|(name, value)| (*name, value.as_str())).collect();
    let back = client.post("/sign-in", &fields);
    sound(&back, 200, "the preview");
    for words in ["You had to sign in again", "Strap wrench", "Sign: enter 2 changes"] {
        assert!(back.body.contains(words), "{words}: {}", back.body);
    }
    assert_eq!(back.value("_request"), page.value("_request"), "it counts once");
    assert_eq!(served.desk.snapshot().number, number);
    assert_eq!(enter(&mut client, &path, &back, &[("_secret", &secret)]).status, 303);
    let lost = served.stranger().give("/import", &[], ("tools.csv", TWO_TOOLS));
    sound(&lost, 401, "a file of nobody");
    assert!(lost.body.contains("choose it again once you are"), "{}", lost.body);
}
