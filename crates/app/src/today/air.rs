//! What the air is like: for work that asks for warm or dry, and as it was last read.
//!
//! The season says when the hangar is heated and which days are wet; places keep warmth in
//! and weather out. People read the air, and cards say between which limits it must lie. What
//! nobody has read, or not lately, is not known and never counts as good.

use jiff::civil::DateTime;
use record::act::Limit;
use record::shop::{AirState, Card};
use record::{JobKey, PlaceId, Season};

use super::measured::{self, AirLimit, Sort};
use super::{Day, JobNow, JobToday};

/// By so many °C a surface lies above the dew point before it is painted, unless a card asks
/// for another margin: common practice for coatings, which ISO 8502-4 gives as guidance for steel
/// (cited from memory). The product data sheet decides.
pub const MARGIN: f64 = 3.0;

/// A reading counts for so many hours: common practice is to read at the start and every four
/// hours, and whenever the weather or the doors change. Without a source.
pub const FRESH_HOURS: i32 = 4;

/// The air on a day.
#[derive(Debug, Clone, PartialEq, Default)]
pub struct Air {
    /// When the hangar is warm today, in words.
    pub warm: String,
    /// Whether weather is kept in mind today, in words.
    pub dry: String,
    /// The last reading of the hangar and of each place that has one.
    pub places: Vec<AirAt>,
    /// Work that goes on or could begin and asks for warm or dry air.
    pub work: Vec<AirWork>,
    /// Limits of temperature and humidity that open steps ask for, beside the last value.
    pub limits: Vec<AirLimit>,
}

/// The last reading at a place.
#[derive(Debug, Clone, PartialEq)]
pub struct AirAt {
    /// The place; nothing for the hangar itself.
    pub place: Option<String>,
    /// What people call it.
    pub name: String,
    /// When it was read.
    pub at: DateTime,
    /// How long ago, in words.
    pub age: String,
    /// Until when it counts.
    pub until: DateTime,
    /// Whether it still counts.
    pub fresh: bool,
    /// Who signed it.
    pub who: String,
    /// What was read: words, and the figure with its unit.
    pub facts: Vec<(&'static str, String)>,
    /// By how many °C the surface lies above the dew point, cut to a tenth.
    pub margin: Option<f64>,
}

/// Whether the air allows something now, as far as it was read.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum AirVerdict {
    /// Nothing that was read speaks against it.
    May,
    /// Something that is not known would have to be.
    NotKnown,
    /// Something speaks against it.
    MayNot,
}

impl AirVerdict {
    /// What it is called.
    pub const fn word(self) -> &'static str {
        match self {
            Self::May => "nothing against it",
            Self::NotKnown => "not known",
            Self::MayNot => "not now",
        }
    }
}

/// A job that asks for warm or dry air.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct AirWork {
    /// The job.
    pub job: String,
    /// Whether it has a card.
    pub card: bool,
    /// What it asks for: `warm`, `dry`, `warm and dry`, `what its card says`.
    pub asks: &'static str,
    /// Where it is done.
    pub place: Option<String>,
    /// The name of that place in the programme.
    pub place_id: Option<String>,
    /// Its item.
    pub item: Option<String>,
    /// Whether it has begun.
    pub begun: bool,
    /// Whether the air allows it now.
    pub verdict: AirVerdict,
    /// Until when that holds, if nothing speaks against it: then the reading counts no longer,
    /// or the hangar is heated no longer.
    pub until: Option<DateTime>,
    /// What speaks against it, or is not known.
    pub why: Vec<String>,
}

pub(super) fn air(day: &Day<'_>, jobs: &[JobToday]) -> Air {
    Air {
        warm: day.season.map_or_else(String::new, |season| heated(day, season)),
        dry: day.season.map_or_else(String::new, |season| weather(day, season)),
        places: places(day),
        work: jobs.iter().filter_map(|job| work(day, job)).collect(),
        limits: measured::limits(day),
    }
}

