//! A small programme with everybody in it that rules ask for, and short ways to act.
//!
//! All of it is invented.

use airframe::{Connection, ConnectionKind, Item, Zone};
use jiff::civil::{Date, DateTime, date, datetime};
use quantity::{Currency, Estimate, Id, Kind, Notation};
use record::act::{
    CardStep, Certificate, Classify, Evidence, EvidenceKind, Finish, Grant, HandOver,
    Inspect, IssueCard, Limit, OpenGate, Raise, Reading, SignStep, Start, StepWork, Tag,
    TakeOver, Verdict,
};
use record::{
    Act, Condition, Finding, Firm, Gate, Info, JobKey, Named, Pack, Person, Place, Power,
    Programme, Reach, Refusal, Register, Requirement, Route, Season, Stamp, Standing,
    TakesOn, Tool, Weekdays,
};

pub(crate) const TODAY: Date = date(2032, 1, 14);

pub(crate) fn id<K: Kind>(name: &str) -> Id<K> {
    Id::new(name).unwrap()
}

pub(crate) fn job(name: &str) -> JobKey {
    JobKey(name.to_owned())
}

/// A programme under way.
pub(crate) struct Scene {
    pub(crate) programme: Programme,
    pub(crate) number: u64,
    pub(crate) at: DateTime,
}

impl Scene {
    /// Everybody has their authorities; nothing has been done yet.
    pub(crate) fn new() -> Self {
        let mut scene = Self::empty();
        scene.does("anna", grant("A-1", "anna", Power::Appoint));
        for (name, person, power) in [
            ("A-2", "ben", Power::Plan),
            ("A-3", "ben", Power::Supervise),
            ("A-4", "ben", Power::Certify),
            ("A-5", "dan", Power::Inspect),
            ("A-6", "eve", Power::Inspect),
            ("A-7", "eve", Power::Classify),
            ("A-8", "frank", Power::Stores),
            ("A-9", "gina", Power::Release),
            ("A-10", "gina", Power::Engineer),
            ("A-11", "gina", Power::Rob),
            ("A-12", "gina", Power::Certify),
        ] {
            scene.does("anna", grant(name, person, power));
        }
        scene
    }

    /// Nobody has any authority yet.
    pub(crate) fn empty() -> Self {
        Self { programme: programme(), number: 0, at: datetime(2032, 1, 14, 9, 0, 0, 0) }
    }

    /// Somebody does something, and it is not refused.
    pub(crate) fn does(&mut self, who: &str, act: impl Into<Act>) -> &mut Self {
        let act = act.into();
        let refusals = self.refusals(who, &act);
        assert_eq!(refusals, [], "{who} {act:#?}");
        assert!(
            self.has_power(who, &act),
            "{who} has no power that {} asks for",
            act.word()
        );
        self.number += 1;
        let stamp = self.stamp(who);
        self.programme.perform(&act, &stamp);
        self.later(1);
        self
    }

    /// Whether somebody has one of the powers that an act is said to ask for; the first
    /// authority asks for none.
    fn has_power(&self, who: &str, act: &Act) -> bool {
        let asked = Act::powers(act.word()).unwrap();
        let given = &self.programme.shop.authorities;
        let founds = matches!(act, Act::Grant(_)) && given.given.is_empty();
        let holds = |power: &Power| {
            let who = id(who);
            let mut of = given.of(&who);
            of.any(|(_, given)| {
                given.grant.power == *power && given.is_valid(self.at.date())
            })
        };
        founds || asked.is_empty() || asked.iter().any(holds)
    }

    pub(crate) fn refusals(&self, who: &str, act: &Act) -> Vec<Refusal> {
        let stamp = Stamp { number: self.number + 1, ..self.stamp(who) };
        self.programme.judge(act, &stamp).err().unwrap_or_default()
    }

    pub(crate) fn stamp(&self, who: &str) -> Stamp {
        Stamp { number: self.number, at: self.at, by: id(who) }
    }

