//! The generated documents: fresh in the repository, and complete.

use std::path::Path;

fn docs() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../../docs")
}

#[test]
fn the_repository_holds_what_is_generated() {
    let read = |path: std::path::PathBuf| {
        std::fs::read_to_string(&path)
            .unwrap_or_else(|error| panic!("{}: {error}", path.display()))
    };
    assert_eq!(
        read(docs().join("FOLDER.md")),
        folder::reference(),
        "run `cargo xtask docs`"
    );
    assert_eq!(
        read(docs().join("ACTS.md")),
        folder::acts::reference(),
        "run `cargo xtask docs`"
    );
    let acts = ("acts.schema.json".to_owned(), folder::acts::schema());
    for (name, schema) in folder::schemas().into_iter().chain([acts]) {
        assert_eq!(
            read(docs().join("schemas").join(&name)),
            schema,
            "run `cargo xtask docs`"
        );
    }
}

#[test]
fn schemas_are_json_and_name_the_dialect() {
    let schemas = folder::schemas();
    assert_eq!(schemas.len(), 25);
    for (name, schema) in schemas {
        let value: serde_json::Value = serde_json::from_str(&schema).unwrap();
        assert_eq!(
            value["$schema"], "https://json-schema.org/draft/2020-12/schema",
            "{name}"
        );
        assert_eq!(value["additionalProperties"], false, "{name}");
        let required = value["required"].as_array();
        for field in required.into_iter().flatten() {
            assert!(
                value["properties"][field.as_str().unwrap()].is_object(),
                "{name} {field}"
            );
        }
    }
}

#[test]
fn the_reference_names_every_file() {
    let reference = folder::reference();
    for (name, _) in folder::skeleton() {
        assert!(reference.contains(&format!("`{name}`")), "{name}");
    }
    // A bar in a cell would break the table.
    for line in reference.lines().filter(|line| line.starts_with("| `")) {
        assert_eq!(line.replace("\\|", "").matches('|').count(), 6, "{line}");
    }
}
