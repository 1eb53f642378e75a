//! Everything in a programme that has a name: for links, for searching, for choosing.

use record::{JobKey, Programme};

/// Something that has a name.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub struct Thing {
    /// What it is: `item`, `finding`, `card`.
    pub noun: &'static str,
    /// Its name in the programme.
    pub name: String,
    /// What people call it, or what it says.
    pub what: String,
}

/// All of them, by noun and name.
pub fn things(programme: &Programme) -> Vec<Thing> {
    let mut list = List(Vec::new());
    of_the_aircraft(programme, &mut list);
    of_the_workshop(programme, &mut list);
    of_the_record(programme, &mut list);
    list.0.sort();
    list.0.dedup_by(|one, other| one.noun == other.noun && one.name == other.name);
    list.0
}

/// The steps of a card, by which acts name them.
pub fn steps(programme: &Programme, card: &str) -> Vec<Thing> {
    let card = programme.shop.cards.cards.get(&JobKey(card.to_owned()));
    let mut list = List(Vec::new());
    for step in card.iter().flat_map(|card| &card.steps) {
        let limits = step.spec.limits.iter().map(folder::acts::limit_text);
        let limits: Vec<String> = limits.collect();
        let limits = limits.join("; ");
        let sign = if limits.is_empty() { "" } else { ": " };
        let what = format!("{}{sign}{limits}", step.spec.text);
        list.add("step", &step.spec.id, &what);
    }
    list.0
}

struct List(Vec<Thing>);

impl List {
    fn add(
        &mut self,
        noun: &'static str,
        name: &impl std::fmt::Display,
        what: &(impl std::fmt::Display + ?Sized),
    ) {
        self.0.push(Thing { noun, name: name.to_string(), what: what.to_string() });
    }
}

fn of_the_aircraft(programme: &Programme, list: &mut List) {
    for item in programme.items.iter() {
        list.add("item", &item.id, &item.name);
    }
    for zone in programme.zones.iter() {
        list.add("zone", &zone.id, &zone.name);
    }
    for connection in programme.connections.iter() {
        list.add("connection", &connection.id, &connection.name);
    }
    let states = programme.shop.findings.states.keys();
    for finding in programme.findings.names().chain(states) {
        list.add("finding", finding, &crate::sheets::what(programme, finding));
    }
    for gate in programme.gates.iter() {
        list.add("gate", &gate.id, &gate.name);
    }
    for requirement in programme.requirements.iter() {
        list.add("requirement", &requirement.id, &requirement.what);
    }
}

fn of_the_workshop(programme: &Programme, list: &mut List) {
    for person in programme.people.iter() {
        list.add("person", &person.id, &person.name);
    }
    for tool in programme.tools.iter() {
        list.add("tool", &tool.id, &tool.name);
    }
    for place in programme.places.iter() {
        list.add("place", &place.id, &place.name);
    }
    for stand in programme.stands.iter() {
        list.add("stand", &stand.id, &stand.name);
    }
    for firm in programme.firms.iter() {
        list.add("firm", &firm.id, &firm.name);
    }
    for season in programme.seasons.iter() {
        list.add("season", &season.id, &season.name);
    }
    for pack in programme.packs.iter() {
        list.add("pack", &pack.id, &pack.name);
    }
    for route in programme.routes.iter() {
        list.add("route", &route.id, "");
    }
}

fn of_the_record(programme: &Programme, list: &mut List) {
    let shop = &programme.shop;
    for (job, card) in &shop.cards.cards {
        list.add("card", job, &card.title);
    }
    for (query, (job, step)) in &shop.cards.queries {
        list.add("query", query, &format!("{job}, step {step}"));
    }
    for (name, given) in &shop.authorities.given {
        let grant = &given.grant;
        list.add("authority", name, &format!("{} {}", grant.person, grant.power.word()));
    }
    for (name, state) in &shop.stores.batches {
        list.add("batch", name, &state.batch.material);
    }
    for (name, (asked, _)) in &shop.examinations.requests {
        list.add("examination", name, &format!("{}, {}", asked.item, asked.location));
    }
    for (name, (repair, _)) in &shop.repairs.repairs {
        list.add("repair", name, &format!("of {}", repair.finding));
    }
    let office = &shop.office;
    for (name, (letter, _)) in &office.letters {
        list.add("letter", name, &format!("{}: {}", letter.with, letter.subject));
    }
    for (name, (directive, _)) in &office.directives {
        list.add("directive", name, &directive.subject);
    }
    for (name, (modification, _)) in &office.modifications {
        list.add("modification", name, &modification.what);
    }
    for (name, state) in &office.samples {
        list.add("sample", name, &state.sample.of);
    }
    for (name, state) in &office.duties {
        list.add("duty", name, &state.duty.what);
    }
}