/// What people call a place.
fn called(day: &Day<'_>, place: Option<&PlaceId>) -> String {
    let Some(place) = place else { return "the hangar".to_owned() };
    let known = day.programme.places.get(place);
    known.map_or_else(|| place.to_string(), |place| place.name.clone())
}

fn places(day: &Day<'_>) -> Vec<AirAt> {
    let all = day.programme.shop.air.all_latest();
    let told = all.map(|(place, reading)| AirAt {
        place: place.map(ToString::to_string),
        name: called(day, place),
        at: reading.at,
        age: age(day, reading.at),
        until: counts_until(reading),
        fresh: is_fresh(day, reading),
        who: day.called(&reading.mark.by),
        facts: facts(reading),
        margin: reading.margin().map(cut),
    });
    told.collect()
}

/// Cut to a tenth: a margin is never shown greater than it is.
pub(crate) fn cut(margin: f64) -> f64 {
    // What a change of unit leaves in the last digits cuts nothing off.
    ((margin + 1e-9) * 10.0).floor() / 10.0
}

pub(crate) fn degrees(celsius: f64) -> String {
    let rounded = (celsius * 10.0).round() / 10.0;
    // Minus nothing is nothing.
    format!("{:.1} °C", rounded + 0.0)
}

fn facts(reading: &AirState) -> Vec<(&'static str, String)> {
    let mut facts = vec![
        ("air", degrees(reading.temperature)),
        ("relative humidity", format!("{} %", reading.humidity)),
    ];
    facts.extend(reading.dew_point().map(|dew| ("dew point", degrees(dew))));
    facts.extend(reading.surface.map(|surface| {
        let of = reading.surface_of.as_ref();
        let of = of.map_or_else(String::new, |item| format!(", of {item}"));
        ("surface", format!("{}{of}", degrees(surface)))
    }));
    facts
}

fn minutes_since(day: &Day<'_>, at: DateTime) -> i64 {
    let since = day.now.duration_since(at);
    since.as_secs().max(0) / 60
}

/// How long ago something was: `20 min ago`, `3 h ago`, `4 h 1 min ago`, `2 days ago`.
fn age(day: &Day<'_>, at: DateTime) -> String {
    match minutes_since(day, at) {
        0 => "now".to_owned(),
        minutes @ 1..60 => format!("{minutes} min ago"),
        minutes @ 60..2880 if minutes % 60 == 0 => format!("{} h ago", minutes / 60),
        // Minutes count at the edge of what counts.
        minutes @ 60..720 => format!("{} h {} min ago", minutes / 60, minutes % 60),
        minutes @ 720..2880 => format!("{} h ago", minutes / 60),
        minutes => format!("{} days ago", minutes / 1440),
    }
}

/// Until when a reading counts.
pub(crate) fn counts_until(reading: &AirState) -> DateTime {
    let span = jiff::Span::new().hours(FRESH_HOURS);
    reading.at.checked_add(span).unwrap_or(DateTime::MAX)
}

fn is_fresh(day: &Day<'_>, reading: &AirState) -> bool {
    day.now <= counts_until(reading)
}

/// When the heating ends on which warmth relies now; nothing if it goes on beyond the day.
fn heated_until(day: &Day<'_>) -> Option<DateTime> {
    let time = day.now.time();
    let periods = day.season?.heating.iter().filter(|one| one.days.holds(day.on()));
    let mut ends = Vec::new();
    for period in periods {
        match period.hours {
            None => return None,
            Some((from, until)) if from <= time && time < until => ends.push(until),
            Some(_) => {}
        }
    }
    ends.into_iter().max().map(|until| day.on().to_datetime(until))
}

fn heated(day: &Day<'_>, season: &Season) -> String {
    let today = season.heating.iter().filter(|period| period.days.holds(day.on()));
    let hours: Vec<String> = today
        .map(|period| match period.hours {
            None => "day and night".to_owned(),
            Some((from, until)) => {
                format!("{}-{}", from.strftime("%H:%M"), until.strftime("%H:%M"))
            }
        })
        .collect();
    if hours.is_empty() {
        "the hangar is not heated today".to_owned()
    } else {
        format!("the hangar is heated {}", hours.join(", "))
    }
}

