//! Documents generated from the code, and whether the committed ones are fresh.
//!
//! Each generator writes a tree of files into an empty folder. That tree is laid over its
//! place in the repository (`cargo xtask docs`), or compared with what stands there
//! (`cargo xtask docs --check`). Files beside the generated ones are left alone, except in
//! folders which hold nothing but generated files: there a file that is no longer generated
//! is stale.

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};

use anyhow::{Context, Result, bail};

use crate::shell;

/// A command that writes documents into the folder named by its last argument.
struct Generator {
    /// The package whose binary is run.
    package: &'static str,
    /// The subcommand, by which an older binary that can't do it yet is told.
    subcommand: &'static str,
    /// Arguments between the subcommand and the folder.
    arguments: &'static [&'static str],
    /// The folder of the repository over which the written tree is laid.
    into: &'static str,
    /// Folders under `into` that hold generated files only.
    whole: &'static [&'static str],
}

const GENERATORS: &[Generator] = &[Generator {
    package: "turnbuckle",
    subcommand: "schema",
    arguments: &["--write"],
    into: "docs",
    whole: &["schemas"],
}];

/// Files by their path below the folder, `/` between the parts.
type Tree = BTreeMap<String, Vec<u8>>;

/// Writes every generated document into its place.
pub(crate) fn write() -> Result<()> {
    for generator in GENERATORS {
        let Some(fresh) = generate(generator)? else { continue };
        let home = shell::root().join(generator.into);
        let kept = read_tree(&home)?;
        for (path, bytes) in &fresh {
            if kept.get(path) != Some(bytes) {
                save(&home.join(path), bytes)?;
                println!("wrote {}/{path}", generator.into);
            }
        }
        for path in orphans(&fresh, &kept, generator.whole) {
            let file = home.join(path);
            fs::remove_file(&file)
                .with_context(|| format!("can't remove {}", file.display()))?;
            println!("removed {}/{path}", generator.into);
        }
        println!("{}: {} documents", generator.subcommand, fresh.len());
    }
    Ok(())
}

/// Fails if a generated document differs from the committed one, naming each.
pub(crate) fn check() -> Result<()> {
    let mut stale = Vec::new();
    for generator in GENERATORS {
        let Some(fresh) = generate(generator)? else { continue };
        let kept = read_tree(&shell::root().join(generator.into))?;
        let faults = differences(&fresh, &kept, generator.whole);
        println!("{}: {} documents compared", generator.subcommand, fresh.len());
        stale.extend(
            faults.into_iter().map(|fault| format!("{}/{fault}", generator.into)),
        );
    }
    for fault in &stale {
        eprintln!("{fault}");
    }
    if !stale.is_empty() {
        bail!("{} generated documents are stale; run `cargo xtask docs`", stale.len());
    }
    Ok(())
}

/// Runs a generator; none if its binary doesn't offer the subcommand yet.
fn generate(generator: &Generator) -> Result<Option<Tree>> {
    let base = ["run", "--quiet", "--package", generator.package, "--"];
    let help = shell::capture(shell::cargo(&base).arg("--help"))?;
    if !offers(&help, generator.subcommand) {
        let kept = read_tree(&shell::root().join(generator.into))?;
        return absent(generator, &kept).map(|()| None);
    }
    let folder = scratch(generator)?;
    let mut command = shell::cargo(&base);
    command.arg(generator.subcommand).args(generator.arguments).arg(&folder);
    shell::capture(&mut command)?;
    let tree = read_tree(&folder)?;
    if tree.is_empty() {
        bail!("`{}` wrote no documents", shell::shown(&command));
    }
    Ok(Some(tree))
}

/// A generator that isn't there is fine only while nothing of its making is committed.
fn absent(generator: &Generator, kept: &Tree) -> Result<()> {
    let made = kept.keys().find(|path| inside(path, generator.whole));
    if let Some(path) = made {
        bail!(
            "{}/{path} is generated, but `{} --help` lists no `{}` to make it with",
            generator.into,
            generator.package,
            generator.subcommand
        );
    }
    println!("{} offers no `{}` yet", generator.package, generator.subcommand);
    Ok(())
}

/// Does a line of the help text start with this subcommand?
fn offers(help: &str, subcommand: &str) -> bool {
    help.lines().any(|line| {
        line.starts_with(' ') && line.split_whitespace().next() == Some(subcommand)
    })
}

fn scratch(generator: &Generator) -> Result<PathBuf> {
    let metadata = shell::metadata(true)?;
    let target = metadata["target_directory"]
        .as_str()
        .context("`cargo metadata` names no target folder")?;
    let folder = Path::new(target).join("generated").join(generator.subcommand);
    if folder.exists() {
        fs::remove_dir_all(&folder)
            .with_context(|| format!("can't empty {}", folder.display()))?;
    }
    fs::create_dir_all(&folder)
        .with_context(|| format!("can't make {}", folder.display()))?;
    Ok(folder)
}