    pub(crate) fn later(&mut self, minutes: i64) {
        self.at = self.at.checked_add(jiff::Span::new().minutes(minutes)).unwrap();
    }

    pub(crate) fn on(&mut self, day: Date) -> &mut Self {
        self.at = day.at(9, 0, 0, 0);
        self
    }

    /// The card of a job with two plain steps, begun by ben.
    pub(crate) fn begun(&mut self, name: &str) -> &mut Self {
        self.does("ben", card(name, vec![step("one"), step("two")]));
        self.does("ben", start(name))
    }

    /// A card that is certified complete.
    pub(crate) fn finished(&mut self, name: &str) -> &mut Self {
        self.begun(name).does("ben", sign(name, "one")).does("ben", sign(name, "two"));
        self.does("ben", finish(name))
    }

    /// A card with one critical step that ben has signed.
    pub(crate) fn critical(&mut self, name: &str) -> &mut Self {
        self.does("ben", card(name, vec![critical("lock")]));
        self.does("ben", start(name)).does("ben", sign(name, "lock"))
    }

    /// The pump, off and tagged.
    pub(crate) fn tagged(&mut self) -> &mut Self {
        self.does("ben", tag("PUMP"))
    }

    /// A finding that eve has classed.
    pub(crate) fn classed(&mut self, name: &str, condition: Condition) -> &mut Self {
        self.does("ben", raise(name, "HULL"));
        let allows = match condition {
            Condition::Hazard | Condition::Unknown => None,
            _ => Some("taxi"),
        };
        self.does("eve", classify(name, condition, allows))
    }

    /// Evidence for everything that the gates up to taxi ask for.
    pub(crate) fn proven(&mut self) -> &mut Self {
        for name in ["fire-cover", "brakes"] {
            self.does("ben", evidence(name, EvidenceKind::Report));
        }
        self
    }

    /// The survey's finding, which blocks everything until it is classed, cleared.
    pub(crate) fn survey_cleared(&mut self) -> &mut Self {
        self.does("eve", classify("F-1", Condition::WithinLimits, Some("taxi")));
        self.does("eve", clear("F-1", None))
    }

    /// Both gates are open.
    pub(crate) fn opened(&mut self) -> &mut Self {
        self.survey_cleared().proven();
        self.does("gina", open("run")).does("gina", open("taxi"))
    }

    pub(crate) fn is_open(&self, gate: &str) -> bool {
        let gate = self.programme.gates.get(&id(gate)).unwrap();
        self.programme.gate_state(gate, self.at.date()).open
    }
}

fn list<T: Named>(things: impl IntoIterator<Item = T>) -> Register<T> {
    things.into_iter().collect()
}

fn programme() -> Programme {
    let mut programme = Programme::default();
    let info = Info {
        name: "Return of an invented flying boat".into(),
        aircraft: "Invented twin".into(),
        registration: None,
        keeper: None,
        datum: None,
        currency: Currency::new("EUR").unwrap(),
        invented: true,
        weighed: None,
    };
    programme.info = Some(info.into());
    programme.people = list(people());
    programme.gates = list([gate("run", 1), gate("taxi", 2), gate("flight", 3)]);
    programme.requirements = list([
        requirement("fire-cover", "run"),
        requirement("brakes", "taxi"),
        Requirement { job: Some(job("WEIGH")), ..requirement("weighed", "flight") },
    ]);
    programme.zones = list([Zone { id: id("bow"), name: "Bow".into(), within: None }]);
    programme.items = list(items());
    programme.connections = list([Connection {
        id: id("CABLE"),
        name: "Aileron cable".into(),
        kind: ConnectionKind::FlightControl,
        from: id("AILERON"),
        to: None,
    }]);
    programme.places = list(["SHELF", "CAGE"].map(|name| Place {
        id: id(name),
        name: name.into(),
        room: 9,
        heated: true,
        dry: true,
    }));
    programme.firms =
        list([firm("PLATER", TakesOn::Away), firm("TESTER", TakesOn::Here)]);
    programme.seasons = list([season("S1", 2031), season("S2", 2032)]);
    programme.packs = list([Pack {
        id: id("BOTTOM"),
        name: "Hull bottom".into(),
        season: Some(id("S1")),
        gate: None,
        off: Vec::new(),
        exposed: Vec::new(),
    }]);
    programme.routes = list(["patch", "insert"].map(|name| Route {
        id: id(name),
        name: name.into(),
        reach: Reach::AsItIs,
        steps: Vec::new(),
    }));
    programme.findings = list([survey()]);
    programme.tools = list([tool("TW-1", true), tool("HAMMER", false)]);
    programme
}

