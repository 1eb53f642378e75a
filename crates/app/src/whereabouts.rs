//! Where every part is: on the aircraft, on a bench, away, back and waiting; and what runs
//! out on the shelf.

use jiff::civil::Date;
use record::act::PartClass;
use record::shop::{Part, Whereabouts};
use record::{JobKey, Programme};

/// So many days before its last one a batch is told.
const SOON: i32 = 60;

/// Where a part is, as people look for it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub enum Whereabout {
    /// It is away, at a firm.
    Away,
    /// It came back and waits for its receiving check.
    Back,
    /// It is kept apart.
    Quarantine,
    /// It is off, and nobody has said where.
    Untold,
    /// It is off, and a card on it has been begun.
    Bench,
    /// It is off, at a place, and waits for work.
    Place,
    /// It is off, at a place, serviceable: ready to go back.
    Stores,
    /// It is on the aircraft.
    Aircraft,
    /// It was written off.
    Gone,
}

impl Whereabout {
    /// All of them, in the order in which they are shown.
    pub const ALL: [Self; 9] = [
        Self::Away,
        Self::Back,
        Self::Quarantine,
        Self::Untold,
        Self::Bench,
        Self::Place,
        Self::Stores,
        Self::Aircraft,
        Self::Gone,
    ];

    /// The word by which an address names it.
    pub const fn word(self) -> &'static str {
        match self {
            Self::Away => "away",
            Self::Back => "back",
            Self::Quarantine => "quarantine",
            Self::Untold => "untold",
            Self::Bench => "bench",
            Self::Place => "place",
            Self::Stores => "stores",
            Self::Aircraft => "aircraft",
            Self::Gone => "gone",
        }
    }

    /// What people call it.
    pub const fn title(self) -> &'static str {
        match self {
            Self::Away => "Away at a firm",
            Self::Back => "Back, waits for its receiving check",
            Self::Quarantine => "In quarantine",
            Self::Untold => "Off, nobody has said where",
            Self::Bench => "On the bench: work has begun",
            Self::Place => "Off, at a place",
            Self::Stores => "Serviceable, ready to go back",
            Self::Aircraft => "On the aircraft",
            Self::Gone => "Written off",
        }
    }
}

/// What is looked for; nothing narrows nothing.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct BoardAsked {
    /// Where.
    pub at: Option<Whereabout>,
    /// Words that name, place, firm or note must hold, in any order.
    pub words: String,
    /// Only what is late.
    pub late: bool,
}

/// The board.
#[derive(Debug, Clone, PartialEq)]
pub struct Board {
    /// How many parts there are in each group, whatever is looked for.
    pub counts: Vec<(Whereabout, usize)>,
    /// How many parts are late, whatever is looked for.
    pub late: usize,
    /// The parts that are looked for, group by group; groups without any are left out.
    /// What is on the aircraft is listed only when it is asked for.
    pub groups: Vec<(Whereabout, Vec<BoardPart>)>,
    /// Batches that run out soon or are over.
    pub shelf: Vec<ShelfLife>,
    /// What is due in store.
    pub due: Vec<StoreDue>,
}

/// A part on the board.
#[derive(Debug, Clone, PartialEq)]
pub struct BoardPart {
    /// Its name in the programme.
    pub item: String,
    /// What people call it.
    pub name: String,
    /// Where it is.
    pub at: Whereabout,
    /// The place or the firm, by what people call it; blank if there is none.
    pub place: String,
    /// When it is due back, if it is away.
    pub due: Option<Date>,
    /// By how many days it is late.
    pub late: i32,
    /// Its class.
    pub class: &'static str,
    /// What else there is to say: the order, why it is kept apart, cards on it, its life.
    pub notes: Vec<String>,
    /// Whether it has a tag.
    pub tagged: bool,
    /// The entry that sent it, if it is away.
    pub sent: Option<u64>,
    /// What is done next with a part that is there.
    pub acts: &'static [&'static str],
}

/// A batch whose life on the shelf ends.
#[derive(Debug, Clone, PartialEq)]
pub struct ShelfLife {
    /// The batch.
    pub batch: String,
    /// The material.
    pub material: String,
    /// What is left, with its unit.
    pub left: String,
    /// The last day.
    pub until: Date,
    /// Days until then; negative once it is over.
    pub days: i32,
}