fn weather(day: &Day<'_>, season: &Season) -> String {
    match season.wet.iter().find(|wet| wet.holds(day.on())) {
        Some(wet) => format!("counted as wet until {}", wet.until),
        None => "not counted as wet".to_owned(),
    }
}

/// What speaks against a job's air at a moment.
pub(super) fn against(day: &Day<'_>, job: &planner::Job) -> Vec<String> {
    let place = job.place.as_ref().and_then(|place| day.programme.places.get(place));
    let mut against = Vec::new();
    let Some(season) = day.season else { return against };
    if job.conditions.warm && !place.is_some_and(|place| place.heated) {
        let time = day.now.time();
        let warm = season.heating.iter().any(|period| {
            let hours = period.hours;
            period.days.holds(day.on())
                && hours.is_none_or(|(from, until)| from <= time && time < until)
        });
        if !warm {
            against.push(format!("it asks for warmth: {}", heated(day, season)));
        }
    }
    let wet = season.wet.iter().any(|wet| wet.holds(day.on()));
    if job.conditions.dry && wet && !place.is_some_and(|place| place.dry) {
        against.push(format!("it asks for dry air: {}", weather(day, season)));
    }
    against
}

/// A job that goes on, could begin, or waits for nothing but the air and who does it.
fn work(day: &Day<'_>, job: &JobToday) -> Option<AirWork> {
    // People and instruments are found within the hour; the air is looked at meanwhile.
    let soon = |kind| matches!(kind, "air" | "people" | "authority" | "tool");
    let only_those = job.obstacles.iter().all(|one| soon(one.kind));
    let shown = match job.now {
        JobNow::Ready | JobNow::Running => true,
        JobNow::Waits => only_those,
        JobNow::Done => false,
    };
    if !shown {
        return None;
    }
    let key = JobKey(job.job.clone());
    let drafted =
        day.draft.and_then(|draft| draft.jobs.iter().find(|one| one.key == key));
    let card = day.programme.shop.cards.cards.get(&key).map(|card| &**card);
    let limits = card.map(measured::of_card).unwrap_or_default();
    let conditions = drafted.map(|job| job.conditions).unwrap_or_default();
    let asks = match (conditions.warm, conditions.dry) {
        (true, true) => "warm and dry",
        (true, false) => "warm",
        (false, true) => "dry",
        (false, false) if !limits.is_empty() => "what its card says",
        (false, false) => return None,
    };
    let place = drafted.and_then(|job| job.place.as_ref());
    let mut held = Held::default();
    for why in drafted.map(|job| against(day, job)).unwrap_or_default() {
        held.against(why);
    }
    let known = place.and_then(|place| day.programme.places.get(place));
    let relies = conditions.warm && !known.is_some_and(|place| place.heated);
    let wants =
        Wants { warm: conditions.warm, limits: &limits, item: item(card, drafted) };
    held.by_reading(day, place, &wants);
    let verdict = held.verdict();
    let good = verdict == AirVerdict::May;
    let read = day.programme.shop.air.latest(place).filter(|_| good).map(counts_until);
    let warm = heated_until(day).filter(|_| relies && good);
    Some(AirWork {
        job: job.job.clone(),
        card: job.card,
        asks,
        place: place.map(|_| called(day, place)),
        place_id: place.map(ToString::to_string),
        item: item(card, drafted).map(ToString::to_string),
        begun: job.now == JobNow::Running,
        verdict,
        until: read.into_iter().chain(warm).min(),
        why: held.why(),
    })
}

fn item<'a>(
    card: Option<&'a Card>,
    job: Option<&'a planner::Job>,
) -> Option<&'a airframe::ItemId> {
    let card = card.and_then(|card| card.item.as_ref());
    card.or_else(|| job.and_then(|job| job.item.as_ref()))
}

/// What a job wants of the air.
struct Wants<'a> {
    /// It must be warm.
    warm: bool,
    /// What its open steps ask for: step, limit, and what that is of the air.
    limits: &'a [(String, &'a Limit, Sort)],
    /// What is painted.
    item: Option<&'a airframe::ItemId>,
}

