//! Mass and balance: what is known of them and what is not.

use quantity::{Length, Mass};
use record::Programme;
use record::balance::Acting;

use super::joined;
use crate::Sheet;

pub(super) fn mass(programme: &Programme) -> Sheet {
    let balance = programme.balance();
    let mut sheet = Sheet::new("Mass and balance, as far as they are known");
    let datum = programme.info.as_ref().and_then(|info| info.datum.clone());
    sheet.fact("datum", datum.unwrap_or_else(|| "not stated".to_owned()));
    let complete = balance.unknown.is_empty();
    let rows = [
        ("as last weighed, complete", balance.weighed, true),
        ("all items that are listed", balance.listed, complete),
        ("listed and on the aircraft", balance.aboard, complete),
        ("listed and off", balance.off, balance.unknown_off.is_empty()),
        ("as last weighed, less what is off", balance.now, true),
    ];
    let rows = rows.map(|(what, acting, whole)| row(what, acting, whole)).into();
    sheet.list("sums", &["what", "mass", "arm", "moment", "state"], rows);
    if let (Some((weighed, _)), Some((listed, _))) = (balance.weighed, balance.listed) {
        let apart = weighed.in_kg() - listed.in_kg();
        sheet.fact("weighed and not listed", format!("{apart:.1} kg"));
    }
    sheet.fact("items without mass or arm", balance.unknown.len());
    if balance.weighed.is_some() && balance.now.is_none() {
        let names = joined(balance.unknown_off.iter());
        sheet.fact("not known now", format!("mass or arm of what is off: {names}"));
    }
    let rows = balance.unknown.iter().map(|item| {
        let off = balance.unknown_off.contains(item);
        vec![item.to_string(), if off { "off" } else { "on the aircraft" }.to_owned()]
    });
    sheet.list("mass or arm not known", &["item", "where"], rows.collect());
    sheet.caution(
        "Computed from the list of items and the weighing that the programme names; it is no \
         weighing. What was modified or repaired since is not in it.",
    );
    sheet
}

/// A sum, and whether it lacks items whose mass or arm is not known.
fn row(what: &str, acting: Option<Acting>, whole: bool) -> Vec<String> {
    let mut row = vec![what.to_owned()];
    let state = match (acting, whole) {
        (None, true) => "nothing, or not stated",
        (None, false) => "not known",
        (Some(_), true) => "",
        (Some(_), false) => "without what is not known",
    };
    match acting {
        None => row.extend(["-"; 3].map(str::to_owned)),
        Some((mass, arm)) => {
            let moment = mass.in_kg() * arm.in_m();
            row.extend([of(mass), at(arm), format!("{moment:.1} kg·m")]);
        }
    }
    row.push(state.to_owned());
    row
}

fn of(mass: Mass) -> String {
    format!("{:.1} kg ({:.1} lb)", mass.in_kg(), mass.in_lb())
}

fn at(arm: Length) -> String {
    format!("{:.3} m ({:.1} in)", arm.in_m(), arm.in_inches())
}
