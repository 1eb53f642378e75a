//! What the browser found on each page, as a document; and the tour with its pictures.

use std::fmt::Write;
use std::fs;
use std::path::Path;

use anyhow::{Context, Result, bail};

use crate::bench::{commit, today};
use crate::{browser, node, shell};

const DOCUMENT: &str = "docs/PAGES.md";
const TOUR: &str = "docs/tour";

/// Holds every page against WCAG 2.2 AA and writes what was counted.
pub(crate) fn report() -> Result<()> {
    ready()?;
    let folder =
        shell::root().join("target").join(format!("pages-{}", std::process::id()));
    fs::create_dir_all(&folder)
        .with_context(|| format!("can't make {}", folder.display()))?;
    let swept = sweep(&folder);
    // What was counted counts, with faults or without.
    let counted = read(&folder);
    fs::remove_dir_all(&folder)
        .with_context(|| format!("can't remove {}", folder.display()))?;
    let path = shell::root().join(DOCUMENT);
    fs::write(&path, document(&counted?))
        .with_context(|| format!("can't write {}", path.display()))?;
    println!("{DOCUMENT} is written");
    swept
}

/// Goes through the invented example and keeps the pictures of the tour.
pub(crate) fn tour() -> Result<()> {
    ready()?;
    let folder = shell::root().join(TOUR);
    let mut command = browser_tests("tour::");
    command.args(["lead::", "bench::"]);
    shell::run(command.env("TURNBUCKLE_SHOTS", &folder))
}

fn ready() -> Result<()> {
    browser::ready()?;
    node::ready()
}

fn sweep(folder: &Path) -> Result<()> {
    shell::run(browser_tests("sweep::every_page").env("TURNBUCKLE_PAGES", folder))
}

fn browser_tests(filter: &str) -> std::process::Command {
    let mut command =
        shell::cargo(&["test", "--package=web", "--test=browser", "--", filter]);
    command.env("TURNBUCKLE_GATE", "1");
    command
}

/// What one page came to in one of its looks.
#[derive(Debug, PartialEq)]
struct Look {
    page: String,
    device: String,
    shade: String,
    wrong: u64,
    held: u64,
    unsaid: String,
}

fn read(folder: &Path) -> Result<Vec<Look>> {
    let mut looks = Vec::new();
    for device in ["desk", "phone"] {
        let file = folder.join(format!("{device}.tsv"));
        let text = fs::read_to_string(&file)
            .with_context(|| format!("the tests left no {}", file.display()))?;
        for line in text.lines() {
            looks.push(look(line)?);
        }
    }
    Ok(looks)
}

fn look(line: &str) -> Result<Look> {
    let [page, device, shade, wrong, held, unsaid] =
        line.split('\t').collect::<Vec<_>>()[..]
    else {
        bail!("`{line}` has not six columns");
    };
    let text = str::to_owned;
    let (wrong, held) = (wrong.parse()?, held.parse()?);
    let (page, device, shade) = (text(page), text(device), text(shade));
    Ok(Look { page, device, shade, wrong, held, unsaid: text(unsaid) })
}

fn document(looks: &[Look]) -> String {
    let mut text = format!(
        "# The pages, held against WCAG 2.2 AA\n\n\
         Written by `cargo xtask pages` on {}, {}, with axe-core {} in Chromium: every page of \
         the table in\n`crates/web/tests/pages/routes.rs`, as somebody sees it who plans and \
         certifies, for a desk (1280 by 900) and a phone\n(390 by 844), light and dark. The \
         gate repeats it and lets no fault pass.\n\n\
         Each cell has faults / rules that held; in the dark only the rules that depend on colours \
         are asked again. *Unsaid* are rules of which a machine can't \
         say whether they hold; what a\nmachine finds is a part of what the criteria ask for.\n\n\
         | page | desk, light | desk, dark | phone, light | phone, dark | unsaid |\n\
         |---|--:|--:|--:|--:|---|\n",
        today(),
        commit(),
        axe().unwrap_or_else(|| "?".to_owned()),
    );
    let mut pages: Vec<&str> = Vec::new();
    for look in looks.iter().filter(|look| look.device == "desk") {
        if !pages.contains(&look.page.as_str()) {
            pages.push(&look.page);
        }
    }
    for page in &pages {
        // Writing to a text cannot fail.
        let _ = writeln!(text, "{}", row(page, looks));
    }
    let wrong: u64 = looks.iter().map(|look| look.wrong).sum();
    let _ =
        writeln!(text, "\n{} pages, {} looks, {wrong} faults.", pages.len(), looks.len());
    text
}

fn row(page: &str, looks: &[Look]) -> String {
    let of = |device: &str, shade: &str| {
        looks.iter().find(|look| {
            look.page == page && look.device == device && look.shade == shade
        })
    };
    let ways =
        [("desk", "light"), ("desk", "dark"), ("phone", "light"), ("phone", "dark")];
    let mut row = format!("| `{page}` |");
    let mut unsaid: Vec<&str> = Vec::new();
    for (device, shade) in ways {
        let Some(look) = of(device, shade) else {
            row.push_str(" |");
            continue;
        };
        let _ = write!(row, " {} / {} |", look.wrong, look.held);
        for rule in look.unsaid.split_whitespace() {
            if !unsaid.contains(&rule) {
                unsaid.push(rule);
            }
        }
    }
    let _ = write!(row, " {} |", unsaid.join(", "));
    row
}

/// The version of axe-core that was used.
fn axe() -> Option<String> {
    let file = shell::root().join("reference/node_modules/axe-core/package.json");
    let text = fs::read_to_string(file).ok()?;
    let package: serde_json::Value = serde_json::from_str(&text).ok()?;
    package["version"].as_str().map(str::to_owned)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_become_a_row_for_each_page() {
        let lines =
            ["/a\tdesk\tlight\t0\t20\t", "/a\tphone\tdark\t2\t18\tcolor-contrast"];
        let looks: Vec<Look> = lines.iter().map(|line| look(line).unwrap()).collect();
        assert_eq!(row("/a", &looks), "| `/a` | 0 / 20 | | | 2 / 18 | color-contrast |");
        let text = document(&looks);
        assert!(text.contains("1 pages, 2 looks, 2 faults."), "{text}");
        assert!(look("/a\tdesk").is_err());
    }
}
