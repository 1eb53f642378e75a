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
    let rows = [
        ("as last weighed, complete", balance.weighed),
        ("all items that are listed", balance.listed),
        ("listed and on the aircraft", balance.aboard),
        ("listed and off", balance.off),
        ("as last weighed, less what is off", balance.now),
    ];
    let rows = rows.map(|(what, acting)| row(what, acting)).into();
    sheet.list("sums", &["what", "mass", "arm", "moment"], rows);
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

fn row(what: &str, acting: Option<Acting>) -> Vec<String> {
    let mut row = vec![what.to_owned()];
    match acting {
        None => row.extend(["not known"; 3].map(str::to_owned)),
        Some((mass, arm)) => {
            let moment = mass.in_kg() * arm.in_m();
            row.extend([of(mass), at(arm), format!("{moment:.1} kg·m")]);
        }
    }
    row
}

fn of(mass: Mass) -> String {
    format!("{:.1} kg ({:.1} lb)", mass.in_kg(), mass.in_lb())
}

fn at(arm: Length) -> String {
    format!("{:.3} m ({:.1} in)", arm.in_m(), arm.in_inches())
}