fn save(file: &Path, bytes: &[u8]) -> Result<()> {
    if let Some(folder) = file.parent() {
        fs::create_dir_all(folder)
            .with_context(|| format!("can't make {}", folder.display()))?;
    }
    fs::write(file, bytes).with_context(|| format!("can't write {}", file.display()))
}

fn read_tree(folder: &Path) -> Result<Tree> {
    let mut tree = Tree::new();
    let mut open = vec![(folder.to_owned(), String::new())];
    while let Some((folder, prefix)) = open.pop() {
        if !folder.exists() {
            continue;
        }
        let entries = fs::read_dir(&folder)
            .with_context(|| format!("can't list {}", folder.display()))?;
        for entry in entries {
            let entry = entry?;
            let path = format!("{prefix}{}", entry.file_name().to_string_lossy());
            if entry.file_type()?.is_dir() {
                open.push((entry.path(), format!("{path}/")));
            } else {
                let bytes = fs::read(entry.path())
                    .with_context(|| format!("can't read {}", entry.path().display()))?;
                tree.insert(path, bytes);
            }
        }
    }
    Ok(tree)
}

fn differences(fresh: &Tree, kept: &Tree, whole: &[&str]) -> Vec<String> {
    let mut faults = Vec::new();
    for (path, bytes) in fresh {
        match kept.get(path) {
            None => faults.push(format!("{path}: missing")),
            Some(old) if old != bytes => {
                faults.push(format!("{path}: differs at line {}", first(old, bytes)));
            }
            Some(_) => {}
        }
    }
    let orphans = orphans(fresh, kept, whole);
    faults.extend(orphans.into_iter().map(|path| format!("{path}: no longer generated")));
    faults
}

fn orphans<'a>(fresh: &Tree, kept: &'a Tree, whole: &[&str]) -> Vec<&'a str> {
    kept.keys()
        .filter(|path| inside(path, whole) && !fresh.contains_key(*path))
        .map(String::as_str)
        .collect()
}

fn inside(path: &str, folders: &[&str]) -> bool {
    folders
        .iter()
        .any(|folder| path.strip_prefix(folder).is_some_and(|rest| rest.starts_with('/')))
}

/// The first line, from 1, in which two texts differ.
fn first(old: &[u8], new: &[u8]) -> usize {
    let same = old.iter().zip(new).take_while(|(old, new)| old == new).count();
    1 + old.iter().take(same).filter(|&&byte| byte == b'\n').count()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn tree(files: &[(&str, &str)]) -> Tree {
        files
            .iter()
            .map(|&(path, text)| (path.to_owned(), text.as_bytes().to_vec()))
            .collect()
    }

    #[test]
    fn every_kind_of_difference_is_named() {
        let fresh = tree(&[("FOLDER.md", "a\nb\nc"), ("schemas/x.json", "{}")]);
        let kept = tree(&[
            ("FOLDER.md", "a\nB\nc"),
            ("GLOSSARY.md", "by hand"),
            ("schemas/old.json", "{}"),
            ("schemas-by-hand.md", ""),
        ]);
        assert_eq!(
            differences(&fresh, &kept, &["schemas"]),
            [
                "FOLDER.md: differs at line 2",
                "schemas/x.json: missing",
                "schemas/old.json: no longer generated",
            ]
        );
        assert_eq!(differences(&fresh, &fresh, &["schemas"]), Vec::<String>::new());
    }

    #[test]
    fn a_subcommand_is_found_in_help() {
        let help =
            "Does things\n\nCommands:\n  plan    Plans\n  schema  Writes schemas\n";
        assert!(offers(help, "schema"));
        assert!(!offers(help, "schemas"));
        assert!(!offers("schema of things\n  plan  makes a schema\n", "schema"));
        assert!(!offers("", "schema"));
    }

    #[test]
    fn a_lost_generator_is_noticed() {
        let generator = &GENERATORS[0];
        assert!(absent(generator, &tree(&[("GLOSSARY.md", "")])).is_ok());
        let error = absent(generator, &tree(&[("schemas/x.json", "")])).unwrap_err();
        assert!(error.to_string().contains("docs/schemas/x.json"), "{error}");
    }

    #[test]
    fn a_tree_is_read_with_its_folders() {
        let folder = tempfile::tempdir().unwrap();
        save(&folder.path().join("schemas/x.json"), b"{}").unwrap();
        save(&folder.path().join("FOLDER.md"), b"a").unwrap();
        let expected = tree(&[("FOLDER.md", "a"), ("schemas/x.json", "{}")]);
        assert_eq!(read_tree(folder.path()).unwrap(), expected);
        assert_eq!(read_tree(&folder.path().join("none")).unwrap(), Tree::new());
    }
}
