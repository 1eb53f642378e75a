//! What the record says of each zone.

use std::collections::{BTreeMap, BTreeSet};

use airframe::{ItemId, ZoneId};
use charts::RegionState;
use jiff::civil::Date;
use record::shop::{FindingState, Whereabouts};
use record::{Condition, FindingId, Programme};

/// A zone, with all that the record says of it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct ZoneFacts {
    /// Its name in the programme.
    pub zone: String,
    /// What people call it.
    pub name: String,
    /// Whether the view shows it.
    pub shown: bool,
    /// Zones within it that count with it, because the view does not show them.
    pub with: Vec<String>,
    /// Its items.
    pub items: Vec<String>,
    /// Items that are off, wherever they are, and not written off.
    pub off: Vec<String>,
    /// Of these, those that are away at a firm.
    pub away: Vec<String>,
    /// Of those that are off, those behind which something else lies: its openings.
    pub openings: Vec<String>,
    /// Items that are still to come off by the plan adopted for the season of the day.
    pub to_come_off: Vec<String>,
    /// Items in quarantine, or of a history that nobody has accepted.
    pub doubtful: Vec<String>,
    /// Findings that are open, with how bad each is.
    pub open: Vec<(String, Condition)>,
    /// How many findings were cleared.
    pub cleared: usize,
    /// Cards on which work has begun and that are not certified complete.
    pub cards: Vec<String>,
    /// Tools that are out for a card of it.
    pub tools: Vec<String>,
    /// The worst of all that, in a word.
    pub state: RegionState,
}

impl ZoneFacts {
    /// How many open findings are so bad.
    pub fn count(&self, condition: Condition) -> usize {
        self.open.iter().filter(|(_, found)| *found == condition).count()
    }

    /// How many there are of what its state is about; 0 where there is nothing to count.
    pub fn count_of_state(&self) -> usize {
        match self.state {
            RegionState::Hazard => self.count(Condition::Hazard),
            RegionState::OutsideLimits => self.count(Condition::OutsideLimits),
            RegionState::Doubtful => self.count(Condition::Unknown) + self.doubtful.len(),
            RegionState::Open => self.off.len(),
            RegionState::UnderWay => self.cards.len().max(self.tools.len()),
            RegionState::WithinLimits => self.count(Condition::WithinLimits),
            RegionState::Cleared => self.cleared,
            RegionState::NoEntry => 0,
        }
    }

    /// All of it as short sentences without a full stop.
    pub fn sentences(&self) -> Vec<String> {
        let several = |count: usize, one: &str, many: &str| match count {
            0 => None,
            1 => Some(format!("1 {one}")),
            count => Some(format!("{count} {many}")),
        };
        let findings = |condition: Condition, words: &str| {
            several(
                self.count(condition),
                &format!("finding {words}"),
                &format!("findings {words}"),
            )
        };
        let told = [
            findings(Condition::Hazard, "that is a hazard"),
            findings(Condition::OutsideLimits, "outside limits"),
            findings(Condition::Unknown, "that nobody has classed"),
            several(
                self.doubtful.len(),
                "item in quarantine or of doubtful history",
                "items in quarantine or of doubtful history",
            ),
            several(self.off.len(), "item off", "items off"),
            several(self.away.len(), "of them at a firm", "of them at firms"),
            several(self.openings.len(), "of them an opening", "of them openings"),
            several(
                self.to_come_off.len(),
                "item still to come off",
                "items still to come off",
            ),
            several(self.cards.len(), "card under way", "cards under way"),
            several(self.tools.len(), "tool out", "tools out"),
            findings(Condition::WithinLimits, "within limits"),
            several(self.cleared, "finding cleared", "findings cleared"),
        ];
        let mut told: Vec<String> = told.into_iter().flatten().collect();
        if told.is_empty() {
            told.push(
                "nothing is entered about it, which does not mean that it is sound"
                    .to_owned(),
            );
        }
        if !self.with.is_empty() {
            told.push(format!("with {}", self.with.join(", ")));
        }
        told
    }
}

