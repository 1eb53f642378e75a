//! The commands of the record: acts, what they come to, and history.

use std::path::Path;

use anyhow::{Result, bail};
use app::{About, AppError, Kept, Refused, Sheet, Signed};
use jiff::ZonedDateTime;
use serde_json::json;

use crate::arguments::{Act, Show, What};

/// Now, on the workshop's clock with its offset, as a ledger keeps times.
pub(crate) fn now() -> ZonedDateTime {
    ZonedDateTime::now()
}

/// The same as text.
pub(crate) fn stamp() -> String {
    now().strftime("%Y-%m-%dT%H:%M:%S%:z").to_string()
}

pub(crate) fn act(asked: &Act) -> Result<bool> {
    let acts = match (&asked.file, &asked.word) {
        (Some(file), _) => app::acts_of_file(file)?,
        (None, Some(word)) => app::typed_act(word, &asked.fields)?,
        (None, None) => bail!("name an act, or a file of acts with --file"),
    };
    let signed = Signed { by: asked.by.clone(), at: stamp() };
    let ledger = &asked.ledger.ledger;
    if asked.only_try {
        let refused = app::try_acts(ledger, &acts, &signed)?;
        return Ok(tell_refused(&refused, asked.json));
    }
    let kept = match app::act(ledger, &acts, &signed, asked.request.as_deref()) {
        Err(AppError::Forbidden(refused)) => {
            return Ok(tell_refused(&refused, asked.json));
        }
        other => other?,
    };
    tell_kept(kept, &asked.by, asked.json);
    Ok(true)
}

/// Says what was refused, if anything was; whether nothing was.
fn tell_refused(refused: &[Refused], json: bool) -> bool {
    if json {
        println!("{}", json!({ "kept": [], "refused": app::refused_json(refused) }));
    } else if refused.is_empty() {
        println!("nothing forbids it");
    } else {
        for one in refused {
            eprintln!("refused: {one}");
        }
        eprintln!("nothing was entered");
    }
    refused.is_empty()
}

fn tell_kept(kept: Vec<Kept>, by: &str, json: bool) {
    if json {
        let each = kept.iter().map(|one| {
            let cautions = one.cautions.iter().map(|caution| caution.what.clone());
            let cautions: Vec<String> = cautions.collect();
            json!({
                "entry": one.number,
                "act": one.word,
                "repeated": one.repeated,
                "cautions": cautions,
            })
        });
        println!("{}", json!({ "kept": each.collect::<Vec<_>>(), "refused": [] }));
        return;
    }
    for one in kept {
        let again = if one.repeated { ", which was entered before" } else { "" };
        println!("entry {}: {} by {by}{again}", one.number, one.word);
        for caution in one.cautions {
            println!("  caution: {}\n    hint: {}", caution.what, caution.hint);
        }
    }
}

pub(crate) fn show(asked: &Show) -> Result<bool> {
    let name = asked.name.clone();
    let about = match (asked.what, name) {
        (What::Gates, name) => About::Gates(name),
        (What::Cards, name) => About::Cards(name),
        (What::Findings, name) => About::Findings(name),
        (What::Ndt, name) => About::Examinations(name),
        (What::Parts, name) => About::Parts(name),
        (What::Occurrence, Some(name)) => About::Occurrence(name),
        (What::Occurrence, None) => {
            bail!("name the finding: a draft is made for one that is classed as a hazard")
        }
        (_, Some(name)) => {
            bail!("`{name}`: this list has no sheet for one of its things")
        }
        (What::Status, None) => About::Status,
        (What::Deferred, None) => About::Deferred,
        (What::Repairs, None) => About::Repairs,
        (What::Made, None) => About::Made,
        (What::Conditions, None) => About::Conditions,
        (What::Mass, None) => About::Mass,
        (What::Ratios, None) => About::Ratios,
        (What::Retention, None) => About::Retention,
        (What::Audit, None) => About::Audit,
        (What::Lives, None) => About::Lives,
        (What::Tools, None) => About::Tools,
        (What::Stores, None) => About::Stores,
        (What::Letters, None) => About::Letters,
        (What::Directives, None) => About::Directives,
        (What::Origins, None) => About::Origins,
        (What::Service, None) => About::Service,
        (What::Money, None) => About::Money,
        (What::People, None) => About::People,
        (What::Rules, None) => About::Rules,
    };
    let workshop = app::Workshop::read(&asked.ledger.ledger)?;
    let on = asked.on.unwrap_or_else(|| now().date());
    print(&app::sheet(workshop.programme(), &about, on)?, asked.json);
    if let Some(warning) =
        app::backup_warning(&asked.ledger.ledger, jiff::Timestamp::now())?
    {
        eprintln!("warning: {warning}\n  hint: turnbuckle backup FILE");
    }
    Ok(true)
}

pub(crate) fn history(thing: &str, ledger: &Path, json: bool) -> Result<bool> {
    print(&app::history(ledger, thing)?, json);
    Ok(true)
}

fn print(sheet: &Sheet, json: bool) {
    if json {
        println!("{}", sheet.json());
    } else {
        print!("{}", sheet.text());
    }
}
