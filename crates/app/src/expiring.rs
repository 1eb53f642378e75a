//! What runs out soon, of people: so that it is renewed before work stands.

use jiff::ToSpan;
use jiff::civil::Date;
use record::Programme;

/// An authority that runs out.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct RunsOut {
    /// The authority.
    pub authority: String,
    /// Whose it is.
    pub person: String,
    /// What it lets them do.
    pub power: String,
    /// What it rests on.
    pub reference: String,
    /// Its last day.
    pub until: Date,
    /// So many days are left; negative if it ran out.
    pub days: i32,
}

/// The valid authorities that run out within some days, the first first.
pub fn running_out(programme: &Programme, on: Date, within: i64) -> Vec<RunsOut> {
    let last = on.saturating_add(within.days());
    let given = programme.shop.authorities.given.iter();
    let soon = given.filter_map(|(name, given)| {
        let until = given.grant.until.filter(|until| *until <= last)?;
        given.is_valid(on).then(|| RunsOut {
            authority: name.to_string(),
            person: given.grant.person.to_string(),
            power: given.grant.power.word().to_owned(),
            reference: given.grant.reference.clone(),
            until,
            days: (until - on).get_days(),
        })
    });
    let mut all: Vec<RunsOut> = soon.collect();
    all.sort_by(|one, other| (one.until, &one.person).cmp(&(other.until, &other.person)));
    all
}