/// Something that is due for a part in store.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StoreDue {
    /// The part.
    pub item: String,
    /// What is done.
    pub task: String,
    /// When.
    pub due: Date,
    /// By how many days it is late.
    pub late: i32,
}

/// Where every part is on a day.
pub fn whereabouts(programme: &Programme, on: Date, asked: &BoardAsked) -> Board {
    let names = programme.items.names().chain(programme.shop.parts.parts.keys());
    let names: std::collections::BTreeSet<_> = names.collect();
    let all: Vec<BoardPart> =
        names.into_iter().map(|item| part(programme, item, on)).collect();
    let count = |at: Whereabout| all.iter().filter(|part| part.at == at).count();
    let counts = Whereabout::ALL.into_iter().map(|at| (at, count(at))).collect();
    let late = all.iter().filter(|part| part.late > 0).count();
    let wanted = |at: Whereabout| {
        let narrowed = !asked.words.trim().is_empty();
        asked.at.map_or(at != Whereabout::Aircraft || narrowed, |asked| asked == at)
    };
    let groups = Whereabout::ALL.into_iter().filter(|at| wanted(*at)).map(|at| {
        let of = all.iter().filter(|part| part.at == at && fits(part, asked));
        let mut of: Vec<BoardPart> = of.cloned().collect();
        of.sort_by_key(|part| (part.due, part.place.clone(), part.item.clone()));
        (at, of)
    });
    Board {
        counts,
        late,
        groups: groups.filter(|(_, parts)| !parts.is_empty()).collect(),
        shelf: shelf(programme, on),
        due: due(programme, on),
    }
}

/// Where one part is on a day; nothing if there is no such part.
pub fn board_part(programme: &Programme, item: &str, on: Date) -> Option<BoardPart> {
    let item = airframe::ItemId::new(item).ok()?;
    let known =
        programme.items.has(&item) || programme.shop.parts.parts.contains_key(&item);
    known.then(|| part(programme, &item, on))
}

fn fits(part: &BoardPart, asked: &BoardAsked) -> bool {
    let BoardPart { item, name, place, class, notes, .. } = part;
    let text = format!("{item}\n{name}\n{place}\n{class}\n{}", notes.join("\n"));
    let text = text.to_lowercase();
    let words = asked.words.to_lowercase();
    let mut words = words.split_whitespace();
    words.all(|word| text.contains(word)) && (!asked.late || part.late > 0)
}

fn part(programme: &Programme, item: &airframe::ItemId, on: Date) -> BoardPart {
    let found = programme.shop.parts.parts.get(item);
    let cards = open_cards(programme, item);
    let at = at(programme, item, found, !cards.is_empty());
    let away = found.and_then(|part| part.custody.as_ref());
    let away = away.filter(|_| at == Whereabout::Away);
    let due = away.map(|custody| custody.due);
    let off = at != Whereabout::Aircraft;
    let class = if off { PartClass::Unserviceable } else { PartClass::Serviceable };
    BoardPart {
        item: item.to_string(),
        name: programme.items.get(item).map(|item| item.name.clone()).unwrap_or_default(),
        at,
        place: found.map_or_else(String::new, |part| place(programme, part)),
        due,
        late: due.map_or(0, |due| (on - due).get_days().max(0)),
        class: found.map_or(class, |part| part.class).word(),
        notes: found.map_or_else(Vec::new, |part| notes(part, &cards, on)),
        tagged: found.is_some_and(|part| part.tag.is_some() && !part.is_fitted()),
        sent: away.map(|custody| custody.sent.entry),
        acts: acts(at),
    }
}

