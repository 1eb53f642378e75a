use proptest::prelude::*;
use record::Programme;

use super::*;
use crate::round_trip::programme as any_programme;

const EXAMPLE: &str = concat!(env!("CARGO_MANIFEST_DIR"), "/../../examples/amphibian");

fn example() -> Programme {
    crate::read(EXAMPLE.as_ref()).expect("the example is in order").programme
}

fn choice(list: &str) -> Choice {
    Choice { list: list.to_owned(), ..Choice::default() }
}

fn proposed(file: &str, content: &str, choice: &Choice) -> Proposed {
    propose(&example(), (file, content.as_bytes()), choice).expect("there is such a list")
}

fn told(proposed: &Proposed) -> Vec<String> {
    proposed.problems.iter().map(ToString::to_string).collect()
}

/// The table of a list as a workbook, texts as texts and numbers as numbers.
fn workbook(programme: &Programme, list: &str) -> Vec<u8> {
    let (head, rows) = as_table(programme, list).expect("a table");
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    sheet.set_name(list).unwrap();
    for (column, name) in head.iter().enumerate() {
        sheet.write_string(0, column as u16, *name).unwrap();
    }
    for (row, cells) in rows.iter().enumerate() {
        for (column, cell) in cells.iter().enumerate() {
            let (row, column) = (row as u32 + 1, column as u16);
            match cell {
                TableCell::Text(text) if text.is_empty() => {}
                TableCell::Text(text) => {
                    sheet.write_string(row, column, text).unwrap();
                }
                TableCell::Number(number) => {
                    sheet.write_number(row, column, *number).unwrap();
                }
            }
        }
    }
    book.save_to_buffer().unwrap()
}

#[test]
fn each_list_of_the_example_comes_back_as_it_went_out() {
    let programme = example();
    for form in forms() {
        let mut outs =
            vec![("toml", as_toml(&programme, form.list).unwrap().into_bytes())];
        if form.is_table {
            outs.push(("csv", as_csv(&programme, form.list).unwrap().into_bytes()));
            outs.push(("xlsx", workbook(&programme, form.list)));
        }
        for (ending, content) in outs {
            let name = format!("{}.{ending}", form.list);
            for whole in [true, false] {
                let choice = Choice { whole, ..choice(form.list) };
                let made = propose(&programme, (&name, &content), &choice).unwrap();
                let errors =
                    made.problems.iter().filter(|p| p.severity == Severity::Error);
                assert_eq!(errors.count(), 0, "{name}: {:?}", told(&made));
                assert_eq!(made.changes.added, [], "{name}");
                assert_eq!(made.changes.changed, [], "{name}");
                assert_eq!(made.changes.gone, [""; 0], "{name}");
                assert_eq!(
                    made.programme.map(|made| programme.changes_to(&made)),
                    Some(vec![]),
                    "{name}"
                );
            }
        }
    }
}

/// Whether something that must be given is an empty list. A cell can't say that: a blank one
/// says that nothing is given.
fn has_blanks(kind: &Kind, records: &[Record]) -> bool {
    let needed = kind.fields.iter().filter(|field| field.required);
    let blank = |record: &Record, name: &str| {
        let value = record.iter().find(|(field, _)| *field == name);
        value.is_none_or(|(_, value)| out::text(value).is_empty())
    };
    needed.into_iter().any(|field| records.iter().any(|record| blank(record, field.name)))
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 40, failure_persistence: None, ..ProptestConfig::default() })]

    /// Whatever texts people type: what goes out as CSV or as a workbook and comes back
    /// changes nothing.
    #[test]
    fn any_list_comes_back_as_it_went_out(
        programme in any_programme(),
        at in 0_usize..23,
        as_book in any::<bool>(),
    ) {
        let kind = KINDS[at];
        let records = out::records(&programme, kind);
        if kind.form == Form::TomlOnly || records.is_empty() || has_blanks(kind, &records) {
            return Ok(());
        }
        let (ending, content) = if as_book {
            ("xlsx", workbook(&programme, kind.file))
        } else {
            ("csv", as_csv(&programme, kind.file).unwrap().into_bytes())
        };
        let (mut looked, mut problems) = (Looked::default(), Vec::new());
        let place = Place::whole(&format!("x.{ending}"));
        let choice = choice(kind.file);
        let contents =
            taken(kind, &place, &content, &choice, &records, &mut looked, &mut problems);
        // Parts need not fit together: the list alone is looked at.
        prop_assert_eq!(&problems, &vec![], "{} {}", kind.file, ending);
        let found = (looked, Vec::new());
        let made = held(&programme, kind, &records, contents.unwrap(), true, found);
        prop_assert_eq!(&made.changes.changed, &vec![], "{} {}", kind.file, ending);
        prop_assert_eq!(made.changes.same, records.len(), "{} {}", kind.file, ending);
    }
}

