//! Writing a folder: what is refused, and what comes back.

#![expect(clippy::unwrap_used, reason = "a helper of a test fails as the test does")]

use std::collections::BTreeMap;
use std::fs;
use std::path::Path;
use std::sync::Arc;

use folder::{WriteError, overwrite, read, skeleton, write};
use record::{Change, Programme};

fn programme() -> Programme {
    let folder = tempfile::tempdir().unwrap();
    for (name, content) in skeleton() {
        fs::write(folder.path().join(name), content).unwrap();
    }
    read(folder.path()).unwrap().programme
}

fn files(folder: &Path) -> BTreeMap<String, String> {
    let entries = fs::read_dir(folder).unwrap().map(Result::unwrap);
    entries
        .map(|entry| {
            let name = entry.file_name().to_string_lossy().into_owned();
            (name, fs::read_to_string(entry.path()).unwrap())
        })
        .collect()
}

#[test]
fn lists_have_their_forms_and_nothing_else_is_left_behind() {
    let folder = tempfile::tempdir().unwrap();
    let written = write(&programme(), &folder.path().join("a/b")).unwrap();
    let names: Vec<String> = written
        .iter()
        .map(|path| path.file_name().unwrap().to_string_lossy().into_owned())
        .collect();
    assert_eq!(
        names,
        [
            "programme.toml",
            "gates.toml",
            "skills.toml",
            "zones.toml",
            "stands.toml",
            "places.toml",
            "items.csv",
            "connections.csv",
            "checks.toml",
            "people.csv",
            "routes.toml",
            "seasons.toml",
            "packs.csv",
            "findings.csv",
            "jobs.csv",
            "actuals.csv",
            "tools.csv",
            "requirements.csv",
            "rules.csv",
            "retention.csv",
            "outlines.csv",
        ]
    );
    assert_eq!(files(&folder.path().join("a/b")).len(), names.len());
}

#[test]
fn writing_twice_gives_the_same_bytes() {
    let (one, other) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    write(&programme(), one.path()).unwrap();
    write(&read(one.path()).unwrap().programme, other.path()).unwrap();
    assert_eq!(files(one.path()), files(other.path()));
}

#[test]
fn a_programme_in_the_folder_stays_unless_it_may_be_replaced() {
    let folder = tempfile::tempdir().unwrap();
    let mut programme = programme();
    write(&programme, folder.path()).unwrap();
    fs::write(folder.path().join("notes.txt"), "mine").unwrap();
    let before = files(folder.path());

    programme.checks = record::Register::default();
    let refused = write(&programme, folder.path()).unwrap_err();
    assert!(
        matches!(&refused, WriteError::Exists { files, .. } if files.len() == 21),
        "{refused}"
    );
    assert_eq!(files(folder.path()), before);

    overwrite(&programme, folder.path()).unwrap();
    // The list that is empty now is written as an empty one, and notes stay.
    assert_eq!(read(folder.path()).unwrap().programme, programme);
    assert_eq!(files(folder.path())["notes.txt"], "mine");
    assert_eq!(files(folder.path()).len(), before.len());
}

#[test]
fn other_folders_are_not_written_into() {
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join("letters.txt"), "mine").unwrap();
    for result in
        [write(&programme(), folder.path()), overwrite(&programme(), folder.path())]
    {
        let refused = result.unwrap_err();
        assert!(matches!(refused, WriteError::Foreign { .. }), "{refused}");
    }
    assert_eq!(files(folder.path()).len(), 1);

    // Hidden files, such as those of version control, are no reason.
    let folder = tempfile::tempdir().unwrap();
    fs::write(folder.path().join(".gitignore"), "").unwrap();
    write(&programme(), folder.path()).unwrap();
}

#[test]
fn a_list_in_another_form_is_not_doubled() {
    let folder = tempfile::tempdir().unwrap();
    write(&programme(), folder.path()).unwrap();
    fs::write(folder.path().join("items.toml"), "").unwrap();
    let refused = overwrite(&programme(), folder.path()).unwrap_err();
    assert!(
        matches!(&refused, WriteError::OtherForm { files, .. } if files == &["items.toml"]),
        "{refused}"
    );
}

#[test]
fn an_empty_programme_is_no_folder() {
    let folder = tempfile::tempdir().unwrap();
    let refused = write(&Programme::default(), folder.path()).unwrap_err();
    assert!(matches!(refused, WriteError::Empty), "{refused}");
    assert!(files(folder.path()).is_empty());
}

#[test]
fn a_file_in_the_place_of_the_folder() {
    let folder = tempfile::tempdir().unwrap();
    let file = folder.path().join("file");
    fs::write(&file, "mine").unwrap();
    let refused = write(&programme(), &file).unwrap_err();
    assert!(matches!(refused, WriteError::Io { .. }), "{refused}");
    assert_eq!(fs::read_to_string(&file).unwrap(), "mine");
}

#[test]
fn texts_stay_as_they_were_typed() {
    let mut programme = programme();
    let mut item = programme.items.iter().next().unwrap().clone();
    item.name = "=HYPERLINK(\"x\"), 3/16\" \u{2013} \u{e9}\nsecond line".to_owned();
    item.part_number = Some("-00123".to_owned());
    item.serial = Some("@1e5".to_owned());
    item.mass = Some(quantity::Typed::parse("92 1/2 lb").unwrap());
    programme.items.apply(&Change::Define(Arc::new(item)));
    let folder = tempfile::tempdir().unwrap();
    write(&programme, folder.path()).unwrap();
    assert_eq!(read(folder.path()).unwrap().programme, programme);
    assert!(files(folder.path())["items.csv"].contains(",92 1/2 lb,"));
}

/// The demonstration programme of this repository, which was typed by hand.
#[test]
fn the_example_comes_back_the_same() {
    let example = Path::new(env!("CARGO_MANIFEST_DIR")).join("../../examples/amphibian");
    let reading = read(&example).unwrap_or_else(|report| panic!("{report}"));
    let folder = tempfile::tempdir().unwrap();
    write(&reading.programme, folder.path()).unwrap();
    let again = read(folder.path()).unwrap_or_else(|report| panic!("{report}"));
    assert_eq!(again.programme, reading.programme);
    assert_eq!(again.warnings.len(), reading.warnings.len());
}