fn at(
    programme: &Programme,
    item: &airframe::ItemId,
    part: Option<&Part>,
    begun: bool,
) -> Whereabout {
    let Some(part) = part else {
        let off = programme.is_off(item);
        return if off { Whereabout::Untold } else { Whereabout::Aircraft };
    };
    match &part.whereabouts {
        Whereabouts::Gone => Whereabout::Gone,
        _ if part.quarantine.is_some() => Whereabout::Quarantine,
        Whereabouts::Away(_) => Whereabout::Away,
        Whereabouts::Fitted => Whereabout::Aircraft,
        _ if part.waits => Whereabout::Back,
        Whereabouts::Untold => Whereabout::Untold,
        Whereabouts::At(_) if begun => Whereabout::Bench,
        Whereabouts::At(_) if part.class == PartClass::Serviceable => Whereabout::Stores,
        Whereabouts::At(_) => Whereabout::Place,
    }
}

fn place(programme: &Programme, part: &Part) -> String {
    match &part.whereabouts {
        Whereabouts::At(place) => {
            let known = programme.places.get(place);
            known.map_or_else(|| place.to_string(), |place| place.name.clone())
        }
        Whereabouts::Away(firm) => {
            let known = programme.firms.get(firm);
            known.map_or_else(|| firm.to_string(), |firm| firm.name.clone())
        }
        _ => String::new(),
    }
}

/// Cards on an item that are begun and not complete. Its removal is no work on the bench.
fn open_cards(programme: &Programme, item: &airframe::ItemId) -> Vec<JobKey> {
    let cards = &programme.shop.cards;
    let open = cards.open.iter().filter(|job| {
        let card = cards.cards.get(*job);
        card.is_some_and(|card| card.item.as_ref() == Some(item))
            && !job.0.starts_with("OFF:")
    });
    open.cloned().collect()
}

fn notes(part: &Part, cards: &[JobKey], on: Date) -> Vec<String> {
    let mut notes = Vec::new();
    if let (Some(custody), Whereabouts::Away(_)) = (&part.custody, &part.whereabouts) {
        notes.push(custody.despatch.order.clone());
        if custody.chased > 0 {
            notes.push(format!("asked for {} times", custody.chased));
        }
    }
    if let Some((why, _)) = &part.quarantine {
        notes.push(why.clone());
    }
    if part.doubtful {
        notes.push("doubtful history".to_owned());
    }
    notes.extend(cards.iter().map(|job| format!("card {job}")));
    if let Some(life) = &part.life {
        let word = life.unit.word();
        notes.push(match life.left(on) {
            None => format!("life in {word} not known: not to be in service"),
            Some(left) if left <= 0.0 => format!("life in {word} is over"),
            Some(left) => format!("{left} {word} left of {}", life.limit),
        });
    }
    notes
}

const fn acts(at: Whereabout) -> &'static [&'static str] {
    match at {
        Whereabout::Away => &["receive", "chase"],
        Whereabout::Back => &["accept", "quarantine"],
        Whereabout::Quarantine => &["release", "scrap"],
        Whereabout::Untold => &["tag", "move"],
        Whereabout::Bench | Whereabout::Place => &["despatch", "move"],
        Whereabout::Stores => &["fit", "move", "despatch"],
        Whereabout::Aircraft => &["tag"],
        Whereabout::Gone => &[],
    }
}

fn shelf(programme: &Programme, on: Date) -> Vec<ShelfLife> {
    let batches = programme.shop.stores.batches.iter();
    let ends = batches.filter_map(|(batch, state)| {
        let until = state.batch.expires?;
        let days = (until - on).get_days();
        (days <= SOON && state.left > 0.0).then(|| ShelfLife {
            batch: batch.to_string(),
            material: state.batch.material.clone(),
            left: format!("{} {}", state.left, state.batch.unit),
            until,
            days,
        })
    });
    let mut ends: Vec<ShelfLife> = ends.collect();
    ends.sort_by_key(|life| (life.until, life.batch.clone()));
    ends
}

fn due(programme: &Programme, on: Date) -> Vec<StoreDue> {
    let tasks = programme.shop.stores.tasks.iter();
    let due = tasks.filter(|(_, state)| state.due() <= on);
    let mut due: Vec<StoreDue> = due
        .map(|((item, task), state)| StoreDue {
            item: item.to_string(),
            task: task.clone(),
            due: state.due(),
            late: (on - state.due()).get_days().max(0),
        })
        .collect();
    due.sort_by_key(|due| (due.due, due.item.clone()));
    due
}