fn people() -> Vec<Person> {
    let person = |name: &str, standing| Person {
        id: id(name),
        name: name.to_owned(),
        standing,
        skills: vec![],
        days: Weekdays::NONE,
        hours: None,
        away: vec![],
        from: None,
        until: None,
        authority: vec![],
    };
    let staff = ["anna", "ben", "dan", "eve", "frank", "gina"];
    let mut people: Vec<Person> =
        staff.iter().map(|name| person(name, Standing::Staff)).collect();
    people.push(person("cara", Standing::Volunteer));
    people.push(person("olga", Standing::Observer));
    people.push(Person {
        until: Some(date(2031, 12, 1)),
        ..person("hugo", Standing::Staff)
    });
    people
}

fn items() -> Vec<Item> {
    let chapter = |code: &str| Some(airframe::Chapter::parse(code).unwrap());
    let item = |name: &str| Item::new(id(name), name);
    vec![
        Item { fixed: Some("the hull carries all else".into()), ..item("HULL") },
        Item { vital: true, chapter: chapter("27"), ..item("AILERON") },
        Item { serial: Some("P-77".into()), chapter: chapter("73"), ..item("PUMP") },
        item("PUMP-2"),
        Item { off: true, ..item("DINGHY") },
    ]
}

fn gate(name: &str, order: u32) -> Gate {
    Gate { id: id(name), name: name.to_owned(), order }
}

pub(crate) fn requirement(name: &str, gate: &str) -> Requirement {
    Requirement {
        id: id(name),
        gate: id(gate),
        what: format!("{name} is in order"),
        kind: Some(EvidenceKind::Report),
        job: None,
        fitted: None,
        citation: None,
    }
}

fn firm(name: &str, takes_on: TakesOn) -> Firm {
    Firm {
        id: id(name),
        name: name.into(),
        does: "plating".into(),
        collects: Weekdays::NONE,
        turnaround: Estimate::parse("5 days").unwrap(),
        at_once: None,
        closed: vec![],
        takes_on,
    }
}

fn season(name: &str, year: i16) -> Season {
    Season {
        id: id(name),
        name: name.into(),
        from: date(year, 11, 1),
        until: date(year + 1, 4, 30),
        gate: id("taxi"),
        shifts: vec![],
        closed: vec![],
        heating: vec![],
        wet: vec![],
        arrangement: None,
    }
}

fn survey() -> Finding {
    Finding {
        id: id("F-1"),
        item: id("HULL"),
        zone: None,
        what: "blistered paint".into(),
        measured: None,
        condition: Condition::WithinLimits,
        found: Some(date(2031, 10, 1)),
        by: None,
        photograph: None,
        disposition: None,
        pack: None,
    }
}

fn tool(name: &str, measures: bool) -> Tool {
    Tool { id: id(name), name: name.into(), measures, range: None }
}

pub(crate) fn grant(name: &str, person: &str, power: Power) -> Grant {
    Grant {
        authority: id(name),
        person: id(person),
        power,
        chapters: vec![],
        reference: "L-1".into(),
        from: date(2031, 1, 1),
        until: None,
        specimen: None,
    }
}

pub(crate) fn step(name: &str) -> CardStep {
    CardStep {
        id: id(name),
        text: "do it".into(),
        work: StepWork::Task,
        data: Some("WI-7".into()),
        revision: Some("issue 2".into()),
        critical: false,
        inspected: false,
        independent: false,
        limits: vec![],
        makes: vec![],
    }
}