#[test]
fn foreign_headings_are_matched_by_whoever_knows_and_the_rest_stays() {
    let text = "Part no.;What;Weight\nPROP-P;Port screw;\"81,5 kg\"\nSPINNER-X;Spinner;\"2,25 kg\"\n";
    let made = proposed("parts.csv", text, &choice("items"));
    assert!(made.programme.is_none());
    assert!(told(&made)[0].contains("no column holds `id`"), "{:?}", told(&made));
    assert_eq!(made.looked.columns.len(), 3);
    assert_eq!(made.looked.columns[2].sample, ["81,5 kg", "2,25 kg"]);
    let columns = [(0, "id"), (1, "name"), (2, "mass")];
    let columns = columns.map(|(at, field)| (at, field.to_owned())).into();
    let made = proposed("parts.csv", text, &Choice { columns, ..choice("items") });
    assert!(made.programme.is_some(), "{:?}", told(&made));
    assert_eq!(made.looked.decimal.taken, Some(Decimal::Comma));
    let [(name, fields)] = made.changes.changed.as_slice() else {
        panic!("{:?}", made.changes)
    };
    assert_eq!(name, "PROP-P");
    let fields: Vec<_> =
        fields.iter().map(|(field, _, is)| (*field, is.as_str())).collect();
    assert_eq!(fields, [("name", "Port screw"), ("mass", "81.5 kg")]);
    assert_eq!(made.changes.added.len(), 1);
    assert_eq!(made.changes.gone, [""; 0]);
    assert!(
        made.changes.unnamed.len() > 10
            && made.changes.unnamed.len() <= made.changes.same
    );
}

#[test]
fn the_whole_list_takes_away_what_it_does_not_name_unless_something_needs_it() {
    let programme = example();
    let all = as_csv(&programme, "tools").unwrap();
    let mut lines: Vec<&str> = all.lines().collect();
    let gone = lines.pop().unwrap().split(',').next().unwrap().to_owned();
    let content = lines.join("\n");
    let whole = Choice { whole: true, ..choice("tools") };
    let made = proposed("tools.csv", &content, &whole);
    assert_eq!(made.changes.gone, [gone]);
    // An item that others stand upon does not go.
    let first = as_csv(&programme, "items").unwrap();
    let content: Vec<&str> = first.lines().take(2).collect();
    let whole = Choice { whole: true, ..choice("items") };
    let made = proposed("items.csv", &content.join("\n"), &whole);
    assert!(made.programme.is_none());
    let problems = told(&made);
    assert!(
        problems.iter().any(|what| what.contains("as the record has it")),
        "{problems:?}"
    );
    let lined = |what: &String| what.contains("has it:1") || what.contains("has it:2");
    assert!(!problems.iter().any(lined), "{problems:?}");
}

#[test]
fn every_mistake_is_told_at_once_and_at_its_cell() {
    let text = "id,name,mass\nA-1,First,81\nA 2,Second,2 kg\nA-3,,3 kg,4\n";
    let made = proposed("items.csv", text, &choice("items"));
    let problems = told(&made);
    for (place, what) in [
        ("items.csv:2:11", "a unit is missing"),
        ("items.csv:3:1", "A 2"),
        ("items.csv:4", "4 cells under 3"),
    ] {
        let found = problems.iter().any(|p| p.starts_with(place) && p.contains(what));
        assert!(found, "{place} {what}: {problems:#?}");
    }
}

#[test]
fn days_of_which_nobody_can_tell_wait_for_an_answer() {
    let text = "id,name,from,until,gate,shifts\nS9,Winter,3/10/2035,5/4/2036,taxi,Mon-Fri 08:00-16:00\n";
    let made = proposed("seasons.csv", text, &choice("seasons"));
    assert!(
        told(&made).iter().any(|what| what.contains("which is the day")),
        "{:?}",
        told(&made)
    );
    let dates = Some(DateOrder::DayFirst);
    let made = proposed("seasons.csv", text, &Choice { dates, ..choice("seasons") });
    let from =
        made.changes.added.first().map(|(_, fields)| fields.clone()).unwrap_or_default();
    assert!(
        from.contains(&("from", "2035-10-03".to_owned())),
        "{from:?} {:?}",
        told(&made)
    );
}