/// What is known, zone by zone, before zones are put together.
#[derive(Default)]
pub(super) struct Gathered {
    zones: BTreeMap<ZoneId, Own>,
    /// What belongs to no zone and would be looked for.
    pub(super) stray: Vec<String>,
}

/// What is known of one zone alone.
#[derive(Default, Clone)]
struct Own {
    items: Vec<String>,
    off: Vec<String>,
    away: Vec<String>,
    openings: Vec<String>,
    to_come_off: Vec<String>,
    doubtful: Vec<String>,
    open: Vec<(String, Condition)>,
    cleared: usize,
    cards: Vec<String>,
    tools: Vec<String>,
}

/// The zone of an item: its own, or that of what carries it.
pub(crate) fn zone_of<'p>(programme: &'p Programme, item: &ItemId) -> Option<&'p ZoneId> {
    let (mut at, mut seen) = (programme.items.get(item)?, BTreeSet::new());
    while seen.insert(&at.id) {
        if let Some(zone) = &at.zone {
            return Some(zone);
        }
        at = programme.items.get(at.carrier()?)?;
    }
    None
}

/// The zone of a finding: its own, that of its item, or that of what carries the item.
pub(crate) fn zone_of_finding<'p>(
    programme: &'p Programme,
    finding: &FindingId,
) -> Option<&'p ZoneId> {
    let own = programme.zone_of_finding(finding);
    own.or_else(|| zone_of(programme, programme.item_of_finding(finding)?))
}

/// All that is known on a day, zone by zone.
pub(super) fn gather(programme: &Programme, on: Date) -> Gathered {
    let mut gathered = Gathered::default();
    of_items(programme, on, &mut gathered);
    of_findings(programme, &mut gathered);
    of_cards(programme, &mut gathered);
    gathered
}

impl Gathered {
    /// Whether anything at all belongs to a zone itself.
    pub(super) fn knows(&self, zone: &ZoneId) -> bool {
        self.zones.contains_key(zone)
    }

    fn at(&mut self, zone: &ZoneId) -> &mut Own {
        self.zones.entry(zone.clone()).or_default()
    }
}

fn of_items(programme: &Programme, on: Date, gathered: &mut Gathered) {
    let ahead: BTreeSet<&ItemId> =
        programme.items.iter().flat_map(|item| item.behind.items()).collect();
    let planned = planned_off(programme, on);
    for item in programme.items.iter() {
        let name = item.id.to_string();
        let part = programme.shop.parts.parts.get(&item.id);
        let gone = part.is_some_and(|part| part.whereabouts == Whereabouts::Gone);
        let off = programme.is_off(&item.id) && !gone;
        let Some(zone) = zone_of(programme, &item.id) else {
            if off {
                gathered.stray.push(format!("{name} (off)"));
            }
            continue;
        };
        let own = gathered.at(zone);
        own.items.push(name.clone());
        if off {
            own.off.push(name.clone());
            if ahead.contains(&item.id) {
                own.openings.push(name.clone());
            }
        } else if planned.contains(name.as_str()) && !gone {
            own.to_come_off.push(name.clone());
        }
        let Some(part) = part else { continue };
        if matches!(part.whereabouts, Whereabouts::Away(_)) {
            own.away.push(name.clone());
        }
        if part.quarantine.is_some() || part.doubtful {
            own.doubtful.push(name);
        }
    }
}

/// Items that the plan adopted for the season of a day takes off.
fn planned_off(programme: &Programme, on: Date) -> BTreeSet<&str> {
    let season = crate::choose_season(programme, None, Some(on)).ok();
    let adopted = season.and_then(|season| programme.shop.plans.adopted.get(&season));
    let jobs = adopted.iter().flat_map(|adopted| &adopted.plan.jobs);
    jobs.filter_map(|dated| dated.job.0.strip_prefix("OFF:")).collect()
}