pub(crate) fn critical(name: &str) -> CardStep {
    CardStep { critical: true, independent: true, ..step(name) }
}

pub(crate) fn torque(name: &str) -> CardStep {
    let limit = Limit {
        name: "torque".into(),
        low: Some(40.0),
        high: Some(45.0),
        unit: "lbf·in".into(),
    };
    CardStep { limits: vec![limit], ..step(name) }
}

pub(crate) fn card(name: &str, steps: Vec<CardStep>) -> IssueCard {
    IssueCard {
        job: job(name),
        title: "Do it".into(),
        item: Some(id("PUMP")),
        pack: None,
        steps,
    }
}

pub(crate) fn start(name: &str) -> Start {
    Start { job: job(name) }
}

pub(crate) fn sign(name: &str, step: &str) -> SignStep {
    SignStep {
        job: job(name),
        step: id(step),
        readings: vec![],
        supervisor: None,
        note: None,
        photographs: Vec::new(),
    }
}

pub(crate) fn reading(value: f64, tool: Option<&str>) -> Vec<Reading> {
    vec![Reading { name: "torque".into(), value, instrument: tool.map(id) }]
}

pub(crate) fn finish(name: &str) -> Finish {
    Finish { job: job(name), clear: true }
}

pub(crate) fn hand_over(name: &str, to: &str) -> HandOver {
    HandOver {
        job: job(name),
        to: id(to),
        done: "one".into(),
        next: "two".into(),
        loose: "nothing".into(),
        off: "nothing".into(),
        hazards: "nothing".into(),
        tools: vec![],
    }
}

pub(crate) fn take_over(name: &str) -> TakeOver {
    TakeOver { job: job(name), spoken: true }
}

pub(crate) fn inspect(name: &str, step: &str) -> Inspect {
    Inspect {
        job: job(name),
        step: id(step),
        checked: vec!["locking".into(), "range and sense".into()],
        verdict: Verdict::Pass,
        finding: None,
        alone: None,
        allowed_by: None,
    }
}

pub(crate) fn raise(name: &str, item: &str) -> Raise {
    Raise {
        finding: id(name),
        item: id(item),
        zone: None,
        what: "pitting".into(),
        measured: None,
        found: TODAY,
        cause: None,
        job: None,
        also: vec![],
        photographs: Vec::new(),
        mark: None,
    }
}

pub(crate) fn classify(
    name: &str,
    condition: Condition,
    allows: Option<&str>,
) -> Classify {
    Classify {
        finding: id(name),
        condition,
        allows: allows.map(id),
        basis: "invented limits, table 3".into(),
        effect: None,
    }
}

pub(crate) fn clear(name: &str, by: Option<&str>) -> record::act::Clear {
    record::act::Clear {
        finding: id(name),
        job: by.map(job),
        statement: "as good as new by WI-7 issue 2".into(),
    }
}

pub(crate) fn tag(item: &str) -> Tag {
    Tag {
        item: id(item),
        job: None,
        location: "frame 9, port".into(),
        orientation: Some("arrow forward".into()),
        shims: None,
        photograph: None,
        service: "not known".into(),
        preservation: "oiled".into(),
        defects: "none known".into(),
        exposure: None,
        accident: false,
        control: None,
        place: id("SHELF"),
    }
}

pub(crate) fn certificate() -> Certificate {
    Certificate {
        number: "RC 12".into(),
        status: "overhauled".into(),
        serial: Some("P-77".into()),
        data: "manual 4".into(),
        revision: Some("C".into()),
    }
}

pub(crate) fn evidence(requirement: &str, kind: EvidenceKind) -> Evidence {
    Evidence {
        requirement: id(requirement),
        kind,
        reference: "R-5".into(),
        shows: "all in order".into(),
        until: None,
    }
}

pub(crate) fn open(gate: &str) -> OpenGate {
    OpenGate { gate: id(gate), limitations: vec![], until: None }
}