#[test]
fn a_formula_is_refused_in_either_form() {
    let made = proposed("tools.csv", "id,name\nTW-9,=A1&B2\n", &choice("tools"));
    assert!(told(&made)[0].starts_with("tools.csv:2:6: error: the cell holds a formula"));
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (at, (id, name)) in [("id", "name"), ("TW-9", "Wrench")].into_iter().enumerate() {
        sheet.write_string(at as u32, 0, id).unwrap();
        sheet.write_string(at as u32, 1, name).unwrap();
    }
    sheet
        .write_formula(2, 1, rust_xlsxwriter::Formula::new("=B2").set_result("Wrench"))
        .unwrap();
    sheet.write_string(2, 0, "TW-10").unwrap();
    let bytes = book.save_to_buffer().unwrap();
    let made = propose(&example(), ("t.xlsx", &bytes), &choice("tools")).unwrap();
    assert!(
        told(&made)[0].starts_with("t.xlsx:Sheet1!B3: error: the cell holds a formula"),
        "{:?}",
        told(&made)
    );
    assert!(made.programme.is_none());
}

#[test]
fn a_sheet_and_a_row_of_headings_are_chosen() {
    let mut book = rust_xlsxwriter::Workbook::new();
    book.add_worksheet()
        .set_name("notes")
        .unwrap()
        .write_string(0, 0, "nothing")
        .unwrap();
    let sheet = book.add_worksheet().set_name("list").unwrap();
    for (row, cells) in
        [["Tools of 2031", ""], ["Mark", "Name"], ["TW-77", "Long wrench"]]
            .iter()
            .enumerate()
    {
        for (column, cell) in cells.iter().enumerate() {
            sheet.write_string(row as u32, column as u16, *cell).unwrap();
        }
    }
    let bytes = book.save_to_buffer().unwrap();
    let columns = [(0, "id".to_owned()), (1, "name".to_owned())].into();
    let choice =
        Choice { sheet: Some("list".into()), head: Some(2), columns, ..choice("tools") };
    let made = propose(&example(), ("t.xlsx", &bytes), &choice).unwrap();
    assert_eq!(made.looked.sheets, ["notes", "list"]);
    assert_eq!(made.changes.added.len(), 1, "{:?}", told(&made));
}

#[test]
fn an_unknown_list_is_named_with_those_there_are() {
    let refused = propose(&example(), ("x.csv", b"id"), &choice("widgets")).unwrap_err();
    assert!(refused.to_string().contains("items"), "{refused}");
}

/// A workbook of sheets: name, whether it is hidden, and rows of texts.
fn sheets(all: &[(&str, bool, &[&[&str]])]) -> Vec<u8> {
    let mut book = rust_xlsxwriter::Workbook::new();
    for (name, hidden, rows) in all {
        let sheet = book.add_worksheet().set_name(*name).unwrap();
        // One that is opened at first can't be hidden.
        if *hidden {
            sheet.set_hidden(true)
        } else {
            sheet.set_active(true)
        };
        for (row, cells) in rows.iter().enumerate() {
            for (column, cell) in cells.iter().enumerate() {
                sheet.write_string(row as u32, column as u16, *cell).unwrap();
            }
        }
    }
    book.save_to_buffer().unwrap()
}

const HEAD: &[&str] = &["ID", "Name", "Measures"];
const WRENCH: &[&str] = &["TW-77", "Long wrench", "no"];

#[test]
fn the_sheet_that_has_the_headings_is_taken_and_rather_one_that_is_seen() {
    let notes: &[&[&str]] = &[&["remember", "this"]];
    let list: &[&[&str]] = &[&["Tools of the winter"], HEAD, WRENCH];
    for (all, taken) in [
        (&[("Notes", false, notes), ("Winter", false, list)][..], "Winter"),
        (&[("Old", true, list), ("Winter", false, list)], "Winter"),
        // Only a hidden one has them.
        (&[("Notes", false, notes), ("Old", true, list)], "Old"),
        // The name of the list tells more than headings do.
        (&[("Winter", false, list), ("tools", false, list)], "tools"),
        (&[("Notes", false, notes), ("More", false, notes)], "Notes"),
    ] {
        let made =
            propose(&example(), ("t.xlsx", &sheets(all)), &choice("tools")).unwrap();
        assert_eq!(made.looked.sheet.as_deref(), Some(taken), "{:?}", told(&made));
        let hidden = all.iter().filter(|(_, hidden, _)| *hidden).count();
        assert_eq!(made.looked.hidden.len(), hidden, "{taken}");
    }
}

