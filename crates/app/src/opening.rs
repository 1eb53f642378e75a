//! What has to come off to reach something.

use std::collections::BTreeSet;
use std::fmt::Write;

use airframe::ItemId;
use airframe::access::{Opening, Options, Removal, Target, Why, open};
use quantity::Id;
use record::Programme;

use crate::AppError;

/// An answer, as lines to print.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct OpeningAnswer {
    /// What comes off, in order, and how it goes back.
    pub text: String,
    /// Person-minutes of removal and refit.
    pub cost: u64,
    /// Whether no cheaper way exists.
    pub optimal: bool,
}

/// The cheapest way to free some items and to expose others.
pub fn opening(
    programme: &Programme,
    free: &[String],
    expose: &[String],
) -> Result<OpeningAnswer, AppError> {
    let airframe = programme.airframe().map_err(AppError::Refused)?;
    let targets = targets(free, expose)?;
    let found = open(&airframe, &off_now(programme), &targets, &Options::default());
    let opening = found.map_err(|refusal| AppError::Unknown(refusal.to_string()))?;
    Ok(told(programme, &opening))
}

/// What is off by the record, which need not be taken off again.
pub(crate) fn off_now(programme: &Programme) -> BTreeSet<ItemId> {
    programme.items.names().filter(|item| programme.is_off(item)).cloned().collect()
}

/// What is wanted, of names as they were typed.
pub(crate) fn targets(
    free: &[String],
    expose: &[String],
) -> Result<Vec<Target>, AppError> {
    let name = |text: &String| {
        Id::new(text).map_err(|error| AppError::Unknown(format!("`{text}`: {error}")))
    };
    let mut targets = Vec::new();
    for text in free {
        targets.push(Target::Free(name(text)?));
    }
    for text in expose {
        targets.push(Target::Expose(name(text)?));
    }
    Ok(targets)
}

/// What a removal is for, in words.
pub(crate) fn reasons(removal: &Removal) -> Vec<String> {
    let each = removal.why.iter().map(|why| match why {
        Why::Target(target) => format!("wanted: {target}"),
        Why::Item(item) => format!("in the way of {item}"),
        Why::Lightens(item) => format!("lightens {item}"),
    });
    each.collect()
}

fn told(programme: &Programme, opening: &Opening) -> OpeningAnswer {
    let mut text = String::new();
    let called = |item: &airframe::ItemId| {
        programme.items.get(item).map_or("", |item| item.name.as_str()).to_owned()
    };
    for (number, removal) in opening.removals.iter().enumerate() {
        let _ = writeln!(
            text,
            "{:>3}. {:<14} {} ({})",
            number + 1,
            removal.item,
            called(&removal.item),
            reasons(removal).join("; ")
        );
    }
    if opening.removals.is_empty() {
        text.push_str("nothing has to come off\n");
    }
    let _ = writeln!(text, "\nback in this order:");
    for refit in &opening.refits {
        let _ = writeln!(text, "     {:<14} {}", refit.item, called(&refit.item));
    }
    OpeningAnswer { text, cost: opening.cost, optimal: opening.optimal }
}
