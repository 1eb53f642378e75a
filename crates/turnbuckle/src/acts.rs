//! The commands of the record: acts, what they come to, and history.

use std::io::Write;

use anyhow::{Result, bail};
use app::{About, AppError, Changed, Kept, Place, Refused, Sheet, Signed, Workshop};
use jiff::ZonedDateTime;
use serde_json::json;

use crate::arguments::{Act, Show, Signer, What};
use crate::secrets;

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
    let ledger = &asked.ledger.place()?;
    if asked.only_try {
        let signed = Signed { by: asked.by.clone(), at: stamp(), secret: None };
        let refused = app::try_acts(ledger, &acts, &signed)?;
        return Ok(tell_refused(&refused, asked.json));
    }
    let signed = signed(&asked.by, &asked.signer, ledger)?;
    sign(ledger, &acts, &signed, (asked.request.as_deref(), asked.seen), asked.json)
}

/// Who signs now, with their secret if they have one.
pub(crate) fn signed(by: &str, signer: &Signer, ledger: &Place) -> Result<Signed> {
    let secret = secrets::of(signer, by, ledger)?;
    Ok(Signed { by: by.to_owned(), at: stamp(), secret })
}

/// Gives a person a secret.
pub(crate) fn enrol(
    (person, by): (&str, &str),
    reason: &str,
    file: Option<&std::path::Path>,
    signer: &Signer,
    ledger: &Place,
) -> Result<bool> {
    let signed = signed(by, signer, ledger)?;
    let act = app::enrolment(person, &secrets::new(person, file)?, reason)?;
    sign(ledger, &[act], &signed, (None, None), false)
}

/// Does acts and says what came of them. With the number of the entry up to which whoever
/// signs has looked, what others entered since is held against it.
pub(crate) fn sign(
    ledger: &Place,
    acts: &[app::Act],
    signed: &Signed,
    (request, seen): (Option<&str>, Option<u64>),
    json: bool,
) -> Result<bool> {
    let mut workshop = Workshop::open(ledger)?;
    let kept = match workshop.act_having_seen(acts, signed, request, seen) {
        Err(AppError::Forbidden(refused)) => return Ok(tell_refused(&refused, json)),
        Err(AppError::Changed(changed)) => {
            tell_changed(&changed, json);
            return Ok(false);
        }
        other => other?,
    };
    tell_kept(kept, &signed.by, json);
    std::io::stdout().flush()?;
    workshop.rest();
    Ok(true)
}

/// Says what was refused, if anything was; whether nothing was.
pub(crate) fn tell_refused(refused: &[Refused], json: bool) -> bool {
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

/// Shows what somebody sent beside what others entered since they had looked.
fn tell_changed(changed: &Changed, json: bool) {
    if json {
        let changed = app::changed_json(changed);
        println!("{}", json!({ "kept": [], "refused": [], "changed": changed }));
        return;
    }
    eprintln!("not entered:");
    for act in &changed.acts {
        eprintln!("  {act}");
    }
    eprintln!("{changed}");
    eprintln!(
        "  hint: look again whether it still holds, and send it once more with --seen {}",
        changed.now
    );
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
        (What::Plan, name) => About::Plan(name),
        (What::Tools, name) => About::Tools(name),
        (What::Air, name) => About::Air(name),
        (What::People, name) => About::People(name),
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
        (What::Stores, None) => About::Stores,
        (What::Letters, None) => About::Letters,
        (What::Directives, None) => About::Directives,
        (What::Origins, None) => About::Origins,
        (What::Service, None) => About::Service,
        (What::Money, None) => About::Money,
        (What::Rules, None) => About::Rules,
    };
    let ledger = &asked.ledger.place()?;
    let workshop = Workshop::read(ledger)?;
    let on = asked.on.unwrap_or_else(|| now().date());
    let sheet = app::sheet(workshop.programme(), &about, on)?;
    print_at(&sheet, workshop.number(), asked.json);
    if let Some(warning) = app::backup_warning(ledger, jiff::Timestamp::now())? {
        eprintln!("warning: {warning}\n  hint: turnbuckle backup FILE");
    }
    Ok(true)
}

pub(crate) fn history(thing: &str, ledger: &Place, json: bool) -> Result<bool> {
    print(&app::history(ledger, thing)?, json);
    Ok(true)
}

/// Prints a sheet and the entry up to which it was computed, for `act --seen`.
fn print_at(sheet: &Sheet, entry: u64, json: bool) {
    if json {
        let mut value = sheet.json();
        value["entry"] = entry.into();
        println!("{value}");
    } else {
        print!("{}", sheet.text());
        println!("\nas it stands after entry {entry}");
    }
}

fn print(sheet: &Sheet, json: bool) {
    if json {
        println!("{}", sheet.json());
    } else {
        print!("{}", sheet.text());
    }
}