#[test]
fn a_formula_in_a_column_that_is_left_out_is_nobodys_concern() {
    let mut book = rust_xlsxwriter::Workbook::new();
    let sheet = book.add_worksheet();
    for (column, text) in ["id", "name", "label"].iter().enumerate() {
        sheet.write_string(0, column as u16, *text).unwrap();
    }
    sheet.write_string(1, 0, "TW-77").unwrap();
    sheet.write_string(1, 1, "Long wrench").unwrap();
    let joined = || rust_xlsxwriter::Formula::new("=A2&B2").set_result("x");
    sheet.write_formula(1, 2, joined()).unwrap();
    // A formula that was filled down further than the list is long.
    let nothing = rust_xlsxwriter::Formula::new("=A9&B9").set_result(" ");
    sheet.write_formula(8, 0, nothing).unwrap();
    let book = book.save_to_buffer().unwrap();
    let made = propose(&example(), ("t.xlsx", &book), &choice("tools")).unwrap();
    assert!(made.programme.is_some(), "{:?}", told(&made));
    assert_eq!((made.looked.rows, made.changes.added.len()), (1, 1));
    let text = "id,name,label\nTW-77,Long wrench,=A2&B2\n";
    assert!(proposed("t.csv", text, &choice("tools")).programme.is_some());
}

#[test]
fn headings_and_rows_are_taken_as_people_write_them() {
    for text in [
        "\u{feff}Measures;  NAME ;Id:\r\nno;Long wrench;TW-77\r\n;;\r\n\r\n",
        "id *,name*,measures,,,\nTW-77,Long wrench,no,,,\n,,,,,\n",
        "name\tId\tcolour\nLong wrench\tTW-77\tred\n",
    ] {
        let made = proposed("t.csv", text, &choice("tools"));
        assert!(made.programme.is_some(), "{text}: {:?}", told(&made));
        assert_eq!(made.looked.rows, 1, "{text}");
        let [(name, fields)] = made.changes.added.as_slice() else { panic!("{text}") };
        assert_eq!(name, "TW-77");
        assert_eq!(fields[0], ("name", "Long wrench".to_owned()));
    }
    let made = proposed("i.csv", "ID;Part  Number\nPROP-P;X-1\n", &choice("items"));
    assert_eq!(made.looked.columns[1].field, Some("part_number"), "{:?}", told(&made));
}

#[test]
fn a_text_of_western_europe_is_taken_once_somebody_says_so() {
    let text = b"id;name\nTW-77;F\xFChlerlehre \x80 5\n";
    let made = propose(&example(), ("t.csv", text), &choice("tools")).unwrap();
    assert!(made.looked.not_unicode && made.programme.is_none());
    let problems = told(&made);
    assert!(problems[0].contains("Windows-1252") && problems[0].starts_with("t.csv:2:8"));
    let western = Choice { western: true, ..choice("tools") };
    let made = propose(&example(), ("t.csv", text), &western).unwrap();
    // 80 is the sign of the euro there (WHATWG, Encoding, index windows-1252).
    assert_eq!(made.changes.added[0].1[0].1, "F\u{fc}hlerlehre \u{20ac} 5");
    // What is UTF-8 stays that.
    let made = proposed("t.csv", "id;name\nTW-77;F\u{fc}hler\n", &western);
    assert_eq!(made.changes.added[0].1[0].1, "F\u{fc}hler");
}

#[test]
fn what_is_no_list_is_called_by_its_name() {
    for (name, content, what) in [
        ("t.csv", &b"\x89PNG\r\n\x1a\n\0\0"[..], "a PNG picture"),
        ("t.csv", b"%PDF-1.7\n", "a PDF document"),
        ("t.toml", b"\xFF\xD8\xFF\xE0", "a JPEG picture"),
        ("t.xlsx", b"id,name\n", "not an .xlsx workbook"),
        ("t.xlsx", b"\xD0\xCF\x11\xE0", "protected by a password"),
        ("t.csv", b"PK\x03\x04", "cannot be read"),
        ("t.csv", b"", "the file is empty"),
        ("t.csv", b"\xEF\xBB\xBF\r\n\r\n", "the file is empty"),
    ] {
        let made = propose(&example(), (name, content), &choice("tools")).unwrap();
        let problems = told(&made);
        assert!(problems.iter().any(|told| told.contains(what)), "{what}: {problems:?}");
        assert!(made.programme.is_none(), "{what}");
    }
}

#[test]
fn cells_that_are_written_in_two_ways_are_warned_of() {
    let text = "id;name;mass\nZ-1;One;81,5 kg\nZ-2;Two;2.25 kg\n";
    let made = proposed("i.csv", text, &choice("items"));
    let problems = told(&made);
    assert!(
        problems[0]
            .starts_with("i.csv:3:9: warning: `2.25 kg` writes a fraction otherwise"),
        "{problems:?}"
    );
    assert!(made.programme.is_some());
}