fn of_findings(programme: &Programme, gathered: &mut Gathered) {
    let states = &programme.shop.findings.states;
    let all: BTreeSet<_> = programme.findings.names().chain(states.keys()).collect();
    for finding in all {
        let state = states.get(finding);
        let cleared = state.is_some_and(FindingState::is_cleared);
        let condition = state.map_or(Condition::Unknown, FindingState::condition);
        match zone_of_finding(programme, finding) {
            Some(zone) if cleared => gathered.at(zone).cleared += 1,
            Some(zone) => gathered.at(zone).open.push((finding.to_string(), condition)),
            None if cleared => {}
            None => gathered.stray.push(format!("{finding} ({})", condition.word())),
        }
    }
}

fn of_cards(programme: &Programme, gathered: &mut Gathered) {
    let tools = &programme.shop.tools;
    for (job, card) in &programme.shop.cards.cards {
        let out = tools.out_for(job);
        let under_way = card.is_begun() && !card.is_finished();
        if !under_way && out.is_empty() {
            continue;
        }
        let zone = card.item.as_ref().and_then(|item| zone_of(programme, item));
        let Some(zone) = zone else {
            gathered.stray.push(format!("{job} (card)"));
            continue;
        };
        let own = gathered.at(zone);
        if under_way {
            own.cards.push(job.to_string());
        }
        own.tools.extend(out.iter().map(ToString::to_string));
    }
}

/// A zone with all that counts with it.
pub(super) fn of_zone(
    programme: &Programme,
    gathered: &Gathered,
    zone: &ZoneId,
    members: &[&ZoneId],
    shown: bool,
) -> ZoneFacts {
    let mut own = Own::default();
    for member in members.iter().filter_map(|member| gathered.zones.get(*member)) {
        own.items.extend_from_slice(&member.items);
        own.off.extend_from_slice(&member.off);
        own.away.extend_from_slice(&member.away);
        own.openings.extend_from_slice(&member.openings);
        own.to_come_off.extend_from_slice(&member.to_come_off);
        own.doubtful.extend_from_slice(&member.doubtful);
        own.open.extend_from_slice(&member.open);
        own.cleared += member.cleared;
        own.cards.extend_from_slice(&member.cards);
        own.tools.extend_from_slice(&member.tools);
    }
    let with = members.iter().filter(|member| **member != zone);
    let Own {
        items,
        off,
        away,
        openings,
        to_come_off,
        doubtful,
        open,
        cleared,
        cards,
        tools,
    } = own;
    let mut facts = ZoneFacts {
        zone: zone.to_string(),
        name: programme.zones.get(zone).map(|zone| zone.name.clone()).unwrap_or_default(),
        shown,
        with: with.map(ToString::to_string).collect(),
        items,
        off,
        away,
        openings,
        to_come_off,
        doubtful,
        open,
        cleared,
        cards,
        tools,
        state: RegionState::NoEntry,
    };
    facts.state = worst(&facts);
    facts
}

/// The worst of what is known. Nobody's word is no entry, and never clear.
fn worst(facts: &ZoneFacts) -> RegionState {
    let has = |condition| facts.count(condition) > 0;
    if has(Condition::Hazard) {
        RegionState::Hazard
    } else if has(Condition::OutsideLimits) {
        RegionState::OutsideLimits
    } else if has(Condition::Unknown) || !facts.doubtful.is_empty() {
        RegionState::Doubtful
    } else if !facts.off.is_empty() {
        RegionState::Open
    } else if !facts.cards.is_empty() || !facts.tools.is_empty() {
        RegionState::UnderWay
    } else if has(Condition::WithinLimits) {
        RegionState::WithinLimits
    } else if facts.cleared > 0 {
        RegionState::Cleared
    } else {
        RegionState::NoEntry
    }
}