/// What a job's air comes to.
#[derive(Default)]
struct Held {
    against: Vec<String>,
    unknown: Vec<String>,
}

impl Held {
    fn against(&mut self, why: String) {
        self.against.push(why);
    }

    fn unknown(&mut self, why: String) {
        if !self.unknown.contains(&why) {
            self.unknown.push(why);
        }
    }

    fn verdict(&self) -> AirVerdict {
        match (self.against.is_empty(), self.unknown.is_empty()) {
            (false, _) => AirVerdict::MayNot,
            (true, false) => AirVerdict::NotKnown,
            (true, true) => AirVerdict::May,
        }
    }

    fn why(self) -> Vec<String> {
        self.against.into_iter().chain(self.unknown).collect()
    }

    /// Holds the last reading of a place against what a job wants.
    fn by_reading(&mut self, day: &Day<'_>, place: Option<&PlaceId>, wants: &Wants<'_>) {
        let name = called(day, place);
        let Some(reading) = day.programme.shop.air.latest(place) else {
            return self.unknown(format!("nobody has read the air of {name}"));
        };
        if !is_fresh(day, reading) {
            let age = age(day, reading.at);
            return self.unknown(format!("the air of {name} was last read {age}"));
        }
        let same = reading.surface_of.is_none()
            || wants.item.is_none()
            || reading.surface_of.as_ref() == wants.item;
        if !same {
            let other = reading.surface_of.as_ref().map(ToString::to_string);
            let other = other.unwrap_or_default();
            self.unknown(format!("the surface that was read is that of {other}"));
        }
        for (step, limit, sort) in wants.limits {
            self.limit(reading, (step, limit, *sort), same);
        }
        let asked = |sort| wants.limits.iter().any(|(_, _, other)| *other == sort);
        if wants.warm && !asked(Sort::Air) {
            let what = "no open step of a card says how warm it must be: the product data sheet \
                        does";
            self.unknown(what.to_owned());
        }
        if wants.warm && !asked(Sort::Humidity) {
            let what = "no open step of a card says how humid the air may be: the product data \
                        sheet does";
            self.unknown(what.to_owned());
        }
        if !asked(Sort::Margin) && same {
            self.margin(reading);
        }
    }

    fn limit(&mut self, reading: &AirState, of: (&str, &Limit, Sort), same: bool) {
        let (step, limit, sort) = of;
        let of_surface = matches!(sort, Sort::Surface | Sort::Margin);
        if of_surface && !same {
            return;
        }
        let Some(value) = sort.value(reading, &limit.unit) else {
            let what = format!("step {step} asks for {}, which was not read", limit.name);
            return self.unknown(what);
        };
        if !measured::within(limit, value) {
            let (name, asked) = (&limit.name, range(limit));
            let value = (value * 10.0).round() / 10.0;
            let what = format!("step {step} asks for {name} {asked}, and it is {value}");
            self.against(what);
        }
    }

    fn margin(&mut self, reading: &AirState) {
        match reading.margin() {
            None => self.unknown("the surface was not read".to_owned()),
            Some(margin) if cut(margin) < MARGIN => {
                let cut = cut(margin).abs();
                let side = if margin < 0.0 { "below" } else { "above" };
                self.against(format!(
                    "the surface lies {cut:.1} degrees {side} the dew point, and {MARGIN} above \
                     it are common practice"
                ));
            }
            Some(_) => {}
        }
    }
}

/// Between what a value must lie: `40 to 45 lbf·in`, `at most 1.5 mm`.
pub(crate) fn range(limit: &Limit) -> String {
    let unit =
        if limit.unit.is_empty() { String::new() } else { format!(" {}", limit.unit) };
    match (limit.low, limit.high) {
        (Some(low), Some(high)) => format!("{low} to {high}{unit}"),
        (Some(low), None) => format!("at least {low}{unit}"),
        (None, Some(high)) => format!("at most {high}{unit}"),
        (None, None) => format!("any value{unit}"),
    }
}
